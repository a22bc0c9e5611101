//! What a leaf says of the manner of stations: whether their passes alternate, and which columns pairs then hold work to (§3.4).

use super::leaves::Leaf;
use super::model::Model;
use std::collections::BTreeSet;

/// The only row where some work can be done in the plans of a leaf, and its heads that can do it.
pub(super) struct Place {
    pub(super) row: usize,
    pub(super) heads: BTreeSet<usize>,
}

/// For each list of columns that can do a piece of work: their place, if those that are not ruled out are all of one row.
pub(super) fn places(model: &Model, leaf: &Leaf) -> Vec<Option<Place>> {
    let of = |doers: &Vec<usize>| {
        let heads: BTreeSet<usize> = doers.iter().filter(|c| !leaf.rules_out(**c)).map(|c| model.columns[*c].head).collect();
        let row = model.heads[*heads.first()?].row;
        heads.iter().all(|h| model.heads[*h].row == row).then_some(Place { row, heads })
    };
    model.doers.iter().map(of).collect()
}

/// For each column the work it cannot do in the plans of the leaf.
///
/// Where passes alternate, two pieces of work of a pair are done in one pass, by one head: a column at such a station cannot do
/// a piece if what it stands in a pair with can only be done by other heads there.
pub(super) fn held(model: &Model, leaf: &Leaf) -> Vec<BTreeSet<usize>> {
    let mut held = vec![BTreeSet::new(); model.columns.len()];
    let alternates: Vec<bool> = (0..model.rows.len()).map(|row| leaf.alternates(model, row) == Some(true)).collect();
    if !alternates.contains(&true) {
        return held;
    }
    let places = places(model, leaf);
    for (c, column) in model.columns.iter().enumerate() {
        let row = model.heads[column.head].row;
        let elsewhere = |l: &usize| places[*l].as_ref().is_some_and(|p| p.row == row && !p.heads.contains(&column.head));
        if alternates[row] {
            held[c] = column.does.iter().map(|(_, i)| *i).filter(|i| model.partners[*i].iter().any(elsewhere)).collect();
        }
    }
    held
}
