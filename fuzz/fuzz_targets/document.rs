//! One designer's file by itself, whatever it is: text, IPC-2581, a Gerber layer, a spreadsheet. The reader sorts by content.
#![no_main]

use intake::{InputFile, ReadOptions};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let reading = intake::read(&[InputFile { name: "board", bytes: data }], &ReadOptions::default());
    if let Some(product) = reading.product {
        let text = intake::write_product(&product).expect("a product can be written");
        assert!(intake::read_product("product.json", &text).is_ok(), "a product that was read is refused as a document");
    }
});
