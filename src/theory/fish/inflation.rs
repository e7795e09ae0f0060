//! How many fish come into what is watched: the gas model of moving animals and a moving observer.
//!
//! Seen from the diver the shape stands still and fish pass it with velocity `r = (u cos t - v, u sin t)`. What straight
//! fish are counted started in the shape swept along `-r T`: a rectangle of depth d and width w gives
//! `d w + T (w |r_x| + d |r_y|)`, a disc `pi R^2 + 2 R |r| T`; over uniform headings `E |r_y| = 2 u / pi`,
//! the means of `|r_x|` and `|r|` are those of [`MeanSpeeds`].

use crate::reef::fish::Movement;
use crate::survey::swim::{CountingRule, MeanSpeeds, Shape, Watch, Watched};
use crate::theory::quadrature::Rule;
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Expected number of fish counted per fish and m2 of a sea of still or straight fish, m2. Of fish that turn: of those
/// that are inside at the start and of all entries, those that come again counted again, which turns do not change;
/// hence no less than the fish.
pub fn entries_m2(watch: Watch, movement: Movement) -> f64 {
    let shape = Shape::of(watch.watched);
    shape.area_m2() + swept(watch, shape.mean_swept_m2_s(&MeanSpeeds::of(movement.speed_m_s(), watch.speed_m_s)))
}

/// The same where all fish swim straight on at `speed_m_s` and at an angle (radians) to the way of the diver: 0 for the
/// same way. Agrees with Watson, Carlos & Samoilys 1995 (Ecological Modelling 77): linear rise for head-on, linear fall
/// to the part seen at the start for same-way fish as fast as the diver.
pub fn one_heading_m2(watch: Watch, speed_m_s: f64, angle: f64) -> f64 {
    let (shape, (sine, cosine)) = (Shape::of(watch.watched), libm::sincos(angle));
    let velocity = [speed_m_s * cosine - watch.speed_m_s, speed_m_s * sine];
    shape.area_m2() + swept(watch, shape.swept_m2_s(velocity))
}

/// Counts of a belt over those of a snapshot of it: the factor by which densities of fish that move are too high.
pub fn belt_inflation(length_m: f64, width_m: f64, seconds: f64, rule: CountingRule, movement: Movement) -> f64 {
    entries_m2(Watch::belt(length_m, width_m, seconds, rule), movement) / (length_m * width_m)
}

/// The same for a point count: `1 + 2 u T / (pi r)` (McCauley et al. 2012, Ecological Applications 22, appendix H).
pub fn point_inflation(radius_m: f64, seconds: f64, movement: Movement) -> f64 {
    entries_m2(Watch::point(radius_m, seconds), movement) / (PI * radius_m * radius_m)
}

/// Area from which still or straight fish are counted and seen, when one whose nearest distance was x is seen with chance
/// `seen(x)`, m2. Of fish that turn it is no less than that area, where `seen` falls with distance.
///
/// A fish comes within x of the middle line if it hits the part of the shape that lies within x: the area for that part,
/// `A(x)`, is the law of nearest distances, and the answer is `A(0) seen(0) + integral of seen(x) dA(x)`. For a rectangle
/// `A(x) = 2 x (d + T E |r_x|) + T d E |r_y|`, for a disc `A(x) = pi x^2 + 2 x T E |r|`.
pub fn counted_area_m2(watch: Watch, movement: Movement, seen: impl Fn(f64) -> f64) -> f64 {
    let speeds = MeanSpeeds::of(movement.speed_m_s(), watch.speed_m_s);
    match watch.watched {
        Watched::Rectangle { length_m, width_m } => {
            let crossing = swept(watch, length_m * speeds.across);
            let along = length_m + swept(watch, speeds.along);
            crossing * seen(0.0) + 2.0 * along * integral(0.5 * width_m, seen)
        }
        Watched::Disc { radius_m } => {
            let along = swept(watch, speeds.relative);
            integral(radius_m, |x| 2.0 * (PI * x + along) * seen(x))
        }
    }
}

/// What is swept in the time of the watch; nothing in no time, however fast.
pub(super) fn swept(watch: Watch, a_second: f64) -> f64 {
    if watch.seconds > 0.0 { watch.seconds * a_second } else { 0.0 }
}

/// Integral from 0 to `end` of what may bend near 0: panels of a Gauss rule, each twice as wide as the one before.
pub(super) fn integral(end: f64, f: impl Fn(f64) -> f64) -> f64 {
    static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(16));
    let (mut high, mut sum) = (end, 0.0);
    for panel in 0..6 {
        let low = if panel == 5 { 0.0 } else { 0.5 * high };
        sum += RULE.integrate(low, high, &f);
        high = low;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As many digits as are printed.
    fn printed(value: f64, text: &str) {
        let decimals = text.split_once('.').map_or(0, |(_, after)| after.len()) as i32;
        let half = 0.5001 * 10f64.powi(-decimals);
        assert!((value - text.parse::<f64>().unwrap()).abs() <= half, "{value} is not {text}");
    }

    const SPEEDS: [f64; 6] = [0.01, 0.05, 0.1, 0.2, 0.5, 1.0];

    /// Whole swim, moving window, abreast: computed from the formulas and confirmed by other simulations of 3 to 60
    /// million fish (steps in time, a sea larger than the way of the fish).
    #[test]
    fn tables_of_belts() {
        let rows = [
            (
                30.0,
                2.0,
                8.0,
                2.0,
                "2.630/1.095/1 9.149/1.475/1 17.297/2.161/1.225 33.59/3.963/2.137 82.49/9.611/5.133 163.97/19.10/10.206",
            ),
            (
                30.0,
                2.0,
                7.0,
                2.0,
                "2.43/1.08/1 8.13/1.42/1 15.26/1.95/1.130 29.52/3.50/1.897 72.30/8.43/4.502 143.6/16.7/8.935",
            ),
            (
                25.0,
                5.0,
                10.0,
                5.0,
                "1.917/1.12/1 5.584/1.65/1.049 10.167/2.752/1.663 19.33/5.14/3.122 46.84/12.44/7.666 92.7/24.7/15.29",
            ),
            (
                25.0,
                5.0,
                15.0,
                5.0,
                "2.38/1.18/1 7.875/2.18/1.328 14.75/3.94/2.381 28.50/7.57/4.628 69.75/18.55/11.48 138.5/36.9/22.93",
            ),
            (
                25.0,
                4.0,
                15.0,
                5.0,
                "2.66/1.23/1 9.31/2.41/1.328 17.62/4.40/2.381 34.23/8.49/4.628 84.08/20.84/11.48 167.2/41.5/22.93",
            ),
            (
                50.0,
                5.0,
                10.0,
                5.0,
                "1.840/1.07/1 5.202/1.34/1 9.403/1.732/1.049 17.81/2.97/1.663 43.02/7.02/3.873 85.0/13.9/7.666",
            ),
        ];
        for (length, width, minutes, depth_m, text) in rows {
            for (speed_m_s, cell) in SPEEDS.into_iter().zip(text.split(' ')) {
                let rules = [CountingRule::WholeSwim, CountingRule::MovingWindow { depth_m }, CountingRule::Abreast];
                for (rule, number) in rules.into_iter().zip(cell.split('/')) {
                    let value = belt_inflation(length, width, 60.0 * minutes, rule, Movement::Straight { speed_m_s });
                    printed(value, number);
                }
            }
        }
    }

    /// Computed from the formula of McCauley et al. 2012 (appendix H, equation 1).
    #[test]
    fn table_of_point_counts() {
        let rows = [
            (7.5, "1.255 2.273 3.546 6.09 13.73 26.46"),
            (10.0, "1.19 1.95 2.91 4.82 10.55 20.10"),
            (5.0, "1.382 2.910 4.820 8.64 20.10 39.2"),
        ];
        for (radius, text) in rows {
            for (speed_m_s, number) in SPEEDS.into_iter().zip(text.split(' ')) {
                printed(point_inflation(radius, 300.0, Movement::Straight { speed_m_s }), number);
            }
        }
    }

    /// 50 x 5 m at .1 m/s, window of 5 m. Watson et al. 1995: fish that swim the same way are missed, most where they
    /// are as fast as the diver (what is left was in view at the start), those that come head-on are counted too often,
    /// linearly in their speed. Values computed.
    #[test]
    fn fish_that_all_swim_one_way() {
        let watch = Watch::belt(50.0, 5.0, 500.0, CountingRule::MovingWindow { depth_m: 5.0 });
        for (u, same, towards, any) in
            [(0.05, "0.55", "1.45", "1.286"), (0.1, "0.10", "1.90", "1.573"), (0.2, "1.00", "2.80", "2.538")]
        {
            printed(one_heading_m2(watch, u, 0.0) / 250.0, same);
            printed(one_heading_m2(watch, u, PI) / 250.0, towards);
            printed(entries_m2(watch, Movement::Straight { speed_m_s: u }) / 250.0, any);
        }
        // From the side a deep window takes in more, the line abreast does not (no bias in Watson et al. 1995).
        printed(one_heading_m2(watch, 0.05, 0.5 * PI) / 250.0, "1.45");
        let abreast = Watch::belt(50.0, 5.0, 500.0, CountingRule::Abreast);
        printed(one_heading_m2(abreast, 0.05, 0.5 * PI) / 250.0, "1.00");
    }

    #[test]
    fn a_snapshot_and_still_fish_are_not_inflated() {
        let fast = Movement::Straight { speed_m_s: 3.0 };
        for rule in [CountingRule::WholeSwim, CountingRule::MovingWindow { depth_m: 2.0 }, CountingRule::Abreast] {
            assert!((belt_inflation(30.0, 2.0, 480.0, rule, Movement::Still) - 1.0).abs() < 1e-12);
            assert_eq!(belt_inflation(30.0, 2.0, 0.0, rule, fast), 1.0);
        }
        let whole = CountingRule::MovingWindow { depth_m: 30.0 };
        assert_eq!(belt_inflation(30.0, 2.0, 480.0, whole, fast), 1.0);
        assert_eq!(point_inflation(7.5, 0.0, fast), 1.0);
    }

    /// A moving circular field (Yapp 1956, from memory): `pi r^2 + 2 r V T`; at u = v the mean relative speed is 4 v / pi
    /// (Hutchinson & Waser 2007, corrigendum).
    #[test]
    fn a_disc_that_moves() {
        let watch = Watch { watched: Watched::Disc { radius_m: 4.0 }, speed_m_s: 0.2, seconds: 100.0 };
        let area = entries_m2(watch, Movement::Straight { speed_m_s: 0.2 });
        assert!((area - (16.0 * PI + 8.0 * 100.0 * 0.8 / PI)).abs() < 1e-9);
    }

    #[test]
    fn all_that_come_are_counted_where_all_are_seen() {
        let belt = Watch::belt(30.0, 2.0, 480.0, CountingRule::MovingWindow { depth_m: 2.0 });
        let disc = Watch { watched: Watched::Disc { radius_m: 4.0 }, speed_m_s: 0.2, seconds: 100.0 };
        for watch in [belt, disc, Watch::point(5.0, 300.0)] {
            for speed_m_s in [0.0, 0.05, 0.3] {
                let movement = Movement::Straight { speed_m_s };
                let (all, area) = (counted_area_m2(watch, movement, |_| 1.0), entries_m2(watch, movement));
                assert!((all / area - 1.0).abs() < 1e-12, "{watch:?} {speed_m_s}");
            }
        }
        // Still fish under a half-normal: sqrt(pi / 2) s erf(h / (s sqrt 2)) on each side.
        let area = counted_area_m2(belt, Movement::Still, |x| libm::exp(-0.5 * x * x / 0.09));
        let side = libm::sqrt(0.5 * PI) * 0.3 * libm::erf(1.0 / (0.3 * std::f64::consts::SQRT_2));
        assert!((area / (60.0 * side) - 1.0).abs() < 1e-12);
    }
}
