//! The three forms of a report, read back. Each is also kept in the target folder, to be looked at.

#[path = "../../draw/tests/common/mod.rs"]
mod common;

use calamine::{Data, Reader, Xlsx};
use domain::plan::{Plan, Work};
use report::code::SetupCode;
use std::collections::BTreeSet;
use std::io::Cursor;

/// Keeps a document for people to look at; the tests do not need it.
fn keep(name: &str, bytes: &[u8]) {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(folder.join(name), bytes).expect("the target folder can be written");
}

fn samples() -> [(&'static str, Plan); 4] {
    [("small", common::small()), ("large", common::large()), ("hostile", common::hostile()), ("broken", common::broken())]
}

/// References of all placed tasks, in the order of work.
fn placed(plan: &Plan) -> Vec<String> {
    let job = plan.job().expect("the sample job is sound");
    let mut names = Vec::new();
    for pass in plan.stations.iter().flat_map(|s| &s.passes) {
        if let Work::Place { trips, .. } = &pass.work {
            names.extend(trips.iter().flat_map(|t| &t.places).map(|p| job.name(p.task)));
        }
    }
    names
}

fn sheet(book: &[u8], name: &str) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(book.to_vec())).expect("a workbook");
    book.worksheet_range(name).expect("the sheet exists").rows().map(<[Data]>::to_vec).collect()
}

fn column(rows: &[Vec<Data>], name: &str) -> Vec<String> {
    let at = rows[0].iter().position(|c| *c == name).unwrap_or_else(|| panic!("no column {name}"));
    rows[1..].iter().map(|r| r[at].to_string()).collect()
}

#[test]
fn every_placed_task_is_in_the_program_sheet_in_order() {
    for plan in [common::small(), common::large()] {
        let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Program");
        assert_eq!(column(&rows, "reference"), placed(&plan));
        assert!(column(&rows, "source").iter().all(|s| s != "not picked"));
    }
}

#[test]
fn program_positions_are_those_of_the_job() {
    let plan = common::small();
    let job = plan.job().expect("the sample job is sound");
    let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Program");
    let (names, xs, ys) = (column(&rows, "reference"), column(&rows, "x mm"), column(&rows, "y mm"));
    for (i, task) in job.tasks.iter().enumerate() {
        let name = job.name(domain::job::TaskId(i as u32));
        let Some(row) = names.iter().position(|n| *n == name) else { continue };
        assert_eq!((xs[row].parse(), ys[row].parse()), (Ok(task.at.x.to_mm()), Ok(task.at.y.to_mm())), "{name}");
    }
}

#[test]
fn every_placed_task_is_on_the_page() {
    for plan in [common::small(), common::large()] {
        let page = report::html(&plan);
        let start = page.find("Order of work").expect("the page tells the order of work");
        let words: BTreeSet<&str> = page[start..].split([',', ' ', '>', '<']).collect();
        for name in placed(&plan) {
            assert!(words.contains(name.as_str()), "{name} is not on the page");
        }
    }
}

#[test]
fn the_set_up_list_is_complete() {
    for plan in [common::small(), common::large()] {
        let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Set-up");
        let numbers: BTreeSet<String> = column(&rows, "part number").into_iter().collect();
        let supplies: usize = plan.stations.iter().map(|s| s.supplies.len()).sum();
        assert_eq!(rows.len() - 1, supplies);
        let picked: f64 = column(&rows, "per panel").iter().map(|c| c.parse::<f64>().expect("a figure")).sum();
        assert_eq!(picked as usize, placed(&plan).len());
        let page = report::html(&plan);
        for number in &numbers {
            assert!(page.contains(&format!("<td>{number}</td>")), "{number}");
        }
    }
}

#[test]
fn the_seconds_on_the_page_sum_to_the_station() {
    let plan = common::small();
    let page = report::html(&plan);
    let from = page.find("cause (s per panel)").expect("the table of seconds");
    let body = &page[from..from + page[from..].find("</table>").expect("its end")];
    let rows: Vec<Vec<f64>> = body
        .split("<tr")
        .skip(1)
        .map(|row| {
            row.split("<td")
                .skip(2)
                .map(|c| c.split('>').nth(1).and_then(|c| c.split('<').next()).unwrap_or("").parse().unwrap_or(0.0))
                .collect()
        })
        .collect();
    let (totals, causes) = rows.split_last().expect("rows");
    for (i, station) in plan.stations.iter().enumerate() {
        let sum: f64 = causes.iter().map(|r| r[i]).sum();
        // Each figure is rounded to a millisecond.
        assert!(
            (sum - totals[i]).abs() < 0.000_5 * causes.len() as f64 && (totals[i] - station.time_us.to_s()).abs() < 0.000_6,
            "{sum} {totals:?}"
        );
    }
}

#[test]
fn the_page_is_whole_and_fetches_nothing() {
    for (name, plan) in samples() {
        let page = report::html(&plan);
        keep(&format!("{name}.html"), page.as_bytes());
        assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"), "{name}");
        let rest = page.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        // The hostile plan holds an address as text; it must stay text, outside every attribute.
        assert!(!rest.contains("=\"http") && !rest.contains("url(") && !rest.contains("<script") && !rest.contains("<link"), "{name}");
        assert!(name == "hostile" || !rest.contains("http"), "{name}");
        for tag in ["table", "section", "figure", "svg", "details", "style"] {
            let (open, close) = (page.matches(&format!("<{tag}")).count(), page.matches(&format!("</{tag}>")).count());
            assert_eq!(open, close, "{tag} in {name}");
        }
    }
}

#[test]
fn hostile_names_stay_text_everywhere() {
    let plan = common::hostile();
    let page = report::html(&plan);
    assert!(page.contains("&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt;&amp;amp;|%\u{FFFD}"));
    for markup in ["<script", "<img", "<b>", "<!--", "<style>*"] {
        assert!(!page.contains(markup), "{markup}");
    }
    let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Set-up");
    assert!(column(&rows, "part number").iter().any(|n| n.starts_with("<script>") && n.ends_with("=1+1")));
}

#[test]
fn sheets_have_the_pages_their_contents_need() {
    for (name, plan) in samples() {
        let pdf = report::pdf(&plan).expect("sheets");
        keep(&format!("{name}.pdf"), &pdf);
        assert!(pdf.starts_with(b"%PDF"), "{name}");
        let pages = pages(&pdf);
        // The figure, the board, one or more per station, the lists.
        assert!(pages >= 3 + plan.stations.len(), "{name}: {pages}");
        if name == "small" {
            assert_eq!(pages, SMALL_PAGES);
        }
    }
}

/// Pages of the small sample, counted on its sheets by eye.
const SMALL_PAGES: usize = 14;

/// The number of pages the page tree of a PDF states.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    let counts = text.match_indices("/Count ").filter_map(|(i, m)| {
        let digits: String = text[i + m.len()..].chars().take_while(char::is_ascii_digit).collect();
        let tree = text[..i].rfind("obj").is_some_and(|from| text[from..i + 40].contains("/Pages"));
        digits.parse().ok().filter(|_| tree)
    });
    counts.max().unwrap_or(0)
}

#[test]
fn codes_on_the_set_up_list_read_back() {
    for plan in [common::small(), common::hostile()] {
        let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Set-up");
        let (codes, parts) = (column(&rows, "code"), column(&rows, "part number"));
        for (text, part) in codes.iter().zip(parts) {
            let bitmap = report::code::matrix(text).expect("short enough").bitmap();
            let read = datamatrix::DataMatrix::decode(bitmap.bits(), bitmap.width()).expect("a sound symbol");
            assert_eq!(read, text.as_bytes());
            let code = SetupCode::parse(text).expect("a code of ours");
            // The workbook reader gives line ends and control characters in its own way.
            let bare = |s: &str| s.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect::<String>();
            assert_eq!(bare(&code.part), bare(&part.replace("_x0001_", "")));
        }
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let plan = common::small();
    assert_eq!(report::html(&plan), report::html(&plan));
    assert_eq!(report::pdf(&plan).expect("sheets"), report::pdf(&plan).expect("sheets"));
    assert_eq!(report::xlsx(&plan).expect("a workbook"), report::xlsx(&plan).expect("a workbook"));
}

#[test]
fn nothing_in_a_plan_is_a_reason_to_fail() {
    for (name, plan) in samples() {
        keep(&format!("{name}.xlsx"), &report::xlsx(&plan).expect("a workbook"));
    }
    let mut plan = common::small();
    plan.stations.clear();
    plan.product.parts.clear();
    plan.panel.columns = u32::MAX;
    plan.panel.rows = u32::MAX;
    assert!(report::html(&plan).contains("The panel cannot be drawn"));
    report::pdf(&plan).expect("sheets");
    report::xlsx(&plan).expect("a workbook");
}

#[test]
fn a_part_number_of_any_length_is_kept() {
    let mut plan = common::small();
    plan.product.parts[0].number = "RIVER-".repeat(8_000);
    let page = report::html(&plan);
    assert!(page.contains("too long for a code") && page.contains(&plan.product.parts[0].number));
    report::pdf(&plan).expect("sheets");
    let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "Parts");
    assert!(column(&rows, "part number").iter().any(|n| n.ends_with('…')));
}

#[test]
fn unplaced_parts_findings_and_cautions_are_told() {
    let page = report::html(&common::small());
    for words in
        ["T1@1", "plan.part-too-large", "plan.size-guessed", "parts.csv:8", "a guess: check", "reduced speed without a board", "1910.147"]
    {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn a_title_of_ones_own_heads_every_form() {
    let plan = common::small();
    let report = report::Report::new(&plan).titled("Trial run <3>");
    assert!(report.html().contains("<h1>Trial run &lt;3&gt;</h1>"));
    let rows = sheet(&report.xlsx().expect("a workbook"), "Summary");
    assert!(rows.iter().flatten().any(|c| *c == "Trial run <3>"));
}

#[test]
fn passes_timed_by_the_clock_fill_the_station_exactly() {
    let mut plan = common::small();
    let inputs = plan.clone();
    let job = inputs.job().expect("the sample job is sound");
    let clock = motion::Clock::new(&inputs.line, &job);
    for (i, station) in plan.stations.iter_mut().enumerate() {
        station.breakdown = clock.time(i, station).expect("the plan is sound");
        station.time_us = station.breakdown.total();
    }
    let times = report::pass_times(&plan);
    for (station, times) in plan.stations.iter().zip(&times) {
        let b = &station.breakdown;
        let passes: units::Time = times.iter().copied().sum();
        assert_eq!(times.len(), station.passes.len());
        assert_eq!(passes + b.transfer_us + b.fiducials_us + b.head_swap_us, station.time_us, "{}", station.station);
    }
    let shares = "shared out among the passes";
    assert!(report::html(&plan).contains(shares));
    assert!(!report::Report::new(&plan).timed(times).html().contains(shares));
    // Seconds that are not the clock's are not told as if they were.
    plan.stations[1].breakdown.sight_us += units::Time(1);
    assert!(report::pass_times(&plan)[1].is_empty());
}

/// Floor lives are those of J-STD-020's levels.
#[test]
fn the_store_is_told_what_is_known_and_nothing_else() {
    use domain::part::{Moisture, Quadrant, Sourced};
    let mut plan = common::small();
    assert!(!report::Report::new(&plan).html().contains("Store and feeder room"));
    let used = plan.job().expect("the sample job is sound").tasks[0].part.index();
    let handling = &mut plan.product.parts[used].handling;
    handling.moisture = Sourced::engineer(Some(Moisture::TwoA));
    handling.pocket_quadrant = Sourced::engineer(Some(Quadrant(3)));
    handling.alternates = Sourced::engineer(vec!["RG-OTHER <b>".to_owned(), "RG-THIRD".to_owned()]);
    handling.attrition_permille = Sourced::engineer(Some(4));
    let report = report::Report::new(&plan);
    let (page, sheets) = (report.html(), report.pdf().expect("the sheets"));
    for words in ["Store and feeder room", "4 weeks", "quadrant 3", "RG-OTHER &lt;b&gt;; RG-THIRD"] {
        assert!(page.contains(words), "{words}");
    }
    keep("handling.html", page.as_bytes());
    keep("handling.pdf", &sheets);
}

#[test]
fn the_check_list_of_the_first_panel_has_every_reference_once_with_a_box() {
    for (name, plan) in samples() {
        let rows = sheet(&report::xlsx(&plan).expect("a workbook"), "First panel");
        assert_eq!(rows.len() - 1, plan.placed() + plan.unplaced.len(), "{name}");
        let column = |head: &str| rows[0].iter().position(|c| *c == *head).unwrap_or_else(|| panic!("{name}: no column {head}"));
        let (reference, tick) = (column("reference"), column("right"));
        let mut seen: Vec<String> = rows[1..].iter().map(|r| r[reference].to_string()).collect();
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), rows.len() - 1, "{name}: a reference stands twice");
        assert!(rows[1..].iter().all(|r| r[tick] == "☐"), "{name}: a row has no box");
    }
}

#[test]
fn the_kit_names_every_supply_and_counts_the_feeders() {
    for (name, plan) in samples() {
        let supplies: usize = plan.stations.iter().map(|s| s.supplies.len()).sum();
        let kit = report::sheet(&plan, report::WhichSheet::Kit);
        assert_eq!(kit.parts[0].table.rows.len(), supplies, "{name}");
        let feeders: usize = kit.parts[1]
            .table
            .rows
            .iter()
            .filter(|r| r[0].words() == "feeder")
            .map(|r| r[2].words().parse::<usize>().expect("a count"))
            .sum();
        let standing = plan.stations.iter().flat_map(|s| &s.supplies);
        assert_eq!(feeders, standing.filter(|s| matches!(s.place, domain::plan::SupplyPlace::Feeder { .. })).count(), "{name}");
    }
}
