//! A list of fish with their weights by length: CSV to species, or to all that is wrong with it, by line and column.

use super::csv_file::{CsvFile, CsvRow, ListProblem, same_name};
use crate::reef::fish::{LengthWeight, TROPHIC_GROUPS};
use std::collections::BTreeMap;

/// What a list says in place of a length where the source of a and b does not state it.
pub const NOT_STATED: &str = "not stated";
/// Columns that must be there, and those that may be.
const NEEDED: [&str; 5] = ["name", "trophic_group", "a", "b", "source"];
const OTHERS: [&str; 2] = ["length_type", "longest_cm"];
/// Mistakes that are told; after so many the rest waits.
const MOST_TOLD: usize = 10;
/// Rows of a list.
const MOST_ROWS: usize = 10_000;

/// One species, or one group of fish, of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedFish {
    /// What it eats; the usual words are those of [`TROPHIC_GROUPS`].
    pub trophic_group: String,
    pub weight: LengthWeight,
    /// Where a and b were taken from.
    pub source: String,
    /// Of which length a and b are, where the list tells it.
    pub length: Option<MeasuredLength>,
    /// The list says that its source does not state of which length they are.
    pub length_not_stated: bool,
    /// The longest of its kind, cm.
    pub longest_cm: Option<f64>,
}

/// How the length of a fish is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasuredLength {
    Total,
    Fork,
    Standard,
}

impl MeasuredLength {
    const ALL: [(Self, &'static str, &'static str); 3] = [
        (Self::Total, "TL", "total length"),
        (Self::Fork, "FL", "fork length"),
        (Self::Standard, "SL", "standard length"),
    ];

    pub fn words(self) -> &'static str {
        Self::ALL.iter().find(|(length, ..)| *length == self).map_or("", |(.., words)| words)
    }

    fn from_letters(letters: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, of, _)| of.eq_ignore_ascii_case(letters)).map(|(length, ..)| *length)
    }
}

/// A list: species by their names.
#[derive(Clone, Debug, PartialEq)]
pub struct FishList {
    pub species: BTreeMap<String, ListedFish>,
    /// Whether it has a column that tells of which length a and b are.
    pub tells_length: bool,
}

/// Reads the list.
///
/// # Errors
/// What is wrong with it, in the order of its lines.
pub fn read_fish(bytes: &[u8]) -> Result<FishList, Vec<ListProblem>> {
    let cannot = |message: String| vec![ListProblem::unreadable(message)];
    let mut file = CsvFile::open(bytes).map_err(cannot)?;
    file.check_columns(&NEEDED, &OTHERS, "a list of fish").map_err(|problem| vec![problem])?;
    let columns = NEEDED.iter().chain(&OTHERS).map(|&name| (name, file.column(name))).collect();
    let mut reading = Reading { columns, problems: Vec::new() };
    let tells_length = file.column(OTHERS[0]).is_some();
    let mut list: BTreeMap<String, ListedFish> = BTreeMap::new();
    let mut names: Vec<(u64, String)> = Vec::new();
    while let Some(row) = file.next_row() {
        let row = row.map_err(cannot)?;
        let name = reading.words(&row, "name", "Write the name by which the scenario calls the fish.");
        if let Some((earlier, _)) = names.iter().find(|(_, known)| same_name(known, &name)) {
            let message = format!("\"{name}\" is on line {earlier} already");
            reading.add(&row, "name", message, "once each", "Take one of the two lines out.");
        }
        let fish = reading.fish(&row);
        names.push((row.line, name.clone()));
        list.insert(name, fish);
        if reading.problems.len() >= MOST_TOLD {
            break;
        }
        if names.len() > MOST_ROWS {
            let (message, allowed) = (format!("more than {MOST_ROWS} rows"), format!("at most {MOST_ROWS}"));
            reading.problems.push(ListProblem::new(message, allowed, "Keep the species that the survey counts."));
            break;
        }
    }
    if names.is_empty() {
        let remedy = "Write one row for each species or group of fish.";
        reading.problems.push(ListProblem::new("the list has no rows", "a row for each fish", remedy));
    }
    if reading.problems.is_empty() { Ok(FishList { species: list, tells_length }) } else { Err(reading.problems) }
}

struct Reading {
    /// The columns that may be there, and where they stand.
    columns: Vec<(&'static str, Option<usize>)>,
    problems: Vec<ListProblem>,
}

impl Reading {
    fn add(
        &mut self,
        row: &CsvRow,
        column: &str,
        message: impl std::fmt::Display,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let message = format!("line {}, column {column}: {message}", row.line);
        self.problems.push(ListProblem::new(message, allowed, remedy));
    }

    fn place(&self, column: &str) -> Option<usize> {
        self.columns.iter().find(|(name, _)| *name == column).and_then(|(_, place)| *place)
    }

    fn text(&self, row: &CsvRow, column: &str) -> String {
        self.place(column).map_or("", |place| row.get(place)).to_owned()
    }

    fn written(&self, row: &CsvRow, column: &str) -> Option<f64> {
        row.number(self.place(column)?)
    }

    fn fish(&mut self, row: &CsvRow) -> ListedFish {
        let usual: Vec<&str> = TROPHIC_GROUPS.iter().map(|group| group.name).collect();
        let remedy = format!("Write what the fish eats in a word: {}; or a word of your own.", usual.join(", "));
        let trophic_group = self.words(row, "trophic_group", &remedy);
        let (a, b) = (self.number(row, "a"), self.number(row, "b"));
        if let (Some(a), Some(b)) = (a, b)
            && let Err(odd) = (LengthWeight { a, b }).check()
        {
            self.add(row, odd.column(), odd, odd.allowed(), odd.remedy());
        }
        let weight = LengthWeight { a: a.unwrap_or(f64::NAN), b: b.unwrap_or(f64::NAN) };
        let source = self.words(row, "source", "Write where a and b were taken from, so that others can look them up.");
        let (length, longest_cm) = (self.length(row), self.longest(row));
        let length_not_stated = self.text(row, "length_type").eq_ignore_ascii_case(NOT_STATED);
        ListedFish { trophic_group, weight, source, length, length_not_stated, longest_cm }
    }

    /// Of which length a and b are; nothing written: not known.
    fn length(&mut self, row: &CsvRow) -> Option<MeasuredLength> {
        let text = self.text(row, "length_type");
        let length = MeasuredLength::from_letters(&text);
        if length.is_none() && !text.is_empty() && !text.eq_ignore_ascii_case(NOT_STATED) {
            let remedy = "Write TL (total), FL (fork) or SL (standard length); \"not stated\" where the source of a and b does not \
                          state it; or nothing where it is not known.";
            let allowed = "TL, FL, SL, not stated, or nothing";
            self.add(row, "length_type", format!("\"{text}\" is no length of a fish"), allowed, remedy);
        }
        length
    }

    fn longest(&mut self, row: &CsvRow) -> Option<f64> {
        let text = self.text(row, "longest_cm");
        let number = self.written(row, "longest_cm").filter(|cm| (0.5..=2000.0).contains(cm));
        if number.is_none() && !text.is_empty() {
            let remedy = "Write the total length of the longest in cm, or nothing where it is not known.";
            self.add(row, "longest_cm", format!("\"{text}\" is no length in cm"), "0.5 to 2000, or nothing", remedy);
        }
        number
    }

    /// Words, at least one, without what no file may hold.
    fn words(&mut self, row: &CsvRow, column: &str, remedy: &str) -> String {
        let text = self.text(row, column);
        if text.is_empty() {
            self.add(row, column, "nothing is written", "words", remedy);
        }
        if text.chars().any(char::is_control) {
            let remedy = "Write it on one line, without tabs and the like.";
            self.add(row, column, "a sign that cannot be printed", "letters and signs", remedy);
        }
        text
    }

    fn number(&mut self, row: &CsvRow, column: &str) -> Option<f64> {
        let text = self.text(row, column);
        let number = self.written(row, column).filter(|value| value.is_finite() && *value > 0.0);
        if number.is_none() {
            let remedy = "Write a and b of W = a L^b, in grams and cm of total length, with a point: 0.0158 and 3.02.";
            self.add(row, column, format!("\"{text}\" is no number above 0"), "a number above 0", remedy);
        }
        number
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const INDO_PACIFIC: &str = include_str!("../../examples/fish_indo_pacific.csv");
    const CARIBBEAN: &str = include_str!("../../examples/fish_caribbean.csv");
    const HEAD: &str = "name,trophic_group,a,b,source\n";

    fn read(rows: &str) -> Result<FishList, Vec<ListProblem>> {
        read_fish(format!("{HEAD}{rows}").as_bytes())
    }

    /// Weights at 20 cm, g: as computed from the same file before, and by the Atlantic trait file of Quimbayo et al. 2021 (year from
    /// memory); nought where that is missing or plainly wrong.
    const CARIBBEAN_AT_20: [(&str, f64, f64); 26] = [
        ("Acanthurus coeruleus", 223.0, 229.0),
        ("Acanthurus tractus", 152.0, 0.0),
        ("Acanthurus chirurgus", 136.0, 180.0),
        ("Scarus iseri", 134.0, 141.0),
        ("Scarus taeniopterus", 153.0, 142.0),
        ("Scarus vetula", 129.0, 161.0),
        ("Scarus guacamaia", 157.0, 120.0),
        ("Sparisoma viride", 167.0, 197.0),
        ("Sparisoma aurofrenatum", 147.0, 135.0),
        ("Sparisoma rubripinne", 151.0, 149.0),
        ("Kyphosus spp.", 121.0, 0.0),
        ("Microspathodon chrysurus", 195.0, 245.0),
        ("Haemulon flavolineatum", 144.0, 167.0),
        ("Haemulon plumierii", 142.0, 149.0),
        ("Haemulon sciurus", 154.0, 155.0),
        ("Bodianus rufus", 169.0, 136.0),
        ("Chaetodon capistratus", 331.0, 311.0),
        ("Holacanthus tricolor", 228.0, 224.0),
        ("Melichthys niger", 172.0, 244.0),
        ("Lutjanus apodus", 146.0, 136.0),
        ("Ocyurus chrysurus", 126.0, 128.0),
        ("Cephalopholis cruentata", 122.0, 124.0),
        ("Epinephelus striatus", 118.0, 106.0),
        ("Mycteroperca tigris", 155.0, 108.0),
        ("Caranx ruber", 123.0, 118.0),
        ("Sphyraena barracuda", 77.0, 51.0),
    ];

    /// Weights at 20 cm and at 30 cm, g, as computed from the same files before; nought where none is told.
    const INDO_PACIFIC_AT_20_AND_30: [(&str, f64, f64); 29] = [
        ("Acanthurus nigrofuscus", 218.0, 726.0),
        ("Acanthurus lineatus", 122.0, 423.0),
        ("Acanthurus tennentii", 224.0, 765.0),
        ("Ctenochaetus striatus", 164.0, 571.0),
        ("Zebrasoma scopas", 230.0, 761.0),
        ("Naso elegans", 245.0, 776.0),
        ("Siganus argenteus", 136.0, 477.0),
        ("Siganus sutor", 136.0, 477.0),
        ("Scarus niger", 173.0, 617.0),
        ("Scarus rubroviolaceus", 151.0, 532.0),
        ("Scarus ghobban", 157.0, 539.0),
        ("Scarus psittacus", 140.0, 479.0),
        ("Calotomus carolinus", 161.0, 581.0),
        ("Chaetodon lunulatus", 165.0, 558.0),
        ("Thalassoma hebraicum", 97.0, 309.0),
        ("Cheilinus trilobatus", 154.0, 515.0),
        ("Parupeneus barberinus", 153.0, 532.0),
        ("Lethrinus harak", 154.0, 525.0),
        ("Lethrinus nebulosus", 151.0, 506.0),
        ("Sufflamen chrysopterum", 208.0, 677.0),
        ("Chromis margaritifer", 121.0, 0.0),
        ("Caesio teres", 106.0, 394.0),
        ("Abudefduf vaigiensis", 242.0, 0.0),
        ("Lutjanus gibbus", 161.0, 563.0),
        ("Lutjanus bohar", 151.0, 517.0),
        ("Aprion virescens", 138.0, 442.0),
        ("Cephalopholis argus", 143.0, 480.0),
        ("Epinephelus merra", 111.0, 350.0),
        ("Naso lituratus", 200.0, 0.0),
    ];

    #[test]
    fn the_lists_that_are_shipped_are_read() {
        let [pacific, caribbean] = [INDO_PACIFIC, CARIBBEAN].map(|text| read_fish(text.as_bytes()).unwrap().species);
        assert_eq!((pacific.len(), caribbean.len()), (INDO_PACIFIC_AT_20_AND_30.len(), CARIBBEAN_AT_20.len()));
        let near = |name: &str, weight: LengthWeight, cm: f64, known: f64| {
            let grams = weight.weight_g(cm);
            assert!(known == 0.0 || (grams / known - 1.0).abs() < 0.01, "{name} {cm}: {grams} {known}");
        };
        for (name, at_20, at_30) in INDO_PACIFIC_AT_20_AND_30 {
            near(name, pacific[name].weight, 20.0, at_20);
            near(name, pacific[name].weight, 30.0, at_30);
        }
        let mut beside = Vec::new();
        for (name, at_20, other) in CARIBBEAN_AT_20 {
            near(name, caribbean[name].weight, 20.0, at_20);
            beside.extend((other > 0.0).then(|| other / caribbean[name].weight.weight_g(20.0)));
        }
        // Two lists of the same species differ by up to a half, and by nothing in the middle.
        beside.sort_by(f64::total_cmp);
        assert!(beside[0] > 0.65 && beside[beside.len() - 1] < 1.45, "{beside:?}");
        assert!((beside[beside.len() / 2] - 1.0).abs() < 0.05 && beside.len() == 24, "{beside:?}");
        for fish in pacific.values().chain(caribbean.values()) {
            assert!(TROPHIC_GROUPS.iter().any(|group| group.name == fish.trophic_group), "{fish:?}");
            // The sources of a and b that are known here do not state it.
            assert!(fish.length_not_stated && fish.length.is_none(), "{fish:?}");
            let at_20 = fish.weight.weight_g(20.0);
            assert!((40.0..=400.0).contains(&at_20), "{fish:?} {at_20}");
        }
    }

    #[test]
    fn a_list_of_ones_own_words_is_read() {
        let list = read("\"Blue one, large\",farmers, 0.02 ,3.1,our own fish\n").unwrap();
        let fish = &list.species["Blue one, large"];
        assert_eq!((fish.trophic_group.as_str(), fish.weight.a, fish.weight.b), ("farmers", 0.02, 3.1));
        let moved = read_fish(b"SOURCE,b,a,name,Trophic_Group\nx,3,0.02,y,z\n").unwrap();
        assert_eq!(moved.species["y"].weight, LengthWeight { a: 0.02, b: 3.0 });
    }

    #[test]
    fn a_list_may_tell_of_which_length_its_weights_are() {
        let head = "name,trophic_group,a,b,source,length_type,longest_cm\n";
        let of = |row: &str| read_fish(format!("{head}Naso,browser,0.05,2.84,a file,{row}\n").as_bytes());
        let told = |row: &str| {
            of(row).map(|list| (list.tells_length, list.species["Naso"].length, list.species["Naso"].longest_cm))
        };
        assert_eq!(told("fl,60"), Ok((true, Some(MeasuredLength::Fork), Some(60.0))));
        assert_eq!(told("TL,"), Ok((true, Some(MeasuredLength::Total), None)));
        assert_eq!(told(","), Ok((true, None, None)));
        assert_eq!(told("not stated,"), Ok((true, None, None)));
        assert!(of("Not stated,").unwrap().species["Naso"].length_not_stated);
        assert!(!of(",").unwrap().species["Naso"].length_not_stated);
        assert!(!read("Naso,browser,0.05,2.84,a file\n").unwrap().tells_length);
        for (row, expected) in [
            ("TTL,60", "line 2, column length_type: \"TTL\" is no length of a fish"),
            ("TL,-3", "line 2, column longest_cm: \"-3\" is no length in cm"),
        ] {
            let problems = of(row).unwrap_err();
            assert!(problems[0].message.starts_with(expected), "{problems:?}");
        }
    }

    #[test]
    fn what_is_wrong_is_told_by_line_and_column() {
        let row = "Naso,browser,0.05,2.84,a file\n";
        for (rows, expected) in [
            (row.replace("Naso", ""), "line 2, column name: nothing is written"),
            (row.replace("browser", " "), "line 2, column trophic_group: nothing is written"),
            (row.replace("a file", ""), "line 2, column source: nothing is written"),
            (row.replace("0.05", "0,05"), "line 2: 6 values where the first line names 5 columns"),
            (row.replace("0.05", "small"), "line 2, column a: \"small\" is no number above 0"),
            (row.replace("0.05", "-0.05"), "line 2, column a: \"-0.05\" is no number above 0"),
            (row.replace("2.84", "NaN"), "line 2, column b: \"NaN\" is no number above 0"),
            (row.replace("2.84", ""), "line 2, column b: \"\" is no number above 0"),
            (row.replace("0.05", "0.00005"), "line 2, column a: a fish of 20 cm would weigh 0.2 g"),
            (row.replace("0.05", "50"), "line 2, column a: a fish of 20 cm would weigh 248 kg"),
            (row.replace("2.84", "2.08"), "line 2, column b: b is 2.08; weight goes nearly with the cube"),
            (format!("{row}\n{}", row.to_uppercase()), "line 4, column name: \"NASO\" is on line 2 already"),
            (String::new(), "the list has no rows"),
        ] {
            let problems = read(&rows).unwrap_err();
            assert!(problems[0].message.starts_with(expected), "{expected}: {problems:?}");
            assert!(problems.iter().all(|of| !of.allowed.is_empty() && !of.remedy.is_empty()), "{problems:?}");
        }
        for (head, expected) in [
            ("name,trophic_group,a,b\n", "line 1: there is no column \"source\""),
            ("name,trophic_group,a,b,sorce\n", "line 1: the column \"sorce\" is no column of a list of fish"),
            ("name,trophic_group,a,b,source,A\n", "line 1: the column \"A\" is there twice"),
        ] {
            let problems = read_fish(head.as_bytes()).unwrap_err();
            assert!(problems[0].message.starts_with(expected), "{problems:?}");
        }
        let many = read(&row.replace("0.05", "x").repeat(40)).unwrap_err();
        assert!(many.len() <= MOST_TOLD + 2, "{}", many.len());
    }
}
