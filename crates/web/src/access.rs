//! Who a request comes from: a session of a browser, or the token of a program.

use crate::room::Room;
use crate::trouble::Refusal;
use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use store::Trouble;
use store::people::{Person, Role};
use tower_sessions::Session;

/// The key under which a session holds the identity of its person.
pub const PERSON: &str = "person";
/// Which entry of a session holds [`mark`].
pub const MARK: &str = "mark";
/// Which entry of a session says when it was kept last [µs since 1970].
const KEPT: &str = "kept";

/// The person a request comes from.
#[derive(Clone, Debug)]
pub struct Who {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// What this request may do.
    pub role: Role,
    /// Whether it came by a token and not by a browser's session.
    pub by_token: bool,
}

impl Who {
    /// Whether this request may do what asks for `least`.
    pub fn may(&self, least: Role) -> bool {
        self.role >= least
    }

    fn of(person: Person, by_token: bool) -> Self {
        Self { id: person.id, name: person.name, role: person.role, by_token }
    }
}

/// A handler that takes it is never reached without anybody.
impl<S: Send + Sync> FromRequestParts<S> for Who {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Refusal> {
        parts.extensions.get::<Self>().cloned().ok_or(Refusal::SignIn)
    }
}

/// Whether somebody may pass a door.
///
/// # Errors
/// To the sign-in for nobody, a refusal for a lesser role.
pub fn allowed(who: Option<&Who>, least: Role) -> Result<(), Refusal> {
    match who {
        None => Err(Refusal::SignIn),
        Some(who) if who.may(least) => Ok(()),
        Some(who) => Err(Refusal::Forbidden(format!(
            "This needs the role {}; you are signed in as {}. Ask an administrator if you should have it.",
            least.word(),
            who.role.word()
        ))),
    }
}

/// Finds out who a request comes from, once, for all doors behind.
pub async fn identify(State(room): State<Room>, session: Session, mut request: Request, next: Next) -> Response {
    let found = match bearer(request.headers()) {
        Some(secret) => match room.store.person_of_token(secret).await {
            Ok(person) => Ok(Some(Who::of(person, true))),
            // A wrong token is not nobody: a program that has one wants to know that it does not work.
            Err(Trouble::Missing) => return Refusal::SignIn.json(),
            Err(e) => Err(e),
        },
        None => of_session(&room, &session).await,
    };
    match found {
        Ok(who) => {
            if let Some(who) = who {
                request.extensions_mut().insert(who);
            }
            request.extensions_mut().insert(room);
            next.run(request).await
        }
        Err(e) => Refusal::from(e).into_response(),
    }
}

/// How long a session is used before it is kept anew with a later end [µs]: not with every request, which would write all the time.
const KEEP_AFTER: i64 = 3_600_000_000;

/// What a session notes of the password it began with: when the password is changed, the session ends.
pub fn mark(password: &str) -> String {
    let letters: Vec<char> = password.chars().collect();
    letters[letters.len().saturating_sub(16)..].iter().collect()
}

async fn of_session(room: &Room, session: &Session) -> Result<Option<Who>, Trouble> {
    let failed = |e: tower_sessions::session::Error| Trouble::Database(e.to_string());
    let id: Option<String> = session.get(PERSON).await.map_err(failed)?;
    let Some(id) = id else { return Ok(None) };
    match room.store.person(&id).await {
        // Looked up anew each time: a role taken away, or a person who may not sign in any more, counts at once.
        Ok(person) if !person.disabled => {
            if session.get::<String>(MARK).await.map_err(failed)? != Some(mark(&person.password)) {
                return Ok(None);
            }
            let kept: Option<i64> = session.get(KEPT).await.map_err(failed)?;
            if kept.is_none_or(|at| store::now() - at > KEEP_AFTER) {
                session.insert(KEPT, store::now()).await.map_err(failed)?;
            }
            Ok(Some(Who::of(person, false)))
        }
        Ok(_) | Err(Trouble::Missing) => Ok(None),
        Err(e) => Err(e),
    }
}

fn bearer(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::AUTHORIZATION)?.to_str().ok()?.strip_prefix("Bearer ")
}
