//! Several expeditions in each period as what-ifs of a budget: each row is what one visit takes on a reef whose years and units
//! vary just so much less.

mod common;

use common::bank::{self, QUIET};
use reefwright::planner::expedition::{BudgetAnswer, WhatIf, WhatIfKind};

/// By its components: SDs of a site's year and between units, and what units keep at the same marks.
struct Varies {
    year: f64,
    units: f64,
    kept: f64,
}

impl Varies {
    /// The mean over so many visits as one visit: `year^2 / k`, and `units^2 ((1 - kept) / k + kept)` of which the second part is
    /// kept.
    fn over(&self, visits: f64) -> Varies {
        let kept = self.kept * self.units.powi(2);
        let units = (1.0 - self.kept) * self.units.powi(2) / visits + kept;
        Varies { year: self.year / visits.sqrt(), units: units.sqrt(), kept: kept / units }
    }

    fn text(&self) -> String {
        QUIET
            .replace("site_year = 5", &format!("site_year = {}\nsame_mark_correlation = {}", self.year, self.kept))
            .replace("between_units = 18", &format!("between_units = {}", self.units))
    }
}

fn answer(text: &str) -> BudgetAnswer {
    bank::answer(text, 20).0
}

fn rows(answer: &BudgetAnswer) -> Vec<&WhatIf> {
    answer.what_ifs.iter().filter(|what| what.kind == WhatIfKind::Occasions).collect()
}

/// The rows of several expeditions are the rows "as it is" of the reef that varies so much less.
#[track_caller]
fn check(change: impl Fn(String) -> String, varies: &Varies, word: &str) {
    let several = answer(&change(varies.text()));
    let rows = rows(&several);
    assert_eq!(
        rows.iter().map(|row| row.expeditions.unwrap()).collect::<Vec<_>>(),
        [2, 3],
        "{:?}",
        several.about_occasions
    );
    let one = several.what_ifs[0].all.unwrap_or((usize::MAX, usize::MAX));
    for row in rows {
        let number = row.expeditions.unwrap();
        let as_one = answer(&change(varies.over(number as f64).text()));
        assert_eq!((row.all, row.musts), (as_one.what_ifs[0].all, as_one.what_ifs[0].musts), "{word} {number}");
        assert!(row.all.unwrap() < one, "{word} {number} {:?} {one:?}", row.all);
        assert!(row.what.starts_with(&format!("{number} expeditions")), "{}", row.what);
    }
}

const VARIES: Varies = Varies { year: 9.0, units: 30.0, kept: 0.3 };

#[test]
fn changes_at_new_places_and_at_the_same_marks() {
    let at = |places: &'static str| {
        move |text: String| {
            text.replace(
                "[[method.other]]",
                &format!("[visits]\nyears_apart = 4\nplaces = \"{places}\"\n[[method.other]]"),
            )
        }
    };
    // At new places nothing is kept, whatever the correlation at the same marks.
    check(at("new_places"), &Varies { kept: 0.0, ..VARIES }, "new places");
    check(at("same_marks"), &VARIES, "same marks");
}

#[test]
fn other_questions_and_targets() {
    let status = |target: &'static str| {
        move |text: String| {
            let (before, rest) = text.split_once("[[change]]").unwrap();
            let (_, after) = rest.split_once("[expedition]").unwrap();
            let text = format!("question = \"status\"\n{before}[expedition]{after}");
            text.replace("see = true", target)
        }
    };
    let varies = Varies { kept: 0.0, ..VARIES };
    check(status("cv_percent = 5"), &varies, "status, cv");
    check(status("half_width = 16"), &varies, "status, half-width");
    check(|text| text.replace("see = true", "half_width = 13"), &varies, "half-width of a change");
    check(
        |text| text.replace("see = true", "see = true\npower = 0.9").replace("to = 126", "to = 122"),
        &varies,
        "its own power",
    );
    let anew = "[visits]\nsites = \"drawn_anew\"\n[[method.other]]";
    check(|text| text.replace("[[method.other]]", anew).replace("to = 126", "to = 112"), &varies, "sites drawn anew");
    let departs = "to = 124\ndiffers_between_sites = 4";
    check(|text| text.replace("to = 126", departs), &varies, "sites that depart");
}

/// Years that all sites share average out too, each being one of its own.
#[test]
fn years_that_all_sites_share() {
    let text = |several: f64| {
        let Varies { year, units, .. } = Varies { kept: 0.0, ..VARIES }.over(several);
        let text = Varies { year: 0.01 * year, units: 0.01 * units, kept: 0.0 }.text();
        let text = text.replace("mean = 140", "mean = 1.4").replace("between_sites = 20", "between_sites = 0.2");
        let text = text.replace("from = 140\nto = 126", "from = 1.4\nto = 1.1");
        let years =
            format!("question = \"beyond_usual_years\"\n[variation]\nyear_points = {}\n[[zone]]", 6.0 / several.sqrt());
        text.replacen("[[zone]]", &years, 1)
    };
    let several = answer(&text(1.0));
    for row in rows(&several) {
        let as_one = answer(&text(row.expeditions.unwrap() as f64));
        assert_eq!((row.all, row.musts), (as_one.what_ifs[0].all, as_one.what_ifs[0].musts), "{}", row.what);
        assert!(row.all.is_some());
    }
}

/// Both depths of a place.
#[test]
fn zones_that_share_places() {
    let shared = |text: String| {
        let text = text.replace("name = \"rim\"", "name = \"rim\"\nsame_places_as = \"wall\"\nplace_correlation = 0.6");
        text.replace("depth_m = 8\n", "depth_m = 8\nmoving_up_minutes = 4\n")
            .replace("most_sites = 14", "most_sites = 12")
    };
    check(shared, &Varies { kept: 0.0, ..VARIES }, "places");
}

/// What is told of them: what they take each and in all, and what that takes for granted; money of all of them.
#[test]
fn rows_tell_what_they_take_in_all() {
    let rates = "[expedition.rates]\ncurrency = \"crowns\"\nfixed = 1000\nper_day = 500\n[[diver]]\nname = \"Ines\"";
    let text = Varies { kept: 0.0, ..VARIES }.text().replacen("[[diver]]\nname = \"Ines\"", rates, 1);
    let answer = answer(&text);
    let (days, dives) = answer.what_ifs[0].all.unwrap();
    for row in rows(&answer) {
        let (k, (each, team_dives)) = (row.expeditions.unwrap(), row.all.unwrap());
        let words = row.in_all(&answer.what_ifs[0]).unwrap();
        let expected = format!(
            "each; {} days and {} team dives in all, where one takes {days} and {dives}",
            k * each,
            k * team_dives
        );
        assert_eq!(words, expected);
        // Two days under way are paid each time.
        assert_eq!(row.money_for_all, Some(k as f64 * (1000.0 + 500.0 * (2.0 + each as f64))));
    }
    assert!(
        answer.about_occasions.contains("the mean over the visits of each site compared"),
        "{}",
        answer.about_occasions
    );
    // One year between the visits: the second period begins a year after the first ends.
    assert!(
        answer.about_occasions.contains("2 years (2 expeditions) and 3 years (3 expeditions)"),
        "{}",
        answer.about_occasions
    );
    let far = answer_of_years(&text, 6);
    assert!(far.about_occasions.contains("is 6 years after the first of the first"), "{}", far.about_occasions);
}

fn answer_of_years(text: &str, years: usize) -> BudgetAnswer {
    answer(&text.replace("[[method.other]]", &format!("[visits]\nyears_apart = {years}\n[[method.other]]")))
}

/// Urchins in belts of so many m2; how much sites differ in one visit, and move in a year.
fn belts(test: &str, area_m2: f64, (sites_percent, year_percent): (f64, f64)) -> String {
    let (zones, rest) = QUIET.split_once("[[method.other]]").unwrap();
    let (_, rest) = rest.split_once("[[change]]").unwrap();
    let animal = |zone: &str| {
        format!(
            "{zone}[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 400\nbetween_sites_percent = {sites_percent}\n\
             site_year_percent = {year_percent}\n"
        )
    };
    let zones: Vec<String> = zones.split_inclusive("most_sites = 14\n").map(animal).collect();
    let zones = zones.concat().replace("length_m = 5", "length_m = 60").replace("width_m = 2.5", "width_m = 20");
    let method = format!(
        "[[method.invertebrate_belt]]\nlength_m = {area_m2}\nwidth_m = 1\nunits = \"1..4\"\nlay_minutes = 2\nread_minutes = 9\n"
    );
    let rest = rest.replace("rugosity", "slate_urchin").replace("from = 140\nto = 126", "from = 400\nto = 220");
    format!("{zones}[test]\n{test}\n{method}[[change]]{rest}")
}

/// Counts in belts: on a scale to first order, which is said.
#[test]
fn counts_on_a_scale_are_told_to_first_order() {
    let plain = answer(&belts("alpha = 0.05", 2.0, (60.0, 30.0)));
    assert_eq!(rows(&plain).len(), 2);
    assert!(!plain.about_occasions.contains("to first order"), "{}", plain.about_occasions);
    let scaled = answer(&belts("scale = \"ln\"", 2.0, (60.0, 30.0)));
    assert_eq!(rows(&scaled).len(), 2);
    assert!(scaled.about_occasions.contains("on a scale it is told to first order"), "{}", scaled.about_occasions);
    for of in [&plain, &scaled] {
        let one = of.what_ifs[0].all.unwrap_or((usize::MAX, usize::MAX));
        assert!(rows(of).iter().all(|row| row.all.unwrap() <= one), "{:?}", of.what_ifs);
    }
}

/// Totals of all visits of a period are totals of one visit that searches as many times the area, on sites whose years average out.
#[test]
fn totals_are_those_of_all_visits() {
    let (sites, year): (f64, f64) = (60.0, 40.0);
    for test in ["kind = \"quasi_poisson\"", "kind = \"negative_binomial\"\n[visits]\nsites = \"drawn_anew\""] {
        let several = answer(&belts(test, 2.0, (sites, year)));
        assert_eq!(rows(&several).len(), 2, "{}", several.about_occasions);
        assert!(
            several.about_occasions.contains("they are those of all visits of a period"),
            "{}",
            several.about_occasions
        );
        assert!(!several.about_occasions.contains("to first order"), "{}", several.about_occasions);
        let one = several.what_ifs[0].all.unwrap_or((usize::MAX, usize::MAX));
        for row in rows(&several) {
            let number = row.expeditions.unwrap() as f64;
            // Of what a site varies in one visit the years are a part.
            let of_mean = (sites.powi(2) - year.powi(2) * (1.0 - 1.0 / number)).sqrt();
            let as_one = answer(&belts(test, 2.0 * number, (of_mean, year / number.sqrt())));
            assert_eq!((row.all, row.musts), (as_one.what_ifs[0].all, as_one.what_ifs[0].musts), "{test} {number}");
            assert!(row.all.unwrap() < one, "{test} {number} {one:?}");
        }
    }
}
