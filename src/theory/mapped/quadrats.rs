use super::MapTheory;
use super::starts::Starts;
use super::sums::{Sums, Told};
use crate::design::{RecruitMeasure, is_recruit};
use crate::random::Key;
use crate::reef::{Colonies, Visit};
use crate::survey::{Dimensions, GRID_SIDE, Place};
use crate::theory::UnitMoments;

/// Places of a line of quadrats, whose few recruits differ much from place to place; at one in so many of them the free bottom is
/// looked at too, which costs more and differs less.
const PLACES: usize = 32_768;
const FREE_AT: usize = 8;

/// Quadrats along a line: how many, from start to start, and their side, m.
#[derive(Clone, Copy)]
struct Quadrats {
    number: usize,
    every_m: f64,
    side_m: f64,
    length_m: f64,
}

/// What the quadrats of one line have in a state.
#[derive(Clone, Copy, Default)]
struct Counts {
    /// Recruits as each of [`RecruitMeasure::ALL`] counts them.
    recruits: [f64; RecruitMeasure::ALL.len()],
    /// Share of the points of the grids under no colony.
    free: f64,
}

impl MapTheory {
    /// Moments of all that quadrats along a line tell of the smallest colonies of the map.
    pub(super) fn told_of_recruits(&self, dimensions: Dimensions) -> Vec<(String, UnitMoments)> {
        let Dimensions::RecruitQuadrats { length_m, quadrat_m: side_m, every_m } = dimensions else {
            return Vec::new();
        };
        let Some(map) = self.reef.colonies() else { return Vec::new() };
        let quadrats = Quadrats { number: dimensions.quadrats().unwrap_or(1), every_m, side_m, length_m };
        let area = quadrats.number as f64 * side_m * side_m;
        let states = self.reef.states();
        let mut sums = vec![Sums::new(states); RecruitMeasure::ALL.len()];
        let starts = Starts::new(self, (length_m, side_m));
        for number in 0..PLACES {
            let place = starts.first(number);
            let sees_free = number % FREE_AT == 0;
            let first = self.in_quadrats(quadrats, place, Visit::First, sees_free);
            let second = if states > 1 {
                self.in_quadrats(quadrats, starts.second(number, place), Visit::Second, sees_free)
            } else {
                Vec::new()
            };
            for ((m, measure), sums) in RecruitMeasure::ALL.into_iter().enumerate().zip(&mut sums) {
                if measure == RecruitMeasure::OnHardBottom && !sees_free {
                    continue;
                }
                sums.add(|state| {
                    let counts = if state == 0 { &first[0] } else { &second[state] };
                    Told::exactly(match measure {
                        RecruitMeasure::OnHardBottom if counts.free == 0.0 => f64::NAN,
                        RecruitMeasure::OnHardBottom => counts.recruits[m] / (area * counts.free),
                        _ => counts.recruits[m] / area,
                    })
                });
            }
        }
        let whole = map.size_m().0 * map.size_m().1;
        let truth = |measure: RecruitMeasure, state: usize| {
            let alive = map.discs.iter().enumerate().filter(|(index, _)| self.reef.is_alive(*index, state));
            let number = alive.filter(|(_, disc)| measure.counts_mapped(2.0 * disc.radius)).count() as f64;
            match measure {
                RecruitMeasure::OnHardBottom => number / (whole * (1.0 - self.reef.cover(state))),
                _ => number / whole,
            }
        };
        let told = RecruitMeasure::ALL.into_iter().zip(&sums).map(|(measure, sums)| {
            let truths = (0..states).map(|state| truth(measure, state)).collect();
            (measure.name().to_owned(), sums.moments(truths, self.relay_sd.is_some(), false))
        });
        told.collect()
    }

    /// What the quadrats of a line have at a visit, by state: each colony is looked at in each quadrat, and where
    /// that is asked each point of the grids by itself.
    fn in_quadrats(&self, quadrats: Quadrats, place: Place, visit: Visit, sees_free: bool) -> Vec<Counts> {
        let Quadrats { number, every_m, side_m, length_m } = quadrats;
        let mut counts = vec![Counts::default(); self.reef.states()];
        let mut listed = Colonies::default();
        let site = self.reef.site(Key(0));
        site.list((place.start, place.heading), length_m, 0.5 * side_m as f32, visit, &mut listed);
        for colony in listed.iter().filter(|colony| is_recruit(2.0 * f64::from(colony.radius))) {
            let (along, across) = (f64::from(colony.along), f64::from(colony.across));
            let inside = |q: usize| (0.0..side_m).contains(&(along - q as f64 * every_m));
            if !(-0.5 * side_m..0.5 * side_m).contains(&across) || !(0..number).any(inside) {
                continue;
            }
            let there = counts.iter_mut().enumerate().filter(|(state, _)| colony.alive >> state & 1 == 1);
            for (_, counts) in there {
                for (measure, count) in RecruitMeasure::ALL.into_iter().zip(&mut counts.recruits) {
                    *count += f64::from(u8::from(measure.counts_mapped(2.0 * f64::from(colony.radius))));
                }
            }
        }
        if sees_free {
            self.add_free(quadrats, place, &mut counts);
        }
        counts
    }

    /// Adds the share of the points of the grids that no colony covers, by state.
    fn add_free(&self, quadrats: Quadrats, place: Place, counts: &mut [Counts]) {
        let Quadrats { number, every_m, side_m, .. } = quadrats;
        let middle = |k: usize| (k as f64 + 0.5) / GRID_SIDE as f64 * side_m;
        let each = 1.0 / (number * GRID_SIDE * GRID_SIDE) as f64;
        for q in 0..number {
            for point in 0..GRID_SIDE * GRID_SIDE {
                let along = q as f64 * every_m + middle(point / GRID_SIDE);
                let (x, y) = place.at(along, middle(point % GRID_SIDE) - 0.5 * side_m);
                let covered = self.reef.covered(x, y);
                for (state, counts) in counts.iter_mut().enumerate() {
                    counts.free += if covered >> state & 1 == 0 { each } else { 0.0 };
                }
            }
        }
    }
}
