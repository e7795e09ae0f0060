use crate::design::{SiteList, Study};
use crate::scenario::build::list::read_list;
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
    let strata = study.strata();
    let shares_with = |zone: usize| {
        let stratum = strata.iter().find(|stratum| stratum.contains(&zone))?;
        stratum.iter().copied().find(|other| *other != zone)
    };
    let each = study.zones.iter().zip(&file.zone).enumerate();
    let zones: Vec<ZoneOfSites> = each
        .map(|(index, (zone, table))| ZoneOfSites {
            name: &zone.name,
            depth_m: table.dive.as_ref().map(|dive| dive.depth_m.get()),
            shares_with: shares_with(index),
        })
        .collect();
    let key = "expedition.candidate_sites";
    let sites = read_list((name, key), |bytes| read_sites(bytes, &zones), files, problems)?;
    Some(SiteList { file: name.clone(), sites })
}
