//! The order inside a trip, `tour::best_order`, against exhaustive search and published optima.
//!
//! Instances and values: TSPLIB (G. Reinelt, ORSA Journal on Computing 3, 1991): br17 (asymmetric, 39),
//! ESC07, ESC11 and ESC12 (sequential ordering, 2125, 2075, 1675; lists after Gambardella and others 2012 and
//! Gouveia and Ruthmair 2015; 2075 was proved with an independent solver, see the benchmark set's README),
//! and the first twelve points of eil51. The matrices are copied here.

use optimise::tour::best_order;

/// Cost matrix of a sequential ordering instance; −1 at (i, j): j must precede i.
type Matrix<'m> = &'m [&'m [i64]];

#[rustfmt::skip]
const BR17: [[i64; 17]; 17] = [
    [9999, 3, 5, 48, 48, 8, 8, 5, 5, 3, 3, 0, 3, 5, 8, 8, 5],
    [3, 9999, 3, 48, 48, 8, 8, 5, 5, 0, 0, 3, 0, 3, 8, 8, 5],
    [5, 3, 9999, 72, 72, 48, 48, 24, 24, 3, 3, 5, 3, 0, 48, 48, 24],
    [48, 48, 74, 9999, 0, 6, 6, 12, 12, 48, 48, 48, 48, 74, 6, 6, 12],
    [48, 48, 74, 0, 9999, 6, 6, 12, 12, 48, 48, 48, 48, 74, 6, 6, 12],
    [8, 8, 50, 6, 6, 9999, 0, 8, 8, 8, 8, 8, 8, 50, 0, 0, 8],
    [8, 8, 50, 6, 6, 0, 9999, 8, 8, 8, 8, 8, 8, 50, 0, 0, 8],
    [5, 5, 26, 12, 12, 8, 8, 9999, 0, 5, 5, 5, 5, 26, 8, 8, 0],
    [5, 5, 26, 12, 12, 8, 8, 0, 9999, 5, 5, 5, 5, 26, 8, 8, 0],
    [3, 0, 3, 48, 48, 8, 8, 5, 5, 9999, 0, 3, 0, 3, 8, 8, 5],
    [3, 0, 3, 48, 48, 8, 8, 5, 5, 0, 9999, 3, 0, 3, 8, 8, 5],
    [0, 3, 5, 48, 48, 8, 8, 5, 5, 3, 3, 9999, 3, 5, 8, 8, 5],
    [3, 0, 3, 48, 48, 8, 8, 5, 5, 0, 0, 3, 9999, 3, 8, 8, 5],
    [5, 3, 0, 72, 72, 48, 48, 24, 24, 3, 3, 5, 3, 9999, 48, 48, 24],
    [8, 8, 50, 6, 6, 0, 0, 8, 8, 8, 8, 8, 8, 50, 9999, 0, 8],
    [8, 8, 50, 6, 6, 0, 0, 8, 8, 8, 8, 8, 8, 50, 0, 9999, 8],
    [5, 5, 26, 12, 12, 8, 8, 0, 0, 5, 5, 5, 5, 26, 8, 8, 9999],
];

#[rustfmt::skip]
const ESC07: [&[i64]; 9] = [
    &[0, 0, 0, 0, 0, 0, 0, 0, 1_000_000],
    &[-1, 0, 100, 200, 75, 0, 300, 100, 0],
    &[-1, 400, 0, 500, 325, 400, 600, 0, 0],
    &[-1, 700, 800, 0, 550, 700, 900, 800, 0],
    &[-1, -1, 250, 225, 0, 275, 525, 250, 0],
    &[-1, -1, 100, 200, -1, 0, -1, -1, 0],
    &[-1, -1, 1100, 1200, 1075, 1000, 0, 1100, 0],
    &[-1, -1, 0, 500, 325, 400, 600, 0, 0],
    &[-1, -1, -1, -1, -1, -1, -1, -1, 0],
];

#[rustfmt::skip]
const ESC11: [&[i64]; 13] = [
    &[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1_000_000],
    &[-1, 0, 387, 440, 682, 657, 584, 688, 708, 362, 357, 927, 0],
    &[-1, -1, 0, 10, 935, 439, 127, 769, 498, 836, 341, 956, 0],
    &[-1, -1, -1, 0, 596, 865, 70, 513, 512, 373, 824, 220, 0],
    &[-1, 319, 277, 439, 0, 428, 212, 412, 771, 620, 651, 605, 0],
    &[-1, -1, -1, 60, 988, 0, 326, 279, 687, 295, 738, 270, 0],
    &[-1, 312, 158, 704, 881, 696, 0, 277, 413, 396, 268, 156, 0],
    &[-1, 512, 939, 784, 271, 432, 771, 0, 279, 436, 31, 444, 0],
    &[-1, 875, 927, 364, 629, 419, 788, 923, 0, 858, 761, 139, 0],
    &[-1, 365, 43, 766, 924, 845, 437, 395, 991, 0, 980, 359, 0],
    &[-1, 978, 839, 918, 822, 885, 276, 96, 537, 211, 0, 608, 0],
    &[-1, 864, 168, 211, 455, 543, 904, 412, 535, 954, 971, 0, 0],
    &[-1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, 0],
];

#[rustfmt::skip]
const ESC12: [&[i64]; 14] = [
    &[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1_000_000],
    &[-1, 0, 364, 354, 287, 229, 289, 68, 137, 239, 135, 373, 162, 0],
    &[-1, 364, 0, 276, 352, 143, 88, 395, 222, 457, 332, 202, 217, 0],
    &[-1, 354, 276, 0, 527, 135, 201, 412, 391, 583, 481, 279, 207, 0],
    &[-1, 287, 352, 527, 0, 377, 407, 285, 138, 310, 200, 525, 325, 0],
    &[-1, 229, 143, 135, 377, 0, 68, 287, 241, 458, 356, 144, 82, 0],
    &[-1, -1, -1, -1, -1, 68, 0, 347, 277, 512, 387, 132, 142, 0],
    &[-1, 68, 395, 412, 285, 287, 347, 0, 167, 179, 120, 431, 220, 0],
    &[-1, 137, 222, 391, 138, 241, 277, 167, 0, 229, 104, 395, 187, 0],
    &[-1, 239, 457, 583, 310, 458, 512, 179, 229, 0, 121, 630, 391, 0],
    &[-1, 135, 332, 481, 200, 356, 387, 120, 104, 121, 0, 505, 289, 0],
    &[-1, 373, 202, 279, 525, 144, 132, 431, 395, 630, 505, 0, 226, 0],
    &[-1, -1, -1, -1, -1, 82, -1, -1, -1, 391, 289, 226, 0, 0],
    &[-1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, 0],
];

/// The first twelve points of eil51.
const EIL12: [(i64, i64); 12] =
    [(37, 52), (49, 49), (52, 64), (20, 26), (40, 30), (21, 47), (17, 63), (31, 62), (52, 33), (51, 21), (42, 41), (31, 32)];

/// A closed tour from node 0 through all others: order of the others, cost.
fn closed_tour(n: usize, cost: impl Fn(usize, usize) -> i64) -> (Vec<usize>, i64) {
    best_order(n - 1, |j, _| Some(cost(0, j + 1)), |i, j, _| Some(cost(i + 1, j + 1)), |j| cost(j + 1, 0)).expect("everything is allowed")
}

#[test]
fn br17_takes_39() {
    let (order, cost) = closed_tour(17, |i, j| BR17[i][j]);
    assert_eq!(cost, 39);
    let nodes: Vec<usize> = std::iter::once(0).chain(order.iter().map(|j| j + 1)).collect();
    let walked: i64 = (0..17).map(|k| BR17[nodes[k]][nodes[(k + 1) % 17]]).sum();
    assert_eq!(walked, 39, "the order costs what it says");
}

/// Open path from the first to the last node that keeps every precedence.
fn sequential_ordering(m: Matrix<'_>) -> (Vec<usize>, i64) {
    let last = m.len() - 1;
    // Stop k is node k + 1; bit k of `before` says that it must come first.
    let before = |j: usize| (0..last - 1).filter(|i| m[j + 1][i + 1] == -1).fold(0u32, |set, i| set | 1 << i);
    let free = |j: usize, left: u32| before(j) & left == 0;
    best_order(
        last - 1,
        |j, left| free(j, left).then(|| m[0][j + 1]),
        |i, j, left| free(j, left).then(|| m[i + 1][j + 1]),
        |j| m[j + 1][last],
    )
    .expect("the published instances can be ordered")
}

#[test]
fn sequential_ordering_reaches_the_published_optima() {
    for (name, m, best) in [("ESC07", &ESC07[..], 2125), ("ESC11", &ESC11[..], 2075), ("ESC12", &ESC12[..], 1675)] {
        let (order, cost) = sequential_ordering(m);
        assert_eq!(cost, best, "{name}");
        let nodes: Vec<usize> = std::iter::once(0).chain(order.iter().map(|j| j + 1)).chain([m.len() - 1]).collect();
        assert_eq!(nodes.windows(2).map(|w| m[w[0]][w[1]]).sum::<i64>(), best, "{name}: the order costs what it says");
        for (k, i) in nodes.iter().enumerate() {
            assert!(nodes[k + 1..].iter().all(|j| m[*i][*j] != -1), "{name}: node {i} before one that must precede it");
        }
    }
}

/// Cheapest closed tour by trying all orders, leaving a branch as soon as it costs too much.
fn by_branching(n: usize, cost: &impl Fn(usize, usize) -> i64, path: &mut Vec<usize>, so_far: i64, best: &mut i64) {
    let here = path[path.len() - 1];
    if path.len() == n {
        *best = (*best).min(so_far + cost(here, 0));
        return;
    }
    for j in 1..n {
        if !path.contains(&j) && so_far + cost(here, j) < *best {
            path.push(j);
            by_branching(n, cost, path, so_far + cost(here, j), best);
            path.pop();
        }
    }
}

#[test]
fn twelve_points_of_eil51() {
    // EUC_2D: rounded to the nearest integer.
    let distance = |i: usize, j: usize| {
        let (a, b) = (EIL12[i], EIL12[j]);
        (((a.0 - b.0).pow(2) + (a.1 - b.1).pow(2)) as f64).sqrt().round() as i64
    };
    let mut best = i64::MAX;
    by_branching(12, &distance, &mut vec![0], 0, &mut best);
    assert_eq!(closed_tour(12, distance).1, best);
}

/// A random instance: asymmetric costs, some steps forbidden, costs that depend on what is left.
struct Random {
    first: Vec<Option<i64>>,
    step: Vec<Vec<Option<i64>>>,
    last: Vec<i64>,
    weight: Vec<i64>,
}

impl Random {
    fn new(n: usize, rng: &mut fastrand::Rng) -> Self {
        let forbidden = [0.0, 0.2, 0.5][rng.usize(..3)];
        let cost = |rng: &mut fastrand::Rng| (rng.f64() >= forbidden).then(|| rng.i64(0..100));
        Self {
            first: (0..n).map(|_| cost(rng)).collect(),
            step: (0..n).map(|_| (0..n).map(|_| cost(rng)).collect()).collect(),
            last: (0..n).map(|_| rng.i64(0..100)).collect(),
            weight: (0..n).map(|_| rng.i64(0..20)).collect(),
        }
    }

    /// As the most delicate part on the head: the heaviest stop left makes the step dearer.
    fn load(&self, left: u32) -> i64 {
        (0..self.weight.len()).filter(|k| left >> k & 1 == 1).map(|k| self.weight[k]).max().unwrap_or(0)
    }

    fn cost_first(&self, j: usize, left: u32) -> Option<i64> {
        self.first[j].map(|c| c + self.load(left))
    }

    fn cost_step(&self, i: usize, j: usize, left: u32) -> Option<i64> {
        self.step[i][j].map(|c| c + self.load(left))
    }

    /// Cost of an order, `None` if it uses a forbidden step.
    fn cost(&self, order: &[usize]) -> Option<i64> {
        let mut left = (1u32 << order.len()) - 1;
        let mut total = self.cost_first(order[0], left)?;
        for w in order.windows(2) {
            left &= !(1 << w[0]);
            total += self.cost_step(w[0], w[1], left)?;
        }
        Some(total + self.last[order[order.len() - 1]])
    }

    fn best(&self, order: &mut Vec<usize>) -> Option<i64> {
        let n = self.last.len();
        if order.len() == n {
            return self.cost(order);
        }
        let mut best: Option<i64> = None;
        for j in 0..n {
            if !order.contains(&j) {
                order.push(j);
                best = [best, self.best(order)].into_iter().flatten().min();
                order.pop();
            }
        }
        best
    }
}

#[test]
fn random_orders_against_trying_all() {
    let mut rng = fastrand::Rng::with_seed(39);
    let mut impossible = 0;
    for n in 1..=7 {
        for _ in 0..if n == 7 { 20 } else { 60 } {
            let r = Random::new(n, &mut rng);
            let found = best_order(n, |j, left| r.cost_first(j, left), |i, j, left| r.cost_step(i, j, left), |j| r.last[j]);
            let best = r.best(&mut Vec::new());
            assert_eq!(found.as_ref().map(|f| f.1), best);
            match found {
                None => impossible += 1,
                Some((order, cost)) => assert_eq!(r.cost(&order), Some(cost), "the order costs what it says"),
            }
        }
    }
    assert!(impossible > 0, "some instances must have no allowed order");
}
