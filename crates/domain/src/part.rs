//! A purchased part and what a placement line must know of it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::{Length, Point};

/// Where a value came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Assumed, for want of anything better.
    Default,
    /// Read from the package name by grammar.
    Name,
    /// Stated in a designer's file.
    File,
    /// From the parts library.
    Library,
    /// Stated in the engineer's parts table.
    Engineer,
}

/// How sure a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Certainty {
    /// A guess that somebody should check before the plan is used.
    Guess,
    /// Follows from a name or a table, but exceptions exist.
    Likely,
    /// Stated, or given by a standard for exactly this name.
    Certain,
}

/// A value, where it came from and how sure it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sourced<T> {
    /// The value itself.
    pub value: T,
    /// Where it came from.
    pub source: Source,
    /// How sure it is.
    pub certainty: Certainty,
}

impl<T> Sourced<T> {
    /// A value with its source and certainty.
    pub const fn new(value: T, source: Source, certainty: Certainty) -> Self {
        Self { value, source, certainty }
    }

    /// Stated by the engineer, hence certain.
    pub const fn engineer(value: T) -> Self {
        Self::new(value, Source::Engineer, Certainty::Certain)
    }

    /// Assumed for want of anything better.
    pub const fn guess(value: T) -> Self {
        Self::new(value, Source::Default, Certainty::Guess)
    }
}

macro_rules! named {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $text:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
        pub enum $name { $($(#[$vdoc])* #[serde(rename = $text)] $variant),* }

        impl $name {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// The word used in sheets and tables.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $text),* }
            }

            /// The one with this word.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|v| v.word() == word)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}
pub(crate) use named;

named! {
    /// How a part gets onto the board.
    Mount {
        /// Surface mount: a placement line can take it.
        Smt = "smt",
        /// Leads through the board: not for this line.
        ThroughHole = "through-hole",
        /// By hand, by the engineer's decision.
        Hand = "hand",
    }
}

named! {
    /// How a part is supplied to the machine.
    Supply {
        /// On carrier tape, from a feeder.
        Tape = "tape",
        /// In a stick (tube), from a vibrating stick feeder.
        Stick = "stick",
        /// In a matrix tray.
        Tray = "tray",
    }
}

named! {
    /// What picks a part up: classes of nozzle by the face they need, and the gripper.
    ///
    /// Limits of the classes are common practice, no source; a sheet says which of its
    /// nozzles serve which classes.
    NozzleClass {
        /// Shorter body side under 0.4 mm (metric 0402 and 0603 chips).
        Micro = "micro",
        /// Shorter body side 0.4 mm to under 0.75 mm (metric 1005).
        Tiny = "tiny",
        /// Shorter body side 0.75 mm to under 1.5 mm.
        Small = "small",
        /// Shorter body side 1.5 mm to under 3.5 mm.
        Medium = "medium",
        /// Shorter body side 3.5 mm to under 9 mm.
        Large = "large",
        /// Shorter body side of 9 mm and more.
        Wide = "wide",
        /// No flat face to suck at: mechanical jaws.
        Gripper = "gripper",
    }
}

named! {
    /// How long a part may lie open before it is soldered: moisture sensitivity levels of IPC/JEDEC J-STD-020.
    Moisture {
        /// No limit up to 30 C and 85 % humidity.
        One = "1",
        /// One year.
        Two = "2",
        /// Four weeks.
        TwoA = "2a",
        /// 168 hours.
        Three = "3",
        /// 72 hours.
        Four = "4",
        /// 48 hours.
        Five = "5",
        /// 24 hours.
        FiveA = "5a",
        /// To be baked before use, and soldered within the time on the label.
        Six = "6",
    }
}

/// In which quarter of the pocket pin one lies, seen from above with the sprocket holes along the upper edge (the round
/// ones, where a tape has both) and the tape drawn off to the left: 1 upper left, 2 upper right, 3 lower left, 4 lower
/// right (IEC 60286-3, EIA-481; from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Quadrant(pub u8);

/// What the store, the feeder room and whoever checks the first board must know of a part. No plan depends on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Handling {
    /// Pin one from the middle of the body, at zero rotation and seen from the part's top, once known [µm].
    #[serde(default = "unknown_point")]
    pub pin_one: Sourced<Option<Point>>,
    /// Where pin one lies in its pocket, once known; meant for tape only.
    pub pocket_quadrant: Sourced<Option<Quadrant>>,
    /// Moisture sensitivity level, once known.
    pub moisture: Sourced<Option<Moisture>>,
    /// Part numbers that may be placed instead, the preferred one first.
    pub alternates: Sourced<Vec<String>>,
    /// Parts lost in picking, of a thousand placed, once known.
    pub attrition_permille: Sourced<Option<u32>>,
}

fn unknown_point() -> Sourced<Option<Point>> {
    Sourced::guess(None)
}

impl Default for Handling {
    fn default() -> Self {
        Self {
            pin_one: unknown_point(),
            pocket_quadrant: Sourced::guess(None),
            moisture: Sourced::guess(None),
            alternates: Sourced::guess(Vec::new()),
            attrition_permille: Sourced::guess(None),
        }
    }
}

impl Handling {
    /// Whether nothing of it is known.
    pub fn is_unknown(&self) -> bool {
        *self == Self::default()
    }
}

/// Speed of whatever carries the part, in percent of what the machine can do [1..=100].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct SpeedPercent(pub u8);

/// A part type: everything with the same number is interchangeable.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// The purchased part number, or value and package joined where the files give none. Unique.
    pub number: String,
    /// Value or description, for people.
    #[serde(default)]
    pub value: String,
    /// Package name as the designer wrote it.
    #[serde(default)]
    pub package: String,
    /// How it gets onto the board.
    pub mount: Sourced<Mount>,
    /// Body (with leads) along X at zero rotation [µm].
    pub body_x_um: Sourced<Length>,
    /// Body (with leads) along Y at zero rotation [µm].
    pub body_y_um: Sourced<Length>,
    /// Height above the board [µm].
    pub height_um: Sourced<Length>,
    /// How it is supplied.
    pub supply: Sourced<Supply>,
    /// Carrier tape width [µm]; meant for tape only.
    pub tape_width_um: Sourced<Length>,
    /// Pocket pitch along the tape [µm]; meant for tape only.
    pub tape_pitch_um: Sourced<Length>,
    /// Pockets in a full tray; meant for trays only.
    pub tray_pockets: Sourced<u32>,
    /// Height one tray adds to a stack [µm]; meant for trays only.
    pub tray_height_um: Sourced<Length>,
    /// What picks it up.
    pub nozzle_class: Sourced<NozzleClass>,
    /// Speed allowed while it is carried [%].
    pub speed: Sourced<SpeedPercent>,
    /// Placement accuracy it needs [µm]: the head's figure must not be larger.
    pub accuracy_um: Sourced<Length>,
    /// Whether it is a ball-grid part.
    pub ball_grid: Sourced<bool>,
    /// Whether it is a shield (cover) over other parts.
    pub shield: Sourced<bool>,
    /// Adhesive dots to be set under it.
    pub adhesive_dots: Sourced<u8>,
    /// What those beside the line must know of it.
    #[serde(default, skip_serializing_if = "Handling::is_unknown")]
    pub handling: Handling,
}

impl Part {
    /// Shorter side of the body [µm].
    pub fn short_side(&self) -> Length {
        self.body_x_um.value.min(self.body_y_um.value)
    }

    /// Longer side of the body [µm].
    pub fn long_side(&self) -> Length {
        self.body_x_um.value.max(self.body_y_um.value)
    }
}
