//! The reef from above: what is drawn is what is surveyed.

use reefwright::engine::Plan;
use reefwright::planner::{PictureUnit, UnitsDrawn, picture};
use reefwright::random::{Key, Purpose};
use reefwright::reef::colonies::Visible;
use reefwright::reef::{AnimalSite, AnimalWalk, SiteReef, StripPlace, Visit, Walk};
use reefwright::scenario::load_text;
use reefwright::theory::ZoneTheory;

const SCENARIO: &str = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 6\nlength_m = 40\nwidth_m = 12\n\
    reef = \"fore_reef\"\ncover_percent = 28\nbetween_sites_points = 9\n[[zone.animal]]\nname = \"slate_urchin\"\n\
    density_per_100_m2 = 40\ngroup_size = 4\nhidden_percent = 25\n[[method.point_intercept]]\nunits = [2, 6]\n\
    [[method.line_intercept]]\nlength_m = 10\nunits = [2, 6]\n[[method.photo_quadrats]]\nunits = [2, 6]\n\
    [[method.coral_belt]]\nunits = [2, 6]\n[[method.invertebrate_belt]]\nunits = [2, 6]\n";

fn plan() -> Plan {
    let study = load_text("view.toml", SCENARIO).unwrap().study;
    let theories = study.zones.iter().map(|zone| ZoneTheory::new(&study, zone).unwrap()).collect();
    Plan::new(study, theories)
}

#[test]
fn every_method_is_drawn_and_those_on_the_same_tapes_once() {
    let picture = picture(&plan(), 0, 1, UnitsDrawn::InAll(6));
    let methods: Vec<Vec<&str>> =
        picture.sets.iter().map(|set| set.methods.iter().map(|(name, _)| name.as_str()).collect()).collect();
    assert_eq!(
        methods,
        [
            vec!["point_intercept", "line_intercept"],
            vec!["photo_quadrats"],
            vec!["coral_belt"],
            vec!["invertebrate_belt"]
        ]
    );
    for set in 0..4 {
        let of_set: Vec<&PictureUnit> = picture.units.iter().filter(|unit| unit.set == set).collect();
        assert_eq!(of_set.len(), 2);
        for unit in of_set {
            assert_eq!(unit.frames.len(), if set == 1 { 10 } else { 0 });
            assert!(unit.frames.iter().all(|frame| 0.0 <= frame.0 && frame.1 <= 10.0 + 1e-9));
            assert_eq!(unit.width_m, [0.0, 0.5, 1.0, 1.0][set]);
        }
    }
    assert_eq!(picture.units.iter().map(|unit| unit.label.as_str()).take(3).collect::<Vec<_>>(), ["A1", "A2", "B1"]);
}

/// What is drawn is what is surveyed: a walk along a belt finds the colonies and animals that the picture has there.
#[test]
fn a_belt_finds_what_is_drawn_in_it() {
    let plan = plan();
    let picture = picture(&plan, 0, 3, UnitsDrawn::OfEach(6));
    let key = Key::seed(3)
        .child(Purpose::Confirmation, 0)
        .child(Purpose::Trial, 0)
        .child(Purpose::Zone, 0)
        .child(Purpose::Site, 0);
    let mut site = SiteReef::new(plan.reefs[0].coral().unwrap(), key);
    let (mut walk, mut visible, mut animals) = (Walk::default(), Visible::default(), AnimalWalk::default());
    let (mut counted, mut met) = (0, 0);
    for unit in picture.units.iter().filter(|unit| unit.set == 2) {
        let (length, half) = (unit.to.0 - unit.from.0, 0.5);
        let line = site.frame_line(unit.from, (1.0, 0.0), length);
        walk.read(&mut site, &line, half as f32, Visit::First);
        let states = visible.states(&walk.colonies).to_vec();
        let inside = |along: f64, across: f64| 0.0 <= along && along < length && across.abs() <= half;
        let belt = walk.colonies.iter().zip(&states);
        let found = belt.filter(|(c, s)| **s & 1 == 1 && inside(f64::from(c.along), f64::from(c.across))).count();
        let of_belt = |x: f32, y: f32| inside(f64::from(x) - unit.from.0, f64::from(y) - unit.from.1);
        let drawn = picture.colonies.iter().filter(|c| !c.is_covered && of_belt(c.x, c.y)).count();
        // Single precision may move a colony over the edge.
        assert!(found.abs_diff(drawn) <= 1, "{found} {drawn}");
        counted += found;
        let strip = StripPlace { start: unit.from, direction: (1.0, 0.0), length_m: length, width_m: 1.0 };
        animals.read(&mut AnimalSite::new(&plan.animals[0][0], key, 0), &strip, Visit::First);
        let seen = animals.animals.iter().filter(|animal| animal.seen && animal.alive & 1 == 1).count();
        let places = picture.animals[0].places.iter();
        assert_eq!(places.filter(|animal| !animal.is_hidden && of_belt(animal.x, animal.y)).count(), seen);
        met += seen;
    }
    assert!(counted > 100 && met > 0, "{counted} {met}");
}

/// The shares of a belt that sees all sum to all, and the notes tell the closed forms.
#[test]
fn sizes_and_notes_come_from_the_closed_forms() {
    let plan = plan();
    let sizes = reefwright::planner::colony_sizes(&plan, 0).unwrap();
    assert_eq!(sizes.units, 6);
    for shares in [
        sizes.classes.iter().map(|class| class.before.truth).sum::<f64>(),
        sizes.classes.iter().map(|class| class.before.written).sum::<f64>(),
    ] {
        assert!((shares - 1.0).abs() < 1e-6, "{shares}");
    }
    assert!(sizes.classes.iter().all(|class| (0.0..0.1).contains(&class.before.error)));
    let notes = reefwright::planner::notes(&plan);
    let text = |about: &str| notes.iter().find(|note| note.about.starts_with(about)).map(|note| note.text.clone());
    let discs = &plan.theories[0].law().unwrap().shape.discs;
    let met = discs.expect(|radius| 4.0 * radius * radius) / discs.expect(|radius| 2.0 * radius);
    assert!(text("Line-intercept").unwrap().contains(&format!("under a line {:.1} cm", 100.0 * met)));
    let density = plan.theories[0].law().unwrap().colonies.as_ref().unwrap().density(0);
    assert!(text("Coral belts").unwrap().contains(&format!("{density:.1} colonies per m2")));
    // One visit has nothing that was unseen before.
    assert!(text("Unseen before").is_none() && text("Sizes").is_none());
}
