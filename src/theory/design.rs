//! One design in closed form: the standard error of its estimate, what its test takes that to be, and its power.

use super::on_scale::SiteMeanMoments;
use super::power::t_power_at;
use super::quadrature::root;
use super::same_places::PlaceCovariance;
use super::totals::Totals;
use super::unit_moments::UnitMoments;
use super::zone::{same_marks, same_sites};
use crate::analysis::counts::CountLaw;
use crate::analysis::{CriticalT, Part, Tail, satterthwaite};
use crate::design::{Comparison, Observers, Question, Scope, Sides, Study, TestKind, Zone};

/// The part of a design that lies in one zone.
#[derive(Clone, Copy, Debug)]
pub struct ZoneShare<'a> {
    pub zone: &'a Zone,
    pub moments: &'a UnitMoments,
    /// What its sites have in common with those of the zone whose places it shares, where it shares any.
    pub place: Option<&'a PlaceCovariance>,
    /// Weight in the estimate; weights of a design sum to 1.
    pub weight: f64,
    /// Sites per visit and units per site.
    pub sites: usize,
    pub units: usize,
    /// How its sites are compared; other than by means as they are only where sites are the replicates.
    pub comparison: Comparison,
}

/// What theory says of one design and one state, in the unit of the indicator, on the scale of analysis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DesignTheory {
    /// Expected estimate: of the change (or difference) where there is one, else of the mean.
    pub expected: f64,
    /// Standard error of the estimate about the truth of the scope, without what `shared_sd` adds.
    pub se: f64,
    /// What the test's own variance amounts to in the mean, and its degrees of freedom.
    pub test_se: f64,
    pub df: f64,
    /// SD of an effect on the estimate that all replicates share and that the test cannot see: a crew.
    pub shared_sd: f64,
    /// The formula of the scale is poor for site means that vary so much.
    pub poor: bool,
}

/// The share of a fixed list of sites that is surveyed: 0 for all such reefs, 1 for each reef by itself.
///
/// With a single unit a site the units tell no variance of their own; a list surveyed in part is then treated as a
/// sample from endlessly many sites, which errs towards caution.
pub fn listed_share(study: &Study, zone: &Zone, sites: usize, units: usize) -> f64 {
    match study.scope {
        Scope::AllSuchReefs => 0.0,
        Scope::EachReef => 1.0,
        Scope::TheseReefs => {
            let share = zone.existing.map_or(0.0, |existing| (sites as f64 / existing as f64).min(1.0));
            if units < 2 && share < 1.0 { 0.0 } else { share }
        }
    }
}

pub fn tail_of(sides: Sides) -> Tail {
    match sides {
        Sides::Two => Tail::Two,
        Sides::Fall => Tail::Lower,
        Sides::Rise => Tail::Upper,
    }
}

impl DesignTheory {
    /// Theory for the estimate of the change to `state` (state 0: of the first visit's mean).
    pub fn new(study: &Study, shares: &[ZoneShare], state: usize) -> Self {
        let by_crew = shares.iter().any(|share| share.moments.read_by_crew);
        let bias = if state > 0 && by_crew { 1.0 + study.observers.second_visit_bias } else { 1.0 };
        let (mut expected, mut variance) = (0.0, 0.0);
        let mut parts = Vec::with_capacity(4 * shares.len() + 1);
        let (mut first_mean, mut later_mean) = (0.0, 0.0);
        let mut poor = false;
        for stratum in Stratum::all(shares) {
            let (zone, w) = match stratum {
                Stratum::Zone(share) => (ZoneVariance::new(study, share, state, bias), share.weight),
                Stratum::Places(depths, place) => (ZoneVariance::of_places(study, (depths, place), state, bias), 1.0),
            };
            let w2 = w * w;
            first_mean += w * zone.means[0];
            later_mean += w * bias * zone.means[1];
            poor |= zone.poor;
            variance += w2 * zone.sampling;
            parts.extend(zone.parts.iter().filter(|part| part.variance > 0.0).map(|part| part.weighted(w)));
        }
        expected += if state == 0 { first_mean } else { later_mean - first_mean };
        if study.question == Question::BeyondUsualYears && state > 0 {
            let year: f64 = shares.iter().map(|share| share.weight * share.zone.year_sd).sum();
            variance += 2.0 * year * year;
            parts.push(Part::known(2.0 * year * year));
        }
        let test = satterthwaite(&parts);
        let units = shares.first().map_or(1, |share| share.units);
        let shared_sd = if by_crew { crew_sd(&study.observers, units, state, first_mean, later_mean) } else { 0.0 };
        Self { expected, se: variance.max(0.0).sqrt(), test_se: test.variance.sqrt(), df: test.df, shared_sd, poor }
    }

    /// Standard error with everything in it.
    pub fn total_se(&self) -> f64 {
        libm::hypot(self.se, self.shared_sd)
    }

    /// How often the test (of this alpha and tail) rejects when the estimate's mean is `shift`.
    ///
    /// The estimate is normal with SD `total_se` while the test's own error is `test_se` times the root of a chi-squared
    /// over its degrees of freedom: the ratio is noncentral t with its critical value scaled by `test_se / total_se`
    /// (exact also with effects the test cannot see, because they only widen the estimate).
    pub fn rejects(&self, shift: f64, critical: &CriticalT) -> f64 {
        let total = self.total_se();
        if !(total > 0.0 && self.test_se > 0.0) {
            return f64::NAN;
        }
        t_power_at(shift / total, self.df, critical.at(self.df) * self.test_se / total, critical.tail())
    }

    /// The smallest change in the direction of `sign` that is seen with probability `seen`; `None` where even 1e6
    /// standard errors are not.
    pub fn detectable(&self, sign: f64, seen: f64, critical: &CriticalT) -> Option<f64> {
        let total = self.total_se();
        root(0.0, 60.0, 1e-4, |x| self.rejects(sign * x * total, critical) - seen).map(|x| x * total)
    }
}

/// What is replicated together: the sites of one zone, or the places of two.
enum Stratum<'a> {
    Zone(&'a ZoneShare<'a>),
    /// The named zone first.
    Places([&'a ZoneShare<'a>; 2], &'a PlaceCovariance),
}

impl<'a> Stratum<'a> {
    /// In the order of the zones; a zone goes with the one whose places it shares.
    fn all(shares: &'a [ZoneShare<'a>]) -> Vec<Self> {
        let is_named = |share: &ZoneShare, by: &ZoneShare| {
            by.place.is_some() && by.zone.same_places.as_ref().is_some_and(|same| same.as_zone == share.zone.name)
        };
        let of = |share: &'a ZoneShare<'a>| {
            let named = shares.iter().find(|other| is_named(other, share));
            match (named, share.place) {
                (Some(named), Some(place)) => Some(Self::Places([named, share], place)),
                _ if shares.iter().any(|other| is_named(share, other)) => None,
                _ => Some(Self::Zone(share)),
            }
        };
        shares.iter().filter_map(of).collect()
    }
}

/// The variance of a zone's estimate and the parts the test makes of it.
struct ZoneVariance {
    sampling: f64,
    parts: [Part; 4],
    /// Of site means, at the first visit and in the state, before a crew's bias (which what is put on a scale never has).
    means: [f64; 2],
    poor: bool,
}

impl ZoneVariance {
    fn new(study: &Study, share: &ZoneShare, state: usize, bias: f64) -> Self {
        let m = share.moments;
        let (sites, units) = (share.sites as f64, m.laid(share.units) as f64);
        let site_means = site_means(study, share, state, bias);
        let listed = listed_share(study, share.zone, share.sites, share.units);
        let between = (1.0 - listed) / sites;
        let within = listed / (sites * units);
        let nil = Part::known(0.0);
        let line_df = sites * (units - 1.0);
        let marks = same_marks(study);
        if let Comparison::Totals { law, search } = share.comparison {
            let totals = Totals { site_means, sites, search, pairs: same_sites(study) && law.knows_pairs() };
            return Self::of_totals(&totals, law, state);
        }
        let scale = share.comparison.scale_of_sites();
        let SiteMeanMoments { means, variances: [first, later], covariance, poor } = site_means.on(scale);
        if state == 0 {
            let site = between * first;
            let line = within * m.within_site(0, units);
            let parts = [Part { variance: site, df: sites - 1.0 }, Part { variance: line, df: line_df }, nil, nil];
            // Lines of a listed site tell their own spread, not what they share by chance (nor, laid apart, what they do
            // not).
            let unseen = listed / sites * m.shared_by_chance(0, units);
            return Self { sampling: (site + line + unseen).max(0.0), parts, means, poor };
        }
        let difference = (first + later - 2.0 * covariance).max(0.0);
        let line_parts = if marks {
            // Lines at the same marks are differenced one by one. The bias of a crew is small; its square is left out.
            [Part { variance: within * m.within_site_difference(state, units), df: line_df }, nil]
        } else {
            [
                Part { variance: within * m.within_site(0, units), df: line_df },
                Part { variance: within * bias * bias * m.within_site(state, units), df: line_df },
            ]
        };
        let site_parts = site_parts(study, between, (first, later, difference), sites - 1.0);
        let unseen = listed / sites * m.shared_by_chance_difference(state, units);
        let sampling = between * difference + line_parts[0].variance + line_parts[1].variance + unseen;
        Self { sampling, parts: [site_parts[0], site_parts[1], line_parts[0], line_parts[1]], means, poor }
    }
}

/// What the site means of a zone are, before they are put on a scale.
fn site_means(study: &Study, share: &ZoneShare, state: usize, bias: f64) -> SiteMeanMoments {
    let m = share.moments;
    let units = m.laid(share.units) as f64;
    let covariance = if same_sites(study) && state > 0 {
        bias * m.site_mean_covariance(state, units, same_marks(study))
    } else {
        0.0
    };
    let later = bias * bias * m.site_mean_variance(state, units);
    SiteMeanMoments {
        means: [m.mean[0], m.mean[state]],
        variances: [m.site_mean_variance(0, units), later],
        covariance,
        poor: false,
    }
}

/// What the test makes of site means: of their differences, or of both visits by themselves.
fn site_parts(study: &Study, between: f64, (first, later, difference): (f64, f64, f64), df: f64) -> [Part; 2] {
    if study.test.kind != TestKind::WelchT && same_sites(study) {
        [Part { variance: between * difference, df }, Part::known(0.0)]
    } else {
        [Part { variance: between * first, df }, Part { variance: between * later, df }]
    }
}

impl ZoneVariance {
    /// Of two zones at the same places, weights included: the value of a place is the weighted sum of what both have there, so
    /// that `Var = sum of w^2 V + 2 w1 w2 Cov` with places as replicates. Sites are the replicates (all such reefs).
    fn of_places(study: &Study, (depths, place): ([&ZoneShare; 2], &PlaceCovariance), state: usize, bias: f64) -> Self {
        let plain = depths.map(|share| site_means(study, share, state, bias));
        let scaled = [0, 1].map(|k| plain[k].on(depths[k].comparison.scale_of_sites()));
        let [w1, w2] = depths.map(|share| share.weight);
        // A scale keeps correlations, as it does those of two visits.
        let between = |covariance: f64, (one, other): (usize, usize)| {
            let spread = |means: &[SiteMeanMoments; 2]| (means[0].variances[one] * means[1].variances[other]).sqrt();
            let of_plain = spread(&plain);
            if of_plain > 0.0 { covariance * spread(&scaled) / of_plain } else { 0.0 }
        };
        let own = |of: &dyn Fn(&SiteMeanMoments) -> f64| w1 * w1 * of(&scaled[0]) + w2 * w2 * of(&scaled[1]);
        let first = own(&|means| means.variances[0]) + 2.0 * w1 * w2 * between(place.within[0], (0, 0));
        let later =
            own(&|means| means.variances[1]) + 2.0 * w1 * w2 * between(bias * bias * place.within[state], (1, 1));
        let across = if state > 0 {
            between(bias * place.forth[state], (0, 1)) + between(bias * place.back[state], (1, 0))
        } else {
            0.0
        };
        let covariance = own(&|means| means.covariance) + w1 * w2 * across;
        let difference = (first + later - 2.0 * covariance).max(0.0);
        let (sites, nil) = (depths[0].sites as f64, Part::known(0.0));
        let parts = match state {
            0 => [Part { variance: first / sites, df: sites - 1.0 }, nil],
            _ => site_parts(study, 1.0 / sites, (first, later, difference), sites - 1.0),
        };
        Self {
            sampling: (if state == 0 { first } else { difference }) / sites,
            parts: [parts[0], parts[1], nil, nil],
            means: [0, 1].map(|visit| w1 * scaled[0].means[visit] + w2 * scaled[1].means[visit]),
            poor: scaled[0].poor || scaled[1].poor,
        }
    }

    /// Of the logarithm of a ratio of totals; of a total's, at the first visit.
    fn of_totals(totals: &Totals, law: CountLaw, state: usize) -> Self {
        let (estimate, nil) = (totals.estimate(), Part::known(0.0));
        let (sampling, test) = if state == 0 {
            (estimate.variances[0], Part { variance: estimate.variances[0], df: totals.sites - 1.0 })
        } else {
            let [first, later] = estimate.variances;
            (first + later - 2.0 * estimate.covariance, totals.error_of_test(law))
        };
        Self { sampling: sampling.max(0.0), parts: [test, nil, nil, nil], means: estimate.means, poor: estimate.poor }
    }
}

/// SD of the error that the people bring to the estimate: each reads `1 + spread N` times what is there, and the units
/// of every site are shared among them in the same way, so that it does not average out over sites.
fn crew_sd(observers: &Observers, units: usize, state: usize, first: f64, later: f64) -> f64 {
    let people = observers.number.max(1);
    let change = later - first;
    let square: f64 = (0..people)
        .map(|person| {
            let mine = (units + people - 1 - person) / people;
            let share = mine as f64 / units as f64;
            let effect = match (state, observers.stays(person)) {
                (0, _) => first * first,
                (_, true) => change * change,
                (_, false) => first * first + later * later,
            };
            share * share * effect
        })
        .sum();
    observers.spread * square.sqrt()
}
