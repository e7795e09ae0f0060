//! The figures of a dive budget, each a pure function from its report to SVG text; `None` where there is nothing to show.

mod calendar;
mod days_buy;
mod fills;
mod lost_days;
mod moves;
mod stairs;
mod targets;
mod work;

pub use calendar::calendar;
pub use days_buy::days_buy;
pub use lost_days::lost_days;
pub use moves::moves;
pub use stairs::stairs;
pub use targets::targets;
pub use work::work;
