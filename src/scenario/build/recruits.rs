use super::animals::{needs_groups, needs_patches, note_patches, patches, shared};
use crate::design::Recruits;
use crate::reef::{AnimalSpec, BetweenSites, Groups, Sizes};
use crate::scenario::defaults;
use crate::scenario::file::{CategoryTable, RecruitsTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};

/// The recruits of a zone, by their table; `years` between the visits.
pub fn build(
    (zone, path): (&str, &str),
    (table, categories): (&RecruitsTable, &[CategoryTable]),
    years: f64,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Recruits {
    let between_sites = shared(table.between_sites_percent, defaults::RECRUIT_BETWEEN_SITES);
    let site_year = shared(table.site_year_percent, defaults::RECRUIT_SITE_YEAR.min(0.5 * between_sites));
    let spread_m = table.group_spread_m.map_or(defaults::GROUP_SPREAD_M, |spread| spread.get());
    let groups = table.group_size.map(|size| Groups { mean_size: size.get(), spread_m });
    let told = ("recruits", path, table.patch_sd, table.patch_k, table.patch_scale_m);
    let patches = patches(told, problems);
    needs_patches(told, problems);
    needs_groups(path, (table.group_size.is_some(), table.group_spread_m.is_some()), problems);
    let under = shared(table.under_2_cm_percent, defaults::RECRUITS_UNDER_2_CM);
    let stays = shared(table.still_recruits_percent, defaults::still_recruits(years));
    let usual =
        || categories.iter().map(|category| &category.name).filter(|name| defaults::is_soft_bottom(name)).cloned();
    let cannot_live_on = table.cannot_live_on.clone().unwrap_or_else(|| usual().collect());
    let mut note = |key: &str, what: &str, written: bool, value: String| {
        let about = format!("{zone}: {what} of recruits");
        ledger.note(path, key, about, Noted::when(written, value), &table.source);
    };
    let density = number(table.density_per_m2.get());
    note("density_per_m2", "density", true, format!("{density} per m2 of free hard bottom"));
    note("under_2_cm_percent", "share under 2 cm", table.under_2_cm_percent.is_some(), percent(under));
    note(
        "between_sites_percent",
        "spread between sites",
        table.between_sites_percent.is_some(),
        percent(between_sites),
    );
    note("site_year_percent", "spread of a site's years", table.site_year_percent.is_some(), percent(site_year));
    match groups {
        Some(groups) => {
            note("group_size", "group size", true, number(groups.mean_size));
            note("group_spread_m", "group spread", table.group_spread_m.is_some(), format!("{} m", number(spread_m)));
        }
        None => note("group_size", "group size", false, "they live alone".into()),
    }
    note_patches(patches, (table.patch_sd.is_some(), table.patch_scale_m.is_some()), &mut note);
    let what = "share that is in place and still small at the second visit";
    note("still_recruits_percent", what, table.still_recruits_percent.is_some(), percent(stays));
    let kinds = if cannot_live_on.is_empty() { "none".to_owned() } else { cannot_live_on.join(", ") };
    note("cannot_live_on", "kinds of bottom without any", table.cannot_live_on.is_some(), kinds);
    let spec = AnimalSpec {
        density_per_m2: table.density_per_m2.get(),
        groups,
        patches,
        between_sites: BetweenSites::Share(between_sites),
        site_year: BetweenSites::Share(site_year),
        hidden: 0.0,
        sizes: Sizes::Classes(vec![under, 1.0 - under]),
        stays,
    };
    Recruits { spec, cannot_live_on }
}
