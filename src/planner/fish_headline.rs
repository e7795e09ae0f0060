//! What the headline says of fish: which of several methods it speaks of, and how far what that writes is from what is there.

use super::answer::{HeadlineOf, Needed};
use super::fish::FishBias;
use super::needed::HowMany;
use super::rows::written_over_there;
use super::words::{plain, unit_words};
use crate::design::{ALL_FISH, FishMeasure, FishWho};
use crate::engine::{DesignIndex, Outcome, Plan};

/// What is off by less than this is not told.
const LEAST_BIAS: f64 = 0.05;

/// Of the questions that ask what `first` asks with other methods or dimensions, the one that is answered in the least minutes a
/// site; where none is within reach, the one that is seen most often however many units are laid. Not one whose test rings
/// falsely too often. Of all else than fish, and of one method alone, `first` itself.
pub fn best(plan: &Plan, outcome: &Outcome, asks: &[HowMany], all_needed: &[Needed], first: &HowMany) -> HowMany {
    if !is_of_fish(plan, first) {
        return *first;
    }
    let alike = alike(plan, (asks, all_needed), first)
        .filter(|(ask, needed)| ask.rings_falsely(plan, outcome, nearest(plan, ask, needed)).is_none());
    // Minutes, then how seldom it is seen at most.
    let cost = |(ask, needed): &(&HowMany, &Needed)| match minutes(plan, ask, needed) {
        Some(minutes) => (minutes, 0.0),
        None => (f64::INFINITY, 1.0 - needed.ceiling),
    };
    let order = |one: &(f64, f64), other: &(f64, f64)| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1));
    alike.min_by(|one, other| order(&cost(one), &cost(other))).map_or(*first, |(ask, _)| *ask)
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

pub fn is_of_fish(plan: &Plan, ask: &HowMany) -> bool {
    plan.layout.readings[ask.reading].indicator.is_of_fish()
}

/// The method that reports show first.
pub fn headline_of(plan: &Plan, ask: &HowMany) -> Option<HeadlineOf> {
    let reading = &plan.layout.readings[ask.reading];
    is_of_fish(plan, ask).then(|| HeadlineOf {
        method: plan.study.methods[reading.method].kind.name().into(),
        dimensions: reading.dimensions,
    })
}

/// By which measure the method of the headline is the best, and what the others take.
pub fn compared_sentence(plan: &Plan, asks: &[HowMany], all_needed: &[Needed], ask: &HowMany) -> Option<String> {
    if !is_of_fish(plan, ask) {
        return None;
    }
    let alike: Vec<(&HowMany, &Needed)> = alike(plan, (asks, all_needed), ask).collect();
    let own = alike.iter().find(|(other, _)| *other == ask)?;
    let others: Vec<String> = alike
        .iter()
        .filter(|(other, _)| *other != ask)
        .map(|(other, needed)| {
            let takes = match minutes(plan, other, needed) {
                Some(minutes) => format!("{minutes:.0}"),
                None => "out of reach".to_owned(),
            };
            format!("{} {takes}", unit_words(plan, other.reading))
        })
        .collect();
    if others.is_empty() {
        return None;
    }
    let others = others.join("; ");
    Some(match minutes(plan, own.0, own.1) {
        Some(minutes) => {
            format!("Of the methods compared it sees this in the least minutes a site, {minutes:.0} ({others}).")
        }
        None => format!("No method compared sees it so often; this one comes nearest ({others})."),
    })
}

/// How far off the number of the method in the headline is, and which group is farthest off; `None` where all are near.
pub fn bias_sentence(plan: &Plan, design: &DesignIndex, all: &[FishBias]) -> Option<String> {
    let reading = &plan.layout.readings[design.reading];
    if !reading.indicator.is_of_fish() {
        return None;
    }
    let name = reading.indicator.name();
    let told = plan.study.fish_of(name)?;
    let own = written_over_there(plan, design);
    let method = plan.study.methods[reading.method].kind.name();
    let of_method = all.iter().filter(|bias| bias.method == method && bias.dimensions == reading.dimensions);
    let (by_weight, kg) = match told.measure {
        FishMeasure::Biomass => (true, "100 kg of "),
        _ => (false, "100 "),
    };
    let factor = |bias: &&FishBias| if by_weight { bias.biomass } else { bias.density };
    let off = |factor: f64| if factor > 0.0 { libm::fabs(libm::log(factor)) } else { f64::INFINITY };
    let worst = of_method.max_by(|one, other| off(factor(one)).total_cmp(&off(factor(other))));
    let worst = worst.filter(|bias| (factor(bias) - 1.0).abs() > LEAST_BIAS);
    if (own - 1.0).abs() <= LEAST_BIAS && worst.is_none() {
        return None;
    }
    let plain_name = |name: &str| name.replace('_', " ");
    let mut text = match told.measure {
        FishMeasure::Density | FishMeasure::Biomass => {
            let who = match &told.who {
                FishWho::All => ALL_FISH.to_owned(),
                FishWho::Group(name) | FishWho::Trophic(name) => plain_name(name),
            };
            format!("What such counts write is not what is there: of {kg}{who} they write {:.0}", 100.0 * own)
        }
        _ => format!("What such counts write is not what is there: {} {} times as it is", plain_name(name), plain(own)),
    };
    if let Some(bias) = worst.filter(|bias| !matches!(&told.who, FishWho::Group(own) if *own == bias.group)) {
        let because = bias.largest_on_its_side(by_weight).map_or(String::new(), |part| {
            let many = if factor(&bias) > 1.0 { "more" } else { "less" };
            format!(", {many} because of {}", part.cause.words())
        });
        text += &format!("; farthest off, of {kg}{} {:.0}{because}", plain_name(&bias.group), 100.0 * factor(&bias));
    }
    Some(text + " (by formula). Changes and errors are told of what is there: divided by that.")
}
