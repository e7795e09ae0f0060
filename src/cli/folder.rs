//! A folder of results: written file by file, each whole; figures of the last run that the new one does not have are removed.

use super::failure::Failure;
use super::files::write_whole;
use std::fs;
use std::path::Path;

/// Writes (path inside the folder, bytes); `index` is the JSON that lists its figures.
pub fn write_folder(folder: &Path, files: &[(String, Vec<u8>)], index: &str) -> Result<(), Failure> {
    let last = figures_of(folder, index);
    for (name, bytes) in files {
        let path = folder.join(name);
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent)
            .map_err(|error| Failure::bad_input(format!("{} cannot be made: {error}", parent.display())))?;
        write_whole(&path, bytes)?;
    }
    // Figures of the last report in this folder that the new one does not have would be taken for its own.
    for old in last.iter().filter(|old| !files.iter().any(|(name, _)| name == *old)) {
        let _ = fs::remove_file(folder.join(old));
    }
    Ok(())
}

/// The figures of what lies in a folder, as its JSON lists them.
fn figures_of(folder: &Path, index: &str) -> Vec<String> {
    let read = || -> Option<Vec<String>> {
        let report: serde_json::Value = serde_json::from_slice(&fs::read(folder.join(index)).ok()?).ok()?;
        let names = report["figures"].as_array()?.iter().filter_map(|name| name.as_str());
        let plain = |name: &&str| name.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-');
        Some(names.filter(plain).flat_map(|name| ["png", "svg"].map(|end| format!("figures/{name}.{end}"))).collect())
    };
    read().unwrap_or_default()
}
