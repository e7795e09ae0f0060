//! What was planned of an expedition and what came, as text and as JSON.

use super::budget::{VISIT_MONEY, grouped, part_words, visit_money};
use super::digits::{significant, with_error};
use super::replan::whole;
use super::terminal::paragraph;
use super::words::{method_words, plain as spoken};
use crate::budget::diving::BANNER;
use crate::design::{Study, Unit};
use crate::measures::counted;
use crate::planner::expedition::{Finished, PlannedAndCame, Reached, VisitItem, VisitMoney};
use serde::Serialize;

/// Width of the names of what was planned and what came.
const NAME: usize = 58;

/// All that the end of an expedition shows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FinishedReport {
    pub title: String,
    pub version: String,
    pub schema_version: u32,
    /// Stands first in every form.
    pub caution: &'static str,
    #[serde(flatten)]
    pub answer: Finished,
    pub scenario: Study,
}

impl FinishedReport {
    pub fn new(study: &Study, answer: Finished) -> Self {
        Self {
            title: study.title.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            schema_version: super::SCHEMA_VERSION,
            caution: BANNER,
            answer,
            scenario: study.clone(),
        }
    }

    /// One object; shares are 0-1.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self)
            .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string())
    }

    /// Text of at most 80 columns; the caution stands first.
    pub fn terminal(&self, folder: Option<&str>) -> String {
        let mut text = String::new();
        let answer = &self.answer;
        paragraph(&mut text, self.caution, "");
        text.push('\n');
        paragraph(&mut text, &format!("{}, visit {}: what was planned and what came", self.title, answer.visit), "");
        text += &format!("{:<NAME$} {:>9} {:>9}\n", "", "planned", "came");
        let mut line = |name: &str, of: PlannedAndCame| {
            let planned = of.planned.map_or("-".to_owned(), |planned| planned.to_string());
            text += &format!("{} {planned:>9} {:>9}\n", whole(name, NAME), of.came);
        };
        line("days for diving", answer.days);
        line("team dives", answer.team_dives);
        for (zone, sites) in &answer.zones {
            line(&format!("sites, {zone}"), *sites);
        }
        for task in &answer.tasks {
            line(&format!("units of {}", method_words(&task.task)), task.units);
        }
        for task in &answer.tasks {
            let came = task.minutes_a_unit.map_or("-".to_owned(), |minutes| format!("{minutes:.1}"));
            let name = whole(&format!("minutes a unit, {}", method_words(&task.task)), NAME);
            text += &format!("{name} {:>9} {came:>9}\n", format!("{:.1}", task.minutes_a_unit_planned));
        }
        let minutes: f64 = answer.tasks.iter().map(|task| task.minutes).sum();
        text += &format!("{:<NAME$} {:>9} {:>9}\n", "diver minutes on units, in all", "", format!("{minutes:.0}"));
        if let Some(money) = &answer.money {
            text += &self.money(money);
        }
        text.push('\n');
        let head = format!(
            "Half-widths at {:.0} %, and standard errors over means (cv; in brackets how far that error itself may be off, one \
                 standard error, in the same percent), of this visit:",
            100.0 * answer.level
        );
        paragraph(&mut text, &head, "");
        text += &format!(
            "{:<24} {:>5} {:>9} {:>9} {:>9} {:>8} {:>9}\n",
            "", "sites", "mean", "+- plan", "+- came", "cv plan", "cv came"
        );
        for of in &answer.reached {
            text += &self.reached(of);
        }
        text.push('\n');
        let told: [fn(&Reached) -> Option<String>; 3] = [as_written, at_one_depth, why_wide];
        for line in told.iter().flat_map(|line| answer.reached.iter().filter_map(line)) {
            paragraph(&mut text, &format!("- {line}"), "  ");
        }
        if let Some(money) = &answer.money {
            paragraph(&mut text, &format!("{}. {VISIT_MONEY}", visit_money(money)), "");
            text.push('\n');
        }
        paragraph(&mut text, answer.why_no_power, "");
        if let Some(folder) = folder {
            text += &format!("Report: {folder}\n");
        }
        text
    }

    /// What was planned and what was spent, part by part.
    fn money(&self, money: &VisitMoney) -> String {
        let line = |name: &str, planned: Option<f64>, came: f64| {
            let planned = planned.map_or("-".to_owned(), grouped);
            format!("{} {planned:>9} {:>9}\n", whole(name, NAME), grouped(came))
        };
        let of = |item: &VisitItem| {
            let name = format!("  {}", part_words(item.of, item.method.as_deref()));
            line(&name, item.planned.map(|number| number * item.rate), item.spent * item.rate)
        };
        let all = line(&format!("money, {}", money.currency), money.planned, money.spent);
        money.items.iter().map(of).fold(all, |all, line| all + &line)
    }

    fn reached(&self, of: &Reached) -> String {
        let times = if self.scenario.unit_of(&of.indicator) == Unit::Share { 100.0 } else { 1.0 };
        let number = |value: Option<f64>| value.map_or("-".to_owned(), |value| significant(times * value, 3));
        let percent = |cv: Option<f64>| cv.map_or("-".to_owned(), |cv| format!("{:.0} %", 100.0 * cv));
        let came = of.cv.map_or("-".to_owned(), |cv| {
            format!("{} %", with_error(100.0 * cv, of.cv_error.map(|error| 100.0 * error)))
        });
        let row = format!(
            "{} {:>5} {:>9} {:>9} {:>9} {:>8} {:>9}",
            whole(&spoken(&of.indicator), 24),
            of.sites,
            number(of.mean),
            number(of.half_width_planned),
            number(of.half_width),
            percent(of.cv_planned),
            came
        );
        row.trim_end().to_owned() + "\n"
    }
}

/// That fish are told as they were written, where that is not what is there.
fn as_written(of: &Reached) -> Option<String> {
    let over_there = of.written_over_there.filter(|over_there| (over_there - 1.0).abs() > 0.05)?;
    Some(format!(
        "{}: mean and half-widths are as the divers write them; divide by {} to have what is there (by formula, from how they \
         count and how fish behave in the scenario).",
        spoken(&of.indicator),
        significant(over_there, 2)
    ))
}

/// Places that tell nothing of the whole, because they were read at one depth.
fn at_one_depth(of: &Reached) -> Option<String> {
    let number = of.places_at_one_depth;
    (number > 0).then(|| {
        format!(
            "{}: {} {} read at one depth alone and left out: of zones at the same places only whole places count.",
            spoken(&of.indicator),
            counted(number, "place"),
            if number == 1 { "was" } else { "were" }
        )
    })
}

/// From this many times the planned number of standard errors on it is said why an interval reaches so far (a judgement).
const WIDE: f64 = 1.25;

/// Why the interval that came is wide, where that comes of few sites and not of what they differ by.
fn why_wide(of: &Reached) -> Option<String> {
    let ((zone, sites), name) = (&of.fewest_sites, spoken(&of.indicator));
    let at = format!("{zone} has {}", counted(*sites, "site"));
    let Some((reach, df)) = of.reach.zip(of.degrees_of_freedom) else {
        return (of.half_width.is_none() && *sites < 2)
            .then(|| format!("{name}: {at}, and with fewer than two in a zone no interval can be told."));
    };
    let planned = of.reach_planned.zip(of.degrees_of_freedom_planned).filter(|(planned, _)| reach > WIDE * planned)?;
    Some(format!(
        "{name}: {at}, so that the interval rests on {} degrees of freedom and reaches {} of its standard errors (t), where \
         {} degrees of freedom and {} were planned: few sites make it wide, besides what they differ by.",
        significant(df, 2),
        significant(reach, 3),
        significant(planned.1, 2),
        significant(planned.0, 3)
    ))
}
