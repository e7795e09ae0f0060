use crate::budget::diving::{FIRST_DIVE_ONLY_SHORT, cautions_of, flag_in_short};
use crate::budget::gas::flag_gas;
use crate::planner::expedition::{LAYING, ScheduleRow, Start, dive_words};
use crate::report::budget::BudgetReport;
use crate::report::budget::effort_text::{in_time, lost_with};
use crate::report::budget::lines_text::lines_of_dive;
use crate::report::budget::schedule_text::work_words;
use crate::report::budget::sites_text::calm_words;
use crate::report::digits::significant;
use crate::report::words::{method_words, one_of_method, sentence};
use serde::Serialize;
use std::collections::BTreeMap;

/// What is proposed for one day of one boat.
#[derive(Serialize)]
pub struct DaySheet {
    pub heading: String,
    /// Cautions of diving that touch this day, in short; the first sheet has all of them in full instead.
    pub mind: Vec<String>,
    /// On the last day: the hours to a flight.
    pub flight: Option<String>,
    pub dives: Vec<DiveBlock>,
    /// Where units begin at the sites of the day.
    pub starts: Vec<StartLine>,
}

#[derive(Serialize)]
pub struct DiveBlock {
    pub heading: String,
    /// Diver, buddy, what is asked (a line for each task) and what is left out first.
    pub rows: Vec<[String; 3]>,
    /// How sure each pair ends in time, and where to go in bad weather.
    pub notes: Vec<String>,
}

/// The units of one method at one site.
#[derive(Serialize)]
pub struct StartLine {
    pub what: String,
    pub places: String,
}

pub fn days(report: &BudgetReport) -> Vec<DaySheet> {
    let several = report.expedition.boats.number > 1;
    let units_at = units_with_starts(report);
    let same = |one: &ScheduleRow, other: &ScheduleRow| (one.day, one.boat) == (other.day, other.boat);
    let sheet = |rows: &[ScheduleRow]| {
        let boat = if several { format!(", boat {}", rows[0].boat) } else { String::new() };
        DaySheet {
            heading: format!("Day {}{boat}", report.answer.day_words(rows[0].day)),
            mind: mind(report, rows),
            flight: flight(report, rows[0].day),
            dives: rows
                .chunk_by(|one, other| one.team_dive == other.team_dive)
                .map(|rows| dive(report, &units_at, rows))
                .collect(),
            starts: starts(report, rows),
        }
    };
    report.answer.schedule.chunk_by(same).map(sheet).collect()
}

/// What a diving officer who holds the sheet of this day alone must see on it.
fn mind(report: &BudgetReport, rows: &[ScheduleRow]) -> Vec<String> {
    let zones = report.scenario.zones.iter().zip(&report.expedition.zones);
    let of_day = zones.filter(|(zone, _)| rows.iter().any(|row| row.zone == zone.name));
    let gas = report.expedition.gas.as_ref();
    let flags = of_day.flat_map(|(zone, diving)| {
        let (depth_m, minutes) = (diving.depth_m, diving.bottom_minutes);
        let of_gas = gas.and_then(|gas| flag_gas(gas, depth_m, minutes));
        let [_, deep, current] = cautions_of(diving);
        let told = [flag_in_short(depth_m, minutes), deep, current, of_gas].into_iter().flatten();
        told.map(|flag| format!("{}: {flag}", zone.name)).collect::<Vec<_>>()
    });
    let new_pairs = report.answer.new_pairs.iter().filter_map(|pair| {
        let first = report.answer.schedule.iter().find(|row| row.pair == pair.pair && row.day >= pair.from_day)?;
        let is_here = (first.day, first.boat) == (rows[0].day, rows[0].boat);
        is_here.then(|| {
            format!("A new pair from today on: {} and {} (pair {}).", pair.divers[0], pair.divers[1], pair.pair)
        })
    });
    let is_repeated = rows.iter().any(|row| row.team_dive > 1);
    flags.chain(new_pairs).chain(is_repeated.then(|| FIRST_DIVE_ONLY_SHORT.to_owned())).collect()
}

fn flight(report: &BudgetReport, day: usize) -> Option<String> {
    let last = report.answer.flight.as_ref().filter(|flight| flight.day == day);
    last.map(|flight| flight.told.clone())
}

fn dive(report: &BudgetReport, units_at: &[UnitAt], rows: &[ScheduleRow]) -> DiveBlock {
    let first = &rows[0];
    let pairs = rows.chunk_by(|one, other| one.pair == other.pair);
    let pairs = pairs.map(|of| format!("pair {} {} times in 100", of[0].pair, in_time(of[0].finished)));
    let out_first = || rows.iter().filter(|row| row.leave_out_first);
    let mut lost: Vec<String> = out_first()
        .filter_map(|row| lost_with(report, row).map(|lost| format!("{}: {lost}", method_words(&row.task))))
        .collect();
    lost.sort();
    lost.dedup();
    let late = match (out_first().next(), lost.is_empty()) {
        (None, _) => String::new(),
        (_, true) => " * Who runs late leaves out one of these first.".to_owned(),
        (_, false) => format!(" * Who runs late leaves out one of these first ({}).", lost.join("; ")),
    };
    let in_time = format!("Both done in time: {}.{late}", pairs.collect::<Vec<_>>().join(", "));
    let calm = report.answer.calm_visit(first).map(|visit| format!("{}.", sentence(&calm_words(visit))));
    let lines = lines_of_dive(&report.answer, first);
    let of_diver = |own: &[ScheduleRow]| -> [String; 3] {
        let work: Vec<String> = own
            .iter()
            .map(|row| {
                // The shallow part of a place stands after the deep one.
                let there = if row.zone == first.zone { String::new() } else { format!("at {}: ", row.place()) };
                let out = if row.leave_out_first { " *" } else { "" };
                format!("{there}{}{}{out}", work_words(row), numbers(report, row))
            })
            .collect();
        let buddy = rows.iter().find(|of| of.pair == own[0].pair && of.diver != own[0].diver);
        [own[0].diver.clone(), buddy.map_or(String::new(), |of| of.diver.clone()), work.join("\n")]
    };
    DiveBlock {
        heading: format!("Dive {}: {}: {}", first.team_dive, first.place(), dive_words(rows)),
        rows: rows.chunk_by(|one, other| one.diver == other.diver).map(of_diver).collect(),
        notes: std::iter::once(in_time).chain(lines).chain(apart(units_at, first)).chain(calm).collect(),
    }
}

/// Which of the units of a method at a site a diver does, where they have starts: " (starts 2, 5)".
fn numbers(report: &BudgetReport, row: &ScheduleRow) -> String {
    let has_starts = report
        .answer
        .starts
        .iter()
        .any(|start| (&start.zone, start.site, &start.method) == (&row.zone, row.site, &row.task));
    let numbers: Vec<String> = row.unit_numbers.iter().map(ToString::to_string).collect();
    if row.task == LAYING && !numbers.is_empty() {
        return format!(" (no. {})", numbers.join(", "));
    }
    let starts = if numbers.len() == 1 { "start" } else { "starts" };
    if has_starts && !numbers.is_empty() { format!(" ({starts} {})", numbers.join(", ")) } else { String::new() }
}

/// Two divers of a pair are not told to be apart below this, m (common practice, no source).
const IN_SIGHT_M: f64 = 20.0;

/// A unit on a dive: whose, where it begins, and from which to which minute of work.
struct UnitAt<'a> {
    row: &'a ScheduleRow,
    start: (f64, f64),
    minutes: (f64, f64),
}

/// How far apart the units of a pair begin that are done at the same time, where that is far: for the diving officer.
fn apart(units_at: &[UnitAt], dive: &ScheduleRow) -> Option<String> {
    let units: Vec<&UnitAt> = units_at.iter().filter(|of| of.row.is_of_dive(dive)).collect();
    let mut all: Vec<(usize, f64)> = Vec::new();
    for (place, one) in units.iter().enumerate() {
        for other in &units[place + 1..] {
            let is_pair = one.row.pair == other.row.pair && one.row.diver != other.row.diver;
            let is_together = one.minutes.0 < other.minutes.1 && other.minutes.0 < one.minutes.1;
            let metres = libm::hypot(one.start.0 - other.start.0, one.start.1 - other.start.1);
            if !is_pair || !is_together || one.row.zone != other.row.zone || metres <= IN_SIGHT_M {
                continue;
            }
            match all.iter_mut().find(|(pair, _)| *pair == one.row.pair) {
                Some((_, most)) => *most = most.max(metres),
                None => all.push((one.row.pair, metres)),
            }
        }
    }
    let told: Vec<String> = all.iter().map(|(pair, metres)| format!("pair {pair} up to {metres:.0} m")).collect();
    (!told.is_empty()).then(|| {
        format!(
            "For the diving officer: units of two buddies that are asked for at the same time begin far apart ({}; more than {} m). \
             Exchanges between pairs are made already. Buddies stay together: take spares that lie nearer, or do them one after \
             the other.",
            told.join(", "),
            significant(IN_SIGHT_M, 2)
        )
    })
}

/// The units of the schedule that have a start, each diver doing what is asked of a dive in its order.
fn units_with_starts(report: &BudgetReport) -> Vec<UnitAt<'_>> {
    let mut clocks: BTreeMap<(usize, usize, usize, &str), f64> = BTreeMap::new();
    let mut all = Vec::new();
    for row in &report.answer.schedule {
        let units = &row.unit_numbers;
        let clock = clocks.entry((row.day, row.boat, row.team_dive, &row.diver)).or_default();
        let each = row.minutes_asked / units.len().max(1) as f64;
        for &unit in units {
            let start = report.answer.starts.iter().find(|start| {
                (&start.zone, start.site, &start.method, start.unit, start.is_spare)
                    == (&row.zone, row.site, &row.task, unit, false)
            });
            let from = *clock;
            *clock += each;
            let minutes = (from, *clock);
            all.extend(start.map(|start| UnitAt { row, start: (start.along_m, start.across_m), minutes }));
        }
        if units.is_empty() {
            *clock += row.minutes_asked;
        }
    }
    all
}

/// Starts at the sites that are begun on this day.
fn starts(report: &BudgetReport, rows: &[ScheduleRow]) -> Vec<StartLine> {
    let mut sites: Vec<(&str, usize)> = Vec::new();
    for row in rows {
        // Pairs go from one depth of a place to the other by turns.
        if !sites.contains(&(row.zone.as_str(), row.site)) {
            sites.push((&row.zone, row.site));
        }
    }
    sites.iter().flat_map(|&(zone, site)| of_site(&report.answer.starts, zone, site)).collect()
}

fn of_site(starts: &[Start], zone: &str, site: usize) -> Vec<StartLine> {
    let here: Vec<&Start> = starts.iter().filter(|start| start.zone == zone && start.site == site).collect();
    let of_method = |of: &[&Start]| {
        let place = |start: &&Start| {
            let spare = if start.is_spare { "spare " } else { "" };
            let turned = match start.heading_degrees {
                0.0 => String::new(),
                degrees => format!(" {degrees:.0}°"),
            };
            format!(
                "{spare}{}: {} / {}{turned}",
                start.unit,
                significant(start.along_m, 4),
                significant(start.across_m, 4)
            )
        };
        StartLine {
            what: format!("{}, {}", of[0].place(), one_of_method(&of[0].method)),
            places: of.iter().map(place).collect::<Vec<_>>().join("; "),
        }
    };
    here.chunk_by(|one, other| one.method == other.method).map(of_method).collect()
}
