use serde::Serialize;

/// How a fall of hard coral strikes colonies that do not all have the same chance. How many die follows from the covers
/// of the change.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ColonyDeaths {
    /// The odds of survival of a colony of twice the diameter as a multiple: above 1 large ones live, below 1 small ones do.
    pub odds_at_twice_the_size: f64,
    /// Where it strikes; `None`: everywhere alike.
    pub patches: Option<StormPatches>,
}

/// A storm, or anything else that strikes in patches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StormPatches {
    /// Share of the bottom that is hit, above 0 and below 1.
    pub hit: f64,
    /// Scale of the patches, m.
    pub patch_scale_m: f64,
    /// Share of the colonies, by area, that is left where it was not hit.
    pub left_elsewhere: f64,
}

impl ColonyDeaths {
    /// "in patches", "large colonies first", "in patches, small colonies first".
    pub fn short(&self) -> String {
        let sizes = match self.odds_at_twice_the_size {
            odds if odds > 1.0 => Some("small colonies first"),
            odds if odds < 1.0 => Some("large colonies first"),
            _ => None,
        };
        let patches = self.patches.map(|_| "in patches");
        patches.into_iter().chain(sizes).collect::<Vec<_>>().join(", ")
    }

    /// Whether it moves the sizes of the colonies.
    pub fn moves_sizes(&self) -> bool {
        self.odds_at_twice_the_size != 1.0
    }

    /// Rise of the log odds of survival with each factor e in diameter.
    pub fn slope(&self) -> f64 {
        libm::log(self.odds_at_twice_the_size) / std::f64::consts::LN_2
    }
}
