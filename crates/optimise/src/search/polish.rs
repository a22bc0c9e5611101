//! Exact order of placing inside trips.

use super::Search;
use super::journal::PLACES;
use crate::tour::best_order;
use domain::job::TaskId;
use motion::HeadState;

/// Trips with more placements keep the order the annealing found: subsets grow as 2ⁿ.
pub(crate) const QUICK: usize = 8;
/// As [`QUICK`], for the plan that is kept in the end.
pub(crate) const THOROUGH: usize = 12;

impl Search<'_> {
    /// Orders the placements of every trip exactly, the way to the next trip and pairs of the order rules
    /// included; trips of more than `most` stay as they are.
    pub(super) fn polish(&mut self, most: usize) {
        for pass in 0..self.state.passes.len() as u32 {
            for trip in 0..self.trips(pass).len() as u32 {
                if (2..=most).contains(&self.trips(pass)[trip as usize].order.len()) {
                    self.polish_trip(pass, trip);
                }
            }
        }
    }

    fn polish_trip(&mut self, pass: u32, trip: u32) {
        let Some(order) = self.exact_order(pass, trip) else { return };
        self.journal.begin(&self.sums);
        self.open(pass, trip, PLACES).order = order;
        self.settle(pass, trip);
        self.retime();
        if self.sums.total > self.journal.before.total {
            self.roll_back();
        }
    }

    /// The best order of a trip's spindles when all else stays; `None` when it is the present one.
    fn exact_order(&self, pass: u32, trip: u32) -> Option<Vec<u8>> {
        let (head, t) = (self.head(pass), &self.trips(pass)[trip as usize]);
        let tasks: Vec<TaskId> = t.tasks().collect();
        let stops: Vec<HeadState> = t.order.iter().map(|s| self.timing.stand(head, *s, t.cells[usize::from(*s)].task)).collect();
        let n = stops.len();
        // Which of the trip's own tasks come before each.
        let before: Vec<u32> =
            tasks.iter().map(|x| (0..n).filter(|k| self.p.order.before(*x).contains(&tasks[*k])).fold(0, |set, k| set | 1 << k)).collect();
        let percents: Vec<u8> = tasks.iter().map(|x| self.p.clock.tasks()[x.index()].percent).collect();
        let percent = |left: u32| (0..n).filter(|k| left >> k & 1 == 1).map(|k| percents[k]).min().unwrap_or(100);
        let same = percents.iter().all(|p| *p == percents[0]);
        let step = |from: HeadState, j: usize, left: u32| -> Option<i64> {
            let percent = if same { percents[0] } else { percent(left) };
            (before[j] & left == 0).then(|| self.timing.step(head, from, stops[j], tasks[j], percent))
        };
        let start = self.timing.sighted(head, t, self.timing.last_pick(head, &self.state.setup, t));
        let next = self.trips(pass)[trip as usize + 1..].iter().find(|t| !t.order.is_empty());
        let onward = |j: usize| {
            next.map_or(0, |next| {
                let layouts = &self.state.passes[pass as usize].layouts;
                let mut stand = stops[j];
                let changed = if next.layout == t.layout {
                    0
                } else {
                    self.timing.change(self.state.station, &layouts[t.layout as usize], &layouts[next.layout as usize], &mut stand)
                };
                changed + self.timing.lead(head, stand, self.timing.first(head, &self.state.setup, next))
            })
        };
        let (order, _) = best_order(n, |j, left| step(start, j, left), |i, j, left| step(stops[i], j, left), onward)?;
        let order: Vec<u8> = order.iter().map(|k| t.order[*k]).collect();
        (order != t.order).then_some(order)
    }
}
