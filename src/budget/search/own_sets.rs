//! A site set of its own for each zone: from the common one down zone by zone, with a bound that no such plan can be under.

use super::super::days::DayPacking;
use super::super::down_set::Units;
use super::super::score::{Indicator, MET, Merit};
use super::{Found, Search};
use rayon::prelude::*;

/// A design in which each zone has its own site set.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnSets {
    pub days: usize,
    pub team_dives: usize,
    pub sites: Vec<u16>,
    /// Zone by zone.
    pub units: Vec<Units>,
    pub margins: Vec<f64>,
    /// No plan with own site sets takes fewer team dives within the days of the common one, and none fewer days.
    pub team_dives_at_least: usize,
    pub days_at_least: usize,
}

/// So many sites of one zone, all with one site set.
struct Choice {
    sites: u16,
    /// Team dives at each site.
    dives: usize,
    units: Units,
    /// For each indicator what the zone adds to the variance of the estimate, and to Welch's sum.
    parts: Vec<(f64, f64)>,
    floors: Vec<f64>,
}

impl Choice {
    fn team_dives(&self) -> usize {
        usize::from(self.sites) * self.dives
    }
}

fn plan_of<'a>(choices: &'a [Vec<Choice>], chosen: &[usize]) -> Vec<&'a Choice> {
    chosen.iter().zip(choices).map(|(&index, all)| &all[index]).collect()
}

fn dives_of(plan: &[&Choice]) -> usize {
    plan.iter().map(|choice| choice.team_dives()).sum()
}

/// Effort to compare: days, team dives, sites; then the better merit.
type Takes = (usize, usize, usize, std::cmp::Reverse<Merit>);

/// Steps of the bound, and its first plans that are brought down from there besides the common one.
const STEPS: usize = 300;
const STARTS: usize = 12;

impl Search<'_> {
    /// The least effort for all targets where each zone may have its own site set: down from the common plan and from plans
    /// that the bound comes by, one zone after the other, until none gets cheaper. Not proven the least: the bound is told.
    /// `None` where zones share places or crews follow one another. Cost: site sets of a zone x its numbers of sites x steps of the bound.
    pub fn own_sets(&self, common: &Found) -> Option<OwnSets> {
        // Zones that share places are not told zone by zone.
        if self.indicators.iter().any(|indicator| !indicator.places.is_empty()) || self.is_in_stretches() {
            return None;
        }
        let choices: Vec<Vec<Choice>> = (0..self.zones.len()).map(|zone| self.choices(zone)).collect();
        let from_common: Vec<usize> =
            (0..self.zones.len()).map(|zone| self.nearest(&choices[zone], common, zone)).collect::<Option<_>>()?;
        let (by_dives, starts) = self.bound(&choices, (common, &from_common), Choice::team_dives);
        let (by_sites, _) = self.bound(&choices, (common, &from_common), |choice| usize::from(choice.sites));
        let mut best = self.brought_down(&choices, from_common.clone())?;
        let starts: Vec<Vec<usize>> = std::iter::once(from_common).chain(starts).collect();
        // One team dive less at a time, from wherever it can be reached.
        while best.0.1 > by_dives {
            let within = (best.0.0, best.0.1 - 1);
            let reached: Vec<Option<Vec<usize>>> =
                starts.par_iter().map(|start| self.brought_within(&choices, start.clone(), within)).collect();
            let less = reached.into_iter().flatten().filter_map(|plan| self.brought_down(&choices, plan));
            let Some(less) = less.min_by(|a, b| a.0.cmp(&b.0)).filter(|less| less.0 < best.0) else { break };
            best = less;
        }
        let ((days, team_dives, ..), chosen) = best;
        let of = plan_of(&choices, &chosen);
        let days_of = |all: usize, a_day: usize| all.div_ceil((a_day * self.boats).max(1));
        Some(OwnSets {
            days,
            team_dives,
            sites: of.iter().map(|choice| choice.sites).collect(),
            units: of.iter().map(|choice| choice.units.clone()).collect(),
            margins: self.margins_of(&of),
            team_dives_at_least: by_dives.min(team_dives),
            days_at_least: days_of(by_dives, self.day.most_dives())
                .max(days_of(by_sites, self.day.most_sites()))
                .min(days),
        })
    }

    /// Everything that one zone may do: site sets that are full there, with every number of its sites.
    fn choices(&self, zone: usize) -> Vec<Choice> {
        let of = &self.zones[zone];
        let alone = Search::new(std::slice::from_ref(of), self.indicators, self.day.clone(), self.boats).sets;
        let each = alone.iter().flat_map(|set| {
            let told = self.indicators.iter().map(|indicator| {
                let units = usize::from(set.units[indicator.task]);
                (indicator.sites[zone][units], indicator.floor[units])
            });
            let told: Vec<_> = told.collect();
            (of.least_sites..=of.most_sites).map(move |sites| {
                let number = f64::from(sites);
                let part = |variance: f64| of.weight * of.weight * variance / number;
                Choice {
                    sites,
                    dives: set.dives[0],
                    units: set.units.clone(),
                    parts: told
                        .iter()
                        .map(|(tells, _)| {
                            let part = part(tells.variance);
                            (part, tells.concentration * part * part / (number - 1.0))
                        })
                        .collect(),
                    floors: told.iter().map(|(_, floor)| *floor).collect(),
                }
            })
        });
        each.collect()
    }

    /// What of a zone does what the common plan does there, and more where it is free.
    fn nearest(&self, choices: &[Choice], common: &Found, zone: usize) -> Option<usize> {
        let dives = self.zones[zone].table.dives(&common.units)?;
        choices.iter().position(|choice| {
            choice.sites == common.sites[zone]
                && choice.dives == dives
                && choice.units.iter().zip(&common.units).all(|(own, common)| own >= common)
        })
    }

    fn margins_of(&self, chosen: &[&Choice]) -> Vec<f64> {
        let margin = |(index, indicator): (usize, &Indicator)| {
            let (mut variance, mut welch, mut floor) = (0.0, 0.0, 0.0);
            for choice in chosen {
                variance += choice.parts[index].0;
                welch += choice.parts[index].1;
                floor = choice.floors[index].max(floor);
            }
            indicator.margin_of(variance, floor, welch)
        };
        self.indicators.iter().enumerate().map(margin).collect()
    }

    /// What a plan takes; `None` where it misses a target.
    fn takes(&self, chosen: &[&Choice], packing: &mut DayPacking) -> Option<Takes> {
        let margins = self.margins_of(chosen);
        if margins.iter().any(|&margin| margin < MET) {
            return None;
        }
        let number = chosen.iter().map(|choice| usize::from(choice.sites)).sum();
        Some((
            self.days_of(chosen, packing)?,
            dives_of(chosen),
            number,
            std::cmp::Reverse(Merit::of(self.indicators, &margins)),
        ))
    }

    /// Each zone in turn to what makes the whole cheapest and meets all targets, until none gets cheaper.
    fn brought_down(&self, choices: &[Vec<Choice>], mut chosen: Vec<usize>) -> Option<(Takes, Vec<usize>)> {
        let mut packing = DayPacking::new(&self.day);
        let mut best = self.takes(&plan_of(choices, &chosen), &mut packing)?;
        loop {
            let before = best;
            for zone in 0..choices.len() {
                let mut plan = plan_of(choices, &chosen);
                let others = dives_of(&plan) - plan[zone].team_dives();
                for (index, choice) in choices[zone].iter().enumerate() {
                    // What takes more dives may take fewer days, but hardly many more.
                    if others + choice.team_dives() > best.1 + 2 {
                        continue;
                    }
                    plan[zone] = choice;
                    if let Some(takes) = self.takes(&plan, &mut packing).filter(|takes| *takes < best) {
                        best = takes;
                        chosen[zone] = index;
                    }
                }
            }
            if best == before {
                return Some((best, chosen));
            }
        }
    }

    /// Each zone in turn to what misses the targets least within so many days and team dives, until all are met; `None` where
    /// that ends before.
    fn brought_within(
        &self,
        choices: &[Vec<Choice>],
        mut chosen: Vec<usize>,
        (most_days, most_dives): (usize, usize),
    ) -> Option<Vec<usize>> {
        let mut packing = DayPacking::new(&self.day);
        let mut least = f64::INFINITY;
        loop {
            let before = least;
            for zone in 0..choices.len() {
                let mut plan = plan_of(choices, &chosen);
                let others = dives_of(&plan) - plan[zone].team_dives();
                for (index, choice) in choices[zone].iter().enumerate() {
                    if others + choice.team_dives() > most_dives {
                        continue;
                    }
                    plan[zone] = choice;
                    let missed = self.missed(&plan);
                    if missed < least && self.days_of(&plan, &mut packing).is_some_and(|days| days <= most_days) {
                        least = missed;
                        chosen[zone] = index;
                    }
                }
            }
            if least <= 0.0 {
                return Some(chosen);
            }
            if !(least < before) {
                return None;
            }
        }
    }

    /// How far the margins below 1 are from it, on the ln scale.
    fn missed(&self, plan: &[&Choice]) -> f64 {
        self.margins_of(plan).iter().filter(|margin| **margin < MET).map(|margin| -libm::log(margin.max(1e-9))).sum()
    }

    fn days_of(&self, plan: &[&Choice], packing: &mut DayPacking) -> Option<usize> {
        let sites: Vec<u16> = plan.iter().map(|choice| choice.sites).collect();
        let dives: Vec<usize> = plan.iter().map(|choice| choice.dives).collect();
        packing.days_of_zones(&sites, &dives).map(|days| days.div_ceil(self.boats))
    }

    /// A bound from below on the sum of a cost over zones, within the days of the common plan: prices on the variances,
    /// improved step by step (a Lagrangian relaxation; every step is a bound). With it plans that the prices come by.
    fn bound(
        &self,
        choices: &[Vec<Choice>],
        (common, from): (&Found, &[usize]),
        cost: impl Fn(&Choice) -> usize,
    ) -> (usize, Vec<Vec<usize>>) {
        let allowed = self.allowed(choices, common);
        // Shares of what each variance may be.
        let shares: Vec<Vec<Vec<f64>>> = choices
            .iter()
            .map(|all| {
                let of =
                    |choice: &Choice| choice.parts.iter().zip(&allowed).map(|(part, most)| part.0 / most).collect();
                all.iter().map(of).collect()
            })
            .collect();
        let target = plan_of(choices, from).into_iter().map(&cost).sum::<usize>() as f64;
        let mut prices = vec![target / self.indicators.len() as f64; self.indicators.len()];
        let (mut best, mut plans): (f64, Vec<Vec<usize>>) = (0.0, Vec::new());
        let mut pace = 1.0;
        let mut since = 0;
        for _ in 0..STEPS {
            let mut dual = -prices.iter().sum::<f64>();
            let mut slope: Vec<f64> = vec![-1.0; prices.len()];
            let mut plan = Vec::with_capacity(choices.len());
            for (all, shares) in choices.iter().zip(&shares) {
                let of = |index: usize| {
                    cost(&all[index]) as f64
                        + shares[index].iter().zip(&prices).map(|(share, price)| share * price).sum::<f64>()
                };
                let first = (f64::INFINITY, 0);
                let (value, index) = (0..all.len()).fold(first, |least, index| {
                    let value = of(index);
                    if value < least.0 { (value, index) } else { least }
                });
                dual += value;
                slope.iter_mut().zip(&shares[index]).for_each(|(slope, share)| *slope += share);
                plan.push(index);
            }
            if !plans.contains(&plan) {
                plans.push(plan);
            }
            since += 1;
            if dual > best {
                (best, since) = (dual, 0);
            }
            if since > 20 {
                (pace, since) = (0.5 * pace, 0);
            }
            let steep: f64 = slope.iter().map(|slope| slope * slope).sum();
            if steep < 1e-18 {
                break;
            }
            let step = pace * (target - dual).max(0.01 * target) / steep;
            prices.iter_mut().zip(&slope).for_each(|(price, slope)| *price = (*price + step * slope).max(0.0));
        }
        let from = plans.len().saturating_sub(STARTS);
        ((best - 1e-6).ceil().max(0.0) as usize, plans.split_off(from))
    }

    /// The variance that each indicator may have at most, with as many degrees of freedom as there can be.
    fn allowed(&self, choices: &[Vec<Choice>], common: &Found) -> Vec<f64> {
        let (_, held) = self.held(common.days);
        let sites = self.zones.iter().map(|zone| usize::from(zone.most_sites)).sum::<usize>().min(held);
        let freedom = (sites - self.zones.len().min(sites)) as f64;
        let of = |(index, indicator): (usize, &Indicator)| {
            let floors = choices.iter().flatten().map(|choice| choice.floors[index]);
            let floor = floors.fold(f64::INFINITY, f64::min);
            let concentration = indicator.sites.iter().flatten().map(|tells| tells.concentration).fold(1.0, f64::min);
            let df = if floor > 0.0 { f64::INFINITY } else { freedom / concentration };
            ((indicator.target / indicator.need.at(df)).powi(2) - floor).max(f64::MIN_POSITIVE)
        };
        self.indicators.iter().enumerate().map(of).collect()
    }
}
