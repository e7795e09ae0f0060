/// Tidy tables for other programs.
pub mod csv;
mod digits;
/// Figures as SVG.
pub mod figures;
mod fonts;
mod json;
#[cfg(test)]
mod look;
mod png;
#[allow(clippy::module_inception)]
mod report;
mod select;
#[cfg(test)]
mod synthetic;
mod words;

pub use json::json;
pub use report::{Report, SCHEMA_VERSION};
