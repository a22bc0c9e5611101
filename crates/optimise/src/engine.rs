//! The engines: problems of operations research that planning a line is made of, each solved for its own sake.
//!
//! [`order`] (round trips and sequences), [`slots`] (quadratic assignment), [`trips`] (vehicle routing), [`assign`] (generalised
//! assignment and makespan), [`stations`] (line balancing with rules what comes first). They know nothing of lines: stops, feeders, jobs and agents are numbers, costs are whole numbers of any unit.
//! All are pure; all can be begun from what is there and stopped by a limit of work, the best so far kept; the same input, seed and work
//! give the same answer. Gaps on published instances: `docs/planning.md` §4, checked in `tests/engine_reference.rs`.

pub mod assign;
pub mod order;
pub mod slots;
pub mod stations;
pub mod trips;
pub mod ways;
