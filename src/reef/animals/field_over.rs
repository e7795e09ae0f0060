//! The field behind patches under a strip: read once for all kinds that lie in the same patches.

use super::site::{AnimalSite, Patches};
use super::walk::StripPlace;
use crate::random::Normals;
use crate::reef::Frame;

/// Values of the field in the cells under a strip.
#[derive(Default)]
pub struct FieldOver {
    cells: Vec<CellOver>,
    /// The cells found last, by the last bits of their column and row: where they are in `cells`.
    found: Vec<Found>,
}

#[derive(Clone, Copy)]
struct Found {
    column: i32,
    row: i32,
    index: usize,
}

struct CellOver {
    /// Share of the strip.
    share: f64,
    /// At the first visit, and what is new at the second.
    first: f64,
    new: f64,
}

/// Cells on a side of the block that is remembered, a power of two.
const REMEMBERED: i32 = 32;

impl FieldOver {
    fn read(&mut self, patches: &Patches, normals: &Normals, frame: Frame, strip: &StripPlace) {
        let unknown = Found { column: i32::MAX, row: i32::MAX, index: 0 };
        self.cells.clear();
        self.found.clear();
        self.found.resize((REMEMBERED * REMEMBERED) as usize, unknown);
        let parts = cells_of_parts(strip, patches.cell, frame, |column, row| {
            let last = ((column & (REMEMBERED - 1)) * REMEMBERED + (row & (REMEMBERED - 1))) as usize;
            let found = self.found[last];
            if found.column == column && found.row == row {
                self.cells[found.index].share += 1.0;
                return;
            }
            self.found[last] = Found { column, row, index: self.cells.len() };
            let (first, new) = patches.field_in(normals, column, row);
            self.cells.push(CellOver { share: 1.0, first, new });
        });
        self.cells.iter_mut().for_each(|cell| cell.share /= parts);
    }
}

/// Shows the cell of the middle of every part of a strip, parts being no larger than half a cell; how many there are.
pub(super) fn cells_of_parts(strip: &StripPlace, cell_m: f64, frame: Frame, mut show: impl FnMut(i32, i32)) -> f64 {
    let parts = |side: f64| (2.0 * side / cell_m).ceil().max(1.0);
    let (columns, rows) = (parts(strip.length_m), parts(strip.width_m));
    let (cos, sin) = strip.direction;
    for i in 0..columns as usize {
        for j in 0..rows as usize {
            let along = strip.length_m * (i as f64 + 0.5) / columns;
            let across = strip.width_m * ((j as f64 + 0.5) / rows - 0.5);
            let place = (strip.start.0 + along * cos - across * sin, strip.start.1 + along * sin + across * cos);
            let (x, y) = frame.from_site(place.0, place.1);
            let cell = |v: f64| (v / cell_m).floor() as i32;
            show(cell(x), cell(y));
        }
    }
    columns * rows
}

impl AnimalSite<'_> {
    /// Reads the field of the patches under a strip, for all kinds of this site whose patches are the same.
    pub fn read_field(&self, strip: &StripPlace, field: &mut FieldOver) {
        if let Some(patches) = &self.patches {
            field.read(patches, &self.reef.normals, self.frame, strip);
        }
    }

    /// Density of the patches over its mean, averaged over what was read of their field, at the first visit and the second.
    pub fn patches_in(&self, field: &FieldOver) -> [f64; 2] {
        let Some(patches) = &self.patches else { return [1.0; 2] };
        let mut means = [0.0; 2];
        for cell in &field.cells {
            let [first, second] = patches.densities((cell.first, cell.new));
            means = [means[0] + cell.share * first, means[1] + cell.share * second];
        }
        means
    }
}
