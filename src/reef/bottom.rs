use super::lattice::{Frame, LatticeField};
use super::same_place::{Effects, SamePlace};
use crate::random::{Key, Normals, Purpose, normal_cdf, normal_from_uniform};

/// One category of the bottom besides hard coral, as the tree takes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Share of the bottom left free by hard coral and all stages before, at the first visit; 1 for the last stage.
    pub share: f64,
    /// The same at the second visit in each world (no change, then each change).
    pub later_shares: Vec<f64>,
    /// Share of the site effect in the variance of the latent field.
    pub latent_share: f64,
    /// Scale of the patches, metres.
    pub scale_m: f64,
}

/// When a place is looked at. At the second visit there are several worlds: 0 is the one where nothing was imposed, world
/// i has the i-th change. The fields are the same in all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    First,
    Second { world: usize },
}

impl When {
    /// Place of the threshold in the list of a stage.
    fn index(self) -> usize {
        match self {
            When::First => 0,
            When::Second { world } => 1 + world,
        }
    }
}

/// What lies where no coral is: a tree of thresholded fields. A point belongs to the first stage whose field exceeds its
/// threshold; the last stage takes what is left. Made by `theory::bottom`, which knows the thresholds.
#[derive(Clone, Debug, PartialEq)]
pub struct Bottom {
    pub stages: Vec<Stage>,
    /// Correlation b of the patch fields between the visits: `F2 = b F + sqrt(1 - b^2) W` with W a new field. The site
    /// effect stays.
    pub memory: f64,
}

/// The bottom of one site in one trial.
#[derive(Clone, Debug)]
pub struct BottomSite {
    frame: Frame,
    fields: Vec<LatticeField>,
    /// [`threshold_on_site`]: one row per [`When`], one column per stage.
    thresholds: Vec<Vec<f64>>,
    memory: f64,
}

impl Bottom {
    /// The bottom of the site of this key; `frame` is that of the whole site.
    pub fn site(&self, key: Key, frame: Frame) -> BottomSite {
        self.site_at(key, frame, None)
    }

    /// The same at the place of a site of another zone whose bottom has the same stages.
    pub fn site_at(&self, key: Key, frame: Frame, place: Option<SamePlace>) -> BottomSite {
        let keyed = || self.stages.iter().zip(0..).map(|(stage, k)| (stage, key.child(Purpose::Category, k)));
        let fields = keyed().map(|(stage, own)| LatticeField::new(own, stage.scale_m)).collect();
        let other = |k: u64| place.map(|place| place.child(Purpose::Category, k));
        let effects: Vec<f64> = (keyed().zip(0..))
            .map(|((_, own), k)| Effects { own, place: other(k) }.normal(Purpose::CategorySite, 0))
            .collect();
        let worlds = self.stages.first().map_or(0, |stage| stage.later_shares.len());
        let thresholds = (0..=worlds)
            .map(|index| {
                let pairs = self.stages.iter().zip(&effects);
                pairs
                    .map(|(stage, effect)| {
                        let share = if index == 0 { stage.share } else { stage.later_shares[index - 1] };
                        threshold_on_site(share, stage.latent_share, *effect)
                    })
                    .collect()
            })
            .collect();
        BottomSite { frame, fields, thresholds, memory: self.memory }
    }
}

/// The threshold that a standard normal exceeds with probability `share`: `Phi^-1(1 - share)`; infinite for 0 and 1.
pub fn threshold_of(share: f64) -> f64 {
    match share {
        share if share <= 0.0 => f64::INFINITY,
        share if share >= 1.0 => f64::NEG_INFINITY,
        share => -normal_from_uniform(share),
    }
}

/// What the patch field must exceed on a site with effect S (standard normal) of latent share w, where over all sites
/// `share` of the points exceed: `(t - sqrt(w) S) / sqrt(1 - w)`.
pub fn threshold_on_site(share: f64, latent_share: f64, effect: f64) -> f64 {
    (threshold_of(share) - libm::sqrt(latent_share) * effect) / libm::sqrt(1.0 - latent_share)
}

impl BottomSite {
    /// The category (0 = the first stage) of a place on the site, metres, that carries no coral.
    pub fn category_at(&self, normals: &Normals, x: f64, y: f64, when: When) -> usize {
        let (x, y) = self.frame.from_site(x, y);
        let thresholds = &self.thresholds[when.index()];
        let drifted = when != When::First && self.memory < 1.0;
        let renewal = (1.0 - self.memory * self.memory).max(0.0).sqrt();
        let exceeds = |stage: usize, threshold: f64| {
            // A certain stage needs no field, nor does an impossible one.
            if threshold.is_infinite() {
                return threshold < 0.0;
            }
            if !drifted {
                return self.fields[stage].at(normals, x, y) > threshold;
            }
            let (field, innovation) = self.fields[stage].with_innovation(normals, x, y);
            self.memory * field + renewal * innovation > threshold
        };
        let found = thresholds.iter().enumerate().find(|&(stage, &threshold)| exceeds(stage, threshold));
        found.map_or(thresholds.len().saturating_sub(1), |(stage, _)| stage)
    }

    /// Expected covers of the categories on this site, as shares of the whole bottom, where `coral` of it is covered by
    /// hard coral: the truth of the site, patches being chance.
    pub fn expected_covers(&self, coral: f64, when: When) -> Vec<f64> {
        let mut free = 1.0 - coral;
        let thresholds = &self.thresholds[when.index()];
        thresholds
            .iter()
            .map(|&threshold| {
                let cover = free * normal_cdf(-threshold);
                free -= cover;
                cover
            })
            .collect()
    }
}
