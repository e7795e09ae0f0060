use super::group::GroupCounts;
use super::values::ValueMoments;
use crate::design::{DENSITY_AREA_M2, FishIndicator, FishMeasure, KG_PER_HA_IN_G_PER_M2, Study, Zone};
use crate::reef::AnimalLaw;
use crate::survey::{Dimensions, Ground, MethodKind};
use crate::theory::clusters::{AnimalTheory, CountedAs, ReadBy};
use crate::theory::zone::{ZoneTheory, same_marks, unit_of};
use crate::theory::{LaidPairs, UnitMoments};

/// One group as a unit counts it, with the moments of its density (per m2) averaged over the unit.
struct Group<'a> {
    name: String,
    theory: &'a AnimalTheory,
    counts: GroupCounts,
    density: UnitMoments,
}

impl Group<'_> {
    fn mean_density(&self, state: usize) -> f64 {
        self.theory.law.mean_density(state)
    }

    /// Variance of the density averaged over the unit: what the law of animals says of lone ones, less their Poisson part.
    fn density_variance(&self, state: usize, field_m2: f64) -> f64 {
        (self.density.variance[state] - self.mean_density(state) / field_m2).max(0.0)
    }
}

impl ZoneTheory {
    /// Moments of what one unit tells of fish, in every state. Numbers and biomasses are sums over the fish and exact but for
    /// what [`super::Counted`] leaves; means over the fish seen (mean length, share above a length) are ratios, to first
    /// order.
    pub fn fish_moments(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> UnitMoments {
        let states = self.law.states.len();
        let groups = self.fish_groups((study, zone), (kind, dimensions), told);
        let truths = |s: usize| {
            let own = zone.fish.iter().zip(&self.fish).filter(|(group, _)| told.includes(group));
            told.measure.truth(own.map(|(group, theory)| (&group.spec, theory.law.mean_density(s))))
        };
        let mut moments = UnitMoments::never_there(states);
        moments.read_by_crew = false;
        moments.truth = (0..states).map(truths).collect();
        if groups.is_empty() {
            return moments;
        }
        let (length, width) = unit_of(dimensions).size();
        let area_variance = kind.fish_count().map_or(0.0, |count| count.area_variance(dimensions));
        let scale = scale_of(told.measure);
        // Of each state: what is added up over fish (less the ratio, of a ratio), and by what the sum is divided.
        let parts: Vec<State> = (0..states).map(|s| State::new(&groups, told.measure, scale, s)).collect();
        for s in 0..states {
            let state = &parts[s];
            moments.mean[s] = state.mean;
            let mut whole = 0.0;
            for (g, group) in groups.iter().enumerate() {
                let (factor, first) = (state.factors[g], parts[0].factors[g]);
                let density = group.mean_density(s);
                whole += factor * density;
                let by_density = factor * factor * group.density_variance(s, length * width);
                let survival = group.theory.law.states[s].survival();
                let by_chance = group.counts.variance_of(&state.values[g], density, survival);
                moments.variance[s] += by_density * (1.0 + area_variance) + state.scale * state.scale * by_chance;
                moments.pair[s] += factor * factor * group.density.pair[s];
                moments.across[s] += first * factor * group.density.across[s];
                moments.same_marks[s] += first * factor * group.density.same_marks[s];
                moments.site_truth[s] += factor * factor * group.density.site_truth[s];
                moments.site_truth_across[s] += first * factor * group.density.site_truth_across[s];
            }
            moments.variance[s] += area_variance * whole * whole;
        }
        // The first state has nothing to be compared with.
        moments.same_marks[0] = moments.variance[0];
        self.lay_fish(&mut moments, (&groups, &parts), (study, dimensions));
        moments
    }

    /// For every group that an indicator counts: its name, its law, and in each state what one fish per m2 of its density adds
    /// to what is told.
    pub fn fish_factors(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> Vec<(String, &AnimalLaw, Vec<f64>)> {
        let groups = self.fish_groups((study, zone), (kind, dimensions), told);
        let scale = scale_of(told.measure);
        let states: Vec<State> =
            (0..self.law.states.len()).map(|s| State::new(&groups, told.measure, scale, s)).collect();
        let factors = |g: usize| states.iter().map(|state| state.factors[g]).collect();
        groups.iter().enumerate().map(|(g, group)| (group.name.clone(), &group.theory.law, factors(g))).collect()
    }

    fn fish_groups(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> Vec<Group<'_>> {
        let ground = Ground { site: self.site, placement: study.placement };
        let unit = unit_of(dimensions);
        let beyond_m = dimensions.length_m().unwrap_or(0.0) - unit.size().0;
        let read = ReadBy { unit, site: ground.sides(), per_m2: 1.0, relay_sd_m: self.relay_sd, beyond_m };
        let all = zone.fish.iter().zip(&self.fish).filter(|(group, _)| told.includes(group));
        all.filter_map(|(group, theory)| {
            let counts = GroupCounts::of((kind, dimensions), group, told.measure)?;
            Some(Group { name: group.name.clone(), theory, counts, density: theory.moments(&read, EVERY_FISH, None) })
        })
        .collect()
    }

    /// What the layout changes.
    fn lay_fish(
        &self,
        moments: &mut UnitMoments,
        (groups, parts): (&[Group], &[State]),
        (study, dimensions): (&Study, Dimensions),
    ) {
        let ground = Ground { site: self.site, placement: study.placement };
        let (unit, taken) = (unit_of(dimensions), (dimensions.length_m().unwrap_or(0.0), dimensions.width_m()));
        let beyond_m = taken.0 - unit.size().0;
        let read = ReadBy { unit, site: ground.sides(), per_m2: 1.0, relay_sd_m: self.relay_sd, beyond_m };
        let pairs = LaidPairs::new(&ground, unit, study.most_units_of(taken.0, taken.1));
        let again = parts.len() > 1 && same_marks(study);
        for (g, group) in groups.iter().enumerate() {
            let laid = group.theory.laid(&group.density, &read, EVERY_FISH, (&pairs, again));
            let first = parts[0].factors[g];
            for (s, state) in parts.iter().enumerate() {
                let factor = state.factors[g];
                add(&mut moments.layout.within, laid.within.get(s).map(|d| d.scaled(factor * factor)), s);
                add(&mut moments.layout.across, laid.across.get(s).map(|d| d.scaled(first * factor)), s);
            }
            moments.layout.in_rows = laid.in_rows;
        }
        moments.layout.most_units = ground.most_units(taken.0, taken.1);
    }
}

/// What a sum over fish per m2 is told in.
fn scale_of(measure: FishMeasure) -> f64 {
    match measure {
        FishMeasure::Density | FishMeasure::LongerThan(_) => DENSITY_AREA_M2,
        FishMeasure::Biomass => KG_PER_HA_IN_G_PER_M2,
        FishMeasure::MeanLength | FishMeasure::ShareLongerThan(_) => 1.0,
    }
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
    fn new(groups: &[Group], measure: FishMeasure, scale: f64, state: usize) -> Self {
        let told = |of: &dyn Fn(&Group) -> f64| groups.iter().map(|g| g.mean_density(state) * of(g)).sum::<f64>();
        let sum = told(&|group| group.counts.mean_of(&group.counts.values));
        let seen = told(&|group| group.counts.mean_of(&group.counts.values.of_seen()));
        let (mean, scale, less) =
            if measure.is_a_sum() { (scale * sum, scale, 0.0) } else { (sum / seen, 1.0 / seen, sum / seen) };
        let values: Vec<ValueMoments> = groups.iter().map(|group| group.counts.values.less(less)).collect();
        let factors = groups.iter().zip(&values).map(|(group, values)| scale * group.counts.mean_of(values)).collect();
        Self { mean, scale, values, factors }
    }
}
