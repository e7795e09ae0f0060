//! A reef whose law is written by hand, so that printed numbers can be met without a calibration, and its simulation.

use rayon::prelude::*;
use reefwright::geometry::union_length;
use reefwright::random::{Key, Purpose, normal_from_uniform};
use reefwright::reef::{
    Colony, CoralLaw, CoralReef, CoralState, MOST_STATES, Patchiness, ReefSpec, SiteReef, SizeLaw, Visit, Walk,
};
use reefwright::theory::lattice::axis_covariance;
use reefwright::theory::pairs::{PairOfUnits, Unit};
use reefwright::theory::placement::{smeared, variance_of_intercept, variance_of_points, variance_of_rectangle};
use reefwright::theory::{CoralPairs, Curve, Kernels, LogNormal, Shape};
use std::f64::consts::FRAC_PI_4;
use std::ops::Range;
use std::sync::LazyLock;

/// Sizes (median m, SD of ln, cut m), patches (SD of ln density, scale m) and along-reef field (SD, scale 60 m).
pub fn spec(sizes: (f64, f64, f64), patch: (f64, f64), along_sd: f64) -> ReefSpec {
    ReefSpec {
        sizes: SizeLaw { median_m: sizes.0, ln_sd: sizes.1, max_m: sizes.2 },
        patch: Patchiness { sd: patch.0, scale_m: patch.1 },
        along: Patchiness { sd: along_sd, scale_m: 60.0 },
    }
}

/// A time between two visits.
#[derive(Clone, Copy, Debug)]
pub struct Time {
    pub years: f64,
    /// Share of colonies renewed each year.
    pub renewal: f64,
    /// Infinite: no drift.
    pub drift_years: f64,
    /// Displacement of the second tape from the first, SD per axis, m.
    pub relay_sd: f64,
    /// Density at the second visit over that at the first.
    pub factor: f64,
}

/// The law and its shape.
pub struct Reef {
    pub law: CoralLaw,
    pub shape: Shape,
    pub relay_sd: f64,
}

impl Reef {
    pub fn new(spec: ReefSpec, shape: Shape, cover: f64, site_sd: f64) -> Self {
        let still = Time { years: 0.0, renewal: 0.0, drift_years: f64::INFINITY, relay_sd: 0.0, factor: 1.0 };
        Self::at_two_visits(spec, shape, (cover, site_sd), still)
    }

    pub fn at_two_visits(spec: ReefSpec, shape: Shape, (cover, site_sd): (f64, f64), time: Time) -> Self {
        let variance = shape.patch(0.0) + shape.along(0.0) + site_sd * site_sd;
        let mean = shape.intensity.mean_for_cover(cover, variance).expect("a cover within reach");
        let state = |factor: f64| {
            let mean = factor * mean;
            let cover = 1.0 - shape.intensity.bare(LogNormal { mean, variance });
            CoralState::even(cover, mean)
        };
        let law = CoralLaw {
            spec,
            mean_area_m2: shape.discs.mean_area,
            site_sd,
            site_year_sd: 0.0,
            field_memory: (-time.years / time.drift_years).exp(),
            same_colonies: (-time.renewal * time.years).exp(),
            states: vec![state(1.0), state(time.factor)],
            patch_variance_over_a_point: shape.patch(0.0),
        };
        Self { law, shape, relay_sd: time.relay_sd }
    }

    fn pairs(&self) -> CoralPairs<'_> {
        CoralPairs::new(&self.law, &self.shape)
    }

    /// Covariance of two points of one visit (0 or 1).
    pub fn within(&self, visit: usize, distance: f64) -> f64 {
        let pairs = self.pairs();
        pairs.bare_within(visit, distance) - pairs.bare(visit).powi(2)
    }

    /// The same as a curve over a site.
    pub fn within_curve(&self, visit: usize) -> Curve {
        Curve::new(110.0, 500, |h| self.within(visit, h))
    }

    /// Covariance of a point at the first visit and a point meant to be at `distance` at the second.
    pub fn across_curve(&self) -> Curve {
        let pairs = self.pairs();
        let independent = pairs.bare(0) * pairs.bare(1);
        smeared(&Curve::new(110.0, 500, |h| pairs.bare_across(1, h) - independent), self.relay_sd)
    }
}

/// How a unit of 10 m averages a covariance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Read {
    Points(usize),
    Intercept,
    Belt,
    Quadrat,
}

impl Read {
    /// Mean of the covariance over all pairs of points of the unit. For [`Read::Points`] the value at 0 counts.
    pub fn variance(self, c: &Curve) -> f64 {
        let c_at = |h: f64| c.at(h);
        match self {
            Read::Points(number) => variance_of_points(c.at(0.0), number, 10.0 / number as f64, c_at),
            Read::Intercept => variance_of_intercept(10.0, c_at),
            Read::Belt => variance_of_rectangle(10.0, 0.4, c_at),
            Read::Quadrat => variance_of_rectangle(0.5, 0.5, c_at),
        }
    }

    /// Mean covariance of two such units laid at random in a site of 100 x 20 m, parallel.
    pub fn pair(self, c: &Curve) -> f64 {
        let unit = match self {
            Read::Points(number) => Unit::Points { length_m: 10.0, number, spacing_m: 10.0 / number as f64 },
            Read::Intercept => Unit::Line { length_m: 10.0 },
            Read::Belt => Unit::Strip { length_m: 10.0, width_m: 0.4 },
            Read::Quadrat => Unit::Strip { length_m: 0.5, width_m: 0.5 },
        };
        PairOfUnits::new((100.0, 20.0), unit).mean(|h| c.at(h))
    }
}

/// Spacings and shares of the octaves of the lattice that the printed values were computed for: four, each half as wide as
/// the one before. The fields of this program have three ([`reefwright::reef::OCTAVES`]), nearer to the Matern correlation.
const PRINTED_OCTAVES: [(f64, f64); 4] = [(2.0, 0.3279), (1.0, 0.5476), (0.5, 0.0967), (0.25, 0.0278)];

/// Correlation of the lattice of the printed values over turns and shifts, for a scale in metres; by plain midpoints.
pub fn printed_correlation(scale: f64) -> Curve {
    // Along one axis, by displacement in spacings.
    static AXIS: LazyLock<Curve> = LazyLock::new(|| {
        let shifts = 1000;
        Curve::new(3.0, 768, |u| {
            (0..shifts).map(|i| axis_covariance((i as f64 + 0.5) / shifts as f64, u)).sum::<f64>() / shifts as f64
        })
    });
    let axis = |u: f64| if u < 3.0 { AXIS.at(u) } else { 0.0 };
    let all: f64 = PRINTED_OCTAVES.iter().map(|(_, share)| share).sum();
    let turns = 64;
    Curve::new(6.0 * std::f64::consts::SQRT_2 * scale, 512, |distance| {
        let of_turn = |turn: usize| {
            let (sin, cos) = (FRAC_PI_4 * (turn as f64 + 0.5) / f64::from(turns)).sin_cos();
            let octave = |&(spacing, share): &(f64, f64)| {
                let nodes = distance / (spacing * scale);
                share / all * axis(nodes * cos) * axis(nodes * sin)
            };
            PRINTED_OCTAVES.iter().map(octave).sum::<f64>()
        };
        (0..turns as usize).map(of_turn).sum::<f64>() / f64::from(turns)
    })
}

/// The kernels of the calibration, which took a lattice field for an isotropic one: `exp(sd^2 rho(h)) - 1` with the mean
/// correlation rho(h) over turns and shifts of the lattice. [`Kernels::smooth`] averages the exponential instead, which is
/// what the field does; the difference has a test of its own.
pub fn isotropic(spec: &ReefSpec) -> Kernels {
    isotropic_of(spec, printed_correlation)
}

/// The same for another correlation of a field of so many metres.
pub fn isotropic_of(spec: &ReefSpec, correlation: impl Fn(f64) -> Curve) -> Kernels {
    let kernel = |sd: f64, scale: f64| {
        let correlation = correlation(scale);
        Curve::new(correlation.reach(), 512, |h| (sd * sd * correlation.at(h)).exp_m1())
    };
    Kernels { patch: kernel(spec.patch.sd, spec.patch.scale_m), along: kernel(spec.along.sd, spec.along.scale_m) }
}

/// The disc-averaged shape of a reef with these kernels.
pub fn printed(spec: &ReefSpec) -> Shape {
    Shape::new(spec, &isotropic(spec))
}

/// The same with the exact kernels of the smooth lattice field.
pub fn smooth(spec: &ReefSpec) -> Shape {
    Shape::new(spec, &Kernels::smooth(spec))
}

/// The shape of the engine's cells.
pub fn cells(spec: &ReefSpec) -> Shape {
    Shape::new(spec, &Kernels::of_cells(spec))
}

/// What one simulated 10 m tape gives at one visit.
#[derive(Clone, Copy, Debug)]
pub struct Tape {
    pub points_100: f64,
    pub points_20: f64,
    pub intercept: f64,
    /// 300 random points in a belt of 0.4 m around the tape.
    pub belt: f64,
}

/// What was there on a site and what was read on it.
pub struct SeenSite {
    /// True cover of the site in each state.
    pub truths: Vec<f64>,
    /// Two tapes laid independently at random, each in every state: state 0 at the first visit, the others where the tape
    /// lies at the second, at its marks but for the re-laying error.
    pub tapes: [Vec<Tape>; 2],
}

/// Surveys `number` sites of 100 x 20 m.
pub fn simulate(reef: &Reef, seed: u64, number: u64) -> Vec<SeenSite> {
    let variance = reef.law.patch_variance_over_a_point;
    let intensity = &reef.shape.intensity;
    let coral = CoralReef::new(reef.law.clone(), |ln_u| 1.0 - intensity.bare(LogNormal { mean: ln_u.exp(), variance }));
    let root = Key::seed(seed);
    let states = reef.law.states.len();
    let seen = |trial: u64| {
        let key = root.child(Purpose::Trial, trial);
        let mut site = SiteReef::new(&coral, key);
        let tapes = [0, 1].map(|unit| {
            let key = key.child(Purpose::Test, unit);
            let start = (90.0 * key.uniform(Purpose::Placement, 0), 20.0 * key.uniform(Purpose::Placement, 1));
            let aside = |axis| reef.relay_sd * normal_from_uniform(key.uniform(Purpose::Relay, axis));
            let moved = (start.0 + aside(0), start.1 + aside(1));
            let first = key.child(Purpose::PhotoPoint, 0);
            let second = key.child(Purpose::PhotoPoint, 1);
            let mut of_states = read_tape(&mut site, first, start, Visit::First, 0..1);
            of_states.extend(read_tape(&mut site, second, moved, Visit::Second, 1..states));
            of_states
        });
        let mut truths = [0.0; MOST_STATES];
        site.truth((100.0, 20.0), 0..coral.law.states.len(), &mut truths);
        SeenSite { truths: truths[..states].to_vec(), tapes }
    };
    (0..number).into_par_iter().map(seen).collect()
}

fn read_tape(site: &mut SiteReef, key: Key, from: (f64, f64), visit: Visit, states: Range<usize>) -> Vec<Tape> {
    let mut walk = Walk::default();
    let line = site.frame_line(from, (1.0, 0.0), 10.0);
    walk.read(site, &line, 0.2, visit);
    states.map(|state| read_state(&walk, key, state)).collect()
}

fn read_state(walk: &Walk, key: Key, state: usize) -> Tape {
    let alive: Vec<Colony> = walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1).collect();
    let mut chords = Vec::new();
    let mut points = [false; 100];
    for colony in &alive {
        let half = (colony.radius * colony.radius - colony.across * colony.across).max(0.0).sqrt();
        if half == 0.0 {
            continue;
        }
        let (start, end) = (colony.along - half, colony.along + half);
        chords.push((start, end));
        for (i, point) in points.iter_mut().enumerate() {
            let place = (i as f32 + 1.0) * 0.1;
            *point |= start <= place && place <= end;
        }
    }
    let thrown = (0..300u64).filter(|&i| {
        let along = 10.0 * key.uniform(Purpose::PhotoPoint, 2 * i) as f32;
        let across = 0.4 * (key.uniform(Purpose::PhotoPoint, 2 * i + 1) as f32 - 0.5);
        alive.iter().any(|c| (c.along - along).powi(2) + (c.across - across).powi(2) < c.radius * c.radius)
    });
    let share = |step: usize| {
        let read = points.iter().skip(step - 1).step_by(step);
        read.clone().filter(|&&hit| hit).count() as f64 / read.count() as f64
    };
    Tape {
        points_100: share(1),
        points_20: share(5),
        belt: thrown.count() as f64 / 300.0,
        intercept: union_length(&mut chords, 10.0) / 10.0,
    }
}

/// The sizes of the fore reef.
pub const FORE_REEF_SIZES: (f64, f64, f64) = (0.10, 0.75, 0.8);

/// Sizes, patches, SD of the along-reef field, and cover of the reefs that were simulated directly.
pub type Simulated = ((f64, f64, f64), (f64, f64), f64, f64);
pub const BREAK: Simulated = ((0.3, 0.9, 2.0), (1.0, 1.0), 0.0, 0.3);

/// Computed: covariance of two visits' readings of one 10 m unit, for 100 points and for the belt without its points.
/// Cover, sizes, patches, time and the two covariances.
pub type Revisit = (f64, (f64, f64, f64), (f64, f64), Time, [f64; 2]);

pub fn revisits() -> [Revisit; 4] {
    let time = |years, renewal, drift_years, relay_sd, factor| Time { years, renewal, drift_years, relay_sd, factor };
    let (rubble, patches) = ((0.085, 0.66, 0.8), (1.35, 2.9));
    [
        (0.14, FORE_REEF_SIZES, (0.4, 1.5), time(5.0, 0.08, 12.0, 0.2, 1.0), [0.00150223, 0.0013466]),
        (0.2, rubble, patches, time(3.0, 0.1, 10.0, 0.0, 0.65), [0.0131465, 0.0126397]),
        (0.2, rubble, patches, time(1.0, 0.1, f64::INFINITY, 0.3, 0.65), [0.0175887, 0.0174907]),
        (0.6, (0.18, 0.7, 1.2), (0.95, 1.6), time(5.0, 0.06, 15.0, 0.2, 1.0), [0.0166715, 0.0163436]),
    ]
}
