//! The best use of the money there is, as it is put on days: free days for sites that open late are paid for too.

use super::draw::Draw;
use super::options::{Chosen, Options, best_for_money};
use super::prepared::Prepared;
use super::visits::visits;
use crate::budget::{Found, Hold, Search};

/// How often less is asked for, where what the search counts of free days is fewer than the schedule has.
const ROUNDS: usize = 8;

/// The best use of so much money in so many days, the days with it that its schedule leaves free. (Where eight rounds of asking for
/// less do not come to it, the last of them, and whoever puts it on days tells.)
pub fn best_within_money(
    options: &Options,
    searches: &[Search],
    (money, most_days): (f64, usize),
    seed: u64,
) -> Option<Chosen> {
    let (mut asked, mut best) = (money, None);
    for _ in 0..ROUNDS {
        let Some(chosen) = best_for_money(searches, asked, most_days) else { break };
        let costs = options.all[chosen.option].money_on_days(&chosen.found, seed)?;
        best = Some(chosen);
        // Rounding never decides.
        if costs <= money * (1.0 + 1e-9) {
            break;
        }
        asked -= costs - money;
    }
    best
}

impl Prepared<'_> {
    /// What a design costs with all days that its schedule leaves free; `None` where no rates are told.
    fn money_on_days(&self, found: &Found, seed: u64) -> Option<f64> {
        let plan = self.told(found, Hold::All);
        let cost = plan.cost.as_ref()?;
        let Some(list) = &self.expedition.sites else { return Some(cost.total) };
        let draw = Draw::new(list, plan.zones.len(), seed);
        let zones = self.with_later_crews(&plan.zones, &found.units);
        let free = visits(self, found, &zones, (Some(&draw), None)).free_days().len();
        Some(self.with_booked(cost, &plan, plan.days + free))
    }
}
