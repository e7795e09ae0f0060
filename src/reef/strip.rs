use super::fast::floor;
use crate::random::{KEY_X, KEY_Y};

/// A straight line in the turned frame of a site, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrameLine {
    pub x: f32,
    pub y: f32,
    /// Direction, a unit vector.
    pub ux: f32,
    pub uy: f32,
    pub length: f32,
}

/// A line with its axes exchanged where needed, so that it runs more along x than along y: cells are then walked by
/// columns, a few rows each.
#[derive(Clone, Copy, Debug)]
pub struct Strip {
    pub line: FrameLine,
    pub swapped: bool,
    slope: f32,
    /// Height of the strip over its width across the line.
    stretch: f32,
    /// y of the line at x = 0.
    intercept: f32,
    low_x: f32,
    high_x: f32,
}

/// The cells of one size that a strip touches: columns `first ..= last`, each with the same number of rows.
#[derive(Clone, Copy, Debug)]
pub struct Columns {
    pub first: i32,
    pub last: i32,
    pub rows: usize,
    pub cell: f32,
    per_m: f32,
    reach: f32,
}

impl Strip {
    pub fn new(line: &FrameLine) -> Self {
        let swapped = line.ux.abs() < line.uy.abs();
        let line = if swapped {
            FrameLine { x: line.y, y: line.x, ux: line.uy, uy: line.ux, length: line.length }
        } else {
            *line
        };
        let slope = line.uy / line.ux;
        let end = line.x + line.ux * line.length;
        Self {
            line,
            swapped,
            slope,
            stretch: (1.0 + slope * slope).sqrt(),
            intercept: line.y - line.x * slope,
            low_x: line.x.min(end),
            high_x: line.x.max(end),
        }
    }

    /// The square cells of side `cell` that come within `reach` of the line.
    pub fn columns(&self, cell: f32, reach: f32) -> Columns {
        let per_m = 1.0 / cell;
        let rows = ((self.slope.abs() * cell + 2.0 * reach * self.stretch) * per_m) as usize + 2;
        Columns {
            first: floor((self.low_x - reach) * per_m),
            last: floor((self.high_x + reach) * per_m),
            rows,
            cell,
            per_m,
            reach,
        }
    }

    /// What a step of one column and one row adds to the key of a cell or a node.
    #[inline(always)]
    pub fn keys(&self) -> (u64, u64) {
        if self.swapped { (KEY_Y, KEY_X) } else { (KEY_X, KEY_Y) }
    }

    /// The place in the frame of what lies `along` and `across` the line, m.
    #[inline(always)]
    pub fn in_frame(&self, along: f32, across: f32) -> (f32, f32) {
        let line = &self.line;
        let across = if self.swapped { -across } else { across };
        let (x, y) = (line.x + along * line.ux - across * line.uy, line.y + along * line.uy + across * line.ux);
        if self.swapped { (y, x) } else { (x, y) }
    }

    /// The first row of a column.
    #[inline(always)]
    pub fn first_row(&self, columns: &Columns, column: i32) -> i32 {
        let y = self.intercept + self.slope * (column as f32 * columns.cell);
        let lowest = y.min(y + self.slope * columns.cell) - columns.reach * self.stretch;
        floor(lowest * columns.per_m)
    }
}

impl Columns {
    pub fn count(&self) -> usize {
        (self.last - self.first + 1) as usize
    }
}
