use crate::scenario::csv_file::ListProblem;
use crate::scenario::load::ReadFile;
use crate::scenario::problems::Problems;

/// What a list (CSV) that the scenario names at a key says; `None` where it cannot be read or is wrong, which is told.
pub fn read_list<T>(
    (name, key): (&str, &str),
    read: impl FnOnce(&[u8]) -> Result<T, Vec<ListProblem>>,
    files: &ReadFile,
    problems: &mut Problems,
) -> Option<T> {
    let cannot_be_read = |why: String| {
        let remedy = "Write the name of a CSV beside the scenario, or its path from the scenario's folder.";
        vec![ListProblem::new(why, "cannot be read", remedy)]
    };
    match files(name).map_err(cannot_be_read).and_then(|bytes| read(&bytes)) {
        Ok(list) => Some(list),
        Err(found) => {
            for ListProblem { message, allowed, remedy } in found {
                problems.add(key, format!("{name}: {message}"), allowed, remedy);
            }
            None
        }
    }
}
