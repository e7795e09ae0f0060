use crate::analysis::ColonyIndicator;
use crate::reef::colonies::Condition;
use crate::survey::{MethodKind, MethodSpec};

/// The indicator that every coral belt gives.
pub const COLONY_DENSITY: &str = "colony_density";

/// The whole distribution of sizes: it has no mean, only a test, which exchanges whole sites.
pub const COLONY_SIZE_STRUCTURE: &str = "colony_size_structure";

/// What a coral belt can tell, by name: the density first, the classes of sizes last.
pub fn colony_measures(classes_m: &[f64], growth_m: f64) -> Vec<(String, ColonyIndicator)> {
    let mut all: Vec<(String, ColonyIndicator)> = vec![
        (COLONY_DENSITY.into(), ColonyIndicator::Density),
        ("colony_mean_diameter".into(), ColonyIndicator::MeanDiameter),
        ("colony_median_diameter".into(), ColonyIndicator::MedianDiameter),
        ("colony_mean_ln_diameter".into(), ColonyIndicator::MeanLnDiameter),
        ("colonies_with_dead_parts".into(), ColonyIndicator::ShareWithDeadParts),
        ("colonies_with_recent_mortality".into(), ColonyIndicator::ShareWithRecent),
        ("colonies_pale".into(), ColonyIndicator::ShareInCondition(Condition::Pale)),
        ("colonies_bleached".into(), ColonyIndicator::ShareInCondition(Condition::Bleached)),
        ("colonies_diseased".into(), ColonyIndicator::ShareInCondition(Condition::Diseased)),
        ("colony_live_share".into(), ColonyIndicator::LiveShare),
        ("cover_of_measured_colonies".into(), ColonyIndicator::EllipseCover),
        ("colony_age_index".into(), ColonyIndicator::AgeIndex { growth_m }),
        (COLONY_SIZE_STRUCTURE.into(), ColonyIndicator::SizeStructure),
    ];
    all.extend(classes_m.windows(2).map(|limits| {
        let centimetres = |metres: f64| (100.0 * metres * 1e6).round() / 1e6;
        let name = format!("colonies_of_{}_to_{}_cm", centimetres(limits[0]), centimetres(limits[1]));
        (name, ColonyIndicator::ClassShare { from_m: limits[0], to_m: limits[1] })
    }));
    all
}

/// Whether coral belts tell dead parts of colonies, as it was asked.
pub fn tells_dead_parts(methods: &[MethodSpec], also_report: &[String]) -> bool {
    colonies_tell(methods, also_report, ColonyIndicator::is_of_dead_parts)
}

/// Whether coral belts tell how colonies look, as it was asked.
pub fn tells_condition(methods: &[MethodSpec], also_report: &[String]) -> bool {
    colonies_tell(methods, also_report, ColonyIndicator::is_of_condition)
}

/// Whether coral belts tell what their colonies are like, as it was asked: what is no sum over them, and no condition.
pub fn tells_kinds_of_colonies(methods: &[MethodSpec], also_report: &[String]) -> bool {
    colonies_tell(methods, also_report, ColonyIndicator::is_of_kinds_of_colonies)
}

fn colonies_tell(methods: &[MethodSpec], also_report: &[String], is: fn(ColonyIndicator) -> bool) -> bool {
    methods.iter().any(|method| match &method.kind {
        MethodKind::CoralBelt { classes_m, growth_m, .. } => {
            let measures = colony_measures(classes_m, *growth_m).into_iter();
            measures.filter(|(name, _)| also_report.contains(name)).any(|(_, indicator)| is(indicator))
        }
        _ => false,
    })
}
