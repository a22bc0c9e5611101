//! The shared set-up: which supply stands in which place, the same for all products.

use super::model::Joint;
use crate::problem::Problem;
use crate::station::construct::{Stock, add_supply};
use crate::station::setup::Setup;
use domain::part::Part;
use domain::plan::SupplyAt;

/// What stands at each station, in the order of the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct SharedSupplies<'a> {
    parts: &'a [Part],
    pub(super) stations: Vec<Vec<SupplyAt>>,
}

/// Why a set-up could not be made.
pub(super) struct NoRoom {
    /// Station that has no room for a supply, or no feeder for it.
    pub(super) station: usize,
    /// Slots that were missing.
    pub(super) slots: u32,
}

impl<'a> SharedSupplies<'a> {
    /// Gives a place to the supply of every part wanted at each station, beside those that stand there already.
    ///
    /// `wanted` are placements picked over the whole demand, `[station][part]`; 0 where the part is not supplied. Wide
    /// feeders come first, while long runs are free, then those picked from most. `p` is the problem of the product
    /// whose panel the middle of the banks is measured by. With `all`, a supply without room is an error; else it is
    /// left out.
    pub(super) fn place(p: &Problem<'a>, standing: &[Vec<SupplyAt>], wanted: &[Vec<f64>], all: bool) -> Result<Self, NoRoom> {
        let mut setups: Vec<Setup> = (0..wanted.len()).map(|s| Setup::new(p, s)).collect();
        for (setup, supplies) in setups.iter_mut().zip(standing) {
            supplies.iter().for_each(|s| setup.add(p, s));
        }
        let mut left = Stock::full(p).feeders;
        for used in setups.iter().map(|s| s.feeders_used(p.line)) {
            left.iter_mut().zip(used).for_each(|(l, u)| *l = l.saturating_sub(u));
        }
        for (s, (setup, picked)) in setups.iter_mut().zip(wanted).enumerate() {
            let width = |part: usize| p.feeders[part].first().map_or(0, |f| p.line.feeder[*f as usize].slots);
            let mut order: Vec<usize> = (0..picked.len()).filter(|k| picked[*k] > 0.0 && setup.of_part(*k).next().is_none()).collect();
            let bound = |k: usize| p.lock(k).is_some_and(|l| l.bank.is_some());
            order.sort_by(|a, b| {
                let key = |k: usize| (!bound(k), std::cmp::Reverse(width(k)));
                key(*a).cmp(&key(*b)).then(picked[*b].total_cmp(&picked[*a])).then(a.cmp(b))
            });
            for part in order {
                if add_supply(p, setup, s, part, &mut left).is_err() && all {
                    return Err(NoRoom { station: s, slots: width(part).max(1) });
                }
            }
        }
        Ok(Self { parts: &p.job.product.parts, stations: setups.into_iter().map(|s| s.supplies).collect() })
    }

    /// Only those supplies for which `stays` holds, given station and part.
    pub(super) fn thinned(&self, stays: impl Fn(usize, usize) -> bool) -> Self {
        let thin = |(s, all): (usize, &Vec<SupplyAt>)| all.iter().filter(|x| stays(s, x.part.index())).cloned().collect();
        Self { stations: self.stations.iter().enumerate().map(thin).collect(), ..*self }
    }

    /// For each station whether each part is supplied there.
    pub(super) fn supplied(&self) -> Vec<Vec<bool>> {
        let row = |all: &Vec<SupplyAt>| {
            let mut row = vec![false; self.parts.len()];
            all.iter().for_each(|s| row[s.part.index()] = true);
            row
        };
        self.stations.iter().map(row).collect()
    }

    /// The same supplies in other places.
    pub(super) fn moved(self, stations: Vec<Vec<SupplyAt>>) -> Self {
        Self { stations, ..self }
    }
}

/// The place of every supply for what the joint model decides, with slots kept free until wide feeders find room.
///
/// # Errors
/// How many slots, tray places or feeders are too few.
pub(super) fn place_all<'a>(
    p: &Problem<'a>,
    model: &mut Joint,
    mut spread: impl FnMut(&Joint) -> Result<Vec<Vec<f64>>, u32>,
) -> Result<SharedSupplies<'a>, u32> {
    let mut missing = 1;
    for _ in 0..MOST_REPAIRS {
        let wanted = spread(model)?;
        match SharedSupplies::place(p, &[], &wanted, true) {
            Ok(supplies) => return Ok(supplies),
            Err(no) => {
                missing = no.slots;
                model.reserve[no.station] += no.slots;
            }
        }
    }
    Err(missing)
}

/// How often slots are set aside before a set-up is given up.
const MOST_REPAIRS: usize = 12;
