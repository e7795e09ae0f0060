use super::machine::for_this_processor;
use crate::random::{Key, Normals, Purpose, lattice_key, mix};
use std::f64::consts::TAU;

/// Spacing of the nodes of each octave, in units of the scale, and its share of the variance. Both were looked for by least
/// squares on a grid of spacings: the correlation is within .0043 of the Matern-3/2 correlation of the same scale (computed),
/// and no finer octave is needed, which would have most of the nodes. The shares are divided by their sum where they are
/// used.
pub const OCTAVES: [(f64, f64); 3] = [(1.95, 0.3408), (1.0, 0.5442), (0.4, 0.1150)];

/// Shares of the octaves in the variance; they sum to 1.
pub fn octave_shares() -> [f64; 3] {
    let sum: f64 = OCTAVES.iter().map(|(_, weight)| weight).sum();
    OCTAVES.map(|(_, weight)| weight / sum)
}

/// Weights of the three nearest nodes of one axis: the quadratic B-spline at `t` in [-.5, .5] from the middle node, and
/// the sum of their squares. Divided by its root they give variance 1 at every point from independent standard normals at
/// the nodes.
#[inline(always)]
pub fn spline_weights(t: f64) -> ([f64; 3], f64) {
    let weights = [0.5 * (0.5 - t) * (0.5 - t), 0.75 - t * t, 0.5 * (0.5 + t) * (0.5 + t)];
    let [left, middle, right] = weights;
    (weights, left * left + middle * middle + right * right)
}

/// The reef's own frame on one site in one trial: all fields and cells are turned and shifted by it, which makes the reef
/// alike in every place and direction over many trials.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    pub cos: f64,
    pub sin: f64,
    pub shift_x: f64,
    pub shift_y: f64,
}

/// The shift is uniform over this many metres: a whole number of the usual cells (0.5 m and 10 m), so that their edges
/// fall uniformly; for any other cell the deviation from uniform is at most cell / 100 m.
const SHIFT_M: f64 = 100.0;

impl Frame {
    /// The frame of a site's key.
    pub fn new(key: Key) -> Self {
        let (sin, cos) = libm::sincos(TAU * key.uniform(Purpose::Turn, 0));
        let shift = key.child(Purpose::Turn, 1);
        Self {
            cos,
            sin,
            shift_x: SHIFT_M * shift.uniform(Purpose::Shift, 0),
            shift_y: SHIFT_M * shift.uniform(Purpose::Shift, 1),
        }
    }

    /// From metres on the site to metres in the frame.
    #[inline(always)]
    pub fn from_site(&self, x: f64, y: f64) -> (f64, f64) {
        (self.cos * x - self.sin * y + self.shift_x, self.sin * x + self.cos * y + self.shift_y)
    }

    /// How far one moves in the frame when one moves on the site, metres.
    #[inline(always)]
    pub fn step(&self, x: f64, y: f64) -> (f64, f64) {
        (self.cos * x - self.sin * y, self.sin * x + self.cos * y)
    }

    /// From metres in the frame to metres on the site.
    #[inline(always)]
    pub fn to_site(&self, x: f64, y: f64) -> (f64, f64) {
        let (x, y) = (x - self.shift_x, y - self.shift_y);
        (self.cos * x + self.sin * y, self.cos * y - self.sin * x)
    }
}

/// Lattice of independent normals with one spacing, read by spline weights.
#[derive(Clone, Copy, Debug)]
pub(super) struct Octave {
    pub(super) key: u64,
    pub(super) nodes_per_m: f64,
    pub(super) amplitude: f64,
    pub(super) shift_x: f64,
    pub(super) shift_y: f64,
}

impl Octave {
    /// The keys of the two by two blocks that hold the nine nodes around a place, and the weights of their nodes: four
    /// nodes share a hash.
    #[inline(always)]
    fn around(&self, x: f64, y: f64, keys: &mut [u64; 4], weights: &mut [[f32; 4]; 4]) {
        let (column, (weights_x, squares_x)) = nearest(x * self.nodes_per_m + self.shift_x);
        let (row, (weights_y, squares_y)) = nearest(y * self.nodes_per_m + self.shift_y);
        let scale = self.amplitude / (squares_x * squares_y).sqrt();
        let (block_x, of_x) = in_blocks(column, weights_x);
        let (block_y, of_y) = in_blocks(row, weights_y.map(|weight| scale * weight));
        for block in 0..4usize {
            let (bx, by) = (block >> 1, block & 1);
            keys[block] = lattice_key(self.key, block_x + bx as i32, block_y + by as i32);
            for lane in 0..4usize {
                weights[block][lane] = (of_x[2 * bx + (lane & 1)] * of_y[2 * by + (lane >> 1)]) as f32;
            }
        }
    }
}

/// The blocks of nodes around a place, of all octaves.
struct Around {
    hashes: [[u64; 4]; OCTAVES.len()],
    weights: [[[f32; 4]; 4]; OCTAVES.len()],
}

impl Around {
    #[inline(always)]
    fn new(field: &LatticeField, x: f64, y: f64) -> Self {
        let mut around = Self { hashes: Default::default(), weights: Default::default() };
        for (o, octave) in field.octaves.iter().enumerate() {
            octave.around(x, y, &mut around.hashes[o], &mut around.weights[o]);
        }
        around.hashes.as_flattened_mut().iter_mut().for_each(|hash| *hash = mix(*hash));
        around
    }

    /// The weighted sum of the nodes' normals.
    #[inline(always)]
    fn sum(&self, normals: &Normals) -> f64 {
        let mut sums = [0.0f32; 4];
        for (&hash, weights) in self.hashes.as_flattened().iter().zip(self.weights.as_flattened()) {
            for lane in 0..4usize {
                sums[lane] += weights[lane] * normals.lane(hash, lane as u32);
            }
        }
        f64::from((sums[0] + sums[1]) + (sums[2] + sums[3]))
    }
}

for_this_processor! {
    /// The field at a place.
    fn read(field: &LatticeField, normals: &Normals, x: f64, y: f64, value: &mut f64) {
        *value = Around::new(field, x, y).sum(normals);
    }
}

for_this_processor! {
    /// The field at a place, and an innovation independent of it.
    fn read_both(field: &LatticeField, normals: &Normals, x: f64, y: f64, values: &mut (f64, f64)) {
        let mut around = Around::new(field, x, y);
        values.0 = around.sum(normals);
        around.hashes.as_flattened_mut().iter_mut().for_each(|hash| *hash = innovation_of(*hash));
        values.1 = around.sum(normals);
    }
}

/// The first of the two blocks of two nodes that hold a node and its neighbours along one axis, and the weights of all
/// four nodes in them.
#[inline(always)]
fn in_blocks(middle: i32, [left, centre, right]: [f64; 3]) -> (i32, [f64; 4]) {
    let first = (middle - 1) >> 1;
    (first, if middle & 1 == 1 { [left, centre, right, 0.0] } else { [0.0, left, centre, right] })
}

/// The hash of the innovations of a block of nodes, from that of its normals.
#[inline(always)]
pub(super) fn innovation_of(block: u64) -> u64 {
    mix(block ^ 0xA54F_F53A_5F1D_36F1)
}

/// The nearest node and the weights of it and its two neighbours.
#[inline(always)]
fn nearest(u: f64) -> (i32, ([f64; 3], f64)) {
    // Adding 1.5 * 2^52 rounds to a whole number and leaves it in the low bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    let raised = u + ROUND;
    let (node, rest) = (raised.to_bits() as i32, u - (raised - ROUND));
    (node, spline_weights(rest))
}

/// A Gaussian field of mean 0 and variance 1, a pure function of a key: octaves of lattice noise with nearly the
/// correlation of a Matern field of smoothness 3/2 ([`crate::reef::OCTAVES`]). All octaves share the turn of the
/// [`Frame`]; each has a shift of its own. Given turn and shifts it is exactly Gaussian with variance 1 everywhere (up to
/// the 4,096 levels of the table of normals). The correlation it implies is in `theory::lattice`.
#[derive(Clone, Copy, Debug)]
pub struct LatticeField {
    pub(super) octaves: [Octave; 3],
}

impl LatticeField {
    /// `scale_m` as of a Matern-3/2 correlation `(1 + x) exp(-x)`, `x = sqrt(3) h / scale`. Fields of different keys are
    /// independent.
    pub fn new(key: Key, scale_m: f64) -> Self {
        let shares = octave_shares();
        // Turn, shifts and nodes have keys of different purposes. Where a shift once came from the key of a node the
        // cover of a field of .200 became .239 (see the tests).
        let octaves = std::array::from_fn(|o| Octave {
            key: key.child(Purpose::FieldNode, o as u64).0,
            nodes_per_m: 1.0 / (OCTAVES[o].0 * scale_m),
            amplitude: shares[o].sqrt(),
            shift_x: key.uniform(Purpose::Shift, 2 * o as u64),
            shift_y: key.uniform(Purpose::Shift, 2 * o as u64 + 1),
        });
        Self { octaves }
    }

    /// The field at a place of the turned frame, metres.
    #[inline]
    pub fn at(&self, normals: &Normals, x: f64, y: f64) -> f64 {
        let mut value = 0.0;
        read(self, normals, x, y, &mut value);
        value
    }

    /// The field and an independent field W of the same law: a later state is `b Z + sqrt(1 - b^2) W`.
    #[inline]
    pub fn with_innovation(&self, normals: &Normals, x: f64, y: f64) -> (f64, f64) {
        let mut values = (0.0, 0.0);
        read_both(self, normals, x, y, &mut values);
        values
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;

    /// Mean and its standard error.
    fn mean_and_error(values: &[f64]) -> (f64, f64) {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        (mean, values.iter().map(|v| (v - mean).powi(2)).sum::<f64>().sqrt() / n)
    }

    /// Quantile of the standard normal at .8: a field above it has cover .2.
    const COVER_A_FIFTH: f64 = 0.841_621_233_572_914_3;

    #[test]
    fn turning_there_and_back_is_the_identity() {
        let frame = Frame::new(Key::seed(3));
        let (x, y) = frame.from_site(12.5, -3.25);
        let (a, b) = frame.to_site(x, y);
        assert!((a - 12.5).abs() < 1e-12 && (b + 3.25).abs() < 1e-12);
        assert!((frame.cos.hypot(frame.sin) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn the_spline_weights_sum_to_one_and_know_their_squares() {
        for i in 0..=20 {
            let (weights, squares) = spline_weights(-0.5 + 0.05 * i as f64);
            assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-15);
            assert!((weights.iter().map(|w| w * w).sum::<f64>() - squares).abs() < 1e-15);
        }
    }

    #[test]
    fn the_field_is_continuous_across_node_boundaries() {
        let (normals, field) = (Normals::new(), LatticeField::new(Key::seed(5), 1.5));
        let step = 1e-6;
        for i in 0..20_000 {
            let x = -3.0 + 0.0003 * i as f64;
            let jump = field.at(&normals, x + step, 0.4) - field.at(&normals, x, 0.4);
            assert!(jump.abs() < 1e-4, "{x} {jump}");
        }
    }

    #[test]
    fn mean_variance_and_cover_are_exact_also_near_the_origin() {
        let normals = Normals::new();
        for (place, (x, y)) in [(0.0, 0.0), (1.5, 0.0), (0.0, 3.0), (-40.3, 77.7)].into_iter().enumerate() {
            let root = Key::seed(100 + place as u64);
            let values: Vec<f64> = (0..40_000)
                .map(|trial| LatticeField::new(root.child(Purpose::Test, trial), 1.5).at(&normals, x, y))
                .collect();
            assert_mean(&values, 0.0);
            assert_mean(&values.iter().map(|z| z * z).collect::<Vec<_>>(), 1.0);
            let covered: Vec<f64> = values.iter().map(|&z| f64::from(z > COVER_A_FIFTH)).collect();
            assert_mean(&covered, 0.2);
        }
    }

    /// The mistake of an earlier engine, kept to show that the test above would see it: turn and offsets of an octave
    /// are hashes (1, 0), (2, 0), (3, 0) of the key whose hashes (i, j) are the nodes.
    fn cover_with_shared_keys(separate: bool) -> (f64, f64) {
        let normals = Normals::new();
        let root = Key::seed(9);
        let covered: Vec<f64> = (0..40_000)
            .map(|trial| {
                let key = root.child(Purpose::Test, trial).0;
                let others = if separate { root.child(Purpose::Shift, trial).0 } else { key };
                let uniform = |i| crate::random::uniform(mix(lattice_key(others, i, 0)));
                let (sin, cos) = (TAU * uniform(1)).sin_cos();
                let octave = Octave { key, nodes_per_m: 0.5, amplitude: 1.0, shift_x: uniform(2), shift_y: uniform(3) };
                let still = Octave { amplitude: 0.0, ..octave };
                let field = LatticeField { octaves: [octave, still, still] };
                // Points of a line that starts at the origin, as the earlier test had them.
                let points = (0..8).map(|i| 0.5 * i as f64);
                let hits = points.filter(|x| field.at(&normals, cos * x, sin * x) > COVER_A_FIFTH).count();
                hits as f64 / 8.0
            })
            .collect();
        mean_and_error(&covered)
    }

    #[test]
    fn sharing_keys_between_nodes_and_shifts_moves_the_cover() {
        let (shared, shared_error) = cover_with_shared_keys(false);
        assert!((shared - 0.2).abs() > 10.0 * shared_error, "{shared} {shared_error}");
        let (separate, separate_error) = cover_with_shared_keys(true);
        assert!((separate - 0.2).abs() < 4.0 * separate_error, "{separate} {separate_error}");
    }
}
