//! The list of candidate sites of an expedition: CSV to sites, or to all that is wrong with it, by line and column.

use super::csv_file::{CsvFile, CsvRow, ListProblem, same_name};
use super::near::nearest;
use super::number::{Kind, Latitude, Longitude, Number, SiteDepth};
use super::shown::number;
use super::site_places::tie;
use crate::design::ListedSite;

/// Columns that must be there; `zone` may be left out where there is one zone.
const NEEDED: [&str; 5] = ["name", "zone", "depth_m", "latitude", "longitude"];
/// Columns that may be there.
const OTHERS: [&str; 7] = ["sheltered", "access", "first_day", "last_day", "old_marks", "must_visit", "cannot_be_used"];
/// The column that ties the two depths of a place: needed where zones share places.
const PLACE: &str = "place";
/// Days are counted up to here.
const MOST_DAYS: usize = 366;
/// Mistakes that are told; after so many the rest waits.
const MOST_TOLD: usize = 10;
/// Rows of a list.
const MOST_ROWS: usize = 10_000;

/// A zone as the list must know it: its name, and how deep its sites may be at most.
pub struct ZoneOfSites<'a> {
    pub name: &'a str,
    pub depth_m: Option<f64>,
    /// The zone at the same places, where there is one.
    pub shares_with: Option<usize>,
}

/// Reads the list.
///
/// # Errors
/// What is wrong with it, in the order of its lines.
pub fn read_sites(bytes: &[u8], zones: &[ZoneOfSites]) -> Result<Vec<ListedSite>, Vec<ListProblem>> {
    let cannot = |message: String| vec![ListProblem::unreadable(message)];
    let mut file = CsvFile::open(bytes).map_err(cannot)?;
    // With one zone nobody needs to say which.
    let (zone, needed): (Vec<&str>, Vec<&str>) =
        NEEDED.into_iter().partition(|name| *name == "zone" && zones.len() == 1);
    let (mut needed, mut others) = (needed, zone.into_iter().chain(OTHERS).collect::<Vec<&str>>());
    let shares = zones.iter().any(|zone| zone.shares_with.is_some());
    if shares { &mut needed } else { &mut others }.push(PLACE);
    file.check_columns(&needed, &others, "a list of sites").map_err(|problem| vec![problem])?;
    let mut reading = Reading { columns: columns(&file), zones, problems: Vec::new() };
    let mut sites: Vec<(u64, ListedSite)> = Vec::new();
    let mut twice: Vec<Twice> = Vec::new();
    while let Some(row) = file.next_row() {
        let row = row.map_err(cannot)?;
        let site = reading.site(&row);
        if let Some((earlier, _)) = sites.iter().find(|(_, known)| same_name(&known.name, &site.name)) {
            twice.push(Twice { name: site.name.clone(), line: row.line, earlier: *earlier });
        }
        sites.push((row.line, site));
        if sites.len() > MOST_ROWS || reading.problems.len() >= MOST_TOLD {
            break;
        }
    }
    reading.problems.extend(names_twice(&twice));
    if sites.len() > MOST_ROWS {
        reading.problems.push(ListProblem::new(
            format!("more than {MOST_ROWS} rows"),
            format!("at most {MOST_ROWS}"),
            "Take sites out that cannot be visited on this expedition.",
        ));
    }
    if sites.is_empty() {
        reading.problems.push(ListProblem::new(
            "the list has no rows",
            "a row for each site",
            "Write one row for each site that may be visited.",
        ));
    }
    if reading.problems.is_empty() {
        reading.problems = tie(&mut sites, zones);
        reading.problems.truncate(MOST_TOLD);
    }
    if !reading.problems.is_empty() {
        return Err(reading.problems);
    }
    Ok(sites.into_iter().map(|(_, site)| site).collect())
}

/// A name that is on an earlier line too.
struct Twice {
    name: String,
    line: u64,
    earlier: u64,
}

/// All names that are there twice, in one.
fn names_twice(all: &[Twice]) -> Option<ListProblem> {
    let (first, others) = all.split_first()?;
    let mut message =
        format!("line {}, column name: \"{}\" is on line {} already", first.line, first.name, first.earlier);
    if !others.is_empty() {
        let named = |of: &Twice| format!("\"{}\" (lines {} and {})", of.name, of.earlier, of.line);
        let told: Vec<String> = others.iter().take(MOST_TOLD).map(named).collect();
        let more = others.len() - told.len();
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        message += &format!("; so are {}{more}", told.join(", "));
    }
    Some(ListProblem::new(message, "once each", "Give every site a name of its own, or take one of the two out."))
}

fn columns(file: &CsvFile) -> Vec<(&'static str, usize)> {
    let known = NEEDED.into_iter().chain(OTHERS).chain([PLACE]);
    known.filter_map(|name| Some((name, file.column(name)?))).collect()
}

struct Reading<'a> {
    columns: Vec<(&'static str, usize)>,
    zones: &'a [ZoneOfSites<'a>],
    problems: Vec<ListProblem>,
}

impl Reading<'_> {
    fn add(
        &mut self,
        row: &CsvRow,
        column: &str,
        message: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let message = format!("line {}, column {column}: {}", row.line, message.into());
        self.problems.push(ListProblem::new(message, allowed, remedy));
    }

    fn text<'r>(&self, row: &'r CsvRow, column: &str) -> &'r str {
        self.columns.iter().find(|(name, _)| *name == column).map_or("", |(_, place)| row.get(*place))
    }

    fn site(&mut self, row: &CsvRow) -> ListedSite {
        let zone = self.zone(row);
        let site = ListedSite {
            name: self.name(row),
            zone: zone.unwrap_or(0),
            place: self.words(row, PLACE),
            depth_m: self.number::<SiteDepth>(row, "depth_m"),
            latitude: self.number::<Latitude>(row, "latitude"),
            longitude: self.number::<Longitude>(row, "longitude"),
            sheltered: self.yes(row, "sheltered"),
            access: self.words(row, "access"),
            first_day: self.day(row, "first_day"),
            last_day: self.day(row, "last_day"),
            old_marks: self.yes(row, "old_marks"),
            must_visit: self.yes(row, "must_visit"),
            cannot_be_used: self.words(row, "cannot_be_used"),
        };
        if let (Some(first), Some(last)) = (site.first_day, site.last_day)
            && first > last
        {
            let message = format!("day {last} is before first_day, {first}");
            self.add(row, "last_day", message, format!("{first} or later"), "Correct one of the two.");
        }
        self.check_depth(row, zone, site.depth_m);
        site
    }

    fn check_depth(&mut self, row: &CsvRow, zone: Option<usize>, depth_m: f64) {
        let Some(zone) = zone.map(|zone| &self.zones[zone]) else { return };
        let Some(deepest) = zone.depth_m.filter(|deepest| depth_m > *deepest) else { return };
        let message = format!(
            "{} m is deeper than the zone \"{}\", whose sites reach {} m",
            number(depth_m),
            zone.name,
            number(deepest)
        );
        let remedy = "Take the site out, or put it into a deeper zone. The zone's depth_m and bottom_minutes go together: \
                      only the diving officer changes them.";
        self.add(row, "depth_m", message, format!("at most {}", number(deepest)), remedy);
    }

    fn name(&mut self, row: &CsvRow) -> String {
        let name = self.words(row, "name");
        if name.is_empty() {
            self.add(row, "name", "the name is empty", "needs a name", "Write the name of the site.");
        }
        name
    }

    /// Free words without what no file may hold.
    fn words(&mut self, row: &CsvRow, column: &str) -> String {
        let text = self.text(row, column).to_owned();
        if text.chars().any(char::is_control) {
            let remedy = "Write it on one line, without tabs and the like.";
            self.add(row, column, "a sign that cannot be printed", "letters and signs", remedy);
        }
        text
    }

    fn zone(&mut self, row: &CsvRow) -> Option<usize> {
        let text = self.text(row, "zone").to_owned();
        if text.is_empty() && self.zones.len() == 1 {
            return Some(0);
        }
        let names: Vec<&str> = self.zones.iter().map(|zone| zone.name).collect();
        let place = names.iter().position(|name| *name == text);
        if place.is_none() {
            let hint = nearest(&text, &names).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
            let remedy = format!("{hint}Write the name of a [[zone]], or take the site out.");
            self.add(row, "zone", format!("there is no zone \"{text}\""), names.join(", "), remedy);
        }
        place
    }

    fn number<K: Kind>(&mut self, row: &CsvRow, column: &str) -> f64 {
        let text = self.text(row, column).to_owned();
        let rule = K::RULE;
        match text.parse::<f64>() {
            Ok(value) => {
                if let Err(message) = Number::<K>::try_from(value) {
                    self.add(
                        row,
                        column,
                        message,
                        rule.range(),
                        "Correct it; the latitude stands before the longitude.",
                    );
                }
                value
            }
            Err(_) => {
                let remedy = "Write a plain number with a point, without a unit: 12.5, or -17.4821 for 17 degrees 28.926 \
                              minutes south.";
                self.add(row, column, format!("\"{text}\" is no number"), rule.range(), remedy);
                f64::NAN
            }
        }
    }

    fn yes(&mut self, row: &CsvRow, column: &str) -> bool {
        let text = self.text(row, column).to_owned();
        match text.to_ascii_lowercase().as_str() {
            "yes" => true,
            "no" | "" => false,
            _ => {
                self.add(row, column, format!("\"{text}\" is neither yes nor no"), "yes or no", "Left empty: no.");
                false
            }
        }
    }

    fn day(&mut self, row: &CsvRow, column: &str) -> Option<usize> {
        let text = self.text(row, column).to_owned();
        if text.is_empty() {
            return None;
        }
        let day = text.parse().ok().filter(|day| (1..=MOST_DAYS).contains(day));
        if day.is_none() {
            let remedy =
                "Count the days on which can be dived from 1; left empty: any day. Tides and hours go into access.";
            self.add(row, column, format!("\"{text}\" is no day"), format!("1 to {MOST_DAYS}"), remedy);
        }
        day
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ZONES: [ZoneOfSites; 2] = [zone(0), zone(1)];

    const fn zone(number: usize) -> ZoneOfSites<'static> {
        let (name, depth_m) = [("crest", 6.0), ("slope", 12.0)][number];
        ZoneOfSites { name, depth_m: Some(depth_m), shares_with: None }
    }

    const HEAD: &str = "name,zone,depth_m,latitude,longitude,sheltered,first_day,last_day,must_visit\n";

    fn read(rows: &str) -> Result<Vec<ListedSite>, Vec<ListProblem>> {
        read_sites(format!("{HEAD}{rows}").as_bytes(), &ZONES)
    }

    #[test]
    fn sites_are_read_in_the_order_of_the_list() {
        let sites =
            read("Old Anchor,slope,11.5,-17.25,168.5,Yes,,4,no\n\"A, b\",crest,6,-17.3,168.4,,2,,yes\n").unwrap();
        assert_eq!((sites[0].zone, sites[0].depth_m, sites[0].sheltered), (1, 11.5, true));
        assert_eq!((sites[0].window(), sites[1].window()), ((1, 4), (2, usize::MAX)));
        assert_eq!((sites[1].name.as_str(), sites[1].must_visit), ("A, b", true));
        let one = [ZoneOfSites { name: "reef", depth_m: None, shares_with: None }];
        let sites = read_sites(b"longitude,latitude,NAME,depth_m\n168,-17,Here,9\n", &one).unwrap();
        assert_eq!((sites[0].latitude, sites[0].longitude, sites[0].zone), (-17.0, 168.0, 0));
    }

    #[test]
    fn what_is_wrong_is_told_by_line_and_column() {
        let row = "Old Anchor,slope,11.5,-17.25,168.5,yes,1,4,no\n";
        for (rows, expected) in [
            (row.replace("slope", "slop"), "line 2, column zone: there is no zone \"slop\""),
            (row.replace("11.5", "12.5"), "line 2, column depth_m: 12.5 m is deeper than the zone \"slope\""),
            (row.replace("11.5", "12,5"), "line 2: 10 values where the first line names 9 columns"),
            (row.replace("11.5", "deep"), "line 2, column depth_m: \"deep\" is no number"),
            (row.replace("11.5", "60"), "line 2, column depth_m: 60 is out of range"),
            (row.replace("-17.25", "-97.25"), "line 2, column latitude: -97.25 is out of range"),
            (row.replace("168.5", "NaN"), "line 2, column longitude: NaN is out of range"),
            (row.replace("168.5", "181"), "line 2, column longitude: 181 is out of range"),
            (row.replace("yes", "perhaps"), "line 2, column sheltered: \"perhaps\" is neither yes nor no"),
            (row.replace("1,4", "0,4"), "line 2, column first_day: \"0\" is no day"),
            (row.replace("1,4", "5,4"), "line 2, column last_day: day 4 is before first_day, 5"),
            (row.replace("Old Anchor", ""), "line 2, column name: the name is empty"),
            (row.repeat(2), "line 3, column name: \"Old Anchor\" is on line 2 already"),
            (format!("{row}\n{}", row.to_lowercase()), "line 4, column name: \"old anchor\" is on line 2 already"),
            (String::new(), "the list has no rows"),
        ] {
            let problems = read(&rows).unwrap_err();
            assert!(problems.iter().any(|of| of.message.starts_with(expected)), "{expected}: {problems:?}");
            assert!(problems.iter().all(|of| !of.allowed.is_empty() && !of.remedy.is_empty()), "{problems:?}");
        }
        let names = ["A", "B", "C", "A", "c", "B", "A"].map(|name| row.replace("Old Anchor", name)).concat();
        let problems = read(&names).unwrap_err();
        let [one] = &problems[..] else { panic!("{problems:?}") };
        let told = "line 5, column name: \"A\" is on line 2 already; so are \"c\" (lines 4 and 6), \"B\" (lines 3 and 7), \
                    \"A\" (lines 2 and 8)";
        assert_eq!(one.message, told);
        let heads = [
            ("name,zone,depth_m,latitude\n", "line 1: there is no column \"longitude\""),
            ("name,zone,depth_m,latitude,longitude,must_vist\n", "line 1: the column \"must_vist\" is no column"),
            ("name,zone,depth_m,latitude,longitude,Zone\n", "line 1: the column \"Zone\" is there twice"),
        ];
        for (head, expected) in heads {
            let problems = read_sites(head.as_bytes(), &ZONES).unwrap_err();
            assert!(problems[0].message.starts_with(expected), "{problems:?}");
        }
        let many = read(&row.replace("slope", "x").repeat(40)).unwrap_err();
        assert!(many.len() <= MOST_TOLD + 1, "{}", many.len());
    }

    /// Two depths of a place are tied by its name; what is told of one holds for both.
    #[test]
    fn rows_of_one_place_go_together() {
        let zones = [(0, 1), (1, 0)].map(|(own, other)| ZoneOfSites { shares_with: Some(other), ..zone(own) });
        let read = |rows: &str| {
            let head = HEAD.replace("must_visit", "must_visit,cannot_be_used,place");
            read_sites(format!("{head}{rows}").as_bytes(), &zones)
        };
        let rows = "Anchor 6,crest,6,-17.25,168.5,yes,2,,no,,Anchor\nHook 6,crest,5,-17.2,168.4,yes,,,no,,Hook\n\
                    Hook 12,slope,12,-17.2,168.4,no,,,yes,nets,hook\nAnchor 12,slope,11,-17.25,168.5,yes,3,5,no,,Anchor\n";
        let sites = read(rows).unwrap();
        assert!(sites[0].window() == (3, 5) && sites[3].window() == (3, 5));
        assert!(sites[0].sheltered && sites[3].sheltered && !sites[1].sheltered && !sites[2].sheltered);
        assert!(sites[1].must_visit && sites[2].must_visit && !sites[0].must_visit);
        assert_eq!((sites[1].cannot_be_used.as_str(), sites[2].cannot_be_used.as_str()), ("Hook 12: nets", "nets"));
        for (rows, expected) in [
            (rows.replace(",nets,hook", ",nets,"), "line 4, column place: of which place \"Hook 12\" is a depth"),
            (rows.replace(",nets,hook", ",nets,Anchor"), "line 3, column place: \"Hook\" has no row in slope"),
            (rows.replace("no,,Hook", "no,,anchor"), "line 3, column place: \"anchor\" is in crest on line 2 already"),
            (
                rows.replace(",3,5,", ",1,1,"),
                "line 2, column place: \"Anchor\" can be reached at both depths on no day",
            ),
        ] {
            let problems = read(&rows).unwrap_err();
            assert!(problems.iter().any(|of| of.message.starts_with(expected)), "{expected}: {problems:?}");
            assert!(problems.iter().all(|of| !of.allowed.is_empty() && !of.remedy.is_empty()), "{problems:?}");
        }
        let without =
            read_sites(format!("{HEAD}{}", "Anchor,crest,6,-17,168,yes,,,no\n").as_bytes(), &zones).unwrap_err();
        assert!(without[0].message.starts_with("line 1: there is no column \"place\""), "{without:?}");
        let alone = HEAD.replace("must_visit", "must_visit,place");
        let apart = read_sites(format!("{alone}Anchor,crest,6,-17,168,yes,,,no,x\n").as_bytes(), &ZONES).unwrap_err();
        assert!(apart[0].message.contains("shares its places with no other"), "{apart:?}");
    }
}
