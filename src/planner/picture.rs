//! A virtual site seen from above, with the units of a survey laid on it.

use super::answer::{PictureUnit, ReefPicture};
use crate::design::Zone;
use crate::engine::{Plan, ZoneSurvey};
use crate::measures::counted;
use crate::random::{Key, Normals, Purpose};
use crate::reef::{NamedReef, SiteReef, Visit, Walk, When};
use crate::survey::MethodKind;

/// Cells of the background along the longer side, about.
const CELLS: f64 = 400.0;

/// The first site of the first trial of a zone, as the simulation sees it at the first visit, with up to `units` units of
/// the first method that lies on a reef.
pub fn picture(plan: &Plan, zone: usize, seed: u64, units: usize) -> ReefPicture {
    let asked = &plan.study.zones[zone];
    let size = (asked.length_m, asked.width_m);
    let key = Key::seed(seed)
        .child(Purpose::Confirmation, 0)
        .child(Purpose::Trial, 0)
        .child(Purpose::Zone, zone as u64)
        .child(Purpose::Site, 0);
    let mut site = SiteReef::new(&plan.reefs[zone], key);
    let mut walk = Walk::default();
    let line = site.frame_line((0.0, 0.5 * size.1), (1.0, 0.0), size.0);
    walk.read(&mut site, &line, 0.5 * size.1 as f32, Visit::First);
    let colonies: Vec<(f32, f32, f32)> = walk
        .colonies
        .iter()
        .filter(|colony| colony.alive & 1 == 1)
        .map(|colony| (colony.along, 0.5 * size.1 as f32 + colony.across, colony.radius))
        .collect();
    let grid_m = (size.0.max(size.1) / CELLS).max(0.05);
    let grid_columns = (size.0 / grid_m).ceil() as usize;
    let grid = background(plan, zone, key, &site, size, grid_m);
    let laid = units_of(plan, zone, key, units);
    ReefPicture {
        zone: asked.name.clone(),
        length_m: size.0,
        width_m: size.1,
        caption: caption(asked, colonies.len(), laid.len(), &plan.study.placement.label()),
        assumed: assumed(asked),
        colonies,
        grid_m,
        grid_columns,
        grid,
        categories: asked.categories.iter().map(|category| category.name.clone()).collect(),
        units: laid,
    }
}

fn background(plan: &Plan, zone: usize, key: Key, site: &SiteReef, size: (f64, f64), grid_m: f64) -> Vec<u8> {
    let Some(bottom) = plan.theories[zone].bottom.as_ref() else { return Vec::new() };
    if plan.study.zones[zone].categories.is_empty() {
        return Vec::new();
    }
    let normals = Normals::new();
    let bottom = bottom.site(key, site.frame);
    let (columns, rows) = ((size.0 / grid_m).ceil() as usize, (size.1 / grid_m).ceil() as usize);
    let place = |cell: usize| (cell as f64 + 0.5) * grid_m;
    (0..rows)
        .flat_map(|row| (0..columns).map(move |column| (row, column)))
        .map(|(row, column)| bottom.category_at(&normals, place(column), place(row), When::First) as u8)
        .collect()
}

fn units_of(plan: &Plan, zone: usize, key: Key, most: usize) -> Vec<PictureUnit> {
    let survey = ZoneSurvey {
        study: &plan.study,
        zone: &plan.study.zones[zone],
        layout: &plan.layout,
        coral: &plan.reefs[zone],
        animals: &plan.animals[zone],
        recruits: plan.recruits[zone].as_ref(),
        colony_truths: plan.colony_truths(zone),
        bottom: None,
    };
    let on_a_reef = |kind: &MethodKind| !matches!(kind, MethodKind::Components(_));
    let Some(reading) =
        plan.layout.readings.iter().position(|reading| on_a_reef(&plan.study.methods[reading.method].kind))
    else {
        return Vec::new();
    };
    survey
        .tapes(key, reading, most)
        .into_iter()
        .enumerate()
        .map(|(i, tape)| PictureUnit {
            from: tape.from,
            to: tape.to,
            width_m: tape.width_m,
            label: format!("{}", i + 1),
        })
        .collect()
}

/// A reef of unknown kind is drawn like one of the named reefs; that must stand beside it.
fn assumed(zone: &Zone) -> String {
    if !zone.reef_is_a_range {
        return String::new();
    }
    format!(
        "What the reef of {} is like is not known (reef = \"unknown\"): it is drawn {}, one of seven it may be.",
        zone.name,
        NamedReef::from_name(&zone.reef_name).map_or("like a named reef", NamedReef::phrase)
    )
}

fn caption(zone: &Zone, colonies: usize, units: usize, laid: &str) -> String {
    format!(
        "{}, {} x {} m, mean cover of the zone {:.0} %: {colonies} discs of hard coral, {} laid {laid}. Cover is seen from above; relief is not modelled.",
        zone.name,
        zone.length_m,
        zone.width_m,
        100.0 * zone.cover,
        counted(units, "unit")
    )
}
