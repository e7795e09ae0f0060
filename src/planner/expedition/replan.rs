//! The rest of an expedition planned anew, from what its first days tell of minutes and variation.

use super::answer::{BudgetAnswer, Confirming, DayChance, NEAR_TIES, to_schedule};
use super::begun::{Begun, ways_to_finish};
use super::book::to_book;
use super::confirm::confirm;
use super::cut_short::CutShort;
use super::done::{FieldData, ReadingColumn, SiteUnits, reading_columns};
use super::draw::Draw;
use super::finalists::Finalists;
use super::known::Known;
use super::less_sure::LessSureTold;
use super::lost_in_stretch::LeftOver;
use super::on_days::OnDays;
use super::opens::Opens;
use super::options::{Chosen, Options, frontier, least, near_ties, searches, zones_of};
use super::places::with_other_places;
use super::plan::BudgetPlan;
use super::prepared::{NothingFits, Prepared};
use super::replan_doubts::{doubts, other_names};
use super::replan_words::{Amendment, amendments, changes, left_out, notes};
use super::seen::{Level, Seen, components_of, seen_minutes, seen_variances};
use super::sites::Taken;
use super::starts::{Start, starts};
use super::tasks::Tasks;
use super::variants::variants;
use super::visit_money::VisitMoney;
use super::visits::ToCome;
use super::warn::{Misfit, misfits, warnings, what_does_not_fit};
use super::which_method::settled;
use super::within_money::best_within_money;
use crate::budget::diving::undecided;
use crate::budget::{Beside, DayPacking, DoneSites, Found, Hold, Indicator, PlacesTell, Today, Units};
use crate::design::{Asks, Expedition, Scheduled, Target};
use crate::engine::Plan;
use crate::survey::MethodKind;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// What is known when the rest is planned.
pub struct Replanning<'a> {
    pub data: &'a FieldData,
    /// The visit that is under way, 1 or 2.
    pub visit: usize,
    /// Days left for diving; `None`: those that could be booked without those on which was dived.
    pub days_left: Option<usize>,
    pub today: Today,
}

/// The rest of an expedition; reports only render it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Replanned {
    pub visit: usize,
    pub days_used: usize,
    pub days_left: usize,
    pub zones: Vec<ZoneDone>,
    pub units_done: usize,
    pub units_not_done: usize,
    pub units_interrupted: usize,
    /// Days on which fewer team dives were made than the sheets have; `None`: there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cut_short: Option<CutShort>,
    /// Zones that come to fewer sites than were asked for, because the days or sites left are too few for them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub below_fewest: Vec<BelowFewest>,
    /// Zones that need calm weather.
    pub needs_calm: Vec<String>,
    /// Work that no longer fits into a dive with the minutes seen, as sure as it shall be done in time.
    pub no_longer_fits: Vec<String>,
    /// What leaving out one method would do instead, for each that lets the others fit as surely as asked.
    pub without_one_method: Vec<String>,
    /// Of these, what is planned all the same, less sure to be done in time by just so much as it takes; all other work is as sure
    /// as asked.
    pub less_sure: Vec<LessSureTold>,
    #[serde(flatten)]
    pub seen: Seen,
    /// The plan that was under way; `None` where there was none.
    pub planned: Option<BudgetPlan>,
    /// What the rest of it takes with the minutes seen.
    pub as_planned: Option<RestAsPlanned>,
    /// What is spent and what the rest costs; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<VisitMoney>,
    /// The rest: its plans have the sites to come, its margins are those of the whole.
    pub rest: BudgetAnswer,
    /// What is different from the plan, and what that is for.
    pub changes: Vec<String>,
    pub amendments: Vec<Amendment>,
    pub notes: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneDone {
    pub zone: String,
    pub done: usize,
    pub planned: usize,
}

/// A zone that comes to fewer sites with every method, done and to come, than were asked for at the least.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BelowFewest {
    pub zone: String,
    pub fewest: usize,
    pub comes_to: usize,
}

/// The rest of the plan that was under way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RestAsPlanned {
    pub sites: Vec<u16>,
    /// Team dives at a site of each zone, and days; `None`: it no longer fits.
    pub team_dives: Option<Vec<usize>>,
    pub days: Option<usize>,
    /// The weakest margin of the whole with it.
    pub weakest: f64,
}

/// What a field sheet of an expedition may hold: names of tasks, and columns for readings.
///
/// # Errors
/// Where a target is read by nothing.
pub fn field_columns(open: &Open) -> Result<(Vec<String>, Vec<ReadingColumn>), NothingFits> {
    let (plan, expedition) = (open.plan, open.expedition.as_ref());
    // What is read does not go by dimensions.
    let dimensions = variants(plan, expedition, &open.known).all.into_iter().next().ok_or(NothingFits::NotRead)?;
    let tasks = Tasks::new(plan, expedition, &dimensions).ok_or(NothingFits::NotRead)?;
    let columns = reading_columns(plan, &tasks);
    Ok((tasks.tasks.into_iter().map(|task| task.name).collect(), columns))
}

/// What `plan_expedition` chooses from: who dives with whom where that was not told, which method tells what, and where the
/// second visit lays its units where both may be. Settled once for all that is asked of an expedition under way.
pub struct Open<'a> {
    plan: &'a Plan,
    other_places: Option<Plan>,
    expedition: Cow<'a, Expedition>,
    known: Known,
}

impl<'a> Open<'a> {
    /// `seed`: of the draw of its sites.
    pub fn new(plan: &'a Plan, expedition: &'a Expedition, seed: u64) -> Self {
        let known = Known::of_draw(expedition, seed);
        let other_places = if expedition.chooses_places { with_other_places(plan) } else { None };
        let plans: Vec<&Plan> = std::iter::once(plan).chain(&other_places).collect();
        let expedition = settled(&plans, expedition, &known).expedition;
        Self { plan, other_places, expedition, known }
    }

    /// The design that an expedition goes by, with the dimensions of its methods: what `plan_expedition` schedules with the
    /// same seed and number of trials.
    ///
    /// # Errors
    /// Where nothing can be planned at all.
    pub(super) fn design_under_way(
        &self,
        confirming: &Confirming,
    ) -> Result<(Prepared<'_>, Option<Found>), NothingFits> {
        let plans: Vec<&Plan> = std::iter::once(self.plan).chain(&self.other_places).collect();
        let mut options = Options::new(&plans, &self.expedition, &self.known)?;
        let chosen = {
            let zones = zones_of(&options.all);
            let searches = searches(&options.all, &zones);
            let bookable = options.all.first().map_or(0, Prepared::bookable_days);
            let confirmed = |all: Chosen| {
                let ties = near_ties(&searches, (&all, Beside::Least), NEAR_TIES);
                let confirmed = Finalists::new(&options, confirming).confirmed(&searches, all, &ties, Hold::All);
                confirmed.stands.map(|(chosen, _)| chosen)
            };
            let answers = |best: Option<Chosen>| {
                Finalists::new(&options, confirming).answers(best, "", &mut Vec::new()).map(|(chosen, _)| chosen)
            };
            let schedule = self.expedition.schedule;
            let best = || if bookable > 0 { answers(frontier(&searches, bookable).pop().flatten()) } else { None };
            let of_money = match (schedule, self.expedition.money) {
                (Scheduled::BestOfMoney, Some(money)) => {
                    answers(best_within_money(&options, &searches, (money, bookable), confirming.seed))
                }
                _ => None,
            };
            let all = if of_money.is_some() || schedule == Scheduled::BestOfDays {
                None
            } else {
                least(&searches, Hold::All).and_then(confirmed).filter(|least| least.found.days <= bookable)
            };
            let best = if of_money.is_some() || all.is_some() { None } else { best() };
            to_schedule(schedule, (&all, &best, &of_money), bookable).cloned()
        };
        let prepared = options.all.swap_remove(chosen.as_ref().map_or(0, |chosen| chosen.option));
        Ok((prepared, chosen.map(|chosen| chosen.found)))
    }
}

/// Plans the rest of an expedition: theory searches with the minutes and variances seen, sites that are done are constants.
///
/// # Errors
/// Where nothing can be planned at all.
pub fn replan(open: &Open, replanning: &Replanning, confirming: &Confirming) -> Result<Replanned, NothingFits> {
    let (data, visit) = (replanning.data, replanning.visit);
    let (old, planned) = open.design_under_way(confirming)?;
    let (plan, expedition) = (old.plan, old.expedition);
    let columns = reading_columns(plan, &old.tasks);
    let seen =
        Seen { minutes: seen_minutes(&old.tasks, data), variances: seen_variances(plan, &old.tasks, &columns, data) };
    let days_used = data.days(visit);
    // Where days were lost the sheets may number those that were dived on past them.
    let gone_by_sheets = days_used.max(data.last_day(visit));
    let days_left = replanning.days_left.unwrap_or(old.bookable_days().saturating_sub(gone_by_sheets));
    let days_gone = old.bookable_days().saturating_sub(days_left).max(gone_by_sheets);
    let shared = plan.shared_strata().filter_map(|zones| <[usize; 2]>::try_from(zones).ok()).collect();
    let done = Done::of(data, visit, (old.tables.len(), &old.tasks), shared);
    let zones_done = zones_done(plan, &done, planned.as_ref());
    let own_set = done.own_set(planned.as_ref(), old.tasks.methods.len());
    let learned = with_components(plan, &seen);
    // Whoever comes or leaves does so on a day of the calendar, however many are left after it.
    let gone = (days_gone, days_left);
    let to_come = done.rest_of(expedition, planned.as_ref(), gone);
    let draw = expedition.sites.as_ref();
    let draw = draw.map(|list| Draw::new(list, old.tables.len(), confirming.seed));
    let known_now =
        Known::of_opens(draw.as_ref().map_or(Opens::default(), |draw| done.opens(draw, (days_gone, days_left))));
    let prepare = |to_come, done: &Done| {
        let learn =
            |tasks: &mut Tasks, indicators: &mut [Indicator]| learn((tasks, indicators), plan, to_come, (&seen, done));
        Prepared::with(&learned, to_come, (old.dimensions.clone(), &known_now), learn)
    };
    let mut as_they_are = prepare(&to_come, &done)?;
    let (mut no_longer_fits, mut less_sure) = (what_does_not_fit(&as_they_are), Vec::new());
    if !no_longer_fits.is_empty() {
        let too_long = misfits(&as_they_are);
        let packed = as_they_are.less_sure();
        let loosened = as_they_are.clone().packed_less_sure(&packed);
        if !packed.is_empty() && misfits(&loosened).is_empty() {
            no_longer_fits = too_long.iter().map(Misfit::short).collect();
            (as_they_are, less_sure) = (loosened, packed);
        }
    }
    // Begun sites are finished first, unless the rest is worse for it.
    let begun =
        planned.as_ref().map_or(Vec::new(), |planned| as_they_are.worth_finishing(&done, (data, visit), planned));
    let ways = ways_to_finish(&done, begun);
    let ways: Vec<(Done, Vec<Begun>)> = ways.into_iter().map(|way| (done.with(&way), way)).collect();
    // With fewer sites than were asked for only where the days left hold no plan with them.
    let with_two = with_two_sites_at_least(expedition);
    let untouched = (done.clone(), Vec::new());
    let as_asked = ways.iter().map(|way| (way, expedition));
    let with_fewer = std::iter::once(&untouched).chain(&ways).map(|way| (way, &with_two));
    let of_rest =
        |(way, expedition): (&'_ (Done, Vec<Begun>), &Expedition)| way.0.rest_of(expedition, planned.as_ref(), gone);
    let tries: Vec<_> = as_asked.chain(with_fewer).map(|(way, expedition)| (way, of_rest((way, expedition)))).collect();
    let mut finishes = 0;
    let found = Rest::of(&as_they_are, own_set.as_ref(), days_left);
    let (mut prepared, mut done, mut found) = (as_they_are, done, found);
    for (place, ((finished, way), to_come)) in tries.iter().enumerate() {
        if place == ways.len() {
            if days_left == 0 || found.best().is_some() {
                break;
            }
            finishes = 0;
        }
        // More of them are finished already.
        if way.len() < finishes {
            continue;
        }
        let packed = prepare(to_come, finished)?.packed_less_sure(&less_sure);
        let finishing = Prepared { finishing: way.clone(), ..packed };
        let with = Rest::of(&finishing, own_set.as_ref(), days_left);
        // What tells something as it is is finished only where that takes no more dives either.
        let counts_dives = finishing.finishing.iter().any(|begun| !done.tells_nothing_of_some(begun));
        if with.is_no_worse(&found, (days_left, counts_dives)) {
            (prepared, done, found) = (finishing, finished.clone(), with);
            finishes = way.len();
        }
    }
    // By stretches of the crew where that is better, as in the whole.
    let mut whichever = None;
    if let Some(by_stretch) = prepared.by_stretches() {
        let with = Rest::of(&by_stretch, own_set.as_ref(), days_left);
        if !found.is_no_worse(&with, (days_left, true)) {
            whichever = Some(std::mem::replace(&mut found, with));
            prepared = by_stretch;
        }
    }
    let Rest { all, musts, frontier, .. } = found;
    let best = frontier.last().cloned().flatten();
    let without = if no_longer_fits.is_empty() {
        Vec::new()
    } else {
        let known = (&learned, &known_now);
        without_one_method((&old, &done), (&to_come, own_set.as_ref()), known, (&seen, days_left))
    };
    let told = |found: &Option<Found>, hold| {
        found.as_ref().map(|found| of_the_whole(prepared.told(found, hold)).after_days(days_gone))
    };
    let chance = |days: usize| prepared.lost_days().map(|lost| lost.at_least_after(replanning.today, days, days_left));
    let goes_for_days = prepared.expedition.schedule == Scheduled::BestOfDays && best.is_some();
    let mut rest = BudgetAnswer {
        bookable_days: days_left,
        all: told(&all, Hold::All),
        musts: told(&musts, Hold::Musts),
        best: told(&best, Hold::All),
        frontier: frontier
            .iter()
            .zip(1..)
            .map(|(found, days)| DayChance { days, plan: told(found, Hold::All), chance: chance(days) })
            .collect(),
        reading_columns: columns,
        // What is left of the money is not known.
        asked_to_schedule: if goes_for_days { Scheduled::BestOfDays } else { Scheduled::AllTargets },
        days_lost: days_gone - days_used,
        visit_under_way: Some(visit),
        new_pairs: prepared.new_pairs(days_gone),
        today: replanning.today,
        ..BudgetAnswer::default()
    };
    let [of_all, of_musts] =
        [&all, &musts].map(|found| LeftOver::of(&prepared, found.as_ref()?).map(|of| of.after(replanning.today)));
    let plans = [("all targets", &rest.all, &of_all), ("the musts", &rest.musts, &of_musts)];
    rest.book = to_book(&prepared, replanning.today, plans);
    // What is under way is one visit.
    rest.book.iter_mut().for_each(|book| book.to_book_for_both = None);
    let takes_all = !goes_for_days && all.as_ref().is_some_and(|all| all.days <= days_left);
    let next = if takes_all { &all } else { &best };
    let for_whichever = whichever.as_ref().and_then(|of| if takes_all { of.all.as_ref() } else { of.best() });
    rest.stretches = next
        .as_ref()
        .and_then(|next| LeftOver::of(&prepared, next)?.after(replanning.today).told(for_whichever, days_gone));
    let (mut of_days, mut with_room) = (Vec::new(), Vec::new());
    if let Some(found) = next {
        rest.begun = prepared.finishing.iter().map(|begun| begun.told.clone()).collect();
        let told = if takes_all { &mut rest.all } else { &mut rest.best };
        if let Some(told) = told {
            let left = done.left(found, draw.as_ref());
            let to_come = ToCome { left: &left, days_gone };
            let days = OnDays::new(&prepared, (found, &*told), (draw.as_ref(), Some(to_come)), None);
            rest.interrupted = simulate(&prepared, (found, told), (&done, &seen), confirming);
            with_room = days.visits.with_room(&prepared.day);
            let mut starts = starts_of_sites_left(&prepared, found, (&left, draw.as_ref()), confirming.seed);
            if let Some(planned) = &planned {
                starts.extend(starts_at_begun_sites(&prepared, planned, draw.as_ref(), confirming.seed));
            }
            let taken = done.taken(&left, plan.study.pairs_sites());
            of_days = days.tell(&mut rest, &prepared, starts, draw.as_ref().map(|draw| (draw, &taken)));
        }
    }
    (rest.warnings, rest.warnings_of_diving) = warnings(&prepared, &rest);
    rest.warnings.extend(of_days);
    rest.not_on_days(undecided(&plan.study, prepared.expedition));
    let as_planned = planned.as_ref().map(|planned| rest_as_planned(&prepared, planned, &done));
    let words = (&prepared, &done, planned.as_ref());
    let changes = changes(words, next.as_ref(), as_planned.as_ref());
    let planned_whole = planned.as_ref().map(|found| old.told(found, Hold::All));
    let costs = [planned_whole.as_ref(), rest.scheduled()].map(|plan| plan.and_then(|plan| plan.cost.as_ref()));
    let money = old.visit_money((data, visit), (days_gone, false), (costs[0], costs[1]));
    Ok(Replanned {
        visit,
        days_used,
        days_left,
        zones: zones_done,
        units_done: data.units.len(),
        units_not_done: data.not_done,
        units_interrupted: data.interrupted.len(),
        cut_short: CutShort::of(data, visit, rest.scheduled().map(|plan| plan.days), chance),
        below_fewest: next.as_ref().map_or(Vec::new(), |next| below_fewest(&prepared, expedition, next)),
        needs_calm: plan
            .study
            .zones
            .iter()
            .zip(&expedition.zones)
            .filter(|(_, diving)| diving.needs_calm)
            .map(|(zone, _)| zone.name.clone())
            .collect(),
        no_longer_fits,
        without_one_method: without,
        less_sure: less_sure.into_iter().map(|of| of.told).collect(),
        planned: planned_whole,
        as_planned,
        money,
        amendments: amendments(data, visit, &seen, &changes),
        notes: {
            let told = (&prepared, &done, planned.as_ref());
            let days_left = replanning.days_left;
            let mut all = doubts(&old, (data, visit), &rest.reading_columns, (&seen, days_left));
            all.extend(draw.as_ref().and_then(|draw| other_names(&old, draw, data)));
            all.extend(notes(told, next.as_ref(), (data, visit), (&seen, days_left.is_some())));
            all.extend(planned.as_ref().map_or(Vec::new(), |planned| prepared.left_begun(&done, planned, &with_room)));
            all
        },
        rest,
        changes,
        seen,
    })
}

/// With as few sites in each zone as have an error.
fn with_two_sites_at_least(expedition: &Expedition) -> Expedition {
    let mut all = expedition.clone();
    all.zones.iter_mut().for_each(|zone| zone.least_sites = zone.least_sites.min(2));
    all
}

/// Zones in which fewer sites come to tell of every method than were asked for.
fn below_fewest(prepared: &Prepared, expedition: &Expedition, next: &Found) -> Vec<BelowFewest> {
    let names = prepared.plan.study.zones.iter().map(|zone| zone.name.clone());
    let of_zone = |(zone, (name, diving)): (usize, (String, &crate::design::ZoneDiving))| {
        let comes_to = prepared.done_sites(zone) + usize::from(next.sites[zone]);
        (comes_to < diving.least_sites).then_some(BelowFewest { zone: name, fewest: diving.least_sites, comes_to })
    };
    names.zip(&expedition.zones).enumerate().filter_map(of_zone).collect()
}

/// Puts what was seen of minutes and variances, and the sites that are done, into what is searched.
fn learn(
    (tasks, indicators): (&mut Tasks, &mut [Indicator]),
    plan: &Plan,
    expedition: &Expedition,
    (seen, done): (&Seen, &Done),
) {
    for task in &mut tasks.tasks {
        let seen = seen.minutes.iter().find(|seen| seen.diver.is_none() && seen.task == task.name);
        task.unit.mean = seen.map_or(task.unit.mean, |seen| seen.new);
    }
    let told_by = tasks.told_by.iter().map(|&(_, reading)| reading);
    for ((indicator, target), reading) in indicators.iter_mut().zip(&expedition.targets).zip(told_by) {
        if components_of(plan, reading).is_none() {
            seen.scale(indicator, sites_differ(plan, target));
        }
        indicator.done = done.tell(indicator);
        indicator.places.iter_mut().for_each(|places| places.done = done.tell_places(places, indicator.task));
    }
}

/// What the search found for the rest.
struct Rest {
    all: Option<Found>,
    musts: Option<Found>,
    /// The best use of 1, 2 ... of the days left.
    frontier: Vec<Option<Found>>,
    /// Team dives at begun sites.
    dives_to_finish: usize,
}

impl Rest {
    fn of(prepared: &Prepared, own_set: Option<&Units>, days_left: usize) -> Self {
        let zones = prepared.zones();
        let search = prepared.search(&zones);
        let search = match own_set {
            Some(units) => search.with_only(units),
            None => search,
        };
        Self {
            all: search.least(Hold::All),
            musts: search.least(Hold::Musts),
            frontier: if days_left > 0 { search.frontier(days_left) } else { Vec::new() },
            dives_to_finish: prepared.dives_to_finish().iter().sum(),
        }
    }

    fn best(&self) -> Option<&Found> {
        self.frontier.last()?.as_ref()
    }

    /// Days and team dives for all targets.
    fn effort(&self) -> Option<(usize, usize)> {
        self.all.as_ref().map(|all| (all.days, all.team_dives + self.dives_to_finish))
    }

    /// The same, where so many days are left.
    fn takes(&self, days_left: usize) -> Option<(usize, usize)> {
        self.effort().filter(|(days, _)| *days <= days_left)
    }

    /// Whether it meets all targets in as few of the days left (and dives, where they count), or makes no less of the days.
    fn is_no_worse(&self, other: &Self, (days_left, counts_dives): (usize, bool)) -> bool {
        match (self.takes(days_left), other.takes(days_left)) {
            (Some(own), Some(other)) if counts_dives => own <= other,
            (Some(own), Some(other)) => own.0 <= other.0,
            (None, Some(_)) => false,
            (Some(_), None) => true,
            (None, None) => match (self.best(), other.best()) {
                (Some(own), Some(other)) => own.merit >= other.merit,
                (None, None) => self.effort().is_some_and(|own| other.effort().is_none_or(|other| own <= other)),
                (own, _) => own.is_some(),
            },
        }
    }
}

/// For each method without which the others fit as surely as asked: what then can be had.
fn without_one_method(
    (old, done): (&Prepared, &Done),
    (to_come, own_set): (&Expedition, Option<&Units>),
    (learned, known): (&Plan, &Known),
    (seen, days_left): (&Seen, usize),
) -> Vec<String> {
    let of_task = |task: usize| -> Option<(bool, String)> {
        let method = old.tasks.methods[task];
        // Others lie on its lines.
        if to_come.methods.iter().any(|of| of.on_line_of == Some(method)) {
            return None;
        }
        let told = |of: &&(&Target, &(usize, usize))| of.1.0 == task;
        let each = || to_come.targets.iter().zip(&old.tasks.told_by);
        let lost: Vec<&Target> = each().filter(|of| told(&of)).map(|(target, _)| target).collect();
        let targets: Vec<Target> = each().filter(|of| !told(&of)).map(|(target, _)| target.clone()).collect();
        if targets.is_empty() {
            return None;
        }
        let others = Expedition { targets, ..to_come.clone() };
        let without = done.without(task);
        let learn = |tasks: &mut Tasks, indicators: &mut [Indicator]| {
            learn((tasks, indicators), old.plan, &others, (seen, &without));
        };
        let prepared = Prepared::with(learned, &others, (old.dimensions.clone(), known), learn).ok()?;
        if !misfits(&prepared).is_empty() {
            return None;
        }
        let set = own_set.map(|units| without_place(units, task));
        let found = Rest::of(&prepared, set.as_ref(), days_left);
        let is_must = lost.iter().any(|target| target.must);
        Some((is_must, left_out(&old.tasks.tasks[task].name, &lost, (&found.all, found.best()), days_left)))
    };
    let mut all: Vec<(bool, String)> = (0..old.tasks.methods.len()).filter_map(of_task).collect();
    all.sort_by_key(|(is_must, _)| *is_must);
    all.into_iter().map(|(_, words)| words).collect()
}

fn without_place<T: Clone>(all: &[T], place: usize) -> Vec<T> {
    all.iter().enumerate().filter(|(at, _)| *at != place).map(|(_, of)| of.clone()).collect()
}

/// Sites that are done, with their units of each task: in the visit under way, and where the sheets hold the first visit too,
/// at the sites of both.
#[derive(Clone)]
pub(super) struct Done {
    visit: usize,
    /// Where anything was done in the visit under way.
    pub begun: Vec<SiteUnits>,
    /// What counts: where zones share places those that are done at both depths, with as many units as the one that has
    /// fewer.
    pub counted: Vec<SiteUnits>,
    /// The sites of the first visit while the second is under way.
    first: Option<Vec<SiteUnits>>,
    /// Zones that share places.
    shared: Vec<[usize; 2]>,
    /// Methods, which are the first of the tasks.
    methods: usize,
}

impl Done {
    pub fn of(data: &FieldData, visit: usize, (zones, of): (usize, &Tasks), shared: Vec<[usize; 2]>) -> Self {
        let (tasks, methods) = (of.tasks.len(), of.methods.len());
        let begun = data.sites(zones, tasks, visit);
        let mut all = Self { visit, begun, counted: Vec::new(), first: None, shared, methods };
        all.first = (visit == 2 && data.has_visit(1)).then(|| all.whole_places(data.sites(zones, tasks, 1)));
        all.count();
        all
    }

    /// Where zones share places those that are done at both depths.
    fn whole_places(&self, mut sites: Vec<SiteUnits>) -> Vec<SiteUnits> {
        for &[one, other] in &self.shared {
            sites[one] = at_both(&sites[one], &sites[other]);
            sites[other] = sites[one].clone();
        }
        sites
    }

    fn count(&mut self) {
        let now = self.whole_places(self.begun.clone());
        self.counted = match &self.first {
            Some(first) => now.iter().zip(first).map(|(now, before)| at_both(now, before)).collect(),
            None => now,
        };
    }

    /// The same with some of the sites finished.
    fn with(&self, begun: &[Begun]) -> Self {
        let mut all = self.clone();
        for of in begun {
            // A place may have been begun at its other depth alone.
            let units = all.begun[of.zone].entry(of.told.site.to_string()).or_insert_with(|| vec![0; of.lacks.len()]);
            units.iter_mut().zip(&of.lacks).for_each(|(units, &lacks)| *units += usize::from(lacks));
        }
        all.count();
        all
    }

    /// Whether a begun site has nothing at all of some task that it is to be finished with.
    pub fn tells_nothing_of_some(&self, begun: &Begun) -> bool {
        let units = self.begun[begun.zone].get(&begun.told.site.to_string());
        units.is_none_or(|units| units.iter().zip(&begun.lacks).any(|(&has, &lacks)| has == 0 && lacks > 0))
    }

    /// The same without one of the tasks.
    fn without(&self, task: usize) -> Self {
        let cut = |sites: &mut Vec<SiteUnits>| {
            sites.iter_mut().flat_map(|zone| zone.values_mut()).for_each(|units| {
                units.remove(task);
            });
        };
        let mut all = self.clone();
        all.methods -= 1;
        cut(&mut all.begun);
        cut(&mut all.counted);
        all.first.iter_mut().for_each(cut);
        all
    }

    /// What a site, begun there or at the other depth of its place, lacks of what was to be done there: at the second visit of what
    /// was done there at the first, else of the set of the plan. `None`: the site was not in the first visit.
    pub fn lacks(&self, zone: usize, site: &str, planned: &Found) -> Option<Units> {
        let wanted = match &self.first {
            Some(first) => first[zone].get(site)?[..planned.units.len()].to_vec(),
            None => planned.units.iter().map(|&units| usize::from(units)).collect(),
        };
        let units = |task: usize| self.begun[zone].get(site).map_or(0, |units| units[task]);
        Some(wanted.iter().enumerate().map(|(task, wanted)| wanted.saturating_sub(units(task)) as u8).collect())
    }

    pub fn has_shared_places(&self) -> bool {
        !self.shared.is_empty()
    }

    /// The other zone at the places of a zone.
    fn shares_with(&self, zone: usize) -> Option<usize> {
        let both = self.shared.iter().find(|both| both.contains(&zone))?;
        both.iter().copied().find(|other| *other != zone)
    }

    /// Sites of a zone where anything was done; where it shares places, at either depth.
    pub fn begun_at(&self, zone: usize) -> BTreeSet<&str> {
        let zones = std::iter::once(zone).chain(self.shares_with(zone));
        zones.flat_map(|zone| self.begun[zone].keys()).map(String::as_str).collect()
    }

    /// The other zone at the place of a site where nothing was done there.
    pub fn not_begun_at(&self, zone: usize, site: &str) -> Option<usize> {
        self.shares_with(zone).filter(|other| !self.begun[*other].contains_key(site))
    }

    /// The expedition with the sites and days that are left, of which so many are gone: whoever comes or leaves does so as many
    /// days sooner.
    fn rest_of(
        &self,
        expedition: &Expedition,
        planned: Option<&Found>,
        (gone, days_left): (usize, usize),
    ) -> Expedition {
        let mut rest = expedition.clone();
        for diver in &mut rest.divers {
            diver.from_day = diver.from_day.saturating_sub(gone).max(1);
            diver.to_day = diver.to_day.map(|day| day.saturating_sub(gone));
        }
        let home = rest.days.home();
        (rest.days.all, rest.days.transit, rest.days.is_rest) = (days_left + home, home, true);
        (rest.days.check_out, rest.days.reserved) = (0, 0);
        // What is paid once is paid, and who prepared it.
        rest.rates.iter_mut().for_each(|rates| rates.fixed = 0.0);
        rest.days_ashore.before = None;
        for (zone, diving) in rest.zones.iter_mut().enumerate() {
            let there = match (&self.first, planned) {
                _ if self.visit == 1 => diving.most_sites,
                (Some(first), _) => first[zone].len(),
                (None, Some(planned)) => usize::from(planned.sites[zone]),
                (None, None) => diving.most_sites,
            };
            diving.most_sites = there.saturating_sub(self.begun_at(zone).len());
            diving.least_sites = diving.least_sites.saturating_sub(self.told_of_all(zone)).min(diving.most_sites);
        }
        rest
    }

    /// So many sites of a zone tell of every method: a site counts for those it has. (Laying lines tells nothing.)
    fn told_of_all(&self, zone: usize) -> usize {
        let tell = |task: usize| self.counted[zone].values().filter(|units| units[task] > 0).count();
        (0..self.methods).map(tell).min().unwrap_or(0)
    }

    /// What the sites that are done tell of an indicator, by zone; a site without its task tells nothing.
    fn tell(&self, indicator: &Indicator) -> Vec<DoneSites> {
        let of_zone = |(sites, tells): (&SiteUnits, &Vec<crate::budget::SiteTells>)| {
            let mut done = DoneSites::default();
            for units in sites.values().map(|units| units[indicator.task]).filter(|&units| units > 0) {
                // More than was looked at tells at least as much.
                done.push(tells[units.min(tells.len() - 1)]);
            }
            done
        };
        self.counted.iter().zip(&indicator.sites).map(of_zone).collect()
    }

    /// The same of places that are done at both depths.
    fn tell_places(&self, places: &PlacesTell, task: usize) -> DoneSites {
        let mut done = DoneSites::default();
        let units = self.counted[places.zones[0]].values().map(|units| units[task]).filter(|&units| units > 0);
        units.for_each(|units| done.push(places.tells[units.min(places.tells.len() - 1)]));
        done
    }

    /// At the second visit every site keeps the set of its first: that of the sheets in the mean, else that of the plan.
    fn own_set(&self, planned: Option<&Found>, tasks: usize) -> Option<Units> {
        if self.visit == 1 {
            return None;
        }
        let Some(first) = &self.first else { return planned.map(|planned| planned.units.clone()) };
        let sites: Vec<&Vec<usize>> = first.iter().flat_map(|zone| zone.values()).collect();
        sites.first()?;
        let of_task = |task: usize| {
            let sum: usize = sites.iter().map(|units| units[task]).sum();
            (sum as f64 / sites.len() as f64).round().max(1.0) as u8
        };
        Some((0..tasks).map(of_task).collect())
    }

    /// Sites of a zone to come in their order: those of the first visit, else the next numbers of the draw.
    fn to_come(&self, zone: usize, draw: Option<&Draw>) -> Vec<usize> {
        let begun = self.begun_at(zone);
        let first = self.first.as_ref().map(|first| &first[zone]);
        let is_left = |site: &usize| {
            let name = site.to_string();
            !begun.contains(name.as_str()) && first.is_none_or(|first| first.contains_key(&name))
        };
        let there: Vec<usize> = match draw {
            // Those that cannot be used are passed over.
            Some(draw) => draw.planned(zone, draw.sites(zone).count()).into_iter().map(|place| place + 1).collect(),
            None => (1..=9999).collect(),
        };
        there.into_iter().filter(is_left).collect()
    }

    /// Names of the sites to come, so many of them in each zone.
    fn left(&self, found: &Found, draw: Option<&Draw>) -> Vec<Vec<usize>> {
        let of_zone = |(zone, &number): (usize, &u16)| {
            let mut next = self.to_come(zone, draw);
            next.truncate(usize::from(number));
            let missing = usize::from(number) - next.len();
            let after = next.last().copied().unwrap_or(self.begun_at(zone).len());
            next.into_iter().chain(after + 1..=after + missing).collect()
        };
        found.sites.iter().enumerate().map(of_zone).collect()
    }

    /// From which of the days left on they can be reached.
    fn opens(&self, draw: &Draw, (days_gone, days_left): (usize, usize)) -> Opens {
        let first_day = |zone: usize, site: usize| draw.site(zone, site - 1).window().0.saturating_sub(days_gone);
        let of_zone =
            |zone: usize| self.to_come(zone, Some(draw)).into_iter().map(|site| first_day(zone, site)).collect();
        Opens::of_sites((0..self.begun.len()).map(of_zone).collect(), days_left)
    }

    /// Sites of the whole, with those to come.
    fn taken(&self, left: &[Vec<usize>], pairs_sites: bool) -> Taken {
        let of_zone = |zone: usize| {
            let numbers = self.begun_at(zone).into_iter().filter_map(|site| site.parse::<usize>().ok());
            numbers.filter_map(|number| number.checked_sub(1)).collect::<BTreeSet<usize>>()
        };
        let done: Vec<BTreeSet<usize>> = (0..left.len()).map(of_zone).collect();
        let to_come = |left: &Vec<usize>| left.iter().map(|number| number - 1).collect::<Vec<_>>();
        let zones = done.iter().zip(left).map(|(done, left)| done.iter().copied().chain(to_come(left)).collect());
        Taken { zones: zones.collect(), done, of_first_visit: self.visit == 2 && pairs_sites }
    }
}

/// Sites of both, with the fewer units of each task.
fn at_both(now: &SiteUnits, before: &SiteUnits) -> SiteUnits {
    let least = |units: &[usize], others: &[usize]| units.iter().zip(others).map(|(a, b)| *a.min(b)).collect();
    let shared = now.iter().filter_map(|(site, units)| Some((site, units, before.get(site)?)));
    shared.map(|(site, units, others)| (site.clone(), least(units, others))).collect()
}

/// The study with new variances where it has them written; where a law of the reef gives them, they are scaled later.
fn with_components(plan: &Plan, seen: &Seen) -> Plan {
    let mut study = plan.study.clone();
    for method in &mut study.methods {
        if let MethodKind::Components(parts) = &mut method.kind {
            *parts = seen.components(parts);
        }
    }
    Plan::new(study, plan.theories.clone())
}

/// Whether what is estimated holds how sites differ in one visit: means of one visit, and sites drawn anew.
fn sites_differ(plan: &Plan, target: &Target) -> bool {
    matches!(target.asks, Asks::Cv(_)) || !plan.study.pairs_sites()
}

/// Parts of the sites to come say nothing of the whole. (Its money is that of the rest.)
fn of_the_whole(mut plan: BudgetPlan) -> BudgetPlan {
    plan.margins.iter_mut().for_each(|margin| (margin.seen_by_sites, margin.achieved_by_sites) = (None, None));
    plan
}

fn rest_as_planned(prepared: &Prepared, planned: &Found, done: &Done) -> RestAsPlanned {
    let left = |(zone, &sites): (usize, &u16)| sites.saturating_sub(done.begun_at(zone).len() as u16);
    let sites: Vec<u16> = planned.sites.iter().enumerate().map(left).collect();
    let team_dives: Option<Vec<usize>> = prepared.tables.iter().map(|table| table.dives(&planned.units)).collect();
    let takes = prepared.takes(&mut DayPacking::new(&prepared.day), &sites, &planned.units);
    let days = takes.map(|(days, _)| days);
    let weights = prepared.weights();
    let margin = |of: &Indicator| of.margin(&weights, &sites, usize::from(planned.units[of.task]));
    RestAsPlanned {
        days,
        team_dives,
        weakest: prepared.indicators.iter().map(margin).fold(f64::INFINITY, f64::min),
        sites,
    }
}

fn zones_done(plan: &Plan, done: &Done, planned: Option<&Found>) -> Vec<ZoneDone> {
    let zone = |(zone, begun): (usize, &SiteUnits)| ZoneDone {
        zone: plan.study.zones[zone].name.clone(),
        done: begun.len(),
        planned: planned.map_or(0, |planned| usize::from(planned.sites[zone])),
    };
    done.begun.iter().enumerate().map(zone).collect()
}

/// Starts at the sites to come: those that these sites have in any plan of the seed with so many units.
fn starts_of_sites_left(
    prepared: &Prepared,
    found: &Found,
    (left, draw): (&[Vec<usize>], Option<&Draw>),
    seed: u64,
) -> Vec<Start> {
    let up_to = |sites: &Vec<usize>| sites.iter().copied().max().unwrap_or(0) as u16;
    let whole = Found { sites: left.iter().map(up_to).collect(), ..found.clone() };
    let zones = &prepared.plan.study.zones;
    let is_left = |start: &Start| {
        zones.iter().zip(left).any(|(zone, sites)| zone.name == start.zone && sites.contains(&start.site))
    };
    starts(prepared, &whole, draw, seed).into_iter().filter(is_left).collect()
}

/// Starts of the units that begun sites lack, and the spares there: those that they have in the plan that was under way.
fn starts_at_begun_sites(prepared: &Prepared, planned: &Found, draw: Option<&Draw>, seed: u64) -> Vec<Start> {
    let up_to = |zone: usize| {
        let of_zone = prepared.finishing.iter().filter(|begun| begun.zone == zone);
        of_zone.map(|begun| begun.told.site).max().unwrap_or(0) as u16
    };
    let whole = Found { sites: (0..planned.sites.len()).map(up_to).collect(), ..planned.clone() };
    let lacks = |start: &Start| {
        let of_site = |begun: &&Begun| (&begun.told.zone, begun.told.site) == (&start.zone, start.site);
        let of_method = prepared.finishing.iter().filter(of_site).flat_map(|begun| &begun.told.lacks);
        let mut of_method = of_method.filter(|lacks| lacks.method == start.method);
        of_method.any(|lacks| start.is_spare || lacks.units.contains(&start.unit))
    };
    starts(prepared, &whole, draw, seed).into_iter().filter(lacks).collect()
}

/// Simulates the whole, sites that are done and to come, for those targets that it holds for: their units are the same at all
/// sites, and their variances stand in the scenario. True where it was interrupted.
fn simulate(
    prepared: &Prepared,
    (found, told): (&Found, &mut BudgetPlan),
    (done, seen): (&Done, &Seen),
    confirming: &Confirming,
) -> bool {
    let is_whole = |(task, reading): (usize, usize)| {
        let units = usize::from(found.units[task]);
        let name = prepared.plan.layout.readings[reading].indicator.name();
        let as_in_scenario = components_of(prepared.plan, reading).is_some()
            || [Level::Units, Level::Sites].iter().all(|&level| seen.factor(name, level) == 1.0);
        as_in_scenario && done.counted.iter().all(|zone| zone.values().all(|of_site| of_site[task] == units))
    };
    let wholes: Vec<bool> = prepared.tasks.told_by.iter().map(|&told_by| is_whole(told_by)).collect();
    if !wholes.contains(&true) {
        return false;
    }
    let all = |(&sites, done): (&u16, &SiteUnits)| sites + done.len() as u16;
    let whole = Found { sites: found.sites.iter().zip(&done.counted).map(all).collect(), ..found.clone() };
    let mut simulated = told.clone();
    let interrupted = confirm(prepared, &whole, &mut simulated, confirming);
    let margins = told.margins.iter_mut().zip(simulated.margins).zip(wholes);
    for ((margin, simulated), _) in margins.filter(|(_, is_whole)| *is_whole) {
        *margin = simulated;
    }
    interrupted
}
