use super::test::least_p;
use crate::design::{COLONY_SIZE_STRUCTURE, Change, HARD_CORAL, Study, TestKind, Zone};
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

/// Covers that differ by less than this share are the same for people.
const SAME: f64 = 0.005;

fn in_each_zone(study: &Study, change: &Change) -> Option<String> {
    let cover = |zone: &Zone| {
        let of_category = |name: &str| zone.categories.iter().find(|category| category.name == name);
        match change.indicator.as_str() {
            HARD_CORAL => Some(zone.cover),
            name => of_category(name).map(|category| category.cover),
        }
    };
    let by_components = |kind: &MethodKind| matches!(kind, MethodKind::Components(_));
    if study.methods.iter().all(|method| by_components(&method.kind)) {
        return None;
    }
    let zones: Vec<(&str, f64)> =
        study.zones.iter().filter_map(|zone| Some((zone.name.as_str(), cover(zone)?))).collect();
    if zones.iter().all(|(_, cover)| (cover - change.from).abs() <= SAME * change.from) {
        return None;
    }
    let tenth = |share: f64| (share * 1000.0).round() / 1000.0;
    let in_percent = |share: f64| number(100.0 * tenth(share));
    let each = zones
        .iter()
        .map(|(name, cover)| format!("{name} {} to {}", in_percent(*cover), in_percent(cover * change.ratio())));
    Some(format!(
        "{} {} to {}: not every zone begins there, so each zone's own cover moves by the same share (to {} of what is \
         there). In percent of the bottom: {}.",
        change.indicator.replace('_', " "),
        in_percent(change.from),
        in_percent(change.to),
        percent((change.ratio() * 100.0).round() / 100.0),
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
}
