//! One reef for all methods: a census of the discs, points, lines, quadrats and belts of any shape at the same place tell of
//! the same corals.

mod common;

use common::{assert_simulated, studies};
use reefwright::analysis::{Measured, covariance_measured, mean, variance};
use reefwright::design::Study;
use reefwright::engine::{LaidUnit, Plan, Scratch, Sheet, frame_start};
use reefwright::geometry::{chord, union_length};
use reefwright::random::{Key, Purpose};
use reefwright::reef::colonies::{Mark, mark};
use reefwright::reef::{Colonies, Colony, CoralLaw, CoralReef, NamedReef, SiteReef, Visit, Walk, ZoneSite};
use reefwright::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt, Detection, EdgeRule};
use reefwright::survey::{Dimensions, Frame, Heading, MethodKind, MethodSpec, Placed, Placement};
use reefwright::theory::{CoralAsked, CoralError, CoralPairs, Kernels, Shape, calibrate};

const SITE: (f64, f64) = (100.0, 20.0);

/// A named reef of typical cover whose sites differ.
fn reef_of(named: NamedReef) -> (CoralLaw, Shape) {
    let kernels = Kernels::of_cells(&named.spec());
    let shape = Shape::new(&named.spec(), &kernels);
    let asked = |sd: f64| CoralAsked {
        spec: named.spec(),
        cover: named.typical_cover(),
        between_sites_sd: sd,
        site_year_sd: 0.0,
        site: SITE,
        field_memory: 1.0,
        yearly_memory: 1.0,
        same_colonies: 1.0,
        changes: vec![],
    };
    let floor = match calibrate(&asked(0.0), &shape) {
        Err(CoralError::SpreadBelowFloor(floor)) => floor,
        other => panic!("{other:?}"),
    };
    (calibrate(&asked(1.3 * floor), &shape).unwrap().law, shape)
}

fn measured_mean(values: &[f64]) -> Measured {
    Measured { value: mean(values), error: (variance(values) / values.len() as f64).sqrt() }
}

/// The colonies within `side` of a line.
fn colonies<'a>(walk: &'a mut Walk, site: &mut SiteReef, start: (f64, f64), length: f64, side: f64) -> &'a Colonies {
    let line = site.frame_line(start, (1.0, 0.0), length);
    walk.read(site, &line, side as f32, Visit::First);
    &walk.colonies
}

/// Whether a point `along` and `across` from the start of a walk lies under a disc.
fn is_hit(colonies: &Colonies, along: f64, across: f64) -> bool {
    let over = |c: Colony| (f64::from(c.along) - along).hypot(f64::from(c.across) - across) < f64::from(c.radius);
    colonies.iter().any(over)
}

/// A window of 10 x 2 m: the area of the union of all discs that one walk along its middle lists, by chords of 400 lines,
/// and 10,000 points read from 50 lines of 200 points, each walked by itself. On every site they agree but for the points'
/// own error; over sites both have the mean cover, and so have the areas of the visible colonies of the belt.
#[test]
fn a_census_is_ten_thousand_points_and_the_areas_of_colonies() {
    for (named, sites) in [(NamedReef::ForeReef, 60), (NamedReef::DenseCoralGarden, 40)] {
        let (law, _) = reef_of(named);
        let cover = named.typical_cover();
        let reef = CoralReef::new(law, |_| 0.0);
        let (mut walk, mut reader) = (Walk::default(), BeltReader::default());
        let (mut census, mut differences, mut areas) = (vec![], vec![], vec![]);
        // Without a ruler, so that areas are those of the discs.
        let belt = CoralBelt { edge: EdgeRule::CentreIn, detection: Detection::From { least_m: 0.0 }, ruler_m: 1e-5 };
        for trial in 0..10 * sites {
            let mut site = SiteReef::new(&reef, Key::seed(71).child(Purpose::Trial, trial));
            let start = (45.0, 10.0);
            let listed = colonies(&mut walk, &mut site, start, 10.0, 1.0).clone();
            let frame = BeltFrame { from_m: 0.0, length_m: 10.0, width_m: 2.0 };
            reader.read(&belt, &frame, &listed, Visit::First);
            let diameters = reader.written.longest_m.iter().zip(&reader.written.across_m);
            let area = |(longest, across): (&f32, &f32)| 0.25 * std::f64::consts::PI * f64::from(longest * across);
            areas.push(diameters.map(area).sum::<f64>() / 20.0);
            let across = |row: usize| 2.0 * (row as f64 + 0.5) / 400.0 - 1.0;
            let covered = |row: usize| {
                let disc =
                    |c: Colony| chord(f64::from(c.along), f64::from(c.across) - across(row), f64::from(c.radius));
                union_length(&mut listed.iter().filter_map(disc).collect::<Vec<_>>(), 10.0)
            };
            let union = (0..400).map(covered).sum::<f64>() / 4000.0;
            census.push(union);
            if trial < sites {
                let points = (0..50).map(|row| {
                    let y = 2.0 * (f64::from(row) + 0.5) / 50.0 - 1.0;
                    let near = colonies(&mut walk, &mut site, (start.0, start.1 + y), 10.0, 0.0);
                    (0..200).filter(|point| is_hit(near, 10.0 * (f64::from(*point) + 0.5) / 200.0, 0.0)).count()
                });
                differences.push(points.sum::<usize>() as f64 / 10_000.0 - union);
            }
        }
        // Points on a grid of 4 x 5 cm: never worse than independent ones, 4 of whose errors are .016 to .019.
        assert!(differences.iter().all(|apart| apart.abs() < 0.016), "{named:?}: {differences:?}");
        assert_simulated("points less census", measured_mean(&differences), 0.0, 4.0);
        assert_simulated("census", measured_mean(&census), cover, 4.0);
        assert_simulated("areas of visible colonies", measured_mean(&areas), cover, 4.0);
    }
}

/// The covariance of a line and a quadrat that lies over its middle is the mean of the two-point covariance over all pairs
/// of their points: 20 points on 10 m and 25 on 1 m2, read by walks of their own.
#[test]
fn a_line_and_a_quadrat_at_the_same_place_share_what_theory_says() {
    let (law, shape) = reef_of(NamedReef::PatchyForeReef);
    let pairs = CoralPairs::new(&law, &shape);
    let c = |h: f64| pairs.bare_within(0, h) - pairs.bare(0) * pairs.bare(0);
    let line: Vec<(f64, f64)> = (0..20).map(|i| (0.25 + 0.5 * f64::from(i), 0.0)).collect();
    let side = |i: i32| 0.2 * (f64::from(i) + 0.5);
    let quadrat: Vec<(f64, f64)> = (0..25).map(|i| (4.5 + side(i / 5), side(i % 5) - 0.5)).collect();
    let distances = line.iter().flat_map(|a| quadrat.iter().map(move |b| (a.0 - b.0).hypot(a.1 - b.1)));
    let exact = distances.map(c).sum::<f64>() / 500.0;
    let reef = CoralReef::new(law.clone(), |_| 0.0);
    let mut walk = Walk::default();
    let (mut lines, mut quadrats) = (vec![], vec![]);
    for trial in 0..4000 {
        let mut site = SiteReef::new(&reef, Key::seed(72).child(Purpose::Trial, trial));
        let near = colonies(&mut walk, &mut site, (45.0, 10.0), 10.0, 0.0);
        lines.push(line.iter().filter(|point| is_hit(near, point.0, 0.0)).count() as f64 / 20.0);
        let near = colonies(&mut walk, &mut site, (49.5, 10.0), 1.0, 0.5);
        quadrats.push(quadrat.iter().filter(|point| is_hit(near, point.0 - 4.5, point.1)).count() as f64 / 25.0);
    }
    let found = covariance_measured(&lines, &quadrats);
    println!("line and quadrat: {found:?}, closed form {exact:.6}");
    assert_simulated("line and quadrat", found, exact, 4.0);
}

/// Belts and quadrats of any shape and heading have cover over mean area colonies per m2 under the centre rule, and under
/// that of two edges, overlap rule and all.
#[test]
fn belts_of_any_shape_see_the_same_density() {
    for named in [NamedReef::ForeReef, NamedReef::DenseCoralGarden] {
        let (law, shape) = reef_of(named);
        let exact = named.typical_cover() / shape.discs.mean_area;
        let largest = law.spec.sizes.max_m;
        let reef = CoralReef::new(law, |_| 0.0);
        let (mut walk, mut reader) = (Walk::default(), BeltReader::default());
        for (shape_number, (length, width)) in
            [(0.25, 0.25), (1.0, 1.0), (2.0, 5.0), (10.0, 1.0), (20.0, 0.5), (30.0, 2.0)].into_iter().enumerate()
        {
            for edge in [EdgeRule::CentreIn, EdgeRule::TwoEdges] {
                let belt = CoralBelt { edge, detection: Detection::From { least_m: 0.0 }, ruler_m: 1e-5 };
                let margin = edge.margin_m(largest);
                let mut densities = vec![];
                for trial in 0..400 {
                    let key = Key::seed(73 + shape_number as u64).child(Purpose::Trial, trial);
                    let mut site = SiteReef::new(&reef, key);
                    let (sin, cos) = (3.0 * key.uniform(Purpose::Placement, 0)).sin_cos();
                    let start = (50.0 - margin * cos, 10.0 - margin * sin);
                    let line = site.frame_line(start, (cos, sin), length + 2.0 * margin);
                    walk.read(&mut site, &line, (0.5 * width + margin) as f32, Visit::First);
                    let frame = BeltFrame { from_m: margin as f32, length_m: length as f32, width_m: width as f32 };
                    reader.read(&belt, &frame, &walk.colonies, Visit::First);
                    densities.push(reader.written.len() as f64 / (length * width));
                }
                let what = format!("{named:?} {length} x {width} m, {edge:?}");
                assert_simulated(&what, measured_mean(&densities), exact, 4.0);
            }
        }
    }
}

/// A disc of the list of all corals of a site, at a place of the site; or, seen from a unit, `x` metres along and `y` to the left.
#[derive(Clone, Copy)]
struct Coral {
    x: f64,
    y: f64,
    radius: f64,
    rank: u64,
}

impl Coral {
    fn is_over(&self, x: f64, y: f64) -> bool {
        (self.x - x).powi(2) + (self.y - y).powi(2) < self.radius.powi(2)
    }
}

/// All corals of a site that live in a state, from one walk along its middle, with those that reach in from outside.
fn all_corals(site: &mut ZoneSite, (visit, state): (Visit, usize)) -> Vec<Coral> {
    let (mut walk, beyond) = (Walk::default(), 3.0);
    let start = (-beyond, 0.5 * SITE.1);
    site.walk(&mut walk, (start, (1.0, 0.0)), SITE.0 + 2.0 * beyond, (0.5 * SITE.1 + beyond) as f32, visit);
    let living = walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1);
    let coral = |colony: Colony| Coral {
        x: start.0 + f64::from(colony.along),
        y: start.1 + f64::from(colony.across),
        radius: f64::from(colony.radius),
        rank: mark(colony.id, Mark::Rank),
    };
    living.map(coral).collect()
}

/// Those that reach into the belt of a unit, as seen from it.
fn seen_from(corals: &[Coral], unit: &LaidUnit) -> Vec<Coral> {
    let (dx, dy) = (unit.to.0 - unit.from.0, unit.to.1 - unit.from.1);
    let (cos, sin) = (dx / dx.hypot(dy), dy / dx.hypot(dy));
    let seen = |coral: &Coral| {
        let (dx, dy) = (coral.x - unit.from.0, coral.y - unit.from.1);
        Coral { x: dx * cos + dy * sin, y: dy * cos - dx * sin, ..*coral }
    };
    let reaches_in = |coral: &Coral| {
        (-coral.radius..BELT.0 + coral.radius).contains(&coral.x) && coral.y.abs() < 0.5 * BELT.1 + coral.radius
    };
    corals.iter().map(seen).filter(reaches_in).collect()
}

const BELT: (f64, f64) = (10.0, 1.0);
const POINTS: usize = 400;
const FRAME: Frame =
    Frame { frame_length_m: 0.7, frame_width_m: 0.5, frames_placed: Placed::Stratified, points_placed: Placed::Random };

/// What a unit tells by that list: share of points every 10 cm, of its length every 2 mm, of its area or that of its frames
/// every 5 cm, visible colonies per m2 and their area over that of the belt.
fn told_by_list(corals: &[Coral], unit: &LaidUnit, dimensions: &Dimensions, name: &str) -> f64 {
    let near = seen_from(corals, unit);
    let hit = |along: f64, across: f64| near.iter().any(|coral| coral.is_over(along, across));
    let share = |hits: &mut dyn Iterator<Item = bool>| {
        let (number, hits) = hits.fold((0, 0), |(number, hits), hit| (number + 1, hits + u32::from(hit)));
        f64::from(hits) / f64::from(number)
    };
    let steps = |from: f64, length: f64, step: f64| {
        (0..(length / step).round() as usize).map(move |i| from + step * (i as f64 + 0.5))
    };
    let area = |from: f64, length: f64, width: f64| {
        let cells = steps(from, length, 0.05).flat_map(|a| steps(-0.5 * width, width, 0.05).map(move |b| (a, b)));
        share(&mut cells.map(|(along, across)| hit(along, across)))
    };
    match dimensions {
        Dimensions::PointIntercept { .. } => share(&mut (1..=100).map(|i| hit(0.1 * f64::from(i), 0.0))),
        Dimensions::LineIntercept { .. } => share(&mut steps(0.0, BELT.0, 0.002).map(|along| hit(along, 0.0))),
        Dimensions::PhotoBelt { .. } => area(0.0, BELT.0, BELT.1),
        Dimensions::PhotoQuadrats { frames, .. } => {
            let start = |number: usize| frame_start(unit.key, number, *frames, FRAME, BELT.0);
            (0..*frames).map(|f| area(start(f), FRAME.frame_length_m, FRAME.frame_width_m)).sum::<f64>()
                / *frames as f64
        }
        _ => {
            let belongs = |coral: &&Coral| (0.0..BELT.0).contains(&coral.x) && coral.y.abs() < 0.5 * BELT.1;
            let is_hidden = |coral: &Coral| near.iter().any(|o| o.rank > coral.rank && o.is_over(coral.x, coral.y));
            let visible = near.iter().filter(belongs).filter(|coral| !is_hidden(coral));
            let weight = |coral: &Coral| {
                if name == "colony_density" { 1.0 } else { std::f64::consts::PI * coral.radius.powi(2) }
            };
            visible.map(weight).sum::<f64>() / (BELT.0 * BELT.1)
        }
    }
}

/// A study that reads one site by every method of corals, two units of each, at both visits.
fn by_every_method(named: NamedReef) -> Study {
    let mut study = studies::study();
    study.zones = vec![studies::zone(named, 0.1)];
    study.changes = vec![studies::change(named.typical_cover(), 0.7 * named.typical_cover())];
    study.placement = Placement { heading: Heading::Any, ..Placement::default() };
    study.also_report = vec!["cover_of_measured_colonies".into()];
    let of = |kind| MethodSpec { kind, ..studies::intercepts(BELT.0, &[2]) };
    // Without a ruler, so that areas are those of the discs.
    let belt = CoralBelt { edge: EdgeRule::CentreIn, detection: Detection::From { least_m: 0.0 }, ruler_m: 1e-5 };
    let (length_m, width_m) = (vec![BELT.0], vec![BELT.1]);
    study.methods = vec![
        studies::points(BELT.0, 0.1, &[2]),
        studies::intercepts(BELT.0, &[2]),
        studies::belts(BELT.0, BELT.1, POINTS, &[2]),
        of(MethodKind::PhotoQuadrats { length_m: length_m.clone(), frames: vec![5], frame: FRAME, points: vec![50] }),
        of(MethodKind::CoralBelt { length_m, width_m, belt, classes_m: vec![], growth_m: 0.015 }),
    ];
    study
}

/// What the engine's own readers write of every unit is what a list of all corals of the site, made once for all of them, tells at
/// the place where the unit lies: exactly for points at known places, lengths, numbers and areas of colonies; but for the points'
/// own error where they are thrown. In every state of both visits.
#[test]
fn the_engine_reads_the_corals_that_are_there_by_every_method() {
    for (named, sites) in [(NamedReef::ForeReef, 8), (NamedReef::DenseCoralGarden, 5)] {
        let plan: Plan = studies::plan(by_every_method(named));
        let survey = plan.survey(0);
        let mut thrown: Vec<f64> = vec![];
        let mut compared = 0;
        for number in 0..sites {
            let key = Key::seed(74).child(Purpose::Site, number);
            let mut site = survey.reef.site(key);
            let (mut sheet, mut scratch) = (Sheet::new(&plan.layout, plan.states), Scratch::default());
            for visit in [Visit::First, Visit::Second] {
                survey.read(key, &mut site, visit, &mut sheet, &mut scratch);
                let states = if visit == Visit::First { 0..1 } else { 1..plan.states };
                for state in states {
                    let corals = all_corals(&mut site, (visit, state));
                    for (c, column) in plan.layout.columns.iter().enumerate() {
                        let reading = &plan.layout.readings[column.reading];
                        let units = survey.tapes((key, visit), column.reading, column.units);
                        assert_eq!(units.len(), 2);
                        for (unit, &written) in units.iter().zip(sheet.units(c, state)) {
                            let name = reading.indicator.name();
                            let there = told_by_list(&corals, unit, &reading.dimensions, name);
                            let apart = written - there;
                            let (exactly, points) = match reading.dimensions {
                                // One point or one colony at the very edge may fall to the other side by rounding.
                                Dimensions::PointIntercept { .. } => (0.0101, 0.0),
                                Dimensions::LineIntercept { .. } => (0.003, 0.0),
                                Dimensions::PhotoBelt { .. } => (0.005, POINTS as f64),
                                Dimensions::PhotoQuadrats { .. } => (0.005, 250.0),
                                _ => (1e-4 + 1e-3 * there, 0.0),
                            };
                            let error = if points > 0.0 { (there * (1.0 - there) / points).sqrt() } else { 0.0 };
                            let what = format!("{named:?}, {name}, {:?}: {written} {there}", reading.dimensions);
                            assert!(apart.abs() < exactly + 5.0 * error, "{what}");
                            if points > 0.0 {
                                thrown.push(apart);
                            }
                            compared += 1;
                        }
                    }
                }
            }
        }
        // Six columns of two units in three states.
        assert_eq!(compared, sites as usize * 6 * 2 * 3);
        assert_simulated("thrown points", measured_mean(&thrown), 0.0, 4.0);
    }
}
