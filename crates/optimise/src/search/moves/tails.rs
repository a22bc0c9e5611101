//! Exchanges the tails of two trips of one layout: all spindles from one on.
//!
//! The 2-opt* exchange of vehicle routing: Potvin and Rousseau, J. Oper. Res. Soc. 46 (1995), from memory.

use crate::search::journal::ALL;
use crate::search::{At, Search};

impl Search<'_> {
    pub(super) fn swap_tails(&mut self, at: At) -> bool {
        let near = {
            let t = self.cell(at).task;
            self.neighbour(t)
        };
        let Some(there) = near.map(|n| self.at[n.index()]) else { return false };
        if there.pass != at.pass || there.trip == at.trip || self.trip(there).layout != self.trip(at).layout {
            return false;
        }
        let spindles = self.trip(at).cells.len() as u8;
        let here = |s: u8| At { spindle: s, ..at };
        let other = |s: u8| At { spindle: s, ..there };
        let both = |s: &u8| self.cell(here(*s)).busy() && self.cell(other(*s)).busy();
        let tail: Vec<u8> = (at.spindle..spindles).filter(both).collect();
        if tail.is_empty() {
            return false;
        }
        self.open(at.pass, at.trip, ALL);
        self.open(there.pass, there.trip, ALL);
        for s in tail {
            let (mine, theirs) = (self.cell(here(s)), self.cell(other(s)));
            self.put(here(s), theirs);
            self.put(other(s), mine);
        }
        self.changed(at.pass, at.trip);
        self.changed(there.pass, there.trip);
        true
    }
}
