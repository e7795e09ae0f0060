use super::Notes;
use crate::design::{Boats, DayClock, ExpeditionDays, LostShare};
use crate::measures::plural;
use crate::scenario::count::{Count, DaysOff};
use crate::scenario::defaults;
use crate::scenario::file::ExpeditionTable;
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};

/// Days, and those that are no days of survey.
pub fn days(table: &ExpeditionTable, notes: &mut Notes, problems: &mut Problems) -> ExpeditionDays {
    notes.plan("days", "days", true, table.days.get().to_string());
    let mut off = |key: &str, what: &str, written: Option<Count<DaysOff>>| {
        let days = written.map_or(0, |days| days.get());
        notes.plan(key, what, written.is_some(), days.to_string());
        days
    };
    let transit = off("transit_days", "days under way", table.transit_days);
    let check_out = off("check_out_days", "days of check-out dives and training", table.check_out_days);
    let reserved = off("reserved_days", "days kept for other things", table.reserved_days);
    let all = table.days.get();
    if transit + check_out + reserved >= all {
        let message = format!("{} of {all} days are under way, for check-out or kept", transit + check_out + reserved);
        let allowed = format!("at least {}", transit + check_out + reserved + 1);
        let remedy =
            "Book more days, or lower transit_days, check_out_days or reserved_days: none is left to survey on.";
        problems.add("expedition.days", message, allowed, remedy);
    }
    let chance_wanted = table.chance_wanted.map_or(defaults::CHANCE_WANTED, |chance| chance.get());
    let what = "how sure the targets are reached in spite of lost days";
    notes.plan("chance_wanted", what, table.chance_wanted.is_some(), percent(chance_wanted));
    ExpeditionDays {
        all,
        transit,
        check_out,
        reserved,
        lost: lost(table, notes, problems),
        chance_wanted,
        is_rest: false,
    }
}

fn lost(table: &ExpeditionTable, notes: &mut Notes, problems: &mut Problems) -> Option<LostShare> {
    let what = "days on which nobody can dive";
    let spell_days = table.bad_spell_days.map(|days| days.get());
    let Some(share) = table.lost_days_percent.map(|share| share.get() / 100.0) else {
        notes.note("lost_days_percent", what, false, "not told".into());
        if spell_days.is_some() {
            let message = "the length of bad spells is told, but not how many days they take";
            let remedy = "Write lost_days_percent, or take bad_spell_days out.";
            problems.add("expedition.bad_spell_days", message, "needs lost_days_percent", remedy);
        }
        return None;
    };
    notes.note("lost_days_percent", what, true, percent(share));
    let shown = spell_days.map_or("each day by itself".into(), |days| format!("{} days", number(days)));
    notes.note("bad_spell_days", "mean length of a bad spell", spell_days.is_some(), shown);
    let shortest = 1.0 / (1.0 - share);
    if let Some(days) = spell_days.filter(|days| *days < shortest - 1e-9) {
        let message =
            format!("bad spells of {} days are shorter than those of days that are lost each by itself", number(days));
        // On the allowed side.
        let allowed = format!("at least {}", number((shortest * 100.0).ceil() / 100.0));
        let remedy = format!(
            "Where {} of the days are lost each by itself, spells have {} days in the mean: raise bad_spell_days, or take \
             it out.",
            percent(share),
            number((shortest * 100.0).round() / 100.0)
        );
        problems.add("expedition.bad_spell_days", message, allowed, remedy);
    }
    Some(LostShare { share, spell_days })
}

/// Boats and what fits into their day.
pub fn boats(table: &ExpeditionTable, notes: &mut Notes, problems: &mut Problems) -> Boats {
    let number = table.boats.map_or(1, |boats| boats.get());
    notes.plan("boats", "boats, all alike", table.boats.is_some(), number.to_string());
    let dives_a_day = table.dives_a_day.get();
    notes.plan("dives_a_day", "dives a day of each diver at most", true, dives_a_day.to_string());
    let sites_a_day = table.sites_a_day.map(|sites| sites.get());
    if let Some(sites) = sites_a_day {
        notes.plan("sites_a_day", "sites a day of each boat at most", true, sites.to_string());
        if sites > dives_a_day {
            let message = format!(
                "{sites} sites a day take more than the {dives_a_day} {} of a day",
                plural("dive", dives_a_day)
            );
            let remedy = "No dive spans two sites: lower sites_a_day.";
            problems.add("expedition.sites_a_day", message, format!("at most {dives_a_day}"), remedy);
        }
    }
    let clock = clock(table, notes, problems);
    if sites_a_day.is_none() && clock.is_none() {
        let message = "how many sites fit into a day is not told";
        let remedy = "Write sites_a_day, or the five minutes of a day: day_minutes, out_and_home_minutes, \
                      between_sites_minutes, surface_interval_minutes, around_a_dive_minutes.";
        problems.add("expedition.sites_a_day", message, "needed in this table", remedy);
    }
    Boats { number, dives_a_day, sites_a_day: sites_a_day.or(clock.is_none().then_some(1)), clock }
}

/// The minutes of a day: all five or none, because none of them has a usual value.
fn clock(table: &ExpeditionTable, notes: &mut Notes, problems: &mut Problems) -> Option<DayClock> {
    let told = [
        ("day_minutes", "minutes of a day on the water", table.day_minutes.map(|minutes| minutes.get())),
        ("out_and_home_minutes", "minutes out and home", table.out_and_home_minutes.map(|minutes| minutes.get())),
        (
            "between_sites_minutes",
            "minutes from site to site",
            table.between_sites_minutes.map(|minutes| minutes.get()),
        ),
        (
            "surface_interval_minutes",
            "minutes at the surface between dives",
            table.surface_interval_minutes.map(|minutes| minutes.get()),
        ),
        (
            "around_a_dive_minutes",
            "minutes of a dive besides its bottom time",
            table.around_a_dive_minutes.map(|minutes| minutes.get()),
        ),
    ];
    let (mut values, mut written) = ([0.0; 5], 0);
    for ((key, what, minutes), value) in told.iter().zip(&mut values) {
        if let Some(minutes) = minutes {
            notes.note(key, what, true, format!("{} min", number(*minutes)));
            *value = *minutes;
            written += 1;
        }
    }
    for (key, _, minutes) in told.iter().filter(|_| (1..5).contains(&written)) {
        if minutes.is_none() {
            let message = "the minutes of a day are told in part";
            let remedy = "Write all five: day_minutes, out_and_home_minutes, between_sites_minutes, \
                          surface_interval_minutes, around_a_dive_minutes.";
            problems.add(&format!("expedition.{key}"), message, "needed beside the others", remedy);
        }
    }
    let [day, out_and_home, between_sites, interval, around_a_dive] = values;
    (written > 0).then_some(DayClock { day, out_and_home, between_sites, interval, around_a_dive })
}
