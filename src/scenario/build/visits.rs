use super::{Frame, share};
use crate::design::{Places, Question, Sites, Tape, Visits};
use crate::scenario::defaults;
use crate::scenario::file::ScenarioFile;
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::percent;
use crate::scenario::word::word_of;

/// What lies between the visits. Of a question with one visit only its neutral values remain.
pub fn build(file: &ScenarioFile, frame: Frame, problems: &mut Problems, ledger: &mut Ledger) -> Visits {
    check_number(file, frame.question, problems);
    let two_visits = frame.question.visits() == 2;
    if !two_visits {
        return one_visit();
    }
    let absent = Default::default();
    let table = file.visits.as_ref().unwrap_or(&absent);
    let tape = table.tape.map_or(Tape::AsFound, |word| word.0);
    let (relay, renewal, drift) = tape.values();
    let visits = Visits {
        years_apart: table.years_apart.map_or(defaults::YEARS_APART, |years| years.get()),
        sites: table.sites.map_or(Sites::Same, |sites| sites.0),
        places: table.places.map_or(Places::NewPlaces, |word| word.0),
        relay_sd_m: table.relay_within_m.map_or(relay, |metres| metres.get()),
        renewal_per_year: table.renewal_percent_per_year.map_or(renewal, |percent| share(percent.get())),
        drift_years: table.drift_years.map_or(drift, |years| years.get()),
    };
    let years = Noted::when(table.years_apart.is_some(), format!("{}", visits.years_apart));
    ledger.note_plan("visits", "years_apart", "years between the visits".to_owned(), years, &table.source);
    let mut note = |key: &str, about: &str, written: bool, value: String| {
        let value = if written { value } else { format!("{value}, as for tape = \"{}\"", word_of(tape)) };
        let noted = Noted::when(written || table.tape.is_some(), value);
        ledger.note("visits", key, about.to_owned(), noted, &table.source);
    };
    if visits.places == Places::SameMarks {
        note(
            "relay_within_m",
            "tape re-laid within",
            table.relay_within_m.is_some(),
            format!("{} m", visits.relay_sd_m),
        );
    }
    if super::all_are_mapped(file) {
        return visits;
    }
    let renewal = percent(visits.renewal_per_year);
    note("renewal_percent_per_year", "colony renewal per year", table.renewal_percent_per_year.is_some(), renewal);
    let drift = format!("{} years", visits.drift_years);
    note("drift_years", "drift of the reef's patches", table.drift_years.is_some(), drift);
    visits
}

/// One visit: nothing lies between.
fn one_visit() -> Visits {
    let (relay_sd_m, renewal_per_year, drift_years) = Tape::AsFound.values();
    Visits {
        years_apart: defaults::YEARS_APART,
        sites: Sites::DrawnAnew,
        places: Places::NewPlaces,
        relay_sd_m,
        renewal_per_year,
        drift_years,
    }
}

fn check_number(file: &ScenarioFile, question: Question, problems: &mut Problems) {
    let word = word_of(question);
    let needed = question.visits();
    let Some(table) = &file.visits else { return };
    if let Some(number) = table.number.map(|number| number.get()).filter(|number| *number != needed) {
        let message = format!("{number} visits are written, but the question {word} has {needed}");
        let remedy = if number > 2 {
            "Three or more visits are not computed yet; for now compare two of them at a time."
        } else {
            "Change number or the question; number may also be left out."
        };
        problems.add("visits.number", message, format!("must be {needed}"), remedy);
    }
    let lies_between = table.years_apart.is_some()
        || table.sites.is_some()
        || table.places.is_some()
        || table.tape.is_some()
        || table.relay_within_m.is_some()
        || table.renewal_percent_per_year.is_some()
        || table.drift_years.is_some();
    if needed == 1 && lies_between {
        let message = format!("the question {word} has one visit, so nothing lies between visits");
        let remedy = "Take the table [visits] out, or ask question = \"between_these_visits\".";
        problems.add("visits", message, "not used by this question", remedy);
    }
}
