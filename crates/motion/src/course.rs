//! A panel at a station as it runs in time: what each beam does from the panel change to its end.
//!
//! The pieces are those that the clock adds up; nothing is timed here.

use crate::clock::{Clock, ClockError};
use crate::flat::FlatPass;
use crate::record::{Piece, Recording};
use crate::two_beam;
use domain::line::StationKind;
use domain::plan::{Breakdown, StationPlan};
use units::Time;

/// A panel as it runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// The station's seconds, as [`Clock::time`] gives them.
    pub breakdown: Breakdown,
    /// What each beam does, beam by beam. Its pieces follow each other without a gap, from 0 to [`Self::period`].
    pub beams: Vec<Vec<Piece>>,
    /// The same of the next panel, which runs the passes backward, if they alternate; else empty.
    pub back: Vec<Vec<Piece>>,
}

impl Course {
    /// The station's time per panel [µs].
    pub fn period(&self) -> Time {
        self.breakdown.total()
    }
}

impl Clock<'_> {
    /// A panel of a station's plan as it runs in time.
    ///
    /// Who is done before the station's time is over waits until then: a beam for the later one, and of alternating
    /// passes the panel of the quicker order. With the wait the pieces of such a panel are more than its own work;
    /// those of the other sum, cause by cause, to the breakdown.
    ///
    /// # Errors
    /// As [`Self::time`].
    pub fn course(&self, station: usize, plan: &StationPlan) -> Result<Course, ClockError> {
        let (supplies, passes) = self.flatten(station, plan)?;
        if self.line.station[station].kind == StationKind::TwoBeam {
            let (breakdown, beams) = two_beam::pieces(self, station, plan, &supplies, &passes)?;
            return Ok(Course { breakdown, beams: beams.into(), back: Vec::new() });
        }
        let run = |passes: &[&FlatPass<'_>], before: &[&FlatPass<'_>]| {
            let mut record = Recording::default();
            (self.run(station, plan, &supplies, passes, before, &mut record), record)
        };
        let forward: Vec<&FlatPass<'_>> = passes.iter().collect();
        if !plan.alternating {
            let (breakdown, record) = run(&forward, &forward);
            return Ok(Course { breakdown, beams: vec![record.until(breakdown.total())], back: Vec::new() });
        }
        let backward: Vec<&FlatPass<'_>> = passes.iter().rev().collect();
        let ((there, first), (back, second)) = (run(&forward, &backward), run(&backward, &forward));
        let breakdown = if back.total() > there.total() { back } else { there };
        let end = breakdown.total();
        Ok(Course { breakdown, beams: vec![first.until(end)], back: vec![second.until(end)] })
    }
}
