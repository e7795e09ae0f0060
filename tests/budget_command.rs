//! `budget` from outside, on an invented expedition small enough to be searched in a moment.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

const EXPEDITION: &str = r#"title = "Quill Bank"
statement_about = "all_such_reefs"
[[zone]]
name = "rim"
sites = 6
cover_percent = 30
[zone.dive]
depth_m = 8
bottom_minutes = 55
most_sites = 14
[[zone]]
name = "wall"
sites = 6
cover_percent = 20
[zone.dive]
depth_m = 20
bottom_minutes = 44
most_sites = 12
[[method.other]]
indicator = "rugosity"
unit = "cm"
mean = 140
between_sites = 20
site_year = 5
between_units = 18
units = "1..8"
lay_minutes = 2
read_minutes = 9
[method.other.work]
move_minutes = 1
[[method.other]]
indicator = "grazers"
unit = "kg/ha"
mean = 200
scale = "ln"
between_sites = 0.4
site_year = 0.15
between_units = 0.5
units = "1..6"
lay_minutes = 0
read_minutes = 8
[method.other.work]
skill = "fish"
first = true
others_wait_minutes = 5
[[change]]
indicator = "rugosity"
from = 140
to = 128
[[change]]
indicator = "grazers"
from = 200
to = 130
[expedition]
days = 12
transit_days = 2
lost_days_percent = 20
dives_a_day = 3
sites_a_day = 2
standby = "as_the_diving_officer_decides"
[[diver]]
name = "Ines"
skills = ["fish"]
depth_m = 30
[[diver]]
name = "Odo"
depth_m = 30
[[diver]]
name = "Pia"
skills = ["fish"]
depth_m = 30
[[diver]]
name = "Ruan"
depth_m = 20
[[target]]
indicator = "rugosity"
see = true
priority = "must"
[[target]]
indicator = "grazers"
see = true
"#;

const LINES: &str = r#"[[method.point_intercept]]
length_m = [10, 20]
spacing_m = [0.2, 1]
units = "1..6"
lay_minutes = 2
read_minutes = 7
"#;

fn run(folder: &TempDir, text: &str, arguments: &[&str]) -> assert_cmd::assert::Assert {
    fs::write(folder.path().join("bank.toml"), text).unwrap();
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command
        .current_dir(folder.path())
        .args(["budget", "bank.toml", "--quiet"])
        .args(if arguments.contains(&"--trials") { &[][..] } else { &["--trials", "400"][..] })
        .args(arguments)
        .assert()
}

fn answer(text: &str, arguments: &[&str]) -> Value {
    let folder = TempDir::new().unwrap();
    let out = run(&folder, text, &[&["--json"], arguments].concat()).success().get_output().stdout.clone();
    serde_json::from_slice(&out).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn a_plan_is_found_confirmed_and_scheduled_whole() {
    let answer = answer(EXPEDITION, &[]);
    assert!(answer["caution"].as_str().unwrap().contains("not a dive plan"));
    let plan = &answer["all"];
    assert!(number(&plan["days"]) <= number(&answer["bookable_days"]), "{plan}");
    for margin in plan["margins"].as_array().unwrap() {
        assert!(number(&margin["margin"]) >= 1.0 - 1e-9);
        // Formula and simulation of 400 trials, four errors and what a formula may be off.
        let [seen, error] = [0, 1].map(|i| number(&margin["seen"][i]));
        let formula = number(&margin["seen_by_sites"][0]);
        assert!((seen - formula).abs() < 4.0 * error + 0.03, "{margin}");
        assert!(number(&margin["false_alarm"][0]) < 0.1);
    }
    // The schedule holds exactly the units of the plan, at every site once, and no dive has a lone diver.
    let rows = answer["schedule"].as_array().unwrap();
    let sites: f64 = plan["zones"].as_array().unwrap().iter().map(|zone| number(&zone["sites"])).sum();
    for task in plan["site_set"].as_array().unwrap() {
        let of_task = rows.iter().filter(|row| row["task"] == task["method"]);
        let done: f64 = of_task.map(|row| number(&row["units"])).sum();
        assert_eq!(done, number(&task["units"]) * sites, "{task}");
    }
    let mut dives: std::collections::BTreeMap<String, Vec<&str>> = Default::default();
    for row in rows {
        let key = ["day", "boat", "team_dive", "pair"].map(|key| row[key].to_string()).join(" ");
        let divers = dives.entry(key).or_default();
        let diver = row["diver"].as_str().unwrap();
        if !divers.contains(&diver) {
            divers.push(diver);
        }
    }
    assert!(dives.values().all(|divers| divers.len() == 2), "{dives:?}");
    assert_eq!(dives.len() as f64, number(&plan["pair_dives"]));
    let last = rows.iter().map(|row| number(&row["day"])).fold(0.0, f64::max);
    assert_eq!(last, number(&plan["days"]));
}

#[test]
fn more_days_never_buy_less_and_lost_days_have_their_chance() {
    let answer = answer(EXPEDITION, &[]);
    let weakest = |plan: &Value, must: bool| {
        let margins = plan["margins"].as_array().unwrap().iter().filter(|margin| !must || margin["must"] == true);
        margins.map(|margin| number(&margin["margin"])).fold(f64::INFINITY, f64::min)
    };
    let frontier = answer["frontier"].as_array().unwrap();
    let plans: Vec<&Value> = frontier.iter().map(|day| &day["plan"]).filter(|plan| !plan.is_null()).collect();
    assert!(plans.len() > 2);
    for pair in plans.windows(2) {
        // What counts first never falls; beyond 1 it does not count.
        let [before, after] = [pair[0], pair[1]].map(|plan| (1000.0 * weakest(plan, true).min(1.0)).floor());
        assert!(after >= before, "{pair:?}");
    }
    let book = &answer["book"][0];
    assert!(number(&book["to_book"]) > number(&book["needs"]));
    let chances: Vec<f64> = frontier.iter().map(|day| number(&day["chance"])).collect();
    assert!(chances.windows(2).all(|pair| pair[1] <= pair[0]));
}

/// Every unit of the plan has a start inside its site, and spares; the seed alone moves them.
#[test]
fn units_have_random_starts_and_spares() {
    let lines =
        "[[method.point_intercept]]\nunits = \"1..4\"\n[method.point_intercept.work]\nmove_minutes = 1\n[expedition]";
    let target = "[[target]]\nindicator = \"hard_coral\"\ncv_percent = 30\n";
    let text = EXPEDITION.replace("[expedition]", lines) + target;
    let first = answer(&text, &["--seed", "5"]);
    let starts = first["starts"].as_array().unwrap();
    let plan = &first["all"];
    let sites: f64 = plan["zones"].as_array().unwrap().iter().map(|zone| number(&zone["sites"])).sum();
    let lines = plan["site_set"].as_array().unwrap().iter().find(|task| task["method"] == "point_intercept").unwrap();
    let spare = |start: &&Value| start["is_spare"] == true;
    assert_eq!(starts.iter().filter(spare).count() as f64, 2.0 * sites);
    assert_eq!(starts.len() as f64, sites * (number(&lines["units"]) + 2.0));
    // Lines of 10 m along a site of 100 x 20 m.
    assert!(starts.iter().all(|start| (0.0..=90.0).contains(&number(&start["along_m"]))));
    assert!(starts.iter().all(|start| (0.0..=20.0).contains(&number(&start["across_m"]))));
    assert_eq!(answer(&text, &["--seed", "5"])["starts"], first["starts"]);
    assert_ne!(answer(&text, &["--seed", "6"])["starts"], first["starts"]);
}

/// An error in percent does not depend on the unit in which something on a ln scale is told.
#[test]
fn errors_on_a_ln_scale_know_no_unit() {
    let of = |unit: f64| {
        let text = EXPEDITION.replace("mean = 200", &format!("mean = {}", 200.0 * unit));
        let text = text.replace("from = 200\nto = 130", &format!("from = {}\nto = {}", 200.0 * unit, 130.0 * unit));
        let text = text.replace("indicator = \"grazers\"\nsee = true", "indicator = \"grazers\"\ncv_percent = 25");
        let answer = answer(&text, &[]);
        let margin = answer["all"]["margins"][1].clone();
        (number(&margin["margin"]), number(&margin["cv"]))
    };
    let (kilograms, grams) = (of(1.0), of(1000.0));
    assert!((kilograms.0 / grams.0 - 1.0).abs() < 1e-9, "{kilograms:?} {grams:?}");
    assert!((kilograms.1 / grams.1 - 1.0).abs() < 1e-6, "{kilograms:?} {grams:?}");
    // What was asked over what is simulated is the margin, but for the simulation's error.
    assert!((0.25 / kilograms.1 / kilograms.0 - 1.0).abs() < 0.15, "{kilograms:?}");
}

/// Offers that no text may make: more dives, more time, more depth, less rest, less margin.
const FOR_SALE: [&str; 31] = [
    "4 dives a day",
    "more dives a day",
    "dive a day more",
    "dives a day more",
    "another dive a day",
    "raise dives_a_day",
    "more minutes on the bottom",
    "minutes more on the bottom",
    "minutes longer",
    "longer on the bottom",
    "longer bottom",
    "longer dives",
    "dive longer",
    "raise bottom_minutes",
    "raise work_minutes",
    "deeper sites would",
    "dive deeper",
    "go deeper",
    "metres more",
    "metres deeper",
    "shorter interval",
    "shorter surface",
    "less interval",
    "minutes less at the surface",
    "lower surface_interval",
    "lower spare_minutes",
    "fewer minutes to spare",
    "lower finish_chance",
    "lower reserve_bar",
    "less reserve",
    "lower around_a_dive",
];

/// Whatever comes of an expedition, no text of any form offers such a thing: plans that fit, that do not, work that fits into no
/// dive, nobody left to dive, bottom times over the limit, what is not right.
#[test]
fn no_text_offers_what_is_not_for_sale() {
    let folder = TempDir::new().unwrap();
    let without = |text: &str, names: &[&str]| {
        let is_kept = |part: &&str| !names.iter().any(|name| part.contains(&format!("name = \"{name}\"")));
        let (before, after) = text.split_at(text.find("[[diver]]").unwrap());
        let (divers, targets) = after.split_at(after.find("[[target]]").unwrap());
        let kept: String =
            divers.split("[[diver]]").skip(1).filter(is_kept).map(|of| format!("[[diver]]{of}")).collect();
        format!("{before}{kept}{targets}")
    };
    let few = EXPEDITION.replace("days = 12", "days = 4");
    let hopeless = EXPEDITION.replace("to = 128", "to = 139.5");
    let long_work = EXPEDITION.replace("read_minutes = 9", "read_minutes = 60");
    let stays_up = EXPEDITION.replace("as_the_diving_officer_decides", "a_pair_stays_up");
    let all = [
        ("as it is", EXPEDITION.to_owned()),
        ("few days", few),
        ("out of reach", hopeless),
        ("fits into no dive", long_work.clone()),
        ("a pair stays up", stays_up.clone()),
        ("nobody left", without(&stays_up, &["Pia", "Ruan"])),
        ("over the limit", EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 60")),
        ("no minutes of work", EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 8")),
        ("too deep for a pair", EXPEDITION.replace("depth_m = 20\nbottom", "depth_m = 40\nbottom")),
        ("no day", EXPEDITION.replace("days = 12", "days = 2")),
    ];
    let mut texts = 0;
    let by_the_clock = EXPEDITION.replace(
        "sites_a_day = 2\n",
        "day_minutes = 480\nout_and_home_minutes = 90\nbetween_sites_minutes = 20\nsurface_interval_minutes = 75\n\
         around_a_dive_minutes = 20\n",
    );
    let all = all.into_iter().map(|(name, text)| (name, text, Vec::new())).chain([
        ("by the clock", by_the_clock, Vec::new()),
        ("two days done", EXPEDITION.to_owned(), vec!["--done", "done.csv"]),
        ("two days done, one left", EXPEDITION.to_owned(), vec!["--done", "done.csv", "--days-left", "1"]),
        ("over", EXPEDITION.to_owned(), vec!["--done", "done.csv", "--finished"]),
    ]);
    for (name, text, done) in all {
        assert!(name == "as it is" || !done.is_empty() || text != EXPEDITION, "{name}");
        if !done.is_empty() {
            run(&folder, &text, &["--trials", "40", "--out", "sheets"]).success();
            let sheet = fs::read_to_string(folder.path().join("sheets/field.csv")).unwrap();
            fs::write(folder.path().join("done.csv"), done_on_two_days(&sheet)).unwrap();
        }
        let _ = fs::remove_dir_all(folder.path().join("plan"));
        let out = run(&folder, &text, &[&["--trials", "40", "--out", "plan"], &done[..]].concat());
        let out = out.get_output();
        assert!(done.is_empty() || out.status.success(), "{name}: {}", String::from_utf8_lossy(&out.stderr));
        let mut told = vec![
            ("screen".to_owned(), String::from_utf8(out.stdout.clone()).unwrap()),
            ("messages".to_owned(), String::from_utf8(out.stderr.clone()).unwrap()),
        ];
        let mut command = Command::cargo_bin("reefwright").unwrap();
        let checked = command.current_dir(folder.path()).args(["check", "bank.toml"]).assert();
        told.push(("check".into(), String::from_utf8(checked.get_output().stdout.clone()).unwrap()));
        if out.status.success() {
            for file in fs::read_dir(folder.path().join("plan")).unwrap() {
                let path = file.unwrap().path();
                // The letters of the typeface are not words.
                let text = path.is_file().then(|| fs::read_to_string(&path).unwrap());
                told.extend(text.map(|text| (path.display().to_string(), text)));
            }
        }
        for (form, text) in told {
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
            // Style and scenario are not what this program says.
            let text = text.split("<style>").map(|part| part.split("</style>").last().unwrap()).collect::<String>();
            texts += usize::from(!text.is_empty());
            for sold in FOR_SALE {
                assert!(!text.contains(sold), "{name}, {form}: {sold}");
            }
        }
    }
    let mut command = Command::cargo_bin("reefwright").unwrap();
    let help = command.args(["budget", "--help"]).assert().success();
    let help = String::from_utf8(help.get_output().stdout.clone()).unwrap().to_lowercase();
    assert!(FOR_SALE.iter().all(|sold| !help.contains(sold)), "{help}");
    assert!(texts > 90, "{texts}");
}

/// A field sheet on whose first two days everything took twelve minutes.
fn done_on_two_days(sheet: &str) -> String {
    let head: Vec<&str> = sheet.lines().find(|line| !line.starts_with('#')).unwrap().split(',').collect();
    let place = |name: &str| head.iter().position(|of| *of == name).unwrap();
    let filled = sheet.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if !line.starts_with('#') && cells[place("day")].parse::<usize>().is_ok_and(|day| day <= 2) {
            cells[place("minutes_used")] = "12";
        }
        cells.join(",") + "\n"
    });
    filled.collect()
}

/// Table, page, text, sheets and JSON hold one schedule: the same rows in the same order, each dive with who does what.
#[test]
fn the_schedule_is_one_in_all_forms() {
    let folder = TempDir::new().unwrap();
    run(&folder, EXPEDITION, &["--trials", "40", "--out", "plan"]).success();
    let read = |name: &str| fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
    let told: Value = serde_json::from_str(&read("budget.json")).unwrap();
    let rows = told["schedule"].as_array().unwrap();
    assert!(rows.len() > 20);

    let table = read("schedule.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let names = reader.headers().unwrap().clone();
    let of_table: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(of_table.len(), rows.len());
    for (cells, row) in of_table.iter().zip(rows) {
        assert_eq!(names.len(), row.as_object().unwrap().len());
        for (name, cell) in names.iter().zip(cells) {
            let is_same = match &row[name] {
                Value::Number(number) => cell.parse::<f64>().ok() == number.as_f64(),
                Value::String(text) => cell == text,
                Value::Bool(is) => cell == is.to_string(),
                Value::Null => cell.is_empty(),
                other => panic!("{name}: {other}"),
            };
            assert!(is_same, "{name}: {cell} {}", row[name]);
        }
    }

    // A pair on a dive is a row of the page; what stands once for all pairs of a dive is carried on.
    let key = |row: &Value| ["day", "team_dive", "pair"].map(|key| row[key].as_u64().unwrap());
    let page = read("budget.html");
    let section = &page[page.find("<section id=\"schedule\"").unwrap()..];
    let section = &section[..section.find("</section>").unwrap()];
    let cells = |row: &str| -> Vec<String> {
        row.split("<td")
            .skip(1)
            .map(|cell| cell[cell.find('>').unwrap() + 1..cell.find("</td>").unwrap()].to_owned())
            .collect()
    };
    let shown: Vec<Vec<String>> = section.split("<tbody>").nth(1).unwrap().split("<tr>").skip(1).map(cells).collect();
    let of_pairs: Vec<&[Value]> = rows.chunk_by(|one, other| key(one) == key(other)).collect();
    assert_eq!(shown.len(), of_pairs.len());
    let (sheets, text) = (read("sheets.html"), read("schedule.txt"));
    let (mut day, mut dive, mut site) = (String::new(), String::new(), String::new());
    for (cells, of_pair) in shown.iter().zip(of_pairs) {
        let first = &of_pair[0];
        for (kept, cell) in [(&mut day, &cells[0]), (&mut dive, &cells[1]), (&mut site, &cells[2])] {
            if !cell.is_empty() {
                kept.clone_from(cell);
            }
        }
        let place = format!("{} {}: ", first["zone"].as_str().unwrap(), first["site"]);
        assert!(site.starts_with(&place), "{site} {place}");
        assert_eq!(
            [&day, &dive, &cells[3]],
            [&first["day"], &first["team_dive"], &first["pair"]].map(ToString::to_string).each_ref()
        );
        for row in of_pair {
            let of_diver = cells[4].split("; ").find(|part| part.starts_with(row["diver"].as_str().unwrap()));
            let minutes = format!(", {:.0} min", number(&row["minutes_asked"]));
            let work = match number(&row["units"]) as usize {
                0 => row["task"].as_str().unwrap().to_owned(),
                1 => format!("1 unit of {}", row["task"].as_str().unwrap()),
                units => format!("{units} units of {}", row["task"].as_str().unwrap()),
            };
            assert!(of_diver.is_some_and(|of| of.contains(&work)), "{work}: {cells:?}");
            assert!(row["task"] == "buddy" || cells[4].contains(&minutes), "{minutes}: {cells:?}");
        }
        assert!(sheets.contains(&format!("Dive {dive}: {place}")), "{place}");
        assert!(text.contains(&format!("Day {day}, boat 1, dive {dive}: {place}")), "{place}");
    }
}

/// What touches diving is priced towards caution only.
#[test]
fn no_what_if_sells_more_diving() {
    let answer = answer(EXPEDITION, &[]);
    let what_ifs: Vec<&str> =
        answer["what_ifs"].as_array().unwrap().iter().map(|what| what["what"].as_str().unwrap()).collect();
    assert!(
        what_ifs.iter().any(|what| what.starts_with("one pair fewer")) && what_ifs.contains(&"one dive a day fewer"),
        "{what_ifs:?}"
    );
    assert!(what_ifs.contains(&"a pair stays up on each dive"), "{what_ifs:?}");
    assert!(
        what_ifs.contains(&"one pair more, like Pia and Ruan") && what_ifs.contains(&"new places")
            || what_ifs.contains(&"the same marks"),
        "{what_ifs:?}"
    );
    assert!(
        what_ifs.contains(&"own site set in each zone") && what_ifs.contains(&"changes seen 90 times in 100"),
        "{what_ifs:?}"
    );
    let margin_ifs: Vec<&str> =
        answer["margin_ifs"].as_array().unwrap().iter().map(|what| what["what"].as_str().unwrap()).collect();
    for expected in
        ["one site fewer, rim", "one site more, wall", "one unit fewer, rugosity", "one unit more, rugosity"]
    {
        assert!(margin_ifs.contains(&expected), "{expected}: {margin_ifs:?}");
    }
    let components: Vec<&str> =
        answer["measure_first"].as_array().unwrap().iter().map(|what| what["component"].as_str().unwrap()).collect();
    for what in what_ifs.iter().chain(&margin_ifs).chain(&components) {
        for sold in FOR_SALE.iter().chain(&["dive more", "longer", "deeper", "more minutes", "minutes more"]) {
            assert!(!what.contains(sold), "{what}");
        }
    }
    // What is called capacity or caution is nothing else than pairs, sites a day, less diving.
    for what in answer["what_ifs"].as_array().unwrap() {
        let (kind, words) = (what["kind"].as_str().unwrap(), what["what"].as_str().unwrap());
        if kind == "capacity" {
            assert!(
                words.contains("pair") || words.contains("ill") || words.contains("a day") && words.contains("site"),
                "{words}"
            );
        }
        if kind == "caution" {
            let words_of_caution = ["stays up", "minutes less on the bottom", "dives a day", "dive a day"];
            assert!(words_of_caution.iter().any(|of| words.contains(of)), "{words}");
        }
    }
    let least = |what: &str| {
        let of = answer["what_ifs"]
            .as_array()
            .unwrap()
            .iter()
            .find(|of| of["what"].as_str().unwrap().starts_with(what))
            .unwrap();
        of["all"][0].as_f64().unwrap_or(f64::INFINITY)
    };
    assert!(least("one pair fewer") >= least("as it is") && least("one dive a day fewer") >= least("as it is"));
    assert!(least("a pair stays up on each dive") >= least("as it is"));
    assert!(least("one pair more, like Pia and Ruan") <= least("as it is"));
    assert!(least("own site set in each zone") <= least("as it is"));
    assert!(least("rugosity: 1.25 times the change") <= least("as it is"));
    assert!(least("changes seen 90 times in 100") >= least("as it is"));
    let own = &answer["own_site_sets"];
    assert!(number(&own["team_dives_at_least"]) <= number(&own["team_dives"]));
    // A larger component never helps; what decides whether a target is met comes first, then what moves most.
    let moves: Vec<(bool, f64)> = answer["measure_first"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let (smaller, larger) = (number(&row["smaller"]), number(&row["larger"]));
            assert!(smaller >= number(&row["as_it_is"]) - 1e-9 && larger <= number(&row["as_it_is"]) + 1e-9, "{row}");
            let is_must = row["must"].as_bool().unwrap();
            let decides = smaller >= 1.0 && larger < 1.0;
            (decides && is_must, if decides { 1e6 } else { 0.0 } + (smaller - larger) / number(&row["as_it_is"]))
        })
        .collect();
    assert!(!moves.is_empty() && moves.windows(2).all(|pair| pair[0] >= pair[1]), "{moves:?}");
}

/// Lines of 10 m with 50 points and of 20 m with 100 or 20: the search takes what is best, drops what is no faster and no more
/// precise, and says what it took everywhere.
#[test]
fn dimensions_and_places_are_chosen() {
    let text = EXPEDITION
        .replace("[expedition]\n", "[expedition]\nchoose_places = true\n")
        .replace(
            "[[method.other]]\nindicator = \"rugosity\"",
            &format!("{LINES}[[method.other]]\nindicator = \"rugosity\""),
        )
        .replacen(
            "[[target]]",
            "[[target]]\nindicator = \"hard_coral\"\nsee = true\npriority = \"must\"\n[[target]]",
            1,
        )
        .replace(
            "[[change]]\nindicator = \"rugosity\"",
            "[[change]]\nfrom = 30\nto = 20\n[[change]]\nindicator = \"rugosity\"",
        );
    let both = answer(&text, &[]);
    // Two lengths x two spacings, each at the same marks and at new places.
    let combinations = number(&both["searched"]["combinations"]);
    assert!((4.0..=8.0).contains(&combinations), "{}", both["searched"]);
    let told = |answer: &Value| {
        let set = answer["all"]["site_set"].as_array().unwrap();
        set.iter().find(|task| task["method"] == "point_intercept").unwrap()["dimensions"].as_str().unwrap().to_owned()
    };
    let chosen = told(&both);
    assert!(chosen.contains(" m, every "), "{chosen}");
    for list in ["schedule", "starts"] {
        let rows = both[list].as_array().unwrap();
        let key = if list == "schedule" { "task" } else { "method" };
        let of_lines: Vec<&Value> = rows.iter().filter(|row| row[key] == "point_intercept").collect();
        assert!(!of_lines.is_empty() && of_lines.iter().all(|row| row["dimensions"] == chosen.as_str()), "{list}");
    }
    // None of the combinations by itself is better.
    let effort = |answer: &Value| (number(&answer["all"]["days"]), number(&answer["all"]["team_dives"]));
    let places = ["same_marks", "new_places"];
    // The minutes of the scenario are those of the first length.
    for (length, place) in [("10", places[0]), ("10", places[1])] {
        let alone = text
            .replace("choose_places = true\n", "")
            .replace("length_m = [10, 20]", &format!("length_m = {length}"))
            .replace("[[zone]]\nname = \"rim\"", &format!("[visits]\nplaces = \"{place}\"\n[[zone]]\nname = \"rim\""));
        let alone = answer(&alone, &["--trials", "20"]);
        if alone["all"].is_object() && both["by_simulation"].as_array().unwrap().is_empty() {
            assert!(effort(&both) <= effort(&alone), "{length} {place}");
        }
    }
}

/// Why nothing meets a target is said: what all sites share, or sites; and what is nearest.
#[test]
fn what_cannot_be_met_is_said() {
    let text = EXPEDITION.replace("to = 128", "to = 139.5");
    let told = answer(&text, &[]);
    assert!(told["all"].is_null() && told["musts"].is_null());
    let blocked = &told["blocked"][0];
    assert_eq!(blocked["what"], "all targets");
    let why = blocked["why"][0].as_str().unwrap();
    assert!(why.starts_with("rugosity: with all sites there are") && why.contains("sites at most"), "{why}");
    assert_eq!(blocked["without"], serde_json::json!(["rugosity"]));
    assert!(number(&blocked["nearest"]["days"]) > 0.0);
}

/// The same bytes on any number of threads.
#[test]
fn threads_change_no_byte() {
    let folder = TempDir::new().unwrap();
    let with = |threads: &str| {
        let out = run(&folder, EXPEDITION, &["--json", "--trials", "100", "--threads", threads]);
        out.success().get_output().stdout.clone()
    };
    let one = with("1");
    assert!(one == with("2") && one == with("5"));
}

#[test]
fn the_caution_stands_first_on_every_page() {
    let folder = TempDir::new().unwrap();
    let out = run(&folder, EXPEDITION, &["--out", "plan"]).success().get_output().stdout.clone();
    let screen = String::from_utf8(out).unwrap();
    assert!(screen.starts_with("This is an effort budget") && screen.contains("It is not a dive plan"), "{screen}");
    for name in ["budget.txt", "schedule.txt", "schedule.csv", "field.csv", "starts.csv", "proposal.md", "budget.json"]
    {
        let text = fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
        let place = text.find("effort budget").unwrap_or(usize::MAX);
        assert!(place < 400, "{name}");
        let lower = text.to_lowercase();
        assert!(!["compliant", " safe "].iter().any(|word| lower.contains(word)), "{name}");
    }
    let sheet = fs::read_to_string(folder.path().join("plan/schedule.txt")).unwrap();
    assert!(sheet.contains("not released for diving until signed") && sheet.contains("may refuse or end any dive"));
    // The wall's bottom time is within the printed limit of 20 m, 48 minutes, and later dives are warned of.
    assert!(screen.contains("as if it were the first"), "{screen}");
    let long = EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 60");
    let out = run(&folder, &long, &[]).success().get_output().stdout.clone();
    let text = String::from_utf8(out).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("longer than the 48 min printed for a first air dive at 70 feet"), "{text}");
}

/// A bottom time over the published limit is an error until somebody says that the diving officer has decided: the plan is told,
/// but neither scheduled nor printed; what was in the folder before is written over, with the reason.
#[test]
fn what_the_diving_officer_has_not_decided_is_not_scheduled() {
    let folder = TempDir::new().unwrap();
    let read = |name: &str| fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
    let words = |text: &str| text.replace('#', "").split_whitespace().collect::<Vec<_>>().join(" ");
    run(&folder, EXPEDITION, &["--out", "plan"]).success();
    assert!(read("sheets.html").contains("Dive 1: ") && read("schedule.txt").contains("to 20 m, 44 min on the bottom"));
    let long = EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 60");
    run(&folder, &long, &["--out", "plan"]).success();
    let why = "No schedule and no sheets are made: in wall the bottom time is longer than the limit published";
    let sheets = read("sheets.html");
    assert!(words(&sheets).contains(why) && !sheets.contains("Dive 1: ") && !sheets.contains("on the boat"));
    for name in ["schedule.csv", "schedule.txt", "starts.csv", "budget.txt", "budget.html", "proposal.md", "field.csv"]
    {
        assert!(words(&read(name)).contains(why), "{name}");
    }
    let plain = |name: &str| read(name).lines().filter(|line| !line.starts_with('#')).count();
    assert!(plain("schedule.csv") <= 1 && plain("starts.csv") <= 1 && plain("field.csv") <= 1);
    let json: Value = serde_json::from_str(&read("budget.json")).unwrap();
    assert!(json["schedule"].as_array().unwrap().is_empty() && json["not_scheduled"].is_string());
    assert!(number(&json["answer"]["days"]) > 0.0 && !json["margins"].as_array().unwrap().is_empty());
    // Once it is decided, all is there, with the flag.
    let decided = long
        .replace("bottom_minutes = 60", "bottom_minutes = 60\ndiving_officer_decided = { minutes = 60, depth_m = 20 }");
    let told = answer(&decided, &[]);
    assert!(told["not_scheduled"].is_null() && !told["schedule"].as_array().unwrap().is_empty());
    for row in told["schedule"].as_array().unwrap() {
        let dive = if row["zone"] == "wall" { (20.0, 60.0) } else { (8.0, 55.0) };
        assert_eq!((number(&row["depth_m"]), number(&row["bottom_minutes"])), dive, "{row}");
    }
    assert!(told["warnings"].to_string().contains("The scenario says that the diving officer has decided on it."));
}

/// A row for each target, in its own unit, as the plan that is scheduled has it.
#[test]
fn margins_have_their_target_what_is_achieved_and_its_error() {
    let text = EXPEDITION.replace("indicator = \"rugosity\"\nsee = true", "indicator = \"rugosity\"\nhalf_width = 14");
    let answer = answer(&text, &[]);
    let rows = answer["margins"].as_array().unwrap();
    assert_eq!(answer["answer"]["plan"], "all_targets");
    assert_eq!(answer["answer"]["team_dives"], answer["all"]["team_dives"]);
    let [rugosity, grazers] = [0, 1].map(|row| &rows[row]);
    assert_eq!((rugosity["asks"].as_str(), rugosity["unit"].as_str()), (Some("half_width"), Some("cm")));
    assert_eq!((rugosity["priority"].as_str(), number(&rugosity["target"])), (Some("must"), 14.0));
    // By formula and by simulation of 400 trials, whose error is told.
    let (formula, simulated) = (number(&rugosity["achieved"]), number(&rugosity["half_width"]));
    let error = number(&rugosity["half_width_error"]);
    assert!(error > 0.0 && error < 0.05 * simulated, "{rugosity}");
    assert!((simulated - formula).abs() < 4.0 * error + 0.05 * formula, "{rugosity}");
    // On a ln scale the change that is just seen is to the power of one over the margin.
    let (target, seen, margin) = (number(&grazers["target"]), number(&grazers["achieved"]), number(&grazers["margin"]));
    let from = number(&grazers["change_from"]);
    assert!((target - (from - number(&grazers["change_to"]))).abs() < 1e-9, "{grazers}");
    assert!((seen - from * (1.0 - (1.0 - target / from).powf(1.0 / margin))).abs() < 1e-6 * from, "{grazers}");
    assert!(number(&grazers["power_error"]) > 0.0);
}

/// One more unit never takes fewer dives or tells less, and what is planned is a step of the stair.
#[test]
fn the_stair_holds_the_plan() {
    let answer = answer(EXPEDITION, &[]);
    let stairs = answer["stairs"].as_array().unwrap();
    assert_eq!(stairs.len(), answer["answer"]["site_set"].as_array().unwrap().len());
    for (stair, task) in stairs.iter().zip(answer["answer"]["site_set"].as_array().unwrap()) {
        assert_eq!((&stair["method"], &stair["planned"]), (&task["method"], &task["units"]));
        let steps = stair["steps"].as_array().unwrap();
        let planned = steps.iter().find(|step| step["units"] == stair["planned"]).unwrap();
        assert_eq!(planned["days"], answer["answer"]["days"]);
        let dives = |step: &Value, zone: usize| step["team_dives"][zone].as_f64().unwrap_or(f64::INFINITY);
        for (zone, of) in answer["answer"]["sites"].as_array().unwrap().iter().enumerate() {
            assert_eq!(planned["team_dives"][zone], of["team_dives"]);
            assert!(steps.windows(2).all(|pair| dives(&pair[0], zone) <= dives(&pair[1], zone)));
        }
        let margin = |step: &Value| number(&step["margins"][0]["margin"]);
        assert!(steps.windows(2).all(|pair| margin(&pair[0]) <= margin(&pair[1]) + 1e-9), "{stair}");
        let row = answer["margins"]
            .as_array()
            .unwrap()
            .iter()
            .find(|row| row["indicator"] == planned["margins"][0]["indicator"]);
        assert!((margin(planned) - number(&row.unwrap()["margin"])).abs() < 1e-9);
    }
}

#[test]
fn the_folder_has_pages_and_figures_and_none_of_the_last_run() {
    let folder = TempDir::new().unwrap();
    run(&folder, EXPEDITION, &["--out", "plan"]).success();
    let plan = folder.path().join("plan");
    for name in ["budget.html", "sheets.html", "figures/calendar.svg", "figures/what-lost-days-do.png"] {
        assert!(plan.join(name).metadata().unwrap().len() > 1000, "{name}");
    }
    let words = |name: &str| {
        let text = std::fs::read_to_string(plan.join(name)).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for name in ["budget.txt", "budget.html", "proposal.md"] {
        let text = words(name);
        assert!(text.contains("Rugosity and grazers are drawn from the components of variation"), "{name}");
    }
    // What comes first is done on the first team dive, and no number of later ones makes room for more of it.
    let text = words("budget.txt");
    assert!(text.contains("More grazers: ") && !text.contains("more team dives than are looked at"), "{text}");
    assert!(text.contains("no room, for it is done on the first team dive of a site alone"), "{text}");
    // Without lost days there is no such figure, and that of the last run must not stay.
    let text = EXPEDITION.replace("lost_days_percent = 20\n", "");
    run(&folder, &text, &["--out", "plan"]).success();
    assert!(!plan.join("figures/what-lost-days-do.png").exists() && plan.join("figures/calendar.png").exists());
}

#[test]
fn without_an_expedition_there_is_no_budget() {
    let folder = TempDir::new().unwrap();
    let text = EXPEDITION.split("[expedition]").next().unwrap();
    let told = run(&folder, text, &[]).code(2).get_output().stderr.clone();
    assert!(String::from_utf8(told).unwrap().contains("there is no expedition"));
    // Nobody may dive so deep: refused at the zone.
    let deep = EXPEDITION.replace("depth_m = 20\nbottom", "depth_m = 40\nbottom");
    let told = run(&folder, &deep, &[]).code(2).get_output().stderr.clone();
    let told = String::from_utf8(told).unwrap();
    assert!(told.contains("depth_m") || told.contains("deep"), "{told}");
    assert!(!folder.path().join("plan").exists());
}

fn rows(answer: &Value) -> &Vec<Value> {
    answer["schedule"].as_array().unwrap()
}

/// The rows of each diver on each dive.
fn by_diver(answer: &Value) -> std::collections::BTreeMap<String, Vec<&Value>> {
    let mut divers: std::collections::BTreeMap<String, Vec<&Value>> = Default::default();
    for row in rows(answer) {
        let key = ["day", "boat", "team_dive", "diver"].map(|key| row[key].to_string()).join(" ");
        divers.entry(key).or_default().push(row);
    }
    divers
}

/// On a dive on which somebody counts grazers whoever does not waits before any work, if there is some: in whichever pair, or
/// (`buddies_alone`) in the same; nobody waits on another dive. How many wait for another pair.
fn check_waits(divers: &std::collections::BTreeMap<String, Vec<&Value>>, buddies_alone: bool) -> usize {
    let (mut waited, mut in_another_pair) = (0, 0);
    for (key, own) in divers {
        let dive = &key[..key.find('"').unwrap()];
        let of_dive = divers.iter().filter(|(other, _)| other.starts_with(dive)).flat_map(|(_, rows)| rows);
        let counting = of_dive.filter(|row| row["task"] == "grazers");
        let counts: Vec<_> = counting.filter(|row| !buddies_alone || row["pair"] == own[0]["pair"]).collect();
        let own_counts = own.iter().any(|row| row["task"] == "grazers");
        let waits = !counts.is_empty() && !own_counts && own[0]["task"] != "buddy";
        assert_eq!(own[0]["task"] == "wait", waits, "{own:?} {counts:?}");
        // Who counts one has counted longer than the others wait.
        assert!(own[1..].iter().all(|row| row["task"] != "wait"), "{own:?}");
        if waits {
            assert_eq!((number(&own[0]["minutes_asked"]), number(&own[0]["units"])), (5.0, 0.0));
            waited += 1;
            in_another_pair += usize::from(counts.iter().all(|row| row["pair"] != own[0]["pair"]));
        }
    }
    assert!(waited > 0);
    in_another_pair
}

/// Every dive has its chance, above what was asked, and each diver with work one thing to leave out first: what comes first
/// only where it is all there is, a must last.
#[test]
fn every_dive_has_its_chance_and_what_to_leave_out() {
    let answer = answer(EXPEDITION, &[]);
    let divers = by_diver(&answer);
    assert!(rows(&answer).iter().all(|row| (0.9..=1.0).contains(&number(&row["finished"]))));
    let mut chosen = 0;
    for rows in divers.values() {
        let out: Vec<&str> =
            rows.iter().filter(|row| row["leave_out_first"] == true).map(|row| row["task"].as_str().unwrap()).collect();
        let works: Vec<&str> = rows
            .iter()
            .map(|row| row["task"].as_str().unwrap())
            .filter(|task| !["buddy", "wait"].contains(task))
            .collect();
        assert_eq!(out.len(), usize::from(!works.is_empty()), "{rows:?}");
        // Grazers come first, and are named only alone.
        assert!(works.len() < 2 || out == ["rugosity"], "{rows:?}");
        chosen += usize::from(works.len() > 1);
    }
    assert!(chosen > 0);
    check_waits(&divers, false);
    // One diver counts: the other pair waits too, but where buddies alone do.
    let one_counts = EXPEDITION.replace("name = \"Pia\"\nskills = [\"fish\"]", "name = \"Pia\"");
    let buddies_alone = one_counts.replace("others_wait_minutes = 5", "others_wait_minutes = 5\nwho_waits = \"buddy\"");
    let in_another_pair = check_waits(&by_diver(&self::answer(&one_counts, &[])), false);
    assert!(in_another_pair > 0 && check_waits(&by_diver(&self::answer(&buddies_alone, &[])), true) == 0);
    let folder = TempDir::new().unwrap();
    run(&folder, EXPEDITION, &["--out", "plan"]).success();
    let sheet = fs::read_to_string(folder.path().join("plan/schedule.txt")).unwrap();
    assert!(sheet.contains("both done in time") && sheet.contains("late: one less of these"), "{sheet}");
    assert!(sheet.contains("2 days under way; 10 days for diving") && sheet.contains("wait, 5 min"), "{sheet}");
    for page in ["sheets.html", "budget.html", "schedule.csv", "figures/minutes-at-a-site.svg"] {
        let page = fs::read_to_string(folder.path().join("plan").join(page)).unwrap();
        assert!(page.contains("wait"), "{page}");
    }
}

/// `check` says what fits into no dive, where a budget would find nothing to plan.
#[test]
fn check_tells_what_does_not_fit() {
    let folder = TempDir::new().unwrap();
    let check = |text: &str, arguments: &[&str]| {
        fs::write(folder.path().join("bank.toml"), text).unwrap();
        let mut command = Command::cargo_bin("reefwright").unwrap();
        let out = command.current_dir(folder.path()).args(["check", "bank.toml"]).args(arguments).assert().success();
        String::from_utf8(out.get_output().stdout.clone()).unwrap()
    };
    assert!(!check(EXPEDITION, &[]).contains("Does not fit"));
    // The caution, the flag of bottom times and what later dives have are told here too, and the caution first.
    let over = EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 49");
    let told = check(&over, &[]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.starts_with("This is an effort budget for comparing survey designs. It is not a dive plan."),
        "{told}"
    );
    for words in [
        "wall: The planned bottom time of 49 min at 20 m is longer than the 48 min",
        "No schedule and no sheets are made: in wall",
        "as if it were the first (US Navy Diving Manual, Revision 7",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let told = check(EXPEDITION, &[]);
    assert!(!told.contains("is longer than") && told.contains("as if it were the first"), "{told}");
    let told: Value = serde_json::from_str(&check(EXPEDITION, &["--json"])).unwrap();
    assert!(told["caution"].as_str().unwrap().contains("not a dive plan"));
    assert!(EXPEDITION.contains("read_minutes = 9"));
    let long = EXPEDITION.replace("read_minutes = 9", "read_minutes = 60");
    let told = check(&long, &[]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("one of rugosity takes"), "{told}");
    let told: Value = serde_json::from_str(&check(&long, &["--json"])).unwrap();
    assert_eq!(told["does_not_fit"].as_array().unwrap().len(), 2, "{}", told["does_not_fit"]);
}

/// The unit with which a dive begins costs what the search says a plan with it takes.
#[test]
fn lumps_and_standby_are_told() {
    let answer = answer(EXPEDITION, &[]);
    let plan = &answer["all"];
    let costs = plan["next_costs"].as_array().unwrap();
    for task in plan["site_set"].as_array().unwrap() {
        let most = if task["method"] == "rugosity" { 8.0 } else { 6.0 };
        let Some(first) = costs.iter().find(|cost| cost["method"] == task["method"]) else {
            assert_eq!(number(&task["fits"]), most, "{task}");
            continue;
        };
        assert_eq!(number(&first["units"]), number(&task["fits"]) + 1.0, "{first}");
        if let Some(more) = first["more"].as_array() {
            let sites = plan["zones"].as_array().unwrap().iter().find(|zone| zone["zone"] == first["zone"]).unwrap();
            assert!(number(&more[1]) >= number(&sites["sites"]), "{first}");
        }
    }
    assert!(!costs.is_empty());
    let warnings = answer["warnings"].to_string();
    assert!(warnings.contains("all pairs are counted as capacity"), "{warnings}");
    let ill = answer["what_ifs"].as_array().unwrap().iter().find(|of| of["what"].as_str().unwrap().contains("ill"));
    let as_it_is = &answer["what_ifs"][0]["all"];
    assert!(ill.is_some_and(|ill| ill["all"].is_null() || number(&ill["all"][0]) >= number(&as_it_is[0])), "{ill:?}");
}

/// With marks the first visit is planned, which takes no less than later ones and no less than a plan without marks.
#[test]
fn marks_cost_minutes_of_the_first_visit() {
    let visits = "[visits]\nplaces = \"same_marks\"\n[expedition]";
    let marked = |keys: &str| {
        answer(
            &EXPEDITION
                .replace("[expedition]", visits)
                .replace("move_minutes = 1\n", &format!("move_minutes = 1\n{keys}")),
            &[],
        )
    };
    let dear = marked("mark_minutes = 9\nfind_minutes = 1\n");
    let told = dear["all"]["visits"].as_array().unwrap();
    assert_eq!((told[0]["visit"].as_str(), told[0]["is_planned"].as_bool()), (Some("marks_are_set"), Some(true)));
    assert!(number(&told[0]["team_dives"]) >= number(&told[1]["team_dives"]), "{told:?}");
    assert_eq!(told[0]["team_dives"], dear["all"]["team_dives"]);
    let hard_to_find = marked("mark_minutes = 1\nfind_minutes = 9\n");
    assert_eq!(hard_to_find["all"]["visits"][0]["visit"], "marks_are_found");
    let free = marked("mark_minutes = 0\nfind_minutes = 0\n");
    let takes = |answer: &Value| (number(&answer["all"]["days"]), number(&answer["all"]["team_dives"]));
    assert!(takes(&dear) >= takes(&free));
    assert!(answer(EXPEDITION, &[])["all"]["visits"].as_array().unwrap().is_empty());
}

/// A method on the line of another lays none of its own: the plan takes no more dives, and who lays is told.
#[test]
fn work_on_a_laid_line_is_laid_once() {
    let point = "[[method.point_intercept]]\nunits = \"1..5\"\nlay_minutes = 5\nread_minutes = 8\n[[change]]";
    let base = EXPEDITION.replacen("[[change]]", point, 1)
        + "[[target]]\nindicator = \"hard_coral\"\ncv_percent = 25\npriority = \"must\"\n";
    let of = |keys: &str, host: &str| {
        let text = base.replace("move_minutes = 1\n", &format!("move_minutes = 1\n{keys}"));
        answer(&text.replace("read_minutes = 8\n[[change]]", &format!("read_minutes = 8\n{host}[[change]]")), &[])
    };
    let apart = of("", "");
    let on_line = "on_line_of = \"point_intercept\"\n";
    let reeled = of(on_line, "");
    let stays = of(on_line, "[method.point_intercept.work]\nline_stays = true\n");
    let dives = |answer: &Value| (number(&answer["all"]["days"]), number(&answer["all"]["team_dives"]));
    assert!(
        dives(&reeled) <= dives(&apart) && dives(&stays) <= dives(&reeled),
        "{:?}",
        [&apart, &reeled, &stays].map(dives)
    );
    for (answer, stays) in [(&reeled, false), (&stays, true)] {
        units_lie_on_lines(answer, stays);
        who_lays_goes_ahead(answer);
        let done = |task: &str| {
            rows(answer).iter().filter(|row| row["task"] == task).map(|row| number(&row["units"])).sum::<f64>()
        };
        assert!(done("laying_lines") >= done("rugosity").max(done("point_intercept")) && done("rugosity") > 0.0);
    }
}

/// Whatever is read on a line is read when it lies: on the dive on which it is laid or, where lines stay, on a later one; where
/// each pair reels its own in, on a line that this pair laid.
fn units_lie_on_lines(answer: &Value, stays: bool) {
    let numbers = |row: &Value| -> Vec<usize> {
        row["unit_numbers"].as_str().unwrap().split_whitespace().map(|number| number.parse().unwrap()).collect()
    };
    let site = |row: &Value| (row["zone"].clone(), row["site"].clone());
    let dive = |row: &Value| (number(&row["day"]), number(&row["team_dive"]));
    let mut read = 0;
    for row in rows(answer).iter().filter(|row| ["rugosity", "point_intercept"].iter().any(|task| row["task"] == *task))
    {
        let lies = |laid: &&Value| {
            let in_time =
                if stays { dive(laid) <= dive(row) } else { dive(laid) == dive(row) && laid["pair"] == row["pair"] };
            laid["task"] == "laying_lines" && site(laid) == site(row) && in_time
        };
        let lying: Vec<usize> = rows(answer).iter().filter(lies).flat_map(numbers).collect();
        assert!(numbers(row).iter().all(|unit| lying.contains(unit)), "{row}: {lying:?}");
        read += numbers(row).len();
    }
    assert!(read > 0);
    // Lines that stay are laid once.
    let mut laid: Vec<_> = rows(answer)
        .iter()
        .filter(|row| row["task"] == "laying_lines")
        .flat_map(|row| {
            numbers(row).into_iter().map(move |line| (row["zone"].to_string(), number(&row["site"]) as usize, line))
        })
        .collect();
    let number_laid = laid.len();
    laid.sort();
    laid.dedup();
    assert!(!stays || laid.len() == number_laid);
    // Each diver lays before he reads.
    for own in by_diver(answer).values() {
        let laying = own.iter().rposition(|row| row["task"] == "laying_lines");
        let reading = own.iter().position(|row| row["task"] == "point_intercept");
        assert!(laying.zip(reading).is_none_or(|(laying, reading)| laying < reading));
    }
}

/// Whoever reads a line that another lays on the same dive is told to come behind, once for each unit.
fn who_lays_goes_ahead(answer: &Value) {
    for ahead in answer["laid_ahead"].as_array().into_iter().flatten() {
        let line = number(&ahead["line"]) as usize;
        let is_of_dive = |row: &&Value| {
            ["day", "boat", "team_dive", "zone", "site"].iter().all(|key| row[*key] == ahead[*key])
                && row["unit_numbers"].as_str().unwrap().split_whitespace().any(|of| of.parse() == Ok(line))
        };
        let does = |diver: &str, task: &str| {
            rows(answer).iter().filter(is_of_dive).any(|row| row["diver"] == ahead[diver] && row["task"] == task)
        };
        assert!(does("laid_by", "laying_lines") && does("read_by", ahead["method"].as_str().unwrap()), "{ahead}");
        assert!(ahead["laid_by"] != ahead["read_by"] && number(&ahead["early_minutes"]) >= 0.0);
    }
}

/// Five divers make two pairs and a spare, whoever comes and leaves; the best of the pairings is planned.
#[test]
fn crews_and_pairings() {
    let more = "[[diver]]\nname = \"Sami\"\nskills = [\"fish\"]\ndepth_m = 30\n[[target]]";
    let five = EXPEDITION.replacen("[[target]]", more, 1);
    let answer_of_five = answer(&five, &[]);
    // The odd one changes from day to day; on a day two pairs dive.
    let mut days: std::collections::BTreeMap<u64, std::collections::BTreeSet<&str>> = std::collections::BTreeMap::new();
    for row in rows(&answer_of_five) {
        days.entry(row["day"].as_u64().unwrap()).or_default().insert(row["diver"].as_str().unwrap());
    }
    assert!(days.values().all(|divers| divers.len() <= 4), "{days:?}");
    assert_eq!(days.values().flatten().collect::<std::collections::BTreeSet<_>>().len(), 5);
    let pairing = &answer_of_five["pairing"];
    assert!(number(&pairing["tried"]) > 1.0 && pairing["pairs"].as_array().unwrap().len() == 2, "{pairing}");
    let days = |answer: &Value| number(&answer["all"]["days"]);
    // No told pairing of the same divers is better.
    for pairs in ["[[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]", "[[\"Ines\", \"Pia\"], [\"Odo\", \"Sami\"]]"] {
        let told = answer(&five.replace("standby =", &format!("pairs = {pairs}\nstandby =")), &[]);
        assert!(told["pairing"].is_null() && days(&told) >= days(&answer_of_five), "{pairs}");
    }
    // A diver who comes later is not in the dives before.
    let late = EXPEDITION.replace("name = \"Odo\"\n", "name = \"Odo\"\nfrom_day = 3\n");
    let late = answer(&late.replace("standby =", "pairs = [[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]\nstandby ="), &[]);
    let first = rows(&late).iter().filter(|row| row["diver"] == "Odo").map(|row| number(&row["day"]));
    let first = first.fold(f64::INFINITY, f64::min);
    assert!((3.0..f64::INFINITY).contains(&first), "{first}");
    assert!(days(&late) >= days(&answer(EXPEDITION, &[])));
}

/// Pairs are dealt to the boats: nobody dives from two on one day, and two boats of one pair each are no better than one pair
/// with twice the days.
#[test]
fn nobody_is_on_two_boats() {
    let pairs = |boats: usize| {
        let keys = format!("pairs = [[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]\nboats = {boats}\nstandby =");
        answer(&EXPEDITION.replace("standby =", &keys), &[])
    };
    let two = pairs(2);
    let mut boats: std::collections::BTreeMap<&str, u64> = Default::default();
    for row in rows(&two) {
        let boat = row["boat"].as_u64().unwrap();
        assert_eq!(*boats.entry(row["diver"].as_str().unwrap()).or_insert(boat), boat, "{row}");
    }
    assert_eq!(boats.len(), 4, "{boats:?}");
    let alone = EXPEDITION.replace("standby =", "pairs = [[\"Ines\", \"Odo\"]]\nstandby =");
    let alone = answer(&alone.replace("days = 12", "days = 40"), &[]);
    let dives = |answer: &Value| (number(&answer["all"]["team_dives"]), number(&answer["all"]["days"]));
    // Both boats' teams can do here what one pair can, and days are shared by two.
    assert_eq!(dives(&two).1, (dives(&alone).1 / 2.0).ceil(), "{:?}", [&two, &alone].map(dives));
}

const RATES: &str = r#"[expedition.rates]
currency = "crowns"
fixed = 5000
per_day = 1000
per_person_day = 100
other_people = 2
per_dive = 8
ashore_per_hour = 30
"#;

/// Rates, minutes ashore for one method and a laboratory for the other.
fn with_rates(more: &str) -> String {
    EXPEDITION
        .replace("standby = ", &format!("{more}standby = "))
        .replace("read_minutes = 9\n", "read_minutes = 9\nashore_minutes = 20\n")
        .replace("skill = \"fish\"\nfirst", "laboratory_cost = 15\nskill = \"fish\"\nfirst")
        .replace("[[diver]]\nname = \"Ines\"", &format!("{RATES}[[diver]]\nname = \"Ines\""))
}

/// By hand: 5000 once, 1600 a day for six people, 8 a dive of a diver, a third of an hour ashore for each rugosity and 15
/// for each count of grazers.
fn by_hand(plan: &Value) -> f64 {
    let sites: f64 = plan["zones"].as_array().unwrap().iter().map(|zone| number(&zone["sites"])).sum();
    let units = |method: &str| {
        let tasks = plan["site_set"].as_array().unwrap();
        sites * number(&tasks.iter().find(|task| task["method"] == method).unwrap()["units"])
    };
    let days = 2.0 + number(&plan["days"]);
    5000.0 + 1600.0 * days + 16.0 * number(&plan["pair_dives"]) + 10.0 * units("rugosity") + 15.0 * units("grazers")
}

#[test]
fn money_is_what_the_rates_make_it() {
    let answer = answer(&with_rates(""), &[]);
    let frontier = answer["frontier"].as_array().unwrap().iter().map(|day| &day["plan"]);
    let plans: Vec<&Value> = [&answer["all"], &answer["musts"], &answer["best"]]
        .into_iter()
        .chain(frontier)
        .filter(|of| !of.is_null())
        .collect();
    assert!(plans.len() > 4);
    for plan in &plans {
        let cost = &plan["cost"];
        let parts: f64 = cost["items"].as_array().unwrap().iter().map(|item| number(&item["money"])).sum();
        assert!((number(&cost["total"]) - by_hand(plan)).abs() < 1e-6, "{cost} {}", by_hand(plan));
        assert!((parts - number(&cost["total"])).abs() < 1e-6);
        let dives = 2.0 * number(&plan["pair_dives"]);
        assert!((number(&cost["per_dive"]) * dives / number(&cost["total"]) - 1.0).abs() < 1e-9);
    }
    // Days that are booked cost whatever is done on them.
    let book = &answer["book"][0];
    let more = number(&book["to_book"]) - number(&book["needs"]);
    assert!((number(&book["money"][1]) - number(&book["money"][0]) - 1600.0 * more).abs() < 1e-6 && more > 0.0);
    assert_eq!(book["money"][0], answer["all"]["cost"]["total"]);
    assert_eq!(answer["what_ifs"][0]["money_for_all"], answer["all"]["cost"]["total"]);
    assert_eq!(answer["margin_ifs"][0]["money"], answer["answer"]["cost"]["total"]);
    // Own lists go by effort where money comes first, which is said.
    let folder = TempDir::new().unwrap();
    run(&folder, &with_rates("least = \"money\"\n"), &["--out", "least"]).success();
    let told = fs::read_to_string(folder.path().join("least/budget.txt")).unwrap();
    assert!(told.contains("These go by days and team dives, not by money"), "{told}");
    // Limits of diving have no price.
    for what in answer["what_ifs"].as_array().unwrap() {
        assert!(what["kind"] != "caution" || what.get("money_for_all").is_none(), "{what}");
    }
}

/// Person-days before and after are paid in every account of money, and told with those on board; where they are not told
/// nothing is said of them.
#[test]
fn people_are_paid_before_and_after() {
    let keys = "person_days_before = 12\nperson_days_after = 25.5\n";
    let text = |more: &str, rate: &str| {
        with_rates(&format!("{keys}{more}")).replace("per_dive = 8\n", &format!("per_dive = 8\n{rate}"))
    };
    let paid = 200.0 * 37.5;
    let rate = "ashore_per_person_day = 200\n";
    let [told, unpaid] = [rate, ""].map(|rate| answer(&text("", rate), &[]));
    let frontier = told["frontier"].as_array().unwrap().iter().map(|day| &day["plan"]);
    let plans = [&told["all"], &told["musts"], &told["best"]].into_iter().chain(frontier).filter(|of| !of.is_null());
    for plan in plans {
        let items = plan["cost"]["items"].as_array().unwrap();
        let of = |of: &str| number(&items.iter().find(|item| item["of"] == of).unwrap()["money"]);
        assert_eq!((of("days_before"), of("days_after")), (2400.0, 5100.0), "{}", plan["cost"]);
        let parts: f64 = items.iter().map(|item| number(&item["money"])).sum();
        assert!((parts - number(&plan["cost"]["total"])).abs() < 1e-6);
        assert!((parts - by_hand(plan) - paid).abs() < 1e-6, "{}", plan["cost"]);
    }
    // What-ifs, days to book: the same and as much more.
    assert_eq!(told["what_ifs"][0]["money_for_all"], told["all"]["cost"]["total"]);
    let money = |answer: &Value| -> Vec<f64> {
        let what_ifs = answer["what_ifs"].as_array().unwrap().iter().filter(|what| what["money_for_all"].is_number());
        what_ifs.map(|what| number(&what["money_for_all"]) / what["expeditions"].as_f64().unwrap_or(1.0)).collect()
    };
    assert!(money(&told).len() > 3);
    for (one, other) in money(&told).iter().zip(money(&unpaid)) {
        assert!((one - other - paid).abs() < 1e-6, "{one} {other}");
    }
    assert!((number(&told["book"][0]["money"][1]) - number(&unpaid["book"][0]["money"][1]) - paid).abs() < 1e-6);
    // The best for the money leaves room for it: it is that for so much less.
    let there = number(&unpaid["all"]["cost"]["total"]).ceil();
    let best =
        |money: f64, rate: &str| answer(&text(&format!("money = {money}\n"), rate), &[])["for_money"]["plan"].clone();
    let (with, without) = (best(there + paid, rate), best(there, ""));
    for key in ["days", "site_set", "zones", "margins"] {
        assert_eq!(with[key], without[key], "{key}");
    }
    assert!((number(&with["cost"]["total"]) - number(&without["cost"]["total"]) - paid).abs() < 1e-6);

    let folder = TempDir::new().unwrap();
    let page = |text: &str| {
        run(&folder, text, &["--out", "plan"]).success();
        fs::read_to_string(folder.path().join("plan/proposal.md")).unwrap()
    };
    let said = page(&text("", rate));
    assert!(said.contains("Before each visit: 12 person-days of preparation."), "{said}");
    assert!(said.contains("person-days of divers"), "{said}");
    assert!(
        said.contains(" hours of reading ashore and 25.5 person-days of entering data, identification and analysis."),
        "{said}"
    );
    assert!(said.contains("preparation 2,400 crowns") && said.contains("work afterwards 5,100 crowns"), "{said}");
    let silent = page(EXPEDITION);
    assert!(
        ["preparation", "entering data", "Before each visit", "After each visit"].iter().all(|of| !silent.contains(of)),
        "{silent}"
    );
    let out = run(&folder, &with_rates("").replace("per_dive = 8\n", &format!("per_dive = 8\n{rate}")), &[]);
    let refused = String::from_utf8(out.code(2).get_output().stderr.clone()).unwrap();
    assert!(refused.contains("expedition.rates.ashore_per_person_day"), "{refused}");
}

/// A diver who comes on the second day for diving and leaves after the third is paid for two days; the others for all.
#[test]
fn people_are_paid_for_their_own_days() {
    let fifth =
        "[[diver]]\nname = \"Solo\"\ndepth_m = 30\nfrom_day = 2\nto_day = 3\n[[target]]\nindicator = \"rugosity\"";
    let pairs = "pairs = [[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]\nstandby = ";
    let with = with_rates("").replace("standby = ", pairs).replacen("[[target]]\nindicator = \"rugosity\"", fifth, 1);
    let answer = answer(&with, &[]);
    let plan = &answer["all"];
    let people = plan["cost"]["items"].as_array().unwrap().iter().find(|item| item["of"] == "person_days").unwrap();
    let days = 2.0 + number(&plan["days"]);
    assert!(number(&plan["days"]) >= 3.0);
    assert_eq!(number(&people["number"]), 6.0 * days + 2.0, "{people}");
    assert!((number(&plan["cost"]["total"]) - by_hand(plan) - 200.0).abs() < 1e-6, "{}", plan["cost"]);
    // The days that are booked besides cost what those aboard then cost.
    let book = &answer["book"][0];
    let more = number(&book["to_book"]) - number(&book["needs"]);
    assert!((number(&book["money"][1]) - number(&book["money"][0]) - 1600.0 * more).abs() < 1e-6);
}

/// Money decides between plans of one effort; where it comes first no plan costs less, and effort may be more.
#[test]
fn the_least_may_be_that_of_least_money() {
    let [effort, money] = ["", "least = \"money\"\n"].map(|least| answer(&with_rates(least), &[])["all"].clone());
    let total = |plan: &Value| number(&plan["cost"]["total"]);
    assert!(total(&money) <= total(&effort) + 1e-6, "{money} {effort}");
    assert!(number(&effort["days"]) <= number(&money["days"]));
    let without = answer(EXPEDITION, &[])["all"].clone();
    assert_eq!([&effort["days"], &effort["team_dives"]], [&without["days"], &without["team_dives"]]);
}

/// Where no rates are told nothing is said of money in any file; where they are, the proposal has the numbers of the JSON.
#[test]
fn nothing_of_money_without_rates_and_the_proposal_has_the_numbers_of_the_run() {
    let folder = TempDir::new().unwrap();
    let out = run(&folder, EXPEDITION, &["--out", "plan"]).success().get_output().stdout.clone();
    let mut texts = vec![String::from_utf8(out).unwrap()];
    for entry in fs::read_dir(folder.path().join("plan")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            texts.push(String::from_utf8(fs::read(&path).unwrap()).unwrap());
        }
    }
    assert!(texts.len() > 10);
    for text in &texts {
        let text = text.to_lowercase();
        for word in ["money", "currency", "laboratory", "\"cost\"", "crowns"] {
            assert!(!text.contains(word), "{word}: {}", &text[..text.len().min(400)]);
        }
    }
    let out = run(&folder, &with_rates(""), &["--out", "paid"]).success().get_output().stdout.clone();
    let screen = String::from_utf8(out).unwrap();
    let read = |name: &str| fs::read_to_string(folder.path().join("paid").join(name)).unwrap();
    let json: Value = serde_json::from_str(&read("budget.json")).unwrap();
    let plan = &json["answer"];
    let total = number(&plan["cost"]["total"]).round();
    let shown = format!("{},{:03} crowns", (total / 1000.0).floor(), total % 1000.0);
    let page = read("proposal.md");
    for text in [&screen, &page, &read("proposal.txt"), &read("proposal_1500.txt"), &read("budget.html")] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(&shown), "{shown}\n{text}");
    }
    let count = |key: &str| number(&plan[key]);
    for words in [
        format!(
            "{} team dives, {} pair-dives and {} dives of divers",
            count("team_dives"),
            count("pair_dives"),
            2.0 * count("pair_dives")
        ),
        format!("{} days for diving", count("days")),
        format!("seed {}", json["seed"]),
        format!("of {} designs,", json["searched"]["designs"]),
    ] {
        assert!(page.contains(&words), "{words}\n{page}");
    }
    for margin in json["margins"].as_array().unwrap() {
        let name = format!("{} ", margin["indicator"].as_str().unwrap());
        let told = &page[page.find("What it shows").unwrap()..];
        let shown = told.split(&name).nth(1).and_then(|rest| rest.split_whitespace().next()).unwrap();
        let shown: f64 = shown.parse().unwrap_or_else(|_| panic!("{shown}\n{page}"));
        // Cut to the digits that its error supports.
        assert!((shown - 100.0 * number(&margin["power"])).abs() < 0.51, "{name} {shown}\n{page}");
    }
    for (name, most) in [("proposal_500.txt", 500), ("proposal_1500.txt", 1500)] {
        assert!(read(name).chars().count() <= most);
    }
    assert!(page.contains("It is no dive plan; the diving officer decides every dive."));
}

/// What so much money buys: never more than there is, told beside the other plans, and put on days where that is asked; the
/// best use of the days too.
#[test]
fn money_and_days_can_be_used_at_their_best() {
    let text = |keys: &str| {
        let rates = "[expedition.rates]\ncurrency = \"crowns\"\nfixed = 2000\nper_day = 900\nper_person_day = 100\nper_dive = 12\n";
        let with = EXPEDITION.replace("[expedition]\n", &format!("[expedition]\n{keys}"));
        with.replace("[[diver]]\nname = \"Ines\"", &format!("{rates}[[diver]]\nname = \"Ines\""))
    };
    let weakest = |plan: &Value| {
        let margins = plan["margins"].as_array().unwrap().iter();
        margins.map(|margin| number(&margin["margin"])).fold(f64::INFINITY, f64::min)
    };
    let usual = answer(&text(""), &[]);
    assert!(usual["for_money"].is_null());
    let costs = number(&usual["all"]["cost"]["total"]);
    // A little less than all targets take, and more than they take.
    let less = answer(&text(&format!("money = {}\nschedule = \"best_of_money\"\n", (0.97 * costs).round())), &[]);
    let bought = &less["for_money"]["plan"];
    assert!(number(&bought["cost"]["total"]) <= 0.97 * costs + 1.0, "{bought}");
    assert!(weakest(bought) < 1.0 && number(&bought["days"]) <= 10.0, "{bought}");
    assert_eq!(less["answer"]["plan"], "best_use_of_money");
    assert_eq!(less["answer"]["days"], bought["days"]);
    let last = rows(&less).iter().map(|row| number(&row["day"])).fold(0.0, f64::max);
    assert_eq!(last, number(&bought["days"]));
    assert!(bought["margins"].as_array().unwrap().iter().any(|margin| !margin["seen"].is_null()), "{bought}");
    let more = answer(&text(&format!("money = {}\n", (1.1 * costs).round())), &[]);
    assert!(weakest(&more["for_money"]["plan"]) >= 1.0);
    assert_eq!(more["answer"]["plan"], "all_targets");
    let days = answer(&text("schedule = \"best_of_days\"\n"), &[]);
    assert_eq!(days["answer"]["plan"], "best_use");
    assert_eq!(days["answer"]["days"], days["best"]["days"]);
    assert!(weakest(&days["best"]) >= weakest(&days["all"]));
    // Too little for the fewest sites, and what is written without what it needs.
    let folder = TempDir::new().unwrap();
    let poor = run(&folder, &text("money = 100\n"), &[]).success().get_output().stdout.clone();
    let poor = String::from_utf8(poor).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(poor.contains("It buys 100 crowns do not pay for the fewest sites on one visit, which cost "), "{poor}");
    let refused = |text: &str| {
        let out = run(&folder, text, &[]).code(2).get_output().stderr.clone();
        String::from_utf8(out).unwrap()
    };
    assert!(refused(&EXPEDITION.replace("[expedition]\n", "[expedition]\nmoney = 5\n")).contains("expedition.money"));
    assert!(refused(&text("schedule = \"best_of_money\"\n")).contains("expedition.schedule"));
}
