//! Days that were cut short: fewer team dives than the sheets had for them. They are days dived, not days lost.

use super::done::FieldData;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A day on which something was done, and not all dives of the sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct ShortDay {
    pub day: usize,
    pub dived: usize,
    /// In the sheets, of all boats.
    pub planned: usize,
}

/// What days cut short tell of the days to come.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutShort {
    pub days: Vec<ShortDay>,
    /// Whether the last of them is the last day of the sheets, which may go on.
    pub may_go_on: bool,
    /// Team dives of all days on which something was done, dived and in the sheets.
    pub dived: usize,
    pub planned: usize,
    /// Days that the rest takes where as many of its dives are lost, with the chance that so many are left; `None`: nothing is
    /// scheduled.
    pub rest: Option<RestAtThatPace>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RestAtThatPace {
    pub days: usize,
    pub instead_of: usize,
    /// `None`: what share of days is lost is not told.
    pub chance: Option<f64>,
}

impl CutShort {
    /// `None` where no day was cut short, or the sheets do not tell dives. `rest`: days of the rest, and chances of days.
    pub fn of(
        data: &FieldData,
        visit: usize,
        rest: Option<usize>,
        chance: impl Fn(usize) -> Option<f64>,
    ) -> Option<Self> {
        let all = days_dived(data, visit);
        let (dived, planned) =
            all.iter().fold((0, 0), |(dived, planned), day| (dived + day.dived, planned + day.planned));
        let days: Vec<ShortDay> = all.into_iter().filter(|day| day.dived < day.planned).collect();
        let last = days.last()?.day;
        let at_that_pace = |instead_of: usize| {
            let days = (instead_of * planned).div_ceil(dived);
            RestAtThatPace { days, instead_of, chance: chance(days) }
        };
        Some(Self {
            may_go_on: last == data.last_day(visit),
            days,
            dived,
            planned,
            rest: rest.filter(|&days| days > 0).map(at_that_pace),
        })
    }
}

/// The days of a visit on which something was done, with the dives of the sheets in which it was written: a sheet that was left
/// behind by a new one has the days after it in vain.
fn days_dived(data: &FieldData, visit: usize) -> Vec<ShortDay> {
    let of_visit = || data.dives.iter().filter(|(dive, _)| dive.visit == visit);
    let used: BTreeSet<(usize, usize)> =
        of_visit().filter(|(_, dived)| **dived).map(|(dive, _)| (dive.sheet, dive.day)).collect();
    let mut days: BTreeMap<usize, BTreeMap<&[String; 2], bool>> = BTreeMap::new();
    for (dive, &dived) in of_visit().filter(|(dive, _)| used.contains(&(dive.sheet, dive.day))) {
        *days.entry(dive.day).or_default().entry(&dive.dive).or_default() |= dived;
    }
    let told = |(day, dives): (usize, BTreeMap<&[String; 2], bool>)| ShortDay {
        day,
        dived: dives.values().filter(|dived| **dived).count(),
        planned: dives.len(),
    };
    days.into_iter().map(told).collect()
}

#[cfg(test)]
mod tests {
    use super::super::done::SheetDive;
    use super::*;

    fn data(dives: &[(usize, usize, &str, bool)]) -> FieldData {
        let key = |&(sheet, day, dive, dived): &(usize, usize, &str, bool)| {
            (SheetDive { sheet, visit: 1, day, dive: ["1".into(), dive.into()] }, dived)
        };
        FieldData { dives: dives.iter().map(key).collect(), ..FieldData::default() }
    }

    #[test]
    fn a_short_day_is_a_day_dived() {
        let three =
            |day: usize, dived: usize| (1..=3).map(move |dive| (0, day, ["", "1", "2", "3"][dive], dive <= dived));
        let all: Vec<_> = three(1, 3).chain(three(2, 2)).chain(three(3, 0)).chain(three(4, 3)).collect();
        let told = CutShort::of(&data(&all), 1, Some(5), |days| Some(1.0 / days as f64)).unwrap();
        // Day 3 was lost, or is to come: it is no day cut short.
        assert_eq!(told.days, [ShortDay { day: 2, dived: 2, planned: 3 }]);
        assert_eq!((told.dived, told.planned), (8, 9));
        // 5 days of all dives are 45/8 days of so many.
        assert_eq!(told.rest, Some(RestAtThatPace { days: 6, instead_of: 5, chance: Some(1.0 / 6.0) }));
        let whole: Vec<_> = three(1, 3).chain(three(2, 3)).chain(three(3, 0)).collect();
        assert_eq!(CutShort::of(&data(&whole), 1, Some(5), |_| None), None);
    }

    #[test]
    fn a_sheet_that_a_new_one_took_the_place_of_plans_nothing() {
        let old = (1..=3).map(|dive| (0, 2, ["", "1", "2", "3"][dive], false));
        let new = [(1, 2, "1", true), (1, 2, "2", true)];
        let all: Vec<_> = old.chain(new).collect();
        assert_eq!(CutShort::of(&data(&all), 1, Some(5), |_| None), None);
        // Two sheets of one day, each with the rows of its diver filled in.
        let both = [(0, 1, "1", true), (0, 1, "2", false), (1, 1, "1", false), (1, 1, "2", true)];
        assert_eq!(CutShort::of(&data(&both), 1, Some(5), |_| None), None);
    }
}
