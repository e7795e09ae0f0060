mod rate;

pub use rate::{Rate, trials_for, trials_for_mean};
