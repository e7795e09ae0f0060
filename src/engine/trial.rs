//! One trial: every zone is surveyed, every design is estimated and tested.

use super::estimate::ZoneEstimate;
use super::held;
use super::layout::{Column, Indicator};
use super::permuted::Permuted;
use super::places::estimate_of_places;
use super::plan::{DesignIndex, Plan, Where};
use super::ratio::RatioTest;
use super::sheet::Sheet;
use super::site_sums::{SiteMeans, SiteSums, StateSums, UnitSums, add_means};
use super::site_values::SiteValues;
use super::survey_site::Scratch;
use super::tally::Tally;
use crate::analysis::sizes::SizeCounts;
use crate::analysis::transforms::Scale;
use crate::analysis::{Part, TTest, satterthwaite};
use crate::design::{Comparison, Question, Scope};
use crate::random::{Key, Purpose, normal_from_uniform};
use crate::reef::{MOST_STATES, SamePlace, Visit};

/// Memory of one thread.
pub struct TrialMemory {
    scratch: Scratch,
    sheet: Sheet,
    /// For each reading, number of units and state, over the sites of a zone so far.
    sums: Vec<StateSums>,
    /// The most numbers of units that a reading has.
    most: usize,
    /// For each zone, reading, number of units, number of sites and state.
    estimates: Vec<ZoneEstimate>,
    /// The same for lines taken as replicates, state 1 only.
    line_estimates: Vec<ZoneEstimate>,
    /// Mean truth over the list of sites, for each zone, reading and state.
    list_truths: Vec<f64>,
    /// Units with at least one animal at the first visit: over the sites of a zone so far, for each reading and number of
    /// units; and in the order of the estimates.
    occupied_so_far: Vec<u32>,
    occupied: Vec<u32>,
    /// Where a test looks at sites one by one, and where it exchanges them.
    values: Option<SiteValues>,
    permuted: Option<Permuted>,
}

/// Effects that all sites of a trial share.
struct Shared {
    /// Ratio written / true of each person at each visit.
    people: [Vec<f64>; 2],
    /// Standard normal year effects of the visits.
    years: [f64; 2],
}

impl TrialMemory {
    pub fn new(plan: &Plan) -> Self {
        let readings = plan.layout.readings.len();
        let most = plan.layout.readings.iter().map(|r| r.units.len()).max().unwrap_or(0);
        let zones = plan.study.zones.len();
        let cells = zones * readings * most * plan.site_choices();
        Self {
            scratch: Scratch::default(),
            sheet: Sheet::new(&plan.layout, plan.states),
            sums: vec![StateSums::default(); readings * most * plan.states],
            most,
            estimates: vec![ZoneEstimate::default(); cells * plan.states],
            line_estimates: vec![ZoneEstimate::default(); cells],
            list_truths: vec![0.0; zones * readings * plan.states],
            occupied_so_far: vec![0; readings * most],
            occupied: vec![0; cells],
            values: plan.keeps_sites().then(|| SiteValues::new(plan, most)),
            permuted: plan.exchanges.is_some().then(Permuted::default),
        }
    }
}

/// Runs one trial and adds what it gave to the tallies (for each design, each state).
pub fn run_trial(plan: &Plan, key: Key, memory: &mut TrialMemory, tallies: &mut [Tally]) {
    let shared = Shared::new(plan, key);
    if let (Some(permuted), Some(exchanges)) = (&mut memory.permuted, &plan.exchanges) {
        permuted.draw(exchanges, key);
    }
    for zone in 0..plan.study.zones.len() {
        survey_zone(plan, zone, key, &shared, memory);
    }
    for design in plan.all_designs() {
        judge(plan, &design, &shared, memory, tallies);
    }
}

impl Shared {
    fn new(plan: &Plan, key: Key) -> Self {
        let observers = &plan.study.observers;
        let ratio = |visit: u64, person: usize| {
            1.0 + observers.spread
                * normal_from_uniform(key.child(Purpose::Observer, visit).uniform(Purpose::Observer, person as u64))
        };
        let number = observers.number.max(1);
        let first: Vec<f64> = (0..number).map(|person| ratio(0, person)).collect();
        let second = (0..number)
            .map(|person| {
                let own = if observers.stays(person) { first[person] } else { ratio(1, person) };
                own * (1.0 + observers.second_visit_bias)
            })
            .collect();
        let year = |visit| normal_from_uniform(key.uniform(Purpose::YearEffect, visit));
        Self { people: [first, second], years: [year(0), year(1)] }
    }
}

fn survey_zone(plan: &Plan, zone: usize, trial: Key, shared: &Shared, memory: &mut TrialMemory) {
    let key = trial.child(Purpose::Zone, zone as u64);
    // The sites of the zone at whose places these lie.
    let named = plan
        .study
        .places_of(zone)
        .map(|(named, correlation)| SamePlace { key: trial.child(Purpose::Zone, named as u64), correlation });
    let survey = plan.survey(zone);
    let numbers = &plan.sites[zone];
    let surveyed = numbers.iter().copied().max().unwrap_or(0);
    let listed = match plan.study.scope {
        Scope::TheseReefs => survey.zone.existing.unwrap_or(surveyed).max(surveyed),
        _ => surveyed,
    };
    memory.sums.fill(StateSums::default());
    memory.occupied_so_far.fill(0);
    let readings = plan.layout.readings.len();
    let truths = zone * readings * plan.states..(zone + 1) * readings * plan.states;
    memory.list_truths[truths.clone()].fill(0.0);
    for s in 0..listed {
        let site_key = key.child(Purpose::Site, s as u64);
        let place = |purpose| named.map(|named| named.child(purpose, s as u64));
        let mut site = survey.reef.site_at(site_key, place(Purpose::Site));
        let counted = s < surveyed;
        survey.truths(site_key, &mut site, Visit::First, &mut memory.sheet);
        if counted {
            survey.read(site_key, &mut site, Visit::First, &mut memory.sheet, &mut memory.scratch);
        }
        if plan.states > 1 {
            let other_key;
            let (second_key, second) = if plan.same_sites {
                (site_key, &mut site)
            } else {
                other_key = key.child(Purpose::ExtraSite, s as u64);
                site = survey.reef.site_at(other_key, place(Purpose::ExtraSite));
                (other_key, &mut site)
            };
            survey.truths(second_key, second, Visit::Second, &mut memory.sheet);
            if counted {
                survey.read(second_key, second, Visit::Second, &mut memory.sheet, &mut memory.scratch);
            }
        }
        survey.components(site_key, place(Purpose::Site), counted, &mut memory.sheet);
        for (r, sum) in memory.list_truths[truths.clone()].chunks_mut(plan.states).enumerate() {
            for (state, sum) in sum.iter_mut().enumerate() {
                *sum += memory.sheet.truth(r, state) / listed as f64;
            }
        }
        if counted {
            add_site(plan, shared, (zone, s), memory);
            for (k, &number) in numbers.iter().enumerate() {
                if number == s + 1 {
                    estimate_zone(plan, zone, k, memory);
                }
            }
        }
    }
}

/// Adds the sheet of a site to the sums of every reading and number of units.
fn add_site(plan: &Plan, shared: &Shared, (zone, site): (usize, usize), memory: &mut TrialMemory) {
    let most = memory.most;
    let observers = &plan.study.observers;
    let perfect = observers.spread == 0.0 && observers.second_visit_bias == 0.0;
    for (c, column) in plan.layout.columns.iter().enumerate() {
        let (r, reading) = (column.reading, plan.layout.reading(c));
        // Observers' ratios are for what is counted on the bottom; an indicator by components has its own.
        let as_written = perfect || !reading.indicator.is_of_the_bottom();
        let mut running = [UnitSums::default(); MOST_STATES];
        let mut means = [SiteMeans::default(); MOST_STATES];
        let mut next = column.choices.start;
        if let Some(sized) = plan.layout.sized_place(c) {
            keep_sizes(plan, column, sized, (zone, site), memory);
            continue;
        }
        for unit in 0..column.units {
            let mut first = 0.0;
            for state in 0..plan.states {
                let mut value = memory.sheet.units(c, state)[unit];
                if !as_written {
                    value *= shared.people[usize::from(state > 0)][observers.person(unit)];
                }
                if state == 0 {
                    first = value;
                }
                running[state].add(value, first);
            }
            if unit + 1 == reading.units[next] {
                for state in 0..plan.states {
                    means[state] = running[state].means();
                }
                let scale = plan.comparison(r, next).scale_of_sites();
                if scale != Scale::Plain {
                    means[..plan.states]
                        .iter_mut()
                        .for_each(|site| site.mean = scale.of(site.mean).unwrap_or(f64::NAN));
                }
                if let Some(values) = &mut memory.values {
                    for (state, mean) in means[..plan.states].iter().enumerate() {
                        values.keep((zone, r, next), (state, site), mean.mean);
                    }
                }
                if matches!(reading.indicator, Indicator::Animal { .. } | Indicator::Fish { .. }) {
                    let occupied = memory.sheet.units(c, 0)[..=unit].iter().filter(|count| **count > 0.0);
                    memory.occupied_so_far[r * most + next] += occupied.count() as u32;
                }
                let from = (r * most + next) * plan.states;
                let sums = &mut memory.sums[from..from + plan.states];
                add_means(sums, &means[..plan.states], plan.same_sites);
                next += 1;
            }
        }
    }
}

/// Adds up the sizes of the units of a site, and keeps them for every number of units.
fn keep_sizes(plan: &Plan, column: &Column, sized: usize, (zone, site): (usize, usize), memory: &mut TrialMemory) {
    let Some(values) = &mut memory.values else { return };
    let units = &plan.layout.readings[column.reading].units;
    let mut sum = SizeCounts::none(plan.layout.sized[sized].classes.count());
    for state in 0..plan.states {
        sum.clear();
        let mut next = column.choices.start;
        for unit in 0..column.units {
            sum.add(memory.sheet.sizes(sized, state, unit), 1.0);
            if unit + 1 == units[next] {
                values.keep_sizes((zone, plan.layout.first_sized(sized), next), (state, site), &sum);
                next += 1;
            }
        }
    }
}

/// Estimates of a zone for one number of sites, for every reading, number of units and state.
fn estimate_zone(plan: &Plan, zone: usize, sites: usize, memory: &mut TrialMemory) {
    let most = memory.most;
    for (r, reading) in plan.layout.readings.iter().enumerate() {
        for (u, &units) in reading.units.iter().enumerate() {
            let from = (r * most + u) * plan.states;
            let number = plan.sites[zone][sites];
            let sums = SiteSums { sites: number as f64, states: &memory.sums[from..from + plan.states] };
            let terms = plan.terms(zone, number, units);
            let cell = cell(plan, zone, r, u, sites, most);
            let comparison = plan.comparison(r, u);
            if comparison == Comparison::Sizes {
                continue;
            }
            let ratio = RatioTest::of(plan, comparison).zip(memory.values.as_ref());
            let at = (zone, r, u);
            for state in 0..plan.states {
                memory.estimates[cell * plan.states + state] = match &ratio {
                    None => ZoneEstimate::new(&sums, state, &terms),
                    Some((ratio, values)) if state == 0 => ratio.level(values.means(at, 0, number)),
                    Some((ratio, values)) => ratio.change(values.means(at, 0, number), values.means(at, state, number)),
                };
            }
            memory.occupied[cell] = memory.occupied_so_far[r * most + u];
            // Lines as they are have no place beside site means on a scale.
            let is_plain = comparison.scale_of_estimate() == Scale::Plain;
            if plan.states > 1 && terms.listed == 0.0 && units > 1 && is_plain {
                memory.line_estimates[cell] = ZoneEstimate::of_lines(&sums, 1, units as f64);
            }
        }
    }
}

fn cell(plan: &Plan, zone: usize, reading: usize, units: usize, sites: usize, most: usize) -> usize {
    ((zone * plan.layout.readings.len() + reading) * most + units) * plan.site_choices() + sites
}

/// Tests the sizes of one design in every state: there is a test, but no estimate.
fn judge_sizes(plan: &Plan, design: &DesignIndex, memory: &TrialMemory, tallies: &mut [Tally]) {
    let at = plan.index(design) * plan.states;
    let sized = plan.layout.sized_reading(design.reading);
    let permuted = memory.permuted.as_ref().zip(memory.values.as_ref()).zip(sized);
    for (state, tally) in tallies[at..at + plan.states].iter_mut().enumerate() {
        tally.trials += 1;
        let test = permuted.filter(|_| state > 0);
        let test = test.and_then(|((p, values), sized)| p.test_sizes(plan, values, (design, sized), state).ok());
        match test {
            Some(test) if test.rejects(plan.study.test.alpha) => {
                tally.reject(held::passed(plan.study.test.alpha, test.p_value()));
            }
            Some(_) => {}
            None => tally.degenerate += 1,
        }
    }
}

/// Tests one design in every state.
fn judge(plan: &Plan, design: &DesignIndex, shared: &Shared, memory: &TrialMemory, tallies: &mut [Tally]) {
    if plan.comparison(design.reading, design.units) == Comparison::Sizes {
        return judge_sizes(plan, design, memory, tallies);
    }
    let study = &plan.study;
    let most = memory.most;
    let at = plan.index(design) * plan.states;
    let zones = match design.place {
        Where::Zone(zone) => zone..zone + 1,
        Where::All => 0..study.zones.len(),
    };
    let readings = plan.layout.readings.len();
    let years = study.question == Question::BeyondUsualYears;
    let alpha = study.test.alpha;
    let mut lines = ZoneEstimate::default();
    let is_fish = plan.layout.readings[design.reading].indicator.is_of_fish();
    for state in 0..plan.states {
        let mut sum = ZoneEstimate::default();
        if design.place == Where::All {
            // Where two zones share places, whole places are the replicates.
            for stratum in plan.shared_strata() {
                if let Some(values) = &memory.values {
                    sum.add(&estimate_of_places(plan, values, design, stratum, state), 1.0);
                }
            }
        }
        let (mut expected, mut list_truth, mut year_sd) = (0.0, 0.0, 0.0);
        for zone in zones.clone() {
            let weight = plan.weight(design.place, design.reading, zone);
            if weight == 0.0 {
                continue;
            }
            let cell = cell(plan, zone, design.reading, design.units, design.sites, most);
            if design.place != Where::All || !plan.shares_places(zone) {
                sum.add(&memory.estimates[cell * plan.states + state], weight);
            }
            if state == 1 {
                lines.add(&memory.line_estimates[cell], weight);
            }
            let mean = |s: usize| plan.truth(zone, (design.reading, design.units), s);
            let truth = |s: usize| memory.list_truths[(zone * readings + design.reading) * plan.states + s];
            if state == 0 {
                expected += weight * mean(0);
                list_truth += weight * truth(0);
            } else {
                expected += weight * (mean(state) - mean(0));
                list_truth += weight * (truth(state) - truth(0));
            }
            year_sd += weight * study.zones[zone].year_sd;
        }
        // A fixed list: what really took place on it is the truth. For a change the list is recentred, so that the
        // realised mean difference is the one imposed.
        let error = match study.scope {
            Scope::AllSuchReefs => sum.estimate - expected,
            Scope::TheseReefs | Scope::EachReef => sum.estimate - list_truth,
        };
        let mut estimate = expected + error;
        let mut part = sum.part();
        if years && state > 0 {
            estimate += year_sd * (shared.years[1] - shared.years[0]);
            part = satterthwaite(&[part, Part::known(2.0 * year_sd * year_sd)]);
        }
        let error = estimate - expected;
        let tally = &mut tallies[at + state];
        tally.trials += 1;
        if error.is_nan() {
            // A site on which no unit had anything to tell from.
            tally.degenerate += 1;
            continue;
        }
        tally.told += 1;
        tally.error += error;
        tally.error_square += error * error;
        tally.error_cube += error * error * error;
        tally.error_fourth += error * error * error * error;
        if state == 0 && is_fish {
            match plan.comparison(design.reading, design.units) {
                Comparison::Means(Scale::Plain) => tally.written.push(sum.estimate, list_truth),
                Comparison::Totals { .. } => tally.written.push(libm::exp(sum.estimate), list_truth),
                // A mean of logarithms or roots is no mean of fish.
                Comparison::Means(_) | Comparison::Sizes => {}
            }
        }
        if let (0, Where::Zone(zone)) = (state, design.place) {
            let cell = cell(plan, zone, design.reading, design.units, design.sites, most);
            tally.add_occupied(u64::from(memory.occupied[cell]));
        }
        // Sites are exchanged only where the scope is all such reefs, so that nothing has been recentred.
        let permuted = memory.permuted.as_ref().zip(memory.values.as_ref()).filter(|_| state > 0 && plan.permutes());
        let permuted = permuted.map(|(permuted, values)| permuted.test(plan, values, design, state));
        match TTest::new(estimate, part) {
            Some(_) if permuted.is_some_and(|answer| answer.is_err()) => tally.degenerate += 1,
            Some(test) => {
                let half_width = test.half_width(&plan.critical);
                tally.half_width += half_width;
                tally.half_width_square += half_width * half_width;
                match permuted.and_then(Result::ok) {
                    Some(test) if test.rejects(alpha) => tally.reject(held::passed(alpha, test.p_value())),
                    None if test.rejects(&plan.critical, 0.0) => {
                        tally.reject(if state > 0 { plan.ladder().passed(&test) } else { 0 });
                    }
                    _ => {}
                }
                tally.holds += u64::from(!test.rejects(&plan.critical, expected));
                if plan.is_biased(design.reading) {
                    let shift = plan.written_shift(design, state);
                    // A fixed list writes in proportion to what is on it.
                    let shift = match study.scope {
                        Scope::AllSuchReefs => shift,
                        _ if expected == 0.0 => 0.0,
                        _ => shift * list_truth / expected,
                    };
                    tally.holds_written += u64::from(!test.rejects(&plan.critical, expected + shift));
                }
            }
            None => tally.degenerate += 1,
        }
        if state == 1 && lines.variance > 0.0 {
            let test = TTest::new(lines.estimate, lines.part());
            tally.line_hits += u64::from(test.is_some_and(|test| test.rejects(&plan.critical, 0.0)));
        }
    }
}
