//! What stands at the stations of a model: slots and tray places taken, a supply counted once wherever it serves.

use super::Linear;
use std::collections::BTreeMap;

/// Supplies at the stations.
pub(super) struct Supplies {
    /// For each station: how many groups use the supply of each part.
    users: Vec<BTreeMap<u32, u32>>,
    slots: Vec<u32>,
    places: Vec<u32>,
}

impl Supplies {
    pub fn none(model: &Linear) -> Self {
        let n = model.stations.len();
        Self { users: vec![BTreeMap::new(); n], slots: vec![0; n], places: vec![0; n] }
    }

    /// A group begins to be picked at a station.
    pub fn add(&mut self, model: &Linear, group: usize, station: usize) {
        let group = model.groups[group];
        let users = self.users[station].entry(group.part).or_default();
        *users += 1;
        if *users == 1 {
            self.slots[station] += group.slots;
            self.places[station] += group.places;
        }
    }

    /// A group is picked at a station no more.
    pub fn drop(&mut self, model: &Linear, group: usize, station: usize) {
        let group = model.groups[group];
        let users = self.users[station].get_mut(&group.part).expect("a part that was added");
        *users -= 1;
        if *users == 0 {
            self.users[station].remove(&group.part);
            self.slots[station] -= group.slots;
            self.places[station] -= group.places;
        }
    }

    /// Whether a group's supply stands at a station, or has room there.
    pub fn has_room(&self, model: &Linear, group: usize, station: usize) -> bool {
        let (group, limits) = (model.groups[group], model.stations[station]);
        self.users[station].contains_key(&group.part)
            || (self.slots[station] + group.slots <= limits.slots && self.places[station] + group.places <= limits.places)
    }
}
