//! A board repeated in a panel: what is asked for, what it comes to, and the way to planning it.

use super::one::Board;
use super::sketch;
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::Room;
use crate::trouble::Answer;
use app::read::Product;
use axum::extract::{Path, Query, State};
use diag::{Finding, codes};
use domain::job::{Job, Panel, Turned};
use domain::product::Side;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use store::people::Role;
use units::{Length, Point};

/// What is asked for, as it is typed: lengths with a unit, or in millimetres without; pairs with an `x` between.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// `top` or `bottom`; empty for the fuller side.
    pub side: String,
    /// Boards along X.
    pub columns: String,
    /// Boards along Y.
    pub rows: String,
    /// From board to board along X.
    pub pitch_x: String,
    /// From board to board along Y.
    pub pitch_y: String,
    /// Rail left and right.
    pub rail_x: String,
    /// Rail below and above.
    pub rail_y: String,
    /// `none`, `columns`, `rows` or `both`.
    pub turned: String,
    /// Marks of the panel from its corners, `5mmx3.5mm`; empty for those of the boards.
    pub marks: String,
    /// The spot of every board that tells whether it is bad, `2mmx3mm`; empty for none.
    pub bad_mark: String,
}

impl Asked {
    /// What to begin with: boards that touch, as when they are scored apart.
    fn beginning(product: &Product) -> Self {
        let text = |l: Length| written(l);
        let fuller = if product.fitted_on(Side::Bottom) > product.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
        Self {
            side: fuller.word().to_owned(),
            columns: "2".to_owned(),
            rows: "2".to_owned(),
            pitch_x: text(product.width_um),
            pitch_y: text(product.depth_um),
            rail_x: "0mm".to_owned(),
            rail_y: "5mm".to_owned(),
            turned: Turned::None.word().to_owned(),
            ..Self::default()
        }
    }

    /// As a side and a panel.
    ///
    /// # Errors
    /// One finding for each field that cannot be read.
    pub fn parse(&self) -> Result<(Side, Panel), Vec<Finding>> {
        let mut wrong = Vec::new();
        let side = match self.side.as_str() {
            "top" => Side::Top,
            "bottom" => Side::Bottom,
            other => {
                wrong.push(finding("side", other, "write top or bottom"));
                Side::Top
            }
        };
        let columns = count(&mut wrong, "columns", &self.columns);
        let rows = count(&mut wrong, "rows", &self.rows);
        let mut lengths = [
            ("pitch along X", &self.pitch_x),
            ("pitch along Y", &self.pitch_y),
            ("rail left and right", &self.rail_x),
            ("rail below and above", &self.rail_y),
        ]
        .map(|(name, text)| length(&mut wrong, name, text));
        if (columns, rows) == (1, 1) {
            // As the command line has it: a single board has no pitch.
            (lengths[0], lengths[1]) = (Length::ZERO, Length::ZERO);
        }
        let marks = pair(&mut wrong, "marks", &self.marks);
        let bad_mark = pair(&mut wrong, "bad-board mark", &self.bad_mark);
        let turned = match self.turned.as_str() {
            "" => Turned::None,
            word => Turned::from_word(word).unwrap_or_else(|| {
                wrong.push(finding("turned", word, "write none, columns, rows or both"));
                Turned::None
            }),
        };
        let [pitch_x_um, pitch_y_um, rail_x_um, rail_y_um] = lengths;
        let panel = Panel { columns, rows, pitch_x_um, pitch_y_um, rail_x_um, rail_y_um, turned, marks, bad_mark };
        if wrong.is_empty() { Ok((side, panel)) } else { Err(wrong) }
    }
}

/// The address of a form for a plan of this board in this panel.
pub fn plan_address(product: &str, side: Side, panel: &Panel) -> String {
    let mut pairs = vec![
        ("product", product.to_owned()),
        ("side", side.word().to_owned()),
        ("columns", panel.columns.to_string()),
        ("rows", panel.rows.to_string()),
        ("pitch_x", written(panel.pitch_x_um)),
        ("pitch_y", written(panel.pitch_y_um)),
        ("rail_x", written(panel.rail_x_um)),
        ("rail_y", written(panel.rail_y_um)),
        ("turned", panel.turned.word().to_owned()),
    ];
    let point = |p: Point| format!("{}x{}", written(p.x), written(p.y));
    pairs.extend(panel.marks.map(|p| ("marks", point(p))));
    pairs.extend(panel.bad_mark.map(|p| ("bad_mark", point(p))));
    let query: Vec<String> = pairs.iter().map(|(k, v)| format!("{k}={}", page::path(v))).collect();
    format!("/plans/new?{}", query.join("&"))
}

/// A length as the command line writes it.
fn written(length: Length) -> String {
    format!("{}mm", length.to_mm())
}

fn finding(what: &str, text: &str, hint: &str) -> Finding {
    Finding::new(codes::plan::PANEL, format!("the {what} cannot be read")).value(text).hint(hint)
}

fn count(wrong: &mut Vec<Finding>, what: &str, text: &str) -> u32 {
    text.trim().parse().unwrap_or_else(|_| {
        wrong.push(finding(what, text, "write a whole number"));
        1
    })
}

fn length(wrong: &mut Vec<Finding>, what: &str, text: &str) -> Length {
    let text = text.trim();
    if text.is_empty() {
        return Length::ZERO;
    }
    let with_unit = if text.parse::<f64>().is_ok() { format!("{text}mm") } else { text.to_owned() };
    with_unit.parse().unwrap_or_else(|e| {
        wrong.push(finding(what, text, &format!("{e}")));
        Length::ZERO
    })
}

fn pair(wrong: &mut Vec<Finding>, what: &str, text: &str) -> Option<Point> {
    if text.trim().is_empty() {
        return None;
    }
    let Some((x, y)) = text.split_once('x') else {
        wrong.push(finding(what, text, "write two lengths with an x between them, such as 5mmx3.5mm"));
        return None;
    };
    Some(Point { x: length(wrong, what, x), y: length(wrong, what, y) })
}

/// The page: the form, what it comes to, the picture.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(asked): Query<Asked>) -> Answer<Markup> {
    let board = Board::load(&room, &name, None).await?;
    let product = board.product();
    let asked = if asked == Asked::default() { Asked::beginning(product) } else { asked };
    let at = format!("/boards/{}", page::path(&name));
    let laid_out = asked.parse().and_then(|(side, panel)| Job::new(product, side, panel).map_err(|f| vec![*f]));
    let body = html! {
        p { "One board is " (board.summary.size()) @if !board.summary.size_stated { ", by the extent of its placements: state its size before you trust a panel of it" } ". " a href=(at) { "Back to the board" } }
        div.beside {
            (form(&at, &asked))
            section {
                @match &laid_out {
                    Err(wrong) => { h2 { "This is no panel" } (page::findings(wrong)) }
                    Ok(job) => {
                        h2 { "The panel" }
                        (figures(job))
                        (sketch::panel(job))
                        @if who.may(Role::Engineer) {
                            p { a.button href=(plan_address(&name, job.side, &job.panel)) { "Plan this panel" } }
                        }
                    }
                }
            }
        }
    };
    Ok(page::page(&who, Part::Boards, &format!("{name}: panel"), &body))
}

fn figures(job: &Job<'_>) -> Markup {
    let marks = match (&job.panel.marks, job.fiducials_assumed) {
        (Some(_), _) => "of the panel",
        (None, true) => "assumed near two corners, as the board has less than two on this side",
        (None, false) => "of the first and the last board",
    };
    html! {
        dl.figures {
            div { dt { "size" } dd { (job.size.x.to_mm()) " × " (job.size.y.to_mm()) " mm" } }
            div { dt { "boards" } dd { (job.panel.images()) } }
            div { dt { "placements" } dd { (job.tasks.len()) } }
            div { dt { "spots looked at" } dd { (job.fiducials.len()) } }
        }
        p.quiet { "Marks: " (marks) "." @if job.panel.bad_mark.is_some() { " Every station looks at the bad-board spot of every board." } }
    }
}

fn form(at: &str, a: &Asked) -> Markup {
    let field = |label: &str, name: &str, value: &str| {
        html! { label { (label) input name=(name) value=(value) autocomplete="off"; } }
    };
    let choice = |label: &str, name: &str, value: &str, words: &[&str]| {
        html! { label { (label) select name=(name) { @for word in words { option selected[*word == value] { (word) } } } } }
    };
    let turned: Vec<&str> = Turned::ALL.iter().map(|t| t.word()).collect();
    html! {
        form.stack method="get" action={ (at) "/panel" } {
            (choice("Side to be placed", "side", &a.side, &[Side::Top.word(), Side::Bottom.word()]))
            (field("Boards along X", "columns", &a.columns))
            (field("Boards along Y", "rows", &a.rows))
            (field("From board to board along X", "pitch_x", &a.pitch_x))
            (field("From board to board along Y", "pitch_y", &a.pitch_y))
            (field("Rail left and right", "rail_x", &a.rail_x))
            (field("Rail below and above", "rail_y", &a.rail_y))
            (choice("Boards turned by 180°: every other of", "turned", &a.turned, &turned))
            (field("Marks on the rails, from the panel's corners, such as 5mmx3.5mm; empty for those of the boards", "marks", &a.marks))
            (field("Bad-board spot of each board, from its lower left corner as placed, such as 2mmx3mm; empty for none", "bad_mark", &a.bad_mark))
            p.quiet { "A number without a unit is in millimetres." }
            button { "Lay out" }
        }
    }
}
