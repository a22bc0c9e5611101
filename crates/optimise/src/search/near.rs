//! Near neighbours of tasks on the board.

use crate::problem::Problem;
use domain::job::TaskId;
use std::collections::BTreeMap;

/// Neighbours kept for each task.
const NEIGHBOURS: usize = 24;

/// Near neighbours of some tasks among each other, nearest first.
#[derive(Debug, Default)]
pub(super) struct Near {
    /// Position of each task of the job in `lists`.
    index: Vec<u32>,
    lists: Vec<Vec<TaskId>>,
}

impl Near {
    /// Looks for neighbours ring by ring in a grid with about three tasks a cell.
    pub(super) fn new(p: &Problem<'_>, tasks: &[TaskId]) -> Self {
        let at = |t: TaskId| p.job.tasks[t.index()].at;
        let extent = (p.job.size.x.0.max(p.job.size.y.0)).max(1);
        let cell = ((extent as f64) / (tasks.len() as f64 / 3.0).sqrt().max(1.0)).ceil().max(1.0) as i64;
        let place = |t: TaskId| (at(t).x.0.div_euclid(cell), at(t).y.0.div_euclid(cell));
        let mut grid: BTreeMap<(i64, i64), Vec<TaskId>> = BTreeMap::new();
        tasks.iter().for_each(|t| grid.entry(place(*t)).or_default().push(*t));
        let mut index = vec![u32::MAX; p.job.tasks.len()];
        let mut lists = Vec::with_capacity(tasks.len());
        let mut found: Vec<(i64, TaskId)> = Vec::new();
        for (k, t) in tasks.iter().enumerate() {
            index[t.index()] = k as u32;
            found.clear();
            let (x, y) = place(*t);
            for ring in 0..6i64 {
                for cx in x - ring..=x + ring {
                    let inner = (cx - x).abs() < ring;
                    for cy in (y - ring..=y + ring).filter(|cy| !inner || (cy - y).abs() == ring) {
                        for o in grid.get(&(cx, cy)).into_iter().flatten().filter(|o| *o != t) {
                            let d = at(*o) - at(*t);
                            found.push((d.x.0.abs().max(d.y.0.abs()), *o));
                        }
                    }
                }
                if found.len() >= NEIGHBOURS {
                    break;
                }
            }
            found.sort_unstable();
            lists.push(found.iter().take(NEIGHBOURS).map(|f| f.1).collect());
        }
        Self { index, lists }
    }

    /// Neighbours of a task; none for tasks that were not among those looked at.
    pub(super) fn of(&self, task: TaskId) -> &[TaskId] {
        self.index.get(task.index()).and_then(|k| self.lists.get(*k as usize)).map_or(&[], |l| l)
    }
}
