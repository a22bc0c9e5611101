//! A product on a set-up that is held ([`Problem::holding`]): the planner's own search, without the right to set up.
//!
//! Nothing here knows how a program is found, so everything that the planner can do for one product it does for a product
//! of a family.

use crate::bound::Costs;
use crate::kinds;
use crate::planner::{Island, Limits, LineState, Run, TOGETHER, Watch, mix};
use crate::problem::Problem;
use crate::proof::Proof;
use crate::search::Heat;
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
        Some((state, heat)) => cool(&mut run, state, costs, bound, heat),
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

/// Cools a state down over the limits, without the heat that would undo what it has already found.
fn cool(run: &mut Run<'_>, first: LineState, costs: &Costs, bound: Option<Time>, from: f64) -> LineState {
    let mut island = Island::new(first);
    let mut round = 0;
    while run.share() < 1.0 && bound.is_none_or(|b| island.best().key(run.p).1 > b) {
        let now = from * (COLDEST / from).powf(run.share());
        let heat = Heat { from: now, to: now * 0.8 };
        run.work += run.round(&mut island, heat, now <= TOGETHER, mix(run.limits.seed, 3, round), costs, run.limits.threads);
        round += 1;
    }
    island.best().clone()
}

/// Heat at the end [µs], as in the planner's own cooling.
const COLDEST: f64 = 200.0;

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
