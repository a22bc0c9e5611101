//! The same balance by general solvers, ending on the same clock.
//!
//! A general constraint solver and a general mixed-integer solver (programs of their own in `solvers/`,
//! spoken to in JSON) get the planner's linear balance with slots, tray places, head swaps and whole counts,
//! so that a part type may be split. They solve it twice: the second time with the times that the stations of the
//! first really took, as the planner's own balance does. [`Way`] says what else the time goes to; the planner gets
//! the same time in all.

use crate::Trouble;
use crate::instance::Given;
use crate::watch::Recorder;
use domain::job::Job;
use domain::plan::Plan;
use optimise::balance::{Linear, level, relax};
use optimise::outside::Outside;
use optimise::{Limits, Watch};
use serde::{Deserialize, Serialize};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// The balance as solvers read it; times in whole µs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Model {
    /// For each group: placements, slots of its feeder, tray places, and which supply it shares.
    pub groups: Vec<ModelGroup>,
    /// Station of each column (a head of a station).
    pub columns: Vec<usize>,
    /// Stations.
    pub stations: Vec<ModelStation>,
    /// Time a placement takes, for each group and column [µs]; `null` where it cannot be done.
    pub time: Vec<Vec<Option<i64>>>,
    /// Groups of which the first must not be at a later station than the second.
    pub pairs: Vec<(usize, usize)>,
}

/// Alike placements.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ModelGroup {
    /// How many.
    pub count: u32,
    /// Slots of the feeder.
    pub slots: u32,
    /// Tray places.
    pub places: u32,
    /// Groups with the same number share a supply at a station.
    pub part: u32,
}

/// A station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ModelStation {
    /// Time for any panel [µs].
    pub fixed: i64,
    /// Feeder slots.
    pub slots: u32,
    /// Tray places.
    pub places: u32,
    /// One head swap [µs].
    pub swap: i64,
    /// k heads cost k − 1 swaps if set, else k (for two and more).
    pub alternate: bool,
}

/// What a solver answers.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Answer {
    /// Placements of each group in each column; empty without a solution.
    pub counts: Vec<Vec<u32>>,
    /// Slowest station of its solution [µs].
    pub slowest: f64,
    /// No solution of the model is better than this [µs].
    pub bound: f64,
    /// Whether it proved its solution the best.
    pub proven: bool,
    /// Seconds it took.
    pub seconds: f64,
}

impl Model {
    /// From the planner's model, times rounded to whole µs.
    pub fn new(m: &Linear) -> Self {
        let whole = |t: &Option<f64>| t.map(|t| t.round() as i64);
        Self {
            groups: m.groups.iter().map(|g| ModelGroup { count: g.count, slots: g.slots, places: g.places, part: g.part }).collect(),
            columns: m.columns.clone(),
            stations: m
                .stations
                .iter()
                .map(|s| ModelStation {
                    fixed: s.fixed.round() as i64,
                    slots: s.slots,
                    places: s.places,
                    swap: s.swap.round() as i64,
                    alternate: s.alternate,
                })
                .collect(),
            time: m.time.iter().map(|row| row.iter().map(whole).collect()).collect(),
            pairs: m.pairs.clone(),
        }
    }

    /// The slowest station of an answer [µs], recomputed here.
    ///
    /// # Errors
    /// What rule of the model the answer breaks.
    pub fn check(&self, counts: &[Vec<u32>]) -> Result<i64, Trouble> {
        if counts.len() != self.groups.len() {
            return Err("not one row per group".to_owned());
        }
        let mut slowest = 0;
        for (s, station) in self.stations.iter().enumerate() {
            let mine = |c: &usize| self.columns[*c] == s;
            let (mut work, mut heads, mut supplies) = (station.fixed, std::collections::BTreeSet::new(), std::collections::BTreeMap::new());
            for (g, row) in counts.iter().enumerate() {
                for c in (0..row.len()).filter(mine).filter(|c| row[*c] > 0) {
                    let each = self.time[g][c].ok_or_else(|| format!("group {g} cannot be done in column {c}"))?;
                    work += each * i64::from(row[c]);
                    heads.insert(c);
                    supplies.insert(self.groups[g].part, (self.groups[g].slots, self.groups[g].places));
                }
            }
            let (slots, places) = supplies.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
            if slots > station.slots || places > station.places {
                return Err(format!("station {s} has not so many slots or tray places"));
            }
            let swaps = match heads.len() as i64 {
                0 | 1 => 0,
                k if station.alternate => k - 1,
                k => k,
            };
            slowest = slowest.max(work + swaps * station.swap);
        }
        for (g, row) in counts.iter().enumerate() {
            if row.iter().sum::<u32>() != self.groups[g].count {
                return Err(format!("group {g} is not placed once"));
            }
        }
        let at = |g: usize| counts[g].iter().zip(&self.columns).filter(|(n, _)| **n > 0).map(|(_, s)| *s);
        for (a, b) in &self.pairs {
            if at(*a).max().zip(at(*b).min()).is_some_and(|(a, b)| a > b) {
                return Err(format!("group {a} is at a later station than group {b}, which must follow it"));
            }
        }
        Ok(slowest)
    }
}

/// Asks a solver. `program` is its command line; the model goes to its standard input.
///
/// # Errors
/// When it cannot be started, fails, or its answer breaks the model.
pub fn ask(program: &[String], model: &Model, solver: &str, seconds: f64, threads: usize) -> Result<Answer, Trouble> {
    let (first, rest) = program.split_first().ok_or("no solver program is named")?;
    let mut command = Command::new(first);
    command.args(rest).args(["--solver", solver, "--seconds", &format!("{seconds:.3}"), "--threads", &threads.to_string()]);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().map_err(|e| format!("{first}: {e}"))?;
    let text = serde_json::to_vec(model).map_err(|e| e.to_string())?;
    let mut input = child.stdin.take().ok_or("the solver takes no input")?;
    input.write_all(&text).map_err(|e| format!("{first}: {e}"))?;
    drop(input);
    let out = child.wait_with_output().map_err(|e| format!("{first}: {e}"))?;
    if !out.status.success() {
        return Err(format!("{solver}: {}", String::from_utf8_lossy(&out.stderr).trim()));
    }
    let answer: Answer = serde_json::from_slice(&out.stdout).map_err(|e| format!("{solver}: {e}"))?;
    if !answer.counts.is_empty() {
        let slowest = model.check(&answer.counts).map_err(|e| format!("{solver}: {e}"))?;
        if (slowest as f64 - answer.slowest).abs() > 0.001 * answer.slowest + 2.0 {
            return Err(format!("{solver}: says {:.0} µs, the model says {slowest} µs", answer.slowest));
        }
    }
    Ok(answer)
}

/// How one solver fared.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Fared {
    /// Instance.
    pub instance: String,
    /// Solver and its way, or `planner`.
    pub solver: String,
    /// Seconds in all, the same for everyone.
    pub seconds: f64,
    /// Takt on the clock [s]; empty without a plan of all that the planner places.
    pub takt_s: Option<f64>,
    /// Placements left out.
    pub unplaced: usize,
    /// Slowest station of its last solution of the model [s].
    pub model_s: Option<f64>,
    /// The model's bound as the solver proved it [s].
    pub model_bound_s: Option<f64>,
    /// Whether it proved its last solution optimal.
    pub proven: bool,
    /// What went wrong, if something did.
    pub trouble: String,
}

/// The balance alone, on the first model of an instance: what the planner's own spreading reaches, and what
/// the general solvers reach and prove. A row of [`BALANCE_HEADING`].
///
/// # Errors
/// When there is no model, or a solver fails.
pub fn balance(name: &str, given: &Given, program: &[String], seconds: f64, threads: usize) -> Result<String, Trouble> {
    let words = |f: Vec<diag::Finding>| f.iter().map(|f| f.code.as_str()).collect::<Vec<_>>().join(" ");
    let job = Job::new(&given.product, given.side, given.panel).map_err(|f| words(vec![*f]))?;
    let outside = Outside::new(&job, &given.line, &given.rules).map_err(words)?;
    let model = Model::new(outside.model());
    let begun = Recorder::start();
    let (own, program_bound) = own_balance(outside.model());
    let took = begun.seconds();
    let mut cells = if program.is_empty() { " | | |".repeat(SOLVERS.len()) } else { String::new() };
    let mut best_bound = program_bound.max(0.0);
    for solver in SOLVERS.into_iter().filter(|_| !program.is_empty()) {
        let a = ask(program, &model, solver, seconds, threads)?;
        best_bound = best_bound.max(a.bound / 1e6);
        cells += &format!(" {:.3} | {:.3} | {} |", a.slowest / 1e6, a.bound / 1e6, if a.proven { "yes" } else { "" });
    }
    let gap = 100.0 * (own / best_bound.max(1e-9) - 1.0);
    Ok(format!("| {name} | {} | {own:.3} | {took:.2} | {program_bound:.3} | {gap:.2} |{cells}", model.groups.len()))
}

/// The two general solvers, as `solvers/balance.py` calls them.
pub const SOLVERS: [&str; 2] = ["constraint", "program"];

/// Heading of [`balance`]'s rows.
pub const BALANCE_HEADING: &str = "| instance | groups | planner's balance [s] | took [s] | its linear program [s] | above the best bound [%] | constraint solver [s] | its bound [s] | proven | mixed-integer solver [s] | its bound [s] | proven |\n|---|---|---|---|---|---|---|---|---|---|---|---|";

/// Slowest station of the planner's own balance of a model, and what its linear program proves [s]; no numbers where it found none.
fn own_balance(model: &Linear) -> (f64, f64) {
    let bound = relax(model).map_or(f64::NAN, |s| s.slowest / 1e6);
    let counts = level(model, 60_000, &mut fastrand::Rng::with_seed(1));
    (Model::new(model).check(&counts).map_or(f64::NAN, |us| us as f64 / 1e6), bound)
}

/// The planner with all the time.
pub fn planner(name: &str, given: &Given, seconds: f64, threads: usize) -> Fared {
    let mut fared = blank(name, "planner", seconds);
    let job = Job::new(&given.product, given.side, given.panel).map_err(|f| vec![*f]);
    let limits = Limits { seconds: Some(seconds), work: None, seed: 1, threads };
    match job.and_then(|job| optimise::plan(&job, &given.line, &given.rules, limits, &Recorder::start())) {
        Ok(planned) => take(&mut fared, &planned.plan),
        Err(findings) => fared.trouble = findings.iter().map(|f| f.code.as_str()).collect::<Vec<_>>().join(" "),
    }
    fared
}

fn blank(instance: &str, solver: &str, seconds: f64) -> Fared {
    Fared {
        instance: instance.to_owned(),
        solver: solver.to_owned(),
        seconds,
        takt_s: None,
        unplaced: 0,
        model_s: None,
        model_bound_s: None,
        proven: false,
        trouble: String::new(),
    }
}

fn take(fared: &mut Fared, plan: &Plan) {
    fared.takt_s = Some(plan.takt_us.to_s());
    fared.unplaced = plan.unplaced.len();
}

/// What a general solver spends its time on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Half for a first balance, half for a second one with measured times; stations get the programs that plans begin with.
    Alone,
    /// A quarter for a first balance, a quarter for its stations, a quarter for a second balance with measured times, the rest for
    /// the stations again. What a solver does not need goes to the stations.
    WithStations,
}

impl Way {
    /// Both ways.
    pub const ALL: [Self; 2] = [Self::Alone, Self::WithStations];

    /// A solver that goes this way, as tables name it.
    pub fn name(self, solver: &str) -> String {
        match self {
            Self::Alone => format!("{solver} alone"),
            Self::WithStations => format!("{solver} with stations"),
        }
    }
}

/// A general solver with the same time. The better of its two plans counts.
pub fn general(name: &str, given: &Given, (solver, way): (&str, Way), program: &[String], seconds: f64, threads: usize) -> Fared {
    let mut fared = blank(name, &way.name(solver), seconds);
    if let Err(trouble) = two_rounds(&mut fared, given, (solver, way), program, seconds, threads) {
        fared.trouble = trouble;
    }
    fared
}

fn two_rounds(
    fared: &mut Fared,
    given: &Given,
    (solver, way): (&str, Way),
    program: &[String],
    seconds: f64,
    threads: usize,
) -> Result<(), Trouble> {
    let words = |f: Vec<diag::Finding>| f.iter().map(|f| f.code.as_str()).collect::<Vec<_>>().join(" ");
    let begun = Recorder::start();
    let job = Job::new(&given.product, given.side, given.panel).map_err(|f| words(vec![*f]))?;
    let mut outside = Outside::new(&job, &given.line, &given.rules).map_err(words)?;
    for until in [0.5, 1.0] {
        let for_balance = match way {
            Way::Alone => seconds / 2.0,
            Way::WithStations => seconds / 4.0,
        };
        let answer = ask(program, &Model::new(outside.model()), solver, for_balance, threads)?;
        (fared.model_bound_s, fared.proven) = (Some(answer.bound / 1e6), answer.proven);
        if answer.counts.is_empty() {
            return Err("no solution in its time".to_owned());
        }
        fared.model_s = Some(answer.slowest / 1e6);
        let left = match way {
            Way::Alone => 0.0,
            Way::WithStations => (seconds * until - begun.seconds()).max(0.05),
        };
        let plan = outside.plan(&answer.counts, Limits { seconds: Some(left), work: None, seed: 1, threads }, &Recorder::start()).plan;
        let better = fared.takt_s.is_none_or(|t| (plan.unplaced.len(), plan.takt_us.to_s()) < (fared.unplaced, t));
        let verdict = verify::verify(&plan);
        if !verdict.accepted {
            let why: Vec<String> = verdict.violations.iter().map(|v| format!("{}: {}", v.code, v.detail)).collect();
            return Err(format!("its plan is refused by the checker: {}", why.join("; ")));
        }
        if better {
            take(fared, &plan);
        }
    }
    Ok(())
}

/// All results so far; none without a file.
///
/// # Errors
/// When the file is no such table.
pub fn read(path: &Path) -> Result<Vec<Fared>, Trouble> {
    if !path.exists() {
        return Ok(Vec::new());
    }
    let say = |e: csv::Error| format!("{}: {e}", path.display());
    csv::Reader::from_path(path).map_err(say)?.deserialize().collect::<Result<_, _>>().map_err(say)
}

/// Rewrites the table.
///
/// # Errors
/// When it cannot be written.
pub fn write(path: &Path, rows: &[Fared]) -> Result<(), Trouble> {
    let mut writer = csv::Writer::from_path(path).map_err(|e| format!("{}: {e}", path.display()))?;
    for r in rows {
        writer.serialize(r).map_err(|e| e.to_string())?;
    }
    writer.flush().map_err(|e| e.to_string())
}

/// The comparison as a Markdown table with its verdict per solver.
pub fn table(rows: &[Fared]) -> String {
    let mut text = "| instance | seconds | solver | takt [s] | not placed | against the planner [%] | model: slowest [s] | model: bound [s] | proven | remark |\n|---|---|---|---|---|---|---|---|---|---|\n".to_owned();
    let ours = |r: &Fared| {
        rows.iter().find(|o| o.solver == "planner" && o.instance == r.instance && o.seconds == r.seconds).and_then(|o| o.takt_s)
    };
    let n = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), |v| format!("{v:.3}"));
    let longer = |r: &Fared| Some(100.0 * (r.takt_s? / ours(r)? - 1.0));
    for r in rows {
        let against = if r.solver == "planner" { String::new() } else { longer(r).map_or_else(|| "-".to_owned(), |d| format!("{d:+.1}")) };
        text += &format!(
            "| {} | {} | {} | {} | {} | {against} | {} | {} | {} | {} |\n",
            r.instance,
            r.seconds,
            r.solver,
            n(r.takt_s),
            r.unplaced,
            n(r.model_s),
            n(r.model_bound_s),
            if r.proven { "yes" } else { "" },
            r.trouble
        );
    }
    let solvers: std::collections::BTreeSet<&str> = rows.iter().map(|r| r.solver.as_str()).filter(|s| *s != "planner").collect();
    for solver in solvers {
        let all: Vec<(&Fared, f64)> = rows.iter().filter(|r| r.solver == solver).filter_map(|r| Some((r, longer(r)?))).collect();
        let open = all.iter().filter(|(r, _)| !r.proven).map(|(_, d)| *d);
        let (n, worse) = (all.len(), all.iter().filter(|(_, d)| *d < 0.0).count());
        text += &format!(
            "\n{solver}: {n} instances; its takt is longer by {:.1} % in the median ({:.1} % where it proves nothing); shorter than the planner's in {worse}.\n",
            crate::summary::median(all.iter().map(|a| a.1)),
            crate::summary::median(open),
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn model() -> Model {
        let station = ModelStation { fixed: 1_000, slots: 1, places: 0, swap: 500, alternate: false };
        Model {
            groups: vec![ModelGroup { count: 4, slots: 1, places: 0, part: 0 }, ModelGroup { count: 2, slots: 1, places: 0, part: 1 }],
            columns: vec![0, 0, 1],
            stations: vec![station, ModelStation { slots: 2, ..station }],
            time: vec![vec![Some(100), None, Some(200)], vec![None, Some(300), Some(100)]],
            pairs: Vec::new(),
        }
    }

    #[test]
    fn an_answer_is_recomputed() {
        // By hand: station 0 takes 1000 + 3·100, station 1 takes 1000 + 200 + 2·100.
        assert_eq!(model().check(&[vec![3, 0, 1], vec![0, 0, 2]]), Ok(1_400));
    }

    #[test]
    fn answers_that_break_the_model_are_refused() {
        let m = model();
        // Two feeders in one slot; too few placements; a column that cannot.
        assert!(m.check(&[vec![4, 0, 0], vec![0, 2, 0]]).is_err());
        assert!(m.check(&[vec![3, 0, 0], vec![0, 0, 2]]).is_err());
        assert!(m.check(&[vec![3, 1, 0], vec![0, 0, 2]]).is_err());
        let mut ordered = model();
        ordered.pairs = vec![(0, 1)];
        assert!(ordered.check(&[vec![4, 0, 0], vec![0, 0, 2]]).is_ok());
        ordered.pairs = vec![(1, 0)];
        assert!(ordered.check(&[vec![4, 0, 0], vec![0, 0, 2]]).is_err());
        let mut wide = model();
        wide.stations[0].slots = 2;
        // Two heads at a station that does not alternate cost two swaps.
        assert_eq!(wide.check(&[vec![4, 0, 0], vec![0, 2, 0]]), Ok(1_000 + 400 + 600 + 1_000));
    }
}
