//! Chances of the expedition as a whole, what is in hand when it is cut short, and cylinders, as text.

use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, Choice, Joint, Odds, SharedAlpha};
use crate::report::digits::{hundredths, significant};
use crate::report::terminal::paragraph;
use crate::report::words::{method_words, plain as spoken};

/// What the tests of a plan give together: a line each.
pub fn together(text: &mut String, report: &BudgetReport, plan: &BudgetPlan) {
    let lines = together_lines(report, plan);
    for line in &lines {
        paragraph(text, line, "  ");
    }
    if !lines.is_empty() {
        text.push('\n');
    }
}

/// The same lines, for the page too.
pub fn together_lines(report: &BudgetReport, plan: &BudgetPlan) -> Vec<String> {
    let mut lines = Vec::new();
    let Some(joint) = &plan.joint else { return lines };
    let musts = joint.musts_seen.filter(|musts| joint.all_seen.is_none_or(|all| all.tests > musts.tests));
    for (what, of) in [("All musts that are changes", musts), ("All changes", joint.all_seen)] {
        lines.extend(of.map(|of| format!("{what} ({}) are seen in one expedition {}.", of.tests, chance(&of))));
    }
    let any = joint.any_false_alarm;
    lines.extend(any.map(|any| format!("When nothing changed, any of {} tests rings {}.", any.tests, chance(&any))));
    lines.extend(joint.shared_alpha.as_ref().map(|shared| shared_alpha(report, shared)));
    if !lines.is_empty() && !joint.drawn_independently.is_empty() {
        let names: Vec<String> = joint.drawn_independently.iter().map(|name| spoken(name)).collect();
        lines.push(format!(
            "Known by components alone, and so drawn independently of all others, whatever they share on a reef: {}.",
            names.join(", ")
        ));
    }
    lines
}

fn shared_alpha(report: &BudgetReport, shared: &SharedAlpha) -> String {
    let of = |(name, now, then): &(String, f64, f64)| {
        format!("{} {:.0} (now {:.0})", spoken(name), 100.0 * then, 100.0 * now)
    };
    let seen: Vec<String> = shared.seen.iter().map(of).collect();
    format!(
        "To keep that under {} in 100 test each at {} in 100 (alpha / {}, Bonferroni; Holm's steps see no less). Seen then, \
         by formula, in 100: {}.",
        significant(100.0 * report.scenario.test.alpha, 2),
        significant(100.0 * shared.alpha, 2),
        shared.tests,
        seen.join(", ")
    )
}

/// "61 (1) in 100 by simulation (58 if they were independent, 45 to 70 whatever they share)"
fn chance(joint: &Joint) -> String {
    let (value, error) = joint.chance;
    format!(
        "{} in 100 by simulation ({:.0} if they were independent, {:.0} to {:.0} whatever they share)",
        hundredths(Some(value), Some(error)),
        100.0 * joint.if_independent,
        100.0 * joint.bounds.0,
        100.0 * joint.bounds.1
    )
}

/// Said beside the chance of both visits.
pub const BOTH_VISITS: &str = "Only sites that are done at both visits tell a change. Both visits: the chance of so many days \
    twice, were the second expedition like the first and their weather independent (the product).";

/// What there is after each day, and site sets that meet the musts early or all targets together.
pub fn season(text: &mut String, report: &BudgetReport) {
    let Some(season) = &report.answer.season else { return };
    let zones: Vec<&str> = report.scenario.zones.iter().map(|zone| zone.name.as_str()).collect();
    let shown = |margin: Option<f64>| margin.map_or("-".to_owned(), |margin| format!("{margin:.2}"));
    let two = season.in_hand.iter().any(|day| day.chance_at_both_visits.is_some());
    let both = if two { "   both visits" } else { "" };
    paragraph(
        text,
        &format!(
            "In hand if the expedition ends after so many days, in the planned order of sites ({}): weakest margins, by formula",
            zones.join(" + ")
        ),
        "",
    );
    *text += &format!("{:>4} {:>16} {:>8} {:>8} {:>8}{both}\n", "days", "sites", "musts", "all", "chance");
    for day in &season.in_hand {
        let both = day.chance_at_both_visits.map_or(String::new(), |chance| format!("   {chance:>11.2}"));
        let sites: Vec<String> = day.sites.iter().map(u16::to_string).collect();
        *text += &format!(
            "{:>4} {:>16} {:>8} {:>8} {:>8}{both}\n",
            day.days,
            sites.join(" + "),
            shown(day.weakest_must),
            shown(day.weakest),
            shown(day.chance)
        );
    }
    if two {
        paragraph(text, BOTH_VISITS, "");
    }
    text.push('\n');
    choices(text, report, &season.choices);
}

fn choices(text: &mut String, report: &BudgetReport, choices: &[Choice]) {
    if choices.is_empty() {
        return;
    }
    paragraph(text, &choices_head(report), "");
    *text += &format!(
        "{:<22} {:>5} {:>11} {:>7}  {:>5} {:>11} {:>7}\n",
        "units", "musts", "chance", "book", "all", "chance", "book"
    );
    for choice in choices {
        let units: Vec<String> = choice.units.iter().map(u8::to_string).collect();
        let musts = odds(choice.musts.as_ref());
        *text += &format!("{:<22} {musts}  {}\n", units.join(", "), odds(choice.all.as_ref()));
    }
    text.push('\n');
}

/// What the rows of choices are.
pub fn choices_head(report: &BudgetReport) -> String {
    let methods: Vec<String> = report
        .answer
        .scheduled()
        .map_or(Vec::new(), |plan| plan.site_set.iter().map(|task| method_words(&task.method)).collect());
    let season = report.answer.season.as_ref();
    let guess =
        if season.is_some_and(|season| season.spell_is_assumed) { ", a guess: write bad_spell_days" } else { "" };
    format!(
        "Musts early or all together: units at a site ({}), days until the musts are met and until all targets are, and the \
         chance of so many of {}, each lost by itself / in spells of {} days{guess}; days to book for the chance you want",
        methods.join(", "),
        counted(report.answer.bookable_days, "day"),
        significant(season.and_then(|season| season.spell_days).unwrap_or(f64::NAN), 2)
    )
}

fn odds(odds: Option<&Odds>) -> String {
    let Some(odds) = odds else { return format!("{:>5} {:>11} {:>7}", "never", "-", "-") };
    let chances = format!("{:.2} / {:.2}", odds.alone, odds.in_spells);
    format!("{:>5} {chances:>11} {:>7}", odds.needs, to_book(odds))
}

/// "12 - 15"
pub fn to_book(odds: &Odds) -> String {
    let shown = |days: Option<usize>| days.map_or("?".to_owned(), |days| days.to_string());
    let (alone, in_spells) = (shown(odds.to_book_alone), shown(odds.to_book_in_spells));
    if alone == in_spells { alone } else { format!("{alone} - {in_spells}") }
}

/// Cylinders as a count.
pub fn cylinders(text: &mut String, report: &BudgetReport) {
    if let Some(line) = cylinders_line(report) {
        paragraph(text, &line, "");
        text.push('\n');
    }
}

pub fn cylinders_line(report: &BudgetReport) -> Option<String> {
    let count = report.answer.cylinders.as_ref()?;
    let not_enough = match count.not_enough.as_slice() {
        [] => String::new(),
        zones => format!(" In {} one does not carry a dive as it is planned (Mind, of diving).", zones.join(", ")),
    };
    Some(format!(
        "Cylinders: {} fills, {} on the fullest day, one for each diver and dive.{not_enough} {}",
        count.fills, count.most_a_day, count.caution
    ))
}

/// For the proposal: the chance that all is seen, and that nothing rings.
pub fn joint_sentence(plan: &BudgetPlan) -> String {
    let Some(joint) = &plan.joint else { return String::new() };
    let times = |of: &Joint| format!("{} times in 100", hundredths(Some(of.chance.0), Some(of.chance.1)));
    let seen = joint
        .all_seen
        .map(|all| format!("All {} changes are seen in one expedition {}, by simulation.", all.tests, times(&all)));
    let rings = joint
        .any_false_alarm
        .map(|any| format!("When nothing changed, any of the {} tests rings {}.", any.tests, times(&any)));
    seen.into_iter().chain(rings).collect::<Vec<_>>().join(" ")
}
