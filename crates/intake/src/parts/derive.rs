//! From a body to a part record, and again when a stated size replaces the read one.

use super::{Said, handling, tape, tray};
use crate::package::{self, Body, Family, Kind};
use domain::part::{Certainty, Mount, NozzleClass, Part, Source, Sourced};
use units::Length;

/// Everything that follows from the body.
pub(super) fn part(said: &Said<'_>, body: &Body, source: Source) -> Part {
    let (height, height_sure) = body.height.unwrap_or_else(|| (handling::assumed_height(body), Certainty::Guess));
    let height_source = if body.height.is_some() { source } else { Source::Default };
    let mount = mount(said.package, body, source);
    let shield = shield(said.package, said.value);
    let mut part = Part {
        number: said.number.to_owned(),
        value: said.value.to_owned(),
        package: said.package.to_owned(),
        mount,
        body_x_um: Sourced::new(body.x, source, body.size),
        body_y_um: Sourced::new(body.y, source, body.size),
        height_um: Sourced::new(height, height_source, height_sure),
        supply: Sourced::guess(domain::part::Supply::Tape),
        tape_width_um: Sourced::guess(Length(8_000)),
        tape_pitch_um: Sourced::guess(Length(4_000)),
        tray_pockets: Sourced::guess(1),
        tray_height_um: Sourced::guess(tray::LOW),
        nozzle_class: Sourced::guess(NozzleClass::Small),
        speed: Sourced::guess(domain::part::SpeedPercent(100)),
        accuracy_um: Sourced::guess(Length(80)),
        ball_grid: Sourced::new(
            body.family == Family::BallGrid,
            source,
            if source == Source::Name { Certainty::Likely } else { Certainty::Guess },
        ),
        shield,
        adhesive_dots: Sourced::guess(0),
        handling: domain::part::Handling::default(),
    };
    follow(&mut part, body);
    part
}

/// Lets tape, tray, nozzle, speed and accuracy follow the sizes of the part, after a size was
/// stated; what a file or the engineer stated itself stays.
pub fn refit(part: &mut Part) {
    let read = package::read(&part.package, kind_by_name(&part.package));
    let (x, y) = (part.body_x_um.value, part.body_y_um.value);
    let size = part.body_x_um.certainty.min(part.body_y_um.certainty);
    let family = read.as_ref().map_or_else(|| family_by_size(x, y), |b| b.family);
    let mut body = Body::assumed(family, (x.0, y.0, part.height_um.value.0));
    body.size = size;
    body.pitch = read.and_then(|b| b.pitch);
    follow(part, &body);
}

fn kind_by_name(package: &str) -> Kind {
    if package.to_ascii_uppercase().contains("CRYSTAL") { Kind::Crystal } else { Kind::Other }
}

/// Small bodies with a nameless package behave like chips.
fn family_by_size(x: Length, y: Length) -> Family {
    match x.max(y).0 {
        ..=3_500 => Family::Chip,
        3_501..=7_500 => Family::Moulded,
        _ => Family::Other,
    }
}

/// Sets what follows from the sizes, wherever nobody stated it.
fn follow(part: &mut Part, body: &Body) {
    let (x, y, height) = (part.body_x_um.value, part.body_y_um.value, part.height_um.value);
    let (short, long) = (x.min(y), x.max(y));
    let by_size = Follows::new(part.body_x_um.certainty.min(part.body_y_um.certainty));
    let by_height = Follows::new(by_size.certainty.min(part.height_um.certainty));

    let carrier = tape::carrier(body.family, x, y, height);
    by_height.set(&mut part.supply, handling::supply(body.family, long, carrier));
    // Where no tape holds the part, the widest stands as a guess that the tray makes moot.
    let (width, pitch) = carrier.map_or((Length(200_000), Length(72_000)), |c| (c.width, c.pitch));
    let on_tape = if carrier.is_some() { by_height } else { Follows::new(Certainty::Guess) };
    on_tape.set(&mut part.tape_width_um, width);
    on_tape.set(&mut part.tape_pitch_um, pitch);
    let guessed = Follows::new(Certainty::Guess);
    guessed.set(&mut part.tray_pockets, tray::pockets(x, y));
    guessed.set(&mut part.tray_height_um, tray::stacking_height(height));

    let no_flat_top = part.mount.value == Mount::ThroughHole || package::has_no_flat_top(&part.package);
    let gripper = no_flat_top || handling::needs_gripper(body.family, height);
    let nozzle = if gripper { NozzleClass::Gripper } else { handling::nozzle(short) };
    let unsure = matches!(body.family, Family::Connector | Family::Other) || gripper;
    if unsure { guessed } else { by_size }.set(&mut part.nozzle_class, nozzle);
    guessed.set(&mut part.speed, handling::speed(body.family, long, height));
    let sized = Body { x, y, ..body.clone() };
    by_size.set(&mut part.accuracy_um, handling::accuracy(&sized));
}

/// Values that follow from others by rule: at best likely.
#[derive(Clone, Copy)]
struct Follows {
    certainty: Certainty,
}

impl Follows {
    fn new(of: Certainty) -> Self {
        Self { certainty: of.min(Certainty::Likely) }
    }

    fn set<T>(self, field: &mut Sourced<T>, value: T) {
        if field.source >= Source::File {
            return;
        }
        let source = if self.certainty == Certainty::Guess { Source::Default } else { Source::Name };
        *field = Sourced::new(value, source, self.certainty);
    }
}

fn mount(package: &str, body: &Body, source: Source) -> Sourced<Mount> {
    let surface_body = matches!(body.family, Family::Chip | Family::NoLead | Family::BallGrid | Family::Transistor);
    let by_name = package::through_hole(package).filter(|_| source == Source::Default || !surface_body);
    if let Some(certainty) = by_name {
        return Sourced::new(Mount::ThroughHole, Source::Name, certainty);
    }
    match (source, body.family) {
        (Source::Default, _) => Sourced::guess(Mount::Smt),
        (source, Family::Connector | Family::Other) => Sourced::new(Mount::Smt, source, Certainty::Guess),
        (source, _) => Sourced::new(Mount::Smt, source, Certainty::Likely),
    }
}

/// A cover over other parts, when package or value say so; clips that hold one are parts of their own.
fn shield(package: &str, value: &str) -> Sourced<bool> {
    let says = |text: &str| {
        let text = text.to_ascii_lowercase();
        let cover = text.contains("shield") || ((text.contains("rf") || text.contains("emi")) && text.contains("cover"));
        cover && !["clip", "clps", "connector", "jack", "usb", "inductor"].iter().any(|other| text.contains(other))
    };
    match (says(package), says(value)) {
        (true, _) => Sourced::new(true, Source::Name, Certainty::Likely),
        (_, true) => Sourced::new(true, Source::Name, Certainty::Guess),
        _ => Sourced::guess(false),
    }
}
