//! Many runs, one after the other, each in a process of its own; a table grows as they end.

use crate::Trouble;
use crate::instance::Instance;
use crate::row::{Row, append, read};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What all runs of a campaign have in common.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Folder of the real boards.
    pub boards: Option<PathBuf>,
    /// Folder for tables and plans.
    pub out: PathBuf,
    /// Label of the version measured.
    pub version: String,
    /// Limit [s].
    pub seconds: Option<f64>,
    /// Limit [moves].
    pub work: Option<u64>,
    /// Threads.
    pub threads: usize,
    /// Whether plans are kept.
    pub keep_plans: bool,
}

impl Setting {
    /// The table of raw runs.
    pub fn table(&self) -> PathBuf {
        self.out.join("runs.csv")
    }
}

/// Runs every instance with every seed, but for those the table already has. Prints a line per run.
///
/// # Errors
/// When a process cannot be started or the table not be written. A run that fails is reported and left out.
pub fn run(instances: &[Instance], seeds: &[u64], setting: &Setting) -> Result<Vec<Row>, Trouble> {
    std::fs::create_dir_all(&setting.out).map_err(|e| format!("{}: {e}", setting.out.display()))?;
    let before = read(&setting.table())?;
    let done: BTreeSet<_> = before.iter().map(Row::key).collect();
    let mut rows = Vec::new();
    println!("{}", heading());
    for instance in instances {
        for seed in seeds {
            let wanted = Row {
                version: setting.version.clone(),
                instance: instance.name.clone(),
                seed: *seed,
                threads: setting.threads,
                seconds: setting.seconds,
                work: if setting.seconds.is_some() { None } else { setting.work },
                ..Row::default()
            };
            if done.contains(&wanted.key()) {
                rows.extend(before.iter().filter(|r| r.key() == wanted.key()).cloned());
                continue;
            }
            match child(instance, *seed, setting) {
                Ok(mut row) => {
                    row.version.clone_from(&setting.version);
                    row.instance.clone_from(&instance.name);
                    append(&setting.table(), &row)?;
                    println!("{}", shown(&row));
                    rows.push(row);
                }
                Err(e) => eprintln!("{}: {e}", instance.name),
            }
        }
    }
    Ok(rows)
}

/// One run in a process of its own.
///
/// # Errors
/// When it cannot be started, ends badly or answers with something else than a row.
pub fn child(instance: &Instance, seed: u64, setting: &Setting) -> Result<Row, Trouble> {
    let program = std::env::current_exe().map_err(|e| e.to_string())?;
    let mut command = Command::new(program);
    command.arg("case").arg(&instance.name).args(["--seed", &seed.to_string(), "--threads", &setting.threads.to_string()]);
    if let Some(boards) = &setting.boards {
        command.arg("--boards").arg(boards);
    }
    match (setting.seconds, setting.work) {
        (Some(s), _) => command.args(["--seconds", &s.to_string()]),
        (None, Some(w)) => command.args(["--work", &w.to_string()]),
        (None, None) => return Err("a limit is needed: --seconds or --work".to_owned()),
    };
    if setting.keep_plans {
        command.arg("--plan").arg(plan_file(setting, &instance.name, seed)?);
    }
    let out = command.output().map_err(|e| e.to_string())?;
    if !out.status.success() {
        return Err(format!("{}: {}", out.status, String::from_utf8_lossy(&out.stderr).trim()));
    }
    serde_json::from_slice(&out.stdout).map_err(|e| format!("no row came back: {e}"))
}

fn plan_file(setting: &Setting, instance: &str, seed: u64) -> Result<PathBuf, Trouble> {
    let folder = setting.out.join("plans");
    std::fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    Ok(folder.join(format!("{}-{seed}.json", instance.replace('/', "_"))))
}

/// Heading of the lines that [`shown`] makes.
pub fn heading() -> String {
    "| instance | seed | placed | not placed | by hand [s] | takt [s] | bound [s] | gap [%] | first plan [ms] | to 1 % [s] | MiB | moves/s | accepted |\n\
     |---|---|---|---|---|---|---|---|---|---|---|---|---|"
        .to_owned()
}

/// A row for people.
pub fn shown(r: &Row) -> String {
    if r.outcome != "planned" {
        return format!("| {} | {} | {} |", r.instance, r.seed, r.outcome);
    }
    let n = |v: Option<f64>, digits: usize| v.map_or_else(|| "-".to_owned(), |v| format!("{v:.digits$}"));
    format!(
        "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
        r.instance,
        r.seed,
        r.placed,
        r.unplaced,
        n(r.hand_s, 3),
        n(r.takt_s, 3),
        n(r.bound_s, 3),
        n(r.gap_percent, 2),
        n(r.first_plan_ms, 1),
        n(r.to_1_percent_s, 2),
        n(r.peak_mib, 0),
        n(r.moves_per_s, 0),
        if r.accepted == Some(true) { "yes" } else { "NO" },
    )
}

/// What the machine is, for beside the figures.
pub fn machine() -> String {
    let read = |p: &str| std::fs::read_to_string(Path::new(p)).unwrap_or_default();
    let cpu = read("/proc/cpuinfo");
    let model =
        cpu.lines().find_map(|l| l.strip_prefix("model name")).map_or("unknown processor", |l| l.trim_start_matches([' ', '\t', ':']));
    let memory = read("/proc/meminfo");
    let kib: f64 =
        memory.lines().find_map(|l| l.strip_prefix("MemTotal:")).and_then(|l| l.split_whitespace().next()?.parse().ok()).unwrap_or(0.0);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    format!("{cores} cores ({model}), {:.0} GiB", kib / 1024.0 / 1024.0)
}
