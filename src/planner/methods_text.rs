//! The paragraph for a proposal or a methods section. Every number in it comes from the study or from the run.

use super::answer::{Answer, Needed};
use super::fish::FishBias;
use super::fish_words;
use super::life_words::{
    animals_text, colony_variation_text, condition_text, dead_parts_text, recruits_text, units_text,
};
use super::rows::means;
use super::words::{capital, exactly, plain};
use crate::design::{
    COLONY_SIZE_STRUCTURE, ColonyDeaths, Places, Plus, Question, Scope, Sides, SiteScale, Sites, Study, TestKind, Unit,
    Zone, ZoneMap,
};
use crate::engine::{DesignIndex, Plan, Where};
use crate::survey::{MethodKind, MethodSpec, Scale};

/// One paragraph an item: aims, how the reef was made, what is estimated, how, and how well.
pub fn methods_text(plan: &Plan, answer: &Answer, trials: u64, seed: u64, version: &str) -> Vec<String> {
    let study = &plan.study;
    let mut text = vec![aims(plan), data_generation(plan), estimand_and_test(study)];
    text.extend(bias_text(plan, &answer.fish_bias));
    text.push(performance(plan, &answer.needed, trials, seed, version));
    text
}

/// What is written of the fish that are there, for each method: a reader must know it before any error.
fn bias_text(plan: &Plan, all: &[FishBias]) -> Option<String> {
    let mut of_methods: Vec<String> = Vec::new();
    for (index, method) in plan.study.methods.iter().enumerate() {
        let name = plan.study.method_name(index);
        for dimensions in method.kind.dimensions() {
            let own = all.iter().filter(|bias| bias.method == name && bias.dimensions == dimensions);
            let told = |bias: &FishBias| {
                let place = if plan.study.zones.len() > 1 { format!(", {}", bias.zone) } else { String::new() };
                let simulated = match (bias.density_simulated, bias.density_simulated_error) {
                    (Some(ratio), Some(error)) => format!(", simulated {ratio:.3}, error {error:.3}"),
                    _ => String::new(),
                };
                let (number, weight) = (bias.density, bias.biomass);
                format!("{}{place} {number:.2} (weight {weight:.2}{simulated})", bias.group.replace('_', " "))
            };
            let told: Vec<String> = own.map(told).collect();
            if !told.is_empty() {
                let name = name.replace('_', " ");
                of_methods.push(format!("{name}, {}: {}", dimensions.label(), told.join(", ")));
            }
        }
    }
    (!of_methods.is_empty()).then(|| {
        format!(
            "Bias: what is written over what is there, at the first visit, in closed form as a product of movement, earlier divers, \
             judged width, hiding, distance, reaction, size, errors of length and classes, beside the simulated ratio of means on the \
             same sites: {}. Detectable changes, half-widths and errors in units are of what is there: those of what is written, \
             divided by its bias.",
            of_methods.join("; ")
        )
    })
}

/// A change of fish as the fish of the scenario have it, where the scenario writes another level: ", with the fish of the scenario
/// 178 to 357".
fn as_they_are(plan: &Plan, change: usize) -> String {
    let asked = &plan.study.changes[change];
    let scale = if unit_of(&plan.study, &asked.indicator) == " %" { 100.0 } else { 1.0 };
    let found = plan.layout.readings.iter().position(|reading| reading.indicator.name() == asked.indicator);
    let Some(reading) = found else { return String::new() };
    let place = if plan.has_all() { Where::All } else { Where::Zone(0) };
    let (from, to) = means(plan, &DesignIndex { reading, units: 0, sites: 0, place }, change + 2);
    if (from / asked.from - 1.0).abs() < 0.005 {
        return String::new();
    }
    format!(
        ", taken as the same ratio of what the zones of the scenario come to, {} to {}",
        plain(scale * from),
        plain(scale * to)
    )
}

fn aims(plan: &Plan) -> String {
    let study = &plan.study;
    let change = study.changes.iter().enumerate().map(|(index, change)| {
        let unit = unit_of(study, &change.indicator);
        let scale = if unit == " %" { 100.0 } else { 1.0 };
        format!(
            "{} from {} to {}{unit}{}{}",
            change.indicator.replace('_', " "),
            plain(scale * change.from),
            plain(scale * change.to),
            change.deaths.map_or(String::new(), deaths_text),
            as_they_are(plan, index)
        )
    });
    let changes: Vec<String> = change.collect();
    match study.question {
        Question::Status => format!("Aim: the precision of the mean of one visit ({}).", study.title),
        Question::BetweenGroups => {
            format!(
                "Aim: the power to see a difference between two groups of sites at one visit: {} ({}).",
                changes.join("; "),
                study.title
            )
        }
        _ => format!(
            "Aim: the power to see a change between two visits {} {} apart: {} ({}).",
            plain(study.visits.years_apart),
            if study.visits.years_apart == 1.0 { "year" } else { "years" },
            changes.join("; "),
            study.title
        ),
    }
}

/// ", struck in patches of 20 m on 60 % of the bottom (95 % of the colonies, by area, left elsewhere); odds to live 2 times as
/// high for a colony of twice the diameter".
fn deaths_text(deaths: ColonyDeaths) -> String {
    let mut text = String::new();
    if let Some(patches) = deaths.patches {
        text += &format!(
            ", struck in patches of {} m on {} % of the bottom ({} % of the colonies, by area, left elsewhere)",
            plain(patches.patch_scale_m),
            plain(100.0 * patches.hit),
            plain(100.0 * patches.left_elsewhere)
        );
    }
    if deaths.moves_sizes() {
        let odds = plain(deaths.odds_at_twice_the_size);
        text += &format!(", the odds to live being {odds} times as high for a colony of twice the diameter");
    }
    text
}

fn unit_of(study: &Study, indicator: &str) -> String {
    match study.unit_of(indicator) {
        Unit::Share => " %".into(),
        Unit::Own(unit) => format!(" {unit}"),
    }
}

/// What is drawn from components of variation alone: "Data drawn from components of variation, normal and not read on a reef:
/// herbivore biomass: natural logarithms about a median of 240 kg/ha, SD 0.35 between whole sites ...".
fn components_text(study: &Study) -> Option<String> {
    let of = |method: &MethodSpec| {
        let MethodKind::Components(parts) = &method.kind else { return None };
        let (scale, middle) = match parts.scale {
            Scale::Plain => ("", "a mean"),
            Scale::Ln => ("natural logarithms about ", "a median"),
            Scale::Logit => ("logits about ", "a median"),
        };
        let unit = if parts.unit.is_empty() { String::new() } else { format!(" {}", parts.unit) };
        Some(format!(
            "{}: {scale}{middle} of {}{unit}, SD {} between whole sites, {} of a site's own year, {} between the units of a site",
            parts.indicator.replace('_', " "),
            plain(parts.mean),
            plain(parts.between_sites_sd),
            plain(parts.site_year_sd),
            plain(parts.between_units_sd)
        ))
    };
    let told: Vec<String> = study.methods.iter().filter_map(of).collect();
    (!told.is_empty()).then(|| {
        format!("Data drawn from components of variation, normal and not read on a reef: {}.", told.join("; "))
    })
}

fn data_generation(plan: &Plan) -> String {
    let study = &plan.study;
    let zones: Vec<String> = study
        .zones
        .iter()
        .zip(&plan.theories)
        .filter_map(|(zone, theory)| {
            let (reef, theory) = (&zone.reef, theory.law()?);
            Some(format!(
                "{} (mean cover {} %, whole sites of {} x {} m differ with SD {} points, of which {} points are the site's own year; colony diameters lognormal with median {} cm, ln-SD {}, largest {} m; ln density with SD {} over patches of scale {} m and SD {} along the reef over {} m; between sites SD {:.2})",
                zone.name,
                plain(100.0 * zone.cover),
                plain(zone.length_m),
                plain(zone.width_m),
                plain(100.0 * zone.between_sites_sd),
                plain(100.0 * zone.site_year_sd),
                plain(100.0 * reef.sizes.median_m),
                plain(reef.sizes.ln_sd),
                plain(reef.sizes.max_m),
                plain(reef.patch.sd),
                plain(reef.patch.scale_m),
                plain(reef.along.sd),
                plain(reef.along.scale_m),
                theory.law.site_sd,
            ))
        })
        .collect();
    let mut texts = Vec::new();
    texts.extend(components_text(study));
    // Where all is drawn from components no reef is read.
    let is_read = study.methods.iter().any(|method| !matches!(method.kind, MethodKind::Components(_)));
    if !zones.is_empty() && is_read {
        texts.push(format!(
            "Data: virtual reefs whose hard corals are discs, seen from above, with a density modulated by patches, along the reef, between sites and between years: {}.",
            zones.join("; ")
        ));
    }
    texts.extend(study.zones.iter().filter_map(|zone| {
        let same = zone.same_places.as_ref()?;
        Some(format!(
            "The sites of {} lie at the places of those of {}: the normal effects of the two sites of a place (lasting, of the year, \
             of the change, of kinds of bottom) correlate by {}; in the mean over zones the two are one stratum, whose replicates \
             are places.",
            zone.name,
            same.as_zone,
            plain(same.correlation)
        ))
    }));
    texts.extend(study.zones.iter().filter_map(|zone| Some(mapped_words(zone, zone.map.as_ref()?))));
    texts.extend(dead_parts_text(study));
    texts.extend(condition_text(study));
    texts.extend(colony_variation_text(study));
    texts.extend(animals_text(study));
    texts.extend(recruits_text(study));
    texts.extend(fish_text(study));
    texts.extend(units_text(study));
    let mut text = texts.join(" ");
    if is_read {
        text += &format!(" Lines and belts were laid {}.", study.placement.label());
    }
    if study.question.visits() == 2 {
        let places = match (study.visits.sites, study.visits.places) {
            (Sites::DrawnAnew, _) => "sites were drawn anew at the second visit".to_owned(),
            (_, Places::NewPlaces) => "the same sites were visited, with lines at new random places".to_owned(),
            (_, Places::SameMarks) => format!(
                "lines were laid at the same marks, displaced with SD {} m per axis",
                plain(study.visits.relay_sd_m)
            ),
        };
        if !is_read {
            text += &format!(" {}.", capital(&places));
        } else if zones.is_empty() {
            let what = if study.zones.iter().any(|zone| zone.map.as_ref().is_some_and(|map| map.later.is_some())) {
                "The second visit found the reef as it was mapped again"
            } else {
                "Between the visits nothing happened on the map but the change: colonies (or animals) died one after the other in an order drawn once"
            };
            text += &format!(" {what}; {places}.");
        } else {
            text += &format!(
                " Between the visits {} % of the colonies were renewed each year and the patches drifted with a memory of {} years; {places}.",
                plain(100.0 * study.visits.renewal_per_year),
                plain(study.visits.drift_years)
            );
        }
    }
    if study.observers.spread > 0.0 || study.observers.second_visit_bias != 0.0 {
        text += &format!(
            " Observers read with an SD between people of {} % of what is there.",
            plain(100.0 * study.observers.spread)
        );
    }
    text
}

/// Which fish there are and how they are counted; `None` where none are.
fn fish_text(study: &Study) -> Option<String> {
    let zones: Vec<String> =
        study.zones.iter().filter(|zone| !zone.fish.is_empty()).map(fish_words::fish_of_zone).collect();
    let counts: Vec<String> = study
        .methods
        .iter()
        .filter_map(|method| {
            let count = method.kind.fish_count()?;
            let edge = fish_words::edge(count);
            let edge = if edge.is_empty() { edge } else { format!("; {edge}") };
            Some(format!(
                "{} ({} minutes to lay and {} to count one): counted was {}; {}{edge}.{}",
                fish_words::units(&method.kind),
                exactly(method.minutes.lay),
                exactly(method.minutes.read),
                fish_words::rule(&method.kind),
                fish_words::lengths(count),
                fish_words::besides(&method.kind)
            ))
        })
        .collect();
    (!zones.is_empty() && !counts.is_empty()).then(|| {
        format!(
            "Fish in schools about Poisson middles, drawn anew for every unit and visit, densities differing between sites and \
             years; {}. {} What is written is compared with what was there; hidden, fleeing, unseen and misread fish are part of \
             the bias.",
            zones.join("; "),
            capital(&counts.join(" "))
        )
    })
}

fn mapped_words(zone: &Zone, map: &ZoneMap) -> String {
    format!(
        "Data of {}: the reef as it was mapped ({} in {}), {} x {} m, hard coral {} %; units were laid on it whole.",
        zone.name,
        map.label(),
        map.file,
        plain(zone.length_m),
        plain(zone.width_m),
        plain(100.0 * zone.cover)
    )
}

fn estimand_and_test(study: &Study) -> String {
    let scope = match study.scope {
        Scope::AllSuchReefs => "all reefs like these: sites are a random sample, site means the replicates",
        Scope::TheseReefs => {
            "a fixed list of reefs: site means are the replicates with a finite-list factor, lines where the list is surveyed whole"
        }
        Scope::EachReef => "each reef by itself: its lines are the replicates",
    };
    let estimand = match study.question {
        Question::Status => "the mean of the visit",
        Question::BetweenTheseVisits => {
            "the mean change that took place between these two visits, the year's own effect included"
        }
        Question::BeyondUsualYears => "the imposed change, beyond what usual years do",
        Question::BetweenGroups => "the difference of the group means at this visit",
    };
    let test = match study.test.kind {
        TestKind::PairedT
            if study.question == Question::BetweenTheseVisits || study.question == Question::BeyondUsualYears =>
        {
            "a paired t test"
        }
        TestKind::Permutation if study.question != Question::Status => {
            if study.question.visits() == 2 && study.visits.sites == Sites::Same {
                "a permutation test that exchanges the two visits of each site (all arrangements where there are no more than \
                 8192, else 999 random ones)"
            } else {
                "a permutation test that exchanges whole sites (all arrangements where there are no more than 8192, else 999 \
                 random ones)"
            }
        }
        TestKind::QuasiPoisson if study.question != Question::Status => {
            if study.pairs_sites() {
                "a Wald test of the ratio of site totals, quasi-Poisson with a term for each site, t on one less than the sites \
                 that had any"
            } else {
                "a Wald test of the ratio of site totals, quasi-Poisson, t on two less than the sites"
            }
        }
        TestKind::NegativeBinomial if study.question != Question::Status => {
            "a Wald test of the ratio of site totals, negative binomial with one k by maximum likelihood, t on two less than the \
             sites"
        }
        _ => "Welch's t test",
    };
    let sides = match study.test.sides {
        Sides::Two => "two-sided",
        Sides::Fall => "one-sided for a fall",
        Sides::Rise => "one-sided for a rise",
    };
    let test = if study.question == Question::Status {
        format!("{} % t intervals", plain(100.0 * (1.0 - study.test.alpha)))
    } else {
        format!("{test}, {sides}, alpha {}", plain(study.test.alpha))
    };
    let intervals = match study.test.kind {
        _ if study.question == Question::Status => "",
        TestKind::Permutation => " Intervals are those of the t distribution.",
        TestKind::QuasiPoisson | TestKind::NegativeBinomial => {
            " Ratios of zones are combined on the logarithm; errors and intervals are told in the unit of the indicator, as shares \
             of the mean of the first visit. Whatever is not a number of things counted is compared by t."
        }
        TestKind::PairedT | TestKind::WelchT => "",
    };
    format!(
        "Estimand and method: {estimand}, for {scope}. Analysis by {test}; zones combined with their weights and Satterthwaite's degrees of freedom.{intervals}{}{}",
        scale_words(study),
        size_words(study)
    )
}

fn tests_size_structure(study: &Study) -> bool {
    study.also_report.iter().any(|name| name == COLONY_SIZE_STRUCTURE)
}

fn size_words(study: &Study) -> &'static str {
    if !tests_size_structure(study) {
        return "";
    }
    " Size structures were compared by the largest distance between the mean distribution functions of the sites (of Kolmogorov \
     and Smirnov; diameters in classes of some 15 %), by exchanging whole sites."
}

/// On which scale site means of counted things are compared.
fn scale_words(study: &Study) -> String {
    let (name, plus, usual) = match study.test.scale {
        SiteScale::Plain => return String::new(),
        SiteScale::Ln { plus } => ("natural logarithms", plus, "half of one"),
        SiteScale::SquareRoot { plus } => ("square roots", plus, "3/8 of one"),
    };
    let plus = match plus {
        Plus::Value(value) => format!("{} in the unit of the indicator", plain(value)),
        Plus::OfSearch => {
            let fish = if study.zones.iter().any(|zone| !zone.fish.is_empty()) {
                " (of a biomass: of one fish of mean weight)"
            } else {
                ""
            };
            format!("the density of {usual}{fish} in all that is searched on a site")
        }
    };
    format!(
        " Site means of what is counted were compared as {name}, after adding {plus}; errors and intervals are told in the \
         unit of the indicator by the slope of that scale at the mean of the first visit, and detectable changes are those \
         of a typical value."
    )
}

fn performance(plan: &Plan, needed: &[Needed], trials: u64, seed: u64, version: &str) -> String {
    let mut text = format!(
        "Performance: {trials} simulated surveys of every design (reefwright {version}, seed {seed}), each design read from the same virtual sites; the simulation error of a rate p is sqrt(p (1 - p) / {trials}), at most {:.3}. The false-alarm rate was simulated beside every power, power where it is too high being told with the test held to its level (rejecting beyond the critical value that the simulation has where nothing changed), and every design was also worked out in closed form{}.",
        0.5 / (trials as f64).sqrt(),
        if tests_size_structure(&plan.study) { ", of size structures as an approximation" } else { "" }
    );
    let confirmed = needed.iter().find(|needed| !needed.confirmed.is_empty());
    if let Some(needed) = confirmed {
        let rates: Vec<String> = needed
            .confirmed
            .iter()
            .map(|(units, power, error)| format!("{:.3} (error {:.3}) with {units}", power, error))
            .collect();
        text += &format!(" Power with fresh simulations near the number quoted: {}.", rates.join(", "));
    }
    text
}
