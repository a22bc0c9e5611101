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

/// Boards repeated in one carrier, in columns (X) and rows (Y), unrotated.
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
}

impl Panel {
    /// A panel that is the board itself.
    pub const SINGLE: Self = Self { columns: 1, rows: 1, pitch_x_um: Length(0), pitch_y_um: Length(0) };

    /// How many boards it holds.
    pub fn images(&self) -> u32 {
        self.columns.saturating_mul(self.rows)
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
        for image in 0..panel.images() {
            let offset = image_offset(&panel, image);
            for (index, p) in product.placements.iter().enumerate() {
                let (Status::Fitted, Some(part), true) = (p.status, p.part, p.side == side) else { continue };
                tasks.push(Task {
                    image,
                    placement: index as u32,
                    part,
                    at: as_placed(product, side, p.at) + offset,
                    rotation: p.rotation_mdeg.normalised(),
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

fn panel_size(product: &Product, panel: &Panel) -> Result<Point, Box<Finding>> {
    let bad = |message: String| Err(Box::new(Finding::new(codes::plan::PANEL, message)));
    if panel.columns == 0 || panel.rows == 0 || panel.images() > 10_000 {
        return bad(format!("a panel of {} x {} boards", panel.columns, panel.rows));
    }
    for (count, pitch, board, axis) in
        [(panel.columns, panel.pitch_x_um, product.width_um, "X"), (panel.rows, panel.pitch_y_um, product.depth_um, "Y")]
    {
        if count > 1 && pitch < board {
            return bad(format!("the pitch of {pitch} along {axis} is less than the board's {board}, so boards would overlap"));
        }
    }
    Ok(Point {
        x: panel.pitch_x_um * (i64::from(panel.columns) - 1) + product.width_um,
        y: panel.pitch_y_um * (i64::from(panel.rows) - 1) + product.depth_um,
    })
}

fn image_offset(panel: &Panel, image: u32) -> Point {
    Point { x: panel.pitch_x_um * i64::from(image % panel.columns), y: panel.pitch_y_um * i64::from(image / panel.columns) }
}

fn as_placed(product: &Product, side: Side, at: Point) -> Point {
    match side {
        Side::Top => at,
        Side::Bottom => Point { x: product.width_um - at.x, y: at.y },
    }
}

/// Up to three marks of the first and last image, else two assumed near opposite corners.
fn marks(product: &Product, side: Side, panel: &Panel, size: Point) -> (Vec<Point>, bool) {
    let on_side: Vec<Point> = product.fiducials.iter().filter(|f| f.side == side).map(|f| as_placed(product, side, f.at)).collect();
    if on_side.len() < 2 {
        let inset = |d: Length| Length(ASSUMED_MARK.0.min(d.0 / 2));
        let (ix, iy) = (inset(size.x), inset(size.y));
        return (vec![Point { x: ix, y: iy }, Point { x: size.x - ix, y: size.y - iy }], true);
    }
    // The pair farthest apart gives the best angle; a third mark gives the stretch.
    let last = image_offset(panel, panel.images() - 1);
    let mut best = (0, 0, -1);
    for (i, a) in on_side.iter().enumerate() {
        for (j, b) in on_side.iter().enumerate() {
            let d = *b + last - *a;
            let square = i128::from(d.x.0).pow(2) + i128::from(d.y.0).pow(2);
            if square > best.2 {
                best = (i, j, square);
            }
        }
    }
    let mut chosen = vec![on_side[best.0]];
    if let Some(third) = (0..on_side.len()).find(|k| *k != best.0 && *k != best.1) {
        chosen.push(on_side[third]);
    }
    chosen.push(on_side[best.1] + last);
    (chosen, false)
}
