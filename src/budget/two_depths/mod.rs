//! Two depths of a place on one dive: the deep part first, then the shallow part, the two divers of a pair always together.
//!
//! The time of a dive with work at both depths is that of a dive at the deeper one, less the minutes to move up; nothing is
//! gained by having been shallower for a while. A pair leaves the deep part together, when the later of the two is done
//! there. What fits is everything at or below the work of some time of leaving; only times at which some list of work at
//! the deep part is just done matter.
//!
//! Work that comes first comes first at each depth: at the deep part on the first team dive at the place, at the shallow part on
//! the first team dive that works there at all. On that one, who does it either begins at the shallow part, or leaves the deep
//! part at a time before which nobody works above.

mod going;
mod who;

use super::down_set::{Caps, DownSet, Units};
use super::one_dive::{Crew, Finish, Pair, PairWork, Takes, Task, largest};
use super::packing::{Packing, Table, meet};
use going::{Above, Below, Going};
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

/// What the pairs do at most on a team dive: the largest works of each.
type Works = Vec<Vec<PairWork>>;
/// The units of those.
type Tops = Vec<Vec<Units>>;

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

    fn comes_first(&self) -> bool {
        self.depths.iter().any(|depth| depth.first().is_some())
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
        let mut all = Vec::new();
        let goes_down = dives(deep) && going.below != Below::Nothing;
        let first_below = going.below.with_first();
        if goes_down {
            let below = deep.works(pair, caps, first_below);
            all.extend(below.iter().map(|work| joined(work, &nothing)));
        }
        // From when on work is done above, and how long what comes first may be.
        let (from, first_at) = match going.above {
            Above::Nothing => return all,
            Above::NotFirst => (0.0, None),
            Above::First { from } => (from, Some(from)),
        };
        if dives(shallow) && from == 0.0 {
            let above = shallow.works(pair, caps, first_at.is_some());
            all.extend(above.iter().map(|work| joined(&nothing, work)));
        }
        if goes_down && dives(shallow) {
            let minutes = deep.minutes - self.moving_up;
            let mut known: Vec<PairWork> = Vec::new();
            for leaving in self.times_of_leaving(caps, first_below) {
                if leaving < from {
                    continue;
                }
                let first = self.of_part(0, leaving).works(pair, caps, first_below);
                // The same work sooner leaves more time.
                let new: Vec<&PairWork> = first.iter().filter(|work| !known.contains(work)).collect();
                let second = self.of_part(1, minutes - leaving).works(pair, caps, first_at == Some(leaving));
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
    fn times_of_leaving(&self, caps: &Caps, first_below: bool) -> Vec<f64> {
        let deep = &self.depths[0];
        let minutes = deep.minutes - self.moving_up;
        let caps = deep.caps_of_a_dive(caps);
        let needs = |units: &Units| self.finish.needs(deep.tasks, units);
        let of = |of_both: bool| {
            let is_done = |task: &Task| (task.takes == Takes::Both) == of_both && (first_below || task.first.is_none());
            lists(deep.tasks, &caps, &is_done, &|units| needs(units) <= minutes)
        };
        let (alone, together) = (of(false), of(true));
        let waits = deep.first().filter(|waits| first_below && *waits > 0.0);
        let mut times: Vec<f64> = (together.iter())
            .flat_map(|both| alone.iter().map(move |own| (own, both)))
            .map(|(own, both)| needs(own) + needs(both))
            .flat_map(|time| [Some(time), waits.map(|waits| waits + time)])
            .flatten()
            .filter(|time| *time > 0.0 && *time <= minutes)
            .collect();
        times.sort_by(f64::total_cmp);
        times.dedup_by(|later, earlier| *later - *earlier < 1e-9);
        times
    }

    /// What a team dive may be on which work that comes first at the shallow part is done: the minutes from which on there is
    /// work above, but for those at which no pair can do anything that it cannot at others.
    fn with_first_above(&self, caps: &Caps, below: Below) -> Vec<(Going, Tops)> {
        let times = std::iter::once(0.0).chain(self.times_of_leaving(caps, below.with_first()));
        let goings = times.map(|from| Going { below, above: Above::First { from } });
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
        let later = vec![self.tops(caps, Going::NOTHING_FIRST)];
        // The first team dive, and one on which the shallow part is dived at first after others below.
        let (begins, then_above, down) = if self.comes_first() {
            let below = [true, false].map(Below::on);
            let opening = below.map(|below| self.with_first_above(caps, below));
            let [begins, then_above] = opening.map(|all| all.into_iter().map(|(_, tops)| tops).collect());
            (begins, then_above, below.map(|below| vec![self.tops(caps, Going::down(below))]))
        } else {
            (later.clone(), Vec::new(), [Vec::new(), Vec::new()])
        };
        let up: Vec<Option<usize>> =
            if self.depths[0].one_stays_up { (0..pairs.len()).map(Some).collect() } else { vec![None] };
        let whichever = up.iter().map(|&first| {
            let after = |set: &DownSet, kinds: &[Tops], dive: usize| {
                let up = first.map(|first| (first + dive) % pairs.len());
                let of_kind = |tops: &Tops| {
                    let down = tops.iter().enumerate().filter(|(pair, _)| up != Some(*pair));
                    down.fold(set.clone(), |set, (_, tops)| set.plus(&both, tops))
                };
                let join = |mut one: DownSet, other: DownSet| {
                    one.join(&other);
                    one
                };
                kinds.iter().map(of_kind).reduce(join).unwrap_or_else(|| DownSet::empty(&both))
            };
            let nothing = DownSet::nothing(&both);
            let mut below = after(&nothing, &down[0], 0);
            let mut sets = vec![after(&nothing, &begins, 0)];
            for dive in 1..self.depths[0].most_dives {
                let mut set = after(&sets[dive - 1], &later, dive);
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

    /// Minutes of work at each depth that a pair's dive is planned with: what the deep part needs and half of what is to spare,
    /// and the rest.
    pub fn minutes(&self, parts: &[PairWork; 2]) -> [f64; 2] {
        let [deep, shallow] = &self.depths;
        let [first, second] = [0, 1].map(|part| self.finish.needs_of_pair(self.depths[part].tasks, &parts[part]));
        let is_nothing = |work: &PairWork| work.units().iter().all(|&n| n == 0);
        match (is_nothing(&parts[0]), is_nothing(&parts[1])) {
            (_, true) => [deep.minutes, 0.0],
            (true, false) => [0.0, shallow.minutes],
            (false, false) => {
                let spare = 0.5 * (deep.minutes - self.moving_up - first - second).max(0.0);
                [first + spare, deep.minutes - self.moving_up - first - spare]
            }
        }
    }

    /// Chance that a pair is done in time at both depths; cautious, as each part has its own time.
    pub fn chance(&self, parts: &[PairWork; 2]) -> f64 {
        let minutes = self.minutes(parts);
        let of = |part: usize| {
            let depth = &self.depths[part];
            depth.finish.chance(depth.tasks, &parts[part], minutes[part])
        };
        of(0) * of(1)
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
