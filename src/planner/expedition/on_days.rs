//! A plan put on days: which site when, who does what, and how the days hold it.

use super::access::{Access, access, access_warnings};
use super::calm::{CalmVisit, calm_visits};
use super::draw::Draw;
use super::people::{People, people};
use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::schedule::{ScheduleRow, schedule};
use super::visits::{ToCome, Visits, visits};
use crate::budget::Found;

/// A plan on days; calm visits and access are of sites that are drawn from a list.
pub struct OnDays {
    pub visits: Visits,
    pub people: People,
    pub schedule: Vec<ScheduleRow>,
    pub calm_visits: Vec<CalmVisit>,
    pub access: Option<Access>,
}

impl OnDays {
    /// `money`: that whose best use the plan is.
    pub fn new(
        prepared: &Prepared,
        (found, told): (&Found, &BudgetPlan),
        (draw, to_come): (Option<&Draw>, Option<ToCome>),
        money: Option<f64>,
    ) -> Self {
        let zones = prepared.with_later_crews(&told.zones, &found.units);
        let visits = visits(prepared, found, &zones, (draw, to_come));
        let people = people(prepared, &visits, &zones);
        Self {
            schedule: schedule((prepared, found), &visits, &people, draw),
            calm_visits: draw.map_or(Vec::new(), |draw| calm_visits(prepared, &visits, draw)),
            access: draw.and_then(|draw| access(prepared, (found, told), (draw, &visits), money)),
            visits,
            people,
        }
    }

    /// What must be said of days on which sites can be reached.
    pub fn access_warnings(&self, prepared: &Prepared, draw: &Draw) -> Vec<String> {
        let rates = prepared.expedition.rates.as_ref();
        self.access.iter().flat_map(|told| access_warnings(told, (draw, &self.visits), rates)).collect()
    }
}
