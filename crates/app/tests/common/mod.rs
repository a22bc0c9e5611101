//! What the tests of the use cases share: line sheets, and a watch.

use optimise::{Progress, Watch};

/// Every sheet of the examples, and one with narrow stations of all kinds.
pub const SHEETS: [(&str, &str); 8] = [
    ("fixed-roles", include_str!("../../../../examples/lines/fixed-roles.toml")),
    ("gang-pick", include_str!("../../../../examples/lines/gang-pick.toml")),
    ("head-swap", include_str!("../../../../examples/lines/head-swap.toml")),
    ("mixed", include_str!("../../../../examples/lines/mixed.toml")),
    ("one-station", include_str!("../../../../examples/lines/one-station.toml")),
    ("turret", include_str!("../../../../examples/lines/turret.toml")),
    ("two-beam", include_str!("../../../../examples/lines/two-beam.toml")),
    ("kinds", include_str!("../../../verify/tests/data/kinds.toml")),
];

/// A watch without a clock.
pub struct Quiet;

impl Watch for Quiet {
    fn seconds(&self) -> f64 {
        0.0
    }
    fn stopped(&self) -> bool {
        false
    }
    fn progress(&self, _: &Progress) {}
}
