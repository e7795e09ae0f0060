use crate::design::Study;
use crate::scenario::problems::Problems;

/// Most designs of one scenario.
const MOST_DESIGNS: usize = 20_000;

/// Numbers of sites x changes x dimensions x numbers of units: few enough to be computed.
pub fn check(study: &Study, problems: &mut Problems) {
    let per_site_number: usize = study.methods.iter().map(|m| m.kind.dimensions().len() * m.units.len()).sum();
    let site_numbers = study.zones.iter().map(|zone| zone.sites.len()).max().unwrap_or(1);
    let designs = per_site_number * site_numbers * study.changes.len().max(1);
    if designs > MOST_DESIGNS {
        let message = format!(
            "{designs} designs: {site_numbers} numbers of sites, {} changes, {per_site_number} ways to read a site",
            study.changes.len()
        );
        let remedy =
            "Compare fewer numbers of sites, units, lengths or spacings; the smallest n is found between them.";
        problems.add("method", message, format!("at most {MOST_DESIGNS}"), remedy);
    }
}
