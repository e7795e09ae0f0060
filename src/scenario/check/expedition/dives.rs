use super::crew::pairs_are_right;
use crate::budget::diving::ascent_and_stop;
use crate::design::{DayClock, Expedition, SiteList, Standby, Study, Zone, ZoneDiving};
use crate::measures::counted;
use crate::scenario::defaults;
use crate::scenario::file::{DiveTable, ScenarioFile};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// Dives in each zone that leave time to work, with divers who may make them, in days that hold one.
pub fn check(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    let zones = study.zones.iter().zip(&file.zone).zip(&expedition.zones).enumerate();
    for (index, ((zone, table), diving)) in zones {
        // Where it is missing, that has been told.
        let Some(dive) = &table.dive else { continue };
        let path = format!("zone[{index}].dive");
        if diving.work_minutes() <= 0.0 {
            let message =
                format!("{}: {} minutes of bottom time leave none to work", zone.name, number(diving.bottom_minutes));
            let remedy = "Only the diving officer lengthens a bottom time. Correct the minutes of descent, arrival, \
                          return and to spare, or work at shallower sites.";
            let allowed = format!("above {}", number(diving.not_working_minutes));
            problems.add(&format!("{path}.bottom_minutes"), message, allowed, remedy);
        }
        if let Some(work) = dive.work_minutes.filter(|work| work.get() > diving.bottom_minutes) {
            let message =
                format!("{}: {} minutes of work are more than the bottom time", zone.name, number(work.get()));
            let allowed = format!("at most {}", number(diving.bottom_minutes));
            let remedy =
                "Descent, arrival, return and minutes to spare are part of the bottom time: lower work_minutes.";
            problems.add(&format!("{path}.work_minutes"), message, allowed, remedy);
        }
        check_places((file, study), expedition, index, &path, problems);
        match &expedition.sites {
            Some(list) => check_listed(list, index, (zone, diving, dive), &path, problems),
            // A list that cannot be read has been told.
            None if file.expedition.as_ref().is_some_and(|table| table.candidate_sites.is_some()) => {}
            None => check_sites(zone, diving, &path, problems),
        }
        if pairs_are_right(file, expedition) {
            check_depth(zone, diving, expedition, &path, problems);
        }
        if let Some(clock) = expedition.boats.clock.filter(is_whole) {
            check_clock(zone, diving, &clock, problems);
        }
    }
}

/// Zones at the same places have as many sites.
fn check_places(
    (file, study): (&ScenarioFile, &Study),
    expedition: &Expedition,
    zone: usize,
    path: &str,
    problems: &mut Problems,
) {
    let key = format!("{path}.moving_up_minutes");
    let moving_up = expedition.zones[zone].moving_up_minutes;
    let Some((named, _)) = study.places_of(zone) else {
        if moving_up.is_some() {
            let message = format!("{}: minutes to move up, but not from which deeper zone", study.zones[zone].name);
            let remedy = "Take it out, or write same_places_as = \"...\" (the name of the deeper zone) in the zone.";
            problems.add(&key, message, "needs same_places_as", remedy);
        }
        return;
    };
    if moving_up.is_none() {
        let message = format!("{}: how long it takes to move up to it is not written", study.zones[zone].name);
        let remedy = "Write the minutes from the deeper part to this one, as the diving officer asks for (0 where none are); \
                      no dive gets longer by them.";
        problems.add(&key, message, "needed with same_places_as", remedy);
    }
    // How the other depth is dived is not told, which has been said.
    if file.zone[named].dive.is_none() {
        return;
    }
    let names = [zone, named].map(|zone| study.zones[zone].name.as_str());
    let (own, there) = (&expedition.zones[zone], &expedition.zones[named]);
    for (key, own, there) in
        [("least_sites", own.least_sites, there.least_sites), ("most_sites", own.most_sites, there.most_sites)]
    {
        if own != there {
            let message = format!("{}: {own}, but {there} in {}, which has the same places", names[0], names[1]);
            let remedy = "Each place is surveyed at both depths: write the same number in both zones.";
            problems.add(&format!("{path}.{key}"), message, format!("{there} as there"), remedy);
        }
    }
}

/// A clock of which something is missing has been told.
fn is_whole(clock: &DayClock) -> bool {
    clock.day > 0.0 && clock.interval > 0.0
}

fn check_sites(zone: &Zone, diving: &ZoneDiving, path: &str, problems: &mut Problems) {
    if let Some(existing) = zone.existing.filter(|existing| diving.most_sites > *existing) {
        let message =
            format!("{}: {} at most, but only {existing} exist", zone.name, counted(diving.most_sites, "site"));
        let remedy = "Lower most_sites, or correct existing.";
        problems.add(&format!("{path}.most_sites"), message, format!("at most {existing}"), remedy);
    }
    if diving.least_sites > diving.most_sites {
        let message = format!(
            "{}: {} at least, and {} at most",
            zone.name,
            counted(diving.least_sites, "site"),
            diving.most_sites
        );
        let remedy = "Lower least_sites or raise most_sites; a zone needs two sites at least to show its spread.";
        problems.add(&format!("{path}.least_sites"), message, format!("at most {}", diving.most_sites), remedy);
    }
}

/// The same where sites are on a list, which is what there is to choose from.
fn check_listed(
    list: &SiteList,
    index: usize,
    (zone, diving, dive): (&Zone, &ZoneDiving, &DiveTable),
    path: &str,
    problems: &mut Problems,
) {
    let (usable, must) = list.counts(index);
    let usual = diving.least_sites.min(defaults::LEAST_SITES);
    let least = dive.least_sites.map_or(usual, |least| least.get());
    if usable < least {
        let (all, file) = (list.of_zone(index).count(), &list.file);
        let message =
            format!("{}: {least} sites at least, but {usable} that can be used on the list {file}", zone.name);
        let message = if all > usable { format!("{message} ({all} with those that cannot)") } else { message };
        let remedy = "Add candidate sites of this zone to the list, or lower least_sites (a zone needs two at least).";
        problems.add(&format!("{path}.least_sites"), message, format!("at most {usable}"), remedy);
    } else if let Some(most) = dive.most_sites.filter(|most| most.get() < must.max(least)) {
        let what = if must > least { format!("{must} must be visited") } else { format!("{least} at least") };
        let message = format!("{}: {} sites at most, but {what}", zone.name, most.get());
        let remedy = "Raise most_sites, or write must_visit = no in the list.";
        problems.add(&format!("{path}.most_sites"), message, format!("at least {}", must.max(least)), remedy);
    }
    let all = list.of_zone(index).count();
    if let Some(existing) = zone.existing.filter(|existing| *existing < all) {
        let message = format!("{}: only {existing} sites exist, but {all} are on the list {}", zone.name, list.file);
        problems.add(
            &format!("zone[{index}].existing"),
            message,
            format!("at least {all}"),
            "Correct existing, or the list.",
        );
    }
}

fn check_depth(zone: &Zone, diving: &ZoneDiving, expedition: &Expedition, path: &str, problems: &mut Problems) {
    let pairs = expedition.pairs.iter().filter(|pair| expedition.may_dive(diving, **pair)).count();
    let needed = if expedition.standby == Standby::APairStaysUp { 2 } else { 1 };
    if expedition.pairs.len() >= needed && pairs < needed {
        let so_many = if pairs == 0 { "no pair".to_owned() } else { format!("{pairs} pair alone") };
        let message = format!("{}: {so_many} is authorised to {} m", zone.name, number(diving.depth_m));
        let remedy =
            "Choose shallower sites, or divers who are authorised to this depth; the shallower of two decides.";
        problems.add(&format!("{path}.depth_m"), message, format!("needs {} such", counted(needed, "pair")), remedy);
    }
}

fn check_clock(zone: &Zone, diving: &ZoneDiving, clock: &DayClock, problems: &mut Problems) {
    let ascent = ascent_and_stop(diving.depth_m);
    if clock.around_a_dive < ascent {
        let message = format!(
            "{}: the ascent from {} m at 9 m a minute and a stop of 3 minutes alone take longer",
            zone.name,
            number(diving.depth_m)
        );
        let allowed = format!("at least {}", number((ascent * 10.0).ceil() / 10.0));
        let remedy = "Raise it, and add the minutes to kit up.";
        problems.add("expedition.around_a_dive_minutes", message, allowed, remedy);
    }
    let one = clock.out_and_home + diving.bottom_minutes + clock.around_a_dive;
    if one > clock.day {
        let message = format!("{}: one dive takes {} minutes of a day, out and home included", zone.name, number(one));
        let remedy = "Lengthen the day, or work nearer; the minutes of a dive are not for this program to shorten.";
        problems.add("expedition.day_minutes", message, format!("at least {}", number(one)), remedy);
    }
}
