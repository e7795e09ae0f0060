//! Laws that several tests of the reef read.

use super::coral_law::{CoralLaw, CoralState};
use super::spec::ReefSpec;
use crate::theory::Discs;

/// Sites that differ by patches and along the reef alone, by the number of discs over a point that leaves this cover where there
/// is neither.
pub(super) fn of_one_reef(spec: ReefSpec, cover: f64) -> CoralLaw {
    CoralLaw {
        spec,
        mean_area_m2: Discs::new(&spec.sizes).mean_area,
        site_sd: 0.0,
        site_year_sd: 0.0,
        field_memory: 0.6,
        same_colonies: 0.7,
        states: vec![CoralState::even(cover, -libm::log1p(-cover)); 2],
        patch_variance_over_a_point: 0.0,
    }
}
