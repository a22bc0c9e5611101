//! What the columns in use at a station cost it beside their work, and the cheapest set of open ones (§3.3, §3.4).

use super::leaves::Leaf;
use super::model::Model;

/// A head in use with its cheapest columns: what it costs, weighted, less what open columns spare.
struct InUse {
    head: usize,
    given: bool,
    cost: i128,
}

/// The least of extra less spared over all sets of open columns, weighted; `None` if the given columns cannot be used together.
pub(super) fn cheapest(model: &Model, leaf: &Leaf, station: usize, spared: &[i128]) -> Option<i128> {
    let still = in_manner(model, leaf, station, spared, false);
    let alternates = model.stations[station].alternates && !is_forbidden(model, leaf, station);
    let other = if alternates { in_manner(model, leaf, station, spared, true) } else { None };
    still.into_iter().chain(other).min()
}

fn in_manner(model: &Model, leaf: &Leaf, station: usize, spared: &[i128], alternating: bool) -> Option<i128> {
    let weight = leaf.weights[station];
    let mut heads = Vec::new();
    for (h, _) in model.heads.iter().enumerate().filter(|(_, h)| h.station == station) {
        let mine = || (0..model.columns.len()).filter(|c| model.columns[*c].head == h && !leaf.rules_out(*c));
        let given: Vec<usize> = mine().filter(|c| leaf.gives(*c)).collect();
        let mut open: Vec<i128> = mine().filter(|c| !leaf.gives(*c)).map(|c| spared[c]).collect();
        open.sort_unstable_by(|a, b| b.cmp(a));
        if given.is_empty() && open.is_empty() {
            continue;
        }
        let cost = if model.heads[h].figures.spindles > 1 {
            trips(model, leaf, h, mine().next()?).map(|t| weight * t - open.first().copied().unwrap_or(0))
        } else {
            with_nozzles(model, h, weight, given.len(), &open, alternating)
        };
        match cost {
            Some(cost) => heads.push(InUse { head: h, given: !given.is_empty(), cost }),
            None if given.is_empty() => {}
            None => return None,
        }
    }
    together(model, leaf, station, &heads, alternating)
}

/// The least a head's trips cost over the numbers the leaf allows.
fn trips(model: &Model, leaf: &Leaf, head: usize, column: usize) -> Option<i128> {
    let (figures, prices, range) = (&model.heads[head].figures, leaf.prices[head], leaf.trips(column));
    let (least, most) = (i128::from(range.0.max(1)), i128::from(range.1).min(figures.tasks.len() as i128));
    let each = i128::from(figures.per_trip) + i128::from(prices.first) + i128::from(prices.last)
        - i128::from(figures.spindles) * i128::from(prices.seat);
    (least <= most).then(|| (least * each).min(most * each) - i128::from(prices.last))
}

/// A head of one spindle or for dots: the best number of nozzle kinds, those that spare most first.
fn with_nozzles(model: &Model, head: usize, weight: i128, given: usize, open: &[i128], alternating: bool) -> Option<i128> {
    let of = |kinds: usize| {
        let changes = match kinds {
            0 | 1 => 0,
            r if alternating => r - 1,
            r => r,
        };
        let change = if changes == 0 { Some(0) } else { model.heads[head].figures.change.map(|c| i128::from(c) * changes as i128) }?;
        Some(weight * change - open[..kinds - given].iter().sum::<i128>())
    };
    (given.max(1)..=given + open.len()).filter_map(of).min()
}

/// Entering, leaving and swaps of the heads in use.
fn together(model: &Model, leaf: &Leaf, station: usize, heads: &[InUse], alternating: bool) -> Option<i128> {
    let weight = leaf.weights[station];
    let figures = |u: &InUse| &model.heads[u.head].figures;
    let given = heads.iter().filter(|u| u.given).count();
    let swap = model.stations[station].swap;
    let mut least = if given == 0 { Some(0) } else { None };
    let mut offer = |cost: i128| least = Some(least.map_or(cost, |l: i128| l.min(cost)));
    if given <= 1 {
        for u in heads.iter().filter(|u| u.given || given == 0) {
            let f = figures(u);
            let enter = if swap.is_some() { f.enter_mark.min(f.enter_changer) } else { f.enter_mark };
            offer(u.cost + weight * i128::from(enter + f.end));
        }
    }
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

/// Whether orders keep passes of the station from alternating in all plans of the leaf.
fn is_forbidden(model: &Model, leaf: &Leaf, station: usize) -> bool {
    let heads_of =
        |columns: &[usize]| -> Vec<usize> { columns.iter().filter(|c| !leaf.rules_out(**c)).map(|c| model.columns[*c].head).collect() };
    let here = |heads: &[usize]| !heads.is_empty() && heads.iter().all(|h| model.heads[*h].station == station);
    model.orders.iter().map(|(a, b)| (heads_of(a), heads_of(b))).any(|(a, b)| here(&a) && here(&b) && !a.iter().any(|h| b.contains(h)))
}
