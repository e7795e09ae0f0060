//! What was worked out once in an answer and serves all its searches.

use super::answer::ZoneSites;
use crate::budget::{Caps, Indicator, Packing, Table};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Tables by what they pack, what theory knows by what it was asked, the work at one site by its units. Two threads may work
/// out the same at the same time: both come to the same.
#[derive(Default)]
pub struct Known {
    tables: Mutex<BTreeMap<String, Arc<Table>>>,
    indicators: Mutex<BTreeMap<String, Indicator>>,
    sites: Mutex<BTreeMap<String, ZoneSites>>,
}

impl Known {
    pub fn table(&self, packing: &Packing, caps: &Caps) -> Arc<Table> {
        of(&self.tables, format!("{packing:?} {caps:?}"), || Arc::new(Table::new(packing, caps.clone())))
    }

    pub fn indicator(&self, key: String, work: impl FnOnce() -> Indicator) -> Indicator {
        of(&self.indicators, key, work)
    }

    pub fn site(&self, packing: &Packing, units: &[u8], work: impl FnOnce() -> ZoneSites) -> ZoneSites {
        of(&self.sites, format!("{packing:?} {units:?}"), work)
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
