mod counted;
mod rate;
#[cfg(test)]
pub mod simulated;

pub use counted::{counted, ordinal, plural};
pub use rate::{Rate, trials_for, trials_for_mean};
