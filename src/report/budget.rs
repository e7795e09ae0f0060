//! What an expedition buys, as one screen of text, as JSON and as CSV of its schedule.

use super::digits::{significant, with_error};
use super::terminal::paragraph;
use super::words::{method_words, plain as spoken};
use crate::budget::diving::BANNER;
use crate::design::{Asks, Study, Unit};
use crate::measures::counted;
use crate::planner::expedition::{BudgetAnswer, BudgetPlan, Margin, ScheduleRow};
use serde::Serialize;

/// All that a budget shows, whatever its form.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BudgetReport {
    pub title: String,
    pub version: String,
    pub schema_version: u32,
    pub seed: u64,
    /// Stands first in every form.
    pub caution: &'static str,
    #[serde(flatten)]
    pub answer: BudgetAnswer,
    /// The study that the expedition serves.
    pub scenario: Study,
    /// Divers, pairs and dives a day.
    pub crew: (usize, usize, usize),
}

impl BudgetReport {
    pub fn new(study: &Study, crew: (usize, usize, usize), answer: BudgetAnswer, seed: u64) -> Self {
        Self {
            title: study.title.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            schema_version: super::SCHEMA_VERSION,
            seed,
            caution: BANNER,
            answer,
            scenario: study.clone(),
            crew,
        }
    }

    /// One object; shares and rates are 0-1.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self)
            .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string())
    }

    /// The answer as text of at most 80 columns; the caution stands first.
    pub fn terminal(&self, folder: Option<&str>) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text.push('\n');
        if self.answer.interrupted {
            paragraph(&mut text, "INTERRUPTED: what follows rests on the trials that were finished.", "");
            text.push('\n');
        }
        let (divers, pairs, dives) = self.crew;
        let head = format!(
            "{}: {} days for diving, {divers} divers in {pairs} pairs, {dives} dives a day",
            self.title, self.answer.bookable_days
        );
        paragraph(&mut text, &head, "");
        text.push('\n');
        self.verdict(&mut text);
        self.frontier(&mut text);
        self.worth(&mut text);
        self.weather(&mut text);
        for warning in &self.answer.warnings {
            paragraph(&mut text, &format!("! {warning}"), "  ");
        }
        if let Some(folder) = folder {
            text += &format!("Report: {folder}\n");
        }
        text
    }

    fn verdict(&self, text: &mut String) {
        let answer = &self.answer;
        match &answer.all {
            Some(plan) => self.plan(text, "All targets are met, at the least, by", plan),
            None => paragraph(text, "No number of the sites there are meets all targets.", ""),
        }
        match (&answer.musts, &answer.all) {
            (Some(musts), Some(all)) if musts.days < all.days => {
                paragraph(text, &format!("The musts alone take {}.", effort(musts)), "");
            }
            (Some(musts), None) => self.plan(text, "The musts are met, at the least, by", musts),
            (None, _) => paragraph(text, "No number of the sites there are meets the musts.", ""),
            _ => {}
        }
        let beyond = answer.all.as_ref().is_none_or(|all| all.days > answer.bookable_days);
        match &answer.best {
            Some(best) if beyond => {
                let days = answer.bookable_days;
                self.plan(text, &format!("The best use of the {days} days is"), best);
            }
            Some(_) => {}
            None => paragraph(text, "The days that can be booked are too few for the fewest sites.", ""),
        }
    }

    fn plan(&self, text: &mut String, intro: &str, plan: &BudgetPlan) {
        let zones: Vec<String> = plan.zones.iter().map(|zone| format!("{} {}", zone.zone, zone.sites)).collect();
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        paragraph(text, &format!("{intro} {}: {sites} sites ({}).", effort(plan), zones.join(", ")), "");
        let units: Vec<String> = plan
            .site_set
            .iter()
            .map(|task| {
                let needs = if task.needs < task.units { format!("{} needed", task.needs) } else { String::new() };
                let fits = if task.fits > task.units { format!("{} fit", task.fits) } else { String::new() };
                let both: Vec<String> = [needs, fits].into_iter().filter(|words| !words.is_empty()).collect();
                let both = if both.is_empty() { String::new() } else { format!(" ({})", both.join(", ")) };
                format!("{} {}{both}", method_words(&task.method), task.units)
            })
            .collect();
        paragraph(text, &format!("At each site: {}.", units.join(", ")), "");
        let dives: Vec<String> = plan
            .zones
            .iter()
            .map(|zone| {
                let least = if zone.team_dives > zone.team_dives_at_least {
                    format!(" (not under {})", zone.team_dives_at_least)
                } else {
                    String::new()
                };
                format!(
                    "{} {}{least}, the fullest dive of a pair done in time {:.0} times in 100",
                    zone.zone,
                    counted(zone.team_dives, "team dive"),
                    100.0 * zone.finished
                )
            })
            .collect();
        paragraph(text, &format!("A site takes: {}.", dives.join("; ")), "");
        text.push('\n');
        *text += &format!("{:<26} {:>6} {:>9} {:>7}  {}\n", "target", "", "asked", "margin", "by simulation");
        for margin in &plan.margins {
            *text += self.margin(margin).trim_end();
            text.push('\n');
        }
        text.push('\n');
    }

    fn margin(&self, margin: &Margin) -> String {
        let unit = self.scenario.unit_of(&margin.indicator);
        let scale = if unit == Unit::Share { 100.0 } else { 1.0 };
        let simulated = match (margin.asks, margin.seen, margin.half_width, margin.cv) {
            (Asks::SeeChange(_), Some((seen, error)), _, _) => {
                format!("seen {} in 100", with_error(100.0 * seen, Some(100.0 * error)))
            }
            (Asks::HalfWidth(_), _, Some(half_width), _) => {
                format!("half-width {}", significant(scale * half_width, 3))
            }
            (Asks::Cv(_), _, _, Some(cv)) => format!("error {} % of mean", significant(100.0 * cv, 2)),
            _ => String::new(),
        };
        let asked = match margin.asks {
            Asks::SeeChange(_) => {
                margin.change.map_or(String::new(), |(from, to)| format!("{:+.0} %", 100.0 * (to / from - 1.0)))
            }
            Asks::HalfWidth(half_width) => format!("+-{}", significant(scale * half_width, 3)),
            Asks::Cv(cv) => format!("cv {} %", significant(100.0 * cv, 2)),
        };
        let stuck = if margin.not_by_units > 0.7 && margin.margin < 1.05 {
            format!("; {:.0} % not by more units", 100.0 * margin.not_by_units)
        } else {
            String::new()
        };
        format!(
            "{:<26} {:>6} {:>9} {:>7}  {simulated}{stuck}",
            spoken(&margin.indicator),
            if margin.must { "must" } else { "should" },
            asked,
            format!("{:.2}", margin.margin)
        )
    }

    fn frontier(&self, text: &mut String) {
        if self.answer.frontier.iter().all(|day| day.plan.is_none()) {
            return;
        }
        let has_chance = self.answer.frontier.iter().any(|day| day.chance.is_some());
        paragraph(text, "What days buy (by formula): the weakest margins, and the chance that so many are left", "");
        *text += &format!(
            "{:>4} {:>6} {:>10} {:>8} {:>8}{}\n",
            "days",
            "sites",
            "pair-dives",
            "musts",
            "all",
            if has_chance { "   chance" } else { "" }
        );
        for day in &self.answer.frontier {
            let chance = day.chance.map_or(String::new(), |chance| format!("   {chance:.2}"));
            let Some(plan) = &day.plan else {
                *text += &format!("{:>4} too few for the fewest sites\n", day.days);
                continue;
            };
            let least = |must: bool| {
                let of = plan.margins.iter().filter(|margin| margin.must || !must).map(|margin| margin.margin);
                of.fold(f64::INFINITY, f64::min)
            };
            let shown = |margin: f64| if margin.is_finite() { format!("{margin:.2}") } else { "-".into() };
            let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
            *text += &format!(
                "{:>4} {:>6} {:>10} {:>8} {:>8}{chance}\n",
                day.days,
                sites,
                plan.pair_dives,
                shown(least(true)),
                shown(least(false))
            );
        }
        text.push('\n');
    }

    fn worth(&self, text: &mut String) {
        paragraph(text, "What if (days and team dives for all targets; for the musts; by formula)", "");
        let told = |effort: Option<(usize, usize)>| {
            effort.map_or("out of reach".into(), |(days, dives)| format!("{days} days, {dives}"))
        };
        for what in &self.answer.what_ifs {
            *text += &format!("  {:<44} {:>13} {:>13}\n", what.what, told(what.all), told(what.musts));
        }
        text.push('\n');
        if !self.answer.near_ties.is_empty() {
            paragraph(text, "Hardly dearer, and as good (logistics may choose):", "");
            for tie in &self.answer.near_ties {
                let sites: Vec<String> = tie.sites.iter().map(u16::to_string).collect();
                let units: Vec<String> = tie.units.iter().map(u8::to_string).collect();
                *text += &format!(
                    "  {} days, {} team dives: sites {}; units {}; weakest margin {:.2}\n",
                    tie.days,
                    tie.team_dives,
                    sites.join(" + "),
                    units.join(", "),
                    tie.weakest
                );
            }
            text.push('\n');
        }
    }

    fn weather(&self, text: &mut String) {
        for book in &self.answer.book {
            let to_book = match book.to_book {
                Some(days) => format!("for the chance you want, book {days}"),
                None => "no number within reach gives the chance you want".into(),
            };
            let line = format!(
                "Lost days: {} need {} days for diving. Of the {} that are planned so many are left with a chance of {:.2}; \
                 {to_book}.",
                book.plan, book.needs, self.answer.bookable_days, book.chance
            );
            paragraph(text, &line, "");
        }
        if !self.answer.book.is_empty() {
            text.push('\n');
        }
    }

    /// The schedule as CSV; the caution is its first line.
    pub fn schedule_csv(&self) -> String {
        self.csv(self.answer.schedule.iter())
    }

    /// Where units begin, with spares, as CSV.
    pub fn starts_csv(&self) -> String {
        self.csv(self.answer.starts.iter())
    }

    /// An empty sheet for what was done: a line for each unit of the schedule, to be filled in on the boat.
    pub fn field_csv(&self) -> String {
        let rows = self.answer.schedule.iter();
        let units = rows.flat_map(|row| (1..=row.units).map(move |unit| FieldRow::of(row, unit)));
        self.csv(units)
    }

    fn csv<T: Serialize>(&self, rows: impl Iterator<Item = T>) -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in rows {
            // Writing into memory does not fail.
            let _ = writer.serialize(row);
        }
        let rows = writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
        format!("# {}\n{rows}", self.caution)
    }

    /// The schedule day by day, as text.
    pub fn schedule_text(&self) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text += "\nWork proposed, not released for diving until signed: ______________________\n";
        paragraph(
            &mut text,
            "Any diver may refuse or end any dive; unfinished work is written down. Minutes are asked for.",
            "",
        );
        let mut last: Option<&ScheduleRow> = None;
        for row in &self.answer.schedule {
            let is_new = |of: fn(&ScheduleRow) -> (usize, usize, usize)| last.is_none_or(|last| of(last) != of(row));
            if is_new(|row| (row.day, row.boat, row.team_dive)) {
                text += &format!(
                    "\nDay {}, boat {}, dive {}: {} {}\n",
                    row.day, row.boat, row.team_dive, row.zone, row.site
                );
            }
            let work = match row.units {
                0 if row.task == "buddy" => "buddy".to_owned(),
                0 => format!("{} with the buddy, {:.0} min", method_words(&row.task), row.minutes_asked),
                units => format!("{units} x {}, {:.0} min", method_words(&row.task), row.minutes_asked),
            };
            text += &format!("  pair {} {:<14} {work}\n", row.pair, row.diver);
            last = Some(row);
        }
        text
    }
}

/// One unit as it was done; what is empty is filled in on the boat.
#[derive(Serialize)]
struct FieldRow<'a> {
    date: &'static str,
    day: usize,
    boat: usize,
    team_dive: usize,
    zone: &'a str,
    site: usize,
    diver: &'a str,
    task: &'a str,
    unit: usize,
    minutes_used: &'static str,
    interrupted: &'static str,
    notes: &'static str,
}

impl<'a> FieldRow<'a> {
    fn of(row: &'a ScheduleRow, unit: usize) -> Self {
        Self {
            date: "",
            day: row.day,
            boat: row.boat,
            team_dive: row.team_dive,
            zone: &row.zone,
            site: row.site,
            diver: &row.diver,
            task: &row.task,
            unit,
            minutes_used: "",
            interrupted: "",
            notes: "",
        }
    }
}

fn effort(plan: &BudgetPlan) -> String {
    format!(
        "{}, {}, {}",
        counted(plan.days, "day"),
        counted(plan.team_dives, "team dive"),
        counted(plan.pair_dives, "pair-dive")
    )
}
