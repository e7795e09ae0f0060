use super::expedition::write_work;
use super::fish::{write_count, write_period, write_swim};
use super::table::{Writer, percent_text};
use crate::design::{Change, Expedition, Study, Unit};
use crate::scenario::word::word_of;
use crate::survey::coral_belt::Detection;
use crate::survey::{Components, MethodKind, MethodSpec};

/// One change to see.
pub fn write_change(writer: &mut Writer, index: usize, change: &Change, study: &Study) {
    let by_components = study.unit_of(&change.indicator) != Unit::Share;
    writer.table(&format!("change[{index}]"), "[[change]]");
    writer.text("indicator", &change.indicator);
    let text = |value: f64| if by_components { value.to_string() } else { percent_text(value) };
    writer.line("from", &text(change.from));
    writer.line("to", &text(change.to));
    if let Some(sd) = change.differs_between_sites_sd {
        let key = if by_components { "differs_between_sites" } else { "differs_between_sites_points" };
        writer.line(key, &text(sd));
        writer.source();
    }
    if let Some(deaths) = &change.deaths {
        writer.table(&format!("change[{index}].deaths"), "[change.deaths]");
        writer.number("odds_at_twice_the_size", deaths.odds_at_twice_the_size);
        if let Some(patches) = &deaths.patches {
            writer.line("hit_percent", &percent_text(patches.hit));
            writer.number("patch_m", patches.patch_scale_m);
            writer.line("left_elsewhere_percent", &percent_text(patches.left_elsewhere));
        }
        writer.source();
    }
}

/// All methods, by kind.
pub fn write(writer: &mut Writer, methods: &[MethodSpec], expedition: Option<&Expedition>) {
    for kind in [
        "point_intercept",
        "line_intercept",
        "photo_belt",
        "photo_quadrats",
        "coral_belt",
        "invertebrate_belt",
        "recruit_quadrats",
        "fish_belt",
        "fish_point_count",
        "other",
    ] {
        let of_kind = methods.iter().enumerate().filter(|(_, method)| table_name(&method.kind) == kind);
        for (index, (place, method)) in of_kind.enumerate() {
            let path = format!("method.{kind}[{index}]");
            writer.table(&path, &format!("[[method.{kind}]]"));
            write_kind(writer, &method.kind);
            writer.counts("units", &method.units);
            writer.number("lay_minutes", method.minutes.lay);
            writer.number("read_minutes", method.minutes.read);
            match (method.minutes.ashore, &method.kind) {
                (Some(minutes), MethodKind::PhotoQuadrats { frames, .. }) => {
                    writer.number("ashore_minutes_a_frame", minutes / frames[0] as f64);
                }
                (Some(minutes), _) => writer.number("ashore_minutes", minutes),
                (None, _) => {}
            }
            writer.source();
            if let Some(expedition) = expedition {
                write_work(writer, &path, kind, &expedition.methods[place], methods);
            }
        }
    }
}

fn table_name(kind: &MethodKind) -> &'static str {
    match kind {
        MethodKind::Components(_) => "other",
        _ => kind.name(),
    }
}

fn write_kind(writer: &mut Writer, kind: &MethodKind) {
    match kind {
        MethodKind::PointIntercept { length_m, spacing_m } => {
            writer.numbers("length_m", length_m);
            writer.numbers("spacing_m", spacing_m);
        }
        MethodKind::LineIntercept { length_m } => writer.numbers("length_m", length_m),
        MethodKind::PhotoBelt { length_m, width_m, points } => {
            writer.numbers("length_m", length_m);
            writer.numbers("width_m", width_m);
            writer.counts("points", points);
        }
        MethodKind::PhotoQuadrats { length_m, frames, frame, points } => {
            writer.numbers("length_m", length_m);
            writer.counts("frames", frames);
            writer.number("frame_length_m", frame.frame_length_m);
            writer.number("frame_width_m", frame.frame_width_m);
            writer.text("frames_placed", word_of(frame.frames_placed));
            writer.counts("points", points);
            writer.text("points_placed", word_of(frame.points_placed));
        }
        MethodKind::CoralBelt { length_m, width_m, belt, classes_m, growth_m } => {
            writer.numbers("length_m", length_m);
            writer.numbers("width_m", width_m);
            writer.text("edge", word_of(belt.edge));
            writer.line("ruler_cm", &percent_text(belt.ruler_m));
            match belt.detection {
                Detection::From { least_m } => writer.line("smallest_cm", &percent_text(least_m)),
                Detection::Logistic { half_m, slope } => {
                    writer.line("half_seen_cm", &percent_text(half_m));
                    writer.number("seen_slope", slope);
                }
            }
            if classes_m.len() > 1 {
                writer.percents("size_classes_cm", classes_m);
            }
            writer.line("growth_cm_a_year", &percent_text(*growth_m));
        }
        MethodKind::InvertebrateBelt { length_m, width_m } => {
            writer.numbers("length_m", length_m);
            writer.numbers("width_m", width_m);
        }
        MethodKind::RecruitQuadrats { length_m, quadrat_m, every_m } => {
            writer.numbers("length_m", length_m);
            writer.percents("quadrat_cm", quadrat_m);
            writer.numbers("every_m", every_m);
        }
        MethodKind::FishBelt { length_m, width_m, swim_minutes, rule, count, way_back } => {
            writer.numbers("length_m", length_m);
            writer.numbers("width_m", width_m);
            writer.numbers("swim_minutes", swim_minutes);
            write_swim(writer, *rule, *way_back);
            write_count(writer, count);
        }
        MethodKind::FishPointCount { radius_m, minutes, whole_period, count } => {
            writer.numbers("radius_m", radius_m);
            writer.numbers("minutes", minutes);
            write_period(writer, *whole_period);
            write_count(writer, count);
        }
        MethodKind::Components(components) => write_components(writer, components),
    }
}

fn write_components(writer: &mut Writer, components: &Components) {
    writer.text("indicator", &components.indicator);
    if !components.unit.is_empty() {
        writer.text("unit", &components.unit);
    }
    writer.number("mean", components.mean);
    writer.text("scale", word_of(components.scale));
    writer.number("between_sites", components.between_sites_sd);
    writer.number("site_year", components.site_year_sd);
    writer.number("between_units", components.between_units_sd);
    writer.number("same_mark_correlation", components.same_mark_correlation);
    if let Some(floor) = components.floor {
        writer.number("floor", floor);
    }
}
