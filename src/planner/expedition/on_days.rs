//! A plan put on days: which site when, who does what, and how the days hold it.

use super::access::{Access, access, access_warnings};
use super::answer::BudgetAnswer;
use super::calm::{CalmVisit, calm_days_line, calm_visits};
use super::cylinders::cylinders;
use super::draw::Draw;
use super::flight::flight;
use super::laid_ahead::{early_lines, laid_ahead};
use super::near_buddies::number_units;
use super::people::{People, people};
use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::readers::people_warnings;
use super::schedule::{ScheduleRow, schedule};
use super::sites::{Taken, not_spoken_of, site_rows, site_warnings};
use super::starts::{Start, crowded};
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

    /// Puts all that is told of days, sites and people into an answer (which has its begun sites), whole or rest; what must be said
    /// of sites and people comes back.
    pub fn tell(
        self,
        answer: &mut BudgetAnswer,
        prepared: &Prepared,
        starts: Vec<Start>,
        drawn: Option<(&Draw, &Taken)>,
    ) -> Vec<String> {
        let mut said: Vec<String> = crowded(prepared, &starts).into_iter().collect();
        answer.starts = starts;
        if let Some((draw, taken)) = drawn {
            answer.sites = site_rows(prepared, taken, draw, &self.visits);
            said.extend(site_warnings(prepared, &answer.sites, &self.visits));
            said.extend(calm_days_line(&self.calm_visits, &self.visits));
            let rates = prepared.expedition.rates.as_ref();
            said.extend(self.access.iter().flat_map(|told| access_warnings(told, (draw, &self.visits), rates)));
        }
        answer.not_spoken_of = not_spoken_of(prepared, prepared.expedition.sites.as_ref(), &answer.sites);
        said.extend(people_warnings(prepared, &self.people));
        (answer.schedule, answer.calm_visits, answer.access) = (self.schedule, self.calm_visits, self.access);
        (answer.crossing, answer.turns) = (self.people.crossing, self.people.turns);
        let lines = prepared.tasks.on_lines();
        number_units(&mut answer.schedule, &answer.starts, &answer.begun, lines.as_ref());
        answer.laid_ahead = laid_ahead(&answer.schedule, lines.as_ref());
        said.extend(early_lines(&answer.laid_ahead));
        answer.flight = flight(prepared, &answer.schedule);
        answer.cylinders = cylinders(prepared, &answer.schedule);
        said
    }
}
