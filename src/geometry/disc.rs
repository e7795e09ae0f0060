use std::f64::consts::PI;

/// Area of the intersection of two discs of the same `radius` whose centres are `distance` apart:
/// `gamma_R(h) = 2 R^2 acos(h / 2R) - (h / 2) sqrt(4 R^2 - h^2)`, 0 from `h = 2R` on.
pub fn disc_overlap(distance: f64, radius: f64) -> f64 {
    let x = (distance / (2.0 * radius)).min(1.0);
    2.0 * radius * radius * (libm::acos(x) - x * libm::sqrt(1.0 - x * x))
}

/// Area of the intersection of a disc of radius `first` and one of radius `second`, centres `distance` apart.
pub fn lens(distance: f64, first: f64, second: f64) -> f64 {
    let smaller = first.min(second);
    if distance <= (first - second).abs() {
        return PI * smaller * smaller;
    }
    if distance >= first + second {
        return 0.0;
    }
    let sector = |own: f64, other: f64| {
        let cosine = (distance * distance + own * own - other * other) / (2.0 * distance * own);
        own * own * libm::acos(cosine.clamp(-1.0, 1.0))
    };
    let product = (first + second - distance)
        * (distance + first - second)
        * (distance - first + second)
        * (distance + first + second);
    sector(first, second) + sector(second, first) - 0.5 * libm::sqrt(product.max(0.0))
}

/// Where a line crosses a disc: the two ends, in the coordinate along the line. The centre lies at `along`, and `across`
/// to the side of the line. `None` when the line misses the disc.
#[inline]
pub fn chord(along: f64, across: f64, radius: f64) -> Option<(f64, f64)> {
    let square = radius * radius - across * across;
    if !(square > 0.0) {
        return None;
    }
    let half = square.sqrt();
    Some((along - half, along + half))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_discs_are_a_special_case_of_the_lens() {
        for i in 0..50 {
            let distance = 0.01 * i as f64;
            let (equal, general) = (disc_overlap(distance, 0.2), lens(distance, 0.2, 0.2));
            assert!((equal - general).abs() < 1e-15, "{distance}: {equal} {general}");
        }
    }

    #[test]
    fn the_overlap_integrated_over_all_displacements_is_the_product_of_the_areas() {
        let (first, second) = (0.3, 0.7);
        let steps = 20_000;
        let width = (first + second) / steps as f64;
        let total: f64 =
            (0..steps).map(|i| (i as f64 + 0.5) * width).map(|h| 2.0 * PI * h * lens(h, first, second) * width).sum();
        let exact = PI * first * first * PI * second * second;
        assert!((total / exact - 1.0).abs() < 1e-7, "{total} {exact}");
    }

    #[test]
    fn the_lens_is_the_whole_smaller_disc_or_nothing_at_the_ends() {
        assert_eq!(lens(0.1, 0.2, 0.5), PI * 0.2 * 0.2);
        assert_eq!(lens(0.7, 0.2, 0.5), 0.0);
        assert_eq!(disc_overlap(0.5, 0.2), 0.0);
        assert!((disc_overlap(0.0, 0.2) - PI * 0.04).abs() < 1e-16);
    }

    #[test]
    fn the_ends_of_a_chord_lie_on_the_circle() {
        let (from, to) = chord(3.0, -0.3, 0.5).unwrap();
        for end in [from, to] {
            assert!(((end - 3.0).hypot(-0.3) - 0.5).abs() < 1e-15);
        }
        assert!(from < to);
        assert_eq!(chord(3.0, 0.5, 0.5), None);
        assert_eq!(chord(3.0, f64::NAN, 0.5), None);
    }

    #[test]
    fn the_mean_chord_of_a_disc_is_its_area_over_its_width() {
        let steps = 100_000;
        let mean: f64 = (0..steps)
            .map(|i| -0.4 + 0.8 * (i as f64 + 0.5) / steps as f64)
            .filter_map(|across| chord(0.0, across, 0.4))
            .map(|(from, to)| to - from)
            .sum::<f64>()
            / steps as f64;
        assert!((mean - PI * 0.4 / 2.0).abs() < 1e-6, "{mean}");
    }
}
