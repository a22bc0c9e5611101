//! The outlines of a panel: boards as they lie, marks, bad-board spots. Millimetres are the unit of the picture.

use domain::job::Job;
use maud::{Markup, html};
use units::Point;

/// Boards drawn with their numbers; with more of them numbers only blur.
const MOST_NUMBERED: u32 = 200;

/// The panel as it lies in the machine, side to be placed up.
pub fn panel(job: &Job<'_>) -> Markup {
    let (w, h) = (job.size.x.to_mm().max(1.0), job.size.y.to_mm().max(1.0));
    let line = w.max(h) / 400.0;
    let up = |p: Point| (p.x.to_mm(), h - p.y.to_mm());
    let (bw, bh) = (job.product.width_um.to_mm(), job.product.depth_um.to_mm());
    let label = format!("Panel of {} x {} boards, {w} x {h} mm, {} side up", job.panel.columns, job.panel.rows, job.side.word());
    let spots = job.panel.bad_mark.map_or(0, |_| job.panel.images() as usize);
    let marks = job.fiducials.len().saturating_sub(spots);
    html! {
        figure.picture {
            svg.picture xmlns="http://www.w3.org/2000/svg" role="img" aria-label=(label)
                viewBox=(format!("{:.3} {:.3} {:.3} {:.3}", -2.0 * line, -2.0 * line, w + 4.0 * line, h + 4.0 * line)) {
                title { (label) }
                rect x="0" y="0" width=(w) height=(h) fill="none" stroke="currentColor" stroke-width=(2.0 * line) {}
                @for image in 0..job.panel.images() {
                    @let corner = job.panel.corner(image);
                    @let (x, y) = (corner.x.to_mm(), h - corner.y.to_mm() - bh);
                    @let turned = job.panel.is_turned(image);
                    rect x=(x) y=(y) width=(bw) height=(bh) fill="none" stroke="currentColor" stroke-width=(line) {
                        title { "board " (image + 1) @if turned { ", turned by 180°" } }
                    }
                    // The corner that is the board's own lower left one.
                    @let size = bw.min(bh) * 0.18;
                    @let (cx, cy, s) = if turned { (x + bw, y, -size) } else { (x, y + bh, size) };
                    polygon points=(format!("{cx},{cy} {},{cy} {cx},{}", cx + s, cy - s)) fill="currentColor" fill-opacity="0.35" {}
                    @if job.panel.images() <= MOST_NUMBERED {
                        text x=(x + bw / 2.0) y=(y + bh / 2.0) font-size=(bw.min(bh) * 0.3) text-anchor="middle" dominant-baseline="central" fill="currentColor" { (image + 1) }
                    }
                }
                @for (i, at) in job.fiducials.iter().enumerate() {
                    @let (x, y) = up(*at);
                    @if i < marks {
                        circle cx=(x) cy=(y) r=(5.0 * line) fill="currentColor" { title { "mark" } }
                        circle cx=(x) cy=(y) r=(9.0 * line) fill="none" stroke="currentColor" stroke-width=(line) {}
                    } @else {
                        rect x=(x - 4.0 * line) y=(y - 4.0 * line) width=(8.0 * line) height=(8.0 * line) fill="none" stroke="currentColor" stroke-width=(2.0 * line) {
                            title { "spot that tells whether the board is bad" }
                        }
                    }
                }
            }
            figcaption { "As it lies in the machine. The filled corner of a board is its own lower left one; a ringed dot is a mark, a small square a bad-board spot." }
        }
    }
}
