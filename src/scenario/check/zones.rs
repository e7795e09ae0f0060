use super::{colony_variation, condition};
use crate::design::{HARD_CORAL, Question, REST, RecruitMeasure, Scope, Study, Zone};
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, points};

/// Zones: names, sites, covers and spreads that can be together.
pub fn check(study: &Study, problems: &mut Problems) {
    for (index, zone) in study.zones.iter().enumerate() {
        let path = format!("zone[{index}]");
        check_name(study, index, problems);
        if zone.map.is_none() {
            check_sites(study, zone, &path, problems);
        }
        check_categories(zone, &path, problems);
        check_animals(study, zone, &path, problems);
        if zone.map.is_none() {
            check_spreads(zone, &path, problems);
            condition::check(zone, &path, problems);
            colony_variation::check(zone, &path, problems);
            check_reef(zone, &path, problems);
        }
        if study.question == Question::BeyondUsualYears && zone.year_sd == 0.0 {
            let message = format!("{}: how far usual years depart is not known", zone.name);
            let remedy = "With two visits a year effect cannot be told from a lasting change. Write year_points (SD of \
                          years shared by all sites, in points of cover) in [variation], or ask question = \
                          \"between_these_visits\", which tells the real difference between the two visits.";
            let key =
                if zone_has_own_years(study) { format!("{path}.year_points") } else { "variation.year_points".into() };
            problems.add(&key, message, "year_points is needed above 0", remedy);
            break;
        }
    }
    doubt_shares(study, problems);
    check_equal_lists(study, problems);
}

fn zone_has_own_years(study: &Study) -> bool {
    study.zones.iter().any(|zone| zone.year_sd > 0.0)
}

fn check_name(study: &Study, index: usize, problems: &mut Problems) {
    let name = &study.zones[index].name;
    let key = format!("zone[{index}].name");
    if study.zones[..index].iter().any(|earlier| earlier.name == *name) {
        let remedy = "Give every zone its own name.";
        problems.add(&key, format!("two zones are called {name}"), "name used above", remedy);
    }
    if name == "all" {
        let remedy = "\"all\" stands for the mean over zones; give this zone another name.";
        problems.add(&key, "a zone cannot be called all", "taken", remedy);
    }
    if name.trim().is_empty() {
        problems.add(&key, "the name is empty", "needs a name", "Write name = \"outer terrace\", for example.");
    }
}

fn check_sites(study: &Study, zone: &Zone, path: &str, problems: &mut Problems) {
    let key = format!("{path}.sites");
    let (least, most) = (zone.sites.iter().min().copied(), zone.sites.iter().max().copied());
    let (Some(least), Some(most)) = (least, most) else { return };
    if study.scope == Scope::TheseReefs && zone.existing.is_none() {
        let message = format!("{}: how many sites exist is not written", zone.name);
        let remedy = "A statement about these reefs needs the length of their list: write existing = 60, for example.";
        problems.add(&format!("{path}.existing"), message, "needed for these_reefs", remedy);
    }
    if let Some(existing) = zone.existing.filter(|existing| most > *existing) {
        let message = format!("{}: {most} sites are surveyed, but only {existing} exist", zone.name);
        problems.add(&key, message, format!("at most {existing}"), "Lower sites, or correct existing.");
    }
    let surveyed_whole = study.scope == Scope::TheseReefs && zone.existing == Some(least);
    if least < 2 && study.scope != Scope::EachReef && !surveyed_whole {
        let message = format!("{}: sites are the replicates, and one site has no spread", zone.name);
        let remedy = "Survey at least 2 sites in each zone, or write statement_about = \"each_reef\" (then the lines of \
                      one reef are the replicates).";
        problems.add(&key, message, "at least 2", remedy);
    }
}

/// Numbers of sites are compared side by side: zone by zone, the first with the first.
fn check_equal_lists(study: &Study, problems: &mut Problems) {
    let lengths = study.zones.iter().map(|zone| zone.sites.len());
    let longest = lengths.clone().max().unwrap_or(1);
    if let Some(index) = lengths.clone().position(|length| length != 1 && length != longest) {
        let zone = &study.zones[index];
        let message = format!("{}: {} numbers of sites, another zone has {longest}", zone.name, zone.sites.len());
        let remedy = "The first number of every zone is one plan, the second the next: write lists of equal length, or \
                      one number where a zone stays as it is.";
        problems.add(&format!("zone[{index}].sites"), message, format!("1 or {longest} numbers"), remedy);
    }
}

/// Cover of hard coral and all categories.
fn total(zone: &Zone) -> f64 {
    zone.cover + zone.categories.iter().map(|category| category.cover).sum::<f64>()
}

/// Names of animals, which are names of indicators too.
fn check_animals(study: &Study, zone: &Zone, path: &str, problems: &mut Problems) {
    let is_component = |name: &str| study.methods.iter().any(|method| method.serves_by_components(name));
    for (index, animal) in zone.animals.iter().enumerate() {
        let (key, name) = (format!("{path}.animal[{index}].name"), &animal.name);
        let covers = zone.bottom_names();
        let remedy = "Give the animal a name of its own, such as \"slate_urchin\".";
        if zone.animals[..index].iter().any(|earlier| earlier.name == *name) {
            let message = format!("{}: two animals are called {name}", zone.name);
            problems.add(&key, message, "name used above", remedy);
        } else if name.trim().is_empty()
            || covers.contains(name)
            || name == REST
            || is_component(name)
            || RecruitMeasure::from_name(name).is_some()
        {
            let message = format!("{}: an animal cannot be called \"{name}\"", zone.name);
            problems.add(&key, message, "taken or empty", remedy);
        }
    }
}

/// What is easily missed where two zones are written one below the other.
const BELONGS: &str = " (a [[zone.category]] belongs to the last [[zone]] above it, so that the categories of a zone stand before \
    the next [[zone]])";

fn check_categories(zone: &Zone, path: &str, problems: &mut Problems) {
    for (index, category) in zone.categories.iter().enumerate() {
        let key = format!("{path}.category[{index}]");
        let name = &category.name;
        if zone.categories[..index].iter().any(|earlier| earlier.name == *name) {
            let message = format!("{}: two categories are called {name}", zone.name);
            let remedy = format!("Give every category its own name{BELONGS}.");
            problems.add(&format!("{key}.name"), message, "name used above", remedy);
        }
        if name == HARD_CORAL || name.trim().is_empty() || RecruitMeasure::from_name(name).is_some() {
            let message = format!("a category cannot be called \"{name}\"");
            let remedy =
                "Hard coral is always there (its cover is that of the zone); name the others, such as \"turf\".";
            problems.add(&format!("{key}.name"), message, "taken or empty", remedy);
        }
        if name == REST && zone.leaves_rest() {
            let message = format!("{}: \"{REST}\" is what all named kinds leave free", zone.name);
            let remedy = "Give the category another name, or let the covers of the zone reach 100 %.";
            problems.add(&format!("{key}.name"), message, "taken", remedy);
        }
        if zone.map.is_some() {
            continue;
        }
        let spread_key = format!("{key}.between_sites_points");
        check_spread(category.cover, category.between_sites_sd, name, &spread_key, problems);
    }
    let total = total(zone);
    if total > 1.0 + 1e-9 {
        let last = zone.categories.len().saturating_sub(1);
        let message = format!("{}: hard coral and the categories cover {} %", zone.name, number(total * 100.0));
        let room = format!("at most {} % here", number((1.0 - total + zone.categories[last].cover).max(0.0) * 100.0));
        let remedy =
            format!("Together with hard coral the covers of a zone may reach 100 %; lower some of them{BELONGS}.");
        problems.add(&format!("{path}.category[{last}].cover_percent"), message, room, remedy);
    }
}

fn check_spreads(zone: &Zone, path: &str, problems: &mut Problems) {
    let key = format!("{path}.between_sites_points");
    check_spread(zone.cover, zone.between_sites_sd, &zone.name, &key, problems);
    if zone.site_year_sd > zone.between_sites_sd {
        let message = format!("{}: a site's years spread more than the sites themselves do", zone.name);
        let allowed = format!("at least {}", points(zone.site_year_sd));
        let remedy = "The spread between sites in one visit contains that of their years: raise between_sites_points or \
                      lower site_year_points.";
        problems.add(&key, message, allowed, remedy);
    }
}

/// A cover below one percent, and what was probably meant.
fn meant_as_a_share(name: &str, cover: f64) -> (String, String) {
    let percent = number(100.0 * cover);
    (
        format!("{name}: a cover of {percent} % was probably meant as a share, {} %", number(1e4 * cover)),
        format!(
            "Covers are written in percent: {} for {} % of the bottom, not {percent}.",
            number(1e4 * cover),
            number(1e4 * cover)
        ),
    )
}

/// Hard coral below one percent is allowed and hardly meant.
fn doubt_shares(study: &Study, problems: &mut Problems) {
    for (index, zone) in study.zones.iter().enumerate() {
        if zone.cover < 0.01 && zone.map.is_none() {
            let (message, remedy) = meant_as_a_share(&zone.name, zone.cover);
            problems.doubt(&format!("zone[{index}].cover_percent"), message, "1 to 90", remedy);
        }
    }
    let changes = study.changes.iter().enumerate().filter(|(_, change)| change.indicator == HARD_CORAL);
    for (index, change) in changes.filter(|(_, change)| change.from < 0.01 && change.to < 0.01) {
        let (message, remedy) = meant_as_a_share("change of hard coral", change.from);
        problems.doubt(&format!("change[{index}].from"), message, "1 to 90", remedy);
    }
}

/// No quantity between 0 and 1 with this mean spreads more than one that is either 0 or 1.
fn check_spread(cover: f64, sd: f64, name: &str, key: &str, problems: &mut Problems) {
    let limit = (cover * (1.0 - cover)).sqrt();
    if !(sd < limit) {
        let percent = number(cover * 100.0);
        // 0.25 where 25 % are meant: the spread is right and the cover is not.
        let as_share = 100.0 * cover;
        if as_share < 1.0 && sd < (as_share * (1.0 - as_share)).sqrt() {
            let cover_key = key.replace("between_sites_points", "cover_percent");
            let (message, remedy) = meant_as_a_share(name, cover);
            problems.add(&cover_key, message, "a percentage that the spread fits", remedy);
            return;
        }
        let message = format!("{name}: a mean cover of {percent} % cannot have a spread of {}", points(sd));
        let allowed = format!("below {:.1} points", limit * 100.0);
        let remedy = "The spread is the SD of true covers of whole sites, in points of cover (8, not 0.08 and not a \
                      variance).";
        problems.add(key, message, allowed, remedy);
    }
}

fn check_reef(zone: &Zone, path: &str, problems: &mut Problems) {
    let reef = &zone.reef;
    let sum = reef.patch.sd.powi(2) + reef.along.sd.powi(2);
    if sum > 4.0 {
        let message = format!("{}: the density of colonies varies too much to be computed", zone.name);
        let remedy = "The squares of all SDs of ln density (patch_sd, along_sd, sites, years) may sum to 4; the named \
                      reefs reach 2.";
        problems.add(&format!("{path}.patch_sd"), message, format!("squares sum to {sum:.2}, over 4"), remedy);
    }
    if !(reef.sizes.max_m > reef.sizes.median_m) {
        let message = format!("{}: the largest colony is not larger than the median one", zone.name);
        let allowed = format!("above {} m", number(reef.sizes.median_m));
        problems.add(
            &format!("{path}.diameter_max_m"),
            message,
            allowed,
            "Raise diameter_max_m or lower diameter_median_m.",
        );
    }
}
