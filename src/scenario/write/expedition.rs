use super::table::{Writer, percent_text, quoted, trimmed};
use crate::design::{Asks, Expedition, LeastOf, MethodWork, Rates, Study, Target, Unit, ZoneDiving};
use crate::scenario::word::{Priority, TakesWord, word_of};
use crate::survey::MethodSpec;

/// Days, boats and people.
pub fn write(writer: &mut Writer, expedition: &Expedition) {
    let (days, boats) = (&expedition.days, &expedition.boats);
    writer.table("expedition", "[expedition]");
    let count = |value: usize| value.to_string();
    writer.line("days", &count(days.all));
    writer.line("transit_days", &count(days.transit));
    writer.line("check_out_days", &count(days.check_out));
    writer.line("reserved_days", &count(days.reserved));
    if let Some(lost) = days.lost {
        writer.line("lost_days_percent", &percent_text(lost.share));
        if let Some(spell) = lost.spell_days {
            writer.number("bad_spell_days", spell);
        }
    }
    writer.number("chance_wanted", days.chance_wanted);
    writer.line("boats", &count(boats.number));
    writer.line("dives_a_day", &count(boats.dives_a_day));
    if let Some(sites) = boats.sites_a_day {
        writer.line("sites_a_day", &count(sites));
    }
    if let Some(clock) = boats.clock {
        writer.number("day_minutes", clock.day);
        writer.number("out_and_home_minutes", clock.out_and_home);
        writer.number("between_sites_minutes", clock.between_sites);
        writer.number("surface_interval_minutes", clock.interval);
        writer.number("around_a_dive_minutes", clock.around_a_dive);
    }
    let name = |diver: usize| quoted(&expedition.divers[diver].name);
    if expedition.pairs_told {
        let pairs = expedition.pairs.iter().map(|(one, other)| format!("[{}, {}]", name(*one), name(*other)));
        writer.line("pairs", &format!("[{}]", pairs.collect::<Vec<_>>().join(", ")));
    }
    writer.text("standby", word_of(expedition.standby));
    writer.number("finish_chance", expedition.finish_chance);
    writer.line("minutes_spread_percent", &percent_text(expedition.minutes_spread));
    if expedition.chooses_places {
        writer.line("choose_places", "true");
    }
    if let Some(gas) = expedition.gas {
        let shown =
            [gas.litres_a_minute, gas.cylinder_litres, gas.fill_bar, gas.reserve_bar].map(|value| value.to_string());
        let [litres, cylinder, fill, reserve] = shown;
        let table = format!(
            "{{ litres_a_minute = {litres}, cylinder_litres = {cylinder}, fill_bar = {fill}, reserve_bar = {reserve} }}"
        );
        writer.line("gas", &table);
    }
    if let Some(hours) = expedition.flight_hours {
        writer.number("flight_hours_after_last_dive", hours);
    }
    if let Some(list) = &expedition.sites {
        writer.text("candidate_sites", &list.file);
    }
    let ashore = expedition.days_ashore;
    for (key, days) in [("person_days_before", ashore.before), ("person_days_after", ashore.after)] {
        if let Some(days) = days {
            writer.number(key, days);
        }
    }
    if expedition.least != LeastOf::Effort {
        writer.text("least", word_of(expedition.least));
    }
    if let Some(money) = expedition.money {
        writer.number("money", money);
    }
    if !expedition.schedule.is_all_targets() {
        writer.text("schedule", word_of(expedition.schedule));
    }
    writer.source();
    if let Some(rates) = &expedition.rates {
        write_rates(writer, rates);
    }
    for (place, diver) in expedition.divers.iter().enumerate() {
        writer.table(&format!("diver[{place}]"), "[[diver]]");
        writer.text("name", &diver.name);
        let skills: Vec<String> = diver.skills.iter().map(|skill| quoted(skill)).collect();
        writer.line("skills", &format!("[{}]", skills.join(", ")));
        if let Some(depth) = diver.depth_m {
            writer.number("depth_m", depth);
        }
        writer.line("from_day", &count(diver.from_day));
        if let Some(day) = diver.to_day {
            writer.line("to_day", &count(day));
        }
    }
}

/// What is told: a rate of 0 is as good as none, but that one at least must be written.
fn write_rates(writer: &mut Writer, rates: &Rates) {
    writer.table("expedition.rates", "[expedition.rates]");
    writer.text("currency", &rates.currency);
    writer.number("fixed", rates.fixed);
    let told = [
        ("per_day", rates.per_day),
        ("per_person_day", rates.per_person_day),
        ("per_dive", rates.per_dive),
        ("ashore_per_hour", rates.ashore_per_hour),
        ("ashore_per_person_day", rates.ashore_per_person_day),
    ];
    told.into_iter().filter(|(_, rate)| *rate > 0.0).for_each(|(key, rate)| writer.number(key, rate));
    if rates.per_person_day > 0.0 {
        writer.line("other_people", &rates.other_people.to_string());
    }
    writer.source();
}

/// Below the zone. What is no work is told together, as the minutes of work it leaves.
pub fn write_dive(writer: &mut Writer, zone: usize, diving: &ZoneDiving) {
    writer.table(&format!("zone[{zone}].dive"), "[zone.dive]");
    writer.number("depth_m", diving.depth_m);
    writer.number("bottom_minutes", diving.bottom_minutes);
    writer.line("work_minutes", &trimmed(diving.work_minutes()));
    writer.line("least_sites", &diving.least_sites.to_string());
    writer.line("most_sites", &diving.most_sites.to_string());
    if let Some(minutes) = diving.moving_up_minutes {
        writer.number("moving_up_minutes", minutes);
    }
    if let Some(knots) = diving.current_knots {
        writer.number("current_knots", knots);
    }
    if diving.needs_calm {
        writer.line("needs_calm", "true");
    }
    if let Some((minutes, depth_m)) = diving.officer_decided {
        writer.line("diving_officer_decided", &format!("{{ minutes = {minutes}, depth_m = {depth_m} }}"));
    }
    writer.source();
}

/// Below the method of this path: `method.photo_belt[0]`.
pub fn write_work(writer: &mut Writer, method: &str, kind: &str, work: &MethodWork, study: &[MethodSpec]) {
    writer.table(&format!("{method}.work"), &format!("[method.{kind}.work]"));
    writer.number("move_minutes", work.move_minutes);
    writer.number("set_up_minutes", work.set_up_minutes);
    if let Some(skill) = &work.skill {
        writer.text("skill", skill);
    }
    writer.text("takes", word_of(if work.takes_both { TakesWord::Both } else { TakesWord::One }));
    if let Some(first) = work.first {
        writer.line("first", "true");
        writer.number("others_wait_minutes", first.minutes);
        writer.text("who_waits", word_of(first.who_waits));
    }
    writer.line("minutes_spread_percent", &percent_text(work.minutes_spread));
    match work.on_line_of {
        Some(host) => writer.text("on_line_of", study[host].kind.own_name()),
        None => {
            writer.number("mark_minutes", work.mark_minutes);
            writer.number("find_minutes", work.find_minutes);
        }
    }
    if work.line_stays {
        writer.line("line_stays", "true");
    }
    if work.laboratory_cost > 0.0 {
        writer.number("laboratory_cost", work.laboratory_cost);
    }
    writer.source();
}

pub fn write_targets(writer: &mut Writer, targets: &[Target], study: &Study) {
    for (place, target) in targets.iter().enumerate() {
        writer.table(&format!("target[{place}]"), "[[target]]");
        writer.text("indicator", &target.indicator);
        match target.asks {
            Asks::SeeChange(change) => {
                let of_indicator = |other: &usize| study.changes[*other].indicator == target.indicator;
                let which = (0..=change).filter(of_indicator).count();
                writer.line("see", "true");
                writer.line("change", &which.to_string());
                if let Some(power) = target.power {
                    writer.number("power", power);
                }
            }
            Asks::HalfWidth(width) if study.unit_of(&target.indicator) == Unit::Share => {
                writer.line("half_width_points", &percent_text(width));
            }
            Asks::HalfWidth(width) => writer.number("half_width", width),
            Asks::Cv(cv) => writer.line("cv_percent", &percent_text(cv)),
        }
        writer.text("priority", word_of(if target.must { Priority::Must } else { Priority::Should }));
        writer.number("weight", target.weight);
    }
}
