//! The reef from above: the whole site, and a closer look where several methods meet.

use super::canvas::{Canvas, NORMAL, SMALL, Stroke, Text};
use super::colours::{INK, PAPER, QUIET};
use super::figure::{Figure, WIDTH, Words};
use super::names::draw_names;
use super::reef_animals::{draw_animals, draw_fish, draw_recruits};
use super::reef_bottom::draw_bottom;
use super::reef_key::Key;
use super::reef_units::{draw_earlier, draw_units};
use super::window::Window;
use crate::planner::{PictureColony, ReefPicture};
use crate::report::digits::significant;
use crate::report::fonts;
use crate::report::words::{plain, sentence};

/// More discs than this make a file that is slow to open.
const MOST_DISCS: usize = 12_000;
/// More animals than this hide the reef: then they are drawn in the closer look alone.
const MOST_ANIMALS: usize = 400;
pub const LEFT: f64 = 20.0;
const CAPTION_LINE: f64 = 15.0;
/// Heights that leave room for the rest on a page.
const TALLEST: f64 = 420.0;
const TALLEST_CLOSE: f64 = 260.0;
/// Length and width of the closer look, metres, where the site allows; and where units are wide or fish are shown.
const CLOSE: (f64, f64) = (12.0, 4.0);
const CLOSE_OF_WIDE: (f64, f64) = (45.0, 16.0);
/// What lies nearer to an edge of the closer look than this share of it does not count there.
const EDGE: f64 = 0.2;
/// Units of this width are wide, m.
const WIDE_M: f64 = 3.0;
/// More fish than this hide the reef: the groups with most fish are then drawn in the closer look alone.
const MOST_FISH: usize = 3_000;

/// `None` where the site has no size that could be drawn.
///
/// `with_caption` writes the caption under the picture, for one that stands alone.
pub fn reef(picture: &ReefPicture, name: String, with_caption: bool) -> Option<Figure> {
    let (length, width) = (picture.length_m, picture.width_m);
    if !(1e-3 < length && length < 1e5 && 1e-3 < width && width < 1e5) {
        return None;
    }
    let room = WIDTH - 2.0 * LEFT;
    let smallest_radius = smallest_drawn(&picture.colonies);
    let drawn: Vec<&PictureColony> =
        picture.colonies.iter().filter(|disc| f64::from(disc.radius) >= smallest_radius).collect();
    let animals_on_whole = picture.animals.iter().map(|kind| kind.places.len()).sum::<usize>() <= MOST_ANIMALS;
    let fish_on_whole = fish_on_whole(picture);
    let is_wide = !picture.fish.is_empty() || picture.units.iter().any(|unit| unit.width_m >= WIDE_M);
    let close_size = if is_wide { CLOSE_OF_WIDE } else { CLOSE };
    let close_size = (close_size.0.min(length), close_size.1.min(width));
    let per_metre = (room / length).min(TALLEST / width);
    let close_per_metre = (room / close_size.0).min(TALLEST_CLOSE / close_size.1);
    let shows_close = !picture.units.is_empty() && length > 1.5 * close_size.0;
    let close_body = if shows_close { 24.0 + close_size.1 * close_per_metre + 28.0 } else { 0.0 };
    let key = Key::of(picture);
    let shown = Drawn {
        discs: drawn.len(),
        smallest_m: 2.0 * smallest_radius,
        animals_on_whole,
        fish_on_whole: fish_on_whole.clone(),
        shows_close,
    };
    let caption = caption(picture, &shown);
    let under = if with_caption { fonts::wrap(&caption, SMALL, false, room) } else { Vec::new() };
    let body = 2.0 + width * per_metre + 28.0 + close_body + key.height() + 8.0 + CAPTION_LINE * under.len() as f64;
    let title =
        format!("{}: {} by {} m of reef from above", picture.zone, significant(length, 3), significant(width, 3));
    let title = if picture.second.is_some() { format!("{title}, at the second visit") } else { title };
    let words = Words {
        name,
        alt: format!(
            "A map of a {} with {} coral colonies drawn to scale and {} units laid on it.",
            if picture.is_a_map { "reef" } else { "virtual site" },
            picture.colonies.len(),
            picture.units.len()
        ),
        title: sentence(&title),
        subtitle: picture.assumed.clone(),
        caption,
    };
    Some(words.draw(body, |canvas, top| {
        let whole = Window {
            left_m: 0.0,
            bottom_m: 0.0,
            width_m: length,
            height_m: width,
            left: LEFT,
            top: top + 2.0,
            per_metre,
        };
        draw_bottom(canvas, picture, &whole);
        drawn.iter().for_each(|disc| whole.draw_disc(canvas, disc));
        draw_fish(canvas, picture, &fish_on_whole, &whole, 0.6);
        draw_earlier(canvas, picture, &whole);
        draw_units(canvas, picture, &whole);
        // Where there is no closer look.
        if !shows_close {
            draw_recruits(canvas, picture, &whole);
        }
        if animals_on_whole {
            draw_animals(canvas, picture, &whole, 0.8);
        }
        whole.draw_frame(canvas);
        whole.draw_scale_bar(canvas, whole.bottom() + 14.0);
        let mut taken = Vec::new();
        let mut y = whole.bottom() + 28.0;
        if shows_close {
            let close = close_window(picture, (room / close_per_metre, close_size.1), y + 24.0, close_per_metre);
            let framed = (close.left_m + close.width_m, close.bottom_m + close.height_m);
            let (lower, upper) = (whole.at(close.left_m, close.bottom_m), whole.at(framed.0, framed.1));
            canvas.frame(lower, upper, Stroke::solid(PAPER, 3.0));
            canvas.frame(lower, upper, Stroke::solid(INK, 1.4));
            taken.extend([
                (lower.0, upper.1 - 2.0, upper.0, upper.1 + 2.0),
                (lower.0, lower.1 - 2.0, upper.0, lower.1 + 2.0),
            ]);
            draw_close(canvas, picture, &close);
            y = close.bottom() + 28.0;
        }
        draw_names(canvas, &picture.units, &whole, taken);
        key.draw(canvas, y + 8.0);
        for (number, line) in under.iter().enumerate() {
            let y = y + key.height() + 10.0 + CAPTION_LINE * number as f64;
            canvas.text((LEFT, y), line, Text::new(SMALL).colour(QUIET));
        }
    }))
}

/// The closer look: every colony, the units that cross it, and the animals.
fn draw_close(canvas: &mut Canvas, picture: &ReefPicture, close: &Window) {
    let (wide, high) = (significant(close.width_m, 3), significant(close.height_m, 3));
    let name = format!("Closer: the framed {wide} by {high} m");
    canvas.text(
        (LEFT, close.top - 12.0),
        &fonts::fit(&name, NORMAL, true, WIDTH - 2.0 * LEFT),
        Text::new(NORMAL).bold(),
    );
    draw_bottom(canvas, picture, close);
    picture.colonies.iter().for_each(|disc| close.draw_disc(canvas, disc));
    draw_recruits(canvas, picture, close);
    draw_fish(canvas, picture, &(0..picture.fish.len()).collect::<Vec<_>>(), close, 1.1);
    draw_earlier(canvas, picture, close);
    draw_units(canvas, picture, close);
    draw_animals(canvas, picture, close, 1.15);
    close.draw_frame(canvas);
    close.draw_scale_bar(canvas, close.bottom() + 14.0);
    draw_names(canvas, &picture.units, close, Vec::new());
}

/// Radius from which on colonies are drawn in the picture of the whole site.
fn smallest_drawn(discs: &[PictureColony]) -> f64 {
    if discs.len() <= MOST_DISCS {
        return 0.0;
    }
    let mut radii: Vec<f32> = discs.iter().map(|disc| disc.radius).collect();
    radii.sort_by(|one, other| other.total_cmp(one));
    f64::from(radii[MOST_DISCS - 1])
}

/// What of a picture is drawn.
struct Drawn {
    discs: usize,
    /// Diameter of the smallest on the whole site, m.
    smallest_m: f64,
    animals_on_whole: bool,
    /// Groups of fish on the whole site.
    fish_on_whole: Vec<usize>,
    shows_close: bool,
}

fn caption(picture: &ReefPicture, drawn: &Drawn) -> String {
    let visit = if picture.second.is_some() { "second" } else { "first" };
    let what = match picture.is_a_map {
        true if picture.second.is_some() => "The mapped reef at the second visit".to_owned(),
        true => "The mapped reef".to_owned(),
        false => format!("One virtual site at the {visit} visit"),
    };
    let drawn_to_scale = if picture.colonies.is_empty() { "" } else { "; colonies of hard coral drawn to scale" };
    let mut text = format!("{what}, seen from above{drawn_to_scale}. ");
    text += &sentence(&picture.caption);
    if let Some(second) = &picture.second {
        let under = if second.change.is_empty() { String::new() } else { format!(", {}", second.change) };
        text += &format!(
            " Since the first visit{under}: {} colonies are gone (white) and {} are new (blue). Thin dotted lines: where the units lay \
             then. Fish are not drawn: at any later moment they are elsewhere.",
            second.gone, second.new,
        );
    }
    if picture.colonies.iter().any(|colony| colony.is_covered) {
        text += " Pale: the colonies under others; they are part of the cover, but a belt does not count them.";
    }
    if drawn.discs < picture.colonies.len() {
        text += &format!(
            " The whole site shows the {} of at least {} cm across{}.",
            drawn.discs,
            significant(100.0 * drawn.smallest_m, 2),
            if drawn.shows_close { ", the closer look all" } else { "" }
        );
    }
    let animals = || picture.animals.iter().flat_map(|kind| &kind.places);
    if animals().next().is_some() {
        let hidden = animals().filter(|animal| animal.is_hidden).count();
        text += &format!(" Animals are larger than life: {} on the site", animals().count());
        text += &if hidden > 0 { format!(", {hidden} of them hidden by day (hollow)") } else { String::new() };
        text += if drawn.animals_on_whole { "." } else { ", drawn in the closer look alone." };
    }
    if !picture.recruits.is_empty() {
        let number = picture.recruits.len();
        let alone = if drawn.shows_close { ", in the closer look alone" } else { "" };
        text += &format!(
            " Recruits are dots, larger than life{alone}: {number} on the site that no colony covers, on bottom where they live."
        );
    }
    text + &fish_caption(picture, drawn)
}

/// Groups that are drawn on the whole site, as many as there is room for, those of few fish first.
fn fish_on_whole(picture: &ReefPicture) -> Vec<usize> {
    let mut order: Vec<usize> = (0..picture.fish.len()).collect();
    order.sort_by_key(|&group| picture.fish[group].places.len());
    let mut room = MOST_FISH;
    order.retain(|&group| {
        let fits = picture.fish[group].places.len() <= room;
        room = if fits { room - picture.fish[group].places.len() } else { 0 };
        fits
    });
    order.sort_unstable();
    order
}

/// How many fish are drawn, and what such a picture is not.
fn fish_caption(picture: &ReefPicture, drawn: &Drawn) -> String {
    let fish: usize = picture.fish.iter().map(|group| group.places.len()).sum();
    let schools: usize = picture.fish.iter().map(|group| group.schools).sum();
    let mut text = String::new();
    if fish > 0 {
        text += &format!(
            " Fish are larger than life: {fish} on the site at one moment before the first count, in {schools} schools of two or \
             more and alone; one draw of many, and while a belt is swum others come by."
        );
        let left: Vec<String> = (0..picture.fish.len())
            .filter(|group| !drawn.fish_on_whole.contains(group) && !picture.fish[*group].places.is_empty())
            .map(|group| plain(&picture.fish[group].name))
            .collect();
        if !left.is_empty() && drawn.shows_close {
            let are = if left.len() == 1 { "is" } else { "are" };
            let left = sentence(&left.join(", "));
            text += &format!(
                " {left} {are} so many that {} {are} drawn in the closer look alone.",
                if left.contains(", ") { "they" } else { "it" }
            );
        }
    }
    for group in picture.fish.iter().filter(|group| group.too_many) {
        text += &format!(
            " Of {} about {} are expected there, too many to be drawn.",
            plain(&group.name),
            significant(group.expected, 2)
        );
    }
    text
}

/// The closer look: the part of the site where units of most sets meet, and of such parts the one with most metres of
/// them.
fn close_window(picture: &ReefPicture, size: (f64, f64), top: f64, per_metre: f64) -> Window {
    const STEPS: (usize, usize) = (60, 24);
    let width_m = size.0.min(picture.length_m);
    let window = |step: (usize, usize)| {
        let share = |step: usize, steps: usize, room: f64| room.max(0.0) * step as f64 / steps as f64;
        Window {
            left_m: share(step.0, STEPS.0, picture.length_m - width_m),
            bottom_m: share(step.1, STEPS.1, picture.width_m - size.1),
            width_m,
            height_m: size.1,
            left: LEFT,
            top,
            per_metre,
        }
    };
    // Metres of each set well inside; less than two tell nothing.
    let shown = |window: &Window| {
        let edge = EDGE * window.height_m.min(window.width_m);
        let window = Window {
            left_m: window.left_m + edge,
            bottom_m: window.bottom_m + edge,
            width_m: window.width_m - 2.0 * edge,
            height_m: window.height_m - 2.0 * edge,
            ..*window
        };
        let of_set = |set: usize| {
            let inside = picture
                .units
                .iter()
                .filter(|unit| unit.set == set)
                .filter_map(|unit| window.clipped(unit.from, unit.to));
            inside.map(|(from, to)| (to.0 - from.0).hypot(to.1 - from.1)).sum::<f64>()
        };
        let metres: Vec<f64> = (0..picture.sets.len().max(1)).map(of_set).filter(|metres| *metres > 2.0).collect();
        (metres.len(), metres.iter().sum::<f64>())
    };
    let mut best = (window((0, 0)), (0, 0.0));
    for step in (0..=STEPS.0).flat_map(|x| (0..=STEPS.1).map(move |y| (x, y))) {
        let here = window(step);
        let metres = shown(&here);
        if metres.0 > best.1.0 || (metres.0 == best.1.0 && metres.1 > best.1.1 + 1e-9) {
            best = (here, metres);
        }
    }
    best.0
}
