//! A line of gantry stations that stand in for stations of other kinds while work is spread.

use crate::outage::nozzles_left;
use domain::job::Job;
use domain::line::{
    Axes, Axis, Bank, Extent, Head, HeadKind, Line, NozzleRack, Place, Sight, SightMode, Station, StationKind, TrayPlace, Turret,
};
use domain::plan::SupplyPlace;
use domain::rules::Rules;
use motion::Clock;
use std::collections::BTreeSet;
use units::{Acceleration, Length, Speed, Text, Time};

/// What a stand-in stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Itself.
    Gantry,
    /// One beam of a two-beam station.
    Beam {
        /// Its head, as an index of the station.
        head: u32,
        /// For each bank of the stand-in the bank of the station.
        banks: Vec<u32>,
        /// For each tray place of the stand-in that of the station.
        trays: Vec<u32>,
    },
    /// A turret.
    Turret,
}

/// A stand-in's place in the line.
#[derive(Clone, Debug)]
pub struct StandIn {
    /// Index of the station of the line.
    pub station: usize,
    /// What it stands for.
    pub origin: Origin,
}

impl StandIn {
    /// Station and head of the sheet for a head of the stand-in.
    pub fn of_sheet(&self, head: usize) -> (usize, usize) {
        (self.station, if let Origin::Beam { head, .. } = &self.origin { *head as usize } else { head })
    }

    /// The place of the stand-in that is this one of the station; `None` if it belongs to the other beam.
    pub fn own_place(&self, place: &SupplyPlace) -> Option<SupplyPlace> {
        let own = |of_station: &[u32], index: u32| of_station.iter().position(|x| *x == index).map(|i| i as u32);
        Some(match (&self.origin, place.clone()) {
            (Origin::Beam { banks, .. }, SupplyPlace::Feeder { bank, slot, feeder }) => {
                SupplyPlace::Feeder { bank: own(banks, bank)?, slot, feeder }
            }
            (Origin::Beam { trays, .. }, SupplyPlace::Tray { tray, level }) => SupplyPlace::Tray { tray: own(trays, tray)?, level },
            (_, place) => place,
        })
    }

    /// Where a supply of the stand-in really stands.
    pub fn real_place(&self, place: &SupplyPlace) -> SupplyPlace {
        match (&self.origin, place.clone()) {
            (Origin::Beam { banks, .. }, SupplyPlace::Feeder { bank, slot, feeder }) => {
                SupplyPlace::Feeder { bank: banks[bank as usize], slot, feeder }
            }
            (Origin::Beam { trays, .. }, SupplyPlace::Tray { tray, level }) => SupplyPlace::Tray { tray: trays[tray as usize], level },
            (_, place) => place,
        }
    }
}

/// The line and what stands in for it.
pub struct StandIns<'a> {
    /// The line itself.
    pub real: &'a Line,
    /// Its clock.
    pub clock: Clock<'a>,
    /// The stand-ins as a line.
    pub line: Line,
    /// What each of them stands for.
    pub places: Vec<StandIn>,
    /// Nozzle kinds that the drums so far may hold.
    held: Vec<Vec<u32>>,
    /// What a beat usually takes at a turret, by its station.
    usual: Vec<(usize, Time)>,
}

impl<'a> StandIns<'a> {
    /// The stand-ins of a checked line; `None` if all of its stations are gantries.
    pub fn of(real: &'a Line, job: &'a Job<'a>, rules: &Rules) -> Option<Self> {
        if real.station.iter().all(|s| s.kind == StationKind::Gantry) {
            return None;
        }
        let mut made = Self {
            real,
            clock: Clock::new(real, job),
            line: Line { station: Vec::new(), ..real.clone() },
            places: Vec::new(),
            held: Vec::new(),
            usual: Vec::new(),
        };
        for (s, station) in real.station.iter().enumerate() {
            match (station.kind, &station.turret) {
                (StationKind::TwoBeam, _) => {
                    made.beam(s, 1);
                    made.beam(s, 2);
                }
                (StationKind::Turret, Some(turret)) => made.turret(s, turret, job, rules),
                _ => made.add(s, Origin::Gantry, station.clone()),
            }
        }
        Some(made)
    }

    /// The stand-in of the other beam of the same station.
    pub fn partner(&self, k: usize) -> Option<usize> {
        let is_beam =
            |o: &usize| matches!(self.places[*o].origin, Origin::Beam { .. }) && self.places[*o].station == self.places[k].station;
        is_beam(&k).then(|| (0..self.places.len()).find(|o| *o != k && is_beam(o))).flatten()
    }

    /// How many of the supplies that may be added at a closed station may be added at this stand-in, before one beam
    /// lends to the other: half of them at each.
    pub fn share(&self, k: usize, add: u32) -> u32 {
        match self.partner(k) {
            None => add,
            Some(other) if k < other => add.div_ceil(2),
            Some(_) => add / 2,
        }
    }

    fn add(&mut self, station: usize, origin: Origin, stand_in: Station) {
        self.places.push(StandIn { station, origin });
        self.line.station.push(stand_in);
    }

    fn beam(&mut self, s: usize, beam: u8) {
        let station = &self.real.station[s];
        let Some(head) = station.head.iter().position(|h| h.beam == Some(beam)) else { return };
        let mine = |of: Option<u8>| of == Some(beam);
        let banks = (0..station.bank.len()).filter(|b| mine(station.bank[*b].beam)).map(|b| b as u32).collect();
        let trays = (0..station.tray.len()).filter(|t| mine(station.tray[*t].beam)).map(|t| t as u32).collect();
        let stand_in = Station {
            kind: StationKind::Gantry,
            head: vec![Head { beam: None, ..station.head[head].clone() }],
            bank: station.bank.iter().filter(|b| mine(b.beam)).map(|b| Bank { beam: None, ..b.clone() }).collect(),
            tray: station.tray.iter().filter(|t| mine(t.beam)).map(|t| TrayPlace { beam: None, ..t.clone() }).collect(),
            ..station.clone()
        };
        self.add(s, Origin::Beam { head: head as u32, banks, trays }, stand_in);
    }

    /// A head that picks and places one part after the other, in the time that a beat usually takes.
    fn turret(&mut self, s: usize, turret: &Turret, job: &Job<'_>, rules: &Rules) {
        let station = &self.real.station[s];
        let Some(drum) = station.head.first() else { return };
        let nozzles = self.nozzles(drum, usize::from(turret.nozzles_per_head), job, rules);
        for k in &nozzles {
            // The stand-in itself takes one of each that it uses.
            let stock = &mut self.line.nozzle[*k as usize].stock;
            *stock = stock.saturating_sub(u32::from(drum.spindles) - 1);
        }
        let sight = drum.sight.as_ref().map_or(Time::ZERO, |x| *x.time);
        // Turrets of a line are mostly alike, and the mean over all placements takes a while.
        let is_alike = |other: &Station| {
            other.axes == station.axes
                && other.settle_place == station.settle_place
                && other.head.first().map(|h| h.index) == Some(drum.index)
        };
        let known = self.usual.iter().find(|(o, _)| is_alike(&self.real.station[*o])).map(|u| u.1);
        let usual = known.unwrap_or_else(|| self.usual_step(s, drum, job));
        self.usual.push((s, usual));
        let fast = Axis { speed: Text(Speed(1_000_000_000_000)), acceleration: Text(Acceleration(1_000_000_000_000_000)), jerk: None };
        let (zero, nowhere) = (Text(Time::ZERO), Place { x: Text(Length::ZERO), y: Text(Length::ZERO) });
        let head = Head {
            kind: HeadKind::Single,
            spindles: 1,
            index: None,
            turn_90: zero,
            pick: Text(drum.pick.0.max(*drum.place).max(sight)),
            place: Text(usual),
            sight: Some(Sight { mode: SightMode::None, time: zero, at: None, field: None }),
            nozzles: nozzles.iter().map(|k| self.real.nozzle[*k as usize].name.clone()).collect(),
            ..drum.clone()
        };
        let stand_in = Station {
            kind: StationKind::Gantry,
            axes: Axes { x: fast.clone(), y: fast },
            settle_pick: zero,
            settle_place: zero,
            head: vec![head],
            nozzle_rack: Some(NozzleRack { change: zero, at: nowhere }),
            turret: None,
            max_panel: Extent { ..station.max_panel },
            ..station.clone()
        };
        self.add(s, Origin::Turret, stand_in);
        self.held.push(nozzles);
    }

    /// Nozzle kinds for every head of a drum: those that serve most placements, as many as each head holds
    /// and the stock still has.
    fn nozzles(&self, drum: &Head, most: usize, job: &Job<'_>, rules: &Rules) -> Vec<u32> {
        let heads = u32::from(drum.spindles);
        let others: BTreeSet<u32> = self.held.iter().flatten().copied().collect();
        let mut open: Vec<_> = (0..job.tasks.len() as u32).map(|t| job.part(domain::job::TaskId(t)).nozzle_class.value).collect();
        let mut chosen: Vec<u32> = Vec::new();
        while chosen.len() < most {
            let fits = |k: &u32| {
                let kind = &self.real.nozzle[*k as usize];
                drum.nozzles.contains(&kind.name) && nozzles_left(rules, &self.line.nozzle[*k as usize]) >= heads && !chosen.contains(k)
            };
            let serves = |k: u32| open.iter().filter(|c| self.real.nozzle[k as usize].classes.contains(c)).count();
            // Where turrets cannot hold everything, the next one begins with what the others have not.
            let scarce = most < drum.nozzles.len();
            let best = (0..self.real.nozzle.len() as u32).filter(fits).max_by_key(|k| {
                let fresh = !scarce || !others.contains(k);
                (serves(*k) > 0 && fresh, serves(*k), std::cmp::Reverse(*k))
            });
            let Some(k) = best.filter(|k| serves(*k) > 0) else { break };
            open.retain(|c| !self.real.nozzle[k as usize].classes.contains(c));
            chosen.push(k);
        }
        chosen
    }

    /// The index, or the table's way to a near placement if that takes longer; the mean over the placements.
    fn usual_step(&self, s: usize, drum: &Head, job: &Job<'_>) -> Time {
        let clock = self.clock.station(s);
        let index = drum.index.map_or(Time::ZERO, |t| *t);
        let Some(table) = clock.drum() else { return index };
        // A few hundred placements tell enough; the rest may lie between them.
        let points: Vec<_> = job.tasks.iter().map(|t| t.at).collect();
        let some = points.iter().step_by(points.len().div_ceil(300).max(1));
        let near = |at: &units::Point| {
            let off = |q: &units::Point| ((q.x - at.x).abs(), (q.y - at.y).abs());
            let others = || points.iter().filter(|q| *q != at);
            // What lies no nearer along either axis than another takes no less time.
            let mut nearest: Option<(Length, Length, Time)> = None;
            for q in others().min_by_key(|q| off(q).0.max(off(q).1)).into_iter().chain(others()) {
                let (x, y) = off(q);
                if nearest.is_none_or(|n| x < n.0 || y < n.1) {
                    let time = table.table(clock, *at, *q);
                    nearest = Some(nearest.filter(|n| n.2 <= time).unwrap_or((x, y, time)));
                }
            }
            nearest.map_or(Time::ZERO, |n| n.2).max(index).0
        };
        let steps: Vec<i64> = some.map(near).collect();
        // Paths are a little longer than from each to its nearest.
        Time(steps.iter().sum::<i64>() * 11 / 10 / (steps.len() as i64).max(1)).max(index)
    }
}
