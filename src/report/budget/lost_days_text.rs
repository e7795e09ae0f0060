//! What lost days do, as text.

use super::chances_text::to_book;
use super::days_left::wanted_words;
use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::BookDays;
use crate::report::digits::{hundredths_beside, significant};
use crate::report::terminal::paragraph;

pub fn lost_days(text: &mut String, report: &BudgetReport) {
    for book in &report.answer.book {
        let times = wanted_words(book.wanted);
        let wanted = match book.to_book {
            Some(days) => format!("for {times}, which you want, book {days}"),
            None => format!("no number within reach gives {times}, which you want"),
        };
        let line = format!(
            "Lost days: the cheapest plan for {} needs {} for diving. Of the {} that are planned so many are left {} times in \
             100{}; {wanted}. {}",
            book.plan,
            counted(book.needs, "day"),
            report.answer.bookable_days,
            hundredths_beside(book.chance, book.wanted),
            if book.to_book_for_both.is_some() { " at one visit" } else { "" },
            both(report, book)
        );
        paragraph(text, &line, "");
    }
    if !report.answer.book.is_empty() {
        text.push('\n');
    }
}

/// The chance where each day is lost by itself and where they are lost in spells.
fn both(report: &BudgetReport, book: &BookDays) -> String {
    let Some(season) = report.answer.season.as_ref().filter(|season| season.spell_days.is_some()) else {
        return String::new();
    };
    let guess = if season.spell_is_assumed { " (a guess)" } else { "" };
    format!(
        "Each day lost by itself {:.2}, in spells of {} days{guess} {:.2}: book {}.",
        book.odds.alone,
        significant(season.spell_days.unwrap_or(f64::NAN), 2),
        book.odds.in_spells,
        to_book(&book.odds)
    )
}
