//! Feeders in slots and trays on places.

use crate::problem::Problem;
use domain::line::Line;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::product::PartId;
use motion::SupplyRow;

/// What stands where at one station.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Station it belongs to.
    station: usize,
    /// Supplies; indices are stable.
    pub supplies: Vec<SupplyAt>,
    /// The clock's row of each.
    pub rows: Vec<SupplyRow>,
    /// Whether the engineer's lock holds it in place.
    pub locked: Vec<bool>,
    /// For each bank and slot the supply that covers it.
    slots: Vec<Vec<Option<u32>>>,
}

/// What a supply needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// Index of the bank.
    pub bank: usize,
    /// First slot, counted from 1.
    pub slot: u32,
}

impl Setup {
    /// Nothing stands there yet.
    pub fn new(line: &Line, station: usize) -> Self {
        let slots = line.station[station].bank.iter().map(|b| vec![None; b.slots as usize]).collect();
        Self { station, supplies: Vec::new(), rows: Vec::new(), locked: Vec::new(), slots }
    }

    /// What a station begins with: nothing, or the set-up that the problem holds.
    pub fn begin(p: &Problem<'_>, station: usize) -> Self {
        let mut setup = Self::new(p.line, station);
        for s in p.held.as_ref().and_then(|h| h.get(station)).into_iter().flatten() {
            setup.push(p, s.part.index(), s.place.clone(), true);
        }
        setup
    }

    /// Sets a supply where it stood elsewhere; its place must be free.
    pub fn add(&mut self, p: &Problem<'_>, supply: &SupplyAt) {
        self.push(p, supply.part.index(), supply.place.clone(), false);
    }

    /// Supplies of a part.
    pub fn of_part(&self, part: usize) -> impl Iterator<Item = u32> + '_ {
        self.supplies.iter().enumerate().filter(move |(_, s)| s.part.index() == part).map(|(i, _)| i as u32)
    }

    /// Slots a supply covers; 0 for trays.
    pub fn width(&self, line: &Line, supply: usize) -> u32 {
        match self.supplies[supply].place {
            SupplyPlace::Feeder { feeder, .. } => line.feeder[feeder as usize].slots,
            SupplyPlace::Tray { .. } => 0,
        }
    }

    /// Whether these slots exist and are free, or covered only by `but`.
    pub fn is_free(&self, at: Slot, width: u32, but: &[u32]) -> bool {
        let Some(slots) = self.slots.get(at.bank) else { return false };
        let (from, to) = (at.slot as usize - 1, at.slot as usize - 1 + width as usize);
        to <= slots.len() && slots[from..to].iter().all(|s| s.is_none_or(|x| but.contains(&x)))
    }

    /// First slot of a feeder; `None` for trays.
    pub fn slot(&self, supply: u32) -> Option<Slot> {
        match self.supplies[supply as usize].place {
            SupplyPlace::Feeder { bank, slot, .. } => Some(Slot { bank: bank as usize, slot }),
            SupplyPlace::Tray { .. } => None,
        }
    }

    /// The feeder that covers a slot, if the slot exists.
    pub fn covering(&self, at: Slot) -> Option<u32> {
        self.slots.get(at.bank)?.get((at.slot as usize).checked_sub(1)?).copied().flatten()
    }

    /// A feeder close to this one: the nearest to its left or right, or the next but one.
    pub fn close_to(&self, supply: u32, pick: u32) -> Option<u32> {
        let at = self.slot(supply)?;
        let slots = self.slots.get(at.bank)?;
        let mut left = pick / 2;
        let mut last = supply;
        let mut slot = i64::from(at.slot) - 1;
        let step = if pick.is_multiple_of(2) { 1 } else { -1 };
        loop {
            slot += step;
            match *slots.get(usize::try_from(slot).ok()?)? {
                Some(s) if s != last => {
                    last = s;
                    if left == 0 {
                        return Some(s);
                    }
                    left -= 1;
                }
                _ => {}
            }
        }
    }

    /// All runs of free slots this wide, bank by bank.
    pub fn free(&self, width: u32) -> Vec<Slot> {
        let banks = self.slots.iter().enumerate();
        banks
            .flat_map(|(bank, slots)| (1..=slots.len() as u32).map(move |slot| Slot { bank, slot }))
            .filter(|at| self.is_free(*at, width, &[]))
            .collect()
    }

    /// Sets a feeder; the slots must be free. Returns its supply.
    pub fn add_feeder(&mut self, p: &Problem<'_>, part: usize, feeder: u32, at: Slot, locked: bool) -> u32 {
        let place = SupplyPlace::Feeder { bank: at.bank as u32, slot: at.slot, feeder };
        self.push(p, part, place, locked)
    }

    /// Sets a tray; the level must be free. Returns its supply.
    pub fn add_tray(&mut self, p: &Problem<'_>, part: usize, tray: usize, level: u32) -> u32 {
        self.push(p, part, SupplyPlace::Tray { tray: tray as u32, level }, false)
    }

    fn push(&mut self, p: &Problem<'_>, part: usize, place: SupplyPlace, locked: bool) -> u32 {
        let index = self.supplies.len() as u32;
        self.supplies.push(SupplyAt { part: PartId(part as u32), place });
        self.rows.push(p.clock.supply_row(self.station, &self.supplies[index as usize]).expect("a supply on a place of the sheet"));
        self.locked.push(locked);
        self.mark(p.line, index, true);
        index
    }

    fn mark(&mut self, line: &Line, supply: u32, covered: bool) {
        if let SupplyPlace::Feeder { bank, slot, feeder } = self.supplies[supply as usize].place {
            for s in domain::plan::covered_slots(slot, &line.feeder[feeder as usize]) {
                self.slots[bank as usize][s as usize - 1] = covered.then_some(supply);
            }
        }
    }

    /// Exchanges two supplies: feeders of the same width, or two trays.
    pub fn exchange(&mut self, p: &Problem<'_>, a: u32, b: u32) {
        self.mark(p.line, a, false);
        self.mark(p.line, b, false);
        let (pa, pb) = (self.supplies[a as usize].place.clone(), self.supplies[b as usize].place.clone());
        match (pa, pb) {
            (SupplyPlace::Feeder { bank: ba, slot: sa, feeder: fa }, SupplyPlace::Feeder { bank: bb, slot: sb, feeder: fb }) => {
                self.supplies[a as usize].place = SupplyPlace::Feeder { bank: bb, slot: sb, feeder: fa };
                self.supplies[b as usize].place = SupplyPlace::Feeder { bank: ba, slot: sa, feeder: fb };
            }
            (pa, pb) => {
                self.supplies[a as usize].place = pb;
                self.supplies[b as usize].place = pa;
            }
        }
        self.mark(p.line, a, true);
        self.mark(p.line, b, true);
        self.refresh(p, a);
        self.refresh(p, b);
    }

    /// Moves several feeders at once; together with what stays they must not overlap.
    pub fn place_anew(&mut self, p: &Problem<'_>, plan: &[(u32, Slot)]) {
        for (supply, _) in plan {
            self.mark(p.line, *supply, false);
        }
        for (supply, to) in plan {
            if let SupplyPlace::Feeder { bank, slot, .. } = &mut self.supplies[*supply as usize].place {
                (*bank, *slot) = (to.bank as u32, to.slot);
            }
            self.mark(p.line, *supply, true);
            self.refresh(p, *supply);
        }
    }

    fn refresh(&mut self, p: &Problem<'_>, supply: u32) {
        self.rows[supply as usize] =
            p.clock.supply_row(self.station, &self.supplies[supply as usize]).expect("a supply on a place of the sheet");
    }

    /// A free level of a tray place that takes the part's trays.
    pub fn free_tray(&self, p: &Problem<'_>, part: usize) -> Option<(usize, u32)> {
        let trays = &p.line.station[self.station].tray;
        let used = |tray: usize, level: u32| {
            self.supplies.iter().any(|s| matches!(s.place, SupplyPlace::Tray { tray: t, level: l } if t as usize == tray && l == level))
        };
        p.tray_places(self.station, part).find_map(|t| (1..=trays[t].levels()).find(|l| !used(t, *l)).map(|l| (t, l)))
    }

    /// Drops supplies that nobody picks from; returns the new index of each supply kept.
    pub fn drop_unused(&mut self, p: &Problem<'_>, used: &[bool]) -> Vec<Option<u32>> {
        if p.held.is_some() {
            return (0..used.len() as u32).map(Some).collect();
        }
        let kept: Vec<(SupplyAt, bool)> =
            self.supplies.iter().zip(&self.locked).zip(used).filter(|(_, u)| **u).map(|((s, l), _)| (s.clone(), *l)).collect();
        let mut next = 0;
        let index = used
            .iter()
            .map(|u| {
                u.then(|| {
                    next += 1;
                    next - 1
                })
            })
            .collect();
        *self = Self::new(p.line, self.station);
        for (s, locked) in kept {
            self.push(p, s.part.index(), s.place, locked);
        }
        index
    }

    /// How many feeders of each kind stand here.
    pub fn feeders_used(&self, line: &Line) -> Vec<u32> {
        let mut used = vec![0; line.feeder.len()];
        for s in &self.supplies {
            if let SupplyPlace::Feeder { feeder, .. } = s.place {
                used[feeder as usize] += 1;
            }
        }
        used
    }
}
