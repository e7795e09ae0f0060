//! Days and visits that change places in a plan, as long as that makes it better.

use crate::budget::Day;
use crate::budget::schedule::SiteVisit;

/// Two days that change places, or one visit of each; by how much fewer sites are unreached is found by trying.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Exchange {
    Visits([usize; 2], [usize; 2]),
    Days(usize, usize),
}

impl Exchange {
    fn make(self, plan: &mut [Vec<SiteVisit>]) {
        match self {
            Exchange::Days(one, other) => plan.swap(one, other),
            Exchange::Visits([day, one], [other_day, other]) => {
                let kept = plan[day][one];
                plan[day][one] = plan[other_day][other];
                plan[other_day][other] = kept;
            }
        }
    }

    /// Days between the two.
    fn length(self) -> usize {
        match self {
            Exchange::Days(one, other) => other - one,
            Exchange::Visits([day, _], [other_day, _]) => other_day - day,
        }
    }
}

/// Exchanges days, or visits of two days, as long as that lowers the cost, such as the sites that are not reached; sites that take more
/// than a day stay.
pub(super) fn improve<C: Copy + Default + Ord>(
    day: &Day,
    plan: &mut [Vec<SiteVisit>],
    dives: &[usize],
    cost: impl Fn(&[Vec<SiteVisit>]) -> C,
) {
    let mut now = cost(plan);
    while now > C::default() {
        let mut best: Option<(C, usize, Exchange)> = None;
        for exchange in exchanges(day, plan, dives) {
            exchange.make(plan);
            // Of equally good ones that which moves least far.
            let found = (cost(plan), exchange.length(), exchange);
            exchange.make(plan);
            if found.0 < now && best.is_none_or(|best| found < best) {
                best = Some(found);
            }
        }
        let Some((left, _, exchange)) = best else { return };
        exchange.make(plan);
        now = left;
    }
}

/// All that leave every day within what it holds.
fn exchanges(day: &Day, plan: &[Vec<SiteVisit>], dives: &[usize]) -> Vec<Exchange> {
    let is_whole = |visit: &SiteVisit| visit.dives == dives[visit.zone];
    let holds = |visits: &[SiteVisit], out: SiteVisit, into: SiteVisit| {
        let all: usize = visits.iter().map(|visit| visit.dives).sum();
        day.holds(visits.len(), all - out.dives + into.dives)
    };
    let mut all = Vec::new();
    for one in 0..plan.len() {
        for other in one + 1..plan.len() {
            if plan[one].iter().chain(&plan[other]).all(is_whole) {
                all.push(Exchange::Days(one, other));
            }
            for (a, first) in plan[one].iter().enumerate().filter(|(_, visit)| is_whole(visit)) {
                for (b, second) in plan[other].iter().enumerate().filter(|(_, visit)| is_whole(visit)) {
                    let differ = first.zone != second.zone;
                    if differ && holds(&plan[one], *first, *second) && holds(&plan[other], *second, *first) {
                        all.push(Exchange::Visits([one, a], [other, b]));
                    }
                }
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_visits_change_places_where_a_site_asks_for_it() {
        let visit = |zone: usize| SiteVisit { zone, site: 0, first_dive: 0, dives: 1 };
        let day = Day::fixed(2, 2);
        let mut plan = vec![vec![visit(0)], vec![visit(1)], vec![visit(0)]];
        // The only site of zone 1 can be reached on the third day alone.
        let zones = |plan: &[Vec<SiteVisit>]| -> Vec<Vec<usize>> {
            plan.iter().map(|day| day.iter().map(|visit| visit.zone).collect()).collect()
        };
        improve(&day, &mut plan, &[1, 1], |plan| usize::from(plan[2][0].zone != 1));
        assert_eq!(zones(&plan), [[0], [0], [1]]);
        // Every day has both zones, and no site of zone 0 can be reached on the first.
        let mut plan = vec![vec![visit(0), visit(1)], vec![visit(0), visit(1)]];
        improve(&day, &mut plan, &[1, 1], |plan| plan[0].iter().filter(|visit| visit.zone == 0).count());
        assert_eq!(zones(&plan), [[1, 1], [0, 0]]);
        // A site that takes more than a day stays.
        let part = SiteVisit { dives: 1, ..visit(0) };
        let mut plan = vec![vec![part], vec![visit(1)]];
        improve(&day, &mut plan, &[2, 1], |plan| usize::from(plan[0][0].zone == 0));
        assert_eq!(zones(&plan), [[0], [1]]);
    }
}
