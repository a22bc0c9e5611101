//! The small browser.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Mutex;
use std::time::Duration;

/// Longest wait for bytes of an answer.
const PATIENCE: Duration = Duration::from_secs(120);

/// Divides the parts of an upload; no test file holds it.
const BOUNDARY: &str = "----room-test-6b1f0c9e7a";

/// Headers of an answer: names in lower case, and values.
type Headers = Vec<(String, String)>;

/// A browser: it keeps cookies and follows no redirect unless told to.
pub struct Browser {
    address: SocketAddr,
    cookies: Mutex<BTreeMap<String, String>>,
    /// The secret of a token, sent with every request where there is one.
    pub token: Option<String>,
}

/// An answer.
#[derive(Clone, Debug)]
pub struct Page {
    /// HTTP status.
    pub status: u16,
    /// Headers: names in lower case, and values.
    pub headers: Headers,
    /// The body.
    pub bytes: Vec<u8>,
    /// The body as text; what is no UTF-8 is replaced.
    pub text: String,
}

impl Page {
    /// A header.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    /// Where a redirect leads.
    pub fn location(&self) -> &str {
        self.header("location").unwrap_or_else(|| panic!("status {} leads nowhere: {}", self.status, self.text))
    }

    /// The body as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.text).unwrap_or_else(|e| panic!("no JSON ({e}): {}", self.text))
    }

    /// Value of the first field of this name in a form of the page, with entities written out.
    pub fn field(&self, name: &str) -> String {
        let mark = format!("name=\"{name}\"");
        let tag = self.text.split('<').find(|t| t.contains(&mark)).unwrap_or_else(|| panic!("no field `{name}` in {}", self.text));
        if let Some(rest) = tag.strip_prefix("textarea") {
            // A line end right behind the tag is no part of the text.
            let text = rest.split_once('>').map_or("", |r| r.1);
            return plain(text.strip_prefix('\n').unwrap_or(text));
        }
        plain(tag.split_once("value=\"").and_then(|r| r.1.split('"').next()).unwrap_or_default())
    }

    /// The text of the page without its tags, with entities written out.
    pub fn words(&self) -> String {
        // Names in texts are written with backticks; pages show them in another type.
        let named = |(i, piece): (usize, &str)| if i == 0 { piece.to_owned() } else { format!("`{}", piece.replacen("</code>", "`", 1)) };
        let text: String = self.text.split("<code class=\"name\">").enumerate().map(named).collect();
        let mut out = String::new();
        for piece in text.split('<') {
            out.push(' ');
            out.push_str(piece.split_once('>').map_or(piece, |(_, rest)| rest));
        }
        plain(&out)
    }
}

/// Text with the entities that pages use written out.
fn plain(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'").replace("&amp;", "&")
}

/// A file to be sent.
#[derive(Clone, Debug)]
pub struct File {
    /// Its name.
    pub name: String,
    /// Everything in it.
    pub bytes: Vec<u8>,
}

impl File {
    /// A file of this name and text.
    pub fn new(name: &str, bytes: impl Into<Vec<u8>>) -> Self {
        Self { name: name.to_owned(), bytes: bytes.into() }
    }
}

impl Browser {
    /// A browser of nobody.
    pub fn new(address: SocketAddr) -> Self {
        Self { address, cookies: Mutex::default(), token: None }
    }

    /// Asks for a page.
    pub fn get(&self, path: &str) -> Page {
        self.send("GET", path, &[], &[])
    }

    /// Asks for a page, which must come.
    pub fn see(&self, path: &str) -> Page {
        let page = self.get(path);
        assert_eq!(page.status, 200, "{path}: {}", page.text);
        page
    }

    /// Sends a form.
    pub fn post_form(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let pairs: Vec<String> = fields.iter().map(|(n, v)| format!("{}={}", escape(n), escape(v))).collect();
        self.send("POST", path, &[("content-type", "application/x-www-form-urlencoded")], pairs.join("&").as_bytes())
    }

    /// Sends a form with files: for each the name of its field.
    pub fn post_files(&self, path: &str, fields: &[(&str, &str)], files: &[(&str, &File)]) -> Page {
        let mut body = Vec::new();
        for (name, value) in fields {
            let head = format!("--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
            body.extend_from_slice(head.as_bytes());
        }
        for (field, file) in files {
            // As browsers write names.
            let name = file.name.replace('"', "%22").replace('\r', "%0D").replace('\n', "%0A");
            let head = format!(
                "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\
                 Content-Type: application/octet-stream\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(&file.bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(format!("--{BOUNDARY}--\r\n").as_bytes());
        self.send("POST", path, &[("content-type", &format!("multipart/form-data; boundary={BOUNDARY}"))], &body)
    }

    /// Sends JSON by `PUT`, `POST` or another method.
    pub fn send_json(&self, method: &str, path: &str, value: &serde_json::Value) -> Page {
        let headers = [("content-type", "application/json"), ("accept", "application/json")];
        self.send(method, path, &headers, value.to_string().as_bytes())
    }

    /// The page that a redirect leads to; the page itself if it is none.
    pub fn follow(&self, page: Page) -> Page {
        let mut page = page;
        for _ in 0..5 {
            if !(300..400).contains(&page.status) {
                return page;
            }
            let to = page.location().to_owned();
            page = self.get(&to);
        }
        panic!("redirected without end: {}", page.location());
    }

    /// Sends any request.
    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Page {
        let (status, headers, mut rest) = self.begin(method, path, headers, body);
        let mut bytes = Vec::new();
        rest.read_to_end(&mut bytes).unwrap_or_else(|e| panic!("{method} {path}: the answer broke off: {e}"));
        Page { status, headers, text: String::from_utf8_lossy(&bytes).into_owned(), bytes }
    }

    /// Asks for a stream of events.
    pub fn stream(&self, path: &str) -> Stream {
        let (status, headers, body) = self.begin("GET", path, &[("accept", "text/event-stream")], &[]);
        Stream { status, headers, lines: BufReader::new(body) }
    }

    fn begin(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> (u16, Headers, Body) {
        let mut socket = TcpStream::connect(self.address).expect("the room listens");
        socket.set_read_timeout(Some(PATIENCE)).expect("a limit of patience");
        let mut head =
            format!("{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nSec-Fetch-Site: same-origin\r\n", self.address);
        let cookies = self.cookies.lock().expect("cookies");
        if !cookies.is_empty() {
            let all: Vec<String> = cookies.iter().map(|(n, v)| format!("{n}={v}")).collect();
            head += &format!("Cookie: {}\r\n", all.join("; "));
        }
        drop(cookies);
        if let Some(token) = &self.token {
            head += &format!("Authorization: Bearer {token}\r\n");
        }
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        if !body.is_empty() || method != "GET" {
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        head += "\r\n";
        socket.write_all(head.as_bytes()).expect("the room takes the request");
        // A room that refuses early stops reading; what it answers is still there to be read.
        let _ = socket.write_all(body).and_then(|()| socket.flush());
        let mut reader = BufReader::new(socket);
        let mut line = String::new();
        reader.read_line(&mut line).unwrap_or_else(|e| panic!("{method} {path}: no answer: {e}"));
        let status = line.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or_else(|| panic!("{method} {path}: no status: {line:?}"));
        let headers = read_headers(&mut reader);
        let mut jar = self.cookies.lock().expect("cookies");
        for (_, cookie) in headers.iter().filter(|(n, _)| n == "set-cookie") {
            let (name, value) = cookie.split(';').next().and_then(|c| c.split_once('=')).expect("a cookie");
            if value.is_empty() || cookie.contains("Max-Age=0") {
                jar.remove(name)
            } else {
                jar.insert(name.to_owned(), value.to_owned())
            };
        }
        drop(jar);
        let find = |name: &str| headers.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str());
        let body = if find("transfer-encoding").is_some_and(|v| v.eq_ignore_ascii_case("chunked")) {
            Body::Chunked { reader, left: 0, over: false }
        } else {
            let length = if matches!(status, 204 | 304) { Some(0) } else { find("content-length").and_then(|v| v.parse().ok()) };
            Body::Plain(reader.take(length.unwrap_or(u64::MAX)))
        };
        (status, headers, body)
    }
}

fn read_headers(reader: &mut impl BufRead) -> Headers {
    let mut headers = Vec::new();
    loop {
        let mut line = String::new();
        let n = reader.read_line(&mut line).expect("headers");
        let text = line.trim_end();
        if n == 0 || text.is_empty() {
            return headers;
        }
        let (name, value) = text.split_once(':').expect("a header");
        headers.push((name.to_ascii_lowercase(), value.trim().to_owned()));
    }
}

/// The body of an answer as it comes.
enum Body {
    Plain(std::io::Take<BufReader<TcpStream>>),
    Chunked { reader: BufReader<TcpStream>, left: usize, over: bool },
}

impl Read for Body {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        match self {
            Self::Plain(reader) => reader.read(into),
            Self::Chunked { reader, left, over } => {
                if *over || into.is_empty() {
                    return Ok(0);
                }
                if *left == 0 {
                    let mut line = String::new();
                    reader.read_line(&mut line)?;
                    let size = usize::from_str_radix(line.trim().split(';').next().unwrap_or_default(), 16);
                    *left = size.map_err(|e| std::io::Error::other(format!("{line:?}: {e}")))?;
                    if *left == 0 {
                        *over = true;
                        return Ok(0);
                    }
                }
                let most = into.len().min(*left);
                let n = reader.read(&mut into[..most])?;
                if n == 0 {
                    return Err(std::io::ErrorKind::UnexpectedEof.into());
                }
                *left -= n;
                if *left == 0 {
                    let mut end = [0; 2];
                    reader.read_exact(&mut end)?;
                }
                Ok(n)
            }
        }
    }
}

/// A stream of events.
pub struct Stream {
    /// HTTP status.
    pub status: u16,
    /// Headers: names in lower case, and values.
    pub headers: Headers,
    lines: BufReader<Body>,
}

impl Iterator for Stream {
    type Item = String;

    /// The data of the next event; `None` when the stream has ended.
    fn next(&mut self) -> Option<String> {
        loop {
            let mut line = String::new();
            let n = self.lines.read_line(&mut line).expect("the stream goes on");
            if n == 0 {
                return None;
            }
            if let Some(data) = line.trim_end().strip_prefix("data:") {
                return Some(data.trim_start().to_owned());
            }
        }
    }
}

/// As forms write values: everything but letters, digits and a few marks as `%XX`.
pub fn escape(text: &str) -> String {
    let mut out = String::new();
    for b in text.bytes() {
        if b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_' | b'.' | b'~') {
            out.push(b as char);
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}
