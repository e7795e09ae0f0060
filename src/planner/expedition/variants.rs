//! Dimensions among those allowed: a method with several lengths, widths, spacings gives a design for each.

use super::indicators::told_by;
use super::known::Known;
use super::tasks::reading_of;
use crate::budget::Indicator;
use crate::design::Expedition;
use crate::engine::Plan;
use crate::survey::Dimensions;

/// For each combination the dimensions of every method of the study.
pub struct Variants {
    pub all: Vec<Vec<Dimensions>>,
    /// What was not looked at, in words; `None`: nothing but what is no faster and no more precise than another.
    pub left_out: Option<String>,
}

/// Most combinations that are searched.
const MOST: usize = 100;

/// One choice for a method: its minutes, and what it tells of each target.
struct Candidate {
    dimensions: Dimensions,
    minutes: f64,
    /// Minutes ashore where they cost money, else 0.
    ashore: f64,
    tells: Vec<Indicator>,
}

impl Candidate {
    /// Whether another is as fast, as cheap ashore and as precise in every zone with every number of units.
    fn is_covered_by(&self, other: &Candidate) -> bool {
        other.minutes <= self.minutes
            && other.ashore <= self.ashore
            && self.tells.iter().zip(&other.tells).all(|(own, other)| is_as_precise(other, own))
    }
}

fn is_as_precise(one: &Indicator, other: &Indicator) -> bool {
    let share = |of: &Indicator, variance: f64| variance / (of.target * of.target);
    let no_more = |a: f64, b: f64| share(one, a) <= share(other, b) * (1.0 + 1e-9);
    let sites = one.sites.iter().zip(&other.sites);
    sites.into_iter().all(|(one, other)| one.iter().zip(other).skip(1).all(|(a, b)| no_more(a.variance, b.variance)))
        && one.floor.iter().zip(&other.floor).skip(1).all(|(a, b)| no_more(*a, *b))
}

/// Every combination of what the planned methods may have, but for what is no faster and no more precise than another.
pub fn variants(plan: &Plan, expedition: &Expedition, known: &Known) -> Variants {
    let mut lists: Vec<Vec<Dimensions>> = plan
        .study
        .methods
        .iter()
        .enumerate()
        .map(|(method, spec)| worth(plan, expedition, known, method, spec.kind.dimensions()))
        .collect();
    let mut dropped = Vec::new();
    while lists.iter().map(Vec::len).product::<usize>() > MOST {
        let longest = (0..lists.len()).max_by_key(|&method| (lists[method].len(), std::cmp::Reverse(method)));
        let Some((method, last)) = longest.and_then(|method| Some((method, lists[method].pop()?))) else { break };
        dropped.push(format!("{} {}", plan.study.methods[method].kind.own_name().replace('_', " "), last.label()));
    }
    let left_out = (!dropped.is_empty()).then(|| {
        format!(
            "Dimensions make more than {MOST} combinations; not looked at, from the ends of the lists: {}.",
            dropped.join("; ")
        )
    });
    let all = lists.iter().fold(vec![Vec::new()], |before: Vec<Vec<Dimensions>>, list| {
        let with = |chosen: &Vec<Dimensions>| {
            let chosen = chosen.clone();
            list.iter().map(move |&one| [&chosen[..], &[one]].concat())
        };
        before.iter().flat_map(with).collect()
    });
    Variants { all, left_out }
}

/// Of the dimensions of one method those that are faster or more precise than every other; the first where no target needs
/// the method.
fn worth(plan: &Plan, expedition: &Expedition, known: &Known, method: usize, all: Vec<Dimensions>) -> Vec<Dimensions> {
    let first = all.first().copied();
    let targets: Vec<_> = expedition
        .targets
        .iter()
        .filter(|target| reading_of(plan, target).is_some_and(|of| plan.layout.readings[of].method == method))
        .collect();
    if targets.is_empty() || all.len() < 2 {
        return first.into_iter().collect();
    }
    let pays_ashore = expedition.rates.as_ref().is_some_and(|rates| rates.ashore_per_hour > 0.0);
    let ashore = |dimensions| plan.study.methods[method].ashore_minutes(dimensions).filter(|_| pays_ashore);
    let most = plan.study.methods[method].units.iter().copied().max().unwrap_or(1);
    let candidates: Vec<Candidate> = all
        .into_iter()
        .filter_map(|dimensions| {
            let readings: Vec<usize> =
                targets.iter().map(|target| told_by(plan, target, &dimensions)).collect::<Option<_>>()?;
            let tells = targets.iter().zip(&readings).map(|(target, &reading)| {
                super::indicators::indicator(
                    plan,
                    target,
                    (0, reading),
                    most.min(super::tasks::MOST_UNITS) as u8,
                    known,
                )
            });
            Some(Candidate {
                dimensions,
                minutes: plan.layout.readings[*readings.first()?].minutes,
                ashore: ashore(dimensions).unwrap_or(0.0),
                tells: tells.collect(),
            })
        })
        .collect();
    let is_worth = |&index: &usize| {
        let own = &candidates[index];
        !candidates.iter().enumerate().any(|(other, candidate)| {
            other != index
                && own.is_covered_by(candidate)
                // Of two alike the first stays.
                && (other < index || !candidate.is_covered_by(own))
        })
    };
    (0..candidates.len()).filter(is_worth).map(|index| candidates[index].dimensions).collect()
}
