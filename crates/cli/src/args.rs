//! What can be said on the command line.

pub mod room;

use clap::{Args as Group, Parser, Subcommand, ValueEnum};
use domain::job::Turned;
use domain::product;
use room::{RoomArgs, ServeArgs, StoreArgs, WorkerArgs};
use std::path::PathBuf;
use units::Length;

/// Plans surface-mount placement lines of any make: who places what, from where, in which order,
/// how fast, and how far from the best possible.
///
/// Data goes to standard output, messages to standard error.
/// Exit codes: 0 done, 1 the answer is no, 2 usage, 3 wrong input, 4 file trouble.
#[derive(Parser, Debug)]
#[command(name = "evenline", version)]
pub struct Args {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Subcommand, Debug)]
pub enum Command {
    /// Read a designer's files and say what is in them and what is doubtful.
    Read(ReadFiles),
    /// Print the table of parts, to be filled in and given back with --parts.
    Parts(PartsArgs),
    /// Keep what is known of parts over all products, with its history, for --library.
    Library(LibraryArgs),
    /// Plan a product on a line.
    Plan(Box<PlanArgs>),
    /// Plan several products on one set-up, each with its own programs.
    Family(Box<FamilyArgs>),
    /// Time a saved plan anew.
    Time(PlanFile),
    /// Check a saved plan: every rule, every second, the bound.
    Verify(PlanFile),
    /// Say in plain words what holds a plan back, and what one more slot, nozzle, head or station is worth.
    Explain(ExplainArgs),
    /// Plan anew after a failure, with as few feeders moved as pays.
    Replan(Box<ReplanArgs>),
    /// Say how two plans differ: takt, times, parts, feeders to be moved, inputs.
    Diff(DiffArgs),
    /// Write the report of a plan: page, printed sheets, workbook, pictures.
    Report(ReportArgs),
    /// Open the planning room: pages in the browser, over a store of boards, parts, lines and plans.
    Serve(ServeArgs),
    /// Plan for a room on another machine; both share a PostgreSQL store.
    Worker(WorkerArgs),
    /// Keep, bring back or write out what a room's store holds.
    Store(StoreArgs),
    /// Talk to a planning room on a server: its documents and plans; the token is taken from EVENLINE_TOKEN.
    Room(RoomArgs),
    /// Print a JSON Schema (line, plan, product, locks, family, family-plan) or the index of errors.
    Schema(SchemaArgs),
    /// Print a completion script for a shell.
    Completion(CompletionArgs),
}

/// What to read.
#[derive(Group, Debug)]
pub struct Inputs {
    /// A folder of designer's files, single files, or one product document.
    #[arg(required = true)]
    pub inputs: Vec<PathBuf>,
    /// Mapping file that overrules what is decided from evidence.
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Parts library, as `evenline library` keeps it.
    #[arg(long, value_name = "FILE")]
    pub library: Option<PathBuf>,
    /// Parts table, as `evenline parts` prints it; text or a spreadsheet.
    #[arg(long, value_name = "FILE")]
    pub parts: Option<PathBuf>,
    /// Name of the product.
    #[arg(long)]
    pub name: Option<String>,
}

#[derive(Group, Debug)]
pub struct ReadArgs {
    #[command(flatten)]
    pub inputs: Inputs,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
    /// Write to this file (`read`: the product document; `parts`: the table, a workbook if it ends in .xlsx).
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Group, Debug)]
pub struct ReadFiles {
    #[command(flatten)]
    pub read: ReadArgs,
    /// Draw both sides into this folder (top.svg, bottom.svg), what warnings name marked.
    #[arg(long, value_name = "FOLDER")]
    pub pictures: Option<PathBuf>,
    /// Keep what was concluded about the form of the files as a mapping file that holds for all boards with such files.
    #[arg(long, value_name = "FILE")]
    pub remember: Option<PathBuf>,
    /// Say how it differs from this older revision (a folder, a file or a product document).
    #[arg(long, value_name = "OLD")]
    pub against: Option<PathBuf>,
}

#[derive(Group, Debug)]
pub struct PartsArgs {
    #[command(flatten)]
    pub read: ReadArgs,
    /// Instead of the table, name the parts whose guesses a plan depends on most: what to measure first.
    #[arg(long, value_name = "N", num_args = 0..=1, require_equals = true, default_missing_value = "10")]
    pub check: Option<usize>,
}

#[derive(Group, Debug)]
pub struct LibraryArgs {
    #[command(subcommand)]
    pub command: LibraryCommand,
}

#[derive(Subcommand, Debug)]
pub enum LibraryCommand {
    /// Add what designer's files and a parts table state of a product's parts.
    Add {
        /// The library; begun if there is no such file.
        #[arg(value_name = "LIBRARY")]
        at: PathBuf,
        #[command(flatten)]
        read: Inputs,
        #[command(flatten)]
        change: LibraryChange,
    },
    /// Add the rows of a table (text or a workbook) in the form of the parts table.
    Import {
        /// The library; begun if there is no such file.
        #[arg(value_name = "LIBRARY")]
        at: PathBuf,
        /// The table.
        table: PathBuf,
        #[command(flatten)]
        change: LibraryChange,
    },
    /// Print the library as a table, or write it.
    Export {
        /// The library.
        #[arg(value_name = "LIBRARY")]
        at: PathBuf,
        /// As it was at this version.
        #[arg(long = "at", value_name = "VERSION")]
        version: Option<u32>,
        /// Write to this file; a workbook if it ends in .xlsx.
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Say what was changed when, by whom and from what.
    History {
        /// The library.
        #[arg(value_name = "LIBRARY")]
        at: PathBuf,
        /// Only of this part number.
        part: Option<String>,
        /// Print the result as JSON.
        #[arg(long)]
        json: bool,
    },
}

/// Who changes the library, and why.
#[derive(Group, Debug)]
pub struct LibraryChange {
    /// Who makes the change.
    #[arg(long, value_name = "NAME")]
    pub by: String,
    /// Why.
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// The day, as YYYY-MM-DD; today (UTC) if not given.
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub on: Option<String>,
}

fn day(text: &str) -> Result<String, String> {
    text.parse::<jiff::civil::Date>().map(|d| d.to_string()).map_err(|e| e.to_string())
}

#[derive(Group, Debug)]
pub struct PlanArgs {
    #[command(flatten)]
    pub inputs: Inputs,
    /// Line sheet.
    #[arg(long, value_name = "SHEET")]
    pub line: PathBuf,
    /// Side to be placed; the fuller one if not given.
    #[arg(long)]
    pub side: Option<SideArg>,
    #[command(flatten)]
    pub panel: PanelArgs,
    /// File of order rules and locks.
    #[arg(long, value_name = "FILE")]
    pub locks: Option<PathBuf>,
    /// Begin with this plan; the result is no worse than what of it still holds.
    #[arg(long, value_name = "PLAN")]
    pub from: Option<PathBuf>,
    /// Leave the set-up of this station (--keep-setup=NAME; without a name: of every station) as it stands in the plan of --from.
    #[arg(long, value_name = "STATION", num_args = 0..=1, require_equals = true, default_missing_value = "*", requires = "from")]
    pub keep_setup: Vec<String>,
    /// How many feeders or trays may be added at each of these stations all the same.
    #[arg(long, value_name = "N", default_value_t = 0, requires = "keep_setup")]
    pub add: u32,
    /// Leave the feeders or trays of this part where they stand in the plan of --from.
    #[arg(long, value_name = "PART", requires = "from")]
    pub keep: Vec<String>,
    #[command(flatten)]
    pub limits: LimitArgs,
    /// The planner's search, or the hand method as a baseline.
    #[arg(long, default_value = "search")]
    pub method: MethodArg,
    /// Write the plan to this file.
    #[arg(short, long, value_name = "PLAN")]
    pub output: Option<PathBuf>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// How boards are repeated.
#[derive(Group, Debug)]
pub struct PanelArgs {
    /// Boards in the panel, columns x rows, such as 2x3.
    #[arg(long, value_name = "CxR", value_parser = pair::<u32>)]
    pub panel: Option<(u32, u32)>,
    /// From board to board along X and Y, such as 60mmx45mm.
    #[arg(long, value_name = "XxY", value_parser = pair::<Length>)]
    pub pitch: Option<(Length, Length)>,
    /// Rails around the boards: left and right x below and above, such as 0mmx7mm.
    #[arg(long, value_name = "XxY", value_parser = pair::<Length>)]
    pub rails: Option<(Length, Length)>,
    /// Boards that lie turned by 180 degrees: every other column, row or both.
    #[arg(long, value_name = "WHICH", value_parser = turned)]
    pub turned: Option<Turned>,
    /// Marks of the panel itself, this far from its lower left, lower right and upper right corner, such as 5mmx3.5mm.
    #[arg(long, value_name = "XxY", value_parser = pair::<Length>)]
    pub panel_marks: Option<(Length, Length)>,
    /// The spot of every board that is looked at to see whether it is bad, in the board's frame as placed, such as 2mmx3mm.
    #[arg(long, value_name = "XxY", value_parser = pair::<Length>)]
    pub bad_mark: Option<(Length, Length)>,
}

fn turned(text: &str) -> Result<Turned, String> {
    Turned::from_word(text)
        .ok_or_else(|| format!("`{text}` is none of {}", Turned::ALL.iter().map(|t| t.word()).collect::<Vec<_>>().join(", ")))
}

/// When to stop, and how to run.
#[derive(Group, Debug)]
pub struct LimitArgs {
    /// Stop after this many seconds [default: 20, unless --work is given].
    #[arg(long, value_parser = positive)]
    pub seconds: Option<f64>,
    /// Stop after this many moves: repeatable on any machine.
    #[arg(long)]
    pub work: Option<u64>,
    /// Seed of the search.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Threads [default: all]; the plan for a given --work does not depend on it.
    #[arg(long)]
    pub threads: Option<usize>,
}

/// Seconds planned when neither seconds nor work are given.
const DEFAULT_SECONDS: f64 = 20.0;

impl LimitArgs {
    /// As the planner wants them.
    pub fn limits(&self) -> app::plan::Limits {
        app::plan::Limits {
            seconds: self.seconds.or(self.work.is_none().then_some(DEFAULT_SECONDS)),
            work: self.work,
            seed: self.seed,
            threads: self.threads.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from)).max(1),
        }
    }
}

#[derive(Group, Debug)]
pub struct ReplanArgs {
    /// The plan the line ran by.
    pub plan: PathBuf,
    /// What is out of order: station:NAME, head:STATION/HEAD, bank:STATION/BANK, slot:STATION/BANK/12-14,
    /// tray:STATION/PLACE, nozzle:KIND or feeder:KIND (with =N for only N of them). May be given several times.
    #[arg(long, value_name = "WHAT")]
    pub down: Vec<domain::rules::Down>,
    /// What was down in the plan and works again, written alike.
    #[arg(long, value_name = "WHAT")]
    pub up: Vec<domain::rules::Down>,
    /// What moving one feeder or tray may cost in takt, such as 200ms; 0s moves whatever helps.
    #[arg(long, value_name = "TIME", default_value = "100ms")]
    pub move_price: units::Time,
    #[command(flatten)]
    pub limits: LimitArgs,
    /// Write the plan to this file.
    #[arg(short, long, value_name = "PLAN")]
    pub output: Option<PathBuf>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Group, Debug)]
pub struct FamilyArgs {
    /// Family file: products, demand, panels; docs/families.md describes it.
    pub family: PathBuf,
    /// Line sheet.
    #[arg(long, value_name = "SHEET")]
    pub line: PathBuf,
    /// Stop after this many seconds [default: 60, unless --work is given].
    #[arg(long, value_parser = positive)]
    pub seconds: Option<f64>,
    /// Stop after this many moves on all products together: repeatable on any machine.
    #[arg(long)]
    pub work: Option<u64>,
    /// Seed of the search.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Threads [default: all]; the plan for a given --work does not depend on it.
    #[arg(long)]
    pub threads: Option<usize>,
    /// Write the family plan to this file.
    #[arg(short, long, value_name = "PLAN")]
    pub output: Option<PathBuf>,
    /// Write each product's plan to this folder too, as a plan of its own.
    #[arg(long, value_name = "FOLDER")]
    pub plans: Option<PathBuf>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Group, Debug)]
pub struct PlanFile {
    /// A plan or family plan, as `evenline plan -o` and `evenline family -o` write them.
    pub plan: PathBuf,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Group, Debug)]
pub struct ExplainArgs {
    /// A plan, as `evenline plan -o` writes it.
    pub plan: PathBuf,
    /// Plan anew with each change that may be worth something, and without it, with equal effort.
    #[arg(long)]
    pub worth: bool,
    /// Seconds for all of it together [default: 60, unless --work is given].
    #[arg(long, value_parser = positive, requires = "worth")]
    pub seconds: Option<f64>,
    /// Moves for each planning instead: repeatable on any machine.
    #[arg(long, requires = "worth")]
    pub work: Option<u64>,
    /// Seed of the search.
    #[arg(long, default_value_t = 1, requires = "worth")]
    pub seed: u64,
    /// Threads [default: all].
    #[arg(long, requires = "worth")]
    pub threads: Option<usize>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Group, Debug)]
pub struct DiffArgs {
    /// The plan before.
    #[arg(value_name = "PLAN")]
    pub from: PathBuf,
    /// The plan after.
    #[arg(value_name = "OTHER")]
    pub to: PathBuf,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Group, Debug)]
pub struct ReportArgs {
    /// A plan or family plan, as `evenline plan -o` and `evenline family -o` write them.
    pub plan: PathBuf,
    /// Folder for report.html, report.pdf, report.xlsx and the pictures; for a family family.html and so on, and a
    /// folder for each product.
    #[arg(short, long, value_name = "FOLDER")]
    pub output: PathBuf,
}

#[derive(Group, Debug)]
pub struct SchemaArgs {
    /// Of what.
    #[arg(value_parser = app::documents::SCHEMAS)]
    pub name: String,
}

#[derive(Group, Debug)]
pub struct CompletionArgs {
    /// For which shell.
    pub shell: clap_complete::Shell,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum SideArg {
    Top,
    Bottom,
}

impl From<SideArg> for product::Side {
    fn from(side: SideArg) -> Self {
        match side {
            SideArg::Top => Self::Top,
            SideArg::Bottom => Self::Bottom,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum MethodArg {
    Search,
    Hand,
}

impl From<MethodArg> for domain::plan::Method {
    fn from(method: MethodArg) -> Self {
        match method {
            MethodArg::Search => Self::Search,
            MethodArg::Hand => Self::Hand,
        }
    }
}

/// Two values with an `x` between them.
fn pair<T: std::str::FromStr<Err: std::fmt::Display>>(text: &str) -> Result<(T, T), String> {
    let (a, b) = text.split_once('x').ok_or_else(|| format!("`{text}` has no `x` between two values"))?;
    let one = |t: &str| t.trim().parse::<T>().map_err(|e| e.to_string());
    Ok((one(a)?, one(b)?))
}

fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(s) if s > 0.0 && s <= 1e6 => Ok(s),
        _ => Err(format!("`{text}` is not a number of seconds above 0")),
    }
}
