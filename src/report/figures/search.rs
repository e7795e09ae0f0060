//! The chance of meeting at least one animal against the area that is searched.

use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::measures::counted;
use crate::planner::{AnimalSearch, SURELY, SearchChance};
use crate::report::report::Report;
use crate::report::search::{hundred, surely};
use crate::report::select::distinct;
use crate::report::words::{number_word, plain, sentence, units_word};

/// More zones than this make a figure that nobody reads.
const MOST_PANELS: usize = 6;
/// Kinds of units, of two lines each.
const MOST_KINDS: usize = 3;

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
        alt: format!("Chance of meeting at least one, rising with the area searched. {title}."),
        title,
        subtitle: format!(
            "{}: chance of at least one in the {units} of a visit, by formula.",
            sentence(&plain(indicator))
        ),
        caption: format!(
            "The chance that at least one is met, on one site and on all of the largest number of sites compared, against the \
             area searched on each; marks are the numbers of {units}; all sites are left out where they surely meet one. Dotted: {} in 100. Where they live in groups or schools, \
             the same area in more and smaller {units} meets them more often. That none was met never shows that none is there.",
            surely()
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, panel) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
}

/// Room for labels at the ends of lines, and for each of their letters; fish belts, whose minutes are told, have long ones.
const LABEL_ROOM: f64 = 122.0;
const LETTER: f64 = 6.4;

fn panel(zone: &str, all: &[&AnimalSearch]) -> CurvePanel {
    let of_zone = all.iter().filter(|search| search.zone == zone);
    let curves: Vec<Curve> =
        of_zone.take(MOST_KINDS).enumerate().flat_map(|(index, search)| curves(search, index)).collect();
    let letters = curves.iter().map(|curve| curve.label.chars().count()).max().unwrap_or(0);
    CurvePanel {
        name: zone.to_string(),
        curves,
        x_name: "square metres searched on a site".to_string(),
        y_name: "at least one, in 100".to_string(),
        x_is_whole: true,
        y_limits: Some((0.0, 103.0)),
        target: Some(100.0 * SURELY),
        label_room: LABEL_ROOM.max(LETTER * letters as f64),
    }
}

/// Where the chance on all sites is never below this, in hundredths, its line is left out.
const SURE: f64 = 99.5;

/// Whether there is a line of all sites beside that of one.
fn draws_all_sites(search: &AnimalSearch) -> bool {
    let of_most = || search.chances.iter().filter(|chance| chance.sites == search.most_sites);
    search.most_sites > 1 && of_most().any(|chance| 100.0 * chance.met < SURE)
}

/// On all of the largest number of sites, and on one.
fn curves(search: &AnimalSearch, index: usize) -> Vec<Curve> {
    let size = search.dimensions.label();
    let line = |sites: usize, style: usize, met: &dyn Fn(&SearchChance) -> f64| {
        let of_sites = if sites == 1 { "one site".to_string() } else { format!("{sites} sites") };
        let mut curve = Curve::new(format!("{size}, {of_sites}"), style);
        for chance in search.chances.iter().filter(|chance| chance.sites == search.most_sites) {
            curve.push(chance.area_m2 / chance.sites as f64, 100.0 * met(chance), None);
        }
        curve
    };
    let all = draws_all_sites(search).then(|| line(search.most_sites, 2 * index, &|chance| chance.met));
    all.into_iter().chain([line(1, 2 * index + 1, &|chance| chance.met_on_one_site)]).collect()
}

/// "Six belts (50 x 4 m) on each of 8 sites meet at least one urchin 97 times in 100 (rim)"; where the line of all sites is
/// left out, what is met on the one site that is drawn.
fn finding(search: &AnimalSearch, indicator: &str) -> String {
    let animal = plain(indicator);
    let units_of = |units: usize| {
        format!("{} {} ({})", number_word(units), units_word(&search.method, units), search.dimensions.label())
    };
    let meet = |units: usize| if units == 1 { "meets" } else { "meet" };
    let zone = &search.zone;
    if !draws_all_sites(search) {
        let on_one = || search.chances.iter().filter(|chance| chance.sites == search.most_sites);
        let enough = on_one().find(|chance| chance.met_on_one_site >= SURELY).map(|chance| (chance.units, surely()));
        let most = || on_one().next_back().map(|chance| (chance.units, hundred(chance.met_on_one_site)));
        let Some((units, times)) = enough.or_else(most) else { return sentence(&animal) };
        let meet = meet(units);
        return format!("{} on one site {meet} at least one {animal} {times} times in 100 ({zone})", units_of(units));
    }
    match search.units_to_meet {
        Some(units) => format!(
            "{} on each of {} {} at least one {animal} {} times in 100 ({zone})",
            units_of(units),
            counted(search.most_sites, "site"),
            meet(units),
            surely(),
        ),
        None => {
            let most = search.chances.iter().map(|chance| chance.met).fold(0.0, f64::max);
            format!("All that is searched meets at least one {animal} {} times in 100 ({zone})", hundred(most))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::synthetic;

    #[test]
    fn the_title_speaks_of_the_sites_that_are_drawn() {
        let report = synthetic::animals_report();
        let mut search = report.answer.animals[0].clone();
        let set = |search: &mut AnimalSearch, all: f64, one: f64| {
            for chance in &mut search.chances {
                (chance.met, chance.met_on_one_site) = (all, one);
            }
        };
        set(&mut search, 0.9, 0.3);
        search.units_to_meet = None;
        assert!(search.most_sites > 1 && draws_all_sites(&search) && curves(&search, 0).len() == 2);
        assert!(
            finding(&search, "giant_clam").starts_with("All that is searched meets at least one giant clam 90 times")
        );
        set(&mut search, 0.9999, 0.3);
        search.units_to_meet = Some(1);
        assert!(!draws_all_sites(&search) && curves(&search, 0).len() == 1);
        let title = finding(&search, "giant_clam");
        assert!(title.contains(" on one site meet at least one giant clam 30 times in 100"), "{title}");
        set(&mut search, 0.9999, 0.96);
        let title = finding(&search, "giant_clam");
        assert!(
            title.contains(" on one site ") && title.contains("at least one giant clam 95 times in 100"),
            "{title}"
        );
    }
}
