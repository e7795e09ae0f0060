use super::fast::nearest;
use super::lattice::LatticeField;
use super::strip::{Columns, Strip};
use crate::random::{KEY_X, KEY_Y, Normals, mix};

/// Reads a [`LatticeField`] at the centres of the cells of a strip, for one visit or for both at once: the same values
/// as reading it place by place, but each node of the lattice is hashed once and the two axes are summed one after the other.
#[derive(Default)]
pub struct StripField {
    first_rows: Vec<i32>,
    across_columns: Weights,
    across_rows: Weights,
    /// Normals of the nodes, column by column: of the first visit and those that renew it. Both are carried along
    /// together, whether or not the second are asked for.
    nodes: Vec<[f32; 2]>,
    summed: Vec<[f32; 2]>,
    /// The field at each cell, column by column, at both visits.
    pub values: Vec<[f32; 2]>,
}

/// Nearest node and spline weights of the centres of successive cells.
#[derive(Default)]
struct Weights {
    base: Vec<i32>,
    of_three: Vec<[f32; 3]>,
}

/// How the field of the second visit comes from the lattice: `memory * first + sqrt(1 - memory^2) * other`.
#[derive(Clone, Copy, Debug)]
pub struct Drift {
    pub memory: f32,
    pub renewal: f32,
}

impl Drift {
    pub fn new(memory: f64) -> Self {
        Self { memory: memory as f32, renewal: (1.0 - memory * memory).max(0.0).sqrt() as f32 }
    }
}

impl StripField {
    /// First row of every column of the last strip read.
    pub fn first_rows(&self) -> &[i32] {
        &self.first_rows
    }

    /// Fills `values`; without a drift the second visit sees the field of the first.
    pub fn read(
        &mut self,
        field: &LatticeField,
        normals: &Normals,
        strip: &Strip,
        columns: &Columns,
        cell: f32,
        drift: Option<Drift>,
    ) {
        let count = columns.count();
        let rows = columns.rows;
        self.first_rows.clear();
        self.first_rows.extend((columns.first..=columns.last).map(|i| strip.first_row(columns, i)));
        let lowest = self.first_rows.iter().copied().min().unwrap_or(0);
        let highest = self.first_rows.iter().copied().max().unwrap_or(0) + rows as i32 - 1;
        let tall = (highest - lowest + 1) as usize;
        self.values.clear();
        self.values.resize(count * rows, [0.0; 2]);
        let (key_column, key_row) = if strip.swapped { (KEY_Y, KEY_X) } else { (KEY_X, KEY_Y) };
        for octave in &field.octaves {
            let per_m = octave.nodes_per_m as f32;
            let (shift_column, shift_row) =
                if strip.swapped { (octave.shift_y, octave.shift_x) } else { (octave.shift_x, octave.shift_y) };
            let (of_columns, of_rows) = (&mut self.across_columns, &mut self.across_rows);
            of_columns.place(columns.first, count, cell, per_m, shift_column as f32, octave.amplitude as f32);
            of_rows.place(lowest, tall, cell, per_m, shift_row as f32, 1.0);
            let (column_base, row_base) = (&of_columns.base[..count], &of_rows.base[..tall]);
            let (first_node, last_node) = (column_base[0] - 1, column_base[count - 1] + 1);
            let node_columns = (last_node - first_node + 1) as usize;
            let (lowest_node, highest_node) = (row_base[0] - 1, row_base[tall - 1] + 1);
            let stride = (highest_node - lowest_node + 1) as usize;
            if self.nodes.len() < node_columns * stride + LANES {
                self.nodes.resize(node_columns * stride + LANES, [0.0; 2]);
            }
            let (mut from, mut to) = (0usize, 0usize);
            for b in 0..node_columns {
                let node = first_node + b as i32;
                // Columns of cells that read this column of nodes, and the rows they need.
                while from < count && column_base[from] + 1 < node {
                    from += 1;
                }
                while to < count && column_base[to] - 1 <= node {
                    to += 1;
                }
                if from >= to {
                    continue;
                }
                let (a, z) = (self.first_rows[from], self.first_rows[to - 1]);
                let low = row_base[(a.min(z) - lowest) as usize] - 1;
                let high = row_base[(a.max(z) - lowest) as usize + rows - 1] + 1;
                let start = b * stride + (low - lowest_node) as usize;
                let range = start..start + (high - low + 1) as usize;
                let key = octave
                    .key
                    .wrapping_add((node as i64 as u64).wrapping_mul(key_column))
                    .wrapping_add((low as i64 as u64).wrapping_mul(key_row));
                for (row, node) in self.nodes[range].iter_mut().enumerate() {
                    let hash = mix(key.wrapping_add((row as u64).wrapping_mul(key_row)));
                    *node = [normals.at(hash), normals.other(hash)];
                }
            }
            if self.summed.len() < stride + LANES {
                self.summed.resize(stride + LANES, [0.0; 2]);
            }
            for i in 0..count {
                let row = (self.first_rows[i] - lowest) as usize;
                let (bases, weights) = (&row_base[row..row + rows], &of_rows.of_three[row..row + rows]);
                let low = bases[0] - 1;
                let number = (bases[rows - 1] + 1 - low + 1) as usize;
                let start = (column_base[i] - 1 - first_node) as usize * stride + (low - lowest_node) as usize;
                sum_columns(&mut self.summed, &self.nodes[start..], stride, number, of_columns.of_three[i]);
                let out = &mut self.values[i * rows..(i + 1) * rows];
                for ((value, base), w) in out.iter_mut().zip(bases).zip(weights) {
                    let at = (base - 1 - low) as usize;
                    let three = &self.summed[at..at + 3];
                    for visit in 0..2 {
                        value[visit] += w[0] * three[0][visit] + w[1] * three[1][visit] + w[2] * three[2][visit];
                    }
                }
            }
        }
        match drift {
            Some(drift) => {
                for value in &mut self.values {
                    value[1] = drift.memory * value[0] + drift.renewal * value[1];
                }
            }
            None => {
                for value in &mut self.values {
                    value[1] = value[0];
                }
            }
        }
    }
}

/// Nodes summed at once.
const LANES: usize = 2;

/// `summed[r] = sum of w_j nodes[j stride + r]` over three columns of nodes, for `number` rows and a few beyond.
#[inline(always)]
fn sum_columns(summed: &mut [[f32; 2]], nodes: &[[f32; 2]], stride: usize, number: usize, w: [f32; 3]) {
    let padded = number.next_multiple_of(LANES);
    let (first, second, third) =
        (&nodes[..padded], &nodes[stride..stride + padded], &nodes[2 * stride..2 * stride + padded]);
    let columns = first.chunks_exact(LANES).zip(second.chunks_exact(LANES)).zip(third.chunks_exact(LANES));
    for (sum, ((a, b), c)) in summed[..padded].chunks_exact_mut(LANES).zip(columns) {
        for lane in 0..LANES {
            for visit in 0..2 {
                sum[lane][visit] = w[0] * a[lane][visit] + w[1] * b[lane][visit] + w[2] * c[lane][visit];
            }
        }
    }
}

impl Weights {
    /// For `count` cells from the cell `first` on; weights times `scale`.
    fn place(&mut self, first: i32, count: usize, cell: f32, per_m: f32, shift: f32, scale: f32) {
        self.base.resize(count.max(self.base.len()), 0);
        self.of_three.resize(count.max(self.of_three.len()), [0.0; 3]);
        let step = cell * per_m;
        let both = self.base[..count].iter_mut().zip(&mut self.of_three[..count]);
        for (i, (base, weights)) in both.enumerate() {
            let u = ((first + i as i32) as f32 + 0.5) * step + shift;
            let (node, t) = nearest(u);
            let left = 0.5 * (0.5 - t) * (0.5 - t);
            let middle = 0.75 - t * t;
            let right = 0.5 * (0.5 + t) * (0.5 + t);
            let norm = scale / (left * left + middle * middle + right * right).sqrt();
            *base = node;
            *weights = [left * norm, middle * norm, right * norm];
        }
    }
}
