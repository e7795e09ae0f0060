use super::answer::{self, doubts};
use super::arguments::Shared;
use super::budget::nothing;
use super::failure::Failure;
use super::files::{load_file, print};
use crate::budget::diving::BANNER;
use crate::engine::Plan;
use crate::planner::expedition::never_fits;
use crate::scenario::{Assumption, Doubt, Loaded, Origin, check_law, wrapped};
use crate::survey::{MethodKind, MethodSpec};
use clap::Args;
use std::path::PathBuf;

/// Is a scenario right, and which of its numbers are only assumed?
#[derive(Debug, Args)]
pub struct Check {
    /// The scenario, TOML or (ending in .json) JSON
    pub file: PathBuf,
}

/// `check`: valid or not, and the numbers by origin, worst first.
pub fn run(arguments: &Check, shared: &Shared) -> Result<(), Failure> {
    let loaded = load_file(&arguments.file)?;
    check_law(&loaded)?;
    let counts_colonies = |method: &MethodSpec| matches!(method.kind, MethodKind::CoralBelt { .. });
    let is_asked = loaded.expedition.is_some() || loaded.study.methods.iter().any(counts_colonies);
    let plan = if is_asked { Some(answer::plan(&loaded)?) } else { None };
    let doubts = doubts(&loaded, plan.as_ref());
    let does_not_fit = plan.as_ref().map_or(Vec::new(), |plan| does_not_fit(&loaded, plan));
    if shared.json {
        let object = serde_json::json!({
            "caution": loaded.expedition.as_ref().map(|_| BANNER),
            "valid": true,
            "scenario": loaded.study,
            "expedition": loaded.expedition,
            "assumptions": loaded.assumptions,
            "expedition_assumptions": loaded.expedition_assumptions,
            "remarks": loaded.remarks,
            "doubts": doubts,
            "does_not_fit": does_not_fit,
        });
        return print(&format!("{object:#}\n"));
    }
    print(&told(&loaded, &doubts, &does_not_fit))
}

/// Work of the expedition that no dive holds, so that nothing can be planned.
fn does_not_fit(loaded: &Loaded, plan: &Plan) -> Vec<String> {
    let Some(expedition) = &loaded.expedition else { return Vec::new() };
    match never_fits(plan, expedition) {
        Ok(misfits) => misfits,
        Err(why) => {
            let error = nothing(loaded, &why);
            error.problems.iter().map(|of| format!("{} ({}). {}", of.message, of.allowed, of.remedy)).collect()
        }
    }
}

/// For the terminal, 80 columns where the words allow.
fn told(loaded: &Loaded, doubts: &[Doubt], does_not_fit: &[String]) -> String {
    // Whatever speaks of dives begins with the caution.
    let caution = loaded.expedition.as_ref().map_or(String::new(), |_| format!("{}\n\n", wrapped(BANNER, 80)));
    let mut out = format!("{caution}{} is valid: {}\n", loaded.name, loaded.study.title);
    for misfit in does_not_fit {
        out.push_str(&format!("\n{}\n", wrapped(&format!("Does not fit into a dive: {misfit}"), 80)));
    }
    for doubt in doubts {
        out.push_str(&format!("\n{}\n", wrapped(&format!("Is it meant? {} {}", doubt.what(), doubt.remedy), 80)));
    }
    for remark in &loaded.remarks {
        out.push_str(&format!("\n{}\n", wrapped(remark, 80)));
    }
    out.push_str(&by_origin(&loaded.assumptions, ""));
    out.push_str(&by_origin(&loaded.expedition_assumptions, "Expedition: "));
    out
}

/// The numbers by origin, worst first.
fn by_origin(assumptions: &[Assumption], before: &str) -> String {
    let mut out = String::new();
    for (rank, title) in TITLES.iter().enumerate() {
        let group = assumptions.iter().filter(|assumption| usize::from(assumption.origin.rank()) == rank);
        let group: Vec<&Assumption> = group.collect();
        if !group.is_empty() {
            out.push_str(&format!("\n{before}{title}\n"));
        }
        // Of an expedition all are minutes, days and people.
        let is_long =
            before.is_empty() && group.len() > MANY_IN_ALL && group.iter().any(|one| one.matter != group[0].matter);
        for of_matter in group.chunk_by(|one, next| !is_long || one.matter == next.matter) {
            if is_long {
                out.push_str(&format!("  -- {}\n", of_matter[0].matter.title()));
            }
            // Where several numbers come from the same words, the words stand once, below them.
            for same in of_matter.chunk_by(|one, next| one.origin == next.origin) {
                for about in same.chunk_by(|one, next| subject(one).is_some() && subject(one) == subject(next)) {
                    out.push_str(&lines(about));
                }
                out.push_str(&words(&same[0].origin));
            }
        }
    }
    out
}

/// In the order of `Origin::rank`.
const TITLES: [&str; 4] =
    ["Assumed (measure these first, from the top)", "In your own words", "Published", "From a pilot"];

/// More numbers of one origin than these are told in groups, by what they are about.
const MANY_IN_ALL: usize = 8;

/// From so many numbers on what they are about stands once, above them.
const MANY: usize = 4;

/// What a number is about, where more than one may be about it: "outer edge, coral_grouper", "30 x 2 m fish belt".
fn subject(assumption: &Assumption) -> Option<&str> {
    assumption.about.split_once(": ").map(|(subject, _)| subject)
}

/// Numbers about one thing: few a line each, many together under its name.
fn lines(about: &[&Assumption]) -> String {
    let name = subject(about[0]).filter(|_| about.len() >= MANY);
    let Some(name) = name else { return about.iter().map(|assumption| line(assumption)).collect() };
    let told = |assumption: &&Assumption| {
        let what = assumption.about.split_once(": ").map_or("", |(_, what)| what);
        format!("{what}: {}", assumption.value)
    };
    let told: Vec<String> = about.iter().map(told).collect();
    format!("  {name}\n{}", indented(&told.join("; ")))
}

fn line(assumption: &Assumption) -> String {
    let line = format!("  {:<45} {}", assumption.about, assumption.value);
    if line.chars().count() <= 80 {
        return format!("{line}\n");
    }
    format!("  {}\n{}", assumption.about, indented(&assumption.value))
}

fn words(origin: &Origin) -> String {
    match origin {
        Origin::MyWords(text) | Origin::Published(text) | Origin::Pilot(text) => indented(text),
        Origin::Assumed => String::new(),
    }
}

fn indented(text: &str) -> String {
    wrapped(text, 74).lines().map(|line| format!("      {line}\n")).collect()
}
