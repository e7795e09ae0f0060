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

    /// Share of layouts so crowded that their units lie in rows.
    pub fn in_rows(&self) -> f64 {
        match &self.together {
            Together::Drawn(drawn) => drawn.in_rows,
            Together::Independent | Together::Spaced { .. } => 0.0,
        }
    }

    /// Mean covariance of two units laid without regard to each other.
    pub fn independent(&self, c: &Curve) -> f64 {
        match &self.independent {
            Distances::Axes(pair) => pair.mean(|h| c.at(h)),
            Distances::Drawn(drawn) => drawn.independent.mean(c),
        }
    }

    /// Whether units are laid without regard to each other, so that nothing departs.
    pub fn are_independent(&self) -> bool {
        matches!(self.together, Together::Independent)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Placement;

    fn ground(layout: LineLayout, heading: Heading) -> Ground {
        Ground { site: (60.0, 15.0), placement: Placement { layout, heading } }
    }

    /// Colonies, patches and the slow field of a reef.
    fn reef() -> Curve {
        Curve::new(62.0, 500, |h| {
            0.1 * (-h / 0.1).exp() + 0.02 * (-(h / 1.5).powi(2)).exp() + 0.004 * (-h / 60.0).exp()
        })
    }

    const UNITS: [Unit; 3] = [
        Unit::Points { length_m: 10.0, number: 20, spacing_m: 0.5 },
        Unit::Line { length_m: 8.0 },
        Unit::Strip { length_m: 10.0, width_m: 1.5 },
    ];

    #[test]
    fn drawn_layouts_agree_with_the_quadrature_where_there_is_one() {
        for heading in [Heading::Along, Heading::Across] {
            let ground = ground(LineLayout::RandomStarts, heading);
            for unit in UNITS {
                let exact = LaidPairs::new(&ground, unit, 6).independent(&reef());
                let drawn = drawn(&ground, unit, FREE_UNITS);
                for value in [drawn.together.mean(&reef()), drawn.independent.mean(&reef())] {
                    // The covariance of two points has an SD of .0015 about its mean .004; a hundred thousand of them.
                    assert!((value - exact).abs() < 1e-5, "{heading:?} {unit:?}: {value} {exact}");
                }
            }
        }
    }

    /// Random starts, averaged over all of them, are equal distances averaged over how many there are: the covariance by
    /// distance, weighted with the triangle of two uniform places, is that of independent units.
    #[test]
    fn the_covariance_by_distance_averages_to_the_independent_one() {
        let rule = Rule::legendre(200);
        for unit in UNITS {
            let ground = ground(LineLayout::Systematic, Heading::Across);
            let pairs = LaidPairs::new(&ground, unit, 6);
            let Together::Spaced { along, width, room } = &pairs.together else { panic!("not spaced") };
            let profile = profile(&reef(), along, *width, *room);
            // Cubic nodes, dense near 0.
            let mean = rule.integrate(0.0, 1.0, |s| {
                let d = room * s * s * s;
                3.0 * room * s * s * 2.0 * (room - d) / (room * room) * profile.at(d)
            });
            let independent = pairs.independent(&reef());
            assert!((mean / independent - 1.0).abs() < 2e-3, "{unit:?}: {mean} {independent}");
        }
    }

    #[test]
    fn a_constant_covariance_is_shared_whatever_the_layout() {
        let constant = Curve::new(62.0, 10, |_| 0.3);
        for layout in [LineLayout::RandomStarts, LineLayout::LeastGap { gap_m: 2.0 }, LineLayout::Systematic] {
            for heading in [Heading::Along, Heading::Across, Heading::Any] {
                for unit in UNITS {
                    let pairs = LaidPairs::new(&ground(layout, heading), unit, 6);
                    let independent = pairs.independent(&constant);
                    let departure = pairs.departure(&constant, independent).of(6.0);
                    assert!((independent - 0.3).abs() < 1e-9 && departure.abs() < 1e-9, "{layout:?} {heading:?}");
                }
            }
        }
    }

    /// A square site has no long side, and units in any direction share about what parallel ones do.
    #[test]
    fn headings_agree_on_a_square() {
        let pair = |heading| {
            let ground = Ground { site: (30.0, 30.0), ..ground(LineLayout::RandomStarts, heading) };
            LaidPairs::new(&ground, Unit::Line { length_m: 10.0 }, 6).independent(&reef())
        };
        let (along, across, any) = (pair(Heading::Along), pair(Heading::Across), pair(Heading::Any));
        assert!((along - across).abs() < 1e-12);
        assert!((any / along - 1.0).abs() < 0.02, "{any} {along}");
    }
}
