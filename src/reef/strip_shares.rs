//! How much of each cell of a strip lies in the rectangle about its line.

use super::machine::for_this_processor;
use super::strip::Strip;
use super::strip_field::FieldCells;

/// A square cell of side 1 as seen along a direction: how much of it lies before a place.
#[derive(Clone, Copy)]
struct Seen {
    /// Half of how far it is seen whole in width, and half of all.
    plain: f32,
    half: f32,
    per_longer: f32,
    per_shorter: f32,
}

impl Seen {
    fn new(ux: f32, uy: f32) -> Self {
        let (longer, shorter) = (ux.abs().max(uy.abs()), ux.abs().min(uy.abs()).max(1e-6));
        let (plain, half) = (0.5 * (longer - shorter), 0.5 * (longer + shorter));
        Self { plain, half, per_longer: 1.0 / longer, per_shorter: 0.5 / shorter }
    }

    /// Share of the cell between its middle and a place beside it: from -.5 to .5.
    #[inline(always)]
    fn up_to(self, place: f32) -> f32 {
        let far = place.abs().min(self.half);
        let over = (far - self.plain).max(0.0);
        ((far - over * over * self.per_shorter) * self.per_longer).copysign(place)
    }

    /// Share of the cell that lies no farther than `half` from a line at `distance` from its middle.
    #[inline(always)]
    fn within(self, distance: f32, half: f32) -> f32 {
        self.up_to(half - distance) + self.up_to(half + distance)
    }
}

for_this_processor! {
    /// Share of each cell of `side` metres that lies along the line of the strip and within `half_width` of it: exact but in cells at
    /// the corners, which an end and a long side of the rectangle cut both. There it is the product of the shares that either
    /// leaves.
    pub(super) fn shares_within(shares: &mut [f32], strip: &Strip, field: &FieldCells, side: f32, half_width: f32) {
        let FieldCells { first, rows, first_rows } = *field;
        let line = &strip.line;
        let per_m = 1.0 / side;
        let seen = Seen::new(line.ux, line.uy);
        let (half_length, half_width) = (0.5 * line.length * per_m, half_width * per_m);
        let columns = || first_rows.iter().enumerate().map(|(c, &first_row)| {
            let x = (first + c as i32) as f32 + 0.5 - line.x * per_m;
            (x, first_row as f32 + 0.5 - line.y * per_m)
        });
        for (column, (x, lowest)) in shares.chunks_exact_mut(rows).zip(columns()) {
            let across = lowest * line.ux - x * line.uy;
            for (t, share) in column.iter_mut().enumerate() {
                *share = across + t as i32 as f32 * line.ux;
            }
        }
        for share in shares.iter_mut() {
            *share = seen.within(*share, half_width);
        }
        for (column, (x, lowest)) in shares.chunks_exact_mut(rows).zip(columns()) {
            let along = x * line.ux + lowest * line.uy - half_length;
            let last = along + (rows - 1) as f32 * line.uy;
            // The ends cut nothing off most columns.
            if along.abs().max(last.abs()) + seen.half > half_length {
                for (t, share) in column.iter_mut().enumerate() {
                    *share *= seen.within(along + t as i32 as f32 * line.uy, half_length);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::strip::FrameLine;
    use super::*;

    /// Shares of all cells against a fine grid of places in the rectangle.
    #[test]
    fn shares_are_those_of_many_places_in_the_rectangle() {
        let side = 0.5f32;
        for (length, width) in [(10.0f32, 2.0f32), (4.0, 4.0), (6.0, 0.3)] {
            for turn in 0..24 {
                let (uy, ux) = (0.27 * turn as f32).sin_cos();
                let strip = Strip::new(&FrameLine { x: 31.3, y: -7.7, ux, uy, length });
                let columns = strip.columns(side, 0.5 * width + 1e-3);
                let first_rows: Vec<i32> =
                    (columns.first..=columns.last).map(|column| strip.first_row(&columns, column)).collect();
                let rows = columns.rows;
                let field = FieldCells { first: columns.first, rows, first_rows: &first_rows };
                let mut shares = vec![0.0; columns.count() * rows];
                shares_within(&mut shares, &strip, &field, side, 0.5 * width);
                let mut placed = vec![0.0f32; shares.len()];
                let (along, across) = ((length / 0.01) as usize, (width / 0.01) as usize);
                let each = length * width / (side * side) / (along * across) as f32;
                for i in 0..along {
                    for j in 0..across {
                        let a = length * (i as f32 + 0.5) / along as f32;
                        let b = width * ((j as f32 + 0.5) / across as f32 - 0.5);
                        let line = &strip.line;
                        let (x, y) = (line.x + a * line.ux - b * line.uy, line.y + a * line.uy + b * line.ux);
                        let column = ((x / side).floor() as i32 - columns.first) as usize;
                        placed[column * rows + ((y / side).floor() as i32 - first_rows[column]) as usize] += each;
                    }
                }
                let mut in_corners = 0;
                for (c, (share, placed)) in shares.iter().zip(&placed).enumerate() {
                    let (column, row) = ((c / rows) as i32, (c % rows) as i32);
                    let x = ((columns.first + column) as f32 + 0.5) * side - strip.line.x;
                    let y = ((first_rows[column as usize] + row) as f32 + 0.5) * side - strip.line.y;
                    let (a, b) = (x * strip.line.ux + y * strip.line.uy, y * strip.line.ux - x * strip.line.uy);
                    let beyond = (a - 0.5 * length).abs() - 0.5 * length;
                    let aside = b.abs() - 0.5 * width;
                    let is_corner = beyond.abs() < 0.36 && (aside.abs() < 0.36 || width < side);
                    in_corners += i32::from(is_corner);
                    // The second is what the grid of places itself leaves.
                    let allowed = if is_corner { 0.26 } else { 0.012 };
                    assert!((share - placed).abs() < allowed, "{length} {width} {turn}: {c} {share} {placed}");
                }
                assert!(in_corners < 40 && shares.iter().all(|&share| (-1e-6..1.00001).contains(&share)));
                let (all, exact) = (shares.iter().sum::<f32>(), length * width / (side * side));
                assert!((all / exact - 1.0).abs() < 0.02, "{length} {width} {turn}: {all} {exact}");
            }
        }
    }
}
