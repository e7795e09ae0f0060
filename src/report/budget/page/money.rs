use super::{Column, Grid, Section};
use crate::design::Asks;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, CostItem, CostOf, MarginIf, VisitItem, VisitMoney, WhatIf, WhatIfKind};
use crate::report::budget::BudgetReport;
use crate::report::budget::money_text::{VISIT_MONEY, amount, for_money, money_words, visit_money};
use crate::report::digits::{NONE, significant, trimmed};
use crate::report::words::{method_words, plain, sentence};

/// What plans cost by the user's rates; nothing without them.
pub fn money(report: &BudgetReport) -> Option<Section> {
    let plan = report.answer.scheduled()?;
    let words = money_words(report, plan)?;
    let precision = precision(report).map(|words| sentence(&words));
    let bought = for_money(report).map(|words| format!("{words}."));
    Some(Section {
        id: "money",
        heading: "Money",
        words: std::iter::once(format!("{words}.")).chain(precision).chain(bought).collect(),
        grids: [parts(plan), plans(report), one_more(report), if_so(report)].into_iter().flatten().collect(),
        notes: vec![
            "By the rates of the scenario alone: what they leave out is not in it. Days under way, for check-out and lost to \
             weather cost what every day costs. Limits of diving have no price: what caution costs is not told. By formula."
                .into(),
        ],
        ..Section::default()
    })
}

/// What a part is counted in: "days", "hours ashore".
pub fn part_words(of: CostOf, method: Option<&str>) -> String {
    match of {
        CostOf::Fixed => "once, whatever is done".into(),
        CostOf::Days => "days from leaving to being back".into(),
        CostOf::PersonDays => "days of people, each their own".into(),
        CostOf::Dives => "dives of divers".into(),
        CostOf::HoursAshore => "hours ashore".into(),
        CostOf::DaysBefore => "person-days of preparation".into(),
        CostOf::DaysAfter => "person-days of work afterwards".into(),
        CostOf::Laboratory => {
            format!("laboratory, {}", method.map_or(String::new(), method_words))
        }
    }
}

/// Money of the visit whose rest is planned.
pub fn of_visit(money: &VisitMoney) -> Section {
    let shown = |sum: f64| amount(sum, &money.currency);
    let or_none = |sum: Option<f64>| sum.map_or(NONE.into(), shown);
    let row = |item: &VisitItem| {
        let at_rate = |number: Option<f64>| number.map(|number| number * item.rate);
        let rest = at_rate(item.rest);
        vec![
            sentence(&part_words(item.of, item.method.as_deref())),
            shown(item.rate),
            or_none(at_rate(item.planned)),
            trimmed(item.spent, 1),
            shown(item.spent * item.rate),
            or_none(rest),
            or_none(rest.map(|rest| rest + item.spent * item.rate)),
        ]
    };
    let mut rows: Vec<Vec<String>> = money.items.iter().map(row).collect();
    let [planned, spent, rest, whole] = [money.planned, Some(money.spent), money.rest, money.whole()].map(or_none);
    rows.push(vec!["All".into(), String::new(), planned, String::new(), spent, rest, whole]);
    let grid = Grid {
        caption: String::new(),
        columns: vec![
            Column::words("what"),
            Column::number("each"),
            Column::number("planned").small("the whole visit"),
            Column::number("number").small("up to now"),
            Column::number("spent").small("up to now"),
            Column::number("the rest").small("with the way home"),
            Column::number("together"),
        ],
        rows,
    };
    Section {
        id: "money",
        heading: "Money",
        words: vec![format!("{}.", visit_money(money))],
        grids: vec![grid],
        notes: vec![VISIT_MONEY.into()],
        ..Section::default()
    }
}

fn parts(plan: &BudgetPlan) -> Option<Grid> {
    let cost = plan.cost.as_ref()?;
    let row = |item: &CostItem| {
        vec![
            sentence(&part_words(item.of, item.method.as_deref())),
            trimmed(item.number, 1),
            amount(item.rate, &cost.currency),
            amount(item.money, &cost.currency),
            format!("{:.0}", 100.0 * item.money / cost.total),
        ]
    };
    let mut rows: Vec<Vec<String>> = cost.items.iter().map(row).collect();
    rows.push(vec!["All".into(), String::new(), String::new(), amount(cost.total, &cost.currency), "100".into()]);
    Some(Grid {
        caption: format!("The plan that is scheduled ({} for diving)", counted(plan.days_with_free(), "day")),
        columns: vec![
            Column::words("what"),
            Column::number("number"),
            Column::number("each"),
            Column::number("money"),
            Column::number("%"),
        ],
        rows,
    })
}

fn plans(report: &BudgetReport) -> Option<Grid> {
    let answer = &report.answer;
    let named = [("all targets", &answer.all), ("the musts", &answer.musts)];
    let named = named.into_iter().filter_map(|(name, plan)| Some((sentence(name), plan.as_ref()?)));
    let days = answer.frontier.iter().filter_map(|day| Some((day.days, day.plan.as_ref()?)));
    let days = days.map(|(days, plan)| (format!("The best use of {days} days"), plan));
    let row = |(name, plan): (String, &BudgetPlan)| {
        let cost = plan.cost.as_ref()?;
        let booked = answer.book.iter().find(|book| sentence(&book.plan) == name).and_then(|book| book.money);
        let shown = |money: f64| amount(money, &cost.currency);
        Some(vec![
            name,
            shown(cost.total),
            booked.map_or(NONE.into(), |(_, booked)| shown(booked)),
            shown(cost.per_dive),
            shown(cost.per_site),
            shown(cost.per_unit),
        ])
    };
    Some(Grid {
        caption: "Every plan".into(),
        columns: vec![
            Column::words("plan"),
            Column::number("money"),
            Column::number("money").small("with the days to book"),
            Column::number("over dives").small("of a diver"),
            Column::number("over sites"),
            Column::number("over units"),
        ],
        rows: named.chain(days).filter_map(row).collect(),
    })
}

/// What one day, site or unit more costs, and what it does to the weakest margin.
fn one_more(report: &BudgetReport) -> Option<Grid> {
    let currency = currency(report)?;
    let (first, others) = report.answer.margin_ifs.split_first()?;
    let least = |of: &MarginIf| of.margins.iter().copied().fold(f64::INFINITY, f64::min);
    let row = |of: &MarginIf| {
        let more = of.money? - first.money?;
        let gained = least(of) - least(first);
        let for_thousand =
            if more > 0.0 && gained > 0.0 { significant(1000.0 * gained / more, 2) } else { NONE.into() };
        Some(vec![
            sentence(&of.what),
            amount(more, currency),
            format!("{:.2}", least(of)),
            format!("{gained:+.2}"),
            for_thousand,
        ])
    };
    let rows: Vec<Vec<String>> = others.iter().filter_map(row).collect();
    (!rows.is_empty()).then(|| Grid {
        caption: format!("One thing more or less than planned (the weakest margin is then {:.2})", least(first)),
        columns: vec![
            Column::words("what"),
            Column::number("money more"),
            Column::number("weakest margin"),
            Column::number("gained"),
            Column::number("gained for 1,000").small("the weakest margin"),
        ],
        rows,
    })
}

/// What-ifs that tell money.
fn if_so(report: &BudgetReport) -> Option<Grid> {
    let currency = currency(report)?;
    let first = report.answer.what_ifs.first()?;
    // The days beside it, because some have too many, and what it is more or less than as it is.
    let shown = |(money, takes): (Option<f64>, Option<(usize, usize)>), now: Option<f64>| {
        let Some(((days, _), money)) = takes.zip(money) else { return vec![NONE.into(); 3] };
        let more = now.map_or(NONE.into(), |now| match (money - now).round() {
            0.0 => "as much".to_owned(),
            more if more > 0.0 => format!("{} more", amount(more, currency)),
            less => format!("{} less", amount(-less, currency)),
        });
        vec![days.to_string(), amount(money, currency), more]
    };
    let told = report.answer.what_ifs.iter().filter(|what| what.kind != WhatIfKind::Caution);
    let told = told.filter(|what| what.money_for_all.or(what.money_for_musts).is_some());
    let name = |what: &WhatIf| sentence(&what.what) + if what.expeditions.is_some() { " (all of them)" } else { "" };
    let rows = told.map(|what| {
        let now = |money: Option<f64>| money.filter(|_| what.kind != WhatIfKind::AsItIs);
        let of_all = shown((what.money_for_all, what.all), now(first.money_for_all));
        let of_musts = shown((what.money_for_musts, what.musts), now(first.money_for_musts));
        [vec![name(what)], of_all, of_musts].concat()
    });
    let rows: Vec<Vec<String>> = rows.collect();
    let columns = |of: &str| {
        [Column::number(of).small("days"), Column::number("").small("money"), Column::number("").small("than as it is")]
    };
    (!rows.is_empty()).then(|| Grid {
        caption: format!(
            "What if (there are {} for diving; - out of reach, or its money is not worked out)",
            counted(report.answer.bookable_days, "day")
        ),
        columns: std::iter::once(Column::words("what if"))
            .chain(columns("all targets"))
            .chain(columns("the musts"))
            .collect(),
        rows,
    })
}

/// What a point, or a unit, less of a detectable change or half-width costs, from the plan to the best use of one day more.
pub fn precision(report: &BudgetReport) -> Option<String> {
    let currency = currency(report)?;
    let (first, others) = report.answer.margin_ifs.split_first()?;
    let more = others.iter().rev().find(|of| of.kind == WhatIfKind::Days && of.days > first.days)?;
    let paid = more.money? - first.money?;
    let each = report.answer.scheduled()?.margins.iter().zip(first.achieved.iter().zip(&more.achieved));
    let told = each.filter_map(|(margin, (now, then))| {
        let (scale, unit) = match margin.asks {
            Asks::Cv(_) => (100.0, "% of its mean".to_owned()),
            _ => match report.scenario.unit_of(&margin.indicator) {
                crate::design::Unit::Share => (100.0, "point".to_owned()),
                crate::design::Unit::Own(unit) => (1.0, unit),
            },
        };
        let what = match margin.asks {
            Asks::SeeChange(_) => "the smallest change that is seen",
            Asks::HalfWidth(_) => "the half-width",
            Asks::Cv(_) => "the error",
        };
        let less = scale * (now - then);
        (paid > 0.0 && less > 0.0).then(|| {
            format!("{} for each {unit} less of {what} of {}", amount(paid / less, currency), plain(&margin.indicator))
        })
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| {
        format!(
            "the best use of one day more costs {} more than the plan, which is {} (by formula; each by itself pays for all of \
             them).",
            amount(paid, currency),
            told.join(", ")
        )
    })
}

fn currency(report: &BudgetReport) -> Option<&str> {
    Some(report.expedition.rates.as_ref()?.currency.as_str())
}
