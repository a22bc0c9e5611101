//! Pieces of the page: tables and pictures as text. Everything from the plan is escaped here.

use crate::table::{Align, Cell, Table};
use draw::Scene;
use draw::svg::escape;
use std::fmt::Write;

/// A table, or a sentence when it has no rows.
pub(crate) fn table(out: &mut String, table: &Table, none: &str) {
    if table.is_empty() {
        let _ = writeln!(out, "<p class=\"quiet\">{}</p>", escape(none));
        return;
    }
    out.push_str("<div class=\"wide\"><table>\n<thead><tr>");
    for column in &table.columns {
        let _ = write!(out, "<th scope=\"col\"{}>{}</th>", right(column.align), escape(&column.name));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for (i, row) in table.rows.iter().enumerate() {
        let total = table.totals && i + 1 == table.rows.len();
        out.push_str(if total { "<tr class=\"total\">" } else { "<tr>" });
        for (cell, column) in row.iter().zip(&table.columns) {
            write_cell(out, cell, column.align);
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div>\n");
}

fn right(align: Align) -> &'static str {
    if align == Align::Right { " class=\"right\"" } else { "" }
}

fn write_cell(out: &mut String, cell: &Cell, align: Align) {
    match cell {
        Cell::Code(text) => match crate::code::scene(text) {
            Some(scene) => drop(write!(out, "<td class=\"code\">{}</td>", scene.to_svg())),
            None => drop(write!(out, "<td>too long for a code: {}</td>", escape(text))),
        },
        _ => drop(write!(out, "<td{}>{}</td>", right(align), escape(&cell.words()))),
    }
}

/// A picture in a frame.
pub(crate) fn figure(out: &mut String, scene: &Scene) {
    let svg = scene.to_svg().replacen("<svg ", "<svg class=\"picture\" ", 1);
    let _ = writeln!(out, "<figure>{svg}</figure>");
}

/// A heading of the second or third order.
pub(crate) fn heading(out: &mut String, order: u8, text: &str) {
    let _ = writeln!(out, "<h{order}>{}</h{order}>", escape(text));
}

/// A sentence.
pub(crate) fn sentence(out: &mut String, class: &str, text: &str) {
    let _ = writeln!(out, "<p class=\"{class}\">{}</p>", escape(text));
}
