//! The lumps of a plan: the unit with which one more team dive at a site begins, and what it costs.

use super::prepared::Prepared;
use crate::budget::{DayPacking, Found};
use serde::Serialize;

/// With so many units of a method at every site a site of this zone takes one more team dive.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NextCost {
    pub method: String,
    pub zone: String,
    pub units: usize,
    /// Whether it comes before other work, and so on the first team dive of a site alone.
    pub comes_first: bool,
    /// Days and team dives in all beyond those of the plan, with its sites; `None`: more dives at a site than are looked at, or
    /// what comes first does not fit the first of them.
    pub more: Option<(usize, usize)>,
}

impl Prepared<'_> {
    /// For each method the steps of the zones, the first ones first.
    pub fn next_costs(&self, found: &Found) -> Vec<NextCost> {
        let mut packing = DayPacking::new(&self.day);
        let mut takes = |units: &[u8]| self.takes(&mut packing, &found.sites, units);
        let now = takes(&found.units).unwrap_or((found.days, found.team_dives));
        let mut all = Vec::new();
        for (task, &units) in found.units.iter().enumerate() {
            let with = |number: u8| {
                let mut units = found.units.clone();
                units[task] = number;
                units
            };
            let mut of_task: Vec<NextCost> = Vec::new();
            for zone in 0..self.tables.len() {
                let dives = self.dives_in_each(zone, &found.units);
                let is_more = |more: &u8| self.dives_in_each(zone, &with(*more)) != dives;
                let step = (units + 1..=self.tasks.caps.of(task)).find(is_more);
                of_task.extend(step.map(|number| {
                    NextCost {
                        method: self.tasks.tasks[task].name.clone(),
                        zone: self.plan.study.zones[zone].name.clone(),
                        units: usize::from(number),
                        comes_first: self.tasks.tasks[task].first.is_some(),
                        more: takes(&with(number))
                            .map(|(days, dives)| (days.saturating_sub(now.0), dives.saturating_sub(now.1))),
                    }
                }));
            }
            of_task.sort_by_key(|cost| cost.units);
            all.extend(of_task);
        }
        all
    }
}
