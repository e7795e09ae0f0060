use super::{Column, Grid, Section};
use crate::planner::expedition::SiteRow;
use crate::report::budget::BudgetReport;
use crate::report::budget::sites_files::role_words;
use crate::report::budget::sites_text::calm_words;

/// Where the plan goes, and of what the result does not speak.
pub fn sites(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    if answer.not_spoken_of.is_empty() {
        return None;
    }
    let mut grids = Vec::new();
    if !answer.sites.is_empty() {
        grids.push(drawn(&answer.sites));
    }
    let calm = answer.calm_visits.iter().map(|visit| {
        format!("Day {}, {} {}, {}: {}.", visit.day, visit.zone, visit.site, visit.site_name, calm_words(visit))
    });
    let spoken = format!("The result does not speak of: {}", answer.not_spoken_of.join(" "));
    let listed = "Spares are used in their order where a site cannot be; why is written into the list. The same as a table: \
                  sites.csv; as waypoints: sites.gpx.";
    Some(Section {
        id: "sites",
        heading: "Sites",
        words: vec![spoken],
        grids,
        notes: calm.chain((!answer.sites.is_empty()).then(|| listed.to_owned())).collect(),
        ..Section::default()
    })
}

fn drawn(sites: &[SiteRow]) -> Grid {
    let row = |site: &SiteRow| {
        let role = match &site.replaced_by {
            Some(spare) => format!("cannot be used ({}); {spare} instead", site.cannot_be_used),
            None => role_words(site.role).to_owned(),
        };
        vec![
            format!("{} {}", site.zone, site.site),
            site.name.clone(),
            role,
            site.day.map_or(String::new(), |day| day.to_string()),
            format!("{:.4}, {:.4}", site.latitude, site.longitude),
            site.depth_m.to_string(),
            if site.sheltered { "yes".into() } else { String::new() },
        ]
    };
    Grid {
        caption: "Sites in the order of the draw".into(),
        columns: vec![
            Column::words("site"),
            Column::words("name"),
            Column::words("how it came in"),
            Column::number("day"),
            Column::words("latitude, longitude"),
            Column::number("to").small("m"),
            Column::words("sheltered"),
        ],
        rows: sites.iter().map(row).collect(),
    }
}
