use super::{Column, Grid, Section};
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, MarginIf, MeasureFirst};
use crate::report::budget::BudgetReport;
use crate::report::budget::money_text::by_effort;
use crate::report::budget::search_text::{MOVES, own_sets, own_sets_line, why_not};
use crate::report::words::{count_method, plain, sentence};

/// Rows of what a pilot should measure.
const MEASURED_FIRST: usize = 12;

/// Why targets cannot be met, and the nearest plan.
pub fn why_not_met(report: &BudgetReport) -> Option<Section> {
    let words = why_not(report);
    (!words.is_empty()).then(|| Section {
        id: "why-not",
        heading: "Why not all can be met",
        words,
        notes: vec![
            "By formula, whatever the number of days. The nearest plan gives up what weighs least, shoulds first."
                .into(),
        ],
        ..Section::default()
    })
}

/// Plans that the formula found and simulation did not confirm.
pub fn by_simulation(report: &BudgetReport) -> Option<Section> {
    let said = &report.answer.by_simulation;
    (!said.is_empty()).then(|| Section {
        id: "by-simulation",
        heading: "What simulation changed",
        words: [
            vec!["The formula proposed what simulation did not confirm; what is shown is what it did.".to_owned()],
            said.clone(),
        ]
        .concat(),
        ..Section::default()
    })
}

/// What the plan gives with a little more or less.
pub fn margin_ifs(report: &BudgetReport) -> Option<Section> {
    let rows = &report.answer.margin_ifs;
    let plan = report.answer.scheduled().filter(|_| rows.len() > 1)?;
    let mut columns = vec![Column::words("what is changed"), Column::number("days"), Column::number("team dives")];
    columns.extend(plan.margins.iter().map(|margin| Column::number(plain(&margin.indicator)).small("margin")));
    columns.push(Column::number("weakest").small("margin"));
    let row = |of: &MarginIf| {
        let weakest = of.margins.iter().copied().fold(f64::INFINITY, f64::min);
        let margins = of.margins.iter().chain([&weakest]).map(|margin| format!("{margin:.2}"));
        [sentence(&of.what), of.days.to_string(), of.team_dives.to_string()].into_iter().chain(margins).collect()
    };
    Some(Section {
        id: "margins",
        heading: "A little more or less",
        words: vec![
            "The plan as it is with one thing more or less at every site, or a day: what it then takes and gives."
                .into(),
        ],
        grids: vec![Grid { caption: String::new(), columns, rows: rows.iter().map(row).collect() }],
        notes: vec!["By formula. A margin of 1 is just met.".into()],
        ..Section::default()
    })
}

/// Which numbers a pilot should measure.
pub fn measure_first(report: &BudgetReport) -> Option<Section> {
    let rows = report.answer.measure_first.iter().filter(|row| row.moves() > MOVES);
    let rows: Vec<&MeasureFirst> = rows.take(MEASURED_FIRST).collect();
    let first = rows.first()?;
    let shown = |margin: Option<f64>| margin.map_or("-".to_owned(), |margin| format!("{margin:.2}"));
    let row = |of: &&MeasureFirst| {
        vec![
            sentence(&plain(&of.indicator)),
            of.component.clone(),
            shown(of.smaller),
            shown(Some(of.as_it_is)),
            shown(of.larger),
        ]
    };
    let columns = vec![
        Column::words("target"),
        Column::words("how much it varies"),
        Column::number("a third smaller").small("margin"),
        Column::number("as assumed").small("margin"),
        Column::number("half as large again").small("margin"),
    ];
    Some(Section {
        id: "measure-first",
        heading: "What a pilot should measure first",
        words: vec![if first.decides() {
            format!(
                "Whether a target is met hangs most on this number: {}, {}.",
                plain(&first.indicator),
                first.component
            )
        } else {
            format!(
                "No number decides by itself whether a target is met; most moves {}, {}.",
                plain(&first.indicator),
                first.component
            )
        }],
        grids: vec![Grid { caption: String::new(), columns, rows: rows.iter().map(row).collect() }],
        notes: vec!["By formula, one number at a time, in all zones at once.".into()],
        ..Section::default()
    })
}

/// A site set of its own in each zone.
pub fn own_site_sets(report: &BudgetReport) -> Option<Section> {
    let own = own_sets(report)?;
    let common: &BudgetPlan = report.answer.all.as_ref()?;
    let row = |(zone, sites, units): &(String, u16, Vec<u8>)| {
        let units =
            common.site_set.iter().zip(units).map(|(task, &units)| count_method(&task.method, usize::from(units)));
        vec![sentence(zone), sites.to_string(), units.collect::<Vec<_>>().join(", ")]
    };
    let columns = vec![Column::words("zone"), Column::number("sites"), Column::words("at each site")];
    Some(Section {
        id: "own-site-sets",
        heading: "A site set of its own in each zone",
        words: vec![format!(
            "{} The common site set takes {}, {}.",
            own_sets_line(own),
            counted(common.days, "day"),
            counted(common.team_dives, "team dive")
        )],
        grids: vec![Grid { caption: String::new(), columns, rows: own.zones.iter().map(row).collect() }],
        notes: vec![
            "It is neither simulated nor scheduled: a plan is simpler to dive where all sites are alike.".into(),
        ]
        .into_iter()
        .chain(by_effort(report).map(str::to_owned))
        .collect(),
        ..Section::default()
    })
}
