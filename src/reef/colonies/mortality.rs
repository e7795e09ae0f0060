//! Dead parts of colonies (partial mortality), rising with size.
//!
//! Source of all numbers: US Virgin Islands colony records, Ennis et al. 2020, Territorial Coral Reef Monitoring Program;
//! by classes of the largest diameter (under 10, 10-20, 20-40, 40-80, over 80 cm) 28, 56, 71, 84, 91 % of colonies have
//! dead parts, and these are 5, 12, 19, 29, 41 % of the colonies' area in the mean of all colonies of the class.

use super::marks::{Mark, mark_uniform};
use cdflib::special::try_beta_inc;
use serde::Serialize;
use std::sync::{Arc, LazyLock};

/// Dead parts as shares of the whole colony.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DeadParts {
    /// Died in the last weeks: bare or thinly overgrown skeleton.
    pub recent: f32,
    pub old: f32,
}

impl DeadParts {
    pub fn total(self) -> f32 {
        self.recent + self.old
    }
}

/// How colonies of a zone are partly dead. Log odds are natural; diameters are the largest ones.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PartialMortality {
    /// Log odds that a colony of [`REFERENCE_M`] has dead parts.
    pub log_odds: f64,
    /// By how much they rise with every doubling of the diameter.
    pub rise_per_doubling: f64,
    /// Log odds of the mean dead share of a colony of [`REFERENCE_M`] that has dead parts.
    pub dead_log_odds: f64,
    /// Share of the colonies with dead parts that have recent ones.
    pub recent: f64,
}

/// The diameter of which partial mortality is told, m.
pub const REFERENCE_M: f64 = 0.15;

impl Default for PartialMortality {
    fn default() -> Self {
        Self::USUAL
    }
}

impl PartialMortality {
    /// As in the records. The odds of having dead parts are fitted to their classes; the mean dead share of those that have
    /// some to the means of the classes over their shares of colonies with dead parts (.18 .21 .27 .35 .45).
    pub const USUAL: Self = Self {
        log_odds: 0.24,
        rise_per_doubling: 0.75,
        dead_log_odds: -1.86 + DEAD_RISE_PER_SQRT_CM * SQRT_OF_REFERENCE_CM,
        recent: RECENT_AMONG_DEAD.0,
    };

    /// The share of colonies of [`REFERENCE_M`] that have dead parts, and the mean dead share of those.
    pub fn at_reference(&self) -> (f64, f64) {
        (logistic(self.log_odds), logistic(self.dead_log_odds))
    }

    /// Chance that a colony of this largest diameter (m) has dead parts.
    pub fn share_with_dead_parts(&self, longest_m: f64) -> f64 {
        logistic(self.log_odds + self.rise_per_doubling * libm::log2(longest_m / REFERENCE_M))
    }

    /// Mean dead share of colonies of this largest diameter (m) that have dead parts.
    pub fn mean_dead_share_where_any(&self, longest_m: f64) -> f64 {
        let beyond = (100.0 * longest_m).sqrt() - SQRT_OF_REFERENCE_CM;
        logistic(self.dead_log_odds + DEAD_RISE_PER_SQRT_CM * beyond)
    }
}

/// The log odds of the dead share rise by this with the square root of the diameter in cm: from the records, for every zone.
const DEAD_RISE_PER_SQRT_CM: f64 = 0.15;
const SQRT_OF_REFERENCE_CM: f64 = 3.872983346207417;

/// The dead share of colonies that have dead parts is beta with this sum of its two parameters (its variance is
/// `mean (1 - mean) / (1 + this)`). In the records its 10, 25, 50, 75, 90 % lie at 5, 8, 15, 40, 70 %, of this law at 0.5,
/// 3.7, 16.7, 42, 68 %: the lower two are missed. Divers hardly write less than 5 %.
pub const DEAD_SHARE_PRECISION: f64 = 2.0;

/// Among colonies with dead parts, the share that has recent ones, and the mean share of the dead parts that is recent.
/// From the same records: 10.6 % of all colonies have recent parts, 7.9 % of the colony in the mean; 54.4 % have dead parts,
/// 26.8 % of the colony in the mean. That recent parts belong to the dead ones, and are uniform, is assumed.
pub const RECENT_AMONG_DEAD: (f64, f64) = (0.106 / 0.544, 0.079 / 0.268);

/// Log odds of a share.
pub fn log_odds(share: f64) -> f64 {
    libm::log(share / (1.0 - share))
}

fn logistic(log_odds: f64) -> f64 {
    1.0 / (1.0 + libm::exp(-log_odds))
}

/// Steps of the tables: equal in the square root of the diameter, to 4 m.
#[derive(Clone, Copy)]
struct Level(usize);

const LEVELS: usize = 80;
const LEVELS_PER_SQRT_CM: f64 = 4.0;
/// Equally likely levels of the dead share.
const QUANTILES: usize = 256;

impl Level {
    #[inline(always)]
    fn of(longest_m: f64) -> Self {
        Level((((100.0 * longest_m).sqrt() * LEVELS_PER_SQRT_CM) as usize).min(LEVELS - 1))
    }

    /// The diameter (m) it stands for.
    fn diameter(self) -> f64 {
        0.01 * ((self.0 as f64 + 0.5) / LEVELS_PER_SQRT_CM).powi(2)
    }
}

/// A law of partial mortality as tables: a quantile of the beta takes microseconds; a table, nanoseconds.
pub struct DeadPartsTable {
    law: PartialMortality,
    any: [f64; LEVELS],
    shares: Vec<[f32; QUANTILES]>,
}

impl DeadPartsTable {
    /// The table of a law; that of the usual one is made once.
    pub fn of(law: PartialMortality) -> Arc<Self> {
        static USUAL: LazyLock<Arc<DeadPartsTable>> =
            LazyLock::new(|| Arc::new(DeadPartsTable::new(PartialMortality::USUAL)));
        if law == PartialMortality::USUAL { USUAL.clone() } else { Arc::new(Self::new(law)) }
    }

    fn new(law: PartialMortality) -> Self {
        let diameter = |level: usize| Level(level).diameter();
        Self {
            law,
            any: std::array::from_fn(|level| law.share_with_dead_parts(diameter(level))),
            shares: (0..LEVELS).map(|level| quantiles(law.mean_dead_share_where_any(diameter(level)))).collect(),
        }
    }

    pub fn law(&self) -> PartialMortality {
        self.law
    }

    /// The dead parts of a colony of a largest diameter (m), as it is measured, where the odds of having some are so many times
    /// those of the law.
    #[inline]
    pub fn dead_parts(&self, id: u64, longest_m: f64, odds: f64) -> DeadParts {
        let level = Level::of(longest_m);
        let any = self.any[level.0];
        if mark_uniform(id, Mark::HasDeadParts) >= any * odds / (1.0 + any * (odds - 1.0)) {
            return DeadParts::default();
        }
        let shares = &self.shares[level.0];
        let total = shares[(mark_uniform(id, Mark::DeadShare) * QUANTILES as f64) as usize];
        let recent = if mark_uniform(id, Mark::HasRecent) < self.law.recent {
            total * (2.0 * RECENT_AMONG_DEAD.1 * mark_uniform(id, Mark::RecentShare)) as f32
        } else {
            0.0
        };
        DeadParts { recent, old: total - recent }
    }
}

/// Quantiles of the beta of a mean at the middles of equally likely levels, scaled to the exact mean.
fn quantiles(mean: f64) -> [f32; QUANTILES] {
    let (a, b) = (DEAD_SHARE_PRECISION * mean, DEAD_SHARE_PRECISION * (1.0 - mean));
    // Both ends of the beta are steep; sin^2 spreads the knots towards them.
    const KNOTS: usize = 160;
    let knot = |i: usize| libm::sin(0.5 * std::f64::consts::PI * i as f64 / KNOTS as f64).powi(2);
    let lower = |x: f64| try_beta_inc(a, b, x, 1.0 - x).map_or(f64::NAN, |(lower, _)| lower);
    let mut values = [0.0; QUANTILES];
    let (mut i, mut from, mut to) = (0, 0.0, lower(knot(1)));
    for (q, value) in values.iter_mut().enumerate() {
        let level = (q as f64 + 0.5) / QUANTILES as f64;
        while to < level && i + 1 < KNOTS {
            i += 1;
            (from, to) = (to, if i + 1 == KNOTS { 1.0 } else { lower(knot(i + 1)) });
        }
        *value = knot(i) + (knot(i + 1) - knot(i)) * (level - from) / (to - from);
    }
    let scale = mean * QUANTILES as f64 / values.iter().sum::<f64>();
    values.map(|value| (scale * value).min(1.0) as f32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose, normal_from_uniform};

    /// Shares with dead parts and mean dead shares by classes of size, of colonies as large as those of the records
    /// (lognormal, ln cm 2.66 +- 1.03, from the same source).
    #[test]
    fn dead_parts_rise_with_size_as_in_the_records() {
        let key = Key::seed(5);
        let table = DeadPartsTable::of(PartialMortality::USUAL);
        let sizes: Vec<(u64, f64)> = (0..60_000)
            .map(|i| {
                let z = normal_from_uniform(key.uniform(Purpose::Test, i));
                (key.child(Purpose::Colony, i).0, 0.01 * (2.66 + 1.03 * z).exp())
            })
            .collect();
        let classes = [
            (0.0, 0.10, 0.28, 0.05),
            (0.10, 0.20, 0.56, 0.12),
            (0.20, 0.40, 0.71, 0.19),
            (0.40, 0.80, 0.84, 0.29),
            (0.80, 9.0, 0.91, 0.41),
        ];
        for (from, to, any, mean) in classes {
            let parts: Vec<f64> = sizes
                .iter()
                .filter(|(_, d)| from <= *d && *d < to)
                .map(|&(id, d)| f64::from(table.dead_parts(id, d, 1.0).total()))
                .collect();
            let n = parts.len() as f64;
            let found_any = parts.iter().filter(|&&dead| dead > 0.0).count() as f64 / n;
            let found_mean = parts.iter().sum::<f64>() / n;
            // A curve with two numbers through five classes: within 3 points (the simulation error is below 1).
            assert!((found_any - any).abs() < 0.035, "{from}: {found_any} {any}");
            assert!((found_mean - mean).abs() < 0.025, "{from}: {found_mean} {mean}");
        }
        let all: Vec<f64> = sizes.iter().map(|&(id, d)| f64::from(table.dead_parts(id, d, 1.0).total())).collect();
        let none = all.iter().filter(|&&dead| dead == 0.0).count() as f64 / all.len() as f64;
        let mean = all.iter().sum::<f64>() / all.len() as f64;
        assert!((none - 0.456).abs() < 0.03 && (mean - 0.146).abs() < 0.02, "{none} {mean}");
        let recent: Vec<f64> = sizes.iter().map(|&(id, d)| f64::from(table.dead_parts(id, d, 1.0).recent)).collect();
        let with_recent = recent.iter().filter(|&&share| share > 0.0).count() as f64 / recent.len() as f64;
        let where_any = recent.iter().sum::<f64>() / recent.len() as f64 / with_recent;
        assert!((with_recent - 0.106).abs() < 0.01 && (where_any - 0.079).abs() < 0.01, "{with_recent} {where_any}");
    }

    /// The dead shares of the partly dead colonies of all sizes: the upper three of the quantiles told at
    /// [`DEAD_SHARE_PRECISION`] come out within 3 points; the lower two are missed by no more than 5, and downwards.
    #[test]
    fn dead_shares_have_the_quantiles_of_the_records_but_for_the_smallest() {
        let (key, table) = (Key::seed(6), DeadPartsTable::of(PartialMortality::USUAL));
        let dead_share = |i: u64| {
            let z = normal_from_uniform(key.uniform(Purpose::Test, i));
            f64::from(table.dead_parts(key.child(Purpose::Colony, i).0, 0.01 * (2.66 + 1.03 * z).exp(), 1.0).total())
        };
        let mut shares: Vec<f64> = (0..60_000).map(dead_share).filter(|share| *share > 0.0).collect();
        shares.sort_by(f64::total_cmp);
        let found = |share: f64| shares[(share * shares.len() as f64) as usize];
        for (share, recorded) in [(0.5, 0.15), (0.75, 0.40), (0.9, 0.70)] {
            assert!((found(share) - recorded).abs() < 0.03, "{share}: {} {recorded}", found(share));
        }
        for (share, recorded) in [(0.1, 0.05), (0.25, 0.08)] {
            assert!((recorded - 0.05..recorded).contains(&found(share)), "{share}: {} {recorded}", found(share));
        }
    }

    #[test]
    fn the_table_has_the_mean_and_the_variance_of_the_beta() {
        for mean in [0.15, 0.27, 0.5, 0.7] {
            let shares = quantiles(mean);
            let found = shares.iter().map(|&x| f64::from(x)).sum::<f64>() / QUANTILES as f64;
            let square = shares.iter().map(|&x| f64::from(x).powi(2)).sum::<f64>() / QUANTILES as f64;
            let variance = mean * (1.0 - mean) / (1.0 + DEAD_SHARE_PRECISION);
            assert!((found - mean).abs() < 1e-4, "{mean}: {found}");
            assert!(((square - found * found) / variance - 1.0).abs() < 0.01, "{mean}: {square}");
            assert!(shares.windows(2).all(|pair| pair[0] <= pair[1]) && shares[0] >= 0.0);
        }
    }

    #[test]
    fn a_colony_of_one_size_has_the_stated_chances() {
        let longest = 0.30;
        let (law, table) = (PartialMortality::USUAL, DeadPartsTable::of(PartialMortality::USUAL));
        let dead: Vec<f64> = (0..40_000u64)
            .map(|i| f64::from(table.dead_parts(Key::seed(9).child(Purpose::Colony, i).0, longest, 1.0).total()))
            .collect();
        let exact = law.share_with_dead_parts(longest) * law.mean_dead_share_where_any(longest);
        // The table stands for diameters within 2 cm of this one: less than 1 % of its value.
        let n = dead.len() as f64;
        let mean = dead.iter().sum::<f64>() / n;
        assert!((mean / exact - 1.0).abs() < 0.03, "{mean} {exact}");
        let any: Vec<f64> = dead.iter().map(|&share| f64::from(u8::from(share > 0.0))).collect();
        assert_mean(&any, law.share_with_dead_parts(Level::of(longest).diameter()));
    }

    /// A law of a zone's own: its chances hold at the reference size, a rise of nil makes them the same at every size, and
    /// recent parts are on the share of the partly dead that was asked for.
    #[test]
    fn a_law_of_its_own_has_the_chances_it_was_given() {
        let law = PartialMortality { log_odds: -1.0, rise_per_doubling: 0.0, dead_log_odds: 0.5, recent: 0.6 };
        let table = DeadPartsTable::of(law);
        assert_eq!(table.law(), law);
        for longest in [0.05, REFERENCE_M, 0.9] {
            let parts: Vec<DeadParts> = (0..40_000u64)
                .map(|i| table.dead_parts(Key::seed(12).child(Purpose::Colony, i).0, longest, 1.0))
                .collect();
            let share = |yes: &dyn Fn(&DeadParts) -> bool| -> Vec<f64> {
                parts.iter().map(|dead| f64::from(u8::from(yes(dead)))).collect()
            };
            assert_mean(&share(&|dead| dead.total() > 0.0), logistic(-1.0));
            assert_mean(&share(&|dead| dead.recent > 0.0), 0.6 * logistic(-1.0));
            let mean = parts.iter().map(|dead| f64::from(dead.total())).sum::<f64>() / parts.len() as f64;
            let exact = logistic(-1.0) * law.mean_dead_share_where_any(longest);
            // The table stands for diameters within an eighth of a square root of a centimetre.
            assert!((mean / exact - 1.0).abs() < 0.04, "{longest}: {mean} {exact}");
        }
        assert!((law.mean_dead_share_where_any(REFERENCE_M) - logistic(0.5)).abs() < 1e-12);
    }
}
