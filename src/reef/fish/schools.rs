use crate::random::{normal_from_uniform, normal_tails};
use serde::Serialize;

/// How many fish swim together. Sizes are whole numbers from 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SchoolLaw {
    /// Each on its own.
    Alone,
    /// Always two.
    Pairs,
    /// A lognormal size rounded to a whole number, at least 1, at most [`LARGEST_SCHOOL`].
    LogNormal { median: f64, ln_sd: f64 },
    /// The logarithmic series, `P(n)` in proportion to `p^n / n`: many alone, few in large schools.
    Logarithmic { p: f64 },
    /// Poisson around a mean of at most 700 (a school may then have no fish): the Neyman-Scott process of the textbooks.
    Poisson { mean: f64 },
}

impl SchoolLaw {
    /// Schools that hold so many times as many fish each, as near as the law allows; fish that live alone or in pairs do.
    pub fn times(self, factor: f64) -> Self {
        match self {
            SchoolLaw::Alone | SchoolLaw::Pairs => self,
            SchoolLaw::LogNormal { median, ln_sd } => SchoolLaw::LogNormal { median: factor * median, ln_sd },
            // The number of others that swim with a fish, p / (1 - p), is what moves the answer.
            SchoolLaw::Logarithmic { p } => {
                let others = factor * p / (1.0 - p);
                SchoolLaw::Logarithmic { p: others / (1.0 + others) }
            }
            SchoolLaw::Poisson { mean } => SchoolLaw::Poisson { mean: factor * mean },
        }
    }
}

/// Fish in the largest lognormal school: the tail of a wide law is cut here, in draws and in moments alike.
pub const LARGEST_SCHOOL: usize = 100_000;

/// Lognormal sizes up to this one are summed one by one, larger ones in classes.
const ONE_BY_ONE: usize = 1024;
/// Width of these classes in ln size.
const CLASS: f64 = 1.0 / 64.0;

/// A law of school sizes S with its exact moments, ready to be drawn from.
#[derive(Clone, Debug)]
pub struct SchoolSizes {
    law: SchoolLaw,
    mean: f64,
    pairs_per_fish: f64,
    /// Lognormal sizes with their probabilities; empty for the other laws.
    sizes: Vec<SizeClass>,
}

/// Sizes that are taken together: their mean, mean square and probability.
#[derive(Clone, Copy, Debug)]
struct SizeClass {
    mean: f64,
    square: f64,
    probability: f64,
}

impl SchoolSizes {
    pub fn new(law: SchoolLaw) -> Self {
        let mut sizes = Vec::new();
        let (mean, pairs_per_fish) = match law {
            SchoolLaw::Alone => (1.0, 0.0),
            SchoolLaw::Pairs => (2.0, 1.0),
            SchoolLaw::Poisson { mean } => (mean, mean),
            // The limit p -> 0 of the series: all alone.
            SchoolLaw::Logarithmic { p } if p < 1e-12 => (1.0, 0.0),
            SchoolLaw::Logarithmic { p } => (-p / ((1.0 - p) * libm::log1p(-p)), p / (1.0 - p)),
            SchoolLaw::LogNormal { median, ln_sd } => {
                sizes = rounded_log_normal(median, ln_sd);
                let sum = |of: fn(&SizeClass) -> f64| sizes.iter().map(|c| c.probability * of(c)).sum::<f64>();
                let (mean, square) = (sum(|class| class.mean), sum(|class| class.square));
                (mean, square / mean - 1.0)
            }
        };
        Self { law, mean, pairs_per_fish, sizes }
    }

    pub fn law(&self) -> SchoolLaw {
        self.law
    }

    /// `E[S]`.
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// `q = E[S (S - 1)] / E[S]`: how many others swim with a fish, in the mean over fish. Counts of whole schools have
    /// variance over mean `1 + q`.
    pub fn pairs_per_fish(&self) -> f64 {
        self.pairs_per_fish
    }

    /// `E[z^S]` for z in 0 to 1. Lognormal sizes above 1,024 are taken in classes of 1.6 %: good to 1e-4 of their share.
    pub fn pgf(&self, z: f64) -> f64 {
        match self.law {
            SchoolLaw::Alone => z,
            SchoolLaw::Pairs => z * z,
            SchoolLaw::Poisson { mean } => libm::exp(-mean * (1.0 - z)),
            SchoolLaw::Logarithmic { p } if p < 1e-12 => z,
            SchoolLaw::Logarithmic { p } => libm::log1p(-p * z) / libm::log1p(-p),
            SchoolLaw::LogNormal { .. } => {
                self.sizes.iter().map(|class| class.probability * libm::pow(z, class.mean)).sum()
            }
        }
    }

    /// The chance that no fish of a school is counted, each being counted with the chance `seen` by itself.
    pub fn chance_of_none(&self, seen: f64) -> f64 {
        self.pgf(1.0 - seen)
    }

    /// The size of a school from a uniform in (0, 1), by inversion. Takes a step for each fish, or one for all.
    pub fn draw(&self, uniform: f64) -> usize {
        match self.law {
            SchoolLaw::Alone => 1,
            SchoolLaw::Pairs => 2,
            SchoolLaw::LogNormal { median, ln_sd } => {
                let size = median * libm::exp(ln_sd * normal_from_uniform(uniform));
                size.round().clamp(1.0, LARGEST_SCHOOL as f64) as usize
            }
            SchoolLaw::Logarithmic { p } if p < 1e-12 => 1,
            SchoolLaw::Logarithmic { p } => {
                let first = -p / libm::log1p(-p);
                inverted(uniform, 1, first, |n| p * n / (n + 1.0))
            }
            SchoolLaw::Poisson { mean } => inverted(uniform, 0, libm::exp(-mean), |n| mean / (n + 1.0)),
        }
    }
}

/// The least size whose cumulative probability reaches `uniform`; `next(n)` is P(n + 1) / P(n).
fn inverted(uniform: f64, least: usize, probability: f64, next: impl Fn(f64) -> f64) -> usize {
    let (mut size, mut probability, mut rest) = (least, probability, uniform - probability);
    while rest > 0.0 && size < LARGEST_SCHOOL {
        let ratio = next(size as f64);
        probability *= ratio;
        // Past the mode what is left of the law is less than rounding: the uniform was the last there is.
        if ratio < 1.0 && probability < 1e-18 * (1.0 - ratio) {
            break;
        }
        rest -= probability;
        size += 1;
    }
    size
}

/// Probabilities of sizes: one by one, then in classes whose moments are those of the lognormal and of rounding, then all
/// that were cut to the largest.
fn rounded_log_normal(median: f64, ln_sd: f64) -> Vec<SizeClass> {
    if !(ln_sd > 0.0) {
        let size = median.round().clamp(1.0, LARGEST_SCHOOL as f64);
        return vec![SizeClass { mean: size, square: size * size, probability: 1.0 }];
    }
    let level = |x: f64, power: f64| (libm::log(x / median) / ln_sd) - power * ln_sd;
    // E[X^power; low < X < high] without its factor.
    let between = |low: f64, high: f64, power: f64| {
        let (low, high) = (normal_tails(level(low, power)), normal_tails(level(high, power)));
        if low.0 > 0.5 { low.1 - high.1 } else { high.0 - low.0 }
    };
    let mut classes = Vec::with_capacity(ONE_BY_ONE + 320);
    let mut add = |mean: f64, square: f64, probability: f64| {
        if probability > 0.0 {
            classes.push(SizeClass { mean, square, probability });
        }
    };
    for size in 1..=ONE_BY_ONE {
        let n = size as f64;
        let low = if size == 1 { 0.0 } else { n - 0.5 };
        add(n, n * n, between(low, n + 0.5, 0.0));
    }
    let most = LARGEST_SCHOOL as f64 - 0.5;
    let mut low = ONE_BY_ONE as f64 + 0.5;
    while low < most {
        let high = ((low * (1.0 + CLASS)).floor() + 0.5).min(most);
        let probability = between(low, high, 0.0);
        let moment = |power: f64| {
            let factor = libm::pow(median, power) * libm::exp(0.5 * power * power * ln_sd * ln_sd);
            (factor * between(low, high, power) / probability).clamp(libm::pow(low, power), libm::pow(high, power))
        };
        // Rounding adds the variance of a uniform.
        add(moment(1.0), moment(2.0) + 1.0 / 12.0, probability);
        low = high;
    }
    let largest = LARGEST_SCHOOL as f64;
    add(largest, largest * largest, between(most, f64::INFINITY, 0.0));
    classes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    const LAWS: [SchoolLaw; 8] = [
        SchoolLaw::Alone,
        SchoolLaw::Pairs,
        SchoolLaw::LogNormal { median: 3.0, ln_sd: 0.9 },
        SchoolLaw::LogNormal { median: 65.0, ln_sd: 1.1 },
        SchoolLaw::LogNormal { median: 0.7, ln_sd: 0.2 },
        SchoolLaw::Logarithmic { p: 0.8 },
        SchoolLaw::Logarithmic { p: 1e-15 },
        SchoolLaw::Poisson { mean: 20.0 },
    ];

    /// Slow twin: draws have the moments and the generating function that are told. Poisson draws of no fish count as 0.
    #[test]
    fn draws_have_the_moments() {
        let root = Key::seed(41);
        for (place, law) in LAWS.into_iter().enumerate() {
            let sizes = SchoolSizes::new(law);
            let n = 200_000;
            let drawn = (0..n).map(|i| sizes.draw(root.uniform(Purpose::Test, (place as u64) << 32 | i)) as f64);
            let (mut sum, mut squares, mut fourth, mut none, mut none_squared) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for size in drawn {
                sum += size;
                squares += size * size;
                fourth += size * size * size * size;
                let missed = libm::pow(0.9, size);
                none += missed;
                none_squared += missed * missed;
            }
            let n = n as f64;
            let (mean, square) = (sum / n, squares / n);
            let error = ((square - mean * mean) / n).sqrt();
            assert!((mean - sizes.mean()).abs() <= 4.5 * error + 1e-9, "{law:?}: {mean} {}", sizes.mean());
            let exact = sizes.mean() * (1.0 + sizes.pairs_per_fish());
            let error = ((fourth / n - square * square) / n).sqrt();
            assert!((square - exact).abs() <= 5.0 * error + 1e-9, "{law:?}: {square} {exact}");
            let error = ((none_squared / n - (none / n) * (none / n)).max(0.0) / n).sqrt();
            let exact = sizes.chance_of_none(0.1);
            assert!((none / n - exact).abs() <= 4.5 * error + 1e-9, "{law:?}: {} {exact}", none / n);
        }
    }

    /// Far from 1 rounding hardly shows: mu 4.24 and SD 1.10 of ln size (83 schools of planktivores off Taiwan; computed from
    /// open data of Liu et al. 2025, Coral Reefs) give a variance over mean of exp(mu + 1.5 sd^2) = 426.
    #[test]
    fn large_schools_have_the_lognormal_moments() {
        let sizes = SchoolSizes::new(SchoolLaw::LogNormal { median: libm::exp(4.24), ln_sd: 1.1 });
        assert!((sizes.mean() / libm::exp(4.24 + 0.5 * 1.21) - 1.0).abs() < 1e-4, "{}", sizes.mean());
        let over_mean = 1.0 + sizes.pairs_per_fish();
        assert!((over_mean / libm::exp(4.24 + 1.5 * 1.21) - 1.0).abs() < 1e-3 && (over_mean - 426.0).abs() < 1.0);
        assert!((sizes.pgf(1.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_law_of_no_spread_and_the_ends_of_the_uniform() {
        let sizes = SchoolSizes::new(SchoolLaw::LogNormal { median: 7.4, ln_sd: 0.0 });
        assert_eq!((sizes.mean(), sizes.pairs_per_fish(), sizes.draw(0.3)), (7.0, 6.0, 7));
        for law in LAWS {
            let sizes = SchoolSizes::new(law);
            let least = usize::from(!matches!(law, SchoolLaw::Poisson { .. }));
            assert!(sizes.draw(1e-17) >= least && sizes.draw(1.0 - 1e-16) <= LARGEST_SCHOOL, "{law:?}");
            let mut before = 0;
            for i in 1..1000 {
                let size = sizes.draw(f64::from(i) / 1000.0);
                assert!(size >= before, "{law:?}");
                before = size;
            }
        }
        // The wildest law stays within the cut.
        let wild = SchoolSizes::new(SchoolLaw::LogNormal { median: 1000.0, ln_sd: 3.0 });
        assert!(wild.mean() < LARGEST_SCHOOL as f64 && (wild.pgf(1.0) - 1.0).abs() < 1e-12);
        assert_eq!(wild.draw(1.0 - 1e-16), LARGEST_SCHOOL);
    }
}
