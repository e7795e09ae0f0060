use super::HARD_CORAL;
use super::study::Study;
use super::unit::DENSITY_AREA_M2;
use super::zone::Zone;
use crate::reef::fish::{FishSpec, Sighting};
use crate::reef::{AnimalPatches, AnimalSpec, ReefSpec, Visit};
use serde::Serialize;

/// One group or species of fish of a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FishGroup {
    pub name: String,
    /// What it feeds on, where it is told: groups of one kind have an indicator together.
    pub trophic_group: Option<String>,
    /// Whether it hides: counted on the way back, where there is one, and not on the way out.
    pub hides: bool,
    /// How it goes with the coral of a site: its density with the true cover of the visit over the mean of the zone at the
    /// first visit, to this power; 0: not at all.
    pub with_coral: f64,
    /// How it goes with the patches of the coral within a site: its density with that of the colonies, to this power; 0: not at
    /// all, it may have patches of its own.
    pub with_coral_patches: f64,
    pub spec: FishSpec,
    /// How it is seen, and reacts, at the second visit, where that is otherwise than at the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub later_sighting: Option<Sighting>,
}

impl FishGroup {
    /// One that feeds as no other, hides not, does not go with the coral, and is seen at both visits alike.
    pub fn new(name: String, spec: FishSpec) -> Self {
        Self {
            name,
            trophic_group: None,
            hides: false,
            with_coral: 0.0,
            with_coral_patches: 0.0,
            spec,
            later_sighting: None,
        }
    }

    /// How it is spread over the sites of a reef and within them.
    pub fn places(&self, reef: &ReefSpec) -> AnimalSpec {
        let mut places = self.spec.places.clone();
        if self.with_coral_patches != 0.0 {
            places.patches = Some(AnimalPatches::of_coral(reef, self.with_coral_patches));
        }
        places
    }

    /// How it is seen at a visit.
    pub fn sighting(&self, visit: Visit) -> &Sighting {
        match (visit, &self.later_sighting) {
            (Visit::Second, Some(later)) => later,
            _ => &self.spec.sighting,
        }
    }
}

/// What an indicator tells of fish.
#[derive(Clone, Debug, PartialEq)]
pub struct FishIndicator {
    pub who: FishWho,
    pub measure: FishMeasure,
}

/// Which fish.
#[derive(Clone, Debug, PartialEq)]
pub enum FishWho {
    All,
    /// One group of the list.
    Group(String),
    /// All groups that feed alike.
    Trophic(String),
}

/// What of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FishMeasure {
    /// Fish per 100 m2.
    Density,
    /// kg per ha.
    Biomass,
    /// Fish per 100 m2 that are longer than this, cm of total length.
    LongerThan(f64),
    /// Mean length, cm.
    MeanLength,
    /// Share of the fish that are longer than this.
    ShareLongerThan(f64),
}

/// All fish together: the name before the measure.
pub const ALL_FISH: &str = "fish";

/// A gram per m2 in kg per ha.
const KG_PER_HA_IN_G_PER_M2: f64 = 10.0;

const BIOMASS: &str = "_biomass";
const MEAN_LENGTH: &str = "_mean_length";
const OVER: &str = "_over_";
const SHARE_OVER: &str = "_share_over_";
const CM: &str = "_cm";

impl FishMeasure {
    /// The name of the indicator of some fish.
    pub fn name(self, of: &str) -> String {
        match self {
            FishMeasure::Density if of == ALL_FISH => format!("{of}_density"),
            FishMeasure::Density => of.to_owned(),
            FishMeasure::Biomass => format!("{of}{BIOMASS}"),
            FishMeasure::LongerThan(cm) => format!("{of}{OVER}{cm}{CM}"),
            FishMeasure::MeanLength => format!("{of}{MEAN_LENGTH}"),
            FishMeasure::ShareLongerThan(cm) => format!("{of}{SHARE_OVER}{cm}{CM}"),
        }
    }

    /// The fish and the measure that a name may be made of.
    fn parts(name: &str) -> Option<(&str, Self)> {
        let number = |text: &str| text.parse::<f64>().ok().filter(|cm| *cm > 0.0 && *cm < 1000.0);
        if let Some(front) = name.strip_suffix(CM) {
            if let Some((of, cm)) = front.rsplit_once(SHARE_OVER) {
                return number(cm).map(|cm| (of, FishMeasure::ShareLongerThan(cm)));
            }
            let (of, cm) = front.rsplit_once(OVER)?;
            return number(cm).map(|cm| (of, FishMeasure::LongerThan(cm)));
        }
        if let Some(of) = name.strip_suffix(BIOMASS) {
            return Some((of, FishMeasure::Biomass));
        }
        if let Some(of) = name.strip_suffix(MEAN_LENGTH) {
            return Some((of, FishMeasure::MeanLength));
        }
        Some((name.strip_suffix("_density").filter(|of| *of == ALL_FISH).unwrap_or(name), FishMeasure::Density))
    }

    /// The true value for groups of so many fish per m2: of all fish, of their true lengths.
    pub fn truth<'a>(self, groups: impl Iterator<Item = (&'a FishSpec, f64)>) -> f64 {
        let (mut number, mut sum) = (0.0, 0.0);
        for (spec, density) in groups {
            let of_one = match self {
                FishMeasure::Density => 1.0,
                FishMeasure::Biomass => spec.lengths.weights(spec.weight).mean,
                FishMeasure::MeanLength => spec.lengths.mean_cm,
                FishMeasure::LongerThan(cm) | FishMeasure::ShareLongerThan(cm) => spec.lengths.share_above(cm),
            };
            number += density;
            sum += density * of_one;
        }
        self.told_of(sum, number)
    }

    /// What is told of a sum over fish per m2 and of their number per m2: the sum in its unit, or the mean over the fish (not
    /// known of none).
    pub fn told_of(self, sum: f64, number: f64) -> f64 {
        self.unit_per_m2().map_or_else(|| sum / number, |unit| unit * sum)
    }

    /// What a sum of 1 per m2 (a fish, a gram) is told as; `None` for means over fish.
    pub fn unit_per_m2(self) -> Option<f64> {
        match self {
            FishMeasure::Density | FishMeasure::LongerThan(_) => Some(DENSITY_AREA_M2),
            FishMeasure::Biomass => Some(KG_PER_HA_IN_G_PER_M2),
            FishMeasure::MeanLength | FishMeasure::ShareLongerThan(_) => None,
        }
    }

    /// Whether it is a number of fish per area.
    pub fn is_a_number(self) -> bool {
        matches!(self, FishMeasure::Density | FishMeasure::LongerThan(_))
    }
}

impl FishIndicator {
    /// Whether it counts the fish of a group.
    pub fn includes(&self, group: &FishGroup) -> bool {
        match &self.who {
            FishWho::All => true,
            FishWho::Group(name) => *name == group.name,
            FishWho::Trophic(name) => group.trophic_group.as_ref() == Some(name),
        }
    }

    /// Whether a change moves it: of fish that it counts too, or of the coral that some of its fish go with.
    pub fn is_moved_by(&self, changed: &str, zones: &[Zone]) -> bool {
        let follows = |group: &FishGroup| self.includes(group) && group.with_coral != 0.0;
        fish_of(zones, changed).is_some_and(|other| self.overlaps(&other, zones))
            || changed == HARD_CORAL && zones.iter().flat_map(|zone| &zone.fish).any(follows)
    }

    /// Whether some group of the zones is counted by both.
    fn overlaps(&self, other: &FishIndicator, zones: &[Zone]) -> bool {
        zones.iter().flat_map(|zone| &zone.fish).any(|group| self.includes(group) && other.includes(group))
    }
}

/// What an indicator tells of the fish of some zones.
pub fn fish_of(zones: &[Zone], indicator: &str) -> Option<FishIndicator> {
    let groups = || zones.iter().flat_map(|zone| &zone.fish);
    groups().next().filter(|_| indicator != ALL_FISH)?;
    let of = |(name, measure): (&str, FishMeasure)| {
        let who = if name == ALL_FISH {
            FishWho::All
        } else if groups().any(|group| group.name == name) {
            FishWho::Group(name.to_owned())
        } else if groups().any(|group| group.trophic_group.as_deref() == Some(name)) {
            FishWho::Trophic(name.to_owned())
        } else {
            return None;
        };
        Some(FishIndicator { who, measure })
    };
    of((indicator, FishMeasure::Density)).or_else(|| of(FishMeasure::parts(indicator)?))
}

impl Study {
    /// What an indicator tells of fish, where a zone has such.
    pub fn fish_of(&self, indicator: &str) -> Option<FishIndicator> {
        fish_of(&self.zones, indicator)
    }

    /// Names of the kinds of fish that are told together because they feed alike, in the order of the zones.
    pub fn trophic_groups(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for group in self.zones.iter().flat_map(|zone| &zone.fish).filter_map(|group| group.trophic_group.as_deref()) {
            if !all.contains(&group) {
                all.push(group);
            }
        }
        all
    }

    /// Names of all groups of fish, in the order of the zones.
    pub fn fish_groups(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for group in self.zones.iter().flat_map(|zone| &zone.fish) {
            if !all.contains(&group.name.as_str()) {
                all.push(&group.name);
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_measures_are_read_as_they_are_written() {
        let measures = [
            FishMeasure::Biomass,
            FishMeasure::LongerThan(40.0),
            FishMeasure::MeanLength,
            FishMeasure::ShareLongerThan(12.5),
            FishMeasure::Density,
        ];
        for of in ["grouper", ALL_FISH] {
            for measure in measures {
                assert_eq!(FishMeasure::parts(&measure.name(of)), Some((of, measure)), "{of} {measure:?}");
            }
        }
        assert_eq!(FishMeasure::parts("grouper_over_forty_cm"), None);
    }
}
