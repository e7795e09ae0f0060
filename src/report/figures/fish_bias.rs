//! What is written of 100 fish, and of 100 kg of them, that are there: cause by cause, on a logarithmic axis about 100.

use super::axes::{BELOW_ROOM, Panel, Scale, largest, smallest, tick_text};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{GRID, INK, PAPER, QUIET, cause_style};
use super::figure::{Figure, WIDTH, Words};
use crate::planner::FishBias;
use crate::report::digits::significant;
use crate::report::fish::{LEAST, group_name, unit_title};
use crate::report::fonts;
use crate::report::report::Report;
use crate::report::select::distinct;
use crate::report::words::{plain, sentence};
use crate::theory::fish::{BiasCause, BiasPart};
use std::cmp::Ordering;

/// Groups drawn of one kind of units, those that are farthest off.
const MOST_ROWS: usize = 16;
/// Kinds of units in one figure; more make another figure.
const MOST_KINDS: usize = 3;
/// Figures of this sort.
const MOST_FIGURES: usize = 3;

const ROW: f64 = 18.0;
/// Of kinds with names of two lines.
const TALL_ROW: f64 = 29.0;
const NAME_LINE: f64 = 12.0;
const BAR: f64 = 6.0;
/// Left of the bars; longer names get more, then a second line.
const NAMES: f64 = 134.0;
const MOST_NAMES: f64 = 190.0;
/// What of that is no name.
const BESIDE_NAMES: f64 = 20.0;
/// Room for the number right of a panel.
const NUMBERS: f64 = 36.0;
const GAP: f64 = 12.0;
const KEY_ROW: f64 = 18.0;
const SWATCH: f64 = 22.0;
const RIGHT: f64 = 8.0;

/// All groups in units of one kind.
struct Kind<'a> {
    title: String,
    rows: Vec<Bias<'a>>,
    /// Groups for which there was no room.
    hidden: usize,
}

impl Kind<'_> {
    fn row_height(&self) -> f64 {
        if self.rows.iter().all(|row| row.name_lines().len() == 1) { ROW } else { TALL_ROW }
    }

    fn height(&self) -> f64 {
        22.0 + self.row_height() * self.rows.len() as f64 + BELOW_ROOM + 4.0
    }
}

struct Bias<'a> {
    name: String,
    bias: &'a FishBias,
}

impl Bias<'_> {
    /// The name in one line or two; what has no room in two is cut.
    fn name_lines(&self) -> Vec<String> {
        let room = MOST_NAMES - BESIDE_NAMES;
        let lines = fonts::wrap(&self.name, SMALL, false, room);
        match lines.as_slice() {
            [first, second, _, ..] => vec![first.clone(), fonts::fit(&format!("{second} ..."), SMALL, false, room)],
            _ => lines.iter().map(|line| fonts::fit(line, SMALL, false, room)).collect(),
        }
    }
}

/// Room for the names of all rows, so that the panels of all kinds stand under each other.
fn names_width(kinds: &[Kind]) -> f64 {
    let lines = kinds.iter().flat_map(|kind| &kind.rows).flat_map(Bias::name_lines);
    let longest = largest(lines.map(|line| fonts::width(&line, SMALL, false))).unwrap_or(0.0);
    (longest + BESIDE_NAMES).clamp(NAMES, MOST_NAMES)
}

/// Which of two numbers of a cause.
type Measure = fn(&BiasPart) -> f64;

/// None where no fish are counted; several where there are many kinds of units.
pub fn fish_bias(report: &Report) -> Vec<Figure> {
    let all: Vec<&FishBias> = report.answer.fish_bias.iter().filter(|bias| is_drawable(bias)).collect();
    let titles = distinct(all.iter().map(|bias| unit_title(bias)));
    let kinds: Vec<Kind> = titles.into_iter().map(|title| kind(&all, title)).collect();
    let parts = kinds.chunks(MOST_KINDS).take(MOST_FIGURES).enumerate();
    parts.filter_map(|(number, kinds)| figure(kinds, number)).collect()
}

/// Numbers that have a place on a logarithmic axis, or nought for the whole group, which has a mark at its edge.
fn is_drawable(bias: &FishBias) -> bool {
    let is_never = is_never(bias);
    let has_place = |factor: f64| (1e-4..1e4).contains(&factor) || (is_never && factor == 0.0);
    has_place(bias.density)
        && has_place(bias.biomass)
        && bias.parts.iter().all(|part| has_place(part.density) && has_place(part.biomass))
}

/// Whether none of the group is ever written.
fn is_never(bias: &FishBias) -> bool {
    bias.density == 0.0 && bias.biomass == 0.0
}

fn kind<'a>(all: &[&'a FishBias], title: String) -> Kind<'a> {
    let of_kind = || all.iter().copied().filter(|bias| unit_title(bias) == title);
    let groups = distinct(of_kind().map(|bias| bias.group.as_str()));
    let mut rows: Vec<Bias> = Vec::new();
    for group in groups {
        let of_group: Vec<&FishBias> = of_kind().filter(|bias| bias.group == group).collect();
        // Zones where the same is written share a row.
        let is_same = |bias: &&FishBias| {
            (is_never(bias) && is_never(of_group[0]))
                || ((bias.density / of_group[0].density - 1.0).abs() < LEAST
                    && (bias.biomass / of_group[0].biomass - 1.0).abs() < LEAST)
        };
        let name = group_name(of_group[0]);
        if of_group.iter().all(is_same) {
            rows.push(Bias { name, bias: of_group[0] });
        } else {
            rows.extend(of_group.into_iter().map(|bias| Bias { name: format!("{name}, {}", bias.zone), bias }));
        }
    }
    let hidden = rows.len().saturating_sub(MOST_ROWS);
    if hidden > 0 {
        let mut order: Vec<f64> = rows.iter().map(|row| row.bias.off()).collect();
        order.sort_by(|one, other| other.total_cmp(one));
        let least = order[MOST_ROWS - 1];
        rows.retain(|row| row.bias.off() >= least);
        rows.truncate(MOST_ROWS);
    }
    Kind { title, rows, hidden }
}

fn figure(kinds: &[Kind], number: usize) -> Option<Figure> {
    let rows = || kinds.iter().flat_map(|kind| &kind.rows);
    // What a method never counts is farthest off, and nothing new; it leads only where there is nothing else.
    let off = |row: &&Bias| (!is_never(row.bias), row.bias.off());
    let worst = rows().max_by(|one, other| off(one).partial_cmp(&off(other)).unwrap_or(Ordering::Equal))?;
    let (x, key, names) = (axis(kinds), Key::of(kinds), names_width(kinds));
    let hidden: usize = kinds.iter().map(|kind| kind.hidden).sum();
    let finding = finding(worst);
    let never = if rows().any(|row| is_never(row.bias)) {
        " An arrow at the left edge and 0: of these none is ever written (0 lies beyond every such axis)."
    } else {
        ""
    };
    let more = if hidden > 0 { format!(" {hidden} more, less far off, are in the table.") } else { String::new() };
    let words = Words {
        name: if number == 0 { "fish-bias".into() } else { format!("fish-bias-{}", number + 1) },
        alt: format!("Bars of what each cause adds to or takes from 100 fish, a row for each group. {finding}."),
        title: finding,
        subtitle:
            "What is written of 100 fish (left) and of 100 kg (right) that are there, by formula. Diamond and number: \
                   what comes of it all, in bold below 80 and above 125."
                .into(),
        caption: format!(
            "Of 100 fish, and of 100 kg of fish, that are there, so many are written down (diamond and number). What adds to \
             them is to the right of 100, what takes from them to the left, each cause as long as it works; on this axis \
             lengths add up as factors multiply, so the diamond is where both sides together end. Causes that \
             work too little to be seen are in the table.{never} A bias that stays the same \
             leaves the ratio of two visits as it is; a bias that moves between them is a false change.{more}"
        ),
    };
    let heights: f64 = kinds.iter().map(Kind::height).sum();
    Some(words.draw(key.height() + heights, |canvas, top| {
        key.draw(canvas, top);
        let mut y = top + key.height();
        for kind in kinds {
            draw_kind(canvas, kind, (x, names), y);
            y += kind.height();
        }
    }))
}

/// "Of 100 surgeonfish 221 are written down, most of it by fish that swim in during the count (fish belts, 30 x 2 m in 8 min)":
/// of the causes on the side to which it is off the one that does most.
fn finding(worst: &Bias) -> String {
    let bias = worst.bias;
    let by_weight = libm::fabs(libm::log(bias.biomass)) > libm::fabs(libm::log(bias.density)) + 0.05;
    let factor = if by_weight { bias.biomass } else { bias.density };
    let most = bias.largest_on_its_side(by_weight);
    let because = most.map_or(String::new(), |part| format!(", most of it by {}", part.cause.words()));
    let place = worst.name.split_once(", ").map_or(String::new(), |(_, zone)| format!(" in {zone}"));
    format!(
        "Of 100{} {}{place} {} {} written down{because} ({})",
        if by_weight { " kg of" } else { "" },
        plain(&bias.group),
        whole(100.0 * factor),
        if by_weight { "kg are" } else { "are" },
        unit_title(bias)
    )
}

/// "14 000": so many digits, thousands apart.
fn spaced(digits: i32, number: f64) -> String {
    let step = libm::pow(10.0, libm::floor(libm::log10(number)) + 1.0 - f64::from(digits));
    let whole = format!("{:.0}", step * (number / step).round());
    let groups: Vec<&str> =
        whole.as_bytes().rchunks(3).rev().map(|group| std::str::from_utf8(group).unwrap_or("")).collect();
    groups.join(" ")
}

/// Fish are told whole, but for few.
fn whole(number: f64) -> String {
    match number {
        10.0..1000.0 => format!("{number:.0}"),
        1000.0.. => spaced(2, number),
        _ => significant(number, 2),
    }
}

/// What all causes that take make together, and all that add.
fn reach(bias: &FishBias, measure: Measure) -> (f64, f64) {
    let mut sides = (1.0, 1.0);
    for part in &bias.parts {
        let factor = measure(part);
        // Nought lies beyond every axis.
        if factor == 0.0 {
            continue;
        }
        if factor < 1.0 { sides.0 *= factor } else { sides.1 *= factor }
    }
    sides
}

const MEASURES: [Measure; 2] = [|part| part.density, |part| part.biomass];

/// One axis for all panels, of hundredths.
fn axis(kinds: &[Kind]) -> Scale {
    let rows = || kinds.iter().flat_map(|kind| &kind.rows);
    let sides = || rows().flat_map(|row| MEASURES.map(|measure| reach(row.bias, measure)));
    let low = smallest(sides().map(|side| side.0)).unwrap_or(1.0).min(0.7);
    let high = largest(sides().map(|side| side.1)).unwrap_or(1.0).max(1.45);
    Scale::log(100.0 * low / 1.04, 100.0 * high * 1.04)
}

fn draw_kind(canvas: &mut Canvas, kind: &Kind, (x, names): (Scale, f64), top: f64) {
    let title = fonts::fit(&sentence(&kind.title), NORMAL, true, WIDTH - 24.0);
    canvas.text((12.0, top + 8.0), &title, Text::new(NORMAL).bold());
    let (width, row_height) = ((WIDTH - names - 2.0 * NUMBERS - GAP - RIGHT) / 2.0, kind.row_height());
    let titles = ["fish written of 100", "kg written of 100"];
    for (side, measure) in MEASURES.into_iter().enumerate() {
        let panel = Panel {
            left: names + side as f64 * (width + NUMBERS + GAP),
            top: top + 20.0,
            width,
            height: row_height * kind.rows.len() as f64 + 2.0,
            x,
            y: Scale::linear(0.0, 1.0),
        };
        draw_frame(canvas, &panel, titles[side]);
        let rows =
            || (0..kind.rows.len()).map(|index| panel.top + row_height * (index as f64 + 0.5) + 1.0).zip(&kind.rows);
        for (y, row) in rows() {
            if side == 0 {
                let lines = row.name_lines();
                let first = y - 0.5 * NAME_LINE * (lines.len() as f64 - 1.0);
                for (number, line) in lines.iter().enumerate() {
                    let at = (names - 8.0, first + NAME_LINE * number as f64);
                    canvas.text(at, line, Text::new(SMALL).to_the_left());
                }
            }
            draw_causes(canvas, &panel, row.bias, measure, y);
        }
        let none = panel.at(100.0, 0.0).0;
        canvas.line((none, panel.top - 2.0), (none, panel.bottom()), Stroke::solid(INK, 1.3));
        rows().for_each(|(y, row)| draw_outcome(canvas, &panel, row.bias, measure, y));
    }
}

/// Quiet grid lines and the axis below.
fn draw_frame(canvas: &mut Canvas, panel: &Panel, name: &str) {
    let bottom = panel.bottom();
    let mut free_from = f64::NEG_INFINITY;
    let mut ticks = panel.x.ticks((panel.width / 34.0) as usize);
    // The line of no bias has its number whatever the others are.
    ticks.retain(|tick| (tick - 100.0).abs() > 0.5);
    ticks.push(100.0);
    ticks.sort_by(f64::total_cmp);
    let none = panel.at(100.0, 0.0).0;
    let keep = fonts::width("100", SMALL, true) / 2.0 + 4.0;
    for tick in ticks {
        let (at, _) = panel.at(tick, 0.0);
        let half = fonts::width(&tick_text(tick), SMALL, false) / 2.0;
        let is_none = tick == 100.0;
        canvas.line((at, panel.top), (at, bottom), Stroke::solid(GRID, 0.8));
        if is_none || (at - half >= free_from && (at - none).abs() > half + keep) {
            canvas.line((at, bottom), (at, bottom + 4.0), Stroke::solid(INK, 0.8));
            let style = if is_none { Text::new(SMALL).bold() } else { Text::new(SMALL).colour(QUIET) };
            canvas.text((at, bottom + 13.0), &tick_text(tick), style.centred());
            free_from = at + half + 4.0;
        }
    }
    canvas.line((panel.left, bottom), (panel.right(), bottom), Stroke::solid(INK, 0.9));
    canvas.text((panel.left + panel.width / 2.0, bottom + 28.0), name, Text::new(SMALL).centred());
}

/// What comes of all causes: its place on the axis, and in hundredths.
fn outcome(panel: &Panel, bias: &FishBias, measure: Measure) -> (f64, f64) {
    let hundredths = 100.0 * bias.parts.iter().map(measure).product::<f64>();
    (place_of(panel, hundredths), hundredths)
}

/// The place of so many hundredths, nought being at the left edge.
fn place_of(panel: &Panel, hundredths: f64) -> f64 {
    if hundredths > 0.0 { panel.at(hundredths, 0.0).0 } else { panel.left }
}

/// Causes laid end to end on their side of 100.
fn draw_causes(canvas: &mut Canvas, panel: &Panel, bias: &FishBias, measure: Measure, y: f64) {
    let diamond = outcome(panel, bias, measure).0;
    let (mut low, mut high) = (100.0, 100.0);
    for part in &bias.parts {
        let factor = measure(part);
        let end = if factor < 1.0 { &mut low } else { &mut high };
        let from = place_of(panel, *end);
        *end *= factor;
        let to = place_of(panel, *end);
        let (from, to) = (from.min(to), from.max(to));
        if to - from > SLIVER {
            // The diamond hides no letter.
            let is_free = (0.5 * (from + to) - diamond).abs() > DIAMOND + 4.0;
            draw_segment(canvas, part.cause, (from, to), y, is_free);
        }
    }
}

/// What is thinner is not drawn: it works less than one per cent on most axes.
const SLIVER: f64 = 0.8;

/// Half the width of the diamond.
const DIAMOND: f64 = 4.8;

fn draw_outcome(canvas: &mut Canvas, panel: &Panel, bias: &FishBias, measure: Measure, y: f64) {
    let (x, hundredths) = outcome(panel, bias, measure);
    let corners = |half: f64| -> [Point; 4] {
        let high = 1.25 * half;
        [(x - half, y), (x, y - high), (x + half, y), (x, y + high)]
    };
    // It points out of the axis.
    let arrow = |half: f64| -> [Point; 3] {
        let (tip, high) = (panel.left - 0.8 * DIAMOND, 1.25 * half);
        [(tip - (half - DIAMOND), y), (panel.left + half, y - high), (panel.left + half, y + high)]
    };
    if hundredths > 0.0 {
        canvas.area(&corners(1.3 * DIAMOND), PAPER, 1.0);
        canvas.area(&corners(DIAMOND), INK, 1.0);
    } else {
        canvas.area(&arrow(1.3 * DIAMOND), PAPER, 1.0);
        canvas.area(&arrow(DIAMOND), INK, 1.0);
    }
    let is_far = !(80.0..=125.0).contains(&hundredths);
    let style = if is_far { Text::new(SMALL).bold() } else { Text::new(SMALL).colour(QUIET) };
    canvas.text((panel.right() + NUMBERS - 2.0, y), &whole(hundredths), style.to_the_left());
}

fn draw_segment(canvas: &mut Canvas, cause: BiasCause, (from, to): (f64, f64), y: f64, with_letter: bool) {
    let style = cause_style(cause as usize);
    canvas.rectangle((from, y - BAR), (to, y + BAR), style.fill, 1.0);
    // The paper between two causes would hide a thin one.
    if to - from > 4.0 {
        canvas.frame((from, y - BAR), (to, y + BAR), Stroke::solid(PAPER, 0.7));
    }
    let letter = letter(cause);
    if with_letter && to - from > fonts::width(letter, SMALL, false) + 3.0 {
        canvas.text(((from + to) / 2.0, y), letter, Text::new(SMALL).colour(style.text).centred());
    }
}

/// One letter tells a cause without its colour.
fn letter(cause: BiasCause) -> &'static str {
    match cause {
        BiasCause::Movement => "m",
        BiasCause::AfterDivers => "a",
        BiasCause::Width => "w",
        BiasCause::Hidden => "h",
        BiasCause::Distance => "d",
        BiasCause::Reaction => "r",
        BiasCause::Size => "s",
        BiasCause::LengthError => "e",
        BiasCause::Classes => "c",
    }
}

/// Which colours and letters mean what: of the causes that are there.
struct Key {
    /// Left, row, cause, name.
    entries: Vec<(f64, usize, BiasCause, &'static str)>,
}

impl Key {
    fn of(kinds: &[Kind]) -> Key {
        let parts = || kinds.iter().flat_map(|kind| &kind.rows).flat_map(|row| &row.bias.parts);
        let matters = |part: &&BiasPart| (part.density - 1.0).abs() > LEAST || (part.biomass - 1.0).abs() > LEAST;
        let mut causes = distinct(parts().filter(matters).map(|part| part.cause));
        causes.sort_by_key(|cause| *cause as usize);
        let mut entries: Vec<(f64, usize, BiasCause, &'static str)> = Vec::new();
        let (mut x, mut row) = (12.0, 0);
        for cause in causes {
            let name = cause.words();
            let wide = SWATCH + fonts::width(name, SMALL, false);
            if x > 12.0 && x + wide > WIDTH - 12.0 {
                (x, row) = (12.0, row + 1);
            }
            entries.push((x, row, cause, name));
            x += wide + 14.0;
        }
        Key { entries }
    }

    fn height(&self) -> f64 {
        self.entries.last().map_or(0.0, |entry| KEY_ROW * (entry.1 + 1) as f64 + 8.0)
    }

    fn draw(&self, canvas: &mut Canvas, top: f64) {
        for &(x, row, cause, name) in &self.entries {
            let y = top + 4.0 + KEY_ROW * row as f64;
            draw_segment(canvas, cause, (x, x + SWATCH - 4.0), y, true);
            canvas.text((x + SWATCH, y), name, Text::new(SMALL));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::synthetic;

    fn product(bias: &FishBias, measure: Measure) -> f64 {
        let (down, up) = reach(bias, measure);
        down * up
    }

    #[test]
    fn both_sides_together_are_the_whole_and_the_axis_holds_them() {
        let report = synthetic::fish_report(10, 3);
        for bias in &report.answer.fish_bias {
            assert!((product(bias, MEASURES[0]) / bias.density - 1.0).abs() < 1e-12);
            assert!((product(bias, MEASURES[1]) / bias.biomass - 1.0).abs() < 1e-12);
        }
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
        let kinds = [kind(&all, unit_title(all[0]))];
        assert_eq!(kinds[0].rows.len(), 10);
        let x = axis(&kinds);
        for row in &kinds[0].rows {
            for measure in MEASURES {
                let (down, up) = reach(row.bias, measure);
                assert!(x.share(100.0 * down) >= 0.0 && x.share(100.0 * up) <= 1.0);
            }
        }
    }

    /// Fish swim in twice over, which is more than what is not seen; but most is not seen of those that are told too few.
    #[test]
    fn the_title_names_a_cause_of_its_side() {
        let mut report = synthetic::fish_report(1, 1);
        let bias = &mut report.answer.fish_bias[0];
        for part in &mut bias.parts {
            (part.density, part.biomass) = match part.cause {
                BiasCause::Movement => (2.0, 2.0),
                BiasCause::Distance | BiasCause::Hidden => (0.55, 0.55),
                BiasCause::Size => (0.6, 0.6),
                _ => (1.0, 1.0),
            };
        }
        let product: f64 = bias.parts.iter().map(|part| part.density).product();
        (bias.density, bias.biomass) = (product, product);
        let title = fish_bias(&report).remove(0).title;
        assert!(title.starts_with("Of 100 parrotfish 36 are written down, most of it by fish too far away"), "{title}");
    }

    #[test]
    fn zones_that_are_alike_share_a_row_and_many_rows_are_cut() {
        let mut report = synthetic::fish_report(10, 1);
        let mut other = report.answer.fish_bias.clone();
        other.iter_mut().for_each(|bias| bias.zone = "lagoon".into());
        other[3].density *= 1.3;
        report.answer.fish_bias.extend(other);
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
        let rows = kind(&all, unit_title(all[0])).rows;
        assert_eq!(rows.len(), 11);
        assert_eq!(rows.iter().filter(|row| row.name.contains("lagoon")).count(), 1);
        let report = synthetic::fish_report(30, 1);
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
        let kind = kind(&all, unit_title(all[0]));
        assert_eq!((kind.rows.len(), kind.hidden), (MOST_ROWS, 14));
        let shown = kind.rows.iter().map(|row| row.bias.off()).fold(f64::INFINITY, f64::min);
        let farther = report.answer.fish_bias.iter().filter(|bias| bias.off() > shown + 1e-12).count();
        assert!(farther < MOST_ROWS);
    }

    /// Long names widen their column, then take a second line; every word of them is drawn.
    #[test]
    fn long_names_are_not_cut() {
        let mut report = synthetic::fish_report(10, 2);
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
        let usual = [kind(&all, unit_title(all[0]))];
        assert!(usual[0].rows.iter().any(|row| row.name == "Goby of the rubble holes"));
        assert!((NAMES + 1.0..MOST_NAMES).contains(&names_width(&usual)) && usual[0].row_height() == ROW);
        let height = usual[0].height();
        report.answer.fish_bias[4].group = "large_roving_predators_of_the_outer_reef_slope".into();
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
        let kinds = [kind(&all, unit_title(all[0]))];
        let lines = kinds[0].rows[4].name_lines();
        assert_eq!(lines.join(" "), "Large roving predators of the outer reef slope");
        assert!(lines.len() == 2 && kinds[0].row_height() == TALL_ROW && names_width(&kinds) <= MOST_NAMES);
        assert!(kinds[0].height() > height + 9.0 * (TALL_ROW - ROW));
        let svg = fish_bias(&report).remove(0).svg;
        assert!(lines.iter().all(|line| svg.contains(line)) && !svg.contains('…'), "{lines:?}");
    }

    #[test]
    fn many_kinds_make_several_figures_and_strange_numbers_none() {
        let names = |report: &Report| fish_bias(report).into_iter().map(|figure| figure.name).collect::<Vec<_>>();
        assert_eq!(names(&synthetic::fish_report(10, 3)), ["fish-bias"]);
        assert_eq!(names(&synthetic::fish_report(4, 4)), ["fish-bias", "fish-bias-2"]);
        assert!(names(&synthetic::report()).is_empty());
        // What is never written has its row, and what else acts on it its place on the axis.
        let mut report = synthetic::fish_report(3, 1);
        let never = &mut report.answer.fish_bias[0];
        (never.density, never.biomass) = (0.0, 0.0);
        let hidden = never.parts.iter_mut().find(|part| part.cause == BiasCause::Hidden).unwrap();
        (hidden.density, hidden.biomass) = (0.0, 0.0);
        let name = group_name(never);
        let all: Vec<&FishBias> = report.answer.fish_bias.iter().filter(|bias| is_drawable(bias)).collect();
        let kinds = [kind(&all, unit_title(all[0]))];
        assert_eq!((kinds[0].rows.len(), kinds[0].rows.iter().any(|row| row.name == name)), (3, true));
        let (down, up) = reach(kinds[0].rows[0].bias, MEASURES[0]);
        assert!(down > 0.0 && axis(&kinds).share(100.0 * down) >= 0.0 && axis(&kinds).share(100.0 * up) <= 1.0);
        let figure = fish_bias(&report).remove(0);
        assert!(!figure.title.contains(" 0 are written down") && figure.caption.contains("none is ever written"));
        report.answer.fish_bias.truncate(1);
        assert!(fish_bias(&report).remove(0).title.contains(" 0 are written down"));
        let mut report = synthetic::fish_report(2, 1);
        for (bias, strange) in report.answer.fish_bias.iter_mut().zip([f64::NAN, 0.0]) {
            bias.parts[0].density = strange;
        }
        assert!(names(&report).is_empty());
    }
}
