use serde::Serialize;

/// Which colonies belong to a belt whose edge runs through some of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeRule {
    /// Those whose centre lies inside: density and sizes as they are.
    #[default]
    CentreIn,
    /// Those of which any part lies inside: too many, and the large ones too often.
    AnyPartIn,
    /// Those that lie inside whole: too few, and the large ones too rarely.
    WhollyIn,
    /// Those of which a part lies inside, but not those that reach the far end or the far side: density and sizes as they
    /// are. Every colony belongs to one place only: the furthest that it reaches along the belt, in the row of belts in
    /// which its far side ends.
    TwoEdges,
}

impl EdgeRule {
    /// Which colonies are of a belt, for people.
    pub fn words(self) -> &'static str {
        match self {
            EdgeRule::CentreIn => "whose centre lies inside",
            EdgeRule::AnyPartIn => "of which any part lies inside",
            EdgeRule::WhollyIn => "that lie inside whole",
            EdgeRule::TwoEdges => "that reach in but over neither its far end nor its far side",
        }
    }
}

/// A belt in the coordinates of the line that was walked: from `from_m` to `from_m + length_m` along it, and half of
/// `width_m` to either side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeltFrame {
    pub from_m: f32,
    pub length_m: f32,
    pub width_m: f32,
}

impl BeltFrame {
    pub fn area_m2(&self) -> f64 {
        f64::from(self.length_m) * f64::from(self.width_m)
    }

    /// Whether a place lies in the belt.
    #[inline(always)]
    pub fn holds(&self, along: f32, across: f32) -> bool {
        let along = along - self.from_m;
        (0.0 <= along) & (along < self.length_m) & (across.abs() <= 0.5 * self.width_m)
    }
}

impl EdgeRule {
    pub const ALL: [EdgeRule; 4] = [EdgeRule::CentreIn, EdgeRule::AnyPartIn, EdgeRule::WhollyIn, EdgeRule::TwoEdges];

    /// The name in scenarios and JSON.
    pub fn name(self) -> &'static str {
        match self {
            EdgeRule::CentreIn => "centre_in",
            EdgeRule::AnyPartIn => "any_part_in",
            EdgeRule::WhollyIn => "wholly_in",
            EdgeRule::TwoEdges => "two_edges",
        }
    }

    /// How far outside the belt a colony's centre can lie that belongs to it, m: the line must be walked longer by this at
    /// either end, and wider by this at either side, so that what lies over such a centre is listed too.
    pub fn margin_m(self, largest_diameter_m: f64) -> f64 {
        match self {
            EdgeRule::CentreIn | EdgeRule::WhollyIn => 0.0,
            EdgeRule::AnyPartIn | EdgeRule::TwoEdges => 0.5 * largest_diameter_m,
        }
    }

    /// Whether a colony belongs to the belt. Decided on its disc.
    #[inline]
    pub fn counts(self, frame: &BeltFrame, along: f32, across: f32, radius: f32) -> bool {
        if self == EdgeRule::CentreIn {
            return frame.holds(along, across);
        }
        let (along, half_width) = (along - frame.from_m, 0.5 * frame.width_m);
        match self {
            EdgeRule::CentreIn | EdgeRule::AnyPartIn => {
                let (outside, beside) = ((-along).max(along - frame.length_m).max(0.0), across.abs() - half_width);
                let beside = beside.max(0.0);
                outside * outside + beside * beside < radius * radius
            }
            EdgeRule::WhollyIn => {
                (along - radius >= 0.0) & (along + radius <= frame.length_m) & (across.abs() + radius <= half_width)
            }
            EdgeRule::TwoEdges => {
                let far_side = across + radius;
                // Within the belt's row the disc is widest at its centre, or at the near side where its centre lies outside.
                let below = (-half_width - across).max(0.0);
                let half_chord = (radius * radius - below * below).max(0.0).sqrt();
                let furthest = along + half_chord;
                (-half_width <= far_side) & (far_side < half_width) & (0.0 <= furthest) & (furthest < frame.length_m)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};
    use std::f64::consts::PI;

    const FRAME: BeltFrame = BeltFrame { from_m: 0.5, length_m: 2.0, width_m: 1.0 };

    #[test]
    fn the_rules_on_discs_at_the_edges() {
        // (along, across, radius) and who counts it: centre, any part, wholly, two edges.
        let cases = [
            ((1.5, 0.0, 0.2), [true, true, true, true]),
            ((0.6, 0.0, 0.2), [true, true, false, true]),
            ((0.4, 0.0, 0.2), [false, true, false, true]),
            ((2.4, 0.0, 0.2), [true, true, false, false]),
            ((2.6, 0.0, 0.2), [false, true, false, false]),
            ((1.5, 0.4, 0.2), [true, true, false, false]),
            ((1.5, 0.6, 0.2), [false, true, false, false]),
            ((1.5, -0.6, 0.2), [false, true, false, true]),
            // Near a corner, but not in.
            ((0.35, -0.65, 0.2), [false, false, false, false]),
            // It crosses the far end only outside the belt's row.
            ((2.4, -0.65, 0.2), [false, true, false, false]),
            ((2.36, -0.65, 0.2), [false, true, false, true]),
            ((9.0, 0.0, 0.2), [false, false, false, false]),
        ];
        for ((along, across, radius), expected) in cases {
            let found = EdgeRule::ALL.map(|rule| rule.counts(&FRAME, along, across, radius));
            assert_eq!(found, expected, "{along} {across}");
        }
    }

    /// Belts side by side and end to end count every colony once, by the centre rule and by two edges.
    #[test]
    fn two_edges_and_centres_give_every_colony_to_one_belt() {
        let key = Key::seed(3);
        for i in 0..3000 {
            let u = |k: u64| key.uniform(Purpose::Test, 4 * i + k) as f32;
            let (along, across, radius) = (3.0 + 2.0 * u(0), 0.9 * u(1) - 0.45, 0.01 + 0.9 * u(2));
            for rule in [EdgeRule::CentreIn, EdgeRule::TwoEdges] {
                let mut belts = 0;
                for column in 0..10 {
                    for row in -3..=3 {
                        let frame = BeltFrame { from_m: column as f32, length_m: 1.0, width_m: 1.0 };
                        belts += u32::from(rule.counts(&frame, along, across - row as f32, radius));
                    }
                }
                assert_eq!(belts, 1, "{rule:?} {along} {across} {radius}");
            }
        }
    }

    /// Expected counts per disc density: the area in which centres are counted. Textbook geometry, and computed for the
    /// associated point: 8.000 at density 4, radius .2 m, 2 x 1 m.
    #[test]
    fn areas_of_the_rules() {
        let (radius, room) = (0.2f32, 0.3f32);
        let (length, width) = (f64::from(FRAME.length_m), f64::from(FRAME.width_m));
        let r = f64::from(radius);
        let areas = [
            length * width,
            length * width + 2.0 * (length + width) * r + PI * r * r,
            (length - 2.0 * r) * (width - 2.0 * r),
            length * width,
        ];
        let (wide, high) = (FRAME.length_m + 2.0 * room, FRAME.width_m + 2.0 * room);
        let key = Key::seed(8);
        for (rule, area) in EdgeRule::ALL.into_iter().zip(areas) {
            let hits: Vec<f64> = (0..100_000)
                .map(|i| {
                    let along = FRAME.from_m - room + wide * key.uniform(Purpose::Test, 2 * i) as f32;
                    let across = high * (key.uniform(Purpose::Test, 2 * i + 1) as f32 - 0.5);
                    let counted = rule.counts(&FRAME, along, across, radius);
                    f64::from(wide) * f64::from(high) * f64::from(u8::from(counted))
                })
                .collect();
            assert_mean(&hits, area);
        }
    }
}
