//! Zones that share places are one stratum: its replicates are whole places, whose value is the weighted sum of what the zones
//! have there. The one place where such values are made.

use super::estimate::ZoneEstimate;
use super::plan::{DesignIndex, Plan, Where};
use super::site_sums::{SiteMeans, SiteSums, StateSums, add_means};
use super::site_values::SiteValues;

impl Plan {
    /// Strata of several zones.
    pub fn shared_strata(&self) -> impl Iterator<Item = &[usize]> {
        self.strata.iter().map(Vec::as_slice).filter(|stratum| stratum.len() > 1)
    }

    /// Whether a zone lies at the places of another, or another at its.
    pub fn shares_places(&self, zone: usize) -> bool {
        self.shared_strata().any(|stratum| stratum.contains(&zone))
    }
}

/// The values of the sites of a stratum in a state, each zone with its weight in the mean over all zones.
pub(super) fn values_of_stratum(
    plan: &Plan,
    values: &SiteValues,
    design: &DesignIndex,
    stratum: &[usize],
    state: usize,
) -> Vec<f64> {
    let sites = plan.sites[stratum[0]][design.sites];
    let mut sums = vec![0.0; sites];
    for &zone in stratum {
        let weight = plan.weight(Where::All, design.reading, zone);
        let means = values.means((zone, design.reading, design.units), state, sites);
        sums.iter_mut().zip(means).for_each(|(sum, mean)| *sum += weight * mean);
    }
    sums
}

/// What a stratum adds to the estimate over all zones.
pub(super) fn estimate_of_places(
    plan: &Plan,
    values: &SiteValues,
    design: &DesignIndex,
    stratum: &[usize],
    state: usize,
) -> ZoneEstimate {
    let of = |state| values_of_stratum(plan, values, design, stratum, state);
    let (first, later) = (of(0), of(state));
    let mut sums = [StateSums::default(); 2];
    for (&first, &later) in first.iter().zip(&later) {
        let means = [first, later].map(|mean| SiteMeans { mean, ..SiteMeans::default() });
        add_means(&mut sums, &means, plan.same_sites);
    }
    let units = plan.layout.readings[design.reading].units[design.units];
    let terms = plan.terms(stratum[0], first.len(), units);
    ZoneEstimate::new(&SiteSums { sites: first.len() as f64, states: &sums }, state.min(1), &terms)
}
