//! Spreads of what colonies are like between sites that cannot be.

use crate::design::{ColonyVariation, SiteSpread, Zone};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, points};

/// A year is part of what sites differ by in one visit, and shares stay between nothing and all.
pub(super) fn check(zone: &Zone, path: &str, problems: &mut Problems) {
    let path = format!("{path}.colony_variation");
    let variation = zone.colony_variation;
    let mut hold = |spread: SiteSpread, (between, year): (&str, &str), told: fn(f64) -> String| {
        if spread.site_year > spread.between_sites {
            let message = format!("{}: a site's years spread more than the sites themselves do", zone.name);
            let remedy = format!(
                "The spread between sites in one visit contains that of their years: raise {between} or lower {year}."
            );
            problems.add(&format!("{path}.{between}"), message, format!("at least {}", told(spread.site_year)), remedy);
        }
    };
    hold(variation.ln_diameter, ("ln_diameter_between_sites", "ln_diameter_site_year"), number);
    hold(variation.dead_parts, ("dead_parts_between_sites_points", "dead_parts_site_year_points"), points);
    let most = ColonyVariation::most_of_dead_parts(&zone.partial_mortality);
    if variation.dead_parts.between_sites > most {
        let message = format!(
            "{}: with this spread many sites would have fewer than no colonies with dead parts, or more than all",
            zone.name
        );
        let remedy = "Lower it: it is the spread of whole sites, not that of belts.";
        let key = format!("{path}.dead_parts_between_sites_points");
        problems.add(&key, message, format!("at most {}", points(most)), remedy);
    }
}
