use super::Notes;
use crate::design::Rates;
use crate::scenario::file::ExpeditionTable;
use crate::scenario::ledger::Ledger;
use crate::scenario::number::{Money, Number};
use crate::scenario::shown::number;

/// What things cost, as told; nothing of it has a usual value.
pub fn build(table: &ExpeditionTable, ledger: &mut Ledger) -> Option<Rates> {
    let told = table.rates.as_ref()?;
    let mut notes = Notes { ledger, table: "expedition.rates", about: "money", source: &told.source };
    let mut rate = |key: &str, what: &str, written: Option<Number<Money>>| {
        let amount = written.map_or(0.0, |amount| amount.get());
        if written.is_some() {
            notes.note(key, what, true, format!("{} {}", number(amount), told.currency));
        }
        amount
    };
    let rates = Rates {
        currency: told.currency.clone(),
        fixed: rate("fixed", "once", told.fixed),
        per_day: rate("per_day", "a day from leaving to being back", told.per_day),
        per_person_day: rate("per_person_day", "a person and day", told.per_person_day),
        other_people: told.other_people.map_or(0, |people| people.get()),
        per_dive: rate("per_dive", "a dive of a diver", told.per_dive),
        ashore_per_hour: rate("ashore_per_hour", "an hour ashore", told.ashore_per_hour),
        ashore_per_person_day: rate(
            "ashore_per_person_day",
            "a person-day before or after",
            told.ashore_per_person_day,
        ),
    };
    if told.other_people.is_some() {
        notes.plan("other_people", "people besides the divers", true, rates.other_people.to_string());
    }
    Some(rates)
}
