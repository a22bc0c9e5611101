//! A station's program played in true time, for a picture that moves.
//!
//! The clock tells what each beam does from the moment the panel change begins to the end of the panel; here that
//! gets the names that people know. All places are in the frame of the board picture (`draw::board`), which is the
//! panel's and the station's: origin at the lower left corner of the panel as it lies in the machine, X along the
//! line, Y away from the front, in micrometres. Banks, trays, cameras and racks lie around the panel in the same frame.
//!
//! Whoever draws it moves a beam, over the time of a step, from where the step before ended to where this one ends; a
//! step without a place leaves it where it is. The first step goes on from the last of the panel before, which did the
//! same (with alternating passes: from the last of the other order).

use crate::check::{missing, sound, stands};
use diag::{Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::{Station, StationKind, TrayKind};
use domain::plan::{Breakdown, Plan, StationPlan, SupplyPlace};
use draw::bank::slots_words;
use motion::{About, Cause, Clock, Piece};
use serde::Serialize;
use units::{Length, Time};

/// A panel at a station, played in true time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Play {
    /// Name of the station.
    pub station: String,
    /// The station's time per panel [µs], as [`crate::check::time`] gives it.
    ///
    /// Of alternating passes it is the time of the slower order; the panel of the quicker one ends with a wait.
    pub period_us: Time,
    /// What each beam does. A gantry and a turret have one; a two-beam station has two.
    pub beams: Vec<BeamPlay>,
    /// What the beams do with the next panel, if the passes alternate: the same passes backward. Then every other panel
    /// runs so. Empty, and left out of JSON, if they do not: then every panel runs as `beams`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub back: Vec<BeamPlay>,
}

/// A panel in the life of one beam.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BeamPlay {
    /// `beam`; `beam 1` and `beam 2`; of a turret `drum`.
    pub name: String,
    /// Name of the head it begins with; `None`, and left out of JSON, if it has no work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
    /// What it does, without a gap from 0 to the period. The steps of the beam (of alternating passes: of the order) that
    /// sets the station's time sum, [`Doing`] by [`Doing`], to the station's breakdown; another one waits at the end.
    pub steps: Vec<Step>,
}

/// A stretch of time in which a beam does one thing. What is `None` is left out of JSON.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// From when [µs since the panel change began]; where the step before ended.
    pub from_us: Time,
    /// To when. A step may take no time: a part picked in the stroke of another, which it ends with, and at a turret
    /// a part picked beside a longer place stroke.
    pub until_us: Time,
    /// What it does.
    pub doing: Doing,
    /// Where the step ends along X [µm, panel frame]: the point under the working spindle, the needle or the camera, so
    /// over a pad the pad itself; at a turret the point of the panel under the drum, whose table moves. `None` where
    /// nothing moves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub x_um: Option<Length>,
    /// The same along Y [µm, panel frame].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub y_um: Option<Length>,
    /// How far the working spindle stands from the head's reference point along X [µm]: the reference point, spindle 0
    /// of an inline head, is at `x_um - shift_um`, `y_um`. 0 of all other heads, and then left out of JSON.
    #[serde(skip_serializing_if = "is_zero")]
    pub shift_um: Length,
    /// Spindle at work, counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spindle: Option<u8>,
    /// The task that the step is for, `C12` or `C12@3`: picked for, measured, placed, dotted, and on the ways there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    /// Number of the part picked, measured or placed, or of that of a tray changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Where it is picked or waited for, in words: `front 7`, `front 7–8` of a wide feeder, `tower, level 3`, `shelf`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slot: Option<String>,
    /// Name of the head taken up in a change of heads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
    /// Beat of a turret, counted from 0. A beat is one to seven steps; what hides behind something longer is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beat: Option<u32>,
}

fn is_zero(length: &Length) -> bool {
    *length == Length::ZERO
}

/// What a beam does: one word for each part of [`Breakdown::items`], in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Doing {
    /// Panel out, next panel in, clamping. The head goes to the first mark meanwhile, a second beam to its first pocket.
    Transfer,
    /// Goes to a mark and looks at it; a second beam stands over its first pocket meanwhile.
    Mark,
    /// The way to a pocket with its settling; at a turret what the carriage comes late.
    ToPick,
    /// Picks a part.
    Pick,
    /// Waits for a feeder to advance.
    FeederWait,
    /// Goes to the camera, has a part measured there; or has all of them measured in flight.
    Sight,
    /// The way to a pad with its settling; at a turret what the table comes late.
    ToPlace,
    /// Places a part.
    Place,
    /// Turns the drum or a part, as far as the way does not hide it.
    Turn,
    /// Goes to the rack and changes nozzles there.
    NozzleChange,
    /// Goes to the head changer and changes the head there.
    HeadSwap,
    /// Waits for the level of a magazine, or a used tray is put aside.
    TrayChange,
    /// Goes to a pad and sets its dots.
    Dot,
    /// Goes to a view and looks at it.
    Look,
    /// Waits for the other beam to leave the board; done, for the end of the station's time.
    Wait,
}

impl Doing {
    /// Its name for people, that of its part of a breakdown.
    pub fn words(self) -> &'static str {
        Breakdown::default().items()[self as usize].0
    }

    fn of(cause: Cause) -> Self {
        match cause {
            Cause::Transfer => Self::Transfer,
            Cause::Fiducials => Self::Mark,
            Cause::PickTravel => Self::ToPick,
            Cause::PickStrokes => Self::Pick,
            Cause::FeederWait => Self::FeederWait,
            Cause::Sight => Self::Sight,
            Cause::PlaceTravel => Self::ToPlace,
            Cause::PlaceStrokes => Self::Place,
            Cause::Index => Self::Turn,
            Cause::NozzleChange => Self::NozzleChange,
            Cause::HeadSwap => Self::HeadSwap,
            Cause::TrayChange => Self::TrayChange,
            Cause::Dispense => Self::Dot,
            Cause::Inspection => Self::Look,
            Cause::BeamWait => Self::Wait,
        }
    }
}

/// Plays the program of a station, counted from 0 in the order of the line.
///
/// # Errors
/// `use.arguments` when the plan has no such station; else as [`crate::check::time`], of this station alone: when the
/// plan's inputs are unsound or its program refers to what does not exist.
pub fn play(plan: &Plan, station: usize) -> Result<Play, Box<Finding>> {
    let Some(planned) = plan.stations.get(station) else {
        let text = format!("the plan has {} stations, so there is no station {} to play", plan.stations.len(), station + 1);
        return Err(Box::new(Finding::new(codes::plan::USAGE, text)));
    };
    sound(plan)?;
    let job = plan.job()?;
    stands(plan, station)?;
    let course = Clock::new(&plan.line, &job).course(station, planned).map_err(missing)?;
    let words = Words { plan, job: &job, planned, sheet: &plan.line.station[station] };
    let beams = |beams: &[Vec<Piece>], back: bool| beams.iter().enumerate().map(|(k, pieces)| words.beam(k, pieces, back)).collect();
    Ok(Play {
        station: planned.station.clone(),
        period_us: course.period(),
        beams: beams(&course.beams, false),
        back: beams(&course.back, true),
    })
}

/// What the names of a station's program are looked up in.
struct Words<'a> {
    plan: &'a Plan,
    job: &'a Job<'a>,
    planned: &'a StationPlan,
    sheet: &'a Station,
}

impl Words<'_> {
    fn beam(&self, index: usize, pieces: &[Piece], back: bool) -> BeamPlay {
        let steps = pieces.iter().map(|p| self.step(p)).collect();
        let passes = &self.planned.passes;
        let (name, head) = match self.sheet.kind {
            StationKind::TwoBeam => {
                let own = |h: u32| self.sheet.head.get(h as usize).is_some_and(|h| h.beam.map(usize::from) == Some(index + 1));
                (format!("beam {}", index + 1), passes.iter().map(|p| p.head).find(|h| own(*h)))
            }
            kind => {
                let first = if back { passes.last() } else { passes.first() };
                (if kind == StationKind::Turret { "drum" } else { "beam" }.to_owned(), first.map(|p| p.head))
            }
        };
        BeamPlay { name, head: head.and_then(|h| self.head(h)), steps }
    }

    fn step(&self, piece: &Piece) -> Step {
        let About { at, shift, head, spindle, task, supply, beat } = piece.about;
        Step {
            from_us: piece.from,
            until_us: piece.until,
            doing: Doing::of(piece.cause),
            x_um: at.map(|p| p.x),
            y_um: at.map(|p| p.y),
            shift_um: shift,
            spindle,
            reference: task.map(|t| self.job.name(t)),
            part: self.part(task, supply),
            slot: supply.and_then(|s| self.slot(s)),
            head: head.filter(|_| piece.cause == Cause::HeadSwap).and_then(|h| self.head(h)),
            beat,
        }
    }

    fn head(&self, head: u32) -> Option<String> {
        self.sheet.head.get(head as usize).map(|h| h.name.clone())
    }

    /// Number of the supply's part; without a supply that of the task's.
    fn part(&self, task: Option<TaskId>, supply: Option<u32>) -> Option<String> {
        let supplied = supply.and_then(|s| self.planned.supplies.get(s as usize)).map(|s| s.part);
        let part = supplied.or_else(|| task.map(|t| self.job.tasks[t.index()].part))?;
        self.plan.product.parts.get(part.index()).map(|p| p.number.clone())
    }

    fn slot(&self, supply: u32) -> Option<String> {
        Some(match self.planned.supplies.get(supply as usize)?.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let bank = self.sheet.bank.get(bank as usize)?;
                format!("{} {}", bank.name, slots_words(slot, self.plan.line.feeder.get(feeder as usize)))
            }
            SupplyPlace::Tray { tray, level } => {
                let tray = self.sheet.tray.get(tray as usize)?;
                if tray.kind == TrayKind::Magazine { format!("{}, level {level}", tray.name) } else { tray.name.clone() }
            }
        })
    }
}
