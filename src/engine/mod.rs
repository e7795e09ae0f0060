mod animals;
mod classes;
mod colonies;
mod components;
mod estimate;
mod layout;
#[cfg(test)]
mod placement_tests;
mod plan;
mod quadrat_line;
mod recruits;
mod row;
mod run;
mod sheet;
mod site_count;
mod site_sums;
mod survey_site;
mod tally;
mod thrown;
mod trial;

pub use layout::{Column, Indicator, Layout, Reading};
pub use plan::{DesignIndex, Plan, Where};
pub use row::Row;
pub use run::{Outcome, Until, Watch, run};
pub use site_count::SiteCount;
pub use survey_site::{LaidUnit, ZoneSurvey};
pub use tally::Tally;
