use super::group::GroupCounts;
use super::habitat::SiteCoral;
use super::patches::SharedPatches;
use super::values::ValueMoments;
use crate::design::{FishGroup, FishIndicator, FishMeasure, Study, Zone};
use crate::reef::{AnimalLaw, Visit};
use crate::survey::{Dimensions, Ground, MethodKind};
use crate::theory::clusters::{AnimalTheory, CountedAs, ReadBy};
use crate::theory::inverse_count::inverse_count;
use crate::theory::pairs::density_of_same_place;
use crate::theory::zone::{ZoneTheory, same_marks, unit_of};
use crate::theory::{LaidPairs, UnitMoments};

/// One group as a unit counts it, with the moments of its density (per m2) averaged over the unit, as its own law has it.
struct Group<'a> {
    /// Its place in the list of its zone.
    index: usize,
    name: String,
    theory: &'a AnimalTheory,
    /// At the first visit, and at the second.
    counts: [GroupCounts; 2],
    density: UnitMoments,
    /// How it goes with the coral of its site, which is told where some group does.
    with_coral: f64,
    coral: Option<&'a SiteCoral>,
}

impl Group<'_> {
    /// What a unit counts in a state.
    fn counts(&self, state: usize) -> &GroupCounts {
        &self.counts[usize::from(state > 0)]
    }

    fn mean_density(&self, state: usize) -> f64 {
        self.theory.law.mean_density(state) * self.by_coral(state)
    }

    /// Mean factor that the coral of the sites brings.
    fn by_coral(&self, state: usize) -> f64 {
        self.coral.map_or(1.0, |coral| coral.mean(self.with_coral, state))
    }

    /// Variance of the density averaged over the unit: what the law of animals says of lone ones, less their Poisson part.
    fn density_variance(&self, state: usize, field_m2: f64) -> f64 {
        (self.density.variance[state] - self.theory.law.mean_density(state) / field_m2).max(0.0)
    }

    /// Mean product of the factors that the coral of a site brings to this group and another at one visit, over that of
    /// their means.
    fn together(&self, other: &Self, state: usize) -> f64 {
        self.coral.map_or(1.0, |coral| coral.within((self.with_coral, other.with_coral), state))
    }

    /// The same of this group at the first visit and another in a state.
    fn later(&self, other: &Self, state: usize) -> f64 {
        self.coral.map_or(1.0, |coral| coral.across((self.with_coral, other.with_coral), state))
    }
}

/// The places of two groups, and what the patches of coral have them share.
type PairInPatches<'a> = ((usize, usize), SharedPatches<'a>);

/// What one group adds to what is told of fish.
pub struct FishShare<'a> {
    pub name: String,
    pub law: &'a AnimalLaw,
    /// The power of the coral of its site with which it goes.
    pub with_coral: f64,
    /// In each state.
    pub told: Vec<f64>,
}

impl ZoneTheory {
    /// Moments of what one unit tells of fish, in every state. Numbers and biomasses are sums over the fish and exact but for
    /// what [`super::Counted`] leaves; means over the fish seen (mean length, share above a length) are ratios, to first
    /// order but for how the few fish of a group differ from each other (`inverse_count`).
    pub fn fish_moments(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> UnitMoments {
        let states = self.states();
        let coral = self.coral_of(zone, told);
        let groups = self.fish_groups((study, zone), (kind, dimensions), (told, coral));
        let truths = |s: usize| {
            let own = zone.fish.iter().zip(&self.fish).filter(|(group, _)| told.includes(group));
            let density = |(group, theory): (&FishGroup, &AnimalTheory)| {
                let by_coral = coral.map_or(1.0, |coral| coral.mean(group.with_coral, s));
                theory.law.mean_density(s) * by_coral
            };
            told.measure.truth(own.map(|(group, theory)| (&group.spec, density((group, theory)))))
        };
        let mut moments = UnitMoments::never_there(states);
        moments.read_by_crew = false;
        moments.truth = (0..states).map(truths).collect();
        if groups.is_empty() {
            return moments;
        }
        let (length, width) = unit_of(dimensions).size();
        let area_variance = kind.fish_count().map_or(0.0, |count| count.area_variance(dimensions));
        // Of each state: what is added up over fish (less the ratio, of a ratio), and by what the sum is divided.
        let parts: Vec<State> = (0..states).map(|s| State::new(&groups, told.measure, s)).collect();
        for s in 0..states {
            let state = &parts[s];
            moments.mean[s] = state.mean;
            let mut whole = 0.0;
            let few = match told.measure.unit_per_m2() {
                Some(_) => 1.0,
                None => {
                    let (mean, variance) = number_seen(&groups, s, length * width);
                    inverse_count(mean, variance)
                }
            };
            for (g, group) in groups.iter().enumerate() {
                let (now, ever) = lifted(group, (&parts[0], state), g, s);
                let density = group.mean_density(s);
                whole += state.factors[g] * density;
                let by_density = now * group.density_variance(s, length * width);
                let survival = group.theory.law.states[s].survival();
                let by_chance = group.counts(s).variance_of(&state.values[g], density, survival);
                moments.variance[s] += by_density * (1.0 + area_variance) + state.scale * state.scale * by_chance;
                // How fish of a group differ from each other weighs more where few are met; what is met of several groups is left to
                // first order, which is bounded by their means.
                let within = group.counts(s).variance_of(&state.values[g].less_own_mean(), density, survival);
                moments.variance[s] += state.scale * state.scale * (few - 1.0) * within;
                moments.pair[s] += now * group.density.pair[s];
                moments.across[s] += ever * group.density.across[s];
                moments.same_marks[s] += ever * group.density.same_marks[s];
                moments.site_truth[s] += now * group.density.site_truth[s];
                moments.site_truth_across[s] += ever * group.density.site_truth_across[s];
            }
            moments.variance[s] += area_variance * whole * whole;
            if coral.is_some() {
                let (now, ever) = by_coral_of_sites(&groups, (&parts[0], state), s);
                moments.variance[s] += now * (1.0 + area_variance);
                [&mut moments.pair, &mut moments.site_truth].into_iter().for_each(|values| values[s] += now);
                let later = [&mut moments.across, &mut moments.same_marks, &mut moments.site_truth_across];
                later.into_iter().for_each(|values| values[s] += ever);
            }
        }
        let shared = self.shared_patches(&groups, &self.read_by(study, dimensions));
        for (pair, patches) in &shared {
            for s in 0..states {
                let (now, ever) = of_two_groups(&groups, *pair, (&parts[0], &parts[s]), s);
                // At the first visit nothing has drifted.
                let (unit, two) = match s {
                    0 => (patches.of_unit, patches.of_two),
                    _ => (patches.of_unit_later, patches.of_two_later),
                };
                moments.variance[s] += now * patches.of_unit * (1.0 + area_variance);
                moments.pair[s] += now * patches.of_two;
                moments.same_marks[s] += ever * unit;
                moments.across[s] += ever * two;
            }
        }
        // The first state has nothing to be compared with.
        moments.same_marks[0] = moments.variance[0];
        self.lay_fish(&mut moments, (&groups, &parts, &shared), (study, dimensions));
        moments
    }

    /// Of every two groups that lie in the same patches of coral what these have them share.
    fn shared_patches(&self, groups: &[Group], read: &ReadBy) -> Vec<PairInPatches<'_>> {
        let pairs = (0..groups.len()).flat_map(|g| (0..g).map(move |h| (g, h)));
        let of = |(g, h): (usize, usize)| self.patches_of_two(groups[g].index, groups[h].index);
        pairs.filter_map(|pair| Some((pair, SharedPatches::new(of(pair)?, read)))).collect()
    }

    /// How fish are read in units of these dimensions.
    pub(super) fn read_by(&self, study: &Study, dimensions: Dimensions) -> ReadBy {
        let ground = Ground { site: self.site, placement: study.placement };
        let unit = unit_of(dimensions);
        let beyond_m = dimensions.length_m().unwrap_or(0.0) - unit.size().0;
        ReadBy { unit, site: ground.sides(), per_m2: 1.0, relay_sd_m: self.relay_sd, beyond_m }
    }

    /// For every group that an indicator counts what it adds to what is told.
    pub fn fish_shares(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> Vec<FishShare<'_>> {
        let groups = self.fish_groups((study, zone), (kind, dimensions), (told, self.coral_of(zone, told)));
        let states: Vec<State> = (0..self.states()).map(|s| State::new(&groups, told.measure, s)).collect();
        let share = |(g, group): (usize, &Group)| {
            let told = |(s, state): (usize, &State)| state.factors[g] * group.mean_density(s);
            states.iter().enumerate().map(told).collect()
        };
        let all: Vec<Vec<f64>> = groups.iter().enumerate().map(share).collect();
        let shares = groups.into_iter().zip(all).map(|(group, told)| FishShare {
            name: group.name,
            law: &group.theory.law,
            with_coral: group.with_coral,
            told,
        });
        shares.collect()
    }

    /// The coral of sites, where some group that an indicator counts goes with it.
    fn coral_of(&self, zone: &Zone, told: &FishIndicator) -> Option<&SiteCoral> {
        let goes_with_coral = |group: &FishGroup| told.includes(group) && group.with_coral != 0.0;
        zone.fish.iter().any(goes_with_coral).then(|| self.site_coral())
    }

    fn fish_groups<'a>(
        &'a self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        (told, coral): (&FishIndicator, Option<&'a SiteCoral>),
    ) -> Vec<Group<'a>> {
        let read = self.read_by(study, dimensions);
        let unit = read.unit;
        let all = zone.fish.iter().zip(&self.fish).enumerate().filter(|(_, (group, _))| told.includes(group));
        all.filter_map(|(index, (group, theory))| {
            let at = |visit| GroupCounts::of((kind, dimensions), (group, visit), told.measure);
            let counts = [at(Visit::First)?, at(Visit::Second)?];
            let mut density = theory.moments(&read, EVERY_FISH, None);
            // A fish is not in two units, because they are not there at the same time.
            for (s, pair) in density.pair.iter_mut().enumerate() {
                *pair -= theory.law.mean_density(s) * density_of_same_place(read.room(), unit);
            }
            Some(Group {
                index,
                name: group.name.clone(),
                theory,
                counts,
                density,
                with_coral: group.with_coral,
                coral,
            })
        })
        .collect()
    }

    /// What the layout changes.
    fn lay_fish(
        &self,
        moments: &mut UnitMoments,
        (groups, parts, shared): (&[Group], &[State], &[PairInPatches]),
        (study, dimensions): (&Study, Dimensions),
    ) {
        let ground = Ground { site: self.site, placement: study.placement };
        let taken = (dimensions.length_m().unwrap_or(0.0), dimensions.width_m());
        let read = self.read_by(study, dimensions);
        let pairs = LaidPairs::new(&ground, read.unit, study.most_units_of(taken.0, taken.1));
        let again = parts.len() > 1 && same_marks(study);
        for (g, group) in groups.iter().enumerate() {
            let laid = group.theory.laid(&group.density, &read, EVERY_FISH, (&pairs, again));
            for (s, state) in parts.iter().enumerate() {
                let (now, ever) = lifted(group, (&parts[0], state), g, s);
                add(&mut moments.layout.within, laid.within.get(s).map(|d| d.scaled(now)), s);
                add(&mut moments.layout.across, laid.across.get(s).map(|d| d.scaled(ever)), s);
            }
            moments.layout.in_rows = laid.in_rows;
        }
        for (pair, patches) in shared {
            for (s, state) in parts.iter().enumerate() {
                let (now, ever) = of_two_groups(groups, *pair, (&parts[0], state), s);
                add(&mut moments.layout.within, Some(patches.laid_within(&pairs).scaled(now)), s);
                let across = again.then(|| patches.laid_across(&pairs).scaled(ever));
                add(&mut moments.layout.across, across, s);
            }
        }
        moments.layout.most_units = ground.most_units(taken.0, taken.1);
    }
}

/// What covariances of a group's own law become in what is told: within the visit of a state, and from the first visit to it.
fn lifted(group: &Group, (first, state): (&State, &State), g: usize, s: usize) -> (f64, f64) {
    let of = |state: &State, s: usize| state.factors[g] * group.by_coral(s);
    let (first, now) = (of(first, 0), of(state, s));
    (now * now * group.together(group, s), first * now * group.later(group, s))
}

/// Covariance that the coral of a site brings to all that its units tell, whose groups go with it together: within the visit
/// of a state, and from the first visit to it.
fn by_coral_of_sites(groups: &[Group], (first, state): (&State, &State), s: usize) -> (f64, f64) {
    let (mut now, mut ever) = (0.0, 0.0);
    for (g, one) in groups.iter().enumerate() {
        for (h, other) in groups.iter().enumerate() {
            let told =
                |state: &State, (group, at): (&Group, usize), s: usize| state.factors[at] * group.mean_density(s);
            now += told(state, (one, g), s) * told(state, (other, h), s) * (one.together(other, s) - 1.0);
            ever += told(first, (one, g), 0) * told(state, (other, h), s) * (one.later(other, s) - 1.0);
        }
    }
    (now, ever)
}

/// What covariances of the densities of two groups, relative to the product of their means, become in what is told of both:
/// within the visit of a state, and from the first visit to it.
fn of_two_groups(groups: &[Group], (g, h): (usize, usize), (first, state): (&State, &State), s: usize) -> (f64, f64) {
    let told = |state: &State, at: usize, s: usize| state.factors[at] * groups[at].mean_density(s);
    let (one, other) = (&groups[g], &groups[h]);
    let now = 2.0 * told(state, g, s) * told(state, h, s) * one.together(other, s);
    let ever = told(first, g, 0) * told(state, h, s) * one.later(other, s)
        + told(first, h, 0) * told(state, g, s) * other.later(one, s);
    (now, ever)
}

/// Mean and variance of the number of fish that a unit sees of all groups.
fn number_seen(groups: &[Group], s: usize, field_m2: f64) -> (f64, f64) {
    let (mut mean, mut variance) = (0.0, 0.0);
    for group in groups {
        let (counts, density) = (group.counts(s), group.mean_density(s));
        let seen = counts.values.of_seen();
        let by_chance = counts.variance_of(&seen, density, group.theory.law.states[s].survival());
        // Of fish, not told per area: the areas of groups differ where some are counted on the way back.
        let per_density = counts.mean_of(&seen) / counts.per_m2;
        let by_coral = group.by_coral(s) * group.by_coral(s) * group.together(group, s);
        mean += density * per_density;
        variance += per_density * per_density * by_coral * group.density_variance(s, field_m2)
            + by_chance / (counts.per_m2 * counts.per_m2);
    }
    (mean, variance)
}

const EVERY_FISH: CountedAs = CountedAs { class_share: 1.0, seen_share: 1.0 };

fn add(all: &mut Vec<crate::theory::Departure>, departure: Option<crate::theory::Departure>, state: usize) {
    let Some(departure) = departure else { return };
    match all.get_mut(state) {
        Some(known) => *known = known.plus(&departure),
        None => all.push(departure),
    }
}

/// What is made of the groups in one state.
struct State {
    mean: f64,
    /// What sums over fish are multiplied by.
    scale: f64,
    /// Of each group: the value that is added up, and what one fish per m2 of density adds to what is told.
    values: Vec<ValueMoments>,
    factors: Vec<f64>,
}

impl State {
    fn new(groups: &[Group], measure: FishMeasure, state: usize) -> Self {
        let told = |of: &dyn Fn(&Group) -> f64| groups.iter().map(|g| g.mean_density(state) * of(g)).sum::<f64>();
        let sum = told(&|group| group.counts(state).mean_of(&group.counts(state).values));
        let seen = told(&|group| group.counts(state).mean_of(&group.counts(state).values.of_seen()));
        let mean = measure.told_of(sum, seen);
        // Of a mean over fish what is added up is the error: values less the mean.
        let (scale, less) = measure.unit_per_m2().map_or((1.0 / seen, mean), |unit| (unit, 0.0));
        let values: Vec<ValueMoments> = groups.iter().map(|group| group.counts(state).values.less(less)).collect();
        let factor = |(group, values): (&Group, &ValueMoments)| scale * group.counts(state).mean_of(values);
        let factors = groups.iter().zip(&values).map(factor).collect();
        Self { mean, scale, values, factors }
    }
}
