use super::least_gap;
use super::{Heading, LineLayout, Placement};
use crate::random::{Key, Purpose};
use std::f64::consts::PI;

/// A site and the rule by which units are placed on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ground {
    /// Size along the reef and across, m.
    pub site: (f64, f64),
    pub placement: Placement,
}

/// Whether units lie where the rule's chance put them; false where a gap left so little room that they had to lie in rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Freely(pub bool);

/// Where one unit lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Start, m on the site; for a strip, of its middle line.
    pub start: (f64, f64),
    /// Unit vector of its heading.
    pub heading: (f64, f64),
    /// Share of the room along the heading that lies before it; a shorter unit starts at the same share of its own room.
    pub share: f64,
    /// Names the unit.
    pub key: Key,
}

impl Place {
    /// The place `along` metres from the start and `across` metres to the left of the heading.
    #[inline]
    pub fn at(&self, along: f64, across: f64) -> (f64, f64) {
        let (cos, sin) = self.heading;
        (self.start.0 + along * cos - across * sin, self.start.1 + along * sin + across * cos)
    }
}

/// The three uniforms of one throw of a unit: places in its room along the heading and across it, and the heading itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct Throw {
    along: f64,
    across: f64,
    turn: f64,
}

impl Ground {
    /// Lays as many units as there are `lengths_m`, of one width (0: tapes), in the order in which they are counted: the
    /// first n are a fair n of all. Layouts of another `occasion` are independent. Lengths may differ where
    /// [`Placement::short_from_long`].
    pub fn lay(&self, key: Key, occasion: u64, lengths_m: &[f64], width_m: f64, laid: &mut Vec<Place>) -> Freely {
        laid.clear();
        match self.placement.layout {
            LineLayout::RandomStarts => {
                laid.extend(lengths_m.iter().enumerate().map(|(unit, &length)| {
                    let own = unit_key(key, unit);
                    self.place(own, Throw::new(own, occasion), (length, width_m))
                }));
            }
            LineLayout::LeastGap { gap_m } => {
                return least_gap::lay(self, gap_m, (key, occasion), lengths_m, width_m, laid);
            }
            LineLayout::Systematic => {
                let start = layout_key(key, occasion).uniform(Purpose::Shift, 0);
                let number = lengths_m.len() as f64;
                laid.extend(lengths_m.iter().enumerate().map(|(unit, &length)| {
                    let own = unit_key(key, unit);
                    let across = (unit as f64 + start) / number;
                    self.place(own, Throw { across, ..Throw::new(own, occasion) }, (length, width_m))
                }));
            }
        }
        Freely(true)
    }

    /// The most units of this length and width that the site has room for; `None`: any number.
    pub fn most_units(&self, length_m: f64, width_m: f64) -> Option<usize> {
        match self.placement.layout {
            LineLayout::RandomStarts => None,
            LineLayout::LeastGap { gap_m } => Some(least_gap::most_units(self, gap_m, (length_m, width_m))),
            // Belts at equal distances do not overlap.
            LineLayout::Systematic if width_m > 0.0 => {
                let room = (self.sides().1 - width_m).max(0.0);
                Some(((room / width_m + 1e-9) as usize).max(1))
            }
            LineLayout::Systematic => None,
        }
    }

    /// Whether a unit fits the site in every direction it may point.
    pub fn has_room(&self, length_m: f64, width_m: f64) -> bool {
        let (along, across) = self.sides();
        match self.placement.heading {
            // The diagonal of a unit turns within the shorter side.
            Heading::Any => libm::hypot(length_m, width_m) <= along.min(across),
            Heading::Along | Heading::Across => length_m <= along && width_m <= across,
        }
    }

    /// The sides of the site along the heading and across it (headings of any direction: as if along).
    pub fn sides(&self) -> (f64, f64) {
        match self.placement.heading {
            Heading::Across => (self.site.1, self.site.0),
            Heading::Along | Heading::Any => self.site,
        }
    }

    /// A unit at shares of its room along its heading and across it, in [0, 1), and at a share of a full turn (which matters
    /// where units point anywhere).
    pub fn at_shares(&self, (along, across, turn): (f64, f64, f64), size: (f64, f64)) -> Place {
        self.place(Key(0), Throw { along, across, turn }, size)
    }

    /// The same unit moved so far that it lies on the site whole.
    pub fn kept_inside(&self, place: Place, (length, width): (f64, f64)) -> Place {
        let (cos, sin) = place.heading;
        let inside = |side: f64, start: f64, ahead: f64, aside: f64| {
            let (low, high) = (ahead.min(0.0) - 0.5 * aside, ahead.max(0.0) + 0.5 * aside);
            start.min(side - high).max(-low)
        };
        let start = (
            inside(self.site.0, place.start.0, length * cos, width * f64::abs(sin)),
            inside(self.site.1, place.start.1, length * sin, width * f64::abs(cos)),
        );
        Place { start, ..place }
    }

    /// A unit thrown into the rectangle of its possible starts; at the edge where it does not fit.
    pub(super) fn place(&self, key: Key, throw: Throw, (length, width): (f64, f64)) -> Place {
        let (cos, sin) = match self.placement.heading {
            Heading::Along => (1.0, 0.0),
            Heading::Across => (0.0, 1.0),
            Heading::Any => (libm::cos(2.0 * PI * throw.turn), libm::sin(2.0 * PI * throw.turn)),
        };
        let (x, y) = match self.placement.heading {
            Heading::Across => (throw.across, throw.along),
            Heading::Along | Heading::Any => (throw.along, throw.across),
        };
        let coordinate = |side: f64, share: f64, ahead: f64, aside: f64| {
            let (low, high) = (ahead.min(0.0) - 0.5 * aside, ahead.max(0.0) + 0.5 * aside);
            share * (side - (high - low)).max(0.0) - low
        };
        let start = (
            coordinate(self.site.0, x, length * cos, width * f64::abs(sin)),
            coordinate(self.site.1, y, length * sin, width * f64::abs(cos)),
        );
        Place { start, heading: (cos, sin), share: throw.along, key }
    }
}

impl Throw {
    pub(super) fn new(own: Key, occasion: u64) -> Self {
        Self {
            along: own.uniform(Purpose::Placement, occasion),
            across: own.uniform(Purpose::Shift, occasion),
            turn: own.uniform(Purpose::Turn, occasion),
        }
    }

    /// At given shares of the room.
    pub(super) fn at(along: f64, across: f64) -> Self {
        Self { along, across, turn: 0.0 }
    }
}

/// The key of what all units of a site share at an occasion.
pub(super) fn layout_key(key: Key, occasion: u64) -> Key {
    key.child(Purpose::Shuffle, occasion)
}

/// The key of a unit of a site.
pub(super) fn unit_key(key: Key, unit: usize) -> Key {
    key.child(Purpose::Placement, unit as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ground(layout: LineLayout, heading: Heading) -> Ground {
        Ground { site: (100.0, 20.0), placement: Placement { layout, heading } }
    }

    fn laid(ground: &Ground, trial: u64, lengths: &[f64], width: f64) -> Vec<Place> {
        let mut places = Vec::new();
        ground.lay(Key::seed(5).child(Purpose::Trial, trial), 0, lengths, width, &mut places);
        places
    }

    const LAYOUTS: [LineLayout; 3] =
        [LineLayout::RandomStarts, LineLayout::LeastGap { gap_m: 2.0 }, LineLayout::Systematic];
    const HEADINGS: [Heading; 3] = [Heading::Along, Heading::Across, Heading::Any];

    #[test]
    fn units_lie_within_the_site_whatever_the_rule() {
        for layout in LAYOUTS {
            for heading in HEADINGS {
                let ground = ground(layout, heading);
                assert!(ground.has_room(12.0, 1.0));
                for trial in 0..200 {
                    for place in laid(&ground, trial, &[12.0; 5], 1.0) {
                        for (along, across) in [(0.0, 0.5), (0.0, -0.5), (12.0, 0.5), (12.0, -0.5)] {
                            let (x, y) = place.at(along, across);
                            let inside = -1e-9 <= x && x <= 100.0 + 1e-9 && -1e-9 <= y && y <= 20.0 + 1e-9;
                            assert!(inside, "{layout:?} {heading:?}: {x} {y}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn random_starts_along_the_site_are_the_uniforms_of_each_unit() {
        let ground = ground(LineLayout::RandomStarts, Heading::Along);
        let key = Key::seed(5).child(Purpose::Trial, 3);
        for (unit, place) in laid(&ground, 3, &[20.0, 10.0], 0.4).into_iter().enumerate() {
            let own = key.child(Purpose::Placement, unit as u64);
            let (x, y) = (own.uniform(Purpose::Placement, 0), own.uniform(Purpose::Shift, 0));
            let room = [80.0, 90.0][unit];
            assert_eq!((place.start, place.heading), ((x * room, 0.2 + y * 19.6), (1.0, 0.0)));
            assert_eq!((place.share, place.key), (x, own));
        }
    }

    #[test]
    fn a_systematic_layout_has_the_stated_spacing() {
        let mut starts = Vec::new();
        for trial in 0..400 {
            let along = laid(&ground(LineLayout::Systematic, Heading::Along), trial, &[10.0; 5], 0.0);
            let across = laid(&ground(LineLayout::Systematic, Heading::Across), trial, &[10.0; 8], 1.0);
            for pair in along.windows(2) {
                assert!((pair[1].start.1 - pair[0].start.1 - 4.0).abs() < 1e-9);
            }
            for pair in across.windows(2) {
                assert!((pair[1].start.0 - pair[0].start.0 - 99.0 / 8.0).abs() < 1e-9);
            }
            assert!((0.0..4.0).contains(&along[0].start.1) && (0.5..0.5 + 99.0 / 8.0).contains(&across[0].start.0));
            starts.push(along[0].start.1);
        }
        crate::measures::simulated::assert_mean(&starts, 2.0);
    }

    #[test]
    fn what_fits_is_told() {
        let gap = ground(LineLayout::LeastGap { gap_m: 5.0 }, Heading::Along);
        // Seven columns of 10 m lines 5 m apart on 100 m, five rows on 20 m.
        assert_eq!(gap.most_units(10.0, 0.0), Some(35));
        // The other way: one column, twenty-one rows on 100 m.
        let across = ground(LineLayout::LeastGap { gap_m: 5.0 }, Heading::Across);
        assert_eq!(across.most_units(10.0, 0.0), Some(21));
        assert_eq!(ground(LineLayout::Systematic, Heading::Along).most_units(10.0, 1.0), Some(19));
        assert_eq!(ground(LineLayout::Systematic, Heading::Along).most_units(10.0, 0.0), None);
        assert!(!ground(LineLayout::RandomStarts, Heading::Across).has_room(25.0, 0.0));
        assert!(!ground(LineLayout::RandomStarts, Heading::Any).has_room(19.9, 5.0));
        assert!(ground(LineLayout::RandomStarts, Heading::Along).has_room(100.0, 20.0));
    }
}
