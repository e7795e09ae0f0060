//! What an expedition buys, as data.

use super::calm::{CalmVisit, calm_visits};
use super::confirm::confirm;
use super::draw::Draw;
use super::indicators::{amounts, main_design, tail_of_test};
use super::people::{Crossing, Turns, people};
use super::prepared::{NothingFits, Prepared};
use super::readers::people_warnings;
use super::schedule::{ScheduleRow, schedule};
use super::sites::{SiteRow, not_spoken_of, site_rows, site_warnings};
use super::stairs::{Stair, stairs};
use super::starts::{Start, starts};
use super::tasks::name_of;
use super::visits::visits;
use super::warn::warnings;
use super::what_ifs::{WhatIf, what_ifs};
use crate::budget::{Found, Hold, LostDays, MET, PairDive, assign, fewest_by_minutes};
use crate::design::{Asks, Expedition};
use crate::engine::{Plan, Until, Watch};
use crate::planner::rows::means;
use crate::theory::t_power;
use serde::Serialize;

/// Everything that was worked out of one expedition; reports only render it.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    pub interrupted: bool,
    /// What one unit more or less of each method costs and gives, in the plan that is scheduled.
    pub stairs: Vec<Stair>,
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
        self.all.as_ref().filter(|all| all.days <= self.bookable_days).or(self.best.as_ref())
    }
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
    /// Chance that the fullest pair-dive of the site is finished in its minutes.
    pub finished: f64,
}

/// Units of a method at each site.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SiteTasks {
    pub method: String,
    pub units: usize,
    /// The fewest with which the targets of the plan still hold, and the most that fit into the same team dives.
    pub needs: usize,
    pub fits: usize,
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
}

/// How the plan is confirmed.
pub struct Confirming<'a> {
    pub seed: u64,
    pub until: Until,
    pub watch: &'a Watch<'a>,
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
    let prepared = Prepared::new(plan, expedition)?;
    let zones = prepared.zones();
    let search = prepared.search(&zones);
    let bookable = prepared.bookable_days();
    let (all, musts) = (search.least(Hold::All), search.least(Hold::Musts));
    let frontier = search.frontier(bookable.max(1));
    let best = frontier.get(bookable.wrapping_sub(1)).cloned().flatten();
    let lost = prepared.lost_days();
    let book = lost.iter().flat_map(|lost| to_book(lost, &prepared, [("all targets", &all), ("the musts", &musts)]));
    let planned = |found: &Option<Found>, hold| found.as_ref().map(|found| prepared.told(found, hold));
    let mut answer = BudgetAnswer {
        bookable_days: bookable,
        all: planned(&all, Hold::All),
        musts: planned(&musts, Hold::Musts),
        best: planned(&best, Hold::All),
        book: book.collect(),
        near_ties: all.as_ref().map_or(Vec::new(), |all| {
            let near = search.near_ties(all, NEAR_TIES);
            let weakest = |found: &Found| found.margins.iter().copied().fold(f64::INFINITY, f64::min);
            let tie = |found: Found| NearTie {
                days: found.days,
                team_dives: found.team_dives,
                weakest: weakest(&found),
                sites: found.sites,
                units: found.units,
            };
            near.into_iter().map(tie).collect()
        }),
        what_ifs: what_ifs(&prepared, &all, &musts),
        not_planned: not_planned(&prepared),
        frontier: frontier
            .into_iter()
            .enumerate()
            .map(|(index, found)| DayChance {
                days: index + 1,
                plan: planned(&found, Hold::All),
                chance: lost.map(|lost| lost.at_least(index + 1, bookable)),
            })
            .collect(),
        schedule: Vec::new(),
        starts: Vec::new(),
        warnings: Vec::new(),
        interrupted: false,
        stairs: Vec::new(),
        sites: Vec::new(),
        calm_visits: Vec::new(),
        crossing: Vec::new(),
        turns: Vec::new(),
        not_spoken_of: Vec::new(),
    };
    let scheduled = all.as_ref().filter(|all| all.days <= bookable).or(best.as_ref());
    answer.stairs = scheduled.map_or(Vec::new(), |found| stairs(&prepared, found));
    answer.warnings = warnings(&prepared, &answer);
    if let Some(found) = scheduled {
        let planned = if all.as_ref() == Some(found) { &answer.all } else { &answer.best };
        let zones = planned.as_ref().map_or(Vec::new(), |planned| planned.zones.clone());
        on_days(&mut answer, &prepared, (found, &zones), confirming.seed);
    }
    // One design may be several of the plans: it is simulated once.
    let mut confirmed: Vec<(&Found, Vec<Margin>)> = Vec::new();
    for (found, told) in [(&all, &mut answer.all), (&musts, &mut answer.musts), (&best, &mut answer.best)] {
        if let (Some(found), Some(told)) = (found, told) {
            if let Some((_, margins)) = confirmed.iter().find(|(known, _)| *known == found) {
                told.margins.clone_from(margins);
                continue;
            }
            answer.interrupted |= confirm(&prepared, found, &mut told.margins, confirming);
            confirmed.push((found, told.margins.clone()));
        }
    }
    Ok(answer)
}

/// Puts a plan on days: sites, people, starts, and what must be said of them.
fn on_days(answer: &mut BudgetAnswer, prepared: &Prepared, (found, zones): (&Found, &[ZoneSites]), seed: u64) {
    let list = prepared.expedition.sites.as_ref();
    let draw = list.map(|list| Draw::new(list, zones.len(), seed));
    let visits = visits(prepared, found, zones, draw.as_ref());
    let work: Vec<&[PairDive]> = zones.iter().map(|zone| &zone.work[..]).collect();
    let people = people(prepared, &visits, &work);
    answer.schedule = schedule(prepared, &visits, &people, draw.as_ref());
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

const NEAR_TIES: usize = 6;
/// Days that are looked at to book.
const MOST_TO_BOOK: usize = 120;

fn to_book(lost: &LostDays, prepared: &Prepared, plans: [(&str, &Option<Found>); 2]) -> Vec<BookDays> {
    let of = |(name, found): (&str, &Option<Found>)| {
        let needs = found.as_ref()?.days;
        Some(BookDays {
            plan: name.to_owned(),
            needs,
            chance: lost.at_least(needs, prepared.bookable_days()),
            to_book: lost.to_book(needs, prepared.expedition.days.chance_wanted, MOST_TO_BOOK),
        })
    };
    plans.into_iter().filter_map(of).collect()
}

fn not_planned(prepared: &Prepared) -> Vec<String> {
    let methods = prepared.plan.study.methods.iter().enumerate();
    let left_out = methods.filter(|(index, _)| !prepared.tasks.methods.contains(index));
    left_out.map(|(_, method)| name_of(&method.kind).to_owned()).collect()
}

impl Prepared<'_> {
    /// A design with who does what, and what it gives by formula.
    fn told(&self, found: &Found, hold: Hold) -> BudgetPlan {
        let zones: Vec<ZoneSites> = (0..self.tables.len()).map(|zone| self.zone_sites(zone, found)).collect();
        BudgetPlan {
            days: found.days,
            team_dives: found.team_dives,
            pair_dives: zones.iter().map(|zone| zone.sites * zone.pair_dives).sum(),
            site_set: self.site_set(found, hold),
            margins: self.margins(found),
            zones,
        }
    }

    fn zone_sites(&self, zone: usize, found: &Found) -> ZoneSites {
        let team_dives = self.tables[zone].dives(&found.units).unwrap_or(0);
        let packing = self.packing(zone, team_dives);
        let work = assign(&packing, &found.units, team_dives).unwrap_or_default();
        let finished = |dive: &PairDive| {
            let minutes = self.expedition.zones[zone].work_minutes();
            self.finish.chance(&self.tasks.tasks, &dive.work, minutes)
        };
        ZoneSites {
            zone: self.plan.study.zones[zone].name.clone(),
            sites: usize::from(found.sites[zone]),
            team_dives,
            team_dives_at_least: fewest_by_minutes(&packing, &found.units),
            pair_dives: work.len(),
            finished: work.iter().map(finished).fold(1.0, f64::min),
            work,
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
