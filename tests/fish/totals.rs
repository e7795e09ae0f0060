//! Fish of several groups told together: how far off they are, and whether any of them is met.

use super::common::studies::{self, plan, trials};
use super::groups::{self, BARRACUDA, JACKS, Measured, SNAPPER, group};
use super::study;
use reefwright::design::*;
use reefwright::engine::{DesignIndex, Until, Watch, Where};
use reefwright::planner::{AnimalSearch, Answer, Effort, FishBias, SURELY, solve};
use reefwright::reef::fish::SchoolLaw;
use reefwright::reef::{AnimalPatches, NamedReef, PatchLaw};
use reefwright::survey::MethodKind;
use reefwright::survey::fish_sheet::WidthReader;
use reefwright::theory::fish::BiasCause;
use std::sync::atomic::AtomicBool;

fn answer(mut study: Study, also_report: &[&str], number: u64) -> Answer {
    study.question = Question::Status;
    study.changes.clear();
    study.also_report = also_report.iter().map(|name| (*name).to_owned()).collect();
    let effort = Effort { seed: 5, until: Until::Trials(number), confirm_error: None, with_range: false };
    let never = AtomicBool::new(false);
    solve(&plan(study), &effort, &Watch { progress: &|_, _| (), interrupted: &never })
}

/// Scrapers of two groups that differ in all that puts counts off, and fish that hide, which point counts leave out: what is
/// written of each group, of the scrapers and of all fish over what is there, by formula and by simulation; and what is written
/// of all is the sum of what is written of each.
#[test]
fn bias_of_groups_together() {
    let mut study = study(Places::NewPlaces);
    study.zones[0].fish[1].trophic_group = Some("scrapers".into());
    study.zones[0].fish[1].spec.lengths.mean_cm = 13.0;
    study.zones[0].fish[1].spec.sighting.half_seen_cm = Some(9.0);
    study.zones[0].fish[1].spec.sighting.ln_sd = 0.3;
    let there: Vec<(String, f64, f64)> = study.zones[0]
        .fish
        .iter()
        .map(|group| {
            let (density, lengths) = (group.spec.places.density_per_m2, group.spec.lengths);
            (group.name.clone(), density, density * lengths.weights(group.spec.weight).mean)
        })
        .collect();
    let all = answer(study, &["scrapers", "scrapers_biomass", "parrotfish_biomass"], 200).fish_bias;
    // Two widths of belts and points, each with three groups and two totals; points never see the blennies.
    assert_eq!(all.len(), 3 * 5, "{all:?}");
    let (never, all): (Vec<FishBias>, Vec<FishBias>) = all.into_iter().partition(|bias| bias.density == 0.0);
    assert!(never.len() == 1 && never[0].group == "blenny" && never[0].density_simulated.is_none(), "{never:?}");
    for bias in &all {
        let product: (f64, f64) =
            bias.parts.iter().fold((1.0, 1.0), |so_far, part| (so_far.0 * part.density, so_far.1 * part.biomass));
        assert!((product.0 / bias.density - 1.0).abs() < 1e-12 && (product.1 / bias.biomass - 1.0).abs() < 1e-12);
        let simulated = [
            (bias.density, bias.density_simulated, bias.density_simulated_error),
            (bias.biomass, bias.biomass_simulated, bias.biomass_simulated_error),
        ];
        assert!(bias.density_simulated.is_some(), "{bias:?}");
        assert_eq!(bias.biomass_simulated.is_some(), !["surgeonfish", "blenny"].contains(&bias.group.as_str()));
        for (formula, simulated, error) in simulated {
            let (Some(simulated), Some(error)) = (simulated, error) else { continue };
            println!("{} {:?}: {formula} {simulated} +- {error}", bias.group, bias.dimensions);
            assert!(
                error < 0.04 && (formula - simulated).abs() < 4.5 * error,
                "{formula} {simulated} {error} {bias:?}"
            );
        }
        let of =
            |name: &str| all.iter().find(|other| (&*other.group, other.dimensions) == (name, bias.dimensions)).cloned();
        let members: &[&str] = match &*bias.group {
            "fish" => &["parrotfish", "surgeonfish", "blenny"],
            "scrapers" => &["parrotfish", "surgeonfish"],
            _ => continue,
        };
        let total = |amount: fn(&(String, f64, f64)) -> f64, factor: fn(&FishBias) -> f64| {
            let own = || there.iter().filter(|(name, ..)| members.contains(&&**name));
            let written: f64 = own().map(|of_one| amount(of_one) * of(&of_one.0).map_or(0.0, |b| factor(&b))).sum();
            written / own().map(amount).sum::<f64>()
        };
        assert!((total(|there| there.1, |b| b.density) / bias.density - 1.0).abs() < 1e-9, "{bias:?}");
        assert!((total(|there| there.2, |b| b.biomass) / bias.biomass - 1.0).abs() < 1e-9, "{bias:?}");
        // Points leave the blennies out, who are most of the fish; no belt does.
        let hidden = bias.parts.iter().find(|part| part.cause == BiasCause::Hidden).unwrap().density;
        assert_eq!(hidden < 0.6, of("blenny").is_none() && bias.group == "fish", "{bias:?}");
    }
}

/// Rare fish in schools, of which two feed alike, in belts whose width is judged.
fn rare(with_coral: [f64; 2], patches: Option<AnimalPatches>) -> Study {
    let of = |(name, mean, k): Measured, times: f64| {
        group((name, mean * times, k), if patches.is_some() { 1.1 } else { 0.7 }, 0.2)
    };
    let mut groups = [of(BARRACUDA, 1.0), of(JACKS, 0.1), of(SNAPPER, 0.03)].to_vec();
    for (group, power) in groups.iter_mut().zip(with_coral) {
        group.trophic_group = Some("hunters".into());
        group.with_coral = power;
    }
    for group in &mut groups {
        group.spec.places.patches = patches;
    }
    let mut study = groups::study(groups, &[2, 4]);
    study.zones[0].sites = vec![3, 6];
    let MethodKind::FishBelt { count, .. } = &mut study.methods[0].kind else { unreachable!() };
    count.width = WidthReader { error: 0.0, sd: 0.25 };
    study
}

fn of<'a>(searches: &'a [AnimalSearch], indicator: &str) -> &'a AnimalSearch {
    searches.iter().find(|search| search.indicator == indicator).unwrap()
}

/// Chances by formula are those of simulation, of each group, of those that feed alike and of all fish; those of groups that
/// have nothing in common are products.
#[test]
fn whether_any_fish_of_several_groups_is_met() {
    let patches = AnimalPatches { law: PatchLaw::Gamma { k: 1.5 }, scale_m: 60.0 };
    for (with_coral, patches) in [([0.0; 2], None), ([0.0; 2], Some(patches)), ([3.0, 2.5], None)] {
        let searches = answer(rare(with_coral, patches), &["hunters"], 1_000).animals;
        assert_eq!(searches.len(), 5);
        for search in &searches {
            println!("{} {} {}", search.indicator, search.occupied, search.occupied_simulated);
            let apart = (search.occupied - search.occupied_simulated).abs();
            assert!(apart < 0.005 + 4.0 * search.occupied_simulated_error, "{search:?}");
            for chance in &search.chances {
                println!("  {} x {}: {} {}", chance.sites, chance.units, chance.met, chance.met_simulated);
                let apart = (chance.met - chance.met_simulated).abs();
                assert!(apart < 0.01 + 4.0 * chance.met_simulated_error, "{} {chance:?}", search.indicator);
            }
            let most = search.chances.last().unwrap();
            assert!(search.units_to_meet.is_none_or(|units| units > most.units) == (most.met < SURELY), "{search:?}");
        }
        let none = |name: &str, chance: usize| 1.0 - of(&searches, name).chances[chance].met;
        for chance in 0..4 {
            let apart = none(BARRACUDA.0, chance) * none(JACKS.0, chance);
            let together = none("hunters", chance);
            // Unit by unit the same width is judged for both, which keeps them a little together; the coral does so more.
            assert!(together >= apart - 1e-12, "{together} {apart}");
            let most = if with_coral[0] == 0.0 { 1.01 } else { 1.3 };
            assert!(together < most * apart, "{together} {apart}");
            assert!(with_coral[0] == 0.0 || together > 1.01 * apart, "{together} {apart}");
        }
    }
}

/// Rare fish that live alone among the bommies of a lagoon: two that keep to the coral and feed alike, one that shuns it.
fn among_the_bommies() -> Study {
    let of = |name: &'static str, mean: f64| group((name, mean, 1.0), 0.3, 0.1);
    let mut groups = [of("filefish", 0.35), of("hawkfish", 0.25), of("goby", 0.2)];
    for (group, (power, feeds)) in
        groups.iter_mut().zip([(1.0, "corallivores"), (0.8, "corallivores"), (-0.6, "others")])
    {
        group.spec.schools = SchoolLaw::Alone;
        group.trophic_group = Some(feeds.into());
        group.with_coral_patches = power;
    }
    let mut study = groups::study(groups.to_vec(), &[1, 4]);
    let of_fish = study.zones[0].clone();
    let reef = studies::zone(NamedReef::LagoonBommies, 0.08);
    study.zones[0] =
        Zone { cover: 0.2, fish: of_fish.fish, length_m: of_fish.length_m, width_m: of_fish.width_m, ..reef };
    study.zones[0].sites = vec![1, 3];
    study
}

/// Groups that lie in the same patches of coral are met in the same places, so that a few belts meet any of them more rarely than
/// if each lay by itself; one that shuns the coral makes up for them.
#[test]
fn whether_any_fish_in_the_same_patches_of_coral_is_met() {
    let searches = answer(among_the_bommies(), &["corallivores"], 4_000).animals;
    for search in &searches {
        println!("{} {} {}", search.indicator, search.occupied, search.occupied_simulated);
        let apart = (search.occupied - search.occupied_simulated).abs();
        assert!(apart < 0.006 + 4.0 * search.occupied_simulated_error, "{search:?}");
        for chance in &search.chances {
            println!("  {} x {}: {} {}", chance.sites, chance.units, chance.met, chance.met_simulated);
            let apart = (chance.met - chance.met_simulated).abs();
            assert!(apart < 0.01 + 4.0 * chance.met_simulated_error, "{} {chance:?}", search.indicator);
        }
    }
    let none = |name: &str| 1.0 - of(&searches, name).occupied;
    let (filefish, hawkfish, goby) = (none("filefish"), none("hawkfish"), none("goby"));
    let (alike, all) = (none("corallivores"), none("fish_density"));
    println!("{} {}", alike / (filefish * hawkfish), all / (alike * goby));
    assert!(alike > 1.02 * filefish * hawkfish && all < 0.99 * alike * goby, "{alike} {all}");
}

/// At the density of all together that is told as the upper limit, none of them is met in 5 of 100 surveys.
#[test]
fn the_upper_limit_of_groups_together() {
    let mut study = rare([3.0, 2.5], None);
    let limit = |study: &Study| {
        let searches = answer(study.clone(), &["hunters"], 8).animals;
        of(&searches, "hunters").chances[3].upper_limit_per_ha.unwrap()
    };
    let per_ha: f64 = study.zones[0].fish[..2].iter().map(|group| 1e4 * group.spec.places.density_per_m2).sum();
    let times = limit(&study) / per_ha;
    study.zones[0].fish.iter_mut().for_each(|group| group.spec.places.density_per_m2 *= times);
    study.also_report = vec!["hunters".into()];
    study.question = Question::Status;
    study.changes.clear();
    let plan = plan(study);
    let reading = plan.layout.readings.iter().position(|reading| reading.indicator.name() == "hunters").unwrap();
    let outcome = trials(&plan, 23, 1_500);
    let design = DesignIndex { reading, units: 1, sites: 1, place: Where::Zone(0) };
    let met = outcome.tally(plan.index(&design), 0).met_share();
    assert!((met.value() - SURELY).abs() < 0.005 + 4.0 * met.error(), "{times} {met:?}");
}
