//! Work on a line that another task laid: laying and reeling in is a task of its own, the last of the list, done once for
//! all that is read on the line. Nobody is planned to wait until a line lies: on one dive it serves as soon as the dive
//! ends, whoever lays it.

use super::down_set::{Caps, DownSet, Units};
use super::one_dive::PairWork;

/// Lines that serve several tasks. Laying one is the last task of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The tasks that are done on it, by their place in the list: each unit needs a line, and units of different tasks
    /// share one.
    pub tasks: Vec<usize>,
    /// It stays until the work at a site is done and serves all pairs; else each pair reels its lines in at the end of a
    /// dive and works on its own.
    pub stays: bool,
}

impl Line {
    /// Lines that so many units need.
    pub fn needs(&self, units: &[u8]) -> u8 {
        self.tasks.iter().map(|&task| units[task]).max().unwrap_or(0)
    }

    /// The caps with those of laying after them.
    pub fn with_laying(&self, caps: &Caps) -> Caps {
        let mut all: Units = (0..caps.tasks()).map(|task| caps.of(task)).collect();
        all.push(self.needs(&all));
        Caps::new(all)
    }

    /// What of a pair's dive has a line of its own under it, and no line for nothing.
    pub fn cut(&self, mut work: PairWork) -> PairWork {
        let laying = work.one.len() - 1;
        let lines = work.units()[laying];
        for &task in &self.tasks {
            lower(&mut work, task, lines);
        }
        let needed = self.needs(&work.units());
        lower(&mut work, laying, needed);
        work
    }

    /// Drops from what can be done up to the end of a team dive all that no line lies under.
    pub fn drop_without(&self, set: &mut DownSet, caps: &Caps) {
        set.keep_where_last_reaches(caps, |units| self.needs(units));
    }
}

/// Takes units of a task out of a pair's dive until so many are left.
fn lower(work: &mut PairWork, task: usize, most: u8) {
    let mut excess = work.units()[task].saturating_sub(most);
    for units in [&mut work.other, &mut work.one, &mut work.both] {
        let out = excess.min(units[task]);
        units[task] -= out;
        excess -= out;
    }
}
