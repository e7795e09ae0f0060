//! Comparisons of two visits or groups by exchanging sites.

use super::arrangements::{Arrangements, Exchange};
use super::sums::MaskedSums;
use crate::analysis::Degenerate;
use crate::analysis::critical::Tail;
use crate::analysis::sizes::{SizeCounts, Weighting};

/// A statistic, and how many arrangements have one that is as far out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PermutationTest {
    /// As observed: second less first; of distributions, the distance.
    pub statistic: f64,
    /// Arrangements as far out as the one observed, itself included.
    pub as_extreme: u64,
    /// All arrangements, or those drawn and the one observed.
    pub arrangements: u64,
    pub exact: bool,
}

impl PermutationTest {
    /// The share of arrangements as far out; of m drawn ones `(b + 1) / (m + 1)`, which keeps the false alarms below alpha
    /// (Phipson & Smyth 2010, Statistical Applications in Genetics and Molecular Biology 9:39; from memory).
    pub fn p_value(&self) -> f64 {
        self.as_extreme as f64 / self.arrangements as f64
    }

    pub fn rejects(&self, alpha: f64) -> bool {
        self.p_value() <= alpha * (1.0 + 1e-12)
    }
}

/// A sum and the weight it was collected with: a count and its area, the logarithms of sizes and the number of colonies, a
/// site's mean and 1. A site that has nothing to say has weight nil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    pub sum: f64,
    pub weight: f64,
}

/// The difference of means: second less first, over sites.
///
/// For visits, both lists are in the order of the sites. Two-sided, the absolute difference counts.
pub fn difference_of_means(
    arrangements: &Arrangements,
    tail: Tail,
    first: &[f64],
    second: &[f64],
) -> Result<PermutationTest, Degenerate> {
    check_lengths(arrangements, first.len(), second.len())?;
    let values = || first.iter().chain(second);
    if !values().all(|value| value.is_finite()) {
        return Err(Degenerate::BadValue);
    }
    // Without the common part of the values sums keep their digits, and what is alike is seen to be alike.
    let common = first[0];
    let rows: Vec<f64> = match arrangements.exchange() {
        Exchange::Visits { .. } => first.iter().zip(second).map(|(before, after)| after - before).collect(),
        Exchange::Groups { .. } => values().map(|value| value - common).collect(),
    };
    let scale: f64 = rows.iter().map(|row| row.abs()).sum();
    if scale == 0.0 {
        return Err(Degenerate::NothingVaries);
    }
    // Values come rounded themselves, by a share of their own size.
    let largest = values().fold(0.0, |largest: f64, value| largest.max(value.abs()));
    let sums = MaskedSums::new(1, &rows);
    let total: f64 = rows.iter().sum();
    let (n1, n2) = (first.len() as f64, second.len() as f64);
    let exchanged_visits = matches!(arrangements.exchange(), Exchange::Visits { .. });
    Ok(count(arrangements, tail, largest + scale / n1.min(n2), |mask| {
        let chosen = sums.single(mask);
        if exchanged_visits { (total - 2.0 * chosen) / n1 } else { (total - chosen) / n2 - chosen / n1 }
    }))
}

/// The difference of ratios of sums: second less first. With equal weights the difference of means.
///
/// An arrangement that leaves one side without weight has no ratio there and counts as far out.
pub fn difference_of_ratios(
    arrangements: &Arrangements,
    tail: Tail,
    first: &[Weighed],
    second: &[Weighed],
) -> Result<PermutationTest, Degenerate> {
    check_lengths(arrangements, first.len(), second.len())?;
    let sound = |site: &Weighed| site.sum.is_finite() && 0.0 <= site.weight && site.weight < f64::INFINITY;
    if !first.iter().chain(second).all(sound) {
        return Err(Degenerate::BadValue);
    }
    let rows = |sites: &[Weighed]| sites.iter().flat_map(|site| [site.sum, site.weight]).collect();
    let sides = Sides::new(arrangements, 2, rows(first), rows(second))?;
    let ratio = |side: &[f64]| side[0] / side[1];
    let weights = || first.iter().chain(second).filter(|site| site.weight > 0.0);
    let (low, high) = weights()
        .map(|site| site.sum / site.weight)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), ratio| (low.min(ratio), high.max(ratio)));
    if low == high {
        return Err(Degenerate::NothingVaries);
    }
    let far_out = if tail == Tail::Lower { f64::NEG_INFINITY } else { f64::INFINITY };
    Ok(count(arrangements, tail, low.abs().max(high.abs()), |mask| {
        sides.compare(mask, far_out, |one, other| ratio(other) - ratio(one))
    }))
}

/// The largest distance between two distribution functions of size, whole sites being exchanged.
///
/// Two-sided: either way. `Tail::Upper` takes the distance by which sizes are larger at the second, `Tail::Lower` that by which
/// they are smaller. For `Weighting::Sites` a site without colonies (for visits: at either of them) is left out.
pub fn size_distance(
    arrangements: &Arrangements,
    tail: Tail,
    weighting: Weighting,
    first: &[SizeCounts],
    second: &[SizeCounts],
) -> Result<PermutationTest, Degenerate> {
    check_lengths(arrangements, first.len(), second.len())?;
    let width = first[0].classes();
    if first.iter().chain(second).any(|site| site.classes() != width) {
        return Err(Degenerate::BadValue);
    }
    let mut rows =
        [first, second].map(|sites| -> Vec<f64> { sites.iter().flat_map(|site| site.cumulative(weighting)).collect() });
    if weighting == Weighting::Sites && matches!(arrangements.exchange(), Exchange::Visits { .. }) {
        leave_out_incomplete(&mut rows, width);
    }
    let [first_rows, second_rows] = rows;
    let sides = Sides::new(arrangements, width, first_rows, second_rows)?;
    if sides.one_class_holds_all() {
        return Err(Degenerate::NothingVaries);
    }
    let test = count(arrangements, Tail::Upper, 1.0, |mask| {
        sides.compare(mask, f64::INFINITY, |one, other| distance(one, other, tail))
    });
    Ok(test)
}

/// Sites that lack a distribution at one visit say nothing at the other.
fn leave_out_incomplete(rows: &mut [Vec<f64>; 2], width: usize) {
    let [first, second] = rows;
    for (one, other) in first.chunks_mut(width).zip(second.chunks_mut(width)) {
        if one[width - 1] == 0.0 || other[width - 1] == 0.0 {
            one.fill(0.0);
            other.fill(0.0);
        }
    }
}

/// Distance of two rows of cumulative counts whose last number is the total.
fn distance(first: &[f64], second: &[f64], tail: Tail) -> f64 {
    let last = first.len() - 1;
    let (of_first, of_second) = (1.0 / first[last], 1.0 / second[last]);
    furthest(first.iter().zip(second).map(|(one, other)| one * of_first - other * of_second), tail)
}

/// The largest of the distances of the first distribution function over the second, size by size.
pub(super) fn furthest(apart: impl Iterator<Item = f64>, tail: Tail) -> f64 {
    let (mut above, mut below) = (0.0f64, 0.0f64);
    for apart in apart {
        // More of the first below a size: sizes are larger at the second.
        above = above.max(apart);
        below = below.max(-apart);
    }
    match tail {
        Tail::Two => above.max(below),
        Tail::Upper => above,
        Tail::Lower => below,
    }
}

fn check_lengths(arrangements: &Arrangements, first: usize, second: usize) -> Result<(), Degenerate> {
    let fits = match arrangements.exchange() {
        Exchange::Visits { sites } => first == sites && second == sites,
        Exchange::Groups { first: one, second: other } => first == one && second == other,
    };
    if fits { Ok(()) } else { Err(Degenerate::BadValue) }
}

/// Counts arrangements as far out as the observed one. Statistics that differ by rounding only, a share of 1e-12 of `scale`,
/// are equal.
fn count(arrangements: &Arrangements, tail: Tail, scale: f64, statistic: impl Fn(u128) -> f64) -> PermutationTest {
    let observed = statistic(arrangements.observed());
    let slack = 1e-12 * scale;
    let as_far = |mask: &&u128| {
        let value = statistic(**mask);
        match tail {
            Tail::Two => value.abs() >= observed.abs() - slack,
            Tail::Upper => value >= observed - slack,
            Tail::Lower => value <= observed + slack,
        }
    };
    let far = arrangements.masks().iter().filter(as_far).count() as u64;
    let exact = arrangements.is_exact();
    PermutationTest {
        statistic: observed,
        as_extreme: far + u64::from(!exact),
        arrangements: arrangements.count(),
        exact,
    }
}

/// Rows of sites summed on the two sides of any arrangement; the last number of a row is its weight.
pub(super) struct Sides {
    width: usize,
    /// What the first side has before the sites of the arrangement are added.
    start: Vec<f64>,
    moves: MaskedSums,
    total: Vec<f64>,
}

impl Sides {
    pub(super) fn new(
        arrangements: &Arrangements,
        width: usize,
        first: Vec<f64>,
        second: Vec<f64>,
    ) -> Result<Self, Degenerate> {
        let sum = |rows: &[f64]| {
            let mut sum = vec![0.0; width];
            rows.chunks(width).for_each(|row| sum.iter_mut().zip(row).for_each(|(sum, value)| *sum += value));
            sum
        };
        let (of_first, of_second) = (sum(&first), sum(&second));
        match (of_first[width - 1] > 0.0, of_second[width - 1] > 0.0) {
            (true, true) => {}
            (false, false) => return Err(Degenerate::AllZero),
            _ => return Err(Degenerate::ZeroInOneGroup),
        }
        let total = of_first.iter().zip(&of_second).map(|(one, other)| one + other).collect();
        let (start, moves) = match arrangements.exchange() {
            Exchange::Visits { .. } => {
                let moved: Vec<f64> = first.iter().zip(&second).map(|(one, other)| other - one).collect();
                (of_first, moved)
            }
            Exchange::Groups { .. } => (vec![0.0; width], [first, second].concat()),
        };
        Ok(Self { width, start, moves: MaskedSums::new(width, &moves), total })
    }

    /// Whether all weight is in one class, so that no arrangement can differ from another.
    pub(super) fn one_class_holds_all(&self) -> bool {
        let weight = self.total[self.width - 1];
        self.total.iter().all(|&below| below == 0.0 || below == weight)
    }

    /// The statistic of the two sides of an arrangement; `far_out` where a side has no weight.
    pub(super) fn compare(&self, mask: u128, far_out: f64, statistic: impl FnOnce(&[f64], &[f64]) -> f64) -> f64 {
        // Enough for any sensible number of size classes without a list on the heap.
        const ROOM: usize = 64;
        let (mut near, mut far);
        let (mut near_long, mut far_long);
        let (one, other): (&mut [f64], &mut [f64]) = if self.width <= ROOM {
            (near, far) = ([0.0; ROOM], [0.0; ROOM]);
            (&mut near[..self.width], &mut far[..self.width])
        } else {
            (near_long, far_long) = (vec![0.0; self.width], vec![0.0; self.width]);
            (&mut near_long, &mut far_long)
        };
        one.copy_from_slice(&self.start);
        self.moves.add(mask, one);
        for ((other, total), one) in other.iter_mut().zip(&self.total).zip(one.iter()) {
            *other = total - one;
        }
        let slack = 1e-9 * self.total[self.width - 1];
        let weighty = one[self.width - 1] > slack && other[self.width - 1] > slack;
        if weighty { statistic(one, other) } else { far_out }
    }
}
