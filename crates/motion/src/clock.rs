//! The clock of a whole line for one job.

use crate::flat::{FlatPass, changes, levels_left, nozzles_left};
use crate::record::{About, Cause, Record, Unrecorded};
use crate::rows::{HeadState, SupplyRow, TaskRow, Tracker};
use crate::station::StationClock;
use crate::two_beam::{self, Played};
use domain::job::Job;
use domain::line::{Line, NozzleRack, StationKind, TrayKind};
use domain::plan::{Breakdown, Pass, StationPlan, SupplyAt, SupplyPlace, Work, pick_point};
use units::{Point, Time};

/// A plan refers to something that does not exist; the text names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockError(pub String);

/// The clock of a line for one job.
#[derive(Clone, Debug)]
pub struct Clock<'a> {
    pub(crate) job: &'a Job<'a>,
    pub(crate) line: &'a Line,
    pub(crate) stations: Vec<StationClock>,
    tasks: Vec<TaskRow>,
}

/// A panel under way at a station.
struct Running<'p> {
    /// Reference point of the head.
    at: Point,
    /// Time since the panel arrived.
    now: Time,
    tracker: Tracker,
    /// For each head the nozzle layout of its last trip.
    fitted: Vec<&'p [Option<u32>]>,
}

impl<'a> Clock<'a> {
    /// The clock of `line`, a checked sheet, for `job`.
    pub fn new(line: &'a Line, job: &'a Job<'a>) -> Self {
        Self { job, line, stations: line.station.iter().map(StationClock::new).collect(), tasks: TaskRow::of(job) }
    }

    /// The clock of one station.
    pub fn station(&self, station: usize) -> &StationClock {
        &self.stations[station]
    }

    /// The rows of all tasks.
    pub fn tasks(&self) -> &[TaskRow] {
        &self.tasks
    }

    /// What a panel costs a station whatever it does there: transfer, clamping, marks.
    pub fn fixed(&self, station: usize) -> Breakdown {
        self.fixed_noted(station, &mut Unrecorded)
    }

    /// [`Self::fixed`], told piece by piece, of the head that looks at the marks: it goes to the first meanwhile.
    pub(crate) fn fixed_noted<R: Record>(&self, station: usize, record: &mut R) -> Breakdown {
        let s = &self.line.station[station];
        let transfer_us = *s.transfer + *s.clamp;
        record.note(Cause::Transfer, transfer_us, || About { at: self.job.fiducials.first().copied(), ..About::default() });
        let fiducials_us = self.stations[station].marks_noted(&self.job.fiducials, record);
        Breakdown { transfer_us, fiducials_us, ..Breakdown::default() }
    }

    /// The clock's row of a supply standing at a station.
    ///
    /// # Errors
    /// When the bank, feeder kind, tray place or part does not exist.
    pub fn supply_row(&self, station: usize, supply: &SupplyAt) -> Result<SupplyRow, ClockError> {
        let unknown = || ClockError(format!("supply of part {} at station {}", supply.part.0, station + 1));
        let at = pick_point(self.line, station, &supply.place).ok_or_else(unknown)?;
        let part = self.job.product.parts.get(supply.part.index()).ok_or_else(unknown)?;
        Ok(match supply.place {
            SupplyPlace::Feeder { feeder, .. } => {
                let kind = self.line.feeder.get(feeder as usize).ok_or_else(unknown)?;
                let (pitch, step) = (part.tape_pitch_um.value.0, kind.advance_step.0.0.max(1));
                // A stick feeder shakes one part forward whatever its pitch.
                let steps = if kind.supply == domain::part::Supply::Tape { ((pitch + step - 1) / step).max(1) } else { 1 };
                SupplyRow { at, advance: *kind.advance * steps, magazine: None }
            }
            SupplyPlace::Tray { tray, level } => {
                let place = self.line.station[station].tray.get(tray as usize).ok_or_else(unknown)?;
                SupplyRow { at, advance: Time::ZERO, magazine: (place.kind == TrayKind::Magazine).then_some((tray, level)) }
            }
        })
    }

    /// Times a station's plan.
    ///
    /// With alternating passes both orders are timed and the slower counts; each finds nozzles and
    /// magazine levels as the other order leaves them. Two beams are played out ([`Self::two_beams`]).
    ///
    /// # Errors
    /// When the plan refers to a head, supply, spindle or task that does not exist, or asks a station for
    /// work that its kind cannot do.
    pub fn time(&self, station: usize, plan: &StationPlan) -> Result<Breakdown, ClockError> {
        if self.line.station[station].kind == StationKind::TwoBeam {
            return self.two_beams(station, plan).map(|p| p.breakdown);
        }
        let (supplies, passes) = self.flatten(station, plan)?;
        let forward: Vec<&FlatPass<'_>> = passes.iter().collect();
        if !plan.alternating {
            return Ok(self.run(station, plan, &supplies, &forward, &forward, &mut Unrecorded));
        }
        let backward: Vec<&FlatPass<'_>> = passes.iter().rev().collect();
        let there = self.run(station, plan, &supplies, &forward, &backward, &mut Unrecorded);
        let back = self.run(station, plan, &supplies, &backward, &forward, &mut Unrecorded);
        Ok(if back.total() > there.total() { back } else { there })
    }

    /// Plays out a panel at a two-beam station: who waits for whom, and in which order parts are placed.
    ///
    /// # Errors
    /// As [`Self::time`]; also when the station has not two beams, or when they wait for each other for ever.
    pub fn two_beams(&self, station: usize, plan: &StationPlan) -> Result<Played, ClockError> {
        if self.line.station[station].kind != StationKind::TwoBeam {
            return Err(ClockError("beams of a station that has not two".to_owned()));
        }
        let (supplies, passes) = self.flatten(station, plan)?;
        two_beam::play(self, station, plan, &supplies, &passes)
    }

    pub(crate) fn flatten<'p>(&self, station: usize, plan: &'p StationPlan) -> Result<(Vec<SupplyRow>, Vec<FlatPass<'p>>), ClockError> {
        let supplies = plan.supplies.iter().map(|s| self.supply_row(station, s)).collect::<Result<Vec<_>, _>>()?;
        let flat = |p: &'p Pass| FlatPass::new(self, &self.line.station[station], p, supplies.len());
        let passes = plan.passes.iter().map(flat).collect::<Result<Vec<_>, _>>()?;
        Ok((supplies, passes))
    }

    /// One panel with the passes in this order, after a panel with the passes in the order `before`.
    pub(crate) fn run<'p, R: Record>(
        &self,
        station: usize,
        plan: &StationPlan,
        supplies: &[SupplyRow],
        passes: &[&FlatPass<'p>],
        before: &[&FlatPass<'p>],
        record: &mut R,
    ) -> Breakdown {
        let (clock, sheet) = (&self.stations[station], &self.line.station[station]);
        let mut b = self.fixed_noted(station, record);
        b.tray_change_us = self.stack_changes(station, plan, plan.passes.iter(), record);
        let mut running = Running {
            // The head travels to the first mark during the transfer, which is longer than any way.
            at: self.job.fiducials.last().copied().unwrap_or_default(),
            now: b.total(),
            tracker: Tracker::new(supplies.len(), levels_left(sheet.tray.len(), supplies, before)),
            fitted: nozzles_left(sheet.head.len(), before),
        };
        for (k, flat) in passes.iter().enumerate() {
            if k > 0 && passes[k - 1].pass.head != flat.pass.head {
                b.head_swap_us += self.swap(station, &mut running.at, flat.pass.head, record);
                running.now = b.total();
            }
            match &flat.pass.work {
                Work::Place { .. } => self.place(station, flat, supplies, &mut running, &mut b, record),
                Work::Dispense { tasks } => {
                    let dots = tasks.iter().map(|t| {
                        let row = &self.tasks[t.index()];
                        (Some(*t), row.at, self.job.product.parts[row.part as usize].adhesive_dots.value)
                    });
                    b.dispense_us += clock.dots_noted(flat.pass.head as usize, dots, &mut running.at, record);
                }
                Work::Inspect { views } => {
                    let each = sheet.inspection.as_ref().map_or(Time::ZERO, |i| *i.time);
                    b.inspection_us += clock.looks_noted(views, each, &mut running.at, Cause::Inspection, record);
                }
                Work::Turret { .. } => {
                    let drum = clock.drum().expect("flattening refuses beats of other stations");
                    let Running { at, now, tracker, .. } = &mut running;
                    drum.run_noted(clock, flat.beats(), (supplies, &self.tasks), at, tracker, *now, record).add_to(&mut b);
                }
            }
            running.now = b.total();
        }
        if let (Some(first), Some(last), false) = (passes.first(), passes.last(), plan.alternating)
            && first.pass.head != last.pass.head
        {
            b.head_swap_us += self.swap(station, &mut running.at, first.pass.head, record);
        }
        b
    }

    /// Way to the place where heads are changed, and the change to `head`; the head ends there.
    fn swap<R: Record>(&self, station: usize, at: &mut Point, head: u32, record: &mut R) -> Time {
        let Some(swap) = &self.line.station[station].head_swap else { return Time::ZERO };
        let to = swap.at.point();
        let way = self.stations[station].travel(*at, to, 100);
        *at = to;
        record.note(Cause::HeadSwap, way, || About { at: Some(to), ..About::default() });
        record.note(Cause::HeadSwap, *swap.time, || About { at: Some(to), head: Some(head), ..About::default() });
        way + *swap.time
    }

    /// Way to the rack at 100 %, and the change of the nozzles of so many spindles; the head ends there.
    pub(crate) fn nozzle_change<R: Record>(
        &self,
        station: usize,
        rack: &NozzleRack,
        spindles: i64,
        at: &mut Point,
        record: &mut R,
    ) -> Time {
        let to = rack.at.point();
        let (way, change) = (self.stations[station].travel(*at, to, 100), *rack.change * spindles);
        *at = to;
        let about = || About { at: Some(to), ..About::default() };
        record.note(Cause::NozzleChange, way, about);
        record.note(Cause::NozzleChange, change, about);
        way + change
    }

    fn place<'p, R: Record>(
        &self,
        station: usize,
        flat: &FlatPass<'p>,
        supplies: &[SupplyRow],
        running: &mut Running<'p>,
        b: &mut Breakdown,
        record: &mut R,
    ) {
        let clock = &self.stations[station];
        let head = flat.pass.head as usize;
        let Running { at, now, tracker, fitted } = running;
        let mut state = HeadState { at: *at, drum: 0 };
        for trip in &flat.trips {
            let changed = changes(fitted[head], trip.layout);
            if changed > 0
                && let Some(rack) = &self.line.station[station].nozzle_rack
            {
                let time = self.nozzle_change(station, rack, changed, &mut state.at, record);
                b.nozzle_change_us += time;
                *now += time;
            }
            fitted[head] = trip.layout;
            let t = clock.trip_noted(head, &trip.picks, trip.places, supplies, &self.tasks, &mut state, tracker, now, record);
            t.add_to(b);
        }
        *at = state.at;
    }

    /// Used trays put aside: each stack's change, in proportion to the pockets that these passes empty in a panel.
    pub(crate) fn stack_changes<'p, R: Record>(
        &self,
        station: usize,
        plan: &StationPlan,
        passes: impl Iterator<Item = &'p Pass>,
        record: &mut R,
    ) -> Time {
        let mut picked = vec![0i64; plan.supplies.len()];
        for supply in passes.flat_map(|p| p.work.picked()) {
            picked[supply as usize] += 1;
        }
        let mut total = Time::ZERO;
        for (k, (supply, n)) in plan.supplies.iter().zip(picked).enumerate() {
            if let SupplyPlace::Tray { tray, .. } = supply.place {
                let place = &self.line.station[station].tray[tray as usize];
                if place.kind == TrayKind::Stack {
                    let pockets = i64::from(self.job.product.parts[supply.part.index()].tray_pockets.value.max(1));
                    let time = Time((place.change.0.0 * n + pockets - 1) / pockets);
                    total += time;
                    record.note(Cause::TrayChange, time, || About { supply: Some(k as u32), ..About::default() });
                }
            }
        }
        total
    }
}
