//! How the colonies of sites differ beyond chance: components of variance from the means of sites and visits.

use super::read::{ColonyZone, Measured};
use crate::analysis::{Moments, mean, variance};
use crate::design::{ColonyVariation, SiteSpread};
use crate::reef::colonies::PartialMortality;

/// Colonies of a site and visit that a mean is made of, at least; and sites. Choices.
const FEWEST_COLONIES: usize = 5;
const FEWEST_SITES: usize = 3;

/// Spreads of ln largest diameter, and of the share with dead parts beyond what size makes of it; nil where they are not above
/// chance, or the pilot has too few sites. What years of a site differ by takes two visits or more.
pub fn colony_variation(zone: &ColonyZone, law: &PartialMortality) -> ColonyVariation {
    let ln_diameter = spread(zone, |colony| Some(libm::log(colony.longest_m)));
    let dead_parts = spread(zone, |colony| {
        let has = f64::from(u8::from(colony.dead? > 0.0));
        Some(has - law.share_with_dead_parts(colony.longest_m))
    });
    // No more than a scenario may have.
    ColonyVariation {
        ln_diameter: tidy(ln_diameter, 2.0),
        dead_parts: tidy(dead_parts, ColonyVariation::most_of_dead_parts(law)),
    }
}

/// To a thousandth, and at most `most`.
fn tidy(spread: SiteSpread, most: f64) -> SiteSpread {
    let tidy = |sd: f64| (1e3 * sd.min(most)).floor() / 1e3;
    SiteSpread { between_sites: tidy(spread.between_sites), site_year: tidy(spread.site_year) }
}

/// By moments of the means of cells (a site at a visit), each of them alike whatever number of colonies it has: what chance
/// makes of a mean is its variance over its number.
fn spread(zone: &ColonyZone, value: impl Fn(&Measured) -> Option<f64>) -> SiteSpread {
    let of_cell = |belts: &Vec<Vec<Measured>>| {
        let values: Vec<f64> = belts.iter().flatten().filter_map(&value).collect();
        let number = values.len();
        (number >= FEWEST_COLONIES).then(|| (mean(&values), variance(&values) / number as f64))
    };
    let sites: Vec<Vec<(f64, f64)>> =
        zone.cells.iter().map(|visits| visits.iter().filter_map(of_cell).collect()).collect();
    let sites: Vec<&Vec<(f64, f64)>> = sites.iter().filter(|visits| !visits.is_empty()).collect();
    if sites.len() < FEWEST_SITES {
        return SiteSpread::default();
    }
    let chance = mean(&sites.iter().flat_map(|visits| visits.iter().map(|visit| visit.1)).collect::<Vec<_>>());
    let means: Vec<Moments> =
        sites.iter().map(|visits| Moments::of(&visits.iter().map(|visit| visit.0).collect::<Vec<_>>())).collect();
    let of_sites = variance(&means.iter().map(|site| site.mean()).collect::<Vec<_>>());
    let freedom: f64 = sites.iter().map(|visits| visits.len() as f64 - 1.0).sum();
    if freedom == 0.0 {
        let between_sites = (of_sites - chance).max(0.0).sqrt();
        return SiteSpread { between_sites, site_year: 0.0 };
    }
    let several = means.iter().zip(&sites).filter(|(_, visits)| visits.len() > 1);
    let within = several.map(|(site, visits)| (visits.len() as f64 - 1.0) * site.variance()).sum::<f64>() / freedom;
    let share_of_one = mean(&sites.iter().map(|visits| 1.0 / visits.len() as f64).collect::<Vec<_>>());
    let (year, lasting) = ((within - chance).max(0.0), (of_sites - within * share_of_one).max(0.0));
    SiteSpread { between_sites: (lasting + year).sqrt(), site_year: year.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose, normal_from_uniform};

    /// Colonies of sites, visits and chance of known spread.
    fn zone(sites: u64, visits: u64, (lasting, year): (f64, f64)) -> ColonyZone {
        let law = PartialMortality::USUAL;
        let normal = |key: Key, index| normal_from_uniform(key.uniform(Purpose::Test, index));
        let cells = (0..sites).map(|site| {
            let site = Key::seed(41).child(Purpose::Site, site);
            let of_visit = |visit: u64| {
                let of_year = site.child(Purpose::SiteYearEffect, visit);
                let shift = lasting * normal(site, 0) + year * normal(of_year, 0);
                let more_dead = 0.3 * (lasting * normal(site, 1) + year * normal(of_year, 1));
                let colony = |number: u64| {
                    let own = of_year.child(Purpose::Colony, number);
                    let longest_m = 0.15 * (shift + 0.7 * normal(own, 0)).exp();
                    let chance = law.share_with_dead_parts(longest_m) + more_dead;
                    let dead = if own.uniform(Purpose::Mark, 1) < chance { 0.2 } else { 0.0 };
                    Measured { longest_m, across_m: None, dead: Some(dead) }
                };
                vec![(0..60).map(colony).collect(), Vec::new()]
            };
            (0..visits).map(of_visit).collect()
        });
        let names = (0..sites).map(|name| name.to_string()).collect();
        ColonyZone { name: None, sites: names, visits: Vec::new(), cells: cells.collect() }
    }

    #[test]
    fn spreads_come_back() {
        let near = |found: f64, exact: f64, slack: f64| assert!((found - exact).abs() < slack, "{found} {exact}");
        // An SD of n values is good to 1 / sqrt(2 n) of itself; three errors.
        let found = colony_variation(&zone(300, 3, (0.3, 0.2)), &PartialMortality::USUAL);
        near(found.ln_diameter.between_sites, 0.13f64.sqrt(), 0.04);
        near(found.ln_diameter.site_year, 0.2, 0.02);
        near(found.dead_parts.between_sites, 0.3 * 0.13f64.sqrt(), 0.015);
        near(found.dead_parts.site_year, 0.06, 0.012);
        let found = colony_variation(&zone(300, 1, (0.3, 0.2)), &PartialMortality::USUAL);
        near(found.ln_diameter.between_sites, 0.13f64.sqrt(), 0.05);
        assert_eq!(found.ln_diameter.site_year, 0.0);
        // Chance alone is no spread: below what it makes of a mean.
        let found = colony_variation(&zone(300, 3, (0.0, 0.0)), &PartialMortality::USUAL);
        assert!(found.ln_diameter.between_sites < 0.05 && found.dead_parts.between_sites < 0.04, "{found:?}");
        assert_eq!(colony_variation(&zone(2, 3, (0.3, 0.2)), &PartialMortality::USUAL), ColonyVariation::default());
    }
}
