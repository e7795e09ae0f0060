//! Fish counted and sized in belts and from points.

use super::layout::{FishUnits, Indicator};
use super::sheet::Sheet;
use super::survey_site::{Scratch, ZoneSurvey, states_of_visit};
use crate::design::{FishGroup, FishMeasure, Study};
use crate::random::{Key, Purpose, normal_from_uniform, stream};
use crate::reef::fish::SchoolSizes;
use crate::reef::{AnimalReef, AnimalSite, FieldOver, MOST_STATES, SamePlace, SiteReef, StripPlace, Visit};
use crate::survey::Place;
use crate::survey::fish_sheet::WrittenLength;
use crate::survey::swim::{FishCount, Swim, Swum};
use crate::theory::ZoneTheory;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

/// Tells the fish of a site from its other animals, whose numbers are small.
const FISH: u64 = 1 << 33;

/// The key of the units of one layout, which lie independently of tapes and belts.
pub fn fish_key(key: Key, units: usize) -> Key {
    key.child(Purpose::Placement, 5_000_000 + units as u64)
}

/// One group of fish in a zone, ready to be counted. Made once a zone.
pub struct FishReef {
    places: AnimalReef,
    sizes: SchoolSizes,
    /// Schools are drawn so many times as densely as they are, and each fish kept with its chance over this: at the first
    /// visit, and at the second.
    greatest: [f64; 2],
    /// For each kind of units of the layout, how it is swum; `None` where it does not count this group.
    swims: Vec<Option<Swim>>,
    /// For each of these, 1 over the area that its counts are told per, per m2.
    per_m2: Vec<f64>,
    /// How it goes with the coral of its site; `None`: not at all.
    with_coral: Option<WithCoral>,
}

/// The density is multiplied by `scale cover^exponent`.
#[derive(Clone, Copy)]
struct WithCoral {
    exponent: f64,
    scale: f64,
}

impl WithCoral {
    fn new(group: &FishGroup, theory: &ZoneTheory) -> Option<Self> {
        let exponent = group.with_coral;
        (exponent != 0.0).then(|| {
            let mean = theory.law.states[0].cover;
            Self { exponent, scale: theory.site_coral().norm(exponent) * libm::pow(mean, -exponent) }
        })
    }
}

impl FishReef {
    /// Of the `index`th group of a zone.
    pub fn new(study: &Study, (group, index): (&FishGroup, usize), theory: &ZoneTheory, units: &[FishUnits]) -> Self {
        let spec = &group.spec;
        let swim = |units: &FishUnits| {
            let watch = study.methods[units.method].kind.watch(units.dimensions, group.hides)?;
            Some(Swim::new(watch, spec.movement, spec.spread_m))
        };
        let per_m2 = |units: &FishUnits| {
            let kind = &study.methods[units.method].kind;
            kind.told_area_m2(units.dimensions, group.hides).map_or(0.0, |area| 1.0 / area)
        };
        Self {
            per_m2: units.iter().map(per_m2).collect(),
            places: AnimalReef::new(theory.fish[index].law.clone()),
            with_coral: WithCoral::new(group, theory),
            sizes: SchoolSizes::new(spec.schools),
            greatest: [Visit::First, Visit::Second].map(|visit| group.sighting(visit).greatest().max(1.0)),
            swims: units.iter().map(swim).collect(),
        }
    }

    /// How large its schools are.
    pub fn sizes(&self) -> &SchoolSizes {
        &self.sizes
    }
}

/// A group on the site in hand.
pub(super) struct Group<'a> {
    pub group: &'a FishGroup,
    pub reef: &'a FishReef,
    pub site: AnimalSite<'a>,
    pub key: Key,
    /// What its density is multiplied by in each state for the coral of the site.
    pub by_coral: [f64; MOST_STATES],
}

/// What a column adds up over the fish of a unit, in every state.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct FishSums {
    /// Fish per m2, and the sum of what is told of them, 1 each, weights, lengths, 1 for each that is longer.
    number: [f64; MOST_STATES],
    sum: [f64; MOST_STATES],
}

/// Scratch memory; one per thread, reused.
#[derive(Default)]
pub(super) struct FishScratch {
    swum: Vec<Swum>,
    sums: Vec<FishSums>,
    /// The patches of coral under the unit in hand, and whether they were read.
    coral: FieldOver,
    has_coral: bool,
    /// The patches of a group of its own.
    own: FieldOver,
}

impl FishScratch {
    /// Density of the patches over its mean under a unit at a visit. Those of coral are read once for all groups.
    fn patches_over(&mut self, site: &AnimalSite, strip: &StripPlace, visit: Visit) -> f64 {
        if !site.reef.law.spec.is_in_patches_of_coral() {
            site.read_field(strip, visit, &mut self.own);
            return site.patches_in(&self.own);
        }
        if !std::mem::replace(&mut self.has_coral, true) {
            site.read_field(strip, visit, &mut self.coral);
        }
        site.patches_in(&self.coral)
    }
}

impl<'s> ZoneSurvey<'s> {
    /// The groups of a site of these true covers of hard coral. Where another zone has sites at the same places, its group of
    /// the same name has the same effects.
    pub(super) fn groups(&self, (key, place): (Key, Option<SamePlace>), covers: &[f64; MOST_STATES]) -> Vec<Group<'s>> {
        let there = |name: &str| {
            let group = self.study.fish_at_place(self.zone, name)?;
            Some((place?, FISH + group as u64))
        };
        let all = self.zone.fish.iter().zip(self.fish).enumerate();
        all.map(|(g, (group, reef)): (usize, (&'s FishGroup, &'s FishReef))| {
            let kind = FISH + g as u64;
            let site = AnimalSite::at_place(&reef.places, (key, kind), there(&group.name));
            let by_coral = match reef.with_coral {
                None => [1.0; MOST_STATES],
                Some(WithCoral { exponent, scale }) => covers.map(|cover| scale * libm::pow(cover, exponent)),
            };
            Group { group, reef, site, key: key.child(Purpose::Fish, g as u64), by_coral }
        })
        .collect()
    }

    /// True covers of hard coral that the fish go with, in the states of a visit.
    pub(super) fn coral_of_fish(&self, site: &mut SiteReef, visit: Visit) -> [f64; MOST_STATES] {
        let mut covers = [1.0; MOST_STATES];
        if self.fish.iter().any(|group| group.with_coral.is_some()) {
            site.truth((self.zone.length_m, self.zone.width_m), states_of_visit(visit, self.states()), &mut covers);
        }
        covers
    }

    /// Counts all fish of a site at a visit.
    pub fn count_fish(&self, key: Key, site: &mut SiteReef, visit: Visit, sheet: &mut Sheet, scratch: &mut Scratch) {
        if self.layout.fish.is_empty() {
            return;
        }
        let groups = self.groups((key, site.place), &self.coral_of_fish(site, visit));
        let mut places = std::mem::take(&mut scratch.places);
        for (u, units) in self.layout.fish.iter().enumerate() {
            let Some(count) = self.study.methods[units.method].kind.fish_count() else { continue };
            let lengths = vec![units.length_m; units.number];
            self.lay(fish_key(key, u), visit, (&lengths, units.width_m), &mut places);
            for (unit, place) in places.iter().enumerate() {
                let sums = &mut scratch.fish.sums;
                sums.clear();
                sums.resize(units.columns.len(), FishSums::default());
                scratch.fish.has_coral = false;
                for group in &groups {
                    self.count_group((u, units, count), (unit, place), visit, group, &mut scratch.fish);
                }
                self.write_fish(units, unit, visit, &scratch.fish.sums, sheet);
            }
        }
        scratch.places = places;
    }

    /// Draws the fish of one group that a unit counts and adds what is written of them to the sums of its columns.
    fn count_group(
        &self,
        (u, units, count): (usize, &FishUnits, &FishCount),
        (unit, place): (usize, &Place),
        visit: Visit,
        group: &Group,
        scratch: &mut FishScratch,
    ) {
        let Some(swim) = &group.reef.swims[u] else { return };
        let states = states_of_visit(visit, self.states());
        let (length_m, width_m) = units.dimensions.field_m();
        let middle = (0.5 * (units.length_m - length_m), 0.0);
        let strip = StripPlace { start: place.at(middle.0, middle.1), direction: place.heading, length_m, width_m };
        let patches = scratch.patches_over(&group.site, &strip, visit);
        let mut rates = [0.0; MOST_STATES];
        states.clone().for_each(|s| rates[s] = patches * group.by_coral[s] * group.site.groups_per_m2(s));
        let most = rates.iter().copied().fold(0.0, f64::max);
        if !(most > 0.0) {
            return;
        }
        let occasion = 2 * u as u64 + u64::from(visit == Visit::Second);
        let mut rng = stream(group.key.child(Purpose::Fish, occasion).child(Purpose::Fish, unit as u64));
        let spec = &group.group.spec;
        // How much wider or narrower than in the mean this unit is looked at counts as more or fewer schools.
        let own = place.key.uniform(Purpose::Fish, u64::from(visit == Visit::Second));
        let looked_at = count.area_ratio(units.dimensions, normal_from_uniform(own));
        let (sizes, sighting) = (&group.reef.sizes, group.group.sighting(visit));
        let greatest = group.reef.greatest[usize::from(visit == Visit::Second)];
        let schools_per_m2 = most * looked_at * greatest / sizes.mean();
        let FishScratch { swum, sums, .. } = scratch;
        swim.draw(schools_per_m2, |rng: &mut ChaCha8Rng| sizes.draw(rng.random()), &mut rng, swum);
        let (law, per_m2) = (&group.reef.places.law, group.reef.per_m2[u]);
        let (mut school, mut rank, mut of_school) = (u32::MAX, 0.0, 0.0);
        for fish in swum.iter() {
            if fish.school != school {
                school = fish.school;
                rank = most * rng.random::<f64>();
                of_school = rng.sample(StandardNormal);
            }
            let cm = spec.lengths.length_cm(of_school, rng.sample(StandardNormal));
            let reading: f64 = rng.sample(StandardNormal);
            let (lives, sees): (f64, f64) = (rng.random(), rng.random());
            let chance =
                count.left_by_others * sighting.length_chance(cm) * sighting.distance_chance(f64::from(fish.nearest_m));
            if sees * greatest >= chance {
                continue;
            }
            let written = count.lengths.read(cm, reading);
            for (&column, sums) in units.columns.iter().zip(sums.iter_mut()) {
                let Some(value) = self.told(column, group.group, written, count) else { continue };
                for s in states.clone() {
                    if rank < rates[s] && lives < law.states[s].survival() {
                        sums.number[s] += per_m2;
                        sums.sum[s] += per_m2 * value;
                    }
                }
            }
        }
    }

    /// What a column tells of a fish; `None` where it does not count it.
    fn told(&self, column: usize, group: &FishGroup, written: WrittenLength, count: &FishCount) -> Option<f64> {
        let Indicator::Fish { told, .. } = &self.layout.reading(column).indicator else { return None };
        let cm = written.length_cm(count.lengths.value);
        told.includes(group).then(|| match told.measure {
            FishMeasure::Density => 1.0,
            FishMeasure::Biomass => written.weight_g(count.lengths.value, group.spec.weight),
            FishMeasure::MeanLength => cm,
            FishMeasure::LongerThan(limit) | FishMeasure::ShareLongerThan(limit) => {
                f64::from(u8::from(written.middle_cm() >= limit))
            }
        })
    }

    fn write_fish(&self, units: &FishUnits, unit: usize, visit: Visit, sums: &[FishSums], sheet: &mut Sheet) {
        for (&column, sums) in units.columns.iter().zip(sums) {
            if unit >= self.layout.columns[column].units {
                continue;
            }
            let Indicator::Fish { told, .. } = &self.layout.reading(column).indicator else { continue };
            for s in states_of_visit(visit, sheet.states()) {
                sheet.set(column, s, unit, told.measure.told_of(sums.sum[s], sums.number[s]));
            }
        }
    }

    /// True values of the site in the states of a visit, by its true covers: all fish, seen or not, of their true lengths.
    pub fn fish_truths(
        &self,
        (key, place): (Key, Option<SamePlace>),
        visit: Visit,
        covers: &[f64; MOST_STATES],
        sheet: &mut Sheet,
    ) {
        if self.layout.fish.is_empty() {
            return;
        }
        let states = states_of_visit(visit, sheet.states());
        let mut groups = self.groups((key, place), covers);
        let mut densities = vec![[0.0; MOST_STATES]; groups.len()];
        for (group, densities) in groups.iter_mut().zip(&mut densities) {
            group.site.truth((self.zone.length_m, self.zone.width_m), states.clone(), densities);
        }
        for (r, reading) in self.layout.readings.iter().enumerate() {
            let Indicator::Fish { told, .. } = &reading.indicator else { continue };
            for s in states.clone() {
                let own = groups.iter().zip(&densities).filter(|(group, _)| told.includes(group.group));
                let of = own.map(|(group, densities)| (&group.group.spec, group.by_coral[s] * densities[s]));
                sheet.set_truth(r, s, told.measure.truth(of));
            }
        }
    }
}
