//! Names of methods of one kind and size that differ in how they are done.

use super::coral_belt::EdgeRule;
use super::fish_sheet::ClassValue;
use super::method::{MethodKind, MethodSpec};
use super::swim::{CountingRule, FishCount};

/// Between the kind of a method and how it is done.
const HOW: &str = ": ";

/// The kind of a method and, where its name tells it, how it is done.
pub fn kind_and_how(name: &str) -> (&str, Option<&str>) {
    name.split_once(HOW).map_or((name, None), |(kind, how)| (kind, Some(how)))
}

/// The name of a method among all of a study: that of its kind, and where another of this kind has units of the same size, how
/// it is done: "fish_belt: whole swim". What all of them do alike is not told; those that differ in nothing that is told here
/// are numbered.
pub fn method_name(methods: &[MethodSpec], index: usize) -> String {
    let own = &methods[index].kind;
    let sizes = own.dimensions();
    let is_alike = |other: &MethodKind| {
        other.name() == own.name() && other.dimensions().iter().any(|dimensions| sizes.contains(dimensions))
    };
    let alike: Vec<usize> = (0..methods.len()).filter(|&other| is_alike(&methods[other].kind)).collect();
    if alike.len() < 2 || matches!(own, MethodKind::Components(_)) {
        return own.name().to_owned();
    }
    let traits: Vec<Vec<String>> = alike.iter().map(|&other| done(&methods[other].kind)).collect();
    let place = alike.iter().position(|&other| other == index).unwrap_or(0);
    let differ = (0..traits[place].len()).filter(|&t| traits.iter().any(|other| other[t] != traits[place][t]));
    let mut how: Vec<String> = differ.map(|t| traits[place][t].clone()).filter(|words| !words.is_empty()).collect();
    let twins: Vec<usize> = (0..alike.len()).filter(|&other| traits[other] == traits[place]).collect();
    if twins.len() > 1 {
        how.push(format!("no. {}", 1 + twins.iter().position(|&twin| twin == place).unwrap_or(0)));
    }
    // One that differs from the others by what it lacks.
    if how.is_empty() { own.name().to_owned() } else { format!("{}{HOW}{}", own.name(), how.join(", ")) }
}

/// How a method is done, in as many words for each of a kind; empty where there is nothing to say.
fn done(kind: &MethodKind) -> Vec<String> {
    match kind {
        MethodKind::FishBelt { rule, count, way_back, .. } => {
            let rule = match rule {
                CountingRule::WholeSwim => "whole swim".into(),
                CountingRule::MovingWindow { depth_m } => format!("{depth_m} m ahead"),
                CountingRule::Abreast => "abreast".into(),
            };
            let back = way_back.map_or(String::new(), |back| format!("{} m on the way back", back.width_m));
            [vec![rule, back], of_count(count)].concat()
        }
        MethodKind::FishPointCount { whole_period, count, .. } => {
            let rule = if *whole_period { "whole period" } else { "snapshot" };
            [vec![rule.into()], of_count(count)].concat()
        }
        MethodKind::CoralBelt { belt, .. } => vec![
            match belt.edge {
                EdgeRule::CentreIn => "centre in",
                EdgeRule::AnyPartIn => "any part in",
                EdgeRule::WhollyIn => "wholly in",
                EdgeRule::TwoEdges => "two edges",
            }
            .into(),
        ],
        _ => Vec::new(),
    }
}

fn of_count(count: &FishCount) -> Vec<String> {
    let reader = &count.lengths;
    let percent = |share: f64| format!("{} %", (1000.0 * share).round() / 10.0);
    vec![
        reader.classes.map_or("lengths as read".into(), |classes| format!("classes of {} cm", classes.width_cm)),
        match reader.value {
            ClassValue::Midpoint => "midpoint",
            ClassValue::Within => "within class",
            ClassValue::UpperLimit => "upper limit",
        }
        .into(),
        format!("lengths off by {}", percent(reader.bias)),
        format!("SD of lengths {}", percent(reader.cv)),
        format!("width off by {}", percent(count.width.error)),
        format!("SD of width {}", percent(count.width.sd)),
        if count.left_by_others < 1.0 { "after others".into() } else { "before others".into() },
        count.visibility_m.map_or("clear water".into(), |clear| format!("{clear} m visibility")),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::fish_sheet::{LengthReader, WidthReader};
    use crate::survey::{UnitMinutes, unit_of};

    fn belt(rule: CountingRule, left_by_others: f64, length_m: f64) -> MethodSpec {
        let lengths = LengthReader { bias: 0.0, cv: 0.1, classes: None, value: ClassValue::Midpoint };
        let width = WidthReader { error: 0.0, sd: 0.0 };
        let kind = MethodKind::FishBelt {
            length_m: vec![length_m],
            width_m: vec![2.0],
            swim_minutes: vec![8.0],
            rule,
            count: FishCount { width, left_by_others, lengths, visibility_m: None },
            way_back: None,
        };
        MethodSpec { kind, units: vec![4], minutes: UnitMinutes { lay: 1.0, read: 8.0, ashore: None } }
    }

    fn names(methods: &[MethodSpec]) -> Vec<String> {
        (0..methods.len()).map(|method| method_name(methods, method)).collect()
    }

    #[test]
    fn methods_of_one_size_are_told_apart_by_how_they_are_done() {
        let (swim, ahead) = (CountingRule::WholeSwim, CountingRule::MovingWindow { depth_m: 2.0 });
        let all = [belt(swim, 1.0, 30.0), belt(ahead, 1.0, 30.0), belt(ahead, 0.5, 30.0), belt(swim, 1.0, 50.0)];
        let own = ["fish_belt: whole swim, before others", "fish_belt: 2 m ahead, before others"];
        assert_eq!(names(&all), [own[0], own[1], "fish_belt: 2 m ahead, after others", "fish_belt"]);
        assert_eq!(names(&all[1..3]), ["fish_belt: before others", "fish_belt: after others"]);
        assert_eq!(names(&[all[0].clone(), all[0].clone()]), ["fish_belt: no. 1", "fish_belt: no. 2"]);
        assert_eq!(kind_and_how(own[0]), ("fish_belt", Some("whole swim, before others")));
        assert_eq!((kind_and_how("fish_belt"), unit_of(own[0])), (("fish_belt", None), "belt"));
    }
}
