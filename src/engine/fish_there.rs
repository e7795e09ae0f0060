//! The fish of a whole site at one moment, for pictures.

use super::survey_site::ZoneSurvey;
use crate::random::{Key, Purpose, stream};
use crate::reef::fish::SchoolSizes;
use crate::reef::{MOST_STATES, SamePlace, StripPlace, Visit, ZoneSite};
use rand::RngExt;
use rand_distr::{Distribution, Poisson, StandardNormal};

/// Schools whose middle lies farther beyond the edge of a site than so many spreads are left out.
const BEYOND_SPREADS: f64 = 4.5;
/// Squares in which schools are drawn: as large as a cell of the patches, but no more than so many along a site.
const MOST_SQUARES: f64 = 200.0;

/// One group on a site at the start of the first visit: schools whose middles are Poisson with the density of the site and of
/// its patches, averaged over squares of the size of their cells. It is the law from which belts draw their fish, drawn once for
/// the whole site; belts draw their own.
pub struct FishThere<'a> {
    sizes: &'a SchoolSizes,
    spread_m: f64,
    key: Key,
    size_m: (f64, f64),
    squares: Vec<Square>,
}

struct Square {
    from: (f64, f64),
    size: (f64, f64),
    /// Mean number of schools with their middle in it.
    schools: f64,
}

impl<'s> ZoneSurvey<'s> {
    /// The how-manieth group of the zone on a site, which may lie at the place of another zone's.
    pub fn fish_there(&self, (key, place): (Key, Option<SamePlace>), number: usize) -> FishThere<'s> {
        let covers = match self.reef.site_at(key, place) {
            ZoneSite::Virtual(mut site) => self.coral_of_fish(&mut site, Visit::First),
            ZoneSite::Mapped(_) => [1.0; MOST_STATES],
        };
        let mut group = self.groups((key, place), &covers).swap_remove(number);
        let (spec, sizes) = (&group.group.spec, group.reef.sizes());
        let margin = BEYOND_SPREADS * spec.spread_m;
        let size_m = (self.zone.length_m, self.zone.width_m);
        let (length, width) = (size_m.0 + 2.0 * margin, size_m.1 + 2.0 * margin);
        let side =
            group.site.reef.law.spec.patch_cell_m().unwrap_or(f64::INFINITY).max(length.max(width) / MOST_SQUARES);
        let (columns, rows) = ((length / side).ceil().max(1.0), (width / side).ceil().max(1.0));
        let size = (length / columns, width / rows);
        let per_m2 = group.by_coral[0] * group.site.groups_per_m2(0) / sizes.mean();
        let mut squares = Vec::new();
        for row in 0..rows as usize {
            for column in 0..columns as usize {
                let from = (column as f64 * size.0 - margin, row as f64 * size.1 - margin);
                let start = (from.0, from.1 + 0.5 * size.1);
                let strip = StripPlace { start, direction: (1.0, 0.0), length_m: size.0, width_m: size.1 };
                let schools = per_m2 * size.0 * size.1 * group.site.patches_over(&strip)[0];
                squares.push(Square { from, size, schools });
            }
        }
        FishThere { sizes, spread_m: spec.spread_m, key: group.key.child(Purpose::Fish, u64::MAX), size_m, squares }
    }
}

impl FishThere<'_> {
    /// Fish expected on the site.
    pub fn expected(&self) -> f64 {
        let inside = |from: f64, size: f64, most: f64| ((from + size).min(most) - from.max(0.0)).max(0.0) / size;
        let of_square = |square: &Square| {
            let share = inside(square.from.0, square.size.0, self.size_m.0);
            square.schools * share * inside(square.from.1, square.size.1, self.size_m.1)
        };
        self.sizes.mean() * self.squares.iter().map(of_square).sum::<f64>()
    }

    /// Where the fish on the site are, m, school by school; members beyond its edges, and schools without any on it, are left
    /// out.
    pub fn draw(&self) -> Vec<Vec<(f64, f64)>> {
        let mut rng = stream(self.key);
        let mut schools = Vec::new();
        for square in &self.squares {
            let number = Poisson::new(square.schools).map_or(0, |law| law.sample(&mut rng) as usize);
            for _ in 0..number {
                let mut middle = |from: f64, size: f64| from + size * rng.random::<f64>();
                let middle = (middle(square.from.0, square.size.0), middle(square.from.1, square.size.1));
                let size = self.sizes.draw(rng.random());
                let mut fish = || {
                    let mut aside = || self.spread_m * rng.sample::<f64, _>(StandardNormal);
                    (middle.0 + aside(), middle.1 + aside())
                };
                let on_site =
                    |&(x, y): &(f64, f64)| (0.0..self.size_m.0).contains(&x) && (0.0..self.size_m.1).contains(&y);
                let there: Vec<(f64, f64)> = (0..size).map(|_| fish()).filter(on_site).collect();
                if !there.is_empty() {
                    schools.push(there);
                }
            }
        }
        schools
    }
}
