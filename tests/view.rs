//! The reef from above: what is drawn is what is surveyed.

use reefwright::engine::Plan;
use reefwright::planner::{Fate, PictureUnit, ReefPicture, UnitsDrawn, on_their_lines, picture, second_picture};
use reefwright::random::{Key, Purpose};
use reefwright::reef::colonies::{Visible, mean_stretch};
use reefwright::reef::{AnimalSite, AnimalWalk, SiteReef, StripPlace, Visit, Walk};
use reefwright::scenario::load_text;
use reefwright::theory::ZoneTheory;

const SCENARIO: &str = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 6\nlength_m = 40\nwidth_m = 12\n\
    reef = \"fore_reef\"\ncover_percent = 28\nbetween_sites_points = 9\n[[zone.animal]]\nname = \"slate_urchin\"\n\
    density_per_100_m2 = 40\ngroup_size = 4\nhidden_percent = 25\n[[method.point_intercept]]\nunits = [2, 6]\n\
    [[method.line_intercept]]\nlength_m = 10\nunits = [2, 6]\n[[method.photo_quadrats]]\nunits = [2, 6]\n\
    [[method.coral_belt]]\nunits = [2, 6]\n[[method.invertebrate_belt]]\nunits = [2, 6]\n";

fn plan() -> Plan {
    plan_of(SCENARIO)
}

fn plan_of(text: &str) -> Plan {
    let study = load_text("view.toml", text).unwrap().study;
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

#[test]
fn units_on_shared_lines_begin_where_their_lines_begin() {
    let shared = include_str!("../examples/quill_bank.toml");
    let riders = "[[method.invertebrate_belt]]\nlength_m = 5\nunits = \"1..6\"\nwork = { on_line_of = \"point_intercept\" }\n\n\
        [[method.coral_belt]]\nlength_m = 25\nunits = \"1..3\"\nwork = { on_line_of = \"point_intercept\" }\n\n\
        [[method.point_intercept]]";
    let animal = "[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 20\ngroup_size = 3\n\n";
    let text = shared
        .replacen("[[method.point_intercept]]", riders, 1)
        .replacen("[[zone]]\nname = \"wall\"", &format!("{animal}[[zone]]\nname = \"wall\""), 1)
        .replacen("[[change]]", &format!("{animal}[[change]]"), 1);
    let loaded = load_text("lines.toml", &text).unwrap();
    let plan = plan_of(&text);
    let before = picture(&plan, 0, 1, UnitsDrawn::OfEach(3));
    let mut seen = before.clone();
    on_their_lines(&mut seen, &plan.study, loaded.expedition.as_ref().unwrap());
    let of = |picture: &ReefPicture, name: &str| -> Vec<PictureUnit> {
        let set = picture.sets.iter().position(|set| set.methods[0].0.starts_with(name)).unwrap();
        picture.units.iter().filter(|unit| unit.set == set).cloned().collect()
    };
    // The longest lies where it was laid, and the others along it.
    let (lines, corals, animals) = (of(&seen, "point"), of(&seen, "coral"), of(&seen, "invert"));
    assert_eq!((of(&before, "coral"), corals.len()), (corals.clone(), 3));
    for (coral, others) in corals.iter().zip(lines.iter().zip(&animals)) {
        for (unit, length) in [(others.0, 10.0), (others.1, 5.0)] {
            assert!(unit.from == coral.from && seen.units[unit.on.unwrap()] == *coral);
            let (dx, dy) = (unit.to.0 - unit.from.0, unit.to.1 - unit.from.1);
            assert!((dx.hypot(dy) - length).abs() < 1e-6, "{dx} {dy}");
            let along = (coral.to.0 - coral.from.0, coral.to.1 - coral.from.1);
            assert!((dx * along.1 - dy * along.0).abs() < 1e-6 && dx * along.0 + dy * along.1 > 0.0);
        }
    }
    assert!(seen.caption.contains("share lines") && !before.caption.contains("share lines"));
}

/// The site that a picture with seed 3 shows, and its key.
fn site_drawn(plan: &Plan) -> (Key, SiteReef<'_>) {
    let key = Key::seed(3)
        .child(Purpose::Confirmation, 0)
        .child(Purpose::Trial, 0)
        .child(Purpose::Zone, 0)
        .child(Purpose::Site, 0);
    (key, SiteReef::new(plan.reefs[0].coral().unwrap(), key))
}

/// What is drawn is what is surveyed: a walk along a belt finds the colonies and animals that the picture has there.
#[test]
fn a_belt_finds_what_is_drawn_in_it() {
    let plan = plan();
    let picture = picture(&plan, 0, 3, UnitsDrawn::OfEach(6));
    let (key, mut site) = site_drawn(&plan);
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
        animals.read(&AnimalSite::new(&plan.animals[0][0], key, 0), &strip, Visit::First);
        let seen = animals.animals.iter().filter(|animal| animal.seen && animal.alive & 1 == 1).count();
        let places = picture.animals[0].places.iter();
        assert_eq!(places.filter(|animal| !animal.is_hidden && of_belt(animal.x, animal.y)).count(), seen);
        met += seen;
    }
    assert!(counted > 100 && met > 0, "{counted} {met}");
}

/// At the second visit colonies are gone or new as the law says, the others are where they were, and what is drawn is what is
/// surveyed there: on belts laid anew.
#[test]
fn the_second_visit_shows_what_came_of_the_first() {
    let changed = format!(
        "{}[visits]\nyears_apart = 2\nrenewal_percent_per_year = 10\n[[change]]\nfrom = 28\nto = 20\n",
        SCENARIO.replace("[[zone]]", "question = \"between_these_visits\"\n[[zone]]")
    );
    let plan = plan_of(&changed);
    let first = picture(&plan, 0, 3, UnitsDrawn::OfEach(6));
    assert!(second_picture(&self::plan(), 0, 3, UnitsDrawn::OfEach(6), &first).is_none());
    let second = second_picture(&plan, 0, 3, UnitsDrawn::OfEach(6), &first).unwrap();
    let told = second.second.as_ref().unwrap();
    assert_eq!(told.change, "hard coral from 28 to 20 %");
    let number = |fate: Fate| second.colonies.iter().filter(|colony| colony.fate == fate).count();
    assert_eq!((told.gone, told.new), (number(Fate::Gone), number(Fate::New)));
    assert_eq!(number(Fate::There) + told.gone, first.colonies.len());
    // Of ten colonies a year one is renewed, and a fall of coral by more than a quarter takes more.
    let share = |of: usize| of as f64 / first.colonies.len() as f64;
    assert!((0.3..0.7).contains(&share(told.gone)) && (0.05..0.4).contains(&share(told.new)), "{told:?}");
    let area = |fates: &[Fate]| -> f64 {
        let of = second.colonies.iter().filter(|colony| fates.contains(&colony.fate));
        of.map(|colony| f64::from(colony.radius).powi(2)).sum()
    };
    assert!(area(&[Fate::There, Fate::New]) < area(&[Fate::There, Fate::Gone]));
    // Places are drawn anew, and the old ones are kept beside them.
    assert_eq!(told.earlier.len(), first.units.len());
    assert!(told.earlier.iter().zip(&first.units).all(|(earlier, unit)| *earlier == (unit.from, unit.to)));
    assert!(second.units.iter().zip(&first.units).all(|(again, unit)| again.from != unit.from));
    let (_, mut site) = site_drawn(&plan);
    let (mut walk, mut visible, mut counted) = (Walk::default(), Visible::default(), 0);
    for unit in second.units.iter().filter(|unit| unit.set == 2) {
        let length = unit.to.0 - unit.from.0;
        let line = site.frame_line(unit.from, (1.0, 0.0), length);
        walk.read(&mut site, &line, 0.5, Visit::Second);
        walk.colonies = walk.colonies.iter().filter(|colony| colony.alive >> 2 & 1 == 1).collect();
        let states = visible.states(&walk.colonies).to_vec();
        let inside = |along: f64, across: f64| 0.0 <= along && along < length && across.abs() <= 0.5;
        let belt = walk.colonies.iter().zip(&states);
        let found = belt.filter(|(c, s)| **s >> 2 & 1 == 1 && inside(f64::from(c.along), f64::from(c.across))).count();
        let of_belt = |x: f32, y: f32| inside(f64::from(x) - unit.from.0, f64::from(y) - unit.from.1);
        let there = second.colonies.iter().filter(|c| c.fate != Fate::Gone && !c.is_covered);
        let drawn = there.filter(|c| of_belt(c.x, c.y)).count();
        assert!(found.abs_diff(drawn) <= 1, "{found} {drawn}");
        counted += found;
    }
    assert!(counted > 60, "{counted}");
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
    // The largest diameter, as belts tell it, goes with that of the disc whatever the size.
    let met = mean_stretch() * discs.expect(|radius| 4.0 * radius * radius) / discs.expect(|radius| 2.0 * radius);
    assert!(text("Line-intercept").unwrap().contains(&format!("under a line {:.1} cm", 100.0 * met)));
    let density = plan.theories[0].law().unwrap().colonies.as_ref().unwrap().density(0);
    assert!(text("Coral belts").unwrap().contains(&format!("{density:.1} colonies per m2")));
    // One visit has nothing that was unseen before.
    assert!(text("Unseen before").is_none() && text("Sizes").is_none());
}

const FISH: &str = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 6\nlength_m = 120\nwidth_m = 50\n\
    reef = \"fore_reef\"\ncover_percent = 4\nbetween_sites_points = 1\n[[zone.fish]]\nname = \"slate_parrot\"\ndensity_per_100_m2 = 6\n\
    school = \"logarithmic\"\nschool_size = 4\npatch_k = 2\npatch_scale_m = 20\nlength_cm = 20\n[[zone.fish]]\n\
    name = \"lone_grouper\"\ndensity_per_100_m2 = 1\nlength_cm = 35\n[[zone.fish]]\nname = \"dense_goby\"\n\
    density_per_100_m2 = 2000\nlength_cm = 4\n[[method.fish_belt]]\nwidth_m = 5\nunits = [2, 4]\n\
    [[method.fish_point_count]]\nunits = [2, 4]\n";

fn fish_plan() -> Plan {
    plan_of(FISH)
}

#[test]
fn point_counts_are_circles_on_the_site_and_belts_are_strips() {
    let picture = picture(&fish_plan(), 0, 1, UnitsDrawn::OfEach(4));
    let names: Vec<&str> = picture.sets.iter().map(|set| set.methods[0].0.as_str()).collect();
    assert_eq!(names, ["fish_belt", "fish_point_count"]);
    assert_eq!([0, 1].map(|set| picture.sets[set].is_round()), [false, true]);
    for unit in &picture.units {
        let length = (unit.to.0 - unit.from.0).hypot(unit.to.1 - unit.from.1);
        let (wanted, width) = if unit.set == 1 { (15.0, 15.0) } else { (30.0, 5.0) };
        assert!((length - wanted).abs() < 1e-9 && (unit.width_m - width).abs() < 1e-12, "{unit:?}");
        let middle = (0.5 * (unit.from.0 + unit.to.0), 0.5 * (unit.from.1 + unit.to.1));
        let half = 0.5 * width;
        assert!((half..=120.0 - half).contains(&middle.0) && (half..=50.0 - half).contains(&middle.1), "{unit:?}");
    }
}

/// Over many sites the fish that are drawn are as many as the zone has, and so are schools of those that live in them; on one
/// site they are those of the site's own density. The same seed draws the same.
#[test]
fn fish_are_drawn_by_the_law_of_the_site() {
    let plan = fish_plan();
    let drawn = |seed: u64| picture(&plan, 0, seed, UnitsDrawn::OfEach(2)).fish;
    let first = drawn(0);
    assert_eq!(first, drawn(0));
    assert_eq!(first[2].name, "dense_goby");
    assert!(first[2].too_many && first[2].places.is_empty() && first[2].expected > 20_000.0);
    let (mut found, mut expected, mut variance) = ([0.0; 2], [0.0; 2], [0.0; 2]);
    for fish in (0..40).map(drawn) {
        for group in 0..2 {
            let places = &fish[group].places;
            assert!(places.iter().all(|&(x, y)| (0.0..120.0).contains(&x) && (0.0..50.0).contains(&y)));
            found[group] += places.len() as f64;
            expected[group] += fish[group].expected;
            // Alone: Poisson. Of a logarithmic series of mean 4 each fish has some 9 others with it (p / (1 - p), p = .9).
            variance[group] += fish[group].expected * if group == 0 { 10.5 } else { 1.0 };
        }
        assert_eq!(fish[1].schools, 0);
        assert!(fish[0].schools < fish[0].places.len() / 2);
    }
    for group in 0..2 {
        let error = f64::sqrt(variance[group]);
        assert!((found[group] - expected[group]).abs() < 4.0 * error, "{found:?} {expected:?} {error}");
    }
    // Sites of the zone: 6,000 m2 of 6 and 1 per 100 m2, site to site some 70 %.
    for (group, mean) in [360.0, 60.0].into_iter().enumerate() {
        let of_site = expected[group] / 40.0;
        assert!((of_site / mean - 1.0).abs() < 4.0 * 0.9 / f64::sqrt(40.0), "{of_site} {mean}");
    }
}

#[test]
fn notes_on_fish_tell_how_they_are_counted() {
    let notes = reefwright::planner::notes(&fish_plan());
    let text = |about: &str| notes.iter().find(|note| note.about.starts_with(about)).map(|note| note.text.clone());
    let belts = text("Fish belts, 30 x 5 m in 8 min").unwrap();
    assert!(belts.contains("in the 2 m ahead of the diver") && belts.contains("classes of 5 cm"), "{belts}");
    assert!(text("Fish point counts, radius 7.5 m").unwrap().contains("at one moment"));
    let changes = text("False changes in fish belts").unwrap();
    // Fish that stay: the speed of the swim tells nothing, a tenth more width a tenth more fish.
    assert!(
        !changes.contains("faster") && changes.contains("10 % more") && changes.contains("upper limit"),
        "{changes}"
    );
    assert!(text("Fish: what is not modelled").is_some());
    // None of it where there are no fish.
    assert!(reefwright::planner::notes(&plan()).iter().all(|note| !note.about.contains("ish")));
}
