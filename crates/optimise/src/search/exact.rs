//! After any moves the pieces add up to exactly what the full clock says, and every pair still holds.
//!
//! And ways alone judge moves as their timing does. On random lines with everything that ties trips together, and an order of the
//! engineer.

use super::across::{Across, Beside};
use super::groups::anneal_in_groups;
use super::journal::{ALL, PLACES};
use super::screen::Other;
use super::{At, Heat, Search};
use crate::bound::Costs;
use crate::problem::Problem;
use crate::random_lines::{product, sheet, stations};
use crate::start::{Estimate, start};
use crate::station::StationState;
use crate::station::construct::Stock;
use crate::station::export::export;
use domain::job::{Job, Panel};
use domain::part::{Sourced, SpeedPercent, Supply};
use domain::plan::Work;
use domain::product::Side;
use domain::rules::Rules;
use units::{Text, Time};

/// Every pair holds as the stations of the line would work one after the other, in both directions where panels alternate.
fn pairs_hold(p: &Problem<'_>, stations: &[StationState]) {
    let mut done = vec![false; p.job.tasks.len()];
    let mut dotted = vec![false; p.job.tasks.len()];
    for state in stations {
        let plan = export(p, state);
        let passes: Vec<_> = plan.passes.iter().collect();
        let mut orders = vec![passes.clone()];
        if plan.alternating {
            orders.push(passes.into_iter().rev().collect());
        }
        // What stations before have done is done in whatever order this one works.
        let (done_before, dotted_before) = (done.clone(), dotted.clone());
        for order in orders {
            (done, dotted) = (done_before.clone(), dotted_before.clone());
            for pass in order {
                match &pass.work {
                    Work::Place { trips, .. } => {
                        for step in trips.iter().flat_map(|t| &t.places) {
                            assert!(p.order.before(step.task).iter().all(|b| done[b.index()]), "a pair is broken");
                            assert!(!p.order.dots.contains_key(&step.task) || dotted[step.task.index()], "dots come after their part");
                            done[step.task.index()] = true;
                        }
                    }
                    Work::Dispense { tasks } => tasks.iter().for_each(|t| dotted[t.index()] = true),
                    _ => {}
                }
            }
        }
    }
}

#[test]
fn the_pieces_add_up_to_the_clock() {
    let mut rng = fastrand::Rng::with_seed(640);
    let (mut moved, mut alternating, mut walked) = (0, 0, 0);
    for case in 0..120 {
        let (line, product) = (sheet(&mut rng), product(&mut rng));
        let job = Job::new(&product, Side::Top, Panel::SINGLE).expect("a job");
        let order =
            ["", "[[order]]\nfirst = [\"C*\"]\nthen = [\"P*\"]\n", "[[order]]\nfirst = [\"U*\"]\nthen = [\"C*\"]\n"][rng.usize(..3)];
        let rules = Rules::parse("rules.toml", order).expect("rules");
        let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
        let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
        let ones = vec![1.0; p.cap.modes.len()];
        let begun = start(&p, &Estimate::new(&p, &costs, &ones), 200, &mut rng);
        // Without a rack the single head may hold too few nozzles; the rest is still a program.
        assert!(begun.unplaced.iter().all(|u| u.code == "plan.no-nozzle"), "case {case}: {:#?}", begun.unplaced);
        let state = begun.stations.into_iter().next().expect("one station");
        pairs_hold(&p, std::slice::from_ref(&state));
        let mut search = Search::new(&p, state, case).with_stock(&p.feeder_stock());
        alternating += usize::from(search.state().alternating);
        for k in 0..400 {
            moved += usize::from(search.wander());
            if k % 4 == 0 {
                assert_eq!(search.time(), export(&p, search.state()).time_us, "case {case}, after {k} moves: {:?}", search.sums);
            }
            walked += usize::from(search.sums.is_walked());
        }
        // Moves that are taken back leave no trace.
        search.anneal(2_000, Heat { from: 30_000.0, to: 10.0 });
        assert_eq!(search.time(), export(&p, search.state()).time_us, "case {case}, annealed");
        pairs_hold(&p, std::slice::from_ref(search.state()));
        let ended = search.finish(6);
        assert_eq!(ended.time, export(&p, &ended).time_us, "case {case}, finished");
    }
    assert!(moved > 10_000 && alternating >= 4 && walked > 1_000, "{moved} moves, {alternating} alternating lines, {walked} walks");
}

#[test]
fn work_that_changes_hands_is_timed_and_counted() {
    let mut rng = fastrand::Rng::with_seed(641);
    let (mut handed, mut added) = (0, 0);
    for case in 0..60 {
        let (line, product) = (stations(&["gauge-2"], &mut rng), product(&mut rng));
        let job = Job::new(&product, Side::Top, Panel::SINGLE).expect("a job");
        let order = ["", "[[order]]\nfirst = [\"C*\"]\nthen = [\"P*\"]\n"][rng.usize(..2)];
        let rules = Rules::parse("rules.toml", order).expect("rules");
        let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
        let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
        let ones = vec![1.0; p.cap.modes.len()];
        let begun = start(&p, &Estimate::new(&p, &costs, &ones), 200, &mut rng);
        let work = |all: &[StationState]| -> Vec<Vec<_>> { all.iter().map(|s| sorted(s.tasks().map(|t| t.1))).collect() };
        let feeders = |all: &[StationState]| -> usize { all.iter().map(|s| s.setup.supplies.len()).sum() };
        let (before, had) = (work(&begun.stations), feeders(&begun.stations));
        let mut stock = Stock::full(&p);
        begun.stations.iter().for_each(|s| stock.take(p.line, s));
        let beside = Beside { feeders: stock.feeders, slowest: 0 };
        let mut across = Across::new(&p, begun.stations, beside, case);
        across.anneal(3_000, Heat { from: 200_000.0, to: 2_000.0 });
        across.check(&p);
        let ended = across.finish(6);
        let after = work(&ended);
        assert_eq!(sorted(before.concat().into_iter()), sorted(after.concat().into_iter()), "case {case}: no task is lost or done twice");
        for s in &ended {
            assert_eq!(s.time, export(&p, s).time_us, "case {case}");
        }
        pairs_hold(&p, &ended);
        handed += usize::from(before != after);
        added += usize::from(feeders(&ended) != had);
    }
    assert!(handed > 30 && added > 10, "{handed} of 60 lines handed work over, {added} with other feeders");
}

#[test]
fn where_feeders_are_spared_work_brings_none_to_a_slower_station() {
    let mut rng = fastrand::Rng::with_seed(644);
    let (mut refused, mut added) = (0, 0);
    for case in 0..60 {
        let (line, product) = (stations(&["gauge-2"], &mut rng), product(&mut rng));
        let (job, rules) = (Job::new(&product, Side::Top, Panel::SINGLE).expect("a job"), Rules::default());
        let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
        let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
        let begun = start(&p, &Estimate::new(&p, &costs, &vec![1.0; p.cap.modes.len()]), 200, &mut rng);
        let mut stock = Stock::full(&p);
        begun.stations.iter().for_each(|s| stock.take(p.line, s));
        let mut across = Across::new(&p, begun.stations, Beside { feeders: stock.feeders, slowest: 0 }, case);
        across.spares_feeders = true;
        let time = |across: &Across<'_>, k: usize| across.searches[k].time().0;
        let parts = |across: &Across<'_>, k: usize| -> Vec<_> { sorted(across.searches[k].state().setup.supplies.iter().map(|s| s.part)) };
        let fast = usize::from(time(&across, 1) < time(&across, 0));
        let slow = 1 - fast;
        let had = parts(&across, slow);
        for _ in 0..200 {
            let uneven = time(&across, slow) - time(&across, fast) > time(&across, slow) / 100;
            assert_eq!(across.may_add_feeders(slow, fast), uneven, "case {case}");
            // The faster station gives, whatever that costs: the slower one gets nothing new.
            across.hand_over(fast, 1e12);
            if time(&across, fast) > time(&across, slow) || across.searches[fast].tasks.is_empty() {
                break;
            }
            assert_eq!(parts(&across, slow), had, "case {case}: feeders for work of the faster station");
            refused += usize::from(!across.may_add_feeders(fast, slow));
        }
        let before = parts(&across, fast);
        for _ in 0..200 {
            if !across.searches[slow].tasks.is_empty() {
                across.hand_over(slow, 1e12);
            }
        }
        added += usize::from(parts(&across, fast) != before);
        across.check(&p);
    }
    assert!(refused > 1_000 && added > 10, "{refused} times nothing new for the slower, {added} of 60 faster stations with new feeders");
}

#[test]
fn groups_of_stations_do_not_depend_on_threads() {
    let mut rng = fastrand::Rng::with_seed(643);
    let mut moved = 0;
    for case in 0..12 {
        let (line, product) = (stations(&["gauge-2", "gauge-3", "gauge-4"], &mut rng), product(&mut rng));
        let job = Job::new(&product, Side::Top, Panel::SINGLE).expect("a job");
        let rules = Rules::default();
        let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
        let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
        let begun = start(&p, &Estimate::new(&p, &costs, &vec![1.0; p.cap.modes.len()]), 200, &mut rng);
        let ended = |threads| {
            let heat = Heat { from: 200_000.0, to: 2_000.0 };
            let stations = anneal_in_groups(&p, begun.stations.clone(), 2, 4_000, heat, case, threads);
            stations.iter().map(|s| export(&p, s)).collect::<Vec<_>>()
        };
        let one = ended(1);
        assert_eq!(one, ended(2), "case {case}");
        assert_eq!(one, ended(3), "case {case}");
        let names = |all: &[domain::plan::StationPlan]| all.iter().map(|s| s.station.clone()).collect::<Vec<_>>();
        let before: Vec<_> = begun.stations.iter().map(|s| export(&p, s)).collect();
        assert_eq!(names(&one), names(&before), "case {case}: stations keep their places");
        moved += usize::from(one != before);
    }
    assert!(moved > 8, "{moved} of 12 lines changed");
}

#[test]
fn ways_alone_judge_a_move_like_its_timing() {
    let mut rng = fastrand::Rng::with_seed(642);
    let mut judged = [0; 7];
    for case in 0..120 {
        let (mut line, mut product) = (sheet(&mut rng), product(&mut rng));
        // Ways by the rack are not judged; feeders are sooner ready than any head can pick again.
        line.station[0].nozzle_rack = None;
        line.feeder.iter_mut().for_each(|f| f.advance = Text(Time::from_us(rng.i64(10_000..30_000))));
        for part in &mut product.parts {
            part.speed = Sourced::engineer(SpeedPercent([100, 60, 100, 85][rng.usize(..4)]));
            part.supply = Sourced::engineer(Supply::Tape);
        }
        let job = Job::new(&product, Side::Top, Panel::SINGLE).expect("a job");
        let rules = Rules::default();
        let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
        let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
        let begun = start(&p, &Estimate::new(&p, &costs, &vec![1.0; p.cap.modes.len()]), 200, &mut rng);
        let mut search = Search::new(&p, begun.stations.into_iter().next().expect("one station"), case);
        for k in 0..3_000 {
            if k % 8 == 0 {
                search.wander();
            }
            let (a, b) = (search.draw(&mut rng), search.draw(&mut rng));
            if !search.stands_alone(a) {
                continue;
            }
            let n = search.trip(a).order.len();
            let (i, j) = (rng.usize(..n), rng.usize(..n));
            let (i, j) = (i.min(j), i.max(j));
            let turned: Vec<u8> = search.trip(a).order[i..=j].iter().rev().copied().collect();
            judged[0] += usize::from(search.judges_like_timing(
                |s| s.may_reorder(a, i, turned.iter().copied()),
                |s| {
                    s.open(a.pass, a.trip, PLACES).order[i..=j].reverse();
                    s.settle(a.pass, a.trip);
                },
            ));
            let mut picks = search.trip(a).picks.clone();
            picks[i..=j].rotate_left(1);
            judged[1] += usize::from(
                search.judges_like_timing(|s| s.may_pick(a, &picks), |s| s.open(a.pass, a.trip, ALL).picks.copy_from_slice(&picks)),
            );
            let other = rng.usize(..search.trip(a).cells.len()) as u8;
            let theirs = search.cell(At { spindle: other, ..a });
            if other != a.spindle
                && search.may(search.cell(a).task, At { spindle: other, ..a })
                && (!theirs.busy() || search.may(theirs.task, a))
            {
                judged[2] += usize::from(search.judges_like_timing(|s| s.may_swap_spindles(a, other), |s| s.rename(a, other)));
            }
            let beside = [Some(a.trip), search.before(a.pass, a.trip), search.after(a.pass, a.trip)];
            let apart = search.stands_alone(b) && (a.pass != b.pass || !beside.contains(&Some(b.trip)));
            let on = |at: At, spindle: u8| At { spindle, ..at };
            let order = &search.trip(a).order;
            let turned = search.taken((0..n).map(|k| (on(a, order[k]), on(a, order[(k + 1) % n]))));
            judged[3] += usize::from(search.judges_other_work(&[turned]));
            if apart {
                let kind = if search.cell(a).supply == search.cell(b).supply { 4 } else { 5 };
                let exchanged = [search.taken([(a, b)]), search.taken([(b, a)])];
                judged[kind] += usize::from(search.judges_other_work(&exchanged));
                let spindles = search.trip(a).cells.len().min(search.trip(b).cells.len()) as u8;
                let both = |s: &u8| search.cell(on(a, *s)).busy() && search.cell(on(b, *s)).busy();
                let tail: Vec<(At, At)> = (a.spindle..spindles).filter(both).map(|s| (on(a, s), on(b, s))).collect();
                if !tail.is_empty() {
                    let tails = [search.taken(tail.iter().copied()), search.taken(tail.iter().map(|(a, b)| (*b, *a)))];
                    judged[6] += usize::from(search.judges_other_work(&tails));
                }
            }
        }
    }
    assert!(judged.iter().all(|n| *n > 300), "placing, picking, spindles, turns, exchanges at one feeder, at two, tails: {judged:?}");
}

fn sorted<T: Ord>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut all: Vec<T> = all.collect();
    all.sort_unstable();
    all
}

impl Search<'_> {
    fn draw(&self, rng: &mut fastrand::Rng) -> At {
        self.at[self.tasks[rng.usize(..self.tasks.len())].index()]
    }

    /// Whether a trip of a drum or a single spindle lies between two others.
    fn stands_alone(&self, at: At) -> bool {
        !self.is_inline(at.pass) && self.before(at.pass, at.trip).is_some() && self.after(at.pass, at.trip).is_some()
    }

    /// Other work for a trip: each spindle does what another one does now.
    fn taken(&self, spindles: impl IntoIterator<Item = (At, At)>) -> (At, Other) {
        let (mut other, mut at) = (Other::none(), Self::NOWHERE);
        for (mine, theirs) in spindles {
            other.set(mine.spindle, self.cell(theirs));
            at = mine;
        }
        (at, other)
    }

    /// Judges other work that ways alone tell the cost of. Whether it could be judged.
    fn judges_other_work(&mut self, changes: &[(At, Other)]) -> bool {
        let may = |(at, other): &(At, Other)| {
            self.keeps_paces(*at, other) && other.each().all(|(spindle, cell)| self.may(cell.task, At { spindle, ..*at }))
        };
        changes.iter().all(may) && self.judges_like_timing(|s| s.may_change(changes), |s| assert!(s.give(changes)))
    }

    /// Judges a move at exactly what its timing says it costs, and at 1 µs less; then takes it back. Whether it could be judged.
    fn judges_like_timing(&mut self, may: impl Fn(&Self) -> bool, make: impl Fn(&mut Self)) -> bool {
        self.journal.begin(&self.sums);
        self.limit = Self::ANY;
        let calm = self.waits_for_none();
        make(self);
        self.retime();
        let costs = self.worse();
        let calm = calm && self.waits_for_none();
        self.roll_back();
        if calm {
            self.limit = costs;
            assert!(may(self), "refused at {costs} us");
            self.limit = costs - 1;
            assert!(!may(self), "let pass below {costs} us");
        }
        self.limit = Self::ANY;
        calm
    }
}

impl Across<'_> {
    /// Everything that is kept up to date is as if counted anew.
    fn check(&self, p: &Problem<'_>) {
        let mut stock = Stock::full(p);
        for s in &self.searches {
            assert_eq!(s.time(), export(p, s.state()).time_us);
            stock.take(p.line, s.state());
            let here: Vec<_> = s.state().tasks().map(|t| t.1).collect();
            assert_eq!(sorted(s.tasks.iter().copied()), sorted(here.iter().copied()));
            assert_eq!(s.of_part.iter().map(Vec::len).sum::<usize>(), here.len());
            for t in (0..p.job.tasks.len() as u32).map(domain::job::TaskId) {
                let at = s.at[t.index()];
                assert_eq!(at != Search::NOWHERE, here.contains(&t));
                assert!(at == Search::NOWHERE || s.cell(at).task == t);
                let part = p.part_of(t);
                assert!(at == Search::NOWHERE || s.state().setup.supplies[s.cell(at).supply as usize].part.index() == part);
            }
        }
        assert_eq!(self.feeders, stock.feeders);
    }
}
