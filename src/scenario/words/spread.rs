use super::answers::{Answers, Band, OnOneReef, Said};
use super::convert::{
    TOO_NARROW, expected_range, range_error, sd_of_eight_in_ten, sd_of_half, sd_of_moves, sd_of_range, without_lines,
};
use super::{Notes, points};
use crate::reef::NamedReef;
use crate::scenario::defaults;

/// What the answers say of the reef and how it varies (shares).
pub struct Spreads {
    pub reef: NamedReef,
    pub reef_is_a_range: bool,
    pub cover: f64,
    pub between_sites_sd: f64,
    pub site_year_sd: f64,
}

const ZONE: &str = "zone[0]";
/// Lines behind an average where the user does not know: common practice, no source.
const USUAL_LINES: f64 = 6.0;
/// Error of an SD from the range of ten, used for the low case of "eight of ten".
const ERROR_OF_TEN: f64 = 0.26;

pub fn spreads(answers: &Answers, notes: &mut Notes) -> Spreads {
    let (reef, reef_is_a_range) = reef(answers, notes);
    let cover = cover_on(answers, reef);
    match &answers.cover {
        Some(_) => notes.origin(&format!("{ZONE}.cover_percent"), answers.cover.as_ref()),
        None => notes.conversion(ZONE, format!("Cover is not known: {} % is assumed.", points(cover * 100.0))),
    }
    let site_year_sd = site_year(answers, cover, notes);
    let line_sd = line_sd(answers, reef, cover);
    let between_sites_sd = between_sites(answers, reef, cover, site_year_sd, line_sd, notes);
    Spreads { reef, reef_is_a_range, cover, between_sites_sd, site_year_sd }
}

/// The cover that the answers so far lead to (a share): as said, else what is usual on the reef that they tell of.
pub fn likely_cover(answers: &Answers) -> f64 {
    cover_on(answers, reef(answers, &mut Notes::default()).0)
}

fn cover_on(answers: &Answers, reef: NamedReef) -> f64 {
    answers.cover.as_ref().map_or(reef.typical_cover(), |said| said.meant / 100.0)
}

/// Effective points of a 10 m line of 100 points within a site: its variance is `cover (1 - cover)` over this.
/// Computed from the law of each reef.
fn effective_points(reef: NamedReef) -> f64 {
    match reef {
        NamedReef::LowCoverHardGround => 51.0,
        NamedReef::ForeReef => 27.0,
        NamedReef::PatchyForeReef => 15.0,
        NamedReef::RubbleSlope => 8.0,
        NamedReef::DenseCoralGarden => 9.0,
        NamedReef::OuterSlope => 43.0,
        NamedReef::LagoonBommies => 4.0,
    }
}

/// The named reef whose lines differ most nearly as the user's do.
fn nearest_reef(effective: f64, cover: f64) -> NamedReef {
    let candidates = NamedReef::ALL.into_iter().filter(|reef| reef.suits(cover));
    let distance = |reef: &NamedReef| (effective_points(*reef) / effective).ln().abs();
    candidates.min_by(|one, other| distance(one).total_cmp(&distance(other))).unwrap_or(NamedReef::ForeReef)
}

fn reef(answers: &Answers, notes: &mut Notes) -> (NamedReef, bool) {
    let Some(said) = &answers.lines_on_a_reef else {
        let text = "How lines differ within one reef is not known: the answer is a range over all named reefs.";
        notes.conversion(ZONE, text.to_owned());
        return (NamedReef::ForeReef, true);
    };
    notes.origin(&format!("{ZONE}.reef"), Some(said));
    let reef = match said.meant {
        OnOneReef::Even => NamedReef::OuterSlope,
        OnOneReef::Patches => NamedReef::PatchyForeReef,
        OnOneReef::Bommies => NamedReef::LagoonBommies,
        OnOneReef::Range { low, high, lines } => {
            let sd = sd_of_range(low, high, lines) / 100.0;
            let cover = answers.cover.as_ref().map_or((low + high) / 200.0, |said| said.meant / 100.0);
            let effective = cover * (1.0 - cover) / sd.powi(2);
            let error = range_error(lines);
            let reef = nearest_reef(effective, cover);
            notes.conversion(
                ZONE,
                format!(
                    "Lines on one reef: ({} - {}) / {:.3} = SD {} points (error {:.0} %: low {}, high {}), as of 10 m lines \
                     with {effective:.0} effective points; nearest named reef: {}.",
                    points(high),
                    points(low),
                    expected_range(lines),
                    points(sd * 100.0),
                    error * 100.0,
                    points(sd * 100.0 * (1.0 - error)),
                    points(sd * 100.0 * (1.0 + error)),
                    reef.name()
                ),
            );
            return (reef, false);
        }
    };
    notes.conversion(ZONE, format!("\"{}\": the named reef {}.", said.words.trim(), reef.name()));
    (reef, false)
}

/// SD of a line within a site: the user's own, else that of the reef.
fn line_sd(answers: &Answers, reef: NamedReef, cover: f64) -> f64 {
    match answers.lines_on_a_reef.as_ref().map(|said| said.meant) {
        Some(OnOneReef::Range { low, high, lines }) => sd_of_range(low, high, lines) / 100.0,
        _ => (cover * (1.0 - cover) / effective_points(reef)).sqrt(),
    }
}

fn site_year(answers: &Answers, cover: f64, notes: &mut Notes) -> f64 {
    let Some(said) = &answers.usual_move else {
        let sd = defaults::site_year_sd(cover, None);
        let text = format!("What a site's years do is not known: {} points are assumed.", points(sd * 100.0));
        notes.conversion(ZONE, text);
        return sd;
    };
    let sd = sd_of_moves(said.meant);
    notes.origin(&format!("{ZONE}.site_year_points"), Some(said));
    let text = format!(
        "A usual move of {} points between years: x 0.886 (two years differ by 2 / sqrt(pi) SD on average) = SD {} points of \
         a site's years, the lines' own part left in.",
        points(said.meant),
        points(sd)
    );
    notes.conversion(ZONE, text);
    rounded(sd / 100.0)
}

fn between_sites(
    answers: &Answers,
    reef: NamedReef,
    cover: f64,
    site_year_sd: f64,
    line_sd: f64,
    notes: &mut Notes,
) -> f64 {
    let Some(said) = &answers.reefs_between else {
        let sd = defaults::between_sites_sd(cover, &reef.spec(), site_year_sd);
        let text = format!("How reefs differ is not known: SD {} points are assumed.", points(sd * 100.0));
        notes.conversion(ZONE, text);
        return sd;
    };
    let middle = between_reefs(said, answers.lines_each.as_ref(), line_sd * 100.0, notes) / 100.0;
    let least = defaults::least_between_sites_sd(cover, &reef.spec(), site_year_sd);
    if middle >= least {
        let words = match &answers.lines_each {
            Some(lines) => format!("{}; each average from {} lines", said.words.trim(), lines.words.trim()),
            None => said.words.trim().to_owned(),
        };
        notes.origin_words(&format!("{ZONE}.between_sites_points"), words);
        return rounded(middle);
    }
    // What is written then is no longer what the user said: it counts as assumed.
    let (what, remedy) = if middle == 0.0 {
        (
            "the lines alone give such a spread, so that nothing is left for the reefs themselves",
            "What would change it: averages from more lines, so that the range tells of reefs and not of lines",
        )
    } else {
        (
            "that is less than what one reef varies by itself",
            "What would make room for your range: a more even reef (in question 4, or along_sd), longer sites (length_m), \
             or quieter years (site_year_points)",
        )
    };
    let text = format!(
        "Warning: {what}. So your range is not used: {} points are written, about what a reef varies along its length and \
         in its years, the least that such sites can differ by. {remedy}.",
        points(least * 100.0)
    );
    notes.conversion(ZONE, text);
    least
}

/// The spread between reefs without the lines, in points; the low and high cases beside it.
fn between_reefs(said: &Said<Band>, lines_each: Option<&Said<f64>>, line_sd: f64, notes: &mut Notes) -> f64 {
    let (stated, formula) = sd_of_band(&said.meant);
    let (lines, assumed) = lines_each.map_or((USUAL_LINES, " (assumed)"), |said| (said.meant, ""));
    let cases = [stated * (1.0 - ERROR_OF_TEN), stated, stated * TOO_NARROW.0, stated * TOO_NARROW.1];
    let [low, middle, high, highest] = cases.map(|sd| without_lines(sd, line_sd, lines).unwrap_or(0.0));
    notes.conversion(
        ZONE,
        format!(
            "Between reefs: {formula}; less the lines, sqrt({}^2 - {}^2 / {lines}{assumed}): low {}, middle {}, high {} to {} \
             points (people's ranges are too narrow: x 1.4 to 1.9 for the high case, a judgement).",
            points(stated),
            points(line_sd),
            points(low),
            points(middle),
            points(high),
            points(highest)
        ),
    );
    middle
}

/// SD in points from a band, and the formula with its numbers.
pub fn sd_of_band(band: &Band) -> (f64, String) {
    let (sd, divisor, how) = if band.holds_half {
        (sd_of_half(band.low, band.high), 1.349, "half of them between")
    } else {
        (sd_of_eight_in_ten(band.low, band.high), 2.563, "eight of ten between")
    };
    let (low, high) = (points(band.low), points(band.high));
    (sd, format!("{how} {low} and {high}: ({high} - {low}) / {divisor} = SD {} points", points(sd)))
}

/// To a hundredth of a point, rounded as points so that the points that are written read as the same share.
pub fn rounded(share: f64) -> f64 {
    (share * 1e4).round() / 100.0 / 100.0
}
