use crate::analysis::permutation::{Exchange, MOST_SITES};
use crate::design::{COLONY_SIZE_STRUCTURE, Question, Scope, Sides, SiteScale, Study, TestKind};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::survey::MethodKind;

/// A permutation and a scale where they have a meaning: sites are the replicates, and enough of them, and something is
/// counted.
pub fn check(study: &Study, problems: &mut Problems) {
    if study.test.kind == TestKind::Permutation && study.question.tests() {
        check_permutation(study, problems);
    }
    if let Some(place) = study.also_report.iter().position(|name| name == COLONY_SIZE_STRUCTURE)
        && study.test.kind != TestKind::Permutation
    {
        check_size_structure(study, &format!("also_report[{place}]"), problems);
    }
    if study.test.kind.law_of_counts().is_some() && study.question.tests() {
        check_counts(study, problems);
    }
    if study.test.scale != SiteScale::Plain && study.test.kind.law_of_counts().is_none() {
        check_scale(study, problems);
    }
}

/// Totals of counted things: where sites are the replicates, and pairs where the test knows them.
fn check_counts(study: &Study, problems: &mut Problems) {
    let key = "test.kind";
    if !counts_something(study) {
        let message = "nothing that is counted is read here, and covers have no totals";
        let remedy = "Write kind = \"paired_t\" or \"welch_t\", or add a [[method.coral_belt]], or a \
                      [[method.invertebrate_belt]] and animals.";
        return problems.add(key, message, "for counted animals, colonies or recruits", remedy);
    }
    if study.scope != Scope::AllSuchReefs {
        let message =
            "a test of totals takes whole sites for replicates, as a statement about all such reefs only does";
        let remedy = "Write statement_about = \"all_such_reefs\", or another kind of test.";
        return problems.add(key, message, "needs statement_about = \"all_such_reefs\"", remedy);
    }
    if study.question == Question::BeyondUsualYears {
        let message = "a test of totals cannot know what usual years do, because all sites share them";
        let remedy = "Write kind = \"paired_t\" or \"welch_t\", or question = \"between_these_visits\".";
        return problems.add(key, message, "not for this question", remedy);
    }
    if study.test.kind == TestKind::NegativeBinomial && study.pairs_sites() {
        let message = "the negative binomial compares different sites, but here the same sites are read twice";
        let remedy = "Write kind = \"quasi_poisson\" or \"permutation\", which compare the visits of each site, or sites = \
                      \"drawn_anew\" in [visits].";
        return problems.add(key, message, "for different sites", remedy);
    }
    if study.test.scale != SiteScale::Plain {
        let message = "totals are compared by their ratio, not on a scale";
        let remedy = "Take scale out, or write kind = \"paired_t\" or \"welch_t\".";
        problems.add("test.scale", message, "not with this kind of test", remedy);
    }
}

fn check_permutation(study: &Study, problems: &mut Problems) {
    let key = "test.kind";
    if study.scope != Scope::AllSuchReefs {
        let message =
            "a permutation exchanges whole sites, which are the replicates of a statement about all such reefs only";
        let remedy = "Write statement_about = \"all_such_reefs\", or another kind of test.";
        return problems.add(key, message, "needs statement_about = \"all_such_reefs\"", remedy);
    }
    if study.question == Question::BeyondUsualYears {
        let message = "a permutation of sites cannot know what usual years do, because all sites share them";
        let remedy = "Write kind = \"paired_t\" or \"welch_t\", or question = \"between_these_visits\".";
        return problems.add(key, message, "not for this question", remedy);
    }
    check_exchanges(study, key, "write kind = \"paired_t\" or \"welch_t\"", problems);
}

/// Sizes have a test, which exchanges whole sites, and no mean.
fn check_size_structure(study: &Study, key: &str, problems: &mut Problems) {
    if !study.question.tests() {
        let message = "a distribution of sizes has no mean, only a test, and a status tests nothing";
        let remedy =
            "Take it out and report classes of sizes or mean diameters, or ask question = \"between_these_visits\".";
        return problems.add(key, message, "not for this question", remedy);
    }
    if study.scope != Scope::AllSuchReefs {
        let message =
            "sizes are tested by exchanging whole sites, the replicates of a statement about all such reefs only";
        let remedy = "Write statement_about = \"all_such_reefs\", or report colony_mean_ln_diameter instead.";
        return problems.add(key, message, "needs statement_about = \"all_such_reefs\"", remedy);
    }
    // What usual years do is refused for all that is counted at its method.
    if study.question != Question::BeyondUsualYears {
        check_exchanges(study, key, "report colony_mean_ln_diameter instead", problems);
    }
}

/// Sites that can be exchanged: not too many, and not so few that nothing is ever seen.
fn check_exchanges(study: &Study, key: &str, instead: &str, problems: &mut Problems) {
    let most_of = |zone: usize| study.zones[zone].sites.iter().copied().max().unwrap_or(0);
    let zones = 0..study.zones.len();
    let all: usize = zones.clone().map(most_of).sum();
    let held = if study.pairs_sites() { all } else { 2 * zones.clone().map(most_of).max().unwrap_or(0) };
    if held > MOST_SITES {
        let message = format!("{held} sites are more than a permutation can hold");
        let remedy = format!("Lower sites, or {instead}: with so many sites t holds its level.");
        return problems.add(key, message, format!("at most {MOST_SITES} sites in all"), remedy);
    }
    for zone in zones {
        let least = least_p(study, most_of(zone));
        if least > study.test.alpha {
            let enough = (2..=MOST_SITES / 2).find(|sites| least_p(study, *sites) <= study.test.alpha);
            let message = format!(
                "{} sites can be exchanged in so few ways that no p is below {}, so that nothing is ever seen at alpha {}",
                most_of(zone),
                number(least),
                number(study.test.alpha)
            );
            let allowed = format!("at least {} sites", enough.unwrap_or(MOST_SITES));
            let remedy = format!("Survey more sites, or {instead}.");
            return problems.add(&format!("zone[{zone}].sites"), message, allowed, remedy);
        }
    }
}

/// The least p that so many sites of a zone can give: of all arrangements, each of which has a mirror image here, which a
/// two-sided test counts too.
pub fn least_p(study: &Study, sites: usize) -> f64 {
    let exchange =
        if study.pairs_sites() { Exchange::Visits { sites } } else { Exchange::Groups { first: sites, second: sites } };
    (if study.test.sides == Sides::Two { 2.0 } else { 1.0 }) / exchange.count() as f64
}

/// Whether a method counts things and tells their density.
fn counts_something(study: &Study) -> bool {
    study.methods.iter().any(|method| {
        matches!(
            method.kind,
            MethodKind::InvertebrateBelt { .. }
                | MethodKind::CoralBelt { .. }
                | MethodKind::RecruitQuadrats { .. }
                | MethodKind::FishBelt { .. }
                | MethodKind::FishPointCount { .. }
        )
    })
}

fn check_scale(study: &Study, problems: &mut Problems) {
    let key = "test.scale";
    if !counts_something(study) {
        let message = "nothing that is counted is read here, and covers are compared as they are";
        let remedy = "Take scale out, or add a [[method.coral_belt]], or a [[method.invertebrate_belt]] and animals.";
        return problems.add(key, message, "for counted animals, colonies or recruits", remedy);
    }
    if study.scope != Scope::AllSuchReefs {
        let message = "a scale is for site means, which are the replicates of a statement about all such reefs only";
        let remedy = "Take scale out, or write statement_about = \"all_such_reefs\".";
        return problems.add(key, message, "needs statement_about = \"all_such_reefs\"", remedy);
    }
    if study.question == Question::BeyondUsualYears {
        let message = "what usual years do is told in points of cover, not on this scale";
        let remedy = "Take scale out, or write question = \"between_these_visits\".";
        problems.add(key, message, "not for this question", remedy);
    }
}
