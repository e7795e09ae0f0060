use super::bottom::{BottomError, calibrated};
use super::clusters::{
    AnimalAsked, AnimalError, AnimalTheory, CountedAs, Ground as FreeGround, Meeting, ReadBy, calibrate_animals,
};
use super::colonies::{ColonyTheory, SiteValues, SizeDistribution};
use super::coral::{CoralAsked, CoralChange, CoralError, CoralPairs, calibrate, site_pairs};
use super::curve::Curve;
use super::fish::{PatchKernels, SiteCoral, fish_asked};
use super::frames::FramesOfTape;
use super::intensity::LogNormal;
use super::laid::LaidPairs;
use super::largest_distance::MOST_SIZES;
use super::pairs::Unit;
use super::placement::{
    smeared, variance_of_intercept, variance_of_points, variance_of_random_points, variance_of_rectangle,
};
use super::recruits::recruits_asked;
use super::shape::{Kernels, Shape};
use super::tree::{Tree, Written};
use super::unit_moments::{LayoutMoments, UnitMoments};
use crate::analysis::ColonyIndicator;
use crate::design::{Animal, HARD_CORAL, Places, Question, Study, Zone};
use crate::reef::{AnimalReef, AnimalSpec, BetweenSites, Bottom, Category, CoralLaw, CoralReef};
use crate::survey::coral_belt::CoralBelt;
use crate::survey::{Dimensions, Ground, MethodKind};
use std::sync::OnceLock;
use thiserror::Error;

/// The closed forms of one zone: its calibrated corals and their covariances.
#[derive(Clone, Debug)]
pub struct ZoneTheory {
    pub law: CoralLaw,
    pub shape: Shape,
    /// The rest of the bottom, where the zone names any of it.
    pub bottom: Option<Bottom>,
    /// The animals of the zone, in the order of its list.
    pub animals: Vec<AnimalTheory>,
    /// Its groups of fish, in the order of its list: how dense they are where.
    pub fish: Vec<AnimalTheory>,
    /// Its recruits of corals, where they are counted.
    pub recruits: Option<AnimalTheory>,
    /// The bottom that is free for them; made when it is first asked for.
    pub(super) free_ground: OnceLock<FreeGround>,
    /// The coral of whole sites, for the fish that go with it; made when it is first asked for.
    site_coral: OnceLock<SiteCoral>,
    /// Of every two groups of fish, the later with each before it, what they share of the patches of coral; made when it is first
    /// asked for.
    patch_kernels: OnceLock<Vec<Vec<Option<PatchKernels>>>>,
    /// Its colonies, where they are counted.
    pub colonies: Option<ColonyTheory>,
    /// For each change of the study: the SD between sites that the law implies by itself.
    pub implied_change_sd: Vec<f64>,
    /// Covariance of coral at two points, by distance, in each state; and from the first visit to each state.
    within: Vec<Curve>,
    across: Vec<Curve>,
    /// The same across visits, smeared by the tape's displacement.
    relaid: Vec<Curve>,
    pub(super) site: (f64, f64),
    pub(super) relay_sd: f64,
}

/// What the law is asked for a zone of a study.
pub fn coral_asked(study: &Study, zone: &Zone) -> CoralAsked {
    let two = study.question.visits() == 2;
    CoralAsked {
        spec: zone.reef,
        cover: zone.cover,
        between_sites_sd: zone.between_sites_sd,
        site_year_sd: if two { zone.site_year_sd } else { 0.0 },
        site: (zone.length_m, zone.width_m),
        field_memory: study.visits.field_memory(),
        yearly_memory: libm::exp(-1.0 / study.visits.drift_years),
        same_colonies: study.visits.same_colonies(),
        changes: study
            .changes
            .iter()
            .map(|change| {
                if change.indicator == HARD_CORAL {
                    let cover = zone.cover * change.ratio();
                    CoralChange { cover, differs_sd: change.differs_between_sites_sd, deaths: change.deaths }
                } else {
                    CoralChange::to(zone.cover)
                }
            })
            .collect(),
    }
}

/// What the law of one kind of animal is asked for a zone of a study.
pub fn animal_asked(study: &Study, zone: &Zone, animal: &Animal) -> AnimalAsked {
    // Told per 100 m2.
    asked_of_animals(study, zone, &animal.spec, 0.01, |indicator| {
        study.animal_of(indicator).is_some_and(|(name, _)| name == animal.name)
    })
}

/// The same for anything that follows the law of animals: `per_told` turns the unit in which changes are told into the
/// law's, and `is_moved` knows the indicators whose changes move it.
pub(super) fn asked_of_animals(
    study: &Study,
    zone: &Zone,
    spec: &AnimalSpec,
    per_told: f64,
    is_moved: impl Fn(&str) -> bool,
) -> AnimalAsked {
    let mut spec = spec.clone();
    if study.question.visits() == 1 {
        spec.site_year = BetweenSites::LnSd(0.0);
    }
    let changes = study.changes.iter().map(|change| {
        if is_moved(&change.indicator) {
            (change.ratio(), change.differs_between_sites_sd.map(|sd| sd * per_told))
        } else {
            (1.0, None)
        }
    });
    AnimalAsked {
        spec,
        site: (zone.length_m, zone.width_m),
        field_memory: study.visits.field_memory(),
        yearly_memory: libm::exp(-1.0 / study.visits.drift_years),
        changes: changes.collect(),
    }
}

impl ZoneTheory {
    pub fn new(study: &Study, zone: &Zone) -> Result<Self, ZoneError> {
        let shape = Shape::new(&zone.reef, &Kernels::of_cells(&zone.reef));
        Self::with_shape(study, zone, shape)
    }

    /// The same from a shape that is at hand (it depends on the reef's spec alone and is the dearest part).
    pub fn with_shape(study: &Study, zone: &Zone, shape: Shape) -> Result<Self, ZoneError> {
        let asked = coral_asked(study, zone);
        let calibration = calibrate(&asked, &shape)?;
        let bottom = if zone.categories.is_empty() {
            None
        } else {
            let coral = (zone.cover, zone.between_sites_sd);
            Some(calibrated(coral, &whole_bottom(zone), &study.changes, study.visits.field_memory())?)
        };
        let law = calibration.law;
        let states = states_of(study);
        let pairs = CoralPairs::new(&law, &shape);
        let reach = libm::hypot(zone.length_m, zone.width_m);
        let bare = |state: usize| pairs.bare(state);
        let within: Vec<Curve> =
            (0..states).map(|s| Curve::new(reach, KNOTS, |h| pairs.bare_within(s, h) - bare(s) * bare(s))).collect();
        let across: Vec<Curve> = (0..states)
            .map(|s| match s {
                0 => within[0].clone(),
                _ => Curve::new(reach, KNOTS, |h| pairs.bare_across(s, h) - bare(0) * bare(s)),
            })
            .collect();
        let relaid = match study.visits.places {
            Places::SameMarks if states > 1 => {
                across.iter().map(|curve| smeared(curve, study.visits.relay_sd_m)).collect()
            }
            _ => Vec::new(),
        };
        let animals = zone.animals.iter().enumerate();
        let animals = animals.map(|(index, animal)| {
            let law = calibrate_animals(&animal_asked(study, zone, animal));
            law.map(AnimalTheory::new).map_err(|error| ZoneError::Animal { index, error })
        });
        let animals = animals.collect::<Result<Vec<_>, _>>()?;
        let fish = zone.fish.iter().enumerate().map(|(index, group)| {
            let law = calibrate_animals(&fish_asked(study, zone, group));
            law.map(AnimalTheory::new).map_err(|error| ZoneError::Fish { index, error })
        });
        let fish = fish.collect::<Result<Vec<_>, _>>()?;
        let recruits = zone.recruits.as_ref().map(|recruits| {
            let law = calibrate_animals(&recruits_asked(study, zone, recruits));
            law.map(AnimalTheory::new).map_err(ZoneError::Recruits)
        });
        let counts_colonies = study.methods.iter().any(|method| matches!(method.kind, MethodKind::CoralBelt { .. }));
        let colonies = counts_colonies.then(|| {
            let kernels = Kernels::of_cells(&zone.reef);
            let relay_sd = (states > 1 && same_marks(study)).then_some(study.visits.relay_sd_m);
            ColonyTheory::new(&law, (&shape, &kernels), (zone.length_m, zone.width_m), relay_sd)
                .with_partial_mortality(zone.partial_mortality)
                .with_condition(zone.condition)
                .with_variation(zone.colony_variation)
        });
        Ok(Self {
            law,
            animals,
            fish,
            recruits: recruits.transpose()?,
            free_ground: OnceLock::new(),
            site_coral: OnceLock::new(),
            patch_kernels: OnceLock::new(),
            colonies,
            shape,
            implied_change_sd: calibration.implied_change_sd,
            within,
            across,
            relaid,
            site: (zone.length_m, zone.width_m),
            bottom,
            relay_sd: study.visits.relay_sd_m,
        })
    }

    /// The virtual reef that follows this law.
    pub fn coral_reef(&self) -> CoralReef {
        let variance = self.law.patch_variance_over_a_point;
        CoralReef::new(self.law.clone(), |ln_u| {
            1.0 - self.shape.intensity.bare(LogNormal { mean: libm::exp(ln_u), variance })
        })
    }

    /// The virtual animals that follow their laws.
    pub fn animal_reefs(&self) -> Vec<AnimalReef> {
        self.animals.iter().map(|animal| AnimalReef::new(animal.law.clone())).collect()
    }

    /// The virtual recruits that follow their law.
    pub fn recruit_reef(&self) -> Option<AnimalReef> {
        self.recruits.as_ref().map(|recruits| AnimalReef::new(recruits.law.clone()))
    }

    /// Moments of the density of a kind of animal, per 100 m2, as one belt reads it. One that the zone does not have is
    /// never there.
    fn animal_moments(&self, study: &Study, zone: &Zone, (name, commercial): (&str, bool), unit: Unit) -> UnitMoments {
        let Some(index) = zone.animals.iter().position(|animal| animal.name == name) else {
            return UnitMoments::never_there(self.within.len());
        };
        let ground = Ground { site: self.site, placement: study.placement };
        let read = ReadBy { unit, site: ground.sides(), per_m2: 100.0, relay_sd_m: self.relay_sd, beyond_m: 0.0 };
        let counted = counted_as(&zone.animals[index], commercial);
        let mut moments = self.animals[index].moments(&read, counted, None);
        let (length, width) = unit.size();
        let pairs = LaidPairs::new(&ground, unit, study.most_units_of(length, width));
        let again = self.within.len() > 1 && same_marks(study);
        moments.layout = self.animals[index].laid(&moments, &read, counted, (&pairs, again));
        moments.layout.most_units = ground.most_units(length, width);
        moments
    }

    /// Moments of whether one belt has any of a kind of animal. Belts that are kept apart are taken as laid without regard to each
    /// other.
    fn presence_moments(&self, study: &Study, zone: &Zone, name: &str, unit: Unit) -> UnitMoments {
        let Some(index) = zone.animals.iter().position(|animal| animal.name == name) else {
            return UnitMoments::never_there(self.within.len());
        };
        let ground = Ground { site: self.site, placement: study.placement };
        let read = ReadBy { unit, site: ground.sides(), per_m2: 1.0, relay_sd_m: self.relay_sd, beyond_m: 0.0 };
        let mut moments = self.animals[index].presence_moments(&read, counted_as(&zone.animals[index], false));
        let (length, width) = unit.size();
        moments.layout.most_units = ground.most_units(length, width);
        moments
    }

    /// Moments of what one coral belt tells of its colonies.
    pub fn colony_moments(
        &self,
        study: &Study,
        (belt, dimensions): (&CoralBelt, Dimensions),
        measure: ColonyIndicator,
    ) -> UnitMoments {
        let (length, width) = unit_of(dimensions).size();
        let ground = Ground { site: self.site, placement: study.placement };
        let Some(colonies) = &self.colonies else { return UnitMoments::never_there(self.within.len()) };
        let mut moments = colonies.moments(belt, (length, width), measure);
        moments.layout.most_units = ground.most_units(length, width);
        moments
    }

    /// Of the limits between classes of size (m) those at which the distribution of sizes is looked at; none without colonies.
    pub fn sizes_to_look_at(&self, (belt, dimensions): (&CoralBelt, Dimensions), limits_m: &[f64]) -> Vec<f64> {
        let Some(colonies) = &self.colonies else { return Vec::new() };
        colonies.even_sizes(belt, unit_of(dimensions).size(), limits_m, MOST_SIZES)
    }

    /// The distribution of sizes that coral belts write, at these sizes (m); `None` without colonies.
    pub fn size_distribution(
        &self,
        (belt, dimensions): (&CoralBelt, Dimensions),
        sizes_m: &[f64],
    ) -> Option<SizeDistribution> {
        Some(self.colonies.as_ref()?.distribution(belt, unit_of(dimensions).size(), sizes_m))
    }

    /// What coral belts tell of the colonies of whole sites, by what those differ in ([`ColonyTheory::by_site`]).
    pub fn colonies_by_site(
        &self,
        (belt, dimensions): (&CoralBelt, Dimensions),
        measure: ColonyIndicator,
    ) -> Option<SiteValues> {
        self.colonies.as_ref()?.by_site(belt, unit_of(dimensions).size(), measure)
    }

    /// Log odds of having dead parts for each share of its colonies by which a site has more of them.
    pub fn dead_log_odds(&self) -> f64 {
        self.colonies.as_ref().map_or(0.0, ColonyTheory::dead_log_odds)
    }

    /// The chance of meeting the animals that an indicator counts, at the first visit; `None` for what is no animal of the zone.
    pub fn meeting(&self, study: &Study, zone: &Zone, indicator: &str, dimensions: Dimensions) -> Option<Meeting> {
        let (name, commercial) = study.animal_of(indicator)?;
        let index = zone.animals.iter().position(|animal| animal.name == name)?;
        let ground = Ground { site: self.site, placement: study.placement };
        let counted = counted_as(&zone.animals[index], commercial);
        Some(self.animals[index].meeting(unit_of(dimensions), ground.sides(), counted, 0))
    }

    /// Moments of an indicator as one unit reads it: the cover of hard coral or of a category, the density of an animal. What
    /// the zone does not have is never there.
    pub fn moments(&self, study: &Study, zone: &Zone, indicator: &str, dimensions: Dimensions) -> UnitMoments {
        let states = self.within.len();
        if let Some(name) = study.presence_of(indicator) {
            return self.presence_moments(study, zone, name, unit_of(dimensions));
        }
        if let Some(animal) = study.animal_of(indicator) {
            return self.animal_moments(study, zone, animal, unit_of(dimensions));
        }
        if let Some(measure) = study.recruits_of(indicator) {
            return self.recruit_moments(study, zone, measure, dimensions);
        }
        let category = if indicator == HARD_CORAL {
            Some(0)
        } else {
            zone.categories.iter().position(|category| category.name == indicator).map(|k| k + 1)
        };
        let Some(category) = category else { return UnitMoments::never_there(states) };
        match (&study.observers.misidentification, &self.bottom) {
            (None, _) if category == 0 => self.read((study, dimensions), self.covers(0), self.covers(0), self.curves()),
            (matrix, Some(bottom)) => {
                let number = 1 + bottom.stages.len();
                let written = match matrix {
                    Some(matrix) => Written::column(matrix, category),
                    None => Written::truly(category, number),
                };
                let (means, curves) = self.written_curves(bottom, &written);
                self.read((study, dimensions), self.covers(category), means, curves)
            }
            (_, None) => UnitMoments::never_there(states),
        }
    }

    /// Mean covers of a category (0: hard coral) in every state.
    pub(super) fn covers(&self, category: usize) -> Vec<f64> {
        (0..self.within.len())
            .map(|s| match (&self.bottom, category) {
                (_, 0) => self.law.states[s].cover,
                (Some(bottom), _) => self.tree(bottom, s).covers(usize::from(s > 0))[category],
                (None, _) => 0.0,
            })
            .collect()
    }

    fn tree(&self, bottom: &Bottom, state: usize) -> Tree {
        let coral = [self.law.states[0].cover, self.law.states[state].cover];
        Tree::new(coral, bottom, state.saturating_sub(1))
    }

    pub(super) fn curves(&self) -> Curves {
        let truths = self.coral_truths();
        Curves { within: self.within.clone(), across: self.across.clone(), relaid: self.relaid.clone(), truths }
    }

    /// Covariance of the true covers of hard coral of whole sites: within the visit of each state, and from the first visit
    /// to each state.
    fn coral_truths(&self) -> Vec<(f64, f64)> {
        let pairs = CoralPairs::new(&self.law, &self.shape);
        let distances = site_pairs(self.site.0, self.site.1);
        let of_state = |s: usize| {
            let (first, own) = (pairs.bare(0), pairs.bare(s));
            let within = pairs.truth_within(s, &distances) - own * own;
            (within, if s == 0 { within } else { pairs.truth_across(s, &distances) - first * own })
        };
        (0..self.within.len()).map(of_state).collect()
    }

    /// How many states are told: one of a study of one visit, whose law has a second visit all the same.
    pub(super) fn states(&self) -> usize {
        self.within.len()
    }

    /// What two groups of fish, the later and an earlier one, share of the patches of coral; `None` where one is not in them.
    pub(super) fn patches_of_two(&self, later: usize, earlier: usize) -> Option<&PatchKernels> {
        let of = |later: usize, earlier: usize| {
            PatchKernels::of(&self.fish[later].law, &self.fish[earlier].law, self.relay_sd)
        };
        let all = || (0..self.fish.len()).map(|g| (0..g).map(|h| of(g, h)).collect()).collect();
        self.patch_kernels.get_or_init(all)[later][earlier].as_ref()
    }

    /// What fish that go with the coral of their site need of it.
    pub fn site_coral(&self) -> &SiteCoral {
        self.site_coral.get_or_init(|| SiteCoral::new(&self.covers(0), &self.coral_truths()))
    }

    /// Mean and covariance of what is written, in every state.
    pub(super) fn written_curves(&self, bottom: &Bottom, written: &Written) -> (Vec<f64>, Curves) {
        let states = self.within.len();
        let pairs = CoralPairs::new(&self.law, &self.shape);
        let reach = self.within[0].reach();
        let trees: Vec<Tree> = (0..states).map(|s| self.tree(bottom, s)).collect();
        let means = (0..states).map(|s| trees[s].written_cover(written, usize::from(s > 0))).collect();
        let bare = |s: usize| pairs.bare(s);
        let within = (0..states)
            .map(|s| {
                let visit = usize::from(s > 0);
                let both = |h: f64| self.within[s].at(h) + bare(s) * bare(s);
                trees[s].covariance(written, both, (visit, visit), reach)
            })
            .collect();
        let across: Vec<Curve> = (0..states)
            .map(|s| {
                let both = |h: f64| self.across[s].at(h) + bare(0) * bare(s);
                trees[s].covariance(written, both, (0, usize::from(s > 0)), reach)
            })
            .collect();
        let relaid = if self.relaid.is_empty() {
            Vec::new()
        } else {
            across.iter().map(|c| smeared(c, self.relay_sd)).collect()
        };
        let distances = site_pairs(self.site.0, self.site.1);
        let truths = (0..states)
            .map(|s| {
                let visit = usize::from(s > 0);
                let own = trees[s].site_covariance(written, pairs.truth_within(s, &distances), (visit, visit));
                let across = if s == 0 {
                    own
                } else {
                    trees[s].site_covariance(written, pairs.truth_across(s, &distances), (0, 1))
                };
                (own, across)
            })
            .collect();
        (means, Curves { within, across, relaid, truths })
    }

    /// Moments of one unit from the covariances of two points.
    fn read(
        &self,
        (study, dimensions): (&Study, Dimensions),
        truth: Vec<f64>,
        mean: Vec<f64>,
        curves: Curves,
    ) -> UnitMoments {
        let ground = Ground { site: self.site, placement: study.placement };
        let unit = unit_of(dimensions);
        let (length, width) = unit.size();
        let pairs = LaidPairs::new(&ground, unit, study.most_units_of(length, width));
        let variance = |curve: &Curve, at_zero: f64| match dimensions {
            Dimensions::PointIntercept { spacing_m, .. } => {
                variance_of_points(at_zero, dimensions.points().unwrap_or(1), spacing_m, |h| curve.at(h))
            }
            Dimensions::LineIntercept { length_m } => variance_of_intercept(length_m, |h| curve.at(h)),
            Dimensions::PhotoBelt { length_m, width_m, points } => {
                variance_of_random_points(at_zero, points, (length_m, width_m), |h| curve.at(h))
            }
            Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame } => {
                FramesOfTape { length_m, frames, points_a_frame, frame }.variance(at_zero, |h| curve.at(h))
            }
            Dimensions::InvertebrateBelt { .. }
            | Dimensions::CoralBelt { .. }
            | Dimensions::RecruitQuadrats { .. }
            | Dimensions::FishBelt { .. }
            | Dimensions::FishPointCount { .. }
            | Dimensions::Components => f64::NAN,
        };
        let states = curves.within.len();
        let same_marks = (0..states)
            .map(|s| match (curves.relaid.get(s), dimensions) {
                (None, _) => f64::NAN,
                // The points of a photo belt are thrown anew at each visit.
                (Some(curve), Dimensions::PhotoBelt { length_m, width_m, .. }) => {
                    variance_of_rectangle(length_m, width_m, |h| curve.at(h))
                }
                (Some(curve), Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame }) => {
                    FramesOfTape { length_m, frames, points_a_frame, frame }.covariance_of_rereading(|h| curve.at(h))
                }
                (Some(curve), _) => variance(curve, curve.at(0.0)),
            })
            .collect();
        let pair: Vec<f64> = curves.within.iter().map(|c| pairs.independent(c)).collect();
        let across: Vec<f64> = curves.across.iter().map(|c| pairs.independent(c)).collect();
        let layout = LayoutMoments {
            within: curves.within.iter().zip(&pair).map(|(c, &mean)| pairs.departure(c, mean)).collect(),
            // At new places the second layout knows nothing of the first.
            across: curves.relaid.iter().zip(&across).map(|(c, &mean)| pairs.departure(c, mean)).collect(),
            most_units: ground.most_units(length, width),
            in_rows: pairs.in_rows(),
        };
        UnitMoments {
            variance: (0..states).map(|s| variance(&curves.within[s], mean[s] * (1.0 - mean[s]))).collect(),
            pair,
            same_marks,
            across,
            layout,
            site_truth: curves.truths.iter().map(|(within, _)| *within).collect(),
            site_truth_across: curves.truths.iter().map(|(_, across)| *across).collect(),
            truth,
            mean,
            read_by_crew: true,
        }
    }
}

/// Covariances of a reading at two points, by distance: within the visit of each state, from the first visit to each
/// state, and the same between tapes that are not laid exactly where they were.
pub(super) struct Curves {
    pub(super) within: Vec<Curve>,
    pub(super) across: Vec<Curve>,
    relaid: Vec<Curve>,
    /// Covariance of the truth of whole sites (of what is written there in the mean): within the visit of each state, and
    /// from the first visit to each state.
    pub(super) truths: Vec<(f64, f64)>,
}

/// Why a zone cannot be as asked.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ZoneError {
    #[error(transparent)]
    Coral(#[from] CoralError),
    #[error(transparent)]
    Bottom(#[from] BottomError),
    #[error("{0}")]
    Recruits(AnimalError),
    /// The how-manieth group of fish of the zone.
    #[error("{error}")]
    Fish { index: usize, error: AnimalError },
    /// The how-manieth animal of the zone.
    #[error("{error}")]
    Animal { index: usize, error: AnimalError },
}

/// The categories with an unnamed last one that takes what they leave, if they leave anything.
pub fn whole_bottom(zone: &Zone) -> Vec<Category> {
    let mut categories = zone.categories.clone();
    let left = 1.0 - zone.cover - categories.iter().map(|category| category.cover).sum::<f64>();
    if left > 1e-9 {
        categories.push(Category { name: "other".into(), cover: left, between_sites_sd: 0.0, scale_m: 0.4 });
    } else if let Some(last) = categories.last_mut() {
        // Rounding of percentages must not stop the sum from being whole.
        last.cover += left;
    }
    categories
}

const KNOTS: usize = 360;

/// Number of states of a study: the first visit, and the second (or the other group) without and under each change.
pub fn states_of(study: &Study) -> usize {
    if study.question == Question::Status { 1 } else { 2 + study.changes.len() }
}

/// Whether the two visits (or groups) see the same sites.
pub fn same_sites(study: &Study) -> bool {
    study.pairs_sites()
}

/// Whether the tapes of the second visit lie at the marks of the first.
pub fn same_marks(study: &Study) -> bool {
    same_sites(study) && study.visits.places == Places::SameMarks
}

/// Which animals of a kind an indicator counts.
fn counted_as(animal: &Animal, commercial: bool) -> CountedAs {
    let class_share = if commercial { animal.commercial_share().unwrap_or(1.0) } else { 1.0 };
    CountedAs { class_share, seen_share: 1.0 - animal.spec.hidden }
}

pub(super) fn unit_of(dimensions: Dimensions) -> Unit {
    match dimensions {
        Dimensions::PointIntercept { length_m, spacing_m } => {
            Unit::Points { length_m, number: dimensions.points().unwrap_or(1), spacing_m }
        }
        Dimensions::LineIntercept { length_m } => Unit::Line { length_m },
        Dimensions::PhotoBelt { length_m, width_m, .. }
        | Dimensions::InvertebrateBelt { length_m, width_m }
        | Dimensions::FishBelt { length_m, width_m, .. }
        | Dimensions::CoralBelt { length_m, width_m } => Unit::Strip { length_m, width_m },
        // Of the field of densities a circle sees what the square of its area sees.
        Dimensions::FishPointCount { .. } => {
            let (length_m, width_m) = dimensions.field_m();
            Unit::Strip { length_m, width_m }
        }
        // Frames lie hardly less often near the ends of a tape than elsewhere: for what tapes share they are the strip.
        Dimensions::PhotoQuadrats { length_m, frame, .. } => Unit::Strip { length_m, width_m: frame.frame_width_m },
        Dimensions::RecruitQuadrats { quadrat_m, every_m, .. } => Unit::Quadrats {
            number: dimensions.quadrats().unwrap_or(1),
            every_m,
            length_m: quadrat_m,
            width_m: quadrat_m,
        },
        Dimensions::Components => Unit::Line { length_m: 0.0 },
    }
}

impl ZoneTheory {
    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        fn keep<T: Clone>(all: &mut Vec<T>, state: usize) {
            if all.len() > state {
                *all = vec![all[0].clone(), all[1].clone(), all[state].clone()];
            }
        }
        keep(&mut self.law.states, state);
        keep(&mut self.within, state);
        keep(&mut self.across, state);
        keep(&mut self.relaid, state);
        self.colonies.iter_mut().for_each(|colonies| colonies.keep_state(state));
        self.free_ground = OnceLock::new();
        self.site_coral = OnceLock::new();
        let counted = self.animals.iter_mut().chain(&mut self.fish).chain(&mut self.recruits);
        counted.for_each(|animal| keep(&mut animal.law.states, state));
        self.implied_change_sd = vec![self.implied_change_sd[state - 2]];
        for stage in self.bottom.iter_mut().flat_map(|bottom| &mut bottom.stages) {
            stage.later_shares = vec![stage.later_shares[0], stage.later_shares[state - 1]];
        }
    }
}
