//! The figures of a report, each a pure function from its data to SVG text.

mod axes;
mod bars;
/// Figures of a dive budget.
pub mod budget;
mod canvas;
mod colours;
mod contour;
mod curves;
mod figure;
mod fish_bias;
mod labels;
mod map;
mod minutes;
mod names;
mod occupancy;
mod power;
mod precision;
mod ranges;
mod reef;
mod reef_animals;
mod reef_bottom;
mod reef_key;
mod reef_units;
mod search;
mod sensitivity;
mod sizes;
mod window;

pub use figure::Figure;
pub use sensitivity::by_weight;

use super::report::Report;
use super::select::{distinct, main_topics, most_sites, series};
use super::words::plain;
use crate::planner::ReefPicture;

/// Every figure that the report has data for, in reading order.
pub fn figures(report: &Report) -> Vec<Figure> {
    let all = most_sites(&series(report));
    let topics = main_topics(report, &all);
    let indicators = distinct(topics.iter().map(|topic| topic.indicator.clone()));
    let named = |kind: &str, topic: &super::select::Topic| file_name(&[kind, &topic.indicator, &topic.method]);
    // Before any error: how far off is the number itself?
    let mut figures = fish_bias::fish_bias(report);
    figures.extend(topics.iter().filter_map(|topic| power::power(report, &all, topic, named("power", topic))));
    figures.extend(ranges::ranges(report));
    figures.extend(sensitivity::sensitivity(report));
    figures.extend(map::map(report));
    figures
        .extend(topics.iter().filter_map(|topic| precision::precision(report, &all, topic, named("precision", topic))));
    figures.extend(
        indicators
            .iter()
            .filter_map(|indicator| minutes::minutes(report, &all, indicator, file_name(&["minutes", indicator]))),
    );
    let animals = distinct(report.answer.animals.iter().map(|search| search.indicator.clone()));
    let of_animal = |animal: &String| search::search(report, animal, file_name(&["search", animal]));
    figures.extend(animals.iter().filter_map(of_animal));
    let searched = distinct(report.answer.animals.iter().map(|search| (&*search.indicator, &*search.method)));
    figures.extend(searched.into_iter().filter_map(|(animal, method)| {
        occupancy::occupancy(report, (animal, method), file_name(&["occupancy", animal, method]))
    }));
    figures.extend(sizes::sizes(report));
    figures.extend(reefs(&report.pictures, false));
    figures
}

/// The pictures of the reef alone; with their captions under them where they stand alone (`view`).
pub fn reefs(pictures: &[ReefPicture], with_caption: bool) -> Vec<Figure> {
    let name = |index: usize, picture: &ReefPicture| {
        let visit = picture.second.as_ref().map(|_| "second-visit");
        let number = (index + 1).to_string();
        file_name(&["reef", &number, &picture.zone].into_iter().chain(visit).collect::<Vec<_>>())
    };
    let numbered = pictures.iter().enumerate();
    numbered.filter_map(|(index, picture)| reef::reef(picture, name(index, picture), with_caption)).collect()
}

/// Small letters, digits and hyphens only.
fn file_name(parts: &[&str]) -> String {
    let joined = plain(&parts.join("-")).to_lowercase();
    let mut name = String::new();
    for letter in joined.chars() {
        match letter {
            'a'..='z' | '0'..='9' => name.push(letter),
            _ if !name.ends_with('-') => name.push('-'),
            _ => {}
        }
    }
    name.trim_matches('-').chars().take(80).collect()
}
