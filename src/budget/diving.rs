//! What every output that shows dives must say. Nothing here computes decompression, residual nitrogen, gas reserves or
//! altitude, and nothing gives a pass mark.

use super::cautions;
use crate::design::{Expedition, Study, ZoneDiving};

/// Stands first on every screen, page and sheet that shows dives.
pub const BANNER: &str = "This is an effort budget for comparing survey designs. It is not a dive plan. It knows nothing of \
    your divers' health, training, previous dives, equipment, currents or emergency cover. The diving officer or supervisor on \
    site, your institution's rules, national law, your tables or computers, and the weather decide every dive.";

/// Said wherever a diver dives more than once a day.
pub const FIRST_DIVE_ONLY: &str = "The published limit was applied to each dive as if it were the first (US Navy Diving Manual, \
    Revision 7, 2016, Table 9-7). Later dives on the same day have less time than shown. This program does not work that out.";

/// The same for a sheet that has little room.
pub const FIRST_DIVE_ONLY_SHORT: &str = "More than one dive on this day: the published limit (US Navy, Revision 7) was applied \
    to each as if it were the first; later ones have less time than shown.";

/// Where the limits are from.
pub const LIMITS_SOURCE: &str = "US Navy Diving Manual, Revision 7, 2016, Table 9-7, from a transcription";

/// No-stop limits in air for a first dive: feet of sea water, and minutes from leaving the surface to leaving the bottom
/// (US Navy Diving Manual SS521-AG-PRO-010, Revision 7, 1 December 2016, Table 9-7; a transcription of a work in the public
/// domain, to be compared with the official document). 10, 15 and 20 feet have no limit.
const LIMITS: [(f64, f64); 24] = [
    (10.0, f64::INFINITY),
    (15.0, f64::INFINITY),
    (20.0, f64::INFINITY),
    (25.0, 1102.0),
    (30.0, 371.0),
    (35.0, 232.0),
    (40.0, 163.0),
    (45.0, 125.0),
    (50.0, 92.0),
    (55.0, 74.0),
    (60.0, 63.0),
    (70.0, 48.0),
    (80.0, 39.0),
    (90.0, 33.0),
    (100.0, 25.0),
    (110.0, 20.0),
    (120.0, 15.0),
    (130.0, 12.0),
    (140.0, 10.0),
    (150.0, 8.0),
    (160.0, 7.0),
    (170.0, 6.0),
    (180.0, 6.0),
    (190.0, 5.0),
];

const METRES_A_FOOT: f64 = 0.3048;

/// Ascent of at most 9 m (30 feet) a minute: US Navy Diving Manual, as quoted in scientific diving standards.
const ASCENT_M_A_MINUTE: f64 = 9.0;
/// The shorter of the usual stops of 3 to 5 minutes (common practice, no source).
const STOP_MINUTES: f64 = 3.0;

/// Minutes that ascent from a depth and a stop take at least: part of the time of every dive, never shortened.
pub fn ascent_and_stop(depth_m: f64) -> f64 {
    depth_m / ASCENT_M_A_MINUTE + STOP_MINUTES
}

/// The line of the table for the deepest point of a dive: feet of sea water (rounded up) and minutes. `None`: deeper than
/// the table goes.
pub fn first_dive_limit(depth_m: f64) -> Option<(f64, f64)> {
    LIMITS.into_iter().find(|(feet, _)| depth_m <= feet * METRES_A_FOOT + 1e-9)
}

/// What must be said of a planned bottom time at a depth: nothing, or that it is beyond the published limit.
pub fn flag(depth_m: f64, bottom_minutes: f64) -> Option<String> {
    match first_dive_limit(depth_m) {
        None => {
            Some(format!("{depth_m} m is deeper than the published table goes (190 feet, 57.9 m): not planned here."))
        }
        Some((feet, minutes)) if bottom_minutes > minutes => Some(format!(
            "The planned bottom time of {bottom_minutes} min at {depth_m} m is longer than the {minutes} min printed for a \
             first air dive at {feet} feet ({LIMITS_SOURCE}). Take this to the diving officer before it goes into any \
             schedule. Being under it would not make it acceptable."
        )),
        Some(_) => None,
    }
}

/// The same, with who has decided on it.
pub fn flag_with(depth_m: f64, bottom_minutes: f64, is_decided: bool) -> Option<String> {
    let decided = if is_decided { " The scenario says that the diving officer has decided on it." } else { "" };
    flag(depth_m, bottom_minutes).map(|flag| flag + decided)
}

/// What must be said of the dives of a zone: of bottom time, depth and current.
pub fn cautions_of(diving: &ZoneDiving) -> [Option<String>; 3] {
    [
        flag_with(diving.depth_m, diving.bottom_minutes, diving.is_decided()),
        cautions::deep(diving.depth_m),
        diving.current_knots.and_then(cautions::strong_current),
    ]
}

/// Why nothing is put on days: zones whose bottom time is longer than the limit published for a first dive, while nobody says
/// that the diving officer has decided.
pub fn undecided(study: &Study, expedition: &Expedition) -> Option<String> {
    let zones = study.zones.iter().zip(&expedition.zones);
    let is_open = |of: &ZoneDiving| !of.is_decided() && flag(of.depth_m, of.bottom_minutes).is_some();
    let open: Vec<&str> = zones.filter(|(_, of)| is_open(of)).map(|(zone, _)| zone.name.as_str()).collect();
    not_scheduled(&open)
}

fn not_scheduled(zones: &[&str]) -> Option<String> {
    (!zones.is_empty()).then(|| {
        format!(
            "No schedule and no sheets are made: in {} the bottom time is longer than the limit published for a first dive, and \
             nobody says that the diving officer has decided on it. Once that is so, write diving_officer_decided = \
             {{ minutes = ..., depth_m = ... }} into its [zone.dive], with what was decided: longer or deeper dives are not covered.",
            zones.join(", ")
        )
    })
}

/// The same for a sheet that has little room.
pub fn flag_in_short(depth_m: f64, bottom_minutes: f64) -> Option<String> {
    let (feet, minutes) = first_dive_limit(depth_m).filter(|(_, minutes)| bottom_minutes > *minutes)?;
    Some(format!(
        "{bottom_minutes} min at {depth_m} m is longer than the {minutes} min printed for a first air dive at {feet} feet (US \
         Navy, Revision 7, a transcription): the diving officer decides before anybody dives."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Depths in metres go to the next line of the table; at its edges by the foot (computed: 1 foot = 0.3048 m).
    #[test]
    fn metres_go_to_the_next_line_of_the_table() {
        let lines = [
            (10.0, 35.0, 232.0),
            (12.0, 40.0, 163.0),
            (15.0, 50.0, 92.0),
            (15.24, 50.0, 92.0),
            (15.25, 55.0, 74.0),
            (18.0, 60.0, 63.0),
            (18.288, 60.0, 63.0),
            (18.3, 70.0, 48.0),
            (20.0, 70.0, 48.0),
            (25.0, 90.0, 33.0),
            (30.0, 100.0, 25.0),
            (39.6, 130.0, 12.0),
            (40.0, 140.0, 10.0),
        ];
        for (depth, feet, minutes) in lines {
            assert_eq!(first_dive_limit(depth), Some((feet, minutes)), "{depth}");
        }
        assert_eq!(first_dive_limit(5.0), Some((20.0, f64::INFINITY)));
        assert_eq!(first_dive_limit(58.0), None);
    }

    #[test]
    fn what_is_beyond_the_table_is_flagged() {
        let feet = |feet: f64| feet * METRES_A_FOOT;
        for (depth, minutes, flagged) in
            [(60.0, 63.0, false), (60.0, 64.0, true), (61.0, 48.0, false), (61.0, 49.0, true), (20.0, 900.0, false)]
        {
            assert_eq!(flag(feet(depth), minutes).is_some(), flagged, "{depth} {minutes}");
        }
        assert!(flag(feet(191.0), 1.0).unwrap().contains("deeper than"));
        assert_eq!(flag_in_short(18.0, 63.0), None);
        assert!(flag_in_short(18.0, 64.0).unwrap().starts_with("64 min at 18 m is longer than the 63 min"));
    }

    #[test]
    fn what_is_beyond_the_table_is_scheduled_once_somebody_has_decided() {
        assert_eq!(flag_with(18.0, 63.0, true), None);
        assert_eq!(flag_with(18.0, 64.0, false), flag(18.0, 64.0));
        assert!(flag_with(18.0, 64.0, true).unwrap().ends_with("the diving officer has decided on it."));
        assert_eq!(not_scheduled(&[]), None);
        assert!(not_scheduled(&["wall", "rim"]).unwrap().contains("in wall, rim the bottom time is longer"));
    }

    /// Computed: 30 feet are 9.1 m, 75 feet a minute are 22.86 m a minute.
    #[test]
    fn an_ascent_takes_its_time() {
        assert!((ascent_and_stop(18.0) - 5.0).abs() < 1e-12);
        assert!(ASCENT_M_A_MINUTE <= 30.0 * METRES_A_FOOT && (75.0 * METRES_A_FOOT - 22.86).abs() < 1e-12);
    }

    /// No output may call a dive anything but work that somebody else decides about.
    #[test]
    fn the_words_promise_nothing() {
        let short = [FIRST_DIVE_ONLY_SHORT.to_owned(), flag_in_short(30.0, 60.0).unwrap()];
        let long = [BANNER.to_owned(), FIRST_DIVE_ONLY.to_owned(), flag(30.0, 60.0).unwrap()];
        for text in long.into_iter().chain(short) {
            let lower = text.to_lowercase();
            assert!(!["safe", "compliant", "approved", "allowed"].iter().any(|word| lower.contains(word)), "{text}");
        }
    }
}
