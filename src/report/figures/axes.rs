use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{GRID, INK, QUIET};
use crate::report::digits::significant;
use crate::report::fonts;

/// Where a value lies on an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    is_log: bool,
    /// Only whole numbers are marked (lines, sites).
    is_whole: bool,
}

impl Scale {
    /// From low to high; widened where they coincide, 0-1 where they are no numbers.
    pub fn linear(low: f64, high: f64) -> Scale {
        let usable = low.abs() < 1e200 && high.abs() < 1e200;
        let (low, high) = if usable { (low.min(high), low.max(high)) } else { (0.0, 1.0) };
        let gap = if high - low > 1e-9 * high.abs().max(1e-6) { 0.0 } else { 0.5 * high.abs().max(1.0) };
        Scale { low: low - gap, high: high + gap, is_log: false, is_whole: false }
    }

    /// From nought to a little over the largest of the values.
    pub fn from_nought(values: impl IntoIterator<Item = f64>) -> Scale {
        Scale::linear(0.0, 1.06 * largest(values).unwrap_or(1.0).max(1e-12))
    }

    pub fn log(low: f64, high: f64) -> Scale {
        if 0.0 < low && low < high && high < 1e200 {
            Scale { low, high, is_log: true, is_whole: false }
        } else {
            Scale::linear(low, high)
        }
    }

    pub fn whole(self) -> Scale {
        Scale { is_whole: true, ..self }
    }

    /// 0 at the low end, 1 at the high end.
    pub fn share(&self, value: f64) -> f64 {
        if self.is_log {
            libm::log(value / self.low) / libm::log(self.high / self.low)
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// Round values within the axis, about `wanted` of them.
    pub fn ticks(&self, wanted: usize) -> Vec<f64> {
        if self.is_log {
            return self.log_ticks(wanted);
        }
        let rough = (self.high - self.low) / wanted.max(1) as f64;
        let power = libm::exp10(libm::log10(rough).floor());
        let nice = [1.0, 2.0, 5.0, 10.0].into_iter().map(|step| step * power).find(|step| *step >= 0.999 * rough);
        let mut step = nice.unwrap_or(10.0 * power);
        if self.is_whole {
            step = step.max(1.0).ceil();
        }
        let first = (self.low / step - 1e-9).ceil() as i64;
        let last = (self.high / step + 1e-9).floor() as i64;
        (first..=last.min(first + 50)).map(|index| index as f64 * step).collect()
    }

    fn log_ticks(&self, wanted: usize) -> Vec<f64> {
        let from = libm::log10(self.low).floor() as i32;
        let to = libm::log10(self.high).ceil() as i32;
        let within = |step: &[f64]| -> Vec<f64> {
            (from..=to.min(from + 300))
                .flat_map(|power| step.iter().map(move |digit| digit * 10f64.powi(power)))
                .filter(|tick| (0.999 * self.low..=1.001 * self.high).contains(tick))
                .collect()
        };
        let digits: [&[f64]; 3] = [&[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0], &[1.0, 2.0, 5.0], &[1.0, 3.0]];
        let rich = within(&[1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
        if within(digits[0]).len() < 4 && rich.len() <= wanted + 2 {
            return rich;
        }
        if let Some(dense) = digits.into_iter().map(within).find(|ticks| ticks.len() <= wanted + 2) {
            return dense;
        }
        let powers = within(&[1.0]);
        let every = powers.len().div_ceil(wanted + 3).max(1);
        powers.into_iter().step_by(every).collect()
    }
}

/// The largest of those values that are numbers.
pub fn largest(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    values.into_iter().filter(|value| value.is_finite()).reduce(f64::max)
}

/// The smallest of those values that are numbers.
pub fn smallest(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    values.into_iter().filter(|value| value.is_finite()).reduce(f64::min)
}

/// A rectangle of the figure with its two axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
    pub x: Scale,
    pub y: Scale,
}

impl Panel {
    pub fn at(&self, x: f64, y: f64) -> Point {
        (self.left + self.width * self.x.share(x), self.bottom() - self.height * self.y.share(y))
    }

    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// Quiet grid lines, the two axes, their numbers and names.
    pub fn draw_axes(&self, canvas: &mut Canvas, x_name: &str, y_name: &str) {
        self.draw_y_axis(canvas, y_name, true);
        self.draw_x_axis(canvas, x_name);
    }

    /// As [`Panel::draw_axes`], for a panel that is filled: without grid lines.
    pub fn draw_bare_axes(&self, canvas: &mut Canvas, x_name: &str, y_name: &str) {
        self.draw_y_axis(canvas, y_name, false);
        self.draw_x_axis(canvas, x_name);
    }

    fn draw_y_axis(&self, canvas: &mut Canvas, name: &str, with_grid: bool) {
        for tick in self.y.ticks((self.height / 26.0) as usize) {
            let (_, y) = self.at(0.0, tick);
            if with_grid {
                canvas.line((self.left, y), (self.right(), y), Stroke::solid(GRID, 0.8));
            } else {
                canvas.line((self.left - 3.0, y), (self.left, y), Stroke::solid(INK, 0.8));
            }
            canvas.text((self.left - 6.0, y), &tick_text(tick), Text::new(SMALL).colour(QUIET).to_the_left());
        }
        canvas.line((self.left, self.top), (self.left, self.bottom()), Stroke::solid(INK, 0.9));
        let name_at = (self.left - 40.0, self.top + self.height / 2.0);
        canvas.text(name_at, name, Text::new(NORMAL).centred().upwards());
    }

    fn draw_x_axis(&self, canvas: &mut Canvas, name: &str) {
        let mut free_from = f64::NEG_INFINITY;
        for tick in self.x.ticks((self.width / 26.0) as usize) {
            let x = self.left + self.width * self.x.share(tick);
            canvas.line((x, self.bottom()), (x, self.bottom() + 4.0), Stroke::solid(INK, 0.8));
            let half = fonts::width(&tick_text(tick), SMALL, false) / 2.0;
            if x - half >= free_from {
                canvas.text((x, self.bottom() + 13.0), &tick_text(tick), Text::new(SMALL).colour(QUIET).centred());
                free_from = x + half + 4.0;
            }
        }
        canvas.line((self.left, self.bottom()), (self.right(), self.bottom()), Stroke::solid(INK, 0.9));
        canvas.text((self.left + self.width / 2.0, self.bottom() + 31.0), name, Text::new(NORMAL).centred());
    }
}

/// Room that numbers and names of the axes take beside a panel.
pub const LEFT_ROOM: f64 = 52.0;
pub const BELOW_ROOM: f64 = 42.0;

pub fn tick_text(tick: f64) -> String {
    significant(tick, 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_within() {
        assert_eq!(Scale::linear(0.0, 1.0).ticks(5), vec![0.0, 0.2, 0.4, 0.6000000000000001, 0.8, 1.0]);
        assert_eq!(Scale::linear(1.0, 12.0).whole().ticks(20), (1..=12).map(f64::from).collect::<Vec<_>>());
        assert_eq!(Scale::log(1.0, 100.0).ticks(5), vec![1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]);
        assert_eq!(Scale::log(1.0, 1e6).ticks(4), vec![1.0, 10.0, 100.0, 1000.0, 1e4, 1e5, 1e6]);
    }

    #[test]
    fn any_numbers_give_a_usable_axis() {
        let strange = [f64::NAN, f64::INFINITY, -1e300, 0.0, 1e-300, 5.0, 1e300];
        for low in strange {
            for high in strange {
                for scale in [Scale::linear(low, high), Scale::log(low, high), Scale::linear(low, high).whole()] {
                    assert!(scale.share(scale.low).is_finite() && scale.share(scale.high).is_finite());
                    assert!(scale.ticks(5).len() <= 60, "{scale:?}");
                }
            }
        }
    }
}
