//! From a table with named columns to readings of lines, ordered by zone, site, visit and line.

use super::columns::{Columns, CoverColumn};
use super::error::PilotError;
use std::collections::BTreeMap;
use std::io::Read;

/// What a pilot table holds.
#[derive(Clone, Debug)]
pub struct PilotData {
    /// Name of the file, for messages.
    pub file: String,
    pub zones: Vec<ZoneData>,
    /// Rows with a value.
    pub rows: usize,
    /// Rows without one, left out.
    pub missing: usize,
    pub same_marks: bool,
    /// All percentages are at most 1: perhaps they are shares.
    pub perhaps_shares: bool,
}

/// The lines of one zone.
#[derive(Clone, Debug)]
pub struct ZoneData {
    pub name: Option<String>,
    /// Names of the sites, sorted.
    pub sites: Vec<String>,
    /// Visits in order of time.
    pub visits: Vec<Visit>,
    /// `cells[site][visit]` holds the lines read there.
    pub cells: Vec<Vec<Vec<Reading>>>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    pub label: String,
    /// In years, where the label is a year or a date that begins with one.
    pub year: Option<f64>,
}

/// One line at one visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub line: String,
    /// Cover as a share, 0 to 1.
    pub cover: f64,
    /// Number of points behind it, where counted.
    pub points: Option<f64>,
}

/// Entries that stand for "not read", besides an empty one.
const MISSING: [&str; 7] = ["NA", "N/A", "na", "n/a", "NaN", "nan", "-"];

/// The names of the columns of a table, for those who choose among them; empty where there are none.
pub fn column_names(input: impl Read) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(input);
    reader.headers().map(|headers| headers.iter().map(str::to_owned).collect()).unwrap_or_default()
}

/// Reads a pilot table; `file` is its name in messages.
pub fn read_pilot(input: impl Read, file: &str, columns: &Columns) -> Result<PilotData, PilotError> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(input);
    let failed = |source| PilotError::Csv { file: file.to_owned(), source };
    let headers = reader.headers().map_err(failed)?.clone();
    if headers.iter().all(str::is_empty) {
        return Err(PilotError::NoHeader { file: file.to_owned() });
    }
    let places = Places::find(&headers, file, columns)?;
    let mut table = Table::default();
    for record in reader.records() {
        let record = record.map_err(failed)?;
        let line = record.position().map_or(0, csv::Position::line);
        let row = Row { record: &record, line, file };
        let Some((cover, points)) = places.cover(&row)? else {
            table.missing += 1;
            continue;
        };
        let zone = places.zone.map(|place| row.text(place, &headers)).transpose()?;
        let visit = places.visit.map(|place| row.text(place, &headers)).transpose()?;
        let site = row.texts(&places.site, &headers)?;
        let unit = row.text(places.line, &headers)?;
        table.add(&row, [zone, Some(site), visit, Some(unit)], cover, points)?;
    }
    if table.rows == 0 {
        return Err(PilotError::Empty { file: file.to_owned(), column: columns.cover.name().to_owned() });
    }
    Ok(PilotData {
        file: file.to_owned(),
        rows: table.rows,
        missing: table.missing,
        same_marks: columns.same_marks,
        perhaps_shares: matches!(columns.cover, CoverColumn::Percent(_)) && table.largest <= 0.01,
        zones: table.into_zones(),
    })
}

/// Where the wanted columns stand.
struct Places {
    zone: Option<usize>,
    site: Vec<usize>,
    line: usize,
    visit: Option<usize>,
    cover: CoverPlaces,
}

enum CoverPlaces {
    /// Place, name, and the value of full cover.
    Value(usize, String, f64),
    /// Place and name of hits and of points.
    Counts((usize, String), (usize, String)),
}

impl Places {
    fn find(headers: &csv::StringRecord, file: &str, columns: &Columns) -> Result<Self, PilotError> {
        let place = |name: &String| {
            headers.iter().position(|header| header == name).ok_or_else(|| PilotError::NoColumn {
                file: file.to_owned(),
                column: name.clone(),
                columns: headers.iter().map(str::to_owned).collect(),
            })
        };
        let cover = match &columns.cover {
            CoverColumn::Percent(name) => CoverPlaces::Value(place(name)?, name.clone(), 100.0),
            CoverColumn::Share(name) => CoverPlaces::Value(place(name)?, name.clone(), 1.0),
            CoverColumn::Counts { hits, points } => {
                CoverPlaces::Counts((place(hits)?, hits.clone()), (place(points)?, points.clone()))
            }
        };
        Ok(Self {
            zone: columns.zone.as_ref().map(place).transpose()?,
            site: columns.site.iter().map(place).collect::<Result<_, _>>()?,
            line: place(&columns.line)?,
            visit: columns.visit.as_ref().map(place).transpose()?,
            cover,
        })
    }

    /// Cover as a share and the number of points; `None` where the line was not read.
    fn cover(&self, row: &Row) -> Result<Option<(f64, Option<f64>)>, PilotError> {
        match &self.cover {
            CoverPlaces::Value(place, name, full) => {
                let allowed = format!("a number from 0 to {full} (decimal point, no % sign), or nothing");
                let value = row.number(*place, name, &allowed, |value| (0.0..=*full).contains(&value))?;
                Ok(value.map(|value| (value / full, None)))
            }
            CoverPlaces::Counts((hits_place, hits_name), (points_place, points_name)) => {
                let allowed = "a number of points from 1 on, or nothing";
                let points = row.number(*points_place, points_name, allowed, |value| value >= 1.0)?;
                let most = points.unwrap_or(f64::INFINITY);
                let allowed = match points {
                    Some(points) => {
                        format!("a number of points from 0 to {points}, the points of this line, or nothing")
                    }
                    None => "a number of points from 0 on, or nothing".to_owned(),
                };
                let hits = row.number(*hits_place, hits_name, &allowed, |value| (0.0..=most).contains(&value))?;
                Ok(hits.zip(points).map(|(hits, points)| (hits / points, Some(points))))
            }
        }
    }
}

/// One row of the file.
struct Row<'a> {
    record: &'a csv::StringRecord,
    line: u64,
    file: &'a str,
}

impl Row<'_> {
    fn error(&self, column: &str, found: &str, allowed: &str) -> PilotError {
        PilotError::Value {
            file: self.file.to_owned(),
            line: self.line,
            column: column.to_owned(),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        }
    }

    /// A name, which must not be empty where the row has a value.
    fn text(&self, place: usize, headers: &csv::StringRecord) -> Result<String, PilotError> {
        let text = self.record.get(place).unwrap_or("");
        if text.is_empty() {
            return Err(self.error(headers.get(place).unwrap_or(""), text, "a name or a number"));
        }
        Ok(text.to_owned())
    }

    /// Names of several columns as one.
    fn texts(&self, places: &[usize], headers: &csv::StringRecord) -> Result<String, PilotError> {
        let texts: Result<Vec<String>, PilotError> = places.iter().map(|&place| self.text(place, headers)).collect();
        Ok(texts?.join(" / "))
    }

    fn number(
        &self,
        place: usize,
        column: &str,
        allowed: &str,
        sound: impl Fn(f64) -> bool,
    ) -> Result<Option<f64>, PilotError> {
        let text = self.record.get(place).unwrap_or("");
        if text.is_empty() || MISSING.contains(&text) {
            return Ok(None);
        }
        match text.parse::<f64>() {
            Ok(value) if sound(value) => Ok(Some(value)),
            _ => Err(self.error(column, text, allowed)),
        }
    }
}

/// Lines of one site and visit, by name, with the line of the file they stand in.
type Lines = BTreeMap<String, (u64, f64, Option<f64>)>;

/// All rows by zone, site, visit and line; visits keep the order in which they first appear.
#[derive(Default)]
struct Table {
    rows: usize,
    missing: usize,
    largest: f64,
    visits: Vec<String>,
    lines: BTreeMap<Option<String>, BTreeMap<String, BTreeMap<String, Lines>>>,
}

impl Table {
    fn add(
        &mut self,
        row: &Row,
        [zone, site, visit, unit]: [Option<String>; 4],
        cover: f64,
        points: Option<f64>,
    ) -> Result<(), PilotError> {
        let (site, unit) = (site.unwrap_or_default(), unit.unwrap_or_default());
        let label = visit.clone().unwrap_or_default();
        if !self.visits.contains(&label) {
            self.visits.push(label.clone());
        }
        let lines = self.lines.entry(zone).or_default().entry(site.clone()).or_default().entry(label).or_default();
        if let Some(&(earlier, ..)) = lines.get(&unit) {
            return Err(PilotError::Twice { file: row.file.to_owned(), line: row.line, earlier, site, visit, unit });
        }
        lines.insert(unit, (row.line, cover, points));
        self.rows += 1;
        self.largest = self.largest.max(cover);
        Ok(())
    }

    fn into_zones(self) -> Vec<ZoneData> {
        let visits = in_order_of_time(self.visits);
        self.lines
            .into_iter()
            .map(|(name, sites)| {
                let present: Vec<Visit> = visits
                    .iter()
                    .filter(|visit| sites.values().any(|s| s.contains_key(&visit.label)))
                    .cloned()
                    .collect();
                let cells = sites.values().map(|site| {
                    let cell = |visit: &Visit| site.get(&visit.label).map(readings).unwrap_or_default();
                    present.iter().map(cell).collect()
                });
                ZoneData { name, cells: cells.collect(), sites: sites.into_keys().collect(), visits: present }
            })
            .collect()
    }
}

fn readings(lines: &Lines) -> Vec<Reading> {
    lines.iter().map(|(line, &(_, cover, points))| Reading { line: line.clone(), cover, points }).collect()
}

/// Visits by number or date where all labels are one, else as they appear in the file.
fn in_order_of_time(labels: Vec<String>) -> Vec<Visit> {
    let years: Vec<Option<f64>> = labels.iter().map(|label| year_of(label)).collect();
    let numbers: Vec<Option<f64>> = labels.iter().map(|label| label.parse().ok()).collect();
    let keys = if years.iter().all(Option::is_some) { &years } else { &numbers };
    let mut order: Vec<usize> = (0..labels.len()).collect();
    if keys.iter().all(Option::is_some) {
        order.sort_by(|&a, &b| keys[a].unwrap_or(0.0).total_cmp(&keys[b].unwrap_or(0.0)));
    }
    order.into_iter().map(|i| Visit { label: labels[i].clone(), year: years[i] }).collect()
}

/// The year of `2027`, `2027-05` or `2027-05-19`, with the fraction that month and day add.
fn year_of(label: &str) -> Option<f64> {
    let mut parts = label.splitn(3, '-');
    let year: f64 = parts.next().filter(|year| year.len() == 4)?.parse().ok()?;
    let mut part = |least: f64, most: f64| match parts.next() {
        None => Some(least),
        Some(text) => text.parse::<f64>().ok().filter(|&value| (least..=most).contains(&value)),
    };
    let (month, day) = (part(1.0, 12.0)?, part(1.0, 31.0)?);
    (1800.0..=2200.0).contains(&year).then_some(year + (month - 1.0) / 12.0 + (day - 1.0) / 365.25)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns() -> Columns {
        Columns {
            zone: None,
            site: vec!["reef".into()],
            line: "tape".into(),
            visit: Some("when".into()),
            cover: CoverColumn::Percent("coral".into()),
            same_marks: false,
        }
    }

    fn read(text: &str) -> Result<PilotData, PilotError> {
        read_pilot(text.as_bytes(), "lines.csv", &columns())
    }

    #[test]
    fn rows_come_in_order_of_site_time_and_line_and_missing_ones_are_counted() {
        let data = read(
            "when,reef,tape,coral,note\n2029-05,B,2,40,\n2027-05,B,1,10,windy\n2027-05,A,1,NA,\n2027-05,A,2,,\n\
             2027-05,A,3,0,\n",
        )
        .unwrap();
        assert_eq!((data.rows, data.missing, data.perhaps_shares), (3, 2, false));
        let zone = &data.zones[0];
        assert_eq!(zone.sites, ["A", "B"]);
        let labels: Vec<_> = zone.visits.iter().map(|visit| visit.label.as_str()).collect();
        assert_eq!(labels, ["2027-05", "2029-05"]);
        assert!((zone.visits[1].year.unwrap() - zone.visits[0].year.unwrap() - 2.0).abs() < 1e-12);
        assert_eq!(zone.cells[1][1], [Reading { line: "2".into(), cover: 0.4, points: None }]);
        assert!(zone.cells[0][1].is_empty());
    }

    #[test]
    fn every_error_says_where_and_what_is_allowed() {
        let message = |text: &str| read(text).unwrap_err().to_string();
        assert_eq!(
            message("when,reef,tape,coral\n1,A,1,20\n1,A,2,120\n"),
            "lines.csv:3, column `coral`: `120` is not allowed; write a number from 0 to 100 (decimal point, no % sign), or \
             nothing"
        );
        assert!(message("when,reef,tape,coral\n1,A,1,28%\n").contains(":2, column `coral`: `28%`"));
        assert!(message("when,reef,tape,coral\n1,A,1,-1\n").contains("from 0 to 100"));
        assert!(message("when,reef,tape,coral\n1,A,1,inf\n").contains("`inf`"));
        assert!(message("when,reef,tape,coral\n1,,1,3\n").contains(":2, column `reef`: `` is not allowed"));
        assert!(
            message("when,reef,tape,coral\n1,A,1,3\n1,A,2,4\n1,A,1,5\n")
                .contains(":4: line `1` of site `A` at visit `1`")
        );
        assert!(message("when,reef,tape,cover\n").contains("no column `coral`; the columns are `when`, `reef`"));
        assert!(message("when,reef,tape,coral\n").contains("no row has a value"));
        assert!(message("when,reef,tape,coral\n1,A\n").contains("lines.csv"));
    }

    #[test]
    fn several_columns_may_name_a_site() {
        let columns = Columns { site: vec!["atoll".into(), "reef".into()], visit: None, ..columns() };
        let text = "atoll,reef,tape,coral\nN,1,1,10\nS,1,1,20\nS,2,1,20\n";
        let data = read_pilot(text.as_bytes(), "lines.csv", &columns).unwrap();
        assert_eq!(data.zones[0].sites, ["N / 1", "S / 1", "S / 2"]);
    }

    #[test]
    fn hits_are_held_against_the_points_of_their_line() {
        let columns = Columns {
            cover: CoverColumn::Counts { hits: "hits".into(), points: "points".into() },
            visit: None,
            ..columns()
        };
        let read = |text: &str| read_pilot(text.as_bytes(), "lines.csv", &columns);
        let data = read("reef,tape,hits,points\nA,1,12,50\nA,2,7,\n").unwrap();
        assert_eq!((data.rows, data.missing), (1, 1));
        assert_eq!(data.zones[0].cells[0][0][0], Reading { line: "1".into(), cover: 0.24, points: Some(50.0) });
        let message = read("reef,tape,hits,points\nA,1,51,50\n").unwrap_err().to_string();
        assert!(message.contains("from 0 to 50, the points of this line"), "{message}");
        assert!(read("reef,tape,hits,points\nA,1,5,0\n").unwrap_err().to_string().contains("from 1 on"));
    }

    #[test]
    fn dates_have_years_and_other_labels_have_none() {
        assert_eq!(year_of("2027"), Some(2027.0));
        assert!((year_of("2027-07").unwrap() - 2027.5).abs() < 1e-12);
        assert_eq!(year_of("before"), None);
        assert_eq!(year_of("2027-13"), None);
        assert_eq!(year_of("12"), None);
        let order = |labels: &[&str]| -> Vec<String> {
            in_order_of_time(labels.iter().map(|label| label.to_string()).collect())
                .into_iter()
                .map(|v| v.label)
                .collect()
        };
        assert_eq!(order(&["10", "9", "2"]), ["2", "9", "10"]);
        assert_eq!(order(&["before", "after"]), ["before", "after"]);
    }
}
