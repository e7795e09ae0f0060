use super::MapProblem;
use crate::design::HARD_CORAL;
use crate::reef::map::{ColonyMap, MappedDisc};
use crate::scenario::csv_file::{CsvFile, READ_REMEDY};

/// Rows of a list.
const MOST_ROWS: usize = 5_000_000;
/// The largest colony that is believed, m across.
const LARGEST_M: f64 = 30.0;

/// Columns of a list, by place.
struct Columns {
    x: usize,
    y: usize,
    diameter: Option<usize>,
    name: Option<usize>,
}

/// Reads a CSV of places: `x`, `y`, `diameter` and, where there are animals, `name`. A row without a name, or called
/// hard_coral, is a colony; any other name an animal, which needs no diameter. All numbers are in units of `metres_per_unit`;
/// the map is the rectangle from (0, 0) to `size_m`.
pub fn read_list(bytes: &[u8], metres_per_unit: f64, size_m: (f64, f64)) -> Result<ColonyMap, MapProblem> {
    let cannot = |message: String| file(message, READ_REMEDY);
    let mut list = CsvFile::open(bytes).map_err(cannot)?;
    let columns = Columns::of(&list)?;
    let mut discs: Vec<MappedDisc> = Vec::new();
    let mut animals: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    let mut rows = 0;
    while let Some(row) = list.next_row() {
        let row = row.map_err(cannot)?;
        let line = row.line;
        rows += 1;
        if rows > MOST_ROWS {
            return Err(file(format!("more than {MOST_ROWS} rows"), "Cut the map into parts, one a scenario."));
        }
        let number = |column: usize| -> Result<f64, MapProblem> {
            let number = row.number(column).filter(|value| value.is_finite());
            number.map(|value| value * metres_per_unit).ok_or_else(|| {
                let (header, text) = (list.headers.get(column).unwrap_or(""), row.get(column));
                let remedy = "Write a plain number without a unit, with a point (or, where semicolons part the columns, a comma); \
                              take rows without it out.";
                file(format!("line {line}: {header} is \"{text}\", which is no number"), remedy)
            })
        };
        let (x, y) = (number(columns.x)?, number(columns.y)?);
        inside((x, y), size_m, line)?;
        let name = columns.name.map_or("", |column| row.get(column));
        if !name.is_empty() && name != HARD_CORAL {
            match animals.iter_mut().find(|(known, _)| known == name) {
                Some((_, places)) => places.push((x, y)),
                None => animals.push((name.to_owned(), vec![(x, y)])),
            }
            continue;
        }
        let Some(column) = columns.diameter else {
            let remedy = "Add a column diameter, or names that tell which animal each row is.";
            return Err(file(format!("line {line}: a colony, but there is no column \"diameter\""), remedy));
        };
        let diameter = number(column)?;
        if !(0.0 < diameter && diameter <= LARGEST_M) {
            let message = format!("line {line}: a colony of {diameter} m across");
            let remedy = "Correct the diameter. Places and diameters are in one unit: bring them into the same, with metres_per_unit = 0.01 \
                          where that is centimetres.";
            return Err(MapProblem::new("file", message, format!("above 0 and at most {LARGEST_M} m"), remedy));
        }
        discs.push(MappedDisc { x, y, radius: 0.5 * diameter });
    }
    if discs.is_empty() && animals.is_empty() {
        return Err(file("the list has no rows".into(), "Write one row for each colony."));
    }
    Ok(ColonyMap::new(size_m, discs, animals))
}

fn file(message: String, remedy: &str) -> MapProblem {
    MapProblem::new("file", message, "in this file", remedy)
}

fn inside((x, y): (f64, f64), (length, width): (f64, f64), line: u64) -> Result<(), MapProblem> {
    if (0.0..=length).contains(&x) && (0.0..=width).contains(&y) {
        return Ok(());
    }
    let message = format!("line {line}: x = {x} m, y = {y} m lies outside the map");
    let allowed = format!("x from 0 to {length} m, y from 0 to {width} m");
    let remedy = "The map is the rectangle from (0, 0) to length_m and width_m of the zone: correct these or \
                  metres_per_unit, or shift the places so that its corner is (0, 0).";
    Err(MapProblem::new("file", message, allowed, remedy))
}

impl Columns {
    fn of(list: &CsvFile) -> Result<Self, MapProblem> {
        let find = |name: &str| list.column(name);
        let needed = |name: &str| {
            find(name).ok_or_else(|| {
                let there: Vec<&str> = list.headers.iter().collect();
                let remedy = "The first line must name the columns: x,y,diameter and, where there are animals, name.";
                file(format!("there is no column \"{name}\"; there are: {}", there.join(", ")), remedy)
            })
        };
        Ok(Self { x: needed("x")?, y: needed("y")?, diameter: find("diameter"), name: find("name") })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colonies_and_animals_are_told_apart_by_name() {
        let text = "X, y ,name,diameter\n100,200,,30\n150,20,hard_coral,5\n3,4,urchin,\n5,6,snail,2\n7,8,urchin,\n";
        let map = read_list(text.as_bytes(), 0.01, (2.0, 2.0)).unwrap();
        assert_eq!(map.discs.len(), 2);
        assert_eq!(map.discs[0], MappedDisc { x: 1.0, y: 2.0, radius: 0.15 });
        let animals: Vec<(&str, usize)> =
            map.animals.iter().map(|kind| (kind.name.as_str(), kind.places.len())).collect();
        assert_eq!(animals, [("urchin", 2), ("snail", 1)]);
    }

    #[test]
    fn columns_between_semicolons_or_tabs_may_have_decimal_commas() {
        let plain = read_list(b"x,y,diameter,name\n1.5,0.25,0.3,\n1,2,,urchin\n", 1.0, (2.0, 2.0)).unwrap();
        for text in [
            "x;y;diameter;name\n1,5;0,25;0,3;\n1;2;;urchin\n",
            "x\ty\tdiameter\tname\n1.5\t0,25\t0.3\t\n1\t2\t\turchin\n",
        ] {
            assert_eq!(read_list(text.as_bytes(), 1.0, (2.0, 2.0)).unwrap(), plain, "{text}");
        }
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        let cases = [
            ("x,y\n", "the list has no rows"),
            ("y,diameter\n1,2\n", "there is no column \"x\"; there are: y, diameter"),
            ("x,y,diameter\n1,1,0.2\n1,one,0.2\n", "line 3: y is \"one\", which is no number"),
            ("x,y,diameter\n1,NaN,0.2\n", "line 2: y is \"NaN\", which is no number"),
            ("x,y,diameter\n1,1,0\n", "line 2: a colony of 0 m across"),
            ("x,y,diameter\n1,1,40\n", "line 2: a colony of 40 m across"),
            ("x,y,diameter\n1,1,0.2\n\n1,2.5,0.2\n", "line 4: x = 1 m, y = 2.5 m lies outside the map"),
            ("x,y,diameter\n1,1\n", "line 2: 2 values where the first line names 3 columns"),
            ("x,y\n1,1\n", "line 2: a colony, but there is no column \"diameter\""),
        ];
        for (text, expected) in cases {
            let problem = read_list(text.as_bytes(), 1.0, (2.0, 2.0)).unwrap_err();
            assert!(problem.message.contains(expected), "{}", problem.message);
            assert!(!problem.remedy.is_empty());
        }
    }
}
