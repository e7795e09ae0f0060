use crate::design::{Animal, HARD_CORAL, MapScale, Zone, ZoneMap};
use crate::reef::map::{ColonyMap, MOST_KINDS, MapItems, MappedDisc, Mosaic, ReefMap};
use crate::reef::{AnimalSpec, BetweenSites, Category, Patchiness, ReefSpec, SizeLaw, Sizes};
use crate::scenario::file::{MapTable, ZoneTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::load::ReadFile;
use crate::scenario::map::{MapProblem, is_picture, read_list, read_picture};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};
use crate::scenario::source::Source;
use crate::scenario::{Origin, defaults};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The name of the reef of a mapped zone.
const MAPPED: &str = "mapped";

/// A zone that is one mapped reef: the map tells all that the reef of another zone is told to be.
pub fn zone(
    (name, path): (&str, &str),
    (table, map): (&ZoneTable, &MapTable),
    (weight, files): (f64, &ReadFile),
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Zone {
    refuse_other_keys(table, path, problems);
    let mut refuse = |file: &str, problem: MapProblem| {
        let key = format!("{path}.{}", problem.key);
        problems.add(&key, format!("{file}: {}", problem.message), problem.allowed, problem.remedy);
    };
    let read_file = |file: &str| read((table, map, file), files);
    let read = read_file(&map.file);
    let is_read = read.is_ok();
    let (scale, reef) = read.unwrap_or_else(|problem| {
        refuse(&map.file, problem);
        harmless(table, map)
    });
    let read_later = |file: &str| {
        if is_picture(file) != is_picture(&map.file) {
            return Err(MapProblem {
                key: "map.file",
                message: "one map is a picture, the other a list".into(),
                allowed: "of the kind of file".into(),
                remedy: "Two pictures, or two lists, can be compared.".into(),
            });
        }
        read_file(file).and_then(|(_, later)| fits(&reef, later))
    };
    let later = map.file_after.as_ref().filter(|_| is_read).and_then(|file| match read_later(file) {
        Ok(later) => Some((file.clone(), Arc::new(later))),
        Err(problem) => {
            let key = if problem.key == "map.file" { "map.file_after" } else { problem.key };
            refuse(file, MapProblem { key, ..problem });
            None
        }
    });
    let zone = mapped_zone(name, weight, ZoneMap { file: map.file.clone(), scale, map: Arc::new(reef), later });
    if is_read {
        check_size(table, &zone, path, problems);
    }
    note(&zone, map, path, ledger);
    zone
}

/// In place of a map that cannot be read: the study is refused, and nothing else shall be wrong because of it.
fn harmless(table: &ZoneTable, map: &MapTable) -> (MapScale, ReefMap) {
    if is_picture(&map.file) {
        let mut names: Vec<String> = map.legend.values().filter(|name| *name != HARD_CORAL).cloned().collect();
        names.dedup();
        names.truncate(MOST_KINDS - 1);
        let mosaic = Mosaic::new(1, defaults::SITE_LENGTH_M, names, vec![0]);
        return (MapScale::Picture { pixel_m: 1.0, legend: BTreeMap::new() }, ReefMap::Mosaic(mosaic));
    }
    let length = table.length_m.map_or(defaults::SITE_LENGTH_M, |length| length.get());
    let width = table.width_m.map_or(defaults::SITE_WIDTH_M, |width| width.get());
    let disc = MappedDisc { x: 0.5 * length, y: 0.5 * width, radius: 0.1 };
    (
        MapScale::List { metres_per_unit: 1.0 },
        ReefMap::Colonies(ColonyMap::new((length, width), vec![disc], Vec::new())),
    )
}

/// The map's own numbers: no law, no spreads.
fn mapped_zone(name: &str, weight: f64, map: ZoneMap) -> Zone {
    let (length_m, width_m) = map.map.size_m();
    let (categories, animals, largest_m) = match &*map.map {
        ReefMap::Mosaic(mosaic) => {
            let covers = mosaic.covers();
            let category = |(name, cover): (&String, &f64)| Category {
                name: name.clone(),
                cover: *cover,
                between_sites_sd: 0.0,
                scale_m: mosaic.pixel_m(),
            };
            (mosaic.categories().iter().zip(&covers[1..]).map(category).collect(), Vec::new(), 0.0)
        }
        ReefMap::Colonies(colonies) => {
            let animal = |kind: &MapItems| Animal {
                name: kind.name.clone(),
                spec: AnimalSpec {
                    density_per_m2: kind.places.len() as f64 / (length_m * width_m),
                    groups: None,
                    patches: None,
                    between_sites: BetweenSites::LnSd(0.0),
                    site_year: BetweenSites::LnSd(0.0),
                    hidden: 0.0,
                    sizes: Sizes::one_class(),
                    stays: 1.0,
                },
            };
            let animals = colonies.animals.iter().map(animal).collect();
            (Vec::new(), animals, 2.0 * colonies.largest_radius_m())
        }
    };
    let none = |scale_m| Patchiness { sd: 0.0, scale_m };
    // Of a map only the size of its largest colony is asked for.
    let reef = ReefSpec {
        sizes: SizeLaw { median_m: 0.5 * largest_m, ln_sd: 0.5, max_m: largest_m },
        patch: none(1.0),
        along: none(60.0),
    };
    let cover = map.map.coral_cover();
    Zone {
        name: name.to_owned(),
        weight,
        reef_name: MAPPED.to_owned(),
        categories,
        animals,
        map: Some(map),
        ..Zone::bare(reef, (length_m, width_m), cover)
    }
}

/// Keys that speak of reefs that are made by a law.
fn refuse_other_keys(table: &ZoneTable, path: &str, problems: &mut Problems) {
    let written = [
        ("sites", table.sites.is_some()),
        ("existing", table.existing.is_some()),
        ("same_places_as", table.same_places_as.is_some()),
        ("place_correlation", table.place_correlation.is_some()),
        ("reef", table.reef.is_some()),
        ("diameter_median_m", table.diameter_median_m.is_some()),
        ("diameter_ln_sd", table.diameter_ln_sd.is_some()),
        ("diameter_max_m", table.diameter_max_m.is_some()),
        ("patch_sd", table.patch_sd.is_some()),
        ("patch_scale_m", table.patch_scale_m.is_some()),
        ("along_sd", table.along_sd.is_some()),
        ("along_scale_m", table.along_scale_m.is_some()),
        ("cover_percent", table.cover_percent.is_some()),
        ("between_sites_points", table.between_sites_points.is_some()),
        ("site_year_points", table.site_year_points.is_some()),
        ("year_points", table.year_points.is_some()),
        ("partial_mortality", table.partial_mortality.is_some()),
        ("condition", table.condition.is_some()),
        ("colony_variation", table.colony_variation.is_some()),
        ("category", !table.category.is_empty()),
        ("animal", !table.animal.is_empty()),
        ("recruits", table.recruits.is_some()),
        ("fish", !table.fish.is_empty()),
    ];
    for (key, _) in written.into_iter().filter(|(_, is_written)| *is_written) {
        let message = "the reef of this zone is a map, which tells that itself";
        let remedy = "Take it out (recruits are the colonies under 4 cm of a list; fish are not told by maps), or take [zone.map] out.";
        problems.add(&format!("{path}.{key}"), message, "not beside a map", remedy);
    }
}

/// A later map that can stand beside the first one.
fn fits(first: &ReefMap, later: ReefMap) -> Result<ReefMap, MapProblem> {
    let refuse = |message: String, allowed: String, remedy: &str| {
        Err(MapProblem { key: "map.file", message, allowed, remedy: remedy.into() })
    };
    match (first, &later) {
        (ReefMap::Colonies(first), ReefMap::Colonies(second)) => {
            let is_new = |kind: &&MapItems| !first.animals.iter().any(|known| known.name == kind.name);
            if let Some(kind) = second.animals.iter().find(is_new) {
                let message = format!("{} is on the later map alone", kind.name);
                let remedy =
                    "Take its rows out, or correct the name: what was never there has no change in proportion.";
                return refuse(message, "the animals of the first map".into(), remedy);
            }
        }
        (ReefMap::Mosaic(first), ReefMap::Mosaic(second)) => {
            let ((columns, rows), found) = (first.pixels(), second.pixels());
            if found != (columns, rows) {
                let message =
                    format!("the later picture has {} x {} pixels, the first {columns} x {rows}", found.0, found.1);
                let remedy = "Cut both to the same piece of reef, with pixels of one size.";
                return refuse(message, format!("{columns} x {rows} pixels"), remedy);
            }
        }
        // Files of two kinds are refused before they are read.
        _ => {}
    }
    Ok(later)
}

fn read(
    (table, map, file): (&ZoneTable, &MapTable, &str),
    files: &ReadFile,
) -> Result<(MapScale, ReefMap), MapProblem> {
    let in_map = |problem: MapProblem| MapProblem { key: in_table(problem.key), ..problem };
    let bytes = files(file).map_err(|why| MapProblem {
        key: "map.file",
        message: why,
        allowed: "cannot be read".into(),
        remedy: "Write the name of a file beside the scenario, or its path from the scenario's folder.".into(),
    })?;
    let refuse = |key, message: &str, remedy: &str| {
        Err(MapProblem { key, message: message.into(), allowed: "not here".into(), remedy: remedy.into() })
    };
    if is_picture(file) {
        if map.metres_per_unit.is_some() {
            return refuse("map.metres_per_unit", "a picture has pixels", "Write pixel_cm or picture_m instead.");
        }
        let pixel_m = match (map.pixel_cm, map.picture_m) {
            (Some(side), None) => side.get() / 100.0,
            (None, Some(length)) => length.get() / picture_columns(&bytes).unwrap_or(1) as f64,
            _ => {
                let message = "how large the picture is must be told in one way";
                let remedy = "Write pixel_cm = 1 (the side of a pixel), or picture_m = 40 (its length), not both.";
                return refuse("map.file", message, remedy);
            }
        };
        let mosaic = read_picture(&bytes, pixel_m, &map.legend).map_err(in_map)?;
        return Ok((MapScale::Picture { pixel_m, legend: map.legend.clone() }, ReefMap::Mosaic(mosaic)));
    }
    if map.pixel_cm.is_some() || map.picture_m.is_some() || !map.legend.is_empty() {
        let remedy = "Take pixel_cm, picture_m and legend out, or name a picture that ends in .png.";
        return refuse("map.file", "a list of places has no pixels and no colours", remedy);
    }
    let (Some(length), Some(width)) = (table.length_m, table.width_m) else {
        let remedy = "Write length_m and width_m of the zone: the rectangle that was mapped, from (0, 0).";
        return refuse("map.file", "how large the mapped rectangle is, is not told", remedy);
    };
    let metres_per_unit = map.metres_per_unit.map_or(1.0, |scale| scale.get());
    let list = read_list(&bytes, metres_per_unit, (length.get(), width.get())).map_err(in_map)?;
    Ok((MapScale::List { metres_per_unit }, ReefMap::Colonies(list)))
}

/// The key of a map's table from the zone's.
fn in_table(key: &'static str) -> &'static str {
    match key {
        "legend" => "map.legend",
        _ => "map.file",
    }
}

/// Columns of a PNG: big-endian in bytes 16 to 19.
fn picture_columns(bytes: &[u8]) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(16..20)?.try_into().ok()?)).filter(|columns| *columns > 0)
}

/// Sizes that are written beside a picture must be its own; a map must have the size of a site.
fn check_size(table: &ZoneTable, zone: &Zone, path: &str, problems: &mut Problems) {
    let written = [
        ("length_m", table.length_m.map(|length| length.get()), zone.length_m, 2.0),
        ("width_m", table.width_m.map(|width| width.get()), zone.width_m, 1.0),
    ];
    for (key, written, own, least) in written {
        let key = format!("{path}.{key}");
        if written.is_some_and(|written| (written - own).abs() > 0.005 * own) {
            let message = format!("the map is {} m there", number(own));
            problems.add(
                &key,
                message,
                format!("{} m", number(own)),
                "Take it out: the map tells it; or correct its scale.",
            );
        } else if !(least..=2000.0).contains(&own) {
            let message = format!("the map is {} m there", number(own));
            let allowed = format!("{least} to 2000 m");
            problems.add(&key, message, allowed, "Correct pixel_cm, picture_m or metres_per_unit.");
        }
    }
}

/// What the map tells, as one item; it comes from where the map does.
fn note(zone: &Zone, map: &MapTable, path: &str, ledger: &mut Ledger) {
    let Some(own) = &zone.map else { return };
    let source = map.source.clone().unwrap_or(Source::All(Origin::Pilot(map.file.clone())));
    let about = format!("{}: the reef, as mapped", zone.name);
    let value = format!("{}, hard coral {}", own.label(), percent((zone.cover * 1e4).round() / 1e4));
    ledger.note(&format!("{path}.map"), "file", about, Noted::Written(value), &Some(source));
}
