use super::fish_lists::FishLists;
use super::{Frame, animals, colony_variation, condition, fish, partial_mortality, recruits, share};
use crate::design::{Animal, FishGroup, Recruits, SamePlaces, Scope, Zone};
use crate::measures::gathered;
use crate::reef::{Category, NamedReef, Patchiness, ReefSpec, SizeLaw};
use crate::scenario::file::{CategoryTable, ScenarioFile, ZoneTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent, points};
use crate::scenario::source::Source;
use crate::scenario::word::ReefChoice;
use crate::scenario::{Origin, defaults};

/// The zones of a file with their weights.
pub fn build(file: &ScenarioFile, frame: Frame, problems: &mut Problems, ledger: &mut Ledger) -> Vec<Zone> {
    if file.zone.is_empty() {
        let remedy = "Add a [[zone]] with at least sites = 8 and cover_percent = 28.";
        problems.add("zone", "there is no zone", "at least one [[zone]]", remedy);
    }
    let weights = weights(file, problems);
    let lists = &FishLists::new(frame.files);
    let tables = file.zone.iter().zip(weights).enumerate();
    tables
        .map(|(index, (table, weight))| Builder { file, frame, lists, table, index }.zone(weight, problems, ledger))
        .collect()
}

/// Shares of the zones: as written, or equal where none is.
fn weights(file: &ScenarioFile, problems: &mut Problems) -> Vec<f64> {
    let written: Vec<f64> = file.zone.iter().filter_map(|zone| zone.weight).map(|weight| weight.get()).collect();
    let equal = vec![1.0 / file.zone.len() as f64; file.zone.len()];
    if written.is_empty() {
        return equal;
    }
    if written.len() < file.zone.len() {
        let without = file.zone.iter().position(|zone| zone.weight.is_none()).unwrap_or(0);
        let message = "this zone has no weight, while others have one";
        let remedy = "Write weight in every zone, or in none (then all weigh the same).";
        problems.add(&format!("zone[{without}].weight"), message, "all zones or none", remedy);
        return equal;
    }
    let sum: f64 = written.iter().sum();
    if (sum - 1.0).abs() > 0.005 {
        let last = file.zone.len() - 1;
        let message = format!("the weights of the zones sum to {sum:.3}");
        let remedy = "Change them so that they sum to 1, or take all of them out (then all zones weigh the same).";
        problems.add(&format!("zone[{last}].weight"), message, "sum must be 1", remedy);
    }
    // Weights such as 0.33, 0.33, 0.34 are meant to sum to 1; exact ones stay as they are.
    if (sum - 1.0).abs() > 1e-9 { written.iter().map(|weight| weight / sum).collect() } else { written }
}

struct Builder<'a> {
    file: &'a ScenarioFile,
    frame: Frame<'a>,
    lists: &'a FishLists<'a>,
    table: &'a ZoneTable,
    index: usize,
}

impl Builder<'_> {
    fn zone(&self, weight: f64, problems: &mut Problems, ledger: &mut Ledger) -> Zone {
        let table = self.table;
        let name = self.name(problems);
        if let Some(map) = &table.map {
            return super::map::zone((&name, &self.path()), (table, map), (weight, self.frame.files), problems, ledger);
        }
        let length_m = table.length_m.map_or(defaults::SITE_LENGTH_M, |length| length.get());
        let width_m = table.width_m.map_or(defaults::SITE_WIDTH_M, |width| width.get());
        let (reef_name, reef_is_a_range, reef) = self.reef(&name, problems, ledger);
        let named = NamedReef::from_name(reef_name).unwrap_or(NamedReef::ForeReef);
        let cover = table.cover_percent.map_or(named.typical_cover(), |cover| share(cover.get()));
        self.note(ledger, "cover_percent", format!("{name}: hard-coral cover"), table.cover_percent.is_some(), {
            percent(cover)
        });
        let written_spread = table.between_sites_points.map(|points| share(points.get()));
        let site_year_sd = self.site_year(&name, cover, written_spread, ledger);
        let between_sites_sd = written_spread.unwrap_or_else(|| defaults::between_sites_sd(cover, &reef, site_year_sd));
        self.note(ledger, "between_sites_points", format!("{name}: spread between sites"), written_spread.is_some(), {
            points(between_sites_sd)
        });
        let sites = self.sites(problems);
        if self.frame.scope != Scope::EachReef {
            let numbers: Vec<String> = sites.iter().map(usize::to_string).collect();
            let about = format!("{name}: sites surveyed at a visit");
            let noted = Noted::when(table.sites.is_some(), numbers.join(", "));
            ledger.note_plan(&self.path(), "sites", about, noted, &table.source);
        }
        Zone {
            sites,
            existing: table.existing.map(|existing| existing.get()),
            weight,
            length_m,
            width_m,
            reef_name: reef_name.to_owned(),
            reef_is_a_range,
            reef,
            cover,
            between_sites_sd,
            site_year_sd,
            year_sd: self.year(&name, ledger),
            partial_mortality: partial_mortality::law(table.partial_mortality.as_ref()),
            condition: condition::shares(table.condition.as_ref()),
            colony_variation: colony_variation::of(table.colony_variation.as_ref()),
            categories: self.categories(&name, ledger),
            animals: self.animals(&name, problems, ledger),
            recruits: self.recruits(&name, problems, ledger),
            fish: self.fish(&name, problems, ledger),
            same_places: self.same_places(&name, problems, ledger),
            map: None,
            name,
        }
    }

    fn path(&self) -> String {
        format!("zone[{}]", self.index)
    }

    fn note(&self, ledger: &mut Ledger, key: &str, about: String, written: bool, value: String) {
        ledger.note(&self.path(), key, about, Noted::when(written, value), &self.table.source);
    }

    fn name(&self, problems: &mut Problems) -> String {
        match &self.table.name {
            Some(name) => name.clone(),
            None if self.file.zone.len() == 1 => "reef".to_owned(),
            None => {
                let key = format!("{}.name", self.path());
                problems.add(
                    &key,
                    "this zone has no name",
                    "needed where there are several zones",
                    "Add name = \"...\".",
                );
                format!("zone {}", self.index + 1)
            }
        }
    }

    fn sites(&self, problems: &mut Problems) -> Vec<usize> {
        match &self.table.sites {
            Some(sites) => sites.get().to_vec(),
            None if self.frame.scope == Scope::EachReef => vec![1],
            // A budget chooses the number itself; whatever else is asked is answered for the fewest.
            None if self.file.expedition.is_some() => {
                let least = self.table.dive.as_ref().and_then(|dive| dive.least_sites);
                vec![least.map_or(defaults::LEAST_SITES, |least| least.get())]
            }
            None => {
                let remedy = "Add sites = 8, a list such as sites = [4, 8, 14], or a range such as sites = \"3..20\".";
                problems.add(
                    &format!("{}.sites", self.path()),
                    "this zone has no number of sites",
                    "needed in this table",
                    remedy,
                );
                vec![8]
            }
        }
    }

    /// Name of the reef, whether it is a guess among all, and its spec with the values overridden in the zone.
    fn reef(&self, zone: &str, problems: &mut Problems, ledger: &mut Ledger) -> (&'static str, bool, ReefSpec) {
        let table = self.table;
        let choice = table.reef.map_or(ReefChoice::Unknown, |word| word.0);
        let (named, unknown) = match choice {
            ReefChoice::Named(reef) => (reef, false),
            ReefChoice::Unknown => (NamedReef::ForeReef, true),
        };
        let origin = table.source.as_ref().map(|source| source.of("reef"));
        let shown = match (unknown, origin) {
            (true, _) => "unknown: all seven named reefs are shown".to_owned(),
            (false, Some(Origin::Pilot(_))) => format!("nearest named reef: {}", named.name()),
            (false, _) => named.name().to_owned(),
        };
        self.note(ledger, "reef", format!("{zone}: what the reef is like"), table.reef.is_some(), shown);
        let mut spec = named.spec();
        for (key, value) in self.overrides() {
            if unknown {
                let message = "a value of the reef is written, but not which reef it belongs to";
                let remedy = "Write reef = \"fore_reef\" (or another named reef) in this zone; the values written here \
                              replace those of that reef.";
                problems.add(&format!("{}.{key}", self.path()), message, "needs a named reef", remedy);
            }
            override_value(&mut spec, key, value);
            self.note(ledger, key, format!("{zone}: {}", described(key)), true, number(value));
        }
        (named.name(), unknown, spec)
    }

    /// Values of the reef written in the zone, by their keys.
    fn overrides(&self) -> Vec<(&'static str, f64)> {
        let table = self.table;
        let all = [
            ("diameter_median_m", table.diameter_median_m.map(|value| value.get())),
            ("diameter_ln_sd", table.diameter_ln_sd.map(|value| value.get())),
            ("diameter_max_m", table.diameter_max_m.map(|value| value.get())),
            ("patch_sd", table.patch_sd.map(|value| value.get())),
            ("patch_scale_m", table.patch_scale_m.map(|value| value.get())),
            ("along_sd", table.along_sd.map(|value| value.get())),
            ("along_scale_m", table.along_scale_m.map(|value| value.get())),
        ];
        all.into_iter().filter_map(|(key, value)| value.map(|value| (key, value))).collect()
    }

    fn site_year(&self, zone: &str, cover: f64, spread: Option<f64>, ledger: &mut Ledger) -> f64 {
        let about = format!("{zone}: spread of a site's years");
        let common = self.file.variation.as_ref();
        if let Some(own) = self.table.site_year_points {
            self.note(ledger, "site_year_points", about, true, points(share(own.get())));
            share(own.get())
        } else if let Some((table, value)) = common.and_then(|table| Some((table, table.site_year_points?))) {
            let noted = Noted::Written(points(share(value.get())));
            self.note_common(ledger, "site_year_points", about, noted, &table.source);
            share(value.get())
        } else {
            let sd = defaults::site_year_sd(cover, spread);
            self.note(ledger, "site_year_points", about, false, points(sd));
            sd
        }
    }

    /// The year effect that all sites share; told only where it is written, because only one question uses it.
    fn year(&self, zone: &str, ledger: &mut Ledger) -> f64 {
        let about = format!("{zone}: spread of years shared by all sites");
        if let Some(own) = self.table.year_points {
            self.note(ledger, "year_points", about, true, points(share(own.get())));
            return share(own.get());
        }
        let common = self.file.variation.as_ref();
        let Some((table, value)) = common.and_then(|table| Some((table, table.year_points?))) else {
            return 0.0;
        };
        self.note_common(ledger, "year_points", about, Noted::Written(points(share(value.get()))), &table.source);
        share(value.get())
    }

    /// A number that stands in `[variation]` and counts for this zone.
    fn note_common(&self, ledger: &mut Ledger, key: &str, about: String, noted: Noted, source: &Option<Source>) {
        ledger.note(&self.path(), key, about, noted, source);
    }

    /// The rest of the bottom. Numbers of categories that are asked about are listed one by one, the others together.
    fn categories(&self, zone: &str, ledger: &mut Ledger) -> Vec<Category> {
        let mut together: Vec<(Origin, &str)> = Vec::new();
        let mut categories = Vec::new();
        for (index, table) in self.table.category.iter().enumerate() {
            let path = format!("{}.category[{index}]", self.path());
            categories.push(self.category(zone, &path, table, ledger));
            if !self.is_asked_about(&table.name) {
                let origin = table.source.as_ref().map_or(Origin::Assumed, |source| source.of("cover_percent"));
                together.push((origin, &table.name));
            }
        }
        for (origin, names) in gathered(together) {
            let about = format!("{zone}: covers and spreads of other kinds");
            ledger.list_together(&format!("{}.category[]", self.path()), about, names.join(", "), origin);
        }
        categories
    }

    /// The zone at whose places the sites lie.
    fn same_places(&self, zone: &str, problems: &mut Problems, ledger: &mut Ledger) -> Option<SamePlaces> {
        let written = self.table.place_correlation.map(|value| value.get());
        let Some(as_zone) = self.table.same_places_as.clone() else {
            if written.is_some() {
                let message = "how alike two depths of a place are, but not which other zone lies there";
                let remedy = "Write same_places_as = \"...\" (the name of the deeper zone), or take it out.";
                let key = format!("{}.place_correlation", self.path());
                problems.add(&key, message, "needs same_places_as", remedy);
            }
            return None;
        };
        let correlation = written.unwrap_or(defaults::PLACE_CORRELATION);
        let about = format!("{zone}: how alike its sites and those of {as_zone} at the same places are (correlation)");
        self.note(ledger, "place_correlation", about, written.is_some(), number(correlation));
        Some(SamePlaces { as_zone, correlation })
    }

    fn animals(&self, zone: &str, problems: &mut Problems, ledger: &mut Ledger) -> Vec<Animal> {
        let tables = self.table.animal.iter().enumerate();
        tables
            .map(|(index, table)| {
                let path = format!("{}.animal[{index}]", self.path());
                animals::build((zone, &path), table, problems, ledger)
            })
            .collect()
    }

    fn fish(&self, zone: &str, problems: &mut Problems, ledger: &mut Ledger) -> Vec<FishGroup> {
        let tables = self.table.fish.iter().enumerate();
        tables
            .map(|(index, table)| {
                let path = format!("{}.fish[{index}]", self.path());
                fish::build((zone, &path), table, self.lists, problems, ledger)
            })
            .collect()
    }

    fn recruits(&self, zone: &str, problems: &mut Problems, ledger: &mut Ledger) -> Option<Recruits> {
        let table = self.table.recruits.as_ref()?;
        let path = format!("{}.recruits", self.path());
        let years = self.file.visits.as_ref().and_then(|visits| visits.years_apart);
        let years = years.map_or(defaults::YEARS_APART, |years| years.get());
        Some(recruits::build((zone, &path), (table, &self.table.category), years, problems, ledger))
    }

    fn is_asked_about(&self, category: &str) -> bool {
        let changes = self.file.change.iter().filter_map(|change| change.indicator.as_deref());
        changes.chain(self.file.also_report.iter().map(String::as_str)).any(|name| name == category)
    }

    fn category(&self, zone: &str, path: &str, table: &CategoryTable, ledger: &mut Ledger) -> Category {
        let cover = share(table.cover_percent.get());
        let spread = table.between_sites_points.map(|points| share(points.get()));
        let between_sites_sd = spread.unwrap_or_else(|| defaults::category_sd(cover));
        let scale_m = table.patch_m.map_or_else(|| defaults::category_scale_m(&table.name), |scale| scale.get());
        let is_asked_about = self.is_asked_about(&table.name);
        let mut note = |key: &str, what: &str, written: bool, value: String| {
            if is_asked_about {
                let about = format!("{zone}: {what} of {}", table.name);
                ledger.note(path, key, about, Noted::when(written, value), &table.source);
            } else {
                ledger.keep(path, key, written, &table.source);
            }
        };
        note("cover_percent", "cover", true, percent(cover));
        note("between_sites_points", "spread between sites", spread.is_some(), points(between_sites_sd));
        note("patch_m", "patch scale", table.patch_m.is_some(), format!("{} m", number(scale_m)));
        Category { name: table.name.clone(), cover, between_sites_sd, scale_m }
    }
}

fn override_value(spec: &mut ReefSpec, key: &str, value: f64) {
    let ReefSpec { sizes, patch, along } = spec;
    let SizeLaw { median_m, ln_sd, max_m } = sizes;
    let (Patchiness { sd: patch_sd, scale_m: patch_scale }, Patchiness { sd: along_sd, scale_m: along_scale }) =
        (patch, along);
    *match key {
        "diameter_median_m" => median_m,
        "diameter_ln_sd" => ln_sd,
        "diameter_max_m" => max_m,
        "patch_sd" => patch_sd,
        "patch_scale_m" => patch_scale,
        "along_sd" => along_sd,
        _ => along_scale,
    } = value;
}

fn described(key: &str) -> &'static str {
    match key {
        "diameter_median_m" => "median colony diameter (m)",
        "diameter_ln_sd" => "SD of ln colony diameter",
        "diameter_max_m" => "largest colony diameter (m)",
        "patch_sd" => "SD of ln density between patches",
        "patch_scale_m" => "scale of patches (m)",
        "along_sd" => "SD of ln density along the reef",
        _ => "scale along the reef (m)",
    }
}
