use crate::design::{Expedition, LeastOf, Scheduled, Study};
use crate::scenario::file::{MethodParts, ScenarioFile};
use crate::scenario::problems::Problems;

/// Rates that say something, and nothing of money where there are none.
pub fn check(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    if expedition.schedule == Scheduled::BestOfMoney && expedition.money.is_none() {
        let message = "the best use of money shall be scheduled, but not how much there is";
        let remedy = "Write money = 60000, for example (of one visit), or schedule another plan.";
        problems.add("expedition.schedule", message, "needs money", remedy);
    }
    let parts = file.method.parts();
    let in_laboratory = |part: &&MethodParts| part.work.as_ref().is_some_and(|work| work.laboratory_cost.is_some());
    let Some(table) = file.expedition.as_ref().and_then(|table| table.rates.as_ref()) else {
        let remedy = "Write [expedition.rates] with currency = \"EUR\", for example, or take it out.";
        if let Some(part) = parts.iter().find(in_laboratory) {
            let key = format!("{}.work.laboratory_cost", part.path);
            problems.add(&key, "money, but no currency is told", "needs [expedition.rates]", remedy);
        }
        if expedition.money.is_some() {
            let message = "how much money there is, but not what things cost";
            problems.add("expedition.money", message, "needs [expedition.rates]", remedy);
        }
        if expedition.least == LeastOf::Money {
            let message = "the least plan shall be that of least money, but no rates are told";
            problems.add("expedition.least", message, "needs [expedition.rates]", remedy);
        }
        return;
    };
    if table.currency.trim().is_empty() {
        let remedy = "Write currency = \"EUR\", for example.";
        problems.add("expedition.rates.currency", "the currency is empty", "needs a word", remedy);
    }
    let told = [
        table.fixed,
        table.per_day,
        table.per_person_day,
        table.per_dive,
        table.ashore_per_hour,
        table.ashore_per_person_day,
    ];
    if told.iter().all(Option::is_none) && !parts.iter().any(|part| in_laboratory(&part)) {
        let remedy = "Write what you know: fixed, per_day, per_person_day, per_dive, ashore_per_hour, ashore_per_person_day, or \
                      laboratory_cost in the work of a method; or take [expedition.rates] out, and nothing is said of money.";
        problems.add("expedition.rates", "no rate is told", "at least one", remedy);
    }
    if table.other_people.is_some() && table.per_person_day.is_none() {
        let message = "people are counted, but not what a person costs a day";
        let remedy = "Write per_person_day, or take other_people out.";
        problems.add("expedition.rates.other_people", message, "needs per_person_day", remedy);
    }
    let ashore = expedition.days_ashore;
    if table.ashore_per_person_day.is_some() && ashore.before.is_none() && ashore.after.is_none() {
        let message = "a person-day before or after has a price, but no such days are told";
        let remedy =
            "Write person_days_before or person_days_after in [expedition], or take ashore_per_person_day out.";
        let key = "expedition.rates.ashore_per_person_day";
        problems.add(key, message, "needs person_days_before or person_days_after", remedy);
    }
    if table.ashore_per_hour.is_some() && study.methods.iter().all(|method| method.minutes.ashore.is_none()) {
        let message = "an hour ashore has a price, but no method tells its minutes ashore";
        let remedy = "Write ashore_minutes in a method, or take ashore_per_hour out.";
        problems.add("expedition.rates.ashore_per_hour", message, "needs ashore_minutes", remedy);
    }
}
