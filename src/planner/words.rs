//! The answer in words. Numbers are rounded to what the inputs support; more digits stand in the table.

use super::answer::{Needed, ReefRange, Sensitivity};
use super::needed::{HowMany, stays_above};
use crate::design::{Question, Scope, Unit};
use crate::engine::{Outcome, Plan, Where};
use crate::measures::{counted, decimal, in_100, plural, without_zeros};
use crate::survey::{Dimensions, kind_and_how};

/// "4 times in 5", "9 times in 10", or "85 times in 100".
pub fn times(probability: f64) -> String {
    for (value, words) in
        [(0.8, "4 times in 5"), (0.9, "9 times in 10"), (0.5, "every other time"), (0.75, "3 times in 4")]
    {
        if (probability - value).abs() < 1e-9 {
            return words.into();
        }
    }
    format!("{} times in 100", in_100(probability))
}

/// A number without needless digits: 28, 2.2, 0.35.
pub fn plain(value: f64) -> String {
    let size = value.abs();
    let digits = if size >= 10.0 || value.fract().abs() < 1e-9 {
        0
    } else if size >= 1.0 {
        1
    } else if size >= 0.1 {
        2
    } else {
        // Two digits of what is small: rare animals are some in ten thousand m2.
        (1.0 - libm::floor(libm::log10(size))) as usize
    };
    without_zeros(&decimal(value, digits)).into()
}

/// A number as it is written, to hundredths: 12.5, 8, 0.35.
pub fn exactly(value: f64) -> String {
    without_zeros(&format!("{value:.2}")).into()
}

/// To tenths where it has any: 27.5, 22.
fn tenths(value: f64) -> String {
    without_zeros(&decimal(value, 1)).into()
}

/// "a fall from 28 to 22 % (6 points, 21 % of what was there)".
pub fn change_words(plan: &Plan, ask: &HowMany, needed: &Needed) -> String {
    let words = levels_words(plan, ask, needed);
    match plan.study.changes[ask.state - 2].deaths {
        None => words,
        Some(deaths) => format!("{} that strikes {},", words.trim_end_matches(','), deaths.short()),
    }
}

fn levels_words(plan: &Plan, ask: &HowMany, needed: &Needed) -> String {
    let change = &plan.study.changes[ask.state - 2];
    let reading = &plan.layout.readings[ask.reading];
    let name = reading.indicator.name();
    if name != change.indicator {
        return match plan.study.unit_of(name) {
            Unit::Own(unit) => moved_words((name, &unit, 1.0), &change.indicator, needed),
            Unit::Share => moved_words((name, "%", 100.0), &change.indicator, needed),
        };
    }
    let direction = if change.to < change.from { "a fall" } else { "a rise" };
    let share = in_100((change.to / change.from - 1.0).abs());
    match plan.study.unit_of(reading.indicator.name()) {
        Unit::Own(unit) => format!(
            "{direction} of {} from {} to {} {unit} ({share} % of what was there)",
            reading.indicator.name().replace('_', " "),
            plain(needed.change_from),
            plain(needed.change_to),
        ),
        Unit::Share => {
            // What it is there: over all zones the mean by their weights, of which a change may have been told otherwise.
            let (from, to) = (needed.change_from, needed.change_to);
            let what = if reading.indicator.name() == crate::design::HARD_CORAL {
                String::new()
            } else {
                format!(" of {}", reading.indicator.name().replace('_', " "))
            };
            format!(
                "{direction}{what} from {} to {} % ({} points, {share} % of what was there)",
                tenths(100.0 * from),
                tenths(100.0 * to),
                tenths(100.0 * (to - from).abs()),
            )
        }
    }
}

/// "a rise of recruit density from 5.1 to 5.7 per m2 (11 % of what was there), which a change of hard coral brings,".
fn moved_words((name, unit, scale): (&str, &str, f64), changed: &str, needed: &Needed) -> String {
    let (from, to) = (scale * needed.change_from, scale * needed.change_to);
    let direction = if to < from { "a fall" } else { "a rise" };
    let share = in_100((to / from - 1.0).abs());
    format!(
        "{direction} of {} from {} to {} {unit} ({share} % of what was there), which a change of {} brings,",
        name.replace('_', " "),
        plain(from),
        plain(to),
        changed.replace('_', " ")
    )
}

/// "10 m lines read every 0.1 m at new places".
fn units_words(plan: &Plan, ask: &HowMany) -> String {
    let what = unit_words(plan, ask.reading);
    match (plan.same_sites, plan.same_marks) {
        (true, true) => format!("{what} at the same marks"),
        (true, false) => format!("{what} at new places"),
        _ => what,
    }
}

/// "10 m lines read every 0.1 m"; "30 x 2 m fish belts of 8 minutes (whole swim)" where others are done otherwise.
pub fn unit_words(plan: &Plan, reading: usize) -> String {
    let name = plan.study.method_name(plan.layout.readings[reading].method);
    let words = words_of_units(plan, reading);
    kind_and_how(&name).1.map_or(words.clone(), |how| format!("{words} ({how})"))
}

fn words_of_units(plan: &Plan, reading: usize) -> String {
    let reading = &plan.layout.readings[reading];
    let word = plan.study.methods[reading.method].kind.units();
    match reading.dimensions {
        Dimensions::PointIntercept { length_m, spacing_m } => format!("{length_m} m {word} read every {spacing_m} m"),
        Dimensions::LineIntercept { length_m } => format!("{length_m} m {word} measured by intercept"),
        Dimensions::PhotoBelt { length_m, width_m, points } => {
            format!("{length_m} x {width_m} m photo {word} of {points} points")
        }
        Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, .. } => {
            format!("{length_m} m {word} of {frames} frames with {points_a_frame} points each")
        }
        Dimensions::InvertebrateBelt { length_m, width_m } | Dimensions::CoralBelt { length_m, width_m } => {
            format!("{length_m} x {width_m} m {word}")
        }
        Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m } => {
            format!("{length_m} m {word} with recruit quadrats of {quadrat_m} x {quadrat_m} m every {every_m} m")
        }
        Dimensions::FishBelt { length_m, width_m, swim_minutes } => {
            format!("{length_m} x {width_m} m fish {word} of {} minutes", plain(swim_minutes))
        }
        Dimensions::FishPointCount { radius_m, count_minutes } => {
            format!("fish {word} of {radius_m} m radius and {} minutes", plain(count_minutes))
        }
        Dimensions::Components => word,
    }
}

/// "Same 8 sites".
fn sites_words(plan: &Plan, needed: &Needed) -> String {
    let zone =
        if needed.zone == "all" || plan.study.zones.len() == 1 { String::new() } else { format!("{}: ", needed.zone) };
    let where_ =
        if needed.zone == "all" { format!(" in each of {} zones", plan.study.zones.len()) } else { String::new() };
    let choice = plan.sites.iter().map(|numbers| numbers.last().copied().unwrap_or(0)).collect::<Vec<_>>();
    let alike = choice.windows(2).all(|pair| pair[0] == pair[1]);
    if needed.zone == "all" && !alike {
        let all: Vec<String> = choice.iter().map(usize::to_string).collect();
        let which = if plan.same_sites { "same sites" } else { "sites" };
        return format!("{which} ({} in the zones)", all.join(", "));
    }
    let sites = counted(needed.sites.most(), "site");
    match (plan.study.scope, plan.study.question) {
        (Scope::EachReef, _) => format!("{zone}each reef by itself"),
        (_, Question::BetweenGroups) => format!("{zone}{sites} in each group{where_}"),
        _ if plan.same_sites => format!("{zone}same {sites}{where_}"),
        _ => format!("{zone}{sites} drawn anew at each visit{where_}"),
    }
}

/// The main sentence of a question, with the range over reefs and the power of the largest number simulated below it.
pub fn main_sentences(
    plan: &Plan,
    outcome: &Outcome,
    ask: &HowMany,
    needed: &Needed,
    ranges: &[ReefRange],
) -> Vec<String> {
    let sites = capital(&sites_words(plan, needed));
    let units = units_words(plan, ask);
    let change = change_words(plan, ask, needed);
    let seen = times(plan.study.test.seen);
    let unit = plan.study.methods[plan.layout.readings[ask.reading].method].kind.unit();
    let mut sentences = Vec::new();
    let range = range_words(needed, ranges);
    let overall = if needed.zone == "all" { ", in the mean over all zones" } else { "" };
    let reading = &plan.layout.readings[ask.reading];
    let habit = reading.units.iter().position(|&n| n == 6).or(reading.units.len().checked_sub(1));
    if let Some(u) = habit {
        let near = needed.units.and_then(|quoted| ask.nearest_below(plan, quoted)).unwrap_or(u);
        if let Some(alarm) = ask.rings_falsely(plan, outcome, near) {
            sentences.push(format!(
                "Beware: with the designs of this answer the test rings falsely {} times in 100 where {} are promised, and part of what \
                 it sees is that; the numbers here are of the test held to its level.",
                in_100(alarm.value()),
                in_100(plan.study.test.alpha)
            ));
        }
    }
    match needed.units {
        Some(number) => sentences.push(format!(
            "{sites}, {units}: about {} a site {} {change} {seen}{overall} ({}){range}.",
            counted(number, unit),
            if number == 1 { "sees" } else { "see" },
            simulated_words(number, &reading.units)
        )),
        None => sentences.push(format!(
            "{sites}, {units}: no number of {} sees {change} {seen}; however many are laid, it is seen at most about {} times in 100 (by formula, mended by simulation){range}.",
            plural(unit, 2),
            in_100(needed.ceiling)
        )),
    }
    if let (Some(u), None) = (habit, needed.units) {
        sentences.extend(sites_sentence(plan, ask, reading.units[u], unit));
    }
    if let Some(u) = habit {
        let seen = ask.seen(plan, outcome, u, needed.held);
        let told = match seen {
            Some(seen) => {
                let held = if needed.held { ", the test held to its level" } else { "" };
                format!(
                    "{} of 100 (simulated{held}, error {} in 100)",
                    of_hundred(seen.value),
                    error_in_100(seen.error)
                )
            }
            None => {
                "no number of times that counts: no level down to a 4096th of the one promised holds the test".into()
            }
        };
        sentences.push(format!(
            "{} {} {} it in {told}.",
            capital(&count_word(reading.units[u])),
            plural(unit, reading.units[u]),
            if reading.units[u] == 1 { "sees" } else { "see" },
        ));
    }
    sentences
}

/// "simulated", and from which numbers where the one told is not among them.
fn simulated_words(number: usize, tried: &[usize]) -> String {
    match (tried.first(), tried.last()) {
        (Some(fewest), _) if number == *fewest && tried.len() > 1 => "simulated, the fewest that were tried".into(),
        (_, Some(most)) if number > *most => format!("continued from the {most} and fewer that were simulated"),
        _ => "simulated".into(),
    }
}

/// An error of a rate in hundredths, rounded as in tables.
fn error_in_100(error: f64) -> String {
    if error > 0.0 && error < 0.005 { "under 1".into() } else { in_100(error) }
}

/// "72", or "more than 99" for what is only nearly always.
fn of_hundred(share: f64) -> String {
    if share >= 0.995 { "more than 99".into() } else { in_100(share) }
}

/// Where no number of units is enough: the number of sites that would be, with the usual number of units on each.
fn sites_sentence(plan: &Plan, ask: &HowMany, units: usize, unit: &str) -> Option<String> {
    if plan.study.scope == Scope::EachReef {
        return None;
    }
    let sites = stays_above(plan.study.test.seen, 2, MOST_SITES, |sites| ask.power_at_sites(plan, sites, units))?;
    let what = match plan.study.question {
        Question::BetweenGroups => "sites in each group",
        _ if plan.same_sites => "sites",
        _ => "sites a visit",
    };
    let zones = if ask.place == Where::All { " in every zone" } else { "" };
    Some(format!("About {sites} {what}{zones} with {} each would (by formula).", counted(units, unit)))
}

/// More sites than this are not suggested.
const MOST_SITES: usize = 300;

/// What each zone takes by itself, in one sentence, with its range over reefs.
pub fn by_zone_sentence(plan: &Plan, zones: &[(HowMany, &Needed, Vec<ReefRange>)]) -> Option<String> {
    let (first, ..) = zones.first()?;
    let unit = plan.study.methods[plan.layout.readings[first.reading].method].kind.unit();
    let parts: Vec<String> = zones
        .iter()
        .enumerate()
        .map(|(i, (_, needed, ranges))| {
            let number = match needed.units {
                Some(units) if i == 0 => format!("{} a site", counted(units, unit)),
                Some(units) => units.to_string(),
                None => format!("no number of {}", plural(unit, 2)),
            };
            let tried = &plan.layout.readings[first.reading].units;
            let origin = needed.units.map(|units| simulated_words(units, tried)).filter(|words| words != "simulated");
            let range = range_words(needed, ranges).trim_start_matches("; ").replace("the reef is ", "");
            let brackets: Vec<String> =
                origin.into_iter().chain(Some(range)).filter(|words| !words.is_empty()).collect();
            let brackets = if brackets.is_empty() { String::new() } else { format!(" ({})", brackets.join("; ")) };
            format!("{number} in zone {}{brackets}", needed.zone)
        })
        .collect();
    let seen = times(plan.study.test.seen);
    Some(format!(
        "Zone by zone, to see the same share of what was there {seen} (simulated, where nothing else is said): {}.",
        parts.join("; ")
    ))
}

/// How many are needed at the same marks, when that is fewer.
pub fn same_marks_sentence(plan: &Plan, ask: &HowMany, needed: &Needed, at_marks: Option<usize>) -> Option<String> {
    let unit = plan.study.methods[plan.layout.readings[ask.reading].method].kind.unit();
    let (new, marked) = (needed.theory_units.unwrap_or(usize::MAX), at_marks?);
    let within = 100.0 * plan.study.visits.relay_sd_m;
    is_fewer(marked, new, needed.units).then(|| {
        format!(
            "At the same marks, the tape re-laid to within {within:.0} cm, about {} would do (by formula).",
            counted(marked, unit)
        )
    })
}

/// Whether a number by formula is fewer than another by formula and than the number quoted, which comes from the simulation.
fn is_fewer(number: usize, by_formula: usize, quoted: Option<usize>) -> bool {
    number < by_formula && quoted.is_none_or(|quoted| number < quoted)
}

/// "; by formula 6 if as even as an outer slope, about 50 if as patchy as lagoon bommies".
fn range_words(needed: &Needed, ranges: &[ReefRange]) -> String {
    let possible: Vec<&ReefRange> = ranges.iter().filter(|range| range.refused.is_none()).collect();
    let key = |range: &&ReefRange| range.units.unwrap_or(usize::MAX);
    let (Some(low), Some(high)) =
        (possible.iter().copied().min_by_key(|r| key(r)), possible.iter().copied().max_by_key(|r| key(r)))
    else {
        return String::new();
    };
    let side = |range: &ReefRange| match range.units {
        Some(units) => format!("{units} if the reef is {}", range.phrase),
        None => format!("out of reach if it is {}", range.phrase),
    };
    let differs = |range: &ReefRange| !range.is_chosen && range.units != needed.units;
    match (differs(low), differs(high)) {
        (true, true) => format!("; by formula {}, {}", side(low), side(high).replace("if the reef is", "if")),
        (true, false) => format!("; by formula {}", side(low)),
        (false, true) => format!("; by formula {}", side(high)),
        (false, false) => String::new(),
    }
}

/// What the statement does not say, and what to measure first.
pub fn closing_sentences(plan: &Plan, sensitivities: &[Sensitivity]) -> Vec<String> {
    let mut sentences = Vec::new();
    match plan.study.question {
        Question::BetweenTheseVisits => sentences
            .push("It tells a real difference between these two visits, not a lasting decline from a bad year.".into()),
        Question::BeyondUsualYears => sentences.push(
            "The year-to-year variation you gave is in the error of the test: what is seen goes beyond usual years."
                .into(),
        ),
        Question::BetweenGroups => {
            sentences.push("It tells a difference between the two groups at this visit, not what caused it.".into())
        }
        Question::Status => {}
    }
    let swing = |s: &Sensitivity| {
        let number = |units: Option<usize>| units.map_or(800.0, |units| units as f64);
        libm::log(number(s.larger) / number(s.smaller))
    };
    if let Some(worst) = sensitivities.iter().max_by(|a, b| swing(a).total_cmp(&swing(b)))
        && swing(worst) > 0.05
    {
        sentences.push(format!("Measure first (by formula): {}.", worst.component));
    }
    sentences
}

/// The answer to a status question.
pub fn status_sentence(plan: &Plan, outcome: &Outcome, design: &crate::engine::DesignIndex) -> String {
    let reading = &plan.layout.readings[design.reading];
    let units = reading.units[design.units];
    let unit_word = plan.study.methods[reading.method].kind.unit();
    let tally = outcome.tally(plan.index(design), 0);
    let half_on_scale = tally.mean_half_width();
    let confidence = 100.0 * (1.0 - plan.study.test.alpha);
    let (mean, _) = super::rows::means(plan, design, 0);
    let held = tally.interval_truth();
    let place = super::rows::place_name(plan, design.place);
    let sites = super::rows::site_count(plan, design.place, design.sites);
    let each = if design.place == Where::All { " in each zone" } else { "" };
    let (scale, unit) = match plan.study.unit_of(reading.indicator.name()) {
        Unit::Own(unit) => (1.0, format!(" {unit}")),
        Unit::Share => (100.0, " points of cover".into()),
    };
    let where_ = match design.place {
        _ if plan.study.zones.len() == 1 => String::new(),
        Where::All => "all zones together: ".into(),
        Where::Zone(_) => format!("{place}: "),
    };
    let who = format!(
        "{where_}{} {}{each} with {}{}",
        sites.span(),
        plural("site", sites.most()),
        counted(units, unit_word),
        if sites.most() == 1 { " tells" } else { " each tell" }
    );
    let Some(half_on_scale) = half_on_scale else {
        return format!(
            "{who} no interval for a mean of {}{unit}: in every simulated survey all of them read the same.",
            plain(scale * mean)
        );
    };
    let half = half_on_scale * super::rows::back_to_there(plan, design, 0);
    let is_amount = !reading.indicator.is_of_logarithms();
    // Nothing is less than none: an interval that would reach below is told from there.
    let told = if let Some((low, high)) = super::rows::about_on_scale(plan, design, half_on_scale) {
        format!("{}{unit}, typically told as {} to {}", plain(scale * mean), plain(scale * low), plain(scale * high))
    } else if is_amount && half > mean {
        format!("{}{unit}, told as 0 to {}", plain(scale * mean), plain(scale * (mean + half)))
    } else {
        format!("{} to within {}{unit}", plain(scale * mean), plain(scale * half))
    };
    // An interval about a biased number holds the truth by chance alone.
    let over_there = super::rows::written_over_there(plan, design);
    if plan.is_biased(design.reading) && (over_there - 1.0).abs() > 0.05 {
        return format!(
            "{who} a mean of {told} ({confidence:.0} % interval), once what is written is divided by {}; as it is written the \
             interval holds the truth in {} of 100.",
            plain(over_there),
            in_100(held.value())
        );
    }
    format!(
        "{who} a mean of {told} ({confidence:.0} % interval; it holds the truth in {} of 100).",
        in_100(held.value())
    )
}

fn count_word(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |word| (*word).into())
}

pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn same_marks_are_told_only_where_they_save_something() {
        assert!(is_fewer(5, 9, Some(8)) && is_fewer(5, 9, None));
        // Fewer by formula than by formula elsewhere, but not than what is quoted.
        assert!(!is_fewer(8, 9, Some(8)) && !is_fewer(9, 9, Some(12)));
    }
}
