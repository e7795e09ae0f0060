//! Frames photographed along a tape: what two of them share, and the variance of a tape with its frames.

use super::pairs::{dense_axis, sum_density};
use super::placement::{variance_of_random_points, variance_of_rectangle, variance_of_stratified_points};
use crate::survey::{Frame, Placed, cells_of_points};

/// The frames of one tape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FramesOfTape {
    pub length_m: f64,
    pub frames: usize,
    pub points_a_frame: usize,
    pub frame: Frame,
}

impl FramesOfTape {
    /// Variance of the mean over all points: `(V_frame + (k - 1) C) / k` with the mean covariance C of two frames.
    /// `at_zero` is the covariance at the same point.
    pub fn variance(&self, at_zero: f64, c: impl Fn(f64) -> f64) -> f64 {
        let (frame, number) = (self.frame, self.points_a_frame);
        let size = (frame.frame_length_m, frame.frame_width_m);
        let one = match frame.points_placed {
            Placed::Random => variance_of_random_points(at_zero, number, size, &c),
            Placed::Stratified => variance_of_stratified_points(at_zero, cells_of_points(number, frame), size, &c),
        };
        self.of_all(one, c)
    }

    /// Covariance of two readings of the same frames under points thrown anew.
    pub fn covariance_of_rereading(&self, c: impl Fn(f64) -> f64) -> f64 {
        let one = variance_of_rectangle(self.frame.frame_length_m, self.frame.frame_width_m, &c);
        self.of_all(one, c)
    }

    fn of_all(&self, one: f64, c: impl Fn(f64) -> f64) -> f64 {
        let k = self.frames as f64;
        (one + (k - 1.0) * self.pair(c)) / k
    }

    /// Mean covariance of two frames of the tape, over their places.
    pub fn pair(&self, c: impl Fn(f64) -> f64) -> f64 {
        if self.frames < 2 {
            return 0.0;
        }
        let (long, wide) = (self.frame.frame_length_m, self.frame.frame_width_m);
        let across = dense_axis(wide, sum_density(0.0, wide));
        let over_width = |dx: f64| -> f64 { across.iter().map(|&(dy, share)| share * c(libm::hypot(dx, dy))).sum() };
        match self.frame.frames_placed {
            Placed::Random => {
                let room = self.length_m - long;
                let along = dense_axis(room + long, sum_density(room, long));
                along.iter().map(|&(dx, weight)| weight * over_width(dx)).sum()
            }
            Placed::Stratified => {
                // Places of frames in two parts of the tape differ by whole parts and by what they differ within theirs.
                let part = self.length_m / self.frames as f64;
                let room = part - long;
                let within = dense_axis(room + long, sum_density(room, long));
                let apart = |lag: usize| -> f64 {
                    let middle = lag as f64 * part;
                    within
                        .iter()
                        .map(|&(t, weight)| 0.5 * weight * (over_width(middle - t) + over_width(middle + t)))
                        .sum()
                };
                let k = self.frames as f64;
                (1..self.frames).map(|lag| 2.0 * (k - lag as f64) / (k * (k - 1.0)) * apart(lag)).sum()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};

    fn frames(frames_placed: Placed, points_placed: Placed) -> FramesOfTape {
        let frame = Frame { frame_length_m: 0.7, frame_width_m: 0.5, frames_placed, points_placed };
        FramesOfTape { length_m: 10.0, frames: 8, points_a_frame: 12, frame }
    }

    fn exponential(h: f64) -> f64 {
        libm::exp(-h / 0.9)
    }

    #[test]
    fn a_constant_is_shared_and_one_frame_has_no_pair() {
        for placed in [Placed::Random, Placed::Stratified] {
            let tape = frames(placed, placed);
            assert!((tape.pair(|_| 0.3) - 0.3).abs() < 1e-9);
            assert!((tape.variance(0.3, |_| 0.3) - 0.3).abs() < 1e-9);
            assert_eq!(FramesOfTape { frames: 1, ..tape }.pair(exponential), 0.0);
        }
    }

    /// Two points drawn from all points of a tape, thrown again and again.
    #[test]
    fn two_points_of_a_tape_by_simulation() {
        for frames_placed in [Placed::Random, Placed::Stratified] {
            let tape = frames(frames_placed, Placed::Random);
            let (k, n) = (tape.frames as f64, tape.points_a_frame as f64);
            let values: Vec<f64> = (0..200_000)
                .map(|trial| {
                    let key = Key::seed(trial);
                    let u = |i: u64| key.uniform(Purpose::Test, i);
                    let (one, other) = ((k * n * u(0)) as usize, (k * n * u(1)) as usize);
                    if one == other {
                        return 1.0;
                    }
                    let (f, g) = (one / 12, other / 12);
                    let start = |f: usize| match frames_placed {
                        Placed::Random => 9.3 * u(10 + f as u64),
                        Placed::Stratified => 1.25 * f as f64 + 0.55 * u(10 + f as u64),
                    };
                    let along = start(f) + 0.7 * u(2) - start(g) - 0.7 * u(3);
                    exponential(libm::hypot(along, 0.5 * (u(4) - u(5))))
                })
                .collect();
            assert_mean(&values, tape.variance(1.0, exponential));
        }
    }

    #[test]
    fn strata_are_worth_something_and_all_is_between_a_frame_and_a_strip() {
        let variance = |frames_placed, points_placed| frames(frames_placed, points_placed).variance(1.0, exponential);
        let random = variance(Placed::Random, Placed::Random);
        assert!(variance(Placed::Stratified, Placed::Random) < random);
        assert!(variance(Placed::Random, Placed::Stratified) < random);
        let strip = variance_of_random_points(1.0, 96, (10.0, 0.5), exponential);
        assert!(strip < random && random < variance_of_random_points(1.0, 12, (0.7, 0.5), exponential));
        let again = frames(Placed::Random, Placed::Random).covariance_of_rereading(exponential);
        assert!(again < random);
    }
}
