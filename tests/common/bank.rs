//! An invented expedition that is searched in a moment, and budgets as its tests make them.

use super::studies;
use reefwright::budget::Today;
use reefwright::design::Expedition;
use reefwright::engine::{Until, Watch};
use reefwright::planner::expedition::{
    BudgetAnswer, Confirming, DoneUnit, FieldData, NothingFits, Open, Replanned, Replanning, ScheduleRow,
    plan_expedition, replan,
};
use reefwright::scenario::{Loaded, load_text};
use std::sync::atomic::AtomicBool;

/// Invented; nothing is to be warned of but that later dives have less time.
pub const QUIET: &str = r#"title = "Quill Bank"
statement_about = "all_such_reefs"
[[zone]]
name = "rim"
sites = 6
length_m = 5
width_m = 2.5
cover_percent = 30
[zone.dive]
depth_m = 8
bottom_minutes = 55
most_sites = 14
[[zone]]
name = "wall"
sites = 6
length_m = 5
width_m = 2.5
cover_percent = 20
[zone.dive]
depth_m = 20
bottom_minutes = 44
most_sites = 12
[[method.other]]
indicator = "rugosity"
unit = "cm"
mean = 140
between_sites = 20
site_year = 5
between_units = 18
units = "1..6"
lay_minutes = 2
read_minutes = 9
[[change]]
indicator = "rugosity"
from = 140
to = 126
[expedition]
days = 22
transit_days = 2
lost_days_percent = 10
dives_a_day = 2
sites_a_day = 2
standby = "crew"
[[diver]]
name = "Ines"
depth_m = 35
[[diver]]
name = "Odo"
depth_m = 35
[[diver]]
name = "Pia"
depth_m = 35
[[diver]]
name = "Ruan"
depth_m = 35
[[target]]
indicator = "rugosity"
see = true
priority = "must"
"#;

/// A scenario that is read, and what its expedition buys, confirmed by so many trials.
pub fn answer(text: &str, trials: u64) -> (BudgetAnswer, Loaded) {
    let loaded = load_text("bank.toml", text).unwrap_or_else(|error| panic!("{}", error.render()));
    (of_loaded(&loaded, (7, trials)), loaded)
}

/// The same of a scenario that was read, by the seed of its simulation and so many trials.
pub fn of_loaded(loaded: &Loaded, by: (u64, u64)) -> BudgetAnswer {
    let expedition = loaded.expedition.as_ref().expect("an expedition");
    planned(loaded, expedition, by).unwrap_or_else(|why| panic!("{why:?}"))
}

/// The same of another expedition for its study; it may be that nothing can be planned.
pub fn planned(
    loaded: &Loaded,
    expedition: &Expedition,
    (seed, trials): (u64, u64),
) -> Result<BudgetAnswer, NothingFits> {
    let plan = studies::plan(loaded.study.clone());
    let watch = Watch { progress: &|_, _| {}, interrupted: &AtomicBool::new(false) };
    let confirming = Confirming { seed, until: Until::Trials(trials), watch: &watch, step: &|_| {} };
    plan_expedition(&plan, expedition, &confirming)
}

/// What a field sheet of the first visit holds when some rows of a schedule were done as planned, without readings.
pub fn field(loaded: &Loaded, answer: &BudgetAnswer, is_done: impl Fn(&ScheduleRow) -> bool) -> FieldData {
    let mut units = Vec::new();
    let zone = |name: &str| loaded.study.zones.iter().position(|zone| zone.name == name).unwrap();
    let plan = answer.scheduled().unwrap();
    let task = |name: &str| plan.site_set.iter().position(|task| task.method == name).unwrap();
    for row in answer.schedule.iter().filter(|row| row.units > 0 && is_done(row)) {
        units.extend((0..row.units).map(|unit| DoneUnit {
            written_in: String::new(),
            visit: 1,
            date: String::new(),
            day: row.day,
            dive: [row.boat.to_string(), row.team_dive.to_string()],
            zone: zone(&row.zone),
            site: row.site.to_string(),
            site_name: String::new(),
            task: task(&row.task),
            unit: (unit + 1).to_string(),
            diver: row.diver.clone(),
            minutes: row.minutes_asked / row.units as f64,
            readings: vec![None; plan.margins.len()],
        }));
    }
    FieldData { units, ..FieldData::default() }
}

/// The rest of an expedition after that, by the seed of its simulation and so many trials.
pub fn rest(loaded: &Loaded, data: &FieldData, (seed, trials): (u64, u64)) -> Replanned {
    let plan = studies::plan(loaded.study.clone());
    let watch = Watch { progress: &|_, _| {}, interrupted: &AtomicBool::new(false) };
    let confirming = Confirming { seed, until: Until::Trials(trials), watch: &watch, step: &|_| {} };
    let replanning = Replanning { data, visit: 1, days_left: None, today: Today::NotTold };
    let expedition = loaded.expedition.as_ref().expect("an expedition");
    let replanned = replan(&Open::new(&plan, expedition, seed), &replanning, &confirming);
    replanned.unwrap_or_else(|why| panic!("{why:?}"))
}
