use crate::design::{Asks, COLONY_DENSITY, Change, HARD_CORAL, RECRUIT_DENSITY, Study, Target, Unit, colony_measures};
use crate::scenario::file::{ScenarioFile, TargetTable};
use crate::scenario::problems::Problems;
use crate::scenario::word::Priority;
use crate::survey::MethodKind;

/// The targets; whether their indicators and changes are there is for `check`.
pub fn build(file: &ScenarioFile, study: &Study, problems: &mut Problems) -> Vec<Target> {
    let tables = file.target.iter().enumerate();
    let targets = tables.map(|(index, table)| Target {
        indicator: table.indicator.clone(),
        method: None,
        asks: asks(&format!("target[{index}]"), table, study, problems),
        power: table.power.map(|power| power.get()),
        must: table.priority.is_some_and(|word| word.0 == Priority::Must),
        weight: table.weight.map_or(1.0, |weight| weight.get()),
    });
    targets.collect()
}

fn asks(path: &str, table: &TargetTable, study: &Study, problems: &mut Problems) -> Asks {
    let is_share = study.unit_of(&table.indicator) == Unit::Share;
    let (wrong, right) =
        if is_share { ("half_width", "half_width_points") } else { ("half_width_points", "half_width") };
    let is_wrong = if is_share { table.half_width.is_some() } else { table.half_width_points.is_some() };
    if is_wrong {
        let unit = if is_share { "points of cover" } else { "its own unit" };
        let message = format!("{} is told in {unit}", table.indicator);
        problems.add(&format!("{path}.{wrong}"), message, "wrong unit", format!("Write {right} instead."));
    }
    let half_width = table.half_width_points.map(|width| width.get() / 100.0);
    let half_width = half_width.or(table.half_width.map(|width| width.get())).map(Asks::HalfWidth);
    let cv = table.cv_percent.map(|cv| Asks::Cv(cv.get() / 100.0));
    let see = (table.see == Some(true)).then(|| Asks::SeeChange(place_of_change(table, study).unwrap_or(0)));
    let told: Vec<Asks> = [see, half_width, cv].into_iter().flatten().collect();
    if told.len() != 1 || table.half_width.is_some() && table.half_width_points.is_some() {
        let remedy = "Write one of see = true, half_width_points (covers), half_width (all else) or cv_percent; each \
                      further one needs a [[target]] of its own.";
        let what = if told.is_empty() { "nothing" } else { "more than one thing" };
        problems.add(path, format!("{what} of {} is asked", table.indicator), "one of four keys", remedy);
    }
    told.first().copied().unwrap_or(Asks::Cv(1.0))
}

/// Places in the study of the changes of an indicator; where it has none of its own, of those that move it: colonies move
/// with hard coral (their sizes where deaths strike by size), recruits of one class with those of all.
pub fn changes_of(study: &Study, indicator: &str) -> Vec<usize> {
    let places = |is_it: &dyn Fn(&Change) -> bool| -> Vec<usize> {
        let changes = study.changes.iter().enumerate();
        changes.filter(|(_, change)| is_it(change)).map(|(place, _)| place).collect()
    };
    let own = places(&|change| change.indicator == indicator);
    if !own.is_empty() {
        return own;
    }
    let of_number = [COLONY_DENSITY, "cover_of_measured_colonies"].contains(&indicator);
    let of_sizes = !of_number && colony_measures_of(study).iter().any(|name| name == indicator);
    places(&|change| match change.indicator.as_str() {
        HARD_CORAL if of_number => true,
        HARD_CORAL if of_sizes => change.deaths.is_some_and(|deaths| deaths.moves_sizes()),
        RECRUIT_DENSITY => study.recruits_of(indicator).is_some(),
        _ => false,
    })
}

/// What the coral belts of a study can tell.
fn colony_measures_of(study: &Study) -> Vec<String> {
    let belts = study.methods.iter().filter_map(|method| match &method.kind {
        MethodKind::CoralBelt { classes_m, growth_m, .. } => Some(colony_measures(classes_m, *growth_m)),
        _ => None,
    });
    belts.flatten().map(|(name, _)| name).collect()
}

fn place_of_change(table: &TargetTable, study: &Study) -> Option<usize> {
    let which = table.change.map_or(1, |change| change.get());
    changes_of(study, &table.indicator).get(which - 1).copied()
}
