//! From a study back to the text of a scenario: for `pilot` and `new --ask`, which find numbers and write them down with
//! their origins. What is written here reads as the same study.

mod expedition;
mod fish;
mod methods;
mod table;
mod zones;

pub use zones::written_spreads;

use super::Origin;
use super::file::LayoutWord;
use super::word::word_of;
use crate::design::{Expedition, Observers, Plus, Question, REST, Sides, SiteScale, Study, TestSpec};
use crate::survey::{LineLayout, Placement};
use std::collections::BTreeMap;
use table::{Writer, percent_text};

/// What stands beside the numbers of a scenario that a program writes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    /// Origin of a number by its key, `zone[0].cover_percent`, `visits.drift_years`, `change[0].differs_between_sites`,
    /// `method.point_intercept[0].lay_minutes`; numbers without one are `assumed`.
    pub origins: BTreeMap<String, Origin>,
    /// Lines to write as comments above a table, by its path (`zone[0]`, `visits`; empty: at the head of the file).
    pub comments: BTreeMap<String, Vec<String>>,
    /// The expedition that belongs to the study, written with it.
    pub expedition: Option<Expedition>,
}

impl Beside {
    /// A comment above a table.
    pub(super) fn comment(&mut self, table: &str, text: String) {
        self.comments.entry(table.to_owned()).or_default().push(text);
    }

    /// The origin of a number.
    pub(super) fn origin(&mut self, table: &str, key: &str, origin: Origin) {
        self.origins.insert(format!("{table}.{key}"), origin);
    }

    /// A number that is from the pilot of this name, or assumed.
    pub(super) fn known(&mut self, table: &str, key: &str, pilot: Option<&str>) {
        self.origin(table, key, pilot.map_or(Origin::Assumed, |file| Origin::Pilot(file.to_owned())));
    }
}

/// The text of a scenario. Loading it gives the same study and expedition (methods in the order of their kinds).
pub fn write(study: &Study, beside: &Beside) -> String {
    let mut writer = Writer::new(beside);
    writer.head();
    writer.text("title", &study.title);
    writer.text("statement_about", word_of(study.scope));
    writer.text("question", word_of(study.question));
    if !study.also_report.is_empty() {
        let names: Vec<String> = study.also_report.iter().map(|name| table::quoted(name)).collect();
        writer.line("also_report", &format!("[{}]", names.join(", ")));
    }
    if study.question.tests() {
        write_test(&mut writer, &study.test);
    }
    if study.question.visits() == 2 {
        write_visits(&mut writer, study);
    }
    write_observers(&mut writer, &study.observers, study);
    // The usual placement goes without saying.
    if study.placement != Placement::default() {
        write_placement(&mut writer, study.placement);
    }
    let of_expedition = beside.expedition.as_ref();
    if let Some(expedition) = of_expedition {
        expedition::write(&mut writer, expedition);
    }
    for (index, zone) in study.zones.iter().enumerate() {
        zones::write(&mut writer, index, zone, study.zones.len() > 1);
        if let Some(expedition) = of_expedition {
            expedition::write_dive(&mut writer, index, &expedition.zones[index]);
        }
    }
    // Two maps tell their change themselves.
    let is_told = study.zones.iter().any(|zone| zone.map.as_ref().is_some_and(|map| map.later.is_some()));
    for (index, change) in study.changes.iter().enumerate().filter(|_| !is_told) {
        methods::write_change(&mut writer, index, change, study);
    }
    if let Some(expedition) = of_expedition {
        expedition::write_targets(&mut writer, &expedition.targets, study);
    }
    methods::write(&mut writer, &study.methods, of_expedition);
    writer.finish()
}

fn write_test(writer: &mut Writer, test: &TestSpec) {
    writer.table("test", "[test]");
    writer.text("kind", word_of(test.kind));
    // Values as they are measured go without saying.
    if let Some(scale) = test.scale.name() {
        writer.text("scale", scale);
    }
    if let SiteScale::Ln { plus: Plus::Value(plus) } | SiteScale::SquareRoot { plus: Plus::Value(plus) } = test.scale {
        writer.number("plus", plus);
    }
    writer.number("alpha", test.alpha);
    match test.sides {
        Sides::Two => writer.number("sides", 2.0),
        Sides::Fall | Sides::Rise => {
            writer.number("sides", 1.0);
            writer.text("direction", if test.sides == Sides::Fall { "fall" } else { "rise" });
        }
    }
    writer.number("seen", test.seen);
}

fn write_visits(writer: &mut Writer, study: &Study) {
    let visits = &study.visits;
    writer.table("visits", "[visits]");
    writer.number("years_apart", visits.years_apart);
    writer.text("sites", word_of(visits.sites));
    writer.text("places", word_of(visits.places));
    writer.number("relay_within_m", visits.relay_sd_m);
    // On maps nothing settles or moves.
    if study.zones.iter().any(|zone| zone.map.is_none()) {
        writer.line("renewal_percent_per_year", &percent_text(visits.renewal_per_year));
        writer.number("drift_years", visits.drift_years);
    }
    writer.source();
}

fn write_observers(writer: &mut Writer, observers: &Observers, study: &Study) {
    writer.table("observers", "[observers]");
    writer.text("between_visits", word_of(observers.between_visits));
    writer.number("number", observers.number as f64);
    writer.line("spread_percent", &percent_text(observers.spread));
    if observers.second_visit_bias != 0.0 && study.question != Question::BetweenGroups {
        writer.line("second_visit_bias_percent", &percent_text(observers.second_visit_bias));
    }
    if let Some(matrix) = &observers.misidentification {
        writer.line("misidentification", &misidentification(matrix, study));
    }
    writer.source();
}

fn write_placement(writer: &mut Writer, placement: Placement) {
    writer.table("placement", "[placement]");
    let layout = match placement.layout {
        LineLayout::RandomStarts => LayoutWord::RandomStarts,
        LineLayout::LeastGap { .. } => LayoutWord::LeastGap,
        LineLayout::Systematic => LayoutWord::Systematic,
    };
    writer.text("layout", word_of(layout));
    if let LineLayout::LeastGap { gap_m } = placement.layout {
        writer.number("gap_m", gap_m);
    }
    writer.text("heading", word_of(placement.heading));
    writer.source();
}

/// The rows that differ from "written as it is", as one inline table; at least one, so that the table is there.
fn misidentification(matrix: &[Vec<f64>], study: &Study) -> String {
    let mut names = study.zones.first().map_or(Vec::new(), |zone| zone.bottom_names());
    names.push(REST.to_owned());
    let written_as_is = |place: usize| {
        matrix[place].iter().enumerate().all(|(column, share)| *share == if column == place { 1.0 } else { 0.0 })
    };
    let rows = (0..matrix.len()).filter(|place| *place == 0 || !written_as_is(*place));
    let rows = rows.map(|place| {
        let shares = matrix[place].iter().zip(&names).filter(|(share, _)| **share > 0.0);
        let shares: Vec<String> = shares.map(|(share, name)| format!("{} = {share}", table::key(name))).collect();
        format!("{} = {{ {} }}", table::key(&names[place]), shares.join(", "))
    });
    format!("{{ {} }}", rows.collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{DEMO, STARTER, load_text, starter_with_all};

    fn comes_back(text: &str) {
        let loaded = load_text("first.toml", text).unwrap_or_else(|error| panic!("{}", error.render()));
        let comments = BTreeMap::from([("zone[0]".to_owned(), vec!["A comment.".to_owned()])]);
        let beside = Beside { origins: loaded.origins.clone(), comments, expedition: loaded.expedition.clone() };
        let written = write(&loaded.study, &beside);
        let again = load_text("again.toml", &written).unwrap_or_else(|error| panic!("{written}\n{}", error.render()));
        assert_eq!(again.study, loaded.study);
        assert_eq!(again.expedition, loaded.expedition);
        let known = |origins: &BTreeMap<String, Origin>| -> Vec<(String, Origin)> {
            let known = origins.iter().filter(|(_, origin)| **origin != Origin::Assumed);
            known.map(|(key, origin)| (key.clone(), origin.clone())).collect()
        };
        assert_eq!(known(&again.origins), known(&loaded.origins));
        assert!(written.contains("\n# A comment.\n[[zone]]\n"));
        assert_eq!(write(&again.study, &Beside { origins: again.origins, ..beside }), written);
    }

    #[test]
    fn what_is_written_reads_as_the_same_study() {
        comes_back(DEMO);
        comes_back(STARTER);
        comes_back(&starter_with_all());
    }

    #[test]
    fn expeditions_come_back() {
        let head =
            "statement_about = \"all_such_reefs\"\n[expedition]\ndays = 14\ndives_a_day = 3\nstandby = \"crew\"\n";
        let rest = "[[diver]]\nname = \"Ana \\\"A\\\"\"\nskills = [\"fish\", \"corals\"]\ndepth_m = 30\n[[diver]]\nname = \"Eli\"\n\
             [[diver]]\nname = \"Ben\"\n[[zone]]\nname = \"a\"\nsites = 8\nexisting = 12\ncover_percent = 28\n[zone.dive]\n\
             depth_m = 12.3\nbottom_minutes = 47.7\n";
        let methods = "[[method.photo_belt]]\n[method.photo_belt.work]\ntakes = \"both\"\nmove_minutes = 1.5\n\
             source = { move_minutes = \"pilot: minutes.csv\" }\n[[method.point_intercept]]\n[method.point_intercept.work]\n\
             skill = \"fish\"\nfirst = true\nothers_wait_minutes = 7.5\nwho_waits = \"buddy\"\n[[change]]\nfrom = 28\nto = 22\n[[change]]\nfrom = 28\n\
             to = 17\n[[target]]\nindicator = \"hard_coral\"\nsee = true\nchange = 2\npriority = \"must\"\nweight = 2\n\
             [[target]]\nindicator = \"hard_coral\"\nhalf_width_points = 3.3\n[[target]]\nindicator = \"hard_coral\"\n\
             cv_percent = 7\n";
        let clock = "day_minutes = 480\nout_and_home_minutes = 90\nbetween_sites_minutes = 25\nsurface_interval_minutes = 75\n\
             around_a_dive_minutes = 22.2\n";
        for (expedition, dive) in [
            ("sites_a_day = 2\n", ""),
            (
                "sites_a_day = 2\nflight_hours_after_last_dive = 26.5\ngas = { litres_a_minute = 21.5, cylinder_litres = 11.1, \
                 fill_bar = 200, reserve_bar = 66.7 }\n",
                "current_knots = 0.7\n",
            ),
            (clock, "work_minutes = 31.1\nsource = \"my words: we did so\"\n"),
            (
                "sites_a_day = 2\nlost_days_percent = 17\nbad_spell_days = 2.5\npairs = [[\"Ben\", \"Ana \\\"A\\\"\"]]\n\
                 source = { lost_days_percent = \"published: harbour office\", days = \"my words: two weeks\" }\n",
                "descent_minutes = 2.1\narrival_minutes = 4.2\nmost_sites = 9\nleast_sites = 4\n",
            ),
        ] {
            comes_back(&format!("{head}{expedition}{rest}{dive}{}", methods));
        }
        let told = |dive: &str| {
            let text = format!("{head}sites_a_day = 2\n{rest}{dive}{methods}");
            load_text("told.toml", &text).unwrap_or_else(|error| panic!("{}", error.render()))
        };
        // What is written one by one is written back together, with the worst of the origins.
        let parts = "descent_minutes = 3\narrival_minutes = 3\nreturn_minutes = 3\nspare_minutes = 3\n";
        let loaded = told(&format!("{parts}source = \"my words: as last year\"\n"));
        let beside =
            Beside { origins: loaded.origins.clone(), expedition: loaded.expedition.clone(), ..Beside::default() };
        let again = load_text("again.toml", &write(&loaded.study, &beside)).unwrap();
        assert_eq!(again.expedition, loaded.expedition);
        assert_eq!(again.origins["zone[0].dive.work_minutes"], Origin::MyWords("as last year".into()));
        assert_eq!(told("").origins["zone[0].dive.work_minutes"], Origin::Assumed);
    }

    #[test]
    fn recruits_come_back() {
        let zone = "statement_about = \"all_such_reefs\"\n[visits]\nyears_apart = 2\n[[zone]]\nsites = 8\n\
             [[zone.category]]\nname = \"fine sand\"\ncover_percent = 20\n[zone.recruits]\ndensity_per_m2 = 7.3\n";
        let change = "[[change]]\nindicator = \"recruit_density\"\nfrom = 6\nto = 2.5\ndiffers_between_sites = 0.8\n";
        let quadrats = "[[method.recruit_quadrats]]\nquadrat_cm = [20, 33.3]\nevery_m = 2.5\n";
        for more in [
            "group_size = 2.5\npatch_k = 1.2\nsource = { density_per_m2 = \"pilot: x.csv\" }\n",
            "cannot_live_on = []\nunder_2_cm_percent = 88\npatch_sd = 0.4\nstill_recruits_percent = 0\n",
        ] {
            comes_back(&format!("{zone}{more}{quadrats}{change}"));
        }
        let loaded = load_text("usual.toml", &format!("{zone}{quadrats}{change}")).unwrap();
        let recruits = loaded.study.zones[0].recruits.as_ref().unwrap();
        assert_eq!((recruits.spec.stays, recruits.cannot_live_on.as_slice()), (0.09, &["fine sand".to_owned()][..]));
        let assumed = |words: &str| loaded.assumptions.iter().any(|assumption| assumption.about.contains(words));
        assert!(assumed("still small at the second visit") && assumed("kinds of bottom without any"));
    }

    #[test]
    fn every_question_comes_back() {
        let zones = "[[zone]]\nname = \"a, b\"\nsites = [4, 6]\nexisting = 6\ncover_percent = 33.3\nreef = \"rubble_slope\"\npatch_sd = 0.9\n\
             source = { cover_percent = \"pilot: x.csv\", patch_sd = \"my words: so, so\" }\n[[zone]]\nname = 'c'\nsites = 3\nexisting = 9\n";
        let line = "[[method.point_intercept]]\nlength_m = 9.5\npoints = 30\nunits = [2, 5]\n";
        let change = "[[change]]\nfrom = 28\nto = 22.2\n[[change]]\nfrom = 20\nto = 10\n";
        for head in [
            "statement_about = \"all_such_reefs\"\nquestion = \"between_groups\"\n",
            "statement_about = \"these_reefs\"\n[visits]\nplaces = \"same_marks\"\ntape = \"loose\"\ndrift_years = 7\n",
            "statement_about = \"each_reef\"\n[test]\nsides = 1\n[observers]\nbetween_visits = \"mixed\"\n",
            "statement_about = \"all_such_reefs\"\nquestion = \"beyond_usual_years\"\n[variation]\nyear_points = 1.4\nsource = 'pilot'\n",
        ] {
            comes_back(&format!("{head}{zones}{line}{change}"));
        }
        comes_back(&format!("statement_about = \"all_such_reefs\"\n{zones}{line}"));
    }

    #[test]
    fn every_test_comes_back() {
        let rest = "[[zone]]\nsites = 8\n[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 12\n\
             [[method.invertebrate_belt]]\nunits = 4\n[[change]]\nindicator = \"slate_urchin\"\nfrom = 12\nto = 6\n";
        for test in [
            "kind = \"permutation\"",
            "scale = \"ln\"",
            "kind = \"permutation\"\nscale = \"square_root\"\nplus = 0.375",
            "scale = \"ln\"\nplus = 0.5\nsides = 1",
            "kind = \"quasi_poisson\"",
            "kind = \"negative_binomial\"\n[visits]\nsites = \"drawn_anew\"",
        ] {
            comes_back(&format!("statement_about = \"all_such_reefs\"\n[test]\n{test}\n{rest}"));
        }
    }

    #[test]
    fn every_placement_comes_back() {
        let rest = "[[zone]]\nsites = 8\n[[method.line_intercept]]\nunits = 4\n";
        for placement in [
            "layout = \"least_gap\"\ngap_m = 2.5\nheading = \"across\"\nsource = { gap_m = \"my words: two fins\" }",
            "layout = \"systematic\"\nsource = \"published: a handbook\"",
            "heading = \"any\"",
            "layout = \"random_starts\"",
        ] {
            comes_back(&format!("statement_about = \"all_such_reefs\"\n[placement]\n{placement}\n{rest}"));
        }
    }

    #[test]
    fn indicators_by_components_come_back() {
        let text = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 8\n[[method.other]]\nindicator = \"snails\"\nmean = 3\n\
             scale = \"ln\"\nbetween_sites = 0.5\nbetween_units = 0.7\nfloor = 0.1\n[[change]]\nindicator = \"snails\"\nfrom = 3\nto = 1.5\ndiffers_between_sites = 0.2\n";
        comes_back(text);
    }
}
