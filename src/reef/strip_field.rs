use super::fast::nearest;
use super::lattice::LatticeField;
use super::strip::{Columns, Strip};
use crate::random::{KEY_X, KEY_Y, Normals, mix};

/// Reads a [`LatticeField`] at the centres of the cells of a strip, for one visit or for both at once: the same values
/// as reading it place by place, but each node of the lattice is hashed once and the two axes are summed apart.
#[derive(Default)]
pub struct StripField {
    first_rows: Vec<i32>,
    across_columns: Weights,
    across_rows: Weights,
    nodes: [Vec<f32>; 2],
    summed: [Vec<f32>; 2],
    /// The field at each cell, column by column, for each visit read.
    pub values: [Vec<f32>; 2],
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

    /// Fills `values`; with `both` also those of the second visit.
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
        let visits = if drift.is_some() { 2 } else { 1 };
        for visit in 0..visits {
            self.values[visit].clear();
            self.values[visit].resize(count * rows, 0.0);
        }
        let (key_column, key_row) = if strip.swapped { (KEY_Y, KEY_X) } else { (KEY_X, KEY_Y) };
        for octave in &field.octaves {
            let per_m = octave.nodes_per_m as f32;
            let (shift_column, shift_row) =
                if strip.swapped { (octave.shift_y, octave.shift_x) } else { (octave.shift_x, octave.shift_y) };
            let amplitude = octave.amplitude as f32;
            let (of_columns, of_rows) = (&mut self.across_columns, &mut self.across_rows);
            of_columns.place(columns.first, count, cell, per_m, shift_column as f32);
            of_rows.place(lowest, tall, cell, per_m, shift_row as f32);
            let (column_base, row_base) = (&of_columns.base[..count], &of_rows.base[..tall]);
            let (first_node, last_node) = (column_base[0] - 1, column_base[count - 1] + 1);
            let node_columns = (last_node - first_node + 1) as usize;
            for visit in 0..visits {
                if self.summed[visit].len() < node_columns * tall {
                    self.summed[visit].resize(node_columns * tall, 0.0);
                }
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
                let low = (a.min(z) - lowest) as usize;
                let high = (a.max(z) - lowest) as usize + rows;
                let first_row_node = row_base[low] - 1;
                let number = (row_base[high - 1] + 1 - first_row_node + 1) as usize;
                let mut key = octave
                    .key
                    .wrapping_add((node as i64 as u64).wrapping_mul(key_column))
                    .wrapping_add((first_row_node as i64 as u64).wrapping_mul(key_row));
                for nodes in &mut self.nodes[..visits] {
                    if nodes.len() < number {
                        nodes.resize(number, 0.0);
                    }
                }
                match drift {
                    None => {
                        for value in &mut self.nodes[0][..number] {
                            *value = normals.at(mix(key));
                            key = key.wrapping_add(key_row);
                        }
                    }
                    Some(drift) => {
                        let (one, two) = self.nodes.split_at_mut(1);
                        for (first, second) in one[0][..number].iter_mut().zip(&mut two[0][..number]) {
                            let hash = mix(key);
                            *first = normals.at(hash);
                            *second = drift.memory * *first + drift.renewal * normals.other(hash);
                            key = key.wrapping_add(key_row);
                        }
                    }
                }
                for visit in 0..visits {
                    let nodes = &self.nodes[visit][..number];
                    let out = &mut self.summed[visit][b * tall + low..b * tall + high];
                    let bases = &row_base[low..high];
                    let weights = &of_rows.of_three[low..high];
                    for ((value, &base), w) in out.iter_mut().zip(bases).zip(weights) {
                        let at = (base - 1 - first_row_node) as usize;
                        let three = &nodes[at..at + 3];
                        *value = amplitude * (w[0] * three[0] + w[1] * three[1] + w[2] * three[2]);
                    }
                }
            }
            for visit in 0..visits {
                let summed = &self.summed[visit];
                for i in 0..count {
                    let base = (column_base[i] - 1 - first_node) as usize;
                    let row = (self.first_rows[i] - lowest) as usize;
                    let w = of_columns.of_three[i];
                    let a = &summed[base * tall + row..][..rows];
                    let b = &summed[(base + 1) * tall + row..][..rows];
                    let c = &summed[(base + 2) * tall + row..][..rows];
                    let out = &mut self.values[visit][i * rows..][..rows];
                    for t in 0..rows {
                        out[t] += w[0] * a[t] + w[1] * b[t] + w[2] * c[t];
                    }
                }
            }
        }
    }
}

impl Weights {
    /// For `count` cells from the cell `first` on.
    fn place(&mut self, first: i32, count: usize, cell: f32, per_m: f32, shift: f32) {
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
            let norm = 1.0 / (left * left + middle * middle + right * right).sqrt();
            *base = node;
            *weights = [left * norm, middle * norm, right * norm];
        }
    }
}
