//! The whole way from a plan to an answer.

use super::animals::{rarity_sentence, searches};
use super::answer::{Answer, Needed, ReefRange, Sensitivity};
use super::fish::fish_bias;
use super::fish_headline::bias_sentence;
use super::least_minutes::{StatusChoice, best, compared_sentence, headline_of, status_choice};
use super::needed::{Fresh, HowMany, Seen, needed};
use super::notes::{notes, ratio_notes};
use super::rows::rows;
use super::variation::{map, ranges, sensitivities, units_at_same_marks};
use super::warn::warnings;
use super::words::{
    by_zone_sentence, closing_sentences, main_sentences, same_marks_sentence, status_sentence, unit_words,
};
use super::written::written_sentence;
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
/// The most sets of fresh trials: where the number below is enough too, the one below that is tried.
const MOST_CONFIRMATIONS: u64 = 4;

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
        && let Some(error) = effort.confirm_error
        && !interrupted
    {
        let held = asks[place].is_held(plan, &outcome);
        let mut fresh = Fresh::new();
        for set in 1..=MOST_CONFIRMATIONS {
            let numbers = unconfirmed(plan, &asks[place], all_needed[place].units, &fresh);
            if numbers.is_empty() {
                break;
            }
            let (more, cut_short) = confirm(plan, &asks[place], (numbers, held), (effort.seed, set), error, watch);
            fresh.extend(more);
            fresh.sort_by_key(|&(units, _)| units);
            all_needed[place] = needed(plan, &outcome, &asks[place], &fresh);
            if cut_short {
                interrupted = true;
                break;
            }
        }
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
    let is_status = plan.study.question == Question::Status;
    let status = is_status.then(|| status_choice(plan, &outcome)).flatten();
    headline.extend(status.iter().flat_map(|choice| status_headline(plan, &outcome, choice)));
    let told = main.first().map(|ask| ask.design(0)).or(status.map(|choice| choice.design));
    let animals = searches(plan, &outcome);
    if let Some(rarity) = told.and_then(|design| rarity_sentence(plan, &design, &animals)) {
        headline.insert(0, rarity);
    }
    let bias = |design| bias_sentence(plan, &design, &fish_bias).or_else(|| written_sentence(plan, &design));
    headline.extend(told.and_then(bias));
    headline.extend(closing_sentences(plan, &sensitivity));
    let warnings = warnings(plan, &outcome, &rows);
    let notes = ratio_notes(&rows).chain(notes(plan)).collect();
    Answer {
        headline,
        headline_of: told.map(|design| headline_of(plan, &design)),
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

/// What the headline speaks of: of what the first method asks about (by a change of its own, where there is one), the [`best`] method and dimensions; the first change, the
/// largest number of sites; for all zones together and for each zone.
fn main_questions(plan: &Plan, outcome: &Outcome, asks: &[HowMany], all_needed: &[Needed]) -> Vec<HowMany> {
    // A change that was asked of an indicator comes before one that another's brings to it.
    let is_own = |ask: &&HowMany| {
        plan.layout.readings[ask.reading].indicator.name() == plan.study.changes[ask.state - 2].indicator
    };
    let Some(first) = asks.iter().find(is_own).or(asks.first()) else { return Vec::new() };
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

/// Numbers of units of which fresh trials are wanted: n - 1, n and n + 1 at first; then, as long as the fewest tried is enough
/// too, the one below it.
fn unconfirmed(plan: &Plan, ask: &HowMany, units: Option<usize>, fresh: &Fresh) -> Vec<usize> {
    let Some(units) = units.filter(|&units| units < MOST_CONFIRMED) else { return Vec::new() };
    let (least, most) = (plan.least_units(ask.place, ask.sites), ask.most_units(plan));
    let is_known = |number: usize| fresh.iter().any(|&(tried, _)| tried == number);
    let about = units.saturating_sub(1).max(least)..=(units + 1).min(most);
    if !is_known(units) || (units > least && !is_known(units - 1)) {
        return about.filter(|&number| !is_known(number)).collect();
    }
    let fewest = fresh.first().filter(|(_, seen)| seen.value >= plan.study.test.seen);
    fewest.map(|&(fewest, _)| fewest - 1).filter(|&below| below >= least).into_iter().collect()
}

/// Fresh trials of this question alone at some numbers of units, with the test held to its level where it must be; `set` keeps
/// those of one seed apart.
fn confirm(
    plan: &Plan,
    ask: &HowMany,
    (numbers, held): (Vec<usize>, bool),
    (seed, set): (u64, u64),
    error: f64,
    watch: &Watch,
) -> (Fresh, bool) {
    let (study, theories) = only(plan, ask, numbers.clone());
    let small = Plan::new(study, theories);
    let outcome = run(&small, seed, set, Until::Error(error), watch);
    let place = if small.has_all() { Where::All } else { Where::Zone(0) };
    let name = plan.layout.readings[ask.reading].indicator.name();
    let reading = small.layout.readings.iter().position(|reading| reading.indicator.name() == name).unwrap_or(0);
    if outcome.trials == 0 {
        return (Fresh::new(), true);
    }
    let fresh = (0..numbers.len())
        .filter_map(|u| {
            let design = DesignIndex { reading, units: u, sites: 0, place };
            Some((numbers[u], Seen::new(&small, &outcome, &design, 2, held)?))
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

/// One sentence a zone for the design that was chosen, and why it was.
fn status_headline(plan: &Plan, outcome: &Outcome, choice: &StatusChoice) -> Vec<String> {
    let zones = (0..plan.study.zones.len()).map(Where::Zone);
    let all = plan.has_all().then_some(Where::All);
    let places = all.into_iter().chain(zones);
    let told = places.map(|place| status_sentence(plan, outcome, &DesignIndex { place, ..choice.design }));
    let mut all: Vec<String> = told.chain(choice.compared.clone()).collect();
    // What is told; and where there is a choice, which method tells it.
    if let Some(first) = all.first_mut() {
        let reading = choice.design.reading;
        let by = if choice.compared.is_some() { format!(" with {}", unit_words(plan, reading)) } else { String::new() };
        let name = plan.layout.readings[reading].indicator.name().replace('_', " ");
        *first = format!("{}{by}: {first}", super::words::capital(&name));
    }
    all
}
