//! The sheet on which one fish belt or point count is written down.

use super::form::Form;
use crate::design::{FishGroup, Study};
use crate::report::digits::trimmed;
use crate::report::words::plain;
use crate::survey::swim::{CountingRule, FishCount};
use crate::survey::{Dimensions, MethodKind};

/// Classes of length that have a column; longer fish are written with their length in the notes.
const MOST_CLASSES: usize = 8;
/// Rows for fish that nobody thought of.
const SPARE_ROWS: usize = 6;

/// Rules, classes and one row for each group.
pub fn fill(form: &mut Form, study: &Study, kind: &MethodKind, dimensions: Dimensions) {
    let Some(count) = kind.fish_count() else { return };
    form.rules.extend(rules(kind, dimensions));
    form.rules.push(
        "Fish before anything else is done at the site; look far before near, and every fish once. Do not wait for fish, do not \
         follow them."
            .into(),
    );
    let groups = groups(study);
    let classes = classes(count, &groups);
    let notes = "other lengths, cm; notes".to_owned();
    form.columns = std::iter::once("fish".to_owned()).chain(classes).chain([notes]).collect();
    let name = |group: &&FishGroup| {
        let back = if group.hides { " (way back)" } else { "" };
        format!("{}{back}", plain(&group.name))
    };
    form.rows = groups.iter().map(name).chain(vec![String::new(); SPARE_ROWS]).collect();
}

fn rules(kind: &MethodKind, dimensions: Dimensions) -> Vec<String> {
    let mut rules = Vec::new();
    match (kind, dimensions) {
        (MethodKind::FishBelt { rule, way_back, .. }, Dimensions::FishBelt { length_m, width_m, swim_minutes }) => {
            let counted = match rule {
                CountingRule::WholeSwim => "every fish that is in the belt at any moment of the swim".to_owned(),
                CountingRule::MovingWindow { depth_m } => {
                    format!("every fish in the {} m ahead, stretch by stretch", trimmed(*depth_m, 1))
                }
                CountingRule::Abreast => "every fish that crosses the line abreast of the diver".to_owned(),
            };
            rules.push(format!(
                "Belt of {} x {} m, {} m to each side, swum at constant speed, the tape laid behind: {} minutes are asked for. \
                 Counted: {counted}.",
                trimmed(length_m, 2),
                trimmed(width_m, 2),
                trimmed(0.5 * width_m, 2),
                trimmed(swim_minutes, 1)
            ));
            rules.extend(way_back.map(|back| {
                format!(
                    "On the way back, {} m wide: fish that hide, in holes and under ledges.",
                    trimmed(back.width_m, 2)
                )
            }));
        }
        (MethodKind::FishPointCount { whole_period, .. }, Dimensions::FishPointCount { radius_m, count_minutes }) => {
            let counted = if *whole_period {
                "every fish that is in the circle at any moment"
            } else {
                "what is in the circle at one moment, group by group"
            };
            rules.push(format!(
                "Circle of {} m radius, {} minutes are asked for. Counted: {counted}.",
                trimmed(radius_m, 2),
                trimmed(count_minutes, 1)
            ));
        }
        _ => {}
    }
    rules
}

/// "10-15": from the class of the smallest fish on.
fn classes(count: &FishCount, groups: &[&FishGroup]) -> Vec<String> {
    let Some(classes) = count.lengths.classes else { return vec!["lengths, cm".into()] };
    let smallest = groups.iter().map(|group| group.spec.lengths.mean_cm).fold(f64::INFINITY, f64::min);
    let from = if smallest.is_finite() { 0.5 * smallest } else { 0.0 };
    let all = classes.between(from, f64::INFINITY).take(MOST_CLASSES);
    all.map(|class| format!("{}-{} cm", trimmed(class.low_cm, 1), trimmed(class.high_cm, 1))).collect()
}

/// Groups of all zones, each once.
fn groups(study: &Study) -> Vec<&FishGroup> {
    let mut all: Vec<&FishGroup> = Vec::new();
    for group in study.zones.iter().flat_map(|zone| &zone.fish) {
        if !all.iter().any(|known| known.name == group.name) {
            all.push(group);
        }
    }
    all
}
