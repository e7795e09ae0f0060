//! The share of units that find at least one, against the area of a unit: what a wider or longer belt is worth.

use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::planner::AnimalSearch;
use crate::report::digits::significant;
use crate::report::report::Report;
use crate::report::search::hundred;
use crate::report::select::distinct;
use crate::report::words::{plain, sentence, units_word};

/// More lines than this make a figure that nobody reads.
const MOST_ZONES: usize = 6;
/// Room for the names of zones at the ends of lines.
const LABEL_ROOM: f64 = 122.0;

/// The figure of one indicator in units of one method: a line for each zone, a mark for each size. `None` where all units have
/// one area.
pub fn occupancy(report: &Report, (indicator, method): (&str, &str), name: String) -> Option<Figure> {
    let is_of = |search: &&AnimalSearch| search.indicator == indicator && search.method == method;
    let all: Vec<&AnimalSearch> = report.answer.animals.iter().filter(is_of).collect();
    let zones = distinct(all.iter().map(|search| search.zone.as_str()));
    let of_zones: Vec<Vec<&AnimalSearch>> = zones.iter().map(|zone| of_zone(&all, zone)).collect();
    let (smallest, largest) = (of_zones.first()?.first()?, of_zones.first()?.last()?);
    if smallest.unit_area_m2 == largest.unit_area_m2 {
        return None;
    }
    let panel = panel(&of_zones);
    let tiles = Tiles::new(1, 268.0);
    let (animal, units) = (plain(indicator), units_word(method, 2));
    let title = format!(
        "{} in 100 {units} of {} m2 find at least one {animal}, {} in 100 of {} m2 ({})",
        hundred(smallest.occupied),
        significant(smallest.unit_area_m2, 3),
        hundred(largest.occupied),
        significant(largest.unit_area_m2, 3),
        smallest.zone
    );
    let words = Words {
        name,
        alt: format!("Share of {units} with at least one against their area. {title}."),
        title,
        subtitle: format!("{}: {units} with at least one, in 100, over all sites.", sentence(&animal)),
        caption: format!(
            "The share of {units} that find at least one, against the area of one: marks are simulated, shaded two simulation \
             errors to either side; thin lines by formula. Two marks over one area are {units} of two shapes. The share is of {units}, \
             not of sites: where sites differ much, empty ones keep it low however large {units} are."
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| panel.draw(canvas, &tiles, tiles.corner(0, top))))
}

/// What is searched for in a zone, smallest units first.
fn of_zone<'a>(all: &[&'a AnimalSearch], zone: &str) -> Vec<&'a AnimalSearch> {
    let mut of_zone: Vec<&AnimalSearch> = all.iter().copied().filter(|search| search.zone == zone).collect();
    of_zone.sort_by(|a, b| a.unit_area_m2.total_cmp(&b.unit_area_m2));
    of_zone
}

fn panel(of_zones: &[Vec<&AnimalSearch>]) -> CurvePanel {
    let of_zone = |(style, searches): (usize, &Vec<&AnimalSearch>)| {
        let mut curve = Curve::new(searches.first()?.zone.clone(), style);
        for search in searches {
            let error = Some(100.0 * search.occupied_simulated_error);
            curve.push(search.unit_area_m2, 100.0 * search.occupied_simulated, error);
            curve.theory.push((search.unit_area_m2, 100.0 * search.occupied));
        }
        Some(curve)
    };
    CurvePanel {
        name: String::new(),
        curves: of_zones.iter().take(MOST_ZONES).enumerate().filter_map(of_zone).collect(),
        x_name: "square metres of one unit".to_string(),
        y_name: "with at least one, in 100".to_string(),
        x_is_whole: true,
        y_limits: Some((0.0, 103.0)),
        target: None,
        label_room: LABEL_ROOM,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::synthetic;
    use crate::survey::Dimensions;

    /// Every size that is compared has its mark, however many there are; of one size there is no figure.
    #[test]
    fn all_sizes_of_belts_are_drawn_by_their_area() {
        let mut report = synthetic::animals_report();
        let told = |report: &Report| occupancy(report, ("slate_urchin", "invertebrate_belt"), "occupancy".into());
        assert!(told(&report).is_none());
        let first = report.answer.animals[0].clone();
        for (length_m, width_m, occupied) in [(25.0, 2.0, 0.21), (50.0, 1.0, 0.24), (5.0, 1.0, 0.02), (50.0, 4.0, 0.6)]
        {
            let dimensions = Dimensions::InvertebrateBelt { length_m, width_m };
            let unit_area_m2 = length_m * width_m;
            let occupied_simulated = occupied + 0.001;
            report.answer.animals.push(AnimalSearch {
                dimensions,
                unit_area_m2,
                occupied,
                occupied_simulated,
                ..first.clone()
            });
        }
        let searches: Vec<&AnimalSearch> =
            report.answer.animals.iter().filter(|search| search.indicator == "slate_urchin").collect();
        let panel = panel(&[of_zone(&searches, &first.zone)]);
        let areas: Vec<f64> = panel.curves[0].points.iter().map(|point| point.0).collect();
        assert_eq!(areas, [5.0, 20.0, 50.0, 50.0, 200.0]);
        assert_eq!((panel.curves[0].band.len(), panel.curves[0].theory[4]), (5, (200.0, 60.0)));
        let figure = told(&report).unwrap();
        let title = "2 in 100 belts of 5 m2 find at least one slate urchin, 60 in 100 of 200 m2 (outer terrace)";
        assert!(figure.title.starts_with(title), "{}", figure.title);
    }
}
