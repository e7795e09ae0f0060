//! From belts in which animals were counted to a study: each number with the pilot as its origin and its uncertainty beside
//! it.

use super::defaults;
use super::from_pilot::{DEFAULT_RATIO, MOST_SITES, study, units, zone_without_reef};
use super::shown::number;
use super::write::Beside;
use crate::analysis::Interval;
use crate::design::{Animal, Change, Study, Visits, Zone};
use crate::pilot::counts::{AnimalNote, BeltsTaken, CalibratedAnimal, CountFit, Spread, UsualSpreads};
use crate::reef::{NamedReef, PatchLaw};
use crate::survey::{Dimensions, MethodKind, MethodSpec, UnitMinutes};

/// What of the scenario does not follow from the counts.
#[derive(Clone, Copy, Debug)]
pub struct CountPlan<'a> {
    /// Name of the pilot's file.
    pub file: &'a str,
    pub taken: &'a BeltsTaken,
    /// Years between consecutive visits, and whether the pilot's own names tell them.
    pub years_apart: f64,
    pub years_are_known: bool,
    /// Density of the first animal to ask about, per 100 m2; nothing: a fall by a fifth.
    pub to: Option<f64>,
}

/// The animals of one zone of a pilot: name, fit, and the animals that vary so.
#[derive(Clone, Debug)]
pub struct PilotAnimals {
    pub zone: Option<String>,
    pub animals: Vec<(String, CountFit, CalibratedAnimal)>,
}

/// How animals differ where a pilot cannot tell.
pub fn usual_spreads() -> UsualSpreads {
    UsualSpreads { between_sites: defaults::ANIMAL_BETWEEN_SITES, site_year: defaults::ANIMAL_SITE_YEAR }
}

/// A study of the animals of a pilot, in belts like the pilot's.
pub fn study_of_animals(zones: &[PilotAnimals], plan: &CountPlan) -> (Study, Beside) {
    let mut notes = Notes { plan, beside: Beside::default() };
    let head = format!(
        "Made from the pilot {} by reefwright. What the pilot cannot tell is assumed: `check` lists it. Intervals are \
         those of 80 %.",
        plan.file
    );
    notes.comment("", head);
    let people = "What people add when they search is in the spread of the pilot's belts already, so nothing is added here; \
                  hidden_percent stays at nil unless you know it: the density is that of animals seen.";
    notes.comment("observers", people.to_owned());
    let weight = 1.0 / zones.len() as f64;
    let built: Vec<Zone> =
        zones.iter().enumerate().map(|(index, zone)| Zone { weight, ..notes.zone(index, zone) }).collect();
    notes.known("visits", "years_apart", plan.years_are_known);
    let visits = Visits::at_new_places(plan.years_apart);
    let changes = notes.changes(zones, &built);
    let (length_m, width_m) = (plan.taken.length_m, plan.taken.width_m);
    let (lay, read) = defaults::minutes(Dimensions::InvertebrateBelt { length_m, width_m });
    let method = MethodSpec {
        kind: MethodKind::InvertebrateBelt { length_m: vec![length_m], width_m: vec![width_m] },
        units: units(),
        minutes: UnitMinutes { lay, read, ashore: None },
    };
    (study(plan.file, visits, built, changes, method), notes.beside)
}

/// Gathers origins and comments on the way.
struct Notes<'a> {
    plan: &'a CountPlan<'a>,
    beside: Beside,
}

impl Notes<'_> {
    fn comment(&mut self, table: &str, text: String) {
        self.beside.comment(table, text);
    }

    fn known(&mut self, table: &str, key: &str, from_pilot: bool) {
        self.beside.known(table, key, from_pilot.then_some(self.plan.file));
    }

    fn zone(&mut self, index: usize, pilot: &PilotAnimals) -> Zone {
        let path = format!("zone[{index}]");
        let name = pilot.zone.clone().unwrap_or_else(|| "pilot reefs".to_owned());
        let found = pilot.animals.iter().map(|(_, fit, _)| fit.sites).max().unwrap_or(2);
        self.comment(
            &path,
            "Of the bottom the pilot says nothing: only the number and size of the sites count here.".into(),
        );
        if found > MOST_SITES {
            self.comment(&path, format!("The pilot has {found} sites; {MOST_SITES} are written to start from."));
        }
        self.known(&path, "sites", true);
        let reef = NamedReef::ForeReef;
        let years = defaults::site_year_sd(reef.typical_cover(), None);
        let site = (self.plan.taken.site_length_m, self.plan.taken.site_width_m);
        let mut zone = zone_without_reef(name, found.min(MOST_SITES), site, (reef.typical_cover(), years));
        for (place, (name, fit, animal)) in pilot.animals.iter().enumerate() {
            self.animal(&format!("{path}.animal[{place}]"), fit, animal);
            zone.animals.push(Animal { name: name.clone(), spec: animal.spec.clone() });
        }
        zone
    }

    fn animal(&mut self, path: &str, fit: &CountFit, animal: &CalibratedAnimal) {
        for sentence in account(fit) {
            self.comment(path, sentence);
        }
        let gives = format!(
            "Belts like the pilot's of these animals have k {} within a site, and {} of them are empty (the pilot: {}).",
            number_of_k(animal.gives_k),
            percent(animal.gives_empty),
            percent(fit.empty_belts)
        );
        self.comment(path, gives);
        for note in &animal.notes {
            self.comment(path, animal_note(note));
        }
        for warning in &fit.warnings {
            self.comment(path, format!("Warning: {warning}."));
        }
        self.known(path, "density_per_100_m2", true);
        self.known(path, "between_sites_percent", animal.between_sites_told);
        self.known(path, "site_year_percent", animal.site_year_told);
        if let Some(patches) = animal.spec.patches {
            let key = if matches!(patches.law, PatchLaw::Gamma { .. }) { "patch_k" } else { "patch_sd" };
            self.known(path, key, true);
            self.known(path, "patch_scale_m", false);
        }
    }

    /// A fall of every animal: the first to what was asked.
    fn changes(&mut self, zones: &[PilotAnimals], built: &[Zone]) -> Vec<Change> {
        let mut names: Vec<&String> = Vec::new();
        for (name, ..) in zones.iter().flat_map(|zone| &zone.animals) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let mut changes = Vec::new();
        for (index, name) in names.into_iter().enumerate() {
            // The mean over the zones, of equal weight, as they are written; none where a zone has none.
            let of_zone = |zone: &Zone| {
                let animal = zone.animals.iter().find(|animal| animal.name == *name);
                zone.weight * animal.map_or(0.0, |animal| 100.0 * animal.spec.density_per_m2)
            };
            let from = tidy(built.iter().map(of_zone).sum());
            let asked = self.plan.to.filter(|_| index == 0);
            let to = asked.unwrap_or_else(|| tidy(from * DEFAULT_RATIO));
            let text = match asked {
                Some(to) => format!("From the pilot's mean density to {} per 100 m2, as asked.", number(to)),
                None => "No change was asked about: a fall by a fifth from the pilot's mean density.".to_owned(),
            };
            self.comment(&format!("change[{index}]"), text);
            changes.push(Change { indicator: name.clone(), from, to, differs_between_sites_sd: None, deaths: None });
        }
        changes
    }
}

/// Three digits.
pub(super) fn tidy(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

/// What a fit of counts says, in sentences.
fn account(fit: &CountFit) -> Vec<String> {
    let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
    let Interval { low, high } = fit.density_80;
    let mut told = vec![format!(
        "The pilot: {} sites, {visits}, {} belts of {} m2 in the mean, {} animals; {} per 100 m2 ({} to {}).",
        fit.sites,
        fit.belts,
        three(fit.area_m2),
        fit.animals,
        three(fit.density_per_100_m2),
        three(low),
        three(high)
    )];
    told.extend(account_of_spread(fit));
    told
}

/// The spreads and k of a fit of counts, in sentences.
pub(super) fn account_of_spread(fit: &CountFit) -> Vec<String> {
    let mut told = Vec::new();
    let spread = |spread: &Spread| {
        let Interval { low, high } = spread.interval_80;
        format!("{} of the mean ({} to {})", percent(spread.share), percent(low), percent(high))
    };
    let mut sites = Vec::new();
    sites.extend(fit.between_sites.as_ref().map(|found| format!("between sites in one visit {}", spread(found))));
    sites.extend(fit.site_year.as_ref().map(|found| format!("of a site's years {}", spread(found))));
    if !sites.is_empty() {
        told.push(format!("SD {}.", sites.join("; ")));
    }
    let both = [("by moments", &fit.k_by_moments), ("by likelihood", &fit.k_by_likelihood)];
    let k = both.iter().filter_map(|(how, found)| {
        let Interval { low, high } = found.as_ref()?.interval_80;
        let k = found.as_ref()?.k;
        Some(format!("{how} {} ({} to {})", number_of_k(k), number_of_k(low), number_of_k(high)))
    });
    let k: Vec<String> = k.collect();
    if !k.is_empty() {
        told.push(format!("k within a site: {}.", k.join(", ")));
    }
    told
}

/// What had to be done to the animals, for people.
pub fn animal_note(note: &AnimalNote) -> String {
    match *note {
        AnimalNote::NoPatches => {
            "Belts of one site vary no more than chance, so no patches are written (few animals cannot show them)."
                .to_owned()
        }
        AnimalNote::PatchesSmaller { scale_m } => format!(
            "With patches of the usual 25 m belts of one site would be too much alike, or sites too different: patches of {} \
             m are written.",
            number(scale_m)
        ),
        AnimalNote::PatchierThanCanBe { k, gives } => format!(
            "Belts of one site differ by more (k {}) than any patches here make them (k {}).",
            three(k),
            three(gives)
        ),
        AnimalNote::SitesStillDiffer { pilot, gives } => format!(
            "The pilot's spread of sites ({}) is less than patches alone give, {}, which is written.",
            tenths(pilot),
            tenths(gives)
        ),
        AnimalNote::SitesLowered { pilot, gives } => format!(
            "The pilot's spread of sites ({}) is more than a scenario may have: {} is written. Two zones, poor sites and rich \
             ones, would say it better.",
            percent(pilot),
            percent(gives)
        ),
        AnimalNote::YearsLowered { pilot, gives } => format!(
            "The pilot's years move a site by more ({}) than sites that differ as the pilot's can move: {} is written.",
            percent(pilot),
            percent(gives)
        ),
    }
}

/// A k for people.
pub fn number_of_k(k: f64) -> String {
    // Counts that vary less than chance have no k either.
    if !(0.0..=1000.0).contains(&k) { "without end".to_owned() } else { three(k) }
}

/// Two that are nearly alike differ in the tenths.
fn tenths(share: f64) -> String {
    if share > 10.0 { percent(share) } else { format!("{:.1} %", 100.0 * share) }
}

fn percent(share: f64) -> String {
    if share > 10.0 { "over 1000 %".to_owned() } else { format!("{:.0} %", 100.0 * share) }
}

/// Three digits.
fn three(value: f64) -> String {
    number(tidy(value))
}
