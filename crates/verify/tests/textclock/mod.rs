//! A second clock, written from `docs/timing.md` alone: plain, slow, and sharing nothing with the
//! first but the types of plan and sheet. Section numbers are those of that page.

mod axis;
mod beams;
mod beats;
mod marks;
mod spent;

pub use beams::play;

use axis::{slowed, way};
use domain::line::{Head, HeadKind, SightMode, Station, StationKind, TrayKind};
use domain::part::{Part, Supply};
use domain::plan::{Breakdown, Pass, Plan, StationPlan, SupplyAt, SupplyPlace, Trip, Work};
use domain::product::{Side, Status};
use spent::Spent;
use units::Point;

/// A point in whole micrometres.
type Xy = (i64, i64);

/// A task: its part, where it is placed, and how far it is turned [m°].
struct Task<'p> {
    part: &'p Part,
    at: Xy,
    turn: i64,
}

/// One panel on one station, step by step.
struct Panel<'p> {
    plan: &'p Plan,
    sheet: &'p Station,
    program: &'p StationPlan,
    tasks: Vec<Task<'p>>,
    /// Reference point of the head.
    head_at: Xy,
    /// Spindle at which a drum stands.
    drum: i64,
    /// For each supply, the end of its last pick stroke.
    picked_at: Vec<Option<i64>>,
    /// For each tray place: level presented, and end of the last stroke that picked there.
    presented: Vec<(u32, i64)>,
    /// For each head, the layout of its trip before.
    nozzles: Vec<&'p [Option<u32>]>,
    /// When the head stood over the first pocket of the trip under way.
    over_pocket: Option<i64>,
    /// Where the time went, in the order of [`Breakdown::items`].
    spent: Spent,
}

/// §5: one panel; of alternating passes the slower of both orders.
pub fn time(plan: &Plan, station: usize) -> Breakdown {
    if plan.line.station[station].kind == StationKind::TwoBeam {
        return beams::play(plan, station).0;
    }
    let program = &plan.stations[station];
    let forward: Vec<&Pass> = program.passes.iter().collect();
    let backward: Vec<&Pass> = program.passes.iter().rev().collect();
    if !program.alternating {
        return one_panel(plan, station, &forward, &forward).breakdown();
    }
    let there = one_panel(plan, station, &forward, &backward);
    let back = one_panel(plan, station, &backward, &forward);
    if back.total() > there.total() { back.breakdown() } else { there.breakdown() }
}

fn one_panel<'p>(plan: &'p Plan, station: usize, passes: &[&'p Pass], panel_before: &[&'p Pass]) -> Spent {
    let mut panel = Panel::arrived(plan, station, panel_before);
    panel.run(passes);
    panel.spent
}

/// §1: image by image, and in each all fitted placements of the side in the product's order.
fn tasks(plan: &Plan) -> Vec<Task<'_>> {
    let mut all = Vec::new();
    for image in 0..i64::from(plan.panel.columns * plan.panel.rows) {
        let turn = if marks::is_turned(plan, image) { 180_000 } else { 0 };
        for p in plan.product.placements.iter().filter(|p| p.status == Status::Fitted && p.side == plan.side) {
            let x = if plan.side == Side::Top { p.at.x.0 } else { plan.product.width_um.0 - p.at.x.0 };
            let angle = (p.rotation_mdeg.0 + turn).rem_euclid(360_000);
            all.push(Task {
                part: &plan.product.parts[p.part.expect("a fitted part").index()],
                at: marks::on_image(plan, image, (x, p.at.y.0)),
                turn: angle.min(360_000 - angle),
            });
        }
    }
    all
}

impl<'p> Panel<'p> {
    /// Before anything is done, with nozzles and levels as the panel before left them.
    fn arrived(plan: &'p Plan, station: usize, panel_before: &[&'p Pass]) -> Self {
        let (sheet, program) = (&plan.line.station[station], &plan.stations[station]);
        let mut panel = Self {
            plan,
            sheet,
            program,
            tasks: tasks(plan),
            head_at: (0, 0),
            drum: 0,
            picked_at: vec![None; program.supplies.len()],
            presented: vec![(0, 0); sheet.tray.len()],
            nozzles: vec![&[]; sheet.head.len()],
            over_pocket: None,
            spent: Spent::default(),
        };
        panel.found(panel_before);
        panel
    }

    fn run(&mut self, passes: &[&'p Pass]) {
        self.spent.transfer = self.sheet.transfer.0.0 + self.sheet.clamp.0.0;
        self.marks();
        self.stacks(passes);
        for (k, pass) in passes.iter().enumerate() {
            if k > 0 && passes[k - 1].head != pass.head {
                self.swap();
            }
            let head = &self.sheet.head[pass.head as usize];
            match &pass.work {
                Work::Place { layouts, trips } => self.place_pass(pass.head as usize, layouts, trips),
                Work::Dispense { tasks } => {
                    for t in tasks {
                        let task = &self.tasks[t.index()];
                        let (at, dots) = (task.at, i64::from(task.part.adhesive_dots.value));
                        self.spent.dispense += self.go_and_settle(at) + head.dot.expect("a dispense head").0.0 * dots;
                    }
                }
                Work::Inspect { views } => {
                    let each = self.sheet.inspection.as_ref().expect("a station that can look").time.0.0;
                    for v in views {
                        self.spent.inspection += self.go_and_settle((v.x.0, v.y.0)) + each;
                    }
                }
                Work::Turret { beats, .. } => self.beats(beats),
            }
        }
        let different = passes.first().map(|p| p.head) != passes.last().map(|p| p.head);
        if different && !self.program.alternating {
            self.swap();
        }
    }

    /// Way at 100 % to a point of the board, and settling if the head moved.
    fn go_and_settle(&mut self, to: Xy) -> i64 {
        let moved = self.head_at != to;
        let time = way(self.sheet, self.head_at, to, 100) + if moved { self.sheet.settle_place.0.0 } else { 0 };
        self.head_at = to;
        time
    }

    fn marks(&mut self) {
        let marks = marks::of(self.plan);
        // The way to the first mark is part of the transfer.
        self.head_at = marks[0];
        for mark in marks {
            self.spent.fiducials += self.go_and_settle(mark) + self.sheet.fiducial.0.0;
        }
    }

    fn stacks(&mut self, passes: &[&Pass]) {
        for (i, supply) in self.program.supplies.iter().enumerate() {
            let SupplyPlace::Tray { tray, .. } = supply.place else { continue };
            let place = &self.sheet.tray[tray as usize];
            if place.kind == TrayKind::Stack {
                let picked = all_picks(passes).filter(|p| **p as usize == i).count() as i64;
                let pockets = i64::from(self.plan.product.parts[supply.part.index()].tray_pockets.value);
                self.spent.tray_change += ceil(place.change.0.0 * picked, pockets);
            }
        }
    }

    /// §4.1, §4.2: nozzles and levels as the panel before leaves them.
    fn found(&mut self, panel_before: &[&'p Pass]) {
        for supply in all_picks(panel_before) {
            if let SupplyPlace::Tray { tray, level } = self.program.supplies[*supply as usize].place {
                self.presented[tray as usize] = (level, 0);
            }
        }
        for pass in panel_before {
            let Work::Place { layouts, trips } = &pass.work else { continue };
            for trip in trips {
                self.nozzles[pass.head as usize] = &layouts[trip.layout as usize];
            }
        }
    }

    fn swap(&mut self) {
        let swap = self.sheet.head_swap.as_ref().expect("a station that swaps heads");
        let to = (swap.at.x.0.0, swap.at.y.0.0);
        self.spent.head_swap += way(self.sheet, self.head_at, to, 100) + swap.time.0.0;
        self.head_at = to;
        self.drum = 0;
    }

    fn place_pass(&mut self, head: usize, layouts: &'p [Vec<Option<u32>>], trips: &[Trip]) {
        self.drum = 0;
        for trip in trips {
            let layout = &layouts[trip.layout as usize];
            self.change_nozzles(self.nozzles[head], layout);
            self.nozzles[head] = layout;
            self.trip(&self.sheet.head[head], trip);
        }
    }

    /// §4.1
    fn change_nozzles(&mut self, before: &[Option<u32>], now: &[Option<u32>]) {
        let Some(rack) = &self.sheet.nozzle_rack else { return };
        let mut others = 0;
        for spindle in 0..now.len() {
            if now[spindle].is_some() && now[spindle] != before[spindle] {
                others += 1;
            }
        }
        if others > 0 {
            let to = (rack.at.x.0.0, rack.at.y.0.0);
            self.spent.nozzle_change += way(self.sheet, self.head_at, to, 100) + others * rack.change.0.0;
            self.head_at = to;
        }
    }

    fn trip(&mut self, head: &Head, trip: &Trip) {
        self.fetch(head, trip);
        self.put(head, trip);
    }

    fn fetch(&mut self, head: &Head, trip: &Trip) {
        self.over_pocket = None;
        let mut aboard: Vec<&Part> = Vec::new();
        for stroke in &trip.strokes {
            let supplies: Vec<usize> = stroke.0.iter().map(|p| p.supply as usize).collect();
            self.pick(head, i64::from(stroke.0[0].spindle), &supplies, percent(&aboard));
            aboard.extend(supplies.iter().map(|s| &self.plan.product.parts[self.program.supplies[*s].part.index()]));
        }
        let placed: Vec<usize> = trip.places.iter().map(|p| p.task.index()).collect();
        self.sight(head, &placed);
    }

    fn put(&mut self, head: &Head, trip: &Trip) {
        let placed: Vec<usize> = trip.places.iter().map(|p| p.task.index()).collect();
        for (k, step) in trip.places.iter().enumerate() {
            let left: Vec<&Part> = placed[k..].iter().map(|t| self.tasks[*t].part).collect();
            self.place(head, i64::from(step.spindle), step.task.index(), percent(&left));
        }
    }

    /// §4.2
    fn pick(&mut self, head: &Head, spindle: i64, supplies: &[usize], p: i64) {
        let to = reference(head, spindle, self.pick_point(&self.program.supplies[supplies[0]]));
        let travel = way(self.sheet, self.head_at, to, p);
        let index = self.drum_index(head, spindle, p);
        self.spent.index += (index - travel).max(0);
        self.spent.pick_travel += travel + if to != self.head_at { self.sheet.settle_pick.0.0 } else { 0 };
        (self.head_at, self.drum) = (to, spindle);

        let now = self.spent.total();
        self.over_pocket.get_or_insert(now);
        let ready = supplies.iter().filter_map(|s| Some(self.picked_at[*s]? + self.advance(*s))).max().unwrap_or(0);
        self.spent.feeder_wait += (ready - now).max(0);

        let now = self.spent.total();
        let mut there = now;
        for s in supplies {
            if let SupplyPlace::Tray { tray, level } = self.program.supplies[*s].place {
                let place = &self.sheet.tray[tray as usize];
                let (shown, since) = self.presented[tray as usize];
                if place.kind == TrayKind::Magazine && shown != level {
                    there = there.max(since + place.change.0.0);
                }
            }
        }
        self.spent.tray_change += there - now;

        self.spent.pick_strokes += head.pick.0.0;
        let end = self.spent.total();
        for s in supplies {
            self.picked_at[*s] = Some(end);
            if let SupplyPlace::Tray { tray, level } = self.program.supplies[*s].place {
                self.presented[tray as usize] = (level, end);
            }
        }
    }

    /// §4.3
    fn sight(&mut self, head: &Head, placed: &[usize]) {
        let Some(sight) = &head.sight else { return };
        match sight.mode {
            SightMode::None => {}
            SightMode::InFlight => self.spent.sight += sight.time.0.0,
            SightMode::Camera => {
                let all: Vec<&Part> = placed.iter().map(|t| self.tasks[*t].part).collect();
                let at = sight.at.expect("a camera stands somewhere");
                let to = (at.x.0.0, at.y.0.0);
                self.spent.sight += way(self.sheet, self.head_at, to, percent(&all)) + self.sheet.settle_place.0.0;
                self.head_at = to;
                let field = sight.field.expect("a camera sees something").0.0;
                for part in all {
                    let exposures = ceil(part.long_side().0, field) * ceil(part.short_side().0, field);
                    self.spent.sight += sight.time.0.0 * exposures;
                }
            }
        }
    }

    /// §4.4
    fn place(&mut self, head: &Head, spindle: i64, task: usize, p: i64) {
        let to = reference(head, spindle, self.tasks[task].at);
        let travel = way(self.sheet, self.head_at, to, p);
        let turn = slowed(ceil(head.turn_90.0.0 * self.tasks[task].turn, 90_000), p);
        let beside = self.drum_index(head, spindle, p).max(turn);
        self.spent.index += (beside - travel).max(0);
        self.spent.place_travel += travel + if to != self.head_at { self.sheet.settle_place.0.0 } else { 0 };
        self.spent.place_strokes += head.place.0.0;
        (self.head_at, self.drum) = (to, spindle);
    }

    /// §3
    fn drum_index(&self, head: &Head, to: i64, p: i64) -> i64 {
        if head.kind != HeadKind::Rotary {
            return 0;
        }
        let apart = (self.drum - to).abs();
        slowed(head.index.expect("a drum turns").0.0 * apart.min(i64::from(head.spindles) - apart), p)
    }

    /// §1: the middle of the slots a feeder covers, or the middle of the tray.
    fn pick_point(&self, supply: &SupplyAt) -> Xy {
        match supply.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let (bank, feeder) = (&self.sheet.bank[bank as usize], &self.plan.line.feeder[feeder as usize]);
                let doubled = 2 * (i64::from(slot) - 1) + i64::from(feeder.slots) - 1;
                (bank.first.x.0.0 + bank.pitch.0.0 * doubled / 2, bank.first.y.0.0)
            }
            SupplyPlace::Tray { tray, .. } => {
                let at: Point = self.sheet.tray[tray as usize].at.point();
                (at.x.0, at.y.0)
            }
        }
    }

    /// §4.2: `advance · k`, k = ⌈pitch / step⌉, at least 1, and 1 for sticks.
    fn advance(&self, supply: usize) -> i64 {
        let supply = &self.program.supplies[supply];
        let SupplyPlace::Feeder { feeder, .. } = supply.place else { return 0 };
        let kind = &self.plan.line.feeder[feeder as usize];
        let pitch = self.plan.product.parts[supply.part.index()].tape_pitch_um.value.0;
        let k = if kind.supply == Supply::Stick { 1 } else { ceil(pitch, kind.advance_step.0.0).max(1) };
        kind.advance.0.0 * k
    }
}

/// The supplies of all picks of the passes, in the order of work.
fn all_picks<'a>(passes: &'a [&Pass]) -> impl Iterator<Item = &'a u32> {
    let trips = passes.iter().flat_map(|p| match &p.work {
        Work::Place { trips, .. } => trips.as_slice(),
        _ => &[],
    });
    trips.flat_map(|t| &t.strokes).flat_map(|s| &s.0).map(|p| &p.supply)
}

/// §3: where the reference point stands when the spindle is over the point.
fn reference(head: &Head, spindle: i64, at: Xy) -> Xy {
    if head.kind == HeadKind::Inline { (at.0 - spindle * head.pitch.expect("an inline head has a pitch").0.0, at.1) } else { at }
}

/// §3: the most delicate part rules; 100 for an empty head.
fn percent(aboard: &[&Part]) -> i64 {
    aboard.iter().map(|p| i64::from(p.speed.value.0)).min().unwrap_or(100)
}

fn ceil(a: i64, b: i64) -> i64 {
    a / b + i64::from(a % b > 0)
}
