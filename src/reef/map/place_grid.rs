use super::super::strip::{FrameLine, Strip};

/// Things on a map by square cells, so that those near a line are found without looking at the others.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceGrid {
    cell: f32,
    columns: usize,
    rows: usize,
    /// Where each cell begins in `items`, row by row, and the end.
    starts: Vec<u32>,
    items: Vec<u32>,
}

/// Things in a cell that are aimed at.
const PER_CELL: f64 = 2.0;
const SMALLEST_CELL_M: f64 = 0.05;
/// Cells of a map in all.
const MOST_CELLS: f64 = 4e6;

impl PlaceGrid {
    /// Of places on a map of a size (m); `reach` is how far from its place the largest thing reaches.
    pub fn new(size: (f64, f64), places: &[(f64, f64)], reach: f64) -> Self {
        let area = size.0 * size.1;
        let wanted = libm::sqrt(PER_CELL * area / places.len().max(1) as f64);
        let cell = wanted.max(0.5 * reach).max(SMALLEST_CELL_M).max(libm::sqrt(area / MOST_CELLS)) as f32;
        let number = |side: f64| ((side / f64::from(cell)) as usize) + 1;
        let (columns, rows) = (number(size.0), number(size.1));
        let of = |&(x, y): &(f64, f64)| {
            let index = |v: f64, number: usize| ((v / f64::from(cell)).max(0.0) as usize).min(number - 1);
            index(y, rows) * columns + index(x, columns)
        };
        let mut starts = vec![0u32; columns * rows + 1];
        places.iter().for_each(|place| starts[1 + of(place)] += 1);
        for c in 1..starts.len() {
            starts[c] += starts[c - 1];
        }
        let mut next = starts.clone();
        let mut items = vec![0; places.len()];
        for (item, place) in places.iter().enumerate() {
            let slot = &mut next[of(place)];
            items[*slot as usize] = item as u32;
            *slot += 1;
        }
        Self { cell, columns, rows, starts, items }
    }

    /// Calls `with` for everything in the cells that come within `reach` of a line (and for some beyond).
    #[inline]
    pub fn near(&self, line: &FrameLine, reach: f32, mut with: impl FnMut(usize)) {
        let strip = Strip::new(line);
        // A millimetre for the single precision of the cells' bounds.
        let columns = strip.columns(self.cell, reach + 1e-3);
        let (most_columns, most_rows) =
            if strip.swapped { (self.rows, self.columns) } else { (self.columns, self.rows) };
        let last = columns.last.min(most_columns as i32 - 1);
        for column in columns.first.max(0)..=last {
            let first_row = strip.first_row(&columns, column);
            for row in first_row.max(0)..(first_row + columns.rows as i32).min(most_rows as i32) {
                let (i, j) = if strip.swapped { (row, column) } else { (column, row) };
                let cell = j as usize * self.columns + i as usize;
                for &item in &self.items[self.starts[cell] as usize..self.starts[cell + 1] as usize] {
                    with(item as usize);
                }
            }
        }
    }

    /// Calls `with` for everything in the cells within `reach` of a place, until it says that it has seen enough.
    #[inline]
    pub fn around(&self, (x, y): (f64, f64), reach: f64, mut with: impl FnMut(usize) -> bool) {
        let per_m = 1.0 / f64::from(self.cell);
        let range = |v: f64, number: usize| {
            let low = ((v - reach) * per_m).max(0.0) as usize;
            let high = ((v + reach) * per_m).max(0.0) as usize;
            low.min(number - 1)..high.min(number - 1) + 1
        };
        for row in range(y, self.rows) {
            let columns = range(x, self.columns);
            let (from, to) = (row * self.columns + columns.start, row * self.columns + columns.end);
            for &item in &self.items[self.starts[from] as usize..self.starts[to] as usize] {
                if with(item as usize) {
                    return;
                }
            }
        }
    }
}
