use super::doubt::Doubt;
use super::load::Loaded;
use super::shown::number;
use crate::engine::Plan;
use crate::planner::colonies_on_belt;
use crate::survey::MethodKind;

/// Seconds that a colony takes at the very least, to find it, measure two diameters and a height, judge its dead part and write all down (common
/// practice, no source).
const MEASURED_SECONDS: f64 = 6.0;
/// The same where colonies are only counted (common practice, no source).
const COUNTED_SECONDS: f64 = 3.0;

/// Coral belts whose minutes leave fewer seconds for a colony, at the key of the minutes.
pub fn colony_doubts(loaded: &Loaded, plan: &Plan) -> Vec<Doubt> {
    let mut belts = 0;
    let mut all = Vec::new();
    for method in &loaded.study.methods {
        if !matches!(method.kind, MethodKind::CoralBelt { .. }) {
            continue;
        }
        let path = format!("method.coral_belt[{belts}]");
        belts += 1;
        // Minutes go by the area that is searched, so the seconds for a colony are the same in all dimensions.
        let Some(&dimensions) = method.kind.dimensions().first() else { continue };
        let Some(colonies) = colonies_on_belt(plan, &method.kind, dimensions) else { continue };
        let seconds = 60.0 * method.minutes.read / colonies.mean;
        if seconds >= MEASURED_SECONDS {
            continue;
        }
        let last_time = format!("{path}.work.done_last_time");
        let key = if loaded.is_written(&last_time) { last_time } else { format!("{path}.read_minutes") };
        let enough_for = if seconds < COUNTED_SECONDS {
            "too few even to count them"
        } else {
            "enough to count, not to measure them"
        };
        let message = format!(
            "a coral belt of {} has {:.0} colonies in the mean in {}, and {} minutes to read it leave {seconds:.1} seconds for each: {enough_for}",
            dimensions.label(),
            colonies.mean,
            colonies.zone,
            number(method.minutes.read)
        );
        let allowed = format!(
            "{} seconds or more where sizes are measured, {} where colonies are only counted (common practice, no source)",
            number(MEASURED_SECONDS),
            number(COUNTED_SECONDS)
        );
        let remedy = "Write the minutes that divers need for so many colonies, make the belt smaller, or measure colonies from a \
                      larger smallest_cm on only.";
        all.push(loaded.doubt_at(&key, message, allowed, remedy));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::load_text;
    use crate::theory::ReefTheory;

    #[test]
    fn minutes_that_leave_no_time_for_a_colony_are_doubted_at_their_key() {
        let told = |minutes: &str| {
            let text = format!(
                "statement_about = \"all_such_reefs\"\n[[zone]]\nname = \"slope\"\nsites = 8\ncover_percent = 28\n\
                 [[method.coral_belt]]\n{minutes}\n[[change]]\nfrom = 28\nto = 22\n"
            );
            let loaded = load_text("belts.toml", &text).unwrap_or_else(|error| panic!("{}", error.render()));
            let theories =
                loaded.study.zones.iter().map(|zone| ReefTheory::new(&loaded.study, zone).unwrap()).collect();
            let plan = Plan::new(loaded.study.clone(), theories);
            let kind = &plan.study.methods[0].kind;
            let colonies = colonies_on_belt(&plan, kind, kind.dimensions()[0]).unwrap();
            assert!(colonies.mean > 20.0 && colonies.high as f64 > colonies.mean && colonies.zone == "slope");
            (colony_doubts(&loaded, &plan), colonies.mean)
        };
        assert!(told("read_minutes = 60").0.is_empty());
        let (doubts, mean) = told("read_minutes = 1");
        let doubt = &doubts[0];
        assert_eq!((doubt.key.as_str(), doubt.line), ("method.coral_belt[0].read_minutes", 7));
        assert!(doubt.message.contains(&format!("leave {:.1} seconds for each", 60.0 / mean)), "{}", doubt.message);
        assert!(doubt.message.ends_with("too few even to count them"), "{}", doubt.message);
        let minutes = |seconds: f64| format!("read_minutes = {}", seconds * mean / 60.0 * 1.001);
        let (counted, _) = told(&minutes(COUNTED_SECONDS));
        assert!(counted[0].message.ends_with("enough to count, not to measure them"), "{}", counted[0].message);
        assert!(counted[0].usual.starts_with("6 seconds or more where sizes are measured, 3 where"), "{counted:?}");
        assert!(told(&minutes(MEASURED_SECONDS)).0.is_empty());
    }
}
