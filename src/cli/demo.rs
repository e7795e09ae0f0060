use super::arguments::Shared;
use super::failure::Failure;

/// No command: the built-in demo expedition.
pub fn run(_shared: &Shared) -> Result<(), Failure> {
    Err(Failure::other("demo: not yet wired"))
}
