//! A room served by the program, asked by the program, kept, brought back and written out.

#![cfg(unix)]

mod common;

use common::{Ran, arg, example, folder, run};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

const PASSWORD: &str = "seven+quiet+herons";

/// `evenline serve`, with a token of its administrator.
struct Served {
    child: Child,
    address: String,
    token: String,
}

impl Served {
    fn start(store: &Path, fill: &[String]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_evenline"));
        command.args(["serve", "--listen", "127.0.0.1:0", "--threads", "1", "--store"]).arg(store);
        if !fill.is_empty() {
            command.arg("--fill").args(fill);
        }
        let mut child = command.stdout(Stdio::piped()).spawn().expect("the program starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines().map(|l| l.expect("a line"));
        let open = lines.next().expect("the room says where it is");
        let address = open.rsplit_once("//").expect("an address").1.to_owned();
        let link = lines.find(|l| l.contains("/join?key=")).expect("a link for the first administrator");
        let key = link.rsplit_once("key=").expect("a key").1.to_owned();
        let joined = post(&address, "/join", "", &format!("key={key}&name=Ada&password={PASSWORD}&again={PASSWORD}"));
        let cookie = header(&joined, "set-cookie").split(';').next().expect("a cookie").to_owned();
        let page = post(&address, "/me/tokens", &cookie, "label=test&role=administrator&days=1");
        let shown = page.split_once("class=\"secret\"").expect("the token is shown once").1;
        let token = shown.split_once('>').expect("a tag").1.split('<').next().expect("a token").trim().to_owned();
        Self { child, address, token }
    }

    /// Runs `evenline room` with its address and token.
    fn ask(&self, arguments: &[&str]) -> Ran {
        ask(&format!("http://{}", self.address), &self.token, arguments)
    }

    /// Ends it as a system does.
    fn end(mut self) {
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().expect("kill runs");
        assert!(told.success());
        assert_eq!(self.child.wait().expect("it ends").code(), Some(0), "it ends in good order");
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // After `end` there is nothing left to kill.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

fn ask(server: &str, token: &str, arguments: &[&str]) -> Ran {
    let program = Command::new(env!("CARGO_BIN_EXE_evenline"))
        .arg("room")
        .args(["--server", server])
        .args(arguments)
        .env("EVENLINE_TOKEN", token)
        .output()
        .expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let ran = Ran { code: program.status.code().unwrap_or(-1), out: text(program.stdout), err: text(program.stderr) };
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    ran
}

fn post(address: &str, path: &str, cookie: &str, form: &str) -> String {
    let mut stream = TcpStream::connect(address).expect("a connection");
    let head = format!(
        "POST {path} HTTP/1.0\r\nHost: {address}\r\nCookie: {cookie}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n",
        form.len()
    );
    stream.write_all(head.as_bytes()).and_then(|()| stream.write_all(form.as_bytes())).expect("the form is sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    assert!(answer.starts_with("HTTP/1.0 200") || answer.starts_with("HTTP/1.0 303"), "{answer}");
    answer
}

fn header<'a>(answer: &'a str, name: &str) -> &'a str {
    answer.lines().find_map(|l| l.strip_prefix(name)?.strip_prefix(": ")).unwrap_or_else(|| panic!("no {name} in {answer}"))
}

fn bytes(path: impl AsRef<Path>) -> Vec<u8> {
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.as_ref().display()))
}

#[test]
fn a_room_is_filled_asked_planned_in_kept_brought_back_and_written_out() {
    let place = folder(&[]);
    let file = |name: &str| -> PathBuf { place.path().join(name) };
    let store = file("room.db");
    let fill = [example("products/solar-charger"), example("parts/solar-charger.csv"), example("lines/one-station.toml")];
    let room = Served::start(&store, &fill);

    assert_eq!(room.ask(&["me"]).ends(0).out, "Ada, administrator\n");
    assert_eq!(room.ask(&["list", "line", "--json"]).ends(0).json()[0]["name"], "one-station");
    let got = file("one.toml");
    room.ask(&["get", "line", "one-station", "-o", &arg(&got)]).ends(0);
    assert_eq!(bytes(&got), bytes(example("lines/one-station.toml")));

    // A change names the version it was made from.
    std::fs::write(&got, [bytes(&got).as_slice(), b"\n# measured again\n"].concat()).expect("it is written");
    let refused = room.ask(&["put", "line", &arg(&got), "--name", "one-station"]).ends(3).says("use.server");
    assert!(refused.err.contains("--base 1"), "{}", refused.err);
    room.ask(&["put", "line", &arg(&got), "--name", "one-station", "--base", "1", "--note", "measured again"]).ends(0);
    let versions = room.ask(&["versions", "line", "one-station"]).ends(0).out;
    assert!(versions.lines().count() == 2 && versions.contains("Ada: measured again"), "{versions}");
    std::fs::write(&got, "station = 1").expect("it is written");
    room.ask(&["put", "line", &arg(&got), "--name", "wrong"]).ends(3).says("line.syntax");

    // Files of a designer.
    let read = room.ask(&["read", &example("products/level-front"), "--parts", &example("parts/level-front.csv")]).ends(0);
    assert!(read.out.contains("board level-front, version 1"), "{}", read.out);
    room.ask(&["read", &example("products/level-front"), "--name", "level-front"]).ends(3).says("use.server");

    // A plan of what the room keeps is a plan for every other command.
    let plan = file("plan.json");
    let planned =
        room.ask(&["plan", "solar-charger", "--line", "one-station", "--seconds", "2", "--name", "first", "-o", &arg(&plan)]).ends(0);
    assert!(planned.out.starts_with("plan first, version 1: takt "), "{}", planned.out);
    let told = run(&["verify", &arg(&plan), "--json"]).ends(0).json();
    let takt = told["takt_us"].as_f64().expect("a takt") / 1e6;
    assert!(planned.out.contains(&format!("takt {takt:.3} s")), "{takt} s, but {}", planned.out);
    assert!(room.ask(&["verify", "first"]).ends(0).out.starts_with("accepted\n"));
    let job =
        room.ask(&["plan", "solar-charger", "--line", "one-station", "--seconds", "600", "--name", "second", "--no-wait"]).ends(0).out;
    room.ask(&["stop", job.trim()]).ends(0);
    let watched = room.ask(&["watch", job.trim()]);
    assert!(watched.code == 0 || watched.err.contains("stopped"), "{}", watched.err);
    assert!(room.ask(&["jobs"]).ends(0).out.contains(job.trim()));
    room.ask(&["plan", "solar-charger", "--line", "gone"]).ends(3).says("use.server");
    room.ask(&["remove", "plan", "first", "--base", "1"]).ends(0);
    room.ask(&["get", "plan", "first"]).ends(3).says("use.server");

    // Kept while the room works, brought back elsewhere, written out as files.
    let backup = file("backup.zip");
    run(&["store", "backup", "--store", &arg(&store), "-o", &arg(&backup)]).ends(0);
    room.end();
    let second = file("second.db");
    run(&["store", "restore", "--store", &arg(&second), &arg(&backup)]).ends(0);
    run(&["store", "restore", "--store", &arg(&second), &arg(&backup)]).ends(4).says("use.store");
    let out = file("out");
    run(&["store", "export", "--store", &arg(&second), "-o", &arg(&out)]).ends(0);
    let sheets: Vec<PathBuf> = files_below(&out).into_iter().filter(|p| p.ends_with("one-station.toml")).collect();
    assert_eq!(sheets.len(), 1, "{sheets:?}");
    assert!(String::from_utf8(bytes(&sheets[0])).expect("text").ends_with("# measured again\n"));
    run(&["store", "backup", "--store", &arg(&file("nowhere.db")), "-o", &arg(&backup)]).ends(4).says("use.store");
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("a folder").map(|e| e.expect("an entry").path());
    entries.flat_map(|p| if p.is_dir() { files_below(&p) } else { vec![p] }).collect()
}

#[test]
fn what_is_wrong_with_the_way_to_a_room_is_told() {
    ask("http://127.0.0.1:9", "", &["me"]).ends(2).says("use.server");
    ask("http://127.0.0.1:9", "token", &["me"]).ends(4).says("use.server");
    ask("no address", "token", &["me"]).ends(4).says("use.server");
    let place = folder(&[]);
    let room = Served::start(&place.path().join("room.db"), &[]);
    let server = format!("http://{}", room.address);
    let refused = ask(&server, "stolen", &["me"]).ends(2).says("use.server");
    assert!(refused.err.contains("EVENLINE_TOKEN"), "{}", refused.err);
    room.ask(&["list", "plans"]).ends(2);
    let listens = ["serve", "--listen", &room.address, "--store", &arg(&place.path().join("other.db"))].map(str::to_owned);
    run(&listens).ends(2).says("use.address");
    run(&["worker", "--store", &arg(&place.path().join("room.db"))]).ends(2).says("use.store");
    room.end();
}
