//! How many units: the smallest number whose power reaches the target and stays above it.

use super::answer::Needed;
use super::rows::{is_held, is_marked, means, place_name, site_count, states_of_rows};
use crate::analysis::{normal_cdf, normal_density, normal_quantile};
use crate::design::{Comparison, Study};
use crate::engine::{DesignIndex, Held, Outcome, Plan, Where};
use crate::measures::Rate;
use crate::theory::{DesignTheory, UnitMoments, ZoneShare, smallest_that_stays_above};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// More units than this on one site are "not within reach".
pub const MOST_UNITS: usize = 400;

/// A design without its number of units: what is asked "how many" about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HowMany {
    pub reading: usize,
    /// Index into the zones' numbers of sites.
    pub sites: usize,
    pub place: Where,
    pub state: usize,
}

impl HowMany {
    /// All questions of a plan: each reading, number of sites, place and change of the reading's indicator.
    pub fn all(plan: &Plan) -> Vec<HowMany> {
        let mut all = Vec::new();
        // Of sizes the formula is an approximation, and tells no number of units: the rows show what is seen.
        let is_exact = |design: &DesignIndex| plan.comparison(design.reading, design.units) != Comparison::Sizes;
        for design in plan.all_designs().filter(|design| design.units == 0).filter(is_exact) {
            for state in states_of_rows(plan, &design).into_iter().filter(|&state| state >= 2) {
                all.push(HowMany { reading: design.reading, sites: design.sites, place: design.place, state });
            }
        }
        all
    }

    /// The most units a site is thought to get: what its layout has room for, and no more than cover its area, if that is less than
    /// [`MOST_UNITS`].
    pub fn most_units(&self, plan: &Plan) -> usize {
        let searched_m2 = plan.layout.readings[self.reading].dimensions.searched_m2();
        let most = |zone: usize| {
            let site = &plan.study.zones[zone];
            let covers = searched_m2.map_or(MOST_UNITS, |unit| (site.length_m * site.width_m / unit) as usize);
            plan.moments(zone, self.reading).laid(MOST_UNITS).min(covers.max(1))
        };
        plan.weights(self.place).into_iter().map(|(zone, _)| most(zone)).min().unwrap_or(MOST_UNITS)
    }

    /// The simulated number of units (its place in the list) nearest below a number; `None` where all are larger.
    pub fn nearest_below(&self, plan: &Plan, units: usize) -> Option<usize> {
        plan.layout.readings[self.reading].units.iter().rposition(|&simulated| simulated <= units)
    }

    /// How often the test rings falsely with the `units`-th number of units, where that is too often.
    pub fn rings_falsely(&self, plan: &Plan, outcome: &Outcome, units: usize) -> Option<Rate> {
        let alarm = outcome.tally(plan.index(&self.design(units)), 1).rejection();
        is_marked(alarm, plan.study.test.alpha).then_some(alarm)
    }

    /// Whether the test must be held to its level to answer this: with any number of units it rings falsely too often.
    pub fn is_held(&self, plan: &Plan, outcome: &Outcome) -> bool {
        is_held(plan, outcome, &self.design(0))
    }

    /// How often the change is seen with the `units`-th number of units; `None` where the test cannot be held to its level.
    pub fn seen(&self, plan: &Plan, outcome: &Outcome, units: usize, held: bool) -> Option<Seen> {
        Seen::new(plan, outcome, &self.design(units), self.state, held)
    }

    pub fn design(&self, units: usize) -> DesignIndex {
        DesignIndex { reading: self.reading, units, sites: self.sites, place: self.place }
    }

    /// Power by theory at any number of units, with the moments that `moments` has for each zone.
    pub fn power<'a>(&self, plan: &Plan, moments: impl Fn(usize) -> &'a UnitMoments, units: usize) -> f64 {
        self.power_in(plan, &plan.study, moments, units)
    }

    /// The same for a study that differs from the plan's (in where tapes lie).
    pub fn power_in<'a>(
        &self,
        plan: &Plan,
        study: &Study,
        moments: impl Fn(usize) -> &'a UnitMoments,
        units: usize,
    ) -> f64 {
        self.power_with(plan, study, moments, |zone| plan.sites[zone][self.sites], units)
    }

    /// The same at a number of sites that need not be on the list.
    pub fn power_at_sites(&self, plan: &Plan, sites: usize, units: usize) -> f64 {
        self.power_with(plan, &plan.study, |zone| plan.moments(zone, self.reading), |_| sites, units)
    }

    fn power_with<'a>(
        &self,
        plan: &Plan,
        study: &Study,
        moments: impl Fn(usize) -> &'a UnitMoments,
        sites: impl Fn(usize) -> usize,
        units: usize,
    ) -> f64 {
        let reading = &plan.layout.readings[self.reading];
        let shares: Vec<ZoneShare> = plan
            .weights_in(self.place, self.reading)
            .map(|(zone, weight)| ZoneShare {
                zone: &plan.study.zones[zone],
                moments: moments(zone),
                place: plan.place_covariance(zone, self.reading),
                weight,
                sites: sites(zone),
                units,
                comparison: study.comparison(reading.indicator.name(), reading.dimensions, units),
            })
            .collect();
        let theory = DesignTheory::new(study, &shares, self.state);
        let power = theory.rejects(theory.expected, &plan.critical);
        if power.is_nan() { 0.0 } else { power }
    }
}

/// The smallest number in `least ..= most` from which on `power` is at least `target`; `None` when even the most are too
/// few. Power rises with the number but for ripples (an added unit may go to another observer).
pub fn stays_above(target: f64, least: usize, most: usize, power: impl Fn(usize) -> f64) -> Option<usize> {
    smallest_that_stays_above(least as u64, most as u64, target, |n| power(n as usize)).map(|n| n as usize)
}

/// A simulated power, with one standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    pub value: f64,
    pub error: f64,
}

impl Seen {
    /// Of a design in a state; of the test held to its level, where that is asked for.
    pub fn new(plan: &Plan, outcome: &Outcome, design: &DesignIndex, state: usize, held: bool) -> Option<Self> {
        let tally = |state: usize| outcome.tally(plan.index(design), state);
        if !held {
            return Some(tally(state).rejection().into());
        }
        Held::new(plan.study.test.alpha, tally(1), tally(state))
            .map(|held| Self { value: held.power, error: held.error })
    }
}

impl From<Rate> for Seen {
    fn from(rate: Rate) -> Self {
        Self { value: rate.value(), error: rate.error() }
    }
}

/// How simulation differs from theory along a curve, on the probit scale: `a + b / n`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Correction {
    pub level: f64,
    pub slope: f64,
    /// Typical simulation error of a point of the curve, probits. Points of one run are correlated, so averaging over
    /// them is not taken to reduce it.
    pub error: f64,
}

impl Correction {
    /// Weighted least squares of probit(simulated) - probit(theory) on 1 / n. Rates of 0 or 1 say too little and are left
    /// out; with fewer than three points the slope is nil.
    pub fn fit(points: &[(usize, Seen, f64)]) -> Self {
        let usable: Vec<(f64, f64, f64)> = points
            .iter()
            .filter(|(_, seen, theory)| 0.0 < seen.value && seen.value < 1.0 && 1e-6 < *theory && *theory < 1.0 - 1e-6)
            .map(|&(n, seen, theory)| {
                let z = normal_quantile(seen.value);
                let error = seen.error / normal_density(z);
                (1.0 / n as f64, z - normal_quantile(theory), error)
            })
            .collect();
        if usable.is_empty() {
            return Self::default();
        }
        let weight = |error: f64| 1.0 / (error * error);
        let total: f64 = usable.iter().map(|p| weight(p.2)).sum();
        let mean = |f: &dyn Fn(&(f64, f64, f64)) -> f64| usable.iter().map(|p| weight(p.2) * f(p)).sum::<f64>() / total;
        let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
        let square = mean(&|p| (p.0 - x) * (p.0 - x));
        let slope = if usable.len() >= 3 && square > 1e-12 { mean(&|p| (p.0 - x) * (p.1 - y)) / square } else { 0.0 };
        let error = (usable.len() as f64 / total).sqrt();
        Self { level: y - slope * x, slope, error }
    }

    /// Theory's power with the correction, moved by `errors` simulation errors.
    pub fn apply(&self, n: usize, theory: f64, errors: f64) -> f64 {
        let bounded = theory.clamp(1e-12, 1.0 - 1e-12);
        normal_cdf(normal_quantile(bounded) + self.level + self.slope / n as f64 + errors * self.error)
    }
}

/// Fresh trials at a few numbers of units: (units, how often seen).
pub type Fresh = Vec<(usize, Seen)>;

/// Answers one question from a run (and fresh trials, where there are any).
pub fn needed(plan: &Plan, outcome: &Outcome, ask: &HowMany, fresh: &Fresh) -> Needed {
    let reading = &plan.layout.readings[ask.reading];
    let target = plan.study.test.seen;
    // Three curves and the fit of their correction ask for the same numbers of units.
    let known = RefCell::new(BTreeMap::new());
    let theory = |n: usize| -> f64 {
        let power = || ask.power(plan, |zone| plan.moments(zone, ask.reading), n);
        *known.borrow_mut().entry(n).or_insert_with(power)
    };
    let held = ask.is_held(plan, outcome);
    let simulated: Vec<(usize, Option<Seen>)> =
        reading.units.iter().enumerate().map(|(u, &n)| (n, ask.seen(plan, outcome, u, held))).collect();
    let mut points: Vec<(usize, Seen, f64)> =
        simulated.iter().filter_map(|&(n, seen)| Some((n, seen?, theory(n)))).collect();
    points.extend(fresh.iter().map(|&(n, seen)| (n, seen, theory(n))));
    let correction = Correction::fit(&points);
    let least = plan.least_units(ask.place, ask.sites);
    let most = ask.most_units(plan).max(least);
    // No fewer than were tried: a formula that is mended by simulation is no proof below it.
    let fewest = points.iter().map(|&(n, ..)| n).min().unwrap_or(least).clamp(least, most);
    // A number of units with which the test cannot be held to its level has no power that counts, and none beyond it has.
    let unheld = simulated.iter().find(|(_, seen)| seen.is_none()).map(|&(n, _)| n);
    let at = |errors: f64| {
        let number = stays_above(target, fewest, most, |n| correction.apply(n, theory(n), errors));
        number.filter(|number| unheld.is_none_or(|unheld| *number < unheld))
    };
    let (from, to) = means(plan, &ask.design(0), ask.state);
    Needed {
        indicator: reading.indicator.name().into(),
        zone: place_name(plan, ask.place),
        method: plan.study.method_name(reading.method),
        dimensions: reading.dimensions,
        sites: site_count(plan, ask.place, ask.sites),
        change_from: from,
        change_to: to,
        deaths: plan.study.changes[ask.state - 2].deaths,
        units: at(0.0),
        units_low: at(2.0),
        units_high: at(-2.0),
        theory_units: stays_above(target, least, most, theory),
        // As mended by simulation, and no less than what was simulated.
        ceiling: points
            .iter()
            .map(|(_, seen, _)| seen.value)
            .fold(correction.apply(1_000_000, theory(1_000_000), 0.0), f64::max),
        held,
        confirmed: fresh.iter().map(|&(n, seen)| (n, seen.value, seen.error)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_correction_finds_what_was_put_in() {
        let points: Vec<(usize, Seen, f64)> = (2..=12)
            .map(|n| {
                let theory = 0.1 + 0.06 * n as f64;
                let p = normal_cdf(normal_quantile(theory) + 0.1 - 0.3 / n as f64);
                (n, Rate::new((p * 1e6) as u64, 1_000_000).into(), theory)
            })
            .collect();
        let found = Correction::fit(&points);
        assert!((found.level - 0.1).abs() < 1e-3 && (found.slope + 0.3).abs() < 5e-3, "{found:?}");
        assert!((found.apply(6, 0.46, 0.0) - normal_cdf(normal_quantile(0.46) + 0.05)).abs() < 1e-3);
        assert_eq!(Correction::fit(&[(3, Rate::new(0, 10).into(), 0.5)]), Correction::default());
    }
}
