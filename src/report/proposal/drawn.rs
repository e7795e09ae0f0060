//! What is drawn as one: the sites of a zone, or the places of two depths.

use crate::planner::expedition::BudgetPlan;
use crate::report::budget::BudgetReport;

/// Zones whose sites are drawn together, and so are one replicate each.
pub struct Drawn<'a> {
    /// Their names, the one by whose list they are drawn first.
    pub zones: Vec<&'a str>,
    /// Place of that one among the zones.
    pub first: usize,
    pub sites: usize,
}

/// All that a plan draws, in the order of the zones.
pub fn drawn<'a>(report: &BudgetReport, plan: &'a BudgetPlan) -> Vec<Drawn<'a>> {
    let of = |stratum: Vec<usize>| {
        let zones: Vec<_> = stratum.iter().filter_map(|&zone| plan.zones.get(zone)).collect();
        let sites = zones.first()?.sites;
        Some(Drawn { first: stratum[0], sites, zones: zones.into_iter().map(|zone| zone.zone.as_str()).collect() })
    };
    report.scenario.strata().into_iter().filter_map(of).collect()
}

/// Sites and places of a plan, those of two depths once.
pub fn places(drawn: &[Drawn]) -> usize {
    drawn.iter().map(|of| of.sites).sum()
}
