//! What a reader who wants to check it needs: assumptions with their origin, variation, replicates, search, errors,
//! warnings.

use super::drawn::drawn;
use super::sentences::origin_word;
use crate::measures::counted;
use crate::planner::expedition::BudgetPlan;
use crate::report::budget::{BudgetReport, simulated, target_words};
use crate::report::digits::{hundredths, significant, trimmed};
use crate::report::words::{count_method, one_of_method, plain as spoken};
use crate::scenario::{Assumption, Origin};

/// `others`: sentences that the page has no room for.
pub fn annex(report: &BudgetReport, others: Vec<String>) -> String {
    let plan = report.answer.scheduled();
    let of_plan =
        |part: fn(&BudgetReport, &BudgetPlan) -> Vec<String>| plan.map_or(Vec::new(), |plan| part(report, plan));
    let parts = [
        ("What the page has no room for", others),
        ("Targets, and what comes of them (margin: 1 where a target is just met, above 1 with room)", of_plan(targets)),
        ("Replicates at each level, and why", of_plan(replicates)),
        ("What was searched", searched(report)),
        ("What simulation changed", report.answer.by_simulation.clone()),
        ("What the result does not speak of", report.answer.not_spoken_of.clone()),
        ("Warnings", report.answer.warnings.clone()),
        ("Assumptions with their origin, by zone and method", assumptions(report)),
        ("Run", run(report)),
    ];
    let parts = parts.into_iter().filter(|(_, lines)| !lines.is_empty());
    let part = |(heading, lines): (&str, Vec<String>)| {
        let lines: Vec<String> = lines.iter().map(|line| format!("- {line}")).collect();
        format!("## {heading}\n\n{}\n", lines.join("\n"))
    };
    format!("# Annex\n\n{}", parts.map(part).collect::<Vec<_>>().join("\n"))
}

fn targets(report: &BudgetReport, plan: &BudgetPlan) -> Vec<String> {
    let of = |margin: &crate::planner::expedition::Margin| {
        let rate = |rate: Option<(f64, f64)>, what: &str| {
            rate.map(|(rate, error)| format!("{what} {} in 100", hundredths(Some(rate), Some(error))))
        };
        let mut told = vec![format!("margin {:.2} by formula", margin.margin)];
        told.extend(simulated(report, margin).map(|told| format!("by simulation {told}")));
        told.extend(rate(margin.false_alarm.filter(|_| margin.seen.is_some()), "rings without a change"));
        let left = margin.not_by_units.map(|share| 100.0 * share);
        told.extend(left.map(|share| {
            format!("{} % of its variance is not reduced by more units at a site", significant(share.round(), 3))
        }));
        let what = if margin.must { "must" } else { "should" };
        format!("{} ({what}): {}.", target_words(report, margin), told.join("; "))
    };
    plan.margins.iter().map(of).collect()
}

fn replicates(report: &BudgetReport, plan: &BudgetPlan) -> Vec<String> {
    // The depths of a place are one replicate.
    let zones = drawn(report, plan).into_iter().map(|of| match of.zones[..] {
        [zone] => format!("{zone} {}", counted(of.sites, "site")),
        _ => format!("{} {} of both depths", of.zones.join(" and "), counted(of.sites, "place")),
    });
    let zones: Vec<String> = zones.collect();
    let mut lines = vec![format!(
        "{}: the replicates of every test and interval; each zone tells its own variance, and degrees of freedom are \
         Satterthwaite's.",
        zones.join(", ")
    )];
    lines.extend(plan.site_set.iter().map(|task| {
        let needs = if task.needs < task.units {
            format!("{} would meet its targets, the rest fits into the same dives", task.needs)
        } else {
            "with fewer, and these sites, its targets are missed, or missed by more".into()
        };
        format!("{} at each site: {needs}.", count_method(&task.method, task.units))
    }));
    lines
}

fn searched(report: &BudgetReport) -> Vec<String> {
    let searched = &report.answer.searched;
    let mut lines = vec![format!(
        "{} (all lists of work at a site to which nothing can be added without one more team dive, times all numbers of \
         sites of each zone), in {} of dimensions and places; {} were worked out one by one, bounds ruled out the others.",
        counted(searched.designs as usize, "design"),
        counted(searched.combinations, "combination"),
        searched.worked_out
    )];
    lines.extend(searched.left_out.clone());
    lines
}

fn assumptions(report: &BudgetReport) -> Vec<String> {
    let methods = &report.scenario.methods;
    let methods: Vec<(String, String)> =
        methods.iter().map(|method| (spoken(method.kind.own_name()), one_of_method(method.kind.own_name()))).collect();
    let zones: Vec<&str> = report.scenario.zones.iter().map(|zone| zone.name.as_str()).collect();
    // A zone or method before a colon; a method is named within the words too. What is of neither stands first.
    let place = |of: &Assumption| {
        let group = of.about.split_once(": ").map(|(group, _)| group);
        let zone = group.and_then(|group| zones.iter().position(|zone| *zone == group));
        let method = || {
            let is_of = |(name, one): &(String, String)| group == Some(name) || of.about.contains(one.as_str());
            methods.iter().position(is_of).map(|method| (2, method))
        };
        zone.map(|zone| (1, zone)).or_else(method).unwrap_or((0, 0))
    };
    let mut told: Vec<&Assumption> = report.assumptions.iter().filter(|of| is_used(report, of)).collect();
    told.sort_by(|one, other| (place(one), &one.about).cmp(&(place(other), &other.about)));
    let mut lines: Vec<String> = Vec::new();
    let mut said: Vec<&Assumption> = Vec::new();
    for &of in &told {
        if said.iter().any(|known| is_same_default(known, of)) {
            continue;
        }
        let alike = told.iter().filter(|other| is_same_default(of, other));
        let groups: Vec<&str> = alike.filter_map(|other| Some(other.about.split_once(": ")?.0)).collect();
        let about = match of.about.split_once(": ") {
            Some((_, what)) if groups.len() > 1 => format!("{}: {what}", groups.join(", ")),
            _ => of.about.clone(),
        };
        lines.push(format!("{about}: {} ({})", of.value, origin_word(&of.origin)));
        said.push(of);
    }
    // Those in one line with another are not left out.
    let left_out = report.assumptions.len() - told.len();
    if left_out > 0 {
        lines.push(format!(
            "Left out here: {} that nobody wrote, nil or not used by this plan; budget.json has all.",
            counted(left_out, "default")
        ));
    }
    lines
}

/// Whether two are one default of several zones or methods: these stand in one line.
fn is_same_default(one: &Assumption, other: &Assumption) -> bool {
    let what = |of: &Assumption| of.about.split_once(": ").map(|(_, what)| what.to_owned());
    let is_default = one.origin == Origin::Assumed && one.value.ends_with("(default)");
    is_default
        && what(one).is_some()
        && (what(one), &one.value, &one.origin) == (what(other), &other.value, &other.origin)
}

/// Whether a number does something in the plan: not a default that is nil, nor one that the plan chooses or no target needs.
fn is_used(report: &BudgetReport, of: &Assumption) -> bool {
    const NIL: [&str; 6] = ["none (", "0 (", "0 %", "0 min", "0 points", "they live alone"];
    let is_default = of.origin == Origin::Assumed && of.value.ends_with("(default)");
    let is_nil = NIL.iter().any(|nil| of.value.starts_with(nil));
    // The plan chooses the sites of a visit; growth is that of one indicator.
    let is_chosen = of.about.ends_with("sites surveyed at a visit");
    let of_age = of.about.contains("index of age")
        && !report.expedition.targets.iter().any(|target| target.indicator.contains("age"));
    !(is_default && (is_nil || is_chosen || of_age))
}

fn run(report: &BudgetReport) -> Vec<String> {
    let test = &report.scenario.test;
    vec![
        format!("reefwright {}, seed {}: the same scenario gives the same numbers.", report.version, report.seed),
        format!(
            "Variances in closed form from the components of the scenario, plans confirmed by simulation of fresh virtual \
             surveys ({}, alpha {}); of a rate p in n surveys the standard error is the root of p (1 - p) / n.",
            spoken(test.kind.name()),
            trimmed(test.alpha, 4)
        ),
        "Published values that were used: proposal.bib.".into(),
    ]
}
