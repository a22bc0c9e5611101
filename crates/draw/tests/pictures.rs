//! The pictures of a small plan, compared with files kept beside this test. `UPDATE_GOLDEN=1`
//! writes them anew.

mod common;

use draw::board::Colouring;
use draw::stage::stage;
use draw::{Scene, balance, bank, board, timeline, tray};
use std::path::PathBuf;

fn golden(name: &str, scene: &Scene) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
    let svg = scene.to_svg() + "\n";
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &svg).expect("the golden folder can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(kept == svg, "{name} differs from the picture kept; look at both, then run with UPDATE_GOLDEN=1");
}

#[test]
fn balance_of_the_small_plan() {
    golden("balance.svg", &balance::scene(&common::small()));
}

#[test]
fn board_of_the_small_plan() {
    golden("board.svg", &board::scene(&common::small()));
}

#[test]
fn banks_and_trays_of_the_small_plan() {
    let plan = common::small();
    golden("bank.svg", &bank::scene(&plan, 1, 0).expect("the bank exists"));
    golden("tray.svg", &tray::scene(&plan, 1).expect("the station has trays"));
}

#[test]
fn timeline_of_the_small_plan() {
    golden("timeline.svg", &timeline::scene(&common::small(), 1, None).expect("the station exists"));
}

#[test]
fn every_task_has_a_body_with_its_name() {
    let plan = common::large();
    let svg = board::scene(&plan).to_svg();
    let job = plan.job().expect("the sample job is sound");
    for id in (0..job.tasks.len() as u32).map(domain::job::TaskId) {
        assert!(svg.contains(&format!("<title>{}: ", job.name(id))), "{} is not drawn", job.name(id));
    }
}

#[test]
fn a_plan_that_points_nowhere_is_drawn_all_the_same() {
    let plan = common::broken();
    let mut all = vec![balance::scene(&plan), board::scene(&plan)];
    for station in 0..plan.stations.len() {
        all.extend((0..3).filter_map(|b| bank::scene(&plan, station, b)));
        all.extend(tray::scene(&plan, station));
        all.extend(timeline::scene(&plan, station, None));
    }
    assert!(all.len() > 6);
    assert!(all.iter().all(|s| s.to_svg().len() < 2_000_000));
}

#[test]
fn hostile_names_stay_text() {
    let plan = common::hostile();
    for svg in [balance::scene(&plan), board::scene(&plan), bank::scene(&plan, 0, 0).expect("the bank exists")].map(|s| s.to_svg()) {
        assert!(!svg.contains("<script") && !svg.contains("<img") && !svg.contains("<b>"));
        assert_eq!(svg.matches("<svg").count(), 1);
    }
}

#[test]
fn an_unplaced_part_is_shown_by_more_than_colour() {
    let svg = board::scene(&common::small()).to_svg();
    assert!(svg.contains("T1@1: TRF-SURGE-9, not placed") && svg.contains("not placed (2)"));
}

#[test]
fn every_colouring_draws_every_task_and_says_what_it_means() {
    let plan = common::large();
    let job = plan.job().expect("the sample job is sound");
    for colouring in Colouring::ALL {
        let svg = board::scene_by(&plan, colouring).to_svg();
        for id in (0..job.tasks.len() as u32).map(domain::job::TaskId) {
            assert!(svg.contains(&format!("<title>{}: ", job.name(id))), "{} is not drawn by {}", job.name(id), colouring.word());
        }
        let meaning = match colouring {
            Colouring::Station => format!("{} (", plan.stations[0].station),
            Colouring::Pass => format!("{}, pass 1 with ", plan.stations[0].station),
            Colouring::Order => format!("{}: light first, dark last", plan.stations[0].station),
        };
        assert!(svg.contains(&meaning), "{meaning:?} is missing by {}", colouring.word());
    }
    assert_eq!(board::scene_by(&plan, Colouring::Station), board::scene(&plan));
}

#[test]
fn a_stage_holds_what_its_station_places_and_picks_from() {
    let plan = common::large();
    let job = plan.job().expect("the sample job is sound");
    for (s, planned) in plan.stations.iter().enumerate() {
        let stage = stage(&plan, s).expect("a stage");
        let svg = stage.scene.to_svg();
        for task in planned.passes.iter().flat_map(|p| p.work.placed()) {
            assert!(svg.contains(&format!("<title>{}: ", job.name(task))), "{} is not on the stage of {}", job.name(task), planned.station);
        }
        for bank in &plan.line.station[s].bank {
            let x = stage.left + bank.first.x.to_mm() * stage.scale;
            let y = stage.bottom - bank.first.y.to_mm() * stage.scale;
            assert!(
                (0.0..=stage.scene.width).contains(&x) && (0.0..=stage.scene.height).contains(&y),
                "{} lies outside: {x}, {y}",
                bank.name
            );
        }
    }
    assert!(stage(&plan, plan.stations.len()).is_none());
    let broken = common::broken();
    (0..broken.stations.len()).for_each(|s| drop(stage(&broken, s)));
}
