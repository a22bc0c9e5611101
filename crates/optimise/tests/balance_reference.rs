//! The balance against a worked instance, an independent LP solver and published matrices.
//!
//! - W2 of the project's literature notes: an instance of our own, solved there by integer programming
//!   and by exhaustive dynamic programming.
//! - The LP relaxation of random models, set up here a second time and solved by an interior-point
//!   solver from the registry (`good_lp` with `clarabel`).
//! - Makespan on unrelated machines: the resource matrices of published assignment instances (Cattrysse
//!   1994, Chu and Beasley 1997) read as processing times; makespans proved with an independent solver
//!   (`bench/rcmax/gap_matrices_cmax.csv`). The smallest matrix is copied here; the others are read where
//!   the benchmark data is at hand.

use good_lp::{Expression, Solution, SolverModel, clarabel, constraint, variable, variables};
use optimise::balance::{Group, Linear, Machine, exact, level, relax, spread};

/// Microseconds in a second.
const S: f64 = 1e6;

/// W2: counts 30, 20, 14, 8, 5, 3 on three stations with these slots.
fn w2(slots: [u32; 3]) -> Linear {
    let groups: Vec<Group> = [(30, 1), (20, 1), (14, 1), (8, 2), (5, 2), (3, 3)]
        .iter()
        .enumerate()
        .map(|(k, (count, slots))| Group { count: *count, slots: *slots, places: 0, part: k as u32 })
        .collect();
    let seconds = [
        [Some(0.10), Some(0.10), Some(0.15)],
        [Some(0.10), Some(0.10), Some(0.15)],
        [Some(0.12), Some(0.12), Some(0.15)],
        [Some(0.20), Some(0.20), Some(0.18)],
        [None, Some(0.40), Some(0.30)],
        [None, None, Some(0.60)],
    ];
    let machine = |fixed: f64, slots| Machine { fixed: fixed * S, slots, ..Machine::default() };
    Linear {
        groups,
        columns: vec![0, 1, 2],
        stations: vec![machine(1.0, slots[0]), machine(1.0, slots[1]), machine(1.5, slots[2])],
        time: seconds.iter().map(|row| row.iter().map(|t| t.map(|t| t * S)).collect()).collect(),
        ..Linear::default()
    }
}

/// Time of the slowest station when so many of each group go to each column; no head swaps.
fn slowest(model: &Linear, counts: &[Vec<f64>]) -> f64 {
    let load = |s: usize| {
        let columns = (0..model.columns.len()).filter(|c| model.columns[*c] == s);
        let work: f64 =
            columns.flat_map(|c| (0..counts.len()).map(move |g| (g, c))).map(|(g, c)| counts[g][c] * model.time[g][c].unwrap_or(0.0)).sum();
        model.stations[s].fixed + work
    };
    (0..model.stations.len()).map(load).fold(0.0, f64::max)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1.0
}

#[test]
fn w2_unsplit_takes_5_60() {
    let model = w2([3, 3, 6]);
    let best = exact(&model, false, 100_000).expect("it can be done");
    assert!(best.proven && near(best.slowest, 5.60 * S), "{best:?}");
    assert!(near(slowest(&model, &best.counts), best.slowest), "the counts take what is said");
    // The quick spreading reaches it too, from every seed.
    for seed in 0..10 {
        let columns = spread(&model, 20_000, &mut fastrand::Rng::with_seed(seed));
        assert!(near(slowest(&model, &unsplit(&model, &columns)), 5.60 * S), "seed {seed}: {columns:?}");
    }
}

#[test]
fn w2_split_takes_5_10_and_with_more_slots_5_04() {
    for (slots, seconds) in [([3, 3, 6], 5.10), ([4, 4, 7], 5.04)] {
        let model = w2(slots);
        let best = exact(&model, true, 1_000_000).expect("it can be done");
        assert!(best.proven && near(best.slowest, seconds * S), "{slots:?}: {best:?}");
        assert!(near(slowest(&model, &best.counts), best.slowest), "the counts take what is said");
        for (s, limit) in slots.iter().enumerate() {
            let used: u32 = (0..model.groups.len()).filter(|g| best.counts[*g][s] > 0.0).map(|g| model.groups[g].slots).sum();
            assert!(used <= *limit, "station {s}: {used} slots of {limit}");
        }
    }
}

/// The published spread of W2 is one with 5.10 s in this model too.
#[test]
fn w2_published_counts() {
    let model = w2([3, 3, 6]);
    let counts = [[5, 25, 0], [20, 0, 0], [12, 0, 2], [0, 8, 0], [0, 0, 5], [0, 0, 3]].map(|row| row.map(f64::from).to_vec());
    assert!(near(slowest(&model, &counts), 5.10 * S));
}

#[test]
fn w2_relaxed_takes_5_0186() {
    // 80 slots for everything: the rows fall away. The value is given to four digits.
    for slots in [[3, 3, 6], [4, 4, 7], [80, 80, 80]] {
        let relaxed = relax(&w2(slots)).expect("it can be done");
        assert!((relaxed.slowest - 5.0186 * S).abs() < 50.0, "{slots:?}: {}", relaxed.slowest);
    }
}

/// Counts as numbers, after they were found to keep every limit of the model.
fn checked(model: &Linear, counts: &[Vec<u32>]) -> Vec<Vec<f64>> {
    for (g, row) in counts.iter().enumerate() {
        assert!(row.iter().sum::<u32>() <= model.groups[g].count, "group {g}: {row:?}");
        assert!(row.iter().zip(&model.time[g]).all(|(n, t)| *n == 0 || t.is_some()), "group {g} where it cannot be done");
    }
    for (s, station) in model.stations.iter().enumerate() {
        let stands = |g: &usize| counts[*g].iter().zip(&model.columns).any(|(n, at)| *at == s && *n > 0);
        let sum = |of: fn(&Group) -> u32| (0..counts.len()).filter(stands).map(|g| of(&model.groups[g])).sum::<u32>();
        assert!(sum(|g| g.slots) <= station.slots && sum(|g| g.places) <= station.places, "station {s}");
    }
    for (a, b) in &model.pairs {
        let at = |g: usize| counts[g].iter().zip(&model.columns).filter(|(n, _)| **n > 0).map(|(_, s)| *s);
        assert!(at(*a).max() <= at(*b).min() || at(*b).min().is_none(), "{a} behind {b}: {counts:?}");
    }
    counts.iter().map(|row| row.iter().map(|n| f64::from(*n)).collect()).collect()
}

/// Pairs hold through all splitting and exchanging.
#[test]
fn levelled_models_keep_pairs() {
    let mut rng = fastrand::Rng::with_seed(5);
    let mut split = 0;
    for _ in 0..200 {
        let mut model = random_model(&mut rng);
        // Some groups in a row, all pairs stated.
        let chain: Vec<usize> = (0..model.groups.len()).filter(|_| rng.u32(..3) > 0).collect();
        model.pairs = chain.iter().enumerate().flat_map(|(k, a)| chain[k + 1..].iter().map(|b| (*a, *b))).collect();
        let counts = level(&model, 3_000, &mut rng);
        checked(&model, &counts);
        split += counts.iter().filter(|row| row.iter().filter(|n| **n > 0).count() > 1).count();
    }
    assert!(split > 100, "{split} groups split");
}

/// The planner's own balance of W2 reaches both published values.
#[test]
fn w2_levelled() {
    for (slots, seconds) in [([3, 3, 6], 5.10), ([4, 4, 7], 5.04)] {
        let model = w2(slots);
        let counts = checked(&model, &level(&model, 20_000, &mut fastrand::Rng::with_seed(1)));
        assert!(slowest(&model, &counts) <= seconds * S * 1.005, "{slots:?}: {} for {seconds} s", slowest(&model, &counts) / S);
    }
}

/// The planner's balance with part types split, against the mixed-integer program of the library.
#[test]
fn levelled_models_against_the_program() {
    let mut rng = fastrand::Rng::with_seed(4);
    let mut gaps = Vec::new();
    while gaps.len() < 25 {
        let mut model = random_model(&mut rng);
        model.groups.truncate(6);
        model.time.truncate(6);
        let Some(best) = exact(&model, true, 20_000).filter(|b| b.proven) else { continue };
        let counts = level(&model, 20_000, &mut fastrand::Rng::with_seed(1));
        let placed: u32 = counts.iter().flatten().sum();
        let counts = checked(&model, &counts);
        if placed < model.groups.iter().map(|g| g.count).sum() {
            continue;
        }
        let found = slowest(&model, &counts);
        assert!(found >= best.slowest - 1.0, "{found} beats {}", best.slowest);
        gaps.push(100.0 * (found / best.slowest - 1.0));
    }
    gaps.sort_by(f64::total_cmp);
    println!("levelled, above the program's optimum: median {:.2} %, worst {:.2} %", gaps[gaps.len() / 2], gaps[gaps.len() - 1]);
    assert!(gaps[gaps.len() / 2] <= 0.5 && gaps[gaps.len() - 1] < 10.0, "{gaps:?}");
}

/// Head swaps count: one head that could do all is left out where its swap costs more than it spares.
#[test]
fn heads_whose_swap_does_not_pay_are_left_out() {
    let mut model = w2([80, 80, 80]);
    // A second head at the first station, a little faster at one group.
    model.columns = vec![0, 0, 1, 2];
    for (g, row) in model.time.iter_mut().enumerate() {
        row.insert(1, row[0].map(|t| if g == 0 { t * 0.9 } else { t }));
    }
    let used = |model: &Linear| {
        let counts = checked(model, &level(model, 20_000, &mut fastrand::Rng::with_seed(1)));
        [0, 1].iter().filter(|c| counts.iter().any(|row| row[**c] > 0.0)).count()
    };
    model.stations[0].swap = 2.0 * S;
    assert_eq!(used(&model), 1);
    model.stations[0].swap = 0.0;
    assert_eq!(used(&model), 2);
}

/// Work that one kind of head alone can do gathers where its swap is paid once.
#[test]
fn work_for_one_kind_of_head_gathers_at_one_station() {
    let group = |slots, count| Group { count, slots, places: 0, part: 0 };
    let small: Vec<Group> = (0..80).map(|k| group(1, 1 + k % 5)).collect();
    let large = (0..12).map(|_| group(3, 1));
    let groups: Vec<Group> = small.into_iter().chain(large).zip(0..).map(|(g, part)| Group { part, ..g }).collect();
    // At each station a head for small parts, and a slow one that takes all.
    let time = groups.iter().map(|g| [(g.slots == 1).then_some(0.4 * S), Some(0.9 * S)].repeat(3)).collect();
    let station = |slots| Machine { fixed: 4.0 * S, slots, places: 0, swap: 3.2 * S, alternate: true };
    let model = Linear { groups, columns: vec![0, 0, 1, 1, 2, 2], stations: [100, 100, 50].map(station).to_vec(), time, pairs: Vec::new() };
    let counts = checked(&model, &level(&model, 20_000, &mut fastrand::Rng::with_seed(1)));
    let used = |c: &usize| counts.iter().any(|row| row[*c] > 0.0);
    assert_eq!([1, 3, 5].iter().filter(|c| used(c)).count(), 1, "{counts:?}");
    // Every placement at its faster head and one swap, shared evenly.
    let work: f64 = model.groups.iter().map(|g| f64::from(g.count) * if g.slots == 1 { 0.4 * S } else { 0.9 * S }).sum();
    let even = 4.0 * S + (work + 3.2 * S) / 3.0;
    assert!(slowest(&model, &counts) <= even * 1.005, "{} for {even}", slowest(&model, &counts));
}

/// Where one station does everything at a fifth of the other's time, both are still loaded alike: a soft norm of the two would
/// spare the slow one.
#[test]
fn uneven_stations_are_loaded_alike() {
    let mut rng = fastrand::Rng::with_seed(7);
    let groups: Vec<Group> = (0..60).map(|part| Group { count: rng.u32(1..=20), slots: 1, places: 0, part }).collect();
    let each: Vec<f64> = groups.iter().map(|_| (200 + rng.u32(..400)) as f64 * 1_000.0).collect();
    let time = each.iter().map(|t| vec![Some(*t), Some(5.0 * t + rng.f64() * S)]).collect();
    let station = Machine { fixed: 4.0 * S, slots: 100, ..Machine::default() };
    let model = Linear { groups, columns: vec![0, 1], stations: vec![station; 2], time, pairs: Vec::new() };
    let least = relax(&model).expect("it can be done").slowest;
    let counts = checked(&model, &level(&model, 20_000, &mut fastrand::Rng::with_seed(1)));
    assert!(slowest(&model, &counts) <= least * 1.002, "{} for {least}", slowest(&model, &counts));
}

/// The relaxation once more, in counts and seconds, by an interior-point solver; `None` if it finds none.
fn relaxed_independently(model: &Linear) -> Option<f64> {
    let mut vars = variables!();
    let z = vars.add(variable().min(0.0));
    let count = |g: usize| variable().min(0.0).max(f64::from(model.groups[g].count));
    let x: Vec<Vec<_>> = (0..model.groups.len()).map(|g| model.time[g].iter().map(|t| t.map(|_| vars.add(count(g)))).collect()).collect();
    let mut lp = vars.minimise(z).using(clarabel);
    for (g, row) in x.iter().enumerate() {
        let all: Expression = row.iter().flatten().map(|v| Expression::from(*v)).sum();
        lp = lp.with(constraint!(all == f64::from(model.groups[g].count)));
    }
    for (s, station) in model.stations.iter().enumerate() {
        let (mut load, mut slots, mut places) = (Expression::from(station.fixed / S), Expression::from(0.0), Expression::from(0.0));
        for (g, group) in model.groups.iter().enumerate() {
            for (c, _) in model.columns.iter().enumerate().filter(|(_, at)| **at == s) {
                if let (Some(v), Some(t)) = (x[g][c], model.time[g][c]) {
                    load += t / S * v;
                    slots += f64::from(group.slots) / f64::from(group.count) * v;
                    places += f64::from(group.places) / f64::from(group.count) * v;
                }
            }
        }
        lp = lp
            .with(constraint!(load <= z))
            .with(constraint!(slots <= f64::from(station.slots)))
            .with(constraint!(places <= f64::from(station.places)));
    }
    lp.solve().ok().map(|solution| solution.value(z) * S)
}

/// Some groups, two to four stations with one to three heads each; slots and tray places are short now and then.
fn random_model(rng: &mut fastrand::Rng) -> Linear {
    let stations = rng.usize(2..=4);
    let columns: Vec<usize> = (0..stations).flat_map(|s| vec![s; rng.usize(1..=3)]).collect();
    let groups: Vec<Group> = (0..rng.u32(3..=20))
        .map(|part| {
            let tray = rng.u32(..6) == 0;
            Group { count: rng.u32(1..=60), slots: if tray { 0 } else { rng.u32(1..=4) }, places: u32::from(tray), part }
        })
        .collect();
    let machine = |rng: &mut fastrand::Rng| Machine {
        fixed: rng.f64() * 5.0 * S,
        slots: rng.u32(2..=24),
        places: rng.u32(0..=3),
        ..Machine::default()
    };
    let time = (0..groups.len()).map(|_| {
        let mut row: Vec<Option<f64>> = columns.iter().map(|_| (rng.u32(..4) > 0).then(|| (0.05 + rng.f64() * 0.6) * S)).collect();
        let sure = rng.usize(..row.len());
        row[sure].get_or_insert(0.3 * S);
        row
    });
    let time = time.collect();
    Linear { groups, columns, stations: (0..stations).map(|_| machine(rng)).collect(), time, ..Linear::default() }
}

#[test]
fn the_relaxation_against_an_interior_point_solver() {
    let mut rng = fastrand::Rng::with_seed(2);
    let (mut solved, mut impossible) = (0, 0);
    for k in 0..300 {
        let model = random_model(&mut rng);
        match (relax(&model).map(|r| r.slowest), relaxed_independently(&model)) {
            (None, None) => impossible += 1,
            // Relative accuracy of interior-point solutions: a millionth.
            (Some(a), Some(b)) => {
                assert!((a - b).abs() < 1e-6 * b + 1.0, "model {k}: {a} against {b} µs");
                solved += 1;
            }
            (a, b) => panic!("model {k}: {a:?} against {b:?}\n{model:?}"),
        }
    }
    println!("relaxation: {solved} of 300 random models solved alike, {impossible} found impossible by both");
    assert!(solved > 100 && impossible > 10, "{solved} solved, {impossible} impossible");
}

/// No spreading is better than the relaxation, none is better than the exact answer, and the exact one is a spreading.
#[test]
fn relaxation_exact_and_spreading_are_in_order() {
    let mut rng = fastrand::Rng::with_seed(3);
    let (mut tried, mut reached) = (0, 0);
    for _ in 0..60 {
        let mut model = random_model(&mut rng);
        model.groups.truncate(7);
        model.time.truncate(7);
        let Some(best) = exact(&model, false, 200_000) else { continue };
        assert!(best.proven, "small models are solved to the end");
        let relaxed = relax(&model).expect("a model with a solution has a relaxed one");
        assert!(relaxed.slowest <= best.slowest + 1.0, "{} then {}", relaxed.slowest, best.slowest);
        let columns = spread(&model, 20_000, &mut fastrand::Rng::with_seed(1));
        if columns.iter().all(Option::is_some) {
            let found = slowest(&model, &unsplit(&model, &columns));
            assert!(found >= best.slowest - 1.0, "{found} beats {}", best.slowest);
            tried += 1;
            reached += u32::from(found <= best.slowest + 1.0);
        }
    }
    println!("spreading reached the exact optimum of {reached} of {tried} small models");
    assert!(tried > 15 && reached * 10 >= tried * 9, "{reached} of {tried}");
}

/// An assignment of whole groups as counts.
fn unsplit(model: &Linear, columns: &[Option<usize>]) -> Vec<Vec<f64>> {
    let count = |g: usize, c: usize| if columns[g] == Some(c) { f64::from(model.groups[g].count) } else { 0.0 };
    (0..model.groups.len()).map(|g| (0..model.columns.len()).map(|c| count(g, c)).collect()).collect()
}

/// A matrix of processing times, machines by jobs, as a balance; one unit is a tenth of a second.
fn machines(times: &[Vec<f64>]) -> Linear {
    let jobs = times[0].len();
    Linear {
        groups: (0..jobs as u32).map(|part| Group { count: 1, slots: 1, places: 0, part }).collect(),
        columns: (0..times.len()).collect(),
        stations: vec![Machine { slots: jobs as u32, ..Machine::default() }; times.len()],
        time: (0..jobs).map(|j| times.iter().map(|row| Some(row[j] * UNIT)).collect()).collect(),
        ..Linear::default()
    }
}

const UNIT: f64 = 100_000.0;

/// Resource matrix of gap1-0; its best makespan is 26, proved.
const GAP1_0: [[u32; 15]; 5] = [
    [8, 15, 14, 23, 8, 16, 8, 25, 9, 17, 25, 15, 10, 8, 24],
    [15, 7, 23, 22, 11, 11, 12, 10, 17, 16, 7, 16, 10, 18, 22],
    [21, 20, 6, 22, 24, 10, 24, 9, 21, 14, 11, 14, 11, 19, 16],
    [20, 11, 8, 14, 9, 5, 6, 19, 19, 7, 6, 6, 13, 9, 18],
    [8, 13, 13, 13, 10, 20, 25, 16, 16, 17, 10, 10, 5, 12, 23],
];

#[test]
fn the_smallest_published_matrix() {
    let model = machines(&GAP1_0.map(|row| row.map(f64::from).to_vec()));
    let best = exact(&model, false, 1_000_000).expect("it can be done");
    assert!(best.proven && near(best.slowest, 26.0 * UNIT), "{}", best.slowest / UNIT);
    let columns = spread(&model, 200_000, &mut fastrand::Rng::with_seed(1));
    assert!(near(slowest(&model, &unsplit(&model, &columns)), 26.0 * UNIT));
    let relaxed = relax(&model).expect("it can be done").slowest;
    let independent = relaxed_independently(&model).expect("it can be done");
    assert!((relaxed - independent).abs() < 1e-6 * independent && relaxed <= best.slowest);
}

/// A published instance: name, best makespan, lower bound, matrix.
struct Instance {
    name: String,
    best: f64,
    bound: f64,
    times: Vec<Vec<f64>>,
}

/// The instances of the benchmark data, or nothing where it is not at hand.
fn instances() -> Option<Vec<Instance>> {
    let bench = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/bench/");
    let table = std::fs::read_to_string(format!("{bench}rcmax/gap_matrices_cmax.csv")).ok()?;
    let read = |row: &str| -> Option<Instance> {
        let fields: Vec<&str> = row.split(',').collect();
        let text = std::fs::read_to_string(format!("{bench}{}", fields[1])).ok()?;
        let numbers: Vec<f64> = text.split_whitespace().map(|n| n.parse().expect("a number")).collect();
        let (m, n) = (numbers[0] as usize, numbers[1] as usize);
        // m n, m rows of cost, m rows of resource, m capacities.
        let resource = &numbers[2 + m * n..2 + 2 * m * n];
        let number = |k: usize| fields[k].parse().expect("a number");
        Some(Instance {
            name: fields[0].to_owned(),
            best: number(4),
            bound: number(5),
            times: resource.chunks(n).map(<[f64]>::to_vec).collect(),
        })
    };
    let all: Vec<Instance> = table.lines().skip(1).filter_map(read).collect();
    (!all.is_empty()).then_some(all)
}

#[test]
fn published_matrices() {
    let Some(instances) = instances() else {
        println!("the benchmark data is not beside this clone: only the copied matrix is checked");
        return;
    };
    assert_eq!(instances.len(), 21);
    let mut gaps = Vec::new();
    for i in &instances {
        let model = machines(&i.times);
        let columns = spread(&model, 200_000, &mut fastrand::Rng::with_seed(1));
        let found = slowest(&model, &unsplit(&model, &columns)) / UNIT;
        assert!(found > i.bound - 1e-6, "{}: {found} is below the proven bound {}", i.name, i.bound);
        let relaxed = relax(&model).expect("it can be done").slowest;
        let independent = relaxed_independently(&model).expect("it can be done");
        assert!((relaxed - independent).abs() < 2e-6 * independent, "{}: {relaxed} against {independent} µs", i.name);
        assert!(relaxed <= i.best * UNIT + 1.0, "{}: the relaxation is above the best makespan", i.name);
        let gap = found / i.best - 1.0;
        println!("{}: {found} against {} ({:.1} %), relaxed {:.2}", i.name, i.best, gap * 100.0, relaxed / UNIT);
        gaps.push(gap);
    }
    gaps.sort_by(f64::total_cmp);
    println!("spreading: median gap {:.2} %, worst {:.2} %", gaps[10] * 100.0, gaps[20] * 100.0);
    assert!(gaps[10] <= 0.03, "median gap {:.2} %", gaps[10] * 100.0);
}

#[test]
fn exact_on_the_small_published_matrices() {
    let Some(instances) = instances() else {
        println!("the benchmark data is not beside this clone: only the copied matrix is checked");
        return;
    };
    for i in instances.iter().filter(|i| i.times[0].len() <= 20) {
        let best = exact(&machines(&i.times), false, 1_000_000).expect("it can be done");
        assert!(best.proven && near(best.slowest, i.best * UNIT), "{}: {} against {}", i.name, best.slowest / UNIT, i.best);
    }
}

/// Two groups of one part (an order rule keeps them apart) share one feeder: one slot is enough for both.
#[test]
fn groups_of_one_part_share_a_supply() {
    let group = |part| Group { count: 2, slots: 1, places: 0, part };
    let station = Machine { fixed: 1000.0, slots: 1, ..Machine::default() };
    let mut model = Linear {
        groups: vec![group(7), group(7)],
        columns: vec![0],
        stations: vec![station],
        time: vec![vec![Some(100.0)]; 2],
        ..Linear::default()
    };
    for found in [relax(&model), exact(&model, false, 1000), exact(&model, true, 1000)] {
        assert!(near(found.expect("one slot is enough").slowest, 1400.0));
    }
    assert!(spread(&model, 100, &mut fastrand::Rng::with_seed(1)).iter().all(Option::is_some));
    model.groups[1].part = 8;
    assert!(exact(&model, false, 1000).is_none(), "two parts need two slots");
}
