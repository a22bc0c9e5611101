//! The leaves of a certificate: read, and whether they cover every choice of heads.

use domain::plan::{HeadOf, Plan};

/// More leaves than this are refused: nobody can want to read them.
const MOST_LEAVES: usize = 4096;

/// A certificate that grew by branching needs fewer splits than it has leaves; one that needs more than
/// this was not made so and is refused.
const MOST_SPLITS: u32 = 100_000;

/// A sound leaf: for each head of the line, in order, whether it is in use, and the stations' weights.
pub(crate) struct Leaf {
    pub(crate) decided: Vec<Option<bool>>,
    pub(crate) weights: Vec<i128>,
}

/// The leaves of the plan's certificate; `None` if one is unsound or some choice of heads is not covered.
pub(crate) fn read(plan: &Plan) -> Option<Vec<Leaf>> {
    let all = &plan.certificate.leaves;
    if all.is_empty() || all.len() > MOST_LEAVES {
        return None;
    }
    let first: Vec<usize> = plan
        .line
        .station
        .iter()
        .scan(0, |next, s| {
            let this = *next;
            *next += s.head.len();
            Some(this)
        })
        .collect();
    let heads = plan.line.station.iter().map(|s| s.head.len()).sum();
    let leaves = all.iter().map(|leaf| {
        let mut decided = vec![None; heads];
        for (named, used) in [(&leaf.used, true), (&leaf.unused, false)] {
            for head in named {
                let slot = &mut decided[index(plan, &first, *head)?];
                if slot.is_some() {
                    return None;
                }
                *slot = Some(used);
            }
        }
        let sound = leaf.weights.len() == plan.line.station.len() && leaf.weights.iter().any(|w| *w > 0);
        sound.then(|| Leaf { decided, weights: leaf.weights.iter().map(|w| i128::from(*w)).collect() })
    });
    let leaves = leaves.collect::<Option<Vec<Leaf>>>()?;
    covers(&leaves.iter().collect::<Vec<_>>(), &mut vec![None; heads], &mut { MOST_SPLITS }).then_some(leaves)
}

fn index(plan: &Plan, first: &[usize], head: HeadOf) -> Option<usize> {
    let station = plan.line.station.get(head.station as usize)?;
    ((head.head as usize) < station.head.len()).then(|| first[head.station as usize] + head.head as usize)
}

/// Whether every completion of `chosen` agrees with some leaf. `leaves` are those that may still agree.
fn covers(leaves: &[&Leaf], chosen: &mut Vec<Option<bool>>, splits: &mut u32) -> bool {
    let open = |leaf: &Leaf| (0..chosen.len()).find(|h| leaf.decided[*h].is_some() && chosen[*h].is_none());
    if leaves.iter().any(|leaf| open(leaf).is_none()) {
        return true;
    }
    // Every leaf left still names a head that is open here: both choices of that head must be covered.
    let Some(head) = leaves.first().and_then(|leaf| open(leaf)) else { return false };
    if *splits == 0 {
        return false;
    }
    *splits -= 1;
    [true, false].into_iter().all(|used| {
        chosen[head] = Some(used);
        let agree: Vec<&Leaf> = leaves.iter().copied().filter(|leaf| leaf.decided[head] != Some(!used)).collect();
        let covered = covers(&agree, chosen, splits);
        chosen[head] = None;
        covered
    })
}
