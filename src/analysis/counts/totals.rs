//! Counts of sites with the effort behind them.

use crate::analysis::degenerate::Degenerate;

/// The total count of every site of one group or visit, and the effort (area or number of units) that each had.
///
/// Sites are the replicates: units of a site are added up before anything is compared, because animals of one site come
/// in the same patches. Totals need not be whole (they may be corrected for what a diver misses).
#[derive(Clone, Copy, Debug)]
pub struct Totals<'a> {
    counts: &'a [f64],
    effort: Effort<'a>,
}

#[derive(Clone, Copy, Debug)]
enum Effort<'a> {
    Same(f64),
    Each(&'a [f64]),
}

impl<'a> Totals<'a> {
    /// Totals of sites that all had the same effort.
    pub fn of_equal_effort(counts: &'a [f64], effort: f64) -> Result<Self, Degenerate> {
        Self { counts, effort: Effort::Same(effort) }.checked()
    }

    /// Totals with an effort per site, in the same order.
    pub fn new(counts: &'a [f64], efforts: &'a [f64]) -> Result<Self, Degenerate> {
        Self { counts, effort: Effort::Each(efforts) }.checked()
    }

    fn checked(self) -> Result<Self, Degenerate> {
        let positive = |effort: f64| 0.0 < effort && effort < f64::INFINITY;
        let effort_is_sound = match self.effort {
            Effort::Same(effort) => positive(effort),
            Effort::Each(efforts) => {
                efforts.len() == self.counts.len() && efforts.iter().all(|&effort| positive(effort))
            }
        };
        if !effort_is_sound || !self.counts.iter().all(|&count| 0.0 <= count && count < f64::INFINITY) {
            return Err(Degenerate::BadValue);
        }
        Ok(self)
    }

    pub fn sites(&self) -> usize {
        self.counts.len()
    }

    pub fn counts(&self) -> &'a [f64] {
        self.counts
    }

    pub fn effort(&self, site: usize) -> f64 {
        match self.effort {
            Effort::Same(effort) => effort,
            Effort::Each(efforts) => efforts[site],
        }
    }

    /// (count, effort) of every site.
    pub fn iter(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.counts.iter().enumerate().map(|(site, &count)| (count, self.effort(site)))
    }

    pub fn total(&self) -> f64 {
        self.counts.iter().sum()
    }

    pub fn total_effort(&self) -> f64 {
        (0..self.sites()).map(|site| self.effort(site)).sum()
    }

    /// Count per effort over all sites; NaN without sites.
    pub fn rate(&self) -> f64 {
        self.total() / self.total_effort()
    }

    /// Whether every site had the same effort, so that the rate does not depend on the spread assumed.
    pub fn has_equal_effort(&self) -> bool {
        match self.effort {
            Effort::Same(_) => true,
            Effort::Each(efforts) => efforts.windows(2).all(|pair| pair[0] == pair[1]),
        }
    }
}

/// Refuses two groups whose ratio has no finite value.
pub(super) fn ratio_exists(first: &Totals, second: &Totals) -> Result<(), Degenerate> {
    match (first.total() > 0.0, second.total() > 0.0) {
        (true, true) => Ok(()),
        (false, false) => Err(Degenerate::AllZero),
        _ => Err(Degenerate::ZeroInOneGroup),
    }
}
