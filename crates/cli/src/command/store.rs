//! `evenline store`: backup, restore, export; and what the commands of the room share.

use crate::args::room::{StoreArgs, StoreCommand};
use crate::{End, files, say};
use diag::{Finding, codes};
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;
use store::{Store, Trouble};

pub fn run(a: &StoreArgs) -> Result<End, End> {
    running()?.block_on(async {
        match &a.command {
            StoreCommand::Backup { place, output } => backup(&place.store, output).await,
            StoreCommand::Restore { place, backup } => restore(&place.store, backup).await,
            StoreCommand::Export { place, output } => export(&place.store, output).await,
        }
    })
}

/// What runs the store's waiting.
pub fn running() -> Result<tokio::runtime::Runtime, End> {
    let built = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    built.map_err(|e| say::refuse(&Finding::new(codes::plan::STORE, format!("no threads can be had: {e}")), End::File))
}

/// Tells a trouble of the store and ends the command.
pub fn refuse(place: &str, trouble: &Trouble) -> End {
    // The password of a URL is not told.
    let shown = match place.split_once("://").and_then(|(scheme, rest)| Some((scheme, rest.rsplit_once('@')?.1))) {
        Some((scheme, host)) => format!("{scheme}://…@{host}"),
        None => place.to_owned(),
    };
    say::refuse(&Finding::new(codes::plan::STORE, trouble.to_string()).value(shown), End::File)
}

/// Opens a store.
pub async fn open(place: &str) -> Result<Store, End> {
    Store::open(place).await.map_err(|e| refuse(place, &e))
}

/// Opens a store that must be there: nobody wants an empty backup of a mistyped path.
async fn open_kept(place: &str) -> Result<Store, End> {
    if !place.contains("://") && !Path::new(place).exists() {
        return Err(refuse(place, &Trouble::Refused("there is no such file".to_owned())));
    }
    open(place).await
}

fn trouble(path: &Path, e: &std::io::Error) -> End {
    say::refuse(&Finding::new(codes::plan::FILE, e.to_string()).at(path.display().to_string(), 0), End::File)
}

async fn backup(place: &str, output: &Path) -> Result<End, End> {
    let store = open_kept(place).await?;
    // Beside its place first: a backup that broke off never looks like one.
    let beside = output.with_extension("part");
    let file = File::create(&beside).map_err(|e| trouble(&beside, &e))?;
    let rows = store.backup(BufWriter::new(file)).await.map_err(|e| refuse(place, &e))?;
    store.close().await;
    let kept = File::open(&beside).and_then(|f| f.sync_all()).and_then(|()| std::fs::rename(&beside, output));
    kept.map_err(|e| trouble(output, &e))?;
    say::print(&format!("{rows} rows kept in {}\n", output.display()))
}

async fn restore(place: &str, backup: &Path) -> Result<End, End> {
    let file = File::open(backup).map_err(|e| trouble(backup, &e))?;
    let store = open(place).await?;
    let rows = store.restore(BufReader::new(file)).await.map_err(|e| refuse(place, &e))?;
    store.close().await;
    say::print(&format!("{rows} rows restored; everybody signs in again\n"))
}

async fn export(place: &str, output: &Path) -> Result<End, End> {
    let store = open_kept(place).await?;
    let mut told = None;
    let written = store.export(|path, bytes| {
        let path = output.join(path);
        let folder = path.parent().unwrap_or(output);
        files::folder(folder).and_then(|()| files::write(&path, bytes)).map_err(|end| {
            told = Some(end);
            Trouble::Refused(format!("{} could not be written", path.display()))
        })
    });
    let written = written.await;
    store.close().await;
    match (written, told) {
        (Ok(n), _) => say::print(&format!("{n} files written below {}\n", output.display())),
        (Err(_), Some(end)) => Err(end),
        (Err(e), None) => Err(refuse(place, &e)),
    }
}
