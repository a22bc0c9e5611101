//! The API: documents and their versions, reading, jobs, and that its description is true.

mod common;

use common::{Browser, Page, Room, example, example_folder};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use store::people::Role;

/// A program with a token of the administrator.
fn program(room: &Room, role: Role) -> Browser {
    let admin = room.block_on(room.store.person_named("admin")).expect("the first administrator");
    let mut browser = room.browser();
    browser.token = Some(room.block_on(room.store.make_token(&admin, "test", role, store::now() + 600_000_000)).expect("a token"));
    browser
}

fn put(browser: &Browser, path: &str, base: Option<&str>, body: &[u8]) -> Page {
    let mut headers = vec![("content-type", "text/plain")];
    headers.extend(base.map(|b| ("if-match", b)));
    browser.send("PUT", path, &headers, body)
}

#[test]
fn a_document_comes_back_as_it_was_sent() {
    let room = Room::start();
    let p = program(&room, Role::Engineer);
    for (kind, name, body) in
        [("line", "mixed", example("lines/mixed.toml")), ("locks", "river logger", example("locks/river-logger.toml"))]
    {
        let path = format!("/api/{kind}/{}", common::http::escape(name));
        let page = put(&p, &format!("{path}?note=first"), None, &body);
        assert_eq!(page.status, 201, "{}", page.text);
        assert_eq!((page.json()["version"].as_i64(), page.json()["note"].as_str()), (Some(1), Some("first")));
        let back = p.get(&path);
        assert_eq!((back.status, back.bytes.as_slice(), back.header("etag")), (200, body.as_slice(), Some("\"1\"")));
        assert_eq!(p.get(&format!("/api/{kind}")).json()[0]["name"], name);
        let mut longer = body.clone();
        longer.extend_from_slice(b"\n# measured again\n");
        assert_eq!(put(&p, &path, back.header("etag"), &longer).json()["version"], 2);
        assert_eq!(p.get(&path).bytes, longer);
        assert_eq!(p.get(&format!("{path}?version=1")).bytes, body);
        assert_eq!(p.get(&format!("{path}/versions")).json().as_array().map(Vec::len), Some(2));
        assert_eq!(p.send("DELETE", &path, &[("if-match", "\"1\"")], b"").status, 409);
        assert_eq!(p.send("DELETE", &path, &[], b"").status, 422);
        assert_eq!(p.send("DELETE", &path, &[("if-match", "\"2\"")], b"").json()["removed"], true);
        assert_eq!(p.get(&path).status, 404);
        assert_eq!(p.get(&format!("{path}?version=2")).bytes, longer, "versions stay");
    }
}

#[test]
fn a_conflict_tells_the_other_version_and_changes_nothing() {
    let room = Room::start();
    let (p, anna) = (program(&room, Role::Engineer), room.person("anna", "engineer"));
    let body = example("lines/mixed.toml");
    assert_eq!(put(&p, "/api/line/mixed", Some("0"), &body).status, 201);
    let text = String::from_utf8(body.clone()).expect("text");
    assert_eq!(anna.post_files("/lines/mixed", &[("base", "1"), ("text", &text), ("note", "seen")], &[]).status, 303);
    for base in [None, Some("0"), Some("1"), Some("\"1\""), Some("7")] {
        let page = put(&p, "/api/line/mixed", base, &body);
        let told = page.json();
        assert_eq!((page.status, told["status"].as_i64(), told["latest"]["version"].as_i64()), (409, Some(409), Some(2)), "{base:?}");
        assert_eq!((told["latest"]["author"].as_str(), told["latest"]["note"].as_str()), (Some("anna"), Some("seen")));
    }
    for base in ["x", "-1", "\"\"", "W/\"1\"", "1, 2"] {
        assert_eq!(put(&p, "/api/line/mixed", Some(base), &body).status, 422, "{base}");
    }
    assert_eq!(p.get("/api/line/mixed/versions").json().as_array().map(Vec::len), Some(2));
}

#[test]
fn what_pages_refuse_the_api_refuses() {
    let room = Room::start();
    let p = program(&room, Role::Engineer);
    let wrong = |kind: &str, name: &str, body: &[u8]| {
        let page = put(&p, &format!("/api/{kind}/{name}"), None, body);
        assert_eq!(page.status, 422, "{kind} {name}: {}", page.text);
        page.json()
    };
    let text = String::from_utf8(example("lines/mixed.toml")).expect("text");
    let told = wrong("line", "a", text.replace("max_panel", "max_pannel").as_bytes());
    assert_eq!(told["findings"][0]["code"], "line.unknown-key");
    assert!(told["findings"][0]["line"].as_i64() > Some(1));
    assert_eq!(wrong("locks", "a", b"order_rul = 1")["findings"][0]["code"], "plan.lock-syntax");
    wrong("line", "a", b"\xff\xfe");
    wrong("line", "new", text.as_bytes());
    wrong("line", "a%2Fb", text.as_bytes());
    wrong("files", "a", b"PK");
    wrong("library", "another", b"{}");
    wrong("library", "parts", b"{}");
    wrong("product", "a", b"Ref,X,Y\nR1,1,2\n");
    wrong("plan", "a", b"{}");
    assert_eq!(put(&p, "/api/recipe/a", None, b"").status, 404);
    assert_eq!(p.get("/api/line").json(), json!([]), "nothing was kept");
    assert_eq!(put(&p, "/api/line/a", None, &vec![b'#'; (1 << 20) + 1]).status, 413);
    assert_eq!(put(&program(&room, Role::Operator), "/api/line/a", None, text.as_bytes()).status, 403);
}

#[test]
fn files_are_read_planned_checked_and_compared() {
    let room = Room::start_planning();
    let p = program(&room, Role::Engineer);
    let files = example_folder("products/gauge-node");
    let sent: Vec<(&str, &common::File)> = files.iter().map(|f| ("files", f)).collect();
    let read = p.post_files("/api/read", &[("name", "gauge"), ("note", "from the designer")], &sent);
    assert_eq!(read.status, 201, "{}", read.text);
    assert!(read.json()["fitted"].as_i64() > Some(0) && read.json()["document"]["version"] == 1);
    assert_eq!(p.post_files("/api/read", &[("name", "gauge"), ("base", "9")], &sent).status, 409);
    let page = p.post_files("/api/read", &[], &[("files", &common::File::new("a.csv", "no list of anything"))]);
    assert_eq!(page.status, 422);
    assert!(page.json()["findings"].as_array().is_some_and(|f| !f.is_empty()), "{}", page.text);
    // The product is a document like others, and the name within follows that of the address.
    let product = p.get("/api/product/gauge");
    assert_eq!((product.status, product.json()["name"].as_str()), (200, Some("gauge")));
    assert_eq!(put(&p, "/api/product/twin", None, &product.bytes).status, 201);
    assert_eq!(p.get("/api/product/twin").json()["name"], "twin");
    assert_eq!(put(&p, "/api/line/one", None, &example("lines/one-station.toml")).status, 201);
    let order = json!({ "plan": "a", "product": { "name": "gauge" }, "line": { "name": "one" }, "seconds": 2 });
    let job = p.send_json("POST", "/api/jobs", &order);
    assert_eq!(job.status, 201, "{}", job.text);
    let id = job.json()["id"].as_str().expect("an identity").to_owned();
    let events: Vec<Value> = p.stream(&format!("/api/jobs/{id}/live")).map(|e| serde_json::from_str(&e).expect("JSON")).collect();
    let last = events.last().expect("an event");
    assert_eq!((last["state"].as_str(), last["made"]["plan"].as_str()), (Some("done"), Some("a")), "{last}");
    assert_eq!(p.get(&format!("/api/jobs/{id}")).json()["made"]["version"], 1);
    let verdict = p.get("/api/plans/a/verify").json();
    assert_eq!(verdict["accepted"], true, "{verdict}");
    // A plan that was made here can be kept again; one that was changed by hand is refused with what does not hold.
    let plan = p.get("/api/plan/a");
    assert_eq!(put(&p, "/api/plan/b", None, &plan.bytes).status, 201);
    let mut doctored = plan.json();
    doctored["takt_us"] = json!(1);
    let page = put(&p, "/api/plan/c", None, doctored.to_string().as_bytes());
    assert_eq!(page.status, 422);
    assert!(
        page.json()["findings"].as_array().is_some_and(|f| f.iter().all(|f| f["code"].as_str().is_some_and(|c| c.starts_with("verify.")))),
        "{}",
        page.text
    );
    let diff = p.get("/api/plans/a/diff?with=b").json();
    assert_eq!((diff["parts"].as_array().map(Vec::len), diff["moves"]["moved"].as_i64()), (Some(0), Some(0)), "{diff}");
    // A change by hand is priced, and nothing is kept.
    let supply = &plan.json()["stations"][0]["supplies"][0];
    let part = plan.json()["product"]["parts"][supply["part"].as_u64().expect("an index") as usize]["number"].clone();
    let station = plan.json()["line"]["station"][0]["name"].clone();
    let page = p.send_json("POST", "/api/plans/a/try", &json!({ "change": "move-part", "part": part, "to": station }));
    assert!(matches!(page.status, 200 | 422), "{}", page.text);
    assert_eq!(p.send_json("POST", "/api/plans/a/try", &json!({ "change": "nothing" })).status, 422);
    assert_eq!(p.get("/api/plan/a/versions").json().as_array().map(Vec::len), Some(1));
    // Every answer is as it is described.
    let api = Described::of(&p);
    for (path, door) in [
        ("/api/product", "/api/{kind}"),
        ("/api/plan/a/versions", "/api/{kind}/{name}/versions"),
        ("/api/product/gauge", "/api/{kind}/{name}"),
        ("/api/plan/a", "/api/{kind}/{name}"),
        ("/api/jobs", "/api/jobs"),
        (&format!("/api/jobs/{id}"), "/api/jobs/{id}"),
        ("/api/plans/a/verify", "/api/plans/{name}/verify"),
        ("/api/plans/a/diff?with=b", "/api/plans/{name}/diff"),
        ("/api/plans/none/diff?with=b", "/api/plans/{name}/diff"),
    ] {
        api.holds("get", door, &p.get(path));
    }
    api.holds("post", "/api/plans/{name}/try", &page);
    api.holds("post", "/api/read", &read);
    api.holds("post", "/api/jobs", &job);
    api.holds("put", "/api/{kind}/{name}", &put(&p, "/api/plan/c", None, b"{}"));
    api.holds("put", "/api/{kind}/{name}", &put(&p, "/api/plan/b", None, &plan.bytes));
}

#[test]
fn orders_that_cannot_be_are_refused_at_once() {
    let room = Room::start();
    let p = program(&room, Role::Engineer);
    let files = example_folder("products/gauge-node");
    let sent: Vec<(&str, &common::File)> = files.iter().map(|f| ("files", f)).collect();
    assert_eq!(p.post_files("/api/read", &[("name", "gauge")], &sent).status, 201);
    assert_eq!(put(&p, "/api/line/one", None, &example("lines/one-station.toml")).status, 201);
    let status = |change: Value| {
        let mut order = json!({ "product": { "name": "gauge" }, "line": { "name": "one" } });
        for (key, value) in change.as_object().expect("an object") {
            order[key] = value.clone();
        }
        p.send_json("POST", "/api/jobs", &order).status
    };
    assert_eq!(status(json!({})), 201);
    assert_eq!(status(json!({ "product": { "name": "none" } })), 404);
    assert_eq!(status(json!({ "line": { "name": "one", "version": 3 } })), 404);
    for wrong in [
        json!({ "seconds": 0 }),
        json!({ "seconds": 3601 }),
        json!({ "plan": "new" }),
        json!({ "plan": "a/b" }),
        json!({ "rules": "order_rul = 1" }),
        json!({ "keep_setup": true }),
        json!({ "panel": { "columns": 0, "rows": 1, "pitch_x_um": 0, "pitch_y_um": 0 } }),
        json!({ "panel": { "columns": 4_000_000_000_u32, "rows": 4_000_000_000_u32, "pitch_x_um": 1, "pitch_y_um": 1 } }),
        json!({ "side": "front" }),
        json!({ "more": 1 }),
    ] {
        assert_eq!(status(wrong.clone()), 422, "{wrong}");
    }
    let job = p.get("/api/jobs").json()[0]["id"].as_str().expect("the one that was ordered").to_owned();
    assert_eq!(p.send("POST", &format!("/api/jobs/{job}/stop"), &[], b"").json()["state"], "stopped");
}

#[test]
fn administrators_see_people_tokens_and_the_log() {
    let room = Room::start();
    let p = program(&room, Role::Administrator);
    let _anna = room.person("anna", "engineer");
    let api = Described::of(&p);
    for path in ["/api/me", "/api/people", "/api/tokens", "/api/audit"] {
        let page = p.get(path);
        assert_eq!(page.status, 200, "{path}");
        api.holds("get", path, &page);
    }
    let id = p.get("/api/people").json().as_array().expect("a list").iter().find(|x| x["name"] == "anna").expect("anna")["id"].clone();
    let path = format!("/api/people/{}", id.as_str().expect("an identity"));
    // Whoever steals a token must not be able to stay: by it, nobody is given more than they have.
    let more = |role: &str, disabled: bool| p.send_json("PUT", &path, &json!({ "role": role, "disabled": disabled })).status;
    assert_eq!(more("administrator", false), 403);
    let changed = p.send_json("PUT", &path, &json!({ "role": "viewer", "disabled": true }));
    assert_eq!((changed.json()["role"].as_str(), changed.json()["disabled"].as_bool()), (Some("viewer"), Some(true)));
    assert_eq!((more("viewer", false), more("engineer", true)), (403, 403));
    // The log in pages: the last line of one is not the first of the next.
    let first = p.get("/api/audit?most=2").json();
    let before = first[1]["at"].as_i64().expect("a time");
    let next = p.get(&format!("/api/audit?most=1&before={before}")).json();
    assert!(next[0]["at"].as_i64() < Some(before));
    assert_eq!(p.get("/api/audit?most=0").status, 422);
    let token = p.get("/api/tokens").json()[0]["id"].as_str().expect("an identity").to_owned();
    assert_eq!(p.send("DELETE", &format!("/api/tokens/{token}"), &[], b"").json()["revoked"], true);
    assert_eq!(p.get("/api/me").status, 401, "it was its own");
}

#[test]
fn refusals_are_json_whatever_refuses() {
    let room = Room::start();
    let p = program(&room, Role::Operator);
    for (method, path, body, status) in [
        ("GET", "/api/none", "", 404),
        ("GET", "/api/none/of/these/doors", "", 404),
        ("GET", "/api/line/a?version=x", "", 400),
        ("GET", "/api/line/a?version=99999999999999999999", "", 400),
        ("PATCH", "/api/line", "", 405),
        ("GET", "/api/people", "", 403),
        ("GET", "/api/line/%FF", "", 400),
        ("GET", "/api/line/%00/versions", "", 404),
    ] {
        let page = p.send(method, path, &[("content-type", "application/json")], body.as_bytes());
        assert_eq!(page.status, status, "{method} {path}: {}", page.text);
        assert_eq!(page.json()["status"].as_u64(), Some(status.into()), "{method} {path}");
    }
    let engineer = program(&room, Role::Engineer);
    assert!(engineer.send("PATCH", "/api/line", &[], b"").header("allow").is_some_and(|v| v.contains("GET")));
    assert_eq!(engineer.send("POST", "/api/jobs", &[("content-type", "application/json")], b"{").json()["status"], 422);
    assert_eq!(engineer.send("POST", "/api/read", &[("content-type", "text/plain")], b"x").json()["status"], 400);
    assert_eq!(room.browser().get("/api/me").json()["status"], 401);
}

#[test]
fn the_description_has_exactly_the_doors() {
    let room = Room::start();
    let all = room.browser().see("/api/openapi.json").json();
    assert!(all["openapi"].as_str().is_some_and(|v| v.starts_with("3.1")), "{}", all["openapi"]);
    let mut described = BTreeSet::new();
    for (path, item) in all["paths"].as_object().expect("paths") {
        for (method, operation) in item.as_object().expect("operations") {
            described.insert((path.clone(), method.to_ascii_uppercase()));
            let door = format!("{method} {path}");
            assert!(operation["summary"].is_string() || operation["description"].is_string(), "{door} says nothing");
            let open = path == "/api/openapi.json";
            assert_eq!(operation["security"].is_array(), !open, "{door}");
            for status in if open { [].as_slice() } else { ["401", "403", "500"].as_slice() } {
                assert!(operation["responses"][status].is_object(), "{door} has no {status}");
            }
        }
    }
    let doors = web::serve::doors().open().1;
    let real: BTreeSet<(String, String)> =
        doors.iter().filter(|d| d.path.starts_with("/api/")).map(|d| (d.path.to_owned(), d.method.to_owned())).collect();
    assert_eq!(described, real);
    // Nothing refers to what is not there, and names are what names may be.
    let schemas = all["components"]["schemas"].as_object().expect("schemas");
    assert!(schemas.keys().all(|k| k.chars().all(|c| c.is_ascii_alphanumeric() || ".-_".contains(c))), "{:?}", schemas.keys());
    let text = all.to_string();
    for rest in text.split("\"#/components/schemas/").skip(1) {
        let name = rest.split('"').next().unwrap_or_default();
        assert!(schemas.contains_key(name), "`{name}` is not described");
    }
}

/// The description, to hold answers against it. Knows what the description uses of JSON Schema.
struct Described(Value);

impl Described {
    fn of(browser: &Browser) -> Self {
        Self(browser.see("/api/openapi.json").json())
    }

    fn holds(&self, method: &str, door: &str, page: &Page) {
        let answer = &self.0["paths"][door][method]["responses"][page.status.to_string()];
        assert!(answer.is_object(), "{method} {door}: {} is not described", page.status);
        let form = page.header("content-type").unwrap_or_default().split(';').next().unwrap_or_default().trim();
        let schema = &answer["content"][form]["schema"];
        assert!(schema.is_object(), "{method} {door}: {} as {form} is not described", page.status);
        if let Err(why) = self.fits(schema, &page.json()) {
            panic!("{method} {door}, {}: {why}", page.status);
        }
    }

    fn fits(&self, schema: &Value, value: &Value) -> Result<(), String> {
        if schema == &Value::Bool(true) {
            return Ok(());
        }
        if let Some(name) = schema["$ref"].as_str() {
            let target = self.0.pointer(name.trim_start_matches('#')).ok_or_else(|| format!("{name} is missing"))?;
            return self.fits(target, value).map_err(|e| format!("{name}: {e}"));
        }
        for (key, most) in [("anyOf", usize::MAX), ("oneOf", 1)] {
            let Some(all) = schema[key].as_array() else { continue };
            let tried: Vec<Result<(), String>> = all.iter().map(|s| self.fits(s, value)).collect();
            let n = tried.iter().filter(|r| r.is_ok()).count();
            if n == 0 || n > most {
                return Err(format!("{n} of {key} fit: {:?}", tried.into_iter().filter_map(Result::err).collect::<Vec<_>>()));
            }
        }
        let is = |kind: &str| match kind {
            "null" => value.is_null(),
            "boolean" => value.is_boolean(),
            "string" => value.is_string(),
            "integer" => value.is_i64() || value.is_u64(),
            "number" => value.is_number(),
            "array" => value.is_array(),
            _ => value.is_object(),
        };
        let kinds: Vec<&str> = match &schema["type"] {
            Value::String(one) => vec![one],
            Value::Array(all) => all.iter().filter_map(Value::as_str).collect(),
            _ => Vec::new(),
        };
        let short: String = value.to_string().chars().take(80).collect();
        if !kinds.is_empty() && !kinds.iter().any(|k| is(k)) {
            return Err(format!("{short} is no {kinds:?}"));
        }
        if schema["enum"].as_array().is_some_and(|all| !all.contains(value)) || (!schema["const"].is_null() && schema["const"] != *value) {
            return Err(format!("{short} is none of {} {}", schema["enum"], schema["const"]));
        }
        if let (Some(least), Some(n)) = (schema["minimum"].as_f64(), value.as_f64())
            && n < least
        {
            return Err(format!("{short} is less than {least}"));
        }
        if let Some(map) = value.as_object() {
            for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
                if !map.contains_key(key) {
                    return Err(format!("`{key}` is missing in {short}"));
                }
            }
            for (key, inner) in map {
                let of = schema["properties"].get(key).unwrap_or(&schema["additionalProperties"]);
                match of {
                    Value::Bool(false) => return Err(format!("`{key}` is not described")),
                    Value::Object(_) => self.fits(of, inner).map_err(|e| format!("{key}: {e}"))?,
                    _ => {}
                }
            }
        }
        if let Some(list) = value.as_array()
            && schema["items"].is_object()
        {
            for (i, inner) in list.iter().enumerate() {
                self.fits(&schema["items"], inner).map_err(|e| format!("[{i}]: {e}"))?;
            }
        }
        Ok(())
    }
}
