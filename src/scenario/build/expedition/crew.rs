use super::Notes;
use crate::design::DiverSpec;
use crate::scenario::file::{ExpeditionTable, ScenarioFile};
use crate::scenario::near::nearest;
use crate::scenario::problems::Problems;

pub fn divers(file: &ScenarioFile) -> Vec<DiverSpec> {
    let divers = file.diver.iter().map(|table| DiverSpec {
        name: table.name.clone(),
        skills: table.skills.clone(),
        depth_m: table.depth_m.map(|depth| depth.get()),
        from_day: table.from_day.map_or(1, |day| day.get()),
        to_day: table.to_day.map(|day| day.get()),
    });
    divers.collect()
}

/// What the assumption is about where nobody told who dives with whom.
pub const PAIRS_AS_LISTED: &str = "pairs, as the divers are listed";

/// Pairs by their names, or the divers two by two as they are listed.
pub fn pairs(
    table: &ExpeditionTable,
    divers: &[DiverSpec],
    notes: &mut Notes,
    problems: &mut Problems,
) -> Vec<(usize, usize)> {
    let Some(written) = &table.pairs else {
        let pairs: Vec<(usize, usize)> = (0..divers.len() / 2).map(|pair| (2 * pair, 2 * pair + 1)).collect();
        let names = pairs.iter().map(|(one, other)| format!("{} and {}", divers[*one].name, divers[*other].name));
        notes.plan("pairs", PAIRS_AS_LISTED, false, names.collect::<Vec<_>>().join(", "));
        return pairs;
    };
    let mut pairs = Vec::new();
    let mut met: Vec<usize> = Vec::new();
    for (index, pair) in written.iter().enumerate() {
        let mut place = |which: usize| {
            let (key, name) = (format!("expedition.pairs[{index}][{which}]"), &pair.0[which]);
            let known: Vec<&str> = divers.iter().map(|diver| diver.name.as_str()).collect();
            let Some(place) = known.iter().position(|known| known == name) else {
                let hint = nearest(name, &known).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
                let remedy = format!("{hint}Divers here: {}.", known.join(", "));
                problems.add(&key, format!("there is no diver \"{name}\""), "no such [[diver]]", remedy);
                return None;
            };
            if met.contains(&place) {
                let message = format!("{name} is in two places of the pairs");
                let remedy = "Each diver belongs to one pair; a diver in none is a spare.";
                problems.add(&key, message, "named before", remedy);
                return None;
            }
            met.push(place);
            Some(place)
        };
        if let (Some(one), Some(other)) = (place(0), place(1)) {
            pairs.push((one, other));
        }
    }
    pairs
}
