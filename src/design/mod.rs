mod asked;
mod buddies;
mod colonies;
mod colony_variation;
mod compared;
mod deaths;
mod expedition;
mod fish;
mod map;
mod recruits;
mod same_places;
mod sites;
mod study;
mod unit;
mod visits;
mod zone;

pub use asked::{Plus, Question, Scope, Sides, SiteScale, TestKind, TestSpec};
pub use buddies::Team;
pub use colonies::{
    COLONY_DENSITY, COLONY_SIZE_STRUCTURE, colony_measures, tells_condition, tells_dead_parts, tells_kinds_of_colonies,
};
pub use colony_variation::{ColonyVariation, SiteSpread};
pub use compared::Comparison;
pub use deaths::{ColonyDeaths, StormPatches};
pub use expedition::{
    Asks, Boats, DayClock, DaysAshore, DiverSpec, Expedition, ExpeditionDays, First, Gas, LeastOf, LostShare,
    MethodWork, Rates, Scheduled, Standby, Target, WhoWaits, ZoneDiving,
};
pub use fish::{ALL_FISH, FishGroup, FishIndicator, FishMeasure, FishWho, fish_of};
pub use map::{MapScale, ZoneMap};
pub use recruits::{LARGEST_RECRUIT_M, RECRUIT_DENSITY, RecruitMeasure, Recruits, is_recruit};
pub use same_places::SamePlaces;
pub use sites::{ListedSite, SiteList};
pub use study::{Change, HARD_CORAL, REST, Study};
pub use unit::{COMMERCIAL, DENSITY_AREA_M2, PRESENCE, Unit, animal_of};
pub use visits::{Crew, Observers, Places, Sites, Tape, Visits};
pub use zone::{Animal, Zone};
