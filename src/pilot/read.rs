//! From a table with named columns to readings of lines, ordered by zone, site, visit and line.

use super::columns::{Columns, CoverColumn, Named};
use super::doubts::TableDoubt;
use super::error::PilotError;
use super::grid::{Grid, GridZone, NamePlaces};
use super::rows::{Row, Sheet};
use super::visits::Visit;
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
    /// Lines whose hits are no whole number.
    pub not_whole: usize,
    pub same_marks: bool,
    /// All percentages are at most 1: perhaps they are shares.
    pub perhaps_shares: bool,
    pub doubts: Vec<TableDoubt>,
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

/// One line at one visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub line: String,
    /// Cover as a share, 0 to 1.
    pub cover: f64,
    /// Number of points behind it, where counted.
    pub points: Option<f64>,
}

/// A first line that would do.
const EXAMPLE: &str = "site,visit,line,cover";

/// Reads a pilot table; `file` is its name in messages.
pub fn read_pilot(input: impl Read, file: &str, columns: &Columns) -> Result<PilotData, PilotError> {
    let mut sheet = Sheet::open(input, file, EXAMPLE)?;
    let cover = CoverPlaces::find(&sheet, &columns.cover)?;
    let named = Named {
        zone: columns.zone.clone(),
        site: columns.site.clone(),
        unit: Some(columns.line.clone()),
        visit: columns.visit.clone(),
    };
    let names = NamePlaces::find(&sheet, &named)?;
    let mut grid = Grid::new();
    let (mut rows, mut missing, mut not_whole, mut largest) = (0, 0, 0, 0.0_f64);
    // As it stands in the column: percent, or hits.
    let shown = |cover: f64, points: Option<f64>| points.unwrap_or(100.0) * cover;
    sheet.each(|row| {
        let Some((cover, points)) = cover.of(row)? else {
            missing += 1;
            return Ok(());
        };
        rows += 1;
        let value = shown(cover, points);
        largest = largest.max(value);
        not_whole += usize::from(points.is_some() && (value - value.round()).abs() > 1e-6);
        grid.add(row, names.of(row)?, (cover, points))
    })?;
    if rows == 0 {
        return Err(PilotError::Empty { file: file.to_owned(), column: columns.cover.name().to_owned() });
    }
    Ok(PilotData {
        file: file.to_owned(),
        rows,
        missing,
        not_whole,
        same_marks: columns.same_marks,
        perhaps_shares: largest <= 1.0
            && match columns.cover {
                CoverColumn::Percent(_) => true,
                CoverColumn::Counts { .. } => not_whole > 0,
                CoverColumn::Share(_) => false,
            },
        doubts: grid.doubts(),
        zones: grid.into_zones().into_iter().map(ZoneData::of).collect(),
    })
}

impl ZoneData {
    fn of(zone: GridZone<(f64, Option<f64>)>) -> Self {
        let reading = |(line, (cover, points))| Reading { line, cover, points };
        let cell = |units: Vec<_>| units.into_iter().map(reading).collect();
        let cells = zone.cells.into_iter().map(|site| site.into_iter().map(cell).collect()).collect();
        ZoneData { name: zone.name, sites: zone.sites, visits: zone.visits, cells }
    }
}

enum CoverPlaces {
    /// Place, and the value of full cover.
    Value(usize, f64),
    /// Places of hits and of points.
    Counts(usize, usize),
}

impl CoverPlaces {
    fn find<R: Read>(sheet: &Sheet<R>, cover: &CoverColumn) -> Result<Self, PilotError> {
        Ok(match cover {
            CoverColumn::Percent(name) => CoverPlaces::Value(sheet.place(name)?, 100.0),
            CoverColumn::Share(name) => CoverPlaces::Value(sheet.place(name)?, 1.0),
            CoverColumn::Counts { hits, points } => CoverPlaces::Counts(sheet.place(hits)?, sheet.place(points)?),
        })
    }

    /// Cover as a share and the number of points; `None` where the line was not read.
    fn of(&self, row: &Row) -> Result<Option<(f64, Option<f64>)>, PilotError> {
        match *self {
            CoverPlaces::Value(place, full) => {
                let allowed = format!("a number from 0 to {full} (decimal point, no % sign), or nothing");
                let value = row.number(place, &allowed, |value| (0.0..=full).contains(&value))?;
                Ok(value.map(|value| (value / full, None)))
            }
            CoverPlaces::Counts(hits, points) => {
                let allowed = "a whole number of points from 1 on, or nothing (cover in percent goes to --cover, as a share to --cover-share)";
                let points = row.number(points, allowed, |value| value >= 1.0 && is_whole(value))?;
                let most = points.unwrap_or(f64::INFINITY);
                let allowed = match points {
                    Some(points) => {
                        format!(
                            "a whole number of points from 0 to {points}, the points of this line, or nothing; are the columns \
                             after --hits and --points swapped, or is this cover (in percent --cover, as a share --cover-share)?"
                        )
                    }
                    None => "a whole number of points from 0 on, or nothing".to_owned(),
                };
                // Real tables hold means of several readings: they are told.
                let hits = row.number(hits, &allowed, |value| (0.0..=most).contains(&value))?;
                Ok(hits.zip(points).map(|(hits, points)| (hits / points, Some(points))))
            }
        }
    }
}

/// Points are counted.
fn is_whole(value: f64) -> bool {
    value.fract() == 0.0
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
    fn of_two_columns_of_one_name_neither_is_taken_unless_nobody_asks() {
        let message = read("when,coral,reef,tape,coral\n1,3,A,1,20\n").unwrap_err().to_string();
        assert_eq!(
            message,
            "lines.csv:1: 2 columns are called `coral` (column 2, column 5); allowed is one; give every column a name of its \
             own, or take the other out"
        );
        assert!(read("when,note,reef,tape,coral,note\n1,,A,1,20,\n").is_ok());
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
        let refused = |row: &str, place: &str| {
            let message = read(&format!("reef,tape,hits,points\nA,1,12,50\n{row}\n")).unwrap_err().to_string();
            assert!(message.starts_with("lines.csv:3, column") && message.contains(place), "{message}");
            assert!(message.contains("a whole number of points"), "{message}");
        };
        let data = read("reef,tape,hits,points\nA,1,0.12,50\nA,2,0.33,50\n").unwrap();
        assert!(data.perhaps_shares && data.not_whole == 2);
        let data = read("reef,tape,hits,points\nA,1,0.95,50\nA,2,12,50\n").unwrap();
        assert!(!data.perhaps_shares && data.not_whole == 1);
        let data = read("reef,tape,hits,points\nA,1,12,50\nA,2,12.5,50\n").unwrap();
        assert_eq!((data.rows, data.not_whole), (2, 1));
        refused("A,2,12,49.5", "`points`: `49.5`");
        assert!(read("reef,tape,hits,points\nA,1,5,0\n").unwrap_err().to_string().contains("from 1 on"));
    }
}
