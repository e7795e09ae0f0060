use super::animals::{needs_patches, note_patches, patches, shared};
use super::fish_lists::FishLists;
use super::share;
use crate::design::FishGroup;
use crate::reef::fish::{FishLengths, FishSpec, LengthWeight, Movement, SchoolLaw, SchoolSizes, Sighting};
use crate::reef::{AnimalSpec, BetweenSites, Sizes};
use crate::scenario::file::FishTable;
use crate::scenario::fish_list::{FishList, ListedFish, MeasuredLength};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::near::nearest;
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};
use crate::scenario::word::SchoolWord;
use crate::scenario::{Origin, defaults};
use crate::theory::root;

/// One group of fish of a zone, by its table.
pub fn build(
    (zone, path): (&str, &str),
    table: &FishTable,
    lists: &FishLists,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> FishGroup {
    let mut noter = Noter::new((zone, path), table);
    let (weight, listed_group) = weight((zone, path), table, lists, problems, ledger);
    let lengths = FishLengths {
        mean_cm: table.length_cm.get(),
        cv: shared(table.length_spread_percent, defaults::FISH_LENGTH_CV),
        alike_in_school: shared(table.alike_in_school_percent, defaults::ALIKE_IN_SCHOOL),
    };
    let spec = FishSpec {
        places: places(path, table, (lengths, weight), problems, (&mut noter, ledger)),
        schools: schools(path, table, problems),
        spread_m: table.school_spread_m.map_or(defaults::SCHOOL_SPREAD_M, |spread| spread.get()),
        lengths,
        weight,
        movement: movement(path, table, problems),
        sighting: sighting(table),
    };
    let with_coral = table.with_coral.map_or(0.0, |exponent| exponent.get());
    let shown = match with_coral {
        0.0 => "none".to_owned(),
        power => format!("goes with the coral cover of the site to the power {}", number(power)),
    };
    noter.note("with_coral", "tie to the coral", table.with_coral.is_some(), shown, ledger);
    let with_coral_patches = with_coral_patches(path, table, (problems, ledger), &mut noter);
    note_fish(table, &spec, &mut noter, ledger);
    let later_sighting = later_sighting(table, &spec.sighting, (&mut noter, ledger));
    noter.close(ledger);
    let trophic_group = table.trophic_group.clone().or(listed_group);
    let hides = table.hides.unwrap_or(false);
    FishGroup { name: table.name.clone(), trophic_group, hides, with_coral, with_coral_patches, spec, later_sighting }
}

/// The power of the colonies' density in their patches with which it goes; it has no other patches then.
fn with_coral_patches(
    path: &str,
    table: &FishTable,
    (problems, ledger): (&mut Problems, &mut Ledger),
    noter: &mut Noter,
) -> f64 {
    let power = table.with_coral_patches.map_or(0.0, |power| power.get());
    let shown = match power {
        0.0 => "none".to_owned(),
        power => format!("goes with the density of colonies to the power {}", number(power)),
    };
    noter.note("with_coral_patches", "tie to patches of coral", table.with_coral_patches.is_some(), shown, ledger);
    let own = [
        ("patch_sd", table.patch_sd.is_some()),
        ("patch_k", table.patch_k.is_some()),
        ("patch_scale_m", table.patch_scale_m.is_some()),
    ];
    for (key, _) in own.into_iter().filter(|(_, written)| power != 0.0 && *written) {
        let message =
            format!("{}: it goes with the patches of the coral, and {key} tells patches of its own", table.name);
        let remedy = format!("Take {key} out, or with_coral_patches.");
        problems.add(&format!("{path}.{key}"), message, "one of the two", remedy);
    }
    power
}

/// How many there are, and how that differs.
fn places(
    path: &str,
    table: &FishTable,
    (lengths, weight): (FishLengths, LengthWeight),
    problems: &mut Problems,
    (noter, ledger): (&mut Noter, &mut Ledger),
) -> AnimalSpec {
    let between_sites = shared(table.between_sites_percent, defaults::FISH_BETWEEN_SITES);
    let site_year = shared(table.site_year_percent, defaults::FISH_SITE_YEAR.min(0.5 * between_sites));
    let told = (table.name.as_str(), path, table.patch_sd, table.patch_k, table.patch_scale_m);
    let patches = patches(told, problems);
    // Beside patches of the coral it is refused with them.
    if table.with_coral_patches.is_none() {
        needs_patches(told, problems);
    }
    let per_biomass = 0.1 / lengths.weights(weight).mean;
    let (key, density_per_m2, shown) = match (table.density_per_100_m2, table.biomass_kg_per_ha) {
        (Some(density), None) => {
            let density = density.get();
            ("density_per_100_m2", density / 100.0, format!("{} per 100 m2", number(density)))
        }
        (None, Some(biomass)) => {
            let biomass = biomass.get();
            ("biomass_kg_per_ha", biomass * per_biomass, format!("{} kg/ha", number(biomass)))
        }
        (Some(_), Some(_)) => {
            let message = format!("{}: number and biomass are both written", table.name);
            let remedy = "Take one of them out: the other follows from the lengths.";
            problems.add(&format!("{path}.biomass_kg_per_ha"), message, "one of the two", remedy);
            ("density_per_100_m2", 0.01, String::new())
        }
        (None, None) => {
            let message = format!("{}: it is not written how many there are", table.name);
            let remedy = "Add density_per_100_m2 = 8, or biomass_kg_per_ha = 120.";
            problems.add(&format!("{path}.density_per_100_m2"), message, "needed in this table", remedy);
            ("density_per_100_m2", 0.01, String::new())
        }
    };
    let mut note = |key: &str, what: &str, written: bool, value: String| noter.note(key, what, written, value, ledger);
    note(key, "how many there are", true, shown);
    note(
        "between_sites_percent",
        "spread between sites",
        table.between_sites_percent.is_some(),
        percent(between_sites),
    );
    note("site_year_percent", "spread of a site's years", table.site_year_percent.is_some(), percent(site_year));
    note_patches(patches, (table.patch_sd.is_some(), table.patch_scale_m.is_some()), note);
    AnimalSpec {
        density_per_m2,
        groups: None,
        patches,
        between_sites: BetweenSites::Share(between_sites),
        site_year: BetweenSites::Share(site_year),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    }
}

fn schools(path: &str, table: &FishTable, problems: &mut Problems) -> SchoolLaw {
    let word = table.school.map_or(SchoolWord::Alone, |word| word.0);
    let has_size = matches!(word, SchoolWord::LogNormal | SchoolWord::Logarithmic);
    let needless = [
        ("school_size", table.school_size.is_some() && !has_size),
        ("school_ln_sd", table.school_ln_sd.is_some() && word != SchoolWord::LogNormal),
        ("school_spread_m", table.school_spread_m.is_some() && word == SchoolWord::Alone),
    ];
    for (key, _) in needless.into_iter().filter(|(_, needless)| *needless) {
        let message = format!("{}: {key} is written, but its schools have none", table.name);
        let remedy = "Write school = \"lognormal\" (with size, ln_sd and spread) or \"logarithmic\" (size and spread), \
                      or take the key out.";
        problems.add(&format!("{path}.{key}"), message, "not with these schools", remedy);
    }
    let size = table.school_size.map(|size| size.get());
    if has_size && size.is_none() {
        let message = format!("{}: the size of its schools is not written", table.name);
        problems.add(&format!("{path}.school_size"), message, "needed here", "Add school_size = 12, for example.");
    }
    let size = size.unwrap_or(2.0);
    match word {
        SchoolWord::Alone => SchoolLaw::Alone,
        SchoolWord::Pairs => SchoolLaw::Pairs,
        SchoolWord::LogNormal => {
            let ln_sd = table.school_ln_sd.map_or(defaults::SCHOOL_LN_SD, |spread| spread.get());
            SchoolLaw::LogNormal { median: size, ln_sd }
        }
        SchoolWord::Logarithmic if size > 1.0 => SchoolLaw::Logarithmic { p: logarithmic_p(size) },
        SchoolWord::Logarithmic => SchoolLaw::Alone,
    }
}

/// The p of a logarithmic series with a mean above 1.
fn logarithmic_p(mean: f64) -> f64 {
    let gap = |p: f64| SchoolSizes::new(SchoolLaw::Logarithmic { p }).mean() - mean;
    // A mean of a hundred thousand, the most that is allowed, is well below what the end gives.
    root(1e-9, 1.0 - 1e-12, 0.0, gap).unwrap_or(1e-9)
}

fn movement(path: &str, table: &FishTable, problems: &mut Problems) -> Movement {
    let speed_m_s = table.speed_m_s.map_or(0.0, |speed| speed.get());
    let (turning, range) = (table.turning_s.map(|s| s.get()), table.home_range_m.map(|m| m.get()));
    if speed_m_s == 0.0 {
        for (key, written) in [("turning_s", turning.is_some()), ("home_range_m", range.is_some())] {
            if written {
                let message = format!("{}: {key} is written, but it does not swim", table.name);
                problems.add(&format!("{path}.{key}"), message, "needs a speed", "Add speed_m_s = 0.1, for example.");
            }
        }
        return Movement::Still;
    }
    match (turning, range) {
        (None, None) => Movement::Straight { speed_m_s },
        (Some(tau_s), None) => Movement::Turning { speed_m_s, tau_s },
        (tau, Some(radius_m)) => {
            let tau_s = tau.unwrap_or(defaults::TURNING_S);
            Movement::HomeRange { speed_m_s, tau_s, radius_m }
        }
    }
}

fn sighting(table: &FishTable) -> Sighting {
    Sighting {
        scale_m: table.sight_scale_m.map(|scale| scale.get()),
        shy: table.shy_percent.map_or(0.0, |percent| share(percent.get())),
        shy_m: table.shy_scale_m.map_or(defaults::SHY_SCALE_M, |scale| scale.get()),
        half_seen_cm: table.half_seen_cm.map(|length| length.get()),
        ln_sd: defaults::SEEN_LN_SD,
        seen: shared(table.seen_percent, 1.0),
    }
}

/// How it is seen at the second visit; `None`: as at the first.
fn later_sighting(table: &FishTable, first: &Sighting, (noter, ledger): (&mut Noter, &mut Ledger)) -> Option<Sighting> {
    let mut later = *first;
    let mut note = |key: &str, what: &str, value: String| noter.note(key, what, true, value, ledger);
    if let Some(shy) = table.second_visit_shy_percent {
        later.shy = share(shy.get());
        note("second_visit_shy_percent", "share that leaves (or comes) at the second visit", percent(later.shy));
    }
    if let Some(scale) = table.second_visit_sight_scale_m {
        later.scale_m = Some(scale.get());
        let shown = format!("half-normal, {} m", number(scale.get()));
        note("second_visit_sight_scale_m", "fall of sight with distance at the second visit", shown);
    }
    if let Some(seen) = table.second_visit_seen_percent {
        later.seen = share(seen.get());
        note("second_visit_seen_percent", "share seen at the line at the second visit", percent(later.seen));
    }
    (later != *first).then_some(later)
}

/// a and b, and the trophic group where a list tells it.
fn weight(
    (zone, path): (&str, &str),
    table: &FishTable,
    lists: &FishLists,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> (LengthWeight, Option<String>) {
    let about = format!("{zone}, {}: weight by length", table.name);
    let shown = |weight: LengthWeight| format!("{} L^{}", number(weight.a), number(weight.b));
    let usual = LengthWeight { a: defaults::WEIGHT_A, b: defaults::WEIGHT_B };
    if let Some(listed) = listed(path, table, lists, problems) {
        let origin = Origin::Published(match listed.length {
            Some(length) => format!("{} (of {})", listed.source, length.words()),
            None => listed.source,
        });
        ledger.keep_as(path, "weight_a", origin.clone());
        ledger.keep_as(path, "weight_b", origin.clone());
        ledger.list_together(path, about, shown(listed.weight), origin);
        return (listed.weight, Some(listed.trophic_group));
    }
    match (table.weight_a, table.weight_b) {
        (Some(a), Some(b)) => {
            let weight = LengthWeight { a: a.get(), b: b.get() };
            if let Err(odd) = weight.check() {
                let key = format!("{path}.weight_{}", odd.column());
                problems.add(&key, format!("{}: {odd}", table.name), odd.allowed(), odd.remedy());
            }
            ledger.note(path, "weight_a", about, Noted::Written(shown(weight)), &table.source);
            ledger.keep(path, "weight_b", true, &table.source);
            (weight, None)
        }
        (None, None) => {
            ledger.note(path, "weight_a", about, Noted::Default(shown(usual)), &table.source);
            ledger.keep(path, "weight_b", false, &table.source);
            (usual, None)
        }
        (a, _) => {
            let (missing, there) = if a.is_some() { ("weight_b", "weight_a") } else { ("weight_a", "weight_b") };
            let message = format!("{}: {there} is written, {missing} is not", table.name);
            let remedy = "Weight in grams is weight_a times the length in cm to the power of weight_b: write both.";
            problems.add(&format!("{path}.{there}"), message, "both or none", remedy);
            (usual, None)
        }
    }
}

/// The species of the list that the table names.
fn listed(path: &str, table: &FishTable, lists: &FishLists, problems: &mut Problems) -> Option<ListedFish> {
    let (species, list) = match (&table.species, &table.species_list) {
        (Some(species), Some(list)) => (species, list),
        (None, None) => return None,
        (Some(_), None) => {
            let message = format!("{}: a species is named, but not the list that tells its weight", table.name);
            let remedy = "Add species_list = \"fish_caribbean.csv\", or write weight_a and weight_b instead.";
            problems.add(&format!("{path}.species"), message, "needs species_list", remedy);
            return None;
        }
        (None, Some(_)) => {
            let message = format!("{}: a list is named, but not the species of it", table.name);
            let remedy = "Add species = \"...\" with a name of the list, or take species_list out.";
            problems.add(&format!("{path}.species_list"), message, "needs species", remedy);
            return None;
        }
    };
    if table.weight_a.is_some() || table.weight_b.is_some() {
        let message = format!("{}: its weight is written and looked up in a list", table.name);
        problems.add(&format!("{path}.species"), message, "one of the two", "Take one of them out.");
    }
    let all = lists.get((list, &format!("{path}.species_list")), problems)?;
    let found = all.species.get(species).cloned();
    if found.is_none() {
        let names: Vec<&str> = all.species.keys().map(String::as_str).collect();
        let hint = nearest(species, &names).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
        let remedy = format!(
            "{hint}Write a name as it stands in the list, add a row for it, or write weight_a and weight_b (grams from cm of \
             total length) here instead of species and species_list."
        );
        let message = format!("{}: {list} has no species \"{species}\"", table.name);
        problems.add(&format!("{path}.species"), message, "not in the list", remedy);
    }
    if let Some(found) = &found {
        doubt_listed((path, list), table, found, (lists, &all), problems);
    }
    found
}

/// Lengths of a list that are not those of the scenario.
fn doubt_listed(
    (path, list): (&str, &str),
    table: &FishTable,
    found: &ListedFish,
    (lists, all): (&FishLists, &FishList),
    problems: &mut Problems,
) {
    let (name, usual) = (&table.name, "of total length");
    match found.length {
        Some(MeasuredLength::Total) => {}
        Some(other) => {
            let message =
                format!("{name}: a and b of {list} are of {}, and lengths here are total lengths", other.words());
            let remedy = format!(
                "Weights are too large so: write weight_a = a times ({} over total length)^b and weight_b = b instead of species \
                 and species_list, or the pair of total length in the list.",
                other.words()
            );
            problems.doubt(&format!("{path}.species"), message, usual, remedy);
        }
        None if found.length_not_stated && lists.is_told_first(list) => {
            let message = format!("{list} says that its sources do not state of which length a and b are");
            problems.doubt(&format!("{path}.species_list"), message, usual, NOT_STATED_REMEDY);
        }
        None if all.tells_length && !found.length_not_stated => {
            let message = format!("{name}: {list} does not tell of which length its a and b are");
            problems.doubt(&format!("{path}.species"), message, usual, LENGTH_REMEDY);
        }
        None if lists.is_told_first(list) => {
            let message = format!("{list} does not tell of which length a and b are");
            problems.doubt(&format!("{path}.species_list"), message, usual, LENGTH_REMEDY);
        }
        None => {}
    }
    let mean = table.length_cm.get();
    if let Some(longest) = found.longest_cm.filter(|longest| mean > *longest) {
        let message = format!(
            "{name}: {} cm in the mean, and {list} knows none longer than {} cm",
            number(mean),
            number(longest)
        );
        let usual = format!("at most {} cm", number(longest));
        problems.doubt(&format!("{path}.length_cm"), message, usual, "Write the mean length in cm, not in mm.");
    }
}

const LENGTH_REMEDY: &str = "Weights follow from total lengths here, and are some 10 to 30 % too large where a and b are of fork \
    length: add the column length_type to the list, with TL, FL or SL (total, fork, standard length).";

const NOT_STATED_REMEDY: &str = "Weights follow from total lengths here, and are some 10 to 30 % too large where a and b are of fork \
    length: look the species up where the length is stated, and write TL, FL or SL in the column length_type of a copy of the list; \
    the doubt ends with your answer.";

/// Keeps the origins of the numbers of a group: what is written is listed one by one, what is filled in together.
struct Noter<'a> {
    zone: &'a str,
    path: &'a str,
    table: &'a FishTable,
    filled: Vec<String>,
}

impl<'a> Noter<'a> {
    fn new((zone, path): (&'a str, &'a str), table: &'a FishTable) -> Self {
        Self { zone, path, table, filled: Vec::new() }
    }

    fn note(&mut self, key: &str, what: &str, written: bool, value: String, ledger: &mut Ledger) {
        if written {
            let about = format!("{}, {}: {what}", self.zone, self.table.name);
            ledger.note(self.path, key, about, Noted::Written(value), &self.table.source);
        } else {
            ledger.keep(self.path, key, false, &self.table.source);
            self.filled.push(format!("{what} {value}"));
        }
    }

    fn close(self, ledger: &mut Ledger) {
        if !self.filled.is_empty() {
            let about = format!("{}, {}: filled in", self.zone, self.table.name);
            ledger.list_together(self.path, about, self.filled.join("; "), Origin::Assumed);
        }
    }
}

/// What is told of schools, lengths, movement and sight.
fn note_fish(table: &FishTable, spec: &FishSpec, noter: &mut Noter, ledger: &mut Ledger) {
    let mut note = |key: &str, what: &str, written: bool, value: String| noter.note(key, what, written, value, ledger);
    let size = match spec.schools {
        SchoolLaw::Alone => "alone".to_owned(),
        SchoolLaw::Pairs => "pairs".to_owned(),
        SchoolLaw::LogNormal { median, ln_sd } => {
            format!("lognormal, median {}, SD of ln {}", number(median), number(ln_sd))
        }
        SchoolLaw::Logarithmic { .. } => {
            format!("logarithmic, mean {}", table.school_size.map_or(String::new(), |size| number(size.get())))
        }
        SchoolLaw::Poisson { mean } => format!("Poisson, mean {}", number(mean)),
    };
    note("school", "schools", table.school.is_some(), size);
    if spec.schools != SchoolLaw::Alone {
        let spread = format!("{} m", number(spec.spread_m));
        note("school_spread_m", "spread of schools", table.school_spread_m.is_some(), spread);
        let alike = percent(spec.lengths.alike_in_school);
        note(
            "alike_in_school_percent",
            "likeness of sizes in a school",
            table.alike_in_school_percent.is_some(),
            alike,
        );
    }
    note("length_cm", "mean length", true, format!("{} cm", number(spec.lengths.mean_cm)));
    let spread = percent(spec.lengths.cv);
    note("length_spread_percent", "spread of lengths", table.length_spread_percent.is_some(), spread);
    let speed = match spec.movement {
        Movement::Still => "it stays".to_owned(),
        Movement::Straight { speed_m_s } => format!("{} m/s, straight", number(speed_m_s)),
        Movement::Turning { speed_m_s, .. } => format!("{} m/s, with turns", number(speed_m_s)),
        Movement::HomeRange { speed_m_s, radius_m, .. } => {
            format!("{} m/s within {} m", number(speed_m_s), number(radius_m))
        }
    };
    note("speed_m_s", "movement", table.speed_m_s.is_some(), speed);
    if let Movement::Turning { tau_s, .. } | Movement::HomeRange { tau_s, .. } = spec.movement {
        let law = format!("to any heading after exponential times of {} s in the mean", number(tau_s));
        note("turning_s", "turns", table.turning_s.is_some(), law);
    }
    let sight = spec.sighting.scale_m.map_or("none".to_owned(), |scale| format!("half-normal, {} m", number(scale)));
    note("sight_scale_m", "fall of sight with distance", table.sight_scale_m.is_some(), sight);
    note("seen_percent", "share seen at the line", table.seen_percent.is_some(), percent(spec.sighting.seen));
    note("shy_percent", "share that leaves (or comes)", table.shy_percent.is_some(), percent(spec.sighting.shy));
    if let Some(half) = spec.sighting.half_seen_cm {
        note("half_seen_cm", "length half seen", true, format!("{} cm", number(half)));
    }
}
