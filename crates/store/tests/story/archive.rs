//! Backup, restore, export.

use crate::place::{Place, sheet};
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use store::document::{Draft, Kind};
use store::people::Role;
use store::{Store, Trouble, now};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

/// A room in use: every table has rows.
async fn fill(store: &Store) {
    let secret = store.invite(Role::Administrator, now() + 3_600_000_000, "first start").await.expect("a link");
    let ada = store.accept(&secret, "Ada", "slow hash").await.expect("it lets in");
    store.make_token(&ada, "the stock system", Role::Viewer, now() + 3_600_000_000).await.expect("a token");
    for n in 0..150 {
        let body: Vec<u8> = (0..n * 7).map(|i| (i * n) as u8).collect();
        store.save(sheet(&format!("line {n}"), &body, "Fluß „7“\n"), None, "Ada").await.expect("a new name");
    }
    store.save(sheet("line 3", b"more", ""), Some(1), "Ada").await.expect("the latest");
    store.remove(Kind::Line, "line 4", 1, "Ada").await.expect("the latest");
    store.save(Draft { kind: Kind::Plan, ..sheet("river", b"{}", "") }, None, "Ada").await.expect("a new name");
    let job = store.add_job("plan", "Plan river", "{}", "Ada").await.expect("a job");
    let begun = store.begin_job(&job.id, "worker").await.expect("an answer").expect("it waits");
    store.tell_job(&begun, "half", Some(b"so far")).await.expect("its own");
    store.add_job("plan", "Plan brook", "{}", "Ada").await.expect("a job");
}

async fn backup(store: &Store) -> Vec<u8> {
    let mut archive = Cursor::new(Vec::new());
    let rows = store.backup(&mut archive).await.expect("a backup");
    assert!(rows > 300, "{rows}");
    archive.into_inner()
}

async fn export(store: &Store) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    let write = |path: &str, body: &[u8]| {
        assert!(files.insert(path.to_owned(), body.to_vec()).is_none(), "{path} twice");
        Ok(())
    };
    let n = store.export(write).await.expect("an export");
    assert_eq!(n, files.len());
    files
}

/// All entries of an archive.
fn entries(archive: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut archive = ZipArchive::new(Cursor::new(archive)).expect("an archive");
    let names: Vec<String> = archive.file_names().map(|n| n.expect("a name").into_owned()).collect();
    let mut read = |name: String| {
        let mut body = Vec::new();
        archive.by_name(&name).expect("listed").read_to_end(&mut body).expect("sound");
        (name, body)
    };
    names.into_iter().map(&mut read).collect()
}

fn pack(entries: &BTreeMap<String, Vec<u8>>) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, body) in entries {
        archive.start_file(name, SimpleFileOptions::default()).expect("in memory");
        archive.write_all(body).expect("in memory");
    }
    archive.finish().expect("in memory").into_inner()
}

#[tokio::test]
async fn a_backup_moves_to_the_other_database_and_back() {
    let places = Place::all();
    for from in &places {
        let first = from.store().await;
        fill(&first).await;
        let archive = backup(&first).await;
        let rows = |all: &[u8]| entries(all).into_iter().filter(|(name, _)| name != "backup.json").collect::<BTreeMap<_, _>>();
        for to in &places {
            let second = to.store().await;
            second.restore(Cursor::new(&archive)).await.expect("an empty store");
            assert!(rows(&backup(&second).await) == rows(&archive), "every row of every table is the same");
            let files = export(&second).await;
            assert!(files == export(&first).await, "and so are the files");
            assert_eq!(files["line/line 3.toml"], b"more");
            assert!(!files.contains_key("line/line 4.toml") && files.contains_key("plan/river.json"));
            assert_eq!(second.read(Kind::Line, "line 4", Some(1)).await.expect("old versions too").1.len(), 28);
            // It goes on being used: the next version follows, jobs are there for workers, a name stays taken.
            assert_eq!(second.save(sheet("line 3", b"next", ""), Some(2), "Ben").await.expect("the latest").version, 3);
            assert_eq!(second.open_jobs().await.expect("a list").len(), 1);
            assert!(matches!(second.restore(Cursor::new(&archive)).await, Err(Trouble::Refused(_))), "it is in use");
            assert_eq!(second.versions(Kind::Line, "line 3").await.expect("a list").len(), 3, "and was not touched");
            second.close().await;
        }
        first.close().await;
    }
}

#[tokio::test]
async fn a_backup_is_of_one_moment() {
    for place in Place::all() {
        let store = place.store().await;
        fill(&store).await;
        let writer = {
            let store = store.clone();
            tokio::spawn(async move {
                for n in 0..60 {
                    store.save(sheet(&format!("meanwhile {n}"), b"x", ""), None, "Ben").await.expect("a new name");
                }
            })
        };
        let mut taken = Vec::new();
        while !writer.is_finished() {
            taken.push(backup(&store).await);
        }
        writer.await.expect("the writer ends well");
        for archive in taken {
            let entries = entries(&archive);
            let count = |name: &str, has: &str| String::from_utf8_lossy(&entries[name]).lines().filter(|l| l.contains(has)).count();
            let documents = count("document.jsonl", "meanwhile");
            assert_eq!(count("version.jsonl", "\"author\":\"Ben\""), documents);
            assert_eq!(count("audit.jsonl", "meanwhile"), documents);
        }
        store.close().await;
    }
}

#[tokio::test]
async fn a_damaged_backup_leaves_the_store_empty() {
    for place in Place::all() {
        let first = place.store().await;
        fill(&first).await;
        let sound = backup(&first).await;
        let with = |name: &str, change: &dyn Fn(&mut Vec<u8>)| {
            let mut entries = entries(&sound);
            change(entries.get_mut(name).expect("an entry"));
            pack(&entries)
        };
        let without = |name: &str| {
            let mut entries = entries(&sound);
            entries.remove(name);
            pack(&entries)
        };
        let flipped = {
            let mut bytes = sound.clone();
            let middle = bytes.len() / 2;
            bytes[middle] ^= 0x55;
            bytes
        };
        let damaged = [
            ("cut off", sound[..sound.len() / 2].to_vec()),
            ("no archive", b"PK but no more".to_vec()),
            ("empty", Vec::new()),
            ("a bit turned", flipped),
            ("no head", without("backup.json")),
            ("no log", without("audit.jsonl")),
            ("another format", with("backup.json", &|b| *b = b"{\"format\":\"evenline-backup/99\"}".to_vec())),
            ("half a line at the end", with("audit.jsonl", &|b| b.truncate(b.len() - 9))),
            (
                "a number as text",
                with("audit.jsonl", &|b| {
                    b.extend(b"{\"at\":\"now\",\"id\":\"x\",\"who\":\"\",\"action\":\"\",\"subject\":\"\",\"detail\":\"\"}\n")
                }),
            ),
            ("a field missing", with("job.jsonl", &|b| b.extend(b"{\"id\":\"x\"}\n"))),
            ("a row twice", with("person.jsonl", &|b| b.extend(b.clone()))),
            (
                "a body that is no hexadecimal",
                with("version.jsonl", &|b| *b = String::from_utf8_lossy(b).replacen("\"body\":\"78", "\"body\":\"xy", 1).into()),
            ),
        ];
        for (what, archive) in damaged {
            let second = place.store().await;
            let refused = second.restore(Cursor::new(&archive)).await;
            assert!(matches!(refused, Err(Trouble::Refused(_))), "{what}: {refused:?}");
            assert!(second.is_new().await.expect("an answer"), "{what}");
            assert!(export(&second).await.is_empty() && second.jobs(9).await.expect("a list").is_empty(), "{what}");
            assert!(second.audit(i64::MAX, 9).await.expect("the log").is_empty(), "{what}");
            second.restore(Cursor::new(&sound)).await.unwrap_or_else(|e| panic!("{what}: the sound one still comes in: {e}"));
            second.close().await;
        }
        first.close().await;
    }
}
