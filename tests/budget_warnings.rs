//! Every warning of a budget rings where it must and is silent where it must be, and no output drops one.

mod common;

use common::bank::{self, QUIET};
use reefwright::planner::expedition::BudgetAnswer;
use reefwright::report::{BudgetReport, budget_files};
use reefwright::scenario::{Loaded, load_text};

fn answer(text: &str) -> (BudgetAnswer, Loaded) {
    bank::answer(text, 8)
}

fn warnings(text: &str) -> Vec<String> {
    answer(text).0.warnings
}

/// What is written instead of what, and words of the warning that then rings.
const LOUD: [(&str, &str, &str); 24] = [
    ("bottom_minutes = 44", "bottom_minutes = 49", "wall: The planned bottom time of 49 min at 20 m is longer"),
    ("bottom_minutes = 44", "bottom_minutes = 49", "No schedule and no sheets are made: in wall the bottom time"),
    ("depth_m = 20", "depth_m = 31\nwork_minutes = 30", "31 m is deeper than 100 feet"),
    ("bottom_minutes = 44", "bottom_minutes = 44\ncurrent_knots = 1.5", "wall: a current of 1.5 knots"),
    (
        "[[diver]]\nname = \"Ines\"",
        "gas = { litres_a_minute = 22, cylinder_litres = 12, fill_bar = 200, reserve_bar = 60 }\n[[diver]]\nname = \"Ines\"",
        "wall: one cylinder is used down to 60 bar",
    ),
    ("bottom_minutes = 44", "bottom_minutes = 16\nleast_sites = 3", "wall: one of rugosity takes"),
    ("dives_a_day = 2", "dives_a_day = 4", "4 dives a day of each diver is more"),
    ("dives_a_day = 2", "dives_a_day = 5", "5 dives a day of each diver is far more"),
    (
        "sites_a_day = 2",
        "day_minutes = 480\nout_and_home_minutes = 60\nbetween_sites_minutes = 20\nsurface_interval_minutes = 45\n\
         around_a_dive_minutes = 25",
        "45 minutes at the surface",
    ),
    ("standby = \"crew\"", "standby = \"crew\"\nflight_hours_after_last_dive = 17", "ends 17 hours before departure"),
    ("depth_m = 35\n[[target]]", "[[target]]", "is not told of Ruan"),
    ("depth_m = 35\n[[target]]", "depth_m = 10\n[[target]]", "wall: 1 of 2 pairs is not authorised to 20 m and waits"),
    (
        "[[diver]]\nname = \"Pia\"\ndepth_m = 35\n[[diver]]\nname = \"Ruan\"\ndepth_m = 35\n",
        "",
        "2 divers to a boat and at least one of the crew",
    ),
    ("[[target]]", "[[diver]]\nname = \"Solo\"\ndepth_m = 30\n[[target]]", "has no partner and does not dive"),
    ("standby = \"crew\"", "standby = \"crew\"\npairs = [[\"Ines\", \"Odo\"]]", "has no partner and does not dive"),
    ("\"crew\"", "\"as_the_diving_officer_decides\"", "Who stands by is left"),
    ("days = 22", "days = 8", "nothing is left for bad luck"),
    ("days = 22", "days = 9", "little is left for bad luck"),
    ("lost_days_percent = 10\n", "", "Days lost to weather are not told"),
    ("lost_days_percent = 10", "lost_days_percent = 0", "No day counts as lost"),
    ("most_sites = 14", "most_sites = 14\nleast_sites = 2", "With two sites in a zone"),
    (
        "[[change]]",
        "[[method.point_intercept]]\nlength_m = 2\n[[change]]",
        "No target asks for what point intercept reads",
    ),
    ("units = \"1..6\"", "units = 2", "as many units of rugosity at a site as were looked at (2)"),
    (
        "[[change]]",
        "[[method.other]]\nindicator = \"grazers\"\nunit = \"kg\"\nmean = 200\nscale = \"ln\"\nbetween_sites = 0.3\n\
         site_year = 0.1\nbetween_units = 0.4\nunits = \"1..3\"\nlay_minutes = 0\nread_minutes = 8\n[method.other.work]\n\
         first = true\nothers_wait_minutes = 5\n[[target]]\nindicator = \"grazers\"\ncv_percent = 40\n[[change]]",
        "grazers: other work is begun at the site while it is done",
    ),
];

#[test]
fn every_warning_rings_and_is_silent() {
    let quiet = warnings(QUIET);
    assert_eq!(quiet.len(), 1, "{quiet:?}");
    assert!(quiet[0].contains("as if it were the first"));
    for (old, new, words) in LOUD {
        assert!(QUIET.contains(old), "{old}");
        let told = warnings(&QUIET.replacen(old, new, 1));
        assert!(told.iter().any(|warning| warning.contains(words)), "{words}: {told:?}");
        assert!(!quiet[0].contains(words));
        let lower = told.concat().to_lowercase();
        assert!(!["safe", "complian", "approved", "allowed"].iter().any(|word| lower.contains(word)), "{lower}");
    }
    // Fish that swim in are written too often, and that hides in a narrow error; fish that stay are not.
    let fish = |speed: &str| {
        let group = format!("[[zone.fish]]\nname = \"slate_parrot\"\ndensity_per_100_m2 = 60\nlength_cm = 20\n{speed}");
        let target = "[[target]]\nindicator = \"slate_parrot\"\ncv_percent = 60\n[[change]]";
        let belt =
            format!("[[method.fish_belt]]\nlength_m = 4\nwidth_m = 1\nswim_minutes = 4\nunits = \"1..3\"\n{target}");
        let text = QUIET.replace("[zone.dive]", &format!("{group}[zone.dive]"));
        warnings(&text.replacen("[[change]]", &belt, 1))
    };
    let told = |warnings: &[String]| warnings.iter().any(|warning| warning.contains("slate parrot: "));
    assert!(told(&fish("speed_m_s = 0.1\n")), "{:?}", fish("speed_m_s = 0.1\n"));
    assert!(!told(&fish("")), "{:?}", fish(""));
    // The best use of the days takes them all.
    let best = QUIET.replacen("standby = \"crew\"", "schedule = \"best_of_days\"\nstandby = \"crew\"", 1);
    assert!(
        warnings(&best).iter().any(|warning| warning.contains("The plan takes 19 of 20 days")),
        "{:?}",
        warnings(&best)
    );
    // One dive a day has no later one.
    let one = QUIET.replace("dives_a_day = 2\nsites_a_day = 2", "dives_a_day = 1\nsites_a_day = 1");
    assert!(!warnings(&one).iter().any(|warning| warning.contains("as if it were the first")));
    // Two kinds of work that both come first, by one diver, do not fit into the first dive together.
    let first = "first = true\nothers_wait_minutes = 10\nskill = \"all\"\n";
    let two = LOUD[23].1.replace("read_minutes = 8", "read_minutes = 20");
    let two = two.replace("first = true\nothers_wait_minutes = 5\n", first);
    let two = format!("[method.other.work]\n{first}{two}");
    let text = QUIET.replacen("[[change]]", &two, 1).replace("read_minutes = 9", "read_minutes = 19");
    let told = warnings(&text.replace("name = \"Ines\"", "name = \"Ines\"\nskills = [\"all\"]"));
    assert!(told.iter().any(|warning| warning.contains("one unit of everything takes more team dives")), "{told:?}");
}

/// The deeper site of a day comes first, so that no plan of this program needs the caution.
#[test]
fn deeper_sites_come_first_within_a_day() {
    let (answer, _) = answer(QUIET);
    let mut both = 0;
    for day in 1..=answer.schedule.iter().map(|row| row.day).max().unwrap() {
        let of_day = answer.schedule.iter().filter(|row| row.day == day);
        let zones: Vec<&str> = of_day.map(|row| row.zone.as_str()).collect();
        let is_sorted = zones.windows(2).all(|pair| pair[0] == pair[1] || (pair[0], pair[1]) == ("wall", "rim"));
        assert!(is_sorted, "{zones:?}");
        both += usize::from(zones.contains(&"wall") && zones.contains(&"rim"));
    }
    assert!(both > 0, "some day has sites of both");
    assert!(!answer.warnings.iter().any(|warning| warning.contains("follows one to")));
}

#[test]
fn no_output_drops_a_warning() {
    let text = QUIET.replace("dives_a_day = 2", "dives_a_day = 4").replace("lost_days_percent = 10\n", "");
    let (answer, loaded) = answer(&text);
    let warnings = answer.warnings.clone();
    assert!(warnings.len() > 2, "{warnings:?}");
    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer, 7);
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    // The short forms of the proposal show no dive, and publications are no output of a plan.
    let short = ["proposal_500.txt", "proposal_1500.txt", "proposal.bib"];
    let is_full = |name: &str| !name.starts_with("figures") && !short.contains(&name);
    let texts = budget_files(&report).unwrap().into_iter().filter(|(name, _)| is_full(name));
    let texts = texts.map(|(name, bytes)| (name, String::from_utf8(bytes).unwrap()));
    for (name, output) in texts.chain([("screen".to_owned(), report.terminal(None))]) {
        for warning in &warnings {
            assert!(words(&output).contains(&words(warning)), "{name}: {warning}\n{output}");
        }
    }
}

/// The sheets of the days of a budget, in their order, with the days.
fn day_sheets(report: &BudgetReport) -> Vec<(usize, String)> {
    let files = budget_files(report).unwrap();
    let (_, bytes) = files.into_iter().find(|(name, _)| name == "sheets.html").expect("sheets");
    let page = String::from_utf8(bytes).unwrap();
    let of_day = |sheet: &str| {
        let day = sheet.split("Quill Bank: Day ").nth(1)?.split(',').next()?.parse().ok()?;
        Some((day, sheet.to_owned()))
    };
    page.split("<section class=\"sheet\">").filter_map(of_day).collect()
}

/// The hours to a flight stand with the last dives, whether they are shorter than advised, not, or not told.
#[test]
fn hours_to_a_flight_stand_with_the_last_dives() {
    for (hours, words, is_shorter) in [
        (Some("17"), "Shorter than advised: The last dive ends 17 hours before departure", Some(true)),
        (Some("18"), "By the scenario the last dive ends 18 hours before departure", Some(false)),
        (None, "How long after the last dive anybody flies is not told", None),
    ] {
        let line = hours.map_or(String::new(), |hours| format!("\nflight_hours_after_last_dive = {hours}"));
        let (answer, loaded) = answer(&QUIET.replace("standby = \"crew\"", &format!("standby = \"crew\"{line}")));
        let is_remarked = loaded.remarks.iter().any(|remark| remark.contains("hours before departure"));
        assert_eq!(is_remarked, is_shorter == Some(true), "{:?}", loaded.remarks);
        let last = answer.schedule.iter().map(|row| row.day).max().unwrap();
        let told = answer.flight.clone().unwrap();
        assert_eq!((told.day, told.is_shorter, told.hours_advised), (last, is_shorter, 18.0));
        assert!(told.told.starts_with(words), "{told:?}");
        let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer, 7);
        let schedule = report.schedule_text().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(schedule.contains(words) && schedule.contains("It promises nothing."), "{schedule}");
        assert!(report.json().contains("\"hours_advised\": 18.0") && report.json().contains(words));
        let sheets = day_sheets(&report);
        assert!(sheets.len() > 1);
        for (day, sheet) in sheets {
            assert_eq!(sheet.contains(words), day == last, "{day}: {sheet}");
        }
    }
}

/// What is warned of the gas of a zone stands on the sheet of every day with dives there, and on no other but the first, which
/// has all.
#[test]
fn gas_is_warned_of_on_the_sheets_of_the_dives_it_touches() {
    let (answer, loaded) = answer(&QUIET.replacen(LOUD[4].0, LOUD[4].1, 1));
    let words = answer.warnings.iter().find(|warning| warning.starts_with(LOUD[4].2)).unwrap().clone();
    let there = |day: usize| answer.schedule.iter().any(|row| (row.day, row.zone.as_str()) == (day, "wall"));
    let days_there: Vec<usize> = (2..=22).filter(|&day| there(day)).collect();
    assert!(days_there.len() > 1, "{days_there:?}");
    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer.clone(), 7);
    for (day, sheet) in day_sheets(&report) {
        assert_eq!(sheet.contains(&words), day == 1 || there(day), "{day}: {sheet}");
    }
}

/// One cylinder for each diver and dive of the schedule, and none where nothing is told of gas.
#[test]
fn cylinders_are_counted() {
    assert!(answer(QUIET).0.cylinders.is_none());
    let (answer, _) = answer(&QUIET.replacen(LOUD[4].0, LOUD[4].1, 1));
    let count = answer.cylinders.unwrap();
    assert_eq!(count.fills, 2 * answer.all.unwrap().pair_dives);
    let most = (1..=22).map(|day| {
        let of_day = answer.schedule.iter().filter(|row| row.day == day);
        of_day.map(|row| (row.team_dive, &row.diver)).collect::<std::collections::BTreeSet<_>>().len()
    });
    assert_eq!(count.most_a_day, most.max().unwrap());
    assert!(count.caution.contains("no reserve calculation"));
    // 12 l x 140 bar by 22 l a minute at 3 bar.
    assert!((count.minutes[1].1 - 1680.0 / 66.0).abs() < 1e-9);
}

/// Two changes that are read by components are drawn independently: their chance together is the product, within the
/// simulation's error, and always within the bounds of their single chances.
#[test]
fn chances_together_are_within_their_bounds() {
    let two = LOUD[23].1.replace(
        "[[target]]\nindicator = \"grazers\"\ncv_percent = 40",
        "[[target]]\nindicator = \"grazers\"\nsee = true\n[[change]]\nindicator = \"grazers\"\nfrom = 200\nto = 120",
    );
    let text = QUIET.replace("[[change]]\nindicator = \"rugosity\"", &format!("{two}\nindicator = \"rugosity\""));
    let loaded = load_text("bank.toml", &text).unwrap_or_else(|error| panic!("{}", error.render()));
    let answer = bank::of_loaded(&loaded, (11, 4000));
    let found = answer.all.unwrap();
    let joint = found.joint.unwrap();
    assert_eq!(joint.drawn_independently, ["rugosity", "grazers"]);
    assert!(joint.musts_seen.is_none(), "one must alone");
    for (what, of) in [("seen", joint.all_seen.unwrap()), ("rings", joint.any_false_alarm.unwrap())] {
        let (chance, error) = of.chance;
        assert_eq!(of.tests, 2);
        assert!((of.bounds.0..=of.bounds.1).contains(&chance), "{what} {of:?}");
        assert!((chance - of.if_independent).abs() < 4.0 * error, "{what} {of:?}");
    }
    let shared = joint.shared_alpha.unwrap();
    assert!((shared.alpha - 0.025).abs() < 1e-12 && shared.seen.iter().all(|(_, now, then)| then < now), "{shared:?}");
    for ((_, now, _), margin) in shared.seen.iter().zip(&found.margins) {
        assert!((now - margin.seen_by_sites.unwrap()[0]).abs() < 1e-9);
    }
}
