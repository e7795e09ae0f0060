//! Of several methods and dimensions that answer the same question, the one that takes the least minutes: of which the headline
//! speaks, and that reports show first.

use super::answer::{HeadlineOf, Needed};
use super::needed::HowMany;
use super::rows::{back_to_there, how_far_off, is_much_farther, written_over_there};
use super::words::{plain, unit_words};
use crate::engine::{DesignIndex, Outcome, Plan, Where};
use crate::measures::{counted, decimal};
use std::cmp::Ordering;

/// Of the questions that ask what `first` asks with other methods or dimensions, the one that is answered in the least minutes a
/// site; where none is within reach, the one that is seen most often however many units are laid. One whose test rings falsely
/// too often only where all do (numbers are then those of tests held to their level). Of one method alone, `first` itself.
pub fn best(plan: &Plan, outcome: &Outcome, asks: &[HowMany], all_needed: &[Needed], first: &HowMany) -> HowMany {
    // Whether it rings, minutes, then how seldom it is seen at most.
    let cost = |ask: &HowMany, needed: &Needed| {
        let rings = ask.rings_falsely(plan, outcome, nearest(plan, ask, needed)).is_some();
        let rings = if rings { 1.0 } else { 0.0 };
        match minutes(plan, ask, needed) {
            Some(minutes) if is_beyond(plan, ask, needed) => [rings, BEYOND * minutes, 0.0],
            Some(minutes) => [rings, minutes, 0.0],
            None => [rings, f64::INFINITY, 1.0 - needed.ceiling],
        }
    };
    let order = |one: &[f64; 3], other: &[f64; 3]| {
        one.iter().zip(other).fold(Ordering::Equal, |order, (one, other)| order.then(one.total_cmp(other)))
    };
    let costs = alike(plan, (asks, all_needed), first).map(|(ask, needed)| (ask, cost(ask, needed)));
    costs.min_by(|one, other| order(&one.1, &other.1)).map_or(*first, |(ask, _)| *ask)
}

/// A number beyond those that were simulated is surely less only where it saves more than a tenth of the minutes.
const BEYOND: f64 = 1.1;

fn is_beyond(plan: &Plan, ask: &HowMany, needed: &Needed) -> bool {
    let most = plan.layout.readings[ask.reading].units.last().copied().unwrap_or(usize::MAX);
    needed.units.is_some_and(|units| units > most)
}

/// The questions that ask the same with any method and dimensions.
fn alike<'a>(
    plan: &'a Plan,
    (asks, all_needed): (&'a [HowMany], &'a [Needed]),
    first: &'a HowMany,
) -> impl Iterator<Item = (&'a HowMany, &'a Needed)> {
    let asked = |ask: &HowMany| (plan.layout.readings[ask.reading].indicator.name(), ask.state, ask.place, ask.sites);
    asks.iter().zip(all_needed).filter(move |(ask, _)| asked(ask) == asked(first))
}

/// Minutes a site that the answer takes.
fn minutes(plan: &Plan, ask: &HowMany, needed: &Needed) -> Option<f64> {
    Some(needed.units? as f64 * plan.layout.readings[ask.reading].minutes)
}

/// The simulated number of units nearest below what is needed.
fn nearest(plan: &Plan, ask: &HowMany, needed: &Needed) -> usize {
    match needed.units {
        Some(quoted) => ask.nearest_below(plan, quoted).unwrap_or(0),
        None => plan.layout.readings[ask.reading].units.len() - 1,
    }
}

/// The method that reports show first: that of a design.
pub fn headline_of(plan: &Plan, design: &DesignIndex) -> HeadlineOf {
    let reading = &plan.layout.readings[design.reading];
    let indicator = reading.indicator.name().into();
    HeadlineOf { indicator, method: plan.study.method_name(reading.method), dimensions: reading.dimensions }
}

/// So many other methods and dimensions are told in a sentence; the tables have all.
const MOST_TOLD: usize = 4;

/// By which measure the method of the headline is the best, and what the others take.
pub fn compared_sentence(plan: &Plan, asks: &[HowMany], all_needed: &[Needed], ask: &HowMany) -> Option<String> {
    let alike: Vec<(&HowMany, &Needed)> = alike(plan, (asks, all_needed), ask).collect();
    let own = alike.iter().find(|(other, _)| *other == ask)?;
    let others = alike.iter().filter(|(other, _)| *other != ask);
    let takes = |(other, needed): &&(&HowMany, &Needed)| Takes {
        reading: other.reading,
        told: needed.units.zip(minutes(plan, other, needed)),
        writes: None,
        tried: None,
        is_near: is_near(plan, *own, (other, needed)),
    };
    let takes: Vec<Takes> = others.map(|other| takes(&other)).collect();
    let own = minutes(plan, own.0, own.1);
    let is_less = |other: &Takes| own.zip(other.told).is_some_and(|(own, (_, other))| other < own);
    // What takes as many is neither less nor more.
    let any_less = takes.iter().any(|other| is_less(other) && !other.is_near);
    let has_photos = has_photos(plan, ask.reading, &takes);
    let (near, others): (Vec<Takes>, Vec<Takes>) = takes.into_iter().partition(|other| own.is_some() && other.is_near);
    let near = near_words(plan, near);
    let others = others_words(plan, has_photos, others);
    let beside = |words: &Option<String>| words.as_ref().map_or(String::new(), |words| format!(" ({words})"));
    match (own, near) {
        (Some(minutes), Some(near)) => {
            let minutes = decimal(minutes, 0);
            let (head, rest) = if any_less {
                (format!("It takes {minutes} minutes a site"), format!("; {OTHERS_THAT_TAKE_LESS}"))
            } else {
                let head = format!("Of the methods compared it sees this in about the least minutes a site, {minutes}");
                (head, String::new())
            };
            let alone = if has_photos { "; reading photographs ashore not counted" } else { "" };
            let others = others.map_or(alone.to_owned(), |words| format!("; the others: {words}"));
            Some(format!("{head}; about as many, {NEAR_WORDS}, {near}{others}{rest}."))
        }
        (Some(minutes), None) if any_less => {
            let (minutes, others) = (decimal(minutes, 0), beside(&others));
            Some(format!("It takes {minutes} minutes a site{others}; {OTHERS_THAT_TAKE_LESS}."))
        }
        (Some(minutes), None) => others.map(|others| {
            format!(
                "Of the methods compared it sees this in the least minutes a site, {} ({others}).",
                decimal(minutes, 0)
            )
        }),
        (None, _) => {
            others.map(|others| format!("No method compared sees it so often; this one comes nearest ({others})."))
        }
    }
}

const OTHERS_THAT_TAKE_LESS: &str =
    "what takes less rings falsely more often, or its number lies beyond those simulated";

/// Minutes that differ by less than this share are about as many.
const NEAR: f64 = 0.05;
const NEAR_WORDS: &str = "within 5 % or the error of the simulation";

/// Whether two answers take about as many minutes: within [`NEAR`], or within the error of the simulation of both.
fn is_near(plan: &Plan, own: (&HowMany, &Needed), other: (&HowMany, &Needed)) -> bool {
    let reach = |(ask, needed): (&HowMany, &Needed)| {
        let each = plan.layout.readings[ask.reading].minutes;
        let told = needed.units? as f64;
        // The range of a number is one of two errors to either side.
        let side = |limit: Option<usize>| limit.map_or(0.0, |limit| 0.5 * (limit as f64 - told).abs());
        Some((each * told, each * side(needed.units_low), each * side(needed.units_high)))
    };
    reach(own).zip(reach(other)).is_some_and(|(own, other)| about_as_many(own, other))
}

/// Minutes, and one error to below and above.
fn about_as_many(own: (f64, f64, f64), other: (f64, f64, f64)) -> bool {
    let (less, more) = if own.0 <= other.0 { (own, other) } else { (other, own) };
    more.0 - less.0 <= (NEAR * less.0).max(libm::hypot(less.2, more.1))
}

/// "take 10 m lines read every 0.1 m (5 in 33 minutes)".
fn near_words(plan: &Plan, near: Vec<Takes>) -> Option<String> {
    let told: Vec<String> = near
        .iter()
        .filter_map(|takes| {
            let (units, minutes) = takes.told?;
            Some(format!("{} ({units} in {} minutes)", unit_words(plan, takes.reading), decimal(minutes, 0)))
        })
        .collect();
    (!told.is_empty()).then(|| format!("take {}", told.join(" and ")))
}

/// What an answer takes with a reading.
struct Takes {
    reading: usize,
    /// Units a site and minutes; none where that is out of reach.
    told: Option<(usize, f64)>,
    /// Where it is so far off that it was not chosen: what it writes over what is there.
    writes: Option<f64>,
    /// Where nothing is known of more units than so many, which do not reach it.
    tried: Option<usize>,
    /// About as many minutes as what is told first.
    is_near: bool,
}

/// "20 m lines measured by intercept: 3 in 138 minutes; ...": units and minutes of the others, the least first; `None` without
/// others.
fn others_words(plan: &Plan, has_photos: bool, mut takes: Vec<Takes>) -> Option<String> {
    takes.sort_by(|one, other| {
        let minutes = |of: &Takes| of.told.map_or(f64::INFINITY, |(_, minutes)| minutes);
        let order = one.writes.is_some().cmp(&other.writes.is_some());
        order.then(minutes(one).total_cmp(&minutes(other)))
    });
    let hidden = takes.len().saturating_sub(MOST_TOLD);
    let mut told: Vec<String> = takes
        .iter()
        .take(MOST_TOLD)
        .enumerate()
        .map(|(place, takes)| {
            let unit = if place == 0 { " minutes" } else { "" };
            let near = if takes.is_near { " (about as many)" } else { "" };
            let told = match (takes.writes, takes.told, takes.tried) {
                (Some(writes), ..) => format!("writes {} times what is there", plain(writes)),
                (None, Some((units, minutes)), _) => format!("{units} in {}{unit}{near}", decimal(minutes, 0)),
                (None, None, Some(tried)) => format!("not with {tried} or fewer"),
                (None, None, None) => "out of reach".into(),
            };
            format!("{}: {told}", unit_words(plan, takes.reading))
        })
        .collect();
    if hidden > 0 {
        told.push(if hidden == 1 { "1 more takes longer".into() } else { format!("{hidden} more take longer") });
    }
    if has_photos {
        told.push("reading photographs ashore not counted".into());
    }
    (!takes.is_empty()).then(|| told.join("; "))
}

/// Whether one of the readings is of photographs.
fn has_photos(plan: &Plan, own: usize, others: &[Takes]) -> bool {
    let is_photo = |reading: usize| {
        let method = plan.layout.readings[reading].method;
        plan.study.methods[method].kind.name().starts_with("photo_")
    };
    is_photo(own) || others.iter().any(|takes| is_photo(takes.reading))
}

/// What the headline of a status speaks of, and by which measure it was chosen.
pub struct StatusChoice {
    pub design: DesignIndex,
    /// What the methods compared take to tell it as well; none where there is one alone.
    pub compared: Option<String>,
}

/// Of a status: how well six units of the first reading (or the most) tell its indicator is how well it must be told; of all
/// readings of that indicator, the design that tells it so well in the least minutes. Readings that write what is much farther
/// from what is there than another does are left out, however precise they are once that is divided out.
pub fn status_choice(plan: &Plan, outcome: &Outcome) -> Option<StatusChoice> {
    let readings = &plan.layout.readings;
    let place = if plan.has_all() { Where::All } else { Where::Zone(0) };
    let sites = plan.site_choices() - 1;
    let at = |reading: usize| DesignIndex { reading, units: 0, sites, place };
    let half_width = |design: &DesignIndex| {
        let tally = outcome.tally(plan.index(design), 0);
        tally.mean_half_width().unwrap_or(f64::INFINITY) * back_to_there(plan, design, 0)
    };
    let minutes = |design: &DesignIndex| {
        let reading = &readings[design.reading];
        reading.units[design.units] as f64 * reading.minutes
    };
    let name = readings.first()?.indicator.name();
    let all = || (0..readings.len()).filter(|&reading| readings[reading].indicator.name() == name);
    let off = |reading: usize| how_far_off(plan, &at(reading));
    let least_off = all().map(off).fold(f64::INFINITY, f64::min);
    let is_far = |reading: usize| is_much_farther(off(reading), least_off);
    let first = all().find(|&reading| !is_far(reading))?;
    let six = |units: &[usize]| units.iter().position(|&n| n == 6).unwrap_or(units.len() - 1);
    let usual = DesignIndex { units: six(&readings[first].units), ..at(first) };
    let enough = half_width(&usual);
    // An interval that is too short by itself is no better told.
    let least_held = outcome.tally(plan.index(&usual), 0).interval_truth().value() - 0.03;
    let held = |design: &DesignIndex| outcome.tally(plan.index(design), 0).interval_truth().value();
    let fewest = |reading: usize| {
        let designs = (0..readings[reading].units.len()).map(|units| DesignIndex { units, ..at(reading) });
        designs.into_iter().find(|design| half_width(design) <= enough && held(design) >= least_held)
    };
    let of_near = |reading: usize| match reading {
        _ if is_far(reading) => None,
        _ if reading == usual.reading => Some(usual),
        _ => fewest(reading),
    };
    let found: Vec<(usize, Option<DesignIndex>)> = all().map(|reading| (reading, of_near(reading))).collect();
    let told = found.iter().filter_map(|(_, design)| *design);
    let design = told.min_by(|one, other| minutes(one).total_cmp(&minutes(other))).unwrap_or(usual);
    let others = found.iter().filter(|(reading, _)| *reading != design.reading);
    let units = |design: &DesignIndex| readings[design.reading].units[design.units];
    let takes: Vec<Takes> = others
        .map(|(reading, other)| Takes {
            reading: *reading,
            told: other.as_ref().map(|other| (units(other), minutes(other))),
            writes: is_far(*reading).then(|| written_over_there(plan, &at(*reading))),
            tried: readings[*reading].units.last().copied(),
            is_near: other
                .is_some_and(|other| about_as_many((minutes(&design), 0.0, 0.0), (minutes(&other), 0.0, 0.0))),
        })
        .collect();
    let all_far = takes.iter().all(|takes| takes.writes.is_some());
    let compared = others_words(plan, has_photos(plan, design.reading, &takes), takes).map(|others| {
        if all_far {
            return format!("The other methods compared are not chosen, however precise they are ({others}).");
        }
        let reading = &readings[usual.reading];
        let of = if design.reading == usual.reading {
            String::new()
        } else {
            let unit = plan.study.methods[reading.method].kind.unit();
            format!(" as {} a site ({})", counted(reading.units[usual.units], unit), unit_words(plan, usual.reading))
        };
        format!(
            "Of the methods compared it tells this as well{of} in the least minutes a site, {} ({others}).",
            decimal(minutes(&design), 0)
        )
    });
    Some(StatusChoice { design, compared })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_within_a_twentieth_or_the_error_of_both_are_about_as_many() {
        let exact = |minutes: f64| (minutes, 0.0, 0.0);
        assert!(about_as_many(exact(100.0), exact(105.0)) && about_as_many(exact(105.0), exact(100.0)));
        assert!(!about_as_many(exact(100.0), exact(106.0)));
        // What takes less may take more by its error, what takes more less.
        assert!(about_as_many((100.0, 0.0, 30.0), (145.0, 40.0, 0.0)));
        assert!(!about_as_many((100.0, 30.0, 0.0), (145.0, 0.0, 40.0)));
        assert!(!about_as_many((100.0, 0.0, 30.0), (151.0, 40.0, 0.0)));
    }
}
