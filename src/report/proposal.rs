//! The paragraph for a proposal: every number in it is from the run; what is not known is left out.

use super::budget::{BudgetReport, joint_sentence, target_words};
use super::digits::significant;
use super::words::{count_method, plain as spoken};
use crate::design::{Places, Sites};
use crate::planner::expedition::BudgetPlan;
use crate::scenario::{Assumption, Origin};

/// As Markdown: what is asked, the design with its reasons, what it takes, what it rests on.
pub fn proposal(report: &BudgetReport) -> String {
    let Some(plan) = report.answer.all.as_ref().or(report.answer.best.as_ref()) else {
        return format!("# {}\n\n> {}\n\nNo plan fits.\n", report.title, report.caution);
    };
    let parts = [
        why(report, plan),
        design(report, plan),
        how_well(report, plan),
        joint_sentence(plan),
        why_not_fewer(plan),
        effort(report, plan),
        annex(&report.assumptions),
        warnings(report),
    ];
    let text: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    format!("# {}\n\n> {}\n\n{}\n", report.title, report.caution, text.join("\n\n"))
}

fn why(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let of = |must: bool| {
        let margins = plan.margins.iter().filter(|margin| margin.must == must);
        margins.map(|margin| target_words(report, margin)).collect::<Vec<_>>().join("; ")
    };
    let (musts, others) = (of(true), of(false));
    let musts = if musts.is_empty() { String::new() } else { format!("The survey must tell: {musts}.") };
    let others = if others.is_empty() { String::new() } else { format!("It should tell: {others}.") };
    [musts, others].join(" ").trim().to_owned()
}

fn design(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let zones: Vec<String> = plan.zones.iter().map(|zone| format!("{} {}", zone.zone, zone.sites)).collect();
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    let units = plan.site_set.iter().map(|task| {
        let of = if task.dimensions.is_empty() { String::new() } else { format!(" ({})", task.dimensions) };
        format!("{}{of}", count_method(&task.method, task.units))
    });
    let units: Vec<String> = units.collect();
    let visits = &report.scenario.visits;
    let occasions = if report.scenario.question.visits() == 2 {
        let places = match plan.places.unwrap_or(visits.places) {
            Places::SameMarks => "at the same marks",
            Places::NewPlaces => "at new places",
        };
        let sites = if visits.sites == Sites::Same { "the same sites" } else { "sites drawn anew" };
        let years = if visits.years_apart == 1.0 {
            "one year"
        } else {
            &format!("{} years", significant(visits.years_apart, 3))
        };
        format!(" It is done twice, {years} apart, on {sites}, {places}.")
    } else {
        String::new()
    };
    format!(
        "We survey {sites} sites drawn at random in {} ({}). At each site we lay {}.{occasions}",
        if plan.zones.len() == 1 { "one zone".into() } else { format!("{} zones", plan.zones.len()) },
        zones.join(", "),
        units.join(", ")
    )
}

fn how_well(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let test = &report.scenario.test;
    let seen = plan.margins.iter().filter_map(|margin| {
        let (seen, error) = margin.seen?;
        let rings =
            margin.false_alarm.map_or(String::new(), |(rate, _)| format!("; without a change it rings in {rate:.3}"));
        Some(format!(
            "{} is seen with probability {seen:.2} (simulation, standard error {error:.3}, seed {}){rings}",
            target_words(report, margin),
            report.seed
        ))
    });
    let seen: Vec<String> = seen.collect();
    if seen.is_empty() {
        return String::new();
    }
    format!("By {} at alpha {}, {}.", test.kind.name().replace('_', " "), test.alpha, seen.join("; "))
}

/// What is lost with fewer sites and gained with more.
fn why_not_fewer(plan: &BudgetPlan) -> String {
    let told = plan.margins.iter().filter_map(|margin| {
        let [as_it_is, fewer, more] = margin.seen_by_sites?;
        Some(format!(
            "{}: {fewer:.2} with a quarter fewer sites, {as_it_is:.2} as planned, {more:.2} with a quarter more (by formula)",
            spoken(&margin.indicator)
        ))
    });
    let told: Vec<String> = told.collect();
    let stuck = plan.margins.iter().filter(|margin| margin.not_by_units > 0.5).map(|margin| {
        format!(
            " {} % of the error of {} cannot be reduced by more units at a site.",
            significant(100.0 * margin.not_by_units, 2),
            spoken(&margin.indicator)
        )
    });
    if told.is_empty() {
        String::new()
    } else {
        format!("Why not fewer: {}.{}", told.join("; "), stuck.collect::<String>())
    }
}

fn effort(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let divers = report.expedition.divers.len();
    let book = report.answer.book.first().map_or(String::new(), |book| {
        let ask = book.to_book.map_or(String::new(), |days| format!("; we therefore ask for {days} days for diving"));
        format!(
            " With the days lost that must be expected the plan is finished with a chance of {:.2}{ask}.",
            book.chance
        )
    });
    format!(
        "The effort is {} days for diving, {} pair-dives and {} person-dives for {divers} divers.{book} It is no dive plan; \
         the diving officer decides every dive.",
        plan.days,
        plan.pair_dives,
        2 * plan.pair_dives
    )
}

/// Numbers that were assumed rather than measured, for the annex.
fn annex(assumptions: &[Assumption]) -> String {
    let assumed: Vec<String> = assumptions
        .iter()
        .filter(|assumption| assumption.origin == Origin::Assumed)
        .map(|assumption| format!("- {}: {}", assumption.about, assumption.value))
        .collect();
    if assumed.is_empty() {
        String::new()
    } else {
        format!("## Assumed rather than measured\n\n{}", assumed.join("\n"))
    }
}

/// Warnings are never left out.
fn warnings(report: &BudgetReport) -> String {
    let warnings: Vec<String> = report.answer.warnings.iter().map(|warning| format!("- {warning}")).collect();
    if warnings.is_empty() { String::new() } else { format!("## Warnings\n\n{}", warnings.join("\n")) }
}
