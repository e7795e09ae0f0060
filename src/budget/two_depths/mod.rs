//! Two depths of a place on one dive: the deep part first, then the shallow part, the two divers of a pair always together.
//!
//! The time of a dive with work at both depths is that of a dive at the deeper one, less the minutes to move up; nothing is
//! gained by having been shallower for a while. A pair leaves the deep part together, when the later of the two is done
//! there. What fits is everything at or below the work of some time of leaving; only times at which some list of work at
//! the deep part is just done matter.
//!
//! Work that comes first comes first at each depth: at the deep part on the first team dive at the place, at the shallow part on
//! the first team dive that works there at all. On that one, who does it either begins at the shallow part, or leaves the deep
//! part at a time before which nobody works above. The others wait at each depth for what is done first there.

mod going;
mod who;

use super::down_set::{Caps, DownSet, Units};
use super::first::{Opening, counts, waits_of_pairs};
use super::one_dive::{Crew, Finish, Pair, PairWork, Takes, Task, largest};
use super::packing::{Packing, Table, Tops, Works, after, meet};
use going::{Above, Going, arrives, left_to_wait};
pub use who::PlaceDive;

/// The work at a place of two depths.
#[derive(Clone, Debug)]
pub struct TwoDepths<'a> {
    /// How the work of each depth is packed where it has a dive of its own, the deep one first. Without lines that stay from
    /// dive to dive.
    pub depths: [Packing<'a>; 2],
    /// Minutes to move from the deep part to the shallow one.
    pub moving_up: f64,
    /// When each diver counts as done with each part of a dive that serves both: both of them with both in time with the
    /// chance that is asked of a dive.
    pub finish: Finish,
}

/// What the dive of a pair is planned with beside those of the other pairs of its team dive, at the deep part and the shallow one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairOnDive {
    /// Of work at each depth: where it serves both, what the deep part needs and half of what is to spare, and the rest.
    pub minutes: [f64; 2],
    /// Of them, before the pair does anything but what comes first.
    pub waits: [f64; 2],
    /// Chance that both divers are done in time at both depths; cautious, as each part has its own time.
    pub finished: f64,
}

impl<'a> TwoDepths<'a> {
    /// Numbers in a list of the work at one depth: those of tasks, and of laying where lines are shared.
    fn tasks(&self) -> usize {
        self.depths[0].tasks.len()
    }

    /// Caps of the units at both depths, one after the other.
    fn both(caps: &Caps) -> Caps {
        let of = (0..caps.tasks()).map(|task| caps.of(task));
        Caps::new(of.clone().chain(of).collect())
    }

    /// All pairs that dive at one of the depths; those of the shallow part are all of them where nobody may dive deeper
    /// only.
    fn pairs(&self) -> Vec<Pair> {
        let [deep, shallow] = &self.depths;
        let deeper = deep.crew.pairs.iter().filter(|pair| !shallow.crew.pairs.contains(pair));
        shallow.crew.pairs.iter().chain(deeper).copied().collect()
    }

    /// Whether something of what the caps let be done comes first at each depth.
    fn comes_first(&self, caps: &Caps) -> [bool; 2] {
        self.depths.each_ref().map(|depth| depth.openings(caps).iter().any(|opening| opening.with_first))
    }

    /// Whether two pairs can do the same.
    fn are_alike(&self, one: Pair, other: Pair) -> bool {
        let can = |pair: Pair| {
            let skills = [pair.0, pair.1].map(|diver| self.depths[1].crew.divers[diver].skills);
            (skills, self.depths.each_ref().map(|depth| depth.crew.pairs.contains(&pair)))
        };
        can(one) == can(other)
    }

    /// Of each pair; those of pairs alike are made once.
    fn works_of_all(&self, caps: &Caps, going: Going) -> Works {
        let pairs = self.pairs();
        let mut all: Works = Vec::new();
        for (place, &pair) in pairs.iter().enumerate() {
            let known = pairs[..place].iter().position(|&other| self.are_alike(other, pair));
            all.push(known.map_or_else(|| self.works(pair, caps, going), |known| all[known].clone()));
        }
        all
    }

    /// The largest works of a pair in one dive, as lists of the work at both depths one after the other.
    fn works(&self, pair: Pair, caps: &Caps, going: Going) -> Vec<PairWork> {
        let [deep, shallow] = &self.depths;
        let dives = |depth: &Packing| depth.crew.pairs.contains(&pair);
        let nothing =
            PairWork { one: vec![0; self.tasks()], other: vec![0; self.tasks()], both: vec![0; self.tasks()] };
        let joined = |one: &PairWork, other: &PairWork| joined(one, other, caps.tasks());
        // Who may dive to neither part of it is no hindrance to the others.
        let mut all = vec![joined(&nothing, &nothing)];
        let below = going.below.filter(|_| dives(deep));
        if let Some(below) = below {
            all.extend(deep.works(pair, caps, below).iter().map(|work| joined(work, &nothing)));
        }
        let above = if dives(shallow) { going.above } else { Above::Nothing };
        let opening = |leaving: f64| above.opening(leaving, self.moving_up);
        if let Some(above) = opening(0.0) {
            all.extend(shallow.works(pair, caps, above).iter().map(|work| joined(&nothing, work)));
        }
        if let Some(below) = below {
            let minutes = deep.minutes - self.moving_up;
            let mut known: Vec<PairWork> = Vec::new();
            for leaving in self.times_of_leaving(caps, below) {
                let Some(above) = opening(leaving) else { continue };
                let first = self.of_part(0, leaving).works(pair, caps, below);
                // The same work sooner leaves more time.
                let new: Vec<&PairWork> = first.iter().filter(|work| !known.contains(work)).collect();
                // What is done above fits into a dive there too, from whose beginning all would wait.
                let alone = shallow.minutes - (going.above.wait() - above.wait);
                let second = self.of_part(1, alone.min(minutes - leaving)).works(pair, caps, above);
                all.extend(new.iter().flat_map(|work| second.iter().map(|then| joined(work, then))));
                known = first;
            }
        }
        largest(all, &Self::both(caps))
    }

    /// How one part of a dive that serves both depths is packed in so many minutes.
    fn of_part(&self, part: usize, minutes: f64) -> Packing<'a> {
        Packing { minutes, finish: self.finish, ..self.depths[part].clone() }
    }

    /// The minutes at which a list of work at the deep part is just done, in order.
    fn times_of_leaving(&self, caps: &Caps, opening: Opening) -> Vec<f64> {
        let deep = &self.depths[0];
        let minutes = deep.minutes - self.moving_up;
        let caps = deep.caps_of_a_dive(caps);
        let mut times: Vec<f64> = Vec::new();
        for wait in opening.waits_of_a_pair(deep.tasks) {
            let of = |of_both: bool| {
                let is_done = |task: &Task| (task.takes == Takes::Both) == of_both && opening.allows(task, wait);
                lists(deep.tasks, &caps, &is_done, &|units| self.finish.needs(deep.tasks, units) <= minutes)
            };
            let (alone, together) = (of(false), of(true));
            for both in &together {
                let needs_of_both = self.finish.needs(deep.tasks, both);
                let needs = |own: &Units| self.finish.needs_of_diver(deep.tasks, own, (both, wait)) + needs_of_both;
                times.extend(alone.iter().map(needs).filter(|time| *time > 0.0 && *time <= minutes));
            }
        }
        times.sort_by(f64::total_cmp);
        times.dedup_by(|later, earlier| *later - *earlier < 1e-9);
        times
    }

    /// What a team dive may be on which the shallow part is dived at first: without what comes first there, or with it from some
    /// minute on, but for those on which no pair can do anything that it cannot on others.
    fn first_above(&self, caps: &Caps, below: Opening) -> Vec<(Going, Tops)> {
        let times = [&[0.0], &self.times_of_leaving(caps, below)[..]].concat();
        let mut all = vec![Above::NotFirst];
        for opening in self.depths[1].openings(caps).into_iter().filter(|opening| opening.with_first) {
            all.extend(times.iter().map(|&from| Above::First { from, wait: opening.wait }));
        }
        let goings = all.into_iter().map(|above| Going { below: Some(below), above });
        largest_kinds(goings.map(|going| (going, self.tops(caps, going))).collect())
    }

    fn tops(&self, caps: &Caps, going: Going) -> Tops {
        let units = |works: &Vec<PairWork>| -> Vec<Units> {
            works.iter().map(|work| work.units()[..2 * caps.tasks()].to_vec()).collect()
        };
        self.works_of_all(caps, going).iter().map(units).collect()
    }

    /// What fits into 1, 2 ... team dives, units at both depths one after the other. Cost: as of a table, in the cells of both;
    /// times the minutes at which a pair may leave the deep part where some work comes first.
    pub(super) fn fits(&self, caps: &Caps) -> Vec<DownSet> {
        let (both, pairs) = (Self::both(caps), self.pairs());
        let later = self.tops(caps, Going::NOTHING_FIRST);
        // The first team dive, and one on which the shallow part is dived at first after others below.
        let (begins, then_above, down) = if self.comes_first(caps).contains(&true) {
            let below = self.depths[0].openings(caps);
            let tops_of = |all: Vec<(Going, Tops)>| all.into_iter().map(|(_, tops)| tops);
            let begins: Vec<Tops> = below.iter().flat_map(|&below| tops_of(self.first_above(caps, below))).collect();
            let down = |below: &Opening| self.tops(caps, Going::down(*below));
            let then_above = tops_of(self.first_above(caps, Opening::NOT_FIRST)).collect();
            (begins, then_above, [below.iter().map(down).collect(), vec![down(&Opening::NOT_FIRST)]])
        } else {
            (vec![later.clone()], Vec::new(), [Vec::new(), Vec::new()])
        };
        let up: Vec<Option<usize>> =
            if self.depths[0].one_stays_up { (0..pairs.len()).map(Some).collect() } else { vec![None] };
        let whichever = up.iter().map(|&first| {
            let after = |set: &DownSet, kinds: &[Tops], dive: usize| {
                let up = first.map(|first| (first + dive) % pairs.len());
                after(&both, set, &kinds.iter().collect::<Vec<_>>(), up)
            };
            let nothing = DownSet::nothing(&both);
            let mut below = after(&nothing, &down[0], 0);
            let mut sets = vec![after(&nothing, &begins, 0)];
            for dive in 1..self.depths[0].most_dives {
                let mut set = after(&sets[dive - 1], std::slice::from_ref(&later), dive);
                set.join(&after(&below, &then_above, dive));
                below = after(&below, &down[1], dive);
                sets.push(set);
            }
            sets
        });
        whichever.reduce(meet).unwrap_or_default()
    }

    /// The fewest team dives for the same units at both depths of a place, whichever of some ways to pack it holds, such as
    /// those of two visits or of two crews. Cost: that of each.
    pub fn table(places: &[Self], caps: Caps) -> Table {
        let both = Self::both(&caps);
        let diagonal = |set: &DownSet| {
            let is_in = |units: &[u8]| set.has(&both, &[units, units].concat());
            DownSet::of(&caps, is_in)
        };
        let fits = places.iter().map(|place| place.fits(&caps).iter().map(diagonal).collect());
        Table::of(fits.reduce(meet).unwrap_or_default(), caps)
    }

    /// The fewest team dives for some units at the deep part and some at the shallow one; `None`: more than are looked at.
    pub fn dives(&self, deep: &[u8], shallow: &[u8]) -> Option<usize> {
        let units = [deep, shallow].concat();
        if units.iter().all(|&n| n == 0) {
            return Some(0);
        }
        let most = deep.iter().zip(shallow).map(|(one, other)| *one.max(other)).collect();
        let caps = Caps::new(most);
        self.fits(&caps).iter().position(|set| set.has(&Self::both(&caps), &units)).map(|dives| dives + 1)
    }

    /// A bound from below, by minutes and skills: of the work at both depths in the longer dives, and of each by itself.
    pub fn fewest_by_minutes(&self, units: &[u8]) -> usize {
        let tasks = self.tasks_of_both();
        let [deep, shallow] = &self.depths;
        let crew = Crew { divers: shallow.crew.divers.clone(), pairs: self.pairs() };
        let whole = Packing { tasks: &tasks, crew: &crew, minutes: self.longer(), line: None, ..deep.clone() };
        super::packing::fewest_by_minutes(&whole, &self.units_of_both(units))
    }

    fn longer(&self) -> f64 {
        let [deep, shallow] = &self.depths;
        deep.minutes.max(shallow.minutes)
    }

    fn tasks_of_both(&self) -> Vec<Task> {
        self.depths.iter().flat_map(|depth| depth.tasks).cloned().collect()
    }

    /// The same units at both depths, with the lines that have to be laid for them.
    fn units_of_both(&self, units: &[u8]) -> Units {
        let laying = self.depths[0].line.map(|line| line.needs(units));
        let units: Units = units.iter().copied().chain(laying).collect();
        [&units[..], &units].concat()
    }

    /// What the dives of the pairs of a team dive are planned with; `works`: of each what it does at the deep part and at the
    /// shallow one.
    pub fn pairs_on_a_dive(&self, works: &[[&PairWork; 2]]) -> Vec<PairOnDive> {
        let [deep, shallow] = &self.depths;
        let tasks = [deep.tasks, shallow.tasks];
        let waits = [0, 1].map(|part| {
            let works: Vec<&PairWork> = works.iter().map(|of| of[part]).collect();
            waits_of_pairs(tasks[part], &works)
        });
        let is_nothing = |work: &PairWork| work.units().iter().all(|&n| n == 0);
        // When a pair is done below, and when those leave the deep part who count above.
        let done_below = |(of, wait): (&[&PairWork; 2], &f64)| match is_nothing(of[0]) {
            true => 0.0,
            false => self.finish.needs_of_pair(tasks[0], of[0], *wait),
        };
        let done_below: Vec<f64> = works.iter().zip(&waits[0]).map(done_below).collect();
        let count_above = works.iter().zip(&done_below).filter(|(of, _)| counts(tasks[1], of[1]));
        let from = count_above.map(|(_, done)| *done).fold(0.0, f64::max);
        let of_pair = |(pair, of): (usize, &[&PairWork; 2])| {
            let is_nothing = of.map(is_nothing);
            let leaves = if is_nothing[1] { done_below[pair] } else { done_below[pair].max(from) };
            // A pair with nothing to do below begins above with the others.
            let begins = if is_nothing[0] { arrives(leaves, self.moving_up) } else { 0.0 };
            let waits_above = begins + left_to_wait((from, waits[1][pair]), leaves, self.moving_up);
            let waits = [waits[0][pair], if is_nothing[1] { 0.0 } else { waits_above }];
            let minutes = match is_nothing {
                [_, true] => [deep.minutes, 0.0],
                [true, false] if begins == 0.0 => [0.0, shallow.minutes],
                [true, false] => [0.0, deep.minutes.min(begins + shallow.minutes)],
                [false, false] => {
                    let both = deep.minutes - self.moving_up;
                    let then = self.finish.needs_of_pair(tasks[1], of[1], waits[1]);
                    let spare = 0.5 * (both - leaves - then).max(0.0);
                    [leaves + spare, both - leaves - spare]
                }
            };
            let chance =
                |part: usize| self.depths[part].finish.chance(tasks[part], (of[part], waits[part]), minutes[part]);
            PairOnDive { minutes, waits, finished: chance(0) * chance(1) }
        };
        works.iter().enumerate().map(of_pair).collect()
    }
}

/// Those kinds of team dive on which some pair can do what it cannot on another; of equal ones the first.
fn largest_kinds(all: Vec<(Going, Tops)>) -> Vec<(Going, Tops)> {
    let is_below =
        |units: &Units, tops: &[Units]| tops.iter().any(|top| units.iter().zip(top).all(|(n, most)| n <= most));
    let is_within = |one: &Tops, other: &Tops| {
        one.iter().zip(other).all(|(own, other)| own.iter().all(|units| is_below(units, other)))
    };
    let is_largest = |at: usize| {
        let mut others = all.iter().enumerate().filter(|(other, _)| *other != at);
        !others.any(|(other, (_, tops))| is_within(&all[at].1, tops) && (other < at || !is_within(tops, &all[at].1)))
    };
    let kept: Vec<usize> = (0..all.len()).filter(|&at| is_largest(at)).collect();
    kept.into_iter().map(|at| all[at].clone()).collect()
}

/// Both lists of work one after the other, and then the lines that are laid for each.
fn joined(deep: &PairWork, shallow: &PairWork, tasks: usize) -> PairWork {
    let of = |one: &Units, other: &Units| [&one[..tasks], &other[..tasks], &one[tasks..], &other[tasks..]].concat();
    PairWork {
        one: of(&deep.one, &shallow.one),
        other: of(&deep.other, &shallow.other),
        both: of(&deep.both, &shallow.both),
    }
}

/// All lists of work of some tasks that fit; nothing among them.
fn lists(tasks: &[Task], caps: &Caps, is_done: &dyn Fn(&Task) -> bool, fits: &dyn Fn(&Units) -> bool) -> Vec<Units> {
    let mut all = vec![vec![0; caps.tasks()]];
    for task in (0..caps.tasks()).filter(|&task| is_done(&tasks[task])) {
        let with = |units: &Units, n: u8| {
            let mut units = units.clone();
            units[task] = n;
            units
        };
        let more: Vec<Units> = (all.iter())
            .flat_map(|units| (1..=caps.of(task)).map(move |n| with(units, n)))
            .filter(|units| fits(units))
            .collect();
        all.extend(more);
    }
    all
}
