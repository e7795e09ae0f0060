//! What two units of one site share under each rule of placement: the twin of [`crate::survey::Ground::lay`].
//!
//! Two units that are laid without regard to each other have one mean covariance. Units of one layout that keeps them
//! apart have another, lower where the covariance falls with distance; the difference is a [`Departure`].

use super::curve::Curve;
use super::departure::{Departure, Spaced};
use super::drawn::{Drawn, drawn};
use super::pairs::{PairOfUnits, Unit};
use super::quadrature::Rule;
use crate::survey::{Ground, Heading, LineLayout};
use std::sync::{Arc, LazyLock};

static WIDTH_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(6));

/// Intervals of a covariance tabulated by the distance of two lines.
const PROFILE_INTERVALS: usize = 128;

/// How two units of a site lie to each other. Made once for a site, a rule and a unit, then good for any covariance.
#[derive(Clone, Debug)]
pub struct LaidPairs {
    independent: Distances,
    together: Together,
}

/// Distances between a random point of one unit and one of the other.
#[derive(Clone, Debug)]
enum Distances {
    /// Parallel units laid independently: exact, axis by axis.
    Axes(PairOfUnits),
    /// From drawn layouts: those of units of different layouts.
    Drawn(Arc<Drawn>),
}

#[derive(Clone, Debug)]
enum Together {
    Independent,
    /// From drawn layouts: those of units of one layout.
    Drawn(Arc<Drawn>),
    /// At equal distances across `room` metres: displacements along the heading, and across within the units' width.
    Spaced {
        along: Vec<(f64, f64)>,
        width: f64,
        room: f64,
    },
}

impl LaidPairs {
    /// `number`: units in the largest layout of such units at the site (a least gap leaves the less room the more there
    /// are).
    pub fn new(ground: &Ground, unit: Unit, number: usize) -> Self {
        let any_heading = ground.placement.heading == Heading::Any;
        let parallel = || PairOfUnits::new(ground.sides(), unit);
        match ground.placement.layout {
            LineLayout::RandomStarts if !any_heading => {
                Self { independent: Distances::Axes(parallel()), together: Together::Independent }
            }
            LineLayout::RandomStarts => {
                Self { independent: Distances::Drawn(drawn(ground, unit, FREE_UNITS)), together: Together::Independent }
            }
            LineLayout::LeastGap { .. } => {
                let drawn = drawn(ground, unit, number.max(2));
                Self { independent: Distances::Drawn(Arc::clone(&drawn)), together: Together::Drawn(drawn) }
            }
            LineLayout::Systematic => {
                let pair = parallel();
                let (_, width) = unit.size();
                let along = pair.along().to_vec();
                let together = Together::Spaced { along, width, room: (ground.sides().1 - width).max(0.0) };
                Self { independent: Distances::Axes(pair), together }
            }
        }
    }

    /// Mean covariance of two units laid without regard to each other.
    pub fn independent(&self, c: &Curve) -> f64 {
        match &self.independent {
            Distances::Axes(pair) => pair.mean(|h| c.at(h)),
            Distances::Drawn(drawn) => drawn.independent.mean(c),
        }
    }

    /// What is to be added for two units of one layout: their mean covariance by `within` less the independent one.
    pub fn departure(&self, within: &Curve, independent: f64) -> Departure {
        match &self.together {
            Together::Independent => Departure::None,
            Together::Drawn(drawn) => Departure::Always(drawn.together.mean(within) - independent),
            Together::Spaced { along, width, room } => {
                Departure::Spaced(Spaced::new(profile(within, along, *width, *room), *room, independent))
            }
        }
    }
}

/// Units of each drawn layout where they are placed without regard to each other.
const FREE_UNITS: usize = 16;

/// Mean covariance of two parallel units by the distance of their middle lines, up to `room`.
fn profile(c: &Curve, along: &[(f64, f64)], width: f64, room: f64) -> Curve {
    let at = |across: f64| -> f64 { along.iter().map(|&(dx, weight)| weight * c.at(libm::hypot(dx, across))).sum() };
    Curve::new(room.max(1e-6), PROFILE_INTERVALS, |distance| {
        if width == 0.0 {
            return at(distance);
        }
        // Two places within the width differ by a triangular variable.
        let side =
            |sign: f64| WIDTH_RULE.pairs().map(|(s, w)| w * (1.0 - s) * at(distance + sign * s * width)).sum::<f64>();
        side(1.0) + side(-1.0)
    })
}
