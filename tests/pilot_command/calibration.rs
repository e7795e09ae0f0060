//! Reefs found for components of every kind: the theory gives them back.

use reefwright::analysis::Interval;
use reefwright::pilot::{
    Component, LEAST_BETWEEN_SITES_SD, OutOfReach, PilotFit, ReefNote, Taken, Years, calibrate_reef, reefs_of_pilot,
};
use reefwright::survey::Dimensions;

const LINE: Dimensions = Dimensions::PointIntercept { length_m: 10.0, spacing_m: 0.1 };
const BELT: Dimensions = Dimensions::PhotoBelt { length_m: 10.0, width_m: 0.4, points: 300 };

fn taken(dimensions: Dimensions) -> Taken {
    Taken { dimensions, site_length_m: 100.0, site_width_m: 20.0 }
}

fn component(sd: f64) -> Component {
    let interval = Interval { low: 0.8 * sd, high: 1.3 * sd };
    Component { sd, interval_80: interval, interval_95: interval }
}

/// A fit with these SDs (shares).
fn fit(mean: f64, sites: f64, years: Option<f64>, lines: f64) -> PilotFit {
    PilotFit {
        zone: None,
        sites: 12,
        visits: if years.is_some() { 2 } else { 1 },
        years_apart: years.map(|_| 1.0),
        lines: 144,
        lines_per_site: 6.0,
        fewest_lines: 6,
        most_lines: 6,
        mean,
        mean_error: 0.02,
        between_sites: component(sites),
        site_year: years.map(component),
        year: None,
        between_lines: component(lines),
        line_in_site: None,
        points_per_line: None,
        effective_points_per_line: mean * (1.0 - mean) / (lines * lines),
        effective_points_80: Interval { low: 1.0, high: 2.0 },
        effective_points_95: Interval { low: 1.0, high: 2.0 },
        counting_sd: None,
        same_mark_correlation: None,
        correlation_by_lag: Vec::new(),
        warnings: Vec::new(),
    }
}

#[test]
fn components_come_back_for_even_and_patchy_reefs_at_low_and_high_cover() {
    let cases = [
        (0.05, 0.03, None, 0.030, LINE),
        (0.14, 0.07, Some(0.03), 0.045, BELT),
        (0.28, 0.10, Some(0.045), 0.20, LINE),
        (0.65, 0.10, Some(0.04), 0.14, Dimensions::LineIntercept { length_m: 10.0 }),
    ];
    for (mean, sites, years, lines, dimensions) in cases {
        let fit = fit(mean, sites, years, lines);
        let found = reefs_of_pilot(&[fit], &taken(dimensions), false, 1.0, |_, _| 0.01).unwrap();
        let zone = found.zones.first().unwrap_or_else(|| panic!("{mean} {lines}: {:?}", found.without));
        let gives = zone.years.gives;
        let near = |found: f64, wanted: f64| assert!((found / wanted - 1.0).abs() < 0.01, "{found} {wanted} {zone:?}");
        near(gives.between_lines, lines);
        near(gives.between_sites.hypot(gives.site_year), sites.hypot(years.unwrap_or(0.0)));
        match years {
            Some(years) => {
                assert_eq!(zone.years.years, Years::Fitted);
                near(gives.site_year, years);
                near(gives.between_sites, sites);
            }
            None => assert_eq!((zone.years.years, zone.years.site_year_sd), (Years::Assumed, 0.01)),
        }
    }
}

#[test]
fn sites_that_differ_less_than_a_reef_varies_lower_the_along_reef_part() {
    let found = reefs_of_pilot(&[fit(0.28, 0.03, None, 0.085)], &taken(LINE), false, 1.0, |_, _| 0.01).unwrap();
    let reef = &found.zones[0].reef;
    assert!(matches!(reef.notes[..], [ReefNote::AlongLowered { usual, along_sd }] if along_sd < usual), "{reef:?}");
    let gives = found.zones[0].years.gives;
    assert!((gives.between_sites.hypot(gives.site_year) / 0.03 - 1.0).abs() < 0.01, "{gives:?}");
    assert!((gives.between_lines / 0.085 - 1.0).abs() < 0.01, "{gives:?}");
}

#[test]
fn a_spread_of_sites_that_cannot_be_told_from_nil_is_that_of_the_reefs_own_patches() {
    let reef = calibrate_reef(&fit(0.28, 0.0, None, 0.15), &taken(LINE)).unwrap();
    assert!(reef.reef.along.sd < 0.05, "{reef:?}");
    assert!(reef.notes.iter().any(|note| matches!(note, ReefNote::SitesStillDiffer { .. })), "{reef:?}");
    assert!(reef.between_sites_sd >= LEAST_BETWEEN_SITES_SD, "{reef:?}");
}

#[test]
fn lines_more_even_than_a_reef_without_patches_have_smaller_colonies() {
    let found = reefs_of_pilot(&[fit(0.28, 0.08, None, 0.057)], &taken(LINE), false, 1.0, |_, _| 0.01).unwrap();
    let reef = &found.zones[0].reef;
    assert!(reef.notes.iter().any(|note| matches!(note, ReefNote::SizesReduced { .. })), "{reef:?}");
    assert_eq!(reef.reef.patch.sd, 0.0);
    assert!((found.zones[0].years.gives.between_lines / 0.057 - 1.0).abs() < 0.01, "{found:?}");
}

#[test]
fn what_no_reef_can_be_is_said_with_the_limit() {
    let reason = |fit: PilotFit| calibrate_reef(&fit, &taken(LINE)).unwrap_err();
    let even = reason(fit(0.28, 0.08, None, 0.02));
    assert!(matches!(even, OutOfReach::LinesTooEven { found, least } if found < least), "{even}");
    let patchy = reason(fit(0.28, 0.08, None, 0.40));
    assert!(matches!(patchy, OutOfReach::LinesTooPatchy { found, most } if found > most), "{patchy}");
    assert!(matches!(reason(fit(0.28, 0.43, None, 0.08)), OutOfReach::SitesTooFar { .. }));
    assert_eq!(reason(fit(0.0, 0.0, None, 0.0)), OutOfReach::NoCoral);
    assert_eq!(reason(fit(0.3, 0.1, None, 0.0)), OutOfReach::LinesDoNotVary);
}
