use super::detection::Detection;
use super::edge::{BeltFrame, EdgeRule};
use super::written::Written;
use crate::reef::colonies::{ConditionShares, DeadPartsTable, Mark, PartialMortality, Visible, mark_uniform, shape_of};
use crate::reef::machine::for_this_processor;
use crate::reef::{Colonies, Colony, Visit};
use serde::Serialize;
use std::sync::Arc;

/// How a diver counts and measures the colonies of a belt.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CoralBelt {
    pub edge: EdgeRule,
    pub detection: Detection,
    /// Measurements are rounded to whole multiples of this, m; nothing is written as smaller than one of them.
    pub ruler_m: f64,
}

impl Default for CoralBelt {
    fn default() -> Self {
        Self { edge: EdgeRule::default(), detection: Detection::default(), ruler_m: 0.01 }
    }
}

/// What is measured of a colony, besides that it is counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Measurements {
    pub longest: bool,
    pub across: bool,
    pub height: bool,
    pub dead: bool,
}

impl Measurements {
    pub const NONE: Self = Self { longest: false, across: false, height: false, dead: false };
    pub const ALL: Self = Self { longest: true, across: true, height: true, dead: true };

    /// What either of two needs.
    pub fn and(self, other: Self) -> Self {
        Self {
            longest: self.longest | other.longest,
            across: self.across | other.across,
            height: self.height | other.height,
            dead: self.dead | other.dead,
        }
    }
}

/// What the colonies of one site are like.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfSite {
    /// By which law they are partly dead on the typical site.
    pub dead: PartialMortality,
    /// How many times as wide they are written as the reef has them.
    pub larger: f64,
    /// The odds of having dead parts over those of the typical site.
    pub dead_odds: f64,
}

impl OfSite {
    /// A site like most, of colonies that are partly dead by this law.
    pub fn typical(dead: PartialMortality) -> Self {
        Self { dead, larger: 1.0, dead_odds: 1.0 }
    }
}

/// Reads belts: scratch memory and the last result; one per thread, reused.
///
/// A shorter or narrower belt is read from the same walk by another frame.
#[derive(Default)]
pub struct BeltReader {
    visible: Visible,
    /// The colonies that belong to the belt, and those of them that are visible, by their places in the list of the walk.
    belonging: Vec<u32>,
    seen: Vec<u32>,
    ruled: Ruled,
    /// A table for each law of partial mortality that was asked for.
    dead: Vec<Arc<DeadPartsTable>>,
    pub written: Written,
}

/// Measurements by the ruler of the colonies in hand, m.
#[derive(Default)]
struct Ruled {
    radii: Vec<f32>,
    longest: Vec<f64>,
    across: Vec<f64>,
    height: Vec<f64>,
}

impl BeltReader {
    /// Fills `written` with the colonies that the diver writes down in a belt, out of those listed by a walk of `visit`.
    /// The walk must reach [`EdgeRule::margin_m`] further than the belt at all sides.
    pub fn read(&mut self, belt: &CoralBelt, frame: &BeltFrame, colonies: &Colonies, visit: Visit) {
        let colonies_are = OfSite::typical(PartialMortality::USUAL);
        self.read_some(belt, frame, (colonies, visit), (Measurements::ALL, colonies_are));
    }

    /// The same where only some of the measurements are asked for, of a site whose colonies are like this.
    pub fn read_some(
        &mut self,
        belt: &CoralBelt,
        frame: &BeltFrame,
        (colonies, visit): (&Colonies, Visit),
        (asked, of_site): (Measurements, OfSite),
    ) {
        self.written.clear();
        belong(&mut self.belonging, belt.edge, frame, colonies);
        let states = self.visible.states_of(&self.belonging, colonies);
        write(&mut self.written, &mut self.seen, &self.belonging, states, colonies);
        // Where all are seen nobody needs the size of a colony that is only counted.
        let asked = Measurements { longest: asked.longest | asked.dead | !belt.sees_all(), ..asked };
        if asked != Measurements::NONE {
            self.ruled.radii.clear();
            self.ruled.radii.extend(self.seen.iter().map(|&at| colonies.radii[at as usize]));
            self.measure(belt, visit, (asked, of_site));
        }
    }

    /// The same of colonies that somebody mapped: all of them are there to be counted, each as wide as it was mapped; height,
    /// dead parts and condition are not known.
    pub fn read_mapped(&mut self, belt: &CoralBelt, frame: &BeltFrame, colonies: &Colonies, visit: Visit) {
        self.written.clear();
        let Written { ids, states, longest_m, laid_m, across_m, .. } = &mut self.written;
        let belong = |colony: &Colony| belt.edge.counts(frame, colony.along, colony.across, colony.radius);
        for colony in colonies.iter().filter(belong) {
            let diameter = by_ruler(2.0 * f64::from(colony.radius), belt.ruler_m);
            if belt.misses(colony.id, diameter, visit) {
                continue;
            }
            ids.push(colony.id);
            states.push(colony.alive);
            longest_m.push(diameter as f32);
        }
        laid_m.extend_from_slice(longest_m);
        across_m.extend_from_slice(longest_m);
    }

    /// Writes down how each colony of the last belt looks at the visit, where so many are not healthy.
    pub fn look(&mut self, shares: &ConditionShares, visit: Visit) {
        let Written { ids, condition, .. } = &mut self.written;
        condition.clear();
        condition.extend(ids.iter().map(|&id| shares.of(id, visit)));
    }

    /// Measures all that are written and drops those that are missed: whom the diver misses goes by the size that the reef has
    /// it.
    fn measure(&mut self, belt: &CoralBelt, visit: Visit, (asked, of_site): (Measurements, OfSite)) {
        let dead = asked.dead.then(|| self.dead_table(of_site.dead));
        self.ruled.measure(&self.written.ids, belt.ruler_m, asked);
        let (ruled, written) = (&self.ruled, &mut self.written);
        if asked.longest {
            written.laid_m.extend(ruled.longest.iter().map(|&longest| longest as f32));
            let wider = |at: usize| by_ruler(of_site.larger * ruled.longest_of(&written.ids, at), belt.ruler_m);
            let longest = |at: usize| if of_site.larger == 1.0 { ruled.longest[at] } else { wider(at) };
            for at in 0..written.ids.len() {
                let longest = longest(at);
                written.longest_m.push(longest as f32);
                written.dead.extend(dead.iter().map(|of| of.dead_parts(written.ids[at], longest, of_site.dead_odds)));
            }
        }
        written.across_m.extend(ruled.across.iter().map(|&across| across as f32));
        written.height_m.extend(ruled.height.iter().map(|&height| height as f32));
        if !belt.sees_all() {
            let seen: Vec<bool> =
                written.ids.iter().zip(&ruled.longest).map(|(&id, &laid)| !belt.misses(id, laid, visit)).collect();
            written.retain(|at| seen[at]);
        }
    }

    fn dead_table(&mut self, law: PartialMortality) -> Arc<DeadPartsTable> {
        if let Some(known) = self.dead.iter().find(|table| table.law() == law) {
            return known.clone();
        }
        let table = DeadPartsTable::of(law);
        self.dead.push(table.clone());
        table
    }
}

impl CoralBelt {
    /// Whether no colony is missed, whatever its size: nothing is written as smaller than one class of the ruler.
    fn sees_all(&self) -> bool {
        self.detection.is_certain() && self.detection.chance(self.ruler_m) == 1.0
    }

    fn misses(&self, id: u64, longest_m: f64, visit: Visit) -> bool {
        let chance = self.detection.chance(longest_m);
        chance < 1.0 && (chance == 0.0 || mark_uniform(id, Mark::seen_at(visit)) >= chance)
    }
}

impl Ruled {
    /// The largest diameter of one of them as it is, m.
    fn longest_of(&self, ids: &[u64], at: usize) -> f64 {
        shape_of(ids[at], f64::from(self.radii[at])).longest_m
    }

    fn measure(&mut self, ids: &[u64], ruler_m: f64, asked: Measurements) {
        let number = ids.len();
        for (column, is_asked) in
            [(&mut self.longest, asked.longest), (&mut self.across, asked.across), (&mut self.height, asked.height)]
        {
            column.resize(if is_asked { number } else { 0 }, 0.0);
        }
        measure(self, ids, ruler_m);
    }
}

for_this_processor! {
    /// The colonies that belong to a belt, by their places in the list.
    fn belong(belonging: &mut Vec<u32>, edge: EdgeRule, frame: &BeltFrame, colonies: &Colonies) {
        let number = colonies.len();
        belonging.resize(2 * number + 1, 0);
        let (list, belong) = belonging.split_at_mut(number + 1);
        let places = colonies.along.iter().zip(&colonies.across);
        match edge {
            EdgeRule::CentreIn => {
                for (belongs, (&along, &across)) in belong.iter_mut().zip(places) {
                    *belongs = u32::from(frame.holds(along, across));
                }
            }
            edge => {
                for (belongs, ((&along, &across), &radius)) in belong.iter_mut().zip(places.zip(&colonies.radii)) {
                    *belongs = u32::from(edge.counts(frame, along, across, radius));
                }
            }
        }
        let mut kept = 0;
        for (at, &belongs) in belong.iter().enumerate() {
            list[kept] = at as u32;
            kept += belongs as usize;
        }
        belonging.truncate(kept);
    }
}

for_this_processor! {
    /// Writes down those of the colonies that belong to a belt that are to be seen in some state.
    fn write(written: &mut Written, seen: &mut Vec<u32>, belonging: &[u32], states: &[u16], colonies: &Colonies) {
        let number = belonging.len();
        seen.resize(number + 1, 0);
        written.states.resize(number + 1, 0);
        let (places, kept_states) = (&mut seen[..number + 1], &mut written.states[..number + 1]);
        let mut kept = 0;
        for (&at, &states) in belonging.iter().zip(states) {
            places[kept] = at;
            kept_states[kept] = states;
            kept += usize::from(states != 0);
        }
        seen.truncate(kept);
        written.states.truncate(kept);
        let ids = &colonies.ids[..];
        written.ids.extend(seen.iter().map(|&at| ids[at as usize]));
    }
}

for_this_processor! {
    /// Fills the columns that are as long as the list of names.
    fn measure(ruled: &mut Ruled, ids: &[u64], ruler_m: f64) {
        let Ruled { radii, longest, across, height } = ruled;
        for ((longest, &id), &radius) in longest.iter_mut().zip(ids).zip(&*radii) {
            *longest = by_ruler(shape_of(id, f64::from(radius)).longest_m, ruler_m);
        }
        for ((across, &id), &radius) in across.iter_mut().zip(ids).zip(&*radii) {
            *across = by_ruler(shape_of(id, f64::from(radius)).across_m, ruler_m);
        }
        for ((height, &id), &radius) in height.iter_mut().zip(ids).zip(&*radii) {
            *height = by_ruler(shape_of(id, f64::from(radius)).height_m, ruler_m);
        }
    }
}

/// The nearest class of the ruler, the first one at least.
#[inline(always)]
fn by_ruler(metres: f64, ruler_m: f64) -> f64 {
    ((metres / ruler_m + 0.5).floor().max(1.0)) * ruler_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    const FRAME: BeltFrame = BeltFrame { from_m: 0.4, length_m: 10.0, width_m: 1.0 };

    /// Colonies far apart from one another.
    fn lonely(number: u64) -> Colonies {
        (0..number)
            .map(|i| Colony {
                along: 0.5 + i as f32 * 9.8 / number as f32,
                across: 0.0,
                radius: 0.002 + 0.0002 * i as f32,
                id: Key::seed(2).child(Purpose::Colony, i).0,
                alive: 0b11,
            })
            .collect()
    }

    #[test]
    fn sizes_are_whole_classes_of_the_ruler() {
        let belt = CoralBelt { ruler_m: 0.05, ..CoralBelt::default() };
        let mut reader = BeltReader::default();
        reader.read(&belt, &FRAME, &lonely(200), Visit::First);
        let written = &reader.written;
        assert_eq!(written.len(), 200);
        for column in [&written.longest_m, &written.laid_m, &written.across_m, &written.height_m] {
            assert_eq!(column.len(), 200);
            for &size in column {
                let classes = f64::from(size) / 0.05;
                assert!((classes - classes.round()).abs() < 1e-5 && classes > 0.99, "{size}");
            }
        }
    }

    #[test]
    fn missed_colonies_are_hashed_by_visit_and_the_others_keep_their_marks() {
        let colonies = lonely(200);
        let all = CoralBelt::default();
        let some = CoralBelt { detection: Detection::Logistic { half_m: 0.05, slope: 2.0 }, ..all };
        let mut reader = BeltReader::default();
        reader.read(&all, &FRAME, &colonies, Visit::First);
        let truth = reader.written.clone();
        reader.read(&all, &FRAME, &colonies, Visit::Second);
        assert_eq!(truth, reader.written);
        let mut seen = Vec::new();
        for visit in [Visit::First, Visit::Second] {
            reader.read(&some, &FRAME, &colonies, visit);
            let mut kept = truth.clone();
            kept.retain(|at| reader.written.ids.contains(&truth.ids[at]));
            assert_eq!(reader.written, kept);
            seen.push(kept.ids);
        }
        assert_ne!(seen[0], seen[1]);
        assert!(seen.iter().all(|ids| 50 < ids.len() && ids.len() < 150));
    }

    #[test]
    fn a_shorter_belt_is_a_window_of_the_longer_one() {
        let colonies = lonely(150);
        let mut reader = BeltReader::default();
        reader.read(&CoralBelt::default(), &FRAME, &colonies, Visit::First);
        let inside = |colony: &Colony| FRAME.holds(colony.along, colony.across) && (3.4..7.4).contains(&colony.along);
        let inside = colonies.iter().filter(inside).count();
        let window = BeltFrame { from_m: 3.4, length_m: 4.0, width_m: 1.0 };
        reader.read(&CoralBelt::default(), &window, &colonies, Visit::First);
        assert_eq!(reader.written.len(), inside);
        assert!(inside > 50);
    }
}
