use super::moments::{AnimalTheory, CountedAs, Ground, ReadBy};
use super::windows::{as_quadrats, mean_within, unit_area};
use crate::theory::pairs::{PairOfUnits, Unit, lags};
use crate::theory::placement::smeared;
use crate::theory::{Curve, UnitMoments};

/// Places along a side of a quadrat for the mean over its area, where the other place is a point of a grid.
const FINE_SIDE: usize = 12;

impl AnimalTheory {
    /// Moments of the density per m2 of the bottom they can live on: the count over the share of the unit's quadrats that
    /// is free, estimated under a grid of `side` x `side` points in each.
    ///
    /// By the delta method: with the count per m2 X of mean m and the estimated share F of mean f,
    /// `X / F = D (1 + (X - m) / m - (F - f) / f)`, D = m / f the density on free bottom. A count follows the ground, so
    /// that `Cov(X, F) / (m f)` is the covariance of the true free share and the estimated one over `f^2`. To second order
    /// a count on little free bottom tells less: `E 1 / F` makes the part of the animals themselves larger by
    /// `1 + Var F / f^2`.
    pub fn moments_on_ground(&self, read: &ReadBy, counted: CountedAs, ground: &Ground, side: usize) -> UnitMoments {
        let per_bottom = self.moments(read, counted, Some(ground));
        // What sites differ by, and the densities, as if all bottom were free.
        let mut moments = self.moments(read, counted, None).of_first(ground.share.len());
        let pair = PairOfUnits::new(read.room(), read.unit);
        let area = unit_area(read.unit);
        let density = moments.mean.clone();
        let free = &ground.share;
        for s in 0..density.len() {
            let relative = |value: f64, from: usize| value / (per_bottom.mean[from] * per_bottom.mean[s]);
            let shares = |from: usize| 1.0 / (free[from] * free[s]);
            let to_density = |value: f64, from: usize| density[from] * density[s] * value;
            // Of one unit: the ground it is counted on, at one visit or at two.
            let of_unit = |curve: &Curve, covariance: f64, same: f64, from: usize| {
                let estimated = shares(from) * grid_with_grid(read.unit, side, curve);
                let crossed = shares(from) * grid_with_area(read.unit, side, curve);
                let animals = relative(read.per_m2 * read.per_m2 * same / area, from);
                to_density(relative(covariance, from) - 2.0 * crossed + estimated + animals * estimated.max(0.0), from)
            };
            // Of two units, whose grids are as good as their areas.
            let of_two = |curve: &Curve, covariance: f64, from: usize| {
                to_density(relative(covariance, from) - shares(from) * pair.mean(|h| curve.at(h)), from)
            };
            let (within, across) = (&ground.within[s], &ground.across[s]);
            let own = counted.share() * self.law.mean_density(s) * free[s];
            moments.variance[s] = of_unit(within, per_bottom.variance[s], own, s);
            moments.pair[s] = of_two(within, per_bottom.pair[s], s);
            let kept = counted.both() * self.kept(s) * (free[0] * free[s] + across.at(0.0));
            moments.same_marks[s] = of_unit(&smeared(across, read.relay_sd_m), per_bottom.same_marks[s], kept, 0);
            moments.across[s] = of_two(across, per_bottom.across[s], 0);
        }
        moments.same_marks[0] = moments.variance[0];
        moments.across[0] = moments.pair[0];
        moments
    }
}

/// Mean of a covariance over all pairs of points of the grids of a unit's quadrats.
fn grid_with_grid(unit: Unit, side: usize, curve: &Curve) -> f64 {
    between_grids(unit, side, side, curve)
}

/// The same of a point of a grid and any place of the quadrats.
fn grid_with_area(unit: Unit, side: usize, curve: &Curve) -> f64 {
    if side >= FINE_SIDE { mean_within(unit, |h| curve.at(h)) } else { between_grids(unit, side, FINE_SIDE, curve) }
}

fn between_grids(unit: Unit, one: usize, other: usize, curve: &Curve) -> f64 {
    let (number, every, length, width) = as_quadrats(unit);
    let middles = |side: usize, of: f64| (0..side).map(move |k| (k as f64 + 0.5) / side as f64 * of);
    let differences = |of: f64| -> Vec<f64> {
        middles(one, of).flat_map(|first| middles(other, of).map(move |second| second - first)).collect()
    };
    let (along, across) = (differences(length), differences(width));
    let each = 1.0 / (along.len() * across.len()) as f64;
    let at_lag = |lag: f64| -> f64 {
        let row = |dx: &f64| across.iter().map(|dy| curve.at(libm::hypot(lag + dx, *dy))).sum::<f64>();
        each * along.iter().map(row).sum::<f64>()
    };
    lags(number, every).map(|(lag, weight)| weight * at_lag(lag)).sum()
}
