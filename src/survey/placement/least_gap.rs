//! Units that keep a gap: each is thrown until it lies clear of those before it, and all of them are shuffled.
//!
//! Where a site is so full that throwing fails (a unit finds no place in [`TRIES`] throws, in each of [`ROUNDS`] layouts),
//! units lie in rows at random distances of at least the gap, which fits as often as [`most_units`] says.

use super::ground::{Freely, Ground, Place, Throw, layout_key, unit_key};
use crate::geometry::segment_distance;
use crate::random::{Key, Purpose};

const TRIES: u64 = 64;
const ROUNDS: u64 = 4;

pub fn lay(
    ground: &Ground,
    gap: f64,
    (key, occasion): (Key, u64),
    lengths: &[f64],
    width: f64,
    laid: &mut Vec<Place>,
) -> Freely {
    // Middle lines of strips lie their width further apart.
    let apart = gap + width;
    let own = layout_key(key, occasion);
    let order = shuffled(own, lengths.len());
    let freely = (0..ROUNDS).any(|round| throw_all(ground, apart, (key, occasion, round), lengths, width, laid));
    if !freely {
        lay_in_rows(ground, apart, own.child(Purpose::Placement, 0), lengths, width, laid);
    }
    // Units are named by their place in the order, not by when they were thrown.
    let thrown = std::mem::take(laid);
    laid.extend(order.iter().enumerate().map(|(unit, &at)| Place { key: unit_key(key, unit), ..thrown[at] }));
    Freely(freely)
}

/// The most units that fit in rows: how many can always be laid.
pub fn most_units(ground: &Ground, gap: f64, (length, width): (f64, f64)) -> usize {
    let (columns, rows) = rows_and_columns(ground, gap + width, length, width);
    columns.saturating_mul(rows)
}

/// Throws unit after unit; false where one of them finds no place.
fn throw_all(
    ground: &Ground,
    apart: f64,
    (key, occasion, round): (Key, u64, u64),
    lengths: &[f64],
    width: f64,
    laid: &mut Vec<Place>,
) -> bool {
    laid.clear();
    for (unit, &length) in lengths.iter().enumerate() {
        let own = unit_key(key, unit);
        let clear = (0..TRIES).map(|attempt| occasion + 2 * (round * TRIES + attempt)).find_map(|throw| {
            let place = ground.place(own, Throw::new(own, throw), (length, width));
            let others = laid.iter().zip(lengths);
            let is_clear = others.into_iter().all(|(other, &l)| distance((&place, length), (other, l)) >= apart);
            is_clear.then_some(place)
        });
        match clear {
            Some(place) => laid.push(place),
            None => return false,
        }
    }
    true
}

/// Distance of the middle lines of two units of these lengths.
fn distance((one, length): (&Place, f64), (other, other_length): (&Place, f64)) -> f64 {
    let ends = |place: &Place, length: f64| [place.start, place.at(length, 0.0)];
    segment_distance(ends(one, length), ends(other, other_length))
}

/// Columns along the heading and rows across it.
fn rows_and_columns(ground: &Ground, apart: f64, length: f64, width: f64) -> (usize, usize) {
    let (along, across) = ground.sides();
    let count = |room: f64, step: f64| (room.max(0.0) / step + 1e-9) as usize + 1;
    (count(along - length, length + apart), count(across - width, apart))
}

/// A random choice of the cells of as many rows and columns as fit, the room that is left shared out at random between
/// them. All units have one length. (More units than cells lie on one another: the scenario's check refuses them.)
fn lay_in_rows(ground: &Ground, apart: f64, key: Key, lengths: &[f64], width: f64, laid: &mut Vec<Place>) {
    laid.clear();
    let Some(&length) = lengths.first() else { return };
    let (columns, rows) = rows_and_columns(ground, apart, length, width);
    let (along, across) = ground.sides();
    let along = shares(key.child(Purpose::Placement, 0), columns, (along - length).max(0.0), length + apart);
    let across = shares(key.child(Purpose::Shift, 0), rows, (across - width).max(0.0), apart);
    let cells = shuffled(key, columns * rows);
    let along_heading = Ground { placement: ground.placement.with_one_heading(), ..*ground };
    laid.extend((0..lengths.len()).map(|unit| {
        let cell = cells[unit % cells.len()];
        along_heading.place(key, Throw::at(along[cell % columns], across[cell / columns]), (length, width))
    }));
}

/// `number` places in a room, as shares of it, each at least `step` metres after the one before: sorted uniforms in what
/// the steps leave, so that every such choice is equally likely.
fn shares(key: Key, number: usize, room: f64, step: f64) -> Vec<f64> {
    let slack = (room - (number - 1) as f64 * step).max(0.0);
    let free: Vec<f64> = (0..number as u64).map(|i| slack * key.uniform(Purpose::Placement, i)).collect();
    spread_out(free, step).map(|place| if room > 0.0 { place / room } else { 0.0 }).collect()
}

/// Places in what the steps leave, each put further by the steps before it.
fn spread_out(mut free: Vec<f64>, step: f64) -> impl Iterator<Item = f64> {
    free.sort_by(f64::total_cmp);
    free.into_iter().enumerate().map(move |(i, free)| free + i as f64 * step)
}

/// The numbers below `number` in a random order.
fn shuffled(key: Key, number: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..number).collect();
    order.sort_by_cached_key(|&i| key.child(Purpose::Shuffle, i as u64).0);
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::survey::{Heading, LineLayout, Placement};

    fn ground(gap_m: f64, heading: Heading) -> Ground {
        Ground { site: (100.0, 20.0), placement: Placement { layout: LineLayout::LeastGap { gap_m }, heading } }
    }

    fn laid(ground: &Ground, trial: u64, lengths: &[f64], width: f64) -> Vec<Place> {
        let mut places = Vec::new();
        ground.lay(Key::seed(6).child(Purpose::Trial, trial), trial % 2, lengths, width, &mut places);
        places
    }

    /// Computed: four lines of 10 m, 5 m apart, on 200 m leave 145; drawn at 90, 10, 140 and 50 they begin at 10, 65, 120, 185.
    #[test]
    fn starts_are_sorted_draws_with_the_steps_before_them() {
        assert_eq!(200.0 - 4.0 * 10.0 - 3.0 * 5.0, 145.0);
        let starts: Vec<f64> = spread_out(vec![90.0, 10.0, 140.0, 50.0], 15.0).collect();
        assert_eq!(starts, [10.0, 65.0, 120.0, 185.0]);
    }

    /// Sparse sites, crowded ones, and those that are so full that units lie in rows.
    #[test]
    fn the_gap_is_always_kept() {
        let cases = [
            (2.0, 12, 0.0, Heading::Along),
            (5.0, 12, 0.0, Heading::Along),
            (5.0, 35, 0.0, Heading::Along),
            (4.0, 24, 0.0, Heading::Across),
            (3.0, 10, 0.0, Heading::Any),
            (5.0, 30, 0.0, Heading::Any),
            (1.0, 8, 2.0, Heading::Along),
            (1.0, 8, 2.0, Heading::Any),
        ];
        for (gap, number, width, heading) in cases {
            let ground = ground(gap, heading);
            assert!(ground.most_units(10.0, width).is_some_and(|most| number <= most));
            for trial in 0..40 {
                let places = laid(&ground, trial, &vec![10.0; number], width);
                assert_eq!(places.len(), number);
                for (i, one) in places.iter().enumerate() {
                    for other in &places[..i] {
                        let apart = distance((one, 10.0), (other, 10.0)) - width;
                        assert!(apart > gap - 1e-9, "{gap} {number} {heading:?}: {apart}");
                    }
                }
            }
        }
    }

    /// Units that are thrown late are squeezed into what is left, but the order forgets when each was thrown: the mean
    /// square distance from the middle of the site is the same for the first unit and the last.
    #[test]
    fn the_first_units_are_a_fair_choice_of_all() {
        let ground = ground(4.0, Heading::Along);
        let middle = |place: &Place| (place.start.0 - 45.0).powi(2) + (place.start.1 - 10.0).powi(2);
        let differences: Vec<f64> = (0..4_000)
            .map(|trial| {
                let places = laid(&ground, trial, &[10.0; 10], 0.0);
                middle(&places[0]) - middle(&places[9])
            })
            .collect();
        assert_mean(&differences, 0.0);
        // So are pairs: the first two lie as far from each other as the last two.
        let apart = |one: &Place, other: &Place| (one.start.0 - other.start.0).abs();
        let pairs: Vec<f64> = (0..4_000)
            .map(|trial| {
                let places = laid(&ground, trial, &[10.0; 10], 0.0);
                apart(&places[0], &places[1]) - apart(&places[8], &places[9])
            })
            .collect();
        assert_mean(&pairs, 0.0);
    }

    #[test]
    fn a_gap_of_next_to_nothing_is_random_starts() {
        let free = Ground { placement: Placement::default(), ..ground(1.0, Heading::Along) };
        for trial in 0..50 {
            let mut with_gap: Vec<(f64, f64)> =
                laid(&ground(1e-9, Heading::Along), trial, &[10.0; 6], 0.0).iter().map(|place| place.start).collect();
            let mut without: Vec<(f64, f64)> = laid(&free, trial, &[10.0; 6], 0.0).iter().map(|p| p.start).collect();
            with_gap.sort_by(|a, b| a.0.total_cmp(&b.0));
            without.sort_by(|a, b| a.0.total_cmp(&b.0));
            assert_eq!(with_gap, without);
        }
    }

    #[test]
    fn units_lie_in_rows_only_where_the_site_is_full() {
        let freely = |number: usize, gap: f64| -> usize {
            let ground = ground(gap, Heading::Along);
            let mut places = Vec::new();
            let lay = |trial: &u64| {
                ground.lay(Key::seed(8).child(Purpose::Trial, *trial), 0, &vec![10.0; number], 0.0, &mut places).0
            };
            (0..50).filter(lay).count()
        };
        assert_eq!((freely(12, 2.0), freely(35, 5.0)), (50, 0));
    }

    #[test]
    fn units_keep_their_names_through_the_shuffle() {
        let places = laid(&ground(2.0, Heading::Along), 4, &[10.0; 5], 0.0);
        let key = Key::seed(6).child(Purpose::Trial, 4);
        assert!(places.iter().enumerate().all(|(unit, place)| place.key == unit_key(key, unit)));
    }
}
