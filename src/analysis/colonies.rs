//! What a belt says of its colonies, from what was written of them.

use crate::reef::colonies::Condition;
use crate::survey::coral_belt::{BeltFrame, Measurements, Written};
use serde::Serialize;
use std::f64::consts::PI;

/// A number that a belt of measured colonies gives.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ColonyIndicator {
    /// Colonies per m2.
    Density,
    /// Mean, median of the largest diameters, m; mean of their natural logarithms (of metres).
    MeanDiameter,
    MedianDiameter,
    MeanLnDiameter,
    /// Share of colonies whose largest diameter is at least `from_m` and below `to_m`.
    ClassShare {
        from_m: f64,
        to_m: f64,
    },
    /// Share of colonies with dead parts, recent or old.
    ShareWithDeadParts,
    /// Share of colonies with parts that died in the last weeks.
    ShareWithRecent,
    /// Share of colonies that look so at the visit.
    ShareInCondition(Condition),
    /// Mean living share of a colony.
    LiveShare,
    /// Area of all ellipses over the area of the belt: cover, dead parts of colonies included.
    EllipseCover,
    /// Mean of diameter over `growth_m` (growth across in m a year), in years. An index, not an age: colonies grow more
    /// slowly when small or crowded, shrink, break and fuse. Common practice, no source: slow massive corals grow 1-2 cm
    /// a year across.
    AgeIndex {
        growth_m: f64,
    },
    /// The whole distribution of the largest diameters: no number, but it can be tested
    /// ([`super::permutation::size_distance`]).
    SizeStructure,
}

impl ColonyIndicator {
    /// Whether it tells of dead parts of colonies.
    pub fn is_of_dead_parts(self) -> bool {
        matches!(
            self,
            ColonyIndicator::ShareWithDeadParts | ColonyIndicator::ShareWithRecent | ColonyIndicator::LiveShare
        )
    }

    /// Whether it tells how colonies look at the visit: nothing of it is left at another.
    pub fn is_of_condition(self) -> bool {
        matches!(self, ColonyIndicator::ShareInCondition(_))
    }

    /// Whether it is a sum over the colonies of a belt.
    pub fn is_sum_over_colonies(self) -> bool {
        matches!(self, ColonyIndicator::Density | ColonyIndicator::EllipseCover)
    }

    /// Whether it tells what colonies are like: no sum over them, and no condition.
    pub fn is_of_kinds_of_colonies(self) -> bool {
        !self.is_sum_over_colonies() && !self.is_of_condition()
    }

    /// Whether it is a mean of logarithms, which has no percent.
    pub fn is_of_logarithms(self) -> bool {
        self == ColonyIndicator::MeanLnDiameter
    }

    /// The indicator of a belt in one state; NaN where the belt has no colony to tell it from.
    pub fn of(self, written: &Written, frame: &BeltFrame, state: usize) -> f64 {
        let longest = |at: usize| value(&written.longest_m, at);
        let dead = |at: usize| written.dead.get(at);
        let mean = |of: &dyn Fn(usize) -> f64| {
            let (sum, count) = written.in_state(state).fold((0.0, 0u32), |(sum, count), at| (sum + of(at), count + 1));
            if count == 0 { f64::NAN } else { sum / f64::from(count) }
        };
        match self {
            ColonyIndicator::Density => written.number(state) as f64 / frame.area_m2(),
            ColonyIndicator::MeanDiameter => mean(&longest),
            ColonyIndicator::MedianDiameter => median(written.in_state(state).map(longest).collect()),
            ColonyIndicator::MeanLnDiameter => mean(&|at| libm::log(longest(at))),
            ColonyIndicator::ClassShare { from_m, to_m } => mean(&|at| match longest(at) {
                unknown if unknown.is_nan() => unknown,
                longest => share_of(in_class(longest, from_m, to_m)),
            }),
            ColonyIndicator::ShareWithDeadParts => {
                mean(&|at| dead(at).map_or(f64::NAN, |of| share_of(of.total() > 0.0)))
            }
            ColonyIndicator::ShareWithRecent => mean(&|at| dead(at).map_or(f64::NAN, |of| share_of(of.recent > 0.0))),
            ColonyIndicator::ShareInCondition(condition) => {
                mean(&|at| written.condition.get(at).map_or(f64::NAN, |found| share_of(*found == condition)))
            }
            ColonyIndicator::LiveShare => mean(&|at| dead(at).map_or(f64::NAN, |of| 1.0 - f64::from(of.total()))),
            ColonyIndicator::EllipseCover => {
                let area = |at: usize| 0.25 * PI * value(&written.laid_m, at) * value(&written.across_m, at);
                written.in_state(state).map(area).sum::<f64>() / frame.area_m2()
            }
            ColonyIndicator::AgeIndex { growth_m } => mean(&longest) / growth_m,
            ColonyIndicator::SizeStructure => f64::NAN,
        }
    }

    /// What must be measured of the colonies of a belt to tell it.
    pub fn needs(self) -> Measurements {
        let longest = Measurements { longest: true, ..Measurements::NONE };
        match self {
            // Whoever counts a colony sees how it looks.
            ColonyIndicator::Density | ColonyIndicator::ShareInCondition(_) => Measurements::NONE,
            ColonyIndicator::MeanDiameter
            | ColonyIndicator::MedianDiameter
            | ColonyIndicator::MeanLnDiameter
            | ColonyIndicator::ClassShare { .. }
            | ColonyIndicator::AgeIndex { .. }
            | ColonyIndicator::SizeStructure => longest,
            ColonyIndicator::ShareWithDeadParts | ColonyIndicator::ShareWithRecent | ColonyIndicator::LiveShare => {
                Measurements { dead: true, ..Measurements::NONE }
            }
            ColonyIndicator::EllipseCover => Measurements { across: true, ..longest },
        }
    }

    /// Whether a belt without colonies has a value.
    pub fn is_known_without_colonies(self) -> bool {
        matches!(self, ColonyIndicator::Density | ColonyIndicator::EllipseCover)
    }
}

/// Whether a measured diameter lies in a class. Diameters are whole classes of a ruler, kept in single precision: a limit
/// that is one of them must not be missed by its rounding.
pub fn in_class(longest_m: f64, from_m: f64, to_m: f64) -> bool {
    const SLACK: f64 = 1e-6;
    from_m * (1.0 - SLACK) <= longest_m && longest_m < to_m * (1.0 - SLACK)
}

/// A number of a column; NaN where nobody measured it.
fn value(column: &[f32], at: usize) -> f64 {
    column.get(at).map_or(f64::NAN, |&value| f64::from(value))
}

fn share_of(yes: bool) -> f64 {
    f64::from(u8::from(yes))
}

/// The middle value, or the mean of the two in the middle; NaN of nothing.
fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    let (_, &mut upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if values.len() % 2 == 1 {
        return upper;
    }
    let lower = values[..middle].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    0.5 * (lower + upper)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::colonies::DeadParts;

    const FRAME: BeltFrame = BeltFrame { from_m: 0.0, length_m: 10.0, width_m: 1.0 };

    /// Of colonies with two diameters, recent and old dead parts, and the states in which they are written.
    fn written<const N: usize>(colonies: [(f32, f32, (f32, f32), u16); N]) -> Written {
        let look = |longest_m: f32| if longest_m < 0.15 { Condition::Pale } else { Condition::Bleached };
        Written {
            ids: (0..N as u64).collect(),
            states: colonies.map(|of| of.3).to_vec(),
            longest_m: colonies.map(|of| of.0).to_vec(),
            laid_m: colonies.map(|of| of.0).to_vec(),
            across_m: colonies.map(|of| of.1).to_vec(),
            height_m: vec![],
            dead: colonies.map(|of| DeadParts { recent: of.2.0, old: of.2.1 }).to_vec(),
            condition: colonies.map(|of| look(of.0)).to_vec(),
        }
    }

    #[test]
    fn a_belt_of_four_colonies() {
        let written = written([
            (0.10, 0.10, (0.0, 0.0), 0b11),
            (0.20, 0.15, (0.1, 0.2), 0b01),
            (0.40, 0.30, (0.0, 0.5), 0b01),
            (0.05, 0.04, (0.0, 0.0), 0b01),
        ]);
        let of = |indicator: ColonyIndicator, state| indicator.of(&written, &FRAME, state);
        let class = ColonyIndicator::ClassShare { from_m: 0.1, to_m: 0.4 };
        let expected = [
            (ColonyIndicator::Density, 0.4, 0.1),
            (ColonyIndicator::MeanDiameter, 0.1875, 0.1),
            (ColonyIndicator::MedianDiameter, 0.15, 0.1),
            (ColonyIndicator::MeanLnDiameter, (0.1f64 * 0.2 * 0.4 * 0.05).ln() / 4.0, 0.1f64.ln()),
            (class, 0.5, 1.0),
            (ColonyIndicator::ShareWithDeadParts, 0.5, 0.0),
            (ColonyIndicator::ShareWithRecent, 0.25, 0.0),
            (ColonyIndicator::ShareInCondition(Condition::Pale), 0.5, 1.0),
            (ColonyIndicator::ShareInCondition(Condition::Diseased), 0.0, 0.0),
            (ColonyIndicator::LiveShare, 0.8, 1.0),
            (ColonyIndicator::EllipseCover, 0.25 * PI * (0.01 + 0.03 + 0.12 + 0.002) / 10.0, 0.25 * PI * 0.001),
            (ColonyIndicator::AgeIndex { growth_m: 0.015 }, 12.5, 0.1 / 0.015),
        ];
        for (indicator, first, second) in expected {
            assert!((of(indicator, 0) - first).abs() < 1e-6, "{indicator:?}: {}", of(indicator, 0));
            assert!((of(indicator, 1) - second).abs() < 1e-6, "{indicator:?}: {}", of(indicator, 1));
            // In state 2 nothing is there.
            assert_eq!(of(indicator, 2).is_nan(), !indicator.is_known_without_colonies());
            // Of colonies that are counted and not measured nothing is told but how many they are.
            let counted = Written { ids: written.ids.clone(), states: written.states.clone(), ..Written::default() };
            let told = indicator.of(&counted, &FRAME, 0);
            assert_eq!(told.is_nan(), indicator != ColonyIndicator::Density, "{indicator:?}: {told}");
        }
    }

    #[test]
    fn the_median_is_the_middle() {
        assert_eq!(median(vec![3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(vec![4.0, 1.0, 2.0, 9.0]), 3.0);
        assert_eq!(median(vec![5.0]), 5.0);
        assert!(median(vec![]).is_nan());
    }
}
