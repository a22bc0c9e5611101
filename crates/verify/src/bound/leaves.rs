//! The leaves of a certificate: read, and whether they cover every choice of heads and manners.

use super::model::{Model, RowModel};
use domain::plan::{HeadUse, Leaf as Stated, Plan};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// More leaves than this are refused: nobody can want to read them.
const MOST_LEAVES: usize = 4096;

/// Names of heads looked at while splitting. A certificate that grew by branching looks at each name of each
/// leaf once for each name in the leaf; one that needs more than this was not made so and is refused.
const MOST_LOOKS: usize = 10_000_000;

/// Heads and manners that one leaf may name: as deep as the splitting may go.
const MOST_NAMED: usize = 500;

/// Heads named in a message.
const MOST_SAID: usize = 12;

/// Fewest and most trips of a column; 1 and 0 say used and not used where trips are not counted.
pub(crate) type Trips = (u32, u32);

/// Nothing said about a column.
const ANY: Trips = (0, u32::MAX);

/// What a head's trips are priced at [ns].
#[derive(Clone, Copy, Default)]
pub(crate) struct Prices {
    pub(crate) seat: i64,
    pub(crate) first: i64,
    pub(crate) last: i64,
}

/// A sound leaf.
pub(crate) struct Leaf {
    /// Columns of which something is said, rising; after the last column the rows, 1 for passes that alternate.
    named: Vec<(usize, Trips)>,
    /// Prices of each head.
    pub(crate) prices: Vec<Prices>,
    /// Weight of each row of the model.
    pub(crate) weights: Vec<i128>,
}

impl Leaf {
    /// What the leaf says of a column.
    pub(crate) fn trips(&self, column: usize) -> Trips {
        self.named.binary_search_by_key(&column, |n| n.0).map_or(ANY, |k| self.named[k].1)
    }

    /// Whether the column is used in all plans of the leaf.
    pub(crate) fn gives(&self, column: usize) -> bool {
        self.trips(column).0 > 0
    }

    /// Whether passes of a row alternate in the plans of the leaf; `None` if it does not say.
    pub(crate) fn alternates(&self, model: &Model, row: usize) -> Option<bool> {
        let says = self.trips(model.columns.len() + row);
        (says != ANY).then_some(says.0 > 0)
    }

    /// Whether the column is used in none.
    pub(crate) fn rules_out(&self, column: usize) -> bool {
        self.trips(column).1 == 0
    }
}

/// The leaves of the plan's certificate.
///
/// # Errors
/// A sentence that says which leaf is unsound, or which choice no leaf holds.
pub(crate) fn read(plan: &Plan, model: &Model) -> Result<Vec<Leaf>, String> {
    let stated = &plan.certificate.leaves;
    if stated.len() > MOST_LEAVES {
        return Err(format!("{} leaves, at most {MOST_LEAVES} are checked", stated.len()));
    }
    let leaves = stated.iter().enumerate().map(|(k, leaf)| one(plan, model, leaf).map_err(|e| format!("leaf {}: {e}", k + 1)));
    let leaves = leaves.collect::<Result<Vec<Leaf>, String>>()?;
    Cover { chosen: BTreeMap::new(), looks: 0 }.check(&leaves.iter().collect::<Vec<_>>()).map_err(|e| match e {
        Uncovered::Choice(chosen) => format!("no leaf holds {}", say(plan, model, &chosen)),
        Uncovered::TooMany => {
            "whether the leaves cover every choice takes too long to find out; branch on one head or manner after the other".to_owned()
        }
    })?;
    Ok(leaves)
}

fn one(plan: &Plan, model: &Model, leaf: &Stated) -> Result<Leaf, String> {
    let mut named = Vec::with_capacity(leaf.heads.len());
    let mut prices = vec![Prices::default(); model.heads.len()];
    for says in &leaf.heads {
        let kind = says.nozzle.map_or(String::new(), |n| format!(" with nozzle kind {n}"));
        let here = format!("the head of index {} at station {}{kind}", says.head, says.station);
        let column = model.column(says.station, says.head, says.nozzle).ok_or_else(|| format!("{here} has nothing it could do"))?;
        let head = model.columns[column].head;
        let trips = (says.at_least, says.at_most.unwrap_or(u32::MAX));
        if trips.0 > trips.1 {
            return Err(format!("{here}: at least {} and at most {}", trips.0, trips.1));
        }
        if !model.heads[head].has_trips() {
            if !is_used_or_not(says) {
                return Err(format!("{here} makes no trips that are counted or priced"));
            }
        } else {
            if says.seat_ns < 0 {
                return Err(format!("{here}: a price of {} ns for a seat", says.seat_ns));
            }
            prices[head] = Prices { seat: says.seat_ns, first: says.first_ns, last: says.last_ns };
        }
        named.push((column, trips));
    }
    for says in &leaf.manners {
        let is_here = |row: &RowModel| row.station == says.station as usize && row.swap.is_some();
        let row = model
            .rows
            .iter()
            .position(is_here)
            .ok_or_else(|| format!("station {} has no head changer and only one manner", says.station))?;
        named.push((model.columns.len() + row, if says.alternating { (1, u32::MAX) } else { (0, 0) }));
    }
    named.sort_unstable();
    if named.len() > MOST_NAMED {
        return Err(format!("{} heads and manners are named, at most {MOST_NAMED} are checked", named.len()));
    }
    if let Some(twice) = named.windows(2).find(|w| w[0].0 == w[1].0) {
        return Err(format!("{}: named twice", name(plan, model, twice[0].0)));
    }
    if leaf.weights.len() != model.rows.len() {
        let stations = plan.line.station.len();
        return Err(format!(
            "{} weights for {stations} stations, {} are needed (three for two beams)",
            leaf.weights.len(),
            model.rows.len()
        ));
    }
    if leaf.weights.iter().all(|w| *w == 0) {
        return Err("all weights are 0".to_owned());
    }
    Ok(Leaf { named, prices, weights: leaf.weights.iter().map(|w| i128::from(*w)).collect() })
}

fn is_used_or_not(says: &HeadUse) -> bool {
    let range = matches!((says.at_least, says.at_most), (0, None | Some(0)) | (1, None));
    range && (says.seat_ns, says.first_ns, says.last_ns) == (0, 0, 0)
}

/// Why leaves do not cover.
enum Uncovered {
    /// This choice belongs to no leaf.
    Choice(BTreeMap<usize, Trips>),
    /// Too much work to find out.
    TooMany,
}

/// Covering, by splitting the trips of one column after the other.
struct Cover {
    /// The part looked at: columns split so far.
    chosen: BTreeMap<usize, Trips>,
    /// Names of heads looked at so far.
    looks: usize,
}

impl Cover {
    /// Whether every choice in the part looked at belongs to one of the leaves, all of which meet it.
    fn check(&mut self, leaves: &[&Leaf]) -> Result<(), Uncovered> {
        self.looks += leaves.iter().map(|leaf| 1 + leaf.named.len()).sum::<usize>();
        if self.looks > MOST_LOOKS {
            return Err(Uncovered::TooMany);
        }
        if leaves.iter().any(|leaf| self.cuts(leaf).next().is_none()) {
            return Ok(());
        }
        let Some((column, cut)) = self.commonest(leaves) else { return Err(Uncovered::Choice(self.chosen.clone())) };
        let whole = self.range(column);
        for part in [(cut, whole.1), (whole.0, cut - 1)] {
            let meets = |leaf: &&Leaf| leaf.trips(column).0 <= part.1 && part.0 <= leaf.trips(column).1;
            let meeting: Vec<&Leaf> = leaves.iter().copied().filter(meets).collect();
            let before = self.chosen.insert(column, part);
            self.check(&meeting)?;
            match before {
                Some(range) => self.chosen.insert(column, range),
                None => self.chosen.remove(&column),
            };
        }
        Ok(())
    }

    fn range(&self, column: usize) -> Trips {
        self.chosen.get(&column).copied().unwrap_or(ANY)
    }

    /// Where the leaf's limits cut through the part looked at: column, and the first number beyond the cut.
    fn cuts<'l>(&'l self, leaf: &'l Leaf) -> impl Iterator<Item = (usize, u32)> + 'l {
        let of = move |(column, (least, most)): &(usize, Trips)| {
            let (from, to) = self.range(*column);
            let low = (*least > from && *least <= to).then_some((*column, *least));
            let high = (*most < to && *most >= from).then(|| (*column, *most + 1));
            low.into_iter().chain(high)
        };
        leaf.named.iter().flat_map(of)
    }

    /// The cut that most leaves share. Where leaves grew by branching, all of them share the
    /// first one; so no leaf goes to both sides and the splits are no more than the leaves.
    fn commonest(&self, leaves: &[&Leaf]) -> Option<(usize, u32)> {
        let mut count = BTreeMap::new();
        for cut in leaves.iter().flat_map(|leaf| self.cuts(leaf)) {
            *count.entry(cut).or_insert(0usize) += 1;
        }
        count.into_iter().max_by_key(|(cut, n)| (*n, Reverse(*cut))).map(|(cut, _)| cut)
    }
}

fn name(plan: &Plan, model: &Model, column: usize) -> String {
    if let Some(row) = column.checked_sub(model.columns.len()) {
        return format!("passes of station `{}`", plan.line.station[model.rows[row].station].name);
    }
    let (column, at) = (&model.columns[column], &model.heads[model.columns[column].head]);
    let station = &plan.line.station[at.station];
    let kind = column.nozzle.and_then(|n| plan.line.nozzle.get(n as usize)).map_or(String::new(), |n| format!(" with nozzle `{}`", n.name));
    format!("head `{}` of station `{}`{kind}", station.head[at.index].name, station.name)
}

/// Names the columns of a choice and how much they are used; of many the first.
fn say(plan: &Plan, model: &Model, chosen: &BTreeMap<usize, Trips>) -> String {
    let of = |(column, trips): (&usize, &Trips)| {
        let how = match trips {
            (_, 0) if *column >= model.columns.len() => "not alternating".to_owned(),
            _ if *column >= model.columns.len() => "alternating".to_owned(),
            (_, 0) => "not in use".to_owned(),
            (1, u32::MAX) => "in use".to_owned(),
            (least, u32::MAX) => format!("on {least} or more trips"),
            (least, most) => format!("on {least} to {most} trips"),
        };
        format!("{} {how}", name(plan, model, *column))
    };
    let first: Vec<String> = chosen.iter().take(MOST_SAID).map(of).collect();
    match chosen.len() {
        0 => "any choice at all".to_owned(),
        n if n > MOST_SAID => format!("{}, and {} heads more", first.join(", "), n - MOST_SAID),
        _ => first.join(", "),
    }
}
