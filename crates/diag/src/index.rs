//! The printed index of all codes.

use std::fmt::Write;

/// `docs/errors.md`, as text.
pub fn index() -> String {
    let mut text = String::from(
        "# Error index\n\nEvery finding of evenline has one of these codes. A code keeps its meaning for good.\nThis page is printed by `evenline schema errors`; a test keeps it true.\n",
    );
    let mut area = "";
    for code in crate::codes::all() {
        let here = code.id.split('.').next().unwrap_or_default();
        if here != area {
            area = here;
            let _ = write!(text, "\n## {area}\n\n| code | severity | meaning | sample | what to do |\n|---|---|---|---|---|\n");
        }
        let cell = |s: &str| s.replace('|', "\\|").replace('\n', " ⏎ ");
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | `{}` | {} |",
            code.id,
            code.severity,
            cell(code.meaning),
            cell(code.sample),
            cell(code.cure)
        );
    }
    text
}
