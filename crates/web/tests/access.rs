//! Who may pass where: every door with every role, and the ways around doors.

mod common;

use common::{Browser, PASSWORD, Page, Room};
use std::fmt::Write as _;
use std::io::{Read, Write as _};
use std::net::{SocketAddr, TcpStream};
use store::people::{ROLES, Role};
use web::doors::Door;

/// All doors, in the order of the printed table.
fn doors() -> Vec<Door> {
    let mut all = web::serve::doors().open().1;
    all.sort_by_key(|d| (d.path, d.method));
    all
}

/// An address behind a door; nothing of the names in it exists.
fn address(door: &Door) -> String {
    let piece = |p: &str| match p {
        "{kind}" => "line".to_owned(),
        "{n}" => "1".to_owned(),
        p if p.starts_with('{') => "nothing-of-this-name".to_owned(),
        p => p.to_owned(),
    };
    door.path.split('/').map(piece).collect::<Vec<_>>().join("/")
}

fn knock(browser: &Browser, door: &Door) -> Page {
    let form = [("content-type", "application/x-www-form-urlencoded")];
    browser.send(door.method, &address(door), &form, if door.method == "GET" { b"" } else { b"x=y" })
}

/// Whether an answer says that somebody else is wanted.
fn is_refused(page: &Page) -> bool {
    matches!(page.status, 401 | 403) || (page.status == 303 && page.location() == "/sign-in")
}

#[test]
fn every_door_lets_in_exactly_its_roles() {
    let room = Room::start();
    let browsers: Vec<(Role, Browser)> = ROLES.iter().map(|r| (*r, room.as_role(r.word()))).collect();
    let nobody = room.browser();
    let mut all = doors();
    // Whoever passes it is nobody afterwards.
    all.sort_by_key(|d| d.path == "/sign-out");
    for door in &all {
        let page = knock(&nobody, door);
        if door.path != "/sign-out" {
            assert_eq!(is_refused(&page), door.least.is_some(), "nobody at {} {}: {} {}", door.method, door.path, page.status, page.text);
        }
        for (role, browser) in &browsers {
            let page = knock(browser, door);
            let may = door.least.is_none_or(|least| *role >= least);
            if door.path == "/sign-out" {
                assert_eq!((page.status, page.location()), (303, "/sign-in"));
            } else if may {
                assert!(!is_refused(&page), "{} at {} {}: {} {}", role.word(), door.method, door.path, page.status, page.text);
            } else {
                assert_eq!(page.status, 403, "{} at {} {}: {}", role.word(), door.method, door.path, page.text);
            }
            assert!(page.status < 500, "{} at {} {}: {} {}", role.word(), door.method, door.path, page.status, page.text);
        }
    }
    assert!(all.iter().filter(|d| d.path != "/sign-out").count() + 1 == all.len(), "there is one way out");
}

#[test]
fn tokens_are_let_in_like_their_role() {
    let room = Room::start();
    let admin = room.block_on(room.store.person_named("admin")).expect("the first administrator");
    let token = |role: Role| {
        let mut browser = room.browser();
        browser.token = Some(room.block_on(room.store.make_token(&admin, "test", role, store::now() + 60_000_000)).expect("a token"));
        browser
    };
    for role in ROLES {
        let browser = token(role);
        for door in doors().iter().filter(|d| d.path.starts_with("/api/")) {
            let page = knock(&browser, door);
            let may = door.least.is_none_or(|least| role >= least);
            assert_eq!(page.status == 403, !may, "{} at {} {}: {} {}", role.word(), door.method, door.path, page.status, page.text);
            assert!(
                page.status != 401 && page.status < 500,
                "{} at {} {}: {} {}",
                role.word(),
                door.method,
                door.path,
                page.status,
                page.text
            );
        }
    }
}

#[test]
fn the_printed_table_is_the_table_of_doors() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/access.md");
    let mut printed = String::from(
        "# Who may pass where\n\nEvery address of the planning room with the least role that may use it; each role may do all that those before it may:\n\
         viewer, operator, engineer, administrator. *Everybody* needs no sign-in. The table is printed from the program\n\
         (`UPDATE_GOLDEN=1 cargo test -p web --test access`); the same test tries every address with every role.\n\n\
         | method | address | least role |\n|---|---|---|\n",
    );
    for door in doors() {
        // Writing into a string does not fail.
        let _ = writeln!(printed, "| {} | `{}` | {} |", door.method, door.path, door.least.map_or("everybody", Role::word));
    }
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(path, &printed).expect("docs/access.md can be written");
    }
    let kept = std::fs::read_to_string(path).expect("docs/access.md");
    assert!(kept == printed, "docs/access.md is stale: run UPDATE_GOLDEN=1 cargo test -p web --test access");
}

#[test]
fn only_what_must_be_is_open_to_everybody() {
    let open: Vec<String> = doors().iter().filter(|d| d.least.is_none()).map(|d| format!("{} {}", d.method, d.path)).collect();
    let expected =
        ["GET /api/openapi.json", "GET /assets/{name}", "GET /join", "POST /join", "GET /sign-in", "POST /sign-in", "POST /sign-out"];
    assert_eq!(open, expected);
}

/// A request as it is written, without what the small browser adds.
fn raw(address: SocketAddr, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> String {
    let mut socket = TcpStream::connect(address).expect("the room listens");
    let mut text = format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
    for (name, value) in headers {
        let _ = write!(text, "{name}: {value}\r\n");
    }
    socket.write_all(format!("{text}\r\n{body}").as_bytes()).expect("the room takes the request");
    let mut answer = Vec::new();
    socket.read_to_end(&mut answer).expect("an answer");
    String::from_utf8_lossy(&answer).into_owned()
}

/// The cookie of a fresh sign-in, `name=value`, and everything the answer says of it.
fn sign_in(room: &Room, name: &str) -> (String, String) {
    let page = room.browser().post_form("/sign-in", &[("name", name), ("password", PASSWORD)]);
    assert_eq!((page.status, page.location()), (303, "/"), "{}", page.text);
    let all = page.header("set-cookie").expect("a session").to_owned();
    (all.split(';').next().unwrap_or_default().to_owned(), all)
}

#[test]
fn a_form_of_another_site_is_refused() {
    let room = Room::start();
    let (cookie, _) = sign_in(&room, "admin");
    let form = ("Content-Type", "application/x-www-form-urlencoded");
    let cookie = ("Cookie", cookie.as_str());
    for path in ["/people/invite", "/sign-in", "/me/tokens", "/api/jobs"] {
        let answer = raw(
            room.address,
            "POST",
            path,
            &[form, cookie, ("Origin", "http://evil.example"), ("Sec-Fetch-Site", "cross-site")],
            "role=viewer",
        );
        assert!(answer.starts_with("HTTP/1.1 403"), "{path}: {answer}");
        // An old browser says only where it comes from.
        let answer = raw(room.address, "POST", path, &[form, cookie, ("Origin", "http://evil.example")], "role=viewer");
        assert!(answer.starts_with("HTTP/1.1 403"), "{path}: {answer}");
    }
    let own = format!("http://{}", room.address);
    let answer =
        raw(room.address, "POST", "/people/invite", &[form, cookie, ("Origin", &own), ("Sec-Fetch-Site", "same-origin")], "role=viewer");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

#[test]
fn the_cookie_is_no_script_s_and_no_other_site_s() {
    let room = Room::start();
    let (_, all) = sign_in(&room, "admin");
    assert!(all.contains("HttpOnly") && all.contains("SameSite=Lax") && all.contains("Path=/"), "{all}");
    assert!(!all.contains("Secure"), "without HTTPS a secure cookie would never come back: {all}");
    let behind_proxy = Room::start_with(|c| c.https = true);
    // A proxy in front says where a request comes from.
    let headers = [("content-type", "application/x-www-form-urlencoded"), ("x-forwarded-for", "192.0.2.7")];
    let body = format!("name=admin&password={}", PASSWORD.replace(' ', "+"));
    let page = behind_proxy.browser().send("POST", "/sign-in", &headers, body.as_bytes());
    assert!(page.header("set-cookie").is_some_and(|c| c.contains("Secure")), "{:?}", page.headers);
}

#[test]
fn every_answer_has_the_headers_that_browsers_heed() {
    let room = Room::start();
    for path in ["/", "/people", "/no-such-page", "/api/me", "/api/none", "/assets/room.css", "/api/openapi.json"] {
        let page = room.admin.get(path);
        let policy = page.header("content-security-policy").unwrap_or_else(|| panic!("{path} has no policy"));
        assert!(
            policy.contains("default-src 'self'") && policy.contains("frame-ancestors 'none'") && !policy.contains("unsafe"),
            "{path}: {policy}"
        );
        assert_eq!(page.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(page.header("referrer-policy"), Some("same-origin"), "{path}");
        assert!(page.header("cache-control").is_some(), "{path}");
        assert!(!page.text.contains(" style=\"") && !page.text.contains("onclick="), "{path}");
    }
}

#[test]
fn passwords_cannot_be_tried_often() {
    let room = Room::start();
    let tries = || room.browser().post_form("/sign-in", &[("name", "admin"), ("password", "ten letters long")]).status;
    let all: Vec<u16> = (0..14).map(|_| tries()).collect();
    assert_eq!(all[..8], [401; 8], "{all:?}");
    assert!(all.contains(&429), "{all:?}");
    // Whoever is in is not locked out by it.
    assert_eq!(room.admin.get("/").status, 200);
}

/// Whether a cookie lets in.
fn works(room: &Room, cookie: &str) -> bool {
    let page = room.browser().send("GET", "/", &[("cookie", cookie)], b"");
    assert!(page.status == 200 || (page.status == 303 && page.location() == "/sign-in"), "{cookie}: {} {}", page.status, page.text);
    page.status == 200
}

#[test]
fn an_old_or_made_up_session_lets_nobody_in() {
    let room = Room::start();
    let (cookie, _) = sign_in(&room, "admin");
    assert!(works(&room, &cookie));
    let id = cookie.split_once('=').expect("a name and a value").1;
    for made_up in [
        "room=",
        "room=x",
        "room=%00",
        "room=../../etc/passwd",
        "room=AAAAAAAAAAAAAAAAAAAAAA",
        &format!("room={id}A"),
        &format!("Room={id}"),
        "room=é",
    ] {
        assert!(!works(&room, made_up), "{made_up}");
    }
    // One that has ended by itself.
    let data = room.block_on(room.store.session(id)).expect("the store").expect("the session is kept");
    room.block_on(room.store.keep_session(id, &data, store::now() - 1, false)).expect("the store");
    assert!(!works(&room, &cookie));
    // One that was ended: whoever copied the cookie has nothing.
    let (copied, _) = sign_in(&room, "admin");
    assert!(works(&room, &copied));
    room.browser().send("POST", "/sign-out", &[("cookie", &copied)], b"");
    assert!(!works(&room, &copied));
    // What is in the database is no cookie.
    assert!(room.block_on(room.store.session(&store::secret::hash(id))).expect("the store").is_none());
}

#[test]
fn an_old_or_made_up_token_lets_nobody_in() {
    let room = Room::start();
    let admin = room.block_on(room.store.person_named("admin")).expect("the first administrator");
    let status = |token: &str| room.browser().send("GET", "/api/me", &[("authorization", &format!("Bearer {token}"))], b"").status;
    let good = room.block_on(room.store.make_token(&admin, "good", Role::Viewer, store::now() + 60_000_000)).expect("a token");
    let old = room.block_on(room.store.make_token(&admin, "old", Role::Viewer, store::now() - 1)).expect("a token");
    assert_eq!(status(&good), 200);
    for bad in [old.as_str(), "", "x", &good[1..], &format!("{good}0"), "' OR 1=1 --"] {
        assert_eq!(status(bad), 401, "{bad}");
    }
    // A wrong token is not made good by a session that the browser has as well.
    let page = room.admin.send("GET", "/api/me", &[("authorization", "Bearer x")], b"");
    assert_eq!((page.status, page.json()["status"].as_u64()), (401, Some(401)));
    let id = room.block_on(room.store.tokens(None)).expect("tokens").into_iter().find(|t| t.label == "good").expect("it is listed").id;
    assert_eq!(room.admin.post_form(&format!("/people/tokens/{id}/revoke"), &[]).status, 303);
    assert_eq!(status(&good), 401);
}

fn id_of(room: &Room, name: &str) -> String {
    room.block_on(room.store.person_named(name)).expect("a person").id
}

#[test]
fn a_change_of_role_counts_at_once() {
    let room = Room::start();
    let anna = room.person("anna", "engineer");
    let mut program = room.browser();
    let person = room.block_on(room.store.person_named("anna")).expect("anna");
    program.token =
        Some(room.block_on(room.store.make_token(&person, "test", Role::Engineer, store::now() + 60_000_000)).expect("a token"));
    assert_eq!(anna.get("/lines/new").status, 200);
    let to = format!("/people/{}", id_of(&room, "anna"));
    assert_eq!(room.admin.post_form(&to, &[("role", "viewer"), ("may", "yes")]).status, 303);
    assert_eq!(anna.get("/lines/new").status, 403);
    // The token was made for more than its person may now.
    assert_eq!(program.get("/api/me").json()["role"], "viewer");
    assert_eq!(room.admin.post_form(&to, &[("role", "administrator"), ("may", "yes")]).status, 303);
    assert_eq!(anna.get("/people").status, 200);
    // The refusal is in the log, with who and where.
    let log = room.admin.see("/audit").words();
    assert!(log.contains("refused") && log.contains("/lines/new") && log.contains("change person"), "{log}");
}

#[test]
fn whoever_is_switched_off_is_out_at_once() {
    let room = Room::start();
    let anna = room.person("anna", "engineer");
    let person = room.block_on(room.store.person_named("anna")).expect("anna");
    let mut program = room.browser();
    program.token =
        Some(room.block_on(room.store.make_token(&person, "test", Role::Engineer, store::now() + 60_000_000)).expect("a token"));
    assert_eq!((anna.get("/").status, program.get("/api/me").status), (200, 200));
    assert_eq!(room.admin.post_form(&format!("/people/{}", person.id), &[("role", "engineer")]).status, 303);
    assert!(is_refused(&anna.get("/")));
    assert_eq!(program.get("/api/me").status, 401);
    let page = room.browser().post_form("/sign-in", &[("name", "anna"), ("password", PASSWORD)]);
    assert_eq!(page.status, 401);
    assert!(room.admin.see("/people").words().contains("switched off"));
}

#[test]
fn the_last_administrator_stays() {
    let room = Room::start();
    let to = format!("/people/{}", id_of(&room, "admin"));
    assert_eq!(room.admin.post_form(&to, &[("role", "viewer"), ("may", "yes")]).status, 422);
    assert_eq!(room.admin.post_form(&to, &[("role", "administrator")]).status, 422);
    assert_eq!(room.admin.get("/people").status, 200);
}

#[test]
fn a_link_lets_one_person_in_once_with_its_role() {
    let room = Room::start();
    let page = room.admin.post_form("/people/invite", &[("role", "operator")]);
    let key: String =
        page.text.split_once("/join?key=").expect("the link is shown").1.chars().take_while(char::is_ascii_alphanumeric).collect();
    assert!(!room.admin.see("/people").text.contains(&key), "it is shown once");
    let join = |browser: &Browser, name: &str| {
        browser.post_form("/join", &[("key", &key), ("name", name), ("password", PASSWORD), ("again", PASSWORD)]).status
    };
    let bert = room.browser();
    assert_eq!(room.browser().get(&format!("/join?key={key}")).status, 200);
    assert_eq!(join(&bert, "bert"), 303);
    assert_eq!(bert.get("/api/me").json()["role"], "operator");
    assert_eq!(join(&room.browser(), "carl"), 404);
    assert_eq!(room.browser().get(&format!("/join?key={key}")).status, 404);
}

#[test]
fn a_token_lets_nobody_else_in_and_does_not_lock_its_person_out() {
    let room = Room::start();
    let admin = room.block_on(room.store.person_named("admin")).expect("the first administrator");
    let mut program = room.browser();
    program.token =
        Some(room.block_on(room.store.make_token(&admin, "test", Role::Administrator, store::now() + 60_000_000)).expect("a token"));
    assert_eq!(program.post_form("/people/invite", &[("role", "administrator")]).status, 403);
    assert_eq!(program.post_form("/me/tokens", &[("label", "more"), ("role", "administrator"), ("days", "700")]).status, 403);
    let change = serde_json::json!({ "role": "viewer", "disabled": true });
    assert_eq!(program.send_json("PUT", &format!("/api/people/{}", admin.id), &change).status, 403);
}

/// Who is behind a proxy is what the proxy has seen, not what somebody says of himself.
#[test]
fn an_invented_address_does_not_help_to_try_passwords() {
    let room = Room::start_with(|c| c.https = true);
    let nobody = room.browser();
    let form = format!("name=admin&password={}", "wrong+wrong+wrong");
    let tries = (0..12).map(|n| {
        let told = format!("198.51.100.{n}, 203.0.113.7");
        let headers = [("content-type", "application/x-www-form-urlencoded"), ("x-forwarded-for", told.as_str())];
        nobody.send("POST", "/sign-in", &headers, form.as_bytes()).status
    });
    let tries: Vec<u16> = tries.collect();
    assert_eq!((tries[..10].iter().all(|s| *s == 401), tries[11]), (true, 429), "{tries:?}");
}

#[test]
fn a_link_falls_with_whoever_made_it() {
    let room = Room::start();
    let _ben = room.person("ben", "administrator");
    let key = room.block_on(room.store.invite(Role::Administrator, store::now() + 60_000_000, "ben")).expect("a link");
    assert_eq!(room.browser().get(&format!("/join?key={key}")).status, 200);
    room.admin.post_form(&format!("/people/{}", id_of(&room, "ben")), &[("role", "viewer")]);
    let form = [("key", key.as_str()), ("name", "cleo"), ("password", PASSWORD), ("again", PASSWORD)];
    assert_eq!(room.browser().post_form("/join", &form).status, 404);
    // A second link of the first start is of no use once somebody is known.
    let key = room.block_on(room.store.invite(Role::Administrator, store::now() + 60_000_000, store::people::FIRST_START)).expect("a link");
    assert_eq!(room.browser().get(&format!("/join?key={key}")).status, 404);
}

#[test]
fn another_password_ends_all_other_sessions() {
    let room = Room::start();
    let here = room.person("dora", "viewer");
    let there = room.browser();
    assert_eq!(there.post_form("/sign-in", &[("name", "dora"), ("password", PASSWORD)]).status, 303);
    assert_eq!(there.get("/").status, 200);
    let new = "eleven quiet otters";
    assert_eq!(here.post_form("/me/password", &[("old", PASSWORD), ("new", new), ("again", new)]).status, 303);
    assert_eq!((here.get("/").status, there.get("/").status), (200, 303));
}
