//! The biomass of a pilot by its own components: it varies more than the number of its fish times the weight of a mean one, for
//! large fish are few.

use super::from_counts::tidy;
use super::write::Beside;
use crate::design::{Change, Study};
use crate::pilot::counts::{BiomassFit, FishFit, Spread};
use crate::survey::{Components, MethodKind, MethodSpec, Scale};

/// What the biomass that was weighed is called, told apart from that of the virtual fish.
const WEIGHED: &str = "weighed_biomass";

/// Where the pilot tells how biomass differs between belts and sites, that is a method by itself, with the belts, minutes and
/// change of the others; the biomass of the virtual fish, which varies as their number does, is not asked for then. `file`: the
/// pilot.
pub fn with_weighed_biomass(study: &mut Study, beside: &mut Beside, fits: &[FishFit], file: &str) {
    let fits: Vec<&BiomassFit> = fits.iter().filter_map(|fit| fit.biomass.as_ref()).collect();
    let Some(parts) = mean_parts(&fits) else { return };
    let (Some(belts), Some(change)) = (study.methods.first().cloned(), study.changes.first().cloned()) else { return };
    let components = parts.components();
    let from = tidy(components.mean);
    let to = tidy(from * change.to / change.from);
    let at = "method.other[0]";
    beside.comment(
        at,
        format!(
            "Biomass varies more than the number of fish: {:.0} % of the mean between belts of a site, {:.0} % between sites. So it \
             is told by its own components, on the scale of logarithms; its mean is that of a usual belt.",
            100.0 * parts.within,
            100.0 * parts.between_sites
        ),
    );
    for key in ["mean", "between_sites", "site_year", "between_units"] {
        beside.known(at, key, (key != "site_year" || parts.year_is_told).then_some(file));
    }
    let kind = MethodKind::Components(Components { mean: from, ..components });
    study.methods.push(MethodSpec { kind, ..belts });
    study.changes.push(Change { indicator: WEIGHED.into(), from, to, differs_between_sites_sd: None, deaths: None });
    study.also_report.clear();
}

/// The name of the biomass that is told by components of its own, its mean and its median, both in kg per ha; `None` where no zone
/// tells them all.
pub fn weighed_median(fits: &[FishFit]) -> Option<(&'static str, f64, f64)> {
    let fits: Vec<&BiomassFit> = fits.iter().filter_map(|fit| fit.biomass.as_ref()).collect();
    let parts = mean_parts(&fits)?;
    Some((WEIGHED, parts.kg_per_ha, parts.components().mean))
}

/// How a biomass varies, as shares of its mean.
#[derive(Clone, Copy)]
struct Parts {
    kg_per_ha: f64,
    within: f64,
    /// In one visit.
    between_sites: f64,
    /// A year's deviation of a site.
    site_year: f64,
    year_is_told: bool,
}

/// The mean over zones: of the means, and of the squares of what they vary by. `None` where no zone tells it all.
fn mean_parts(fits: &[&BiomassFit]) -> Option<Parts> {
    let told: Vec<(&BiomassFit, Spread)> = fits.iter().filter_map(|fit| Some((*fit, fit.between_sites?))).collect();
    let told: Vec<_> = told.into_iter().filter(|(fit, _)| fit.cv_within.is_finite()).collect();
    if told.is_empty() {
        return None;
    }
    let mean = |of: &dyn Fn(&(&BiomassFit, Spread)) -> f64| told.iter().map(of).sum::<f64>() / told.len() as f64;
    let between_sites = mean(&|(_, spread)| spread.share * spread.share).sqrt();
    let years: Vec<f64> = told.iter().filter_map(|(fit, _)| Some(fit.site_year?.share)).collect();
    let site_year = (years.iter().map(|share| share * share).sum::<f64>() / years.len().max(1) as f64).sqrt();
    Some(Parts {
        kg_per_ha: 0.1 * mean(&|(fit, _)| fit.grams_per_100_m2),
        within: mean(&|(fit, _)| fit.cv_within * fit.cv_within).sqrt(),
        between_sites,
        // What a year moves is a part of what sites differ by in it.
        site_year: site_year.min(between_sites),
        year_is_told: !years.is_empty(),
    })
}

impl Parts {
    /// Lognormal parts that have these shares: `exp(v) - 1 = share^2` each; the mean is that of the scale, the median.
    fn components(&self) -> Components {
        let square = |share: f64| share * share;
        let of_sites = libm::log1p(square(self.between_sites));
        let lasting = libm::log1p(square(self.between_sites) - square(self.site_year));
        let within = libm::log1p(square(self.within));
        Components {
            indicator: WEIGHED.into(),
            unit: "kg/ha (median)".into(),
            mean: self.kg_per_ha * libm::exp(-0.5 * (of_sites + within)),
            scale: Scale::Ln,
            between_sites_sd: hundredths(lasting.sqrt()),
            site_year_sd: hundredths((of_sites - lasting).sqrt()),
            between_units_sd: hundredths(within.sqrt()),
            same_mark_correlation: 0.0,
            floor: None,
        }
    }
}

fn hundredths(value: f64) -> f64 {
    (100.0 * value).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose, normal_from_uniform};

    /// Values drawn by the components have the mean and the shares of the pilot.
    #[test]
    fn drawn_biomass_varies_as_the_pilot_s() {
        let parts = Parts { kg_per_ha: 800.0, within: 0.9, between_sites: 0.8, site_year: 0.5, year_is_told: true };
        let of = parts.components();
        let key = Key::seed(3);
        let (n, mut sum, mut square) = (200_000, 0.0, 0.0);
        let normal = |i: u64| normal_from_uniform(key.uniform(Purpose::Test, i));
        for i in 0..n {
            let ln = of.between_sites_sd * normal(3 * i)
                + of.site_year_sd * normal(3 * i + 1)
                + of.between_units_sd * normal(3 * i + 2);
            let value = of.mean * libm::exp(ln);
            (sum, square) = (sum + value / n as f64, square + value * value / n as f64);
        }
        // Half of them are below the median that is told.
        assert!(of.mean < 0.6 * 800.0 && of.unit.contains("median"), "{of:?}");
        let cv = (square / (sum * sum) - 1.0).sqrt();
        let exact = ((1.0 + 0.81) * (1.0 + 0.64) - 1.0f64).sqrt();
        assert!((sum / 800.0 - 1.0).abs() < 0.03 && (cv / exact - 1.0).abs() < 0.06, "{sum} {cv} {exact}");
    }
}
