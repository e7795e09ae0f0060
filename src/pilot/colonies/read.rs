//! From a table with one row a colony to the colonies of belts.

use crate::pilot::columns::Named;
use crate::pilot::doubts::TableDoubt;
use crate::pilot::error::PilotError;
use crate::pilot::grid::{Grid, GridZone, NamePlaces};
use crate::pilot::rows::Sheet;
use crate::pilot::visits::Visit;
use crate::survey::coral_belt::EdgeRule;
use serde::Serialize;
use std::io::Read;

/// The names that the columns of a table of colonies have in the user's file. Sizes in centimetres, dead parts in percent of
/// the colony.
#[derive(Clone, Debug, PartialEq)]
pub struct ColonyColumns {
    /// The unit is the belt; without one all colonies of a site and visit are of one belt.
    pub named: Named,
    pub longest: String,
    pub across: Option<String>,
    /// Columns whose sum is the dead share of a colony (recent and old, say); none: not told.
    pub dead: Vec<String>,
}

/// How colonies were counted and measured, metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ColoniesTaken {
    /// Length and width of a belt, where it is known.
    pub belt_m: Option<(f64, f64)>,
    pub edge: EdgeRule,
    pub ruler_m: f64,
    /// No colony below this was written.
    pub least_m: f64,
    /// Belts at each site and visit, with colonies or without; `None`: those of the table.
    pub belts: Option<usize>,
    pub site_m: (f64, f64),
}

/// What a table of colonies holds.
#[derive(Clone, Debug)]
pub struct ColonyData {
    pub file: String,
    pub zones: Vec<ColonyZone>,
    /// Rows with a size, and rows without one, left out.
    pub rows: usize,
    pub missing: usize,
    pub dead_told: bool,
    pub across_told: bool,
    pub doubts: Vec<TableDoubt>,
}

#[derive(Clone, Debug)]
pub struct ColonyZone {
    pub name: Option<String>,
    pub sites: Vec<String>,
    pub visits: Vec<Visit>,
    /// `cells[site][visit]` holds the belts read there.
    pub cells: Vec<Vec<Vec<BeltColonies>>>,
}

/// The colonies of one belt at one visit.
pub type BeltColonies = Vec<Measured>;

/// One colony.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub longest_m: f64,
    /// Perpendicular to it; `None` where it was not measured.
    pub across_m: Option<f64>,
    /// Share of the colony; `None` where it was not told.
    pub dead: Option<f64>,
}

/// A first line that would do.
const EXAMPLE: &str = "site,year,belt,length_cm,width_cm,old_dead_percent";

/// The largest diameter that is believed, cm.
const LARGEST_CM: f64 = 2000.0;

/// Reads a table of colonies; `file` is its name in messages.
pub fn read_colonies(input: impl Read, file: &str, columns: &ColonyColumns) -> Result<ColonyData, PilotError> {
    let mut sheet = Sheet::open(input, file, EXAMPLE)?;
    let longest = sheet.place(&columns.longest)?;
    let across = sheet.place_of(columns.across.as_ref())?;
    let dead = sheet.places(&columns.dead)?;
    let names = NamePlaces::find(&sheet, &columns.named)?;
    let mut grid: Grid<BeltColonies> = Grid::new();
    let (mut rows, mut missing) = (0, 0);
    let (mut wider, mut measured_across, mut first_wider) = (0, 0, 0);
    sheet.each(|row| {
        let allowed = format!("a diameter in centimetres above 0 and up to {LARGEST_CM}, or nothing");
        let size = |value: f64| 0.0 < value && value <= LARGEST_CM;
        let Some(longest_cm) = row.number(longest, &allowed, size)? else {
            missing += 1;
            return Ok(());
        };
        // A second diameter of nil was not measured.
        let second = |value: f64| (0.0..=LARGEST_CM).contains(&value);
        let across_cm = across.map(|place| row.number(place, &allowed, second)).transpose()?.flatten();
        let (mut sum, mut told) = (0.0, !dead.is_empty());
        for &place in &dead {
            let allowed =
                format!("a percentage of the colony from 0 to {} (dead parts together at most 100)", 100.0 - sum);
            match row.number(place, &allowed, |value| (0.0..=100.0 - sum).contains(&value))? {
                Some(percent) => sum += percent,
                None => told = false,
            }
        }
        rows += 1;
        if let Some(across_cm) = across_cm.filter(|cm| *cm > 0.0) {
            measured_across += 1;
            if across_cm > longest_cm {
                wider += 1;
                first_wider = if first_wider == 0 { row.line } else { first_wider };
            }
        }
        let mut names = names.of(row)?;
        if columns.named.unit.is_none() {
            names.unit = String::new();
            names.unit_is_named = false;
        }
        grid.entry(row, names, Vec::new).push(Measured {
            longest_m: 0.01 * longest_cm,
            across_m: across_cm.filter(|cm| *cm > 0.0).map(|cm| 0.01 * cm),
            dead: told.then_some(0.01 * sum),
        });
        Ok(())
    })?;
    if rows == 0 {
        return Err(PilotError::Empty { file: file.to_owned(), column: columns.longest.clone() });
    }
    let mut doubts = grid.doubts();
    if 4 * wider > measured_across {
        doubts.push(TableDoubt::WiderThanLong { colonies: wider, of: measured_across, line: first_wider });
    }
    let zones: Vec<ColonyZone> = grid.into_zones().into_iter().map(ColonyZone::of).collect();
    let any = |is: fn(&Measured) -> bool| zones.iter().flat_map(ColonyZone::colonies).any(is);
    let (dead_told, across_told) = (any(|colony| colony.dead.is_some()), any(|colony| colony.across_m.is_some()));
    Ok(ColonyData { file: file.to_owned(), rows, missing, dead_told, across_told, zones, doubts })
}

impl ColonyZone {
    fn of(zone: GridZone<BeltColonies>) -> Self {
        let cell = |units: Vec<(String, BeltColonies)>| units.into_iter().map(|(_, colonies)| colonies).collect();
        let cells = zone.cells.into_iter().map(|site| site.into_iter().map(cell).collect()).collect();
        Self { name: zone.name, sites: zone.sites, visits: zone.visits, cells }
    }

    pub fn colonies(&self) -> impl Iterator<Item = &Measured> {
        self.cells.iter().flatten().flatten().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns() -> ColonyColumns {
        let named =
            Named { zone: None, site: vec!["site".into()], unit: Some("belt".into()), visit: Some("year".into()) };
        let dead = vec!["recent".into(), "old".into()];
        ColonyColumns { named, longest: "length".into(), across: Some("width".into()), dead }
    }

    #[test]
    fn colonies_are_put_into_their_belts_and_what_cannot_be_is_refused_with_its_place() {
        let read = |rows: &str| {
            let table = format!("site,year,belt,length,width,recent,old\n{rows}");
            read_colonies(table.as_bytes(), "c.csv", &columns())
        };
        let data = read("A,2027,1,20,10,5,10\nA,2027,1,8,,0,\nA,2027,2,,4,0,0\nB,2027,1,3,2,0,0\n").unwrap();
        assert_eq!((data.rows, data.missing, data.dead_told), (3, 1, true));
        let belt = &data.zones[0].cells[0][0][0];
        assert_eq!(belt[0], Measured { longest_m: 0.2, across_m: Some(0.1), dead: Some(0.15) });
        assert_eq!(belt[1], Measured { longest_m: 0.08, across_m: None, dead: None });
        let message = |rows: &str| read(rows).unwrap_err().to_string();
        assert!(
            message("A,2027,1,0,1,0,0\n").starts_with("c.csv:2, column `length`: `0` is not allowed; write a diameter")
        );
        assert!(message("A,2027,1,9,big,0,0\n").contains("column `width`: `big`"));
        assert!(message("A,2027,1,9,9,60,50\n").contains("column `old`: `50` is not allowed; write a percentage"));
        assert!(message("A,2027,1,,,,\n").contains("no row has a value in column `length`"));
    }
}
