//! What a pilot found, for the terminal: 80 columns, words of the field.

use super::words::sentence;
use crate::analysis::Interval;
use crate::pilot::{
    CalibratedVisits, Component, Marks, PilotData, PilotFit, PilotFits, PilotReefs, SameMark, TableDoubt, ZoneReef,
};
use crate::scenario::{reef_note, wrapped, years_note};
use crate::survey::Dimensions;

/// The whole account: what was read, what varies by how much, the reef that varies so, warnings with their remedies.
pub fn pilot(data: &PilotData, fits: &PilotFits, reefs: &PilotReefs, read_as: Dimensions) -> String {
    let mut out = what_was_read(data, read_as);
    for fit in &fits.zones {
        out += &zone(fit, data.same_marks);
        let of_zone = |name: &Option<String>| *name == fit.zone;
        if let Some(found) = reefs.zones.iter().find(|zone| of_zone(&zone.zone)) {
            out += &reef(found, reefs.visits.as_ref());
        }
        if let Some(without) = reefs.without.iter().find(|zone| of_zone(&zone.zone)) {
            out += &paragraph(&format!("No virtual reef varies as these lines do: {}.", without.reason), "", "");
        }
        for warning in &fit.warnings {
            out += &paragraph(&format!("{warning}."), "Note: ", "      ");
        }
        out.push('\n');
    }
    for message in &fits.left_out {
        out += &paragraph(message, "Left out: ", "          ");
    }
    out
}

/// What is doubtful in a pilot table.
pub fn pilot_doubts(doubts: &[TableDoubt]) -> String {
    let told = doubts.iter().map(|doubt| {
        let text = doubt.to_string();
        paragraph(&format!("{}{}", sentence(&text), if text.ends_with('?') { "" } else { "." }), "Is it meant? ", "  ")
    });
    let told: String = told.collect();
    if told.is_empty() { told } else { told + "\n" }
}

fn what_was_read(data: &PilotData, read_as: Dimensions) -> String {
    let left_out = match data.missing {
        0 => String::new(),
        1 => "; 1 row without a value left out".to_owned(),
        rows => format!("; {rows} rows without a value left out"),
    };
    let rows = if data.rows == 1 { "1 row".to_owned() } else { format!("{} rows", data.rows) };
    let marks = if data.same_marks { ", on the same marks at every visit" } else { "" };
    let read = match read_as {
        Dimensions::PointIntercept { length_m, spacing_m } => {
            format!("lines of {length_m} m, {} points {} m apart", read_as.points().unwrap_or(0), two(spacing_m))
        }
        Dimensions::PhotoBelt { length_m, width_m, points } => {
            format!("photo belts of {length_m} x {width_m} m, {points} points each")
        }
        Dimensions::LineIntercept { length_m } => format!("lines of {length_m} m, read all along"),
        other => other.label(),
    };
    paragraph(&format!("{}: {rows} read{left_out}. Taken as {read}{marks}.", data.file), "", "") + "\n"
}

fn zone(fit: &PilotFit, same_marks: bool) -> String {
    let name = fit.zone.as_ref().map_or(String::new(), |zone| format!("Zone {zone}: "));
    let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
    let lines = if fit.fewest_lines == fit.most_lines {
        fit.most_lines.to_string()
    } else {
        format!("{} to {}", fit.fewest_lines, fit.most_lines)
    };
    let head = format!(
        "{name}{} sites, {visits}, {lines} lines at a site and visit ({} in all). Mean cover {} %, give or take {} points \
         (one standard error).",
        fit.sites,
        fit.lines,
        points(fit.mean),
        points(fit.mean_error)
    );
    let mut out = paragraph(&head, "", "") + "\n";
    out += &format!(
        "{:<42}{:>7}{:>15}{:>15}\n",
        "How cover varies (SD, points of cover)", "found", "80 % sure", "95 % sure"
    );
    let sites = if fit.site_year.is_some() { "between sites" } else { "between sites, their years included" };
    out += &component(sites, &fit.between_sites);
    let more = [("a site's own years", &fit.site_year), ("years shared by all sites", &fit.year)];
    out +=
        &more.iter().filter_map(|(what, found)| found.as_ref().map(|found| component(what, found))).collect::<String>();
    out += &component("between lines of one site", &fit.between_lines);
    if let Some(staying) = &fit.line_in_site {
        out += &component("  of it, what stays with the mark", staying);
    }
    if let Some(counting) = fit.counting_sd {
        out += &format!("{:<42}{:>7}\n", "  of it, counting, were points independent", points(counting));
    }
    out += &effective_points(fit);
    if same_marks && !fit.correlation_by_lag.is_empty() {
        out += &format!(
            "\n{:<42}{:>7}{:>15}{:>15}\n",
            "Correlation of lines on the same marks", "found", "80 % sure", "pairs"
        );
        out += &fit.correlation_by_lag.iter().map(same_mark).collect::<String>();
    }
    out
}

fn component(what: &str, found: &Component) -> String {
    let span = |interval: Interval| format!("{} to {}", points(interval.low), points(interval.high));
    format!("  {what:<40}{:>7}{:>15}{:>15}\n", points(found.sd), span(found.interval_80), span(found.interval_95))
}

fn effective_points(fit: &PilotFit) -> String {
    if !fit.effective_points_per_line.is_finite() {
        return String::new();
    }
    let read = fit.points_per_line.map_or(String::new(), |points| format!(" of {points:.0} points"));
    let Interval { low, high } = fit.effective_points_80;
    let text = format!(
        "A line{read} tells as much about its site as {:.0} points thrown at random on it ({low:.0} to {high:.0}, 80 % sure).",
        fit.effective_points_per_line
    );
    paragraph(&text, "", "")
}

fn same_mark(found: &SameMark) -> String {
    let plural = |count: &str| if count == "1" { "" } else { "s" };
    let visits = found.visits_apart.to_string();
    let years = found.years_apart.map(two);
    let years = years.map_or(String::new(), |years| format!(" ({years} year{})", plural(&years)));
    let what = format!("{visits} visit{}{years} apart", plural(&visits));
    let Interval { low, high } = found.interval_80;
    let span = format!("{low:.2} to {high:.2}");
    format!("  {what:<40}{:>7.2}{span:>15}{:>15}\n", found.correlation, found.pairs)
}

fn reef(found: &ZoneReef, visits: Option<&CalibratedVisits>) -> String {
    let spec = &found.reef.reef;
    let mut text = format!(
        "The virtual reef that varies so: {} with patch_sd {}; whole sites differ by SD {} points in one visit",
        found.reef.named,
        spec.patch.sd,
        points(found.reef.between_sites_sd)
    );
    if let Some(visits) = visits.filter(|visits| visits.marks != Marks::NotObserved) {
        text += &format!("; tapes are laid again within {} m", visits.visits.relay_sd_m);
    }
    let mut out = String::from("\n") + &paragraph(&(text + "."), "", "");
    for note in &found.reef.notes {
        out += &paragraph(&reef_note(note), "Note: ", "      ");
    }
    let apart = visits.map_or(1.0, |visits| visits.visits.years_apart);
    if let Some(note) = years_note(found, apart) {
        out += &paragraph(&note, "Note: ", "      ");
    }
    out
}

pub(super) fn paragraph(text: &str, first: &str, later: &str) -> String {
    let mut out = String::new();
    for (place, line) in wrapped(text, 80 - first.len().max(later.len())).lines().enumerate() {
        out += &format!("{}{line}\n", if place == 0 { first } else { later });
    }
    out
}

fn points(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

fn two(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0)
}
