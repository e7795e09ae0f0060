use crate::design::{LeastOf, Scheduled, Standby, WhoWaits};
use crate::scenario::count::{
    BoatsAlike, Count, DayAboard, Days, DaysOff, DivesADay, FewestSites, OtherPeople, Place, Sites, SitesADay,
    UnitsDone,
};
use crate::scenario::defaults;
use crate::scenario::number::{
    Bar, BottomMinutes, Chance, CvPercent, CylinderLitres, DayLength, DiverDepth, FlightHours, GasUse, HalfWidth,
    HalfWidthPoints, Knots, LostDays, Minutes, MinutesOfDive, MinutesSpread, Money, Number, PersonDays, Seen,
    SiteDepth, SpellDays, SurfaceInterval, TargetWeight,
};
use crate::scenario::source::Source;
use crate::scenario::word::{Priority, TakesWord, Word};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde::de::{Deserializer, Error};
use std::borrow::Cow;

/// Days, people, boats and dives. For a budget of effort, which is no dive plan: the diving officer, the rules of the place
/// and licensed practice decide every dive.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExpeditionTable {
    /// Days from leaving to being back.
    pub days: Count<Days>,
    /// Of those: under way; 0 when left out.
    pub transit_days: Option<Count<DaysOff>>,
    /// Of those: check-out dives, training, calibrating observers; 0 when left out.
    pub check_out_days: Option<Count<DaysOff>>,
    /// Of those: kept for other things; 0 when left out.
    pub reserved_days: Option<Count<DaysOff>>,
    /// Share of the days left on which nobody can dive, in the long run; left out: not told, and no day counts as lost.
    pub lost_days_percent: Option<Number<LostDays>>,
    /// Mean length of a bad spell; left out: each day by itself, whatever the day before was.
    pub bad_spell_days: Option<Number<SpellDays>>,
    /// How sure the targets shall be reached in spite of lost days; 0.9 when left out.
    pub chance_wanted: Option<Number<Chance>>,
    /// Boats, all alike, each with its pairs; 1 when left out.
    pub boats: Option<Count<BoatsAlike>>,
    /// Dives that each diver makes a day at most. Must be written.
    pub dives_a_day: Count<DivesADay>,
    /// Sites that a boat visits a day at most; needed where the minutes of a day are not told.
    pub sites_a_day: Option<Count<SitesADay>>,
    /// Minutes from leaving to being back; the five keys of the day's minutes are written all or none.
    pub day_minutes: Option<Number<DayLength>>,
    /// Minutes out to the first site and home from the last, together.
    pub out_and_home_minutes: Option<Number<Minutes>>,
    /// Minutes from one site to the next.
    pub between_sites_minutes: Option<Number<Minutes>>,
    /// Minutes at the surface between two dives, as the diving officer asks.
    pub surface_interval_minutes: Option<Number<SurfaceInterval>>,
    /// Minutes of a dive besides its bottom time: kitting up, ascent and stop.
    pub around_a_dive_minutes: Option<Number<Minutes>>,
    /// Names two by two; left out: whichever of all pairings plans best, where it matters. Nobody dives alone.
    pub pairs: Option<Vec<NamesOfPair>>,
    /// Who stands by at the surface. Must be written.
    pub standby: Word<Standby>,
    /// How sure a dive shall be finished in its minutes; 0.9 when left out.
    pub finish_chance: Option<Number<Chance>>,
    /// SD of the minutes that a unit takes, in percent of their mean, for methods that do not tell their own; 25 when left
    /// out (a guess).
    pub minutes_spread_percent: Option<Number<MinutesSpread>>,
    /// Whether the same marks and new places at the second visit are both searched; false (the places of `[visits]`) when left
    /// out.
    pub choose_places: Option<bool>,
    /// What divers use in the mean, to count cylinders; left out: none are counted.
    pub gas: Option<GasTable>,
    /// Hours from the end of the last dive to a flight; left out: not told.
    pub flight_hours_after_last_dive: Option<Number<FlightHours>>,
    /// Person-days of preparation for one visit, besides those on board; left out: not told.
    pub person_days_before: Option<Number<PersonDays>>,
    /// Person-days of entering data, identification and analysis after one visit, besides hours ashore that the methods tell;
    /// left out: not told.
    pub person_days_after: Option<Number<PersonDays>>,
    /// A CSV of the real sites that may be visited, beside the scenario or from its folder; left out: sites have numbers
    /// only.
    pub candidate_sites: Option<String>,
    /// What things cost; left out: nothing is said of money.
    pub rates: Option<RatesTable>,
    /// What the least plan has least of: `effort` (days, team dives, sites; left out) or `money`, which needs rates.
    pub least: Option<Word<LeastOf>>,
    /// Money there is for one visit, in the currency of the rates: its best use is told too. Left out: not asked.
    pub money: Option<Number<Money>>,
    /// The plan that is put on days: `all_targets` (left out: the least for all targets where its days can be booked, else the
    /// best use of the days), `best_of_days`, or `best_of_money`, which needs `money`.
    pub schedule: Option<Word<Scheduled>>,
    pub source: Option<Source>,
}

/// What things cost, of which at least one is written (or a `laboratory_cost` in the work of a method); what is left out
/// costs nothing here.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RatesTable {
    /// What the amounts are in, a word of your own. Must be written.
    pub currency: String,
    /// Once, whatever is done.
    pub fixed: Option<Number<Money>>,
    /// Each day from leaving to being back: days under way and of bad weather cost the same.
    pub per_day: Option<Number<Money>>,
    /// Each person on each of those days; the people are the divers and `other_people`.
    pub per_person_day: Option<Number<Money>>,
    /// People besides the divers who are paid for; 0 when left out.
    pub other_people: Option<Count<OtherPeople>>,
    /// Each dive of each diver: fill, consumables.
    pub per_dive: Option<Number<Money>>,
    /// Each hour ashore, for methods with minutes ashore.
    pub ashore_per_hour: Option<Number<Money>>,
    /// Each person-day of `person_days_before` and `person_days_after`.
    pub ashore_per_person_day: Option<Number<Money>>,
    pub source: Option<Source>,
}

/// What a diver uses in the mean and from what, all four or none; an average to count cylinders, no plan of gas.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GasTable {
    /// Litres a minute at the surface.
    pub litres_a_minute: Number<GasUse>,
    /// Water volume of a cylinder.
    pub cylinder_litres: Number<CylinderLitres>,
    pub fill_bar: Number<Bar>,
    /// What is left in it at the end of a dive, as the diving officer asks.
    pub reserve_bar: Number<Bar>,
}

/// A diver of the expedition.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DiverTable {
    pub name: String,
    /// What the diver can do that not everybody can; any words, the same as in the work of a method.
    #[serde(default)]
    pub skills: Vec<String>,
    /// Deepest the diver is authorised to; left out: not told.
    pub depth_m: Option<Number<DiverDepth>>,
    /// First day aboard, counting the days for diving from 1; 1 when left out.
    pub from_day: Option<Count<DayAboard>>,
    /// Last day aboard; left out: to the end.
    pub to_day: Option<Count<DayAboard>>,
}

/// Diving at the sites of a zone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DiveTable {
    /// Deepest point of its sites. Must be written.
    pub depth_m: Number<SiteDepth>,
    /// From leaving the surface to leaving the bottom, as the diving officer allows. Must be written.
    pub bottom_minutes: Number<BottomMinutes>,
    /// Of those: descent; 2 when left out.
    pub descent_minutes: Option<Number<Minutes>>,
    /// Of those: finding the place, sorting kit; 4 when left out.
    pub arrival_minutes: Option<Number<Minutes>>,
    /// Of those: going back to the line; 3 when left out.
    pub return_minutes: Option<Number<Minutes>>,
    /// Of those: kept to spare; 3 when left out.
    pub spare_minutes: Option<Number<Minutes>>,
    /// Minutes of work, instead of the four before.
    pub work_minutes: Option<Number<Minutes>>,
    /// Minutes to move up from the deeper zone at whose places its sites lie, on a dive that serves both. Must be written with
    /// `same_places_as`.
    pub moving_up_minutes: Option<Number<Minutes>>,
    /// Fewest sites; 3 when left out.
    pub least_sites: Option<Count<FewestSites>>,
    /// Most sites; when left out those that exist, else 30; never more than a list of candidate sites has.
    pub most_sites: Option<Count<Sites>>,
    /// Strongest current that is met there, knots; left out: not told.
    pub current_knots: Option<Number<Knots>>,
    /// Its exposed sites can be dived at in calm weather only; false when left out.
    pub needs_calm: Option<bool>,
    /// The diving officer has decided on a bottom time that is longer than the limit published for a first dive (`check` says
    /// where it is): up to how many minutes, and to which depth; without that no schedule and no sheets are made.
    pub diving_officer_decided: Option<OfficerTable>,
    pub source: Option<Source>,
}

/// The work of one unit besides laying and reading.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkTable {
    /// Minutes to reel in and move on to the next unit; 1 when left out.
    pub move_minutes: Option<Number<Minutes>>,
    /// Minutes once for each diver and dive in which he does any; 2 when left out.
    pub set_up_minutes: Option<Number<Minutes>>,
    /// A skill it needs, one of those of the divers.
    pub skill: Option<String>,
    /// Whether a unit takes `one` diver of a pair (left out) or `both`.
    pub takes: Option<Word<TakesWord>>,
    /// It comes before other work at a site, as fish are counted; false when left out.
    pub first: Option<bool>,
    /// How long the others wait before other work at the site; needed with `first = true`.
    pub others_wait_minutes: Option<Number<Minutes>>,
    /// Who waits: `all` who dive at the site (left out), or the `buddy` alone, where other pairs work far enough away.
    pub who_waits: Option<Word<WhoWaits>>,
    /// SD of the minutes of a unit (and to set up), in percent of their mean; that of the expedition when left out.
    pub minutes_spread_percent: Option<Number<MinutesSpread>>,
    /// How many one diver did on a dive last time, instead of `read_minutes`.
    pub done_last_time: Option<DoneTable>,
    /// Minutes to set the marks of a unit at the first visit, with `places = "same_marks"`; 4 when left out (a guess).
    pub mark_minutes: Option<Number<Minutes>>,
    /// Minutes to find the marks of a unit at later visits, with `places = "same_marks"`; 2 when left out (a guess).
    pub find_minutes: Option<Number<Minutes>>,
    /// The method on whose laid line it is done: its name, or the indicator of an `other`.
    pub on_line_of: Option<String>,
    /// Its lines stay until the work at a site is done, for all who work on them; false when left out: each pair reels
    /// its own in at the end of a dive.
    pub line_stays: Option<bool>,
    /// Money for each unit afterwards, in the laboratory, in the currency of `[expedition.rates]`; 0 when left out.
    pub laboratory_cost: Option<Number<Money>>,
    pub source: Option<Source>,
}

impl WorkTable {
    /// Minutes to reel in and move on where they are not told: on a line that another method lays there is nothing to reel
    /// in.
    pub fn usual_move_minutes(&self) -> f64 {
        if self.on_line_of.is_some() { 0.0 } else { defaults::MOVE_MINUTES }
    }
}

/// What was done last time by one diver on one dive.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DoneTable {
    /// Units.
    pub units: Count<UnitsDone>,
    /// Minutes of work in all: setting up, laying, reading and moving on.
    pub minutes: Number<MinutesOfDive>,
}

/// What shall come of it: one of `see`, `half_width_points`, `half_width`, `cv_percent` for an indicator.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TargetTable {
    pub indicator: String,
    /// Its `[[change]]` is seen as often as the test wants.
    pub see: Option<bool>,
    /// How often it shall be seen; as often as `seen` in `[test]` says when left out. Only with `see = true`.
    pub power: Option<Number<Seen>>,
    /// Which of the changes of this indicator, counting from 1; needed where there are several.
    pub change: Option<Count<Place>>,
    /// Half-width of the interval of what is estimated, in points of cover.
    pub half_width_points: Option<Number<HalfWidthPoints>>,
    /// The same for what is not a share, in the unit of the indicator (of fish: of what is there, not of what is written).
    pub half_width: Option<Number<HalfWidth>>,
    /// Standard error of the mean of one visit, in percent of that mean.
    pub cv_percent: Option<Number<CvPercent>>,
    /// `must`, or `should` (left out).
    pub priority: Option<Word<Priority>>,
    /// Weight among the others; 1 when left out.
    pub weight: Option<Number<TargetWeight>>,
}

/// Two names. A group of three and a diver alone cannot be written.
#[derive(Clone, Debug, PartialEq)]
pub struct NamesOfPair(pub [String; 2]);

impl<'de> Deserialize<'de> for NamesOfPair {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let names = Vec::<String>::deserialize(deserializer)?;
        <[String; 2]>::try_from(names).map(NamesOfPair).map_err(|names| {
            D::Error::custom(format!(
                "{} in a group; a pair is two divers, [\"Ana\", \"Eli\"]: nobody dives alone, and three together are not \
                 planned",
                names.len()
            ))
        })
    }
}

impl JsonSchema for NamesOfPair {
    fn schema_name() -> Cow<'static, str> {
        "NamesOfPair".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": { "type": "string" }, "minItems": 2, "maxItems": 2 })
    }
}

/// What the diving officer has decided on.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OfficerTable {
    /// Bottom time, minutes.
    pub minutes: Number<BottomMinutes>,
    pub depth_m: Number<SiteDepth>,
}
