//! A product on a set-up that is held ([`Problem::holding`]): the planner's own search, without the right to set up.
//!
//! Nothing here knows how a program is found, so everything that the planner can do for one product it does for a product
//! of a family.

use crate::bound::Costs;
use crate::kinds;
use crate::planner::{Limits, LineState, Run, Watch};
use crate::problem::Problem;
use crate::proof::Proof;
use crate::start::{Estimate, start};
use crate::station::setup::Setup;
use crate::station::state::PassWork;
use units::Time;

/// Plans one product within limits, from a state if there is one, with the heat it is still worth [µs]. Returns the best
/// state and the moves tried.
pub(super) fn solve(
    p: &Problem<'_>,
    costs: &Costs,
    bound: Time,
    limits: Limits,
    watch: &dyn Watch,
    from: Option<(LineState, f64)>,
) -> (LineState, u64) {
    let mut run = Run { p, limits, watch, work: 0 };
    let bound = (bound > Time::ZERO).then_some(bound);
    let best = match from {
        Some((state, heat)) => run.cool(state, costs, bound, heat),
        None => {
            let ones = vec![1.15; p.cap.modes.len()];
            let first = start(p, &Estimate::new(p, costs, &ones), 4_000, &mut fastrand::Rng::with_seed(limits.seed));
            let first = run.timed(first);
            if first.stations.is_empty() || run.share() >= 1.0 {
                return (first, run.work);
            }
            let proof = Proof::known(bound);
            let best = run.restarts(first, costs, &proof);
            run.improve(best, costs, &proof)
        }
    };
    (best, run.work)
}

/// Puts the programs of a state onto the set-up that `p` holds. `None` where a supply that they pick from is gone.
pub(super) fn rehang(p: &Problem<'_>, state: &LineState) -> Option<LineState> {
    let mut state = state.clone();
    for station in &mut state.stations {
        let setup = Setup::begin(p, station.station);
        for pass in &mut station.passes {
            let PassWork::Trips(trips) = &mut pass.work else { continue };
            for cell in trips.iter_mut().flat_map(|t| &mut t.cells).filter(|c| c.busy()) {
                cell.supply = setup.of_part(p.part_of(cell.task)).next()?;
            }
        }
        station.setup = setup;
        station.time = crate::station::export::export(p, station).time_us;
    }
    kinds::time(p, &mut state.stations);
    Some(state)
}
