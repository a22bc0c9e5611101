//! A plan: which station places what, from where, with which head, in which order.
//!
//! A plan file holds its own inputs (product, side, panel, rules, line), so that anyone
//! can recompute and check it from the one file.

use crate::job::{Job, Panel, TaskId};
use crate::line::Line;
use crate::part::named;
use crate::product::{PartId, Product, Side};
use crate::rules::Rules;
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::{Length, Point, Time};

/// What this program calls the file format of plans.
pub const SCHEMA: &str = "evenline-plan/1";

/// A whole plan with its inputs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Format, [`SCHEMA`].
    pub schema: String,
    /// The product planned.
    pub product: Product,
    /// The side planned.
    pub side: Side,
    /// How boards are repeated.
    pub panel: Panel,
    /// Order rules and locks.
    pub rules: Rules,
    /// The line planned for.
    pub line: Line,
    /// How the plan was made.
    pub method: Method,
    /// Seed of the search.
    pub seed: u64,
    /// Work done by the search [moves tried].
    pub work: u64,
    /// How it ended.
    pub outcome: Outcome,
    /// Time per panel of the slowest station or equipment [µs].
    pub takt_us: Time,
    /// No plan of this job on this line can have a smaller takt [µs].
    pub bound_us: Time,
    /// What the bound rests on.
    pub certificate: Certificate,
    /// What each station does, in the order of the line.
    pub stations: Vec<StationPlan>,
    /// Tasks that no station places, each with its reason.
    pub unplaced: Vec<Unplaced>,
    /// What holds the plan back.
    pub reasons: Vec<Reason>,
    /// Findings of reading and planning.
    pub findings: Vec<Finding>,
}

named! {
    /// How a plan was made.
    Method {
        /// By the planner's search.
        Search = "search",
        /// By the hand method, kept as a baseline: longest-time-first spreading of part types,
        /// feeders in the order of their number, placements in file order.
        Hand = "hand",
    }
}

named! {
    /// How planning ended.
    Outcome {
        /// Takt and bound are equal.
        ProvenOptimal = "proven-optimal",
        /// A valid plan with a known gap.
        Feasible = "feasible",
        /// No plan exists; the findings say why.
        Infeasible = "infeasible",
        /// No plan was found in the time given, and none was proven impossible.
        Unknown = "unknown",
    }
}

/// What the bound rests on (`docs/planning.md` §3): leaves that together cover every choice of heads and manners.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Certificate {
    /// The leaves; the bound is the least of theirs.
    pub leaves: Vec<Leaf>,
}

/// A part of all choices of heads, with the dual values of its balance.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Leaf {
    /// What the leaf says of heads; heads that are not named may be used or not.
    pub heads: Vec<HeadUse>,
    /// Weight of each station, in the order of the line, of a station of two beams three: beam 1, beam 2, the board; any
    /// non-negative weights give a true bound.
    pub weights: Vec<u64>,
    /// What the leaf says of the manner of stations; passes of those that are not named may alternate or not.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub manners: Vec<StationManner>,
}

/// Whether passes of a station alternate in the plans that belong to a leaf.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StationManner {
    /// Index of the station in the line's list.
    pub station: u32,
    /// Whether consecutive panels run its passes in alternating order.
    pub alternating: bool,
}

/// How much a head is used in the plans that belong to a leaf, and what its trips are priced at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeadUse {
    /// Index of the station in the line's list.
    pub station: u32,
    /// Index of the head in the station's list.
    pub head: u32,
    /// Index of the nozzle kind in the line's list; for placing heads of one spindle, which are used with each kind apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nozzle: Option<u32>,
    /// Fewest trips a panel; for heads of one spindle and dispense heads 1 says that it is used.
    pub at_least: u32,
    /// Most trips a panel, 0 says that it is not used; no limit if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most: Option<u32>,
    /// Price of a place on a trip [ns], not negative; for heads of several spindles, as the next two.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub seat_ns: i64,
    /// Price of being the first placement of a trip [ns].
    #[serde(default, skip_serializing_if = "is_zero")]
    pub first_ns: i64,
    /// Price of being the last placement of a trip that another one follows [ns].
    #[serde(default, skip_serializing_if = "is_zero")]
    pub last_ns: i64,
}

fn is_zero(price: &i64) -> bool {
    *price == 0
}

/// What one station does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StationPlan {
    /// Name of the station.
    pub station: String,
    /// Feeders and trays that stand there.
    pub supplies: Vec<SupplyAt>,
    /// Whether consecutive panels run the passes in alternating order.
    pub alternating: bool,
    /// Stretches of the program, each with one head fitted, in order.
    pub passes: Vec<Pass>,
    /// Time per panel [µs].
    pub time_us: Time,
    /// Where the time goes; sums to `time_us`.
    pub breakdown: Breakdown,
}

/// A feeder in a slot or a tray on a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SupplyAt {
    /// The part it supplies.
    pub part: PartId,
    /// Where it stands.
    #[serde(flatten)]
    pub place: SupplyPlace,
}

/// Where a part is picked from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "on", rename_all = "kebab-case")]
pub enum SupplyPlace {
    /// A feeder on a bank.
    Feeder {
        /// Index of the bank in the station's list.
        bank: u32,
        /// First slot it covers, counted from 1.
        slot: u32,
        /// Index of the feeder kind in the line's list.
        feeder: u32,
    },
    /// A tray on a tray place.
    Tray {
        /// Index of the tray place in the station's list.
        tray: u32,
        /// Level it lies on, counted from 1.
        level: u32,
    },
}

/// A stretch of a program done with one head fitted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Pass {
    /// Index of the head in the station's list.
    pub head: u32,
    /// What is done.
    #[serde(flatten)]
    pub work: Work,
}

/// What a pass does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "work", rename_all = "kebab-case")]
pub enum Work {
    /// Picks and places parts.
    Place {
        /// Nozzle layouts used by the trips: for each spindle the index of a nozzle kind of the line.
        layouts: Vec<Vec<Option<u32>>>,
        /// Trips in order.
        trips: Vec<Trip>,
    },
    /// Sets the adhesive dots of these tasks, in order.
    Dispense {
        /// Tasks that get their dots.
        tasks: Vec<TaskId>,
    },
    /// Looks at the panel at these points, in order.
    Inspect {
        /// Middles of the views, in the panel's frame.
        views: Vec<Point>,
    },
    /// Picks and places beat by beat with the drum of a turret.
    Turret {
        /// For each head of the drum the nozzle kinds of the line that it holds, as indices.
        nozzles: Vec<Vec<u32>>,
        /// What the head at the pick point does, beat by beat; nothing where it stays empty. Beat i (from 0)
        /// is that of head i mod the heads of the drum; its part is placed `gap` beats later.
        beats: Vec<Option<Beat>>,
    },
}

impl Work {
    /// Tasks placed, in the order of the program.
    pub fn placed(&self) -> impl Iterator<Item = TaskId> + '_ {
        let (trips, beats) = self.steps();
        trips.iter().flat_map(|t| &t.places).map(|p| p.task).chain(beats.iter().flatten().map(|b| b.task))
    }

    /// Supplies picked from, once for each part, in the order of the program.
    pub fn picked(&self) -> impl Iterator<Item = u32> + '_ {
        let (trips, beats) = self.steps();
        trips.iter().flat_map(|t| &t.strokes).flat_map(|s| &s.0).map(|p| p.supply).chain(beats.iter().flatten().map(|b| b.supply))
    }

    /// Trips and beats; one of the lists is empty.
    fn steps(&self) -> (&[Trip], &[Option<Beat>]) {
        match self {
            Self::Place { trips, .. } => (trips, &[]),
            Self::Turret { beats, .. } => (&[], beats),
            Self::Dispense { .. } | Self::Inspect { .. } => (&[], &[]),
        }
    }
}

/// One part picked and placed by a turret.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Beat {
    /// Index into the station's supplies.
    pub supply: u32,
    /// The task.
    pub task: TaskId,
}

/// One journey: pick up to N parts, sight them, place them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Trip {
    /// Index of the nozzle layout it is done with.
    pub layout: u32,
    /// Strokes at the feeders and trays, in order.
    pub strokes: Vec<Stroke>,
    /// Placements, in order.
    pub places: Vec<PlaceStep>,
    /// On a two-beam station: trips of the other beam that are placed before this one goes to the board.
    #[serde(default, skip_serializing_if = "is_none")]
    pub after: u32,
}

fn is_none(after: &u32) -> bool {
    *after == 0
}

/// One down-up of the head: picks one or several parts at once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Stroke(pub Vec<Pick>);

/// One part picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pick {
    /// Spindle, counted from 0.
    pub spindle: u8,
    /// Index into the station's supplies.
    pub supply: u32,
}

/// One part placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceStep {
    /// Spindle, counted from 0.
    pub spindle: u8,
    /// The task.
    pub task: TaskId,
}

/// A task that no station places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Unplaced {
    /// Reference and image, such as `C12` or `C12@3`.
    pub reference: String,
    /// The task.
    pub task: TaskId,
    /// Code of the reason; see the error index.
    pub code: String,
    /// The reason in a sentence.
    pub message: String,
}

/// Something that holds a plan back, with what it is worth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// In plain words.
    pub text: String,
    /// What the takt would gain at most without it [µs]; 0 when not a saving.
    pub worth_us: Time,
}

/// Where the seconds of a station go [µs each]. The sum of the parts is the whole.
///
/// At a two-beam station these are the seconds of the beam that is done last, its waiting included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Breakdown {
    /// Panel out, next panel in, clamping.
    pub transfer_us: Time,
    /// Marks, with the way to them.
    pub fiducials_us: Time,
    /// Ways to pockets, with settling.
    pub pick_travel_us: Time,
    /// Pick strokes.
    pub pick_strokes_us: Time,
    /// Waiting for a feeder to advance.
    pub feeder_wait_us: Time,
    /// Measuring picked parts, with the way to the camera.
    pub sight_us: Time,
    /// Ways to pads, with settling.
    pub place_travel_us: Time,
    /// Place strokes.
    pub place_strokes_us: Time,
    /// Turning a drum or a part beyond the way it could hide behind.
    pub index_us: Time,
    /// Changing nozzles, with the way to the rack.
    pub nozzle_change_us: Time,
    /// Changing heads, with the way there.
    pub head_swap_us: Time,
    /// Changing trays, as far as it is not hidden behind placing.
    pub tray_change_us: Time,
    /// Setting adhesive dots, with the ways.
    pub dispense_us: Time,
    /// Looking at areas, with the ways.
    pub inspection_us: Time,
    /// Waiting for the other beam.
    pub beam_wait_us: Time,
}

impl Breakdown {
    /// Names for people and values, in the order of work.
    pub fn items(&self) -> [(&'static str, Time); 15] {
        [
            ("transfer", self.transfer_us),
            ("fiducials", self.fiducials_us),
            ("pick travel", self.pick_travel_us),
            ("pick strokes", self.pick_strokes_us),
            ("feeder wait", self.feeder_wait_us),
            ("sight", self.sight_us),
            ("place travel", self.place_travel_us),
            ("place strokes", self.place_strokes_us),
            ("index and turn", self.index_us),
            ("nozzle change", self.nozzle_change_us),
            ("head swap", self.head_swap_us),
            ("tray change", self.tray_change_us),
            ("adhesive", self.dispense_us),
            ("inspection", self.inspection_us),
            ("waiting for the other beam", self.beam_wait_us),
        ]
    }

    /// Sum of all parts.
    pub fn total(&self) -> Time {
        self.items().into_iter().map(|(_, t)| t).sum()
    }
}

impl Plan {
    /// Reads a plan file.
    ///
    /// # Errors
    /// `plan.syntax` when it is no plan or is cut short, `plan.schema` when it is of another version.
    pub fn parse(file: &str, text: &str) -> Result<Self, Box<Finding>> {
        #[derive(Deserialize)]
        struct Version {
            schema: String,
        }
        let syntax = |e: serde_json::Error| Box::new(Finding::new(codes::plan::PLAN_SYNTAX, e.to_string()).at(file, e.line() as u32));
        let version: Version = serde_json::from_str(text).map_err(syntax)?;
        if version.schema != SCHEMA {
            return Err(Box::new(
                Finding::new(codes::plan::PLAN_SCHEMA, format!("this program reads `{SCHEMA}`")).at(file, 1).value(version.schema),
            ));
        }
        serde_json::from_str(text).map_err(syntax)
    }

    /// The job the plan is for.
    ///
    /// # Errors
    /// As [`Job::new`], when the inputs in the file are not sound.
    pub fn job(&self) -> Result<Job<'_>, Box<Finding>> {
        Job::new(&self.product, self.side, self.panel)
    }

    /// (takt − bound) / bound.
    pub fn gap(&self) -> f64 {
        if self.bound_us.0 > 0 { (self.takt_us.0 - self.bound_us.0) as f64 / self.bound_us.0 as f64 } else { 0.0 }
    }

    /// Number of tasks placed.
    pub fn placed(&self) -> usize {
        self.stations.iter().flat_map(|s| &s.passes).map(|p| p.work.placed().count()).sum()
    }
}

/// The slots a feeder covers, counted from 1.
pub fn covered_slots(slot: u32, feeder: &crate::line::FeederKind) -> std::ops::Range<u32> {
    slot..slot.saturating_add(feeder.slots)
}

/// Where the parts of a supply are picked, in the station's frame: the middle of the slots a
/// feeder covers, or the middle of the tray.
///
/// `None` when the supply refers to a bank, feeder or tray place that does not exist.
pub fn pick_point(line: &Line, station: usize, place: &SupplyPlace) -> Option<Point> {
    let station = line.station.get(station)?;
    match *place {
        SupplyPlace::Feeder { bank, slot, feeder } => {
            let (bank, feeder) = (station.bank.get(bank as usize)?, line.feeder.get(feeder as usize)?);
            // Twice the way from slot 1 to the middle, so that even widths stay exact before halving.
            let twice = 2 * (i64::from(slot) - 1) + i64::from(feeder.slots) - 1;
            Some(bank.first.point() + Point { x: Length(bank.pitch.0.0 * twice / 2), y: Length(0) })
        }
        SupplyPlace::Tray { tray, .. } => Some(station.tray.get(tray as usize)?.at.point()),
    }
}

/// Whether a head picks from a supply of its station: on a two-beam station only from those of its beam.
///
/// Not from one that refers to a bank or tray place that does not exist.
pub fn is_reached(station: &crate::line::Station, head: usize, place: &SupplyPlace) -> bool {
    let beam = match *place {
        SupplyPlace::Feeder { bank, .. } => station.bank.get(bank as usize).map(|b| b.beam),
        SupplyPlace::Tray { tray, .. } => station.tray.get(tray as usize).map(|t| t.beam),
    };
    beam.is_some_and(|b| station.reaches(head, b))
}
