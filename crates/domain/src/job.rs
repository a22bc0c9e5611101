//! What is to be built: one side of a product, repeated in a panel.
//!
//! A [`Job`] lays out the fitted placements of all images in the panel's frame: origin at
//! the panel's lower left corner as it lies in the machine, side to be placed up. The bottom
//! side is turned over about the Y axis, so its X runs from the board's right edge.

use crate::part::Part;
use crate::product::{PartId, Product, Side, Status};
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::{Angle, Length, Point};

crate::part::named! {
    /// Which images of a panel lie turned by 180 degrees.
    Turned {
        /// None.
        None = "none",
        /// Every other column, beginning with the second.
        Columns = "columns",
        /// Every other row, beginning with the second.
        Rows = "rows",
        /// Every other image in columns and rows.
        Both = "both",
    }
}

/// Boards repeated in one carrier, in columns (X) and rows (Y), with rails around them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Images along X.
    pub columns: u32,
    /// Images along Y.
    pub rows: u32,
    /// From image to image along X [µm].
    pub pitch_x_um: Length,
    /// From image to image along Y [µm].
    pub pitch_y_um: Length,
    /// Rail to the left of the first and to the right of the last column [µm].
    #[serde(default, skip_serializing_if = "is_zero")]
    pub rail_x_um: Length,
    /// Rail below the first and above the last row [µm].
    #[serde(default, skip_serializing_if = "is_zero")]
    pub rail_y_um: Length,
    /// Which images lie turned.
    #[serde(default = "not_turned", skip_serializing_if = "is_not_turned")]
    pub turned: Turned,
    /// Marks of the panel itself, in place of those of the boards: this far from the lower left, lower right and upper
    /// right corner of the panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks: Option<Point>,
    /// On every board, in its frame as placed: the spot that is looked at to see whether the board is bad and to be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bad_mark: Option<Point>,
}

fn is_zero(length: &Length) -> bool {
    *length == Length::ZERO
}

fn not_turned() -> Turned {
    Turned::None
}

fn is_not_turned(turned: &Turned) -> bool {
    *turned == Turned::None
}

impl Panel {
    /// A panel that is the board itself.
    pub const SINGLE: Self = Self {
        columns: 1,
        rows: 1,
        pitch_x_um: Length(0),
        pitch_y_um: Length(0),
        rail_x_um: Length(0),
        rail_y_um: Length(0),
        turned: Turned::None,
        marks: None,
        bad_mark: None,
    };

    /// How many boards it holds.
    pub fn images(&self) -> u32 {
        self.columns.saturating_mul(self.rows)
    }

    /// Lower left corner of an image in the panel's frame.
    pub fn corner(&self, image: u32) -> Point {
        Point {
            x: self.rail_x_um + self.pitch_x_um * i64::from(image % self.columns),
            y: self.rail_y_um + self.pitch_y_um * i64::from(image / self.columns),
        }
    }

    /// Whether an image lies turned by 180 degrees.
    pub fn is_turned(&self, image: u32) -> bool {
        let (column, row) = (image % self.columns, image / self.columns);
        match self.turned {
            Turned::None => false,
            Turned::Columns => column % 2 == 1,
            Turned::Rows => row % 2 == 1,
            Turned::Both => (column + row) % 2 == 1,
        }
    }

    /// A point of a board of this size, in the board's frame as placed, on an image.
    fn place(&self, image: u32, board: Point, at: Point) -> Point {
        let turned = if self.is_turned(image) { board - at } else { at };
        turned + self.corner(image)
    }
}

/// One placement of one image: a task of the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Task {
    /// Which board of the panel, counted along X, then Y.
    pub image: u32,
    /// Index into [`Product::placements`].
    pub placement: u32,
    /// The part.
    pub part: PartId,
    /// Centre in the panel's frame.
    pub at: Point,
    /// Rotation as placed, seen from the side to be placed [m°].
    pub rotation: Angle,
}

/// Index of a task in [`Job::tasks`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct TaskId(pub u32);

impl TaskId {
    /// As an index.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// One side of a product in a panel, as tasks.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// The product.
    pub product: &'a Product,
    /// The side to be placed.
    pub side: Side,
    /// How it is repeated.
    pub panel: Panel,
    /// Size of the panel, X then Y.
    pub size: Point,
    /// Fitted placements of all images: image by image, in the product's order.
    pub tasks: Vec<Task>,
    /// Marks to be looked at, in the panel's frame.
    pub fiducials: Vec<Point>,
    /// Whether the marks were assumed for want of any in the product.
    pub fiducials_assumed: bool,
}

/// Distance of an assumed mark from the panel's edges [µm]: centre over 5 mm from a conveyed
/// edge (`reference/process.md` §4, from memory there).
const ASSUMED_MARK: Length = Length(6_000);

impl<'a> Job<'a> {
    /// Lays out one side of `product` in `panel`.
    ///
    /// # Errors
    /// `plan.panel` when the panel has no image or its images overlap, `plan.nothing-to-place`
    /// when no fitted part lies on that side.
    pub fn new(product: &'a Product, side: Side, panel: Panel) -> Result<Self, Box<Finding>> {
        let size = panel_size(product, &panel)?;
        let mut tasks = Vec::new();
        let board = Point { x: product.width_um, y: product.depth_um };
        for image in 0..panel.images() {
            let turn = Angle(if panel.is_turned(image) { 180_000 } else { 0 });
            for (index, p) in product.placements.iter().enumerate() {
                let (Status::Fitted, Some(part), true) = (p.status, p.part, p.side == side) else { continue };
                tasks.push(Task {
                    image,
                    placement: index as u32,
                    part,
                    at: panel.place(image, board, as_placed(product, side, p.at)),
                    rotation: Angle(p.rotation_mdeg.0 + turn.0).normalised(),
                });
            }
        }
        if tasks.is_empty() {
            let message = format!("no fitted part lies on the {} side of `{}`", side.word(), product.name);
            return Err(Box::new(Finding::new(codes::plan::NOTHING_TO_PLACE, message).value(side.word())));
        }
        let (fiducials, fiducials_assumed) = marks(product, side, &panel, size);
        Ok(Self { product, side, panel, size, tasks, fiducials, fiducials_assumed })
    }

    /// The part of a task.
    pub fn part(&self, task: TaskId) -> &'a Part {
        &self.product.parts[self.tasks[task.index()].part.index()]
    }

    /// The reference designator of a task.
    pub fn reference(&self, task: TaskId) -> &'a str {
        &self.product.placements[self.tasks[task.index()].placement as usize].reference
    }

    /// Reference and, in a panel of several boards, the image: `C12` or `C12@3`.
    pub fn name(&self, task: TaskId) -> String {
        let reference = self.reference(task);
        if self.panel.images() == 1 { reference.to_owned() } else { format!("{reference}@{}", self.tasks[task.index()].image + 1) }
    }
}

/// Placements of a panel, far beyond what any line places before the next panel comes.
const MOST_PLACEMENTS: u64 = 500_000;

fn panel_size(product: &Product, panel: &Panel) -> Result<Point, Box<Finding>> {
    let bad = |message: String| Err(Box::new(Finding::new(codes::plan::PANEL, message)));
    if panel.columns == 0 || panel.rows == 0 || panel.images() > 10_000 {
        return bad(format!("a panel of {} x {} boards", panel.columns, panel.rows));
    }
    let placements = product.placements.len() as u64 * u64::from(panel.images());
    if placements > MOST_PLACEMENTS {
        return bad(format!(
            "a panel of {} x {} boards with {placements} placements, more than {MOST_PLACEMENTS}",
            panel.columns, panel.rows
        ));
    }
    for (count, pitch, board, axis) in
        [(panel.columns, panel.pitch_x_um, product.width_um, "X"), (panel.rows, panel.pitch_y_um, product.depth_um, "Y")]
    {
        if count > 1 && pitch < board {
            return bad(format!("the pitch of {pitch} along {axis} is less than the board's {board}, so boards would overlap"));
        }
    }
    if panel.rail_x_um.0 < 0 || panel.rail_y_um.0 < 0 {
        return bad(format!("rails of {} and {}", panel.rail_x_um, panel.rail_y_um));
    }
    let size = Point {
        x: panel.pitch_x_um * (i64::from(panel.columns) - 1) + product.width_um + panel.rail_x_um * 2,
        y: panel.pitch_y_um * (i64::from(panel.rows) - 1) + product.depth_um + panel.rail_y_um * 2,
    };
    let inside = |at: &Point, x: Length, y: Length| (0..=x.0).contains(&at.x.0) && (0..=y.0).contains(&at.y.0);
    if let Some(at) = panel.marks.filter(|at| !inside(at, Length(size.x.0 / 2), Length(size.y.0 / 2))) {
        return bad(format!("marks {} and {} from the corners of a panel of {} x {}", at.x, at.y, size.x, size.y));
    }
    if let Some(at) = panel.bad_mark.filter(|at| !inside(at, product.width_um, product.depth_um)) {
        return bad(format!("a bad-board mark at {}, {} on a board of {} x {}", at.x, at.y, product.width_um, product.depth_um));
    }
    Ok(size)
}

fn as_placed(product: &Product, side: Side, at: Point) -> Point {
    match side {
        Side::Top => at,
        Side::Bottom => Point { x: product.width_um - at.x, y: at.y },
    }
}

/// The marks to be looked at, those that tell bad boards last; and whether the others were assumed.
fn marks(product: &Product, side: Side, panel: &Panel, size: Point) -> (Vec<Point>, bool) {
    let board = Point { x: product.width_um, y: product.depth_um };
    let (mut all, assumed) = match panel.marks {
        Some(at) => (vec![at, Point { x: size.x - at.x, y: at.y }, size - at], false),
        None => marks_of_boards(product, side, panel, size),
    };
    if let Some(at) = panel.bad_mark {
        // Row by row, back and forth.
        let turn = |image: u32| {
            let (column, row) = (image % panel.columns, image / panel.columns);
            if row % 2 == 0 { image } else { row * panel.columns + panel.columns - 1 - column }
        };
        all.extend((0..panel.images()).map(|image| panel.place(turn(image), board, at)));
    }
    (all, assumed)
}

/// Up to three marks of the first and last image, else two assumed near opposite corners.
fn marks_of_boards(product: &Product, side: Side, panel: &Panel, size: Point) -> (Vec<Point>, bool) {
    let board = Point { x: product.width_um, y: product.depth_um };
    let on_side: Vec<Point> = product.fiducials.iter().filter(|f| f.side == side).map(|f| as_placed(product, side, f.at)).collect();
    if on_side.len() < 2 {
        let inset = |d: Length| Length(ASSUMED_MARK.0.min(d.0 / 2));
        let (ix, iy) = (inset(size.x), inset(size.y));
        return (vec![Point { x: ix, y: iy }, Point { x: size.x - ix, y: size.y - iy }], true);
    }
    let first = |k: usize| panel.place(0, board, on_side[k]);
    let last = |k: usize| panel.place(panel.images() - 1, board, on_side[k]);
    // The pair farthest apart gives the best angle; a third mark gives the stretch.
    let mut best = (0, 0, -1);
    for i in 0..on_side.len() {
        for j in 0..on_side.len() {
            let d = last(j) - first(i);
            let square = i128::from(d.x.0).pow(2) + i128::from(d.y.0).pow(2);
            if square > best.2 {
                best = (i, j, square);
            }
        }
    }
    let mut chosen = vec![first(best.0)];
    if let Some(third) = (0..on_side.len()).find(|k| *k != best.0 && *k != best.1) {
        chosen.push(first(third));
    }
    chosen.push(last(best.1));
    (chosen, false)
}
