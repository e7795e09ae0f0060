//! Sites whose colonies differ beyond chance: what that does to means over the colonies of a belt, to first order.

use super::moments::{ColonyTheory, value_of};
use super::sizes::{MeasuredSizes, WrittenSizes};
use crate::analysis::ColonyIndicator;
use crate::design::SiteSpread;
use crate::reef::colonies::PartialMortality;
use crate::survey::coral_belt::CoralBelt;
use crate::theory::UnitMoments;

/// Steps in ln diameter (at least) and in log odds over which slopes are taken.
const STEP: f64 = 0.05;

impl ColonyTheory {
    /// By how much an indicator moves, in each state, with the ln diameter of all colonies of a site, and with the share of
    /// them that have dead parts: the secant over one SD of ln diameter to either side, the tangent in the share. What is a
    /// sum over colonies, and a whole distribution, has none.
    pub fn site_slopes(&self, belt: &CoralBelt, size: (f64, f64), indicator: ColonyIndicator) -> Vec<[f64; 2]> {
        if self.is_moved(indicator) {
            self.slopes_by(&self.all_sizes(belt, size), indicator)
        } else {
            vec![[0.0; 2]; self.number_of_states()]
        }
    }

    /// Whether sites differ in it by more than chance.
    pub(super) fn is_moved(&self, indicator: ColonyIndicator) -> bool {
        let is_mean = !indicator.is_sum_over_colonies() && indicator != ColonyIndicator::SizeStructure;
        is_mean && !self.variation.is_none()
    }

    /// The slopes of a mean by the sizes of all colonies.
    pub(super) fn slopes_by(&self, all: &[Vec<MeasuredSizes>], indicator: ColonyIndicator) -> Vec<[f64; 2]> {
        let slopes =
            |sizes: WrittenSizes| [self.by_ln_diameter(&sizes, indicator), self.by_dead_parts(&sizes, indicator)];
        self.sizes_there(all).into_iter().map(slopes).collect()
    }

    fn by_ln_diameter(&self, sizes: &WrittenSizes, indicator: ColonyIndicator) -> f64 {
        let step = self.variation.ln_diameter.between_sites.max(STEP);
        let at = |step: f64| {
            let factor = libm::exp(step);
            match indicator {
                ColonyIndicator::MedianDiameter => factor * sizes.median().0,
                _ => sizes.mean(|d| value_of((indicator, &self.dead), factor * d).0),
            }
        };
        (at(step) - at(-step)) / (2.0 * step)
    }

    fn by_dead_parts(&self, sizes: &WrittenSizes, indicator: ColonyIndicator) -> f64 {
        if !indicator.is_of_dead_parts() {
            return 0.0;
        }
        let slope = |of: ColonyIndicator| {
            let at = |step: f64| {
                let dead = PartialMortality { log_odds: self.dead.log_odds + step, ..self.dead };
                sizes.mean(|d| value_of((of, &dead), d).0)
            };
            at(STEP) - at(-STEP)
        };
        slope(indicator) / slope(ColonyIndicator::ShareWithDeadParts)
    }

    /// Adds what sites differ by to moments that know chance alone.
    pub(super) fn add_site_spread(&self, moments: &mut UnitMoments, slopes: &[[f64; 2]]) {
        let spreads = self.variation.spreads();
        let shared = |one: &[f64; 2], other: &[f64; 2], sd: fn(&SiteSpread) -> f64| -> f64 {
            let products = one.iter().zip(other).map(|(one, other)| one * other);
            products.zip(&spreads).map(|(product, spread)| product * sd(spread).powi(2)).sum()
        };
        for (state, slope) in slopes.iter().enumerate() {
            let within = shared(slope, slope, |spread| spread.between_sites);
            for moment in [&mut moments.variance, &mut moments.pair, &mut moments.site_truth] {
                moment[state] += within;
            }
            // What is not known across visits (of the first with itself) stays so.
            let across = shared(&slopes[0], slope, SiteSpread::lasting);
            for moment in [&mut moments.same_marks, &mut moments.across, &mut moments.site_truth_across] {
                moment[state] += across;
            }
        }
    }
}
