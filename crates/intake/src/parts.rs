//! Part records from what the files say.
use diag::Finding;
use domain::part::*;
use domain::Length;

/// A part and what was noticed about it.
pub fn part(number: &str, value: &str, package: &str, _references: &[&str]) -> (Part, Vec<Finding>) {
    let mm = |v| Sourced::guess(Length::from_mm(v));
    let part = Part {
        number: number.to_owned(), value: value.to_owned(), package: package.to_owned(),
        mount: Sourced::guess(Mount::Smt),
        body_x_um: mm(1.6), body_y_um: mm(0.8), height_um: mm(0.5),
        supply: Sourced::guess(Supply::Tape), tape_width_um: mm(8.0), tape_pitch_um: mm(4.0),
        tray_pockets: Sourced::guess(100), tray_height_um: mm(6.35),
        nozzle_class: Sourced::guess(NozzleClass::Small), speed: Sourced::guess(SpeedPercent(100)),
        accuracy_um: mm(0.08), ball_grid: Sourced::guess(false), shield: Sourced::guess(false), adhesive_dots: Sourced::guess(0),
    };
    (part, Vec::new())
}
