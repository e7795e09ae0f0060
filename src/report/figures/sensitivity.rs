//! How the answer moves when one component of variation is a third smaller or half as large again.

use super::axes::{BELOW_ROOM, Panel, Scale};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{BLUE, INK, QUIET, VERMILION, for_text};
use super::figure::{Figure, WIDTH, Words};
use crate::planner::Sensitivity;
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::select::distinct;
use crate::report::words::{sentence, units_word};

const BAR: f64 = 26.0;
const NAMES: f64 = 248.0;
/// Numbers beyond this are drawn as "not within reach".
const MOST: usize = 100_000;

/// Components of one zone, the most telling first.
pub fn by_weight<'a>(report: &'a Report, zone: &str) -> Vec<&'a Sensitivity> {
    let mut swings: Vec<&Sensitivity> = report.answer.sensitivity.iter().filter(|swing| swing.zone == zone).collect();
    swings.sort_by_key(|swing| std::cmp::Reverse(weight(swing)));
    swings
}

/// How far the answer moves; what puts it out of reach moves it furthest.
fn weight(swing: &Sensitivity) -> usize {
    let larger = reach(swing.larger).unwrap_or(2 * MOST);
    larger.saturating_sub(reach(swing.smaller).unwrap_or(2 * MOST))
}

fn reach(units: Option<usize>) -> Option<usize> {
    units.filter(|&units| units <= MOST)
}

/// `None` where nothing was varied.
pub fn sensitivity(report: &Report) -> Option<Figure> {
    let zones = distinct(report.answer.sensitivity.iter().map(|swing| swing.zone.as_str()));
    let groups: Vec<(&str, Vec<&Sensitivity>)> = zones.iter().map(|&zone| (zone, by_weight(report, zone))).collect();
    let first = groups.first()?.1.first()?;
    let units = units_word(report.answer.rows.first().map_or("", |row| row.method.as_str()), 2);
    let zone = if groups.len() > 1 { format!("{}: ", first.zone) } else { String::new() };
    let title = format!("{zone}the answer hangs most on {}: {}", first.component, swing_words(first, units));
    let height = |swings: &[&Sensitivity]| 26.0 + BAR * swings.len() as f64 + BELOW_ROOM;
    let total: f64 = groups.iter().map(|(_, swings)| height(swings)).sum();
    let words = Words {
        name: "what-matters".to_string(),
        alt: format!("Horizontal bars of the number of {units} needed, one for each component of variation. {title}."),
        title: sentence(&title),
        subtitle: format!("{} a site needed; upright line: as given.", sentence(units)),
        caption: format!(
            "The number of {units} a site that is needed when one component of variation (its standard deviation) is a \
             third smaller (left, dotted) or half as large again (right, filled), all else as given. The longest bar is \
             the number worth measuring first; an arrow means not within reach."
        ),
    };
    Some(words.draw(total, |canvas, top| {
        let mut y = top;
        for (zone, swings) in &groups {
            draw_group(canvas, zone, swings, y, units);
            y += height(swings);
        }
    }))
}

fn swing_words(swing: &Sensitivity, units: &str) -> String {
    let number = |units: Option<usize>| reach(units).map_or("out of reach".to_string(), |units| units.to_string());
    let (smaller, larger) = (number(swing.smaller), number(swing.larger));
    if smaller == larger {
        format!("{smaller} {units} whatever it is")
    } else {
        format!("{smaller} {units} if that is a third smaller, {larger} if half as large again")
    }
}

fn draw_group(canvas: &mut Canvas, zone: &str, swings: &[&Sensitivity], top: f64, units: &str) {
    let numbers = || swings.iter().flat_map(|swing| [swing.smaller, swing.as_given, swing.larger]).filter_map(reach);
    let largest = numbers().max().unwrap_or(1) as f64;
    let panel = Panel {
        left: NAMES,
        top: top + 20.0,
        width: WIDTH - NAMES - 96.0,
        height: BAR * swings.len() as f64 + 2.0,
        x: Scale::linear(0.0, 1.08 * largest).whole(),
        y: Scale::linear(0.0, 1.0),
    };
    canvas.text((12.0, top + 8.0), &fonts::fit(zone, NORMAL, true, WIDTH - 24.0), Text::new(NORMAL).bold());
    draw_x_axis(canvas, &panel, &format!("{units} a site"));
    for (index, swing) in swings.iter().enumerate() {
        draw_bar(canvas, &panel, swing, panel.top + BAR * (index as f64 + 0.5));
    }
    if let Some(given) = swings.iter().find_map(|swing| reach(swing.as_given)) {
        let (x, _) = panel.at(given as f64, 0.0);
        canvas.line((x, panel.top - 4.0), (x, panel.bottom()), Stroke::solid(INK, 1.4));
        canvas.text((x, panel.top - 11.0), &format!("as given: {given}"), Text::new(SMALL).centred());
    }
}

/// The lower axis alone: bars carry their own names.
pub fn draw_x_axis(canvas: &mut Canvas, panel: &Panel, name: &str) {
    let bottom = panel.bottom();
    for tick in panel.x.ticks((panel.width / 44.0) as usize) {
        let (x, _) = panel.at(tick, 0.0);
        canvas.line((x, panel.top), (x, bottom), Stroke::solid(super::colours::GRID, 0.8));
        canvas.line((x, bottom), (x, bottom + 4.0), Stroke::solid(INK, 0.8));
        canvas.text((x, bottom + 13.0), &super::axes::tick_text(tick), Text::new(SMALL).colour(QUIET).centred());
    }
    canvas.line((panel.left, bottom), (panel.right(), bottom), Stroke::solid(INK, 0.9));
    canvas.text((panel.left + panel.width / 2.0, bottom + 30.0), name, Text::new(NORMAL).centred());
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, swing: &Sensitivity, y: f64) {
    let name = fonts::fit(&swing.component, NORMAL, false, NAMES - 22.0);
    canvas.text((panel.left - 8.0, y), &name, Text::new(NORMAL).to_the_left());
    let edge = panel.right() + 8.0;
    let x_of = |units: Option<usize>| reach(units).map_or(edge, |units| panel.at(units as f64, 0.0).0);
    let (smaller, given, larger) = (x_of(swing.smaller), x_of(swing.as_given), x_of(swing.larger));
    canvas.rectangle((given, y - 7.0), (larger, y + 7.0), VERMILION, 0.85);
    canvas.rectangle((smaller, y - 7.0), (given, y + 7.0), BLUE, 0.25);
    canvas.frame((smaller, y - 7.0), (given, y + 7.0), Stroke { colour: BLUE, width: 1.0, dashes: &[2.0, 2.0] });
    if let (Some(units), true) = (reach(swing.smaller), swing.smaller != swing.as_given) {
        canvas.note((smaller - 5.0, y), &units.to_string(), Text::new(SMALL).colour(for_text(BLUE)).to_the_left());
    }
    match reach(swing.larger) {
        Some(units) if swing.larger == swing.as_given && swing.smaller == swing.as_given => {
            canvas.note((larger + 7.0, y), &format!("{units}: does not move"), Text::new(SMALL).colour(QUIET));
        }
        Some(units) => canvas.note((larger + 6.0, y), &units.to_string(), Text::new(SMALL).colour(for_text(VERMILION))),
        None => draw_out_of_reach(canvas, (edge, y), VERMILION),
    }
}

/// An arrow head at the right edge and its meaning.
pub fn draw_out_of_reach(canvas: &mut Canvas, at: Point, colour: plotters::style::RGBColor) {
    let (x, y) = at;
    canvas.area(&[(x - 1.0, y - 9.0), (x + 8.0, y), (x - 1.0, y + 9.0)], colour, 0.85);
    canvas.note((x + 11.0, y), "out of reach", Text::new(SMALL).colour(for_text(colour)));
}
