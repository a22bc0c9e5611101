//! The joint balance: how many placements of each product's groups go to each mode, when a part is supplied at a
//! station for all products or for none.
//!
//! Time of a product at a station = fixed + swaps + Σ time × placements, as in [`crate::balance`]; what counts is
//! Σ panels × slowest station. Slots, tray places and feeders in stock are those of the line, once for all products.

use crate::balance::{Linear, Machine, softened};
use crate::problem::Problem;

/// Exponent of [`softened`] here: every change of the joint balance is levelled again, so that a norm this hard still tells
/// which of two is better.
const HARD: u32 = 7;

/// The joint model.
pub(super) struct Joint {
    /// Each product's own model; groups of one part have the same number in all.
    pub(super) products: Vec<Linear>,
    /// Panels wanted of each product.
    pub(super) panels: Vec<f64>,
    /// What the supply of each part needs.
    pub(super) needs: Vec<Need>,
    /// Feeders of each kind in stock.
    pub(super) stock: Vec<u32>,
    /// Slots that stay free at each station, for what wide feeders waste.
    pub(super) reserve: Vec<u32>,
}

/// What the supply of a part needs at a station.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Need {
    /// Slots its feeder covers.
    pub(super) slots: u32,
    /// Tray places.
    pub(super) places: u32,
    /// Kind of its feeder.
    pub(super) feeder: Option<u32>,
}

impl Joint {
    /// Joins the products' models. `p` is the problem of any of them: all have the same parts.
    pub(super) fn new(products: Vec<Linear>, panels: Vec<f64>, p: &Problem<'_>) -> Self {
        let need = |part: usize| {
            let feeder = p.feeders[part].first().copied();
            let tray = p.in_trays(part);
            Need {
                slots: if tray { 0 } else { feeder.map_or(0, |f| p.line.feeder[f as usize].slots) },
                places: u32::from(tray),
                feeder: if tray { None } else { feeder },
            }
        };
        Self {
            products,
            panels,
            needs: (0..p.job.product.parts.len()).map(need).collect(),
            stock: p.feeder_stock(),
            reserve: vec![0; p.line.station.len()],
        }
    }

    /// Number of stations.
    pub(super) fn stations(&self) -> usize {
        self.reserve.len()
    }
}

/// Placements of each group of one product in each mode: `[group][mode]`.
pub(super) type Counts = Vec<Vec<u32>>;

/// A joint assignment under change, with everything that follows from it.
#[derive(Clone)]
pub(super) struct Assignment<'m> {
    pub(super) model: &'m Joint,
    /// For each product.
    pub(super) counts: Vec<Counts>,
    /// Work of each product in each mode [µs].
    work: Vec<Vec<f64>>,
    /// Placements of each product in each mode.
    pub(super) users: Vec<Vec<u32>>,
    /// Placements of each part at each station, over all products: `[station][part]`.
    pub(super) picked: Vec<Vec<u32>>,
    slots: Vec<u32>,
    places: Vec<u32>,
    feeders: Vec<u32>,
    /// Supplies at all stations.
    pub(super) supplies: u32,
}

impl<'m> Assignment<'m> {
    pub(super) fn new(model: &'m Joint, counts: Vec<Counts>) -> Self {
        let modes = model.products.first().map_or(0, |m| m.columns.len());
        let mut empty = Self {
            model,
            counts: model.products.iter().map(|m| vec![vec![0; modes]; m.groups.len()]).collect(),
            work: vec![vec![0.0; modes]; model.products.len()],
            users: vec![vec![0; modes]; model.products.len()],
            picked: vec![vec![0; model.needs.len()]; model.stations()],
            slots: vec![0; model.stations()],
            places: vec![0; model.stations()],
            feeders: vec![0; model.stock.len()],
            supplies: 0,
        };
        for (p, groups) in counts.iter().enumerate() {
            for (g, row) in groups.iter().enumerate() {
                row.iter().enumerate().filter(|(_, n)| **n > 0).for_each(|(m, n)| empty.put(p, g, m, *n));
            }
        }
        empty
    }

    /// Whether a group can be done in a mode.
    pub(super) fn can(&self, p: usize, g: usize, mode: usize) -> bool {
        self.model.products[p].time[g][mode].is_some()
    }

    /// Adds placements of a group to a mode.
    pub(super) fn put(&mut self, p: usize, g: usize, mode: usize, n: u32) {
        let linear = &self.model.products[p];
        let (part, station) = (linear.groups[g].part as usize, linear.columns[mode]);
        self.counts[p][g][mode] += n;
        self.work[p][mode] += linear.time[g][mode].unwrap_or(0.0) * f64::from(n);
        self.users[p][mode] += n;
        let picked = &mut self.picked[station][part];
        if *picked == 0 && n > 0 {
            let need = self.model.needs[part];
            self.slots[station] += need.slots;
            self.places[station] += need.places;
            self.supplies += 1;
            if let Some(f) = need.feeder {
                self.feeders[f as usize] += 1;
            }
        }
        *picked += n;
    }

    /// Takes placements of a group out of a mode.
    pub(super) fn take(&mut self, p: usize, g: usize, mode: usize, n: u32) {
        let linear = &self.model.products[p];
        let (part, station) = (linear.groups[g].part as usize, linear.columns[mode]);
        self.counts[p][g][mode] -= n;
        self.work[p][mode] -= linear.time[g][mode].unwrap_or(0.0) * f64::from(n);
        self.users[p][mode] -= n;
        let picked = &mut self.picked[station][part];
        *picked -= n;
        if *picked == 0 && n > 0 {
            let need = self.model.needs[part];
            self.slots[station] -= need.slots;
            self.places[station] -= need.places;
            self.supplies -= 1;
            if let Some(f) = need.feeder {
                self.feeders[f as usize] -= 1;
            }
        }
    }

    /// Slots, tray places and feeders that are wanted beyond what there is.
    pub(super) fn excess(&self) -> u32 {
        let Some(linear) = self.model.products.first() else { return 0 };
        let mut excess = 0;
        for (s, machine) in linear.stations.iter().enumerate() {
            excess += (self.slots[s] + self.model.reserve[s]).saturating_sub(machine.slots);
            excess += self.places[s].saturating_sub(machine.places);
        }
        excess + self.feeders.iter().zip(&self.model.stock).map(|(used, stock)| used.saturating_sub(*stock)).sum::<u32>()
    }

    /// Pairs of groups of a product of which the first has work at a later station than the second.
    pub(super) fn out_of_order(&self, p: usize) -> u32 {
        let linear = &self.model.products[p];
        let stations = |g: usize| linear.columns.iter().zip(&self.counts[p][g]).filter(|(_, n)| **n > 0).map(|(s, _)| *s);
        let broken = |(a, b): &&(usize, usize)| stations(*a).max().zip(stations(*b).min()).is_some_and(|(a, b)| a > b);
        linear.pairs.iter().filter(broken).count() as u32
    }

    /// Time of a product at a station [µs].
    pub(super) fn load(&self, p: usize, station: usize) -> f64 {
        let linear = &self.model.products[p];
        let (mut load, mut heads) = (linear.stations[station].fixed, 0);
        for (m, at) in linear.columns.iter().enumerate() {
            if *at == station && self.users[p][m] > 0 {
                load += self.work[p][m];
                heads += 1;
            }
        }
        let machine = linear.stations[station];
        let alternate = machine.alternate && (heads < 2 || !self.has_order_between_heads(p, station));
        load + Machine { alternate, ..machine }.swaps(heads)
    }

    /// Whether some work of a product at a station must be done before other work of another head there: then its passes
    /// cannot alternate.
    fn has_order_between_heads(&self, p: usize, station: usize) -> bool {
        let linear = &self.model.products[p];
        let heads = |g: usize| {
            let row = self.counts[p][g].iter().zip(&linear.columns).enumerate();
            row.filter(|(_, (n, s))| **n > 0 && **s == station).map(|(m, _)| m)
        };
        linear.pairs.iter().any(|(a, b)| heads(*a).any(|m| heads(*b).any(|n| n != m)))
    }

    /// Time of a product's slowest station, softened a little, times its panels.
    pub(super) fn value_of(&self, p: usize) -> f64 {
        self.model.panels[p] * softened((0..self.model.stations()).map(|s| self.load(p, s)), HARD)
    }
}
