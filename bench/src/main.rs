//! The command line of the bench; `README.md` tells how a campaign goes.

use bench::campaign::{Setting, machine, run};
use bench::instance::{Instance, SUITES, all};
use bench::{Trouble, case, growth, rivals, row, summary, threads};
use clap::{Args, Parser, Subcommand};
use optimise::Limits;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Measures the planner. Tables go to standard output, raw runs to the output folder.
#[derive(Parser)]
#[command(name = "bench")]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Names of all instances, suite by suite.
    List(Choice),
    /// Run instances, a row each; runs that the table has are left out.
    Run {
        #[command(flatten)]
        choice: Choice,
        #[command(flatten)]
        common: Common,
        /// Seeds, such as 1-10 or 1,3.
        #[arg(long, default_value = "1", value_parser = seeds)]
        seeds: Seeds,
    },
    /// Everything: real boards at full length, then the other suites, growth, threads and solvers, shorter.
    Campaign {
        #[command(flatten)]
        common: Common,
        /// Seconds of the shorter runs.
        #[arg(long, default_value_t = 10.0)]
        short: f64,
        /// Command line of the general solvers, such as "python3 solvers/balance.py"; without it they are left out.
        #[arg(long)]
        solvers: Option<String>,
        /// Picture of the growth.
        #[arg(long)]
        picture: Option<PathBuf>,
    },
    /// Tables of the runs so far.
    Summary {
        #[command(flatten)]
        common: Common,
    },
    /// How the time to a 5 % gap grows from 500 to 10,000 placements.
    Growth {
        #[command(flatten)]
        common: Common,
        /// Stations of the line.
        #[arg(long, default_value_t = 12)]
        stations: usize,
        /// Panels of each size.
        #[arg(long, default_value = "1-3", value_parser = seeds)]
        panels: Seeds,
        /// Where the picture goes.
        #[arg(long)]
        picture: Option<PathBuf>,
    },
    /// Two threads against one at equal work.
    Threads {
        #[command(flatten)]
        choice: Choice,
        #[command(flatten)]
        common: Common,
    },
    /// The same balance by general solvers, on the same clock.
    Rivals {
        #[command(flatten)]
        choice: Choice,
        #[command(flatten)]
        common: Common,
        /// Command line of the solvers, such as "python3 solvers/balance.py".
        #[arg(long)]
        solvers: String,
    },
    /// The balance alone: the planner's linear model, its own answer and those of general solvers.
    Balance {
        #[command(flatten)]
        choice: Choice,
        #[command(flatten)]
        common: Common,
        /// Command line of the solvers, such as "python3 solvers/balance.py"; without it only the planner balances.
        #[arg(long, default_value = "")]
        solvers: String,
    },
    /// One run; prints its row as JSON. The other commands start it as a process of its own.
    Case {
        /// Name of the instance.
        instance: String,
        #[arg(long)]
        boards: Option<PathBuf>,
        #[arg(long)]
        seconds: Option<f64>,
        #[arg(long)]
        work: Option<u64>,
        #[arg(long, default_value_t = 1)]
        seed: u64,
        #[arg(long, default_value_t = 2)]
        threads: usize,
        /// Keep the plan here.
        #[arg(long)]
        plan: Option<PathBuf>,
    },
}

/// Which instances.
#[derive(Args, Clone)]
struct Choice {
    /// Suites: real, demo, panels, generated, lines.
    #[arg(long, value_delimiter = ',')]
    suite: Vec<String>,
    /// Only names that contain one of these.
    #[arg(long, value_delimiter = ',')]
    only: Vec<String>,
}

/// What runs have in common.
#[derive(Args, Clone)]
struct Common {
    /// Folder of real boards, a folder of designer's files each.
    #[arg(long)]
    boards: Option<PathBuf>,
    /// Folder for the tables of raw runs.
    #[arg(long, default_value = "out")]
    out: PathBuf,
    /// Label of the version measured.
    #[arg(long, default_value = "unreleased")]
    version: String,
    /// Seconds of a run.
    #[arg(long)]
    seconds: Option<f64>,
    /// Moves of a run, instead of seconds.
    #[arg(long)]
    work: Option<u64>,
    /// Threads of a run.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Keep every plan in the output folder.
    #[arg(long)]
    keep_plans: bool,
}

impl Common {
    fn setting(&self) -> Setting {
        Setting {
            boards: self.boards.clone(),
            out: self.out.clone(),
            version: self.version.clone(),
            seconds: self.seconds,
            work: self.work,
            threads: self.threads,
            keep_plans: self.keep_plans,
        }
    }
}

#[derive(Clone)]
struct Seeds(Vec<u64>);

fn seeds(text: &str) -> Result<Seeds, String> {
    let one = |t: &str| t.trim().parse::<u64>().map_err(|e| e.to_string());
    let mut all = Vec::new();
    for part in text.split(',') {
        match part.split_once('-') {
            Some((a, b)) => all.extend(one(a)?..=one(b)?),
            None => all.push(one(part)?),
        }
    }
    Ok(Seeds(all))
}

fn chosen(choice: &Choice) -> Result<Vec<Instance>, Trouble> {
    if let Some(unknown) = choice.suite.iter().find(|s| !SUITES.contains(&s.as_str())) {
        return Err(format!("no suite is called `{unknown}`; there are {}", SUITES.join(", ")));
    }
    let in_suite = |i: &Instance| choice.suite.is_empty() || choice.suite.iter().any(|s| s == i.suite);
    let named = |i: &Instance| choice.only.is_empty() || choice.only.iter().any(|o| i.name.contains(o.as_str()));
    let mut list: Vec<Instance> =
        SUITES.iter().flat_map(|s| all().into_iter().filter(move |i| i.suite == *s)).filter(|i| in_suite(i) && named(i)).collect();
    // A generated name that is on no list can be asked for in full.
    if list.is_empty() {
        list = choice.only.iter().map(|n| Instance::named(n)).collect::<Result<_, _>>()?;
    }
    Ok(list)
}

fn main() -> ExitCode {
    match go(Arguments::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            eprintln!("error: {trouble}");
            ExitCode::FAILURE
        }
    }
}

fn go(command: Command) -> Result<(), Trouble> {
    match command {
        Command::List(choice) => chosen(&choice)?.iter().for_each(|i| println!("{:<10} {}", i.suite, i.name)),
        Command::Run { choice, common, seeds } => {
            run(&chosen(&choice)?, &seeds.0, &common.setting())?;
        }
        Command::Summary { common } => print_summary(&common.setting())?,
        Command::Growth { common, stations, panels, picture } => {
            let found = growth::measure(stations, &panels.0, &common.setting(), picture.as_deref())?;
            println!("\n{}", growth::table(&found));
        }
        Command::Threads { choice, common } => {
            println!("{}", threads::HEADING);
            threads::measure(&chosen(&choice)?, &common.setting())?;
        }
        Command::Rivals { choice, common, solvers } => compare(&chosen(&choice)?, &common.setting(), &solvers)?,
        Command::Balance { choice, common, solvers } => {
            let seconds = common.seconds.ok_or("--seconds is needed: everyone gets the same time")?;
            println!("{}", rivals::BALANCE_HEADING);
            for instance in chosen(&choice)? {
                let given = instance.load(common.boards.as_deref())?;
                match rivals::balance(&instance.name, &given, &words(&solvers), seconds, common.threads) {
                    Ok(row) => println!("{row}"),
                    Err(trouble) => eprintln!("{}: {trouble}", instance.name),
                }
            }
        }
        Command::Campaign { common, short, solvers, picture } => whole(&common, short, solvers.as_deref(), picture.as_deref())?,
        Command::Case { instance, boards, seconds, work, seed, threads, plan } => {
            let given = Instance::named(&instance)?.load(boards.as_deref())?;
            let (row, planned) = case::run(&given, Limits { seconds, work, seed, threads });
            if let (Some(path), Some(planned)) = (plan, planned) {
                let text = serde_json::to_string(&planned).map_err(|e| e.to_string())?;
                std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))?;
            }
            println!("{}", serde_json::to_string(&row).map_err(|e| e.to_string())?);
        }
    }
    Ok(())
}

fn print_summary(setting: &Setting) -> Result<(), Trouble> {
    let rows = row::read(&setting.table())?;
    let suites: std::collections::BTreeMap<String, &'static str> = all().into_iter().map(|i| (i.name, i.suite)).collect();
    let suite = |name: &str| suites.get(name).copied().unwrap_or("growth");
    println!("Machine: {}\n", machine());
    println!("{}", summary::versions(&rows, &suite));
    println!("{}", summary::instances(&rows, &setting.version));
    print!("{}", summary::refused(&rows, &setting.version));
    let rivals = rivals::read(&setting.out.join("rivals.csv"))?;
    if !rivals.is_empty() {
        println!("\n{}", rivals::table(&rivals));
    }
    Ok(())
}

/// A command line in words.
fn words(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}

/// Planner and general solvers on each instance; what the table has is left out.
fn compare(instances: &[Instance], setting: &Setting, solvers: &str) -> Result<(), Trouble> {
    let seconds = setting.seconds.ok_or("--seconds is needed: everyone gets the same time")?;
    let program = words(solvers);
    std::fs::create_dir_all(&setting.out).map_err(|e| format!("{}: {e}", setting.out.display()))?;
    let table = setting.out.join("rivals.csv");
    let mut rows = rivals::read(&table)?;
    for instance in instances {
        let given = instance.load(setting.boards.as_deref())?;
        let with_ways = rivals::SOLVERS.iter().flat_map(|s| rivals::Way::ALL.map(|way| (*s, way)));
        for who in std::iter::once(None).chain(with_ways.map(Some)) {
            let name = who.map_or_else(|| "planner".to_owned(), |(solver, way)| way.name(solver));
            if rows.iter().any(|r| r.instance == instance.name && r.solver == name && r.seconds == seconds) {
                continue;
            }
            let fared = match who {
                None => rivals::planner(&instance.name, &given, seconds, setting.threads),
                Some(who) => rivals::general(&instance.name, &given, who, &program, seconds, setting.threads),
            };
            eprintln!("{} {}: {:?} {}", instance.name, name, fared.takt_s, fared.trouble);
            rows.push(fared);
            rivals::write(&table, &rows)?;
        }
    }
    println!("{}", rivals::table(&rows));
    Ok(())
}

/// Instances on which general solvers are tried: small, middle and large, both kinds of line.
const COMPARED: [&str; 8] = [
    "openbadge/head-swap/x1",
    "ulx3s/fixed-roles/x1",
    "ulx3s/head-swap/x1",
    "axxsolder/head-swap/x1",
    "beagle-ai64/fixed-roles/x1",
    "beagle-ai64/head-swap/x1",
    "limesdr-qpcie/head-swap/x1",
    "n2000-p112-x1-fixed8-r1",
];

fn whole(common: &Common, short: f64, solvers: Option<&str>, picture: Option<&Path>) -> Result<(), Trouble> {
    let full = Setting { seconds: common.seconds.or(Some(60.0)), ..common.setting() };
    let brief = Setting { seconds: Some(short), ..full.clone() };
    let suite = |name: &str| all().into_iter().filter(|i| i.suite == name).collect::<Vec<_>>();
    println!("## real boards, {} s\n", full.seconds.unwrap_or(60.0));
    run(&suite("real"), &[1], &full)?;
    println!("\n## generated, {short} s\n");
    run(&suite("generated"), &[1], &brief)?;
    println!("\n## growth\n");
    let grow = Setting { seconds: Some((short * 3.0).min(full.seconds.unwrap_or(60.0))), ..full.clone() };
    let found = growth::measure(12, &[1], &grow, picture)?;
    println!("\n{}", growth::table(&found));
    println!("\n## threads\n\n{}", threads::HEADING);
    let equal = Setting { work: Some(3_000_000), seconds: None, ..full.clone() };
    let some = ["ulx3s/fixed-roles/x1", "beagle-ai64/fixed-roles/x1", "beagle-ai64/head-swap/x1", "limesdr-qpcie/head-swap/x1"];
    let some = some.into_iter().map(Instance::named).collect::<Result<Vec<_>, _>>()?;
    threads::measure(&some, &equal)?;
    if let Some(solvers) = solvers {
        println!("\n## general solvers, {} s each\n", short * 2.0);
        let list = COMPARED.into_iter().map(Instance::named).collect::<Result<Vec<_>, _>>()?;
        compare(&list, &Setting { seconds: Some(short * 2.0), ..full.clone() }, solvers)?;
    }
    for name in ["demo", "panels", "lines"] {
        println!("\n## {name}, {short} s\n");
        run(&suite(name), &[1], &brief)?;
    }
    println!("\n## summary\n");
    print_summary(&full)
}
