use cdflib::special::{cumnor, dinvnr};

/// The number of entries of the table.
const ENTRIES: usize = 4096;

/// Standard normal quantiles at 4,096 equally likely levels, scaled to variance 1: one shift and one load give a normal.
/// Sums over lattice nodes of such draws are normal to far below Monte Carlo error.
pub struct Normals(Box<[f32; ENTRIES]>);

impl Normals {
    pub fn new() -> Self {
        let raw: Vec<f64> = (0..ENTRIES)
            .map(|i| {
                let p = (i as f64 + 0.5) / ENTRIES as f64;
                dinvnr(p, 1.0 - p)
            })
            .collect();
        let scale = (raw.iter().map(|z| z * z).sum::<f64>() / ENTRIES as f64).sqrt();
        let mut table = Box::new([0.0; ENTRIES]);
        for (entry, z) in table.iter_mut().zip(raw) {
            *entry = (z / scale) as f32;
        }
        Self(table)
    }

    /// The normal that belongs to a hash and one of its four lanes (12 bits each, from the top); independent of one
    /// another.
    #[inline(always)]
    pub fn lane(&self, hash: u64, lane: u32) -> f32 {
        self.0[((hash >> (52 - 12 * lane)) & 0xFFF) as usize]
    }
}

impl Default for Normals {
    fn default() -> Self {
        Self::new()
    }
}

/// A full-precision standard normal from a uniform in (0, 1), by inversion; for effects drawn once a site.
pub fn normal_from_uniform(u: f64) -> f64 {
    if u == 0.5 { 0.0 } else { dinvnr(u, 1.0 - u) }
}

/// Lower and upper tail of the standard normal, 0 and 1 at the infinities.
pub fn normal_tails(x: f64) -> (f64, f64) {
    // Beyond 40 both tails have reached their limits in double precision; the library fails at infinity.
    cumnor(x.clamp(-40.0, 40.0))
}

/// Distribution function of the standard normal.
pub fn normal_cdf(x: f64) -> f64 {
    normal_tails(x).0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distribution_function_reaches_both_ends() {
        assert_eq!(normal_cdf(f64::INFINITY), 1.0);
        assert_eq!(normal_cdf(f64::NEG_INFINITY), 0.0);
        assert_eq!(normal_cdf(0.0), 0.5);
        assert!(normal_cdf(f64::NAN).is_nan());
    }

    #[test]
    fn the_table_has_mean_zero_and_variance_one() {
        let table = Normals::new();
        let mean: f64 = table.0.iter().map(|&z| z as f64).sum::<f64>() / ENTRIES as f64;
        let variance: f64 = table.0.iter().map(|&z| (z as f64).powi(2)).sum::<f64>() / ENTRIES as f64;
        assert!(mean.abs() < 1e-7 && (variance - 1.0).abs() < 1e-6, "{mean} {variance}");
    }
}
