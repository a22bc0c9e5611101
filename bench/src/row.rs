//! What is kept of a run: one line of the table of raw runs.

use crate::Trouble;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// One run. Times in seconds, gap in per cent; what does not apply is empty.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Label of the version measured.
    pub version: String,
    /// Name of the instance.
    pub instance: String,
    /// Seed of the search.
    pub seed: u64,
    /// Threads.
    pub threads: usize,
    /// Limit [s]; empty if by work.
    pub seconds: Option<f64>,
    /// Limit [moves]; empty if by seconds.
    pub work: Option<u64>,
    /// `planned`, or the codes of the findings that forbid a plan.
    pub outcome: String,
    /// Stations of the line.
    pub stations: usize,
    /// Part types placed.
    pub part_types: usize,
    /// Boards in the panel.
    pub images: u32,
    /// Tasks placed.
    pub placed: usize,
    /// Tasks left out.
    pub unplaced: usize,
    /// Takt of the hand method.
    pub hand_s: Option<f64>,
    /// Takt.
    pub takt_s: Option<f64>,
    /// Bound.
    pub bound_s: Option<f64>,
    /// (takt − bound) / bound.
    pub gap_percent: Option<f64>,
    /// Until the first valid plan [ms].
    pub first_plan_ms: Option<f64>,
    /// Until the takt was within 1 % of the final one.
    pub to_1_percent_s: Option<f64>,
    /// Until the takt was within 5 % of the bound.
    pub to_5_percent_gap_s: Option<f64>,
    /// All of planning.
    pub took_s: Option<f64>,
    /// Most memory the process held before the checker ran [MiB].
    pub peak_mib: Option<f64>,
    /// Moves tried.
    pub moves: u64,
    /// Moves tried a second, all threads together.
    pub moves_per_s: Option<f64>,
    /// Whether the independent checker accepted the plan.
    pub accepted: Option<bool>,
    /// A checksum of the stations' programs: equal plans have equal ones.
    pub fingerprint: String,
}

impl Row {
    /// What makes a run the same run.
    pub fn key(&self) -> (String, String, u64, usize, String) {
        let limit = match (self.seconds, self.work) {
            (Some(s), _) => format!("{s} s"),
            (None, w) => format!("{} moves", w.unwrap_or(0)),
        };
        (self.version.clone(), self.instance.clone(), self.seed, self.threads, limit)
    }
}

/// All rows of a file; none if there is no file yet.
///
/// # Errors
/// When the file is not a table of runs.
pub fn read(path: &Path) -> Result<Vec<Row>, Trouble> {
    if !path.exists() {
        return Ok(Vec::new());
    }
    let say = |e: csv::Error| format!("{}: {e}", path.display());
    csv::Reader::from_path(path).map_err(say)?.deserialize().collect::<Result<_, _>>().map_err(say)
}

/// Adds a row to a file, with the heading if it is new.
///
/// # Errors
/// When the file cannot be written.
pub fn append(path: &Path, row: &Row) -> Result<(), Trouble> {
    let say = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
    let new = !path.exists();
    let file = std::fs::OpenOptions::new().create(true).append(true).open(path).map_err(|e| say(&e))?;
    let mut writer = csv::WriterBuilder::new().has_headers(new).from_writer(file);
    writer.serialize(row).map_err(|e| say(&e))?;
    writer.flush().map_err(|e| say(&e))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_come_back_as_they_were_written() {
        let path = std::env::temp_dir().join(format!("bench-rows-{}.csv", std::process::id()));
        let rows = [
            Row {
                version: "a".to_owned(),
                instance: "x,y".to_owned(),
                seconds: Some(1.5),
                takt_s: Some(9.25),
                accepted: Some(true),
                ..Row::default()
            },
            Row { version: "b".to_owned(), work: Some(1_000), ..Row::default() },
        ];
        rows.iter().for_each(|r| append(&path, r).expect("a row"));
        let back = read(&path).expect("rows");
        std::fs::remove_file(&path).expect("the file is there");
        assert_eq!(back, rows);
    }
}
