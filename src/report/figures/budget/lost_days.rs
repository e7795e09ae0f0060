//! What lost days do: the chance of each number of days left, and what is reached with so many.

use super::super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale, largest};
use super::super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::super::colours::{BLUE, INK, ORANGE};
use super::super::figure::{Figure, WIDTH, Words};
use super::days_buy::steps;
use crate::measures::counted;
use crate::report::budget::BudgetReport;
use crate::report::digits::{hundredths_beside, significant};
use crate::report::fonts;
use crate::report::words::sentence;

const HEIGHT: f64 = 210.0;
const ABOVE: f64 = 58.0;
/// Room for the key above the words on upright lines.
const KEY: f64 = 22.0;
/// Numbers of days less likely than this are left out at the low end.
const RARE: f64 = 5e-4;

pub fn lost_days(report: &BudgetReport) -> Option<Figure> {
    let lost = report.expedition.days.lost?;
    let all = report.days_left();
    let left: Vec<_> = all.iter().skip_while(|left| left.as_told.max(left.by_itself) < RARE).collect();
    let (first, last) = (left.first()?.days as f64, left.last()?.days as f64);
    let steps = steps(report);
    let in_spells = lost.spell_days.is_some();
    let mut findings: Vec<String> = steps
        .iter()
        .map(|&(days, what)| {
            let chance = report.chance_of(days).unwrap_or(0.0);
            // Each is the cheapest plan for what it is for, and not always the one that is scheduled.
            let plan = if what.contains("musts") { "a plan for the musts alone" } else { "a plan for all targets" };
            let times = hundredths_beside(chance, report.expedition.days.chance_wanted);
            format!("{plan} is finished in {times}")
        })
        .collect();
    if findings.is_empty() {
        findings.push("neither the musts nor all targets hold with any number of days".into());
    }
    let of = if steps.is_empty() { "" } else { " of 100 such expeditions" };
    let title = format!("{}{of}", sentence(&findings.join(", ")));
    let spells = match lost.spell_days {
        Some(days) => format!(" Filled: in spells of {} on average; outlined: each day by itself.", counted_days(days)),
        None => " Each day is lost or not by itself: the scenario tells no bad spells (bad_spell_days).".to_owned(),
    };
    let words = Words {
        name: "what-lost-days-do".into(),
        alt: format!("Bars of the chance of each number of days left. {title}."),
        title,
        subtitle: format!(
            "Chance of each number of days left, of {} for diving of which {} % are lost.",
            report.answer.bookable_days,
            significant(100.0 * lost.share, 2)
        ),
        caption: format!(
            "How many of the days for diving are left if each is lost as often as the scenario says.{spells} Upright lines: \
             from so many days on the musts, and all targets, hold if the plan is chosen for the days that are left; what is \
             right of a line is the chance told beside it. Bad spells make it more likely that very many or very few days are lost."
        ),
    };
    let key = if in_spells { KEY } else { 0.0 };
    Some(words.draw(key + ABOVE + HEIGHT + BELOW_ROOM, |canvas, top| {
        if in_spells {
            let spells = counted_days(lost.spell_days.unwrap_or(f64::NAN));
            draw_key(canvas, (LEFT_ROOM + 12.0, top + 8.0), &format!("lost in spells of {spells} on average"));
        }
        let top = top + key;
        let highest = largest(left.iter().map(|left| 100.0 * left.as_told.max(left.by_itself))).unwrap_or(1.0);
        let panel = Panel {
            left: LEFT_ROOM + 12.0,
            top: top + ABOVE,
            width: WIDTH - LEFT_ROOM - 36.0,
            height: HEIGHT,
            x: Scale::linear(first - 0.5, last + 0.5).whole(),
            y: Scale::linear(0.0, 1.08 * highest),
        };
        panel.draw_axes(canvas, "days left", "chance in 100");
        let half = 0.38 * panel.width / (last - first + 1.0);
        for left in &left {
            let day = left.days as f64;
            let (x, y) = panel.at(day, 100.0 * left.as_told);
            canvas.rectangle((x - half, panel.bottom()), (x + half, y), BLUE, 0.75);
            if in_spells {
                let (_, y) = panel.at(day, 100.0 * left.by_itself);
                outline(canvas, (x - half, panel.bottom()), (x + half, y));
            }
        }
        for (index, &(days, what)) in steps.iter().enumerate() {
            let x = panel.at((days as f64 - 0.5).clamp(first - 0.5, last + 0.5), 0.0).0;
            // The line further left has its words below those of the other; lines begin below all words, which may be wide.
            let y = top + 8.0 + 22.0 * (steps.len() - 1 - index) as f64;
            let chances = chances(report, days);
            let reach = if days as f64 > last { " (more than there are)" } else { "" };
            let text = format!("{what}: {}{reach}; {chances}", at_least(days));
            let wide = fonts::width(&text, SMALL, false);
            canvas.line(
                (x, top + 16.0 + 22.0 * (steps.len() - 1) as f64),
                (x, panel.bottom()),
                Stroke { colour: INK, width: 1.2, dashes: &[4.0, 3.0] },
            );
            let at = (x - 5.0 - wide).max(12.0);
            canvas.note((at, y), &text, Text::new(SMALL));
        }
    }))
}

/// What filled and outlined bars are.
fn draw_key(canvas: &mut Canvas, (x, y): Point, filled: &str) {
    let side = 12.0;
    let (high, low) = (y - side / 2.0, y + side / 2.0);
    canvas.rectangle((x, low), (x + side, high), BLUE, 0.75);
    canvas.text((x + side + 5.0, y), filled, Text::new(SMALL));
    let x = x + side + 5.0 + fonts::width(filled, SMALL, false) + 20.0;
    outline(canvas, (x, low), (x + side, high));
    canvas.text((x + side + 5.0, y), "each day lost by itself", Text::new(SMALL));
}

fn outline(canvas: &mut Canvas, one: Point, other: Point) {
    canvas.frame(one, other, Stroke::solid(ORANGE, 2.2));
    canvas.frame(one, other, Stroke::solid(INK, 0.7));
}

fn counted_days(days: f64) -> String {
    format!("{} days", significant(days, 2))
}

fn at_least(days: usize) -> String {
    format!("{} or more", counted(days, "day"))
}

/// "56 in 100, 44 if each is lost by itself"
fn chances(report: &BudgetReport, days: usize) -> String {
    let left = report.days_left();
    let sum = |of: fn(&crate::report::budget::DaysLeft) -> f64| {
        let chance = left.iter().filter(|left| left.days >= days).map(of).sum::<f64>();
        hundredths_beside(chance, report.expedition.days.chance_wanted)
    };
    let (told, alone) = (sum(|left| left.as_told), sum(|left| left.by_itself));
    if report.expedition.days.lost.is_some_and(|lost| lost.spell_days.is_some()) {
        format!("{told} in 100 ({alone} if each day is lost by itself)")
    } else {
        format!("{told} in 100")
    }
}
