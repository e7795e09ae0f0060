//! How the number needed depends on what the reef is like: one bar for each named reef.

use super::axes::{BELOW_ROOM, Panel, Scale};
use super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::colours::{BLUE, QUIET, VERMILION, for_text};
use super::figure::{Figure, WIDTH, Words};
use super::sensitivity::{draw_out_of_reach, draw_x_axis};
use crate::planner::ReefRange;
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::select::distinct;
use crate::report::words::{plain, sentence, units_word};

const BAR: f64 = 25.0;
const NAMES: f64 = 218.0;
/// Numbers beyond this are drawn as out of reach.
const MOST: usize = 100_000;

/// Reefs of one zone from the fewest units to the most, then those out of reach, then those that cannot be there.
fn in_order<'a>(report: &'a Report, zone: &str) -> Vec<&'a ReefRange> {
    let mut reefs: Vec<&ReefRange> = report.answer.ranges.iter().filter(|range| range.zone == zone).collect();
    reefs.sort_by_key(|range| (range.refused.is_some(), reach(range).unwrap_or(usize::MAX)));
    reefs
}

fn reach(range: &ReefRange) -> Option<usize> {
    range.units.filter(|&units| units <= MOST && range.refused.is_none())
}

/// `None` where no range was worked out.
pub fn ranges(report: &Report) -> Option<Figure> {
    let zones = distinct(report.answer.ranges.iter().map(|range| range.zone.as_str()));
    let groups: Vec<(&str, Vec<&ReefRange>)> = zones.iter().map(|&zone| (zone, in_order(report, zone))).collect();
    let first = groups.first()?;
    let units = units_word(report.answer.rows.first().map_or("", |row| row.method.as_str()), 2);
    let title = finding(first, units, groups.len() > 1);
    let height = |reefs: &[&ReefRange]| 26.0 + BAR * reefs.len() as f64 + BELOW_ROOM;
    let total = groups.iter().map(|(_, reefs)| height(reefs)).sum();
    let words = Words {
        name: "range-over-reefs".to_string(),
        alt: format!("Horizontal bars of the number of {units} needed on each named reef. {title}."),
        title: sentence(&title),
        subtitle: format!(
            "{} a site needed, by theory, on reefs of the same cover and spread between sites.",
            sentence(units)
        ),
        caption: format!(
            "The number of {units} a site that is needed if the zone is like each of the named reefs, which span what is \
             known of the patchiness of coral. Filled: the reef that the scenario names. Where the range is wide, a pilot \
             day is worth more than another row of this table."
        ),
    };
    Some(words.draw(total, |canvas, top| {
        let mut y = top;
        for (zone, reefs) in &groups {
            draw_group(canvas, zone, reefs, y, units);
            y += height(reefs);
        }
    }))
}

fn draw_group(canvas: &mut Canvas, zone: &str, reefs: &[&ReefRange], top: f64, units: &str) {
    let largest = reefs.iter().filter_map(|range| reach(range)).max().unwrap_or(1) as f64;
    let panel = Panel {
        left: NAMES,
        top: top + 20.0,
        width: WIDTH - NAMES - 96.0,
        height: BAR * reefs.len() as f64 + 2.0,
        x: Scale::linear(0.0, 1.08 * largest).whole(),
        y: Scale::linear(0.0, 1.0),
    };
    canvas.text((12.0, top + 8.0), &fonts::fit(zone, NORMAL, true, WIDTH - 24.0), Text::new(NORMAL).bold());
    draw_x_axis(canvas, &panel, &format!("{units} a site"));
    for (index, range) in reefs.iter().enumerate() {
        draw_bar(canvas, &panel, range, panel.top + BAR * (index as f64 + 0.5));
    }
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, range: &ReefRange, y: f64) {
    let style = if range.is_chosen { Text::new(NORMAL).bold() } else { Text::new(NORMAL) };
    let name = fonts::fit(&sentence(&plain(&range.reef)), NORMAL, range.is_chosen, NAMES - 22.0);
    let ink = if range.refused.is_some() { style.colour(QUIET) } else { style };
    canvas.text((panel.left - 8.0, y), &name, ink.to_the_left());
    if let Some(why) = &range.refused {
        let lines = fonts::wrap(&format!("not here: {why}"), SMALL, false, WIDTH - panel.left - 8.0);
        let first = y - if lines.len() > 1 { 6.0 } else { 0.0 };
        for (index, line) in lines.iter().take(2).enumerate() {
            canvas.note((panel.left + 4.0, first + 12.5 * index as f64), line, Text::new(SMALL).colour(QUIET));
        }
        return;
    }
    let units = reach(range);
    let end = units.map_or(panel.right() + 8.0, |units| panel.at(units as f64, 0.0).0);
    let (colour, opacity) = if range.is_chosen { (BLUE, 0.9) } else { (BLUE, 0.22) };
    let colour = if units.is_none() { VERMILION } else { colour };
    canvas.rectangle((panel.left, y - 7.0), (end, y + 7.0), colour, opacity);
    canvas.frame((panel.left, y - 7.0), (end, y + 7.0), Stroke::solid(colour, 0.9));
    match units {
        Some(units) => {
            let text = if range.is_chosen { format!("{units}, used here") } else { units.to_string() };
            canvas.note((end + 6.0, y), &text, Text::new(SMALL).colour(for_text(colour)));
        }
        None => draw_out_of_reach(canvas, (end, y), VERMILION),
    }
}

fn finding((zone, reefs): &(&str, Vec<&ReefRange>), units: &str, several: bool) -> String {
    let reached: Vec<&&ReefRange> = reefs.iter().filter(|range| reach(range).is_some()).collect();
    let zone = if several { format!("{zone}: ") } else { String::new() };
    let missed = reefs.iter().find(|range| range.units.is_none() && range.refused.is_none());
    let (Some(easy), Some(hard)) = (reached.first(), reached.last()) else {
        return format!("{zone}on none of these reefs is the change within reach");
    };
    let number = |range: &ReefRange| reach(range).unwrap_or(0);
    let text = match missed {
        Some(missed) => {
            format!("{} {units} if the reef is {}, out of reach if {}", number(easy), easy.phrase, missed.phrase)
        }
        None if easy == hard => format!("{} {units} if the reef is {}", number(easy), easy.phrase),
        None => format!("{} {units} if the reef is {}, {} if {}", number(easy), easy.phrase, number(hard), hard.phrase),
    };
    format!("{zone}{text}")
}
