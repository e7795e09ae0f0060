use super::doubt::Doubt;
use super::load::Loaded;
use super::shown::number;
use crate::engine::Plan;
use crate::planner::colonies_on_belt;
use crate::survey::MethodKind;

/// Seconds that a colony takes at the least, to find it, measure it and write it down: a guess.
const LEAST_SECONDS: f64 = 5.0;

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
        if seconds >= LEAST_SECONDS {
            continue;
        }
        let last_time = format!("{path}.work.done_last_time");
        let key = if loaded.is_written(&last_time) { last_time } else { format!("{path}.read_minutes") };
        let message = format!(
            "a coral belt of {} has {:.0} colonies in the mean in {}, and {} minutes to read it leave {seconds:.1} seconds for each",
            dimensions.label(),
            colonies.mean,
            colonies.zone,
            number(method.minutes.read)
        );
        let remedy = "Write the minutes that divers need for so many colonies, make the belt smaller, or measure colonies from a \
                      larger smallest_cm on only.";
        all.push(loaded.doubt_at(&key, message, format!("{} seconds or more", number(LEAST_SECONDS)), remedy));
    }
    all
}
