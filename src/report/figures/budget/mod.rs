//! The figures of a dive budget, each a pure function from its report to SVG text; `None` where there is nothing to show.

/// Last line of every figure that shows dives, because figures are taken out of their page.
const NO_DIVE_PLAN: &str = "Effort budget, no dive plan; the diving officer decides.";

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
