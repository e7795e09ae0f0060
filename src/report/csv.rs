use super::report::Report;
use super::visit::visit_rows;
use crate::design::ColonyDeaths;
use crate::engine::{Row, SiteCount};
use crate::planner::{AnimalSearch, Needed, SearchChance};
use crate::survey::Dimensions;
use crate::theory::fish::BiasPart;

const DESIGN_COLUMNS: [&str; 44] = [
    "indicator",
    "unit",
    "zone",
    "method",
    "length_m",
    "spacing_m",
    "width_m",
    "points",
    "sites",
    "sites_in_zones",
    "units",
    "same_sites",
    "same_places",
    "change_from",
    "change_to",
    "deaths",
    "mean",
    "test",
    "trials",
    "power",
    "power_error",
    "false_alarm",
    "false_alarm_error",
    "false_alarm_marked",
    "lines_as_replicates_false_alarm",
    "theory_power",
    "theory_parts",
    "detectable",
    "se",
    "se_error",
    "theory_se",
    "cv",
    "half_width",
    "interval_truth",
    "interval_truth_error",
    "bias",
    "bias_error",
    "degenerate",
    "minutes",
    "ashore_minutes",
    "seed",
    "version",
    "alpha",
    "seen",
];

/// Columns that only some studies have stand last.
const OWN_COLUMNS: [(&str, OwnCell); 13] = [
    ("radius_m", |row| of_fish(row.dimensions).map(|[_, _, radius, _]| radius)),
    ("written", |row| row.written.map(number)),
    ("written_over_there", |row| row.written_over_there.map(number)),
    ("interval_written", |row| row.interval_written.map(number)),
    ("interval_written_error", |row| row.interval_written_error.map(number)),
    ("power_held", |row| row.power_held.map(number)),
    ("power_held_error", |row| row.power_held_error.map(number)),
    ("held_level", |row| row.held_level.map(number)),
    ("minutes_of_count", |row| of_fish(row.dimensions).map(|[.., minutes]| minutes)),
    ("scale", |row| row.scale.clone()),
    ("error_factor", |row| row.error_factor.map(number)),
    ("ratio_factor", |row| row.ratio_factor.map(number)),
    ("change_of", |row| row.change_of.clone()),
];

type OwnCell = fn(&Row) -> Option<String>;

const NEEDED_COLUMNS: [&str; 19] = [
    "indicator",
    "zone",
    "method",
    "length_m",
    "spacing_m",
    "width_m",
    "points",
    "sites",
    "sites_in_zones",
    "change_from",
    "change_to",
    "deaths",
    "units",
    "units_low",
    "units_high",
    "theory_units",
    "ceiling",
    "seen",
    "radius_m",
];

const ANIMAL_COLUMNS: [&str; 22] = [
    "indicator",
    "zone",
    "method",
    "length_m",
    "spacing_m",
    "width_m",
    "points",
    "unit_area_m2",
    "occupied",
    "occupied_simulated",
    "occupied_simulated_error",
    "most_sites",
    "units_to_meet",
    "sites",
    "units",
    "area_m2",
    "met",
    "met_simulated",
    "met_simulated_error",
    "met_on_one_site",
    "upper_limit_per_ha",
    "radius_m",
];

/// One line a zone, kind of animal and unit, number of sites and of units; by formula unless the column says simulated;
/// `units_to_meet` on each of the `sites` of its line.
pub fn animals(report: &Report) -> String {
    let searches = report.answer.animals.iter();
    let lines = searches.flat_map(|search| search.chances.iter().map(move |chance| animal(search, chance)));
    table(&ANIMAL_COLUMNS, lines)
}

fn animal(search: &AnimalSearch, chance: &SearchChance) -> Vec<String> {
    let mut record = vec![search.indicator.clone(), search.zone.clone(), search.method.clone()];
    record.extend(dimensions(search.dimensions));
    let occupied = [search.occupied, search.occupied_simulated, search.occupied_simulated_error];
    record.push(number(search.unit_area_m2));
    record.extend(occupied.map(number));
    record.extend([search.most_sites.to_string(), count(chance.units_to_meet)]);
    record.extend([chance.sites.to_string(), chance.units.to_string(), number(chance.area_m2)]);
    record.extend([chance.met, chance.met_simulated, chance.met_simulated_error, chance.met_on_one_site].map(number));
    record.extend([maybe(chance.upper_limit_per_ha), radius(search.dimensions)]);
    record
}

/// One line a zone, group of fish (or all that feed alike, or all fish), kind of unit and cause (and one for all causes
/// together): what is written over what is there.
pub fn fish_bias(report: &Report) -> String {
    let head = ["group", "zone", "method", "length_m", "width_m", "radius_m", "minutes"];
    let tail = ["cause", "density", "biomass"];
    let simulated = ["density_simulated", "density_simulated_error", "biomass_simulated", "biomass_simulated_error"];
    let columns: Vec<&str> = head.into_iter().chain(tail).chain(simulated).collect();
    let lines = report.answer.fish_bias.iter().flat_map(|bias| {
        let start = || {
            let names = [bias.group.clone(), bias.zone.clone(), bias.method.clone()];
            names.into_iter().chain(of_fish(bias.dimensions).unwrap_or_default()).collect::<Vec<String>>()
        };
        let part = move |part: &BiasPart| {
            let cause = serde_json::to_value(part.cause).ok().and_then(|cause| cause.as_str().map(str::to_owned));
            let mut record = start();
            record.extend([cause.unwrap_or_default(), number(part.density), number(part.biomass)]);
            record.extend(simulated.map(|_| String::new()));
            record
        };
        let mut whole = start();
        whole.extend(["all".to_owned(), number(bias.density), number(bias.biomass)]);
        let (density, biomass) = (bias.density_simulated, bias.biomass_simulated);
        let errors = (bias.density_simulated_error, bias.biomass_simulated_error);
        whole.extend([density, errors.0, biomass, errors.1].map(maybe));
        bias.parts.iter().map(part).chain([whole]).collect::<Vec<_>>()
    });
    table(&columns, lines)
}

/// One line a design, all of them; shares 0-1, one standard error in every `_error`, empty where nothing applies. `bias` is
/// that of what is estimated, as written: of the change where there is one. Of fish `detectable`, `se` and `half_width` are of
/// what is there (times `written_over_there` they are as written), `mean` is there and `written` is written.
pub fn designs(report: &Report) -> String {
    let run = [report.seed.to_string(), report.version.clone(), number(report.alpha), number(report.seen)];
    let rows: Vec<&Row> = report.answer.rows.iter().collect();
    let (names, cells) = own_columns(&rows);
    let columns: Vec<&str> = DESIGN_COLUMNS.into_iter().chain(names).collect();
    let record = |row: &Row| {
        let last = cells.iter().map(|of| of(row).unwrap_or_default());
        design(row).into_iter().chain(run.clone()).chain(last).collect()
    };
    table(&columns, rows.into_iter().map(record))
}

/// The columns that some of the rows have, with their cells.
fn own_columns(rows: &[&Row]) -> (Vec<&'static str>, Vec<OwnCell>) {
    OWN_COLUMNS.into_iter().filter(|(_, of)| rows.iter().any(|row| of(row).is_some())).unzip()
}

/// One line an answer: how many units are needed; empty `units` means not within reach (see `ceiling`).
pub fn needed(report: &Report) -> String {
    let seen = number(report.seen);
    table(&NEEDED_COLUMNS, report.answer.needed.iter().map(|needed| need(needed, &seen)))
}

const VISIT_COLUMNS: [&str; 20] = [
    "zone",
    "method",
    "length_m",
    "spacing_m",
    "width_m",
    "points",
    "indicator",
    "unit",
    "sites",
    "sites_in_zones",
    "units",
    "mean",
    "cv",
    "half_width",
    "detectable",
    "change_from",
    "change_to",
    "deaths",
    "minutes",
    "ashore_minutes",
];

/// What one site visit gives: all methods of each zone side by side.
pub fn site_visit(report: &Report) -> String {
    let rows: Vec<&Row> = visit_rows(report).into_iter().flat_map(|(_, rows)| rows).collect();
    let (names, cells) = own_columns(&rows);
    let columns: Vec<&str> = VISIT_COLUMNS.into_iter().chain(names).collect();
    let record = |row: &Row| visit(row).into_iter().chain(cells.iter().map(|of| of(row).unwrap_or_default())).collect();
    table(&columns, rows.iter().map(|row| record(row)))
}

fn visit(row: &Row) -> Vec<String> {
    let mut record = vec![row.zone.clone(), row.method.clone()];
    record.extend(dimensions(row.dimensions));
    record.extend([row.indicator.clone(), row.unit.clone()]);
    record.extend(sites(&row.sites));
    record.push(row.units.to_string());
    let numbers = [row.mean, row.cv, row.half_width, row.detectable, row.change_from, row.change_to];
    record.extend(numbers.map(maybe));
    record.push(deaths(row.deaths));
    record.extend([number(row.minutes), maybe(row.ashore_minutes)]);
    record
}

fn table(columns: &[&str], records: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing into memory fails only on records of unequal length, which the fixed columns exclude.
    let _ = writer.write_record(columns);
    for record in records {
        let _ = writer.write_record(record);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn design(row: &Row) -> Vec<String> {
    let mut record = vec![row.indicator.clone(), row.unit.clone(), row.zone.clone(), row.method.clone()];
    record.extend(dimensions(row.dimensions));
    record.extend(sites(&row.sites));
    record.extend([row.units.to_string(), flag(row.same_sites), flag(row.same_places)]);
    record.extend([
        maybe(row.change_from),
        maybe(row.change_to),
        deaths(row.deaths),
        maybe(row.mean),
        row.test.clone().unwrap_or_default(),
    ]);
    record.extend([row.trials.to_string(), maybe(row.power), maybe(row.power_error)]);
    record.extend([maybe(row.false_alarm), maybe(row.false_alarm_error), flag(Some(row.false_alarm_marked))]);
    record.extend([maybe(row.lines_as_replicates_false_alarm), maybe(row.theory_power), flag(Some(row.theory_parts))]);
    record.extend([maybe(row.detectable), maybe(row.se), maybe(row.se_error), maybe(row.theory_se), maybe(row.cv)]);
    record.extend([maybe(row.half_width), maybe(row.interval_truth), maybe(row.interval_truth_error)]);
    record.extend([
        maybe(row.bias),
        maybe(row.bias_error),
        row.degenerate.to_string(),
        number(row.minutes),
        maybe(row.ashore_minutes),
    ]);
    record
}

fn deaths(deaths: Option<ColonyDeaths>) -> String {
    deaths.map_or(String::new(), |deaths| deaths.short())
}

fn need(needed: &Needed, seen: &str) -> Vec<String> {
    let mut record = vec![needed.indicator.clone(), needed.zone.clone(), needed.method.clone()];
    record.extend(dimensions(needed.dimensions));
    record.extend(sites(&needed.sites));
    record.extend([number(needed.change_from), number(needed.change_to), deaths(needed.deaths)]);
    record.extend([needed.units, needed.units_low, needed.units_high, needed.theory_units].map(count));
    record.extend([number(needed.ceiling), seen.to_string(), radius(needed.dimensions)]);
    record
}

/// The number that all zones share (empty where they differ), and the number of each zone with blanks between them.
fn sites(sites: &SiteCount) -> [String; 2] {
    let in_zones: Vec<String> = sites.in_zones().iter().map(usize::to_string).collect();
    [count(sites.shared()), in_zones.join(" ")]
}

/// Length, spacing, width and points; a circle has neither length nor width (see `radius_m`).
fn dimensions(dimensions: Dimensions) -> [String; 4] {
    if matches!(dimensions, Dimensions::FishPointCount { .. }) {
        return std::array::from_fn(|_| String::new());
    }
    let (spacing_m, width_m) = match dimensions {
        Dimensions::PointIntercept { spacing_m, .. } => (Some(spacing_m), None),
        other => (None, Some(other.width_m()).filter(|width| *width > 0.0)),
    };
    [maybe(dimensions.length_m()), maybe(spacing_m), maybe(width_m), count(dimensions.points())]
}

/// Length, width, radius and minutes of a unit in which fish are counted.
fn of_fish(dimensions: Dimensions) -> Option<[String; 4]> {
    let none = String::new;
    Some(match dimensions {
        Dimensions::FishPointCount { radius_m, count_minutes } => {
            [none(), none(), number(radius_m), number(count_minutes)]
        }
        Dimensions::FishBelt { length_m, width_m, swim_minutes } => {
            [number(length_m), number(width_m), none(), number(swim_minutes)]
        }
        _ => return None,
    })
}

/// Of a count from one place; empty for all else.
fn radius(dimensions: Dimensions) -> String {
    of_fish(dimensions).map_or(String::new(), |[_, _, radius, _]| radius)
}

/// The shortest text that reads back as the same number; empty for what is not a number.
fn number(value: f64) -> String {
    match value.abs() {
        size if !size.is_finite() => String::new(),
        size if size == 0.0 || (1e-6..1e15).contains(&size) => value.to_string(),
        _ => format!("{value:e}"),
    }
}

fn maybe(value: Option<f64>) -> String {
    value.map_or(String::new(), number)
}

fn count(value: Option<usize>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

fn flag(value: Option<bool>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}
