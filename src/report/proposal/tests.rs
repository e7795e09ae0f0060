use super::*;
use crate::budget::{cautions, diving};
use crate::planner::expedition::{Cost, CostItem, CostOf, Flight};
use crate::report::budget::synthetic;
use crate::scenario::{Assumption, Matter, Origin};
use std::collections::BTreeSet;

fn all() -> [(&'static str, BudgetReport); 3] {
    [("usual", synthetic::usual()), ("crowded", synthetic::crowded()), ("hopeless", synthetic::hopeless())]
}

fn file(report: &BudgetReport, name: &str) -> String {
    proposal(report).into_iter().find(|(known, _)| *known == name).map(|(_, text)| text).unwrap()
}

/// Whatever there is to be said, the short forms are never longer than told, begin as they must, and cut no sentence.
#[test]
fn short_forms_keep_their_length() {
    for (name, report) in all() {
        for (file_name, most) in [("proposal_500.txt", 500), ("proposal_1500.txt", 1500)] {
            let text = file(&report, file_name);
            assert!(text.chars().count() <= most, "{name} {file_name} {}", text.chars().count());
            let fits = report.answer.scheduled().is_some();
            assert!(text.trim().ends_with('.') || !fits && text.trim().is_empty(), "{name} {text}");
            assert_eq!(text.contains(sentences::NO_DIVE_PLAN), fits, "{name} {text}");
        }
        assert!(file(&report, "proposal_1500.txt").starts_with(report.caution), "{name}");
        let short = file(&report, "proposal_500.txt");
        assert!(!short.contains("pair-dive") && !short.contains("team dive"), "{name} {short}");
        for (name, text) in proposal(&report) {
            assert!(!text.contains("NaN") && !text.contains("inf "), "{name} {text}");
        }
    }
}

/// What stands before the annex is a page, whatever there is to be said; what it has no room for begins the annex, what matters least
/// first of all.
#[test]
fn the_page_is_a_page() {
    let mut is_cut = 0;
    for (name, report) in all() {
        let text = file(&report, "proposal.md");
        let (page, annex) = text.split_once("# Annex").unwrap();
        assert!(page.chars().count() <= 3600, "{name}: {}", page.chars().count());
        let said = sentences(&report);
        let (on_page, others): (Vec<&Said>, Vec<&Said>) = said.iter().partition(|said| page.contains(&said.text));
        assert!(others.iter().all(|said| annex.contains(&said.text)), "{name}");
        let least = on_page.iter().map(|said| said.rank).max();
        assert!(others.iter().all(|said| said.rank > 2), "{name} {least:?}");
        is_cut += usize::from(!others.is_empty());
        assert_eq!(annex.contains("What the page has no room for"), !others.is_empty(), "{name}");
    }
    assert!(is_cut > 0, "nothing is long enough to be cut");
}

/// The annex goes by zone and method, with one line for a default of several zones and none for what is nil.
#[test]
fn the_annex_is_in_order_and_without_what_is_nil() {
    let mut report = synthetic::usual();
    let of = |about: &str, value: &str| Assumption {
        matter: Matter::Life,
        about: about.into(),
        value: value.into(),
        origin: Origin::Assumed,
    };
    report.assumptions = vec![
        of("point intercept: moving on", "1 min"),
        of("fore slope: descent", "2 min (default)"),
        of("boats, all alike", "1 (default)"),
        of("crest: patches of urchin", "none (default)"),
        of("crest: descent", "2 min (default)"),
        of("crest: cover", "30 %"),
    ];
    let text = file(&report, "proposal.md");
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    let order = ["boats, all alike", "crest: cover", "crest, fore slope: descent: 2 min", "point intercept: moving on"];
    assert!(order.windows(2).all(|pair| place(pair[0]) < place(pair[1])), "{text}");
    assert!(!text.contains("patches of urchin") && text.contains("Left out here: "), "{text}");
    assert!(file(&report, "proposal_1500.txt").contains("in the annex of proposal.md"));
}

/// With ever less room sentences drop out and never come back in another order.
#[test]
fn what_matters_less_drops_out_first() {
    let report = synthetic::usual();
    let said = sentences(&report);
    for most in 1..2500 {
        let text = fit(&said, "", most, |_| true);
        assert!(text.chars().count() < most.max(2), "{most}");
        let places: Vec<usize> = said.iter().filter_map(|said| text.find(&said.text)).collect();
        assert!(places.windows(2).all(|pair| pair[0] < pair[1]), "{most}: {text}");
    }
    let all = fit(&said, "", 100_000, |_| true);
    assert!(said.iter().all(|said| all.contains(&said.text)));
}

/// The file of publications: braces in balance, keys each once, each entry with its braces closed before the next.
#[test]
fn publications_are_bibtex() {
    let mut report = synthetic::usual();
    let origins = ["Marlow {and} Quist 2031, 50 % of_all", "Marlow {and} Quist 2031, table 4", "pilot"];
    for (index, source) in origins.into_iter().enumerate() {
        report.assumptions.push(Assumption {
            matter: Matter::Life,
            about: format!("number {index}"),
            value: "8".into(),
            origin: Origin::Published(source.into()),
        });
    }
    for report in [report, synthetic::crowded(), synthetic::hopeless()] {
        let text = file(&report, "proposal.bib");
        let mut keys = BTreeSet::new();
        let mut depth = 0i32;
        for line in text.lines() {
            if line.starts_with('%') {
                continue;
            }
            if let Some(head) = line.strip_prefix('@') {
                assert_eq!(depth, 0, "{text}");
                let (kind, rest) = head.split_once('{').unwrap();
                assert!(["article", "book", "manual", "misc", "proceedings", "techreport"].contains(&kind), "{kind}");
                let key = rest.strip_suffix(',').unwrap();
                assert!(key.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-'), "{key}");
                assert!(keys.insert(key.to_owned()), "{key} twice\n{text}");
            }
            depth += line.matches('{').count() as i32 - line.matches('}').count() as i32;
            assert!(depth >= 0, "{text}");
        }
        assert_eq!(depth, 0, "{text}");
    }
}

/// Names of sources in a text: those of authors before a year, and institutions.
fn sources(text: &str) -> BTreeSet<String> {
    let words: Vec<&str> = text.split_whitespace().map(|word| word.trim_matches(['(', ')', ',', ';', ':'])).collect();
    let is_year = |word: &str| word.len() == 4 && (1900..2030).contains(&word.parse().unwrap_or(0));
    let mut all = BTreeSet::new();
    for place in 3..words.len() {
        let [author, and, other, year] = [0, 1, 2, 3].map(|at| words[place - 3 + at]);
        let is_of_authors = (and, other) == ("et", "al.") || and == "&";
        if is_year(year) && is_of_authors {
            all.insert(author.to_owned());
        }
    }
    let others = ["DAN", "US Navy", "CFR", "Holm", "Bonferroni", "Satterthwaite", "Neyman"];
    all.extend(others.into_iter().filter(|name| text.contains(name)).map(str::to_owned));
    all
}

/// What a text of a run names, or takes a limit from, has its entry, and has it because of that text.
#[test]
fn every_source_that_is_named_has_its_entry() {
    let dickens = "Divers near by halve counts of fish (Dickens et al. 2011, PLoS ONE 6:e18965, abstract)";
    let rings = [
        (cautions::few_people(2, false).unwrap(), "usnavyfour"),
        (cautions::deep(30.6).unwrap(), "cfr1910424"),
        (cautions::strong_current(1.1).unwrap(), "cfr1910424"),
        (cautions::deeper_later(&[6.0, 20.0]).unwrap(), "lang2000"),
        (cautions::early_flight(11.0, false).unwrap(), "dan2002"),
        (cautions::deep(39.7).unwrap(), "usnavy2016"),
        (cautions::short_interval(9.0).unwrap(), "usnavy2016"),
        (diving::flag(30.0, 60.0).unwrap(), "usnavy2016"),
        (diving::FIRST_DIVE_ONLY.to_owned(), "usnavy2016"),
        (dickens.to_owned(), "dickens2011"),
    ];
    let mut quiet = synthetic::usual();
    quiet.answer.warnings.clear();
    let has = |report: &BudgetReport, key: &str| file(report, "proposal.bib").contains(&format!("{{{key},"));
    for (text, key) in &rings {
        let mut rung = quiet.clone();
        rung.answer.warnings.push(text.clone());
        assert!(!has(&quiet, key) && has(&rung, key), "{key}: {text}");
    }
    // What stands on the last day is no warning.
    let mut told = quiet.clone();
    told.answer.flight = Some(Flight {
        day: 9,
        after_several_dives: true,
        hours: None,
        hours_advised: 18.0,
        is_shorter: None,
        told: cautions::flight(None, true),
    });
    assert!(!has(&quiet, "dan2002") && has(&told, "dan2002"));
    for (name, mut report) in all() {
        report.answer.warnings.extend(rings.iter().map(|(text, _)| text.clone()));
        let texts = [file(&report, "proposal.md"), report.all_text(), report.schedule_text()];
        let named = sources(&texts.join(" "));
        assert!(named.len() > 3, "{name}: {named:?}");
        let bib = file(&report, "proposal.bib");
        for source in named {
            assert!(bib.contains(&source), "{name}: {source}\n{bib}");
        }
    }
    let shared = file(&synthetic::usual(), "proposal.bib");
    assert!(shared.contains("{holm1979,") && shared.contains("{bonferroni1936,"), "{shared}");
}

/// Money is in it where rates are told, and not a word of it where they are not.
#[test]
fn money_only_where_rates_are_told() {
    let report = synthetic::usual();
    let texts = |report: &BudgetReport| proposal(report).map(|(_, text)| text.to_lowercase()).concat();
    let without = texts(&report);
    assert!(!without.contains("crowns") && !without.contains("it costs") && !without.contains("money"), "{without}");
    let mut with = report;
    let cost = Cost {
        currency: "crowns".into(),
        total: 41_000.0,
        items: vec![CostItem { of: CostOf::Days, method: None, number: 10.0, rate: 4100.0, money: 41_000.0 }],
        days: 10,
        per_dive: 400.0,
        per_site: 2000.0,
        per_unit: 100.0,
        with_all_days: None,
        a_day: 4100.0,
    };
    with.answer.all.as_mut().unwrap().cost = Some(cost);
    for name in ["proposal.md", "proposal.txt", "proposal_1500.txt"] {
        assert!(file(&with, name).contains("41,000 crowns"), "{name} {}", file(&with, name));
    }
}

/// One power stands once; a target that asks for another says so wherever powers are told.
#[test]
fn a_power_of_its_own_is_told_beside_its_target() {
    let mut report = synthetic::usual();
    let before = file(&report, "proposal.md");
    assert!(before.contains("a change shall be seen 80 times in 100.") && !before.contains("asked for:  "), "{before}");
    let plan = report.answer.all.as_mut().unwrap();
    let sees = |margins: &[crate::planner::expedition::Margin]| -> Vec<usize> {
        (0..margins.len()).filter(|&place| margins[place].power_asked.is_some()).collect()
    };
    let first = sees(&plan.margins)[0];
    let name = plan.margins[first].indicator.replace('_', " ");
    let mut other = plan.margins[first].clone();
    other.indicator = "cup_coral".into();
    plan.margins.push(other);
    (plan.margins[first].power_asked, plan.margins[first].seen) = (Some(0.9), Some((0.86, 0.01)));
    let text = file(&report, "proposal.md");
    assert!(text.contains(&format!("a change shall be seen 80 times in 100, that of {name} 90.")), "{text}");
    assert!(text.contains(&format!("{name} 86 (1) of 90 asked for, too rarely")), "{text}");
    assert!(!text.contains("cup coral 80 (1) of"), "{text}");
    // Where each must has its own, the others say what they are asked for.
    let plan = report.answer.all.as_mut().unwrap();
    plan.margins.iter_mut().for_each(|margin| margin.must = margin.power_asked == Some(0.9));
    let text = file(&report, "proposal.md");
    assert!(text.contains("so many see the change (standard error): "), "{text}");
    assert!(text.contains("So many see the other changes (80 are asked for): "), "{text}");
    // All of them alike: told once, whatever the test of the study wants.
    let plan = report.answer.all.as_mut().unwrap();
    for place in sees(&plan.margins) {
        plan.margins[place].power_asked = Some(0.9);
    }
    let text = file(&report, "proposal.md");
    assert!(text.contains("a change shall be seen 90 times in 100."), "{text}");
}

/// Whoever reads a proposal on fish is told what share of them is written; of all else nothing is said of bias.
#[test]
fn what_share_of_the_fish_is_written_is_said() {
    let mut report = synthetic::usual();
    assert!(!file(&report, "proposal.md").contains("Counts of fish are biased"));
    let plans = [&mut report.answer.all, &mut report.answer.best, &mut report.answer.musts];
    for plan in plans.into_iter().flatten() {
        plan.margins[0].written_over_there = Some(1.214);
    }
    let text = file(&report, "proposal.md");
    let name = report.answer.scheduled().unwrap().margins[0].indicator.replace('_', " ");
    assert!(text.contains(&format!("so many are written, by formula: {name} 121")), "{text}");
}

/// Every target's spread is told, once.
#[test]
fn a_proposal_tells_how_every_target_varies() {
    let report = synthetic::usual();
    let text = file(&report, "proposal.md");
    let said = &text[text.find("Standard deviations in one visit").unwrap()..];
    let said = &said[..said.find("**Effort").unwrap()];
    for margin in &report.answer.scheduled().unwrap().margins {
        let name = margin.indicator.replace('_', " ");
        assert_eq!(said.matches(&format!("{name} ")).count(), 1, "{name}: {said}");
    }
}

/// Precision is told as changes are: with its error in the shortest form too, and with the real numbers of sites around it.
#[test]
fn precision_is_told_like_power() {
    let mut report = synthetic::usual();
    let plan = report.answer.all.as_mut().unwrap();
    plan.margins.retain(|margin| margin.change.is_none());
    plan.zones.iter_mut().zip([4, 3, 3]).for_each(|(zone, sites)| zone.sites = sites);
    plan.sites_around = [vec![3, 2, 2], vec![5, 4, 4]];
    let name = plan.margins[0].indicator.replace('_', " ");
    let short = file(&report, "proposal_500.txt");
    assert!(short.contains(&format!("By simulation (standard error): standard error of {name} ")), "{short}");
    let text = file(&report, "proposal.md");
    assert!(text.contains("Precision with 7 sites instead of 10, by formula: "), "{text}");
    assert!(text.contains(&format!("standard error of {name} ")) && text.contains(" with 13)"), "{text}");
    assert!(!text.contains("a quarter"), "{text}");
    // Two sites in each zone are the fewest there are.
    let plan = report.answer.all.as_mut().unwrap();
    plan.zones.iter_mut().for_each(|zone| zone.sites = 2);
    plan.sites_around = [vec![2; 3], vec![3; 3]];
    assert!(!file(&report, "proposal.md").contains("instead of"));
}

/// Two targets on one indicator: what is the same is said once, what differs with its name.
#[test]
fn nothing_is_said_twice_of_one_indicator() {
    let mut report = synthetic::usual();
    let plan = report.answer.all.as_mut().unwrap();
    let mut other = plan.margins[1].clone();
    other.indicator = plan.margins[0].indicator.clone();
    let name = other.indicator.replace('_', " ");
    plan.margins.insert(1, other);
    let shares = |report: &mut BudgetReport, shares: [f64; 2]| {
        let plan = report.answer.all.as_mut().unwrap();
        plan.margins.iter_mut().zip(shares).for_each(|(margin, share)| margin.not_by_units = Some(share));
        let text = file(report, "proposal.md");
        let from = text.find("More units at a site").unwrap();
        text[from..from + text[from..].find(". ").or(text[from..].find(".\n")).unwrap()].to_owned()
    };
    let same = shares(&mut report, [0.76, 0.76]);
    assert_eq!(same.matches(&format!("{name} 76 %")).count(), 1, "{same}");
    let apart = shares(&mut report, [0.76, 0.71]);
    assert!(apart.contains(&format!("change of {name} 76 %, standard error of {name} 71 %")), "{apart}");
}
