//! The root of a falling function by Newton's method inside a bracket.

/// Value and slope of a function at a point. The slope may be approximate or NaN: it sets the speed, not the root.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    pub value: f64,
    pub slope: f64,
}

/// The place in [low, high] where a function that falls from positive to negative is nil.
///
/// Newton's steps while they stay inside the bracket and halve it in time, halving it otherwise, so that it always ends
/// (the safeguarded search of Dekker and Brent with a slope in the place of the secant). Error: about 1e-12 of the place
/// itself, or of 1. `None` when a value is NaN or 200 steps were not enough.
pub(super) fn falling_root(low: f64, high: f64, start: f64, at: impl Fn(f64) -> At) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let mut place = if low < start && start < high { start } else { 0.5 * (low + high) };
    let mut last_step = high - low;
    for _ in 0..200 {
        let At { value, slope } = at(place);
        if value.is_nan() {
            return None;
        }
        if value > 0.0 {
            low = place;
        } else if value < 0.0 {
            high = place;
        } else {
            return Some(place);
        }
        let newton = place - value / slope;
        // A step must be less than half of the one before: a wrong slope cannot make the search creep.
        let trusted = low < newton && newton < high && (newton - place).abs() < 0.5 * last_step.abs();
        let next = if trusted { newton } else { 0.5 * (low + high) };
        last_step = next - place;
        if last_step.abs() <= 1e-12 * place.abs().max(1.0) {
            return Some(next);
        }
        place = next;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_with_a_right_a_wrong_and_no_slope() {
        for scale in [1.0, 0.2, 5.0, -1.0, f64::NAN] {
            let root = falling_root(0.0, 10.0, 3.0, |x| At { value: 2.0 - x * x, slope: -2.0 * x * scale }).unwrap();
            assert!((root - std::f64::consts::SQRT_2).abs() < 1e-11, "slope times {scale}: {root}");
        }
        assert_eq!(falling_root(0.0, 1.0, 0.5, |_| At { value: f64::NAN, slope: 1.0 }), None);
    }

    #[test]
    fn a_root_at_the_end_of_the_bracket_is_reached() {
        let root = falling_root(0.0, 1.0, 0.5, |x| At { value: -x, slope: -1.0 }).unwrap();
        assert!(root.abs() < 1e-11);
    }
}
