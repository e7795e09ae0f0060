//! Animals and fish on the reef: a shape for each kind, hollow where they hide.

use super::canvas::{Canvas, Point, Stroke};
use super::colours::{ANIMAL, INK, PAPER, fish_colour};
use super::window::Window;
use crate::planner::ReefPicture;
use std::f64::consts::TAU;

/// All animals of the window; their size in the figure tells nothing of their own.
pub fn draw_animals(canvas: &mut Canvas, picture: &ReefPicture, window: &Window, size: f64) {
    for (kind, animals) in picture.animals.iter().enumerate() {
        for animal in &animals.places {
            let (x, y) = (f64::from(animal.x), f64::from(animal.y));
            if window.holds(x, y) {
                draw_animal(canvas, window.at(x, y), kind, animal.is_hidden, size);
            }
        }
    }
}

/// Recruits of the window: dots, larger than life.
pub fn draw_recruits(canvas: &mut Canvas, picture: &ReefPicture, window: &Window) {
    for &(x, y) in &picture.recruits {
        let (x, y) = (f64::from(x), f64::from(y));
        if window.holds(x, y) {
            draw_recruit(canvas, window.at(x, y));
        }
    }
}

/// One dot.
pub fn draw_recruit(canvas: &mut Canvas, at: Point) {
    canvas.area(&shape(at, 0, 2.1), INK, 1.0);
    canvas.area(&shape(at, 0, 1.2), PAPER, 1.0);
}

/// One mark: filled with an ink rim, or the rim alone.
pub fn draw_animal(canvas: &mut Canvas, at: Point, kind: usize, is_hidden: bool, size: f64) {
    if is_hidden {
        let outline = shape(at, kind, 3.6 * size);
        let closed: Vec<Point> = outline.iter().copied().chain([outline[0], outline[1]]).collect();
        canvas.path(&closed, Stroke::solid(PAPER, 2.6));
        canvas.path(&closed, Stroke::solid(INK, 1.2));
    } else {
        canvas.area(&shape(at, kind, 4.4 * size), INK, 1.0);
        canvas.area(&shape(at, kind, 3.1 * size), ANIMAL, 1.0);
    }
}

/// Fish of the window, of the groups that are shown there.
pub fn draw_fish(canvas: &mut Canvas, picture: &ReefPicture, shown: &[usize], window: &Window, size: f64) {
    for &group in shown {
        for &(x, y) in &picture.fish[group].places {
            let (x, y) = (f64::from(x), f64::from(y));
            if window.holds(x, y) {
                draw_one_fish(canvas, window.at(x, y), group, size);
            }
        }
    }
}

/// One mark, its shape and colour those of its group.
pub fn draw_one_fish(canvas: &mut Canvas, at: Point, group: usize, size: f64) {
    canvas.area(&shape(at, group, 3.4 * size), INK, 1.0);
    canvas.area(&shape(at, group, 2.5 * size), fish_colour(group), 1.0);
}

/// Circle, triangle, square, pentagon, triangle on its tip: corners and where the first of them lies.
fn shape((x, y): Point, kind: usize, radius: f64) -> Vec<Point> {
    const SHAPES: [(usize, f64); 5] = [(14, 0.0), (3, 0.75), (4, 0.125), (5, 0.75), (3, 0.25)];
    let (corners, first) = SHAPES[kind % SHAPES.len()];
    // Shapes with few corners are smaller than the circle around them.
    let radius = if corners < 6 { 1.22 * radius } else { radius };
    let corner = |index: usize| {
        let angle = TAU * (first + index as f64 / corners as f64);
        (x + radius * libm::cos(angle), y + radius * libm::sin(angle))
    };
    (0..corners).map(corner).collect()
}
