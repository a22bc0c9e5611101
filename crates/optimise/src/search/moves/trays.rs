//! Exchanges two trays.

use crate::search::Search;
use domain::plan::SupplyPlace;

impl Search<'_> {
    pub(super) fn swap_trays(&mut self, a: u32, tray: u32) -> bool {
        let b = self.movable[self.rng.usize(..self.movable.len())];
        let SupplyPlace::Tray { tray: other, .. } = self.state.setup.supplies[b as usize].place else { return false };
        let part = |s: u32| self.state.setup.supplies[s as usize].part.index();
        let fits = a != b
            && self.p.tray_places(self.state.station, part(a)).any(|x| x == other as usize)
            && self.p.tray_places(self.state.station, part(b)).any(|x| x == tray as usize);
        if fits {
            self.exchange_trays(a, b);
        }
        fits
    }
}
