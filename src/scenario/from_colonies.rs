//! From measured colonies to a study: each number with the pilot as its origin and its uncertainty beside it.

use super::defaults;
use super::from_counts::account_of_spread;
use super::from_pilot::{DEFAULT_RATIO, MOST_SITES, reef_note, study, units, zone_without_reef};
use super::law::lower_site_year;
use super::shown::{number, percent};
use super::write::{Beside, written_spreads};
use crate::analysis::Interval;
use crate::design::{Change, HARD_CORAL, Study, Visits, Zone};
use crate::pilot::colonies::{COVER_LN_SD, ColoniesTaken, ColonyFit, ColonyReef};
use crate::reef::colonies::{ConditionShares, PartialMortality};
use crate::survey::coral_belt::{CoralBelt, Detection};
use crate::survey::{Dimensions, MethodKind, MethodSpec, UnitMinutes};

/// What of the scenario does not follow from the colonies.
#[derive(Clone, Copy, Debug)]
pub struct ColonyPlan<'a> {
    /// Name of the pilot's file.
    pub file: &'a str,
    pub taken: &'a ColoniesTaken,
    /// Years between consecutive visits, and whether the pilot's own names tell them.
    pub years_apart: f64,
    pub years_are_known: bool,
    /// Cover to ask about (a share); nothing: a fall by a fifth.
    pub to: Option<f64>,
}

/// What must be said wherever measured sizes meet the discs of cover.
pub const SIZES_CAUTION: &str = "Measured colonies are not the discs of cover: their dead parts do not count as cover, and \
     measured sizes spread by more than the cover of belts allows.";

/// A study of virtual reefs with the colonies of a pilot, in belts like the pilot's (10 x 1 m where they are not known).
pub fn study_of_colonies(zones: &[(ColonyFit, ColonyReef)], plan: &ColonyPlan) -> (Study, Beside) {
    let mut notes = Notes { plan, beside: Beside::default() };
    let head = format!(
        "Made from the pilot {} by reefwright. What the pilot cannot tell is assumed: `check` lists it. Intervals are \
         those of 80 %.",
        plan.file
    );
    notes.comment("", head);
    notes.comment("", SIZES_CAUTION.to_owned());
    let weight = 1.0 / zones.len() as f64;
    let built: Vec<Zone> =
        zones.iter().enumerate().map(|(index, (fit, reef))| Zone { weight, ..notes.zone(index, fit, reef) }).collect();
    notes.known("visits", "years_apart", plan.years_are_known);
    let visits = Visits::at_new_places(plan.years_apart);
    let tidy = |share: f64| format!("{:.2e}", 100.0 * share).parse::<f64>().unwrap_or(100.0 * share) / 100.0;
    let from = tidy(built.iter().map(|zone| zone.weight * zone.cover).sum());
    let to = plan.to.unwrap_or(tidy(from * DEFAULT_RATIO));
    notes.comment("change[0]", format!("Colonies change with cover: a fall to {} of the bottom.", percent(to)));
    let change = Change { indicator: HARD_CORAL.to_owned(), from, to, differs_between_sites_sd: None, deaths: None };
    let (length_m, width_m) = plan.taken.belt_m.unwrap_or((defaults::LINE_LENGTH_M, 1.0));
    let (lay, read) = defaults::minutes(Dimensions::CoralBelt { length_m, width_m });
    let belt = CoralBelt {
        edge: plan.taken.edge,
        detection: Detection::From { least_m: plan.taken.least_m },
        ruler_m: plan.taken.ruler_m,
    };
    let method = MethodSpec {
        kind: MethodKind::CoralBelt {
            length_m: vec![length_m],
            width_m: vec![width_m],
            belt,
            classes_m: Vec::new(),
            growth_m: defaults::GROWTH_M,
        },
        units: units(),
        minutes: UnitMinutes { lay, read: (read * length_m * width_m / 10.0).max(1.0).round(), ashore: None },
    };
    let mut study = study(plan.file, visits, built, vec![change], method);
    for index in 0..study.zones.len() {
        if lower_site_year(&mut study, index) {
            notes.comment(
                &format!("zone[{index}]"),
                "site_year_points is what the sites of the pilot leave to their years: they differ by little more than a reef \
                 varies along itself."
                    .to_owned(),
            );
        }
    }
    study.also_report = ["colony_median_diameter", "colonies_with_dead_parts"].map(str::to_owned).to_vec();
    (study, notes.beside)
}

/// Gathers origins and comments on the way.
struct Notes<'a> {
    plan: &'a ColonyPlan<'a>,
    beside: Beside,
}

impl Notes<'_> {
    fn comment(&mut self, table: &str, text: String) {
        self.beside.comment(table, text);
    }

    fn known(&mut self, table: &str, key: &str, from_pilot: bool) {
        self.beside.known(table, key, from_pilot.then_some(self.plan.file));
    }

    fn zone(&mut self, index: usize, fit: &ColonyFit, found: &ColonyReef) -> Zone {
        let path = format!("zone[{index}]");
        for sentence in account(fit) {
            self.comment(&path, sentence);
        }
        if found.spread_lowered {
            self.comment(&path, spread_note(fit, found));
        }
        for note in &found.reef.notes {
            self.comment(&path, reef_note(note));
        }
        if fit.sites > MOST_SITES {
            self.comment(&path, format!("The pilot has {} sites; {MOST_SITES} are written to start from.", fit.sites));
        }
        for key in ["sites", "diameter_median_m", "diameter_ln_sd", "diameter_max_m"] {
            self.known(&path, key, true);
        }
        for key in ["cover_percent", "patch_sd", "along_sd"] {
            self.known(&path, key, found.density_told);
        }
        if fit.partial_mortality != PartialMortality::USUAL {
            for key in ["colonies_percent", "dead_percent", "rise_per_doubling"] {
                self.known(&format!("{path}.partial_mortality"), key, true);
            }
        }
        for (key, sd) in written_spreads(&fit.colony_variation) {
            self.known(&format!("{path}.colony_variation"), key, sd > 0.0);
        }
        let told_sites = fit.counts.as_ref().is_some_and(|counts| counts.between_sites.is_some());
        self.known(&path, "between_sites_points", found.density_told && told_sites);
        let name = fit.zone.clone().unwrap_or_else(|| "pilot reefs".to_owned());
        let reef = &found.reef;
        let spread = Some(reef.between_sites_sd).filter(|sd| sd.is_finite());
        let years = fit.counts.as_ref().and_then(|counts| counts.site_year).filter(|_| found.density_told);
        let usual = defaults::site_year_sd(reef.cover, spread);
        // No site moves by more in a year than sites differ.
        let most = spread.map_or(f64::INFINITY, |sd| 0.5 * sd);
        let site_year_sd = years.map_or(usual, |years| (years.share * reef.cover).min(most));
        self.known(&path, "site_year_points", years.is_some());
        let tidy = |share: f64| (share * 1e4).round() / 1e2 / 100.0;
        let bare = zone_without_reef(
            name,
            fit.sites.min(MOST_SITES),
            self.plan.taken.site_m,
            (reef.cover, tidy(site_year_sd).min(most)),
        );
        Zone {
            reef_name: reef.named.to_owned(),
            reef_is_a_range: false,
            reef: reef.reef,
            partial_mortality: fit.partial_mortality,
            condition: ConditionShares::USUAL,
            colony_variation: fit.colony_variation,
            between_sites_sd: spread.unwrap_or(bare.between_sites_sd),
            ..bare
        }
    }
}

/// Why the sizes of the scenario are not those that were measured.
pub fn spread_note(fit: &ColonyFit, found: &ColonyReef) -> String {
    format!(
        "Living parts of colonies have an SD of ln diameter of {}, more than the {COVER_LN_SD} that cover allows: the discs \
         have that spread and a median of {} m, with which number and cover of colonies are as measured; sizes in the \
         answer are narrower than yours.",
        two(fit.living.ln_sd),
        number(found.reef.reef.sizes.median_m)
    )
}

/// What a fit of colonies says, in sentences.
fn account(fit: &ColonyFit) -> Vec<String> {
    let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
    let Interval { low, high } = fit.measured.median_interval(fit.sites, 0.8);
    let mut told = vec![format!(
        "The pilot: {} colonies on {} sites, {visits}. Measured diameters (of the disc of equal area): median {} cm ({} to \
         {}), SD of ln {}, cut at {} cm; their living parts: median {} cm, SD of ln {}.{}",
        fit.colonies,
        fit.sites,
        cm(fit.measured.median_m),
        cm(low),
        cm(high),
        two(fit.measured.ln_sd),
        cm(fit.measured.max_m),
        cm(fit.living.median_m),
        two(fit.living.ln_sd),
        if fit.sites_are_apart() { " Both SDs are those within sites." } else { "" }
    )];
    if let Some((density, Interval { low, high })) = fit.density_per_m2 {
        told.push(format!("{} colonies per m2 ({} to {}).", two(density), two(low), two(high)));
    }
    told.extend(fit.counts.iter().flat_map(account_of_spread));
    told.extend(variation_note(fit));
    told
}

/// How the colonies of the pilot's sites differ beyond chance; `None` where they do not, or sites are too few.
pub fn variation_note(fit: &ColonyFit) -> Option<String> {
    let (sizes, dead) = (fit.colony_variation.ln_diameter, fit.colony_variation.dead_parts);
    if fit.colony_variation.is_none() {
        return None;
    }
    let of_year = |year: String| {
        if fit.visits > 1 { format!(", {year} of it the year of a site") } else { String::new() }
    };
    // An SD of n values is good to 1 / sqrt(2 (n - 1)) of itself.
    let error = 1.0 / (2.0 * (fit.sites as f64 - 1.0)).sqrt();
    let not_told = if fit.visits > 1 { "" } else { " How sites differ from year to year takes a second visit." };
    let points = |share: f64| number((1000.0 * share).round() / 10.0);
    let of_dead = if fit.dead.is_empty() {
        String::new()
    } else {
        let year = of_year(points(dead.site_year));
        format!(", and in the share of colonies with dead parts by {} points{year}", points(dead.between_sites))
    };
    Some(format!(
        "Beyond chance the sites of one visit differ in ln diameter by an SD of {}{}{of_dead} (of {} sites: one error about {} %).{not_told}",
        two(sizes.between_sites),
        of_year(two(sizes.site_year)),
        fit.sites,
        number((100.0 * error).round())
    ))
}

fn cm(metres: f64) -> String {
    format!("{:.1}", 100.0 * metres)
}

fn two(value: f64) -> String {
    number((value * 100.0).round() / 100.0)
}
