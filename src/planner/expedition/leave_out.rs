//! What a diver who runs late leaves out first: the work that the targets miss least.

use super::prepared::Prepared;
use crate::budget::{Found, Units};

impl Prepared<'_> {
    /// The task of which a diver leaves out a unit first, of those he does on a dive at a site of a zone: none that a must
    /// rests on if there is another, then the least loss of margins for a minute of the dive. What comes first is done before
    /// anybody runs late, and is named only where it is all he does; lines that others work on never are.
    pub fn leave_out_first(&self, found: &Found, zone: usize, work: [&Units; 2]) -> Option<usize> {
        let tasks = &self.tasks.tasks;
        let done = (0..found.units.len()).filter(|&task| work.iter().any(|units| units[task] > 0));
        done.min_by(|&one, &other| {
            let key = |task: usize| {
                let is_must = self.indicators.iter().any(|indicator| indicator.task == task && indicator.is_must);
                (tasks[task].first.is_some(), is_must)
            };
            let loss = |task: usize| self.loss(found, zone, task) / tasks[task].unit.mean.max(1e-9);
            key(one).cmp(&key(other)).then(loss(one).total_cmp(&loss(other)))
        })
    }

    /// By how much ln margins of the indicators of a task fall, by their weights, where one site of a zone has a unit less:
    /// the degrees of freedom stay. A site without any unit is a site less.
    fn loss(&self, found: &Found, zone: usize, task: usize) -> f64 {
        let weights = self.weights();
        let sites = f64::from(found.sites[zone]);
        let units = usize::from(found.units[task]);
        let of_task = self.indicators.iter().filter(|indicator| indicator.task == task);
        of_task
            .map(|indicator| {
                let (now, _) = indicator.variance(&weights, &found.sites, units);
                let of_site = |units: usize| weights[zone] * weights[zone] * indicator.sites[zone][units].variance;
                let more = if units > 1 {
                    (of_site(units - 1) - of_site(units)) / (sites * sites)
                } else {
                    of_site(units) * (1.0 / (sites - 1.0) - 1.0 / sites)
                };
                indicator.weight * 0.5 * (1.0 + more / now).ln()
            })
            .sum()
    }
}
