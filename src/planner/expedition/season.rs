//! What is in hand when an expedition is cut short, and what lost days do to site sets that meet the musts early or all
//! targets together.

use super::prepared::Prepared;
use super::visits::{Visit, Visits};
use crate::budget::schedule::{SiteVisit, days};
use crate::budget::{Found, LostDays, Met, Search, at_both_visits, done_by_day, fewest_to_book, margins_in_hand};
use serde::Serialize;

/// Mean length of a bad spell beside which a chance is told where none is written, days: a guess.
const ASSUMED_SPELL: f64 = 3.0;
/// Days that are looked at to book.
pub const MOST_TO_BOOK: usize = 120;

/// An expedition day by day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Season {
    /// After 1, 2 ... days of the planned order.
    pub in_hand: Vec<InHand>,
    /// Site sets that meet the musts early against those that meet all targets together, by the days that they need along
    /// the planned order and beyond; empty where no day is lost or none is told.
    pub choices: Vec<Choice>,
    /// Mean length of the bad spells by which chances "in spells" are told.
    pub spell_days: Option<f64>,
    /// Whether that is a guess, because none is written.
    pub spell_is_assumed: bool,
}

/// What there is if the expedition ends after so many days on which was dived.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InHand {
    pub days: usize,
    /// Sites done in each zone.
    pub sites: Vec<u16>,
    /// Of every target, by formula; empty where a zone has fewer than two sites and nothing can be told.
    pub margins: Vec<f64>,
    pub weakest_must: Option<f64>,
    pub weakest: Option<f64>,
    /// Chance that at least so many days are left of those that can be booked.
    pub chance: Option<f64>,
    /// That they are at both visits, were the second expedition like the first and their weather independent: only sites
    /// that are done twice tell a change.
    pub chance_at_both_visits: Option<f64>,
}

/// A site set with the days on which it has met its targets.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// Units of each method, as in the site set of a plan.
    pub units: Vec<u8>,
    pub sites_for_musts: Vec<u16>,
    pub sites_for_all: Vec<u16>,
    /// `None`: not with all the sites there are.
    pub musts: Option<Odds>,
    pub all: Option<Odds>,
}

/// Chances of so many days to dive on, of those that can be booked: each day lost by itself, and in spells.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Odds {
    pub needs: usize,
    pub alone: f64,
    pub in_spells: f64,
    /// Days to book for the chance wanted.
    pub to_book_alone: Option<usize>,
    pub to_book_in_spells: Option<usize>,
}

impl Odds {
    pub fn new(prepared: &Prepared, lost: &LostDays, needs: usize) -> Self {
        Self::of(prepared, lost, needs, &|lost, booked| lost.at_least(needs, booked))
    }

    /// The same where what is finished with so many days booked goes by a chance of its own.
    pub fn of(prepared: &Prepared, lost: &LostDays, needs: usize, finished: &dyn Fn(&LostDays, usize) -> f64) -> Self {
        let (alone, in_spells) = (LostDays { spell: None, ..*lost }, spells(lost));
        let bookable = prepared.bookable_days();
        let wanted = prepared.expedition.days.chance_wanted;
        let to_book = |lost: LostDays| fewest_to_book((needs, MOST_TO_BOOK), wanted, |booked| finished(&lost, booked));
        Self {
            needs,
            alone: finished(&alone, bookable),
            in_spells: finished(&in_spells, bookable),
            to_book_alone: to_book(alone),
            to_book_in_spells: to_book(in_spells),
        }
    }
}

/// Lost days in spells, as written, else in spells of a guess.
fn spells(lost: &LostDays) -> LostDays {
    let guess = ASSUMED_SPELL.max(LostDays::shortest_spell(lost.share));
    LostDays { spell: Some(lost.spell.unwrap_or(guess)), ..*lost }
}

/// The season of a plan, with so many days for diving.
pub fn season(prepared: &Prepared, search: &Search, found: &Found, there: usize) -> Season {
    let lost = prepared.lost_days().filter(|lost| lost.share > 0.0);
    let holds = |days: &usize| *days <= prepared.last_day;
    let choice = |lost: &LostDays, met: Met| Choice {
        musts: met.musts.filter(holds).map(|days| Odds::new(prepared, lost, days)),
        all: met.all.filter(holds).map(|days| Odds::new(prepared, lost, days)),
        units: met.units,
        sites_for_musts: met.sites_for_musts,
        sites_for_all: met.sites_for_all,
    };
    Season {
        in_hand: in_hand(prepared, found, there),
        choices: lost.map_or(Vec::new(), |lost| {
            search.on_which_day(&found.sites).into_iter().map(|met| choice(&lost, met)).collect()
        }),
        spell_days: lost.and_then(|lost| spells(&lost).spell),
        spell_is_assumed: lost.is_some_and(|lost| lost.spell.is_none()),
    }
}

fn in_hand(prepared: &Prepared, found: &Found, there: usize) -> Vec<InHand> {
    let boat_days = prepared
        .visits_by_stretch(found)
        .unwrap_or_else(|| days(&prepared.day, &found.sites, &team_dives(prepared, 0, found)));
    in_hand_after(prepared, found, there, &boat_days)
}

/// At a site of each zone, in a stretch.
fn team_dives(prepared: &Prepared, stretch: usize, found: &Found) -> Vec<usize> {
    (0..prepared.tables.len()).map(|zone| prepared.dives_in(stretch, zone, &found.units).unwrap_or(0)).collect()
}

/// The same along the days of a schedule; those on which nothing is done are none.
pub(super) fn in_hand_on(prepared: &Prepared, found: &Found, there: usize, visits: &Visits) -> Vec<InHand> {
    let dived = visits.boat_days.chunks(visits.boats).filter(|boats| !boats.iter().all(Vec::is_empty));
    let at = |visits: &Vec<Visit>| visits.iter().map(|visit| visit.at).collect();
    let boat_days: Vec<Vec<SiteVisit>> = dived.flatten().map(at).collect();
    in_hand_after(prepared, found, there, &boat_days)
}

fn in_hand_after(prepared: &Prepared, found: &Found, there: usize, boat_days: &[Vec<SiteVisit>]) -> Vec<InHand> {
    let stretches = 0..prepared.number_of_stretches();
    let dives: Vec<Vec<usize>> = stretches.map(|stretch| team_dives(prepared, stretch, found)).collect();
    let weights = prepared.weights();
    let is_two = prepared.plan.study.question.visits() == 2;
    let at_a_site = |day: usize, zone: usize| dives[prepared.stretch_of(day + 1)][zone];
    let mut done = done_by_day(boat_days, prepared.tables.len(), at_a_site, prepared.expedition.boats.number);
    let zones = prepared.zones();
    let search = prepared.search(&zones);
    done.iter_mut().for_each(|done| search.with_other_depths(done));
    let of = |(index, sites): (usize, Vec<u16>)| {
        let margins = margins_in_hand(&prepared.indicators, &weights, &sites, &found.units);
        let least = |must: bool| {
            let of = prepared.indicators.iter().zip(margins.as_ref()?).filter(|(of, _)| of.is_must || !must);
            of.map(|(_, &margin)| margin).reduce(f64::min)
        };
        let chance = prepared.lost_days().map(|lost| lost.at_least(index + 1, there));
        InHand {
            days: index + 1,
            weakest_must: least(true),
            weakest: least(false),
            margins: margins.clone().unwrap_or_default(),
            sites,
            chance,
            chance_at_both_visits: chance.filter(|_| is_two).map(at_both_visits),
        }
    };
    done.into_iter().enumerate().map(of).collect()
}
