//! Inks laid-out pages: text, lines and pictures through the PDF library, with the two
//! embedded fonts. No date is written, so the same plan gives the same bytes.

use super::flow::{Bookmark, Flow, Mark, PAGE};
use crate::error::ReportError;
use draw::scene::Colour;
use krilla::Document;
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};
use krilla_svg::{SurfaceExt, SvgSettings};
use std::sync::Arc;

const REGULAR: &[u8] = include_bytes!("../../assets/DejaVuSans.ttf");
const BOLD: &[u8] = include_bytes!("../../assets/DejaVuSans-Bold.ttf");

/// The fonts, for our text and for that of pictures.
struct Fonts {
    regular: Font,
    bold: Font,
    svg: usvg::Options<'static>,
}

impl Fonts {
    fn load() -> Result<Self, ReportError> {
        let font = |data: &'static [u8]| Font::new(data.to_vec().into(), 0).ok_or(ReportError::Font);
        let mut known = usvg::fontdb::Database::new();
        known.load_font_data(REGULAR.to_vec());
        known.load_font_data(BOLD.to_vec());
        known.set_sans_serif_family("DejaVu Sans");
        let svg = usvg::Options { font_family: "DejaVu Sans".to_owned(), fontdb: Arc::new(known), ..Default::default() };
        Ok(Self { regular: font(REGULAR)?, bold: font(BOLD)?, svg })
    }
}

/// Writes all pages.
pub(super) fn write(flow: &Flow, title: &str) -> Result<Vec<u8>, ReportError> {
    let fonts = Fonts::load()?;
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(printable(title)).creator("evenline".to_owned()).language("en".to_owned()));
    let (w, h) = (PAGE.0 as f32, PAGE.1 as f32);
    for marks in &flow.pages {
        let settings = PageSettings::from_wh(w, h).ok_or_else(|| ReportError::Pdf("the page has no size".to_owned()))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        for mark in marks {
            ink(&mut surface, &fonts, mark)?;
        }
        surface.finish();
        page.finish();
    }
    document.set_outline(outline(&flow.bookmarks));
    document.finish().map_err(|e| ReportError::Pdf(format!("{e:?}")))
}

fn outline(bookmarks: &[Bookmark]) -> Outline {
    let mut outline = Outline::new();
    for mark in bookmarks {
        let to = XyzDestination::new(mark.page, Point::from_xy(0.0, mark.y as f32));
        outline.push_child(OutlineNode::new(printable(&mark.words), to));
    }
    outline
}

fn ink(surface: &mut Surface<'_>, fonts: &Fonts, mark: &Mark) -> Result<(), ReportError> {
    match mark {
        Mark::Text { x, y, size, bold, colour, text } => {
            surface.set_fill(Some(fill(*colour)));
            surface.set_stroke(None);
            let font = if *bold { &fonts.bold } else { &fonts.regular };
            let text = printable(text);
            if !text.is_empty() {
                surface.draw_text(Point::from_xy(*x as f32, *y as f32), font.clone(), *size as f32, &text, false, TextDirection::Auto);
            }
        }
        Mark::Line { from, to, width, colour } => {
            let mut path = PathBuilder::new();
            path.move_to(from.0 as f32, from.1 as f32);
            path.line_to(to.0 as f32, to.1 as f32);
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke { paint: paint(*colour).into(), width: *width as f32, ..Stroke::default() }));
            path.finish().iter().for_each(|p| surface.draw_path(p));
        }
        Mark::Rect { x, y, w, h, colour } => {
            let mut path = PathBuilder::new();
            Rect::from_xywh(*x as f32, *y as f32, *w as f32, *h as f32).into_iter().for_each(|r| path.push_rect(r));
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*colour)));
            path.finish().iter().for_each(|p| surface.draw_path(p));
        }
        Mark::Picture { x, y, w, h, svg } => picture(surface, fonts, (*x, *y, *w, *h), svg)?,
    }
    Ok(())
}

fn picture(surface: &mut Surface<'_>, fonts: &Fonts, (x, y, w, h): (f64, f64, f64, f64), svg: &str) -> Result<(), ReportError> {
    let tree = usvg::Tree::from_str(svg, &fonts.svg).map_err(|e| ReportError::Picture(e.to_string()))?;
    let size = Size::from_wh(w as f32, h as f32).ok_or_else(|| ReportError::Picture("the picture has no size".to_owned()))?;
    surface.push_transform(&Transform::from_translate(x as f32, y as f32));
    let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
    surface.pop();
    drawn.ok_or_else(|| ReportError::Picture("the picture could not be converted".to_owned()))
}

fn paint(Colour(r, g, b): Colour) -> rgb::Color {
    rgb::Color::new(r, g, b)
}

fn fill(colour: Colour) -> Fill {
    Fill { paint: paint(colour).into(), opacity: NormalizedF32::ONE, rule: Default::default() }
}

/// Control characters have no glyph: they become U+FFFD, blanks stay blanks.
fn printable(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c.is_whitespace() {
                ' '
            } else if c.is_control() {
                '\u{FFFD}'
            } else {
                c
            }
        })
        .collect()
}
