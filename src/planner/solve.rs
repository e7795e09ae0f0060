//! The whole way from a plan to an answer.

use super::animals::searches;
use super::answer::{Answer, Needed, ReefRange, Sensitivity};
use super::fish::fish_bias;
use super::fish_headline::{best, bias_sentence, compared_sentence, headline_of};
use super::needed::{Fresh, HowMany, needed};
use super::notes::{notes, ratio_notes};
use super::rows::rows;
use super::variation::{map, ranges, sensitivities, units_at_same_marks};
use super::warn::warnings;
use super::words::{by_zone_sentence, closing_sentences, main_sentences, same_marks_sentence, status_sentence};
use crate::design::{Question, Study};
use crate::engine::{DesignIndex, Outcome, Plan, Until, Watch, Where, run};
use crate::survey::MethodSpec;
use rayon::prelude::*;

/// How the work is to be done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    pub seed: u64,
    pub until: Until,
    /// Simulation error of the fresh trials that confirm the number quoted; `None`: no confirmation.
    pub confirm_error: Option<f64>,
    /// Whether the headline gives the range over named reefs (not where variation comes from pilot data).
    pub with_range: bool,
}

/// The most units a confirmation lays on a site.
const MOST_CONFIRMED: usize = 60;

pub fn solve(plan: &Plan, effort: &Effort, watch: &Watch) -> Answer {
    let outcome = run(plan, effort.seed, 0, effort.until, watch);
    if outcome.trials == 0 {
        return Answer::interrupted();
    }
    let rows = rows(plan, &outcome);
    let asks = HowMany::all(plan);
    let mut interrupted = outcome.interrupted;
    let mut all_needed: Vec<Needed> = asks.par_iter().map(|ask| needed(plan, &outcome, ask, &Vec::new())).collect();
    let main = main_questions(plan, &outcome, &asks, &all_needed);
    if let Some(place) = asks.iter().position(|ask| main.first() == Some(ask))
        && let (Some(error), Some(units)) = (effort.confirm_error, all_needed[place].units)
        && units < MOST_CONFIRMED
        && !interrupted
    {
        let (fresh, cut_short) = confirm(plan, &asks[place], units, effort.seed, error, watch);
        interrupted |= cut_short;
        all_needed[place] = needed(plan, &outcome, &asks[place], &fresh);
    }
    let zone_questions: Vec<HowMany> = main.iter().copied().filter(|ask| matches!(ask.place, Where::Zone(_))).collect();
    let all_ranges = if effort.with_range { ranges(plan, &zone_questions) } else { Vec::new() };
    // A component that leaves the answer out of reach whatever it is tells nothing.
    let tells = |s: &Sensitivity| s.smaller.or(s.as_given).or(s.larger).is_some();
    let sensitivity: Vec<_> =
        zone_questions.par_iter().flat_map_iter(|ask| sensitivities(plan, ask)).filter(tells).collect();
    let map = zone_questions.iter().flat_map(|ask| map(plan, ask)).collect();
    let fish_bias = fish_bias(plan, &outcome);
    let mut headline = change_headline(plan, &outcome, &main, &asks, &all_needed, &all_ranges);
    if plan.study.question == Question::Status {
        headline.extend(status_headline(plan, &outcome));
    }
    let told = main.first().map(|ask| ask.design(0)).or_else(|| status_design(plan));
    headline.extend(told.and_then(|design| bias_sentence(plan, &design, &fish_bias)));
    headline.extend(closing_sentences(plan, &sensitivity));
    let warnings = warnings(plan, &outcome, &rows);
    let animals = searches(plan, &outcome);
    let notes = ratio_notes(&rows).chain(notes(plan)).collect();
    Answer {
        headline,
        headline_of: main.first().and_then(|ask| headline_of(plan, ask)),
        rows,
        needed: all_needed,
        ranges: all_ranges,
        sensitivity,
        map,
        animals,
        fish_bias,
        warnings,
        notes,
        interrupted,
    }
}

/// The sentences about how many: for the whole (all zones, or the one there is), then zone by zone, then at the same
/// marks.
fn change_headline(
    plan: &Plan,
    outcome: &Outcome,
    main: &[HowMany],
    asks: &[HowMany],
    all_needed: &[Needed],
    all_ranges: &[ReefRange],
) -> Vec<String> {
    let Some(first) = main.first() else { return Vec::new() };
    let of = |ask: &HowMany| asks.iter().position(|other| other == ask).map(|place| &all_needed[place]);
    let ranges_of = |needed: &Needed| -> Vec<ReefRange> {
        all_ranges.iter().filter(|range| range.zone == needed.zone).cloned().collect()
    };
    let Some(needed) = of(first) else { return Vec::new() };
    let mut sentences = main_sentences(plan, outcome, first, needed, &ranges_of(needed));
    sentences.extend(compared_sentence(plan, asks, all_needed, first));
    let zones: Vec<_> =
        main[1..].iter().filter_map(|ask| of(ask).map(|needed| (*ask, needed, ranges_of(needed)))).collect();
    sentences.extend(by_zone_sentence(plan, &zones));
    if plan.same_sites && !plan.same_marks {
        sentences.extend(same_marks_sentence(plan, first, needed, units_at_same_marks(plan, first)));
    }
    sentences
}

/// What the headline speaks of: the first method with its first dimensions (of fish the [`best`] one), the first change, the
/// largest number of sites; for all zones together and for each zone.
fn main_questions(plan: &Plan, outcome: &Outcome, asks: &[HowMany], all_needed: &[Needed]) -> Vec<HowMany> {
    let Some(first) = asks.first() else { return Vec::new() };
    let place = if plan.has_all() { Where::All } else { first.place };
    let whole = HowMany { sites: plan.site_choices() - 1, place, ..*first };
    let reading = best(plan, outcome, asks, all_needed, &whole).reading;
    let of_place = |place: Where| {
        asks.iter().copied().find(|ask| {
            ask.reading == reading
                && ask.state == first.state
                && ask.place == place
                && ask.sites + 1 == plan.site_choices()
        })
    };
    let zones = (0..plan.study.zones.len()).map(Where::Zone);
    let all = plan.has_all().then_some(Where::All);
    all.into_iter().chain(zones).filter_map(of_place).collect()
}

/// Fresh trials at n - 1, n and n + 1 units, of this question alone.
fn confirm(plan: &Plan, ask: &HowMany, units: usize, seed: u64, error: f64, watch: &Watch) -> (Fresh, bool) {
    let least = plan.least_units(ask.place, ask.sites);
    let numbers: Vec<usize> = (units.saturating_sub(1).max(least)..=(units + 1).min(ask.most_units(plan))).collect();
    let (study, theories) = only(plan, ask, numbers.clone());
    let small = Plan::new(study, theories);
    let outcome = run(&small, seed, 1, Until::Error(error), watch);
    let place = if small.has_all() { Where::All } else { Where::Zone(0) };
    let name = plan.layout.readings[ask.reading].indicator.name();
    let reading = small.layout.readings.iter().position(|reading| reading.indicator.name() == name).unwrap_or(0);
    if outcome.trials == 0 {
        return (Fresh::new(), true);
    }
    let fresh = (0..numbers.len())
        .map(|u| {
            let design = DesignIndex { reading, units: u, sites: 0, place };
            (numbers[u], outcome.tally(small.index(&design), 2).rejection())
        })
        .collect();
    (fresh, outcome.interrupted)
}

/// The study cut down to one question, with other numbers of units.
fn only(plan: &Plan, ask: &HowMany, units: Vec<usize>) -> (Study, Vec<crate::theory::ReefTheory>) {
    let reading = &plan.layout.readings[ask.reading];
    let mut study = plan.study.clone();
    let method = &plan.study.methods[reading.method];
    let kind = method.kind.only(reading.dimensions);
    study.methods = vec![MethodSpec { kind, units, minutes: method.minutes }];
    study.changes = vec![plan.study.changes[ask.state - 2].clone()];
    let own = plan.layout.readings[ask.reading].indicator.name();
    study.also_report.retain(|name| name == own);
    let zones = match ask.place {
        Where::Zone(zone) => zone..zone + 1,
        Where::All => 0..plan.study.zones.len(),
    };
    study.zones = zones
        .clone()
        .map(|z| {
            let mut zone = plan.study.zones[z].clone();
            zone.sites = vec![plan.sites[z][ask.sites]];
            zone
        })
        .collect();
    let theories = zones
        .map(|z| {
            let mut theory = plan.theories[z].clone();
            theory.keep_state(ask.state);
            theory
        })
        .collect();
    (study, theories)
}

/// One sentence a zone for the largest design of the first reading.
fn status_headline(plan: &Plan, outcome: &Outcome) -> Vec<String> {
    let Some(design) = status_design(plan) else { return Vec::new() };
    let zones = (0..plan.study.zones.len()).map(Where::Zone);
    let all = plan.has_all().then_some(Where::All);
    let places = all.into_iter().chain(zones);
    places.map(|place| status_sentence(plan, outcome, &DesignIndex { place, ..design })).collect()
}

/// What the headline of a status speaks of: six units of the first reading, or the most, on the most sites.
fn status_design(plan: &Plan) -> Option<DesignIndex> {
    let reading = plan.layout.readings.first()?;
    let units = reading.units.iter().position(|&n| n == 6).unwrap_or(reading.units.len() - 1);
    let place = if plan.has_all() { Where::All } else { Where::Zone(0) };
    Some(DesignIndex { reading: 0, units, sites: plan.site_choices() - 1, place })
}
