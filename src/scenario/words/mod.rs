//! The nine field questions: from remembered words to a study, with the words and the conversions kept beside the
//! numbers.

mod answers;
mod change;
mod convert;
mod questions;
pub mod reading;
mod spread;

pub use answers::{Answers, Band, OnOneReef, Said};
pub use questions::{QUESTIONS, Question};

use super::defaults;
use super::write::Beside;
use super::{Origin, shown};
use crate::design::{
    Change, Crew, HARD_CORAL, Observers, Places, Question as Asked, Scope, Sides, SiteScale, Sites, Study, Tape,
    TestKind, TestSpec, Visits, Zone,
};
use crate::survey::{Dimensions, MethodKind, MethodSpec, UnitMinutes};
use spread::Spreads;

/// A study made from answers, and how.
#[derive(Clone, Debug)]
pub struct FromWords {
    pub study: Study,
    /// The answers as origins, the low, middle and high cases as comments.
    pub beside: Beside,
    /// Each conversion with its numbers, for the user to follow.
    pub conversions: Vec<String>,
}

/// Turns answers into a study; what is not known takes the tool's default, tagged assumed.
pub fn study_from(answers: &Answers) -> FromWords {
    let mut notes = Notes::default();
    let (scope, existing) = answers.scope.as_ref().map_or((Scope::AllSuchReefs, None), |said| said.meant);
    let zone = zone(answers, scope, existing, &mut notes);
    let visits = visits(answers, &mut notes);
    let changes = vec![change(answers, zone.cover, &mut notes)];
    let lines_are_replicates = scope == Scope::EachReef || existing.is_some_and(|all| zone.sites == [all]);
    let paired = visits.sites == Sites::Same && (!lines_are_replicates || visits.places == Places::SameMarks);
    let replicates_of_lines = scope != Scope::AllSuchReefs;
    let methods = vec![method(answers, replicates_of_lines, &mut notes)];
    let study = Study {
        title: "From the nine questions".to_owned(),
        scope,
        question: Asked::BetweenTheseVisits,
        test: TestSpec {
            kind: if paired { TestKind::PairedT } else { TestKind::WelchT },
            scale: SiteScale::Plain,
            alpha: defaults::ALPHA,
            sides: Sides::Two,
            seen: defaults::SEEN,
        },
        visits,
        observers: observers(answers, &mut notes),
        zones: vec![zone],
        changes,
        methods,
        placement: Default::default(),
        also_report: Vec::new(),
    };
    FromWords { study, beside: notes.beside, conversions: notes.conversions }
}

/// Gathers origins, comments and conversions on the way.
#[derive(Default)]
struct Notes {
    beside: Beside,
    conversions: Vec<String>,
}

impl Notes {
    /// The words behind a number, where there are any.
    fn origin<T>(&mut self, path: &str, said: Option<&Said<T>>) {
        if let Some(said) = said {
            self.origin_words(path, said.words.trim().to_owned());
        }
    }

    fn origin_words(&mut self, path: &str, words: String) {
        self.beside.origins.insert(path.to_owned(), Origin::MyWords(words));
    }

    /// A number that was asked for and is not known: assumed, which is told and written beside it.
    fn assumed(&mut self, table: &str, key: &str, text: String) {
        self.beside.origins.insert(format!("{table}.{key}"), Origin::Assumed);
        self.conversion(table, text);
    }

    /// A conversion: told to the user, and written above the table it belongs to.
    fn conversion(&mut self, table: &str, text: String) {
        self.beside.comments.entry(table.to_owned()).or_default().push(text.clone());
        self.conversions.push(text);
    }
}

fn visits(answers: &Answers, notes: &mut Notes) -> Visits {
    let (sites, places) = answers.again.as_ref().map_or((Sites::Same, Places::NewPlaces), |said| said.meant);
    let (relay_sd_m, renewal_per_year, drift_years) = Tape::AsFound.values();
    if let Some(said) = &answers.again {
        let meant = match (sites, places) {
            (Sites::DrawnAnew, _) => "other sites at the second visit",
            (_, Places::SameMarks) => "the same sites and the same marks",
            _ => "the same sites, new places on them",
        };
        notes.conversion("visits", format!("\"{}\": {meant}.", said.words.trim()));
    }
    let years_apart = match &answers.years_apart {
        Some(said) => {
            notes.origin("visits.years_apart", Some(said));
            said.meant
        }
        None => {
            let text = "How many years lie between the visits is not known: 1 is assumed.";
            notes.assumed("visits", "years_apart", text.to_owned());
            defaults::YEARS_APART
        }
    };
    Visits { years_apart, sites, places, relay_sd_m, renewal_per_year, drift_years }
}

fn zone(answers: &Answers, scope: Scope, existing: Option<usize>, notes: &mut Notes) -> Zone {
    let Spreads { reef, reef_is_a_range, cover, between_sites_sd, site_year_sd } = spread::spreads(answers, notes);
    Zone {
        name: "my reefs".to_owned(),
        sites: sites(answers, scope, existing, notes),
        existing,
        reef_name: reef.name().to_owned(),
        reef_is_a_range,
        between_sites_sd,
        site_year_sd,
        ..Zone::bare(reef.spec(), (defaults::SITE_LENGTH_M, defaults::SITE_WIDTH_M), cover)
    }
}

/// Numbers of sites as said, else a few to compare.
fn sites(answers: &Answers, scope: Scope, existing: Option<usize>, notes: &mut Notes) -> Vec<usize> {
    if let Some(said) = answers.sites.as_ref().filter(|_| scope != Scope::EachReef) {
        notes.origin("zone[0].sites", Some(said));
        return said.meant.clone();
    }
    let numbers = site_numbers(scope, existing);
    if scope != Scope::EachReef {
        let all: Vec<String> = numbers.iter().map(usize::to_string).collect();
        let compared = if all.len() == 1 { "is assumed" } else { "are compared" };
        let text = format!("How many sites are surveyed is not known: {} {compared}.", all.join(", "));
        notes.assumed("zone[0]", "sites", text);
    }
    numbers
}

/// Numbers of sites to compare where nothing was said; of a fixed list, no more than it has.
fn site_numbers(scope: Scope, existing: Option<usize>) -> Vec<usize> {
    let all = existing.unwrap_or(usize::MAX);
    let some: Vec<usize> = [4, 8, 14].into_iter().filter(|sites| *sites <= all).collect();
    match scope {
        Scope::EachReef => vec![1],
        _ if some.is_empty() => vec![all],
        _ => some,
    }
}

/// A fall by a fifth where nothing is known.
const DEFAULT_RATIO: f64 = 0.8;

fn change(answers: &Answers, cover: f64, notes: &mut Notes) -> Change {
    let rounded = |share: f64| (share * 1000.0).round() / 1000.0;
    let (from, to) = match &answers.change {
        Some(said) => (said.meant.0 / 100.0, said.meant.1 / 100.0),
        None => (rounded(cover), rounded(cover * DEFAULT_RATIO)),
    };
    match &answers.change {
        Some(said) => {
            let (from, to) = said.meant;
            let text = format!(
                "The change that would make you act, \"{}\": from {} to {} %.",
                said.words.trim(),
                shown::number(from),
                shown::number(to)
            );
            notes.conversion("change[0]", text);
        }
        None => {
            notes.conversion("change[0]", "The change to see is not known: a fall by a fifth is assumed.".to_owned())
        }
    }
    let differs_between_sites_sd = answers.change_between.as_ref().map(|said| {
        let (sd, formula) = spread::sd_of_band(&said.meant);
        let text = format!("How the change differs between sites: \"{}\", {formula}.", said.words.trim());
        notes.conversion("change[0]", text);
        notes.origin("change[0].differs_between_sites_points", Some(said));
        spread::rounded(sd / 100.0)
    });
    Change { indicator: HARD_CORAL.to_owned(), from, to, differs_between_sites_sd, deaths: None }
}

/// Of the minutes of a line this share is laying (assumed).
const LAYING: f64 = 0.2;

fn method(answers: &Answers, lines_are_replicates: bool, notes: &mut Notes) -> MethodSpec {
    let path = "method.point_intercept[0]";
    let (length_m, spacing_m) = (defaults::LINE_LENGTH_M, defaults::SPACING_M);
    let (mut lay, mut read) = defaults::minutes(Dimensions::PointIntercept { length_m, spacing_m });
    if let Some(said) = &answers.dive {
        let (lines, minutes) = said.meant;
        let each = (minutes / lines * 10.0).round() / 10.0;
        lay = (LAYING * each * 10.0).round() / 10.0;
        read = ((each - lay) * 10.0).round() / 10.0;
        let text = format!(
            "\"{}\": {minutes} / {lines} = {each} minutes a line, of which {lay} to lay it (a fifth, assumed) and {read} to \
             read it.",
            said.words.trim()
        );
        notes.conversion(path, text);
        notes.origin(&format!("{path}.lay_minutes"), Some(said));
        notes.origin(&format!("{path}.read_minutes"), Some(said));
    }
    MethodSpec {
        kind: MethodKind::PointIntercept { length_m: vec![length_m], spacing_m: vec![spacing_m] },
        units: (if lines_are_replicates { 2 } else { 1 }..=defaults::MOST_UNITS).collect(),
        minutes: UnitMinutes { lay, read, ashore: None },
    }
}

fn observers(answers: &Answers, notes: &mut Notes) -> Observers {
    let between_visits = answers.crew.as_ref().map_or(Crew::Same, |said| said.meant);
    match &answers.crew {
        Some(said) => notes.conversion("observers", format!("The same people next time? \"{}\".", said.words.trim())),
        None => {
            notes.conversion("observers", "Who reads next time is not known: the same people are assumed.".to_owned())
        }
    }
    Observers { between_visits, spread: OBSERVER_SPREAD, ..Observers::perfect() }
}

/// SD between people, of what is there: a guess, so that a change of people costs something.
const OBSERVER_SPREAD: f64 = 0.05;

/// For conversions: one digit of a point.
fn points(percent: f64) -> String {
    shown::number((percent * 10.0).round() / 10.0)
}
