use crate::design::{ColonyVariation, SiteSpread};
use crate::random::{Key, Purpose, normal_from_uniform};
use crate::reef::Visit;

/// By how much the colonies of a site differ, at a visit, from those of the typical site.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ColonySite {
    /// In ln diameter.
    pub ln_diameter: f64,
    /// In the share that have dead parts.
    pub dead_parts: f64,
}

impl ColonySite {
    /// What a site keeps from visit to visit, and its year.
    pub fn of(variation: &ColonyVariation, site: Key, visit: Visit) -> Self {
        if variation.is_none() {
            return Self::default();
        }
        let normal = |index: u64| normal_from_uniform(site.uniform(Purpose::ColonySite, index));
        let year = match visit {
            Visit::First => 2,
            Visit::Second => 4,
        };
        let [ln_diameter, dead_parts] = variation.spreads();
        let departure =
            |spread: SiteSpread, which: u64| spread.lasting() * normal(which) + spread.site_year * normal(year + which);
        Self { ln_diameter: departure(ln_diameter, 0), dead_parts: departure(dead_parts, 1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::covariance_measured;

    #[test]
    fn sites_differ_as_asked_within_a_visit_and_across() {
        let variation = ColonyVariation {
            ln_diameter: SiteSpread { between_sites: 0.5, site_year: 0.3 },
            dead_parts: SiteSpread { between_sites: 0.1, site_year: 0.1 },
        };
        let site = |number: u64, visit| ColonySite::of(&variation, Key::seed(3).child(Purpose::Site, number), visit);
        let of = |visit: Visit, which: fn(&ColonySite) -> f64| -> Vec<f64> {
            (0..20_000).map(|number| which(&site(number, visit))).collect()
        };
        let expect = |one: &[f64], other: &[f64], exact: f64| {
            let found = covariance_measured(one, other);
            assert!((found.value - exact).abs() < 4.0 * found.error, "{found:?} {exact}");
        };
        let sizes = [Visit::First, Visit::Second].map(|visit| of(visit, |site| site.ln_diameter));
        let dead = [Visit::First, Visit::Second].map(|visit| of(visit, |site| site.dead_parts));
        expect(&sizes[0], &sizes[0], 0.25);
        expect(&sizes[1], &sizes[1], 0.25);
        expect(&sizes[0], &sizes[1], 0.16);
        expect(&dead[1], &dead[1], 0.01);
        expect(&dead[0], &dead[1], 0.0);
        expect(&sizes[0], &dead[0], 0.0);
        assert_eq!(ColonySite::of(&ColonyVariation::default(), Key::seed(3), Visit::First), ColonySite::default());
    }
}
