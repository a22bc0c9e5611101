//! What the API takes and tells.

use crate::pages::jobs::Live;
use crate::work::{Made, Told};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use store::Stamp;
use store::audit::Entry;
use store::document::Head;
use store::job::{Job, State};
use store::people::{Person, Role, Token};
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{AdditionalProperties, ArrayBuilder, ObjectBuilder, Ref, Schema, SchemaType, Type};
use utoipa::{IntoParams, ToSchema};

fn reference(name: &str) -> RefOr<Schema> {
    RefOr::Ref(Ref::from_schema_name(name))
}

/// A list of findings.
pub fn findings() -> RefOr<Schema> {
    RefOr::T(Schema::Array(ArrayBuilder::new().items(reference("Finding")).build()))
}

fn panel() -> RefOr<Schema> {
    reference("Panel")
}

fn anything() -> RefOr<Schema> {
    let object =
        ObjectBuilder::new().schema_type(SchemaType::Type(Type::Object)).additional_properties(Some(AdditionalProperties::FreeForm(true)));
    RefOr::T(Schema::Object(object.build()))
}

/// Kinds of document.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case")]
pub enum DocumentKind {
    /// A product document (JSON).
    Product,
    /// The designer's files a product was read from, as an archive (ZIP); kept by `POST /api/read` only.
    Files,
    /// The parts library (JSON); there is one, `parts`.
    Library,
    /// A line sheet (TOML).
    Line,
    /// Order rules and locks (TOML).
    Locks,
    /// A plan with its inputs (JSON); it is kept if the checker accepts it.
    Plan,
}

/// What a person or a token may do; each may do all that those before it may.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case", as = Role)]
pub enum RoleWord {
    /// Looks at everything but people and the audit log.
    Viewer,
    /// Also prints and downloads.
    Operator,
    /// Also changes boards, parts, lines, locks and plans.
    Engineer,
    /// Also manages people and tokens and reads the audit log.
    Administrator,
}

/// Where a job stands.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case")]
pub enum JobState {
    /// Waits for a worker.
    Queued,
    /// A worker is at it.
    Running,
    /// Ended with a plan.
    Done,
    /// Ended without one.
    Failed,
    /// Was stopped before any worker began.
    Stopped,
}

/// A version of a document without its body. Times are microseconds since 1970, UTC.
#[derive(Debug, Serialize, ToSchema)]
pub struct Document {
    /// Kind of document.
    #[schema(value_type = DocumentKind)]
    pub kind: &'static str,
    /// Its name, the only one of its kind.
    pub name: String,
    /// Number of the version, counted from 1.
    #[schema(minimum = 1)]
    pub version: i64,
    /// When the version was saved [µs since 1970].
    pub at: Stamp,
    /// Who saved it.
    pub author: String,
    /// What was changed, in words.
    pub note: String,
    /// Whether this version says that the document is gone.
    pub removed: bool,
    /// What lists show of it; its fields depend on the kind.
    #[schema(schema_with = anything)]
    pub summary: Value,
}

impl From<&Head> for Document {
    fn from(h: &Head) -> Self {
        let summary =
            serde_json::from_str(&h.summary).ok().filter(Value::is_object).unwrap_or_else(|| Value::Object(serde_json::Map::new()));
        Self {
            kind: h.kind.word(),
            name: h.name.clone(),
            version: h.version,
            at: h.at,
            author: h.author.clone(),
            note: h.note.clone(),
            removed: h.removed,
            summary,
        }
    }
}

/// Somebody else saved another version meanwhile; nothing was changed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Clash {
    /// The HTTP status.
    pub status: u16,
    /// One sentence.
    pub title: String,
    /// No findings.
    #[schema(schema_with = findings)]
    pub findings: Vec<diag::Finding>,
    /// The version that stands now.
    pub latest: Document,
}

/// A version of a stored document, the latest if no number is given.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Its name.
    #[schema(min_length = 1)]
    pub name: String,
    /// Number of the version.
    #[schema(minimum = 1)]
    pub version: Option<i64>,
}

/// An order for a plan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewJob {
    /// Name of the plan to be made; `PRODUCT on LINE` if not given.
    #[schema(min_length = 1)]
    pub plan: Option<String>,
    /// The product.
    pub product: Reference,
    /// The line.
    pub line: Reference,
    /// Stored order rules and locks.
    pub locks: Option<Reference>,
    /// Rules and locks as the text of a locks file, instead of stored ones.
    pub rules: Option<String>,
    /// A plan to begin with.
    pub from: Option<Reference>,
    /// Whether everything of its set-up stays where it stands.
    #[serde(default)]
    pub keep_setup: bool,
    /// The side, `top` or `bottom`; the fuller one if not given.
    #[schema(value_type = Option<SideWord>)]
    pub side: Option<domain::product::Side>,
    /// How boards are repeated; a single board if not given.
    #[schema(schema_with = panel)]
    pub panel: Option<domain::job::Panel>,
    /// Time for planning [s].
    #[serde(default = "seconds")]
    #[schema(minimum = 1, maximum = 3600, default = 20)]
    pub seconds: u32,
    /// Seed of the search.
    #[serde(default = "seed")]
    #[schema(minimum = 0, default = 1)]
    pub seed: u64,
}

fn seconds() -> u32 {
    20
}

fn seed() -> u64 {
    1
}

/// A side of a board.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case", as = Side)]
pub enum SideWord {
    /// The top.
    Top,
    /// The bottom.
    Bottom,
}

/// The plan that a job has made.
#[derive(Debug, Serialize, ToSchema)]
pub struct MadePlan {
    /// Its name.
    pub plan: String,
    /// Number of the version.
    pub version: i64,
}

/// How far planning is.
#[derive(Debug, Serialize, ToSchema)]
pub struct Progress {
    /// Share of the time used, 0 to 1.
    pub share: f64,
    /// Seconds of planning, of all attempts.
    pub seconds: f64,
    /// Best takt so far [µs], 0 before the first plan.
    pub takt_us: i64,
    /// Bound, once known [µs].
    pub bound_us: Option<i64>,
}

/// A job.
#[derive(Debug, Serialize, ToSchema)]
pub struct JobView {
    /// Identity.
    pub id: String,
    /// For people.
    pub title: String,
    /// Who ordered it.
    pub author: String,
    /// When [µs since 1970].
    pub created: Stamp,
    /// Where it stands.
    #[schema(value_type = JobState)]
    pub state: State,
    /// How often a worker began it.
    pub attempt: i64,
    /// Whether somebody wants it to stop.
    pub stopping: bool,
    /// How far it is.
    pub progress: Progress,
    /// The plan it has made.
    pub made: Option<MadePlan>,
    /// Why it failed.
    pub why: Option<String>,
    /// When it ended [µs since 1970]; not given before.
    pub ended: Option<Stamp>,
    /// The order, as the room keeps it.
    #[schema(schema_with = anything)]
    pub order: Value,
}

impl From<&Job> for JobView {
    fn from(job: &Job) -> Self {
        let told: Told = serde_json::from_str(&job.progress).unwrap_or_default();
        let made: Option<Made> = serde_json::from_str(&job.result).ok();
        Self {
            id: job.id.clone(),
            title: job.title.clone(),
            author: job.author.clone(),
            created: job.created,
            state: job.state,
            attempt: job.attempt,
            stopping: job.cancel,
            progress: Progress { share: told.share, seconds: told.seconds, takt_us: told.takt_us, bound_us: told.bound_us },
            made: made.map(|m| MadePlan { plan: m.plan, version: m.version }),
            why: (job.state == State::Failed).then(|| job.result.clone()),
            ended: (job.ended > 0).then_some(job.ended),
            order: serde_json::from_str(&job.payload)
                .ok()
                .filter(Value::is_object)
                .unwrap_or_else(|| Value::Object(serde_json::Map::new())),
        }
    }
}

/// One event of a job's stream.
#[derive(ToSchema)]
pub struct LiveMessage {
    /// A `LiveEvent` as JSON.
    #[schema(content_media_type = "application/json")]
    pub data: String,
}

/// What an event of a job tells.
#[derive(ToSchema)]
pub struct LiveEvent {
    /// Where it stands.
    pub state: JobState,
    /// The same in words.
    pub words: String,
    /// How far it is, with what takt and bound were at these seconds.
    #[schema(schema_with = anything)]
    pub told: Live,
    /// The plan it has made.
    pub made: Option<MadePlan>,
    /// Why it failed.
    pub why: Option<String>,
    /// How often a worker began it.
    pub attempt: i64,
}

/// What a request comes from.
#[derive(Debug, Serialize, ToSchema)]
pub struct Me {
    /// Identity of the person.
    pub id: String,
    /// Name of the person.
    pub name: String,
    /// What this request may do.
    #[schema(value_type = RoleWord)]
    pub role: Role,
    /// Whether it came by a token.
    pub by_token: bool,
}

/// Somebody who signs in.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonView {
    /// Identity.
    pub id: String,
    /// Name to sign in with.
    pub name: String,
    /// What the person may do.
    #[schema(value_type = RoleWord)]
    pub role: Role,
    /// Whether signing in is refused.
    pub disabled: bool,
    /// Since when the person is known [µs since 1970].
    pub created: Stamp,
}

impl From<&Person> for PersonView {
    fn from(p: &Person) -> Self {
        Self { id: p.id.clone(), name: p.name.clone(), role: p.role, disabled: p.disabled, created: p.created }
    }
}

/// A change of a person.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonChange {
    /// What the person may do from now on.
    #[schema(value_type = RoleWord)]
    pub role: Role,
    /// Whether signing in is refused from now on.
    pub disabled: bool,
}

/// Access of a program, without its secret.
#[derive(Debug, Serialize, ToSchema)]
pub struct TokenView {
    /// Identity.
    pub id: String,
    /// Name of the person it acts for.
    pub person: String,
    /// What it is for.
    pub label: String,
    /// What it may do; never more than its person.
    #[schema(value_type = RoleWord)]
    pub role: Role,
    /// When it was made [µs since 1970].
    pub created: Stamp,
    /// When it ends [µs since 1970].
    pub expires: Stamp,
    /// Whether it was taken back.
    pub revoked: bool,
}

impl From<&Token> for TokenView {
    fn from(t: &Token) -> Self {
        let (id, person, label) = (t.id.clone(), t.person.clone(), t.label.clone());
        Self { id, person, label, role: t.role, created: t.created, expires: t.expires, revoked: t.revoked }
    }
}

/// A line of the audit log.
#[derive(Debug, Serialize, ToSchema)]
pub struct AuditLine {
    /// When [µs since 1970].
    pub at: Stamp,
    /// Name of the person, or what acted without one.
    pub who: String,
    /// What was done.
    pub action: String,
    /// To what.
    pub subject: String,
    /// More, in words.
    pub detail: String,
}

impl From<Entry> for AuditLine {
    fn from(e: Entry) -> Self {
        Self { at: e.at, who: e.who, action: e.action, subject: e.subject, detail: e.detail }
    }
}

/// Which version is wanted.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Version {
    /// Number of the version; the latest if not given.
    #[param(minimum = 1)]
    pub version: Option<i64>,
}

/// What the checker says of a plan.
#[derive(Debug, Serialize, ToSchema)]
pub struct VerdictView {
    /// Whether every claim of the plan holds.
    pub accepted: bool,
    /// Every claim that does not hold.
    pub violations: Vec<ViolationView>,
    /// The takt as recomputed [µs]; 0 when the plan is too unsound to time.
    pub takt_us: i64,
    /// The bound as recomputed from the certificate [µs]; 0 when it proves nothing.
    pub bound_us: i64,
}

/// A claim that does not hold.
#[derive(Debug, Serialize, ToSchema)]
pub struct ViolationView {
    /// Stable code; see the error index.
    pub code: String,
    /// Where and what, with the values.
    pub detail: String,
}

impl From<app::check::Verdict> for VerdictView {
    fn from(v: app::check::Verdict) -> Self {
        let violations = v.violations.into_iter().map(|x| ViolationView { code: x.code, detail: x.detail }).collect();
        Self { accepted: v.accepted, violations, takt_us: v.takt_us.0, bound_us: v.bound_us.0 }
    }
}

/// What came of reading a designer's files.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadView {
    /// The product that was kept.
    pub document: Document,
    /// Rows to be placed.
    pub fitted: usize,
    /// What each file was taken for.
    pub files: Vec<TakenFile>,
    /// Everything noticed.
    #[schema(schema_with = findings)]
    pub findings: Vec<diag::Finding>,
}

/// What a file was taken for.
#[derive(Debug, Serialize, ToSchema)]
pub struct TakenFile {
    /// Its name.
    pub name: String,
    /// In words.
    pub role: String,
    /// Rows used or compared.
    pub rows: usize,
}

/// Files to be read, as a form.
#[derive(ToSchema)]
pub struct ReadForm {
    /// Files of the designer, or an archive (.zip) of them; the field may occur several times.
    #[schema(value_type = Vec<String>, format = Binary, content_media_type = "application/octet-stream")]
    pub files: Vec<Vec<u8>>,
    /// Mapping file of the customer.
    #[schema(value_type = Option<String>, format = Binary)]
    pub mapping: Option<Vec<u8>>,
    /// Parts table.
    #[schema(value_type = Option<String>, format = Binary)]
    pub table: Option<Vec<u8>>,
    /// Name of the board; that of its files if not given.
    pub name: Option<String>,
    /// Version of the board that this is a revision of; not given for a new board.
    pub base: Option<i64>,
    /// What is new.
    pub note: Option<String>,
}
