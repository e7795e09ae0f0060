use super::swept::Counted;
use crate::reef::fish::{Movement, Sighting};
use crate::survey::swim::Watch;
use std::sync::{LazyLock, Mutex, PoisonError};

/// All that what is counted of a group depends on, but for the schools' sizes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swimmers {
    pub watch: Watch,
    pub movement: Movement,
    pub spread_m: f64,
    pub sighting: Sighting,
    /// Share that other divers left.
    pub left: f64,
}

/// What was found before: fish that turn take up to two seconds each, and every indicator of a group asks again.
static KNOWN: LazyLock<Mutex<Vec<(Swimmers, Counted)>>> = LazyLock::new(Mutex::default);
/// Then all is forgotten; a study has tens.
const MOST_KNOWN: usize = 2_000;

/// What is counted and seen of schools: see [`Counted::of`], of which it is the value, found once.
pub fn counted_of(swimmers: &Swimmers) -> Counted {
    let known = || KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, counted)) = known().iter().find(|(other, _)| other == swimmers) {
        return *counted;
    }
    // Found with the lock open: two may find the same, and find the same value.
    let Swimmers { watch, movement, spread_m, sighting, left } = *swimmers;
    let counted = Counted::of(watch, movement, spread_m, |m| left * sighting.distance_chance(m));
    let mut all = known();
    if all.len() >= MOST_KNOWN {
        all.clear();
    }
    all.push((*swimmers, counted));
    counted
}
