//! Exchanges the tails of two trips of one layout: all spindles from one on.
//!
//! The 2-opt* exchange of vehicle routing: Potvin and Rousseau, J. Oper. Res. Soc. 46 (1995), from memory.

use crate::search::screen::Other;
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
        let (mut mine, mut theirs) = (Other::none(), Other::none());
        for s in at.spindle..spindles {
            let (here, other) = (self.cell(At { spindle: s, ..at }), self.cell(At { spindle: s, ..there }));
            if here.busy() && other.busy() {
                mine.set(s, other);
                theirs.set(s, here);
            }
        }
        mine.each().next().is_some() && self.give(&[(at, mine), (there, theirs)])
    }
}
