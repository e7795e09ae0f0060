//! How to read counts of fish, with the numbers of the scenario: what is counted, what a false change is made of, what is not
//! modelled.

use super::answer::Note;
use super::fish::{parts, quick_parts};
use super::fish_words::{besides, edge, lengths, rule, units};
use super::words::capital;
use crate::design::{FishGroup, Study};
use crate::engine::Plan;
use crate::survey::fish_sheet::{ClassValue, WidthReader};
use crate::survey::swim::CountingRule;
use crate::survey::{Dimensions, MethodKind};
use crate::theory::fish::BiasParts;
use rayon::prelude::*;

/// False changes that move nothing by more than this are not told.
const LEAST: f64 = 0.005;

pub fn fish_notes(plan: &Plan) -> Vec<Note> {
    let study = &plan.study;
    let counts = || study.methods.iter().filter(|method| method.kind.fish_count().is_some());
    let mut notes = Vec::new();
    for method in counts() {
        let Some(count) = method.kind.fish_count() else { continue };
        let edge = edge(count);
        let edge = if edge.is_empty() { edge } else { format!("{}. ", capital(&edge)) };
        let text =
            format!("Counted is {}. {edge}{}.{}", rule(&method.kind), capital(&lengths(count)), besides(&method.kind));
        notes.push(Note { about: units(&method.kind), text });
    }
    if notes.is_empty() {
        return notes;
    }
    for method in counts() {
        if let Some(text) = false_changes(study, &method.kind) {
            let dimensions = method.kind.dimensions().first().map_or(String::new(), |of| of.label());
            let name = units(&method.kind);
            let name = name.split(',').next().unwrap_or_default().to_lowercase();
            notes.push(Note { about: format!("False changes in {name}, {dimensions}"), text });
        }
    }
    notes.push(Note { about: "Fish: what amounts are of".into(), text: amounts() });
    notes.push(Note { about: "Fish: what is not modelled".into(), text: not_modelled(study) });
    notes
}

fn amounts() -> String {
    "What is written is a biased number. Half-widths, errors and detectable changes in units of fish are told of what is there: \
     those of what is written, divided by what is written over what is there (where a change is asked about, by the written \
     change over the true one). An error in percent of the mean is the same for both, because it is divided by itself; powers do \
     not change either. Whoever divides a result of the field by a bias needs to know that bias: its own error comes on top."
        .to_owned()
}

fn not_modelled(study: &Study) -> String {
    let mut text = "Not modelled: fish that gather about a diver, or keep away, for minutes on end; fish that learn from visit to \
                    visit, but for what second_visit_ keys of a group tell; feeding, tides and the time of day; species taken for \
                    others; schools too large to be counted. Each can look like a change."
        .to_owned();
    if study.question.visits() == 2 {
        text += " The fish of two visits are different ones: the same marks help as far as sites and patches stay what they are.";
    }
    text
}

/// What a survey that is done otherwise writes of the same fish: for each habit the group on which it tells most.
fn false_changes(study: &Study, kind: &MethodKind) -> Option<String> {
    let dimensions = kind.dimensions().first().copied()?;
    let groups: Vec<&FishGroup> = study.zones.iter().flat_map(|zone| &zone.fish).collect();
    let told: Vec<String> = habits(kind, dimensions)
        .into_par_iter()
        .filter_map(|habit| {
            let ratio = |group: &FishGroup, parts: Parts| {
                let (was, is) = (parts((kind, dimensions), group)?, parts((&habit.kind, habit.dimensions), group)?);
                Some((habit.measure)(&is) / (habit.measure)(&was))
            };
            let off = |ratio: f64| libm::fabs(libm::log(ratio));
            // Fish that turn take long: they are compared quickly, and only the one that moves most is worked out.
            let all = groups.iter().filter_map(|&group| Some((group, ratio(group, quick_parts)?)));
            let (group, _) = all.max_by(|one, other| off(one.1).total_cmp(&off(other.1)))?;
            let ratio = ratio(group, parts)?;
            (off(ratio) > LEAST).then(|| {
                let more =
                    format!("{:.0} % {}", 100.0 * (ratio - 1.0).abs(), if ratio > 1.0 { "more" } else { "less" });
                format!("{}, {} is told {more}", habit.words, (habit.what)(&group.name.replace('_', " ")))
            })
        })
        .collect();
    let two_visits = study.question.visits() == 2;
    let when = if two_visits { "at the second visit" } else { "in a survey this one is compared with" };
    let end = if two_visits { " Powers and errors take these habits as the same at both visits." } else { "" };
    (!told.is_empty()).then(|| {
        format!(
            "The ratio of two visits stays that of the reef where the bias stays, their difference does not. The same fish told \
             otherwise (by formula, each for the group on which it tells most): if {when} {}.{end}",
            told.join("; if ")
        )
    })
}

/// The parts of the bias of a group.
type Parts = fn((&MethodKind, Dimensions), &FishGroup) -> Option<BiasParts>;

/// Something that is done otherwise.
struct Habit {
    words: String,
    kind: MethodKind,
    dimensions: Dimensions,
    measure: fn(&BiasParts) -> f64,
    /// "the density of grouper"
    what: fn(&str) -> String,
}

/// How much wider the other survey looks, and how much faster it swims.
const WIDER: f64 = 1.1;
const FASTER: f64 = 0.75;

fn habits(kind: &MethodKind, dimensions: Dimensions) -> Vec<Habit> {
    let density = |words: &str, kind: MethodKind, dimensions| Habit {
        words: words.into(),
        kind,
        dimensions,
        measure: BiasParts::density,
        what: |group| format!("the density of {group}"),
    };
    let mut all = Vec::new();
    match (kind, dimensions) {
        (MethodKind::FishBelt { rule, .. }, Dimensions::FishBelt { length_m, width_m, swim_minutes }) => {
            let faster = Dimensions::FishBelt { length_m, width_m, swim_minutes: FASTER * swim_minutes };
            all.push(density("the belt is swum a quarter faster", kind.clone(), faster));
            let (words, other) = match rule {
                CountingRule::WholeSwim => ("only the 2 m ahead count", CountingRule::default()),
                _ => ("everything counts that is in the belt during the swim", CountingRule::WholeSwim),
            };
            let mut changed = kind.clone();
            if let MethodKind::FishBelt { rule, .. } = &mut changed {
                *rule = other;
            }
            all.push(density(words, changed, dimensions));
        }
        (MethodKind::FishPointCount { whole_period, .. }, _) => {
            let words = if *whole_period { "only one moment counts" } else { "everything counts that comes in" };
            let mut changed = kind.clone();
            if let MethodKind::FishPointCount { whole_period, .. } = &mut changed {
                *whole_period = !*whole_period;
            }
            all.push(density(words, changed, dimensions));
        }
        _ => {}
    }
    let mut wider = kind.clone();
    let mut other_value = kind.clone();
    let mut words = "";
    if let MethodKind::FishBelt { count, .. } | MethodKind::FishPointCount { count, .. } = &mut wider {
        let width = count.width;
        // A lognormal factor: judged distances that are shorter by this share, with their spread in proportion.
        count.width = WidthReader { error: (1.0 + width.error) / WIDER - 1.0, sd: width.sd / WIDER };
    }
    if let MethodKind::FishBelt { count, .. } | MethodKind::FishPointCount { count, .. } = &mut other_value
        && count.lengths.classes.is_some()
    {
        (words, count.lengths.value) = match count.lengths.value {
            ClassValue::UpperLimit => ("classes are taken for their middle", ClassValue::Midpoint),
            _ => ("classes are taken for their upper limit", ClassValue::UpperLimit),
        };
    }
    all.push(density("the edge is taken a tenth too far out", wider, dimensions));
    if !words.is_empty() {
        all.push(Habit {
            words: words.into(),
            kind: other_value,
            dimensions,
            measure: BiasParts::biomass,
            what: |group| format!("the biomass of {group}"),
        });
    }
    all
}
