//! How many days are left when some are lost.

use super::report::BudgetReport;
use crate::budget::{LostDays, at_both_visits, is_enough};
use crate::report::digits::{hundredths_beside, trimmed};

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
        let Some(lost) = self.expedition.days.lost else { return Vec::new() };
        let usable =
            |spell| LostDays { share: lost.share, spell }.usable_after(self.answer.today, self.answer.bookable_days);
        let both = usable(lost.spell_days).into_iter().zip(usable(None));
        both.enumerate().map(|(days, (as_told, by_itself))| DaysLeft { days, as_told, by_itself }).collect()
    }

    /// Chance that at least so many days are left, with spells as told.
    pub fn chance_of(&self, days: usize) -> Option<f64> {
        self.chance_of_some(days, self.answer.bookable_days)
    }

    /// The same of so many days.
    fn chance_of_some(&self, days: usize, there: usize) -> Option<f64> {
        let lost = self.expedition.days.lost?;
        let lost = LostDays { share: lost.share, spell: lost.spell_days };
        Some(lost.at_least_after(self.answer.today, days, there))
    }

    /// Chance that so many days of some are left; `None` where lost days are not told.
    pub fn left_in_time(&self, days: usize, there: usize) -> Option<LeftInTime> {
        let one = self.chance_of_some(days, there)?;
        let is_two = self.scenario.question.visits() == 2 && self.answer.visit_under_way.is_none();
        let both = is_two.then(|| at_both_visits(one));
        Some(LeftInTime { one, both, wanted: self.expedition.days.chance_wanted })
    }
}

/// Chance that so many days are left, beside the chance that is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftInTime {
    pub one: f64,
    /// At both visits, where a change takes two.
    pub both: Option<f64>,
    pub wanted: f64,
}

impl LeftInTime {
    /// "89.6 times in 100", "96 times in 100 at one visit, 93 at both"
    pub fn words(&self) -> String {
        let beside = |chance: f64| hundredths_beside(chance, self.wanted);
        match self.both {
            Some(both) => format!("{} times in 100 at one visit, {} at both", beside(self.one), beside(both)),
            None => format!("{} times in 100", beside(self.one)),
        }
    }

    /// What is wanted where that is more: for which of the visits the days are too few. `now`: "booked", "left"
    pub fn too_few(&self, now: &str) -> Option<String> {
        let is_enough = |chance: f64| is_enough(chance, self.wanted);
        let too_few = match (is_enough(self.one), self.both.map(is_enough)) {
            (false, None) => format!("too few days are {now}"),
            (false, Some(_)) => format!("too few days are {now}, for one visit and all the more for both"),
            (true, Some(false)) => format!("enough days are {now} for one visit, too few for both"),
            (true, _) => return None,
        };
        Some(format!("You want {}: {too_few}", wanted_words(self.wanted)))
    }
}

/// "90 times in 100", of what the user wants.
pub fn wanted_words(wanted: f64) -> String {
    format!("{} times in 100", trimmed(100.0 * wanted, 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The number that is told is the one that is compared: of one visit or of both, and never rounded to what is wanted.
    #[test]
    fn what_is_left_in_time_does_not_contradict_what_is_wanted() {
        let left = |one: f64, both: Option<f64>| LeftInTime { one, both, wanted: 0.9 };
        let few = left(0.8964, None);
        assert_eq!(few.words(), "89.6 times in 100");
        assert_eq!(few.too_few("booked").unwrap(), "You want 90 times in 100: too few days are booked");
        assert_eq!((left(0.9, None).words().as_str(), left(0.9, None).too_few("left")), ("90 times in 100", None));
        let few = left(0.94, Some(0.8836));
        assert_eq!(few.words(), "94 times in 100 at one visit, 88 at both");
        assert!(few.too_few("booked").unwrap().ends_with("enough days are booked for one visit, too few for both"));
        let few = left(0.899, Some(0.8082));
        assert!(few.words().starts_with("89.9 ") && few.too_few("left").unwrap().contains("for one visit and all"));
        assert_eq!(left(0.96, Some(0.9216)).too_few("booked"), None);
    }
}
