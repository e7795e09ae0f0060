use crate::design::{SiteList, Study};
use crate::scenario::csv_file::ListProblem;
use crate::scenario::file::{ExpeditionTable, ScenarioFile};

use crate::scenario::load::ReadFile;
use crate::scenario::problems::Problems;
use crate::scenario::site_list::{ZoneOfSites, read_sites};

/// The list of candidate sites, where one is named and it is right.
pub fn sites(
    table: &ExpeditionTable,
    (file, study): (&ScenarioFile, &Study),
    files: &ReadFile,
    problems: &mut Problems,
) -> Option<SiteList> {
    let name = table.candidate_sites.as_ref()?;
    let zones: Vec<ZoneOfSites> = study
        .zones
        .iter()
        .zip(&file.zone)
        .map(|(zone, table)| ZoneOfSites {
            name: &zone.name,
            depth_m: table.dive.as_ref().map(|dive| dive.depth_m.get()),
        })
        .collect();
    let cannot_be_read = |why: String| {
        let remedy = "Write the name of a CSV beside the scenario, or its path from the scenario's folder.";
        vec![ListProblem::new(why, "cannot be read", remedy)]
    };
    let sites = files(name).map_err(cannot_be_read).and_then(|bytes| read_sites(&bytes, &zones));
    match sites {
        Ok(sites) => Some(SiteList { file: name.clone(), sites }),
        Err(found) => {
            for ListProblem { message, allowed, remedy } in found {
                problems.add("expedition.candidate_sites", format!("{name}: {message}"), allowed, remedy);
            }
            None
        }
    }
}
