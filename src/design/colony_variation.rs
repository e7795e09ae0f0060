use crate::reef::colonies::PartialMortality;
use serde::Serialize;

/// How the colonies of whole sites differ beyond chance: in size, and in how many are partly dead. What is a mean over the
/// colonies of a belt moves with both ([`crate::theory::colonies::ColonyTheory::by_site`]).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct ColonyVariation {
    /// Of ln diameter, all colonies of a site alike.
    pub ln_diameter: SiteSpread,
    /// Of the share of a site's colonies that have dead parts.
    pub dead_parts: SiteSpread,
}

/// SDs of a number of whole sites.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct SiteSpread {
    /// Between sites in one visit, their years included.
    pub between_sites: f64,
    /// How far a site departs in one year from what it is in the mean of years.
    pub site_year: f64,
}

impl SiteSpread {
    /// SD of what a site keeps from year to year.
    pub fn lasting(&self) -> f64 {
        (self.between_sites.powi(2) - self.site_year.powi(2)).max(0.0).sqrt()
    }

    fn is_none(&self) -> bool {
        self.between_sites == 0.0
    }
}

impl ColonyVariation {
    /// Whether sites differ by chance alone.
    pub fn is_none(&self) -> bool {
        self.ln_diameter.is_none() && self.dead_parts.is_none()
    }

    /// The largest spread between sites of the share with dead parts: two of them to either side stay within nothing and all.
    pub fn most_of_dead_parts(law: &PartialMortality) -> f64 {
        let (share, _) = law.at_reference();
        0.5 * share.min(1.0 - share)
    }

    /// Both, in the order in which indicators are moved by them.
    pub fn spreads(&self) -> [SiteSpread; 2] {
        [self.ln_diameter, self.dead_parts]
    }
}
