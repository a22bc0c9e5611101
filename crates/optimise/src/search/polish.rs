//! Exact order inside trips.

use super::Search;
use crate::station::timing::before_trip;
use crate::tour::best_order;
use domain::line::SightMode;
use units::{Point, Time};

/// Trips with more placements keep the order the search found: subsets grow as 2ⁿ.
const MOST_EXACT: usize = 9;

impl Search<'_> {
    /// Orders the placements of every trip exactly, the way to the next trip included.
    pub(super) fn polish(&mut self) {
        for pass in 0..self.state.passes.len() {
            for trip in 0..self.state.passes[pass].trips().len() {
                let n = self.state.passes[pass].trips()[trip].order.len();
                if (2..=MOST_EXACT).contains(&n) {
                    self.polish_trip(pass, trip);
                }
            }
        }
    }

    fn polish_trip(&mut self, pass: usize, trip: usize) {
        let (p, station) = (self.p, self.state.station);
        let head = self.state.passes[pass].head;
        let clock = p.clock.station(station);
        let sheet = &p.line.station[station].head[head];
        let (settle_pick, settle_place) = clock.settles();
        let picks = {
            let t = self.state.passes[pass].trips()[trip].clone();
            self.timer.strokes(p, &self.state, head, &t).to_vec()
        };
        let this = &self.state.passes[pass].trips()[trip];
        let stops: Vec<u8> = this.order.clone();
        let rows: Vec<_> = stops.iter().map(|s| p.clock.tasks()[this.cells[usize::from(*s)].task.index()]).collect();
        let refs: Vec<Point> = stops.iter().zip(&rows).map(|(s, r)| clock.reference(head, *s, r.at)).collect();
        // The head comes from the camera, or from the last stroke.
        let last = picks.iter().rev().find(|k| k.opens).expect("a trip picks something");
        let (mut at, drum) = (clock.reference(head, last.spindle, self.state.setup.rows[last.supply as usize].at), last.spindle);
        if let Some(s) = sheet.sight.as_ref().filter(|s| s.mode == SightMode::Camera) {
            at = s.at.map_or(at, |c| c.point());
        }
        let step = |from: Point, from_drum: u8, j: usize, left: u32| -> Option<i64> {
            let percent = (0..rows.len()).filter(|k| left >> k & 1 == 1).map(|k| rows[k].percent).min().unwrap_or(100);
            let way = clock.travel(from, refs[j], percent);
            let beside = clock.index(head, from_drum, stops[j], percent).max(clock.turn(head, rows[j].turn, percent));
            let settle = if from == refs[j] { Time::ZERO } else { settle_place };
            Some((way.max(beside) + settle).0)
        };
        let next = self.state.passes[pass].trips().get(trip + 1).cloned();
        let next_pick = next.map(|t| {
            let first = self.timer.strokes(p, &self.state, head, &t)[0];
            (clock.reference(head, first.spindle, self.state.setup.rows[first.supply as usize].at), first.spindle)
        });
        let onward = |j: usize| match next_pick {
            None => 0,
            Some((to, spindle)) => {
                let way = clock.travel(refs[j], to, 100);
                let settle = if to == refs[j] { Time::ZERO } else { settle_pick };
                (way.max(clock.index(head, stops[j], spindle, 100)) + settle).0
            }
        };
        let Some((order, _)) =
            best_order(stops.len(), |j, left| step(at, drum, j, left), |i, j, left| step(refs[i], stops[i], j, left), onward)
        else {
            return;
        };
        let before = self.pair_time(pass, trip);
        let old = std::mem::replace(&mut self.state.passes[pass].trips_mut()[trip].order, order.iter().map(|k| stops[*k]).collect());
        let after = self.retimed(pass, trip);
        if after > before {
            self.state.passes[pass].trips_mut()[trip].order = old;
            self.retimed(pass, trip);
        }
    }

    fn pair_time(&self, pass: usize, trip: usize) -> Time {
        let trips = self.state.passes[pass].trips();
        trips[trip].time + trips.get(trip + 1).map_or(Time::ZERO, |t| t.time)
    }

    /// Times a trip and the one after it anew.
    fn retimed(&mut self, pass: usize, trip: usize) -> Time {
        let end = (trip + 2).min(self.state.passes[pass].trips().len());
        for i in trip..end {
            let from = before_trip(self.p, &self.state, pass, i);
            let time = self.timer.trip(self.p, &self.state, &self.state.passes[pass], i, from);
            let slot = &mut self.state.passes[pass].trips_mut()[i].time;
            self.sum += time - *slot;
            *slot = time;
        }
        self.pair_time(pass, trip)
    }
}
