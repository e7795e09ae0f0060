use super::marks::{Mark, mark};
use crate::reef::Colony;
use crate::reef::fast::nearest;
use crate::reef::machine::for_this_processor;

/// Finds the visible colonies among those listed by a walk. Scratch memory and result; one per thread, reused.
///
/// Centres are put into bins along the line; every disc then looks at the centres in the bins that it reaches, several at
/// once, which are few for the many small discs. Cost: linear in the number of colonies, and in what each of them reaches.
#[derive(Default)]
pub struct Visible {
    all: Vec<u32>,
    discs: Discs,
    centres: Centres,
    states: Vec<u16>,
}

/// The listed colonies, column by column.
#[derive(Default)]
struct Discs {
    number_of_bins: usize,
    along: Vec<f32>,
    radii: Vec<f32>,
    ids: Vec<u64>,
    ranks: Vec<i32>,
    /// The bin of the centre; the first and the last bin that the disc reaches.
    bins: Vec<i32>,
    from: Vec<i32>,
    to: Vec<i32>,
}

/// Centres sorted into bins along the line.
#[derive(Default)]
struct Centres {
    /// First slot of each bin, and one past the last.
    starts: Vec<u32>,
    /// The slot of each centre, in the order asked.
    slots: Vec<u32>,
    blocks: Vec<Block>,
}

/// The centres in neighbouring slots, which are looked at together.
#[derive(Clone, Copy)]
#[repr(align(32))]
struct Block {
    along: [f32; TOGETHER],
    across: [f32; TOGETHER],
    ranks: [i32; TOGETHER],
    /// The states in which a living disc of higher rank lies over each.
    hidden: [i32; TOGETHER],
}

impl Block {
    /// Nothing reaches these places.
    const NOWHERE: Block = Block {
        along: [f32::INFINITY; TOGETHER],
        across: [0.0; TOGETHER],
        ranks: [0; TOGETHER],
        hidden: [0; TOGETHER],
    };

    /// Marks what lies under a disc of this centre, squared radius and rank.
    #[inline(always)]
    fn hide(&mut self, along: f32, across: f32, square: f32, rank: i32, alive: i32) {
        for i in 0..TOGETHER {
            let (x, y) = (self.along[i] - along, self.across[i] - across);
            let covers = (x * x + y * y < square) & (rank > self.ranks[i]);
            self.hidden[i] |= if covers { alive } else { 0 };
        }
    }
}

/// Centres per bin, about.
const PER_BIN: usize = 2;

/// Slots of a block.
const TOGETHER: usize = 8;

impl Visible {
    /// For each listed colony the states in which it is visible: bit s is set where it lives in state s and no living
    /// colony of higher rank lies over its centre.
    ///
    /// The answer is right for every colony whose centre lies where the walk lists all discs: within `side` of the line
    /// that was walked.
    pub fn states(&mut self, colonies: &[Colony]) -> &[u16] {
        let mut all = std::mem::take(&mut self.all);
        all.clear();
        all.extend(0..colonies.len() as u32);
        self.states_of(&all, colonies);
        self.all = all;
        &self.states
    }

    /// The same for some of the listed colonies, by their places in the list.
    pub fn states_of(&mut self, asked: &[u32], colonies: &[Colony]) -> &[u16] {
        self.states.clear();
        if asked.is_empty() {
            return &self.states;
        }
        self.discs.read(colonies, asked.len());
        self.centres.fill(asked, colonies, &self.discs);
        let Centres { starts, blocks, slots } = &mut self.centres;
        hide(blocks, starts, &self.discs, colonies);
        let hidden = slots.iter().map(|&slot| blocks[slot as usize / TOGETHER].hidden[slot as usize % TOGETHER]);
        self.states
            .extend(asked.iter().zip(hidden).map(|(&at, hidden)| colonies[at as usize].alive & !(hidden as u16)));
        &self.states
    }
}

impl Discs {
    /// Takes over the colonies and finds their bins, about as many as are right for `asked` centres.
    fn read(&mut self, colonies: &[Colony], asked: usize) {
        let number = colonies.len();
        self.along.resize(number, 0.0);
        self.radii.resize(number, 0.0);
        self.ids.resize(number, 0);
        let columns = self.along.iter_mut().zip(&mut self.radii).zip(&mut self.ids);
        for (((along, radius), id), colony) in columns.zip(colonies) {
            (*along, *radius, *id) = (colony.along, colony.radius, colony.id);
        }
        self.ranks.resize(number, 0);
        self.bins.resize(number, 0);
        self.from.resize(number, 0);
        self.to.resize(number, 0);
        let bins = Bins::of(&self.along, asked / PER_BIN + 1);
        self.number_of_bins = bins.last as usize + 1;
        rank(&mut self.ranks, &self.ids);
        put_into_bins(&mut self.bins, &mut self.from, &mut self.to, &self.along, &self.radii, &bins);
    }
}

for_this_processor! {
    fn rank(ranks: &mut [i32], ids: &[u64]) {
        for (rank, &id) in ranks.iter_mut().zip(ids) {
            // Of two colonies the one with the higher rank lies above; of two that tie (one pair in 2^31) neither hides the
            // other.
            *rank = (mark(id, Mark::Rank) >> 33) as i32;
        }
    }
}

for_this_processor! {
    fn put_into_bins(bins: &mut [i32], from: &mut [i32], to: &mut [i32], along: &[f32], radii: &[f32], of: &Bins) {
        let columns = bins.iter_mut().zip(from).zip(to);
        for (((bin, from), to), (&along, &radius)) in columns.zip(along.iter().zip(radii)) {
            *bin = of.of_place(along);
            *from = of.of_place(along - radius);
            *to = of.of_place(along + radius);
        }
    }
}

impl Centres {
    /// Sorts the centres of the colonies asked for into bins, by counting.
    fn fill(&mut self, asked: &[u32], colonies: &[Colony], discs: &Discs) {
        self.starts.clear();
        self.starts.resize(discs.number_of_bins + 1, 0);
        for &at in asked {
            self.starts[discs.bins[at as usize] as usize] += 1;
        }
        let mut end = 0;
        for start in &mut self.starts {
            end += *start;
            *start = end;
        }
        self.blocks.clear();
        // Two more, so that two may be looked at from every slot on.
        self.blocks.resize(asked.len() / TOGETHER + 2, Block::NOWHERE);
        self.slots.resize(asked.len(), 0);
        for (&at, slot) in asked.iter().zip(&mut self.slots) {
            let at = at as usize;
            let start = &mut self.starts[discs.bins[at] as usize];
            *start -= 1;
            *slot = *start;
            let (block, lane) = (&mut self.blocks[*start as usize / TOGETHER], *start as usize % TOGETHER);
            block.along[lane] = colonies[at].along;
            block.across[lane] = colonies[at].across;
            block.ranks[lane] = discs.ranks[at];
        }
    }
}

for_this_processor! {
    /// Marks under every disc the centres of lower rank.
    fn hide(blocks: &mut [Block], starts: &[u32], discs: &Discs, colonies: &[Colony]) {
        let reached = discs.from.iter().zip(&discs.to).zip(&discs.ranks);
        for (above, ((&from, &to), &rank)) in colonies.iter().zip(reached) {
            let (first, end) = (starts[from as usize] as usize, starts[to as usize + 1] as usize);
            let (square, alive) = (above.radius * above.radius, i32::from(above.alive));
            let first = first / TOGETHER;
            // Most discs reach one block or two, hard to foresee which: two are looked at always.
            let [one, two] = &mut blocks[first..first + 2] else { continue };
            one.hide(above.along, above.across, square, rank, alive);
            two.hide(above.along, above.across, square, rank, alive);
            if end > (first + 2) * TOGETHER {
                for block in &mut blocks[first + 2..end.div_ceil(TOGETHER)] {
                    block.hide(above.along, above.across, square, rank, alive);
                }
            }
        }
    }
}

/// Equal bins along the line.
struct Bins {
    from: f32,
    per_m: f32,
    last: f32,
}

impl Bins {
    fn of(places: &[f32], number: usize) -> Self {
        let (mut low, mut high) = ([f32::INFINITY; TOGETHER], [f32::NEG_INFINITY; TOGETHER]);
        // In lanes: one after the other each would wait for the last.
        let (lanes, rest) = places.as_chunks::<TOGETHER>();
        for place in lanes {
            for i in 0..TOGETHER {
                low[i] = if place[i] < low[i] { place[i] } else { low[i] };
                high[i] = if place[i] > high[i] { place[i] } else { high[i] };
            }
        }
        let from = low.iter().chain(rest).copied().fold(f32::INFINITY, f32::min);
        let to = high.iter().chain(rest).copied().fold(f32::NEG_INFINITY, f32::max);
        let last = number as f32 - 1.0;
        // A hair wider than the colonies, so that there is a width where all lie at one place.
        Self { from, per_m: last / (to - from + 1e-3), last }
    }

    /// The bin of a place; the first or last one for places outside.
    #[inline(always)]
    fn of_place(&self, along: f32) -> i32 {
        let place = (along - self.from) * self.per_m;
        let place = if place > 0.0 { place } else { 0.0 };
        nearest(if place < self.last { place } else { self.last }).0
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
