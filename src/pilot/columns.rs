/// The columns that name a unit at a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Fit each value of this column by itself.
    pub zone: Option<String>,
    /// One column, or several that together name a site (region and number, say).
    pub site: Vec<String>,
    /// What tells the units of one site and visit apart; left out: every row is a unit of its own.
    pub unit: Option<String>,
    /// Without it all rows are of one visit.
    pub visit: Option<String>,
}

/// The names that the columns of a pilot table have in the user's file, and how cover is given.
///
/// One row is one line (or belt, or other unit) at one visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    /// Fit each value of this column by itself.
    pub zone: Option<String>,
    /// One column, or several that together name a site (region and number, say).
    pub site: Vec<String>,
    /// What tells the lines of one site and visit apart. With `same_marks` the same entry at two visits is the same
    /// marked place.
    pub line: String,
    /// Without it all rows are of one visit.
    pub visit: Option<String>,
    pub cover: CoverColumn,
    /// Whether lines were laid on the same marks at every visit.
    pub same_marks: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub enum CoverColumn {
    /// Cover between 0 and 100.
    Percent(String),
    /// Cover between 0 and 1.
    Share(String),
    /// Points that fell on what is counted, and all points of the line.
    Counts { hits: String, points: String },
}

impl CoverColumn {
    /// The column that is missing where a line was not read.
    pub fn name(&self) -> &str {
        match self {
            CoverColumn::Percent(name) | CoverColumn::Share(name) | CoverColumn::Counts { hits: name, .. } => name,
        }
    }
}
