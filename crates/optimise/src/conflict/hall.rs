//! Things that need room, places that have some, and a set that needs more than all its places have.

use std::collections::VecDeque;

/// Things and places.
#[derive(Clone, Debug, Default)]
pub(super) struct Demand {
    /// Room each thing needs.
    pub needs: Vec<u32>,
    /// Room each place has.
    pub room: Vec<u32>,
    /// For each thing the places it can use.
    pub can: Vec<Vec<usize>>,
}

impl Demand {
    /// Room that `things` need beyond what can be given to them; 0 if all find room.
    pub fn short(&self, things: &[usize]) -> u32 {
        let total: u32 = things.iter().map(|t| self.needs[*t]).sum();
        total - Flow::new(self, things).run()
    }

    /// A smallest set of things that need more than their places have; `None` if all find room.
    ///
    /// Without any member the rest of the set finds room.
    pub fn violators(&self) -> Option<Vec<usize>> {
        let all: Vec<usize> = (0..self.needs.len()).collect();
        let mut flow = Flow::new(self, &all);
        let total: u32 = self.needs.iter().sum();
        if flow.run() == total {
            return None;
        }
        let mut set: Vec<usize> = flow.reached();
        // Things that need little go first, so that few and large ones stay.
        let mut order = set.clone();
        order.sort_by_key(|t| (self.needs[*t], *t));
        for t in order {
            let rest: Vec<usize> = set.iter().copied().filter(|x| *x != t).collect();
            if self.short(&rest) > 0 {
                set = rest;
            }
        }
        Some(set)
    }

    /// Places that any of the things can use.
    pub fn places(&self, things: &[usize]) -> Vec<usize> {
        let mut all: Vec<usize> = things.iter().flat_map(|t| &self.can[*t]).copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

/// A maximum flow from things to places (Edmonds and Karp 1972, from memory).
struct Flow<'d> {
    demand: &'d Demand,
    things: Vec<usize>,
    /// Room of each thing that is not given yet.
    open: Vec<u32>,
    /// Room of each place that is left.
    left: Vec<u32>,
    /// For each thing what each of its places gives it.
    given: Vec<Vec<u32>>,
}

impl<'d> Flow<'d> {
    fn new(demand: &'d Demand, things: &[usize]) -> Self {
        Self {
            demand,
            things: things.to_vec(),
            open: things.iter().map(|t| demand.needs[*t]).collect(),
            left: demand.room.clone(),
            given: things.iter().map(|t| vec![0; demand.can[*t].len()]).collect(),
        }
    }

    /// Gives as much as can be given; how much that is.
    fn run(&mut self) -> u32 {
        let mut total = 0;
        loop {
            let more = self.augment();
            if more == 0 {
                return total;
            }
            total += more;
        }
    }

    /// Searches a way from an open thing to a place with room, over things that could use another place instead.
    fn augment(&mut self) -> u32 {
        let search = self.search();
        let Some(end) = search.end else { return 0 };
        // Back along the way: how much fits, then the change.
        let mut way: Vec<(usize, usize, Option<usize>)> = Vec::new();
        let mut place = end;
        while let Some((thing, slot)) = search.into_place[place] {
            let from = search.into_thing[thing];
            way.push((thing, slot, from.map(|(p, _)| p)));
            match from {
                Some((p, _)) => place = p,
                None => break,
            }
        }
        let first = way.last().map_or(0, |w| w.0);
        let mut amount = self.open[first].min(self.left[end]);
        for (thing, _, from) in &way {
            if let Some(p) = from {
                amount = amount.min(self.given[*thing][self.slot(*thing, *p)]);
            }
        }
        for (thing, slot, from) in way {
            self.given[thing][slot] += amount;
            if let Some(p) = from {
                let back = self.slot(thing, p);
                self.given[thing][back] -= amount;
            }
        }
        self.open[first] -= amount;
        self.left[end] -= amount;
        amount
    }

    fn slot(&self, thing: usize, place: usize) -> usize {
        self.demand.can[self.things[thing]].iter().position(|p| *p == place).unwrap_or(0)
    }

    fn search(&self) -> Search {
        let mut s = Search {
            into_thing: vec![None; self.things.len()],
            into_place: vec![None; self.left.len()],
            seen: self.open.iter().map(|o| *o > 0).collect(),
            end: None,
        };
        let mut queue: VecDeque<usize> = (0..self.things.len()).filter(|t| self.open[*t] > 0).collect();
        let mut users: Vec<Vec<(usize, usize)>> = vec![Vec::new(); self.left.len()];
        for (t, given) in self.given.iter().enumerate() {
            for (slot, g) in given.iter().enumerate().filter(|(_, g)| **g > 0) {
                debug_assert!(*g > 0);
                users[self.demand.can[self.things[t]][slot]].push((t, slot));
            }
        }
        while let Some(t) = queue.pop_front() {
            for (slot, place) in self.demand.can[self.things[t]].iter().enumerate() {
                if s.into_place[*place].is_some() {
                    continue;
                }
                s.into_place[*place] = Some((t, slot));
                if self.left[*place] > 0 {
                    s.end = Some(*place);
                    return s;
                }
                for (user, slot) in &users[*place] {
                    if !s.seen[*user] {
                        s.seen[*user] = true;
                        s.into_thing[*user] = Some((*place, *slot));
                        queue.push_back(*user);
                    }
                }
            }
        }
        s
    }

    /// Things that, after the last run, still compete with an open one.
    fn reached(&self) -> Vec<usize> {
        let s = self.search();
        (0..self.things.len()).filter(|t| s.seen[*t]).map(|t| self.things[t]).collect()
    }
}

struct Search {
    /// For each thing the place (and its slot among the thing's places) it would give up.
    into_thing: Vec<Option<(usize, usize)>>,
    /// For each place the thing that wants it, and the slot among that thing's places.
    into_place: Vec<Option<(usize, usize)>>,
    /// Things reached.
    seen: Vec<bool>,
    /// A place with room, if one was reached.
    end: Option<usize>,
}

#[cfg(test)]
mod tests {
    use super::Demand;

    /// Against all subsets: the set is short, and no smaller subset of it is.
    #[test]
    fn the_violators_are_a_smallest_short_set() {
        let mut rng = fastrand::Rng::with_seed(5);
        let mut shorts = 0;
        for _ in 0..400 {
            let places = rng.usize(1..4);
            let things = rng.usize(1..8);
            let demand = Demand {
                needs: (0..things).map(|_| rng.u32(1..4)).collect(),
                room: (0..places).map(|_| rng.u32(0..6)).collect(),
                can: (0..things).map(|_| (0..places).filter(|_| rng.bool()).collect()).collect(),
            };
            // Hall's condition for room that can be divided.
            let is_short = |set: &[usize]| {
                let need: u32 = set.iter().map(|t| demand.needs[*t]).sum();
                need > demand.places(set).iter().map(|p| demand.room[*p]).sum()
            };
            let subsets = |of: &[usize]| -> Vec<Vec<usize>> {
                (1..1u32 << of.len()).map(|m| of.iter().enumerate().filter(|(i, _)| m >> i & 1 == 1).map(|(_, t)| *t).collect()).collect()
            };
            let all: Vec<usize> = (0..things).collect();
            match demand.violators() {
                None => assert!(subsets(&all).iter().all(|s| !is_short(s)), "{demand:?}"),
                Some(set) => {
                    shorts += 1;
                    assert!(is_short(&set), "{demand:?}: {set:?}");
                    assert!(subsets(&set).iter().all(|s| s.len() == set.len() || !is_short(s)), "{demand:?}: {set:?}");
                }
            }
        }
        assert!(shorts > 50, "{shorts} short demands are too few to tell");
    }
}
