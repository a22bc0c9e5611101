//! A program from a line of decisions: nothing about it is clever, and every program of its kind is reached.
//!
//! With dice it is one at random; with the odometer of [`super::choice`] all of them come up in turn.

use super::choice::Choice;
use super::kinds;
use domain::job::{Job, TaskId};
use domain::line::{Head, HeadKind, Line, Station, StationKind};
use domain::part::{NozzleClass, Part, Supply};
use domain::plan::{Breakdown, Pass, Pick, PlaceStep, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work, pick_point};
use domain::product::PartId;
use domain::rules::Rules;
use units::{Length, Point, Time};

/// What is done at a station, head by head: tasks placed, tasks that get their dots.
type Shares = Vec<(Vec<TaskId>, Vec<TaskId>)>;

/// A program for every station; `None` when the decisions led nowhere (no room, no nozzle).
pub fn stations<C: Choice>(choice: &mut C, line: &Line, job: &Job<'_>, rules: &Rules) -> Option<Vec<StationPlan>> {
    let mut shares: Vec<Shares> = line.station.iter().map(|s| vec![Default::default(); s.head.len()]).collect();
    for t in (0..job.tasks.len() as u32).map(TaskId) {
        let (s, h) = one_of(choice, &heads(line, |station, h| takes(line, station, h, job.part(t))))?;
        shares[s][h].0.push(t);
        if job.part(t).adhesive_dots.value > 0 {
            let (s, h) = one_of(choice, &heads(line, |station, h| station.head[h].kind == HeadKind::Dispense))?;
            shares[s][h].1.push(t);
        }
    }
    let mut stock: Vec<u32> = line.feeder.iter().map(|f| f.stock).collect();
    let mut stations = Vec::new();
    for (s, share) in shares.iter().enumerate() {
        stations.push(station(choice, line, s, job, share, &mut stock)?);
    }
    look(choice, line, job, rules, &mut stations)?;
    Some(stations)
}

fn one_of<C: Choice, T: Clone>(choice: &mut C, all: &[T]) -> Option<T> {
    (!all.is_empty()).then(|| all[choice.below(all.len())].clone())
}

fn heads(line: &Line, fits: impl Fn(&Station, usize) -> bool) -> Vec<(usize, usize)> {
    let stations = line.station.iter().enumerate();
    let all = stations.flat_map(|(s, x)| (0..x.head.len()).map(move |h| (s, h)));
    all.filter(|(s, h)| fits(&line.station[*s], *h)).collect()
}

fn takes(line: &Line, station: &Station, h: usize, part: &Part) -> bool {
    let head = &station.head[h];
    let room = if part.supply.value == Supply::Tray {
        station.tray.iter().any(|t| t.beam == head.beam)
    } else {
        station.bank.iter().any(|b| b.beam == head.beam)
    };
    head.kind != HeadKind::Dispense && room && !serving(line, head, part.nozzle_class.value).is_empty()
}

/// Nozzle kinds of the head that serve a class.
fn serving(line: &Line, head: &domain::line::Head, class: NozzleClass) -> Vec<u32> {
    (0..line.nozzle.len() as u32)
        .filter(|k| {
            let n = &line.nozzle[*k as usize];
            head.nozzles.contains(&n.name) && n.classes.contains(&class)
        })
        .collect()
}

fn station<C: Choice>(choice: &mut C, line: &Line, s: usize, job: &Job<'_>, share: &Shares, stock: &mut [u32]) -> Option<StationPlan> {
    let sheet = &line.station[s];
    // Heads of a gantry pick from the same supplies, each beam of two from its own.
    let together: Vec<usize> = if sheet.kind == StationKind::TwoBeam { vec![1; sheet.head.len()] } else { vec![sheet.head.len()] };
    let (mut all, mut from) = (Vec::new(), 0);
    for n in together {
        supplies(choice, line, (sheet, &sheet.head[from]), job, &share[from..from + n], stock, &mut all)?;
        from += n;
    }
    let supplies = all;
    let (mut passes, mut before) = (Vec::new(), 0);
    for (h, (placed, dots)) in share.iter().enumerate() {
        if !dots.is_empty() {
            passes.push(Pass { head: h as u32, work: Work::Dispense { tasks: shuffled(choice, dots) } });
        }
        if placed.is_empty() {
            continue;
        }
        if sheet.kind == StationKind::Turret {
            passes.extend(kinds::beats(choice, line, sheet, job, placed, &supplies));
            continue;
        }
        let mut made = trips(choice, line, s, h, job, placed, &supplies)?;
        if sheet.kind == StationKind::TwoBeam {
            kinds::idle_and_wait(choice, &mut made, before);
            before = made.len();
        }
        let cut = if made.len() > 1 { choice.below(made.len()) } else { 0 };
        let rest = made.split_off(cut);
        for trips in [made, rest] {
            if !trips.is_empty() {
                let layouts = trips.iter().map(|t| t.1.clone()).collect();
                let trips = trips.into_iter().zip(0..).map(|((trip, _), layout)| Trip { layout, ..trip }).collect();
                passes.push(Pass { head: h as u32, work: Work::Place { layouts, trips } });
            }
        }
    }
    let alternates = sheet.head_swap.as_ref().is_some_and(|x| x.alternate);
    Some(StationPlan {
        station: sheet.name.clone(),
        supplies,
        alternating: alternates && choice.one_in(2),
        passes: shuffled(choice, &passes),
        time_us: Time::ZERO,
        breakdown: Breakdown::default(),
    })
}

/// In any order.
pub fn shuffled<C: Choice, T: Clone>(choice: &mut C, all: &[T]) -> Vec<T> {
    let mut left = all.to_vec();
    let mut out = Vec::new();
    while !left.is_empty() {
        out.push(left.remove(choice.below(left.len())));
    }
    out
}

/// A place for every part used, and now and then a second one; of two beams on the side of the head.
fn supplies<C: Choice>(
    choice: &mut C,
    line: &Line,
    (sheet, head): (&Station, &Head),
    job: &Job<'_>,
    share: &[(Vec<TaskId>, Vec<TaskId>)],
    stock: &mut [u32],
    supplies: &mut Vec<SupplyAt>,
) -> Option<()> {
    let mut parts: Vec<PartId> = share.iter().flat_map(|x| &x.0).map(|t| job.tasks[t.index()].part).collect();
    parts.sort_unstable();
    parts.dedup();
    for part in parts {
        let uses = share.iter().flat_map(|x| &x.0).filter(|t| job.tasks[t.index()].part == part).count();
        let twice = uses > 1 && choice.one_in(2);
        for again in [false, true] {
            if again && !twice {
                continue;
            }
            let free = free_places(line, (sheet, head), &job.product.parts[part.index()], supplies, stock);
            match one_of(choice, &free) {
                Some(place) => {
                    if let SupplyPlace::Feeder { feeder, .. } = place {
                        stock[feeder as usize] -= 1;
                    }
                    supplies.push(SupplyAt { part, place });
                }
                None if again => {}
                None => return None,
            }
        }
    }
    Some(())
}

fn free_places(line: &Line, (sheet, head): (&Station, &Head), part: &Part, taken: &[SupplyAt], stock: &[u32]) -> Vec<SupplyPlace> {
    if part.supply.value == Supply::Tray {
        let own = (0..sheet.tray.len() as u32).filter(|t| sheet.tray[*t as usize].beam == head.beam);
        let all = own.flat_map(|tray| (1..=sheet.tray[tray as usize].levels()).map(move |l| (tray, l)));
        let places = all.map(|(tray, level)| SupplyPlace::Tray { tray, level });
        return places.filter(|p| taken.iter().all(|t| t.place != *p)).collect();
    }
    let covers = |place: &SupplyPlace| match *place {
        SupplyPlace::Feeder { bank, slot, feeder } => Some((bank, slot, slot + line.feeder[feeder as usize].slots)),
        SupplyPlace::Tray { .. } => None,
    };
    let mut free = Vec::new();
    for (k, kind) in line.feeder.iter().enumerate() {
        let fits = kind.supply == part.supply.value && kind.tape_width.is_none_or(|w| *w == part.tape_width_um.value);
        if !fits || stock[k] == 0 {
            continue;
        }
        for (b, bank) in sheet.bank.iter().enumerate().filter(|(_, b)| b.beam == head.beam) {
            for slot in 1..=(bank.slots + 1).saturating_sub(kind.slots) {
                let (from, to) = (slot, slot + kind.slots);
                let clash = |t: &SupplyAt| covers(&t.place).is_some_and(|(x, f, e)| x as usize == b && f < to && from < e);
                if !taken.iter().any(clash) {
                    free.push(SupplyPlace::Feeder { bank: b as u32, slot, feeder: k as u32 });
                }
            }
        }
    }
    free
}

/// Trips of one head with the layout of each, task by task: which next, with which spindle, or back to the feeders.
fn trips<C: Choice>(
    choice: &mut C,
    line: &Line,
    s: usize,
    h: usize,
    job: &Job<'_>,
    tasks: &[TaskId],
    supplies: &[SupplyAt],
) -> Option<Vec<(Trip, Vec<Option<u32>>)>> {
    let (sheet, head) = (&line.station[s], &line.station[s].head[h]);
    let all: Vec<Option<u32>> =
        (0..line.nozzle.len() as u32).filter(|k| head.nozzles.contains(&line.nozzle[*k as usize].name)).map(Some).collect();
    // Without a rack the nozzles are chosen once.
    let kept: Option<Vec<Option<u32>>> =
        sheet.nozzle_rack.is_none().then(|| (0..head.spindles).map(|_| all[choice.below(all.len())]).collect());
    let mut left = tasks.to_vec();
    let mut done = Vec::new();
    while !left.is_empty() {
        let mut layout = kept.clone().unwrap_or_else(|| vec![None; head.spindles.into()]);
        let mut places: Vec<PlaceStep> = Vec::new();
        loop {
            let mut next: Vec<Option<(usize, u8, u32)>> = if places.is_empty() { Vec::new() } else { vec![None] };
            for (k, t) in left.iter().enumerate() {
                let serving = serving(line, head, job.part(*t).nozzle_class.value);
                for spindle in (0..head.spindles).filter(|x| places.iter().all(|p| p.spindle != *x)) {
                    let fits = |n: &&u32| kept.as_ref().is_none_or(|kept| kept[usize::from(spindle)] == Some(**n));
                    next.extend(serving.iter().filter(fits).map(|n| Some((k, spindle, *n))));
                }
            }
            match one_of(choice, &next)? {
                None => break,
                Some((k, spindle, nozzle)) => {
                    layout[usize::from(spindle)] = Some(nozzle);
                    places.push(PlaceStep { spindle, task: left.remove(k) });
                }
            }
            if left.is_empty() {
                break;
            }
        }
        let strokes = strokes(choice, line, s, h, job, &places, supplies);
        done.push((Trip { layout: 0, strokes, places, after: 0 }, layout));
    }
    Some(done)
}

/// Picks in any order, from any supply of the part; those that can be joined to the stroke before may be.
fn strokes<C: Choice>(
    choice: &mut C,
    line: &Line,
    s: usize,
    h: usize,
    job: &Job<'_>,
    places: &[PlaceStep],
    supplies: &[SupplyAt],
) -> Vec<Stroke> {
    let head = &line.station[s].head[h];
    let wanted = |pick: &Pick| {
        let at = pick_point(line, s, &supplies[pick.supply as usize].place).expect("a place of the station");
        let pitch = if head.kind == HeadKind::Inline { head.pitch.map_or(0, |p| p.0.0) } else { 0 };
        Point { x: at.x - Length(pitch * i64::from(pick.spindle)), y: at.y }
    };
    let mut strokes: Vec<Stroke> = Vec::new();
    for step in shuffled(choice, places) {
        let part = job.tasks[step.task.index()].part;
        let own = |place: &SupplyPlace| match *place {
            SupplyPlace::Feeder { bank, .. } => line.station[s].bank[bank as usize].beam == head.beam,
            SupplyPlace::Tray { tray, .. } => line.station[s].tray[tray as usize].beam == head.beam,
        };
        let fits = |k: &u32| supplies[*k as usize].part == part && own(&supplies[*k as usize].place);
        let fitting: Vec<u32> = (0..supplies.len() as u32).filter(fits).collect();
        let pick = Pick { spindle: step.spindle, supply: fitting[choice.below(fitting.len())] };
        let near = |a: Point, b: Point| (a.x - b.x).abs().0 <= 100 && (a.y - b.y).abs().0 <= 100;
        match strokes.last_mut() {
            Some(stroke)
                if head.kind == HeadKind::Inline && stroke.0.iter().all(|p| near(wanted(p), wanted(&pick))) && !choice.one_in(4) =>
            {
                stroke.0.push(pick);
            }
            _ => strokes.push(Stroke(vec![pick])),
        }
    }
    strokes
}

/// Views over every area, at the first station that has work or any that can look, with a head that works there.
fn look<C: Choice>(choice: &mut C, line: &Line, job: &Job<'_>, rules: &Rules, stations: &mut [StationPlan]) -> Option<()> {
    if rules.inspect.is_empty() {
        return Some(());
    }
    let able: Vec<usize> =
        (0..line.station.len()).filter(|s| line.station[*s].inspection.is_some() && !line.station[*s].head.is_empty()).collect();
    let mut views: Vec<Vec<Point>> = vec![Vec::new(); line.station.len()];
    for area in &rules.inspect {
        for image in 0..job.panel.images() {
            let (column, row) = (i64::from(image % job.panel.columns), i64::from(image / job.panel.columns));
            let low = Point { x: *area.x + job.panel.pitch_x_um * column, y: *area.y + job.panel.pitch_y_um * row };
            let s = one_of(choice, &able)?;
            let field = line.station[s].inspection.as_ref().map(|i| ((*i.field.x).0, (*i.field.y).0))?;
            // A field of an odd number of micrometres sees half of one further to both sides.
            let (fx, fy) = (field.0 + field.0 % 2, field.1 + field.1 % 2);
            for x in 0..(area.width.0.0 + fx - 1).div_euclid(fx).max(1) {
                for y in 0..(area.depth.0.0 + fy - 1).div_euclid(fy).max(1) {
                    views[s].push(Point { x: low.x + Length(fx / 2 + x * fx), y: low.y + Length(fy / 2 + y * fy) });
                }
            }
        }
    }
    for (s, views) in views.into_iter().enumerate().filter(|(_, v)| !v.is_empty()) {
        let used: Vec<u32> = stations[s].passes.iter().map(|p| p.head).collect();
        let head = if used.is_empty() { 0 } else { one_of(choice, &used)? };
        let at = choice.below(stations[s].passes.len() + 1);
        stations[s].passes.insert(at, Pass { head, work: Work::Inspect { views: shuffled(choice, &views) } });
    }
    Some(())
}
