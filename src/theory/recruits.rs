//! Recruits of corals in quadrats along a tape: animals that live on hard bottom free of colonies.

use super::clusters::{AnimalAsked, CountedAs, Ground, ReadBy};
use super::tree::Written;
use super::unit_moments::UnitMoments;
use super::zone::{ZoneTheory, asked_of_animals, unit_of};
use crate::design::{RECRUIT_DENSITY, RecruitMeasure, Recruits, Study, Zone};
use crate::survey::{self, Dimensions, GRID_SIDE};

/// What the law of the recruits is asked for a zone of a study.
pub fn recruits_asked(study: &Study, zone: &Zone, recruits: &Recruits) -> AnimalAsked {
    // Changes are told per m2 of all bottom, the law per m2 of free bottom.
    asked_of_animals(study, zone, &recruits.spec, 1.0 / zone.free_share(), |indicator| indicator == RECRUIT_DENSITY)
}

impl ZoneTheory {
    /// Moments of what one line of quadrats tells of recruits, per m2.
    pub(super) fn recruit_moments(
        &self,
        study: &Study,
        zone: &Zone,
        measure: RecruitMeasure,
        dimensions: Dimensions,
    ) -> UnitMoments {
        let (Some(law), Some(recruits)) = (&self.recruits, &zone.recruits) else {
            return UnitMoments::never_there(self.law.states.len());
        };
        let unit = unit_of(dimensions);
        let (counted_m, width_m) = unit.size();
        let length_m = dimensions.length_m().unwrap_or(counted_m);
        let laid = survey::Ground { site: self.site, placement: study.placement };
        let read =
            ReadBy { unit, site: laid.sides(), per_m2: 1.0, relay_sd_m: self.relay_sd, beyond_m: length_m - counted_m };
        let counted = CountedAs { class_share: recruits.share_of(measure), seen_share: 1.0 };
        let ground = self.free_ground.get_or_init(|| self.free_ground(zone, recruits));
        let mut moments = match measure {
            RecruitMeasure::OnHardBottom => law.moments_on_ground(&read, counted, ground, GRID_SIDE),
            _ => law.moments(&read, counted, Some(ground)),
        };
        moments.layout.most_units = laid.most_units(length_m, width_m);
        moments
    }

    /// Where recruits can live: what neither hard coral nor the kinds they cannot live on cover.
    fn free_ground(&self, zone: &Zone, recruits: &Recruits) -> Ground {
        let cannot: Vec<bool> =
            zone.categories.iter().map(|category| recruits.cannot_live_on.contains(&category.name)).collect();
        let (share, curves) = match self.bottom.as_ref().filter(|_| cannot.contains(&true)) {
            None => (self.covers(0).into_iter().map(|coral| 1.0 - coral).collect(), self.curves()),
            Some(bottom) => {
                // Hard coral first; what no category names comes last and can be lived on.
                let kinds = (0..bottom.stages.len()).map(|kind| !cannot.get(kind).copied().unwrap_or(false));
                let column: Vec<f64> = std::iter::once(0.0).chain(kinds.map(f64::from)).collect();
                self.written_curves(bottom, &Written { chances: [column.clone(), column] })
            }
        };
        Ground { share, within: curves.within, across: curves.across, sites: curves.truths }
    }
}
