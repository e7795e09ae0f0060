//! What the field sheets hold that is allowed and looks like a slip: told first, and used as it is written.

use super::done::{DoneUnit, FieldData, ReadingColumn};
use super::draw::Draw;
use super::prepared::Prepared;
use super::seen::{Level, Seen};
use crate::measures::counted;
use std::collections::BTreeMap;

/// A column in percent whose middle value is above this has no reading of less than one percent, but by a slip: a judgement.
const PERCENT: f64 = 0.05;

/// What is doubtful, with a remedy.
pub fn doubts(
    planned: &Prepared,
    (data, visit): (&FieldData, usize),
    columns: &[ReadingColumn],
    (seen, days_left): (&Seen, Option<usize>),
) -> Vec<String> {
    let expedition = planned.expedition;
    let mut all = Vec::new();
    if let Some(days) = days_left.filter(|days| *days > planned.bookable_days().saturating_sub(data.days(visit))) {
        all.push(format!(
            "DOUBTFUL: --days-left {days} is more than the {} for diving that are planned less the {} dived on: tell the days \
             that are really left, or raise days in the scenario.",
            counted(planned.bookable_days(), "day"),
            data.days(visit)
        ));
    }
    let is_known = |name: &str| expedition.divers.iter().any(|diver| diver.name == name);
    let mut strangers: BTreeMap<&str, &str> = BTreeMap::new();
    for unit in data.units.iter().filter(|unit| !unit.diver.is_empty() && !is_known(&unit.diver)) {
        strangers.entry(&unit.diver).or_insert(&unit.written_in);
    }
    if !strangers.is_empty() {
        let told = strangers.into_iter().map(|(name, first)| format!("{name}: first in {first}"));
        let names = told.collect::<Vec<_>>().join("; ");
        all.push(format!(
            "DOUBTFUL: the field sheets name divers who are not in the scenario ({names}): mend the name in the sheet, or add \
             the [[diver]]."
        ));
    }
    all.extend(sites_beyond(planned, data, visit));
    all.extend(columns.iter().enumerate().filter_map(|(at, column)| shares(planned, data, (at, column))));
    for of in seen.variances.iter().filter(|of| of.seen == 0.0) {
        let (level, below) = if of.level == Level::Sites { ("sites", "units") } else { ("units", "readings") };
        all.push(format!(
            "{}, between {level}: 0 seen means that {level} differed no more than chance among {below} makes them, so that \
             nothing of their own was found; it is not known to be 0, and the new value lies between that and the planned one.",
            of.indicator.replace('_', " ")
        ));
    }
    all
}

/// Sites whose written name is that of another number of the draw.
pub fn other_names(planned: &Prepared, draw: &Draw, data: &FieldData) -> Option<String> {
    let zones = &planned.plan.study.zones;
    let plain = |name: &str| name.trim().to_lowercase();
    let mut all: Vec<(&DoneUnit, String)> = Vec::new();
    for unit in data.units.iter().filter(|unit| !unit.site_name.is_empty()) {
        let is_known = |of: &(&DoneUnit, String)| {
            (of.0.zone, &of.0.site, &of.0.site_name) == (unit.zone, &unit.site, &unit.site_name)
        };
        if all.iter().any(is_known) {
            continue;
        }
        let number = unit.site.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        // A number beyond the list is told by itself.
        let Some(listed) = number.and_then(|number| draw.sites(unit.zone).nth(number)) else { continue };
        if plain(&listed.name) != plain(&unit.site_name) {
            let by_name = draw.sites(unit.zone).position(|site| plain(&site.name) == plain(&unit.site_name));
            let by_name = by_name.map_or("no site of the zone has that name".to_owned(), |number| {
                format!("{} is {} {}", unit.site_name, zones[unit.zone].name, number + 1)
            });
            let zone = &zones[unit.zone].name;
            let told = format!(
                "{}: {zone} {} is written as {}, and {zone} {} is {}; {by_name}",
                unit.written_in, unit.site, unit.site_name, unit.site, listed.name
            );
            all.push((unit, told));
        }
    }
    const TOLD: usize = 3;
    let told: Vec<String> = all.iter().take(TOLD).map(|(_, told)| told.clone()).collect();
    let more = match all.len().saturating_sub(TOLD) {
        0 => String::new(),
        more => format!("; and {} more", counted(more, "site")),
    };
    (!told.is_empty()).then(|| {
        format!(
            "DOUBTFUL: names and numbers of sites contradict each other in the field sheets ({}{more}). The number was used: \
             mend the number or the name, or give the --seed that the sheet was made with.",
            told.join("; ")
        )
    })
}

/// Sites whose numbers are beyond what a zone has.
fn sites_beyond(planned: &Prepared, data: &FieldData, visit: usize) -> Vec<String> {
    let most = |zone: usize| match &planned.expedition.sites {
        Some(list) => list.sites.iter().filter(|site| site.zone == zone).count(),
        None => planned.expedition.zones[zone].most_sites,
    };
    let is_beyond = |unit: &&DoneUnit| unit.site.parse::<usize>().is_ok_and(|site| site > most(unit.zone));
    let mut beyond: BTreeMap<(usize, &str), &str> = BTreeMap::new();
    for unit in data.units.iter().filter(|unit| unit.visit == visit).filter(is_beyond) {
        beyond.entry((unit.zone, &unit.site)).or_insert(&unit.written_in);
    }
    let told = |((zone, site), first): ((usize, &str), &str)| {
        format!(
            "DOUBTFUL: {} {site} is in the field sheets (first in {first}), and the zone has {} at most: mend the number in the sheet, or raise \
             most_sites. It counts as a site.",
            planned.plan.study.zones[zone].name,
            counted(most(zone), "site")
        )
    };
    beyond.into_iter().map(told).collect()
}

/// Readings in percent that look like shares.
fn shares(planned: &Prepared, data: &FieldData, (at, column): (usize, &ReadingColumn)) -> Option<String> {
    if column.times >= 1.0 {
        return None;
    }
    let read = |unit: &DoneUnit| unit.readings.get(at).copied().flatten();
    let mut values: Vec<f64> = data.units.iter().filter_map(read).collect();
    values.sort_by(f64::total_cmp);
    let (middle, largest) = (values.get(values.len() / 2)?, values.last()?);
    let one_percent = column.times;
    let is_share = |value: f64| value > 0.0 && value < one_percent;
    if *middle < PERCENT && *largest > one_percent {
        return None;
    }
    let units: Vec<&DoneUnit> = data.units.iter().filter(|unit| read(unit).is_some_and(is_share)).collect();
    let first = units.first()?;
    Some(format!(
        "DOUBTFUL: {}: {} below 1 percent (the first: {}, {} {}, unit {}, {}): a share? The column is in percent, 24 for 24 %.",
        column.column,
        counted(units.len(), "reading"),
        first.written_in,
        planned.plan.study.zones[first.zone].name,
        first.site,
        first.unit,
        // As it was written, without the last digits of the division.
        (1e6 * read(first).unwrap_or(0.0) / column.times).round() / 1e6
    ))
}
