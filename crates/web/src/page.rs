//! The frame of every page, and pieces that many pages use.

use crate::access::Who;
use diag::{Finding, Severity};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use store::Stamp;
use store::people::Role;

/// The parts of the room, as the bar on top names them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What goes on.
    Overview,
    /// Boards.
    Boards,
    /// Parts.
    Parts,
    /// Lines.
    Lines,
    /// Plans and the jobs that make them.
    Plans,
    /// People, tokens, the audit log.
    People,
    /// Of no part.
    Elsewhere,
}

const PARTS: [(Part, &str, &str, Role); 6] = [
    (Part::Overview, "/", "Overview", Role::Viewer),
    (Part::Boards, "/boards", "Boards", Role::Viewer),
    (Part::Parts, "/parts", "Parts", Role::Viewer),
    (Part::Lines, "/lines", "Lines", Role::Viewer),
    (Part::Plans, "/plans", "Plans", Role::Viewer),
    (Part::People, "/people", "People", Role::Administrator),
];

fn head(title: &str) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            title { (title) " · evenline" }
            link rel="stylesheet" href="/assets/room.css";
            link rel="icon" href="/assets/mark.svg" type="image/svg+xml";
            script src="/assets/room.js" type="module" {}
        }
    }
}

/// A page of the room.
pub fn page(who: &Who, part: Part, title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title))
            body {
                a.skip href="#main" { "Skip to the page" }
                header.bar {
                    a.home href="/" { img src="/assets/mark.svg" alt="" width="26" height="26"; "evenline" }
                    nav aria-label="Parts of the room" {
                        @for (p, href, name, least) in PARTS.iter().filter(|p| who.may(p.3)) {
                            @let _ = least;
                            a href=(href) aria-current=[(*p == part).then_some("page")] { (name) }
                        }
                    }
                    div.who {
                        a href="/me" title=(who.role.word()) { (who.name) }
                        form method="post" action="/sign-out" { button.plain { "Sign out" } }
                    }
                }
                main #main {
                    h1 { (title) }
                    (body)
                }
                footer { "A proposal by evenline. It never bypasses an interlock; qualified people check and release it." }
            }
        }
    }
}

/// A page for somebody who is not signed in, or for whom the room cannot be drawn.
pub fn bare(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title))
            body.bare {
                main #main {
                    p.home { img src="/assets/mark.svg" alt="" width="32" height="32"; "evenline" }
                    h1 { (title) }
                    (body)
                }
            }
        }
    }
}

/// Findings, worst first, each with its code, place, value and next step.
pub fn findings(found: &[Finding]) -> Markup {
    let mut sorted: Vec<&Finding> = found.iter().collect();
    sorted.sort_by_key(|f| std::cmp::Reverse(f.severity));
    html! {
        @if !sorted.is_empty() {
            ul.findings {
                @for f in sorted {
                    li class=(severity(f.severity)) {
                        span.mark { (severity(f.severity)) }
                        span { (words(&f.message)) @if !f.value.is_empty() && !f.message.contains(&f.value) { " " q { (f.value) } } }
                        @if !f.hint.is_empty() { span.hint { (words(&f.hint)) } }
                        span.place { code { (f.code) } @if let Some(place) = place(f) { " · " (place) } }
                    }
                }
            }
        }
    }
}

/// A text whose `names` stand between backticks, as findings and reasons have them.
pub fn words(text: &str) -> Markup {
    // Backticks come in pairs; a text where one stands alone is shown as it is.
    if text.matches('`').count() % 2 == 1 {
        return html! { (text) };
    }
    html! {
        @for (i, piece) in text.split('`').enumerate() { @if i % 2 == 0 { (piece) } @else { code.name { (piece) } } }
    }
}

fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Error => "error",
        Severity::Warning => "warning",
        _ => "note",
    }
}

fn place(f: &Finding) -> Option<String> {
    (!f.file.is_empty()).then(|| if f.line > 0 { format!("{}, line {}", f.file, f.line) } else { f.file.clone() })
}

/// A picture, as SVG text made by this program.
pub fn picture(svg: &str) -> Markup {
    html! { figure.picture { (PreEscaped(svg.replacen("<svg ", "<svg class=\"picture\" ", 1))) } }
}

/// A time of the store for people, UTC.
pub fn when(at: Stamp) -> String {
    jiff::Timestamp::from_microsecond(at).map_or_else(|_| at.to_string(), |t| t.strftime("%Y-%m-%d %H:%M UTC").to_string())
}

/// A part of an address: everything but letters, digits and a few marks is written as `%XX`.
pub fn path(part: &str) -> String {
    let mut out = String::new();
    for b in part.bytes() {
        if b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_' | b'.' | b'~') {
            out.push(b as char);
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn addresses_hold_any_name() {
        assert_eq!(super::path("gauge 2/3 ü?"), "gauge%202%2F3%20%C3%BC%3F");
    }

    #[test]
    fn names_in_texts_stand_out_and_stay_text() {
        assert_eq!(super::words("`<b>` at `chip-1`").0, "<code class=\"name\">&lt;b&gt;</code> at <code class=\"name\">chip-1</code>");
        assert_eq!(super::words("a ` alone").0, "a ` alone");
    }

    #[test]
    fn times_are_told_in_utc() {
        assert_eq!(super::when(1_700_000_000_000_000), "2023-11-14 22:13 UTC");
    }
}
