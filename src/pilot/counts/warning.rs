use super::fit::CountFit;
use super::read::CountZone;
use serde::Serialize;
use std::fmt;

/// What the reader of a fit of counts must know, each with its remedy.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "warning", rename_all = "snake_case")]
pub enum CountWarning {
    MissingRows {
        rows: usize,
    },
    FewAnimals {
        animals: f64,
    },
    FewSites {
        sites: usize,
    },
    OneVisit,
    NoCommonSites,
    /// A few sites hold most of the animals.
    FewSitesHoldMost {
        sites: usize,
        percent: f64,
    },
    NoOneK,
    UnequalBelts,
}

impl CountWarning {
    pub(super) fn of(missing: usize, zone: &CountZone, fit: &CountFit) -> Vec<Self> {
        let mut list = Vec::new();
        let mut when = |condition: bool, warning: CountWarning| {
            if condition {
                list.push(warning);
            }
        };
        when(missing > 0, CountWarning::MissingRows { rows: missing });
        when(fit.animals < 30.0, CountWarning::FewAnimals { animals: fit.animals });
        when(fit.sites < 10, CountWarning::FewSites { sites: fit.sites });
        when(fit.visits == 1, CountWarning::OneVisit);
        when(fit.visits > 1 && fit.site_year.is_none(), CountWarning::NoCommonSites);
        let (sites, percent) = few_that_hold_half(zone);
        when(10 * sites <= fit.sites && fit.sites >= 10, CountWarning::FewSitesHoldMost { sites, percent });
        let apart = fit
            .k_by_moments
            .zip(fit.k_by_likelihood)
            .is_some_and(|(moments, likelihood)| !moments.interval_95.holds(likelihood.k));
        when(apart, CountWarning::NoOneK);
        let area = fit.area_m2;
        let unequal = zone.cells.iter().flatten().flatten().any(|belt| (belt.area_m2 / area - 1.0).abs() > 1e-9);
        when(unequal, CountWarning::UnequalBelts);
        list
    }
}

/// The least number of sites that hold half of the animals, and the percent that they hold.
fn few_that_hold_half(zone: &CountZone) -> (usize, f64) {
    let mut of_sites: Vec<f64> =
        zone.cells.iter().map(|site| site.iter().flatten().map(|belt| belt.count).sum()).collect();
    of_sites.sort_by(|a, b| b.total_cmp(a));
    let all: f64 = of_sites.iter().sum();
    let mut held = 0.0;
    for (place, animals) in of_sites.iter().enumerate() {
        held += animals;
        if held >= 0.5 * all {
            return (place + 1, 100.0 * held / all);
        }
    }
    (of_sites.len(), 100.0)
}

impl fmt::Display for CountWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::MissingRows { rows: 1 } => write!(f, "1 row has no count and was left out"),
            Self::MissingRows { rows } => write!(f, "{rows} rows have no count and were left out"),
            Self::FewAnimals { animals } => write!(
                f,
                "only {animals} animals were found in all: neither density nor spread is known to better than a factor; \
                 search more belts, or plan with the ends of the intervals"
            ),
            Self::FewSites { sites } => write!(
                f,
                "{sites} sites say little about how much sites differ: plan with the upper end, or survey more sites once; \
                 10 or more are worth having"
            ),
            Self::OneVisit => write!(
                f,
                "one visit cannot tell how sites differ for good from how they differ in one year; a second visit to the \
                 same sites parts them, until then site_year_percent is assumed"
            ),
            Self::NoCommonSites => write!(
                f,
                "no two visits have two sites in common, so site_year_percent is assumed; revisit some sites to know it"
            ),
            Self::FewSitesHoldMost { sites, percent } => {
                let (these, hold) =
                    if *sites == 1 { ("1 site".to_owned(), "holds") } else { (format!("{sites} sites"), "hold") };
                write!(
                    f,
                    "{these} {hold} {percent:.0} % of all animals: mean and spread hang on them; a zone of their own (a column \
                     for --zone) may be the better plan"
                )
            }
            Self::NoOneK => write!(
                f,
                "k by moments and k by likelihood disagree: no one k fits sites with few and with many animals; the written \
                 patches give the variance (moments), the share of empty belts may be off"
            ),
            Self::UnequalBelts => write!(
                f,
                "belts are of different sizes: k is that of their mix (it rises with the area where patches are smaller than \
                 belts)"
            ),
        }
    }
}
