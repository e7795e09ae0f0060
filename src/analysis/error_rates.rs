//! How often each test of counts and sizes sees a change where there is none: small deterministic simulations.

use super::counts::{BetaBinomial, Marked, NegativeBinomial, QuasiPoisson, Shares, Totals};
use super::permutation::{Arrangements, Effort, Exchange, difference_of_means, size_distance};
use super::sizes::{SizeClasses, SizeCounts, Weighting};
use super::transforms::Scale;
use super::{CriticalT, Degenerate, Sample, TTest, Tail};
use crate::measures::Rate;
use crate::random::{Key, Purpose, stream};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Beta, Binomial, Distribution, Gamma, LogNormal, Poisson};

const ALPHA: f64 = 0.05;

/// Rejections of a test in trials with an answer, two-sided at 5 %; the test gets a generator of its own trial.
fn false_alarms(trials: u64, mut test: impl FnMut(&mut ChaCha8Rng) -> Result<bool, Degenerate>) -> Rate {
    let (mut hits, mut answered) = (0, 0);
    for trial in 0..trials {
        let answer = test(&mut stream(Key::seed(77).child(Purpose::Test, trial)));
        answered += u64::from(answer.is_ok());
        hits += u64::from(answer == Ok(true));
    }
    Rate::new(hits, answered)
}

/// The rate lies between `low` and `high` as far as 4 simulation errors can tell.
#[track_caller]
fn assert_between(what: &str, rate: Rate, low: f64, high: f64) {
    let slack = 4.0 * rate.error();
    println!("{what}: {:.4} +- {:.4} of {}", rate.value(), rate.error(), rate.trials);
    assert!(low - slack <= rate.value() && rate.value() <= high + slack, "{what}: {rate:?}");
}

fn poisson(random: &mut ChaCha8Rng, mean: f64) -> f64 {
    if mean > 0.0 { Poisson::new(mean).unwrap().sample(random) } else { 0.0 }
}

/// Totals of sites whose true densities are gamma: negative binomial counts.
fn clustered(random: &mut ChaCha8Rng, sites: usize, mean: f64, k: f64) -> Vec<f64> {
    let density = Gamma::new(k, mean / k).unwrap();
    (0..sites)
        .map(|_| {
            let mean = density.sample(random);
            poisson(random, mean)
        })
        .collect()
}

/// Two visits to sites of different density, each visit negative binomial about its site's.
fn visited_twice(random: &mut ChaCha8Rng, sites: usize, mean: f64, k: f64) -> (Vec<f64>, Vec<f64>) {
    let site = Gamma::new(1.5, mean / 1.5).unwrap();
    let visit = Gamma::new(k, 1.0 / k).unwrap();
    (0..sites)
        .map(|_| {
            let density = site.sample(random);
            let mut once = || {
                let mean = density * visit.sample(random);
                poisson(random, mean)
            };
            (once(), once())
        })
        .unzip()
}

fn totals(counts: &[f64]) -> Totals<'_> {
    Totals::of_equal_effort(counts, 1.0).unwrap()
}

fn critical() -> CriticalT {
    CriticalT::new(ALPHA, Tail::Two)
}

#[test]
fn quasi_poisson_of_two_groups() {
    let critical = critical();
    let rate_of = |test: fn(&QuasiPoisson) -> TTest| {
        false_alarms(3000, |random| {
            let (first, second) = (clustered(random, 10, 8.0, 1.0), clustered(random, 10, 8.0, 1.0));
            Ok(test(&QuasiPoisson::groups(totals(&first), totals(&second))?).rejects(&critical, 0.0))
        })
    };
    assert_between("quasi-Poisson, groups", rate_of(|fit| fit.log_ratio), 0.04, 0.06);
    assert_between("the same by sites", rate_of(|fit| fit.by_sites.unwrap()), 0.04, 0.07);
}

/// Sites whose visits differ by a factor: the spread of a pair rises faster than its mean, rich sites carry the test, and one
/// dispersion for all promises too much. The error by sites mends a part of it. Where a pair's spread is in proportion to its
/// mean both are right.
#[test]
fn quasi_poisson_of_pairs() {
    let critical = critical();
    let rate_of = |by_factor: bool, test: fn(&QuasiPoisson) -> TTest| {
        false_alarms(3000, |random| {
            let (first, second) = if by_factor {
                visited_twice(random, 12, 20.0, 4.0)
            } else {
                let (first, second) = visited_twice(random, 12, 8.0, 1e6);
                (first.iter().map(|count| 3.0 * count).collect(), second.iter().map(|count| 3.0 * count).collect())
            };
            Ok(test(&QuasiPoisson::paired(totals(&first), totals(&second))?).rejects(&critical, 0.0))
        })
    };
    assert_between("quasi-Poisson, pairs in proportion", rate_of(false, |fit| fit.log_ratio), 0.04, 0.06);
    assert_between("the same by sites", rate_of(false, |fit| fit.by_sites.unwrap()), 0.04, 0.08);
    assert_between("quasi-Poisson, pairs by factors", rate_of(true, |fit| fit.log_ratio), 0.09, 0.13);
    assert_between("the same by sites", rate_of(true, |fit| fit.by_sites.unwrap()), 0.04, 0.09);
}

#[test]
fn negative_binomial_of_two_groups() {
    let critical = critical();
    let rate_of = |sites| {
        false_alarms(2000, |random| {
            let (first, second) = (clustered(random, sites, 8.0, 1.0), clustered(random, sites, 8.0, 1.0));
            Ok(NegativeBinomial::two(totals(&first), totals(&second))?.log_ratio()?.rejects(&critical, 0.0))
        })
    };
    assert_between("negative binomial, 5 sites a group", rate_of(5), 0.04, 0.09);
    assert_between("negative binomial, 20 sites a group", rate_of(20), 0.04, 0.07);
}

#[test]
fn t_on_the_log_scale() {
    let (critical, scale) = (critical(), Scale::Log { plus: 0.5 });
    let rate = false_alarms(3000, |random| {
        let mut sample = || -> Result<Sample, Degenerate> {
            let counts = clustered(random, 8, 8.0, 1.0);
            Ok(Sample::of(&counts.iter().map(|&count| scale.of(count)).collect::<Result<Vec<f64>, _>>()?))
        };
        let (first, second) = (sample()?, sample()?);
        Ok(TTest::welch(first, second).ok_or(Degenerate::NothingVaries)?.rejects(&critical, 0.0))
    });
    assert_between("Welch on ln", rate, 0.035, 0.06);
}

/// Exchanging sites is exact: never above alpha, and just below it where there are many arrangements.
#[test]
fn permutation_of_means_exact_and_drawn() {
    let effort = Effort { exact_up_to: 1000, random: 199 };
    // Few arrangements leave no p just below alpha: the rate is then clearly below it.
    let cases = [
        (Exchange::Visits { sites: 9 }, true, 0.04),
        (Exchange::Groups { first: 6, second: 6 }, true, 0.04),
        (Exchange::Visits { sites: 20 }, false, 0.045),
        (Exchange::Groups { first: 20, second: 20 }, false, 0.045),
    ];
    for (exchange, exact, low) in cases {
        let rate = false_alarms(2000, |random| {
            let (first, second) = match exchange {
                Exchange::Visits { sites } => visited_twice(random, sites, 8.0, 2.0),
                Exchange::Groups { first, second } => {
                    (clustered(random, first, 8.0, 1.0), clustered(random, second, 8.0, 1.0))
                }
            };
            let arrangements = Arrangements::new(exchange, effort, Key(random.random()))?;
            assert_eq!(arrangements.is_exact(), exact);
            Ok(difference_of_means(&arrangements, Tail::Two, &first, &second)?.rejects(ALPHA))
        });
        assert_between(&format!("permutation of {exchange:?}"), rate, low, ALPHA);
    }
}

/// Sites with size distributions of their own. Colonies pooled as if they were independent would see a change nearly always.
#[test]
fn permutation_of_size_distributions() {
    let classes = SizeClasses::new(vec![5.0, 10.0, 15.0, 20.0, 30.0, 40.0]).unwrap();
    let exchange = Exchange::Groups { first: 6, second: 6 };
    for weighting in [Weighting::Sites, Weighting::Colonies] {
        let rate = false_alarms(1000, |random| {
            let mut site = || -> SizeCounts {
                let middle = 2.5 + 0.5 * (random.random::<f64>() - 0.5);
                let size = LogNormal::new(middle, 0.6).unwrap();
                let colonies = 3 + (40.0 * random.random::<f64>()) as usize;
                classes.counts(&(0..colonies).map(|_| size.sample(random)).collect::<Vec<f64>>())
            };
            let (first, second): (Vec<_>, Vec<_>) =
                ((0..6).map(|_| site()).collect(), (0..6).map(|_| site()).collect());
            let arrangements = Arrangements::new(exchange, Effort::default(), Key(1))?;
            Ok(size_distance(&arrangements, Tail::Two, weighting, &first, &second)?.rejects(ALPHA))
        });
        assert_between(&format!("sizes by {weighting:?}"), rate, 0.035, ALPHA);
    }
}

#[test]
fn shares_with_extra_variation() {
    let critical = critical();
    let draw = |random: &mut ChaCha8Rng| -> Vec<Marked> {
        let share = Beta::new(2.0, 6.0).unwrap();
        (0..10)
            .map(|_| {
                let of = 10 + (30.0 * random.random::<f64>()) as u64;
                let marked = Binomial::new(of, share.sample(random)).unwrap().sample(random);
                Marked::new(marked as f64, of as f64).unwrap()
            })
            .collect()
    };
    let rate_of = |test: fn(&Shares) -> Result<TTest, Degenerate>| {
        false_alarms(1000, |random| {
            let (first, second) = (draw(random), draw(random));
            Ok(test(&Shares::new(&[&first, &second])?)?.rejects(&critical, 0.0))
        })
    };
    let williams = rate_of(|shares| shares.williams()?.logit_difference(0, 1));
    assert_between("Williams", williams, 0.035, 0.06);
    let beta_binomial = rate_of(|shares| BetaBinomial::fit(shares)?.logit_difference(0, 1));
    assert_between("beta-binomial", beta_binomial, 0.035, 0.07);
}

/// Rare animals: many trials have no ratio, and say so.
#[test]
fn rare_animals_end_in_named_reasons() {
    let mut reasons = std::collections::BTreeMap::new();
    let critical = critical();
    let rate = false_alarms(2000, |random| {
        let (first, second) = (clustered(random, 5, 0.3, 0.3), clustered(random, 5, 0.3, 0.3));
        let fits = [
            QuasiPoisson::groups(totals(&first), totals(&second)).map(|fit| fit.log_ratio),
            NegativeBinomial::two(totals(&first), totals(&second)).and_then(|fit| fit.log_ratio()),
        ];
        for fit in &fits {
            match fit {
                Ok(test) => assert!(test.estimate().is_finite() && test.error() > 0.0),
                Err(reason) => *reasons.entry(reason.words()).or_insert(0) += 1,
            }
        }
        Ok(fits[0]?.rejects(&critical, 0.0))
    });
    println!("{reasons:?}, {rate:?}");
    assert!(
        reasons.contains_key(Degenerate::AllZero.words()) && reasons.contains_key(Degenerate::ZeroInOneGroup.words())
    );
    assert!(rate.trials < 1600 && rate.value() < ALPHA, "a handful of animals cannot show a change: {rate:?}");
}
