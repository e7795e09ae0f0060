//! Sites whose colonies differ: what belts write there is what could be written, and in the mean what is true of the site.

use super::plan::Plan;
use super::sheet::Sheet;
use super::survey_site::Scratch;
use crate::design::{ColonyVariation, Places, SiteSpread};
use crate::random::{Key, Purpose};
use crate::reef::{NamedReef, Visit};
use crate::survey::coral_belt::CoralBelt;
use crate::survey::{MethodKind, Placement};
use crate::theory::ZoneTheory;

const SHARES: [&str; 5] = [
    "colonies_of_2_to_5_cm",
    "colonies_of_20_to_40_cm",
    "colonies_of_40_to_80_cm",
    "colonies_with_dead_parts",
    "colony_live_share",
];

/// As far apart as the sites of open records, dead parts rare.
fn plan() -> Plan {
    let mut study = super::placement_tests::study(Placement::default(), Places::NewPlaces);
    let zone = &mut study.zones[0];
    (zone.reef_name, zone.reef) = (NamedReef::ForeReef.name().into(), NamedReef::ForeReef.spec());
    (zone.length_m, zone.width_m, zone.between_sites_sd) = (100.0, 20.0, 0.05);
    zone.partial_mortality.log_odds = crate::reef::colonies::log_odds(0.06);
    zone.colony_variation = ColonyVariation {
        ln_diameter: SiteSpread { between_sites: 0.5, site_year: 0.3 },
        dead_parts: SiteSpread { between_sites: 0.03, site_year: 0.01 },
    };
    study.also_report = SHARES.iter().chain(&["colony_mean_diameter"]).map(|name| (*name).to_owned()).collect();
    let classes_m = vec![0.02, 0.05, 0.1, 0.2, 0.4, 0.8];
    let belt = CoralBelt::default();
    study.methods.truncate(1);
    study.methods[0].units = vec![6];
    study.methods[0].kind =
        MethodKind::CoralBelt { length_m: vec![10.0], width_m: vec![1.0], belt, classes_m, growth_m: 0.015 };
    let theory = ZoneTheory::new(&study, &study.zones[0]).expect("a reef within reach");
    Plan::new(study, vec![theory])
}

#[test]
fn no_site_has_a_share_below_none_and_belts_write_what_is_true_of_it() {
    let plan = plan();
    let survey = plan.survey(0);
    let (mut sheet, mut scratch) = (Sheet::new(&plan.layout, plan.states), Scratch::default());
    // For each reading, differences of what six belts write and what is true of the site, and the truths.
    let mut off = vec![Vec::new(); plan.layout.readings.len()];
    let mut truths = off.clone();
    for site in 0..400 {
        let key = Key::seed(11).child(Purpose::Site, site);
        let mut reef = survey.reef.site(key);
        survey.read(key, &mut reef, Visit::First, &mut sheet, &mut scratch);
        survey.truths(key, &mut reef, Visit::First, &mut sheet);
        for (c, column) in plan.layout.columns.iter().enumerate() {
            let name = plan.layout.readings[column.reading].indicator.name();
            let units = &sheet.units(c, 0)[..column.units];
            let truth = sheet.truth(column.reading, 0);
            if SHARES.contains(&name) {
                assert!((0.0..=1.0).contains(&truth), "{name}: {truth}");
                assert!(units.iter().all(|unit| unit.is_nan() || (0.0..=1.0).contains(unit)), "{name}: {units:?}");
            }
            let seen: Vec<f64> = units.iter().copied().filter(|unit| unit.is_finite()).collect();
            off[column.reading].push(seen.iter().sum::<f64>() / seen.len() as f64 - truth);
            truths[column.reading].push(truth);
        }
    }
    for (r, reading) in plan.layout.readings.iter().enumerate() {
        let name = reading.indicator.name();
        let moments = plan.moments(0, r);
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let sd = |values: &[f64]| {
            let about = mean(values);
            (values.iter().map(|value| (value - about).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt()
        };
        let error = |values: &[f64]| sd(values) / (values.len() as f64).sqrt();
        let (found, truth) = (&off[r], &truths[r]);
        let bias = moments.mean[0] - moments.truth[0];
        let slack = 0.002 * moments.mean[0];
        assert!((mean(found) - bias).abs() < 4.5 * error(found) + slack, "{name}: {} {bias}", mean(found));
        assert!((mean(truth) - moments.truth[0]).abs() < 4.5 * error(truth), "{name}: {} {moments:?}", mean(truth));
        // The SD of 400 truths that are skewed: to a fifth.
        let exact = moments.site_truth[0].sqrt();
        assert!((sd(truth) / exact - 1.0).abs() < 0.2, "{name}: {} {exact}", sd(truth));
    }
}
