//! The order of the dives at a site: those that serve musts first, so that what is cut short costs the others first.

use crate::budget::{PairDive, Task, counts};
use std::collections::BTreeSet;

/// The same dives in another order: those with more minutes of tasks of musts come earlier. A first dive with work that comes
/// first stays the first. For sites whose lines do not stay from dive to dive.
pub fn musts_first(mut work: Vec<PairDive>, tasks: &[Task], musts: &BTreeSet<usize>) -> Vec<PairDive> {
    let units = |dive: &PairDive| dive.work.units();
    let is_fixed = work.iter().any(|of| of.team_dive == 0 && counts(tasks, &of.work));
    let minutes = |number: usize| -> f64 {
        let of_dive = work.iter().filter(|of| of.team_dive == number);
        let of_musts =
            |of: &PairDive| musts.iter().map(|&task| f64::from(units(of)[task]) * tasks[task].unit.mean).sum::<f64>();
        of_dive.map(of_musts).sum()
    };
    let dives = work.iter().map(|of| of.team_dive + 1).max().unwrap_or(0);
    let mut order: Vec<(usize, f64)> = (0..dives).map(|number| (number, minutes(number))).collect();
    // Dives that serve them alike stay in their order.
    order[usize::from(is_fixed)..].sort_by(|one, other| other.1.total_cmp(&one.1));
    for of in &mut work {
        of.team_dive = order.iter().position(|(number, _)| *number == of.team_dive).unwrap_or(of.team_dive);
    }
    work.sort_by_key(|of| of.team_dive);
    work
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::{Minutes, Pair, PairWork, Takes};
    use crate::design::{First, WhoWaits};

    fn task(comes_first: bool) -> Task {
        Task {
            name: String::new(),
            unit: Minutes { mean: 10.0, cv: 0.0 },
            set_up: 0.0,
            skill: None,
            takes: Takes::One,
            first: comes_first.then_some(First { minutes: 5.0, who_waits: WhoWaits::Buddy }),
        }
    }

    /// A pair on a team dive with units of three tasks.
    fn dive(team_dive: usize, pair: usize, units: [u8; 3]) -> PairDive {
        let nothing = || vec![0; 3];
        PairDive {
            team_dive,
            pair: Pair(2 * pair, 2 * pair + 1),
            work: PairWork { one: units.to_vec(), other: nothing(), both: nothing() },
        }
    }

    fn order(work: &[PairDive]) -> Vec<(usize, usize, Vec<u8>)> {
        work.iter().map(|of| (of.team_dive, of.pair.0 / 2, of.work.units())).collect()
    }

    #[test]
    fn dives_that_serve_musts_come_first_and_nothing_else_changes() {
        let tasks = [task(false), task(false), task(false)];
        let must = BTreeSet::from([2]);
        // The third task is a must: of three dives the last has most of it, the second some.
        let work = vec![dive(0, 0, [2, 0, 0]), dive(0, 1, [0, 2, 0]), dive(1, 0, [1, 0, 1]), dive(2, 1, [0, 0, 2])];
        let ordered = order(&musts_first(work.clone(), &tasks, &must));
        let wanted = [(0, 1, [0, 0, 2]), (1, 0, [1, 0, 1]), (2, 0, [2, 0, 0]), (2, 1, [0, 2, 0])];
        assert_eq!(ordered, wanted.map(|(dive, pair, units)| (dive, pair, units.to_vec())));
        // What comes first at a site does; without musts, or with all alike, nothing moves.
        let first = [task(true), task(false), task(false)];
        let kept = order(&musts_first(work.clone(), &first, &must));
        assert_eq!((kept[0].0, kept[0].2.clone(), kept[2].2.clone()), (0, vec![2, 0, 0], vec![0, 0, 2]));
        assert_eq!(order(&musts_first(work.clone(), &tasks, &BTreeSet::new())), order(&work));
        let alike = vec![dive(0, 0, [0, 0, 1]), dive(1, 0, [1, 0, 1])];
        assert_eq!(order(&musts_first(alike.clone(), &tasks, &must)), order(&alike));
        assert!(musts_first(Vec::new(), &tasks, &must).is_empty());
    }
}
