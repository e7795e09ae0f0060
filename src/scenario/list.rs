use super::number::{Kind, Number};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// One number or a rising list of numbers, all of one kind.
#[derive(Clone, Debug)]
pub struct Numbers<K> {
    values: Vec<f64>,
    kind: PhantomData<K>,
}

impl<K: Kind> Numbers<K> {
    pub fn get(&self) -> &[f64] {
        &self.values
    }
}

impl<'de, K: Kind> Deserialize<'de> for Numbers<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let values = deserializer.deserialize_any(NumbersVisitor::<K>(PhantomData))?;
        Ok(Numbers { values, kind: PhantomData })
    }
}

struct NumbersVisitor<K>(PhantomData<K>);

impl<'de, K: Kind> Visitor<'de> for NumbersVisitor<K> {
    type Value = Vec<f64>;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}, or a rising list of them such as [1, 2], each {}", K::RULE.what, K::RULE.range())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Self::Value, E> {
        Number::<K>::try_from(value).map(|number| vec![number.get()]).map_err(E::custom)
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }

    fn visit_seq<S: SeqAccess<'de>>(self, mut items: S) -> Result<Self::Value, S::Error> {
        let mut values = Vec::new();
        while let Some(number) = items.next_element::<Number<K>>()? {
            values.push(number.get());
        }
        check_rising(&values).map_err(S::Error::custom)?;
        Ok(values)
    }
}

impl<K: Kind> JsonSchema for Numbers<K> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}OrList", K::RULE.name).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<Number<K>>();
        json_schema!({ "anyOf": [one, { "type": "array", "items": one, "minItems": 1, "uniqueItems": true }] })
    }
}

/// Refuses an empty list and one that does not rise.
pub fn check_rising<T: PartialOrd + fmt::Display>(values: &[T]) -> Result<(), String> {
    if values.is_empty() {
        return Err("the list is empty; write at least one number".to_owned());
    }
    match values.windows(2).find(|pair| !(pair[0] < pair[1])) {
        Some(pair) => {
            Err(format!("the list does not rise: {} stands before {}; sort them, each number once", pair[0], pair[1]))
        }
        None => Ok(()),
    }
}
