use crate::design::{DiverSpec, Expedition, Standby, Study};
use crate::measures::counted;
use crate::scenario::file::ScenarioFile;
use crate::scenario::near::nearest;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// Divers with names, pairs enough, skills and authorisations that somebody has.
pub fn check(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    let divers = &expedition.divers;
    for (index, diver) in divers.iter().enumerate() {
        let key = format!("diver[{index}].name");
        if diver.name.trim().is_empty() {
            problems.add(&key, "the name is empty", "needs a name", "Write name = \"Ana\", for example.");
        } else if divers[..index].iter().any(|earlier| earlier.name == diver.name) {
            let remedy = "Give every diver a name of their own.";
            problems.add(&key, format!("two divers are called {}", diver.name), "name used above", remedy);
        }
        if let Some(place) = diver.skills.iter().position(|skill| skill.trim().is_empty()) {
            let remedy = "Write a word such as \"fish\", or take it out.";
            problems.add(&format!("diver[{index}].skills[{place}]"), "the skill is empty", "needs a word", remedy);
        }
    }
    if divers.len() < 2 {
        let message =
            format!("{} a day, but {} to dive", counted(expedition.boats.dives_a_day, "dive"), nobody_or_one(divers));
        let remedy = "Add a [[diver]] with its name for each; nobody dives alone.";
        problems.add("diver", message, "at least two [[diver]]", remedy);
        return;
    }
    if !pairs_are_right(file, expedition) {
        return;
    }
    if expedition.pairs.is_empty() {
        let remedy = "Write pairs = [[\"Ana\", \"Eli\"]] with the names of your divers, or take pairs out.";
        problems.add("expedition.pairs", "there is no pair", "at least one pair", remedy);
        return;
    }
    check_standby(expedition, problems);
    check_skills(file, study, expedition, problems);
    check_days(expedition, problems);
}

/// Divers who come before they leave, and work for every boat on every day for diving.
fn check_days(expedition: &Expedition, problems: &mut Problems) {
    let last = expedition.days.for_diving();
    // That no day is left has been told.
    if last == 0 {
        return;
    }
    let mut wrong = false;
    for (index, diver) in expedition.divers.iter().enumerate() {
        if diver.from_day > last {
            let message = format!("{} comes after the last day for diving", diver.name);
            let remedy = "Count the days for diving, without those under way, for check-out or kept.";
            problems.add(&format!("diver[{index}].from_day"), message, format!("at most {last}"), remedy);
            wrong = true;
        }
        if let Some(to_day) = diver.to_day.filter(|to_day| *to_day < diver.from_day) {
            let message = format!("{} leaves on day {to_day}, before coming on day {}", diver.name, diver.from_day);
            let remedy = "Raise to_day or lower from_day.";
            problems.add(&format!("diver[{index}].to_day"), message, format!("at least {}", diver.from_day), remedy);
            wrong = true;
        }
    }
    if wrong {
        return;
    }
    let needed = if expedition.standby == Standby::APairStaysUp { 2 } else { 1 };
    // Where the pairs are too few on any day, that has been told.
    if expedition.pairs.len() < needed * expedition.boats.number {
        return;
    }
    let on = |boat: usize| if expedition.boats.number > 1 { format!("on boat {boat}") } else { "aboard".to_owned() };
    if let Some(team) = expedition.teams().into_iter().find(|team| team.pairs.len() < needed) {
        let message =
            format!("from day {} for diving on there are {} pairs {}", team.from_day, team.pairs.len(), on(team.boat));
        let remedy =
            "Change from_day or to_day of the divers, or add a diver: it takes two who are aboard to make a pair.";
        problems.add("diver", message, format!("needs {needed} on every day"), remedy);
        return;
    }
    for work in &expedition.methods {
        let Some(skill) = &work.skill else { continue };
        let can = |pair: &(usize, usize)| expedition.can_work(work, *pair);
        let without = expedition.teams().into_iter().find(|team| !team.pairs.iter().any(can));
        if let Some(team) = without.filter(|_| expedition.pairs.iter().any(can)) {
            let message =
                format!("from day {} for diving on no pair {} has the skill \"{skill}\"", team.from_day, on(team.boat));
            let remedy = "Pairs are dealt to the boats in turn, as they are listed: change their order, from_day or to_day \
                          of the divers, or write the skill beside others.";
            problems.add("diver", message, "needs the skill on every boat and day", remedy);
            return;
        }
    }
}

/// Whether every pair that is written could be read; where a name of one is wrong, that has been told, and nothing that
/// follows from it is.
pub fn pairs_are_right(file: &ScenarioFile, expedition: &Expedition) -> bool {
    let written = file.expedition.as_ref().and_then(|table| table.pairs.as_ref());
    written.is_none_or(|pairs| pairs.len() == expedition.pairs.len())
}

fn nobody_or_one(divers: &[DiverSpec]) -> &'static str {
    if divers.is_empty() { "nobody" } else { "one diver alone" }
}

/// Pairs that go down on each dive and that one of them which stays up, on every boat.
fn check_standby(expedition: &Expedition, problems: &mut Problems) {
    let (pairs, boats) = (expedition.pairs.len(), expedition.boats.number);
    if pairs < boats {
        let message = format!("{}, but {}", counted(boats, "boat"), counted(pairs, "pair"));
        problems.add(
            "expedition.boats",
            message,
            format!("at most {pairs}"),
            "Each boat needs a pair: lower boats, or add divers.",
        );
    } else if expedition.standby == Standby::APairStaysUp && pairs < 2 * boats {
        let message = "where a pair of each boat stays up, some boat has nobody left to dive";
        let remedy =
            "Add divers, or lower boats. Who stands by is not for this program to change: ask the diving officer.";
        problems.add("expedition.standby", message, format!("needs at least {} pairs", 2 * boats), remedy);
    }
}

fn check_skills(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    let mut known: Vec<&str> = Vec::new();
    for skill in expedition.divers.iter().flat_map(|diver| &diver.skills) {
        if !known.contains(&skill.as_str()) {
            known.push(skill);
        }
    }
    // What is wrong with a skill is told once, at the first method that needs it.
    let mut told: Vec<&str> = Vec::new();
    for (work, part) in expedition.methods.iter().zip(file.method.parts()) {
        let Some(skill) = work.skill.as_deref().filter(|skill| !told.contains(skill)) else { continue };
        let key = format!("{}.work.skill", part.path);
        if !known.contains(&skill) {
            let others = expedition.methods.iter().filter(|other| other.skill.as_deref() == Some(skill)).count() - 1;
            let also = match others {
                0 => String::new(),
                1 => ", which another method needs too".to_owned(),
                _ => format!(", which {others} other methods need too"),
            };
            let hint = nearest(skill, &known).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
            let list = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
            let remedy = format!(
                "{hint}Skills of the divers here: {list}. Write the same word in the work of methods and in the skills of a \
                 [[diver]]."
            );
            problems.add(&key, format!("no diver has the skill \"{skill}\"{also}"), "no such skill", remedy);
            told.push(skill);
            continue;
        }
        let able: Vec<(usize, usize)> =
            expedition.pairs.iter().copied().filter(|pair| expedition.can_work(work, *pair)).collect();
        if able.is_empty() {
            let who = if work.takes_both { "no pair has it twice, and this work takes both" } else { "no pair has it" };
            let message = format!("{who}: \"{skill}\"");
            let remedy = "Change pairs, or write the skill beside the divers who have it; a spare diver does not dive.";
            problems.add(&key, message, "needs a pair", remedy);
            told.push(skill);
            continue;
        }
        for (diving, zone) in expedition.zones.iter().zip(&study.zones) {
            if !able.iter().any(|pair| expedition.may_dive(diving, *pair)) {
                let message = format!(
                    "{}: no pair with the skill \"{skill}\" is authorised to {} m",
                    zone.name,
                    number(diving.depth_m)
                );
                let remedy = "Change pairs, or choose shallower sites. Nobody dives deeper than authorised.";
                problems.add(&key, message, "needs a pair in each zone", remedy);
                told.push(skill);
                break;
            }
        }
    }
}
