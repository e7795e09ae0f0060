use super::schedule::dives;
use super::sites::calm_line;
use super::{Column, Grid, Section, calendar, money, of_summary, people, schedule, site_set, sites, warnings};
use crate::measures::counted;
use crate::planner::expedition::{Level, Replanned, ScheduleRow, SeenMinutes, SeenVariance};
use crate::report::budget::BudgetReport;
use crate::report::budget::money_text::visit_money;
use crate::report::budget::schedule_text::{REFUSE, RELEASE};
use crate::report::budget::summary::Summary;
use crate::report::digits::padded;
use crate::report::replan::{below_fewest, cut_short, finished_first, no_longer_fits, nothing_fits};
use crate::report::words::{method_words, plain, sentence};

/// Days of the schedule that stand by themselves.
const NEXT_DAYS: usize = 2;

/// The rest of an expedition as a page: what it takes, the next days, what is done, what was learned, what changed, and the
/// whole rest. `rest` is the rest as a budget of its own.
///
/// # Errors
/// Where the page cannot be made.
pub fn rest_page(rest: &BudgetReport, replanned: &Replanned) -> Result<String, String> {
    let after = [
        next_days(rest),
        warnings::warnings(rest),
        Some(done(replanned)),
        replanned.money.as_ref().map(money::of_visit),
        learned(rest, replanned),
        changed(replanned),
        site_set::site_set(rest),
        calendar::calendar(rest),
        sites::sites(rest),
        people::people(rest),
        schedule::schedule(rest),
    ];
    let sections: Vec<Section> = after.into_iter().flatten().collect();
    let of_rest = rest.summary();
    let days_left = replanned.days_left;
    let nothing = rest.answer.all.as_ref().is_some_and(|all| all.days == 0);
    let verdict = if nothing {
        "All targets hold with what is done: nothing more is needed.".to_owned()
    } else if nothing_fits(replanned) {
        no_longer_fits(replanned).join(" ")
    } else {
        let begun = finished_first(&rest.answer.begun).map_or(String::new(), |line| line + " ");
        let first: String =
            no_longer_fits(replanned).into_iter().chain(below_fewest(replanned)).map(|line| line + " ").collect();
        format!(
            "{first}After {} of diving, {} left. {begun}For the rest: {}",
            counted(replanned.days_used, "day"),
            if days_left == 1 { "1 is".to_owned() } else { format!("{days_left} are") },
            uncapitalised(&of_rest.verdict)
        )
    };
    let plan = if nothing { Vec::new() } else { of_rest.plan };
    // Chances of the whole are not those of the rest, and nothing was asked what if.
    let costs = replanned.money.iter().map(|money| ("Money", visit_money(money))).collect();
    let summary = Summary { verdict, plan, costs, worth: Vec::new(), ..of_rest };
    of_summary(rest, ("the rest of the expedition", "the rest of the expedition"), summary, &sections)
}

/// What goes on in a sentence begins with a small letter.
fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// Who does what on the next days.
fn next_days(rest: &BudgetReport) -> Option<Section> {
    let rows = &rest.answer.schedule;
    let first = rows.first()?.day;
    let next: Vec<ScheduleRow> = rows.iter().filter(|row| row.day < first + NEXT_DAYS).cloned().collect();
    Some(Section {
        id: "next",
        heading: "The next days",
        words: vec![format!("{RELEASE} ______________________"), REFUSE.into()],
        grids: vec![dives(rest, &next)],
        notes: rest.answer.calm_visits.iter().filter(|visit| visit.day < first + NEXT_DAYS).map(calm_line).collect(),
        ..Section::default()
    })
}

fn done(replanned: &Replanned) -> Section {
    let row = |zone: &crate::planner::expedition::ZoneDone| {
        vec![sentence(&zone.zone), zone.done.to_string(), zone.planned.to_string()]
    };
    let columns = vec![
        Column::words("zone"),
        Column::number("done").small("sites"),
        Column::number("planned").small("sites, in all"),
    ];
    Section {
        id: "done",
        heading: "What is done",
        words: std::iter::once(format!(
            "Visit {}: {} done, {} not done, {} interrupted.",
            replanned.visit,
            counted(replanned.units_done, "unit"),
            replanned.units_not_done,
            replanned.units_interrupted
        ))
        .chain(cut_short(replanned))
        .collect(),
        grids: vec![Grid { caption: String::new(), columns, rows: replanned.zones.iter().map(row).collect() }],
        notes: replanned.notes.clone(),
        ..Section::default()
    }
}

/// Minutes and variation, planned and seen.
fn learned(rest: &BudgetReport, replanned: &Replanned) -> Option<Section> {
    let seen = &replanned.seen;
    let heads = |what: &str, number: &str| {
        [Column::words(what)]
            .into_iter()
            .chain(["planned", "seen", number, "from now on"].map(Column::number))
            .collect()
    };
    let minutes = |of: &SeenMinutes| {
        let name = match &of.diver {
            None => sentence(&method_words(&of.task)),
            Some(diver) => format!("of these by {diver}, {} (seen only)", method_words(&of.task)),
        };
        let [planned, mean, new] = [of.planned, of.seen, of.new].map(|minutes| padded(minutes, 3));
        vec![name, planned, mean, of.units.to_string(), new]
    };
    let variance = |of: &SeenVariance| {
        let level = if of.level == Level::Units { "units" } else { "sites" };
        // Of shares in points.
        let is_share = rest.scenario.unit_of(&of.indicator) == crate::design::Unit::Share;
        let times = if is_share { 100.0 } else { 1.0 };
        let [planned, mean, new] = [of.planned, of.seen, of.new].map(|variance| padded(times * variance.sqrt(), 3));
        let unit = if is_share { ", points" } else { "" };
        let name = format!("{}, between {level}{unit}", sentence(&plain(&of.indicator)));
        vec![name, planned, mean, format!("{:.0}", of.degrees_of_freedom), new]
    };
    let mut grids = Vec::new();
    if !seen.minutes.is_empty() {
        let rows = seen.minutes.iter().map(minutes).collect();
        grids.push(Grid { caption: "Minutes a unit".into(), columns: heads("work", "units"), rows });
    }
    if !seen.variances.is_empty() {
        let rows = seen.variances.iter().map(variance).collect();
        grids.push(Grid {
            caption: "Standard deviations".into(),
            columns: heads("target", "degrees of freedom"),
            rows,
        });
    }
    (!grids.is_empty()).then(|| Section {
        id: "learned",
        heading: "What was learned",
        words: vec![
            "What was seen is weighed against what was planned; the rest is planned with the last column. The change that is \
             asked about was not looked at."
                .into(),
        ],
        grids,
        ..Section::default()
    })
}

fn changed(replanned: &Replanned) -> Option<Section> {
    let amendments = replanned.amendments.iter().map(|of| vec![of.date.clone(), of.what.clone()]);
    let rows: Vec<Vec<String>> = amendments.collect();
    let columns = vec![Column::words("date"), Column::words("for the report of the survey")];
    let grid = Grid { caption: String::new(), columns, rows };
    let changes = replanned.changes.iter().map(|change| format!("{}.", sentence(change.trim_end_matches('.'))));
    let mut words: Vec<String> = changes.collect();
    if words.is_empty() {
        words.push("The rest goes on as it was planned.".into());
    }
    Some(Section {
        id: "changed",
        heading: "What changed against the plan",
        words,
        grids: if grid.rows.is_empty() { Vec::new() } else { vec![grid] },
        ..Section::default()
    })
}
