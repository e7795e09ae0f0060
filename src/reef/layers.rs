use super::spec::{SMALLEST_DIAMETER_M, SizeLaw};
use crate::random::{normal_cdf, normal_from_uniform};

/// Entries of a layer's table of radii (the upper 12 bits of a colony's hash choose one).
const RADII: usize = 4096;

/// Colonies of one range of sizes, kept in cells of their own: small colonies in small cells.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Tag of the layer in keys.
    pub tag: u64,
    /// Cells of the layer along one side of a cell of the patch field: 1, 2, 4 ...
    pub split: u32,
    /// Side of its cells, m.
    pub cell: f32,
    /// Largest radius, m.
    pub reach: f32,
    /// Share of all colonies.
    pub share: f64,
    /// Radii at 4,096 equally likely levels; each stands for its level with the exact mean area of the level.
    pub radius: Vec<f32>,
}

/// Splits a size law into two layers; radii up to a quarter of the largest in the first.
///
/// Reading a line looks at all cells within reach, so the many small colonies must not be kept in cells as wide as the
/// few large ones need; more than two layers cost more cells than they save colonies (measured).
pub fn layers(sizes: &SizeLaw, field_cell_m: f64) -> Vec<Layer> {
    let largest = 0.5 * sizes.max_m;
    let edges = [0.5 * SMALLEST_DIAMETER_M, 0.25 * largest, largest];
    let level = |radius: f64| normal_cdf((libm::log(2.0 * radius / sizes.median_m)) / sizes.ln_sd);
    let total = level(edges[2]) - level(edges[0]);
    (0..2)
        .map(|l| {
            let (from, to) = (level(edges[l]), level(edges[l + 1]));
            let reach = edges[l + 1];
            // Cells about as wide as the reach, but never over the cell of the field.
            let mut split = 0;
            while field_cell_m / f64::from(1u32 << split) > 1.7 * reach && split < 4 {
                split += 1;
            }
            Layer {
                tag: 1 + l as u64,
                split,
                cell: (field_cell_m / f64::from(1u32 << split)) as f32,
                reach: reach as f32,
                share: (to - from) / total,
                radius: (0..RADII).map(|i| level_radius(sizes, from, to, i)).collect(),
            }
        })
        .collect()
}

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
            let layers = layers(&spec.sizes, spec.patch_cell_m());
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
