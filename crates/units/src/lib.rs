//! Quantities as integer newtypes: [`Length`] [µm], [`Time`] [µs], [`Angle`] [m°],
//! [`Speed`] [µm/s], [`Acceleration`] [µm/s²], [`Jerk`] [µm/s³].
//!
//! Documents made by the program (products, plans) hold the bare integers. Sheets
//! written by people hold text with a unit ("12.5 mm"), through [`Text`]; a number
//! without a unit is refused there, so a unit is never guessed.

mod parse;
mod text;

pub use parse::ParseError;
pub use text::Text;

use parse::{Scale, parse_scaled, print_scaled};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};
use std::str::FromStr;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $what:literal, $scales:expr, $shown:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(pub i64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0);
            /// What the quantity is called in messages.
            pub const NAME: &'static str = $what;
            /// The units this quantity may be written in, for messages.
            pub fn accepted_units() -> String {
                $scales.iter().map(|s: &Scale| s.unit).collect::<Vec<_>>().join(", ")
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&print_scaled(self.0, &$shown))
            }
        }

        impl FromStr for $name {
            type Err = ParseError;
            fn from_str(text: &str) -> Result<Self, ParseError> {
                parse_scaled(text, $what, &$scales).map(Self)
            }
        }
    };
}

quantity!(
    /// A length or coordinate [µm].
    Length, "length",
    [Scale::new("mm", 1_000.0), Scale::new("um", 1.0), Scale::new("µm", 1.0), Scale::new("μm", 1.0),
     Scale::new("cm", 10_000.0), Scale::new("m", 1_000_000.0), Scale::new("in", 25_400.0),
     Scale::new("inch", 25_400.0), Scale::new("mil", 25.4), Scale::new("thou", 25.4)],
    Scale::new("mm", 1_000.0)
);
quantity!(
    /// A stretch of time [µs].
    Time, "time",
    [Scale::new("s", 1_000_000.0), Scale::new("ms", 1_000.0), Scale::new("us", 1.0),
     Scale::new("µs", 1.0), Scale::new("μs", 1.0), Scale::new("min", 60_000_000.0)],
    Scale::new("s", 1_000_000.0)
);
quantity!(
    /// An angle, counter-clockwise seen from above the side it belongs to [thousandths of a degree].
    Angle, "angle",
    [Scale::new("deg", 1_000.0), Scale::new("°", 1_000.0)],
    Scale::new("deg", 1_000.0)
);
quantity!(
    /// A speed [µm/s].
    Speed, "speed",
    [Scale::new("m/s", 1_000_000.0), Scale::new("mm/s", 1_000.0)],
    Scale::new("m/s", 1_000_000.0)
);
quantity!(
    /// An acceleration [µm/s²].
    Acceleration, "acceleration",
    [Scale::new("m/s2", 1_000_000.0), Scale::new("m/s²", 1_000_000.0), Scale::new("mm/s2", 1_000.0)],
    Scale::new("m/s2", 1_000_000.0)
);
quantity!(
    /// A jerk, the change of acceleration [µm/s³].
    Jerk, "jerk",
    [Scale::new("m/s3", 1_000_000.0), Scale::new("m/s³", 1_000_000.0)],
    Scale::new("m/s3", 1_000_000.0)
);

macro_rules! additive {
    ($($name:ident),*) => {$(
        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<i64> for $name { type Output = Self; fn mul(self, k: i64) -> Self { Self(self.0 * k) } }
        impl Sum for $name { fn sum<I: Iterator<Item = Self>>(it: I) -> Self { Self(it.map(|q| q.0).sum()) } }
    )*};
}
additive!(Length, Time, Angle);

impl Length {
    /// From whole micrometres.
    pub const fn from_um(um: i64) -> Self {
        Self(um)
    }

    /// From millimetres, rounded to the nearest micrometre.
    ///
    /// ```
    /// assert_eq!(units::Length::from_mm(0.4).0, 400);
    /// ```
    pub fn from_mm(mm: f64) -> Self {
        Self((mm * 1_000.0).round() as i64)
    }

    /// In millimetres.
    pub fn to_mm(self) -> f64 {
        self.0 as f64 / 1_000.0
    }

    /// Its absolute value.
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl Time {
    /// From whole microseconds.
    pub const fn from_us(us: i64) -> Self {
        Self(us)
    }

    /// From whole milliseconds.
    pub const fn from_ms(ms: i64) -> Self {
        Self(ms * 1_000)
    }

    /// In seconds.
    pub fn to_s(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

impl Angle {
    /// From degrees, rounded to the nearest thousandth.
    pub fn from_deg(deg: f64) -> Self {
        Self((deg * 1_000.0).round() as i64)
    }

    /// In degrees.
    pub fn to_deg(self) -> f64 {
        self.0 as f64 / 1_000.0
    }

    /// The same direction, in 0 ≤ angle < 360°.
    ///
    /// ```
    /// use units::Angle;
    /// assert_eq!(Angle::from_deg(-90.0).normalised(), Angle::from_deg(270.0));
    /// assert_eq!(Angle::from_deg(360.0).normalised(), Angle::ZERO);
    /// ```
    pub fn normalised(self) -> Self {
        Self(self.0.rem_euclid(360_000))
    }

    /// The shorter way round from 0 to this direction, 0 to 180°.
    pub fn shortest_turn(self) -> Self {
        let a = self.normalised().0;
        Self(a.min(360_000 - a))
    }
}

/// A place in a plane [µm].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub struct Point {
    /// Along the line, the way boards travel [µm].
    #[serde(rename = "x_um")]
    pub x: Length,
    /// Across the line, away from the front [µm].
    #[serde(rename = "y_um")]
    pub y: Length,
}

impl Point {
    /// From whole micrometres.
    pub const fn from_um(x: i64, y: i64) -> Self {
        Self { x: Length(x), y: Length(y) }
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self { x: self.x + o.x, y: self.y + o.y }
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self { x: self.x - o.x, y: self.y - o.y }
    }
}
