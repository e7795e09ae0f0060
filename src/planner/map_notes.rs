//! What a mapped reef tells, and what its edges do.

use super::notes::three;
use super::words::plain;
use crate::design::{HARD_CORAL, Unit, ZoneMap};
use crate::engine::Plan;
use crate::survey::coral_belt::EdgeRule;
use crate::survey::{Dimensions, MethodKind};

/// Kinds of units that are told for each indicator; the others stand in the rows.
const MOST_TOLD: usize = 5;

/// The notes of a mapped zone: what they are about, and the text.
pub fn map_notes(plan: &Plan, zone: usize) -> Vec<(&'static str, String)> {
    let Some(map) = &plan.study.zones[zone].map else { return Vec::new() };
    let mut notes = vec![("The reef is a map", truth(plan, zone, map)), ("Edges of the map", edges(plan, zone))];
    if plan.states > 1 {
        notes.push(("What happens on the map", losses(plan, zone)));
    }
    notes.extend(recruits(plan).map(|text| ("Recruits of the map", text)));
    notes.extend(left_out(plan).map(|text| ("What is not told of a map", text)));
    notes
}

fn truth(plan: &Plan, zone: usize, map: &ZoneMap) -> String {
    let asked = &plan.study.zones[zone];
    let covers = asked.categories.iter().map(|category| (category.name.as_str(), category.cover));
    let covers = std::iter::once((HARD_CORAL, asked.cover)).chain(covers);
    let covers: Vec<String> =
        covers.map(|(name, cover)| format!("{} {} %", name.replace('_', " "), plain(100.0 * cover))).collect();
    let animals = asked.animals.iter().map(|animal| {
        format!("{} {} per 100 m2", animal.name.replace('_', " "), plain(100.0 * animal.spec.density_per_m2))
    });
    let there: Vec<String> = covers.into_iter().chain(animals).collect();
    format!(
        "The reef is {} ({}), {} x {} m, read exactly as mapped: {}. Only where units lie is left to chance, so that the \
         answers speak of this one reef and of no other.",
        map.label(),
        map.file,
        plain(asked.length_m),
        plain(asked.width_m),
        there.join(", ")
    )
}

/// Whether a method counts more or less at the edge of its own unit than is there: what its means are off by is then not of the
/// edges of the map, and is told with its rule.
fn has_own_bias(kind: &MethodKind) -> bool {
    matches!(kind, MethodKind::CoralBelt { belt, .. } if matches!(belt.edge, EdgeRule::AnyPartIn | EdgeRule::WhollyIn))
}

/// Units lie on the map whole: what that does to what they tell in the mean, by indicator.
fn edges(plan: &Plan, zone: usize) -> String {
    let mut told: Vec<(&str, String)> = Vec::new();
    for (r, reading) in plan.layout.readings.iter().enumerate() {
        let (moments, name) = (plan.moments(zone, r), reading.indicator.name());
        let kind = &plan.study.methods[reading.method].kind;
        if reading.dimensions == Dimensions::Components || !(moments.truth[0] > 0.0) || has_own_bias(kind) {
            continue;
        }
        let (scale, unit) = match plan.study.unit_of(name) {
            Unit::Share => (100.0, " %".to_owned()),
            // Sizes of colonies are read in centimetres.
            Unit::Own(unit) if unit == "m" => (100.0, " cm".to_owned()),
            Unit::Own(unit) => (1.0, format!(" {unit}")),
        };
        let units = kind.units();
        let own = format!("{} by {units} of {}", three(scale * moments.mean[0]), reading.dimensions.label());
        match told.iter_mut().find(|(known, _)| *known == name) {
            Some((_, text)) if text.matches(" by ").count() < MOST_TOLD => *text += &format!("; {own}"),
            Some(_) => {}
            None => {
                let there = three(scale * moments.truth[0]);
                told.push((name, format!("{} is {there}{unit}, told in the mean as {own}", name.replace('_', " "))));
            }
        }
    }
    let told: Vec<String> = told.into_iter().map(|(_, text)| text).collect();
    let told = if told.is_empty() {
        String::new()
    } else {
        format!("In the mean over all places where a unit may lie, by formula: {}. ", told.join(". "))
    };
    format!(
        "Units lie on the map whole, so that places within a unit's length (or width) of an edge are read less often than \
         the middle. {told}The difference is part of the bias of each row."
    )
}

/// What is told of reefs that are made by a law, and not of a map.
fn left_out(plan: &Plan) -> Option<String> {
    let measures = plan.study.methods.iter().any(|method| matches!(method.kind, MethodKind::CoralBelt { .. }));
    measures.then(|| "No figure shows the sizes of mapped colonies.".to_owned())
}

/// Which colonies of the map are recruits.
fn recruits(plan: &Plan) -> Option<String> {
    let counts = plan.study.methods.iter().any(|method| matches!(method.kind, MethodKind::RecruitQuadrats { .. }));
    counts.then(|| {
        "Recruits are the mapped colonies under 4 cm, also those that lie under others: as many as whoever mapped them saw. They are \
         colonies too: what is there of colonies counts them, whether belts see them or not. All bottom that no colony covers is taken for \
         hard."
            .to_owned()
    })
}

fn losses(plan: &Plan, zone: usize) -> String {
    if let Some((file, later)) = plan.study.zones[zone].map.as_ref().and_then(|map| map.later.as_ref()) {
        return format!(
            "The second visit finds the later map ({file}), on which hard coral is {} %; where nothing changes it finds the \
             first map again. What lies between the two maps is not asked.",
            plain(100.0 * later.coral_cover())
        );
    }
    let mut text =
        "Between the visits nothing happens on the map but the change: no colony grows, settles or moves. Colonies \
                    (or animals) die one after the other, whatever their size, in an order that is drawn once"
            .to_owned();
    if let Some(reading) = plan.layout.readings.iter().position(|reading| reading.indicator.name() == HARD_CORAL) {
        let truths = &plan.moments(zone, reading).truth;
        let left: Vec<String> = truths[1..].iter().map(|truth| plain(100.0 * truth)).collect();
        text += &format!("; hard coral is then {} % (without a change first)", left.join(", "));
    }
    text + "."
}
