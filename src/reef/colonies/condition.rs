//! How a colony looks at a visit besides its dead parts: pale, bleached, diseased.

use super::marks::{Mark, mark_uniform};
use crate::reef::Visit;
use serde::Serialize;

/// How a colony looks besides its dead parts. A diver writes one of them: the worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    Healthy,
    Pale,
    Bleached,
    Diseased,
}

/// Shares of colonies that are not healthy, whatever their size and dead parts. They sum to 1 at most.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ConditionShares {
    pub pale: f64,
    pub bleached: f64,
    pub diseased: f64,
}

impl Default for ConditionShares {
    fn default() -> Self {
        Self::USUAL
    }
}

impl ConditionShares {
    /// A quiet year. Assumed; no source.
    pub const USUAL: Self = Self { pale: 0.05, bleached: 0.01, diseased: 0.01 };

    /// The condition of a colony at a visit. It passes within weeks or months, so that it is drawn anew at each visit. Where
    /// the shares are larger, those that look bad where they are smaller still do.
    pub fn of(&self, id: u64, visit: Visit) -> Condition {
        let u = mark_uniform(id, Mark::condition_at(visit));
        let mut bound = 0.0;
        for condition in [Condition::Diseased, Condition::Bleached, Condition::Pale] {
            bound += self.share(condition);
            if u < bound {
                return condition;
            }
        }
        Condition::Healthy
    }

    /// Share of the colonies in a condition.
    pub fn share(&self, condition: Condition) -> f64 {
        match condition {
            Condition::Healthy => 1.0 - self.pale - self.bleached - self.diseased,
            Condition::Pale => self.pale,
            Condition::Bleached => self.bleached,
            Condition::Diseased => self.diseased,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::mix;

    #[test]
    fn conditions_have_their_shares_at_either_visit_by_themselves() {
        let shares = ConditionShares { pale: 0.2, bleached: 0.1, diseased: 0.05 };
        let ids = || (0..20_000).map(|i| mix(mix(i).wrapping_add(crate::random::KEY_X)));
        let is = |id: u64, visit: Visit, condition: Condition| f64::from(u8::from(shares.of(id, visit) == condition));
        for (condition, share) in [
            (Condition::Pale, 0.2),
            (Condition::Bleached, 0.1),
            (Condition::Diseased, 0.05),
            (Condition::Healthy, 0.65),
        ] {
            for visit in [Visit::First, Visit::Second] {
                assert_mean(&ids().map(|id| is(id, visit, condition)).collect::<Vec<_>>(), share);
            }
            let both = ids().map(|id| is(id, Visit::First, condition) * is(id, Visit::Second, condition));
            assert_mean(&both.collect::<Vec<_>>(), share * share);
        }
    }
}
