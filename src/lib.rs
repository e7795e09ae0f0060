//! **reefwright** plans reef surveys: how many sites, lines and dives does it take to see the change we care about,
//! and what do we see with the dives we have?
//!
//! One scenario becomes one answer on one road:
//!
//! ```text
//! scenario file -> Study -> calibrated reef -> lines read on it -> site means -> test -> rows -> report
//!                             |                                                    ^
//!                             +--------------- the same law in closed form --------+
//! ```
//!
//! The modules below are in reading order, which is also the order of dependence: a module may use those above it and
//! none below it (`tests/architecture.rs` enforces this).
//!
//! What this crate does not do: it draws no dive plan and computes no decompression, it models no relief (cover is what
//! is seen from above), and it never computes power after the fact.

/// From readings to estimates, tests and variance components; knows no reef.
pub mod analysis;
/// From units to dives and days, and the search over designs; knows no reef.
pub mod budget;
/// Arguments, files, progress, exit codes: the only module that does IO, reads the clock or prints.
pub mod cli;
/// What is surveyed and what is asked: the plain data of a study.
pub mod design;
/// Monte Carlo: trials, nested reading, stopping, summaries.
pub mod engine;
/// Segments, rectangles, chords and their unions.
pub mod geometry;
/// Numbers with a meaning: rates that carry their simulation error, checked ranges.
pub mod measures;
/// Pilot data to variance components.
pub mod pilot;
/// From rows to an answer: the least number of units, ranges, what matters most.
pub mod planner;
/// Keyed hashing and streams: the only place where random numbers are made.
pub mod random;
/// The virtual reef: what lies at a place, as pure functions of keys.
pub mod reef;
/// One data structure and its renderers.
pub mod report;
/// The scenario file: types, ranges, messages; the only module that knows TOML.
pub mod scenario;
/// Methods: how a diver reads the reef.
pub mod survey;
/// The reef's law in closed form: covariance, variance, power, detectable change.
pub mod theory;
