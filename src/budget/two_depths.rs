//! Two depths of a place on one dive: the deep part first, then the shallow part, the two divers of a pair always together.
//!
//! The time of a dive with work at both depths is that of a dive at the deeper one, less the minutes to move up; nothing is
//! gained by having been shallower for a while. A pair leaves the deep part together, when the later of the two is done
//! there. What fits is everything at or below the work of some time of leaving; only times at which some list of work at
//! the deep part is just done matter.

use super::assign::{PairDive, Slot, fill, pair_sets};
use super::down_set::{Caps, DownSet, Units};
use super::one_dive::{Crew, Finish, Pair, PairWork, Takes, Task, largest};
use super::packing::{Packing, Table, meet};

/// The work at a place of two depths.
#[derive(Clone, Debug)]
pub struct TwoDepths<'a> {
    /// How the work of each depth is packed where it has a dive of its own, the deep one first. Without lines that serve
    /// several tasks and without work that must come first.
    pub depths: [Packing<'a>; 2],
    /// Minutes to move from the deep part to the shallow one.
    pub moving_up: f64,
    /// When each diver counts as done with each part of a dive that serves both: both of them with both in time with the
    /// chance that is asked of a dive.
    pub finish: Finish,
}

/// One pair on one team dive of a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceDive {
    /// From 0.
    pub team_dive: usize,
    pub pair: Pair,
    /// At the deep part, then at the shallow one.
    pub parts: [PairWork; 2],
}

impl<'a> TwoDepths<'a> {
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

    /// Of each pair; those of pairs alike are made once.
    fn works_of_all(&self, pairs: &[Pair], caps: &Caps) -> Vec<Vec<PairWork>> {
        let [deep, shallow] = &self.depths;
        let alike = |pair: Pair| {
            let skills = [pair.0, pair.1].map(|diver| shallow.crew.divers[diver].skills);
            (skills, deep.crew.pairs.contains(&pair), shallow.crew.pairs.contains(&pair))
        };
        let mut all: Vec<Vec<PairWork>> = Vec::new();
        for (place, &pair) in pairs.iter().enumerate() {
            let known = pairs[..place].iter().position(|&other| alike(other) == alike(pair));
            all.push(known.map_or_else(|| self.works(pair, caps), |known| all[known].clone()));
        }
        all
    }

    /// The largest works of a pair in one dive, as lists of the work at both depths one after the other.
    fn works(&self, pair: Pair, caps: &Caps) -> Vec<PairWork> {
        let [deep, shallow] = &self.depths;
        let dives = |depth: &Packing| depth.crew.pairs.contains(&pair);
        let nothing =
            PairWork { one: vec![0; self.tasks()], other: vec![0; self.tasks()], both: vec![0; self.tasks()] };
        let mut all = Vec::new();
        if dives(deep) {
            all.extend(deep.works(pair, caps, false).iter().map(|work| joined(work, &nothing)));
        }
        if dives(shallow) {
            all.extend(shallow.works(pair, caps, false).iter().map(|work| joined(&nothing, work)));
        }
        if dives(deep) && dives(shallow) {
            let minutes = deep.minutes - self.moving_up;
            let mut known: Vec<PairWork> = Vec::new();
            for leaving in self.times_of_leaving(caps, minutes) {
                let of_part = |depth: &Packing<'a>, minutes: f64| {
                    Packing { minutes, finish: self.finish, ..depth.clone() }.works(pair, caps, false)
                };
                let first = of_part(deep, leaving);
                // The same work sooner leaves more time.
                let new: Vec<&PairWork> = first.iter().filter(|work| !known.contains(work)).collect();
                let second = of_part(shallow, minutes - leaving);
                all.extend(new.iter().flat_map(|work| second.iter().map(|then| joined(work, then))));
                known = first;
            }
        }
        largest(all, &Self::both(caps))
    }

    /// The times at which a list of work at the deep part is just done, in order.
    fn times_of_leaving(&self, caps: &Caps, minutes: f64) -> Vec<f64> {
        let deep = &self.depths[0];
        let needs = |units: &Units| self.finish.needs(deep.tasks, units);
        let alone = lists(deep.tasks, caps, false, &|units| needs(units) <= minutes);
        let together = lists(deep.tasks, caps, true, &|units| needs(units) <= minutes);
        let mut times: Vec<f64> = (together.iter())
            .flat_map(|both| alone.iter().map(move |own| (own, both)))
            .map(|(own, both)| needs(own) + needs(both))
            .filter(|time| *time > 0.0 && *time <= minutes)
            .collect();
        times.sort_by(f64::total_cmp);
        times.dedup_by(|later, earlier| *later - *earlier < 1e-9);
        times
    }

    /// What fits into 1, 2 ... team dives, units at both depths one after the other. Cost: as of a table, in the cells of both.
    fn fits(&self, caps: &Caps) -> Vec<DownSet> {
        let (both, pairs) = (Self::both(caps), self.pairs());
        let works = self.works_of_all(&pairs, caps);
        let tops: Vec<Vec<Units>> = works.iter().map(|works| works.iter().map(PairWork::units).collect()).collect();
        let up: Vec<Option<usize>> =
            if self.depths[0].one_stays_up { (0..pairs.len()).map(Some).collect() } else { vec![None] };
        let whichever = up.iter().map(|&first| {
            let mut set = DownSet::nothing(&both);
            (0..self.depths[0].most_dives)
                .map(|dive| {
                    let up = first.map(|first| (first + dive) % pairs.len());
                    for (pair, tops) in tops.iter().enumerate() {
                        if up != Some(pair) {
                            set = set.plus(&both, tops);
                        }
                    }
                    set.clone()
                })
                .collect::<Vec<_>>()
        });
        whichever.reduce(meet).unwrap_or_default()
    }

    /// The fewest team dives for the same units at both depths of a place.
    pub fn table(&self, caps: Caps) -> Table {
        let both = Self::both(&caps);
        let diagonal = |set: &DownSet| {
            let is_in = |units: &[u8]| set.has(&both, &[units, units].concat());
            DownSet::of(&caps, is_in)
        };
        Table::of(self.fits(&caps).iter().map(diagonal).collect(), caps)
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
        let [deep, shallow] = &self.depths;
        let tasks: Vec<Task> = deep.tasks.iter().chain(shallow.tasks).cloned().collect();
        let longer = if deep.minutes >= shallow.minutes { deep.minutes } else { shallow.minutes };
        let crew = Crew { divers: shallow.crew.divers.clone(), pairs: self.pairs() };
        let whole = Packing { tasks: &tasks, crew: &crew, minutes: longer, ..deep.clone() };
        super::packing::fewest_by_minutes(&whole, &[units, units].concat())
    }

    /// Who does the same units at both depths on so many team dives, with as few pair-dives as there can be; `None` where they
    /// do not fit.
    pub fn assign(&self, units: &[u8], team_dives: usize) -> Option<Vec<PlaceDive>> {
        let caps = Caps::new(units.to_vec());
        let (both, pairs) = (Self::both(&caps), self.pairs());
        let works = self.works_of_all(&pairs, &caps);
        let of = |(_, pair): Slot| works[pair].as_slice();
        let found = pair_sets((pairs.len(), self.depths[0].one_stays_up), team_dives)
            .find_map(|slots| fill(&pairs, &[units, units].concat(), &both, &slots, of))?;
        Some(deeper_first(found.into_iter().map(|dive| self.parted(dive)).collect(), team_dives))
    }

    fn parted(&self, PairDive { team_dive, pair, work }: PairDive) -> PlaceDive {
        let cut = |units: &Units, part: usize| units[part * self.tasks()..(part + 1) * self.tasks()].to_vec();
        let part = |part: usize| PairWork {
            one: cut(&work.one, part),
            other: cut(&work.other, part),
            both: cut(&work.both, part),
        };
        PlaceDive { team_dive, pair, parts: [part(0), part(1)] }
    }

    /// Minutes of work at each depth that a pair's dive is planned with: what the deep part needs and half of what is to spare,
    /// and the rest.
    pub fn minutes(&self, parts: &[PairWork; 2]) -> [f64; 2] {
        let [deep, shallow] = &self.depths;
        let needs = |depth: &Packing, work: &PairWork| {
            let own = self.finish.needs(depth.tasks, &work.one).max(self.finish.needs(depth.tasks, &work.other));
            own + self.finish.needs(depth.tasks, &work.both)
        };
        let [first, second] = [needs(deep, &parts[0]), needs(shallow, &parts[1])];
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

/// The same team dives in another order: those on which some pair works at the deep part before the others.
fn deeper_first(mut dives: Vec<PlaceDive>, team_dives: usize) -> Vec<PlaceDive> {
    let is_deep = |number: usize| {
        let of_dive = dives.iter().filter(|dive| dive.team_dive == number);
        of_dive.flat_map(|dive| dive.parts[0].units()).any(|n| n > 0)
    };
    let mut order: Vec<usize> = (0..team_dives).collect();
    order.sort_by_key(|&number| !is_deep(number));
    for dive in &mut dives {
        dive.team_dive = order.iter().position(|&number| number == dive.team_dive).unwrap_or(dive.team_dive);
    }
    dives.sort_by_key(|dive| dive.team_dive);
    dives
}

fn joined(deep: &PairWork, shallow: &PairWork) -> PairWork {
    let of = |one: &Units, other: &Units| [&one[..], &other[..]].concat();
    PairWork {
        one: of(&deep.one, &shallow.one),
        other: of(&deep.other, &shallow.other),
        both: of(&deep.both, &shallow.both),
    }
}

/// All lists of work of one diver, or of both together, that fit; nothing among them.
fn lists(tasks: &[Task], caps: &Caps, of_both: bool, fits: &dyn Fn(&Units) -> bool) -> Vec<Units> {
    let mut all = vec![vec![0; caps.tasks()]];
    for task in (0..caps.tasks()).filter(|&task| (tasks[task].takes == Takes::Both) == of_both) {
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

#[cfg(test)]
mod tests {
    use super::super::one_dive::{Diver, Minutes};
    use super::*;
    use std::collections::{BTreeMap, BTreeSet};

    #[derive(Debug)]
    struct Instance {
        tasks: [Vec<Task>; 2],
        crews: [Crew; 2],
        minutes: [f64; 2],
        moving_up: f64,
        one_stays_up: bool,
    }

    /// A generator of small numbers that needs no other module.
    fn below(state: &mut u64, n: u64) -> u64 {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*state >> 33) % n
    }

    impl Instance {
        fn random(state: &mut u64, tasks: usize) -> Self {
            let mut random = |n: u64| below(state, n);
            let both: Vec<bool> = (0..tasks).map(|_| random(4) == 0).collect();
            let skills: Vec<Option<usize>> = (0..tasks).map(|_| (random(3) == 0).then_some(0)).collect();
            let mut list = || -> Vec<Task> {
                (0..tasks)
                    .map(|task| Task {
                        name: format!("task {task}"),
                        unit: Minutes { mean: 6.0 + random(8) as f64, cv: 0.0 },
                        set_up: random(3) as f64,
                        takes: if both[task] { Takes::Both } else { Takes::One },
                        skill: skills[task],
                        first: None,
                    })
                    .collect()
            };
            let tasks = [list(), list()];
            let pairs = 1 + random(2) as usize;
            let divers: Vec<Diver> =
                (0..2 * pairs).map(|_| Diver { name: String::new(), skills: random(2) as u32 }).collect();
            let all: Vec<Pair> = (0..pairs).map(|pair| Pair(2 * pair, 2 * pair + 1)).collect();
            // Some may not dive to the deep part.
            let deep = if pairs == 2 && random(3) == 0 { all[..1].to_vec() } else { all.clone() };
            let crews = [Crew { divers: divers.clone(), pairs: deep }, Crew { divers, pairs: all }];
            let minutes = [24.0 + random(12) as f64, 26.0 + random(14) as f64];
            let moving_up = random(5) as f64;
            Self { tasks, crews, minutes, moving_up, one_stays_up: false }
        }

        fn packing(&self, depth: usize) -> Packing<'_> {
            Packing {
                tasks: &self.tasks[depth],
                crew: &self.crews[depth],
                finish: Finish { quantile: 0.0 },
                minutes: self.minutes[depth],
                dives_with_first: 1,
                one_stays_up: self.one_stays_up,
                most_dives: 3,
                line: None,
            }
        }

        fn two_depths(&self) -> TwoDepths<'_> {
            TwoDepths {
                depths: [self.packing(0), self.packing(1)],
                moving_up: self.moving_up,
                finish: Finish { quantile: 0.0 },
            }
        }

        /// Everything a pair can bring home in one dive, by all ways to give each unit to one of the two, or to both, at either
        /// depth, and looking at the clock.
        fn dive(&self, pair: Pair, caps: &[u8]) -> BTreeSet<Units> {
            let tasks = caps.len();
            let mut found = BTreeSet::new();
            // For each depth and task: units of one, of the other, of both.
            let mut plan = vec![[0u8; 2]; 2 * tasks];
            self.give(pair, caps, 0, &mut plan, &mut found);
            found
        }

        fn give(&self, pair: Pair, caps: &[u8], at: usize, plan: &mut Vec<[u8; 2]>, found: &mut BTreeSet<Units>) {
            let tasks = caps.len();
            if at == plan.len() {
                let time = |depth: usize| {
                    let of = |diver: usize| -> f64 {
                        let each = (0..tasks).filter(|&task| self.tasks[depth][task].takes == Takes::One);
                        each.map(|task| {
                            let (of, n) = (&self.tasks[depth][task], plan[depth * tasks + task][diver]);
                            if n == 0 { 0.0 } else { of.set_up + f64::from(n) * of.unit.mean }
                        })
                        .sum()
                    };
                    let together: f64 = (0..tasks)
                        .filter(|&task| self.tasks[depth][task].takes == Takes::Both)
                        .map(|task| {
                            let (of, n) = (&self.tasks[depth][task], plan[depth * tasks + task][0]);
                            if n == 0 { 0.0 } else { of.set_up + f64::from(n) * of.unit.mean }
                        })
                        .sum();
                    of(0).max(of(1)) + together
                };
                let units: Units = plan.iter().map(|units| units[0] + units[1]).collect();
                let [deep, shallow] = [&units[..tasks], &units[tasks..]].map(|units| units.iter().any(|&n| n > 0));
                let may = |depth: usize| self.crews[depth].pairs.contains(&pair);
                let fits = match (deep, shallow) {
                    (false, false) => true,
                    (true, false) => may(0) && time(0) <= self.minutes[0] + 1e-9,
                    (false, true) => may(1) && time(1) <= self.minutes[1] + 1e-9,
                    (true, true) => may(0) && may(1) && time(0) + self.moving_up + time(1) <= self.minutes[0] + 1e-9,
                };
                if fits {
                    found.insert(units);
                }
                return;
            }
            let (depth, task) = (at / tasks, at % tasks);
            let of = &self.tasks[depth][task];
            let divers = [pair.0, pair.1].map(|diver| self.crews[1].divers[diver].can(of));
            for one in 0..=caps[task] {
                for other in 0..=caps[task] - one {
                    let allowed = match of.takes {
                        Takes::Both => other == 0 && (one == 0 || divers[0] || divers[1]),
                        Takes::One => (one == 0 || divers[0]) && (other == 0 || divers[1]),
                    };
                    if allowed {
                        plan[at] = [one, other];
                        self.give(pair, caps, at + 1, plan, found);
                    }
                }
            }
            plan[at] = [0, 0];
        }

        /// Fewest team dives for everything within the caps, dive after dive.
        fn by_trying(&self, caps: &[u8]) -> BTreeMap<Units, usize> {
            let most: Units = [caps, caps].concat();
            let of_team = self.crews[1].pairs.iter().fold(BTreeSet::from([vec![0; most.len()]]), |sums, &pair| {
                let own = self.dive(pair, caps);
                let add = |a: &Units, b: &Units| -> Units {
                    a.iter().zip(b).zip(&most).map(|((a, b), most)| (a + b).min(*most)).collect()
                };
                sums.iter().flat_map(|sum| own.iter().map(move |own| add(sum, own))).collect()
            });
            let mut known: BTreeMap<Units, usize> = BTreeMap::from([(vec![0; most.len()], 0)]);
            for dives in 1..=3 {
                let before: Vec<Units> = known.keys().cloned().collect();
                for one in &before {
                    for more in &of_team {
                        let sum: Units =
                            one.iter().zip(more).zip(&most).map(|((a, b), most)| (a + b).min(*most)).collect();
                        known.entry(sum).or_insert(dives);
                    }
                }
            }
            known
        }
    }

    /// The table, cell by cell, against every way there is; what is assigned is what was asked for and fits by the clock.
    #[test]
    fn packing_is_what_trying_every_way_gives() {
        let mut state = 7;
        for number in 0..40 {
            let tasks = 1 + number % 2;
            let instance = Instance::random(&mut state, tasks);
            let caps = if tasks == 1 { vec![5] } else { vec![3, 2] };
            let (tried, of) = (instance.by_trying(&caps), instance.two_depths());
            let both = TwoDepths::both(&Caps::new(caps.clone()));
            let fits = of.fits(&Caps::new(caps.clone()));
            for units in both.all() {
                let dives = fits.iter().position(|set| set.has(&both, &units)).map(|dives| dives + 1);
                // What brings more home brings this home too.
                let least = tried.iter().filter(|(more, _)| more.iter().zip(&units).all(|(more, n)| more >= n));
                let least = least.map(|(_, &dives)| dives.max(1)).min();
                assert_eq!(dives, least, "{instance:?} {units:?}");
            }
            let table = of.table(Caps::new(caps.clone()));
            for units in Caps::new(caps.clone()).all() {
                let Some(dives) = table.dives(&units).filter(|dives| *dives > 0) else { continue };
                assert_eq!(of.dives(&units, &units), Some(dives));
                assert!(of.fewest_by_minutes(&units) <= dives, "{instance:?} {units:?}");
                let assigned = of.assign(&units, dives).unwrap();
                let deep = |dive: &PlaceDive| dive.parts[0].units().iter().any(|&n| n > 0);
                let last_deep = assigned.iter().filter(|dive| deep(dive)).map(|dive| dive.team_dive).max();
                let without = |number: usize| !assigned.iter().any(|dive| dive.team_dive == number && deep(dive));
                assert!((0..=last_deep.unwrap_or(0)).all(|number| !without(number)), "{instance:?} {assigned:?}");
                let mut sums = vec![0; 2 * tasks];
                for dive in &assigned {
                    let done = [dive.parts[0].units(), dive.parts[1].units()].concat();
                    assert!(instance.dive(dive.pair, &caps).contains(&done), "{instance:?} {dive:?}");
                    assert!(of.chance(&dive.parts) == 1.0, "{instance:?} {dive:?}");
                    sums.iter_mut().zip(&done).for_each(|(sum, n)| *sum += n);
                }
                assert_eq!(sums, [&units[..], &units[..]].concat(), "{instance:?}");
            }
        }
    }

    /// Where moving up takes no time the two depths on one dive never need more team dives than dives of their own; with time
    /// for it neither, because a dive need not serve both.
    #[test]
    fn sharing_never_takes_more_dives() {
        let mut state = 11;
        let mut saved = 0;
        for number in 0..60 {
            let mut instance = Instance::random(&mut state, 2);
            let all = instance.crews[1].pairs.clone();
            instance.crews[0].pairs = all;
            instance.one_stays_up = number % 5 == 0 && instance.crews[1].pairs.len() == 2;
            let caps = || Caps::new(vec![4, 3]);
            let (of, apart) = (instance.two_depths(), [0, 1].map(|depth| Table::new(&instance.packing(depth), caps())));
            let table = of.table(caps());
            for units in caps().all() {
                let [Some(deep), Some(shallow)] = [0, 1].map(|depth| apart[depth].dives(&units)) else { continue };
                if deep + shallow > 3 {
                    continue;
                }
                let together = table.dives(&units);
                assert!(together.is_some_and(|dives| dives <= deep + shallow), "{instance:?} {units:?}");
                saved += deep + shallow - together.unwrap_or(0);
            }
        }
        assert!(saved > 50, "{saved}");
    }

    /// Minutes that vary: what is packed for .9 is done in time with .9 at least, also where a dive serves both depths. (The
    /// quantiles are those of the root of .9 and of its fourth root.)
    #[test]
    fn dives_are_finished_with_the_chance_asked() {
        let (mut state, mut mixed) = (23, 0);
        for _ in 0..12 {
            let mut instance = Instance::random(&mut state, 2);
            instance.tasks.iter_mut().flatten().for_each(|task| task.unit.cv = 0.25);
            let mut of = instance.two_depths();
            of.depths.iter_mut().for_each(|depth| depth.finish = Finish { quantile: 1.6323 });
            of.finish = Finish { quantile: 1.9432 };
            let table = of.table(Caps::new(vec![3, 2]));
            for units in Caps::new(vec![3, 2]).all() {
                let Some(dives) = table.dives(&units).filter(|dives| *dives > 0) else { continue };
                for dive in of.assign(&units, dives).unwrap() {
                    assert!(of.chance(&dive.parts) > 0.8999, "{instance:?} {dive:?} {}", of.chance(&dive.parts));
                    mixed += u32::from(dive.parts.iter().all(|part| part.units().iter().any(|&n| n > 0)));
                }
            }
        }
        assert!(mixed > 10, "{mixed}");
    }

    /// One pair, 40 minutes below, lines of 10 minutes at both depths, 4 minutes to move up: by hand.
    #[test]
    fn one_place_by_hand() {
        let line = |name: &str| Task {
            name: name.into(),
            unit: Minutes { mean: 10.0, cv: 0.0 },
            set_up: 0.0,
            takes: Takes::One,
            skill: None,
            first: None,
        };
        let crew = Crew { divers: vec![Diver { name: String::new(), skills: 0 }; 2], pairs: vec![Pair(0, 1)] };
        let instance = |moving_up: f64| Instance {
            tasks: [vec![line("lines")], vec![line("lines")]],
            crews: [crew.clone(), crew.clone()],
            minutes: [40.0, 50.0],
            moving_up,
            one_stays_up: false,
        };
        // 36 minutes hold three lines of a diver: two at one depth, one at the other; both divers move together.
        let (free, four) = (instance(0.0), instance(4.0));
        assert_eq!((free.two_depths().dives(&[4], &[4]), free.two_depths().dives(&[5], &[3])), (Some(1), Some(2)));
        assert_eq!((four.two_depths().dives(&[4], &[2]), four.two_depths().dives(&[4], &[4])), (Some(1), Some(2)));
        // Ten lines above alone are one dive of its own 50 minutes; with any below there are fewer minutes.
        assert_eq!((four.two_depths().dives(&[0], &[10]), four.two_depths().dives(&[1], &[10])), (Some(1), Some(2)));
        assert_eq!(free.two_depths().table(Caps::new(vec![8])).dives(&[4]), Some(1));
    }
}
