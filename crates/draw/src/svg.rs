//! Writes a [`Scene`] as SVG text.
//!
//! Everything is a presentation attribute, so that a page, the sheet writer and a bitmap
//! renderer show the same. Numbers are written with at most two decimals: the same scene
//! gives the same bytes.

use crate::scene::{Anchor, Colour, Node, Paint, Scene, Shape, Step};
use std::fmt::Write;

/// Font families asked for, best first.
pub const FONT: &str = "DejaVu Sans, sans-serif";

/// The picture as one `svg` element.
pub fn write(scene: &Scene) -> String {
    let (w, h) = (number(scene.width), number(scene.height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" font-family=\"{FONT}\">"
    );
    title(&mut out, &scene.title);
    for node in &scene.nodes {
        write_node(&mut out, node);
    }
    out.push_str("</svg>");
    out
}

impl Scene {
    /// The picture as one `svg` element; see [`write()`].
    pub fn to_svg(&self) -> String {
        write(self)
    }
}

/// Text made safe for XML and HTML, in content and in quoted attributes. Characters XML
/// cannot hold become U+FFFD, so that nothing vanishes unseen.
///
/// ```
/// assert_eq!(draw::svg::escape("<b>\"R&D\"</b>"), "&lt;b&gt;&quot;R&amp;D&quot;&lt;/b&gt;");
/// ```
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}

fn title(out: &mut String, text: &str) {
    if !text.is_empty() {
        let _ = write!(out, "<title>{}</title>", escape(text));
    }
}

fn write_node(out: &mut String, node: &Node) {
    let name = match &node.shape {
        Shape::Rect { .. } => "rect",
        Shape::Path(_) => "path",
        Shape::Circle { .. } => "circle",
        Shape::Text { .. } => "text",
        Shape::Group { .. } => "g",
    };
    let _ = write!(out, "\n<{name}");
    if !node.role.class().is_empty() {
        let _ = write!(out, " class=\"{}\"", node.role.class());
    }
    geometry(out, &node.shape);
    paint(out, &node.paint, matches!(node.shape, Shape::Group { .. }));
    content(out, node, name);
}

fn geometry(out: &mut String, shape: &Shape) {
    match shape {
        Shape::Rect { x, y, w, h, r } => {
            attributes(out, &[("x", *x), ("y", *y), ("width", *w), ("height", *h)]);
            if *r > 0.0 {
                attributes(out, &[("rx", *r)]);
            }
        }
        Shape::Path(steps) => {
            out.push_str(" d=\"");
            for step in steps {
                let _ = match step {
                    Step::Move(x, y) => write!(out, "M{} {}", number(*x), number(*y)),
                    Step::Line(x, y) => write!(out, "L{} {}", number(*x), number(*y)),
                    Step::Close => write!(out, "Z"),
                };
            }
            out.push('"');
        }
        Shape::Circle { x, y, r } => attributes(out, &[("cx", *x), ("cy", *y), ("r", *r)]),
        Shape::Text { x, y, size, anchor, bold, turn, .. } => {
            attributes(out, &[("x", *x), ("y", *y), ("font-size", *size)]);
            out.push_str(match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            });
            if *bold {
                out.push_str(" font-weight=\"bold\"");
            }
            if *turn != 0.0 {
                let _ = write!(out, " transform=\"rotate({} {} {})\"", number(*turn), number(*x), number(*y));
            }
        }
        Shape::Group { dx, dy, turn, .. } => {
            let _ = write!(out, " transform=\"translate({} {})", number(*dx), number(*dy));
            if *turn != 0.0 {
                let _ = write!(out, " rotate({})", number(*turn));
            }
            out.push('"');
        }
    }
}

fn attributes(out: &mut String, values: &[(&str, f64)]) {
    for (name, value) in values {
        let _ = write!(out, " {name}=\"{}\"", number(*value));
    }
}

/// A group without paint of its own says nothing, since `none` would be handed on.
fn paint(out: &mut String, paint: &Paint, group: bool) {
    match paint.fill {
        Some(colour) => drop(write!(out, " fill=\"{}\"", hex(colour))),
        None if !group => out.push_str(" fill=\"none\""),
        None => {}
    }
    if paint.holes {
        out.push_str(" fill-rule=\"evenodd\"");
    }
    if let Some(colour) = paint.stroke {
        let _ = write!(out, " stroke=\"{}\"", hex(colour));
        attributes(out, &[("stroke-width", paint.width)]);
        if paint.dashed {
            out.push_str(" stroke-dasharray=\"4 3\"");
        }
    }
}

fn content(out: &mut String, node: &Node, name: &str) {
    let inner = matches!(node.shape, Shape::Text { .. } | Shape::Group { .. });
    if !inner && node.tip.is_empty() {
        out.push_str("/>");
        return;
    }
    out.push('>');
    title(out, &node.tip);
    match &node.shape {
        Shape::Text { text, .. } => out.push_str(&escape(text)),
        Shape::Group { nodes, .. } => nodes.iter().for_each(|n| write_node(out, n)),
        _ => {}
    }
    let _ = write!(out, "</{name}>");
}

/// A colour as `#rrggbb`.
pub fn hex(Colour(r, g, b): Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// At most two decimals, none that say nothing; what is no number counts as 0.
fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let rounded = (value * 100.0).round() / 100.0;
    if rounded == 0.0 { "0".to_owned() } else { format!("{rounded}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_stays_text() {
        let mut scene = Scene::new("a \"b\" & c", 10.0, 10.0);
        scene.push(Node::text(1.0, 1.0, 8.0, "<script>alert('x')</script>\u{1}").tip("</title>"));
        let svg = scene.to_svg();
        assert!(svg.contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;\u{FFFD}"));
        assert!(!svg.contains("<script"));
        assert!(svg.contains("<title>&lt;/title&gt;</title>"));
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!([number(1.0), number(-0.001), number(2.345_6), number(f64::NAN)], ["1", "0", "2.35", "0"]);
    }

    #[test]
    fn groups_hand_nothing_on_unasked() {
        let mut scene = Scene::new("", 1.0, 1.0);
        scene.push(Node::group(1.0, 2.0, vec![Node::circle(0.0, 0.0, 1.0, Paint::fill(Colour(1, 2, 3)))]).turned(90.0));
        let svg = scene.to_svg();
        assert!(
            svg.contains("<g transform=\"translate(1 2) rotate(90)\">\n<circle cx=\"0\" cy=\"0\" r=\"1\" fill=\"#010203\"/></g>"),
            "{svg}"
        );
    }
}
