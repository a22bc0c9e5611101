//! Two beams that share the board, played out: `docs/timing.md` §6.
//!
//! A beam that wants the board asks for it and waits until the other has left it. Nothing else of the
//! two touches: each has its own head, banks and tray places. So the whole panel is a sequence of
//! grants of the board, each to the beam that asked first; a trip that comes after some of the other
//! beam's asks when these are placed.

use crate::clock::{Clock, ClockError};
use crate::flat::{FlatPass, FlatTrip, changes, levels_left, nozzles_left};
use crate::record::{About, Cause, Piece, Record, Recording, Unrecorded};
use crate::rows::{HeadState, SupplyRow, Tracker};
use domain::job::TaskId;
use domain::line::Station;
use domain::plan::{Breakdown, StationPlan};
use units::{Point, Time};

/// What a beam does for a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Picks parts and has them measured, off the board.
    Fetching,
    /// Waits for the other beam to leave the board.
    Waiting,
    /// Holds the board: comes in, places, and leaves it for the rack or the next pocket.
    OnBoard,
}

/// A stretch of a panel in the life of one beam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Beam, 1 or 2.
    pub beam: u8,
    /// What it does.
    pub doing: Doing,
    /// From when [µs since the panel change began].
    pub from: Time,
    /// To when.
    pub to: Time,
}

/// A panel at a two-beam station, played out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Played {
    /// The seconds of the beam that is done last; of beam 1 if both are done at once.
    pub breakdown: Breakdown,
    /// When each beam has done its work [µs since the panel change began]; the later is the station's time.
    pub ends: [Time; 2],
    /// All tasks in the order in which they are placed.
    pub order: Vec<TaskId>,
    /// What each beam does when, beam by beam in the order of time.
    pub stretches: Vec<Stretch>,
}

/// Plays a panel out.
///
/// # Errors
/// When the beams wait for each other, or for a trip that the other does not make.
pub(crate) fn play(
    clock: &Clock<'_>,
    station: usize,
    plan: &StationPlan,
    supplies: &[SupplyRow],
    passes: &[FlatPass<'_>],
) -> Result<Played, ClockError> {
    played::<Unrecorded>(clock, station, plan, supplies, passes).map(|(p, _)| p)
}

/// Plays a panel out and keeps every piece of it; each beam's last piece ends when the later of them has done its work.
///
/// # Errors
/// As [`play`].
pub(crate) fn pieces(
    clock: &Clock<'_>,
    station: usize,
    plan: &StationPlan,
    supplies: &[SupplyRow],
    passes: &[FlatPass<'_>],
) -> Result<(Breakdown, [Vec<Piece>; 2]), ClockError> {
    let (played, beams) = played::<Recording>(clock, station, plan, supplies, passes)?;
    let end = played.ends[0].max(played.ends[1]);
    Ok((played.breakdown, beams.map(|beam| beam.pieces(end))))
}

/// A panel with its beams, who have told it piece by piece.
fn played<'c, 'p, R: Record + Default>(
    clock: &'c Clock<'c>,
    station: usize,
    plan: &StationPlan,
    supplies: &'c [SupplyRow],
    passes: &'c [FlatPass<'p>],
) -> Result<(Played, [Beam<'c, 'p, R>; 2]), ClockError> {
    let fixed = clock.fixed(station);
    let start = fixed.total();
    let mut beams = [1, 2].map(|number| Beam::<R>::new(clock, station, supplies, passes, number, start));
    // The first beam with work has looked at the marks and stands over the last of them.
    let at_marks = beams.iter().position(|b| !b.trips.is_empty());
    let looking = at_marks.unwrap_or(0);
    clock.fixed_noted(station, &mut beams[looking].record);
    beams[1 - looking].arrive(&fixed);
    let mut free = start;
    if let Some(k) = at_marks {
        beams[k].state.at = clock.job.fiducials.last().copied().unwrap_or_default();
        free = beams[k].fetch_next(true);
        let other = &mut beams[1 - k];
        if !other.trips.is_empty() {
            other.begin();
        }
    }
    let mut order = Vec::with_capacity(passes.iter().flat_map(|p| &p.trips).map(|t| t.places.len()).sum());
    loop {
        let asking = (0..2).filter_map(|k| Some((beams[k].asks_at(&beams[1 - k])?, k)));
        let Some((at, k)) = asking.min() else { break };
        free = beams[k].granted(free.max(at), &mut order);
    }
    if beams.iter().any(|b| b.want != Want::Nothing) {
        return Err(ClockError("beams that wait for each other".to_owned()));
    }
    let mut last: Option<Breakdown> = None;
    for beam in &mut beams {
        let passes = plan.passes.iter().filter(|p| beam.head == Some(p.head as usize));
        beam.b.tray_change_us += clock.stack_changes(station, plan, passes, &mut beam.record);
        if last.is_none_or(|l| beam.b.total() > l.total()) {
            last = Some(beam.b);
        }
    }
    let b = last.unwrap_or_default();
    let ends = [0, 1].map(|k| start + beams[k].b.total());
    let breakdown = Breakdown { transfer_us: fixed.transfer_us, fiducials_us: fixed.fiducials_us, ..b };
    let stretches = beams.iter_mut().flat_map(|b| std::mem::take(&mut b.stretches)).collect();
    Ok((Played { breakdown, ends, order, stretches }, beams))
}

/// What a beam wants the board for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Want {
    /// Nothing more: it is done.
    Nothing,
    /// Going to the rack for the next trip, from where it stands off the board.
    Rack,
    /// Placing the parts it carries.
    Placing,
}

/// One beam under way.
struct Beam<'c, 'p, R> {
    clock: &'c Clock<'c>,
    station: usize,
    sheet: &'c Station,
    supplies: &'c [SupplyRow],
    number: u8,
    head: Option<usize>,
    /// Its trips, each with a mark on the first of a pass.
    trips: Vec<(bool, &'c FlatTrip<'p>)>,
    /// The trip that is being fetched or placed.
    next: usize,
    want: Want,
    state: HeadState,
    /// When it asks for the board, or ended.
    now: Time,
    tracker: Tracker,
    fitted: &'p [Option<u32>],
    b: Breakdown,
    stretches: Vec<Stretch>,
    /// When each trip so far was placed.
    placed_at: Vec<Time>,
    record: R,
}

impl<'c, 'p, R: Record + Default> Beam<'c, 'p, R> {
    fn new(clock: &'c Clock<'c>, station: usize, supplies: &'c [SupplyRow], passes: &'c [FlatPass<'p>], number: u8, start: Time) -> Self {
        let sheet = &clock.line.station[station];
        let head = sheet.head.iter().position(|h| h.beam == Some(number));
        let mine: Vec<&FlatPass<'p>> = passes.iter().filter(|p| head == Some(p.pass.head as usize)).collect();
        let trips = mine.iter().flat_map(|p| p.trips.iter().enumerate().map(|(i, t)| (i == 0, t))).collect();
        Self {
            clock,
            station,
            sheet,
            supplies,
            number,
            head,
            trips,
            next: 0,
            want: Want::Nothing,
            state: HeadState { at: Point::default(), drum: 0 },
            now: start,
            tracker: Tracker::new(supplies.len(), levels_left(sheet.tray.len(), supplies, &mine)),
            fitted: head.map_or(&[], |h| nozzles_left(sheet.head.len(), &mine)[h]),
            b: Breakdown::default(),
            stretches: Vec::new(),
            placed_at: Vec::new(),
            record: R::default(),
        }
    }

    /// When it asks for the board; `None` as long as it does not, or as trips of the other must be placed before.
    fn asks_at(&self, other: &Self) -> Option<Time> {
        match self.want {
            Want::Nothing => None,
            Want::Rack => Some(self.now),
            Want::Placing => match self.trips[self.next].1.after as usize {
                0 => Some(self.now),
                n => other.placed_at.get(n - 1).map(|t| self.now.max(*t)),
            },
        }
    }

    fn head(&self) -> usize {
        self.head.expect("a beam with trips has a head")
    }

    /// Goes to the pocket of its first stroke during the panel change, and stands there while the other looks at the marks.
    fn arrive(&mut self, fixed: &Breakdown) {
        let home = self.home();
        if let Some((at, ..)) = home {
            self.state.at = at.at;
        }
        let about = || About { at: home.map(|(at, ..)| at.at), ..About::default() };
        self.record.note(Cause::Transfer, fixed.transfer_us, about);
        self.record.note(Cause::Fiducials, fixed.fiducials_us, about);
    }

    /// Sets out from where it stands after the panel change.
    fn begin(&mut self) {
        if self.needs_rack() {
            self.want = Want::Rack;
        } else {
            self.fetch_next(false);
        }
    }

    fn needs_rack(&self) -> bool {
        self.sheet.nozzle_rack.is_some() && changes(self.fitted, self.trips[self.next].1.layout) > 0
    }

    /// Given the board at `at`: does what it wants it for and all that follows until it asks again.
    /// Returns when it has left the board.
    fn granted(&mut self, at: Time, order: &mut Vec<TaskId>) -> Time {
        self.note(Doing::Waiting, self.now, at);
        self.b.beam_wait_us += at - self.now;
        self.record.note(Cause::BeamWait, at - self.now, About::default);
        self.now = at;
        if self.want == Want::Rack {
            return self.fetch_next(true);
        }
        let places = self.trips[self.next].1.places;
        let t = self.clock.stations[self.station].put_noted(self.head(), places, self.clock.tasks(), &mut self.state, &mut self.record);
        t.add_to(&mut self.b);
        self.now += t.total();
        order.extend(places.iter().map(|p| p.task));
        self.placed_at.push(self.now);
        self.next += 1;
        if self.next < self.trips.len() {
            return self.on_board(at, |beam| beam.fetch_next(true));
        }
        self.want = Want::Nothing;
        self.on_board(at, |beam| beam.now + beam.way_home())
    }

    /// Leaves the board as `leave` tells, having come at `from`; notes the stretch on the board.
    fn on_board(&mut self, from: Time, leave: impl FnOnce(&mut Self) -> Time) -> Time {
        let place = self.stretches.len();
        let left = leave(self);
        self.stretches.insert(place, Stretch { beam: self.number, doing: Doing::OnBoard, from, to: left });
        left
    }

    /// Changes nozzles and fetches the parts of the next trip, then asks for the board to place them.
    /// Returns when it stood over its first pocket, which is when it had left the board.
    fn fetch_next(&mut self, holds: bool) -> Time {
        let (clock, head) = (&self.clock.stations[self.station], self.head());
        let begun = self.now;
        let (opens, trip) = self.trips[self.next];
        if opens {
            self.state.drum = 0;
        }
        let changed = changes(self.fitted, trip.layout);
        if let (true, Some(rack)) = (changed > 0, &self.sheet.nozzle_rack) {
            let time = self.clock.nozzle_change(self.station, rack, changed, &mut self.state.at, &mut self.record);
            self.b.nozzle_change_us += time;
            self.now += time;
        }
        self.fitted = trip.layout;
        let mut left = self.now;
        if let Some(first) = trip.picks.first() {
            let (_, way, beyond) = clock.approach(head, *first, self.supplies, 100, &self.state);
            left += way + beyond;
        }
        let (supplies, tasks, now) = (self.supplies, self.clock.tasks(), self.now);
        let (state, tracker, record) = (&mut self.state, &mut self.tracker, &mut self.record);
        let t = clock.fetch_noted(head, &trip.picks, trip.places, supplies, tasks, state, tracker, now, record);
        t.add_to(&mut self.b);
        self.now += t.total();
        if holds && self.next == 0 {
            self.note(Doing::OnBoard, begun, left);
        }
        self.note(Doing::Fetching, if holds { left } else { begun }, self.now);
        self.want = Want::Placing;
        left
    }

    /// From the last pad to the pocket of the first stroke, where the next panel is waited for.
    fn way_home(&self) -> Time {
        self.home().map_or(Time::ZERO, |(_, way, beyond)| way + beyond)
    }

    /// From where it stands to the pocket of its first stroke, as [`crate::StationClock::approach`]; `None` without one.
    fn home(&self) -> Option<(HeadState, Time, Time)> {
        let first = self.trips.first()?.1.picks.first()?;
        Some(self.clock.stations[self.station].approach(self.head(), *first, self.supplies, 100, &self.state))
    }

    fn note(&mut self, doing: Doing, from: Time, to: Time) {
        if to > from {
            self.stretches.push(Stretch { beam: self.number, doing, from, to });
        }
    }
}

impl Beam<'_, '_, Recording> {
    /// All it did. Done before `end`, it waits over the pocket of its first stroke, if there is time to go there.
    fn pieces(mut self, end: Time) -> Vec<Piece> {
        if let Some((home, way, beyond)) = self.home()
            && self.record.now() + way + beyond <= end
        {
            self.record.note(Cause::BeamWait, way + beyond, || About { at: Some(home.at), ..About::default() });
        }
        self.record.until(end)
    }
}
