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
    pub radius: Box<[f32; RADII]>,
}

/// Splits a size law into two layers for a reef with `density` colonies per m2.
///
/// Reading a line looks at all cells within reach, so the many small colonies must not be kept in cells as wide as the few
/// large ones need, nor in cells so small that most are empty. Where to cut, and how wide the cells are, is what costs
/// least; more than two layers cost more cells than they save colonies (measured).
pub fn layers(sizes: &SizeLaw, field_cell_m: f64, density: f64) -> Vec<Layer> {
    let largest = 0.5 * sizes.max_m;
    let smallest = 0.5 * SMALLEST_DIAMETER_M;
    let level = |radius: f64| normal_cdf((libm::log(2.0 * radius / sizes.median_m)) / sizes.ln_sd);
    let total = level(largest) - level(smallest);
    // The cheapest split of a layer, and its cost.
    let split = |from: f64, to: f64| -> (f64, u32) {
        let density = density * (level(to) - level(from)) / total;
        let costs = (0..=MOST_SPLIT).map(|split| (cost(field_cell_m / f64::from(1u32 << split), to, density), split));
        costs.fold((f64::INFINITY, 0), |least, each| if each.0 < least.0 { each } else { least })
    };
    let whole_cost = |cut: &f64| split(smallest, *cut).0 + split(*cut, largest).0;
    let cuts = CUTS.map(|share| (share * largest).max(1.01 * smallest));
    let cut = cuts.into_iter().fold(cuts[0], |best, cut| if whole_cost(&cut) < whole_cost(&best) { cut } else { best });
    let edges = [smallest, cut, largest];
    (0..2)
        .map(|l| {
            let (from, to) = (level(edges[l]), level(edges[l + 1]));
            let (_, split) = split(edges[l], edges[l + 1]);
            Layer {
                tag: 1 + l as u64,
                split,
                cell: (field_cell_m / f64::from(1u32 << split)) as f32,
                reach: edges[l + 1] as f32,
                share: (to - from) / total,
                radius: Box::new(std::array::from_fn(|i| level_radius(sizes, from, to, i))),
            }
        })
        .collect()
}

/// Where the layers may be cut, as shares of the largest radius.
const CUTS: [f64; 6] = [0.15, 0.2, 0.25, 0.35, 0.45, 0.6];
const MOST_SPLIT: u32 = 4;

/// What a metre of line costs in a layer of `cell` with discs up to `reach`, in nanoseconds: a cell costs three and a colony
/// five (measured). The strip is on average half a cell higher at either edge than the discs reach, and crosses cells at
/// a slope between nil and one.
fn cost(cell: f64, reach: f64, density: f64) -> f64 {
    let rows = (0.44 * cell + 2.2 * reach) / cell + 1.5;
    let columns = 0.9 / cell;
    let colonies = cell * cell * density;
    // Cells of four colonies and more leave the way without branches.
    rows * columns * (3.0 + 5.0 * colonies + 10.0 * (colonies - 0.8).max(0.0))
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
            for density in [1.0, 20.0, 300.0] {
                let layers = layers(&spec.sizes, spec.patch_cell_m(), density);
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
