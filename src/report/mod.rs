#[allow(clippy::module_inception)]
mod report;

pub use report::{Report, SCHEMA_VERSION};
