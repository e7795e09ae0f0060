use super::MapTheory;
use crate::random::normal_from_uniform;
use crate::survey::Place;

/// Places of a unit, spread evenly over all that it may have, and those where it is laid at the second visit.
///
/// The sequence adds multiples of fixed irrational steps: powers of 1 / phi with `phi^(d + 1) = phi + 1`, for d dimensions
/// (common practice, from memory: an additive recurrence of low discrepancy). Their independence of the keyed starts of the
/// simulation is what makes them a check of it.
pub struct Starts<'a> {
    theory: &'a MapTheory,
    size: (f64, f64),
    steps: [f64; DIMENSIONS],
}

/// Along, across, heading, and the two axes of a displacement.
const DIMENSIONS: usize = 5;

impl<'a> Starts<'a> {
    /// Of a unit of a length and a width, m.
    pub fn new(theory: &'a MapTheory, size: (f64, f64)) -> Self {
        // Directions and displacements cost evenness where they are not needed.
        let needed = match (theory.relay_sd, theory.ground.placement.heading) {
            (Some(_), _) => 5,
            (None, crate::survey::Heading::Any) => 3,
            (None, _) => 2,
        };
        let phi = (0..60).fold(1.2, |phi: f64, _| libm::pow(1.0 + phi, 1.0 / (needed + 1) as f64));
        let steps = std::array::from_fn(|d| libm::pow(phi, -((d + 1) as f64)));
        Self { theory, size, steps }
    }

    fn share(&self, number: usize, dimension: usize) -> f64 {
        (0.5 + number as f64 * self.steps[dimension]).fract()
    }

    /// Where the how-manieth unit lies at the first visit.
    pub fn first(&self, number: usize) -> Place {
        let share = |dimension| self.share(number, dimension);
        self.theory.ground.at_shares((share(0), share(1), share(2)), self.size)
    }

    /// Where it lies at the second: displaced from its marks, but never over the edge of the map. (At new places its law is
    /// that of the first visit and what it reads there is independent: the same place serves.)
    pub fn second(&self, number: usize, first: Place) -> Place {
        let Some(sd) = self.theory.relay_sd else { return first };
        let displacement =
            |dimension| sd * normal_from_uniform(self.share(number, dimension).clamp(1e-12, 1.0 - 1e-12));
        let start = (first.start.0 + displacement(3), first.start.1 + displacement(4));
        self.theory.ground.kept_inside(Place { start, ..first }, self.size)
    }
}
