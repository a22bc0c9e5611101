//! What the columns in use at a station cost it beside their work, and the cheapest set of open ones (§3.3, §3.4).

use super::figures::Figures;
use super::leaves::Leaf;
use super::manners::places;
use super::model::Model;

/// A head in use with its cheapest columns: what it costs, weighted, less what open columns spare.
struct InUse {
    head: usize,
    given: bool,
    cost: i128,
}

/// The least of extra less spared over all sets of open columns, weighted; `None` if the given columns cannot be used together.
pub(super) fn cheapest(model: &Model, leaf: &Leaf, row: usize, spared: &[i128]) -> Option<i128> {
    let says = leaf.alternates(model, row);
    let alternates = says != Some(false) && model.rows[row].alternates && !is_forbidden(model, leaf, row);
    let still = if says == Some(true) { None } else { in_manner(model, leaf, row, spared, false) };
    let other = if alternates { in_manner(model, leaf, row, spared, true) } else { None };
    still.into_iter().chain(other).min()
}

fn in_manner(model: &Model, leaf: &Leaf, row: usize, spared: &[i128], alternating: bool) -> Option<i128> {
    let mut heads = Vec::new();
    for (h, at) in model.heads.iter().enumerate().filter(|(_, h)| h.row == row) {
        let mine = || (0..model.columns.len()).filter(|c| model.columns[*c].head == h && !leaf.rules_out(*c));
        let given: Vec<usize> = mine().filter(|c| leaf.gives(*c)).collect();
        let mut open: Vec<i128> = mine().filter(|c| !leaf.gives(*c)).map(|c| spared[c]).collect();
        open.sort_unstable_by(|a, b| b.cmp(a));
        if given.is_empty() && open.is_empty() {
            continue;
        }
        let cost = if at.has_trips() {
            trips(model, leaf, h, mine().next()?).map(|t| t - open.first().copied().unwrap_or(0))
        } else {
            with_nozzles(model, leaf, h, given.len(), &open, alternating)
        };
        match cost {
            Some(cost) => heads.push(InUse { head: h, given: !given.is_empty(), cost }),
            None if given.is_empty() => {}
            None => return None,
        }
    }
    together(model, leaf, row, &heads, alternating)
}

/// The least a head's trips cost over the numbers the leaf allows, weighted.
fn trips(model: &Model, leaf: &Leaf, head: usize, column: usize) -> Option<i128> {
    let (at, prices, range) = (&model.heads[head], leaf.prices[head], leaf.trips(column));
    let (least, most) = (i128::from(range.0.max(1)), i128::from(range.1).min(at.figures.tasks.len() as i128));
    let priced = i128::from(prices.first) + i128::from(prices.last) - i128::from(at.figures.spindles) * i128::from(prices.seat);
    let weight = at.weight(&leaf.weights);
    let each = at.weighted(&leaf.weights, |figures| figures.per_trip) + weight * priced;
    (least <= most).then(|| (least * each).min(most * each) - weight * i128::from(prices.last))
}

/// A head of one spindle or for dots: the best number of nozzle kinds, those that spare most first.
fn with_nozzles(model: &Model, leaf: &Leaf, head: usize, given: usize, open: &[i128], alternating: bool) -> Option<i128> {
    let at = &model.heads[head];
    let of = |kinds: usize| {
        let changes = match kinds {
            0 | 1 => 0,
            r if alternating => r - 1,
            r => r,
        };
        if changes > 0 && at.figures.change.is_none() {
            return None;
        }
        let change = at.weighted(&leaf.weights, |figures| figures.change.unwrap_or(0)) * changes as i128;
        Some(change - open[..kinds - given].iter().sum::<i128>())
    };
    (given.max(1)..=given + open.len()).filter_map(of).min()
}

/// Entering, leaving and swaps of the heads in use.
fn together(model: &Model, leaf: &Leaf, row: usize, heads: &[InUse], alternating: bool) -> Option<i128> {
    let weight = leaf.weights[row];
    let figures = |u: &InUse| &model.heads[u.head].figures;
    let given = heads.iter().filter(|u| u.given).count();
    let swap = model.rows[row].swap;
    let mut least = if given == 0 { Some(0) } else { None };
    let mut offer = |cost: i128| least = Some(least.map_or(cost, |l: i128| l.min(cost)));
    if given <= 1 {
        for u in heads.iter().filter(|u| u.given || given == 0) {
            let enter = |f: &Figures| if swap.is_some() { f.enter_mark.min(f.enter_changer) } else { f.enter_mark };
            offer(u.cost + model.heads[u.head].weighted(&leaf.weights, |f| enter(f) + f.end));
        }
    }
    // Only gantries have a changer, and these have one row.
    if let (Some(swap), true) = (swap, heads.len() >= 2) {
        let low = |f: &dyn Fn(&InUse) -> i64| heads.iter().map(f).min().unwrap_or(0).min(0);
        let a = low(&|u| figures(u).enter_mark - figures(u).enter_changer);
        let b = low(&|u| figures(u).end - figures(u).leave);
        let b_still = low(&|u| {
            let f = figures(u);
            let last = if f.spindles > 1 { leaf.prices[u.head].last } else { 0 };
            (f.enter_changer + f.end - last).min(f.end - f.leave + f.mark_to_changer)
        });
        let each = |u: &InUse| u.cost + weight * i128::from(figures(u).enter_changer + figures(u).leave + swap);
        let mut cost = weight * i128::from(if alternating { a + b - swap } else { a + b_still });
        cost += heads.iter().filter(|u| u.given).map(each).sum::<i128>();
        let mut open: Vec<i128> = heads.iter().filter(|u| !u.given).map(each).collect();
        open.sort_unstable();
        let needed = 2usize.saturating_sub(given);
        for (k, more) in open.into_iter().enumerate() {
            if k < needed || more < 0 {
                cost += more;
            }
        }
        offer(cost);
    }
    least
}

/// Whether orders keep passes of the row's station from alternating in all plans of the leaf.
fn is_forbidden(model: &Model, leaf: &Leaf, row: usize) -> bool {
    let places = places(model, leaf);
    let here = |list: usize| places[list].as_ref().filter(|p| p.row == row);
    model.orders.iter().any(|(a, b)| here(*a).zip(here(*b)).is_some_and(|(a, b)| a.heads.is_disjoint(&b.heads)))
}
