/// Exact length of the union of chords `(from, to)` that lies within [0, `length`]. Sorts the chords in place, so that the
/// caller can keep one scratch vector for all lines. Single or double precision; the sum is taken in double.
pub fn union_length<F: Copy + Into<f64>>(chords: &mut [(F, F)], length: f64) -> f64 {
    chords.sort_unstable_by(|a, b| a.0.into().total_cmp(&b.0.into()));
    let mut covered = 0.0;
    // Everything up to here has been counted; starting at 0 clips the chords that begin before the line.
    let mut reached = 0.0;
    for &(from, to) in chords.iter() {
        let (from, to) = (from.into().max(reached), to.into().min(length));
        if to > from {
            covered += to - from;
            reached = to;
        }
    }
    covered
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    #[test]
    fn overlaps_count_once_and_the_ends_are_clipped() {
        let mut chords = vec![(2.0, 3.0), (-1.0, 0.5), (2.5, 4.0), (2.6, 2.7), (9.5, 12.0), (4.0, 4.25)];
        assert_eq!(union_length(&mut chords, 10.0), 0.5 + 2.25 + 0.5);
        assert_eq!(union_length::<f32>(&mut [], 10.0), 0.0);
        assert_eq!(union_length(&mut [(-3.0, -1.0), (11.0, 12.0)], 10.0), 0.0);
        assert_eq!(union_length(&mut [(-3.0f32, 30.0)], 10.0), 10.0);
    }

    #[test]
    fn it_equals_the_slow_count_of_tiny_steps() {
        for trial in 0..50 {
            let key = Key::seed(trial);
            let mut chords: Vec<(f64, f64)> = (0..12)
                .map(|i| {
                    let from = 12.0 * key.uniform(Purpose::Test, 2 * i) - 1.0;
                    (from, from + key.uniform(Purpose::Test, 2 * i + 1))
                })
                .collect();
            let steps = 20_000;
            let inside = (0..steps)
                .map(|i| 10.0 * (i as f64 + 0.5) / steps as f64)
                .filter(|x| chords.iter().any(|(from, to)| from < x && x < to))
                .count();
            let slow = 10.0 * inside as f64 / steps as f64;
            let fast = union_length(&mut chords, 10.0);
            // Each of at most 24 ends moves the count by less than a step.
            assert!((slow - fast).abs() < 24.0 * 10.0 / steps as f64, "{slow} {fast}");
        }
    }
}
