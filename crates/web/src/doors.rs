//! Who may pass where: every route with the least role it asks for, in one table.

use crate::access::{Who, allowed};
use crate::room::Room;
use crate::trouble::Refusal;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::handler::Handler;
use axum::http::HeaderMap;
use axum::middleware::{Next, from_fn};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, delete, get, post, put};
use std::net::IpAddr;
use std::time::Duration;
use store::people::Role;
use tower_governor::governor::GovernorConfigBuilder;
use tower_governor::key_extractor::{KeyExtractor, PeerIpKeyExtractor};
use tower_governor::{GovernorError, GovernorLayer};

/// Longest form with a password [bytes].
const MOST_FORM: usize = 16 * 1024;

/// A way in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Door {
    /// HTTP method.
    pub method: &'static str,
    /// Path with its placeholders, `/plans/{name}`.
    pub path: &'static str,
    /// The least role that may pass; `None` is open to everybody.
    pub least: Option<Role>,
}

/// Routes and their doors, gathered together so that neither can be without the other.
#[derive(Default)]
pub struct Doors {
    router: Router<Room>,
    table: Vec<Door>,
}

impl Doors {
    /// Adds what another part of the room offers.
    #[must_use]
    pub fn with(mut self, other: Self) -> Self {
        self.router = self.router.merge(other.router);
        self.table.extend(other.table);
        self
    }

    /// A page or a figure to be read.
    #[must_use]
    pub fn get<H, T>(self, path: &'static str, least: impl Into<Option<Role>>, handler: H) -> Self
    where
        H: Handler<T, Room>,
        T: 'static,
    {
        self.door("GET", path, least.into(), get(handler))
    }

    /// Something to be done.
    #[must_use]
    pub fn post<H, T>(self, path: &'static str, least: impl Into<Option<Role>>, handler: H) -> Self
    where
        H: Handler<T, Room>,
        T: 'static,
    {
        self.door("POST", path, least.into(), post(handler))
    }

    /// Something that must not be tried often, such as a password: ten times at once, then every six seconds, from one address.
    ///
    /// # Panics
    /// Never: the figures are fixed and not zero.
    #[must_use]
    pub fn post_slowly<H, T>(self, path: &'static str, least: impl Into<Option<Role>>, handler: H) -> Self
    where
        H: Handler<T, Room>,
        T: 'static,
    {
        let pace = GovernorConfigBuilder::default().period(Duration::from_secs(6)).burst_size(10).key_extractor(Caller).finish();
        let limit =
            GovernorLayer::new(pace.expect("neither period nor burst is zero")).error_handler(|_| Refusal::TooOften.into_response());
        let route: MethodRouter<Room> = post(handler).layer(DefaultBodyLimit::max(MOST_FORM));
        self.door("POST", path, least.into(), route.layer(limit))
    }

    /// Something to be saved.
    #[must_use]
    pub fn put<H, T>(self, path: &'static str, least: impl Into<Option<Role>>, handler: H) -> Self
    where
        H: Handler<T, Room>,
        T: 'static,
    {
        self.door("PUT", path, least.into(), put(handler))
    }

    /// Something to be removed.
    #[must_use]
    pub fn delete<H, T>(self, path: &'static str, least: impl Into<Option<Role>>, handler: H) -> Self
    where
        H: Handler<T, Room>,
        T: 'static,
    {
        self.door("DELETE", path, least.into(), delete(handler))
    }

    fn door(mut self, method: &'static str, path: &'static str, least: Option<Role>, route: MethodRouter<Room>) -> Self {
        let guarded = match least {
            None => route,
            Some(role) => route.layer(from_fn(move |request, next| guard(role, request, next))),
        };
        self.router = self.router.route(path, guarded);
        self.table.push(Door { method, path, least });
        self
    }

    /// The routes, and the table of their doors.
    pub fn open(self) -> (Router<Room>, Vec<Door>) {
        (self.router, self.table)
    }
}

/// The address a request comes from: the peer's, or what the proxy in front says where one is set up.
#[derive(Clone, Copy, Debug)]
struct Caller;

impl KeyExtractor for Caller {
    type Key = IpAddr;

    fn extract<T>(&self, request: &axum::http::Request<T>) -> Result<IpAddr, GovernorError> {
        let behind_proxy = request.extensions().get::<Room>().is_some_and(|r| r.config.https);
        // Of several addresses the last one is what the proxy itself has seen; those before it are what it was told.
        let told = behind_proxy.then(|| forwarded(request.headers())).flatten();
        match told {
            Some(address) => Ok(network(address)),
            None => PeerIpKeyExtractor.extract(request),
        }
    }
}

/// The address that the proxy in front adds to `X-Forwarded-For`.
fn forwarded(headers: &HeaderMap) -> Option<IpAddr> {
    let last = headers.get_all("x-forwarded-for").iter().next_back()?.to_str().ok()?;
    last.rsplit(',').next()?.trim().parse().ok()
}

/// Somebody with IPv6 has 2⁶⁴ addresses of one network.
fn network(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V6(a) => IpAddr::V6((u128::from(a) >> 64 << 64).into()),
        v4 => v4,
    }
}

/// Lets pass who may; everybody else is refused, and the log says so.
async fn guard(least: Role, request: Request, next: Next) -> Response {
    let who = request.extensions().get::<Who>().cloned();
    match allowed(who.as_ref(), least) {
        Ok(()) => next.run(request).await,
        Err(refusal) => {
            if let (Refusal::Forbidden(_), Some(who), Some(room)) = (&refusal, &who, request.extensions().get::<Room>()) {
                let detail = format!("{} needs {}", request.method(), least.word());
                if let Err(e) = room.store.note(&who.name, "refused", request.uri().path(), &detail).await {
                    tracing::error!("{e}");
                }
            }
            refusal.into_response()
        }
    }
}
