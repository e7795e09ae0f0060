//! The stair: units of a method at a site against team dives, and what they buy.

use super::super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale, largest, smallest};
use super::super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::super::colours::{GRID, INK, LineStyle, QUIET};
use super::super::figure::{Figure, WIDTH, Words};
use super::super::labels::{EndLabel, draw_end_labels};
use crate::measures::ordinal;
use crate::planner::expedition::{Stair, StairStep};
use crate::report::budget::BudgetReport;
use crate::report::fonts;
use crate::report::words::{method_words, one_of_method, plain, sentence, units_word};

/// Height of the row of one method, with its axis.
const ROW: f64 = 182.0;
const NAMES: f64 = 104.0;
const MOST_ON_PAGE: usize = 4;
const MARGIN: f64 = 12.0;

/// One figure, or several of a page each where there are many methods.
pub fn stairs(report: &BudgetReport) -> Vec<Figure> {
    let stairs: Vec<&Stair> = report.answer.stairs.iter().filter(|stair| stair.steps.len() > 1).collect();
    let zones: Vec<&str> = report.scenario.zones.iter().map(|zone| zone.name.as_str()).collect();
    let name = |index: usize| match index {
        0 => "units-that-cost-a-dive".to_owned(),
        more => format!("units-that-cost-a-dive-{}", more + 1),
    };
    stairs.chunks(MOST_ON_PAGE).enumerate().map(|(index, stairs)| figure(stairs, &zones, name(index))).collect()
}

fn figure(stairs: &[&Stair], zones: &[&str], name: String) -> Figure {
    let title = finding(stairs, zones);
    let words = Words {
        name,
        alt: format!("Steps of team dives at a site and falling lines of the smallest change seen. {title}."),
        title,
        subtitle: "Units of one method at a site, all else as planned: what they cost (left) and what they buy (right).".into(),
        caption: "Left: team dives at a site of each zone; on a step more units cost nothing. Where a line ends, more would \
                  take more team dives than are looked at, or what comes first has no room on the first of them; a line at 0: done on the dives of another zone. Right: the smallest change that is seen as often as asked, or the \
                  error, as a share of what is asked (100: just met; less is better), by formula. Dotted: as planned."
            .into(),
    };
    words.draw(ROW * stairs.len() as f64, |canvas, top| {
        for (index, stair) in stairs.iter().enumerate() {
            draw_stair(canvas, stair, zones, top + ROW * index as f64);
        }
    })
}

fn draw_stair(canvas: &mut Canvas, stair: &Stair, zones: &[&str], top: f64) {
    let units = units_word(&stair.method, 2);
    canvas.text((MARGIN, top + 8.0), &sentence(&method_words(&stair.method)), Text::new(NORMAL).bold());
    let wide = (WIDTH - 2.0 * MARGIN) / 2.0;
    let x = Scale::linear(1.0, stair.steps.len() as f64).whole();
    let panel = |column: f64, y: Scale| Panel {
        left: MARGIN + column * wide + LEFT_ROOM,
        top: top + 30.0,
        width: wide - LEFT_ROOM - NAMES,
        height: ROW - 30.0 - BELOW_ROOM - 6.0,
        x,
        y,
    };
    let most = stair.steps.iter().flat_map(|step| &step.team_dives).flatten().max().copied().unwrap_or(1) as f64;
    let left = panel(0.0, Scale::linear(0.0, most + 0.6).whole());
    left.draw_axes(canvas, &format!("{units} a site"), "team dives a site");
    planned(canvas, &left, stair);
    let mut labels = Vec::new();
    let alike = alike_zones(stair, zones.len());
    for (place, of) in alike.iter().enumerate() {
        let style = LineStyle::of(of[0]);
        let path = steps(&left, stair, of[0]);
        // Where lines run together those below are wider and show at both sides.
        let stroke = Stroke { width: style.stroke.width + 2.5 * (alike.len() - 1 - place) as f64, ..style.stroke };
        canvas.path(&path, stroke);
        if let Some(&end) = path.last() {
            let names: Vec<&str> = of.iter().map(|&zone| zones[zone]).collect();
            labels.push(EndLabel { end, text: names.join(", "), style });
        }
    }
    draw_end_labels(canvas, &left, &labels, NAMES);
    draw_gains(canvas, stair, &units, |y| panel(1.0, y));
}

/// Zones that need the same dives with any number of units have one line.
fn alike_zones(stair: &Stair, zones: usize) -> Vec<Vec<usize>> {
    let dives = |zone: usize| stair.steps.iter().map(move |step| step.team_dives.get(zone).copied().flatten());
    let mut all: Vec<Vec<usize>> = Vec::new();
    for zone in 0..zones {
        match all.iter_mut().find(|of| dives(of[0]).eq(dives(zone))) {
            Some(of) => of.push(zone),
            None => all.push(vec![zone]),
        }
    }
    all
}

/// The path of one zone: flat over the units that fit, then up.
fn steps(panel: &Panel, stair: &Stair, zone: usize) -> Vec<Point> {
    let mut path: Vec<Point> = Vec::new();
    for step in &stair.steps {
        let Some(Some(dives)) = step.team_dives.get(zone) else { break };
        let units = step.units as f64;
        let (middle, y) = panel.at(units, *dives as f64);
        let half = 0.5 * panel.width / (stair.steps.len() as f64 - 1.0);
        path.push(((middle - half).max(panel.left), y));
        path.push(((middle + half).min(panel.right()), y));
    }
    path
}

/// What units buy: falling lines of the targets that the method tells.
fn draw_gains(canvas: &mut Canvas, stair: &Stair, units: &str, panel: impl Fn(Scale) -> Panel) {
    let share = |margin: f64| 100.0 / margin;
    let finite = |step: &StairStep| step.margins.iter().map(|of| share(of.margin)).collect::<Vec<_>>();
    let all: Vec<f64> = stair.steps.iter().flat_map(finite).filter(|value| *value > 0.0).collect();
    let (Some(low), Some(high)) = (smallest(all.iter().copied()), largest(all.iter().copied())) else { return };
    let panel = panel(Scale::log(0.9 * low.min(100.0), 1.1 * high.max(100.0)));
    panel.draw_axes(canvas, &format!("{units} a site"), "% of what is asked");
    planned(canvas, &panel, stair);
    let (_, met) = panel.at(1.0, 100.0);
    canvas.line((panel.left, met), (panel.right(), met), Stroke::solid(INK, 1.3));
    let names = stair.steps.first().map_or(&[][..], |step| &step.margins);
    let mut labels = Vec::new();
    for (index, of) in names.iter().enumerate() {
        let style = LineStyle::of(index);
        let point = |step: &StairStep| panel.at(step.units as f64, share(step.margins[index].margin));
        let path: Vec<Point> = stair.steps.iter().map(point).filter(|at| at.1.is_finite()).collect();
        canvas.path(&path, style.stroke);
        if path.len() <= 12 {
            path.iter().for_each(|&at| canvas.mark(style.mark, at, style.colour()));
        }
        if let Some(&end) = path.last() {
            labels.push(EndLabel { end, text: plain(&of.indicator), style });
        }
    }
    draw_end_labels(canvas, &panel, &labels, NAMES);
}

fn planned(canvas: &mut Canvas, panel: &Panel, stair: &Stair) {
    let (x, _) = panel.at(stair.planned as f64, 0.0);
    canvas.line((x, panel.top), (x, panel.bottom()), Stroke { colour: QUIET, width: 1.2, dashes: &[1.5, 3.0] });
    let text = format!("planned: {}", stair.planned);
    let wide = fonts::width(&text, SMALL, false);
    let at = (x - wide / 2.0).clamp(panel.left, panel.right() - wide + 20.0);
    canvas.text((at, panel.top - 7.0), &text, Text::new(SMALL).colour(QUIET));
    canvas.line((x, panel.bottom()), (x, panel.bottom() + 4.0), Stroke::solid(GRID, 0.8));
}

/// The unit that costs most days, if one more than planned costs any.
fn finding(stairs: &[&Stair], zones: &[&str]) -> String {
    let next = |stair: &&&Stair| {
        let at = |units: usize| stair.steps.iter().find(|step| step.units == units);
        let (now, then) = (at(stair.planned)?, at(stair.planned + 1)?);
        let zone = (0..zones.len()).find(|&zone| match (now.team_dives[zone], then.team_dives[zone]) {
            (Some(now), Some(then)) => then > now,
            (now, None) => now.is_some(),
            _ => false,
        })?;
        let days = now.days.zip(then.days);
        Some((days.map_or(i64::MAX, |(now, then)| then as i64 - now as i64), zone, days))
    };
    let dearest = stairs.iter().filter_map(|stair| Some((next(&stair)?, *stair))).max_by_key(|((more, ..), _)| *more);
    let Some(((_, zone, days), stair)) = dearest else {
        return "One unit more of any method costs no dive".into();
    };
    let what = one_of_method(&stair.method);
    let number = stair.planned + 1;
    let costs = match days {
        Some((now, then)) if then > now => format!("costs a team dive in {}: {now} days become {then}", zones[zone]),
        Some(_) => format!("costs a team dive in {}, but no day", zones[zone]),
        None if stair.comes_first => "has no room on the first team dive, where it is done".into(),
        None => "takes more team dives than are looked at".into(),
    };
    sentence(&format!("the {} {what} at a site {costs}", ordinal(number)))
}
