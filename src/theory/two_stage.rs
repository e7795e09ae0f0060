//! Sites and lines in sites: design effect and the best division of effort.

/// Ratio of the variance of the mean of `per_site` units of one site to that of as many independent units:
/// `1 + (m - 1) rho`, with rho the correlation of two units of one site (Kish 1965, Survey Sampling; formula as commonly
/// cited). A variance ratio: multiply a number of units by it, not by its root.
pub fn design_effect(per_site: f64, same_site_correlation: f64) -> f64 {
    1.0 + (per_site - 1.0) * same_site_correlation
}

/// Variance between sites and between units of one site, and what each costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoStage {
    pub between_sites: f64,
    pub within_sites: f64,
    /// Cost of reaching a site, whatever is done there, and of one unit.
    pub cost_of_site: f64,
    pub cost_of_unit: f64,
}

/// A division of effort and what it gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Division<N> {
    pub sites: N,
    pub units: N,
    /// Variance of the overall mean.
    pub variance: f64,
}

impl TwoStage {
    pub fn variance(&self, sites: f64, units: f64) -> f64 {
        self.between_sites / sites + self.within_sites / (sites * units)
    }

    /// Units a site at which a given variance costs least, not rounded: `sqrt(c1 / c2) * Sw / Sb`. It does not depend on
    /// the budget (Cochran 1977, Sampling Techniques, section 10.6; from memory).
    pub fn best_units(&self) -> f64 {
        (self.cost_of_site / self.cost_of_unit * self.within_sites / self.between_sites).sqrt()
    }

    /// The best division of `budget`, not rounded: `n = C Sb / (Sw sqrt(c1 c2) + Sb c1)` sites (Brus 2022, Spatial Sampling
    /// with R, chapter 7).
    pub fn best(&self, budget: f64) -> Division<f64> {
        let (between, within) = (self.between_sites.sqrt(), self.within_sites.sqrt());
        let costs = (self.cost_of_site * self.cost_of_unit).sqrt();
        let sites = budget * between / (within * costs + between * self.cost_of_site);
        let units = self.best_units();
        Division { sites, units, variance: self.variance(sites, units) }
    }

    /// The best whole numbers within `budget`, by trying every number of units up to `most_units`; `None` when not even one
    /// site with one unit is affordable. The optimum is flat: look at the neighbours before preferring it.
    pub fn best_whole(&self, budget: f64, most_units: u64) -> Option<Division<u64>> {
        let mut best: Option<Division<u64>> = None;
        for units in 1..=most_units {
            let sites = (budget / (self.cost_of_site + self.cost_of_unit * units as f64) + 1e-9).floor();
            if !(sites >= 1.0) {
                break;
            }
            let variance = self.variance(sites, units as f64);
            if best.is_none_or(|best| variance < best.variance) {
                best = Some(Division { sites: sites as u64, units, variance });
            }
        }
        best
    }
}

/// Units a site that cost least when only the correlation of two units of one site is known:
/// `sqrt(c1 / c2 * (1 - rho) / rho)`.
pub fn best_units_by_correlation(cost_of_site: f64, cost_of_unit: f64, same_site_correlation: f64) -> f64 {
    (cost_of_site / cost_of_unit * (1.0 - same_site_correlation) / same_site_correlation).sqrt()
}

/// Units a site that cost least when sites hold only `listed` units, from the mean squares of a pilot:
/// `sqrt(c1 / c2 * MSW / ((MSB - MSW) / M))`. Infinite when sites do not differ.
pub fn best_units_by_mean_squares(cost_ratio: f64, between_square: f64, within_square: f64, listed: f64) -> f64 {
    let between = ((between_square - within_square) / listed).max(0.0);
    (cost_ratio * within_square / between).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_division_spends_the_budget_and_its_neighbours_are_worse() {
        let stage = TwoStage { between_sites: 0.004, within_sites: 0.01, cost_of_site: 75.0, cost_of_unit: 15.0 };
        let best = stage.best(2000.0);
        assert!((best.sites * (75.0 + 15.0 * best.units) - 2000.0).abs() < 1e-9);
        for units in [0.8 * best.units, 1.25 * best.units] {
            assert!(stage.variance(2000.0 / (75.0 + 15.0 * units), units) > best.variance);
        }
        let whole = stage.best_whole(2000.0, 40).unwrap();
        assert!(whole.variance >= best.variance && whole.variance < 1.1 * best.variance);
        assert!(stage.best_whole(80.0, 40).is_none());
    }
}
