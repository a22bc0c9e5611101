//! Package names, read by grammar: what a name says about a body.
//!
//! One file per kind of name. The order in [`read`] goes from names that leave no
//! choice (two chip codes, IPC-7351 names) to names that hold only a few numbers.
//! The size of a [`Body`] includes its leads, because that is what nozzle, sight and
//! neighbours meet. Left out: order codes of makers, which hold no size.
//!
//! Methods: IPC-7351 naming and the patterns of open ECAD libraries, checked against
//! a table of outlines in `tests/parts_reference.rs`; see `docs/parts.md`.

mod can;
mod chip;
mod chip_codes;
mod connector;
mod crystal;
mod family;
mod fields;
mod ipc;
mod outline;
mod scan;

pub use chip_codes::bare_code_sizes;

use domain::part::Certainty;
use scan::Name;
use units::Length;

/// What kind of body a name describes; handling follows from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Rectangular chip with end terminations.
    Chip,
    /// Moulded two-terminal body: tantalum capacitors, diodes, inductors.
    Moulded,
    /// Aluminium electrolytic can on a base plate.
    Can,
    /// Cylinder lying on its side.
    Melf,
    /// Small transistor outline.
    Transistor,
    /// Power body with a tab.
    PowerTab,
    /// Leads on two sides, or J leads.
    TwoRows,
    /// Gull-wing or J leads on four sides.
    FourSides,
    /// No leads: pads under the body.
    NoLead,
    /// Balls under the body.
    BallGrid,
    /// Crystal or oscillator.
    Crystal,
    /// Connector, socket or holder.
    Connector,
    /// Switch, relay, transformer, module and the rest.
    Other,
}

/// What the part is electrically, as far as its reference or name tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Resistor.
    Resistor,
    /// Capacitor.
    Capacitor,
    /// Inductor or ferrite.
    Inductor,
    /// Light-emitting diode.
    Led,
    /// Crystal, resonator or oscillator.
    Crystal,
    /// Anything else.
    Other,
}

/// The two systems of chip codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Hundredths of an inch.
    Inch,
    /// Tenths of a millimetre.
    Metric,
}

/// A doubt about a chip code that the reader of the name cannot settle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The code exists in inch and metric codes with different sizes.
    BothSystems {
        /// The code.
        code: &'static str,
        /// The system it was read in.
        read_as: System,
    },
    /// Read as metric 1005, but a spreadsheet may have shortened 01005.
    LostZero,
    /// Family and pins are named but no size: the commonest size was taken.
    TypicalSize,
}

/// What a package name says about a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Body {
    /// Its kind.
    pub family: Family,
    /// Along X at zero rotation, leads included [µm].
    pub x: Length,
    /// Along Y at zero rotation, leads included [µm].
    pub y: Length,
    /// How sure the size is.
    pub size: Certainty,
    /// Height above the board [µm], and how sure it is.
    pub height: Option<(Length, Certainty)>,
    /// Pitch of leads, pads or balls [µm].
    pub pitch: Option<Length>,
    /// Leads, pads or balls.
    pub pins: Option<u32>,
    /// What could not be settled.
    pub doubt: Option<Doubt>,
}

/// Smallest side a name may state [µm]: below it the number is no size.
const SMALLEST: i64 = 100;
/// Largest side a name may state [µm].
const LARGEST: i64 = 400_000;
/// Lowest and tallest height a name may state [µm].
const LOWEST: i64 = 50;
const TALLEST: i64 = 200_000;

impl Body {
    /// A body of this size, with nothing else known.
    fn new(family: Family, x_um: i64, y_um: i64, size: Certainty) -> Self {
        Self { family, x: Length(x_um), y: Length(y_um), size, height: None, pitch: None, pins: None, doubt: None }
    }

    /// A body that nothing states: sizes along X and Y, and height [µm], all guesses.
    pub(crate) fn assumed(family: Family, (x, y, height): (i64, i64, i64)) -> Self {
        Self::new(family, x, y, Certainty::Guess).height(height, Certainty::Guess)
    }

    /// The same, when something else has settled the doubt.
    pub(crate) fn without_doubt(mut self) -> Self {
        self.doubt = None;
        self
    }

    #[must_use]
    fn height(mut self, um: i64, certainty: Certainty) -> Self {
        if (LOWEST..=TALLEST).contains(&um) {
            self.height = Some((Length(um), certainty));
        }
        self
    }

    #[must_use]
    fn pitch(mut self, um: Option<i64>) -> Self {
        self.pitch = um.map(Length);
        self
    }

    #[must_use]
    fn pins(mut self, pins: Option<u32>) -> Self {
        self.pins = pins;
        self
    }

    #[must_use]
    fn doubt(mut self, doubt: Option<Doubt>) -> Self {
        self.doubt = doubt;
        self
    }

    fn is_plausible(&self) -> bool {
        [self.x, self.y].iter().all(|side| (SMALLEST..=LARGEST).contains(&side.0))
    }
}

/// The body a package name describes, or `None` when it holds no size.
///
/// `kind` settles codes that chips and crystals share, and the height of chips.
///
/// ```
/// use intake::package::{Kind, read};
/// let body = read("C_0603_1608Metric", Kind::Capacitor).unwrap();
/// assert_eq!((body.x.0, body.y.0), (1_600, 800));
/// assert!(read("PSA00299", Kind::Other).is_none());
/// ```
pub fn read(name: &str, kind: Kind) -> Option<Body> {
    let name = Name::new(name);
    let rules: [fn(&Name, Kind) -> Option<Body>; 12] = [
        chip::two_codes,
        crystal::read,
        can::read,
        ipc::read,
        connector::read,
        fields::read,
        family::with_size,
        outline::read,
        chip::one_code,
        chip::square_inductor,
        family::without_size,
        fields::bare_size,
    ];
    rules.iter().filter_map(|rule| rule(&name, kind)).find(Body::is_plausible)
}

/// Whether a name says that the part has no flat top for a nozzle: pins or a cell holder.
pub fn has_no_flat_top(name: &str) -> bool {
    connector::has_no_flat_top(&Name::new(name))
}

/// Whether a name says that the leads go through the board, and how surely.
pub fn through_hole(name: &str) -> Option<Certainty> {
    connector::through_hole(&Name::new(name))
}
