//! From the tallies of a run to the rows of the table.

use crate::analysis::transforms::Scale;
use crate::design::{Comparison, FishGroup, Question};
use crate::engine::{DesignIndex, Held, Outcome, Plan, Row, SiteCount, Where};
use crate::measures::Rate;
use crate::survey::{self, MethodKind};
use crate::theory::to_scale;
use rayon::prelude::*;

/// A false alarm is marked when so many simulation errors less than it are still above this many times alpha. A test that keeps
/// its level is marked by chance twice in a thousand designs at a few hundred trials, and practically never at more.
pub const MARKED_ABOVE: f64 = 1.2;
pub const MARKED_BY_ERRORS: f64 = 2.0;

/// Whether a false alarm is too frequent for its design to be ranked.
pub fn is_marked(rate: Rate, alpha: f64) -> bool {
    rings_too_often((rate.value(), rate.error()), alpha)
}

/// The same of a rate and its error: one rule for curves and for budgets.
pub fn rings_too_often((rate, error): (f64, f64), alpha: f64) -> bool {
    rate - MARKED_BY_ERRORS * error > MARKED_ABOVE * alpha
}

/// Whether power is told with the test held to its level: with this or another number of units it rings falsely too often. One
/// mind for all numbers of units, so that they can be compared.
pub fn is_held(plan: &Plan, outcome: &Outcome, design: &DesignIndex) -> bool {
    let units = 0..plan.layout.readings[design.reading].units.len();
    let alarm = |units: usize| outcome.tally(plan.index(&DesignIndex { units, ..*design }), 1).rejection();
    plan.states > 1 && units.into_iter().any(|units| is_marked(alarm(units), plan.study.test.alpha))
}

/// Rows of all designs, one for each change of the row's indicator (one without a change where there is none).
pub fn rows(plan: &Plan, outcome: &Outcome) -> Vec<Row> {
    let designs: Vec<DesignIndex> = plan.all_designs().collect();
    designs
        .par_iter()
        .flat_map_iter(|design| {
            states_of_rows(plan, design).into_iter().map(move |state| row(plan, outcome, design, state))
        })
        .collect()
}

/// The states that a design has rows for: its indicator's changes, those asked about it before those that another's bring; else no
/// change (1), or the one visit (0).
pub fn states_of_rows(plan: &Plan, design: &DesignIndex) -> Vec<usize> {
    let indicator = &plan.layout.readings[design.reading].indicator;
    let change = |state: usize| &plan.study.changes[state - 2];
    if plan.study.zones.iter().any(|zone| zone.map.as_ref().is_some_and(|map| map.later.is_some())) {
        return vec![state_of_later_map(plan, design)];
    }
    let mut changes: Vec<usize> = (2..plan.states).filter(|&s| indicator.is_moved_by(change(s))).collect();
    changes.sort_by_key(|&s| change(s).indicator != indicator.name());
    match (plan.states, changes.is_empty()) {
        (1, _) => vec![0],
        (_, true) => vec![1],
        (_, false) => changes,
    }
}

/// Of reefs that were mapped twice every change is the later map: an indicator has rows for one of them, its own where it has one;
/// for none where both maps have the same of it.
fn state_of_later_map(plan: &Plan, design: &DesignIndex) -> usize {
    let indicator = &plan.layout.readings[design.reading].indicator;
    let own = plan.study.changes.iter().position(|change| change.indicator == indicator.name());
    let state = 2 + own.unwrap_or(0);
    if plan.states <= state {
        return plan.states - 1;
    }
    let (before, after) = means(plan, design, state);
    if before == after { 1 } else { state }
}

/// The zone's name, or "all".
pub fn place_name(plan: &Plan, place: Where) -> String {
    match place {
        Where::Zone(zone) => plan.study.zones[zone].name.clone(),
        Where::All => "all".into(),
    }
}

/// Sites of each zone of a place, for the `choice`th of the numbers compared.
pub fn site_count(plan: &Plan, place: Where, choice: usize) -> SiteCount {
    SiteCount::new(plan.weights(place).into_iter().map(|(zone, _)| plan.sites[zone][choice]).collect())
}

/// The scale of a by-components method, on which its law is told; plain of all others.
fn scale_of(plan: &Plan, reading: usize) -> survey::Scale {
    match &plan.study.methods[plan.layout.readings[reading].method].kind {
        MethodKind::Components(components) => components.scale,
        _ => survey::Scale::Plain,
    }
}

/// What the mean of the indicator is before and after, over the zones of the design, in its own unit (of a by-components
/// method on a scale: of the mean on that scale).
pub fn means(plan: &Plan, design: &DesignIndex, state: usize) -> (f64, f64) {
    let scale = scale_of(plan, design.reading);
    let (first, later) = plan.weights(design.place).into_iter().fold((0.0, 0.0), |sum, (zone, weight)| {
        let mean = |s| weight * plan.mean(zone, design.reading, s);
        (sum.0 + mean(0), sum.1 + mean(state))
    });
    (scale.value(first), scale.value(later))
}

/// The limits about the mean of the first visit so far from it on the scale of a by-components method, in the unit of the
/// indicator; `None` of what has no such scale.
pub fn about_on_scale(plan: &Plan, design: &DesignIndex, half: f64) -> Option<(f64, f64)> {
    let scale = scale_of(plan, design.reading);
    let mean = to_scale(scale, means(plan, design, 0).0);
    (scale != survey::Scale::Plain).then(|| (scale.value(mean - half), scale.value(mean + half)))
}

/// Mean of the first visit as it is written, in the unit of the indicator: it may be far from what is there.
pub fn written_mean(plan: &Plan, design: &DesignIndex) -> f64 {
    let written = |(zone, weight): (usize, f64)| weight * plan.moments(zone, design.reading).mean[0];
    scale_of(plan, design.reading).value(plan.weights(design.place).into_iter().map(written).sum())
}

/// What is written at the first visit over what is there; 1 where nothing is, and of logarithms, which are off by a difference.
pub fn written_over_there(plan: &Plan, design: &DesignIndex) -> f64 {
    if plan.layout.readings[design.reading].indicator.is_of_logarithms() {
        return 1.0;
    }
    let ratio = written_mean(plan, design) / means(plan, design, 0).0;
    if ratio.is_finite() && ratio > 0.0 { ratio } else { 1.0 }
}

/// How far what is written is from what is there, either way: the absolute logarithm of the one over the other.
pub fn how_far_off(plan: &Plan, design: &DesignIndex) -> f64 {
    libm::fabs(libm::log(written_over_there(plan, design)))
}

/// Whether a way to tell a level (and no change) is so much farther off than another that it is not chosen for being precise: to
/// divide by more is to trust what is known of the habits of fish, or of what is missed, further than anybody knows them.
pub fn is_much_farther(off: f64, than: f64) -> bool {
    off > than + libm::log(FARTHER_OFF)
}

/// How many times farther what is written may be from what is there (an own choice).
const FARTHER_OFF: f64 = 1.5;

/// Of sizes the formula is an approximation: it may be off by so much before rows say that both part.
const SLACK_OF_SIZES: f64 = 0.08;

/// Changes of what is written that are so many times more or less biased than the first visit are no measure of the true ones.
const SAME_KIND: f64 = 10.0;

/// What a small difference of what a design writes, on its scale, is of what is there, in the unit of the indicator: the one
/// place where what is biased by formula (edges, what hides or is missed, the edge of a map, fish) is brought back to what is there.
/// Where a change is imposed it is the true change over the one that is written: where what is counted better or worse than the
/// rest changes, that is another ratio than that of the means. Of all else it is as [`unit_of_scale`].
pub fn back_to_there(plan: &Plan, design: &DesignIndex, state: usize) -> f64 {
    if !plan.is_biased(design.reading) {
        return unit_of_scale(plan, design);
    }
    let slope = plan.scale(design.reading, design.units).slope(written_mean(plan, design));
    match imposed(plan, design, state) {
        Imposed::WrittenAlike(ratio) => ratio * unit_of_scale(plan, design),
        Imposed::Nothing | Imposed::WrittenOtherwise => 1.0 / (slope * written_over_there(plan, design)),
    }
}

/// A change that is imposed, as a design writes it.
enum Imposed {
    Nothing,
    /// With the true change over the one that is written, on the scale of the design.
    WrittenAlike(f64),
    /// So otherwise than what is there changes that the one tells nothing of the other: the other way, or ten times more or less
    /// than the means differ.
    WrittenOtherwise,
}

fn imposed(plan: &Plan, design: &DesignIndex, state: usize) -> Imposed {
    // What fish or people do otherwise at the second visit is in what is written, and no part of the change.
    let is_otherwise = |group: &FishGroup| group.later_sighting.is_some();
    let by_people = plan.layout.readings[design.reading].indicator.is_of_the_bottom();
    let people_drift = by_people && plan.study.observers.second_visit_bias != 0.0;
    if state < 2 || people_drift || plan.study.zones.iter().flat_map(|zone| &zone.fish).any(is_otherwise) {
        return Imposed::Nothing;
    }
    let true_change = plan.expected_truth(design, state);
    if true_change == 0.0 {
        return Imposed::Nothing;
    }
    let ratio = true_change / (true_change + plan.written_shift(design, state));
    let is_plain = plan.scale(design.reading, design.units) == Scale::Plain;
    let usual = if is_plain { 1.0 / written_over_there(plan, design) } else { 1.0 };
    if (1.0 / SAME_KIND..SAME_KIND).contains(&(ratio / usual)) {
        Imposed::WrittenAlike(ratio)
    } else {
        Imposed::WrittenOtherwise
    }
}

/// What a small difference on the scale of a design is in the unit of its indicator, at the mean of the first visit.
pub fn unit_of_scale(plan: &Plan, design: &DesignIndex) -> f64 {
    let mean = means(plan, design, 0).0;
    match scale_of(plan, design.reading) {
        survey::Scale::Plain => 1.0 / plan.scale(design.reading, design.units).slope(mean),
        scale => scale.slope(to_scale(scale, mean)),
    }
}

/// The smallest change that is seen as often as the one of `state` must be, where that is seen with such a margin
/// (change over smallest change on the scale of the test), in the unit of the indicator.
pub fn least_change(plan: &Plan, design: &DesignIndex, state: usize, margin: f64) -> f64 {
    let (from, to) = means(plan, design, state);
    let least = match plan.scale(design.reading, design.units) {
        Scale::Plain => {
            let scale = scale_of(plan, design.reading);
            Some(change_of_mean(scale, from, (to_scale(scale, to) - to_scale(scale, from)) / margin))
        }
        scale => match (scale.of(from), scale.of(to)) {
            (Ok(first), Ok(later)) => typical_change(scale, from, (later - first) / margin),
            _ => None,
        },
    };
    least.unwrap_or((to - from).abs() / margin)
}

/// A change on the scale of a by-components method as a change of the mean.
fn change_of_mean(scale: survey::Scale, from: f64, difference: f64) -> f64 {
    (scale.value(to_scale(scale, from) + difference) - from).abs()
}

fn scale_name(scale: Scale) -> Option<&'static str> {
    match scale {
        Scale::Plain => None,
        Scale::Log { .. } => Some("ln"),
        Scale::SquareRoot { .. } => Some("square_root"),
    }
}

/// A change on a scale as a change of a typical value; `None` where the scale ends before.
fn typical_change(scale: Scale, from: f64, difference: f64) -> Option<f64> {
    let to = scale.changed(from, difference).ok()?;
    let is_there = scale.of(to).is_ok_and(|there| (there - scale.of(from).unwrap_or(there) - difference).abs() < 1e-9);
    (to >= 0.0 && is_there).then(|| (to - from).abs())
}

fn row(plan: &Plan, outcome: &Outcome, design: &DesignIndex, state: usize) -> Row {
    let study = &plan.study;
    let reading = &plan.layout.readings[design.reading];
    let units = reading.units[design.units];
    let tally = outcome.tally(plan.index(design), state);
    let first = outcome.tally(plan.index(design), 0);
    let theory = plan.theory(design, state);
    let alpha = study.test.alpha;
    let tested = study.question != Question::Status;
    let changed = state >= 2;
    let (from, to) = means(plan, design, state);
    let first_zone = plan.weights(design.place)[0].0;
    let null = tested.then(|| outcome.tally(plan.index(design), 1));
    let false_alarm = null.map(|tally| tally.rejection());
    let power = changed.then(|| tally.rejection());
    let rings = false_alarm.is_some_and(|rate| is_marked(rate, alpha));
    let told_held =
        null.filter(|_| changed && is_held(plan, outcome, design)).and_then(|null| Held::new(alpha, null, tally));
    // Of sizes there is a test, but no estimate.
    let is_told = plan.comparison(design.reading, design.units) != Comparison::Sizes;
    let theory_power = changed.then(|| {
        let of_sizes = || plan.power_of_sizes(design, state).unwrap_or(f64::NAN);
        if is_told { theory.rejects(theory.expected, &plan.critical) } else { of_sizes() }
    });
    let theory_power = theory_power.filter(|power| power.is_finite());
    let slack = if is_told { 0.02 } else { SLACK_OF_SIZES };
    let apart = match (power, theory_power) {
        (Some(power), Some(theory)) => (power.value() - theory).abs() > slack + 4.0 * power.error(),
        _ => false,
    };
    let told = |value: f64| is_told.then_some(value);
    let change = study.changes.get(state.wrapping_sub(2)).filter(|_| !is_told);
    let (from, to) = change.map_or((from, to), |change| (change.from, change.to));
    let scale = plan.scale(design.reading, design.units);
    let unit = unit_of_scale(plan, design);
    let back = back_to_there(plan, design, state);
    let is_biased = plan.is_biased(design.reading);
    let imposed = if is_biased { imposed(plan, design, state) } else { Imposed::Nothing };
    let otherwise = matches!(imposed, Imposed::WrittenOtherwise);
    let (se, se_error) = tally.standard_error();
    let (bias, bias_error) = tally.bias();
    let sign = if to < from { -1.0 } else { 1.0 };
    let detectable = |difference: f64| match (&imposed, scale) {
        (Imposed::WrittenOtherwise, _) => None,
        (Imposed::WrittenAlike(_), _) => Some(least_change(plan, design, state, theory.expected.abs() / difference)),
        (Imposed::Nothing, Scale::Plain) if is_biased => Some(back * difference),
        (Imposed::Nothing, Scale::Plain) => {
            Some(change_of_mean(scale_of(plan, design.reading), from, sign * difference))
        }
        (Imposed::Nothing, scale) => typical_change(scale, from, sign * difference),
    };
    // Of what is written, which may be far from what is there.
    let as_written = if scale == Scale::Plain { first.bias().0 } else { 0.0 };
    // What is biased is brought back to what is there, error and mean alike; of all else both are as written.
    let told_mean = if is_biased { from } else { from + as_written };
    let (held, holds_written) = (tally.interval_truth(), tally.interval_written());
    let of_logarithms = reading.indicator.is_of_logarithms();
    let has_interval = tally.has_interval() && is_told;
    let sites_are_replicates =
        plan.terms(first_zone, plan.sites[first_zone][design.sites], units).replicates_are_sites();
    Row {
        indicator: reading.indicator.name().into(),
        unit: study.unit_of(reading.indicator.name()).name().into(),
        zone: place_name(plan, design.place),
        method: study.method_name(reading.method),
        dimensions: reading.dimensions,
        sites: site_count(plan, design.place, design.sites),
        units,
        same_sites: (study.question.visits() == 2).then_some(plan.same_sites),
        same_places: (study.question.visits() == 2).then_some(plan.same_marks),
        change_of: change.map(|change| change.indicator.clone()),
        change_from: changed.then_some(from),
        change_to: changed.then_some(to),
        deaths: state.checked_sub(2).and_then(|change| study.changes[change].deaths),
        mean: told(from),
        written: is_biased.then(|| written_mean(plan, design)),
        written_over_there: (is_biased && !otherwise).then_some(unit / back),
        test: tested.then(|| study.test_of(reading.indicator.name()).name().into()),
        scale: scale_name(scale).map(Into::into),
        trials: tally.trials,
        power: power.map(|rate| rate.value()),
        power_error: power.map(|rate| rate.error()),
        power_held: told_held.map(|held| held.power),
        power_held_error: told_held.map(|held| held.error),
        held_level: told_held.map(|held| held.level),
        false_alarm: false_alarm.map(|rate| rate.value()),
        false_alarm_error: false_alarm.map(|rate| rate.error()),
        false_alarm_marked: rings,
        lines_as_replicates_false_alarm: null
            .filter(|_| sites_are_replicates && units > 1 && scale == Scale::Plain && is_told)
            .map(|tally| tally.line_hits as f64 / tally.trials as f64),
        theory_power,
        theory_parts: apart,
        detectable: if tested && is_told {
            theory.detectable(sign, study.test.seen, &plan.critical).and_then(detectable)
        } else {
            None
        },
        se: told(back * se),
        se_error: told(back * se_error),
        theory_se: told(back * theory.total_se()),
        cv: told(back_to_there(plan, design, 0) * first.standard_error().0 / told_mean.abs())
            .filter(|_| !of_logarithms),
        error_factor: told(libm::exp(first.standard_error().0)).filter(|_| of_logarithms),
        half_width: tally.mean_half_width().and_then(|half_width| told(back * half_width)),
        ratio_factor: match (scale, scale_of(plan, design.reading)) {
            (Scale::Log { .. }, _) | (_, survey::Scale::Ln) if tested => tally.mean_half_width().map(libm::exp),
            _ => None,
        },
        interval_truth: has_interval.then(|| held.value()),
        interval_truth_error: has_interval.then(|| held.error()),
        interval_written: (has_interval && is_biased).then(|| holds_written.value()),
        interval_written_error: (has_interval && is_biased).then(|| holds_written.error()),
        bias: Some(unit * bias).filter(|_| tally.told > 0),
        bias_error: Some(unit * bias_error).filter(|_| tally.told > 0),
        degenerate: tally.degenerate,
        minutes: units as f64 * reading.minutes,
        ashore_minutes: study.methods[reading.method]
            .ashore_minutes(reading.dimensions)
            .map(|each| units as f64 * each),
    }
}
