//! Groups of fish and the methods that count them.

use super::table::{Writer, percent_text, trimmed};
use super::zones::write_spread;
use crate::design::FishGroup;
use crate::reef::fish::{Movement, SchoolLaw, SchoolSizes};
use crate::scenario::word::{CountingWord, PeriodWord, SchoolWord, word_of};
use crate::survey::swim::{CountingRule, FishCount, WayBack};

/// One group of fish of a zone.
pub fn write_group(writer: &mut Writer, group: &FishGroup) {
    let spec = &group.spec;
    writer.text("name", &group.name);
    if let Some(trophic) = &group.trophic_group {
        writer.text("trophic_group", trophic);
    }
    writer.line("density_per_100_m2", &trimmed(100.0 * spec.places.density_per_m2));
    write_spread(writer, &spec.places);
    writer.number("with_coral", group.with_coral);
    writer.number("with_coral_patches", group.with_coral_patches);
    match spec.schools {
        SchoolLaw::Alone => writer.text("school", word_of(SchoolWord::Alone)),
        SchoolLaw::Pairs => writer.text("school", word_of(SchoolWord::Pairs)),
        SchoolLaw::LogNormal { median, ln_sd } => {
            writer.text("school", word_of(SchoolWord::LogNormal));
            writer.number("school_size", median);
            writer.number("school_ln_sd", ln_sd);
        }
        law @ SchoolLaw::Logarithmic { .. } => {
            writer.text("school", word_of(SchoolWord::Logarithmic));
            writer.line("school_size", &trimmed(SchoolSizes::new(law).mean()));
        }
        // No scenario asks for it.
        SchoolLaw::Poisson { .. } => {}
    }
    if spec.schools != SchoolLaw::Alone {
        writer.number("school_spread_m", spec.spread_m);
    }
    writer.number("length_cm", spec.lengths.mean_cm);
    writer.line("length_spread_percent", &percent_text(spec.lengths.cv));
    writer.line("alike_in_school_percent", &percent_text(spec.lengths.alike_in_school));
    writer.number("weight_a", spec.weight.a);
    writer.number("weight_b", spec.weight.b);
    writer.number("speed_m_s", spec.movement.speed_m_s());
    match spec.movement {
        Movement::Still | Movement::Straight { .. } => {}
        Movement::Turning { tau_s, .. } => writer.number("turning_s", tau_s),
        Movement::HomeRange { tau_s, radius_m, .. } => {
            writer.number("turning_s", tau_s);
            writer.number("home_range_m", radius_m);
        }
    }
    let sighting = &spec.sighting;
    if let Some(scale) = sighting.scale_m {
        writer.number("sight_scale_m", scale);
    }
    writer.line("shy_percent", &percent_text(sighting.shy));
    writer.number("shy_scale_m", sighting.shy_m);
    if let Some(half) = sighting.half_seen_cm {
        writer.number("half_seen_cm", half);
    }
    writer.line("seen_percent", &percent_text(sighting.seen));
    if let Some(later) = &group.later_sighting {
        writer.line("second_visit_shy_percent", &percent_text(later.shy));
        if let Some(scale) = later.scale_m {
            writer.number("second_visit_sight_scale_m", scale);
        }
        writer.line("second_visit_seen_percent", &percent_text(later.seen));
    }
    writer.line("hides", if group.hides { "true" } else { "false" });
    writer.source();
}

/// How fish count along a belt, and the way back.
pub fn write_swim(writer: &mut Writer, rule: CountingRule, way_back: Option<WayBack>) {
    let word = match rule {
        CountingRule::WholeSwim => CountingWord::WholeSwim,
        CountingRule::MovingWindow { .. } => CountingWord::MovingWindow,
        CountingRule::Abreast => CountingWord::Abreast,
    };
    writer.text("counting", word_of(word));
    if let CountingRule::MovingWindow { depth_m } = rule {
        writer.number("window_m", depth_m);
    }
    if let Some(back) = way_back {
        writer.number("way_back_width_m", back.width_m);
        writer.number("way_back_minutes", back.minutes);
    }
}

/// How fish count from a point.
pub fn write_period(writer: &mut Writer, whole_period: bool) {
    let word = if whole_period { PeriodWord::WholePeriod } else { PeriodWord::Snapshot };
    writer.text("counting", word_of(word));
}

/// How fish are seen and written down.
pub fn write_count(writer: &mut Writer, count: &FishCount) {
    if let Some(classes) = count.lengths.classes {
        writer.number("class_cm", classes.width_cm);
        if let Some(fine) = classes.fine {
            writer.number("half_classes_below_cm", fine.below_cm);
        }
    }
    writer.text("class_value", word_of(count.lengths.value));
    writer.line("length_spread_percent", &percent_text(count.lengths.cv));
    writer.line("length_bias_percent", &percent_text(count.lengths.bias));
    writer.line("distance_bias_percent", &percent_text(count.width.error));
    writer.line("distance_spread_percent", &percent_text(count.width.sd));
    writer.line("left_after_others_percent", &percent_text(count.left_by_others));
    if let Some(visibility) = count.visibility_m {
        writer.number("visibility_m", visibility);
    }
}
