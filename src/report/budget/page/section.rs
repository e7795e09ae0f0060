use crate::report::figures::Figure;
use serde::Serialize;

/// A part of the page.
#[derive(Debug, Default, Serialize)]
pub struct Section {
    /// The address of the part inside the page.
    pub id: &'static str,
    pub heading: &'static str,
    /// Paragraphs before everything else.
    pub words: Vec<String>,
    /// Shown by the page as pictures.
    #[serde(skip)]
    pub figures: Vec<Figure>,
    pub grids: Vec<Grid>,
    /// Lines with a mark before them.
    pub warnings: Vec<String>,
    /// Text as it was written.
    pub verbatim: Option<String>,
    /// Small print at the end.
    pub notes: Vec<String>,
}

/// A table.
#[derive(Debug, Default, Serialize)]
pub struct Grid {
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<String>>,
}

/// Head of a column.
#[derive(Debug, Serialize)]
pub struct Column {
    pub name: String,
    /// A second, small line.
    pub small: &'static str,
    /// Words stand left and wrap, numbers stand right.
    pub is_words: bool,
}

impl Column {
    pub fn words(name: impl Into<String>) -> Self {
        Self { name: name.into(), small: "", is_words: true }
    }

    pub fn number(name: impl Into<String>) -> Self {
        Self { name: name.into(), small: "", is_words: false }
    }

    pub fn small(self, small: &'static str) -> Self {
        Self { small, ..self }
    }
}
