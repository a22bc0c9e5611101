//! The balance by linear and mixed-integer programming.

use super::{Linear, Spread};
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolutionStatus, SolveOptions, Variable};
use std::collections::BTreeMap;

/// The linear relaxation: groups may be split at will, slots are shared by fractions.
///
/// Its value is a lower bound of the model. `None` if nothing is feasible or the solver failed.
pub fn relax(model: &Linear) -> Option<Spread> {
    let mut lp = Problem::new(OptimizationDirection::Minimize);
    let slowest = lp.add_var(1.0, (0.0, f64::INFINITY));
    let x = shares(&mut lp, model, false);
    rows(&mut lp, model, &x, slowest);
    let solution = lp.solve().ok()?.into_solution().ok()?;
    Some(read(model, &x, |v| solution.var_value(v), solution.objective() * 1000.0, true))
}

/// The mixed-integer model. With `split`, a group may go to several stations, each with its own
/// supply; else it goes to one. Stops after `nodes` nodes of the search tree, which makes runs repeatable.
pub fn exact(model: &Linear, split: bool, nodes: u64) -> Option<Spread> {
    let mut mip = Problem::new(OptimizationDirection::Minimize);
    let slowest = mip.add_var(1.0, (0.0, f64::INFINITY));
    if !split {
        let x = shares(&mut mip, model, true);
        rows(&mut mip, model, &x, slowest);
        return solve(mip, model, &x, nodes);
    }
    // Counts are whole; a supply stands wherever at least one placement is done.
    let count = |mip: &mut Problem, g: usize| mip.add_integer_var(0.0, (0, i32::try_from(model.groups[g].count).unwrap_or(i32::MAX)));
    let whole: Vec<Vec<Option<Variable>>> =
        (0..model.groups.len()).map(|g| model.time[g].iter().map(|t| t.map(|_| count(&mut mip, g))).collect()).collect();
    let stands = shares(&mut mip, model, true);
    for (g, group) in model.groups.iter().enumerate() {
        let all: Vec<(Variable, f64)> = whole[g].iter().flatten().map(|v| (*v, 1.0)).collect();
        mip.add_constraint(&all[..], ComparisonOp::Eq, f64::from(group.count));
        for (v, y) in whole[g].iter().zip(&stands[g]) {
            if let (Some(v), Some(y)) = (v, y) {
                mip.add_constraint([(*v, 1.0), (*y, -f64::from(group.count))], ComparisonOp::Le, 0.0);
            }
        }
    }
    capacity(&mut mip, model, &stands, false);
    loads(&mut mip, model, slowest, |g, c| whole[g][c].map(|v| (v, 1.0)));
    let mut options = SolveOptions::default();
    options.node_limit = Some(nodes);
    let solution = mip.solve_with(options).ok()?.into_solution().ok()?;
    let counts = whole.iter().map(|row| row.iter().map(|v| v.map_or(0.0, |v| solution.var_value(v).round())).collect()).collect();
    Some(Spread { counts, slowest: solution.objective() * 1000.0, proven: solution.status() == SolutionStatus::Optimal })
}

fn solve(mip: Problem, model: &Linear, x: &[Vec<Option<Variable>>], nodes: u64) -> Option<Spread> {
    let mut options = SolveOptions::default();
    options.node_limit = Some(nodes);
    let solution = mip.solve_with(options).ok()?.into_solution().ok()?;
    let proven = solution.status() == SolutionStatus::Optimal;
    Some(read(model, x, |v| solution.var_value(v), solution.objective() * 1000.0, proven))
}

/// One share (0 to 1) for each group and column that can do it.
fn shares(lp: &mut Problem, model: &Linear, binary: bool) -> Vec<Vec<Option<Variable>>> {
    let mut one = || if binary { lp.add_binary_var(0.0) } else { lp.add_var(0.0, (0.0, 1.0)) };
    model.time.iter().map(|row| row.iter().map(|t| t.map(|_| one())).collect()).collect()
}

fn rows(lp: &mut Problem, model: &Linear, x: &[Vec<Option<Variable>>], slowest: Variable) {
    for row in x {
        let all: Vec<(Variable, f64)> = row.iter().flatten().map(|v| (*v, 1.0)).collect();
        lp.add_constraint(&all[..], ComparisonOp::Eq, 1.0);
    }
    capacity(lp, model, x, true);
    loads(lp, model, slowest, |g, c| x[g][c].map(|v| (v, f64::from(model.groups[g].count))));
}

/// Slots and tray places. A supply stands at a station once, whatever groups and heads it serves there.
///
/// `shares` tells that the variables of a group sum to 1: then those of one group at a station sum to its
/// supply there, which is the tighter row.
fn capacity(lp: &mut Problem, model: &Linear, x: &[Vec<Option<Variable>>], shares: bool) {
    for (s, station) in model.stations.iter().enumerate() {
        let mut users: BTreeMap<u32, (super::Group, usize, Vec<Variable>)> = BTreeMap::new();
        for (g, group) in model.groups.iter().enumerate() {
            let here = model.columns.iter().enumerate().filter(|(_, at)| **at == s).filter_map(|(c, _)| x[g][c]);
            let part = users.entry(group.part).or_insert((*group, 0, Vec::new()));
            part.1 += 1;
            part.2.extend(here);
        }
        let mut supplies = Vec::new();
        for (group, groups, using) in users.into_values() {
            if using.len() <= 1 || (shares && groups == 1) {
                supplies.extend(using.into_iter().map(|v| (group, v)));
                continue;
            }
            let stands = lp.add_var(0.0, (0.0, 1.0));
            for v in using {
                lp.add_constraint([(v, 1.0), (stands, -1.0)], ComparisonOp::Le, 0.0);
            }
            supplies.push((group, stands));
        }
        for (limit, need) in [(station.slots, (|g: &super::Group| g.slots) as fn(&super::Group) -> u32), (station.places, |g| g.places)] {
            let row: Vec<(Variable, f64)> = supplies.iter().map(|(g, v)| (*v, f64::from(need(g)))).filter(|(_, w)| *w > 0.0).collect();
            if !row.is_empty() {
                lp.add_constraint(&row[..], ComparisonOp::Le, f64::from(limit));
            }
        }
    }
}

/// Station times in milliseconds, so that coefficients stay near 1.
fn loads(lp: &mut Problem, model: &Linear, slowest: Variable, term: impl Fn(usize, usize) -> Option<(Variable, f64)>) {
    for (s, station) in model.stations.iter().enumerate() {
        let mut row = vec![(slowest, -1.0)];
        for g in 0..model.groups.len() {
            for (c, at) in model.columns.iter().enumerate() {
                if let (true, Some((v, n)), Some(t)) = (*at == s, term(g, c), model.time[g][c]) {
                    row.push((v, n * t / 1000.0));
                }
            }
        }
        lp.add_constraint(&row[..], ComparisonOp::Le, -station.fixed / 1000.0);
    }
}

fn read(model: &Linear, x: &[Vec<Option<Variable>>], value: impl Fn(Variable) -> f64, slowest: f64, proven: bool) -> Spread {
    let count = |g: usize, v: &Option<Variable>| v.map_or(0.0, |v| value(v) * f64::from(model.groups[g].count));
    let counts = x.iter().enumerate().map(|(g, row)| row.iter().map(|v| count(g, v)).collect()).collect();
    Spread { counts, slowest, proven }
}
