//! The slow, obvious twin of the walk: is this place covered? It scans every cell in reach and reads the fields place by
//! place, sharing only keys and tables with the fast code.

use super::colonies::{Mark, mark_uniform};
use super::fast;
use super::lattice::LatticeField;
use super::listed::settled_rank;
use super::occupied::{RENEWAL, ranks, settling_ranks};
use super::site::{MOST_STATES, SiteReef};
use super::walk::Visit;
use crate::random::{Key, Purpose, lattice_key, mix, normal_cdf};

/// Bit s: a colony that lives in state s lies over the place (frame coordinates).
fn covered(site: &mut SiteReef, x: f32, y: f32, visit: Visit) -> u16 {
    let reef = site.reef;
    let law = &reef.law;
    let states = law.states.len();
    let mut alive_here = 0;
    for layer in &reef.layers {
        let key = Key(site.key.child(Purpose::Colony, layer.tag).0).0;
        let cells =
            |v: f32| ((v - layer.reach) / reef.cell).floor() as i32..=((v + layer.reach) / reef.cell).floor() as i32;
        for i in cells(x) {
            for j in cells(y) {
                let centre = |k: i32| f64::from(reef.cell) * (f64::from(k) + 0.5);
                let (field, innovation) = site.patch.with_innovation(&reef.normals, centre(i), centre(j));
                let along_cell = |k: i32| fast::floor(centre(k) as f32 / reef.along_cell);
                let along = site.along_cell(along_cell(i), along_cell(j));
                let sd = law.spec.patch.sd;
                let later = f64::from(reef.drift.memory) * field + f64::from(reef.drift.renewal) * innovation;
                let mut density = [0.0f64; MOST_STATES];
                for s in 0..states {
                    let (value, along) = if s == 0 { (field, along[0]) } else { (later, along[1]) };
                    density[s] = (f64::from(site.level[s]) + f64::from(along) + sd * value).exp();
                }
                let hash = mix(lattice_key(key, i, j));
                let mean = |s: usize| layer.share * density[s] * f64::from(reef.cell).powi(2);
                let seen = if visit == Visit::First { 0..1 } else { 1..states };
                let most = seen.clone().map(mean).fold(0.0, f64::max);
                let same = law.same_colonies as f32;
                let names = (1..).map(move |n| lattice_key(hash, n, 0));
                let first = ranks(hash).zip(names.clone().map(mix));
                let mut colonies: Vec<(f32, u64)> =
                    first.take_while(|&(rank, _)| f64::from(rank) > (-most).exp()).collect();
                if visit == Visit::Second && same < 1.0 {
                    let none = (-f64::from(1.0 - same) * most).exp();
                    colonies.retain(|(_, id)| fast::unit(mix(id ^ RENEWAL)) < same);
                    let settled = settling_ranks(hash).zip(names.map(|name| mix(name ^ RENEWAL)));
                    let settled = settled.take_while(|&(rank, _)| f64::from(rank) > none);
                    colonies.extend(settled.map(|(rank, id)| (settled_rank(rank, 1.0 - same), id)));
                }
                for (rank, id) in colonies {
                    let cx = (i as f32 + (id & 0x1F_FFFF) as f32 / 2_097_152.0) * reef.cell;
                    let cy = (j as f32 + ((id >> 21) & 0x1F_FFFF) as f32 / 2_097_152.0) * reef.cell;
                    let radius = layer.radius[(id >> 52) as usize];
                    if (cx - x).powi(2) + (cy - y).powi(2) >= radius * radius {
                        continue;
                    }
                    for s in seen.clone() {
                        if f64::from(rank) > (-mean(s)).exp() && survives(site, id, s, (cx, cy), radius) {
                            alive_here |= 1 << s;
                        }
                    }
                }
            }
        }
    }
    alive_here
}

/// Whether a colony lives through the deaths of a state; `place` of its centre in the frame.
fn survives(site: &SiteReef, id: u64, state: usize, (x, y): (f32, f32), radius: f32) -> bool {
    let Some(deaths) = site.reef.law.states[state].deaths else { return true };
    let field = LatticeField::new(site.key.child(Purpose::Storm, 0), deaths.patch_scale_m);
    let cell = deaths.patch_scale_m / 16.0;
    let centre = |v: f32| cell * ((f64::from(v) / cell).floor() + 0.5);
    let hit = deaths.hit == 1.0 || normal_cdf(-field.at(&site.reef.normals, centre(x), centre(y))) < deaths.hit;
    mark_uniform(id, Mark::Survival) < deaths.survival[usize::from(!hit)].of(f64::from(radius))
}

mod tests {
    use super::*;
    use crate::reef::colonies::SizeSurvival;
    use crate::reef::{CoralLaw, CoralReef, CoralState, Deaths, NamedReef, Walk};

    fn law(reef: NamedReef) -> CoralLaw {
        let state = |mean_intensity, change_sd| CoralState { change_sd, ..CoralState::even(0.2, mean_intensity) };
        let survival = |survival: f64, slope| SizeSurvival { at_m: 0.1, slope, ..SizeSurvival::even(survival) };
        let storm = Deaths {
            hit: 0.6,
            patch_scale_m: 7.0,
            survival: [survival(0.2, 1.5), survival(0.9, 0.0)],
            left: [f64::NAN; 2],
        };
        let large_die = Deaths { hit: 1.0, survival: [survival(0.6, -2.0); 2], ..storm };
        let after = |deaths| CoralState { deaths: Some(deaths), ..state(0.25, 0.0) };
        CoralLaw {
            spec: reef.spec(),
            mean_area_m2: 0.03,
            site_sd: 0.3,
            site_year_sd: 0.1,
            field_memory: 0.8,
            same_colonies: 0.7,
            states: vec![
                state(0.25, 0.0),
                state(0.25, 0.0),
                state(0.15, 0.2),
                state(0.4, 0.0),
                after(storm),
                after(large_die),
            ],
            patch_variance_over_a_point: 0.1,
        }
    }

    #[test]
    fn the_walk_sees_what_the_twin_sees() {
        let mut walk = Walk::default();
        for reef in [NamedReef::ForeReef, NamedReef::OuterSlope, NamedReef::LagoonBommies] {
            let coral = CoralReef::new(law(reef), |_| 0.0);
            let (mut looked, mut differ, mut seen) = (0, 0, 0);
            let mut in_state = [0; 6];
            for trial in 0..24u64 {
                let visit = if trial % 3 == 0 { Visit::First } else { Visit::Second };
                let mut site = SiteReef::new(&coral, Key::seed(trial));
                let line = site.frame_line((3.0 * trial as f64, 7.0), (1.0, 0.0), 10.0);
                walk.read(&mut site, &line, 0.0, visit);
                for point in 1..=100 {
                    let along = point as f32 * 0.1;
                    let fast = walk
                        .colonies
                        .iter()
                        .filter(|c| (c.along - along).powi(2) + c.across.powi(2) < c.radius * c.radius)
                        .fold(0, |all, c| all | c.alive);
                    let slow = covered(&mut site, line.x + line.ux * along, line.y + line.uy * along, visit);
                    looked += 1;
                    differ += u32::from(fast != slow);
                    seen += u32::from(slow != 0);
                    in_state.iter_mut().enumerate().for_each(|(s, number)| *number += slow >> s & 1);
                }
            }
            // Single precision moves a disc's edge, or a mark, now and then: a point in a thousand at most.
            assert!(differ <= looked / 1000, "{reef:?}: {differ} of {looked} points differ");
            assert!(seen > looked / 20);
            // Fewer live after a storm than without, and not none.
            assert!(in_state[4..].iter().all(|&number| 0 < number && number < in_state[1]), "{in_state:?}");
        }
    }

    #[cfg(target_arch = "x86_64")]
    #[test]
    fn every_processor_sees_the_same_bits() {
        use crate::reef::machine::{Vectors, tests::MOST};
        let coral = CoralReef::new(law(NamedReef::PatchyForeReef), |_| 0.0);
        let mut walks = [Vectors::Usual, Vectors::Wide, Vectors::Widest].map(|most| (most, Walk::default()));
        let mut colonies = 0;
        for trial in 0..20u64 {
            let visit = if trial % 2 == 0 { Visit::First } else { Visit::Second };
            let mut site = SiteReef::new(&coral, Key::seed(trial));
            let line = site.frame_line((2.0 * trial as f64, 3.0), (0.6, 0.8), 25.0);
            for (most, walk) in &mut walks {
                MOST.set(*most);
                walk.read(&mut site, &line, 0.3, visit);
            }
            MOST.set(Vectors::Widest);
            let [usual, others @ ..] = &walks;
            assert!(others.iter().all(|other| other.1.colonies == usual.1.colonies));
            colonies += usual.1.colonies.len();
        }
        assert!(colonies > 1000);
    }
}
