//! Documents: versions, conflicts, names, many at once.

use crate::place::{both, sheet};
use std::sync::Arc;
use store::document::{Draft, Kind};
use store::{Store, Trouble};
use tokio::sync::Barrier;

#[tokio::test]
async fn versions_are_added_and_stay() {
    both(async |store| {
        let first = store.save(sheet("river", b"one", "new"), None, "Ada").await.expect("a new name");
        assert_eq!((first.version, first.author.as_str(), first.removed), (1, "Ada", false));
        let second = store.save(sheet("river", b"two", "faster"), Some(1), "Ben").await.expect("based on the latest");
        assert_eq!((second.version, &second.id), (2, &first.id));
        let (head, body) = store.read(Kind::Line, "river", None).await.expect("the latest");
        assert_eq!((head.version, body.as_slice(), head.note.as_str()), (2, &b"two"[..], "faster"));
        let (head, body) = store.read(Kind::Line, "river", Some(1)).await.expect("the old one stays");
        assert_eq!((head.version, body.as_slice(), head.author.as_str()), (1, &b"one"[..], "Ada"));
        let numbers: Vec<i64> = store.versions(Kind::Line, "river").await.expect("a list").iter().map(|h| h.version).collect();
        assert_eq!(numbers, [2, 1]);
        assert_eq!(store.head_of(&first.id).await.expect("by identity").version, 2);
        // Names belong to a kind.
        let plan = Draft { kind: Kind::Plan, ..sheet("river", b"{}", "") };
        assert_eq!(store.save(plan, None, "Ada").await.expect("another kind").version, 1);
        assert_eq!(store.list(Kind::Line).await.expect("a list").len(), 1);
        for (name, version) in [("river", Some(3)), ("river", Some(0)), ("brook", None)] {
            assert!(matches!(store.read(Kind::Line, name, version).await, Err(Trouble::Missing)));
        }
    })
    .await;
}

#[tokio::test]
async fn whoever_comes_second_is_told_and_nothing_is_lost() {
    both(async |store| {
        store.save(sheet("river", b"one", ""), None, "Ada").await.expect("a new name");
        store.save(sheet("river", b"two", ""), Some(1), "Ben").await.expect("the first to come");
        match store.save(sheet("river", b"mine", ""), Some(1), "Cleo").await {
            Err(Trouble::Conflict { latest: 2, author, at }) => assert!(author == "Ben" && at > 0),
            other => panic!("{other:?}"),
        }
        assert!(matches!(store.save(sheet("river", b"x", ""), None, "Cleo").await, Err(Trouble::Refused(_))), "the name is taken");
        assert!(matches!(store.save(sheet("brook", b"x", ""), Some(1), "Cleo").await, Err(Trouble::Missing)));
        assert!(matches!(store.save(sheet("river", b"x", ""), Some(9), "Cleo").await, Err(Trouble::Conflict { latest: 2, .. })));
        assert_eq!(store.read(Kind::Line, "river", None).await.expect("the latest").1, b"two");
        assert_eq!(store.versions(Kind::Line, "river").await.expect("a list").len(), 2, "what was refused left nothing");
    })
    .await;
}

/// Starts writers that all save the same name on the same base at the same moment; what each was answered.
async fn at_once(store: &Store, writers: usize, base: Option<i64>) -> Vec<Result<i64, Trouble>> {
    let barrier = Arc::new(Barrier::new(writers));
    let all: Vec<_> = (0..writers)
        .map(|n| {
            let (store, barrier) = (store.clone(), Arc::clone(&barrier));
            tokio::spawn(async move {
                let body = format!("of writer {n}");
                barrier.wait().await;
                store.save(sheet("river", body.as_bytes(), ""), base, &format!("writer {n}")).await.map(|h| h.version)
            })
        })
        .collect();
    let mut answers = Vec::new();
    for one in all {
        answers.push(one.await.expect("no writer breaks off"));
    }
    answers
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_at_once_exactly_one_wins() {
    both(async |store| {
        let answers = at_once(&store, 2, None).await;
        assert_eq!(answers.iter().filter(|a| matches!(a, Ok(1))).count(), 1, "{answers:?}");
        assert_eq!(answers.iter().filter(|a| matches!(a, Err(Trouble::Refused(_)))).count(), 1, "{answers:?}");
        for round in 1..=20 {
            let answers = at_once(&store, 2, Some(round)).await;
            assert_eq!(answers.iter().filter(|a| matches!(a, Ok(v) if *v == round + 1)).count(), 1, "{answers:?}");
            let told = |a: &&Result<i64, Trouble>| matches!(a, Err(Trouble::Conflict { latest, .. }) if *latest == round + 1);
            assert_eq!(answers.iter().filter(told).count(), 1, "{answers:?}");
        }
        assert_eq!(store.versions(Kind::Line, "river").await.expect("a list").len(), 21);
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn twenty_save_at_once_and_all_of_it_is_kept() {
    const EACH: usize = 4;
    both(async |store| {
        store.save(sheet("shared", b"", ""), None, "Ada").await.expect("a new name");
        let saver = |n: usize| {
            let store = store.clone();
            tokio::spawn(async move {
                let author = format!("saver {n}");
                for round in 0..EACH {
                    let own = format!("own {n}");
                    let base = (round > 0).then_some(round as i64);
                    store.save(sheet(&own, format!("{n} {round}").as_bytes(), ""), base, &author).await.expect("nobody else has this name");
                    // The shared one: whoever is told of a conflict reads what stands and saves on top of it.
                    let mut base = store.head(Kind::Line, "shared").await.expect("it is there").version;
                    loop {
                        match store.save(sheet("shared", format!("{n} {round}").as_bytes(), ""), Some(base), &author).await {
                            Ok(_) => break,
                            Err(Trouble::Conflict { latest, .. }) => base = latest,
                            Err(other) => panic!("{other}"),
                        }
                    }
                }
            })
        };
        let all: Vec<_> = (0..20).map(saver).collect();
        for one in all {
            one.await.expect("no saver breaks off");
        }
        let versions = store.versions(Kind::Line, "shared").await.expect("a list");
        let numbers: Vec<i64> = versions.iter().map(|h| h.version).collect();
        assert_eq!(numbers, (1..=1 + 20 * EACH as i64).rev().collect::<Vec<_>>(), "no number twice, none left out");
        let mut bodies = Vec::new();
        for v in &versions[..20 * EACH] {
            bodies.push(store.read(Kind::Line, "shared", Some(v.version)).await.expect("every version").1);
        }
        bodies.sort();
        bodies.dedup();
        assert_eq!(bodies.len(), 20 * EACH, "everybody's saves are there");
        let (all, count) = (store.list(Kind::Line).await.expect("a list"), store.count(Kind::Line).await.expect("a count"));
        assert_eq!((all.len(), count), (21, 21));
        let newest = store.newest(Kind::Line, 3).await.expect("a list");
        assert_eq!(newest.iter().map(|h| &h.id).collect::<Vec<_>>(), all[..3].iter().map(|h| &h.id).collect::<Vec<_>>());
        let saves = store.audit(i64::MAX, 1000).await.expect("the log").iter().filter(|e| e.action == "save").count();
        assert_eq!(saves, 1 + 2 * 20 * EACH, "a line for each");
    })
    .await;
}

#[tokio::test]
async fn a_removed_name_can_be_used_anew() {
    both(async |store| {
        let first = store.save(sheet("river", b"one", ""), None, "Ada").await.expect("a new name");
        assert!(matches!(store.remove(Kind::Line, "river", 7, "Ben").await, Err(Trouble::Conflict { latest: 1, .. })));
        let gone = store.remove(Kind::Line, "river", 1, "Ben").await.expect("based on the latest");
        assert_eq!((gone.version, gone.removed), (2, true));
        assert!(matches!(store.head(Kind::Line, "river").await, Err(Trouble::Missing)));
        assert!(matches!(store.read(Kind::Line, "river", None).await, Err(Trouble::Missing)));
        assert!(matches!(store.read(Kind::Line, "river", Some(2)).await, Err(Trouble::Missing)));
        assert!(matches!(store.head_of(&first.id).await, Err(Trouble::Missing)));
        assert!(matches!(store.remove(Kind::Line, "river", 2, "Ben").await, Err(Trouble::Missing)));
        assert!(store.list(Kind::Line).await.expect("a list").is_empty());
        assert_eq!(store.count(Kind::Line).await.expect("a count"), 0);
        assert_eq!(store.read(Kind::Line, "river", Some(1)).await.expect("what it said stays").1, b"one");
        let anew = store.save(sheet("river", b"three", ""), None, "Cleo").await.expect("the name is free");
        assert_eq!((anew.version, anew.removed), (3, false));
        assert_eq!(store.versions(Kind::Line, "river").await.expect("a list").len(), 3);
    })
    .await;
}

#[tokio::test]
async fn names_that_cannot_be_files_are_refused() {
    both(async |store| {
        let long = "r".repeat(121);
        let wrong =
            ["", " ", " river", "river ", ".", "..", "a/b", "a\\b", "c:", "a\nb", "a\0b", "what?", "<river>", "a|b", "a*", "\"a\"", &long];
        for name in wrong {
            let refused = store.save(sheet(name, b"x", ""), None, "Ada").await;
            assert!(matches!(refused, Err(Trouble::Refused(_))), "{name:?}: {refused:?}");
        }
        let right = ["river logger", "Fluß 7.2", "..river", "水", &"r".repeat(120)];
        for name in right {
            store.save(sheet(name, b"x", ""), None, "Ada").await.unwrap_or_else(|e| panic!("{name:?}: {e}"));
        }
        assert_eq!(store.list(Kind::Line).await.expect("a list").len(), right.len());
    })
    .await;
}

#[tokio::test]
async fn the_log_tells_what_happened_in_its_order() {
    both(async |store| {
        store.note("Ada", "sign-in", "", "").await.expect("a line");
        store.save(sheet("river", b"one", "new"), None, "Ada").await.expect("a new name");
        store.save(sheet("river", b"two", "faster"), Some(1), "Ben").await.expect("the latest");
        assert!(store.save(sheet("river", b"two", ""), Some(1), "Cleo").await.is_err());
        store.remove(Kind::Line, "river", 2, "Ben").await.expect("the latest");
        let log = store.audit(i64::MAX, 10).await.expect("the log");
        let told: Vec<(&str, &str, &str)> = log.iter().map(|e| (e.who.as_str(), e.action.as_str(), e.detail.as_str())).collect();
        let wanted = [
            ("Ben", "remove", "version 3: removed"),
            ("Ben", "save", "version 2: faster"),
            ("Ada", "save", "version 1: new"),
            ("Ada", "sign-in", ""),
        ];
        assert_eq!(told, wanted, "newest first, and nothing of what was refused");
        assert!(log.windows(2).all(|w| w[0].at >= w[1].at));
        let older = store.audit(log[1].at, 1).await.expect("the log");
        assert_eq!((older.len(), older[0].detail.as_str()), (1, "version 1: new"), "a page begins before a time");
    })
    .await;
}
