//! Small boards whose placements share points and turn every way, of parts of every supply and speed.

use super::choice::Choice;
use super::sheet::GRID;
use crate::common::{part, row};
use domain::job::Panel;
use domain::part::{NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::product::{Fiducial, Product, Side};
use domain::rules::{Forbid, Inspect, Lock, Order, OrderRule, Rules};
use units::{Length, Point, Text};

/// Extent of the board [µm].
pub const SIZE: (i64, i64) = (2 * GRID, GRID);

fn any_part<C: Choice>(dice: &mut C, number: usize) -> Part {
    let body = (dice.one_of(&[300, 500, 30_000]), dice.one_of(&[300, 500, 900]), dice.one_of(&[200, 200, 5_000]));
    let supply = dice.one_of(&[Supply::Tape, Supply::Tape, Supply::Tray, Supply::Stick]);
    let class = dice.one_of(&[NozzleClass::Tiny, NozzleClass::Large]);
    let mut p = part(&format!("RG-{number}"), body, supply, dice.one_of(&[8_000, 8_000, 12_000]), class);
    p.tape_pitch_um = Sourced::engineer(Length(dice.one_of(&[2_000, 4_000, 12_000])));
    p.speed = Sourced::engineer(SpeedPercent(dice.one_of(&[100, 100, 50, 3])));
    p.tray_pockets = Sourced::engineer(dice.one_of(&[1, 24]));
    p.adhesive_dots = Sourced::engineer(dice.one_of(&[0, 0, 0, 2]));
    p.shield = Sourced::engineer(dice.one_in(12));
    p.ball_grid = Sourced::engineer(dice.one_in(12));
    p
}

/// A board of up to `most` placements of up to three parts.
pub fn product<C: Choice>(dice: &mut C, most: usize) -> Product {
    let parts: Vec<Part> = (0..1 + dice.below(3)).map(|k| any_part(dice, k)).collect();
    let step = dice.one_of(&[GRID, GRID, GRID / 2, 3_333]);
    let on = |dice: &mut C, extent: i64| step * dice.below((extent / step) as usize + 1) as i64;
    let placements = (0..1 + dice.below(most)).map(|k| {
        let at = (on(dice, SIZE.0), on(dice, SIZE.1));
        row(&format!("U{k}"), dice.below(parts.len()) as u32, at, dice.one_of(&[0, 0, 90, 180, 45]))
    });
    let placements = placements.collect();
    let fiducials = (0..dice.one_of(&[0, 2, 3])).map(|k| {
        let at = Point::from_um(on(dice, SIZE.0), on(dice, SIZE.1));
        Fiducial { reference: format!("F{k}"), at, side: Side::Top }
    });
    Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: "attack".to_owned(),
        width_um: Length(SIZE.0),
        depth_um: Length(SIZE.1),
        size_stated: true,
        fiducials: fiducials.collect(),
        parts,
        placements,
    }
}

/// One board or several, edge to edge or with a gap.
pub fn panel<C: Choice>(dice: &mut C) -> Panel {
    let several = dice.one_in(3);
    let count = |dice: &mut C| if several { 1 + dice.below(2) as u32 } else { 1 };
    let pitch = |dice: &mut C, size| Length(size + dice.one_of(&[0, 1, GRID]));
    Panel { columns: count(dice), rows: count(dice), pitch_x_um: pitch(dice, SIZE.0), pitch_y_um: pitch(dice, SIZE.1), ..Panel::SINGLE }
}

/// Mostly no order; sometimes one, or areas to be looked at.
pub fn rules<C: Choice>(dice: &mut C) -> Rules {
    let order_rule = if dice.one_in(3) { dice.one_of(OrderRule::ALL) } else { OrderRule::None };
    let stated = Order { first: vec!["U0".to_owned()], then: vec!["U1".to_owned(), "U2".to_owned()] };
    let length = |dice: &mut C, all: &[i64]| Text(Length(dice.one_of(all)));
    let area = |dice: &mut C| Inspect {
        name: String::new(),
        x: length(dice, &[0, 0, 4_000, 15_000]),
        y: length(dice, &[0, 0, 4_000]),
        width: length(dice, &[0, 3_002, 5_000, 6_004]),
        depth: length(dice, &[0, 3_002, 5_000, 6_004]),
    };
    let areas = if dice.one_in(4) { 1 + dice.below(3) } else { 0 };
    Rules {
        order_rule: Some(order_rule),
        order: if dice.one_in(8) { vec![stated] } else { Vec::new() },
        inspect: (0..areas).map(|_| area(dice)).collect(),
        lock: if dice.one_in(8) { vec![lock(dice)] } else { Vec::new() },
        forbid: if dice.one_in(8) { vec![forbid(dice)] } else { Vec::new() },
        ..Rules::default()
    }
}

/// Locks name what every sheet has: the first station and its first head.
fn lock<C: Choice>(dice: &mut C) -> Lock {
    Lock {
        part: "RG-0".to_owned(),
        station: Some("station-0".to_owned()),
        head: dice.one_in(2).then(|| "head-0".to_owned()),
        ..Lock::default()
    }
}

fn forbid<C: Choice>(dice: &mut C) -> Forbid {
    let head = dice.one_in(2).then(|| "head-0".to_owned());
    Forbid { part: "RG-0".to_owned(), station: "station-0".to_owned(), head }
}
