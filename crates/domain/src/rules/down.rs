//! What is out of order: a station, head, bank, slots, tray place, or nozzles or feeders of a kind.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// One thing that is out of order. Which keys are given says what it is; see [`Down::what`].
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Down {
    /// The station, alone or with one of the keys below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Only this head of the station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
    /// Only this bank of the station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bank: Option<String>,
    /// Only the slots of the bank from this one on, counted from 1; needs `bank`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<u32>,
    /// Last of these slots; the same as `from` if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<u32>,
    /// Only this tray place of the station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tray: Option<String>,
    /// Nozzles of this kind, on the whole line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nozzle: Option<String>,
    /// Feeders of this kind, on the whole line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feeder: Option<String>,
    /// How many nozzles or feeders of the kind; all if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

/// What is down, read from a [`Down`] entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Failure<'d> {
    /// A whole station: it does no work, but panels still pass it.
    Station(&'d str),
    /// Station and head.
    Head(&'d str, &'d str),
    /// Station and bank.
    Bank(&'d str, &'d str),
    /// Station, bank, first and last slot, counted from 1, both included.
    Slots(&'d str, &'d str, u32, u32),
    /// Station and tray place.
    Tray(&'d str, &'d str),
    /// Nozzle kind, and how many; `None` for all.
    Nozzle(&'d str, Option<u32>),
    /// Feeder kind, and how many; `None` for all.
    Feeder(&'d str, Option<u32>),
}

impl Down {
    /// What the entry says is down.
    ///
    /// # Errors
    /// A sentence, when the keys given do not say one thing.
    pub fn what(&self) -> Result<Failure<'_>, String> {
        let at_slots = self.from.is_some() || self.to.is_some();
        let keys = (&self.station, &self.head, &self.bank, &self.tray, &self.nozzle, &self.feeder);
        let found = match keys {
            (Some(s), None, None, None, None, None) if !at_slots => Failure::Station(s),
            (Some(s), Some(h), None, None, None, None) if !at_slots => Failure::Head(s, h),
            (Some(s), None, None, Some(t), None, None) if !at_slots => Failure::Tray(s, t),
            (Some(s), None, Some(b), None, None, None) => match (self.from, self.to) {
                (None, None) => Failure::Bank(s, b),
                (Some(from), to) if from >= 1 && to.is_none_or(|t| t >= from) => Failure::Slots(s, b, from, to.unwrap_or(from)),
                _ => return Err("slots run from `from` (1 or more) to `to`".to_owned()),
            },
            (None, None, None, None, Some(n), None) if !at_slots => Failure::Nozzle(n, self.count),
            (None, None, None, None, None, Some(f)) if !at_slots => Failure::Feeder(f, self.count),
            _ => {
                return Err(
                    "a `down` entry names a station, a station with one head, bank (with slots) or tray place, a nozzle kind, or a feeder kind"
                        .to_owned(),
                );
            }
        };
        let counted = matches!(found, Failure::Nozzle(..) | Failure::Feeder(..));
        if self.count.is_some() && !counted { Err("`count` belongs to nozzles and feeders".to_owned()) } else { Ok(found) }
    }
}

impl fmt::Display for Down {
    /// As the command line writes it, such as `slot:chip-1/front/12-14`; `?` for an entry that says nothing.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let counted = |f: &mut fmt::Formatter<'_>, what: &str, kind: &str, n: Option<u32>| match n {
            Some(n) => write!(f, "{what}:{kind}={n}"),
            None => write!(f, "{what}:{kind}"),
        };
        match self.what() {
            Ok(Failure::Station(s)) => write!(f, "station:{s}"),
            Ok(Failure::Head(s, h)) => write!(f, "head:{s}/{h}"),
            Ok(Failure::Bank(s, b)) => write!(f, "bank:{s}/{b}"),
            Ok(Failure::Slots(s, b, from, to)) if from == to => write!(f, "slot:{s}/{b}/{from}"),
            Ok(Failure::Slots(s, b, from, to)) => write!(f, "slot:{s}/{b}/{from}-{to}"),
            Ok(Failure::Tray(s, t)) => write!(f, "tray:{s}/{t}"),
            Ok(Failure::Nozzle(kind, n)) => counted(f, "nozzle", kind, n),
            Ok(Failure::Feeder(kind, n)) => counted(f, "feeder", kind, n),
            Err(_) => f.write_str("?"),
        }
    }
}

impl FromStr for Down {
    type Err = String;

    /// Reads `station:NAME`, `head:STATION/HEAD`, `bank:STATION/BANK`, `slot:STATION/BANK/12-14`,
    /// `tray:STATION/PLACE`, `nozzle:KIND` or `feeder:KIND` (with `=N` for only N of them).
    ///
    /// ```
    /// use domain::rules::{Down, Failure};
    /// let down: Down = "slot:chip-1/front/12-14".parse().unwrap();
    /// assert_eq!(down.what(), Ok(Failure::Slots("chip-1", "front", 12, 14)));
    /// assert_eq!(down.to_string(), "slot:chip-1/front/12-14");
    /// assert_eq!("nozzle:fine=4".parse::<Down>().unwrap().what(), Ok(Failure::Nozzle("fine", Some(4))));
    /// assert!("head:chip-1".parse::<Down>().is_err());
    /// ```
    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            format!(
                "`{text}` is not one of station:NAME, head:STATION/HEAD, bank:STATION/BANK, slot:STATION/BANK/12-14, tray:STATION/PLACE, \
                 nozzle:KIND, feeder:KIND"
            )
        };
        let (what, rest) = text.split_once(':').ok_or_else(wrong)?;
        let names: Vec<&str> = rest.split('/').map(str::trim).collect();
        if names.iter().any(|n| n.is_empty()) {
            return Err(wrong());
        }
        let some = |name: &str| Some(name.to_owned());
        let number = |n: &str| n.trim().parse::<u32>().map_err(|_| format!("`{n}` is not a whole number"));
        let counted = |kind: &str| -> Result<(Option<String>, Option<u32>), String> {
            match kind.split_once('=') {
                Some((kind, n)) => Ok((some(kind.trim()), Some(number(n)?))),
                None => Ok((some(kind), None)),
            }
        };
        let mut down = Self::default();
        match (what.trim(), names.as_slice()) {
            ("station", [s]) => down.station = some(s),
            ("head", [s, h]) => (down.station, down.head) = (some(s), some(h)),
            ("bank", [s, b]) => (down.station, down.bank) = (some(s), some(b)),
            ("tray", [s, t]) => (down.station, down.tray) = (some(s), some(t)),
            ("slot", [s, b, slots]) => {
                (down.station, down.bank) = (some(s), some(b));
                let (from, to) = slots.split_once('-').unwrap_or((slots, slots));
                (down.from, down.to) = (Some(number(from)?), Some(number(to)?));
            }
            ("nozzle", [kind]) => (down.nozzle, down.count) = counted(kind)?,
            ("feeder", [kind]) => (down.feeder, down.count) = counted(kind)?,
            _ => return Err(wrong()),
        }
        down.what()?;
        Ok(down)
    }
}
