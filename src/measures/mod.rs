mod counted;
mod decimal;
mod gathered;
mod rate;
mod told_apart;

#[cfg(test)]
pub mod simulated;

pub use counted::{counted, ordinal, plural};
pub use decimal::{decimal, in_100, nearest_whole, without_zeros};
pub use gathered::gathered;
pub use rate::{Rate, trials_for, trials_for_mean};
pub use told_apart::told_apart;
