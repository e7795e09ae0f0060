//! Pairs that are made anew, because somebody comes or leaves while the buddy is aboard.

use super::prepared::Prepared;
use serde::Serialize;

/// Two divers who dive together as long as the buddy of one of them, or both buddies, are not aboard.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NewPair {
    /// First day for diving on which they do, and the last; `None`: to the end.
    pub from_day: usize,
    pub to_day: Option<usize>,
    /// The number of the pair in the schedule.
    pub pair: usize,
    pub divers: [String; 2],
    /// Zones that are too deep for one of them.
    pub not_in: Vec<String>,
}

impl Prepared<'_> {
    /// By their numbers and days; of the days of the expedition so many are gone before the first of these.
    pub(super) fn new_pairs(&self, days_gone: usize) -> Vec<NewPair> {
        let expedition = self.expedition;
        let changes = expedition.crew_changes();
        let ever = expedition.pairs_ever();
        let mut all = Vec::new();
        for (place, pair) in ever.iter().enumerate().skip(expedition.pairs.len()) {
            let mut from: Option<usize> = None;
            let told = |from_day: usize, to_day: Option<usize>| NewPair {
                from_day: days_gone + from_day,
                to_day: to_day.map(|day| days_gone + day),
                pair: place + 1,
                divers: [pair.0, pair.1].map(|diver| expedition.divers[diver].name.clone()),
                not_in: (self.plan.study.zones.iter().zip(&expedition.zones))
                    .filter(|(_, diving)| !expedition.may_dive(diving, *pair))
                    .map(|(zone, _)| zone.name.clone())
                    .collect(),
            };
            for (day, pairs) in &changes {
                match (from, pairs.contains(pair)) {
                    (None, true) => from = Some(*day),
                    (Some(first), false) => {
                        all.push(told(first, Some(day - 1)));
                        from = None;
                    }
                    _ => {}
                }
            }
            all.extend(from.map(|first| told(first, None)));
        }
        all
    }
}

impl NewPair {
    /// "from day 7 on Ines dives with Pia (pair 3; not at wall, too deep for one of them)"
    pub fn words(&self) -> String {
        let [one, other] = &self.divers;
        let days = match self.to_day {
            None => format!("from day {} on", self.from_day),
            Some(day) if day == self.from_day => format!("on day {day}"),
            Some(day) => format!("on days {} to {day}", self.from_day),
        };
        let not_in = match &self.not_in[..] {
            [] => String::new(),
            zones => format!("; not at {}, too deep for one of them", zones.join(" and ")),
        };
        format!("{days} {one} dives with {other} (pair {}{not_in})", self.pair)
    }
}

/// All of them, for who looks at the divers; `None`: there is none.
pub fn new_pairs_line(new_pairs: &[NewPair]) -> Option<String> {
    let told: Vec<String> = new_pairs.iter().map(NewPair::words).collect();
    (!told.is_empty()).then(|| {
        format!(
            "Pairs change where divers come or leave, so that who is aboard without the buddy need not stay up: {}. Whether two \
             divers make a pair is for the diving officer to say.",
            told.join("; ")
        )
    })
}
