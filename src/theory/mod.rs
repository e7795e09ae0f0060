/// Discs without modulated density: an oracle for tests.
pub mod boolean;
/// From stated covers and spreads to the tree of categories.
pub mod bottom;
/// Counts of animals in groups and patches.
pub mod clusters;
/// Belts of visible colonies.
pub mod colonies;
mod components;
mod coral;
mod curve;
/// What is left where colonies do not all have the same chance to live.
pub mod deaths;
mod departure;
mod design;
mod disc_average;
mod discs;
mod drawn;
/// Fish that swim in schools.
pub mod fish;
mod frames;
mod intensity;
mod inverse_count;
mod laid;
mod largest_distance;
/// What the hashed lattice field implies.
pub mod lattice;
/// One unit on a map.
pub mod mapped;
/// The mean of several visits.
pub mod occasions;
mod on_scale;
/// What two units of one site share.
pub mod pairs;
/// From a covariance to the variance of a line, strip or site.
pub mod placement;
mod power;
mod power_table;
mod precision;
mod quadrature;
mod recruits;
mod reef_theory;
mod same_places;
mod sample_size;
mod shape;
/// Correlations in closed form, for checks.
pub mod smooth;
/// Covers made by a threshold in a Gaussian field.
pub mod threshold;
mod totals;
/// Two points on the whole bottom.
pub mod tree;
mod two_stage;
mod unit_moments;
mod welch_power;
mod zone;

pub use components::{component_change_sd, component_mean, component_moments, to_scale};
pub use coral::{CoralAsked, CoralCalibration, CoralChange, CoralError, CoralPairs, calibrate, site_pairs};
pub use curve::Curve;
pub use departure::Departure;
pub use design::{DesignTheory, ZoneShare, listed_share, tail_of};
pub use disc_average::disc_averaged;
pub use discs::Discs;
pub use intensity::{BareSeries, Intensity, LogNormal, shared_intensity};
pub use laid::LaidPairs;
pub use largest_distance::{Differences, MOST_SIZES};
pub use on_scale::truth_on_scale;
pub use power::{
    anova_power, detectable_change, detectable_change_with_shared, t_power, t_power_at, t_power_with_shared,
};
pub use power_table::PowerTable;
pub use precision::{
    AllCategories, chance_within, count_for_all_categories, count_for_proportion, count_for_relative_precision,
};
pub use quadrature::{Rule, root};
pub use recruits::recruits_asked;
pub use reef_theory::ReefTheory;
pub use same_places::{Depth, PlaceCovariance, PlaceLaw};
pub use sample_size::{
    crossing, one_sample_power, one_sample_size, smallest_that_stays_above, two_sample_power, two_sample_size,
};
pub use shape::{Kernels, Shape};
pub use two_stage::{Division, TwoStage, best_units_by_correlation, best_units_by_mean_squares, design_effect};
pub use unit_moments::{LayoutMoments, UnitMoments};
pub use welch_power::{Arm, pooled_power_exact, welch_power, welch_power_exact};
pub use zone::{ZoneError, ZoneTheory, animal_asked, coral_asked, same_marks, same_sites, states_of, whole_bottom};
