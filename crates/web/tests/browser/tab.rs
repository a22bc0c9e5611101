//! A tab of the browser: what a person does with it, and what a tester sees behind it.

use crate::chromium::{Chromium, Event, PATIENCE, Wire};
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

/// A tab in a window that shares nothing with others, as of another person's browser.
pub struct Tab {
    wire: Arc<Wire>,
    session: String,
    /// Everything before the path of addresses: `http://127.0.0.1:4711`.
    base: String,
}

/// A colour scheme that a person may have chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// Dark ink on light ground.
    Light,
    /// The other way round.
    Dark,
}

impl Tab {
    /// A new one.
    pub fn open(browser: &Chromium, base: &str) -> Self {
        let wire = Arc::clone(&browser.wire);
        let ask = |session: Option<&str>, method: &str, params: Value| {
            wire.ask(session, method, &params).unwrap_or_else(|e| panic!("a new tab: {e}"))
        };
        let context = ask(None, "Target.createBrowserContext", json!({}))["browserContextId"].clone();
        let target = ask(None, "Target.createTarget", json!({ "url": "about:blank", "browserContextId": context }))["targetId"].clone();
        let session = ask(None, "Target.attachToTarget", json!({ "targetId": target, "flatten": true }))["sessionId"].clone();
        let session = session.as_str().expect("a session").to_owned();
        for domain in ["Page", "Runtime", "Network", "Log", "DOM"] {
            ask(Some(&session), &format!("{domain}.enable"), json!({}));
        }
        let tab = Self { wire: Arc::clone(&wire), session, base: base.to_owned() };
        tab.screen(1280, Light::Light);
        tab
    }

    /// A command of the browser's protocol.
    pub fn ask(&self, method: &str, params: &Value) -> Value {
        self.wire.ask(Some(&self.session), method, params).unwrap_or_else(|e| panic!("{e}"))
    }

    /// The size and the light of its screen.
    pub fn screen(&self, width: u32, light: Light) {
        let size = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500 });
        self.ask("Emulation.setDeviceMetricsOverride", &size);
        self.ask("Emulation.setTouchEmulationEnabled", &json!({ "enabled": width < 500 }));
        let scheme = if light == Light::Dark { "dark" } else { "light" };
        self.ask("Emulation.setEmulatedMedia", &json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] }));
    }

    /// Goes to a path and waits until its page is there.
    pub fn go(&self, path: &str) {
        let answer = self.ask("Page.navigate", &json!({ "url": format!("{}{path}", self.base) }));
        assert!(answer.get("errorText").is_none(), "{path}: {answer}");
        self.until("document.readyState === 'complete'");
    }

    /// Path and query where it is.
    pub fn path(&self) -> String {
        self.text("location.pathname + location.search")
    }

    /// What an expression is worth in the page.
    pub fn value(&self, expression: &str) -> Value {
        self.evaluate(expression).unwrap_or_else(|e| panic!("{expression}: {e}"))
    }

    /// The same as text.
    pub fn text(&self, expression: &str) -> String {
        let value = self.value(expression);
        value.as_str().map_or_else(|| value.to_string(), str::to_owned)
    }

    /// The same of a page that may be left while it is asked; `None` when it was.
    pub fn glimpse(&self, expression: &str) -> Option<String> {
        match self.evaluate(expression) {
            Ok(value) => Some(value.as_str().map_or_else(|| value.to_string(), str::to_owned)),
            Err(e) if e.contains("navigated or closed") || e.contains("context was destroyed") => None,
            Err(e) => panic!("{expression}: {e}"),
        }
    }

    fn evaluate(&self, expression: &str) -> Result<Value, String> {
        let asked = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true, "userGesture": true });
        let mut answer = self.wire.ask(Some(&self.session), "Runtime.evaluate", &asked)?;
        match answer.get("exceptionDetails") {
            Some(e) => Err(e["exception"]["description"].as_str().unwrap_or_default().to_owned()),
            None => Ok(answer["result"]["value"].take()),
        }
    }

    /// Waits until an expression is true, on this page or on one that comes instead of it.
    pub fn until(&self, expression: &str) {
        let begun = Instant::now();
        // The page looks once a frame by itself; when it is left meanwhile, the next one is asked.
        let look = format!(
            "new Promise((done) => {{ let n = 0; const look = () => {{ let is = false; try {{ is = {expression}; }} catch {{ is = false; }} \
             if (is || ++n > 40) done(!!is); else setTimeout(look, 25); }}; look(); }})"
        );
        while begun.elapsed() < PATIENCE {
            if self.evaluate(&look).is_ok_and(|v| v == true) {
                return;
            }
        }
        panic!("never true: {expression}\nat {}\n{}", self.path(), self.text("document.body.innerText"));
    }

    /// Waits until something is on the page.
    pub fn wait(&self, selector: &str) {
        self.until(&format!("document.querySelector({})", json!(selector)));
    }

    /// Waits until the page tells a text.
    pub fn wait_text(&self, text: &str) {
        self.until(&format!("document.body.innerText.includes({})", json!(text)));
    }

    /// Whether something is on the page.
    pub fn has(&self, selector: &str) -> bool {
        self.value(&format!("!!document.querySelector({})", json!(selector))) == true
    }

    /// Where the middle of something is on the screen, after it was brought there.
    pub fn place(&self, selector: &str) -> (f64, f64) {
        self.wait(selector);
        let found = self.value(&format!(
            "(() => {{ const e = document.querySelector({}); e.scrollIntoView({{ block: 'center', inline: 'center' }}); \
             const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2, r.width * r.height]; }})()",
            json!(selector)
        ));
        let at = |i: usize| found[i].as_f64().expect("a number");
        assert!(at(2) > 0.0, "{selector} has no extent");
        (at(0), at(1))
    }

    /// Lets every request of this kind of address fail as if the room were away, until [`Tab::heal`].
    pub fn cut(&self, pattern: &str) {
        self.ask("Fetch.enable", &json!({ "patterns": [{ "urlPattern": pattern }] }));
    }

    /// Waits for the next request that [`Tab::cut`] holds, and lets it fail.
    pub fn fail_one(&self, seen: usize) {
        let held = self.wire.wait_event(&self.session, seen, |e| e.method == "Fetch.requestPaused").expect("a request to let fail");
        self.ask("Fetch.failRequest", &json!({ "requestId": held.params["requestId"], "errorReason": "ConnectionRefused" }));
    }

    /// Lets requests through again.
    pub fn heal(&self) {
        self.ask("Fetch.disable", &json!({}));
    }

    /// Clicks with the mouse.
    pub fn click(&self, selector: &str) {
        let at = self.place(selector);
        self.mouse("mouseMoved", at, 0);
        self.mouse("mousePressed", at, 1);
        self.mouse("mouseReleased", at, 1);
    }

    /// Clicks on what opens another page, and waits for that.
    pub fn follow(&self, selector: &str) {
        let seen = self.events().len();
        self.click(selector);
        self.loaded(seen);
    }

    /// Waits for a page that was opened after the first `seen` events.
    pub fn loaded(&self, seen: usize) {
        let load = self.wire.wait_event(&self.session, seen, |e| e.method == "Page.loadEventFired");
        assert!(load.is_some(), "no page came; at {}: {}", self.path(), self.text("document.body.innerText"));
    }

    /// Drags with the mouse, in small steps as a hand does.
    pub fn drag(&self, from: &str, to: &str) {
        let (a, b) = (self.place(from), self.place(to));
        // Bringing the goal to the screen may have moved the beginning.
        let a = if self.value("document.documentElement.scrollHeight > innerHeight") == true { self.spot(from) } else { a };
        self.mouse("mouseMoved", a, 0);
        self.mouse("mousePressed", a, 1);
        for step in 1..=12 {
            let share = f64::from(step) / 12.0;
            self.mouse("mouseMoved", (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share), 1);
        }
        self.mouse("mouseReleased", b, 1);
    }

    /// Where the middle of something is on the screen as it stands.
    fn spot(&self, selector: &str) -> (f64, f64) {
        let found = self.value(&format!(
            "(() => {{ const r = document.querySelector({}).getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()",
            json!(selector)
        ));
        (found[0].as_f64().expect("a number"), found[1].as_f64().expect("a number"))
    }

    fn mouse(&self, kind: &str, at: (f64, f64), buttons: u8) {
        let button = if buttons > 0 { "left" } else { "none" };
        let clicks = i32::from(kind != "mouseMoved");
        let event = json!({ "type": kind, "x": at.0, "y": at.1, "button": button, "buttons": buttons, "clickCount": clicks });
        self.ask("Input.dispatchMouseEvent", &event);
    }

    /// Types into what has the focus.
    pub fn type_in(&self, text: &str) {
        self.ask("Input.insertText", &json!({ "text": text }));
    }

    /// Puts the focus into a field and replaces what is in it.
    pub fn fill(&self, selector: &str, text: &str) {
        self.wait(selector);
        self.value(&format!("(() => {{ const e = document.querySelector({}); e.focus(); e.select(); return true; }})()", json!(selector)));
        self.type_in(text);
    }

    /// Chooses an option of a list by the text it shows or by its value.
    pub fn choose(&self, selector: &str, option: &str) {
        self.wait(selector);
        let done = self.value(&format!(
            "(() => {{ const s = document.querySelector({}); const o = [...s.options].find((o) => o.value === {text} || \
             o.textContent.trim().startsWith({text})); if (!o) return false; s.value = o.value; \
             s.dispatchEvent(new Event('change', {{ bubbles: true }})); return true; }})()",
            json!(selector),
            text = json!(option)
        ));
        assert_eq!(done, true, "{selector} offers no {option}");
    }

    /// Presses and releases a key: `Tab`, `Enter`, `Escape`, or a character.
    pub fn press(&self, key: &str) {
        let (code, text) = match key {
            "Tab" => (9, ""),
            "Enter" => (13, "\r"),
            "Escape" => (27, ""),
            "ArrowLeft" => (37, ""),
            "ArrowUp" => (38, ""),
            "ArrowRight" => (39, ""),
            "ArrowDown" => (40, ""),
            " " => (32, " "),
            other => (0, other),
        };
        let name = if key == " " { "Space" } else { key };
        let down = json!({ "type": if text.is_empty() { "rawKeyDown" } else { "keyDown" }, "key": key, "code": name, "text": text, "windowsVirtualKeyCode": code });
        self.ask("Input.dispatchKeyEvent", &down);
        self.ask("Input.dispatchKeyEvent", &json!({ "type": "keyUp", "key": key, "code": name, "windowsVirtualKeyCode": code }));
    }

    /// Puts files into a field of a form, as the browser's dialog would.
    pub fn files(&self, selector: &str, files: &[&Path]) {
        self.wait(selector);
        let root = self.ask("DOM.getDocument", &json!({}))["root"]["nodeId"].clone();
        let node = self.ask("DOM.querySelector", &json!({ "nodeId": root, "selector": selector }))["nodeId"].clone();
        // The browser reads nothing by a path that goes up again.
        let whole: Vec<_> = files.iter().map(|f| f.canonicalize().unwrap_or_else(|e| panic!("{}: {e}", f.display()))).collect();
        self.ask("DOM.setFileInputFiles", &json!({ "nodeId": node, "files": whole }));
    }

    /// The page as it would be printed, as PDF in base64.
    pub fn print(&self) -> String {
        self.ask("Page.printToPDF", &json!({ "printBackground": true }))["data"].as_str().expect("a document").to_owned()
    }

    /// A picture of the whole page, as PNG.
    pub fn picture(&self) -> Vec<u8> {
        let shot = self.ask("Page.captureScreenshot", &json!({ "format": "png", "captureBeyondViewport": true }));
        bytes(shot["data"].as_str().expect("a picture"))
    }

    /// What happened so far.
    pub fn events(&self) -> Vec<Event> {
        self.wire.events(&self.session)
    }

    /// Addresses of all requests of its pages.
    pub fn requests(&self) -> Vec<String> {
        let url = |e: &Event| e.params["request"]["url"].as_str().map(str::to_owned);
        self.events().iter().filter(|e| e.method == "Network.requestWillBeSent").filter_map(url).collect()
    }

    /// Dialogs of the browser's own that were opened.
    pub fn dialogs(&self) -> Vec<String> {
        let told = |e: &Event| format!("{}: {}", e.params["type"].as_str().unwrap_or_default(), e.params["message"]);
        self.events().iter().filter(|e| e.method == "Page.javascriptDialogOpening").map(told).collect()
    }

    /// Errors that the console tells; an answer of a refusing status is none where the status is one of `expected`.
    pub fn errors(&self, expected: &[u16]) -> Vec<String> {
        let of = |e: &Event| match e.method.as_str() {
            "Runtime.exceptionThrown" => Some(e.params["exceptionDetails"]["exception"]["description"].to_string()),
            "Runtime.consoleAPICalled" if e.params["type"] == "error" => Some(e.params["args"].to_string()),
            "Log.entryAdded" if e.params["entry"]["level"] == "error" => {
                let text = e.params["entry"]["text"].as_str().unwrap_or_default();
                let known = expected.iter().any(|s| text.contains(&format!("status of {s}")));
                (!known).then(|| format!("{text} {}", e.params["entry"]["url"]))
            }
            _ => None,
        };
        self.events().iter().filter_map(of).collect()
    }

    /// Nothing was asked of anybody but the room, and no script failed.
    pub fn is_clean(&self, expected: &[u16]) {
        let errors = self.errors(expected);
        assert!(errors.is_empty(), "the console tells errors: {errors:#?}");
        let own = |u: &String| u.starts_with(&format!("{}/", self.base)) || ["data:", "about:", "blob:"].iter().any(|s| u.starts_with(s));
        let others: Vec<String> = self.requests().into_iter().filter(|u| !own(u)).collect();
        assert!(others.is_empty(), "asked of others than the room: {others:#?}");
    }
}

/// Base64 as bytes; the browser writes it without line ends.
pub fn bytes(text: &str) -> Vec<u8> {
    let digit = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        _ => panic!("no base64: {c}"),
    };
    let mut out = Vec::with_capacity(text.len() / 4 * 3);
    for four in text.trim_end_matches('=').as_bytes().chunks(4) {
        let all = four.iter().fold(0u32, |n, c| n << 6 | u32::from(digit(*c))) << (6 * (4 - four.len()));
        out.extend_from_slice(&all.to_be_bytes()[1..four.len()]);
    }
    out
}
