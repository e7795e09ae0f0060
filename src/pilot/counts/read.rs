//! From a table with named columns to counts of belts.

use crate::pilot::columns::Named;
use crate::pilot::doubts::TableDoubt;
use crate::pilot::error::PilotError;
use crate::pilot::grid::{Grid, GridZone, NamePlaces};
use crate::pilot::rows::{Row, Sheet};
use crate::pilot::visits::Visit;
use std::io::Read;

/// The names that the columns of a table of belts have in the user's file. One row is one belt at one visit.
#[derive(Clone, Debug, PartialEq)]
pub struct CountColumns {
    pub named: Named,
    pub counted: CountedColumn,
    pub area: BeltArea,
}

/// The column that tells how many animals a belt had.
#[derive(Clone, Debug, PartialEq)]
pub enum CountedColumn {
    /// Their number.
    Number(String),
    /// Their number per 100 m2; with the area of the belt it must come out whole.
    Per100M2(String),
    /// What they weigh, grams per 100 m2; a belt then "counts" grams.
    GramsPer100M2(String),
}

impl CountedColumn {
    pub fn name(&self) -> &str {
        match self {
            CountedColumn::Number(name) | CountedColumn::Per100M2(name) | CountedColumn::GramsPer100M2(name) => name,
        }
    }
}

/// How much bottom a belt has, m2.
#[derive(Clone, Debug, PartialEq)]
pub enum BeltArea {
    Same(f64),
    /// A column that tells it of each belt.
    Column(String),
}

/// What a table of belts holds of one kind of animal.
#[derive(Clone, Debug)]
pub struct CountData {
    /// Name of the file, for messages, and of the column.
    pub file: String,
    pub counted: String,
    pub zones: Vec<CountZone>,
    /// Rows with a count, and rows without one, left out.
    pub rows: usize,
    pub missing: usize,
    pub doubts: Vec<TableDoubt>,
}

/// The belts of one zone.
#[derive(Clone, Debug)]
pub struct CountZone {
    pub name: Option<String>,
    pub sites: Vec<String>,
    /// Visits in order of time.
    pub visits: Vec<Visit>,
    /// `cells[site][visit]` holds the belts read there.
    pub cells: Vec<Vec<Vec<BeltCount>>>,
}

/// One belt at one visit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeltCount {
    pub count: f64,
    pub area_m2: f64,
}

/// A first line that would do.
const EXAMPLE: &str = "site,visit,belt,urchins";

/// How far a density times an area may lie from a whole number: densities are written with few digits.
const NEARLY_WHOLE: f64 = 0.05;

/// Reads a table of belts; `file` is its name in messages.
pub fn read_counts(input: impl Read, file: &str, columns: &CountColumns) -> Result<CountData, PilotError> {
    let mut sheet = Sheet::open(input, file, EXAMPLE)?;
    let counted = sheet.place(columns.counted.name())?;
    let area = match &columns.area {
        BeltArea::Same(_) => None,
        BeltArea::Column(name) => Some(sheet.place(name)?),
    };
    let names = NamePlaces::find(&sheet, &columns.named)?;
    let mut grid = Grid::new();
    let (mut rows, mut missing) = (0, 0);
    sheet.each(|row| {
        let Some(area_m2) = area_of(row, &columns.area, area)? else {
            missing += 1;
            return Ok(());
        };
        let Some(count) = count_of(row, counted, &columns.counted, area_m2)? else {
            missing += 1;
            return Ok(());
        };
        rows += 1;
        grid.add(row, names.of(row)?, BeltCount { count, area_m2 })
    })?;
    if rows == 0 {
        return Err(PilotError::Empty { file: file.to_owned(), column: columns.counted.name().to_owned() });
    }
    let doubts = grid.doubts();
    let zones = grid.into_zones().into_iter().map(CountZone::of).collect();
    Ok(CountData { file: file.to_owned(), counted: columns.counted.name().to_owned(), zones, rows, missing, doubts })
}

fn area_of(row: &Row, area: &BeltArea, place: Option<usize>) -> Result<Option<f64>, PilotError> {
    match (area, place) {
        (BeltArea::Same(area_m2), _) => Ok(Some(*area_m2)),
        (_, Some(place)) => {
            let allowed = "the m2 that were searched, from 0.01 to 100000, or nothing";
            row.number(place, allowed, |area| (0.01..=1e5).contains(&area))
        }
        _ => Ok(None),
    }
}

fn count_of(row: &Row, place: usize, counted: &CountedColumn, area_m2: f64) -> Result<Option<f64>, PilotError> {
    match counted {
        CountedColumn::Number(_) => {
            let allowed = "a whole number of animals from 0 on, or nothing";
            row.number(place, allowed, |count| (0.0..=1e9).contains(&count) && count.fract() == 0.0)
        }
        CountedColumn::Per100M2(_) => {
            let allowed = format!(
                "animals per 100 m2 that are a whole number on the {area_m2} m2 of this belt (multiples of {}), or \
                 nothing; is the area right?",
                100.0 / area_m2
            );
            let number = |density: f64| density * area_m2 / 100.0;
            let whole = |density: f64| (number(density) - number(density).round()).abs() <= NEARLY_WHOLE;
            let density = row.number(place, &allowed, |density| (0.0..=1e9).contains(&density) && whole(density))?;
            Ok(density.map(|density| number(density).round()))
        }
        CountedColumn::GramsPer100M2(_) => {
            let allowed = "grams per 100 m2 from 0 on, or nothing";
            let grams = row.number(place, allowed, |grams| (0.0..=1e9).contains(&grams))?;
            Ok(grams.map(|grams| grams * area_m2 / 100.0))
        }
    }
}

impl CountZone {
    fn of(zone: GridZone<BeltCount>) -> Self {
        let cell = |units: Vec<(String, BeltCount)>| units.into_iter().map(|(_, count)| count).collect();
        let cells = zone.cells.into_iter().map(|site| site.into_iter().map(cell).collect()).collect();
        Self { name: zone.name, sites: zone.sites, visits: zone.visits, cells }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(counted: CountedColumn, area: BeltArea) -> CountColumns {
        let named = Named { zone: None, site: vec!["site".into()], unit: None, visit: Some("year".into()) };
        CountColumns { named, counted, area }
    }

    #[test]
    fn numbers_and_densities_are_read_and_what_cannot_be_is_refused_with_its_place() {
        let number = columns(CountedColumn::Number("urchins".into()), BeltArea::Column("m2".into()));
        let data =
            read_counts(&b"site,year,m2,urchins\nA,2027,20,3\nA,2027,20,0\nB,2027,,4\n"[..], "b.csv", &number).unwrap();
        assert_eq!((data.rows, data.missing, data.zones[0].sites.len()), (2, 1, 1));
        assert_eq!(data.zones[0].cells[0][0][0], BeltCount { count: 3.0, area_m2: 20.0 });
        let message = |table: &str, columns: &CountColumns| {
            read_counts(table.as_bytes(), "b.csv", columns).unwrap_err().to_string()
        };
        let said = message("site,year,m2,urchins\nA,2027,20,3\nA,2027,20,2.5\n", &number);
        assert!(said.starts_with("b.csv:3, column `urchins`: `2.5` is not allowed; write a whole number"), "{said}");
        assert!(message("site,year,m2,urchins\nA,2027,0,3\n", &number).contains("column `m2`: `0`"));
        let density = columns(CountedColumn::Per100M2("urchins".into()), BeltArea::Same(20.0));
        let data = read_counts(&b"site,year,urchins\nA,2027,15\n"[..], "b.csv", &density).unwrap();
        assert_eq!(data.zones[0].cells[0][0][0].count, 3.0);
        let said = message("site,year,urchins\nA,2027,12\n", &density);
        assert!(said.contains("multiples of 5") && said.contains("is the area right?"), "{said}");
        assert!(message("site,year,urchins\nA,2027,\n", &density).contains("no row has a value in column `urchins`"));
        assert!(message("", &density).contains("site,visit,belt,urchins"));
    }
}
