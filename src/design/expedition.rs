//! What an expedition has and what must come of it: days, people, boats, work under water, targets. Plain data.

use super::asked::TestSpec;
use super::sites::SiteList;
use serde::Serialize;

/// An expedition. `zones` and `methods` go with those of the study, item by item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Expedition {
    pub days: ExpeditionDays,
    pub boats: Boats,
    pub divers: Vec<DiverSpec>,
    /// Places of two divers in the list. Nobody dives alone; where one of two is not aboard the other is paired anew
    /// ([`Expedition::crew_changes`]).
    pub pairs: Vec<(usize, usize)>,
    pub standby: Standby,
    /// How sure a dive shall be finished in its minutes (0.9: in nine of ten).
    pub finish_chance: f64,
    /// SD of the minutes of a unit over their mean.
    pub minutes_spread: f64,
    pub zones: Vec<ZoneDiving>,
    pub methods: Vec<MethodWork>,
    pub targets: Vec<Target>,
    /// Whether the same marks and new places are both searched.
    pub chooses_places: bool,
    /// Whether who dives with whom was told; else the pairs are the divers as they are listed, and others may be tried.
    pub pairs_told: bool,
    /// To count cylinders; `None`: not told.
    pub gas: Option<Gas>,
    /// From the end of the last dive to a flight; `None`: not told.
    pub flight_hours: Option<f64>,
    /// Work of people before and after each visit.
    #[serde(skip_serializing_if = "DaysAshore::is_not_told")]
    pub days_ashore: DaysAshore,
    /// The real sites that may be visited, where there is a list.
    pub sites: Option<SiteList>,
    /// What things cost; `None`: not told, and nothing is said of money.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rates: Option<Rates>,
    /// What the least plan has least of.
    #[serde(skip_serializing_if = "LeastOf::is_effort")]
    pub least: LeastOf,
    /// Money there is for one visit, whose best use is asked for; `None`: not asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<f64>,
    /// The plan that is put on days.
    #[serde(skip_serializing_if = "Scheduled::is_all_targets")]
    pub schedule: Scheduled,
}

/// What a diver uses in the mean, and from what: to count cylinders, never to plan gas.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gas {
    /// At the surface.
    pub litres_a_minute: f64,
    /// Water volume of one cylinder.
    pub cylinder_litres: f64,
    pub fill_bar: f64,
    /// What is left in it, as the diving officer asks.
    pub reserve_bar: f64,
}

/// Person-days of work for one visit besides those from leaving to being back; `None`: not told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct DaysAshore {
    /// Of preparation.
    pub before: Option<f64>,
    /// Of entering data, identification and analysis, without hours ashore that the methods tell.
    pub after: Option<f64>,
}

impl DaysAshore {
    fn is_not_told(&self) -> bool {
        *self == Self::default()
    }
}

/// What things cost, in the user's own money; 0 where it is not told.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rates {
    pub currency: String,
    /// Once, whatever is done.
    pub fixed: f64,
    /// Each day from leaving to being back, whatever is done on it.
    pub per_day: f64,
    /// Each person on each of those days, and people besides the divers.
    pub per_person_day: f64,
    pub other_people: usize,
    /// Each dive of each diver: fill, consumables.
    pub per_dive: f64,
    /// Each hour ashore, for methods whose minutes ashore are told.
    pub ashore_per_hour: f64,
    /// Each person-day of work before and after.
    pub ashore_per_person_day: f64,
}

/// What the least plan has least of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LeastOf {
    /// Days, then team dives, then sites; money, where it is told, only between those alike.
    #[default]
    Effort,
    /// Money, then days, team dives and sites.
    Money,
}

impl LeastOf {
    fn is_effort(&self) -> bool {
        *self == LeastOf::Effort
    }
}

/// The plan that is put on days, with its sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scheduled {
    /// The least for all targets where its days can be booked, else the best use of the days.
    #[default]
    AllTargets,
    BestOfDays,
    BestOfMoney,
}

impl Scheduled {
    pub fn is_all_targets(&self) -> bool {
        *self == Scheduled::AllTargets
    }
}

fn is_nothing(money: &f64) -> bool {
    *money == 0.0
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExpeditionDays {
    /// From leaving to being back.
    pub all: usize,
    pub transit: usize,
    /// Check-out dives, training and calibrating observers.
    pub check_out: usize,
    /// Kept for other things.
    pub reserved: usize,
    /// Days on which nobody can dive; `None`: not told.
    pub lost: Option<LostShare>,
    /// How sure the targets shall be reached in spite of lost days.
    pub chance_wanted: f64,
    /// Whether these are what is left of an expedition: of the days under way the way home.
    #[serde(skip)]
    pub is_rest: bool,
}

impl ExpeditionDays {
    /// Days on which can be dived if none is lost.
    pub fn for_diving(&self) -> usize {
        self.all.saturating_sub(self.without_diving())
    }

    /// Days from leaving to being back on which nothing is surveyed, whatever the weather.
    pub fn without_diving(&self) -> usize {
        self.transit + self.check_out + self.reserved
    }

    /// Days under way before the first dive: half of all, rounded up (common practice, no source).
    fn out(&self) -> usize {
        if self.is_rest { 0 } else { self.transit.div_ceil(2) }
    }

    /// Days under way after the last dive.
    pub fn home(&self) -> usize {
        self.transit - self.out()
    }

    /// Days before the first for diving; those kept for other things are taken for some of them.
    pub fn before_diving(&self) -> usize {
        self.without_diving() - self.home()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LostShare {
    /// Share of the days in the long run.
    pub share: f64,
    /// Mean length of a bad spell, days; `None`: each day by itself.
    pub spell_days: Option<f64>,
}

/// Boats alike.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Boats {
    pub number: usize,
    /// Team dives a day: what each diver dives at most.
    pub dives_a_day: usize,
    /// Sites a day a boat visits at most; `None`: what fits into the day by the clock.
    pub sites_a_day: Option<usize>,
    /// Minutes of a day; needed where `sites_a_day` is not told.
    pub clock: Option<DayClock>,
}

/// Minutes of a day on the water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DayClock {
    pub day: f64,
    pub out_and_home: f64,
    pub between_sites: f64,
    /// At the surface between two dives.
    pub interval: f64,
    /// Of a dive besides its bottom time: kitting up, ascent and stop.
    pub around_a_dive: f64,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DiverSpec {
    pub name: String,
    pub skills: Vec<String>,
    /// Deepest the diver is authorised to; `None`: not told.
    pub depth_m: Option<f64>,
    /// First and last day aboard, counting the days for diving from 1; `None`: to the end.
    pub from_day: usize,
    pub to_day: Option<usize>,
}

impl DiverSpec {
    pub fn is_aboard(&self, day: usize) -> bool {
        self.from_day <= day && self.to_day.is_none_or(|last| day <= last)
    }

    /// Days from leaving to being back, with so many for diving, on which this diver is there. Who is aboard on the first
    /// day for diving has come along: half of the days under way (rounded up), and those for check-out and other things;
    /// who is aboard on the last goes back along: the other half. How others come and leave is not known, and their days
    /// under way are not counted.
    pub fn days_paid(&self, days: &ExpeditionDays, diving: usize) -> usize {
        let back = if self.is_aboard(diving.max(1)) { days.home() } else { 0 };
        self.days_so_far(days, diving) + back
    }

    /// The same up to the end of the last of so many days for diving.
    pub fn days_so_far(&self, days: &ExpeditionDays, diving: usize) -> usize {
        let aboard = (1..=diving).filter(|&day| self.is_aboard(day)).count();
        aboard + if self.from_day <= 1 { days.before_diving() } else { 0 }
    }
}

/// Who stands by at the surface while others dive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standby {
    /// People of the boat.
    Crew,
    /// One pair on each dive, in turn: it is no capacity on that dive.
    APairStaysUp,
    AsTheDivingOfficerDecides,
}

/// Diving at the sites of a zone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ZoneDiving {
    /// Deepest point of its sites.
    pub depth_m: f64,
    /// From leaving the surface to leaving the bottom.
    pub bottom_minutes: f64,
    /// Of those: descent, finding the place, going back to the line, and to spare.
    pub not_working_minutes: f64,
    /// Fewest and most sites.
    pub least_sites: usize,
    pub most_sites: usize,
    /// Strongest current that is met there; `None`: not told.
    pub current_knots: Option<f64>,
    /// Whether its exposed sites can be dived at in calm weather only.
    pub needs_calm: bool,
    /// Up to which bottom time (minutes), and to which depth (m), the diving officer has decided on dives that are longer than the
    /// limit published for a first one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub officer_decided: Option<(f64, f64)>,
    /// Minutes to move up from the deeper zone at whose places its sites lie; `None`: it has places of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moving_up_minutes: Option<f64>,
}

impl ZoneDiving {
    /// Whether the diving officer has decided on this bottom time at this depth.
    pub fn is_decided(&self) -> bool {
        self.officer_decided.is_some_and(|(minutes, depth_m)| self.bottom_minutes <= minutes && self.depth_m <= depth_m)
    }

    /// Minutes of a dive in which work is done.
    pub fn work_minutes(&self) -> f64 {
        self.bottom_minutes - self.not_working_minutes
    }
}

/// Work that comes before other work at a site.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct First {
    /// Nothing else is begun before, from the beginning of the work at the site.
    pub minutes: f64,
    pub who_waits: WhoWaits,
}

/// Who waits for work that comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhoWaits {
    /// All who dive at the site.
    All,
    /// The buddy alone: other pairs work far enough away.
    Buddy,
}

impl First {
    /// Minutes for which all wait.
    pub fn of_all(self) -> f64 {
        if self.who_waits == WhoWaits::All { self.minutes } else { 0.0 }
    }
}

/// The work of one unit of a method besides laying and reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MethodWork {
    /// To move on to the next unit and to reel in.
    pub move_minutes: f64,
    /// Once for each diver and dive in which he does any.
    pub set_up_minutes: f64,
    /// A skill it needs.
    pub skill: Option<String>,
    /// Whether it takes both divers of a pair.
    pub takes_both: bool,
    /// It comes before other work at a site.
    pub first: Option<First>,
    /// SD of the minutes of a unit, and of those to set up, over their mean.
    pub minutes_spread: f64,
    /// To mark a unit at the first visit and to find its marks at later ones, where units lie at the same marks again.
    pub mark_minutes: f64,
    pub find_minutes: f64,
    /// The method on whose line it is done, by its place: laying and reeling in are done once.
    pub on_line_of: Option<usize>,
    /// Its line stays until the work at a site is done; else it is reeled in at the end of each dive.
    pub line_stays: bool,
    /// Money for a unit afterwards, in the laboratory; 0 where it is not told.
    #[serde(skip_serializing_if = "is_nothing")]
    pub laboratory_cost: f64,
}

/// What shall come of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Target {
    pub indicator: String,
    /// Place of the method that tells it, once it is chosen; `None`: the first that reads the indicator.
    #[serde(skip)]
    pub method: Option<usize>,
    pub asks: Asks,
    /// How often its change shall be seen, where that is not what the test of the study wants.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power: Option<f64>,
    pub must: bool,
    pub weight: f64,
}

impl Target {
    /// How often its change shall be seen; `None`: it asks for no change.
    pub fn power_asked(&self, test: &TestSpec) -> Option<f64> {
        matches!(self.asks, Asks::SeeChange(_)).then(|| self.power.unwrap_or(test.seen))
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    /// The how-manieth change of the study is seen as often as is asked ([`Target::power_asked`]).
    SeeChange(usize),
    /// Half-width of the interval of what is estimated, in the indicator's own unit (covers: shares).
    HalfWidth(f64),
    /// Standard error of the mean of one visit over that mean.
    Cv(f64),
}
