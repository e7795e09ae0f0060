//! The bottom under the corals: a colour and a texture for each kind, so that they differ in grey too.

use super::canvas::{Canvas, Point, Stroke};
use super::colours::{BOTTOM, BottomLook, CORAL, INK, REST, Texture, for_text};
use super::window::Window;
use crate::design::HARD_CORAL;
use crate::planner::ReefPicture;
use plotters::style::RGBColor;

/// How each category of the picture looks, and last what none of them names.
pub struct Looks(Vec<BottomLook>);

impl Looks {
    /// What a kind of bottom is called gives it the look of its kind, once; the others take what is left in turn.
    pub fn of(picture: &ReefPicture) -> Self {
        let mut left: Vec<BottomLook> = BOTTOM.to_vec();
        let number = picture.categories.len();
        let mut looks: Vec<Option<BottomLook>> = vec![None; number];
        for (look, name) in looks.iter_mut().zip(&picture.categories) {
            let own = left.iter().position(|of| of.words.iter().any(|word| name.contains(word)));
            *look = own.map(|place| left.remove(place));
        }
        let mut rest = left.into_iter().chain(BOTTOM.iter().copied().cycle());
        let mut all: Vec<BottomLook> =
            looks.into_iter().map(|look| look.or_else(|| rest.next()).unwrap_or(REST)).collect();
        for (index, look) in all.iter_mut().enumerate() {
            if let Some([red, green, blue]) = picture.legend.get(index).copied().flatten() {
                // The legend of a map has its own colours: who drew it knows them.
                *look = BottomLook { colour: RGBColor(red, green, blue), texture: Texture::Plain, words: &[] };
            } else if picture.categories[index] == HARD_CORAL {
                *look = BottomLook { colour: CORAL, texture: Texture::Plain, words: &[] };
            }
        }
        all.push(REST);
        Self(all)
    }

    pub fn at(&self, category: u8) -> BottomLook {
        self.0.get(usize::from(category)).copied().unwrap_or(REST)
    }
}

/// The commonest category of the bottom.
fn ground_of(picture: &ReefPicture) -> u8 {
    let mut counts = [0usize; 256];
    picture.grid.iter().for_each(|&category| counts[category as usize] += 1);
    (0..256).rev().max_by_key(|&category| counts[category]).unwrap_or(0) as u8
}

/// The bottom under the corals: the commonest category as ground, the rest as runs of cells, then the textures.
pub fn draw_bottom(canvas: &mut Canvas, picture: &ReefPicture, window: &Window) {
    let looks = Looks::of(picture);
    let ground = if picture.grid.is_empty() { picture.categories.len() as u8 } else { ground_of(picture) };
    canvas.rectangle((window.left, window.top), (window.right(), window.bottom()), looks.at(ground).colour, 1.0);
    if picture.grid_columns == 0 || !(1e-4 < picture.grid_m && picture.grid_m < 1e5) {
        return;
    }
    let inside_x = |x: f64| x.clamp(window.left_m, window.left_m + window.width_m);
    let inside_y = |y: f64| y.clamp(window.bottom_m, window.bottom_m + window.height_m);
    for (row, cells) in picture.grid.chunks(picture.grid_columns).enumerate() {
        let (low, high) = (inside_y(row as f64 * picture.grid_m), inside_y((row + 1) as f64 * picture.grid_m));
        if high <= low {
            continue;
        }
        let mut column = 0;
        for run in cells.chunk_by(|one, other| one == other) {
            let from = inside_x(column as f64 * picture.grid_m);
            column += run.len();
            let to = inside_x(column as f64 * picture.grid_m);
            if run[0] != ground && to > from {
                let (corner, opposite) = (window.at(from, low), window.at(to, high));
                // A little overlap hides the seams that renderers leave between neighbours.
                canvas.rectangle(
                    (corner.0, corner.1 + 0.15),
                    (opposite.0 + 0.15, opposite.1),
                    looks.at(run[0]).colour,
                    1.0,
                );
            }
        }
    }
    draw_textures(canvas, picture, &looks, window);
}

/// Distance of the marks of a texture.
const SPACING: f64 = 9.0;
/// Marks keep this distance from the edges of the window.
const EDGE: f64 = 3.0;

/// Marks on a lattice that is the same for all kinds, each on what lies there.
fn draw_textures(canvas: &mut Canvas, picture: &ReefPicture, looks: &Looks, window: &Window) {
    let steps = |from: f64, to: f64| ((to - from) / SPACING).clamp(0.0, 500.0) as usize;
    for row in 0..=steps(window.top + EDGE, window.bottom() - EDGE) {
        let shift = if row % 2 == 1 { 0.5 * SPACING } else { 0.0 };
        let y = window.top + EDGE + row as f64 * SPACING;
        for column in 0..=steps(window.left + EDGE + shift, window.right() - EDGE) {
            let x = window.left + EDGE + shift + column as f64 * SPACING;
            let (x_m, y_m) = window.metres((x, y));
            let cell = (x_m.max(0.0) / picture.grid_m) as usize;
            let line = (y_m.max(0.0) / picture.grid_m) as usize;
            let is_there = cell < picture.grid_columns;
            if let Some(&kind) = picture.grid.get(line * picture.grid_columns + cell).filter(|_| is_there) {
                draw_texture(canvas, looks.at(kind), (x, y));
            }
        }
    }
}

/// One mark of a texture.
pub fn draw_texture(canvas: &mut Canvas, look: BottomLook, (x, y): Point) {
    let ink = if look.colour == CORAL { INK } else { for_text(for_text(look.colour)) };
    let stroke = Stroke::solid(ink, 1.0);
    let mut stroke_from = |dx: f64, dy: f64| canvas.line((x - dx, y - dy), (x + dx, y + dy), stroke);
    match look.texture {
        Texture::Plain => {}
        Texture::Dashes => stroke_from(2.2, 0.0),
        Texture::Slashes => stroke_from(1.7, -1.7),
        Texture::Crosses => {
            stroke_from(1.8, 0.0);
            stroke_from(0.0, 1.8);
        }
        Texture::Dots => canvas.disc((x, y), 1.0, ink),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::synthetic;

    /// Relative luminance to lightness (CIE 1976), 0 to 100.
    fn lightness(colour: RGBColor) -> f64 {
        let linear = |part: u8| {
            let share = f64::from(part) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { libm::pow((share + 0.055) / 1.055, 2.4) }
        };
        let y = 0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2);
        if y > 0.008856 { 116.0 * libm::cbrt(y) - 16.0 } else { 903.3 * y }
    }

    #[test]
    fn any_two_kinds_differ_without_their_hue_by_lightness_or_texture() {
        let all: Vec<BottomLook> = BOTTOM.iter().copied().chain([REST]).collect();
        for (index, one) in all.iter().enumerate() {
            for other in &all[index + 1..] {
                let apart = (lightness(one.colour) - lightness(other.colour)).abs();
                assert!(apart > 8.0 || one.texture != other.texture, "{one:?} {other:?}: {apart:.1}");
            }
            // Corals stand out from all of them.
            assert!(lightness(one.colour) - lightness(CORAL) > 12.0, "{one:?}");
        }
    }

    #[test]
    fn sand_looks_like_sand_wherever_it_stands_in_the_list() {
        let mut picture = synthetic::report().pictures.remove(0);
        let of = |picture: &ReefPicture, name: &str| {
            let place = picture.categories.iter().position(|other| other == name).unwrap();
            Looks::of(picture).at(place as u8)
        };
        let sand = of(&picture, "sand");
        assert_eq!(sand.texture, Texture::Dots);
        picture.categories.reverse();
        assert_eq!(of(&picture, "sand"), sand);
        // Names that nobody foresaw have looks of their own, too, and never that of the rest.
        picture.categories = (0..BOTTOM.len()).map(|index| format!("kind {index}")).collect();
        let looks = Looks::of(&picture);
        let all: Vec<BottomLook> = (0..=BOTTOM.len()).map(|index| looks.at(index as u8)).collect();
        assert!(all.iter().enumerate().all(|(index, look)| !all[..index].contains(look)));
        assert_eq!(looks.at(BOTTOM.len() as u8), REST);
    }
}
