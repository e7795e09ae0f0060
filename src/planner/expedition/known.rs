//! What was worked out once in an answer and serves all its searches.

use super::opens::Opens;
use crate::budget::{Caps, Indicator, Packing, PairDive, PlaceDive, Table, TwoDepths, assign};
use crate::design::Expedition;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Tables by what they pack, what theory knows by what it was asked, the work at one site by its units. Two threads may work
/// out the same at the same time: both come to the same.
#[derive(Default)]
pub struct Known {
    /// Of the sites of a draw; every day where none is told.
    opens: Opens,
    tables: Mutex<BTreeMap<String, Arc<Table>>>,
    indicators: Mutex<BTreeMap<String, Indicator>>,
    work: Mutex<BTreeMap<String, Vec<PairDive>>>,
    place_work: Mutex<BTreeMap<String, Vec<PlaceDive>>>,
}

impl Known {
    /// Nothing yet but the days on which the sites of the draw can be reached.
    pub fn of_draw(expedition: &Expedition, seed: u64) -> Self {
        Self::of_opens(Opens::new(expedition, seed))
    }

    pub fn of_opens(opens: Opens) -> Self {
        Self { opens, ..Self::default() }
    }

    pub fn opens(&self) -> &Opens {
        &self.opens
    }

    /// What can be done however it has to be packed.
    pub fn table(&self, packings: &[Packing], caps: &Caps) -> Arc<Table> {
        of(&self.tables, format!("{packings:?} {caps:?}"), || Arc::new(Table::whichever(packings, caps.clone())))
    }

    /// The same for the work at both depths of a place.
    pub fn place_table(&self, places: &[TwoDepths], caps: &Caps) -> Arc<Table> {
        of(&self.tables, format!("{places:?} {caps:?}"), || Arc::new(TwoDepths::table(places, caps.clone())))
    }

    pub fn place_work(&self, place: &TwoDepths, units: &[u8], team_dives: usize) -> Vec<PlaceDive> {
        of(&self.place_work, format!("{place:?} {units:?} {team_dives}"), || {
            place.assign(units, team_dives).unwrap_or_default()
        })
    }

    pub fn indicator(&self, key: String, work: impl FnOnce() -> Indicator) -> Indicator {
        of(&self.indicators, key, work)
    }

    /// Who does so many units on so many team dives.
    pub fn work(&self, packing: &Packing, units: &[u8], team_dives: usize) -> Vec<PairDive> {
        of(&self.work, format!("{packing:?} {units:?} {team_dives}"), || {
            assign(packing, units, team_dives).unwrap_or_default()
        })
    }
}

fn of<T: Clone>(known: &Mutex<BTreeMap<String, T>>, key: String, work: impl FnOnce() -> T) -> T {
    let held = || known.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(value) = held().get(&key) {
        return value.clone();
    }
    let value = work();
    held().insert(key, value.clone());
    value
}
