//! What one day, pair, site, unit, target or method more or less is worth, by formula. Where diving is touched, only towards
//! caution: no more dives a day, no longer bottom time, no deeper site, no shorter interval is ever priced.

use super::missing::{one_ill, one_pair_fewer};
use super::no_gain::moves_nothing;
use super::occasions::SeveralVisits;
use super::options::{Chosen, Options, least, searches, zones_of};
use super::places::words;
use super::prepared::Prepared;
use super::warn::misfits;
use crate::budget::{Found, Hold, Indicator, MET, Need, NeedTable, OwnSets, Search};
use crate::design::{Asks, Expedition, Standby};
use crate::engine::Plan;
use crate::measures::counted;
use rayon::prelude::*;
use serde::Serialize;

/// What a what-if changes, so that pages can choose among them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhatIfKind {
    AsItIs,
    /// More or fewer pairs, sites a day.
    Capacity,
    /// Less diving, or more people on guard.
    Caution,
    /// The same marks or new places.
    Places,
    /// A method is left out.
    Method,
    /// A target is left out or softer, or shall be seen more often.
    Target,
    /// Each zone has its own site set.
    OwnSiteSets,
    /// Several expeditions in each period.
    Occasions,
    Days,
    Sites,
    Units,
}

/// The least effort under one change of the expedition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WhatIf {
    /// "one pair fewer"
    pub what: String,
    /// Days and team dives for all targets, and for the musts; `None`: out of reach.
    pub all: Option<(usize, usize)>,
    pub musts: Option<(usize, usize)>,
    pub kind: WhatIfKind,
    /// Why all targets, or the musts, are out of reach; `None` where they are not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Money of both; `None` where no rates are told, or not worked out. Limits of diving have no price: nothing is told of
    /// what caution costs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money_for_all: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money_for_musts: Option<f64>,
    /// Expeditions in each period, where there are several: days and team dives are of each of them, money is of all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expeditions: Option<usize>,
    /// Whether it gives up every must, so that nothing is told of them.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub without_musts: bool,
    /// Said where it takes just what the expedition takes as it is: "brings nothing", with the reason where it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moves_nothing: Option<String>,
}

impl WhatIf {
    /// Whether the musts alone were looked at.
    pub fn looks_at_musts(&self) -> bool {
        self.kind != WhatIfKind::OwnSiteSets && !self.without_musts
    }

    /// Of several expeditions what they take in all, beside what one takes as it is: "each; 8 days and 16 team dives in all, where
    /// one takes 6 and 12".
    pub fn in_all(&self, as_it_is: &WhatIf) -> Option<String> {
        let number = self.expeditions?;
        let ((days, dives), one) = match self.all {
            Some(all) => (all, as_it_is.all),
            None => (self.musts?, as_it_is.musts),
        };
        let one = one.map_or(", where one is not enough".to_owned(), |(days, dives)| {
            format!(", where one takes {days} and {dives}")
        });
        let all = [counted(number * days, "day"), counted(number * dives, "team dive")].join(" and ");
        Some(format!("each; {all} in all{one}"))
    }
}

/// How the case is called in which a pair stays up.
pub const PAIR_STAYS_UP: &str = "a pair stays up on each dive";

/// How the cases are called in which a diver does not leave or come on the way.
pub const STAYS: &str = " stays to the end";
pub const COMES: &str = " comes on the first day";

/// What a plan gives under one change of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarginIf {
    /// "one site fewer, slope"
    pub what: String,
    pub kind: WhatIfKind,
    pub days: usize,
    pub team_dives: usize,
    /// Of each target, in the order of the targets.
    pub margins: Vec<f64>,
    /// As in [`Margin`](super::Margin), of each target.
    pub achieved: Vec<f64>,
    /// `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<f64>,
}

/// A softer target asks for so many times the difference, half-width or error: a judgement of how far a target can give way
/// and still be the same question.
const NOTCH: f64 = 1.25;
/// How often a change shall be seen in the what-if.
const SEEN_MORE_OFTEN: f64 = 0.9;
/// Minutes that a dive may be cut by.
const LESS_MINUTES: f64 = 5.0;

/// What is changed before the search.
enum Changed {
    Expedition(Box<Expedition>),
    /// What theory knows, changed.
    Indicators(Vec<Indicator>),
    Places,
    /// So many expeditions in each period.
    Several(usize, Vec<Indicator>),
}

/// The least efforts with the dimensions and places of the plan, `prepared`; `other`: the study with the other places.
pub fn what_ifs(
    (options, prepared): (&Options, &Prepared),
    other: Option<&Plan>,
    (all, musts): (&Option<Chosen>, &Option<Chosen>),
    own: Option<&OwnSets>,
    several: &[SeveralVisits],
) -> Vec<WhatIf> {
    let mut others: Vec<(String, WhatIfKind, Changed)> = Vec::new();
    crew_and_dives(prepared, &mut others);
    methods_and_targets(prepared, &mut others);
    if let Some(other) = other {
        others.push((words(other.study.visits.places).into(), WhatIfKind::Places, Changed::Places));
    }
    others.extend(several.iter().map(|of| several_expeditions(prepared.plan, of)));
    let takes = |found: &Option<Chosen>| found.as_ref().map(|chosen| (chosen.found.days, chosen.found.team_dives));
    let money = |found: &Option<Chosen>| found.as_ref().and_then(|chosen| options.money(chosen));
    let as_it_is = WhatIf {
        what: "as it is".into(),
        all: takes(all),
        musts: takes(musts),
        kind: WhatIfKind::AsItIs,
        why: None,
        money_for_all: money(all),
        money_for_musts: money(musts),
        expeditions: None,
        without_musts: false,
        moves_nothing: None,
    };
    let own = own.map(|own| WhatIf {
        what: "own site set in each zone".into(),
        all: Some((own.days, own.team_dives)),
        musts: None,
        kind: WhatIfKind::OwnSiteSets,
        why: None,
        money_for_all: None,
        money_for_musts: None,
        expeditions: None,
        without_musts: false,
        moves_nothing: None,
    });
    let of = |(what, kind, changed): (String, WhatIfKind, Changed)| {
        let with = |changed_plan: Prepared| {
            let by_crew = changed_plan.by_crew();
            let zones = zones_of(&by_crew);
            let searches = searches(&by_crew, &zones);
            let least_of = |hold| {
                let least = least(&searches, hold)?;
                let money = searches[least.option].money(&least.found);
                Some(((least.found.days, least.found.team_dives), money))
            };
            let is_must = |indicators: &[Indicator]| indicators.iter().any(|of| of.is_must);
            let without_musts = is_must(&prepared.indicators) && !is_must(&by_crew[0].indicators);
            let of_musts = if without_musts { None } else { least_of(Hold::Musts) };
            let ((all, money_for_all), (musts, money_for_musts)) = (least_of(Hold::All).unzip(), of_musts.unzip());
            let told = |money: Option<Option<f64>>| money.flatten().filter(|_| kind != WhatIfKind::Caution);
            let (money_for_all, money_for_musts) = (told(money_for_all), told(money_for_musts));
            let is_out_of_reach = all.is_none() || (musts.is_none() && !without_musts);
            let why = is_out_of_reach.then(|| why_out_of_reach(&by_crew[0], &searches[0], all.is_none()));
            let expeditions = match changed {
                Changed::Several(number, _) => Some(number),
                _ => None,
            };
            let of_all = |money: Option<f64>| money.map(|money| expeditions.unwrap_or(1) as f64 * money);
            Some(WhatIf {
                what: what.clone(),
                kind,
                all,
                musts,
                why,
                money_for_all: of_all(money_for_all),
                money_for_musts: of_all(money_for_musts),
                expeditions,
                without_musts,
                moves_nothing: None,
            })
        };
        let (dimensions, known) = (prepared.dimensions.clone(), prepared.known);
        match &changed {
            Changed::Expedition(expedition) => with(Prepared::new(prepared.plan, expedition, dimensions, known).ok()?),
            Changed::Places => with(Prepared::new(other?, prepared.expedition, dimensions, known).ok()?),
            Changed::Indicators(indicators) | Changed::Several(_, indicators) => {
                with(Prepared { indicators: indicators.clone(), ..prepared.clone() })
            }
        }
    };
    let dimensions = &prepared.dimensions;
    let boats_of = |left: &Expedition| {
        let boats = left.boats.number;
        if boats < prepared.expedition.boats.number.min(left.pairs.len()) {
            format!("; from {}", counted(boats, "boat"))
        } else {
            String::new()
        }
    };
    let of_fewer = |(names, expedition): (String, Expedition)| {
        let boats = boats_of(&expedition);
        (
            format!("one pair fewer (without {names}{boats})"),
            WhatIfKind::Capacity,
            Changed::Expedition(Box::new(expedition)),
        )
    };
    let of_ill = |(name, expedition): (String, Expedition)| {
        let what = format!("one diver ill throughout (worst: {name}{})", boats_of(&expedition));
        (what, WhatIfKind::Capacity, Changed::Expedition(Box::new(expedition)))
    };
    let fewer = one_pair_fewer(prepared.plan, prepared.expedition, dimensions, prepared.known);
    let ill = one_ill(prepared.plan, prepared.expedition, dimensions, prepared.known);
    let (cases, pairs) = (others.len(), fewer.len());
    let cases_of_all = others.into_iter().chain(fewer.into_iter().map(of_fewer)).chain(ill.into_iter().map(of_ill));
    let mut found: Vec<Option<WhatIf>> = cases_of_all.collect::<Vec<_>>().into_par_iter().map(of).collect();
    let ill = found.split_off(cases + pairs);
    let fewer = found.split_off(cases);
    let cost = |takes: &Option<(usize, usize)>| takes.unwrap_or((usize::MAX, usize::MAX));
    // Whoever plans chooses which pair stays at home, but not who falls ill.
    let by_cost = |what: &WhatIf| (cost(&what.all), cost(&what.musts));
    let best = fewer.into_iter().flatten().rev().min_by_key(by_cost);
    let worst = ill.into_iter().flatten().rev().max_by_key(by_cost);
    let mut found = found.into_iter().flatten().collect::<Vec<_>>();
    let after = found.iter().position(|what| !what.what.starts_with("one pair more")).unwrap_or(found.len());
    best.into_iter().for_each(|best| found.insert(after, best));
    let mut told: Vec<WhatIf> = std::iter::once(as_it_is.clone()).chain(found).chain(worst).chain(own).collect();
    if let Some(chosen) = all.as_ref().or(musts.as_ref()) {
        let by = (&options.all[chosen.option], &chosen.found);
        told[1..].iter_mut().for_each(|what| what.moves_nothing = moves_nothing(what, &as_it_is, by));
    }
    told
}

/// Why no plan meets all targets (else: the musts), short: what does not fit into a dive, or the target that the sites there
/// are leave farthest behind.
fn why_out_of_reach(prepared: &Prepared, search: &Search, all: bool) -> String {
    if let Some(first) = misfits(prepared).first() {
        return first.short();
    }
    let hold = if all { Hold::All } else { Hold::Musts };
    let sites: Vec<u16> = search.zones.iter().map(|zone| zone.most_sites).collect();
    let weights = prepared.weights();
    let most_by_itself = |indicator: &Indicator| {
        let units = 1..=usize::from(prepared.tasks.caps.of(indicator.task));
        units.map(|units| indicator.margin(&weights, &sites, units)).fold(0.0, f64::max)
    };
    let asked = prepared.indicators.iter().filter(|indicator| hold.asks(indicator));
    let weakest = asked.map(|of| (most_by_itself(of), of)).min_by(|one, other| one.0.total_cmp(&other.0));
    match weakest {
        Some((margin, of)) if margin < MET => {
            format!(
                "too few sites: {} comes to {margin:.2} of what is asked with all there are",
                of.name.replace('_', " ")
            )
        }
        _ => "the work that the targets need does not fit into the team dives at a site with the sites there are"
            .to_owned(),
    }
}

fn several_expeditions(plan: &Plan, of: &SeveralVisits) -> (String, WhatIfKind, Changed) {
    let period = if plan.study.question.visits() == 2 { " in each period" } else { "" };
    let number = of.occasions.number;
    let changed = Changed::Several(number, of.indicators.clone());
    (format!("{number} expeditions{period}, a year apart"), WhatIfKind::Occasions, changed)
}

fn crew_and_dives(prepared: &Prepared, others: &mut Vec<(String, WhatIfKind, Changed)>) {
    let expedition = prepared.expedition;
    let mut changed = |what: String, kind: WhatIfKind, change: &dyn Fn(&mut Expedition)| {
        let mut expedition = expedition.clone();
        change(&mut expedition);
        others.push((what, kind, Changed::Expedition(Box::new(expedition))));
    };
    if let Some(&(one, other)) = expedition.pairs.last() {
        let names = [one, other].map(|diver| expedition.divers[diver].name.as_str());
        changed(format!("one pair more, like {}", names.join(" and ")), WhatIfKind::Capacity, &|expedition| {
            let next = expedition.divers.len();
            for diver in [one, other] {
                expedition.divers.push(expedition.divers[diver].clone());
            }
            expedition.pairs.push((next, next + 1));
        });
    }
    let last = expedition.days.for_diving();
    for (diver, of) in expedition.divers.iter().enumerate() {
        let stays: &dyn Fn(&mut Expedition) = &|changed| changed.divers[diver].to_day = None;
        let comes: &dyn Fn(&mut Expedition) = &|changed| changed.divers[diver].from_day = 1;
        if of.to_day.is_some_and(|day| day < last) {
            changed(format!("{}{STAYS}", of.name), WhatIfKind::Capacity, stays);
        }
        if of.from_day > 1 {
            changed(format!("{}{COMES}", of.name), WhatIfKind::Capacity, comes);
        }
    }
    if expedition.standby == Standby::AsTheDivingOfficerDecides && expedition.pairs.len() > 1 {
        changed(PAIR_STAYS_UP.into(), WhatIfKind::Caution, &|expedition| {
            expedition.standby = Standby::APairStaysUp;
        });
    }
    if expedition.boats.dives_a_day > 1 {
        let fewer = expedition.boats.dives_a_day - 1;
        changed("one dive a day fewer".into(), WhatIfKind::Caution, &|expedition| expedition.boats.dives_a_day = fewer);
    }
    if let Some(sites) = expedition.boats.sites_a_day {
        if sites < expedition.boats.dives_a_day {
            changed("one site a day more".into(), WhatIfKind::Capacity, &|expedition| {
                expedition.boats.sites_a_day = Some(sites + 1);
            });
        }
        if sites > 1 {
            changed("one site a day fewer".into(), WhatIfKind::Capacity, &|expedition| {
                expedition.boats.sites_a_day = Some(sites - 1);
            });
        }
    }
    for (zone, name) in prepared.plan.study.zones.iter().map(|zone| &zone.name).enumerate() {
        changed(format!("5 minutes less on the bottom, {name}"), WhatIfKind::Caution, &|expedition| {
            expedition.zones[zone].bottom_minutes -= LESS_MINUTES;
        });
    }
}

fn methods_and_targets(prepared: &Prepared, others: &mut Vec<(String, WhatIfKind, Changed)>) {
    let expedition = prepared.expedition;
    let named = |name: &str| name.replace('_', " ");
    let mut names: Vec<&String> = expedition.targets.iter().map(|target| &target.indicator).collect();
    names.sort();
    names.dedup();
    let in_order = |name: &&String| expedition.targets.iter().position(|target| &target.indicator == *name);
    names.sort_by_key(in_order);
    let without = |keep: &dyn Fn(usize) -> bool| {
        let mut other = expedition.clone();
        let mut places = 0..;
        other.targets.retain(|_| places.next().is_some_and(keep));
        other
    };
    if names.len() > 1 {
        for name in names {
            let other = without(&|place| &expedition.targets[place].indicator != name);
            others.push((
                format!("without the target on {}", named(name)),
                WhatIfKind::Target,
                Changed::Expedition(Box::new(other)),
            ));
        }
    }
    for (task, of) in prepared.tasks.tasks.iter().enumerate().take(prepared.tasks.methods.len()) {
        // A method that tells one indicator goes with it.
        let is_told = |place: usize| prepared.tasks.told_by[place].0 == task;
        let told: Vec<&String> = (0..expedition.targets.len())
            .filter(|&place| is_told(place))
            .map(|place| &expedition.targets[place].indicator)
            .collect();
        if told.iter().any(|name| *name != told[0]) && told.len() < expedition.targets.len() {
            let other = without(&|place| !is_told(place));
            others.push((
                format!("without {}", named(&of.name)),
                WhatIfKind::Method,
                Changed::Expedition(Box::new(other)),
            ));
        }
    }
    for (index, target) in expedition.targets.iter().enumerate() {
        let mut indicators = prepared.indicators.clone();
        indicators[index].target *= NOTCH;
        let asked = match target.asks {
            Asks::SeeChange(_) => "change",
            Asks::HalfWidth(_) => "half-width",
            Asks::Cv(_) => "error",
        };
        let what = format!("{}: {NOTCH} times the {asked}", named(&target.indicator));
        others.push((what, WhatIfKind::Target, Changed::Indicators(indicators)));
    }
    let test = &prepared.plan.study.test;
    let asked = |place: usize| expedition.targets[place].power_asked(test);
    let is_rarer = |place: usize| asked(place).is_some_and(|power| power < SEEN_MORE_OFTEN);
    if (0..expedition.targets.len()).any(is_rarer) {
        let tail = super::indicators::tail_of_test(test.sides);
        let need = Need::Table(NeedTable::of_power(test.alpha, tail, SEEN_MORE_OFTEN));
        let mut indicators = prepared.indicators.clone();
        let rarer = indicators.iter_mut().enumerate().filter(|(place, _)| is_rarer(*place));
        rarer.for_each(|(_, of)| of.need = need.clone());
        let is_more =
            (0..expedition.targets.len()).any(|place| asked(place).is_some_and(|power| power > SEEN_MORE_OFTEN));
        let at_least = if is_more { "at least " } else { "" };
        others.push((
            format!("changes seen {at_least}{} times in 100", 100.0 * SEEN_MORE_OFTEN),
            WhatIfKind::Target,
            Changed::Indicators(indicators),
        ));
    }
}

/// What one day, one site of each zone and one unit of each method more or less do to the margins of a plan; `days`: the best use
/// of so many.
pub fn margin_ifs(options: &Options, planned: &Chosen, days: impl Fn(usize) -> Option<Chosen>) -> Vec<MarginIf> {
    let (prepared, found) = (&options.all[planned.option], &planned.found);
    let zones = prepared.zones();
    let search = prepared.search(&zones);
    // What is found with another crew or other dimensions is told by those.
    let by = |of: &Prepared, what: String, kind: WhatIfKind, found: Found| MarginIf {
        what,
        kind,
        days: found.days,
        team_dives: found.team_dives,
        achieved: of.achieved(&found.margins),
        money: of.money(&found),
        margins: found.margins,
    };
    let told = |what: String, kind: WhatIfKind, found: Found| by(prepared, what, kind, found);
    let mut all = vec![told("as planned".into(), WhatIfKind::AsItIs, found.clone())];
    for (what, days) in [
        ("the best use of one day fewer", days(found.days - 1)),
        ("the best use of one day more", days(found.days + 1)),
    ] {
        // Where no day more or less makes another plan, it is not told twice.
        let other = days.filter(|days| (&days.found.sites, &days.found.units) != (&found.sites, &found.units));
        all.extend(other.map(|days| by(&options.all[days.option], what.into(), WhatIfKind::Days, days.found)));
    }
    for (zone, of) in prepared.plan.study.zones.iter().enumerate() {
        for (word, sites) in [("fewer", found.sites[zone].checked_sub(1)), ("more", found.sites[zone].checked_add(1))] {
            let Some(sites) = sites.filter(|sites| (2..=zones[zone].most_sites).contains(sites)) else { continue };
            // Of two zones at the same places the first stands for both.
            if zones[zone].same_sites_as.is_some() {
                continue;
            }
            let mut numbers = found.sites.clone();
            numbers[zone] = sites;
            let mut names = vec![of.name.as_str()];
            for (other, at) in zones.iter().enumerate().filter(|(_, at)| at.same_sites_as == Some(zone)) {
                numbers[other] = sites.min(at.most_sites);
                names.push(&prepared.plan.study.zones[other].name);
            }
            let design = search.design(&found.units, &numbers);
            let what = format!("one site {word}, {}", names.join(" and "));
            all.extend(design.map(|found| told(what, WhatIfKind::Sites, found)));
        }
    }
    for (task, of) in prepared.tasks.tasks.iter().enumerate().take(prepared.tasks.methods.len()) {
        let name = of.name.replace('_', " ");
        for (word, number) in [("fewer", found.units[task].checked_sub(1)), ("more", found.units[task].checked_add(1))]
        {
            let Some(number) = number.filter(|number| (1..=prepared.tasks.caps.of(task)).contains(number)) else {
                continue;
            };
            let mut units = found.units.clone();
            units[task] = number;
            let design = search.design(&units, &found.sites);
            all.extend(design.map(|found| told(format!("one unit {word}, {name}"), WhatIfKind::Units, found)));
        }
    }
    all
}
