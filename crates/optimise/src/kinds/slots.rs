//! Feeders on the carriage of a turret.

use crate::outage::slots_up;
use crate::station::setup::OUT;
use domain::line::Line;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::rules::Rules;
use units::Length;

/// Which feeder stands where.
#[derive(Clone, Debug)]
pub(super) struct Slots {
    /// For each supply its bank, first slot and how many slots it covers.
    at: Vec<(usize, u32, u32)>,
    locked: Vec<bool>,
    /// For each bank and slot the supply that covers it.
    taken: Vec<Vec<Option<u32>>>,
}

impl Slots {
    /// As the supplies stand; all of them are feeders. Slots that are down are covered for good.
    pub(super) fn new(line: &Line, rules: &Rules, station: usize, supplies: &[SupplyAt], locked: &[bool]) -> Self {
        let sheet = &line.station[station];
        let bank = |b: usize| slots_up(rules, sheet, b).into_iter().map(|up| (!up).then_some(OUT)).collect();
        let mut slots = Self { at: Vec::new(), locked: locked.to_vec(), taken: (0..sheet.bank.len()).map(bank).collect() };
        for (i, s) in supplies.iter().enumerate() {
            if let SupplyPlace::Feeder { bank, slot, feeder } = s.place {
                slots.at.push((bank as usize, slot, line.feeder[feeder as usize].slots));
                slots.mark(i, true);
            }
        }
        slots
    }

    fn mark(&mut self, supply: usize, stands: bool) {
        let (bank, slot, width) = self.at[supply];
        for k in slot..slot + width {
            self.taken[bank][k as usize - 1] = stands.then_some(supply as u32);
        }
    }

    /// Each supply with its bank and first slot.
    pub(super) fn places(&self) -> impl Iterator<Item = (u32, usize, u32)> + '_ {
        self.at.iter().enumerate().map(|(i, (bank, slot, _))| (i as u32, *bank, *slot))
    }

    /// Pick points along X.
    pub(super) fn xs(&self, line: &Line, station: usize) -> Vec<Length> {
        (0..self.at.len()).map(|k| self.x(line, station, k)).collect()
    }

    /// Pick point of a feeder along X.
    pub(super) fn x(&self, line: &Line, station: usize, supply: usize) -> Length {
        let ((bank, slot, width), sheet) = (self.at[supply], &line.station[station]);
        // As `pick_point`: twice the way from slot 1 to the middle, so that even widths stay exact before halving.
        let twice = 2 * (i64::from(slot) - 1) + i64::from(width) - 1;
        *sheet.bank[bank].first.x + Length(sheet.bank[bank].pitch.0.0 * twice / 2)
    }

    /// Whether a feeder may be moved.
    pub(super) fn is_free(&self, supply: usize) -> bool {
        !self.locked[supply]
    }

    /// Feeders of the same width change places; whether they did.
    pub(super) fn exchange(&mut self, a: usize, b: usize) -> bool {
        if a == b || self.locked[a] || self.locked[b] || self.at[a].2 != self.at[b].2 {
            return false;
        }
        self.mark(a, false);
        self.mark(b, false);
        self.at.swap(a, b);
        self.mark(a, true);
        self.mark(b, true);
        true
    }

    /// Where a feeder stands: bank and first slot.
    pub(super) fn place(&self, supply: usize) -> (usize, u32) {
        (self.at[supply].0, self.at[supply].1)
    }

    /// Moves a feeder to free slots; whether they were free.
    pub(super) fn shift(&mut self, supply: usize, (bank, slot): (usize, u32)) -> bool {
        let width = self.at[supply].2;
        let Some(taken) = self.taken.get(bank) else { return false };
        let (from, to) = (slot as usize, (slot + width) as usize - 1);
        if self.locked[supply]
            || slot == 0
            || to > taken.len()
            || taken[from - 1..to].iter().any(|t| t.is_some_and(|t| t as usize != supply))
        {
            return false;
        }
        self.mark(supply, false);
        (self.at[supply].0, self.at[supply].1) = (bank, slot);
        self.mark(supply, true);
        true
    }
}
