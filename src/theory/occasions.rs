//! The mean of several visits to a site, a year apart, in each of two periods: its moments from those of pairs of visits.
//!
//! With C(d) the covariance of two visits of a site d years apart, the mean over k visits of one period has the variance
//! `(k V + sum of 2 (k - d) C(d)) / k^2` over d = 1 .. k - 1, and with that of the other period, whose first visit is L years
//! later, the covariance `sum of (k - |j|) C(L + j) / k^2` over j = 1 - k .. k - 1. The same holds for two units of a site, for
//! one unit at the same marks, and for the two depths of a place, so that the moments of the mean are moments like any others.
//!
//! What two visits under the same imposed change have in common is not in the law of two visits. It is taken to be all that one
//! such visit shares within a site, less what the years between forget: that is as large a share of what the visit would vary, were
//! the change the same on every site, as it is without a change; what the change does to one site more than to others stays.
//! By components, and for the densities of sites that all change by one ratio, this is exact; for covers it is measured.

use super::departure::Departure;
use super::same_places::PlaceCovariance;
use super::unit_moments::{LayoutMoments, UnitMoments};

/// So many visits in each period, a year apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Occasions {
    pub number: usize,
    /// From the first visit of the first period to the first of the second.
    pub years_between: f64,
}

impl Occasions {
    /// Where the visits of the study are so far apart; the first of the second period is a year after the last of the first at
    /// the earliest.
    pub fn new(number: usize, years_apart: f64) -> Self {
        let years_between = if number > 1 { years_apart.max(number as f64) } else { years_apart };
        Self { number, years_between }
    }

    /// Years between two visits of one period, each with its share among all pairs of visits of it, in either order.
    pub fn within(self) -> Vec<(f64, f64)> {
        let k = self.number as f64;
        (1..self.number).map(|d| (d as f64, 2.0 * (k - d as f64) / (k * k))).collect()
    }

    /// Years between a visit of the first period and one of the second, with its share among all such pairs.
    pub fn across(self) -> Vec<(f64, f64)> {
        let (k, most) = (self.number as f64, self.number as i64 - 1);
        (-most..=most).map(|j| (self.years_between + j as f64, (k - j.abs() as f64) / (k * k))).collect()
    }

    /// Share of a visit's own variance in that of the mean.
    fn own(self) -> f64 {
        1.0 / self.number as f64
    }
}

/// What is known of pairs of visits so many years apart, each with the share it has in the mean ([`Occasions::within`],
/// [`Occasions::across`]).
pub struct ByYears<'a, T> {
    /// At any visit of either period.
    pub one: &'a T,
    /// The same were every change the same on all sites.
    pub even: &'a T,
    pub within: Vec<(f64, &'a T)>,
    pub across: Vec<(f64, &'a T)>,
}

impl ByYears<'_, UnitMoments> {
    /// Moments of the mean over the visits of a period, whose units lie at the same marks or at new places.
    pub fn mean(&self, occasions: Occasions, same_marks: bool) -> UnitMoments {
        let (one, even) = (self.one, self.even);
        let states = 0..one.mean.len();
        // Own part of one visit, and what it shares with the others of its period under the same change.
        let of_period = |own: &[f64], shared: &dyn Fn(usize, &UnitMoments) -> f64| -> Vec<f64> {
            let with_others = |s: usize| self.within.iter().map(|(share, pair)| share * shared(s, pair)).sum::<f64>();
            states.clone().map(|s| occasions.own() * own[s] + with_others(s)).collect()
        };
        let of_both = |what: &dyn Fn(&UnitMoments) -> &[f64]| -> Vec<f64> {
            let of = |s: usize| self.across.iter().map(|(share, pair)| share * what(pair)[s]).sum();
            states.clone().map(of).collect()
        };
        let again = |s: usize, pair: &UnitMoments| shared_again((&one.pair, &even.pair), s, pair.across[1]);
        let truth_again = |s: usize, pair: &UnitMoments| {
            shared_again((&one.site_truth, &even.site_truth), s, pair.site_truth_across[1])
        };
        // Of what a unit varies by itself the same share is found again at its marks.
        let by_itself = |s: usize| even.variance[s] - even.pair[s];
        let same_unit = |s: usize, pair: &UnitMoments| {
            let kept = if same_marks { pair.same_marks[1] - pair.across[1] } else { 0.0 };
            again(s, pair) + kept * ratio(by_itself(s), by_itself(0))
        };
        UnitMoments {
            truth: one.truth.clone(),
            mean: one.mean.clone(),
            variance: of_period(&one.variance, &same_unit),
            pair: of_period(&one.pair, &again),
            same_marks: of_both(&|pair| &pair.same_marks),
            across: of_both(&|pair| &pair.across),
            layout: self.layouts(occasions, same_marks),
            site_truth: of_period(&one.site_truth, &truth_again),
            site_truth_across: of_both(&|pair| &pair.site_truth_across),
            read_by_crew: one.read_by_crew,
        }
    }

    /// Layouts of several visits know nothing of each other but at the same marks.
    fn layouts(&self, occasions: Occasions, same_marks: bool) -> LayoutMoments {
        let one = &self.one.layout;
        let states = self.one.mean.len();
        let at = |all: &[Departure], s: usize| all.get(s).cloned().unwrap_or_default();
        let within = |s: usize| {
            let own = at(&one.within, s).scaled(occasions.own());
            if !same_marks {
                return own;
            }
            let times = ratio(self.even.pair[s], self.even.pair[0]);
            let stays = at(&one.within, s).plus(&at(&one.within, 0).scaled(-times));
            self.within.iter().fold(own, |sum, (share, pair)| {
                let again = at(&pair.layout.across, 1).scaled(times).plus(&stays);
                sum.plus(&again.scaled(*share))
            })
        };
        let across = |s: usize| {
            let each = self.across.iter().map(|(share, pair)| at(&pair.layout.across, s).scaled(*share));
            each.fold(Departure::None, |sum, of| sum.plus(&of))
        };
        LayoutMoments {
            within: (0..states).map(within).collect(),
            across: (0..states).map(across).collect(),
            ..one.clone()
        }
    }
}

/// What two visits share in a state, from what one visit does there and would do under an even change, and what two visits share
/// without a change.
fn shared_again((one, even): (&[f64], &[f64]), state: usize, without_change: f64) -> f64 {
    let times = ratio(even[state], even[0]);
    times * without_change + one[state] - times * one[0]
}

/// How many times a variance is as large; 1 where there is none.
fn ratio(variance: f64, first: f64) -> f64 {
    if first > 0.0 { variance / first } else { 1.0 }
}

impl ByYears<'_, PlaceCovariance> {
    /// The same of what two depths of a place have in common.
    pub fn mean(&self, occasions: Occasions) -> PlaceCovariance {
        let one = self.one;
        let states = one.within.len();
        let within = |s: usize| {
            // Either depth may be the one of the earlier visit.
            let again = |pair: &PlaceCovariance| 0.5 * (pair.forth[1] + pair.back[1]);
            let shared = |pair: &PlaceCovariance| shared_again((&one.within, &self.even.within), s, again(pair));
            occasions.own() * one.within[s] + self.within.iter().map(|(share, pair)| share * shared(pair)).sum::<f64>()
        };
        let across = |what: &dyn Fn(&PlaceCovariance) -> &[f64]| -> Vec<f64> {
            (0..states).map(|s| self.across.iter().map(|(share, pair)| share * what(pair)[s]).sum()).collect()
        };
        PlaceCovariance {
            within: (0..states).map(within).collect(),
            forth: across(&|pair| &pair.forth),
            back: across(&|pair| &pair.back),
        }
    }
}
