//! Quantities as files write them: seconds or `mm:ss`, and metres.

use std::fmt;

use serde::de::{Deserializer, Error, Unexpected, Visitor};
use serde::{Deserialize, Serialize, Serializer};

use crate::units::{Dur, Mm};

/// The longest time a file may hold.
const LONGEST_S: f64 = (Dur::LONGEST.0 / 1000) as f64;
/// The farthest position a file may hold, in metres either way.
const FARTHEST_M: f64 = 1000.0;

/// A length of time: seconds as a number, or text such as `4:30`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Seconds(pub Dur);

/// A position or height in metres, kept as whole millimetres.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Metres(pub Mm);

impl<'de> Deserialize<'de> for Seconds {
    fn deserialize<D: Deserializer<'de>>(de: D) -> Result<Self, D::Error> {
        de.deserialize_any(SecondsVisitor)
    }
}

impl Serialize for Seconds {
    fn serialize<S: Serializer>(&self, ser: S) -> Result<S::Ok, S::Error> {
        ser.serialize_f64(self.0.as_secs_f64())
    }
}

#[derive(Clone, Copy)]
struct SecondsVisitor;

impl Visitor<'_> for SecondsVisitor {
    type Value = Seconds;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("seconds from 0 to 604800 (a week), or text such as \"4:30\"")
    }
    fn visit_f64<E: Error>(self, s: f64) -> Result<Seconds, E> {
        if (0.0..=LONGEST_S).contains(&s) {
            Ok(Seconds(Dur::from_secs_f64(s)))
        } else {
            Err(E::invalid_value(Unexpected::Float(s), &self))
        }
    }
    fn visit_u64<E: Error>(self, s: u64) -> Result<Seconds, E> {
        self.visit_f64(s as f64).map_err(|_: E| E::invalid_value(Unexpected::Unsigned(s), &self))
    }
    fn visit_i64<E: Error>(self, s: i64) -> Result<Seconds, E> {
        self.visit_f64(s as f64).map_err(|_: E| E::invalid_value(Unexpected::Signed(s), &self))
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<Seconds, E> {
        Dur::parse(text)
            .filter(|d| d.as_secs_f64() <= LONGEST_S)
            .map(Seconds)
            .ok_or_else(|| E::invalid_value(Unexpected::Str(text), &self))
    }
}

impl<'de> Deserialize<'de> for Metres {
    fn deserialize<D: Deserializer<'de>>(de: D) -> Result<Self, D::Error> {
        de.deserialize_any(MetresVisitor)
    }
}

#[derive(Clone, Copy)]
struct MetresVisitor;

impl Visitor<'_> for MetresVisitor {
    type Value = Metres;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("metres from -1000 to 1000")
    }
    fn visit_f64<E: Error>(self, m: f64) -> Result<Metres, E> {
        if (-FARTHEST_M..=FARTHEST_M).contains(&m) {
            Ok(Metres(Mm((m * 1000.0).round() as i64)))
        } else {
            Err(E::invalid_value(Unexpected::Float(m), &self))
        }
    }
    fn visit_u64<E: Error>(self, m: u64) -> Result<Metres, E> {
        self.visit_f64(m as f64).map_err(|_: E| E::invalid_value(Unexpected::Unsigned(m), &self))
    }
    fn visit_i64<E: Error>(self, m: i64) -> Result<Metres, E> {
        self.visit_f64(m as f64).map_err(|_: E| E::invalid_value(Unexpected::Signed(m), &self))
    }
}

#[cfg(test)]
mod schema {
    use std::borrow::Cow;

    use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

    use super::{FARTHEST_M, LONGEST_S, Metres, Seconds};

    impl JsonSchema for Seconds {
        fn schema_name() -> Cow<'static, str> {
            "Seconds".into()
        }
        fn json_schema(_: &mut SchemaGenerator) -> Schema {
            json_schema!({
                "description": "A length of time: seconds (decimals allowed), or text such as \"4:30\" or \"1:02:30\".",
                "anyOf": [
                    { "type": "number", "minimum": 0, "maximum": LONGEST_S },
                    { "type": "string", "pattern": r"^([0-9]+:)?([0-9]+:)?[0-9]+(\.[0-9]*)?$" }
                ]
            })
        }
    }

    impl JsonSchema for Metres {
        fn schema_name() -> Cow<'static, str> {
            "Metres".into()
        }
        fn json_schema(_: &mut SchemaGenerator) -> Schema {
            json_schema!({
                "description": "A position or height in metres, to the millimetre.",
                "type": "number", "minimum": -FARTHEST_M, "maximum": FARTHEST_M
            })
        }
    }
}
