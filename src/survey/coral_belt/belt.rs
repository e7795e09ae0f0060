use super::detection::Detection;
use super::edge::{BeltFrame, EdgeRule};
use crate::reef::colonies::{
    Condition, ConditionShares, DeadParts, DeadPartsTable, Mark, PartialMortality, Visible, mark_uniform, shape_of,
};
use crate::reef::machine::for_this_processor;
use crate::reef::{Colony, Visit};
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

/// What is written of a colony.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColonyRecord {
    /// Names the colony; the same at both visits.
    pub id: u64,
    /// Bit s: written in state s.
    pub states: u16,
    /// Where its centre lies, m along the belt from its start and across from its middle.
    pub along: f32,
    pub across: f32,
    /// Largest diameter by the ruler, m; and without what the site adds to it, of which areas are made.
    pub longest_m: f32,
    pub laid_m: f32,
    /// The diameter perpendicular to it, and height, by the ruler, m.
    pub across_m: f32,
    pub height_m: f32,
    pub dead: DeadParts,
    /// How it looks at the visit, where that is written.
    pub condition: Option<Condition>,
}

impl ColonyRecord {
    #[inline(always)]
    pub fn is_in(&self, state: usize) -> bool {
        self.states >> state & 1 == 1
    }
}

/// What is measured of a colony, besides that it is counted. What is not measured is written as not a number, so that
/// nothing can be told from it.
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
    /// The colonies that belong to the belt, and those of them that are visible with the states in which they are, by their
    /// places in the list of the walk.
    belonging: Vec<u32>,
    seen: Vec<(u32, u16)>,
    ruled: Ruled,
    /// A table for each law of partial mortality that was asked for.
    dead: Vec<Arc<DeadPartsTable>>,
    pub records: Vec<ColonyRecord>,
}

/// Measurements by the ruler of the colonies in hand, m.
#[derive(Default)]
struct Ruled {
    ids: Vec<u64>,
    radii: Vec<f32>,
    longest: Vec<f64>,
    across: Vec<f64>,
    height: Vec<f64>,
}

impl BeltReader {
    /// Fills `records` with the colonies that the diver writes down in a belt, out of those listed by a walk of `visit`.
    /// The walk must reach [`EdgeRule::margin_m`] further than the belt at all sides.
    pub fn read(&mut self, belt: &CoralBelt, frame: &BeltFrame, colonies: &[Colony], visit: Visit) {
        let colonies_are = OfSite::typical(PartialMortality::USUAL);
        self.read_some(belt, frame, (colonies, visit), (Measurements::ALL, colonies_are));
    }

    /// The same where only some of the measurements are asked for, of a site whose colonies are like this.
    pub fn read_some(
        &mut self,
        belt: &CoralBelt,
        frame: &BeltFrame,
        (colonies, visit): (&[Colony], Visit),
        (asked, of_site): (Measurements, OfSite),
    ) {
        self.records.clear();
        self.belonging.resize(colonies.len() + 1, 0);
        let mut belong = 0;
        for (at, colony) in colonies.iter().enumerate() {
            self.belonging[belong] = at as u32;
            belong += usize::from(belt.edge.counts(frame, colony.along, colony.across, colony.radius));
        }
        self.belonging.truncate(belong);
        let states = self.visible.states_of(&self.belonging, colonies);
        self.seen.resize(belong + 1, (0, 0));
        let mut seen = 0;
        for (&at, &states) in self.belonging.iter().zip(states) {
            self.seen[seen] = (at, states);
            seen += usize::from(states != 0);
        }
        self.seen.truncate(seen);
        let record = |&(at, states): &(u32, u16)| ColonyRecord::unmeasured(frame, &colonies[at as usize], states);
        self.records.extend(self.seen.iter().map(record));
        // Where all are seen nobody needs the size of a colony that is only counted.
        let asked = Measurements { longest: asked.longest | asked.dead | !belt.sees_all(), ..asked };
        if asked != Measurements::NONE {
            self.ruled.ids.clear();
            self.ruled.ids.extend(self.records.iter().map(|record| record.id));
            self.ruled.radii.clear();
            self.ruled.radii.extend(self.seen.iter().map(|&(at, _)| colonies[at as usize].radius));
            self.measure(belt, visit, (asked, of_site));
        }
    }

    /// The same of colonies that somebody mapped: all of them are there to be counted, each as wide as it was mapped; height,
    /// dead parts and condition are not known.
    pub fn read_mapped(&mut self, belt: &CoralBelt, frame: &BeltFrame, colonies: &[Colony], visit: Visit) {
        self.records.clear();
        let belong = |colony: &&Colony| belt.edge.counts(frame, colony.along, colony.across, colony.radius);
        self.records.extend(colonies.iter().filter(belong).filter_map(|colony| {
            let diameter = by_ruler(2.0 * f64::from(colony.radius), belt.ruler_m);
            let (longest_m, across_m) = (diameter as f32, diameter as f32);
            let record = ColonyRecord::unmeasured(frame, colony, colony.alive);
            let record = ColonyRecord { longest_m, laid_m: longest_m, across_m, ..record };
            (!belt.misses(colony.id, diameter, visit)).then_some(record)
        }));
    }

    /// Writes down how each colony of the last belt looks at the visit, where so many are not healthy.
    pub fn look(&mut self, shares: &ConditionShares, visit: Visit) {
        self.records.iter_mut().for_each(|record| record.condition = Some(shares.of(record.id, visit)));
    }

    /// Measures all records and drops those that are missed: whom the diver misses goes by the size that the reef has it.
    fn measure(&mut self, belt: &CoralBelt, visit: Visit, (asked, of_site): (Measurements, OfSite)) {
        let dead = asked.dead.then(|| self.dead_table(of_site.dead));
        self.ruled.measure(belt.ruler_m, asked);
        let sees_all = belt.sees_all();
        let ruled = &self.ruled;
        let mut kept = 0;
        for at in 0..self.records.len() {
            let mut record = self.records[at];
            if asked.longest {
                let laid = ruled.longest[at];
                if !sees_all && belt.misses(record.id, laid, visit) {
                    continue;
                }
                let longest = match of_site.larger {
                    1.0 => laid,
                    larger => by_ruler(larger * ruled.longest_of(at), belt.ruler_m),
                };
                (record.longest_m, record.laid_m) = (longest as f32, laid as f32);
                if let Some(table) = &dead {
                    record.dead = table.dead_parts(record.id, longest, of_site.dead_odds);
                }
            }
            if asked.across {
                record.across_m = ruled.across[at] as f32;
            }
            if asked.height {
                record.height_m = ruled.height[at] as f32;
            }
            self.records[kept] = record;
            kept += 1;
        }
        self.records.truncate(kept);
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

impl ColonyRecord {
    fn unmeasured(frame: &BeltFrame, colony: &Colony, states: u16) -> Self {
        Self {
            id: colony.id,
            states,
            along: colony.along - frame.from_m,
            across: colony.across,
            longest_m: f32::NAN,
            laid_m: f32::NAN,
            across_m: f32::NAN,
            height_m: f32::NAN,
            dead: DeadParts { recent: f32::NAN, old: f32::NAN },
            condition: None,
        }
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
    fn longest_of(&self, at: usize) -> f64 {
        shape_of(self.ids[at], f64::from(self.radii[at])).longest_m
    }

    fn measure(&mut self, ruler_m: f64, asked: Measurements) {
        let number = self.ids.len();
        for (column, is_asked) in
            [(&mut self.longest, asked.longest), (&mut self.across, asked.across), (&mut self.height, asked.height)]
        {
            column.resize(if is_asked { number } else { 0 }, 0.0);
        }
        measure(self, ruler_m);
    }
}

for_this_processor! {
    /// Fills the columns that are as long as the list of names.
    fn measure(ruled: &mut Ruled, ruler_m: f64) {
        let Ruled { ids, radii, longest, across, height } = ruled;
        for ((longest, &id), &radius) in longest.iter_mut().zip(&*ids).zip(&*radii) {
            *longest = by_ruler(shape_of(id, f64::from(radius)).longest_m, ruler_m);
        }
        for ((across, &id), &radius) in across.iter_mut().zip(&*ids).zip(&*radii) {
            *across = by_ruler(shape_of(id, f64::from(radius)).across_m, ruler_m);
        }
        for ((height, &id), &radius) in height.iter_mut().zip(&*ids).zip(&*radii) {
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
    fn lonely(number: u64) -> Vec<Colony> {
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
        assert_eq!(reader.records.len(), 200);
        for record in &reader.records {
            for size in [record.longest_m, record.across_m, record.height_m] {
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
        let truth = reader.records.clone();
        reader.read(&all, &FRAME, &colonies, Visit::Second);
        assert_eq!(truth, reader.records);
        let mut seen = Vec::new();
        for visit in [Visit::First, Visit::Second] {
            reader.read(&some, &FRAME, &colonies, visit);
            assert!(reader.records.iter().all(|record| truth.contains(record)));
            seen.push(reader.records.iter().map(|record| record.id).collect::<Vec<_>>());
        }
        assert_ne!(seen[0], seen[1]);
        assert!(seen.iter().all(|ids| 50 < ids.len() && ids.len() < 150));
    }

    #[test]
    fn a_shorter_belt_is_a_window_of_the_longer_one() {
        let colonies = lonely(150);
        let mut reader = BeltReader::default();
        reader.read(&CoralBelt::default(), &FRAME, &colonies, Visit::First);
        let inside = reader.records.iter().filter(|record| 3.0 <= record.along && record.along < 7.0).count();
        let window = BeltFrame { from_m: 3.4, length_m: 4.0, width_m: 1.0 };
        reader.read(&CoralBelt::default(), &window, &colonies, Visit::First);
        assert_eq!(reader.records.len(), inside);
        assert!(inside > 50);
    }
}
