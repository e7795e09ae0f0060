//! From the components of a pilot to a study: each number with the pilot as its origin and its uncertainty beside it.

use super::shown::{number, percent};
use super::write::Beside;
use super::{Origin, defaults};
use crate::analysis::Interval;
use crate::design::{
    Change, HARD_CORAL, Observers, Places, Question, Scope, Sides, SiteScale, Sites, Study, Tape, TestKind, TestSpec,
    Visits, Zone,
};
use crate::pilot::{
    CalibratedVisits, Component, Marks, NoReef, PilotFit, PilotReefs, ReefNote, Taken, Years, ZoneReef,
};
use crate::reef::NamedReef;
use crate::survey::{Components, Dimensions, MethodKind, MethodSpec, Scale, UnitMinutes};

/// What of the scenario does not follow from the numbers of the pilot.
#[derive(Clone, Copy, Debug)]
pub struct PilotPlan<'a> {
    /// Name of the pilot's file.
    pub file: &'a str,
    pub taken: &'a Taken,
    pub same_marks: bool,
    /// Years between consecutive visits, and whether the pilot's own names tell them.
    pub years_apart: f64,
    pub years_are_known: bool,
    /// Cover to ask about (a share); nothing: a fall by a fifth.
    pub to: Option<f64>,
}

/// What a site's years do where a pilot cannot tell (shares).
pub fn usual_site_year_sd(cover: f64, between_sites_sd: f64) -> f64 {
    defaults::site_year_sd(cover, Some(between_sites_sd))
}

/// A study of virtual reefs. `None` where the pilot has none.
pub fn study_of_reefs(reefs: &PilotReefs, plan: &PilotPlan) -> Option<(Study, Beside)> {
    let visits = reefs.visits.as_ref()?;
    let mut notes = Notes::new(plan);
    let share = 1.0 / reefs.zones.len() as f64;
    let zones: Vec<Zone> =
        reefs.zones.iter().enumerate().map(|(index, zone)| notes.zone(index, zone, visits, share)).collect();
    let cover = zones.iter().map(|zone| zone.weight * zone.cover).sum();
    notes.visits(visits);
    let change = notes.change(HARD_CORAL, cover, 1.0);
    let method = MethodSpec { kind: method_kind(plan.taken.dimensions), units: units(), minutes: minutes(plan) };
    Some((study(plan.file, visits.visits, zones, vec![change], method), notes.beside))
}

/// A study by components alone, where no virtual reef varies as the pilot does; in percent of cover.
pub fn study_of_components(zone: &NoReef, plan: &PilotPlan) -> (Study, Beside) {
    let fit = &zone.fit;
    let mut notes = Notes::new(plan);
    let path = "method.other[0]";
    let text = format!(
        "By components alone, because no virtual reef varies as this pilot does: {}. Values in percent of cover, SDs in \
         points.",
        zone.reason
    );
    notes.comment(path, text);
    notes.components(path, fit);
    for key in ["mean", "between_sites", "between_units"] {
        notes.origin(path, key, Origin::Pilot(plan.file.to_owned()));
    }
    let whole = fit.between_sites.sd;
    let usual = usual_site_year_sd(fit.mean, whole);
    // One visit cannot part sites from their years: what is assumed for the years is taken off the sites.
    let (site, site_year) = match fit.site_year {
        Some(component) => (whole, component.sd),
        None => ((whole * whole - usual * usual).max(0.0).sqrt(), usual),
    };
    notes.known(path, "site_year", fit.site_year.is_some());
    let correlation = fit.same_mark_correlation.map_or(0.0, |mark| mark.correlation.max(0.0));
    notes.known(path, "same_mark_correlation", fit.same_mark_correlation.is_some());
    let tidy = |share: f64| (share * 1e5).round() / 1e3;
    let components = Components {
        indicator: BY_COMPONENTS.to_owned(),
        unit: "% cover".to_owned(),
        mean: tidy(fit.mean),
        scale: Scale::Plain,
        between_sites_sd: tidy(site),
        site_year_sd: tidy(site_year),
        between_units_sd: tidy(fit.between_lines.sd),
        same_mark_correlation: (correlation * 1e4).round() / 1e4,
        floor: None,
    };
    let (relay_sd_m, renewal_per_year, drift_years) = Tape::AsFound.values();
    let visits = Visits {
        years_apart: plan.years_apart,
        sites: Sites::Same,
        places: if plan.same_marks { Places::SameMarks } else { Places::NewPlaces },
        relay_sd_m,
        renewal_per_year,
        drift_years,
    };
    let change = notes.change(BY_COMPONENTS, fit.mean, 100.0);
    let method = MethodSpec { kind: MethodKind::Components(components), units: units(), minutes: minutes(plan) };
    let cover = (fit.mean * 1e5).round() / 1e3 / 100.0;
    let zone = zone_without_reef(zone_name(fit), sites(fit), plan.taken.site(), (cover, usual));
    notes.comment("zone[0]", "Of this zone only the number of sites is used: no virtual reef is read.".to_owned());
    (study(plan.file, visits, vec![zone], vec![change], method), notes.beside)
}

/// A zone of which no virtual reef is read: the usual one stands in, at a cover and with a spread of its sites' years.
pub(super) fn zone_without_reef(
    name: String,
    sites: usize,
    (length_m, width_m): (f64, f64),
    (cover, site_year_sd): (f64, f64),
) -> Zone {
    let reef = NamedReef::ForeReef;
    Zone {
        name,
        sites: vec![sites],
        reef_name: reef.name().to_owned(),
        reef_is_a_range: true,
        between_sites_sd: defaults::between_sites_sd(cover, &reef.spec(), site_year_sd),
        site_year_sd,
        ..Zone::bare(reef.spec(), (length_m, width_m), cover)
    }
}

/// The indicator of a pilot without a reef; `hard_coral` is that of virtual reefs.
const BY_COMPONENTS: &str = "coral_cover";
/// A fall by a fifth where nothing is asked.
pub(super) const DEFAULT_RATIO: f64 = 0.8;
/// More sites than these are hardly surveyed twice; the user writes more where they are.
pub(super) const MOST_SITES: usize = 30;

/// What is asked where a pilot does not tell.
pub(super) fn study(file: &str, visits: Visits, zones: Vec<Zone>, changes: Vec<Change>, method: MethodSpec) -> Study {
    Study {
        title: format!("From the pilot {file}"),
        scope: Scope::AllSuchReefs,
        question: Question::BetweenTheseVisits,
        test: TestSpec {
            kind: TestKind::PairedT,
            scale: SiteScale::Plain,
            alpha: defaults::ALPHA,
            sides: Sides::Two,
            seen: defaults::SEEN,
        },
        visits,
        observers: Observers::perfect(),
        zones,
        changes,
        methods: vec![method],
        placement: Default::default(),
        also_report: Vec::new(),
    }
}

pub(super) fn units() -> Vec<usize> {
    (1..=defaults::MOST_UNITS).collect()
}

fn sites(fit: &PilotFit) -> usize {
    fit.sites.min(MOST_SITES)
}

fn zone_name(fit: &PilotFit) -> String {
    fit.zone.clone().unwrap_or_else(|| "pilot reefs".to_owned())
}

fn method_kind(dimensions: Dimensions) -> MethodKind {
    let length = dimensions.length_m().unwrap_or(defaults::LINE_LENGTH_M);
    dimensions.alone().unwrap_or(MethodKind::LineIntercept { length_m: vec![length] })
}

fn minutes(plan: &PilotPlan) -> UnitMinutes {
    let (lay, read) = defaults::minutes(plan.taken.dimensions);
    UnitMinutes { lay, read, ashore: None }
}

/// Gathers origins and comments on the way.
struct Notes<'a> {
    plan: &'a PilotPlan<'a>,
    beside: Beside,
}

impl<'a> Notes<'a> {
    fn new(plan: &'a PilotPlan<'a>) -> Self {
        let mut notes = Notes { plan, beside: Beside::default() };
        let head = format!(
            "Made from the pilot {} by reefwright. What the pilot cannot tell is assumed: `check` lists it. Intervals are \
             those of 80 %.",
            plan.file
        );
        notes.comment("", head);
        let people = "What people add when they read is in the spread of the pilot's lines already, so nothing is added \
                      here; write between_visits = \"changed\" and a spread_percent if others will read.";
        notes.comment("observers", people.to_owned());
        notes
    }

    fn comment(&mut self, table: &str, text: String) {
        self.beside.comment(table, text);
    }

    fn origin(&mut self, table: &str, key: &str, origin: Origin) {
        self.beside.origin(table, key, origin);
    }

    fn known(&mut self, table: &str, key: &str, from_pilot: bool) {
        self.beside.known(table, key, from_pilot.then_some(self.plan.file));
    }

    /// What the pilot found in a zone, with its intervals and warnings.
    fn components(&mut self, table: &str, fit: &PilotFit) {
        let visits = if fit.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", fit.visits) };
        let mean = format!(
            "The pilot: {} sites, {visits}, {} readings of lines; mean cover {} %, give or take {} points (one error).",
            fit.sites,
            fit.lines,
            points(fit.mean),
            points(fit.mean_error)
        );
        self.comment(table, mean);
        let mut told = format!("SD between sites {}", spread(&fit.between_sites));
        if let Some(years) = &fit.site_year {
            told += &format!("; of a site's years {}", spread(years));
        }
        told += &format!("; between lines of one site {}.", spread(&fit.between_lines));
        self.comment(table, told);
        for warning in &fit.warnings {
            self.comment(table, format!("Warning: {warning}."));
        }
        if fit.sites > MOST_SITES {
            self.comment(table, format!("The pilot has {} sites; {MOST_SITES} are written to start from.", fit.sites));
        }
    }

    fn zone(&mut self, index: usize, zone: &ZoneReef, visits: &CalibratedVisits, weight: f64) -> Zone {
        let path = format!("zone[{index}]");
        let fit = &zone.fit;
        self.components(&path, fit);
        let how = format!(
            "The reef is the named reef {} with its patches scaled until lines of one site vary as the pilot's do; \
             between_sites_points is the SD of the true cover of whole sites in one visit that goes with it.",
            zone.reef.named
        );
        self.comment(&path, how);
        for note in &zone.reef.notes {
            self.comment(&path, reef_note(note));
        }
        if let Some(text) = years_note(zone, visits.visits.years_apart) {
            self.comment(&path, text);
        }
        for key in [
            "sites",
            "reef",
            "cover_percent",
            "between_sites_points",
            "patch_sd",
            "along_sd",
            "diameter_median_m",
            "diameter_ln_sd",
            "diameter_max_m",
        ] {
            self.known(&path, key, true);
        }
        self.known(&path, "site_year_points", zone.years.years != Years::Assumed);
        Zone {
            name: zone_name(fit),
            sites: vec![sites(fit)],
            weight,
            reef_name: zone.reef.named.to_owned(),
            between_sites_sd: zone.reef.between_sites_sd,
            site_year_sd: zone.years.site_year_sd,
            year_sd: self.years(&path, fit),
            ..Zone::bare(zone.reef.reef, (self.plan.taken.site_length_m, self.plan.taken.site_width_m), zone.reef.cover)
        }
    }

    /// Years shared by all sites, where the pilot tells them: used by one question only.
    fn years(&mut self, path: &str, fit: &PilotFit) -> f64 {
        let Some(years) = fit.year.filter(|years| years.sd > 0.0) else { return 0.0 };
        self.known(path, "year_points", true);
        let text = format!(
            "Years shared by all sites, any trend of the pilot included: SD {}; only the question beyond_usual_years uses \
             year_points.",
            spread(&years)
        );
        self.comment(path, text);
        (years.sd * 1e4).round() / 1e2 / 100.0
    }

    fn visits(&mut self, found: &CalibratedVisits) {
        let table = "visits";
        self.known(table, "years_apart", self.plan.years_are_known);
        self.known(table, "relay_within_m", found.marks != Marks::NotObserved);
        self.known(table, "renewal_percent_per_year", false);
        self.known(table, "drift_years", false);
        let two = |value: f64| number((value * 100.0).round() / 100.0);
        match found.marks {
            Marks::NotObserved => {}
            Marks::Fitted => self.comment(
                table,
                "relay_within_m gives the correlation of marked lines between the pilot's visits.".to_owned(),
            ),
            Marks::BetterThanExact { observed, given } => self.comment(
                table,
                format!(
                    "Marked lines of the pilot remember more ({}) than lines laid exactly at their marks would ({}): they \
                     are taken to be laid exactly. Slower renewal or drift would give more.",
                    two(observed),
                    two(given)
                ),
            ),
            Marks::WorseThan { metres, observed, given } => self.comment(
                table,
                format!(
                    "Marked lines of the pilot remember less ({}) than lines laid within {metres} m would ({}): the marks \
                     helped little; new_places is the cautious choice.",
                    two(observed),
                    two(given)
                ),
            ),
        }
    }

    /// The change from the pilot's mean; `whole` is what full cover is in the indicator's unit.
    fn change(&mut self, indicator: &str, cover: f64, whole: f64) -> Change {
        // Three digits of a percentage.
        let tidy = |share: f64| {
            let factor = 10f64.powf(2.0 - (share * 100.0).log10().floor());
            (share * 100.0 * factor).round() / factor / 100.0
        };
        let from = tidy(cover);
        let to = self.plan.to.unwrap_or(tidy(from * DEFAULT_RATIO));
        match self.plan.to {
            Some(to) => self.comment("change[0]", format!("From the pilot's mean cover to {}, as asked.", percent(to))),
            None => self.comment(
                "change[0]",
                "No change was asked about: a fall by a fifth from the pilot's mean cover.".to_owned(),
            ),
        }
        let in_unit = |share: f64| if whole == 1.0 { share } else { (share * whole * 1e6).round() / 1e6 };
        Change {
            indicator: indicator.to_owned(),
            from: in_unit(from),
            to: in_unit(to),
            differs_between_sites_sd: None,
            deaths: None,
        }
    }
}

/// "8.4 points (6.3 to 12.6)".
fn spread(component: &Component) -> String {
    let Interval { low, high } = component.interval_80;
    format!("{} points ({} to {})", points(component.sd), points(low), points(high))
}

fn points(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

/// What had to be done with the years of a zone's sites, for people; nothing where they come out as the pilot's.
pub fn years_note(zone: &ZoneReef, years_apart: f64) -> Option<String> {
    let most = zone.fit.site_year.map_or(0.0, |component| component.interval_80.high);
    match zone.years.years {
        Years::Fitted | Years::Assumed => None,
        Years::LessThanDrift => Some(format!(
            "The drift of the reef's patches over {} years alone moves the sites by SD {} points, as much as the pilot saw or \
             more, so site_year_points adds nothing; to be careful, write up to {}.",
            number(years_apart),
            points(zone.years.gives.site_year),
            points(most)
        )),
        Years::AllThereIs => {
            Some("site_year_points is as large as the spread of sites allows; the pilot saw more.".to_owned())
        }
    }
}

/// What had to be done to a named reef, for people.
pub fn reef_note(note: &ReefNote) -> String {
    match *note {
        ReefNote::AlongLowered { usual, along_sd } => format!(
            "The sites of the pilot differ by less than the named reef varies along its length, so along_sd is {} instead \
             of {}.",
            number(along_sd),
            number(usual)
        ),
        ReefNote::SitesStillDiffer { pilot_sd, reef_sd } => format!(
            "The pilot's spread of sites (SD {} points) is less than such a reef can have: its own patches, or the least that \
             is written, give {} points.",
            points(pilot_sd),
            number((1e4 * reef_sd).round() / 1e2)
        ),
        ReefNote::SizesReduced { usual_median_m, median_m } => format!(
            "Lines of the pilot differ by less than on the named reef without any patches, so its colonies are smaller: \
             median {} instead of {} m.",
            number(median_m),
            number(usual_median_m)
        ),
        ReefNote::BeltsStillDiffer { pilot, gives } => format!(
            "Belts of the pilot differ by less in their numbers of colonies (SD {} % of the mean within a site) than on a reef \
             without any patches ({} %): there are none.",
            points(pilot),
            points(gives)
        ),
    }
}
