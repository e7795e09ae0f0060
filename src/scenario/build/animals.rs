use super::share;
use crate::design::Animal;
use crate::reef::{AnimalPatches, AnimalSpec, BetweenSites, Groups, PatchLaw, Sizes};
use crate::scenario::defaults;
use crate::scenario::file::AnimalTable;
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::number::{AnimalPatchScale, Kind, LnSd, Number, PatchK};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};

/// One kind of animal of a zone, by its table.
pub fn build((zone, path): (&str, &str), table: &AnimalTable, problems: &mut Problems, ledger: &mut Ledger) -> Animal {
    let between_sites = shared(table.between_sites_percent, defaults::ANIMAL_BETWEEN_SITES);
    let site_year = shared(table.site_year_percent, defaults::ANIMAL_SITE_YEAR.min(0.5 * between_sites));
    let spread_m = table.group_spread_m.map_or(defaults::GROUP_SPREAD_M, |spread| spread.get());
    let groups = table.group_size.map(|size| Groups { mean_size: size.get(), spread_m });
    let told = (table.name.as_str(), path, table.patch_sd, table.patch_k, table.patch_scale_m);
    let patches = patches(told, problems);
    needs_patches(told, problems);
    needs_groups(path, (table.group_size.is_some(), table.group_spread_m.is_some()), problems);
    let sizes = match table.commercial_percent {
        Some(percent) => Sizes::commercial(share(percent.get())),
        None => Sizes::one_class(),
    };
    let hidden = shared(table.hidden_percent, 0.0);
    let stays = shared(table.stays_percent, 0.0);
    let mut note = |key: &str, what: &str, written: bool, value: String| {
        let about = format!("{zone}: {what} of {}", table.name);
        ledger.note(path, key, about, Noted::when(written, value), &table.source);
    };
    let density = number(table.density_per_100_m2.get());
    note("density_per_100_m2", "density", true, format!("{density} per 100 m2"));
    note(
        "between_sites_percent",
        "spread between sites",
        table.between_sites_percent.is_some(),
        percent(between_sites),
    );
    note("site_year_percent", "spread of a site's years", table.site_year_percent.is_some(), percent(site_year));
    if let Some(groups) = groups {
        note("group_size", "group size", true, number(groups.mean_size));
        note("group_spread_m", "group spread", table.group_spread_m.is_some(), format!("{} m", number(spread_m)));
    } else {
        note("group_size", "group size", false, "they live alone".into());
    }
    note_patches(patches, (table.patch_sd.is_some(), table.patch_scale_m.is_some()), &mut note);
    note("hidden_percent", "share not seen by day", table.hidden_percent.is_some(), percent(hidden));
    note("stays_percent", "share that stays in place", table.stays_percent.is_some(), percent(stays));
    if let Some(commercial) = table.commercial_percent {
        note("commercial_percent", "share of commercial size", true, percent(share(commercial.get())));
    }
    let spec = AnimalSpec {
        density_per_m2: table.density_per_100_m2.get() / 100.0,
        groups,
        patches,
        between_sites: BetweenSites::Share(between_sites),
        site_year: BetweenSites::Share(site_year),
        hidden,
        sizes,
        stays,
    };
    Animal { name: table.name.clone(), spec }
}

/// Tells the patches, or that there are none; `written`: whether their SD and their scale are.
pub fn note_patches(
    patches: Option<AnimalPatches>,
    (sd_written, scale_written): (bool, bool),
    mut note: impl FnMut(&str, &str, bool, String),
) {
    let Some(patches) = patches else { return note("patch_sd", "patches", sd_written, "none".into()) };
    match patches.law {
        PatchLaw::LogNormal { ln_sd } => note("patch_sd", "SD of ln density in patches", true, number(ln_sd)),
        PatchLaw::Gamma { k } => note("patch_k", "k of patches", true, number(k)),
        // Told with the power of the coral's density that makes them.
        PatchLaw::OfCoral { .. } => return,
    }
    note("patch_scale_m", "patch scale", scale_written, format!("{} m", number(patches.scale_m)));
}

/// Name, path of the table, SD of ln density, k and scale, as written.
type WrittenPatches<'a> =
    (&'a str, &'a str, Option<Number<LnSd>>, Option<Number<PatchK>>, Option<Number<AnimalPatchScale>>);

/// A scale says nothing without patches.
pub fn needs_patches((_, path, sd, k, scale): WrittenPatches, problems: &mut Problems) {
    if sd.is_none() && k.is_none() {
        problems.needs(path, "patch_sd (or patch_k)", "patches", &[("patch_scale_m", scale.is_some())]);
    }
}

/// A spread says nothing without groups; whether size and spread are written.
pub fn needs_groups(path: &str, (size, spread): (bool, bool), problems: &mut Problems) {
    if !size {
        problems.needs(path, "group_size", "groups", &[("group_spread_m", spread)]);
    }
}

/// Patches by one of their two tellings.
pub fn patches((name, path, sd, k, scale): WrittenPatches, problems: &mut Problems) -> Option<AnimalPatches> {
    if k.is_some() && sd.is_some() {
        let message = format!("{name}: patches are told by patch_sd and by patch_k");
        problems.add(&format!("{path}.patch_k"), message, "one of the two", "Take one of them out.");
    }
    let scale_m = scale.map_or(defaults::ANIMAL_PATCH_SCALE_M, |scale| scale.get());
    let law = match (k, sd.map(|sd| sd.get()).filter(|sd| *sd > 0.0)) {
        (Some(k), _) => PatchLaw::Gamma { k: k.get() },
        (None, Some(ln_sd)) => PatchLaw::LogNormal { ln_sd },
        (None, None) => return None,
    };
    Some(AnimalPatches { law, scale_m })
}

pub fn shared<K: Kind>(written: Option<Number<K>>, usual: f64) -> f64 {
    written.map_or(usual, |percent| share(percent.get()))
}
