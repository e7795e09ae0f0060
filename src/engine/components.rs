//! Units of an indicator without a virtual reef, drawn from its components of variance.

use super::sheet::Sheet;
use super::survey_site::ZoneSurvey;
use crate::random::{Key, Purpose, stream};
use crate::reef::SamePlace;
use crate::survey::{Components, MethodKind};
use crate::theory::{component_change_sd, component_mean, same_marks, same_sites, to_scale};
use rand_distr::{Distribution, StandardNormal};

impl ZoneSurvey<'_> {
    /// Draws all by-components readings of a site, both visits, and their truths.
    pub fn components(&self, key: Key, place: Option<SamePlace>, counted: bool, sheet: &mut Sheet) {
        for &column in &self.layout.components {
            let reading = self.layout.reading(column);
            let MethodKind::Components(components) = &self.study.methods[reading.method].kind else { continue };
            let units = if counted { reading.most_units() } else { 0 };
            let of = self.layout.columns[column].reading as u64;
            let own = key.child(Purpose::Components, of);
            let place = place.map(|place| place.child(Purpose::Components, of));
            self.draw(components, (own, place), column, units, sheet);
        }
    }

    fn draw(
        &self,
        parts: &Components,
        (key, place): (Key, Option<SamePlace>),
        column: usize,
        units: usize,
        sheet: &mut Sheet,
    ) {
        let reading = self.layout.columns[column].reading;
        let mut generator = stream(key);
        let mut normal = || -> f64 { StandardNormal.sample(&mut generator) };
        let same_sites = same_sites(self.study);
        let correlation = if same_marks(self.study) { parts.same_mark_correlation } else { 0.0 };
        let renewal = (1.0 - correlation * correlation).sqrt();
        let own: [f64; 5] = std::array::from_fn(|_| normal());
        let [site_first, site_later, year_first, year_later, change] = match place {
            None => own,
            Some(place) => {
                let mut other = stream(place.key);
                own.map(|own| place.mixed(StandardNormal.sample(&mut other), own))
            }
        };
        let (site, years) = ([site_first, site_later], [year_first, year_later]);
        let effect = |state: usize| {
            let later = usize::from(state > 0);
            let own = if same_sites { site[0] } else { site[later] };
            let differs = component_change_sd(self.study, parts, state) * change;
            parts.between_sites_sd * own + parts.site_year_sd * years[later] + differs
        };
        for state in 0..sheet.states() {
            sheet.set_truth(reading, state, component_mean(self.study, parts, state) + effect(state));
        }
        for unit in 0..units {
            let first = normal();
            let second = correlation * first + renewal * normal();
            for state in 0..sheet.states() {
                let deviation = if state == 0 { first } else { second };
                let value =
                    component_mean(self.study, parts, state) + effect(state) + parts.between_units_sd * deviation;
                sheet.set(column, state, unit, with_floor(parts, value));
            }
        }
    }
}

/// Readings below the floor are written as the floor.
fn with_floor(parts: &Components, value: f64) -> f64 {
    match parts.floor {
        Some(floor) => value.max(to_scale(parts.scale, floor)),
        None => value,
    }
}
