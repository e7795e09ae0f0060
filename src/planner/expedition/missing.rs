//! What-ifs in which somebody is missing: those who are left are paired anew.

use super::known::Known;
use super::pairings::paired_anew;
use crate::design::{DiverSpec, Expedition};
use crate::engine::Plan;
use crate::survey::Dimensions;

/// The expedition without some of its pairs, one after the other, who stay at home; with the names of the two.
pub fn one_pair_fewer(
    plan: &Plan,
    expedition: &Expedition,
    dimensions: &[Dimensions],
    known: &Known,
) -> Vec<(String, Expedition)> {
    if expedition.pairs.len() < 2 {
        return Vec::new();
    }
    let mut kinds: Vec<[&DiverSpec; 2]> = Vec::new();
    let mut all = Vec::new();
    for &(one, other) in &expedition.pairs {
        let pair = [&expedition.divers[one], &expedition.divers[other]];
        if !expedition.pairs_told && kinds.iter().any(|known| are_alike(known, &pair)) {
            continue;
        }
        kinds.push(pair);
        let left = without(expedition, &[one, other]);
        let paired = if expedition.pairs_told { None } else { paired_anew(plan, &left, dimensions, known) };
        all.push((format!("{} and {}", pair[0].name, pair[1].name), paired.unwrap_or(left)));
    }
    all
}

/// One diver of each kind missing all the time though still aboard; with the name.
pub fn one_ill(
    plan: &Plan,
    expedition: &Expedition,
    dimensions: &[Dimensions],
    known: &Known,
) -> Vec<(String, Expedition)> {
    let divers = &expedition.divers;
    let paired = |diver: &usize| expedition.pairs.iter().any(|&(one, other)| one == *diver || other == *diver);
    let mut all: Vec<(String, Expedition)> = Vec::new();
    let mut kinds: Vec<&DiverSpec> = Vec::new();
    for ill in (0..divers.len()).filter(paired) {
        if kinds.iter().any(|known| is_like(known, &divers[ill])) {
            continue;
        }
        kinds.push(&divers[ill]);
        let left = without(expedition, &[ill]);
        let there = paired_anew(plan, &left, dimensions, known).unwrap_or(left);
        // The diver stays in the list, because days aboard are paid, and dives nowhere.
        let back = |place: usize| if place < ill { place } else { place + 1 };
        let pairs: Vec<(usize, usize)> = there.pairs.iter().map(|&(one, other)| (back(one), back(other))).collect();
        if !pairs.is_empty() {
            let mut with = Expedition { pairs, boats: there.boats, ..expedition.clone() };
            with.divers[ill].depth_m = Some(0.0);
            all.push((divers[ill].name.clone(), with));
        }
    }
    all
}

fn are_alike(known: &[&DiverSpec; 2], pair: &[&DiverSpec; 2]) -> bool {
    let same = |a: usize, b: usize| is_like(known[0], pair[a]) && is_like(known[1], pair[b]);
    same(0, 1) || same(1, 0)
}

fn is_like(one: &DiverSpec, other: &DiverSpec) -> bool {
    DiverSpec { name: String::new(), ..one.clone() } == DiverSpec { name: String::new(), ..other.clone() }
}

/// The expedition without some divers and their pairs; a spare who is aboard as long takes the place of one who is missing.
fn without(expedition: &Expedition, gone: &[usize]) -> Expedition {
    let divers = &expedition.divers;
    let in_pairs = |diver: usize| expedition.pairs.iter().any(|&(one, other)| one == diver || other == diver);
    let covers = |spare: usize, of: usize| {
        divers[spare].from_day <= divers[of].from_day
            && divers[spare].to_day.unwrap_or(usize::MAX) >= divers[of].to_day.unwrap_or(usize::MAX)
    };
    let stands_in = |of: usize| match gone {
        [ill] if *ill == of => (0..divers.len()).find(|&spare| !in_pairs(spare) && covers(spare, of)),
        _ => (!gone.contains(&of)).then_some(of),
    };
    let place = |diver: usize| diver - gone.iter().filter(|gone| **gone < diver).count();
    let pair = |&(one, other): &(usize, usize)| Some((place(stands_in(one)?), place(stands_in(other)?)));
    let pairs: Vec<(usize, usize)> = expedition.pairs.iter().filter_map(pair).collect();
    let mut left = expedition.clone();
    let mut places = 0..;
    left.divers.retain(|_| places.next().is_some_and(|diver: usize| !gone.contains(&diver)));
    left.boats.number = left.boats.number.min(pairs.len());
    left.pairs = pairs;
    left
}
