//! Valid plans of any size: tasks spread at random over the heads that take them, in trips of
//! random length, without order rules. Nothing about them is good; they only keep the rules.

use super::{line, part, retime, row};
use domain::job::{Panel, TaskId};
use domain::line::Line;
use domain::part::{NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{
    Breakdown, Certificate, Method, Outcome, Pass, Pick, PlaceStep, Plan, SCHEMA, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work,
};
use domain::product::{PartId, Product, Side};
use domain::rules::{OrderRule, Rules};
use units::{Length, Text, Time};

/// A linear congruential generator; constants of Knuth's MMIX.
pub struct Random(pub u64);

impl Random {
    /// A number below `n`, which must not be 0.
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

/// One kind of part: station and head index that may take it, and the nozzle kind for that.
struct Kind {
    part: Part,
    /// (station, head, nozzle kind, supply at the station).
    heads: Vec<(usize, u32, u32, u32)>,
}

/// Station, head, spindles of the placing heads of the tests' line.
const HEADS: [(usize, u32, u8); 3] = [(0, 0, 4), (1, 1, 6), (1, 2, 1)];

fn kinds() -> Vec<Kind> {
    let tape = Supply::Tape;
    let kind = |mut part: Part, speed: u8, heads: &[(usize, u32, u32, u32)]| {
        part.speed = Sourced::engineer(SpeedPercent(speed));
        Kind { part, heads: heads.to_vec() }
    };
    vec![
        kind(part("RG-ADC-16", (5_000, 4_000, 1_200), tape, 12_000, NozzleClass::Large), 80, &[(1, 1, 1, 0), (1, 2, 1, 0)]),
        kind(part("RG-CAP-100N", (1_000, 500, 500), tape, 8_000, NozzleClass::Tiny), 100, &[(0, 0, 0, 0), (1, 1, 0, 1)]),
        kind(part("RG-RES-10K", (1_000, 500, 350), tape, 8_000, NozzleClass::Tiny), 100, &[(0, 0, 0, 1), (1, 1, 0, 2)]),
        kind(part("RG-SHIELD", (15_000, 12_000, 3_000), Supply::Tray, 0, NozzleClass::Wide), 60, &[(1, 2, 2, 3)]),
    ]
}

/// A valid plan of `tasks` placements on a board of `side` [µm], from a seed.
pub fn plan(seed: u64, tasks: usize, side: i64) -> Plan {
    let mut random = Random(seed);
    let kinds = kinds();
    let mut line = line();
    adjust(&mut line, &mut random, side);
    let mut work: [Vec<(u32, u32)>; 3] = Default::default();
    let mut placements = Vec::new();
    for t in 0..tasks {
        let k = random.below(kinds.len() as u64) as usize;
        let at = (random.below(side as u64 / 500 + 1) as i64 * 500, random.below(side as u64 / 500 + 1) as i64 * 500);
        placements.push(row(&format!("U{t}"), k as u32, at, 90 * random.below(4) as i64));
        let (station, head, ..) = kinds[k].heads[random.below(kinds[k].heads.len() as u64) as usize];
        let h = HEADS.iter().position(|x| (x.0, x.1) == (station, head)).expect("a head of the list");
        work[h].push((t as u32, k as u32));
    }
    let parts = kinds.iter().map(|k| k.part.clone()).collect();
    let stations = stations(&line, &kinds, &work, &mut random);
    let mut plan = Plan {
        schema: SCHEMA.to_owned(),
        product: Product {
            schema: domain::product::SCHEMA.to_owned(),
            name: "spread".to_owned(),
            width_um: Length(side),
            depth_um: Length(side),
            size_stated: true,
            parts,
            placements,
            fiducials: Vec::new(),
        },
        side: Side::Top,
        panel: Panel::SINGLE,
        rules: Rules { order_rule: Some(OrderRule::None), ..Rules::default() },
        line,
        method: Method::Search,
        seed,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate {
            leaves: vec![domain::plan::Leaf { weights: vec![random.below(5), 1 + random.below(5)], ..domain::plan::Leaf::default() }],
        },
        stations,
        unplaced: Vec::new(),
        reasons: Vec::new(),
        findings: Vec::new(),
    };
    retime(&mut plan);
    plan
}

/// Enough in stock, room for the board, and ways of sighting in all combinations.
fn adjust(line: &mut Line, random: &mut Random, side: i64) {
    line.feeder.iter_mut().for_each(|f| f.stock = 100);
    line.nozzle.iter_mut().for_each(|n| n.stock = 100);
    let camera = line.station[1].head[2].sight.clone();
    for (s, h, _) in HEADS {
        let station = &mut line.station[s];
        (station.max_panel.x, station.max_panel.y) = (Text(Length(side)), Text(Length(side)));
        let head = &mut station.head[h as usize];
        if random.below(2) == 0 {
            head.sight = camera.clone();
        }
        if random.below(3) == 0 {
            head.turn_90 = Text(Time::ZERO);
        }
    }
}

fn stations(line: &Line, kinds: &[Kind], work: &[Vec<(u32, u32)>; 3], random: &mut Random) -> Vec<StationPlan> {
    let feeder = |part, slot, feeder| SupplyAt { part: PartId(part), place: SupplyPlace::Feeder { bank: 0, slot, feeder } };
    let tray = SupplyAt { part: PartId(3), place: SupplyPlace::Tray { tray: 1, level: 1 } };
    let supplies = [vec![feeder(1, 1, 0), feeder(2, 3, 0)], vec![feeder(0, 2, 1), feeder(1, 1, 0), feeder(2, 5, 0), tray]];
    let mut plans: Vec<StationPlan> = supplies
        .into_iter()
        .zip(&line.station)
        .map(|(supplies, s)| StationPlan {
            station: s.name.clone(),
            supplies,
            alternating: s.head_swap.is_some() && random.below(2) == 0,
            passes: Vec::new(),
            time_us: Time::ZERO,
            breakdown: Breakdown::default(),
        })
        .collect();
    for ((station, head, spindles), work) in HEADS.into_iter().zip(work) {
        if !work.is_empty() {
            let sheet = &line.station[station];
            let one_layout = sheet.nozzle_rack.is_none();
            plans[station].passes.push(Pass { head, work: pass(kinds, work, (station, head, spindles), one_layout, random) });
        }
    }
    plans
}

/// Trips as full as possible half of the time, else of random length.
fn pass(kinds: &[Kind], work: &[(u32, u32)], (station, head, spindles): (usize, u32, u8), one_layout: bool, random: &mut Random) -> Work {
    let (mut layouts, mut trips): (Vec<Vec<Option<u32>>>, Vec<Trip>) = (Vec::new(), Vec::new());
    let full = random.below(2) == 0;
    let mut rest = work;
    while !rest.is_empty() {
        let n = if full { u64::from(spindles) } else { 1 + random.below(spindles.into()) };
        let (now, later) = rest.split_at(rest.len().min(n as usize));
        let mut layout = vec![one_layout.then_some(0); spindles.into()];
        let mut trip = Trip { layout: 0, strokes: Vec::new(), places: Vec::new(), after: 0 };
        for (spindle, (task, kind)) in now.iter().enumerate() {
            let taking = kinds[*kind as usize].heads.iter().find(|h| (h.0, h.1) == (station, head));
            let (.., nozzle, supply) = *taking.expect("a head that takes the part");
            layout[spindle] = Some(nozzle);
            trip.strokes.push(Stroke(vec![Pick { spindle: spindle as u8, supply }]));
            trip.places.push(PlaceStep { spindle: spindle as u8, task: TaskId(*task) });
        }
        trip.layout = layouts.iter().position(|l| *l == layout).unwrap_or_else(|| {
            layouts.push(layout);
            layouts.len() - 1
        }) as u32;
        trips.push(trip);
        rest = later;
    }
    Work::Place { layouts, trips }
}
