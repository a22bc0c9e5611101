//! `evenline serve` and `evenline worker`.

use super::store::{open, refuse, running};
use crate::args::room::{ServeArgs, WorkerArgs};
use crate::{End, files, say};
use app::read::NamedBytes;
use diag::{Finding, codes};
use std::path::Path;
use web::fill::{Board, Fill};

/// Opens a room and serves it until it is told to end.
pub fn serve(a: &ServeArgs) -> Result<End, End> {
    let fill = fill(a)?;
    let config = web::Config {
        listen: a.listen,
        store: a.place.store.clone(),
        planners: a.planners,
        threads: a.threads.unwrap_or_else(|| web::Config::default().threads),
        https: a.https,
    };
    log();
    running()?.block_on(async {
        let room = web::open(config).await.map_err(|e| refuse(&a.place.store, &e))?;
        say::findings(&web::fill::fill(&room, fill).await.map_err(|e| say::refuse(&told(&e), End::Input))?, true);
        let started = web::start(room).await.map_err(|e| say::refuse(&Finding::new(codes::plan::ADDRESS, e.to_string()), End::Usage))?;
        let base = format!("http://{}", started.address);
        say::print(&format!("the planning room is open at {base}\n"))?;
        if let Some(link) = &started.first_link {
            say::print(&format!(
                "nobody is known yet; become its administrator by this link, which works once and for a day:\n  {base}{link}\n"
            ))?;
        }
        if !a.listen.ip().is_loopback() {
            eprintln!("warning: the room is shown to the network and speaks HTTP; put a proxy with HTTPS before it and give --https");
        }
        until_told().await?;
        eprintln!("closing: plans in the making are kept as they are and go on when the room opens again");
        started.stop().await.map_err(|e| say::refuse(&Finding::new(codes::plan::ADDRESS, e.to_string()), End::File))?;
        Ok(End::Done)
    })
}

/// Plans for a room elsewhere until it is told to end.
pub fn worker(a: &WorkerArgs) -> Result<End, End> {
    log();
    running()?.block_on(async {
        let store = open(&a.store).await?;
        if !store.is_shared() {
            let text = "a worker of its own needs a PostgreSQL store; with a file the server plans by itself";
            return Err(say::refuse(&Finding::new(codes::plan::STORE, text).value(&a.store), End::Usage));
        }
        let threads = a.threads.unwrap_or_else(|| web::Config::default().threads);
        let config = web::Config { store: a.store.clone(), planners: a.planners, threads, ..web::Config::default() };
        let workers = web::work_for(&web::room::Room::new(store, config)).await.map_err(|e| refuse(&a.store, &e))?;
        eprintln!("working for the room; end with Ctrl-C");
        until_told().await?;
        eprintln!("ending: plans in the making go on at another worker");
        workers.stop().await;
        Ok(End::Done)
    })
}

/// Lines of the log go to standard error.
fn log() {
    let level = tracing_subscriber::fmt().with_max_level(tracing::Level::WARN).with_target(false).with_writer(std::io::stderr);
    // Another log was set up before only if this is called twice; the first one then stays.
    let _ = level.try_init();
}

fn told(refusal: &web::trouble::Refusal) -> Finding {
    Finding::new(codes::plan::STORE, refusal.sentence())
}

/// Waits for Ctrl-C or the system's wish to end.
async fn until_told() -> Result<(), End> {
    let unheard = |e: std::io::Error| say::refuse(&Finding::new(codes::plan::ADDRESS, format!("signals cannot be heard: {e}")), End::File);
    #[cfg(unix)]
    {
        let mut end = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()).map_err(unheard)?;
        tokio::select! {
            heard = tokio::signal::ctrl_c() => heard.map_err(unheard)?,
            _ = end.recv() => {}
        }
        Ok(())
    }
    #[cfg(not(unix))]
    tokio::signal::ctrl_c().await.map_err(unheard)
}

/// Folders of designer's files with the parts table beside each, and line sheets.
fn fill(a: &ServeArgs) -> Result<Fill, End> {
    let mut fill = Fill::default();
    let mut tables: Vec<NamedBytes> = Vec::new();
    for path in &a.fill {
        for path in spread(path)? {
            let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
            if path.is_dir() {
                let inside = files::inside(&path)?;
                let inside = inside.iter().map(|p| files::named(p)).collect::<Result<Vec<_>, _>>()?;
                fill.boards.push(Board { name: files::name(&path), files: inside, parts: None });
            } else if ending.as_deref() == Some("toml") {
                fill.lines.push((files::stem(&path), files::text(&path)?));
            } else {
                tables.push(files::named(&path)?);
            }
        }
    }
    for table in tables {
        let stem = table.name.rsplit_once('.').map_or(table.name.as_str(), |(s, _)| s).to_owned();
        match fill.boards.iter_mut().find(|b| b.name == stem) {
            Some(board) => board.parts = Some(table),
            None => {
                let text = "is neither a folder of designer's files nor a line sheet, and no folder of this name is among the others";
                return Err(say::refuse(&Finding::new(codes::plan::USAGE, text).value(table.name), End::Usage));
            }
        }
    }
    Ok(fill)
}

/// A folder of folders or sheets stands for what is in it.
fn spread(path: &Path) -> Result<Vec<std::path::PathBuf>, End> {
    if !path.is_dir() {
        return Ok(vec![path.to_owned()]);
    }
    let inside = files::entries(path)?;
    let holds_sets = inside.iter().any(|p| p.is_dir() || p.extension().is_some_and(|e| e == "toml"));
    Ok(if holds_sets {
        inside.into_iter().filter(|p| !p.is_file() || p.extension().is_none_or(|e| e != "json")).collect()
    } else {
        vec![path.to_owned()]
    })
}
