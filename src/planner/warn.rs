//! What the reader must know about the rows, each with its remedy.

use super::answer::Warning;
use super::even_colonies::{colonies_that_do_not_vary, conditions_that_do_not_vary};
use super::overlap::overlap;
use super::rows::{MARKED_ABOVE, MARKED_BY_ERRORS};
use super::words::{exactly, plain};
use crate::analysis::transforms::Scale;
use crate::design::{FishGroup, Question, Scope, Unit};
use crate::engine::{DesignIndex, Outcome, Plan, Row};
use crate::measures::{counted, in_100};
use crate::reef::BetweenSites;
use crate::survey::Dimensions;

/// Fewer sites than this and normal theory of the test is loose.
const FEW_SITES: usize = 6;

pub fn warnings(plan: &Plan, outcome: &Outcome, rows: &[Row]) -> Vec<Warning> {
    let mut all = Vec::new();
    let mut warn = |what: String, remedy: &str| all.push(Warning { what, remedy: remedy.into() });
    if outcome.interrupted {
        warn(
            format!("The run was interrupted after {} trials: errors are larger than asked for.", outcome.trials),
            "Run it again to the end; the same seed gives the same trials.",
        );
    }
    let wanted = trials_to_judge(plan.study.test.alpha);
    if plan.study.question != Question::Status && outcome.trials < wanted {
        warn(
            format!(
                "With {} false alarms cannot be judged: a test that rings twice as often as promised ({:.0} times in 100) \
                 could pass unmarked.",
                counted(outcome.trials as usize, "trial"),
                200.0 * plan.study.test.alpha
            ),
            &format!("Before you rely on it, run at least {wanted} trials (--trials {wanted}, or a smaller --error)."),
        );
    }
    let marked = rows.iter().filter(|row| row.false_alarm_marked).count();
    if marked > 0 {
        let worst = rows.iter().filter_map(|row| row.false_alarm).fold(0.0, f64::max);
        warn(
            format!(
                "{marked} of {} {} falsely more often than the test promises (up to {} times in 100 where {} are promised), and what they see is part of that; they are marked and never ranked.{}",
                rows.len(),
                if marked == 1 { "designs rings" } else { "designs ring" },
                in_100(worst),
                in_100(plan.study.test.alpha),
                loss_where_held(rows)
            ),
            false_alarm_remedy(plan),
        );
    }
    if let Some(what) = fish_that_behave_otherwise(plan) {
        warn(
            what,
            "Tell the change only beyond this; where it is not known how fish react, compare with places whose fish are treated \
             alike, or count them without divers.",
        );
    }
    let promised = 1.0 - plan.study.test.alpha;
    if let Some((what, remedy)) = intervals_about_what_is_written(rows, promised) {
        warn(what, &remedy);
    }
    if let Some(what) = changes_written_otherwise(rows) {
        warn(
            what,
            "Take an edge rule, a smallest size or a method that tells the change; a test of it is one of what is written.",
        );
    }
    if let Some((what, remedy)) = fish_that_do_not_vary(plan) {
        warn(what, remedy);
    }
    for of in [colonies_that_do_not_vary, conditions_that_do_not_vary] {
        if let Some((what, remedy)) = of(plan) {
            warn(what, remedy);
        }
    }
    let missed = rows.iter().filter(|row| holds_too_rarely(row, promised) && !is_off_by_bias(row, promised));
    let (biased, short): (Vec<&Row>, Vec<&Row>) = missed.partition(|row| is_biased(row));
    if !biased.is_empty() {
        warn(
            format!(
                "In {} of {} the interval is about another number than the truth, where {} in 100 that hold it are promised: what the method \
                 reads is off in the mean by more than its error tells. {}.",
                biased.len(),
                counted(rows.len(), "design"),
                in_100(promised),
                most_of_each(
                    &biased,
                    |row| -holds(row),
                    |row| {
                        let off = in_its_unit(row, row.bias.unwrap_or(f64::NAN));
                        format!("{}: off by {off}, holds it {} times in 100", told_by(row), hundred(holds(row)))
                    }
                )
            ),
            "More units or sites make that worse, not better: read so that it is smaller (what is not seen, edges), or tell the bias beside the \
             estimate.",
        );
    }
    // Where a change is tested, an interval that is too short is a false alarm, told as such.
    let too_short: Vec<&Row> = short.into_iter().filter(|row| row.test.is_none()).collect();
    if !too_short.is_empty() {
        let least = too_short.iter().filter_map(|row| row.interval_truth).fold(1.0, f64::min);
        warn(
            format!(
                "In {} of {} the interval is too short: it holds the truth as rarely as {} times in 100 where {} are promised{}.",
                too_short.len(),
                counted(rows.len(), "design"),
                in_100(least),
                in_100(promised),
                without_interval(&too_short)
            ),
            if plan.study.scope == Scope::AllSuchReefs {
                "Use more sites; with few, and with skewed readings, the interval promises too much."
            } else if is_mapped(plan) {
                "Few units of skewed readings promise too much, and the edges of the map move their mean: use more units."
            } else {
                "Lines of one small patchy reef share its patches and tell too little of the error; use a larger site, or let the statement be about many reefs."
            },
        );
    }
    let apart: Vec<&Row> = rows.iter().filter(|row| row.theory_parts).collect();
    if !apart.is_empty() {
        let distance =
            |row: &Row| row.power.zip(row.theory_power).map_or(0.0, |(power, theory)| (power - theory).abs());
        warn(
            format!(
                "Formula and simulation part in {} of {}: {}.",
                apart.len(),
                counted(rows.len(), "design"),
                most_of_each(&apart, distance, |row| {
                    let told = |share: Option<f64>| hundred(share.unwrap_or(f64::NAN));
                    format!(
                        "{} seen {} times in 100 by formula, {} simulated",
                        told_by(row),
                        told(row.theory_power),
                        told(row.power)
                    )
                })
            ),
            "Believe the simulation: differences are skewed there (few sites, or changes of one sign at the same marks).",
        );
    }
    if plan.permutes() {
        warn(
            "The formulas are those of a t test on the same site means; a permutation may see a little less, and with few sites much less often.".into(),
            "Believe the simulated numbers; those by formula are only a guide.",
        );
    }
    let (poor, all_designs) = poor_on_scale(plan);
    if poor > 0 {
        warn(
            format!(
                "In {poor} of {} site means vary so much against their mean that the formula for this scale is poor: formula and simulation may part there.",
                counted(all_designs, "design")
            ),
            "Believe the simulated numbers, or lay more units a site.",
        );
    }
    let is_told_wrongly = |row: &&Row| match (row.bias, row.bias_error, row.se) {
        (Some(bias), Some(error), Some(se)) => row.change_to.is_some() && bias.abs() > (4.0 * error).max(0.5 * se),
        _ => false,
    };
    let told_wrongly = rows.iter().filter(|row| row.scale.is_some()).filter(is_told_wrongly).count();
    if told_wrongly > 0 {
        warn(
            format!(
                "In {told_wrongly} of {} the change of site means on this scale is not that of the true densities, by more than half of its error: where few animals are met, what is added and chance itself move the means.",
                counted(rows.len(), "design")
            ),
            "Search more area a site, or read the test as a test only and tell the change from site means as they are.",
        );
    }
    let lines = rows.iter().filter_map(|row| row.lines_as_replicates_false_alarm).fold(0.0, f64::max);
    if lines > 1.5 * plan.study.test.alpha {
        warn(
            format!(
                "Taking the {} for replicates, as if they were not grouped in sites, would ring falsely up to {} times in 100.",
                units_called(plan),
                in_100(lines)
            ),
            "Test site means, as done here.",
        );
    }
    if let Some((least, most)) = told_by_dependent_lines(plan) {
        warn(
            format!(
                "Lines laid {} are not independent of each other, so that their spread tells the error of their mean with a bias: by theory it is taken for {least:.2} to {most:.2} times what it is.",
                plan.study.placement.layout_label()
            ),
            "Judge designs by their simulated false alarms and intervals, lay lines at random starts, or let the statement be about many reefs.",
        );
    }
    let crowded = most_in_rows(plan);
    if crowded > 0.0 {
        warn(
            format!(
                "The gap leaves so little room that in up to {:.0} of 100 layouts lines find no place by chance: there they lie in rows, at random distances of at least the gap.",
                (100.0 * crowded).max(1.0)
            ),
            "Nothing is wrong with the numbers; lower gap_m, or the largest number of units, for lines that lie freely.",
        );
    }
    let without: Vec<&Row> = rows.iter().filter(|row| row.degenerate > 0).collect();
    if !without.is_empty() {
        warn(
            format!(
                "Trials that gave no answer, of {}: up to {} ({}); {}.",
                outcome.trials,
                most_of_each(
                    &without,
                    |row| row.degenerate as f64,
                    |row| { format!("{} of {}", row.degenerate, told_by(row)) }
                ),
                match (plan.study.test.kind.law_of_counts(), without.iter().any(|row| is_of_what_is_met(plan, row))) {
                    (Some(_), _) => "nothing varied, or nothing was counted on one side",
                    (None, true) => "nothing varied, or a site had nothing to tell a share or a mean of",
                    (None, false) => "nothing varied",
                },
                if plan.study.question == Question::Status {
                    "they made no interval, and count as one that misses the truth"
                } else {
                    "they count as not seen"
                }
            ),
            &degenerate_remedy(rows),
        );
    }
    let few = rows.iter().filter(|row| row.sites.fewest() < FEW_SITES).count();
    if few > 0 && plan.study.scope != Scope::EachReef && plan.study.question != Question::Status {
        warn(
            format!(
                "{} fewer than {FEW_SITES} sites in a zone: a single odd site decides, and the formula is loose.",
                if few == 1 { "1 design has".to_owned() } else { format!("{few} designs have") }
            ),
            &format!("Prefer more sites to more {} on each.", units_called(plan)),
        );
    }
    if let Some(Warning { what, remedy }) = overlap(plan) {
        warn(what, &remedy);
    }
    for (zone, theory) in plan.study.zones.iter().zip(&plan.theories) {
        let reef_is_read = !rows.iter().all(|row| row.dimensions == Dimensions::Components);
        if plan.study.question.visits() == 2
            && reef_is_read
            && theory.law().is_some_and(|theory| theory.law.site_year_sd == 0.0)
        {
            warn(
                format!(
                    "{}: a site's own years (SD {} points) move sites no further than the drift of the reef's patches does \
                     by itself, so nothing is added for them.",
                    zone.name,
                    plain(100.0 * zone.site_year_sd)
                ),
                "Two or three visits hardly tell it: to be careful, write a larger site_year_points (from a pilot: the \
                 upper end of its interval, which stands beside the zone in its scenario), and between_sites_points no \
                 smaller than it needs, and run it again.",
            );
        }
    }
    let implied: Vec<String> = implied_spreads(plan);
    for text in implied {
        warn(text, "Nothing to do: corals that die in proportion leave larger changes where there was more.");
    }
    all
}

/// What the same fish look like at the second visit, where they are seen otherwise: the reading on which it tells most.
pub fn fish_that_behave_otherwise(plan: &Plan) -> Option<String> {
    let readings = plan.layout.readings.iter().enumerate().filter(|(_, reading)| reading.indicator.is_of_fish());
    let all = readings.flat_map(|(r, reading)| {
        plan.study.zones.iter().enumerate().filter_map(move |(z, zone)| {
            let is_otherwise = |group: &FishGroup| group.later_sighting.is_some();
            let moments = (plan.states > 1 && zone.fish.iter().any(is_otherwise)).then(|| plan.moments(z, r))?;
            let of = |state: usize| moments.mean[state] / moments.truth[state];
            let ratio = of(1) / of(0);
            (ratio.is_finite() && ratio > 0.0).then_some((reading, zone, ratio))
        })
    });
    let off = |ratio: f64| libm::fabs(libm::log(ratio));
    let (reading, zone, ratio) = all.max_by(|one, other| off(one.2).total_cmp(&off(other.2)))?;
    (off(ratio) > 0.005).then(|| {
        format!(
            "Fish are seen otherwise at the second visit, as the scenario has it: where nothing changed, {} in {} ({}) is told {} % \
             {}. That is in every change that is told, no test knows it from a change of fish, and false alarms are of that.",
            reading.indicator.name().replace('_', " "),
            zone.name,
            reading.dimensions.label(),
            in_100((ratio - 1.0).abs()),
            if ratio > 1.0 { "higher" } else { "lower" }
        )
    })
}

/// Whether an interval holds the truth plainly less often than is promised.
fn holds_too_rarely(row: &Row, promised: f64) -> bool {
    let held = row.interval_truth.zip(row.interval_truth_error);
    held.is_some_and(|(held, error)| held < promised - 0.02 - 4.0 * error)
}

/// Whether it does so because it is an interval about another number: it holds what is written more often.
fn is_off_by_bias(row: &Row, promised: f64) -> bool {
    let is_better = |written: f64| row.interval_truth.is_some_and(|held| held < written - 0.02);
    holds_too_rarely(row, promised) && row.interval_written.is_some_and(is_better)
}

/// How often the interval holds the truth.
fn holds(row: &Row) -> f64 {
    row.interval_truth.unwrap_or(1.0)
}

/// A number of a row with its unit, shares in points.
fn in_its_unit(row: &Row, value: f64) -> String {
    let (value, unit) = if row.unit == Unit::Share.name() { (100.0 * value, "points") } else { (value, &*row.unit) };
    format!("{} {unit}", plain(value)).trim_end().to_owned()
}

/// Where more surveys of 100 than this give no answer, that is why intervals hold the truth too rarely.
const WITHOUT_ANSWER: f64 = 0.1;

/// Whether the mean is off by so much of its error that the interval misses the truth for that reason.
fn is_biased(row: &Row) -> bool {
    if row.degenerate as f64 > WITHOUT_ANSWER * row.trials as f64 {
        return false;
    }
    let told = row.bias.zip(row.bias_error).zip(row.se);
    told.is_some_and(|((bias, error), se)| bias.abs() > 4.0 * error && bias.abs() > 0.5 * se)
}

/// So many indicators of a warning are told, each where it is worst.
const MOST_NAMED: usize = 4;

/// "urchin (invertebrate belts, 10 x 1 m)".
fn told_by(row: &Row) -> String {
    let (what, method) = (row.indicator.replace('_', " "), row.method.replace('_', " "));
    match row.dimensions.label() {
        size if size.is_empty() => format!("{what} ({method})"),
        size => format!("{what} ({method}, {size})"),
    }
}

/// Each indicator of some rows in its own words, by the row that has most of something; the most first.
fn most_of_each(rows: &[&Row], of: impl Fn(&Row) -> f64, words: impl Fn(&Row) -> String) -> String {
    let mut most: Vec<&Row> = Vec::new();
    for &row in rows {
        match most.iter_mut().find(|known| known.indicator == row.indicator) {
            Some(known) if of(row) > of(known) => *known = row,
            Some(_) => {}
            None => most.push(row),
        }
    }
    most.sort_by(|one, other| of(other).total_cmp(&of(one)));
    let mut told: Vec<String> = most.iter().take(MOST_NAMED).map(|row| words(row)).collect();
    if most.len() > MOST_NAMED {
        told.push(format!("{} more", most.len() - MOST_NAMED));
    }
    told.join("; ")
}

/// Whether a row is about a share or a mean of what is met.
fn is_of_what_is_met(plan: &Plan, row: &Row) -> bool {
    let mut readings = plan.layout.readings.iter();
    readings.any(|reading| reading.indicator.name() == row.indicator && reading.indicator.is_of_what_is_met())
}

/// A share in hundredths, with a decimal where it is small.
fn hundred(share: f64) -> String {
    if share < 0.1 { plain(100.0 * share) } else { in_100(share) }
}

/// Where surveys made no interval at all, which holds nothing.
fn without_interval(rows: &[&Row]) -> String {
    let most = rows.iter().map(|row| row.degenerate as f64 / row.trials as f64).fold(0.0, f64::max);
    if most < 0.005 { String::new() } else { format!(" (up to {} surveys in 100 make none)", hundred(most)) }
}

/// Indicators whose interval is about what is written, which is not what is there.
fn intervals_about_what_is_written(rows: &[Row], promised: f64) -> Option<(String, String)> {
    // What is written otherwise than it changes has its own warning.
    let has_factor = |row: &&Row| row.change_to.is_none() || row.written_over_there.is_some();
    let off: Vec<&Row> = rows.iter().filter(|row| is_off_by_bias(row, promised)).filter(has_factor).collect();
    let all = rows.iter().filter(|row| row.interval_written.is_some()).count();
    let is_tested = off.first()?.test.is_some();
    let words = |row: &Row| {
        let over_there = row.written_over_there.unwrap_or(1.0);
        let what = if row.change_from.is_some() { "the change is written" } else { "what is written is" };
        let off = match told_factor(over_there) {
            None => format!("written {} from what is there", in_its_unit(row, row.bias.unwrap_or(f64::NAN))),
            Some(factor) => format!("{what} {factor} times what is there"),
        };
        format!(
            "{}: {off}, so that the interval holds the truth {} times in 100, and what is written {}",
            told_by(row),
            hundred(holds(row)),
            hundred(row.interval_written.unwrap_or(f64::NAN))
        )
    };
    let what = format!(
        "In {} of {} the interval, as it is written, is about what the method writes in the long run, not about what is there, and \
         misses the truth more often than promised ({} times in 100 it should hold it): {}.",
        off.len(),
        counted(all, "biased design"),
        in_100(promised),
        most_of_each(&off, |row| -holds(row), words),
    );
    let divide = "divide estimate and interval by what is written over what is there (written_over_there in \
                  designs.csv), where the reef is like the one of this study, and say so; or count so that it \
                  is smaller. More units do not help.";
    // Of the change as of the mean: then it is the same in both visits.
    let stays = |row: &&Row| {
        let of_mean = row.written.zip(row.mean).map(|(written, there)| written / there);
        of_mean.zip(row.written_over_there).is_some_and(|(mean, change)| (mean / change - 1.0).abs() < 0.05)
    };
    let remedy = match (is_tested, off.iter().all(stays)) {
        (true, true) => {
            format!("Tell a change as a ratio of the two visits, in which a bias that stays cancels; or {divide}")
        }
        (true, false) => {
            format!("Where a change is written otherwise than the mean no ratio of the two visits cancels it: {divide}")
        }
        (false, _) => super::words::capital(divide),
    };
    Some((what, remedy))
}

/// Changes that are written so otherwise than they are that what is seen tells nothing of them.
fn changes_written_otherwise(rows: &[Row]) -> Option<String> {
    let is_so = |row: &&Row| row.change_to.is_some() && row.written.is_some() && row.written_over_there.is_none();
    let all: Vec<&Row> = rows.iter().filter(is_so).collect();
    if all.is_empty() {
        return None;
    }
    let change = |row: &Row| row.change_to.unwrap_or(f64::NAN) - row.change_from.unwrap_or(f64::NAN);
    let words = |row: &Row| {
        let written = change(row) + row.bias.unwrap_or(f64::NAN);
        format!(
            "{}: {} are there, {} are written",
            told_by(row),
            in_its_unit(row, change(row)),
            in_its_unit(row, written)
        )
    };
    Some(format!(
        "In {} of {} what is written changes the other way than what is there, or hardly, so that what is seen is not the change: \
         {}.",
        all.len(),
        counted(rows.len(), "design"),
        most_of_each(&all, |row| row.bias.unwrap_or(0.0).abs(), words)
    ))
}

/// A factor nearer to 1 than this tells nothing.
const LEAST_FACTOR: f64 = 0.05;

/// What is written over what is there, where that tells more than how far it is off.
fn told_factor(over_there: f64) -> Option<String> {
    let is_told = (over_there - 1.0).abs() >= LEAST_FACTOR;
    is_told.then(|| if (0.1..10.0).contains(&over_there) { exactly(over_there) } else { plain(over_there) })
}

/// Designs for whose site means the formula of the scale is poor, and all of them.
fn poor_on_scale(plan: &Plan) -> (usize, usize) {
    let is_poor = |design: &DesignIndex| {
        let is_plain = plan.scale(design.reading, design.units) == Scale::Plain;
        !is_plain && (0..plan.states).any(|state| plan.theory(design, state).poor)
    };
    (plan.all_designs().filter(is_poor).count(), plan.designs)
}

/// Trials with which a test that rings twice as often as promised is marked though the simulation errs by two errors: 39 times
/// in 40; to the next hundred.
fn trials_to_judge(alpha: f64) -> u64 {
    let rate = 2.0 * alpha;
    let room = (rate - MARKED_ABOVE * alpha) / (MARKED_BY_ERRORS + 2.0);
    (rate * (1.0 - rate) / (room * room) / 100.0).ceil() as u64 * 100
}

/// What is left of the power of a test that rings too often once it is held to its level: where most is lost.
fn loss_where_held(rows: &[Row]) -> String {
    let loss = |row: &&Row| row.power.zip(row.power_held).map_or(0.0, |(power, held)| power - held);
    let lost =
        rows.iter().filter(|row| row.power_held.is_some()).max_by(|one, other| loss(one).total_cmp(&loss(other)));
    let Some(row) = lost.filter(|row| loss(row) > 0.01) else { return String::new() };
    let hundred = |share: Option<f64>| in_100(share.unwrap_or(f64::NAN));
    format!(
        " Held to its level such a test sees less, at the worst {} in place of {} times in 100 ({}, {}, {} a site).",
        hundred(row.power_held),
        hundred(row.power),
        row.zone,
        row.dimensions.label(),
        counted(row.units, "unit"),
    )
}

/// Where lines that are not laid independently are replicates: what the test takes for the standard error over what it is,
/// least and most.
fn told_by_dependent_lines(plan: &Plan) -> Option<(f64, f64)> {
    if plan.study.placement.is_independent() {
        return None;
    }
    let ratios = plan.all_designs().filter(|design| plan.lines_are_replicates(design)).map(|design| {
        let theory = plan.theory(&design, plan.states - 1);
        theory.test_se / theory.se
    });
    let ratios = ratios.filter(|ratio| ratio.is_finite() && *ratio > 0.0);
    ratios.fold(None, |range, ratio| {
        let (least, most) = range.unwrap_or((ratio, ratio));
        Some((ratio.min(least), ratio.max(most)))
    })
}

/// The largest share of layouts, of any reading in any zone, whose units lie in rows.
fn most_in_rows(plan: &Plan) -> f64 {
    let zones = 0..plan.study.zones.len();
    let readings = 0..plan.layout.readings.len();
    zones
        .flat_map(|zone| readings.clone().map(move |reading| plan.moments(zone, reading).layout.in_rows))
        .fold(0.0, f64::max)
}

/// Groups of fish whose density is the same on every site, or in every year: every power is then an upper bound.
fn fish_that_do_not_vary(plan: &Plan) -> Option<(String, &'static str)> {
    let none = |spread: BetweenSites| match spread {
        BetweenSites::LnSd(spread) | BetweenSites::Share(spread) => spread == 0.0,
    };
    let two_visits = plan.study.question.visits() == 2;
    let is_even = |group: &&FishGroup| {
        let places = &group.spec.places;
        // What goes with the coral of its site varies with it.
        group.with_coral == 0.0 && (none(places.between_sites) || (two_visits && none(places.site_year)))
    };
    let fish = plan.study.zones.iter().flat_map(|zone| &zone.fish);
    let mut names: Vec<&str> = fish.filter(is_even).map(|group| group.name.as_str()).collect();
    names.dedup();
    (!names.is_empty()).then(|| {
        let what = format!(
            "{}: no spread between sites or between the years of a site. Real fish have both; without them power and precision \
             are upper bounds, and more belts on few sites seem to help without end.",
            names.join(", ")
        );
        (what, "Write between_sites_percent and site_year_percent, from a pilot or from published surveys.")
    })
}

/// "lines" where all methods call their units so, else "units".
fn units_called(plan: &Plan) -> String {
    let mut all = plan.study.methods.iter().map(|method| method.kind.units());
    let first = all.next().unwrap_or_else(|| "units".into());
    if all.all(|other| other == first) { first } else { "units".into() }
}

/// More to read on a unit, for each method that gave no answers.
fn degenerate_remedy(rows: &[Row]) -> String {
    let mut remedies: Vec<&str> = Vec::new();
    for row in rows.iter().filter(|row| row.degenerate > 0) {
        let remedy = match row.dimensions {
            Dimensions::PointIntercept { .. } => "longer lines, more of them, or closer points",
            Dimensions::LineIntercept { .. } => "longer lines, or more of them",
            Dimensions::PhotoBelt { .. } => "longer or wider photo belts, more of them, or more points",
            Dimensions::PhotoQuadrats { .. } => "more photographs, more points on each, or more tapes",
            Dimensions::InvertebrateBelt { .. } | Dimensions::CoralBelt { .. } => {
                "longer or wider belts, or more of them"
            }
            Dimensions::RecruitQuadrats { .. } => "longer lines, larger or closer quadrats, or more lines",
            Dimensions::FishBelt { .. } => "longer or wider fish belts, or more of them",
            Dimensions::FishPointCount { .. } => "point counts of a larger radius, or more of them",
            Dimensions::Components => "more units",
        };
        if !remedies.contains(&remedy) {
            remedies.push(remedy);
        }
    }
    format!("Use {}.", remedies.join("; "))
}

/// Whether every zone is a mapped reef: its units are independent of each other.
fn is_mapped(plan: &Plan) -> bool {
    plan.study.zones.iter().all(|zone| zone.map.is_some())
}

/// What to do about false alarms depends on what rings.
fn false_alarm_remedy(plan: &Plan) -> &'static str {
    let people = &plan.study.observers;
    if plan.study.zones.iter().flat_map(|zone| &zone.fish).any(|group| group.later_sighting.is_some()) {
        "Fish that are seen otherwise at the second visit ring as a change does; take second_visit_ keys out to see the test alone."
    } else if people.spread > 0.0 || people.second_visit_bias != 0.0 {
        "Calibrate the people against each other, keep the same people at both visits, or let more people share the lines."
    } else if plan.study.test.kind.law_of_counts().is_some() {
        "Write kind = \"permutation\", or scale = \"ln\" with a t test: this test takes rich sites to vary less than they do, or has too few of them."
    } else if plan.study.scope == Scope::AllSuchReefs {
        "Use more sites: with few the test's promise is loose."
    } else if is_mapped(plan) {
        "Use more units: with few of skewed readings the test's promise is loose."
    } else {
        "Lines of one small patchy reef share its patches, which change between visits, and tell too little of the error; use larger sites, the same marks, or let the statement be about many reefs."
    }
}

/// Changes that were asked to differ less between sites than a proportional change does by itself.
fn implied_spreads(plan: &Plan) -> Vec<String> {
    let mut all = Vec::new();
    for (zone, theory) in plan.study.zones.iter().zip(&plan.theories) {
        for (change, &implied) in
            plan.study.changes.iter().zip(theory.law().map_or(&[][..], |theory| &theory.implied_change_sd))
        {
            if let Some(asked) = change.differs_between_sites_sd
                && change.indicator == crate::design::HARD_CORAL
                && asked < implied
            {
                all.push(format!(
                    "{}: the change was to differ by {:.1} points between sites, but {} already differs by {:.1}; that is used.",
                    zone.name,
                    100.0 * asked,
                    if change.deaths.is_some() { "one that strikes so" } else { "a change in proportion" },
                    100.0 * implied
                ));
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_near_one_is_no_reason_and_no_factor_is_told_as_one() {
        let told = |factor: f64| told_factor(factor).unwrap_or_default();
        assert_eq!([1.0, 1.04, 0.96].map(told), ["", "", ""]);
        assert_eq!([1.06, 0.94, 1.34, 0.25, 0.003, 12.3].map(told), ["1.06", "0.94", "1.34", "0.25", "0.003", "12"]);
    }

    #[test]
    fn enough_trials_mark_a_test_that_rings_twice_as_often_as_promised() {
        assert_eq!(trials_to_judge(0.05), 900);
        for alpha in [0.01, 0.05, 0.1] {
            let trials = trials_to_judge(alpha);
            let marked = |trials: u64| {
                let (rate, trials_) = (2.0 * alpha, trials as f64);
                let unlucky = rate * trials_ - 2.0 * (rate * (1.0 - rate) * trials_).sqrt();
                let hits = unlucky.ceil() as u64 + 1;
                super::super::rows::is_marked(crate::measures::Rate::new(hits, trials), alpha)
            };
            assert!(marked(trials) && !marked(trials * 7 / 10), "{alpha}: {trials}");
        }
    }
}
