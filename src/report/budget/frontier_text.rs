//! What days buy, as text.

use super::report::BudgetReport;
use crate::report::terminal::paragraph;

pub fn frontier(text: &mut String, report: &BudgetReport) {
    if report.answer.frontier.iter().all(|day| day.plan.is_none()) {
        return;
    }
    let has_chance = report.answer.frontier.iter().any(|day| day.chance.is_some());
    paragraph(text, "What days buy (by formula): the weakest margins, and the chance that so many are left", "");
    *text += &format!(
        "{:>4} {:>6} {:>10} {:>8} {:>8}{}\n",
        "days",
        "sites",
        "pair-dives",
        "musts",
        "all",
        if has_chance { "   chance" } else { "" }
    );
    for day in &report.answer.frontier {
        let chance = day.chance.map_or(String::new(), |chance| format!("   {chance:.2}"));
        let Some(plan) = &day.plan else {
            *text += &format!("{:>4} too few for the fewest sites\n", day.days);
            continue;
        };
        let least = |must: bool| {
            let of = plan.margins.iter().filter(|margin| margin.must || !must).map(|margin| margin.margin);
            of.fold(f64::INFINITY, f64::min)
        };
        let shown = |margin: f64| if margin.is_finite() { format!("{margin:.2}") } else { "-".into() };
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        *text += &format!(
            "{:>4} {:>6} {:>10} {:>8} {:>8}{chance}\n",
            day.days,
            sites,
            plan.pair_dives,
            shown(least(true)),
            shown(least(false))
        );
    }
    text.push('\n');
}
