use super::fish::FishMeasure;
use super::study::Study;
use super::zone::Zone;
use crate::survey::{MethodKind, Scale};

/// Densities of animals are told per so many square metres.
pub const DENSITY_AREA_M2: f64 = 100.0;

/// The unit of what coral belts tell; covers are shares.
fn colony_unit(indicator: &str) -> Unit {
    match indicator {
        "colony_density" => Unit::Own("per m2".into()),
        "colony_mean_diameter" | "colony_median_diameter" => Unit::Own("m".into()),
        "colony_mean_ln_diameter" => Unit::Own("ln m".into()),
        "colony_age_index" => Unit::Own("years".into()),
        _ => Unit::Share,
    }
}

/// The unit of what is told of fish.
fn fish_unit(told: FishMeasure) -> Unit {
    match told {
        FishMeasure::Density | FishMeasure::LongerThan(_) => Unit::Own("per 100 m2".into()),
        FishMeasure::Biomass => Unit::Own("kg/ha".into()),
        FishMeasure::MeanLength => Unit::Own("cm".into()),
        FishMeasure::ShareLongerThan(_) => Unit::Share,
    }
}

/// The same from the zones of a study that is still being made.
pub fn animal_of<'a>(zones: &[Zone], indicator: &'a str) -> Option<(&'a str, bool)> {
    let is_animal = |name: &str| zones.iter().any(|zone| zone.animals.iter().any(|animal| animal.name == name));
    match indicator.strip_suffix(COMMERCIAL) {
        Some(name) if is_animal(name) => Some((name, true)),
        _ => is_animal(indicator).then_some((indicator, false)),
    }
}

/// Behind the name of an animal: those of commercial size alone.
pub const COMMERCIAL: &str = "_of_commercial_size";

/// The animal of whose presence an indicator tells, from the zones of a study that is still being made.
pub fn presence_of<'a>(zones: &[Zone], indicator: &'a str) -> Option<&'a str> {
    let name = indicator.strip_suffix(PRESENCE)?;
    // An animal may be called so.
    let is_animal = |name: &str| zones.iter().any(|zone| zone.animals.iter().any(|animal| animal.name == name));
    (is_animal(name) && !is_animal(indicator)).then_some(name)
}

/// Behind the name of an animal: the share of belts with at least one that is seen.
pub const PRESENCE: &str = "_presence";

/// What the values of an indicator are told in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A share, 0 to 1: shown in percent, differences in points.
    Share,
    /// A unit of its own; may be empty.
    Own(String),
}

impl Unit {
    /// In JSON: "share", or the unit.
    pub fn name(&self) -> &str {
        match self {
            Unit::Share => "share",
            Unit::Own(unit) => unit,
        }
    }
}

impl Study {
    /// The unit of an indicator, by its name.
    pub fn unit_of(&self, indicator: &str) -> Unit {
        let own = self.methods.iter().find_map(|method| match &method.kind {
            MethodKind::Components(parts) if parts.indicator == indicator => Some(parts.unit.clone()),
            _ => None,
        });
        if let Some(fish) = self.fish_of(indicator).filter(|_| own.is_none()) {
            return fish_unit(fish.measure);
        }
        match own {
            Some(unit) => Unit::Own(unit),
            None if self.recruits_of(indicator).is_some() => Unit::Own("per m2".into()),
            None if self.animal_of(indicator).is_some() => Unit::Own("per 100 m2".into()),
            None => colony_unit(indicator),
        }
    }

    /// The scale of an indicator that is given by its components; `None` of what is read on the reef.
    pub fn scale_of_components(&self, indicator: &str) -> Option<Scale> {
        self.methods.iter().find_map(|method| match &method.kind {
            MethodKind::Components(parts) if parts.indicator == indicator => Some(parts.scale),
            _ => None,
        })
    }

    /// The animal that an indicator counts, and whether only those of commercial size.
    pub fn animal_of<'a>(&self, indicator: &'a str) -> Option<(&'a str, bool)> {
        animal_of(&self.zones, indicator)
    }

    /// The animal of whose presence an indicator tells.
    pub fn presence_of<'a>(&self, indicator: &'a str) -> Option<&'a str> {
        presence_of(&self.zones, indicator)
    }
}
