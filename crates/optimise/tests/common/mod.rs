//! What the planner's tests share: parts and boards of an invented maker of river-gauge telemetry, and
//! a watch that only counts.

#![allow(dead_code, reason = "each test file uses its own part of this")]

use domain::job::{Job, Panel};
use domain::line::Line;
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::product::{PartId, Placement, Product, SCHEMA, Side, Status};
use domain::rules::Rules;
use optimise::{Limits, Planned, Progress, Watch, plan};
use std::sync::atomic::{AtomicBool, Ordering};
use units::{Angle, Length, Point};

/// A part with body [µm] on 8 mm tape; everything else harmless.
pub fn part(number: &str, body: (i64, i64, i64), class: NozzleClass) -> Part {
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: Sourced::engineer(Mount::Smt),
        body_x_um: Sourced::engineer(Length(body.0)),
        body_y_um: Sourced::engineer(Length(body.1)),
        height_um: Sourced::engineer(Length(body.2)),
        supply: Sourced::engineer(Supply::Tape),
        tape_width_um: Sourced::engineer(Length(8_000)),
        tape_pitch_um: Sourced::engineer(Length(4_000)),
        tray_pockets: Sourced::engineer(24),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(100)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(0),
        handling: domain::part::Handling::default(),
    }
}

/// A chip of 1.6 x 0.8 x 0.5 mm.
pub fn chip(number: &str) -> Part {
    part(number, (1_600, 800, 500), NozzleClass::Small)
}

/// A fitted row of the top side; place in µm, rotation in whole degrees.
pub fn row(reference: &str, part: u32, at: (i64, i64), degrees: i64) -> Placement {
    Placement {
        reference: reference.to_owned(),
        part: Some(PartId(part)),
        at: Point::from_um(at.0, at.1),
        rotation_mdeg: Angle(degrees * 1_000),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    }
}

/// A board without marks of its own.
pub fn board(size: (i64, i64), parts: Vec<Part>, placements: Vec<Placement>) -> Product {
    Product {
        schema: SCHEMA.to_owned(),
        name: "river gauge".to_owned(),
        width_um: Length(size.0),
        depth_um: Length(size.1),
        size_stated: true,
        parts,
        placements,
        fiducials: Vec::new(),
    }
}

/// A watch without a clock.
pub struct Quiet {
    stopped: AtomicBool,
}

impl Quiet {
    /// Nobody stops.
    pub fn new() -> Self {
        Self { stopped: AtomicBool::new(false) }
    }

    /// Somebody has stopped before it began.
    pub fn stopped() -> Self {
        Self { stopped: AtomicBool::new(true) }
    }
}

impl Watch for Quiet {
    fn seconds(&self) -> f64 {
        0.0
    }
    fn stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }
    fn progress(&self, progress: &Progress) {
        assert!((0.0..=1.0).contains(&progress.share), "{progress:?}");
    }
}

/// A limit by work alone, so that every run is the same.
pub fn work(work: u64) -> Limits {
    Limits { seconds: None, work: Some(work), seed: 1, threads: 1 }
}

/// The job of one board.
pub fn job(product: &Product) -> Job<'_> {
    Job::new(product, Side::Top, Panel::SINGLE).expect("a job")
}

/// Plans one board; the tests' jobs can be planned.
pub fn planned(product: &Product, line: &Line, rules: &Rules, limits: Limits) -> Planned {
    plan(&job(product), line, rules, limits, &Quiet::new()).unwrap_or_else(|findings| panic!("{findings:#?}"))
}

/// Everything is placed and the independent checker agrees.
pub fn sound(plan: &domain::plan::Plan) {
    assert!(plan.unplaced.is_empty(), "{:?}", plan.unplaced);
    let verdict = verify::verify(plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
}
