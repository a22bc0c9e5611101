//! Everything a program refers to exists: stations, heads, supplies, slots, layouts, spindles, tasks.

use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::{Job, TaskId};
use domain::line::{Station, StationKind};
use domain::plan::{Beat, Pass, Plan, StationPlan, SupplyAt, SupplyPlace, Trip, Work};

pub(crate) fn check(plan: &Plan, job: &Job<'_>, log: &mut Log) {
    let mut find = Find { plan, tasks: job.tasks.len(), log };
    let (planned, known) = (plan.stations.len(), plan.line.station.len());
    if planned != known {
        find.missing(format!("the plan tells of {planned} stations, the line has {known}"));
        return;
    }
    for (p, s) in plan.stations.iter().zip(&plan.line.station) {
        if p.station != s.name {
            find.missing(format!("station `{}`: the line has `{}` there", p.station, s.name));
            continue;
        }
        find.station(p, s);
    }
    for u in &plan.unplaced {
        find.task(u.task, || format!("unplaced `{}`", u.reference));
    }
}

struct Find<'a> {
    plan: &'a Plan,
    tasks: usize,
    log: &'a mut Log,
}

impl Find<'_> {
    fn missing(&mut self, what: String) {
        self.log.add(code::REFERENCE, what);
    }

    fn task(&mut self, task: TaskId, what: impl Fn() -> String) {
        if task.index() >= self.tasks {
            self.missing(format!("{}: task {} does not exist", what(), task.0));
        }
    }

    fn station(&mut self, p: &StationPlan, s: &Station) {
        for supply in &p.supplies {
            self.supply(supply, s);
        }
        for (k, pass) in p.passes.iter().enumerate() {
            self.pass(pass, p, s, &format!("station `{}`, pass {}", s.name, k + 1));
        }
    }

    fn supply(&mut self, supply: &SupplyAt, s: &Station) {
        let name = &s.name;
        if supply.part.index() >= self.plan.product.parts.len() {
            self.missing(format!("station `{name}`: a supply of part {}", supply.part.0));
        }
        match supply.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let (Some(b), Some(f)) = (s.bank.get(bank as usize), self.plan.line.feeder.get(feeder as usize)) else {
                    self.missing(format!("station `{name}`: bank {bank} or feeder kind {feeder}"));
                    return;
                };
                let end = u64::from(slot) + u64::from(f.slots);
                if slot == 0 || end > u64::from(b.slots) + 1 {
                    let detail =
                        format!("station `{name}`: {} slots from slot {slot} of bank `{}` with {} slots", f.slots, b.name, b.slots);
                    self.log.add(code::SLOT_OUTSIDE, detail);
                }
            }
            SupplyPlace::Tray { tray, level } => match s.tray.get(tray as usize) {
                None => self.missing(format!("station `{name}`: tray place {tray}")),
                Some(t) if level == 0 || level > t.levels() => {
                    self.log
                        .add(code::TRAY_PLACE, format!("station `{name}`: level {level} of tray place `{}` with {}", t.name, t.levels()));
                }
                Some(_) => {}
            },
        }
    }

    fn pass(&mut self, pass: &Pass, p: &StationPlan, s: &Station, place: &str) {
        let Some(head) = s.head.get(pass.head as usize) else {
            self.missing(format!("{place}: head {}", pass.head));
            return;
        };
        match &pass.work {
            Work::Place { layouts, trips } => {
                for layout in layouts {
                    self.layout(layout, head.spindles, place);
                }
                for (i, trip) in trips.iter().enumerate() {
                    self.trip(trip, layouts.len(), p.supplies.len(), head.spindles, &format!("{place}, trip {}", i + 1));
                }
            }
            Work::Dispense { tasks } => tasks.iter().for_each(|t| self.task(*t, || place.to_owned())),
            // Whether the station can look at all is a question of its work, but the clock asks it too.
            Work::Inspect { .. } if s.inspection.is_none() => self.log.add(code::HEAD_WORK, format!("{place}: the station cannot look")),
            Work::Inspect { .. } => {}
            Work::Turret { .. } if s.kind != StationKind::Turret => {
                self.log.add(code::HEAD_WORK, format!("{place}: the station has no drum that stands still"));
            }
            Work::Turret { nozzles, beats } => self.beats(nozzles, beats, p.supplies.len(), head.spindles, place),
        }
        if s.kind == StationKind::TwoBeam && !matches!(pass.work, Work::Place { .. }) {
            self.log.add(code::HEAD_WORK, format!("{place}: beams of two only pick and place"));
        }
    }

    fn beats(&mut self, nozzles: &[Vec<u32>], beats: &[Option<Beat>], supplies: usize, heads: u8, place: &str) {
        if nozzles.len() != usize::from(heads) {
            self.missing(format!("{place}: nozzles for {} heads, the drum has {heads}", nozzles.len()));
        }
        for kind in nozzles.iter().flatten().filter(|k| **k as usize >= self.plan.line.nozzle.len()).collect::<Vec<_>>() {
            self.missing(format!("{place}: nozzle kind {kind}"));
        }
        for b in beats.iter().flatten() {
            if b.supply as usize >= supplies {
                self.missing(format!("{place}: a pick from supply {}", b.supply));
            }
            self.task(b.task, || place.to_owned());
        }
    }

    fn layout(&mut self, layout: &[Option<u32>], spindles: u8, place: &str) {
        if layout.len() != usize::from(spindles) {
            self.missing(format!("{place}: a nozzle layout of {} spindles for a head of {spindles}", layout.len()));
        }
        for kind in layout.iter().flatten().filter(|k| **k as usize >= self.plan.line.nozzle.len()).collect::<Vec<_>>() {
            self.missing(format!("{place}: nozzle kind {kind}"));
        }
    }

    fn trip(&mut self, trip: &Trip, layouts: usize, supplies: usize, spindles: u8, place: &str) {
        if trip.layout as usize >= layouts {
            self.missing(format!("{place}: nozzle layout {}", trip.layout));
        }
        for pick in trip.strokes.iter().flat_map(|s| &s.0) {
            if pick.supply as usize >= supplies || pick.spindle >= spindles {
                self.missing(format!("{place}: a pick from supply {} with spindle {}", pick.supply, pick.spindle));
            }
        }
        for step in &trip.places {
            if step.spindle >= spindles {
                self.missing(format!("{place}: a placement with spindle {}", step.spindle));
            }
            self.task(step.task, || place.to_owned());
        }
    }
}
