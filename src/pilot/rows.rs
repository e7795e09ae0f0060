//! A pilot table row by row: names and numbers, and what is wrong with them by file, line and column.

use super::error::PilotError;
use std::io::Read;

/// Entries that stand for "not read", besides an empty one.
const MISSING: [&str; 7] = ["NA", "N/A", "na", "n/a", "NaN", "nan", "-"];

/// The names of the columns of a table, for those who choose among them; empty where there are none.
pub fn column_names(input: impl Read) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(input);
    reader.headers().map(|headers| headers.iter().map(str::to_owned).collect()).unwrap_or_default()
}

/// A table whose first line was read.
pub(super) struct Sheet<'a, R> {
    reader: csv::Reader<R>,
    headers: csv::StringRecord,
    file: &'a str,
}

impl<'a, R: Read> Sheet<'a, R> {
    /// `file` is its name in messages; `example` a first line that would do.
    pub fn open(input: R, file: &'a str, example: &'static str) -> Result<Self, PilotError> {
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(input);
        let failed = |source| PilotError::Csv { file: file.to_owned(), source };
        let headers = reader.headers().map_err(failed)?.clone();
        if headers.iter().all(str::is_empty) {
            return Err(PilotError::NoHeader { file: file.to_owned(), example });
        }
        Ok(Self { reader, headers, file })
    }

    /// Where a column stands.
    pub fn place(&self, name: &str) -> Result<usize, PilotError> {
        self.headers.iter().position(|header| header == name).ok_or_else(|| PilotError::NoColumn {
            file: self.file.to_owned(),
            column: name.to_owned(),
            columns: self.headers.iter().map(str::to_owned).collect(),
        })
    }

    pub fn places(&self, names: &[String]) -> Result<Vec<usize>, PilotError> {
        names.iter().map(|name| self.place(name)).collect()
    }

    pub fn place_of(&self, name: Option<&String>) -> Result<Option<usize>, PilotError> {
        name.map(|name| self.place(name)).transpose()
    }

    pub fn each(&mut self, mut f: impl FnMut(&Row) -> Result<(), PilotError>) -> Result<(), PilotError> {
        for record in self.reader.records() {
            let record = record.map_err(|source| PilotError::Csv { file: self.file.to_owned(), source })?;
            let line = record.position().map_or(0, csv::Position::line);
            f(&Row { record: &record, headers: &self.headers, line, file: self.file })?;
        }
        Ok(())
    }
}

/// One row of the file.
pub(super) struct Row<'a> {
    record: &'a csv::StringRecord,
    headers: &'a csv::StringRecord,
    pub line: u64,
    pub file: &'a str,
}

impl Row<'_> {
    pub fn error(&self, place: usize, allowed: &str) -> PilotError {
        PilotError::Value {
            file: self.file.to_owned(),
            line: self.line,
            column: self.headers.get(place).unwrap_or("").to_owned(),
            found: self.record.get(place).unwrap_or("").to_owned(),
            allowed: allowed.to_owned(),
        }
    }

    /// A name, which must not be empty where the row has a value.
    pub fn text(&self, place: usize) -> Result<String, PilotError> {
        let text = self.record.get(place).unwrap_or("");
        if text.is_empty() {
            return Err(self.error(place, "a name or a number"));
        }
        Ok(text.to_owned())
    }

    /// Names of several columns as one.
    pub fn texts(&self, places: &[usize]) -> Result<String, PilotError> {
        let texts: Result<Vec<String>, PilotError> = places.iter().map(|&place| self.text(place)).collect();
        Ok(texts?.join(" / "))
    }

    /// A number; `None` where nothing was read.
    pub fn number(&self, place: usize, allowed: &str, sound: impl Fn(f64) -> bool) -> Result<Option<f64>, PilotError> {
        let text = self.record.get(place).unwrap_or("");
        if text.is_empty() || MISSING.contains(&text) {
            return Ok(None);
        }
        match text.parse::<f64>() {
            Ok(value) if sound(value) => Ok(Some(value)),
            _ => Err(self.error(place, allowed)),
        }
    }
}
