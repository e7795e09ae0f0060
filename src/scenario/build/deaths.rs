use super::share;
use crate::design::{ColonyDeaths, HARD_CORAL, StormPatches};
use crate::scenario::defaults;
use crate::scenario::file::{ChangeTable, DeathsTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};

/// How the colonies of one change die; `None` where the table cannot be used.
pub fn build(
    change: &str,
    (indicator, told): (&str, &ChangeTable),
    table: &DeathsTable,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Option<ColonyDeaths> {
    let path = format!("{change}.deaths");
    if indicator != HARD_CORAL {
        let message =
            format!("only colonies of hard coral die by size or in patches, and this is a change of {indicator}");
        problems.add(&path, message, "for hard_coral only", "Take [change.deaths] out.");
        return None;
    }
    if told.to.get() >= told.from.get() {
        let message = "where hard coral does not fall no colonies die of the change";
        problems.add(&path, message, "for a fall only", "Take [change.deaths] out, or write a to below from.");
        return None;
    }
    let odds = table.odds_at_twice_the_size.map_or(1.0, |odds| odds.get());
    if odds == 1.0 && table.hit_percent.is_none() {
        let message = "nothing tells how the deaths strike";
        let remedy = "Write odds_at_twice_the_size (other than 1), or hit_percent, or take [change.deaths] out.";
        problems.add(&path, message, "needs one of two keys", remedy);
        return None;
    }
    if table.hit_percent.is_none() {
        let keys =
            [("patch_m", table.patch_m.is_some()), ("left_elsewhere_percent", table.left_elsewhere_percent.is_some())];
        problems.needs(&path, "hit_percent", "deaths in patches", &keys);
    }
    let source = if table.source.is_some() { &table.source } else { &told.source };
    let mut note = |key: &str, what: &str, written: bool, value: String| {
        let about = format!("hard_coral {} to {}: {what}", number(told.from.get()), number(told.to.get()));
        ledger.note(&path, key, about, Noted::when(written, value), source);
    };
    let what = "odds to live of a colony of twice the diameter";
    note(
        "odds_at_twice_the_size",
        what,
        table.odds_at_twice_the_size.is_some(),
        format!("{} times as high", number(odds)),
    );
    let patches = table.hit_percent.map(|hit| {
        let hit = share(hit.get());
        let patch_scale_m = table.patch_m.map_or(defaults::STORM_PATCH_M, |scale| scale.get());
        let left_elsewhere = table.left_elsewhere_percent.map_or(1.0, |left| share(left.get()));
        note("hit_percent", "share of the bottom that is hit", true, percent(hit));
        note(
            "patch_m",
            "scale of the patches that are hit",
            table.patch_m.is_some(),
            format!("{} m", number(patch_scale_m)),
        );
        let what = "left of the colonies where it was not hit";
        note("left_elsewhere_percent", what, table.left_elsewhere_percent.is_some(), percent(left_elsewhere));
        StormPatches { hit, patch_scale_m, left_elsewhere }
    });
    Some(ColonyDeaths { odds_at_twice_the_size: odds, patches })
}
