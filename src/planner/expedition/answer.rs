//! What an expedition buys, as data.

use super::blocked::{Blocked, blocked};
use super::calendar::{DaysFor, calendar};
use super::calm::{CalmVisit, calm_visits};
use super::cylinders::{Cylinders, cylinders};
use super::done::{ReadingColumn, reading_columns};
use super::draw::Draw;
use super::finalists::{Finalists, is_missed};
use super::indicators::{amounts, main_design, tail_of_test};
use super::joint::JointChances;
use super::known::Known;
use super::marks::VisitDives;
use super::measure_first::{MeasureFirst, measure_first};
use super::money::Cost;
use super::next_costs::NextCost;
use super::options::{Chosen, Options, frontier, least, near_ties};
use super::pairings::{Pairing, paired};
use super::people::{Crossing, Turns, people};
use super::places::with_other_places;
use super::prepared::{NothingFits, Prepared};
use super::readers::people_warnings;
use super::schedule::{ScheduleRow, schedule};
use super::season::{MOST_TO_BOOK, Odds, Season, season};
use super::sites::{SiteRow, not_spoken_of, site_rows, site_warnings};
use super::stairs::{Stair, stairs};
use super::starts::{Start, starts};
use super::visits::visits;
use super::warn::warnings;
use super::what_ifs::{MarginIf, WhatIf, margin_ifs, what_ifs};
use crate::budget::{Found, Hold, LostDays, MET, OwnSets, PairDive, Search, ZoneDives, fewest_by_minutes};
use crate::design::{Asks, Expedition, Places};
use crate::engine::{Plan, Until, Watch};
use crate::planner::rows::means;
use crate::theory::t_power;
use rayon::prelude::*;
use serde::Serialize;
use std::sync::atomic::Ordering;

/// Everything that was worked out of one expedition; reports only render it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct BudgetAnswer {
    /// Days on which can be dived if none is lost.
    pub bookable_days: usize,
    /// The least effort that meets every target; `None`: nothing within the zones' sites does.
    pub all: Option<BudgetPlan>,
    /// The least effort that meets the musts.
    pub musts: Option<BudgetPlan>,
    /// The best use of the days that can be booked; its margins are confirmed by simulation.
    pub best: Option<BudgetPlan>,
    /// The best use of 1, 2 ... days.
    pub frontier: Vec<DayChance>,
    pub near_ties: Vec<NearTie>,
    pub what_ifs: Vec<WhatIf>,
    /// Days to book; empty where lost days are not told.
    pub book: Vec<BookDays>,
    /// Methods that serve no target and are not planned.
    pub not_planned: Vec<String>,
    /// Of the plan for all targets where its days can be booked, else of the best use of those.
    pub schedule: Vec<ScheduleRow>,
    /// Where its units begin, by the seed.
    pub starts: Vec<Start>,
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
    /// The scheduled plan day by day; `None`: there is none.
    pub season: Option<Season>,
    /// What to fill for the scheduled plan; `None`: the user tells nothing of gas.
    pub cylinders: Option<Cylinders>,
    /// The sites of the list with their part in the schedule, zone by zone; empty without a list.
    pub sites: Vec<SiteRow>,
    /// Visits that need calm weather, each with a sheltered site for a bad day; empty without a list.
    pub calm_visits: Vec<CalmVisit>,
    /// Who reads what in which zone.
    pub crossing: Vec<Crossing>,
    /// Dives, team dives on board and days off of everybody.
    pub turns: Vec<Turns>,
    pub not_spoken_of: Vec<String>,
}

impl BudgetAnswer {
    /// The plan for all targets where its days can be booked, else the best use of those: what is scheduled.
    pub fn scheduled(&self) -> Option<&BudgetPlan> {
        self.all.as_ref().filter(|_| self.schedules_all()).or(self.best.as_ref())
    }

    /// Whether what is scheduled is the plan for all targets. (Plans alike are not equal where one holds no number.)
    pub fn schedules_all(&self) -> bool {
        self.all.as_ref().is_some_and(|all| all.days <= self.bookable_days)
    }
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

/// One plan with what it takes and gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BudgetPlan {
    pub days: usize,
    pub team_dives: usize,
    pub pair_dives: usize,
    pub zones: Vec<ZoneSites>,
    /// What is done at each site.
    pub site_set: Vec<SiteTasks>,
    pub margins: Vec<Margin>,
    /// Where the second visit lays its units; `None`: there is none at the same sites.
    pub places: Option<Places>,
    /// With how many units of a method the next team dive at a site begins.
    pub next_costs: Vec<NextCost>,
    /// Where units lie at the same marks again: what the first visit and later ones take; the dearer one is planned.
    pub visits: Vec<VisitDives>,
    /// What its tests give together; `None` where nothing is tested or nothing was simulated.
    pub joint: Option<JointChances>,
    /// Of one visit; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<Cost>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneSites {
    pub zone: String,
    pub sites: usize,
    /// At each site, and the least that its minutes and skills allow.
    pub team_dives: usize,
    pub team_dives_at_least: usize,
    pub pair_dives: usize,
    /// Who does what at one site.
    #[serde(skip)]
    pub work: Vec<PairDive>,
    /// The same by other teams: of other boats, and later ones where divers come or leave.
    #[serde(skip)]
    pub other_work: Vec<TeamWork>,
    /// Chance that the fullest pair-dive of the site is finished in its minutes.
    pub finished: f64,
}

impl ZoneSites {
    /// Who does what at a site on a day for diving from a boat (both from 1), by the team that is then aboard.
    pub fn work_of(&self, day: usize, boat: usize) -> &[PairDive] {
        let other = self.other_work.iter().rev().find(|of| of.boat == boat && of.from_day <= day);
        other.map_or(&self.work, |of| &of.work)
    }
}

/// Who does what at one site, by the team of a boat from some day for diving on, both from 1.
#[derive(Clone, Debug, PartialEq)]
pub struct TeamWork {
    pub from_day: usize,
    pub boat: usize,
    pub work: Vec<PairDive>,
}

/// Units of a method at each site.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SiteTasks {
    pub method: String,
    pub units: usize,
    /// The fewest with which the targets of the plan still hold, and the most that fit into the same team dives.
    pub needs: usize,
    pub fits: usize,
    /// What was chosen for the method, "10 m, every 0.1 m"; empty where it has no dimensions.
    pub dimensions: String,
}

/// How a target is met.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Margin {
    pub indicator: String,
    pub must: bool,
    pub asks: Asks,
    /// What is there at the first visit and after the change that shall be seen, over the zones, in the unit of the
    /// indicator.
    pub change: Option<(f64, f64)>,
    /// Target over achieved, by formula: 1 is just met.
    pub margin: f64,
    /// How often the change is seen, by simulation, with its error; `None` where no change is asked or nothing was
    /// simulated.
    pub seen: Option<(f64, f64)>,
    /// How often the test rings when nothing changed, with its error.
    pub false_alarm: Option<(f64, f64)>,
    /// Half-width of the interval (mean over trials), in the unit of the indicator, where it is the target.
    pub half_width: Option<f64>,
    /// Standard error over the mean of one visit, where it is the target.
    pub cv: Option<f64>,
    /// Share of the variance that more units cannot reduce.
    pub not_by_units: f64,
    /// How often the change is seen, by formula: with these sites, with a quarter fewer in each zone, with a quarter more.
    pub seen_by_sites: Option<[f64; 3]>,
    /// What is asked, and what is achieved by formula: a change and the smallest that is seen as often as asked, or a
    /// half-width, in the unit of the indicator; or an error over the mean. Their ratio is the margin (on the scale of the
    /// test).
    pub target: f64,
    pub achieved: f64,
    /// Simulation errors of `half_width` and `cv`.
    pub half_width_error: Option<f64>,
    pub cv_error: Option<f64>,
}

/// The best use of so many days.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayChance {
    pub days: usize,
    pub plan: Option<BudgetPlan>,
    /// Chance that so many days are left of those that can be booked.
    pub chance: Option<f64>,
}

/// A plan hardly dearer than the least one, from which logistics may choose.
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

/// Days to book so that a plan is finished with the chance wanted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookDays {
    /// "all targets", "the musts"
    pub plan: String,
    pub needs: usize,
    /// Chance with the days that can be booked now.
    pub chance: f64,
    pub to_book: Option<usize>,
    /// The same were each day lost by itself, and in spells: spells lower the chance of losing little and raise that of
    /// losing nothing.
    pub odds: Odds,
    /// Money with the planned days alone and with all days that are to be booked; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<(f64, f64)>,
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
    let known = Known::default();
    let (expedition, pairing) = paired(plan, expedition, &known);
    let expedition = expedition.as_ref();
    let other = with_other_places(plan);
    let both = other.as_ref().filter(|_| expedition.chooses_places);
    let plans: Vec<&Plan> = std::iter::once(plan).chain(both).collect();
    (confirming.step)("preparing");
    let options = Options::new(&plans, expedition, &known)?;
    let zones: Vec<Vec<ZoneDives>> = options.all.iter().map(Prepared::zones).collect();
    let searches: Vec<Search> =
        options.all.iter().zip(&zones).map(|(of, zones)| of.search(zones).watched(confirming.watch)).collect();
    let first = &options.all[0];
    let bookable = first.bookable_days();
    (confirming.step)("searching");
    let (all, musts) = (least(&searches, Hold::All), least(&searches, Hold::Musts));
    let mut days = frontier(&searches, bookable.max(1) + 1);
    let one_more = days.pop().flatten();
    let best = days.get(bookable.wrapping_sub(1)).cloned().flatten();
    let ties = all.as_ref().map_or(Vec::new(), |all| near_ties(&searches, all, NEAR_TIES));
    (confirming.step)("simulating");
    let mut finalists = Finalists::new(&options, confirming);
    let mut by_simulation = Vec::new();
    let mut confirmed = |finalists: &mut Finalists, chosen: &Option<Chosen>, ties: &[Chosen], hold| {
        let confirmed = finalists.confirmed(&searches, chosen.clone()?, ties, hold);
        by_simulation.extend(confirmed.said);
        Some((confirmed.chosen, confirmed.plan))
    };
    let (all, told_all) = confirmed(&mut finalists, &all, &ties, Hold::All).unzip();
    let (musts, told_musts) = confirmed(&mut finalists, &musts, &[], Hold::Musts).unzip();
    let told_best = best.as_ref().map(|best| finalists.simulated(best, Hold::All));
    let mut near: Vec<NearTie> = ties
        .iter()
        .filter(|tie| Some(*tie) != all.as_ref())
        .map(|tie| {
            let of = &options.all[tie.option];
            NearTie::new(of, &tie.found, !is_missed(of, &finalists.looked_at(tie)))
        })
        .collect();
    near.sort_by_key(|tie| !tie.holds);
    (confirming.step)("asking what if");
    let planned = all.as_ref().filter(|all| all.found.days <= bookable).or(best.as_ref());
    let of = planned.map_or(first, |planned| &options.all[planned.option]);
    let other_places = other.as_ref().map(|other| if std::ptr::eq(of.plan, plan) { other } else { plan });
    let own = all.as_ref().and_then(|all| searches[all.option].own_sets(&all.found));
    let day = |days: &[Option<Chosen>], number: usize| {
        let chosen = if number == days.len() + 1 { &one_more } else { days.get(number.wrapping_sub(1))? };
        chosen.as_ref().map(|chosen| chosen.found.clone())
    };
    let lost = first.lost_days();
    let book =
        lost.iter().flat_map(|lost| to_book(lost, first, [("all targets", &told_all), ("the musts", &told_musts)]));
    let is_blocked = [(&all, Hold::All), (&musts, Hold::Musts)];
    let mut answer = BudgetAnswer {
        bookable_days: bookable,
        book: book.collect(),
        near_ties: near,
        what_ifs: what_ifs(of, other_places, (&all, &musts), own.as_ref()),
        not_planned: not_planned(first),
        margin_ifs: planned.map_or(Vec::new(), |planned| margin_ifs(of, &planned.found, |number| day(&days, number))),
        measure_first: planned.map_or(Vec::new(), |planned| measure_first(of, &planned.found)),
        own_site_sets: own.map(|own| OwnSiteSets::new(of, own)),
        blocked: is_blocked
            .into_iter()
            .filter(|(found, _)| found.is_none())
            .map(|(_, hold)| blocked(&options, &searches, hold))
            .collect(),
        frontier: days
            .par_iter()
            .enumerate()
            .map(|(index, chosen)| DayChance {
                days: index + 1,
                plan: chosen.as_ref().map(|chosen| options.all[chosen.option].told(&chosen.found, Hold::All)),
                chance: lost.map(|lost| lost.at_least(index + 1, bookable)),
            })
            .collect(),
        schedule: Vec::new(),
        starts: Vec::new(),
        all: told_all,
        musts: told_musts,
        best: told_best,
        warnings: Vec::new(),
        warnings_of_diving: 0,
        interrupted: finalists.interrupted || confirming.watch.interrupted.load(Ordering::Relaxed),
        searched: Searched {
            combinations: options.all.len(),
            designs: searches.iter().map(Search::designs).sum(),
            worked_out: searches.iter().map(Search::looked_at).sum(),
            left_out: options.left_out.clone(),
        },
        by_simulation,
        stairs: planned.map_or(Vec::new(), |planned| stairs(of, &planned.found)),
        reading_columns: reading_columns(plan, &first.tasks),
        calendar: calendar(&expedition.days),
        pairing,
        season: planned.map(|planned| season(of, &searches[planned.option], &planned.found)),
        cylinders: None,
        sites: Vec::new(),
        calm_visits: Vec::new(),
        crossing: Vec::new(),
        turns: Vec::new(),
        not_spoken_of: Vec::new(),
    };
    if let Some(planned) = planned {
        on_days(&mut answer, of, &planned.found, confirming.seed);
    }
    answer.cylinders = cylinders(of, &answer.schedule);
    let of_sites = std::mem::take(&mut answer.warnings);
    (answer.warnings, answer.warnings_of_diving) = warnings(of, &answer);
    answer.warnings.extend(of_sites);
    Ok(answer)
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

/// Puts a plan on days: sites, people, starts, and what must be said of them.
fn on_days(answer: &mut BudgetAnswer, prepared: &Prepared, found: &Found, seed: u64) {
    let Some(zones) = answer.scheduled().map(|planned| planned.zones.clone()) else { return };
    let list = prepared.expedition.sites.as_ref();
    let draw = list.map(|list| Draw::new(list, zones.len(), seed));
    let visits = visits(prepared, found, &zones, draw.as_ref());
    let people = people(prepared, &visits, &zones);
    answer.schedule = schedule((prepared, found), &visits, &people, draw.as_ref());
    answer.starts = starts(prepared, found, draw.as_ref(), seed);
    if let Some(draw) = &draw {
        answer.sites = site_rows(prepared, found, draw, &visits);
        answer.calm_visits = calm_visits(prepared, &visits, draw);
        answer.warnings.extend(site_warnings(prepared, &answer.sites, draw, &visits));
    }
    answer.not_spoken_of = not_spoken_of(prepared, list, &answer.sites);
    answer.warnings.extend(people_warnings(prepared, &people));
    answer.crossing = people.crossing;
    answer.turns = people.turns;
}

/// Near-ties that are told.
pub(super) const NEAR_TIES: usize = 6;

fn to_book(lost: &LostDays, prepared: &Prepared, plans: [(&str, &Option<BudgetPlan>); 2]) -> Vec<BookDays> {
    let of = |(name, plan): (&str, &Option<BudgetPlan>)| {
        let plan = plan.as_ref()?;
        let needs = plan.days;
        let to_book = lost.to_book(needs, prepared.expedition.days.chance_wanted, MOST_TO_BOOK);
        Some(BookDays {
            plan: name.to_owned(),
            needs,
            chance: lost.at_least(needs, prepared.bookable_days()),
            to_book,
            odds: Odds::new(prepared, lost, needs),
            money: to_book
                .and_then(|booked| Some((plan.cost.as_ref()?.total, plan.cost.as_ref()?.with_days(booked - needs)))),
        })
    };
    plans.into_iter().filter_map(of).collect()
}

fn not_planned(prepared: &Prepared) -> Vec<String> {
    let methods = prepared.plan.study.methods.iter().enumerate();
    let left_out = methods.filter(|(index, _)| !prepared.tasks.methods.contains(index));
    left_out.map(|(_, method)| method.kind.own_name().to_owned()).collect()
}

impl Prepared<'_> {
    /// A design with who does what, and what it gives by formula.
    pub(super) fn told(&self, found: &Found, hold: Hold) -> BudgetPlan {
        let zones: Vec<ZoneSites> = (0..self.tables.len()).map(|zone| self.zone_sites(zone, found)).collect();
        BudgetPlan {
            days: found.days,
            team_dives: found.team_dives,
            pair_dives: zones.iter().map(|zone| zone.sites * zone.pair_dives).sum(),
            site_set: self.site_set(found, hold),
            margins: self.margins(found),
            places: self.places(),
            next_costs: self.next_costs(found),
            visits: self.visits(found, &zones),
            joint: None,
            cost: self.cost(found.days, &zones, &found.units),
            zones,
        }
    }

    /// Where the second visit to the same sites lays its units.
    fn places(&self) -> Option<Places> {
        let is_again = self.plan.study.question.visits() == 2 && self.plan.same_sites;
        is_again.then_some(self.plan.study.visits.places)
    }

    /// Who does so many units at a site of a zone, for each team.
    pub(super) fn work_by_team(&self, zone: usize, units: &[u8], team_dives: usize) -> impl Iterator<Item = TeamWork> {
        self.teams.iter().map(move |team| {
            let packing = self.packing_by(&self.tasks.tasks, &team.crews[zone], zone, team_dives);
            let work = self.known.work(&packing, units, team_dives);
            TeamWork { from_day: team.from_day, boat: team.boat, work }
        })
    }

    fn zone_sites(&self, zone: usize, found: &Found) -> ZoneSites {
        let team_dives = self.tables[zone].dives(&found.units).unwrap_or(0);
        let packing = self.packing(zone, team_dives);
        let mut by_team = self.work_by_team(zone, &found.units, team_dives);
        let work = by_team.next().map_or(Vec::new(), |team| team.work);
        let other_work: Vec<TeamWork> = by_team.collect();
        let finished = |dive: &PairDive| {
            let minutes = self.expedition.zones[zone].work_minutes();
            self.finish.chance(&self.tasks.tasks, &dive.work, minutes)
        };
        let others = other_work.iter().map(|of| &of.work);
        ZoneSites {
            zone: self.plan.study.zones[zone].name.clone(),
            sites: usize::from(found.sites[zone]),
            team_dives,
            team_dives_at_least: fewest_by_minutes(&packing, &found.units),
            pair_dives: others.clone().map(Vec::len).fold(work.len(), usize::max),
            finished: others.chain([&work]).flatten().map(finished).fold(1.0, f64::min),
            work,
            other_work,
        }
    }

    fn site_set(&self, found: &Found, hold: Hold) -> Vec<SiteTasks> {
        let dives = |units: &[u8]| self.tables.iter().map(|table| table.dives(units)).collect::<Vec<_>>();
        let now = dives(&found.units);
        let weights = self.weights();
        let holds = |task: usize, units: u8| {
            let of_task = self.indicators.iter().filter(|indicator| indicator.task == task && hold.asks(indicator));
            of_task.into_iter().all(|indicator| {
                // What was not met with all of them need not be met with fewer.
                let margin = |units: u8| indicator.margin(&weights, &found.sites, usize::from(units));
                margin(units) >= MET.min(margin(found.units[task]))
            })
        };
        (0..found.units.len())
            .map(|task| {
                let units = found.units[task];
                let with = |number: u8| {
                    let mut units = found.units.clone();
                    units[task] = number;
                    units
                };
                SiteTasks {
                    method: self.tasks.tasks[task].name.clone(),
                    units: usize::from(units),
                    needs: usize::from((1..=units).find(|&fewer| holds(task, fewer)).unwrap_or(units)),
                    fits: usize::from(
                        (units..=self.tasks.caps.of(task))
                            .take_while(|&more| dives(&with(more)) == now)
                            .last()
                            .unwrap_or(units),
                    ),
                    dimensions: self.dimensions[self.tasks.methods[task]].label(),
                }
            })
            .collect()
    }

    fn margins(&self, found: &Found) -> Vec<Margin> {
        let weights = self.weights();
        let test = &self.plan.study.test;
        let targets = self.expedition.targets.iter().zip(&self.indicators).zip(&found.margins);
        let readings = self.tasks.told_by.iter().map(|&(_, reading)| reading);
        targets
            .zip(readings)
            .map(|(((target, indicator), &margin), reading)| {
                let units = usize::from(found.units[indicator.task]);
                let variance = |units: usize| indicator.variance(&weights, &found.sites, units).0;
                // The part that goes with 1 / units, from half as many (the largest number at hand).
                let half = (units / 2).max(1);
                let (now, fewer) = (variance(units), variance(half));
                let by_units = if half < units {
                    (fewer - now) / (1.0 / half as f64 - 1.0 / units as f64) / units as f64
                } else {
                    f64::NAN
                };
                let (asked, achieved) = amounts(self.plan, target, reading, margin);
                Margin {
                    indicator: target.indicator.clone(),
                    must: target.must,
                    asks: target.asks,
                    change: match target.asks {
                        Asks::SeeChange(change) => Some(means(self.plan, &main_design(self.plan, reading), change + 2)),
                        _ => None,
                    },
                    margin,
                    seen: None,
                    false_alarm: None,
                    half_width: None,
                    cv: None,
                    not_by_units: (1.0 - by_units / now).clamp(0.0, 1.0),
                    seen_by_sites: matches!(target.asks, Asks::SeeChange(_)).then(|| {
                        [1.0, 0.75, 1.25].map(|factor| {
                            let of = |&sites: &u16| (f64::from(sites) * factor).round().max(2.0) as u16;
                            let sites: Vec<u16> = found.sites.iter().map(of).collect();
                            let (variance, df) = indicator.variance(&weights, &sites, units);
                            t_power(indicator.target / variance.sqrt(), df, test.alpha, tail_of_test(test.sides))
                        })
                    }),
                    target: asked,
                    achieved,
                    half_width_error: None,
                    cv_error: None,
                }
            })
            .collect()
    }
}
