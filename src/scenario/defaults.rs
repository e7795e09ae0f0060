use crate::reef::ReefSpec;
use crate::survey::{Dimensions, Frame, Placed};

/// Size of a site where none is written, metres.
pub const SITE_LENGTH_M: f64 = 100.0;
pub const SITE_WIDTH_M: f64 = 20.0;
/// How alike the sites of two zones at one place are: a guess between nothing in common and all. What it really is differs with
/// what is read; no source.
pub const PLACE_CORRELATION: f64 = 0.5;
/// Common practice, no source: 10 m lines, a reading every 10 cm.
pub const LINE_LENGTH_M: f64 = 10.0;
pub const SPACING_M: f64 = 0.1;
pub const BELT_WIDTH_M: f64 = 0.5;
pub const INVERTEBRATE_WIDTH_M: f64 = 1.0;
pub const ANIMAL_PATCH_SCALE_M: f64 = 25.0;
pub const PHOTO_POINTS: usize = 100;
pub const FRAMES: usize = 10;
pub const FRAME_POINTS: usize = 25;
pub const FRAME_LENGTH_M: f64 = 0.7;
pub const FRAME_WIDTH_M: f64 = 0.5;
/// Most units that are compared where none are written.
pub const MOST_UNITS: usize = 12;
pub const YEARS_APART: f64 = 1.0;
pub const ALPHA: f64 = 0.05;
pub const SEEN: f64 = 0.8;
pub const OBSERVERS: usize = 2;

/// Minutes to lay and to read one unit of the usual size where none are written: guesses, always listed as assumed.
const POINT_LINE_MINUTES: (f64, f64) = (3.0, 12.0);
const INTERCEPT_LINE_MINUTES: (f64, f64) = (3.0, 20.0);
const PHOTO_BELT_MINUTES: (f64, f64) = (3.0, 5.0);
const PHOTO_QUADRATS_MINUTES: (f64, f64) = (3.0, 5.0);
/// For a belt of 10 x 1 m.
const INVERTEBRATE_BELT_MINUTES: (f64, f64) = (3.0, 5.0);
const CORAL_BELT_MINUTES: (f64, f64) = (3.0, 25.0);
/// Common practice, no source: belts of 30 x 2 m swum in 8 minutes, circles of 7.5 m radius in 5 minutes.
pub const FISH_BELT_M: (f64, f64) = (30.0, 2.0);
pub const SWIM_MINUTES: f64 = 8.0;
pub const COUNT_RADIUS_M: f64 = 7.5;
pub const COUNT_MINUTES: f64 = 5.0;
/// Minutes to get to the start of a fish belt (the tape is laid behind the diver), and to settle at a point: guesses.
pub const FISH_LAY_MINUTES: f64 = 2.0;
/// Common practice, no source: lengths in classes of 5 cm.
pub const CLASS_CM: f64 = 5.0;
/// SD of an estimated length over the length: a guess; mean errors of 2.1 to 2.3 cm are published (Harvey, Fletcher and
/// Shortis 2001).
pub const LENGTH_READING_CV: f64 = 0.1;
/// Fish: how their density differs between sites and moves in a year, how their lengths differ, what schools are like, how
/// they turn and react; all guesses.
pub const FISH_BETWEEN_SITES: f64 = 0.6;
pub const FISH_SITE_YEAR: f64 = 0.3;
pub const FISH_LENGTH_CV: f64 = 0.3;
pub const ALIKE_IN_SCHOOL: f64 = 0.5;
pub const SCHOOL_SPREAD_M: f64 = 1.0;
pub const SCHOOL_LN_SD: f64 = 1.0;
pub const TURNING_S: f64 = 10.0;
pub const SHY_SCALE_M: f64 = 1.0;
/// SD of ln length over which fish come to be seen: a guess.
pub const SEEN_LN_SD: f64 = 0.3;
/// Weight of a fish of common shape, g and cm: a guess; 160 g at 20 cm.
pub const WEIGHT_A: f64 = 0.02;
pub const WEIGHT_B: f64 = 3.0;
/// Growth across of slow massive corals, m a year (common practice, no source: 1-2 cm).
pub const GROWTH_M: f64 = 0.015;
/// How the density of an animal differs between sites and moves in a year, as shares of its mean: guesses.
pub const ANIMAL_BETWEEN_SITES: f64 = 0.8;
pub const ANIMAL_SITE_YEAR: f64 = 0.3;
/// For ten quadrats of 25 x 25 cm (common practice, no source: 1-3 minutes each).
const RECRUIT_QUADRATS_MINUTES: (f64, f64) = (3.0, 20.0);
/// Common practice, no source: quadrats of 25 x 25 cm every metre.
pub const QUADRAT_M: f64 = 0.25;
pub const QUADRATS_EVERY_M: f64 = 1.0;
/// How the density of recruits differs between sites and moves in a year, as shares of its mean: guesses.
pub const RECRUIT_BETWEEN_SITES: f64 = 0.6;
pub const RECRUIT_SITE_YEAR: f64 = 0.3;
/// Share of the recruits that are under 2 cm: a guess.
pub const RECRUITS_UNDER_2_CM: f64 = 0.6;
/// Share of the recruits that are still there, and still recruits, after a year: a guess. Colonies that grow 1-2 cm across
/// in a year leave the class in two or three, and many die before.
const RECRUITS_AFTER_A_YEAR: f64 = 0.3;

/// Share of the recruits that are still recruits after some years, to the percent.
pub fn still_recruits(years: f64) -> f64 {
    libm::round(100.0 * libm::pow(RECRUITS_AFTER_A_YEAR, years)) / 100.0
}

/// Whether a kind of bottom is one on which recruits cannot live, by what its name says.
pub fn is_soft_bottom(name: &str) -> bool {
    ["sand", "silt", "mud"].iter().any(|part| name.contains(part))
}

/// Minutes to lay and to read a unit where none are written, to a tenth: those of the usual size, laying in proportion to the
/// length, reading to what there is to read ([`Dimensions::work`]).
pub fn minutes(dimensions: Dimensions) -> (f64, f64) {
    let frame = Frame {
        frame_length_m: FRAME_LENGTH_M,
        frame_width_m: FRAME_WIDTH_M,
        frames_placed: Placed::Stratified,
        points_placed: Placed::Random,
    };
    let length_m = LINE_LENGTH_M;
    let width_m = INVERTEBRATE_WIDTH_M;
    let (usual, (lay, read)) = match dimensions {
        Dimensions::PointIntercept { .. } => {
            (Dimensions::PointIntercept { length_m, spacing_m: SPACING_M }, POINT_LINE_MINUTES)
        }
        Dimensions::LineIntercept { .. } => (Dimensions::LineIntercept { length_m }, INTERCEPT_LINE_MINUTES),
        Dimensions::PhotoBelt { .. } => {
            (Dimensions::PhotoBelt { length_m, width_m: BELT_WIDTH_M, points: PHOTO_POINTS }, PHOTO_BELT_MINUTES)
        }
        Dimensions::PhotoQuadrats { .. } => (
            Dimensions::PhotoQuadrats { length_m, frames: FRAMES, points_a_frame: FRAME_POINTS, frame },
            PHOTO_QUADRATS_MINUTES,
        ),
        Dimensions::InvertebrateBelt { .. } => {
            (Dimensions::InvertebrateBelt { length_m, width_m }, INVERTEBRATE_BELT_MINUTES)
        }
        Dimensions::CoralBelt { .. } => (Dimensions::CoralBelt { length_m, width_m }, CORAL_BELT_MINUTES),
        Dimensions::RecruitQuadrats { .. } => (
            Dimensions::RecruitQuadrats { length_m, quadrat_m: QUADRAT_M, every_m: QUADRATS_EVERY_M },
            RECRUIT_QUADRATS_MINUTES,
        ),
        // The tape is laid behind the diver, and the minutes of the count are those of the swim or the watch.
        Dimensions::FishBelt { swim_minutes: minutes, .. }
        | Dimensions::FishPointCount { count_minutes: minutes, .. } => return (FISH_LAY_MINUTES, minutes),
        Dimensions::Components => return OTHER_MINUTES,
    };
    let tenth = |minutes: f64| ((10.0 * minutes).round() / 10.0).max(0.1);
    let longer = dimensions.length_m().unwrap_or(length_m) / length_m;
    (tenth(lay * longer), tenth(read * dimensions.work() / usual.work()))
}

/// Minutes of a dive that are no work, and of a unit besides laying and reading: guesses, always listed as assumed.
pub const DESCENT_MINUTES: f64 = 2.0;
pub const ARRIVAL_MINUTES: f64 = 4.0;
pub const RETURN_MINUTES: f64 = 3.0;
pub const SPARE_MINUTES: f64 = 3.0;
pub const MOVE_MINUTES: f64 = 1.0;
pub const SET_UP_MINUTES: f64 = 2.0;
/// To set the marks of a unit, and to find them again: guesses.
pub const MARK_MINUTES: f64 = 4.0;
pub const FIND_MINUTES: f64 = 2.0;
/// SD of the minutes of a unit over their mean: a guess.
pub const MINUTES_SPREAD: f64 = 0.25;
/// How sure a dive is finished, and the targets are reached in spite of lost days.
pub const FINISH_CHANCE: f64 = 0.9;
pub const CHANCE_WANTED: f64 = 0.9;
/// With two sites in a zone its spread is hardly known.
pub const LEAST_SITES: usize = 3;
/// Most sites of a zone where neither they nor those that exist are told.
pub const MOST_SITES: usize = 30;

pub const GROUP_SPREAD_M: f64 = 0.5;
const OTHER_MINUTES: (f64, f64) = (0.0, 10.0);

/// SD of ln density between the years of one site: computed, 2.2 points at 14 % cover in open permanent-transect data of
/// the US Virgin Islands.
const SITE_YEAR_LN_SD: f64 = 0.18;

/// SD of ln density between sites beyond what the along-reef field and the years give: a guess that makes
/// sites of a common fore reef at 28 % cover differ by 10 points.
const SITE_LN_SD: f64 = 0.30;

/// Change of cover for a small change of ln density, at a cover: points of cover for an SD of ln density, to first
/// order (the derivative of `1 - exp(-u)` on `ln u`).
fn cover_per_ln_density(cover: f64) -> f64 {
    -(1.0 - cover) * libm::log1p(-cover)
}

/// Spread of a site's years where none is written (a share); never more than half of the spread between sites.
pub fn site_year_sd(cover: f64, between_sites_sd: Option<f64>) -> f64 {
    let sd = tidy(SITE_YEAR_LN_SD * cover_per_ln_density(cover));
    between_sites_sd.map_or(sd, |between| sd.min(tidy(between / 2.0)))
}

/// Spread between whole sites where none is written (a share): what the reef varies along its length, its years, and
/// `SITE_LN_SD` on top.
pub fn between_sites_sd(cover: f64, reef: &ReefSpec, site_year_sd: f64) -> f64 {
    between_sites(cover, reef.along.sd.powi(2) + SITE_LN_SD.powi(2), site_year_sd)
}

/// About what whole sites differ by when only the variation along the reef and their years make them differ (a share),
/// on the safe side, as if a site saw all of the variation along the reef: hardly a smaller spread can be.
pub fn least_between_sites_sd(cover: f64, reef: &ReefSpec, site_year_sd: f64) -> f64 {
    between_sites(cover, reef.along.sd.powi(2), site_year_sd)
}

fn between_sites(cover: f64, ln_variance: f64, site_year_sd: f64) -> f64 {
    let sd = (cover_per_ln_density(cover).powi(2) * ln_variance + site_year_sd.powi(2)).sqrt();
    tidy(sd.min(0.8 * (cover * (1.0 - cover)).sqrt()))
}

/// Spread of a category between sites where none is written (a share): a guess.
pub fn category_sd(cover: f64) -> f64 {
    tidy(0.35 * cover * (1.0 - cover))
}

/// Scale of the patches of a category, metres, by what its name says. Computed: thresholded fields fitted to the spread
/// of belts in open photo-transect data of the US Virgin Islands and to point lines read in Wakatobi.
pub fn category_scale_m(name: &str) -> f64 {
    const SCALES: [(&str, f64); 8] = [
        ("sponge", 0.15),
        ("crust", 0.15),
        ("coralline", 0.15),
        ("soft", 0.30),
        ("sand", 0.50),
        ("rubble", 0.40),
        ("pavement", 0.40),
        ("rock", 0.40),
    ];
    SCALES.iter().find(|(part, _)| name.contains(part)).map_or(0.20, |(_, scale)| *scale)
}

/// Scale of the patches that a storm hits, m. A guess.
pub const STORM_PATCH_M: f64 = 20.0;

/// Two digits, so that a filled-in number reads like one and is the same when it is written and read again.
fn tidy(share: f64) -> f64 {
    if share <= 0.0 {
        return 0.0;
    }
    let points = share * 100.0;
    let digits = (1.0 - points.log10().floor()).clamp(0.0, 6.0) as i32;
    let factor = 10_f64.powi(digits);
    (points * factor).round() / factor / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::NamedReef;

    #[test]
    fn the_spread_of_years_is_the_measured_one_where_it_was_measured() {
        assert!((site_year_sd(0.14, None) - 0.022).abs() < 0.0015);
        assert!((site_year_sd(0.28, None) - 0.041).abs() < 0.0025);
        assert_eq!(site_year_sd(0.28, Some(0.04)), 0.02);
    }

    #[test]
    fn the_default_spread_of_sites_is_above_what_years_alone_give_and_below_what_the_cover_allows() {
        for reef in NamedReef::ALL {
            for cover in [0.01, 0.05, 0.2, 0.5, 0.9] {
                let year = site_year_sd(cover, None);
                let sd = between_sites_sd(cover, &reef.spec(), year);
                assert!(sd > year && sd * sd < cover * (1.0 - cover), "{reef:?} {cover} {sd} {year}");
            }
        }
        let fore_reef = NamedReef::ForeReef.spec();
        assert!((between_sites_sd(0.28, &fore_reef, 0.043) - 0.10).abs() < 0.005);
    }

    #[test]
    fn filled_in_numbers_have_two_digits() {
        assert_eq!(tidy(0.0425739), 0.043);
        assert_eq!(tidy(0.1026), 0.10);
        assert_eq!(tidy(0.0), 0.0);
        assert_eq!(tidy(0.000567), 0.00057);
    }
}
