use super::problem::{Problem, line_at};
use serde::Serialize;

/// What a scenario may say and hardly means, such as a number in another unit: where it is, what is usual, what to write.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Doubt {
    /// Name of the file, and the line in it, counted from 1.
    pub file: String,
    pub line: usize,
    /// `zone[0].fish[0].length_cm`
    pub key: String,
    pub message: String,
    pub usual: String,
    pub remedy: String,
}

impl Doubt {
    pub fn new(name: &str, text: &str, problem: Problem) -> Self {
        Self {
            file: name.to_owned(),
            line: line_at(text, problem.place.start),
            key: problem.key,
            message: problem.message,
            usual: problem.allowed,
            remedy: problem.remedy,
        }
    }

    /// In the order of the text.
    pub fn all(name: &str, text: &str, mut found: Vec<Problem>) -> Vec<Self> {
        found.sort_by_key(|problem| problem.place.start);
        found.into_iter().map(|problem| Self::new(name, text, problem)).collect()
    }

    /// `fish.toml, line 12, zone[0].fish[0].length_cm: grouper: 250 cm in the mean (usual: 2 to 150 cm).`
    pub fn what(&self) -> String {
        format!("{}, line {}, {}: {} (usual: {}).", self.file, self.line, self.key, self.message, self.usual)
    }
}
