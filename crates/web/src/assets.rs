//! What pages load besides themselves: one style sheet, small scripts, one mark. All of it is in the binary.

use crate::doors::Doors;
use crate::trouble::{Answer, Refusal};
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Name, type and text of each file.
const FILES: &[(&str, &str, &str)] = &[
    ("room.css", "text/css; charset=utf-8", include_str!("../assets/room.css")),
    ("room.js", "text/javascript; charset=utf-8", include_str!("../assets/room.js")),
    ("files.js", "text/javascript; charset=utf-8", include_str!("../assets/files.js")),
    ("live.js", "text/javascript; charset=utf-8", include_str!("../assets/live.js")),
    ("pieces.js", "text/javascript; charset=utf-8", include_str!("../assets/pieces.js")),
    ("plan.css", "text/css; charset=utf-8", include_str!("../assets/plan.css")),
    ("plan.js", "text/javascript; charset=utf-8", include_str!("../assets/plan.js")),
    ("play.js", "text/javascript; charset=utf-8", include_str!("../assets/play.js")),
    ("mark.svg", "image/svg+xml", include_str!("../assets/mark.svg")),
];

/// The ways to them; open to everybody, as the sign-in page needs them.
pub fn doors() -> Doors {
    Doors::default().get("/assets/{name}", None, asset)
}

async fn asset(Path(name): Path<String>) -> Answer<Response> {
    let file = FILES.iter().find(|f| f.0 == name).ok_or_else(|| Refusal::Missing("There is no such file.".to_owned()))?;
    // Short enough that a new program's files are seen soon; the version of the program is no part of the address.
    Ok(([(header::CONTENT_TYPE, file.1), (header::CACHE_CONTROL, "public, max-age=300")], file.2).into_response())
}
