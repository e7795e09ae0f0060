use super::rule::{CountingRule, Watch};
use crate::survey::fish_sheet::{LengthReader, WidthReader};
use crate::survey::{Dimensions, MethodKind};
use serde::Serialize;

/// How fish are counted in a belt or from a point, whatever its size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FishCount {
    /// How the distance to the edge is judged, and so the width or radius that is really looked at.
    pub width: WidthReader,
    /// Share of the fish that are still there where other divers have worked before the count; 1 where the count is first.
    pub left_by_others: f64,
    /// How lengths are estimated and written.
    pub lengths: LengthReader,
    /// How far fish can be seen, m; `None`: farther than the unit reaches.
    pub visibility_m: Option<f64>,
}

/// The way back along a fish belt: hidden fish, which the count on the way out leaves, are counted in a narrower belt.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WayBack {
    pub width_m: f64,
    /// Of the first length; others in proportion.
    pub minutes: f64,
}

impl FishCount {
    /// The width of a belt that is looked at in the mean, of the one that is meant.
    fn mean_width_m(&self, meant_m: f64) -> f64 {
        (meant_m * self.width.mean_factor()).min(2.0 * self.visibility_m.unwrap_or(f64::INFINITY))
    }

    /// The radius of a circle of the mean area that is looked at.
    fn mean_radius_m(&self, meant_m: f64) -> f64 {
        let radius = meant_m * libm::sqrt(self.width.mean_square_factor());
        radius.min(self.visibility_m.unwrap_or(f64::INFINITY))
    }

    /// Area that one unit really looks at over the mean of all, from a standard normal. The belts are not made wider and
    /// narrower one by one: what comes in over their long sides, and the fall of sight with distance, are those of the mean
    /// width.
    pub fn area_ratio(&self, dimensions: Dimensions, normal: f64) -> f64 {
        let factor = self.width.factor(normal);
        match dimensions {
            Dimensions::FishPointCount { .. } => factor * factor / self.width.mean_square_factor(),
            _ => factor / self.width.mean_factor(),
        }
    }

    /// Variance of [`FishCount::area_ratio`].
    pub fn area_variance(&self, dimensions: Dimensions) -> f64 {
        // Lognormal: the variance of the logarithm of the area is that of the width, or 4 times it where it goes with the square.
        let variance = self.width.ln_variance();
        match dimensions {
            Dimensions::FishPointCount { .. } => libm::expm1(4.0 * variance),
            _ => libm::expm1(variance),
        }
    }
}

impl MethodKind {
    /// What a diver watches in one unit of these dimensions: for fish in the open, or for hidden fish on the way back;
    /// `None` where the method does not count such fish.
    pub fn watch(&self, dimensions: Dimensions, hidden: bool) -> Option<Watch> {
        match (self, dimensions) {
            (
                MethodKind::FishBelt { rule, count, way_back, length_m: lengths, .. },
                Dimensions::FishBelt { length_m, width_m, swim_minutes },
            ) => {
                let (width_m, minutes) = match (hidden, way_back) {
                    (false, _) => (width_m, swim_minutes),
                    (true, Some(back)) => (back.width_m.min(width_m), back.minutes * length_m / lengths[0]),
                    (true, None) => return None,
                };
                Some(Watch::belt(length_m, count.mean_width_m(width_m), 60.0 * minutes, *rule))
            }
            (
                MethodKind::FishPointCount { whole_period, count, .. },
                Dimensions::FishPointCount { radius_m, count_minutes },
            ) => {
                let seconds = if *whole_period { 60.0 * count_minutes } else { 0.0 };
                (!hidden).then(|| Watch::point(count.mean_radius_m(radius_m), seconds))
            }
            _ => None,
        }
    }

    /// How fish are counted, where they are.
    pub fn fish_count(&self) -> Option<&FishCount> {
        match self {
            MethodKind::FishBelt { count, .. } | MethodKind::FishPointCount { count, .. } => Some(count),
            _ => None,
        }
    }

    /// Area that what is written of fish is told per, m2: as the belt or circle is meant.
    pub fn told_area_m2(&self, dimensions: Dimensions, hidden: bool) -> Option<f64> {
        match (self, dimensions, hidden) {
            (MethodKind::FishBelt { way_back, .. }, Dimensions::FishBelt { length_m, width_m, .. }, true) => {
                way_back.map(|back| length_m * back.width_m.min(width_m))
            }
            (_, _, true) => None,
            _ => dimensions.searched_m2(),
        }
    }
}

/// How far ahead of the diver fish are counted where nothing else is told, m.
pub const DEFAULT_WINDOW_M: f64 = 2.0;

impl Default for CountingRule {
    /// Common practice, no source: some 2 m ahead, stretch by stretch.
    fn default() -> Self {
        CountingRule::MovingWindow { depth_m: DEFAULT_WINDOW_M }
    }
}
