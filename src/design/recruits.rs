use super::study::Study;
use super::zone::Zone;
use crate::reef::AnimalSpec;
use crate::reef::map::ColonyMap;
use serde::Serialize;

/// The indicator that recruit quadrats always give, and the one whose change moves them all.
pub const RECRUIT_DENSITY: &str = "recruit_density";

/// Colonies under this diameter are recruits, m; and those under the other are the small ones of them.
pub const LARGEST_RECRUIT_M: f64 = 0.04;
const LARGEST_SMALL_RECRUIT_M: f64 = 0.02;

/// A hair for rounding: a colony of 4 cm is no recruit.
const ROUNDING_M: f64 = 1e-6;

/// The recruits of corals of a zone: colonies under 4 cm, counted by themselves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recruits {
    /// Densities are per m2 of bottom on which they can live: hard bottom free of colonies.
    pub spec: AnimalSpec,
    /// Kinds of bottom (names of categories of the zone) on which they cannot live.
    pub cannot_live_on: Vec<String>,
}

/// What recruit quadrats tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RecruitMeasure {
    /// Recruits per m2 of all bottom.
    Density,
    /// Those under 2 cm.
    Under2Cm,
    /// Those of 2 to 4 cm.
    Of2To4Cm,
    /// Recruits per m2 of hard bottom free of colonies, as a diver estimates its share of the quadrats.
    OnHardBottom,
}

impl RecruitMeasure {
    pub const ALL: [Self; 4] = [Self::Density, Self::Under2Cm, Self::Of2To4Cm, Self::OnHardBottom];

    /// The name of the indicator.
    pub fn name(self) -> &'static str {
        match self {
            Self::Density => RECRUIT_DENSITY,
            Self::Under2Cm => "recruits_under_2_cm",
            Self::Of2To4Cm => "recruits_of_2_to_4_cm",
            Self::OnHardBottom => "recruit_density_on_hard_bottom",
        }
    }

    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|measure| measure.name() == name)
    }

    /// Whether it counts a mapped colony of a diameter, m.
    pub fn counts_mapped(self, diameter_m: f64) -> bool {
        let is_small = diameter_m < LARGEST_SMALL_RECRUIT_M - ROUNDING_M;
        is_recruit(diameter_m)
            && match self {
                Self::Density | Self::OnHardBottom => true,
                Self::Under2Cm => is_small,
                Self::Of2To4Cm => !is_small,
            }
    }

    /// Whether a size, as a rank among all recruits, is counted where the share `under` is under 2 cm.
    pub fn counts(self, size: f64, under: f64) -> bool {
        match self {
            Self::Density | Self::OnHardBottom => true,
            Self::Under2Cm => size < under,
            Self::Of2To4Cm => size >= under,
        }
    }
}

/// Whether a colony of a diameter (m) is a recruit.
pub fn is_recruit(diameter_m: f64) -> bool {
    diameter_m < LARGEST_RECRUIT_M - ROUNDING_M
}

impl Zone {
    /// Whether recruits are there to be counted: by their own law, or as the smallest colonies of a map.
    pub fn has_recruits(&self) -> bool {
        let mapped = self.map.as_ref().and_then(|map| map.map.colonies());
        let is_small = |map: &ColonyMap| map.discs.iter().any(|disc| is_recruit(2.0 * disc.radius));
        self.recruits.is_some() || mapped.is_some_and(is_small)
    }
}

impl Recruits {
    /// Share of the recruits that are under 2 cm.
    pub fn share_under_2_cm(&self) -> f64 {
        self.spec.sizes.class_ends().first().copied().unwrap_or(1.0)
    }

    /// Share of the recruits that a measure counts.
    pub fn share_of(&self, measure: RecruitMeasure) -> f64 {
        let under = self.share_under_2_cm();
        match measure {
            RecruitMeasure::Density | RecruitMeasure::OnHardBottom => 1.0,
            RecruitMeasure::Under2Cm => under,
            RecruitMeasure::Of2To4Cm => 1.0 - under,
        }
    }
}

impl Study {
    /// What an indicator tells of recruits, where it does and a zone has any.
    pub fn recruits_of(&self, indicator: &str) -> Option<RecruitMeasure> {
        RecruitMeasure::from_name(indicator).filter(|_| self.zones.iter().any(Zone::has_recruits))
    }
}
