//! The tasks of an expedition: one for each method that some target needs.

use super::indicators::told_by;
use crate::budget::{Caps, Line, Minutes, Takes, Task};
use crate::design::{Expedition, Places, Target};
use crate::engine::Plan;
use crate::survey::Dimensions;
use serde::Serialize;

/// The tasks, each with its method; and for each target of the expedition the task and the reading that tell it.
#[derive(Clone, Debug)]
pub struct Tasks {
    /// On the visit that takes more minutes.
    pub tasks: Vec<Task>,
    pub methods: Vec<usize>,
    /// For each target its task and the reading of the plan's layout.
    pub told_by: Vec<(usize, usize)>,
    /// Skills that tasks need, by their index.
    pub skills: Vec<String>,
    pub caps: Caps,
    /// Lines that several of them share; laying them is then the last of `tasks`, which no cap and no method goes with.
    pub line: Option<Line>,
    /// The visit that is planned.
    pub visit: Visit,
    /// The same work on the other visit, where units lie at the same marks.
    pub other_visit: Option<Vec<Task>>,
}

/// What becomes of the marks of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Visit {
    /// There are none.
    Any,
    /// The first visit.
    MarksAreSet,
    /// Every later one.
    MarksAreFound,
}

impl Visit {
    pub fn other(self) -> Self {
        match self {
            Visit::Any => Visit::Any,
            Visit::MarksAreSet => Visit::MarksAreFound,
            Visit::MarksAreFound => Visit::MarksAreSet,
        }
    }
}

/// What laying lines for several methods goes by among the tasks.
pub const LAYING: &str = "laying_lines";

/// The largest table of unit vectors that is made: beyond, the largest caps are lowered.
const MOST_CELLS: usize = 1_000_000;
/// The same where lines stay from dive to dive, which makes each cell dearer.
const MOST_CELLS_WITH_LINES: usize = 40_000;
/// The most units of a task at a site.
pub const MOST_UNITS: usize = 40;

impl Tasks {
    /// A target is told by the method that was chosen for it, else by the first that reads its indicator, with the dimensions
    /// chosen for each method. Methods that serve no target are left out. `None` where nothing reads the indicator of a target.
    pub fn new(plan: &Plan, expedition: &Expedition, dimensions: &[Dimensions]) -> Option<Self> {
        let readings = &plan.layout.readings;
        let told: Vec<usize> = expedition
            .targets
            .iter()
            .map(|target| {
                let method = readings[reading_of(plan, target)?].method;
                told_by(plan, target, &dimensions[method])
            })
            .collect::<Option<_>>()?;
        let mut methods: Vec<usize> = told.iter().map(|&reading| readings[reading].method).collect();
        methods.sort_unstable();
        methods.dedup();
        let mut skills: Vec<String> = Vec::new();
        for skill in methods.iter().filter_map(|&method| expedition.methods[method].skill.as_ref()) {
            if !skills.contains(skill) {
                skills.push(skill.clone());
            }
        }
        let line = line(expedition, &methods);
        let reading = |method: usize| {
            readings.iter().find(|reading| reading.method == method && reading.dimensions == dimensions[method])
        };
        let times: Vec<(f64, f64)> = methods
            .iter()
            .map(|&method| reading(method).map(|reading| (reading.lay_minutes, reading.minutes)))
            .collect::<Option<_>>()?;
        let on = |visit: Visit| tasks_on(visit, (plan, expedition), &methods, &times, (&skills, line.as_ref()));
        let same_marks = plan.study.question.visits() > 1 && plan.study.visits.places == Places::SameMarks;
        let (visit, tasks, other_visit) = if same_marks {
            let (set, found) = (on(Visit::MarksAreSet), on(Visit::MarksAreFound));
            let minutes = |tasks: &[Task]| tasks.iter().map(|task| task.unit.mean).sum::<f64>();
            if minutes(&set) >= minutes(&found) {
                (Visit::MarksAreSet, set, Some(found))
            } else {
                (Visit::MarksAreFound, found, Some(set))
            }
        } else {
            (Visit::Any, on(Visit::Any), None)
        };
        let task_of = |reading: usize| methods.iter().position(|&method| method == readings[reading].method);
        let told_by = told.iter().map(|&reading| Some((task_of(reading)?, reading))).collect::<Option<_>>()?;
        let most = |method: &usize| {
            let asked = plan.study.methods[*method].units.iter().copied().max().unwrap_or(1);
            asked.min(MOST_UNITS) as u8
        };
        let most_cells = if line.as_ref().is_some_and(|line| line.stays) { MOST_CELLS_WITH_LINES } else { MOST_CELLS };
        let caps = within(methods.iter().map(most).collect(), most_cells);
        let caps = Caps::new(caps);
        Some(Self { tasks, methods, told_by, skills, caps, line, visit, other_visit })
    }

    /// Whether some unit takes longer on the other visit than on the one that is planned.
    pub fn other_may_cost_more(&self) -> bool {
        let longer =
            |other: &Vec<Task>| other.iter().zip(&self.tasks).any(|(other, own)| other.unit.mean > own.unit.mean);
        self.other_visit.as_ref().is_some_and(longer)
    }
}

/// The first reading of a target in the plan's layout: of the method that tells it.
pub fn reading_of(plan: &Plan, target: &Target) -> Option<usize> {
    reading_by(plan, &target.indicator, target.method)
}

/// The first reading of an indicator, by some method or by whichever is first.
pub fn reading_by(plan: &Plan, indicator: &str, method: Option<usize>) -> Option<usize> {
    let tells = |of: usize| method.is_none_or(|method| method == of);
    plan.layout.readings.iter().position(|of| of.indicator.name() == indicator && tells(of.method))
}

/// The line that several of the planned methods share, if any: those that ride on another's, and that one.
fn line(expedition: &Expedition, methods: &[usize]) -> Option<Line> {
    let place = |method: usize| methods.iter().position(|&planned| planned == method);
    let host = methods.iter().find_map(|&method| place(expedition.methods[method].on_line_of?))?;
    let rides = |task: &usize| expedition.methods[methods[*task]].on_line_of == Some(methods[host]);
    let tasks = std::iter::once(host).chain((0..methods.len()).filter(rides)).collect();
    Some(Line { tasks, stays: expedition.methods[methods[host]].line_stays })
}

impl Tasks {
    /// The tasks on a visit: the one that is planned, or the other.
    pub fn on(&self, visit: Visit) -> &[Task] {
        match &self.other_visit {
            Some(other) if visit != self.visit => other,
            _ => &self.tasks,
        }
    }
}

/// The tasks on a visit, from the minutes to lay a unit of each method and to lay and read it.
fn tasks_on(
    visit: Visit,
    (plan, expedition): (&Plan, &Expedition),
    methods: &[usize],
    times: &[(f64, f64)],
    (skills, line): (&[String], Option<&Line>),
) -> Vec<Task> {
    let marks = |method: usize| match visit {
        Visit::Any => 0.0,
        Visit::MarksAreSet => expedition.methods[method].mark_minutes,
        Visit::MarksAreFound => expedition.methods[method].find_minutes,
    };
    let of = |(task, (&method, &(lay, both))): (usize, (&usize, &(f64, f64)))| {
        let work = &expedition.methods[method];
        let mean = match line {
            // The line is laid, marked and reeled in as a task of its own.
            Some(line) if line.tasks.first() == Some(&task) => both - lay,
            Some(line) if line.tasks.contains(&task) => both - lay + work.move_minutes,
            _ => both + work.move_minutes + marks(method),
        };
        Task {
            name: plan.study.methods[method].kind.own_name().to_owned(),
            unit: Minutes { mean, cv: work.minutes_spread },
            set_up: work.set_up_minutes,
            takes: if work.takes_both { Takes::Both } else { Takes::One },
            skill: work.skill.as_ref().and_then(|skill| skills.iter().position(|known| known == skill)),
            first: work.first,
        }
    };
    let mut tasks: Vec<Task> = methods.iter().zip(times).enumerate().map(of).collect();
    tasks.extend(line.map(|line| {
        let (method, (lay, _)) = (methods[line.tasks[0]], times[line.tasks[0]]);
        let work = &expedition.methods[method];
        Task {
            name: LAYING.to_owned(),
            unit: Minutes { mean: lay + work.move_minutes + marks(method), cv: work.minutes_spread },
            set_up: 0.0,
            takes: Takes::One,
            skill: None,
            first: None,
        }
    }));
    tasks
}

/// Lowers the largest caps until the table is small enough.
fn within(mut caps: Vec<u8>, most_cells: usize) -> Vec<u8> {
    let cells = |caps: &[u8]| caps.iter().map(|&cap| usize::from(cap) + 1).product::<usize>();
    while cells(&caps) > most_cells {
        if let Some(largest) = caps.iter_mut().max() {
            *largest -= 1;
        }
    }
    caps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn caps_are_lowered_from_the_largest_on() {
        assert_eq!(within(vec![12, 9, 9, 9, 8], MOST_CELLS), [12, 9, 9, 9, 8]);
        let many = within(vec![40, 40, 40, 8, 4], MOST_CELLS);
        assert!(many[3] == 8 && many[4] == 4 && many[0] < 40 && many[0].abs_diff(many[2]) <= 1, "{many:?}");
    }
}
