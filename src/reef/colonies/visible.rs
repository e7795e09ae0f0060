use super::marks::{Mark, mark};
use crate::reef::Colonies;
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

/// What is told of the listed colonies besides their columns.
#[derive(Default)]
struct Discs {
    number_of_bins: usize,
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
    pub fn states(&mut self, colonies: &Colonies) -> &[u16] {
        let mut all = std::mem::take(&mut self.all);
        all.clear();
        all.extend(0..colonies.len() as u32);
        self.states_of(&all, colonies);
        self.all = all;
        &self.states
    }

    /// The same for some of the listed colonies, by their places in the list.
    pub fn states_of(&mut self, asked: &[u32], colonies: &Colonies) -> &[u16] {
        self.states.clear();
        if asked.is_empty() {
            return &self.states;
        }
        self.discs.read(colonies, asked.len());
        sort(&mut self.centres, asked, colonies, &self.discs);
        hide(&mut self.centres, &self.discs, colonies);
        see(&mut self.states, asked, colonies, &self.centres);
        &self.states
    }
}

impl Discs {
    /// Finds the ranks and bins of the colonies, about as many bins as are right for `asked` centres.
    fn read(&mut self, colonies: &Colonies, asked: usize) {
        let number = colonies.len();
        self.ranks.resize(number, 0);
        self.bins.resize(number, 0);
        self.from.resize(number, 0);
        self.to.resize(number, 0);
        let bins = Bins::of(&colonies.along, asked / PER_BIN + 1);
        self.number_of_bins = bins.last as usize + 1;
        rank(&mut self.ranks, &colonies.ids);
        put_into_bins(&mut self.bins, &mut self.from, &mut self.to, &colonies.along, &colonies.radii, &bins);
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

for_this_processor! {
    /// Sorts the centres of the colonies asked for into bins, by counting.
    fn sort(centres: &mut Centres, asked: &[u32], colonies: &Colonies, discs: &Discs) {
        let Centres { starts, slots, blocks } = centres;
        starts.clear();
        starts.resize(discs.number_of_bins + 1, 0);
        let (starts, bins) = (&mut starts[..], &discs.bins[..]);
        for &at in asked {
            starts[bins[at as usize] as usize] += 1;
        }
        let mut end = 0;
        for start in starts.iter_mut() {
            end += *start;
            *start = end;
        }
        blocks.clear();
        // Two more, so that two may be looked at from every slot on.
        blocks.resize(asked.len() / TOGETHER + 2, Block::NOWHERE);
        slots.resize(asked.len(), 0);
        let (blocks, number) = (&mut blocks[..], bins.len());
        let (along, across, ranks) = (&colonies.along[..number], &colonies.across[..number], &discs.ranks[..number]);
        for (&at, slot) in asked.iter().zip(slots) {
            let at = at as usize;
            let start = &mut starts[bins[at] as usize];
            *start -= 1;
            *slot = *start;
            let (block, lane) = (&mut blocks[*start as usize / TOGETHER], *start as usize % TOGETHER);
            block.along[lane] = along[at];
            block.across[lane] = across[at];
            block.ranks[lane] = ranks[at];
        }
    }
}

for_this_processor! {
    /// Marks under every disc the centres of lower rank.
    fn hide(centres: &mut Centres, discs: &Discs, colonies: &Colonies) {
        let (blocks, starts) = (&mut centres.blocks[..], &centres.starts[..]);
        let reached = discs.from.iter().zip(&discs.to).zip(&discs.ranks);
        let places = colonies.along.iter().zip(&colonies.across);
        let above = places.zip(colonies.radii.iter().zip(&colonies.alive));
        for (((&along, &across), (&radius, &alive)), ((&from, &to), &rank)) in above.zip(reached) {
            let (first, end) = (starts[from as usize] as usize, starts[to as usize + 1] as usize);
            let (square, alive) = (radius * radius, i32::from(alive));
            let first = first / TOGETHER;
            // Most discs reach one block or two, hard to foresee which: two are looked at always.
            let [one, two] = &mut blocks[first..first + 2] else { continue };
            one.hide(along, across, square, rank, alive);
            two.hide(along, across, square, rank, alive);
            if end > (first + 2) * TOGETHER {
                for block in &mut blocks[first + 2..end.div_ceil(TOGETHER)] {
                    block.hide(along, across, square, rank, alive);
                }
            }
        }
    }
}

for_this_processor! {
    /// In which states the colonies asked for live and are not hidden.
    fn see(states: &mut Vec<u16>, asked: &[u32], colonies: &Colonies, centres: &Centres) {
        let (blocks, alive) = (&centres.blocks[..], &colonies.alive[..]);
        let hidden = |slot: u32| blocks[slot as usize / TOGETHER].hidden[slot as usize % TOGETHER] as u16;
        states.extend(asked.iter().zip(&centres.slots).map(|(&at, &slot)| alive[at as usize] & !hidden(slot)));
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
    use crate::reef::Colony;

    fn colony(id: u64, place: (f32, f32), radius: f32, alive: u16) -> Colony {
        Colony { along: place.0, across: place.1, radius, id, alive }
    }

    /// Two names, the first of lower rank.
    fn low_and_high() -> (u64, u64) {
        if mark(1, Mark::Rank) < mark(2, Mark::Rank) { (1, 2) } else { (2, 1) }
    }

    fn states<const N: usize>(colonies: [Colony; N]) -> Vec<u16> {
        Visible::default().states(&colonies.into_iter().collect()).to_vec()
    }

    #[test]
    fn only_a_living_disc_of_higher_rank_over_the_centre_hides_a_colony() {
        let (low, high) = low_and_high();
        let below = colony(low, (1.0, 0.0), 0.3, 0b111);
        // Over the centre, alive in states 0 and 2.
        let above = colony(high, (1.1, 0.0), 0.2, 0b101);
        assert_eq!(states([below, above]), [0b010, 0b101]);
        // The disc overlaps, but not the centre.
        assert_eq!(states([below, colony(high, (1.25, 0.0), 0.2, 0b101)]), [0b111, 0b101]);
        // The one over the centre has the lower rank.
        assert_eq!(states([colony(high, (1.0, 0.0), 0.05, 1), colony(low, (1.1, 0.0), 0.2, 1)]), [1, 1]);
        assert!(states([]).is_empty());
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
        assert_eq!(states(chain), [0, 0, 1]);
    }
}
