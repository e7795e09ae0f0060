use super::marks::{Mark, mark};
use crate::reef::Colony;

/// Finds the visible colonies among those listed by a walk. Scratch memory and result; one per thread, reused.
///
/// Centres are put into bins along the line; every disc then looks at the centres in the bins that it reaches, which are
/// few for the many small discs. Cost: linear in the number of colonies, and in what each of them reaches.
#[derive(Default)]
pub struct Visible {
    /// First slot of each bin, and one past the last.
    starts: Vec<u32>,
    slots: Vec<Slot>,
    /// For each slot the states in which a living disc of higher rank lies over it.
    hidden: Vec<u16>,
    states: Vec<u16>,
}

/// A colony in the bin of its centre.
#[derive(Clone, Copy, Default)]
struct Slot {
    along: f32,
    across: f32,
    radius: f32,
    index: u32,
    rank: u64,
    alive: u16,
}

/// Colonies per bin, about.
const PER_BIN: usize = 2;

impl Visible {
    /// For each listed colony the states in which it is visible: bit s is set where it lives in state s and no living
    /// colony of higher rank lies over its centre.
    ///
    /// The answer is right for every colony whose centre lies where the walk lists all discs: within `side` of the line
    /// that was walked.
    pub fn states(&mut self, colonies: &[Colony]) -> &[u16] {
        self.states.clear();
        self.states.resize(colonies.len(), 0);
        let Some(bins) = Bins::of(colonies) else { return &self.states };
        self.fill(colonies, &bins);
        self.hidden.clear();
        self.hidden.resize(colonies.len(), 0);
        for above in &self.slots {
            let (first, last) = (bins.of_place(above.along - above.radius), bins.of_place(above.along + above.radius));
            let range = self.starts[first] as usize..self.starts[last + 1] as usize;
            let square = above.radius * above.radius;
            for (below, hidden) in self.slots[range.clone()].iter().zip(&mut self.hidden[range]) {
                let (along, across) = (below.along - above.along, below.across - above.across);
                let covers = (along * along + across * across < square) & (above.rank > below.rank);
                *hidden |= if covers { above.alive } else { 0 };
            }
        }
        for (slot, hidden) in self.slots.iter().zip(&self.hidden) {
            self.states[slot.index as usize] = slot.alive & !hidden;
        }
        &self.states
    }

    /// Sorts the centres into bins, by counting.
    fn fill(&mut self, colonies: &[Colony], bins: &Bins) {
        self.starts.clear();
        self.starts.resize(bins.number + 1, 0);
        for colony in colonies {
            self.starts[bins.of_place(colony.along)] += 1;
        }
        let mut end = 0;
        for start in &mut self.starts {
            end += *start;
            *start = end;
        }
        self.slots.clear();
        self.slots.resize(colonies.len(), Slot::default());
        for (index, colony) in colonies.iter().enumerate() {
            let start = &mut self.starts[bins.of_place(colony.along)];
            *start -= 1;
            self.slots[*start as usize] = Slot {
                along: colony.along,
                across: colony.across,
                radius: colony.radius,
                index: index as u32,
                rank: mark(colony.id, Mark::Rank),
                alive: colony.alive,
            };
        }
    }
}

/// Equal bins along the line.
struct Bins {
    from: f32,
    per_m: f32,
    number: usize,
}

impl Bins {
    /// `None` where there is nothing to put into them.
    fn of(colonies: &[Colony]) -> Option<Self> {
        let places = colonies.iter().map(|colony| colony.along);
        let (from, to) = places.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        let number = colonies.len() / PER_BIN + 1;
        // A hair wider than the colonies, so that there is a width where all lie at one place.
        (from <= to).then(|| Self { from, per_m: number as f32 / (to - from + 1e-3), number })
    }

    /// The bin of a place; the first or last one for places outside.
    #[inline(always)]
    fn of_place(&self, along: f32) -> usize {
        // The conversion takes what is negative to 0.
        (((along - self.from) * self.per_m) as usize).min(self.number - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn colony(id: u64, place: (f32, f32), radius: f32, alive: u16) -> Colony {
        Colony { along: place.0, across: place.1, radius, id, alive }
    }

    /// Two names, the first of lower rank.
    fn low_and_high() -> (u64, u64) {
        if mark(1, Mark::Rank) < mark(2, Mark::Rank) { (1, 2) } else { (2, 1) }
    }

    #[test]
    fn only_a_living_disc_of_higher_rank_over_the_centre_hides_a_colony() {
        let (low, high) = low_and_high();
        let mut visible = Visible::default();
        let below = colony(low, (1.0, 0.0), 0.3, 0b111);
        // Over the centre, alive in states 0 and 2.
        let above = colony(high, (1.1, 0.0), 0.2, 0b101);
        assert_eq!(visible.states(&[below, above]), [0b010, 0b101]);
        // The disc overlaps, but not the centre.
        assert_eq!(visible.states(&[below, colony(high, (1.25, 0.0), 0.2, 0b101)]), [0b111, 0b101]);
        // The one over the centre has the lower rank.
        assert_eq!(visible.states(&[colony(high, (1.0, 0.0), 0.05, 1), colony(low, (1.1, 0.0), 0.2, 1)]), [1, 1]);
        assert!(visible.states(&[]).is_empty());
    }

    #[test]
    fn a_hidden_colony_hides_others() {
        let mut ids = [11u64, 12, 13];
        ids.sort_by_key(|&id| mark(id, Mark::Rank));
        let chain = [
            colony(ids[0], (0.0, 0.0), 0.2, 1),
            colony(ids[1], (0.15, 0.0), 0.2, 1),
            colony(ids[2], (0.3, 0.0), 0.2, 1),
        ];
        assert_eq!(Visible::default().states(&chain), [0, 0, 1]);
    }
}
