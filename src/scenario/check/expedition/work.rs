use crate::design::Expedition;
use crate::scenario::file::ScenarioFile;
use crate::scenario::problems::Problems;

/// Methods that work on the line of another: one line is planned, and its owner lays it itself.
pub fn check(file: &ScenarioFile, expedition: &Expedition, problems: &mut Problems) {
    let parts = file.method.parts();
    let mut hosts: Vec<usize> = Vec::new();
    for (place, (work, part)) in expedition.methods.iter().zip(&parts).enumerate() {
        let Some(host) = work.on_line_of else { continue };
        let key = format!("{}.work.on_line_of", part.path);
        if host == place || expedition.methods[host].on_line_of.is_some() {
            let message =
                if host == place { "a method cannot ride on its own line" } else { "that line is itself another's" };
            let remedy = "Name the method that lays the line; that method has no on_line_of.";
            problems.add(&key, message, "needs a method that lays", remedy);
            continue;
        }
        if !hosts.is_empty() && !hosts.contains(&host) {
            let remedy = "Let all name the same method: work on the lines of two methods is not planned together.";
            problems.add(&key, "another method's line is shared already", "one shared line", remedy);
        }
        hosts.push(host);
        let table = part.work.as_ref();
        for (name, is_written) in [
            ("mark_minutes", table.is_some_and(|table| table.mark_minutes.is_some())),
            ("find_minutes", table.is_some_and(|table| table.find_minutes.is_some())),
            ("line_stays", work.line_stays),
        ] {
            if is_written {
                let message = format!("{name} belongs to the method that lays the line");
                let remedy = "Write it in the work of that method.";
                problems.add(&format!("{}.work.{name}", part.path), message, "not with on_line_of", remedy);
            }
        }
    }
    for (place, (work, part)) in expedition.methods.iter().zip(&parts).enumerate() {
        if work.line_stays && work.on_line_of.is_none() && !hosts.contains(&place) {
            let message = "the line stays, but nothing else is done on it";
            let remedy = "Write on_line_of in the work of the methods that use this line, or take line_stays out.";
            problems.add(&format!("{}.work.line_stays", part.path), message, "needs on_line_of elsewhere", remedy);
        }
    }
}
