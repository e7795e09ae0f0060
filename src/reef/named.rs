use super::spec::{Patchiness, ReefSpec, SizeLaw};

/// Seven reefs to choose from, calibrated on published and open survey data (see DEVELOPERS.md, "Where the reefs come
/// from"); real reefs differ tenfold in patchiness, and these span it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NamedReef {
    LowCoverHardGround,
    ForeReef,
    PatchyForeReef,
    RubbleSlope,
    DenseCoralGarden,
    OuterSlope,
    LagoonBommies,
}

impl NamedReef {
    pub const ALL: [NamedReef; 7] = [
        NamedReef::LowCoverHardGround,
        NamedReef::ForeReef,
        NamedReef::PatchyForeReef,
        NamedReef::RubbleSlope,
        NamedReef::DenseCoralGarden,
        NamedReef::OuterSlope,
        NamedReef::LagoonBommies,
    ];

    /// The name used in a scenario.
    pub fn name(self) -> &'static str {
        match self {
            NamedReef::LowCoverHardGround => "low_cover_hard_ground",
            NamedReef::ForeReef => "fore_reef",
            NamedReef::PatchyForeReef => "patchy_fore_reef",
            NamedReef::RubbleSlope => "rubble_slope",
            NamedReef::DenseCoralGarden => "dense_coral_garden",
            NamedReef::OuterSlope => "outer_slope",
            NamedReef::LagoonBommies => "lagoon_bommies",
        }
    }

    /// How a sentence calls it: "as even as an outer slope".
    pub fn phrase(self) -> &'static str {
        match self {
            NamedReef::LowCoverHardGround => "like hard ground with few corals",
            NamedReef::ForeReef => "like a common fore reef",
            NamedReef::PatchyForeReef => "like a patchy fore reef",
            NamedReef::RubbleSlope => "as patchy as a rubble slope",
            NamedReef::DenseCoralGarden => "like a dense coral garden",
            NamedReef::OuterSlope => "as even as an outer slope",
            NamedReef::LagoonBommies => "as patchy as lagoon bommies",
        }
    }

    pub fn from_name(name: &str) -> Option<NamedReef> {
        Self::ALL.into_iter().find(|reef| reef.name() == name)
    }

    /// The cover at which the reef was calibrated, for a scenario that gives none.
    pub fn typical_cover(self) -> f64 {
        match self {
            NamedReef::LowCoverHardGround => 0.05,
            NamedReef::ForeReef => 0.20,
            NamedReef::PatchyForeReef => 0.25,
            NamedReef::RubbleSlope => 0.15,
            NamedReef::DenseCoralGarden => 0.65,
            NamedReef::OuterSlope => 0.30,
            NamedReef::LagoonBommies => 0.35,
        }
    }

    /// Whether a reef of this mean cover may look like it: the garden is for covers of 50 % and more, the rubble slope for
    /// less; hard ground with few corals for covers below 8 %, the outer slope for more, where they were calibrated.
    pub fn suits(self, cover: f64) -> bool {
        match self {
            NamedReef::LowCoverHardGround => cover < 0.08,
            NamedReef::OuterSlope => cover >= 0.08,
            NamedReef::DenseCoralGarden => cover >= 0.5,
            NamedReef::RubbleSlope => cover < 0.5,
            NamedReef::ForeReef | NamedReef::PatchyForeReef | NamedReef::LagoonBommies => true,
        }
    }

    pub fn spec(self) -> ReefSpec {
        let (diameter, patch, along_sd) = match self {
            NamedReef::LowCoverHardGround => ((0.06, 0.75, 0.4), (0.40, 1.5), 0.25),
            NamedReef::ForeReef => ((0.10, 0.75, 0.8), (0.40, 1.5), 0.25),
            NamedReef::PatchyForeReef => ((0.10, 0.75, 0.8), (0.70, 2.0), 0.30),
            NamedReef::RubbleSlope => ((0.085, 0.66, 0.8), (1.35, 2.9), 0.40),
            NamedReef::DenseCoralGarden => ((0.18, 0.70, 1.2), (0.95, 1.6), 0.30),
            NamedReef::OuterSlope => ((0.08, 0.60, 0.4), (0.25, 1.5), 0.20),
            NamedReef::LagoonBommies => ((0.15, 0.75, 1.5), (1.30, 5.0), 0.40),
        };
        ReefSpec {
            sizes: SizeLaw { median_m: diameter.0, ln_sd: diameter.1, max_m: diameter.2 },
            patch: Patchiness { sd: patch.0, scale_m: patch.1 },
            along: Patchiness { sd: along_sd, scale_m: 60.0 },
        }
    }
}
