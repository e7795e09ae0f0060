//! Two points on the whole bottom: hard coral first, with any law, then the tree of thresholded fields.

use super::curve::Curve;
use super::lattice::lattice_correlation;
use super::threshold::covariance_of_two;
use crate::reef::Bottom;

/// A stage of the tree in theory: a category after hard coral.
#[derive(Clone, Debug)]
pub struct TreeStage {
    /// Share of what is left by those before, at either visit; 1 for the last.
    pub shares: [f64; 2],
    /// Share w of the site effect in the latent variance.
    pub latent_share: f64,
    /// Correlation of the patch field.
    pub correlation: Curve,
}

/// The law of all categories at one or two visits. Visits are 0 and 1; categories are 0 = hard coral, then the stages.
#[derive(Clone, Debug)]
pub struct Tree {
    /// Mean cover of hard coral at either visit.
    pub coral: [f64; 2],
    pub stages: Vec<TreeStage>,
    /// Correlation of the patch fields between the visits.
    pub memory: f64,
}

/// `P(category k at the first point, category l at the second)`.
#[derive(Clone, Debug, PartialEq)]
pub struct PairTable {
    number: usize,
    values: Vec<f64>,
}

impl PairTable {
    pub fn at(&self, first: usize, second: usize) -> f64 {
        self.values[first * self.number + second]
    }
}

/// What is written where category `row` is: a column of the misidentification matrix at either visit.
#[derive(Clone, Debug)]
pub struct Written {
    /// `P(this is written | row is there)`.
    pub chances: [Vec<f64>; 2],
}

impl Written {
    /// A category written as it is.
    pub fn truly(category: usize, number: usize) -> Self {
        let column: Vec<f64> = (0..number).map(|row| f64::from(row == category)).collect();
        Self { chances: [column.clone(), column] }
    }

    /// A column of a matrix (rows: what is there, columns: what is written) that holds at both visits.
    pub fn column(matrix: &[Vec<f64>], category: usize) -> Self {
        let column: Vec<f64> = matrix.iter().map(|row| row[category]).collect();
        Self { chances: [column.clone(), column] }
    }
}

impl Tree {
    /// The tree of a bottom in one world, its fields the lattice fields of the engine. All of them share the turn of the
    /// site's frame, which the law of two points ignores: it takes them as independent at a fixed distance. 30,000
    /// simulated sites do not show the difference (see the tests).
    pub fn new(coral: [f64; 2], bottom: &Bottom, world: usize) -> Self {
        let stages = bottom.stages.iter().map(|stage| TreeStage {
            shares: [stage.share, stage.later_shares[world]],
            latent_share: stage.latent_share,
            correlation: lattice_correlation(stage.scale_m),
        });
        Self { coral, stages: stages.collect(), memory: bottom.memory }
    }

    /// Hard coral and the stages.
    pub fn categories(&self) -> usize {
        1 + self.stages.len()
    }

    /// Mean covers of all categories at a visit.
    pub fn covers(&self, visit: usize) -> Vec<f64> {
        let mut free = 1.0 - self.coral[visit];
        let of_stage = self.stages.iter().map(|stage| {
            let cover = free * stage.shares[visit];
            free -= cover;
            cover
        });
        std::iter::once(self.coral[visit]).chain(of_stage).collect()
    }

    /// Correlations of the latent fields (site effect included) of two points of one site at `distance`, at these visits.
    pub fn correlations(&self, distance: f64, visits: (usize, usize)) -> Vec<f64> {
        let memory = if visits.0 == visits.1 { 1.0 } else { self.memory };
        self.stages
            .iter()
            .map(|stage| stage.latent_share + (1.0 - stage.latent_share) * memory * stage.correlation.at(distance))
            .collect()
    }

    /// The law of two points at which the latent fields have these correlations, the first point seen at `visits.0`, the
    /// second at `visits.1`; `both_bare` is the probability that neither carries hard coral.
    ///
    /// `P(k, k) = prod_{j<k} P00_j P11_k`; `P(k, l) = prod_{j<k} P00_j P10_k prod_{k<j<l} (1 - pi_j) pi_l` for k < l, with
    /// the shares of the second point's visit, and mirrored for k > l: once the first point has its category the second
    /// goes on alone.
    pub fn pair_table(&self, both_bare: f64, correlations: &[f64], visits: (usize, usize)) -> PairTable {
        let number = self.categories();
        let mut values = vec![0.0; number * number];
        let mut together = 1.0;
        for k in 0..number {
            let (first, second, excess) = self.margins(k, both_bare, correlations, visits);
            let only_first = together * (first * (1.0 - second) - excess);
            let only_second = together * ((1.0 - first) * second - excess);
            values[k * number + k] = together * (first * second + excess);
            let (mut second_goes_on, mut first_goes_on) = (only_first, only_second);
            for l in k + 1..number {
                let shares = self.stages[l - 1].shares;
                values[k * number + l] = second_goes_on * shares[visits.1];
                values[l * number + k] = first_goes_on * shares[visits.0];
                second_goes_on *= 1.0 - shares[visits.1];
                first_goes_on *= 1.0 - shares[visits.0];
            }
            together *= (1.0 - first) * (1.0 - second) + excess;
        }
        PairTable { number, values }
    }

    /// Share of the first and of the second point that fall into category k, given that they come to it, and the
    /// covariance of the two.
    fn margins(&self, k: usize, both_bare: f64, correlations: &[f64], visits: (usize, usize)) -> (f64, f64, f64) {
        if k == 0 {
            let (first, second) = (self.coral[visits.0], self.coral[visits.1]);
            return (first, second, both_bare - (1.0 - first) * (1.0 - second));
        }
        let shares = self.stages[k - 1].shares;
        let (first, second) = (shares[visits.0], shares[visits.1]);
        (first, second, covariance_of_two(first, second, correlations[k - 1]))
    }

    /// Mean share of points at which `written` is written at a visit.
    pub fn written_cover(&self, written: &Written, visit: usize) -> f64 {
        self.covers(visit).iter().zip(&written.chances[visit]).map(|(cover, chance)| cover * chance).sum()
    }

    /// Covariance of what is written at two different points (or at one point on two visits: the errors are independent)
    /// from their pair table: `sum_kl m_k m_l P(k, l) - p_w p_w'`.
    pub fn written_pair_covariance(&self, written: &Written, table: &PairTable, visits: (usize, usize)) -> f64 {
        let (first, second) = (&written.chances[visits.0], &written.chances[visits.1]);
        let mut joint = 0.0;
        for (k, chance) in first.iter().enumerate() {
            let row: f64 = second.iter().enumerate().map(|(l, other)| other * table.at(k, l)).sum();
            joint += chance * row;
        }
        joint - self.written_cover(written, visits.0) * self.written_cover(written, visits.1)
    }

    /// The covariance as a curve over distance, where `both_bare` is the law of hard coral for these visits, tabulated up
    /// to `reach` metres (that of hard coral; from there on the site effects alone are left). At the same point in one
    /// visit the covariance is not the curve's but `p_w (1 - p_w)`, because an error of reading does not repeat at a
    /// point nearby.
    pub fn covariance(
        &self,
        written: &Written,
        both_bare: impl Fn(f64) -> f64,
        visits: (usize, usize),
        reach: f64,
    ) -> Curve {
        Curve::new(reach, 400, |distance| {
            let table = self.pair_table(both_bare(distance), &self.correlations(distance, visits), visits);
            self.written_pair_covariance(written, &table, visits)
        })
    }

    /// Covariance of the expected covers of one site at these visits: that of two points of the site so far apart that
    /// only the site effects are shared; `both_bare` is that of hard coral for such points.
    pub fn site_covariance(&self, written: &Written, both_bare: f64, visits: (usize, usize)) -> f64 {
        let correlations: Vec<f64> = self.stages.iter().map(|stage| stage.latent_share).collect();
        self.written_pair_covariance(written, &self.pair_table(both_bare, &correlations, visits), visits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Normals, Purpose};
    use crate::reef::{Frame, Stage, When};

    fn tree() -> Tree {
        let stage = |first: f64, second: f64, latent_share: f64, scale: f64| TreeStage {
            shares: [first, second],
            latent_share,
            correlation: lattice_correlation(scale),
        };
        Tree {
            coral: [0.3, 0.24],
            stages: vec![stage(0.4, 0.5, 0.05, 0.3), stage(0.2, 0.1, 0.0, 0.2), stage(1.0, 1.0, 0.0, 0.4)],
            memory: 0.7,
        }
    }

    /// Hard coral with an exponential covariance, kept by nine tenths between the visits.
    fn both_bare(tree: &Tree, visits: (usize, usize), distance: f64) -> f64 {
        let (first, second) = (tree.coral[visits.0], tree.coral[visits.1]);
        let same = if visits.0 == visits.1 { 1.0 } else { 0.9 };
        (1.0 - first) * (1.0 - second) + same * (first.min(second) - first * second) * (-distance / 0.2f64).exp()
    }

    #[test]
    fn tables_are_laws_with_the_covers_as_margins() {
        let tree = tree();
        for visits in [(0, 0), (1, 1), (0, 1), (1, 0)] {
            for distance in [0.0, 0.1, 1.0, 30.0] {
                let correlations = tree.correlations(distance, visits);
                let table = tree.pair_table(both_bare(&tree, visits, distance), &correlations, visits);
                let (first, second) = (tree.covers(visits.0), tree.covers(visits.1));
                for k in 0..4 {
                    let row: f64 = (0..4).map(|l| table.at(k, l)).sum();
                    let column: f64 = (0..4).map(|l| table.at(l, k)).sum();
                    assert!((row - first[k]).abs() < 1e-14 && (column - second[k]).abs() < 1e-14, "{visits:?} {k}");
                    assert!((0..4).all(|l| table.at(k, l) > -1e-15));
                }
            }
        }
    }

    #[test]
    fn at_the_same_point_in_one_visit_nothing_else_lies() {
        let tree = tree();
        let table = tree.pair_table(0.7, &tree.correlations(0.0, (0, 0)), (0, 0));
        for k in 0..4 {
            for l in 0..4 {
                let expected = if k == l { tree.covers(0)[k] } else { 0.0 };
                assert!((table.at(k, l) - expected).abs() < 1e-6, "{k} {l} {}", table.at(k, l));
            }
        }
    }

    #[test]
    fn two_visits_in_either_order_are_mirror_images() {
        let tree = tree();
        let bare = both_bare(&tree, (0, 1), 0.15);
        let forth = tree.pair_table(bare, &tree.correlations(0.15, (0, 1)), (0, 1));
        let back = tree.pair_table(bare, &tree.correlations(0.15, (1, 0)), (1, 0));
        for k in 0..4 {
            for l in 0..4 {
                assert!((forth.at(k, l) - back.at(l, k)).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn reading_without_error_gives_the_category_itself() {
        let tree = tree();
        let identity: Vec<Vec<f64>> = (0..4).map(|k| (0..4).map(|l| f64::from(k == l)).collect()).collect();
        for k in 0..4 {
            let column = Written::column(&identity, k);
            assert_eq!(column.chances, Written::truly(k, 4).chances);
            let table = tree.pair_table(both_bare(&tree, (0, 0), 0.3), &tree.correlations(0.3, (0, 0)), (0, 0));
            let covariance = tree.written_pair_covariance(&column, &table, (0, 0));
            assert!((covariance - (table.at(k, k) - tree.covers(0)[k].powi(2))).abs() < 1e-15);
        }
    }

    #[test]
    fn errors_of_reading_take_covariance_away_and_shift_the_mean() {
        let tree = tree();
        let matrix = vec![
            vec![0.9, 0.06, 0.02, 0.02],
            vec![0.05, 0.9, 0.03, 0.02],
            vec![0.0, 0.1, 0.9, 0.0],
            vec![0.02, 0.03, 0.0, 0.95],
        ];
        let written = Written::column(&matrix, 0);
        let covers = tree.covers(0);
        let by_hand = 0.9 * covers[0] + 0.05 * covers[1] + 0.02 * covers[3];
        assert!((tree.written_cover(&written, 0) - by_hand).abs() < 1e-15);
        let curve = tree.covariance(&written, |h| both_bare(&tree, (0, 0), h), (0, 0), 50.0);
        assert!(curve.at(0.0) < by_hand * (1.0 - by_hand));
        let exact = tree.covariance(&Written::truly(0, 4), |h| both_bare(&tree, (0, 0), h), (0, 0), 50.0);
        assert!((exact.at(0.0) - 0.3 * 0.7).abs() < 1e-12 && curve.at(0.2) < exact.at(0.2));
    }

    /// A bottom without coral, whose second world lets the first stage fall, read at two places of many sites.
    fn simulated(distance: f64) -> (Bottom, Vec<[usize; 3]>) {
        let stage = |share: f64, later: f64, latent_share: f64, scale_m: f64| Stage {
            share,
            later_shares: vec![share, later],
            latent_share,
            scale_m,
        };
        let stages = vec![stage(0.4, 0.3, 0.1, 0.3), stage(0.3, 0.35, 0.05, 0.2), stage(1.0, 1.0, 0.0, 0.4)];
        let bottom = Bottom { stages, memory: 0.6 };
        let (normals, root) = (Normals::new(), Key::seed(41));
        let seen = (0..30_000)
            .map(|trial| {
                let key = root.child(Purpose::Site, trial);
                let site = bottom.site(key, Frame::new(key));
                let (x, y) = (7.0 + 0.6 * distance, 3.0 - 0.8 * distance);
                [
                    site.category_at(&normals, 7.0, 3.0, When::First),
                    site.category_at(&normals, x, y, When::First),
                    site.category_at(&normals, x, y, When::Second { world: 1 }),
                ]
            })
            .collect();
        (bottom, seen)
    }

    #[test]
    fn the_simulated_bottom_follows_the_tree() {
        for distance in [0.0, 0.1, 0.3, 40.0] {
            let (bottom, seen) = simulated(distance);
            let tree = Tree::new([0.0, 0.0], &bottom, 1);
            let trials = seen.len() as f64;
            for (other, visits) in [(1, (0, 0)), (2, (0, 1))] {
                let table = tree.pair_table(1.0, &tree.correlations(distance, visits), visits);
                for k in 0..3 {
                    for l in 0..3 {
                        let hits = seen.iter().filter(|point| point[0] == k && point[other] == l).count();
                        let exact = table.at(k + 1, l + 1);
                        // Half a hit more, so that what cannot be has an error too.
                        let error = (exact.max(0.5 / trials) * (1.0 - exact) / trials).sqrt();
                        let share = hits as f64 / trials;
                        // 72 comparisons: one beyond 4.5 errors in two thousand runs.
                        assert!((share - exact).abs() < 4.5 * error, "{distance} {visits:?} {k} {l}: {share} {exact}");
                    }
                }
            }
        }
    }

    #[test]
    fn expected_covers_of_sites_have_the_means_and_covariances_of_the_tree() {
        let (bottom, _) = simulated(0.0);
        let tree = Tree::new([0.0, 0.0], &bottom, 1);
        let root = Key::seed(43);
        let later = When::Second { world: 1 };
        let sites: Vec<[Vec<f64>; 2]> = (0..40_000)
            .map(|trial| {
                let key = root.child(Purpose::Site, trial);
                let site = bottom.site(key, Frame::new(key));
                [site.expected_covers(0.0, When::First), site.expected_covers(0.0, later)]
            })
            .collect();
        for k in 0..3 {
            let (first, second) = (tree.covers(0)[k + 1], tree.covers(1)[k + 1]);
            assert_mean(&sites.iter().map(|site| site[0][k]).collect::<Vec<_>>(), first);
            assert_mean(&sites.iter().map(|site| site[1][k]).collect::<Vec<_>>(), second);
            let written = Written::truly(k + 1, 4);
            let product = |site: &[Vec<f64>; 2]| (site[0][k] - first) * (site[1][k] - second);
            assert_mean(&sites.iter().map(product).collect::<Vec<_>>(), tree.site_covariance(&written, 1.0, (0, 1)));
        }
    }
}
