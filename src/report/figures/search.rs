//! The chance of meeting at least one animal against the area that is searched.

use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::planner::{AnimalSearch, SURELY};
use crate::report::digits::significant;
use crate::report::report::Report;
use crate::report::search::surely;
use crate::report::select::distinct;
use crate::report::words::{count_units, plain, sentence, units_word};

/// More zones than this make a figure that nobody reads.
const MOST_PANELS: usize = 6;

/// The figure of one indicator: a panel for each zone, a line for each kind of unit, on the largest number of sites.
pub fn search(report: &Report, indicator: &str, name: String) -> Option<Figure> {
    let all: Vec<&AnimalSearch> = report.answer.animals.iter().filter(|search| search.indicator == indicator).collect();
    let first = all.first()?;
    let zones = distinct(all.iter().map(|search| search.zone.as_str()));
    let panels: Vec<CurvePanel> = zones.iter().take(MOST_PANELS).map(|zone| panel(zone, &all)).collect();
    let tiles = Tiles::new(panels.len(), 268.0);
    let units = units_word(&first.method, 2);
    let title = finding(first, indicator);
    let words = Words {
        name,
        alt: format!("Chance of meeting at least one animal, rising with the area searched. {title}."),
        title,
        subtitle: format!(
            "{}: chance of at least one in all {units} of a visit, by formula.",
            sentence(&plain(indicator))
        ),
        caption: format!(
            "The chance that at least one is met, against the area searched on the largest number of sites compared; each mark \
             is one more of the numbers of {units}. Dotted: {} in 100. Wider or longer {units} search more area in the \
             same places: where animals live in groups, the same area in more {units} meets more.",
            surely()
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, panel) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
}

fn panel(zone: &str, all: &[&AnimalSearch]) -> CurvePanel {
    let of_zone = all.iter().filter(|search| search.zone == zone);
    CurvePanel {
        name: zone.to_string(),
        curves: of_zone.enumerate().map(|(index, search)| curve(search, index)).collect(),
        x_name: "square metres searched on all sites".to_string(),
        y_name: "at least one, in 100".to_string(),
        x_is_whole: true,
        y_limits: Some((0.0, 103.0)),
        target: Some(100.0 * SURELY),
        label_room: 84.0,
    }
}

fn curve(search: &AnimalSearch, index: usize) -> Curve {
    let mut curve = Curve::new(search.dimensions.label(), index);
    for chance in search.chances.iter().filter(|chance| chance.sites == search.most_sites) {
        curve.push(chance.area_m2, 100.0 * chance.met, None);
    }
    curve
}

/// "Six belts on each of 8 sites of the rim meet an urchin 97 times in 100".
fn finding(search: &AnimalSearch, indicator: &str) -> String {
    let animal = plain(indicator);
    match search.units_to_meet {
        Some(units) => format!(
            "{} on each of {} sites meet at least one {animal} {} times in 100 ({})",
            sentence(&count_units(&search.method, units)),
            search.most_sites,
            surely(),
            search.zone
        ),
        None => {
            let most = search.chances.iter().map(|chance| chance.met).fold(0.0, f64::max);
            format!(
                "All that is searched meets at least one {animal} {} times in 100 ({})",
                significant(100.0 * most, 2),
                search.zone
            )
        }
    }
}
