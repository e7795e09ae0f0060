use crate::budget::cautions;
use crate::budget::diving::{FIRST_DIVE_ONLY, cautions_of, undecided};
use crate::design::{Expedition, MethodWork, Places, Standby, Study};
use crate::measures::counted;
use crate::scenario::file::ScenarioFile;
use crate::scenario::shown::number;
use crate::survey::MethodSpec;

/// What is right but not as it may seem: tables that nothing uses, spare divers, loads for the diving officer to see.
pub fn remarks(file: &ScenarioFile, study: &Study, expedition: Option<&Expedition>) -> Vec<String> {
    let Some(expedition) = expedition else { return unused(file).into_iter().collect() };
    let mut told = Vec::new();
    told.extend(spares(expedition));
    told.extend(loads(expedition));
    told.extend(depths(study, expedition));
    told.extend(undecided(study, expedition));
    told.extend(lost(expedition));
    told.extend(crew_changes(expedition));
    told.extend(marks(file, study));
    told.extend(sites(file, study, expedition));
    told.extend(fish_after_others(study, expedition));
    told.extend(own_powers(study, expedition));
    if expedition.standby == Standby::AsTheDivingOfficerDecides {
        told.push(
            "Who stands by at the surface is left to the diving officer: where a pair stays up, it is no capacity, and the \
             expedition takes more dives than are told."
                .to_owned(),
        );
    }
    told
}

/// Targets that shall be seen more or less often than the test of the study says.
fn own_powers(study: &Study, expedition: &Expedition) -> Option<String> {
    let hundred = |power: f64| number((1e4 * power).round() / 100.0);
    let own = expedition.targets.iter().filter_map(|target| Some((target, target.power_asked(&study.test)?)));
    let own = own.filter(|(_, power)| *power != study.test.seen);
    let told: Vec<String> = own.map(|(target, power)| format!("{} {}", target.indicator, hundred(power))).collect();
    (!told.is_empty()).then(|| {
        format!(
            "Changes that shall be seen as often as their own target says, in 100: {} (others {}, as [test] says; curves go by \
             [test] alone).",
            told.join(", "),
            hundred(study.test.seen)
        )
    })
}

/// Fish counts that are told as though nobody had dived before them, while the dives are packed as though that did not matter.
fn fish_after_others(study: &Study, expedition: &Expedition) -> Option<String> {
    let methods = study.methods.iter().zip(&expedition.methods);
    let is_late = |(method, work): &(&MethodSpec, &MethodWork)| {
        method.kind.fish_count().is_some_and(|count| count.left_by_others >= 1.0) && work.first.is_none()
    };
    let names: Vec<&str> = methods.filter(is_late).map(|(method, _)| method.kind.own_name()).collect();
    (!names.is_empty()).then(|| {
        format!(
            "{}: counted as though nobody had dived there before, but other work may be put before it. A count along a tape \
             that was swum before saw 52 % fewer fish (Dickens et al. 2011, PLoS ONE 6:e18965). Write first = true in its work, \
             or left_after_others_percent = 48.",
            names.join(", ")
        )
    })
}

fn unused(file: &ScenarioFile) -> Option<String> {
    let all = [
        ("[[diver]]", !file.diver.is_empty()),
        ("[[target]]", !file.target.is_empty()),
        ("[zone.dive]", file.zone.iter().any(|zone| zone.dive.is_some())),
        ("work of a method", file.method.parts().iter().any(|method| method.work.is_some())),
    ];
    let names: Vec<&str> = all.into_iter().filter(|(_, is_there)| *is_there).map(|(name, _)| name).collect();
    let listed = names.join(", ");
    (!names.is_empty()).then(|| format!("Nothing uses {listed}: that is for an [expedition], and there is none here."))
}

fn spares(expedition: &Expedition) -> Option<String> {
    let (divers, pairs) = (&expedition.divers, &expedition.pairs);
    let in_a_pair = |place: usize| pairs.iter().any(|pair| pair.0 == place || pair.1 == place);
    let spare: Vec<&str> =
        (0..divers.len()).filter(|place| !in_a_pair(*place)).map(|place| divers[place].name.as_str()).collect();
    let verb = if spare.len() == 1 { "is spare" } else { "are spare" };
    let count = format!("{} make {}", counted(divers.len(), "diver"), counted(pairs.len(), "pair"));
    (!spare.is_empty()).then(|| format!("{count}; {} {verb}. Nobody dives alone.", spare.join(", ")))
}

fn loads(expedition: &Expedition) -> Vec<String> {
    let boats = &expedition.boats;
    let interval = boats.clock.and_then(|clock| cautions::short_interval(clock.interval));
    let people = cautions::few_people(expedition.divers.len() / boats.number, expedition.standby == Standby::Crew);
    let later_dives = (boats.dives_a_day > 1).then(|| FIRST_DIVE_ONLY.to_owned());
    // Sites are replicates: no plan is one dive.
    let flight = expedition.flight_hours.and_then(|hours| cautions::early_flight(hours, true));
    [later_dives, cautions::many_dives(boats.dives_a_day), interval, people, flight].into_iter().flatten().collect()
}

fn depths(study: &Study, expedition: &Expedition) -> Vec<String> {
    let mut told = Vec::new();
    for (zone, diving) in study.zones.iter().zip(&expedition.zones) {
        told.extend(cautions_of(diving).into_iter().flatten().map(|caution| format!("{}: {caution}", zone.name)));
        let kept: Vec<String> = expedition
            .pairs
            .iter()
            .filter(|pair| !expedition.may_dive(diving, **pair))
            .map(|pair| format!("{} and {}", expedition.divers[pair.0].name, expedition.divers[pair.1].name))
            .collect();
        if !kept.is_empty() {
            told.push(format!(
                "{}: {} do not dive there, because one of a pair is not authorised to {} m.",
                zone.name,
                kept.join("; "),
                number(diving.depth_m)
            ));
        }
    }
    let untold: Vec<&str> =
        expedition.divers.iter().filter(|diver| diver.depth_m.is_none()).map(|diver| diver.name.as_str()).collect();
    if !untold.is_empty() {
        told.push(format!(
            "To which depth {} may dive is not told (depth_m), so that nothing keeps them from a site here.",
            untold.join(", ")
        ));
    }
    told
}

fn crew_changes(expedition: &Expedition) -> Option<String> {
    let days: Vec<String> = expedition.crew_changes().iter().skip(1).map(|(day, _)| day.to_string()).collect();
    let name = |diver: usize| expedition.divers[diver].name.as_str();
    let anew = expedition.pairs_ever().into_iter().skip(expedition.pairs.len());
    let anew: Vec<String> = anew.map(|(one, other)| format!("{} and {}", name(one), name(other))).collect();
    (!days.is_empty()).then(|| {
        format!(
            "The crew changes on day {} for diving: a site is planned so that it can be done by whichever crew is aboard, \
             because lost days move sites from one to the other.{}",
            days.join(", "),
            if anew.is_empty() { String::new() } else { format!(" Pairs are made anew: {}.", anew.join("; ")) }
        )
    })
}

/// Minutes for marks that are nothing to the plan.
fn marks(file: &ScenarioFile, study: &Study) -> Option<String> {
    let same_marks = study.question.visits() > 1 && study.visits.places == Places::SameMarks;
    let told = file.method.parts().iter().any(|method| {
        method.work.as_ref().is_some_and(|work| work.mark_minutes.is_some() || work.find_minutes.is_some())
    });
    (told && !same_marks).then(|| {
        "Minutes to set and find marks (mark_minutes, find_minutes) count with places = \"same_marks\" only.".to_owned()
    })
}

fn lost(expedition: &Expedition) -> Option<String> {
    let what = match expedition.days.lost {
        None => "How many days the weather takes is not told (lost_days_percent), so none counts as lost",
        Some(lost) if lost.share == 0.0 => "No day counts as lost to the weather (lost_days_percent = 0)",
        Some(_) => return None,
    };
    Some(format!("{what}: a plan that needs every day fails with the first bad one."))
}

/// What a list of sites does to the numbers of sites, and what a zone asks of one.
fn sites(file: &ScenarioFile, study: &Study, expedition: &Expedition) -> Vec<String> {
    let mut told = Vec::new();
    let zones = study.zones.iter().zip(&file.zone).zip(&expedition.zones);
    for (index, ((zone, table), diving)) in zones.enumerate() {
        let name = &zone.name;
        if table.sites.is_none() {
            let fewest = zone.sites.first().copied().unwrap_or(0);
            told.push(format!(
                "{name}: how many sites is left to the budget; whatever else is asked is answered for the fewest, {fewest}."
            ));
        }
        let Some(list) = &expedition.sites else {
            if diving.needs_calm {
                told.push(format!(
                    "{name} needs calm weather, but no sheltered sites are known for bad days: that takes candidate_sites."
                ));
            }
            continue;
        };
        let (usable, must) = list.counts(index);
        let written = table.dive.as_ref().and_then(|dive| dive.most_sites.map(|most| most.get()));
        if let Some(most) = written.filter(|most| *most > usable) {
            told.push(format!(
                "{name}: {most} sites at most, but the list {} has {usable}: no more are planned.",
                list.file
            ));
        }
        if must > 0 {
            told.push(format!(
                "{name}: {must} of {usable} sites on the list must be visited: they are not drawn at random, and so many are \
                 planned at least."
            ));
        }
    }
    told
}
