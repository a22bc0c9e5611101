//! The OpenAPI description. What every door refuses alike is added from the table of doors, so that it cannot be forgotten.

use super::types::{Clash, DocumentKind, JobState, LiveEvent, LiveMessage, RoleWord, SideWord};
use super::{documents, jobs, people, plans, read};
use crate::doors::Door;
use crate::trouble::{Problem, Refusal};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde_json::{Map, Value, json};
use std::borrow::Cow;
use std::sync::OnceLock;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{AnyOfBuilder, Ref, Schema};
use utoipa::{OpenApi, PartialSchema, ToSchema};

/// A document that is kept as JSON.
pub struct Stored;

impl PartialSchema for Stored {
    fn schema() -> RefOr<Schema> {
        let all = ["Product", "Library", "Plan"].into_iter().fold(AnyOfBuilder::new(), |b, name| b.item(Ref::from_schema_name(name)));
        RefOr::T(Schema::AnyOf(all.build()))
    }
}

impl ToSchema for Stored {
    fn name() -> Cow<'static, str> {
        "StoredDocument".into()
    }
}

#[derive(OpenApi)]
#[openapi(
    info(title = "evenline planning room", description = "Boards, lines, plans and jobs of a planning room. Every door needs a token, \
        made on one's own page in the room and sent as `Authorization: Bearer TOKEN`; its role says what it may do. \
        Times are microseconds, lengths micrometres, unless a text says its unit."),
    paths(
        document_path, people::me, documents::list, documents::read, documents::save, documents::remove, documents::versions, read::read,
        jobs::all, jobs::order, jobs::one, live_path, jobs::stop, plans::verify, plans::diff, plans::try_out, people::all, people::change,
        people::tokens, people::revoke, people::audit
    ),
    components(schemas(Problem, Clash, DocumentKind, JobState, RoleWord, SideWord, LiveMessage, LiveEvent)),
    tags((name = "documents", description = "Boards, parts, lines, locks, plans and their versions"), (name = "jobs", description = "Planning"),
        (name = "plans", description = "Questions about a plan"), (name = "people", description = "Who may do what"),
        (name = "description", description = "This description"))
)]
struct Api;

/// This description.
#[utoipa::path(get, path = "/api/openapi.json", tag = "description", responses((status = 200, description = "OpenAPI 3.1.", content_type = "application/json")))]
#[allow(dead_code, reason = "stands for the handler `document`, which tells what this describes")]
fn document_path() {}

/// How far a job is, as a stream of events: one now, one whenever something changes, none after its end.
#[utoipa::path(get, path = "/api/jobs/{id}/live", tag = "jobs", params(("id" = String, Path)),
    responses((status = 200, description = "Events; the data of each is a `LiveEvent` as JSON.", body = LiveMessage, content_type = "text/event-stream"),
        (status = 404, description = "No such job.", body = Problem)))]
#[allow(dead_code, reason = "stands for the handler that the pages use too")]
fn live_path() {}

/// The description as a document.
pub async fn document() -> Response {
    static TEXT: OnceLock<String> = OnceLock::new();
    match TEXT.get() {
        Some(text) => ([(header::CONTENT_TYPE, "application/json")], text.as_str()).into_response(),
        None => match description(&super::doors().open().1) {
            Ok(value) => ([(header::CONTENT_TYPE, "application/json")], TEXT.get_or_init(|| value.to_string()).as_str()).into_response(),
            Err(refusal) => refusal.into_response(),
        },
    }
}

/// The description of these doors.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn description(doors: &[Door]) -> Result<Value, Refusal> {
    let mut all = serde_json::to_value(Api::openapi()).map_err(|e| Refusal::Failed(e.to_string()))?;
    let described: Map<String, Value> =
        app::documents::described().into_iter().map(|(name, schema)| (plain(&name), renamed(schema))).collect();
    if let Some(schemas) = all.pointer_mut("/components/schemas").and_then(Value::as_object_mut) {
        for (name, schema) in described {
            // Our own stand for what they share a name with.
            schemas.entry(name).or_insert(schema);
        }
    }
    all["info"]["version"] = json!(env!("CARGO_PKG_VERSION"));
    if let Some(info) = all["info"].as_object_mut() {
        // What the library takes from the package; the program's own pages say it.
        info.retain(|k, _| k != "license" && k != "contact");
    }
    all["components"]["securitySchemes"] =
        json!({ "token": { "type": "http", "scheme": "bearer", "description": "A token of one's own page in the room." } });
    for door in doors {
        let path = format!("/paths/{}/{}", door.path.replace('~', "~0").replace('/', "~1"), door.method.to_ascii_lowercase());
        let Some(operation) = all.pointer_mut(&path) else { continue };
        refusals(operation, door);
    }
    Ok(all)
}

/// What every door refuses alike.
fn refusals(operation: &mut Value, door: &Door) {
    let Some(least) = door.least else { return };
    operation["security"] = json!([{ "token": [] }]);
    let words = operation["description"].as_str().map_or(String::new(), |d| format!("{d}\n\n"));
    operation["description"] = json!(format!("{words}Needs the role {}.", least.word()));
    let has_body = operation.get("requestBody").is_some();
    let problem = json!({ "application/json": { "schema": { "$ref": "#/components/schemas/Problem" } } });
    let mut put = |status: &str, text: &str| {
        let slot = &mut operation["responses"][status];
        if slot.is_null() {
            *slot = json!({ "description": text, "content": problem });
        }
    };
    put("400", "A parameter is not of its type, or the request is none.");
    put("401", "No token, or one that has ended or was taken back.");
    put("403", &format!("The token's role is below {}, or the request comes from a page of another site.", least.word()));
    put("422", "A value is out of range.");
    put("500", "The store failed. Nothing was changed.");
    if has_body {
        put("413", "More was sent than is taken at once.");
        put("415", "The body is of another type than the description says.");
    }
    if door.method == "GET" {
        put("404", "No such thing.");
    }
}

/// Names of schemas hold no blanks.
fn plain(name: &str) -> String {
    name.replace(' ', "-")
}

/// A schema with its references to such names.
fn renamed(mut schema: Value) -> Value {
    match &mut schema {
        Value::Object(map) => {
            for (key, value) in map.iter_mut() {
                let old = value.take();
                *value = match old {
                    Value::String(text) if key == "$ref" => Value::String(text.replace("%20", "-").replace(' ', "-")),
                    other => renamed(other),
                };
            }
        }
        Value::Array(all) => all.iter_mut().for_each(|v| *v = renamed(v.take())),
        _ => {}
    }
    schema
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_types_share_a_name_but_those_that_are_one() {
        let ours = serde_json::to_value(Api::openapi()).expect("JSON");
        let ours = ours["components"]["schemas"].as_object().expect("schemas").clone();
        let shared: Vec<String> = app::documents::described().keys().map(|k| plain(k)).filter(|k| ours.contains_key(k)).collect();
        assert_eq!(shared, ["Side"], "a reference to one would lead to the other");
        assert_eq!(ours["Side"]["enum"], json!(["top", "bottom"]));
    }
}
