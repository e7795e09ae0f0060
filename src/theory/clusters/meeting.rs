use super::moments::{AnimalTheory, CountedAs};
use super::together::{TwoInPatches, loadings, over};
use super::void::{Void, thomas_void};
use super::windows::{as_quadrats, mean_within, unit_area};
use crate::reef::PatchLaw;
use crate::theory::pairs::{PairOfUnits, Unit, density_of_same_place};
use crate::theory::{Curve, Rule, root};
use std::sync::LazyLock;

/// The chance of meeting animals of one kind in units of one shape, in one state.
///
/// Given the intensity, the number of groups that send an animal into a unit is Poisson, and the unit is empty with
/// probability `exp(-U)`, `U = int kappa(x) (1 - exp(-mu q(x))) dx`. Over sites (and years) U is lognormal, which is
/// integrated exactly. Over patches it is taken to be lognormal or gamma as the patches are, with its exact mean and with
/// the variance that they have over a rectangle as wide as the bottom from which animals come. This is exact without patches and for
/// patches much wider than the belt; for patches of a scale of a metre or few and an SD of ln density of .6 the share of
/// empty belts, and of pairs of belts, is within .005 of the simulated one (see the tests). Several belts of a site: the
/// same for the sum of their U, less what they have in common where they overlap.
///
/// Kinds that are looked for together ([`Meeting::of_any`]) are independent of each other but for what their sites, the patches in
/// which they lie and their units have in common: none of them is met with the product of their chances, averaged over that.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    kinds: Vec<Kind>,
    /// Those of them that lie in the same patches.
    in_patches: Vec<TwoInPatches>,
    /// Variance of the area that a unit looks at, relative to its squared mean.
    unit_areas: f64,
}

/// One kind of animals.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Kind {
    /// Density of animals in the state, per m2: all of them.
    density: f64,
    /// Mean of U of one unit.
    mean: f64,
    /// Share of the void that two units of a site have in common in the mean.
    shared: f64,
    /// Variance of U over patches, relative to its squared mean: of one unit, and the covariance of two.
    patches: f64,
    patches_of_two: f64,
    gamma: bool,
    /// Variance of ln density between sites in one visit.
    between_sites: f64,
    /// How ln density besides goes with something of the site that is the same for all kinds and has an SD of 1.
    with_site: f64,
}

/// Over what units have in common, what sites have and what patches have.
static IN_COMMON: LazyLock<[Rule; 3]> = LazyLock::new(|| [9, 24, 16].map(Rule::normal));

/// Share of units with an animal that stands for all of them.
const SURELY_FOUND: f64 = 1.0 - 1e-12;

/// More units than this a site are not looked for.
const MOST_UNITS: usize = 1_000_000;

impl AnimalTheory {
    /// `unit` must have a width.
    pub fn meeting(&self, unit: Unit, site: (f64, f64), counted: CountedAs, state: usize) -> Meeting {
        let law = &self.law;
        let counted = counted.share() * law.states[state].survival();
        let void = self.void(unit, counted);
        let (room, rectangle) = rooms(&void, unit, site);
        let (patches, patches_of_two) = over_units(self.kernels.within.as_ref(), room, rectangle);
        let shared = self.shared_void(&void, unit, site);
        Meeting::of(Kind {
            density: law.mean_density(state),
            mean: law.mean_group_density(state) * void.area,
            shared: shared.min(1.0),
            patches,
            patches_of_two: patches_of_two.min(patches),
            gamma: law.spec.patches.is_some_and(|patches| matches!(patches.law, PatchLaw::Gamma { .. })),
            between_sites: law.site_variance(state),
            with_site: 0.0,
        })
    }

    /// From where groups of whose animals such a share is counted put one at least into a unit.
    pub(super) fn void(&self, unit: Unit, counted: f64) -> Void {
        match self.law.spec.groups {
            None => Void::of_single(unit, counted),
            Some(groups) => thomas_void(unit, groups.mean_size * counted, groups.spread_m),
        }
    }

    /// Share of the void that two units of a site have in common in the mean, laid without regard to each other.
    pub(super) fn shared_void(&self, void: &Void, unit: Unit, site: (f64, f64)) -> f64 {
        match self.law.spec.groups {
            // A lone animal in both units is seen from both or from neither.
            None => unit_area(unit) * density_of_same_place(site, unit),
            Some(_) => {
                let (room, rectangle) = rooms(void, unit, site);
                void.area * density_of_same_place(room, rectangle)
            }
        }
    }
}

/// The mean of a kernel over pairs of places of one unit, and over those of two units that move about a room; nil without patches.
pub(super) fn over_units(kernel: Option<&Curve>, room: (f64, f64), unit: Unit) -> (f64, f64) {
    kernel.map_or((0.0, 0.0), |kernel| {
        (mean_within(unit, |h| kernel.at(h)), PairOfUnits::new(room, unit).mean(|h| kernel.at(h)))
    })
}

/// The rectangle from which animals come into a unit, and the site in which it moves about as the unit does.
pub(super) fn rooms(void: &Void, unit: Unit, site: (f64, f64)) -> ((f64, f64), Unit) {
    let (number, every, length, width) = as_quadrats(unit);
    let whole = (number as f64 - 1.0) * every + length;
    let rectangle = Unit::Strip { length_m: void.length, width_m: void.width };
    (((site.0 - whole).max(0.0) + void.length, (site.1 - width).max(0.0) + void.width), rectangle)
}

/// What else meets a unit: groups of any kind, as they lie or swim, that each put at least one animal into it from an area.
#[derive(Clone, Copy, Debug)]
pub struct Groups {
    /// Animals per m2, and groups per m2, in the mean.
    pub density: f64,
    pub groups_per_m2: f64,
    /// Integral over the middle of a group of the chance that one of its animals at least is counted, m2.
    pub area_m2: f64,
    /// How ln density goes, besides what is of the law, with something of the site that has an SD of 1.
    pub with_site: f64,
    /// Variance of the area that a unit looks at, relative to its squared mean.
    pub unit_areas: f64,
}

impl AnimalTheory {
    /// The chance of meeting groups whose density varies as that of animals that live alone, averaged over a unit; no group is
    /// in two units, because they are not there at the same time.
    pub fn meeting_of_groups(&self, groups: Groups, unit: Unit, site: (f64, f64), state: usize) -> Meeting {
        let (_, _, length, width) = as_quadrats(unit);
        let room = (site.0.max(length), site.1.max(width));
        let (patches, patches_of_two) = over_units(self.kernels.within.as_ref(), room, unit);
        let law = &self.law;
        let kind = Kind {
            density: groups.density,
            mean: groups.groups_per_m2 * groups.area_m2,
            shared: 0.0,
            patches,
            patches_of_two: patches_of_two.min(patches),
            gamma: law.spec.patches.is_some_and(|patches| matches!(patches.law, PatchLaw::Gamma { .. })),
            between_sites: law.site_variance(state),
            with_site: groups.with_site,
        };
        Meeting { unit_areas: groups.unit_areas, ..Meeting::of(kind) }
    }
}

impl Kind {
    /// Variance of the density in the patches over `n` units of a site, relative to its squared mean.
    fn in_patches(&self, n: f64) -> f64 {
        over(self.patches, self.patches_of_two, n)
    }

    /// Chance that `n` units of a site find none, over sites: where there are `times` as many as in the mean. `also`: variance of ln
    /// density besides, negative for what is known of it.
    fn empty(&self, times: f64, n: f64, also: f64) -> f64 {
        // Places are covered independently by the units: the first has all of its void, each further one less.
        let voids = if self.shared > 0.0 && self.shared < 1.0 {
            -libm::expm1(n * libm::log1p(-self.shared)) / self.shared
        } else if self.shared >= 1.0 {
            1.0
        } else {
            n
        };
        let patches = self.in_patches(n);
        let (mean, between) = (times * self.mean * voids, self.between_sites + also);
        if self.gamma && patches > 0.0 {
            over_sites(between, |site| libm::exp(-libm::log1p(mean * site * patches) / patches))
        } else {
            over_sites(between + libm::log1p(patches), |intensity| libm::exp(-mean * intensity))
        }
    }
}

impl Meeting {
    fn of(kind: Kind) -> Self {
        Self { kinds: vec![kind], in_patches: Vec::new(), unit_areas: 0.0 }
    }

    /// Of a reef that is known, on which units lie without regard to each other and this share of them finds an animal: of n units
    /// none does with so many times the chance of one. (For other densities than its own: groups as there are, more or fewer.)
    pub fn of_one_reef(density_per_m2: f64, occupied: f64) -> Self {
        Meeting::of(Kind {
            density: density_per_m2,
            mean: -libm::log1p(-occupied.min(SURELY_FOUND)),
            shared: 0.0,
            patches: 0.0,
            patches_of_two: 0.0,
            gamma: false,
            between_sites: 0.0,
            with_site: 0.0,
        })
    }

    /// Any animal of several kinds, one in each of `all`, met in the same units; some of them in the same patches, by their numbers.
    pub fn of_any(all: Vec<Self>, in_patches: Vec<TwoInPatches>) -> Self {
        let unit_areas = all.iter().map(|meeting| meeting.unit_areas).fold(0.0, f64::max);
        Self { kinds: all.into_iter().flat_map(|meeting| meeting.kinds).collect(), in_patches, unit_areas }
    }

    /// Chance that `units` units on each of `sites` sites find none.
    pub fn none(&self, units: usize, sites: usize) -> f64 {
        self.none_at(1.0, units, sites)
    }

    /// The same at densities that are so many times those of the law.
    fn none_at(&self, times: f64, units: usize, sites: usize) -> f64 {
        let n = units as f64;
        let [over_units, over_sites, over_patches] = &*IN_COMMON;
        // What one kind has of its site it has by itself.
        let apart = self.kinds.len() == 1 || self.kinds.iter().all(|kind| kind.with_site == 0.0);
        let loads = self.loadings(n);
        let density = |load: f64, z: f64| libm::exp(load * z - 0.5 * load * load);
        let none = |times: f64, site: f64, patch: f64| {
            let empty = |(kind, load): (&Kind, &f64)| {
                let own = if apart { kind.with_site * kind.with_site } else { 0.0 };
                let of_site = if apart { 1.0 } else { density(kind.with_site, site) };
                kind.empty(times * of_site * density(*load, patch), n, own - load * load)
            };
            self.kinds.iter().zip(&loads).map(empty).product::<f64>()
        };
        let of_site = |times: f64, site: f64| {
            if self.in_patches.is_empty() {
                return none(times, site, 0.0);
            }
            over_patches.expect(|patch| none(times, site, patch))
        };
        let given =
            |times: f64| if apart { of_site(times, 0.0) } else { over_sites.expect(|site| of_site(times, site)) };
        // Units look at areas of their own, whatever is looked for: of n of them the sum differs less.
        let variance = libm::log1p(self.unit_areas / n.max(1.0));
        let empty = if variance > 0.0 {
            over_units.expect(|unit| given(times * libm::exp(libm::sqrt(variance) * unit - 0.5 * variance)))
        } else {
            given(times)
        };
        libm::pow(empty, sites as f64)
    }

    /// How ln density of each kind over `n` units of a site goes with the patches in which others lie too.
    fn loadings(&self, n: f64) -> Vec<f64> {
        let variances: Vec<f64> = self.kinds.iter().map(|kind| libm::log1p(kind.in_patches(n))).collect();
        let covariances: Vec<_> = self.in_patches.iter().map(|two| (two.kinds, two.ln_covariance(n))).collect();
        loadings(&variances, &covariances)
    }

    /// Chance of at least one animal.
    pub fn at_least_one(&self, units: usize, sites: usize) -> f64 {
        1.0 - self.none(units, sites)
    }

    /// The least number of units on each of `sites` sites that meet at least one animal with probability `chance`; `None`
    /// where a million do not.
    pub fn units_to_meet(&self, chance: f64, sites: usize) -> Option<usize> {
        let met = |units: usize| self.at_least_one(units, sites) >= chance;
        if !met(MOST_UNITS) {
            return None;
        }
        let (mut too_few, mut enough) = (0, MOST_UNITS);
        while enough - too_few > 1 {
            let middle = too_few + (enough - too_few) / 2;
            if met(middle) {
                enough = middle;
            } else {
                too_few = middle;
            }
        }
        Some(enough)
    }

    /// When none was seen: the density per ha (hidden ones and other classes included) at which this would still have
    /// happened once in `1 / (1 - confidence)`. Absence cannot be shown; this is what the search has ruled out, if animals
    /// group as the law says; of several kinds together if they are there in the shares of the law.
    pub fn upper_limit_per_ha(&self, units: usize, sites: usize, confidence: f64) -> Option<f64> {
        let total = |of: fn(&Kind) -> f64| self.kinds.iter().map(of).sum::<f64>();
        if !(total(|kind| kind.mean) > 0.0 && units > 0 && sites > 0) {
            return None;
        }
        let gap = |ln_times: f64| self.none_at(libm::exp(ln_times), units, sites) - (1.0 - confidence);
        root(-60.0, 60.0, 1e-10, gap).map(|ln_times| 1e4 * total(|kind| kind.density) * libm::exp(ln_times))
    }

    /// Share of units with at least one animal, over all sites.
    pub fn presence(&self) -> f64 {
        self.at_least_one(1, 1)
    }

    /// Covariance of the presence in two units of one site.
    pub fn presence_pair(&self) -> f64 {
        self.none(2, 1) - self.none(1, 1) * self.none(1, 1)
    }
}

/// Upper limit of a density per ha when none is seen in so many m2, for animals that live alone and evenly: for 95 %
/// `3 / area`, more exactly `-ln(.05) / area`.
pub fn poisson_upper_limit(area_m2: f64, confidence: f64) -> f64 {
    -1e4 * libm::log1p(-confidence) / area_m2
}

/// `E f(e)` for a lognormal e of mean 1: the trapezoid rule in the standard normal, which converges faster than any power
/// of the step for a function so smooth; error below 1e-12 for variances up to 30.
fn over_sites(variance: f64, f: impl Fn(f64) -> f64) -> f64 {
    if !(variance > 0.0) {
        return f(1.0);
    }
    const REACH: f64 = 10.0;
    let sd = libm::sqrt(variance);
    // `exp(-m e^(sd x))` stays bounded in a strip of half-width pi / 2 sd, so that the error goes as `exp(-pi^2 / (sd step))`.
    let step = (0.33 / sd).clamp(0.05, 0.3);
    let half = (REACH / step) as i32;
    let mut sum = 0.0;
    for k in -half..=half {
        let x = f64::from(k) * step;
        sum += libm::exp(-0.5 * x * x) * f(libm::exp(sd * x - 0.5 * variance));
    }
    sum * step / libm::sqrt(std::f64::consts::TAU)
}
