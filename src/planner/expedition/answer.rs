//! What an expedition buys, as data.

use super::access::Access;
use super::begun::BegunSite;
use super::blocked::{Blocked, blocked};
use super::book::{BookDays, to_book};
use super::calendar::{DaysFor, calendar};
use super::calm::CalmVisit;
use super::cylinders::Cylinders;
use super::done::{ReadingColumn, reading_columns};
use super::draw::Draw;
use super::finalists::{Finalists, is_missed, rings};
use super::flight::Flight;
use super::known::Known;
use super::laid_ahead::LaidAhead;
use super::lost_in_stretch::StretchesTold;
use super::measure_first::{MeasureFirst, measure_first};
use super::new_pairs::NewPair;
use super::occasions::{self, several_visits};
use super::on_days::OnDays;
use super::options::{Chosen, Options, for_whichever, frontier, least, near_ties, searches, zones_of};
use super::pairings::Pairing;
use super::people::{Crossing, Turns};
use super::places::with_other_places;
use super::plan::{BudgetPlan, Margin};
use super::prepared::{NothingFits, Prepared};
use super::schedule::{ScheduleRow, dive_words};
use super::season::{Season, in_hand_on, season};
use super::sites::{SiteRow, Taken};
use super::stairs::{Stair, stairs};
use super::starts::{Start, starts};
use super::warn::warnings;
use super::what_ifs::{MarginIf, WhatIf, margin_ifs, what_ifs};
use super::which_method::{Settled, ToldBy, settled};
use super::within_money::best_within_money;
use crate::budget::diving::undecided;
use crate::budget::{Beside, Found, Hold, OwnSets, Search, Today};
use crate::design::{Expedition, Places, Scheduled};
use crate::engine::{Plan, Until, Watch};
use crate::measures::ordinal;
use rayon::prelude::*;
use serde::Serialize;
use std::sync::atomic::Ordering;

/// Everything that was worked out of one expedition; reports only render it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct BudgetAnswer {
    /// Days on which can be dived if none is lost.
    pub bookable_days: usize,
    /// Days that were lost before the first day of the schedule; 0 but for the rest of an expedition.
    pub days_lost: usize,
    /// The visit whose rest this is; `None`: a whole expedition.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub visit_under_way: Option<usize>,
    /// What is known of the day before the first of those that can be booked.
    #[serde(skip)]
    pub today: Today,
    /// The least effort that meets every target; `None`: nothing within the zones' sites does.
    pub all: Option<BudgetPlan>,
    /// The least effort that meets the musts.
    pub musts: Option<BudgetPlan>,
    /// The best use of the days that can be booked; its margins are confirmed by simulation.
    pub best: Option<BudgetPlan>,
    /// The best use of the money there is, in no more than the days that can be booked; `None`: not asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub for_money: Option<ForMoney>,
    /// The plan that shall be scheduled.
    pub asked_to_schedule: Scheduled,
    /// The best use of 1, 2 ... days: of those that can be booked, and of more up to those from which all targets hold.
    pub frontier: Vec<DayChance>,
    /// Plans hardly dearer than the least for all targets.
    pub near_ties: Vec<NearTie>,
    /// Where the best use of the days is scheduled, others that make hardly less of them.
    pub near_best: Vec<NearTie>,
    pub what_ifs: Vec<WhatIf>,
    /// What several expeditions in each period take for granted, or why they are not told; empty where no what-if is.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub about_occasions: String,
    /// Where what is scheduled is planned by stretches of the crew: what must be known beside it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stretches: Option<StretchesTold>,
    /// Days to book; empty where lost days are not told.
    pub book: Vec<BookDays>,
    /// Methods that read no indicator of a target and are not planned.
    pub not_planned: Vec<String>,
    /// The ways to tell indicators that several methods read, and how many more of them were not looked at; empty where one
    /// method reads each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub told_by: Vec<ToldBy>,
    #[serde(skip_serializing_if = "is_none_left_out")]
    pub ways_not_compared: usize,
    /// Of the plan for all targets where its days can be booked, else of the best use of those.
    pub schedule: Vec<ScheduleRow>,
    /// From its last dive to a flight; `None`: nothing is scheduled.
    pub flight: Option<Flight>,
    /// Where its units begin, by the seed.
    pub starts: Vec<Start>,
    /// Why that plan is not put on days; `None`: it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_scheduled: Option<String>,
    pub warnings: Vec<String>,
    /// How many of the warnings, the first ones, are about diving itself.
    pub warnings_of_diving: usize,
    pub interrupted: bool,
    /// What was searched.
    pub searched: Searched,
    /// What simulation changed: plans that the formula found and simulation did not confirm.
    pub by_simulation: Vec<String>,
    /// Why all targets, or the musts, cannot be met.
    pub blocked: Vec<Blocked>,
    /// What the plan gives with a little more or less.
    pub margin_ifs: Vec<MarginIf>,
    /// What a pilot should measure, the most telling first.
    pub measure_first: Vec<MeasureFirst>,
    /// A site set of its own in each zone.
    pub own_site_sets: Option<OwnSiteSets>,
    /// What one unit more or less of each method costs and gives, in the plan that is scheduled.
    pub stairs: Vec<Stair>,
    /// Columns of the field sheet in which readings are written.
    pub reading_columns: Vec<ReadingColumn>,
    /// What the days from leaving to being back are for.
    pub calendar: Vec<DaysFor>,
    /// Who dives with whom, where that was not told.
    pub pairing: Option<Pairing>,
    /// Pairs that are made anew where divers come or leave.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub new_pairs: Vec<NewPair>,
    /// The scheduled plan day by day; `None`: there is none.
    pub season: Option<Season>,
    /// What to fill for the scheduled plan; `None`: the user tells nothing of gas.
    pub cylinders: Option<Cylinders>,
    /// The sites of the list with their part in the schedule, zone by zone; empty without a list.
    pub sites: Vec<SiteRow>,
    /// Where sites can be reached on some days only: how far the schedule stands in the days of the plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub access: Option<Access>,
    /// Visits that need calm weather, each with a sheltered site for a bad day; empty without a list.
    pub calm_visits: Vec<CalmVisit>,
    /// Lines that one diver lays and another reads on the same dive.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub laid_ahead: Vec<LaidAhead>,
    /// Who reads what in which zone.
    pub crossing: Vec<Crossing>,
    /// Dives, team dives on board and days off of everybody.
    pub turns: Vec<Turns>,
    pub not_spoken_of: Vec<String>,
    /// Of the rest of an expedition: begun sites that are finished before new ones are begun.
    pub begun: Vec<BegunSite>,
}

impl BudgetAnswer {
    /// "5", or "5 (3rd dived)" where days were lost before it.
    pub fn day_words(&self, day: usize) -> String {
        match day.checked_sub(self.days_lost) {
            Some(dived) if self.days_lost > 0 => format!("{day} ({} dived)", ordinal(dived)),
            _ => day.to_string(),
        }
    }

    /// "5, boat 1, dive 2: wall 1, Lantern: to 20 m, 40 min on the bottom asked for": the team dive of a row of the schedule.
    pub fn dive_line(&self, row: &ScheduleRow) -> String {
        format!(
            "{}, boat {}, dive {}: {}: {}",
            self.day_words(row.day),
            row.boat,
            row.team_dive,
            row.place(),
            dive_words(self.schedule.iter().filter(|other| other.is_of_dive(row)))
        )
    }

    /// What is scheduled: the plan that was asked for, if there is one.
    pub fn scheduled(&self) -> Option<&BudgetPlan> {
        match self.scheduled_as() {
            Scheduled::AllTargets => self.all.as_ref(),
            Scheduled::BestOfDays => self.best.as_ref(),
            Scheduled::BestOfMoney => self.of_money(),
        }
    }

    /// Which of the plans that is. (Plans alike are not equal where one holds no number.)
    pub fn scheduled_as(&self) -> Scheduled {
        let all_fit = self.all.as_ref().is_some_and(|all| all.days <= self.bookable_days);
        scheduled(self.asked_to_schedule, (all_fit, self.best.is_some(), self.of_money().is_some()))
    }

    /// Days for diving that there are for what is scheduled: those that can be booked, or of them those that the money pays for.
    pub fn days_there(&self) -> usize {
        let paid = self.for_money.as_ref().filter(|_| self.scheduled_as() == Scheduled::BestOfMoney);
        paid.map_or(self.bookable_days, |paid| paid.days_paid)
    }

    /// Whether what is scheduled is the plan for all targets.
    pub fn schedules_all(&self) -> bool {
        self.scheduled_as() == Scheduled::AllTargets
    }

    /// Takes what was put on days back, where there is a reason to: the plan stays as it is.
    pub(super) fn not_on_days(&mut self, why: Option<String>) {
        if why.is_none() {
            return;
        }
        self.not_scheduled = why;
        self.schedule.clear();
        self.flight = None;
        self.starts.clear();
        self.calm_visits.clear();
        self.laid_ahead.clear();
        self.sites.iter_mut().for_each(|site| (site.day, site.boat) = (None, None));
    }

    fn of_money(&self) -> Option<&BudgetPlan> {
        self.for_money.as_ref()?.plan.as_ref()
    }
}

/// What so much money buys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ForMoney {
    pub money: f64,
    /// `None`: it does not pay for the fewest sites.
    pub plan: Option<BudgetPlan>,
    /// Days for diving that it pays for with that plan, of those that can be booked; 0 without a plan.
    pub days_paid: usize,
    /// What those cost with one unit of each method; `None`: they do not fit into the days.
    pub fewest_sites: Option<f64>,
}

/// What was searched.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Searched {
    /// Combinations of dimensions and of places at the second visit.
    pub combinations: usize,
    /// Full site sets times numbers of sites, over all combinations.
    pub designs: u64,
    /// Designs worked out one by one; bounds rule out the others.
    pub worked_out: u64,
    /// Combinations that were not looked at, in words.
    pub left_out: Option<String>,
}

/// The least effort found where each zone has its own site set, by formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OwnSiteSets {
    pub days: usize,
    pub team_dives: usize,
    /// No such plan takes fewer days, and none in the days of the common plan fewer team dives.
    pub days_at_least: usize,
    pub team_dives_at_least: usize,
    /// Zone, sites, and units of each method at each of them.
    pub zones: Vec<(String, u16, Vec<u8>)>,
    pub margins: Vec<f64>,
}

/// The best use of so many days.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayChance {
    pub days: usize,
    pub plan: Option<BudgetPlan>,
    /// Chance that so many days are left of those that can be booked.
    pub chance: Option<f64>,
}

/// A plan hardly dearer than the least one, or hardly worse than the best use of the days, from which logistics may choose.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NearTie {
    pub days: usize,
    pub team_dives: usize,
    pub sites: Vec<u16>,
    pub units: Vec<u8>,
    pub weakest: f64,
    /// What was chosen for each method of the site set.
    pub dimensions: Vec<String>,
    pub places: Option<Places>,
    /// Whether fewer trials than those of the plan leave it standing: no target missed by more than their errors, and no test
    /// that rings too often. Those that do not hold come last.
    pub holds: bool,
    /// Money; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<f64>,
}

/// How the plan is confirmed.
pub struct Confirming<'a> {
    pub seed: u64,
    pub until: Until,
    pub watch: &'a Watch<'a>,
    /// Told what is done next.
    pub step: &'a (dyn Fn(&str) + Sync),
}

/// Plans an expedition: theory searches, simulation confirms.
///
/// # Errors
/// Where nothing can be planned at all.
pub fn plan_expedition(
    plan: &Plan,
    expedition: &Expedition,
    confirming: &Confirming,
) -> Result<BudgetAnswer, NothingFits> {
    let known = Known::of_draw(expedition, confirming.seed);
    let other = with_other_places(plan);
    let both = other.as_ref().filter(|_| expedition.chooses_places);
    let plans: Vec<&Plan> = std::iter::once(plan).chain(both).collect();
    (confirming.step)("preparing");
    let Settled { expedition, pairing, told_by, not_compared } = settled(&plans, expedition, &known);
    let expedition = expedition.as_ref();
    let options = Options::new(&plans, expedition, &known)?;
    let zones = zones_of(&options.all);
    let searches = searches(&options.all, &zones).into_iter().map(|search| search.watched(confirming.watch));
    let searches: Vec<Search> = searches.collect();
    let first = &options.all[0];
    let bookable = first.bookable_days();
    (confirming.step)("searching");
    let (all, musts) = (least(&searches, Hold::All), least(&searches, Hold::Musts));
    // As far as from where all targets hold, also where that is beyond the days there are; one more for what a day more gives.
    let told_days = all.as_ref().map_or(0, |all| all.found.days).max(bookable);
    let days = frontier(&searches, told_days.max(1) + 1);
    let best = days.get(bookable.wrapping_sub(1)).cloned().flatten();
    let of_money =
        expedition.money.and_then(|money| best_within_money(&options, &searches, (money, bookable), confirming.seed));
    let beside = |of: &Option<Chosen>, beside| {
        of.as_ref().map_or(Vec::new(), |of| near_ties(&searches, (of, beside), NEAR_TIES))
    };
    let ties = beside(&all, Beside::Least);
    (confirming.step)("simulating");
    let mut finalists = Finalists::new(&options, confirming);
    let mut by_simulation = Vec::new();
    let confirmed =
        |finalists: &mut Finalists, said: &mut Vec<String>, chosen: &Option<Chosen>, ties: &[Chosen], hold| {
            let confirmed = finalists.confirmed(&searches, chosen.clone()?, ties, hold);
            said.extend(confirmed.said);
            confirmed.stands
        };
    // What-ifs are by formula, and so is what they are measured by.
    let by_formula = (all.clone(), musts.clone());
    let (all, told_all) = confirmed(&mut finalists, &mut by_simulation, &all, &ties, Hold::All).unzip();
    let (musts, told_musts) = confirmed(&mut finalists, &mut by_simulation, &musts, &[], Hold::Musts).unzip();
    let (best, told_best) = finalists.answers(best, "The best use of the days", &mut by_simulation).unzip();
    let (of_money, plan_of_money) =
        finalists.answers(of_money, "The best use of the money", &mut by_simulation).unzip();
    let for_money = expedition.money.map(|money| ForMoney {
        money,
        days_paid: plan_of_money.as_ref().map_or(0, |plan| first.days_paid(plan, money)),
        plan: plan_of_money,
        fewest_sites: searches.iter().filter_map(|search| search.least_money(bookable)).reduce(f64::min),
    });
    let told_tie = |finalists: &mut Finalists, tie: &Chosen, fails: fn(&Prepared, &[Margin]) -> bool| {
        let of = &options.all[tie.option];
        NearTie::new(of, &tie.found, !fails(of, &finalists.looked_at(tie)))
    };
    let near = ties.iter().filter(|tie| Some(*tie) != all.as_ref());
    let mut near: Vec<NearTie> = near.map(|tie| told_tie(&mut finalists, tie, is_missed)).collect();
    near.sort_by_key(|tie| !tie.holds);
    let planned = to_schedule(expedition.schedule, (&all, &best, &of_money), bookable);
    let is_best = planned.is_some() && planned == best.as_ref() && planned != all.as_ref();
    let near_best = if is_best { beside(&best, Beside::Best { days: bookable }) } else { Vec::new() };
    let mut near_best: Vec<NearTie> = near_best.iter().map(|tie| told_tie(&mut finalists, tie, rings)).collect();
    near_best.retain(|tie| tie.holds);
    (confirming.step)("asking what if");
    let of = planned.map_or(first, |planned| &options.all[planned.option]);
    let other_places = other.as_ref().map(|other| if std::ptr::eq(of.plan, plan) { other } else { plan });
    let asked = planned.map_or(first, |planned| options.of_all_days(planned.option));
    let several = several_visits(asked);
    // One zone has no other set than the common one.
    let own = all.as_ref().filter(|all| all.found.sites.len() > 1);
    let own = own.and_then(|all| searches[all.option].own_sets(&all.found));
    let day = |number: usize| days.get(number.wrapping_sub(1)).cloned().flatten();
    let lost = first.lost_days();
    let is_blocked = [(&by_formula.0, Hold::All), (&by_formula.1, Hold::Musts)];
    let [of_all, of_musts] = [&all, &musts].map(|of| options.left_over(of.as_ref()));
    let stretches = options.left_over(planned).and_then(|of_plan| {
        let is_least = planned == all.as_ref();
        let money = expedition.money.filter(|_| !is_least && planned == of_money.as_ref());
        let whichever = for_whichever(&options, &zones, (is_least, money, bookable));
        of_plan.told(whichever.as_ref(), 0)
    });
    let mut answer = BudgetAnswer {
        bookable_days: bookable,
        book: to_book(
            first,
            Today::NotTold,
            [("all targets", &told_all, &of_all), ("the musts", &told_musts, &of_musts)],
        ),
        stretches,
        near_ties: near,
        near_best,
        what_ifs: what_ifs(
            (&options, asked),
            other_places,
            (&by_formula.0, &by_formula.1),
            own.as_ref(),
            several.as_deref().unwrap_or_default(),
        ),
        about_occasions: occasions::about(asked, &several),
        not_planned: not_planned(first),
        told_by,
        ways_not_compared: not_compared,
        margin_ifs: planned.map_or(Vec::new(), |planned| margin_ifs(&options, planned, day)),
        measure_first: planned.map_or(Vec::new(), |planned| measure_first(of, &planned.found)),
        own_site_sets: own.map(|own| OwnSiteSets::new(of, own)),
        blocked: is_blocked
            .into_iter()
            .filter(|(found, _)| found.is_none())
            .map(|(_, hold)| blocked(&options, &searches, hold))
            .collect(),
        frontier: days[..told_days]
            .par_iter()
            .enumerate()
            .map(|(index, chosen)| DayChance {
                days: index + 1,
                plan: chosen.as_ref().map(|chosen| options.all[chosen.option].told(&chosen.found, Hold::All)),
                chance: lost.map(|lost| lost.at_least(index + 1, bookable)),
            })
            .collect(),
        all: told_all,
        musts: told_musts,
        best: told_best,
        for_money,
        asked_to_schedule: expedition.schedule,
        interrupted: finalists.interrupted || confirming.watch.interrupted.load(Ordering::Relaxed),
        searched: Searched {
            combinations: options.all.iter().filter(|of| of.is_of_all_days()).count(),
            designs: searches.iter().map(Search::designs).sum(),
            worked_out: searches.iter().map(Search::looked_at).sum(),
            left_out: options.left_out.clone(),
        },
        by_simulation,
        stairs: planned.map_or(Vec::new(), |planned| stairs(of, &planned.found)),
        reading_columns: reading_columns(plan, &first.tasks),
        pairing,
        new_pairs: first.new_pairs(0),
        ..BudgetAnswer::default()
    };
    let there = answer.days_there();
    answer.calendar = calendar(&expedition.days, there);
    answer.season = planned.map(|planned| season(of, &searches[planned.option], &planned.found, there));
    let of_days = planned.map(|planned| on_days(&mut answer, of, &planned.found, confirming.seed));
    (answer.warnings, answer.warnings_of_diving) = warnings(of, &answer);
    answer.warnings.extend(of_days.into_iter().flatten());
    answer.not_on_days(undecided(&plan.study, expedition));
    Ok(answer)
}

/// The design that is scheduled: the one that was asked for, if there is one.
pub(super) fn to_schedule<'a>(
    asked: Scheduled,
    (all, best, of_money): (&'a Option<Chosen>, &'a Option<Chosen>, &'a Option<Chosen>),
    bookable: usize,
) -> Option<&'a Chosen> {
    let all_fit = all.as_ref().is_some_and(|all| all.found.days <= bookable);
    match scheduled(asked, (all_fit, best.is_some(), of_money.is_some())) {
        Scheduled::AllTargets => all.as_ref(),
        Scheduled::BestOfDays => best.as_ref(),
        Scheduled::BestOfMoney => of_money.as_ref(),
    }
}

/// Which plan is scheduled: the one that is asked for, where there is one; else that for all targets where it fits into the days,
/// or the best use of them.
fn scheduled(asked: Scheduled, (all_fit, has_best, has_money): (bool, bool, bool)) -> Scheduled {
    match asked {
        Scheduled::BestOfMoney if has_money => Scheduled::BestOfMoney,
        Scheduled::BestOfDays if has_best => Scheduled::BestOfDays,
        _ if all_fit => Scheduled::AllTargets,
        _ => Scheduled::BestOfDays,
    }
}

impl NearTie {
    fn new(prepared: &Prepared, found: &Found, holds: bool) -> Self {
        let of = |&method: &usize| prepared.dimensions[method].label();
        Self {
            days: found.days,
            team_dives: found.team_dives,
            weakest: found.weakest(),
            sites: found.sites.clone(),
            units: found.units.clone(),
            dimensions: prepared.tasks.methods.iter().map(of).collect(),
            places: prepared.places(),
            holds,
            money: prepared.money(found),
        }
    }
}

impl OwnSiteSets {
    fn new(prepared: &Prepared, own: OwnSets) -> Self {
        let names = prepared.plan.study.zones.iter().map(|zone| zone.name.clone());
        let zones = names.zip(own.sites).zip(own.units).map(|((name, sites), units)| (name, sites, units));
        Self {
            days: own.days,
            team_dives: own.team_dives,
            days_at_least: own.days_at_least,
            team_dives_at_least: own.team_dives_at_least,
            zones: zones.collect(),
            margins: own.margins,
        }
    }
}

/// Puts a plan on days; what must be said of its sites and people comes back.
fn on_days(answer: &mut BudgetAnswer, prepared: &Prepared, found: &Found, seed: u64) -> Vec<String> {
    let list = prepared.expedition.sites.as_ref();
    let draw = list.map(|list| Draw::new(list, prepared.tables.len(), seed));
    let money = prepared.expedition.money.filter(|_| answer.scheduled_as() == Scheduled::BestOfMoney);
    let Some(told) = answer.scheduled() else { return Vec::new() };
    let days = OnDays::new(prepared, (found, told), (draw.as_ref(), None), money);
    let taken = draw.as_ref().map(|draw| Taken::of_plan(found, draw));
    let starts = starts(prepared, found, draw.as_ref(), seed);
    let there = answer.days_there();
    if let Some(season) = &mut answer.season {
        season.in_hand = in_hand_on(prepared, found, there, &days.visits);
    }
    days.tell(answer, prepared, starts, draw.as_ref().zip(taken.as_ref()))
}

/// Near-ties that are told.
pub(super) const NEAR_TIES: usize = 6;

fn is_none_left_out(ways: &usize) -> bool {
    *ways == 0
}

fn not_planned(prepared: &Prepared) -> Vec<String> {
    let methods = prepared.plan.study.methods.iter().enumerate();
    let readings = &prepared.plan.layout.readings;
    let asked = |name: &str| prepared.expedition.targets.iter().any(|target| target.indicator == name);
    let could_tell = |method: usize| readings.iter().any(|of| of.method == method && asked(of.indicator.name()));
    let left_out = methods.filter(|(index, _)| !prepared.tasks.methods.contains(index) && !could_tell(*index));
    left_out.map(|(_, method)| method.kind.own_name().to_owned()).collect()
}
