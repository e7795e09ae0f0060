//! The sheet of the days before the first survey dive: who was checked out, and who was calibrated in what.

use crate::measures::counted;
use crate::report::budget::BudgetReport;
use crate::report::words::{method_words, sentence};
use serde::Serialize;

/// Days for check-out dives, training and calibrating observers.
#[derive(Serialize)]
pub struct BeforeSheet {
    pub heading: String,
    /// Columns, one for each method that is calibrated.
    pub methods: Vec<String>,
    /// Rows: the divers, with a mark in each method that they are not asked to read.
    pub divers: Vec<(String, Vec<&'static str>)>,
}

/// `None`: there are no such days, or they are over.
pub fn before(report: &BudgetReport) -> Option<BeforeSheet> {
    let expedition = &report.expedition;
    let days = expedition.days.check_out;
    if days == 0 || report.answer.visit_under_way.is_some() || report.answer.schedule.is_empty() {
        return None;
    }
    let plan = report.answer.scheduled()?;
    let tasks: Vec<&str> =
        plan.site_set.iter().filter(|task| task.units > 0).map(|task| task.method.as_str()).collect();
    let reads = |diver: &str, task: &str| {
        report.answer.schedule.iter().any(|row| row.diver == diver && row.task == task && row.units > 0)
    };
    let of_diver = |name: &String| {
        let cells = tasks.iter().map(|task| if reads(name, task) { "" } else { "-" });
        (name.clone(), cells.collect())
    };
    Some(BeforeSheet {
        heading: format!("Before the first survey dive: {}", counted(days, "day")),
        methods: tasks.iter().map(|task| sentence(&method_words(task))).collect(),
        divers: expedition.divers.iter().map(|diver| of_diver(&diver.name)).collect(),
    })
}
