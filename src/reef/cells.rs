//! The cells of a layer near a line: their keys, how many colonies are expected in each, which are empty.

use super::fast;
use super::layers::Layer;
use super::listed::{room, uniform};
use super::machine::for_this_processor;
use super::strip::{Columns, Strip};
use super::strip_field::FieldCells;
use crate::random::mix;

/// The columns of a layer's cells.
#[derive(Default)]
pub(super) struct LayerColumns {
    /// Key of the lowest cell.
    pub(super) keys: Vec<u64>,
    pub(super) first_rows: Vec<i32>,
    /// Place of the column in the field's arrays, so that row `j` of the layer lies at `field + (j >> split)`.
    pub(super) fields: Vec<i32>,
    /// Lower corner of the lowest cell, from the start of the line, m.
    pub(super) x: Vec<f32>,
    pub(super) y: Vec<f32>,
}

/// The cells of a layer, row by row.
#[derive(Default)]
pub(super) struct Cells {
    pub(super) hashes: Vec<u64>,
    pub(super) means: Vec<f32>,
    /// Probability that a cell is empty.
    pub(super) empty: Vec<f32>,
    /// Whether it has a colony: 1 or 0.
    pub(super) occupied: Vec<u32>,
    /// Lower corners, from the start of the line, m.
    pub(super) x: Vec<f32>,
    pub(super) y: Vec<f32>,
}

/// The largest mean count of a cell: its exponential must not vanish. No reef comes near.
const LARGEST_MEAN: f32 = 80.0;

for_this_processor! {
    /// The columns of a layer's cells, `split` halvings narrower than those of the field.
    pub(super) fn place_columns(
        columns: &mut LayerColumns,
        strip: &Strip,
        cells: &Columns,
        key: u64,
        split: u32,
        field: &FieldCells,
    ) {
        let count = cells.count();
        columns.keys.resize(count, 0);
        columns.first_rows.resize(count, 0);
        columns.fields.resize(count, 0);
        columns.x.resize(count, 0.0);
        columns.y.resize(count, 0.0);
        for (c, first_row) in columns.first_rows.iter_mut().enumerate() {
            *first_row = strip.first_row(cells, cells.first + c as i32);
        }
        let places = columns.x.iter_mut().zip(&mut columns.y);
        for (c, ((x, y), row)) in places.zip(&columns.first_rows).enumerate() {
            *x = (cells.first + c as i32) as f32 * cells.cell - strip.line.x;
            *y = *row as f32 * cells.cell - strip.line.y;
        }
        let (key_column, key_row) = strip.keys();
        for (c, (of_column, row)) in columns.keys.iter_mut().zip(&columns.first_rows).enumerate() {
            *of_column = key
                .wrapping_add(((cells.first + c as i32) as i64 as u64).wrapping_mul(key_column))
                .wrapping_add((*row as i64 as u64).wrapping_mul(key_row));
        }
        for (c, at) in columns.fields.iter_mut().enumerate() {
            let parent = ((cells.first + c as i32) >> split) - field.first;
            *at = parent * field.rows as i32 - field.first_rows[parent as usize];
        }
    }
}

for_this_processor! {
    /// Hashes, mean counts, corners, and which cells have a colony.
    pub(super) fn fill_cells(
        cells: &mut Cells,
        columns: &LayerColumns,
        rows: usize,
        key_row: u64,
        layer: &Layer,
        densities: &[f32],
        scale: f32,
    ) {
        let count = columns.keys.len();
        let number = count * rows;
        room(&mut cells.hashes, number);
        room(&mut cells.means, number);
        room(&mut cells.empty, number);
        room(&mut cells.occupied, number);
        room(&mut cells.x, number);
        room(&mut cells.y, number);
        let last = densities.len() as i32 - 1;
        for row in 0..rows {
            let key = (row as u64).wrapping_mul(key_row);
            let range = row * count..(row + 1) * count;
            for (column, hash) in columns.keys.iter().zip(&mut cells.hashes[range.clone()]) {
                *hash = mix(column.wrapping_add(key));
            }
            let places = columns.fields.iter().zip(&columns.first_rows);
            for ((&field, &first_row), mean) in places.zip(&mut cells.means[range.clone()]) {
                // A row just outside the field's strip is too far to matter; it reads the nearest one.
                let at = (field + ((first_row + row as i32) >> layer.split)).clamp(0, last);
                *mean = densities[at as usize];
            }
            cells.x[range.clone()].copy_from_slice(&columns.x);
            let above = row as f32 * layer.cell;
            for (y, lowest) in cells.y[range].iter_mut().zip(&columns.y) {
                *y = lowest + above;
            }
        }
        let found = cells.empty[..number].iter_mut().zip(&mut cells.occupied[..number]);
        for (((empty, occupied), &hash), mean) in found.zip(&cells.hashes[..number]).zip(&mut cells.means[..number]) {
            *mean = (scale * *mean).min(LARGEST_MEAN);
            *empty = fast::exp(-*mean);
            *occupied = u32::from(uniform(hash, 0) > *empty);
        }
    }
}
