//! How fish are counted, and which fish there are, in words.

use super::words::plain;
use crate::design::{FishGroup, Zone};
use crate::measures::without_zeros;
use crate::reef::BetweenSites;
use crate::reef::fish::{Movement, SchoolLaw, SchoolSizes, Sighting};
use crate::survey::MethodKind;
use crate::survey::fish_sheet::ClassValue;
use crate::survey::swim::{CountingRule, FishCount};

/// "Fish belts, 30 x 2 m in 8 min or 30 x 5 m in 8 min"; empty for what counts no fish.
pub fn units(kind: &MethodKind) -> String {
    let name = match kind {
        MethodKind::FishBelt { .. } => "Fish belts",
        MethodKind::FishPointCount { .. } => "Fish point counts",
        _ => return String::new(),
    };
    let sizes: Vec<String> = kind.dimensions().into_iter().map(|dimensions| dimensions.label()).collect();
    format!("{name}, {}", sizes.join(" or "))
}

/// "what is in the 2 m ahead of the diver, stretch by stretch"
pub fn rule(kind: &MethodKind) -> String {
    match kind {
        MethodKind::FishBelt { rule: CountingRule::WholeSwim, .. } => {
            "all that is in the belt at any moment of the swim".into()
        }
        MethodKind::FishBelt { rule: CountingRule::MovingWindow { depth_m }, .. } => {
            format!("what is in the {} m ahead of the diver, stretch by stretch", plain(*depth_m))
        }
        MethodKind::FishBelt { rule: CountingRule::Abreast, .. } => "what crosses the line abreast of the diver".into(),
        MethodKind::FishPointCount { whole_period: true, .. } => {
            "all that is in the circle at any moment of the count".into()
        }
        _ => "what is in the circle at one moment".into(),
    }
}

/// "lengths are read with an SD of 10 %, written in classes of 5 cm (below 10 cm of 2.5 cm), and a class is taken for its middle"
pub fn lengths(count: &FishCount) -> String {
    let reader = &count.lengths;
    let mut text = if reader.cv > 0.0 {
        format!("lengths are read with an SD of {} %", plain(100.0 * reader.cv))
    } else {
        "lengths are read without error".to_owned()
    };
    if reader.bias != 0.0 {
        let side = if reader.bias > 0.0 { "long" } else { "short" };
        text += &format!(" and {} % too {side} in the mean", plain(100.0 * reader.bias.abs()));
    }
    let Some(classes) = reader.classes else { return text + " and written as they are read" };
    text += &format!(", written in classes of {} cm", plain(classes.width_cm));
    if let Some(fine) = classes.fine {
        text += &format!(" (below {} cm of {} cm)", plain(fine.below_cm), plain(fine.width_cm));
    }
    text + match reader.value {
        ClassValue::Midpoint => ", and a class is taken for its middle",
        ClassValue::Within => ", and a class has the mean weight of the lengths within it",
        ClassValue::UpperLimit => ", and a class is taken for its upper limit",
    }
}

/// "the distance to the edge is judged 11.7 % too short in the mean, with an SD of 21.4 % from unit to unit"; empty where it is
/// exact.
pub fn edge(count: &FishCount) -> String {
    let width = count.width;
    let mut parts = Vec::new();
    if width.error != 0.0 {
        let side = if width.error > 0.0 { "long" } else { "short" };
        parts.push(format!("{} % too {side} in the mean", one_decimal(100.0 * width.error.abs())));
    }
    if width.sd > 0.0 {
        parts.push(format!("with an SD of {} % from unit to unit", one_decimal(100.0 * width.sd)));
    }
    if parts.is_empty() { String::new() } else { format!("the distance to the edge is judged {}", parts.join(", ")) }
}

fn one_decimal(value: f64) -> String {
    without_zeros(&format!("{value:.1}")).into()
}

/// What is else told of a count: hidden fish, divers before, how far one sees. Sentences.
pub fn besides(kind: &MethodKind) -> String {
    let mut text = String::new();
    if let MethodKind::FishBelt { way_back: Some(back), .. } = kind {
        text += &format!(
            " Fish that hide are counted on the way back alone, in a belt {} m wide, and told per area of that belt.",
            plain(back.width_m)
        );
    }
    let Some(count) = kind.fish_count() else { return text };
    if count.left_by_others < 1.0 {
        text += &format!(
            " Other divers work before the count: {} % of the fish are still there.",
            plain(100.0 * count.left_by_others)
        );
    }
    if let Some(clear) = count.visibility_m {
        text += &format!(" Fish are seen as far as {} m.", plain(clear));
    }
    text
}

/// "outer edge: parrotfish (8 per 100 m2, between sites SD 60 %, a site's own years SD 25 %; 20 cm in the mean with CV 30 %,
/// weight 0.0211 L^3.05 g; schools of 3 in the mean spread by 1 m; swimming at 0.05 m/s; seen by a half-normal of scale 4 m), ..."
pub fn fish_of_zone(zone: &Zone) -> String {
    let groups: Vec<String> = zone.fish.iter().map(group).collect();
    format!("{}: {}", zone.name, groups.join(", "))
}

fn group(group: &FishGroup) -> String {
    let spec = &group.spec;
    let schools = match spec.schools {
        SchoolLaw::Alone => "each alone".to_owned(),
        SchoolLaw::Pairs => "in pairs".to_owned(),
        law => {
            let kind = match law {
                SchoolLaw::LogNormal { .. } => "lognormal",
                SchoolLaw::Logarithmic { .. } => "logarithmic series",
                _ => "Poisson",
            };
            format!("schools of {} in the mean ({kind})", plain(SchoolSizes::new(law).mean()))
        }
    };
    let swims = match spec.movement {
        Movement::Still => "not moving".to_owned(),
        Movement::Straight { speed_m_s } => format!("swimming straight on at {} m/s", plain(speed_m_s)),
        Movement::Turning { speed_m_s, tau_s } => {
            format!("swimming at {} m/s, {}", plain(speed_m_s), turns(tau_s))
        }
        Movement::HomeRange { speed_m_s, tau_s, radius_m } => {
            format!("swimming at {} m/s within {} m of its home, {}", plain(speed_m_s), plain(radius_m), turns(tau_s))
        }
    };
    let schools = match spec.schools {
        SchoolLaw::Alone => schools,
        _ => format!("{schools} spread by {} m", plain(spec.spread_m)),
    };
    let patches = spec
        .places
        .patches
        .as_ref()
        .map_or(String::new(), |patches| format!(", in patches of scale {} m", plain(patches.scale_m)));
    let coral = [("its site", group.with_coral), ("its patches", group.with_coral_patches)];
    let coral: String = coral
        .into_iter()
        .filter(|(_, power)| *power != 0.0)
        .map(|(of, power)| format!(", with the coral of {of} to the power {}", plain(power)))
        .collect();
    format!(
        "{} ({} per 100 m2, between sites {}, a site's own years {}{patches}{coral}; {} cm in the mean with CV {} %, weight {} L^{} g; \
         {schools}; {swims}; {}{}{})",
        group.name.replace('_', " "),
        plain(100.0 * spec.places.density_per_m2),
        spread(spec.places.between_sites),
        spread(spec.places.site_year),
        plain(spec.lengths.mean_cm),
        plain(100.0 * spec.lengths.cv),
        spec.weight.a,
        spec.weight.b,
        sight(&spec.sighting),
        if group.hides { ", hidden in holes" } else { "" },
        if group.later_sighting.is_some() { ", seen otherwise at the second visit" } else { "" }
    )
}

/// The law of turning: "turning to any heading after exponential times of 10 s in the mean".
pub fn turns(tau_s: f64) -> String {
    format!("turning to any heading after exponential times of {} s in the mean", plain(tau_s))
}

/// "SD 60 %"
fn spread(of: BetweenSites) -> String {
    match of {
        BetweenSites::Share(share) => format!("SD {} %", plain(100.0 * share)),
        BetweenSites::LnSd(sd) => format!("SD {} of ln", plain(sd)),
    }
}

/// "seen by a half-normal of scale 4 m, 15 % on the line flee (over 1 m), half seen at 6 cm"
fn sight(of: &Sighting) -> String {
    let mut parts = vec![match of.scale_m {
        Some(scale) => format!("seen by a half-normal of scale {} m", plain(scale)),
        None => "seen at any distance".to_owned(),
    }];
    if of.seen < 1.0 {
        parts.push(format!("{} % are out to be seen", plain(100.0 * of.seen)));
    }
    if of.shy != 0.0 {
        let what = if of.shy > 0.0 { "on the line flee" } else { "more come to look" };
        parts.push(format!("{} % {what} (over {} m)", plain(100.0 * of.shy.abs()), plain(of.shy_m)));
    }
    if let Some(half) = of.half_seen_cm {
        parts.push(format!("half seen at {} cm", plain(half)));
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::fish_sheet::{FineClasses, LengthClasses, LengthReader, WidthReader};

    #[test]
    fn counts_are_told_as_they_are() {
        let classes = LengthClasses { width_cm: 5.0, fine: Some(FineClasses { width_cm: 2.5, below_cm: 10.0 }) };
        let lengths_of = LengthReader { bias: -0.05, cv: 0.1, classes: Some(classes), value: ClassValue::UpperLimit };
        let count = FishCount {
            width: WidthReader { error: -0.117, sd: 0.214 },
            left_by_others: 0.48,
            lengths: lengths_of,
            visibility_m: Some(8.0),
        };
        assert_eq!(
            lengths(&count),
            "lengths are read with an SD of 10 % and 5 % too short in the mean, written in classes of 5 cm (below 10 cm of 2.5 cm), \
             and a class is taken for its upper limit"
        );
        assert_eq!(
            edge(&count),
            "the distance to the edge is judged 11.7 % too short in the mean, with an SD of 21.4 % from unit to unit"
        );
        assert_eq!(edge(&FishCount { width: WidthReader::EXACT, ..count }), "");
        assert_eq!(turns(10.0), "turning to any heading after exponential times of 10 s in the mean");
        let point = MethodKind::FishPointCount { radius_m: vec![7.5], minutes: vec![5.0], whole_period: false, count };
        assert_eq!(rule(&point), "what is in the circle at one moment");
        assert_eq!(units(&point), "Fish point counts, radius 7.5 m, 5 min");
        assert_eq!(
            besides(&point),
            " Other divers work before the count: 48 % of the fish are still there. Fish are seen as far as 8 m."
        );
    }
}
