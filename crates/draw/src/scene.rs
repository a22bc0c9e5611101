//! What can be drawn: rectangles, paths, circles, text and groups of them.
//!
//! Coordinates are in picture units, X to the right and Y down; one unit is one CSS pixel at
//! full size. Leaves out everything the pictures do not need (gradients, images, patterns).

/// A colour, red, green and blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Colour(pub u8, pub u8, pub u8);

/// Role of a shape, written as its class so that a page can recolour it for a dark background.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Role {
    /// Keeps its own colours.
    #[default]
    Plain,
    /// Main text.
    Ink,
    /// Secondary text.
    Quiet,
    /// Grid lines and outlines.
    Rule,
    /// Strong outlines without fill.
    Ring,
    /// Backgrounds that follow the page.
    Paper,
}

impl Role {
    /// The class written to the SVG; empty for [`Role::Plain`].
    pub const fn class(self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Ink => "ink",
            Self::Quiet => "quiet",
            Self::Rule => "rule",
            Self::Ring => "ring",
            Self::Paper => "paper",
        }
    }
}

/// Which end of a text its place is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    /// The text begins there.
    #[default]
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

/// A step of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Go there without drawing.
    Move(f64, f64),
    /// Draw a straight line to there.
    Line(f64, f64),
    /// Draw back to the last move.
    Close,
}

/// How a shape is painted.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Paint {
    /// Colour of the inside.
    pub fill: Option<Colour>,
    /// Colour of the outline.
    pub stroke: Option<Colour>,
    /// Width of the outline.
    pub width: f64,
    /// Whether the outline is dashed.
    pub dashed: bool,
    /// Whether a path that crosses itself leaves holes (the even-odd rule).
    pub holes: bool,
}

impl Paint {
    /// Filled, without outline.
    pub const fn fill(colour: Colour) -> Self {
        Self { fill: Some(colour), stroke: None, width: 0.0, dashed: false, holes: false }
    }

    /// Outlined, not filled.
    pub const fn stroke(colour: Colour, width: f64) -> Self {
        Self { fill: None, stroke: Some(colour), width, dashed: false, holes: false }
    }

    /// With an outline too.
    #[must_use]
    pub const fn outlined(mut self, colour: Colour, width: f64) -> Self {
        self.stroke = Some(colour);
        self.width = width;
        self
    }

    /// With the outline dashed.
    #[must_use]
    pub const fn dashed(mut self) -> Self {
        self.dashed = true;
        self
    }
}

/// What a node is.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A rectangle with its upper left corner, size and corner radius.
    Rect {
        /// Left.
        x: f64,
        /// Top.
        y: f64,
        /// Width.
        w: f64,
        /// Height.
        h: f64,
        /// Radius of the corners.
        r: f64,
    },
    /// Straight lines.
    Path(Vec<Step>),
    /// A circle.
    Circle {
        /// Centre, X.
        x: f64,
        /// Centre, Y.
        y: f64,
        /// Radius.
        r: f64,
    },
    /// One line of text.
    Text {
        /// X of the anchor.
        x: f64,
        /// Y of the base line.
        y: f64,
        /// Size of the letters.
        size: f64,
        /// Which end `x` is.
        anchor: Anchor,
        /// Whether it is bold.
        bold: bool,
        /// Turned clockwise about its place, in degrees.
        turn: f64,
        /// The text itself, unescaped.
        text: String,
    },
    /// Nodes moved, then turned, together.
    Group {
        /// Moved right.
        dx: f64,
        /// Moved down.
        dy: f64,
        /// Turned clockwise, in degrees.
        turn: f64,
        /// What is in it, later ones on top.
        nodes: Vec<Node>,
    },
}

/// A shape with its paint, role and tooltip.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// What it is.
    pub shape: Shape,
    /// How it is painted; a group hands its paint on to what is in it.
    pub paint: Paint,
    /// Its role.
    pub role: Role,
    /// Shown when pointed at; empty for none.
    pub tip: String,
}

impl Node {
    /// A node of this shape and paint.
    pub fn new(shape: Shape, paint: Paint) -> Self {
        Self { shape, paint, role: Role::Plain, tip: String::new() }
    }

    /// A rectangle.
    pub fn rect(x: f64, y: f64, w: f64, h: f64, paint: Paint) -> Self {
        Self::new(Shape::Rect { x, y, w: w.max(0.0), h: h.max(0.0), r: 0.0 }, paint)
    }

    /// A straight line.
    pub fn line(from: (f64, f64), to: (f64, f64), paint: Paint) -> Self {
        Self::new(Shape::Path(vec![Step::Move(from.0, from.1), Step::Line(to.0, to.1)]), paint)
    }

    /// A circle.
    pub fn circle(x: f64, y: f64, r: f64, paint: Paint) -> Self {
        Self::new(Shape::Circle { x, y, r }, paint)
    }

    /// A line of text in the main ink, beginning at its place.
    pub fn text(x: f64, y: f64, size: f64, text: impl Into<String>) -> Self {
        let shape = Shape::Text { x, y, size, anchor: Anchor::Start, bold: false, turn: 0.0, text: text.into() };
        Self { shape, paint: Paint::fill(crate::palette::INK), role: Role::Ink, tip: String::new() }
    }

    /// Nodes moved together.
    pub fn group(dx: f64, dy: f64, nodes: Vec<Node>) -> Self {
        Self::new(Shape::Group { dx, dy, turn: 0.0, nodes }, Paint::default())
    }

    /// With rounded corners, for a rectangle.
    #[must_use]
    pub fn rounded(mut self, radius: f64) -> Self {
        if let Shape::Rect { r, .. } = &mut self.shape {
            *r = radius;
        }
        self
    }

    /// Anchored otherwise, for a text.
    #[must_use]
    pub fn anchored(mut self, to: Anchor) -> Self {
        if let Shape::Text { anchor, .. } = &mut self.shape {
            *anchor = to;
        }
        self
    }

    /// Bold, for a text.
    #[must_use]
    pub fn bold(mut self) -> Self {
        if let Shape::Text { bold, .. } = &mut self.shape {
            *bold = true;
        }
        self
    }

    /// Turned clockwise by so many degrees, for a text or group.
    #[must_use]
    pub fn turned(mut self, degrees: f64) -> Self {
        if let Shape::Text { turn, .. } | Shape::Group { turn, .. } = &mut self.shape {
            *turn = degrees;
        }
        self
    }

    /// In the secondary ink.
    #[must_use]
    pub fn quiet(mut self) -> Self {
        self.paint = Paint::fill(crate::palette::QUIET);
        self.role = Role::Quiet;
        self
    }

    /// In a colour of its own that stays on any page.
    #[must_use]
    pub fn coloured(mut self, colour: Colour) -> Self {
        self.paint = Paint::fill(colour);
        self.role = Role::Plain;
        self
    }

    /// In this role.
    #[must_use]
    pub fn role(mut self, role: Role) -> Self {
        self.role = role;
        self
    }

    /// With a tooltip.
    #[must_use]
    pub fn tip(mut self, tip: impl Into<String>) -> Self {
        self.tip = tip.into();
        self
    }
}

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// What it shows, in a few words, for people who cannot see it.
    pub title: String,
    /// Width in picture units.
    pub width: f64,
    /// Height in picture units.
    pub height: f64,
    /// What is drawn, later ones on top.
    pub nodes: Vec<Node>,
}

impl Scene {
    /// An empty picture.
    pub fn new(title: impl Into<String>, width: f64, height: f64) -> Self {
        Self { title: title.into(), width, height, nodes: Vec::new() }
    }

    /// Adds a node on top.
    pub fn push(&mut self, node: Node) {
        self.nodes.push(node);
    }

    /// Adds nodes on top.
    pub fn extend(&mut self, nodes: impl IntoIterator<Item = Node>) {
        self.nodes.extend(nodes);
    }
}
