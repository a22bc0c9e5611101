//! Arguments of the planning room: serving it, working for it, keeping it, asking it.

use super::{PanelArgs, SideArg};
use clap::{Args as Group, Subcommand, ValueEnum};
use std::net::SocketAddr;
use std::path::PathBuf;

/// Which store.
#[derive(Group, Debug)]
pub struct StorePlace {
    /// Where things are kept: the path of a file (SQLite, made if there is none), or `postgres://USER@HOST/DATABASE`.
    #[arg(long, value_name = "PLACE", default_value = "evenline.db", env = "EVENLINE_STORE")]
    pub store: String,
}

#[derive(Group, Debug)]
pub struct ServeArgs {
    #[command(flatten)]
    pub place: StorePlace,
    /// Address and port to listen at. Anything but loopback shows the room to the network: put a proxy with HTTPS before it.
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8470")]
    pub listen: SocketAddr,
    /// Browsers reach the room by HTTPS only, through a proxy that adds whom it speaks for to `X-Forwarded-For`.
    #[arg(long)]
    pub https: bool,
    /// Plans made at once in this process; 0 leaves them to `evenline worker`.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub planners: usize,
    /// Threads of one plan; all cores if not given.
    #[arg(long, value_name = "N")]
    pub threads: Option<usize>,
    /// Read these folders and files into a store that is still empty: folders of designer's files become boards, `.toml` line
    /// sheets become lines, a parts table beside a folder of the same name (`NAME.csv`) is used for it.
    #[arg(long, value_name = "PATH", num_args = 1..)]
    pub fill: Vec<PathBuf>,
}

#[derive(Group, Debug)]
pub struct WorkerArgs {
    /// The store that the room uses.
    #[arg(long, value_name = "postgres://…", env = "EVENLINE_STORE")]
    pub store: String,
    /// Plans made at once.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub planners: usize,
    /// Threads of one plan; all cores if not given.
    #[arg(long, value_name = "N")]
    pub threads: Option<usize>,
}

#[derive(Group, Debug)]
pub struct StoreArgs {
    #[command(subcommand)]
    pub command: StoreCommand,
}

#[derive(Subcommand, Debug)]
pub enum StoreCommand {
    /// Write everything of one moment into one file, while the room goes on working.
    Backup {
        #[command(flatten)]
        place: StorePlace,
        /// The file to write; a ZIP archive.
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
    },
    /// Bring a backup into a store in which nothing is kept yet, of either kind of database.
    Restore {
        #[command(flatten)]
        place: StorePlace,
        /// The backup.
        backup: PathBuf,
    },
    /// Write the latest version of every document as a file that the command line reads.
    Export {
        #[command(flatten)]
        place: StorePlace,
        /// The folder to write into.
        #[arg(short, long, value_name = "FOLDER")]
        output: PathBuf,
    },
}

#[derive(Group, Debug)]
pub struct RoomArgs {
    /// Address of the server.
    #[arg(long, global = true, value_name = "URL", default_value = "http://127.0.0.1:8470", env = "EVENLINE_SERVER")]
    pub server: String,
    /// Print answers as JSON.
    #[arg(long, global = true)]
    pub json: bool,
    #[command(subcommand)]
    pub command: RoomCommand,
}

/// Kinds of documents that a room keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum KindArg {
    /// Product documents.
    Product,
    /// Archives of designers' files.
    Files,
    /// The parts library; there is one, `parts`.
    Library,
    /// Line sheets.
    Line,
    /// Order rules and locks.
    Locks,
    /// Plans.
    Plan,
}

#[derive(Subcommand, Debug)]
pub enum RoomCommand {
    /// Say who the token speaks for.
    Me,
    /// List documents of a kind.
    List {
        /// Which kind.
        kind: KindArg,
    },
    /// List the versions of a document.
    Versions {
        /// Which kind.
        kind: KindArg,
        /// Its name.
        name: String,
    },
    /// Print a document, or write it to a file that all other commands read.
    Get {
        /// Which kind.
        kind: KindArg,
        /// Its name.
        name: String,
        /// The version; the latest if not given.
        #[arg(long, value_name = "N")]
        version: Option<i64>,
        /// Write to this file.
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Keep a file as a new document, or as the next version of the one it was made from.
    Put {
        /// Which kind.
        kind: KindArg,
        /// The file.
        file: PathBuf,
        /// Its name in the room; that of the file without its ending if not given.
        #[arg(long)]
        name: Option<String>,
        /// The version that it was made from; not given for a new document.
        #[arg(long, value_name = "N")]
        base: Option<i64>,
        /// What is new.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Say that a document is gone; its versions stay.
    Remove {
        /// Which kind.
        kind: KindArg,
        /// Its name.
        name: String,
        /// The version that was seen.
        #[arg(long, value_name = "N")]
        base: i64,
    },
    /// Send a designer's files to be read and kept as a board.
    Read {
        #[command(flatten)]
        inputs: SentInputs,
        /// The version that this is a revision of; not given for a new board.
        #[arg(long, value_name = "N", requires = "name")]
        base: Option<i64>,
        /// What is new.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Order a plan of what the room keeps, and watch it until it is there.
    Plan(RoomPlanArgs),
    /// List the newest jobs.
    Jobs,
    /// Watch a job until it ends.
    Watch {
        /// Its identity.
        job: String,
    },
    /// Ask a job to stop; a plan in the making ends with the best so far.
    Stop {
        /// Its identity.
        job: String,
    },
    /// Have the room's checker compute a plan anew.
    Verify {
        /// Name of the plan.
        plan: String,
        /// The version; the latest if not given.
        #[arg(long, value_name = "N")]
        version: Option<i64>,
    },
}

/// What to send.
#[derive(Group, Debug)]
pub struct SentInputs {
    /// Folders of designer's files, or single files.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Mapping file that overrules what is decided from evidence.
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Parts table, text or a spreadsheet.
    #[arg(long, value_name = "FILE")]
    pub parts: Option<PathBuf>,
    /// Name of the board; that of its folder or files if not given.
    #[arg(long)]
    pub name: Option<String>,
}

/// The order of a plan.
#[derive(Group, Debug)]
pub struct RoomPlanArgs {
    /// Name of the board.
    pub product: String,
    /// Name of the line.
    #[arg(long)]
    pub line: String,
    /// Name of the order rules and locks.
    #[arg(long)]
    pub locks: Option<String>,
    /// Name of the plan to be made; PRODUCT on LINE if not given.
    #[arg(long)]
    pub name: Option<String>,
    /// Name of a plan to begin with.
    #[arg(long, value_name = "PLAN")]
    pub from: Option<String>,
    /// Everything of the set-up of --from stays where it stands.
    #[arg(long, requires = "from")]
    pub keep_setup: bool,
    /// The side; the fuller one if not given.
    #[arg(long)]
    pub side: Option<SideArg>,
    #[command(flatten)]
    pub panel: PanelArgs,
    /// Time for planning [s].
    #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u32).range(1..=3600))]
    pub seconds: u32,
    /// Seed of the search.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Write the plan to this file when it is there.
    #[arg(short, long, value_name = "FILE", conflicts_with = "no_wait")]
    pub output: Option<PathBuf>,
    /// Only order it, and print the identity of the job.
    #[arg(long)]
    pub no_wait: bool,
}
