//! What every form of a report owes its reader, on synthetic, empty, single-row and strange reports.

use super::figures::{Figure, figures};
use super::synthetic::{
    animals_report, crowded_report, empty_report, extreme_reports, fish_report, report, single_row_report,
};
use super::{Report, csv, files, html, json, png, terminal};
use crate::design::{Change, ColonyDeaths};
use crate::planner::Warning;

fn all_reports() -> Vec<Report> {
    let mut interrupted = report();
    interrupted.answer.interrupted = true;
    interrupted.answer.rows.truncate(30);
    interrupted.pictures.clear();
    let mut reports =
        vec![interrupted, animals_report(), empty_report(), single_row_report(), crowded_report(), fish_report(10, 4)];
    reports.extend(extreme_reports());
    reports
}

fn check_figure(figure: &Figure) {
    let Figure { name, svg, title, alt, caption } = figure;
    png::parse(svg).unwrap_or_else(|error| panic!("{name}: {error}"));
    for text in [svg, title, alt, caption] {
        assert!(!text.contains("NaN") && !text.contains("inf "), "{name}: {title}");
    }
    assert!(!title.is_empty() && !alt.is_empty() && !caption.is_empty(), "{name}");
    assert!(svg.len() < 2_500_000, "{name}: {} bytes", svg.len());
    assert!(!name.is_empty() && name.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-'), "{name}");
}

#[test]
fn every_form_takes_every_report() {
    for report in all_reports() {
        let figures = figures(&report);
        figures.iter().for_each(check_figure);
        let page = html::page(&report, &figures).unwrap();
        assert!(page.ends_with("</html>\n") || page.ends_with("</html>"));
        // The letters in the style are long random-looking words that may hold any three letters.
        assert!(!page[page.find("</style>").unwrap()..].contains("NaN"));
        assert!(!terminal(&report, Some("out")).contains("NaN"));
        serde_json::from_str::<serde_json::Value>(&json(&report)).unwrap();
        assert!(csv::designs(&report).lines().count() == report.answer.rows.len() + 1);
    }
}

#[test]
fn the_full_report_has_every_figure_once() {
    let figures = figures(&report());
    figures.iter().for_each(check_figure);
    let names: Vec<&str> = figures.iter().map(|figure| figure.name.as_str()).collect();
    for kind in
        ["power", "precision", "minutes", "lines-and-sites", "what-matters", "range-over-reefs", "reef-1", "reef-2"]
    {
        assert!(names.iter().any(|name| name.starts_with(kind)), "{kind} is missing from {names:?}");
    }
    assert_eq!(super::select::distinct(names.iter()).len(), names.len(), "{names:?}");
}

#[test]
fn titles_state_the_finding_of_the_data() {
    let mut report = report();
    report.answer.rows.retain(|row| row.zone == "outer terrace");
    let needed = &report.answer.needed;
    let enough =
        needed.iter().find(|needed| needed.zone == "outer terrace" && needed.sites.shared() == Some(14)).unwrap().units;
    assert_eq!(enough, Some(5));
    assert_eq!(figures(&report)[0].title, "Five lines a site see a fall from 28 to 22 % four times in five");
    report.answer.needed.iter_mut().for_each(|needed| needed.units = None);
    let title = "With 14 sites no number of lines sees a fall from 28 to 22 % four times in five";
    assert_eq!(figures(&report)[0].title, title);
}

#[test]
fn many_colonies_are_thinned_and_the_caption_says_so() {
    let figures = figures(&report());
    let reef = figures.iter().find(|figure| figure.name.starts_with("reef-1")).unwrap();
    assert!(report().pictures[0].colonies.len() > 20_000);
    assert!(reef.caption.contains("the 12000 of at least"), "{}", reef.caption);
    assert!(reef.svg.matches("<circle").count() < 18_000);
}

#[test]
fn the_same_report_gives_the_same_bytes() {
    let mut small = report();
    small.pictures.truncate(1);
    small.pictures[0].colonies.truncate(500);
    small.answer.rows.retain(|row| row.method == "point_intercept" && row.sites.shared() == Some(14));
    assert!(files(&small) == files(&small));
}

#[test]
fn png_files_are_bitmaps_of_three_pixels_a_unit() {
    let figure = &figures(&report())[0];
    let bytes = png::png(&figure.svg).unwrap();
    assert!(bytes.starts_with(b"\x89PNG\r\n\x1a\n"));
    let width = u32::from_be_bytes(bytes[16..20].try_into().unwrap());
    assert_eq!(width, 3 * 640);
    assert!(png::png("no figure").is_err());
}

#[test]
fn csv_reads_back_with_the_same_numbers() {
    let report = report();
    let text = csv::designs(&report);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().clone();
    let column = |name: &str| columns.iter().position(|column| column == name).unwrap();
    let (power, spacing, width, zone) = (column("power"), column("spacing_m"), column("width_m"), column("zone"));
    let records: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert_eq!(records.len(), report.answer.rows.len());
    for (record, row) in records.iter().zip(&report.answer.rows) {
        assert_eq!(record[power].parse::<f64>().ok(), row.power);
        assert_eq!(record[zone], row.zone);
        assert_eq!(record[spacing].is_empty(), row.method != "point_intercept");
        assert_eq!(record[width].is_empty(), row.method != "photo_belt");
    }
    let needed = csv::needed(&report);
    let lines = ::csv::Reader::from_reader(needed.as_bytes()).records().map(Result::unwrap).count();
    assert_eq!(lines, report.answer.needed.len());
}

#[test]
fn csv_leaves_empty_what_does_not_apply() {
    let text = csv::designs(&single_row_report());
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().clone();
    let record = reader.records().next().unwrap().unwrap();
    for name in ["power", "false_alarm", "change_from", "test", "same_sites", "width_m"] {
        assert_eq!(&record[columns.iter().position(|column| column == name).unwrap()], "", "{name}");
    }
}

/// What the search for animals meets stands in every form, and nothing of it where none are counted.
#[test]
fn animals_are_in_every_form() {
    let (mut with, mut without) = (animals_report(), report());
    with.pictures.clear();
    without.pictures.clear();
    let page = |report: &Report| html::page(report, &[]).unwrap();
    assert!(page(&with).contains("id=\"animals\"") && !page(&without).contains("animals"));
    assert!(page(&with).contains("Absence cannot be shown") && page(&with).contains("lagoon &lt;gardens&gt;"));
    let screen = terminal(&with, None);
    assert!(screen.contains("Giant clam, invertebrate belts, 10 x 2 m: met at all?"), "{screen}");
    assert!(
        screen.contains("no room") && screen.contains("> 99.9") && !terminal(&without, None).contains("met at all")
    );
    let names = |report: &Report| -> Vec<String> { files(report).unwrap().into_iter().map(|(name, _)| name).collect() };
    assert!(names(&with).contains(&"animals.csv".to_string()) && !names(&without).contains(&"animals.csv".to_string()));
    assert!(names(&with).contains(&"figures/search-giant-clam.svg".to_string()));
    let text = csv::animals(&with);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().clone();
    let column = |name: &str| columns.iter().position(|column| column == name).unwrap();
    let records: Vec<_> = reader.records().map(Result::unwrap).collect();
    let chances = || with.answer.animals.iter().flat_map(|search| &search.chances);
    assert_eq!(records.len(), chances().count());
    for (record, chance) in records.iter().zip(chances()) {
        assert_eq!(record[column("met")].parse(), Ok(chance.met));
        assert_eq!(record[column("upper_limit_per_ha")].parse().ok(), chance.upper_limit_per_ha);
    }
}

/// A scale is told behind all other columns, and only where there is one.
#[test]
fn a_scale_has_a_column_of_its_own() {
    let mut report = report();
    let header = |report: &Report| csv::designs(report).lines().next().unwrap().to_string();
    assert!(header(&report).ends_with(",seen"));
    report.answer.rows[1].scale = Some("ln".into());
    assert!(header(&report).ends_with(",seen,scale"));
    assert!(csv::designs(&report).lines().nth(2).unwrap().ends_with(",ln"));
}

/// The keys that the JSON promises.
#[test]
fn json_has_the_promised_keys() {
    let value: serde_json::Value = serde_json::from_str(&json(&report())).unwrap();
    for key in
        ["scenario", "version", "schema_version", "seed", "rows", "headline", "warnings", "needed", "scenario_text"]
    {
        assert!(value.get(key).is_some(), "{key}");
    }
    assert!(value.get("pictures").is_none());
    let keys = "indicator zone method dimensions sites units same_sites same_places change_from change_to test trials power \
                power_error false_alarm false_alarm_error theory_power detectable se cv half_width interval_truth bias \
                degenerate minutes";
    for row in value["rows"].as_array().unwrap() {
        for key in keys.split_whitespace() {
            assert!(row.get(key).is_some(), "{key}");
        }
        assert!(row["dimensions"].is_object());
    }
}

#[test]
fn dimensions_are_an_object_even_without_any() {
    let mut report = single_row_report();
    report.answer.rows[0].dimensions = crate::survey::Dimensions::Components;
    let value: serde_json::Value = serde_json::from_str(&json(&report)).unwrap();
    assert_eq!(value["rows"][0]["dimensions"], serde_json::json!({}));
}

#[test]
fn the_screen_is_at_most_80_columns_wide() {
    let mut long = report();
    long.answer.rows.iter_mut().for_each(|row| row.zone = format!("{} beyond the long sandy channel", row.zone));
    long.answer.warnings.push(Warning { what: "x".repeat(300), remedy: "Ürwald ".repeat(40) });
    let mut reports = all_reports();
    reports.extend([report(), long]);
    for report in reports {
        for line in terminal(&report, None).lines() {
            assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
            assert!(!line.chars().any(char::is_control) && line.trim_end() == line);
        }
    }
}

#[test]
fn the_screen_begins_with_the_answer_and_says_where_the_report_lies() {
    let text = terminal(&report(), Some("out/2nd report"));
    let at = |part: &str| text.find(part).unwrap_or_else(|| panic!("{part} is missing"));
    assert!(at("5 lines a site see") < at("falsely"));
    assert!(at("falsely") < at("Measure first (") && at("Measure first (") < at("Take 14 sites"));
    assert!(at("no dive plan") < at("Report: out/2nd report"));
    let mut interrupted = report();
    interrupted.answer.interrupted = true;
    assert!(terminal(&interrupted, None).starts_with("INTERRUPTED"));
}

#[test]
fn the_page_needs_nothing_else_and_runs_nothing() {
    let page = html::html(&report()).unwrap();
    for outside in ["http:", "https:", "<script", "<link", "@import", "<iframe", " src=\"", "xlink", "onload"] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.contains("<html lang=\"en\">") && page.contains("@page"));
    assert_eq!(page.matches("<svg ").count(), page.matches("role=\"img\" aria-label=\"").count());
    assert_eq!(page.matches("<thead>").count(), page.matches("<table").count());
    for part in ["no dive plan", "seed 20260", "Detectable change", "in your words", "Methods text", "statement_about"]
    {
        assert!(page.contains(part), "{part}");
    }
}

#[test]
fn words_of_the_scenario_are_escaped_everywhere() {
    let attack = "<script>alert(1)</script>\" onload=\"x & y";
    let mut report = report();
    report.title = attack.into();
    report.scenario_text = attack.into();
    report.answer.headline[0] = attack.into();
    report.answer.warnings[0].what = attack.into();
    report.assumptions[0].about = attack.into();
    report.answer.rows.iter_mut().for_each(|row| row.zone = attack.into());
    report.answer.ranges.iter_mut().for_each(|range| range.zone = attack.into());
    report.pictures[0].zone = attack.into();
    report.pictures[0].units[0].label = attack.into();
    report.pictures[0].categories[0] = attack.into();
    report.pictures[0].colonies.truncate(10);
    report.pictures[0].caption = attack.into();
    let page = html::html(&report).unwrap();
    assert!(!page.contains("<script") && !page.contains("\" onload=\""));
    assert!(page.contains("&lt;script&gt;"));
    figures(&report).iter().for_each(check_figure);
}

#[test]
fn what_must_not_be_believed_is_marked() {
    let mut report = report();
    let page = html::html(&report).unwrap();
    assert!(!page.contains("never ranked") && !page.contains("believe the simulation"));
    for row in &mut report.answer.rows {
        (row.false_alarm_marked, row.theory_parts, row.degenerate) = (true, true, 3);
    }
    let page = html::html(&report).unwrap();
    assert!(page.contains("never ranked") && page.contains("believe the simulation"));
    // Of a status nothing is seen or not seen.
    assert!(page.contains("gave no answer and count as not seen"));
    report.answer.rows.iter_mut().for_each(|row| row.test = None);
    assert!(html::html(&report).unwrap().contains("gave no answer: they made no interval"));
    assert!(terminal(&report, None).contains(")!"));
}

#[test]
fn groups_are_compared_and_do_not_fall() {
    let mut report = report();
    report.answer.rows.retain(|row| row.zone == "outer terrace");
    report.scenario = serde_json::json!({"question": "between_groups"});
    let figures = figures(&report);
    assert_eq!(figures[0].title, "Five lines a site see a difference between 28 and 22 % four times in five");
    assert!(figures.iter().all(|figure| !figure.title.contains("fall") && !figure.caption.contains("change,")));
}

#[test]
fn designs_that_ring_falsely_have_hollow_marks() {
    let mut report = report();
    let power = |report: &Report| figures(report).into_iter().find(|figure| figure.name.starts_with("power")).unwrap();
    let clean = power(&report);
    assert!(!clean.caption.contains("Hollow"));
    for row in report.answer.rows.iter_mut().filter(|row| [2, 6].contains(&row.units)) {
        row.false_alarm_marked = true;
        (row.power_held, row.power_held_error, row.held_level) = (Some(0.31), Some(0.02), Some(0.02));
    }
    let words = terminal(&report, None).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("held to 5 false alarms in 100: seen 31 (2)"), "{words}");
    assert!(html::html(&report).unwrap().contains("seen, held<small>to its level"));
    assert!(csv::designs(&report).lines().next().unwrap().contains("power_held,power_held_error,held_level"));
    let marked = power(&report);
    assert!(marked.caption.contains("Hollow marks: the test rings falsely too often"));
    assert!(marked.svg.matches("<circle").count() > clean.svg.matches("<circle").count());
}

#[test]
fn the_reef_from_above_says_what_each_sign_is() {
    let crowded = crowded_report();
    let figure = figures(&crowded).into_iter().find(|figure| figure.name.starts_with("reef-2")).unwrap();
    let animals = crowded.pictures[1].animals.iter().map(|kind| kind.places.len()).sum::<usize>();
    assert!(figure.caption.contains(&format!("{animals} on the site, 138 of them hidden by day (hollow)")));
    assert!(figure.caption.contains("Pale: the colonies under others"));
    for words in ["the same, hidden by day", "its centre under another", "coral belts, 10 x 0.5 m", "animal 5"] {
        assert!(figure.svg.contains(words), "{words}");
    }
    // The one that stands alone carries its caption.
    let alone = super::figures::reefs(&crowded.pictures, true);
    assert!(alone[1].svg.contains("larger than life") && !figure.svg.contains("larger than life"));
}

/// The synthetic report has three methods of hard coral in three zones.
#[test]
fn one_site_visit_shows_every_method_once() {
    let report = report();
    let tables = super::visit::visits(&report);
    assert_eq!(tables.len(), 3);
    for table in &tables {
        let units: Vec<&str> = table.rows.iter().map(|row| row.units.as_str()).collect();
        assert_eq!(units, ["6 point-intercept lines", "6 line-intercept lines", "6 photo belts"]);
        assert!(!table.has_ashore && table.total.starts_with("All of it takes "), "{}", table.total);
    }
    // Covers are in percent, and the total is the sum of the methods.
    assert_eq!(tables[0].rows[0].mean, "28 %");
    let rows = &super::visit::visit_rows(&report)[0].1;
    let minutes: f64 = rows.iter().map(|row| row.minutes).sum();
    assert_eq!(tables[0].total, format!("All of it takes {minutes:.0} minutes under water a site."));
    let page = html::html(&report).unwrap();
    assert!(page.contains("What one site visit gives") && page.contains("How to read what is measured"));
    assert!(page.contains("4 were there before, under others"));
    assert!(terminal(&report, None).contains("What one site visit gives: outer terrace (means and errors over 14"));
    // One method alone has nothing beside it.
    assert!(!terminal(&single_row_report(), None).contains("What one site visit gives"));
    let text = csv::site_visit(&report);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let mean = reader.headers().unwrap().iter().position(|column| column == "mean").unwrap();
    let means: Vec<f64> = reader.records().map(|record| record.unwrap()[mean].parse().unwrap()).collect();
    assert_eq!(means, [0.28, 0.28, 0.28, 0.19, 0.19, 0.19, 0.35, 0.35, 0.35]);
}

/// More changes than there are tables: each that was asked for has its own, on the screen and on the page.
#[test]
fn what_was_asked_for_never_vanishes() {
    let mut report = report();
    let rows = std::mem::take(&mut report.answer.rows);
    let of_zone = rows.iter().filter(|row| row.zone == "outer terrace" && row.method == "point_intercept");
    let of_zone: Vec<_> = of_zone.cloned().collect();
    let names: Vec<String> = (0..9).map(|number| format!("kind_{number}")).collect();
    for name in &names {
        report.answer.rows.extend(of_zone.iter().cloned().map(|mut row| {
            row.indicator.clone_from(name);
            row
        }));
    }
    let changes: Vec<_> = names.iter().map(|name| serde_json::json!({"indicator": name})).collect();
    report.scenario = serde_json::json!({"changes": changes});
    report.answer.needed.clear();
    let (screen, page) = (terminal(&report, None), html::html(&report).unwrap());
    for number in 0..9 {
        let title = format!("Kind {number}, point-intercept lines");
        assert!(screen.contains(&title) && page.contains(&title), "{title}: {screen}");
    }
}

#[test]
fn own_units_are_named_in_titles_and_are_not_cut_on_the_screen() {
    let mut report = report();
    report.answer.rows.retain(|row| row.zone == "outer terrace" && row.method == "point_intercept");
    for row in &mut report.answer.rows {
        (row.indicator, row.unit) = ("slate_urchin".into(), "per 100 m2".into());
        (row.change_from, row.change_to) = (Some(0.1574), Some(0.1261));
    }
    report.answer.needed.clear();
    let figures = figures(&report);
    let power = figures.iter().find(|figure| figure.name.starts_with("power")).unwrap();
    assert!(power.title.contains("a fall of slate urchin from 0.157 to 0.126 per 100 m2"), "{}", power.title);
    let screen = terminal(&report, None);
    assert!(screen.contains("0.16 to 0.13") && !screen.contains("to 0.~"), "{screen}");
}

#[test]
fn sizes_that_belts_see_wrongly_are_marked() {
    let mut report = report();
    let sizes = |report: &Report| figures(report).into_iter().find(|figure| figure.name == "sizes-of-colonies");
    let figure = sizes(&report).unwrap();
    assert!(
        figure.title.contains("but 2 of 12 shares that they write are off by more than their errors"),
        "{}",
        figure.title
    );
    assert!(figure.svg.contains("largest diameter, cm"));
    for class in report.sizes.iter_mut().flat_map(|zone| &mut zone.classes) {
        class.before.written = class.before.truth;
    }
    assert!(!sizes(&report).unwrap().title.contains("off by more"));
    let deaths = Some(ColonyDeaths { odds_at_twice_the_size: 0.5, patches: None });
    for zone in &mut report.sizes {
        zone.change = Some(Change {
            indicator: "hard_coral".into(),
            from: 0.28,
            to: 0.14,
            differs_between_sites_sd: None,
            deaths,
        });
        zone.classes.iter_mut().for_each(|class| class.after = Some(class.before));
    }
    let both = sizes(&report).unwrap();
    assert!(both.svg.len() > figure.svg.len() && both.alt.contains("sizes"));
    report.sizes.clear();
    assert!(sizes(&report).is_none());
}

/// Bias stands before any design, the method of the headline first, with nought where a group is never counted and a mark where
/// formula and simulation part.
#[test]
fn bias_of_fish_stands_early_and_names_where_it_is_from() {
    let mut report = fish_report(3, 3);
    let last = report.answer.fish_bias.last().unwrap().clone();
    report.answer.headline_of = Some(crate::planner::HeadlineOf {
        indicator: last.group.clone(),
        method: last.method.clone(),
        dimensions: last.dimensions,
    });
    for bias in report.answer.fish_bias.iter_mut().filter(|bias| bias.method == last.method) {
        if bias.group == last.group {
            (bias.density, bias.biomass) = (0.0, 0.0);
            (bias.density_simulated, bias.density_simulated_error) = (None, None);
            bias.parts.iter_mut().for_each(|part| (part.density, part.biomass) = (1.0, 1.0));
            bias.parts[3].density = 0.0;
            bias.parts[3].biomass = 0.0;
        } else {
            bias.theory_parts = true;
        }
    }
    let screen = terminal(&report, None);
    let place = |words: &str| screen.find(words).unwrap_or_else(|| panic!("{words}\n{screen}"));
    assert!(place("Fish point counts, radius 7.5 m, 5 min: written of 100") < place("Fish belts, 30 x 2 m"));
    assert!(place("by formula     simulated") < place("Hard coral, point-intercept"));
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("hidden x 0") && words.contains("With * formula and simulation part"), "{screen}");
    let page = html::html(&report).unwrap();
    assert!(page.find("<section id=\"fish-bias\">") < page.find("<section id=\"designs\">"));
    let figure = figures(&report).into_iter().next().unwrap();
    assert!(figure.name == "fish-bias" && figure.caption.contains("none is ever written"), "{}", figure.caption);
    let fish = csv::fish_bias(&report);
    assert!(fish.lines().any(|line| line.ends_with("all,0,0,,,,")), "{fish}");
}

/// Of fish the mean as it is written stands beside the one that is there; a circle has a radius and no length.
#[test]
fn what_is_written_of_fish_stands_beside_what_is_there() {
    let mut report = report();
    for row in &mut report.answer.rows {
        (row.indicator, row.unit) = ("parrotfish".into(), "per 100 m2".into());
        (row.mean, row.written, row.written_over_there) = (Some(8.0), Some(12.0), Some(1.5));
        (row.interval_written, row.interval_written_error) = (Some(0.95), Some(0.01));
        if row.method == "photo_belt" {
            row.method = "fish_point_count".into();
            row.dimensions = crate::survey::Dimensions::FishPointCount { radius_m: 7.5, count_minutes: 5.0 };
        }
    }
    let row = &super::visit::visits(&report)[0].rows[0];
    assert_eq!((row.mean.as_str(), row.written.as_str()), ("8 per 100 m2", "12"));
    let screen = terminal(&report, None);
    assert!(
        screen.contains("there  written error %") && screen.lines().all(|line| line.chars().count() <= 80),
        "{screen}"
    );
    let page = html::html(&report).unwrap();
    assert!(page.contains("as written") && page.contains("holds what"));
    let text = csv::site_visit(&report);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let heads = reader.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let circle =
        reader.records().map(Result::unwrap).find(|record| &record[at("method")] == "fish_point_count").unwrap();
    assert_eq!([&circle[at("length_m")], &circle[at("width_m")], &circle[at("radius_m")]], ["", "", "7.5"]);
    assert_eq!([&circle[at("mean")], &circle[at("written")]], ["8", "12"]);
}
