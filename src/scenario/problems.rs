use super::outline::Outline;
use super::problem::Problem;

/// Collects what is wrong, and what is hardly meant, each at the place of its key.
pub struct Problems<'a> {
    text: &'a str,
    outline: &'a Outline,
    found: Vec<Problem>,
    doubted: Vec<Problem>,
}

impl<'a> Problems<'a> {
    pub fn new(text: &'a str, outline: &'a Outline) -> Self {
        Problems { text, outline, found: Vec::new(), doubted: Vec::new() }
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

    /// Keys of a table that are written and say nothing without another key; each with whether it is written.
    pub fn needs(&mut self, path: &str, needed: &str, about: &str, keys: &[(&str, bool)]) {
        for (key, _) in keys.iter().filter(|(_, is_written)| *is_written) {
            let remedy = format!("Write {needed}, or take it out.");
            self.add(&format!("{path}.{key}"), format!("{key} is about {about}"), format!("needs {needed}"), remedy);
        }
    }

    /// Something that is allowed and hardly meant at a key: it is told and used as it is written.
    pub fn doubt(
        &mut self,
        key: &str,
        message: impl Into<String>,
        usual: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.doubted.push(problem_at(self.outline, key, message.into(), usual.into(), remedy.into()));
    }

    /// The numbers of the file at keys of this kind, as they are written.
    pub fn numbers(&self, is_one: impl Fn(&str) -> bool) -> Vec<(String, f64)> {
        let entries = self.outline.entries().iter().filter(|entry| is_one(&entry.path));
        let number = |place: &std::ops::Range<usize>| self.text.get(place.clone())?.trim().parse().ok();
        entries.filter_map(|entry| Some((entry.path.clone(), number(&entry.value)?))).collect()
    }

    /// Whether a key stands in the file.
    pub fn is_written(&self, path: &str) -> bool {
        self.outline.find(path).is_some_and(|entry| entry.path == path)
    }

    /// What is wrong, and what is doubted. Where a file that the scenario names cannot be read, that alone: all that hangs on what is
    /// in it would be told too.
    pub fn into_found(self) -> (Vec<Problem>, Vec<Problem>) {
        let is_of_map =
            |problem: &Problem| problem.key.ends_with(".map.file") || problem.key.ends_with(".map.file_after");
        if self.found.iter().any(is_of_map) {
            return (self.found.into_iter().filter(is_of_map).collect(), self.doubted);
        }
        (self.found, self.doubted)
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
