//! The outline of a part's body on the board, in the picture's frame.

use crate::scene::Step;
use domain::job::Task;
use domain::part::{Certainty, Part};

/// A body as a rectangle about its centre, turned.
pub(crate) struct Body {
    /// Centre in the picture.
    pub(crate) centre: (f64, f64),
    /// Width and depth at zero rotation, in picture units.
    pub(crate) size: (f64, f64),
    /// Turned clockwise in the picture [degrees].
    pub(crate) turn: f64,
    /// Whether its size is a guess.
    pub(crate) guessed: bool,
}

impl Body {
    /// The body of a task; `scale` is picture units per mm, `place` puts mm into the picture.
    pub(crate) fn new(task: &Task, part: &Part, scale: f64, place: impl Fn(f64, f64) -> (f64, f64)) -> Self {
        // Smaller than one unit would vanish; larger than 100 m is no body.
        let side = |mm: f64| (mm.clamp(0.0, 1e5) * scale).max(1.0);
        Self {
            centre: place(task.at.x.to_mm(), task.at.y.to_mm()),
            size: (side(part.body_x_um.value.to_mm()), side(part.body_y_um.value.to_mm())),
            // Angles count against the clock on the board and with it in the picture.
            turn: -task.rotation.normalised().to_deg(),
            guessed: part.body_x_um.certainty == Certainty::Guess || part.body_y_um.certainty == Certainty::Guess,
        }
    }

    /// Its outline as a closed path.
    pub(crate) fn outline(&self) -> Vec<Step> {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        let corner = |(x, y)| self.turned(x, y);
        let [a, b, c, d] = [(-w, -h), (w, -h), (w, h), (-w, h)].map(corner);
        vec![Step::Move(a.0, a.1), Step::Line(b.0, b.1), Step::Line(c.0, c.1), Step::Line(d.0, d.1), Step::Close]
    }

    /// A hatch over it, turned with it.
    pub(crate) fn hatch(&self, hatch: crate::hatch::Hatch, spacing: f64) -> Vec<Step> {
        let (w, h) = self.size;
        crate::hatch::lines(hatch, -w / 2.0, -h / 2.0, w, h, spacing)
            .into_iter()
            .map(|step| match step {
                Step::Move(x, y) => {
                    let p = self.turned(x, y);
                    Step::Move(p.0, p.1)
                }
                Step::Line(x, y) => {
                    let p = self.turned(x, y);
                    Step::Line(p.0, p.1)
                }
                Step::Close => Step::Close,
            })
            .collect()
    }

    /// Where a label goes: along the longer side. Room along and across it, and its turn,
    /// which is kept readable from below or from the right.
    pub(crate) fn label_room(&self) -> (f64, f64, f64) {
        let (w, h) = self.size;
        let (along, across, turn) = if w >= h { (w, h, self.turn) } else { (h, w, self.turn + 90.0) };
        let mut turn = turn.rem_euclid(180.0);
        if turn > 90.0 {
            turn -= 180.0;
        }
        (along, across, if turn == 90.0 { -90.0 } else { turn })
    }

    fn turned(&self, x: f64, y: f64) -> (f64, f64) {
        let (sin, cos) = self.turn.to_radians().sin_cos();
        (self.centre.0 + x * cos - y * sin, self.centre.1 + x * sin + y * cos)
    }
}
