//! A CSV file that a scenario names: columns by their names, rows with their lines.

/// What to do about a line that cannot be read as CSV.
pub const READ_REMEDY: &str = "Correct that line, or save the list again as CSV (UTF-8).";

/// A file whose first line was read. What is wrong is told in words that begin with the line.
pub struct CsvFile<'a> {
    bytes: &'a [u8],
    reader: csv::Reader<&'a [u8]>,
    pub headers: csv::StringRecord,
}

/// One row with its line, counted from 1.
pub struct CsvRow {
    pub line: u64,
    record: csv::StringRecord,
}

impl<'a> CsvFile<'a> {
    pub fn open(bytes: &'a [u8]) -> Result<Self, String> {
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(bytes);
        let headers = reader.headers().map_err(|error| told(bytes, &error))?.clone();
        Ok(Self { bytes, reader, headers })
    }

    /// Where a column stands, whatever the case of its letters.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.headers.iter().position(|header| header.eq_ignore_ascii_case(name))
    }

    /// The next row; `None` after the last.
    pub fn next_row(&mut self) -> Option<Result<CsvRow, String>> {
        let mut record = csv::StringRecord::new();
        match self.reader.read_record(&mut record) {
            Ok(false) => None,
            Ok(true) => {
                let line = record.position().map_or(0, |place| line_of(self.bytes, place));
                Some(Ok(CsvRow { line, record }))
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
