use thiserror::Error;

/// Why a pilot table cannot be used, with the place in the file and what is allowed.
#[derive(Debug, Error)]
pub enum PilotError {
    #[error("{file}:1: there is no column `{column}`; the columns are {}", quoted(columns))]
    NoColumn { file: String, column: String, columns: Vec<String> },

    #[error(
        "{file}:1: {} columns are called `{column}` ({}); allowed is one; give every column a name of its own, or take the \
         other out",
        places.len(),
        places.iter().map(|place| format!("column {}", place + 1)).collect::<Vec<_>>().join(", ")
    )]
    ColumnTwice { file: String, column: String, places: Vec<usize> },

    #[error("{file}:{line}, column `{column}`: `{found}` is not allowed; write {allowed}")]
    Value { file: String, line: u64, column: String, found: String, allowed: String },

    #[error(
        "{file}:{line}: line `{unit}` of site `{site}`{} is given before, in line {earlier}; keep one row per line and \
         visit, or name the column that tells them apart",
        at_visit(visit)
    )]
    Twice { file: String, line: u64, earlier: u64, site: String, visit: Option<String>, unit: String },

    #[error(
        "{file}:{line}: {unit} is done before, in line {earlier}; number the units of a site \
         apart, or take one of the rows out"
    )]
    DoneTwice { file: String, line: u64, earlier: u64, unit: String },

    #[error("{file}:1: the file is empty; its first line must name the columns, such as {example}")]
    NoHeader { file: String, example: &'static str },

    #[error(
        "{file}: no row has a value in column `{column}`; at least two sites with two lines or belts each are needed"
    )]
    Empty { file: String, column: String },

    #[error(
        "{file}{}: {sites} {}, of which {with_two} with two belts or more at one visit; at least two sites, and one with \
         two belts, are needed to tell variation between sites from variation within them",
        of_zone(zone),
        if *sites == 1 { "site" } else { "sites" }
    )]
    TooFewBelts { file: String, zone: Option<String>, sites: usize, with_two: usize },

    #[error(
        "{file}{}: not one is counted in column `{column}`, so there is nothing to learn how they vary; what belts without \
         any rule out depends on their area: 3 / area is the density that would have shown 19 times in 20",
        of_zone(zone)
    )]
    NoAnimals { file: String, zone: Option<String>, column: String },

    #[error(
        "{file}{}: {colonies} colonies with a size tell no law of sizes; at least three of different sizes are needed, and a \
         hundred are worth having",
        of_zone(zone)
    )]
    TooFewColonies { file: String, zone: Option<String>, colonies: usize },

    #[error(
        "{file}:{line}: this row has {found} fields, the first line of the table {expected}; {}",
        if found > expected {
            "is there a decimal comma in it? Write decimal points, or part the columns of the whole table by semicolons"
        } else {
            "leave nothing between two separators where nothing was read, but keep the separators"
        }
    )]
    Fields { file: String, line: u64, found: u64, expected: u64 },

    #[error("{file}: {source}")]
    Csv { file: String, source: csv::Error },

    #[error(
        "{file}{}: {sites} {}, of which {with_two} with two lines or more at one visit; at least two sites, and one with \
         two lines, are needed to tell variation between sites from variation within them",
        of_zone(zone),
        if *sites == 1 { "site" } else { "sites" }
    )]
    TooFew { file: String, zone: Option<String>, sites: usize, with_two: usize },
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

fn at_visit(visit: &Option<String>) -> String {
    visit.as_ref().map(|visit| format!(" at visit `{visit}`")).unwrap_or_default()
}

fn of_zone(zone: &Option<String>) -> String {
    zone.as_ref().map(|zone| format!(", zone `{zone}`")).unwrap_or_default()
}
