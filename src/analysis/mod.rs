mod colonies;
mod critical;
mod distributions;
mod estimate;
mod inverse;
mod moments;
mod nested;
mod noncentral;
mod one_way;

pub use colonies::{ColonyIndicator, in_class};
pub use critical::{CriticalT, Tail, critical_t};
pub use distributions::*;
pub use estimate::{Part, Sample, TTest, satterthwaite};
pub use moments::{Measured, Moments, correlation, covariance, covariance_measured, mean, variance};
pub use nested::Nested;
pub use noncentral::*;
pub use one_way::{Interval, MeanSquare, OneWay, chi_squared_interval, difference_interval, difference_part};
