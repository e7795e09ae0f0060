mod rate;

pub use rate::{Rate, trials_for};
