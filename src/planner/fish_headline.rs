//! What the headline says of fish: how far what its method writes is from what is there.

use super::fish::FishBias;
use super::rows::written_over_there;
use super::words::plain;
use crate::design::{ALL_FISH, FishGroup, FishMeasure, FishWho};
use crate::engine::{DesignIndex, Plan};
use crate::measures::in_100;

/// What is off by less than this is not told.
const LEAST_BIAS: f64 = 0.05;

/// Groups that are less than this of all fish, by number and by weight, are not told of: few are met, whatever is written.
const LEAST_SHARE: f64 = 0.01;

/// How much of all fish of its zone a group is, or several that feed alike: of their number or their weight, the larger.
fn share_there(plan: &Plan, bias: &FishBias) -> f64 {
    let own = |group: &FishGroup| {
        [ALL_FISH, &group.name].contains(&bias.group.as_str()) || group.trophic_group.as_ref() == Some(&bias.group)
    };
    let there = || {
        let zones = plan.study.zones.iter().filter(|zone| zone.name == bias.zone);
        zones.flat_map(|zone| &zone.fish).map(|group| (group, group.spec.places.density_per_m2))
    };
    let share = |measure: FishMeasure| {
        let of_own =
            measure.truth(there().filter(|(group, _)| own(group)).map(|(group, density)| (&group.spec, density)));
        of_own / measure.truth(there().map(|(group, density)| (&group.spec, density)))
    };
    share(FishMeasure::Density).max(share(FishMeasure::Biomass))
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
    let method = plan.study.method_name(reading.method);
    let of_method = all.iter().filter(|bias| bias.method == method && bias.dimensions == reading.dimensions);
    let of_method = of_method.filter(|bias| share_there(plan, bias) > LEAST_SHARE);
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
            format!("What such counts write is not what is there: of {kg}{who} they write {}", in_100(own))
        }
        _ => format!("What such counts write is not what is there: {} {} times as it is", plain_name(name), plain(own)),
    };
    if let Some(bias) = worst.filter(|bias| !matches!(&told.who, FishWho::Group(own) if *own == bias.group)) {
        let because = bias.largest_on_its_side(by_weight).map_or(String::new(), |part| {
            let many = if factor(&bias) > 1.0 { "more" } else { "less" };
            format!(", {many} because of {}", part.cause.words())
        });
        text += &format!("; farthest off, of {kg}{} {}{because}", plain_name(&bias.group), in_100(factor(&bias)));
    }
    Some(text + " (by formula). Changes and errors are told of what is there: divided by that.")
}
