use super::list::check_rising;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// What is counted, and between which numbers.
pub trait CountKind {
    const NAME: &'static str;
    const WHAT: &'static str;
    const LOW: usize;
    const HIGH: usize;
}

/// One whole number.
#[derive(Clone, Copy, Debug)]
pub struct Count<K> {
    value: usize,
    kind: PhantomData<K>,
}

impl<K: CountKind> Count<K> {
    pub fn get(&self) -> usize {
        self.value
    }
}

impl<'de, K: CountKind> Deserialize<'de> for Count<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = deserializer.deserialize_any(CountVisitor::<K>(PhantomData))?;
        Ok(Count { value, kind: PhantomData })
    }
}

struct CountVisitor<K>(PhantomData<K>);

impl<K: CountKind> Visitor<'_> for CountVisitor<K> {
    type Value = usize;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}, {}", K::WHAT, range::<K>())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Self::Value, E> {
        checked::<K, E>(value)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Self::Value, E> {
        checked::<K, E>(i64::try_from(value).unwrap_or(i64::MAX))
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Self::Value, E> {
        Err(not_whole::<K, E>(value))
    }
}

impl<K: CountKind> JsonSchema for Count<K> {
    fn schema_name() -> Cow<'static, str> {
        K::NAME.into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "integer", "description": K::WHAT, "minimum": K::LOW, "maximum": K::HIGH })
    }
}

/// A whole number, a rising list of them, or a range written "1..12" (both ends included).
#[derive(Clone, Debug)]
pub struct Counts<K> {
    values: Vec<usize>,
    kind: PhantomData<K>,
}

impl<K: CountKind> Counts<K> {
    pub fn get(&self) -> &[usize] {
        &self.values
    }
}

impl<'de, K: CountKind> Deserialize<'de> for Counts<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let values = deserializer.deserialize_any(CountsVisitor::<K>(PhantomData))?;
        Ok(Counts { values, kind: PhantomData })
    }
}

struct CountsVisitor<K>(PhantomData<K>);

fn checked<K: CountKind, E: Error>(value: i64) -> Result<usize, E> {
    let count = usize::try_from(value).ok().filter(|count| K::LOW <= *count && *count <= K::HIGH);
    count.ok_or_else(|| E::custom(format!("{value} is out of range; {} must be {}", K::WHAT, range::<K>())))
}

fn not_whole<K: CountKind, E: Error>(value: f64) -> E {
    E::custom(format!("{value} is not a whole number; {} must be {}", K::WHAT, range::<K>()))
}

fn range<K: CountKind>() -> String {
    format!("a whole number from {} to {}", K::LOW, K::HIGH)
}

impl<'de, K: CountKind> Visitor<'de> for CountsVisitor<K> {
    type Value = Vec<usize>;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} ({}), a rising list of them, or a range such as \"3..12\"", K::WHAT, range::<K>())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Self::Value, E> {
        Ok(vec![checked::<K, E>(value)?])
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_i64(i64::try_from(value).unwrap_or(i64::MAX))
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Self::Value, E> {
        Err(not_whole::<K, E>(value))
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Self::Value, E> {
        let ends = text.split_once("..").and_then(|(low, high)| {
            let low = low.trim().parse::<i64>().ok()?;
            Some((low, high.trim().parse::<i64>().ok()?))
        });
        let Some((low, high)) = ends else {
            let message = "is neither a number nor a range; write 6, [3, 6, 12] or \"3..12\"";
            return Err(E::custom(format!("\"{text}\" {message}")));
        };
        let (low, high) = (checked::<K, E>(low)?, checked::<K, E>(high)?);
        if low > high {
            return Err(E::custom(format!("the range \"{text}\" runs backwards; write the smaller number first")));
        }
        Ok((low..=high).collect())
    }

    fn visit_seq<S: SeqAccess<'de>>(self, mut items: S) -> Result<Self::Value, S::Error> {
        let mut values = Vec::new();
        while let Some(value) = items.next_element::<i64>()? {
            values.push(checked::<K, S::Error>(value)?);
        }
        check_rising(&values).map_err(S::Error::custom)?;
        Ok(values)
    }
}

impl<K: CountKind> JsonSchema for Counts<K> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}List", K::NAME).into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let one = json_schema!({ "type": "integer", "minimum": K::LOW, "maximum": K::HIGH });
        json_schema!({
            "description": K::WHAT,
            "anyOf": [
                one,
                { "type": "array", "items": one, "minItems": 1, "uniqueItems": true },
                { "type": "string", "pattern": "^ *[0-9]+ *[.][.] *[0-9]+ *$" }
            ]
        })
    }
}

/// Names the kinds of count of a scenario with their ranges, one a line.
macro_rules! counts {
    ($($kind:ident: $what:literal, $low:literal, $high:literal;)*) => {$(
        #[doc = $what]
        #[derive(Clone, Copy, Debug)]
        pub struct $kind;
        impl CountKind for $kind {
            const NAME: &'static str = stringify!($kind);
            const WHAT: &'static str = $what;
            const LOW: usize = $low;
            const HIGH: usize = $high;
        }
    )*};
}

counts! {
    Units: "a number of units (lines, belts) at a site", 1, 200;
    Sites: "a number of sites", 1, 1000;
    PhotoPoints: "a number of points on the photographs of a belt", 1, 10_000;
    FramePoints: "a number of points on a photograph", 1, 1_000;
    Frames: "a number of photographs along a tape", 1, 500;
    LinePoints: "a number of points on a line", 1, 10_000;
    Existing: "the number of sites that exist", 1, 100_000;
    People: "a number of observers", 1, 100;
    VisitNumber: "a number of visits", 1, 100;
    Days: "a number of days", 1, 366;
    DaysOff: "a number of days without a survey dive", 0, 365;
    BoatsAlike: "a number of boats, all alike (unlike boats are planned each by itself, with its own pairs, in a file of its own)", 1, 20;
    DayAboard: "a day for diving, counted from 1", 1, 366;
    OtherPeople: "a number of people besides the divers", 0, 1000;
    UnitsDone: "a number of units done by one diver on a dive", 1, 1000;
    DivesADay: "a number of dives a day", 1, 6;
    SitesADay: "a number of sites a day", 1, 20;
    FewestSites: "a fewest number of sites", 2, 1000;
    Place: "a place in the list of changes of an indicator", 1, 1000;
    TestSides: "the sides of the test", 1, 2;
}
