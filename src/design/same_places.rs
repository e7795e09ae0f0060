//! Two zones at the same places: the deep part and the shallow part of each.

use super::study::Study;
use super::zone::Zone;
use serde::Serialize;

/// That the sites of a zone lie at the places of another: its first site at the place of the first site there, and so on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SamePlaces {
    /// Name of the other zone, the deeper one.
    pub as_zone: String,
    /// How alike the two depths of a place are: correlation of the effects of the two sites, of those of a year, and of what a
    /// change does to one site more than to another. Patches and waves along the reef are each depth's own.
    pub correlation: f64,
}

impl Study {
    /// The zone whose places a zone shares, and how alike the two are.
    pub fn places_of(&self, zone: usize) -> Option<(usize, f64)> {
        let same = self.zones[zone].same_places.as_ref()?;
        let named = self.zones.iter().position(|other| other.name == same.as_zone)?;
        Some((named, same.correlation))
    }

    /// Zones whose sites are replicates by themselves, and pairs of zones with the same places, of which whole places are: the
    /// named zone first. In the order of their first zones in the study.
    pub fn strata(&self) -> Vec<Vec<usize>> {
        let zones = 0..self.zones.len();
        let alone = zones.clone().filter(|&zone| self.places_of(zone).is_none());
        let shares = |zone: usize, named: usize| self.places_of(zone).is_some_and(|(of, _)| of == named);
        let mut strata: Vec<Vec<usize>> = alone
            .map(|named| std::iter::once(named).chain(zones.clone().filter(|&zone| shares(zone, named))).collect())
            .collect();
        strata.sort_by_key(|stratum| stratum.iter().min().copied());
        strata
    }

    /// Whether any zone shares the places of another.
    pub fn shares_places(&self) -> bool {
        (0..self.zones.len()).any(|zone| self.places_of(zone).is_some())
    }

    /// Where the zone whose places a zone shares has an animal of this name in its list.
    pub fn animal_at_place(&self, zone: &Zone, name: &str) -> Option<usize> {
        let same = zone.same_places.as_ref()?;
        let named = self.zones.iter().find(|other| other.name == same.as_zone)?;
        named.animals.iter().position(|animal| animal.name == name)
    }

    /// The same of its groups of fish.
    pub fn fish_at_place(&self, zone: &Zone, name: &str) -> Option<usize> {
        let same = zone.same_places.as_ref()?;
        let named = self.zones.iter().find(|other| other.name == same.as_zone)?;
        named.fish.iter().position(|group| group.name == name)
    }
}
