//! What lost days do, as text.

use super::report::BudgetReport;
use crate::report::terminal::paragraph;

pub fn lost_days(text: &mut String, report: &BudgetReport) {
    for book in &report.answer.book {
        let to_book = match book.to_book {
            Some(days) => format!("for the chance you want, book {days}"),
            None => "no number within reach gives the chance you want".into(),
        };
        let line = format!(
            "Lost days: {} need {} days for diving. Of the {} that are planned so many are left with a chance of {:.2}; \
             {to_book}.",
            book.plan, book.needs, report.answer.bookable_days, book.chance
        );
        paragraph(text, &line, "");
    }
    if !report.answer.book.is_empty() {
        text.push('\n');
    }
}
