//! What was made of a version of a document, held in memory for those who ask next.
//!
//! A version never changes, so neither does what is made of it.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex};
use store::document::Head;
use tokio::sync::OnceCell;

/// One entry: document, version, what was made of it or is being made.
type Entry<T> = (String, i64, Arc<OnceCell<Arc<T>>>);

/// The last few that were asked for.
#[derive(Debug)]
pub struct Held<T> {
    most: usize,
    entries: Mutex<VecDeque<Entry<T>>>,
}

impl<T> Held<T> {
    /// Room for `most` entries.
    pub fn new(most: usize) -> Self {
        Self { most, entries: Mutex::default() }
    }

    /// What is held of a version; made first if there is none. Those who ask for one version at a time wait for one making.
    ///
    /// # Errors
    /// When it cannot be made; then nothing is held, and the next one who asks tries again.
    pub async fn of<E>(&self, head: &Head, make: impl Future<Output = Result<T, E>>) -> Result<Arc<T>, E> {
        let made = self.cell(head).get_or_try_init(|| async { make.await.map(Arc::new) }).await?.clone();
        Ok(made)
    }

    fn cell(&self, head: &Head) -> Arc<OnceCell<Arc<T>>> {
        // A panic elsewhere cannot leave a list of entries half changed.
        let mut entries = self.entries.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let at = entries.iter().position(|(id, version, _)| *id == head.id && *version == head.version);
        let entry = at.and_then(|at| entries.remove(at)).unwrap_or_else(|| (head.id.clone(), head.version, Arc::default()));
        let cell = Arc::clone(&entry.2);
        entries.push_front(entry);
        entries.truncate(self.most);
        cell
    }
}

#[cfg(test)]
mod tests {
    use super::Held;
    use store::document::{Head, Kind};

    fn head(id: &str, version: i64) -> Head {
        let (name, author, note, summary) = (String::new(), String::new(), String::new(), String::new());
        Head { id: id.to_owned(), kind: Kind::Plan, name, version, at: 0, author, note, removed: false, summary }
    }

    #[tokio::test]
    async fn the_last_ones_asked_for_are_held_and_failures_are_not() {
        let held = Held::new(2);
        let make = |n: i64| async move { Ok::<i64, String>(n) };
        assert_eq!(held.of(&head("a", 1), async { Err("no".to_owned()) }).await, Err("no".to_owned()));
        assert_eq!(*held.of(&head("a", 1), make(1)).await.expect("made"), 1);
        assert_eq!(*held.of(&head("a", 1), make(2)).await.expect("held"), 1);
        assert_eq!(*held.of(&head("a", 2), make(3)).await.expect("made"), 3);
        assert_eq!(*held.of(&head("a", 1), make(4)).await.expect("held"), 1);
        assert_eq!(*held.of(&head("b", 1), make(5)).await.expect("made"), 5);
        assert_eq!(*held.of(&head("a", 2), make(6)).await.expect("made anew"), 6);
    }
}
