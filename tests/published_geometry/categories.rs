//! Rows 78-85 (nine categories by the tree) and 91-93 (laws of site means).

use crate::double::{Field, mean_agrees, normal, variance_agrees};
use crate::printed;
use rand_distr::{Beta, Binomial, Distribution};
use reefwright::random::{Key, stream};
use reefwright::theory::smooth::exponential;
use reefwright::theory::threshold::{covariance, threshold_of};
use reefwright::theory::tree::{PairTable, Tree, TreeStage};
use reefwright::theory::{Curve, Rule, root};

/// Hard coral, soft coral, sponge, macroalgae, turf, coralline crust, rubble, sand, rock: cover and scale of its
/// exponential field (the last needs none).
const NINE: [(f64, f64); 9] = [
    (0.25, 2.0),
    (0.08, 1.0),
    (0.04, 0.5),
    (0.12, 3.0),
    (0.20, 2.0),
    (0.13, 1.0),
    (0.08, 2.0),
    (0.06, 5.0),
    (0.04, 1.0),
];
const HARD_CORAL: usize = 0;
const MACROALGAE: usize = 3;
const TURF: usize = 4;
const SAND: usize = 7;
const ROCK: usize = 8;

/// `pi_k` of every category, hard coral included.
fn conditional_shares() -> [f64; 9] {
    let mut free = 1.0;
    NINE.map(|(cover, _)| {
        let share = cover / free;
        free -= cover;
        share.min(1.0)
    })
}

fn tree() -> Tree {
    let stages = conditional_shares()[1..]
        .iter()
        .map(|&share| TreeStage { shares: [share, share], latent_share: 0.0, correlation: Curve::new(1.0, 3, |_| 0.0) })
        .collect();
    Tree { coral: [0.25, 0.25], stages, memory: 1.0 }
}

fn table(distance: f64) -> PairTable {
    let correlations: Vec<f64> = NINE[1..].iter().map(|(_, scale)| exponential(distance, *scale)).collect();
    let both_bare = 0.75 * 0.75 + covariance(0.25, exponential(distance, 2.0));
    tree().pair_table(both_bare, &correlations, (0, 0))
}

const PAIRS: [(u32, usize, usize, &str); 5] = [
    (81, HARD_CORAL, HARD_CORAL, "0.16481993"),
    (82, TURF, TURF, "0.10630139"),
    (83, ROCK, ROCK, "0.012122474"),
    (84, HARD_CORAL, TURF, "0.022714685"),
    (85, MACROALGAE, SAND, "0.003487215"),
];

#[test]
fn the_tree_of_nine_categories() {
    let covers = tree().covers(0);
    printed(78, covers[HARD_CORAL], "0.25");
    printed(79, covers[MACROALGAE], "0.12");
    printed(80, covers[ROCK], "0.04");
    let table = table(0.5);
    for (row, first, second, value) in PAIRS {
        printed(row, table.at(first, second), value);
    }
    // The conditional shares and thresholds printed with the tree.
    let shares = [".25", ".106667", ".059701", ".190476", ".392157", ".419355", ".444444", ".6"];
    let thresholds = [".67449", "1.244452", "1.557284", ".876143", ".273702", ".203544", ".13971", "-.253347"];
    for ((share, text), threshold) in conditional_shares().into_iter().zip(shares).zip(thresholds) {
        printed(78, share, text);
        printed(78, threshold_of(share), threshold);
    }
}

#[test]
fn the_tree_by_simulation() {
    let fields: Vec<Field> =
        NINE.iter().map(|(_, scale)| Field::new(&[(0.0, 0.0), (0.5, 0.0)], |h| exponential(h, *scale))).collect();
    let thresholds = conditional_shares().map(threshold_of);
    let mut random = stream(Key::seed(1078));
    let seen: Vec<[usize; 2]> = (0..150_000)
        .map(|_| {
            let z: Vec<Vec<f64>> = fields.iter().map(|field| field.draw(&mut random)).collect();
            [0, 1].map(|point| (0..9).find(|&k| z[k][point] > thresholds[k]).unwrap_or(ROCK))
        })
        .collect();
    for (row, category) in [(78, HARD_CORAL), (79, MACROALGAE), (80, ROCK)] {
        let hits: Vec<f64> = seen.iter().map(|pair| f64::from(pair[0] == category)).collect();
        mean_agrees(row, &hits, NINE[category].0);
    }
    let table = table(0.5);
    for (row, first, second, _) in PAIRS {
        let hits: Vec<f64> = seen.iter().map(|pair| f64::from(*pair == [first, second])).collect();
        mean_agrees(row, &hits, table.at(first, second));
    }
}

#[test]
fn site_means_of_a_dirichlet_law() {
    // p (1 - p) / n (1 + (n - 1) / (phi + 1)) with p = .25, phi = 20, n = 50 independent points.
    let exact = 0.25 * 0.75 / 50.0 * (1.0 + 49.0 / 21.0);
    printed(91, exact, "0.0125");
    let mut random = stream(Key::seed(1091));
    let site = Beta::new(5.0, 15.0).unwrap();
    let means: Vec<f64> = (0..60_000)
        .map(|_| {
            let cover = site.sample(&mut random);
            Binomial::new(50, cover).unwrap().sample(&mut random) as f64 / 50.0
        })
        .collect();
    variance_agrees(91, &means, exact);
}

#[test]
fn site_means_of_a_logit_normal_law() {
    let rule = Rule::normal(48);
    let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
    let mean = |centre: f64| rule.expect(|x| logistic(centre + 0.8 * x));
    let centre = root(-5.0, 5.0, 1e-13, |centre| mean(centre) - 0.25).unwrap();
    printed(92, centre, "-1.243328");
    printed(92, mean(centre), "0.25");
    let variance = rule.expect(|x| logistic(centre + 0.8 * x).powi(2)) - 0.25 * 0.25;
    printed(93, variance, "0.019176692");
    let mut random = stream(Key::seed(1092));
    let sites: Vec<f64> = (0..100_000).map(|_| logistic(centre + 0.8 * normal(&mut random))).collect();
    mean_agrees(92, &sites, 0.25);
    variance_agrees(93, &sites, variance);
}
