//! The days of a plan, dive by dive and diver by diver.

use super::draw::Draw;
use super::people::{Cast, People};
use super::place_dives::PartsOfPair;
use super::prepared::Prepared;
use super::tasks::LAYING;
use super::visits::{Visit, Visits};
use crate::budget::{Found, Task, Units, minutes_waited};
use serde::Serialize;

/// Tasks that are none: a diver without work, and one who waits while what comes first is done at the site.
pub const BUDDY: &str = "buddy";
pub const WAIT: &str = "wait";

/// One diver on one dive with one task; a diver without any is there as the buddy.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ScheduleRow {
    /// Day on which can be dived, and boat, from 1.
    pub day: usize,
    pub boat: usize,
    /// Team dive of that boat and day, from 1.
    pub team_dive: usize,
    /// Of the dive of the pair: the deepest point of the sites it goes to, and minutes from leaving the surface to leaving the
    /// bottom, asked for and never allowed. Of a team dive at a place of two depths those who work at the shallow part alone dive
    /// there alone.
    pub depth_m: f64,
    pub bottom_minutes: f64,
    pub zone: String,
    /// The how-manieth site of its zone, in the order of the draw.
    pub site: usize,
    /// Of the list of candidate sites.
    pub site_name: Option<String>,
    /// Place of the pair in the expedition's list, from 1.
    pub pair: usize,
    pub diver: String,
    /// The method, `buddy`, or `wait` (in its minutes, before all that does not come first).
    pub task: String,
    pub units: usize,
    /// The numbers of these at the site, in the order in which they are asked for: "2 5" in a table.
    #[serde(serialize_with = "joined")]
    pub unit_numbers: Vec<usize>,
    /// Asked for, mean of what is assumed, setting up included; never a time allowed.
    pub minutes_asked: f64,
    /// What was chosen for the method; empty where it has no dimensions.
    pub dimensions: String,
    /// Chance that both divers of the pair are done in the minutes of work of this dive.
    pub finished: f64,
    /// Whether a diver who runs late leaves out a unit of this first.
    pub leave_out_first: bool,
}

impl ScheduleRow {
    /// "fore reef 3", with the name of the site where it has one.
    pub fn place(&self) -> String {
        place(&self.zone, self.site, self.site_name.as_deref())
    }

    /// Whether both are of one team dive.
    pub fn is_of_dive(&self, other: &Self) -> bool {
        (self.day, self.boat, self.team_dive) == (other.day, other.boat, other.team_dive)
    }
}

fn joined<S: serde::Serializer>(numbers: &[usize], serializer: S) -> Result<S::Ok, S::Error> {
    let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    serializer.serialize_str(&numbers.join(" "))
}

/// "to 12 m, 54 min on the bottom asked for"; where pairs of a team dive differ, "to 24 m, 45 min (pair 3), to 10 m, 55 min (pairs
/// 1, 2) on the bottom asked for". `rows`: of that team dive.
pub fn dive_words<'a>(rows: impl IntoIterator<Item = &'a ScheduleRow>) -> String {
    let mut dives: Vec<((f64, f64), Vec<usize>)> = Vec::new();
    for row in rows {
        let own = (row.depth_m, row.bottom_minutes);
        match dives.iter_mut().find(|(dive, _)| *dive == own) {
            Some((_, pairs)) if pairs.contains(&row.pair) => {}
            Some((_, pairs)) => pairs.push(row.pair),
            None => dives.push((own, vec![row.pair])),
        }
    }
    let differ = dives.len() > 1;
    let words = dives.iter().map(|((depth_m, minutes), pairs)| {
        let numbers: Vec<String> = pairs.iter().map(ToString::to_string).collect();
        let whose = match (differ, pairs.len()) {
            (false, _) => String::new(),
            (true, 1) => format!(" (pair {})", numbers[0]),
            (true, _) => format!(" (pairs {})", numbers.join(", ")),
        };
        format!("to {depth_m} m, {minutes} min{whose}")
    });
    format!("{} on the bottom asked for", words.collect::<Vec<_>>().join(", "))
}

/// "fore reef 3, Lantern"
pub(super) fn place(zone: &str, site: usize, name: Option<&str>) -> String {
    let name = name.map_or(String::new(), |name| format!(", {name}"));
    format!("{zone} {site}{name}")
}

/// All rows of a plan. Holds exactly the units of the plan.
pub fn schedule(
    (prepared, found): (&Prepared, &Found),
    visits: &Visits,
    people: &People,
    draw: Option<&Draw>,
) -> Vec<ScheduleRow> {
    let mut rows = Vec::new();
    for (index, (day, casts)) in visits.boat_days.iter().zip(&people.casts).enumerate() {
        let mut team_dive = 0;
        for (visit, casts) in day.iter().zip(casts) {
            for dive in visit.at.first_dive..visit.at.first_dive + visit.at.dives {
                team_dive += 1;
                let (day, boat) = visits.when(index);
                let day = visits.days_gone + day;
                let mut casts: Vec<&Cast> = casts.iter().filter(|cast| cast.dive.team_dive == dive).collect();
                // Pairs that work at the deep part before others, and each of them there first.
                let host = visit.at.zone;
                let is_deep: Vec<usize> = casts.iter().filter(|cast| cast.zone == host).map(|cast| cast.pair).collect();
                casts.sort_by_key(|cast| (!is_deep.contains(&cast.pair), cast.pair, cast.zone != host));
                let mut pairs: Vec<usize> = casts.iter().map(|cast| cast.pair).collect();
                pairs.dedup();
                let parts = |pair: &usize| -> PartsOfPair {
                    [true, false].map(|at_host| {
                        let is_it = |cast: &&&Cast| cast.pair == *pair && (cast.zone == host) == at_host;
                        casts.iter().find(is_it).map(|cast| &cast.dive.work)
                    })
                };
                let planned = prepared.pairs_on_a_dive(host, &pairs.iter().map(parts).collect::<Vec<_>>());
                for cast in &casts {
                    let own = pairs.iter().zip(&planned).find(|(pair, _)| **pair == cast.pair);
                    let part = usize::from(cast.zone != host);
                    let (finished, wait) = own.map_or((1.0, 0.0), |(_, of)| (of.finished, of.waits[part]));
                    let dive = (day, boat, team_dive);
                    // Who has nothing to do at the deep part does not dive to it.
                    let dives_to = if is_deep.contains(&cast.pair) { host } else { cast.zone };
                    rows.extend(rows_of((prepared, found), (dive, dives_to), (visit, draw), (cast, finished, wait)));
                }
            }
        }
    }
    rows
}

fn rows_of(
    (prepared, found): (&Prepared, &Found),
    ((day, boat, team_dive), dives_to): ((usize, usize, usize), usize),
    (visit, draw): (&Visit, Option<&Draw>),
    (Cast { pair, zone, dive }, finished, wait): (&Cast, f64, f64),
) -> Vec<ScheduleRow> {
    let tasks = &prepared.tasks.tasks;
    let mut rows = Vec::new();
    // A dive of a pair that serves both depths of a place is as deep and as long as one at the deeper.
    let diving = &prepared.expedition.zones[dives_to];
    let (one, other) = (&dive.work.one, &dive.work.other);
    for (diver, own) in [(dive.pair.0, one), (dive.pair.1, other)] {
        let dimensions = |task: &str| {
            let place = tasks.iter().position(|of| of.name == task);
            // Laying lines for several methods has none.
            let method = place.and_then(|place| prepared.tasks.methods.get(place));
            method.map_or(String::new(), |&method| prepared.dimensions[method].label())
        };
        let first_out = prepared.leave_out_first(found, *zone, [own, &dive.work.both]);
        let row = |task: &str, units: u8, minutes_asked: f64| ScheduleRow {
            day,
            boat,
            team_dive,
            depth_m: diving.depth_m,
            bottom_minutes: diving.bottom_minutes,
            zone: prepared.plan.study.zones[*zone].name.clone(),
            site: visit.number + 1,
            site_name: draw.map(|draw| draw.site(*zone, visit.number).name.clone()),
            pair: pair + 1,
            diver: prepared.expedition.divers[diver].name.clone(),
            task: task.to_owned(),
            units: usize::from(units),
            unit_numbers: Vec::new(),
            minutes_asked,
            dimensions: dimensions(task),
            finished,
            leave_out_first: first_out.is_some_and(|out| tasks[out].name == task),
        };
        let before = rows.len();
        let done = |units: &Units, of_both: bool| -> Vec<(&Task, u8, bool)> {
            let done = tasks.iter().zip(units.iter().copied()).filter(|(_, number)| *number > 0);
            done.map(|(task, number)| (task, number, of_both)).collect()
        };
        let mut all = [done(own, false), done(&dive.work.both, true)].concat();
        // What comes first stands first, with what both do of it; then what a diver does alone.
        // Lines are laid before what is done on them.
        all.sort_by_key(|(task, _, of_both)| {
            (task.first.is_none(), task.name != LAYING, task.first.is_some() != *of_both)
        });
        let mut waits = minutes_waited(tasks, own, &dive.work.both, wait);
        for (task, number, of_both) in all {
            if task.first.is_none() && waits > 0.0 {
                rows.push(row(WAIT, 0, std::mem::take(&mut waits)));
            }
            // Work of both stands in the rows of both and counts once, in those of the first.
            let units = if of_both && diver != dive.pair.0 { 0 } else { number };
            rows.push(row(&task.name, units, minutes(task, number)));
        }
        if rows.len() == before {
            rows.push(row(BUDDY, 0, 0.0));
        }
    }
    rows
}

fn minutes(task: &Task, units: u8) -> f64 {
    task.set_up + f64::from(units) * task.unit.mean
}
