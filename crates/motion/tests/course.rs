//! A panel as it runs, worked by hand: the pieces of a trip, of head swaps that alternate, and of a turret's beats.

mod common;

use common::{CAP, PANEL, RES, board, feeder, line, pass, program, trip};
use domain::job::{Job, TaskId};
use domain::plan::StationPlan;
use domain::product::Side;
use motion::{Cause, Clock, Course, Piece};
use units::{Length, Point, Time};

fn course(board_of: &[(u32, i64, i64, i64)], plan: &StationPlan) -> Course {
    let (line, product) = (line(), board(board_of));
    let job = Job::new(&product, Side::Top, PANEL).expect("a job");
    let clock = Clock::new(&line, &job);
    let course = clock.course(0, plan).expect("references exist");
    assert_eq!(Ok(course.breakdown), clock.time(0, plan));
    course
}

/// Cause, how long [ms], and where it ends [mm].
type Told = (Cause, i64, Option<(i64, i64)>);

fn told(pieces: &[Piece]) -> Vec<Told> {
    let row = |p: &Piece| (p.cause, (p.until - p.from).0 / 1_000, p.about.at.map(|at| (at.x.0 / 1_000, at.y.0 / 1_000)));
    pieces.iter().map(row).collect()
}

/// Two parts picked in one stroke by the row, whose spindles stand as far apart as the slots 1 and 3, and placed 100 mm
/// behind. The marks at (10, 10) and (59, 10) are 49 mm apart: 140 ms. From (59, 10) to (0, -90): 200 ms along Y.
#[test]
fn a_trip_of_a_row() {
    use Cause::*;
    let trips = vec![trip(0, &[&[(0, 0), (1, 1)]], &[(0, 0), (1, 1)])];
    let plan = program(vec![feeder(CAP, 1), feeder(RES, 3)], vec![pass(0, &[&[Some(0), Some(0)]], trips)]);
    let course = course(&[(CAP, 0, 10, 0), (RES, 20, 10, 90)], &plan);
    let expected = [
        (Transfer, 2_500, Some((10, 10))),
        (Fiducials, 100, Some((10, 10))),
        (Fiducials, 160, Some((59, 10))),
        (Fiducials, 100, Some((59, 10))),
        (PickTravel, 210, Some((0, -90))),
        (PickStrokes, 50, Some((0, -90))),
        (PickStrokes, 0, Some((20, -90))),
        (Sight, 30, None),
        (PlaceTravel, 220, Some((0, 10))),
        (PlaceStrokes, 60, Some((0, 10))),
        // The reference point stays where it is, and the part is turned.
        (Index, 70, Some((20, 10))),
        (PlaceStrokes, 60, Some((20, 10))),
    ];
    assert_eq!(told(&course.beams[0]), expected);
    let last = course.beams[0].last().expect("pieces");
    assert_eq!((last.about.shift, last.about.spindle, last.about.task), (Length(20_000), Some(1), Some(TaskId(1))));
    assert_eq!((last.until, course.back.len()), (course.period(), 0));
}

/// The single head after the row: one swap, of which the way depends on the order. The quicker order waits at its end.
#[test]
fn passes_that_alternate() {
    let passes = vec![
        pass(0, &[&[Some(0), None]], vec![trip(0, &[&[(0, 0)]], &[(0, 0)])]),
        pass(2, &[&[Some(0)]], vec![trip(0, &[&[(0, 1)]], &[(0, 1)])]),
    ];
    let mut plan = program(vec![feeder(CAP, 1), feeder(RES, 3)], passes);
    plan.alternating = true;
    let course = course(&[(CAP, 0, 10, 0), (RES, 100, 110, 0)], &plan);
    let heads = |pieces: &[Piece]| pieces.iter().filter(|p| p.cause == Cause::HeadSwap).filter_map(|p| p.about.head).collect::<Vec<_>>();
    assert_eq!((heads(&course.beams[0]), heads(&course.back[0])), (vec![2], vec![0]));
    let ends = [&course.beams[0], &course.back[0]].map(|p| p.last().expect("pieces"));
    assert_eq!(ends.map(|p| p.until), [course.period(); 2]);
    assert_eq!(ends.iter().filter(|p| p.cause == Cause::BeamWait).count(), 1, "{ends:?}");
    let tasks =
        |pieces: &[Piece]| pieces.iter().filter(|p| p.cause == Cause::PlaceStrokes).filter_map(|p| p.about.task).collect::<Vec<_>>();
    assert_eq!((tasks(&course.beams[0]), tasks(&course.back[0])), (vec![TaskId(0), TaskId(1)], vec![TaskId(1), TaskId(0)]));
    assert!(course.beams[0].iter().any(|p| p.about.at == Some(Point::from_um(100_000, 110_000))));
    assert!(course.beams[0].iter().all(|p| p.until > p.from && p.from >= Time::ZERO));
}
