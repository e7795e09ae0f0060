//! A CSV file that a scenario names: columns by their names, rows with their lines, and what is wrong with them.

use super::near::nearest;
use crate::pilot::{separator_of, with_point};

/// What to do about a line that cannot be read as CSV.
pub const READ_REMEDY: &str = "Correct that line, or save the list again as CSV (UTF-8).";

/// What is wrong with a list, what is allowed, and what to write.
#[derive(Clone, Debug, PartialEq)]
pub struct ListProblem {
    pub message: String,
    pub allowed: String,
    pub remedy: String,
}

impl ListProblem {
    pub fn new(message: impl Into<String>, allowed: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { message: message.into(), allowed: allowed.into(), remedy: remedy.into() }
    }

    /// Something that cannot be read as CSV, told by its line.
    pub fn unreadable(message: String) -> Self {
        Self::new(message, "in this file", READ_REMEDY)
    }
}

/// A file whose first line was read. What is wrong is told in words that begin with the line.
pub struct CsvFile<'a> {
    bytes: &'a [u8],
    reader: csv::Reader<&'a [u8]>,
    pub headers: csv::StringRecord,
    decimal_comma: bool,
}

/// One row with its line, counted from 1.
pub struct CsvRow {
    pub line: u64,
    record: csv::StringRecord,
    decimal_comma: bool,
}

impl<'a> CsvFile<'a> {
    /// Columns stand between commas, semicolons or tabs; a comma that parts none is a decimal one.
    pub fn open(bytes: &'a [u8]) -> Result<Self, String> {
        let first = bytes.split(|byte| *byte == b'\n').find(|line| !line.trim_ascii().is_empty()).unwrap_or(&[]);
        let separator = separator_of(first);
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).delimiter(separator).from_reader(bytes);
        let headers = reader.headers().map_err(|error| told(bytes, &error))?.clone();
        Ok(Self { bytes, reader, headers, decimal_comma: separator != b',' })
    }

    /// Where a column stands, whatever the case of its letters.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.headers.iter().position(|header| header.eq_ignore_ascii_case(name))
    }

    /// Refuses a first line that lacks one of the columns `needed`, has one twice, or has another than these and the `others`
    /// that may be there. `list`: what the file is, "a list of sites".
    pub fn check_columns(&self, needed: &[&str], others: &[&str], list: &str) -> Result<(), ListProblem> {
        let known: Vec<&str> = needed.iter().chain(others).copied().collect();
        let there: Vec<&str> = self.headers.iter().collect();
        for (place, header) in there.iter().enumerate() {
            let wrong = if !known.iter().any(|name| name.eq_ignore_ascii_case(header)) {
                format!("no column of {list}")
            } else if there[..place].iter().any(|earlier| earlier.eq_ignore_ascii_case(header)) {
                "there twice".to_owned()
            } else {
                continue;
            };
            let hint = nearest(header, &known).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
            let remedy = format!("{hint}Take the column out, or give it one of these names.");
            let message = format!("line 1: the column \"{header}\" is {wrong}");
            return Err(ListProblem::new(message, known.join(", "), remedy));
        }
        if let Some(missing) = needed.iter().find(|name| self.column(name).is_none()) {
            let message = format!("line 1: there is no column \"{missing}\"; there are: {}", there.join(", "));
            let besides = if others.is_empty() {
                ".".to_owned()
            } else {
                format!("; besides, if you have them: {}.", others.join(", "))
            };
            let remedy = format!("The first line must name the columns: {}{besides}", needed.join(", "));
            return Err(ListProblem::new(message, format!("needed: {}", needed.join(", ")), remedy));
        }
        Ok(())
    }

    /// The next row; `None` after the last.
    pub fn next_row(&mut self) -> Option<Result<CsvRow, String>> {
        let mut record = csv::StringRecord::new();
        match self.reader.read_record(&mut record) {
            Ok(false) => None,
            Ok(true) => {
                let line = record.position().map_or(0, |place| line_of(self.bytes, place));
                Some(Ok(CsvRow { line, record, decimal_comma: self.decimal_comma }))
            }
            Err(error) => Some(Err(told(self.bytes, &error))),
        }
    }
}

impl CsvRow {
    /// An entry without the blanks around it; empty where there is none.
    pub fn get(&self, column: usize) -> &str {
        self.record.get(column).unwrap_or("")
    }

    /// The number that an entry is; `None` for anything else.
    pub fn number(&self, column: usize) -> Option<f64> {
        with_point(self.get(column), self.decimal_comma).parse().ok()
    }
}

/// Names that a person, or a receiver of positions, would take for the same.
pub fn same_name(one: &str, other: &str) -> bool {
    !one.is_empty() && one.to_lowercase() == other.to_lowercase()
}

fn told(bytes: &[u8], error: &csv::Error) -> String {
    let line = error.position().map_or(String::new(), |place| format!("line {}: ", line_of(bytes, place)));
    let problem = match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("{len} values where the first line names {expected_len} columns")
        }
        csv::ErrorKind::Utf8 { .. } => "not UTF-8".to_owned(),
        _ => error.to_string(),
    };
    format!("{line}{problem}")
}

/// The line of a record, counted from 1; the reader's own place may lie before empty lines.
fn line_of(bytes: &[u8], place: &csv::Position) -> u64 {
    let rest = bytes.get(place.byte() as usize..).unwrap_or(&[]);
    let empty = rest.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).filter(|byte| **byte == b'\n');
    place.line() + empty.count() as u64
}
