//! The bound of a leaf: work goes to its cheapest given column, and what open columns would spare is taken
//! back, less what using them costs their station (§3.4).

use super::NS;
use super::figures::TaskFigures;
use super::leaves::Leaf;
use super::manners;
use super::model::Model;
use super::station;
use units::Time;

/// Stands for "no column does this".
const NEVER: i128 = i128::MAX / 4;

/// The bound of a leaf [µs, rounded down]; `None` when no plan belongs to it.
pub(crate) fn bound(model: &Model, leaf: &Leaf) -> Option<Time> {
    let weights: i128 = leaf.weights.iter().sum();
    let fixed: i128 = model.rows.iter().zip(&leaf.weights).map(|(row, w)| w * i128::from(row.fixed)).sum();
    let looks = model.areas.iter().map(|area| {
        let each = area.iter().zip(&leaf.weights).filter_map(|(t, w)| t.map(|t| w * i128::from(t)));
        each.min()
    });
    let looks: i128 = looks.collect::<Option<Vec<i128>>>()?.iter().sum();
    let times: Vec<Vec<i128>> = (0..model.heads.len()).map(|h| weighted(model, leaf, h)).collect();
    let is_open = |c: &usize| !leaf.gives(*c) && !leaf.rules_out(*c);
    let columns = || 0..model.columns.len();
    let held = manners::held(model, leaf);
    let does = |c: usize| model.columns[c].does.iter().filter(|(_, i)| !held[c].contains(i)).copied().collect::<Vec<_>>();
    let does: Vec<Vec<(usize, usize)>> = columns().map(does).collect();
    let mut least = vec![NEVER; model.items];
    for c in columns().filter(|c| leaf.gives(*c)) {
        for (k, i) in &does[c] {
            least[*i] = least[*i].min(times[model.columns[c].head][*k]);
        }
    }
    let orphans: Vec<bool> = least.iter().map(|l| *l == NEVER).collect();
    for c in columns().filter(is_open) {
        for (k, i) in does[c].iter().filter(|(_, i)| orphans[*i]) {
            least[*i] = least[*i].min(times[model.columns[c].head][*k]);
        }
    }
    if least.contains(&NEVER) {
        return None;
    }
    let spared = |c: usize| {
        let head = model.columns[c].head;
        let each = does[c].iter().map(|(k, i)| (least[*i] - times[head][*k]).max(0));
        if is_open(&c) { each.sum() } else { 0 }
    };
    let spared: Vec<i128> = columns().map(spared).collect();
    let mut total = fixed + looks + least.iter().sum::<i128>();
    for row in 0..model.rows.len() {
        total += station::cheapest(model, leaf, row, &spared)?;
    }
    let bound = total.div_euclid(weights * i128::from(NS));
    Some(Time(i64::try_from(bound).unwrap_or(i64::MAX).max(0)))
}

/// Weighted times of the tasks of a head under the leaf's prices.
fn weighted(model: &Model, leaf: &Leaf, head: usize) -> Vec<i128> {
    let (at, prices) = (&model.heads[head], leaf.prices[head]);
    let weight = at.weight(&leaf.weights);
    let sum = |k: usize, of: fn(&TaskFigures) -> i64| at.weighted(&leaf.weights, |figures| of(&figures.tasks[k]));
    let time = |k: usize| {
        let base = sum(k, |t| t.base);
        if !at.has_trips() {
            return base;
        }
        let role = |cost: i128, price: i64| (cost - weight * i128::from(price)).min(0);
        base + weight * i128::from(prices.seat) + role(sum(k, |t| t.first), prices.first) + role(sum(k, |t| t.last), prices.last)
    };
    (0..at.figures.tasks.len()).map(time).collect()
}
