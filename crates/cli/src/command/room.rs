//! `evenline room`: the documents and plans of a room on a server.

use crate::args::Inputs;
use crate::args::room::{KindArg, RoomArgs, RoomCommand, RoomPlanArgs, SentInputs};
use crate::remote::{self, Remote, part};
use crate::watch::Terminal;
use crate::{End, files, say};
use app::plan::{Progress, Watch};
use app::read::NamedBytes;
use clap::ValueEnum;
use diag::{Finding, codes};
use domain::product::Side;
use serde_json::{Value, json};
use std::path::Path;
use std::time::Duration;
use units::Time;
use ureq::unversioned::multipart::{Form, Part};

pub fn run(a: &RoomArgs) -> Result<End, End> {
    let room = Remote::new(&a.server)?;
    let told = |answer: &Value, line: String| if a.json { say::print_json(answer) } else { say::print(&line) };
    match &a.command {
        RoomCommand::Me => {
            let me = room.get_json("/me")?;
            told(&me, format!("{}, {}\n", text(&me, "name"), text(&me, "role")))
        }
        RoomCommand::List { kind } => {
            let all = room.get_json(&format!("/{}", word(*kind)))?;
            told(&all, rows(&all, |d| format!("{:<32} version {:<4} {}", text(d, "name"), d["version"], changed(d))))
        }
        RoomCommand::Versions { kind, name } => {
            let all = room.get_json(&format!("/{}/{}/versions", word(*kind), part(name)))?;
            let gone = |d: &Value| if d["removed"] == true { "removed, " } else { "" };
            told(&all, rows(&all, |d| format!("version {:<4} {}{}", d["version"], gone(d), changed(d))))
        }
        RoomCommand::Get { kind, name, version, output } => {
            let body = room.get(&format!("/{}/{}{}", word(*kind), part(name), version_query(*version)))?;
            match output {
                Some(path) => files::write(path, &body).map(|()| End::Done),
                None => print_bytes(&body),
            }
        }
        RoomCommand::Put { kind, file, name, base, note } => {
            let name = name.clone().unwrap_or_else(|| files::stem(file));
            let path = format!("/{}/{}?note={}", word(*kind), part(&name), part(note));
            let kept = room.put(&path, *base, &files::bytes(file)?)?;
            told(&kept, format!("{} {}, version {}\n", text(&kept, "kind"), text(&kept, "name"), kept["version"]))
        }
        RoomCommand::Remove { kind, name, base } => {
            let gone = room.remove(&format!("/{}/{}", word(*kind), part(name)), *base)?;
            told(&gone, format!("{} {} is removed by version {}\n", text(&gone, "kind"), text(&gone, "name"), gone["version"]))
        }
        RoomCommand::Read { inputs, base, note } => read(&room, a.json, inputs, *base, note),
        RoomCommand::Plan(order) => plan(&room, a.json, order),
        RoomCommand::Jobs => {
            let all = room.get_json("/jobs")?;
            told(&all, rows(&all, |j| format!("{} {:<8} {} by {}", text(j, "id"), text(j, "state"), text(j, "title"), text(j, "author"))))
        }
        RoomCommand::Watch { job } => watch(&room, a.json, job, None),
        RoomCommand::Stop { job } => {
            let job = room.post(&format!("/jobs/{}/stop", part(job)), &json!({}))?;
            told(&job, format!("{}\n", text(&job, "state")))
        }
        RoomCommand::Verify { plan, version } => {
            let verdict = room.get_json(&format!("/plans/{}/verify{}", part(plan), version_query(*version)))?;
            let accepted = verdict["accepted"] == true;
            let violation = |v: &Value| format!("[{}] {}", text(v, "code"), text(v, "detail"));
            let sums = format!("takt {}, bound {} (both recomputed)", seconds(&verdict["takt_us"]), seconds(&verdict["bound_us"]));
            let head = if accepted { "accepted" } else { "refused" };
            told(&verdict, format!("{head}\n{sums}\n{}", rows(&verdict["violations"], violation)))?;
            Ok(if accepted { End::Done } else { End::No })
        }
    }
}

/// Sends files to be read and kept.
fn read(room: &Remote, as_json: bool, inputs: &SentInputs, base: Option<i64>, note: &str) -> Result<End, End> {
    let wanted = Inputs {
        inputs: inputs.files.clone(),
        mapping: inputs.mapping.clone(),
        library: None,
        parts: inputs.parts.clone(),
        name: inputs.name.clone(),
    };
    let sent = files::request(&wanted)?;
    let base = base.map(|b| b.to_string());
    let file = |f: &'_ NamedBytes| f.name.clone();
    let mut form = Form::new();
    for f in &sent.files {
        form = form.part("files", Part::bytes(&f.bytes).file_name(&file(f)));
    }
    for (field, one) in [("mapping", &sent.mapping), ("table", &sent.parts_table)] {
        if let Some(f) = one {
            form = form.part(field, Part::bytes(&f.bytes).file_name(&file(f)));
        }
    }
    for (field, value) in [("name", sent.name.as_deref()), ("base", base.as_deref()), ("note", Some(note))] {
        if let Some(value) = value.filter(|v| !v.is_empty()) {
            form = form.text(field, value);
        }
    }
    let answer = room.post_form("/read", form)?;
    if as_json {
        return say::print_json(&answer);
    }
    say::findings(&remote::findings(&answer["findings"]), false);
    let taken = rows(&answer["files"], |f| format!("{}: {} ({} rows)", text(f, "name"), text(f, "role"), f["rows"]));
    let document = &answer["document"];
    say::print(&format!(
        "{taken}board {}, version {}: {} placements fitted\n",
        text(document, "name"),
        document["version"],
        answer["fitted"]
    ))
}

/// Between a stream that ended and the next look at its job.
const PAUSE: Duration = Duration::from_millis(300);

/// Orders a plan and watches it.
fn plan(room: &Remote, as_json: bool, a: &RoomPlanArgs) -> Result<End, End> {
    let named = |name: &String| json!({ "name": name });
    let mut order = json!({
        "product": { "name": a.product }, "line": { "name": a.line }, "seconds": a.seconds, "seed": a.seed, "keep_setup": a.keep_setup,
        "panel": super::plan::panel(&a.panel)?,
    });
    let side = a.side.map(|s| json!(Side::from(s).word()));
    let others = [
        ("plan", a.name.as_ref().map(|n| json!(n))),
        ("locks", a.locks.as_ref().map(named)),
        ("from", a.from.as_ref().map(named)),
        ("side", side),
    ];
    for (key, value) in others {
        if let Some(value) = value {
            order[key] = value;
        }
    }
    let job = room.post("/jobs", &order)?;
    if a.no_wait {
        return if as_json { say::print_json(&job) } else { say::print(&format!("{}\n", text(&job, "id"))) };
    }
    watch(room, as_json, text(&job, "id"), a.output.as_deref())
}

/// Watches a job until it ends; Ctrl-C stops it, so that the best plan so far is kept.
fn watch(room: &Remote, as_json: bool, job: &str, output: Option<&Path>) -> Result<End, End> {
    let terminal = Terminal::new();
    let (mut last, mut stopping) = (Value::Null, false);
    let mut heard = |event: Option<&Value>| {
        if let Some(event) = event {
            last = event.clone();
            let told = &event["told"];
            let bound = told["bound_us"].as_i64().map(Time);
            let takt = Time(told["takt_us"].as_i64().unwrap_or_default());
            terminal.progress(&Progress { share: told["share"].as_f64().unwrap_or_default(), takt, bound });
        }
        if terminal.stopped() && !stopping {
            stopping = true;
            room.post(&format!("/jobs/{}/stop", part(job)), &json!({}))?;
        }
        Ok(())
    };
    let is_over = |state: &Value| matches!(state.as_str(), Some("done" | "failed" | "stopped"));
    // A stream that is cut on the way says nothing of the job.
    while !is_over(&room.get_json(&format!("/jobs/{}", part(job)))?["state"]) {
        room.listen(&format!("/jobs/{}/live", part(job)), &mut heard)?;
        std::thread::sleep(PAUSE);
    }
    room.listen(&format!("/jobs/{}/live", part(job)), &mut heard)?;
    terminal.finish();
    let Some(made) = last["made"]["plan"].as_str() else {
        let why = last["why"].as_str().unwrap_or_else(|| last["words"].as_str().unwrap_or("the stream ended"));
        if as_json {
            say::print_json(&last)?;
        }
        return Err(say::refuse(&Finding::new(codes::plan::SERVER, format!("no plan was made: {why}")).value(job), End::No));
    };
    let version = &last["made"]["version"];
    if let Some(path) = output {
        files::write(path, &room.get(&format!("/plan/{}?version={version}", part(made)))?)?;
    }
    if as_json {
        return say::print_json(&last);
    }
    let told = &last["told"];
    say::print(&format!("plan {made}, version {version}: takt {}, bound {}\n", seconds(&told["takt_us"]), seconds(&told["bound_us"])))
}

fn word(kind: KindArg) -> String {
    kind.to_possible_value().map(|v| v.get_name().to_owned()).unwrap_or_default()
}

fn version_query(version: Option<i64>) -> String {
    version.map_or_else(String::new, |v| format!("?version={v}"))
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or("?")
}

fn rows(list: &Value, row: impl Fn(&Value) -> String) -> String {
    list.as_array().into_iter().flatten().map(|v| row(v) + "\n").collect()
}

fn changed(d: &Value) -> String {
    format!("{} by {}: {}", web::page::when(d["at"].as_i64().unwrap_or_default()), text(d, "author"), text(d, "note"))
}

fn seconds(us: &Value) -> String {
    us.as_i64().map_or_else(|| "–".to_owned(), |t| format!("{:.3} s", Time(t).to_s()))
}

fn print_bytes(bytes: &[u8]) -> Result<End, End> {
    match std::str::from_utf8(bytes) {
        Ok(text) => say::print(text),
        Err(_) => Err(say::refuse(&Finding::new(codes::plan::USAGE, "this document is no text; give --output"), End::Usage)),
    }
}
