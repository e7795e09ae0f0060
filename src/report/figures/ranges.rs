//! How the number needed depends on what the reef is like: one bar for each named reef.

use super::axes::Panel;
use super::bars::{Bars, Group, MOST, draw_out_of_reach};
use super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::colours::{BLUE, QUIET, VERMILION, for_text};
use super::figure::{Figure, WIDTH, Words};
use crate::planner::ReefRange;
use crate::report::asked::Asked;
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::select::distinct;
use crate::report::words::{count_units, plain, sentence, units_word};

const BARS: Bars = Bars { bar: 25.0, names: 218.0 };

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
    let asked = Asked::of(report)?;
    let method = asked.topic.method.as_str();
    let units = units_word(method, 2);
    let title = finding(first, method, groups.len() > 1);
    let total = groups.iter().map(|(_, reefs)| BARS.group_height(reefs.len())).sum();
    let words = Words {
        name: "range-over-reefs".to_string(),
        alt: format!("Horizontal bars of the number of {units} needed on each named reef. {title}."),
        title: sentence(&title),
        subtitle: format!(
            "{}: {units} a site that see {}, by formula, on reefs of the same cover and spread between sites.",
            sentence(&asked.topic.label()),
            asked.words()
        ),
        caption: format!(
            "The number of {units} a site that is needed if the zone is like each of the named reefs, which span what is \
             known of the patchiness of coral. Filled: the reef that the scenario names (with the number by simulation, where that is \
             another). Where the range is wide, a pilot \
             day is worth more than another row of this table."
        ),
    };
    Some(words.draw(total, |canvas, top| {
        let mut y = top;
        for (zone, reefs) in &groups {
            draw_group(canvas, (zone, &asked), reefs, y, &units);
            y += BARS.group_height(reefs.len());
        }
    }))
}

fn draw_group(canvas: &mut Canvas, (zone, asked): (&str, &Asked), reefs: &[&ReefRange], top: f64, units: &str) {
    let largest = reefs.iter().filter_map(|range| reach(range)).max().unwrap_or(1);
    let panel = BARS.draw_frame(canvas, &Group { zone, units, count: reefs.len(), largest, top });
    for (index, range) in reefs.iter().enumerate() {
        draw_bar(canvas, &panel, (range, asked), BARS.middle(&panel, index));
    }
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, (range, asked): (&ReefRange, &Asked), y: f64) {
    let style = if range.is_chosen { Text::new(NORMAL).bold() } else { Text::new(NORMAL) };
    let ink = if range.refused.is_some() { style.colour(QUIET) } else { style };
    BARS.draw_name(canvas, &sentence(&plain(&range.reef)), (panel.left, y), ink);
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
            let simulated =
                || asked.simulated_beside(&range.zone, Some(units)).map_or(String::new(), |text| format!(" ({text})"));
            let text = if range.is_chosen { format!("{units}, here{}", simulated()) } else { units.to_string() };
            canvas.note((end + 6.0, y), &text, Text::new(SMALL).colour(for_text(colour)));
        }
        None => draw_out_of_reach(canvas, (end, y), VERMILION),
    }
}

fn finding((zone, reefs): &(&str, Vec<&ReefRange>), method: &str, several: bool) -> String {
    let reached: Vec<&&ReefRange> = reefs.iter().filter(|range| reach(range).is_some()).collect();
    let zone = if several { format!("{zone}: ") } else { String::new() };
    let missed = reefs.iter().find(|range| range.units.is_none() && range.refused.is_none());
    let (Some(easy), Some(hard)) = (reached.first(), reached.last()) else {
        return format!("{zone}on none of these reefs is the change within reach");
    };
    let number = |range: &ReefRange| reach(range).unwrap_or(0);
    let counted = |range: &ReefRange| count_units(method, number(range));
    let text = match missed {
        Some(missed) => {
            format!("{} if the reef is {}, out of reach if {}", counted(easy), easy.phrase, missed.phrase)
        }
        None if easy == hard => format!("{} if the reef is {}", counted(easy), easy.phrase),
        None => format!("{} if the reef is {}, {} if {}", counted(easy), easy.phrase, number(hard), hard.phrase),
    };
    format!("{zone}{text}")
}
