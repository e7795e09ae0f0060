//! What two zones have in common at the places they share: covariances of their site means.
//!
//! Only the effects of sites are shared, each with correlation r: of the site, of the site in that year, of what a change does
//! to one site more than to another, and of the kinds of bottom. Patches, waves along the reef, colonies and animals of the
//! two depths are independent. Units of both depths at one place therefore share what their sites are expected to have,
//! whatever the units: the covariance of two site means does not depend on their number.
//!
//! With c the covariance of the two effects on ln density (r times the product of their SDs),
//!
//! - covers: `P(both bare) = E exp(-(u1 + u2))`, u1 and u2 lognormal with c ([`CoralPairs::bare_elsewhere`]); kinds of bottom
//!   by the tree of two points whose latent fields correlate by `r sqrt(w1 w2)`, w the share of the site effect;
//! - densities of animals and fish: `m1 m2 (e^c - 1)`, of fish that go with coral with what the covers of the two sites bring in
//!   c, groups of different names included; recruits: times what the free shares of the two places have in common;
//! - components: c itself.
//!
//! Checked by simulation (`tests/same_places.rs`).

use super::components::component_change_sd;
use super::coral::CoralPairs;
use super::curve::Curve;
use super::fish::FishShare;
use super::tree::{Tree, TreeStage, Written};
use super::unit_moments::UnitMoments;
use super::zone::{ZoneTheory, same_sites, states_of};
use crate::analysis::ColonyIndicator;
use crate::design::{FishIndicator, HARD_CORAL, RecruitMeasure, Study, Zone};
use crate::reef::{AnimalLaw, CoralLaw, Stage};
use crate::survey::{Components, Dimensions, MethodKind};

/// Covariances of the site means of two zones at one place, in the unit of the indicator; the named zone is the first.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceCovariance {
    /// In the visit of each state.
    pub within: Vec<f64>,
    /// Of the named zone at the first visit with the other in each state, and the other way about (index 0 unused).
    pub forth: Vec<f64>,
    pub back: Vec<f64>,
}

/// One of the two zones, with the moments of a unit of the reading there.
#[derive(Clone, Copy, Debug)]
pub struct Depth<'a> {
    pub zone: &'a Zone,
    pub theory: &'a ZoneTheory,
    pub moments: &'a UnitMoments,
}

/// Two zones at the same places: the named one first.
#[derive(Clone, Copy, Debug)]
pub struct PlaceLaw<'a> {
    pub study: &'a Study,
    pub depths: [Depth<'a>; 2],
    /// Correlation of the effects of the two sites of a place.
    pub correlation: f64,
}

/// SDs of the effects of a site: lasting, of a year, and of the change to each state.
struct Effects<'a> {
    site: f64,
    year: f64,
    change: Box<dyn Fn(usize) -> f64 + 'a>,
}

impl Effects<'_> {
    fn of_coral(law: &CoralLaw) -> Effects<'_> {
        Effects { site: law.site_sd, year: law.site_year_sd, change: Box::new(|s| law.states[s].change_sd) }
    }

    fn of_animals(law: &AnimalLaw) -> Effects<'_> {
        Effects { site: law.site_sd, year: law.site_year_sd, change: Box::new(|s| law.states[s].change_sd) }
    }
}

impl PlaceLaw<'_> {
    /// From the covariance of the first zone in one state with the second in another.
    fn covariances(&self, of: impl Fn(usize, usize) -> f64) -> PlaceCovariance {
        let states = 0..states_of(self.study);
        // At the second visit other sites were drawn: nothing in common.
        let across = |of: &dyn Fn(usize) -> f64| match same_sites(self.study) {
            true => states.clone().map(of).collect(),
            false => vec![0.0; states.len()],
        };
        PlaceCovariance {
            within: states.clone().map(|s| of(s, s)).collect(),
            forth: across(&|s| of(0, s)),
            back: across(&|s| of(s, 0)),
        }
    }

    /// Covariance of the effects of the two sites in these states.
    fn latent(&self, effects: [&Effects; 2], (first, second): (usize, usize)) -> f64 {
        let [one, other] = effects;
        let year = if (first > 0) == (second > 0) { one.year * other.year } else { 0.0 };
        let change = (one.change)(first) * (other.change)(second);
        self.correlation * (one.site * other.site + year + change)
    }

    /// P(both bare of hard coral).
    fn both_bare(&self, pairs: &[CoralPairs; 2], states: (usize, usize)) -> f64 {
        let [one, other] = self.depths.map(|depth| Effects::of_coral(&depth.theory.law));
        pairs[0].bare_elsewhere(states.0, (&pairs[1], states.1), self.latent([&one, &other], states))
    }

    fn coral_pairs(&self) -> [CoralPairs<'_>; 2] {
        self.depths.map(|depth| CoralPairs::new(&depth.theory.law, &depth.theory.shape))
    }

    /// Covariance of what is written at a point of each depth, `written` knowing the chances at either.
    fn of_bottom(&self, pairs: &[CoralPairs; 2], written: &Written, states: (usize, usize)) -> f64 {
        let [one, other] = self.depths.map(|depth| depth.theory);
        let (Some(first), Some(second)) = (&one.bottom, &other.bottom) else { return f64::NAN };
        let [own, later] = [(first, states.0), (second, states.1)].map(|(bottom, state)| {
            let of = move |stage: &Stage| match state {
                0 => stage.share,
                _ => stage.later_shares[state - 1],
            };
            bottom.stages.iter().map(of).collect::<Vec<f64>>()
        });
        let correlations: Vec<f64> = (first.stages.iter().zip(&second.stages))
            .map(|(one, other)| self.correlation * libm::sqrt(one.latent_share * other.latent_share))
            .collect();
        let stage = |(&one, &other): (&f64, &f64)| TreeStage {
            shares: [one, other],
            latent_share: 0.0,
            correlation: Curve::new(1.0, 3, |_| 0.0),
        };
        let tree = Tree {
            coral: [one.law.states[states.0].cover, other.law.states[states.1].cover],
            stages: own.iter().zip(&later).map(stage).collect(),
            memory: 0.0,
        };
        let table = tree.pair_table(self.both_bare(pairs, states), &correlations, (0, 1));
        tree.written_pair_covariance(written, &table, (0, 1))
    }

    /// Of hard coral, as it is.
    fn of_coral(&self, pairs: &[CoralPairs; 2], states: (usize, usize)) -> f64 {
        self.both_bare(pairs, states) - pairs[0].bare(states.0) * pairs[1].bare(states.1)
    }

    /// Of whatever is read on the bottom or counted in belts and quadrats, but colonies.
    pub fn of_indicator(&self, indicator: &str) -> PlaceCovariance {
        if let Some((name, _)) = self.study.animal_of(indicator) {
            return self.of_animals(name);
        }
        if let Some(measure) = self.study.recruits_of(indicator) {
            return self.of_recruits(measure);
        }
        let pairs = self.coral_pairs();
        let category = match indicator {
            HARD_CORAL => Some(0),
            name => self.depths[0].zone.categories.iter().position(|category| category.name == name).map(|k| k + 1),
        };
        let Some(category) = category else { return self.covariances(|_, _| 0.0) };
        match (&self.study.observers.misidentification, &self.depths[0].theory.bottom) {
            (None, _) if category == 0 => self.covariances(|s, t| self.of_coral(&pairs, (s, t))),
            (matrix, Some(bottom)) => {
                let written = match matrix {
                    Some(matrix) => Written::column(matrix, category),
                    None => Written::truly(category, 1 + bottom.stages.len()),
                };
                self.covariances(|s, t| self.of_bottom(&pairs, &written, (s, t)))
            }
            (_, None) => self.covariances(|_, _| 0.0),
        }
    }

    /// Densities are in proportion to the cover of the site; sizes have one law everywhere.
    pub fn of_colonies(&self, measure: ColonyIndicator) -> PlaceCovariance {
        let pairs = self.coral_pairs();
        let per_cover = |depth: &Depth, state: usize| depth.moments.mean[state] / depth.theory.law.states[state].cover;
        let [one, other] = &self.depths;
        match measure {
            ColonyIndicator::Density | ColonyIndicator::EllipseCover => {
                self.covariances(|s, t| per_cover(one, s) * per_cover(other, t) * self.of_coral(&pairs, (s, t)))
            }
            _ => self.covariances(|_, _| 0.0),
        }
    }

    fn of_animals(&self, name: &str) -> PlaceCovariance {
        let law = |depth: &Depth<'_>| {
            let place = depth.zone.animals.iter().position(|animal| animal.name == name);
            place.map(|place| depth.theory.animals[place].law.clone())
        };
        let (Some(one), Some(other)) = (law(&self.depths[0]), law(&self.depths[1])) else {
            return self.covariances(|_, _| 0.0);
        };
        let effects = [&Effects::of_animals(&one), &Effects::of_animals(&other)];
        self.covariances(|s, t| self.means((s, t)) * libm::expm1(self.latent(effects, (s, t))))
    }

    /// Of fish: group by group, which are independent of one another but for the coral of their sites. Where they go with it the
    /// covers of the two sites are lognormal together, as those of one site are (`theory::fish::SiteCoral`).
    pub fn of_fish(&self, (kind, dimensions): (&MethodKind, Dimensions), told: &FishIndicator) -> PlaceCovariance {
        let [one, other] =
            self.depths.map(|depth| depth.theory.fish_shares((self.study, depth.zone), (kind, dimensions), told));
        let go_with_coral = |shares: &[FishShare]| shares.iter().any(|share| share.with_coral != 0.0);
        let pairs = (go_with_coral(&one) && go_with_coral(&other)).then(|| self.coral_pairs());
        self.covariances(|s, t| {
            let covers = self.depths[0].theory.law.states[s].cover * self.depths[1].theory.law.states[t].cover;
            let coral = pairs.as_ref().map_or(0.0, |pairs| libm::log1p(self.of_coral(pairs, (s, t)) / covers));
            let of = |here: &FishShare, there: &FishShare| {
                let effects = [&Effects::of_animals(here.law), &Effects::of_animals(there.law)];
                let own = if here.name == there.name { self.latent(effects, (s, t)) } else { 0.0 };
                here.told[s] * there.told[t] * libm::expm1(own + here.with_coral * there.with_coral * coral)
            };
            one.iter().flat_map(|here| other.iter().map(move |there| (here, there))).map(|(h, t)| of(h, t)).sum()
        })
    }

    /// Of recruits per m2: what is there and what is free are independent. Per m2 of free bottom what is there alone counts, but
    /// for the error of a ratio.
    fn of_recruits(&self, measure: RecruitMeasure) -> PlaceCovariance {
        let [one, other] = self.depths;
        let (Some(first), Some(second)) = (&one.theory.recruits, &other.theory.recruits) else {
            return self.covariances(|_, _| 0.0);
        };
        let effects = [&Effects::of_animals(&first.law), &Effects::of_animals(&second.law)];
        let pairs = self.coral_pairs();
        self.covariances(|s, t| {
            let there = libm::exp(self.latent(effects, (s, t)));
            let free = match measure {
                RecruitMeasure::OnHardBottom => 1.0,
                _ => self.free_together(&pairs, (s, t)),
            };
            self.means((s, t)) * (there * free - 1.0)
        })
    }

    /// P(both free for recruits) over the product of the two shares.
    fn free_together(&self, pairs: &[CoralPairs; 2], states: (usize, usize)) -> f64 {
        let columns = self.depths.map(|depth| {
            let cannot = depth.zone.recruits.iter().flat_map(|recruits| &recruits.cannot_live_on);
            let cannot: Vec<&String> = cannot.collect();
            let kinds = depth.theory.bottom.as_ref().map_or(0, |bottom| bottom.stages.len());
            let is_free =
                |kind: usize| depth.zone.categories.get(kind).is_none_or(|category| !cannot.contains(&&category.name));
            std::iter::once(0.0).chain((0..kinds).map(|kind| f64::from(is_free(kind)))).collect::<Vec<f64>>()
        });
        if columns.iter().all(|column| column[1..].iter().all(|free| *free == 1.0)) {
            return self.both_bare(pairs, states) / (pairs[0].bare(states.0) * pairs[1].bare(states.1));
        }
        let share = |place: usize, state: usize| {
            let theory = self.depths[place].theory;
            let covers = (0..columns[place].len()).map(|kind| theory.covers(kind)[state]);
            covers.zip(&columns[place]).map(|(cover, free)| cover * free).sum::<f64>()
        };
        let product = share(0, states.0) * share(1, states.1);
        1.0 + self.of_bottom(pairs, &Written { chances: columns.clone() }, states) / product
    }

    /// Product of the mean readings.
    fn means(&self, (first, second): (usize, usize)) -> f64 {
        self.depths[0].moments.mean[first] * self.depths[1].moments.mean[second]
    }

    pub fn of_components(&self, parts: &Components) -> PlaceCovariance {
        let effects = Effects {
            site: parts.between_sites_sd,
            year: parts.site_year_sd,
            change: Box::new(|state| component_change_sd(self.study, parts, state)),
        };
        self.covariances(|s, t| self.latent([&effects, &effects], (s, t)))
    }
}
