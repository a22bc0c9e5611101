//! Fills pages from top to bottom. Places are points (1/72 inch) from the upper left corner.

use crate::error::ReportError;
use draw::Scene;
use draw::palette::{INK, QUIET, RULE};
use draw::scene::Colour;
use draw::text;

/// A4 landscape (ISO 216), in points.
pub(crate) const PAGE: (f64, f64) = (841.89, 595.28);
/// Free on every side.
pub(crate) const MARGIN: f64 = 40.0;
/// Width of what is printed.
pub(crate) const WIDTH: f64 = PAGE.0 - 2.0 * MARGIN;
/// Where the contents of a page begin and end.
pub(crate) const TOP: f64 = MARGIN + 16.0;
pub(crate) const BOTTOM: f64 = PAGE.1 - MARGIN - 8.0;
/// Colour of headings, a dark teal of our own.
pub(crate) const ACCENT: Colour = Colour(0x0f, 0x5f, 0x73);

/// A mark at a place of a page.
pub(crate) enum Mark {
    /// A line of text; `y` is its base line.
    Text { x: f64, y: f64, size: f64, bold: bool, colour: Colour, text: String },
    /// A straight line.
    Line { from: (f64, f64), to: (f64, f64), width: f64, colour: Colour },
    /// A filled rectangle.
    Rect { x: f64, y: f64, w: f64, h: f64, colour: Colour },
    /// A picture, as SVG.
    Picture { x: f64, y: f64, w: f64, h: f64, svg: String },
}

/// An entry of the outline: words, page and height.
pub(crate) struct Bookmark {
    pub(crate) words: String,
    pub(crate) page: usize,
    pub(crate) y: f64,
}

/// Pages being filled.
pub(crate) struct Flow {
    pub(crate) pages: Vec<Vec<Mark>>,
    pub(crate) bookmarks: Vec<Bookmark>,
    pub(crate) y: f64,
}

impl Flow {
    pub(crate) fn new() -> Self {
        Self { pages: vec![Vec::new()], bookmarks: Vec::new(), y: TOP }
    }

    /// Sets a mark on the current page.
    pub(crate) fn mark(&mut self, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.push(mark);
        }
    }

    /// Goes to a new page, unless this one is still empty.
    pub(crate) fn new_page(&mut self) {
        if self.pages.last().is_some_and(|p| !p.is_empty()) {
            self.pages.push(Vec::new());
        }
        self.y = TOP;
    }

    /// Goes to a new page when less than `height` is left.
    pub(crate) fn need(&mut self, height: f64) {
        if self.y + height > BOTTOM {
            self.new_page();
        }
    }

    /// Height left on this page.
    pub(crate) fn left(&self) -> f64 {
        BOTTOM - self.y
    }

    pub(crate) fn text(&mut self, x: f64, y: f64, size: f64, bold: bool, colour: Colour, text: impl Into<String>) {
        self.mark(Mark::Text { x, y, size, bold, colour, text: text.into() });
    }

    /// A heading that begins a part, with its bookmark. `keep` is the height that must follow on the same page.
    pub(crate) fn heading(&mut self, words: &str, keep: f64) {
        const SIZE: f64 = 15.0;
        let lines = text::wrap(words, WIDTH, SIZE, true);
        self.need(lines.len() as f64 * SIZE * 1.3 + 8.0 + keep);
        let (page, y) = (self.pages.len() - 1, self.y);
        self.bookmarks.push(Bookmark { words: words.to_owned(), page, y });
        self.lines(&lines, SIZE, true, ACCENT);
        self.y += 6.0;
    }

    /// A heading inside a part.
    pub(crate) fn subheading(&mut self, words: &str, keep: f64) {
        const SIZE: f64 = 10.5;
        let lines = text::wrap(words, WIDTH, SIZE, true);
        self.y += 12.0;
        self.need(lines.len() as f64 * SIZE * 1.3 + 4.0 + keep);
        self.lines(&lines, SIZE, true, INK);
        self.y += 3.0;
    }

    /// A paragraph in the main or the secondary ink.
    pub(crate) fn paragraph(&mut self, words: &str, size: f64, quiet: bool) {
        let lines = text::wrap(words, WIDTH, size, false);
        self.lines(&lines, size, false, if quiet { QUIET } else { INK });
        self.y += size * 0.5;
    }

    fn lines(&mut self, lines: &[String], size: f64, bold: bool, colour: Colour) {
        for line in lines {
            self.need(size * 1.3);
            self.text(MARGIN, self.y + size, size, bold, colour, line.clone());
            self.y += size * 1.3;
        }
    }

    /// A picture over the width, smaller where it is taller than a page; on a new page where this one has no room.
    pub(crate) fn picture(&mut self, scene: &Scene) {
        let h = self.picture_height(scene);
        let w = scene.width * h / scene.height.max(1.0);
        // A picture that almost fits is made a little smaller rather than leave half a page empty.
        let (w, h) = if h > self.left() && h * 0.8 <= self.left() { (w * self.left() / h, self.left()) } else { (w, h) };
        self.need(h);
        let (x, y) = (MARGIN + (WIDTH - w) / 2.0, self.y);
        self.mark(Mark::Picture { x, y, w, h, svg: scene.to_svg() });
        self.y += h + 10.0;
    }

    /// Height of a picture over the width, at most of a page below a heading.
    pub(crate) fn picture_height(&self, scene: &Scene) -> f64 {
        (scene.height * WIDTH / scene.width.max(1.0)).min(BOTTOM - TOP - 30.0)
    }

    /// Sets the running head and the page numbers, once all pages are filled.
    pub(crate) fn finish(mut self, title: &str) -> Result<Vec<u8>, ReportError> {
        let count = self.pages.len();
        let room = WIDTH - 120.0;
        for (i, page) in self.pages.iter_mut().enumerate() {
            let words = format!("page {} of {count}", i + 1);
            let x = PAGE.0 - MARGIN - text::width(&words, 8.0, false);
            let foot = PAGE.1 - MARGIN + 10.0;
            let line = |y| Mark::Line { from: (MARGIN, y), to: (PAGE.0 - MARGIN, y), width: 0.5, colour: RULE };
            page.push(line(foot - 12.0));
            page.push(Mark::Text { x, y: foot, size: 8.0, bold: false, colour: QUIET, text: words });
            let caution = "A proposal: qualified people check and release it. Never bypass an interlock.";
            page.push(Mark::Text { x: MARGIN, y: foot, size: 8.0, bold: false, colour: QUIET, text: caution.to_owned() });
            if i > 0 {
                let short = text::fit(title, room, 8.0, false);
                page.push(Mark::Text { x: MARGIN, y: MARGIN, size: 8.0, bold: false, colour: QUIET, text: short });
                page.push(line(MARGIN + 5.0));
            }
        }
        super::ink::write(&self, title)
    }
}
