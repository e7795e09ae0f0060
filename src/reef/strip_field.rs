use super::fast::nearest;
use super::lattice::{LatticeField, OCTAVES, Octave, innovation_of};
use super::listed::room;
use super::machine::for_this_processor;
use super::strip::{Columns, Strip};
use crate::random::{KEY_X, KEY_Y, Normals, mix};

/// Reads a [`LatticeField`] at the centres of the cells of a strip: the same values as reading it place by place, but each
/// block of nodes is hashed once and the two axes are summed one after the other: every column of nodes at the rows of cells
/// (columns of nodes are few where the octave is coarse), then the columns of cells, several rows at once.
#[derive(Default)]
pub struct StripField {
    first: i32,
    number_of_rows: usize,
    first_rows: Vec<i32>,
    rows: Weights,
    octaves: [OctaveStrip; OCTAVES.len()],
    /// The field at each cell, column by column.
    pub values: Vec<f32>,
}

/// An octave around a strip.
#[derive(Default)]
struct OctaveStrip {
    columns: Weights,
    /// The normals of its nodes, column by column.
    nodes: Vec<f32>,
    /// The same columns of nodes at the rows of the cells, from the lowest row on; with room for whole lots of rows.
    at_rows: Vec<f32>,
    row_stride: usize,
    first_column: i32,
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

/// So many rows of cells are summed at once; what is too much is written over by the next column.
const ROWS: usize = 8;

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
        for (octave, own) in field.octaves.iter().zip(&mut self.octaves) {
            let per_m = octave.nodes_per_m as f32;
            let (shift_column, shift_row) =
                if strip.swapped { (octave.shift_y, octave.shift_x) } else { (octave.shift_x, octave.shift_y) };
            place(&mut own.columns, columns.first, count, cell, per_m, shift_column as f32, octave.amplitude as f32);
            place(&mut self.rows, lowest, tall, cell, per_m, shift_row as f32, 1.0);
            read_nodes(own, octave, normals, &cells, &self.rows, tall, drift);
        }
        let number = count * rows;
        self.values.resize(number + ROWS, 0.0);
        sum(&self.octaves, &cells, &mut self.values);
        self.values.truncate(number);
    }
}

for_this_processor! {
    /// Hashes the blocks of nodes that the cells need, and reads every column of nodes at the rows of cells that need it.
    fn read_nodes(
        own: &mut OctaveStrip,
        octave: &Octave,
        normals: &Normals,
        cells: &Cells,
        rows: &Weights,
        tall: usize,
        drift: Option<Drift>,
    ) {
        let OctaveStrip { columns, nodes, at_rows, row_stride, first_column } = own;
        let count = cells.first_rows.len();
        let (column_base, row_base) = (&columns.base[..count], &rows.base[..tall]);
        let (left, middle, right) = (&rows.left[..tall], &rows.middle[..tall], &rows.right[..tall]);
        let (first_block, last_block) = ((column_base[0] - 1) >> 1, (column_base[count - 1] + 1) >> 1);
        let (lowest_block, highest_block) = ((row_base[0] - 1) >> 1, (row_base[row_base.len() - 1] + 1) >> 1);
        *first_column = 2 * first_block;
        let first_row = 2 * lowest_block;
        // A column of nodes at a time, two of them.
        let stride = 2 * (highest_block - lowest_block + 1) as usize;
        room(nodes, 2 * stride);
        *row_stride = tall + ROWS;
        room(at_rows, 2 * (last_block - first_block + 1) as usize * *row_stride);
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
            let read = (a.min(z) - cells.lowest) as usize..(a.max(z) - cells.lowest) as usize + cells.rows;
            let low = (row_base[read.start] - 1) >> 1;
            let high = (row_base[read.end - 1] + 1) >> 1;
            let start = 2 * (low - lowest_block) as usize;
            let number = 2 * (high - low + 1) as usize;
            let key = octave
                .key
                .wrapping_add((block as i64 as u64).wrapping_mul(key_column))
                .wrapping_add((low as i64 as u64).wrapping_mul(key_row));
            let (even, odd) = nodes.split_at_mut(stride);
            // Lanes of a block are numbered along x first.
            let (beside, above) = if cells.swapped { (2, 1) } else { (1, 2) };
            for (pair, (even, odd)) in
                even[start..][..number].chunks_exact_mut(2).zip(odd[start..][..number].chunks_exact_mut(2)).enumerate()
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
            let (even, odd) = (&even[..stride], &odd[..stride]);
            let of_block = &mut at_rows[2 * (block - first_block) as usize * *row_stride..][..2 * *row_stride];
            let (of_even, of_odd) = of_block.split_at_mut(*row_stride);
            let weights = left[read.clone()].iter().zip(&middle[read.clone()]).zip(&right[read.clone()]);
            let rows = weights.zip(&row_base[read.clone()]);
            let of = of_even[read.clone()].iter_mut().zip(&mut of_odd[read.clone()]);
            for ((of_even, of_odd), (((left, middle), right), base)) in of.zip(rows) {
                let at = (base - 1 - first_row) as usize;
                let (a, b) = (&even[at..at + 3], &odd[at..at + 3]);
                *of_even = left * a[0] + middle * a[1] + right * a[2];
                *of_odd = left * b[0] + middle * b[1] + right * b[2];
            }
        }
    }
}

for_this_processor! {
    /// Sums the octaves at all cells.
    fn sum(octaves: &[OctaveStrip; OCTAVES.len()], cells: &Cells, values: &mut [f32]) {
        let count = cells.first_rows.len();
        let octaves = octaves.each_ref().map(|octave| {
            let Weights { base, left, middle, right } = &octave.columns;
            let weights = [&left[..count], &middle[..count], &right[..count]];
            (&base[..count], weights, (&octave.at_rows[..], octave.row_stride, octave.first_column + 1))
        });
        for i in 0..count {
            let from = (cells.first_rows[i] - cells.lowest) as usize;
            for lot in (0..cells.rows).step_by(ROWS) {
                let mut all = [0.0f32; ROWS];
                for (base, [left, middle, right], (at_rows, stride, second)) in &octaves {
                    let first = (base[i] - second) as usize * stride + from + lot;
                    let three = &at_rows[first..first + 2 * stride + ROWS];
                    let (a, b, c) = (&three[..ROWS], &three[*stride..][..ROWS], &three[2 * stride..][..ROWS]);
                    for row in 0..ROWS {
                        all[row] += left[i] * a[row] + middle[i] * b[row] + right[i] * c[row];
                    }
                }
                values[i * cells.rows + lot..][..ROWS].copy_from_slice(&all);
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
