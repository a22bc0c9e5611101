//! Feeders in slots and trays on places.

use crate::outage::slots_up;
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
    /// How many of the supplies, the first ones, the engineer keeps whether they are picked from or not.
    kept: usize,
    /// How many supplies more than its own share may be added at a closed station, lent by the other beam; less than 0 where
    /// it lent itself.
    pub lent: i64,
    /// For each bank and slot the supply that covers it.
    slots: Vec<Vec<Option<u32>>>,
}

/// Covers a slot that is down.
pub(crate) const OUT: u32 = u32::MAX;

/// What a supply needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// Index of the bank.
    pub bank: usize,
    /// First slot, counted from 1.
    pub slot: u32,
}

impl Setup {
    /// Nothing stands there yet but what the engineer keeps; slots that are down are covered for good.
    pub fn new(p: &Problem<'_>, station: usize) -> Self {
        let sheet = &p.line.station[station];
        let bank = |b: usize| slots_up(p.rules, sheet, b).into_iter().map(|up| (!up).then_some(OUT)).collect();
        let slots = (0..sheet.bank.len()).map(bank).collect();
        let mut setup = Self { station, supplies: Vec::new(), rows: Vec::new(), locked: Vec::new(), kept: 0, lent: 0, slots };
        for (part, s) in p.kept.iter().filter(|(_, s)| s.station == station) {
            let place = if s.tray {
                SupplyPlace::Tray { tray: s.place as u32, level: s.first }
            } else {
                SupplyPlace::Feeder { bank: s.place as u32, slot: s.first, feeder: s.feeder }
            };
            setup.push(p, *part, place, true);
        }
        setup.kept = setup.supplies.len();
        setup
    }

    /// Whether the engineer keeps a supply, whether it is picked from or not.
    pub fn is_kept(&self, supply: usize) -> bool {
        supply < self.kept
    }

    /// Whether a supply could be moved: neither kept nor bound by a lock.
    pub fn is_free_to_move(&self, p: &Problem<'_>, supply: usize) -> bool {
        !self.is_kept(supply) && !p.lock(self.supplies[supply].part.index()).is_some_and(|l| l.binds_supply())
    }

    /// Holds what stands where it stood, and frees what does not.
    pub fn hold_standing(&mut self, p: &Problem<'_>) {
        for i in 0..self.supplies.len() {
            self.locked[i] = !self.is_free_to_move(p, i) || p.stands(self.station, &self.supplies[i]);
        }
    }

    /// How many supplies do not stand where they stood already.
    pub fn moved(&self, p: &Problem<'_>) -> usize {
        self.supplies.iter().filter(|s| !p.stands(self.station, s)).count()
    }

    /// Where a supply of the part stands already and may be taken up again; `None` if it is nowhere or covered.
    pub fn standing(&self, p: &Problem<'_>, part: usize, left: &[u32]) -> Option<SupplyPlace> {
        let here = p.standing.get(self.station)?.iter().filter(|s| s.part.index() == part);
        let free = |place: &SupplyPlace| match *place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let width = p.line.feeder[feeder as usize].slots;
                p.feeders[part].contains(&feeder)
                    && left[feeder as usize] > 0
                    && self.is_free(Slot { bank: bank as usize, slot }, width, &[])
            }
            SupplyPlace::Tray { tray, .. } => {
                p.tray_places(self.station, part).any(|t| t == tray as usize) && !self.supplies.iter().any(|s| s.place == *place)
            }
        };
        let mut places = here.map(|s| &s.place).filter(|x| p.may_stand(self.station, part, x) && free(x));
        places.next().cloned()
    }

    /// Whether slots hold what stands there already, though it is not in use now.
    pub fn is_taken_before(&self, p: &Problem<'_>, at: Slot, width: u32) -> bool {
        let covers = |s: &SupplyAt| match s.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                bank as usize == at.bank && slot < at.slot + width && at.slot < slot + p.line.feeder[feeder as usize].slots
            }
            SupplyPlace::Tray { .. } => false,
        };
        p.standing.get(self.station).is_some_and(|all| all.iter().any(covers))
    }

    /// Whether the station's set-up is closed to one more supply.
    pub fn is_closed(&self, p: &Problem<'_>) -> bool {
        self.allowance(p).is_some_and(|add| self.added() >= add)
    }

    fn added(&self) -> i64 {
        (self.supplies.len() - self.kept) as i64
    }

    fn allowance(&self, p: &Problem<'_>) -> Option<i64> {
        Some(i64::from(p.may_add(self.station)?) + self.lent)
    }

    /// Gives up what of a closed set-up's allowance is not used; says how much that is.
    pub fn give_allowance(&mut self, p: &Problem<'_>) -> i64 {
        let spare = self.allowance(p).map_or(0, |add| (add - self.added()).max(0));
        self.lent -= spare;
        spare
    }

    /// What a station begins with: what is kept, and the set-up that the problem holds.
    pub fn begin(p: &Problem<'_>, station: usize) -> Self {
        let mut setup = Self::new(p, station);
        for s in p.held.as_ref().and_then(|h| h.get(station)).into_iter().flatten() {
            // What the engineer keeps stands already.
            if !setup.supplies.contains(s) {
                setup.push(p, s.part.index(), s.place.clone(), true);
            }
        }
        setup
    }

    /// Sets a supply where it stood elsewhere; its place must be free, or the supply stands there already.
    pub fn add(&mut self, p: &Problem<'_>, supply: &SupplyAt) {
        if !self.supplies.contains(supply) {
            self.push(p, supply.part.index(), supply.place.clone(), false);
        }
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

    /// The feeder that covers a slot, if the slot exists and is up.
    pub fn covering(&self, at: Slot) -> Option<u32> {
        self.slots.get(at.bank)?.get((at.slot as usize).checked_sub(1)?).copied().flatten().filter(|s| *s != OUT)
    }

    /// Whether a slot is down.
    pub fn is_out(&self, at: Slot) -> bool {
        self.slots.get(at.bank).and_then(|b| b.get((at.slot as usize).checked_sub(1)?)) == Some(&Some(OUT))
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
                Some(s) if s != last && s != OUT => {
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

    /// Where a feeder of this width could stand nearest to a slot, in its own bank if it can.
    pub fn nearest_free(&self, width: u32, beside: Slot) -> Option<Slot> {
        let most = self.slots.iter().map(Vec::len).max().unwrap_or(0) as u32;
        let at = |bank: usize, distance: u32| {
            let below = beside.slot.checked_sub(distance).filter(|slot| *slot > 0);
            let slots = below.into_iter().chain((distance > 0).then_some(beside.slot + distance));
            slots.map(|slot| Slot { bank, slot }).find(|at| self.is_free(*at, width, &[]))
        };
        let elsewhere = |distance| (0..self.slots.len()).filter(|b| *b != beside.bank).find_map(|bank| at(bank, distance));
        (0..=most).find_map(|distance| at(beside.bank, distance)).or_else(|| (0..=most).find_map(elsewhere))
    }

    /// Sets a feeder; the slots must be free. Returns its supply.
    pub fn add_feeder(&mut self, p: &Problem<'_>, part: usize, feeder: u32, at: Slot, locked: bool) -> u32 {
        let place = SupplyPlace::Feeder { bank: at.bank as u32, slot: at.slot, feeder };
        self.push(p, part, place, locked)
    }

    /// Sets a tray; the level must be free. Returns its supply.
    pub fn add_tray(&mut self, p: &Problem<'_>, part: usize, tray: usize, level: u32, locked: bool) -> u32 {
        self.push(p, part, SupplyPlace::Tray { tray: tray as u32, level }, locked)
    }

    fn push(&mut self, p: &Problem<'_>, part: usize, place: SupplyPlace, locked: bool) -> u32 {
        let index = self.supplies.len() as u32;
        self.supplies.push(SupplyAt { part: PartId(part as u32), place });
        self.rows.push(p.clock.supply_row(self.station, &self.supplies[index as usize]).expect("a supply on a place of the sheet"));
        // What stands where it stood is not moved without need.
        self.locked.push(locked || p.stands(self.station, &self.supplies[index as usize]));
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

    /// Puts another supply, as wide, in place of this one; returns the old one.
    pub fn replace(&mut self, p: &Problem<'_>, supply: u32, new: SupplyAt) -> SupplyAt {
        self.mark(p.line, supply, false);
        let old = std::mem::replace(&mut self.supplies[supply as usize], new);
        self.mark(p.line, supply, true);
        self.refresh(p, supply);
        old
    }

    /// Takes away the supply that was set last.
    pub fn remove_last(&mut self, p: &Problem<'_>) -> Option<SupplyAt> {
        let last = self.supplies.len().checked_sub(1)?;
        self.mark(p.line, last as u32, false);
        self.rows.pop();
        self.locked.pop();
        self.supplies.pop()
    }

    fn refresh(&mut self, p: &Problem<'_>, supply: u32) {
        self.rows[supply as usize] =
            p.clock.supply_row(self.station, &self.supplies[supply as usize]).expect("a supply on a place of the sheet");
    }

    /// A free level of a tray place that takes the part's trays, and that its lock allows.
    pub fn free_tray(&self, p: &Problem<'_>, part: usize) -> Option<(usize, u32)> {
        let trays = &p.line.station[self.station].tray;
        let used = |tray: usize, level: u32| {
            self.supplies.iter().any(|s| matches!(s.place, SupplyPlace::Tray { tray: t, level: l } if t as usize == tray && l == level))
        };
        let lock = p.lock(part);
        let allowed = |tray: usize, level: u32| {
            lock.is_none_or(|l| l.tray.as_ref().is_none_or(|n| *n == trays[tray].name) && l.level.is_none_or(|n| n == level))
        };
        let free = |t: usize| (1..=trays[t].levels()).find(|l| !used(t, *l) && allowed(t, *l)).map(|l| (t, l));
        p.tray_places(self.station, part).find_map(free)
    }

    /// Drops supplies that nobody picks from and the engineer does not keep; returns the new index of each that stays.
    pub fn drop_unused(&mut self, p: &Problem<'_>, used: &[bool]) -> Vec<Option<u32>> {
        if p.held.is_some() {
            return (0..used.len() as u32).map(Some).collect();
        }
        let fresh = Self::new(p, self.station);
        let before = std::mem::replace(self, fresh);
        self.lent = before.lent;
        let rows = before.supplies.into_iter().zip(before.locked).zip(used).enumerate();
        rows.map(|(i, ((s, locked), used))| match () {
            // What is kept stands at the head of both lists.
            () if i < before.kept => Some(i as u32),
            () if *used => Some(self.push(p, s.part.index(), s.place, locked)),
            () => None,
        })
        .collect()
    }

    /// How many feeders of each kind stand here, those aside that the engineer keeps.
    pub fn feeders_used(&self, line: &Line) -> Vec<u32> {
        let mut used = vec![0; line.feeder.len()];
        for s in &self.supplies[self.kept..] {
            if let SupplyPlace::Feeder { feeder, .. } = s.place {
                used[feeder as usize] += 1;
            }
        }
        used
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_free_slot_is_nearest_of_all_free_ones() {
        let mut rng = fastrand::Rng::with_seed(7);
        let mut found = 0;
        for _ in 0..5_000 {
            let bank = |rng: &mut fastrand::Rng| {
                let slots = rng.usize(1..20);
                (0..slots).map(|_| (rng.u32(..4) > 0).then_some(OUT)).collect::<Vec<_>>()
            };
            let slots: Vec<Vec<Option<u32>>> = (0..rng.usize(1..4)).map(|_| bank(&mut rng)).collect();
            let of = rng.usize(..slots.len());
            let beside = Slot { bank: of, slot: rng.u32(1..=slots[of].len() as u32) };
            let setup = Setup { station: 0, supplies: Vec::new(), rows: Vec::new(), locked: Vec::new(), kept: 0, lent: 0, slots };
            let width = rng.u32(1..4);
            let nearest =
                setup.free(width).into_iter().min_by_key(|s| (s.bank != beside.bank, s.slot.abs_diff(beside.slot), s.bank, s.slot));
            assert_eq!(setup.nearest_free(width, beside), nearest);
            found += usize::from(nearest.is_some());
        }
        assert!(found > 1_000 && found < 4_900, "{found}");
    }
}
