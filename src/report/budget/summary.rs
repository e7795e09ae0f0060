//! The answer in a few lines that need no statistics: the plan, what it achieves, what it costs, what is worth asking for.

use super::days_left::{LeftInTime, wanted_words};
use super::money_text::{amount, best_of_money, for_money, money_words};
use super::report::BudgetReport;
use super::sites_text::HOW_MANY_ARE_CALM;
use super::target_words::{promise, simulated, verdict};
use super::told_by_text::told_by;
use crate::budget::MET;
use crate::budget::diving::flag_with;
use crate::design::{Scheduled, Zone, ZoneDiving};
use crate::measures::counted;
use crate::planner::expedition::{
    BRINGS_NOTHING, BookDays, BudgetPlan, Margin, SiteTasks, WhatIf, WhatIfKind, ZoneSites, places_words,
};
use crate::report::digits::{hundredths_beside, in_hundred};
use crate::report::words::{count_method, plain, sentence};

/// What stands first on the screen and on the page.
pub struct Summary {
    /// One sentence: whether what is asked can be had.
    pub verdict: String,
    /// Bottom times that are longer than the published limit, zone by zone.
    pub over_limit: Vec<String>,
    /// The plan in five lines: a label and its words.
    pub plan: Vec<(&'static str, String)>,
    /// One for each target.
    pub achieves: Vec<Achieves>,
    pub costs: Vec<(&'static str, String)>,
    /// The most valuable changes of the expedition, the best first.
    pub worth: Vec<String>,
}

/// What comes of one target.
pub struct Achieves {
    pub must: bool,
    /// "met", "within error", "nearly", "not met"; by formula alone "just met" too
    pub verdict: &'static str,
    pub words: String,
}

/// So many what-ifs stand first, of which so many may be such as save.
const FIRST: usize = 3;
const SAVES: usize = 2;

impl BudgetReport {
    pub fn summary(&self) -> Summary {
        let plan = self.answer.scheduled();
        Summary {
            verdict: self.verdict() + &self.scheduled_otherwise() + &self.access(),
            over_limit: self.over_limit(),
            plan: plan.map_or(Vec::new(), |plan| self.plan_lines(plan)),
            achieves: plan.map_or(Vec::new(), |plan| plan.margins.iter().map(|margin| self.achieves(margin)).collect()),
            costs: plan.map_or(Vec::new(), |plan| self.costs(plan)),
            worth: self.worth(),
        }
    }

    /// The flags of bottom times, which are among the warnings too.
    fn over_limit(&self) -> Vec<String> {
        let zones = self.scenario.zones.iter().zip(&self.expedition.zones);
        let flagged = |(zone, diving): (&Zone, &ZoneDiving)| {
            let flag = flag_with(diving.depth_m, diving.bottom_minutes, diving.is_decided());
            flag.map(|flag| format!("{}: {flag}", zone.name))
        };
        zones.filter_map(flagged).chain(self.answer.not_scheduled.clone()).collect()
    }

    fn verdict(&self) -> String {
        let answer = &self.answer;
        let bookable = answer.bookable_days;
        let can = format!("{} for diving", counted(bookable, "day"));
        let fits = |plan: &&BudgetPlan| plan.days <= bookable;
        let takes = |plan: &BudgetPlan| counted(plan.days, "day");
        match (answer.all.as_ref(), answer.musts.as_ref()) {
            (Some(all), _) if fits(&all) => {
                let left = self.left_in_time(all.days, bookable);
                let words =
                    left.map_or(String::new(), |left| format!(", and bad weather leaves so many {}", left.words()));
                format!(
                    "All targets are met in {} of diving; there are {can}{words}.{}",
                    takes(all),
                    self.too_few(left)
                )
            }
            (Some(all), Some(musts)) if fits(&musts) && self.comes_out_when_simulated(false) => format!(
                "All targets are a close call: by formula they take {} of diving, and there are {can}; simulated, the best use of \
                 those misses no target by more than its error, with nothing to spare. The musts alone take {}.{}",
                takes(all),
                takes(musts),
                self.less_than_wanted("all of those", bookable)
            ),
            (all, Some(musts)) if fits(&musts) => {
                let all = match all {
                    Some(all) => format!("all targets would take {}", takes(all)),
                    None => "with the sites there are not all targets can be met".to_owned(),
                };
                format!(
                    "The musts are met in {} of diving; {all}. There are {can}.{}",
                    takes(musts),
                    self.less_than_wanted("so many for the musts", musts.days)
                )
            }
            (_, Some(musts)) if self.comes_out_when_simulated(true) => format!(
                "By formula the musts take {} of diving, and there are {can}. Simulated, the best use of those leaves no {} \
                 missed by more than its error: it is a close call, with nothing to spare.",
                takes(musts),
                if self.comes_out_when_simulated(false) { "target, must or not," } else { "must" }
            ),
            (_, Some(musts)) => {
                format!(
                    "The musts take {} of diving (by formula), and there are {can}: they cannot all be met.",
                    takes(musts)
                )
            }
            (_, None) if answer.searched.designs == 0 => {
                format!("Nothing can be planned: some work does not fit into the dives of a site. There are {can}.")
            }
            (_, None) => format!("No number of the sites there are meets the musts; there are {can}."),
        }
    }

    /// Said where another plan than the least for all targets was asked for.
    fn scheduled_otherwise(&self) -> String {
        let Some(plan) = self.answer.scheduled().filter(|_| !self.answer.asked_to_schedule.is_all_targets()) else {
            return String::new();
        };
        let what = match self.answer.scheduled_as() {
            Scheduled::AllTargets => return String::new(),
            Scheduled::BestOfDays => format!("the best use of the {}", counted(self.answer.bookable_days, "day")),
            Scheduled::BestOfMoney => best_of_money(self).unwrap_or_default(),
        };
        let there = self.answer.days_there();
        let left = self.left_in_time(plan.days, there).filter(|_| there < self.answer.bookable_days);
        let paid = left.map_or(String::new(), |left| {
            let there = counted(there, "day");
            format!("; that pays for {there} for diving, of which bad weather leaves so many {}", left.words())
        });
        format!(" Scheduled, as was asked, is {what}: {} of diving{paid}.", counted(plan.days, "day"))
    }

    /// Said where the days of the plan are not those in which its schedule stands.
    fn access(&self) -> String {
        let Some(access) = &self.answer.access else { return String::new() };
        let mut text = String::new();
        if !access.free_days.is_empty() {
            text += &format!(
                " Because sites can be reached on some days only, the schedule ends on day {} of those for diving, with {} free before",
                access.last_day,
                counted(access.free_days.len(), "day")
            );
            if let (Some(money), Some(rates)) = (access.money, &self.expedition.rates) {
                text += &format!(" (with them it costs {})", amount(money, &rates.currency));
            }
            text.push('.');
        }
        let missed = access.not_reached.len();
        if missed > 0 {
            text += &format!(" {missed} of its sites cannot be reached on the days planned (Mind, of the plan).");
        }
        text
    }

    /// Whether the best use of the days was simulated and misses no target (no must) by more than its error.
    fn comes_out_when_simulated(&self, musts_only: bool) -> bool {
        let margins = self.answer.best.as_ref().map_or(&[][..], |plan| &plan.margins);
        let mut asked = margins.iter().filter(|margin| margin.must || !musts_only).peekable();
        let comes_out =
            |margin: &Margin| simulated(self, margin).is_some() && ["met", "within error"].contains(&verdict(margin));
        asked.peek().is_some() && asked.all(comes_out)
    }

    /// Said where the chance of so many days, which stands before it, is less than is wanted.
    fn too_few(&self, left: Option<LeftInTime>) -> String {
        let (now, where_told) = match self.answer.visit_under_way {
            None => ("booked", " (To book, below)"),
            Some(_) => ("left", ""),
        };
        let told = left.and_then(|left| left.too_few(now));
        told.map_or(String::new(), |told| format!(" {told}{where_told}."))
    }

    /// The same with the chance itself.
    fn less_than_wanted(&self, what: &str, days: usize) -> String {
        let left = self.left_in_time(days, self.answer.bookable_days);
        let too_few = self.too_few(left);
        let words = left.filter(|_| !too_few.is_empty()).map(|left| left.words());
        words.map_or(String::new(), |words| format!(" Bad weather leaves {what} {words}.{too_few}"))
    }

    fn plan_lines(&self, plan: &BudgetPlan) -> Vec<(&'static str, String)> {
        let bookable = self.answer.bookable_days;
        let what = match (self.answer.schedules_all(), self.best_of_the_days()) {
            (true, Some((best, own))) => format!(
                "the fewest for all targets; the best use of as many would bring the weakest to {best:.2} of what is asked \
                 where this brings {own:.2}, by formula{}",
                self.why_not_the_best(plan)
            ),
            (true, None) => "the fewest for all targets".to_owned(),
            (false, _) if self.answer.scheduled_as() == Scheduled::BestOfMoney => {
                best_of_money(self).unwrap_or_default()
            }
            (false, _) => "their best use".to_owned(),
        };
        let place = |zone: usize| match self.scenario.places_of(zone) {
            Some((named, _)) => format!(" at the places of {}", plan.zones[named].zone),
            None => String::new(),
        };
        let zone = |(index, zone): (usize, &ZoneSites)| format!("{} {}{}", zone.zone, zone.sites, place(index));
        let zones: Vec<String> = plan.zones.iter().enumerate().map(zone).collect();
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        let units: Vec<String> = plan.site_set.iter().map(with_dimensions).collect();
        let is_twice = self.scenario.question.visits() > 1 && self.answer.visit_under_way.is_none();
        let visits = if is_twice { ", at each of two visits" } else { "" };
        let places = plan.places.map(|places| format!("; the second visit at {}", places_words(places)));
        let dives: Vec<String> = plan.dived_at().map(|(zones, of)| format!("{zones} {}", of.dives_words())).collect();
        let there = self.answer.days_there();
        let of_days = if there < bookable {
            format!("{} that the money pays for", counted(there, "day"))
        } else {
            counted(bookable, "day")
        };
        let chance = match self.left_in_time(plan.days, there) {
            Some(left) => {
                let calm = self.expedition.zones.iter().any(|zone| zone.needs_calm);
                let calm = if calm { format!("; {HOW_MANY_ARE_CALM}") } else { String::new() };
                format!(
                    "At least {} of the {of_days} are left {}{}{calm}",
                    plan.days,
                    left.words(),
                    self.musts_before(plan)
                )
            }
            None => "How many are lost is not told: no chance can be given".to_owned(),
        };
        let mut lines = vec![
            ("Days", format!("{} of the {bookable} there are for diving ({what}){visits}", plan.days)),
            ("Sites", format!("{sites}: {}", zones.join(", "))),
            ("At each site", units.join(", ") + &places.unwrap_or_default()),
            ("A site takes", dives.join(", ")),
            ("Lost days", chance),
        ];
        if let Some(words) = told_by(self) {
            lines.insert(3, ("Told by", words));
        }
        lines
    }

    /// Weakest margins of the best use of the days of the plan and of the plan, where the plan is the cheapest for all
    /// targets and not that.
    pub fn best_of_the_days(&self) -> Option<(f64, f64)> {
        let answer = &self.answer;
        let plan = answer.all.as_ref().filter(|_| answer.schedules_all())?;
        let best = answer.frontier.iter().find(|day| day.days == plan.days)?.plan.as_ref()?;
        let weakest = |of: &BudgetPlan| of.margins.iter().map(|margin| margin.margin).fold(f64::INFINITY, f64::min);
        let (best, own) = (weakest(best), weakest(plan));
        (best > own + 0.005).then_some((best, own))
    }

    /// Why the best use of as many days is not the plan.
    fn why_not_the_best(&self, plan: &BudgetPlan) -> String {
        let day = self.answer.frontier.iter().find(|day| day.days == plan.days);
        let Some(best) = day.and_then(|day| day.plan.as_ref()) else { return String::new() };
        let dives = best.team_dives.saturating_sub(plan.team_dives);
        let cost =
            best.cost.as_ref().zip(plan.cost.as_ref()).map(|(best, own)| (best.total - own.total, &own.currency));
        let more = match cost {
            Some((more, currency)) if dives == 0 && more >= 0.5 => format!("{} more", amount(more, currency)),
            _ if dives == 0 => "more sites or units in as many team dives".to_owned(),
            _ => counted(dives, "team dive") + " more",
        };
        format!(", for {more}: not taken, because the plan is the least that meets what is asked")
    }

    /// From which day on the musts of the scheduled plan hold, where that is before its last.
    fn musts_before(&self, plan: &BudgetPlan) -> String {
        let days = self.answer.season.iter().flat_map(|season| &season.in_hand);
        let first =
            days.filter(|day| day.days < plan.days).find(|day| day.weakest_must.is_some_and(|least| least >= MET));
        let told = first.and_then(|day| Some((day.days, day.chance?)));
        told.map_or(String::new(), |(days, chance)| {
            format!("; its musts hold from day {days} on, by formula: {}", in_hundred(chance))
        })
    }

    /// "all targets", or whose days to book these are where they are not those of the scheduled plan.
    fn booked_for(&self, book: &BookDays) -> String {
        let scheduled = self.answer.scheduled().map(|plan| plan.days);
        let is_scheduled = book.plan == "all targets" && self.answer.schedules_all();
        if is_scheduled || Some(book.needs) == scheduled {
            return format!("{} are", book.plan);
        }
        format!("another plan, the cheapest for {} ({}), is", book.plan, counted(book.needs, "day"))
    }

    fn achieves(&self, margin: &Margin) -> Achieves {
        Achieves { must: margin.must, verdict: verdict(margin), words: sentence(&promise(self, margin)) }
    }

    fn costs(&self, plan: &BudgetPlan) -> Vec<(&'static str, String)> {
        let dives = format!(
            "{}, {}, {}, {}, for {}",
            counted(plan.days, "day"),
            counted(plan.team_dives, "team dive"),
            counted(plan.pair_dives, "pair-dive"),
            counted(2 * plan.pair_dives, "person-dive"),
            self.crew()
        );
        let mut costs = vec![("Diving", dives)];
        let is_same = |one: &BookDays, other: &BookDays| BookDays { plan: one.plan.clone(), ..other.clone() } == *one;
        let books = &self.answer.book;
        for (place, book) in books.iter().enumerate() {
            if books[..place].iter().any(|before| is_same(before, book)) {
                continue;
            }
            let alike: Vec<&str> = books[place + 1..]
                .iter()
                .filter(|other| is_same(book, other))
                .map(|other| other.plan.as_str())
                .collect();
            let alike = if alike.is_empty() { String::new() } else { format!("; {} take as many", alike.join(", ")) };
            let wanted = wanted_words(book.wanted);
            let words = match book.to_book {
                Some(days) => {
                    let (one, both) = match book.to_book_for_both {
                        Some(both) => (
                            " at one visit",
                            format!("; {both} at each of two visits for both to be finished so often"),
                        ),
                        None => ("", String::new()),
                    };
                    format!(
                        "{} for diving{one}, so that {} finished {wanted} (with the {} there are: {}){both}{alike}",
                        counted(days, "day"),
                        self.booked_for(book),
                        self.answer.bookable_days,
                        hundredths_beside(book.chance, book.wanted)
                    )
                }
                None => format!("no number within reach finishes {} {wanted}{alike}", book.plan),
            };
            costs.push(("To book", words));
        }
        costs.extend(money_words(self, plan).map(|words| ("Money", words)));
        let is_told = self.answer.scheduled_as() == Scheduled::BestOfMoney;
        costs.extend(for_money(self).filter(|_| !is_told).map(|words| ("It buys", words)));
        costs
    }

    /// What saves most (first such as give up nothing, last such as give up a must), then the gravest.
    fn worth(&self) -> Vec<String> {
        let mut moves = self.moves();
        moves.sort_by_key(|of| (of.gives_up, of.days.unwrap_or(i64::MAX), of.team_dives));
        let saves = |of: &&Move| of.days.is_some_and(|days| days < 0) || (of.days == Some(0) && of.team_dives < 0);
        let mut first: Vec<&Move> = moves.iter().filter(saves).take(SAVES).collect();
        let mut dear: Vec<&Move> = moves.iter().filter(|of| of.days.is_none_or(|days| days > 0)).collect();
        dear.sort_by_key(|of| std::cmp::Reverse((of.days.unwrap_or(i64::MAX), of.team_dives)));
        first.extend(dear.into_iter().take(FIRST - first.len()));
        // More people or sites a day that bring nothing need not be asked for.
        let of_more = self.answer.what_ifs.iter().filter(|what| what.kind == WhatIfKind::Capacity);
        let in_vain = of_more.filter_map(|what| {
            let words = what.moves_nothing.as_ref().filter(|words| words.starts_with(BRINGS_NOTHING))?;
            Some(format!("{}: {words}", sentence(&what.what)))
        });
        first.into_iter().map(Move::words).chain(in_vain).collect()
    }

    /// Methods and targets are given up; which target is named in the words.
    fn gives_up(&self, what: &WhatIf) -> GivesUp {
        let musts = self.expedition.targets.iter().filter(|target| target.must);
        let is_must =
            || musts.map(|target| plain(&target.indicator)).any(|name| what.what.ends_with(&format!(" {name}")));
        match what.kind {
            WhatIfKind::Target if is_must() => GivesUp::Must,
            WhatIfKind::Target | WhatIfKind::Method => GivesUp::Target,
            _ => GivesUp::Nothing,
        }
    }

    /// What each what-if moves: of the plan for all targets, where there is one, else of that for the musts. (Several expeditions
    /// take more days in all by their nature: they stand in the list of what-ifs alone.)
    pub fn moves(&self) -> Vec<Move> {
        let answer = &self.answer;
        let of_all = answer.all.is_some();
        let effort = |what: &WhatIf| if of_all { what.all } else { what.musts };
        let Some((first, others)) = answer.what_ifs.split_first() else { return Vec::new() };
        let Some((days, team_dives)) = effort(first) else { return Vec::new() };
        let less = |now: usize, then: usize| now as i64 - then as i64;
        others
            .iter()
            .filter(|what| what.kind != WhatIfKind::Occasions && (of_all || !what.without_musts))
            .map(|what| Move {
                what: what.what.clone(),
                kind: what.kind,
                days: effort(what).map(|(now, _)| less(now, days)),
                team_dives: effort(what).map_or(0, |(_, now)| less(now, team_dives)),
                too_many: effort(what).map(|(now, _)| now).filter(|&now| now > answer.bookable_days && now != days),
                there: answer.bookable_days,
                gives_up: self.gives_up(what),
                why: what.why.clone().filter(|_| effort(what).is_none()),
            })
            .collect()
    }
}

/// "5 point-intercept lines (10 m, every 0.1 m)"
fn with_dimensions(task: &SiteTasks) -> String {
    let units = count_method(&task.method, task.units);
    if task.dimensions.is_empty() { units } else { format!("{units} ({})", task.dimensions) }
}

/// How far one what-if moves the least effort.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    pub what: String,
    pub kind: WhatIfKind,
    /// More days than as it is; `None`: out of reach.
    pub days: Option<i64>,
    /// More team dives.
    pub team_dives: i64,
    /// All days that it takes, where they are more than there are for diving, and how many those are.
    pub too_many: Option<usize>,
    pub there: usize,
    /// What is given up for it.
    pub gives_up: GivesUp,
    /// Why it is out of reach.
    pub why: Option<String>,
}

/// The dearer the later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum GivesUp {
    Nothing,
    Target,
    Must,
}

impl Move {
    /// "2 days fewer", "1 day more", "the same days, 2 team dives fewer", "out of reach"
    pub fn amount(&self) -> String {
        let told = |amount: i64, what: &str| {
            let word = if amount < 0 { "fewer" } else { "more" };
            format!("{} {word}", counted(amount.unsigned_abs() as usize, what))
        };
        match (self.days, self.team_dives) {
            (None, _) => "out of reach".to_owned(),
            (Some(0), 0) => "no change".to_owned(),
            (Some(0), dives) => format!("the same days, {}", told(dives, "team dive")),
            (Some(days), _) => told(days, "day"),
        }
    }

    fn words(&self) -> String {
        let why = self.why.as_ref().map_or(String::new(), |why| format!(" ({why})"));
        let too_many =
            self.too_many.map_or(String::new(), |days| format!(" ({days} in all, where there are {})", self.there));
        format!("{}: {}{too_many}{why}", sentence(&self.what), self.amount())
    }
}
