//! How the answer moves when one component of variation is a third smaller or half as large again.

use super::axes::Panel;
use super::bars::{Bars, Group, MOST, draw_out_of_reach};
use super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::colours::{BLUE, INK, QUIET, VERMILION, for_text};
use super::figure::{Figure, Words};
use crate::planner::Sensitivity;
use crate::report::asked::Asked;
use crate::report::report::Report;
use crate::report::select::distinct;
use crate::report::words::{count_units, sentence, units_word};

const BARS: Bars = Bars { bar: 27.0, names: 248.0 };

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
    let asked = Asked::of(report)?;
    let method = asked.topic.method.as_str();
    let units = units_word(method, 2);
    let zone = if groups.len() > 1 { format!("{}: ", first.zone) } else { String::new() };
    let title = format!("{zone}the answer hangs most on {}: {}", first.component, swing_words(first, method));
    let total: f64 = groups.iter().map(|(_, swings)| BARS.group_height(swings.len())).sum();
    let words = Words {
        name: "what-matters".to_string(),
        alt: format!("Horizontal bars of the number of {units} needed, one for each component of variation. {title}."),
        title: sentence(&title),
        subtitle: format!(
            "{}: {units} a site that see {}, by formula; upright line: as given.",
            sentence(&asked.topic.label()),
            asked.words()
        ),
        caption: format!(
            "The number of {units} a site that is needed when one component of variation (its standard deviation) is a \
             third smaller (left, dotted) or half as large again (right, filled), all else as given. The longest bar is \
             the number worth measuring first; an arrow means not within reach."
        ),
    };
    Some(words.draw(total, |canvas, top| {
        let mut y = top;
        for (zone, swings) in &groups {
            draw_group(canvas, (zone, &asked), swings, y, &units);
            y += BARS.group_height(swings.len());
        }
    }))
}

fn swing_words(swing: &Sensitivity, method: &str) -> String {
    let number =
        |units: Option<usize>| reach(units).map_or("out of reach".to_string(), |units| count_units(method, units));
    let (smaller, larger) = (number(swing.smaller), number(swing.larger));
    if smaller == larger {
        format!("{smaller} whatever it is")
    } else {
        format!("{smaller} if that is a third smaller, {larger} if half as large again")
    }
}

fn draw_group(canvas: &mut Canvas, (zone, asked): (&str, &Asked), swings: &[&Sensitivity], top: f64, units: &str) {
    let numbers = || swings.iter().flat_map(|swing| [swing.smaller, swing.as_given, swing.larger]).filter_map(reach);
    let largest = numbers().max().unwrap_or(1);
    let panel = BARS.draw_frame(canvas, &Group { zone, units, count: swings.len(), largest, top });
    for (index, swing) in swings.iter().enumerate() {
        draw_bar(canvas, &panel, swing, BARS.middle(&panel, index));
    }
    if let Some(given) = swings.iter().find_map(|swing| reach(swing.as_given)) {
        let (x, _) = panel.at(given as f64, 0.0);
        canvas.line((x, panel.top - 4.0), (x, panel.bottom()), Stroke::solid(INK, 1.4));
        let simulated = asked.simulated_beside(zone, Some(given)).map_or(String::new(), |text| format!(" ({text})"));
        canvas.text((x, panel.top - 11.0), &format!("as given: {given}{simulated}"), Text::new(SMALL).centred());
    }
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, swing: &Sensitivity, y: f64) {
    BARS.draw_name(canvas, &swing.component, (panel.left, y), Text::new(NORMAL));
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

#[cfg(test)]
mod tests {
    use super::*;

    fn swing(smaller: Option<usize>, larger: Option<usize>) -> Sensitivity {
        Sensitivity { zone: "a".into(), component: "b".into(), smaller, as_given: smaller, larger }
    }

    #[test]
    fn one_line_is_no_plural_and_out_of_reach_has_no_lines() {
        let told = |smaller, larger| swing_words(&swing(smaller, larger), "point_intercept");
        assert_eq!(told(Some(1), Some(3)), "1 line if that is a third smaller, 3 lines if half as large again");
        assert_eq!(told(Some(1), Some(1)), "1 line whatever it is");
        assert_eq!(told(Some(2), None), "2 lines if that is a third smaller, out of reach if half as large again");
    }
}
