use super::recruits;
use crate::design::{HARD_CORAL, Question, Scope, Sites, Study, TestKind};
use crate::scenario::file::{MethodParts, ScenarioFile};
use crate::scenario::problems::Problems;
use crate::scenario::replicates::{lines_are_replicates_always, lines_are_replicates_somewhere, replicates_are_paired};
use crate::scenario::shown::number;
use crate::survey::{Components, Frame, Heading, MethodKind, MethodSpec, Placed, Scale};

/// Most points of the common grid of all spacings on one line.
const MOST_GRID_POINTS: f64 = 4096.0;

/// Methods: lines that fit the site, spacings that fit the line, enough units, a test that has its pairs.
pub fn check(study: &Study, file: &ScenarioFile, problems: &mut Problems) {
    for (method, MethodParts { path, .. }) in study.methods.iter().zip(file.method.parts()) {
        check_units(study, method, &path, problems);
        check_fit(study, method, &path, problems);
        match &method.kind {
            MethodKind::PointIntercept { length_m, spacing_m } => {
                check_spacings(length_m, spacing_m, &path, problems);
            }
            MethodKind::PhotoQuadrats { length_m, frames, frame, .. } => {
                check_frames(length_m, frames, *frame, &path, problems);
            }
            MethodKind::RecruitQuadrats { length_m, quadrat_m, every_m } => {
                recruits::check_quadrats((length_m, quadrat_m, every_m), &path, problems);
            }
            MethodKind::Components(components) => check_components(components, study, &path, problems),
            _ => {}
        }
    }
    check_years(study, file, problems);
    check_pairs(study, problems);
    check_drawn_anew(study, problems);
}

/// What usual years do is told in points of cover: it says nothing of things that are counted.
fn check_years(study: &Study, file: &ScenarioFile, problems: &mut Problems) {
    // Scales, permutations and tests of counts are refused with this question at their own keys.
    let kind = study.test.kind;
    let is_told = kind == TestKind::Permutation || kind.law_of_counts().is_some() || !study.test.scale.is_plain();
    if study.question != Question::BeyondUsualYears || is_told {
        return;
    }
    for (method, MethodParts { path, .. }) in study.methods.iter().zip(file.method.parts()) {
        let counts = matches!(
            method.kind,
            MethodKind::CoralBelt { .. }
                | MethodKind::InvertebrateBelt { .. }
                | MethodKind::RecruitQuadrats { .. }
                | MethodKind::FishBelt { .. }
                | MethodKind::FishPointCount { .. }
        );
        if counts {
            let message =
                format!("how far usual years depart is told in points of cover, not for {}", method.kind.name());
            let remedy = "Ask question = \"between_these_visits\", or put what is counted into a scenario of its own.";
            problems.add(&path, message, "covers only, with this question", remedy);
        }
    }
}

/// The table of each method, in the order of `Study::methods`.
pub fn paths(file: &ScenarioFile) -> Vec<String> {
    let tables = &file.method;
    let kinds = [
        ("point_intercept", tables.point_intercept.len()),
        ("line_intercept", tables.line_intercept.len()),
        ("photo_belt", tables.photo_belt.len()),
        ("photo_quadrats", tables.photo_quadrats.len()),
        ("coral_belt", tables.coral_belt.len()),
        ("invertebrate_belt", tables.invertebrate_belt.len()),
        ("recruit_quadrats", tables.recruit_quadrats.len()),
        ("fish_belt", tables.fish_belt.len()),
        ("fish_point_count", tables.fish_point_count.len()),
        ("other", tables.other.len()),
    ];
    kinds.into_iter().flat_map(|(kind, count)| (0..count).map(move |i| format!("method.{kind}[{i}]"))).collect()
}

fn check_units(study: &Study, method: &MethodSpec, path: &str, problems: &mut Problems) {
    if lines_are_replicates_somewhere(study.scope, &study.zones) && method.units.first().is_some_and(|units| *units < 2)
    {
        let word = method.kind.units();
        let message = format!("{word} are the replicates here, and a single one has no spread");
        let remedy = "Write units = \"2..12\", for example.";
        problems.add(&format!("{path}.units"), message, "at least 2", remedy);
    }
}

fn check_fit(study: &Study, method: &MethodSpec, path: &str, problems: &mut Problems) {
    let (lengths, widths): (&[f64], &[f64]) = match &method.kind {
        MethodKind::PointIntercept { length_m, .. } | MethodKind::LineIntercept { length_m } => (length_m, &[]),
        MethodKind::PhotoBelt { length_m, width_m, .. }
        | MethodKind::InvertebrateBelt { length_m, width_m }
        | MethodKind::FishBelt { length_m, width_m, .. }
        | MethodKind::CoralBelt { length_m, width_m, .. } => (length_m, width_m),
        MethodKind::FishPointCount { radius_m, .. } => return check_circles(study, radius_m, path, problems),
        MethodKind::RecruitQuadrats { length_m, quadrat_m, .. } => (length_m, quadrat_m),
        MethodKind::PhotoQuadrats { length_m, frame, .. } => (length_m, std::slice::from_ref(&frame.frame_width_m)),
        MethodKind::Components(_) => return,
    };
    let word = method.kind.units();
    let longest = lengths.iter().copied().fold(0.0, f64::max);
    let widest = widths.iter().copied().fold(0.0, f64::max);
    // Whether they fit across the site or in any direction is told where that is written.
    if study.placement.heading != Heading::Along {
        return;
    }
    for zone in &study.zones {
        if longest > zone.length_m {
            let message = format!(
                "{word} of {} m do not fit a site of {}, which is {} m long",
                longest, zone.name, zone.length_m
            );
            let allowed = format!("at most {} m", zone.length_m);
            problems.add(
                &format!("{path}.length_m"),
                message,
                allowed,
                "Shorten them, or correct length_m of the zone.",
            );
            break;
        }
        if widest > zone.width_m {
            let message = format!(
                "{word} {} m wide do not fit a site of {}, which is {} m wide",
                widest, zone.name, zone.width_m
            );
            let allowed = format!("at most {} m", zone.width_m);
            problems.add(&format!("{path}.width_m"), message, allowed, "Narrow them, or correct width_m of the zone.");
            break;
        }
    }
}

/// Point counts lie within their site.
fn check_circles(study: &Study, radii: &[f64], path: &str, problems: &mut Problems) {
    let widest = 2.0 * radii.iter().copied().fold(0.0, f64::max);
    if let Some(zone) = study.zones.iter().find(|zone| widest > zone.width_m.min(zone.length_m)) {
        let message = format!(
            "point counts {} m across do not fit a site of {}, which is {} x {} m",
            widest, zone.name, zone.length_m, zone.width_m
        );
        let allowed = format!("at most {} m", 0.5 * zone.width_m.min(zone.length_m));
        let remedy = "Make the radius smaller, or correct length_m or width_m of the zone.";
        problems.add(&format!("{path}.radius_m"), message, allowed, remedy);
    }
}

/// Frames that fit their tape; in parts of it of their own, where each has one.
fn check_frames(lengths: &[f64], frames: &[usize], frame: Frame, path: &str, problems: &mut Problems) {
    let shortest = lengths.iter().copied().fold(f64::INFINITY, f64::min);
    let most = frames.last().copied().unwrap_or(1);
    let room = match frame.frames_placed {
        Placed::Random => shortest,
        Placed::Stratified => shortest / most as f64,
    };
    if frame.frame_length_m <= room + 1e-9 {
        return;
    }
    if frame.frame_length_m > shortest {
        let message = format!("a frame of {} m is longer than its tape", number(frame.frame_length_m));
        let allowed = format!("at most {} m", number(shortest));
        let remedy = "Shorten the frame or lengthen the tape.";
        return problems.add(&format!("{path}.frame_length_m"), message, allowed, remedy);
    }
    let fit = (shortest / frame.frame_length_m + 1e-9) as usize;
    let message = format!(
        "{most} frames of {} m, each in a part of its own, do not fit a tape of {} m",
        number(frame.frame_length_m),
        number(shortest)
    );
    let remedy = "Lower frames, shorten them, or write frames_placed = \"random\" (frames may then overlap).";
    problems.add(&format!("{path}.frames"), message, format!("at most {fit}"), remedy);
}

fn check_spacings(lengths: &[f64], spacings: &[f64], path: &str, problems: &mut Problems) {
    let shortest = lengths.iter().copied().fold(f64::INFINITY, f64::min);
    let longest = lengths.iter().copied().fold(0.0, f64::max);
    let key = format!("{path}.spacing_m");
    if let Some(spacing) = spacings.iter().find(|spacing| **spacing > shortest + 1e-9) {
        let message = format!("points every {} m on a line of {} m: there is none", number(*spacing), number(shortest));
        problems.add(
            &key,
            message,
            format!("at most {} m", number(shortest)),
            "Lower the spacing or lengthen the line.",
        );
        return;
    }
    let step = common_step_m(spacings);
    if longest / step > MOST_GRID_POINTS {
        let message = format!(
            "all spacings are read from one grid, here with a point every {} m: {:.0} points on a line of {} m",
            number(step),
            longest / step,
            number(longest)
        );
        let remedy = "Choose spacings that are multiples of one another, such as 0.1, 0.5 and 1, or write each in its own \
                      [[method.point_intercept]].";
        problems.add(&key, message, format!("at most {MOST_GRID_POINTS} points"), remedy);
    }
}

/// The largest step of which all spacings are multiples, to 10 micrometres.
fn common_step_m(spacings: &[f64]) -> f64 {
    let steps = spacings.iter().map(|spacing| (spacing * 1e5).round() as u64);
    // A single spacing is its own grid, however odd.
    if spacings.len() == 1 {
        return spacings[0];
    }
    steps.fold(0, greatest_common_divisor) as f64 / 1e5
}

fn greatest_common_divisor(one: u64, other: u64) -> u64 {
    if other == 0 { one } else { greatest_common_divisor(other, one % other) }
}

fn check_components(components: &Components, study: &Study, path: &str, problems: &mut Problems) {
    let allowed = match components.scale {
        Scale::Plain => return check_name(components, study, path, problems),
        Scale::Ln => (components.mean > 0.0, "above 0"),
        Scale::Logit => (0.0 < components.mean && components.mean < 1.0, "above 0 and below 1"),
    };
    if !allowed.0 {
        let message = format!("{}: a mean of {} has no place on this scale", components.indicator, components.mean);
        problems.add(&format!("{path}.mean"), message, allowed.1, "Correct the mean, or write scale = \"plain\".");
    }
    if components.floor.is_some_and(|floor| !(floor > 0.0)) {
        let message = format!("{}: a floor that is not above 0 has no place on this scale", components.indicator);
        problems.add(&format!("{path}.floor"), message, "above 0", "Write the smallest value that is written down.");
    }
    check_name(components, study, path, problems);
}

fn check_name(components: &Components, study: &Study, path: &str, problems: &mut Problems) {
    let name = &components.indicator;
    let is_cover = name == HARD_CORAL
        || study.zones.iter().any(|zone| zone.categories.iter().any(|category| category.name == *name));
    if is_cover || name.trim().is_empty() {
        let message = format!("an indicator by components cannot be called \"{name}\"");
        let remedy =
            "Covers of the virtual reef have these names; give it another, such as \"hard_coral_by_components\".";
        problems.add(&format!("{path}.indicator"), message, "taken or empty", remedy);
    }
}

fn check_pairs(study: &Study, problems: &mut Problems) {
    if study.test.kind != TestKind::PairedT || !study.question.tests() {
        return;
    }
    if replicates_are_paired(study.scope, study.question, &study.visits, &study.zones) {
        return;
    }
    let message = if study.question == Question::BetweenGroups {
        "the sites of two groups are no pairs"
    } else if study.visits.sites == Sites::DrawnAnew {
        "sites drawn anew have no partner at the first visit"
    } else if lines_are_replicates_always(study.scope, &study.zones) {
        "the lines are the replicates here, and lines at new places have no partner at the first visit"
    } else {
        return;
    };
    let remedy = "Write kind = \"welch_t\", or go back to the same sites (and, where lines are the replicates, to the \
                  same marks).";
    problems.add("test.kind", message, "a paired test needs pairs", remedy);
}

/// Other sites at the second visit need other sites to be there.
fn check_drawn_anew(study: &Study, problems: &mut Problems) {
    if study.question.visits() < 2 || study.visits.sites != Sites::DrawnAnew {
        return;
    }
    if study.scope == Scope::EachReef {
        let message = "each reef by itself is compared with itself, so its sites cannot be drawn anew";
        let remedy = "Write sites = \"same\", or statement_about = \"all_such_reefs\".";
        problems.add("visits.sites", message, "must be same", remedy);
    } else if lines_are_replicates_somewhere(study.scope, &study.zones) {
        let message = "all sites of the list are surveyed, so there are no others to draw anew";
        let remedy = "Write sites = \"same\", or survey fewer sites than exist.";
        problems.add("visits.sites", message, "must be same", remedy);
    }
}
