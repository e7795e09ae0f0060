//! The minutes of work at a site: a bar for each diver and dive, coloured by method.

use super::super::axes::{Panel, Scale, tick_text};
use super::super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::super::colours::{GRID, INK, QUIET};
use super::super::figure::{Figure, WIDTH, Words};
use super::super::file_name;
use super::NO_DIVE_PLAN;
use super::fills::{block, draw_key, fill, key_height};
use crate::planner::expedition::{BUDDY, ScheduleRow, WAIT};
use crate::report::budget::BudgetReport;
use crate::report::fonts;
use crate::report::words::{count_method, count_units, method_words, sentence};

const NAMES: f64 = 148.0;
const BAR: f64 = 19.0;
/// Above the bars of a dive, and below those of a zone.
const DIVE: f64 = 20.0;
const ZONE: f64 = 26.0;
const BELOW: f64 = 46.0;
/// More bars than this are a page of their own for each zone.
const MOST_BARS: usize = 42;
const MARGIN: f64 = 12.0;

/// One diver on one dive.
struct Bar<'a> {
    diver: &'a str,
    pair: usize,
    tasks: Vec<&'a ScheduleRow>,
}

struct Dive<'a> {
    bars: Vec<Bar<'a>>,
}

struct Zone<'a> {
    name: &'a str,
    offered: f64,
    dives: Vec<Dive<'a>>,
}

impl Zone<'_> {
    fn bars(&self) -> usize {
        self.dives.iter().map(|dive| dive.bars.len()).sum()
    }

    fn height(&self) -> f64 {
        ZONE + DIVE * self.dives.len() as f64 + BAR * self.bars() as f64 + BELOW
    }
}

/// One figure for all zones, or one for each where there are many divers and dives.
pub fn work(report: &BudgetReport) -> Vec<Figure> {
    let zones: Vec<Zone> = report
        .scenario
        .zones
        .iter()
        .zip(&report.expedition.zones)
        .filter_map(|(zone, diving)| first_site(report, &zone.name, diving.work_minutes()))
        .collect();
    let bars: usize = zones.iter().map(Zone::bars).sum();
    if zones.is_empty() {
        return Vec::new();
    }
    if bars <= MOST_BARS {
        return vec![figure(report, &zones, "minutes-at-a-site".into())];
    }
    let own = |zone: &Zone| file_name(&["minutes-at-a-site", zone.name]);
    let names: Vec<String> = zones.iter().map(own).collect();
    zones.chunks(1).zip(names).map(|(zone, name)| figure(report, zone, name)).collect()
}

/// The dives at the first site of a zone.
fn first_site<'a>(report: &'a BudgetReport, zone: &'a str, offered: f64) -> Option<Zone<'a>> {
    let rows = report.answer.schedule.iter().filter(|row| row.zone == zone && row.site == 1);
    let mut dives: Vec<((usize, usize), Dive)> = Vec::new();
    for row in rows {
        let at = (row.day, row.team_dive);
        if dives.last().is_none_or(|(last, _)| *last != at) {
            dives.push((at, Dive { bars: Vec::new() }));
        }
        let Some((_, dive)) = dives.last_mut() else { continue };
        match dive.bars.iter_mut().find(|bar| bar.diver == row.diver && bar.pair == row.pair) {
            Some(bar) => bar.tasks.push(row),
            None => dive.bars.push(Bar { diver: &row.diver, pair: row.pair, tasks: vec![row] }),
        }
    }
    let dives: Vec<Dive> = dives.into_iter().map(|(_, dive)| dive).collect();
    (!dives.is_empty()).then_some(Zone { name: zone, offered, dives })
}

fn figure(report: &BudgetReport, zones: &[Zone], name: String) -> Figure {
    let plan = report.answer.scheduled();
    let methods: Vec<&str> =
        plan.map_or(Vec::new(), |plan| plan.site_set.iter().map(|task| task.method.as_str()).collect());
    let names: Vec<String> = methods.iter().map(|method| method_words(method)).collect();
    let room = WIDTH - 2.0 * MARGIN;
    let key = key_height(&names, room) + 6.0;
    let title = finding(zones);
    let mut bars = zones.iter().flat_map(|zone| &zone.dives).flat_map(|dive| &dive.bars);
    let waiting = if bars.any(|bar| bar.tasks.iter().any(|row| row.task == WAIT)) {
        "Hollow: waits for what comes first at the site. "
    } else {
        ""
    };
    let words = Words {
        name,
        alt: format!("Bars of minutes of work for each diver and dive at a site, beside the minutes offered. {title}."),
        title,
        subtitle: "Minutes of work asked for at one site, on average; upright line: minutes in which work can be done."
            .into(),
        caption: format!(
            "A bar for each diver on each team dive at a site; units of each method are written in it where they have room. \
             {waiting}The line is the bottom time without descent, finding the place and going back; what is left before it \
             is spare, because minutes vary. Who has no task is there as the buddy. Minutes are asked for; the diving officer \
             decides every dive."
        ),
    };
    let height = key + zones.iter().map(Zone::height).sum::<f64>();
    words.draw_with_last(NO_DIVE_PLAN, height, |canvas, top| {
        draw_key(canvas, &names, (MARGIN, top), room);
        let mut y = top + key;
        for zone in zones {
            draw_zone(canvas, zone, &methods, y);
            y += zone.height();
        }
    })
}

fn draw_zone(canvas: &mut Canvas, zone: &Zone, methods: &[&str], top: f64) {
    let longest = zone.dives.iter().flat_map(|dive| &dive.bars).map(minutes).fold(zone.offered, f64::max);
    let panel = Panel {
        left: NAMES,
        top: top + ZONE,
        width: WIDTH - NAMES - 30.0,
        height: DIVE * zone.dives.len() as f64 + BAR * zone.bars() as f64,
        x: Scale::linear(0.0, 1.04 * longest),
        y: Scale::linear(0.0, 1.0),
    };
    let name = fonts::fit(zone.name, NORMAL, true, 300.0);
    canvas.text((MARGIN, top + 10.0), &name, Text::new(NORMAL).bold());
    for tick in panel.x.ticks((panel.width / 50.0) as usize) {
        let (x, _) = panel.at(tick, 0.0);
        canvas.line((x, panel.top), (x, panel.bottom()), Stroke::solid(GRID, 0.8));
        canvas.text((x, panel.bottom() + 12.0), &tick_text(tick), Text::new(SMALL).colour(QUIET).centred());
    }
    let mut y = panel.top;
    for (index, dive) in zone.dives.iter().enumerate() {
        canvas.text((MARGIN, y + DIVE / 2.0), &format!("dive {}", index + 1), Text::new(SMALL).colour(QUIET));
        y += DIVE;
        for (place, bar) in dive.bars.iter().enumerate() {
            if place % 2 == 0 && place > 0 {
                canvas.line((MARGIN, y), (panel.right(), y), Stroke::solid(GRID, 0.8));
            }
            draw_bar(canvas, &panel, bar, methods, y);
            y += BAR;
        }
    }
    canvas.line((panel.left, panel.bottom()), (panel.right(), panel.bottom()), Stroke::solid(INK, 0.9));
    let (x, _) = panel.at(zone.offered, 0.0);
    canvas.line((x, panel.top - 4.0), (x, panel.bottom()), Stroke::solid(INK, 1.8));
    let offered = format!("{:.0} minutes for work", zone.offered);
    canvas.text((x, panel.top - 11.0), &offered, Text::new(SMALL).to_the_left());
    canvas.text((panel.left + panel.width / 2.0, panel.bottom() + 27.0), "minutes", Text::new(SMALL).centred());
}

fn draw_bar(canvas: &mut Canvas, panel: &Panel, bar: &Bar, methods: &[&str], top: f64) {
    let middle = top + BAR / 2.0;
    let name = fonts::fit(bar.diver, SMALL, false, NAMES - MARGIN - 50.0);
    canvas.text((panel.left - 8.0, middle), &name, Text::new(SMALL).to_the_left());
    canvas.text((MARGIN, middle), &format!("pair {}", bar.pair), Text::new(SMALL).colour(QUIET));
    let mut from = 0.0;
    for row in &bar.tasks {
        let (left, _) = panel.at(from, 0.0);
        if row.task == BUDDY {
            canvas.note((left + 4.0, middle), "buddy: no task of its own", Text::new(SMALL).colour(QUIET));
            continue;
        }
        from += row.minutes_asked;
        let (right, _) = panel.at(from, 0.0);
        if row.task == WAIT {
            let outline = Stroke { colour: QUIET, width: 0.9, dashes: &[3.0, 2.0] };
            canvas.frame((left + 1.0, top + 3.0), (right - 1.0, top + BAR - 3.0), outline);
            if fonts::width(WAIT, SMALL, false) <= right - left - 6.0 {
                canvas.text(((left + right) / 2.0, middle), WAIT, Text::new(SMALL).colour(QUIET).centred());
            }
            continue;
        }
        let index = methods.iter().position(|method| *method == row.task).unwrap_or(methods.len());
        let texts = if row.units == 0 {
            vec![format!("{} with the buddy", method_words(&row.task)), "with the buddy".to_owned()]
        } else {
            vec![count_method(&row.task, row.units), count_units(&row.task, row.units), row.units.to_string()]
        };
        block(canvas, (left, top + 2.0), (right, top + BAR - 2.0), fill(index), &texts);
    }
}

fn minutes(bar: &Bar) -> f64 {
    bar.tasks.iter().map(|row| row.minutes_asked).sum()
}

fn finding(zones: &[Zone]) -> String {
    let bars = || {
        zones
            .iter()
            .flat_map(|zone| zone.dives.iter().flat_map(move |dive| dive.bars.iter().map(move |bar| (zone, bar))))
    };
    let fullest = bars().max_by(|(one_zone, one), (other_zone, other)| {
        (minutes(one) / one_zone.offered).total_cmp(&(minutes(other) / other_zone.offered))
    });
    let is_buddy = |bar: &Bar| bar.tasks.iter().all(|row| row.task == BUDDY);
    let buddies = bars().filter(|(_, bar)| is_buddy(bar)).count();
    let Some((zone, bar)) = fullest else { return "No work is planned".into() };
    let idle = match buddies {
        0 => String::new(),
        1 => "; on one dive a diver is there as the buddy alone".into(),
        number => format!("; {number} times a diver is there as the buddy alone"),
    };
    let told = format!(
        "{}: the fullest dive is {}'s, {:.0} of {:.0} minutes{idle}",
        zone.name,
        bar.diver,
        minutes(bar),
        zone.offered
    );
    sentence(&told)
}
