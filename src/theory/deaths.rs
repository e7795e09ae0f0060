//! What deaths leave of a reef that do not strike all colonies alike: by their size, in patches, or both.
//!
//! In a place of kind k (hit, or not) a colony of radius R survives with probability `q_k(R)`; the kinds cover the shares
//! `f_k` of the bottom in patches that are large against a colony. Of the intensity over a point `A_k = E q_k R^2 / E R^2` is
//! left, of the overlap of a disc with itself moved by h `g_k(h) = E q_k gamma_R(h) / a`. Then, u being the intensity before,
//! two points at distance h are both bare
//!
//! - afterwards with probability `sum_kl P_kl(h) E exp(-(A_k - g/2) u1 - (A_l - g/2) u2)`, g the mean of `g_k` and `g_l`
//!   and `P_kl(h)` the chance that the points lie in places k and l;
//! - before and afterwards with `sum_k f_k E exp(-(1 - g_k/2) u1 - (A_k - g_k/2) u2)`.

use super::curve::Curve;
use super::discs::Discs;
use super::intensity::{BareSeries, Intensity, LogNormal};
use super::lattice::lattice_correlation;
use super::quadrature::root;
use super::threshold;
use crate::design::ColonyDeaths;
use crate::geometry::disc_overlap;
use crate::reef::Deaths;
use crate::reef::colonies::SizeSurvival;
use std::sync::{LazyLock, OnceLock};
use thiserror::Error;

/// What is left in each kind of place of one state.
#[derive(Clone, Debug)]
pub struct Left {
    places: Vec<LeftInPlace>,
    /// Scale of the patches that are hit (m), where it is in patches.
    patch_scale_m: Option<f64>,
}

/// What is left in one kind of place.
#[derive(Clone, Debug)]
pub struct LeftInPlace {
    /// Share of the bottom.
    pub share: f64,
    /// What is left of the intensity over a point, and of the number of colonies.
    pub intensity: f64,
    pub colonies: f64,
    /// `None` where nobody dies.
    dying: Option<Dying>,
}

#[derive(Clone, Debug)]
struct Dying {
    survival: SizeSurvival,
    /// Made when it is first asked for.
    overlap: OnceLock<Curve>,
}

/// Correlation of the fields that tell what is hit, by distance in units of their scale.
static CORRELATION: LazyLock<Curve> = LazyLock::new(|| lattice_correlation(1.0));

impl LeftInPlace {
    fn everything() -> Self {
        Self { share: 1.0, intensity: 1.0, colonies: 1.0, dying: None }
    }

    fn new(share: f64, survival: SizeSurvival, discs: &Discs) -> Self {
        Self {
            share,
            intensity: left_of_intensity(discs, survival),
            colonies: discs.expect(|radius| survival.of(radius)),
            dying: Some(Dying { survival, overlap: OnceLock::new() }),
        }
    }

    /// Mean overlap of the discs left, `g_k(h)`.
    pub fn overlap(&self, discs: &Discs, distance: f64) -> f64 {
        match &self.dying {
            None => discs.overlap(distance),
            Some(Dying { survival, overlap }) if distance < discs.largest => {
                let of = |h: f64| discs.expect(|r| survival.of(r) * disc_overlap(h, r)) / discs.mean_area;
                overlap.get_or_init(|| Curve::new(discs.largest, 480, of)).at(distance).max(0.0)
            }
            Some(_) => 0.0,
        }
    }

    /// Whether all sizes have the same chance.
    pub fn spares_no_size(&self) -> bool {
        self.dying.as_ref().is_none_or(|dying| dying.survival.slope == 0.0)
    }

    /// The chance of a colony of this radius, m.
    pub fn survival(&self, radius: f64) -> f64 {
        self.dying.as_ref().map_or(1.0, |dying| dying.survival.of(radius))
    }
}

impl Left {
    pub fn new(deaths: Option<&Deaths>, discs: &Discs) -> Self {
        let Some(deaths) = deaths else { return Self { places: vec![LeftInPlace::everything()], patch_scale_m: None } };
        let [hit, elsewhere] = deaths.survival;
        let mut places = vec![LeftInPlace::new(deaths.hit, hit, discs)];
        if deaths.is_in_patches() {
            places.push(LeftInPlace::new(1.0 - deaths.hit, elsewhere, discs));
        }
        Self { places, patch_scale_m: deaths.is_in_patches().then_some(deaths.patch_scale_m) }
    }

    pub fn places(&self) -> &[LeftInPlace] {
        &self.places
    }

    /// The kinds of place of two points of one visit, with their probability.
    pub fn pairs(&self, distance: f64) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        let together = self.patch_scale_m.map_or(0.0, |scale| {
            let scales = distance / scale;
            // Interpolation may put the correlation of a place with itself a hair above 1.
            let rho = if scales < CORRELATION.reach() { CORRELATION.at(scales).clamp(-1.0, 1.0) } else { 0.0 };
            threshold::covariance(self.places[0].share, rho)
        });
        let numbered = || self.places.iter().enumerate();
        numbered().flat_map(move |(k, one)| {
            numbered()
                .map(move |(l, other)| (k, l, one.share * other.share + if k == l { together } else { -together }))
        })
    }

    /// For each kind of place the series of a bare point, `u` being the intensity before.
    pub fn series(&self, intensity: &Intensity, u: LogNormal) -> Vec<BareSeries> {
        self.places.iter().map(|place| intensity.series(place.intensity, u)).collect()
    }

    /// Probability that a point is bare, from [`Left::series`].
    pub fn bare(&self, series: &[BareSeries]) -> f64 {
        self.places.iter().zip(series).map(|(place, series)| place.share * series.bare()).sum()
    }

    /// P(both bare) of two points of one visit that share no colony.
    pub fn both_bare(&self, series: &[BareSeries], covariance: f64, distance: f64) -> f64 {
        self.pairs(distance).map(|(k, l, chance)| chance * series[k].both_bare(&series[l], covariance)).sum()
    }

    /// The same of a point of the first visit, where all are left, and one of this.
    pub fn both_bare_with(&self, first: &BareSeries, series: &[BareSeries], covariance: f64) -> f64 {
        let places = self.places.iter().zip(series);
        places.map(|(place, series)| place.share * first.both_bare(series, covariance)).sum()
    }
}

/// `E q R^2 / E R^2`.
fn left_of_intensity(discs: &Discs, survival: SizeSurvival) -> f64 {
    discs.expect(|radius| survival.of(radius) * radius * radius) / discs.expect(|radius| radius * radius)
}

/// The survival with a slope that leaves this much of the intensity.
fn survival_that_leaves(left: f64, slope: f64, discs: &Discs) -> SizeSurvival {
    if slope == 0.0 || left <= 0.0 || left >= 1.0 {
        return SizeSurvival::even(left);
    }
    let at_m = discs.sizes.median_m;
    let of = |log_odds: f64| SizeSurvival { log_odds, at_m, slope };
    let found = root(-60.0, 60.0, 1e-12, |log_odds| left_of_intensity(discs, of(log_odds)) - left);
    of(found.unwrap_or(f64::NAN))
}

/// Why colonies cannot die as asked; values are covers.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum DeathsOutOfReach {
    /// So much stays though all die where it was hit.
    #[error("a cover of {0:.4} stays though all colonies die where it is hit")]
    TooMuchLeft(f64),
    /// What dies elsewhere leaves no more than this though no more die where it was hit.
    #[error("the deaths where it is not hit leave no more than a cover of {0:.4}")]
    TooLittleLeft(f64),
}

/// The deaths that bring the mean cover of a reef with intensity `u` to `cover`.
pub fn deaths_to(
    cover: f64,
    asked: &ColonyDeaths,
    discs: &Discs,
    (intensity, u): (&Intensity, LogNormal),
) -> Result<Deaths, DeathsOutOfReach> {
    let (hit, patch_scale_m, elsewhere) = match asked.patches {
        None => (1.0, 1.0, 1.0),
        Some(patches) => (patches.hit, patches.patch_scale_m, patches.left_elsewhere),
    };
    let left = |here: f64| {
        let covered = |left: f64| if left > 0.0 { 1.0 - intensity.series(left, u).bare() } else { 0.0 };
        hit * covered(here) + (1.0 - hit) * covered(elsewhere)
    };
    let (least, most) = (left(0.0), left(elsewhere));
    if least >= cover {
        return Err(DeathsOutOfReach::TooMuchLeft(least));
    }
    if most < cover {
        return Err(DeathsOutOfReach::TooLittleLeft(most));
    }
    let here = root(0.0, elsewhere, 1e-13, |here| left(here) - cover).unwrap_or(f64::NAN);
    let survival = [here, elsewhere].map(|left| survival_that_leaves(left, asked.slope(), discs));
    Ok(Deaths { hit, patch_scale_m, survival, left: [here, elsewhere] })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::StormPatches;
    use crate::reef::{CoralLaw, CoralState, Patchiness, ReefSpec, SizeLaw};
    use crate::theory::placement::{variance_of_points, variance_of_rectangle};
    use crate::theory::{CoralPairs, Kernels, Shape};

    /// Sizes of the fore reef, patches of SD .4 and scale 1.5 m, nothing else; cover .225.
    struct ForeReef {
        spec: ReefSpec,
        shape: Shape,
        u: LogNormal,
    }

    impl ForeReef {
        fn new() -> Self {
            let spec = ReefSpec {
                sizes: SizeLaw { median_m: 0.10, ln_sd: 0.75, max_m: 0.8 },
                patch: Patchiness { sd: 0.4, scale_m: 1.5 },
                along: Patchiness { sd: 0.0, scale_m: 60.0 },
            };
            let shape = Shape::new(&spec, &Kernels::smooth(&spec));
            let variance = shape.patch(0.0);
            let mean = shape.intensity.mean_for_cover(0.225, variance).unwrap();
            Self { spec, shape, u: LogNormal { mean, variance } }
        }

        /// The first visit, the second without and with these deaths; the cover they leave.
        fn law(&self, deaths: Deaths) -> (CoralLaw, f64) {
            let left = Left::new(Some(&deaths), &self.shape.discs);
            let cover = 1.0 - left.bare(&left.series(&self.shape.intensity, self.u));
            let before = CoralState::even(0.225, self.u.mean);
            let law = CoralLaw {
                spec: self.spec,
                mean_area_m2: self.shape.discs.mean_area,
                site_sd: 0.0,
                site_year_sd: 0.0,
                field_memory: 1.0,
                same_colonies: 1.0,
                states: vec![before, before, CoralState { cover, deaths: Some(deaths), ..before }],
                patch_variance_over_a_point: self.u.variance,
            };
            (law, cover)
        }
    }

    fn even(hit: f64, patch_scale_m: f64, left: [f64; 2]) -> Deaths {
        Deaths { hit, patch_scale_m, survival: left.map(SizeSurvival::even), left }
    }

    fn line(c: impl Fn(f64) -> f64) -> f64 {
        let curve = Curve::new(12.0, 240, &c);
        variance_of_points(c(0.0), 100, 0.1, |h| curve.at(h))
    }

    fn belt(c: impl Fn(f64) -> f64) -> f64 {
        let curve = Curve::new(12.0, 240, c);
        variance_of_rectangle(10.0, 0.4, |h| curve.at(h))
    }

    /// Covariance of a line of 100 points with itself afterwards, of a belt of 10 x .4 m with itself, variance of the belt
    /// afterwards, cover: computed, and simulated apart from this program with the errors given.
    #[test]
    fn storms_in_patches() {
        let reef = ForeReef::new();
        let computed = [
            ((0.5, 20.0, [0.1, 0.8]), [0.00299219, 0.00212529, 0.00733694, 0.10541]),
            ((0.7, 5.0, [0.02, 0.8]), [0.00167455, 0.00118789, 0.0046327, 0.05918]),
        ];
        let simulated = [
            [(0.00301317, 7.1e-5), (0.00212854, 5.6e-5), (0.00734774, 6.9e-5), (0.10568, 6.8e-4)],
            [(0.00167232, 5.4e-5), (0.00123945, 4.3e-5), (0.00475086, 6.6e-5), (0.05982, 5.4e-4)],
        ];
        for (((hit, scale, left), computed), simulated) in computed.into_iter().zip(simulated) {
            let (law, cover) = reef.law(even(hit, scale, left));
            let pairs = CoralPairs::new(&law, &reef.shape);
            let across = |h: f64| pairs.bare_across(2, h) - pairs.bare(0) * pairs.bare(2);
            let after = |h: f64| pairs.bare_within(2, h) - pairs.bare(2).powi(2);
            let ours = [line(across), belt(across), belt(after), cover];
            println!("{ours:?} {computed:?}");
            for ((ours, computed), (found, error)) in ours.into_iter().zip(computed).zip(simulated) {
                assert!((ours / computed - 1.0).abs() < 2e-3, "{ours} {computed}");
                assert!((ours - found).abs() < 4.0 * error, "{ours} {found}");
            }
        }
    }

    #[test]
    fn a_death_that_spares_no_size_and_no_place_is_a_lower_density() {
        let reef = ForeReef::new();
        let (mut law, cover) = reef.law(even(1.0, 1.0, [0.4; 2]));
        law.states.push(CoralState::even(cover, 0.4 * reef.u.mean));
        // In patches that leave the same everywhere there are no patches.
        law.states.push(CoralState { cover, deaths: Some(even(0.3, 10.0, [0.4; 2])), ..law.states[0] });
        let pairs = CoralPairs::new(&law, &reef.shape);
        for h in [0.0, 0.05, 0.3, 2.0] {
            for other in [3, 4] {
                let apart = |of: &dyn Fn(usize) -> f64| (of(2) - of(other)).abs();
                assert!(apart(&|state| pairs.bare_within(state, h)) < 1e-6);
                assert!(apart(&|state| pairs.bare_across(state, h)) < 1e-6);
            }
        }
    }

    #[test]
    fn where_large_colonies_die_cover_falls_more_than_colonies() {
        let reef = ForeReef::new();
        let intensity = (&reef.shape.intensity, reef.u);
        for (odds, large_die) in [(0.25, true), (4.0, false)] {
            let asked = ColonyDeaths { odds_at_twice_the_size: odds, patches: None };
            let deaths = deaths_to(0.1, &asked, &reef.shape.discs, intensity).unwrap();
            let (law, cover) = reef.law(deaths);
            assert!((cover - 0.1).abs() < 1e-9, "{cover}");
            let left = Left::new(Some(&deaths), &reef.shape.discs);
            let place = &left.places()[0];
            assert!((place.intensity - deaths.left[0]).abs() < 1e-9);
            assert_eq!(place.intensity < place.colonies, large_die);
            // At one point: bare before and after is bare before.
            let pairs = CoralPairs::new(&law, &reef.shape);
            assert!((pairs.bare_across(2, 0.0) - 0.775).abs() < 1e-5);
            assert!((pairs.bare_within(2, 0.0) - 0.9).abs() < 1e-5);
        }
    }

    #[test]
    fn what_a_storm_cannot_do_is_told_with_what_it_can() {
        let reef = ForeReef::new();
        let to = |cover: f64, left_elsewhere: f64| {
            let patches = StormPatches { hit: 0.4, patch_scale_m: 10.0, left_elsewhere };
            let asked = ColonyDeaths { odds_at_twice_the_size: 1.0, patches: Some(patches) };
            deaths_to(cover, &asked, &reef.shape.discs, (&reef.shape.intensity, reef.u))
        };
        // All die on two fifths of the bottom: three fifths of the cover stay.
        match to(0.1, 1.0) {
            Err(DeathsOutOfReach::TooMuchLeft(cover)) => assert!((cover - 0.6 * 0.225).abs() < 1e-9),
            other => panic!("{other:?}"),
        }
        assert!(matches!(to(0.2, 0.5), Err(DeathsOutOfReach::TooLittleLeft(cover)) if cover < 0.2));
        let deaths = to(0.18, 0.95).unwrap();
        assert!(deaths.left[0] < deaths.left[1] && deaths.left[1] == 0.95);
        assert!((reef.law(deaths).1 - 0.18).abs() < 1e-9);
    }
}
