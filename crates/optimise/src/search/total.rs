//! Adding up the pieces to exactly what the full clock says (`docs/timing.md` §4 and §5).
//!
//! Every trip keeps its pieces; a move times anew only what it touched, the lead of the trip after, and what
//! a late feeder passes on. The beginnings of passes, swaps of heads and the two directions of alternating
//! passes are the *edges*, a few ways added anew when an end of a pass changes. Where a magazine presents
//! several levels, or a feeder's lateness outlives a pass, the station is *walked* trip by trip instead,
//! using every piece that does not depend on what came before.

use super::Search;
use super::journal::{ALL, LEAD, PICKS, PLACES};
use crate::station::state::PassWork;
use crate::station::timing::Levels;
use domain::plan::SupplyPlace;
use motion::HeadState;
use std::collections::BTreeSet;
use units::Point;

/// Times of one trip [µs].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Pieces {
    /// From the end of the trip before, nozzle change included, to the first pocket; 0 for the first trip of a
    /// pass, whose lead is an edge.
    pub lead: i64,
    /// From there to the end of the last stroke.
    pub picks: i64,
    /// Measuring and placing.
    pub places: i64,
    /// How long after its end the last of its feeders is ready; 0 or less when all are.
    late: i64,
    /// Whether feeders of the trip before were late.
    follows_late: bool,
    /// Whether something is picked from a magazine.
    in_magazine: bool,
    /// Percent of the most delicate part aboard.
    pub pace: u8,
}

impl Pieces {
    /// All of it.
    pub(super) fn sum(&self) -> i64 {
        self.lead + self.picks + self.places
    }
}

/// Sums over a station [µs].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Sums {
    /// Pieces of all trips.
    inner: i64,
    /// Beginnings of passes and swaps, in the slower direction.
    edges: i64,
    /// Whether a feeder's lateness outlives a pass.
    outlives: bool,
    /// What does not depend on the order of the work.
    always: i64,
    /// Whether a magazine presents several levels.
    several_levels: bool,
    /// The station's time.
    pub total: i64,
}

#[cfg(test)]
impl Sums {
    /// Whether the total comes from a walk.
    pub(super) fn is_walked(&self) -> bool {
        self.outlives || self.several_levels
    }
}

#[cfg(test)]
impl Search<'_> {
    /// Whether no trip has to wait for what trips before it have left.
    pub(super) fn waits_for_none(&self) -> bool {
        !self.sums.is_walked() && self.pieces.iter().flatten().all(|x| x.late <= 0 && !x.follows_late)
    }
}

/// A panel on its way through the passes.
struct Cursor {
    stand: HeadState,
    head: Option<usize>,
    /// Whether the pass before placed, and with which layouts.
    before: Option<usize>,
    /// For each head the pass and trip whose layout it holds.
    fitted: Vec<Option<(usize, usize)>>,
}

impl Search<'_> {
    /// The trip with work before this one in its pass.
    pub(super) fn before(&self, pass: u32, trip: u32) -> Option<u32> {
        (0..trip).rev().find(|i| !self.trips(pass)[*i as usize].order.is_empty())
    }

    /// The trip with work after this one in its pass.
    pub(super) fn after(&self, pass: u32, trip: u32) -> Option<u32> {
        let trips = self.trips(pass);
        (trip + 1..trips.len() as u32).find(|i| !trips[*i as usize].order.is_empty())
    }

    /// Times everything anew.
    pub(super) fn time_all(&mut self) {
        self.pieces = self.state.passes.iter().map(|x| vec![Pieces::default(); x.trips().len()]).collect();
        self.marks = self.state.passes.iter().map(|x| vec![0; x.trips().len()]).collect();
        self.sums = Sums::default();
        for pass in 0..self.state.passes.len() as u32 {
            for trip in 0..self.trips(pass).len() as u32 {
                self.time_pieces(pass, trip, ALL);
            }
        }
        self.look_at_trays();
        self.add_edges();
        self.add_up();
    }

    /// Times what the move has touched, and adds up.
    pub(super) fn retime(&mut self) {
        self.journal.touched.sort_unstable_by_key(|t| (t.pass, t.trip));
        let mut edges = self.journal.has_moved_supplies();
        if edges {
            self.look_at_trays();
        }
        let mut k = 0;
        while k < self.journal.touched.len() {
            let t = self.journal.touched[k];
            let late = self.pieces[t.pass as usize][t.trip as usize].late;
            self.time_pieces(t.pass, t.trip, t.flags);
            let pass_on = late > 0 || self.pieces[t.pass as usize][t.trip as usize].late > 0;
            match self.after(t.pass, t.trip) {
                None => edges = true,
                Some(next) => {
                    // Where the head ends may have changed; late feeders are passed on.
                    let flags = if pass_on {
                        ALL
                    } else if t.flags & PLACES != 0 {
                        LEAD
                    } else {
                        0
                    };
                    if flags != 0 {
                        self.touch_in_order(k + 1, t.pass, next, flags);
                    }
                }
            }
            edges |= self.before(t.pass, t.trip).is_none();
            k += 1;
        }
        if edges {
            self.add_edges();
        }
        self.add_up();
    }

    /// Touches a trip among the touched from `k` on, which are in order.
    fn touch_in_order(&mut self, k: usize, pass: u32, trip: u32, flags: u8) {
        let here = self.journal.touched[k..].iter().position(|t| (t.pass, t.trip) >= (pass, trip)).map(|n| k + n);
        match here {
            Some(n) if (self.journal.touched[n].pass, self.journal.touched[n].trip) == (pass, trip) => {
                self.journal.touched[n].flags |= flags;
            }
            _ => {
                let new = self.touch_of(pass, trip, flags);
                self.journal.touched.insert(here.unwrap_or(self.journal.touched.len()), new);
            }
        }
    }

    /// Times pieces of a trip and keeps their sum.
    fn time_pieces(&mut self, pass: u32, trip: u32, flags: u8) {
        let old = self.pieces[pass as usize][trip as usize];
        let mut new = old;
        if self.trips(pass)[trip as usize].order.is_empty() {
            new = Pieces::default();
        } else {
            let before = self.before(pass, trip);
            if flags & LEAD != 0 {
                new.lead = before.map_or(0, |b| self.lead_after(pass, b, trip));
            }
            let late = before.filter(|b| self.pieces[pass as usize][*b as usize].late > 0);
            if let Some(b) = late {
                self.time_after_late(pass, b, trip, &mut new);
            } else if flags & (PICKS | PLACES) != 0 || old.follows_late {
                let (head, setup) = (self.head(pass), &self.state.setup);
                let t = &self.state.passes[pass as usize].trips()[trip as usize];
                if flags & PICKS != 0 || old.follows_late {
                    self.ready.forget(setup.supplies.len());
                    let picked = self.timing.picks(head, setup, t, 0, &mut self.ready, None);
                    new.picks = picked.time;
                    if flags & PLACES != 0 || old.follows_late {
                        new.places = self.timing.places(head, t, picked.stand);
                    }
                    new.late = self.ready.latest() - new.picks - new.places;
                } else {
                    let stand = self.timing.last_pick(head, setup, t);
                    new.places = self.timing.places(head, t, stand);
                    // What was ready so long after the last stroke is ready so long before or after the end.
                    new.late = old.late + old.places - new.places;
                }
                new.follows_late = false;
            }
            if flags & PICKS != 0 {
                let rows = &self.state.setup.rows;
                let t = &self.trips(pass)[trip as usize];
                new.in_magazine = t.picks.iter().any(|s| rows[t.cells[usize::from(*s)].supply as usize].magazine.is_some());
                new.pace = t.tasks().map(|t| self.percents[t.index()]).fold(100, u8::min);
            }
        }
        self.pieces[pass as usize][trip as usize] = new;
        self.sums.inner += new.sum() - old.sum();
    }

    /// From the end of one trip to the first pocket of the next in the same pass, nozzle change included.
    fn lead_after(&self, pass: u32, before: u32, trip: u32) -> i64 {
        let head = self.head(pass);
        let (a, b) = (&self.trips(pass)[before as usize], &self.trips(pass)[trip as usize]);
        let mut stand = self.timing.end(head, a);
        let mut changed = 0;
        if a.layout != b.layout {
            let layouts = &self.state.passes[pass as usize].layouts;
            changed = self.timing.change(self.state.station, &layouts[a.layout as usize], &layouts[b.layout as usize], &mut stand);
        }
        changed + self.timing.lead(head, stand, self.timing.first(head, &self.state.setup, b))
    }

    /// Times a trip whose trip before leaves feeders late: from the last moment when all were ready on.
    fn time_after_late(&mut self, pass: u32, before: u32, trip: u32, new: &mut Pieces) {
        let head = self.head(pass);
        let mut chain = vec![before];
        while let Some(b) = self.before(pass, chain[chain.len() - 1]).filter(|b| self.pieces[pass as usize][*b as usize].late > 0) {
            chain.push(b);
        }
        let setup = &self.state.setup;
        self.ready.forget(setup.supplies.len());
        let mut now = 0;
        for b in chain.into_iter().rev() {
            let t = &self.state.passes[pass as usize].trips()[b as usize];
            let pieces = self.pieces[pass as usize][b as usize];
            now = self.timing.picks(head, setup, t, now + pieces.lead, &mut self.ready, None).time + pieces.places;
        }
        let t = &self.state.passes[pass as usize].trips()[trip as usize];
        let arrived = now + new.lead;
        let picked = self.timing.picks(head, setup, t, arrived, &mut self.ready, None);
        new.picks = picked.time - arrived;
        new.places = self.timing.places(head, t, picked.stand);
        new.late = self.ready.latest() - picked.time - new.places;
        new.follows_late = true;
    }

    fn add_edges(&mut self) {
        self.sums.outlives = false;
        let there = self.edges(false);
        let back = if self.state.alternating { self.edges(true) } else { there };
        self.sums.edges = there.max(back);
    }

    /// The station's time, by the sums or by a walk.
    fn add_up(&mut self) {
        self.sums.total = if self.sums.outlives || self.sums.several_levels {
            let there = self.walk(false);
            if self.state.alternating { there.max(self.walk(true)) } else { there }
        } else {
            self.sums.always + self.sums.inner + self.sums.edges
        };
    }

    fn look_at_trays(&mut self) {
        self.sums.always = self.always();
        let mut places = BTreeSet::new();
        self.sums.several_levels = self.state.setup.rows.iter().filter_map(|r| r.magazine).any(|(place, _)| !places.insert(place));
    }

    /// What does not depend on the order of the work: transfer, marks, trays of stacks put aside.
    fn always(&self) -> i64 {
        let p = self.p;
        let mut time = p.clock.fixed(self.state.station).total().0;
        let trays = self.state.setup.supplies.iter().enumerate().filter_map(|(k, s)| match s.place {
            SupplyPlace::Tray { tray, .. } => Some((k as u32, s.part.index(), tray)),
            SupplyPlace::Feeder { .. } => None,
        });
        for (supply, part, tray) in trays {
            let place = &p.line.station[self.state.station].tray[tray as usize];
            if place.kind == domain::line::TrayKind::Stack {
                let n = self.of_part[part].iter().filter(|t| self.cell(self.at[t.index()]).supply == supply).count() as i64;
                let pockets = i64::from(p.job.product.parts[part].tray_pockets.value.max(1));
                time += (place.change.0.0 * n + pockets - 1) / pockets;
            }
        }
        time
    }

    /// Passes with work in the order of a direction.
    fn working(&self, backward: bool) -> Vec<usize> {
        let works = |k: &usize| match &self.state.passes[*k].work {
            PassWork::Trips(trips) => trips.iter().any(|t| !t.order.is_empty()),
            PassWork::Dots(tasks) => !tasks.is_empty(),
            PassWork::Views(views) => !views.is_empty(),
        };
        let all = (0..self.state.passes.len()).filter(works);
        if backward { all.rev().collect() } else { all.collect() }
    }

    /// The panel as it arrives; nozzles as the panel before leaves them.
    fn arrive(&self, before: &[usize]) -> Cursor {
        let mut fitted = vec![None; self.p.line.station[self.state.station].head.len()];
        for k in before {
            if let Some(i) = self.state.passes[*k].trips().iter().rposition(|t| !t.order.is_empty()) {
                fitted[self.state.passes[*k].head] = Some((*k, i));
            }
        }
        let at = self.p.job.fiducials.last().copied().unwrap_or_default();
        Cursor { stand: HeadState { at, drum: 0 }, head: None, before: None, fitted }
    }

    /// Fetches the head of a pass; the time it takes.
    fn fetch(&self, cursor: &mut Cursor, pass: usize) -> i64 {
        let head = self.state.passes[pass].head;
        let mut time = 0;
        if cursor.head.is_some_and(|h| h != head)
            && let Some(swap) = &self.p.line.station[self.state.station].head_swap
        {
            time = self.timing.travel(cursor.stand.at, swap.at.point(), 100) + swap.time.0.0;
            cursor.stand = HeadState { at: swap.at.point(), drum: 0 };
        }
        // Passes of one head with the same layouts that follow each other are one pass of the plan.
        let goes_on = cursor.before.is_some_and(|b| crate::station::export::is_one_pass(&self.state.passes[b], &self.state.passes[pass]));
        if !goes_on {
            cursor.stand.drum = 0;
        }
        (cursor.head, cursor.before) = (Some(head), Some(pass));
        time
    }

    /// To the first pocket of a pass, nozzle change included.
    fn first_lead(&self, cursor: &mut Cursor, pass: usize, trip: usize) -> i64 {
        let state = &self.state.passes[pass];
        let t = &state.trips()[trip];
        let mut time = 0;
        if let Some((k, i)) = cursor.fitted[state.head] {
            let held = &self.state.passes[k].layouts[self.state.passes[k].trips()[i].layout as usize];
            time = self.timing.change(self.state.station, held, &state.layouts[t.layout as usize], &mut cursor.stand);
        }
        time + self.timing.lead(state.head, cursor.stand, self.timing.first(state.head, &self.state.setup, t))
    }

    /// Dots or views from where the head stands.
    fn other_work(&self, cursor: &mut Cursor, pass: usize) -> i64 {
        let (p, station) = (self.p, self.state.station);
        let clock = p.clock.station(station);
        let at: &mut Point = &mut cursor.stand.at;
        match &self.state.passes[pass].work {
            PassWork::Trips(_) => 0,
            PassWork::Dots(tasks) => {
                let dots = tasks.iter().map(|t| (p.clock.tasks()[t.index()].at, p.job.part(*t).adhesive_dots.value));
                clock.dots(self.state.passes[pass].head, dots, at).0
            }
            PassWork::Views(views) => {
                let each = p.line.station[station].inspection.as_ref().map_or(units::Time::ZERO, |i| *i.time);
                clock.looks(views, each, at).0
            }
        }
    }

    /// Fetches the head needed first, if another is fitted at the end.
    fn close(&self, cursor: &mut Cursor, first: Option<&usize>) -> i64 {
        match first {
            Some(first) if !self.state.alternating => self.fetch(cursor, *first),
            _ => 0,
        }
    }

    /// Swaps, beginnings of passes, dots and views of one direction.
    fn edges(&mut self, backward: bool) -> i64 {
        let (order, before) = (self.working(backward), self.working(backward && !self.state.alternating));
        let mut cursor = self.arrive(&before);
        let (mut time, mut late) = (0, 0);
        for pass in &order {
            let fetched = self.fetch(&mut cursor, *pass);
            time += fetched;
            self.sums.outlives |= late > fetched;
            late = 0;
            if !self.state.passes[*pass].is_placing() {
                time += self.other_work(&mut cursor, *pass);
                continue;
            }
            let trips = self.state.passes[*pass].trips();
            let first = trips.iter().position(|t| !t.order.is_empty()).expect("a pass with work");
            let last = trips.iter().rposition(|t| !t.order.is_empty()).expect("a pass with work");
            time += self.first_lead(&mut cursor, *pass, first);
            let head = self.state.passes[*pass].head;
            cursor.fitted[head] = Some((*pass, last));
            cursor.stand = self.timing.end(head, &self.state.passes[*pass].trips()[last]);
            late = self.pieces[*pass][last].late;
        }
        time + self.close(&mut cursor, order.first())
    }

    /// The level each magazine presents after passes in this order; 0 where none is used.
    fn levels_left(&self, order: &[usize]) -> Vec<u32> {
        let mut left = vec![0; self.p.line.station[self.state.station].tray.len()];
        let trips = order.iter().flat_map(|k| self.state.passes[*k].trips().iter().zip(&self.pieces[*k]));
        for (t, _) in trips.filter(|(_, pieces)| pieces.in_magazine) {
            for s in &t.picks {
                if let Some((place, level)) = self.state.setup.rows[t.cells[usize::from(*s)].supply as usize].magazine {
                    left[place as usize] = level;
                }
            }
        }
        left
    }

    /// The whole panel trip by trip, in one direction.
    fn walk(&mut self, backward: bool) -> i64 {
        let order = self.working(backward);
        let before = self.working(backward != self.state.alternating);
        let mut cursor = self.arrive(&before);
        let mut levels = Levels::new(self.p.line, self.state.station, &self.levels_left(&before));
        let mut now = self.sums.always;
        self.ready.forget(self.state.setup.supplies.len());
        for pass in &order {
            now += self.fetch(&mut cursor, *pass);
            now += self.other_work(&mut cursor, *pass);
            let head = self.state.passes[*pass].head;
            let mut last = None;
            for i in 0..self.state.passes[*pass].trips().len() {
                if self.state.passes[*pass].trips()[i].order.is_empty() {
                    continue;
                }
                let pieces = self.pieces[*pass][i];
                now += if last.is_none() { self.first_lead(&mut cursor, *pass, i) } else { pieces.lead };
                last = Some(i);
                let setup = &self.state.setup;
                let t = &self.state.passes[*pass].trips()[i];
                // A piece stands by itself when nothing before it and nothing in it is waited for.
                let alone = self.ready.latest() <= now && pieces.late <= 0 && !pieces.follows_late && !pieces.in_magazine;
                now = if alone {
                    now + pieces.picks
                } else {
                    self.timing.picks(head, setup, t, now, &mut self.ready, Some(&mut levels)).time
                };
                now += pieces.places;
            }
            if let Some(i) = last {
                cursor.fitted[head] = Some((*pass, i));
                cursor.stand = self.timing.end(head, &self.state.passes[*pass].trips()[i]);
            }
        }
        now + self.close(&mut cursor, order.first())
    }
}
