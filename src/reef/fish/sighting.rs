use crate::random::normal_cdf;
use serde::Serialize;
use std::f64::consts::{PI, SQRT_2};

/// The chance that a diver counts a fish that came into the counted window, by its nearest distance from the diver's
/// line and by its length; and how fish near the line react to the diver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sighting {
    /// Scale of a half-normal fall with distance, m; `None`: all as far as the water is clear.
    pub scale_m: Option<f64>,
    /// Share of the fish on the diver's line that leave before they are seen (shy), or that come on top of those that
    /// were there (curious, negative): -1 to 1.
    pub shy: f64,
    /// Scale of the distance over which they react, m.
    pub shy_m: f64,
    /// Length at which one half are seen, cm: the chance rises as a normal distribution of ln length with SD `ln_sd`.
    /// `None`: all lengths alike.
    pub half_seen_cm: Option<f64>,
    pub ln_sd: f64,
    /// Share that is seen at all at the diver's line, hidden fish: 0 to 1.
    pub seen: f64,
}

impl Sighting {
    /// Every fish is counted.
    pub const ALL: Self = Self { scale_m: None, shy: 0.0, shy_m: 1.0, half_seen_cm: None, ln_sd: 0.0, seen: 1.0 };

    /// How many are counted, of each that is there, at a distance of `m` metres from the diver's line:
    /// `seen exp(-m^2 / 2 scale^2) (1 - shy exp(-m^2 / 2 shy_m^2))`. Curious fish make it more than their share, at most
    /// [`Sighting::greatest`].
    #[inline]
    pub fn distance_chance(&self, m: f64) -> f64 {
        let falls = self.scale_m.map_or(1.0, |scale| half_normal(m, scale));
        let reacts = if self.shy == 0.0 { 1.0 } else { 1.0 - self.shy * half_normal(m, self.shy_m) };
        self.seen * falls * reacts
    }

    /// The most that [`Sighting::distance_chance`] comes to: where it is above 1, schools are drawn so many times as densely,
    /// and each is kept with the chance over this.
    pub fn greatest(&self) -> f64 {
        let fall = self.scale_m.map_or(0.0, |scale| 1.0 / (scale * scale));
        let react = 1.0 / (self.shy_m * self.shy_m);
        // Where the slope in m^2 is nil: shy exp(-react m^2 / 2) = fall / (fall + react).
        let shy_there = fall / (fall + react);
        if self.shy <= shy_there {
            return self.seen * (1.0 - self.shy);
        }
        let half_square = libm::log(self.shy / shy_there) / react;
        if fall == 0.0 { self.seen } else { self.seen * libm::exp(-fall * half_square) * (1.0 - shy_there) }
    }

    /// The chance that a fish of a length in cm is counted where one of full size is.
    #[inline]
    pub fn length_chance(&self, cm: f64) -> f64 {
        match self.half_seen_cm {
            None => 1.0,
            Some(half) if !(self.ln_sd > 0.0) => f64::from(u8::from(cm >= half)),
            Some(half) => normal_cdf(libm::log(cm / half) / self.ln_sd),
        }
    }

    /// Mean of [`Sighting::distance_chance`] over a belt of a full width, its middle line swum; nothing is seen further than
    /// `clear_m`. With a half-normal fall `sqrt(pi / 2) (scale / h) erf(h / (scale sqrt 2))` over a half width h.
    pub fn mean_over_width(&self, width_m: f64, clear_m: f64) -> f64 {
        let half = 0.5 * width_m;
        let reach = half.min(clear_m);
        self.mean_of_parts(|scale| match scale {
            None => reach / half,
            Some(scale) => libm::sqrt(0.5 * PI) * scale / half * libm::erf(reach / (scale * SQRT_2)),
        })
    }

    /// The same over a disc about a diver who stays: `(2 scale^2 / r^2) (1 - exp(-r^2 / 2 scale^2))`.
    pub fn mean_over_disc(&self, radius_m: f64, clear_m: f64) -> f64 {
        let reach = radius_m.min(clear_m);
        let area = radius_m * radius_m;
        self.mean_of_parts(|scale| match scale {
            None => reach * reach / area,
            Some(scale) => -2.0 * scale * scale / area * libm::expm1(-0.5 * reach * reach / (scale * scale)),
        })
    }

    /// The chance as a half-normal less another one, from the mean of a half-normal of a scale.
    fn mean_of_parts(&self, mean: impl Fn(Option<f64>) -> f64) -> f64 {
        if self.shy == 0.0 {
            return self.seen * mean(self.scale_m);
        }
        let both = match self.scale_m {
            None => self.shy_m,
            Some(scale) => scale * self.shy_m / libm::hypot(scale, self.shy_m),
        };
        self.seen * (mean(self.scale_m) - self.shy * mean(Some(both)))
    }
}

#[inline]
fn half_normal(m: f64, scale: f64) -> f64 {
    libm::exp(-0.5 * m * m / (scale * scale))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sightings() -> Vec<Sighting> {
        let mut all = Vec::new();
        for scale_m in [None, Some(0.6), Some(3.0)] {
            for (shy, shy_m) in [(0.0, 1.0), (-0.8, 1.5), (0.2, 1.5), (0.9, 1.0), (1.0, 4.0)] {
                all.push(Sighting { scale_m, shy, shy_m, seen: 0.8, ..Sighting::ALL });
            }
        }
        all
    }

    /// Slow twin: sums over 200,000 places.
    #[test]
    fn means_are_those_of_the_chance() {
        for sighting in sightings() {
            for clear_m in [f64::INFINITY, 2.0] {
                let n = 200_000;
                let (mut width, mut disc) = (0.0, 0.0);
                for i in 0..n {
                    let m = 5.0 * (f64::from(i) + 0.5) / f64::from(n);
                    let chance = if m > clear_m { 0.0 } else { sighting.distance_chance(m) };
                    width += chance / f64::from(n);
                    disc += chance * 2.0 * m / 5.0 / f64::from(n);
                }
                let (belt, point) = (sighting.mean_over_width(10.0, clear_m), sighting.mean_over_disc(5.0, clear_m));
                assert!((belt - width).abs() < 1e-5, "{sighting:?} {clear_m}: {belt} {width}");
                assert!((point - disc).abs() < 1e-5, "{sighting:?} {clear_m}: {point} {disc}");
            }
        }
    }

    #[test]
    fn the_greatest_chance_is_reached_and_not_passed() {
        for sighting in sightings() {
            let found = (0..40_000).map(|i| sighting.distance_chance(1e-3 * f64::from(i))).fold(0.0, f64::max);
            let greatest = sighting.greatest();
            assert!(found <= greatest * (1.0 + 1e-12) && found > greatest * (1.0 - 1e-5), "{sighting:?} {found}");
        }
    }

    #[test]
    fn half_are_seen_at_half_seen_cm() {
        let small = Sighting { half_seen_cm: Some(5.0), ln_sd: 0.4, ..Sighting::ALL };
        assert_eq!(small.length_chance(5.0), 0.5);
        assert!(small.length_chance(2.0) < 0.02 && small.length_chance(20.0) > 0.999);
        let cut = Sighting { half_seen_cm: Some(5.0), ..Sighting::ALL };
        assert_eq!((cut.length_chance(4.9), cut.length_chance(5.0)), (0.0, 1.0));
        assert_eq!(Sighting::ALL.length_chance(0.1), 1.0);
    }

    /// Divers who look at 10 m instead of 5 m find 22-26 % fewer fish per area, damselfish in 2 m instead of 1 m as well
    /// (Cheal & Thompson 1997, Marine Ecology Progress Series 158:241-248); the scale of a half-normal that this implies is
    /// computed here, and with it the mean chance in either width.
    #[test]
    fn wider_belts_find_less_as_published() {
        let of = |scale: f64, width: f64| {
            Sighting { scale_m: Some(scale), ..Sighting::ALL }.mean_over_width(width, f64::INFINITY)
        };
        for (ratio, scale, narrow, wide) in
            [(0.78, 3.20, 0.91, 0.71), (0.76, 3.00, 0.90, 0.68), (0.74, 2.83, 0.88, 0.65)]
        {
            let (found_narrow, found_wide) = (of(scale, 5.0), of(scale, 10.0));
            assert!((found_wide / found_narrow - ratio).abs() < 0.002, "{}", found_wide / found_narrow);
            assert!((found_narrow - narrow).abs() < 0.006 && (found_wide - wide).abs() < 0.006);
            // 2 m over 1 m is the same ratio at a fifth of the scale.
            assert!((of(0.2 * scale, 2.0) / of(0.2 * scale, 1.0) - ratio).abs() < 0.002);
        }
        assert!((of(3.0, 5.0) - 0.896).abs() < 0.005 && (of(3.0, 10.0) - 0.681).abs() < 0.005);
        // A belt of 1 m misses 11.1-26.7 % of five taxa (Sale & Sharp 1983, Coral Reefs 2:37-42): scales .58 to .34 m.
        assert!((1.0 - of(0.58, 1.0) - 0.111).abs() < 0.005, "{}", of(0.58, 1.0));
        assert!((1.0 - of(0.34, 1.0) - 0.267).abs() < 0.005, "{}", of(0.34, 1.0));
    }
}
