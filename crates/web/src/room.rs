//! What all requests share.

use crate::config::Config;
use crate::trouble::{Answer, Refusal};
use domain::line::Line;
use domain::plan::Plan;
use domain::product::Product;
use domain::rules::Rules;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};
use store::document::{Head, Kind};
use store::{Store, Trouble};
use tokio::sync::watch;

/// Plans held in memory, the last ones asked for.
const PLANS_HELD: usize = 8;

/// A plan held in memory: document, version, plan.
type Held = (String, i64, Arc<Plan>);

/// What all requests share. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Room {
    /// What is kept.
    pub store: Store,
    /// How the room is run.
    pub config: Arc<Config>,
    /// Says that the room closes: streams end, jobs are given back.
    pub closing: Arc<watch::Sender<bool>>,
    plans: Arc<Mutex<VecDeque<Held>>>,
}

impl Room {
    /// A room over a store.
    pub fn new(store: Store, config: Config) -> Self {
        Self { store, config: Arc::new(config), closing: Arc::new(watch::channel(false).0), plans: Arc::default() }
    }

    /// A stored plan; `None` is the latest version. The last plans asked for are held in memory.
    ///
    /// # Errors
    /// When there is none, or what is stored is no plan.
    pub async fn plan(&self, name: &str, version: Option<i64>) -> Answer<(Head, Arc<Plan>)> {
        let head = match version {
            None => self.store.head(Kind::Plan, name).await?,
            Some(number) => {
                let all = self.store.versions(Kind::Plan, name).await?;
                all.into_iter().find(|h| h.version == number && !h.removed).ok_or(Trouble::Missing)?
            }
        };
        if let Some(plan) = self.held(&head) {
            return Ok((head, plan));
        }
        let (head, body) = self.store.read(Kind::Plan, name, Some(head.version)).await?;
        let name = head.name.clone();
        // Reading a plan of some thousand placements takes tens of milliseconds: not on the thread that serves others.
        let read = tokio::task::spawn_blocking(move || Plan::parse(&name, &String::from_utf8_lossy(&body))).await;
        let plan = Arc::new(read.map_err(|e| Refusal::Failed(e.to_string()))??);
        if let Ok(mut held) = self.plans.lock() {
            held.push_front((head.id.clone(), head.version, Arc::clone(&plan)));
            held.truncate(PLANS_HELD);
        }
        Ok((head, plan))
    }

    fn held(&self, head: &Head) -> Option<Arc<Plan>> {
        let mut held = self.plans.lock().ok()?;
        let at = held.iter().position(|(id, version, _)| *id == head.id && *version == head.version)?;
        let entry = held.remove(at)?;
        let plan = Arc::clone(&entry.2);
        held.push_front(entry);
        Some(plan)
    }

    /// A stored line sheet with its text.
    ///
    /// # Errors
    /// When there is none, or what is stored is no sheet.
    pub async fn line(&self, name: &str, version: Option<i64>) -> Answer<(Head, String, Line)> {
        let (head, text) = self.text(Kind::Line, name, version).await?;
        let line = app::documents::read_line(name, &text)?;
        Ok((head, text, line))
    }

    /// Stored order rules and locks with their text.
    ///
    /// # Errors
    /// When there are none, or what is stored is no such file.
    pub async fn locks(&self, name: &str, version: Option<i64>) -> Answer<(Head, String, Rules)> {
        let (head, text) = self.text(Kind::Locks, name, version).await?;
        let rules = Rules::parse(name, &text)?;
        Ok((head, text, rules))
    }

    /// A stored product.
    ///
    /// # Errors
    /// When there is none, or what is stored is no product.
    pub async fn product(&self, name: &str, version: Option<i64>) -> Answer<(Head, Product)> {
        let (head, bytes) = self.store.read(Kind::Product, name, version).await?;
        let file = app::read::NamedBytes { name: format!("{name}.json"), bytes };
        let read = app::read::read(&app::read::ReadRequest { files: vec![file], ..Default::default() });
        match read.product {
            Some(product) => Ok((head, product)),
            None => Err(read.findings.into()),
        }
    }

    /// A stored document as text.
    ///
    /// # Errors
    /// When there is none.
    pub async fn text(&self, kind: Kind, name: &str, version: Option<i64>) -> Answer<(Head, String)> {
        let (head, body) = self.store.read(kind, name, version).await?;
        let text = String::from_utf8(body).map_err(|_| Refusal::Failed(format!("{} `{name}` is stored as no text", kind.word())))?;
        Ok((head, text))
    }
}

/// Runs long work of the core on a thread of its own kind, so that pages of others do not wait for it.
///
/// # Errors
/// When the work panics.
pub async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Answer<T> {
    tokio::task::spawn_blocking(work).await.map_err(|e| Refusal::Failed(e.to_string()))
}
