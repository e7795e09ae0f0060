//! How many days are left when some are lost.

use super::report::BudgetReport;
use crate::budget::LostDays;

/// Chance of so many days left of those that can be booked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DaysLeft {
    pub days: usize,
    /// With the spells of the scenario; each day by itself where it tells none.
    pub as_told: f64,
    pub by_itself: f64,
}

impl BudgetReport {
    /// From none to all; empty where lost days are not told.
    pub fn days_left(&self) -> Vec<DaysLeft> {
        self.left_of(self.answer.bookable_days)
    }

    /// The same of so many days.
    fn left_of(&self, days: usize) -> Vec<DaysLeft> {
        let Some(lost) = self.expedition.days.lost else { return Vec::new() };
        let usable = |spell| LostDays { share: lost.share, spell }.usable(days);
        let both = usable(lost.spell_days).into_iter().zip(usable(None));
        both.enumerate().map(|(days, (as_told, by_itself))| DaysLeft { days, as_told, by_itself }).collect()
    }

    /// Chance that at least so many days are left, with spells as told.
    pub fn chance_of(&self, days: usize) -> Option<f64> {
        self.chance_of_some(days, self.answer.bookable_days)
    }

    /// The same of so many days.
    pub fn chance_of_some(&self, days: usize, there: usize) -> Option<f64> {
        let left = self.left_of(there);
        (!left.is_empty()).then(|| left.iter().filter(|left| left.days >= days).map(|left| left.as_told).sum())
    }
}
