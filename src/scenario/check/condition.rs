//! Shares of colonies by their condition that cannot be together.

use crate::design::Zone;
use crate::scenario::problems::Problems;
use crate::scenario::shown::percent;

/// Slack of a sum of shares that are written in decimals.
const SLACK: f64 = 1e-9;

/// A colony is in one condition.
pub(super) fn check(zone: &Zone, path: &str, problems: &mut Problems) {
    let shares = zone.condition;
    let sum = shares.pale + shares.bleached + shares.diseased;
    if sum > 1.0 + SLACK {
        let message = format!(
            "{}: {} of the colonies pale, {} bleached and {} diseased are {} together",
            zone.name,
            percent(shares.pale),
            percent(shares.bleached),
            percent(shares.diseased),
            percent(sum)
        );
        let remedy = "A colony is written in one condition, the worst: count it once. What is left out is counted as in a quiet \
                      year; write 0 where there is none.";
        problems.add(&format!("{path}.condition"), message, "at most 100 % together", remedy);
    }
}
