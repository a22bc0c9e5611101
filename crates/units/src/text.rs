//! Quantities as people write them.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::borrow::Cow;
use std::fmt::Display;
use std::ops::Deref;
use std::str::FromStr;

/// A quantity that is written in documents as text with its unit, such as `"12.5 mm"`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Text<Q>(pub Q);

impl<Q> Deref for Text<Q> {
    type Target = Q;
    fn deref(&self) -> &Q {
        &self.0
    }
}

impl<Q: Display> Serialize for Text<Q> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl<'de, Q: FromStr<Err: Display>> Deserialize<'de> for Text<Q> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Cow::<'de, str>::deserialize(deserializer)?;
        text.parse().map(Self).map_err(D::Error::custom)
    }
}

impl<Q> JsonSchema for Text<Q> {
    fn schema_name() -> Cow<'static, str> {
        // The type name carries the quantity: `Text<units::Length>` → `Length text`.
        let full = std::any::type_name::<Q>();
        format!("{} text", full.rsplit("::").next().unwrap_or(full)).into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A number and its unit, such as \"12.5 mm\", \"80 ms\", \"2 m/s\" or \"25 m/s2\".",
            "pattern": "^[+-]?[0-9.]+([eE][+-]?[0-9]+)? *[A-Za-zµμ°].*$"
        })
    }
}
