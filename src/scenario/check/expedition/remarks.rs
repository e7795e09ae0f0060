use super::crew::may_dive;
use crate::design::{Expedition, Standby, Study};
use crate::scenario::file::ScenarioFile;
use crate::scenario::shown::number;

/// Deeper than this (130 feet) is beyond the normal working limit on air of the US Navy Diving Manual.
const NORMAL_LIMIT_M: f64 = 39.6;
/// Dives a day above which a remark is made, and above which it is a strong one (common practice, no source).
const MANY_DIVES: usize = 3;
const TOO_MANY_DIVES: usize = 4;
/// Common practice, no source.
const SHORT_INTERVAL_MINUTES: f64 = 60.0;

/// What is right but not as it may seem: tables that nothing uses, spare divers, loads for the diving officer to see.
pub fn remarks(file: &ScenarioFile, study: &Study, expedition: Option<&Expedition>) -> Vec<String> {
    let Some(expedition) = expedition else { return unused(file).into_iter().collect() };
    let mut told = Vec::new();
    told.extend(spares(expedition));
    told.extend(loads(expedition));
    told.extend(depths(study, expedition));
    told.extend(lost(expedition));
    told.extend(sites(file, study, expedition));
    if expedition.standby == Standby::AsTheDivingOfficerDecides {
        told.push(
            "Who stands by at the surface is left to the diving officer: where a pair stays up, it is no capacity, and the \
             expedition takes more dives than are told."
                .to_owned(),
        );
    }
    told
}

fn unused(file: &ScenarioFile) -> Option<String> {
    let all = [
        ("[[diver]]", !file.diver.is_empty()),
        ("[[target]]", !file.target.is_empty()),
        ("[zone.dive]", file.zone.iter().any(|zone| zone.dive.is_some())),
        ("work of a method", file.method.parts().iter().any(|method| method.work.is_some())),
    ];
    let names: Vec<&str> = all.into_iter().filter(|(_, is_there)| *is_there).map(|(name, _)| name).collect();
    let listed = names.join(", ");
    (!names.is_empty()).then(|| format!("Nothing uses {listed}: that is for an [expedition], and there is none here."))
}

fn spares(expedition: &Expedition) -> Option<String> {
    let (divers, pairs) = (&expedition.divers, &expedition.pairs);
    let in_a_pair = |place: usize| pairs.iter().any(|pair| pair.0 == place || pair.1 == place);
    let spare: Vec<&str> =
        (0..divers.len()).filter(|place| !in_a_pair(*place)).map(|place| divers[place].name.as_str()).collect();
    let verb = if spare.len() == 1 { "is spare" } else { "are spare" };
    let count =
        format!("{} divers make {} {}", divers.len(), pairs.len(), if pairs.len() == 1 { "pair" } else { "pairs" });
    (!spare.is_empty()).then(|| format!("{count}; {} {verb}. Nobody dives alone.", spare.join(", ")))
}

fn loads(expedition: &Expedition) -> Vec<String> {
    let mut told = Vec::new();
    let dives = expedition.boats.dives_a_day;
    if dives > TOO_MANY_DIVES {
        told.push(format!(
            "{dives} dives a day of each diver is far beyond what scientific expeditions usually do (2 or 3). Take this to \
             the diving officer before anything else is planned on it."
        ));
    } else if dives > MANY_DIVES {
        told.push(format!(
            "{dives} dives a day of each diver is more than scientific expeditions usually do (2 or 3). The diving officer \
             decides."
        ));
    }
    if let Some(clock) = expedition.boats.clock.filter(|clock| clock.interval < SHORT_INTERVAL_MINUTES) {
        told.push(format!(
            "{} minutes at the surface between two dives is less than the hour that is usual. The diving officer decides.",
            number(clock.interval)
        ));
    }
    if expedition.divers.len() < 4 && expedition.standby != Standby::Crew {
        told.push(format!(
            "{} divers and nobody of the crew to stand by: fewer than four people on site. The diving officer decides.",
            expedition.divers.len()
        ));
    }
    told
}

fn depths(study: &Study, expedition: &Expedition) -> Vec<String> {
    let mut told = Vec::new();
    for (zone, diving) in study.zones.iter().zip(&expedition.zones) {
        if diving.depth_m > NORMAL_LIMIT_M {
            told.push(format!(
                "{}: {} m is deeper than 130 feet (39.6 m), the normal working limit of the US Navy Diving Manual on air.",
                zone.name,
                number(diving.depth_m)
            ));
        }
        let kept: Vec<String> = expedition
            .pairs
            .iter()
            .filter(|pair| !may_dive(expedition, diving, **pair))
            .map(|pair| format!("{} and {}", expedition.divers[pair.0].name, expedition.divers[pair.1].name))
            .collect();
        if !kept.is_empty() {
            told.push(format!(
                "{}: {} do not dive there, because one of a pair is not authorised to {} m.",
                zone.name,
                kept.join("; "),
                number(diving.depth_m)
            ));
        }
    }
    let untold: Vec<&str> =
        expedition.divers.iter().filter(|diver| diver.depth_m.is_none()).map(|diver| diver.name.as_str()).collect();
    if !untold.is_empty() {
        told.push(format!(
            "To which depth {} may dive is not told (depth_m), so that nothing keeps them from a site here.",
            untold.join(", ")
        ));
    }
    told
}

fn lost(expedition: &Expedition) -> Option<String> {
    let what = match expedition.days.lost {
        None => "How many days the weather takes is not told (lost_days_percent), so none counts as lost",
        Some(lost) if lost.share == 0.0 => "No day counts as lost to the weather (lost_days_percent = 0)",
        Some(_) => return None,
    };
    Some(format!("{what}: a plan that needs every day fails with the first bad one."))
}

/// What a list of sites does to the numbers of sites, and what a zone asks of one.
fn sites(file: &ScenarioFile, study: &Study, expedition: &Expedition) -> Vec<String> {
    let mut told = Vec::new();
    let zones = study.zones.iter().zip(&file.zone).zip(&expedition.zones);
    for (index, ((zone, table), diving)) in zones.enumerate() {
        let name = &zone.name;
        if table.sites.is_none() {
            let fewest = zone.sites.first().copied().unwrap_or(0);
            told.push(format!(
                "{name}: how many sites is left to the budget; whatever else is asked is answered for the fewest, {fewest}."
            ));
        }
        let Some(list) = &expedition.sites else {
            if diving.needs_calm {
                told.push(format!(
                    "{name} needs calm weather, but no sheltered sites are known for bad days: that takes candidate_sites."
                ));
            }
            continue;
        };
        let (usable, must) = list.counts(index);
        let written = table.dive.as_ref().and_then(|dive| dive.most_sites.map(|most| most.get()));
        if let Some(most) = written.filter(|most| *most > usable) {
            told.push(format!(
                "{name}: {most} sites at most, but the list {} has {usable}: no more are planned.",
                list.file
            ));
        }
        if must > 0 {
            told.push(format!(
                "{name}: {must} of {usable} sites on the list must be visited: they are not drawn at random, and so many are \
                 planned at least."
            ));
        }
    }
    told
}
