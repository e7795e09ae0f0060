//! The animals of groups, of each from the outermost inwards.
//!
//! A group has a Poisson number of animals (mean M), scattered normally about its centre. Of one of them the share of all
//! animals that lie further out, `v = exp(-r^2 / (2 s^2))`, is uniform, so that the v of a group are a Poisson process of
//! rate M on (0, 1]: its arrivals are the animals in the order of their distance, the outermost first. Who wants those
//! beyond some distance takes the first of them, and the rest cost nothing: mostly none, where a strip passes by.

use super::groups::{PLACE, halves};
use super::spec::{BEYOND_REACH, Groups};
use super::target::Target;
use crate::random::{KEY_X, mix};
use crate::reef::fast;
use crate::reef::machine::for_this_processor;

/// Animals that may lie in a strip.
#[derive(Default)]
pub(super) struct Members {
    /// Name each, and the number of its group among the near ones.
    pub names: Vec<u64>,
    pub groups: Vec<u32>,
    /// The v of each, before it is scaled, as `arrival - ln(product)`; its direction as a share of a turn.
    arrivals: Vec<f32>,
    products: Vec<f32>,
    turns: Vec<f32>,
    /// Place of the centre of the group, then of the animal, along the tape and across it, m. NaN: there is none.
    pub along: Vec<f32>,
    pub across: Vec<f32>,
}

impl Members {
    pub(super) fn clear(&mut self) {
        self.names.clear();
        self.groups.clear();
        self.arrivals.clear();
        self.products.clear();
        self.turns.clear();
        self.along.clear();
        self.across.clear();
    }

    /// Adds the animals of the group `id` with no more than the share `most` of all beyond them (and perhaps a few more).
    #[inline(always)]
    pub(super) fn add(&mut self, (number, id): (usize, u64), centre: (f64, f64), groups: &Groups, most: f64) {
        let end = rate(groups) * (most.min(1.0) - BEYOND_REACH);
        let mut arrival = 0.0;
        let mut product = 1.0;
        let mut least = least_product(end);
        for n in 1u64.. {
            let name = mix(id.wrapping_add(n.wrapping_mul(KEY_X)));
            let (uniform, turn) = halves(mix(name ^ PLACE));
            product *= uniform;
            if product < least {
                return;
            }
            self.names.push(name);
            self.groups.push(number as u32);
            self.arrivals.push(arrival);
            self.products.push(product as f32);
            self.turns.push(turn as f32);
            self.along.push(centre.0 as f32);
            self.across.push(centre.1 as f32);
            // Before the product of many becomes too small for a number.
            if product < SMALL {
                arrival -= fast::ln(product as f32);
                product = 1.0;
                least = least_product(end - f64::from(arrival));
            }
        }
    }

    /// Moves all from the centre of their group to where they lie.
    pub(super) fn place(&mut self, groups: &Groups, target: &Target) {
        scatter(self, (1.0 / rate(groups)) as f32, groups.spread_m as f32, (target.ux as f32, target.uy as f32));
    }
}

/// Animals per unit of v beyond the reach, where nobody is: the process begins there, and its rate makes up for it.
fn rate(groups: &Groups) -> f64 {
    groups.mean_size / (1.0 - BEYOND_REACH)
}

/// What the product of uniforms is at least while `-ln` of it has not come to `end`; a hair less for rounding.
#[inline(always)]
fn least_product(end: f64) -> f64 {
    f64::from(fast::exp((-end).clamp(-80.0, 80.0) as f32)) * (1.0 - 1e-5)
}

const SMALL: f64 = 1e-9;

for_this_processor! {
    fn scatter(members: &mut Members, scale: f32, spread: f32, direction: (f32, f32)) {
        let places = members.along.iter_mut().zip(&mut members.across);
        let draws = members.arrivals.iter().zip(&members.products).zip(&members.turns);
        for ((along, across), ((arrival, product), turn)) in places.zip(draws) {
            let beyond = BEYOND_REACH as f32 + scale * (arrival - fast::ln(*product));
            // Not a number where nobody is left: more than all would lie further out.
            let distance = spread * (-2.0 * fast::ln(beyond)).sqrt();
            let (sin, cos) = fast::turn(*turn);
            let (dx, dy) = (distance * cos, distance * sin);
            *along += dx * direction.0 + dy * direction.1;
            *across += dy * direction.0 - dx * direction.1;
        }
    }
}

/// What the share beyond an animal is at most, where it lies so far (m, squared) from the centre or further; a hair more
/// for rounding.
#[inline(always)]
pub(super) fn most_beyond(squared_distance: f64, spread: f64) -> f64 {
    f64::from(fast::exp((-0.5 * squared_distance / (spread * spread)).max(-80.0) as f32)) * (1.0 + 1e-5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::Key;

    const TARGET: Target = Target { x: 0.0, y: 0.0, ux: 1.0, uy: 0.0, length: 1.0, half_width: 1.0 };

    /// Names and places about the centre of a group's animals.
    fn of_group(id: u64, groups: &Groups, most: f64) -> Vec<(u64, f64, f64)> {
        let mut members = Members::default();
        members.add((0, id), (0.0, 0.0), groups, most);
        members.place(groups, &TARGET);
        let places = members.along.iter().zip(&members.across).map(|(x, y)| (f64::from(*x), f64::from(*y)));
        members.names.iter().zip(places).map(|(name, (x, y))| (*name, x, y)).filter(|(_, x, _)| !x.is_nan()).collect()
    }

    #[test]
    fn numbers_are_poisson_and_places_normal_up_to_the_reach() {
        for mean_size in [0.4, 3.0, 60.0, 900.0] {
            let groups = Groups { mean_size, spread_m: 0.7 };
            let (mut numbers, mut squares, mut across) = (Vec::new(), Vec::new(), Vec::new());
            for group in 0..if mean_size < 100.0 { 20_000 } else { 2_000 } {
                let members = of_group(Key::seed(group).0, &groups, 1.0);
                numbers.push(members.len() as f64);
                across.extend(members.first().map(|(_, x, y)| x * y));
                // Sums over groups, as the animals of one depend on each other by their order.
                squares.push(members.iter().map(|(_, x, _)| x * x - 0.49).sum::<f64>());
                let mut last = 5.0 * groups.spread_m * (1.0 + 1e-5);
                for (_, x, y) in members {
                    assert!(x.hypot(y) <= last * (1.0 + 1e-5));
                    last = x.hypot(y);
                }
            }
            assert_mean(&numbers, mean_size);
            assert_mean(&numbers.iter().map(|n| (n - mean_size).powi(2)).collect::<Vec<_>>(), mean_size);
            assert_mean(&squares, 0.0);
            assert_mean(&across, 0.0);
        }
    }

    #[test]
    fn the_outer_ones_alone_are_the_first_of_all() {
        let groups = Groups { mean_size: 8.0, spread_m: 0.5 };
        let mut outer = 0;
        for group in 0..2_000 {
            let (id, distance) = (Key::seed(group).0, 0.9);
            let most = most_beyond(distance * distance, groups.spread_m);
            let beyond = |members: Vec<(u64, f64, f64)>| -> Vec<u64> {
                members.iter().filter(|(_, x, y)| x.hypot(*y) > distance).map(|(name, ..)| *name).collect()
            };
            let (all, first) = (beyond(of_group(id, &groups, 1.0)), beyond(of_group(id, &groups, most)));
            assert_eq!(all, first);
            outer += first.len();
        }
        assert!(outer > 2_000, "{outer}");
    }
}
