//! Pictures of a plan one by one, as SVG.

use domain::plan::Plan;

pub use draw::board::Colouring;

/// The panel with its bodies, in these colours.
pub fn board(plan: &Plan, colouring: Colouring) -> String {
    draw::board::scene_by(plan, colouring).to_svg()
}

/// Seconds per panel of each station, by cause.
pub fn balance(plan: &Plan) -> String {
    draw::balance::scene(plan).to_svg()
}

/// The code to be scanned at a feeder; `None` when its text is too long for one.
pub fn code(text: &str) -> Option<String> {
    report::code::scene(text).map(|s| s.to_svg())
}

/// A station seen from above, and how the panel's frame lies in the picture: X right from `left`, Y up from `bottom`.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The picture.
    pub svg: String,
    /// Picture units per mm.
    pub scale: f64,
    /// Where the panel's lower left corner lies, from the left.
    pub left: f64,
    /// Where it lies, from the top.
    pub bottom: f64,
    /// Width and depth of the panel [mm].
    pub panel: (f64, f64),
    /// Width and height of the picture.
    pub size: (f64, f64),
}

/// The stage of a station, counted from 0; `None` when there is none or the inputs are not sound.
pub fn stage(plan: &Plan, station: usize) -> Option<Stage> {
    draw::stage::stage(plan, station).map(|s| Stage {
        svg: s.scene.to_svg(),
        scale: s.scale,
        left: s.left,
        bottom: s.bottom,
        panel: s.panel,
        size: (s.scene.width, s.scene.height),
    })
}
