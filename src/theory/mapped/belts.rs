use super::MapTheory;
use super::starts::Starts;
use super::sums::{Sums, Told};
use crate::design::{DENSITY_AREA_M2, PRESENCE, colony_measures};
use crate::random::{Key, Purpose};
use crate::reef::{Colonies, StripPlace, Visit};
use crate::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt, Detection};
use crate::survey::{Dimensions, Place};
use crate::theory::UnitMoments;

/// Colonies or animals that are looked at for one kind of belt, over all of its places together.
const LOOKS: f64 = 2e6;
const PLACES: std::ops::RangeInclusive<usize> = 2_048..=8_192;

impl MapTheory {
    /// Moments of all that coral belts of these dimensions tell. Which colonies a diver misses is drawn for each place once,
    /// by keys that no trial has.
    pub(super) fn told_of_colonies(
        &self,
        belt: &CoralBelt,
        (classes_m, growth_m): (&[f64], f64),
        dimensions: Dimensions,
    ) -> Vec<(String, UnitMoments)> {
        let Some(map) = self.reef.colonies() else { return Vec::new() };
        let size = (dimensions.length_m().unwrap_or(1.0), dimensions.width_m());
        let states = self.reef.states();
        let measures = colony_measures(classes_m, growth_m);
        let mut sums = vec![Sums::new(states); measures.len()];
        let margin = belt.edge.margin_m(2.0 * map.largest_radius_m());
        let frame = BeltFrame { from_m: margin as f32, length_m: size.0 as f32, width_m: size.1 as f32 };
        let (mut listed, mut at_second) = (Colonies::default(), Colonies::default());
        let (mut first, mut second) = (BeltReader::default(), BeltReader::default());
        let starts = Starts::new(self, size);
        let per_place = (size.0 * size.1 * map.density(|_| true)).max(1.0);
        for number in 0..places(per_place) {
            let site = self.reef.site(Key(0).child(Purpose::Mark, number as u64));
            let read = |place: Place, visit, listed: &mut Colonies, reader: &mut BeltReader| {
                let line = (place.at(-margin, 0.0), place.heading);
                site.list(line, size.0 + 2.0 * margin, (0.5 * size.1 + margin) as f32, visit, listed);
                reader.read_mapped(belt, &frame, listed, visit);
            };
            let place = starts.first(number);
            read(place, Visit::First, &mut listed, &mut first);
            if states > 1 {
                read(starts.second(number, place), Visit::Second, &mut at_second, &mut second);
            }
            for ((_, measure), sums) in measures.iter().zip(&mut sums) {
                let of = |state: usize| {
                    let written = if state == 0 { &first.written } else { &second.written };
                    Told::exactly(measure.of(written, &frame, state))
                };
                sums.add(of);
            }
        }
        let truths = self.true_of_colonies(belt, &measures);
        let of = |(sums, truth): (&Sums, Vec<f64>)| sums.moments(truth, self.relay_sd.is_some(), false);
        let moments = sums.iter().zip(truths).map(of);
        measures.iter().map(|(name, _)| name.clone()).zip(moments).collect()
    }

    /// What a belt over the whole map that misses nothing would tell, for each measure in every state.
    fn true_of_colonies(
        &self,
        belt: &CoralBelt,
        measures: &[(String, crate::analysis::ColonyIndicator)],
    ) -> Vec<Vec<f64>> {
        let (length, width) = self.reef.map.size_m();
        let perfect = CoralBelt { detection: Detection::From { least_m: 0.0 }, ..CoralBelt::default() };
        let perfect = CoralBelt { ruler_m: belt.ruler_m, ..perfect };
        // A metre more on all sides for those whose centre lies on the edge.
        let all = BeltFrame { from_m: -1.0, length_m: length as f32 + 2.0, width_m: width as f32 + 2.0 };
        let frame = BeltFrame { from_m: 0.0, length_m: length as f32, width_m: width as f32 };
        let site = self.reef.site(Key(0));
        let (mut listed, mut reader) = (Colonies::default(), [BeltReader::default(), BeltReader::default()]);
        for (visit, reader) in [Visit::First, Visit::Second].into_iter().zip(&mut reader) {
            site.list(((0.0, 0.5 * width), (1.0, 0.0)), length, 0.5 * width as f32 + 1.0, visit, &mut listed);
            reader.read_mapped(&perfect, &all, &listed, visit);
        }
        let of = |measure: &crate::analysis::ColonyIndicator| {
            let state = |s: usize| measure.of(&reader[usize::from(s > 0)].written, &frame, s);
            (0..self.reef.states()).map(state).collect()
        };
        measures.iter().map(|(_, measure)| of(measure)).collect()
    }

    /// Moments of the density of every animal on the map, per 100 m2, as belts of these dimensions tell it, and of whether they
    /// have any.
    pub(super) fn told_of_animals(&self, dimensions: Dimensions) -> Vec<(String, UnitMoments)> {
        let Some(map) = self.reef.colonies() else { return Vec::new() };
        let (length_m, width_m) = (dimensions.length_m().unwrap_or(1.0), dimensions.width_m());
        let states = self.reef.states();
        let (area, whole) = (length_m * width_m, map.size_m().0 * map.size_m().1);
        let starts = Starts::new(self, (length_m, width_m));
        let (mut first, mut second) = (Vec::new(), Vec::new());
        let told = map.animals.iter().map(|kind| {
            let (mut sums, mut present) = (Sums::new(states), Sums::new(states));
            for number in 0..places((area / whole * kind.places.len() as f64).max(1.0)) {
                let site = self.reef.site(Key(0));
                let find = |place: Place, visit, found: &mut Vec<_>| {
                    let strip = StripPlace { start: place.start, direction: place.heading, length_m, width_m };
                    site.animals(&kind.name, &strip, visit, found);
                };
                let place = starts.first(number);
                find(place, Visit::First, &mut first);
                if states > 1 {
                    find(starts.second(number, place), Visit::Second, &mut second);
                }
                let there = |state: usize| {
                    let found = if state == 0 { &first } else { &second };
                    found.iter().filter(|animal| animal.alive >> state & 1 == 1).count()
                };
                sums.add(|state| Told::exactly(DENSITY_AREA_M2 * there(state) as f64 / area));
                present.add(|state| Told::exactly(f64::from(u8::from(there(state) > 0))));
            }
            let truth =
                (0..states).map(|s| DENSITY_AREA_M2 * self.reef.number_of(&kind.name, s) as f64 / whole).collect();
            let mut present = present.moments(vec![0.0; states], self.relay_sd.is_some(), false);
            // It is one of belts, so that what they tell in the mean is its truth.
            present.truth.clone_from(&present.mean);
            let density = sums.moments(truth, self.relay_sd.is_some(), false);
            [(kind.name.clone(), density), (format!("{}{PRESENCE}", kind.name), present)]
        });
        told.flatten().collect()
    }
}

fn places(per_place: f64) -> usize {
    ((LOOKS / per_place) as usize).clamp(*PLACES.start(), *PLACES.end())
}
