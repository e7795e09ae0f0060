//! Ratios of second moments of counts, freed of the chance of counting.
//!
//! With the density of a place in a visit as a product of effects of site, of site and year, and of place, the mean of
//! `n (n - 1) / area^2` over belts, of the product of the densities of two belts of one site in one visit, of one site in
//! two visits, and of two sites are mean squares of ever fewer effects; Poisson counting has gone out of all of them. Their
//! ratios are 1 plus the relative variance of each effect. No law is assumed. Sites count once in what compares sites,
//! belts once in what compares belts.

use super::read::BeltCount;

/// One zone's belts by site and visit.
pub(super) type Cells = [Vec<Vec<BeltCount>>];

/// What the moments say; each is a natural logarithm of a ratio of mean squares, NaN where the table cannot tell.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ratios {
    /// Mean density per m2, of site means.
    pub ln_mean: f64,
    /// Of one belt to two belts of one site in one visit: `1 + 1 / k` within sites.
    pub within: f64,
    /// Of two belts of one site in one visit to two sites in one visit: 1 + the relative variance of sites in one visit.
    pub one_visit: f64,
    /// Of one site in two visits to two sites in two visits: 1 + the relative variance of what stays of a site.
    pub lasting: f64,
}

impl Ratios {
    /// Of all sites but one.
    pub fn without(cells: &Cells, left_out: Option<usize>) -> Self {
        let sites: Vec<&Vec<Vec<BeltCount>>> =
            cells.iter().enumerate().filter(|(site, _)| Some(*site) != left_out).map(|(_, cells)| cells).collect();
        let summed: Vec<Vec<Option<Cell>>> =
            sites.iter().map(|site| site.iter().map(|c| Cell::of(c)).collect()).collect();
        let visits = summed.first().map_or(0, Vec::len);
        let (one, apart) = (0..visits).fold((0.0, 0.0), |sum, visit| add(sum, of_visit(&summed, visit)));
        let mut pairs = (0.0, 0.0);
        for second in 1..visits {
            for first in 0..second {
                pairs = add(pairs, of_two_visits(&summed, (first, second)));
            }
        }
        Self {
            ln_mean: libm::log(mean_density(&summed)),
            within: within(&summed),
            one_visit: libm::log(one / apart),
            lasting: libm::log(pairs.0 / pairs.1),
        }
    }
}

fn add(sum: (f64, f64), own: (f64, f64)) -> (f64, f64) {
    (sum.0 + own.0, sum.1 + own.1)
}

/// Sums of the belts of one site and visit, as densities per m2.
#[derive(Clone, Copy)]
struct Cell {
    belts: f64,
    mean: f64,
    /// Mean of `n (n - 1) / area^2`.
    own: f64,
    /// Mean product of two different belts; NaN with one belt.
    pair: f64,
}

impl Cell {
    fn of(belts: &[BeltCount]) -> Option<Self> {
        let number = belts.len() as f64;
        let (mut sum, mut squares, mut own) = (0.0, 0.0, 0.0);
        for belt in belts {
            let density = belt.count / belt.area_m2;
            sum += density;
            squares += density * density;
            own += belt.count * (belt.count - 1.0) / (belt.area_m2 * belt.area_m2);
        }
        (number > 0.0).then(|| Self {
            belts: number,
            mean: sum / number,
            own: own / number,
            pair: (sum * sum - squares) / (number * (number - 1.0)),
        })
    }

    fn is_told(&self) -> bool {
        self.belts >= 2.0
    }
}

/// Each site's mean over its visits, and the mean of these.
fn mean_density(sites: &[Vec<Option<Cell>>]) -> f64 {
    let means = sites.iter().filter_map(|site| {
        let known: Vec<f64> = site.iter().flatten().map(|cell| cell.mean).collect();
        (!known.is_empty()).then(|| crate::analysis::mean(&known))
    });
    crate::analysis::mean(&means.collect::<Vec<_>>())
}

fn within(sites: &[Vec<Option<Cell>>]) -> f64 {
    let cells = sites.iter().flatten().flatten().filter(|cell| cell.is_told());
    let (own, pair) = cells.fold((0.0, 0.0), |sum, cell| add(sum, (cell.belts * cell.own, cell.belts * cell.pair)));
    libm::log(own / pair)
}

/// Mean square within sites of a visit and mean product of two sites, times the degrees of freedom of the sites.
fn of_visit(sites: &[Vec<Option<Cell>>], visit: usize) -> (f64, f64) {
    let cells: Vec<Cell> = sites.iter().filter_map(|site| site[visit]).collect();
    let told: Vec<f64> = cells.iter().filter(|cell| cell.is_told()).map(|cell| cell.pair).collect();
    let sites = cells.len() as f64;
    if told.is_empty() || sites < 2.0 {
        return (0.0, 0.0);
    }
    let sum: f64 = cells.iter().map(|cell| cell.mean).sum();
    let squares: f64 = cells.iter().map(|cell| cell.mean * cell.mean).sum();
    let weight = sites - 1.0;
    (weight * crate::analysis::mean(&told), weight * (sum * sum - squares) / (sites * (sites - 1.0)))
}

/// The same for two visits, over the sites that both have.
fn of_two_visits(sites: &[Vec<Option<Cell>>], (first, second): (usize, usize)) -> (f64, f64) {
    let pairs: Vec<(f64, f64)> =
        sites.iter().filter_map(|site| Some((site[first]?.mean, site[second]?.mean))).collect();
    let common = pairs.len() as f64;
    if common < 2.0 {
        return (0.0, 0.0);
    }
    let (one, two) = pairs.iter().fold((0.0, 0.0), |sum, pair| add(sum, *pair));
    let same: f64 = pairs.iter().map(|pair| pair.0 * pair.1).sum();
    let weight = common - 1.0;
    (weight * same / common, weight * (one * two - same) / (common * (common - 1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_by_hand() {
        let belts = |counts: &[f64]| -> Vec<BeltCount> {
            counts.iter().map(|&count| BeltCount { count, area_m2: 2.0 }).collect()
        };
        let cells = [vec![belts(&[2.0, 4.0]), belts(&[6.0])], vec![belts(&[0.0, 2.0]), belts(&[2.0, 0.0])]];
        let found = Ratios::without(&cells, None);
        // Densities 1, 2 | 3; 0, 1 | 1, 0. Site means: (1.5 + 3) / 2 and 0.5.
        assert!((found.ln_mean.exp() - (2.25 + 0.5) / 2.0).abs() < 1e-12);
        // n (n - 1) / 4: (0.5 + 3) and (0 + 0.5) twice, over products 2, 0, 0 of two belts each.
        assert!((found.within.exp() - (0.5 + 3.0 + 0.5 + 0.5) / 4.0).abs() < 1e-12);
        // First visit: mean of products (2 + 0) / 2, two sites 1.5 * 0.5; second: 0 (one belt tells nothing), 3 * 0.5.
        assert!((found.one_visit.exp() - (1.0 + 0.0) / (0.75 + 1.5)).abs() < 1e-12);
        // Same site: (1.5 * 3 + 0.5 * 0.5) / 2; two sites: (1.5 * 0.5 + 0.5 * 3) / 2.
        assert!((found.lasting.exp() - 4.75 / 2.25).abs() < 1e-12);
        let one = Ratios::without(&cells, Some(1));
        assert!(one.one_visit.is_nan() && one.lasting.is_nan() && !one.within.is_nan());
    }
}
