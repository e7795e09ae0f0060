use super::expedition::DiveTable;
use super::fish::FishTable;
use crate::scenario::count::{Count, Counts, Existing, Sites};
use crate::scenario::number::{
    AlongScale, AnimalPatchScale, Commercial, Correlation, Cover, Density, Diameter, DiameterLnSd, GroupSize,
    GroupSpread, Hidden, LargestDiameter, LnSd, MetresPerUnit, Number, PartlyDead, PatchK, PatchScale, Percent,
    PixelSide, Points, RecruitDensity, RelativeSpread, RisePerDoubling, SiteLength, SiteWidth, Weight,
};
use crate::scenario::source::Source;
use crate::scenario::word::{ReefChoice, Word};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// How much sites and years vary, for all zones that do not write their own.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VariationTable {
    /// SD, in points of cover, of how far one site's year departs from the others when nothing happens.
    pub site_year_points: Option<Number<Points>>,
    /// SD, in points of cover, of how far a year departs that all sites share; needed for `beyond_usual_years`.
    pub year_points: Option<Number<Points>>,
    pub source: Option<Source>,
}

/// A class of sites with its own cover, spread, weight and number of sites.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneTable {
    /// Needed where there is more than one zone.
    pub name: Option<String>,
    /// Sites surveyed at each visit (for `between_groups`: in each group): a number, a list or a range to compare. Left out
    /// in a zone of an expedition, whose budget chooses it: the fewest of its `[zone.dive]`.
    pub sites: Option<Counts<Sites>>,
    /// Sites that exist; needed for `these_reefs`.
    pub existing: Option<Count<Existing>>,
    /// Share of the zone in the mean over zones; all or none of the zones have one.
    pub weight: Option<Number<Weight>>,
    /// Name of the deeper zone at whose places the sites of this one lie: first site with first, and so on.
    pub same_places_as: Option<String>,
    /// How alike the two depths of a place are: correlation of the effects of their sites and years, 0 to 1; 0.5 when left out,
    /// which is a guess.
    pub place_correlation: Option<Number<Correlation>>,
    /// Length of a site along the reef; 100 m when left out.
    pub length_m: Option<Number<SiteLength>>,
    /// Width of a site; 20 m when left out.
    pub width_m: Option<Number<SiteWidth>>,
    /// One of the seven named reefs, or `unknown` (default): then the answer is a range over all seven.
    pub reef: Option<Word<ReefChoice>>,
    /// Median diameter of the colonies, instead of the named reef's.
    pub diameter_median_m: Option<Number<Diameter>>,
    /// SD of ln diameter.
    pub diameter_ln_sd: Option<Number<DiameterLnSd>>,
    /// Largest diameter.
    pub diameter_max_m: Option<Number<LargestDiameter>>,
    /// SD of the ln density of colonies between patches.
    pub patch_sd: Option<Number<LnSd>>,
    /// Scale of the patches (correlation .05 at 2.7 scales).
    pub patch_scale_m: Option<Number<PatchScale>>,
    /// SD of the ln density of colonies along the reef.
    pub along_sd: Option<Number<LnSd>>,
    /// Scale of the variation along the reef.
    pub along_scale_m: Option<Number<AlongScale>>,
    /// Mean cover of hard coral over the sites of the zone at the first visit; left out: the named reef's.
    pub cover_percent: Option<Number<Cover>>,
    /// SD between whole sites of their true cover in one visit, in points of cover.
    pub between_sites_points: Option<Number<Points>>,
    /// Overrides `[variation]` in this zone.
    pub site_year_points: Option<Number<Points>>,
    /// Overrides `[variation]` in this zone.
    pub year_points: Option<Number<Points>>,
    /// Partial mortality of its colonies.
    pub partial_mortality: Option<PartialMortalityTable>,
    /// Condition of its colonies.
    pub condition: Option<ConditionTable>,
    /// How its sites differ in what colonies are like.
    pub colony_variation: Option<ColonyVariationTable>,
    /// The rest of the bottom. The order counts: each takes its share of what those before it leave.
    #[serde(default)]
    pub category: Vec<CategoryTable>,
    /// Large invertebrates that are counted in belts.
    #[serde(default)]
    pub animal: Vec<AnimalTable>,
    /// Groups or species of fish that are counted.
    #[serde(default)]
    pub fish: Vec<FishTable>,
    /// Recruits of corals that are counted in quadrats.
    pub recruits: Option<RecruitsTable>,
    /// Diving at its sites; needed for an expedition.
    pub dive: Option<DiveTable>,
    /// The zone is one reef that was mapped; then the map tells size, covers and animals.
    pub map: Option<MapTable>,
    pub source: Option<Source>,
}

/// Partial mortality: dead parts of colonies, which coral belts tell (`colonies_with_dead_parts`,
/// `colonies_with_recent_mortality`, `colony_live_share`). Left out: as in colony records of the US Virgin Islands.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartialMortalityTable {
    /// Share of the colonies of 15 cm (largest diameter) that have dead parts, recent or old; 56 when left out.
    pub colonies_percent: Option<Number<PartlyDead>>,
    /// How much the (natural) log odds of having dead parts rise with every doubling of the diameter; 0.75 when left out.
    pub rise_per_doubling: Option<Number<RisePerDoubling>>,
    /// Mean dead share of a colony of 15 cm that has dead parts; larger ones have more. 21.8 when left out.
    pub dead_percent: Option<Number<PartlyDead>>,
    /// Share of the colonies with dead parts that have recent ones, too, the others only old ones; 19.5 when left out.
    pub recent_percent: Option<Number<Percent>>,
    pub source: Option<Source>,
}

/// Condition of colonies at a visit, which coral belts tell (`colonies_pale`, `colonies_bleached`, `colonies_diseased`): shares of
/// all colonies, whatever their size, each colony in one condition, drawn anew at each visit. They sum to 100 at most.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConditionTable {
    /// Share of the colonies that are pale, but not bleached; 5 when left out (a guess).
    pub pale_percent: Option<Number<Percent>>,
    /// Share of the colonies that are bleached; 1 when left out (a guess).
    pub bleached_percent: Option<Number<Percent>>,
    /// Share of the colonies that are diseased; 1 when left out (a guess).
    pub diseased_percent: Option<Number<Percent>>,
    pub source: Option<Source>,
}

/// How whole sites differ in what their colonies are like, beyond chance: all that is a mean over the colonies of a coral belt
/// (sizes, classes of sizes, dead parts; not their condition) moves with it; cover and numbers of colonies do not. Left out:
/// sites differ by chance alone, and power and precision of such means are upper bounds.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ColonyVariationTable {
    /// SD between sites, in one visit, of the ln diameter of their colonies (0.1: about 10 % larger or smaller).
    pub ln_diameter_between_sites: Option<Number<LnSd>>,
    /// SD of how far a site's year departs in ln diameter when nothing happens; part of that between sites.
    pub ln_diameter_site_year: Option<Number<LnSd>>,
    /// SD between sites, in one visit, of the share of colonies that have dead parts, in points.
    pub dead_parts_between_sites_points: Option<Number<Points>>,
    /// SD of how far a site's year departs in that share when nothing happens, in points; part of that between sites.
    pub dead_parts_site_year_points: Option<Number<Points>>,
    pub source: Option<Source>,
}

/// A mapped reef: a classified picture (PNG), or a list of colonies and animals (CSV with x, y, diameter, name).
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MapTable {
    /// Beside the scenario, or from its folder.
    pub file: String,
    /// A later map of the same rectangle: what the second visit finds. Then no change is written.
    pub file_after: Option<String>,
    /// Side of a pixel of a picture in centimetres; or picture_m instead.
    pub pixel_cm: Option<Number<PixelSide>>,
    /// Length of the picture from left to right in metres.
    pub picture_m: Option<Number<SiteLength>>,
    /// What each colour of a picture means: "#b84a2b" = "hard_coral".
    #[serde(default)]
    pub legend: BTreeMap<String, String>,
    /// Metres in a unit of the numbers of a list; 1 when left out, 0.01 for centimetres.
    pub metres_per_unit: Option<Number<MetresPerUnit>>,
    pub source: Option<Source>,
}

/// One kind of large invertebrate.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AnimalTable {
    pub name: String,
    /// Mean number per 100 m2 over the sites of the zone at the first visit, seen or hidden.
    pub density_per_100_m2: Number<Density>,
    /// SD of the true density of whole sites in one visit, in percent of the mean.
    pub between_sites_percent: Option<Number<RelativeSpread>>,
    /// SD of how far a site's density moves in a year when nothing happens, in percent of the mean.
    pub site_year_percent: Option<Number<RelativeSpread>>,
    /// Mean number of animals in a group; left out: they live alone.
    pub group_size: Option<Number<GroupSize>>,
    /// SD of the distance of an animal from the middle of its group along each axis; 0.5 m when left out.
    pub group_spread_m: Option<Number<GroupSpread>>,
    /// SD of ln density in patches wider than a belt; left out: none.
    pub patch_sd: Option<Number<LnSd>>,
    /// Instead of patch_sd: k of a gamma law of density between patches (counts in belts much smaller than a patch are then
    /// negative binomial with this k).
    pub patch_k: Option<Number<PatchK>>,
    /// Scale of these patches; 25 m when left out.
    pub patch_scale_m: Option<Number<AnimalPatchScale>>,
    /// Share that a diver does not see by day; 0 when left out.
    pub hidden_percent: Option<Number<Hidden>>,
    /// Share of the animals that are of commercial size; gives the indicator NAME_of_commercial_size, which moves with NAME by the
    /// same share. (NAME_presence, the share of belts with one, needs no key but its name in `also_report`.)
    pub commercial_percent: Option<Number<Commercial>>,
    /// Share of the groups (of the animals, where they live alone) that are at the same place at the second visit; 0 when
    /// left out.
    pub stays_percent: Option<Number<Percent>>,
    pub source: Option<Source>,
}

/// Recruits of corals: colonies under 4 cm. Needed for `[[method.recruit_quadrats]]`, which gives `recruit_density`; what
/// else is wanted is listed in `also_report`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RecruitsTable {
    /// Mean number per m2 of hard bottom free of colonies, over the sites of the zone at the first visit.
    pub density_per_m2: Number<RecruitDensity>,
    /// Share of them that is under 2 cm, the others being of 2 to 4 cm; 60 when left out.
    pub under_2_cm_percent: Option<Number<Percent>>,
    /// SD of the true density of whole sites in one visit, in percent of the mean.
    pub between_sites_percent: Option<Number<RelativeSpread>>,
    /// SD of how far a site's density moves in a year when nothing happens, in percent of the mean.
    pub site_year_percent: Option<Number<RelativeSpread>>,
    /// Mean number in a group; left out: they settle alone.
    pub group_size: Option<Number<GroupSize>>,
    /// SD of the distance from the middle of the group along each axis; 0.5 m when left out.
    pub group_spread_m: Option<Number<GroupSpread>>,
    /// SD of ln density in patches; left out: none.
    pub patch_sd: Option<Number<LnSd>>,
    /// Instead of patch_sd: k of a gamma law of density between patches.
    pub patch_k: Option<Number<PatchK>>,
    /// Scale of these patches; 25 m when left out.
    pub patch_scale_m: Option<Number<AnimalPatchScale>>,
    /// Share (of the groups, where they settle in groups) that is in place and still of these sizes at the second visit; when
    /// left out 30 after a year, 9 after two ...
    pub still_recruits_percent: Option<Number<Percent>>,
    /// Names of the categories on which they cannot live; when left out those called sand, silt or mud.
    pub cannot_live_on: Option<Vec<String>>,
    pub source: Option<Source>,
}

/// One kind of bottom besides hard coral.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CategoryTable {
    pub name: String,
    /// Mean cover over the sites of the zone at the first visit, of the whole bottom.
    pub cover_percent: Number<Cover>,
    /// SD of its true cover between whole sites, in points of cover.
    pub between_sites_points: Option<Number<Points>>,
    /// Scale of its patches.
    pub patch_m: Option<Number<PatchScale>>,
    pub source: Option<Source>,
}
