use super::fast::nearest;
use super::lattice::LatticeField;
use super::strip::{Columns, Strip};
use crate::random::{KEY_X, KEY_Y, Normals, mix};

/// Reads a [`LatticeField`] at the centres of the cells of a strip: the same values as reading it place by place, but each
/// node of the lattice is hashed once and the two axes are summed one after the other.
#[derive(Default)]
pub struct StripField {
    first_rows: Vec<i32>,
    across_columns: Weights,
    across_rows: Weights,
    /// Normals of the nodes, column by column.
    nodes: Vec<f32>,
    summed: Vec<f32>,
    /// The field at each cell, column by column.
    pub values: Vec<f32>,
}

/// Nearest node and spline weights of the centres of successive cells.
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

impl StripField {
    /// First row of every column of the last strip read.
    pub fn first_rows(&self) -> &[i32] {
        &self.first_rows
    }

    /// Fills `values`: of the first visit, or of the second with the drift since the first.
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
        self.values.resize(count * rows, 0.0);
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
                self.nodes.resize(node_columns * stride + LANES, 0.0);
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
                let hashed = |row: usize| mix(key.wrapping_add((row as u64).wrapping_mul(key_row)));
                let nodes = self.nodes[range].iter_mut().enumerate();
                match drift {
                    None => nodes.for_each(|(row, node)| *node = normals.at(hashed(row))),
                    Some(Drift { memory, renewal }) => nodes.for_each(|(row, node)| {
                        let hash = hashed(row);
                        *node = memory * normals.at(hash) + renewal * normals.other(hash);
                    }),
                }
            }
            let grid = NodeGrid { nodes: &self.nodes, stride, first_column: first_node, first_row: lowest_node };
            if self.summed.len() < stride + LANES {
                self.summed.resize(stride + LANES, 0.0);
            }
            let summed = &mut self.summed[..];
            let cells = Strips { first_rows: &self.first_rows, lowest, of_columns, of_rows };
            // The usual numbers of rows, so that the compiler knows them.
            match rows {
                2 => grid.add::<2>(&cells, rows, summed, &mut self.values),
                3 => grid.add::<3>(&cells, rows, summed, &mut self.values),
                4 => grid.add::<4>(&cells, rows, summed, &mut self.values),
                5 => grid.add::<5>(&cells, rows, summed, &mut self.values),
                6 => grid.add::<6>(&cells, rows, summed, &mut self.values),
                _ => grid.add::<0>(&cells, rows, summed, &mut self.values),
            }
        }
    }
}

/// Nodes summed at once.
const LANES: usize = 4;

/// The normals of an octave's nodes, column by column.
struct NodeGrid<'a> {
    nodes: &'a [f32],
    stride: usize,
    first_column: i32,
    first_row: i32,
}

/// Where the cells of a strip lie in an octave.
struct Strips<'a> {
    first_rows: &'a [i32],
    /// The lowest of the first rows, where the weights of rows begin.
    lowest: i32,
    of_columns: &'a Weights,
    of_rows: &'a Weights,
}

impl NodeGrid<'_> {
    /// Adds the octave to the values of all cells. ROWS is the number of rows where it is not 0.
    #[inline(always)]
    fn add<const ROWS: usize>(&self, cells: &Strips, rows: usize, summed: &mut [f32], values: &mut [f32]) {
        let rows = if ROWS > 0 { ROWS } else { rows };
        let columns = cells.of_columns;
        for (i, (out, &first_row)) in values.chunks_exact_mut(rows).zip(cells.first_rows).enumerate() {
            let from = (first_row - cells.lowest) as usize;
            let bases = &cells.of_rows.base[from..from + rows];
            let (left, middle, right) = (
                &cells.of_rows.left[from..from + rows],
                &cells.of_rows.middle[from..from + rows],
                &cells.of_rows.right[from..from + rows],
            );
            let low = bases[0] - 1;
            let number = (bases[rows - 1] + 2 - low) as usize;
            let column = (columns.base[i] - 1 - self.first_column) as usize;
            let nodes = &self.nodes[column * self.stride + (low - self.first_row) as usize..];
            sum_columns(summed, nodes, self.stride, number, [columns.left[i], columns.middle[i], columns.right[i]]);
            for t in 0..rows {
                let at = (bases[t] - 1 - low) as usize;
                let three = &summed[at..at + 3];
                out[t] += left[t] * three[0] + middle[t] * three[1] + right[t] * three[2];
            }
        }
    }
}

/// `summed[r] = sum of w_j nodes[j stride + r]` over three columns of nodes, for `number` rows and a few beyond.
#[inline(always)]
fn sum_columns(summed: &mut [f32], nodes: &[f32], stride: usize, number: usize, w: [f32; 3]) {
    let padded = number.next_multiple_of(LANES);
    let summed = &mut summed[..padded];
    let (first, second, third) =
        (&nodes[..padded], &nodes[stride..stride + padded], &nodes[2 * stride..2 * stride + padded]);
    for r in 0..padded {
        summed[r] = w[0] * first[r] + w[1] * second[r] + w[2] * third[r];
    }
}

impl Weights {
    /// For `count` cells from the cell `first` on; weights times `scale`.
    fn place(&mut self, first: i32, count: usize, cell: f32, per_m: f32, shift: f32, scale: f32) {
        if self.base.len() < count {
            self.base.resize(count, 0);
            self.left.resize(count, 0.0);
            self.middle.resize(count, 0.0);
            self.right.resize(count, 0.0);
        }
        let step = cell * per_m;
        let (base, left) = (&mut self.base[..count], &mut self.left[..count]);
        let (middle, right) = (&mut self.middle[..count], &mut self.right[..count]);
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
