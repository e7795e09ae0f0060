use super::colonies::KnownTruth;
use super::estimate::Terms;
use super::fish::FishReef;
use super::held::Ladder;
use super::layout::{Indicator, Layout, Reading};
use super::permuted::Exchanges;
use super::size_theory::SizesOfReading;
use super::survey_site::ZoneSurvey;
use super::together::Group;
use crate::analysis::transforms::Scale;
use crate::analysis::{ColonyIndicator, CriticalT};
use crate::design::{Comparison, Scope, Study, TestKind, Zone};
use crate::reef::{AnimalReef, ZoneReef};
use crate::survey::{Dimensions, MethodKind, MethodSpec};
use crate::theory::{
    Depth, DesignTheory, PlaceCovariance, PlaceLaw, ReefTheory, UnitMoments, ZoneShare, ZoneTheory, component_moments,
    listed_share, same_marks, same_sites, states_of, tail_of, truth_on_scale,
};
use std::sync::OnceLock;

/// A study made ready for simulation: reefs and layout, and the order of its designs.
pub struct Plan {
    pub study: Study,
    pub layout: Layout,
    pub theories: Vec<ReefTheory>,
    pub reefs: Vec<ZoneReef>,
    /// For each zone, its kinds of animals.
    pub animals: Vec<Vec<AnimalReef>>,
    /// For each zone, its groups of fish.
    pub fish: Vec<Vec<FishReef>>,
    /// For each zone, its recruits, where they are counted.
    pub recruits: Vec<Option<AnimalReef>>,
    /// For each zone and reading.
    moments: Vec<UnitMoments>,
    known_truths: Vec<Option<KnownTruth>>,
    /// For each reading and number of units, how its sites are compared.
    comparisons: Vec<Vec<Comparison>>,
    /// For each design and state, its true population mean on the scale of analysis; empty where all is plain.
    truths_on_scale: Vec<f64>,
    /// For each reading, whether what it writes is another number than what is there.
    biased: Vec<bool>,
    /// For each design and state, how far what is written in the long run is from what is there, on the scale of analysis; empty
    /// where nothing is biased.
    written_shifts: Vec<f64>,
    /// For each reading and zone, the weight in the mean over zones.
    weights: Vec<Vec<f64>>,
    /// Arrangements of the sites, where the test exchanges them.
    pub(super) exchanges: Option<Exchanges>,
    /// For each zone its numbers of sites; all lists as long as the longest.
    pub sites: Vec<Vec<usize>>,
    /// Zones that are replicated together, [`Study::strata`].
    pub strata: Vec<Vec<usize>>,
    /// For each zone and reading, what it has in common with the zone whose places it shares.
    places: Vec<Option<PlaceCovariance>>,
    pub states: usize,
    pub same_sites: bool,
    pub same_marks: bool,
    pub critical: CriticalT,
    /// For each column of size structure, what the formula of its test takes.
    pub(super) size_theories: Vec<OnceLock<Option<SizesOfReading>>>,
    /// Stricter levels of the same test; made when first asked for.
    ladder: OnceLock<Ladder>,
    /// First design of each reading.
    offsets: Vec<usize>,
    pub designs: usize,
    /// Tests whose rejections are counted together; none unless they are asked for.
    pub groups: Vec<Group>,
}

/// A mean that is off by a smaller share of what is there is taken to be as it is there.
const LEAST_BIAS: f64 = 0.005;

/// Which sites a design is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    Zone(usize),
    /// The weighted mean over zones.
    All,
}

/// A design: what is read, on how many units of how many sites, where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DesignIndex {
    pub reading: usize,
    /// Index into the reading's numbers of units.
    pub units: usize,
    /// Index into the zones' numbers of sites.
    pub sites: usize,
    pub place: Where,
}

impl Plan {
    pub fn new(study: Study, theories: Vec<impl Into<ReefTheory>>) -> Self {
        let theories: Vec<ReefTheory> = theories.into_iter().map(Into::into).collect();
        let layout = Layout::new(&study);
        let longest = study.zones.iter().map(|zone| zone.sites.len()).max().unwrap_or(1);
        let sites = study
            .zones
            .iter()
            .map(|zone| match study.scope {
                Scope::EachReef => vec![1],
                _ => (0..longest).map(|k| zone.sites[k.min(zone.sites.len() - 1)]).collect(),
            })
            .collect();
        let moments = all_moments(&study, &layout, &theories);
        let mut plan = Self {
            known_truths: known_truths(&study.methods, &layout, &theories, &moments),
            places: all_places(&study, &layout, &theories, &moments),
            strata: study.strata(),
            reefs: theories.iter().map(ReefTheory::reef).collect(),
            animals: theories.iter().map(|theory| theory.law().map_or(Vec::new(), ZoneTheory::animal_reefs)).collect(),
            fish: fish_reefs(&study, &layout, &theories),
            recruits: theories.iter().map(|theory| theory.law().and_then(ZoneTheory::recruit_reef)).collect(),
            moments,
            states: states_of(&study),
            same_sites: same_sites(&study),
            same_marks: same_marks(&study),
            critical: CriticalT::new(study.test.alpha, tail_of(study.test.sides)),
            size_theories: layout.sized.iter().map(|_| OnceLock::new()).collect(),
            ladder: OnceLock::new(),
            comparisons: comparisons(&study, &layout),
            truths_on_scale: Vec::new(),
            biased: Vec::new(),
            written_shifts: Vec::new(),
            weights: Vec::new(),
            exchanges: None,
            study,
            layout,
            theories,
            sites,
            offsets: Vec::new(),
            designs: 0,
            groups: Vec::new(),
        };
        for reading in &plan.layout.readings {
            plan.offsets.push(plan.designs);
            plan.designs += reading.units.len() * plan.site_choices() * plan.places();
        }
        plan.weights = (0..plan.layout.readings.len()).map(|reading| plan.weights_of_zones(reading)).collect();
        plan.truths_on_scale = plan.all_truths_on_scale();
        plan.biased = (0..plan.layout.readings.len()).map(|reading| plan.has_bias(reading)).collect();
        plan.written_shifts = plan.all_written_shifts();
        if plan.permutes() || (plan.states > 1 && !plan.layout.sized.is_empty()) {
            plan.exchanges = Some(Exchanges::new(&plan));
        }
        plan
    }

    /// Critical values at levels below alpha.
    pub fn ladder(&self) -> &Ladder {
        self.ladder.get_or_init(|| Ladder::new(self.study.test.alpha, self.critical.tail()))
    }

    /// How many numbers of sites are compared.
    pub fn site_choices(&self) -> usize {
        self.sites.first().map_or(0, Vec::len)
    }

    /// Zones, and all zones together where there are several and they are one statement.
    pub fn places(&self) -> usize {
        self.study.zones.len() + usize::from(self.has_all())
    }

    pub fn has_all(&self) -> bool {
        self.study.zones.len() > 1 && self.study.scope != Scope::EachReef
    }

    /// Whether the test of means exchanges whole sites.
    pub fn permutes(&self) -> bool {
        self.study.test.kind == TestKind::Permutation && self.states > 1
    }

    /// Whether some test looks at the means of sites one by one.
    pub fn keeps_means(&self) -> bool {
        let is_of_totals = |comparison: &Comparison| matches!(comparison, Comparison::Totals { .. });
        self.permutes()
            || self.strata.len() < self.study.zones.len()
            || self.comparisons.iter().flatten().any(is_of_totals)
    }

    /// Whether some test looks at sites one by one.
    pub fn keeps_sites(&self) -> bool {
        self.keeps_means() || self.exchanges.is_some()
    }

    /// Place of a design in every list of designs.
    #[inline]
    pub fn index(&self, design: &DesignIndex) -> usize {
        let place = match design.place {
            Where::Zone(zone) => zone,
            Where::All => self.study.zones.len(),
        };
        self.offsets[design.reading] + (design.units * self.site_choices() + design.sites) * self.places() + place
    }

    /// All designs in order.
    pub fn all_designs(&self) -> impl Iterator<Item = DesignIndex> + '_ {
        (0..self.layout.readings.len()).flat_map(move |reading| {
            (0..self.layout.readings[reading].units.len()).flat_map(move |units| {
                (0..self.site_choices()).flat_map(move |sites| {
                    (0..self.places()).map(move |place| {
                        let place = if place < self.study.zones.len() { Where::Zone(place) } else { Where::All };
                        DesignIndex { reading, units, sites, place }
                    })
                })
            })
        })
    }

    /// Zones of a design with their weights.
    pub fn weights(&self, place: Where) -> Vec<(usize, f64)> {
        match place {
            Where::Zone(zone) => vec![(zone, 1.0)],
            Where::All => self.study.zones.iter().enumerate().map(|(z, zone)| (z, zone.weight)).collect(),
        }
    }

    /// The weight of a zone in what a design tells of a reading. A zone in which there is none of what is counted has no ratio:
    /// where ratios are compared it is left out.
    pub fn weight(&self, place: Where, reading: usize, zone: usize) -> f64 {
        match place {
            Where::Zone(of) => f64::from(u8::from(of == zone)),
            Where::All => self.weights[reading][zone],
        }
    }

    /// Zones that tell something of a reading, with their weights.
    pub fn weights_in(&self, place: Where, reading: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let zones = self.weights(place).into_iter();
        zones.map(move |(zone, _)| (zone, self.weight(place, reading, zone))).filter(|(_, weight)| *weight > 0.0)
    }

    fn weights_of_zones(&self, reading: usize) -> Vec<f64> {
        let has_ratio = |zone: usize| match self.comparisons[reading].first() {
            Some(Comparison::Totals { .. }) => self.mean(zone, reading, 0) > 0.0,
            _ => true,
        };
        let zones = self.study.zones.iter().enumerate();
        let weights: Vec<f64> = zones.map(|(z, zone)| if has_ratio(z) { zone.weight } else { 0.0 }).collect();
        let total: f64 = weights.iter().sum();
        let all: f64 = self.study.zones.iter().map(|zone| zone.weight).sum();
        // Untouched where nothing is left out.
        if total == all || total == 0.0 { weights } else { weights.iter().map(|weight| weight * all / total).collect() }
    }

    /// The fewest units a design can do with: two where the units tell the error.
    pub fn least_units(&self, place: Where, sites: usize) -> usize {
        let lines_alone = |zone: usize| !self.terms(zone, self.sites[zone][sites], 2).replicates_are_sites();
        if self.weights(place).into_iter().any(|(zone, _)| lines_alone(zone)) { 2 } else { 1 }
    }

    /// Whether a design reads units laid on a reef and takes those of one site for replicates.
    pub fn lines_are_replicates(&self, design: &DesignIndex) -> bool {
        let reading = &self.layout.readings[design.reading];
        let units = reading.units[design.units];
        let told_by_units = |zone: usize| self.terms(zone, self.sites[zone][design.sites], units).listed > 0.0;
        reading.dimensions.length_m().is_some()
            && self.weights(design.place).iter().any(|&(zone, _)| told_by_units(zone))
    }

    /// How the sites of a zone enter the estimate of a design.
    pub fn terms(&self, zone: usize, sites: usize, units: usize) -> Terms {
        let listed = listed_share(&self.study, &self.study.zones[zone], sites, units);
        Terms::new(listed, units, self.study.test.kind, self.same_sites, self.same_marks)
    }
}

impl Plan {
    /// Moments of a reading in a zone by theory.
    pub fn moments(&self, zone: usize, reading: usize) -> &UnitMoments {
        &self.moments[zone * self.layout.readings.len() + reading]
    }

    /// What a zone has in common with the zone whose places it shares, in a reading; `None` where it shares none.
    pub fn place_covariance(&self, zone: usize, reading: usize) -> Option<&PlaceCovariance> {
        self.places[zone * self.layout.readings.len() + reading].as_ref()
    }

    /// A zone, ready to be surveyed.
    pub fn survey(&self, zone: usize) -> ZoneSurvey<'_> {
        ZoneSurvey {
            study: &self.study,
            zone: &self.study.zones[zone],
            layout: &self.layout,
            reef: &self.reefs[zone],
            bottom: self.theories[zone].law().and_then(|theory| theory.bottom.as_ref()),
            animals: &self.animals[zone],
            fish: &self.fish[zone],
            recruits: self.recruits[zone].as_ref(),
            known_truths: self.known_truths(zone),
            dead_log_odds: self.theories[zone].law().map_or(0.0, ZoneTheory::dead_log_odds),
        }
    }

    /// What is true on a site, for each reading: of colonies, and of everything on a map.
    fn known_truths(&self, zone: usize) -> &[Option<KnownTruth>] {
        let readings = self.layout.readings.len();
        &self.known_truths[zone * readings..(zone + 1) * readings]
    }

    /// How sites of so many units (of the reading's choices) are compared.
    pub fn comparison(&self, reading: usize, units: usize) -> Comparison {
        self.comparisons[reading][units]
    }

    /// The scale on which the estimate of a design lies.
    pub fn scale(&self, reading: usize, units: usize) -> Scale {
        self.comparison(reading, units).scale_of_estimate()
    }

    /// True population mean of what is compared: on the scale of the test, of the true values of sites.
    pub fn truth(&self, zone: usize, (reading, units): (usize, usize), state: usize) -> f64 {
        if self.truths_on_scale.is_empty() {
            return self.mean(zone, reading, state);
        }
        self.truths_on_scale[self.truth_place(zone, (reading, units), state)]
    }

    /// What is expected of the change to a state on the scale of analysis (state 0: of the mean), by the truth.
    pub fn expected_truth(&self, design: &DesignIndex, state: usize) -> f64 {
        let of = |zone: usize, state: usize| self.truth(zone, (design.reading, design.units), state);
        let zones = self.weights_in(design.place, design.reading);
        zones.map(|(z, weight)| weight * (of(z, state) - if state == 0 { 0.0 } else { of(z, 0) })).sum()
    }

    /// Whether what a reading writes in the long run is, by formula, another number than what is there: of fish always (they may
    /// be written otherwise than they are in more than their mean), of all else where a mean is off in any zone and state.
    pub fn is_biased(&self, reading: usize) -> bool {
        self.biased[reading]
    }

    fn has_bias(&self, reading: usize) -> bool {
        let own = &self.layout.readings[reading];
        let is_off = |zone: usize| {
            let moments = self.moments(zone, reading);
            let pairs = moments.mean.iter().zip(&moments.truth);
            pairs.clone().any(|(written, there)| (written - there).abs() > LEAST_BIAS * there.abs())
        };
        let is_told = own.dimensions != Dimensions::Components && !own.indicator.is_size_structure();
        is_told && (own.indicator.is_of_fish() || (0..self.study.zones.len()).any(is_off))
    }

    /// How far what a design writes in the long run is from what is there, on the scale of analysis.
    pub fn written_shift(&self, design: &DesignIndex, state: usize) -> f64 {
        self.written_shifts.get(self.index(design) * self.states + state).copied().unwrap_or(0.0)
    }

    fn all_written_shifts(&self) -> Vec<f64> {
        if !self.biased.contains(&true) {
            return Vec::new();
        }
        let shift = |design: &DesignIndex, state: usize| {
            let shift = || self.theory(design, state).expected - self.expected_truth(design, state);
            if self.is_biased(design.reading) { shift() } else { 0.0 }
        };
        self.all_designs().flat_map(|design| (0..self.states).map(move |state| shift(&design, state))).collect()
    }

    fn truth_place(&self, zone: usize, (reading, units): (usize, usize), state: usize) -> usize {
        let most = self.layout.readings.iter().map(|reading| reading.units.len()).max().unwrap_or(0);
        ((zone * self.layout.readings.len() + reading) * most + units) * self.states + state
    }

    fn all_truths_on_scale(&self) -> Vec<f64> {
        let is_plain = |comparison: &Comparison| comparison.scale_of_estimate() == Scale::Plain;
        if self.comparisons.iter().flatten().all(is_plain) {
            return Vec::new();
        }
        let readings = self.layout.readings.len();
        let mut truths = vec![f64::NAN; self.truth_place(self.study.zones.len(), (0, 0), 0)];
        for zone in 0..self.study.zones.len() {
            for reading in 0..readings {
                for units in 0..self.layout.readings[reading].units.len() {
                    for state in 0..self.states {
                        let place = self.truth_place(zone, (reading, units), state);
                        let moments = self.moments(zone, reading);
                        truths[place] = match self.comparison(reading, units) {
                            Comparison::Means(scale) => truth_on_scale(scale, moments, state),
                            // The ratio of totals is one of means.
                            Comparison::Totals { .. } => libm::log(moments.truth[state]),
                            Comparison::Sizes => f64::NAN,
                        };
                    }
                }
            }
        }
        truths
    }

    /// True population mean of a reading's indicator in a state, in the unit (or, by components, on the scale) that it is told
    /// in.
    pub fn mean(&self, zone: usize, reading: usize, state: usize) -> f64 {
        self.moments(zone, reading).truth[state]
    }

    /// Theory of a design for a state.
    pub fn theory(&self, design: &DesignIndex, state: usize) -> DesignTheory {
        let units = self.layout.readings[design.reading].units[design.units];
        let shares: Vec<ZoneShare> = self
            .weights_in(design.place, design.reading)
            .map(|(zone, weight)| ZoneShare {
                zone: &self.study.zones[zone],
                moments: self.moments(zone, design.reading),
                place: self.place_covariance(zone, design.reading),
                weight,
                sites: self.sites[zone][design.sites],
                units,
                comparison: self.comparison(design.reading, design.units),
            })
            .collect();
        DesignTheory::new(&self.study, &shares, state)
    }
}

/// The fish of every zone; a map tells of none.
fn fish_reefs(study: &Study, layout: &Layout, theories: &[ReefTheory]) -> Vec<Vec<FishReef>> {
    let of_zone = |(zone, theory): (&Zone, &ReefTheory)| match theory.law() {
        None => Vec::new(),
        Some(theory) => {
            let groups = zone.fish.iter().enumerate();
            groups.map(|(index, group)| FishReef::new(study, (group, index), theory, &layout.fish)).collect()
        }
    };
    study.zones.iter().zip(theories).map(of_zone).collect()
}

/// For every zone and reading what is true on a site: of what coral belts give, of presence, and of everything on a map.
fn known_truths(
    methods: &[MethodSpec],
    layout: &Layout,
    theories: &[ReefTheory],
    moments: &[UnitMoments],
) -> Vec<Option<KnownTruth>> {
    let of = |(theory, reading, moments): (&ReefTheory, &Reading, &UnitMoments)| match (theory, &reading.indicator) {
        (_, Indicator::Own(_)) => None,
        (ReefTheory::Mapped(_), _) => Some(KnownTruth::Everywhere(moments.truth.clone())),
        (
            ReefTheory::Virtual(theory),
            Indicator::Colonies { measure: ColonyIndicator::Density | ColonyIndicator::EllipseCover, .. },
        ) => {
            let covers = theory.law.states.iter().map(|state| state.cover);
            Some(KnownTruth::OfCover(moments.truth.iter().zip(covers).map(|(truth, cover)| truth / cover).collect()))
        }
        (ReefTheory::Virtual(theory), Indicator::Colonies { measure, .. }) => match &methods[reading.method].kind {
            MethodKind::CoralBelt { belt, .. } => {
                let by_site = theory.colonies_by_site((belt, reading.dimensions), *measure);
                let everywhere = || KnownTruth::Everywhere(moments.truth.clone());
                Some(by_site.map_or_else(everywhere, KnownTruth::OfColonies))
            }
            _ => None,
        },
        (_, Indicator::Animal { presence: true, .. }) => Some(KnownTruth::Everywhere(moments.truth.clone())),
        _ => None,
    };
    let readings = layout.readings.len();
    let all = theories.iter().enumerate().flat_map(|(z, theory)| {
        let own = &moments[z * readings..(z + 1) * readings];
        layout.readings.iter().zip(own).map(move |(reading, moments)| (theory, reading, moments))
    });
    all.map(of).collect()
}

impl Reading {
    /// Moments of one unit in a zone by its theory, whatever the method.
    pub fn moments(&self, study: &Study, zone: &Zone, theory: &ReefTheory) -> UnitMoments {
        let kind = &study.methods[self.method].kind;
        let theory = match (kind, theory) {
            (MethodKind::Components(parts), _) => return component_moments(study, parts),
            (_, ReefTheory::Mapped(theory)) => return theory.moments(kind, self.dimensions, self.indicator.name()),
            (_, ReefTheory::Virtual(theory)) => theory,
        };
        match (kind, &self.indicator) {
            (MethodKind::CoralBelt { belt, .. }, Indicator::Colonies { measure, .. }) => {
                theory.colony_moments(study, (belt, self.dimensions), *measure)
            }
            (_, Indicator::Fish { told, .. }) => theory.fish_moments((study, zone), (kind, self.dimensions), told),
            (_, indicator) => theory.moments(study, zone, indicator.name(), self.dimensions),
        }
    }

    /// What two zones at the same places have in common, whatever the method.
    pub fn at_place(&self, place: &PlaceLaw) -> PlaceCovariance {
        match (&place.study.methods[self.method].kind, &self.indicator) {
            (MethodKind::Components(parts), _) => place.of_components(parts),
            (_, Indicator::Colonies { measure, .. }) => place.of_colonies(*measure),
            (kind, Indicator::Fish { told, .. }) => place.of_fish((kind, self.dimensions), told),
            (_, indicator) => place.of_indicator(indicator.name()),
        }
    }
}

fn comparisons(study: &Study, layout: &Layout) -> Vec<Vec<Comparison>> {
    let of = |reading: &Reading| {
        let units = reading.units.iter();
        units.map(|&units| study.comparison(reading.indicator.name(), reading.dimensions, units)).collect()
    };
    layout.readings.iter().map(of).collect()
}

/// For every zone and reading what the zone has in common with the one whose places it shares.
fn all_places(
    study: &Study,
    layout: &Layout,
    theories: &[ReefTheory],
    moments: &[UnitMoments],
) -> Vec<Option<PlaceCovariance>> {
    let readings = layout.readings.len();
    let of = |zone: usize, reading: usize| {
        let (named, correlation) = study.places_of(zone)?;
        let depth = |zone: usize| {
            let theory = theories[zone].law()?;
            Some(Depth { zone: &study.zones[zone], theory, moments: &moments[zone * readings + reading] })
        };
        let place = PlaceLaw { study, depths: [depth(named)?, depth(zone)?], correlation };
        Some(layout.readings[reading].at_place(&place))
    };
    (0..theories.len())
        .flat_map(|zone| (0..readings).map(move |reading| (zone, reading)))
        .map(|(z, r)| of(z, r))
        .collect()
}

/// Moments of every reading in every zone.
fn all_moments(study: &Study, layout: &Layout, theories: &[ReefTheory]) -> Vec<UnitMoments> {
    theories
        .iter()
        .zip(&study.zones)
        .flat_map(|(theory, zone)| layout.readings.iter().map(move |reading| reading.moments(study, zone, theory)))
        .collect()
}
