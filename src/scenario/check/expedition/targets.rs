use crate::design::{Asks, Expedition, RECRUIT_DENSITY, RecruitMeasure, Study, Target, Unit};
use crate::scenario::build::changes_of;
use crate::scenario::check::changes::{check_indicator, is_of_colonies};
use crate::scenario::file::{ScenarioFile, TargetTable};
use crate::scenario::problems::Problems;
use crate::survey::MethodKind;

/// Targets for indicators that are read, of changes that are there.
pub fn check(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    if expedition.targets.is_empty() {
        let remedy = "Add a [[target]], such as indicator = \"hard_coral\" with see = true and priority = \"must\".";
        problems.add("target", "nothing is asked of the expedition", "at least one [[target]]", remedy);
    }
    for (index, (target, table)) in expedition.targets.iter().zip(&file.target).enumerate() {
        let path = format!("target[{index}]");
        if !check_indicator(study, &target.indicator, &format!("{path}.indicator"), problems) {
            continue;
        }
        if is_cover(study, &target.indicator) && !study.methods.iter().any(|method| reads_covers(&method.kind)) {
            let remedy = "Add a [[method.point_intercept]], [[method.line_intercept]], [[method.photo_belt]] or \
                          [[method.photo_quadrats]].";
            let message = format!("no method reads {}", target.indicator);
            problems.add(&format!("{path}.indicator"), message, "nothing reads it", remedy);
            continue;
        }
        check_change(study, table, &path, problems);
        let same = |earlier: &&Target| {
            earlier.indicator == target.indicator
                && std::mem::discriminant(&earlier.asks) == std::mem::discriminant(&target.asks)
                && (!matches!(target.asks, Asks::SeeChange(_)) || earlier.asks == target.asks)
        };
        if expedition.targets[..index].iter().any(|earlier| same(&earlier)) {
            let message = format!("the same is asked of {} twice", target.indicator);
            problems.add(&path, message, "asked above", "Keep the stricter of the two.");
        }
    }
}

/// Whether it is the cover of a kind of bottom.
fn is_cover(study: &Study, indicator: &str) -> bool {
    study.unit_of(indicator) == Unit::Share
        && !is_of_colonies(study, indicator)
        && !study.methods.iter().any(|method| method.serves_by_components(indicator))
}

fn reads_covers(kind: &MethodKind) -> bool {
    match kind {
        MethodKind::PointIntercept { .. }
        | MethodKind::LineIntercept { .. }
        | MethodKind::PhotoBelt { .. }
        | MethodKind::PhotoQuadrats { .. } => true,
        MethodKind::CoralBelt { .. }
        | MethodKind::InvertebrateBelt { .. }
        | MethodKind::RecruitQuadrats { .. }
        | MethodKind::FishBelt { .. }
        | MethodKind::FishPointCount { .. }
        | MethodKind::Components(_) => false,
    }
}

fn check_change(study: &Study, table: &TargetTable, path: &str, problems: &mut Problems) {
    let name = &table.indicator;
    let of_change = format!("{path}.change");
    if table.see != Some(true) {
        if table.power.is_some() {
            let message = "how often a change shall be seen is told, but not that it shall be seen";
            let remedy = "Write see = true instead of a half-width or an error, or take power out.";
            problems.add(&format!("{path}.power"), message, "needs see = true", remedy);
        }
        if table.change.is_some() {
            let message = "which change is told, but not that it shall be seen";
            problems.add(&of_change, message, "needs see = true", "Write see = true, or take change out.");
        }
        return;
    }
    let see = format!("{path}.see");
    if !study.question.tests() {
        let message = "one visit has no change to see";
        let remedy = "Write half_width_points, half_width or cv_percent instead, or ask question = \
                      \"between_these_visits\" with a [[change]].";
        return problems.add(&see, message, "not with question = \"status\"", remedy);
    }
    let number = changes_of(study, name).len();
    match (number, table.change.map(|change| change.get())) {
        (0, _) => {
            let moves_with = match study.recruits_of(name) {
                Some(measure) if measure != RecruitMeasure::Density => Some(RECRUIT_DENSITY),
                _ => is_of_colonies(study, name).then_some("hard_coral"),
            };
            let remedy = match moves_with {
                Some(other) => format!("It moves with {other}: ask for its half-width, or for the change of {other}."),
                None => format!("Add [[change]] with indicator = \"{name}\", from and to, or ask for a half-width."),
            };
            problems.add(&see, format!("there is no change of {name} to see"), "needs a [[change]]", remedy);
        }
        (2.., None) => {
            let message = format!("there are {number} changes of {name}, and which shall be seen is not told");
            let remedy = "Write change = 1 for the first of them in this file, 2 for the second ...";
            problems.add(&of_change, message, format!("1 to {number}"), remedy);
        }
        (_, Some(which)) if which > number => {
            let message = format!("there is no change {which} of {name}");
            let remedy = "The [[change]] tables of this indicator are counted from 1 in the order of the file.";
            problems.add(&of_change, message, format!("at most {number}"), remedy);
        }
        _ => {}
    }
}
