//! Which pairs of lines and sites are enough: theory's power as shade, the target as a contour.

use super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{INK, PAPER, QUIET, sequential};
use super::contour::contour;
use super::figure::{Figure, Tiles, WIDTH, Words};
use crate::engine::Row;
use crate::measures::counted;
use crate::planner::MapCell;
use crate::report::asked::Asked;
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::select::{distinct, indicator_and_units};
use crate::report::words::{count_units, sentence, times_seen, units_word};

/// The cells of one zone as a full grid: rows by sites, columns by units.
struct Grid {
    zone: String,
    sites: Vec<usize>,
    units: Vec<usize>,
    /// Power by site row and unit column; `NaN` where the map has no cell.
    power: Vec<Vec<f64>>,
}

impl Grid {
    fn new(zone: &str, cells: &[MapCell]) -> Grid {
        let cells: Vec<&MapCell> = cells.iter().filter(|cell| cell.zone == zone).collect();
        let rising = |mut values: Vec<usize>| {
            values.sort_unstable();
            values.dedup();
            values
        };
        let sites = rising(cells.iter().map(|cell| cell.sites).collect());
        let units = rising(cells.iter().map(|cell| cell.units).collect());
        let mut power = vec![vec![f64::NAN; units.len()]; sites.len()];
        for cell in cells {
            if let (Ok(row), Ok(column)) = (sites.binary_search(&cell.sites), units.binary_search(&cell.units)) {
                power[row][column] = if (-0.01..=1.01).contains(&cell.power) { cell.power } else { f64::NAN };
            }
        }
        Grid { zone: zone.to_string(), sites, units, power }
    }

    /// Fewest units that reach the target with so many sites.
    fn enough(&self, row: usize, seen: f64) -> Option<usize> {
        self.power[row].iter().position(|power| *power >= seen).map(|column| self.units[column])
    }
}

/// Said where simulation finds that the test rings too often.
const FALSE_ALARMS: &str =
    " The test rings falsely too often in some of them (marked in the tables): part of what is seen is that.";

/// `None` without a map.
pub fn map(report: &Report) -> Option<Figure> {
    let zones = distinct(report.answer.map.iter().map(|cell| cell.zone.as_str()));
    let grids: Vec<Grid> = zones.iter().map(|zone| Grid::new(zone, &report.answer.map)).collect();
    let first = grids.first()?;
    let asked = Asked::of(report)?;
    let method = asked.topic.method.as_str();
    let units = units_word(method, 2);
    let columns = match grids.len() {
        1 => 1,
        2 | 4 => 2,
        _ => 3,
    };
    let tiles = Tiles::in_columns(grids.len(), columns, [320.0, 250.0, 232.0][columns - 1]);
    let title = sentence(&finding(first, report.seen, method, grids.len() > 1));
    let about = |row: &&Row| asked.topic.holds(row);
    let rings = report.answer.rows.iter().filter(about).any(|row| row.false_alarm_marked);
    let (title, beware) =
        if rings { (format!("{title}, but false alarms are too frequent"), FALSE_ALARMS) } else { (title, "") };
    let words = Words {
        name: "lines-and-sites".to_string(),
        alt: format!("Shaded maps of power over {units} and sites with a line at the target. {title}."),
        title,
        subtitle: format!(
            "{}. Every shade is a design; the darker, the more often {} is seen (by formula).{beware}",
            indicator_and_units(&asked.topic),
            asked.change_words()
        ),
        caption: format!(
            "{}. How often the first change is seen with so many {units} on so many sites, by formula. On and above the black \
             line it is seen {}; along it one may trade {units} against sites. Where it runs flat, more {units} no longer replace sites.",
            indicator_and_units(&asked.topic),
            times_seen(report.seen)
        ),
    };
    Some(words.draw(tiles.height() + 34.0, |canvas, top| {
        draw_key(canvas, (LEFT_ROOM + 12.0, top + 6.0), report.seen);
        for (index, grid) in grids.iter().enumerate() {
            draw_grid(canvas, grid, &tiles, tiles.corner(index, top + 34.0), &units, report.seen);
        }
    }))
}

fn draw_grid(canvas: &mut Canvas, grid: &Grid, tiles: &Tiles, corner: Point, units: &str, seen: f64) {
    let edge = |values: &[usize]| {
        (values.first().map_or(0.0, |&v| v as f64 - 0.5), values.last().map_or(1.0, |&v| v as f64 + 0.5))
    };
    let ((x_low, x_high), (y_low, y_high)) = (edge(&grid.units), edge(&grid.sites));
    let panel = Panel {
        left: corner.0 + LEFT_ROOM,
        top: corner.1 + 20.0,
        width: tiles.width - LEFT_ROOM - 22.0,
        height: tiles.row_height - 20.0 - BELOW_ROOM - 8.0,
        x: Scale::linear(x_low, x_high).whole(),
        y: Scale::linear(y_low, y_high).whole(),
    };
    let name = fonts::fit(&grid.zone, NORMAL, true, panel.width);
    canvas.text((panel.left, corner.1 + 8.0), &name, Text::new(NORMAL).bold());
    for (row, powers) in grid.power.iter().enumerate() {
        for (column, power) in powers.iter().enumerate().filter(|(_, power)| power.is_finite()) {
            let (left, right) = borders(&grid.units, column);
            let (below, above) = borders(&grid.sites, row);
            let (upper, lower) = (panel.at(left, above), panel.at(right, below));
            // A little overlap hides the seams that renderers leave between neighbours.
            let end = ((lower.0 + 0.3).min(panel.right()), upper.1 - 0.3);
            canvas.rectangle((upper.0, lower.1), (end.0, end.1.max(panel.top)), sequential(*power), 1.0);
        }
    }
    let place = |points: &[f64], index: f64| {
        let (whole, part) = (index.floor() as usize, index.fract());
        let next = points.get(whole + 1).unwrap_or(&points[whole]);
        points[whole] + part * (next - points[whole])
    };
    let columns: Vec<f64> = grid.units.iter().map(|&units| units as f64).collect();
    let rows: Vec<f64> = grid.sites.iter().map(|&sites| sites as f64).collect();
    for path in contour(&grid.power, seen) {
        let path: Vec<Point> =
            path.iter().map(|&(column, row)| panel.at(place(&columns, column), place(&rows, row))).collect();
        canvas.path(&path, Stroke::solid(PAPER, 4.4));
        canvas.path(&path, Stroke::solid(INK, 2.2));
    }
    panel.draw_bare_axes(canvas, &format!("{units} a site"), "sites a visit");
}

/// Half way to the neighbours on either side.
fn borders(values: &[usize], index: usize) -> (f64, f64) {
    let here = values[index] as f64;
    let half = |other: Option<&usize>| other.map_or(0.5, |&other| (other as f64 - here).abs() / 2.0);
    let before = index.checked_sub(1).and_then(|index| values.get(index));
    (here - half(before), here + half(values.get(index + 1)))
}

/// The scale of shades, with the target marked.
fn draw_key(canvas: &mut Canvas, at: Point, seen: f64) {
    let width = 200.0;
    for step in 0..50 {
        let left = at.0 + width * step as f64 / 50.0;
        canvas.rectangle(
            (left, at.1),
            (left + width / 50.0 + 0.2, at.1 + 10.0),
            sequential((step as f64 + 0.5) / 50.0),
            1.0,
        );
    }
    for (share, text) in [(0.0, "0"), (0.5, "50"), (1.0, "100")] {
        canvas.text((at.0 + width * share, at.1 + 19.0), text, Text::new(SMALL).colour(QUIET).centred());
    }
    let x = at.0 + width * seen.clamp(0.0, 1.0);
    canvas.line((x, at.1 - 3.0), (x, at.1 + 13.0), Stroke::solid(INK, 2.2));
    let text = format!("seen, times in 100; black line: {}", times_seen(seen));
    let start = at.0 + width + 18.0;
    canvas.text((start, at.1 + 5.0), &fonts::fit(&text, SMALL, false, WIDTH - start - 8.0), Text::new(SMALL));
}

/// What the map of the first zone says: the fewest sites on which the fewest units do, and the fewest sites at all.
fn finding(grid: &Grid, seen: f64, method: &str, several: bool) -> String {
    let zone = if several { format!("{}: ", grid.zone) } else { String::new() };
    let last = grid.sites.len().saturating_sub(1);
    let reaching = (0..grid.sites.len()).find(|&row| grid.enough(row, seen).is_some());
    let Some(reaching) = reaching else {
        return format!("{zone}no design on this map sees the change {}", times_seen(seen));
    };
    let units = |number: usize| count_units(method, number);
    let highest = grid.units.last().copied().unwrap_or(0);
    let enough = |row: usize| {
        let number = grid.enough(row, seen)?;
        let verb = if number == 1 { "is" } else { "are" };
        Some(format!("{} on {} {verb} enough", units(number), counted(grid.sites[row], "site")))
    };
    let fewest = if reaching > 0 {
        Some(format!("on fewer than {} not even {}", counted(grid.sites[reaching], "site"), units(highest)))
    } else {
        enough(0)
    };
    // The fewest sites on which as few units do as on the most.
    let least = grid.enough(last, seen);
    let row = (0..=last).find(|&row| least.is_some() && grid.enough(row, seen) == least).unwrap_or(last);
    let text = [enough(row), fewest.filter(|_| last > 0)].into_iter().flatten().collect::<Vec<_>>().join("; ");
    format!("{zone}{text}")
}
