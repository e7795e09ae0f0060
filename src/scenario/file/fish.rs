use super::expedition::WorkTable;
use crate::scenario::count::{Counts, Units};
use crate::scenario::list::Numbers;
use crate::scenario::number::{
    AnimalPatchScale, BackMinutes, BeltWidth, BiomassPerHa, ClassWidth, CoralExponent, CountMinutes, CountRadius,
    DistanceError, FishDensity, FishLength, HomeRange, LengthCv, LengthError, LineLength, LnSd, Minutes, Number,
    PatchK, Percent, Reaction, ReactionScale, RelativeSpread, SchoolSize, SchoolSpread, SightScale, SwimMinutes,
    SwimSpeed, TurnSeconds, Visibility, WeightA, WeightB, WindowDepth,
};
use crate::scenario::source::Source;
use crate::scenario::word::{CountingWord, PeriodWord, SchoolWord, Word};
use crate::survey::fish_sheet::ClassValue;
use schemars::JsonSchema;
use serde::Deserialize;

/// One group or species of fish.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FishTable {
    pub name: String,
    /// What it feeds on; groups of one kind have indicators together, by this name.
    pub trophic_group: Option<String>,
    /// Mean number per 100 m2 over the sites of the zone at the first visit, seen or not.
    pub density_per_100_m2: Option<Number<FishDensity>>,
    /// Or their mean biomass.
    pub biomass_kg_per_ha: Option<Number<BiomassPerHa>>,
    /// SD of the true density of whole sites in one visit, in percent of the mean.
    pub between_sites_percent: Option<Number<RelativeSpread>>,
    /// SD of how far a site's density moves in a year when nothing happens, in percent of the mean.
    pub site_year_percent: Option<Number<RelativeSpread>>,
    /// How it goes with the coral of its site: the density of a site is multiplied by its true hard coral cover at the visit
    /// over the mean cover of the zone at the first visit, to this power; 0 when left out.
    pub with_coral: Option<Number<CoralExponent>>,
    /// How it goes with the coral within a site: its density is that of the colonies in their patches of a metre or few, to
    /// this power, instead of having patches of its own; 0 when left out.
    pub with_coral_patches: Option<Number<CoralExponent>>,
    /// SD of ln density in patches wider than a belt; left out: none.
    pub patch_sd: Option<Number<LnSd>>,
    /// Instead of patch_sd: k of a gamma law of density between patches.
    pub patch_k: Option<Number<PatchK>>,
    /// Scale of these patches; 25 m when left out.
    pub patch_scale_m: Option<Number<AnimalPatchScale>>,
    /// `alone` (left out), `pairs`, `lognormal`, `logarithmic`.
    pub school: Option<Word<SchoolWord>>,
    /// Median size of lognormal schools, mean size of logarithmic ones.
    pub school_size: Option<Number<SchoolSize>>,
    /// SD of ln size of lognormal schools; 1 when left out.
    pub school_ln_sd: Option<Number<LnSd>>,
    /// SD of the distance of a fish from the middle of its school along each axis; 1 m when left out.
    pub school_spread_m: Option<Number<SchoolSpread>>,
    /// Mean total length.
    pub length_cm: Number<FishLength>,
    /// SD of the lengths in percent of their mean; 30 when left out.
    pub length_spread_percent: Option<Number<LengthCv>>,
    /// Share of that variance that the fish of one school have in common; 50 when left out.
    pub alike_in_school_percent: Option<Number<Percent>>,
    /// Weight in grams is weight_a times the length in cm to the power of weight_b.
    pub weight_a: Option<Number<WeightA>>,
    pub weight_b: Option<Number<WeightB>>,
    /// Instead of both: the name of a species in this list (CSV with the columns name, trophic_group, a, b, source and, where
    /// they are known, length_type (TL, FL or SL: of which length a and b are) and longest_cm), beside the scenario.
    pub species: Option<String>,
    pub species_list: Option<String>,
    /// Speed at which it swims while it is counted; 0 when left out.
    pub speed_m_s: Option<Number<SwimSpeed>>,
    /// Seconds after which it turns, in the mean; left out: it swims straight on.
    pub turning_s: Option<Number<TurnSeconds>>,
    /// Radius of the range that it does not leave; left out: it roams.
    pub home_range_m: Option<Number<HomeRange>>,
    /// Scale of the half-normal fall of the chance to be seen with the distance from the diver's line; left out: none.
    pub sight_scale_m: Option<Number<SightScale>>,
    /// Share of the fish on the diver's line that leave unseen (shy); negative: that come on top (curious); 0 when left out.
    pub shy_percent: Option<Number<Reaction>>,
    /// Scale of the distance over which they react; 1 m when left out.
    pub shy_scale_m: Option<Number<ReactionScale>>,
    /// Length at which one half of the fish are seen; left out: lengths do not matter.
    pub half_seen_cm: Option<Number<FishLength>>,
    /// Share that is seen of those on the diver's line; 100 when left out.
    pub seen_percent: Option<Number<Percent>>,
    /// At the second visit, where that is otherwise: the share that leaves (or comes), the scale over which it is seen less, the
    /// share that is seen. As at the first when left out.
    pub second_visit_shy_percent: Option<Number<Reaction>>,
    pub second_visit_sight_scale_m: Option<Number<SightScale>>,
    pub second_visit_seen_percent: Option<Number<Percent>>,
    /// Whether it hides: then it is counted on the way back of a belt, and not on the way out.
    pub hides: Option<bool>,
    pub source: Option<Source>,
}

/// Fish counted and sized by a diver who swims along a belt; the fish are listed in each zone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FishBeltTable {
    /// Length of a belt, or a list to compare; 30 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Full width of a belt, or a list to compare; 2 m when left out.
    pub width_m: Option<Numbers<BeltWidth>>,
    /// Minutes of the swim along the first length, or a list to compare; 8 when left out. Other lengths at the same speed.
    pub swim_minutes: Option<Numbers<SwimMinutes>>,
    /// `moving_window` (left out): what is in a stretch ahead; `whole_swim`: all that is in the belt at any moment;
    /// `abreast`: what crosses the line abreast of the diver.
    pub counting: Option<Word<CountingWord>>,
    /// Depth of the moving window; 2 m when left out.
    pub window_m: Option<Number<WindowDepth>>,
    /// Width of hidden fish's belt on the way back; left out: there is none.
    pub way_back_width_m: Option<Number<BeltWidth>>,
    /// Minutes of the way back along the first length; as long as the way out when left out.
    pub way_back_minutes: Option<Number<BackMinutes>>,
    /// Lengths are written in classes of this; 5 cm when left out.
    pub class_cm: Option<Number<ClassWidth>>,
    /// Below this length in classes of half the width; left out: none.
    pub half_classes_below_cm: Option<Number<FishLength>>,
    /// What stands for a class: `midpoint` (left out), `within` (mean weight over the class), `upper_limit`.
    pub class_value: Option<Word<ClassValue>>,
    /// SD of a length as it is estimated, in percent; 10 when left out.
    pub length_spread_percent: Option<Number<LengthCv>>,
    /// How much too long lengths are written in the mean (magnification: 33); 0 when left out.
    pub length_bias_percent: Option<Number<LengthError>>,
    /// How much too long distances are estimated in the mean (too short: negative, the belt is then too wide); 0 when left
    /// out.
    pub distance_bias_percent: Option<Number<DistanceError>>,
    /// SD of judged distances between units, in percent; 0 when left out.
    pub distance_spread_percent: Option<Number<LengthCv>>,
    /// Share of the fish that are still there when other divers have worked before; left out: the count is first, 100.
    pub left_after_others_percent: Option<Number<Percent>>,
    /// How far fish can be seen; left out: farther than the belt reaches.
    pub visibility_m: Option<Number<Visibility>>,
    /// Belts at a site, to compare.
    pub units: Option<Counts<Units>>,
    /// Minutes to get to the start of a belt; the tape is laid behind the diver.
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes on a belt of the first dimensions, way back included; when left out those of the swim.
    pub read_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Fish counted and sized from one place; the fish are listed in each zone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FishPointCountTable {
    /// Radius of the circle, or a list to compare; 7.5 m when left out.
    pub radius_m: Option<Numbers<CountRadius>>,
    /// Minutes of a count, or a list to compare; 5 when left out.
    pub minutes: Option<Numbers<CountMinutes>>,
    /// `snapshot` (left out): what is there at one moment; `whole_period`: all that comes in.
    pub counting: Option<Word<PeriodWord>>,
    /// Lengths are written in classes of this; 5 cm when left out.
    pub class_cm: Option<Number<ClassWidth>>,
    /// Below this length in classes of half the width; left out: none.
    pub half_classes_below_cm: Option<Number<FishLength>>,
    /// What stands for a class: `midpoint` (left out), `within` (mean weight over the class), `upper_limit`.
    pub class_value: Option<Word<ClassValue>>,
    /// SD of a length as it is estimated, in percent; 10 when left out.
    pub length_spread_percent: Option<Number<LengthCv>>,
    /// How much too long lengths are written in the mean (magnification: 33); 0 when left out.
    pub length_bias_percent: Option<Number<LengthError>>,
    /// How much too long distances are estimated in the mean (too short: negative); 0 when left out.
    pub distance_bias_percent: Option<Number<DistanceError>>,
    /// SD of judged distances between units, in percent; 0 when left out.
    pub distance_spread_percent: Option<Number<LengthCv>>,
    /// Share of the fish that are still there when other divers have worked before; left out: the count is first, 100.
    pub left_after_others_percent: Option<Number<Percent>>,
    /// How far fish can be seen; left out: farther than the circle reaches.
    pub visibility_m: Option<Number<Visibility>>,
    /// Point counts at a site, to compare.
    pub units: Option<Counts<Units>>,
    /// Minutes to get to the place and to settle.
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes of a count of the first dimensions; when left out those of the count.
    pub read_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}
