//! The server: doors, the layers in front of them, workers behind.

use crate::config::Config;
use crate::doors::{Door, Doors};
use crate::room::Room;
use crate::session::Sessions;
use crate::trouble::{Problem, Refusal};
use crate::{access, api, assets, pages, queue};
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::{HeaderName, HeaderValue, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::{Json, Router};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use store::people::Role;
use store::{Store, Trouble};
use tokio::net::TcpListener;
use tokio::task::JoinHandle;
use tower_http::CompressionLevel;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_sessions::cookie::SameSite;
use tower_sessions::{Expiry, SessionManagerLayer};

/// Largest upload [bytes].
pub const MOST_UPLOAD: usize = 64 << 20;

/// A session ends after this time without a request [h].
const SESSION_HOURS: i64 = 12;

/// How long a link that lets somebody in works [µs].
pub const INVITATION: i64 = 24 * 3600 * 1_000_000;

/// Nothing but what this server sends, no frame around it, no form that goes elsewhere.
const CONTENT_POLICY: &str =
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// Workers of a room in this process.
pub struct Workers {
    room: Room,
    at_work: Vec<JoinHandle<()>>,
}

impl Workers {
    /// Ends them in good order: jobs are given back with the best plan so far, everything is written.
    pub async fn stop(self) {
        self.end().await.close().await;
    }

    async fn end(self) -> Store {
        self.room.closing.send_replace(true);
        for worker in self.at_work {
            if let Err(e) = worker.await {
                tracing::error!("a worker broke off: {e}");
            }
        }
        self.room.store
    }
}

/// How long answers that are under way are waited for when the room closes.
const LAST_ANSWERS: Duration = Duration::from_secs(10);

/// A running room.
pub struct Started {
    /// Where it listens.
    pub address: SocketAddr,
    /// Path and query of the one-time link for the first administrator, while nobody is known.
    pub first_link: Option<String>,
    serving: JoinHandle<std::io::Result<()>>,
    workers: Workers,
}

impl Started {
    /// Ends it in good order: no new requests, then as [`Workers::stop`].
    ///
    /// # Errors
    /// When the server had broken off.
    pub async fn stop(self) -> std::io::Result<()> {
        let store = self.workers.end().await;
        let mut serving = self.serving;
        // Whoever has sent half a request and sleeps must not keep the room open.
        let served = match tokio::time::timeout(LAST_ANSWERS, &mut serving).await {
            Ok(ended) => ended.map_err(std::io::Error::other)?,
            Err(_) => {
                serving.abort();
                Ok(())
            }
        };
        store.close().await;
        served
    }
}

/// All ways into the room.
pub fn doors() -> Doors {
    pages::doors().with(api::doors()).with(assets::doors())
}

/// Opens the store of a room.
///
/// # Errors
/// When it cannot be opened.
pub async fn open(config: Config) -> Result<Room, Trouble> {
    Ok(Room::new(Store::open(&config.store).await?, config))
}

/// Begins to serve a room, and to work for it.
///
/// # Errors
/// When the address cannot be listened at, or the store fails.
pub async fn start(room: Room) -> Result<Started, Trouble> {
    let first_link = if room.store.is_new().await? {
        let secret = room.store.invite(Role::Administrator, store::now() + INVITATION, store::people::FIRST_START).await?;
        Some(format!("/join?key={secret}"))
    } else {
        None
    };
    let listener = TcpListener::bind(room.config.listen).await.map_err(|e| Trouble::Refused(format!("{}: {e}", room.config.listen)))?;
    let address = listener.local_addr().map_err(|e| Trouble::Refused(e.to_string()))?;
    let workers = work_for(&room).await?;
    let (router, _) = build(&room);
    let mut closing = room.closing.subscribe();
    let gone = async move {
        // An error means that the room is gone, which is an end as well.
        let _ = closing.wait_for(|c| *c).await;
    };
    let service = router.into_make_service_with_connect_info::<SocketAddr>();
    let serving = tokio::spawn(async move { axum::serve(listener, service).with_graceful_shutdown(gone).await });
    Ok(Started { address, first_link, serving, workers })
}

/// Begins to work for a room without serving it.
///
/// # Errors
/// When the store fails.
pub async fn work_for(room: &Room) -> Result<Workers, Trouble> {
    let at_work = queue::start(room, room.config.planners, &room.closing.subscribe()).await?;
    Ok(Workers { room: room.clone(), at_work })
}

/// The router with all its layers, and the table of its doors.
pub fn build(room: &Room) -> (Router, Vec<Door>) {
    let (router, table) = doors().open();
    let sessions = SessionManagerLayer::new(Sessions(room.store.clone()))
        .with_name("room")
        .with_same_site(SameSite::Lax)
        .with_secure(room.config.https)
        .with_expiry(Expiry::OnInactivity(time::Duration::hours(SESSION_HOURS)));
    let put = |name: HeaderName, value: &'static str| SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value));
    let router = router
        .fallback(|| async { Refusal::Missing("There is no such page.".to_owned()) })
        .layer(from_fn_with_state(room.clone(), access::identify))
        .layer(sessions)
        .layer(CsrfLayer::new())
        .layer(DefaultBodyLimit::max(MOST_UPLOAD))
        .layer(from_fn(as_asked))
        .layer(put(header::CONTENT_SECURITY_POLICY, CONTENT_POLICY))
        .layer(put(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(put(header::REFERRER_POLICY, "same-origin"))
        .layer(put(header::CACHE_CONTROL, "no-store"))
        // On a network of a shop floor the time to compress better is longer than the time it saves.
        .layer(CompressionLayer::new().quality(CompressionLevel::Fastest))
        .with_state(room.clone());
    (router, table)
}

/// Tells a refusal as JSON to whoever asked below `/api` or for JSON.
async fn as_asked(request: Request, next: Next) -> Response {
    let wants = |h: &HeaderValue| h.to_str().is_ok_and(|v| v.contains("application/json"));
    let json = request.uri().path().starts_with("/api/") || request.headers().get(header::ACCEPT).is_some_and(wants);
    // No name has it, and not every database takes it as a text to look for.
    let answer = if request.uri().path().contains("%00") {
        Refusal::Missing("There is no such page.".to_owned()).into_response()
    } else {
        next.run(request).await
    };
    match answer.extensions().get::<Arc<Refusal>>() {
        Some(refusal) if json => refusal.json(),
        _ => {
            // What the layers below refuse by themselves comes without a page.
            let form = |a: &Response, t: &[u8]| a.headers().get(header::CONTENT_TYPE).is_some_and(|v| v.as_bytes().starts_with(t));
            let plain = |a: &Response| !form(a, b"text/html");
            if json
                && matches!(answer.status().as_u16(), 400 | 403 | 405 | 415 | 422)
                && plain(&answer)
                && !form(&answer, b"application/json")
            {
                return as_problem(answer);
            }
            let refusal = match answer.status().as_u16() {
                400 | 405 | 415 | 422 if plain(&answer) && answer.extensions().get::<Arc<Refusal>>().is_none() && !json => {
                    Refusal::Wrong("The request is not one that this page sends.".to_owned())
                }
                413 if plain(&answer) => Refusal::TooLarge(format!("At most {} MiB can be sent at once.", MOST_UPLOAD >> 20)),
                _ => return answer,
            };
            if json { refusal.json() } else { refusal.into_response() }
        }
    }
}

/// What the layers below refuse by themselves, for a program: the status stands, and so does what else may be asked.
fn as_problem(answer: Response) -> Response {
    let (status, allowed) = (answer.status(), answer.headers().get(header::ALLOW).cloned());
    let title = match status.as_u16() {
        403 => "The request comes from a page of another site.",
        405 => "This cannot be done here; the header `Allow` says what can.",
        415 => "The body is of a type that is not taken here.",
        _ => "A parameter is not of its type, or the request is none that is taken here.",
    };
    let problem = Problem { status: status.as_u16(), title: title.to_owned(), findings: Vec::new() };
    let mut told = (status, Json(problem)).into_response();
    if let Some(allowed) = allowed {
        told.headers_mut().insert(header::ALLOW, allowed);
    }
    told
}
