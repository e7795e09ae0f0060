//! The sizes of colonies: bars for the law of the zone, marks and bands for what belts on one site see of it.

use super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale, largest};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{BLUE, GRID, INK, ORANGE, QUIET, VERMILION};
use super::figure::{Figure, Tiles, Words};
use crate::design::Change;
use crate::planner::{ClassShare, ColonySizes, SizeClass};
use crate::report::digits::{significant, trimmed};
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::words::number_word;
use plotters::style::RGBColor;

/// The band reaches so many standard errors to either side.
const ERRORS: f64 = 2.0;

/// `None` where no belt measures colonies.
pub fn sizes(report: &Report) -> Option<Figure> {
    let zones = &report.sizes;
    let first = zones.first().filter(|first| !first.classes.is_empty())?;
    let title = finding(zones);
    let tiles = Tiles::new(zones.len(), 250.0);
    let noun = if first.units == 1 { "belt" } else { "belts" };
    let belts = format!("{} {noun} of {}", number_word(first.units).to_lowercase(), first.dimensions.label());
    let (after, stays) = match &first.change {
        None => (String::new(), " A loss that takes colonies whatever their size leaves this figure as it is."),
        Some(change) => (format!(", grey at the first visit, orange after {}", fall(change)), ""),
    };
    let words = Words {
        name: "sizes-of-colonies".to_string(),
        alt: format!("Bars of the share of colonies in each class of sizes, with what belts see of it. {title}."),
        title,
        subtitle: match &first.change {
            None => "Colonies of hard coral by their largest diameter.".to_string(),
            Some(_) => {
                "Colonies of hard coral by their largest diameter, before (grey) and after (orange).".to_string()
            }
        },
        caption: format!(
            "Bars: the law of sizes of the zone{after}. Marks: what {belts} on one site write in the mean, with the edge rule, \
             missed colonies and the ruler of the scenario; bands: two standard errors of these belts to either side (by \
             formula). Diamonds: the mark lies off its bar by more than the band, and more belts do not help.{stays}"
        ),
    };
    let any_off = zones.iter().flat_map(shares).any(is_off);
    Some(words.draw(KEY + tiles.height(), |canvas, top| {
        draw_key(canvas, (LEFT_ROOM + 12.0, top + 8.0), first.change.is_some(), any_off);
        for (index, zone) in zones.iter().enumerate() {
            draw_zone(canvas, zone, tiles.corner(index, top + KEY), (tiles.width, tiles.row_height));
        }
    }))
}

/// Height of the key.
const KEY: f64 = 26.0;

/// What bars, marks and diamonds are, on one line.
fn draw_key(canvas: &mut Canvas, (left, y): Point, has_change: bool, any_off: bool) {
    let mut x = left;
    let name = |canvas: &mut Canvas, x: &mut f64, text: &str| {
        canvas.text((*x + 20.0, y), text, Text::new(SMALL));
        *x += 20.0 + fonts::width(text, SMALL, false) + 16.0;
    };
    let bars: &[(&str, RGBColor)] =
        if has_change { &[("there before", GRID), ("there after", ORANGE)] } else { &[("there", GRID)] };
    for &(text, fill) in bars {
        canvas.rectangle((x, y - 5.0), (x + 14.0, y + 5.0), fill, if fill == GRID { 1.0 } else { 0.45 });
        canvas.frame((x, y - 5.0), (x + 14.0, y + 5.0), Stroke::solid(QUIET, 0.8));
        name(canvas, &mut x, text);
    }
    canvas.rectangle((x + 2.0, y - 6.0), (x + 12.0, y + 6.0), BLUE, 0.35);
    draw_mark(canvas, (x + 7.0, y), (x + 2.0, x + 12.0), false);
    name(canvas, &mut x, "what belts write, and two errors to either side");
    if any_off {
        draw_mark(canvas, (x + 7.0, y), (x + 2.0, x + 12.0), true);
        name(canvas, &mut x, "off by more");
    }
}

/// A disc, or a diamond where it is off, on a line from left to right.
fn draw_mark(canvas: &mut Canvas, at: Point, (left, right): (f64, f64), is_off: bool) {
    let colour = if is_off { VERMILION } else { BLUE };
    canvas.line((left, at.1), (right, at.1), Stroke::solid(colour, 2.2));
    if is_off {
        canvas.area(&[(at.0 - 4.5, at.1), (at.0, at.1 - 5.0), (at.0 + 4.5, at.1), (at.0, at.1 + 5.0)], colour, 1.0);
    } else {
        canvas.disc(at, 3.4, colour);
    }
}

fn draw_zone(canvas: &mut Canvas, zone: &ColonySizes, corner: Point, (width, height): (f64, f64)) {
    let top_of = |share: &ClassShare| 100.0 * share.truth.max(share.written + ERRORS * share.error);
    let panel = Panel {
        left: corner.0 + LEFT_ROOM,
        top: corner.1 + 22.0,
        width: width - LEFT_ROOM - 12.0,
        height: height - 22.0 - BELOW_ROOM - 10.0,
        x: Scale::linear(0.0, zone.classes.len() as f64),
        y: Scale::from_nought(shares(zone).map(top_of)),
    };
    let name = fonts::fit(&zone.zone, NORMAL, true, width - LEFT_ROOM - 8.0);
    canvas.text((panel.left, corner.1 + 8.0), &name, Text::new(NORMAL).bold());
    draw_axes(canvas, &panel, zone);
    for (index, class) in zone.classes.iter().enumerate() {
        draw_class(canvas, &panel, index as f64, class);
    }
}

fn draw_class(canvas: &mut Canvas, panel: &Panel, index: f64, class: &SizeClass) {
    match &class.after {
        None => draw_share(canvas, panel, (index + 0.1, index + 0.9), &class.before, GRID),
        Some(after) => {
            draw_share(canvas, panel, (index + 0.08, index + 0.49), &class.before, GRID);
            draw_share(canvas, panel, (index + 0.51, index + 0.92), after, ORANGE);
        }
    }
}

/// A bar for the law, mark and band for what belts write.
fn draw_share(canvas: &mut Canvas, panel: &Panel, (left, right): (f64, f64), share: &ClassShare, fill: RGBColor) {
    let (foot, head) = (panel.at(left, 0.0), panel.at(right, 100.0 * share.truth));
    canvas.rectangle(foot, head, fill, if fill == GRID { 1.0 } else { 0.45 });
    canvas.frame(foot, head, Stroke::solid(QUIET, 0.8));
    let (low, high) = (share.written - ERRORS * share.error, share.written + ERRORS * share.error);
    let (quarter, middle) = (0.25 * (right - left), 0.5 * (left + right));
    let lower = panel.at(left + quarter, 100.0 * low.max(0.0));
    let upper = panel.at(right - quarter, 100.0 * high);
    canvas.rectangle(lower, upper, BLUE, 0.35);
    draw_mark(canvas, panel.at(middle, 100.0 * share.written), (lower.0, upper.0), is_off(share));
}

fn shares(zone: &ColonySizes) -> impl Iterator<Item = &ClassShare> {
    zone.classes.iter().flat_map(|class| std::iter::once(&class.before).chain(&class.after))
}

/// "a fall from 28 to 14 % (large colonies first)"
fn fall(change: &Change) -> String {
    let percent = |share: f64| significant(100.0 * share, 3);
    let how = change.deaths.map_or(String::new(), |deaths| format!(" ({})", deaths.short()));
    format!("a fall from {} to {} %{how}", percent(change.from), percent(change.to))
}

/// Whether belts write plainly another share than there is.
fn is_off(share: &ClassShare) -> bool {
    (share.written - share.truth).abs() > ERRORS * share.error
}

/// The y axis as usual; below, the name of each class.
fn draw_axes(canvas: &mut Canvas, panel: &Panel, zone: &ColonySizes) {
    for tick in panel.y.ticks((panel.height / 26.0) as usize) {
        let (_, y) = panel.at(0.0, tick);
        canvas.line((panel.left, y), (panel.right(), y), Stroke::solid(GRID, 0.8));
        canvas.text((panel.left - 6.0, y), &significant(tick, 3), Text::new(SMALL).colour(QUIET).to_the_left());
    }
    canvas.line((panel.left, panel.top), (panel.left, panel.bottom()), Stroke::solid(INK, 0.9));
    canvas.line((panel.left, panel.bottom()), (panel.right(), panel.bottom()), Stroke::solid(INK, 0.9));
    let middle = panel.top + panel.height / 2.0;
    canvas.text((panel.left - 40.0, middle), "colonies in 100", Text::new(NORMAL).centred().upwards());
    let room = panel.width / zone.classes.len() as f64 - 2.0;
    for (index, class) in zone.classes.iter().enumerate() {
        let (x, _) = panel.at(index as f64 + 0.5, 0.0);
        let name = fonts::fit(&class_name(class, index + 1 == zone.classes.len()), SMALL, false, room);
        canvas.text((x, panel.bottom() + 13.0), &name, Text::new(SMALL).colour(QUIET).centred());
    }
    let below = (panel.left + panel.width / 2.0, panel.bottom() + 31.0);
    canvas.text(below, "largest diameter, cm", Text::new(NORMAL).centred());
}

/// "5-10", "80+"
fn class_name(class: &SizeClass, is_last: bool) -> String {
    let cm = |metres: f64| trimmed(100.0 * metres, 1);
    if is_last { format!("{}+", cm(class.from_m)) } else { format!("{}-{}", cm(class.from_m), cm(class.to_m)) }
}

/// "Six belts tell the share of each class of sizes on a site to within 6 in 100, but 2 of 7 shares that they write are off by more than that".
fn finding(zones: &[ColonySizes]) -> String {
    let classes = || zones.iter().flat_map(shares);
    let worst = largest(classes().map(|share| 100.0 * ERRORS * share.error)).unwrap_or(f64::NAN);
    let belts = match zones[0].units {
        1 => "One belt tells".to_string(),
        number => format!("{} belts tell", number_word(number)),
    };
    let off = classes().filter(|share| is_off(share)).count();
    let all = classes().count();
    let but = match off {
        0 => String::new(),
        1 => format!(", but 1 of {all} shares that they write is off by more than its error"),
        _ => format!(", but {off} of {all} shares that they write are off by more than their errors"),
    };
    format!("{belts} the share of each class of sizes on a site to within {} in 100{but}", significant(worst, 2))
}
