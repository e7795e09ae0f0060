//! The slow, obvious twin of the walk: it lists every animal of every group of a large square about the strip, state by
//! state, and keeps those that lie in the strip. It shares keys, and the patches place by place, with the fast code.

use super::groups::{From, PLACE, halves, states_of};
use super::members::Members;
use super::site::AnimalSite;
use super::target::Target;
use super::tests::lognormal;
use super::walk::{Animal, AnimalWalk, StripPlace};
use super::{AnimalLaw, AnimalPatches, AnimalReef, AnimalSpec, AnimalState, BetweenSites, Groups, PatchLaw, Sizes};
use crate::random::{Key, lattice_key, mix, uniform};
use crate::reef::Visit;

/// (along, across, id, state) of all animals of the strip.
fn enumerated(site: &mut AnimalSite, strip: &StripPlace, visit: Visit) -> Vec<(f64, f64, u16)> {
    let law = site.reef.law.clone();
    let middle = |k: usize| {
        let (start, direction) = ([strip.start.0, strip.start.1][k], [strip.direction.0, strip.direction.1][k]);
        start + 0.5 * strip.length_m * direction
    };
    let (x, y) = site.frame.from_site(middle(0), middle(1));
    let reach = 0.5 * strip.length_m + strip.width_m + 8.0 * law.spec.groups.map_or(0.0, |groups| groups.spread_m);
    let cells = |v: f64| ((v - reach) / site.reef.cell).floor() as i32..=((v + reach) / site.reef.cell).floor() as i32;
    let (columns, rows) = (cells(x), cells(y));
    let mut found = Vec::new();
    for i in columns {
        for j in rows.clone() {
            let split = site.reef.split;
            let patch = match &mut site.patches {
                None => 1.0,
                Some(patches) => {
                    patches.at(&site.reef.normals, i >> split, j >> split)[usize::from(visit == Visit::Second)]
                }
            };
            let hash = mix(lattice_key(site.key, i, j));
            for (s, from) in
                states_of(visit, law.states.len()).flat_map(|s| From::of(visit, law.spec.stays).map(move |f| (s, f)))
            {
                let mean = from.share() * patch * site.groups_per_cell(s);
                let mut rank = 0.0;
                for n in 1.. {
                    let word = from.word(hash, n);
                    rank -= uniform(word).ln();
                    if rank >= mean {
                        break;
                    }
                    let id = mix(word ^ PLACE);
                    if !from.stays(id) {
                        continue;
                    }
                    let (x, y) = halves(id);
                    let centre = ((f64::from(i) + x) * site.reef.cell, (f64::from(j) + y) * site.reef.cell);
                    let mut add = |name: u64, place: (f64, f64)| {
                        let survival = crate::reef::fast::third(mix(name ^ super::walk::MARKS), 0);
                        let on_site = site.frame.to_site(place.0, place.1);
                        let (dx, dy) = (on_site.0 - strip.start.0, on_site.1 - strip.start.1);
                        let along = dx * strip.direction.0 + dy * strip.direction.1;
                        let across = dy * strip.direction.0 - dx * strip.direction.1;
                        let inside = 0.0 <= along && along < strip.length_m && across.abs() <= 0.5 * strip.width_m;
                        if inside && survival < law.states[s].survival() as f32 {
                            found.push((along, across, s as u16));
                        }
                    };
                    match &law.spec.groups {
                        None => add(id, centre),
                        Some(groups) => {
                            // All animals of the group, along and across the axes of the frame.
                            let mut members = Members::default();
                            members.add((0, id), (0.0, 0.0), groups, 1.0);
                            members.place(
                                groups,
                                &Target { x: 0.0, y: 0.0, ux: 1.0, uy: 0.0, length: 0.0, half_width: 0.0 },
                            );
                            for (n, &name) in members.names.iter().enumerate() {
                                let (dx, dy) = (f64::from(members.along[n]), f64::from(members.across[n]));
                                add(name, (centre.0 + dx, centre.1 + dy));
                            }
                        }
                    }
                }
            }
        }
    }
    found
}

#[test]
fn the_walk_finds_what_the_twin_finds() {
    let groups =
        [None, Some(Groups { mean_size: 4.0, spread_m: 0.6 }), Some(Groups { mean_size: 30.0, spread_m: 3.0 })];
    let patches =
        [None, Some(lognormal(1.0, 2.0)), Some(AnimalPatches { law: PatchLaw::Gamma { k: 0.4 }, scale_m: 30.0 })];
    let mut walk = AnimalWalk::default();
    let mut seen = 0;
    for (case, (&groups, &patches)) in groups.iter().flat_map(|g| patches.iter().map(move |p| (g, p))).enumerate() {
        for trial in 0..30u64 {
            let law = AnimalLaw {
                spec: AnimalSpec {
                    density_per_m2: if trial % 3 == 0 { 6.0 } else { 0.4 },
                    groups,
                    patches,
                    between_sites: BetweenSites::LnSd(0.5),
                    site_year: BetweenSites::LnSd(0.2),
                    hidden: 0.3,
                    sizes: Sizes::one_class(),
                    stays: [0.0, 0.4, 1.0][trial as usize % 3],
                },
                site_sd: 0.5,
                site_year_sd: 0.2,
                field_memory: 0.7,
                states: [(1.0, 0.0), (1.0, 0.0), (0.4, 0.3), (1.8, 0.0), (0.0, 0.0)]
                    .map(|(ratio, change_sd)| AnimalState { ratio, change_sd })
                    .to_vec(),
            };
            let reef = AnimalReef::new(law);
            let mut site = AnimalSite::new(&reef, Key::seed(1000 * case as u64 + trial), 0);
            let (sin, cos) = (trial as f64).sin_cos();
            let width_m = [0.25, 1.0, 4.0][trial as usize % 3];
            let strip = StripPlace { start: (40.0, 11.0), direction: (cos, sin), length_m: 10.0, width_m };
            for visit in [Visit::First, Visit::Second] {
                walk.read(&site, &strip, visit);
                let states =
                    |animal: &Animal| (0..16u16).filter(move |s| animal.alive >> s & 1 == 1).collect::<Vec<_>>();
                let mut fast: Vec<(f64, f64, u16)> = walk
                    .animals
                    .iter()
                    .flat_map(|animal| states(animal).into_iter().map(|s| (animal.along, animal.across, s)))
                    .collect();
                let mut slow = enumerated(&mut site, &strip, visit);
                let order = |a: &(f64, f64, u16), b: &(f64, f64, u16)| a.2.cmp(&b.2).then(a.0.total_cmp(&b.0));
                fast.sort_by(order);
                slow.sort_by(order);
                assert_eq!(fast.len(), slow.len(), "{groups:?} {patches:?} trial {trial} {visit:?}");
                for (a, b) in fast.iter().zip(&slow) {
                    assert!(a.2 == b.2 && (a.0 - b.0).abs() < 1e-5 && (a.1 - b.1).abs() < 1e-5);
                }
                seen += fast.len();
            }
        }
    }
    assert!(seen > 5000, "{seen}");
}
