use super::codes::codes;
use crate::design::{Animal, REST, Study};
use crate::planner::ColoniesOnBelt;
use crate::planner::expedition::SiteTasks;
use crate::reef::Sizes;
use crate::report::budget::BudgetReport;
use crate::report::digits::{significant, trimmed};
use crate::report::words::{count_units, one_of_method, plain, sentence};
use crate::survey::coral_belt::EdgeRule;
use crate::survey::{Dimensions, MethodKind, MethodSpec};
use serde::Serialize;

/// A sheet on which one unit of a method is written down under water.
#[derive(Serialize)]
pub struct Form {
    pub heading: String,
    /// How often to print it, and the dimensions.
    pub copies: String,
    /// How it is done here: rules that must be the same for all.
    pub rules: Vec<String>,
    /// Short codes and what they stand for.
    pub codes: Vec<(String, String)>,
    /// Small boxes with the place that each is for.
    pub boxes: Vec<String>,
    pub columns: Vec<String>,
    /// First cells of the rows; the others are empty.
    pub rows: Vec<String>,
}

/// Rows where no number is given by the method, and the fewest where few colonies are expected.
const BLANK_ROWS: usize = 20;
const LEAST_ROWS: usize = 8;
/// The most boxes or rows of one form: what is longer goes on on a second copy.
const MOST_BOXES: usize = 200;
const MOST_ROWS: usize = 40;

/// One form for each method of the plan.
pub fn forms(report: &BudgetReport) -> Vec<Form> {
    let Some(plan) = report.answer.scheduled() else { return Vec::new() };
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    let of = |task: &SiteTasks| {
        let method = report.scenario.methods.iter().find(|method| method.kind.own_name() == task.method)?;
        let of_unit = sheets_of_unit(task);
        let each = if of_unit > 1 { format!(", {of_unit} sheets each") } else { String::new() };
        let copies = format!(
            "{} at each of {sites} sites{each}: {} copies",
            count_units(method.kind.name(), task.units),
            task.units * sites * of_unit
        );
        let all = method.kind.dimensions();
        let chosen = all.iter().find(|of| of.label() == task.dimensions).or(all.first()).copied();
        let mut form = form(&report.scenario, method, chosen.unwrap_or(Dimensions::Components), copies);
        if let Some(colonies) = &task.colonies {
            form.rules.push(rows_rule(colonies, of_unit));
            form.rows = numbered(colonies.high.clamp(LEAST_ROWS, MOST_ROWS));
        }
        Some(form)
    };
    plan.site_set.iter().filter_map(of).collect()
}

/// Sheets that one unit takes: of a coral belt as many as its colonies need in the mean, where there are most.
fn sheets_of_unit(task: &SiteTasks) -> usize {
    task.colonies.as_ref().map_or(1, |colonies| (colonies.mean.ceil() as usize).div_ceil(MOST_ROWS).max(1))
}

fn rows_rule(colonies: &ColoniesOnBelt, sheets: usize) -> String {
    let most = colonies.high.div_ceil(MOST_ROWS);
    let take = match (sheets, most) {
        (1, 0 | 1) => "these go on on a second sheet".to_owned(),
        (1, most) => format!("have {most} of these sheets at hand for a belt, numbered 1 of {most} and so on"),
        (sheets, most) => format!(
            "take {sheets} of these sheets for a belt, numbered 1 of {sheets} and so on, and have {} more at hand",
            most.saturating_sub(sheets).max(1)
        ),
    };
    // A printed page has room for some twenty rows, and the next for the others.
    let sides = if colonies.high > BLANK_ROWS { ", on both sides of the sheet" } else { "" };
    format!(
        "A row for each colony{sides}: {:.0} on a belt in the mean where there are most ({}), more than {} on 1 belt of 20, by formula: \
         {take}.",
        colonies.mean, colonies.zone, colonies.high
    )
}

fn form(study: &Study, method: &MethodSpec, dimensions: Dimensions, copies: String) -> Form {
    let mut form = Form {
        heading: sentence(&one_of_method(method.kind.own_name())),
        copies,
        rules: Vec::new(),
        codes: Vec::new(),
        boxes: Vec::new(),
        columns: Vec::new(),
        rows: Vec::new(),
    };
    match (&method.kind, dimensions) {
        (_, Dimensions::PointIntercept { length_m, spacing_m }) => {
            form.codes = bottom_codes(study);
            form.rules.push(format!(
                "Line of {} m, a point every {} m from {} m on: a code in every box.",
                trimmed(length_m, 2),
                trimmed(spacing_m, 3),
                trimmed(spacing_m, 3)
            ));
            let points = dimensions.points().unwrap_or(0).min(MOST_BOXES);
            form.boxes = (1..=points).map(|point| place(point as f64 * spacing_m)).collect();
        }
        (_, Dimensions::LineIntercept { length_m }) => {
            form.codes = bottom_codes(study);
            form.rules.push(format!(
                "Line of {} m: a row for each stretch, where it starts, where it ends, its code.",
                trimmed(length_m, 2)
            ));
            form.columns = columns(&["no.", "start, cm", "end, cm", "code", "start, cm", "end, cm", "code"]);
            form.rows = numbered(BLANK_ROWS + 8);
        }
        (_, Dimensions::PhotoBelt { length_m, width_m, points }) => {
            form.rules.push(format!(
                "Strip of {} x {} m; {points} points are read ashore. Photograph the header first, the scale in every frame.",
                trimmed(length_m, 2),
                trimmed(width_m, 2)
            ));
            form.columns =
                columns(&["camera", "first frame", "last frame", "scale", "height above bottom", "missing frames"]);
            form.rows = vec![String::new(); 6];
        }
        (_, Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, .. }) => {
            form.rules.push(format!(
                "{frames} frames along {} m, {points_a_frame} points on each are read ashore. Photograph the header first.",
                trimmed(length_m, 2)
            ));
            form.columns = columns(&["frame", "camera and frame number", "place on the tape, m", "scale", "notes"]);
            form.rows = numbered(frames.min(MOST_ROWS));
        }
        (MethodKind::CoralBelt { belt, classes_m, .. }, Dimensions::CoralBelt { length_m, width_m }) => {
            form.rules.push(format!(
                "Belt of {} x {} m. {}",
                trimmed(length_m, 2),
                trimmed(width_m, 2),
                edge_rule(belt.edge)
            ));
            if let Some(classes) = classes(classes_m) {
                form.rules.push(format!("Classes of the largest diameter: {classes}."));
            }
            form.columns = columns(&[
                "no.",
                "taxon",
                "largest diameter, cm",
                "across it, cm",
                "height, cm",
                "% dead, recent",
                "% dead, old",
                "condition",
            ]);
            form.rows = numbered(BLANK_ROWS);
        }
        (_, Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m }) => {
            form.rules.push(format!(
                "Quadrats of {} x {} cm every {} m along {} m, the first at its start. Hard ground: how many of nine points in \
                 the quadrat lie on hard bottom free of colonies.",
                trimmed(100.0 * quadrat_m, 1),
                trimmed(100.0 * quadrat_m, 1),
                trimmed(every_m, 2),
                trimmed(length_m, 2)
            ));
            form.columns = columns(&["quadrat", "taxa", "under 2 cm", "2 to 4 cm", "hard ground, of 9", "notes"]);
            form.rows = numbered(dimensions.quadrats().unwrap_or(1).min(MOST_ROWS));
        }
        (_, Dimensions::InvertebrateBelt { length_m, width_m }) => {
            let animals = animals(study);
            let classes = animals.iter().map(|animal| animal.spec.sizes.shares().len()).max().unwrap_or(1);
            form.rules.push(format!(
                "Belt of {} x {} m: every animal of the list is counted{}.",
                trimmed(length_m, 2),
                trimmed(width_m, 2),
                if classes > 1 { ", in its class of size" } else { "" }
            ));
            form.rules.extend(animals.iter().filter_map(|animal| class_rule(animal)));
            form.columns = [columns(&["animal"]), counts(classes), columns(&["notes"])].concat();
            form.rows = animals.iter().map(|animal| plain(&animal.name)).chain(vec![String::new(); 8]).collect();
        }
        (MethodKind::FishBelt { .. } | MethodKind::FishPointCount { .. }, _) => {
            super::fish::fill(&mut form, study, &method.kind, dimensions);
        }
        (MethodKind::Components(components), _) => {
            let unit = if components.unit.is_empty() { String::new() } else { format!(", {}", components.unit) };
            form.columns =
                columns(&["no.", "time", "place", &format!("{}{unit}", plain(&components.indicator)), "notes"]);
            form.rows = numbered(12);
        }
        _ => {}
    }
    form
}

fn columns(names: &[&str]) -> Vec<String> {
    names.iter().map(|&name| name.to_owned()).collect()
}

fn numbered(rows: usize) -> Vec<String> {
    (1..=rows).map(|row| row.to_string()).collect()
}

/// "0.1", "10.0"
fn place(metres: f64) -> String {
    let decimals = if (10.0 * metres - (10.0 * metres).round()).abs() < 1e-6 { 1 } else { 2 };
    format!("{metres:.decimals$}")
}

/// Codes of all kinds of bottom that any zone has.
fn bottom_codes(study: &Study) -> Vec<(String, String)> {
    let mut names: Vec<String> = Vec::new();
    for name in study.zones.iter().flat_map(|zone| zone.bottom_names()) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    if study.zones.iter().any(|zone| zone.leaves_rest()) {
        names.push(REST.to_owned());
    }
    codes(&names).into_iter().zip(names.iter().map(|name| plain(name))).collect()
}

fn edge_rule(rule: EdgeRule) -> &'static str {
    match rule {
        EdgeRule::CentreIn => "Edge: a colony belongs to the belt if its centre lies inside.",
        EdgeRule::AnyPartIn => "Edge: a colony belongs to the belt if any part of it lies inside.",
        EdgeRule::WhollyIn => "Edge: a colony belongs to the belt if it lies inside whole.",
        EdgeRule::TwoEdges => {
            "Edge: a colony belongs to the belt if a part of it lies inside, but not if it reaches the far end or the far side."
        }
    }
}

/// "5 to 10, 10 to 20 cm"
fn classes(limits_m: &[f64]) -> Option<String> {
    let class =
        |limits: &[f64]| format!("{} to {}", significant(100.0 * limits[0], 3), significant(100.0 * limits[1], 3));
    let all: Vec<String> = limits_m.windows(2).map(class).collect();
    (!all.is_empty()).then(|| format!("{} cm", all.join(", ")))
}

/// Animals of all zones, each once.
fn animals(study: &Study) -> Vec<&Animal> {
    let mut all: Vec<&Animal> = Vec::new();
    for animal in study.zones.iter().flat_map(|zone| &zone.animals) {
        if !all.iter().any(|known| known.name == animal.name) {
            all.push(animal);
        }
    }
    all
}

/// Columns for so many classes of size.
fn counts(classes: usize) -> Vec<String> {
    match classes {
        0 | 1 => columns(&["count", "sizes, cm"]),
        2 => columns(&["count, small", "count, large"]),
        3 => columns(&["count, small", "count, middle", "count, large"]),
        more => (1..=more).map(|class| format!("count, class {class}")).collect(),
    }
}

/// What the classes of an animal are; `None` where all are counted together.
fn class_rule(animal: &Animal) -> Option<String> {
    let name = sentence(&plain(&animal.name));
    match &animal.spec.sizes {
        Sizes::Lengths { limits_m, .. } if !limits_m.is_empty() => {
            let limits: Vec<String> = limits_m.iter().map(|limit| significant(100.0 * limit, 3)).collect();
            Some(format!("{name}: limits of its classes {} cm.", limits.join(", ")))
        }
        Sizes::Classes(shares) if shares.len() == 2 => Some(format!("{name}: large from commercial size on.")),
        _ => None,
    }
}
