use super::layout::{Column, Reading};
use crate::survey::{Dimensions, GRID_SIDE, Placement};

/// Tapes of one layout with quadrats along them, in which recruits are counted.
#[derive(Clone, Debug)]
pub struct QuadratLine {
    pub number: usize,
    pub length_m: f64,
    pub quadrat_m: f64,
    pub every_m: f64,
    /// Quadrats along a tape.
    pub quadrats: usize,
    pub columns: Vec<usize>,
}

impl QuadratLine {
    /// Area in which is counted, m2.
    pub fn area_m2(&self) -> f64 {
        self.quadrats as f64 * self.quadrat_m * self.quadrat_m
    }

    /// Whether a place so many metres along the tape is in a quadrat.
    pub fn holds(&self, along: f64) -> bool {
        let quadrat = (along / self.every_m).floor();
        (0.0..self.quadrats as f64).contains(&quadrat) && along - quadrat * self.every_m < self.quadrat_m
    }

    /// The points of the grids of all quadrats, quadrat by quadrat: along the tape and across it, m.
    pub fn grid(&self) -> impl Iterator<Item = (f64, f64)> {
        (0..self.quadrats).flat_map(move |quadrat| (0..POINTS).map(move |point| self.point(quadrat, point)))
    }

    /// A point of the grid of a quadrat, in the middle of a ninth.
    #[inline(always)]
    pub fn point(&self, quadrat: usize, point: usize) -> (f64, f64) {
        let middle = |k: usize| (k as f64 + 0.5) / GRID_SIDE as f64 * self.quadrat_m;
        let along = quadrat as f64 * self.every_m + middle(point / GRID_SIDE);
        (along, middle(point % GRID_SIDE) - 0.5 * self.quadrat_m)
    }
}

/// Points of the grid of a quadrat.
pub const POINTS: usize = GRID_SIDE * GRID_SIDE;

/// The layouts of lines with quadrats, each with the columns that are read from it.
pub fn quadrats(readings: &[Reading], columns: &[Column], placement: Placement) -> Vec<QuadratLine> {
    let mut lines: Vec<QuadratLine> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        let dimensions = readings[column.reading].dimensions;
        let Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m } = dimensions else { continue };
        let number = column.units;
        let is_same = |line: &&mut QuadratLine| {
            (line.length_m, line.quadrat_m, line.every_m) == (length_m, quadrat_m, every_m)
                && (placement.few_from_many() || line.number == number)
        };
        match lines.iter_mut().find(is_same) {
            Some(line) => {
                line.number = line.number.max(number);
                line.columns.push(c);
            }
            None => {
                let quadrats = dimensions.quadrats().unwrap_or(1);
                lines.push(QuadratLine { number, length_m, quadrat_m, every_m, quadrats, columns: vec![c] });
            }
        }
    }
    lines
}
