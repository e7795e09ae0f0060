//! A budget's tables as CSV.

use super::report::BudgetReport;
use serde::Serialize;

impl BudgetReport {
    /// The schedule as CSV; the caution is its first line, warnings are the next.
    pub fn schedule_csv(&self) -> String {
        self.csv(self.answer.schedule.iter())
    }

    /// Where units begin, with spares, as CSV.
    pub fn starts_csv(&self) -> String {
        self.csv(self.answer.starts.iter())
    }

    pub(super) fn csv<T: Serialize>(&self, rows: impl Iterator<Item = T>) -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in rows {
            // Writing into memory does not fail.
            let _ = writer.serialize(row);
        }
        let rows = writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
        format!("{}{rows}", self.csv_head())
    }

    /// The caution and the warnings, as comments before the rows.
    pub(super) fn csv_head(&self) -> String {
        let warnings: String = self.answer.warnings.iter().map(|warning| format!("# ! {warning}\n")).collect();
        format!("# {}\n{warnings}", self.caution)
    }
}
