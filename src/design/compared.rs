//! How two visits, or two groups of sites, are compared in each indicator.

use super::asked::{Plus, SiteScale, TestKind};
use super::colonies::{COLONY_DENSITY, COLONY_SIZE_STRUCTURE};
use super::fish::FishMeasure;
use super::recruits::RecruitMeasure;
use super::study::Study;
use super::unit::DENSITY_AREA_M2;
use super::visits::Sites;
use crate::analysis::counts::CountLaw;
use crate::analysis::transforms::Scale;
use crate::survey::Dimensions;

/// What of the sites is compared, and on which scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Comparison {
    /// Site means, on a scale.
    Means(Scale),
    /// Totals of sites, by the logarithm of their ratio; a total is `search` times a site mean.
    Totals { law: CountLaw, search: f64 },
    /// Distributions of sizes, whole sites being exchanged: there is a test, but no estimate.
    Sizes,
}

impl Comparison {
    /// The same of the means over so many visits: totals are those of all of them.
    #[must_use]
    pub fn over(self, visits: usize) -> Self {
        match self {
            Comparison::Totals { law, search } => Comparison::Totals { law, search: visits as f64 * search },
            other => other,
        }
    }

    /// The scale that site means are put on before they are compared.
    pub fn scale_of_sites(self) -> Scale {
        match self {
            Comparison::Means(scale) => scale,
            Comparison::Totals { .. } | Comparison::Sizes => Scale::Plain,
        }
    }

    /// The scale on which the estimate, its error and its interval lie.
    pub fn scale_of_estimate(self) -> Scale {
        match self {
            Comparison::Means(scale) => scale,
            Comparison::Totals { .. } => Scale::Log { plus: 0.0 },
            Comparison::Sizes => Scale::Plain,
        }
    }
}

impl TestKind {
    /// The law of totals that a test of counts takes for true; none for other tests.
    pub fn law_of_counts(self) -> Option<CountLaw> {
        match self {
            TestKind::QuasiPoisson => Some(CountLaw::QuasiPoisson),
            TestKind::NegativeBinomial => Some(CountLaw::NegativeBinomial),
            TestKind::PairedT | TestKind::WelchT | TestKind::Permutation => None,
        }
    }
}

impl Study {
    /// Whether the same sites are read at two visits.
    pub fn pairs_sites(&self) -> bool {
        self.question.visits() == 2 && self.visits.sites == Sites::Same
    }

    /// The area that the density of things that are counted (animals, recruits, colonies) is told per, m2; `None`
    /// for every other indicator. Such alone are put on the scale of the test.
    pub fn counted_per_m2(&self, indicator: &str) -> Option<f64> {
        if let Some(fish) = self.fish_of(indicator) {
            return fish.measure.is_a_number().then_some(DENSITY_AREA_M2);
        }
        if self.animal_of(indicator).is_some() {
            return Some(DENSITY_AREA_M2);
        }
        (indicator == COLONY_DENSITY || self.recruits_of(indicator).is_some()).then_some(1.0)
    }

    /// For a biomass: what one fish of mean weight on a m2 is told as, over the zones alike; `None` of all else.
    fn biomass_of_one(&self, indicator: &str) -> Option<f64> {
        let told = self.fish_of(indicator).filter(|fish| fish.measure == FishMeasure::Biomass)?;
        let own = || self.zones.iter().flat_map(|zone| &zone.fish).filter(|group| told.includes(group));
        let there = own().map(|group| (&group.spec, group.spec.places.density_per_m2));
        Some(told.measure.truth(there) / own().map(|group| group.spec.places.density_per_m2).sum::<f64>())
    }

    /// Whether it is the number of what is counted over a known area. Recruits per m2 of hard bottom are not: a diver estimates
    /// how much of that there is.
    fn has_totals(&self, indicator: &str) -> bool {
        self.counted_per_m2(indicator).is_some() && self.recruits_of(indicator) != Some(RecruitMeasure::OnHardBottom)
    }

    /// The test of an indicator: tests of counts leave all that is not a count to t, and nothing is paired that is not read
    /// twice.
    pub fn test_of(&self, indicator: &str) -> TestKind {
        let kind = self.test.kind;
        if indicator == COLONY_SIZE_STRUCTURE {
            return TestKind::Permutation;
        }
        match kind {
            TestKind::PairedT if !self.pairs_sites() => TestKind::WelchT,
            _ if kind.law_of_counts().is_none() || self.has_totals(indicator) => kind,
            _ if self.pairs_sites() => TestKind::PairedT,
            _ => TestKind::WelchT,
        }
    }

    /// How sites of so many units are compared in an indicator.
    pub fn comparison(&self, indicator: &str, dimensions: Dimensions, units: usize) -> Comparison {
        if indicator == COLONY_SIZE_STRUCTURE {
            return Comparison::Sizes;
        }
        let search = |per: f64| dimensions.searched_m2().map(|area| area * units as f64 / per);
        if let Some(of_one) = self.biomass_of_one(indicator) {
            // One fish of mean weight stands for one of what is counted.
            return Comparison::Means(search(of_one).map_or(Scale::Plain, |area| self.test.scale.of_search(area)));
        }
        let Some(search) = self.counted_per_m2(indicator).and_then(search) else {
            return Comparison::Means(Scale::Plain);
        };
        match self.test_of(indicator).law_of_counts() {
            Some(law) if self.question.tests() => Comparison::Totals { law, search },
            _ => Comparison::Means(self.test.scale.of_search(search)),
        }
    }
}

impl SiteScale {
    /// The scale itself, for site means over units that search `area` together (in the area that densities are told per).
    fn of_search(self, area: f64) -> Scale {
        let or_plain = |scale: Result<Scale, _>| scale.unwrap_or(Scale::Plain);
        match self {
            SiteScale::Plain => Scale::Plain,
            SiteScale::Ln { plus: Plus::Value(plus) } => Scale::Log { plus },
            SiteScale::Ln { plus: Plus::OfSearch } => or_plain(Scale::log_of_density(area)),
            SiteScale::SquareRoot { plus: Plus::Value(plus) } => Scale::SquareRoot { plus },
            SiteScale::SquareRoot { plus: Plus::OfSearch } => or_plain(Scale::root_of_density(area)),
        }
    }
}
