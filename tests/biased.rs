//! What is written of colonies and animals is told of what is there: edge rules, animals that hide, storms, rare animals, those of
//! commercial size, colonies at the edge of a map.

mod common;

use common::studies::{corals, plan, trials, urchins};
use reefwright::design::{Change, ColonyDeaths, Places, Plus, Question, SiteScale, StormPatches, Study};
use reefwright::engine::{Plan, Row, Until, Watch};
use reefwright::planner::{Answer, Effort, notes, rows, solve};
use reefwright::reef::{AnimalPatches, AnimalSpec, BetweenSites, Groups, PatchLaw, Sizes};
use reefwright::scenario::load_with;
use reefwright::survey::MethodKind;
use reefwright::survey::coral_belt::EdgeRule;
use reefwright::theory::ReefTheory;
use std::sync::atomic::AtomicBool;

fn told(study: Study, number: u64) -> Vec<Row> {
    let plan = plan(study);
    rows(&plan, &trials(&plan, 5, number))
}

fn solved(study: Study, number: u64) -> Answer {
    let effort = Effort { seed: 3, until: Until::Trials(number), confirm_error: None, with_range: false };
    let never = AtomicBool::new(false);
    solve(&plan(study), &effort, &Watch { progress: &|_, _| (), interrupted: &never })
}

fn of<'a>(rows: &'a [Row], indicator: &str) -> &'a Row {
    rows.iter().find(|row| row.indicator == indicator).unwrap_or_else(|| panic!("no {indicator}"))
}

fn with_edge(edge: EdgeRule) -> Study {
    let mut study = corals(&[6]);
    study.also_report = vec!["cover_of_measured_colonies".into()];
    let MethodKind::CoralBelt { belt, .. } = &mut study.methods[0].kind else { unreachable!() };
    belt.edge = edge;
    study
}

/// A change as large as the detectable one is seen as often as was asked, whatever the edge rule writes; and what is detectable
/// hardly depends on it, though density is written far too high or too low.
#[test]
fn edge_rules_do_not_flatter_what_is_detectable() {
    let mut found: Vec<[f64; 2]> = Vec::new();
    for edge in [EdgeRule::CentreIn, EdgeRule::TwoEdges, EdgeRule::AnyPartIn, EdgeRule::WhollyIn] {
        let mut to = 0.2;
        for round in 0..3 {
            let mut study = with_edge(edge);
            study.changes[0].to = to;
            let all = told(study, 2);
            let (density, cover) = (of(&all, "colony_density"), of(&all, "cover_of_measured_colonies"));
            if round == 2 {
                let power = density.theory_power.unwrap();
                assert!((power - 0.8).abs() < 0.01, "{edge:?}: {power}");
                found.push([density, cover].map(|row| row.detectable.unwrap()));
                let over_there = density.written_over_there.unwrap_or(1.0);
                let is_off = matches!(edge, EdgeRule::AnyPartIn | EdgeRule::WhollyIn);
                assert_eq!((over_there - 1.0).abs() > 0.1, is_off, "{edge:?}: {over_there}");
            }
            to = 0.28 * (1.0 - density.detectable.unwrap() / density.mean.unwrap());
        }
    }
    for own in &found {
        for (value, centre) in own.iter().zip(found[0]) {
            assert!((value / centre - 1.0).abs() < 0.05, "{found:?}");
        }
    }
}

fn of_which_hide(hidden: f64) -> Study {
    let mut study = urchins(0.4, 0.2);
    study.zones[0].animals[0].spec.hidden = hidden;
    study.methods[0].units = vec![8];
    study
}

/// The same for urchins of whom many hide, on any scale.
#[test]
fn hidden_animals_do_not_flatter_what_is_detectable() {
    for scale in
        [SiteScale::Plain, SiteScale::Ln { plus: Plus::OfSearch }, SiteScale::SquareRoot { plus: Plus::OfSearch }]
    {
        let mut to = 25.0;
        for round in 0..4 {
            let mut study = of_which_hide(0.6);
            study.test.scale = scale;
            study.changes[0].to = to;
            let all = told(study, 2);
            let row = of(&all, "urchin");
            if round == 3 {
                let power = row.theory_power.unwrap();
                assert!((power - 0.8).abs() < 0.02, "{scale:?}: {power}");
            }
            to = 40.0 - row.detectable.unwrap();
        }
    }
}

/// Where most hide the interval of a change is about another number: that is said with the name of what is told, and where they
/// all show themselves nothing is said.
#[test]
fn an_interval_of_a_change_that_misses_the_truth_is_warned_of() {
    let about_bias = |answer: &Answer| {
        answer.warnings.iter().find(|warning| warning.what.contains("about what the method writes")).cloned()
    };
    let hiding = solved(of_which_hide(0.6), 100);
    let warning = about_bias(&hiding).expect("a warning");
    assert!(
        warning.what.contains("urchin (invertebrate belt, 10 x 1 m): the change is written 0.4 times"),
        "{warning:?}"
    );
    assert!(warning.remedy.contains("ratio of the two visits"), "{warning:?}");
    let row = of(&hiding.rows, "urchin");
    assert!(row.interval_truth.unwrap() < 0.5 && row.interval_written.unwrap() > 0.87, "{row:?}");
    assert!((row.written.unwrap() - 16.0).abs() < 1e-9 && (row.mean.unwrap() - 40.0).abs() < 1e-9, "{row:?}");
    let note = hiding.notes.iter().find(|note| note.about.starts_with("Counts of urchin")).expect("a note");
    assert!(note.text.contains("Of 100 urchin that are there 40 are written"), "{}", note.text);
    assert!(hiding.headline.iter().any(|text| text.contains("urchin 0.4 times as it is")), "{:?}", hiding.headline);
    let open = solved(of_which_hide(0.0), 100);
    assert!(about_bias(&open).is_none(), "{:?}", open.warnings);
    assert!(of(&open.rows, "urchin").written.is_none() && open.notes.iter().all(|note| !note.about.contains("Counts")));
}

/// A storm in patches: means over the colonies of a belt lean towards the places that were hit. By formula it is known, and said.
#[test]
fn means_of_survivors_are_told_to_lean() {
    let mut study = corals(&[6]);
    study.also_report = vec!["colony_mean_diameter".into(), "colony_mean_ln_diameter".into()];
    let patches = StormPatches { hit: 0.6, patch_scale_m: 15.0, left_elsewhere: 0.95 };
    study.changes[0].to = 0.14;
    study.changes[0].deaths = Some(ColonyDeaths { odds_at_twice_the_size: 0.4, patches: Some(patches) });
    let plan = plan(study);
    let all = rows(&plan, &trials(&plan, 5, 24));
    let width = of(&all, "colony_mean_diameter");
    assert!(width.interval_written.is_some() && width.written_over_there.unwrap() != 1.0, "{width:?}");
    // Logarithms are off by a difference: they have no factor before a change.
    assert!((of(&all, "colony_density").mean.unwrap() - 12.8).abs() < 0.5);
    let note = notes(&plan).into_iter().find(|note| note.about == "Deaths of colonies").expect("a note");
    assert!(note.text.contains("belt by belt"), "{}", note.text);
}

/// Animals of which a survey often meets none: that comes first, surveys without an interval do not hold the truth, and no
/// interval of a number reaches below nothing.
#[test]
fn what_is_hardly_ever_met_is_told_first() {
    let mut study = urchins(0.003, 0.3);
    study.zones[0].sites = vec![6];
    let answer = solved(study.clone(), 200);
    let first = &answer.headline[0];
    assert!(first.starts_with("Is it met at all? A visit with 4 belts on each of 6 sites meets no urchin"), "{first}");
    for row in &answer.rows {
        let answered = 1.0 - row.degenerate as f64 / row.trials as f64;
        assert!(row.degenerate > 10 && row.interval_truth.unwrap() <= answered, "{row:?}");
    }
    let without = answer.warnings.iter().find(|warning| warning.what.contains("gave no answer")).expect("a warning");
    assert!(without.what.contains("of urchin (invertebrate belt, 10 x 1 m)"), "{}", without.what);
    study.question = Question::Status;
    study.changes.clear();
    let status = solved(study, 200);
    assert!(status.headline[1].contains("told as 0 to"), "{:?}", status.headline);
    let often = solved(of_which_hide(0.0), 20);
    assert!(often.headline.iter().all(|text| !text.contains("met at all")), "{:?}", often.headline);
}

/// All of a kind and those of commercial size change together, whichever is asked about: in the engine, by formula, and in rows.
#[test]
fn animals_of_commercial_size_are_animals() {
    let large = "urchin_of_commercial_size";
    for (asked, from, to) in [("urchin", 40.0, 20.0), (large, 10.0, 5.0)] {
        let mut study = of_which_hide(0.0);
        study.zones[0].animals[0].spec.sizes = Sizes::commercial(0.25);
        study.zones[0].animals[0].spec.between_sites = BetweenSites::Share(0.3);
        study.also_report = vec![large.into()];
        study.changes = vec![Change { indicator: asked.into(), from, to, ..study.changes[0].clone() }];
        let answer = solved(study, 120);
        for (indicator, from) in [("urchin", 40.0), (large, 10.0)] {
            let row = of(&answer.rows, indicator);
            let levels = row.change_from.zip(row.change_to).expect("a change");
            assert!((levels.0 - from).abs() < 1e-9 && (levels.1 - 0.5 * from).abs() < 1e-9, "{row:?}");
            assert!(row.bias.unwrap().abs() < 4.5 * row.bias_error.unwrap() && row.power.unwrap() > 0.3, "{row:?}");
        }
        let note = answer.notes.iter().find(|note| note.about.starts_with("Commercial size"));
        assert_eq!(note.is_some(), asked == large);
    }
}

/// The share of belts with an animal: its mean, its error and the error of its change by formula are those of the simulation, for
/// animals alone and in groups, in patches, that stay or go, at the same marks and at new places.
#[test]
fn presence_by_formula_is_that_of_the_simulation() {
    let groups = Some(Groups { mean_size: 4.0, spread_m: 0.5 });
    let patches = Some(AnimalPatches { law: PatchLaw::LogNormal { ln_sd: 0.7 }, scale_m: 10.0 });
    let alone = AnimalSpec {
        stays: 0.8,
        hidden: 0.3,
        between_sites: BetweenSites::LnSd(0.5),
        site_year: BetweenSites::LnSd(0.25),
        ..urchins(0.08, 0.5).zones[0].animals[0].spec.clone()
    };
    let kinds = [
        (alone.clone(), Places::SameMarks),
        (AnimalSpec { groups, ..alone.clone() }, Places::SameMarks),
        (AnimalSpec { groups, patches, stays: 0.0, ..alone.clone() }, Places::NewPlaces),
        (AnimalSpec { patches, hidden: 0.0, ..alone }, Places::SameMarks),
    ];
    for (spec, places) in kinds {
        let mut study = urchins(0.08, 0.5);
        study.zones[0].animals[0].spec = spec.clone();
        study.zones[0].sites = vec![6];
        study.visits.places = places;
        study.visits.relay_sd_m = 0.1;
        study.also_report = vec!["urchin_presence".into()];
        let answer = solved(study, 900);
        let rows: Vec<&Row> = answer.rows.iter().filter(|row| row.indicator == "urchin_presence").collect();
        assert_eq!(rows.len(), 2);
        for row in rows {
            let levels = row.change_from.zip(row.change_to).expect("it moves with the density");
            assert!(0.05 < levels.1 && levels.1 < levels.0 && levels.0 < 0.6, "{row:?}");
            assert!(row.bias.unwrap().abs() < 4.0 * row.bias_error.unwrap() + 0.003, "{row:?}");
            let (se, error, theory) = (row.se.unwrap(), row.se_error.unwrap(), row.theory_se.unwrap());
            assert!((theory - se).abs() < 4.0 * error + 0.02 * se, "{spec:?} {places:?} {}: {theory} {se}", row.units);
            let search = answer.animals.iter().find(|search| search.indicator == "urchin").unwrap();
            assert!((search.occupied - levels.0).abs() < 1e-12 && row.unit == "share", "{row:?}");
        }
        assert!(answer.notes.iter().any(|note| note.about == "Presence of urchin"));
    }
}

/// It moves with the density of its animal, and not by itself.
#[test]
fn presence_is_no_change_of_its_own() {
    let text = "statement_about = \"all_such_reefs\"\nalso_report = [\"conch_presence\"]\n[[zone]]\nname = \"rim\"\nsites = 6\n\
                cover_percent = 25\nreef = \"fore_reef\"\n[[zone.animal]]\nname = \"conch\"\ndensity_per_100_m2 = 3\n[[change]]\n\
                indicator = \"conch\"\nfrom = 3\nto = 1\n[[method.invertebrate_belt]]\nunits = 4\n";
    let loaded = load_with("conch.toml", text, &|_| Err("none".into()));
    assert!(loaded.is_ok(), "{}", loaded.err().map_or(String::new(), |error| error.to_string()));
    let wrong = text.replace("indicator = \"conch\"", "indicator = \"conch_presence\"");
    let error = load_with("conch.toml", &wrong, &|_| Err("none".into())).expect_err("refused").to_string();
    assert!(error.contains("conch_presence moves with conch"), "{error}");
}

/// On a map the bias of an edge rule is told as such, and not as one of the edges of the map; sizes are told in cm.
#[test]
fn on_a_map_the_edge_rule_has_its_own_note() {
    let list = b"x,y,diameter,name\n3,3,0.3,\n8,5,0.2,\n12,4,0.25,\n15,6,0.4,\n6,7,0.1,\n";
    let noted = |edge: &str| {
        let text = format!(
            "statement_about = \"each_reef\"\nquestion = \"status\"\nalso_report = [\"colony_mean_diameter\"]\n[[zone]]\n\
             length_m = 20\nwidth_m = 10\n[zone.map]\nfile = \"list.csv\"\n[[method.line_intercept]]\nlength_m = 5\nunits = 4\n\
             [[method.coral_belt]]\nlength_m = 5\nunits = 4\nedge = \"{edge}\"\n"
        );
        let study =
            load_with("map.toml", &text, &|_| Ok(list.to_vec())).unwrap_or_else(|error| panic!("{error}")).study;
        let theories: Vec<ReefTheory> =
            study.zones.iter().map(|zone| ReefTheory::new(&study, zone).expect("a reef")).collect();
        let all = notes(&Plan::new(study, theories));
        let of = |about: &str| all.iter().find(|note| note.about.starts_with(about)).expect("a note").text.clone();
        (of("Coral belts, 5 x 1 m"), of("Edges of the map"))
    };
    let (rule, edges) = noted("any_part_in");
    assert!(rule.contains("too many") && rule.contains("edges of the map included"), "{rule}");
    assert!(edges.contains("hard coral is") && !edges.contains("by belts"), "{edges}");
    let (_, edges) = noted("centre_in");
    assert!(edges.contains("by belts") && edges.contains("colony mean diameter is 25.0 cm"), "{edges}");
}
