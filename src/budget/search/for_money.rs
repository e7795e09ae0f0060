//! The best use of so much money: the same merit as for so many days, bound by what a design costs.
//!
//! For given amounts of the targets the cheapest design is known ([`Search::least`] of least money). So the largest share of
//! its target that every must can have is found by halving, then that of the others with the musts kept there, then that of
//! all beyond their targets; what money is left buys units and sites one by one as long as that is better.

use super::super::score::Indicator;
use super::money::Prices;
use super::{Found, Hold, Search};
use std::sync::Arc;

/// Shares of targets are told apart down to this: finer than merit tells.
const STEP: f64 = 0.0005;
/// Beyond so many times what is asked nothing is looked for.
const MOST: f64 = 4.0;
/// A share that any design has.
const ANY: f64 = 1e-3;

/// What a design shall have: the share of its target of each must, and of each of the others, if they are asked.
#[derive(Clone, Copy)]
struct Share {
    musts: f64,
    others: Option<f64>,
}

impl Search<'_> {
    /// The best use of so much money in at most so many days; `None`: no prices, or it does not pay for the fewest sites.
    /// Cost: some 30 searches of least money.
    pub fn best_for_money(&self, money: f64, most_days: usize) -> Option<Found> {
        let prices = self.within_days(most_days)?;
        let of = |share: Share| self.with_share(share, &prices, money);
        let least = of(Share { musts: ANY, others: None })?;
        let (musts, mut best) = largest((ANY, 1.0), least, |level| of(Share { musts: level, others: None }));
        let keep = |best: &mut Found, found: Found| {
            if found.beats(best) {
                *best = found;
            }
        };
        if let Some(start) = of(Share { musts, others: Some(ANY) }) {
            let (others, found) = largest((ANY, 1.0), start, |level| of(Share { musts, others: Some(level) }));
            keep(&mut best, found.clone());
            if musts.min(others) >= 1.0 {
                keep(&mut best, largest((1.0, MOST), found, |level| of(Share { musts: level, others: Some(level) })).1);
            }
        }
        Some(self.with_the_rest(&prices, money, best))
    }

    /// Money for the fewest sites and units in at most so many days; `None`: no prices, or they do not fit into the days.
    pub fn least_money(&self, most_days: usize) -> Option<f64> {
        let prices = self.within_days(most_days)?;
        let found = self.with_share(Share { musts: ANY, others: None }, &prices, f64::INFINITY)?;
        Some(self.money_by(&prices, &found)).filter(|money| money.is_finite())
    }

    /// Prices that come first, and that nobody can pay beyond so many days.
    fn within_days(&self, most_days: usize) -> Option<Prices<'_>> {
        let own = self.prices()?;
        let of_days = own.of_days.clone();
        Some(Prices {
            of_days: Arc::new(move |days| if days > most_days { f64::INFINITY } else { of_days(days) }),
            come_first: true,
            ..own.clone()
        })
    }

    /// The cheapest design with such shares of the targets, if there is the money for it.
    fn with_share(&self, share: Share, prices: &Prices, money: f64) -> Option<Found> {
        let asked = |of: &Indicator| {
            let level = if of.is_must { share.musts } else { share.others.unwrap_or(1.0) };
            Indicator { target: of.target / level, ..of.clone() }
        };
        let indicators: Vec<Indicator> = self.indicators.iter().map(asked).collect();
        let hold = if share.others.is_some() { Hold::All } else { Hold::Musts };
        let found = self.asking(&indicators).within_money(prices, hold, money)?;
        self.design(&found.units, &found.sites)
    }

    /// Units and sites more, one by one or one for another, as long as that is better and there is money.
    fn with_the_rest(&self, prices: &Prices, money: f64, mut best: Found) -> Found {
        loop {
            let moves = self.moves();
            let pairs = moves.iter().enumerate().flat_map(|(at, one)| {
                let others = moves[at + 1..].iter().map(move |other| vec![one, other]);
                std::iter::once(vec![one]).chain(others)
            });
            let better = pairs.filter_map(|of| {
                let moved = of
                    .into_iter()
                    .try_fold((best.units.clone(), best.sites.clone()), |design, step| self.moved(design, step))?;
                let design = self.design(&moved.0, &moved.1)?;
                (design.beats(&best) && self.money_by(prices, &design) <= money + 1e-6).then_some(design)
            });
            match better.reduce(|one, other| if other.beats(&one) { other } else { one }) {
                Some(better) => best = better,
                None => return best,
            }
        }
    }

    fn moves(&self) -> Vec<Move> {
        let tasks = self.zones.first().map_or(0, |zone| zone.table.caps.tasks());
        let units =
            (0..tasks).filter(|_| !self.is_fixed).flat_map(|task| [Move::Units(task, 1), Move::Units(task, -1)]);
        let free = (0..self.zones.len()).filter(|&zone| self.zones[zone].same_sites_as.is_none());
        units.chain(free.flat_map(|zone| [Move::Sites(zone, 1), Move::Sites(zone, -1)])).collect()
    }

    /// `None` where there are no such units or sites.
    fn moved(&self, (mut units, mut sites): (Vec<u8>, Vec<u16>), step: &Move) -> Option<(Vec<u8>, Vec<u16>)> {
        match *step {
            Move::Units(task, by) => {
                units[task] = units[task].checked_add_signed(by)?;
                let most = self.zones.first()?.table.caps.of(task);
                let least = u8::from(self.needs(task));
                (least..=most).contains(&units[task]).then_some(())?;
            }
            Move::Sites(zone, by) => {
                sites[zone] = sites[zone].checked_add_signed(by)?;
                let of = &self.zones[zone];
                (of.least_sites..=of.most_sites).contains(&sites[zone]).then_some(())?;
                for (other, of) in self.zones.iter().enumerate() {
                    if let Some(first) = of.same_sites_as {
                        sites[other] = sites[first];
                    }
                }
            }
        }
        Some((units, sites))
    }
}

/// One unit of a task, or one site of a zone, more or less.
#[derive(Clone, Copy)]
enum Move {
    Units(usize, i8),
    Sites(usize, i16),
}

/// The largest level up to the second that something can be found at, from what is found at the first.
fn largest((mut low, high): (f64, f64), at_low: Found, found: impl Fn(f64) -> Option<Found>) -> (f64, Found) {
    if let Some(at_high) = found(high) {
        return (high, at_high);
    }
    let (mut high, mut best) = (high, at_low);
    while high - low > STEP {
        let middle = 0.5 * (low + high);
        match found(middle) {
            Some(at_middle) => (low, best) = (middle, at_middle),
            None => high = middle,
        }
    }
    (low, best)
}
