//! Which line each unit is done on, where several methods are done on lines that are laid once: a line has one number, and the
//! units of that number of all methods lie on it, so that no unit is asked for before its line lies.

use super::schedule::ScheduleRow;
use super::tasks::{LAYING, Tasks};
use std::collections::{BTreeMap, BTreeSet};

/// The methods that are done on the same lines, by the names of their tasks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnLines {
    pub tasks: Vec<String>,
    /// Lines lie until the work at a site is done; else each pair reels its own in at the end of a dive.
    pub stay: bool,
}

impl Tasks {
    pub fn on_lines(&self) -> Option<OnLines> {
        let line = self.line.as_ref()?;
        Some(OnLines {
            tasks: line.tasks.iter().map(|&task| self.tasks[task].name.clone()).collect(),
            stay: line.stays,
        })
    }
}

impl OnLines {
    /// Whether a task is done on the lines, or lays them.
    pub fn has(&self, task: &str) -> bool {
        task == LAYING || self.tasks.iter().any(|of| of == task)
    }

    /// Whether the units of two rows may be exchanged without asking for one before its line lies.
    pub fn may_exchange(&self, one: &ScheduleRow, other: &ScheduleRow) -> bool {
        !self.has(&one.task) || (one.is_of_dive(other) && (self.stay || one.pair == other.pair))
    }

    /// Numbers for the slots at a site, by their places in the list. `slots`: the row of each unit, in the order of the dives;
    /// `units`: the numbers that a method has there; `along`: where a line begins, by its number.
    pub fn numbers(
        &self,
        rows: &[ScheduleRow],
        slots: &[usize],
        units: impl Fn(&str) -> Vec<usize>,
        along: impl Fn(usize) -> f64,
    ) -> Vec<(usize, usize)> {
        let of_task =
            |task: &str| -> Vec<usize> { (0..slots.len()).filter(|&slot| rows[slots[slot]].task == task).collect() };
        let mut left: Vec<(Vec<usize>, Vec<usize>)> =
            self.tasks.iter().map(|task| (of_task(task), units(task))).collect();
        // Those with the fewest units are the hardest to place.
        left.sort_by_key(|(_, units)| units.len());
        let users = |line: usize| left.iter().filter(|(_, units)| units.contains(&line)).count();
        let mut lines: Vec<usize> = left.iter().flat_map(|(_, units)| units.iter().copied()).collect();
        lines.sort_unstable();
        lines.dedup();
        lines.sort_by(|&one, &other| users(other).cmp(&users(one)).then(along(one).total_cmp(&along(other))));
        let shared: BTreeMap<usize, usize> = lines.iter().map(|&line| (line, users(line))).collect();
        if self.stay {
            return in_order(&left, &of_task(LAYING), &lines);
        }
        self.dive_by_dive(rows, slots, left, &shared)
    }

    /// Lines that each pair reels in: what it reads on a dive lies on as few lines as can be.
    fn dive_by_dive(
        &self,
        rows: &[ScheduleRow],
        slots: &[usize],
        mut left: Vec<(Vec<usize>, Vec<usize>)>,
        shared: &BTreeMap<usize, usize>,
    ) -> Vec<(usize, usize)> {
        let dive = |slot: usize| {
            let row = &rows[slots[slot]];
            (row.day, row.boat, row.team_dive, row.pair)
        };
        let dives: BTreeSet<_> = (0..slots.len()).map(dive).collect();
        let mut all = Vec::new();
        for here in dives {
            let mut lines: Vec<usize> = Vec::new();
            for (of_task, units) in &mut left {
                for &slot in of_task.iter().filter(|&&slot| dive(slot) == here) {
                    // Best on a line that lies here already, else on one that the fewest others are read on.
                    let best = units.iter().copied().min_by_key(|line| (!lines.contains(line), shared[line]));
                    let Some(line) = best else { continue };
                    units.retain(|other| *other != line);
                    if !lines.contains(&line) {
                        lines.push(line);
                    }
                    all.push((slot, line));
                }
            }
            let laying = (0..slots.len()).filter(|&slot| dive(slot) == here && rows[slots[slot]].task == LAYING);
            all.extend(laying.zip(lines));
        }
        all
    }
}

/// Lines that stay: the first that are laid are those that most methods are read on, and every method goes along them in the
/// order in which they are laid.
fn in_order(left: &[(Vec<usize>, Vec<usize>)], laying: &[usize], lines: &[usize]) -> Vec<(usize, usize)> {
    let of_method = |(slots, units): &(Vec<usize>, Vec<usize>)| -> Vec<(usize, usize)> {
        slots.iter().copied().zip(lines.iter().copied().filter(|line| units.contains(line))).collect()
    };
    let read = left.iter().flat_map(of_method);
    read.chain(laying.iter().copied().zip(lines.iter().copied())).collect()
}
