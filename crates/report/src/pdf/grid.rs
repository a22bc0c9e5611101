//! Tables that flow over pages: heads repeated, text wrapped, nothing cut off.

use super::flow::{BOTTOM, Flow, MARGIN, Mark, TOP, WIDTH};
use crate::code;
use crate::table::{Align, Cell, Table};
use draw::palette::{INK, QUIET, RULE};
use draw::scene::Colour;
use draw::text;

const SIZE: f64 = 7.8;
const LINE: f64 = 10.2;
/// Between the text and the edge of its cell.
const PAD: f64 = 5.0;
/// Above and below the text of a row.
const GAP: f64 = 3.2;
/// Points per module of a code, 0.42 mm; hand scanners want about a quarter of a millimetre
/// or more (common practice, no source).
const MODULE: f64 = 1.2;
/// Largest side of a code.
const MOST_CODE: f64 = 110.0;

/// A cell laid out.
enum Laid {
    Lines(Vec<String>),
    Code(String, f64, f64),
}

impl Laid {
    fn height(&self) -> f64 {
        match self {
            Self::Lines(lines) => lines.len() as f64 * LINE,
            Self::Code(_, _, h) => *h,
        }
    }
}

/// Sets a table under its heading, which never stays behind alone on a page.
pub(crate) fn titled(flow: &mut Flow, title: &str, table: &Table, none: &str) {
    let keep = if table.is_empty() { 2.0 * LINE } else { keep_together(table, &widths(table)) };
    flow.subheading(title, keep);
    set(flow, table, none);
}

/// Sets a table, or a sentence when it has no rows.
pub(crate) fn set(flow: &mut Flow, table: &Table, none: &str) {
    if table.is_empty() {
        flow.paragraph(none, 9.0, true);
        return;
    }
    let widths = widths(table);
    flow.need(keep_together(table, &widths));
    head(flow, table, &widths);
    for (i, row) in table.rows.iter().enumerate() {
        let bold = table.totals && i + 1 == table.rows.len();
        set_row(flow, table, lay(table, row, &widths), &widths, bold);
    }
    flow.y += 6.0;
}

/// Height that should stay on one page: a short table whole, of a long one the head and the first row.
fn keep_together(table: &Table, widths: &[f64]) -> f64 {
    let page = BOTTOM - TOP;
    let mut rows = table.rows.iter().map(|r| height(&lay(table, r, widths)));
    let first = head_height(table, widths) + rows.next().unwrap_or(0.0);
    let mut all = first;
    // Stops adding up as soon as the table is long, since it may have thousands of rows.
    if rows.all(|h| {
        all += h;
        all < page * 0.6
    }) {
        all
    } else {
        first.min(page - 40.0)
    }
}

/// Widths of the columns: what each would like, squeezed towards what each needs at least.
fn widths(table: &Table) -> Vec<f64> {
    let likes: Vec<f64> = (0..table.columns.len()).map(|c| like(table, c)).collect();
    let needs: Vec<f64> = (0..table.columns.len()).map(|c| need(table, c).min(likes[c])).collect();
    let (like, need): (f64, f64) = (likes.iter().sum(), needs.iter().sum());
    if like <= WIDTH {
        // A little air, but no column drifts away from its neighbours.
        let air = ((WIDTH - like) / likes.len() as f64).min(22.0);
        return likes.iter().map(|w| w + air).collect();
    }
    if need >= WIDTH {
        return needs.iter().map(|w| w * WIDTH / need).collect();
    }
    let share = (WIDTH - need) / (like - need);
    likes.iter().zip(&needs).map(|(l, n)| n + (l - n) * share).collect()
}

/// Width at which no cell of the column wraps.
fn like(table: &Table, column: usize) -> f64 {
    let head = text::width(&table.columns[column].name, SIZE, true);
    let cells = table.rows.iter().filter_map(|r| r.get(column)).map(|cell| match cell {
        Cell::Code(t) => code_size(t).map_or(80.0, |s| s.0),
        cell => text::width(&cell.words(), SIZE, table.totals),
    });
    cells.fold(head, f64::max).min(WIDTH * 2.0) + 2.0 * PAD + 0.5
}

/// Width at which no word is broken, as far as words are of a reasonable length.
fn need(table: &Table, column: usize) -> f64 {
    let longest = |words: &str, bold: bool| words.split([' ', ',']).map(|w| text::width(w, SIZE, bold)).fold(0.0, f64::max);
    let head = longest(&table.columns[column].name, true);
    let cells = table.rows.iter().filter_map(|r| r.get(column)).map(|cell| match cell {
        Cell::Code(t) => code_size(t).map_or(80.0, |s| s.0),
        cell => longest(&cell.words(), table.totals).min(120.0),
    });
    cells.fold(head, f64::max) + 2.0 * PAD + 0.5
}

fn code_size(text: &str) -> Option<(f64, f64)> {
    let scene = code::scene(text)?;
    // Two picture units are one module.
    let scale = (MODULE / 2.0).min(MOST_CODE / scene.width.max(scene.height));
    Some((scene.width * scale, scene.height * scale))
}

fn lay(table: &Table, row: &[Cell], widths: &[f64]) -> Vec<Laid> {
    let cell = |(cell, width): (&Cell, &f64)| {
        let words = match cell {
            Cell::Code(t) => match code_size(t) {
                Some((w, h)) => return Laid::Code(t.clone(), w, h),
                None => "too long for a code".to_owned(),
            },
            cell => cell.words(),
        };
        Laid::Lines(text::wrap(&words, width - 2.0 * PAD, SIZE, table.totals))
    };
    row.iter().zip(widths).map(cell).collect()
}

fn height(cells: &[Laid]) -> f64 {
    cells.iter().map(Laid::height).fold(LINE, f64::max) + 2.0 * GAP
}

fn head_lines(table: &Table, widths: &[f64]) -> Vec<Vec<String>> {
    table.columns.iter().zip(widths).map(|(c, w)| text::wrap(&c.name, w - 2.0 * PAD, SIZE, true)).collect()
}

fn head_height(table: &Table, widths: &[f64]) -> f64 {
    head_lines(table, widths).iter().map(Vec::len).max().unwrap_or(1) as f64 * LINE + 2.0 * GAP
}

fn head(flow: &mut Flow, table: &Table, widths: &[f64]) {
    let lines = head_lines(table, widths);
    let height = head_height(table, widths);
    let mut x = MARGIN;
    for ((column, lines), width) in table.columns.iter().zip(&lines).zip(widths) {
        // Short heads stand at the bottom, next to what they head.
        let y = flow.y + height - GAP - lines.len() as f64 * LINE;
        set_lines(flow, lines, (x, y, *width), column.align, true, QUIET);
        x += width;
    }
    flow.y += height;
    rule(flow, widths, 1.0);
}

fn rule(flow: &mut Flow, widths: &[f64], width: f64) {
    let end = MARGIN + widths.iter().sum::<f64>();
    flow.mark(Mark::Line { from: (MARGIN, flow.y), to: (end, flow.y), width, colour: RULE });
}

/// Sets a row; one taller than a page goes on over the next ones.
fn set_row(flow: &mut Flow, table: &Table, mut cells: Vec<Laid>, widths: &[f64], bold: bool) {
    loop {
        let tall = height(&cells);
        let whole_page = BOTTOM - TOP - head_height(table, widths);
        if tall > flow.left() && (tall <= whole_page || flow.left() < whole_page * 0.3) {
            flow.new_page();
            head(flow, table, widths);
        }
        if tall <= flow.left() {
            set_cells(flow, table, &cells, widths, bold);
            return;
        }
        let room = (((flow.left() - 2.0 * GAP) / LINE) as usize).max(1);
        let rest = cells.iter_mut().map(|cell| cut(cell, room)).collect();
        set_cells(flow, table, &cells, widths, bold);
        flow.new_page();
        head(flow, table, widths);
        cells = rest;
    }
}

/// Leaves `room` lines in the cell and gives back the others.
fn cut(cell: &mut Laid, room: usize) -> Laid {
    match cell {
        Laid::Lines(lines) if lines.len() > room => Laid::Lines(lines.split_off(room)),
        _ => Laid::Lines(Vec::new()),
    }
}

fn set_cells(flow: &mut Flow, table: &Table, cells: &[Laid], widths: &[f64], bold: bool) {
    let (mut x, y) = (MARGIN, flow.y + GAP);
    for ((cell, column), width) in cells.iter().zip(&table.columns).zip(widths) {
        match cell {
            Laid::Lines(lines) => set_lines(flow, lines, (x, y, *width), column.align, bold, INK),
            Laid::Code(text, w, h) => {
                if let Some(scene) = code::scene(text) {
                    flow.mark(Mark::Picture { x: x + PAD, y, w: *w, h: *h, svg: scene.to_svg() });
                }
            }
        }
        x += width;
    }
    flow.y += height(cells);
    rule(flow, widths, 0.5);
}

fn set_lines(flow: &mut Flow, lines: &[String], (x, y, width): (f64, f64, f64), align: Align, bold: bool, colour: Colour) {
    for (i, line) in lines.iter().enumerate() {
        let at = match align {
            Align::Left => x + PAD,
            Align::Right => x + width - PAD - text::width(line, SIZE, bold),
        };
        flow.text(at, y + i as f64 * LINE + SIZE, SIZE, bold, colour, line.clone());
    }
}
