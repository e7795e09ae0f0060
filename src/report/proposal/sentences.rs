//! What a proposal says, sentence by sentence, each with how much it matters.

use super::drawn::{Drawn, drawn, places};
use crate::budget::MET;
use crate::design::{Asks, LeastOf, Places, Scheduled, Sites, Unit};
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, CostOf, Margin, SiteRole, SpreadInZone};
use crate::report::budget::{BudgetReport, amount, best_of_money, booked, joint_sentence, own_power, target_words};
use crate::report::digits::{fixed, hundredths, significant, trimmed, with_error};
use crate::report::select::distinct;
use crate::report::words::{count_method, plain as spoken, sentence};
use crate::scenario::Origin;
use crate::survey::Scale;

/// One sentence or a few that belong together.
pub struct Said {
    pub part: Part,
    /// The smaller, the more it matters.
    pub rank: u8,
    pub text: String,
    pub shows_dives: bool,
}

/// Paragraphs of the page, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Objective,
    Design,
    Power,
    WhyNotFewer,
    Variation,
    Effort,
    Grounds,
}

impl Part {
    pub fn heading(self) -> &'static str {
        match self {
            Part::Objective => "Objective",
            Part::Design => "Design",
            Part::Power => "What it shows",
            Part::WhyNotFewer => "Why not fewer",
            Part::Variation => "Variation",
            Part::Effort => "Effort",
            Part::Grounds => "Grounds",
        }
    }
}

/// All that can be said of the plan that is scheduled, in reading order; nothing where none fits.
pub fn sentences(report: &BudgetReport) -> Vec<Said> {
    let Some(plan) = report.answer.scheduled() else { return Vec::new() };
    let mut all: Vec<Said> = Vec::new();
    let mut say = |part: Part, rank: u8, text: String| {
        if !text.is_empty() {
            all.push(Said { part, rank, text, shows_dives: false });
        }
    };
    say(Part::Objective, 1, objective(report, plan, true));
    say(Part::Objective, 9, objective(report, plan, false));
    say(Part::Objective, 14, size_of_change(report, plan));
    say(Part::Objective, 10, test(report, plan));
    say(Part::Design, 2, sites(report, plan));
    say(Part::Design, 4, occasions(report, plan));
    say(Part::Design, 7, units(plan));
    say(Part::Design, 12, replicates(report, plan));
    say(Part::Design, 20, allocation(report));
    say(Part::Power, 3, power(report, plan, true));
    say(Part::Power, 8, power(report, plan, false));
    say(Part::Power, 12, bias_of_fish(plan));
    say(Part::Power, 3, precision(report, plan, true));
    say(Part::Power, 8, precision(report, plan, false));
    say(Part::Power, 11, not_met(report, plan));
    say(Part::Power, 19, joint_sentence(plan));
    say(Part::Power, 21, false_alarms(plan));
    say(Part::WhyNotFewer, 5, why_not_fewer(report, plan, true));
    say(Part::WhyNotFewer, 15, why_not_fewer(report, plan, false));
    say(Part::WhyNotFewer, 24, not_by_units(plan));
    say(Part::Variation, 17, variation(report, plan));
    say(Part::Effort, 6, days(report, plan));
    say(Part::Effort, 13, to_book(report, plan));
    say(Part::Effort, 24, before(report));
    say(Part::Effort, 18, people(report, plan));
    say(Part::Effort, 25, ashore(report, plan));
    say(Part::Effort, 6, money(report, plan));
    say(Part::Grounds, 21, report.not_on_the_reef().unwrap_or_default());
    say(Part::Grounds, 22, grounds(report));
    say(Part::Grounds, 23, errors(report, plan));
    for (rank, text) in [(6, dives(plan)), (0, NO_DIVE_PLAN.to_owned())] {
        all.push(Said { part: Part::Effort, rank, shows_dives: text != NO_DIVE_PLAN, text });
    }
    // They stand with the effort.
    all.sort_by_key(|said| said.part as u8);
    all
}

/// Said in every length.
pub const NO_DIVE_PLAN: &str = "It is no dive plan; the diving officer decides every dive.";

fn listed(all: &[String]) -> String {
    all.join("; ")
}

fn objective(report: &BudgetReport, plan: &BudgetPlan, must: bool) -> String {
    let of = plan.margins.iter().filter(|margin| margin.must == must);
    let told: Vec<String> = of.map(|margin| target_words(report, margin)).collect();
    if told.is_empty() {
        return String::new();
    }
    format!("The survey {} tell {}.", if must { "must" } else { "should" }, listed(&told))
}

fn changes(plan: &BudgetPlan) -> impl Iterator<Item = (&Margin, (f64, f64))> {
    plan.margins.iter().filter_map(|margin| Some((margin, margin.change?)))
}

/// Each change in the unit of the indicator and of what was there.
fn size_of_change(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let of = |(margin, (from, to)): (&Margin, (f64, f64))| {
        let (scale, unit) = match report.scenario.unit_of(&margin.indicator) {
            Unit::Share => (100.0, " points".to_owned()),
            Unit::Own(unit) if unit.is_empty() => (1.0, String::new()),
            Unit::Own(unit) => (1.0, format!(" {unit}")),
        };
        let change = (to - from).abs();
        format!(
            "{} {}{unit} ({} % of what is there)",
            spoken(&margin.indicator),
            significant(scale * change, 2),
            significant(100.0 * change / from.abs(), 2)
        )
    };
    let told: Vec<String> = changes(plan).map(of).collect();
    if told.is_empty() {
        return String::new();
    }
    let why = report.why_other_levels().map_or("", |_| " Levels are means over the zones by their weights.");
    format!("The {} to be seen: {}.{why}", if told.len() == 1 { "change" } else { "changes" }, told.join(", "))
}

fn test(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let test = &report.scenario.test;
    if changes(plan).next().is_none() {
        return format!("Intervals are those of {} in 100.", significant(100.0 * (1.0 - test.alpha), 3));
    }
    format!(
        "Test: {} on sites, alpha {}, {} sided; {}.",
        spoken(test.kind.name()),
        test.alpha,
        if test.sides == crate::design::Sides::Two { "two" } else { "one" },
        how_often(plan, test.seen)
    )
}

/// "a change shall be seen 80 times in 100, that of hard coral 90"; `usual`: as often as the test of the study wants.
fn how_often(plan: &BudgetPlan, usual: f64) -> String {
    let hundred = |power: f64| significant(100.0 * power, 2);
    let each: Vec<(&Margin, f64)> =
        plan.margins.iter().filter_map(|margin| Some((margin, margin.power_asked?))).collect();
    let (first, own): (f64, Vec<_>) = match each.first() {
        // Where all ask for one number it stands once, whoever told it.
        Some(&(_, first)) if each.iter().all(|&(_, power)| power == first) => (first, Vec::new()),
        _ => (usual, each.into_iter().filter(|&(_, power)| power != usual).collect()),
    };
    let own = own.iter().map(|(margin, power)| {
        let name = spoken(&margin.indicator);
        // Of several changes of one indicator each is told by where it goes.
        let of_it = plan.margins.iter().filter(|of| of.power_asked.is_some() && of.indicator == margin.indicator);
        let which = match margin.change.filter(|_| of_it.count() > 1) {
            Some((from, to)) => format!(" by {} %", significant(100.0 * ((to - from) / from).abs(), 2)),
            None => String::new(),
        };
        format!(", that of {name}{which} {}", hundred(*power))
    });
    format!("a change shall be seen {} times in 100{}", hundred(first), own.collect::<String>())
}

fn sites(report: &BudgetReport, plan: &BudgetPlan) -> String {
    // The depths of a place are drawn together, by the first of its zones.
    let drawn = drawn(report, plan);
    let all = places(&drawn);
    let takes_all = |of: &Drawn| has_no_spare(report, of.zones[0]);
    let any_all = drawn.iter().any(takes_all);
    let any_drawn = drawn.iter().any(|of| !takes_all(of));
    let zones = drawn.iter().map(|zone| {
        let of = match zone.zones.len() {
            1 => format!("{} {}", zone.zones[0], zone.sites),
            depths => format!("{} at {depths} depths ({})", zone.sites, zone.zones.join(" and ")),
        };
        let how = match (any_all && any_drawn, takes_all(zone)) {
            (false, _) => "",
            (true, true) => ", all usable ones of the list",
            (true, false) => ", drawn at random",
        };
        format!("{of}{how}")
    });
    let zones: Vec<String> = zones.collect();
    let is_drawn = |zone: &str| drawn.iter().any(|of| of.zones[0] == zone && !takes_all(of));
    let asked: Vec<&str> = report
        .answer
        .sites
        .iter()
        .filter(|site| site.role == SiteRole::MustVisit && is_drawn(&site.zone))
        .map(|site| site.name.as_str())
        .collect();
    let but = if asked.is_empty() {
        String::new()
    } else {
        format!(" ({} of them chosen, not drawn: {})", asked.len(), asked.join(", "))
    };
    let what = if report.scenario.shares_places() { "place" } else { "site" };
    let number = counted(all, what);
    match (any_all, any_drawn) {
        (false, _) if !asked.is_empty() => {
            let drawn = all.saturating_sub(asked.len());
            let chosen = asked.join(", ");
            format!(
                "It takes {number}, {drawn} drawn at random and {} chosen ({chosen}): {}.",
                asked.len(),
                zones.join(", ")
            )
        }
        (false, _) => format!("It takes {number} drawn at random: {}.", zones.join(", ")),
        (true, true) => format!("It takes {number}{but}: {}.", zones.join("; ")),
        (true, false) => format!("It takes {number}, all usable ones of the list: {}.", zones.join(", ")),
    }
}

/// Whether all usable sites of a zone's list are visited.
fn has_no_spare(report: &BudgetReport, zone: &str) -> bool {
    let of_zone = || report.answer.sites.iter().filter(|site| site.zone == zone);
    of_zone().next().is_some() && of_zone().all(|site| site.role != SiteRole::Spare)
}

fn occasions(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let visits = &report.scenario.visits;
    if report.scenario.question.visits() != 2 {
        return String::new();
    }
    let same = visits.sites == Sites::Same;
    let places = match plan.places.unwrap_or(visits.places) {
        _ if !same => "",
        Places::SameMarks => ", at the same marks",
        Places::NewPlaces => ", at new places",
    };
    let sites = if same { "on the same sites" } else { "on sites drawn anew" };
    let years = if visits.years_apart == 1.0 {
        "one year".to_owned()
    } else {
        format!("{} years", significant(visits.years_apart, 3))
    };
    format!("It is done twice, {years} apart, {sites}{places}.")
}

fn units(plan: &BudgetPlan) -> String {
    let units = plan.site_set.iter().map(|task| {
        let of = if task.dimensions.is_empty() { String::new() } else { format!(" ({})", task.dimensions) };
        format!("{}{of}", count_method(&task.method, task.units))
    });
    format!("At each site: {}.", units.collect::<Vec<_>>().join(", "))
}

fn replicates(report: &BudgetReport, plan: &BudgetPlan) -> String {
    if report.scenario.shares_places() {
        let places = places(&drawn(report, plan));
        return format!(
            "Places are the replicates ({places}), because the result shall speak of all such reefs and the two depths of a place \
             are alike: what both tell is one value of the place. Units make that value more exact and are no replicates."
        );
    }
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    format!(
        "Sites are the replicates ({sites}), because the result shall speak of all such reefs; units at a site make the value \
         of that site more exact and are no replicates."
    )
}

fn allocation(report: &BudgetReport) -> String {
    let searched = report.answer.searched.designs;
    let order = match (report.expedition.least, report.expedition.rates.is_some()) {
        (LeastOf::Money, true) => "the least money, then the fewest days, team dives and sites",
        (LeastOf::Effort, true) => "the fewest days, then team dives, then sites, then the least money",
        (_, false) => "the fewest days, then team dives, then sites",
    };
    let is_all = report.answer.schedules_all();
    let rule = if is_all {
        let is_unconfirmed = |said: &String| said.starts_with("No plan for all targets");
        let confirmed = if report.answer.interrupted || report.answer.by_simulation.iter().any(is_unconfirmed) {
            "; simulation has not confirmed it"
        } else {
            ", confirmed by simulation"
        };
        format!("among those that meet all targets by formula the one with {order}{confirmed}")
    } else {
        let of_money = best_of_money(report).filter(|_| report.answer.scheduled_as() == Scheduled::BestOfMoney);
        let what = of_money.unwrap_or_else(|| "the best use of the days that can be booked".to_owned());
        format!("{what}: first the weakest must, then the weakest target")
    };
    format!("How sites and units are shared out: of {searched} designs, {rule}.")
}

/// How often changes are seen, musts or others, and how often they should be; what is rarer by more than two errors is told so.
fn power(report: &BudgetReport, plan: &BudgetPlan, must: bool) -> String {
    let test = &report.scenario.test;
    let of = || plan.margins.iter().filter(|margin| margin.must == must && margin.seen.is_some());
    let all_own = of().next().is_some() && of().all(|margin| own_power(test, margin).is_some());
    let seen = of().filter_map(|margin| {
        let ((seen, error), asked) = (margin.seen?, margin.power_asked?);
        let own = own_power(test, margin).map_or(String::new(), |own| format!(" of {own} asked for"));
        let rarely = if seen + 2.0 * error < asked { ", too rarely" } else { "" };
        Some(format!("{} {}{own}{rarely}", spoken(&margin.indicator), hundredths(Some(seen), Some(error))))
    });
    let seen: Vec<String> = seen.collect();
    if seen.is_empty() {
        String::new()
    } else if must {
        format!(
            "Of 100 simulated surveys so many see the change (standard error{}): {}.",
            if all_own { String::new() } else { format!("; {:.0} are asked for", 100.0 * test.seen) },
            seen.join("; ")
        )
    } else {
        // Said of the musts, unless each of them has its own.
        let is_said = |margin: &Margin| margin.must && margin.seen.is_some() && own_power(test, margin).is_none();
        let usual = if all_own || plan.margins.iter().any(is_said) {
            String::new()
        } else {
            format!(" ({:.0} are asked for)", 100.0 * test.seen)
        };
        format!("So many see the other changes{usual}: {}.", seen.join(", "))
    }
}

/// Factor from the unit of a half-width or an error to what is shown, and the words after it.
fn shown_width(report: &BudgetReport, margin: &Margin) -> (f64, String) {
    match (margin.asks, report.scenario.unit_of(&margin.indicator)) {
        (Asks::Cv(_), _) => (100.0, " % of its mean".to_owned()),
        (_, Unit::Share) => (100.0, " points".to_owned()),
        (_, Unit::Own(unit)) => (1.0, format!(" {unit}").trim_end().to_owned()),
    }
}

/// "half-width of hard coral", "standard error of slate urchin"; `None` where a change is asked.
fn width_of(margin: &Margin) -> Option<String> {
    let name = spoken(&margin.indicator);
    match margin.asks {
        Asks::SeeChange(_) => None,
        Asks::HalfWidth(_) => Some(format!("half-width of {name}")),
        Asks::Cv(_) => Some(format!("standard error of {name}")),
    }
}

/// Half-widths and errors that are targets, musts or others.
fn precision(report: &BudgetReport, plan: &BudgetPlan, must: bool) -> String {
    let told = plan.margins.iter().filter(|margin| margin.must == must).filter_map(|margin| {
        let (scale, unit) = shown_width(report, margin);
        let (value, error) = match margin.asks {
            Asks::Cv(_) => (margin.cv?, margin.cv_error),
            _ => (margin.half_width?, margin.half_width_error),
        };
        Some(format!("{} {}{unit}", width_of(margin)?, with_error(scale * value, error.map(|error| scale * error))))
    });
    let told = distinct(told);
    if told.is_empty() { String::new() } else { format!("By simulation (standard error): {}.", listed(&told)) }
}

/// What is written of the fish that are there, for each target on them.
fn bias_of_fish(plan: &BudgetPlan) -> String {
    let told = plan.margins.iter().filter_map(|margin| {
        let written = 100.0 * margin.written_over_there?;
        Some(format!("{} {}", spoken(&margin.indicator), significant(written, if written >= 100.0 { 3 } else { 2 })))
    });
    let told = distinct(told);
    if told.is_empty() {
        return String::new();
    }
    format!(
        "Counts of fish are biased: of 100 that are there (fish, or kg) so many are written, by formula: {}; changes and half-widths \
         are of what is there.",
        told.join(", ")
    )
}

/// Targets that the plan does not meet: said, never left to be found.
fn not_met(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let missed = plan.margins.iter().filter(|margin| margin.margin < MET);
    let missed: Vec<String> = missed
        .map(|margin| format!("{} ({:.2} of what is asked)", target_words(report, margin), margin.margin))
        .collect();
    if missed.is_empty() { String::new() } else { format!("By formula it does not reach: {}.", listed(&missed)) }
}

fn false_alarms(plan: &BudgetPlan) -> String {
    let rings = plan.margins.iter().filter(|margin| margin.seen.is_some()).filter_map(|margin| {
        let (rate, error) = margin.false_alarm?;
        Some(format!("{} {}", spoken(&margin.indicator), hundredths(Some(rate), Some(error))))
    });
    let rings = distinct(rings);
    if rings.is_empty() {
        String::new()
    } else {
        format!("When nothing changes the tests ring in 100: {}.", rings.join(", "))
    }
}

/// What is lost with a quarter fewer sites in each zone and gained with a quarter more, as far as whole sites allow.
fn why_not_fewer(report: &BudgetReport, plan: &BudgetPlan, must: bool) -> String {
    // The depths of a place are one.
    let drawn = drawn(report, plan);
    let all = places(&drawn);
    let [fewer, more] =
        [0, 1].map(|way: usize| drawn.iter().filter_map(|of| plan.sites_around[way].get(of.first)).sum::<usize>());
    if fewer >= all {
        return String::new();
    }
    // More sites than the list has are none to have.
    let spares = |zone: &str| {
        report.answer.sites.iter().filter(|site| site.zone == zone && site.role == SiteRole::Spare).count()
    };
    let mut around = plan.zones.iter().zip(&plan.sites_around[1]);
    let can_be_more =
        report.answer.sites.is_empty() || around.all(|(zone, &more)| more <= zone.sites + spares(&zone.zone));
    let with_more =
        |what: String| if can_be_more && more > all { format!(" ({what} with {more})") } else { String::new() };
    let of = || plan.margins.iter().filter(|margin| margin.must == must);
    let changes = of().filter_map(|margin| {
        let [as_it_is, fewer, more] = margin.seen_by_sites?.map(|share| fixed(100.0 * share, 0));
        Some(format!("{} {fewer} instead of {as_it_is}{}", spoken(&margin.indicator), with_more(more)))
    });
    let widths = of().filter_map(|margin| {
        let (scale, unit) = shown_width(report, margin);
        let [as_it_is, fewer, more] = margin.achieved_by_sites?.map(|width| significant(scale * width, 3));
        Some(format!("{} {fewer}{unit} instead of {as_it_is}{}", width_of(margin)?, with_more(more)))
    });
    let (changes, widths) = (distinct(changes), distinct(widths));
    let what = if report.scenario.shares_places() { "place" } else { "site" };
    let with = format!("{} instead of {all}", counted(fewer, what));
    let mut said: Vec<String> = Vec::new();
    if !changes.is_empty() && must {
        said.push(format!(
            "With {with} so many of 100 would see it, by formula ({}): {}.",
            if of().any(|margin| margin.parts().is_some()) {
                "whose numbers part from the simulated ones above: a guide only"
            } else {
                "whose numbers differ a little from simulated ones"
            },
            changes.join(", ")
        ));
    } else if !changes.is_empty() {
        said.push(format!("The other changes, with {with}: {}.", changes.join(", ")));
    }
    if !widths.is_empty() {
        said.push(format!("Precision with {with}, by formula: {}.", widths.join(", ")));
    }
    said.join(" ")
}

fn not_by_units(plan: &BudgetPlan) -> String {
    let stuck = |margin: &Margin| {
        let share = margin.not_by_units.filter(|share| *share > 0.5)?;
        Some((spoken(&margin.indicator), format!("{} %", significant((100.0 * share).round(), 2))))
    };
    let all: Vec<(&Margin, (String, String))> =
        plan.margins.iter().filter_map(|margin| Some((margin, stuck(margin)?))).collect();
    let told = all.iter().map(|(margin, (name, share))| {
        // Two targets on one indicator are told apart where it differs.
        let differs = all.iter().any(|(_, (other, of))| other == name && of != share);
        let name = if differs { width_of(margin).unwrap_or_else(|| format!("change of {name}")) } else { name.clone() };
        format!("{name} {share}")
    });
    let told = distinct(told);
    if told.is_empty() {
        String::new()
    } else {
        format!("More units at a site would not lower so much of the variance: {}.", told.join(", "))
    }
}

/// How much each target varies: between sites and between the units of a site, zone by zone.
fn variation(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let names: Vec<&str> = plan.zones.iter().map(|zone| zone.zone.as_str()).collect();
    let of = |margin: &Margin| {
        let (scale, unit) = match report.scenario.scale_of_components(&margin.indicator) {
            Some(Scale::Ln) => (1.0, " (of natural logarithms)".to_owned()),
            Some(Scale::Logit) => (1.0, " (of logits)".to_owned()),
            _ => match report.scenario.unit_of(&margin.indicator) {
                Unit::Share => (100.0, " points".to_owned()),
                Unit::Own(unit) if unit.is_empty() => (1.0, String::new()),
                Unit::Own(unit) => (1.0, format!(" {unit}")),
            },
        };
        let listed = |which: fn(&SpreadInZone) -> f64| {
            let mut all: Vec<String> =
                margin.spreads.iter().map(|spread| significant(scale * which(spread), 2)).collect();
            // Alike in all zones.
            if all.iter().all(|one| *one == all[0]) {
                all.truncate(1);
            }
            all.join(", ")
        };
        let (sites, units) = (listed(|spread| spread.between_sites), listed(|spread| spread.between_units));
        format!("{} {sites}{unit} between sites, {units} between units", spoken(&margin.indicator))
    };
    let told = distinct(plan.margins.iter().filter(|margin| !margin.spreads.is_empty()).map(of));
    if told.is_empty() {
        return String::new();
    }
    let zones = if names.len() > 1 { format!(", in {} (one number: alike)", names.join(", ")) } else { String::new() };
    format!("Standard deviations in one visit, of what the annex assumes{zones}: {}.", listed(&told))
}

pub fn origin_word(origin: &Origin) -> String {
    match origin {
        Origin::Assumed => "assumed".into(),
        Origin::MyWords(_) => "by our own experience".into(),
        Origin::Published(source) => format!("published: {source}"),
        Origin::Pilot(_) => "from pilot data".into(),
    }
}

fn days(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let all = report.expedition.days.without_diving() + plan.days;
    let each = if report.scenario.question.visits() > 1 { " at each of the two visits" } else { "" };
    let (diving, away) = (counted(plan.days, "day"), counted(all, "day"));
    format!("It takes {diving} for diving{each}, {away} from leaving to being back.")
}

fn dives(plan: &BudgetPlan) -> String {
    format!(
        "That is {}, {} and {} of divers (on a team dive all pairs of a boat are under water together).",
        counted(plan.team_dives, "team dive"),
        counted(plan.pair_dives, "pair-dive"),
        counted(2 * plan.pair_dives, "dive")
    )
}

/// Person-days on board, as far as they are told.
fn people(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let days = &report.expedition.days;
    let divers = report.expedition.divers.len();
    let all = days.without_diving() + plan.days;
    let parts = [
        (days.transit, "under way"),
        (days.check_out, "for check-out dives and training"),
        (days.reserved, "kept for other things"),
        (plan.days, "for diving"),
    ];
    let own: usize = report.expedition.divers.iter().map(|diver| diver.days_paid(days, plan.days)).sum();
    if own != divers * all {
        return format!("On board: {divers} divers, who come and leave, {own} person-days of divers.");
    }
    let parts: Vec<String> = parts
        .into_iter()
        .filter(|(days, _)| *days > 0)
        .map(|(days, what)| format!("{} {what}", divers * days))
        .collect();
    format!("On board: {divers} divers, {own} person-days of divers ({}).", parts.join(", "))
}

/// Preparation, where its person-days are told.
fn before(report: &BudgetReport) -> String {
    let each = if report.scenario.question.visits() > 1 { " each visit" } else { "" };
    let days = report.expedition.days_ashore.before;
    days.map_or(String::new(), |days| format!("Before{each}: {} of preparation.", person_days(days)))
}

fn person_days(days: f64) -> String {
    format!("{} {}", trimmed(days, 1), if days == 1.0 { "person-day" } else { "person-days" })
}

/// Work afterwards, where its person-days or the minutes ashore of the methods are told.
fn ashore(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let hours = hours_ashore(report, plan);
    let reading = (hours > 0.0).then(|| format!("{} hours of reading ashore", trimmed(hours, 1)));
    let days = report.expedition.days_ashore.after;
    let others = days.map(|days| format!("{} of entering data, identification and analysis", person_days(days)));
    let told: Vec<String> = reading.into_iter().chain(others).collect();
    if told.is_empty() { String::new() } else { format!("After each visit: {}.", told.join(" and ")) }
}

/// Hours ashore of all units of a visit, in the dimensions that are planned.
fn hours_ashore(report: &BudgetReport, plan: &BudgetPlan) -> f64 {
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    let of_task = plan.site_set.iter().map(|task| {
        let method = report.scenario.methods.iter().find(|method| method.kind.own_name() == task.method);
        let minutes = method.and_then(|method| {
            let dimensions = method.kind.dimensions();
            let chosen = dimensions.iter().find(|of| of.label() == task.dimensions).or(dimensions.first())?;
            method.ashore_minutes(*chosen)
        });
        minutes.unwrap_or(0.0) * task.units as f64 * sites as f64 / 60.0
    });
    of_task.sum()
}

/// What weather does to the days of the plan, and how many to book where that is known of so many.
fn to_book(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let there = report.answer.days_there();
    let Some(left) = report.left_in_time(plan.days, there) else { return String::new() };
    let book = report.answer.book.iter().find(|book| book.needs == plan.days);
    let ask = book.and_then(|book| Some((book.to_book?, book.wanted))).map_or(String::new(), |(days, wanted)| {
        let one = if left.both.is_some() { " at one visit" } else { "" };
        format!("; with {} for diving booked, at least {}{one}", counted(days, "day"), trimmed(100.0 * wanted, 2))
    });
    format!(
        "Weather takes days: of {} for diving it leaves the {} that this takes {}{ask}.",
        counted(there, "day"),
        plan.days,
        left.words()
    )
}

fn money(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let Some(cost) = &plan.cost else { return String::new() };
    let parts: Vec<String> = cost
        .items
        .iter()
        .filter(|item| item.money > 0.0)
        .map(|item| {
            let what = match item.of {
                CostOf::Fixed => "fixed".to_owned(),
                CostOf::Days => "days".into(),
                CostOf::PersonDays => "people".into(),
                CostOf::Dives => "dives".into(),
                CostOf::HoursAshore => "hours ashore".into(),
                CostOf::DaysBefore => "preparation".into(),
                CostOf::DaysAfter => "work afterwards".into(),
                CostOf::Laboratory => format!("laboratory of {}", spoken(item.method.as_deref().unwrap_or_default())),
            };
            format!("{what} {}", amount(item.money, &cost.currency))
        })
        .collect();
    let booked = booked(report, plan).map_or(String::new(), |(_, days, money)| {
        format!("; with {} for diving booked {}", counted(days, "day"), amount(money, &cost.currency))
    });
    let (one, two) =
        if report.scenario.question.visits() == 2 { ("One visit", ". A change takes two") } else { ("It", "") };
    let total = amount(cost.total, &cost.currency);
    format!("{one} costs {total}: {}{booked}{two}.", parts.join(", "))
}

/// How much of it rests on what.
fn grounds(report: &BudgetReport) -> String {
    let count = |is: &dyn Fn(&Origin) -> bool| report.assumptions.iter().filter(|of| is(&of.origin)).count();
    let parts = [
        (count(&|of| matches!(of, Origin::Pilot(_))), "from pilot data"),
        (count(&|of| matches!(of, Origin::Published(_))), "published"),
        (count(&|of| matches!(of, Origin::MyWords(_))), "by our own experience"),
        (count(&|of| matches!(of, Origin::Assumed)), "assumed"),
    ];
    let parts: Vec<String> =
        parts.into_iter().filter(|(number, _)| *number > 0).map(|(number, what)| format!("{number} {what}")).collect();
    let number = counted(report.assumptions.len(), "number");
    match &parts[..] {
        [] => String::new(),
        [one] => {
            let what = one.split_once(' ').map_or(one.as_str(), |(_, what)| what);
            format!("It rests on {number}, all of them {what} (annex).")
        }
        _ => format!("It rests on {number}: {} (annex).", parts.join(", ")),
    }
}

fn errors(report: &BudgetReport, plan: &BudgetPlan) -> String {
    let simulated = plan.margins.iter().any(|of| of.seen.or(of.half_width.zip(of.cv)).is_some() || of.cv.is_some());
    if !simulated && plan.margins.iter().all(|of| of.half_width.is_none()) {
        return "Nothing of it was simulated.".into();
    }
    sentence(&format!(
        "numbers in brackets behind a simulated one are its standard error (reefwright {}, seed {}).",
        report.version, report.seed
    ))
}
