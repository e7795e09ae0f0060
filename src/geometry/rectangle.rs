/// A place or a direction in the plane, m.
pub type Point = (f64, f64);

/// A rectangle about its middle line, m.
#[derive(Clone, Copy, Debug)]
pub struct Rectangle {
    /// Where the middle line begins.
    pub start: Point,
    /// Its direction, a unit vector.
    pub heading: Point,
    pub length: f64,
    pub width: f64,
}

impl Rectangle {
    fn corners(&self) -> [Point; 4] {
        let (x, y) = self.heading;
        let at =
            |along: f64, across: f64| (self.start.0 + along * x - across * y, self.start.1 + along * y + across * x);
        let half = 0.5 * self.width;
        [at(0.0, -half), at(0.0, half), at(self.length, -half), at(self.length, half)]
    }

    /// Whether two overlap by more than `touch` (m): they are apart where their shadows on a side of one of them are.
    pub fn overlaps(&self, other: &Self, touch: f64) -> bool {
        let sides = [self, other].into_iter().flat_map(|of| [of.heading, (-of.heading.1, of.heading.0)]);
        let shadow = |of: &Self, side: Point| {
            let along = of.corners().map(|corner| corner.0 * side.0 + corner.1 * side.1);
            (along.into_iter().fold(f64::INFINITY, f64::min), along.into_iter().fold(f64::NEG_INFINITY, f64::max))
        };
        sides.into_iter().all(|side| {
            let (own, others) = (shadow(self, side), shadow(other, side));
            own.0.max(others.0) < own.1.min(others.1) - touch
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Crossed, side by side, end to end and one behind the other at an angle, by hand.
    #[test]
    fn rectangles_overlap_where_they_share_ground() {
        let of = |start, degrees: f64| Rectangle {
            start,
            heading: (libm::cos(degrees.to_radians()), libm::sin(degrees.to_radians())),
            length: 10.0,
            width: 2.0,
        };
        let first = of((0.0, 0.0), 0.0);
        let overlaps = |start, degrees| first.overlaps(&of(start, degrees), 0.1);
        assert!(overlaps((5.0, -5.0), 90.0));
        assert!(overlaps((0.0, 1.5), 0.0) && !overlaps((0.0, 2.5), 0.0));
        assert!(overlaps((9.5, 0.0), 0.0) && !overlaps((10.0, 0.0), 0.0));
        assert!(!overlaps((10.5, 1.5), 45.0));
    }
}
