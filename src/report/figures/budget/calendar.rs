//! The days of the plan: which sites, on how many team dives.

use super::super::canvas::{Canvas, SMALL, Stroke, Text};
use super::super::colours::{GRID, QUIET};
use super::super::figure::{Figure, WIDTH, Words};
use super::NO_DIVE_PLAN;
use super::fills::{block, draw_key, fill, key_height};
use crate::measures::counted;
use crate::planner::expedition::ScheduleRow;
use crate::report::budget::BudgetReport;

const MARGIN: f64 = 12.0;
const DAY: f64 = 46.0;
/// Days in one column; more stand beside each other.
const MOST_IN_COLUMN: usize = 20;
const MOST_COLUMNS: usize = 3;

/// Team dives one after the other at one site.
struct Visit<'a> {
    zone: &'a str,
    site: usize,
    /// From the first team dive of the day, boats one after the other.
    from: usize,
    dives: usize,
}

pub fn calendar(report: &BudgetReport) -> Option<Figure> {
    let days = || report.answer.schedule.iter().map(|row| row.day);
    // The rest of an expedition begins later than on its first day.
    let (first, last) = (days().min()?, days().max()?);
    let number = last - first + 1;
    let boats = report.expedition.boats.number.max(1);
    let a_day =
        report.answer.schedule.iter().map(|row| row.team_dive).fold(report.expedition.boats.dives_a_day, usize::max);
    let spare = report.answer.days_there().saturating_sub(number);
    let zones: Vec<String> = report.scenario.zones.iter().map(|zone| zone.name.clone()).collect();
    let columns = if boats > 1 { 1 } else { number.div_ceil(MOST_IN_COLUMN).clamp(1, MOST_COLUMNS) };
    let rows = number.div_ceil(columns);
    let row_height = if rows > 25 { 16.0 } else { 21.0 };
    let room = WIDTH - 2.0 * MARGIN;
    let key = key_height(&zones, room) + 8.0;
    let new_sites: usize = report.answer.scheduled()?.zones.iter().map(|zone| zone.sites).sum();
    let sites = new_sites + report.answer.begun.len();
    let spare_words = match spare {
        0 => "no day to spare".to_owned(),
        days => format!("{} to spare", counted(days, "day")),
    };
    // Days may be left free for sites that can be reached later only.
    let free = (first..=last).filter(|day| !days().any(|dived| dived == *day)).count();
    let free_words = if free > 0 { format!(", {} free between", counted(free, "day")) } else { String::new() };
    let dived = counted(number - free, "day");
    let title = format!("{dived} for {}{free_words}, {spare_words}", counted(sites, "site"));
    let each = if boats > 1 { format!(" for each of {boats} boats") } else { String::new() };
    let words = Words {
        name: "calendar".into(),
        alt: format!("Days in rows, each with the sites that are visited on it. {title}."),
        title,
        subtitle: format!("Days for diving in rows; a cell is a team dive, up to {a_day} a day{each}."),
        caption:
            "Zones take turns, so that an expedition that is cut short has been in all of them in proportion. The \
                  number of a site is its place in the draw. Lost days push all that follows. An empty cell is a team dive \
                  that the plan does not need, or that the sites of the day leave no room for."
                .into(),
    };
    Some(words.draw_with_last(NO_DIVE_PLAN, key + 6.0 + row_height * rows as f64 + 8.0, |canvas, top| {
        draw_key(canvas, &zones, (MARGIN, top), room);
        let wide = room / columns as f64;
        for day in first..=last {
            let (column, row) = ((day - first) / rows, (day - first) % rows);
            let (left, y) = (MARGIN + wide * column as f64, top + key + 6.0 + row_height * row as f64);
            let cell = (wide - DAY - 14.0) / (a_day * boats) as f64;
            canvas.text(
                (left + DAY - 8.0, y + row_height / 2.0),
                &format!("day {day}"),
                Text::new(SMALL).colour(QUIET).to_the_left(),
            );
            draw_cells(canvas, (left + DAY, y), (cell, row_height), a_day * boats);
            for visit in visits(&report.answer.schedule, day, a_day) {
                let from = left + DAY + cell * visit.from as f64;
                let zone = zones.iter().position(|zone| zone == visit.zone).unwrap_or(0);
                let texts = [format!("{} {}", visit.zone, visit.site), visit.site.to_string()];
                let until = (from + cell * visit.dives as f64, y + row_height - 1.5);
                block(canvas, (from, y + 1.5), until, fill(zone), &texts);
            }
        }
    }))
}

fn draw_cells(canvas: &mut Canvas, at: (f64, f64), (wide, high): (f64, f64), number: usize) {
    for cell in 0..number {
        let left = at.0 + wide * cell as f64;
        canvas.frame((left, at.1 + 1.5), (left + wide, at.1 + high - 1.5), Stroke::solid(GRID, 0.8));
    }
}

fn visits(schedule: &[ScheduleRow], day: usize, a_day: usize) -> Vec<Visit<'_>> {
    let mut dives: Vec<(usize, &str, usize)> = schedule
        .iter()
        .filter(|row| row.day == day)
        .map(|row| ((row.boat - 1) * a_day + row.team_dive - 1, row.zone.as_str(), row.site))
        .collect();
    // The deep part of a place stands for its dive.
    dives.sort_by_key(|(at, ..)| *at);
    dives.dedup_by_key(|(at, ..)| *at);
    let mut all: Vec<Visit> = Vec::new();
    for (at, zone, site) in dives {
        match all.last_mut() {
            Some(last) if (last.zone, last.site) == (zone, site) && last.from + last.dives == at => last.dives += 1,
            _ => all.push(Visit { zone, site, from: at, dives: 1 }),
        }
    }
    all
}
