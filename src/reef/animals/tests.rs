use super::*;
use crate::measures::simulated::assert_mean;
use crate::random::{Key, Purpose};
use crate::reef::test_laws::of_one_reef;
use crate::reef::{CoralReef, NamedReef, SiteReef, Visit, Walk};
use crate::theory::clusters::mean_within;
use crate::theory::lattice::cell_kernel_of_two;
use crate::theory::pairs::Unit;

pub(super) fn lognormal(ln_sd: f64, scale_m: f64) -> AnimalPatches {
    AnimalPatches { law: PatchLaw::LogNormal { ln_sd }, scale_m }
}

fn spec(groups: Option<Groups>, patches: Option<AnimalPatches>) -> AnimalSpec {
    AnimalSpec {
        density_per_m2: 1.0,
        groups,
        patches,
        between_sites: BetweenSites::LnSd(0.0),
        site_year: BetweenSites::LnSd(0.0),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    }
}

fn law(spec: AnimalSpec, ratios: &[f64]) -> AnimalLaw {
    let states = ratios.iter().map(|&ratio| AnimalState { ratio, change_sd: 0.0 }).collect();
    AnimalLaw { spec, site_sd: 0.0, site_year_sd: 0.0, field_memory: 0.6, states }
}

fn strip(start: (f64, f64), heading: f64, size: (f64, f64)) -> StripPlace {
    StripPlace { start, direction: (heading.cos(), heading.sin()), length_m: size.0, width_m: size.1 }
}

fn there(walk: &AnimalWalk, state: usize) -> impl Iterator<Item = &Animal> {
    walk.animals.iter().filter(move |animal| animal.alive >> state & 1 == 1)
}

#[test]
fn the_density_is_unbiased_for_strips_of_any_shape_and_heading() {
    let groups = Some(Groups { mean_size: 6.0, spread_m: 0.8 });
    let patches = Some(lognormal(0.7, 12.0));
    let shapes = [(10.0, 1.0), (25.0, 2.0), (0.25, 0.25), (4.0, 7.0)];
    let mut walk = AnimalWalk::default();
    for (case, (groups, patches)) in
        [(None, None), (groups, None), (None, patches), (groups, patches)].into_iter().enumerate()
    {
        let mut law = law(spec(groups, patches), &[1.0, 1.0, 0.3, 1.7]);
        law.site_sd = 0.4;
        law.spec.stays = 0.5;
        let reef = AnimalReef::new(law);
        for (k, &size) in shapes.iter().enumerate() {
            let key = Key::seed(10 * case as u64 + k as u64);
            let mut densities = vec![Vec::new(); 4];
            for trial in 0..1500 {
                let site = AnimalSite::new(&reef, key.child(Purpose::Trial, trial), 3);
                let place = strip((30.0, 5.0), 0.9 * trial as f64, size);
                for (visit, states) in [(Visit::First, 0..1), (Visit::Second, 1..4)] {
                    walk.read(&site, &place, visit);
                    for s in states {
                        densities[s].push(there(&walk, s).count() as f64 / (size.0 * size.1));
                    }
                }
            }
            for (s, ratio) in [1.0, 1.0, 0.3, 1.7].into_iter().enumerate() {
                assert_mean(&densities[s], ratio);
            }
        }
    }
}

#[test]
fn two_readings_of_one_place_see_the_same_animals_whatever_the_strip() {
    let groups = Some(Groups { mean_size: 6.0, spread_m: 0.8 });
    let reef = AnimalReef::new(law(spec(groups, Some(lognormal(0.7, 12.0))), &[1.0]));
    let (mut walk, mut seen) = (AnimalWalk::default(), 0);
    for trial in 0..50 {
        let site = AnimalSite::new(&reef, Key::seed(trial), 0);
        let mut ids = |place: StripPlace| {
            walk.read(&site, &place, Visit::First);
            let mut ids: Vec<u64> = walk.animals.iter().map(|animal| animal.id).collect();
            ids.sort_unstable();
            ids
        };
        // A square of 2 m, read eastwards, northwards, and as two halves.
        let whole = ids(strip((10.0, 10.0), 0.0, (2.0, 2.0)));
        let turned = ids(strip((11.0, 9.0), std::f64::consts::FRAC_PI_2, (2.0, 2.0)));
        let mut halves = ids(strip((10.0, 9.5), 0.0, (2.0, 1.0)));
        halves.extend(ids(strip((10.0, 10.5), 0.0, (2.0, 1.0))));
        halves.sort_unstable();
        assert_eq!(whole, turned);
        assert_eq!(whole, halves);
        seen += whole.len();
    }
    assert!(seen > 100);
}

#[test]
fn what_stays_is_the_same_animals_and_what_moves_is_not() {
    for (stays, groups) in
        [(0.0, None), (1.0, None), (0.6, None), (0.6, Some(Groups { mean_size: 5.0, spread_m: 0.5 }))]
    {
        let mut spec = spec(groups, None);
        spec.stays = stays;
        spec.hidden = 0.25;
        let reef = AnimalReef::new(law(spec, &[1.0, 1.0, 0.5]));
        let (mut first, mut second) = (AnimalWalk::default(), AnimalWalk::default());
        let (mut kept, mut survived, mut out) = (Vec::new(), Vec::new(), Vec::new());
        for trial in 0..600 {
            let site = AnimalSite::new(&reef, Key::seed(trial), 0);
            let place = strip((10.0, 3.0), 0.3, (10.0, 1.0));
            first.read(&site, &place, Visit::First);
            second.read(&site, &place, Visit::Second);
            let again = |animal: &Animal| second.animals.iter().find(|other| other.id == animal.id).copied();
            let stayed: Vec<(Animal, Animal)> =
                first.animals.iter().filter_map(|animal| Some((*animal, again(animal)?))).collect();
            let alive_in = |s: u32| stayed.iter().filter(|(_, later)| later.alive >> s & 1 == 1).count() as f64;
            // Differences, so that the tolerance knows that animals of a group stay together.
            kept.push(alive_in(1) - stays * first.animals.len() as f64);
            survived.push(alive_in(2) - 0.5 * alive_in(1));
            for (before, after) in &stayed {
                assert_eq!((before.along, before.across, before.size), (after.along, after.across, after.size));
                // Being out is drawn anew at each visit.
                out.push(f64::from(before.seen && after.seen));
            }
        }
        if stays == 0.0 {
            assert!(out.is_empty());
            continue;
        }
        if stays == 1.0 {
            assert!(kept.iter().all(|difference| *difference == 0.0));
        } else {
            assert_mean(&kept, 0.0);
        }
        assert_mean(&survived, 0.0);
        assert_mean(&out, 0.75 * 0.75);
    }
}

#[test]
fn the_truth_of_a_site_is_what_is_there_in_the_mean() {
    let mut law =
        law(spec(Some(Groups { mean_size: 3.0, spread_m: 0.5 }), Some(lognormal(1.0, 10.0))), &[1.0, 1.0, 0.5]);
    law.site_sd = 0.5;
    law.site_year_sd = 0.3;
    let reef = AnimalReef::new(law);
    let mut walk = AnimalWalk::default();
    let (mut first, mut later) = (Vec::new(), Vec::new());
    for trial in 0..300 {
        let mut site = AnimalSite::new(&reef, Key::seed(trial), 0);
        let mut truths = [0.0; 3];
        site.truth((30.0, 20.0), 0..3, &mut truths);
        let whole = strip((0.0, 10.0), 0.0, (30.0, 20.0));
        walk.read(&site, &whole, Visit::First);
        first.push(walk.animals.len() as f64 / 600.0 - truths[0]);
        walk.read(&site, &whole, Visit::Second);
        later.push(there(&walk, 2).count() as f64 / 600.0 - truths[2]);
    }
    assert_mean(&first, 0.0);
    assert_mean(&later, 0.0);
}

/// Animals in the patches of the coral are many where colonies are, or few: the mean product of what a strip of both has is
/// what the field that they share says.
#[test]
fn patches_of_the_coral_are_where_the_colonies_are() {
    let reef = NamedReef::RubbleSlope.spec();
    let law = of_one_reef(reef, 0.1);
    let density = law.mean_density(0);
    let coral = CoralReef::new(law, |_| 0.0);
    let (length, width) = (3.0, 1.0);
    let unit = Unit::Strip { length_m: length, width_m: width };
    for power in [0.8, -0.5] {
        let patches = AnimalPatches::of_coral(&reef, power);
        let animals = AnimalReef::new(self::law(spec(None, Some(patches)), &[1.0, 1.0]));
        let kernel = cell_kernel_of_two(power * reef.patch.sd.powi(2), reef.patch.scale_m, reef.patch_cell_m());
        let together = 1.0 + mean_within(unit, |h| kernel.at(h));
        let (mut walk, mut over) = (Walk::default(), FieldOver::default());
        let mut products = Vec::new();
        for trial in 0..6_000 {
            let key = Key::seed(29).child(Purpose::Site, trial);
            let (mut site, own) = (SiteReef::new(&coral, key), AnimalSite::new(&animals, key, 5));
            let place = strip((7.0, 4.0), 0.7 * trial as f64, (length, width));
            let line = site.frame_line(place.start, place.direction, length);
            walk.read(&mut site, &line, (0.5 * width) as f32, Visit::First);
            let inside = walk.colonies.iter().filter(|colony| {
                f64::from(colony.across.abs()) < 0.5 * width && (0.0..length as f32).contains(&colony.along)
            });
            own.read_field(&place, Visit::First, &mut over);
            products.push(inside.count() as f64 / (length * width * density) * own.patches_in(&over));
        }
        let mean = products.iter().sum::<f64>() / products.len() as f64;
        println!("{power}: {mean} {together}");
        assert!((together - 1.0).abs() > 0.2, "{power}: {together}");
        assert_mean(&products, together);
    }
}

/// What is read of a strip at once is what its places say one by one, in cells narrower and wider than the strip, at both visits.
#[test]
fn the_field_over_a_strip_is_the_mean_of_its_places() {
    let coral = AnimalPatches::of_coral(&NamedReef::RubbleSlope.spec(), 0.8);
    let gamma = AnimalPatches { law: PatchLaw::Gamma { k: 0.7 }, scale_m: 4.0 };
    let mut over = FieldOver::default();
    for patches in [coral, lognormal(0.7, 12.0), gamma] {
        let reef = AnimalReef::new(law(spec(None, Some(patches)), &[1.0, 1.0]));
        for (size, allowed) in [((15.0, 2.0), 0.01), ((6.0, 6.0), 0.006), ((8.0, 0.5), 0.02)] {
            let (mut apart, mut spread) = (0.0, 0.0);
            let sites = 120;
            for trial in 0..sites {
                let mut site = AnimalSite::new(&reef, Key::seed(trial), 2);
                let whole = strip((20.0, 9.0), 0.31 * trial as f64, size);
                let (columns, rows) = ((size.0 / 0.05) as usize, ((size.1 / 0.05) as usize).min(60));
                let mut places = [0.0; 2];
                for i in 0..columns * rows {
                    let along = size.0 * ((i / rows) as f64 + 0.5) / columns as f64;
                    let across = size.1 * (((i % rows) as f64 + 0.5) / rows as f64 - 0.5);
                    let (cos, sin) = whole.direction;
                    let start = (20.0 + along * cos - across * sin, 9.0 + along * sin + across * cos);
                    let place = StripPlace { start, direction: whole.direction, length_m: 1e-9, width_m: 1e-9 };
                    let densities = site.patches_over(&place);
                    (0..2).for_each(|visit| places[visit] += densities[visit] / (columns * rows) as f64);
                }
                for (visit, exact) in [Visit::First, Visit::Second].into_iter().zip(places) {
                    site.read_field(&whole, visit, &mut over);
                    apart += (site.patches_in(&over) - exact).powi(2) / (2 * sites) as f64;
                    spread += (exact - 1.0).powi(2) / (2 * sites) as f64;
                }
            }
            let share = (apart / spread).sqrt();
            println!("{patches:?} {size:?}: {share}");
            assert!(share < allowed, "{patches:?} {size:?}: {share}");
        }
    }
}

/// Means, variances and the covariance across the visits of the density of patches over a strip, as the closed form has them.
#[test]
fn the_field_over_a_strip_has_the_moments_of_its_law() {
    let reef = NamedReef::RubbleSlope.spec();
    let mut over = FieldOver::default();
    for (power, size) in [(0.8, (30.0, 2.0)), (-0.5, (12.0, 12.0)), (0.6, (5.0, 0.5))] {
        let patches = AnimalPatches::of_coral(&reef, power);
        let animals = AnimalReef::new(law(spec(None, Some(patches)), &[1.0, 1.0]));
        let unit = Unit::Strip { length_m: size.0, width_m: size.1 };
        let product = |memory: f64| {
            let covariance = memory * (power * reef.patch.sd).powi(2);
            let kernel = cell_kernel_of_two(covariance, reef.patch.scale_m, reef.patch_cell_m());
            1.0 + mean_within(unit, |h| kernel.at(h))
        };
        let mut means: [Vec<f64>; 2] = Default::default();
        for trial in 0..6_000 {
            let site = AnimalSite::new(&animals, Key::seed(31).child(Purpose::Site, trial), 5);
            for (visit, means) in [Visit::First, Visit::Second].into_iter().zip(&mut means) {
                site.read_field(&strip((50.0, 20.0), 0.7 * trial as f64, size), visit, &mut over);
                means.push(site.patches_in(&over));
            }
        }
        let products = |one: usize, other: usize| -> Vec<f64> {
            means[one].iter().zip(&means[other]).map(|(one, other)| one * other).collect()
        };
        for visit in 0..2 {
            assert_mean(&means[visit], 1.0);
            assert_mean(&products(visit, visit), product(1.0));
        }
        assert_mean(&products(0, 1), product(0.6));
    }
}
