//! Days lost to weather, as a chain of two states: how many days are left to dive on, and how many to book.

/// Days without diving.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LostDays {
    /// Share of the days that is lost in the long run.
    pub share: f64,
    /// Mean number of days of a bad spell; `None`: each day is lost or not whatever the day before was.
    pub spell: Option<f64>,
}

/// What is known of the day before the first that is counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Today {
    #[default]
    NotTold,
    Dived,
    Lost,
}

/// Rounding never decides.
const SAME: f64 = 1e-9;

/// Whether a chance is as large as is wanted.
pub fn is_enough(chance: f64, wanted: f64) -> bool {
    chance >= wanted - SAME
}

/// Fewest days to book, of those that are needed to `most`, for a chance that is wanted; `finished`: the chance with so many booked.
pub fn fewest_to_book((needed, most): (usize, usize), wanted: f64, finished: impl Fn(usize) -> f64) -> Option<usize> {
    (needed..=most).find(|&booked| is_enough(finished(booked), wanted))
}

/// Chance of the same at both visits, were the second expedition like the first and their weather independent.
pub fn at_both_visits(chance: f64) -> f64 {
    chance * chance
}

impl LostDays {
    /// Shortest mean spell there can be: that of independent days.
    pub fn shortest_spell(share: f64) -> f64 {
        1.0 / (1.0 - share)
    }

    /// Chance that a bad day follows a good one, and a good one a bad one.
    fn turns(&self) -> (f64, f64) {
        let spell = self.spell.unwrap_or_else(|| Self::shortest_spell(self.share));
        let better = 1.0 / spell;
        (self.share * better / (1.0 - self.share), better)
    }

    /// Chances of 0, 1 ... `days` days to dive on.
    pub fn usable(&self, days: usize) -> Vec<f64> {
        self.usable_after(Today::NotTold, days)
    }

    /// The same of the days after one of which it is known whether it was lost.
    pub fn usable_after(&self, today: Today, days: usize) -> Vec<f64> {
        if days == 0 {
            return vec![1.0];
        }
        let (good, bad) = self.ends_after(today, days);
        good.iter().zip(&bad).map(|(good, bad)| good + bad).collect()
    }

    /// The same by whether the last of the days, one at least, is dived on or lost.
    fn ends_after(&self, today: Today, days: usize) -> (Vec<f64>, Vec<f64>) {
        let mut good = vec![0.0; days + 1];
        let mut bad = vec![0.0; days + 1];
        if self.share == 0.0 {
            good[days] = 1.0;
            return (good, bad);
        }
        let (worse, better) = self.turns();
        let first_is_lost = match today {
            Today::NotTold => self.share,
            Today::Dived => worse,
            Today::Lost => 1.0 - better,
        };
        // Chance of each number so far, today being good or bad; where nothing is known, the first day is as in the long run.
        for day in 0..days {
            let (mut next_good, mut next_bad) = (vec![0.0; days + 1], vec![0.0; days + 1]);
            if day == 0 {
                next_good[1] = 1.0 - first_is_lost;
                next_bad[0] = first_is_lost;
            } else {
                for number in 0..=day {
                    next_good[number + 1] += good[number] * (1.0 - worse) + bad[number] * better;
                    next_bad[number] += good[number] * worse + bad[number] * (1.0 - better);
                }
            }
            (good, bad) = (next_good, next_bad);
        }
        (good, bad)
    }

    /// Chance that enough days are left of some runs of days on end, one after the other: `needed` tells how many of the last run it
    /// takes, from the days dived on in each run before.
    pub fn enough_in_turn(&self, today: Today, runs: &[usize], needed: &mut dyn FnMut(&[usize]) -> usize) -> f64 {
        self.enough_after(today, runs, &mut Vec::new(), needed)
    }

    fn enough_after(
        &self,
        today: Today,
        runs: &[usize],
        dived: &mut Vec<usize>,
        needed: &mut dyn FnMut(&[usize]) -> usize,
    ) -> f64 {
        let Some((&days, later)) = runs.split_first() else { return if needed(dived) == 0 { 1.0 } else { 0.0 } };
        if later.is_empty() {
            return self.at_least_after(today, needed(dived), days);
        }
        if days == 0 {
            dived.push(0);
            let chance = self.enough_after(today, later, dived, needed);
            dived.pop();
            return chance;
        }
        let (good, bad) = self.ends_after(today, days);
        let mut chance = 0.0;
        for number in 0..=days {
            dived.push(number);
            for (of, today) in [(good[number], Today::Dived), (bad[number], Today::Lost)] {
                if of > 0.0 {
                    chance += of * self.enough_after(today, later, dived, needed);
                }
            }
            dived.pop();
        }
        chance
    }

    /// Chance of at least so many days to dive on, of those booked.
    pub fn at_least(&self, needed: usize, booked: usize) -> f64 {
        self.at_least_after(Today::NotTold, needed, booked)
    }

    /// The same of the days after one of which it is known whether it was lost.
    pub fn at_least_after(&self, today: Today, needed: usize, booked: usize) -> f64 {
        if needed > booked { 0.0 } else { self.usable_after(today, booked)[needed..].iter().sum() }
    }

    /// Fewest days to book for a chance of so many days; `None` beyond `most`.
    #[cfg(test)]
    pub fn to_book(&self, needed: usize, chance: f64, most: usize) -> Option<usize> {
        fewest_to_book((needed, most), chance, |booked| self.at_least(needed, booked))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lost(share: f64, spell: f64) -> LostDays {
        LostDays { share, spell: (spell > 0.0).then_some(spell) }
    }

    fn near(value: f64, printed: f64, digits: i32) {
        assert!((value - printed).abs() < 0.51 * 10f64.powi(-digits), "{value} {printed}");
    }

    /// Computed: six days where a fifth is lost, in the mean: eight booked leave 6.4, seven 5.6, whatever the spells. (What is told
    /// to book goes by a chance, and is more.)
    #[test]
    fn days_left_in_the_mean() {
        for spell in [0.0, 2.0, 5.0] {
            let mean = |booked: usize| (1..=booked).map(|days| lost(0.2, spell).at_least(days, booked)).sum::<f64>();
            assert!((mean(8) - 6.4).abs() < 1e-12 && (mean(7) - 5.6).abs() < 1e-12, "{spell}");
            assert_eq!((6..20).find(|&booked| mean(booked) >= 6.0), Some(8));
            assert!(lost(0.2, spell).to_book(6, 0.9, 40).unwrap() > 8);
        }
    }

    /// Computed; the rows of ten days at a fifth are binomial tails.
    #[test]
    fn chances_of_enough_days() {
        for (share, spell, printed) in [
            (0.2, 0.0, [0.9144, 0.7382, 0.4362, 0.1342]),
            (0.2, 2.0, [0.8392, 0.7039, 0.5105, 0.2749]),
            (0.2, 3.0, [0.8014, 0.6981, 0.5636, 0.3988]),
            (0.1, 0.0, [0.9917, 0.9470, 0.7748, 0.3874]),
            (0.1, 3.0, [0.9114, 0.8577, 0.7787, 0.6655]),
        ] {
            for (needed, printed) in (6..).zip(printed) {
                near(lost(share, spell).at_least(needed, 9), printed, 4);
            }
        }
        for (needed, alone, in_spells) in [(7, 0.8791, 0.7732), (8, 0.6778, 0.6654), (9, 0.3758, 0.5287)] {
            near(lost(0.2, 0.0).at_least(needed, 10), alone, 4);
            near(lost(0.2, 3.0).at_least(needed, 10), in_spells, 4);
        }
        // Four days of which three are needed, by hand.
        near(lost(0.25, 0.0).at_least(3, 4), 0.73828, 5);
        near(lost(0.25, 2.0).at_least(3, 4), 0.71181, 5);
    }

    #[test]
    fn days_to_book() {
        let rows = [
            (6, 0.1, [8, 9, 9]),
            (6, 0.2, [9, 11, 12]),
            (6, 0.3, [11, 12, 14]),
            (8, 0.1, [10, 11, 12]),
            (8, 0.2, [12, 13, 15]),
            (8, 0.3, [14, 16, 18]),
        ];
        for (needed, share, printed) in rows {
            for (spell, booked) in [0.0, 2.0, 3.0].into_iter().zip(printed) {
                assert_eq!(lost(share, spell).to_book(needed, 0.9, 60), Some(booked), "{needed} {share} {spell}");
            }
        }
    }

    /// Two days by hand; what is known of today matters only where bad days come in spells; before any day nothing is known
    /// the mixture of both is what it is in the long run.
    #[test]
    fn what_is_known_of_today() {
        let in_spells = lost(0.25, 2.0);
        // Bad to good 1/2, good to bad 1/6.
        let after_bad = in_spells.usable_after(Today::Lost, 2);
        for (chance, by_hand) in after_bad.iter().zip([0.25, 0.25 + 0.5 / 6.0, 0.5 * 5.0 / 6.0]) {
            assert!((chance - by_hand).abs() < 1e-12, "{after_bad:?}");
        }
        for (share, spell) in [(0.25, 2.0), (0.2, 3.0), (0.3, 0.0)] {
            let of = lost(share, spell);
            let [bad, good, any] = [Today::Lost, Today::Dived, Today::NotTold].map(|today| of.usable_after(today, 6));
            for number in 0..=6 {
                assert!((share * bad[number] + (1.0 - share) * good[number] - any[number]).abs() < 1e-12);
                assert!(spell > 0.0 || (bad[number] - good[number]).abs() < 1e-12);
            }
        }
        assert_eq!(lost(0.0, 0.0).usable_after(Today::Lost, 3), [0.0, 0.0, 0.0, 1.0]);
    }

    /// Days in two or three runs are days in one where the runs do not matter; and where each day of the first run is needed, it is
    /// the chance that none of them is lost, whatever comes after.
    #[test]
    fn runs_of_days_are_days() {
        for (share, spell) in [(0.25, 2.0), (0.2, 0.0), (0.1, 4.0), (0.0, 0.0)] {
            let of = lost(share, spell);
            for needed in 0..=9 {
                let whole = of.at_least(needed, 9);
                for runs in [&[9][..], &[4, 5], &[0, 9], &[2, 3, 4], &[3, 0, 6], &[9, 0]] {
                    let rest = &mut |dived: &[usize]| needed.saturating_sub(dived.iter().sum());
                    let in_turn = of.enough_in_turn(Today::NotTold, runs, rest);
                    assert!((in_turn - whole).abs() < 1e-12, "{share} {spell} {runs:?} {in_turn} {whole}");
                }
            }
            let all_of_first =
                of.enough_in_turn(Today::NotTold, &[3, 4], &mut |dived| if dived == [3] { 0 } else { 99 });
            assert!((all_of_first - of.at_least(3, 3)).abs() < 1e-12);
        }
        // By hand, days by themselves: both days of the first run and one of two after it, or one of the first and both after it.
        let by_hand = 0.64 * 0.96 + 0.32 * 0.64;
        let in_turn = lost(0.2, 0.0).enough_in_turn(Today::NotTold, &[2, 2], &mut |dived| [9, 2, 1][dived[0]]);
        assert!((in_turn - by_hand).abs() < 1e-12, "{in_turn}");
    }

    #[test]
    fn nothing_lost_is_all_there() {
        assert_eq!(lost(0.0, 0.0).at_least(9, 9), 1.0);
        for share in [0.1, 0.4] {
            let sum: f64 = lost(share, 4.0).usable(12).iter().sum();
            assert!((sum - 1.0).abs() < 1e-12);
            let mean: f64 = lost(share, 4.0).usable(12).iter().enumerate().map(|(n, p)| n as f64 * p).sum();
            assert!((mean - 12.0 * (1.0 - share)).abs() < 1e-9, "{mean}");
        }
        assert_eq!(lost(0.2, 0.0).to_book(8, 0.9, 9), None);
    }
}
