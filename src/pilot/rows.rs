//! A pilot table row by row: names and numbers, and what is wrong with them by file, line and column.

use super::error::PilotError;
use std::io::{Cursor, Read};

/// Entries that stand for "not read", besides an empty one.
const MISSING: [&str; 7] = ["NA", "N/A", "na", "n/a", "NaN", "nan", "-"];

/// Begins a line that is no row, where a table may have such.
const NOTE: u8 = b'#';

/// The names of the columns of a table, for those who choose among them; empty where there are none.
pub fn column_names(mut input: impl Read) -> Vec<String> {
    let mut bytes = Vec::new();
    if input.read_to_end(&mut bytes).is_err() {
        return Vec::new();
    }
    let mut reader = reader(bytes, None).0;
    reader.headers().map(|headers| headers.iter().map(str::to_owned).collect()).unwrap_or_default()
}

/// A reader of a table, and whether its columns stand between semicolons or tabs: then numbers may have a decimal comma.
fn reader(bytes: Vec<u8>, note: Option<u8>) -> (csv::Reader<Cursor<Vec<u8>>>, bool) {
    let is_row = |line: &&[u8]| !line.iter().all(u8::is_ascii_whitespace) && line.first().copied() != note;
    let first = bytes.split(|byte| *byte == b'\n').find(|line| note.is_none() || is_row(line)).unwrap_or(&[]);
    let separator = separator_of(first);
    let mut builder = csv::ReaderBuilder::new();
    builder.trim(csv::Trim::All).comment(note).delimiter(separator);
    (builder.from_reader(Cursor::new(bytes)), separator != b',')
}

/// What stands between the columns of a first line: semicolons, tabs or commas, of which there are most; of as many the comma.
pub fn separator_of(first: &[u8]) -> u8 {
    let count = |separator: u8| first.iter().filter(|byte| **byte == separator).count();
    [b';', b'\t', b','].into_iter().max_by_key(|&separator| count(separator)).unwrap_or(b',')
}

/// A number as it is written, its decimal comma as a point where the table may have such.
pub fn with_point(text: &str, decimal_comma: bool) -> String {
    if decimal_comma { text.replacen(',', ".", 1) } else { text.to_owned() }
}

/// A table whose first line was read.
pub(super) struct Sheet<'a, R> {
    reader: csv::Reader<R>,
    headers: csv::StringRecord,
    file: &'a str,
    decimal_comma: bool,
}

impl<'a> Sheet<'a, Cursor<Vec<u8>>> {
    /// `file` is its name in messages; `example` a first line that would do. Columns stand between commas, semicolons or
    /// tabs.
    pub fn open(input: impl Read, file: &'a str, example: &'static str) -> Result<Self, PilotError> {
        Self::open_with(input, file, example, None)
    }

    /// The same, lines that begin with `#` being no rows.
    pub fn open_with_notes(input: impl Read, file: &'a str, example: &'static str) -> Result<Self, PilotError> {
        Self::open_with(input, file, example, Some(NOTE))
    }

    fn open_with(
        mut input: impl Read,
        file: &'a str,
        example: &'static str,
        note: Option<u8>,
    ) -> Result<Self, PilotError> {
        let failed = |source| PilotError::Csv { file: file.to_owned(), source };
        let mut bytes = Vec::new();
        input.read_to_end(&mut bytes).map_err(|error| failed(error.into()))?;
        let (mut reader, decimal_comma) = reader(bytes, note);
        let headers = reader.headers().map_err(failed)?.clone();
        if headers.iter().all(str::is_empty) {
            return Err(PilotError::NoHeader { file: file.to_owned(), example });
        }
        Ok(Self { reader, headers, file, decimal_comma })
    }
}

impl<R: Read> Sheet<'_, R> {
    /// Names of the columns, in their order.
    pub fn headers(&self) -> impl Iterator<Item = &str> {
        self.headers.iter()
    }

    /// Where a column stands; there must be one of that name.
    pub fn place(&self, name: &str) -> Result<usize, PilotError> {
        let places: Vec<usize> =
            (0..self.headers.len()).filter(|place| self.headers.get(*place) == Some(name)).collect();
        let (file, column) = (self.file.to_owned(), name.to_owned());
        match places[..] {
            [place] => Ok(place),
            [] => {
                let columns = self.headers.iter().map(str::to_owned).collect();
                Err(PilotError::NoColumn { file, column, columns })
            }
            _ => Err(PilotError::ColumnTwice { file, column, places }),
        }
    }

    /// The same of a column that may be left out.
    pub fn place_if_there(&self, name: &str) -> Result<Option<usize>, PilotError> {
        if self.headers.iter().any(|header| header == name) { self.place(name).map(Some) } else { Ok(None) }
    }

    pub fn places(&self, names: &[String]) -> Result<Vec<usize>, PilotError> {
        names.iter().map(|name| self.place(name)).collect()
    }

    pub fn place_of(&self, name: Option<&String>) -> Result<Option<usize>, PilotError> {
        name.map(|name| self.place(name)).transpose()
    }

    pub fn each(&mut self, mut f: impl FnMut(&Row) -> Result<(), PilotError>) -> Result<(), PilotError> {
        for record in self.reader.records() {
            let record = record.map_err(|source| unread(self.file, source))?;
            let line = record.position().map_or(0, csv::Position::line);
            let decimal_comma = self.decimal_comma;
            f(&Row { record: &record, headers: &self.headers, line, file: self.file, decimal_comma })?;
        }
        Ok(())
    }
}

/// What is wrong with a row that cannot be read at all.
fn unread(file: &str, source: csv::Error) -> PilotError {
    match source.kind() {
        csv::ErrorKind::UnequalLengths { pos: Some(place), expected_len, len } => {
            PilotError::Fields { file: file.to_owned(), line: place.line(), found: *len, expected: *expected_len }
        }
        _ => PilotError::Csv { file: file.to_owned(), source },
    }
}

/// One row of the file.
pub(super) struct Row<'a> {
    record: &'a csv::StringRecord,
    headers: &'a csv::StringRecord,
    pub line: u64,
    pub file: &'a str,
    decimal_comma: bool,
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

    /// What is written, as it is; may be empty.
    pub fn written(&self, place: usize) -> &str {
        self.record.get(place).unwrap_or("")
    }

    /// A number; `None` where nothing was read.
    pub fn number(&self, place: usize, allowed: &str, sound: impl Fn(f64) -> bool) -> Result<Option<f64>, PilotError> {
        let text = self.record.get(place).unwrap_or("");
        if text.is_empty() || MISSING.contains(&text) {
            return Ok(None);
        }
        match with_point(text, self.decimal_comma).parse::<f64>() {
            Ok(value) if sound(value) => Ok(Some(value)),
            _ if text.contains(',') && text.replacen(',', ".", 1).parse::<f64>().is_ok() => Err(self.error(
                place,
                &format!(
                    "{allowed}, with a decimal point ({}), or part the columns of the whole table by semicolons: then a comma is \
                     taken as a decimal one",
                    text.replacen(',', ".", 1)
                ),
            )),
            _ => Err(self.error(place, allowed)),
        }
    }
}
