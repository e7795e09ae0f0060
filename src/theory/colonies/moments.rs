use super::between_sites::Sites;
use super::hit_share::{HitLevel, HitShare};
use super::sizes::{MeasuredSizes, Weight, WrittenSizes};
use super::visible::{Pairs, VisiblePairs};
use crate::analysis::{ColonyIndicator, in_class};
use crate::design::{ColonyVariation, SiteSpread};
use crate::reef::CoralLaw;
use crate::reef::colonies::{ConditionShares, DEAD_SHARE_PRECISION, PartialMortality};
use crate::survey::coral_belt::{CoralBelt, Detection, EdgeRule};
use crate::theory::coral::{CoralPairs, site_pairs};
use crate::theory::curve::Curve;
use crate::theory::deaths::{Left, LeftInPlace};
use crate::theory::inverse_count::inverse_count;
use crate::theory::pairs::{PairOfUnits, Unit, mean_common_area, mean_common_area_relaid};
use crate::theory::placement::{smeared, variance_of_rectangle};
use crate::theory::shape::{Kernels, Shape};
use crate::theory::{Discs, LayoutMoments, UnitMoments};
use std::cell::OnceCell;

/// Visible colonies of one zone, in closed form: made once a zone, good for any belt and indicator.
#[derive(Clone, Debug)]
pub struct ColonyTheory {
    states: Vec<State>,
    discs: Discs,
    /// Size of a site, m.
    site: (f64, f64),
    /// SD of how far a belt at the same marks is laid from where it was, m per axis; nil of places drawn anew.
    relay_sd: Option<f64>,
    pub(super) dead: PartialMortality,
    condition: ConditionShares,
    pub(super) variation: ColonyVariation,
    /// By how much the log odds of having dead parts rise for each share of all colonies that has some.
    pub(super) dead_log_odds: f64,
}

#[derive(Clone, Debug)]
struct State {
    cover: f64,
    left: Left,
    places: Vec<InPlace>,
    /// Share of the germs of the first visit that live at the second before deaths, and share of this state's germs that
    /// lived at the first.
    common: (f64, f64),
    /// Densities of ordered pairs of one state by their kinds of place, of which the second ranks higher.
    within: Vec<Curve>,
    /// Variance of the true cover of whole sites, and covariance with the first visit's.
    truth: (f64, f64),
}

/// Visible colonies of one kind of place.
#[derive(Clone, Debug)]
struct InPlace {
    /// Per m2 of all bottom; those visible at the first visit too; those that lived then unseen.
    density: f64,
    at_both: f64,
    uncovered: f64,
    /// Share of all colonies that deaths leave.
    survivors: f64,
    /// Densities of pairs of a colony of the first visit and one of this state and place: the second ranks higher, the first
    /// does.
    across: (Curve, Curve),
}

/// Knots of the pair densities.
const KNOTS: usize = 240;

impl ColonyTheory {
    /// `kernels` as for `shape`; `relay_sd` where belts of the second visit lie at the marks of the first.
    pub fn new(law: &CoralLaw, (shape, kernels): (&Shape, &Kernels), site: (f64, f64), relay_sd: Option<f64>) -> Self {
        let visible = VisiblePairs::new(law, shape, kernels);
        let covers = CoralPairs::new(law, shape);
        let distances = site_pairs(site.0, site.1);
        let reach = libm::hypot(site.0, site.1);
        let states = (0..law.states.len()).map(|s| {
            let left = visible.left(s).clone();
            let number = left.places().len();
            let within = curves(reach, number * number, |h| visible.within(s, h));
            let densities = visible.densities(s);
            let (same, across) = if s == 0 {
                (vec![(densities[0], densities[0])], vec![within[0].clone(), within[0].clone()])
            } else {
                let both_orders =
                    |pairs: Vec<Pairs>| pairs.iter().flat_map(|p| [p.second_above, p.first_above]).collect();
                (visible.same(s), curves(reach, 2 * number, |h| both_orders(visible.across(s, h))))
            };
            let in_place = |k: usize| InPlace {
                density: densities[k],
                at_both: same[k].0,
                uncovered: same[k].1 - same[k].0,
                survivors: left.places()[k].colonies,
                across: (across[2 * k].clone(), across[2 * k + 1].clone()),
            };
            let bare = |state| covers.bare(state);
            let own = covers.truth_within(s, &distances) - bare(s) * bare(s);
            State {
                cover: law.states[s].cover,
                places: (0..number).map(in_place).collect(),
                common: if s == 0 { (1.0, 1.0) } else { visible.common(s) },
                within,
                truth: (own, if s == 0 { own } else { covers.truth_across(s, &distances) - bare(0) * bare(s) }),
                left,
            }
        });
        Self {
            states: states.collect(),
            discs: shape.discs.clone(),
            site,
            relay_sd,
            dead: PartialMortality::USUAL,
            condition: ConditionShares::USUAL,
            variation: ColonyVariation::default(),
            dead_log_odds: 0.0,
        }
    }

    /// The same colonies, partly dead by another law than the usual one.
    pub fn with_partial_mortality(self, dead: PartialMortality) -> Self {
        Self { dead, ..self }
    }

    /// The same, of which other shares are not healthy than usual.
    pub fn with_condition(self, condition: ConditionShares) -> Self {
        Self { condition, ..self }
    }

    /// The same, on sites that differ in what their colonies are like.
    pub fn with_variation(self, variation: ColonyVariation) -> Self {
        let even = variation.dead_parts == SiteSpread::default();
        let dead_log_odds = if even { 0.0 } else { self.log_odds_for_each_share() };
        Self { variation, dead_log_odds, ..self }
    }

    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        if self.states.len() > state {
            self.states = vec![self.states[0].clone(), self.states[1].clone(), self.states[state].clone()];
        }
    }

    /// Visible colonies per m2 in a state. Cover over the mean area of a disc, but for patches hardly larger than colonies.
    pub fn density(&self, state: usize) -> f64 {
        self.states[state].sum(|place| place.density)
    }

    /// Colonies per m2 visible in a state of the second visit that lived at the first and lay under others then.
    pub fn uncovered(&self, state: usize) -> f64 {
        self.states[state].sum(|place| place.uncovered)
    }

    /// Colonies per m2 that are visible at both visits.
    pub fn visible_at_both(&self, state: usize) -> f64 {
        self.states[state].sum(|place| place.at_both)
    }

    /// Moments of an indicator as a belt of `size` (length, width) gives it, in every state.
    pub fn moments(&self, belt: &CoralBelt, size: (f64, f64), indicator: ColonyIndicator) -> UnitMoments {
        let means = self.means(belt, size, indicator);
        let sizes = (&*means.sizes, &*means.all);
        match indicator {
            ColonyIndicator::Density => self.of_sum(sizes, |sizes| &sizes.count, size),
            ColonyIndicator::EllipseCover => self.of_sum(sizes, |sizes| &sizes.area, size),
            ColonyIndicator::ShareInCondition(condition) => {
                self.of_chance(sizes, (indicator, self.condition.share(condition)), size)
            }
            _ => means.of(indicator),
        }
    }

    /// What means over the colonies of a belt are worked out from; good for this indicator and all that sites differ in alike.
    pub(super) fn means(&self, belt: &CoralBelt, size: (f64, f64), indicator: ColonyIndicator) -> Means<'_> {
        let sites = self.sites(indicator);
        let wider = sites.as_ref().map_or(Vec::new(), Sites::wider);
        let (sizes, all) = (self.sizes(belt, size, &wider), self.all_sizes(belt, size, &wider));
        Means { theory: self, counts: OnceCell::new(), sites, sizes, all, size }
    }

    /// The sizes of the colonies of every state, by kind of place, where none is missed and none taken from outside.
    pub(super) fn all_sizes(&self, belt: &CoralBelt, size: (f64, f64), wider: &[f64]) -> Vec<Vec<MeasuredSizes>> {
        let perfect =
            CoralBelt { edge: EdgeRule::CentreIn, detection: Detection::From { least_m: 0.0 }, ruler_m: belt.ruler_m };
        self.sizes(&perfect, size, wider)
    }

    /// The sizes of a state of all kinds of place together, wherever the colonies are, on a site of the list.
    pub(super) fn sizes_there(&self, of_state: &[MeasuredSizes], state: usize, wider: Option<usize>) -> WrittenSizes {
        self.together(of_state, state, (wider, |place| place.density))
    }

    /// The same, each kind of place with its share of the colonies.
    fn together(
        &self,
        of_state: &[MeasuredSizes],
        state: usize,
        (wider, of): (Option<usize>, fn(&InPlace) -> f64),
    ) -> WrittenSizes {
        let places = self.states[state].places.iter().zip(of_state);
        WrittenSizes::together(&places.map(|(place, sizes)| (of(place), sizes.on(wider))).collect::<Vec<_>>())
    }

    /// The sizes of the colonies of every state, by kind of place.
    pub(super) fn sizes(&self, belt: &CoralBelt, size: (f64, f64), wider: &[f64]) -> Vec<Vec<MeasuredSizes>> {
        let whole = MeasuredSizes::of_survivors((&self.discs, &|_| 1.0), belt, size, wider);
        let in_state = |state: &State| {
            let in_place = |place: &LeftInPlace| {
                if place.spares_no_size() {
                    return whole.clone();
                }
                MeasuredSizes::of_survivors((&self.discs, &|radius| place.survival(radius)), belt, size, wider)
            };
            state.left.places().iter().map(in_place).collect()
        };
        self.states.iter().map(in_state).collect()
    }

    /// Moments of the sum of a weight over the colonies of a belt, per m2; `all` are the sizes that nothing is missed of.
    fn of_sum(
        &self,
        (sizes, all): (&[Vec<MeasuredSizes>], &[Vec<MeasuredSizes>]),
        weight: fn(&MeasuredSizes) -> &Weight,
        size: (f64, f64),
    ) -> UnitMoments {
        let area = size.0 * size.1;
        let pair = PairOfUnits::new(self.site, Unit::Strip { length_m: size.0, width_m: size.1 });
        let common_area = mean_common_area(self.site, size) / (area * area);
        let weights: Vec<Vec<&Weight>> = sizes.iter().map(|places| places.iter().map(weight).collect()).collect();
        let each = |of: &dyn Fn(usize, &State) -> f64| -> Vec<f64> {
            self.states.iter().enumerate().map(|(s, state)| of(s, state)).collect()
        };
        let truth = each(&|s, state| state.weighted(&all[s], |place, all| place.density * weight(all).mean));
        let square = each(&|s, state| state.weighted(&sizes[s], |place, of| place.density * weight(of).square));
        let at_both = self.at_both(sizes, weight);
        let per_cover = each(&|s, state| truth[s] / state.cover);
        let (first, first_weight) = (&self.states[0], weights[0][0]);
        UnitMoments {
            mean: each(&|s, state| state.weighted(&sizes[s], |place, of| place.density * weight(of).mean)),
            variance: each(&|s, state| {
                square[s] / area + variance_of_rectangle(size.0, size.1, |h| state.covariance_within(&weights[s], h))
            }),
            pair: each(&|s, state| pair.mean(|h| state.covariance_within(&weights[s], h)) + square[s] * common_area),
            same_marks: each(&|s, state| {
                let (Some(sd), true) = (self.relay_sd, s > 0) else { return f64::NAN };
                let reach = libm::hypot(self.site.0, self.site.1);
                let covariance = |h: f64| state.covariance_across(&weights[s], (first, first_weight), h);
                let curve = smeared(&Curve::new(reach, 2 * KNOTS, covariance), sd);
                let same = at_both[s] * mean_common_area_relaid(size, sd);
                same / (area * area) + variance_of_rectangle(size.0, size.1, |h| curve.at(h))
            }),
            across: each(&|s, state| {
                if s == 0 {
                    return f64::NAN;
                }
                pair.mean(|h| state.covariance_across(&weights[s], (first, first_weight), h)) + at_both[s] * common_area
            }),
            site_truth: each(&|s, state| state.truth.0 * per_cover[s].powi(2)),
            site_truth_across: each(&|s, state| state.truth.1 * per_cover[s] * per_cover[0]),
            truth,
            read_by_crew: false,
            layout: LayoutMoments::default(),
        }
    }

    /// Moments of the share of colonies that look so where each does with this chance, whatever else it is like, and anew at each
    /// visit: belts of one visit share what colonies lie in both, those of two visits nothing.
    fn of_chance(
        &self,
        (sizes, all): (&[Vec<MeasuredSizes>], &[Vec<MeasuredSizes>]),
        (indicator, chance): (ColonyIndicator, f64),
        size: (f64, f64),
    ) -> UnitMoments {
        let counts = self.of_sum((sizes, all), |sizes| &sizes.count, size);
        let (area, number) = (size.0 * size.1, self.states.len());
        let variance = chance * (1.0 - chance);
        let one = OneColony { mean: chance, variance, indicator, dead: self.dead, gain: 1.0 };
        let each = |of: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..number).map(of).collect() };
        let count = |s: usize| counts.mean[s] * area;
        let inverse = |s: usize, covariance: f64| inverse_count(count(s), covariance.max(0.0) * area * area) / count(s);
        UnitMoments {
            truth: vec![chance; number],
            mean: vec![chance; number],
            variance: each(&|s| match self.states[s].hit_share(&sizes[s], size) {
                Some(hit) => OneBelt::struck(hit, &one, &one, (count(s), counts.variance[s] * area * area)).variance,
                None => variance * inverse(s, counts.variance[s]),
            }),
            pair: each(&|s| variance * mean_common_area(self.site, size) / area * inverse(s, counts.pair[s])),
            same_marks: each(&|s| if self.relay_sd.is_some() && s > 0 { 0.0 } else { f64::NAN }),
            across: each(&|s| if s == 0 { f64::NAN } else { 0.0 }),
            site_truth: vec![0.0; number],
            site_truth_across: vec![0.0; number],
            read_by_crew: false,
            layout: LayoutMoments::default(),
        }
    }

    /// For each state the mean square weight of its colonies that are written at the first visit too, times their density.
    fn at_both(&self, sizes: &[Vec<MeasuredSizes>], weight: fn(&MeasuredSizes) -> &Weight) -> Vec<f64> {
        let of = |(state, sizes): (&State, &Vec<MeasuredSizes>)| {
            state.weighted(sizes, |place, of| place.at_both * weight(of).square_at_both)
        };
        self.states.iter().zip(sizes).map(of).collect()
    }

    /// Moments of a mean over the colonies of a belt on sites of one kind, by the delta method. In one kind of place sizes have
    /// the same law everywhere, so that belts share nothing but colonies that lie in both and where they were hit.
    fn of_mean(
        &self,
        (sizes, all): (&[Vec<MeasuredSizes>], &[Vec<MeasuredSizes>]),
        (indicator, OnSite { wider, dead }): (ColonyIndicator, OnSite),
        counts: &UnitMoments,
        size: (f64, f64),
    ) -> UnitMoments {
        let area = size.0 * size.1;
        let number = self.states.len();
        let each = |of: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..number).map(of).collect() };
        let count = |s: usize| counts.mean[s] * area;
        let common = mean_common_area(self.site, size);
        let one: Vec<OneColony> =
            (0..number).map(|s| OneColony::of((indicator, dead), &self.sizes_there(&sizes[s], s, wider))).collect();
        let truth = each(&|s| mean_of((indicator, &dead), &self.sizes_there(&all[s], s, wider)));
        let at_both = self.at_both(sizes, |sizes| &sizes.count);
        // Of colonies written twice, c of n and n', E c / (n n') is that of the means times what E 1 / n would be of a count
        // with the covariance of n and n' for its variance: c is a random part of either.
        let more = |covariance: f64, s: usize, t: usize| {
            inverse_count((count(s) * count(t)).sqrt(), covariance.max(0.0) * area * area)
        };
        let same = |s: usize, both_area: f64, covariance: f64| {
            let at_both_visits = self.together(&sizes[s], s, (wider, |place| place.at_both));
            let product = one[0].product_at_both(&one[s], &at_both_visits);
            product * at_both[s] * both_area / (count(0) * count(s)) * more(covariance, 0, s)
        };
        let belts: Vec<OneBelt> = (0..number)
            .map(|s| match self.states[s].hit_share(&sizes[s], size) {
                Some(hit) => {
                    let in_place = |place: usize| OneColony::of((indicator, dead), sizes[s][place].on(wider));
                    OneBelt::struck(hit, &in_place(0), &in_place(1), (count(s), counts.variance[s] * area * area))
                }
                None => OneBelt {
                    mean: one[s].mean,
                    variance: one[s].variance / count(s) * more(counts.variance[s], s, s),
                    by_hit_share: 0.0,
                },
            })
            .collect();
        let pair = PairOfUnits::new(self.site, Unit::Strip { length_m: size.0, width_m: size.1 });
        UnitMoments {
            truth,
            mean: each(&|s| belts[s].mean),
            variance: each(&|s| belts[s].variance),
            pair: each(&|s| {
                let shared = one[s].variance * common / (count(s) * area) * more(counts.pair[s], s, s);
                let hit = if belts[s].by_hit_share > 0.0 {
                    belts[s].by_hit_share * pair.mean(|h| self.states[s].both_hit(h))
                } else {
                    0.0
                };
                shared + hit
            }),
            same_marks: each(&|s| match self.relay_sd {
                Some(sd) if s > 0 => same(s, mean_common_area_relaid(size, sd), counts.same_marks[s]),
                _ => f64::NAN,
            }),
            across: each(&|s| if s == 0 { f64::NAN } else { same(s, common, counts.across[s]) }),
            site_truth: vec![0.0; number],
            site_truth_across: vec![0.0; number],
            read_by_crew: false,
            layout: LayoutMoments::default(),
        }
    }
}

/// Means over the colonies of a belt: the sizes that are written, in every state and by kind of place, and those that are there.
pub(super) struct Means<'a> {
    theory: &'a ColonyTheory,
    sites: Option<Sites>,
    sizes: Vec<Vec<MeasuredSizes>>,
    all: Vec<Vec<MeasuredSizes>>,
    /// Moments of the number of colonies.
    counts: OnceCell<UnitMoments>,
    size: (f64, f64),
}

impl Means<'_> {
    pub(super) fn of(&self, indicator: ColonyIndicator) -> UnitMoments {
        let (theory, sizes) = (self.theory, (&*self.sizes, &*self.all));
        let counts = self.counts.get_or_init(|| theory.of_sum(sizes, |sizes| &sizes.count, self.size));
        let on = |site: OnSite| theory.of_mean(sizes, (indicator, site), counts, self.size);
        let Some(sites) = &self.sites else { return on(OnSite { wider: None, dead: theory.dead }) };
        let values = |sizes: &[Vec<MeasuredSizes>]| sites.values(theory, sizes, indicator);
        sites.over_sites(&theory.dead, on, &values(&self.sizes), &values(&self.all))
    }
}

/// The mean over the colonies of one belt.
struct OneBelt {
    mean: f64,
    variance: f64,
    /// Its variance by the share of the belt that was hit, over the variance of that share.
    by_hit_share: f64,
}

impl OneBelt {
    /// Where what stands in places that were hit differs from what stands elsewhere, in number and in kind; mean and
    /// variance of the number.
    fn struck(hit: HitShare, in_hit: &OneColony, elsewhere: &OneColony, number: (f64, f64)) -> Self {
        let levels = hit.levels(number.0, number.1);
        let square = |of: &OneColony| of.variance + of.mean * of.mean;
        let any: f64 = levels.iter().map(|level| level.any).sum();
        let expect =
            |of: &dyn Fn(&HitLevel) -> f64| levels.iter().map(|level| level.any * of(level)).sum::<f64>() / any;
        let mixed = |level: &HitLevel, hit: f64, elsewhere: f64| {
            level.colonies_hit * hit + (1.0 - level.colonies_hit) * elsewhere
        };
        let mean_at = |level: &HitLevel| mixed(level, in_hit.mean, elsewhere.mean);
        let mean = expect(&mean_at);
        let between = expect(&|level| (mean_at(level) - mean).powi(2));
        let within = expect(&|level| {
            let variance = mixed(level, square(in_hit), square(elsewhere)) - mean_at(level).powi(2);
            variance * level.inverse / number.0
        });
        Self { mean, variance: within + between, by_hit_share: between / hit.variance }
    }
}

/// A function of a distance with several values, as a curve of each.
fn curves(reach: f64, number: usize, mut values: impl FnMut(f64) -> Vec<f64>) -> Vec<Curve> {
    let mut of_first = Vec::with_capacity(KNOTS + 1);
    let first = Curve::new(reach, KNOTS, |h| {
        let all = values(h);
        let value = all[0];
        of_first.push(all);
        value
    });
    let others = (1..number).map(|i| {
        let mut knots = of_first.iter();
        // The knots come in the same order.
        Curve::new(reach, KNOTS, |_| knots.next().map_or(f64::NAN, |all| all[i]))
    });
    std::iter::once(first.clone()).chain(others).collect()
}

impl State {
    fn sum(&self, of: impl Fn(&InPlace) -> f64) -> f64 {
        self.places.iter().map(of).sum()
    }

    /// Sum over kinds of place of what each has with its sizes.
    fn weighted<T>(&self, sizes: &[T], of: impl Fn(&InPlace, &T) -> f64) -> f64 {
        self.places.iter().zip(sizes).map(|(place, sizes)| of(place, sizes)).sum()
    }

    /// The share of a belt that was hit, where it is in patches.
    fn hit_share(&self, sizes: &[MeasuredSizes], size: (f64, f64)) -> Option<HitShare> {
        let ([hit, elsewhere], [in_hit, in_elsewhere]) = (self.places.as_slice(), sizes) else { return None };
        let mean = self.left.places()[0].share;
        let written = |place: &InPlace, sizes: &MeasuredSizes, share: f64| place.density * sizes.count.mean / share;
        let ratio = written(hit, in_hit, mean) / written(elsewhere, in_elsewhere, 1.0 - mean);
        Some(HitShare { mean, variance: variance_of_rectangle(size.0, size.1, |h| self.both_hit(h)), ratio })
    }

    /// Covariance of being hit at two places.
    fn both_hit(&self, distance: f64) -> f64 {
        let hit = self.left.places()[0].share;
        self.left.pairs(distance).next().map_or(0.0, |(_, _, both)| both - hit * hit)
    }

    /// Covariance of the weighted densities at two places of one visit.
    fn covariance_within(&self, weights: &[&Weight], distance: f64) -> f64 {
        let kinds = weights.iter().flat_map(|one| weights.iter().map(move |other| (one, other)));
        let pairs: f64 = self
            .within
            .iter()
            .zip(kinds)
            .map(|(pairs, (one, other))| 2.0 * pairs.at(distance) * one.mean * other.upto(distance))
            .sum();
        pairs - self.weighted(weights, |place, weight| place.density * weight.mean).powi(2)
    }

    /// The same between a place at the first visit and one in this state. The higher of two colonies hides the other only
    /// where it lives at that visit too.
    fn covariance_across(&self, weights: &[&Weight], (first, first_weight): (&State, &Weight), distance: f64) -> f64 {
        let pairs = self.weighted(weights, |place, weight| {
            let reaching = weight.mean - weight.upto(distance);
            let second_above = place.across.0.at(distance) * (weight.mean - self.common.1 * reaching);
            let lives_on = self.common.0 * place.survivors;
            let first_above = place.across.1.at(distance) * (first_weight.mean - lives_on * reaching);
            first_weight.mean * second_above + weight.mean * first_above
        });
        let mean = self.weighted(weights, |place, weight| place.density * weight.mean);
        pairs - mean * first.sum(|place| place.density) * first_weight.mean
    }
}

/// On which sites a mean is told: those of the list of factors of width, or the typical one; and how its colonies are partly dead.
#[derive(Clone, Copy, Debug)]
pub(super) struct OnSite {
    pub(super) wider: Option<usize>,
    pub(super) dead: PartialMortality,
}

/// A mean (or median) over written colonies.
pub(super) fn mean_of((indicator, dead): (ColonyIndicator, &PartialMortality), sizes: &WrittenSizes) -> f64 {
    match indicator {
        ColonyIndicator::MedianDiameter => sizes.median().0,
        _ => sizes.mean(|d| value_of((indicator, dead), d).0),
    }
}

/// What one written colony contributes to a mean.
struct OneColony {
    mean: f64,
    variance: f64,
    indicator: ColonyIndicator,
    dead: PartialMortality,
    /// How fast the mean moves with a colony beyond it: 1, but for the median.
    gain: f64,
}

impl OneColony {
    fn of((indicator, dead): (ColonyIndicator, PartialMortality), sizes: &WrittenSizes) -> Self {
        if indicator == ColonyIndicator::MedianDiameter {
            // The median of n moves by a half of n over the density there.
            let (mean, density) = sizes.median();
            return Self { mean, variance: 0.25 / (density * density), indicator, dead, gain: 1.0 / density };
        }
        let mean = mean_of((indicator, &dead), sizes);
        let variance = (sizes.mean(|d| value_of((indicator, &dead), d).1) - mean * mean).max(0.0);
        Self { mean, variance, indicator, dead, gain: 1.0 }
    }

    /// Mean product of what a colony that is written at both visits contributes to either, about their means.
    fn product_at_both(&self, later: &Self, sizes: &WrittenSizes) -> f64 {
        sizes.mean_at_both(|d| {
            if self.indicator == ColonyIndicator::MedianDiameter {
                let beyond = |of: &Self| if d < of.mean { -0.5 } else { 0.5 };
                return self.gain * later.gain * beyond(self) * beyond(later);
            }
            let (value, square) = value_of((self.indicator, &self.dead), d);
            square - value * (self.mean + later.mean) + self.mean * later.mean
        })
    }
}

/// Mean, and mean square, of what a colony with a written largest diameter (m) contributes to a mean over colonies.
pub(super) fn value_of((indicator, dead): (ColonyIndicator, &PartialMortality), d: f64) -> (f64, f64) {
    let exactly = |value: f64| (value, value * value);
    let any = dead.share_with_dead_parts(d);
    match indicator {
        ColonyIndicator::MeanDiameter | ColonyIndicator::MedianDiameter => exactly(d),
        ColonyIndicator::MeanLnDiameter => exactly(libm::log(d)),
        ColonyIndicator::AgeIndex { growth_m } => exactly(d / growth_m),
        ColonyIndicator::ClassShare { from_m, to_m } => exactly(f64::from(u8::from(in_class(d, from_m, to_m)))),
        ColonyIndicator::ShareWithDeadParts => (any, any),
        ColonyIndicator::ShareWithRecent => (any * dead.recent, any * dead.recent),
        ColonyIndicator::LiveShare => {
            let dead = dead.mean_dead_share_where_any(d);
            let square = dead * dead + dead * (1.0 - dead) / (1.0 + DEAD_SHARE_PRECISION);
            (1.0 - any * dead, 1.0 - 2.0 * any * dead + any * square)
        }
        // Sums over colonies, a whole distribution, and what does not hang on size.
        ColonyIndicator::Density
        | ColonyIndicator::EllipseCover
        | ColonyIndicator::SizeStructure
        | ColonyIndicator::ShareInCondition(_) => (f64::NAN, f64::NAN),
    }
}
