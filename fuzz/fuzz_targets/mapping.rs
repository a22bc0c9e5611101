//! A mapping file beside one placement list and one bill that are always the same.
#![no_main]

use intake::{InputFile, ReadOptions};
use libfuzzer_sys::fuzz_target;

const LIST: &[u8] = b"Ref,Val,Package,PosX,PosY,Rot,Side\nC1,100n,C_0603,10.0,10.0,0,top\nR1,10k,R_0603,15.0,-20.0,-90,bottom\nU1,,SOIC-8,3e1,25.0,360,top\n";
const BILL: &[u8] = b"Reference;Qty;MPN;DNP\n\"C1,C2\";2;ABC;\nR1;1;DEF;x\nU1;1;X;\n";

fuzz_target!(|data: &[u8]| {
    let files = [InputFile { name: "board-top.csv", bytes: LIST }, InputFile { name: "bill.csv", bytes: BILL }];
    let mapping = Some(InputFile { name: "mapping.toml", bytes: data });
    let reading = intake::read(&files, &ReadOptions { mapping, ..ReadOptions::default() });
    assert!(reading.findings.iter().all(|f| !f.message.is_empty() && !f.hint.is_empty()));
    if let Some(product) = reading.product {
        let text = intake::write_product(&product).expect("a product can be written");
        assert!(intake::read_product("product.json", &text).is_ok(), "a product that was read is refused as a document");
    }
});
