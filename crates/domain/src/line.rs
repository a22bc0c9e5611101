//! The sheet of a line: stations, heads, nozzles, banks, feeders, tray places.
//!
//! A sheet is TOML text (`docs/line-sheet.md` explains every key). [`Line::parse`] reads and
//! checks it; unknown keys are refused with a suggestion. The frame of a station has its
//! origin at the corner where the panel is stopped and clamped (the panel's lower left),
//! X along the line and Y away from the front; banks in front have negative Y.

mod check;

use crate::part::{NozzleClass, Supply, named};
use crate::sheet_error::finding_from_toml;
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::{Acceleration, Jerk, Length, Point, Speed, Text, Time};

/// What this program calls the file format of line sheets.
pub const SCHEMA: &str = "evenline-line/1";

named! {
    /// Kind of station.
    StationKind {
        /// Board and banks stand still; one beam carries one head at a time.
        Gantry = "gantry",
        /// Two beams share the board; each carries one head, and one of them at a time is over the board.
        TwoBeam = "two-beam",
        /// The drum stands still and turns; the board moves on a table, the feeders on a carriage.
        Turret = "turret",
    }
}

named! {
    /// Kind of head.
    HeadKind {
        /// Spindles in a row at a fixed pitch along X, each with its own stroke.
        Inline = "inline",
        /// Spindles on a drum; one at a time at the pick or place point.
        Rotary = "rotary",
        /// One spindle, with a nozzle or a gripper.
        Single = "single",
        /// Sets adhesive dots.
        Dispense = "dispense",
    }
}

named! {
    /// How picked parts are measured.
    SightMode {
        /// While the head travels; costs its time once a trip.
        InFlight = "in-flight",
        /// At a fixed camera; costs its time for every exposure.
        Camera = "camera",
        /// Not at all.
        None = "none",
    }
}

named! {
    /// How a bank is mounted.
    BankMount {
        /// Part of the station.
        Fixed = "fixed",
        /// On an exchangeable cart.
        Cart = "cart",
    }
}

named! {
    /// Kind of tray place.
    TrayKind {
        /// One tray that stays.
        Fixed = "fixed",
        /// A stack of trays of one part; the used tray on top is put aside.
        Stack = "stack",
        /// A magazine of levels, one tray each, one of them presented at a time.
        Magazine = "magazine",
    }
}

/// A line of stations, as its sheet states it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Format, [`SCHEMA`].
    pub schema: String,
    /// Name of the line.
    pub name: String,
    /// Remarks for people.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Figures of the order rules.
    #[serde(default)]
    pub clearance: Clearance,
    /// Kinds of feeder and how many there are.
    #[serde(default)]
    pub feeder: Vec<FeederKind>,
    /// Kinds of nozzle and gripper and how many there are.
    #[serde(default)]
    pub nozzle: Vec<NozzleKind>,
    /// Kinds of cart and how many there are.
    #[serde(default)]
    pub cart: Vec<CartKind>,
    /// Other equipment of the line that may limit the takt.
    #[serde(default)]
    pub equipment: Vec<Equipment>,
    /// Stations in the order the board passes them.
    #[serde(default)]
    pub station: Vec<Station>,
}

/// Figures of the order rules.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Clearance {
    /// How far a nozzle holder reaches beyond the body it places.
    pub reach: Text<Length>,
    /// A placed part this much taller than its neighbour is in the holder's way.
    pub height_step: Text<Length>,
    /// Upper limits of the height steps of the rule `low-before-tall`, rising.
    pub steps: Vec<Text<Length>>,
}

impl Default for Clearance {
    /// Common practice, no source.
    fn default() -> Self {
        Self { reach: Text(Length(1_000)), height_step: Text(Length(4_000)), steps: vec![Text(Length(2_500)), Text(Length(6_000))] }
    }
}

/// A kind of feeder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FeederKind {
    /// Its name.
    pub name: String,
    /// What it feeds: `tape` or `stick`.
    pub supply: Supply,
    /// Tape width it takes, exactly; for tape.
    pub tape_width: Option<Text<Length>>,
    /// Widest body it takes; for sticks.
    pub max_body: Option<Text<Length>>,
    /// Slots it covers.
    pub slots: u32,
    /// Time of one advance.
    pub advance: Text<Time>,
    /// Way of the tape in one advance; a longer pocket pitch needs several. Default 4 mm, the
    /// sprocket hole pitch (EIA-481-D).
    #[serde(default = "sprocket_pitch")]
    pub advance_step: Text<Length>,
    /// How many there are for the line.
    pub stock: u32,
}

fn sprocket_pitch() -> Text<Length> {
    Text(Length(4_000))
}

/// A kind of nozzle or gripper.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NozzleKind {
    /// Its name.
    pub name: String,
    /// Classes of part it picks up.
    pub classes: Vec<NozzleClass>,
    /// How many there are for the line.
    pub stock: u32,
}

/// A kind of cart.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CartKind {
    /// Its name.
    pub name: String,
    /// How many there are for the line.
    pub stock: u32,
}

/// Other equipment of the line: printer, inspection, oven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// Its name.
    pub name: String,
    /// Its time per panel.
    pub time: Text<Time>,
}

/// One station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: StationKind,
    /// Largest panel it takes.
    pub max_panel: Extent,
    /// From the end of work to the next panel at the stop.
    pub transfer: Text<Time>,
    /// Clamping and releasing, together.
    pub clamp: Text<Time>,
    /// The two axes that carry the head (turret: the table).
    pub axes: Axes,
    /// Settling after a move that ends over a pocket.
    pub settle_pick: Text<Time>,
    /// Settling after a move that ends over a pad, a dot or a view.
    pub settle_place: Text<Time>,
    /// Looking at one mark, without the way there.
    pub fiducial: Text<Time>,
    /// Heads it has; one is fitted at a time. Two beams carry one each; the drum of a turret is its only head.
    #[serde(default)]
    pub head: Vec<Head>,
    /// Changing the head; needed when there are several.
    pub head_swap: Option<HeadSwap>,
    /// Where nozzles are changed; without it each head keeps its nozzles for the whole panel. Two beams share it.
    pub nozzle_rack: Option<NozzleRack>,
    /// Looking at areas for foreign objects, if it can.
    pub inspection: Option<Inspection>,
    /// Rows of feeder slots.
    #[serde(default)]
    pub bank: Vec<Bank>,
    /// Tray places.
    #[serde(default)]
    pub tray: Vec<TrayPlace>,
    /// What a turret has beyond its drum; for turrets.
    pub turret: Option<Turret>,
}

/// A size along X and Y.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Extent {
    /// Along X.
    pub x: Text<Length>,
    /// Along Y.
    pub y: Text<Length>,
}

/// A place in the station's frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Along X.
    pub x: Text<Length>,
    /// Along Y.
    pub y: Text<Length>,
}

impl Place {
    /// As a point.
    pub fn point(self) -> Point {
        Point { x: *self.x, y: *self.y }
    }
}

/// The two axes of a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Axes {
    /// Along the line.
    pub x: Axis,
    /// Across the line.
    pub y: Axis,
}

/// What an axis can do at full speed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Axis {
    /// Peak speed.
    pub speed: Text<Speed>,
    /// Acceleration, and deceleration.
    pub acceleration: Text<Acceleration>,
    /// Jerk limit, if there is one.
    pub jerk: Option<Text<Jerk>>,
}

/// One head.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// Its name, unique in the station.
    pub name: String,
    /// Its kind.
    pub kind: HeadKind,
    /// Beam that carries it, 1 or 2; for two-beam stations.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beam: Option<u8>,
    /// Number of spindles; 1 for single and dispense.
    #[serde(default = "one")]
    pub spindles: u8,
    /// Distance of neighbouring spindles along X; for inline heads.
    pub pitch: Option<Text<Length>>,
    /// Turning the drum to the neighbouring spindle; for rotary heads.
    pub index: Option<Text<Time>>,
    /// Turning a part by 90°; other angles in proportion.
    #[serde(default)]
    pub turn_90: Text<Time>,
    /// Parts it takes; not for dispense.
    pub envelope: Option<Envelope>,
    /// Placement accuracy it reaches; not for dispense.
    pub accuracy: Option<Text<Length>>,
    /// One pick stroke, down and up; not for dispense.
    #[serde(default)]
    pub pick: Text<Time>,
    /// One place stroke, down and up; not for dispense.
    #[serde(default)]
    pub place: Text<Time>,
    /// How picked parts are measured; not for dispense.
    pub sight: Option<Sight>,
    /// Nozzle kinds it takes, by name.
    #[serde(default)]
    pub nozzles: Vec<String>,
    /// Setting one dot; for dispense.
    pub dot: Option<Text<Time>>,
}

fn one() -> u8 {
    1
}

/// Parts a head takes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Envelope {
    /// Smallest shorter side of a body.
    pub min_side: Text<Length>,
    /// Largest shorter side of a body.
    pub max_short: Text<Length>,
    /// Largest longer side of a body.
    pub max_long: Text<Length>,
    /// Largest height.
    pub max_height: Text<Length>,
}

/// How a head's picked parts are measured.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sight {
    /// The way.
    pub mode: SightMode,
    /// In flight: once a trip. At a camera: each exposure.
    #[serde(default)]
    pub time: Text<Time>,
    /// Where the camera stands; for `camera`.
    pub at: Option<Place>,
    /// Side of the square the camera sees; a larger body takes several exposures; for `camera`.
    pub field: Option<Text<Length>>,
}

/// Changing the head in mid-panel.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeadSwap {
    /// Putting one head down and taking the other, without the way there.
    pub time: Text<Time>,
    /// Where it is done.
    pub at: Place,
    /// Whether consecutive panels may run the passes in alternating order.
    #[serde(default)]
    pub alternate: bool,
}

/// Where nozzles are changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NozzleRack {
    /// Changing the nozzle of one spindle, without the way there.
    pub change: Text<Time>,
    /// Where it stands.
    pub at: Place,
}

/// Looking at areas for foreign objects.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Inspection {
    /// What one view covers.
    pub field: Extent,
    /// One view, without the way there.
    pub time: Text<Time>,
}

/// A row of feeder slots along X.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bank {
    /// Its name, unique in the station.
    pub name: String,
    /// Beam that picks from it, 1 or 2; for two-beam stations.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beam: Option<u8>,
    /// How it is mounted.
    pub mount: BankMount,
    /// Kind of cart it takes; for carts.
    pub cart: Option<String>,
    /// Number of slots.
    pub slots: u32,
    /// Pick point of slot 1.
    pub first: Place,
    /// From slot to slot along X.
    pub pitch: Text<Length>,
}

/// A place where trays stand in the machine.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrayPlace {
    /// Its name, unique in the station.
    pub name: String,
    /// Beam that picks from it, 1 or 2; for two-beam stations.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beam: Option<u8>,
    /// Its kind.
    pub kind: TrayKind,
    /// Middle of the presented tray; every pick is timed to here.
    pub at: Place,
    /// Putting a used tray aside (stack), or presenting another level (magazine).
    #[serde(default)]
    pub change: Text<Time>,
    /// Height a stack may have; for stacks.
    pub stack_height: Option<Text<Length>>,
    /// Number of levels; for magazines.
    pub levels: Option<u32>,
}

impl Station {
    /// Whether a head picks from this bank or tray place: on a two-beam station only from those of its beam.
    ///
    /// `beam` is that of the bank or tray place.
    pub fn reaches(&self, head: usize, beam: Option<u8>) -> bool {
        self.kind != StationKind::TwoBeam || self.head.get(head).is_some_and(|h| h.beam == beam)
    }
}

impl TrayPlace {
    /// How many part types it can hold.
    pub fn levels(&self) -> u32 {
        if self.kind == TrayKind::Magazine { self.levels.unwrap_or(1) } else { 1 }
    }

    /// How many trays of this height each the place holds at once.
    ///
    /// A stack is limited by its height: trays add their stacking pitch.
    pub fn trays_held(&self, tray_height: Length) -> u32 {
        match (self.kind, self.stack_height) {
            (TrayKind::Stack, Some(h)) if tray_height.0 > 0 => (h.0.0 / tray_height.0).max(0) as u32,
            (TrayKind::Stack, _) => 0,
            (TrayKind::Magazine, _) => self.levels(),
            (TrayKind::Fixed, _) => 1,
        }
    }
}

/// What a turret has beyond its drum, which is the station's only head: rotary, `spindles` heads on the drum.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Turret {
    /// Beats from the pick to the place point; 0 when parts are picked and placed at one point.
    pub gap: u8,
    /// The axis of the feeder carriage, along X.
    pub carriage: Axis,
    /// Nozzles that each head of the drum holds; the wanted one is turned down on the way to the pick point.
    #[serde(default = "one")]
    pub nozzles_per_head: u8,
}

impl Line {
    /// Reads and checks a sheet.
    ///
    /// # Errors
    /// Everything found wrong, each with code, line where known, value and next step; a sheet
    /// with a wrong key or type yields that one finding, since nothing after it can be trusted.
    pub fn parse(file: &str, text: &str) -> Result<Self, Vec<Finding>> {
        if text.trim().is_empty() {
            return Err(vec![Finding::new(codes::line::EMPTY, "the sheet is empty").at(file, 0)]);
        }
        let line: Self = toml::from_str(text).map_err(|e| {
            let (syntax, unknown) = (codes::line::SYNTAX, codes::line::UNKNOWN_KEY);
            let mut finding = finding_from_toml(syntax, unknown, file, text, &e);
            if finding.message.starts_with("missing field") {
                finding.code = codes::line::MISSING_KEY.id.to_owned();
                finding.hint = codes::line::MISSING_KEY.cure.to_owned();
            }
            vec![finding]
        })?;
        let findings = line.check(file);
        if findings.is_empty() { Ok(line) } else { Err(findings) }
    }

    /// The nozzle kind with this name.
    pub fn nozzle_named(&self, name: &str) -> Option<&NozzleKind> {
        self.nozzle.iter().find(|n| n.name == name)
    }

    /// Index of the station with this name.
    pub fn station_named(&self, name: &str) -> Option<usize> {
        self.station.iter().position(|s| s.name == name)
    }
}
