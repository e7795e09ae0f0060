use super::{Frame, deaths, share};
use crate::design::{
    Change, DENSITY_AREA_M2, HARD_CORAL, Plus, RECRUIT_DENSITY, RecruitMeasure, Sides, SiteScale, TestKind, TestSpec,
    Visits, Zone, animal_of, fish_of, is_recruit,
};
use crate::reef::map::{ColonyMap, ReefMap};
use crate::scenario::defaults;
use crate::scenario::file::{ChangeTable, ScenarioFile, TestTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::replicates::replicates_are_paired;
use crate::scenario::shown::{number, points};
use crate::scenario::word::{Direction, ScaleWord};
use crate::survey::{MethodKind, MethodSpec};

/// The changes to see: shares for covers, the indicator's own unit for methods by components.
pub fn build(
    file: &ScenarioFile,
    methods: &[MethodSpec],
    zones: &[Zone],
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Vec<Change> {
    let tables = file.change.iter().enumerate();
    tables.map(|(index, table)| change((index, table), methods, zones, problems, ledger)).collect()
}

/// The changes between two maps, where the zones have both: of what the methods read, as it is on the first zone's maps.
/// (Each zone has its own; here they tell what is compared.)
pub fn between_maps(zones: &[Zone], methods: &[MethodSpec], also_report: &[String]) -> Option<Vec<Change>> {
    let (map, later) = zones.iter().find_map(|zone| {
        let map = zone.map.as_ref()?;
        Some((&map.map, &map.later.as_ref()?.1))
    })?;
    let mut changes = Vec::new();
    let mut add = |indicator: &str, from: f64, to: f64| {
        if from != to {
            changes.push(Change {
                indicator: indicator.into(),
                from,
                to,
                differs_between_sites_sd: None,
                deaths: None,
            });
        }
    };
    let counts = |method: &MethodSpec| matches!(method.kind, MethodKind::InvertebrateBelt { .. });
    let is_told_by_components = |method: &MethodSpec| matches!(method.kind, MethodKind::Components(_));
    if methods.iter().any(|method| !counts(method) && !is_told_by_components(method)) {
        add(HARD_CORAL, map.coral_cover(), later.coral_cover());
    }
    match (&**map, &**later) {
        (ReefMap::Mosaic(first), ReefMap::Mosaic(second)) => {
            let covers = first.covers().into_iter().zip(second.covers()).skip(1);
            for (name, (from, to)) in
                first.categories().iter().zip(covers).filter(|(name, _)| also_report.contains(name))
            {
                add(name, from, to);
            }
        }
        (ReefMap::Colonies(first), ReefMap::Colonies(second)) => {
            let m2 = first.size_m().0 * first.size_m().1;
            if methods.iter().any(|method| matches!(method.kind, MethodKind::RecruitQuadrats { .. })) {
                let recruits =
                    |map: &ColonyMap| map.discs.iter().filter(|disc| is_recruit(2.0 * disc.radius)).count() as f64 / m2;
                add(RECRUIT_DENSITY, recruits(first), recruits(second));
            }
            let per_100_m2 = DENSITY_AREA_M2 / m2;
            for kind in first.animals.iter().filter(|_| methods.iter().any(counts)) {
                let at_later = second.animals.iter().find(|other| other.name == kind.name);
                let number = at_later.map_or(0, |other| other.places.len());
                add(&kind.name, per_100_m2 * kind.places.len() as f64, per_100_m2 * number as f64);
            }
        }
        _ => {}
    }
    Some(changes)
}

/// Whether it is a number of animals, fish or recruits, told in its own unit.
fn is_counted(zones: &[Zone], indicator: &str) -> bool {
    let has_recruits = zones.iter().any(Zone::has_recruits);
    if has_recruits && RecruitMeasure::from_name(indicator).is_some() {
        return true;
    }
    fish_of(zones, indicator).is_some() || animal_of(zones, indicator).is_some()
}

fn change(
    (index, table): (usize, &ChangeTable),
    methods: &[MethodSpec],
    zones: &[Zone],
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Change {
    let path = format!("change[{index}]");
    let indicator = table.indicator.clone().unwrap_or_else(|| HARD_CORAL.to_owned());
    let by_components =
        methods.iter().any(|method| method.serves_by_components(&indicator)) || is_counted(zones, &indicator);
    let (wrong, right) = if by_components {
        (table.differs_between_sites_points.map(|_| "differs_between_sites_points"), "differs_between_sites")
    } else {
        (table.differs_between_sites.map(|_| "differs_between_sites"), "differs_between_sites_points")
    };
    if let Some(wrong) = wrong {
        let unit = if by_components { "its own unit" } else { "points of cover" };
        let message = format!("{indicator} is told in {unit}");
        problems.add(&format!("{path}.{wrong}"), message, "wrong unit", format!("Write {right} instead."));
    }
    let written = if by_components {
        table.differs_between_sites.map(|spread| spread.get())
    } else {
        table.differs_between_sites_points.map(|points| share(points.get()))
    };
    let (from, to) = (number(table.from.get()), number(table.to.get()));
    let about = format!("{indicator} {from} to {to}: differs between sites");
    let value = match written {
        None => "the same ratio on every site".to_owned(),
        Some(sd) if by_components => number(sd),
        Some(sd) => points(sd),
    };
    // One mapped reef does not differ from another.
    if zones.iter().any(|zone| zone.map.is_none()) {
        ledger.note(&path, right, about, Noted::when(written.is_some(), value), &table.source);
    }
    let scaled = |value: f64| if by_components { value } else { share(value) };
    let deaths =
        table.deaths.as_ref().and_then(|deaths| deaths::build(&path, (&indicator, table), deaths, problems, ledger));
    Change {
        indicator,
        from: scaled(table.from.get()),
        to: scaled(table.to.get()),
        differs_between_sites_sd: written,
        deaths,
    }
}

/// The test, with the kind and the side that follow from the rest where they are not written.
pub fn test(
    file: &ScenarioFile,
    frame: Frame,
    visits: &Visits,
    zones: &[Zone],
    changes: &[Change],
    (problems, ledger): (&mut Problems, &mut Ledger),
) -> TestSpec {
    let absent = Default::default();
    let table = file.test.as_ref().unwrap_or(&absent);
    TestSpec {
        kind: table.kind.map_or_else(|| usual_kind(frame, visits, zones), |word| word.0),
        scale: scale(table, problems, ledger),
        alpha: table.alpha.map_or(defaults::ALPHA, |alpha| alpha.get()),
        sides: match table.sides.map_or(2, |sides| sides.get()) {
            1 if frame.question.tests() => one_side(table.direction.map(|word| word.0), changes, problems),
            _ => two_sides(table.direction.map(|word| word.0), problems),
        },
        seen: table.seen.map_or(defaults::SEEN, |seen| seen.get()),
    }
}

fn scale(table: &TestTable, problems: &mut Problems, ledger: &mut Ledger) -> SiteScale {
    let plus = table.plus.map_or(Plus::OfSearch, |plus| Plus::Value(plus.get()));
    let mut note = |usual: &str| {
        let value =
            table.plus.map_or(usual.to_owned(), |plus| format!("{} in the unit of the indicator", number(plus.get())));
        let about = "added to the mean of a site before its scale".to_owned();
        ledger.note("test", "plus", about, Noted::when(table.plus.is_some(), value), &None);
    };
    match table.scale.map_or(ScaleWord::Plain, |word| word.0) {
        ScaleWord::Plain => {
            if table.plus.is_some() {
                let message = "something is to be added to site means, but they are compared as they are";
                let remedy = "Take plus out, or write scale = \"ln\" or \"square_root\".";
                problems.add("test.plus", message, "needs a scale", remedy);
            }
            SiteScale::Plain
        }
        ScaleWord::Ln => {
            note("half of one in all that is searched on the site");
            SiteScale::Ln { plus }
        }
        ScaleWord::SquareRoot => {
            note("3/8 of one in all that is searched on the site");
            SiteScale::SquareRoot { plus }
        }
    }
}

/// Paired where the same replicates are read at both visits.
fn usual_kind(frame: Frame, visits: &Visits, zones: &[Zone]) -> TestKind {
    if replicates_are_paired(frame.scope, frame.question, visits, zones) { TestKind::PairedT } else { TestKind::WelchT }
}

fn two_sides(direction: Option<Direction>, problems: &mut Problems) -> Sides {
    if direction.is_some() {
        let message = "a direction is written, but the test has two sides";
        problems.add("test.direction", message, "needs sides = 1", "Take direction out, or write sides = 1.");
    }
    Sides::Two
}

fn one_side(direction: Option<Direction>, changes: &[Change], problems: &mut Problems) -> Sides {
    let falls = changes.iter().any(|change| change.to < change.from);
    let rises = changes.iter().any(|change| change.to > change.from);
    let conflict = match direction {
        None => falls && rises,
        Some(Direction::Fall) => rises,
        Some(Direction::Rise) => falls,
    };
    if conflict {
        let message = "a test with one side cannot see changes in the other direction";
        let remedy = "Write sides = 2, or keep only the changes in one direction.";
        problems.add("test.sides", message, "the changes go both ways, or against direction", remedy);
    }
    match direction {
        Some(Direction::Rise) => Sides::Rise,
        None if rises => Sides::Rise,
        _ => Sides::Fall,
    }
}
