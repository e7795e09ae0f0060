//! Maps of reefs: a classified picture (PNG) with a legend, or a list of colonies and animals (CSV). Bytes to a map, or to
//! what is wrong with them; files are read by the caller.

mod list;
mod picture;

pub use list::read_list;
pub use picture::read_picture;

/// What is wrong with a map: said at the key of the scenario to change, or at the file.
#[derive(Clone, Debug, PartialEq)]
pub struct MapProblem {
    /// Key of the map's table.
    pub key: &'static str,
    pub message: String,
    pub allowed: String,
    pub remedy: String,
}

impl MapProblem {
    fn new(
        key: &'static str,
        message: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { key, message: message.into(), allowed: allowed.into(), remedy: remedy.into() }
    }
}

/// Whether a map of this name is a picture.
pub fn is_picture(file: &str) -> bool {
    file.to_ascii_lowercase().ends_with(".png")
}
