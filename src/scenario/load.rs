use super::doubt::Doubt;
use super::ledger::Ledger;
use super::outline::Outline;
use super::problem::ScenarioError;
use super::problems::{Problems, problem_at};
use super::{Assumption, Origin};
use super::{build, check, read};
use crate::design::{Expedition, Study};
use std::collections::BTreeMap;

/// A scenario that was read, checked and turned into a study.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// Name of the file, for messages.
    pub name: String,
    /// The file as it was written.
    pub text: String,
    pub study: Study,
    /// Where the file has one.
    pub expedition: Option<Expedition>,
    /// One for each number that matters, worst origin first.
    pub assumptions: Vec<Assumption>,
    /// The same for the expedition, which only a budget uses.
    pub expedition_assumptions: Vec<Assumption>,
    /// What is right but not as it may seem, in sentences.
    pub remarks: Vec<String>,
    /// What is allowed and hardly meant, in the order of the file.
    pub doubts: Vec<Doubt>,
    /// Origin of each number by its key (`zone[0].cover_percent`); those filled in are `assumed`.
    pub origins: BTreeMap<String, Origin>,
    outline: Outline,
}

/// Reads a scenario: JSON where the name ends in `.json`, else TOML.
///
/// # Errors
/// Everything that is wrong with it, each with its line, what is allowed and what to write.
pub fn load_text(name: &str, text: &str) -> Result<Loaded, ScenarioError> {
    load_with(name, text, &|_| Err("files cannot be read from here".to_owned()))
}

/// Reads another file that a scenario names (as it is named there); where it cannot be read, why.
pub type ReadFile<'a> = dyn Fn(&str) -> Result<Vec<u8>, String> + 'a;

/// The same of a scenario that may name maps or a list of sites, which `files` reads.
///
/// # Errors
/// Everything that is wrong with it or with those.
pub fn load_with(name: &str, text: &str, files: &ReadFile) -> Result<Loaded, ScenarioError> {
    let read::ReadFile { file, outline } = read::read(name, text)?;
    let mut problems = Problems::new(text, &outline);
    let mut ledger = Ledger::default();
    let study = build::study(&file, files, &mut problems, &mut ledger);
    let mut of_expedition = Ledger::default();
    let expedition = build::expedition(&file, &study, files, &mut problems, &mut of_expedition);
    check::all(&file, &study, expedition.as_ref(), &mut problems);
    let (found, doubted) = problems.into_found();
    if !found.is_empty() {
        return Err(ScenarioError::new(name, text, found));
    }
    let (assumptions, mut origins) = ledger.close();
    let (expedition_assumptions, more) = of_expedition.close();
    origins.extend(more);
    let remarks = check::remarks(&file, &study, expedition.as_ref());
    Ok(Loaded {
        name: name.to_owned(),
        text: text.to_owned(),
        study,
        expedition,
        assumptions,
        expedition_assumptions,
        remarks,
        doubts: Doubt::all(name, text, doubted),
        origins,
        outline,
    })
}

impl Loaded {
    /// Whether a key stands in the file.
    pub fn is_written(&self, path: &str) -> bool {
        self.outline.find(path).is_some_and(|entry| entry.path == path)
    }

    /// An error that only the law of the reef can tell (a spread that cannot be reached ...), at a key of a zone, with
    /// the line and caret of the file. `allowed` is a few words for the caret.
    pub fn error_at(
        &self,
        zone: usize,
        key: &str,
        message: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> ScenarioError {
        self.error_at_path(&format!("zone[{zone}].{key}"), message, allowed, remedy)
    }

    /// The same at any key: `change[0].differs_between_sites_points`.
    pub fn error_at_path(
        &self,
        path: &str,
        message: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> ScenarioError {
        let problem = problem_at(&self.outline, path, message.into(), allowed.into(), remedy.into());
        ScenarioError::new(&self.name, &self.text, vec![problem])
    }

    /// What is hardly meant at a key, found after the file was read.
    pub fn doubt_at(
        &self,
        key: &str,
        message: impl Into<String>,
        usual: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Doubt {
        Doubt::new(&self.name, &self.text, problem_at(&self.outline, key, message.into(), usual.into(), remedy.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::{Question, Scope, Sides, TestKind};
    use crate::scenario::defaults;

    const LEAST: &str = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 8\ncover_percent = 28\n\
        [[method.point_intercept]]\n[[change]]\nfrom = 28\nto = 22\n";

    #[test]
    fn a_minimal_scenario_is_one_zone_one_method_one_change() {
        let study = load_text("least.toml", LEAST).unwrap_or_else(|error| panic!("{error}")).study;
        assert_eq!((study.scope, study.question), (Scope::AllSuchReefs, Question::BetweenTheseVisits));
        assert_eq!((study.test.kind, study.test.sides), (TestKind::PairedT, Sides::Two));
        assert_eq!((study.test.alpha, study.test.seen), (0.05, 0.8));
        assert_eq!(study.zones[0].sites, [8]);
        assert_eq!(study.zones[0].weight, 1.0);
        assert!(study.zones[0].reef_is_a_range);
        assert_eq!(study.methods[0].units, (1..=12).collect::<Vec<_>>());
        assert_eq!((study.changes[0].from, study.changes[0].to), (0.28, 0.22));
    }

    #[test]
    fn the_demo_loads() {
        let loaded = load_text("sorrel_atolls.toml", crate::scenario::DEMO).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(loaded.study.zones.len(), 3);
        assert!(loaded.study.zones.iter().all(|zone| zone.categories.len() == 8));
        for zone in &loaded.study.zones {
            let least = defaults::least_between_sites_sd(zone.cover, &zone.reef, zone.site_year_sd);
            assert!(zone.between_sites_sd > least, "{}: {least}", zone.name);
        }
        let ranks: Vec<u8> = loaded.assumptions.iter().map(|assumption| assumption.origin.rank()).collect();
        assert!(ranks.is_sorted() && ranks.last() > ranks.first());
    }

    #[test]
    fn an_error_of_the_law_has_a_line_and_a_caret() {
        let loaded = load_text("least.toml", LEAST).unwrap_or_else(|error| panic!("{error}"));
        let error = loaded.error_at(0, "cover_percent", "too even", "at least 4.9 points", "Raise it.");
        assert_eq!(error.to_string(), "least.toml, line 4: zone[0].cover_percent: too even");
        assert!(error.render().contains("at least 4.9 points"), "{}", error.render());
    }
}
