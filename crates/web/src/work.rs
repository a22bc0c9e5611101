//! Planning as a job: what is ordered, and how a worker does it.
//!
//! A job names its inputs by document and version, so that any worker can read them and the plan can be made anew from what is
//! stored. While it runs, its worker tells how far it is twice a second and leaves the best plan so far every few seconds; whoever
//! takes the job over goes on from there with the time that is left.

use crate::queue;
use crate::room::Room;
use crate::trouble::Refusal;
use app::plan::{Begin, Hold, Limits, PlanRequest, PlanResult, Progress, Watch};
use domain::job::Panel;
use domain::plan::{Method, Plan};
use domain::product::Side;
use domain::rules::Rules;
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use store::document::{Draft, Kind};
use store::job::{Begun, Job, MOST_ATTEMPTS};
use store::{Store, Trouble};
use tokio::sync::watch;

/// What the job table calls planning.
pub const PLAN: &str = "plan";

/// Between two words of a worker about its job.
const TELL: Duration = Duration::from_millis(500);
/// Between two plans left to go on from.
const KEEP: Duration = Duration::from_secs(5);
/// How long a worker tries to hand in the plan it has made.
const HOLD_ON: Duration = Duration::from_secs(60);
/// Points of the curve of takt and bound that are kept.
const CURVE: usize = 240;

/// Longest planning that can be ordered [s].
pub const MOST_SECONDS: u32 = 3600;

/// A version of a stored document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Of {
    /// Its name.
    pub name: String,
    /// Number of the version.
    pub version: i64,
}

/// An order for a plan.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Order {
    /// Name of the plan to be made.
    pub plan: String,
    /// The product.
    pub product: Of,
    /// The line.
    pub line: Of,
    /// Stored order rules and locks.
    pub locks: Option<Of>,
    /// Rules and locks of the order itself, as the text of a locks file; they hold instead of `locks`.
    pub rules: Option<String>,
    /// A plan to begin with.
    pub from: Option<Of>,
    /// Whether everything of its set-up stays where it stands.
    pub keep_setup: bool,
    /// The side; the fuller one if not given.
    pub side: Option<Side>,
    /// How boards are repeated.
    pub panel: Panel,
    /// Time for planning [s].
    pub seconds: u32,
    /// Seed of the search.
    pub seed: u64,
}

/// How far a job is, as pages show it.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Told {
    /// Share of the time used, 0 to 1.
    pub share: f64,
    /// Seconds of planning, of all attempts.
    pub seconds: f64,
    /// Best takt so far [µs].
    pub takt_us: i64,
    /// Bound, once known [µs].
    pub bound_us: Option<i64>,
    /// What takt and bound were at these seconds: (seconds, takt, bound).
    pub curve: VecDeque<(f64, i64, Option<i64>)>,
}

/// What a worker leaves for the next one.
#[derive(Serialize, Deserialize)]
struct Checkpoint {
    seconds: f64,
    told: Told,
    plan: Option<Plan>,
}

/// What lists show of a plan.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Summary {
    /// Name of the product.
    pub product: String,
    /// Name of the line.
    pub line: String,
    /// The side planned.
    pub side: String,
    /// Time per panel [µs].
    pub takt_us: i64,
    /// No plan can be faster [µs].
    pub bound_us: i64,
    /// Placements made.
    pub placed: usize,
    /// Placements left out.
    pub unplaced: usize,
    /// Stations.
    pub stations: usize,
}

impl Summary {
    /// Of a plan.
    pub fn of(plan: &Plan) -> Self {
        Self {
            product: plan.product.name.clone(),
            line: plan.line.name.clone(),
            side: plan.side.word().to_owned(),
            takt_us: plan.takt_us.0,
            bound_us: plan.bound_us.0,
            placed: plan.placed(),
            unplaced: plan.unplaced.len(),
            stations: plan.stations.len(),
        }
    }

    /// As the store keeps it.
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// What came of a planning job that is done: the plan's document.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Made {
    /// Its name.
    pub plan: String,
    /// Number of the version.
    pub version: i64,
}

/// The planner's view of the world while it works for a job.
struct Worker {
    begun: Instant,
    /// Seconds that earlier attempts have used.
    before: f64,
    stop: AtomicBool,
    told: Mutex<Told>,
    kept: Mutex<(Option<Instant>, Option<Plan>)>,
}

impl Watch for Worker {
    fn seconds(&self) -> f64 {
        self.before + self.begun.elapsed().as_secs_f64()
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::SeqCst)
    }

    fn progress(&self, p: &Progress) {
        let Ok(mut told) = self.told.lock() else { return };
        let (takt_us, bound_us) = (p.takt.0, p.bound.map(|b| b.0));
        if told.takt_us != takt_us || told.bound_us != bound_us {
            told.curve.push_back((self.seconds(), takt_us, bound_us));
            // The curve bends at its beginning; when it grows long, every other of its later points goes.
            if told.curve.len() > CURVE {
                let mut nth = 0;
                told.curve.retain(|_| {
                    nth += 1;
                    nth < 20 || nth % 2 == 0
                });
            }
        }
        (told.share, told.seconds, told.takt_us, told.bound_us) = (p.share, self.seconds(), takt_us, bound_us);
    }

    fn wants_plan(&self) -> bool {
        self.kept.lock().is_ok_and(|k| k.0.is_none_or(|last| last.elapsed() >= KEEP))
    }

    fn keep(&self, plan: Plan) {
        if let Ok(mut kept) = self.kept.lock() {
            *kept = (Some(Instant::now()), Some(plan));
        }
    }
}

/// Inputs of an order, read from the store.
struct Inputs {
    request: PlanRequest,
    resumed: Option<Checkpoint>,
}

async fn inputs(room: &Room, order: &Order, begun: &Begun) -> Result<Inputs, Refusal> {
    let (_, product) = room.product(&order.product.name, Some(order.product.version)).await?;
    let (_, _, line) = room.line(&order.line.name, Some(order.line.version)).await?;
    let rules = match (&order.rules, &order.locks) {
        (Some(text), _) => Rules::parse("the order", text)?,
        (None, Some(of)) => room.locks(&of.name, Some(of.version)).await?.2,
        (None, None) => Rules::default(),
    };
    let from = match &order.from {
        Some(of) => Some(room.plan(&of.name, Some(of.version)).await?.1),
        None => None,
    };
    let hold = Hold { whole_line: order.keep_setup, ..Hold::default() };
    let mut from = from.map(|plan| Begin { plan: (*plan).clone(), hold: hold.clone() });
    // A checkpoint that cannot be read costs time, not the job.
    let mut resumed: Option<Checkpoint> = serde_json::from_slice(&begun.checkpoint).ok();
    // The last word of the worker before may be later than the plan it left: its time is used all the same.
    if let (Some(kept), Ok(told)) = (&mut resumed, serde_json::from_str::<Told>(&begun.job.progress))
        && told.seconds > kept.seconds
    {
        (kept.seconds, kept.told) = (told.seconds, told);
    }
    if let Some(plan) = resumed.as_ref().and_then(|r| r.plan.clone()) {
        from = Some(Begin { plan, hold: if order.keep_setup { hold } else { Hold::default() } });
    }
    let request = PlanRequest {
        product,
        findings: Vec::new(),
        line,
        rules,
        from,
        side: order.side,
        panel: order.panel,
        method: Method::Search,
        limits: Limits { seconds: Some(f64::from(order.seconds)), work: None, seed: order.seed, threads: room.config.threads },
    };
    Ok(Inputs { request, resumed })
}

/// Orders a plan.
///
/// # Errors
/// [`Trouble::Refused`] for a name that cannot be one or a time out of bounds; [`Trouble::Database`].
pub async fn order(store: &Store, order: &Order, author: &str) -> Result<Job, Trouble> {
    if order.seconds == 0 || order.seconds > MOST_SECONDS {
        return Err(Trouble::Refused(format!("planning takes 1 to {MOST_SECONDS} seconds, not {}", order.seconds)));
    }
    store::document::check_name(&order.plan)?;
    let payload = serde_json::to_string(order).map_err(|e| Trouble::Refused(e.to_string()))?;
    let job = store.add_job(PLAN, &format!("Plan {}", order.plan), &payload, author).await?;
    // It is ordered; if the queue cannot take it now, the next sweep puts it there.
    if let Err(e) = queue::push(store, &job.id).await {
        tracing::warn!("job {}: {e}", job.id);
    }
    Ok(job)
}

/// Does a job if it waits or was left by another worker; nothing if it is over or somebody is at it. When `leave` says so, the job
/// is given back with the best plan so far.
///
/// # Errors
/// [`Trouble::Database`], when the end of the job could not be told: its lease then runs out and another worker goes on.
pub async fn run(room: &Room, id: &str, worker: &str, leave: watch::Receiver<bool>) -> Result<(), Trouble> {
    let Some(begun) = room.store.begin_job(id, worker).await? else { return Ok(()) };
    let done = match serde_json::from_str::<Order>(&begun.job.payload) {
        _ if begun.job.attempt > MOST_ATTEMPTS => {
            room.store.fail_job(&begun, &format!("{MOST_ATTEMPTS} workers ended while they were at it")).await
        }
        Err(e) => room.store.fail_job(&begun, &format!("the order cannot be read: {e}")).await,
        Ok(order) => match inputs(room, &order, &begun).await {
            // Not the order's fault: the lease runs out and a worker tries again.
            Err(Refusal::Failed(what)) => Err(Trouble::Database(what)),
            Err(refusal) => room.store.fail_job(&begun, &told_refusal(&refusal)).await,
            Ok(inputs) => plan(room, &begun, &order, inputs, leave).await,
        },
    };
    match done {
        // Another worker has it, and will tell the rest.
        Err(Trouble::Lost) => Ok(()),
        other => other,
    }
}

fn told_refusal(refusal: &Refusal) -> String {
    match refusal {
        Refusal::Findings(found) => found.iter().map(|f| format!("{} [{}]. {}", f.message, f.code, f.hint)).collect::<Vec<_>>().join("\n"),
        other => other.sentence(),
    }
}

async fn plan(room: &Room, begun: &Begun, order: &Order, inputs: Inputs, mut leave: watch::Receiver<bool>) -> Result<(), Trouble> {
    let (before, told) = inputs.resumed.map_or((0.0, Told::default()), |r| (r.seconds, r.told));
    let worker = Arc::new(Worker {
        begun: Instant::now(),
        before,
        stop: AtomicBool::new(false),
        told: Mutex::new(told),
        kept: Mutex::new((None, None)),
    });
    let (request, watching) = (inputs.request, Arc::clone(&worker));
    let mut planning = tokio::task::spawn_blocking(move || app::plan::plan(request, &*watching));
    let mut leaving = *leave.borrow();
    let ended = loop {
        tokio::select! {
            ended = &mut planning => break ended,
            () = tokio::time::sleep(TELL) => {}
            _ = leave.changed(), if !leaving => leaving = true,
        }
        let stop = match tell(room, begun, &worker).await {
            Ok(stop) => stop,
            // The planner must not go on for a job that is another's.
            Err(Trouble::Lost) => {
                worker.stop.store(true, Ordering::SeqCst);
                drop(planning.await);
                return Err(Trouble::Lost);
            }
            // The database may be back before the lease ends.
            Err(e) => {
                tracing::warn!("job {}: {e}", begun.job.id);
                false
            }
        };
        if stop || leaving {
            worker.stop.store(true, Ordering::SeqCst);
        }
    };
    match ended {
        Err(e) => room.store.fail_job(begun, &format!("planning broke off: {e}")).await,
        Ok(result) if leaving => give_back(room, begun, &worker, result).await,
        Ok(result) => finish(room, begun, order, &worker, result).await,
    }
}

async fn tell(room: &Room, begun: &Begun, worker: &Worker) -> Result<bool, Trouble> {
    let mut told = worker.told.lock().map(|t| t.clone()).unwrap_or_default();
    told.seconds = worker.seconds();
    let text = serde_json::to_string(&told).unwrap_or_default();
    let plan = worker.kept.lock().ok().and_then(|mut k| k.1.take());
    match plan {
        None => room.store.tell_job(begun, &text, None).await,
        Some(plan) => {
            let kept = Checkpoint { seconds: worker.seconds(), told, plan: Some(plan) };
            let kept = serde_json::to_vec(&kept).map_err(|e| Trouble::Refused(e.to_string()))?;
            room.store.tell_job(begun, &text, Some(&kept)).await
        }
    }
}

async fn give_back(room: &Room, begun: &Begun, worker: &Worker, result: PlanResult) -> Result<(), Trouble> {
    if let Ok(mut kept) = worker.kept.lock() {
        kept.1 = result.plan.or_else(|| kept.1.take());
    }
    tell(room, begun, worker).await?;
    room.store.give_back_job(begun).await
}

async fn finish(room: &Room, begun: &Begun, order: &Order, worker: &Worker, result: PlanResult) -> Result<(), Trouble> {
    let Some(plan) = result.plan.filter(|p| !p.stations.is_empty()) else {
        return room.store.fail_job(begun, &told_refusal(&Refusal::Findings(result.findings))).await;
    };
    // The planner's last touches come after its last word.
    worker.progress(&Progress { share: 1.0, takt: plan.takt_us, bound: Some(plan.bound_us) });
    match tell(room, begun, worker).await {
        Err(Trouble::Lost) => return Err(Trouble::Lost),
        Err(e) => tracing::warn!("job {}: {e}", begun.job.id),
        Ok(_) => {}
    }
    let body = app::documents::write_plan(&plan).map_err(|e| Trouble::Refused(e.to_string()))?;
    let note = format!(
        "{} version {} on {} version {}, {} s, seed {}",
        order.product.name, order.product.version, order.line.name, order.line.version, order.seconds, order.seed
    );
    let draft = Draft { kind: Kind::Plan, name: &order.plan, summary: &Summary::of(&plan).text(), body: body.as_bytes(), note: &note };
    let made =
        |head: &store::document::Head| serde_json::to_string(&Made { plan: head.name.clone(), version: head.version }).unwrap_or_default();
    // A plan that is made is not given up because the database is away for a moment; whether a try that broke off had come through,
    // the lease tells.
    let begun_to_tell = Instant::now();
    loop {
        match room.store.finish_job(begun, draft, made).await {
            Err(Trouble::Database(e)) if begun_to_tell.elapsed() < HOLD_ON => tracing::warn!("job {}: {e}", begun.job.id),
            other => return other.map(drop),
        }
        tokio::time::sleep(TELL).await;
    }
}
