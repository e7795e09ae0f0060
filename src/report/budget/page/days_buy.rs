use super::{Column, Grid, Section};
use crate::planner::expedition::{BudgetPlan, DayChance};
use crate::report::budget::BudgetReport;
use crate::report::budget::frontier_text::{beyond, not_the_plan, weakest};
use crate::report::budget::money_text::by_effort;
use crate::report::budget::plan_text::with_sites;
use crate::report::figures::budget::days_buy as figure;
use crate::report::words::plain;

/// What each number of days buys.
pub fn days_buy(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    let planned: Vec<(&DayChance, &BudgetPlan)> =
        answer.frontier.iter().filter_map(|day| Some((day, day.plan.as_ref()?))).collect();
    let first = planned.first()?;
    let names = first.1.margins.iter().map(|margin| plain(&margin.indicator));
    let has_chance = planned.iter().any(|(day, _)| day.chance.is_some());
    let mut columns = vec![
        Column::number("days"),
        Column::number("sites"),
        Column::number("team dives"),
        Column::number("pair-dives"),
        Column::number("weakest must"),
        Column::number("weakest of all"),
    ];
    columns.extend(names.map(|name| Column::number(name).small("margin")));
    if has_chance {
        columns.push(Column::number("so many left").small("in 100"));
    }
    let row = |&(day, plan): &(&DayChance, &BudgetPlan)| {
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        let mut cells = vec![
            day.days.to_string(),
            sites.to_string(),
            plan.team_dives.to_string(),
            plan.pair_dives.to_string(),
            weakest(plan, true),
            weakest(plan, false),
        ];
        cells.extend(plan.margins.iter().map(|margin| format!("{:.2}", margin.margin)));
        if has_chance {
            cells.push(day.chance.map_or(String::new(), |chance| format!("{:.0}", 100.0 * chance)));
        }
        cells
    };
    let mut words = Vec::new();
    if first.0.days > 1 {
        words.push(format!("Below {} days not even the fewest sites are reached.", first.0.days));
    }
    match (&answer.all, &answer.musts) {
        (Some(all), Some(musts)) if musts.days < all.days => {
            words.push(format!("All targets take {}; the musts alone {}.", with_sites(all), with_sites(musts)));
        }
        (Some(all), _) => words.push(format!("All targets take {}.", with_sites(all))),
        (None, Some(musts)) => words.push(format!(
            "No number of the sites there are meets all targets; the musts alone take {}.",
            with_sites(musts)
        )),
        (None, None) => words.push("No number of the sites there are meets the musts.".into()),
    }
    words.extend(beyond(report));
    words.extend(not_the_plan(report));
    words.extend(by_effort(report).map(str::to_owned));
    Some(Section {
        id: "days",
        heading: "Days, and what they buy",
        words,
        figures: figure(report).into_iter().collect(),
        grids: vec![Grid { caption: String::new(), columns, rows: planned.iter().map(row).collect() }],
        notes: vec!["By formula: the best use of so many days, musts first.".into()],
        ..Section::default()
    })
}
