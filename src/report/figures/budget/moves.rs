//! What moves the answer: days saved or added by each what-if.

use super::super::axes::{BELOW_ROOM, Panel, Scale, tick_text};
use super::super::bars::draw_out_of_reach;
use super::super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::super::colours::{BLUE, GRID, INK, QUIET, VERMILION, for_text};
use super::super::figure::{Figure, WIDTH, Words};
use crate::report::budget::{BudgetReport, Move};
use crate::report::fonts;
use crate::report::words::sentence;

const NAMES: f64 = 250.0;
const NUMBERS: f64 = 104.0;
const BAR: f64 = 26.0;

pub fn moves(report: &BudgetReport) -> Option<Figure> {
    let mut moves = report.moves();
    moves.retain(|of| of.amount() != "no change");
    if moves.is_empty() {
        return None;
    }
    moves.sort_by_key(|of| (of.days.unwrap_or(i64::MAX), of.team_dives));
    let best = moves.iter().find(|of| of.days.is_some_and(|days| days < 0));
    let worst = moves.iter().rev().find(|of| of.days.is_none_or(|days| days > 0));
    let told = |of: &Move| format!("{}: {}", of.what, of.amount());
    let title = match (best, worst) {
        (Some(best), Some(worst)) => format!("{}; {}", told(best), told(worst)),
        (Some(one), None) | (None, Some(one)) => told(one),
        (None, None) => "None of these changes the number of days".to_owned(),
    };
    let of = if report.answer.all.is_some() { "all targets" } else { "the musts" };
    // As it is, by formula: simulation may have replaced it by a plan that takes more.
    let days = report.answer.what_ifs.first().and_then(|first| first.all.or(first.musts)).map_or(0, |(days, _)| days);
    let words = Words {
        name: "what-moves-the-answer".into(),
        alt: format!("Bars of days saved or added, one for each what-if. {}.", sentence(&title)),
        title: sentence(&title),
        subtitle: format!("Days saved (left) or added (right) to the {days} that {of} take at the least, by formula."),
        caption: "Each bar changes one thing and searches anew. Where diving is touched, only towards caution: what more \
                  diving would save is not told. What changes neither days nor team dives is left out here and stands in the \
                  table."
            .into(),
    };
    let reach = moves.iter().filter_map(|of| of.days).map(i64::abs).max().unwrap_or(1).max(1) as f64;
    let (low, high) = ends(&moves, reach);
    Some(words.draw(BAR * moves.len() as f64 + BELOW_ROOM + 6.0, |canvas, top| {
        let panel = Panel {
            left: NAMES,
            top: top + 4.0,
            width: WIDTH - NAMES - NUMBERS,
            height: BAR * moves.len() as f64,
            x: Scale::linear(low, high).whole(),
            y: Scale::linear(0.0, 1.0),
        };
        for tick in panel.x.ticks((panel.width / 40.0) as usize) {
            let (x, _) = panel.at(tick, 0.0);
            canvas.line((x, panel.top), (x, panel.bottom()), Stroke::solid(GRID, 0.8));
            let text = if tick > 0.0 { format!("+{}", tick_text(tick)) } else { tick_text(tick) };
            canvas.text((x, panel.bottom() + 13.0), &text, Text::new(SMALL).colour(QUIET).centred());
        }
        canvas.text((panel.left + panel.width / 2.0, panel.bottom() + 30.0), "days", Text::new(NORMAL).centred());
        for (index, of) in moves.iter().enumerate() {
            draw_bar(canvas, &panel, of, panel.top + BAR * (index as f64 + 0.5));
        }
        let (nought, _) = panel.at(0.0, 0.0);
        canvas.line((nought, panel.top), (nought, panel.bottom()), Stroke::solid(INK, 1.4));
    }))
}

/// Both ends of the axis: as far as bars reach, and nought between.
fn ends(moves: &[Move], reach: f64) -> (f64, f64) {
    let days = || moves.iter().filter_map(|of| of.days).map(|days| days as f64);
    let low = days().fold(0.0, f64::min);
    let high = days().fold(0.0, f64::max);
    // Where something is out of reach its bar runs to the end.
    let high = if moves.iter().any(|of| of.days.is_none()) { high.max(reach) } else { high };
    (low - 0.3, high + 0.3)
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, of: &Move, y: f64) {
    let room = NAMES - 24.0;
    let lines = fonts::wrap(&sentence(&of.what), SMALL, false, room);
    let first = y - if lines.len() > 1 { 6.0 } else { 0.0 };
    for (index, line) in lines.iter().take(2).enumerate() {
        let line = fonts::fit(line, SMALL, false, room);
        canvas.text((panel.left - 10.0, first + 12.0 * index as f64), &line, Text::new(SMALL).to_the_left());
    }
    let (nought, _) = panel.at(0.0, 0.0);
    let Some(days) = of.days else {
        canvas.rectangle((nought, y - 7.0), (panel.right(), y + 7.0), VERMILION, 0.85);
        draw_out_of_reach(canvas, (panel.right(), y), VERMILION);
        return;
    };
    let (end, _) = panel.at(days as f64, 0.0);
    if days < 0 {
        canvas.rectangle((end, y - 7.0), (nought, y + 7.0), BLUE, 0.3);
        canvas.frame((end, y - 7.0), (nought, y + 7.0), Stroke::solid(BLUE, 1.2));
    } else {
        canvas.rectangle((nought, y - 7.0), (end, y + 7.0), VERMILION, 0.85);
    }
    let colour = if days < 0 { for_text(BLUE) } else { INK };
    canvas.note(
        (end.max(nought) + 7.0, y),
        &of.amount().replace("the same days, ", ""),
        Text::new(SMALL).colour(colour),
    );
}
