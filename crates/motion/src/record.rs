//! What the clock tells beside its sums: piece after piece, as it adds them.
//!
//! The sums are the definition of time. Whoever only wants them passes [`Unrecorded`], of which nothing is left
//! after compiling; [`Recording`] keeps the pieces for those who want to see the panel run ([`crate::Course`]).

use domain::job::TaskId;
use units::{Length, Point, Time};

/// What a piece of time goes to: the parts of [`Breakdown::items`](domain::plan::Breakdown::items), in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Panel out, next panel in, clamping.
    Transfer,
    /// Marks, with the way to them.
    Fiducials,
    /// Ways to pockets, with settling.
    PickTravel,
    /// Pick strokes.
    PickStrokes,
    /// Waiting for a feeder to advance.
    FeederWait,
    /// Measuring picked parts, with the way to the camera.
    Sight,
    /// Ways to pads, with settling.
    PlaceTravel,
    /// Place strokes.
    PlaceStrokes,
    /// Turning a drum or a part beyond the way it could hide behind.
    Index,
    /// Changing nozzles, with the way to the rack.
    NozzleChange,
    /// Changing heads, with the way there.
    HeadSwap,
    /// Changing trays.
    TrayChange,
    /// Setting adhesive dots, with the ways.
    Dispense,
    /// Looking at areas, with the ways.
    Inspection,
    /// Waiting for the other beam.
    BeamWait,
}

impl Cause {
    /// Whether a piece that takes no time still happens: a part is taken or set down, dots are set.
    fn is_deed(self) -> bool {
        matches!(self, Self::PickStrokes | Self::PlaceStrokes | Self::Dispense)
    }
}

/// What a piece is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Where the piece ends, in the station's frame [µm]: the point under the working spindle, needle or camera; at a
    /// turret the point of the panel under the drum. `None` when nothing moves.
    pub at: Option<Point>,
    /// How far along X the head's reference point stands before [`Self::at`] [µm]; 0 for all but inline heads.
    pub shift: Length,
    /// Index of the head in the station's list; in a change of heads the one taken up.
    pub head: Option<u32>,
    /// Spindle at work, counted from 0.
    pub spindle: Option<u8>,
    /// The task whose part is picked, measured or placed, or that gets its dots.
    pub task: Option<TaskId>,
    /// Index of the supply picked from or waited for.
    pub supply: Option<u32>,
    /// Beat of a turret, counted from 0.
    pub beat: Option<u32>,
}

/// A stretch of time in which a beam does one thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// From when [µs since the panel change began].
    pub from: Time,
    /// To when; never before `from`.
    pub until: Time,
    /// What the time goes to.
    pub cause: Cause,
    /// What it is about.
    pub about: About,
}

/// Who is told of every piece of time that the clock adds, in the order in which it passes.
pub(crate) trait Record {
    /// `time` more goes to `cause`; `about` tells the rest to whoever keeps it.
    fn note(&mut self, cause: Cause, time: Time, about: impl FnOnce() -> About);
}

/// Keeps nothing.
#[derive(Default)]
pub(crate) struct Unrecorded;

impl Record for Unrecorded {
    #[inline(always)]
    fn note(&mut self, _: Cause, _: Time, _: impl FnOnce() -> About) {}
}

/// Keeps every piece.
#[derive(Default)]
pub(crate) struct Recording {
    pieces: Vec<Piece>,
    now: Time,
}

impl Record for Recording {
    fn note(&mut self, cause: Cause, time: Time, about: impl FnOnce() -> About) {
        let about = about();
        if time > Time::ZERO || (cause.is_deed() && about.task.is_some()) {
            self.pieces.push(Piece { from: self.now, until: self.now + time, cause, about });
            self.now += time;
        }
    }
}

impl Recording {
    /// End of the last piece [µs since the panel change began].
    pub(crate) fn now(&self) -> Time {
        self.now
    }

    /// All pieces, with a wait where they are until `end`.
    pub(crate) fn until(mut self, end: Time) -> Vec<Piece> {
        self.note(Cause::BeamWait, end - self.now, About::default);
        self.pieces
    }
}
