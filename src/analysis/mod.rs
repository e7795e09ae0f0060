mod critical;
mod distributions;
mod estimate;
mod inverse;
mod moments;
mod noncentral;

pub use critical::{CriticalT, Tail, critical_t};
pub use distributions::*;
pub use estimate::{Part, Sample, TTest, satterthwaite};
pub use moments::{Measured, Moments, correlation, covariance, covariance_measured, mean, variance};
pub use noncentral::*;
