//! Belts of colonies: the overlap rule, edges, sizes and both visits, simulated against their closed forms and against
//! numbers computed apart from this program.

mod common;

use common::{assert_near, assert_simulated};
use reefwright::analysis::{ColonyIndicator, Measured, covariance_measured, mean, variance};
use reefwright::design::{ColonyDeaths, StormPatches};
use reefwright::random::{Key, Purpose, normal_from_uniform};
use reefwright::reef::colonies::{Condition, ConditionShares, PartialMortality};
use reefwright::reef::{CoralLaw, CoralReef, CoralState, NamedReef, SiteReef, Visit, Walk};
use reefwright::survey::coral_belt::{
    BeltFrame, BeltReader, CoralBelt, Detection, EdgeRule, Measurements, OfSite, unseen_before,
};
use reefwright::theory::colonies::{ColonyTheory, MeasuredSizes};
use reefwright::theory::placement::variance_of_rectangle;
use reefwright::theory::{CoralAsked, CoralChange, CoralError, Curve, Kernels, Shape, calibrate};

const SITE: (f64, f64) = (100.0, 20.0);
const BELT: (f64, f64) = (10.0, 1.0);

/// A reef without patches, sites or years.
fn even(reef: NamedReef, cover: f64) -> Living {
    let mut spec = reef.spec();
    spec.patch.sd = 0.0;
    spec.along.sd = 0.0;
    let kernels = Kernels::of_cells(&spec);
    let shape = Shape::new(&spec, &kernels);
    let law = CoralLaw {
        spec,
        mean_area_m2: shape.discs.mean_area,
        site_sd: 0.0,
        site_year_sd: 0.0,
        field_memory: 1.0,
        same_colonies: 1.0,
        states: vec![CoralState::even(cover, -libm::log1p(-cover))],
        patch_variance_over_a_point: 0.0,
    };
    (law, shape, kernels)
}

type Living = (CoralLaw, Shape, Kernels);

/// A named reef at its own cover, with years, drift, renewal and a fall by a quarter.
fn living(reef: NamedReef) -> Living {
    changed(reef, vec![CoralChange::to(0.75 * reef.typical_cover())])
}

/// The same with falls by half that strike large colonies, strike small ones, and strike in patches.
fn struck(reef: NamedReef) -> Living {
    let fall = |odds_at_twice_the_size, patches| {
        let deaths = Some(ColonyDeaths { odds_at_twice_the_size, patches });
        CoralChange { deaths, ..CoralChange::to(0.5 * reef.typical_cover()) }
    };
    let storm = Some(StormPatches { hit: 0.6, patch_scale_m: 12.0, left_elsewhere: 0.9 });
    changed(reef, vec![fall(0.4, None), fall(2.5, None), fall(1.0, storm), fall(2.5, storm)])
}

fn changed(reef: NamedReef, changes: Vec<CoralChange>) -> Living {
    let kernels = Kernels::of_cells(&reef.spec());
    let shape = Shape::new(&reef.spec(), &kernels);
    let asked = |sd: f64| CoralAsked {
        spec: reef.spec(),
        cover: reef.typical_cover(),
        between_sites_sd: sd,
        site_year_sd: 0.2 * sd,
        site: SITE,
        field_memory: 0.9,
        yearly_memory: 0.95,
        same_colonies: 0.8,
        changes: changes.clone(),
    };
    let floor = match calibrate(&asked(0.0), &shape) {
        Err(CoralError::SpreadBelowFloor(floor)) => floor,
        other => panic!("{other:?}"),
    };
    (calibrate(&asked(1.3 * floor), &shape).unwrap().law, shape, kernels)
}

/// Partial mortality other than that of the records.
const DEAD: PartialMortality =
    PartialMortality { log_odds: -0.4, rise_per_doubling: 0.5, dead_log_odds: -0.8, recent: 0.4 };

/// A year of bleaching.
const BLEACHED: ConditionShares = ConditionShares { pale: 0.2, bleached: 0.35, diseased: 0.05 };

/// One belt of one visit in every state that it sees.
struct Reader {
    walk: Walk,
    reader: BeltReader,
}

impl Reader {
    fn new() -> Self {
        Self { walk: Walk::default(), reader: BeltReader::default() }
    }

    fn read(&mut self, site: &mut SiteReef, belt: &CoralBelt, start: (f64, f64), visit: Visit) -> BeltFrame {
        let largest = site.reef.law.spec.sizes.max_m;
        let margin = belt.edge.margin_m(largest);
        let line = site.frame_line((start.0 - margin, start.1), (1.0, 0.0), BELT.0 + 2.0 * margin);
        self.walk.read(site, &line, (0.5 * BELT.1 + margin) as f32, visit);
        let frame = BeltFrame { from_m: margin as f32, length_m: BELT.0 as f32, width_m: BELT.1 as f32 };
        self.reader.read_some(belt, &frame, (&self.walk.colonies, visit), (Measurements::ALL, OfSite::typical(DEAD)));
        self.reader.look(&BLEACHED, visit);
        frame
    }
}

fn measured_mean(values: &[f64]) -> Measured {
    Measured { value: mean(values), error: (variance(values) / values.len() as f64).sqrt() }
}

/// Density of recorded colonies = cover / mean area, sum of their areas = cover, sizes as drawn (simulated apart from this
/// program: densities 13.762 +- .049 and 10.513 +- .041, areas .300 +- .002 and .655 +- .004), and counts more even than
/// Poisson. Their variance over mean in belts of 10 x 1 m is .84 and .90 in closed form and in our simulation; .94-.96
/// was printed for it, which neither this program nor a few lines of another language could reproduce.
#[test]
fn the_overlap_rule_on_even_reefs() {
    for (reef, cover, printed) in [(NamedReef::ForeReef, 0.3, 13.764), (NamedReef::DenseCoralGarden, 0.65, 10.558)] {
        let (law, shape, kernels) = even(reef, cover);
        let theory = ColonyTheory::new(&law, (&shape, &kernels), SITE, None);
        // The garden's mean area is printed with four digits.
        assert_near("p / a", theory.density(0), printed, 0.001 * printed);
        assert_near("p / a", theory.density(0), cover / shape.discs.mean_area, 1e-9 * printed);
        let moments = theory.moments(&CoralBelt::default(), BELT, ColonyIndicator::Density);
        let ratio = moments.variance[0] * 10.0 / moments.mean[0];
        let coral = CoralReef::new(law, |_| 0.0);
        let mut reader = Reader::new();
        let (mut densities, mut areas, mut sizes, mut covered) = (vec![], vec![], vec![], vec![]);
        for trial in 0..8000 {
            let mut site = SiteReef::new(&coral, Key::seed(60).child(Purpose::Trial, trial));
            let frame = reader.read(&mut site, &CoralBelt::default(), (30.0, 10.0), Visit::First);
            let of = |indicator: ColonyIndicator| indicator.of(&reader.reader.written, &frame, 0);
            densities.push(of(ColonyIndicator::Density));
            areas.push(of(ColonyIndicator::EllipseCover));
            sizes.push(of(ColonyIndicator::MeanDiameter) * of(ColonyIndicator::Density));
            // The same reef by points: a grid of 10 x 10 in the belt.
            let hit = |x: f32, y: f32| {
                let over = |c: reefwright::reef::Colony| (c.along - x).hypot(c.across - y) < c.radius;
                reader.walk.colonies.iter().any(over)
            };
            let grid = (0..100).filter(|i| hit(0.5 + (i / 10) as f32, 0.1 * (i % 10) as f32 - 0.45));
            covered.push(grid.count() as f64 / 100.0);
        }
        assert_simulated("density", measured_mean(&densities), theory.density(0), 4.0);
        let variance = covariance_measured(&densities, &densities);
        let over_mean = 10.0 * variance.value / theory.density(0);
        println!("{reef:?}: variance over mean {ratio:.4}, simulated {over_mean:.4}");
        assert_simulated("variance", variance, moments.variance[0], 4.0);
        assert_simulated("cover by points", measured_mean(&covered), cover, 4.0);
        let cover_theory = theory.moments(&CoralBelt::default(), BELT, ColonyIndicator::EllipseCover);
        // Diameters are rounded to the centimetre; so small a bias is not in the closed form.
        let sum = measured_mean(&areas);
        assert!((sum.value - cover).abs() < 4.0 * sum.error + 0.003, "{sum:?} {cover}");
        assert_simulated("variance of areas", covariance_measured(&areas, &areas), cover_theory.variance[0], 4.0);
        let per_area =
            MeasuredSizes::new(&shape.discs, &CoralBelt::default(), BELT).written.mean(|d| d) * theory.density(0);
        let found = measured_mean(&sizes);
        assert!((found.value - per_area).abs() < 4.0 * found.error + 1e-3 * per_area, "{found:?} {per_area}");
    }
}

/// Aggregation k of counts of germs in 10 x 1 m, before the overlap rule (computed, printed to two digits): it is that of belts of one
/// site of 100 x 20 m, whose mean takes part of the slow field with it.
#[test]
fn counts_of_germs_are_as_clustered_as_computed() {
    let printed = [
        (NamedReef::LowCoverHardGround, 15.0),
        (NamedReef::ForeReef, 15.0),
        (NamedReef::PatchyForeReef, 4.0),
        (NamedReef::RubbleSlope, 0.5),
        (NamedReef::DenseCoralGarden, 2.3),
        (NamedReef::OuterSlope, 35.0),
        (NamedReef::LagoonBommies, 0.4),
    ];
    for (reef, k) in printed {
        let kernels = Kernels::of_cells(&reef.spec());
        let over = |size: (f64, f64)| variance_of_rectangle(size.0, size.1, |h| both_fields(&kernels, h));
        let (all, within) = (1.0 / over(BELT), 1.0 / (over(BELT) - over(SITE)));
        println!("{:22} k over all sites {all:.3}, within a site {within:.3}, printed {k}", reef.name());
        // One or two digits are printed.
        assert!((within - k).abs() < 0.04 * k + 0.03, "{reef:?} {within} {k}");
    }
}

/// The same of germs that are counted: on sites that differ by their fields alone, counts of the discs with their centre in a belt
/// have the mean m and the variance m + m^2 / k of the closed form, the slow field counted.
#[test]
fn germs_of_belts_vary_as_clustered_as_in_closed_form() {
    for reef in NamedReef::ALL {
        let kernels = Kernels::of_cells(&reef.spec());
        let shape = Shape::new(&reef.spec(), &kernels);
        let (law, _, _) = even(reef, reef.typical_cover());
        let law = CoralLaw { spec: reef.spec(), mean_area_m2: shape.discs.mean_area, ..law };
        let mean = law.mean_density(0) * BELT.0 * BELT.1;
        let coral = CoralReef::new(law, |_| 0.0);
        let mut walk = Walk::default();
        let count = |trial: u64| {
            let mut site = SiteReef::new(&coral, Key::seed(62).child(Purpose::Trial, trial));
            let line = site.frame_line((30.0, 10.0), (1.0, 0.0), BELT.0);
            walk.read(&mut site, &line, 0.5 * BELT.1 as f32, Visit::First);
            let is_in = |colony: &reefwright::reef::Colony| {
                (0.0..BELT.0 as f32).contains(&colony.along) && colony.across.abs() < 0.5 * BELT.1 as f32
            };
            walk.colonies.iter().filter(is_in).count() as f64
        };
        let counts: Vec<f64> = (0..20_000).map(count).collect();
        let variance = mean + mean * mean * variance_of_rectangle(BELT.0, BELT.1, |h| both_fields(&kernels, h));
        let found = covariance_measured(&counts, &counts);
        println!("{:22} mean {mean:.2}, variance {variance:.2}, simulated {found:?}", reef.name());
        assert_simulated(&format!("{reef:?} mean"), measured_mean(&counts), mean, 4.0);
        assert_simulated(&format!("{reef:?} variance"), found, variance, 4.0);
        // So near that half the k is seen on every reef.
        assert!(found.error < 0.25 * (variance - mean), "{reef:?} {found:?} {variance}");
    }
}

/// Covariance of the relative density of germs at two places of a site: the products of both fields.
fn both_fields(kernels: &Kernels, distance: f64) -> f64 {
    let of = |kernel: &Curve| if distance < kernel.reach() { kernel.at(distance) } else { 0.0 };
    (1.0 + of(&kernels.patch)) * (1.0 + of(&kernels.along)) - 1.0
}

struct Simulated {
    /// By state: two belts of each site.
    belts: Vec<[Vec<f64>; 2]>,
}

/// Two belts a site, at the same marks at both visits but for `relay_sd`.
fn simulate(law: &CoralLaw, belt: &CoralBelt, indicators: &[ColonyIndicator], trials: u64) -> Vec<Simulated> {
    let coral = CoralReef::new(law.clone(), |_| 0.0);
    let states = law.states.len();
    let empty = || Simulated { belts: (0..states).map(|_| [vec![], vec![]]).collect() };
    let mut all: Vec<Simulated> = indicators.iter().map(|_| empty()).collect();
    let mut reader = Reader::new();
    for trial in 0..trials {
        let key = Key::seed(61).child(Purpose::Trial, trial);
        let mut site = SiteReef::new(&coral, key);
        for unit in 0..2 {
            let u = |k| key.uniform(Purpose::Placement, 2 * unit + k);
            let start = (u(0) * (SITE.0 - BELT.0), 0.5 * BELT.1 + u(1) * (SITE.1 - BELT.1));
            for visit in [Visit::First, Visit::Second] {
                let moved = |axis: u64| match visit {
                    Visit::First => 0.0,
                    Visit::Second => RELAY * normal_from_uniform(key.uniform(Purpose::Relay, 2 * unit + axis)),
                };
                let frame = reader.read(&mut site, belt, (start.0 + moved(0), start.1 + moved(1)), visit);
                let seen = if visit == Visit::First { 0..1 } else { 1..states };
                for state in seen {
                    for (simulated, indicator) in all.iter_mut().zip(indicators) {
                        let value = indicator.of(&reader.reader.written, &frame, state);
                        simulated.belts[state][unit as usize].push(value);
                    }
                }
            }
        }
    }
    all
}

const RELAY: f64 = 0.2;

/// Covariance of the pairs in which both are known, with its error.
fn covariance_of_known(first: &[f64], second: &[f64]) -> Measured {
    let pairs = first.iter().zip(second).filter(|(a, b)| !a.is_nan() && !b.is_nan());
    let (first, second): (Vec<f64>, Vec<f64>) = pairs.map(|(&a, &b)| (a, b)).unzip();
    covariance_measured(&first, &second)
}

/// Errors between simulation and closed form, printed and checked; `slack` is a relative error that a stated
/// approximation may bring.
fn check(what: &str, found: Measured, exact: f64, slack: f64) {
    let apart = (found.value - exact) / found.error;
    println!(
        "{what:52} {:+.6e} closed {exact:+.6e} {apart:+.1} errors {:+.1} %",
        found.value,
        100.0 * (found.value / exact - 1.0)
    );
    assert!((found.value - exact).abs() < 4.0 * found.error + slack * exact.abs(), "{what}: {found:?} {exact}");
}

fn compare(
    (reef, living): (NamedReef, fn(NamedReef) -> Living),
    belt: &CoralBelt,
    trials: u64,
    (slack, of_means): (f64, f64),
) {
    let (law, shape, kernels) = living(reef);
    let theory = ColonyTheory::new(&law, (&shape, &kernels), SITE, Some(RELAY))
        .with_partial_mortality(DEAD)
        .with_condition(BLEACHED);
    let indicators = [
        ColonyIndicator::Density,
        ColonyIndicator::EllipseCover,
        ColonyIndicator::MeanLnDiameter,
        ColonyIndicator::MeanDiameter,
        ColonyIndicator::ClassShare { from_m: 0.1, to_m: 0.2 },
        ColonyIndicator::ShareWithDeadParts,
        ColonyIndicator::ShareWithRecent,
        ColonyIndicator::ShareInCondition(Condition::Pale),
        ColonyIndicator::ShareInCondition(Condition::Bleached),
        ColonyIndicator::ShareInCondition(Condition::Diseased),
        ColonyIndicator::LiveShare,
    ];
    let simulated = simulate(&law, belt, &indicators, trials);
    for (indicator, simulated) in indicators.into_iter().zip(&simulated) {
        let moments = theory.moments(belt, BELT, indicator);
        let name = format!("{} {indicator:?}", reef.name());
        let sums = indicator.is_known_without_colonies();
        for state in 0..law.states.len() {
            let [one, two] = &simulated.belts[state];
            let [first, first_two] = &simulated.belts[0];
            let known: Vec<f64> = one.iter().copied().filter(|value| !value.is_nan()).collect();
            // Sizes are rounded, and small counts are skewed: a fiftieth of the spread of a belt.
            let rounding = 0.01 + 0.02 * moments.variance[state].sqrt() / moments.mean[state].abs();
            check(&format!("{name} {state} mean"), measured_mean(&known), moments.mean[state], rounding);
            let own = covariance_of_known(one, one);
            check(
                &format!("{name} {state} variance"),
                own,
                moments.variance[state],
                if sums { slack } else { of_means },
            );
            // What two belts share of sizes is colonies that lie in both, next to nothing.
            let tiny = if sums { 0.0 } else { 1.0 };
            check(&format!("{name} {state} pair"), covariance_of_known(one, two), moments.pair[state], slack + tiny);
            if state > 0 {
                let same = covariance_of_known(first, one);
                check(
                    &format!("{name} {state} same marks"),
                    same,
                    moments.same_marks[state],
                    slack.max(of_means * tiny),
                );
                let across = covariance_of_known(first_two, one);
                check(&format!("{name} {state} across"), across, moments.across[state], slack + tiny);
            }
        }
    }
}

#[test]
fn belts_of_a_fore_reef_at_both_visits() {
    compare((NamedReef::ForeReef, living), &CoralBelt::default(), 3000, (0.01, 0.06));
}

#[test]
fn belts_after_deaths_by_size_and_in_patches() {
    compare((NamedReef::ForeReef, struck), &CoralBelt::default(), 3000, (0.02, 0.06));
}

#[test]
#[ignore = "minutes: 40,000 sites of two reefs"]
fn belts_after_deaths_by_size_and_in_patches_long() {
    compare((NamedReef::ForeReef, struck), &CoralBelt::default(), 40_000, (0.02, 0.06));
    // Where patches are strong and a storm leaves few colonies in a belt, 1 / n is no negative binomial's.
    compare((NamedReef::DenseCoralGarden, struck), &CoralBelt::default(), 40_000, (0.04, 0.25));
}

#[test]
#[ignore = "a minute: 40,000 sites of the reef with the largest colonies against its patches"]
fn belts_of_a_garden_at_both_visits() {
    compare((NamedReef::DenseCoralGarden, living), &CoralBelt::default(), 40_000, (0.03, 0.06));
}

#[test]
#[ignore = "a minute: 40,000 sites"]
fn belts_of_a_fore_reef_at_both_visits_long() {
    compare((NamedReef::ForeReef, living), &CoralBelt::default(), 40_000, (0.01, 0.06));
}

#[test]
#[ignore = "a minute: 40,000 sites whose divers miss small colonies"]
fn belts_of_a_patchy_reef_whose_small_colonies_are_missed() {
    let detection = Detection::Logistic { half_m: 0.06, slope: 2.5 };
    compare(
        (NamedReef::PatchyForeReef, living),
        &CoralBelt { detection, ..CoralBelt::default() },
        40_000,
        (0.02, 0.06),
    );
}

/// Density by an edge rule is density by centres times the rule's own ratio, on a reef with modulated density and after the
/// overlap rule too; two edges are unbiased.
#[test]
fn edge_rules_on_a_living_reef() {
    let (law, shape, kernels) = living(NamedReef::ForeReef);
    let theory = ColonyTheory::new(&law, (&shape, &kernels), SITE, None);
    let coral = CoralReef::new(law, |_| 0.0);
    let mut reader = Reader::new();
    for edge in EdgeRule::ALL {
        let belt = CoralBelt { edge, ..CoralBelt::default() };
        let moments = theory.moments(&belt, BELT, ColonyIndicator::Density);
        let sizes = theory.moments(&belt, BELT, ColonyIndicator::MeanDiameter);
        let (mut densities, mut diameters) = (vec![], vec![]);
        for trial in 0..2500 {
            let mut site = SiteReef::new(&coral, Key::seed(62).child(Purpose::Trial, trial));
            let frame = reader.read(&mut site, &belt, (40.0, 9.0), Visit::First);
            let density = ColonyIndicator::Density.of(&reader.reader.written, &frame, 0);
            densities.push(density);
            let mean = ColonyIndicator::MeanDiameter.of(&reader.reader.written, &frame, 0);
            diameters.push(if density > 0.0 { (mean - sizes.mean[0]) * density } else { 0.0 });
        }
        println!("{edge:?}: {:.4} colonies per m2, diameter {:.4} m", moments.mean[0], sizes.mean[0]);
        check(&format!("{edge:?} density"), measured_mean(&densities), moments.mean[0], 0.003);
        // Weighted by number the mean diameter is without bias.
        let apart = measured_mean(&diameters);
        assert!(apart.value.abs() < 4.0 * apart.error + 0.0005 * moments.mean[0], "{edge:?} {apart:?}");
        check(&format!("{edge:?} variance"), covariance_measured(&densities, &densities), moments.variance[0], 0.05);
    }
}

/// A colony that was under another at the first visit and is seen at the second.
#[test]
fn colonies_uncovered_by_a_death() {
    let (law, shape, kernels) = living(NamedReef::DenseCoralGarden);
    let theory = ColonyTheory::new(&law, (&shape, &kernels), SITE, Some(0.0));
    let states = law.states.len();
    let coral = CoralReef::new(law, |_| 0.0);
    let (mut first, mut second) = (Reader::new(), Reader::new());
    let mut uncovered = vec![vec![]; states];
    for trial in 0..1500 {
        let mut site = SiteReef::new(&coral, Key::seed(63).child(Purpose::Trial, trial));
        let frame = first.read(&mut site, &CoralBelt::default(), (40.0, 9.0), Visit::First);
        second.read(&mut site, &CoralBelt::default(), (40.0, 9.0), Visit::Second);
        for state in 1..states {
            let listed = (&frame, &first.walk.colonies);
            let number = unseen_before(listed, &first.reader.written, &second.reader.written, state);
            uncovered[state].push(number as f64 / frame.area_m2());
        }
    }
    for state in 1..states {
        // A small difference of two densities, of which each takes the shared density of germs as a mean: to a tenth.
        check(&format!("state {state} uncovered"), measured_mean(&uncovered[state]), theory.uncovered(state), 0.1);
    }
}
