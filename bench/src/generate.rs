//! Invented lines and panels of any size, the same for the same numbers.
//!
//! Lines are made of stations of the example sheets, with the stock of feeders, nozzles and carts grown
//! in proportion. Panels follow the shares counted over 37 open boards (chips 80 % of placements, by size
//! 0402 47, 0603 23, 0201 17, 0805 9, 1206 3, 1210 1 %; small semiconductors 5.5, ICs 5.1, LEDs 2.5,
//! connectors 2.4 %); what a body needs of tape, tray, height, nozzle and speed is common practice, no
//! source. `README.md` describes the recipe in full.

use crate::Trouble;
use crate::panel::{Body, lay_out};
use domain::line::{Line, Station};
use domain::part::{NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::product::{Fiducial, PartId, Placement, Product, SCHEMA, Side, Status};
use fastrand::Rng;
use units::{Angle, Length, Point};

/// Which stations a generated line is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Chip stations, and one flexible station in four at the end.
    FixedRoles,
    /// Stations that swap heads in mid-panel.
    HeadSwap,
    /// Two-beam stations first, then one station in three that swaps heads.
    Mixed,
}

impl Kind {
    /// As it stands in names of instances.
    pub fn word(self) -> &'static str {
        match self {
            Self::FixedRoles => "fixed",
            Self::HeadSwap => "swap",
            Self::Mixed => "mixed",
        }
    }
}

/// What to generate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recipe {
    /// Kind of line.
    pub kind: Kind,
    /// Stations of the line, 2 to 16.
    pub stations: usize,
    /// Placements of the whole panel.
    pub placements: u32,
    /// Boards in the panel; `placements` is divided among them, rounded down.
    pub images: u32,
    /// Part types.
    pub part_types: u32,
    /// Of the random numbers.
    pub seed: u64,
}

impl Recipe {
    /// Part types of a panel of `placements` where nothing else is asked: 2.5·√n, 12 to 250. Boards of
    /// 100 to 2,000 placements that were counted lie round this curve.
    pub fn usual_part_types(placements: u32) -> u32 {
        ((2.5 * f64::from(placements).sqrt()).round() as u32).clamp(12, 250)
    }

    /// Name of the instance.
    pub fn name(&self) -> String {
        format!("n{}-p{}-x{}-{}{}-r{}", self.placements, self.part_types, self.images, self.kind.word(), self.stations, self.seed)
    }

    /// The line.
    pub fn line(&self) -> Result<Line, Trouble> {
        let sheet = |name: &str, text: &str| Line::parse(name, text).map_err(|f| format!("example sheet {name}: {f:?}"));
        let fixed = sheet("fixed-roles", include_str!("../../examples/lines/fixed-roles.toml"))?;
        let swap = sheet("head-swap", include_str!("../../examples/lines/head-swap.toml"))?;
        let pairs = sheet("two-beam", include_str!("../../examples/lines/two-beam.toml"))?;
        let n = self.stations;
        let last = |line: &Line| line.station[line.station.len() - 1].clone();
        let (mut line, stations): (Line, Vec<Station>) = match self.kind {
            Kind::FixedRoles => {
                let flexible = n.div_ceil(4);
                let all = (0..n).map(|s| if s < n - flexible { fixed.station[0].clone() } else { last(&fixed) }).collect();
                (fixed, all)
            }
            // Every third holds stacks of trays, as on the example sheet.
            Kind::HeadSwap => {
                let all = (0..n).map(|s| if (n - 1 - s).is_multiple_of(3) { last(&swap) } else { swap.station[0].clone() }).collect();
                (swap, all)
            }
            Kind::Mixed => {
                let flexible = n.div_ceil(3);
                let all = (0..n).map(|s| if s < n - flexible { pairs.station[0].clone() } else { last(&swap) }).collect();
                (swap, all)
            }
        };
        let times = n.div_ceil(line.station.len()) as u32;
        line.feeder.iter_mut().for_each(|f| f.stock *= times);
        line.nozzle.iter_mut().for_each(|k| k.stock *= times);
        line.cart.iter_mut().for_each(|c| c.stock *= times);
        line.station = stations;
        for (s, station) in line.station.iter_mut().enumerate() {
            let role = station.name.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-').to_owned();
            station.name = format!("{role}-{}", s + 1);
        }
        line.name = format!("{} stations, {}", n, self.kind.word());
        "A generated line; every figure is an example.".clone_into(&mut line.notes);
        Ok(line)
    }

    /// The board of one image.
    pub fn board(&self) -> Result<Product, Trouble> {
        let mut rng = Rng::with_seed(self.seed ^ 0x5EED_B0A8);
        let each = self.placements / self.images.max(1);
        let groups = parts_with_counts(each, self.part_types, &mut rng);
        let mut bodies: Vec<(u32, Body)> = Vec::new();
        for (k, (part, count)) in groups.iter().enumerate() {
            let body = Body { x: part.body_x_um.value.0, y: part.body_y_um.value.0 };
            bodies.extend((0..*count).map(|_| (k as u32, body)));
        }
        let (columns, rows) = crate::panel::columns_and_rows(self.images);
        let places = lay_out(&bodies.iter().map(|b| b.1).collect::<Vec<_>>(), (columns, rows), &mut rng)?;
        let mut counters = [0u32; 8];
        let placements = bodies.iter().zip(&places.at).map(|((part, _), (at, degrees))| {
            let letter = groups[*part as usize].0.value.as_bytes().first().copied().unwrap_or(b'X');
            let counter = &mut counters[b"CRDQUJYX".iter().position(|l| *l == letter).unwrap_or(7)];
            *counter += 1;
            Placement {
                reference: format!("{}{counter}", char::from(letter)),
                part: Some(PartId(*part)),
                at: Point::from_um(at.0, at.1),
                rotation_mdeg: Angle(i64::from(*degrees) * 1000),
                side: Side::Top,
                status: Status::Fitted,
                why: String::new(),
                origin: String::new(),
            }
        });
        let (w, d) = places.size;
        let mark = |k: usize, at: (i64, i64)| Fiducial { reference: format!("FID{k}"), at: Point::from_um(at.0, at.1), side: Side::Top };
        Ok(Product {
            schema: SCHEMA.to_owned(),
            name: self.name(),
            width_um: Length(w),
            depth_um: Length(d),
            size_stated: true,
            placements: placements.collect(),
            parts: groups.into_iter().map(|g| g.0).collect(),
            fiducials: vec![mark(1, (4_000, 4_000)), mark(2, (w - 4_000, 4_000)), mark(3, (w - 4_000, d - 4_000))],
        })
    }
}

/// A family of parts: its share of the placements and of the part types, per mille.
struct Family {
    placements: u32,
    types: u32,
    /// Reference letters; the first one of a part is drawn from them.
    letters: &'static str,
    bodies: &'static [Shape],
}

/// A body as families draw it: share within the family, length, width, height [µm], and how it comes.
struct Shape(u32, i64, i64, i64, Pack);

/// How parts come.
#[derive(Clone, Copy)]
enum Pack {
    /// Tape width and pocket pitch [mm].
    Tape(i64, i64),
    /// Trays with so many pockets.
    Tray(u32),
    /// Sticks.
    Stick,
}

use Pack::{Stick, Tape, Tray};

const FAMILIES: [Family; 6] = [
    Family {
        placements: 804,
        types: 500,
        letters: "CR",
        bodies: &[
            Shape(171, 600, 300, 300, Tape(8, 2)),
            Shape(468, 1_000, 500, 500, Tape(8, 2)),
            Shape(232, 1_600, 800, 800, Tape(8, 4)),
            Shape(91, 2_000, 1_250, 1_250, Tape(8, 4)),
            Shape(31, 3_200, 1_600, 1_600, Tape(8, 4)),
            Shape(7, 3_200, 2_500, 2_000, Tape(8, 4)),
        ],
    },
    Family {
        placements: 55,
        types: 130,
        letters: "DQ",
        bodies: &[
            Shape(500, 2_900, 2_400, 1_100, Tape(8, 4)),
            Shape(350, 3_700, 1_700, 1_200, Tape(8, 4)),
            Shape(150, 7_000, 6_500, 1_700, Tape(12, 8)),
        ],
    },
    Family {
        placements: 51,
        types: 170,
        letters: "U",
        bodies: &[
            Shape(220, 3_000, 3_000, 900, Tape(12, 8)),
            Shape(160, 5_000, 5_000, 900, Tape(12, 8)),
            Shape(180, 6_000, 5_000, 1_750, Tape(12, 8)),
            Shape(120, 6_500, 6_400, 1_200, Tape(16, 8)),
            Shape(60, 10_300, 10_300, 2_600, Stick),
            Shape(120, 12_000, 12_000, 1_600, Tape(24, 16)),
            Shape(70, 13_000, 9_000, 1_200, Tray(90)),
            Shape(40, 17_000, 17_000, 1_700, Tray(60)),
            Shape(30, 24_000, 24_000, 2_600, Tray(24)),
        ],
    },
    Family {
        placements: 25,
        types: 50,
        letters: "D",
        bodies: &[Shape(700, 1_600, 800, 800, Tape(8, 4)), Shape(300, 3_200, 2_800, 1_900, Tape(8, 4))],
    },
    Family {
        placements: 24,
        types: 80,
        letters: "J",
        bodies: &[
            Shape(400, 8_900, 7_400, 3_200, Tape(24, 12)),
            Shape(300, 15_000, 7_000, 5_500, Tape(32, 16)),
            Shape(150, 30_000, 8_000, 7_500, Tape(44, 16)),
            Shape(150, 26_000, 16_000, 11_000, Tray(20)),
        ],
    },
    Family {
        placements: 41,
        types: 70,
        letters: "XY",
        bodies: &[
            Shape(450, 3_200, 2_500, 800, Tape(8, 4)),
            Shape(250, 6_600, 6_600, 7_700, Tape(16, 12)),
            Shape(200, 6_000, 6_000, 4_000, Tape(16, 12)),
            Shape(100, 10_300, 10_300, 10_200, Tape(24, 16)),
        ],
    },
];

/// Part types with how many placements of a board each has; largest bodies last.
fn parts_with_counts(placements: u32, part_types: u32, rng: &mut Rng) -> Vec<(Part, u32)> {
    let part_types = part_types.clamp(FAMILIES.len() as u32, placements.max(FAMILIES.len() as u32));
    let types = shares(part_types, FAMILIES.iter().map(|f| f.types));
    let counts = shares(placements, FAMILIES.iter().map(|f| f.placements));
    let mut made = Vec::new();
    for (family, (types, count)) in FAMILIES.iter().zip(types.into_iter().zip(counts)) {
        // Few types of a family are used often, most seldom: counts fall as 1/rank.
        let types = types.min(count);
        let ranks: Vec<u32> = (1..=types).map(|rank| 10_000 / rank).collect();
        for (k, n) in shares(count, ranks.into_iter()).into_iter().enumerate() {
            let letter = family.letters.as_bytes()[k % family.letters.len()];
            made.push((make(family, letter, k, rng), n));
        }
    }
    made.sort_by(|a, b| (a.0.long_side(), &a.0.number).cmp(&(b.0.long_side(), &b.0.number)));
    made
}

/// Divides a whole by shares: at least 1 each while it lasts, the rest by largest remainder.
fn shares(whole: u32, shares: impl Iterator<Item = u32>) -> Vec<u32> {
    let shares: Vec<u32> = shares.collect();
    let n = shares.len() as u32;
    if n == 0 {
        return Vec::new();
    }
    let base = u32::from(whole >= n);
    let rest = u64::from(whole - base * n);
    let sum: u64 = shares.iter().map(|s| u64::from(*s)).sum::<u64>().max(1);
    let mut got: Vec<u32> = shares.iter().map(|s| base + (rest * u64::from(*s) / sum) as u32).collect();
    let mut by_remainder: Vec<usize> = (0..shares.len()).collect();
    by_remainder.sort_by_key(|i| (std::cmp::Reverse(rest * u64::from(shares[*i]) % sum), *i));
    let missing = whole - got.iter().sum::<u32>();
    by_remainder.iter().take(missing as usize).for_each(|i| got[*i] += 1);
    got
}

/// One part of a family. Its number says what it is, of the invented maker's list.
fn make(family: &Family, letter: u8, k: usize, rng: &mut Rng) -> Part {
    let whole: u32 = family.bodies.iter().map(|b| b.0).sum();
    let mut draw = rng.u32(..whole);
    let shape = family.bodies.iter().find(|b| {
        let hit = draw < b.0;
        draw = draw.saturating_sub(b.0);
        hit
    });
    let Shape(_, x, y, height, from) = shape.unwrap_or(&family.bodies[0]);
    let short = *x.min(y);
    let large_body = short >= 9_000;
    let (width, pitch) = match from {
        Tape(w, p) => (w * 1_000, p * 1_000),
        _ => (8_000, 4_000),
    };
    let pockets = if let Tray(n) = from { *n } else { 24 };
    let gripped = letter == b'J' && *height > 7_000;
    let speed = match () {
        () if gripped || large_body => 60,
        () if *height > 4_000 => 80,
        () => 100,
    };
    let letter = char::from(letter);
    Part {
        number: format!("RG-{letter}{}X{}-{:03}", x / 100, y / 100, k + 1),
        value: letter.to_string(),
        package: format!("{x} x {y}"),
        mount: Sourced::engineer(domain::part::Mount::Smt),
        body_x_um: Sourced::engineer(Length(*x)),
        body_y_um: Sourced::engineer(Length(*y)),
        height_um: Sourced::engineer(Length(*height)),
        supply: Sourced::engineer(match from {
            Tape(..) => Supply::Tape,
            Tray(_) => Supply::Tray,
            Stick => Supply::Stick,
        }),
        tape_width_um: Sourced::engineer(Length(width)),
        tape_pitch_um: Sourced::engineer(Length(pitch)),
        tray_pockets: Sourced::engineer(pockets),
        tray_height_um: Sourced::engineer(Length(height.max(&5_000) + 1_600)),
        nozzle_class: Sourced::engineer(if gripped { NozzleClass::Gripper } else { class(short) }),
        speed: Sourced::engineer(SpeedPercent(speed)),
        accuracy_um: Sourced::engineer(Length(if letter == 'U' && rng.u32(..3) == 0 { 30 } else { 80 })),
        ball_grid: Sourced::engineer(letter == 'U' && matches!(from, Tray(_))),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(0),
        handling: domain::part::Handling::default(),
    }
}

/// Class of nozzle by the shorter side, with the limits `NozzleClass` states.
fn class(short: i64) -> NozzleClass {
    match short {
        ..400 => NozzleClass::Micro,
        400..750 => NozzleClass::Tiny,
        750..1_500 => NozzleClass::Small,
        1_500..3_500 => NozzleClass::Medium,
        3_500..9_000 => NozzleClass::Large,
        _ => NozzleClass::Wide,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instance::panel_of;
    use domain::job::Job;

    fn recipe(kind: Kind, stations: usize, placements: u32, images: u32) -> Recipe {
        Recipe { kind, stations, placements, images, part_types: Recipe::usual_part_types(placements), seed: 1 }
    }

    #[test]
    fn shares_sum_to_the_whole_and_leave_nobody_out() {
        assert_eq!(shares(10, [1, 1, 1].into_iter()), [4, 3, 3]);
        assert_eq!(shares(3, [900, 1, 1].into_iter()), [1, 1, 1]);
        assert_eq!(shares(1_000, [804, 196].into_iter()).iter().sum::<u32>(), 1_000);
    }

    #[test]
    fn the_same_numbers_give_the_same_board_and_line() {
        let r = recipe(Kind::HeadSwap, 5, 600, 2);
        assert_eq!(r.board().expect("a board"), r.board().expect("a board"));
        assert_eq!(r.line().expect("a line"), r.line().expect("a line"));
        assert_ne!(Recipe { seed: 2, ..r }.board().expect("a board").placements, r.board().expect("a board").placements);
    }

    #[test]
    fn every_size_fits_the_line_and_no_bodies_overlap() {
        for (kind, stations, n, images) in
            [(Kind::FixedRoles, 2, 200, 1), (Kind::HeadSwap, 8, 2_000, 4), (Kind::Mixed, 12, 10_000, 1), (Kind::FixedRoles, 16, 3_000, 12)]
        {
            let r = recipe(kind, stations, n, images);
            let (board, line) = (r.board().expect("a board"), r.line().expect("a line"));
            assert_eq!(board.placements.len() as u32, n / images);
            assert_eq!(line.station.len(), stations);
            let job = Job::new(&board, Side::Top, panel_of(&board, images)).expect("a panel");
            assert!(
                line.station.iter().all(|s| job.size.x <= *s.max_panel.x && job.size.y <= *s.max_panel.y),
                "{} x {}",
                job.size.x,
                job.size.y
            );
            let boxes: Vec<(i64, i64, i64, i64)> = board.placements.iter().map(|p| footprint(&board, p)).collect();
            for (i, a) in boxes.iter().enumerate().step_by(7) {
                for b in boxes[..i].iter() {
                    assert!(a.0 >= b.2 || b.0 >= a.2 || a.1 >= b.3 || b.1 >= a.3, "{}: {a:?} on {b:?}", r.name());
                }
            }
        }
    }

    fn footprint(board: &Product, p: &Placement) -> (i64, i64, i64, i64) {
        let part = &board.parts[p.part.expect("fitted").index()];
        let quarter = p.rotation_mdeg.0 % 180_000 == 90_000;
        let (w, d) =
            if quarter { (part.body_y_um.value.0, part.body_x_um.value.0) } else { (part.body_x_um.value.0, part.body_y_um.value.0) };
        (p.at.x.0 - w / 2, p.at.y.0 - d / 2, p.at.x.0 + w / 2, p.at.y.0 + d / 2)
    }

    #[test]
    fn shares_of_the_panel_are_those_counted_on_real_boards() {
        let board = recipe(Kind::FixedRoles, 4, 4_000, 1).board().expect("a board");
        let share = |f: &dyn Fn(&Part) -> bool| {
            let n = board.placements.iter().filter(|p| f(&board.parts[p.part.expect("fitted").index()])).count();
            n as f64 / board.placements.len() as f64
        };
        assert!((share(&|p| p.value == "C" || p.value == "R") - 0.804).abs() < 0.01);
        assert!((share(&|p| p.value == "U") - 0.051).abs() < 0.01);
        assert!(share(&|p| p.supply.value == Supply::Tray) > 0.0);
    }
}
