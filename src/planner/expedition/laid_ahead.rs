//! Lines that are laid and read on the same dive: who lays them goes ahead, and nobody is asked to read one before it lies, as far
//! as the numbers of the lines can be chosen so.

use super::on_lines::OnLines;
use super::schedule::ScheduleRow;
use super::tasks::LAYING;
use serde::Serialize;
use std::collections::BTreeMap;

/// A unit that is read: by which row of the schedule, from which to which minute of work.
pub(super) struct Slot {
    pub row: usize,
    pub minutes: (f64, f64),
}

/// The units at each site in the order of the schedule, each diver doing what is asked of a dive in its order.
pub(super) fn by_site(rows: &[ScheduleRow]) -> BTreeMap<(&str, usize), Vec<Slot>> {
    let mut clocks: BTreeMap<(usize, usize, usize, &str), f64> = BTreeMap::new();
    let mut sites: BTreeMap<(&str, usize), Vec<Slot>> = BTreeMap::new();
    for (row, of) in rows.iter().enumerate() {
        let clock = clocks.entry((of.day, of.boat, of.team_dive, &of.diver)).or_default();
        let each = of.minutes_asked / of.units.max(1) as f64;
        let slots = (0..of.units).map(|unit| {
            let from = *clock + unit as f64 * each;
            Slot { row, minutes: (from, from + each) }
        });
        sites.entry((&of.zone, of.site)).or_default().extend(slots);
        *clock += of.minutes_asked;
    }
    sites
}

/// For each unit of a site that is read on a line, what is laid there on the same dive (where each pair reels its own lines in,
/// by that pair).
pub(super) struct SameDive<'a> {
    slots: &'a [Slot],
    laid: Vec<Vec<usize>>,
}

impl<'a> SameDive<'a> {
    pub fn new(rows: &[ScheduleRow], slots: &'a [Slot], lines: Option<&OnLines>) -> Self {
        let Some(lines) = lines else { return Self { slots, laid: vec![Vec::new(); slots.len()] } };
        let laid = |read: &Slot| -> Vec<usize> {
            let row = &rows[read.row];
            let is_laid = |slot: &usize| {
                let other = &rows[slots[*slot].row];
                other.task == LAYING && other.is_of_dive(row) && (lines.stay || other.pair == row.pair)
            };
            let is_read = row.task != LAYING && lines.has(&row.task);
            if is_read { (0..slots.len()).filter(is_laid).collect() } else { Vec::new() }
        };
        Self { slots, laid: slots.iter().map(laid).collect() }
    }

    /// The laying of the line that a unit is read on, and minutes by which reading it would begin, or end, before laying it does.
    fn of(&self, read: usize, number: impl Fn(usize) -> usize) -> Option<(usize, f64)> {
        let early = |laid: usize| {
            let (lay, read) = (self.slots[laid].minutes, self.slots[read].minutes);
            (lay.0 - read.0).max(lay.1 - read.1).max(0.0)
        };
        let its = self.laid[read].iter().copied().filter(|&laid| number(laid) == number(read));
        its.map(|laid| (laid, early(laid))).min_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// Such minutes in all.
    pub fn early(&self, number: impl Fn(usize) -> usize) -> f64 {
        (0..self.slots.len()).filter_map(|read| self.of(read, &number)).map(|(_, early)| early).sum()
    }
}

/// A line that one diver lays and another reads on the same dive.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LaidAhead {
    pub day: usize,
    pub boat: usize,
    pub team_dive: usize,
    pub zone: String,
    /// The how-manieth site of its zone, in the order of the draw.
    pub site: usize,
    /// Number of the line at the site.
    pub line: usize,
    pub laid_by: String,
    pub read_by: String,
    pub method: String,
    /// Minutes by which reading it is asked for before it lies; 0: who reads comes behind.
    pub early_minutes: f64,
}

/// All of a schedule with numbered units.
pub(super) fn laid_ahead(rows: &[ScheduleRow], lines: Option<&OnLines>) -> Vec<LaidAhead> {
    let mut all = Vec::new();
    if lines.is_none() {
        return all;
    }
    for slots in by_site(rows).values() {
        let mut met = vec![0; rows.len()];
        let number = |slot: &Slot| {
            let place = met[slot.row];
            met[slot.row] += 1;
            rows[slot.row].unit_numbers.get(place).copied().unwrap_or(0)
        };
        let numbers: Vec<usize> = slots.iter().map(number).collect();
        let same_dive = SameDive::new(rows, slots, lines);
        for read in 0..slots.len() {
            let Some((laid, early_minutes)) = same_dive.of(read, |slot| numbers[slot]) else { continue };
            let (laid, row) = (&rows[slots[laid].row], &rows[slots[read].row]);
            if laid.diver == row.diver {
                continue;
            }
            all.push(LaidAhead {
                day: row.day,
                boat: row.boat,
                team_dive: row.team_dive,
                zone: row.zone.clone(),
                site: row.site,
                line: numbers[read],
                laid_by: laid.diver.clone(),
                read_by: row.diver.clone(),
                method: row.task.clone(),
                early_minutes,
            });
        }
    }
    all.sort_by_key(|of| (of.day, of.boat, of.team_dive));
    all
}

/// Less than this is no wait, minutes.
const AT_ONCE: f64 = 0.05;

impl LaidAhead {
    /// Whether it is asked to be read before it lies.
    pub fn is_early(&self) -> bool {
        self.early_minutes > AT_ONCE
    }
}

/// Where a line would be read before it lies, as a warning.
pub(super) fn early_lines(all: &[LaidAhead]) -> Option<String> {
    let early: Vec<&LaidAhead> = all.iter().filter(|of| of.is_early()).collect();
    let first = early.first()?;
    let most = early.iter().map(|of| of.early_minutes).fold(0.0, f64::max);
    let times = if early.len() == 1 { "Once".to_owned() } else { format!("{} times", early.len()) };
    Some(format!(
        "{times} a line is asked to be read before it lies on its dive, by up to {most:.0} min (the first: day {}, dive {}, line {}, \
         laid by {}, read by {}). Who reads it does something else first, or waits: that time is not in the minutes asked for.",
        first.day, first.team_dive, first.line, first.laid_by, first.read_by
    ))
}

#[cfg(test)]
mod tests {
    use super::super::near_buddies::number_units;
    use super::*;

    fn row(pair: usize, diver: &str, task: &str, units: usize, minutes_asked: f64) -> ScheduleRow {
        ScheduleRow {
            day: 1,
            boat: 1,
            team_dive: 1,
            depth_m: 10.0,
            bottom_minutes: 50.0,
            zone: "rim".into(),
            site: 1,
            site_name: None,
            pair,
            diver: diver.into(),
            task: task.into(),
            units,
            unit_numbers: Vec::new(),
            minutes_asked,
            dimensions: String::new(),
            finished: 1.0,
            leave_out_first: false,
        }
    }

    fn lines(stay: bool) -> OnLines {
        OnLines { tasks: vec!["line".into(), "relief".into()], stay }
    }

    /// Every way of numbering the lines of one dive, for the fewest minutes that are asked for too early.
    fn least_early(rows: &[ScheduleRow], lines: &OnLines, number: usize) -> f64 {
        fn ways(left: &[usize], rows: &mut [ScheduleRow], at: usize, try_it: &mut dyn FnMut(&[ScheduleRow])) {
            if at == rows.len() {
                return try_it(rows);
            }
            // The units of a task are numbered one by one, whoever does them.
            let task = rows[at].task.clone();
            let used: Vec<usize> =
                rows.iter().filter(|row| row.task == task).flat_map(|row| row.unit_numbers.clone()).collect();
            if rows[at].unit_numbers.len() == rows[at].units {
                return ways(left, rows, at + 1, try_it);
            }
            for &line in left.iter().filter(|line| !used.contains(line)) {
                rows[at].unit_numbers.push(line);
                ways(left, rows, at, try_it);
                rows[at].unit_numbers.pop();
            }
        }
        let mut least = f64::INFINITY;
        let all: Vec<usize> = (1..=number).collect();
        ways(&all, &mut rows.to_vec(), 0, &mut |rows| {
            let early = laid_ahead(rows, Some(lines)).iter().map(|of| of.early_minutes).sum();
            least = least.min(early);
        });
        least
    }

    /// Two pairs lay two lines each, and all four are read by the buddies: whoever reads follows the own buddy, and what cannot be
    /// so is told. The least of all ways of numbering them is found.
    #[test]
    fn who_reads_comes_behind_who_lays() {
        let two_pairs = vec![
            row(1, "Ana", LAYING, 2, 10.0),
            row(1, "Ben", "line", 2, 24.0),
            row(2, "Cato", LAYING, 2, 10.0),
            row(2, "Dita", "line", 2, 24.0),
        ];
        // One pair lays all, both who read begin at once: one of them must wait until the second line is begun.
        let one_lays = vec![
            row(1, "Ana", LAYING, 4, 20.0),
            row(1, "Ben", "line", 2, 24.0),
            row(2, "Cato", "line", 2, 24.0),
            row(2, "Dita", "relief", 3, 18.0),
        ];
        for (rows, expected) in [(two_pairs, 0.0), (one_lays.clone(), 5.0 + 3.0)] {
            let mut numbered = rows.clone();
            number_units(&mut numbered, &[], &[], Some(&lines(true)));
            let told = laid_ahead(&numbered, Some(&lines(true)));
            let early: f64 = told.iter().map(|of| of.early_minutes).sum();
            let least = least_early(&rows, &lines(true), 4);
            assert!((early - least).abs() < 1e-9 && (0.0..=expected).contains(&early), "{early} {least} {numbered:?}");
            assert_eq!(early_lines(&told).is_some(), early > 0.0);
            assert!(told.iter().all(|of| of.laid_by != of.read_by) && !told.is_empty());
        }
        // Who lays alone and reads alone is behind nobody.
        let mut alone = vec![row(1, "Ana", LAYING, 2, 10.0), row(1, "Ana", "line", 2, 24.0)];
        number_units(&mut alone, &[], &[], Some(&lines(true)));
        assert!(laid_ahead(&alone, Some(&lines(true))).is_empty());
        // Where each pair reels in its own lines, the others' are not followed.
        let mut numbered = one_lays;
        numbered.truncate(2);
        number_units(&mut numbered, &[], &[], Some(&lines(false)));
        assert_eq!(laid_ahead(&numbered, Some(&lines(false))).len(), 2);
    }
}
