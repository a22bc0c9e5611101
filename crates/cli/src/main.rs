//! The command line: data on standard output, messages on standard error.
//!
//! Exit codes: 0 done; 1 done, and the answer is no (a plan refused, no plan possible, parts left
//! out that no station can take); 2 the command is not understood; 3 an input is wrong; 4 a file
//! could not be read or written.

mod args;
mod command;
mod files;
mod remote;
mod say;
mod watch;

use clap::Parser;
use std::process::ExitCode;

/// How a command ended.
pub(crate) enum End {
    /// Done.
    Done,
    /// Done, and the answer is no.
    No,
    /// An argument makes no sense.
    Usage,
    /// An input is wrong.
    Input,
    /// A file could not be read or written.
    File,
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        Self::from(match end {
            End::Done => 0,
            End::No => 1,
            End::Usage => 2,
            End::Input => 3,
            End::File => 4,
        })
    }
}

fn main() -> ExitCode {
    let end = match args::Args::parse().command {
        args::Command::Read(a) => command::read::run(&a),
        args::Command::Library(a) => command::library::run(&a),
        args::Command::Parts(a) => command::parts::run(&a),
        args::Command::Plan(a) => command::plan::run(&a),
        args::Command::Family(a) => command::family::run(&a),
        args::Command::Time(a) => command::time::run(&a),
        args::Command::Verify(a) => command::verify::run(&a),
        args::Command::Explain(a) => command::explain::run(&a),
        args::Command::Diff(a) => command::diff::run(&a),
        args::Command::Replan(a) => command::replan::run(&a),
        args::Command::Report(a) => command::report::run(&a),
        args::Command::Serve(a) => command::serve::serve(&a),
        args::Command::Worker(a) => command::serve::worker(&a),
        args::Command::Store(a) => command::store::run(&a),
        args::Command::Room(a) => command::room::run(&a),
        args::Command::Schema(a) => command::schema::run(&a),
        args::Command::Completion(a) => command::completion::run(&a),
    };
    end.unwrap_or_else(|e| e).into()
}
