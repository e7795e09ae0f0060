/// Shortest distance between two straight segments, each given by its ends; 0 where they cross or touch.
pub fn segment_distance(one: [(f64, f64); 2], other: [(f64, f64); 2]) -> f64 {
    if cross(one, other) {
        return 0.0;
    }
    let from_ends = |ends: [(f64, f64); 2], segment| {
        ends.into_iter().map(|end| distance_to_segment(end, segment)).fold(f64::INFINITY, f64::min)
    };
    // Segments that do not cross are nearest at an end of one of them.
    from_ends(one, other).min(from_ends(other, one))
}

fn distance_to_segment(place: (f64, f64), [from, to]: [(f64, f64); 2]) -> f64 {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let square = dx * dx + dy * dy;
    let (px, py) = (place.0 - from.0, place.1 - from.1);
    let share = if square > 0.0 { ((px * dx + py * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(px - share * dx, py - share * dy)
}

/// Whether each segment has its ends on both sides of the other.
fn cross(one: [(f64, f64); 2], other: [(f64, f64); 2]) -> bool {
    let side = |line: [(f64, f64); 2], place: (f64, f64)| {
        (line[1].0 - line[0].0) * (place.1 - line[0].1) - (line[1].1 - line[0].1) * (place.0 - line[0].0)
    };
    side(one, other[0]) * side(one, other[1]) < 0.0 && side(other, one[0]) * side(other, one[1]) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn segments_beside_behind_and_across_each_other() {
        let line = [(0.0, 0.0), (10.0, 0.0)];
        assert_eq!(segment_distance(line, [(5.0, 3.0), (15.0, 3.0)]), 3.0);
        // End to end: 3 m further along and 4 m aside.
        assert_eq!(segment_distance(line, [(13.0, 4.0), (23.0, 4.0)]), 5.0);
        assert_eq!(segment_distance(line, [(5.0, -1.0), (6.0, 1.0)]), 0.0);
        assert_eq!(segment_distance(line, [(5.0, 2.0), (6.0, 9.0)]), 2.0);
        assert_eq!(segment_distance(line, [(10.0, 0.0), (12.0, 2.0)]), 0.0);
        assert_eq!(segment_distance([(1.0, 1.0); 2], [(4.0, 5.0); 2]), 5.0);
    }

    #[test]
    fn the_distance_is_the_least_over_fine_points() {
        let segments: [[(f64, f64); 2]; 3] =
            [[(0.0, 0.0), (3.0, 4.0)], [(4.0, 0.0), (5.0, 2.0)], [(-1.0, 3.0), (6.0, 1.0)]];
        let points = |[from, to]: [(f64, f64); 2]| -> Vec<(f64, f64)> {
            let at = |t: f64| (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
            (0..=500).map(|i| at(f64::from(i) / 500.0)).collect()
        };
        for one in segments {
            for other in segments {
                let (some, others) = (points(one), points(other));
                let pairs = some.iter().flat_map(|p| others.iter().map(move |q| (p.0 - q.0).hypot(p.1 - q.1)));
                let slow = pairs.fold(f64::INFINITY, f64::min);
                assert!((segment_distance(one, other) - slow).abs() < 0.015, "{one:?} {other:?}");
            }
        }
    }
}
