//! What days buy: the margin of each target for the best use of so many days.

use super::super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale, largest, smallest};
use super::super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::super::colours::{INK, LineStyle, QUIET};
use super::super::figure::{Figure, WIDTH, Words};
use super::super::labels::{EndLabel, draw_end_labels};
use crate::budget::MET;
use crate::measures::counted;
use crate::planner::expedition::BudgetPlan;
use crate::report::budget::BudgetReport;
use crate::report::fonts;
use crate::report::words::plain;

/// Room right of the lines for their names.
const NAMES: f64 = 176.0;
/// Marks on more days than this run into each other.
const MOST_MARKS: usize = 24;
const HEIGHT: f64 = 300.0;
/// Room above for the words on upright lines.
const ABOVE: f64 = 44.0;

pub fn days_buy(report: &BudgetReport) -> Option<Figure> {
    let plans: Vec<(f64, &BudgetPlan)> =
        report.answer.frontier.iter().filter_map(|day| Some((day.days as f64, day.plan.as_ref()?))).collect();
    let (first, last) = (plans.first()?, plans.last().filter(|_| plans.len() > 1)?);
    let lines: Vec<(String, bool, Vec<Point>)> = (0..first.1.margins.len())
        .map(|index| {
            let of = &first.1.margins[index];
            let points = plans.iter().map(|(days, plan)| (*days, plan.margins[index].margin));
            (plain(&of.indicator), of.must, points.collect())
        })
        .collect();
    let heights = || lines.iter().flat_map(|line| line.2.iter().map(|point| point.1));
    let (low, high) = (smallest(heights())?.min(0.9), largest(heights())?.max(1.2));
    let panel = |top: f64| Panel {
        left: LEFT_ROOM + 12.0,
        top: top + ABOVE,
        width: WIDTH - LEFT_ROOM - 12.0 - NAMES,
        height: HEIGHT,
        x: Scale::linear(first.0, last.0).whole(),
        y: Scale::log(0.92 * low, 1.08 * high),
    };
    let title = finding(report, &plans);
    let words = Words {
        name: "days-and-what-they-buy".into(),
        alt: format!("Lines of the margin of each target that rise with the days for diving. {title}."),
        title,
        subtitle: "What the best use of so many days achieves, as a share of what is asked (margin), by formula."
            .into(),
        caption: "Margin: what is asked over what is achieved; from 1 on a target is met. Lines drawn through: musts; \
                  dashed: shoulds. The best use of so many days first lifts the musts to 1, then the weakest of the \
                  others, so that a single line may fall where another gains. The axis is logarithmic."
            .into(),
    };
    Some(words.draw(ABOVE + HEIGHT + BELOW_ROOM, |canvas, top| {
        let panel = panel(top);
        panel.draw_axes(canvas, "days for diving", "margin");
        let (_, met) = panel.at(first.0, 1.0);
        canvas.line((panel.left, met), (panel.right(), met), Stroke::solid(INK, 1.6));
        canvas.note((panel.left + 5.0, met - 9.0), "met from here up", Text::new(SMALL));
        let mut labels = Vec::new();
        for (index, (name, must, points)) in lines.iter().enumerate() {
            let mut style = LineStyle::of(index);
            style.stroke.dashes = if *must { &[] } else { &[6.0, 4.0] };
            let places: Vec<Point> = points.iter().map(|&(x, y)| panel.at(x, y)).collect();
            canvas.path(&places, style.stroke);
            if places.len() <= MOST_MARKS {
                places.iter().for_each(|&at| canvas.mark(style.mark, at, style.colour()));
            }
            if let Some(&end) = places.last() {
                let text = format!("{name} ({})", if *must { "must" } else { "should" });
                labels.push(EndLabel { end, text, style });
            }
        }
        draw_end_labels(canvas, &panel, &labels, NAMES);
        uprights(canvas, report, &panel, (first.0, last.0));
    }))
}

/// From which day the musts and all targets hold, and how many days there are where more are told.
fn uprights(canvas: &mut Canvas, report: &BudgetReport, panel: &Panel, (first, last): (f64, f64)) {
    let there = report.answer.bookable_days;
    let ends = (there > 0 && (there as f64) < last).then_some((there, "as many as there are"));
    for (index, (days, what)) in steps(report).into_iter().chain(ends).enumerate() {
        let day = days as f64;
        if !(first..=last).contains(&day) {
            continue;
        }
        let (x, _) = panel.at(day, 1.0);
        let y = panel.top - 8.0 - 14.0 * index as f64;
        canvas.line((x, y + 6.0), (x, panel.bottom()), Stroke { colour: QUIET, width: 0.9, dashes: &[1.5, 3.0] });
        let text = format!("{what}: {}", counted(days, "day"));
        let wide = fonts::width(&text, SMALL, false);
        let left = (x - wide / 2.0).clamp(panel.left, WIDTH - wide - 12.0);
        canvas.note((left, y), &text, Text::new(SMALL).colour(QUIET));
    }
}

/// Days from which on the musts hold, and all targets.
pub fn steps(report: &BudgetReport) -> Vec<(usize, &'static str)> {
    let (musts, all) = (report.answer.musts.as_ref(), report.answer.all.as_ref());
    match (musts.map(|plan| plan.days), all.map(|plan| plan.days)) {
        (Some(musts), Some(all)) if musts == all => vec![(all, "all targets hold")],
        (Some(musts), Some(all)) => vec![(musts, "the musts hold"), (all, "all targets hold")],
        (Some(musts), None) => vec![(musts, "the musts hold")],
        _ => Vec::new(),
    }
}

fn finding(report: &BudgetReport, plans: &[(f64, &BudgetPlan)]) -> String {
    let last = plans.last().map_or(0.0, |last| last.0);
    let there = report.answer.bookable_days;
    let there = if last > there as f64 { format!("; there are {there}") } else { String::new() };
    of_days(report, plans, last) + &there
}

fn of_days(report: &BudgetReport, plans: &[(f64, &BudgetPlan)], last: f64) -> String {
    let all = report.answer.all.as_ref().map(|plan| plan.days).filter(|&days| days as f64 <= last);
    let musts = report.answer.musts.as_ref().map(|plan| plan.days).filter(|&days| days as f64 <= last);
    match (musts, all) {
        (Some(musts), Some(all)) if musts < all => {
            format!("The musts hold from {} on, all targets from {all}", counted(musts, "day"))
        }
        (_, Some(all)) => format!("All targets hold from {} on", counted(all, "day")),
        (Some(musts), None) => {
            format!("The musts hold from {} on; all targets in none of these", counted(musts, "day"))
        }
        (None, None) => {
            let weakest = plans.last().and_then(|(_, plan)| {
                plan.margins
                    .iter()
                    .filter(|margin| margin.must && margin.margin < MET)
                    .min_by(|one, other| one.margin.total_cmp(&other.margin))
            });
            match weakest {
                Some(margin) => format!(
                    "The musts hold in none of these days: {} reaches {:.2} of what is asked",
                    plain(&margin.indicator),
                    margin.margin
                ),
                None => "Not all targets hold in any of these days".into(),
            }
        }
    }
}
