//! Two depths on one dive against every way there is.

use super::assign::assign;
use super::down_set::{Caps, Units};
use super::lines::Line;
use super::one_dive::{Crew, Diver, Finish, Minutes, Pair, Takes, Task};
use super::packing::{Packing, Table};
use super::two_depths::{PairOnDive, PlaceDive, TwoDepths};
use crate::design::{First, WhoWaits};
use std::collections::{BTreeMap, BTreeSet};

#[derive(Debug, Clone)]
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

/// What a pair does at one depth on one team dive, in minutes: what both, and each of the two, do first; each, and both, then.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Part {
    first_both: u32,
    first: [u32; 2],
    then: [u32; 2],
    then_both: u32,
    works: bool,
    counts: bool,
}

impl Part {
    /// When the pair is done that begins at a minute and does nothing but what comes first before another.
    fn done_at(&self, begins: u32, waits_until: u32) -> u32 {
        let after = |ready: u32, minutes: u32| if minutes > 0 { ready.max(waits_until) + minutes } else { ready };
        let each = [0, 1].map(|diver| after(begins + self.first_both + self.first[diver], self.then[diver]));
        after(each[0].max(each[1]), self.then_both)
    }
}

/// One pair on one team dive: units below and above, and what it does there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Done {
    units: Units,
    parts: [Part; 2],
}

impl Done {
    fn works(&self, depth: usize) -> bool {
        self.parts[depth].works
    }
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

    /// The first task comes first, at both depths.
    fn with_first(mut self, minutes: f64, who_waits: WhoWaits) -> Self {
        for tasks in &mut self.tasks {
            tasks[0].first = Some(First { minutes, who_waits });
        }
        self
    }

    fn packing(&self, depth: usize) -> Packing<'_> {
        Packing {
            one_stays_up: self.one_stays_up,
            ..Packing::by_means(&self.tasks[depth], &self.crews[depth], self.minutes[depth])
        }
    }

    fn two_depths(&self) -> TwoDepths<'_> {
        TwoDepths {
            depths: [self.packing(0), self.packing(1)],
            moving_up: self.moving_up,
            finish: Finish { quantile: 0.0 },
        }
    }

    fn table(&self, caps: &[u8]) -> Table {
        TwoDepths::table(&[self.two_depths()], Caps::new(caps.to_vec()))
    }

    fn comes_first(&self) -> bool {
        self.tasks.iter().flatten().any(|task| task.first.is_some())
    }

    /// What a pair does that does so many units of each: for each depth and task those of one diver (or of both) and of the
    /// other.
    fn done(&self, plan: &[[u8; 2]]) -> Done {
        let tasks = plan.len() / 2;
        let part = |depth: usize| -> Part {
            let sum = |is_it: &dyn Fn(&Task) -> bool, diver: usize| -> u32 {
                let all =
                    self.tasks[depth].iter().zip(&plan[depth * tasks..]).filter(|(of, n)| is_it(of) && n[diver] > 0);
                all.map(|(of, n)| (of.set_up + f64::from(n[diver]) * of.unit.mean) as u32).sum()
            };
            let of = |first: bool, takes: Takes, diver: usize| {
                sum(&|of: &Task| of.first.is_some() == first && of.takes == takes, diver)
            };
            let each = |first: bool| [0, 1].map(|diver| of(first, Takes::One, diver));
            let mut part = Part {
                first_both: of(true, Takes::Both, 0),
                first: each(true),
                then: each(false),
                then_both: of(false, Takes::Both, 0),
                works: plan[depth * tasks..(depth + 1) * tasks].iter().any(|units| units[0] + units[1] > 0),
                counts: false,
            };
            part.counts = part.first_both + part.first[0] + part.first[1] > 0;
            part
        };
        Done { units: plan.iter().map(|units| units[0] + units[1]).collect(), parts: [part(0), part(1)] }
    }

    /// Minutes for which a pair waits at a depth, given who counts there.
    fn waits(&self, depth: usize, own: bool, any: bool) -> u32 {
        self.tasks[depth][0].first.map_or(0, |first| match first.who_waits {
            WhoWaits::All if any => first.minutes as u32,
            WhoWaits::Buddy if own => first.minutes as u32,
            _ => 0,
        })
    }

    /// Whether the pairs of a team dive can do that together, by the clock.
    fn fits_together(&self, dives: &[(Pair, &Done)]) -> bool {
        let counts = [0, 1].map(|depth| dives.iter().any(|(_, done)| done.parts[depth].counts));
        let done_below = |done: &Done| match done.works(0) {
            true => done.parts[0].done_at(0, self.waits(0, done.parts[0].counts, counts[0])),
            false => 0,
        };
        // Who counts above leaves the deep part at that minute; nobody works above before.
        let from = dives.iter().filter(|(_, done)| done.parts[1].counts).map(|(_, done)| done_below(done)).max();
        let from = from.unwrap_or(0);
        let moving = |leaves: u32| leaves + if leaves > 0 { self.moving_up as u32 } else { 0 };
        dives.iter().all(|(pair, done)| {
            let may = |depth: usize| self.crews[depth].pairs.contains(pair);
            let below = done_below(done);
            let until = moving(from) + self.waits(1, done.parts[1].counts, counts[1]);
            match [0, 1].map(|depth| done.works(depth)) {
                [false, false] => true,
                [true, false] => may(0) && f64::from(below) <= self.minutes[0],
                [false, true] if from == 0 => may(1) && f64::from(done.parts[1].done_at(0, until)) <= self.minutes[1],
                // Who has nothing to do below begins above with the others.
                [_, true] => {
                    let arrives = moving(below.max(from));
                    // It would fit into a dive there as well.
                    let alone = done.parts[1].done_at(0, until - moving(from));
                    let fits = f64::from(done.parts[1].done_at(arrives, until)) <= self.minutes[0];
                    may(0) && may(1) && fits && f64::from(alone) <= self.minutes[1]
                }
            }
        })
    }

    /// Everything a pair can bring home in one dive, by all ways to give each unit to one of the two, or to both, at either
    /// depth, and looking at the clock.
    fn dive(&self, pair: Pair, caps: &[u8]) -> BTreeSet<Done> {
        let mut found = BTreeSet::new();
        let mut plan = vec![[0u8; 2]; 2 * caps.len()];
        self.give(pair, caps, 0, &mut plan, &mut found);
        found
    }

    fn give(&self, pair: Pair, caps: &[u8], at: usize, plan: &mut Vec<[u8; 2]>, found: &mut BTreeSet<Done>) {
        let tasks = caps.len();
        if at == plan.len() {
            let done = self.done(plan);
            if self.fits_together(&[(pair, &done)]) {
                found.insert(done);
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

    /// What the team brings home in one dive: units, and at which depths what comes first is done.
    fn of_team(&self, caps: &[u8]) -> BTreeSet<(Units, [bool; 2])> {
        let pairs = &self.crews[1].pairs;
        let of_pair: Vec<BTreeSet<Done>> = pairs.iter().map(|&pair| self.dive(pair, caps)).collect();
        let counts = |done: &Done| [0, 1].map(|depth| done.parts[depth].counts);
        let mut all = BTreeSet::new();
        match &of_pair[..] {
            [one] => all.extend(one.iter().map(|done| (done.units.clone(), counts(done)))),
            [one, other] => {
                for (one, other) in one.iter().flat_map(|one| other.iter().map(move |other| (one, other))) {
                    if self.fits_together(&[(pairs[0], one), (pairs[1], other)]) {
                        let first = [0, 1].map(|depth| counts(one)[depth] || counts(other)[depth]);
                        all.insert((one.units.iter().zip(&other.units).map(|(a, b)| a + b).collect(), first));
                    }
                }
            }
            _ => panic!("one pair or two"),
        }
        all
    }

    /// Fewest team dives for everything within the caps, dive after dive. What comes first is done on the first dive below, and
    /// on the first that works above.
    fn by_trying(&self, caps: &[u8]) -> BTreeMap<Units, usize> {
        let most: Units = [caps, caps].concat();
        let of_team = self.of_team(caps);
        let is_above = |units: &Units| units[caps.len()..].iter().any(|&n| n > 0);
        // With whether somebody has worked above.
        let mut known: BTreeMap<(Units, bool), usize> = BTreeMap::from([((vec![0; most.len()], false), 0)]);
        for dives in 1..=3 {
            let before: Vec<(Units, bool)> = known.keys().cloned().collect();
            for (units, above) in &before {
                for (more, first) in &of_team {
                    if (first[0] && dives > 1) || (first[1] && *above) {
                        continue;
                    }
                    let sum: Units =
                        units.iter().zip(more).zip(&most).map(|((a, b), most)| (a + b).min(*most)).collect();
                    known.entry((sum, *above || is_above(more))).or_insert(dives);
                }
            }
        }
        let mut least = BTreeMap::new();
        for ((units, _), dives) in known {
            let known = least.entry(units).or_insert(dives);
            *known = dives.min(*known);
        }
        least
    }

    /// What is assigned holds what was asked for, fits by the clock and keeps first what comes first.
    fn check(&self, assigned: &[PlaceDive], units: &[u8]) {
        let of = self.two_depths();
        let mut sums = vec![0; 2 * units.len()];
        let plan = |dive: &PlaceDive| -> Vec<[u8; 2]> {
            let of = |part: usize| {
                let work = &dive.parts[part];
                (0..units.len()).map(move |task| [work.one[task] + work.both[task], work.other[task]])
            };
            of(0).chain(of(1)).collect()
        };
        let mut above = false;
        let last = assigned.iter().map(|dive| dive.team_dive).max().unwrap_or(0);
        for number in 0..=last {
            let of_dive = || assigned.iter().filter(|dive| dive.team_dive == number);
            let done: Vec<Done> = of_dive().map(|dive| self.done(&plan(dive))).collect();
            let dives: Vec<(Pair, &Done)> = of_dive().map(|dive| dive.pair).zip(&done).collect();
            assert!(self.fits_together(&dives), "{self:?} {assigned:?}");
            assert!(
                planned(&of, &of_dive().collect::<Vec<_>>()).iter().all(|of| of.finished == 1.0),
                "{self:?} {assigned:?}"
            );
            assert!(number == 0 || done.iter().all(|done| !done.parts[0].counts), "{self:?} {assigned:?}");
            assert!(!above || done.iter().all(|done| !done.parts[1].counts), "{self:?} {assigned:?}");
            above |= done.iter().any(|done| done.works(1));
            done.iter().for_each(|done| sums.iter_mut().zip(&done.units).for_each(|(sum, n)| *sum += n));
        }
        assert_eq!(sums, [units, units].concat(), "{self:?}");
        let deep = |number: usize| {
            let of_dive = assigned.iter().filter(|dive| dive.team_dive == number);
            of_dive.flat_map(|dive| dive.parts[0].units()).any(|n| n > 0)
        };
        if !self.comes_first() {
            let last_deep = (0..=last).rev().find(|&number| deep(number)).unwrap_or(0);
            assert!((0..last_deep).all(deep), "{self:?} {assigned:?}");
        }
    }

    /// Dives of their own for each depth.
    fn apart(&self, caps: &[u8]) -> [Table; 2] {
        [0, 1].map(|depth| Table::new(&self.packing(depth), Caps::new(caps.to_vec())))
    }
}

/// What the dives of the pairs of a team dive are planned with.
fn planned(of: &TwoDepths, dives: &[&PlaceDive]) -> Vec<PairOnDive> {
    of.pairs_on_a_dive(&dives.iter().map(|dive| dive.parts.each_ref()).collect::<Vec<_>>())
}

/// The table, cell by cell, against every way there is; what is assigned is what was asked for and fits by the clock.
fn compare(instance: &Instance, caps: &[u8]) {
    let tried = instance.by_trying(caps);
    let of = instance.two_depths();
    let both = Caps::new([caps, caps].concat());
    let fits = of.fits(&Caps::new(caps.to_vec()));
    for units in both.all() {
        let dives = fits.iter().position(|set| set.has(&both, &units)).map(|dives| dives + 1);
        // What brings more home brings this home too.
        let least = tried.iter().filter(|(more, _)| more.iter().zip(&units).all(|(more, n)| more >= n));
        let least = least.map(|(_, &dives)| dives.max(1)).min();
        assert_eq!(dives, least, "{instance:?} {units:?}");
    }
    let table = instance.table(caps);
    for units in Caps::new(caps.to_vec()).all() {
        let Some(dives) = table.dives(&units).filter(|dives| *dives > 0) else { continue };
        assert_eq!(of.dives(&units, &units), Some(dives));
        assert!(of.fewest_by_minutes(&units) <= dives, "{instance:?} {units:?}");
        instance.check(&of.assign(&units, dives).unwrap(), &units);
    }
}

#[test]
fn packing_is_what_trying_every_way_gives() {
    let mut state = 7;
    for number in 0..40 {
        let tasks = 1 + number % 2;
        let instance = Instance::random(&mut state, tasks);
        compare(&instance, if tasks == 1 { &[5] } else { &[3, 2] });
    }
}

/// The same where a task comes first at each depth, and all wait, or buddies alone, for none, some or all of its time, or longer.
#[test]
fn what_comes_first_is_packed_as_trying_every_way_does() {
    let mut state = 19;
    for number in 0..48 {
        let tasks = 1 + number % 2;
        let waits = [0.0, 4.0, 9.0, 15.0][number / 2 % 4];
        let who = if number % 3 == 0 { WhoWaits::Buddy } else { WhoWaits::All };
        let instance = Instance::random(&mut state, tasks).with_first(waits, who);
        compare(&instance, if tasks == 1 { &[4] } else { &[2, 2] });
    }
}

/// Where moving up takes no time the two depths on one dive never need more team dives than dives of their own; with time
/// for it neither, because a dive need not serve both. So it is where some work comes first.
#[test]
fn sharing_never_takes_more_dives() {
    let mut state = 11;
    let mut saved = [0; 2];
    for number in 0..80 {
        let mut instance = Instance::random(&mut state, 2);
        let all = instance.crews[1].pairs.clone();
        instance.crews[0].pairs = all;
        instance.one_stays_up = number % 5 == 0 && instance.crews[1].pairs.len() == 2;
        let with_first = number % 2;
        if with_first == 1 {
            instance = instance.with_first((number % 7) as f64, WhoWaits::All);
        }
        let apart = instance.apart(&[4, 3]);
        let table = instance.table(&[4, 3]);
        for units in Caps::new(vec![4, 3]).all() {
            let [Some(deep), Some(shallow)] = [0, 1].map(|depth| apart[depth].dives(&units)) else { continue };
            if deep + shallow > 3 {
                continue;
            }
            let together = table.dives(&units);
            assert!(together.is_some_and(|dives| dives <= deep + shallow), "{instance:?} {units:?}");
            saved[with_first] += deep + shallow - together.unwrap_or(0);
        }
    }
    assert!(saved.iter().all(|saved| *saved > 30), "{saved:?}");
}

/// Minutes that vary: what is packed for .9 is done in time with .9 at least, also where a dive serves both depths and where
/// divers wait for what comes first. (The quantiles are those of the root of .9 and of its fourth root.)
#[test]
fn dives_are_finished_with_the_chance_asked() {
    let (mut state, mut mixed, mut waited) = (23, [0; 2], 0);
    for number in 0..20 {
        let mut instance = Instance::random(&mut state, 2);
        if number % 2 == 1 {
            instance = instance.with_first(5.0, WhoWaits::All);
        }
        instance.tasks.iter_mut().flatten().for_each(|task| task.unit.cv = 0.25);
        let mut of = instance.two_depths();
        of.depths.iter_mut().for_each(|depth| depth.finish = Finish { quantile: 1.6323 });
        of.finish = Finish { quantile: 1.9432 };
        let table = TwoDepths::table(std::slice::from_ref(&of), Caps::new(vec![3, 2]));
        for units in Caps::new(vec![3, 2]).all() {
            let Some(dives) = table.dives(&units).filter(|dives| *dives > 0) else { continue };
            let assigned = of.assign(&units, dives).unwrap();
            for number in 0..dives {
                let of_dive: Vec<&PlaceDive> = assigned.iter().filter(|dive| dive.team_dive == number).collect();
                for (dive, planned) in of_dive.iter().zip(planned(&of, &of_dive)) {
                    assert!(planned.finished > 0.8999, "{instance:?} {dive:?} {planned:?}");
                    let serves_both = dive.parts.iter().all(|part| part.units().iter().any(|&n| n > 0));
                    mixed[usize::from(instance.comes_first())] += u32::from(serves_both);
                    waited += usize::from(planned.waits[1] > 0.0);
                }
            }
        }
    }
    assert!(mixed.iter().all(|mixed| *mixed > 10) && waited > 5, "{mixed:?} {waited}");
}

fn line(name: &str) -> Task {
    Task {
        name: name.into(),
        unit: Minutes { mean: 10.0, cv: 0.0 },
        set_up: 0.0,
        takes: Takes::One,
        skill: None,
        first: None,
    }
}

/// One pair, 40 minutes below, lines of 10 minutes at both depths, 4 minutes to move up: by hand.
#[test]
fn one_place_by_hand() {
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
    assert_eq!(free.table(&[8]).dives(&[4]), Some(1));
}

/// A pair that counts fish and one that lays lines, 40 minutes, none to move up: who counts fish above has them before anybody
/// else comes.
#[test]
fn fish_first_at_both_depths_by_hand() {
    let first = First { minutes: 0.0, who_waits: WhoWaits::All };
    let fish = Task { skill: Some(0), first: Some(first), ..line("fish") };
    let tasks = vec![fish, line("lines")];
    let diver = |skills: u32| Diver { name: String::new(), skills };
    let divers = vec![diver(1), diver(0), diver(0), diver(0)];
    let crew = Crew { divers, pairs: vec![Pair(0, 1), Pair(2, 3)] };
    let instance = |moving_up: f64| Instance {
        tasks: [tasks.clone(), tasks.clone()],
        crews: [crew.clone(), crew.clone()],
        minutes: [40.0, 40.0],
        moving_up,
        one_stays_up: false,
    };
    let of = instance(0.0);
    // Two belts below, two above from minute 20 on; the others lay twelve lines, and nobody is above before.
    assert_eq!(of.two_depths().dives(&[2, 6], &[2, 6]), Some(1));
    // One belt below and three above: 18 lines from minute 10 on, or sooner below alone.
    assert_eq!(of.two_depths().dives(&[1, 3], &[3, 9]), Some(1));
    assert_eq!(of.two_depths().dives(&[1, 2], &[3, 10]), Some(2));
    // Three below and one above: nine lines above would have to be begun before the fish.
    assert_eq!(of.two_depths().dives(&[3, 3], &[1, 9]), Some(2));
    assert_eq!(of.two_depths().dives(&[3, 9], &[1, 3]), Some(1));
    let assigned = of.two_depths().assign(&[2, 6], 1).unwrap();
    of.check(&assigned, &[2, 6]);
    // Lines alone need not wait for anybody.
    assert_eq!(of.two_depths().dives(&[0, 4], &[0, 12]), Some(1));
}

/// What holds whichever crew dives takes what the weaker takes, and both do it.
#[test]
fn whichever_crew_dives_can_do_it() {
    let mut state = 5;
    let mut differ = 0;
    for number in 0..20 {
        let mut one = Instance::random(&mut state, 2);
        if number % 2 == 1 {
            one = one.with_first(3.0, WhoWaits::All);
        }
        let mut other = one.clone();
        // Other skills, and other minutes as on another visit: now the one is slower, now the other.
        other.crews.iter_mut().for_each(|crew| crew.divers.iter_mut().for_each(|diver| diver.skills ^= 1));
        one.tasks.iter_mut().for_each(|tasks| tasks[0].unit.mean += 4.0);
        other.tasks.iter_mut().for_each(|tasks| tasks[1].unit.mean += 4.0);
        let caps = || Caps::new(vec![3, 2]);
        let tables = [&one, &other].map(|of| of.table(&[3, 2]));
        let table = TwoDepths::table(&[one.two_depths(), other.two_depths()], caps());
        for units in caps().all() {
            let [Some(a), Some(b)] = tables.each_ref().map(|table| table.dives(&units)) else {
                assert_eq!(table.dives(&units), None);
                continue;
            };
            assert_eq!(table.dives(&units), Some(a.max(b)));
            differ += usize::from(a != b);
            for of in [&one, &other].iter().filter(|_| a > 0) {
                of.check(&of.two_depths().assign(&units, a.max(b)).unwrap(), &units);
            }
        }
    }
    assert!(differ > 5, "{differ}");
}

/// Lines that methods share are laid at each depth for themselves; each unit of a pair's part has its line under it.
#[test]
fn lines_are_shared_within_a_part() {
    let (mut state, mut saved) = (31, 0);
    for _ in 0..20 {
        let mut instance = Instance::random(&mut state, 2);
        let all = instance.crews[1].pairs.clone();
        instance.crews[0].pairs = all;
        let line = Line { tasks: vec![0, 1], stays: false };
        for tasks in &mut instance.tasks {
            tasks.iter_mut().for_each(|task| {
                (task.takes, task.unit.mean) = (Takes::One, 0.6 * task.unit.mean);
            });
            tasks.push(self::line("laying"));
            tasks[2].unit.mean = 4.0;
        }
        let with = |depth: usize| Packing { line: Some(&line), ..instance.packing(depth) };
        let of = TwoDepths { depths: [with(0), with(1)], ..instance.two_depths() };
        let caps = || Caps::new(vec![3, 2]);
        let apart = [0, 1].map(|depth| Table::new(&with(depth), caps()));
        let table = TwoDepths::table(std::slice::from_ref(&of), caps());
        for units in caps().all() {
            let [Some(deep), Some(shallow)] = [0, 1].map(|depth| apart[depth].dives(&units)) else { continue };
            let Some(dives) = table.dives(&units).filter(|dives| *dives > 0) else {
                assert!(deep + shallow > 3 || deep + shallow == 0, "{instance:?} {units:?}");
                continue;
            };
            assert!(dives <= deep + shallow && of.fewest_by_minutes(&units) <= dives, "{instance:?} {units:?}");
            saved += deep + shallow - dives;
            let assigned = of.assign(&units, dives).unwrap();
            let mut sums = [vec![0; 2], vec![0; 2]];
            for dive in &assigned {
                assert!(planned(&of, &[dive])[0].finished == 1.0, "{instance:?} {dive:?}");
                for (sum, part) in sums.iter_mut().zip(&dive.parts) {
                    let done = part.units();
                    assert_eq!(done[2], done[0].max(done[1]), "{instance:?} {dive:?}");
                    sum.iter_mut().zip(&done).for_each(|(sum, n)| *sum += n);
                }
            }
            assert_eq!(sums, [units.clone(), units.clone()], "{instance:?}");
            // Where a place has one depth only the packing is that of any site.
            let alone = assign(&with(0), &units, deep).unwrap();
            assert!(alone.iter().all(|dive| dive.work.units()[2] == dive.work.units()[0].max(dive.work.units()[1])));
        }
    }
    assert!(saved > 20, "{saved}");
}
