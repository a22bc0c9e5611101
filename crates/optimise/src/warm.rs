//! Starting from a plan that exists, also one of another revision of the product or of the line.
//!
//! Tasks are matched by reference, image and part; stations, heads, banks, tray places, feeders and
//! nozzles by name. What the new inputs no longer allow is taken out (`carry`), what is left becomes a
//! state of the search (`import`), and tasks without a place are put where they cost least (`insert`).

mod carry;
mod import;
mod insert;

use crate::kinds;
use crate::planner::LineState;
use crate::problem::Problem;
use crate::station::StationState;
use domain::job::TaskId;
use domain::plan::{Plan, SupplyAt};
use std::collections::BTreeSet;
use units::Time;

pub(crate) use insert::{Price, put_at};

/// Puts tasks that a start left out where there is room after all: the linear model that spreads them does not know
/// closed stations and what is kept, nor that the feeder another portion of a part has somewhere serves them too.
pub(crate) fn rescue(p: &Problem<'_>, state: &mut LineState) {
    if !state.unplaced.is_empty() && !state.stations.is_empty() {
        // What lost its dots with its place cannot be put anywhere without them.
        let set: BTreeSet<TaskId> = state.stations.iter().flat_map(StationState::dotted).collect();
        state.unplaced.retain(|u| p.order.dots.contains_key(&u.task) && !set.contains(&u.task));
        insert::insert_homeless(p, state, Time::ZERO);
    }
}

/// What stood at each station, in the numbers of the new inputs.
pub(crate) fn standing(p: &Problem<'_>, old: &Plan) -> Vec<Vec<SupplyAt>> {
    kinds::apart(old).map_or_else(Vec::new, |old| carry::standing(p, &old))
}

/// The old plan as a state of the search, complete where room is found; `None` when its program cannot be
/// taken over at all (it looks at other areas, or its own inputs are not sound).
pub(crate) fn line_state(p: &Problem<'_>, old: &Plan, price: Time) -> Option<LineState> {
    let mut state = taken_over(p, old)?;
    insert::insert_homeless(p, &mut state, price);
    Some(state)
}

/// What the old plan places and the new inputs still allow, as a state of the search; `None` as for [`line_state`].
pub(crate) fn taken_over(p: &Problem<'_>, old: &Plan) -> Option<LineState> {
    let old = kinds::apart(old)?;
    let carried = carry::carry(p, &old)?;
    let mut state = import::import(p, carried)?;
    kinds::time(p, &mut state.stations);
    Some(state)
}
