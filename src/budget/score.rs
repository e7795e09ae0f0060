//! How a design does against its targets: the margin of each, target over what is achieved.

use crate::analysis::{Tail, t_quantile};
use crate::theory::detectable_change;

/// What the planner knows of one indicator: the variance of what one site tells, by zone and units, and what is needed.
#[derive(Clone, Debug)]
pub struct Indicator {
    pub name: String,
    /// The task whose units tell it.
    pub task: usize,
    pub is_must: bool,
    pub weight: f64,
    /// For each zone and number of units (from 0): what one site tells.
    pub sites: Vec<Vec<SiteTells>>,
    /// Variance that no site can reduce, by number of units: years and people that all sites share.
    pub floor: Vec<f64>,
    /// A difference that shall be seen, a half-width or a coefficient of variation that shall be reached, on the scale of
    /// the variances.
    pub target: f64,
    pub need: Need,
    /// Sites that are done already, by zone; empty where none is.
    pub done: Vec<DoneSites>,
    /// Zones that share places: what whole places tell, instead of what the sites of both do.
    pub places: Vec<PlacesTell>,
}

/// Two zones at the same places, whose replicates are the places.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacesTell {
    pub zones: [usize; 2],
    /// By number of units (from 0): what one place tells of the mean over all zones, weights included.
    pub tells: Vec<SiteTells>,
    /// Places that are done at both depths.
    pub done: DoneSites,
}

impl PlacesTell {
    /// What a place tells at the least, done or to come with so many units.
    pub fn least_of_a_place(&self, units: usize) -> f64 {
        self.done.least(self.tells[units].variance)
    }
}

/// Sites of a zone that tell an indicator already, whatever is planned: their number, and the sums of what each tells. Their
/// units may differ from site to site: the mean of what they tell is that of the harmonic mean of their units, but for what
/// units cannot reduce.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DoneSites {
    pub sites: u16,
    pub variance: f64,
    pub concentration: f64,
}

impl DoneSites {
    pub fn push(&mut self, site: SiteTells) {
        self.sites += 1;
        self.variance += site.variance;
        self.concentration += site.concentration;
    }

    /// What one of these tells in the mean, or one to come, whichever is less.
    fn least(&self, to_come: f64) -> f64 {
        if self.sites > 0 { to_come.min(self.variance / f64::from(self.sites)) } else { to_come }
    }

    /// These with so many to come, and what one of all of them tells in the mean.
    fn with(&self, number: u16, of_site: SiteTells) -> (u16, SiteTells) {
        if self.sites == 0 {
            return (number, of_site);
        }
        let all = f64::from(number + self.sites);
        // What no site tells is infinite, and stays out where no site is added.
        let added = |of_one: f64| if number == 0 { 0.0 } else { f64::from(number) * of_one };
        let tells = SiteTells {
            variance: (self.variance + added(of_site.variance)) / all,
            concentration: (self.concentration + added(of_site.concentration)) / all,
        };
        (number + self.sites, tells)
    }
}

/// What one site tells of an indicator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SiteTells {
    /// Variance of its contrast or mean.
    pub variance: f64,
    /// 1 where one variance is estimated from the sites; less where it is the sum of several (of two groups of sites): the
    /// sum of their squares over the square of their sum.
    pub concentration: f64,
}

impl SiteTells {
    /// One variance, estimated from the sites.
    pub fn one(variance: f64) -> Self {
        Self { variance, concentration: 1.0 }
    }
}

/// By which multiple of its standard error a target must be large, by degrees of freedom.
#[derive(Clone, Debug)]
pub enum Need {
    /// One value whatever the degrees of freedom, as for a coefficient of variation.
    Constant(f64),
    Table(NeedTable),
}

/// A falling function of degrees of freedom, linear in their inverse between knots.
#[derive(Clone, Debug)]
pub struct NeedTable {
    knots: Vec<(f64, f64)>,
}

/// Degrees of freedom at which a need is worked out: the largest stands for infinity. Between them a need of a t test is
/// within a thousandth.
const KNOTS: [f64; 40] = [
    1.0, 1.03, 1.06, 1.1, 1.15, 1.2, 1.28, 1.36, 1.45, 1.55, 1.65, 1.75, 1.87, 2.0, 2.2, 2.4, 2.7, 3.0, 3.5, 4.0, 4.5,
    5.0, 5.5, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.5, 15.0, 17.0, 20.0, 24.0, 30.0, 45.0, 100.0, 300.0, 1e6,
];

impl NeedTable {
    /// Of a test that shall see a difference so often: the difference over its standard error.
    pub fn of_power(alpha: f64, tail: Tail, power: f64) -> Self {
        Self::new(|df| detectable_change(1.0, df, alpha, tail, power).unwrap_or(f64::INFINITY))
    }

    /// Of an interval with two sides: its half-width over the standard error.
    pub fn of_half_width(level: f64) -> Self {
        Self::new(|df| t_quantile(0.5 + 0.5 * level, df))
    }

    pub fn new(need: impl Fn(f64) -> f64) -> Self {
        Self { knots: KNOTS.map(|df| (1.0 / df, need(df))).into_iter().rev().collect() }
    }

    pub fn at(&self, df: f64) -> f64 {
        let inverse = 1.0 / df.max(1.0);
        let after = self.knots.partition_point(|&(knot, _)| knot < inverse).clamp(1, self.knots.len() - 1);
        let ((low, below), (high, above)) = (self.knots[after - 1], self.knots[after]);
        below + (above - below) * ((inverse - low) / (high - low)).clamp(0.0, 1.0)
    }
}

impl Need {
    pub fn at(&self, df: f64) -> f64 {
        match self {
            Need::Constant(value) => *value,
            Need::Table(table) => table.at(df),
        }
    }

    /// The least it can be.
    pub fn least(&self) -> f64 {
        self.at(f64::INFINITY)
    }
}

impl Indicator {
    /// Variance of the estimate with so many sites in each zone and so many units at each, and its degrees of freedom. Sites
    /// that are done come on top.
    pub fn variance(&self, weights: &[f64], sites: &[u16], units: usize) -> (f64, f64) {
        let (mut variance, mut welch) = (0.0, 0.0);
        let mut add = |part: f64, concentration: f64, number: f64| {
            variance += part;
            welch += concentration * part * part / (number - 1.0);
        };
        for (zone, (&weight, &number)) in weights.iter().zip(sites).enumerate() {
            if self.places.iter().any(|places| places.zones.contains(&zone)) {
                continue;
            }
            let (number, of_site) = self.with_done(zone, number, units);
            let number = f64::from(number);
            add(weight * weight * of_site.variance / number, of_site.concentration, number);
        }
        for places in &self.places {
            // A place counts once it is surveyed at both depths.
            let number = places.zones.iter().map(|&zone| sites[zone]).min().unwrap_or(0);
            let (number, tells) = places.done.with(number, places.tells[units]);
            let number = f64::from(number);
            add(tells.variance / number, tells.concentration, number);
        }
        with_floor(variance, self.floor[units], welch)
    }

    /// All sites of a zone, with what one of them tells in the mean.
    fn with_done(&self, zone: usize, number: u16, units: usize) -> (u16, SiteTells) {
        let done = self.done.get(zone).copied().unwrap_or_default();
        done.with(number, self.sites[zone][units])
    }

    /// Sites of a zone that are done; where it shares places, those that are done at both depths.
    pub fn done_sites(&self, zone: usize) -> u16 {
        let places = self.places.iter().find(|places| places.zones.contains(&zone));
        places.map(|places| &places.done).or(self.done.get(zone)).map_or(0, |done| done.sites)
    }

    /// What a site of a zone tells at the least, done or to come with so many units.
    pub fn least_of_a_site(&self, zone: usize, units: usize) -> f64 {
        let done = self.done.get(zone).copied().unwrap_or_default();
        done.least(self.sites[zone][units].variance)
    }

    /// Margin with so many sites in each zone and so many units at each; 0 where nothing tells it.
    pub fn margin(&self, weights: &[f64], sites: &[u16], units: usize) -> f64 {
        let (variance, df) = self.variance(weights, sites, units);
        self.margin_at(variance, df)
    }

    /// Margin from the sum over zones of what sites tell, what they share, and Welch's sum of squares over degrees of freedom.
    pub(super) fn margin_of(&self, variance: f64, floor: f64, welch: f64) -> f64 {
        let (variance, df) = with_floor(variance, floor, welch);
        self.margin_at(variance, df)
    }

    fn margin_at(&self, variance: f64, df: f64) -> f64 {
        let margin = self.target / (variance.sqrt() * self.need.at(df));
        if margin.is_finite() { margin } else { 0.0 }
    }
}

/// Variance with what all sites share, and its degrees of freedom (Satterthwaite's).
fn with_floor(variance: f64, floor: f64, welch: f64) -> (f64, f64) {
    let whole = variance + floor;
    let df = if welch > 0.0 { (whole * whole / welch).max(1.0) } else { f64::INFINITY };
    (whole, df)
}

/// A margin from which on a target is met: rounding never decides.
pub const MET: f64 = 1.0 - 1e-12;

/// What is compared first, second ... between designs of one effort: the weakest must, the weakest of the others (neither
/// counts beyond 1), the weakest of all in steps of 2 %, and the weighted sum of ln margins, none beyond 2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Merit(pub [i64; 4]);

impl Merit {
    pub fn of(indicators: &[Indicator], margins: &[f64]) -> Self {
        let [must, should, all] = Self::first_three(indicators, margins);
        let sum: f64 = indicators.iter().zip(margins).map(|(i, &m)| i.weight * libm::log(m.clamp(1e-9, 2.0))).sum();
        Merit([must, should, all, floor(1000.0 * sum)])
    }

    /// All but the sum.
    pub fn first_three(indicators: &[Indicator], margins: &[f64]) -> [i64; 3] {
        let least = |of: &dyn Fn(&Indicator) -> bool| {
            indicators.iter().zip(margins).filter(|(i, _)| of(i)).fold(f64::INFINITY, |least, (_, &m)| least.min(m))
        };
        let (must, should, all) = (least(&|i| i.is_must), least(&|i| !i.is_must), least(&|_| true));
        [floor(1000.0 * must.min(1.0)), floor(1000.0 * should.min(1.0)), 20 * floor(50.0 * all)]
    }
}

/// Rounding never decides.
fn floor(value: f64) -> i64 {
    (value + 1e-6).floor() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noncentrality at which a two-sided test of 5 % has a power of 80 %, by degrees of freedom: computed by a
    /// general-purpose library.
    #[test]
    fn needs_of_a_test_are_the_computed_ones() {
        let need = NeedTable::of_power(0.05, Tail::Two, 0.8);
        let computed = [
            (1.0, 16.33401),
            (2.0, 5.65349),
            (3.0, 4.25590),
            (4.0, 3.76106),
            (5.0, 3.51390),
            (6.0, 3.36689),
            (8.0, 3.20092),
            (10.0, 3.10997),
            (15.0, 2.99786),
            (20.0, 2.94547),
            (30.0, 2.89536),
            (60.0, 2.84743),
        ];
        for (df, value) in computed {
            // 60 is no knot.
            let within = if df == 60.0 { 1e-3 } else { 2e-5 };
            assert!((need.at(df) / value - 1.0).abs() < within, "{df}: {} {value}", need.at(df));
        }
        for df in [1.04, 1.3, 1.6, 1.95, 2.3, 3.3, 6.5, 12.7, 18.0, 40.0] {
            let exact = detectable_change(1.0, df, 0.05, Tail::Two, 0.8).unwrap();
            assert!((need.at(df) / exact - 1.0).abs() < 1.5e-3, "{df}: {} {exact}", need.at(df));
        }
        assert!((need.at(f64::INFINITY) - 2.801585).abs() < 1e-4);
        assert!((NeedTable::of_half_width(0.95).at(4.0) - 2.776445).abs() < 1e-6);
    }

    /// With the degrees of freedom of Welch and Satterthwaite a margin may fall when a zone gets more sites (ratios computed
    /// apart from this program); the variance never does.
    #[test]
    fn more_sites_in_one_zone_may_lower_a_margin() {
        let of = |sites: [u16; 2]| {
            let indicator = Indicator {
                name: String::new(),
                task: 0,
                is_must: true,
                weight: 1.0,
                sites: vec![vec![SiteTells::one(1.0)]; 2],
                floor: vec![0.0],
                target: 1.0,
                need: Need::Table(NeedTable::of_power(0.05, Tail::Two, 0.8)),
                done: Vec::new(),
                places: Vec::new(),
            };
            indicator.margin(&[0.5, 0.5], &sites, 0)
        };
        let first = of([2, 3]) / 0.958;
        for (sites, computed) in [([2, 4], 0.9395), ([2, 8], 0.7499), ([2, 60], 0.4385)] {
            assert!((of(sites) / first - computed).abs() < 0.003, "{sites:?} {} {computed}", of(sites) / first);
        }
    }

    /// Sites that are done with the units of those to come are just more sites; with others they count with their own, here by
    /// the harmonic mean.
    #[test]
    fn sites_that_are_done_count_with_their_units() {
        let tells = |units: usize| SiteTells::one(0.04 + 0.12 / units as f64);
        let mut indicator = Indicator {
            name: String::new(),
            task: 0,
            is_must: true,
            weight: 1.0,
            sites: vec![(0..=8).map(tells).collect(); 2],
            floor: vec![0.001; 9],
            target: 0.3,
            need: Need::Table(NeedTable::of_power(0.05, Tail::Two, 0.8)),
            done: Vec::new(),
            places: Vec::new(),
        };
        let weights = [0.3, 0.7];
        let (whole, df) = indicator.variance(&weights, &[5, 7], 4);
        indicator.done = vec![DoneSites::default(); 2];
        (0..2).for_each(|_| indicator.done[0].push(tells(4)));
        (0..4).for_each(|_| indicator.done[1].push(tells(4)));
        let (parts, of_parts) = indicator.variance(&weights, &[3, 3], 4);
        assert!((whole / parts - 1.0).abs() < 1e-12 && (df / of_parts - 1.0).abs() < 1e-12, "{parts} {of_parts}");
        // Two sites of 2 and 6 units: their harmonic mean is 3.
        indicator.done = vec![DoneSites::default(); 2];
        [2, 6].iter().for_each(|&units| indicator.done[0].push(tells(units)));
        let (mixed, _) = indicator.variance(&weights, &[0, 7], 4);
        let harmonic = 0.09 * (0.04 + 0.12 / 3.0) / 2.0 + 0.49 * tells(4).variance / 7.0 + 0.001;
        assert!((mixed / harmonic - 1.0).abs() < 1e-12, "{mixed} {harmonic}");
        // Without any site in a zone nothing is told.
        indicator.done.clear();
        assert_eq!(indicator.margin(&weights, &[0, 7], 4), 0.0);
        // The same of whole places.
        indicator.places =
            vec![PlacesTell { zones: [0, 1], tells: (0..=8).map(tells).collect(), done: DoneSites::default() }];
        let (whole, df) = indicator.variance(&weights, &[6, 6], 4);
        (0..2).for_each(|_| indicator.places[0].done.push(tells(4)));
        let (parts, of_parts) = indicator.variance(&weights, &[4, 4], 4);
        assert!((whole / parts - 1.0).abs() < 1e-12 && (df / of_parts - 1.0).abs() < 1e-12, "{parts} {of_parts}");
        assert_eq!((indicator.done_sites(0), indicator.done_sites(1)), (2, 2));
        indicator.places[0].done.push(tells(1));
        let (mixed, _) = indicator.variance(&weights, &[4, 4], 4);
        let sum = 6.0 * tells(4).variance + tells(1).variance;
        assert!((mixed / (sum / 49.0 + 0.001) - 1.0).abs() < 1e-12, "{mixed}");
    }
}
