//! Sets of unit vectors in which with a vector every smaller one lies: what fits into so many dives.

/// Numbers of units of each task, in the order of the tasks.
pub type Units = Vec<u8>;

/// The largest number of units of each task that is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caps {
    caps: Units,
    /// Cells from one number to the next along each axis but the last.
    strides: Vec<usize>,
    rows: usize,
}

impl Caps {
    pub fn new(caps: Units) -> Self {
        let axes = caps.len().saturating_sub(1);
        let mut strides = vec![1; axes];
        for axis in (0..axes.saturating_sub(1)).rev() {
            strides[axis] = strides[axis + 1] * (usize::from(caps[axis + 1]) + 1);
        }
        let rows = caps[..axes].iter().map(|&cap| usize::from(cap) + 1).product();
        Self { caps, strides, rows }
    }

    pub fn tasks(&self) -> usize {
        self.caps.len()
    }

    pub fn of(&self, task: usize) -> u8 {
        self.caps[task]
    }

    /// Number of vectors within the caps.
    pub fn cells(&self) -> usize {
        self.rows * (usize::from(*self.caps.last().unwrap_or(&0)) + 1)
    }

    fn row(&self, units: &[u8]) -> usize {
        units.iter().zip(&self.strides).map(|(&n, stride)| usize::from(n) * stride).sum()
    }

    /// All vectors within the caps, the last task fastest.
    pub fn all(&self) -> impl Iterator<Item = Units> + '_ {
        let mut next = Some(vec![0; self.caps.len()]);
        std::iter::from_fn(move || {
            let current = next.take()?;
            let mut following = current.clone();
            if advance(&mut following, &self.caps) {
                next = Some(following);
            }
            Some(current)
        })
    }
}

/// The next vector of the dictionary, the last place fastest; false, and back at nothing, after the last.
fn advance(place: &mut [u8], caps: &[u8]) -> bool {
    for (n, &cap) in place.iter_mut().zip(caps).rev() {
        if *n < cap {
            *n += 1;
            return true;
        }
        *n = 0;
    }
    false
}

/// A set of vectors within some caps that has with each vector all smaller ones. Kept as the length of each line of cells
/// along the last axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DownSet {
    /// 0: nothing of the line is in the set; h: numbers of the last task below h are.
    heights: Vec<u8>,
}

impl DownSet {
    pub fn empty(caps: &Caps) -> Self {
        Self { heights: vec![0; caps.rows] }
    }

    /// The vector of no units alone.
    pub fn nothing(caps: &Caps) -> Self {
        let mut set = Self::empty(caps);
        set.heights[0] = 1;
        set
    }

    /// Everything at or below one of some vectors.
    pub fn below(caps: &Caps, tops: &[Units]) -> Self {
        Self::nothing(caps).plus(caps, tops)
    }

    /// The vectors that are in, with each of which every smaller one is.
    pub fn of(caps: &Caps, is_in: impl Fn(&[u8]) -> bool) -> Self {
        let mut set = Self::empty(caps);
        let mut units = vec![0u8; caps.caps.len()];
        let axes = caps.strides.len();
        for row in 0..caps.rows {
            units[axes] = 0;
            while units[axes] <= caps.caps[axes] && is_in(&units) {
                set.heights[row] += 1;
                units[axes] += 1;
            }
            advance(&mut units[..axes], &caps.caps);
        }
        set
    }

    pub fn has(&self, caps: &Caps, units: &[u8]) -> bool {
        let last = units.last().copied().unwrap_or(0);
        units.iter().zip(&caps.caps).all(|(n, cap)| n <= cap) && last < self.heights[caps.row(units)]
    }

    /// Sums of a vector of the set and one at or below one of `tops`, cut at the caps. Cost: rows x tops.
    pub fn plus(&self, caps: &Caps, tops: &[Units]) -> Self {
        let mut sum = Self::empty(caps);
        for top in tops {
            self.add(caps, (top, 0), (0, 0), &mut sum.heights);
        }
        sum
    }

    /// The same for one of them, from an axis on: the rows from `from` on give those from `into` on.
    fn add(&self, caps: &Caps, (top, axis): (&[u8], usize), (from, into): (usize, usize), heights: &mut [u8]) {
        let axes = caps.strides.len();
        let most = caps.caps.last().map_or(1, |cap| cap + 1);
        let taller = |height: &mut u8, before: u8| {
            let with = if before > 0 { before.saturating_add(top[axes]).min(most) } else { 0 };
            *height = with.max(*height);
        };
        if axis == axes {
            taller(&mut heights[into], self.heights[from]);
            return;
        }
        let (cap, stride, taken) = (usize::from(caps.caps[axis]), caps.strides[axis], usize::from(top[axis]));
        if axis + 1 < axes {
            for n in 0..=cap {
                let (from, into) = (from + n.saturating_sub(taken) * stride, into + n * stride);
                // With nothing of the first row there is nothing of those after it.
                if self.heights[from] == 0 {
                    break;
                }
                self.add(caps, (top, axis + 1), (from, into), heights);
            }
            return;
        }
        // Rows of the last axis but one lie side by side.
        let (early, late) = heights[into..=into + cap].split_at_mut(taken.min(cap));
        early.iter_mut().for_each(|height| taller(height, self.heights[from]));
        late.iter_mut().zip(&self.heights[from..]).for_each(|(height, &before)| taller(height, before));
    }

    /// What is in both.
    pub fn meet(&mut self, other: &Self) {
        self.heights.iter_mut().zip(&other.heights).for_each(|(own, other)| *own = (*own).min(*other));
    }

    pub fn join(&mut self, other: &Self) {
        self.heights.iter_mut().zip(&other.heights).for_each(|(own, other)| *own = (*own).max(*other));
    }

    /// Keeps the vectors that some number of the last task makes enough: those whose `needs` (of the units of all other
    /// tasks, rising with them) the largest number of the last task beside them reaches. A smaller number of the last task
    /// then stands for "or more".
    pub fn keep_where_last_reaches(&mut self, caps: &Caps, needs: impl Fn(&[u8]) -> u8) {
        let mut place = vec![0u8; caps.strides.len()];
        for height in &mut self.heights {
            if *height <= needs(&place) {
                *height = 0;
            }
            advance(&mut place, &caps.caps);
        }
    }

    /// The same without the last task; `others`: the caps without it, of one task at least.
    pub fn without_last(&self, others: &Caps) -> Self {
        let line = usize::from(others.caps.last().copied().unwrap_or(0)) + 1;
        let length = |line: &[u8]| line.iter().take_while(|&&height| height > 0).count() as u8;
        Self { heights: self.heights.chunks(line).map(length).collect() }
    }

    /// The vectors of the set to which nothing can be added within it (at a cap nothing can be).
    pub fn tops(&self, caps: &Caps) -> Vec<Units> {
        let axes = caps.strides.len();
        let mut tops = Vec::new();
        let mut place = vec![0u8; axes];
        for row in 0..caps.rows {
            let height = self.heights[row];
            if height > 0 {
                let covered = (0..axes)
                    .any(|axis| place[axis] < caps.caps[axis] && self.heights[row + caps.strides[axis]] >= height);
                if !covered {
                    let mut top = place.clone();
                    top.push(height - 1);
                    tops.push(top);
                }
            }
            advance(&mut place, &caps.caps);
        }
        tops
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tops_and_sums_of_small_sets() {
        let caps = Caps::new(vec![4, 3, 5]);
        let one = DownSet::below(&caps, &[vec![2, 0, 1], vec![0, 1, 3]]);
        let mut tops = one.tops(&caps);
        tops.sort();
        assert_eq!(tops, [vec![0, 1, 3], vec![2, 0, 1]]);
        assert!(one.has(&caps, &[1, 0, 1]) && !one.has(&caps, &[1, 1, 0]) && !one.has(&caps, &[5, 0, 0]));
        let sum = one.plus(&caps, &tops);
        for n in caps.all() {
            let fits = tops.iter().any(|a| tops.iter().any(|b| n.iter().zip(a).zip(b).all(|((n, a), b)| *n <= a + b)));
            assert_eq!(sum.has(&caps, &n), fits, "{n:?}");
        }
        assert_eq!(caps.all().count(), caps.cells());
    }
}
