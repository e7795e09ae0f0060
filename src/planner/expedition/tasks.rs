//! The tasks of an expedition: one for each method that some target needs.

use super::indicators::told_by;
use crate::budget::{Caps, Minutes, Takes, Task};
use crate::design::Expedition;
use crate::engine::{Plan, Reading};
use crate::survey::{Dimensions, MethodKind};

/// The tasks, each with its method; and for each target of the expedition the task and the reading that tell it.
#[derive(Clone, Debug)]
pub struct Tasks {
    pub tasks: Vec<Task>,
    pub methods: Vec<usize>,
    /// For each target its task and the reading of the plan's layout.
    pub told_by: Vec<(usize, usize)>,
    /// Skills that tasks need, by their index.
    pub skills: Vec<String>,
    pub caps: Caps,
}

/// The largest table of unit vectors that is made: beyond, the largest caps are lowered.
const MOST_CELLS: usize = 1_000_000;
/// The most units of a task at a site.
pub const MOST_UNITS: usize = 40;

impl Tasks {
    /// A target is told by the first method that reads its indicator, with the dimensions chosen for each method. Methods
    /// that serve no target are left out. `None` where nothing reads the indicator of a target.
    pub fn new(plan: &Plan, expedition: &Expedition, dimensions: &[Dimensions]) -> Option<Self> {
        let readings = &plan.layout.readings;
        let told: Vec<usize> = expedition
            .targets
            .iter()
            .map(|target| {
                let method = reading_of(plan, &target.indicator, None)?.method;
                told_by(plan, target, &dimensions[method])
            })
            .collect::<Option<_>>()?;
        let mut methods: Vec<usize> = told.iter().map(|&reading| readings[reading].method).collect();
        methods.sort_unstable();
        methods.dedup();
        let mut skills: Vec<String> = Vec::new();
        let mut tasks = Vec::new();
        for &method in &methods {
            let work = &expedition.methods[method];
            let skill = work.skill.as_ref().map(|skill| {
                skills.iter().position(|known| known == skill).unwrap_or_else(|| {
                    skills.push(skill.clone());
                    skills.len() - 1
                })
            });
            let is_chosen = |reading: &&Reading| reading.method == method && reading.dimensions == dimensions[method];
            let minutes = readings.iter().find(is_chosen)?.minutes;
            tasks.push(Task {
                name: name_of(&plan.study.methods[method].kind).to_owned(),
                unit: Minutes { mean: minutes + work.move_minutes, cv: expedition.minutes_spread },
                set_up: work.set_up_minutes,
                takes: if work.takes_both { Takes::Both } else { Takes::One },
                skill,
                first: work.first,
            });
        }
        let task_of = |reading: usize| methods.iter().position(|&method| method == readings[reading].method);
        let told_by = told.iter().map(|&reading| Some((task_of(reading)?, reading))).collect::<Option<_>>()?;
        let most = |method: &usize| {
            let asked = plan.study.methods[*method].units.iter().copied().max().unwrap_or(1);
            asked.min(MOST_UNITS) as u8
        };
        let caps = within(methods.iter().map(most).collect());
        Some(Self { tasks, methods, told_by, skills, caps: Caps::new(caps) })
    }
}

/// The first reading of an indicator, of certain dimensions where they are told.
pub fn reading_of<'a>(plan: &'a Plan, indicator: &str, dimensions: Option<&Dimensions>) -> Option<&'a Reading> {
    let is_it = |reading: &&Reading| {
        reading.indicator.name() == indicator && dimensions.is_none_or(|asked| *asked == reading.dimensions)
    };
    plan.layout.readings.iter().find(is_it)
}

/// What the work of a method goes by: its own name, or that of the indicator it is told by alone.
pub fn name_of(kind: &MethodKind) -> &str {
    match kind {
        MethodKind::Components(components) => &components.indicator,
        _ => kind.name(),
    }
}

/// Lowers the largest caps until the table is small enough.
fn within(mut caps: Vec<u8>) -> Vec<u8> {
    let cells = |caps: &[u8]| caps.iter().map(|&cap| usize::from(cap) + 1).product::<usize>();
    while cells(&caps) > MOST_CELLS {
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
        assert_eq!(within(vec![12, 9, 9, 9, 8]), [12, 9, 9, 9, 8]);
        let many = within(vec![40, 40, 40, 8, 4]);
        assert!(many[3] == 8 && many[4] == 4 && many[0] < 40 && many[0].abs_diff(many[2]) <= 1, "{many:?}");
    }
}
