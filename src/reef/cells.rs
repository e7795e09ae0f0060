//! The cells of the patch field near a line: how many colonies of each layer are expected in them, and which have one.
//!
//! All layers are listed together, one after the other: what it costs to begin and to end a short loop counts.

use super::fast;
use super::layers::{LARGEST_MEAN, Layer};
use super::listed::room;
use super::machine::for_this_processor;
use super::strip::Strip;
use super::strip_field::FieldCells;
use crate::random::mix;

/// The cells of all layers: cell `i` of layer `l` is number `l * per_layer + i`, `i` being its place in the field's arrays.
#[derive(Default)]
pub(super) struct Cells {
    pub(super) per_layer: usize,
    layers: usize,
    /// Lower corners of the cells of any layer, from the start of the line, m.
    pub(super) x: Vec<f32>,
    pub(super) y: Vec<f32>,
    pub(super) hashes: Vec<u64>,
    /// Mean counts.
    pub(super) means: Vec<f32>,
    /// Probability that a cell is empty.
    pub(super) empty: Vec<f32>,
    /// The same in each state, one state after the other.
    pub(super) empty_in_state: Vec<f32>,
    /// Whether it has a colony that may come near: 1 or 0.
    pub(super) occupied: Vec<u32>,
    /// Of the cells of any layer: the key besides that of the layer, and how far the cell lies from the line at least,
    /// beyond its ends or aside of it, m.
    keys: Vec<u64>,
    distances: Vec<f32>,
}

impl Cells {
    /// How many cells there are in all layers.
    #[inline(always)]
    pub(super) fn number(&self) -> usize {
        self.layers * self.per_layer
    }

    /// The layer of a cell.
    #[inline(always)]
    pub(super) fn layer(&self, cell: u32) -> usize {
        cell as usize / self.per_layer
    }
}

for_this_processor! {
    /// The cells of the field near a line: where they are, how far from it, their keys.
    pub(super) fn lay_out(cells: &mut Cells, strip: &Strip, field: &FieldCells, side: f32, layers: usize) {
        let FieldCells { first, rows, first_rows } = *field;
        let number = rows * first_rows.len();
        cells.per_layer = number;
        cells.layers = layers;
        room(&mut cells.keys, number);
        room(&mut cells.distances, number);
        room(&mut cells.x, number);
        room(&mut cells.y, number);
        let (key_column, key_row) = strip.keys();
        let line = &strip.line;
        let places = cells.x.chunks_exact_mut(rows).zip(cells.y.chunks_exact_mut(rows));
        let columns = first_rows.iter().zip(cells.keys.chunks_exact_mut(rows)).zip(places);
        for (c, ((&first_row, keys), (xs, ys))) in columns.enumerate() {
            let column = first + c as i32;
            xs.fill(column as f32 * side - line.x);
            let lowest = (column as i64 as u64)
                .wrapping_mul(key_column)
                .wrapping_add((first_row as i64 as u64).wrapping_mul(key_row));
            for (t, (key, y)) in keys.iter_mut().zip(ys).enumerate() {
                *key = lowest.wrapping_add((t as u64).wrapping_mul(key_row));
                *y = (first_row + t as i32) as f32 * side - line.y;
            }
        }
        let middle = 0.5 * line.length;
        // Half a cell as seen along its diagonal.
        let half = 0.5 * side;
        let seen = half * (line.ux.abs() + line.uy.abs());
        for (distance, (x, y)) in cells.distances[..number].iter_mut().zip(cells.x.iter().zip(&cells.y)) {
            let (x, y) = (x + half, y + half);
            let (along, across) = (x * line.ux + y * line.uy, y * line.ux - x * line.uy);
            let (beyond, aside) = ((along - middle).abs() - middle, across.abs());
            *distance = if beyond > aside { beyond } else { aside } - seen;
        }
    }
}

for_this_processor! {
    /// Hashes and mean counts of the cells of all layers, from the density of all colonies in the cells (times their area).
    pub(super) fn expect(cells: &mut Cells, layers: &[Layer], keys: &[u64], densities: &[f32], area: f32) {
        let (number, all) = (cells.per_layer, cells.number());
        room(&mut cells.hashes, all);
        room(&mut cells.means, all);
        let of_layers = cells.hashes.chunks_exact_mut(number).zip(cells.means.chunks_exact_mut(number));
        for ((layer, layer_key), (hashes, means)) in layers.iter().zip(keys).zip(of_layers) {
            for (hash, key) in hashes.iter_mut().zip(&cells.keys) {
                *hash = mix(layer_key.wrapping_add(*key));
            }
            let scale = layer.share as f32 * area;
            for (mean, density) in means.iter_mut().zip(densities) {
                *mean = (scale * density).min(LARGEST_MEAN);
            }
        }
    }
}

for_this_processor! {
    /// Which cells have a colony when a share of the mean count is expected in each, by one of the three uniforms of their
    /// hashes. Cells from which none comes within `side` of the line are left out.
    pub(super) fn occupy(cells: &mut Cells, layers: &[Layer], side: f32, share: f32, part: usize) {
        let (number, all) = (cells.per_layer, cells.number());
        room(&mut cells.empty, all);
        room(&mut cells.occupied, all);
        for (bits, &hash) in cells.occupied[..all].iter_mut().zip(&cells.hashes[..all]) {
            *bits = fast::third_bits(hash, part) as u32;
        }
        for (layer, of) in layers.iter().enumerate() {
            let range = layer * number..(layer + 1) * number;
            // A hair for rounding.
            let reach = of.reach + side + 1e-3;
            let found = cells.occupied[range.clone()].iter_mut().zip(&mut cells.empty[range.clone()]);
            for (((occupied, empty), mean), &distance) in found.zip(&cells.means[range]).zip(&cells.distances) {
                *empty = fast::exp(-share * mean);
                *occupied = u32::from((fast::of_third(*occupied as i32) > *empty) & (distance < reach));
            }
        }
    }
}

for_this_processor! {
    /// Probability that a cell is empty in each state but the first, which have these shares of the mean counts.
    pub(super) fn share_out(cells: &mut Cells, shares: &[f32]) {
        let number = cells.number();
        room(&mut cells.empty_in_state, shares.len() * number);
        for (share, of_state) in shares.iter().zip(cells.empty_in_state.chunks_exact_mut(number)).skip(1) {
            for (empty, mean) in of_state.iter_mut().zip(&cells.means[..number]) {
                *empty = fast::exp(-mean * share);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};
    use crate::reef::test_laws::of_one_reef;
    use crate::reef::{CoralLaw, CoralReef, NamedReef, Patchiness, ReefSpec, SiteReef, SizeLaw, Visit, Walk};

    /// Colonies with their centre in a belt are as many as the law says, also where a cell has hundreds of them: small
    /// colonies, strong patches.
    #[test]
    fn belts_have_as_many_colonies_as_the_law_says() {
        let small = SizeLaw { median_m: 0.02, ln_sd: 0.1, max_m: 0.03 };
        let usual = NamedReef::RubbleSlope.spec().sizes;
        for (sizes, patch_sd, cover) in [(small, 0.0, 0.28), (small, 1.0, 0.3), (usual, 1.35, 0.15)] {
            let patch = Patchiness { sd: patch_sd, scale_m: 1.5 };
            let spec = ReefSpec { sizes, patch, along: Patchiness { sd: 0.2, scale_m: 60.0 } };
            let law = CoralLaw { site_sd: 0.2, field_memory: 0.8, ..of_one_reef(spec, cover) };
            let density = law.mean_density(0);
            let reef = CoralReef::new(law, |_| 0.0);
            let mut walk = Walk::default();
            let (length, side) = (4.0f32, 0.25f32);
            for visit in [Visit::First, Visit::Second] {
                let mut count = |trial: u64| {
                    let mut site = SiteReef::new(&reef, Key::seed(7).child(Purpose::Site, trial));
                    let line = site.frame_line((3.0, 2.0), (1.0, 0.0), f64::from(length));
                    walk.read(&mut site, &line, side, visit);
                    let inside = walk
                        .colonies
                        .iter()
                        .filter(|colony| colony.across.abs() < side && 0.0 <= colony.along && colony.along < length);
                    inside.count() as f64 / f64::from(2.0 * side * length) / density
                };
                let counts: Vec<f64> = (0..1500).map(&mut count).collect();
                assert_mean(&counts, 1.0);
            }
        }
    }
}
