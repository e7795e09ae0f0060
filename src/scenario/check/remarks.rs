use super::test::least_p;
use super::told::Told;
use crate::design::{COLONY_SIZE_STRUCTURE, Change, Study, TestKind};
use crate::scenario::shown::{number, percent};
use crate::scenario::word::word_of;
use crate::survey::MethodKind;

/// What is right but not as it may seem: changes that begin elsewhere in a zone than the zone does, numbers of sites with which
/// a permutation sees nothing, indicators with a test of their own.
pub fn remarks(study: &Study) -> Vec<String> {
    let changes = study.changes.iter().filter_map(|change| in_each_zone(study, change));
    changes.chain(too_few_to_exchange(study)).chain(other_tests(study)).chain(same_places(study)).collect()
}

/// Zones that are not independent.
fn same_places(study: &Study) -> impl Iterator<Item = String> + '_ {
    study.zones.iter().filter_map(|zone| {
        let same = zone.same_places.as_ref()?;
        Some(format!(
            "{} lies at the places of {} (correlation {}): the zones are not independent, and in the mean over zones whole places \
             are the replicates, not the sites of each depth.",
            zone.name,
            same.as_zone,
            number(same.correlation)
        ))
    })
}

/// Where the test of the scenario is not that of all that is reported.
fn other_tests(study: &Study) -> Vec<String> {
    if !study.question.tests() {
        return Vec::new();
    }
    let (kind, other) = (word_of(study.test.kind), if study.pairs_sites() { "paired_t" } else { "welch_t" });
    let totals = study.test.kind.law_of_counts().map(|_| {
        format!(
            "Totals of animals, colonies and recruits are compared by {kind}; whatever else is reported, by {other}."
        )
    });
    let is_reported = study.also_report.iter().any(|name| name == COLONY_SIZE_STRUCTURE);
    let sizes = (is_reported && study.test.kind != TestKind::Permutation)
        .then(|| format!("{COLONY_SIZE_STRUCTURE} is tested by permutation, whatever the kind of the test."));
    totals.into_iter().chain(sizes).collect()
}

fn too_few_to_exchange(study: &Study) -> Option<String> {
    let permutes =
        study.test.kind == TestKind::Permutation || study.also_report.iter().any(|name| name == COLONY_SIZE_STRUCTURE);
    if !permutes || !study.question.tests() {
        return None;
    }
    let all = study.zones.iter().flat_map(|zone| zone.sites.iter().copied());
    let most = all.filter(|sites| least_p(study, *sites) > study.test.alpha).max()?;
    Some(format!(
        "A permutation of {most} sites has no p below {}: with so few in a zone nothing is ever seen there.",
        number(least_p(study, most))
    ))
}

/// Values that differ by less than this share are the same for people.
const SAME: f64 = 0.005;

fn in_each_zone(study: &Study, change: &Change) -> Option<String> {
    let by_components = |kind: &MethodKind| matches!(kind, MethodKind::Components(_));
    if study.methods.iter().all(|method| by_components(&method.kind)) {
        return None;
    }
    let told = Told::of(study, change);
    let zones: Vec<(&str, f64)> =
        study.zones.iter().filter_map(|zone| Some((zone.name.as_str(), (told.of_zone)(zone)?))).collect();
    if zones.iter().all(|(_, held)| (held - change.from).abs() <= SAME * change.from) {
        return None;
    }
    let shown = told.shown;
    let each = zones.iter().map(|(name, held)| format!("{name} {} to {}", shown(*held), shown(held * change.ratio())));
    Some(format!(
        "{} {} to {}: not every zone begins there, so the {} of all zones is moved by the same share (to {} of what is \
         there). In {}: {}.",
        change.indicator.replace('_', " "),
        shown(change.from),
        shown(change.to),
        told.what,
        percent((change.ratio() * 100.0).round() / 100.0),
        told.unit,
        each.collect::<Vec<_>>().join("; ")
    ))
}

#[cfg(test)]
mod tests {
    use crate::scenario::{DEMO, load_text};

    #[test]
    fn numbers_of_sites_with_which_a_permutation_sees_nothing_are_told() {
        let text = "statement_about = \"all_such_reefs\"\n[test]\nkind = \"permutation\"\n[[zone]]\nsites = [4, 5, 6]\n\
            cover_percent = 28\n[[method.point_intercept]]\n[[change]]\nfrom = 28\nto = 22\n";
        let told = |text: &str| load_text("one.toml", text).unwrap().remarks;
        assert!(told(text)[0].contains("5 sites has no p below 0.0625"), "{:?}", told(text));
        assert!(told(&text.replace("[4, 5, 6]", "6")).is_empty());
        assert!(told(&text.replace("permutation", "paired_t")).is_empty());
    }

    #[test]
    fn a_change_that_begins_elsewhere_tells_what_is_applied() {
        let told = load_text("demo.toml", DEMO).unwrap().remarks;
        assert!(
            told[0].contains("to 79 % of what is there). In percent of the bottom: outer slope 30 to 23.6;"),
            "{told:?}"
        );
        let text = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 8\ncover_percent = 28\n\
            [[method.point_intercept]]\n[[change]]\nfrom = 28\nto = 22\n";
        assert!(load_text("one.toml", text).unwrap().remarks.is_empty());
    }

    #[test]
    fn a_change_of_fish_that_begins_elsewhere_tells_what_is_applied() {
        let zone = |name: &str, weight: f64, fish: &str| {
            format!("[[zone]]\nname = \"{name}\"\nweight = {weight}\nsites = 8\ncover_percent = 28\n{fish}")
        };
        let fish = |amount: &str| {
            format!(
                "[[zone.fish]]\nname = \"grouper\"\n{amount}\nlength_cm = 40\n\
                 weight_a = 0.0117\nweight_b = 3.07\nbetween_sites_percent = 60\nsite_year_percent = 20\n"
            )
        };
        let told = |indicator: &str, (from, to): (f64, f64), one: &str, other: &str| {
            let text = format!(
                "statement_about = \"all_such_reefs\"\n{}{}[[method.fish_belt]]\n\
                 [[change]]\nindicator = \"{indicator}\"\nfrom = {from}\nto = {to}\n",
                zone("rim", 0.5, &fish(one)),
                zone("lagoon", 0.5, &if other.is_empty() { String::new() } else { fish(other) })
            );
            load_text("fish.toml", &text).unwrap().remarks.join("\n")
        };
        let (eight, two) = ("density_per_100_m2 = 8", "density_per_100_m2 = 2.345678");
        let of_number = told("grouper", (8.0, 4.0), eight, two);
        assert!(
            of_number.contains("of all zones is moved by the same share (to 50 % of what is there)")
                && of_number.contains("In fish per 100 m2: rim 8 to 4; lagoon 2.35 to 1.17."),
            "{of_number}"
        );
        let of_biomass = told("grouper_biomass", (100.0, 50.0), "biomass_kg_per_ha = 120", "");
        assert!(of_biomass.contains("In kg per ha: rim 120 to 60."), "{of_biomass}");
        // A zone without them holds nothing that could move.
        assert_eq!(told("grouper", (8.0, 4.0), eight, ""), "");
        assert_eq!(told("grouper_biomass", (120.0, 60.0), "biomass_kg_per_ha = 120", ""), "");
    }
}
