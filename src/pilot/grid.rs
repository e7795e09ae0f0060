//! Readings by zone, site, visit and unit, as they come from a table.

use super::columns::Named;
use super::doubts::{FirstLines, TableDoubt, few};
use super::error::PilotError;
use super::rows::{Row, Sheet};
use super::visits::{Visit, in_order_of_time};
use std::collections::BTreeMap;
use std::io::Read;

/// Where the columns stand that name a unit.
pub(super) struct NamePlaces {
    zone: Option<usize>,
    site: Vec<usize>,
    unit: Option<usize>,
    visit: Option<usize>,
}

impl NamePlaces {
    pub fn find<R: Read>(sheet: &Sheet<R>, named: &Named) -> Result<Self, PilotError> {
        Ok(Self {
            zone: sheet.place_of(named.zone.as_ref())?,
            site: sheet.places(&named.site)?,
            unit: sheet.place_of(named.unit.as_ref())?,
            visit: sheet.place_of(named.visit.as_ref())?,
        })
    }

    /// The names in a row; rows of a table that names no units are units of their own, by their line.
    pub fn of(&self, row: &Row) -> Result<Names, PilotError> {
        let zone = self.zone.map(|place| row.text(place)).transpose()?;
        let visit = self.visit.map(|place| row.text(place)).transpose()?;
        let site = row.texts(&self.site)?;
        let unit = self.unit.map_or_else(|| Ok(format!("{:09}", row.line)), |place| row.text(place))?;
        Ok(Names { zone, site, visit, unit, unit_is_named: self.unit.is_some() })
    }
}

/// What names a unit at a visit.
pub(super) struct Names {
    pub zone: Option<String>,
    pub site: String,
    pub visit: Option<String>,
    pub unit: String,
    /// Else it is the number of its line.
    pub unit_is_named: bool,
}

/// Units of one site and visit, by name, with the line of the file they stand in.
type Units<V> = BTreeMap<String, (u64, V)>;
/// By site and visit.
type Sites<V> = BTreeMap<String, BTreeMap<String, Units<V>>>;

/// All readings; visits keep the order in which they first appear.
pub(super) struct Grid<V> {
    visits: Vec<String>,
    zones: BTreeMap<Option<String>, Sites<V>>,
    names: [FirstLines; 4],
}

/// Kinds of names, in the order of `Grid::names`.
const NAMES: [&str; 4] = ["zone", "site", "visit", "line or belt"];

/// The readings of one zone: `cells[site][visit]` holds those of its units, in the order of their names.
pub(super) struct GridZone<V> {
    pub name: Option<String>,
    pub sites: Vec<String>,
    pub visits: Vec<Visit>,
    pub cells: Vec<Vec<Vec<(String, V)>>>,
}

impl<V> Grid<V> {
    pub fn new() -> Self {
        Self { visits: Vec::new(), zones: BTreeMap::new(), names: Default::default() }
    }

    /// One unit at one visit, which must be new.
    pub fn add(&mut self, row: &Row, names: Names, value: V) -> Result<(), PilotError> {
        self.keep(&names, row.line);
        let Names { zone, site, visit, unit, .. } = names;
        let units = self.units(zone, &site, &visit);
        if let Some(&(earlier, _)) = units.get(&unit) {
            return Err(PilotError::Twice { file: row.file.to_owned(), line: row.line, earlier, site, visit, unit });
        }
        units.insert(unit, (row.line, value));
        Ok(())
    }

    /// The value of a unit at a visit, made where there is none yet.
    pub fn entry(&mut self, row: &Row, names: Names, made: impl FnOnce() -> V) -> &mut V {
        self.keep(&names, row.line);
        let Names { zone, site, visit, unit, .. } = names;
        &mut self.units(zone, &site, &visit).entry(unit).or_insert_with(|| (row.line, made())).1
    }

    fn keep(&mut self, names: &Names, line: u64) {
        let [zones, sites, visits, units] = &mut self.names;
        sites.add(&names.site, line);
        names.zone.iter().for_each(|zone| zones.add(zone, line));
        names.visit.iter().for_each(|visit| visits.add(visit, line));
        if names.unit_is_named {
            units.add(&names.unit, line);
        }
    }

    /// What is doubtful in the names of all rows.
    pub fn doubts(&self) -> Vec<TableDoubt> {
        let alike = self.names.iter().zip(NAMES).flat_map(|(names, what)| names.alike(what));
        let mut doubts = few(alike.collect());
        let [_, sites, visits, units] = &self.names;
        let has_visits = self.visits.iter().any(|visit| !visit.is_empty());
        // Visits that are years themselves leave no doubt which column they stand in.
        if visits.first_of_years().is_none() {
            let named = [(NAMES[1], sites), (NAMES[3], units)];
            doubts.extend(named.into_iter().filter_map(|(what, names)| {
                let first = names.first_of_years()?.to_owned();
                Some(TableDoubt::NamedLikeYears { what, first, has_visits })
            }));
        }
        doubts
    }

    fn units(&mut self, zone: Option<String>, site: &str, visit: &Option<String>) -> &mut Units<V> {
        let label = visit.clone().unwrap_or_default();
        if !self.visits.contains(&label) {
            self.visits.push(label.clone());
        }
        self.zones.entry(zone).or_default().entry(site.to_owned()).or_default().entry(label).or_default()
    }

    pub fn into_zones(self) -> Vec<GridZone<V>> {
        let visits = in_order_of_time(self.visits);
        self.zones
            .into_iter()
            .map(|(name, mut sites)| {
                let present = |visit: &&Visit| sites.values().any(|site| site.contains_key(&visit.label));
                let present: Vec<Visit> = visits.iter().filter(present).cloned().collect();
                let cells = sites.values_mut().map(|site| {
                    let units = |visit: &Visit| {
                        let units = site.remove(&visit.label).unwrap_or_default();
                        units.into_iter().map(|(unit, (_, value))| (unit, value)).collect()
                    };
                    present.iter().map(units).collect()
                });
                GridZone { name, cells: cells.collect(), sites: sites.into_keys().collect(), visits: present }
            })
            .collect()
    }
}
