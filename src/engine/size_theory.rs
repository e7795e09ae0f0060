//! How often the test of size structure sees a change, by formula (`theory::Differences`): an approximation.

use super::permuted::steps_of_p;
use super::plan::{DesignIndex, Plan};
use crate::analysis::transforms::Scale;
use crate::design::{Comparison, Study, TestKind};
use crate::survey::MethodKind;
use crate::theory::colonies::SizeDistribution;
use crate::theory::{DesignTheory, Differences, UnitMoments, ZoneShare};

/// What the formula takes of one reading, by zone; made when it is first asked for.
#[derive(Clone, Debug)]
pub struct SizesOfReading {
    zones: Vec<SizeDistribution>,
    /// The study, of which sites are always compared by exchanges.
    study: Study,
}

impl Plan {
    /// How often the test of sizes of a design sees a change, about; `None` for every other reading, on maps, and where zones
    /// share places.
    pub fn power_of_sizes(&self, design: &DesignIndex, state: usize) -> Option<f64> {
        let sized = self.layout.sized_reading(design.reading)?;
        let sizes = self.size_theories[sized].get_or_init(|| self.sizes_of_reading(design.reading, sized)).as_ref()?;
        let theory =
            |moments: &dyn Fn(&SizeDistribution) -> &UnitMoments| self.theory_of_class(design, state, sizes, moments);
        let number = sizes.zones[0].below.len();
        let below: Vec<DesignTheory> = (0..number).map(|i| theory(&|zone| &zone.below[i])).collect();
        let variance = |of: &DesignTheory| of.total_se().powi(2);
        let covariance = |i: usize, j: usize| {
            let (i, j) = (i.min(j), i.max(j));
            if i == j {
                return variance(&below[i]);
            }
            let between = theory(&|zone| &zone.between[i][j - i - 1]);
            0.5 * (variance(&below[i]) + variance(&below[j]) - variance(&between))
        };
        let differences = Differences {
            expected: below.iter().map(|theory| theory.expected).collect(),
            covariance: (0..number).map(|i| (0..number).map(|j| covariance(i, j)).collect()).collect(),
            df: below.iter().map(|theory| theory.df).sum::<f64>() / number as f64,
        };
        let tail = self.critical.tail();
        let power = differences.rejects((self.study.test.alpha, steps_of_p(self, design)), tail);
        power.is_finite().then_some(power)
    }

    fn theory_of_class(
        &self,
        design: &DesignIndex,
        state: usize,
        sizes: &SizesOfReading,
        moments: &dyn Fn(&SizeDistribution) -> &UnitMoments,
    ) -> DesignTheory {
        let units = self.layout.readings[design.reading].units[design.units];
        let share = |(zone, weight): (usize, f64)| ZoneShare {
            zone: &self.study.zones[zone],
            moments: moments(&sizes.zones[zone]),
            place: None,
            weight,
            sites: self.sites[zone][design.sites],
            units,
            comparison: Comparison::Means(Scale::Plain),
        };
        let shares: Vec<ZoneShare> = self.weights_in(design.place, design.reading).map(share).collect();
        DesignTheory::new(&sizes.study, &shares, state)
    }

    fn sizes_of_reading(&self, reading: usize, sized: usize) -> Option<SizesOfReading> {
        let dimensions = self.layout.readings[reading].dimensions;
        let MethodKind::CoralBelt { belt, .. } = &self.study.methods[self.layout.readings[reading].method].kind else {
            return None;
        };
        if self.strata.len() < self.study.zones.len() {
            return None;
        }
        let limits = self.layout.sized[sized].classes.limits();
        let sizes_m = self.theories.first()?.law()?.sizes_to_look_at((belt, dimensions), limits);
        let of_zone = |zone: usize| -> Option<SizeDistribution> {
            let mut sizes = self.theories[zone].law()?.size_distribution((belt, dimensions), &sizes_m)?;
            // How many can be laid is known of the reading.
            let most_units = self.moments(zone, reading).layout.most_units;
            let all = sizes.below.iter_mut().chain(sizes.between.iter_mut().flatten());
            all.for_each(|moments| moments.layout.most_units = most_units);
            Some(sizes)
        };
        let zones: Option<Vec<SizeDistribution>> = (0..self.study.zones.len()).map(of_zone).collect();
        let mut study = self.study.clone();
        study.test.kind = TestKind::Permutation;
        (!sizes_m.is_empty()).then_some(SizesOfReading { zones: zones?, study })
    }
}
