//! The expedition of a file, where there is one.

mod crew;
mod days;
mod gas;
mod rates;
mod sites;
mod targets;
mod work;

pub use crew::PAIRS_AS_LISTED;
pub use targets::changes_of;

use crate::design::{DaysAshore, Expedition, LeastOf, Scheduled, Study};
use crate::scenario::defaults;
use crate::scenario::file::ScenarioFile;
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::load::ReadFile;
use crate::scenario::number::{Number, PersonDays};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};
use crate::scenario::source::Source;

/// The expedition a file means; `None` where it has none, whatever else it says of divers, dives and targets.
pub fn build(
    file: &ScenarioFile,
    study: &Study,
    files: &ReadFile,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Option<Expedition> {
    let table = file.expedition.as_ref()?;
    let sites = sites::sites(table, (file, study), files, problems);
    let mut notes = Notes { ledger, table: "expedition", about: "", source: &table.source };
    let days = days::days(table, &mut notes, problems);
    let boats = days::boats(table, &mut notes, problems);
    let divers = crew::divers(file);
    let pairs = crew::pairs(table, &divers, &mut notes, problems);
    let finish_chance = table.finish_chance.map_or(defaults::FINISH_CHANCE, |chance| chance.get());
    let shown = percent(finish_chance);
    notes.plan("finish_chance", "how sure a dive is finished", table.finish_chance.is_some(), shown);
    let spread = table.minutes_spread_percent;
    let minutes_spread = spread.map_or(defaults::MINUTES_SPREAD, |spread| spread.get() / 100.0);
    notes.note("minutes_spread_percent", "spread of the minutes of a unit", spread.is_some(), percent(minutes_spread));
    let gas = gas::build(table, &mut notes, problems);
    let flight_hours = table.flight_hours_after_last_dive.map(|hours| hours.get());
    if let Some(hours) = flight_hours {
        let what = "from the last dive to a flight";
        notes.plan("flight_hours_after_last_dive", what, true, format!("{} h", number(hours)));
    }
    let mut person_days = |key: &str, what: &str, written: Option<Number<PersonDays>>| {
        let days = written?.get();
        notes.plan(key, what, true, number(days));
        Some(days)
    };
    let days_ashore = DaysAshore {
        before: person_days("person_days_before", "person-days of preparation", table.person_days_before),
        after: person_days("person_days_after", "person-days of work after a visit", table.person_days_after),
    };
    let money = table.money.map(|money| money.get());
    if let Some(money) = money {
        notes.plan("money", "money there is for one visit", true, number(money));
    }
    let rates = rates::build(table, ledger);
    Some(Expedition {
        days,
        boats,
        divers,
        pairs,
        standby: table.standby.0,
        finish_chance,
        minutes_spread,
        zones: work::zones(file, (study, sites.as_ref()), problems, ledger),
        methods: work::methods(file, study, minutes_spread, problems, ledger),
        targets: targets::build(file, study, problems),
        chooses_places: table.choose_places.unwrap_or(false),
        pairs_told: table.pairs.is_some(),
        gas,
        flight_hours,
        days_ashore,
        sites,
        rates,
        least: table.least.map_or(LeastOf::Effort, |word| word.0),
        money,
        schedule: table.schedule.map_or(Scheduled::AllTargets, |word| word.0),
    })
}

/// The account of the numbers of one table.
struct Notes<'a> {
    ledger: &'a mut Ledger,
    table: &'a str,
    /// What they are about, for people; empty for the expedition as a whole.
    about: &'a str,
    source: &'a Option<Source>,
}

impl Notes<'_> {
    fn note(&mut self, key: &str, what: &str, is_written: bool, value: String) {
        let about = self.named(what);
        self.ledger.note(self.table, key, about, Noted::when(is_written, value), self.source);
    }

    fn named(&self, what: &str) -> String {
        if self.about.is_empty() { what.to_owned() } else { format!("{}: {what}", self.about) }
    }

    /// What the user decides.
    fn plan(&mut self, key: &str, what: &str, is_written: bool, value: String) {
        let about = self.named(what);
        self.ledger.note_plan(self.table, key, about, Noted::when(is_written, value), self.source);
    }

    /// Minutes, as written or the usual ones.
    fn minutes(&mut self, key: &str, what: &str, written: Option<f64>, usual: f64) -> f64 {
        let minutes = written.unwrap_or(usual);
        self.note(key, what, written.is_some(), format!("{} min", number(minutes)));
        minutes
    }
}
