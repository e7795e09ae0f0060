use super::explain::explain_all;
use super::file::ScenarioFile;
use super::outline::Outline;
use super::problem::{Problem, ScenarioError};

/// A scenario as it stands in its file, and where each key stands.
pub struct ReadFile {
    pub file: ScenarioFile,
    pub outline: Outline,
}

/// Text to tables: JSON where the name ends in `.json`, else TOML.
pub fn read(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    if is_json(name) { read_json(name, text) } else { read_toml(name, text) }
}

/// Whether a scenario of this name is JSON.
pub fn is_json(name: &str) -> bool {
    name.to_ascii_lowercase().ends_with(".json")
}

fn read_toml(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    let outline = Outline::of_toml(text);
    match toml::from_str(text) {
        Ok(file) => Ok(ReadFile { file, outline }),
        Err(error) => {
            let place = error.span().unwrap_or(0..0);
            if let Some(comma) = decimal_comma(text, place.start) {
                return Err(ScenarioError::new(name, text, vec![comma]));
            }
            Err(ScenarioError::new(name, text, explain_all(error.message(), place, &outline)))
        }
    }
}

fn read_json(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    let outline = Outline::of_json(text);
    match serde_json::from_str(text) {
        Ok(file) => Ok(ReadFile { file, outline }),
        Err(error) => {
            let byte = byte_of(text, error.line(), error.column());
            let full = error.to_string();
            let message = full.rsplit_once(" at line ").map_or(full.as_str(), |(message, _)| message);
            let place = match outline.at(byte) {
                Some(entry) if message.starts_with("unknown field") => entry.key.clone(),
                Some(entry) => entry.value.clone(),
                None => byte..(byte + 1).min(text.len()),
            };
            Err(ScenarioError::new(name, text, explain_all(message, place, &outline)))
        }
    }
}

/// The byte that a JSON reader calls line and column: the last one it had read, both counted from 1.
fn byte_of(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    (start + column.saturating_sub(1)).min(text.len().saturating_sub(1))
}

/// A number with a decimal comma in the line of a byte (`cover_percent = 32,5`), which no parser takes for one.
fn decimal_comma(text: &str, byte: usize) -> Option<Problem> {
    let byte = byte.min(text.len());
    let start = text.get(..byte)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text[start..].lines().next()?;
    let (key, value) = line.split('#').next()?.split_once('=')?;
    let (value, at) = (value.trim(), start + key.len() + 1 + (value.len() - value.trim_start().len()));
    let (whole, decimals) = value.split_once(',')?;
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    (is_digits(whole.trim_start_matches(['-', '+'])) && is_digits(decimals)).then(|| Problem {
        key: key.trim().to_owned(),
        message: format!("{value} has a decimal comma"),
        allowed: "a comma".to_owned(),
        remedy: format!("Decimals are written with a point: {whole}.{decimals}."),
        place: at..at + value.len(),
    })
}
