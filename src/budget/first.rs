//! Work that is done before anything else disturbs a site, as fish are counted, and how the others wait for it.
//!
//! On a team dive on which somebody counts nothing else is done at the site before a minute: that for which all wait, and in the
//! counter's own pair that for which the buddy waits. A diver who counts less long waits the rest. With more to count or less
//! to do besides nobody is later, so that what fits into a dive holds with every list of work each smaller one.

use super::down_set::Caps;
use super::one_dive::{PairWork, Task};
use crate::design::{First, WhoWaits};

/// How a team dive at a site begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Whether what comes first may be done, as far as all wait no longer than `wait` for it.
    pub with_first: bool,
    /// Minutes before which nobody does anything else at the site.
    pub wait: f64,
}

impl Opening {
    /// Nobody does what comes first, and nobody waits.
    pub const NOT_FIRST: Self = Self { with_first: false, wait: 0.0 };

    /// All openings of a dive on which what comes first may be done, as far as one lets be done what another does not.
    pub fn all(tasks: &[Task], caps: &Caps) -> Vec<Self> {
        let asked = tasks.iter().enumerate().filter(|(task, _)| *task < caps.tasks() && caps.of(*task) > 0);
        let mut waits: Vec<f64> = asked.filter_map(|(_, task)| task.first).map(|first| first.of_all()).collect();
        waits.sort_by(f64::total_cmp);
        waits.dedup();
        let not_first = waits.first().is_none_or(|&least| least > 0.0).then_some(Self::NOT_FIRST);
        let first = waits.into_iter().map(|wait| Self { with_first: true, wait });
        not_first.into_iter().chain(first).collect()
    }

    /// The minutes before which a pair may have to do nothing else: those of all, or what its buddies wait for each other.
    pub fn waits_of_a_pair(self, tasks: &[Task]) -> Vec<f64> {
        let firsts = tasks.iter().filter_map(|task| task.first).filter(|_| self.with_first);
        let of_buddies = firsts.filter(|first| first.who_waits == WhoWaits::Buddy).map(|first| first.minutes);
        let mut waits: Vec<f64> = of_buddies.filter(|&wait| wait > self.wait).chain([self.wait]).collect();
        waits.sort_by(f64::total_cmp);
        waits.dedup();
        waits
    }

    /// Whether a pair that does nothing else before minute `wait` may do a task.
    pub fn allows(self, task: &Task, wait: f64) -> bool {
        task.first.is_none_or(|first| self.with_first && first.of_all() <= self.wait && first.minutes <= wait)
    }
}

/// Minutes for which a diver waits before his other work, where nothing else is done before minute `wait`: what is left of them
/// when he has counted himself.
pub fn minutes_waited(tasks: &[Task], own: &[u8], both: &[u8], wait: f64) -> f64 {
    if wait <= 0.0 {
        return 0.0;
    }
    let (mut counts, mut does_other) = (0.0, false);
    for (task, &n) in tasks.iter().zip(own).chain(tasks.iter().zip(both)).filter(|(_, n)| **n > 0) {
        match task.first {
            Some(_) => counts += task.set_up + f64::from(n) * task.unit.mean,
            None => does_other = true,
        }
    }
    if does_other { (wait - counts).max(0.0) } else { 0.0 }
}

/// For each pair of a team dive the minute before which it does nothing else at a site, from the work of all of them there.
pub fn waits_of_pairs(tasks: &[Task], works: &[&PairWork]) -> Vec<f64> {
    let longest = |work: &PairWork, of: fn(First) -> f64| {
        let done = tasks.iter().zip(work.units()).filter(|(_, n)| *n > 0);
        done.filter_map(|(task, _)| task.first).map(of).fold(0.0, f64::max)
    };
    let of_all = works.iter().map(|work| longest(work, First::of_all)).fold(0.0, f64::max);
    works.iter().map(|work| longest(work, |first| first.minutes).max(of_all)).collect()
}

/// Whether a pair does anything that comes first.
pub fn counts(tasks: &[Task], work: &PairWork) -> bool {
    tasks.iter().zip(work.units()).any(|(task, n)| n > 0 && task.first.is_some())
}
