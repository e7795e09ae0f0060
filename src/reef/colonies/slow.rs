//! The slow, obvious twin of [`super::Visible`]: every colony against every other.

use super::{Mark, Visible, mark};
use crate::random::{Key, Purpose};
use crate::reef::{Colonies, Colony, CoralLaw, CoralReef, CoralState, NamedReef, SiteReef, Visit, Walk};

fn visible(colonies: &Colonies) -> Vec<u16> {
    let colonies: Vec<Colony> = colonies.iter().collect();
    let hidden_by = |below: &Colony, above: &Colony| {
        let distance = (below.along - above.along).powi(2) + (below.across - above.across).powi(2);
        let higher = mark(above.id, Mark::Rank) > mark(below.id, Mark::Rank);
        if higher && distance < above.radius * above.radius { above.alive } else { 0 }
    };
    colonies
        .iter()
        .map(|below| below.alive & !colonies.iter().fold(0, |hidden, above| hidden | hidden_by(below, above)))
        .collect()
}

#[test]
fn bins_find_what_all_pairs_find() {
    let mut ours = Visible::default();
    let mut hidden = 0;
    for trial in 0..60u64 {
        let key = Key::seed(41).child(Purpose::Trial, trial);
        let u = |i: usize, k: u64| key.uniform(Purpose::Test, 8 * i as u64 + k) as f32;
        let colonies: Colonies = (0..(4 * trial) as usize)
            .map(|i| Colony {
                along: 11.0 * u(i, 0) - 0.5,
                across: 1.4 * u(i, 1) - 0.7,
                radius: 0.02 + 0.4 * u(i, 2).powi(3),
                id: key.child(Purpose::Colony, i as u64).0,
                alive: (7.999 * u(i, 3)) as u16,
            })
            .collect();
        let slow = visible(&colonies);
        assert_eq!(ours.states(&colonies), slow);
        let some: Vec<u32> = (0..colonies.len() as u32).filter(|at| at % 3 != 1).collect();
        let slow_some: Vec<u16> = some.iter().map(|&at| slow[at as usize]).collect();
        assert_eq!(ours.states_of(&some, &colonies), slow_some);
        hidden += colonies.iter().zip(&slow).filter(|(colony, states)| colony.alive != **states).count();
    }
    assert!(hidden > 500, "{hidden}");
}

#[test]
fn on_a_walk_the_twin_agrees_at_both_visits() {
    let state = |mean_intensity| CoralState::even(0.6, mean_intensity);
    let law = CoralLaw {
        spec: NamedReef::DenseCoralGarden.spec(),
        mean_area_m2: 0.06156,
        site_sd: 0.1,
        site_year_sd: 0.1,
        field_memory: 0.8,
        same_colonies: 0.7,
        states: vec![state(1.8), state(1.8), state(0.9)],
        patch_variance_over_a_point: 0.5,
    };
    let coral = CoralReef::new(law, |_| 0.0);
    let (mut walk, mut ours) = (Walk::default(), Visible::default());
    for trial in 0..6 {
        let mut site = SiteReef::new(&coral, Key::seed(trial));
        let line = site.frame_line((40.0, 7.0), (1.0, 0.0), 10.0);
        for visit in [Visit::First, Visit::Second] {
            walk.read(&mut site, &line, 0.5, visit);
            assert!(walk.colonies.len() > 50);
            assert_eq!(ours.states(&walk.colonies), visible(&walk.colonies));
        }
    }
}
