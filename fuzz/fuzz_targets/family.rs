//! Family files, and the panels of what is accepted laid out with one small board.
#![no_main]

use domain::family::{FamilySheet, MOST_BOARDS, panels};
use domain::job::{Job, Panel};
use domain::product::{Product, Side};
use intake::{InputFile, ReadOptions};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

const LIST: &[u8] = b"Ref,Val,Package,PosX,PosY,Rot,Side\nC1,100n,C_0603,10.0,10.0,0,top\nR1,10k,R_0603,15.0,-20.0,-90,bottom\n";

static BOARD: LazyLock<Product> = LazyLock::new(|| {
    let list = InputFile { name: "board.csv", bytes: LIST };
    intake::read(&[list], &ReadOptions::default()).product.expect("the list is sound")
});

fuzz_target!(|text: &str| {
    match FamilySheet::parse("family.toml", text) {
        Ok(sheet) => {
            assert!(!sheet.product.is_empty(), "a family without products");
            for product in &sheet.product {
                let panel = product.panel.map_or(Panel::SINGLE, Into::into);
                assert!((1..=MOST_BOARDS).contains(&panels(product.demand, &panel)));
                if let Ok(job) = Job::new(&BOARD, product.side.unwrap_or(Side::Top), panel) {
                    assert_eq!(job.tasks.len() as u64, u64::from(panel.images()), "one part a side");
                }
            }
        }
        Err(findings) => assert!(!findings.is_empty() && findings.iter().all(|f| !f.hint.is_empty())),
    }
});
