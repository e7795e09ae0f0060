use super::load::Loaded;
use super::problem::ScenarioError;
use super::shown::{number, percent};
use crate::design::{Study, Zone};
use crate::survey::MethodKind;
use crate::theory::bottom::{self, BottomError};
use crate::theory::clusters::{AnimalError, calibrate_animals};
use crate::theory::deaths::DeathsOutOfReach;
use crate::theory::fish::fish_asked;
use crate::theory::{
    CoralError, Kernels, Shape, ZoneError, animal_asked, calibrate, coral_asked, recruits_asked, whole_bottom,
};

/// Whether the reefs of a scenario can be: spreads that the law of the reef reaches, changes that have room. Costs about
/// a tenth of a second for each zone, so loading leaves it to those who go on to compute or to `check`.
///
/// # Errors
/// The first thing that cannot be, at its line.
pub fn check_law(loaded: &Loaded) -> Result<(), ScenarioError> {
    let study = &loaded.study;
    let reef_is_read = study.methods.iter().any(|method| !matches!(method.kind, MethodKind::Components(_)));
    if !reef_is_read {
        return Ok(());
    }
    // A map is what it is.
    for (index, zone) in study.zones.iter().enumerate().filter(|(_, zone)| zone.map.is_none()) {
        zone_can_be(study, zone).map_err(|error| law_error(loaded, index, &error))?;
    }
    Ok(())
}

/// ln SD of patches whose variance can just be computed.
const MOST_LN_SD: f64 = 1.98;

fn zone_can_be(study: &Study, zone: &Zone) -> Result<(), ZoneError> {
    let shape = Shape::new(&zone.reef, &Kernels::of_cells(&zone.reef));
    calibrate(&coral_asked(study, zone), &shape)?;
    for (index, animal) in zone.animals.iter().enumerate() {
        calibrate_animals(&animal_asked(study, zone, animal)).map_err(|error| ZoneError::Animal { index, error })?;
    }
    for (index, group) in zone.fish.iter().enumerate() {
        calibrate_animals(&fish_asked(study, zone, group)).map_err(|error| ZoneError::Fish { index, error })?;
    }
    if let Some(recruits) = &zone.recruits {
        calibrate_animals(&recruits_asked(study, zone, recruits)).map_err(ZoneError::Recruits)?;
    }
    if !zone.categories.is_empty() {
        let coral = (zone.cover, zone.between_sites_sd);
        bottom::calibrated(coral, &whole_bottom(zone), &study.changes, study.visits.field_memory())?;
    }
    Ok(())
}

/// A year's spread of a site that a pilot suggests may be more than its sites leave beside what reefs vary along themselves: it is
/// lowered to what they leave. Whether it was.
pub(super) fn lower_site_year(study: &mut Study, zone: usize) -> bool {
    let can_be = zone_can_be(study, &study.zones[zone]);
    let Err(ZoneError::Coral(CoralError::SiteYearOutOfReach(most))) = can_be else { return false };
    // A little below, for what is rounded when it is written.
    study.zones[zone].site_year_sd = (1e4 * 0.95 * most).floor() / 1e4;
    true
}

/// What the law cannot do for a zone, at the key to change.
pub fn law_error(loaded: &Loaded, zone: usize, error: &ZoneError) -> ScenarioError {
    match error {
        ZoneError::Coral(error) => coral_error(loaded, zone, error),
        ZoneError::Bottom(error) => bottom_error(loaded, zone, error),
        ZoneError::Animal { index, error } => {
            let zones = &loaded.study.zones;
            let name = zones[zone].animals[*index].name.as_str();
            animal_error(loaded, zone, (name, &format!("animal[{index}]")), error)
        }
        ZoneError::Fish { index, error } => {
            let group = &loaded.study.zones[zone].fish[*index];
            let name = group.name.as_str();
            if let AnimalError::TooPatchy(variance) = error
                && group.with_coral_patches != 0.0
            {
                let most = (10.0 * MOST_LN_SD / loaded.study.zones[zone].reef.patch.sd).floor() / 10.0;
                return loaded.error_at(
                    zone,
                    &format!("fish[{index}].with_coral_patches"),
                    format!("{name}: the density varies too much between the patches of this coral to be computed"),
                    format!("a variance of {variance:.1} squared means, over 50"),
                    format!("Take a power from {:.1} to {most:.1}.", -most),
                );
            }
            animal_error(loaded, zone, (name, &format!("fish[{index}]")), error)
        }
        ZoneError::Recruits(error) => animal_error(loaded, zone, ("recruits", "recruits"), error),
    }
}

fn animal_error(loaded: &Loaded, index: usize, (animal, table): (&str, &str), error: &AnimalError) -> ScenarioError {
    let zone = &loaded.study.zones[index];
    let name = format!("{}: {animal}", zone.name);
    let key = |key: &str| format!("{table}.{key}");
    match *error {
        AnimalError::SpreadBelowFloor(least) => loaded.error_at(
            index,
            &key("between_sites_percent"),
            format!("{name}: the patches alone make sites differ more than that"),
            format!("at least {:.0} %", (100.0 * least).ceil()),
            "Raise between_sites_percent, or lower patch_sd or patch_scale_m.",
        ),
        AnimalError::SiteYearOutOfReach(most) => loaded.error_at(
            index,
            &key("site_year_percent"),
            format!("{name}: the years of a site take more than what sites differ by"),
            format!("at most {:.0} %", (100.0 * most).floor()),
            "The spread between sites in one visit contains that of the years: lower site_year_percent, or raise \
             between_sites_percent.",
        ),
        AnimalError::TooPatchy(variance) => loaded.error_at(
            index,
            &key("patch_sd"),
            format!("{name}: the density varies too much in patches to be computed"),
            format!("a variance of {variance:.1} squared means, over 50"),
            format!("Lower patch_sd below {MOST_LN_SD}, or raise patch_k to 0.02 or more."),
        ),
    }
}

fn coral_error(loaded: &Loaded, index: usize, error: &CoralError) -> ScenarioError {
    let zone = &loaded.study.zones[index];
    let name = &zone.name;
    match *error {
        CoralError::SpreadBelowFloor(least) => loaded.error_at(
            index,
            "between_sites_points",
            format!("{name}: its sites vary more than that by the reef alone"),
            format!("at least {} points", rounded_up(least)),
            "The variation of the reef along its length alone makes whole sites differ so much. Raise \
             between_sites_points, or choose a more even reef (along_sd) or a longer site.",
        ),
        CoralError::SpreadOutOfReach(most) => loaded.error_at(
            index,
            "between_sites_points",
            format!("{name}: sites of {} mean cover cannot differ so much on this reef", percent(zone.cover)),
            format!("at most {} points", rounded_down(most)),
            "Lower between_sites_points, or split the zone into two of different cover.",
        ),
        CoralError::SiteYearOutOfReach(most) => {
            let key = key_of_site_year(loaded, index);
            loaded.error_at_path(
                &key,
                format!("{name}: the years of a site take more than what sites differ by"),
                format!("at most {} points", rounded_down(most)),
                "The spread between sites in one visit contains the reef's own variation and that of the years: lower \
                 site_year_points, or raise between_sites_points.",
            )
        }
        CoralError::ChangeSpreadOutOfReach(most) => loaded.error_at_path(
            &format!("change[{}].differs_between_sites_points", widest_change(&loaded.study)),
            format!("{name}: the change cannot differ so much between its sites"),
            format!("at most {} points", rounded_down(most)),
            "Lower differs_between_sites_points.",
        ),
        CoralError::Deaths { change, why: DeathsOutOfReach::TooMuchLeft(least) } => loaded.error_at_path(
            &format!("change[{change}].deaths"),
            format!("{name}: hard coral cannot fall so far where no more than this is hit"),
            format!("{} stays", percent(least)),
            "Raise hit_percent, lower left_elsewhere_percent, or choose a smaller change.",
        ),
        CoralError::Deaths { change, why: DeathsOutOfReach::TooLittleLeft(most) } => loaded.error_at_path(
            &format!("change[{change}].deaths.left_elsewhere_percent"),
            format!("{name}: what dies where it was not hit is more than the change asks"),
            format!("{} is left at most", percent(most)),
            "Raise left_elsewhere_percent, or choose a larger change.",
        ),
        CoralError::TooPatchy(sum) => loaded.error_at(
            index,
            "patch_sd",
            format!("{name}: the density of corals varies too much to be computed"),
            format!("squares sum to {sum:.2}, over 4"),
            "The squares of all SDs of ln density (patches, along the reef, sites, years, changes) may sum to 4: lower \
             patch_sd, along_sd, between_sites_points or the spread of the change.",
        ),
    }
}

fn bottom_error(loaded: &Loaded, index: usize, error: &BottomError) -> ScenarioError {
    let zone = &loaded.study.zones[index];
    let name = &zone.name;
    let place = |wanted: &str| zone.categories.iter().position(|category| category.name == wanted).unwrap_or(0);
    match error {
        BottomError::NotWhole { sum } => loaded.error_at(
            index,
            "category",
            format!("{name}: hard coral and the categories cover {} together", percent(*sum)),
            "100 % at most",
            "Lower some of the covers.",
        ),
        BottomError::TooWide { category, largest, .. } => loaded.error_at(
            index,
            &format!("category[{}].between_sites_points", place(category)),
            format!("{name}: sites cannot differ so much in {category}"),
            format!("below {} points", rounded_down(*largest)),
            "Lower it; a category can take no more than what hard coral and those before it leave.",
        ),
        BottomError::NoRoom { indicator, to, room } => {
            let changes = loaded.study.changes.iter();
            let change = changes.clone().position(|change| change.indicator == *indicator).unwrap_or(0);
            loaded.error_at_path(
                &format!("change[{change}].to"),
                format!("{name}: {indicator} would go to {}", percent(*to)),
                format!("room for {} there", percent(*room)),
                "In each zone the zone's own cover moves by the ratio to / from; choose a smaller change.",
            )
        }
    }
}

/// The zone's own key where it is written, else that of all zones.
fn key_of_site_year(loaded: &Loaded, zone: usize) -> String {
    let own = format!("zone[{zone}].site_year_points");
    let common = "variation.site_year_points";
    if !loaded.is_written(&own) && loaded.is_written(common) { common.to_owned() } else { own }
}

/// The change whose spread is largest: the one that is out of reach.
fn widest_change(study: &Study) -> usize {
    let spread = |place: &usize| study.changes[*place].differs_between_sites_sd.unwrap_or(0.0);
    (0..study.changes.len()).max_by(|one, other| spread(one).total_cmp(&spread(other))).unwrap_or(0)
}

/// Points to a tenth, on the allowed side of a least value.
fn rounded_up(share: f64) -> String {
    number((share * 1000.0).ceil() / 10.0)
}

/// Points to a tenth, on the allowed side of a largest value.
fn rounded_down(share: f64) -> String {
    number((share * 1000.0).floor() / 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{DEMO, STARTER, load_text};

    fn refused(text: &str) -> ScenarioError {
        let loaded = load_text("law.toml", text).unwrap_or_else(|error| panic!("{}", error.render()));
        check_law(&loaded).expect_err("the law allows it")
    }

    fn one_zone(zone: &str) -> String {
        format!(
            "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 8\nreef = \"fore_reef\"\n{zone}\
             [[method.point_intercept]]\n[[change]]\nfrom = 28\nto = 22\n"
        )
    }

    #[test]
    fn the_demo_and_the_starter_can_be() {
        for text in [DEMO, STARTER] {
            let loaded = load_text("good.toml", text).unwrap();
            check_law(&loaded).unwrap_or_else(|error| panic!("{}", error.render()));
        }
    }

    /// The starter's categories leave some of the bottom, and its observers take one kind for another.
    #[test]
    fn the_starter_has_moments_for_all_that_it_reads() {
        let study = load_text("good.toml", STARTER).unwrap().study;
        let zone = &study.zones[0];
        let theory = crate::theory::ZoneTheory::new(&study, zone).unwrap();
        let dimensions = study.methods[0].kind.dimensions()[0];
        let mean = |name: &str| theory.moments(&study, zone, name, dimensions).mean[0];
        assert!((mean("hard_coral") - 0.28).abs() < 1e-3);
        // A twentieth of the turf is taken for macroalgae.
        assert!((mean("macroalgae") - (0.10 + 0.05 * 0.25)).abs() < 2e-3, "{}", mean("macroalgae"));
    }

    #[test]
    fn defaults_can_be_on_every_reef_at_every_common_cover() {
        for reef in crate::reef::NamedReef::ALL {
            for cover in ["", "cover_percent = 8\n", "cover_percent = 30\n", "cover_percent = 60\n"] {
                let text = one_zone(cover).replace("fore_reef", reef.name());
                let loaded = load_text("good.toml", &text).unwrap();
                check_law(&loaded).unwrap_or_else(|error| panic!("{}{cover}: {}", reef.name(), error.render()));
            }
        }
    }

    #[test]
    fn a_spread_below_the_reefs_own_is_refused_with_the_least_one() {
        let error = refused(&one_zone("cover_percent = 28\nbetween_sites_points = 4\nsite_year_points = 0\n"));
        assert_eq!(
            (error.problems[0].key.as_str(), error.line(&error.problems[0])),
            ("zone[0].between_sites_points", 6)
        );
        // Near the .0496 that was computed with the patches counted as part of the truth, which they are not here.
        assert_eq!(error.problems[0].allowed, "at least 4.9 points");
    }

    #[test]
    fn storms_out_of_reach_are_refused_with_what_they_leave() {
        let storm = |to: f64, deaths: &str| {
            one_zone("cover_percent = 28\n").replace("to = 22", &format!("to = {to}\n[change.deaths]\n{deaths}"))
        };
        let little = refused(&storm(10.0, "hit_percent = 40\n"));
        assert_eq!(little.problems[0].key, "change[0].deaths");
        assert_eq!(little.problems[0].allowed, "16.8 % stays");
        let much = refused(&storm(26.0, "hit_percent = 40\nleft_elsewhere_percent = 50\n"));
        assert_eq!(much.problems[0].key, "change[0].deaths.left_elsewhere_percent");
        assert!(much.problems[0].allowed.ends_with("is left at most"), "{}", much.problems[0].allowed);
    }

    #[test]
    fn spreads_out_of_reach_are_refused_where_they_are_written() {
        let wide = refused(&one_zone("cover_percent = 28\nbetween_sites_points = 44\n"));
        assert_eq!(wide.problems[0].key, "zone[0].between_sites_points");
        assert!(wide.problems[0].allowed.starts_with("at most"));
        let years = "cover_percent = 28\nbetween_sites_points = 6\nsite_year_points = 5\n";
        assert_eq!(refused(&one_zone(years)).problems[0].key, "zone[0].site_year_points");
        let common = one_zone("cover_percent = 28\nbetween_sites_points = 6\n") + "[variation]\nsite_year_points = 5\n";
        assert_eq!(refused(&common).problems[0].key, "variation.site_year_points");
        let change = one_zone("cover_percent = 28\nbetween_sites_points = 8\n") + "differs_between_sites_points = 40\n";
        assert_eq!(refused(&change).problems[0].key, "change[0].differs_between_sites_points");
        let patchy =
            "cover_percent = 28\n[zone.recruits]\ndensity_per_m2 = 8\nbetween_sites_percent = 5\npatch_sd = 1\n";
        let error = refused(&one_zone(patchy));
        assert_eq!(error.problems[0].key, "zone[0].recruits.between_sites_percent");
        assert!(error.problems[0].message.contains("recruits: the patches alone"));
        let turf = "[[zone.category]]\nname = \"sand\"\ncover_percent = 60\n[[zone.category]]\nname = \"turf\"\n\
                    cover_percent = 5\nbetween_sites_points = 20\n";
        let turf = one_zone(&format!("cover_percent = 28\n{turf}"));
        assert_eq!(refused(&turf).problems[0].key, "zone[0].category[1].between_sites_points");
    }
}
