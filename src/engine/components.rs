//! Units of an indicator without a virtual reef, drawn from its components of variance.

use super::sheet::Sheet;
use super::survey_site::ZoneSurvey;
use crate::random::{Key, Purpose, stream};
use crate::survey::{Components, MethodKind};
use crate::theory::{component_change_sd, component_mean, same_marks, same_sites, to_scale};
use rand_distr::{Distribution, StandardNormal};

impl ZoneSurvey<'_> {
    /// Draws all by-components readings of a site, both visits, and their truths.
    pub fn components(&self, key: Key, counted: bool, sheet: &mut Sheet) {
        for &column in &self.layout.components {
            let reading = self.layout.reading(column);
            let MethodKind::Components(components) = &self.study.methods[reading.method].kind else { continue };
            let units = if counted { reading.most_units() } else { 0 };
            let own = key.child(Purpose::Components, self.layout.columns[column].reading as u64);
            self.draw(components, own, column, units, sheet);
        }
    }

    fn draw(&self, parts: &Components, key: Key, column: usize, units: usize, sheet: &mut Sheet) {
        let reading = self.layout.columns[column].reading;
        let mut generator = stream(key);
        let mut normal = || -> f64 { StandardNormal.sample(&mut generator) };
        let same_sites = same_sites(self.study);
        let correlation = if same_marks(self.study) { parts.same_mark_correlation } else { 0.0 };
        let renewal = (1.0 - correlation * correlation).sqrt();
        let site = [normal(), normal()];
        let years = [normal(), normal()];
        let change = normal();
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
