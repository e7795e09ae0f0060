use super::canvas::{Canvas, Point, SMALL, Text};
use super::colours::PAPER;
use super::window::Window;
use crate::planner::PictureUnit;
use crate::report::fonts;

/// Left, top, right, bottom.
type Box = (f64, f64, f64, f64);

fn overlap(one: &Box, other: &Box) -> bool {
    one.0 < other.2 && other.0 < one.2 && one.1 < other.3 && other.1 < one.3
}

/// The name of a unit with those of the units along it; none of a unit that lies along another.
fn name_of(units: &[PictureUnit], place: usize) -> Option<String> {
    let along = units.iter().filter(|unit| unit.on == Some(place)).map(|unit| unit.label.as_str());
    let all: Vec<&str> = std::iter::once(units[place].label.as_str()).chain(along).collect();
    units[place].on.is_none().then(|| all.join(" "))
}

/// Names of the units: above, below or beside each, wherever the least is hidden; `taken` must stay free.
pub fn draw_names(canvas: &mut Canvas, units: &[PictureUnit], window: &Window, mut taken: Vec<Box>) {
    let placed: Vec<(String, Point, Point, f64)> = units
        .iter()
        .enumerate()
        .filter_map(|(place, unit)| {
            let name = name_of(units, place)?;
            let (from, to) = window.clipped(unit.from, unit.to)?;
            let half = (unit.width_m / 2.0 * window.per_metre).clamp(0.0, 200.0);
            Some((name, window.at(from.0, from.1), window.at(to.0, to.1), half))
        })
        .collect();
    taken.extend(placed.iter().map(|(_, start, end, half)| {
        let (top, bottom) = (start.1.min(end.1), start.1.max(end.1));
        (start.0.min(end.0), top - half - 3.0, start.0.max(end.0), bottom + half + 3.0)
    }));
    for (name, start, end, half) in placed {
        let wide = fonts::width(&name, SMALL, true) + 5.0;
        let (left, right) = (start.0.min(end.0), start.0.max(end.0));
        let (top, bottom) = (start.1.min(end.1) - half, start.1.max(end.1) + half);
        let (middle, centre) = ((left + right - wide) / 2.0, (top + bottom) / 2.0);
        let places = [
            (middle, top - 12.0),
            (middle, bottom + 12.0),
            (right + 5.0, centre),
            (left - wide - 5.0, centre),
            (left, top - 12.0),
            (right - wide, bottom + 12.0),
        ];
        let boxes = places.map(|(x, y)| (x, y - 7.5, x + wide, y + 7.5));
        let inside = |b: &Box| b.0 > window.left && b.2 < window.right() && b.1 > window.top && b.3 < window.bottom();
        let hidden = |b: &Box| taken.iter().filter(|other| overlap(b, other)).count() + if inside(b) { 0 } else { 100 };
        let Some(best) = boxes.iter().copied().min_by_key(hidden) else { continue };
        canvas.rectangle((best.0, best.1), (best.2, best.3), PAPER, 0.86);
        canvas.text((best.0 + 2.5, (best.1 + best.3) / 2.0), &name, Text::new(SMALL).bold());
        taken.push(best);
    }
}
