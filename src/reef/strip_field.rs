use super::fast::nearest;
use super::lattice::{LatticeField, Octave, innovation_of};
use super::machine::for_this_processor;
use super::strip::{Columns, Strip};
use crate::random::{KEY_X, KEY_Y, Normals, mix};

/// Reads a [`LatticeField`] at the centres of the cells of a strip: the same values as reading it place by place, but each
/// block of nodes is hashed once and the two axes are summed one after the other, several rows at once.
#[derive(Default)]
pub struct StripField {
    first: i32,
    number_of_rows: usize,
    first_rows: Vec<i32>,
    columns: Weights,
    rows: Weights,
    nodes: Nodes,
    of_rows: Vec<Row>,
    /// The field at each cell, column by column: the sum of four.
    pub sums: Vec<[f32; 4]>,
}

/// Which cells were read: columns from `first` on, of `rows` rows each from its own first row on.
#[derive(Clone, Copy)]
pub struct FieldCells<'a> {
    pub first: i32,
    pub rows: usize,
    pub first_rows: &'a [i32],
}

/// Nearest node and spline weights of the centres of successive cells along one axis.
#[derive(Default)]
struct Weights {
    base: Vec<i32>,
    left: Vec<f32>,
    middle: Vec<f32>,
    right: Vec<f32>,
}

/// The normals of an octave's nodes around the strip, column by column.
#[derive(Default)]
struct Nodes {
    values: Vec<f32>,
    stride: usize,
    first_column: i32,
    first_row: i32,
}

/// What a row of cells reads: where the first of its three rows of nodes lies in a column of nodes, and their weights.
#[derive(Clone, Copy)]
struct Row {
    at: u32,
    weights: [f32; 4],
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

/// Reading four rows of nodes where three are needed reaches this far beyond the last.
const AHEAD: usize = 1;

/// The cells of a strip: how many columns, of how many rows, from which row on each.
struct Cells<'a> {
    rows: usize,
    first_rows: &'a [i32],
    /// The lowest of the first rows, where the weights of rows begin.
    lowest: i32,
    swapped: bool,
}

impl StripField {
    /// The cells of the last strip read.
    pub fn cells(&self) -> FieldCells<'_> {
        FieldCells { first: self.first, rows: self.number_of_rows, first_rows: &self.first_rows }
    }

    /// Fills `sums`: of the first visit, or of the second with the drift since the first.
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
        (self.first, self.number_of_rows) = (columns.first, rows);
        self.first_rows.resize(count, 0);
        for (c, first_row) in self.first_rows.iter_mut().enumerate() {
            *first_row = strip.first_row(columns, columns.first + c as i32);
        }
        let (a, z) = (self.first_rows[0], self.first_rows[count - 1]);
        let (lowest, highest) = (a.min(z), a.max(z) + rows as i32 - 1);
        let tall = (highest - lowest + 1) as usize;
        let cells = Cells { rows, first_rows: &self.first_rows, lowest, swapped: strip.swapped };
        self.sums.clear();
        self.sums.resize(count * rows, [0.0; 4]);
        for octave in &field.octaves {
            let per_m = octave.nodes_per_m as f32;
            let (shift_column, shift_row) =
                if strip.swapped { (octave.shift_y, octave.shift_x) } else { (octave.shift_x, octave.shift_y) };
            place(&mut self.columns, columns.first, count, cell, per_m, shift_column as f32, octave.amplitude as f32);
            place(&mut self.rows, lowest, tall, cell, per_m, shift_row as f32, 1.0);
            let bases = (&self.columns.base[..count], &self.rows.base[..tall]);
            hash_nodes(&mut self.nodes, octave, normals, &cells, bases.0, bases.1, drift);
            self.nodes.rows(&self.rows, tall, &mut self.of_rows);
            add_octave(&self.nodes, &cells, &self.columns, &self.of_rows, &mut self.sums);
        }
    }
}

for_this_processor! {
    /// Hashes the blocks of nodes that the cells need.
    fn hash_nodes(
        nodes: &mut Nodes,
        octave: &Octave,
        normals: &Normals,
        cells: &Cells,
        column_base: &[i32],
        row_base: &[i32],
        drift: Option<Drift>,
    ) {
        let count = column_base.len();
        let (first_block, last_block) = ((column_base[0] - 1) >> 1, (column_base[count - 1] + 1) >> 1);
        let (lowest_block, highest_block) = ((row_base[0] - 1) >> 1, (row_base[row_base.len() - 1] + 1) >> 1);
        nodes.first_column = 2 * first_block;
        nodes.first_row = 2 * lowest_block;
        nodes.stride = 2 * (highest_block - lowest_block + 1) as usize;
        let number = 2 * (last_block - first_block + 1) as usize * nodes.stride + AHEAD;
        if nodes.values.len() < number {
            nodes.values.resize(number, 0.0);
        }
        let (key_column, key_row) = if cells.swapped { (KEY_Y, KEY_X) } else { (KEY_X, KEY_Y) };
        let (mut from, mut to) = (0usize, 0usize);
        for block in first_block..=last_block {
            // Columns of cells that read either column of the block, and the rows they need.
            while from < count && column_base[from] + 1 < 2 * block {
                from += 1;
            }
            while to < count && column_base[to] - 1 <= 2 * block + 1 {
                to += 1;
            }
            if from >= to {
                continue;
            }
            let (a, z) = (cells.first_rows[from], cells.first_rows[to - 1]);
            let low = (row_base[(a.min(z) - cells.lowest) as usize] - 1) >> 1;
            let high = (row_base[(a.max(z) - cells.lowest) as usize + cells.rows - 1] + 1) >> 1;
            let start = 2 * ((block - first_block) as usize * nodes.stride + (low - lowest_block) as usize);
            let number = 2 * (high - low + 1) as usize;
            let key = octave
                .key
                .wrapping_add((block as i64 as u64).wrapping_mul(key_column))
                .wrapping_add((low as i64 as u64).wrapping_mul(key_row));
            let (even, odd) = nodes.values[start..].split_at_mut(nodes.stride);
            // Lanes of a block are numbered along x first.
            let (beside, above) = if cells.swapped { (2, 1) } else { (1, 2) };
            for (pair, (even, odd)) in
                even[..number].chunks_exact_mut(2).zip(odd[..number].chunks_exact_mut(2)).enumerate()
            {
                let hash = mix(key.wrapping_add((pair as u64).wrapping_mul(key_row)));
                let mut four = [0, above, beside, 3].map(|lane| normals.lane(hash, lane));
                if let Some(Drift { memory, renewal }) = drift {
                    let hash = innovation_of(hash);
                    let fresh = [0, above, beside, 3].map(|lane| normals.lane(hash, lane));
                    for (node, fresh) in four.iter_mut().zip(fresh) {
                        *node = memory * *node + renewal * fresh;
                    }
                }
                even.copy_from_slice(&four[..2]);
                odd.copy_from_slice(&four[2..]);
            }
        }
    }
}

impl Nodes {
    /// What the first `tall` rows of cells read.
    #[inline(always)]
    fn rows(&self, weights: &Weights, tall: usize, rows: &mut Vec<Row>) {
        let (left, middle, right) = (&weights.left[..tall], &weights.middle[..tall], &weights.right[..tall]);
        rows.clear();
        for (row, base) in weights.base[..tall].iter().enumerate() {
            let at = (base - 1 - self.first_row) as u32;
            rows.push(Row { at, weights: [left[row], middle[row], right[row], 0.0] });
        }
    }
}

for_this_processor! {
    /// Adds an octave to the sums of all cells: four rows of nodes at once, of which the last has no weight.
    fn add_octave(nodes: &Nodes, cells: &Cells, columns: &Weights, rows: &[Row], sums: &mut [[f32; 4]]) {
        let count = cells.first_rows.len();
        let (bases, left) = (&columns.base[..count], &columns.left[..count]);
        let (middle, right) = (&columns.middle[..count], &columns.right[..count]);
        for (i, sums) in sums.chunks_exact_mut(cells.rows).enumerate().take(count) {
            let from = (cells.first_rows[i] - cells.lowest) as usize;
            let rows = &rows[from..from + cells.rows];
            let first = (bases[i] - 1 - nodes.first_column) as usize * nodes.stride;
            let column = |c: usize| &nodes.values[first + c * nodes.stride..][..nodes.stride + 1];
            let (a, b, c) = (column(0), column(1), column(2));
            let (left, middle, right) = (left[i], middle[i], right[i]);
            for (sum, row) in sums.iter_mut().zip(rows) {
                let at = row.at as usize;
                let (a, b, c) = (&a[at..at + 4], &b[at..at + 4], &c[at..at + 4]);
                for lane in 0..4 {
                    sum[lane] += row.weights[lane] * (left * a[lane] + middle * b[lane] + right * c[lane]);
                }
            }
        }
    }
}

for_this_processor! {
    /// Weights of `count` cells from the cell `first` on, times `scale`.
    fn place(weights: &mut Weights, first: i32, count: usize, cell: f32, per_m: f32, shift: f32, scale: f32) {
        if weights.base.len() < count {
            weights.base.resize(count, 0);
            weights.left.resize(count, 0.0);
            weights.middle.resize(count, 0.0);
            weights.right.resize(count, 0.0);
        }
        let step = cell * per_m;
        let (base, left) = (&mut weights.base[..count], &mut weights.left[..count]);
        let (middle, right) = (&mut weights.middle[..count], &mut weights.right[..count]);
        for i in 0..count {
            let (node, t) = nearest(((first + i as i32) as f32 + 0.5) * step + shift);
            let (a, b, c) = (0.5 * (0.5 - t) * (0.5 - t), 0.75 - t * t, 0.5 * (0.5 + t) * (0.5 + t));
            let norm = scale / (a * a + b * b + c * c).sqrt();
            base[i] = node;
            left[i] = a * norm;
            middle[i] = b * norm;
            right[i] = c * norm;
        }
    }
}
