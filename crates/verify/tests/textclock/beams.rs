//! §6 of the page: two beams, as events in the order of time.

use super::axis::way;
use super::{Panel, reference};
use domain::plan::{Breakdown, Pass, Plan, Trip, Work};
use std::collections::{BTreeSet, VecDeque};

/// A trip of a beam: whether its pass begins with it, its nozzles, and itself.
type TripOf<'p> = (bool, &'p [Option<u32>], &'p Trip);

/// One beam: its panel, its trips, and the one under way.
struct Beam<'p> {
    panel: Panel<'p>,
    head: usize,
    trips: Vec<TripOf<'p>>,
    under_way: usize,
    /// Whether it asks for the board to go to the rack, not to place.
    to_the_rack: bool,
    /// Whether its trip comes after one of the other beam that is not placed yet.
    held_back: bool,
    /// When each of its trips was placed.
    placed_at: Vec<i64>,
}

/// What happens. At one moment leaving comes before asking, and beam 1 asks before beam 2.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Leaves,
    Asks,
}

/// Breakdown of a panel and the tasks in the order of placing.
pub fn play(plan: &Plan, station: usize) -> (Breakdown, Vec<usize>) {
    let mut beams = [beam(plan, station, 1), beam(plan, station, 2)];
    let mut agenda: BTreeSet<(i64, What, usize)> = BTreeSet::new();
    let mut holder = None;
    if let Some(first) = (0..2).find(|b| !beams[*b].trips.is_empty()) {
        // It has looked at the marks and still holds the board.
        holder = Some(first);
        let left = beams[first].fetch();
        agenda.insert((left, What::Leaves, first));
        agenda.insert((beams[first].now(), What::Asks, first));
        let other = &mut beams[1 - first];
        if !other.trips.is_empty() {
            other.panel.head_at = other.home();
            other.to_the_rack = other.wants_other_nozzles();
            if !other.to_the_rack {
                other.fetch();
            }
            agenda.insert((other.now(), What::Asks, 1 - first));
        }
    }
    let (mut queue, mut order) = (VecDeque::new(), Vec::new());
    while let Some((now, what, b)) = agenda.pop_first() {
        match what {
            What::Leaves => holder = None,
            What::Asks => match beams[b].comes_after(&beams[1 - b]) {
                Some(moment) if moment <= now => queue.push_back(b),
                Some(moment) => drop(agenda.insert((moment, What::Asks, b))),
                None => beams[b].held_back = true,
            },
        }
        if holder.is_some() {
            continue;
        }
        let Some(b) = queue.pop_front() else { continue };
        holder = Some(b);
        let (left, again) = beams[b].on_board(now, &mut order);
        if beams[1 - b].held_back
            && let Some(moment) = beams[1 - b].comes_after(&beams[b])
        {
            beams[1 - b].held_back = false;
            agenda.insert((moment.max(beams[1 - b].now()), What::Asks, 1 - b));
        }
        agenda.insert((left, What::Leaves, b));
        if again {
            agenda.insert((beams[b].now(), What::Asks, b));
        }
    }
    for b in &mut beams {
        let passes: Vec<&Pass> = plan.stations[station].passes.iter().filter(|p| p.head as usize == b.head).collect();
        b.panel.stacks(&passes);
    }
    let [one, two] = beams.map(|b| b.panel.spent);
    let last = if two.total() > one.total() { two } else { one };
    (last.breakdown(), order)
}

fn beam(plan: &Plan, station: usize, number: u8) -> Beam<'_> {
    let sheet = &plan.line.station[station];
    let head = sheet.head.iter().position(|h| h.beam == Some(number)).expect("each beam carries a head");
    let mine: Vec<&Pass> = plan.stations[station].passes.iter().filter(|p| p.head as usize == head).collect();
    let mut panel = Panel::arrived(plan, station, &mine);
    panel.spent.transfer = sheet.transfer.0.0 + sheet.clamp.0.0;
    panel.marks();
    let mut trips: Vec<TripOf<'_>> = Vec::new();
    for pass in mine {
        let Work::Place { layouts, trips: all } = &pass.work else { panic!("beams of two only place") };
        trips.extend(all.iter().enumerate().map(|(i, t)| (i == 0, layouts[t.layout as usize].as_slice(), t)));
    }
    Beam { panel, head, trips, under_way: 0, to_the_rack: false, held_back: false, placed_at: Vec::new() }
}

impl Beam<'_> {
    fn now(&self) -> i64 {
        self.panel.spent.total()
    }

    /// Where the first stroke of the panel wants the head.
    fn home(&self) -> (i64, i64) {
        let pick = self.trips[0].2.strokes[0].0[0];
        let supply = &self.panel.program.supplies[pick.supply as usize];
        reference(&self.panel.sheet.head[self.head], i64::from(pick.spindle), self.panel.pick_point(supply))
    }

    fn wants_other_nozzles(&self) -> bool {
        let (before, now) = (self.panel.nozzles[self.head], self.trips[0].1);
        let other = (0..now.len()).any(|s| now[s].is_some() && before.get(s) != Some(&now[s]));
        other && self.panel.sheet.nozzle_rack.is_some()
    }

    /// From when on the trip under way may be placed; `None` as long as nobody knows.
    fn comes_after(&self, other: &Self) -> Option<i64> {
        match self.trips[self.under_way].2.after as usize {
            after if after > 0 && !self.to_the_rack => other.placed_at.get(after - 1).copied(),
            _ => Some(0),
        }
    }

    /// Nozzles, strokes and sight of the trip under way; when it stood over its first pocket.
    fn fetch(&mut self) -> i64 {
        let (opens, layout, trip) = self.trips[self.under_way];
        if opens {
            self.panel.drum = 0;
        }
        self.panel.change_nozzles(self.panel.nozzles[self.head], layout);
        self.panel.nozzles[self.head] = layout;
        self.panel.fetch(&self.panel.sheet.head[self.head], trip);
        self.panel.over_pocket.unwrap_or(self.now())
    }

    /// Let onto the board at `at`: when it leaves it, and whether it will ask again.
    fn on_board(&mut self, at: i64, order: &mut Vec<usize>) -> (i64, bool) {
        self.panel.spent.beam_wait += at - self.now();
        if std::mem::take(&mut self.to_the_rack) {
            return (self.fetch(), true);
        }
        let head = &self.panel.sheet.head[self.head];
        let trip = self.trips[self.under_way].2;
        self.panel.put(head, trip);
        order.extend(trip.places.iter().map(|p| p.task.index()));
        self.placed_at.push(self.now());
        self.under_way += 1;
        if self.under_way < self.trips.len() {
            return (self.fetch(), true);
        }
        let home = self.home();
        let travel = way(self.panel.sheet, self.panel.head_at, home, 100);
        let settle = if home == self.panel.head_at { 0 } else { self.panel.sheet.settle_pick.0.0 };
        let spindle = i64::from(self.trips[0].2.strokes[0].0[0].spindle);
        let beyond = (self.panel.drum_index(head, spindle, 100) - travel).max(0);
        (self.now() + travel + settle + beyond, false)
    }
}
