//! What a beam of two holds the board for [ns]: `docs/planning.md` §3.2.

use super::figures::{Case, HeadFigures, NEVER, Prices, last_mark};
use domain::job::TaskId;
use units::{Point, Time};

/// The time that a beam holds the board, as [`HeadFigures`] is that of the beam itself.
#[derive(Clone, Debug)]
pub(super) struct Board {
    /// Row of the board.
    pub row: usize,
    /// Placing, and the way from pad to pad.
    pub base: Vec<i64>,
    /// What more the way in costs; only for several spindles.
    pub first: Vec<i64>,
    /// The way out; only for several spindles.
    pub last: Vec<i64>,
    /// From the last mark to the first pocket.
    pub enter: i64,
    /// What the end of the panel spares.
    pub end: i64,
    /// One change of nozzle with the way round by the rack; [`NEVER`] without a rack.
    pub change: i64,
}

impl Board {
    pub fn new(case: &Case<'_>, row: usize, items: usize, mine: &[(usize, TaskId)]) -> Self {
        let ins: Vec<Time> = mine.iter().map(|(_, t)| case.landing(*t)).collect();
        let outs: Vec<Time> = mine.iter().map(|(_, t)| back(case, case.at(*t))).collect();
        let place = case.strokes().1;
        let mut board = Self {
            row,
            base: vec![NEVER; items],
            first: Vec::new(),
            last: Vec::new(),
            enter: 1000 * if case.begins_at_mark() { back(case, last_mark(case.job)).0 } else { 0 },
            end: 0,
            change: change(case, mine).map_or(NEVER, |t| 1000 * t.0),
        };
        if case.spindles == 1 {
            for ((i, _), (way_in, way_out)) in mine.iter().zip(ins.iter().zip(&outs)) {
                board.base[*i] = 1000 * (place + *way_in + *way_out).0;
            }
            board.end = -1000 * outs.iter().map(|t| t.0).max().unwrap_or(0);
            return board;
        }
        (board.first, board.last) = (vec![NEVER; items], vec![NEVER; items]);
        let between = case.between(mine, &ins);
        for (((i, _), between), (way_in, way_out)) in mine.iter().zip(between).zip(ins.iter().zip(&outs)) {
            board.base[*i] = 1000 * (place + between).0;
            board.first[*i] = 1000 * (*way_in - between).0;
            board.last[*i] = 1000 * way_out.0;
        }
        board
    }
}

/// From a pad or the rack to a pocket, as far as the beam must hold the board for it: it may have gone to its
/// camera without, for a trip of no parts.
fn back(case: &Case<'_>, from: Point) -> Time {
    let straight = case.enter(from);
    case.camera.map_or(straight, |c| straight.min(case.enter(c)))
}

fn change(case: &Case<'_>, mine: &[(usize, TaskId)]) -> Option<Time> {
    let rack = case.station.nozzle_rack.as_ref()?;
    let from = mine.iter().map(|(_, t)| case.at(*t)).chain([last_mark(case.job)]).chain(case.camera);
    let round = from.map(|a| case.clock.travel(a, rack.at.point(), 100) - back(case, a)).min()?;
    Some(*rack.change + back(case, rack.at.point()) + round)
}

impl HeadFigures {
    /// Time of an item under these prices in the head's row and in that of the board [ns]: the least of their
    /// weighted sum.
    pub fn shares(&self, board: &Board, item: usize, prices: &Prices, weights: &[u64]) -> (i64, i64) {
        let (mut own, mut held) = (self.base[item], board.base[item]);
        if self.spindles == 1 {
            return (own, held);
        }
        let (w, v) = (weights[self.row] as i64, weights[board.row] as i64);
        let roles = [(self.first[item], board.first[item], prices.first), (self.last[item], board.last[item], prices.last)];
        for (a, b, price) in roles {
            if w * (a - price) + v * (b - price) < 0 {
                own += a - price;
                held += b - price;
            }
        }
        (own + prices.seat, held + prices.seat)
    }

    /// Weighted time of an item, of which `alone` [ns] is that at a head without a board.
    pub fn weighted(&self, item: usize, alone: i64, prices: &Prices, weights: &[u64]) -> i64 {
        let w = weights[self.row] as i64;
        let Some(board) = &self.board else { return w * alone };
        let (own, held) = self.shares(board, item, prices, weights);
        w * own + weights[board.row] as i64 * held
    }

    /// The rows it takes time of.
    pub fn rows(&self) -> impl Iterator<Item = usize> {
        std::iter::once(self.row).chain(self.board.as_ref().map(|b| b.row))
    }

    /// The weights of its rows together.
    pub fn weight(&self, weights: &[u64]) -> i64 {
        self.rows().map(|r| weights[r] as i64).sum()
    }

    /// What first and last placements cost more, over the rows as they weigh [ns].
    pub fn roles(&self, weights: &[u64]) -> (Vec<i64>, Vec<i64>) {
        let Some(board) = &self.board else { return (self.first.clone(), self.last.clone()) };
        let (w, v) = (i128::from(weights[self.row]), i128::from(weights[board.row]));
        let mean =
            |(a, b): (&i64, &i64)| if *a == NEVER { NEVER } else { ((w * i128::from(*a) + v * i128::from(*b)) / (w + v).max(1)) as i64 };
        (self.first.iter().zip(&board.first).map(mean).collect(), self.last.iter().zip(&board.last).map(mean).collect())
    }

    /// Whether its seat price follows the weights of its rows, where no leaf limits its trips.
    pub fn has_even_seat(&self) -> bool {
        self.board.is_some() && self.spindles > 1
    }

    /// The seat price that spreads all of a trip over its seats, so that their number does not matter [ns].
    pub fn even_seat(&self, prices: &Prices, weights: &[u64]) -> i64 {
        let weight = i128::from(self.weight(weights)).max(1);
        let trip = i128::from(weights[self.row]) * i128::from(self.per_trip) + weight * i128::from(prices.first + prices.last);
        (trip.div_euclid(weight * i128::from(self.spindles)) as i64).max(0)
    }
}
