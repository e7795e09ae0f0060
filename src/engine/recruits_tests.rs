use super::*;
use crate::design::*;
use crate::engine::placement_tests;
use crate::engine::plan::Plan;
use crate::reef::{AnimalSpec, AnimalWalk, BetweenSites, Category, Groups, Sizes, Walk};
use crate::survey::{MethodKind, MethodSpec, Placement, UnitMinutes};
use crate::theory::ZoneTheory;

/// A slope of a fifth coral and a quarter sand with many recruits in groups, and lines of six quadrats of 50 x 50 cm.
fn study() -> Study {
    let mut study = placement_tests::study(Placement::default(), Places::SameMarks);
    let category = |name: &str, cover| Category { name: name.into(), cover, between_sites_sd: 0.05, scale_m: 0.4 };
    let zone = &mut study.zones[0];
    zone.categories = vec![category("turf", 0.4), category("sand", 0.25)];
    zone.recruits = Some(Recruits {
        spec: AnimalSpec {
            density_per_m2: 20.0,
            groups: Some(Groups { mean_size: 3.0, spread_m: 0.2 }),
            patches: None,
            between_sites: BetweenSites::Share(0.5),
            site_year: BetweenSites::Share(0.0),
            hidden: 0.0,
            sizes: Sizes::Classes(vec![0.6, 0.4]),
            stays: 1.0,
        },
        cannot_live_on: vec!["sand".into()],
    });
    study.also_report = RecruitMeasure::ALL.iter().skip(1).map(|measure| measure.name().into()).collect();
    study.changes =
        vec![Change { indicator: HARD_CORAL.into(), from: 0.2, to: 0.1, differs_between_sites_sd: None, deaths: None }];
    let kind = MethodKind::RecruitQuadrats { length_m: vec![8.0], quadrat_m: vec![0.5], every_m: vec![1.5] };
    study.methods =
        vec![MethodSpec { kind, units: vec![4], minutes: UnitMinutes { lay: 1.0, read: 1.0, ashore: None } }];
    study
}

fn plan(study: Study) -> Plan {
    let theory = ZoneTheory::new(&study, &study.zones[0]).expect("a reef within reach");
    Plan::new(study, vec![theory])
}

/// The sheet of a site after both visits.
fn read(plan: &Plan, key: Key) -> Sheet {
    let (survey, mut scratch) = (plan.survey(0), Scratch::default());
    let mut sheet = Sheet::new(&plan.layout, plan.states);
    let mut site = survey.reef.site(key);
    survey.read(key, &mut site, Visit::First, &mut sheet, &mut scratch);
    survey.read(key, &mut site, Visit::Second, &mut sheet, &mut scratch);
    sheet
}

/// All recruits and colonies near a line, found from another strip and told in places of the site.
struct Around {
    recruits: Vec<((f64, f64), f64, u16)>,
    colonies: Vec<((f64, f64), f64, u16)>,
}

impl Around {
    fn new(survey: &ZoneSurvey, key: Key, line: &Place, visit: Visit) -> Self {
        let (length_m, width_m) = (10.0, 3.0);
        let start = line.at(-1.0, 0.4);
        let other = Place { start, ..*line };
        let mut animals = AnimalWalk::default();
        let strip = StripPlace { start, direction: line.heading, length_m, width_m };
        animals.read(&AnimalSite::new(survey.recruits.unwrap(), key, RECRUITS), &strip, visit);
        let (mut walk, mut site) = (Walk::default(), SiteReef::new(survey.reef.coral().unwrap(), key));
        let frame_line = site.frame_line(start, line.heading, length_m);
        walk.read(&mut site, &frame_line, 0.5 * width_m as f32, visit);
        let colony = |colony: Colony| {
            let at = other.at(f64::from(colony.along), f64::from(colony.across));
            (at, f64::from(colony.radius), colony.alive)
        };
        Self {
            recruits: animals.animals.iter().map(|a| (other.at(a.along, a.across), a.size, a.alive)).collect(),
            colonies: walk.colonies.iter().map(colony).collect(),
        }
    }

    fn is_covered(&self, at: (f64, f64), state: usize) -> bool {
        self.colonies.iter().any(|(centre, radius, alive)| {
            alive >> state & 1 == 1 && libm::hypot(at.0 - centre.0, at.1 - centre.1) < *radius
        })
    }
}

#[test]
fn what_is_written_is_what_lies_on_free_bottom_in_the_quadrats() {
    let plan = plan(study());
    let survey = plan.survey(0);
    let (mut counted, mut under_colonies, mut on_sand) = (0, 0, 0);
    for number in 0..6 {
        let key = Key::seed(71).child(Purpose::Site, number);
        let sheet = read(&plan, key);
        let frame = SiteReef::new(survey.reef.coral().unwrap(), key).frame;
        let bottom = survey.bottom.unwrap().site(key, frame);
        let is_sand =
            |(x, y), state| bottom.category_at(&survey.reef.coral().unwrap().normals, x, y, when_of(state)) == 1;
        for visit in [Visit::First, Visit::Second] {
            let mut places = Vec::new();
            survey.lay(quadrats_key(key, 0), visit, (&[8.0; 4], 0.5), &mut places);
            for (unit, place) in places.iter().enumerate() {
                let around = Around::new(&survey, key, place, visit);
                for state in states_of_visit(visit, plan.states) {
                    let mut classes = [0.0; 2];
                    for quadrat in 0..6 {
                        let corner = place.at(1.5 * f64::from(quadrat), -0.25);
                        let inside = |(x, y): (f64, f64)| {
                            let (dx, dy) = (x - corner.0, y - corner.1);
                            let (cos, sin) = place.heading;
                            (0.0..0.5).contains(&(dx * cos + dy * sin)) && (0.0..0.5).contains(&(dy * cos - dx * sin))
                        };
                        for &(at, size, alive) in around.recruits.iter().filter(|recruit| inside(recruit.0)) {
                            if alive >> state & 1 == 0 {
                                continue;
                            }
                            if around.is_covered(at, state) {
                                under_colonies += 1;
                            } else if is_sand(at, state) {
                                on_sand += 1;
                            } else {
                                counted += 1;
                                classes[usize::from(size >= 0.6)] += 1.0;
                            }
                        }
                    }
                    let mut free = 0;
                    for (i, j) in (0..6 * 9).map(|k| (k / 3, k % 3)) {
                        let along = 1.5 * f64::from(i / 3) + (f64::from(i % 3) + 0.5) / 6.0;
                        let at = place.at(along, (f64::from(j) + 0.5) / 6.0 - 0.25);
                        free += i32::from(!around.is_covered(at, state) && !is_sand(at, state));
                    }
                    let all = classes[0] + classes[1];
                    let expected =
                        [all / 1.5, classes[0] / 1.5, classes[1] / 1.5, all / (1.5 * f64::from(free) / 54.0)];
                    for (column, expected) in expected.into_iter().enumerate() {
                        let written = sheet.units(column, state)[unit];
                        // No point is free: nothing is told, though a recruit may be in between.
                        let alike = (written - expected).abs() < 1e-9 || (written.is_nan() && !expected.is_finite());
                        assert!(alike, "{column} {state} {unit}: {written} {expected}");
                    }
                }
            }
        }
    }
    assert!(counted > 500 && under_colonies > 100 && on_sand > 100, "{counted} {under_colonies} {on_sand}");
}

#[test]
fn a_revisit_of_an_unchanged_reef_at_its_marks_sees_the_same_recruits() {
    let mut study = study();
    (study.visits.relay_sd_m, study.visits.renewal_per_year, study.visits.drift_years) = (0.0, 0.0, f64::INFINITY);
    let plan = plan(study);
    for number in 0..4 {
        let sheet = read(&plan, Key::seed(72).child(Purpose::Site, number));
        for column in 0..plan.layout.columns.len() {
            assert_eq!(sheet.units(column, 0), sheet.units(column, 1), "{column}");
        }
        // Where coral is lost, recruits that were under it are seen, and none goes.
        for (before, after) in sheet.units(0, 1).iter().zip(sheet.units(0, 2)) {
            assert!(after >= before);
        }
    }
}

#[test]
fn a_line_without_free_bottom_tells_nothing_of_it() {
    let mut study = study();
    // Half of what coral leaves is sand, in patches far wider than a quadrat.
    let zone = &mut study.zones[0];
    zone.categories = vec![Category { name: "sand".into(), cover: 0.4, between_sites_sd: 0.05, scale_m: 60.0 }];
    study.methods[0].kind =
        MethodKind::RecruitQuadrats { length_m: vec![2.0], quadrat_m: vec![0.1], every_m: vec![1.9] };
    let plan = plan(study);
    let (mut known, mut unknown) = (0, 0);
    for number in 0..20 {
        let sheet = read(&plan, Key::seed(73).child(Purpose::Site, number));
        for (all, free) in sheet.units(0, 0).iter().zip(sheet.units(3, 0)) {
            (known, unknown) = (known + i32::from(!free.is_nan()), unknown + i32::from(free.is_nan()));
            assert!(!free.is_nan() || *all < 200.0);
        }
    }
    assert!(known > 5 && unknown > 5, "{known} {unknown}");
}

#[test]
fn lines_have_as_many_quadrats_as_fit_whole() {
    let quadrats = |length_m, quadrat_m, every_m| {
        crate::survey::Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m }.quadrats()
    };
    assert_eq!(quadrats(10.0, 0.25, 1.0), Some(10));
    assert_eq!(quadrats(10.0, 1.0, 1.0), Some(10));
    assert_eq!(quadrats(10.0, 0.5, 9.5), Some(2));
    assert_eq!(quadrats(10.0, 0.5, 9.6), Some(1));
    let plan = plan(study());
    let line = &plan.layout.quadrats[0];
    assert!((line.area_m2() - 1.5).abs() < 1e-12 && line.grid().count() == 54);
    assert!(line.grid().all(|(along, across)| line.holds(along) && across.abs() < 0.25));
    assert!(line.holds(0.49) && !line.holds(0.51) && line.holds(1.5) && !line.holds(8.9) && !line.holds(9.1));
}

#[test]
fn every_point_of_a_grid_finds_the_colonies_over_it() {
    let line = QuadratLine { number: 1, length_m: 8.0, quadrat_m: 0.5, every_m: 1.5, quadrats: 6, columns: vec![] };
    let mut covered = Vec::new();
    let mut hits = 0;
    for trial in 0..40 {
        let key = Key::seed(trial);
        let colonies: Colonies = (0..30)
            .map(|i| Colony {
                along: 10.0 * key.uniform(Purpose::Test, 3 * i) as f32 - 1.0,
                across: key.uniform(Purpose::Test, 3 * i + 1) as f32 - 0.5,
                radius: 0.7 * key.uniform(Purpose::Test, 3 * i + 2).powi(2) as f32,
                id: i,
                alive: 1 << (i % 3),
            })
            .collect();
        cover_grid(&line, &colonies, &mut covered);
        let slow: Vec<u16> =
            line.grid().map(|at| colonies.iter().fold(0, |covered, colony| covered | over(&colony, at))).collect();
        assert_eq!(covered, slow);
        hits += slow.iter().filter(|&&states| states != 0).count();
    }
    assert!(hits > 300, "{hits}");
}

/// The recruits of a whole site, for its picture, are those that its quadrats count: in every quadrat as many as the sheet says.
#[test]
fn recruits_of_the_site_are_those_that_quadrats_count() {
    let plan = plan(study());
    let survey = plan.survey(0);
    let density =
        plan.layout.readings.iter().position(|reading| {
            matches!(reading.indicator, Indicator::Recruits { measure: RecruitMeasure::Density, .. })
        });
    let column = plan.layout.columns.iter().position(|column| Some(column.reading) == density).unwrap();
    let mut counted = 0.0;
    for number in 0..3 {
        let key = Key::seed(72).child(Purpose::Site, number);
        let sheet = read(&plan, key);
        for (visit, state) in [(Visit::First, 0), (Visit::Second, 1), (Visit::Second, 2)] {
            let mut site = SiteReef::new(survey.reef.coral().unwrap(), key);
            let there = survey.recruits_there(key, &mut site, visit, state);
            let mut places = Vec::new();
            survey.lay(quadrats_key(key, 0), visit, (&[8.0; 4], 0.5), &mut places);
            for (unit, place) in places.iter().enumerate() {
                let (cos, sin) = place.heading;
                let inside = there.iter().filter(|(x, y)| {
                    let (dx, dy) = (x - place.start.0, y - place.start.1);
                    let (along, across) = (dx * cos + dy * sin, dy * cos - dx * sin);
                    across.abs() < 0.25 && (0..6).any(|q| (0.0..0.5).contains(&(along - 1.5 * f64::from(q))))
                });
                let per_m2 = inside.count() as f64 / (6.0 * 0.25);
                let written = sheet.units(column, state)[unit];
                assert!((per_m2 - written).abs() < 1e-9, "{number} {visit:?} {state} {unit}: {per_m2} {written}");
                counted += per_m2;
            }
        }
    }
    assert!(counted > 30.0, "{counted}");
}
