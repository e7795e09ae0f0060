//! Which of the drawn positions each diver reads: units that two buddies read at the same time lie near one another, as far as they
//! were drawn so. Positions, their numbers and the spares stay as they were drawn, and everybody reads as many as before. From
//! site to site the first dive begins at the other end, so that no pair has one end of all sites.

use super::begun::BegunSite;
use super::laid_ahead::{SameDive, Slot, by_site};
use super::on_lines::OnLines;
use super::schedule::ScheduleRow;
use super::starts::Start;
use crate::geometry::Point;
use std::collections::BTreeMap;

/// How much the way of one diver from unit to unit counts against the distance of two buddies.
const OWN_WAY: f64 = 0.1;
/// Nearer by less than this is not nearer, m2.
const NEARER_M2: f64 = 1e-6;
/// Less early by less than this is not less early, minutes.
const SOONER: f64 = 1e-6;

/// Numbers the units in each row of a schedule: those of a method at a site, at a begun one those that it lacks.
/// Where methods are done on the same `lines`, a unit is read on a line that lies.
pub fn number_units(rows: &mut [ScheduleRow], starts: &[Start], begun: &[BegunSite], lines: Option<&OnLines>) {
    let mut numbers: Vec<Vec<usize>> = vec![Vec::new(); rows.len()];
    for ((zone, site), slots) in by_site(rows) {
        let positions = |method: &str| -> BTreeMap<usize, Point> {
            let here = starts.iter().filter(|of| (of.zone.as_str(), of.site) == (zone, site) && !of.is_spare);
            here.filter(|of| of.method == method).map(|of| (of.unit, (of.along_m, of.across_m))).collect()
        };
        let of_method = |method: &str| -> Vec<usize> {
            (0..slots.len()).filter(|&slot| rows[slots[slot].row].task == method).collect()
        };
        let lacks = begun.iter().find(|of| (of.zone.as_str(), of.site) == (zone, site));
        let units = |method: &str| -> Vec<usize> {
            let lacks = lacks.and_then(|of| of.lacks.iter().find(|of| of.method == method));
            lacks.map_or_else(|| (1..=of_method(method).len()).collect(), |of| of.units.clone())
        };
        let along = |place: Option<Point>| place.map_or(0.0, |of| if site % 2 == 1 { of.0 } else { -of.0 });
        let mut methods: Vec<&str> = slots.iter().map(|slot| rows[slot.row].task.as_str()).collect();
        methods.sort_unstable();
        methods.dedup();
        let mut chosen: Vec<(usize, Option<Point>)> = vec![(0, None); slots.len()];
        if let Some(lines) = lines {
            methods.retain(|method| !lines.has(method));
            let known: Vec<BTreeMap<usize, Point>> = lines.tasks.iter().map(|task| positions(task)).collect();
            let place = |line: usize| known.iter().find_map(|of| of.get(&line).copied());
            let of_slots: Vec<usize> = slots.iter().map(|slot| slot.row).collect();
            for (slot, line) in lines.numbers(rows, &of_slots, units, |line| along(place(line))) {
                chosen[slot] = (line, place(line));
            }
        }
        for method in methods {
            let positions = positions(method);
            let mut units: Vec<(usize, Option<Point>)> =
                units(method).into_iter().map(|unit| (unit, positions.get(&unit).copied())).collect();
            units.sort_by(|one, other| along(one.1).total_cmp(&along(other.1)));
            of_method(method).into_iter().zip(units).for_each(|(slot, unit)| chosen[slot] = unit);
        }
        exchange(rows, &slots, &mut chosen, lines);
        slots.iter().zip(chosen).for_each(|(slot, (number, _))| numbers[slot.row].push(number));
    }
    rows.iter_mut().zip(numbers).for_each(|(row, numbers)| row.unit_numbers = numbers);
}

/// Exchanges units of one method as long as that has fewer lines read before they lie, or brings buddies nearer.
fn exchange(rows: &[ScheduleRow], slots: &[Slot], chosen: &mut [(usize, Option<Point>)], lines: Option<&OnLines>) {
    let ways = ways(rows, slots);
    let same_dive = SameDive::new(rows, slots, lines);
    // Squares: what is far apart counts most.
    let apart = |chosen: &[(usize, Option<Point>)], slot: usize, skip: usize| -> f64 {
        let of = ways[slot].iter().filter(|(other, _)| *other != skip).map(|&(other, weight)| {
            chosen[slot]
                .1
                .zip(chosen[other].1)
                .map_or(0.0, |(a, b)| weight * ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)))
        });
        of.sum()
    };
    loop {
        let mut best: Option<((f64, f64), usize, usize)> = None;
        for one in 0..slots.len() {
            for other in one + 1..slots.len() {
                let (first, second) = (&rows[slots[one].row], &rows[slots[other].row]);
                if first.task != second.task || lines.is_some_and(|lines| !lines.may_exchange(first, second)) {
                    continue;
                }
                let is_on_line = lines.is_some_and(|lines| lines.has(&first.task));
                // Minutes too early, then distance; what lies between the two stays as it is.
                let both = |chosen: &[(usize, Option<Point>)]| {
                    let early = if is_on_line { same_dive.early(|slot| chosen[slot].0) } else { 0.0 };
                    (early, apart(chosen, one, other) + apart(chosen, other, one))
                };
                let before = both(chosen);
                chosen.swap(one, other);
                let after = both(chosen);
                chosen.swap(one, other);
                let (sooner, nearer) = (before.0 - after.0, before.1 - after.1);
                let is_better = sooner > SOONER || (sooner > -SOONER && nearer > NEARER_M2);
                let gained = (if sooner > SOONER { sooner } else { 0.0 }, nearer);
                if is_better && best.is_none_or(|(most, ..)| gained > most) {
                    best = Some((gained, one, other));
                }
            }
        }
        let Some((_, one, other)) = best else { return };
        chosen.swap(one, other);
    }
}

/// For each unit those that should lie near it, with how much that counts.
fn ways(rows: &[ScheduleRow], slots: &[Slot]) -> Vec<Vec<(usize, f64)>> {
    let mut all = vec![Vec::new(); slots.len()];
    for one in 0..slots.len() {
        for other in one + 1..slots.len() {
            let (first, second) = (&rows[slots[one].row], &rows[slots[other].row]);
            let (before, after) = (slots[one].minutes, slots[other].minutes);
            if !first.is_of_dive(second) || first.pair != second.pair {
                continue;
            }
            let is_together = first.diver != second.diver && before.0 < after.1 && after.0 < before.1;
            let is_next = first.diver == second.diver && (before.1 - after.0).abs() < 1e-9;
            let weight = if is_together { 1.0 } else { OWN_WAY };
            if is_together || is_next {
                all[one].push((other, weight));
                all[other].push((one, weight));
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::begun::LackingUnits;
    use super::*;
    use crate::random::{Key, Purpose};

    const LONG_M: f64 = 100.0;

    /// Two pairs on each of two dives at every site: each diver one line of his own and one belt, six lines and four belts in all.
    fn rows(sites: usize) -> Vec<ScheduleRow> {
        let row = |site: usize, team_dive: usize, pair: usize, diver: &str, task: &str| ScheduleRow {
            day: site,
            boat: 1,
            team_dive,
            zone: "rim".into(),
            site,
            pair,
            diver: diver.into(),
            task: task.into(),
            units: 1,
            minutes_asked: 9.0,
            ..ScheduleRow::default()
        };
        let of_site = |site: usize| {
            let lines = [(1, 1, "Ana"), (1, 1, "Eli"), (1, 2, "Ben"), (1, 2, "Cato"), (2, 1, "Ana"), (2, 1, "Eli")];
            let lines = lines.map(|(dive, pair, diver)| row(site, dive, pair, diver, "line"));
            let belts = [(1, 2, "Ben"), (1, 2, "Cato"), (2, 2, "Ben"), (2, 2, "Cato")];
            lines.into_iter().chain(belts.map(|(dive, pair, diver)| row(site, dive, pair, diver, "belt")))
        };
        (1..=sites).flat_map(of_site).collect()
    }

    /// Drawn at random, with two spares of each.
    fn starts(sites: usize) -> Vec<Start> {
        let of = |site: usize, method: &str, units: usize| {
            let key = Key::seed(3).child(Purpose::Site, site as u64).child_of_name(Purpose::Starts, method);
            let method = method.to_owned();
            (1..=units + 2).map(move |unit| Start {
                zone: "rim".into(),
                site,
                site_name: None,
                method: method.clone(),
                unit,
                is_spare: unit > units,
                along_m: LONG_M * key.uniform(Purpose::Test, unit as u64),
                across_m: 0.0,
                heading_degrees: 0.0,
                dimensions: String::new(),
            })
        };
        (1..=sites).flat_map(|site| of(site, "line", 6).chain(of(site, "belt", 4))).collect()
    }

    fn along(starts: &[Start], row: &ScheduleRow) -> Vec<f64> {
        let of = |unit: &usize| starts.iter().find(|of| (of.site, &of.method, of.unit) == (row.site, &row.task, *unit));
        row.unit_numbers.iter().map(|unit| of(unit).unwrap().along_m).collect()
    }

    /// Metres between the two of each pair-dive that read the same thing at the same time.
    fn apart(starts: &[Start], rows: &[ScheduleRow]) -> f64 {
        let mut all = Vec::new();
        for (place, one) in rows.iter().enumerate() {
            let of_pair =
                |other: &&ScheduleRow| other.is_of_dive(one) && other.pair == one.pair && other.task == one.task;
            for other in rows[place + 1..].iter().filter(of_pair) {
                all.push((along(starts, one)[0] - along(starts, other)[0]).abs());
            }
        }
        all.iter().sum::<f64>() / all.len() as f64
    }

    /// Every unit is read once, no spare is, buddies are much nearer than as they were drawn, and over the sites no row of the
    /// plan has its own end of the site: each lies in its middle in the mean.
    #[test]
    fn buddies_are_near_and_nothing_is_read_otherwise() {
        let sites = 400;
        let (mut near, starts) = (rows(sites), starts(sites));
        let mut drawn = near.clone();
        let mut counts: BTreeMap<(usize, String), usize> = BTreeMap::new();
        for row in &mut drawn {
            let number = counts.entry((row.site, row.task.clone())).or_default();
            *number += 1;
            row.unit_numbers = vec![*number];
        }
        number_units(&mut near, &starts, &[], None);
        let of_site = |rows: &[ScheduleRow], site: usize, task: &str| {
            let there = rows.iter().filter(|row| row.site == site && row.task == task);
            let mut all: Vec<usize> = there.flat_map(|row| row.unit_numbers.clone()).collect();
            all.sort_unstable();
            all
        };
        for site in 1..=sites {
            for (task, units) in [("line", 6), ("belt", 4)] {
                assert_eq!(of_site(&near, site, task), (1..=units).collect::<Vec<_>>());
            }
        }
        let (before, after) = (apart(&starts, &drawn), apart(&starts, &near));
        // Two of so many at random are a third of the site apart.
        assert!((before / LONG_M - 1.0 / 3.0).abs() < 0.03 && after < 0.6 * before, "{before} {after}");
        for place in 0..10 {
            let each: Vec<f64> = (0..sites).map(|site| along(&starts, &near[10 * site + place])[0]).collect();
            let mean = each.iter().sum::<f64>() / sites as f64;
            let square = each.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (sites - 1) as f64;
            assert!((mean - 0.5 * LONG_M).abs() < 4.0 * (square / sites as f64).sqrt(), "{place}: {mean}");
        }
    }

    /// At a begun site those that it lacks.
    #[test]
    fn what_is_lacking_is_read() {
        let mut all: Vec<ScheduleRow> = rows(1).into_iter().filter(|row| row.task == "belt").take(2).collect();
        let lacks = vec![LackingUnits { method: "belt".into(), units: vec![2, 4] }];
        number_units(&mut all, &starts(1), &[BegunSite { zone: "rim".into(), site: 1, team_dives: 1, lacks }], None);
        let mut read: Vec<usize> = all.iter().flat_map(|row| row.unit_numbers.clone()).collect();
        read.sort_unstable();
        assert_eq!(read, [2, 4]);
    }
}
