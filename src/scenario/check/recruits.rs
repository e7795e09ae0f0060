use crate::design::{HARD_CORAL, Study};
use crate::scenario::near::nearest;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::survey::MethodKind;

/// Recruits: told in every zone where they are counted, and with bottom left to live on.
pub fn check(study: &Study, problems: &mut Problems) {
    let are_counted = study.methods.iter().any(|method| matches!(method.kind, MethodKind::RecruitQuadrats { .. }));
    for (index, zone) in study.zones.iter().enumerate() {
        let path = format!("zone[{index}].recruits");
        let Some(recruits) = &zone.recruits else {
            // That a map does not tell recruits is said with the map.
            if are_counted && zone.map.is_none() {
                let message = format!("{}: recruits are counted, but how many there are is not told", zone.name);
                let remedy = "Add [zone.recruits] with density_per_m2 = 8 below this zone, or take \
                              [[method.recruit_quadrats]] out.";
                problems.add(&path, message, "needed for recruit quadrats", remedy);
            }
            continue;
        };
        let key = format!("{path}.cannot_live_on");
        let names: Vec<&str> = zone.categories.iter().map(|category| category.name.as_str()).collect();
        for (place, name) in recruits.cannot_live_on.iter().enumerate() {
            if name == HARD_CORAL {
                let remedy = "Recruits never live under colonies; name the other kinds of bottom only.";
                problems.add(&key, "hard coral is not free bottom anyway", "goes without saying", remedy);
            } else if !names.contains(&name.as_str()) {
                let hint = nearest(name, &names).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
                let remedy = format!("{hint}Write names of the categories of this zone: {}.", names.join(", "));
                problems.add(&key, format!("{}: there is no category \"{name}\"", zone.name), "no such kind", remedy);
            } else if recruits.cannot_live_on[..place].contains(name) {
                problems.add(&key, format!("{name} is written twice"), "written before", "Take one of them out.");
            }
        }
        if !(zone.free_share() > LEAST_FREE) {
            let message = format!("{}: hard coral and these kinds leave no bottom to recruits", zone.name);
            let remedy = "Take a kind out, or lower the covers of the zone.";
            problems.add(&key, message, "at least 1 % must be free", remedy);
        }
    }
}

/// Bottom on which recruits can live, as a share: with less there is nothing to count.
const LEAST_FREE: f64 = 0.01;

/// Quadrats that fit their tape and do not overlap: (lengths, sides, distances from start to start), m.
pub fn check_quadrats((lengths, sides, every): (&[f64], &[f64], &[f64]), path: &str, problems: &mut Problems) {
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let widest = sides.iter().copied().fold(0.0, f64::max);
    let (shortest, nearest) = (least(lengths), least(every));
    if widest > shortest + 1e-9 {
        let message = format!("a quadrat of {} m is longer than its tape", number(widest));
        let allowed = format!("at most {} cm", number(100.0 * shortest));
        let remedy = "Choose smaller quadrats or lengthen the tape.";
        problems.add(&format!("{path}.quadrat_cm"), message, allowed, remedy);
    } else if widest > nearest + 1e-9 {
        let message = format!("quadrats of {} m every {} m overlap", number(widest), number(nearest));
        let allowed = format!("at least {} m", number(widest));
        let remedy = "Lay them farther apart, or choose smaller ones.";
        problems.add(&format!("{path}.every_m"), message, allowed, remedy);
    }
}
