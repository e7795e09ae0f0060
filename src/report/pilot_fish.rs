//! What a pilot of belts says of fish: how they school and what they weigh, for the terminal.

use super::pilot::paragraph;
use super::pilot_counts::short;
use crate::analysis::Interval;
use crate::pilot::counts::{BiomassFit, FishFit, Schooling, Spread};
use crate::reef::fish::{FishLengths, LengthWeight, SchoolLaw, SchoolSizes};
use crate::scenario::{number_of_k, weighed_median};

/// Weight by length and spread of lengths of an example, where nobody has told the species: a usual body, a judgement.
const USUAL_WEIGHT: LengthWeight = LengthWeight { a: 0.02, b: 3.0 };
const USUAL_CV: f64 = 0.4;

/// One paragraph for each thing that is told.
pub fn pilot_fish(fits: &[FishFit]) -> String {
    let mut out = String::new();
    for fit in fits {
        let zone = fit.zone.as_ref().map_or(String::new(), |zone| format!(" of zone {zone}"));
        let over_mean = short(fit.variance_over_mean);
        let head =
            format!("As fish{zone}: within a site and visit numbers have a variance of {over_mean} times their mean.");
        out += &paragraph(&head, "", "");
        match &fit.schooling {
            Some(found) => out += &paragraph(&schools(found), "", ""),
            None => {
                let too_few = "Three sites and six visits with two belts each are needed to tell schools from patches.";
                out += &paragraph(too_few, "Note: ", "      ");
            }
        }
        if let Some(biomass) = &fit.biomass {
            out += &paragraph(&weighed(biomass), "", "");
        }
        out.push('\n');
    }
    if let Some((name, mean, median)) = weighed_median(fits) {
        let told = format!(
            "In the scenario biomass is `{name}`, by components of its own and told as the median over belts, {} kg per ha: a few \
             heavy belts make the mean {} times as much, {}. A loss in percent is the same of both.",
            short(median),
            short(mean / median),
            short(mean)
        );
        out += &paragraph(&told, "", "");
        out.push('\n');
    }
    out
}

fn schools(found: &Schooling) -> String {
    let others = interval(found.others_80, short);
    let told = format!(
        "With a fish {} others of its school are counted ({others}), and patches have k {} ({}); intervals are those of 80 %.",
        short(found.others),
        number_of_k(found.patch_k),
        interval(found.patch_k_80, number_of_k)
    );
    match found.law() {
        SchoolLaw::Logarithmic { p } => format!(
            "{told} Schools of a logarithmic series with p = {p:.3} have that, {} fish in the mean; where schools spread wider \
             than a belt they are larger. A scenario made of this has all of it in patches.",
            short(SchoolSizes::new(SchoolLaw::Logarithmic { p }).mean())
        ),
        _ => format!(
            "{told} Schools do not show: numbers vary with the square of their mean, as those of many kinds together do. Fit \
             one kind or group at a time."
        ),
    }
}

fn weighed(found: &BiomassFit) -> String {
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let spread = |what: &str, spread: &Option<Spread>| {
        let told =
            |found: &Spread| format!(", {what} {} ({})", percent(found.share), interval(found.interval_80, percent));
        spread.as_ref().map_or(String::new(), told)
    };
    let lengths = FishLengths::of_mean_weight(found.grams_per_fish, USUAL_WEIGHT, USUAL_CV, 0.0);
    format!(
        "Biomass: {} g per 100 m2 ({}), which is {} kg per ha; SD over mean {} between belts of one site and visit ({}){}{}. A \
         fish weighs {} g in the mean: {} cm if W = {} L^{} and lengths vary by {}.",
        short(found.grams_per_100_m2),
        interval(found.grams_80, short),
        short(0.1 * found.grams_per_100_m2),
        percent(found.cv_within),
        interval(found.cv_within_80, percent),
        spread("between sites in one visit", &found.between_sites),
        spread("of a site's own years", &found.site_year),
        short(found.grams_per_fish),
        short(lengths.mean_cm),
        USUAL_WEIGHT.a,
        USUAL_WEIGHT.b,
        percent(USUAL_CV)
    )
}

fn interval(Interval { low, high }: Interval, text: impl Fn(f64) -> String) -> String {
    format!("{} to {}", text(low), text(high))
}
