//! Pilots of belts with counts: components and k are found again, the animals that are written give them back in closed
//! form, and open survey data give what was computed from them before.
//!
//! Open data where they are present: the folder named by `REEFWRIGHT_DATA`, else `../shared/data`. Virgin Islands: Ennis et
//! al. 2020, The United States Virgin Islands Territorial Coral Reef Monitoring Program, annual report. Atlantic: NOAA
//! National Centers for Coastal Ocean Science, National Coral Reef Monitoring Program.

mod common;

use common::{assert_near, assert_relative};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, LogNormal, Poisson};
use reefwright::analysis::Moments;
use reefwright::pilot::Named;
use reefwright::pilot::counts::*;
use reefwright::random::{Key, Purpose};
use reefwright::reef::*;
use reefwright::theory::clusters::{AnimalAsked, AnimalTheory, CountedAs, ReadBy, calibrate_animals};
use reefwright::theory::pairs::Unit;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Animals of a known law: relative variances of what lasts of a site and of its years, k within a site.
struct Truth {
    mean: f64,
    lasting: f64,
    year: f64,
    k: f64,
}

fn factor(random: &mut ChaCha8Rng, square: f64) -> f64 {
    let variance = square.ln_1p();
    LogNormal::new(-0.5 * variance, variance.sqrt()).unwrap().sample(random)
}

fn invented(random: &mut ChaCha8Rng, truth: &Truth, sites: usize, visits: usize, belts: usize) -> CountData {
    let patch = Gamma::new(truth.k, 1.0 / truth.k).unwrap();
    let mut cells = Vec::new();
    for _ in 0..sites {
        let site = truth.mean * factor(random, truth.lasting);
        let mut of_site = Vec::new();
        for _ in 0..visits {
            let mean = site * factor(random, truth.year);
            let mut belt = || {
                let mean: f64 = mean * patch.sample(random);
                let count = if mean > 1e-12 { Poisson::new(mean).unwrap().sample(random) } else { 0.0 };
                BeltCount { count, area_m2: 20.0 }
            };
            of_site.push((0..belts).map(|_| belt()).collect());
        }
        cells.push(of_site);
    }
    let visit = |label: usize| reefwright::pilot::Visit { label: label.to_string(), year: None };
    let zone = CountZone {
        name: None,
        sites: (0..sites).map(|site| site.to_string()).collect(),
        visits: (0..visits).map(visit).collect(),
        cells,
    };
    let rows = sites * visits * belts;
    CountData {
        file: "invented.csv".into(),
        counted: "urchins".into(),
        zones: vec![zone],
        rows,
        missing: 0,
        doubts: Vec::new(),
    }
}

/// Over many pilots the ratios have little bias, and the intervals of 95 % hold the truth in about nine of ten (skewed counts
/// and sites make the jackknife short).
#[test]
fn what_a_pilot_was_made_of_is_found_again() {
    let mut random = ChaCha8Rng::seed_from_u64(31);
    let truth = Truth { mean: 2.4, lasting: 0.40, year: 0.064, k: 0.8 };
    let one_visit: f64 = 1.40 * 1.064 - 1.0;
    let year: f64 = 1.40 * 0.064;
    let pilots = 150;
    let (mut density, mut sites, mut years, mut inverse) =
        (Moments::default(), Moments::default(), Moments::default(), Moments::default());
    let mut held = [0; 5];
    for _ in 0..pilots {
        let fit = fit_counts(&invented(&mut random, &truth, 25, 3, 6)).unwrap().zones.remove(0);
        let (of_sites, of_years) = (fit.between_sites.unwrap(), fit.site_year.unwrap());
        let (moments, likelihood) = (fit.k_by_moments.unwrap(), fit.k_by_likelihood.unwrap());
        density.push(fit.density_per_100_m2);
        sites.push(of_sites.share.powi(2));
        years.push(of_years.share.powi(2));
        inverse.push(1.0 / likelihood.k);
        let holds = [
            fit.density_95.holds(12.0),
            of_sites.interval_95.holds(one_visit.sqrt()),
            of_years.interval_95.holds(year.sqrt()),
            moments.interval_95.holds(0.8),
            likelihood.interval_95.holds(0.8),
        ];
        held.iter_mut().zip(holds).for_each(|(count, holds)| *count += u32::from(holds));
    }
    println!("held of {pilots}: {held:?}; {density:?} {sites:?} {years:?} {inverse:?}");
    assert!(density.mean_measured().errors_from(12.0) < 4.0);
    // A ratio of moments of 25 sites is too small by some per cent; a variance kept at nil a little too large.
    assert_relative("sites", sites.mean(), one_visit, 0.15);
    assert_near("years", years.mean(), year, 0.03);
    assert!(inverse.mean_measured().errors_from(1.25) < 4.0 || (inverse.mean() / 1.25 - 1.0).abs() < 0.03);
    // Of the spread of 25 lognormal sites an interval of 95 % holds the truth eight times in ten only.
    let least =
        [("density", 0.86), ("sites", 0.74), ("years", 0.82), ("k by moments", 0.86), ("k by likelihood", 0.86)];
    for ((what, least), count) in least.into_iter().zip(held) {
        assert!(f64::from(count) >= least * f64::from(pilots), "{what}: {count} of {pilots}");
    }
}

/// Of animals so rare that a pilot meets a few dozen or fewer the spread of sites is often found to be none: its interval says
/// that it need not be.
#[test]
fn few_animals_do_not_show_that_sites_are_alike() {
    let mut random = ChaCha8Rng::seed_from_u64(32);
    let pilots = 120;
    for mean in [0.05, 0.1, 0.3] {
        let truth = Truth { mean, lasting: 0.36, year: 0.01, k: 1e6 };
        let spread = f64::sqrt(1.36 * 1.01 - 1.0);
        let (mut told, mut held, mut even) = (0, 0, 0);
        for _ in 0..pilots {
            // A pilot that meets none is refused; one in which no two sites meet any tells nothing of how they differ.
            let Ok(mut fits) = fit_counts(&invented(&mut random, &truth, 20, 2, 3)) else { continue };
            let Some(found) = fits.zones.remove(0).between_sites else { continue };
            assert!(found.interval_95.low < found.interval_95.high, "{found:?}");
            told += 1;
            even += u32::from(found.share == 0.0);
            held += u32::from(found.interval_95.holds(spread));
        }
        println!("{mean}: {held} of {told} hold it, {even} found none");
        assert!(told > pilots / 2 && f64::from(held) >= 0.86 * f64::from(told), "{mean}: {held} of {told}");
        assert!(mean > 0.1 || even > told / 6, "{mean}: {even}");
    }
}

const TAKEN: BeltsTaken = BeltsTaken { length_m: 10.0, width_m: 2.0, site_length_m: 100.0, site_width_m: 20.0 };
const USUAL: UsualSpreads = UsualSpreads { between_sites: 0.8, site_year: 0.3 };

/// What closed forms give for belts of the written animals: spread of sites in one visit and k within a site.
fn gives(animal: &CalibratedAnimal, taken: &BeltsTaken) -> (f64, f64, f64) {
    let site = (taken.site_length_m, taken.site_width_m);
    let asked = AnimalAsked { spec: animal.spec.clone(), site, field_memory: 1.0, yearly_memory: 1.0, changes: vec![] };
    let theory = AnimalTheory::new(calibrate_animals(&asked).unwrap());
    let unit = Unit::Strip { length_m: taken.length_m, width_m: taken.width_m };
    let read = ReadBy { unit, site, per_m2: 100.0, relay_sd_m: 0.0, beyond_m: 0.0 };
    let moments = theory.moments(&read, CountedAs::ALL, None);
    let (mean, area) = (moments.mean[0], taken.length_m * taken.width_m);
    let counting = 100.0 * mean / area;
    let within = (moments.variance[0] - counting - moments.pair[0]) / (mean * mean + moments.pair[0]);
    (mean, moments.pair[0].sqrt() / mean, 1.0 / within)
}

fn example() -> CountFit {
    let named = Named { zone: None, site: vec!["site".into()], unit: Some("belt".into()), visit: Some("year".into()) };
    let columns = CountColumns { named, counted: CountedColumn::Number("urchins".into()), area: BeltArea::Same(20.0) };
    let text = include_str!("../examples/pilot_urchins.csv");
    let data = read_counts(text.as_bytes(), "pilot_urchins.csv", &columns).unwrap();
    assert_eq!((data.rows, data.missing), (143, 1));
    fit_counts(&data).unwrap().zones.remove(0)
}

/// The invented pilot of the examples: its makers' numbers (`tests/reference/make_pilot_urchins.py`) lie in the intervals,
/// and the animals that are written vary as it does.
#[test]
fn the_example_pilot_gives_back_what_it_was_made_of() {
    let fit = example();
    assert_eq!((fit.sites, fit.visits, fit.belts, fit.years_apart), (12, 2, 143, Some(2.0)));
    assert!(fit.density_95.holds(12.0), "{fit:#?}");
    assert!(fit.between_sites.unwrap().interval_95.holds(0.7) && fit.site_year.unwrap().interval_95.holds(0.3));
    assert!(fit.k_by_moments.unwrap().interval_95.holds(0.8) && fit.k_by_likelihood.unwrap().interval_95.holds(0.8));
    let animal = calibrate_animal(&fit, &TAKEN, USUAL).unwrap();
    let (mean, sites, k) = gives(&animal, &TAKEN);
    assert_relative("density", mean, fit.density_per_100_m2, 0.005);
    assert_relative("sites", sites, fit.between_sites.unwrap().share, 0.02);
    assert_relative("k", k, fit.k(), 0.02);
    assert_relative("k as told", animal.gives_k, k, 3e-3);
    assert!((animal.gives_empty - fit.empty_belts).abs() < 0.08, "{} {}", animal.gives_empty, fit.empty_belts);
}

#[test]
fn even_animals_and_sites_that_hardly_differ() {
    let mut random = ChaCha8Rng::seed_from_u64(32);
    // Poisson to all purposes.
    let even = Truth { mean: 5.0, lasting: 0.5, year: 0.0, k: 1e6 };
    let fit = fit_counts(&invented(&mut random, &even, 30, 1, 8)).unwrap().zones.remove(0);
    assert!(fit.site_year.is_none() && fit.warnings.contains(&CountWarning::OneVisit));
    let animal = calibrate_animal(&fit, &TAKEN, USUAL).unwrap();
    assert!(animal.gives_k > 20.0, "{animal:?}");
    assert!(!animal.site_year_told && animal.between_sites_told);
    // Clumped within sites that are all alike: patches must be small, or sites would differ.
    let alike = Truth { mean: 5.0, lasting: 0.0, year: 0.0, k: 0.7 };
    let fit = fit_counts(&invented(&mut random, &alike, 30, 2, 8)).unwrap().zones.remove(0);
    let animal = calibrate_animal(&fit, &TAKEN, USUAL).unwrap();
    assert!(animal.notes.iter().any(|note| matches!(note, AnimalNote::PatchesSmaller { .. })), "{animal:?}");
    let (_, sites, k) = gives(&animal, &TAKEN);
    assert!(sites < 0.45 && (k / fit.k() - 1.0).abs() < 0.25, "{sites} {k} {fit:#?}");
}

/// Patches of the usual scale would use up what little sites differ by: they must leave room for what the years were found
/// to do, which is then written.
#[test]
fn years_that_were_found_are_written_though_sites_are_patchy() {
    let mut fit = example();
    fit.between_sites = fit.between_sites.map(|sites| Spread { share: 0.45, ..sites });
    fit.site_year = fit.site_year.map(|years| Spread { share: 0.23, ..years });
    let animal = calibrate_animal(&fit, &TAKEN, USUAL).unwrap();
    let BetweenSites::Share(years) = animal.spec.site_year else { panic!("{animal:?}") };
    assert_relative("years", years, 0.23, 0.03);
    let (_, sites, k) = gives(&animal, &TAKEN);
    assert_relative("sites", sites, 0.45, 0.03);
    assert_relative("k", k, fit.k(), 0.05);
    // Years beyond what sites differ by cannot be: that is said.
    fit.site_year = fit.site_year.map(|years| Spread { share: 0.6, ..years });
    let animal = calibrate_animal(&fit, &TAKEN, USUAL).unwrap();
    assert!(animal.notes.iter().any(|note| matches!(note, AnimalNote::YearsLowered { .. })), "{animal:?}");
}

/// The text of a data file; `None`, with a word on the terminal, where it is not there.
fn open_data(name: &str) -> Option<String> {
    let folder = std::env::var_os("REEFWRIGHT_DATA")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"), PathBuf::from);
    let path = folder.join(name);
    let text = std::fs::read_to_string(&path).ok();
    if text.is_none() {
        eprintln!("skipped: {} is not there (set REEFWRIGHT_DATA)", path.display());
    }
    text
}

/// Two belts of 10 m at each of 317 sites of the Florida Keys: k of the same site 14.5 (computed before, by which formula
/// is not known); likelihood that estimates the mean of each pair gives 53 (computed).
#[test]
fn paired_colony_belts_of_the_florida_keys() {
    let Some(text) = open_data("atlantic-random-sites/coral_belt_pairs.csv") else { return };
    let site = ["region", "year", "primary_sample_unit"].map(str::to_owned).to_vec();
    let named = Named { zone: None, site, unit: Some("station_nr".into()), visit: None };
    let columns =
        CountColumns { named, counted: CountedColumn::Number("n_colonies".into()), area: BeltArea::Same(10.0) };
    let fit = fit_counts(&read_counts(text.as_bytes(), "open data", &columns).unwrap()).unwrap().zones.remove(0);
    assert_eq!((fit.sites, fit.belts), (322, 639));
    let (moments, likelihood) = (fit.k_by_moments.unwrap(), fit.k_by_likelihood.unwrap());
    println!("k by moments {moments:?}, by likelihood {likelihood:?}");
    assert!(moments.interval_95.holds(14.5) && likelihood.interval_95.holds(14.5));
    // By hand elsewhere: ratio of sums 16.778, conditional likelihood 13.523.
    assert_relative("k by moments", moments.k, 16.77791, 1e-4);
    assert_relative("k by likelihood", likelihood.k, 13.52336, 1e-5);
}

/// Long-spined urchins by site and year, with counts of belts of 20 m2 to 2007 and of 50 m2 after (areas inferred from the
/// steps of the densities).
fn urchins(text: &str) -> [CountData; 2] {
    [(2002..=2007, 20.0), (2008..=2012, 50.0)].map(|(years, area_m2)| {
        let mut lines = text.lines();
        let mut table = format!("{}\n", lines.next().unwrap());
        for line in lines.filter(|line| years.contains(&line.split(',').nth(1).unwrap().parse::<i32>().unwrap())) {
            table += &format!("{line}\n");
        }
        // Some sites were surveyed several times in a year, under the same numbers of transects: rows are belts.
        let named = Named { zone: None, site: vec!["site".into()], unit: None, visit: Some("year".into()) };
        let counted = CountedColumn::Per100M2("diadema_per_100m2".into());
        let columns = CountColumns { named, counted, area: BeltArea::Same(area_m2) };
        read_counts(table.as_bytes(), "open data", &columns).unwrap()
    })
}

/// Belts of one site and year: share empty, and variance over mean.
struct Lot {
    mean: f64,
    empty: f64,
    over_mean: f64,
}

/// Limits of classes of the mean number in a belt, from near .1 to above 10.
const CLASSES: [f64; 6] = [0.0, 0.35, 1.3, 3.0, 10.0, 1e9];

/// Means of share empty and medians of variance over mean, by class; with the number of lots.
fn by_class(lots: &[Lot]) -> BTreeMap<usize, (usize, f64, f64)> {
    let mut found = BTreeMap::new();
    for class in 0..CLASSES.len() - 1 {
        let of: Vec<&Lot> =
            lots.iter().filter(|lot| CLASSES[class] < lot.mean && lot.mean <= CLASSES[class + 1]).collect();
        let mut ratios: Vec<f64> = of.iter().map(|lot| lot.over_mean).collect();
        ratios.sort_by(f64::total_cmp);
        if !of.is_empty() {
            let empty = of.iter().map(|lot| lot.empty).sum::<f64>() / of.len() as f64;
            found.insert(class, (of.len(), empty, ratios[ratios.len() / 2]));
        }
    }
    found
}

fn lot(counts: &[f64]) -> Lot {
    let moments = Moments::of(counts);
    let empty = counts.iter().filter(|count| **count == 0.0).count() as f64 / counts.len() as f64;
    Lot { mean: moments.mean(), empty, over_mean: moments.variance() / moments.mean() }
}

/// The virtual animals, gamma patches of one k = 1/3 wider than a belt, read in as many belts as each site and year had, at
/// the density that it had: shares of empty belts and medians of variance over mean in classes of the mean number of a
/// belt, .1 to 19. Observed ones are of few sites: the tolerance is the spread of the same statistic over sets of
/// simulated sites, four of its SDs.
#[test]
fn urchins_of_all_densities_have_one_k() {
    let Some(text) = open_data("virgin-islands-permanent-transects/diadema.csv") else { return };
    let mut observed = Vec::new();
    const SETS: usize = 40;
    let mut simulated: Vec<Vec<Lot>> = (0..SETS).map(|_| Vec::new()).collect();
    let mut walk = AnimalWalk::default();
    let mut reefs: BTreeMap<u64, AnimalReef> = BTreeMap::new();
    for (period, data) in urchins(&text).iter().enumerate() {
        let fit = fit_counts(data).unwrap().zones.remove(0);
        let (moments, likelihood) = (fit.k_by_moments.unwrap(), fit.k_by_likelihood.unwrap());
        println!("period {period}: k by moments {moments:?}, by likelihood {likelihood:?}");
        // Both sizes of belts: the same k to within a third, about 1/3 to .4 by moments (.40 was told of both).
        assert!(moments.interval_95.holds(0.4) && (0.2..0.33).contains(&likelihood.k), "{likelihood:?}");
        let length_m = if period == 0 { 10.0 } else { 25.0 };
        for (number, cell) in data.zones[0].cells.iter().flatten().enumerate().filter(|(_, cell)| cell.len() >= 5) {
            let counts: Vec<f64> = cell.iter().map(|belt| belt.count).collect();
            let own = lot(&counts);
            if own.mean == 0.0 {
                continue;
            }
            let density = own.mean / cell[0].area_m2;
            let reef = reefs.entry(density.to_bits()).or_insert_with(|| AnimalReef::new(gamma_animals(density)));
            for (set, lots) in simulated.iter_mut().enumerate() {
                let key =
                    Key::seed(41).child(Purpose::Trial, set as u64).child(Purpose::Site, (2 * number + period) as u64);
                let site = AnimalSite::new(reef, key, 0);
                let mut belt = |place: u64| {
                    let side = |k: u64| 1400.0 * key.uniform(Purpose::Placement, 2 * place + k);
                    let start = (side(0), side(1));
                    let strip = StripPlace { start, direction: (1.0, 0.0), length_m, width_m: 2.0 };
                    walk.read(&site, &strip, Visit::First);
                    walk.animals.len() as f64
                };
                let counts: Vec<f64> = (0..cell.len() as u64).map(&mut belt).collect();
                if counts.iter().any(|count| *count > 0.0) {
                    lots.push(lot(&counts));
                }
            }
            observed.push(own);
        }
    }
    assert!(observed.len() > 50);
    let sets: Vec<_> = simulated.iter().map(|lots| by_class(lots)).collect();
    for (class, (lots, empty, over_mean)) in by_class(&observed) {
        let of = |pick: fn(&(usize, f64, f64)) -> f64| {
            Moments::of(&sets.iter().filter_map(|set| set.get(&class).map(pick)).collect::<Vec<f64>>())
        };
        let (found_empty, found_ratio) = (of(|set| set.1), of(|set| libm::log(set.2)));
        println!(
            "means to {}: {lots} site-years, empty {empty:.3} (simulated {:.3} +- {:.3}), variance over mean \
             {over_mean:.2} ({:.2}, by a factor of {:.2})",
            CLASSES[class + 1],
            found_empty.mean(),
            found_empty.variance().sqrt(),
            libm::exp(found_ratio.mean()),
            libm::exp(found_ratio.variance().sqrt())
        );
        assert!((empty - found_empty.mean()).abs() < 4.0 * found_empty.variance().sqrt() + 0.02, "class {class}");
        let apart = (libm::log(over_mean) - found_ratio.mean()).abs();
        assert!(apart < 4.0 * found_ratio.variance().sqrt() + 0.1, "class {class}");
    }
}

fn gamma_animals(density_per_m2: f64) -> AnimalLaw {
    let spec = AnimalSpec {
        density_per_m2,
        groups: None,
        patches: Some(AnimalPatches { law: PatchLaw::Gamma { k: 1.0 / 3.0 }, scale_m: 60.0 }),
        between_sites: BetweenSites::LnSd(0.0),
        site_year: BetweenSites::LnSd(0.0),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    };
    AnimalLaw { spec, site_sd: 0.0, site_year_sd: 0.0, field_memory: 1.0, states: vec![AnimalState::UNCHANGED] }
}
