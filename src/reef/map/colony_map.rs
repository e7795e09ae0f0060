use super::place_grid::PlaceGrid;
use crate::geometry::union_length;
use std::f64::consts::PI;

/// A mapped colony, seen from above, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MappedDisc {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

/// Things of one kind that have a place and no size: animals.
#[derive(Clone, Debug, PartialEq)]
pub struct MapItems {
    pub name: String,
    pub places: Vec<(f64, f64)>,
    pub(super) grid: PlaceGrid,
}

/// A list of colonies of hard coral, and of animals by name, on a rectangle.
#[derive(Clone, Debug, PartialEq)]
pub struct ColonyMap {
    size_m: (f64, f64),
    pub discs: Vec<MappedDisc>,
    pub animals: Vec<MapItems>,
    pub(super) grid: PlaceGrid,
    largest_radius_m: f64,
}

/// Lines on which a cover is measured: the error of the area of a disc of d metres across, on a map w metres wide, is of the
/// order of (w / (LINES d))^1.5 of it, and averages out over discs.
const LINES: usize = 8192;

impl ColonyMap {
    /// Of a rectangle from (0, 0) to `size_m`.
    pub fn new(size_m: (f64, f64), discs: Vec<MappedDisc>, animals: Vec<(String, Vec<(f64, f64)>)>) -> Self {
        let largest_radius_m = discs.iter().fold(0.0, |largest: f64, disc| largest.max(disc.radius));
        let places: Vec<(f64, f64)> = discs.iter().map(|disc| (disc.x, disc.y)).collect();
        let items = animals.into_iter().map(|(name, places)| {
            let grid = PlaceGrid::new(size_m, &places, 0.0);
            MapItems { name, places, grid }
        });
        Self {
            animals: items.collect(),
            grid: PlaceGrid::new(size_m, &places, largest_radius_m),
            size_m,
            discs,
            largest_radius_m,
        }
    }

    /// This list and then a later one of the same rectangle: all colonies, and the animals that this one names.
    pub fn followed_by(&self, later: &ColonyMap) -> ColonyMap {
        let discs = self.discs.iter().chain(&later.discs).copied().collect();
        let animals = self.animals.iter().map(|kind| {
            let at_later = later.animals.iter().filter(|other| other.name == kind.name).flat_map(|other| &other.places);
            (kind.name.clone(), kind.places.iter().chain(at_later).copied().collect())
        });
        ColonyMap::new(self.size_m, discs, animals.collect())
    }

    pub fn size_m(&self) -> (f64, f64) {
        self.size_m
    }

    pub fn largest_radius_m(&self) -> f64 {
        self.largest_radius_m
    }

    /// Share of the rectangle under the discs that `is_there` keeps, overlaps counted once: exact chords on equally spaced
    /// lines.
    pub fn cover(&self, is_there: impl Fn(usize) -> bool) -> f64 {
        let (length, width) = self.size_m;
        let step = width / LINES as f64;
        let mut chords: Vec<Vec<(f64, f64)>> = vec![Vec::new(); LINES];
        for (_, disc) in self.discs.iter().enumerate().filter(|(index, _)| is_there(*index)) {
            let first = ((disc.y - disc.radius) / step - 0.5).ceil().max(0.0) as usize;
            let last = ((disc.y + disc.radius) / step - 0.5).floor().min(LINES as f64 - 1.0);
            if last < 0.0 {
                continue;
            }
            for (line, chords) in chords.iter_mut().enumerate().take(last as usize + 1).skip(first) {
                let off = (line as f64 + 0.5) * step - disc.y;
                let half = libm::sqrt((disc.radius * disc.radius - off * off).max(0.0));
                chords.push((disc.x - half, disc.x + half));
            }
        }
        chords.iter_mut().map(|chords| union_length(chords, length)).sum::<f64>() / (LINES as f64 * length)
    }

    /// Colonies whose centre lies on the map, per m2: all of them.
    pub fn density(&self, is_there: impl Fn(usize) -> bool) -> f64 {
        (0..self.discs.len()).filter(|&index| is_there(index)).count() as f64 / (self.size_m.0 * self.size_m.1)
    }

    /// Sum of the areas of the colonies over that of the map; overlaps and what lies beyond the edge count.
    pub fn area_share(&self, is_there: impl Fn(usize) -> bool) -> f64 {
        let there = self.discs.iter().enumerate().filter(|(index, _)| is_there(*index));
        there.map(|(_, disc)| PI * disc.radius * disc.radius).sum::<f64>() / (self.size_m.0 * self.size_m.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cover_of_a_map_counts_overlaps_once_and_ends_at_the_edge() {
        let disc = |x, y, radius| MappedDisc { x, y, radius };
        let cover = |discs: Vec<MappedDisc>| ColonyMap::new((10.0, 4.0), discs, vec![]).cover(|_| true);
        let one = PI * 0.25 / 40.0;
        assert!((cover(vec![disc(5.0, 2.0, 0.5)]) - one).abs() < 1e-7);
        assert!((cover(vec![disc(5.0, 2.0, 0.5); 3]) - one).abs() < 1e-7);
        // A quarter at a corner, a half at an edge.
        assert!((cover(vec![disc(0.0, 0.0, 0.5), disc(5.0, 4.0, 0.5)]) - 0.75 * one).abs() < 1e-7);
        // Two discs of radius 1 a radius apart: 2 pi - (2 pi / 3 - sqrt(3) / 2).
        let two = (2.0 * PI - (2.0 * PI / 3.0 - 3f64.sqrt() / 2.0)) / 40.0;
        assert!((cover(vec![disc(4.0, 2.0, 1.0), disc(5.0, 2.0, 1.0)]) - two).abs() < 1e-6);
    }
}
