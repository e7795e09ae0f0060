//! What one diver, and one pair, get done in one dive.

use super::down_set::{Caps, Units};
use super::first::{Opening, minutes_waited};
use crate::analysis::normal_cdf;
use crate::design::First;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// Minutes of one kind of work with their spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minutes {
    pub mean: f64,
    /// SD over mean.
    pub cv: f64,
}

impl Minutes {
    fn variance(self) -> f64 {
        (self.mean * self.cv).powi(2)
    }
}

/// Whether a unit takes one diver of a pair or both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    One,
    Both,
}

/// One kind of work under water.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    pub name: String,
    /// One unit: lay, read, move on, reel in.
    pub unit: Minutes,
    /// Once for each diver and dive in which he does any; it spreads as the units do.
    pub set_up: f64,
    pub takes: Takes,
    /// The skill it needs, as an index.
    pub skill: Option<usize>,
    /// Done before anything else disturbs the site, as fish are counted.
    pub first: Option<First>,
}

/// One diver, as far as work goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Diver {
    pub name: String,
    /// Bit s: he has skill s.
    pub skills: u32,
}

impl Task {
    /// Minutes of setting up.
    fn start(&self) -> Minutes {
        Minutes { mean: self.set_up, cv: self.unit.cv }
    }
}

impl Diver {
    pub fn can(&self, task: &Task) -> bool {
        task.skill.is_none_or(|skill| self.skills >> skill & 1 == 1)
    }
}

/// Two divers, by their place in the list. There is no lone diver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair(pub usize, pub usize);

/// Divers and pairs.
#[derive(Clone, Debug, PartialEq)]
pub struct Crew {
    pub divers: Vec<Diver>,
    pub pairs: Vec<Pair>,
}

/// When a dive counts as finished: the minutes of each diver, with their spread taken for normal, end in time with a
/// chance of which this is the normal quantile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finish {
    pub quantile: f64,
}

impl Finish {
    /// Mean minutes of a list of work and their variance.
    pub fn minutes(tasks: &[Task], units: &[u8]) -> (f64, f64) {
        tasks.iter().zip(units).filter(|(_, n)| **n > 0).fold((0.0, 0.0), |(mean, variance), (task, &n)| {
            let n = f64::from(n);
            (mean + task.set_up + n * task.unit.mean, variance + task.start().variance() + n * task.unit.variance())
        })
    }

    /// Chance that both divers of a pair who do nothing but what comes first before minute `wait` are done in so many minutes.
    /// The divers' minutes are taken for independent: where both do a unit together the chance is a little higher. With
    /// lognormal minutes of the same mean and spread it is within .03 where a dive is packed for .9 and units spread by 15
    /// to 40 % (simulated, see `packing_tests`). A diver who counts waits as long as his counts leave on average.
    pub fn chance(self, tasks: &[Task], (work, wait): (&PairWork, f64), minutes: f64) -> f64 {
        let of = |own: &Units| {
            let waits = minutes_waited(tasks, own, &work.both, wait);
            let (own_mean, own_variance) = Self::minutes(tasks, own);
            let (both_mean, both_variance) = Self::minutes(tasks, &work.both);
            let (mean, variance) = (own_mean + both_mean + waits, own_variance + both_variance);
            if mean == 0.0 {
                return 1.0;
            }
            if variance == 0.0 {
                f64::from(u8::from(mean <= minutes + SLACK))
            } else {
                normal_cdf((minutes - mean) / variance.sqrt())
            }
        };
        of(&work.one) * of(&work.other)
    }

    /// Minutes that must be there so that both divers of a pair end in time.
    pub fn needs_of_pair(self, tasks: &[Task], work: &PairWork, wait: f64) -> f64 {
        let of = |own: &Units| self.needs_of_diver(tasks, own, (&work.both, wait));
        of(&work.one).max(of(&work.other)) + self.needs(tasks, &work.both)
    }

    /// Minutes that must be there for what a diver does alone, beside what both do, with what he waits.
    pub fn needs_of_diver(self, tasks: &[Task], own: &[u8], (both, wait): (&[u8], f64)) -> f64 {
        self.needs(tasks, own) + minutes_waited(tasks, own, both, wait)
    }

    /// Minutes that must be there so that the work ends in time.
    pub fn needs(self, tasks: &[Task], units: &[u8]) -> f64 {
        let (mean, variance) = Self::minutes(tasks, units);
        mean + self.quantile * variance.sqrt()
    }
}

/// Rounding of minutes never decides what fits.
const SLACK: f64 = 1e-9;

/// The largest lists of work that a diver can have, of the tasks that are allowed.
fn tops_of_diver(
    tasks: &[Task],
    caps: &Caps,
    diver: &Diver,
    allowed: impl Fn(&Task) -> bool,
    fits: &dyn Fn(&[u8]) -> bool,
) -> Vec<Units> {
    let most: Vec<u8> = (0..caps.tasks())
        .map(|t| {
            let task = &tasks[t];
            if task.takes == Takes::One && diver.can(task) && allowed(task) { caps.of(t) } else { 0 }
        })
        .collect();
    let mut tops = Vec::new();
    let mut units = vec![0; most.len()];
    if fits(&units) {
        grow(&most, fits, 0, &mut units, &mut tops);
    }
    tops
}

/// Lists in dictionary order all vectors that fit; keeps those to which nothing can be added.
fn grow(most: &[u8], fits: &dyn Fn(&[u8]) -> bool, axis: usize, units: &mut Units, tops: &mut Vec<Units>) {
    if axis == most.len() {
        let can_grow = (0..most.len()).any(|other| {
            if units[other] >= most[other] {
                return false;
            }
            units[other] += 1;
            let more = fits(units);
            units[other] -= 1;
            more
        });
        if !can_grow {
            tops.push(units.clone());
        }
        return;
    }
    for n in 0..=most[axis] {
        units[axis] = n;
        if !fits(units) {
            break;
        }
        grow(most, fits, axis + 1, units, tops);
    }
    units[axis] = 0;
}

/// What one diver, the other, and both together do in a dive of a pair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairWork {
    pub one: Units,
    pub other: Units,
    pub both: Units,
}

impl PairWork {
    pub fn units(&self) -> Units {
        self.one
            .iter()
            .zip(&self.other)
            .zip(&self.both)
            .map(|((a, b), c)| a.saturating_add(*b).saturating_add(*c))
            .collect()
    }
}

/// The largest works of a pair in one dive of so many minutes of work that begins in some way; what fits is everything at or
/// below one of them.
pub fn works_of_pair(
    tasks: &[Task],
    caps: &Caps,
    who: (&Crew, Pair, Finish),
    minutes: f64,
    opening: Opening,
) -> Vec<PairWork> {
    largest(all_works_of_pair(tasks, caps, who, minutes, opening), caps)
}

/// The same with those that lie within others. Each diver does what comes first, then what is left to him, then both what takes
/// both.
pub fn all_works_of_pair(
    tasks: &[Task],
    caps: &Caps,
    (crew, pair, finish): (&Crew, Pair, Finish),
    minutes: f64,
    opening: Opening,
) -> Vec<PairWork> {
    let divers = [&crew.divers[pair.0], &crew.divers[pair.1]];
    let mut all: Vec<PairWork> = Vec::new();
    for wait in opening.waits_of_a_pair(tasks) {
        let allowed = |task: &Task| opening.allows(task, wait);
        for both in works_of_both(tasks, caps, divers, allowed, |units| finish.needs(tasks, units) <= minutes + SLACK) {
            let left = minutes - finish.needs(tasks, &both) + SLACK;
            let fits = |own: &[u8]| finish.needs_of_diver(tasks, own, (&both, wait)) <= left;
            let [ones, others] = divers.map(|diver| tops_of_diver(tasks, caps, diver, allowed, &fits));
            for one in &ones {
                let with = |other: &Units| PairWork { one: one.clone(), other: other.clone(), both: both.clone() };
                all.extend(others.iter().map(with));
            }
        }
    }
    all
}

/// Those whose units, as far as there are caps for them, are not within those of another, in the order of the dictionary.
/// Cost: works x largest works.
pub fn largest(works: Vec<PairWork>, caps: &Caps) -> Vec<PairWork> {
    let cut = |work: &PairWork| -> Units {
        work.units().iter().take(caps.tasks()).enumerate().map(|(task, &n)| n.min(caps.of(task))).collect()
    };
    let mut by_units: BTreeMap<Units, PairWork> = BTreeMap::new();
    for work in works {
        by_units.entry(cut(&work)).or_insert(work);
    }
    // What others lie within has more units in all.
    let all = |units: &Units| units.iter().map(|&n| u32::from(n)).sum::<u32>();
    let mut falling: Vec<&Units> = by_units.keys().collect();
    falling.sort_by_key(|units| Reverse(all(units)));
    let mut tops: Vec<Units> = Vec::new();
    for units in falling {
        if !tops.iter().any(|top| units.iter().zip(top).all(|(n, most)| n <= most)) {
            tops.push(units.clone());
        }
    }
    tops.sort_unstable();
    tops.into_iter().filter_map(|top| by_units.remove(&top)).collect()
}

/// All lists of work that takes both divers, of the tasks that are allowed, and that they get done in time; nothing among them.
fn works_of_both(
    tasks: &[Task],
    caps: &Caps,
    divers: [&Diver; 2],
    allowed: impl Fn(&Task) -> bool,
    fits: impl Fn(&[u8]) -> bool,
) -> Vec<Units> {
    let most: Vec<u8> = (0..caps.tasks())
        .map(|t| {
            let task = &tasks[t];
            let can = divers.iter().any(|diver| diver.can(task));
            if task.takes == Takes::Both && can && allowed(task) { caps.of(t) } else { 0 }
        })
        .collect();
    let mut all = vec![vec![0; most.len()]];
    for axis in 0..most.len() {
        let more: Vec<Units> = all
            .iter()
            .flat_map(|units| {
                (1..=most[axis]).map(move |n| {
                    let mut units = units.clone();
                    units[axis] = n;
                    units
                })
            })
            .filter(|units| fits(units))
            .collect();
        all.extend(more);
    }
    all
}
