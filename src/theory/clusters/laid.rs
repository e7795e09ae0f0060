use super::moments::{AnimalTheory, CountedAs, ReadBy};
use crate::theory::placement::smeared;
use crate::theory::{Curve, LaidPairs, LayoutMoments, UnitMoments};

/// Intervals of a covariance tabulated by distance, dense near nil, where animals of one group lie.
const KNOTS: usize = 720;

impl AnimalTheory {
    /// What a layout changes in the moments of belts that were laid without regard to each other. Belts of a layout that
    /// keeps them apart do not overlap, so that no animal is counted in two of them within a visit; groups and densities
    /// are shared as the covariance of two places falls with their distance. Belts that are laid again where they were, but
    /// for their displacement, overlap others next to never.
    pub fn laid(
        &self,
        moments: &UnitMoments,
        read: &ReadBy,
        counted: CountedAs,
        (pairs, same_marks): (&LaidPairs, bool),
    ) -> LayoutMoments {
        if pairs.are_independent() {
            return LayoutMoments::default();
        }
        let told = read.per_m2 * read.per_m2;
        let reach = libm::hypot(read.site.0, read.site.1);
        let states = 0..self.law.states.len();
        let within = states.clone().map(|s| {
            let curve = Curve::new(reach, KNOTS, |h| told * self.shared_within(s, counted, h));
            pairs.departure(&curve, moments.pair[s])
        });
        let across = states.map(|s| {
            let curve = Curve::new(reach, KNOTS, |h| told * self.shared_across(s, counted, h));
            pairs.departure(&smeared(&curve, read.relay_sd_m), moments.across[s])
        });
        LayoutMoments {
            within: within.collect(),
            // At new places the second layout knows nothing of the first.
            across: if same_marks { across.collect() } else { Vec::new() },
            most_units: None,
            in_rows: pairs.in_rows(),
        }
    }
}
