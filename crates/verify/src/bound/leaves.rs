//! The leaves of a certificate: read, and whether they cover every choice of heads.

use domain::plan::{HeadOf, Leaf as Stated, Plan};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// More leaves than this are refused: nobody can want to read them.
const MOST_LEAVES: usize = 4096;

/// Names of heads looked at while splitting. A certificate that grew by branching looks at each name of each
/// leaf once for each name in the leaf; one that needs more than this was not made so and is refused.
const MOST_LOOKS: usize = 10_000_000;

/// Heads that one leaf may name: as deep as the splitting may go.
const MOST_NAMED: usize = 500;

/// Heads named in a message.
const MOST_SAID: usize = 12;

/// A sound leaf.
pub(crate) struct Leaf {
    /// Rising: number of a head over the whole line, and whether it is in use.
    pub(crate) named: Vec<(usize, bool)>,
    /// Weight of each station.
    pub(crate) weights: Vec<i128>,
}

impl Leaf {
    /// Whether the leaf says that the head is in use; `None` where it leaves that open.
    pub(crate) fn says(&self, head: usize) -> Option<bool> {
        self.named.binary_search_by_key(&head, |n| n.0).ok().map(|k| self.named[k].1)
    }
}

/// The leaves of the plan's certificate.
///
/// # Errors
/// A sentence that says which leaf is unsound, or which choice of heads no leaf agrees with.
pub(crate) fn read(plan: &Plan) -> Result<Vec<Leaf>, String> {
    let stated = &plan.certificate.leaves;
    if stated.len() > MOST_LEAVES {
        return Err(format!("{} leaves, at most {MOST_LEAVES} are checked", stated.len()));
    }
    let heads: Vec<HeadOf> = heads(plan);
    let leaves = stated.iter().enumerate().map(|(k, leaf)| one(plan, &heads, leaf).map_err(|e| format!("leaf {}: {e}", k + 1)));
    let leaves = leaves.collect::<Result<Vec<Leaf>, String>>()?;
    Cover { chosen: Vec::new(), looks: 0 }.check(&leaves.iter().collect::<Vec<_>>()).map_err(|e| match e {
        Uncovered::Choice(chosen) => format!("no leaf agrees with {}", say(plan, &heads, &chosen)),
        Uncovered::TooMany => {
            "whether the leaves cover every choice of heads takes too long to find out; branch on one head after the other".to_owned()
        }
    })?;
    Ok(leaves)
}

/// All heads of the line, numbered in order.
fn heads(plan: &Plan) -> Vec<HeadOf> {
    let stations = plan.line.station.iter().zip(0..);
    stations.flat_map(|(s, station)| (0..s.head.len() as u32).map(move |head| HeadOf { station, head })).collect()
}

fn one(plan: &Plan, heads: &[HeadOf], leaf: &Stated) -> Result<Leaf, String> {
    let mut named = Vec::with_capacity(leaf.used.len() + leaf.unused.len());
    let both = leaf.used.iter().map(|h| (h, true)).chain(leaf.unused.iter().map(|h| (h, false)));
    for (head, used) in both {
        let number = heads.binary_search(head).map_err(|_| format!("no head has the index {} at station {}", head.head, head.station))?;
        named.push((number, used));
    }
    named.sort_unstable();
    if named.len() > MOST_NAMED {
        return Err(format!("{} heads are named, at most {MOST_NAMED} are checked", named.len()));
    }
    if let Some(twice) = named.windows(2).find(|w| w[0].0 == w[1].0) {
        let head = heads[twice[0].0];
        return Err(format!("the head of index {} at station {} is named twice", head.head, head.station));
    }
    if leaf.weights.len() != plan.line.station.len() {
        return Err(format!("{} weights for {} stations", leaf.weights.len(), plan.line.station.len()));
    }
    if leaf.weights.iter().all(|w| *w == 0) {
        return Err("all weights are 0".to_owned());
    }
    Ok(Leaf { named, weights: leaf.weights.iter().map(|w| i128::from(*w)).collect() })
}

/// Why leaves do not cover.
enum Uncovered {
    /// This choice of heads agrees with no leaf.
    Choice(Vec<(usize, bool)>),
    /// Too much work to find out.
    TooMany,
}

/// Covering, by splitting on heads.
struct Cover {
    /// Heads split on so far.
    chosen: Vec<(usize, bool)>,
    /// Names of heads looked at so far.
    looks: usize,
}

impl Cover {
    /// Whether every completion of `chosen` agrees with one of the leaves, all of which still may.
    fn check(&mut self, leaves: &[&Leaf]) -> Result<(), Uncovered> {
        self.looks += leaves.iter().map(|leaf| 1 + leaf.named.len()).sum::<usize>();
        if self.looks > MOST_LOOKS {
            return Err(Uncovered::TooMany);
        }
        // A leaf agrees with every completion when all the heads it names are chosen already.
        if leaves.iter().any(|leaf| leaf.named.len() == self.decided_of(leaf)) {
            return Ok(());
        }
        let Some(head) = self.named_most(leaves) else { return Err(Uncovered::Choice(self.chosen.clone())) };
        for used in [true, false] {
            let agree: Vec<&Leaf> = leaves.iter().copied().filter(|leaf| leaf.says(head) != Some(!used)).collect();
            self.chosen.push((head, used));
            self.check(&agree)?;
            self.chosen.pop();
        }
        Ok(())
    }

    fn decided_of(&self, leaf: &Leaf) -> usize {
        self.chosen.iter().filter(|(head, _)| leaf.says(*head).is_some()).count()
    }

    /// The open head that most leaves name. Where leaves grew by branching, all of them name the head of
    /// the first branch; so no leaf goes to both sides and the splits are no more than the leaves.
    fn named_most(&self, leaves: &[&Leaf]) -> Option<usize> {
        let mut count = BTreeMap::new();
        for (head, _) in leaves.iter().flat_map(|leaf| &leaf.named) {
            *count.entry(*head).or_insert(0usize) += 1;
        }
        for (head, _) in &self.chosen {
            count.remove(head);
        }
        count.into_iter().max_by_key(|(head, n)| (*n, Reverse(*head))).map(|(head, _)| head)
    }
}

/// Names the heads of a choice and whether they are in use; of many the first.
fn say(plan: &Plan, heads: &[HeadOf], chosen: &[(usize, bool)]) -> String {
    let name = |(number, used): &(usize, bool)| {
        let station = &plan.line.station[heads[*number].station as usize];
        let head = &station.head[heads[*number].head as usize];
        format!("head `{}` of station `{}` {}", head.name, station.name, if *used { "in use" } else { "not in use" })
    };
    let first: Vec<String> = chosen.iter().take(MOST_SAID).map(name).collect();
    match chosen.len() {
        0 => "any choice of heads".to_owned(),
        n if n > MOST_SAID => format!("{}, and {} heads more", first.join(", "), n - MOST_SAID),
        _ => first.join(", "),
    }
}
