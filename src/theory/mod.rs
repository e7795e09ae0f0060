mod curve;
mod power;
mod power_table;
mod precision;
mod quadrature;
mod sample_size;
mod two_stage;
mod welch_power;

pub use curve::Curve;
pub use power::{
    anova_power, detectable_change, detectable_change_with_shared, t_power, t_power_at, t_power_with_shared,
};
pub use power_table::PowerTable;
pub use precision::{
    AllCategories, chance_within, count_for_all_categories, count_for_proportion, count_for_relative_precision,
};
pub use quadrature::{Rule, root};
pub use sample_size::{
    crossing, one_sample_power, one_sample_size, smallest_that_stays_above, two_sample_power, two_sample_size,
};
pub use two_stage::{Division, TwoStage, best_units_by_correlation, best_units_by_mean_squares, design_effect};
pub use welch_power::{Arm, pooled_power_exact, welch_power, welch_power_exact};
