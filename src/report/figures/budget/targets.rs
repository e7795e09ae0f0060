//! What is achieved against what is asked, target by target, by simulation with its error.

use super::super::axes::{BELOW_ROOM, Panel, Scale, largest, tick_text};
use super::super::canvas::{Canvas, Mark, NORMAL, SMALL, Stroke, Text};
use super::super::colours::{BLUE, GRID, INK, QUIET, VERMILION};
use super::super::figure::{Figure, WIDTH, Words};
use crate::design::Asks;
use crate::planner::expedition::Margin;
use crate::report::budget::{BudgetReport, asked, simulated};
use crate::report::digits::significant;
use crate::report::fonts;
use crate::report::words::plain;

const NAMES: f64 = 190.0;
/// Room on the right for numbers.
const NUMBERS: f64 = 132.0;
const ROW: f64 = 34.0;
const ABOVE: f64 = 38.0;

/// One row: its place on the axis with one standard error.
struct Row<'a> {
    margin: &'a Margin,
    value: f64,
    error: f64,
}

pub fn targets(report: &BudgetReport) -> Option<Figure> {
    let plan = report.answer.scheduled()?;
    let seen = |margin: &'_ Margin| matches!(margin.asks, Asks::SeeChange(_));
    let changes: Vec<Row> = plan
        .margins
        .iter()
        .filter(|margin| seen(margin))
        .filter_map(|margin| {
            let (value, error) = margin.seen?;
            Some(Row { margin, value: 100.0 * value, error: 100.0 * error })
        })
        .collect();
    let errors: Vec<Row> = plan
        .margins
        .iter()
        .filter_map(|margin| {
            let (value, error) = match margin.asks {
                Asks::HalfWidth(_) => (margin.half_width?, margin.half_width_error),
                Asks::Cv(_) => (margin.cv?, margin.cv_error),
                Asks::SeeChange(_) => return None,
            };
            let share = 100.0 / margin.target;
            Some(Row { margin, value: share * value, error: share * error.unwrap_or(0.0) })
        })
        .collect();
    if changes.is_empty() && errors.is_empty() {
        return None;
    }
    let wanted = |row: &Row| 100.0 * row.margin.power_asked.unwrap_or(report.scenario.test.seen);
    let good = |row: &&Row| if seen(row.margin) { row.value >= wanted(row) } else { row.value <= 100.0 };
    let (met, number) = (changes.iter().chain(&errors).filter(good).count(), changes.len() + errors.len());
    let title = match number - met {
        0 => "By simulation every target reaches what is asked".to_owned(),
        _ => format!("By simulation {met} of {number} targets reach what is asked"),
    };
    let words = Words {
        name: "achieved-against-target".into(),
        alt: format!("For each target a mark with its simulation error beside a line at what is asked. {title}."),
        title,
        subtitle: "Fresh trials of just this plan; bars: two simulation errors on either side.".into(),
        caption: "Upper part: how often the change would be seen, and (ring) how often the test rings when nothing \
                  changed. Lower part: half-width or error of the mean as a share of what is asked, where less is better. \
                  Upright lines: what is asked. A target that formula just meets may fall a hair short in the simulation, \
                  by chance or because the formula is an approximation."
            .into(),
    };
    let height = |rows: &[Row]| if rows.is_empty() { 0.0 } else { ABOVE + ROW * rows.len() as f64 + BELOW_ROOM };
    let highest = largest(errors.iter().map(|row| row.value + 2.0 * row.error)).unwrap_or(100.0).max(110.0);
    Some(words.draw(height(&changes) + height(&errors), |canvas, top| {
        if !changes.is_empty() {
            let panel = frame(canvas, top, changes.len(), 100.0, "times in 100 that the change is seen");
            let first = wanted(&changes[0]);
            if changes.iter().all(|row| wanted(row) == first) {
                line_at(canvas, &panel, first, &format!("asked: {} in 100", significant(first, 2)));
            } else {
                lines_in_rows(canvas, &panel, &changes.iter().map(wanted).collect::<Vec<_>>());
            }
            for (index, row) in changes.iter().enumerate() {
                let y = draw_row(canvas, report, &panel, row, index, row.value >= wanted(row));
                if let Some((rate, _)) = row.margin.false_alarm {
                    canvas.mark(Mark::Ring, panel_at(&panel, 100.0 * rate, y), QUIET);
                }
            }
        }
        if !errors.is_empty() {
            let top = top + height(&changes);
            let panel =
                frame(canvas, top, errors.len(), 1.05 * highest, "% of the error that is asked (less is better)");
            line_at(canvas, &panel, 100.0, "asked");
            for (index, row) in errors.iter().enumerate() {
                draw_row(canvas, report, &panel, row, index, row.value <= 100.0);
            }
        }
    }))
}

fn frame(canvas: &mut Canvas, top: f64, rows: usize, highest: f64, name: &str) -> Panel {
    let panel = Panel {
        left: NAMES,
        top: top + ABOVE,
        width: WIDTH - NAMES - NUMBERS,
        height: ROW * rows as f64,
        x: Scale::linear(0.0, highest),
        y: Scale::linear(0.0, 1.0),
    };
    for tick in panel.x.ticks((panel.width / 44.0) as usize) {
        let (x, _) = panel.at(tick, 0.0);
        canvas.line((x, panel.top), (x, panel.bottom()), Stroke::solid(GRID, 0.8));
        canvas.text((x, panel.bottom() + 13.0), &tick_text(tick), Text::new(SMALL).colour(QUIET).centred());
    }
    canvas.line((panel.left, panel.bottom()), (panel.right(), panel.bottom()), Stroke::solid(INK, 0.9));
    canvas.text((panel.left + panel.width / 2.0, panel.bottom() + 30.0), name, Text::new(NORMAL).centred());
    panel
}

fn line_at(canvas: &mut Canvas, panel: &Panel, value: f64, text: &str) {
    let (x, _) = panel.at(value, 0.0);
    canvas.line((x, panel.top - 4.0), (x, panel.bottom()), Stroke::solid(INK, 1.6));
    canvas.text((x, panel.top - 12.0), text, Text::new(SMALL).centred());
}

/// What is asked row by row, where it is not the same for all.
fn lines_in_rows(canvas: &mut Canvas, panel: &Panel, wanted: &[f64]) {
    for (index, &value) in wanted.iter().enumerate() {
        let (x, top) = (panel.at(value, 0.0).0, panel.top + ROW * index as f64);
        canvas.line((x, top), (x, top + ROW), Stroke::solid(INK, 1.6));
    }
    let (x, _) = panel.at(wanted[0], 0.0);
    canvas.text((x, panel.top - 12.0), "asked", Text::new(SMALL).centred());
}

fn panel_at(panel: &Panel, value: f64, y: f64) -> (f64, f64) {
    (panel.at(value, 0.0).0, y)
}

/// The mark of a row with its error, its name left and its numbers right; the height of its middle.
fn draw_row(canvas: &mut Canvas, report: &BudgetReport, panel: &Panel, row: &Row, index: usize, good: bool) -> f64 {
    let y = panel.top + ROW * (index as f64 + 0.5);
    let priority = if row.margin.must { "must" } else { "should" };
    let name = fonts::fit(&plain(&row.margin.indicator), NORMAL, row.margin.must, NAMES - 24.0);
    let style = if row.margin.must { Text::new(NORMAL).bold() } else { Text::new(NORMAL) };
    canvas.text((panel.left - 10.0, y - 7.0), &name, style.to_the_left());
    let under = fonts::fit(&format!("{priority}: {}", asked(report, row.margin)), SMALL, false, NAMES - 20.0);
    canvas.text((panel.left - 10.0, y + 7.0), &under, Text::new(SMALL).colour(QUIET).to_the_left());
    let colour = if good { BLUE } else { VERMILION };
    let most = panel.right();
    let of = |value: f64| panel.at(value.max(0.0), 0.0).0.min(most);
    let (low, high) = (of(row.value - 2.0 * row.error), of(row.value + 2.0 * row.error));
    canvas.line((panel.left, y), (panel.right(), y), Stroke::solid(GRID, 0.8));
    canvas.rectangle((low, y - 4.0), (high, y + 4.0), colour, 0.28);
    canvas.mark(Mark::Disc, (of(row.value), y), colour);
    let told = simulated(report, row.margin).unwrap_or_default();
    let lines = fonts::wrap(&told, SMALL, false, NUMBERS - 16.0);
    let first = y - 6.5 * (lines.len().min(2) as f64 - 1.0);
    for (line, text) in lines.iter().take(2).enumerate() {
        canvas.text((panel.right() + 8.0, first + 13.0 * line as f64), text, Text::new(SMALL));
    }
    y
}
