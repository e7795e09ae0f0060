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

/// Counts in belts: on a scale to first order, which is said; by totals not at all, with the reason.
#[test]
fn counts_are_told_to_first_order_and_totals_are_refused() {
    let belts = |test: &str| {
        let (zones, rest) = QUIET.split_once("[[method.other]]").unwrap();
        let (_, rest) = rest.split_once("[[change]]").unwrap();
        let animal = |zone: &str| format!("{zone}[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 400\n");
        let zones: Vec<String> = zones.split_inclusive("most_sites = 14\n").map(animal).collect();
        let method = "[[method.invertebrate_belt]]\nlength_m = 4\nwidth_m = 1\nunits = \"1..4\"\nlay_minutes = 2\nread_minutes = 5\n";
        let rest = rest.replace("rugosity", "slate_urchin").replace("from = 140\nto = 126", "from = 400\nto = 180");
        format!("{}[test]\n{test}\n{method}[[change]]{rest}", zones.concat())
    };
    let plain = answer(&belts("alpha = 0.05"));
    assert_eq!(rows(&plain).len(), 2);
    assert!(!plain.about_occasions.contains("to first order"), "{}", plain.about_occasions);
    let scaled = answer(&belts("scale = \"ln\""));
    assert_eq!(rows(&scaled).len(), 2);
    assert!(scaled.about_occasions.contains("on a scale it is told to first order"), "{}", scaled.about_occasions);
    for of in [&plain, &scaled] {
        let one = of.what_ifs[0].all.unwrap_or((usize::MAX, usize::MAX));
        assert!(rows(of).iter().all(|row| row.all.unwrap() <= one), "{:?}", of.what_ifs);
    }
    let totals = answer(&belts("kind = \"quasi_poisson\""));
    assert!(rows(&totals).is_empty());
    assert!(
        totals.about_occasions.starts_with("Several expeditions in each period are not told: "),
        "{}",
        totals.about_occasions
    );
}
