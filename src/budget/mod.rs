//! From units to dives and days, and the search over designs.
//!
//! Words: a *pair-dive* is one pair under water once; a *team dive* is all pairs of a boat under water once, together, at one
//! site; a *site set* is what is done at a site (units of each task); a *margin* is target over achieved, 1 where a target
//! is just met.
//!
//! Everything here is exact: what fits into a dive by sums of sets that hold with every list of work each smaller one
//! (`Table`), days by all ways to fill a day (`DayPacking`; where
//! the crew changes by all ways to share sites out to its stretches, `Stretches`), designs by all site sets that are full (`Search`).
//!
//! Nothing here knows decompression, gas (but as a count of cylinders) or a diver's health. Limits are constraints without a
//! price; there is no lone diver in the model.

mod assign;
/// Loads, depths and flights that a diving officer should see.
pub mod cautions;
mod days;
/// Words and the published limit for outputs that show dives.
pub mod diving;
mod down_set;
#[cfg(test)]
mod expedition_tests;
mod first;
/// Cylinders to take along.
pub mod gas;
#[cfg(test)]
mod instances_tests;
mod lines;
mod lost_days;
mod one_dive;
mod packing;
#[cfg(test)]
mod packing_tests;
/// Sites on days.
pub mod schedule;
mod score;
mod search;
#[cfg(test)]
mod search_tests;
mod season;
mod stretches;
mod two_depths;
#[cfg(test)]
mod two_depths_tests;

pub use assign::{PairDive, assign};
pub use days::{Day, DayPacking, DayTimes};
pub use down_set::{Caps, DownSet, Units};
pub use first::{counts, minutes_waited, waits_of_pairs};
pub use lines::Line;
pub use lost_days::{LostDays, Today, at_both_visits, fewest_to_book, is_enough};
pub use one_dive::{Crew, Diver, Finish, Minutes, Pair, PairWork, Takes, Task};
pub use packing::{Packing, Table, fewest_by_minutes};
pub use score::{DoneSites, Indicator, MET, Merit, Need, NeedTable, PlacesTell, SiteTells};
pub use search::{Beside, Found, Hold, OwnSets, Prices, Search, ZoneDives};
pub use season::{Met, done_by_day, margins_in_hand};
pub use stretches::{Split, Stretches};
pub use two_depths::{PairOnDive, PlaceDive, TwoDepths};
