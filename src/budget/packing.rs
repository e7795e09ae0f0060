//! How many team dives the work at one site takes, exactly: sums of down-closed sets.

use super::down_set::{Caps, DownSet, Units};
use super::first::Opening;
use super::lines::Line;
use super::one_dive::{Crew, Finish, Pair, PairWork, Task, all_works_of_pair, largest, works_of_pair};

/// What is packed at the sites of one zone.
#[derive(Clone, Debug)]
pub struct Packing<'a> {
    /// Laying lines is the last of them where several share a line.
    pub tasks: &'a [Task],
    pub crew: &'a Crew,
    pub finish: Finish,
    /// Minutes of work in a dive.
    pub minutes: f64,
    /// In so many dives at a site, from the first, work may be done that must come first.
    pub dives_with_first: usize,
    /// One pair stays up on each dive, in turn.
    pub one_stays_up: bool,
    pub most_dives: usize,
    /// Lines that serve several tasks; `None`: each task lays its own.
    pub line: Option<&'a Line>,
}

impl<'a> Packing<'a> {
    /// Work that fills dives in the mean, up to three at a site and what comes first in the first, all pairs on each and each task
    /// laying its own lines: what others differ from.
    pub fn by_means(tasks: &'a [Task], crew: &'a Crew, minutes: f64) -> Self {
        Self {
            tasks,
            crew,
            finish: Finish { quantile: 0.0 },
            minutes,
            dives_with_first: 1,
            one_stays_up: false,
            most_dives: 3,
            line: None,
        }
    }

    /// The line, where it stays until the work at a site is done.
    pub(super) fn staying_line(&self) -> Option<&'a Line> {
        self.line.filter(|line| line.stays)
    }

    /// The caps that sums over dives are made in: with laying where lines stay from dive to dive.
    pub(super) fn caps_of_sums(&self, caps: &Caps) -> Caps {
        self.staying_line().map_or_else(|| caps.clone(), |line| line.with_laying(caps))
    }

    /// The caps of what is done in one dive: with laying where lines are shared.
    pub(super) fn caps_of_a_dive(&self, caps: &Caps) -> Caps {
        self.line.map_or_else(|| caps.clone(), |line| line.with_laying(caps))
    }

    /// How a team dive at the site may begin on which what comes first may be done.
    pub(super) fn openings(&self, caps: &Caps) -> Vec<Opening> {
        Opening::all(self.tasks, caps)
    }

    /// The largest works of a pair in one dive.
    pub(super) fn works(&self, pair: Pair, caps: &Caps, opening: Opening) -> Vec<PairWork> {
        let who = (self.crew, pair, self.finish);
        match self.line {
            None => works_of_pair(self.tasks, caps, who, self.minutes, opening),
            Some(line) if line.stays => works_of_pair(self.tasks, &line.with_laying(caps), who, self.minutes, opening),
            Some(line) => {
                let all = all_works_of_pair(self.tasks, &line.with_laying(caps), who, self.minutes, opening);
                largest(all.into_iter().map(|work| line.cut(work)).collect(), caps)
            }
        }
    }

    /// The same of each pair.
    pub(super) fn works_of_all(&self, caps: &Caps, opening: Opening) -> Works {
        self.crew.pairs.iter().map(|&pair| self.works(pair, caps, opening)).collect()
    }
}

/// The largest works of each pair on a team dive.
pub(super) type Works = Vec<Vec<PairWork>>;
/// The units of those.
pub(super) type Tops = Vec<Vec<Units>>;

/// What is done after one more team dive, whichever of some kinds it is, each with what the pairs get done on it; `up`: the pair
/// that stays up. All pairs of a dive are of one kind: what one of them does first all wait for.
pub(super) fn after(caps: &Caps, set: &DownSet, kinds: &[&Tops], up: Option<usize>) -> DownSet {
    let of_kind = |tops: &&Tops| {
        let down = tops.iter().enumerate().filter(|(pair, _)| up != Some(*pair));
        down.fold(set.clone(), |set, (_, tops)| set.plus(caps, tops))
    };
    let join = |mut one: DownSet, other: DownSet| {
        one.join(&other);
        one
    };
    kinds.iter().map(of_kind).reduce(join).unwrap_or_else(|| DownSet::empty(caps))
}

/// For every unit vector within the caps the fewest team dives in which the crew gets it done at one site.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    pub caps: Caps,
    /// What fits into 1, 2 ... team dives.
    fits: Vec<DownSet>,
    /// The work is done on the dives of another zone at the same place, which that zone's table holds.
    on_other_dives: bool,
}

impl Table {
    /// Cost: dives x pairs x rows of the caps x largest lists of a pair.
    pub fn new(packing: &Packing, caps: Caps) -> Self {
        Self::whichever(std::slice::from_ref(packing), caps)
    }

    /// What fits whichever of some ways to pack holds, such as those of two visits or of two crews. Cost: that of each.
    pub fn whichever(packings: &[Packing], caps: Caps) -> Self {
        let fits = packings.iter().map(|packing| fits(packing, &caps)).reduce(meet).unwrap_or_default();
        Self { fits, caps, on_other_dives: false }
    }

    /// From what fits into 1, 2 ... team dives.
    pub(super) fn of(fits: Vec<DownSet>, caps: Caps) -> Self {
        Self { caps, fits, on_other_dives: false }
    }

    /// Of a zone whose work is done on the dives of another zone at the same places: none of its own.
    pub fn on_other_dives(caps: Caps) -> Self {
        Self { caps, fits: Vec::new(), on_other_dives: true }
    }

    /// Whether its zone has no dives of its own.
    pub fn is_on_other_dives(&self) -> bool {
        self.on_other_dives
    }

    /// Fewest team dives for a list of work; `None`: more than were looked at.
    pub fn dives(&self, units: &[u8]) -> Option<usize> {
        if self.on_other_dives || units.iter().all(|&n| n == 0) {
            return Some(0);
        }
        self.fits.iter().position(|set| set.has(&self.caps, units)).map(|dives| dives + 1)
    }
}

pub(super) fn meet(mut all: Vec<DownSet>, other: Vec<DownSet>) -> Vec<DownSet> {
    // What more dives were looked at for on one side only fits on one side only.
    all.truncate(other.len());
    all.iter_mut().zip(&other).for_each(|(own, other)| own.meet(other));
    all
}

/// What fits into 1, 2 ... team dives.
fn fits(packing: &Packing, caps: &Caps) -> Vec<DownSet> {
    let inner = packing.caps_of_sums(caps);
    let tops = |opening: Opening| -> Tops {
        let units = |work: &PairWork| work.units()[..inner.tasks()].to_vec();
        packing.works_of_all(caps, opening).iter().map(|works| works.iter().map(units).collect()).collect()
    };
    let openings = packing.openings(caps);
    let known: Vec<Tops> = openings.iter().map(|&opening| tops(opening)).collect();
    let late = match openings.iter().position(|opening| *opening == Opening::NOT_FIRST) {
        Some(place) => known[place].clone(),
        None => tops(Opening::NOT_FIRST),
    };
    let (early, late): (Vec<&Tops>, Vec<&Tops>) = (known.iter().collect(), vec![&late]);
    let of_dive = |dive: usize| if dive < packing.dives_with_first { &early } else { &late };
    let pairs = packing.crew.pairs.len();
    let stays_up: Vec<Option<usize>> = if packing.one_stays_up { (0..pairs).map(Some).collect() } else { vec![None] };
    // Where a pair stays up in turn, what fits whichever pair begins.
    let whichever = stays_up.iter().map(|&first| {
        let mut set = DownSet::nothing(&inner);
        (0..packing.most_dives)
            .map(|dive| {
                let up = first.map(|first| (first + dive) % pairs);
                set = after(&inner, &set, of_dive(dive), up);
                let Some(line) = packing.staying_line() else { return set.clone() };
                line.drop_without(&mut set, &inner);
                set.without_last(caps)
            })
            .collect::<Vec<_>>()
    });
    whichever.reduce(meet).unwrap_or_default()
}

/// A bound from below by minutes and by skills: no subset of the tasks takes fewer dives than its minutes fill, and no
/// task fewer than those who can do it get done.
pub fn fewest_by_minutes(packing: &Packing, units: &[u8]) -> usize {
    let tasks = packing.tasks;
    let mut units = units.to_vec();
    units.extend(packing.line.map(|line| line.needs(&units)));
    let able = |of: &dyn Fn(usize) -> bool| {
        let in_pairs = packing.crew.pairs.iter().flat_map(|pair| [pair.0, pair.1]);
        in_pairs.filter(|&diver| of(diver)).count()
    };
    let can = |diver: usize, task: usize| {
        tasks[task].skill.is_none_or(|skill| packing.crew.divers[diver].skills >> skill & 1 == 1)
    };
    let mut most = 0;
    for subset in 1u32..1 << tasks.len() {
        let inside = |task: usize| subset >> task & 1 == 1;
        let minutes: f64 = (0..tasks.len())
            .filter(|&task| inside(task))
            .map(|task| {
                let both = if tasks[task].takes == super::one_dive::Takes::Both { 2.0 } else { 1.0 };
                both * f64::from(units[task]) * tasks[task].unit.mean
            })
            .sum();
        let divers = able(&|diver| {
            (0..tasks.len())
                .any(|task| inside(task) && (can(diver, task) || tasks[task].takes == super::one_dive::Takes::Both))
        });
        if minutes > 0.0 {
            let dives = if divers == 0 {
                usize::MAX
            } else {
                (minutes / (packing.minutes * divers as f64) - 1e-9).ceil() as usize
            };
            most = most.max(dives);
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::super::one_dive::{Diver, Minutes, Pair, Takes};
    use super::*;
    use crate::design::{First, WhoWaits};

    fn task(name: &str, unit: f64, set_up: f64, skill: Option<usize>) -> Task {
        let unit = Minutes { mean: unit, cv: 0.0 };
        Task { name: name.into(), unit, set_up, takes: Takes::One, skill, first: None }
    }

    fn diver(skills: u32) -> Diver {
        Diver { name: String::new(), skills }
    }

    /// One site, 40 minutes: fish belts by A only, coral belts by B only. Two dives cannot hold 180 minutes; three do;
    /// with fish in the first dive only at most five belts.
    #[test]
    fn one_site_by_hand() {
        let tasks = [
            task("fish", 8.0, 0.0, Some(0)),
            task("lines", 10.0, 0.0, None),
            task("corals", 12.0, 0.0, Some(1)),
            task("recruits", 5.0, 0.0, None),
            task("invertebrates", 6.0, 0.0, None),
        ];
        let crew = Crew { divers: vec![diver(1), diver(2)], pairs: vec![Pair(0, 1)] };
        let packing = Packing { dives_with_first: 3, most_dives: 4, ..Packing::by_means(&tasks, &crew, 40.0) };
        let caps = || Caps::new(vec![8, 6, 6, 6, 6]);
        let work = [6, 4, 4, 4, 4];
        assert_eq!(Table::new(&packing, caps()).dives(&work), Some(3));
        assert_eq!(fewest_by_minutes(&packing, &work), 3);
        let mut fish_first = tasks.clone();
        fish_first[0].first = Some(First { minutes: 0.0, who_waits: WhoWaits::All });
        let early = Packing { tasks: &fish_first, dives_with_first: 1, ..packing.clone() };
        let table = Table::new(&early, caps());
        assert_eq!((table.dives(&work), table.dives(&[5, 4, 4, 4, 4])), (None, Some(3)));
        let two = Packing { dives_with_first: 2, ..early };
        assert_eq!(Table::new(&two, caps()).dives(&work), Some(3));
    }

    /// Two pairs of which one stays up in turn do what one pair does, whichever begins.
    #[test]
    fn a_pair_that_stays_up_is_no_capacity() {
        let tasks = [task("lines", 10.0, 0.0, None)];
        let crew = Crew { divers: vec![diver(0); 4], pairs: vec![Pair(0, 1), Pair(2, 3)] };
        let packing = Packing::by_means(&tasks, &crew, 40.0);
        let dives = |packing: &Packing, lines: u8| Table::new(packing, Caps::new(vec![30])).dives(&[lines]);
        assert_eq!((dives(&packing, 16), dives(&packing, 17)), (Some(1), Some(2)));
        let standing_by = Packing { one_stays_up: true, ..packing.clone() };
        assert_eq!(
            (dives(&standing_by, 8), dives(&standing_by, 16), dives(&standing_by, 24)),
            (Some(1), Some(2), Some(3))
        );
        // One pair alone has nobody to stay up.
        let alone = Crew { pairs: vec![Pair(0, 1)], ..crew.clone() };
        assert_eq!(dives(&Packing { crew: &alone, ..standing_by }, 1), None);
    }

    /// Minutes that vary leave room: twelve lines of ten minutes by two divers in 60 minutes end late half of the time.
    #[test]
    fn a_dive_that_shall_be_finished_holds_less() {
        let mut lines = task("lines", 10.0, 0.0, None);
        lines.unit.cv = 0.25;
        let tasks = [lines];
        let crew = Crew { divers: vec![diver(0); 2], pairs: vec![Pair(0, 1)] };
        let most = |quantile: f64| {
            let packing =
                Packing { finish: Finish { quantile }, most_dives: 1, ..Packing::by_means(&tasks, &crew, 60.0) };
            let table = Table::new(&packing, Caps::new(vec![20]));
            (0..=20).rev().find(|&lines| table.dives(&[lines]).is_some()).unwrap()
        };
        // Five lines a diver take 50 minutes with an SD of 5.6: in time with a chance of .963, both divers .93.
        assert_eq!((most(0.0), most(1.633)), (12, 10));
    }
}
