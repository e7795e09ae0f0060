//! The rest of an expedition, planned anew: as one screen of text and as JSON. Schedule, starts and field sheet of the rest are
//! those of a budget.

use super::budget::{HOW_MANY_ARE_CALM, calm_words, lines_of_dive, money_of_rest, own_power, visit_money, work_words};
use super::digits::{hundredths, hundredths_beside, in_hundred, padded, significant, trimmed};
use super::terminal::paragraph;
use super::words::{count_method, method_words, plain as spoken, sentence};
use crate::budget::diving::BANNER;
use crate::design::{Asks, Study, Unit};
use crate::measures::{counted, told_apart};
use crate::planner::expedition::{BegunSite, BelowFewest, BudgetPlan, Level, Margin, Replanned, ScheduleRow};
use serde::Serialize;

/// All that a new plan of the rest shows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReplanReport {
    pub title: String,
    pub version: String,
    pub schema_version: u32,
    pub seed: u64,
    /// Stands first in every form.
    pub caution: &'static str,
    #[serde(flatten)]
    pub answer: Replanned,
    /// The study that the expedition serves, as it was planned.
    pub scenario: Study,
    /// Divers, pairs and dives a day.
    pub crew: (usize, usize, usize),
}

/// Days of the schedule that stand on the screen.
const NEXT_DAYS: usize = 2;

impl ReplanReport {
    pub fn new(study: &Study, crew: (usize, usize, usize), answer: Replanned, seed: u64) -> Self {
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
        if self.answer.rest.interrupted {
            paragraph(&mut text, "INTERRUPTED: what follows rests on the trials that were finished.", "");
            text.push('\n');
        }
        self.done(&mut text);
        self.learned(&mut text);
        self.verdict(&mut text);
        self.next_days(&mut text);
        self.changes(&mut text);
        for note in &self.answer.notes {
            paragraph(&mut text, &format!("- {note}"), "  ");
        }
        for warning in &self.answer.rest.warnings {
            paragraph(&mut text, &format!("! {warning}"), "  ");
        }
        if let Some(folder) = folder {
            text += &format!("Report: {folder}\n");
        }
        text
    }

    fn done(&self, text: &mut String) {
        let answer = &self.answer;
        let head = format!(
            "{}, visit {}: after {} of diving, {} left",
            self.title,
            answer.visit,
            counted(answer.days_used, "day"),
            answer.days_left
        );
        paragraph(text, &head, "");
        let zones = answer.zones.iter().map(|zone| format!("{} {} of {}", zone.zone, zone.done, zone.planned));
        let line = format!(
            "Sites done: {}. {} done; {} not done, {} interrupted.",
            zones.collect::<Vec<_>>().join(", "),
            counted(answer.units_done, "unit"),
            answer.units_not_done,
            answer.units_interrupted
        );
        paragraph(text, &line, "");
        if let Some(words) = cut_short(answer) {
            paragraph(text, &words, "");
        }
        text.push('\n');
    }

    fn learned(&self, text: &mut String) {
        let seen = &self.answer.seen;
        *text += &format!("{:<42} {:>8} {:>8} {:>6} {:>8}\n", "minutes a unit", "planned", "seen", "units", "new");
        for of in &seen.minutes {
            let name = match &of.diver {
                None => method_words(&of.task),
                Some(diver) => format!("  of these by {diver} (seen only)"),
            };
            let [planned, mean, new] = [of.planned, of.seen, of.new].map(|minutes| padded(minutes, 3));
            *text += &format!("{} {planned:>8} {mean:>8} {:>6} {new:>8}\n", whole(&name, 42), of.units);
        }
        if !seen.variances.is_empty() {
            *text += &format!("{:<42} {:>8} {:>8} {:>6} {:>8}\n", "standard deviation", "planned", "seen", "df", "new");
        }
        for of in &seen.variances {
            let level = if of.level == Level::Units { "units" } else { "sites" };
            // Variances of shares in points.
            let times = if self.scenario.unit_of(&of.indicator) == Unit::Share { 100.0 } else { 1.0 };
            let [planned, mean, new] = [of.planned, of.seen, of.new].map(|variance| padded(times * variance.sqrt(), 3));
            let name = format!("{}, between {level}", spoken(&of.indicator));
            let df = format!("{:.0}", of.degrees_of_freedom);
            *text += &format!("{} {planned:>8} {mean:>8} {df:>6} {new:>8}\n", whole(&name, 42));
        }
        text.push('\n');
    }

    fn verdict(&self, text: &mut String) {
        let rest = &self.answer.rest;
        let days_left = self.answer.days_left;
        for line in no_longer_fits(&self.answer) {
            paragraph(text, &line, "");
        }
        if nothing_fits(&self.answer) {
            text.push('\n');
            return;
        }
        for line in finished_first(&rest.begun).into_iter().chain(below_fewest(&self.answer)) {
            paragraph(text, &line, "");
        }
        match &rest.all {
            Some(plan) if plan.days == 0 => {
                paragraph(text, "All targets hold with what is done: nothing more is needed.", "");
                self.margins(text, plan);
            }
            Some(plan) => self.plan(text, "For all targets the rest takes, at the least,", plan),
            None => paragraph(text, "No number of the sites left meets all targets.", ""),
        }
        match (&rest.musts, &rest.all) {
            (Some(musts), _) if musts.days > days_left => {
                paragraph(
                    text,
                    &format!("The musts cannot be met: they take {} more.", counted(musts.days, "day")),
                    "",
                );
            }
            (Some(musts), Some(all)) if musts.days < all.days => {
                paragraph(text, &format!("The musts alone take {} more.", counted(musts.days, "day")), "");
            }
            (Some(musts), None) => self.plan(text, "For the musts the rest takes, at the least,", musts),
            (None, _) => paragraph(text, "No number of the sites left meets the musts.", ""),
            _ => {}
        }
        if !rest.schedules_all() {
            match &rest.best {
                Some(best) => {
                    let intro = format!("The best use of the {} left:", counted(days_left, "day"));
                    self.plan(text, &intro, best);
                }
                None => paragraph(text, "The days left are too few for the fewest sites.", ""),
            }
        }
        for book in &rest.book {
            let line = format!(
                "Lost days: {} need {} more; of the {} left so many can be dived {} times in 100 (you want {}).",
                book.plan,
                counted(book.needs, "day"),
                days_left,
                hundredths_beside(book.chance, book.wanted),
                trimmed(100.0 * book.wanted, 2)
            );
            paragraph(text, &line, "");
        }
        if !rest.book.is_empty() && !self.answer.needs_calm.is_empty() {
            paragraph(text, &format!("{}.", sentence(HOW_MANY_ARE_CALM)), "");
        }
        if let Some(money) = &self.answer.money {
            paragraph(text, &format!("{}.", visit_money(money)), "");
        }
        text.push('\n');
    }

    fn plan(&self, text: &mut String, intro: &str, plan: &BudgetPlan) {
        let zones: Vec<String> = plan.zones.iter().map(|zone| format!("{} {}", zone.zone, zone.sites)).collect();
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        let new = match sites {
            0 => "begun sites alone".to_owned(),
            _ => format!("{} not begun yet ({})", counted(sites, "site"), zones.join(", ")),
        };
        let line = format!(
            "{intro} {}, {}, {}: {new}.",
            counted(plan.days, "day"),
            counted(plan.team_dives, "team dive"),
            counted(plan.pair_dives, "pair-dive"),
        );
        paragraph(text, &line, "");
        if let Some(line) = money_of_rest(plan) {
            paragraph(text, &format!("{line}."), "");
        }
        let units: Vec<String> =
            plan.site_set.iter().map(|task| format!("{} {}", method_words(&task.method), task.units)).collect();
        if sites > 0 {
            paragraph(text, &format!("At each of them: {}.", units.join(", ")), "");
        }
        self.margins(text, plan);
    }

    /// How the whole, done and to come, meets its targets.
    fn margins(&self, text: &mut String, plan: &BudgetPlan) {
        // A column that would say of every target that it was not simulated is left out.
        let any = plan.margins.iter().any(|margin| self.simulated(margin).is_some());
        let last = if any { "by simulation" } else { "" };
        let head = format!("{:<34} {:>6} {:>7}  {last}", "target, with what is done", "", "margin");
        *text += head.trim_end();
        text.push('\n');
        for margin in &plan.margins {
            let must = if margin.must { "must" } else { "should" };
            let line = format!(
                "{} {must:>6} {:>7}  {}",
                whole(&spoken(&margin.indicator), 34),
                format!("{:.2}", margin.margin),
                self.simulated(margin).unwrap_or_else(|| if any { "not simulated".into() } else { String::new() })
            );
            *text += line.trim_end();
            text.push('\n');
        }
        if !any {
            paragraph(text, "Margins by formula; not simulated.", "");
        }
        text.push('\n');
    }

    /// `None` where it was not simulated.
    fn simulated(&self, margin: &Margin) -> Option<String> {
        let times = if self.scenario.unit_of(&margin.indicator) == Unit::Share { 100.0 } else { 1.0 };
        match (margin.asks, margin.seen, margin.half_width, margin.cv) {
            (Asks::SeeChange(_), Some((seen, error)), _, _) => {
                let asked =
                    own_power(&self.scenario.test, margin).map_or(String::new(), |own| format!(" ({own} asked)"));
                Some(format!("seen {} in 100{asked}", hundredths(Some(seen), Some(error))))
            }
            (Asks::HalfWidth(_), _, Some(half), _) => Some(format!("half-width {}", significant(times * half, 3))),
            (Asks::Cv(_), _, _, Some(cv)) => Some(format!("error {} % of mean", significant(100.0 * cv, 2))),
            _ => None,
        }
    }

    /// Who does what on the next days.
    fn next_days(&self, text: &mut String) {
        let rows = &self.answer.rest.schedule;
        let Some(first) = rows.first() else { return };
        paragraph(
            text,
            "The next days (work proposed, not released for diving until signed; minutes are asked for):",
            "",
        );
        let mut last: Option<&ScheduleRow> = None;
        let is_next = |row: &&ScheduleRow| row.day < first.day + NEXT_DAYS;
        for row in rows.iter().filter(is_next) {
            let before = last.filter(|last| last.is_of_dive(row));
            if before.is_none() {
                paragraph(text, &format!("  day {}", self.answer.rest.dive_line(row)), "    ");
                if let Some(visit) = self.answer.rest.calm_visit(row) {
                    paragraph(text, &format!("    {}", calm_words(visit)), "      ");
                }
                if let Some(lines) = lines_of_dive(&self.answer.rest, row) {
                    paragraph(text, &format!("    {lines}"), "      ");
                }
            }
            let diver = if before.is_some_and(|last| last.diver == row.diver) { "" } else { row.diver.as_str() };
            // The first letters of a name, so that the columns are kept.
            *text += &format!("    {diver:<14.14} {}\n", work_words(row));
            last = Some(row);
        }
        text.push('\n');
    }

    fn changes(&self, text: &mut String) {
        if !self.answer.changes.is_empty() {
            paragraph(text, "Against the plan:", "");
            for change in &self.answer.changes {
                paragraph(text, &format!("  {change}"), "    ");
            }
            text.push('\n');
        }
        paragraph(text, "For the report of the survey:", "");
        for amendment in &self.answer.amendments {
            paragraph(text, &format!("  {}: {}", amendment.date, amendment.what), "    ");
        }
        text.push('\n');
    }
}

/// Whether some work fits into no dive, even if it need not be done in time more often than not.
pub(super) fn nothing_fits(answer: &Replanned) -> bool {
    !answer.no_longer_fits.is_empty() && answer.less_sure.is_empty()
}

/// What the minutes seen leave no room for, and what was done about it.
pub(super) fn no_longer_fits(answer: &Replanned) -> Vec<String> {
    let of_unit = |why: &String| match nothing_fits(answer) {
        true => format!("With the minutes seen nothing can be planned as it was asked. {why}"),
        false => format!("With the minutes seen one thing does not fit as it was asked: {why}."),
    };
    let mut all: Vec<String> = answer.no_longer_fits.iter().map(of_unit).collect();
    all.extend(answer.less_sure.iter().map(|of| {
        let [chance, asked] = told_apart(100.0 * of.chance, 100.0 * of.asked);
        format!(
            "It is planned all the same, on dives that are no longer than before: in {} a unit of {} is done in time by its diver \
             {chance} times in 100 where {asked} are asked; all other work is as sure as asked. Whoever runs late leaves the unit \
             unfinished and writes that down.",
            of.zone,
            spoken(&of.method)
        )
    }));
    if let Some((first, others)) = answer.without_one_method.split_first() {
        let all_others = others.iter().map(|of| format!(" {of}"));
        all.push(format!("One method may be left out instead. {first}{}", all_others.collect::<String>()));
    }
    all
}

/// Days with fewer dives than the sheets had for them, and what that would mean for the rest.
pub(super) fn cut_short(answer: &Replanned) -> Option<String> {
    let of = answer.cut_short.as_ref()?;
    let days: Vec<String> = of
        .days
        .iter()
        .map(|short| format!("day {} ({} of {})", short.day, short.dived, counted(short.planned, "team dive")))
        .collect();
    let goes_on = if of.may_go_on { ", if its last day is over" } else { "" };
    let mut text = format!(
        "Of {} dived {} cut short{goes_on}: {}. {} days dived, not lost.",
        counted(answer.days_used, "day"),
        if of.days.len() == 1 { "1 was".to_owned() } else { format!("{} were", of.days.len()) },
        days.join(", "),
        if of.days.len() == 1 { "It counts among the" } else { "They count among the" },
    );
    if let Some(rest) = of.rest.filter(|rest| rest.days > rest.instead_of) {
        let left = answer.days_left;
        let chance = match rest.chance {
            _ if rest.days > left => {
                format!(", and there {} left", if left == 1 { "is 1".into() } else { format!("are {left}") })
            }
            Some(chance) => format!("; the chance of so many of the {left} left is {}", in_hundred(chance)),
            None => String::new(),
        };
        text += &format!(
            " If the days to come go as these did ({} of {}), the rest takes about {} instead of {}{chance}.",
            of.dived,
            counted(of.planned, "team dive"),
            counted(rest.days, "day"),
            rest.instead_of
        );
    }
    Some(text)
}

/// Zones that come to fewer sites than were asked for.
pub(super) fn below_fewest(answer: &Replanned) -> Option<String> {
    let of_zone = |of: &BelowFewest| format!("{} {} where {} were asked for", of.zone, of.comes_to, of.fewest);
    let zones: Vec<String> = answer.below_fewest.iter().map(of_zone).collect();
    (!zones.is_empty()).then(|| {
        format!(
            "What is left does not hold the fewest sites, so that the rest is planned with fewer that have every method: {}. \
             Intervals from so few sites are wide.",
            zones.join(", ")
        )
    })
}

/// What is done at begun sites before new ones are begun.
pub(super) fn finished_first(begun: &[BegunSite]) -> Option<String> {
    let of_site = |of: &BegunSite| {
        let lacks: Vec<String> = of.lacks.iter().map(|lacks| count_method(&lacks.method, lacks.units.len())).collect();
        format!("{} {} ({}; {})", of.zone, of.site, lacks.join(", "), counted(of.team_dives, "team dive"))
    };
    let sites: Vec<String> = begun.iter().map(of_site).collect();
    (!sites.is_empty()).then(|| {
        format!(
            "Finished first, because that takes fewer dives than new sites: {}. Their days and dives are counted below.",
            sites.join(", ")
        )
    })
}

/// A name as wide as its column, or on a line of its own where it is wider: no letter of it is lost.
pub(super) fn whole(name: &str, wide: usize) -> String {
    if name.chars().count() <= wide { format!("{name:<wide$}") } else { format!("{name}\n{:<wide$}", "") }
}
