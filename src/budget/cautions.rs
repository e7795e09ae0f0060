//! What a diving officer should see of loads, depths and flights. Nothing here is a limit: a caution is printed and changes
//! nothing, and no caution is no permission.

use crate::measures::counted;

/// Most dives a day of a diver without, and without strong, words: a judgement; no standard that could be read gives one.
const DIVES: usize = 3;
const DIVES_STRONGLY: usize = 4;
/// Minutes at the surface that are often advised (common practice, no source), and below which the US Navy's tables take two
/// dives for one (US Navy Diving Manual, Revision 7, Table 9-8, from a transcription).
const INTERVAL: f64 = 60.0;
const SAME_DIVE: f64 = 10.0;
/// 130 feet: normal working limit on air of the US Navy Diving Manual, and of 29 CFR 1910.424(b); 100 feet: below it that
/// rule, which is for commercial diving, asks for a chamber at the place.
const NORMAL_LIMIT_M: f64 = 39.6;
const CHAMBER_M: f64 = 30.5;
/// People on site that many rules ask for (US Navy Diving Manual, Revision 4, Figure 6-23: four for scuba).
const PEOPLE: usize = 4;
/// Knots (29 CFR 1910.424(b)(3), for commercial diving).
const CURRENT: f64 = 1.0;
/// Hours from the last dive to a flight: after one dive, and after several (DAN workshop on flying after diving, May 2002).
const FLIGHT_AFTER_ONE: f64 = 12.0;
const FLIGHT_AFTER_SEVERAL: f64 = 18.0;
/// From which difference and depth on a later deeper dive is said with more weight (Lang & Lehner eds., 2000, Reverse Dive
/// Profiles Workshop, Smithsonian Institution, from a transcription).
const MUCH_DEEPER_M: f64 = 12.0;
const DEEP_FOR_LATER_M: f64 = 40.0;

pub fn many_dives(a_day: usize) -> Option<String> {
    let strongly = if a_day > DIVES_STRONGLY { "far " } else { "" };
    (a_day > DIVES).then(|| {
        format!(
            "{a_day} dives a day of each diver is {strongly}more than scientific expeditions usually do (2 or 3). The diving \
             officer decides."
        )
    })
}

pub fn short_interval(minutes: f64) -> Option<String> {
    let same =
        if minutes < SAME_DIVE { " Under 10 minutes two dives count as one in the US Navy's tables." } else { "" };
    (minutes < INTERVAL).then(|| {
        format!(
            "{minutes} minutes at the surface between two dives is less than the hour that is often advised.{same} The diving \
             officer decides."
        )
    })
}

/// Of the divers of one boat; where people of the boat stand by, one at least besides them is on site.
pub fn few_people(divers: usize, crew_stands_by: bool) -> Option<String> {
    let people = divers + usize::from(crew_stands_by);
    let crew = if crew_stands_by { "at least one of the crew" } else { "nobody of the crew to stand by" };
    (people < PEOPLE).then(|| {
        format!(
            "{} to a boat and {crew}: where that makes fewer than four people on site, many rules ask for a \
             supervisor and a standby diver besides the pair. The diving officer decides.",
            counted(divers, "diver")
        )
    })
}

pub fn deep(depth_m: f64) -> Option<String> {
    if depth_m > NORMAL_LIMIT_M {
        Some(format!(
            "{depth_m} m is deeper than 130 feet (39.6 m), the normal working limit of the US Navy Diving Manual on air."
        ))
    } else {
        (depth_m > CHAMBER_M).then(|| {
            format!(
                "{depth_m} m is deeper than 100 feet (30.5 m): rules for commercial diving (29 CFR 1910.424) ask for a chamber at \
                 the place there."
            )
        })
    }
}

pub fn strong_current(knots: f64) -> Option<String> {
    (knots > CURRENT).then(|| {
        format!(
            "a current of {knots} knots is above the one knot against which rules for commercial diving (29 CFR 1910.424) let \
             nobody swim without a line. The diving officer decides."
        )
    })
}

/// Hours from the last dive to a flight by published advice, at the least.
pub fn hours_to_flight(several_dives: bool) -> f64 {
    if several_dives { FLIGHT_AFTER_SEVERAL } else { FLIGHT_AFTER_ONE }
}

const FLIGHT_ADVICE: &str = "published advice (DAN workshop, 2002) is 12 hours or more after one dive, 18 or more after several dives \
    or days of diving, and longer after decompression. It promises nothing.";

pub fn early_flight(hours_after_last_dive: f64, several_dives: bool) -> Option<String> {
    let is_early = hours_after_last_dive < hours_to_flight(several_dives);
    is_early.then(|| format!("The last dive ends {hours_after_last_dive} hours before departure; {FLIGHT_ADVICE}"))
}

/// What stands where the last dives do: the hours that are told, shorter than advised or not, or that none are.
pub fn flight(hours_after_last_dive: Option<f64>, several_dives: bool) -> String {
    let Some(hours) = hours_after_last_dive else {
        return format!(
            "How long after the last dive anybody flies is not told (flight_hours_after_last_dive): {FLIGHT_ADVICE}"
        );
    };
    early_flight(hours, several_dives).map_or_else(
        || format!("By the scenario the last dive ends {hours} hours before departure; {FLIGHT_ADVICE}"),
        |caution| format!("Shorter than advised: {caution}"),
    )
}

/// Of the deepest points of one boat's dives of a day, in their order.
pub fn deeper_later(depths_m: &[f64]) -> Option<String> {
    let pairs = depths_m.windows(2).map(|pair| (pair[0], pair[1]));
    let (before, after) =
        pairs.filter(|(before, after)| after > before).max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
    let much = after - before > MUCH_DEEPER_M || after > DEEP_FOR_LATER_M;
    let much = if much { " That is a lot: more than 12 m deeper, or beyond 40 m." } else { "" };
    Some(format!(
        "a dive to {after} m follows one to {before} m on the same day; many teams dive the deeper site first.{much} The diving \
         officer decides."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// After several dives and after one, at the hours of the advice and just below.
    #[test]
    fn flights() {
        for (hours, several, told) in
            [(17.0, true, true), (18.0, true, false), (12.0, false, false), (11.9, false, true)]
        {
            assert_eq!(early_flight(hours, several).is_some(), told, "{hours} {several}");
            assert_eq!(flight(Some(hours), several).starts_with("Shorter than advised"), told, "{hours} {several}");
            assert!(flight(Some(hours), several).contains(&format!("{hours} hours before departure")));
        }
        assert!(flight(None, true).contains("is not told") && flight(None, true).contains("18 or more"));
    }

    #[test]
    fn loads_depths_and_currents() {
        assert!(
            many_dives(3).is_none()
                && !many_dives(4).unwrap().contains("far")
                && many_dives(5).unwrap().contains("far")
        );
        assert!(short_interval(60.0).is_none() && !short_interval(59.0).unwrap().contains("count as one"));
        assert!(short_interval(9.0).unwrap().contains("count as one"));
        let people =
            [(2, true), (3, true), (3, false), (4, false)].map(|(divers, crew)| few_people(divers, crew).is_some());
        assert_eq!(people, [true, false, true, false]);
        assert!(
            deep(30.5).is_none() && deep(30.6).unwrap().contains("chamber") && deep(39.7).unwrap().contains("130 feet")
        );
        assert!(strong_current(1.0).is_none() && strong_current(1.1).is_some());
    }

    #[test]
    fn deeper_sites_later_in_a_day() {
        assert_eq!(deeper_later(&[20.0, 20.0, 8.0]), None);
        assert!(!deeper_later(&[8.0, 20.0]).unwrap().contains("a lot"));
        assert!(deeper_later(&[20.0, 6.0, 20.0]).unwrap().contains("a lot"));
    }
}
