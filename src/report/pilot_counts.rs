//! What a pilot of belts found, for the terminal: 80 columns, words of the field.

use super::pilot::paragraph;
use crate::analysis::Interval;
use crate::pilot::counts::{Aggregation, CountFit, Spread};
use crate::scenario::{PilotAnimals, animal_note, number_of_k};

/// The whole account: what was read, what varies by how much, the animals that vary so, warnings with their remedies.
pub fn pilot_counts(file: &str, zones: &[PilotAnimals], left_out: &[String]) -> String {
    let mut out = String::new();
    for zone in zones {
        for (name, fit, animal) in &zone.animals {
            out += &counted(file, name, fit);
            let gives = format!(
                "The virtual animals that vary so: belts like these have k {} within a site, and {:.0} % of them are empty.",
                number_of_k(animal.gives_k),
                100.0 * animal.gives_empty
            );
            out += &paragraph(&gives, "", "");
            for note in &animal.notes {
                out += &paragraph(&animal_note(note), "Note: ", "      ");
            }
            for warning in &fit.warnings {
                out += &paragraph(&format!("{warning}."), "Note: ", "      ");
            }
            out.push('\n');
        }
    }
    for message in left_out {
        out += &paragraph(message, "Left out: ", "          ");
    }
    out
}

fn counted(file: &str, name: &str, fit: &CountFit) -> String {
    let zone = fit.zone.as_ref().map_or(String::new(), |zone| format!(", zone {zone}"));
    let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
    let belts = if fit.fewest_belts == fit.most_belts {
        fit.most_belts.to_string()
    } else {
        format!("{} to {}", fit.fewest_belts, fit.most_belts)
    };
    let head = format!(
        "{file}{zone}: {name}, {} found on {} sites, {visits}, {belts} belts at a site and visit ({} in all, {} m2 each in \
         the mean); {:.0} % of belts are empty.",
        fit.animals,
        fit.sites,
        fit.belts,
        short(fit.area_m2),
        100.0 * fit.empty_belts
    );
    let mut out = paragraph(&head, "", "") + "\n";
    out += &format!("{:<38}{:>7} {:>16} {:>16}\n", "How counts vary", "found", "80 % sure", "95 % sure");
    out += &row("number per 100 m2", short(fit.density_per_100_m2), (fit.density_80, fit.density_95), short);
    out + &spread_rows(fit) + "\n"
}

/// How sites and their years differ, and k.
pub(super) fn spread_rows(fit: &CountFit) -> String {
    let mut out = String::new();
    let spreads =
        [("between sites in one visit (SD, %)", &fit.between_sites), ("a site's own years (SD, %)", &fit.site_year)];
    for (what, found) in spreads {
        if let Some(Spread { share, interval_80, interval_95 }) = *found {
            let percent = |share: f64| if share > 10.0 { "1000+".to_owned() } else { format!("{:.0}", 100.0 * share) };
            out += &row(what, percent(share), (interval_80, interval_95), percent);
        }
    }
    let aggregations =
        [("k of belts of one site, by moments", &fit.k_by_moments), ("k by likelihood", &fit.k_by_likelihood)];
    for (what, found) in aggregations {
        if let Some(Aggregation { k, interval_80, interval_95 }) = *found {
            let k_of = |k: f64| match k {
                1000.0.. => "inf".to_owned(),
                0.001.. => short(k),
                _ => "0".to_owned(),
            };
            out += &row(what, k_of(k), (interval_80, interval_95), k_of);
        }
    }
    out
}

fn row(what: &str, found: String, (sure_80, sure_95): (Interval, Interval), text: impl Fn(f64) -> String) -> String {
    let span = |interval: Interval| format!("{} to {}", text(interval.low), text(interval.high));
    format!("  {what:<36}{found:>7} {:>16} {:>16}\n", span(sure_80), span(sure_95))
}

/// Three digits at most.
pub(super) fn short(value: f64) -> String {
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    rounded.to_string()
}
