//! The field sheet as it came back from the boat: one row for each unit that was planned, filled in where it was done.

use super::error::PilotError;
use super::rows::{Row, Sheet};
use crate::planner::expedition::{DoneUnit, FieldData, ReadingColumn, SheetDive};
use std::collections::BTreeMap;
use std::io::Read;

/// What a field sheet may speak of.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldNames {
    pub zones: Vec<String>,
    pub tasks: Vec<String>,
    /// Columns for readings, each with the task whose units tell it.
    pub readings: Vec<ReadingColumn>,
    /// The visit of a sheet that has no column for it.
    pub visit: usize,
}

/// A first line that would do.
const EXAMPLE: &str = "day,zone,site,diver,task,unit,minutes_used";
/// It is for people.
const NOTES: &str = "notes";
/// Longest a unit may take, minutes.
const MOST_MINUTES: f64 = 240.0;
const MOST_DAYS: f64 = 400.0;
const YES: [&str; 5] = ["yes", "y", "x", "1", "true"];
const NO: [&str; 5] = ["", "no", "n", "0", "false"];

/// Where the columns stand.
struct Places {
    date: Option<usize>,
    day: usize,
    boat: Option<usize>,
    team_dive: Option<usize>,
    visit: Option<usize>,
    zone: usize,
    site: usize,
    site_name: Option<usize>,
    diver: usize,
    task: usize,
    unit: usize,
    minutes: usize,
    interrupted: Option<usize>,
    readings: Vec<Option<usize>>,
}

impl Places {
    fn find<R: Read>(sheet: &Sheet<R>, names: &FieldNames) -> Result<Self, PilotError> {
        let if_there = |name: &str| sheet.place_if_there(name);
        Ok(Self {
            date: if_there("date")?,
            day: sheet.place("day")?,
            boat: if_there("boat")?,
            team_dive: if_there("team_dive")?,
            visit: if_there("visit")?,
            zone: sheet.place("zone")?,
            site: sheet.place("site")?,
            site_name: if_there("site_name")?,
            diver: sheet.place("diver")?,
            task: sheet.place("task")?,
            unit: sheet.place("unit")?,
            minutes: sheet.place("minutes_used")?,
            interrupted: if_there("interrupted")?,
            readings: names.readings.iter().map(|reading| if_there(&reading.column)).collect::<Result<_, _>>()?,
        })
    }

    /// Columns of which nothing is read.
    fn others<R: Read>(&self, sheet: &Sheet<R>) -> Vec<String> {
        let single = [self.day, self.zone, self.site, self.diver, self.task, self.unit, self.minutes];
        let perhaps = [self.site_name, self.date, self.boat, self.team_dive, self.visit, self.interrupted];
        let known: Vec<usize> = single
            .into_iter()
            .chain(perhaps.into_iter().flatten())
            .chain(self.readings.iter().flatten().copied())
            .collect();
        let others = sheet.headers().enumerate().filter(|(place, _)| !known.contains(place)).map(|(_, name)| name);
        others.filter(|name| !name.is_empty() && *name != NOTES).map(str::to_owned).collect()
    }
}

/// Reads sheets one after the other; each comes with its name in messages. A unit may be done once.
///
/// # Errors
/// With file, line, column and what is allowed.
pub fn read_field<'a>(
    sheets: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    names: &FieldNames,
) -> Result<FieldData, PilotError> {
    let mut data = FieldData::default();
    let mut told = vec![false; names.readings.len()];
    let mut seen = BTreeMap::new();
    for (number, (file, bytes)) in sheets.into_iter().enumerate() {
        let mut sheet = Sheet::open_with_notes(bytes, file, EXAMPLE)?;
        let places = Places::find(&sheet, names)?;
        for other in places.others(&sheet) {
            if !data.other_columns.contains(&other) {
                data.other_columns.push(other);
            }
        }
        told.iter_mut().zip(&places.readings).for_each(|(told, place)| *told |= place.is_some());
        sheet.each(|row| {
            let (not_done, interrupted) = (data.not_done, data.interrupted.len());
            let unit = unit_of(row, &places, names, &mut data)?;
            let is_dived = data.not_done == not_done;
            let begun = unit.as_ref().or(data.interrupted.get(interrupted));
            let dive = sheet_dive(row, &places, (number, begun.map_or(names.visit, |of| of.visit)));
            if let Some(dive) = dive.clone() {
                *data.dives.entry(dive).or_default() |= is_dived;
            }
            let Some(unit) = unit else { return Ok(()) };
            // What tells nothing may be done anew by others or on another dive, like lines that each pair lays and reels in.
            let tells = names.readings.iter().any(|reading| reading.task == names.tasks[unit.task]);
            let anew = dive.filter(|_| !tells).map(|dive| (dive, row.written(places.diver).trim().to_owned()));
            let key = (unit.visit, unit.zone, unit.site.clone(), unit.task, unit.unit.clone(), anew);
            if let Some(&earlier) = seen.get(&key) {
                return Err(PilotError::DoneTwice {
                    file: row.file.to_owned(),
                    line: row.line,
                    earlier,
                    unit: format!(
                        "unit `{}` of {} at {} {}",
                        unit.unit, names.tasks[unit.task], names.zones[unit.zone], unit.site
                    ),
                });
            }
            seen.insert(key, row.line);
            data.units.push(unit);
            Ok(())
        })?;
    }
    let missing = names.readings.iter().zip(&told).filter(|(_, told)| !**told);
    data.missing_columns = missing.map(|(reading, _)| reading.column.clone()).collect();
    Ok(data)
}

/// The team dive that a row belongs to, where it is told; of a row that was not done all but the day may be anything.
fn sheet_dive(row: &Row, places: &Places, (sheet, visit): (usize, usize)) -> Option<SheetDive> {
    let written = |place: Option<usize>| place.map_or("", |place| row.written(place)).trim().to_owned();
    let (boat, team_dive) = (written(places.boat), written(places.team_dive));
    let day = row.written(places.day).trim().parse().ok().filter(|_| !team_dive.is_empty())?;
    let visit = written(places.visit).parse().unwrap_or(visit);
    Some(SheetDive { sheet, visit, day, dive: [boat, team_dive] })
}

/// A unit that was done; what was not done, or not to its end, is counted.
fn unit_of(
    row: &Row,
    places: &Places,
    names: &FieldNames,
    data: &mut FieldData,
) -> Result<Option<DoneUnit>, PilotError> {
    let zone = one_of(row, places.zone, &names.zones)?;
    let task = one_of(row, places.task, &names.tasks)?;
    let minutes_allowed = "the minutes that the unit took, above 0 to 240, or nothing where it was not done";
    let minutes = row.number(places.minutes, minutes_allowed, |minutes| 0.0 < minutes && minutes <= MOST_MINUTES)?;
    let mut readings = Vec::with_capacity(names.readings.len());
    for (column, place) in names.readings.iter().zip(&places.readings) {
        let Some(place) = *place else {
            readings.push(None);
            continue;
        };
        let told = row.number(place, &column.allowed(), |value| column.holds(value))?;
        if told.is_some() && column.task != names.tasks[task] {
            let allowed = format!("nothing: {} does not tell it, {} does", names.tasks[task], column.task);
            return Err(row.error(place, &allowed));
        }
        if told.is_some() && minutes.is_none() {
            return Err(row.error(
                places.minutes,
                "the minutes that this unit took, for it has a reading; or take the reading out if it was not done",
            ));
        }
        readings.push(told.map(|value| value * column.times));
    }
    let Some(minutes) = minutes else {
        data.not_done += 1;
        return Ok(None);
    };
    let whole = |place: usize, most: f64, allowed: &str| -> Result<usize, PilotError> {
        let value = row.number(place, allowed, |value| (1.0..=most).contains(&value) && value.fract() == 0.0)?;
        value.map(|value| value as usize).ok_or_else(|| row.error(place, allowed))
    };
    let visit = match places.visit {
        Some(place) => whole(place, 2.0, "1 or 2: the first or the second visit")?,
        None => names.visit,
    };
    let unit = DoneUnit {
        written_in: format!("{}, line {}", row.file, row.line),
        visit,
        date: places.date.map_or("", |place| row.written(place)).to_owned(),
        day: whole(places.day, MOST_DAYS, "the day for diving as a whole number from 1 to 400, as it was planned")?,
        dive: [places.boat, places.team_dive].map(|place| place.map_or("", |place| row.written(place)).to_owned()),
        zone,
        site: row.text(places.site)?,
        site_name: places.site_name.map_or("", |place| row.written(place)).trim().to_owned(),
        task,
        unit: row.text(places.unit)?,
        diver: row.written(places.diver).to_owned(),
        minutes,
        readings,
    };
    if is_interrupted(row, places)? {
        data.interrupted.push(unit);
        return Ok(None);
    }
    Ok(Some(unit))
}

fn one_of(row: &Row, place: usize, names: &[String]) -> Result<usize, PilotError> {
    let written = row.text(place)?;
    let allowed = || {
        let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
        format!("one of {} (a sheet with other names may be that of another expedition)", quoted.join(", "))
    };
    names.iter().position(|name| *name == written).ok_or_else(|| row.error(place, &allowed()))
}

fn is_interrupted(row: &Row, places: &Places) -> Result<bool, PilotError> {
    let Some(place) = places.interrupted else { return Ok(false) };
    let written = row.written(place).to_lowercase();
    match (YES.contains(&written.as_str()), NO.contains(&written.as_str())) {
        (true, _) => Ok(true),
        (_, true) => Ok(false),
        _ => Err(row.error(place, "yes, no or nothing (what happened goes into notes)")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> FieldNames {
        let reading = |column: &str, task: &str, times, most| ReadingColumn {
            column: column.into(),
            indicator: column.trim_end_matches("_percent").into(),
            task: task.into(),
            unit: "percent".into(),
            times,
            least: 0.0,
            most,
        };
        FieldNames {
            zones: vec!["rim".into(), "wall".into()],
            tasks: vec!["point_intercept".into(), "rugosity".into()],
            readings: vec![
                reading("hard_coral_percent", "point_intercept", 0.01, 100.0),
                reading("rugosity", "rugosity", 1.0, 1e12),
            ],
            visit: 1,
        }
    }

    const HEAD: &str =
        "date,day,zone,site,diver,task,unit,minutes_used,hard_coral_percent,rugosity,interrupted,notes\n";

    fn read(text: &str) -> Result<FieldData, PilotError> {
        read_field([("f.csv", text.as_bytes())], &names())
    }

    #[test]
    fn what_was_done_is_read_and_the_rest_counted() {
        let rows = "# a note\n\
            d1,1,rim,1,Ines,point_intercept,1,12.5,28,,,\"was 14 %, so halved\"\n\
            d1,1,rim,1,Ines,point_intercept,2,6,,,yes,current\n\
            d1,1,rim,1,Odo,rugosity,1,9,-,140,no,\n\
            ,1,rim,2,Odo,rugosity,1,,,,,\n";
        let data = read(&format!("# caution\n{HEAD}{rows}")).unwrap();
        assert_eq!((data.units.len(), data.not_done, data.interrupted.len()), (2, 1, 1));
        assert_eq!(data.units[0].readings, [Some(0.28), None]);
        assert_eq!((data.units[1].minutes, data.units[1].site.as_str()), (9.0, "1"));
        assert!(data.other_columns.is_empty() && data.missing_columns.is_empty());
        // The same in another order, between semicolons, with decimal commas and a column nobody asked for.
        let other = "minutes_used;zone;site;diver;task;unit;day;rugosity;current;date\n\
            9,0;rim;1;Odo;rugosity;1;1;140,0;strong;d1\n";
        let data = read(other).unwrap();
        assert_eq!((data.units[0].minutes, data.units[0].readings[1]), (9.0, Some(140.0)));
        assert_eq!(
            (data.other_columns.as_slice(), data.missing_columns.as_slice()),
            (&["current".to_owned()][..], &["hard_coral_percent".to_owned()][..])
        );
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_place() {
        let said = |rows: &str| read(&format!("{HEAD}{rows}")).unwrap_err().to_string();
        for (row, told) in [
            (
                "d,1,rimm,1,A,rugosity,1,9,,140,,\n",
                "f.csv:2, column `zone`: `rimm` is not allowed; write one of `rim`, `wall`",
            ),
            ("d,1,rim,1,A,fish,1,9,,,,\n", "column `task`: `fish`"),
            ("d,1,rim,1,A,rugosity,1,0,,140,,\n", "column `minutes_used`: `0` is not allowed; write the minutes"),
            ("d,1,rim,1,A,rugosity,1,9 min,,140,,\n", "column `minutes_used`: `9 min`"),
            ("d,1,rim,1,A,rugosity,1,,,140,,\n", "for it has a reading"),
            ("d,1,rim,1,A,rugosity,1,9,12,140,,\n", "nothing: rugosity does not tell it, point_intercept does"),
            ("d,1,rim,1,A,point_intercept,1,9,128,,,\n", "column `hard_coral_percent`: `128` is not allowed"),
            ("d,0,rim,1,A,rugosity,1,9,,140,,\n", "column `day`: `0`"),
            ("d,1,rim,,A,rugosity,1,9,,140,,\n", "column `site`"),
            (
                "d,1,rim,1,A,rugosity,1,9,,140,half,\n",
                "column `interrupted`: `half` is not allowed; write yes, no or nothing",
            ),
            (
                "d,1,rim,1,A,rugosity,1,9,,140,,\nd,2,rim,1,B,rugosity,1,8,,140,,\n",
                "f.csv:3: unit `1` of rugosity at rim 1 is done before, in line 2",
            ),
        ] {
            let said = said(row);
            assert!(said.contains(told), "{said}");
        }
        assert!(read("").unwrap_err().to_string().contains("its first line must name the columns"));
        assert!(read("day,zone\n1,rim\n").unwrap_err().to_string().contains("there is no column `site`"));
    }
}
