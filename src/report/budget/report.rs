use crate::budget::diving::BANNER;
use crate::design::{Expedition, Study};
use crate::measures::counted;
use crate::planner::expedition::BudgetAnswer;
use crate::scenario::{Assumption, Loaded, PAIRS_AS_LISTED};

/// All that a budget shows, whatever its form.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetReport {
    pub title: String,
    pub version: String,
    pub seed: u64,
    /// Stands first in every form.
    pub caution: &'static str,
    pub answer: BudgetAnswer,
    /// The study that the expedition serves.
    pub scenario: Study,
    pub expedition: Expedition,
    /// Of study and expedition, worst origin first.
    pub assumptions: Vec<Assumption>,
    /// The scenario as the user wrote it.
    pub scenario_text: String,
}

impl BudgetReport {
    pub fn new(loaded: &Loaded, expedition: &Expedition, answer: BudgetAnswer, seed: u64) -> Self {
        let mut assumptions = [&loaded.assumptions[..], &loaded.expedition_assumptions[..]].concat();
        // Pairs that were not told are those of the plan, not as the divers are listed.
        if let Some(pairing) = &answer.pairing {
            for of in assumptions.iter_mut().filter(|of| of.about == PAIRS_AS_LISTED) {
                let pairs: Vec<String> =
                    pairing.pairs.iter().map(|[one, other]| format!("{one} and {other}")).collect();
                (of.about, of.value) = ("pairs, not told".into(), pairs.join(", "));
            }
        }
        assumptions.sort_by(|one, other| one.origin.cmp(&other.origin));
        Self {
            title: loaded.study.title.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            seed,
            caution: BANNER,
            answer,
            scenario: loaded.study.clone(),
            expedition: expedition.clone(),
            assumptions,
            scenario_text: loaded.text.clone(),
        }
    }

    /// The name of a file in the folder; those of the rest of an expedition begin with that.
    pub fn file(&self, name: &str) -> String {
        let rest = if self.answer.visit_under_way.is_some() { "rest_" } else { "" };
        format!("{rest}{name}")
    }

    /// "6 divers in 3 pairs, 3 dives a day"
    pub fn crew(&self) -> String {
        let Expedition { divers, pairs, boats, .. } = &self.expedition;
        let several = if boats.number > 1 { format!(", {} boats", boats.number) } else { String::new() };
        format!(
            "{} in {}{several}, {} a day",
            counted(divers.len(), "diver"),
            counted(pairs.len(), "pair"),
            counted(boats.dives_a_day, "dive")
        )
    }
}
