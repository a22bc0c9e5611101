//! Timing trips of a station state with the clock.

use super::state::{PassState, PassWork, StationState, TripState};
use crate::problem::Problem;
use domain::line::HeadKind;
use domain::plan::PlaceStep;
use motion::{HeadState, PickStep, Tracker};
use units::{Point, Time};

/// Picks of one stroke may want reference points this far apart (`docs/planning.md` §1).
pub const STROKE_TOLERANCE: i64 = 100;

/// Scratch space for timing many trips without allocating.
#[derive(Debug)]
pub struct Timer {
    picks: Vec<PickStep>,
    wanted: Vec<(i64, i64, u8, u32)>,
    places: Vec<PlaceStep>,
    tracker: Tracker,
}

impl Timer {
    /// For a station with this many supplies and tray places.
    pub fn new(supplies: usize, trays: usize) -> Self {
        Self { picks: Vec::new(), wanted: Vec::new(), places: Vec::new(), tracker: Tracker::new(supplies, vec![0; trays]) }
    }

    /// The strokes of a trip, as the sweep asks.
    ///
    /// Inline heads take parts row by row and along X, those under their spindles at once in one
    /// stroke; drums in the order of their spindles.
    pub fn strokes(&mut self, p: &Problem<'_>, station: &StationState, head: usize, trip: &TripState) -> &[PickStep] {
        let (clock, kind) = (p.clock.station(station.station), p.line.station[station.station].head[head].kind);
        self.wanted.clear();
        self.picks.clear();
        for (s, cell) in trip.cells.iter().enumerate().filter(|(_, c)| c.busy()) {
            let at = station.setup.rows[cell.supply as usize].at;
            let want = clock.reference(head, s as u8, at);
            let (mut row, mut along) = if kind == HeadKind::Rotary { (0, s as i64) } else { (want.y.0, want.x.0) };
            if trip.sweep & 2 != 0 {
                row = -row;
            }
            if trip.sweep & 1 != 0 {
                along = -along;
            }
            self.wanted.push((row, along, s as u8, cell.supply));
        }
        self.wanted.sort_unstable();
        let mut opened: Option<(i64, i64)> = None;
        for (row, along, spindle, supply) in &self.wanted {
            let joins = kind == HeadKind::Inline
                && opened.is_some_and(|(r, a)| (r - row).abs() <= STROKE_TOLERANCE && (a - along).abs() <= STROKE_TOLERANCE);
            if !joins {
                opened = Some((*row, *along));
            }
            self.picks.push(PickStep { spindle: *spindle, supply: *supply, opens: !joins });
        }
        &self.picks
    }

    /// Time of one trip from where the head stands, its nozzle change included.
    pub fn trip(&mut self, p: &Problem<'_>, station: &StationState, pass: &PassState, i: usize, mut from: HeadState) -> Time {
        let trips = pass.trips();
        let trip = &trips[i];
        let mut changed = Time::ZERO;
        if pass.layouts.len() > 1 {
            let before = trips[if i == 0 { trips.len() - 1 } else { i - 1 }].layout;
            (changed, from.at) = change(p, station.station, pass, before, trip.layout, from.at);
        }
        self.strokes(p, station, pass.head, trip);
        self.places.clear();
        self.places.extend(trip.order.iter().map(|s| PlaceStep { spindle: *s, task: trip.cells[usize::from(*s)].task }));
        // Waiting for feeders picked in earlier trips is left to the full clock: a journey to the
        // board takes far longer than an advance.
        self.tracker.forget();
        let mut now = Time::ZERO;
        let clock = p.clock.station(station.station);
        let t =
            clock.trip(pass.head, &self.picks, &self.places, &station.setup.rows, p.clock.tasks(), &mut from, &mut self.tracker, &mut now);
        changed + t.total()
    }
}

/// Time and place after changing from one layout to another.
fn change(p: &Problem<'_>, station: usize, pass: &PassState, before: u32, after: u32, at: Point) -> (Time, Point) {
    let Some(rack) = &p.line.station[station].nozzle_rack else { return (Time::ZERO, at) };
    let (a, b) = (&pass.layouts[before as usize], &pass.layouts[after as usize]);
    let k = b.iter().zip(a).filter(|(new, old)| new.is_some() && new != old).count() as i64;
    if k == 0 {
        return (Time::ZERO, at);
    }
    let to = rack.at.point();
    (p.clock.station(station).travel(at, to, 100) + *rack.change * k, to)
}

/// Where the head stands after a trip.
pub fn end_of(p: &Problem<'_>, station: usize, head: usize, trip: &TripState) -> HeadState {
    let Some(last) = trip.order.last() else { return HeadState { at: Point::default(), drum: 0 } };
    let task = trip.cells[usize::from(*last)].task;
    HeadState { at: p.clock.station(station).reference(head, *last, p.clock.tasks()[task.index()].at), drum: *last }
}

/// Where the head stands before a pass begins.
pub fn start_of(p: &Problem<'_>, station: &StationState, pass: usize) -> HeadState {
    let at = match pass.checked_sub(1).map(|k| &station.passes[k]) {
        None => p.job.fiducials.last().copied().unwrap_or_default(),
        Some(before) if before.head != station.passes[pass].head => {
            p.line.station[station.station].head_swap.as_ref().map_or(Point::default(), |w| w.at.point())
        }
        Some(before) => match &before.work {
            PassWork::Trips(t) => t.last().map_or(Point::default(), |t| end_of(p, station.station, before.head, t).at),
            PassWork::Dots(tasks) => tasks.last().map_or(Point::default(), |t| p.clock.tasks()[t.index()].at),
            PassWork::Views(views) => views.last().copied().unwrap_or_default(),
        },
    };
    HeadState { at, drum: 0 }
}

/// Where the head stands before trip `i` of pass `pass`.
pub fn before_trip(p: &Problem<'_>, station: &StationState, pass: usize, i: usize) -> HeadState {
    if i == 0 {
        start_of(p, station, pass)
    } else {
        end_of(p, station.station, station.passes[pass].head, &station.passes[pass].trips()[i - 1])
    }
}

/// Times all trips anew and returns their sum.
pub fn time_all(p: &Problem<'_>, station: &mut StationState, timer: &mut Timer) -> Time {
    let mut sum = Time::ZERO;
    for k in 0..station.passes.len() {
        for i in 0..station.passes[k].trips().len() {
            let from = before_trip(p, station, k, i);
            let time = timer.trip(p, station, &station.passes[k], i, from);
            station.passes[k].trips_mut()[i].time = time;
            sum += time;
        }
    }
    sum
}
