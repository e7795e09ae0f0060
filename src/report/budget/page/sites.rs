use super::{Column, Grid, Section};
use crate::planner::expedition::{CalmVisit, SiteRole, SiteRow};
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
    let calm = answer.calm_visits.iter().map(calm_line);
    let spoken = format!("The result does not speak of: {}", answer.not_spoken_of.join(" "));
    let [table, waypoints] = ["sites.csv", "sites.gpx"].map(|name| report.file(name));
    let spares = "Spares are used in their order where a site cannot be; why is written into the list. ";
    let has_spares = answer.sites.iter().any(|site| site.role == SiteRole::Spare);
    let listed =
        format!("{}The same as a table: {table}; as waypoints: {waypoints}.", if has_spares { spares } else { "" });
    Some(Section {
        id: "sites",
        heading: "Sites",
        words: vec![spoken],
        grids,
        notes: calm.chain((!answer.sites.is_empty()).then_some(listed)).collect(),
        ..Section::default()
    })
}

/// "Day 4, slope 5, Tinder: needs calm weather; else ..."
pub fn calm_line(visit: &CalmVisit) -> String {
    format!("Day {}, {} {}, {}: {}.", visit.day, visit.zone, visit.site, visit.site_name, calm_words(visit))
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
            match site.day {
                Some(day) => day.to_string(),
                None if site.done => "done".into(),
                None => String::new(),
            },
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
