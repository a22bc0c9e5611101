//! Published instances: the choice copied under `tests/data`, or the full sets where they lie beside the clone.

#![allow(dead_code, reason = "every reader of instances uses a part of this")]

use optimise::engine::slots::Arrangement;
use optimise::engine::trips::Visits;
use optimise::engine::ways::Ways;
use std::collections::BTreeMap;

const COPIED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../crates/optimise/tests/data/");
const FULL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/bench/");
/// The bench is a folder higher.
const FULL_FROM_BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/bench/");
const COPIED_FROM_BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../crates/optimise/tests/data/");

/// A file of a folder of instances.
fn read(file: &str) -> Option<String> {
    [FULL, FULL_FROM_BENCH, COPIED, COPIED_FROM_BENCH].iter().find_map(|folder| std::fs::read_to_string(format!("{folder}{file}")).ok())
}

/// A row of a table, by the names of its columns.
pub struct Row(BTreeMap<String, String>);

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column `{column}`"))
    }

    /// The name of the instance; of a graph with its number of stations or cycle time.
    pub fn name(&self) -> String {
        let more = ["stations", "cycle_time"].iter().find_map(|c| self.0.get(*c).map(|v| format!(" ({c} {v})")));
        match self.0.get("name") {
            Some(name) => name.clone(),
            None => self.text("graph").to_owned() + &more.unwrap_or_default(),
        }
    }

    pub fn number(&self, column: &str) -> i64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("`{}` in column `{column}`", self.text(column)))
    }
}

/// The rows of a table.
pub fn table(file: &str) -> Vec<Row> {
    let text = read(file).unwrap_or_else(|| panic!("`{file}` is copied"));
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let row = |line: &str| Row(head.iter().zip(line.split(',')).map(|(c, v)| ((*c).to_owned(), v.to_owned())).collect());
    let rows: Vec<Row> = lines.map(row).collect();
    eprintln!("{file}: {} instances", rows.len());
    rows
}

fn numbers<T: std::str::FromStr>(text: &str) -> Vec<T> {
    text.split_whitespace().map_while(|x| x.parse().ok()).collect()
}

/// What follows a keyword and perhaps a colon, on its line.
fn entry<'t>(text: &'t str, key: &str) -> &'t str {
    let line = text.lines().find(|l| l.starts_with(key)).unwrap_or_else(|| panic!("no `{key}`"));
    line[key.len()..].trim_start_matches([' ', ':']).trim()
}

fn section<'t>(text: &'t str, key: &str) -> &'t str {
    &text[text.find(key).unwrap_or_else(|| panic!("no `{key}`")) + key.len()..]
}

/// Straight ways rounded to whole numbers, as TSPLIB rounds (EUC_2D).
fn straight(at: &[(f64, f64)]) -> Ways {
    Ways::new(at.len(), |i, j| ((at[i].0 - at[j].0).hypot(at[i].1 - at[j].1) + 0.5) as i64)
}

fn coordinates(text: &str) -> Vec<(f64, f64)> {
    numbers::<f64>(section(text, "NODE_COORD_SECTION")).chunks_exact(3).map(|c| (c[1], c[2])).collect()
}

/// A `.tsp`, `.atsp` or `.sop` file: ways, and pairs of stops of which the first comes before the second.
pub fn stops(file: &str) -> (Ways, Vec<(u32, u32)>) {
    let text = read(&format!("tsp/{file}")).expect("the file of a row");
    if text.contains("NODE_COORD_SECTION") {
        return (straight(&coordinates(&text)), Vec::new());
    }
    let n: usize = entry(&text, "DIMENSION").parse().expect("a dimension");
    let all = numbers::<i64>(section(&text, "EDGE_WEIGHT_SECTION"));
    let matrix = &all[all.len() - n * n..];
    // In `.sop` files −1 says that the column comes before the row.
    let pairs = (0..n as u32).flat_map(|i| (0..n as u32).map(move |j| (i, j))).filter(|(i, j)| i != j);
    let rules = pairs.filter(|(i, j)| matrix[*i as usize * n + *j as usize] < 0).map(|(i, j)| (j, i)).collect();
    (Ways::new(n, |i, j| if matrix[i * n + j] < 0 { 1_000_000 } else { matrix[i * n + j] }), rules)
}

/// A QAPLIB file.
pub fn arrangement(file: &str) -> Arrangement {
    let all = numbers::<i64>(&read(&format!("qap/{file}")).expect("the file of a row"));
    let n = all[0] as usize;
    Arrangement { feeders: n, flow: all[1..=n * n].to_vec(), distance: all[n * n + 1..=2 * n * n].to_vec(), own: Vec::new() }
}

/// A `.vrp` file, with the number of trips its published solution has.
pub fn visits(file: &str, most_trips: usize) -> Visits {
    let text = read(&format!("cvrp/{file}")).expect("the file of a row");
    let weight = numbers::<u32>(section(&text, "DEMAND_SECTION")).chunks_exact(2).map(|d| d[1]).collect();
    let capacity = entry(&text, "CAPACITY").parse().expect("a capacity");
    Visits { ways: straight(&coordinates(&text)), weight, capacity, most_trips: Some(most_trips) }
}

/// A generalised assignment: costs and resources by agent and job, capacities by agent.
pub struct Assignment {
    pub cost: Vec<Vec<i64>>,
    pub resource: Vec<Vec<i64>>,
    pub capacity: Vec<i64>,
}

/// A file of generalised assignment (`gap/...`).
pub fn assignment(file: &str) -> Assignment {
    let all = numbers::<i64>(&read(file).expect("the file of a row"));
    let (m, n) = (all[0] as usize, all[1] as usize);
    let rows = |from: usize| all[from..from + m * n].chunks_exact(n).map(<[i64]>::to_vec).collect();
    Assignment { cost: rows(2), resource: rows(2 + m * n), capacity: all[2 + 2 * m * n..2 + 2 * m * n + m].to_vec() }
}

/// A graph of line balancing: times of the tasks and pairs of tasks of which the first comes before the second.
pub fn precedence(file: &str) -> (Vec<i64>, Vec<(u32, u32)>) {
    let text = read(&format!("salbp/{file}")).expect("the file of a row");
    let mut lines = text.split_whitespace();
    let n: usize = lines.next().and_then(|l| l.parse().ok()).expect("a number of tasks");
    let times = lines.by_ref().take(n).map(|t| t.parse().expect("a time")).collect();
    let pair = |l: &str| {
        let (i, j) = l.split_once(',')?;
        Some((i.parse::<u32>().ok()?.checked_sub(1)?, j.parse::<u32>().ok()?.checked_sub(1)?))
    };
    (times, lines.map_while(pair).collect())
}

/// Gap of a value over the published one, in percent.
pub fn gap(found: i64, published: i64) -> f64 {
    (found as f64 / published as f64 - 1.0) * 100.0
}
