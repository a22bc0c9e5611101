//! The API of a planning room, from the other side (`docs/room.md`, *API*).

use crate::{End, say};
use diag::{Finding, codes};
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::time::Duration;
use ureq::http::Response;
use ureq::tls::{RootCerts, TlsConfig};
use ureq::unversioned::multipart::Form;
use ureq::{Agent, Body};

/// Where the token of a person or a program is looked for; an argument could be read by everybody on the machine.
pub const TOKEN: &str = "EVENLINE_TOKEN";

/// Longest answer [bytes].
const LONGEST: u64 = 1 << 30;

/// A room on a server.
pub struct Remote {
    base: String,
    token: String,
    agent: Agent,
}

impl Remote {
    /// A room at an address, asked with the token of the environment.
    ///
    /// # Errors
    /// When there is no token.
    pub fn new(base: &str) -> Result<Self, End> {
        let token = std::env::var(TOKEN).unwrap_or_default().trim().to_owned();
        if token.is_empty() {
            let told = Finding::new(codes::plan::SERVER, format!("no token is given: {TOKEN} is empty"))
                .hint(format!("Make a token on your own page in the room (Tokens for programs) and set {TOKEN} to it."));
            return Err(say::refuse(&told, End::Usage));
        }
        // Servers on a shop floor have certificates of the house: what the system trusts counts.
        let tls = TlsConfig::builder().root_certs(RootCerts::PlatformVerifier).build();
        let config = Agent::config_builder().http_status_as_error(false).timeout_connect(Some(Duration::from_secs(10))).tls_config(tls);
        Ok(Self { base: base.trim_end_matches('/').to_owned(), token, agent: config.build().new_agent() })
    }

    /// What the room keeps or knows under a path below `/api`.
    ///
    /// # Errors
    /// A refusal is told and ends the command.
    pub fn get(&self, path: &str) -> Result<Vec<u8>, End> {
        let asked = self.agent.get(self.url(path)).header("authorization", self.bearer());
        self.whole(asked.call())
    }

    /// The same as JSON.
    ///
    /// # Errors
    /// As [`Remote::get`]; also when the answer is no JSON.
    pub fn get_json(&self, path: &str) -> Result<Value, End> {
        self.json(&self.get(path)?)
    }

    /// Sends a document; `base` is the version that it is made from.
    ///
    /// # Errors
    /// As [`Remote::get`].
    pub fn put(&self, path: &str, base: Option<i64>, body: &[u8]) -> Result<Value, End> {
        let asked = self.agent.put(self.url(path)).header("authorization", self.bearer()).header("content-type", "text/plain");
        let asked = asked.header("if-match", base.unwrap_or(0).to_string());
        self.json(&self.whole(asked.send(body))?)
    }

    /// Says that a document is gone.
    ///
    /// # Errors
    /// As [`Remote::get`].
    pub fn remove(&self, path: &str, base: i64) -> Result<Value, End> {
        let asked = self.agent.delete(self.url(path)).header("authorization", self.bearer()).header("if-match", base.to_string());
        self.json(&self.whole(asked.call())?)
    }

    /// Sends JSON.
    ///
    /// # Errors
    /// As [`Remote::get`].
    pub fn post(&self, path: &str, body: &Value) -> Result<Value, End> {
        let asked = self.agent.post(self.url(path)).header("authorization", self.bearer()).header("content-type", "application/json");
        self.json(&self.whole(asked.send(body.to_string()))?)
    }

    /// Sends a form with files.
    ///
    /// # Errors
    /// As [`Remote::get`].
    pub fn post_form(&self, path: &str, form: Form<'_>) -> Result<Value, End> {
        let asked = self.agent.post(self.url(path)).header("authorization", self.bearer());
        self.json(&self.whole(asked.send(form))?)
    }

    /// The events of a stream, one after the other, until it ends or `heard` answers no.
    ///
    /// # Errors
    /// As [`Remote::get`]; what `heard` ends with.
    pub fn listen(&self, path: &str, mut heard: impl FnMut(Option<&Value>) -> Result<(), End>) -> Result<(), End> {
        let asked = self.agent.get(self.url(path)).header("authorization", self.bearer());
        let answer = asked.call().map_err(|e| self.away(&e))?;
        if !answer.status().is_success() {
            return self.whole(Ok(answer)).map(|_| ());
        }
        for line in BufReader::new(answer.into_body().into_reader()).lines() {
            let line = line.map_err(|e| self.broken(&e.to_string()))?;
            // Lines that are no data keep the stream alive; they too are an occasion to look up.
            match line.strip_prefix("data:") {
                Some(data) => heard(Some(&self.json(data.as_bytes())?))?,
                None => heard(None)?,
            }
        }
        Ok(())
    }

    fn url(&self, path: &str) -> String {
        format!("{}/api{path}", self.base)
    }

    fn bearer(&self) -> String {
        format!("Bearer {}", self.token)
    }

    fn json(&self, bytes: &[u8]) -> Result<Value, End> {
        serde_json::from_slice(bytes).map_err(|e| self.broken(&format!("the answer is no JSON: {e}")))
    }

    fn whole(&self, answer: Result<Response<Body>, ureq::Error>) -> Result<Vec<u8>, End> {
        let mut answer = answer.map_err(|e| self.away(&e))?;
        let body = answer.body_mut().with_config().limit(LONGEST).read_to_vec().map_err(|e| self.broken(&e.to_string()))?;
        if answer.status().is_success() {
            return Ok(body);
        }
        Err(self.refused(answer.status().as_u16(), &body))
    }

    /// Tells a refusal with the findings of the room.
    fn refused(&self, status: u16, body: &[u8]) -> End {
        let told: Value = serde_json::from_slice(body).unwrap_or_default();
        let title = told["title"].as_str().unwrap_or("this is no answer of a planning room");
        let mut finding = Finding::new(codes::plan::SERVER, format!("{title} (status {status})")).value(&self.base);
        if let Some(latest) = told["latest"]["version"].as_i64() {
            finding = finding.hint(format!("Get version {latest}, make the change in it and send it with --base {latest}."));
        }
        if status == 401 {
            finding = finding.hint(format!("Set {TOKEN} to a token of this room that has not ended."));
        }
        say::findings(&findings(&told["findings"]), false);
        say::refuse(&finding, if status == 401 || status == 403 { End::Usage } else { End::Input })
    }

    fn away(&self, e: &ureq::Error) -> End {
        self.broken(&e.to_string())
    }

    fn broken(&self, why: &str) -> End {
        say::refuse(&Finding::new(codes::plan::SERVER, format!("the room does not answer: {why}")).value(&self.base), End::File)
    }
}

/// Findings as the room tells them.
pub fn findings(told: &Value) -> Vec<Finding> {
    // A page of a proxy in between has none.
    serde_json::from_value(told.clone()).unwrap_or_default()
}

/// A part of a path: everything but letters, digits and a few marks is written as `%XX`.
pub fn part(name: &str) -> String {
    web::page::path(name)
}
