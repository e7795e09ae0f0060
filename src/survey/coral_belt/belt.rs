use super::detection::Detection;
use super::edge::{BeltFrame, EdgeRule};
use crate::reef::colonies::{Condition, ConditionShares, DeadParts, Mark, Visible, dead_parts, mark_uniform, shape_of};
use crate::reef::{Colony, Visit};
use serde::Serialize;

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
    /// Largest diameter, the one perpendicular to it, and height, by the ruler, m.
    pub longest_m: f32,
    pub across_m: f32,
    pub height_m: f32,
    pub dead: DeadParts,
}

impl ColonyRecord {
    #[inline(always)]
    pub fn is_in(&self, state: usize) -> bool {
        self.states >> state & 1 == 1
    }

    /// The condition of the colony where these shares of colonies are not healthy.
    pub fn condition(&self, shares: &ConditionShares) -> Condition {
        shares.of(self.id)
    }
}

/// Reads belts: scratch memory and the last result; one per thread, reused.
///
/// A shorter or narrower belt is read from the same walk by another frame.
#[derive(Default)]
pub struct BeltReader {
    visible: Visible,
    pub records: Vec<ColonyRecord>,
}

impl BeltReader {
    /// Fills `records` with the colonies that the diver writes down in a belt, out of those listed by a walk of `visit`.
    /// The walk must reach [`EdgeRule::margin_m`] further than the belt at all sides.
    pub fn read(&mut self, belt: &CoralBelt, frame: &BeltFrame, colonies: &[Colony], visit: Visit) {
        self.records.clear();
        let visible = self.visible.states(colonies);
        for (colony, &states) in colonies.iter().zip(visible) {
            if states == 0 || !belt.edge.counts(frame, colony.along, colony.across, colony.radius) {
                continue;
            }
            if let Some(record) = belt.write(frame, colony, states, visit) {
                self.records.push(record);
            }
        }
    }
}

impl CoralBelt {
    /// What is written of a visible colony; `None` where it is missed.
    fn write(&self, frame: &BeltFrame, colony: &Colony, states: u16, visit: Visit) -> Option<ColonyRecord> {
        let shape = shape_of(colony.id, f64::from(colony.radius));
        let longest = self.by_ruler(shape.longest_m);
        let chance = self.detection.chance(longest);
        if chance < 1.0 && (chance == 0.0 || mark_uniform(colony.id, Mark::seen_at(visit)) >= chance) {
            return None;
        }
        Some(ColonyRecord {
            id: colony.id,
            states,
            along: colony.along - frame.from_m,
            across: colony.across,
            longest_m: longest as f32,
            across_m: self.by_ruler(shape.across_m) as f32,
            height_m: self.by_ruler(shape.height_m) as f32,
            dead: dead_parts(colony.id, longest),
        })
    }

    /// The nearest class of the ruler, the first one at least.
    #[inline(always)]
    fn by_ruler(&self, metres: f64) -> f64 {
        ((metres / self.ruler_m + 0.5).floor().max(1.0)) * self.ruler_m
    }
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
