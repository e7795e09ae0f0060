use super::{Column, Grid, Section};
use crate::budget::MET;
use crate::planner::expedition::{SiteTasks, ZoneSites, places_words};
use crate::report::budget::BudgetReport;
use crate::report::budget::effort_text::{in_time, visits_line};
use crate::report::budget::told_by_text::{told_by, told_otherwise};
use crate::report::figures::budget::stairs;
use crate::report::words::{method_words, sentence};

/// What is done at a site, and how far it could be more or less.
pub fn site_set(report: &BudgetReport) -> Option<Section> {
    let plan = report.answer.scheduled()?;
    let holds = plan.margins.iter().any(|margin| margin.margin >= MET);
    let tasks = Grid {
        caption: "At each site".into(),
        columns: vec![
            Column::words("method"),
            Column::words("each"),
            Column::number("planned").small("units a site"),
            Column::number("needs").small("targets still hold"),
            Column::number("fits").small("in the same dives"),
        ],
        rows: plan.site_set.iter().map(|task| task_row(task, holds)).collect(),
    };
    let zones = Grid {
        caption: "A site takes".into(),
        columns: vec![
            Column::words("zone"),
            Column::number("sites"),
            Column::number("team dives"),
            Column::number("not under").small("by minutes alone"),
            Column::number("pair-dives"),
            Column::number("done in time").small("fullest dive, in 100"),
        ],
        rows: plan.zones.iter().map(zone_row).collect(),
    };
    let not_planned = &report.answer.not_planned;
    let left_out = (!not_planned.is_empty()).then(|| {
        let names: Vec<String> = not_planned.iter().map(|method| method_words(method)).collect();
        format!("No target asks for what {} reads: not planned.", names.join(" or "))
    });
    let mut words = vec![
        "Every site is done alike: so many units of each method, packed into as few team dives as can be.".to_owned(),
    ];
    words.extend(plan.places.map(|places| {
        format!("There are two visits of this kind; the second lays its units at {}.", places_words(places))
    }));
    words.extend(told_by(report).zip(told_otherwise(report)).map(|(own, others)| format!("{own}. {others}")));
    Some(Section {
        id: "site-set",
        heading: "What is done at a site",
        words: words.into_iter().chain(visits_line(plan)).chain(left_out).collect(),
        grids: vec![tasks, zones],
        notes: vec![
            "Needs: the fewest units with which the targets that hold still hold, one method at a time. Fits: the most that \
             fit into the same team dives. A team dive is all pairs of a boat under water once, together, at one site; a \
             pair-dive is one pair under water once."
                .into(),
        ],
        ..Section::default()
    })
}

/// How far units are free, and which of them costs a dive.
pub fn next_dive(report: &BudgetReport) -> Option<Section> {
    let figures = stairs(report);
    (!figures.is_empty()).then(|| Section {
        id: "next-dive",
        heading: "Which unit costs a dive",
        words: vec![
            "Units are free as long as they fit into the team dives of a site; then one of them costs a dive.".into(),
        ],
        figures,
        ..Section::default()
    })
}

/// `holds`: whether any target does, for which so many units could be needed.
fn task_row(task: &SiteTasks, holds: bool) -> Vec<String> {
    let method = sentence(&method_words(&task.method));
    let needs = if holds { task.needs.to_string() } else { "-".into() };
    vec![method, task.dimensions.clone(), task.units.to_string(), needs, task.fits.to_string()]
}

fn zone_row(zone: &ZoneSites) -> Vec<String> {
    // What is done on the dives of another zone stands there.
    let own = |number: usize| if zone.on_dives_of.is_none() { number.to_string() } else { String::new() };
    vec![
        sentence(&zone.zone),
        zone.sites.to_string(),
        zone.dives_words(),
        own(zone.team_dives_at_least),
        own(zone.pair_dives),
        in_time(zone.finished),
    ]
}
