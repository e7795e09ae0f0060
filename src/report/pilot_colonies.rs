//! What a pilot of measured colonies found, for the terminal: 80 columns, words of the field.

use super::pilot::paragraph;
use super::pilot_counts::{short, spread_rows};
use crate::analysis::Interval;
use crate::pilot::colonies::{ColonyFit, ColonyReef, DeadClass, SizeFit};
use crate::scenario::{SIZES_CAUTION, reef_note, spread_note, variation_note};
use crate::survey::coral_belt::EdgeRule;

/// The whole account of every zone. `edge` is the rule by which colonies at the edge of a belt were counted.
pub fn pilot_colonies(
    (file, edge, dead_told): (&str, EdgeRule, bool),
    zones: &[(ColonyFit, ColonyReef)],
    left_out: &[String],
) -> String {
    let mut out = String::new();
    for (fit, reef) in zones {
        out += &sizes(file, fit);
        out += &numbers(fit, edge);
        out += &dead(fit);
        if let Some(text) = variation_note(fit) {
            out += &(String::from("\n") + &paragraph(&text, "", ""));
        }
        out += &virtual_reef(fit, reef, dead_told);
        out.push('\n');
    }
    for message in left_out {
        out += &paragraph(message, "Left out: ", "          ");
    }
    out
}

fn sizes(file: &str, fit: &ColonyFit) -> String {
    let zone = fit.zone.as_ref().map_or(String::new(), |zone| format!(", zone {zone}"));
    let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
    let head = format!(
        "{file}{zone}: {} colonies with a size, on {} sites, {visits}, {} belts. Median of the largest diameter {} cm.",
        fit.colonies,
        fit.sites,
        fit.belts,
        cm(fit.median_longest_m)
    );
    let mut out = paragraph(&head, "", "") + "\n";
    out +=
        &format!("{:<42}{:>7}{:>15}{:>15}\n", "Diameter of the disc of equal area", "median", "80 % sure", "SD of ln");
    for (what, law) in [("as measured", &fit.measured), ("living part", &fit.living)] {
        out += &size_row(what, law, fit.sites);
    }
    let within =
        if fit.sites_are_apart() { " SDs are those within sites: what sites differ by is told below." } else { "" };
    out += &paragraph(&format!("{SIZES_CAUTION} The law is cut at {} cm.{within}", cm(fit.measured.max_m)), "", "");
    out
}

fn size_row(what: &str, law: &SizeFit, sites: usize) -> String {
    let Interval { low, high } = law.median_interval(sites, 0.8);
    let spread = if law.ln_sd_error.is_finite() {
        format!("{:.2} +- {:.2}", law.ln_sd, law.ln_sd_error)
    } else {
        format!("{:.2}", law.ln_sd)
    };
    format!(
        "  {:<40}{:>7}{:>15}{spread:>15}\n",
        format!("{what}, cm"),
        cm(law.median_m),
        format!("{} to {}", cm(low), cm(high))
    )
}

fn numbers(fit: &ColonyFit, edge: EdgeRule) -> String {
    let Some(counts) = &fit.counts else {
        let text = "How many there are per m2 is not told: that takes the size of a belt (--length and --width), the column \
                    that names it (--line), and two belts or more at a site.";
        return String::from("\n") + &paragraph(text, "", "");
    };
    let mut out = format!("\n{:<42}{:>7}{:>15}{:>15}\n", "How numbers vary", "found", "80 % sure", "95 % sure");
    if let Some((density, sure)) = fit.density_per_m2 {
        let span = format!("{} to {}", short(sure.low), short(sure.high));
        out += &format!("  {:<40}{:>7}{span:>15}\n", "colonies per m2", short(density));
    }
    out += &spread_rows(counts);
    if (fit.edge_factor - 1.0).abs() > 5e-4 {
        let text = format!(
            "The edge rule {} counts {:.3} colonies for each that has its centre in the belt, at these sizes; density and \
             sizes are corrected for it.",
            edge.name(),
            fit.edge_factor
        );
        out += &paragraph(&text, "", "");
    }
    for warning in &counts.warnings {
        out += &paragraph(&format!("{warning}."), "Note: ", "      ");
    }
    out
}

fn dead(fit: &ColonyFit) -> String {
    if fit.dead.is_empty() {
        return String::new();
    }
    let mut out =
        format!("\n{:<42}{:>7}{:>15}{:>15}\n", "Dead parts by largest diameter", "number", "% with any", "mean % dead");
    for DeadClass { from_m, to_m, colonies, with_dead_parts, mean_dead } in &fit.dead {
        let class = match (*from_m, *to_m) {
            (0.0, to) => format!("under {:.0} cm", 100.0 * to),
            (from, f64::INFINITY) => format!("{:.0} cm and more", 100.0 * from),
            (from, to) => format!("{:.0} to {:.0} cm", 100.0 * from, 100.0 * to),
        };
        out += &format!("  {class:<40}{colonies:>7}{:>15.0}{:>15.0}\n", 100.0 * with_dead_parts, 100.0 * mean_dead);
    }
    if let Some((rise, error)) = fit.dead_per_doubling {
        let (with_any, dead) = fit.partial_mortality.at_reference();
        let text = format!(
            "The log odds of having dead parts rise by {rise:.2} (one error {error:.2}) with every doubling of the diameter. \
             Virtual colonies follow: of those of 15 cm {:.0} in 100 have dead parts, and these are dead on {:.0} % of their \
             area in the mean.",
            100.0 * with_any,
            100.0 * dead
        );
        out += &paragraph(&text, "", "");
    }
    if let Some((live, error)) = fit.live_share {
        let text = format!(
            "A colony is alive on {:.0} % of its area in the mean (one error {:.1}).",
            100.0 * live,
            100.0 * error
        );
        out += &paragraph(&text, "", "");
    }
    out
}

fn virtual_reef(fit: &ColonyFit, found: &ColonyReef, dead_told: bool) -> String {
    let reef = &found.reef;
    let sizes = reef.reef.sizes;
    let cover = if found.density_told {
        format!("{:.1} % of the bottom, which these colonies cover alive", 100.0 * reef.cover)
    } else {
        format!("a cover of {:.0} %, which is assumed", 100.0 * reef.cover)
    };
    let text = format!(
        "The virtual reef with these colonies: {} with discs of median {} cm and SD of ln {}, patch_sd {}, {cover}.",
        reef.named,
        cm(sizes.median_m),
        sizes.ln_sd,
        reef.reef.patch.sd
    );
    let mut out = String::from("\n") + &paragraph(&text, "", "");
    if found.spread_lowered {
        out += &paragraph(&spread_note(fit, found), "Note: ", "      ");
    }
    if !dead_told {
        let text = "dead parts are not told; living parts are those of colonies of this size in open records of the Virgin \
                    Islands. Name the columns with --dead to use yours.";
        out += &paragraph(text, "Note: ", "      ");
    }
    for note in &reef.notes {
        out += &paragraph(&reef_note(note), "Note: ", "      ");
    }
    out
}

fn cm(metres: f64) -> String {
    format!("{:.1}", 100.0 * metres)
}
