use super::calibrate::{over_site, patch_kernel};
use super::windows::{gauss_pairs, mean_within, unit_area};
use crate::random::normal_cdf;
use crate::reef::{AnimalLaw, PatchDensity, PatchLaw};
use crate::theory::pairs::{PairOfUnits, Unit, density_of_same_place};
use crate::theory::placement::smeared;
use crate::theory::{Curve, Rule, UnitMoments};
use std::f64::consts::{SQRT_2, TAU};

/// The closed forms of one kind of animal: its law and the kernels of its patches.
#[derive(Clone, Debug)]
pub struct AnimalTheory {
    pub law: AnimalLaw,
    pub(super) kernels: Kernels,
}

/// Second-moment kernels of the patches, within a visit and across the visits.
#[derive(Clone, Debug)]
pub(super) struct Kernels {
    /// Of the density of groups.
    pub within: Option<Curve>,
    pub across: Option<Curve>,
    /// Of two animals of different groups: smeared by both spreads.
    animals_within: Option<Curve>,
    animals_across: Option<Curve>,
}

/// Which animals are counted: a class of sizes, and only those that are out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountedAs {
    /// Share of all animals that belong to the class; 1 for all. The same animals at both visits.
    pub class_share: f64,
    /// Share of those that a diver sees, drawn anew at each visit.
    pub seen_share: f64,
}

/// How the counts are read.
#[derive(Clone, Copy, Debug)]
pub struct ReadBy {
    pub unit: Unit,
    /// Size of the site, metres.
    pub site: (f64, f64),
    /// Readings are told per this many m2: 100 for invertebrates, 1 for recruits.
    pub per_m2: f64,
    /// SD of the displacement along each axis of a unit laid again at its marks, metres.
    pub relay_sd_m: f64,
    /// How much longer the tape is than what is counted along it, metres.
    pub beyond_m: f64,
}

impl ReadBy {
    /// Sides of the site in which the unit by itself has the room to move that its tape has.
    pub fn room(&self) -> (f64, f64) {
        (self.site.0 - self.beyond_m, self.site.1)
    }
}

/// Bottom on which the animals can be, where it is not all of it: recruits on hard bottom free of colonies.
#[derive(Clone, Debug)]
pub struct Ground {
    /// Share of the bottom in each state.
    pub share: Vec<f64>,
    /// Covariance of two places being such bottom, by distance: within the visit of each state, and from the first visit to
    /// each state.
    pub within: Vec<Curve>,
    pub across: Vec<Curve>,
    /// Covariance of the shares that whole sites are expected to have, patches being chance: within and across.
    pub sites: Vec<(f64, f64)>,
}

impl CountedAs {
    pub const ALL: Self = Self { class_share: 1.0, seen_share: 1.0 };

    /// Share of all animals that are counted in a visit.
    pub fn share(&self) -> f64 {
        self.class_share * self.seen_share
    }

    /// Share that is counted at both visits of those that are there both times.
    pub(super) fn both(&self) -> f64 {
        self.share() * self.seen_share
    }
}

/// A covariance of densities in parts: animals themselves (per m2), animals of one group (per m2, times a normal density
/// of the difference), and the densities at two places (per m4), `paired (1 + kernel) - apart`.
struct Parts {
    same: f64,
    of_one_group: f64,
    /// SD of the difference of two animals of a group, along each axis.
    tau: f64,
    means: f64,
    /// Variance of ln density that both places share whatever their distance.
    constant: f64,
}

impl AnimalTheory {
    pub fn new(law: AnimalLaw) -> Self {
        let within = patch_kernel(&law.spec, 1.0);
        let across = if law.field_memory < 1.0 { patch_kernel(&law.spec, law.field_memory) } else { within.clone() };
        let tau = tau(&law);
        let spread = |kernel: &Option<Curve>| kernel.as_ref().map(|kernel| smeared(kernel, tau));
        let kernels = Kernels { animals_within: spread(&within), animals_across: spread(&across), within, across };
        Self { law, kernels }
    }

    /// Moments of the density that one unit reads, in every state. `ground` for animals that live on part of the bottom
    /// only; their density is per m2 of that part, the reading per m2 of all bottom.
    pub fn moments(&self, read: &ReadBy, counted: CountedAs, ground: Option<&Ground>) -> UnitMoments {
        let law = &self.law;
        // With one visit the bottom has one state.
        let states = ground.map_or(law.states.len(), |ground| ground.share.len());
        let free = |s: usize| ground.map_or(1.0, |ground| ground.share[s]);
        let pair = PairOfUnits::new(read.room(), read.unit);
        let same_place = density_of_same_place(read.room(), read.unit);
        let mut moments = UnitMoments::never_there(states);
        moments.read_by_crew = false;
        // What whole sites have is told without the patches of the coral.
        let of_sites = [&self.kernels.within, &self.kernels.across]
            .map(|kernel| kernel.as_ref().filter(|_| !law.spec.is_in_patches_of_coral()));
        for s in 0..states {
            let (within, across) = (self.within(s, counted), self.across(s, counted));
            let both = (self.kernels.animals_within.as_ref(), self.kernels.animals_across.as_ref());
            let own = Place {
                share: (free(s), free(s)),
                pair: ground.map(|ground| &ground.within[s]),
                sites: ground.map_or(0.0, |ground| ground.sites[s].0),
            };
            let later = Place {
                share: (free(0), free(s)),
                pair: ground.map(|ground| &ground.across[s]),
                sites: ground.map_or(0.0, |ground| ground.sites[s].1),
            };
            moments.truth[s] = counted.class_share * law.mean_density(s) * free(s);
            moments.mean[s] = counted.share() * law.mean_density(s) * free(s);
            moments.variance[s] = within.of_unit(read.unit, 0.0, both.0, &own);
            moments.pair[s] = within.same * own.both_at(0.0) * same_place + pair.mean(|h| within.at(h, both.0, &own));
            moments.same_marks[s] = across.of_unit(read.unit, read.relay_sd_m, both.1, &later);
            moments.across[s] =
                across.same * later.both_at(0.0) * same_place + pair.mean(|h| across.at(h, both.1, &later));
            moments.site_truth[s] = within.of_truth(read.site, of_sites[0], &own);
            moments.site_truth_across[s] = across.of_truth(read.site, of_sites[1], &later);
        }
        // The first state has nothing to be compared with.
        moments.same_marks[0] = moments.variance[0];
        moments.across[0] = moments.pair[0];
        moments.site_truth_across[0] = moments.site_truth[0];
        told_per(moments, read.per_m2)
    }

    /// Covariance of the densities counted at two places that are not the same, in the visit of a state, per m4; for animals
    /// that can be anywhere.
    pub(super) fn shared_within(&self, state: usize, counted: CountedAs, distance: f64) -> f64 {
        self.within(state, counted).at(distance, self.kernels.animals_within.as_ref(), &ANYWHERE)
    }

    /// The same of the first visit and that of a state.
    pub(super) fn shared_across(&self, state: usize, counted: CountedAs, distance: f64) -> f64 {
        self.across(state, counted).at(distance, self.kernels.animals_across.as_ref(), &ANYWHERE)
    }

    /// Chance that a group of the first visit is there in a state: it stays, and its surroundings still hold it.
    /// `E min(kappa_0, kappa_s) / E kappa_0`; for gamma patches that drift by quadrature, error below .001.
    pub fn groups_kept(&self, state: usize) -> f64 {
        let law = &self.law;
        let of = &law.states[state];
        let year = 2.0 * law.site_year_sd * law.site_year_sd + of.change_sd * of.change_sd;
        let drifts = law.spec.stays > 0.0 && law.field_memory < 1.0;
        let lower = match law.spec.patches.map(|patches| patches.law).filter(|_| drifts) {
            None => mean_of_lower(1.0, of.group_ratio(), year),
            Some(PatchLaw::LogNormal { ln_sd } | PatchLaw::OfCoral { ln_sd, .. }) => {
                let drift = 2.0 * ln_sd * ln_sd * (1.0 - law.field_memory);
                mean_of_lower(1.0, of.group_ratio(), year + drift)
            }
            Some(gamma) => {
                let density = PatchDensity::new(gamma);
                let (memory, renewal) = (law.field_memory, libm::sqrt(1.0 - law.field_memory * law.field_memory));
                let later = Rule::normal(48);
                density.expect(|first, z| {
                    later.expect(|other| {
                        let second = density.at(memory * z + renewal * other);
                        mean_of_lower(first, of.group_ratio() * second, year)
                    })
                })
            }
        };
        law.spec.stays * lower
    }

    /// Covariance within the visit of a state. An animal that two units share is seen from both or hidden from both.
    fn within(&self, state: usize, counted: CountedAs) -> Parts {
        let law = &self.law;
        let (mean, share) = (law.mean_density(state), counted.share());
        Parts {
            same: share * mean,
            of_one_group: share * share * mean * self.in_group() * law.states[state].survival(),
            tau: tau(law),
            means: share * share * mean * mean,
            constant: law.site_variance(state),
        }
    }

    /// Covariance of the first visit with that of a state.
    fn across(&self, state: usize, counted: CountedAs) -> Parts {
        let law = &self.law;
        let kept = self.kept(state);
        let share = counted.share();
        Parts {
            same: counted.both() * kept,
            of_one_group: share * share * kept * self.in_group(),
            tau: tau(law),
            means: share * share * law.mean_density(0) * law.mean_density(state),
            constant: law.site_sd * law.site_sd,
        }
    }

    /// Animals per m2 that are there at the first visit and in a state.
    pub(super) fn kept(&self, state: usize) -> f64 {
        self.law.mean_density(0) * self.groups_kept(state) * self.law.states[state].survival()
    }

    /// Mean number of others in the group of an animal.
    fn in_group(&self) -> f64 {
        self.law.spec.groups.map_or(0.0, |groups| groups.mean_size)
    }
}

/// `E min(a e^A, b e^B)`, A and B normal with E e^A = E e^B = 1 and a difference of variance `variance`.
fn mean_of_lower(a: f64, b: f64, variance: f64) -> f64 {
    if !(variance > 0.0 && a > 0.0 && b > 0.0) {
        return a.min(b);
    }
    let (sd, ln_ratio) = (libm::sqrt(variance), libm::log(b / a));
    a * normal_cdf((ln_ratio - 0.5 * variance) / sd) + b * normal_cdf((-ln_ratio - 0.5 * variance) / sd)
}

/// SD of the difference of two animals of a group, along each axis.
fn tau(law: &AnimalLaw) -> f64 {
    SQRT_2 * law.spec.groups.map_or(0.0, |groups| groups.spread_m)
}

/// Whether two places are such bottom as the animals live on: the share of each, and their covariance.
struct Place<'a> {
    share: (f64, f64),
    pair: Option<&'a Curve>,
    /// Covariance of the shares of whole sites.
    sites: f64,
}

/// All of the bottom.
const ANYWHERE: Place = Place { share: (1.0, 1.0), pair: None, sites: 0.0 };

impl Place<'_> {
    fn both_at(&self, distance: f64) -> f64 {
        self.share.0 * self.share.1 + self.pair.map_or(0.0, |pair| pair.at(distance))
    }
}

impl Parts {
    /// Covariance of the densities at two places that are not the same, per m4.
    fn at(&self, distance: f64, kernel: Option<&Curve>, place: &Place) -> f64 {
        let both = place.both_at(distance);
        let group = if self.of_one_group > 0.0 { self.of_one_group * normal_at(distance, self.tau) } else { 0.0 };
        group * both + self.densities_at(distance, kernel, both, place)
    }

    /// The part of different groups.
    fn densities_at(&self, distance: f64, kernel: Option<&Curve>, both: f64, place: &Place) -> f64 {
        let patches = 1.0 + kernel.map_or(0.0, |kernel| kernel.at(distance));
        self.means * (libm::exp(self.constant) * patches * both - place.share.0 * place.share.1)
    }

    /// Covariance of the densities read in one unit laid twice, `relay` metres apart (SD along each axis), per m4.
    fn of_unit(&self, unit: Unit, relay: f64, kernel: Option<&Curve>, place: &Place) -> f64 {
        let area = unit_area(unit);
        let itself = self.same * place.both_at(0.0) * gauss_pairs(unit, relay) / (area * area);
        if place.pair.is_some() {
            // No closed form: the bottom varies over the size of a colony.
            let reach = kernel.map_or(0.0, Curve::reach).max(8.0 * self.tau).max(place.pair.map_or(0.0, Curve::reach));
            let apart = Curve::new(reach, 512, |h| self.at(h, kernel, place));
            let apart = smeared(&apart, relay);
            return itself + mean_within(unit, |h| apart.at(h));
        }
        let tau = libm::hypot(self.tau, relay);
        let group =
            if self.of_one_group > 0.0 { self.of_one_group * gauss_pairs(unit, tau) / (area * area) } else { 0.0 };
        let kernel = kernel.map(|kernel| smeared(kernel, relay));
        let densities = match &kernel {
            None => self.densities_at(0.0, None, 1.0, place),
            Some(kernel) => mean_within(unit, |h| self.densities_at(h, Some(kernel), 1.0, place)),
        };
        itself + group + densities
    }

    /// Covariance of the true densities of whole sites; `kernel` of the density of groups.
    fn of_truth(&self, site: (f64, f64), kernel: Option<&Curve>, place: &Place) -> f64 {
        // Shares of 1 where all of the bottom is theirs; patches of animals and of bottom are independent.
        let shares = place.share.0 * place.share.1;
        self.means * (libm::exp(self.constant) * (1.0 + over_site(kernel, site)) * (shares + place.sites) - shares)
    }
}

/// Density at a distance of the normal law in the plane with standard deviation tau along each axis.
fn normal_at(distance: f64, tau: f64) -> f64 {
    libm::exp(-0.5 * distance * distance / (tau * tau)) / (TAU * tau * tau)
}

/// From densities per m2 to densities per so many m2.
fn told_per(mut moments: UnitMoments, per_m2: f64) -> UnitMoments {
    for values in [&mut moments.truth, &mut moments.mean] {
        values.iter_mut().for_each(|value| *value *= per_m2);
    }
    let of_pairs = [
        &mut moments.variance,
        &mut moments.pair,
        &mut moments.same_marks,
        &mut moments.across,
        &mut moments.site_truth,
        &mut moments.site_truth_across,
    ];
    for values in of_pairs {
        values.iter_mut().for_each(|value| *value *= per_m2 * per_m2);
    }
    moments
}
