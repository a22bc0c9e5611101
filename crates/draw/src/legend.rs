//! A legend: swatches with words, flowing in lines.

use crate::hatch;
use crate::palette::{INK, Tint, ink_on};
use crate::scene::{Node, Paint, Shape};
use crate::text;

/// One entry: how it looks and what it means.
pub(crate) struct Entry {
    /// The swatch, drawn in a box of 14 x 14 at the origin.
    pub(crate) swatch: Vec<Node>,
    /// The words.
    pub(crate) words: String,
}

impl Entry {
    /// A swatch in a tint.
    pub(crate) fn tint(tint: Tint, words: impl Into<String>) -> Self {
        Self { swatch: tinted(0.0, 1.0, 14.0, 12.0, tint, ""), words: words.into() }
    }
}

/// A rectangle in a tint: the colour and, over it, the hatch.
pub(crate) fn tinted(x: f64, y: f64, w: f64, h: f64, tint: Tint, tip: &str) -> Vec<Node> {
    let mut nodes = vec![Node::rect(x, y, w, h, Paint::fill(tint.colour)).tip(tip)];
    let lines = hatch::lines(tint.hatch, x, y, w, h, 6.0);
    if !lines.is_empty() {
        nodes.push(Node::new(Shape::Path(lines), Paint::stroke(hatch_ink(tint), 1.0)).tip(tip));
    }
    nodes
}

/// Colour of the hatch over a tint.
pub(crate) fn hatch_ink(tint: Tint) -> crate::scene::Colour {
    if ink_on(tint.colour) == INK { INK } else { crate::palette::WHITE }
}

/// Entries in lines within `width`; gives the nodes and the height used.
pub(crate) fn flow(entries: Vec<Entry>, x: f64, y: f64, width: f64) -> (Vec<Node>, f64) {
    const SIZE: f64 = 11.0;
    const LINE: f64 = 20.0;
    let (mut left, mut top, mut nodes) = (0.0, 0.0, Vec::new());
    for entry in entries {
        let words = text::fit(&entry.words, width - 40.0, SIZE, false);
        let wide = 20.0 + text::width(&words, SIZE, false) + 18.0;
        if left > 0.0 && left + wide > width {
            left = 0.0;
            top += LINE;
        }
        let mut both = entry.swatch;
        both.push(Node::text(20.0, 11.0, SIZE, words).tip(entry.words));
        nodes.push(Node::group(x + left, y + top, both));
        left += wide;
    }
    (nodes, top + LINE)
}
