//! Whether a unit has any animal: means, variances and covariances of the share of units occupied.

use super::meeting::{over_units, rooms};
use super::moments::{AnimalTheory, CountedAs, ReadBy};
use super::windows::{gauss_pairs, unit_area};
use crate::theory::{Rule, UnitMoments};
use std::sync::LazyLock;

static NORMAL: LazyLock<Rule> = LazyLock::new(|| Rule::normal(24));

/// The two voids of a unit of the first visit and one of a state, and what varies them.
struct TwoVisits {
    /// Mean numbers of groups that put an animal into either, and of those (stayed, out at both) that put one into both.
    means: (f64, f64),
    both: f64,
    /// Variances of the logarithms of the densities over sites, years and patches, and their covariance.
    variances: (f64, f64),
    covariance: f64,
}

impl TwoVisits {
    /// Covariance of one unit being occupied and of the other: of one empty and of the other.
    fn covariance(&self) -> f64 {
        let (first, second) = (libm::sqrt(self.variances.0), libm::sqrt(self.variances.1));
        let correlation =
            if first * second > 0.0 { (self.covariance / (first * second)).clamp(-1.0, 1.0) } else { 0.0 };
        let own = libm::sqrt(1.0 - correlation * correlation);
        let density = |sd: f64, z: f64| libm::exp(sd * z - 0.5 * sd * sd);
        let empty = |mean: f64, sd: f64| NORMAL.expect(|z| libm::exp(-mean * density(sd, z)));
        let both = NORMAL.expect(|z| {
            NORMAL.expect(|other| {
                let groups = self.means.0 * density(first, z);
                let later = self.means.1 * density(second, correlation * z + own * other);
                // Those that stayed are in proportion to both, and never more than either.
                let expected = libm::sqrt(self.means.0 * self.means.1);
                let kept = if expected > 0.0 { self.both * libm::sqrt(groups * later) / expected } else { 0.0 };
                libm::exp(-(groups + later - kept.min(groups).min(later)))
            })
        });
        both - empty(self.means.0, first) * empty(self.means.1, second)
    }
}

impl AnimalTheory {
    /// Moments of whether a unit has any animal that is counted, in every state. Means and pairs of one visit as of
    /// [`super::Meeting`]; across the visits densities are lognormal together (gamma patches with their variances), and groups that
    /// stayed are taken to vary as the geometric mean of the densities of both. The chance of a unit is a number of the zone, not of
    /// a site: what sites differ by is in the covariance of their units.
    pub fn presence_moments(&self, read: &ReadBy, counted: CountedAs) -> UnitMoments {
        let states = self.law.states.len();
        let mut moments = UnitMoments::never_there(states);
        moments.read_by_crew = false;
        for s in 0..states {
            let meeting = self.meeting(read.unit, read.room(), counted, s);
            let present = meeting.presence();
            (moments.truth[s], moments.mean[s]) = (present, present);
            moments.variance[s] = present * (1.0 - present);
            moments.pair[s] = meeting.presence_pair();
            moments.same_marks[s] = self.two_visits(read, counted, s, true).covariance();
            moments.across[s] = self.two_visits(read, counted, s, false).covariance();
        }
        // The first state has nothing to be compared with.
        moments.same_marks[0] = moments.variance[0];
        moments.across[0] = moments.pair[0];
        moments
    }

    fn two_visits(&self, read: &ReadBy, counted: CountedAs, state: usize, same_marks: bool) -> TwoVisits {
        let (law, unit) = (&self.law, read.unit);
        let survival = law.states[state].survival();
        // Of a group that stayed: animals that are out at either visit.
        let (first, later) = (counted.share(), counted.share() * survival);
        let either = counted.class_share * (1.0 - (1.0 - counted.seen_share) * (1.0 - survival * counted.seen_share));
        let (void, void_later) = (self.void(unit, first), self.void(unit, later));
        let stayed = law.mean_group_density(0) * self.groups_kept(state);
        let in_both = stayed * (void.area + void_later.area - self.void(unit, either).area);
        let same_place = if same_marks {
            gauss_pairs(unit, read.relay_sd_m) / unit_area(unit)
        } else {
            self.shared_void(&void, unit, read.room())
        };
        let (room, rectangle) = rooms(&void, unit, read.room());
        let (within, _) = over_units(self.kernels.within.as_ref(), room, rectangle);
        let (itself, other) = over_units(self.kernels.across.as_ref(), room, rectangle);
        let within = libm::log1p(within);
        TwoVisits {
            means: (law.mean_group_density(0) * void.area, law.mean_group_density(state) * void_later.area),
            both: in_both * same_place.min(1.0),
            variances: (law.site_variance(0) + within, law.site_variance(state) + within),
            covariance: law.site_sd * law.site_sd + libm::log1p(if same_marks { itself } else { other }),
        }
    }
}
