//! Small lines full of coincidences: banks over the board, a camera, a rack or a changer at a pick point,
//! times of nothing, settling longer than any way. A bound that forgets a case is beaten here first.

use super::choice::Choice;
use domain::line::{
    Axes, Axis, Bank, BankMount, Clearance, Envelope, Equipment, Extent, FeederKind, Head, HeadKind, HeadSwap, Inspection, Line,
    NozzleKind, NozzleRack, Place, SCHEMA, Sight, SightMode, Station, StationKind, TrayKind, TrayPlace,
};
use domain::part::{NozzleClass, Supply};
use units::{Acceleration, Jerk, Length, Speed, Text, Time};

/// Grid of places [µm]; everything lies on it, so that much coincides.
pub const GRID: i64 = 10_000;

/// Names of the nozzle kinds; `both` serves both classes.
const NOZZLES: [&str; 3] = ["tiny", "large", "both"];

/// A time from none to long [µs].
fn time<C: Choice>(dice: &mut C) -> Text<Time> {
    Text(Time(dice.one_of(&[0, 1, 7_000, 20_000, 90_000, 400_000])))
}

fn length(um: i64) -> Text<Length> {
    Text(Length(um))
}

/// A place on the grid, over the board or beside it.
fn place<C: Choice>(dice: &mut C) -> Place {
    Place { x: length(GRID * (dice.below(5) as i64 - 1)), y: length(GRID * (dice.below(5) as i64 - 2)) }
}

/// A line of one to three stations.
pub fn line<C: Choice>(dice: &mut C) -> Line {
    let feeder = |dice: &mut C, name: &str, supply, width: i64, slots| FeederKind {
        name: name.to_owned(),
        supply,
        tape_width: (supply == Supply::Tape).then(|| length(width)),
        max_body: (supply == Supply::Stick).then(|| length(50_000)),
        slots,
        advance: time(dice),
        advance_step: length(dice.one_of(&[2_000, 4_000])),
        stock: dice.one_of(&[1, 9, 9, 9]),
    };
    let feeders = vec![
        feeder(dice, "tape 8", Supply::Tape, 8_000, 1),
        feeder(dice, "tape 8 wide", Supply::Tape, 8_000, 2),
        feeder(dice, "tape 12", Supply::Tape, 12_000, 2),
        feeder(dice, "stick", Supply::Stick, 0, 1),
    ];
    let classes = [vec![NozzleClass::Tiny], vec![NozzleClass::Large], vec![NozzleClass::Tiny, NozzleClass::Large]];
    let scarce = dice.one_in(6);
    let mut nozzle = |(name, classes): (&str, Vec<NozzleClass>)| {
        let stock = if scarce { dice.one_of(&[1, 2, 3]) } else { 99 };
        NozzleKind { name: name.to_owned(), classes, stock }
    };
    let nozzles = NOZZLES.into_iter().zip(classes).map(&mut nozzle).collect();
    let stations = dice.one_of(&[1, 1, 2, 2, 3]);
    let slow = dice.one_in(12);
    Line {
        schema: SCHEMA.to_owned(),
        name: "attack".to_owned(),
        notes: String::new(),
        clearance: Clearance::default(),
        feeder: feeders,
        nozzle: nozzles,
        cart: Vec::new(),
        equipment: if slow { vec![Equipment { name: "oven".to_owned(), time: time(dice) }] } else { Vec::new() },
        station: (0..stations).map(|k| station(dice, k)).collect(),
    }
}

pub fn axis<C: Choice>(dice: &mut C) -> Axis {
    Axis {
        speed: Text(Speed(dice.one_of(&[20_000, 300_000, 1_500_000, 1_000_000_000]))),
        acceleration: Text(Acceleration(dice.one_of(&[200_000, 5_000_000, 30_000_000]))),
        jerk: dice.one_in(3).then(|| Text(Jerk(dice.one_of(&[1_000_000, 800_000_000])))),
    }
}

fn station<C: Choice>(dice: &mut C, number: usize) -> Station {
    let heads = dice.one_of(&[1, 1, 2, 3]);
    let mut head: Vec<Head> = (0..heads).map(|k| placing(dice, k)).collect();
    if dice.one_in(2) {
        head.push(dispense(dice));
    }
    let swap = (head.len() > 1 || dice.one_in(3)).then(|| HeadSwap { time: time(dice), at: place(dice), alternate: dice.one_in(2) });
    let banks = dice.one_of(&[0, 1, 1, 2]);
    let trays = dice.one_of(&[0, 1, 2, 2]);
    Station {
        name: format!("station-{number}"),
        kind: StationKind::Gantry,
        max_panel: Extent { x: length(500_000), y: length(500_000) },
        transfer: time(dice),
        clamp: time(dice),
        axes: Axes { x: axis(dice), y: axis(dice) },
        settle_pick: time(dice),
        settle_place: time(dice),
        fiducial: time(dice),
        head,
        head_swap: swap,
        nozzle_rack: dice.one_in(2).then(|| NozzleRack { change: time(dice), at: place(dice) }),
        inspection: dice.one_in(2).then(|| Inspection { field: Extent { x: field(dice), y: field(dice) }, time: time(dice) }),
        bank: (0..banks).map(|k| bank(dice, k)).collect(),
        tray: (0..trays).map(|k| tray(dice, k)).collect(),
        turret: None,
    }
}

fn field<C: Choice>(dice: &mut C) -> Text<Length> {
    length(dice.one_of(&[3_001, 5_000, 9_999, 15_000, 40_000]))
}

pub fn bank<C: Choice>(dice: &mut C, number: usize) -> Bank {
    Bank {
        name: format!("bank-{number}"),
        beam: None,
        mount: BankMount::Fixed,
        cart: None,
        slots: dice.one_of(&[1, 2, 3, 3, 5]),
        first: place(dice),
        pitch: length(dice.one_of(&[GRID / 2, GRID, GRID, 2 * GRID])),
    }
}

fn tray<C: Choice>(dice: &mut C, number: usize) -> TrayPlace {
    let kind = dice.one_of(TrayKind::ALL);
    TrayPlace {
        name: format!("tray-{number}"),
        beam: None,
        kind,
        at: place(dice),
        change: time(dice),
        stack_height: (kind == TrayKind::Stack).then(|| length(50_000)),
        levels: (kind == TrayKind::Magazine).then_some(3),
    }
}

fn dispense<C: Choice>(dice: &mut C) -> Head {
    Head {
        name: "glue".to_owned(),
        kind: HeadKind::Dispense,
        beam: None,
        spindles: 1,
        pitch: None,
        index: None,
        turn_90: Text(Time::ZERO),
        envelope: None,
        accuracy: None,
        pick: Text(Time::ZERO),
        place: Text(Time::ZERO),
        sight: None,
        nozzles: Vec::new(),
        dot: Some(time(dice)),
    }
}

pub fn placing<C: Choice>(dice: &mut C, number: usize) -> Head {
    let kind = dice.one_of(&[HeadKind::Inline, HeadKind::Rotary, HeadKind::Single]);
    placing_as(dice, number, kind)
}

pub fn placing_as<C: Choice>(dice: &mut C, number: usize, kind: HeadKind) -> Head {
    let spindles = if kind == HeadKind::Single { 1 } else { dice.one_of(&[1, 2, 2, 3, 4]) };
    let mode = dice.one_of(SightMode::ALL);
    let nozzles: Vec<&str> = match dice.below(6) {
        0 => vec![NOZZLES[dice.below(3)]],
        1 => vec![NOZZLES[0], NOZZLES[1]],
        _ => vec![NOZZLES[2]],
    };
    Head {
        name: format!("head-{number}"),
        kind,
        beam: None,
        spindles,
        pitch: (kind == HeadKind::Inline).then(|| length(dice.one_of(&[50, GRID / 2, GRID, GRID, 2 * GRID]))),
        index: (kind == HeadKind::Rotary).then(|| Text(Time(dice.one_of(&[1, 7_000, 60_000])))),
        turn_90: time(dice),
        envelope: Some(Envelope { min_side: length(0), max_short: length(50_000), max_long: length(50_000), max_height: length(50_000) }),
        accuracy: Some(length(50)),
        pick: time(dice),
        place: time(dice),
        sight: Some(Sight {
            mode,
            time: time(dice),
            at: (mode == SightMode::Camera).then(|| place(dice)),
            field: (mode == SightMode::Camera).then(|| length(dice.one_of(&[600, 20_000]))),
        }),
        nozzles: nozzles.into_iter().map(str::to_owned).collect(),
        dot: None,
    }
}
