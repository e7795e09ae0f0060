//! Tests that exchange whole sites: the arrangements that the site values of a trial are compared with.

use super::places::values_of_stratum;
use super::plan::{DesignIndex, Plan, Where};
use super::site_values::SiteValues;
use crate::analysis::permutation::{
    Arrangements, Effort, Exchange, PermutationTest, SizeStratum, Stratum, difference_of_means, size_distance,
    weighted_difference_of_means, weighted_size_distance,
};
use crate::analysis::sizes::{SizeCounts, Weighting};
use crate::analysis::{Degenerate, Tail};
use crate::random::{Key, Purpose};

/// Whose sites are exchanged, for one number of sites.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Shape {
    exchange: Exchange,
    /// A zone whose two groups are one stratum of all zones: always drawn, so that strata go together.
    stratum: Option<usize>,
}

/// Every shape of a plan; all arrangements are listed once for the run where there are few, else drawn for each trial.
pub struct Exchanges {
    shapes: Vec<(Shape, Option<Arrangements>)>,
}

impl Exchanges {
    pub fn new(plan: &Plan) -> Self {
        let mut shapes: Vec<Shape> = Vec::new();
        for choice in 0..plan.site_choices() {
            let zones = (0..plan.study.zones.len()).map(|zone| shape_of_zone(plan, zone, choice));
            let all = if plan.has_all() { shapes_of_all(plan, choice) } else { Vec::new() };
            for shape in zones.chain(all) {
                if !shapes.contains(&shape) {
                    shapes.push(shape);
                }
            }
        }
        let listed = |shape: Shape| {
            let few = shape.stratum.is_none() && shape.exchange.count() <= u128::from(Effort::default().exact_up_to);
            // The key is not used where all are listed.
            let listed = few.then(|| Arrangements::new(shape.exchange, Effort::default(), Key::seed(0)));
            (shape, listed.and_then(Result::ok))
        };
        Self { shapes: shapes.into_iter().map(listed).collect() }
    }

    fn place(&self, shape: Shape) -> Option<usize> {
        self.shapes.iter().position(|(known, _)| *known == shape)
    }
}

fn exchange(plan: &Plan, sites: usize) -> Exchange {
    if plan.same_sites { Exchange::Visits { sites } } else { Exchange::Groups { first: sites, second: sites } }
}

fn shape_of_zone(plan: &Plan, zone: usize, choice: usize) -> Shape {
    Shape { exchange: exchange(plan, plan.sites[zone][choice]), stratum: None }
}

/// Pairs of all strata are exchanged together; groups stratum by stratum. Of zones that share places whole places are
/// exchanged.
fn shapes_of_all(plan: &Plan, choice: usize) -> Vec<Shape> {
    let firsts = plan.strata.iter().map(|stratum| stratum[0]);
    if plan.same_sites {
        let sites = firsts.map(|zone| plan.sites[zone][choice]).sum();
        return vec![Shape { exchange: Exchange::Visits { sites }, stratum: None }];
    }
    let stratum = |zone| Shape { stratum: Some(zone), ..shape_of_zone(plan, zone, choice) };
    firsts.map(stratum).collect()
}

/// The steps by which p goes in the test of a design: an arrangement, two-sided with its mirror image, of all there are.
pub fn steps_of_p(plan: &Plan, design: &DesignIndex) -> f64 {
    let shapes = match design.place {
        Where::Zone(zone) => vec![shape_of_zone(plan, zone, design.sites)],
        Where::All => shapes_of_all(plan, design.sites),
    };
    let number: f64 = shapes.iter().map(|shape| shape.exchange.count() as f64).product();
    (if plan.critical.tail() == Tail::Two { 2.0 } else { 1.0 }) / number
}

/// The sites of a zone as shares of what the zone weighs, each with one vote; those without colonies at a visit have none at
/// the other.
fn pairs_of_zone(weight: f64, visits: [&[SizeCounts]; 2], first: &mut Vec<SizeCounts>, later: &mut Vec<SizeCounts>) {
    let [before, after] = visits;
    let is_whole = |(one, other): &(&SizeCounts, &SizeCounts)| one.total() > 0.0 && other.total() > 0.0;
    let whole = before.iter().zip(after).filter(is_whole).count() as f64;
    for pair in before.iter().zip(after) {
        for (site, to) in [(pair.0, &mut *first), (pair.1, &mut *later)] {
            let mut share = SizeCounts::none(site.classes());
            if is_whole(&pair) {
                share.add(site, weight / (whole * site.total()));
            }
            to.push(share);
        }
    }
}

/// Arrangements of one trial.
#[derive(Default)]
pub struct Permuted {
    /// In the order of the shapes; `None` where all are listed for the run or none can be made.
    drawn: Vec<Option<Arrangements>>,
}

impl Permuted {
    /// Draws what the shapes of a plan need for a trial. The key of a shape says what it is, so that other designs of the plan
    /// change nothing.
    pub fn draw(&mut self, exchanges: &Exchanges, trial: Key) {
        let draw = |shape: Shape| {
            let (groups, sites) = match shape.exchange {
                Exchange::Visits { sites } => (0, sites),
                Exchange::Groups { first, .. } => (1, first),
            };
            let stratum = shape.stratum.map_or(0, |zone| zone as u64 + 1);
            let key = trial.child(Purpose::Permutation, (stratum << 16) | (sites as u64) << 1 | groups);
            let always = Effort { exact_up_to: 0, ..Effort::default() };
            Arrangements::new(shape.exchange, always, key).ok()
        };
        self.drawn.clear();
        self.drawn.extend(exchanges.shapes.iter().map(|(shape, listed)| match listed {
            Some(_) => None,
            None => draw(*shape),
        }));
    }

    /// The test of a design's change of means to `state`, second visit less first.
    pub fn test(
        &self,
        plan: &Plan,
        values: &SiteValues,
        design: &DesignIndex,
        state: usize,
    ) -> Result<PermutationTest, Degenerate> {
        let tail = plan.critical.tail();
        let sites = |zone: usize| plan.sites[zone][design.sites];
        let means = |zone: usize, state: usize| values.means((zone, design.reading, design.units), state, sites(zone));
        match design.place {
            Where::Zone(zone) => {
                let arrangements = self.arrangements(plan, shape_of_zone(plan, zone, design.sites))?;
                difference_of_means(arrangements, tail, means(zone, 0), means(zone, state))
            }
            Where::All if plan.same_sites => {
                let shape = shapes_of_all(plan, design.sites)[0];
                // The mean over all sites of these is the weighted mean over zones.
                let all: usize = plan.strata.iter().map(|stratum| sites(stratum[0])).sum();
                let weighted = |state: usize| -> Vec<f64> {
                    let of_stratum = |stratum: &Vec<usize>| -> Vec<f64> {
                        let share = all as f64 / sites(stratum[0]) as f64;
                        match stratum[..] {
                            [zone] => {
                                let weight = plan.study.zones[zone].weight * share;
                                means(zone, state).iter().map(|mean| weight * mean).collect()
                            }
                            _ => {
                                let values = values_of_stratum(plan, values, design, stratum, state);
                                values.into_iter().map(|value| share * value).collect()
                            }
                        }
                    };
                    plan.strata.iter().flat_map(of_stratum).collect()
                };
                difference_of_means(self.arrangements(plan, shape)?, tail, &weighted(0), &weighted(state))
            }
            Where::All => {
                let shapes = shapes_of_all(plan, design.sites).into_iter();
                let of_places = |state: usize| {
                    let of = |stratum: &Vec<usize>| match stratum[..] {
                        [_] => Vec::new(),
                        _ => values_of_stratum(plan, values, design, stratum, state),
                    };
                    plan.strata.iter().map(of).collect::<Vec<_>>()
                };
                let (first, second) = (of_places(0), of_places(state));
                let strata = plan.strata.iter().zip(shapes).enumerate().map(|(place, (stratum, shape))| {
                    let arrangements = self.arrangements(plan, shape)?;
                    Ok(match stratum[..] {
                        [zone] => Stratum {
                            first: means(zone, 0),
                            second: means(zone, state),
                            weight: plan.study.zones[zone].weight,
                            arrangements,
                        },
                        _ => Stratum { first: &first[place], second: &second[place], weight: 1.0, arrangements },
                    })
                });
                weighted_difference_of_means(&strata.collect::<Result<Vec<_>, _>>()?, tail)
            }
        }
    }

    /// The test of a design's sizes in `state` against those of the first visit; every site that has colonies has one vote.
    pub fn test_sizes(
        &self,
        plan: &Plan,
        values: &SiteValues,
        (design, sized): (&DesignIndex, usize),
        state: usize,
    ) -> Result<PermutationTest, Degenerate> {
        let tail = plan.critical.tail();
        let sizes = |zone: usize, state: usize| {
            values.sizes((zone, sized, design.units), state, plan.sites[zone][design.sites])
        };
        let zones = 0..plan.study.zones.len();
        match design.place {
            Where::Zone(zone) => {
                let arrangements = self.arrangements(plan, shape_of_zone(plan, zone, design.sites))?;
                size_distance(arrangements, tail, Weighting::Sites, sizes(zone, 0), sizes(zone, state))
            }
            Where::All if plan.same_sites => {
                let (mut first, mut later) = (Vec::new(), Vec::new());
                for zone in zones {
                    pairs_of_zone(
                        plan.study.zones[zone].weight,
                        [sizes(zone, 0), sizes(zone, state)],
                        &mut first,
                        &mut later,
                    );
                }
                let shape = shapes_of_all(plan, design.sites)[0];
                size_distance(self.arrangements(plan, shape)?, tail, Weighting::Colonies, &first, &later)
            }
            Where::All => {
                let shapes = shapes_of_all(plan, design.sites).into_iter();
                let strata = zones.zip(shapes).map(|(zone, shape)| {
                    Ok(SizeStratum {
                        first: sizes(zone, 0),
                        second: sizes(zone, state),
                        weight: plan.study.zones[zone].weight,
                        arrangements: self.arrangements(plan, shape)?,
                    })
                });
                weighted_size_distance(&strata.collect::<Result<Vec<_>, _>>()?, tail)
            }
        }
    }

    fn arrangements<'a>(&'a self, plan: &'a Plan, shape: Shape) -> Result<&'a Arrangements, Degenerate> {
        let exchanges = plan.exchanges.as_ref().ok_or(Degenerate::TooFew)?;
        let place = exchanges.place(shape).ok_or(Degenerate::TooFew)?;
        let listed = exchanges.shapes[place].1.as_ref();
        listed.or(self.drawn.get(place).and_then(Option::as_ref)).ok_or(Degenerate::TooFew)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A zone weighs what it weighs whatever its sites have, each whole pair the same, and a site that lacks a visit nothing.
    #[test]
    fn pairs_of_a_zone_share_its_weight() {
        let site = |counts: [f64; 2]| SizeCounts::new(counts.to_vec()).unwrap();
        let before = [site([8.0, 2.0]), site([0.0, 0.0]), site([1.0, 3.0])];
        let after = [site([1.0, 1.0]), site([5.0, 5.0]), site([2.0, 0.0])];
        let (mut first, mut later) = (Vec::new(), Vec::new());
        pairs_of_zone(0.6, [&before, &after], &mut first, &mut later);
        for (shares, expected) in
            [(&first, [[0.24, 0.06], [0.0, 0.0], [0.075, 0.225]]), (&later, [[0.15, 0.15], [0.0, 0.0], [0.3, 0.0]])]
        {
            for (share, expected) in shares.iter().zip(expected) {
                let apart = share.counts().iter().zip(expected).map(|(one, other)| (one - other).abs());
                assert!(apart.fold(0.0, f64::max) < 1e-15, "{share:?} {expected:?}");
            }
        }
    }
}
