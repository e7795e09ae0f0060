//! What theory knows of each target, as the search over designs asks for it.

use super::tasks::Tasks;
use crate::analysis::Tail;
use crate::budget::{Indicator, Need, NeedTable, SiteTells};
use crate::design::{Asks, Sides, Target};
use crate::engine::Plan;
use crate::planner::rows::scale_of;
use crate::theory::{DesignTheory, ZoneShare};

/// Numbers of sites at which theory is asked: two, and so many that only what all sites share is left.
const FEW: usize = 2;
const MANY: usize = 100_000_000;

/// The state of the study in which a target is judged: its change, the one visit, or no change.
pub fn state_of(plan: &Plan, target: &Target) -> usize {
    match target.asks {
        Asks::SeeChange(change) => change + 2,
        Asks::Cv(_) => 0,
        Asks::HalfWidth(_) => usize::from(plan.states > 1),
    }
}

/// The tail of a test whose change goes the way it looks.
pub fn tail_of_test(sides: Sides) -> Tail {
    if sides == Sides::Two { Tail::Two } else { Tail::Upper }
}

/// For each target of the expedition, what one site tells with 0, 1 ... units in each zone.
pub fn indicators(plan: &Plan, targets: &[Target], tasks: &Tasks) -> Vec<Indicator> {
    let each = targets.iter().zip(&tasks.told_by);
    each.map(|(target, &(task, reading))| indicator(plan, target, (task, reading), tasks.caps.of(task))).collect()
}

fn indicator(plan: &Plan, target: &Target, (task, reading): (usize, usize), most: u8) -> Indicator {
    let state = state_of(plan, target);
    let zones = plan.study.zones.len();
    let mut floor = vec![0.0; usize::from(most) + 1];
    let mut sites = vec![vec![SiteTells::one(f64::INFINITY)]; zones];
    let (mut expected, mut mean) = (0.0, 0.0);
    for units in 1..=usize::from(most) {
        (expected, mean) = (0.0, 0.0);
        for zone in 0..zones {
            let weight = plan.study.zones[zone].weight;
            let (few, many) =
                (theory(plan, reading, zone, units, FEW, state), theory(plan, reading, zone, units, MANY, state));
            // What all sites share is the same however many there are.
            let shared = many.se * many.se;
            let one = (few.se * few.se - shared).max(0.0) * FEW as f64;
            let tested = few.test_se.powi(2);
            let part = one / FEW as f64;
            let concentration =
                if part > 0.0 { tested * tested * (FEW as f64 - 1.0) / (few.df * part * part) } else { 1.0 };
            sites[zone].push(SiteTells { variance: one, concentration: concentration.min(1.0) });
            floor[units] += weight * weight * (shared + few.shared_sd * few.shared_sd);
            expected += weight * few.expected;
            mean += weight * theory(plan, reading, zone, units, FEW, 0).expected;
        }
    }
    let test = &plan.study.test;
    let tail = tail_of_test(test.sides);
    let scale = scale_of(plan, reading);
    let slope = scale.slope(mean);
    let (amount, need) = match target.asks {
        Asks::SeeChange(_) => (expected.abs(), Need::Table(NeedTable::of_power(test.alpha, tail, test.seen))),
        Asks::HalfWidth(half_width) => (half_width / slope, Need::Table(NeedTable::of_half_width(1.0 - test.alpha))),
        Asks::Cv(cv) => (cv * (scale.value(mean) / slope).abs(), Need::Constant(1.0)),
    };
    Indicator {
        name: target.indicator.clone(),
        task,
        is_must: target.must,
        weight: target.weight,
        sites,
        floor,
        target: amount,
        need,
    }
}

/// Theory of one zone by itself.
fn theory(plan: &Plan, reading: usize, zone: usize, units: usize, sites: usize, state: usize) -> DesignTheory {
    let of = &plan.layout.readings[reading];
    let share = ZoneShare {
        zone: &plan.study.zones[zone],
        moments: plan.moments(zone, reading),
        weight: 1.0,
        sites,
        units,
        comparison: plan.study.comparison(of.indicator.name(), of.dimensions, units),
    };
    DesignTheory::new(&plan.study, &[share], state)
}
