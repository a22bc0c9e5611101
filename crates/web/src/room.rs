//! What all requests share.

use crate::config::Config;
use crate::held::Held;
use crate::trouble::{Answer, Refusal};
use app::explain::Explanation;
use app::read::ReadResult;
use domain::line::Line;
use domain::plan::Plan;
use domain::product::Product;
use domain::rules::Rules;
use std::sync::Arc;
use store::document::{Head, Kind};
use store::{Store, Trouble};
use tokio::sync::watch;

/// Plans and boards held in memory, the last ones asked for.
const HELD: usize = 8;

/// What all requests share. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Room {
    /// What is kept.
    pub store: Store,
    /// How the room is run.
    pub config: Arc<Config>,
    /// Says that the room closes: streams end, jobs are given back.
    pub closing: Arc<watch::Sender<bool>>,
    /// What is made of stored versions.
    pub held: Arc<Made>,
}

/// What is made of stored versions and held in memory for those who ask next.
#[derive(Debug)]
pub struct Made {
    plans: Held<Plan>,
    /// Boards as they were read.
    pub boards: Held<ReadResult>,
    /// Pictures of boards.
    pub pictures: Held<Vec<(String, String)>>,
    /// What changes to a plan would be worth.
    pub worth: Held<Explanation>,
}

impl Room {
    /// A room over a store.
    pub fn new(store: Store, config: Config) -> Self {
        let made = Made { plans: Held::new(HELD), boards: Held::new(HELD), pictures: Held::new(HELD), worth: Held::new(HELD) };
        Self { store, config: Arc::new(config), closing: Arc::new(watch::channel(false).0), held: Arc::new(made) }
    }

    /// A stored plan; `None` is the latest version. The last ones asked for are held in memory.
    ///
    /// # Errors
    /// When there is none, or what is stored is no plan.
    pub async fn plan(&self, name: &str, version: Option<i64>) -> Answer<(Head, Arc<Plan>)> {
        let head = self.head(Kind::Plan, name, version).await?;
        let read = async {
            let (head, body) = self.store.read(Kind::Plan, name, Some(head.version)).await?;
            // Reading a plan of some thousand placements takes tens of milliseconds: not on the thread that serves others.
            Ok::<_, Refusal>(aside(move || Plan::parse(&head.name, &String::from_utf8_lossy(&body))).await??)
        };
        let plan = self.held.plans.of(&head, read).await?;
        Ok((head, plan))
    }

    /// A version of a stored document, without its body; `None` is the latest.
    ///
    /// # Errors
    /// When there is none.
    pub async fn head(&self, kind: Kind, name: &str, version: Option<i64>) -> Answer<Head> {
        let Some(number) = version else { return Ok(self.store.head(kind, name).await?) };
        let all = self.store.versions(kind, name).await?;
        Ok(all.into_iter().find(|h| h.version == number && !h.removed).ok_or(Trouble::Missing)?)
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
        let read = aside(move || app::read::read(&app::read::ReadRequest { files: vec![file], ..Default::default() })).await?;
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
