//! `budget FILE --done`: the rest of an expedition planned anew, or what came of it.

use super::answer;
use super::arguments::Shared;
use super::budget::nothing;
use super::failure::Failure;
use super::files::{print, read_file};
use super::folder::write_folder;
use crate::budget::Today;
use crate::design::{Expedition, Question};
use crate::engine::Plan;
use crate::pilot::field::{FieldNames, read_field};
use crate::planner::expedition::{
    Confirming, FieldData, Open, Replanning, field_columns, finished as finish, replan as plan_rest,
};
use crate::report::{BudgetReport, FinishedReport, ReplanReport, budget_sheets, rest_page, sheet_of_another};
use crate::scenario::Loaded;
use clap::{Args, ValueEnum};
use std::fs;
use std::path::{Path, PathBuf};

/// The sites of the rest, in the folder that is written.
pub const REST_SITES: &str = "rest_sites.csv";

const HEADING: &str = "While the expedition runs, and at its end";

/// What was done so far.
#[derive(Debug, Args)]
pub struct Done {
    /// Plan the rest anew: field.csv, filled in with minutes and readings. May be given again for a further sheet
    #[arg(long = "done", value_name = "FIELD", help_heading = HEADING)]
    pub sheets: Vec<PathBuf>,
    /// Days left for diving; else those that can be booked less those up to the last day of the sheets
    #[arg(long, value_name = "DAYS", requires = "sheets", help_heading = HEADING,
          value_parser = clap::value_parser!(u16).range(0..=400))]
    days_left: Option<u16>,
    /// Whether today was dived or lost, for the chances of the days to come
    #[arg(long, value_name = "WHAT", requires = "sheets", help_heading = HEADING)]
    today: Option<TodayWas>,
    /// The visit that is under way; else the last in the sheets, 1 where they have no column `visit`
    #[arg(long, value_name = "NUMBER", requires = "sheets", help_heading = HEADING,
          value_parser = clap::value_parser!(u8).range(1..=2))]
    visit: Option<u8>,
    /// The expedition is over: what was planned and what came
    #[arg(long, requires = "sheets", conflicts_with_all = ["days_left", "today"], help_heading = HEADING)]
    finished: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum TodayWas {
    Dived,
    Lost,
}

pub fn run(loaded: &Loaded, expedition: &Expedition, plan: &Plan, done: &Done, shared: &Shared) -> Result<(), Failure> {
    if plan.study.question == Question::BetweenGroups {
        let error = loaded.error_at_path(
            "question",
            "the rest of a comparison of two groups of sites cannot be planned anew yet",
            "no column tells the group of a site",
            "Leave --done out, or ask for status or a change between visits.",
        );
        return Err(Failure::from(error));
    }
    let refused = |why| Failure::from(nothing(loaded, &why));
    let open = Open::new(plan, expedition, shared.seed);
    let (tasks, readings) = field_columns(&open).map_err(refused)?;
    let zones = plan.study.zones.iter().map(|zone| zone.name.clone()).collect();
    let names = FieldNames { zones, tasks, readings, visit: usize::from(done.visit.unwrap_or(1)) };
    let data = read(done, &names, &plan.study.title)?;
    let visit = visit_under_way(done, &data, plan)?;
    let crew = (expedition.divers.len(), expedition.pairs.len(), expedition.boats.dives_a_day);
    let until = answer::until(shared);
    if done.finished {
        let answer = answer::watched_steps(shared, |watch, step| {
            finish(&open, (&data, visit), &Confirming { seed: shared.seed, until, watch, step })
        });
        let report = FinishedReport::new(&plan.study, answer.map_err(refused)?);
        let text = |folder: Option<&str>| report.terminal(folder);
        return write(shared, done, vec![("finished.json", report.json() + "\n")], "finished.txt", &text);
    }
    let today = match done.today {
        None => Today::NotTold,
        Some(TodayWas::Dived) => Today::Dived,
        Some(TodayWas::Lost) => Today::Lost,
    };
    let replanning = Replanning { data: &data, visit, days_left: done.days_left.map(usize::from), today };
    let answer = answer::watched_steps(shared, |watch, step| {
        plan_rest(&open, &replanning, &Confirming { seed: shared.seed, until, watch, step })
    });
    let report = ReplanReport::new(&plan.study, crew, answer.map_err(refused)?, shared.seed);
    // The rest as a budget of its own, for its schedule, starts and sheets.
    let rest = BudgetReport::new(loaded, expedition, report.answer.rest.clone(), shared.seed);
    let page = rest_page(&rest, &report.answer).map_err(Failure::other)?;
    let sheets = budget_sheets(&rest).map_err(Failure::other)?;
    let files = vec![
        ("replan.json", report.json() + "\n"),
        ("replan.html", page),
        ("rest_sheets.html", sheets),
        ("rest_schedule.csv", rest.schedule_csv()),
        ("rest_starts.csv", rest.starts_csv()),
        ("rest_field.csv", rest.field_csv()),
        ("rest_schedule.txt", rest.schedule_text()),
    ];
    let of_sites = [(REST_SITES, rest.sites_csv()), ("rest_sites.gpx", rest.sites_gpx())];
    let of_sites = of_sites.into_iter().filter_map(|(name, text)| Some((name, text?)));
    let files = files.into_iter().chain(of_sites).collect();
    write(shared, done, files, "replan.txt", &|folder| report.terminal(folder))
}

fn read(done: &Done, names: &FieldNames, title: &str) -> Result<FieldData, Failure> {
    let sheets: Vec<(String, Vec<u8>)> = done
        .sheets
        .iter()
        .map(|path| {
            let bytes = read_file(path).map_err(|failure| {
                Failure::bad_input(format!(
                    "{}; --done takes the field sheets that came back, with --finished when all is done",
                    failure.message
                ))
            })?;
            Ok((path.display().to_string(), bytes))
        })
        .collect::<Result<_, Failure>>()?;
    for (name, bytes) in &sheets {
        let text = String::from_utf8_lossy(bytes);
        if let Some(other) = sheet_of_another(&text, title) {
            return Err(Failure::bad_input(format!(
                "{name}: this is the field sheet of `{other}`, and the scenario is `{title}`; give its own sheet, or take the line \
                 `# Sheet of: ...` out where the title alone was changed"
            )));
        }
    }
    let data = read_field(sheets.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())), names)
        .map_err(|error| Failure::bad_input(error.to_string()))?;
    if data.units.is_empty() {
        let files: Vec<&str> = sheets.iter().map(|(name, _)| name.as_str()).collect();
        return Err(Failure::bad_input(format!(
            "{}: no unit is done; write minutes_used where one was (and leave interrupted empty), or leave --done out",
            files.join(", ")
        )));
    }
    Ok(data)
}

/// The visit that is planned, from the option or the sheets.
fn visit_under_way(done: &Done, data: &FieldData, plan: &Plan) -> Result<usize, Failure> {
    let last = data.units.iter().map(|unit| unit.visit).max().unwrap_or(1);
    let visit = done.visit.map_or(last, usize::from);
    if last > visit {
        return Err(Failure::bad_input(format!(
            "--visit {visit}: the sheets have units of visit {last}; leave --visit out, or take those rows out"
        )));
    }
    if visit == 2 && plan.study.question.visits() < 2 {
        return Err(Failure::bad_input(
            "the scenario has one visit and the sheet is of a second; write 1 as its visit, or ask for a change between visits"
                .to_owned(),
        ));
    }
    Ok(visit)
}

/// Writes the files into the folder, where one is asked for, and prints the first (as JSON) or the text. A sheet that was
/// filled in is never written over.
fn write(
    shared: &Shared,
    done: &Done,
    files: Vec<(&str, String)>,
    text_name: &str,
    text: &dyn Fn(Option<&str>) -> String,
) -> Result<(), Failure> {
    let shown = shared.out.as_ref().map(|folder| folder.display().to_string());
    if let Some(folder) = &shared.out {
        let index = files.first().map_or("", |(name, _)| name);
        let told = (text_name, text(shown.as_deref()));
        let all: Vec<(String, Vec<u8>)> =
            files.iter().chain([&told]).map(|(name, text)| ((*name).to_owned(), text.clone().into_bytes())).collect();
        refuse_sheets(done, folder, &all)?;
        write_folder(folder, &all, index)?;
    }
    match files.first() {
        Some((_, json)) if shared.json => print(json),
        _ => print(&text(shown.as_deref())),
    }
}

fn refuse_sheets(done: &Done, folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Failure> {
    let read: Vec<PathBuf> = done.sheets.iter().filter_map(|sheet| fs::canonicalize(sheet).ok()).collect();
    for (name, _) in files {
        let path = folder.join(name);
        if fs::canonicalize(&path).is_ok_and(|there| read.contains(&there)) {
            return Err(Failure::bad_input(format!(
                "{} is the sheet that was filled in and would be written over; choose another --out, or rename the sheet",
                path.display()
            )));
        }
    }
    Ok(())
}
