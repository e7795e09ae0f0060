use super::outline::Outline;
use super::problem::Problem;

/// Collects what is wrong, each at the place of its key.
pub struct Problems<'a> {
    outline: &'a Outline,
    found: Vec<Problem>,
}

impl<'a> Problems<'a> {
    pub fn new(outline: &'a Outline) -> Self {
        Problems { outline, found: Vec::new() }
    }

    /// Something wrong at a key; where the key is not written, the caret points at the table around it.
    pub fn add(
        &mut self,
        key: &str,
        message: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.found.push(problem_at(self.outline, key, message.into(), allowed.into(), remedy.into()));
    }

    /// Whether a key stands in the file.
    pub fn is_written(&self, path: &str) -> bool {
        self.outline.find(path).is_some_and(|entry| entry.path == path)
    }

    pub fn into_found(self) -> Vec<Problem> {
        self.found
    }
}

/// A problem at a key of a scenario.
pub fn problem_at(outline: &Outline, key: &str, message: String, allowed: String, remedy: String) -> Problem {
    let place = match outline.find(key) {
        Some(entry) if entry.path == key => entry.value.clone(),
        Some(entry) => entry.key.clone(),
        None => 0..0,
    };
    Problem { key: key.to_owned(), message, allowed, remedy, place }
}
