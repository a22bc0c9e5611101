//! Product documents; one that is accepted comes back unchanged when written and read again.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    if let Ok(product) = intake::read_product("product.json", &text) {
        let written = intake::write_product(&product).expect("a product can be written");
        assert_eq!(intake::read_product("product.json", &written).as_ref(), Ok(&product));
    }
});
