use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// One end of an allowed range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bound {
    /// The end itself is not allowed.
    Beyond(f64),
    /// The end itself is allowed.
    From(f64),
}

/// What a number may be, for the reader, for the message and for the JSON Schema alike.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Name of the type in the JSON Schema.
    pub name: &'static str,
    /// "a percentage", "a length in metres".
    pub what: &'static str,
    pub low: Bound,
    pub high: Bound,
}

impl Rule {
    /// NaN is never allowed.
    pub fn allows(&self, value: f64) -> bool {
        let above = match self.low {
            Bound::Beyond(low) => value > low,
            Bound::From(low) => value >= low,
        };
        let below = match self.high {
            Bound::Beyond(high) => value < high,
            Bound::From(high) => value <= high,
        };
        above && below
    }

    /// "above 0 and below 100".
    pub fn range(&self) -> String {
        let low = match self.low {
            Bound::Beyond(low) => format!("above {low}"),
            Bound::From(low) => format!("at least {low}"),
        };
        let high = match self.high {
            Bound::Beyond(high) => format!("below {high}"),
            Bound::From(high) => format!("at most {high}"),
        };
        format!("{low} and {high}")
    }
}

/// A kind of number in a scenario.
pub trait Kind {
    const RULE: Rule;
}

/// A number that has passed the rule of its kind.
pub struct Number<K> {
    value: f64,
    kind: PhantomData<K>,
}

impl<K: Kind> Number<K> {
    /// The number as it stands in the file (percent, points, metres ...).
    pub fn get(&self) -> f64 {
        self.value
    }
}

impl<K: Kind> TryFrom<f64> for Number<K> {
    type Error = String;

    fn try_from(value: f64) -> Result<Self, String> {
        if K::RULE.allows(value) {
            return Ok(Number { value, kind: PhantomData });
        }
        Err(format!("{value} is out of range; {} must be {}", K::RULE.what, K::RULE.range()))
    }
}

impl<K> Clone for Number<K> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<K> Copy for Number<K> {}

impl<K> fmt::Debug for Number<K> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}", self.value)
    }
}

impl<'de, K: Kind> Deserialize<'de> for Number<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NumberVisitor(PhantomData))
    }
}

struct NumberVisitor<K>(PhantomData<K>);

impl<K: Kind> Visitor<'_> for NumberVisitor<K> {
    type Value = Number<K>;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} as one number, {}", K::RULE.what, K::RULE.range())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Self::Value, E> {
        Number::try_from(value).map_err(E::custom)
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Self::Value, E> {
        let remedy = "write a plain number, without quotes and without a unit or a % sign";
        Err(E::custom(format!("\"{text}\" is text where {} is expected; {remedy}", K::RULE.what)))
    }
}

impl<K: Kind> JsonSchema for Number<K> {
    fn schema_name() -> Cow<'static, str> {
        K::RULE.name.into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let (low_key, low) = match K::RULE.low {
            Bound::Beyond(low) => ("exclusiveMinimum", low),
            Bound::From(low) => ("minimum", low),
        };
        let (high_key, high) = match K::RULE.high {
            Bound::Beyond(high) => ("exclusiveMaximum", high),
            Bound::From(high) => ("maximum", high),
        };
        json_schema!({ "type": "number", "description": K::RULE.what, low_key: low, high_key: high })
    }
}

/// Names the kinds of number of a scenario with their ranges, one a line.
macro_rules! kinds {
    ($($kind:ident: $what:literal, $low:expr, $high:expr;)*) => {$(
        #[doc = $what]
        #[derive(Clone, Copy, Debug)]
        pub struct $kind;
        impl Kind for $kind {
            const RULE: Rule = Rule { name: stringify!($kind), what: $what, low: $low, high: $high };
        }
    )*};
}

use Bound::{Beyond, From};

kinds! {
    Cover: "a cover in percent of the bottom", Beyond(0.0), Beyond(100.0);
    Points: "a spread (SD) in points of cover", From(0.0), Beyond(50.0);
    Percent: "a percentage", From(0.0), From(100.0);
    Bias: "a bias in percent of what is there", Beyond(-100.0), From(100.0);
    Share: "a share", From(0.0), From(1.0);
    Weight: "a weight (weights of all zones sum to 1, so that 50 % is 0.5)", Beyond(0.0), From(1.0);
    Correlation: "a correlation", From(0.0), From(1.0);
    Alpha: "a false-alarm rate", From(0.001), From(0.5);
    Seen: "how often the change shall be seen (a share)", From(0.5), From(0.99);
    Plus: "what is added before a scale, in the unit of the indicator", Beyond(0.0), From(100_000.0);
    Years: "a number of years", Beyond(0.0), From(100.0);
    SiteLength: "the length of a site in metres", From(2.0), From(2000.0);
    SiteWidth: "the width of a site in metres", From(1.0), From(2000.0);
    LineLength: "a length in metres", From(1.0), From(500.0);
    Spacing: "a spacing of points in metres", From(0.01), From(100.0);
    BeltWidth: "the width of a belt in metres", From(0.05), From(50.0);
    FrameSide: "a side of a photograph in metres", From(0.05), From(5.0);
    Diameter: "a diameter of colonies in metres", From(0.01), From(5.0);
    LargestDiameter: "the largest diameter of colonies in metres", From(0.02), From(10.0);
    LnSd: "an SD of natural logarithms", From(0.0), From(2.0);
    DiameterLnSd: "the SD of ln diameter", From(0.05), From(1.5);
    PatchScale: "the scale of patches in metres", From(0.05), From(100.0);
    AlongScale: "the scale along the reef in metres", From(5.0), From(5000.0);
    Centimetres: "a size of colonies in centimetres", From(0.1), From(1000.0);
    Slope: "how fast the log odds of being seen rise with ln diameter", From(0.1), From(50.0);
    PartlyDead: "a share of colonies, or of a colony, in percent", Beyond(0.0), Beyond(100.0);
    RisePerDoubling: "how much log odds rise with every doubling of the diameter", From(-3.0), From(3.0);
    Growth: "growth across in centimetres a year", From(0.05), From(50.0);
    Density: "a density in animals per 100 m2", Beyond(0.0), From(100_000.0);
    RecruitDensity: "a density in recruits per m2 of free hard bottom", Beyond(0.0), From(1000.0);
    QuadratSide: "the side of a quadrat in centimetres", From(5.0), From(500.0);
    QuadratSpacing: "a distance from quadrat to quadrat in metres", From(0.05), From(100.0);
    RelativeSpread: "a spread (SD) in percent of the mean density", From(0.0), From(500.0);
    GroupSize: "a mean number of animals in a group", From(0.1), From(10_000.0);
    GroupSpread: "the spread of a group in metres", From(0.01), From(20.0);
    AnimalPatchScale: "the scale of patches of animals in metres", From(1.0), From(1000.0);
    PatchK: "the k of patches of animals", From(0.02), From(1000.0);
    Hidden: "the share of animals that is not seen, in percent", From(0.0), Beyond(100.0);
    Commercial: "the share of animals of commercial size, in percent", Beyond(0.0), From(100.0);
    PixelSide: "the side of a pixel in centimetres", Beyond(0.0), From(500.0);
    MetresPerUnit: "metres in a unit of the list", Beyond(0.0), From(10_000.0);
    FishDensity: "a density in fish per 100 m2", Beyond(0.0), From(1_000_000.0);
    BiomassPerHa: "a biomass in kg per ha", Beyond(0.0), From(1_000_000.0);
    CoralExponent: "the power of coral cover that fish go with", From(-3.0), From(3.0);
    SchoolSize: "the size of a school", From(1.0), From(100_000.0);
    SchoolSpread: "the spread of a school in metres", From(0.0), From(100.0);
    FishLength: "a total length in centimetres", From(0.5), From(500.0);
    LengthCv: "a spread (SD) in percent", From(0.0), From(150.0);
    WeightA: "the a of weight = a length^b (g, cm)", Beyond(0.0), From(1.0);
    WeightB: "the b of weight = a length^b", From(2.0), From(4.0);
    SwimSpeed: "a speed in metres a second", From(0.0), From(10.0);
    TurnSeconds: "seconds from turn to turn", From(0.1), From(36_000.0);
    HomeRange: "the radius of a range in metres", From(0.1), From(1000.0);
    SightScale: "the scale in metres over which fish are seen less", From(0.05), From(100.0);
    Reaction: "the share of fish that leave (or, negative, come), in percent", From(-100.0), From(100.0);
    ReactionScale: "the scale in metres over which fish react", From(0.05), From(50.0);
    SwimMinutes: "the minutes of a swim along a belt", From(0.1), From(240.0);
    BackMinutes: "the minutes of the way back along a belt", From(0.1), From(240.0);
    CountMinutes: "the minutes of a point count", From(0.1), From(240.0);
    CountRadius: "the radius of a point count in metres", From(0.5), From(50.0);
    WindowDepth: "the depth of a moving window in metres", From(0.1), From(50.0);
    ClassWidth: "the width of classes of length in centimetres", From(0.1), From(100.0);
    LengthError: "the error of lengths in percent", From(-80.0), From(200.0);
    DistanceError: "the error of distances in percent", From(-60.0), From(200.0);
    Visibility: "how far fish can be seen in metres", From(0.5), From(100.0);
    Gap: "a least gap between lines in metres", From(0.1), From(100.0);
    OddsRatio: "a ratio of odds", From(0.05), From(20.0);
    PartHit: "the share of the bottom that is hit, in percent", Beyond(0.0), Beyond(100.0);
    StormScale: "the scale of the patches that are hit in metres", From(2.0), From(500.0);
    Relay: "a distance between two tapes (SD, metres)", From(0.0), From(10.0);
    Minutes: "minutes", From(0.0), From(600.0);
    MinutesOfDive: "the minutes of work of one diver on a dive", Beyond(0.0), From(600.0);
    LostDays: "the share of days on which nobody can dive, in percent", From(0.0), From(90.0);
    SpellDays: "the mean length of a bad spell in days", From(1.0), From(60.0);
    Chance: "a chance (a share)", From(0.5), From(0.99);
    DayLength: "the minutes of a day on the water", From(60.0), From(1440.0);
    SurfaceInterval: "minutes at the surface between two dives (under 10 they count as one dive)", From(10.0), From(720.0);
    MinutesSpread: "a spread (SD) of minutes in percent of their mean", From(0.0), From(100.0);
    SiteDepth: "the depth of a zone in metres (no published no-stop limit is known here for deeper ones)", Beyond(0.0), From(57.9);
    GasUse: "what a diver uses in the mean, litres a minute at the surface", From(5.0), From(100.0);
    CylinderLitres: "the water volume of a cylinder in litres", From(1.0), From(50.0);
    Bar: "the pressure in a cylinder in bar", From(1.0), From(350.0);
    FlightHours: "hours from the last dive to a flight", From(0.0), From(720.0);
    Knots: "a current in knots", From(0.0), From(10.0);
    Latitude: "a latitude in decimal degrees (south is negative)", From(-90.0), From(90.0);
    Longitude: "a longitude in decimal degrees (west is negative)", From(-180.0), From(180.0);
    DiverDepth: "a depth in metres to which a diver is authorised", Beyond(0.0), From(150.0);
    BottomMinutes: "a bottom time in minutes", From(5.0), From(240.0);
    HalfWidth: "a half-width in the unit of the indicator", Beyond(0.0), From(1e12);
    HalfWidthPoints: "a half-width in points of cover", Beyond(0.0), Beyond(50.0);
    CvPercent: "a standard error in percent of the mean", Beyond(0.0), From(200.0);
    Money: "an amount of money", From(0.0), From(1e9);
    PersonDays: "a number of person-days", From(0.0), From(10_000.0);
    TargetWeight: "the weight of a target", Beyond(0.0), From(1000.0);
    Value: "a value in the unit of the indicator", From(-1e12), From(1e12);
    Spread: "a spread (SD) on the scale of analysis", From(0.0), From(1e12);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_number_is_never_allowed() {
        assert!(Number::<Cover>::try_from(f64::NAN).is_err());
        assert!(Number::<Share>::try_from(f64::INFINITY).is_err());
        assert!(Number::<Share>::try_from(1.0).is_ok() && Number::<Share>::try_from(0.0).is_ok());
        assert!(Number::<Cover>::try_from(0.0).is_err() && Number::<Cover>::try_from(100.0).is_err());
    }

    #[test]
    fn a_refused_number_tells_its_range() {
        let message = Number::<Seen>::try_from(1.2).unwrap_err();
        assert_eq!(
            message,
            "1.2 is out of range; how often the change shall be seen (a share) must be at least 0.5 and at most 0.99"
        );
    }
}
