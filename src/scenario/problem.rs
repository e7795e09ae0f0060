use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};
use std::fmt;
use std::ops::Range;

/// One thing that is wrong in a scenario, where it is, what is allowed and what to write.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// The key it is about: `zone[0].cover_percent`; empty where it is about the text as a whole.
    pub key: String,
    pub message: String,
    /// What is allowed, in a few words, for the caret.
    pub allowed: String,
    /// What to write instead.
    pub remedy: String,
    /// Bytes of the text the caret points at.
    pub place: Range<usize>,
}

/// Why a scenario was refused: everything that is wrong with it, with the text it was found in.
#[derive(Clone, Debug)]
pub struct ScenarioError {
    /// Name of the file.
    pub name: String,
    pub text: String,
    /// At least one, in the order of the text.
    pub problems: Vec<Problem>,
}

impl ScenarioError {
    pub fn new(name: &str, text: &str, mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|problem| problem.place.start);
        ScenarioError { name: name.to_owned(), text: text.to_owned(), problems }
    }

    /// The line of a problem, counted from 1.
    pub fn line(&self, problem: &Problem) -> usize {
        line_at(&self.text, problem.place.start)
    }

    /// For the terminal: each problem with its line, a caret and a remedy; 80 columns, no colour.
    pub fn render(&self) -> String {
        let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor()).with_width(80);
        let mut out = String::new();
        for problem in &self.problems {
            let title = format!("{}, line {}: {}", self.name, self.line(problem), titled(problem));
            let source = NamedSource::new(&self.name, self.text.clone());
            let shown = Shown { title, source, problem };
            // An empty text has no line to draw a caret under.
            if self.text.is_empty() || handler.render_report(&mut out, &shown).is_err() {
                out.push_str(&format!("{shown}\n  {}", problem.remedy));
            }
            out.push('\n');
        }
        out
    }
}

impl fmt::Display for ScenarioError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.problems.iter().enumerate() {
            let separator = if index == 0 { "" } else { "\n" };
            write!(out, "{separator}{}, line {}: {}", self.name, self.line(problem), titled(problem))?;
        }
        Ok(())
    }
}

impl std::error::Error for ScenarioError {}

/// The line of a byte of a text, counted from 1.
pub fn line_at(text: &str, byte: usize) -> usize {
    let before = &text.as_bytes()[..byte.min(text.len())];
    before.iter().filter(|byte| **byte == b'\n').count() + 1
}

/// The message with the key in front.
fn titled(problem: &Problem) -> String {
    if problem.key.is_empty() { problem.message.clone() } else { format!("{}: {}", problem.key, problem.message) }
}

/// One problem in the form that miette draws.
#[derive(Debug)]
struct Shown<'a> {
    title: String,
    source: NamedSource<String>,
    problem: &'a Problem,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.title)
    }
}

impl std::error::Error for Shown<'_> {}

impl miette::Diagnostic for Shown<'_> {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.problem.remedy.is_empty()).then(|| Box::new(&self.problem.remedy) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let allowed = (!self.problem.allowed.is_empty()).then(|| self.problem.allowed.clone());
        let label = LabeledSpan::new_with_span(allowed, self.problem.place.clone());
        Some(Box::new(std::iter::once(label)))
    }
}
