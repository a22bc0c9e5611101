//! Matrix trays: how many pockets, and how much one tray adds to a stack.
//!
//! Outline 322.6 x 135.9 mm and stacking heights 6.35 and 10.16 mm are the published
//! ones of matrix trays. The pocket grid is free and differs per maker, so the count is
//! always a guess: pockets at body plus 4 mm inside a rim of 5 mm (common practice, no source).

use units::Length;

/// Outline of a matrix tray [µm].
pub const OUTLINE: (Length, Length) = (Length(322_600), Length(135_900));
/// Stacking height of a low tray.
pub const LOW: Length = Length(6_350);
/// Stacking height of a tall tray.
pub const TALL: Length = Length(10_160);

const RIM: i64 = 5_000;
const BETWEEN: i64 = 4_000;

/// Pockets of a full tray, at least one.
pub fn pockets(x: Length, y: Length) -> u32 {
    let count = |side: Length, pocket: Length| (side.0 - 2 * RIM) / (pocket.0 + BETWEEN);
    let lying = count(OUTLINE.0, x) * count(OUTLINE.1, y);
    let turned = count(OUTLINE.0, y) * count(OUTLINE.1, x);
    u32::try_from(lying.max(turned).max(1)).unwrap_or(1)
}

/// What one tray adds to a stack: low, tall, or for tall parts the part and a floor of 3 mm.
pub fn stacking_height(height: Length) -> Length {
    let floor = Length(3_000);
    [LOW, TALL].into_iter().find(|tray| height + floor <= *tray).unwrap_or(height + floor)
}
