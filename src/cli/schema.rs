use super::failure::Failure;
use super::files::print;
use crate::scenario::schema;

/// `schema`: the JSON Schema on standard output.
pub fn run() -> Result<(), Failure> {
    print(&format!("{:#}\n", schema()))
}
