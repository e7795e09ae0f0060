use super::walk::StripPlace;
use crate::reef::Frame;
use crate::reef::strip::{FrameLine, Strip};

/// A strip in the turned frame of a site, metres.
pub(super) struct Target {
    pub x: f64,
    pub y: f64,
    pub ux: f64,
    pub uy: f64,
    pub length: f64,
    pub half_width: f64,
}

impl Target {
    pub fn new(frame: &Frame, strip: &StripPlace) -> Self {
        let (x, y) = frame.from_site(strip.start.0, strip.start.1);
        let (ux, uy) = frame.step(strip.direction.0, strip.direction.1);
        Self { x, y, ux, uy, length: strip.length_m, half_width: 0.5 * strip.width_m }
    }

    /// The tape, by which the cells about it are found.
    pub fn tape(&self) -> Strip {
        Strip::new(&FrameLine {
            x: self.x as f32,
            y: self.y as f32,
            ux: self.ux as f32,
            uy: self.uy as f32,
            length: self.length as f32,
        })
    }

    /// How far from the tape cells matter to what comes within `reach` of the strip, m: a millimetre more for the single precision
    /// of the cells' bounds.
    pub fn side(&self, reach: f64) -> f32 {
        (self.half_width + reach) as f32 + 1e-3
    }

    /// Along the tape and across it, of a place from the start of the tape.
    pub fn along_across(&self, (dx, dy): (f64, f64)) -> (f64, f64) {
        (dx * self.ux + dy * self.uy, dy * self.ux - dx * self.uy)
    }

    pub fn holds(&self, (along, across): (f64, f64)) -> bool {
        0.0 <= along && along < self.length && -self.half_width <= across && across < self.half_width
    }

    /// How far a place lies from the strip, squared; 0 in it.
    pub fn squared_gap(&self, (along, across): (f64, f64)) -> f64 {
        let beyond = (-along).max(along - self.length).max(0.0);
        let beside = (across.abs() - self.half_width).max(0.0);
        beyond * beyond + beside * beside
    }

    pub fn within(&self, (along, across): (f64, f64), reach: f64) -> bool {
        -reach <= along && along <= self.length + reach && across.abs() <= self.half_width + reach
    }
}
