//! What a leaf says of the manner of stations: whether their passes alternate, and which columns pairs then hold work to (§3.4).

use super::leaves::Leaf;
use super::model::Model;
use std::collections::BTreeSet;

/// For each column the work it cannot do in the plans of the leaf.
///
/// Where passes alternate, two pieces of work of a pair are done in one pass, by one head: a column at such a station cannot do
/// a piece if what it stands in a pair with can only be done by other heads there.
pub(super) fn held(model: &Model, leaf: &Leaf) -> Vec<BTreeSet<usize>> {
    let mut held = vec![BTreeSet::new(); model.columns.len()];
    for (c, column) in model.columns.iter().enumerate() {
        let row = model.heads[column.head].row;
        if leaf.alternates(model, row) != Some(true) {
            continue;
        }
        let elsewhere = |doers: &Vec<usize>| {
            let mut left = doers.iter().filter(|d| !leaf.rules_out(**d)).map(|d| model.columns[*d].head).peekable();
            left.peek().is_some() && left.all(|h| model.heads[h].row == row && h != column.head)
        };
        let is_held = |i: &usize| model.partners[*i].iter().any(elsewhere);
        held[c] = column.does.iter().map(|(_, i)| *i).filter(is_held).collect();
    }
    held
}
