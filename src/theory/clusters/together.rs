//! Kinds of animals that lie in the same patches.

/// Two kinds that lie in the same patches: the covariance of their densities, relative to the product of their means, averaged over
/// a unit, and over two units of a site. Kinds by their numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoInPatches {
    pub kinds: (usize, usize),
    pub of_unit: f64,
    pub of_two: f64,
}

impl TwoInPatches {
    /// Covariance of the logarithms of the densities over `n` units of a site, which are taken to be lognormal together.
    pub(super) fn ln_covariance(&self, n: f64) -> f64 {
        libm::log1p(over(self.of_unit, self.of_two, n))
    }
}

/// Of the mean over `n` units of a site what is so much in one of them and in two.
pub(super) fn over(of_unit: f64, of_two: f64, n: f64) -> f64 {
    of_two + (of_unit - of_two) / n.max(1.0)
}

/// Rounds of the search for the factor; a few do for two kinds, some ten for many.
const ROUNDS: usize = 50;

/// How the logarithm of the density of each kind goes with one standard normal that all have in common: loadings whose products come
/// nearest, by least squares of correlations, to these covariances, and whose squares are no more than the variances. Exact for two
/// kinds, and for any number whose logarithms go with one field; nil for kinds that share nothing.
pub(super) fn loadings(variances: &[f64], covariances: &[((usize, usize), f64)]) -> Vec<f64> {
    let sds: Vec<f64> = variances.iter().map(|variance| libm::sqrt(variance.max(0.0))).collect();
    let correlations: Vec<((usize, usize), f64)> = covariances
        .iter()
        .filter(|((one, other), _)| sds[*one] * sds[*other] > 0.0)
        .map(|&((one, other), covariance)| ((one, other), (covariance / (sds[one] * sds[other])).clamp(-1.0, 1.0)))
        .collect();
    let mut loads = vec![0.0; sds.len()];
    // All of the variance, with the sign that those before give.
    for &((one, other), correlation) in &correlations {
        for (from, to) in [(one, other), (other, one)] {
            if loads[from] == 0.0 {
                loads[from] = if loads[to] == 0.0 { 1.0 } else { correlation.signum() * loads[to] };
            }
        }
    }
    for _ in 0..ROUNDS {
        for kind in 0..loads.len() {
            let (mut product, mut square) = (0.0, 0.0);
            for &((one, other), correlation) in &correlations {
                let with = match kind {
                    _ if kind == one => loads[other],
                    _ if kind == other => loads[one],
                    _ => continue,
                };
                product += correlation * with;
                square += with * with;
            }
            if square > 0.0 {
                loads[kind] = (product / square).clamp(-1.0, 1.0);
            }
        }
    }
    loads.iter().zip(sds).map(|(load, sd)| load * sd).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Averages of `exp(a Z)` over a unit: two kinds of either sign and four of one field come out as they went in.
    #[test]
    fn one_field_is_found_again() {
        let found = loadings(&[0.5, 0.3], &[((1, 0), -0.2)]);
        assert!((found[0] * found[1] + 0.2).abs() < 1e-12, "{found:?}");
        let own: [f64; 4] = [0.6, -0.3, 0.5, 0.2];
        let pairs = (0..4usize).flat_map(|i| (0..i).map(move |j| (i, j)));
        let covariances: Vec<_> = pairs.map(|(i, j)| ((i, j), own[i] * own[j])).collect();
        let variances: Vec<f64> = own.iter().map(|load| load * load + 0.05).collect();
        let found = loadings(&variances, &covariances);
        for ((i, j), covariance) in covariances {
            assert!((found[i] * found[j] - covariance).abs() < 1e-6, "{found:?}");
        }
    }

    #[test]
    fn loadings_keep_to_the_variances() {
        let found = loadings(&[0.1, 0.1, 0.4, 0.0], &[((1, 0), 0.2), ((3, 0), 0.1)]);
        assert!((found[0] * found[1] - 0.1).abs() < 1e-12, "{found:?}");
        assert_eq!(found[2..], [0.0, 0.0]);
        assert_eq!(loadings(&[0.2, 0.3], &[]), [0.0, 0.0]);
    }
}
