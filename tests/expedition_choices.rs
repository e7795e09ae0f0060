//! What a plan of an expedition chooses, and that it is told truly: the method that tells an indicator, the crew of its days, the
//! days that money pays for.

mod common;

use common::bank::{self, QUIET as BANK};
use reefwright::planner::expedition::{BudgetAnswer, BudgetPlan};
use reefwright::report::BudgetReport;
use reefwright::scenario::Loaded;

fn answer(text: &str) -> (BudgetAnswer, Loaded) {
    bank::answer(text, 16)
}

/// What stands on the screen, its lines joined.
fn screen(answer: BudgetAnswer, loaded: &Loaded) -> String {
    words(&BudgetReport::new(loaded, loaded.expedition.as_ref().unwrap(), answer, 7).terminal(None))
}

/// The text with line ends as blanks.
fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Hard coral by lines and by photographs, with the minutes to read a unit of each.
fn cover(lines: Option<f64>, photographs: Option<f64>) -> String {
    let of = |name: &str, more: &str, minutes: Option<f64>| {
        minutes.map_or(String::new(), |minutes| {
            format!(
                "[[method.{name}]]\nlength_m = 5\n{more}units = \"1..3\"\nlay_minutes = 2\nread_minutes = {minutes}\n"
            )
        })
    };
    let methods = of("point_intercept", "spacing_m = 0.5\n", lines)
        + &of("photo_quadrats", "frames = FRAMES\npoints = POINTS\n", photographs);
    let (start, end) = (BANK.find("[[method.other]]").unwrap(), BANK.find("[expedition]").unwrap());
    let text = format!("{}{methods}{}", &BANK[..start], &BANK[end..]);
    text.replace("indicator = \"rugosity\"\nsee = true", "indicator = \"hard_coral\"\ncv_percent = 16")
}

/// Whichever method is listed first, the plan is that of the better one alone; what the other would take is told.
#[test]
fn an_indicator_is_told_by_the_method_that_takes_least() {
    for (lines, photographs, better) in [(14.0, 6.0, "photo_quadrats"), (6.0, 14.0, "point_intercept")] {
        let is_photographs = better == "photo_quadrats";
        let cover = |lines, photographs| {
            let (frames, points) = if is_photographs { ("5", "10") } else { ("2", "3") };
            cover(lines, photographs).replace("FRAMES", frames).replace("POINTS", points)
        };
        let (both, loaded) = answer(&cover(Some(lines), Some(photographs)));
        let by_lines = answer(&cover(Some(lines), None)).0.all.unwrap();
        let by_photographs = answer(&cover(None, Some(photographs))).0.all.unwrap();
        let (best, other) = if is_photographs { (by_photographs, by_lines) } else { (by_lines, by_photographs) };
        assert!((best.days, best.team_dives) < (other.days, other.team_dives), "{best:?} {other:?}");
        let all = both.all.as_ref().unwrap();
        assert_eq!((all.days, all.team_dives, &all.site_set), (best.days, best.team_dives, &best.site_set));
        assert_eq!(both.told_by.len(), 2);
        for way in &both.told_by {
            let is_best = way.methods == [["hard_coral".to_owned(), better.to_owned()]];
            assert_eq!(way.is_planned, is_best);
            let takes = if is_best { &best } else { &other };
            assert_eq!(way.all, Some((takes.days, takes.team_dives)));
        }
        assert!(both.not_planned.is_empty() && !both.warnings.iter().any(|said| said.contains("No target")));
        let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), both, 7);
        let (first, all) = (words(&report.terminal(None)), words(&report.all_text()));
        assert!(first.contains("Hard coral is told by photo") == is_photographs, "{first}");
        assert!(first.contains("the best of 2 ways by formula"), "{first}");
        let takes = |plan: &BudgetPlan| format!("{} days, {} team dives for all targets", plan.days, plan.team_dives);
        let otherwise = format!("By formula: {}, told so; {} with hard coral by ", takes(&best), takes(&other));
        assert!(all.contains(&otherwise), "{otherwise}\n{all}");
    }
    // Lines that fit into no dive are told with that.
    let (no_lines, loaded) = answer(&cover(Some(60.0), Some(6.0)).replace("FRAMES", "5").replace("POINTS", "10"));
    let why = no_lines.told_by.iter().find(|way| !way.is_planned).unwrap().does_not_fit.clone().unwrap();
    assert!(why.contains("one of point intercept does not fit into a dive"), "{why}");
    let text = words(&BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), no_lines, 7).all_text());
    assert!(text.contains(&format!("out of reach with hard coral by point-intercept lines ({why})")), "{text}");
    // One method alone is compared with nothing.
    assert!(answer(&cover(Some(6.0), None)).0.told_by.is_empty());
}

/// A count of all that swims in is more precise for what it takes, once it is divided by the many times that it writes what is there.
/// It is not planned where a belt that writes about what is there will do; where a belt is out of reach, it is.
#[test]
fn a_level_is_told_by_the_method_that_writes_about_what_is_there() {
    let fish = "[[zone.fish]]\nname = \"slate_jack\"\ndensity_per_100_m2 = 60\nlength_cm = 20\nspeed_m_s = 0.1\n";
    let whole = "[[method.fish_belt]]\nlength_m = 4\nwidth_m = 1\nswim_minutes = 4\ncounting = \"whole_swim\"\nunits = \"1..3\"\n";
    let circle = |minutes: usize| {
        format!("[[method.fish_point_count]]\nradius_m = 1.2\nminutes = {minutes}\nunits = \"1..3\"\nlay_minutes = 5\n")
    };
    let target = "[[target]]\nindicator = \"slate_jack\"\ncv_percent = 30\n[[change]]";
    let text = |minutes: usize| {
        let text = BANK.replace("[zone.dive]", &format!("{fish}[zone.dive]"));
        text.replacen("[[change]]", &format!("{whole}{}{target}", circle(minutes)), 1)
    };
    let (both, loaded) = answer(&text(8));
    let planned = both.told_by.iter().find(|way| way.is_planned).unwrap();
    assert_eq!(planned.methods, [["slate_jack".to_owned(), "fish_point_count".to_owned()]]);
    let other = both.told_by.iter().find(|way| !way.is_planned).unwrap();
    let (of, writes) = other.writes.clone().unwrap();
    assert!(of == "slate_jack" && writes > 1.5, "{other:?}");
    assert!(other.all.unwrap() < planned.all.unwrap(), "{:?}", both.told_by);
    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), both, 7);
    let all = words(&report.all_text());
    assert!(all.contains("times what is there of slate jack, and is not chosen for that"), "{all}");
    let (one, _) = answer(&text(50));
    let planned = one.told_by.iter().find(|way| way.is_planned).unwrap();
    assert_eq!(planned.methods, [["slate_jack".to_owned(), "fish_belt".to_owned()]]);
    assert!(one.told_by.iter().all(|way| way.writes.is_none()), "{:?}", one.told_by);
}

/// Who leaves after the last day of a plan is aboard on all of its days; who leaves before is missed, and the price is told.
#[test]
fn a_plan_goes_by_those_who_are_aboard_on_its_days() {
    let leaving = |day: usize| BANK.replace("name = \"Ruan\"", &format!("name = \"Ruan\"\nto_day = {day}"));
    let (stays, _) = answer(BANK);
    let days = stays.all.as_ref().unwrap().days;
    assert!((3..19).contains(&days), "{days}");
    let (after, loaded) = answer(&leaving(days));
    let told = |answer: &BudgetAnswer| {
        let all = answer.all.as_ref().unwrap();
        (all.days, all.team_dives, all.pair_dives, all.site_set.clone())
    };
    assert_eq!(told(&after), told(&stays));
    for day in 0..days {
        let merit = |of: &BudgetAnswer| of.frontier[day].plan.as_ref().map(|plan| plan.margins[0].margin);
        assert_eq!(merit(&after), merit(&stays), "{day}");
    }
    let stay = "Ruan stays to the end";
    assert!(after.what_ifs.iter().any(|what| what.what == stay && what.all == after.what_ifs[0].all));
    assert!(screen(after, &loaded).contains("if Ruan stays to the end: all targets"));
    // By stretches of the crew the last day alone may be no dearer without him; from the third day on he is missed.
    for day in [2, days - 1] {
        let (before, _) = answer(&leaving(day));
        let with_ruan = before.what_ifs.iter().find(|what| what.what == stay).unwrap().all.unwrap();
        assert_eq!(with_ruan, stays.what_ifs[0].all.unwrap());
        let is_dearer = |now| now > with_ruan || day > 2 && now == with_ruan;
        assert!(before.what_ifs[0].all.is_none_or(is_dearer), "{day}: {:?}", before.what_ifs[0]);
    }
    // Nothing is asked of those who stay anyway.
    assert!(!stays.what_ifs.iter().any(|what| what.what == stay));
}

/// Money of a plan is one, wherever it is told: of the plan, of what stands beside the what-ifs and of the best use of other
/// days, each by the crew that is aboard on its days. (By the crew that is left after day 8 work with this skill takes more
/// dives.)
#[test]
fn money_is_that_of_the_crew_of_the_plan() {
    let start = BANK.find("[[diver]]").unwrap();
    let end = BANK.find("[[target]]").unwrap();
    let rates = "[expedition.rates]\ncurrency = \"crowns\"\nper_day = 1000\nper_person_day = 120\nper_dive = 130\n";
    let divers = [
        ("Ines", "skills = [\"fish\"]\nto_day = 8\n"),
        ("Odo", "skills = [\"fish\"]\n"),
        ("Pia", "skills = [\"fish\"]\n"),
        ("Ruan", "to_day = 8\n"),
        ("Sia", "skills = [\"fish\"]\n"),
        ("Tove", ""),
        ("Uma", ""),
        ("Vito", ""),
    ];
    let divers = divers.map(|(name, more)| format!("[[diver]]\nname = \"{name}\"\ndepth_m = 35\n{more}")).concat();
    let grazers = "[[method.other]]\nindicator = \"grazers\"\nunit = \"kg\"\nmean = 200\nscale = \"ln\"\nbetween_sites = 0.3\n\
                   site_year = 0.1\nbetween_units = 0.8\nunits = \"1..4\"\nlay_minutes = 0\nread_minutes = 14\n\
                   work = { skill = \"fish\" }\n[[target]]\nindicator = \"grazers\"\ncv_percent = 18\n[[change]]";
    let text = format!("{}{rates}{divers}{}", &BANK[..start], &BANK[end..]);
    let text = text.replacen("[[change]]", grazers, 1).replace("read_minutes = 9", "read_minutes = 6");
    let (answer, _) = answer(&text.replace("to = 126", "to = 120"));
    let all = answer.all.as_ref().unwrap();
    let paid = |plan: &BudgetPlan| plan.cost.as_ref().unwrap().total;
    assert!(all.days <= 8, "{}", all.days);
    assert_eq!(answer.what_ifs[0].all, Some((all.days, all.team_dives)));
    assert_eq!(answer.what_ifs[0].money_for_all, Some(paid(all)));
    assert_eq!(answer.what_ifs[0].money_for_musts, answer.musts.as_ref().map(paid));
    assert_eq!(answer.margin_ifs[0].money, Some(paid(all)));
    let of_days = |days: usize| answer.frontier[days - 1].plan.as_ref().map(paid);
    let others: Vec<_> = answer.margin_ifs.iter().filter(|of| of.what.starts_with("the best use of one day")).collect();
    assert_eq!(others.len(), 2);
    for (other, days) in others.into_iter().zip([all.days - 1, all.days + 1]) {
        assert_eq!(other.money, of_days(days), "{other:?}");
    }
}

/// Chances and the calendar of the best use of money are of the days that it pays for.
#[test]
fn money_is_told_with_the_days_it_pays_for() {
    let rates = "money = 6500\nschedule = \"best_of_money\"\n[expedition.rates]\ncurrency = \"crowns\"\nper_day = 1000\n[[diver]]";
    let (answer, loaded) = answer(&BANK.replacen("[[diver]]", rates, 1));
    let money = answer.for_money.as_ref().unwrap();
    let plan = money.plan.as_ref().unwrap();
    // Two of the days that are paid are under way.
    assert_eq!((money.days_paid, answer.days_there(), answer.bookable_days), (4, 4, 20));
    let last = answer.season.as_ref().unwrap().in_hand.last().unwrap();
    let chance: f64 = (0..=4 - plan.days)
        .map(|lost| [1.0, 4.0, 6.0, 4.0][lost] * 0.1f64.powi(lost as i32) * 0.9f64.powi(4 - lost as i32))
        .sum();
    assert!((last.chance.unwrap() - chance).abs() < 1e-12, "{last:?} {chance}");
    let of_days: Vec<(usize, &str)> = answer.calendar.iter().map(|days| (days.days, days.what)).collect();
    assert!(of_days.contains(&(4, "for diving")) && of_days.iter().map(|(days, _)| days).sum::<usize>() == 22);
    let text = screen(answer.clone(), &loaded);
    assert!(text.contains("of the 4 days that the money pays for are left"), "{text}");
    assert!(!text.contains("buy at best"));
}

/// Where simulation of the best use of the days misses nothing, the headline does not say that all targets take more days.
#[test]
fn a_close_call_is_said_in_the_headline() {
    let (mut answer, loaded) = answer(BANK);
    let bookable = answer.bookable_days;
    let mut best = answer.all.clone().unwrap();
    best.days = bookable;
    for (seen, is_close) in [(0.79, true), (0.5, false)] {
        best.margins[0].seen = Some((seen, 0.02));
        answer.best = Some(best.clone());
        answer.all.as_mut().unwrap().days = bookable + 1;
        answer.musts.as_mut().unwrap().days = bookable - 1;
        let text = screen(answer.clone(), &loaded);
        assert_eq!(text.contains("All targets are a close call"), is_close, "{text}");
        assert_eq!(text.contains("all targets would take"), !is_close, "{text}");
    }
}

/// A better use of the same days is not taken without a word.
#[test]
fn why_the_best_use_is_not_taken_is_said() {
    let (mut answer, loaded) = answer(BANK);
    let days = answer.all.as_ref().unwrap().days;
    let mut better = answer.all.clone().unwrap();
    better.team_dives += 3;
    better.margins.iter_mut().for_each(|margin| margin.margin *= 1.1);
    answer.frontier[days - 1].plan = Some(better);
    let text = screen(answer, &loaded);
    assert!(text.contains("for 3 team dives more: not taken, because the plan is the least"), "{text}");
}
