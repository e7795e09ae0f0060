//! How fish are told: amounts of what is there, intervals that miss it, the best method first, what is never counted.

use super::*;
use reefwright::engine::{Plan, Row, Until, Watch};
use reefwright::planner::{Answer, Effort, rows, solve};
use std::sync::atomic::AtomicBool;

fn solved(plan: &Plan, number: u64) -> Answer {
    let effort = Effort { seed: 3, until: Until::Trials(number), confirm_error: None, with_range: false };
    let never = AtomicBool::new(false);
    solve(plan, &effort, &Watch { progress: &|_, _| (), interrupted: &never })
}

/// Lone fish that stay, of which `seen` are counted, in belts of 30 x 2 and 30 x 5 m.
fn of_which_are_seen(seen: f64, scale: SiteScale) -> Study {
    let mut study = studies::study();
    study.zones[0].sites = vec![8];
    study.zones[0].length_m = 100.0;
    study.zones[0].width_m = 40.0;
    let mut parrotfish = group("parrotfish", 8.0, SchoolLaw::Alone, Movement::Still);
    parrotfish.spec.sighting = Sighting { seen, ..Sighting::ALL };
    study.zones[0].fish = vec![parrotfish];
    study.changes = vec![fall("parrotfish", 8.0, 4.0)];
    study.test.scale = scale;
    let MethodSpec { kind, minutes, .. } = fish_belts(CountingRule::Abreast, &[1]);
    let MethodKind::FishBelt { length_m, width_m, swim_minutes, rule, count, .. } = kind else { unreachable!() };
    let count = FishCount { width: WidthReader::EXACT, ..count };
    let kind = MethodKind::FishBelt { length_m, width_m, swim_minutes, rule, count, way_back: None };
    study.methods = vec![MethodSpec { kind, minutes, units: vec![4] }];
    study
}

fn told(study: Study, number: u64) -> Vec<Row> {
    let plan = plan(study);
    rows(&plan, &trials(&plan, 5, number))
}

/// Amounts are those of what is written over the bias; what is relative has none.
#[test]
fn amounts_are_of_what_is_there() {
    let study = of_which_are_seen(0.5, SiteScale::Plain);
    let plan = plan(study);
    let all = rows(&plan, &trials(&plan, 5, 40));
    for (row, design) in all.iter().zip(plan.all_designs()).filter(|(row, _)| row.indicator == "parrotfish") {
        let theory = plan.theory(&design, 2);
        let factor = row.written_over_there.unwrap();
        assert!((factor - 0.5).abs() < 1e-9 && (row.mean.unwrap() - 8.0).abs() < 1e-9, "{row:?}");
        assert!((row.written.unwrap() - 4.0).abs() < 1e-9);
        assert!((row.theory_se.unwrap() * factor / theory.total_se() - 1.0).abs() < 1e-9);
        let written = theory.detectable(-1.0, plan.study.test.seen, &plan.critical).unwrap();
        assert!((row.detectable.unwrap() * factor / written - 1.0).abs() < 1e-9);
        // The error over the mean is that of the interval: of what is there, both; t of seven degrees of freedom, and the
        // error of forty trials.
        let reach = row.half_width.unwrap() / (row.cv.unwrap() * row.mean.unwrap());
        assert!((reach / 2.365 - 1.0).abs() < 4.0 / (2.0 * 40f64).sqrt(), "{reach}");
        assert!(row.half_width.unwrap() > row.theory_se.unwrap());
        // The bias of the change is told as written: half of the fall is missed.
        assert!((row.bias.unwrap() - 2.0).abs() < 4.0 * row.bias_error.unwrap());
    }
}

/// A change as large as the detectable one is seen as often as was asked, whatever is overlooked, on any scale, and of groups
/// together that are counted unlike each other.
#[test]
fn a_change_as_large_as_the_detectable_one_is_seen_so_often() {
    let mut together = of_which_are_seen(0.5, SiteScale::Plain);
    let mut fusilier = group("fusilier", 6.0, SchoolLaw::Alone, Movement::Straight { speed_m_s: 0.1 });
    fusilier.spec.sighting = Sighting::ALL;
    together.zones[0].fish.push(fusilier);
    let ln = SiteScale::Ln { plus: Plus::Value(0.1) };
    let root = SiteScale::SquareRoot { plus: Plus::Value(0.1) };
    let studies = [SiteScale::Plain, ln, root].map(|scale| of_which_are_seen(0.5, scale));
    for (number, study) in studies.into_iter().chain([together]).enumerate() {
        // From a change near the detectable one, so that variances are those of the change.
        let mut to = 4.0;
        for round in 0..4 {
            let mut study = study.clone();
            study.changes = vec![fall("parrotfish", 8.0, to)];
            let of = |row: &&Row| row.indicator == if number < 3 { "parrotfish" } else { "fish_density" };
            let all = told(study, 2);
            let row = all.iter().find(of).unwrap_or(&all[0]);
            if round == 3 {
                let power = row.theory_power.unwrap();
                assert!((power - 0.8).abs() < 0.02, "{number}: {power} with {row:?}");
            }
            to = 8.0 - row.detectable.unwrap();
        }
    }
}

/// Where half of the fish are overlooked the interval is about another number: that is said, with why and what to do. Where all
/// are seen nothing is said.
#[test]
fn intervals_that_miss_because_of_bias_ring_and_others_do_not() {
    let about_bias = |answer: &Answer| {
        let rings = |warning: &&reefwright::planner::Warning| warning.what.contains("about what the method writes");
        answer.warnings.iter().find(rings).cloned()
    };
    let mut study = of_which_are_seen(0.3, SiteScale::Plain);
    study.zones[0].fish[0].spec.places.between_sites = BetweenSites::Share(0.2);
    study.zones[0].fish[0].spec.places.site_year = BetweenSites::Share(0.1);
    study.methods[0].units = vec![8];
    let mut exact = study.clone();
    exact.zones[0].fish[0].spec.sighting = Sighting::ALL;
    let answer = solved(&plan(study), 100);
    let warning = about_bias(&answer).expect("a warning");
    assert!(warning.what.contains("0.3 times what is there"), "{}", warning.what);
    assert!(warning.remedy.contains("ratio of the two visits"), "{}", warning.remedy);
    for row in &answer.rows {
        assert!(row.interval_truth.unwrap() < 0.7 && row.interval_written.unwrap() > 0.87, "{row:?}");
    }
    let answer = solved(&plan(exact), 100);
    assert!(about_bias(&answer).is_none(), "{:?}", answer.warnings);
    for row in answer.rows.iter().filter(|row| row.indicator == "parrotfish") {
        assert_eq!(row.interval_truth, row.interval_written);
    }
}

/// The headline speaks of the method that takes the least minutes, says so, and says how far off its number is; a group that a
/// point count never sees is told with nought.
#[test]
fn the_headline_speaks_of_the_best_method_and_of_its_bias() {
    let mut study = of_which_are_seen(0.5, SiteScale::Plain);
    study.zones[0].sites = vec![20];
    study.changes = vec![fall("parrotfish", 8.0, 3.0)];
    let mut blenny = group("blenny", 3.0, SchoolLaw::Alone, Movement::Still);
    blenny.hides = true;
    study.zones[0].fish.push(blenny);
    let point =
        MethodKind::FishPointCount { radius_m: vec![7.5], minutes: vec![5.0], whole_period: false, count: count() };
    study.methods[0].units = vec![1, 2, 4, 8];
    study.methods.push(MethodSpec { kind: point, ..belts(15.0, 15.0, 1, &[1, 2, 4]) });
    let answer = solved(&plan(study), 60);
    let minutes = |row: &Row| Some((row.power? >= 0.0).then_some(row.minutes)? / row.units as f64);
    let first = answer.headline_of.clone().expect("a method");
    let asked = answer.needed.iter().filter(|needed| needed.indicator == "parrotfish");
    let cost = |needed: &reefwright::planner::Needed| {
        let row = answer.rows.iter().find(|row| row.method == needed.method && row.dimensions == needed.dimensions);
        Some(needed.units? as f64 * minutes(row?)?)
    };
    let best = asked.min_by(|one, other| cost(one).unwrap_or(1e9).total_cmp(&cost(other).unwrap_or(1e9)));
    let best = best.unwrap();
    assert_eq!((&first.method, first.dimensions), (&best.method, best.dimensions));
    let text = answer.headline.join(" ");
    assert!(text.contains("least minutes a site") && text.contains("of 100 parrotfish they write 5"), "{text}");
    // Neither the two belts, which have no way back, nor the point count.
    let never: Vec<_> = answer.fish_bias.iter().filter(|bias| bias.density == 0.0).collect();
    assert!(never.len() == 3 && never.iter().all(|bias| bias.group == "blenny" && bias.density_simulated.is_none()));
    assert!(never.iter().any(|bias| bias.method == "fish_point_count"));
    for bias in answer.fish_bias.iter().filter(|bias| bias.group == "parrotfish") {
        let (ratio, error) = (bias.density_simulated.unwrap(), bias.density_simulated_error.unwrap());
        assert!((ratio - bias.density).abs() < 4.0 * error, "{ratio} {error} {}", bias.density);
    }
}
