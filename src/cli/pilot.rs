//! `pilot`: from a table of lines to a scenario.
//!
//! A worked example on the invented pilot of `examples/` (ten sites, six marked 10 m lines of 100 points, 2027 and 2029):
//!
//! ```text
//! reefwright pilot examples/pilot_lines.csv --visit year --hits coral_points \
//!     --length 10 --same-marks --scenario atolls.toml
//! reefwright check atolls.toml
//! reefwright curves atolls.toml
//! ```
//!
//! The first command tells how cover varies between sites, years, lines and marks, with intervals, and writes the scenario
//! of a virtual reef on which it varies so.

use super::arguments::Shared;
use super::failure::Failure;
use super::files::{print, read_file, refuse_existing, say, write_new, write_whole};
use super::pilot_colonies::EdgeWord;
use crate::pilot::{
    Columns, CoverColumn, PilotData, PilotError, PilotFits, PilotReefs, Taken, column_names, fit_pilot, read_pilot,
    reefs_of_pilot,
};
use crate::report;
use crate::scenario::{PilotPlan, study_of_components, study_of_reefs, usual_site_year_sd, wrapped, write};
use crate::survey::Dimensions;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// From the lines of a pilot survey: how much varies where, and the scenario of a reef that varies so
///
/// The table has one line (or belt) a row. Examples: reefwright pilot lines.csv --length 10 --hits coral --scenario
/// reef.toml; of belts in which animals were counted: reefwright pilot belts.csv --count urchins --length 25 --width 2;
/// of measured colonies: reefwright pilot colonies.csv --diameter length_cm --across width_cm --dead recent,old
#[derive(Debug, Args)]
pub struct Pilot {
    /// Table of the pilot survey (CSV with the names of columns in its first line)
    #[arg(value_name = "DATA")]
    pub file: PathBuf,
    /// Column of the site, or several (region,number) that name it together
    #[arg(long, value_name = "COLUMN", value_delimiter = ',', default_value = "site", help_heading = COLUMNS)]
    pub(super) site: Vec<String>,
    /// Column of the line or belt within its site [default: line; of belts: belt or line, or every row is a belt]
    #[arg(long, value_name = "COLUMN", help_heading = COLUMNS)]
    pub(super) line: Option<String>,
    /// Column of the visit (year, date, or a name); left out: `visit` where the table has it, else all is one visit
    #[arg(long, value_name = "COLUMN", help_heading = COLUMNS)]
    pub(super) visit: Option<String>,
    /// Column of the zone; each zone is told by itself
    #[arg(long, value_name = "COLUMN", help_heading = COLUMNS)]
    pub(super) zone: Option<String>,
    /// Column of cover in percent [default: cover]
    #[arg(long, value_name = "COLUMN", conflicts_with_all = ["cover_share", "hits"], help_heading = COLUMNS)]
    cover: Option<String>,
    /// Column of cover as a share, 0 to 1
    #[arg(long, value_name = "COLUMN", conflicts_with = "hits", help_heading = COLUMNS)]
    cover_share: Option<String>,
    /// Column of the points that fell on coral
    #[arg(long, value_name = "COLUMN", help_heading = COLUMNS)]
    hits: Option<String>,
    /// Column of all points of the line [default: points]
    #[arg(long, value_name = "COLUMN", requires = "hits", help_heading = COLUMNS)]
    points: Option<String>,
    /// Columns of animals counted in a belt, instead of cover
    #[arg(long, value_name = "COLUMN", value_delimiter = ',', conflicts_with_all = COVER, help_heading = COUNTS)]
    pub(super) count: Vec<String>,
    /// Columns of animals per 100 m2, instead of their numbers
    #[arg(long, value_name = "COLUMN", value_delimiter = ',', conflicts_with_all = COVER, conflicts_with = "count", help_heading = COUNTS)]
    pub(super) density: Vec<String>,
    /// Names of the animals, in the order of their columns [default: the columns' names]
    #[arg(long, value_name = "NAME", value_delimiter = ',', help_heading = COUNTS)]
    pub(super) animal: Vec<String>,
    /// Column of the m2 searched, where belts are not all of one size
    #[arg(long, value_name = "COLUMN", help_heading = COUNTS)]
    pub(super) area: Option<String>,
    /// Column of what the fish of a belt weigh, grams per 100 m2, beside one column of their number: schools and biomass are
    /// told
    #[arg(long, value_name = "COLUMN", conflicts_with_all = COVER, conflicts_with = "diameter", help_heading = COUNTS)]
    pub(super) biomass: Option<String>,
    /// Column of the largest diameter of a colony, cm: the table has one colony a row
    #[arg(long, value_name = "COLUMN", conflicts_with_all = COVER, conflicts_with_all = ["count", "density", "area", "animal", "same_marks"], help_heading = COLONIES)]
    pub(super) diameter: Option<String>,
    /// Column of the diameter perpendicular to it, cm
    #[arg(long, value_name = "COLUMN", requires = "diameter", help_heading = COLONIES)]
    pub(super) across: Option<String>,
    /// Columns of dead parts in percent of the colony, added up (recent,old)
    #[arg(long, value_name = "COLUMN", value_delimiter = ',', requires = "diameter", help_heading = COLONIES)]
    pub(super) dead: Vec<String>,
    /// Smallest colony that was written, cm
    #[arg(long, value_name = "CM", default_value = "1", value_parser = centimetres, help_heading = COLONIES)]
    pub(super) smallest: f64,
    /// Diameters were measured to the nearest of this, cm
    #[arg(long, value_name = "CM", default_value = "1", value_parser = centimetres, help_heading = COLONIES)]
    pub(super) ruler: f64,
    /// Which colonies at the edge of a belt were counted
    #[arg(long, value_enum, default_value = "centre_in", help_heading = COLONIES)]
    pub(super) edge: EdgeWord,
    /// Belts at each site and visit, those without any colony included; left out: those in the table
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=1000), requires = "diameter", help_heading = COLONIES)]
    pub(super) belts: Option<u32>,
    /// How lines were read
    #[arg(long, value_enum, default_value = "point_intercept", help_heading = METHOD)]
    method: Method,
    /// Length of a line or belt, metres (of colonies: left out where it is not known)
    #[arg(long, value_name = "METRES", value_parser = metres, required_unless_present = "diameter", help_heading = METHOD)]
    pub(super) length: Option<f64>,
    /// Distance of the points on a line, metres
    #[arg(long, value_name = "METRES", value_parser = metres, conflicts_with = "points_per_line", help_heading = METHOD)]
    spacing: Option<f64>,
    /// Points on a line or belt; left out: as the table counts them
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=10_000), help_heading = METHOD)]
    points_per_line: Option<u32>,
    /// Width of a belt, metres
    #[arg(long, value_name = "METRES", value_parser = metres, help_heading = METHOD)]
    pub(super) width: Option<f64>,
    /// Lines lie on the same marks at every visit (the same name is the same mark)
    #[arg(long, help_heading = METHOD)]
    pub(super) same_marks: bool,
    /// Years between visits, where their names do not tell
    #[arg(long, value_name = "YEARS", value_parser = years, help_heading = METHOD)]
    pub(super) years_apart: Option<f64>,
    /// Length of a site along the reef, metres
    #[arg(long, value_name = "METRES", default_value = "100", value_parser = metres, help_heading = METHOD)]
    pub(super) site_length: f64,
    /// Width of a site, metres
    #[arg(long, value_name = "METRES", default_value = "20", value_parser = metres, help_heading = METHOD)]
    pub(super) site_width: f64,
    /// Ask about a change from the pilot's mean to this cover in percent (of the first animal: number per 100 m2); left
    /// out: a fall by a fifth
    #[arg(long, value_name = "VALUE")]
    pub(super) from_now_to: Option<f64>,
    /// Write the scenario into this file; left out: it is printed, and what was found is told on standard error
    #[arg(long, value_name = "FILE")]
    pub(super) scenario: Option<PathBuf>,
    /// Replace a scenario that is already there
    #[arg(long)]
    pub(super) force: bool,
}

const COLUMNS: &str = "Columns of the table";
const COUNTS: &str = "Belts in which animals were counted";
const COLONIES: &str = "Tables of measured colonies";
const METHOD: &str = "How the lines were taken";
/// What says that the table is one of cover.
const COVER: [&str; 3] = ["cover", "cover_share", "hits"];

#[derive(Clone, Copy, Debug, PartialEq, ValueEnum)]
#[value(rename_all = "snake_case")]
enum Method {
    /// Points at equal distance under a tape
    PointIntercept,
    /// Length of tape over coral
    LineIntercept,
    /// Random points on photographs along a strip
    PhotoBelt,
}

/// Years between visits that nothing tells: one.
pub(super) const YEARS_APART: f64 = 1.0;

/// `pilot`: nothing is written unless all is well.
pub fn run(arguments: &Pilot, shared: &Shared) -> Result<(), Failure> {
    if let Some(path) = arguments.scenario.as_ref().filter(|_| !arguments.force) {
        refuse_existing(path)?;
    }
    let bytes = read_file(&arguments.file)?;
    let counts = !(arguments.count.is_empty() && arguments.density.is_empty());
    let found = match &arguments.diameter {
        Some(longest) => super::pilot_colonies::found(arguments, longest, &bytes)?,
        None if counts => super::pilot_counts::found(arguments, &bytes)?,
        None => arguments.found_of_lines(&bytes)?,
    };
    if let Some(path) = &arguments.scenario {
        let write = if arguments.force { write_whole } else { write_new };
        write(path, found.scenario.as_bytes())?;
    }
    if shared.json {
        print(&format!("{:#}\n", found.json))?;
    } else {
        match &arguments.scenario {
            Some(_) => print(&found.told)?,
            None => {
                say(shared.quiet, &found.told);
                print(&found.scenario)?;
            }
        }
    }
    if let Some(path) = &arguments.scenario {
        let path = path.display();
        say(shared.quiet, &format!("{path} is written. Next: reefwright check {path}, then reefwright curves {path}"));
    }
    Ok(())
}

/// What a pilot gives, however it was read.
pub(super) struct Found {
    /// For the terminal.
    pub told: String,
    pub scenario: String,
    pub json: serde_json::Value,
}

impl Pilot {
    /// The name of the file in messages, and its own name, which goes into the scenario: the folder is nobody's business
    /// there.
    pub(super) fn names(&self) -> (String, String) {
        let name = self.file.display().to_string();
        let short = self.file.file_name().map_or(name.clone(), |short| short.to_string_lossy().into_owned());
        (name, short)
    }

    /// The column of the visit: as told, or `visit` where the table has it.
    pub(super) fn visit_column(&self, names: &[String]) -> Option<String> {
        self.visit.clone().or_else(|| names.iter().find(|name| *name == "visit").cloned())
    }

    /// The cover to ask about, a share.
    pub(super) fn cover_to(&self) -> Result<Option<f64>, Failure> {
        let Some(asked) = self.from_now_to else { return Ok(None) };
        let percent =
            percent(asked).map_err(|message| Failure::bad_input(format!("--from-now-to {asked}: {message}")))?;
        Ok(Some(percent / 100.0))
    }

    /// The length of a line or belt, which clap asks for.
    pub(super) fn length_m(&self) -> f64 {
        self.length.unwrap_or(f64::NAN)
    }

    fn found_of_lines(&self, bytes: &[u8]) -> Result<Found, Failure> {
        let (name, short) = self.names();
        if !self.animal.is_empty() || self.area.is_some() || self.biomass.is_some() {
            return Err(Failure::bad_input(
                "--animal, --area and --biomass tell of belts with counts; add --count COLUMN".to_owned(),
            ));
        }
        let data = read_pilot(bytes, &name, &self.columns(&column_names(bytes))).map_err(|error| refused(&error))?;
        let fits = fit_pilot(&data).map_err(|error| refused(&error))?;
        let taken = self.taken(&fits)?;
        let told_years = fits.zones.iter().find_map(|fit| fit.years_apart).filter(|years| *years > 0.0);
        let known_years = self.years_apart.or(told_years);
        let plan = PilotPlan {
            file: &short,
            taken: &taken,
            same_marks: self.same_marks,
            years_apart: known_years.unwrap_or(YEARS_APART),
            years_are_known: known_years.is_some(),
            to: self.cover_to()?,
        };
        let reefs = reefs_of_pilot(&fits.zones, &taken, plan.same_marks, plan.years_apart, usual_site_year_sd)
            .map_err(|error| Failure::other(format!("{name}: no reef could be calibrated: {error}")))?;
        let scenario = scenario_text(&reefs, &plan)?;
        let told = report::pilot_doubts(&data.doubts)
            + &report::pilot(&data, &fits, &reefs, taken.dimensions)
            + &zones_left_out(&reefs);
        let json = as_json(&data, &fits, &reefs, &scenario);
        Ok(Found { told, scenario, json })
    }

    fn columns(&self, names: &[String]) -> Columns {
        let cover = match (&self.hits, &self.cover_share) {
            (Some(hits), _) => CoverColumn::Counts {
                hits: hits.clone(),
                points: self.points.clone().unwrap_or_else(|| "points".to_owned()),
            },
            (None, Some(share)) => CoverColumn::Share(share.clone()),
            (None, None) => CoverColumn::Percent(self.cover.clone().unwrap_or_else(|| "cover".to_owned())),
        };
        Columns {
            zone: self.zone.clone(),
            site: self.site.clone(),
            line: self.line.clone().unwrap_or_else(|| "line".to_owned()),
            visit: self.visit_column(names),
            cover,
            same_marks: self.same_marks,
        }
    }

    pub(super) fn fits_site(&self) -> Result<(), Failure> {
        if self.length_m() <= self.site_length && self.width.is_none_or(|width| width <= self.site_width) {
            return Ok(());
        }
        Err(Failure::bad_input(format!(
            "a line of {} m does not fit a site of {} x {} m; correct --length, or tell the size of the sites with \
             --site-length and --site-width",
            self.length_m(),
            self.site_length,
            self.site_width
        )))
    }

    /// How the lines were read, checked against the site.
    fn taken(&self, fits: &PilotFits) -> Result<Taken, Failure> {
        let counted = fits.zones.iter().find_map(|fit| fit.points_per_line).map(|points| points.round() as u32);
        let points = self.points_per_line.or(counted);
        let length_m = self.length_m();
        let dimensions = match self.method {
            Method::PointIntercept => match (self.spacing, points) {
                (Some(spacing_m), _) => Dimensions::PointIntercept { length_m, spacing_m },
                (None, Some(points)) => {
                    Dimensions::PointIntercept { length_m, spacing_m: length_m / f64::from(points) }
                }
                (None, None) => return Err(missing("--spacing 0.1 (metres between points) or --points-per-line 100")),
            },
            Method::LineIntercept => Dimensions::LineIntercept { length_m },
            Method::PhotoBelt => {
                let width_m = self.width.ok_or_else(|| missing("--width 0.5 (metres), the width of a belt"))?;
                let points = points.ok_or_else(|| missing("--points-per-line 100, the points on a belt"))?;
                Dimensions::PhotoBelt { length_m, width_m, points: points as usize }
            }
        };
        if let Dimensions::PointIntercept { length_m, spacing_m } = dimensions
            && spacing_m > length_m
        {
            return Err(Failure::bad_input(format!(
                "points every {spacing_m} m on a line of {length_m} m: there is none; correct --spacing or --length"
            )));
        }
        self.fits_site()?;
        Ok(Taken { dimensions, site_length_m: self.site_length, site_width_m: self.site_width })
    }
}

pub(super) fn missing(option: &str) -> Failure {
    Failure::bad_input(format!("how the lines were read is not known; add {option}"))
}

/// What is wrong with the table, with the options that help.
pub(super) fn refused(error: &PilotError) -> Failure {
    let hint = match error {
        PilotError::NoColumn { .. } => {
            ". Name your columns with --site, --line, --visit, --zone and --cover (or --cover-share, or --hits and --points); \
             for belts with counts with --count or --density, of colonies with --diameter, --across and --dead"
        }
        PilotError::Twice { .. } => " (--visit, --line, or more columns after --site)",
        _ => "",
    };
    Failure::bad_input(wrapped(&format!("{error}{hint}"), 100))
}

/// The scenario of the reefs, or by components where the only zone has no reef.
fn scenario_text(reefs: &PilotReefs, plan: &PilotPlan) -> Result<String, Failure> {
    if let Some((study, beside)) = study_of_reefs(reefs, plan) {
        return Ok(write(&study, &beside));
    }
    match &reefs.without[..] {
        [one] if one.reason.leaves_components() => {
            let (study, beside) = study_of_components(one, plan);
            Ok(write(&study, &beside))
        }
        all => {
            let reasons = all.iter().map(|zone| {
                let name = zone.zone.as_ref().map_or(String::new(), |name| format!(", zone `{name}`"));
                format!("{}{name}: {}", plan.file, zone.reason)
            });
            let reasons: Vec<String> = reasons.collect();
            let remedy = "no scenario can be made of it; check that the values are single lines, and put each zone into a \
                          file of its own";
            Err(Failure::bad_input(format!("{}\n{remedy}", reasons.join("\n"))))
        }
    }
}

/// Zones that are not in the scenario, though others are.
fn zones_left_out(reefs: &PilotReefs) -> String {
    if reefs.zones.is_empty() {
        return String::new();
    }
    let told = reefs.without.iter().map(|zone| {
        let name = zone.zone.as_deref().unwrap_or("this zone");
        let text = format!(
            "Zone {name} is not in the scenario. Put its rows into a file of its own: it is then written by its components."
        );
        wrapped(&text, 80) + "\n"
    });
    told.collect()
}

fn as_json(data: &PilotData, fits: &PilotFits, reefs: &PilotReefs, scenario: &str) -> serde_json::Value {
    serde_json::json!({
        "file": data.file,
        "rows": data.rows,
        "missing": data.missing,
        "doubts": data.doubts,
        "same_marks": data.same_marks,
        "zones": fits.zones,
        "left_out": fits.left_out,
        "reefs": reefs.zones,
        "visits": reefs.visits.as_ref().map(|found| &found.visits),
        "without_reef": reefs.without,
        "scenario": scenario,
    })
}

fn metres(text: &str) -> Result<f64, String> {
    in_range(text, 0.01, 2000.0, "metres")
}

fn percent(value: f64) -> Result<f64, String> {
    in_range(&value.to_string(), 0.01, 97.0, "percent of cover")
}

fn centimetres(text: &str) -> Result<f64, String> {
    in_range(text, 0.1, 100.0, "centimetres")
}

fn years(text: &str) -> Result<f64, String> {
    in_range(text, 0.01, 100.0, "years")
}

fn in_range(text: &str, low: f64, high: f64, unit: &str) -> Result<f64, String> {
    let allowed = format!("write {unit} as a number from {low} to {high}");
    text.parse().ok().filter(|value| (low..=high).contains(value)).ok_or(allowed)
}
