//! How much of what is searched on a site was searched before, where belts or circles lie at random whatever the others do.

use super::answer::Warning;
use super::rows::place_name;
use crate::engine::{Plan, Where};
use crate::measures::{in_100, plural};
use crate::random::{Key, Purpose};
use crate::survey::{Dimensions, Ground, Place};

/// More than this share of the area searched again is worth a word (a guess, no source).
const MUCH: f64 = 0.1;

/// Layouts that are laid, by the rule by which the engine lays them, and places looked at along and across each unit.
const LAYOUTS: u64 = 120;
const PLACES: (usize, usize) = (16, 4);

/// Of the kinds of units whose area is searched again the most, with the largest number compared; `None` where it is little.
pub fn overlap(plan: &Plan) -> Option<Warning> {
    if !plan.study.placement.is_independent() {
        return None;
    }
    let zones = 0..plan.study.zones.len();
    let mut known: Vec<(usize, Dimensions)> = Vec::new();
    let mut all: Vec<(usize, usize, Vec<f64>)> = Vec::new();
    for (r, reading) in plan.layout.readings.iter().enumerate() {
        let Some(footprint) = Footprint::of(reading.dimensions) else { continue };
        let most = reading.units.last().copied().unwrap_or(0);
        if most < 2 || known.contains(&(reading.method, reading.dimensions)) {
            continue;
        }
        known.push((reading.method, reading.dimensions));
        all.extend(
            zones
                .clone()
                .filter(|&zone| plan.study.zones[zone].map.is_none())
                .map(|zone| (r, zone, searched_again(&plan.study.ground(&plan.study.zones[zone]), footprint, most))),
        );
    }
    let last = |shares: &[f64]| shares.last().copied().unwrap_or(0.0);
    all.retain(|(_, _, shares)| last(shares) > MUCH);
    let (r, zone, shares) = all.iter().max_by(|one, other| last(&one.2).total_cmp(&last(&other.2)))?;
    let reading = &plan.layout.readings[*r];
    let kind = &plan.study.methods[reading.method].kind;
    let units = |number: usize| format!("{number} {}", plural(kind.unit(), number));
    let kinds = all.iter().map(|(r, ..)| *r).collect::<std::collections::BTreeSet<_>>().len();
    let others = match kinds - 1 {
        0 => String::new(),
        1 => "; of 1 other kind of units it is over a tenth too".to_owned(),
        more => format!("; of {more} other kinds of units it is over a tenth too"),
    };
    let from = shares.iter().position(|share| *share > MUCH).map_or(shares.len(), |place| place + 1);
    let since =
        if from < shares.len() { format!(", and from {} on it is over a tenth", units(from)) } else { String::new() };
    let what = format!(
        "{} of one site lie over each other at random starts: with {} ({}, {}, {}) {} of 100 m2 that are searched were searched \
         already{since}{others}. {}",
        super::words::capital(&plural(kind.unit(), 2)),
        units(shares.len()),
        kind.name().replace('_', " "),
        reading.dimensions.label(),
        place_name(plan, Where::Zone(*zone)),
        in_100(last(shares)),
        if all.iter().any(|(r, ..)| plan.layout.readings[*r].indicator.is_of_fish()) { OF_FISH } else { HELD },
    );
    let remedy = "For more new bottom lay fewer, narrower or shorter ones, or set them apart ([placement] with layout = \
                  \"least_gap\" and a gap_m, or \"systematic\").";
    Some(Warning { what, remedy: remedy.into() })
}

const HELD: &str = "The numbers here hold it: what lies twice tells less.";
const OF_FISH: &str = "The numbers of what stays in place hold it: what lies twice tells less. Those of fish do not, for fish are \
                       drawn anew for every unit: of fish that stay where they are, many units of one small site are told too \
                       precise.";

/// What a unit covers: a strip about its tape, or a circle about its middle.
#[derive(Clone, Copy, Debug)]
struct Footprint {
    length_m: f64,
    width_m: f64,
    is_round: bool,
}

impl Footprint {
    fn of(dimensions: Dimensions) -> Option<Self> {
        let is_round = matches!(dimensions, Dimensions::FishPointCount { .. });
        let is_strip = matches!(
            dimensions,
            Dimensions::PhotoBelt { .. }
                | Dimensions::InvertebrateBelt { .. }
                | Dimensions::CoralBelt { .. }
                | Dimensions::FishBelt { .. }
        );
        let length_m = dimensions.length_m().filter(|_| is_round || is_strip)?;
        Some(Self { length_m, width_m: dimensions.width_m(), is_round })
    }

    /// Places spread evenly over it: metres along from its start and to the left of its middle line.
    fn places(self) -> impl Iterator<Item = (f64, f64)> {
        let share = |step: usize, steps: usize| (step as f64 + 0.5) / steps as f64;
        let all = (0..PLACES.0).flat_map(|i| (0..PLACES.1).map(move |j| (i, j)));
        all.map(move |(i, j)| {
            let (along, across) = (share(i, PLACES.0), share(j, PLACES.1));
            if self.is_round {
                // Rings of equal area.
                let (radius, angle) = (0.5 * self.length_m * across.sqrt(), std::f64::consts::TAU * along);
                return (0.5 * self.length_m + radius * libm::cos(angle), radius * libm::sin(angle));
            }
            (self.length_m * along, self.width_m * (across - 0.5))
        })
    }

    /// Whether it holds a place of the site where it lies here.
    fn holds(self, place: &Place, (x, y): (f64, f64)) -> bool {
        let (dx, dy) = (x - place.start.0, y - place.start.1);
        let (cos, sin) = place.heading;
        let (along, across) = (dx * cos + dy * sin, dy * cos - dx * sin);
        if self.is_round {
            let beyond = along - 0.5 * self.length_m;
            return beyond * beyond + across * across <= 0.25 * self.length_m * self.length_m;
        }
        (0.0..=self.length_m).contains(&along) && across.abs() <= 0.5 * self.width_m
    }
}

/// For 1, 2 ... `most` units of a site, which share of the area searched, in the mean over layouts, lies in a unit that was
/// searched before.
fn searched_again(ground: &Ground, footprint: Footprint, most: usize) -> Vec<f64> {
    let lengths = vec![footprint.length_m; most];
    let mut again = vec![0.0; most];
    let mut laid: Vec<Place> = Vec::new();
    let places: Vec<(f64, f64)> = footprint.places().collect();
    for layout in 0..LAYOUTS {
        let key = Key::seed(1).child(Purpose::Placement, layout);
        ground.lay(key, 0, &lengths, footprint.width_m, &mut laid);
        for (unit, here) in laid.iter().enumerate() {
            let is_old = |&(along, across): &(f64, f64)| {
                let place = here.at(along, across);
                laid[..unit].iter().any(|earlier| footprint.holds(earlier, place))
            };
            again[unit] += places.iter().filter(|place| is_old(place)).count() as f64;
        }
    }
    let looked_at = (LAYOUTS as usize * places.len()) as f64;
    let mut sum = 0.0;
    again
        .iter()
        .enumerate()
        .map(|(unit, count)| {
            sum += count / looked_at;
            sum / (unit + 1) as f64
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Placement;

    /// Mean overlap of two stretches of one length, each at a random place of a side, as a share of the length: the distance of
    /// their starts has a triangular law.
    fn overlap_along(side: f64, length: f64) -> f64 {
        let room = side - length;
        let reach = length.min(room);
        // Integral of (1 - t / length) 2 (room - t) / room^2 from 0 to the reach.
        let (a, b) = (1.0 / length, 2.0 / (room * room));
        b * (room * reach - (1.0 + a * room) * reach * reach / 2.0 + a * reach.powi(3) / 3.0)
    }

    #[test]
    fn two_belts_overlap_as_two_triangular_laws_say() {
        let ground = Ground { site: (100.0, 20.0), placement: Placement::default() };
        for (length_m, width_m) in [(50.0, 4.0), (25.0, 5.0), (10.0, 2.0)] {
            let shares = searched_again(&ground, Footprint { length_m, width_m, is_round: false }, 2);
            let exact = 0.5 * overlap_along(100.0, length_m) * overlap_along(20.0, width_m);
            // The overlap of one layout varies by about its mean times the root of what little is hit.
            let error = (exact * 0.5 / LAYOUTS as f64).sqrt();
            assert_eq!(shares[0], 0.0);
            assert!((shares[1] - exact).abs() < 4.0 * error, "{length_m} x {width_m}: {} {exact}", shares[1]);
        }
    }

    #[test]
    fn more_and_wider_belts_are_searched_again_more_and_circles_know_their_edge() {
        let ground = Ground { site: (100.0, 20.0), placement: Placement::default() };
        let share = |width_m: f64| searched_again(&ground, Footprint { length_m: 50.0, width_m, is_round: false }, 8);
        let (narrow, wide) = (share(2.0), share(5.0));
        assert!(wide.windows(2).all(|pair| pair[0] < pair[1]) && narrow[7] < wide[7] && wide[7] < 1.0);
        // A belt as wide and long as the site is all there is.
        let whole = searched_again(&ground, Footprint { length_m: 100.0, width_m: 20.0, is_round: false }, 4);
        assert!((whole[3] - 0.75).abs() < 1e-12, "{whole:?}");
        let circle = Footprint { length_m: 10.0, width_m: 10.0, is_round: true };
        let place = Place { start: (5.0, 5.0), heading: (0.0, 1.0), share: 0.0, key: Key(0) };
        assert!(circle.places().all(|(along, across)| circle.holds(&place, place.at(along, across))));
        assert!(circle.holds(&place, (5.0, 14.9)) && !circle.holds(&place, (9.0, 14.0)));
    }
}
