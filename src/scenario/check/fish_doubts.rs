//! Numbers of fish that are allowed and hardly meant: another unit, a share for a percentage, a change that begins elsewhere.

use super::told::Told;
use crate::design::{FishGroup, FishMeasure, Study, Zone};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// Mean lengths of fish, cm: of most, of those that eat plants, plankton or fixed animals, and of reef sharks. Guesses.
const LONGEST_CM: f64 = 150.0;
const LONGEST_OF_SMALL_CM: f64 = 70.0;
const LONGEST_ROVER_CM: f64 = 400.0;
const SHORTEST_CM: f64 = 2.0;
const SMALL: [&str; 9] = [
    "grazer",
    "detritivore",
    "scraper",
    "browser",
    "territorial_herbivore",
    "planktivore",
    "corallivore",
    "sessile_invertivore",
    "omnivore",
];
const ROVER: &str = "roving_predator";

/// All fish of a reef, kg per ha: the richest of 904 stations in New Caledonia had 4,470 (Aquatic Living Resources 2000), the
/// richest reefs of a Caribbean gradient 5,930 (Newman et al. 2006, Ecology Letters 9:1216-1227).
const MOST_KG_PER_HA: f64 = 5_000.0;
/// Ten kg of one group on every m2 of a zone cannot be.
const ABSURD_KG_PER_HA: f64 = 100_000.0;

/// Fish that pass while they are counted do not sprint, m/s: a guess.
const FASTEST_M_S: f64 = 2.0;

/// A limit of length that is so many times the mean is hardly meant.
const LIMIT_TIMES_MEAN: f64 = 4.0;

/// A change begins where the zones are, to this factor.
const FROM_TIMES: f64 = 2.0;

pub fn check(study: &Study, problems: &mut Problems) {
    for (z, zone) in study.zones.iter().enumerate() {
        for (index, group) in zone.fish.iter().enumerate() {
            let path = format!("zone[{z}].fish[{index}]");
            check_length(group, &path, problems);
            check_speed(group, &path, problems);
        }
        check_biomass(zone, &format!("zone[{z}]"), problems);
    }
    check_shares(problems);
    check_limits(study, problems);
    check_from(study, problems);
}

fn check_length(group: &FishGroup, path: &str, problems: &mut Problems) {
    let mean = group.spec.lengths.mean_cm;
    let longest = match group.trophic_group.as_deref() {
        Some(ROVER) => LONGEST_ROVER_CM,
        Some(name) if SMALL.contains(&name) => LONGEST_OF_SMALL_CM,
        _ => LONGEST_CM,
    };
    if !(SHORTEST_CM..=longest).contains(&mean) {
        let kind = group.trophic_group.as_ref().filter(|name| SMALL.contains(&name.as_str()) || *name == ROVER);
        let kind = kind.map_or(String::new(), |name| format!(" (a {})", name.replace('_', " ")));
        let message = format!("{}{kind}: {} cm in the mean", group.name, number(mean));
        let remedy = "Write centimetres of total length: 25, not 250 (millimetres) and not 0.25 (metres).";
        let usual = format!("{} to {} cm", number(SHORTEST_CM), number(longest));
        problems.doubt(&format!("{path}.length_cm"), message, usual, remedy);
    }
}

fn check_speed(group: &FishGroup, path: &str, problems: &mut Problems) {
    let speed = group.spec.movement.speed_m_s();
    if speed > FASTEST_M_S {
        let message = format!("{}: it swims {} m a second while it is counted", group.name, number(speed));
        let remedy =
            "Write metres a second: 5 cm/s is 0.05. What is meant is the speed at which it passes, not that of flight.";
        problems.doubt(&format!("{path}.speed_m_s"), message, format!("0 to {} m/s", number(FASTEST_M_S)), remedy);
    }
}

/// What the fish of a zone weigh together, group by group and in all.
fn check_biomass(zone: &Zone, path: &str, problems: &mut Problems) {
    let weigh = |group: &FishGroup| {
        FishMeasure::Biomass.truth(std::iter::once((&group.spec, group.spec.places.density_per_m2)))
    };
    let key = |index: usize, problems: &Problems| {
        let of = |name: &str| format!("{path}.fish[{index}].{name}");
        let biomass = of("biomass_kg_per_ha");
        if problems.is_written(&biomass) { biomass } else { of("density_per_100_m2") }
    };
    let tonnes = |kg: f64| format!("{:.1} t/ha", kg / 1000.0);
    let remedy = "Check that density_per_100_m2 is a number per 100 m2 (not per ha), biomass_kg_per_ha in kg per ha (10 times the \
                  g per m2), length_cm in cm, and weight_a and weight_b for grams from cm.";
    let usual = format!("all fish of a zone at most {}", tonnes(MOST_KG_PER_HA));
    let kg: Vec<f64> = zone.fish.iter().map(weigh).collect();
    for (index, (group, &kg)) in zone.fish.iter().zip(&kg).enumerate() {
        let spec = &group.spec;
        let message = format!(
            "{}: {} fish per 100 m2 of {} cm in the mean weigh {}",
            group.name,
            number((spec.places.density_per_m2 * 1e5).round() / 1e3),
            number(spec.lengths.mean_cm),
            tonnes(kg)
        );
        if kg > ABSURD_KG_PER_HA {
            problems.add(&key(index, problems), message, format!("at most {}", tonnes(ABSURD_KG_PER_HA)), remedy);
        } else if kg > MOST_KG_PER_HA {
            problems.doubt(&key(index, problems), message, usual.clone(), remedy);
        }
    }
    let total: f64 = kg.iter().sum();
    let most = (0..kg.len()).max_by(|&one, &other| kg[one].total_cmp(&kg[other]));
    if let Some(most) = most.filter(|_| total > MOST_KG_PER_HA && kg.iter().all(|kg| *kg <= MOST_KG_PER_HA)) {
        let message = format!(
            "{}: the fish of all groups weigh {}, most of it {} ({})",
            zone.name,
            tonnes(total),
            zone.fish[most].name,
            tonnes(kg[most])
        );
        problems.doubt(&key(most, problems), message, usual, remedy);
    }
}

/// Percentages below 1 in the tables of fish, of lost days and of targets, as a share is written.
fn check_shares(problems: &mut Problems) {
    let of = ["fish[", "fish_belt[", "fish_point_count[", "lost_days_percent", "cv_percent"];
    let shares = problems.numbers(|path| path.ends_with("_percent") && of.iter().any(|part| path.contains(part)));
    for (path, value) in shares.into_iter().filter(|(_, value)| *value != 0.0 && value.abs() < 1.0) {
        let message = format!("{} % is less than a hundredth", number(value));
        let remedy = format!("Write percent: {} where a share of {} is meant.", number(100.0 * value), number(value));
        problems.doubt(&path, message, "0, or 1 and more", remedy);
    }
}

/// Indicators of fish that are longer than any is.
fn check_limits(study: &Study, problems: &mut Problems) {
    for (index, name) in study.also_report.iter().enumerate() {
        let Some(told) = study.fish_of(name) else { continue };
        let (FishMeasure::LongerThan(limit) | FishMeasure::ShareLongerThan(limit)) = told.measure else { continue };
        let own = study.zones.iter().flat_map(|zone| &zone.fish).filter(|group| told.includes(group));
        let longest = own.map(|group| group.spec.lengths.mean_cm).fold(0.0, f64::max);
        if limit > LIMIT_TIMES_MEAN * longest {
            let message =
                format!("fish of {} cm in the mean are hardly ever longer than {} cm", number(longest), number(limit));
            let usual = format!("up to {} cm", number(LIMIT_TIMES_MEAN * longest));
            problems.doubt(&format!("also_report[{index}]"), message, usual, "Write centimetres, not millimetres.");
        }
    }
}

/// A change that begins far from what every zone has.
fn check_from(study: &Study, problems: &mut Problems) {
    for (index, change) in study.changes.iter().enumerate() {
        if study.fish_of(&change.indicator).is_none() && study.animal_of(&change.indicator).is_none() {
            continue;
        }
        let told = Told::of(study, change);
        let held: Vec<f64> = study.zones.iter().filter_map(|zone| (told.of_zone)(zone)).collect();
        let least = held.iter().copied().fold(f64::INFINITY, f64::min);
        let most = held.iter().copied().fold(0.0, f64::max);
        if held.is_empty() || (least / FROM_TIMES..=most * FROM_TIMES).contains(&change.from) {
            continue;
        }
        let shown = told.shown;
        let there =
            if shown(least) == shown(most) { shown(least) } else { format!("{} to {}", shown(least), shown(most)) };
        let (name, unit) = (change.indicator.replace('_', " "), told.unit);
        let message = format!("{name} is to begin at {}, where the zones have {there} {unit}", shown(change.from));
        let usual = format!("{} to {}", shown(least / FROM_TIMES), shown(most * FROM_TIMES));
        let remedy = format!(
            "What each zone has moves by to / from, wherever it begins: write from in {unit} as the zones have it, or correct the \
             zones."
        );
        problems.doubt(&format!("change[{index}].from"), message, usual, remedy);
    }
}
