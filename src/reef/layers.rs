use super::spec::{SMALLEST_DIAMETER_M, SizeLaw};
use crate::random::{normal_cdf, normal_from_uniform};
use std::sync::Arc;

/// Entries of a layer's table of radii (the upper 12 bits of a colony's hash choose one).
const RADII: usize = 4096;

/// Colonies of one range of sizes. All layers share the cells of the patch field.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Tag of the layer in keys.
    pub tag: u64,
    /// Largest radius, m.
    pub reach: f32,
    /// Share of all colonies.
    pub share: f64,
    /// Radii at 4,096 equally likely levels; each stands for its level with the exact mean area of the level.
    pub radius: Arc<[f32; RADII]>,
}

/// The largest number of colonies expected in a cell of a layer: its exponential must not vanish.
pub(super) const LARGEST_MEAN: f32 = 80.0;

/// Splits a size law into layers; up to `most` colonies are expected in a cell.
///
/// Reading a line lists the colonies of all cells within reach, so the many small colonies must not be looked for as far
/// away as the few large ones. They are split where the mean reach is least. More than two ranges cost more cells than they
/// save colonies, and so do cells that are smaller than those of the field (measured). Where more than eighty of a
/// range would be expected in a cell, equal layers of that range lie over one another.
pub fn layers(sizes: &SizeLaw, most: f64) -> Vec<Layer> {
    let largest = 0.5 * sizes.max_m;
    let smallest = 0.5 * SMALLEST_DIAMETER_M;
    let level = |radius: f64| normal_cdf((libm::log(2.0 * radius / sizes.median_m)) / sizes.ln_sd);
    let below = |cut: f64| (level(cut) - level(smallest)) / (level(largest) - level(smallest));
    let mean_reach = |cut: f64| below(cut) * cut + (1.0 - below(cut)) * largest;
    let cuts = (1..CUTS).map(|i| smallest + (largest - smallest) * f64::from(i) / f64::from(CUTS));
    let cut = cuts.fold(largest, |best, cut| if mean_reach(cut) < mean_reach(best) { cut } else { best });
    let mut layers = Vec::new();
    for (from, to) in [(smallest, cut), (cut, largest)] {
        let share = below(to) - below(from);
        let copies = (share * most / f64::from(LARGEST_MEAN)).ceil().max(1.0);
        let radius = Arc::new(std::array::from_fn(|i| level_radius(sizes, level(from), level(to), i)));
        for _ in 0..copies as usize {
            let tag = layers.len() as u64 + 1;
            layers.push(Layer { tag, reach: to as f32, share: share / copies, radius: Arc::clone(&radius) });
        }
    }
    layers
}

/// The range of sizes is tried to be cut at one of so many places.
const CUTS: u32 = 40;

/// Root mean square radius of the i-th of the equally likely levels between the probabilities `from` and `to`: the
/// lognormal's second moment over the level, `E[R^2; z1 < z < z2] = median^2 e^(2 s^2) (Phi(z2 - 2s) - Phi(z1 - 2s))`.
fn level_radius(sizes: &SizeLaw, from: f64, to: f64, i: usize) -> f32 {
    let width = (to - from) / RADII as f64;
    let z1 = normal_from_uniform(from + width * i as f64);
    let z2 = normal_from_uniform(from + width * (i + 1) as f64);
    let s = sizes.ln_sd;
    let square = libm::exp(2.0 * s * s) * (normal_cdf(z2 - 2.0 * s) - normal_cdf(z1 - 2.0 * s)) / width;
    (0.5 * sizes.median_m * square.sqrt()) as f32
}

/// Mean area of the colonies of the layers, m2.
#[cfg(test)]
pub fn mean_area(layers: &[Layer]) -> f64 {
    layers
        .iter()
        .map(|layer| {
            let squares: f64 = layer.radius.iter().map(|&r| f64::from(r) * f64::from(r)).sum();
            layer.share * std::f64::consts::PI * squares / RADII as f64
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::NamedReef;
    use crate::theory::Discs;

    #[test]
    fn the_tables_keep_the_mean_area_of_the_law() {
        for reef in NamedReef::ALL {
            let spec = reef.spec();
            for most in [0.0, 70.0, 1000.0] {
                let layers = layers(&spec.sizes, most);
                let small = layers.iter().filter(|layer| layer.reach < 0.5 * spec.sizes.max_m as f32).count();
                assert!(layers.iter().all(|layer| layer.share * most <= 80.0 + 1e-9) && (most > 80.0) == (small > 1));
                let exact = Discs::new(&spec.sizes).mean_area;
                assert!((mean_area(&layers) / exact - 1.0).abs() < 1e-5, "{reef:?} {} {exact}", mean_area(&layers));
                assert!((layers.iter().map(|l| l.share).sum::<f64>() - 1.0).abs() < 1e-12);
                for layer in &layers {
                    assert!(layer.radius.iter().all(|&r| 0.0 < r && r <= layer.reach * 1.000001));
                    assert!(layer.radius.windows(2).all(|pair| pair[0] <= pair[1]));
                }
            }
        }
    }
}
