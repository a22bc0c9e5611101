//! People, invitations, tokens, sessions.

use crate::place::both;
use std::sync::Arc;
use store::people::{Person, Role};
use store::{Store, Trouble, now};
use tokio::sync::Barrier;

const HOUR: i64 = 3_600_000_000;

async fn join(store: &Store, name: &str, role: Role) -> Person {
    let secret = store.invite(role, now() + HOUR, "the test").await.expect("a link");
    store.accept(&secret, name, "slow hash").await.expect("it lets in once")
}

#[tokio::test]
async fn a_link_lets_one_person_in_once() {
    both(async |store| {
        assert!(store.is_new().await.expect("an answer"));
        let secret = store.invite(Role::Administrator, now() + HOUR, "first start").await.expect("a link");
        assert!(store.is_new().await.expect("an answer"), "a link is nobody");
        assert_eq!(store.invitation(&secret).await.expect("it works"), Role::Administrator);
        let ada = store.accept(&secret, "Ada", "slow hash").await.expect("it lets in");
        assert_eq!((ada.role, ada.disabled), (Role::Administrator, false));
        assert!(!store.is_new().await.expect("an answer"));
        assert!(matches!(store.invitation(&secret).await, Err(Trouble::Missing)));
        assert!(matches!(store.accept(&secret, "Ben", "x").await, Err(Trouble::Missing)), "once");
        let late = store.invite(Role::Viewer, now() - 1, "Ada").await.expect("a link that has ended");
        assert!(matches!(store.accept(&late, "Ben", "x").await, Err(Trouble::Missing)));
        let taken = store.invite(Role::Viewer, now() + HOUR, "Ada").await.expect("a link");
        assert!(matches!(store.accept(&taken, "Ada", "x").await, Err(Trouble::Refused(_))), "the name is taken");
        let ben = store.accept(&taken, "Ben", "x").await.expect("the link still works");
        assert_eq!(store.person_named("Ben").await.expect("known").id, ben.id);
        assert!(matches!(store.person_named("Cleo").await, Err(Trouble::Missing)));
        let names: Vec<String> = store.people().await.expect("a list").into_iter().map(|p| p.name).collect();
        assert_eq!(names, ["Ada", "Ben"]);
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_link_used_twice_at_once_lets_one_in() {
    both(async |store| {
        for round in 0..10 {
            let secret = store.invite(Role::Viewer, now() + HOUR, "the test").await.expect("a link");
            let (a, b) = (format!("a {round}"), format!("b {round}"));
            let (a, b) = tokio::join!(store.accept(&secret, &a, "x"), store.accept(&secret, &b, "x"));
            assert!(a.is_ok() != b.is_ok(), "{a:?} {b:?}");
            assert!(matches!(a.err().or(b.err()), Some(Trouble::Missing)));
        }
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn the_last_administrator_stays() {
    both(async |store| {
        let (ada, ben) = (join(&store, "Ada", Role::Administrator).await, join(&store, "Ben", Role::Engineer).await);
        for (role, disabled) in [(Role::Engineer, false), (Role::Administrator, true)] {
            assert!(matches!(store.change_person(&ada.id, role, disabled, "Ada").await, Err(Trouble::Refused(_))));
        }
        assert_eq!(store.person(&ada.id).await.expect("known").role, Role::Administrator);
        assert!(!store.person(&ada.id).await.expect("known").disabled);
        assert!(matches!(store.change_person("nobody", Role::Viewer, false, "Ada").await, Err(Trouble::Missing)));
        for round in 0..10 {
            // Two administrators take it from each other at the same moment: one of them must remain.
            for person in [&ada, &ben] {
                store.change_person(&person.id, Role::Administrator, false, "the test").await.expect("one more");
            }
            let barrier = Arc::new(Barrier::new(2));
            let less = |id: String| {
                let (store, barrier) = (store.clone(), Arc::clone(&barrier));
                tokio::spawn(async move {
                    barrier.wait().await;
                    store.change_person(&id, Role::Engineer, false, "the other").await
                })
            };
            let (a, b) = (less(ada.id.clone()), less(ben.id.clone()));
            let (a, b) = (a.await.expect("no end"), b.await.expect("no end"));
            assert!(a.is_ok() != b.is_ok(), "round {round}: {a:?} {b:?}");
            let left = store.people().await.expect("a list").into_iter().filter(|p| p.role == Role::Administrator && !p.disabled).count();
            assert_eq!(left, 1, "round {round}");
        }
    })
    .await;
}

#[tokio::test]
async fn a_token_never_does_more_than_its_person() {
    both(async |store| {
        let (ada, ben) = (join(&store, "Ada", Role::Administrator).await, join(&store, "Ben", Role::Engineer).await);
        assert!(matches!(store.make_token(&ben, "too much", Role::Administrator, now() + HOUR).await, Err(Trouble::Refused(_))));
        let secret = store.make_token(&ben, "the stock system", Role::Engineer, now() + HOUR).await.expect("a token");
        let acting = store.person_of_token(&secret).await.expect("it works");
        assert_eq!((acting.name.as_str(), acting.role), ("Ben", Role::Engineer));
        store.change_person(&ben.id, Role::Viewer, false, "Ada").await.expect("not the last administrator");
        assert_eq!(store.person_of_token(&secret).await.expect("it works").role, Role::Viewer);
        store.change_person(&ben.id, Role::Viewer, true, "Ada").await.expect("not the last administrator");
        assert!(matches!(store.person_of_token(&secret).await, Err(Trouble::Missing)), "who may not sign in has no tokens either");
        store.change_person(&ben.id, Role::Engineer, false, "Ada").await.expect("back again");
        let late = store.make_token(&ben, "ended", Role::Viewer, now() - 1).await.expect("a token that has ended");
        assert!(matches!(store.person_of_token(&late).await, Err(Trouble::Missing)));
        assert!(matches!(store.person_of_token("guess").await, Err(Trouble::Missing)));
        let tokens = store.tokens(Some(&ben.id)).await.expect("a list");
        assert_eq!((tokens.len(), store.tokens(None).await.expect("a list").len()), (2, 2));
        assert!(store.tokens(Some(&ada.id)).await.expect("a list").is_empty());
        let first = tokens.iter().find(|t| t.label == "the stock system").expect("listed").id.clone();
        assert!(matches!(store.revoke_token(&first, Some(&ada.id), "Ada").await, Err(Trouble::Missing)), "another's");
        store.revoke_token(&first, Some(&ben.id), "Ben").await.expect("one's own");
        assert!(matches!(store.person_of_token(&secret).await, Err(Trouble::Missing)));
        store.change_password(&ben.id, "another slow hash", "Ben").await.expect("known");
        assert_eq!(store.person(&ben.id).await.expect("known").password, "another slow hash");
    })
    .await;
}

#[tokio::test]
async fn sessions_end_by_themselves() {
    both(async |store| {
        store.keep_session("a", "one", now() + HOUR, true).await.expect("new");
        assert!(matches!(store.keep_session("a", "two", now() + HOUR, true).await, Err(Trouble::Refused(_))), "not new any more");
        assert_eq!(store.session("a").await.expect("an answer").as_deref(), Some("one"));
        store.keep_session("a", "two", now() + HOUR, false).await.expect("kept on");
        assert_eq!(store.session("a").await.expect("an answer").as_deref(), Some("two"));
        store.keep_session("b", "three", now() - 1, false).await.expect("kept");
        assert_eq!(store.session("b").await.expect("an answer"), None, "it has ended");
        store.sweep_sessions().await.expect("swept");
        store.keep_session("b", "four", now() + HOUR, true).await.expect("the sweep took the ended one away, so this is new");
        assert_eq!(store.session("a").await.expect("an answer").as_deref(), Some("two"), "and left the others");
        store.end_session("a").await.expect("ended");
        assert_eq!(store.session("a").await.expect("an answer"), None);
        assert_eq!(store.session("guess").await.expect("an answer"), None);
    })
    .await;
}
