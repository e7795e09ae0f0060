//! Synthetic test data: a report with invented numbers that look like real ones, for the tests of the renderers only.

use super::report::{Report, SCHEMA_VERSION};
use super::synthetic_reef::{picture, sizes};
use crate::engine::{Row, SiteCount};
use crate::planner::{
    AnimalSearch, Answer, Fate, FishBias, MapCell, Needed, Note, PictureAnimal, PictureAnimals, PictureColony,
    PictureSet, PictureUnit, ReefPicture, ReefRange, SearchChance, Sensitivity, Warning,
};
use crate::random::{Key, Purpose, normal_cdf};
use crate::scenario::{Assumption, Matter, Origin};
use crate::survey::Dimensions;
use crate::theory::fish::{BiasCause, BiasPart};

const HEADLINE: [&str; 5] = [
    "Same 14 sites, 10 m lines at new places: 5 lines a site see a fall from 28 to 22 % (6 points, 21 % of what was \
     there) 4 times in 5 on the outer terrace.",
    "3 lines if the reef is as even as an outer slope; about 19 if as patchy as a rubble slope (site x year 2.2 points, \
     given).",
    "Six lines see it in 84 of 100.",
    "It tells a real difference between these two visits, not a lasting decline from a bad year.",
    "Measure first: how lines differ within one reef.",
];

const SITES: [usize; 3] = [6, 10, 14];
const UNITS: std::ops::RangeInclusive<usize> = 1..=12;
const SEEN: f64 = 0.8;
const TRIALS: u64 = 1600;

/// Name, cover, variance of one 10 m line, and the share of the change.
const ZONES: [(&str, f64, f64); 3] =
    [("outer terrace", 0.28, 0.011), ("back slope", 0.19, 0.0085), ("lagoon gardens", 0.35, 0.048)];
/// Every zone's own cover moves by these ratios.
const RATIOS: [f64; 2] = [22.0 / 28.0, 24.0 / 28.0];

fn dimensions() -> Vec<(&'static str, Dimensions)> {
    let mut all = Vec::new();
    for length_m in [10.0, 20.0] {
        for spacing_m in [0.1, 0.5] {
            all.push(("point_intercept", Dimensions::PointIntercept { length_m, spacing_m }));
        }
    }
    all.push(("line_intercept", Dimensions::LineIntercept { length_m: 10.0 }));
    all.push(("photo_belt", Dimensions::PhotoBelt { length_m: 10.0, width_m: 0.5, points: 200 }));
    all
}

/// Variance of one unit against that of a 10 m line read every 10 cm, and its minutes.
fn worth(dimensions: Dimensions) -> (f64, f64) {
    match dimensions {
        Dimensions::PointIntercept { length_m, spacing_m } => (
            (10.0 / length_m).powf(0.8) * (1.0 + 0.35 * (spacing_m - 0.1)),
            length_m * 0.3 + 0.12 * length_m / spacing_m,
        ),
        Dimensions::LineIntercept { .. } => (0.95, 25.0),
        Dimensions::PhotoBelt { .. } | Dimensions::PhotoQuadrats { .. } => (0.8, 9.0),
        Dimensions::InvertebrateBelt { .. }
        | Dimensions::CoralBelt { .. }
        | Dimensions::RecruitQuadrats { .. }
        | Dimensions::FishBelt { .. }
        | Dimensions::FishPointCount { .. }
        | Dimensions::Components => (1.0, 10.0),
    }
}

fn se_of_change(line_variance: f64, dimensions: Dimensions, sites: usize, units: usize) -> f64 {
    let site_year = 2.0 * 0.022f64.powi(2);
    ((site_year + 2.0 * line_variance * worth(dimensions).0 / units as f64) / sites as f64).sqrt()
}

fn power_of(change: f64, se: f64, sites: usize) -> f64 {
    normal_cdf(change.abs() / se - 1.96 - 2.4 / (sites as f64 - 1.0))
}

fn row(zone: (&str, f64, f64), design: (&str, Dimensions), sites: usize, units: usize, ratio: f64) -> Row {
    let (name, cover, line_variance) = zone;
    let se = se_of_change(line_variance, design.1, sites, units);
    let theory = power_of(cover * (1.0 - ratio), se, sites);
    let wobble = Key::seed(name.len() as u64 * 100 + units as u64 + sites as u64 * 13).uniform(Purpose::Test, 1) - 0.5;
    let error = (theory * (1.0 - theory) / TRIALS as f64).sqrt().max(0.001);
    Row {
        indicator: "hard_coral".into(),
        unit: "share".into(),
        zone: name.into(),
        method: design.0.into(),
        dimensions: design.1,
        sites: SiteCount::new(vec![sites]),
        units,
        same_sites: Some(true),
        same_places: Some(false),
        change_from: Some(cover),
        change_to: Some(cover * ratio),
        deaths: None,
        mean: Some(cover),
        written: None,
        written_over_there: None,
        test: Some("paired_t".into()),
        scale: None,
        error_factor: None,
        ratio_factor: None,
        change_of: None,
        trials: TRIALS,
        power: Some((theory + 3.0 * wobble * error).clamp(0.0, 1.0)),
        power_error: Some(error),
        power_held: None,
        power_held_error: None,
        held_level: None,
        false_alarm: Some(0.05 + 0.012 * wobble),
        false_alarm_error: Some(0.0054),
        false_alarm_marked: false,
        lines_as_replicates_false_alarm: Some(0.13),
        theory_power: Some(theory),
        theory_parts: false,
        detectable: Some(2.9 * se),
        se: Some(se),
        se_error: Some(se / 56.0),
        theory_se: Some(se * 0.995),
        cv: Some(se / cover / 2f64.sqrt()),
        half_width: Some(2.2 * se),
        interval_truth: Some(0.949),
        interval_truth_error: Some(0.0055),
        interval_written: None,
        interval_written_error: None,
        bias: Some(0.0002 * wobble),
        bias_error: Some(0.0003),
        degenerate: 0,
        minutes: units as f64 * worth(design.1).1 + 3.0 * (units as f64 - 1.0),
        ashore_minutes: None,
    }
}

fn needed(rows: &[Row]) -> Vec<Needed> {
    let mut all: Vec<Needed> = Vec::new();
    for first in rows.iter().filter(|row| row.units == 1) {
        let series = |units: usize| {
            rows.iter().find(|row| {
                let same = |r: &Row| (r.zone.clone(), r.dimensions, r.sites.clone(), r.change_to);
                row.units == units && row.method == first.method && same(row) == same(first)
            })
        };
        let power = |units| series(units).and_then(|row: &Row| row.theory_power).unwrap_or(0.0);
        let units = UNITS.clone().find(|&units| power(units) >= SEEN);
        all.push(Needed {
            indicator: first.indicator.clone(),
            zone: first.zone.clone(),
            method: first.method.clone(),
            dimensions: first.dimensions,
            sites: first.sites.clone(),
            change_from: first.change_from.unwrap(),
            change_to: first.change_to.unwrap(),
            deaths: None,
            units,
            units_low: units.map(|units| units.saturating_sub(1).max(1)),
            units_high: units.map(|units| units + 1),
            theory_units: units,
            ceiling: power(12) * 0.5 + 0.5,
            held: false,
            confirmed: units.map_or(vec![], |n| vec![(n, power(n) + 0.004, 0.005)]),
        });
    }
    all
}

fn ranges() -> Vec<ReefRange> {
    let reef = |zone: &str, reef: &str, phrase: &str, units, is_chosen, refused: Option<&str>| ReefRange {
        zone: zone.into(),
        reef: reef.into(),
        phrase: phrase.into(),
        units,
        is_chosen,
        refused: refused.map(String::from),
    };
    let mut all = Vec::new();
    for (zone, chosen, factor) in [("outer terrace", "fore_reef", 10), ("lagoon gardens", "lagoon_bommies", 14)] {
        let is = |name| name == chosen;
        let units = |tenths: usize| Some((tenths * factor).div_ceil(100));
        all.push(reef(zone, "outer_slope", "as even as an outer slope", units(30), is("outer_slope"), None));
        all.push(reef(zone, "fore_reef", "like a common fore reef", units(50), is("fore_reef"), None));
        all.push(reef(zone, "low_cover_hard_ground", "like hard ground with few corals", units(60), false, None));
        all.push(reef(zone, "patchy_fore_reef", "like a patchy fore reef", units(90), false, None));
        all.push(reef(zone, "rubble_slope", "as patchy as a rubble slope", units(190), false, None));
        let why = "its along-reef variation alone exceeds the spread between sites";
        all.push(reef(zone, "dense_coral_garden", "like a dense coral garden", None, false, Some(why)));
        let bommies = if factor == 10 { None } else { units(260) };
        all.push(reef(zone, "lagoon_bommies", "as patchy as lagoon bommies", bommies, is("lagoon_bommies"), None));
    }
    all
}

fn sensitivity() -> Vec<Sensitivity> {
    let one = |zone: &str, component: &str, smaller, as_given, larger| Sensitivity {
        zone: zone.into(),
        component: component.into(),
        smaller,
        as_given,
        larger,
    };
    vec![
        one("outer terrace", "how lines differ within one reef", Some(2), Some(5), Some(11)),
        one("outer terrace", "how the change differs between sites", Some(4), Some(5), Some(8)),
        one("outer terrace", "how sites vary from year to year", Some(4), Some(5), None),
        one("outer terrace", "how people differ", Some(5), Some(5), Some(6)),
        one("lagoon gardens", "how lines differ within one reef", Some(5), Some(11), Some(24)),
        one("lagoon gardens", "how sites vary from year to year", Some(9), Some(11), Some(16)),
        one("lagoon gardens", "how people differ", Some(11), Some(11), Some(11)),
    ]
}

fn map() -> Vec<MapCell> {
    let mut cells = Vec::new();
    for (name, cover, variance) in ZONES {
        for sites in 2..=20 {
            for units in UNITS {
                let se = se_of_change(variance, dimensions()[0].1, sites, units);
                let power = power_of(cover * (1.0 - RATIOS[0]), se, sites);
                cells.push(MapCell { zone: name.into(), sites, units, power });
            }
        }
    }
    cells
}

/// The report on which figures, tables and pages are developed.
pub fn report() -> Report {
    let mut rows = Vec::new();
    for zone in ZONES.into_iter().chain([("all", 0.27, 0.006)]) {
        for design in dimensions() {
            for sites in SITES {
                for ratio in RATIOS {
                    rows.extend(UNITS.map(|units| row(zone, design, sites, units, ratio)));
                }
            }
        }
    }
    let warning = |what: &str, remedy: &str| Warning { what: what.into(), remedy: remedy.into() };
    let assumption = |about: &str, value: &str, origin| Assumption {
        matter: Matter::Life,
        about: about.into(),
        value: value.into(),
        origin,
    };
    Report {
        title: "Sorrel Atolls, first and third year".into(),
        version: "0.1.0".into(),
        schema_version: SCHEMA_VERSION,
        seed: 20_260,
        scenario_text: "title = \"Sorrel Atolls, first and third year\"   # invented\nstatement_about = \"all_such_reefs\"\n\n[[zone]]\nname = \"outer terrace\"\nsites = [6, 10, 14]\ncover_percent = 28\n".into(),
        scenario: serde_json::json!({"title": "Sorrel Atolls, first and third year", "scope": "all_such_reefs"}),
        seen: SEEN,
        alpha: 0.05,
        answer: Answer {
            headline_of: None,
            headline: HEADLINE.map(String::from).to_vec(),
            needed: needed(&rows),
            rows,
            ranges: ranges(),
            sensitivity: sensitivity(),
            map: map(),
            fish_bias: Vec::new(),
            animals: vec![],
            warnings: vec![
                warning(
                    "If the lines were taken as the replicates, a change would be reported in 13 of 100 pairs of visits without any.",
                    "Average the lines of a site first; the site is the replicate of a statement about all such reefs.",
                ),
                warning(
                    "In the lagoon gardens 6 sites do not see a fall from 35 to 30 % four times in five with any number of lines up to 12.",
                    "Take 14 sites, or return to the same marks.",
                ),
            ],
            notes: vec![Note {
                about: "Unseen before".into(),
                text: "Of 100 colonies 4 were there before, under others.".into(),
            }],
            interrupted: false,
        },
        assumptions: vec![
            assumption("outer terrace: patches of coral", "as on a common fore reef", Origin::Assumed),
            assumption("minutes to lay and read a line", "3 and 12 min", Origin::Assumed),
            assumption("outer terrace: spread between sites", "8 points", Origin::MyWords("most sites lie between 20 and 36".into())),
            assumption("site by year", "2.2 points", Origin::Published("Marlow & Quist 2031, table 2 (invented)".into())),
            assumption("lagoon gardens: lines of one reef differ by", "22 points", Origin::Pilot("12 sites, 48 lines".into())),
        ],
        methods_text: vec![
            "Power was estimated by simulation: virtual reefs were surveyed twice and the two visits compared by a paired t test on site means (two-sided, alpha 0.05; 1600 trials a design, standard error of a power near 0.8: 0.01).".into(),
            "Every number above comes from this run (reefwright 0.1.0, seed 20260).".into(),
        ],
        pictures: vec![picture("outer terrace", 26_000), picture("lagoon gardens", 9_000)],
        sizes: vec![sizes("outer terrace"), sizes("lagoon gardens")],
    }
}

/// One zone, a broad site with crowded belts and long names: what is hard to lay out.
pub fn crowded_report() -> Report {
    let mut report = report();
    report.answer.rows.retain(|row| row.zone == "outer terrace");
    report.answer.map.retain(|cell| cell.zone == "outer terrace");
    let row = report.answer.rows[0].clone();
    for ratio in [0.5, 0.55, 0.6, 0.65, 0.7, 1.2] {
        let change_to = row.change_from.map(|from| from * ratio);
        let rows = UNITS.map(|units| Row {
            units,
            sites: SiteCount::new(vec![14]),
            change_to,
            power: Some(0.99),
            ..row.clone()
        });
        report.answer.rows.extend(rows);
    }
    let picture = &mut report.pictures[1];
    (picture.length_m, picture.width_m) = (25.0, 20.0);
    picture.zone = "the seaward margin of the second lagoon behind the northern pass".into();
    picture.categories = (1..=9).map(|number| format!("rather long category {number}")).collect();
    picture.units = (0..8)
        .map(|number| PictureUnit {
            on: None,
            set: number,
            frames: if number % 3 == 2 { vec![(0.5, 1.2), (6.0, 6.7)] } else { vec![] },
            from: (2.0 + number as f64, 4.0 + 0.9 * number as f64),
            to: (12.0 + number as f64, 4.0 + 0.9 * number as f64),
            width_m: 0.5,
            label: format!("belt {}", number + 1),
        })
        .collect();
    picture.sets = (0..8)
        .map(|_| PictureSet {
            on: None,
            methods: vec![("coral_belt".into(), Dimensions::CoralBelt { length_m: 10.0, width_m: 0.5 })],
        })
        .collect();
    picture.animals = (0..6)
        .map(|kind| PictureAnimals {
            name: format!("animal {kind}"),
            places: (0..90)
                .map(|n| PictureAnimal { x: (n % 25) as f32, y: (n % 19 + kind) as f32, is_hidden: n % 4 == 0 })
                .collect(),
        })
        .collect();
    report
}

/// The report of a search for two kinds of animals, one of them nearly everywhere.
pub fn animals_report() -> Report {
    let search = |indicator: &str, zone: &str, density: f64| {
        let none = |area: f64| libm::exp(-density * area);
        let chances = [8, 14].into_iter().flat_map(|sites| [2, 6, 12].map(|units| (sites, units)));
        let chance = |(sites, units): (usize, usize)| {
            let area_m2 = 20.0 * (sites * units) as f64;
            SearchChance {
                sites,
                units,
                area_m2,
                met: 1.0 - none(area_m2),
                met_simulated: 1.0 - none(area_m2),
                met_simulated_error: 0.01,
                units_to_meet: (density > 1e-3).then_some(9 * 14 / sites),
                met_on_one_site: 1.0 - none(area_m2 / sites as f64),
                upper_limit_per_ha: Some(3e4 / area_m2),
            }
        };
        AnimalSearch {
            indicator: indicator.into(),
            zone: zone.into(),
            method: "invertebrate_belt".into(),
            dimensions: Dimensions::InvertebrateBelt { length_m: 10.0, width_m: 2.0 },
            unit_area_m2: 20.0,
            occupied: 1.0 - none(20.0),
            occupied_simulated: 1.0 - none(20.0),
            occupied_simulated_error: 0.004,
            most_sites: 14,
            units_to_meet: (density > 1e-3).then_some(9),
            chances: chances.map(chance).collect(),
        }
    };
    let mut report = report();
    report.answer.animals = vec![
        search("slate_urchin", "outer terrace", 0.005),
        search("slate_urchin", "lagoon <gardens> with a long name", 0.0012),
        search("giant_clam", "outer terrace", 0.0003),
    ];
    report
}

/// Groups of fish counted in several kinds of units, each off by causes of its own.
pub fn fish_report(groups: usize, kinds: usize) -> Report {
    use BiasCause::*;
    const NAMES: [&str; 10] = [
        "parrotfish",
        "surgeonfish",
        "coral_grouper",
        "damselfish",
        "triggerfish",
        "butterflyfish",
        "snapper",
        "wrasse",
        "rabbitfish",
        "goby_of_the_rubble_holes",
    ];
    let causes = [Movement, AfterDivers, Width, Hidden, Distance, Reaction, Size, LengthError, Classes];
    let bias = |kind: usize, group: usize| {
        let part = |(number, cause): (usize, BiasCause)| {
            // Steps of a number that looks like chance.
            let step = ((group * 7 + number * 5 + kind * 3) % 11) as f64 / 11.0;
            let density = match cause {
                Movement => 1.0 + 1.6 * step / (1 + kind) as f64,
                AfterDivers => 1.0,
                Width => 0.9 + 0.25 * step,
                Hidden if group % 4 == 1 => 0.6,
                Hidden => 1.0,
                Distance => 1.0 - 0.4 * step,
                Reaction => 1.2 - 0.6 * step,
                Size => 1.0 - 0.3 * step,
                LengthError | Classes => 1.0,
            };
            let biomass = match cause {
                Size => 1.0 - 0.05 * step,
                LengthError => 1.0 + 0.2 * step,
                Classes => 1.0 + 0.03 * step,
                _ => density,
            };
            BiasPart { cause, density, biomass }
        };
        let parts: Vec<BiasPart> = causes.into_iter().enumerate().map(part).collect();
        let density = parts.iter().map(|part| part.density).product();
        let dimensions = match kind {
            0 | 1 => Dimensions::FishBelt { length_m: 30.0, width_m: [2.0, 5.0][kind], swim_minutes: 8.0 },
            _ => Dimensions::FishPointCount { radius_m: 5.5 + kind as f64, count_minutes: 5.0 },
        };
        FishBias {
            group: match group / NAMES.len() {
                0 => NAMES[group].into(),
                more => format!("{}_{more}", NAMES[group % NAMES.len()]),
            },
            zone: ZONES[0].0.into(),
            method: if kind < 2 { "fish_belt".into() } else { "fish_point_count".into() },
            dimensions,
            density,
            biomass: parts.iter().map(|part| part.biomass).product(),
            density_simulated: Some(density),
            density_simulated_error: Some(0.01 * density),
            biomass_simulated: None,
            biomass_simulated_error: None,
            theory_parts: false,
            parts,
        }
    };
    let mut report = report();
    report.answer.fish_bias =
        (0..kinds).flat_map(|kind| (0..groups).map(move |group| (kind, group))).map(|(k, g)| bias(k, g)).collect();
    report
}

/// Nothing was asked and nothing came out.
pub fn empty_report() -> Report {
    let answer = Answer {
        headline_of: None,
        headline: vec![],
        rows: vec![],
        needed: vec![],
        ranges: vec![],
        sensitivity: vec![],
        map: vec![],
        animals: vec![],
        fish_bias: vec![],
        warnings: vec![],
        notes: vec![],
        interrupted: true,
    };
    Report {
        answer,
        assumptions: vec![],
        methods_text: vec![],
        pictures: vec![],
        sizes: vec![],
        title: String::new(),
        ..report()
    }
}

/// A status question of one design: no change, no test, no theory.
pub fn single_row_report() -> Report {
    let mut report = empty_report();
    let bare = Row {
        change_from: None,
        change_to: None,
        deaths: None,
        test: None,
        same_sites: None,
        same_places: None,
        power: None,
        power_error: None,
        false_alarm: None,
        false_alarm_error: None,
        lines_as_replicates_false_alarm: None,
        theory_power: None,
        theory_se: None,
        detectable: None,
        ..row(ZONES[0], dimensions()[0], 1, 1, 0.8)
    };
    report.answer.rows.push(bare);
    report
}

/// Numbers that no survey has: not numbers, endless, huge, tiny, in every place that takes one.
pub fn extreme_reports() -> Vec<Report> {
    [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 1e-300, 0.0].into_iter().map(extreme_report).collect()
}

fn extreme_report(value: f64) -> Report {
    let mut report = report();
    let strange = Some(value);
    report.answer.rows.truncate(40);
    for row in report.answer.rows.iter_mut().step_by(2) {
        (row.power, row.power_error, row.false_alarm, row.false_alarm_error) = (strange, strange, strange, strange);
        (row.theory_power, row.detectable, row.se, row.theory_se) = (strange, strange, strange, strange);
        (row.cv, row.half_width, row.bias, row.interval_truth) = (strange, strange, strange, strange);
        row.minutes = value;
    }
    for cell in report.answer.map.iter_mut().step_by(3) {
        cell.power = value;
    }
    for needed in &mut report.answer.needed {
        (needed.ceiling, needed.units) = (value, Some(usize::MAX));
    }
    for (index, range) in report.answer.ranges.iter_mut().enumerate() {
        range.units = [Some(0), Some(usize::MAX), None][index % 3];
    }
    for swing in &mut report.answer.sensitivity {
        (swing.smaller, swing.larger) = (Some(0), Some(usize::MAX));
    }
    for picture in &mut report.pictures {
        picture.colonies.truncate(30);
        let (x, y, radius) = (value as f32, value as f32, value as f32);
        picture.colonies[0] = PictureColony { x, y, radius, is_covered: false, fate: Fate::There, id: 0 };
        picture.units[0].to = (value, value);
        picture.units[1].width_m = value;
    }
    report.pictures[0].grid_columns = 0;
    report.pictures[1].grid_m = value;
    report.pictures.push(ReefPicture { length_m: value, width_m: value, ..report.pictures[1].clone() });
    report.pictures.push(ReefPicture { length_m: 0.0, width_m: 0.0, ..report.pictures[1].clone() });
    report
}
