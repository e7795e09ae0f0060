use super::page::{figures, page, sections};
use super::report::BudgetReport;
use super::sheets::sheets;
use super::{files, synthetic};

/// Words that no output may have: nothing here can promise them.
const FORBIDDEN: [&str; 3] = ["safe", "compliant", "approved"];

fn all() -> [(&'static str, BudgetReport); 3] {
    [("usual", synthetic::usual()), ("crowded", synthetic::crowded()), ("hopeless", synthetic::hopeless())]
}

/// What people read: letters of the typeface, style and shapes taken out.
fn read(text: &str) -> String {
    let mut words = String::new();
    for (index, part) in text.split("<style>").enumerate() {
        words += if index == 0 { part } else { part.split_once("</style>").map_or("", |(_, rest)| rest) };
    }
    words.to_lowercase()
}

fn has_word(text: &str, word: &str) -> bool {
    text.split(|letter: char| !letter.is_alphanumeric()).any(|of| of == word)
}

#[test]
fn every_output_begins_with_the_caution_and_promises_nothing() {
    for (name, report) in all() {
        for (file, bytes) in files(&report).unwrap() {
            let Ok(text) = String::from_utf8(bytes) else { continue };
            let text = read(&text);
            for word in FORBIDDEN {
                assert!(!has_word(&text, word), "{name} {file}: {word}");
            }
            // The shortest form and the publications show no dive.
            if !file.starts_with("figures/") && !["proposal_500.txt", "proposal.bib"].contains(&file.as_str()) {
                let place = text.find("effort budget").unwrap_or(usize::MAX);
                assert!(place < 700, "{name} {file} {place}");
                assert!(text.find("not a dive plan").is_some(), "{name} {file}");
            }
        }
    }
}

#[test]
fn the_screen_says_first_what_matters_and_cuts_no_word() {
    for (name, report) in all() {
        let text = report.terminal(None);
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{name}\n{text}");
        assert!(!text.contains('~') && !text.contains('…'), "{name}\n{text}");
        assert!(report.answer.warnings.iter().all(|warning| one_line(&text).contains(warning.as_str())), "{text}");
    }
    let screen = synthetic::crowded().terminal(None);
    assert!(screen.lines().count() <= 66, "{screen}");
    let text = one_line(&synthetic::crowded().all_text());
    assert!(text.starts_with(&one_line(&screen)[..one_line(&screen).find("All parts").unwrap()]), "{text}");
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    let order = [
        "dive plan",
        "All targets are met in 59 days",
        "At each site",
        "What it achieves",
        "What it costs",
        "What one thing more",
    ];
    assert!(order.windows(2).all(|pair| place(pair[0]) < place(pair[1])), "{text}");
    assert!(text.contains("herbivore biomass on the windward side"), "{text}");
    // The best what-if first.
    assert!(place("3 sites a day: 2 days fewer") > place("What one thing more"));
    assert!(place("3 sites a day: 2 days fewer") < place("One site a day: out of reach"));
    assert!(place("One site a day: out of reach") < place("The musts alone take"));
    let hopeless = one_line(&synthetic::hopeless().all_text());
    assert!(
        hopeless.contains("they cannot all be met") && hopeless.contains("too few for the fewest sites"),
        "{hopeless}"
    );
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_needs_nothing_else_and_drops_no_warning() {
    for (name, report) in all() {
        let sections = sections(&report);
        let page = page(&report, &sections).unwrap();
        for outside in ["<script", "http://", "https://", "<link", "@import", "<img"] {
            assert!(!page.contains(outside), "{name}: {outside}");
        }
        assert!(page.contains("Tern Banks &lt;2031&gt; &amp; after"), "{name}");
        assert!(report.answer.warnings.iter().all(|warning| page.contains(warning)));
        for figure in figures(&sections) {
            assert!(!figure.alt.is_empty() && !figure.caption.is_empty());
        }
    }
    let usual = sections(&synthetic::usual());
    let names: Vec<&str> = figures(&usual).map(|figure| figure.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "achieved-against-target",
            "units-that-cost-a-dive",
            "units-that-cost-a-dive-2",
            "minutes-at-a-site",
            "days-and-what-they-buy",
            "what-lost-days-do",
            "what-moves-the-answer",
            "calendar"
        ]
    );
}

/// Parts that the search adds are shown where there is something to show, each once and with a sentence of what it says.
#[test]
fn sections_stand_once_and_say_what_they_say() {
    let mut report = synthetic::usual();
    let names = |report: &BudgetReport| sections(report).iter().map(|section| section.id).collect::<Vec<_>>();
    let before = names(&report);
    synthetic::with_search(&mut report);
    let after = names(&report);
    for id in ["why-not", "by-simulation", "margins", "measure-first", "own-site-sets", "people"] {
        assert!(!before.contains(&id) && after.contains(&id), "{id}: {after:?}");
    }
    assert_eq!(after[0], "why-not");
    let mut once = after.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), after.len(), "{after:?}");
    let all = sections(&report);
    for section in all.iter().filter(|section| !["scenario", "warnings"].contains(&section.id)) {
        assert!(!section.words.is_empty(), "{}", section.id);
    }
    for grid in all.iter().flat_map(|section| &section.grids) {
        assert!(grid.rows.iter().all(|row| row.len() == grid.columns.len()), "{}", grid.caption);
    }
    let text = one_line(&report.terminal(None));
    assert!(text.contains("Why the musts cannot be met: for the same reason."), "{text}");
    assert!(text.contains("The nearest plan gives up richness: 7 days, 15 team dives; sites: crest 3, "), "{text}");
    assert!(text.contains("; at each: 2 point-intercept lines, "), "{text}");
}

#[test]
fn warnings_of_diving_stand_first_under_their_head() {
    let mut report = synthetic::usual();
    report.answer.warnings.push("Days lost to weather are not told.".into());
    let text = one_line(&report.terminal(None));
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    let order = ["Mind, of diving: ! The published limit", "Mind, of the plan: ! Days lost to weather are not told."];
    assert!(place(order[0]) < place(order[1]));
}

/// A word beside a simulated number goes by that number, and says where its error leaves it open.
#[test]
fn words_of_a_target_go_by_the_number_beside_them() {
    use super::target_words::verdict;
    let report = synthetic::usual();
    let asked = report.scenario.test.seen;
    let mut margin = report.answer.scheduled().unwrap().margins.iter().find(|of| of.seen.is_some()).unwrap().clone();
    for (by_formula, seen, word) in [
        (0.97, asked + 0.05, "met"),
        (1.30, asked + 0.03, "within error"),
        (0.97, asked - 0.03, "within error"),
        (1.10, asked - 0.06, "nearly"),
        (1.10, 0.5 * asked, "not met"),
    ] {
        (margin.margin, margin.seen) = (by_formula, Some((seen, 0.02)));
        assert_eq!(verdict(&margin), word, "{by_formula} {seen}");
    }
    margin.seen = None;
    for (by_formula, word) in [(1.06, "met"), (1.01, "just met"), (0.95, "nearly"), (0.5, "not met")] {
        margin.margin = by_formula;
        assert_eq!(verdict(&margin), word);
    }
    // A target with a power of its own goes by that.
    (margin.seen, margin.power_asked) = (Some((asked + 0.05, 0.02)), Some(asked + 0.15));
    assert_eq!(verdict(&margin), "not met");
    assert_eq!(super::target_words::own_power(&report.scenario.test, &margin).as_deref(), Some("95"));
    assert!(super::asked(&report, &margin).ends_with(", 95 in 100"));
    let text = one_line(&report.terminal(None));
    assert!(!text.contains("within error") || text.contains("within error: what is asked lies within two"), "{text}");
}

/// Whose chance and whose best use: days to book of a plan that is not scheduled say so, and the plan is told from the best
/// use of its days.
#[test]
fn the_screen_tells_the_plan_from_others() {
    let mut report = synthetic::usual();
    let scheduled = report.answer.scheduled().unwrap().days;
    let other = report.answer.book.iter().any(|book| book.needs != scheduled);
    let text = one_line(&report.terminal(None));
    assert!(other && text.contains("another plan, the cheapest for the musts ("), "{text}");
    // A better use of as many days.
    let days = report.answer.frontier.iter_mut().find(|day| day.days == scheduled && day.plan.is_some()).unwrap();
    days.plan.as_mut().unwrap().margins.iter_mut().for_each(|margin| margin.margin += 0.2);
    let text = one_line(&report.all_text());
    assert!(text.contains("the best use of as many would bring the weakest to"), "{text}");
    assert!(text.contains("here stands the most that so many days can give"), "{text}");
    // A bottom time over the published limit stands beside the headline.
    report.expedition.zones[1].bottom_minutes = 900.0;
    report.expedition.zones[1].depth_m = 20.0;
    let text = one_line(&report.terminal(None));
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    assert!(place("The planned bottom time of 900 min") < place("At each site"), "{text}");
}

/// What touches diving stands before the first dive, statistics after the last form.
#[test]
fn sheets_begin_with_what_touches_diving() {
    let mut report = synthetic::usual();
    report.answer.warnings.push("The test rests on few sites.".into());
    let page = sheets(&report).unwrap();
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    assert!(place("The published limit was applied") < place("Dive 1: "));
    assert!(place("The test rests on few sites.") > page.rfind("Minutes used for this unit").unwrap());
    let text = report.schedule_text();
    assert!(text.find("The test rests on few sites.") > text.rfind("Day "), "{text}");
}

/// Where one reads all of a method in a zone nobody takes turns there.
#[test]
fn who_takes_turns_is_said_as_it_is() {
    use crate::planner::expedition::{Crossing, ReaderUnits};
    let reader = |diver: &str, units: [usize; 2]| ReaderUnits { diver: diver.into(), units: units.to_vec() };
    let mut crossing = vec![Crossing {
        method: "coral_belt".into(),
        zones: vec!["crest".into(), "slope".into()],
        divers: vec![reader("Ana", [4, 3]), reader("Eli", [2, 3])],
        apart: 0.1,
    }];
    let words = super::sites_text::who_takes_turns;
    assert_eq!(words(&crossing), "Readers take turns from site to site.");
    crossing[0].divers = vec![reader("Ana", [4, 6]), reader("Eli", [2, 0])];
    assert!(
        words(&crossing).ends_with("by one alone is read: Ana all of coral belts in slope."),
        "{}",
        words(&crossing)
    );
}

/// Each sheet by itself carries what somebody must read who sees only that sheet.
#[test]
fn every_sheet_has_its_caution_its_line_to_sign_and_the_right_to_refuse() {
    let report = synthetic::usual();
    let page = sheets(&report).unwrap();
    let all: Vec<&str> = page.split("<section class=\"sheet\">").skip(1).collect();
    let days = report.answer.scheduled().unwrap().days;
    assert_eq!(all.len(), days + report.answer.scheduled().unwrap().site_set.len());
    for sheet in &all {
        for words in [
            "It is not a dive plan",
            "Work proposed, not released for diving until signed",
            "Any diver may refuse or end any dive; unfinished work is written down",
        ] {
            assert!(sheet.contains(words), "{words}\n{sheet}");
        }
    }
    let line = all.iter().find(|sheet| sheet.contains("Point-intercept line")).unwrap();
    // A box for each of 100 points of a line of 10 m.
    assert_eq!(line.matches("<div>0.1</div>").count() + line.matches("<div>10.0</div>").count(), 2);
    assert!(line.contains("<b>HC</b> hard coral"), "{line}");
    let belt = all.iter().find(|sheet| sheet.contains("Coral belt")).unwrap();
    assert!(belt.contains("if its centre lies inside") && belt.contains("across it, cm"), "{belt}");
    assert!(all.iter().any(|sheet| sheet.contains("slate urchin")));
    for sheet in &all[days..] {
        for head in ["Time in", "Visibility", "Bearing", "Tide", "Minutes used for this unit", "Interrupted"] {
            assert!(sheet.contains(head), "{head}");
        }
    }
}

#[test]
fn json_has_the_names_that_others_read() {
    let report = synthetic::usual();
    let json: serde_json::Value = serde_json::from_str(&report.json()).unwrap();
    for key in ["caution", "answer", "margins", "schedule", "what_ifs", "near_ties", "lost_days", "warnings"] {
        assert!(!json[key].is_null(), "{key}");
    }
    let keys: Vec<&String> = json.as_object().unwrap().keys().collect();
    assert_eq!(keys[0], "caution");
    let mut names = keys.clone();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), keys.len(), "{keys:?}");
    let plan = report.answer.scheduled().unwrap();
    assert_eq!(json["answer"]["days"], plan.days);
    assert_eq!(json["answer"]["plan"], "all_targets");
    assert_eq!(json["answer"]["sites"][0]["zone"], "crest");
    assert_eq!(json["answer"]["site_set"][0]["units"], 6);
    let margins = json["margins"].as_array().unwrap();
    assert_eq!(margins.len(), plan.margins.len());
    for margin in margins {
        let ratio = margin["target"].as_f64().unwrap() / margin["achieved"].as_f64().unwrap();
        assert!((ratio / margin["margin"].as_f64().unwrap() - 1.0).abs() < 1e-9);
        let simulated = ["power", "half_width", "cv"].iter().filter(|key| !margin[**key].is_null());
        for key in simulated {
            assert!(!margin[format!("{key}_error")].is_null(), "{margin}");
        }
    }
    for key in ["day", "team_dive", "zone", "site", "pair", "diver", "task", "units", "minutes_asked"] {
        assert!(!json["schedule"][0][key].is_null(), "{key}");
    }
    assert!(json["schedule"].as_array().unwrap().iter().any(|row| row["task"] == "buddy" && row["units"] == 0));
    let left: f64 =
        json["lost_days"]["left"].as_array().unwrap().iter().map(|row| row["chance"].as_f64().unwrap()).sum();
    assert!((left - 1.0).abs() < 1e-9);
    let hopeless: serde_json::Value = serde_json::from_str(&synthetic::hopeless().json()).unwrap();
    assert!(hopeless["answer"].is_null() && hopeless["margins"].as_array().unwrap().is_empty());
}

#[test]
#[ignore = "writes files to look at: cargo test --lib report::budget -- --ignored"]
fn writes_the_invented_budgets() {
    for (name, report) in all() {
        let folder = std::env::temp_dir().join("reefwright-look/budget").join(name);
        std::fs::create_dir_all(folder.join("figures")).unwrap();
        for (file, bytes) in files(&report).unwrap() {
            std::fs::write(folder.join(file), bytes).unwrap();
        }
    }
}

/// A row for each colony that is expected, on as many sheets as that takes.
#[test]
fn sheets_of_coral_belts_have_rows_for_the_colonies_expected() {
    use crate::planner::ColoniesOnBelt;
    let sheet = |mean: f64, high: usize| {
        let mut report = synthetic::usual();
        let plan = report.answer.all.iter_mut().chain(&mut report.answer.best);
        for task in plan.flat_map(|plan| &mut plan.site_set).filter(|task| task.method == "coral_belt") {
            task.colonies = Some(ColoniesOnBelt { zone: "slope".into(), mean, high });
        }
        let page = sheets(&report).unwrap();
        page.split("<section class=\"sheet\">").find(|of| of.contains("largest diameter, cm")).unwrap().to_owned()
    };
    let rows = |sheet: &str| sheet.matches("<tr><td>").count();
    let few = sheet(2.0, 5);
    let usual = sheet(12.0, 27);
    let many = sheet(60.0, 95);
    assert_eq!((rows(&usual) - rows(&few), rows(&many) - rows(&usual)), (27 - 8, 40 - 27));
    let told =
        "12 on a belt in the mean where there are most (slope), more than 27 on 1 belt of 20, by formula: these go on";
    assert!(usual.contains(told) && !usual.contains("sheets each"), "{usual}");
    let told = "take 2 of these sheets for a belt, numbered 1 of 2 and so on, and have 1 more at hand";
    assert!(many.contains(told) && many.contains(", 2 sheets each: "), "{many}");
}

/// What a diving officer signs: how deep and how long, before the names, in every form of the days.
#[test]
fn every_dive_says_how_deep_and_how_long() {
    let report = synthetic::usual();
    let first = &report.answer.schedule[0];
    let dive = format!("{}: to 5 m, 60 min on the bottom asked for", first.place());
    let page = sheets(&report).unwrap();
    let pages = [page.clone(), report.schedule_text(), super::page::page(&report, &sections(&report)).unwrap()];
    for text in &pages {
        assert!(one_line(text).contains(&dive), "{dive}\n{text}");
    }
    let blocks = page.matches("<h3>Dive ").count();
    assert!(blocks > 0);
    assert_eq!(page.matches("min on the bottom asked for</h3>").count(), blocks);
    let csv = report.schedule_csv();
    let rows: Vec<&str> = csv.lines().filter(|line| !line.starts_with('#')).collect();
    assert!(rows[0].starts_with("day,boat,team_dive,depth_m,bottom_minutes,zone,site,"), "{}", rows[0]);
    assert!(rows[1].starts_with("1,1,1,5.0,60.0,crest,1,"), "{}", rows[1]);
    let json: serde_json::Value = serde_json::from_str(&report.json()).unwrap();
    for (row, of) in json["schedule"].as_array().unwrap().iter().zip(&report.answer.schedule) {
        assert_eq!(
            (row["depth_m"].as_f64(), row["bottom_minutes"].as_f64()),
            (Some(of.depth_m), Some(of.bottom_minutes))
        );
    }
}

/// Whoever holds the sheet of one day alone reads on it that later dives have less time, and which bottom time is over the
/// published limit: on every later day with such dives, and on no other.
#[test]
fn the_sheet_of_each_day_has_its_own_cautions() {
    let mut report = synthetic::usual();
    let deep = report.scenario.zones[1].name.clone();
    (report.expedition.zones[1].depth_m, report.expedition.zones[1].bottom_minutes) = (20.0, 55.0);
    // One dive on the third day.
    report.answer.schedule.retain(|row| row.day != 3 || row.team_dive == 1);
    let page = sheets(&report).unwrap();
    let flag = format!("{deep}: 55 min at 20 m is longer than the 48 min printed for a first air dive at 70 feet");
    let mut seen = [0, 0];
    for sheet in page.split("<section class=\"sheet\">").skip(2).filter(|sheet| sheet.contains("on the boat")) {
        let has = [sheet.contains("More than one dive on this day"), sheet.contains(&flag)];
        let dives = [sheet.contains("<h3>Dive 2: "), sheet.contains(&format!(": {deep} "))];
        assert_eq!(has, dives, "{sheet}");
        has.iter().zip(&mut seen).for_each(|(has, seen)| *seen += usize::from(*has));
    }
    let days = report.answer.scheduled().unwrap().days;
    assert!(seen[0] == days - 2 && seen[1] > 0, "{seen:?}");
}

/// Days before the first survey dive have a sheet of their own, with whoever reads what; where there are none, or they are over,
/// there is none.
#[test]
fn the_days_before_the_first_dive_have_a_sheet() {
    let mut report = synthetic::usual();
    report.expedition.days.check_out = 0;
    assert!(!sheets(&report).unwrap().contains("Before the first survey dive"));
    report.expedition.days.check_out = 2;
    let page = sheets(&report).unwrap();
    let (sheet, _) =
        page[page.find("Before the first survey dive: 2 days").unwrap()..].split_once("</section>").unwrap();
    for diver in &report.expedition.divers {
        assert!(sheet.contains(&format!("<tr><td>{}</td>", diver.name)), "{sheet}");
    }
    let methods = report.answer.scheduled().unwrap().site_set.len();
    assert_eq!(sheet.matches("units read, mean difference").count(), methods);
    assert!(
        page.matches("It is not a dive plan").count() > 1 && page.find("Before the first") < page.find(": Day 1,"),
        "{page}"
    );
    report.answer.visit_under_way = Some(1);
    assert!(!sheets(&report).unwrap().contains("Before the first survey dive"));
}

/// Days beyond those there are, and what stands beside the best use of the days, are told as such in text and on the page.
#[test]
fn what_more_days_would_buy_is_told_as_more_than_there_is() {
    let mut report = synthetic::usual();
    let last = report.answer.frontier.len();
    let of_days = |report: &BudgetReport| {
        let page = page(report, &sections(report)).unwrap();
        [one_line(&report.all_text()), page]
    };
    for text in of_days(&report) {
        assert!(!text.contains("what more would buy") && !text.contains("Hardly less from the same days"), "{text}");
    }
    report.answer.bookable_days = last - 2;
    report.answer.all.as_mut().unwrap().days = last;
    report.answer.near_best = report.answer.near_ties.clone();
    for text in of_days(&report) {
        let beyond =
            format!("There are {} days for diving; what more would buy is told up to the {last} from which", last - 2);
        assert!(text.contains(&beyond), "{text}");
        assert!(
            text.contains("for 2 days more than there are") && text.contains("Hardly less from the same days"),
            "{text}"
        );
    }
}

/// A what-if that takes more days than there are says so, on the screen and beside the table; else nothing is said.
#[test]
fn what_takes_more_days_than_there_are_is_told() {
    let mut report = synthetic::usual();
    let there = report.answer.bookable_days;
    for what in &mut report.answer.what_ifs {
        let within = |takes: Option<(usize, usize)>| takes.map(|(days, dives)| (days.min(there), dives));
        // What is out of reach would stand before what takes many days.
        (what.all, what.musts) = (within(what.all).or(Some((there, 1))), within(what.musts));
    }
    let texts = |report: &BudgetReport| (one_line(&report.terminal(None)), one_line(&report.all_text()));
    let (screen, text) = texts(&report);
    assert!(!screen.contains("in all, where there are") && !text.contains("would need a longer expedition"), "{text}");
    let fewer = report.answer.what_ifs.iter_mut().find(|what| what.what == "one pair fewer").unwrap();
    fewer.all = Some((there + 30, 99));
    let (screen, text) = texts(&report);
    assert!(screen.contains(&format!("({} in all, where there are {there})", there + 30)), "{screen}");
    assert!(text.contains(&format!("There are {there} days for diving: what takes more")), "{text}");
}

/// Where nobody says that the diving officer has decided, the plan stands and the days do not.
#[test]
fn a_plan_that_is_not_scheduled_says_why_everywhere() {
    let mut report = synthetic::usual();
    report.answer.schedule.clear();
    report.answer.starts.clear();
    let why = crate::budget::diving::undecided(&report.scenario, &report.expedition);
    assert_eq!(why, None, "nothing is over the limit");
    report.expedition.zones[1].bottom_minutes = 900.0;
    let why = crate::budget::diving::undecided(&report.scenario, &report.expedition).unwrap();
    report.answer.not_scheduled = Some(why.clone());
    report.answer.warnings.insert(0, why.clone());
    let page = sheets(&report).unwrap();
    assert!(page.contains(&why) && page.contains("There are no sheets.") && !page.contains("on the boat"), "{page}");
    for text in [report.terminal(None), report.schedule_text(), report.schedule_csv()] {
        assert!(one_line(&text.replace('#', "")).contains(&why), "{text}");
    }
    // Beside the headline, and not among the warnings alone.
    let screen = one_line(&report.terminal(None));
    assert!(screen.find(&why) < screen.find("At each site"), "{screen}");
    // What was decided is not this dive.
    report.expedition.zones[1].officer_decided = Some((899.0, 100.0));
    assert!(crate::budget::diving::undecided(&report.scenario, &report.expedition).is_some());
    report.expedition.zones[1].officer_decided = Some((900.0, 100.0));
    assert_eq!(crate::budget::diving::undecided(&report.scenario, &report.expedition), None);
    let flags = report.summary().over_limit;
    assert!(flags[0].ends_with("The scenario says that the diving officer has decided on it."), "{flags:?}");
}

/// A figure that is taken out of its page still says what it is.
#[test]
fn figures_of_dives_say_that_they_are_no_dive_plan() {
    for report in [synthetic::usual(), synthetic::crowded()] {
        let sections = sections(&report);
        let of_dives = |name: &str| name == "calendar" || name.starts_with("minutes-at-a-site");
        let drawn: Vec<_> = figures(&sections).filter(|figure| of_dives(&figure.name)).collect();
        assert!(drawn.len() > 1);
        for figure in drawn {
            let svg = roxmltree::Document::parse(&figure.svg).unwrap();
            let texts: String = svg.descendants().filter_map(|node| node.text()).collect();
            assert!(
                one_line(&texts).contains("Effort budget, no dive plan; the diving officer decides."),
                "{}",
                figure.name
            );
        }
    }
}

/// Several expeditions are told with what they take in all, on text and page, and are no price of the plan.
#[test]
fn several_expeditions_are_told_in_all() {
    let report = synthetic::usual();
    let (days, dives) = report.answer.what_ifs[0].all.unwrap();
    let row = report.answer.what_ifs.iter().find(|what| what.expeditions.is_some()).unwrap();
    let (each, of_each) = row.all.unwrap();
    let words = row.in_all(&report.answer.what_ifs[0]).unwrap();
    let all =
        format!("each; {} days and {} team dives in all, where one takes {days} and {dives}", 2 * each, 2 * of_each);
    assert_eq!(words, all);
    let mut hopeless = report.answer.what_ifs[0].clone();
    (hopeless.all, hopeless.musts) = (None, None);
    assert!(row.in_all(&hopeless).unwrap().ends_with(" in all, where one is not enough"));
    let page = super::page::page(&report, &sections(&report)).unwrap();
    for text in [one_line(&report.all_text()), one_line(&page)] {
        assert!(text.contains(&format!("({words})")) && text.contains(&report.answer.about_occasions), "{text}");
    }
    assert!(report.moves().iter().all(|of| !of.what.contains("expeditions")));
}

/// A word that needs one has its legend.
#[test]
fn nearly_is_explained_where_it_is_said() {
    let mut report = synthetic::usual();
    assert!(!report.how_told().contains("nearly:"), "{}", report.how_told());
    let asked = report.scenario.test.seen;
    let plan = report.answer.all.as_mut().unwrap();
    plan.margins[0].seen = Some((0.95 * asked, 0.002));
    assert!(report.how_told().contains("nearly: missed by no more than a tenth"), "{}", report.how_told());
}
