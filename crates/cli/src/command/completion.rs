//! `evenline completion`.

use crate::End;
use crate::args::{Args, CompletionArgs};
use clap::CommandFactory;

pub fn run(a: &CompletionArgs) -> Result<End, End> {
    let mut script = Vec::new();
    clap_complete::generate(a.shell, &mut Args::command(), "evenline", &mut script);
    crate::say::print(&String::from_utf8_lossy(&script))
}
