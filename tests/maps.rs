//! Units laid on mapped reefs, against counts on the map.
//!
//! Open data where they are present (the folder named by `REEFWRIGHT_DATA`, else `../shared/data`): mapped points of sessile
//! organisms, Baddeley, Turner & Rubak, spatstat.data: bramblecanes (9 m square), redwoodfull (130 feet square), longleaf
//! (200 m square, stem diameters in cm) and anemones (280 x 180 units, diameters in units; a unit is taken for 10 cm here, an
//! invented scale).

mod common;

use common::studies::trials;
use reefwright::engine::{DesignIndex, Plan, Where};
use reefwright::random::Key;
use reefwright::reef::{Visit, Walk, ZoneSite};
use reefwright::scenario::{ReadFile, load_with};
use reefwright::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt};
use reefwright::theory::ReefTheory;
use std::path::PathBuf;

/// A mapped pattern: places and diameters in units, the window in units, metres in a unit.
struct Pattern {
    name: &'static str,
    points: Vec<(f64, f64, f64)>,
    window: (f64, f64),
    metres: f64,
}

/// `None`, with a word on the terminal, where the data are not there. `diameter` makes one of the mark.
fn pattern(name: &'static str, metres: f64, diameter: impl Fn(f64) -> f64) -> Option<Pattern> {
    let folder = std::env::var_os("REEFWRIGHT_DATA")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"), PathBuf::from);
    let path = folder.join("point-patterns").join(format!("{name}.csv"));
    let Ok(text) = std::fs::read_to_string(&path) else {
        eprintln!("skipped: {} is not there (set REEFWRIGHT_DATA)", path.display());
        return None;
    };
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let (mut points, mut window) = (Vec::new(), (0.0, 0.0));
    for record in reader.records() {
        let record = record.unwrap();
        let cell = |name: &str| headers.iter().position(|header| header == name).map(|c| record[c].parse().unwrap());
        let number = |name: &str| -> f64 { cell(name).unwrap_or(f64::NAN) };
        points.push((number("x"), number("y"), diameter(number("mark"))));
        window = (number("x1"), number("y1"));
    }
    Some(Pattern { name, points, window, metres })
}

impl Pattern {
    fn size(&self) -> (f64, f64) {
        (self.metres * self.window.0, self.metres * self.window.1)
    }

    /// As a list for a scenario: colonies, or animals of the pattern's name.
    fn csv(&self, are_colonies: bool) -> String {
        let row = |(x, y, d): &(f64, f64, f64)| {
            if are_colonies { format!("{x},{y},{d},\n") } else { format!("{x},{y},,{}\n", self.name) }
        };
        "x,y,diameter,name\n".to_owned() + &self.points.iter().map(row).collect::<String>()
    }

    fn scenario(&self, rest: &str) -> String {
        let (length, width) = self.size();
        format!(
            "statement_about = \"each_reef\"\n{rest}\n[[zone]]\nlength_m = {length}\nwidth_m = {width}\n[zone.map]\n\
             file = \"map.csv\"\nmetres_per_unit = {}\n",
            self.metres
        )
    }

    /// As a picture: discs black, the rest white.
    fn png(&self, pixel: f64) -> Vec<u8> {
        let number = |side: f64| (side / pixel).round() as usize;
        let (columns, rows) = (number(self.size().0), number(self.size().1));
        let mut png = Vec::new();
        let mut encoder = png::Encoder::new(&mut png, columns as u32, rows as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        let mut pixels = vec![255; columns * rows];
        let middle = |cell: usize| (cell as f64 + 0.5) * pixel;
        for (x, y, d) in &self.points {
            let near = |at: f64, most: usize| {
                (((at - d) / pixel).max(0.0) as usize).min(most)..(((at + d) / pixel).max(0.0) as usize + 1).min(most)
            };
            for row in near(*y, rows) {
                for column in near(*x, columns) {
                    if (middle(column) - x).powi(2) + (middle(row) - y).powi(2) < 0.25 * d * d {
                        pixels[(rows - 1 - row) * columns + column] = 0;
                    }
                }
            }
        }
        encoder.write_header().unwrap().write_image_data(&pixels).unwrap();
        png
    }

    /// Mean and variance of the number of points in a belt laid along the window at a random start: a point is in it for
    /// starts in an interval along and one across, two points for those in both. Exact.
    fn exact(&self, (length, width): (f64, f64)) -> (f64, f64) {
        let (long, wide) = self.size();
        let interval = |at: f64, size: f64, side: f64| ((at - size).max(0.0), at.min(side - size));
        let places: Vec<[(f64, f64); 2]> = self
            .points
            .iter()
            .map(|&(x, y, _)| [interval(self.metres * x, length, long), interval(self.metres * y, width, wide)])
            .collect();
        let all = (long - length) * (wide - width);
        let common = |one: &[(f64, f64); 2], other: &[(f64, f64); 2]| -> f64 {
            (0..2).map(|axis| (one[axis].1.min(other[axis].1) - one[axis].0.max(other[axis].0)).max(0.0)).product()
        };
        let mean = places.iter().map(|one| common(one, one)).sum::<f64>() / all;
        let square =
            places.iter().map(|one| places.iter().map(|other| common(one, other)).sum::<f64>()).sum::<f64>() / all;
        (mean, square - mean * mean)
    }
}

fn plan(scenario: &str, map: Vec<u8>) -> Plan {
    plan_of(scenario, &|_| Ok(map.clone()))
}

fn plan_of(scenario: &str, files: &ReadFile) -> Plan {
    let study = load_with("map.toml", scenario, files).unwrap_or_else(|error| panic!("{}", error.render())).study;
    let theories = study.zones.iter().map(|zone| ReefTheory::new(&study, zone).unwrap()).collect();
    Plan::new(study, theories)
}

const FEW: u64 = 2_000;

/// Simulation and theory of every design and state: bias and standard error.
fn agree(plan: &Plan, number: u64, slack: f64) {
    let outcome = trials(plan, 5, number);
    for design in plan.all_designs() {
        let moments = plan.moments(0, design.reading);
        for state in (0..plan.states).filter(|&state| state != 1) {
            let tally = outcome.tally(plan.index(&design), state);
            let change = |of: &[f64]| if state == 0 { of[0] } else { of[state] - of[0] };
            let expected = change(&moments.mean) - change(&moments.truth);
            let (bias, error) = tally.bias();
            let (se, se_error) = tally.standard_error();
            let theory = plan.theory(&design, state).se;
            let reading = &plan.layout.readings[design.reading];
            let name =
                format!("{} {:?} n {} state {state}", reading.indicator.name(), reading.dimensions, design.units);
            assert!(
                (bias - expected).abs() < 4.5 * error + slack * 0.1 * theory,
                "{name}: bias {bias} {expected} ({error})"
            );
            assert!((se - theory).abs() < 4.5 * se_error + slack * theory, "{name}: se {se} {theory} ({se_error})");
        }
    }
}

/// Belts and quadrats at random starts on a pattern: mean and variance of their counts by theory and by simulation are
/// those of the exact sums over points and pairs of points.
fn counts_agree(pattern: &Pattern, sizes: &[(f64, f64)], are_colonies: bool) {
    let kind = if are_colonies { "coral_belt" } else { "invertebrate_belt" };
    let methods: String = sizes
        .iter()
        .map(|(length, width)| format!("[[method.{kind}]]\nlength_m = {length}\nwidth_m = {width}\nunits = 2\n"))
        .collect();
    let plan = plan_with(pattern, &methods, are_colonies);
    let outcome = trials(&plan, 5, FEW);
    for (reading, &size) in sizes.iter().enumerate() {
        // Densities per m2 of colonies, per 100 m2 of animals.
        let area = size.0 * size.1 / if are_colonies { 1.0 } else { 100.0 };
        let (mean, variance) = pattern.exact(size);
        let moments = plan.moments(0, reading);
        let name = format!("{} {size:?}", pattern.name);
        assert!((moments.mean[0] * area / mean - 1.0).abs() < 4e-3, "{name}: {} {mean}", moments.mean[0] * area);
        let by_theory = moments.variance[0] * area * area;
        assert!((by_theory / variance - 1.0).abs() < 0.02, "{name}: {by_theory} {variance}");
        let window = pattern.size().0 * pattern.size().1;
        let truth = pattern.points.len() as f64 / window;
        assert!((moments.truth[0] * area - truth * size.0 * size.1).abs() < 1e-9 * truth.max(1.0) * window, "{name}");
        let design = DesignIndex { reading, units: 0, sites: 0, place: Where::Zone(0) };
        let tally = outcome.tally(plan.index(&design), 0);
        let ((bias, error), (se, se_error)) = (tally.bias(), tally.standard_error());
        let expected = mean / area - moments.truth[0];
        assert!((bias - expected).abs() < 4.5 * error, "{name}: {bias} {expected} ({error})");
        let expected = (0.5 * variance).sqrt() / area;
        assert!((se - expected).abs() < 4.5 * se_error, "{name}: {se} {expected} ({se_error})");
    }
}

fn plan_with(pattern: &Pattern, methods: &str, are_colonies: bool) -> Plan {
    plan(&(pattern.scenario("") + methods), pattern.csv(are_colonies).into_bytes())
}

/// The numbers of points are those of the documentation of the patterns (from memory: 823 canes, of which 359 newly emergent,
/// 385 one and 79 two years old; 195 seedlings; 584 trees; 231 anemones).
#[test]
fn belts_and_quadrats_on_mapped_patterns_agree_with_counts_on_the_map() {
    let Some(canes) = pattern("bramblecanes", 9.0, |age| age) else { return };
    let of_age = |age: f64| canes.points.iter().filter(|point| point.2 == age).count();
    assert_eq!([of_age(0.0), of_age(1.0), of_age(2.0)], [359, 385, 79]);
    counts_agree(&canes, &[(5.0, 0.5), (1.0, 1.0), (2.0, 2.0)], false);
    let Some(seedlings) = pattern("redwoodfull", 39.6, |_| 0.0) else { return };
    assert_eq!(seedlings.points.len(), 195);
    counts_agree(&seedlings, &[(10.0, 2.0), (5.0, 5.0)], false);
    let Some(trees) = pattern("longleaf", 1.0, |cm| 0.01 * cm) else { return };
    assert_eq!(trees.points.len(), 584);
    counts_agree(&trees, &[(50.0, 5.0), (20.0, 20.0)], true);
    let Some(anemones) = pattern("anemones", 0.1, |units| units) else { return };
    assert_eq!(anemones.points.len(), 231);
    counts_agree(&anemones, &[(10.0, 1.0), (2.0, 2.0)], true);
    // Canes and seedlings are clustered: counts vary more than those of points without order; anemones keep apart.
    let over = |pattern: &Pattern, size| {
        let (mean, variance) = pattern.exact(size);
        variance / mean
    };
    assert!(over(&canes, (1.0, 1.0)) > 1.5 && over(&seedlings, (5.0, 5.0)) > 1.5);
    assert!(over(&anemones, (2.0, 2.0)) < 1.0, "{}", over(&anemones, (2.0, 2.0)));
}

/// Quadrats side by side over the whole window count every point once, each as many as lie in it.
#[test]
fn quadrats_over_the_whole_window_are_a_census() {
    for (name, metres, scale) in [("longleaf", 1.0, 0.01), ("anemones", 0.1, 1.0)] {
        let Some(pattern) = pattern(name, metres, |mark| scale * mark) else { return };
        let plan = plan_with(&pattern, "[[method.coral_belt]]\nunits = 2\n", true);
        let (size, (columns, rows)) = (pattern.size(), (13, 11));
        let quadrat = (size.0 / f64::from(columns), size.1 / f64::from(rows));
        let mut site = plan.reefs[0].site(Key::seed(1));
        assert!(matches!(site, ZoneSite::Mapped(_)));
        let (mut walk, mut reader) = (Walk::default(), BeltReader::default());
        let mut all = 0;
        for column in 0..columns {
            for row in 0..rows {
                let start = (f64::from(column) * quadrat.0, (f64::from(row) + 0.5) * quadrat.1);
                site.walk(&mut walk, (start, (1.0, 0.0)), quadrat.0, 0.5 * quadrat.1 as f32, Visit::First);
                let frame = BeltFrame { from_m: 0.0, length_m: quadrat.0 as f32, width_m: quadrat.1 as f32 };
                reader.read_mapped(&CoralBelt::default(), &frame, &walk.colonies, Visit::First);
                let inside = pattern.points.iter().filter(|(x, y, _)| {
                    let (x, y) = (metres * x - start.0, metres * y - start.1);
                    (0.0..quadrat.0).contains(&x) && y.abs() <= 0.5 * quadrat.1
                });
                assert_eq!(reader.written.len(), inside.count(), "{name} {column} {row}");
                all += reader.written.len();
            }
        }
        // Those on the far edge of the window are in no quadrat.
        let on_edge = pattern.points.iter().filter(|point| point.0 >= pattern.window.0).count();
        assert_eq!(all + on_edge, pattern.points.len(), "{name}");
    }
}

const COVERS: &str = "[[method.point_intercept]]\nlength_m = [5, 10]\nspacing_m = 0.25\nunits = [2, 6]\n\
    [[method.line_intercept]]\nlength_m = 5\nunits = 2\n[[method.photo_belt]]\nwidth_m = 1\npoints = 60\nunits = 2\n\
    [[method.photo_quadrats]]\nframes = 5\npoints = 16\nunits = 2\n\
    [[method.photo_quadrats]]\nframes = 4\npoints = 20\nframes_placed = \"random\"\npoints_placed = \"stratified\"\nunits = 2\n";

/// A map of discs without open data: invented, clustered towards one end so that edges matter.
fn invented() -> Pattern {
    let key = Key::seed(77);
    let u = |i: u64, k: u64| key.uniform(reefwright::random::Purpose::Test, 4 * i + k);
    let points = (0..500).map(|i| (30.0 * u(i, 0) * u(i, 1).sqrt(), 12.0 * u(i, 2), 0.1 + 0.9 * u(i, 3).powi(3)));
    Pattern { name: "urchin", points: points.collect(), window: (30.0, 12.0), metres: 1.0 }
}

#[test]
fn covers_on_a_list_of_colonies_are_told_as_theory_says() {
    let belts = "[[method.coral_belt]]\nedge = \"any_part_in\"\nhalf_seen_cm = 15\nunits = 3\n";
    for heading in ["along", "any"] {
        let placement = format!("[placement]\nheading = \"{heading}\"\n");
        let head = invented().scenario(&format!("also_report = [\"colony_mean_diameter\"]\n{placement}"));
        agree(&plan(&format!("{head}{COVERS}{belts}"), invented().csv(true).into_bytes()), FEW, 0.02);
    }
}

#[test]
fn a_loss_on_a_map_is_told_as_theory_says() {
    let change = "[[change]]\nfrom = 20\nto = 15\n[[change]]\nfrom = 20\nto = 8\n";
    let belts = "[[method.coral_belt]]\nunits = 3\n";
    for places in ["same_marks", "new_places"] {
        let head = invented().scenario(&format!("[visits]\nplaces = \"{places}\"\nrelay_within_m = 0.2\n"));
        let plan = plan(&format!("{head}{COVERS}{belts}{change}"), invented().csv(true).into_bytes());
        let truths = &plan.moments(0, 0).truth;
        assert!((truths[2] / truths[0] - 0.75).abs() < 0.01 && (truths[3] / truths[0] - 0.4).abs() < 0.01);
        assert_eq!(truths[1], truths[0]);
        agree(&plan, FEW, 0.02);
        // Lines at the same marks see the same colonies; a test that holds its promise on an unchanged map.
        let outcome = trials(&plan, 5, FEW);
        for design in plan.all_designs().filter(|design| plan.layout.readings[design.reading].units[design.units] == 6)
        {
            let rate = outcome.tally(plan.index(&design), 1).rejection();
            assert!((rate.value() - 0.05).abs() < 0.025, "{rate:?}");
        }
    }
}

/// A map of small colonies, under larger ones and beside them: invented.
fn small_ones() -> Pattern {
    let key = Key::seed(78);
    let u = |i: u64, k: u64| key.uniform(reefwright::random::Purpose::Test, 4 * i + k);
    let small = (0..6000).map(|i| (30.0 * u(i, 0) * u(i, 1).sqrt(), 12.0 * u(i, 2), 0.005 + 0.05 * u(i, 3)));
    Pattern { points: invented().points.into_iter().chain(small).collect(), ..invented() }
}

/// The recruits of a list are its colonies under 4 cm: one quadrat against the exact sums over pairs of them, lines of quadrats by
/// simulation against theory, without a change and under losses of coral and of recruits.
#[test]
fn recruits_on_a_list_are_told_as_theory_says() {
    let all = small_ones();
    let one = "[[method.recruit_quadrats]]\nlength_m = 1\nquadrat_cm = 50\nevery_m = 1\nunits = 2\n";
    let csv = all.csv(true).into_bytes();
    let reports =
        "also_report = [\"recruits_under_2_cm\", \"recruits_of_2_to_4_cm\", \"recruit_density_on_hard_bottom\"]\n";
    let plan_of_one = plan(&(all.scenario(reports) + one), csv.clone());
    let within = |from: f64, to: f64| Pattern {
        points: all.points.iter().copied().filter(|point| (from..to).contains(&(point.2 + 1e-6))).collect(),
        ..small_ones()
    };
    for (reading, recruits) in [within(0.0, 0.04), within(0.0, 0.02), within(0.02, 0.04)].iter().enumerate() {
        assert!(recruits.points.len() > 1_500);
        let (mean, variance) = recruits.exact((1.0, 0.5));
        // The quadrat is the first half of its metre: it lies as a rectangle of a metre does, less its second half.
        let moments = plan_of_one.moments(0, reading);
        let area = 0.25;
        assert!((moments.mean[0] * area / (0.5 * mean) - 1.0).abs() < 0.05, "{reading}: {} {mean}", moments.mean[0]);
        assert!(moments.variance[0] * area * area < variance, "{reading}");
        let truth = recruits.points.len() as f64 / 360.0;
        assert!((moments.truth[0] - truth).abs() < 1e-9, "{reading}: {} {truth}", moments.truth[0]);
    }
    let quadrats = "[[method.recruit_quadrats]]\nlength_m = 10\nunits = [2, 5]\n[[method.recruit_quadrats]]\nlength_m = 4\n\
                    quadrat_cm = 50\nevery_m = 0.75\nunits = 3\n";
    let changes = "[[change]]\nfrom = 20\nto = 12\n[[change]]\nindicator = \"recruit_density\"\nfrom = 10\nto = 6\n";
    for places in ["same_marks", "new_places"] {
        let visits = format!("[visits]\nplaces = \"{places}\"\nrelay_within_m = 0.05\n");
        let head = all.scenario(&format!("{reports}{visits}"));
        let plan = plan(&format!("{head}{quadrats}{changes}"), csv.clone());
        let truth = &plan.moments(0, 0).truth;
        assert!((truth[3] / truth[0] - 0.6).abs() < 1e-3 && truth[2] < 0.75 * truth[0], "{truth:?}");
        agree(&plan, FEW, 0.02);
    }
}

/// How often a visit meets an animal of a map, by formula and simulated.
#[test]
fn animals_of_a_list_are_met_as_theory_says() {
    let mut few = invented();
    few.points.truncate(40);
    let belts = "[[method.invertebrate_belt]]\nlength_m = 5\nwidth_m = [1, 2]\nunits = [2, 4, 8]\n";
    let plan = plan_with(&few, belts, false);
    let outcome = trials(&plan, 5, FEW);
    for design in plan.all_designs() {
        let reading = &plan.layout.readings[design.reading];
        let kind = &plan.study.methods[reading.method].kind;
        let meeting =
            plan.theories[0].meeting((&plan.study, &plan.study.zones[0]), (kind, reading.dimensions), few.name);
        let met = meeting.unwrap().at_least_one(reading.units[design.units], 1);
        let simulated = outcome.tally(plan.index(&design), 0).met_share();
        assert!(0.1 < met && (simulated.value() - met).abs() < 4.0 * simulated.error() + 0.003, "{met} {simulated:?}");
    }
}

/// The later map is what the second visit finds: lists, and mosaics of them.
#[test]
fn a_later_map_is_told_as_theory_says() {
    let (first, mut later) = (invented(), invented());
    later.points.retain(|point| point.2 < 0.7);
    later.points.iter_mut().for_each(|point| point.2 *= 1.1);
    let maps = |are_lists: bool| -> [Vec<u8>; 2] {
        [&first, &later].map(|pattern| if are_lists { pattern.csv(true).into_bytes() } else { pattern.png(0.05) })
    };
    let methods =
        "[[method.line_intercept]]\nlength_m = 5\nunits = 3\n[[method.photo_quadrats]]\nframes = 5\nunits = 3\n";
    let legend = "legend = { \"#000000\" = \"hard_coral\", \"#ffffff\" = \"sand\" }\n";
    for are_lists in [true, false] {
        let zone = if are_lists { "length_m = 30\nwidth_m = 12\n" } else { "" };
        let map = if are_lists {
            "file = \"map.csv\"\nfile_after = \"later.csv\"\n".to_owned()
        } else {
            format!("file = \"map.png\"\nfile_after = \"later.png\"\npixel_cm = 5\n{legend}")
        };
        let [one, two] = maps(are_lists);
        let text = format!(
            "statement_about = \"each_reef\"\n[visits]\nplaces = \"same_marks\"\n[[zone]]\n{zone}[zone.map]\n{map}{methods}"
        );
        let plan = plan_of(&text, &|file| Ok(if file.starts_with("later") { two.clone() } else { one.clone() }));
        let change = &plan.study.changes[0];
        assert_eq!((plan.study.changes.len(), change.from), (1, plan.study.zones[0].cover));
        assert_eq!(plan.moments(0, 0).truth, [change.from, change.from, change.to]);
        assert!(change.to < 0.9 * change.from);
        agree(&plan, FEW, 0.02);
    }
}

/// The same reef as pixels of 2 cm and as discs: the same covers and the same moments.
#[test]
fn a_mosaic_of_discs_reads_as_the_discs_do() {
    let pattern = invented();
    let png = pattern.png(0.02);
    let scenario = format!(
        "statement_about = \"each_reef\"\nalso_report = [\"sand\"]\n[[zone]]\n[zone.map]\nfile = \"map.png\"\npixel_cm = 2\n\
         [zone.map.legend]\n\"#000000\" = \"hard_coral\"\n\"#ffffff\" = \"sand\"\n{COVERS}"
    );
    let mosaic = plan(&scenario, png);
    let discs = plan_with(&pattern, COVERS, true);
    assert!((mosaic.study.zones[0].cover - discs.study.zones[0].cover).abs() < 1e-3);
    for (r, reading) in discs.layout.readings.iter().enumerate() {
        let own = mosaic
            .layout
            .readings
            .iter()
            .position(|other| other.dimensions == reading.dimensions && other.indicator == reading.indicator);
        let (one, other) = (discs.moments(0, r), mosaic.moments(0, own.unwrap()));
        assert!((one.mean[0] - other.mean[0]).abs() < 1.5e-3, "{:?}", reading.dimensions);
        assert!((one.variance[0] / other.variance[0] - 1.0).abs() < 0.02, "{:?}", reading.dimensions);
        // What is not coral is sand.
        let sand = mosaic.moments(0, own.unwrap() + 1);
        assert!(
            (sand.mean[0] + other.mean[0] - 1.0).abs() < 1e-9
                && (sand.variance[0] / other.variance[0] - 1.0).abs() < 1e-6
        );
    }
    agree(&mosaic, 1_000, 0.02);
}
