//! A design as a plan that is told: who does what at its sites, and how its targets are met by formula.

use super::by_stretch::{PlanStretch, SitesInStretch};
use super::indicators::{amounts, fish_written_over_there, main_design, tail_of_test};
use super::joint::JointChances;
use super::marks::VisitDives;
use super::money::Cost;
use super::musts_first::musts_first;
use super::next_costs::NextCost;
use super::place_dives::OnOneDive;
use super::prepared::{MOST_DIVES_AT_A_SITE, Prepared, Team};
use crate::budget::{Found, Hold, MET, PairDive, PlaceDive, fewest_by_minutes};
use crate::design::{Asks, Places};
use crate::measures::counted;
use crate::planner::colonies::{ColoniesOnBelt, colonies_on_belt};
use crate::planner::rows::means;
use crate::theory::t_power;
use serde::Serialize;
use std::collections::BTreeSet;

/// One plan with what it takes and gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BudgetPlan {
    /// On which is dived.
    pub days: usize,
    /// Besides them left free at the least, because some of its sites can be reached later only; they are paid for.
    #[serde(skip_serializing_if = "is_none")]
    pub free_days: usize,
    pub team_dives: usize,
    pub pair_dives: usize,
    pub zones: Vec<ZoneSites>,
    /// What is done at each site.
    pub site_set: Vec<SiteTasks>,
    pub margins: Vec<Margin>,
    /// Sites of each zone with a quarter fewer and with a quarter more of them, as far as whole sites allow, two at least.
    pub sites_around: [Vec<usize>; 2],
    /// Where the second visit lays its units; `None`: there is none at the same sites.
    pub places: Option<Places>,
    /// With how many units of a method the next team dive at a site begins.
    pub next_costs: Vec<NextCost>,
    /// Where units lie at the same marks again: what the first visit and later ones take; the dearer one is planned.
    pub visits: Vec<VisitDives>,
    /// What its tests give together; `None` where nothing is tested or nothing was simulated.
    pub joint: Option<JointChances>,
    /// Where its days are planned by stretches of the crew: those of them on which something is done.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stretches: Vec<PlanStretch>,
    /// Of one visit; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<Cost>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneSites {
    pub zone: String,
    pub sites: usize,
    /// At each site (the most of any stretch), and the least that its minutes and skills allow.
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
    /// Where it is planned by stretches of the crew: each of those of the plan, also one without sites of the zone.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_stretch: Vec<SitesInStretch>,
    /// The deeper zone at the same places on whose dives the work is done; it has no dives of its own then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on_dives_of: Option<String>,
}

impl BudgetPlan {
    /// The same with so many days of the expedition gone before its first.
    pub(super) fn after_days(mut self, gone: usize) -> Self {
        self.stretches.iter_mut().for_each(|of| (of.from_day, of.to_day) = (of.from_day + gone, of.to_day + gone));
        for of in self.zones.iter_mut().flat_map(|zone| &mut zone.by_stretch) {
            (of.from_day, of.to_day) = (of.from_day + gone, of.to_day + gone);
        }
        self
    }

    /// Days for diving that are paid for.
    pub fn days_with_free(&self) -> usize {
        self.days + self.free_days
    }

    /// Zones whose sites are dived at, with their names: "wall with rim" where the work of another zone is done on their dives.
    pub fn dived_at(&self) -> impl Iterator<Item = (String, &ZoneSites)> {
        let with = |zone: &ZoneSites| {
            let is_there = |other: &&ZoneSites| other.on_dives_of.as_ref() == Some(&zone.zone);
            let others = self.zones.iter().filter(is_there).map(|other| format!(" with {}", other.zone));
            std::iter::once(zone.zone.clone()).chain(others).collect::<String>()
        };
        let visited = self.zones.iter().filter(|zone| zone.on_dives_of.is_none());
        visited.map(move |zone| (with(zone), zone))
    }
}

impl ZoneSites {
    /// Team dives at a site: "2 team dives", or "on those of wall" where it has none of its own; "1 team dive on days 1 to 4, 2 on
    /// days 5 to 7" where they differ by stretch.
    pub fn dives_words(&self) -> String {
        let with_sites: Vec<&SitesInStretch> = self.by_stretch.iter().filter(|of| of.sites > 0).collect();
        match (&self.on_dives_of, &with_sites[..]) {
            (Some(deep), _) => format!("on those of {deep}"),
            (None, [first, others @ ..]) if others.iter().any(|of| of.team_dives != first.team_dives) => {
                let other = |of: &&SitesInStretch| format!(", {} {}", of.team_dives, of.days_words());
                let others: String = others.iter().map(other).collect();
                format!("{} {}{others}", counted(first.team_dives, "team dive"), first.days_words())
            }
            _ => counted(self.team_dives, "team dive"),
        }
    }

    /// At all its sites.
    pub fn pair_dives_at_all(&self) -> usize {
        match &self.by_stretch[..] {
            [] => self.sites * self.pair_dives,
            stretches => stretches.iter().map(|of| of.sites * of.pair_dives).sum(),
        }
    }

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
    /// Of a coral belt: how many colonies a diver meets on one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colonies: Option<ColoniesOnBelt>,
}

/// How a target is met.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Margin {
    pub indicator: String,
    pub must: bool,
    pub asks: Asks,
    /// How often its change shall be seen; `None` where no change is asked.
    pub power_asked: Option<f64>,
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
    /// Share of the variance that more units cannot reduce; `None` where no other number of units is at hand.
    pub not_by_units: Option<f64>,
    /// How often the change is seen, by formula: with these sites, with those of a quarter fewer, with those of a quarter more
    /// ([`BudgetPlan::sites_around`]).
    pub seen_by_sites: Option<[f64; 3]>,
    /// The same of half-widths and errors: what is achieved by formula.
    pub achieved_by_sites: Option<[f64; 3]>,
    /// What is asked, and what is achieved by formula: a change and the smallest that is seen as often as asked, or a
    /// half-width, in the unit of the indicator; or an error over the mean. Their ratio is the margin (on the scale of the
    /// test).
    pub target: f64,
    pub achieved: f64,
    /// Simulation errors of `half_width` and `cv`.
    pub half_width_error: Option<f64>,
    pub cv_error: Option<f64>,
    /// Of fish: what is written at the first visit over what is there, by formula; changes and half-widths are of what is there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written_over_there: Option<f64>,
    /// Zone by zone how it varies in one visit, as it is read.
    pub spreads: Vec<SpreadInZone>,
}

impl Margin {
    /// How often the change is seen by formula and by simulation, where the two part by more than simulation errs.
    pub fn parts(&self) -> Option<(f64, f64)> {
        let ([by_formula, ..], (seen, error)) = (self.seen_by_sites?, self.seen?);
        ((by_formula - seen).abs() > 0.02 + 4.0 * error).then_some((by_formula, seen))
    }
}

/// Standard deviations in one visit, in the unit of the indicator (of components on their scale): of whole sites, and of the
/// units of a site.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpreadInZone {
    pub between_sites: f64,
    pub between_units: f64,
}

fn is_none(days: &usize) -> bool {
    *days == 0
}

/// A quarter fewer and a quarter more sites in each zone, as far as whole sites allow, and two at least.
fn around(sites: &[u16]) -> [Vec<u16>; 2] {
    let times = |factor: f64| sites.iter().map(|&sites| (f64::from(sites) * factor).round().max(2.0) as u16).collect();
    [times(0.75), times(1.25)]
}

impl Prepared<'_> {
    /// A design with who does what, and what it gives by formula.
    pub(super) fn told(&self, found: &Found, hold: Hold) -> BudgetPlan {
        let zones: Vec<ZoneSites> = (0..self.tables.len()).map(|zone| self.zone_sites(zone, found)).collect();
        let free_days = self.opens.day(&found.sites).saturating_sub(found.days);
        BudgetPlan {
            days: found.days,
            free_days,
            team_dives: found.team_dives + self.dives_to_finish().iter().sum::<usize>(),
            pair_dives: zones.iter().map(ZoneSites::pair_dives_at_all).sum::<usize>() + self.pair_dives_to_finish(),
            site_set: self.site_set(found, hold),
            margins: self.margins(found),
            sites_around: around(&found.sites).map(|sites| sites.into_iter().map(usize::from).collect()),
            places: self.places(),
            next_costs: self.next_costs(found),
            visits: self.visits(found, &zones),
            joint: None,
            stretches: self.stretches_of_plan(found).into_iter().map(|(_, of)| of).collect(),
            cost: self.cost(found.days + free_days, &zones, &found.units),
            zones,
        }
    }

    /// Where the second visit to the same sites lays its units.
    pub(super) fn places(&self) -> Option<Places> {
        let is_again = self.plan.study.question.visits() == 2 && self.plan.same_sites;
        is_again.then_some(self.plan.study.visits.places)
    }

    /// Dives of a site in the order of what they do for the musts, but where lines stay from one to the next.
    pub(super) fn in_order(&self, work: Vec<PairDive>) -> Vec<PairDive> {
        let stays = self.tasks.line.as_ref().is_some_and(|line| line.stays);
        let musts: BTreeSet<usize> = self.indicators.iter().filter(|of| of.is_must).map(|of| of.task).collect();
        if stays { work } else { musts_first(work, &self.tasks.tasks, &musts) }
    }

    /// A zone whose work is done on the dives of both depths of its places.
    fn at_two_depths(&self, of: OnOneDive, zone: usize, found: &Found) -> ZoneSites {
        let place = self.two_depths(of, MOST_DIVES_AT_A_SITE);
        let by_team: Vec<(&Team, Vec<PlaceDive>)> =
            self.teams.iter().map(|team| (team, self.place_work(of, team, &found.units))).collect();
        let is_deep = zone == of.deep;
        let own = |number: usize| if is_deep { number } else { 0 };
        let name = |zone: usize| self.plan.study.zones[zone].name.clone();
        let finished_by = |dives: &[PlaceDive]| {
            self.least_finished(of.deep, dives.iter().map(|dive| (dive.team_dive, dive.parts.each_ref().map(Some))))
        };
        let finished = by_team.iter().map(|(_, dives)| finished_by(dives)).fold(1.0, f64::min);
        let pair_dives = by_team.iter().map(|(_, dives)| dives.len()).max().unwrap_or(0);
        let mut at_depth = by_team.iter().map(|(team, dives)| TeamWork {
            from_day: team.from_day,
            boat: team.boat,
            work: self.work_at_depth(of, zone, dives),
        });
        ZoneSites {
            zone: name(zone),
            sites: usize::from(found.sites[zone]),
            team_dives: own(self.tables[of.deep].dives(&found.units).unwrap_or(0)),
            team_dives_at_least: own(place.fewest_by_minutes(&found.units)),
            pair_dives: own(pair_dives),
            finished,
            work: at_depth.next().map_or(Vec::new(), |team| team.work),
            other_work: at_depth.collect(),
            by_stretch: Vec::new(),
            on_dives_of: (!is_deep).then(|| name(of.deep)),
        }
    }

    pub(super) fn zone_sites(&self, zone: usize, found: &Found) -> ZoneSites {
        match self.dives_of(zone) {
            Some(of) => self.at_two_depths(of, zone, found),
            None => self.zone_sites_alone(zone, found),
        }
    }

    /// The same by dives of its own, whatever zones share places with it.
    pub(super) fn zone_sites_alone(&self, zone: usize, found: &Found) -> ZoneSites {
        let by_stretch = self.zone_by_stretch(zone, found);
        // What no crew does in its stretch is no part of the plan.
        let is_at_work = |team: &&Team| {
            by_stretch.is_empty() || by_stretch.iter().any(|of| of.from_day == team.from_day && of.sites > 0)
        };
        let dives_of = |team: &Team| match &self.by_stretch {
            Some(_) => self.dives_in(self.stretch_of(team.from_day), zone, &found.units).unwrap_or(0),
            None => self.dives_alone(zone, &found.units).unwrap_or(0),
        };
        let at_work: Vec<&Team> = self.teams.iter().filter(is_at_work).collect();
        let all: Vec<TeamWork> =
            at_work.iter().map(|team| self.work_of_team(team, zone, &found.units, dives_of(team))).collect();
        let first_of_each = at_work.iter().filter(|team| team.boat == 1).take(by_stretch.len().max(1));
        let at_least = |team: &&Team| {
            fewest_by_minutes(&self.packing_by(self.tasks.visit, &team.crews[zone], zone, dives_of(team)), &found.units)
        };
        let finished = |of: &TeamWork| {
            self.least_finished(zone, of.work.iter().map(|dive| (dive.team_dive, [Some(&dive.work), None])))
        };
        ZoneSites {
            zone: self.plan.study.zones[zone].name.clone(),
            sites: usize::from(found.sites[zone]),
            team_dives: at_work.iter().map(|team| dives_of(team)).max().unwrap_or(0),
            team_dives_at_least: first_of_each.map(at_least).min().unwrap_or(0),
            pair_dives: all.iter().map(|of| of.work.len()).max().unwrap_or(0),
            finished: all.iter().map(finished).fold(1.0, f64::min),
            work: all.first().map_or(Vec::new(), |of| of.work.clone()),
            other_work: all.into_iter().skip(1).collect(),
            by_stretch,
            on_dives_of: None,
        }
    }

    fn zone_by_stretch(&self, zone: usize, found: &Found) -> Vec<SitesInStretch> {
        let split = self.sites_by_stretch(found);
        let of_plan = self.stretches_of_plan(found).into_iter();
        of_plan
            .map(|(stretch, of)| SitesInStretch {
                from_day: of.from_day,
                to_day: of.to_day,
                sites: usize::from(split[stretch][zone]),
                team_dives: self.dives_in(stretch, zone, &found.units).unwrap_or(0),
                pair_dives: self.pair_dives(stretch, zone, &found.units),
            })
            .collect()
    }

    fn site_set(&self, found: &Found, hold: Hold) -> Vec<SiteTasks> {
        let zones = 0..self.tables.len();
        let dives = |units: &[u8]| zones.clone().map(|zone| self.dives_in_each(zone, units)).collect::<Vec<_>>();
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
                let method = self.tasks.methods[task];
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
                    dimensions: self.dimensions[method].label(),
                    colonies: colonies_on_belt(
                        self.plan,
                        &self.plan.study.methods[method].kind,
                        self.dimensions[method],
                    ),
                }
            })
            .collect()
    }

    fn spreads(&self, reading: usize) -> Vec<SpreadInZone> {
        let of_zone = |zone: usize| {
            let moments = self.plan.moments(zone, reading);
            let sites = moments.site_truth[0];
            SpreadInZone { between_sites: sites.sqrt(), between_units: (moments.variance[0] - sites).max(0.0).sqrt() }
        };
        (0..self.plan.study.zones.len()).map(of_zone).collect()
    }

    fn margins(&self, found: &Found) -> Vec<Margin> {
        let weights = self.weights();
        let test = &self.plan.study.test;
        let [fewer, more] = around(&found.sites);
        let targets = self.expedition.targets.iter().zip(&self.indicators).zip(&found.margins);
        let readings = self.tasks.told_by.iter().map(|&(_, reading)| reading);
        targets
            .zip(readings)
            .map(|(((target, indicator), &margin), reading)| {
                let units = usize::from(found.units[indicator.task]);
                let variance = |units: usize| indicator.variance(&weights, &found.sites, units).0;
                // The part that goes with 1 / units, from half as many, or from two where there is one.
                let other = if units > 1 { units / 2 } else { 2 };
                let now = variance(units);
                let by_units = (other <= usize::from(self.tasks.caps.of(indicator.task))).then(|| {
                    let each = |units: usize| 1.0 / units as f64;
                    (variance(other) - now) / (each(other) - each(units)) * each(units)
                });
                let (asked, achieved) = amounts(self.plan, target, reading, margin);
                Margin {
                    indicator: target.indicator.clone(),
                    must: target.must,
                    asks: target.asks,
                    power_asked: target.power_asked(test),
                    change: match target.asks {
                        Asks::SeeChange(change) => Some(means(self.plan, &main_design(self.plan, reading), change + 2)),
                        _ => None,
                    },
                    margin,
                    seen: None,
                    false_alarm: None,
                    half_width: None,
                    cv: None,
                    not_by_units: by_units.map(|by_units| (1.0 - by_units / now).clamp(0.0, 1.0)),
                    seen_by_sites: matches!(target.asks, Asks::SeeChange(_)).then(|| {
                        [&found.sites, &fewer, &more].map(|sites| {
                            let (variance, df) = indicator.variance(&weights, sites, units);
                            t_power(indicator.target / variance.sqrt(), df, test.alpha, tail_of_test(test.sides))
                        })
                    }),
                    achieved_by_sites: match target.asks {
                        Asks::SeeChange(_) => None,
                        Asks::HalfWidth(asked) | Asks::Cv(asked) => Some(
                            [&found.sites, &fewer, &more].map(|sites| asked / indicator.margin(&weights, sites, units)),
                        ),
                    },
                    target: asked,
                    achieved,
                    half_width_error: None,
                    cv_error: None,
                    written_over_there: fish_written_over_there(self.plan, reading),
                    spreads: self.spreads(reading),
                }
            })
            .collect()
    }
}
