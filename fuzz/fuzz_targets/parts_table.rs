//! Parts tables, applied to a few parts; what is printed afterwards is read without complaint.
#![no_main]

use intake::InputFile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let named = [("R-10K", "10k", "RESC1005X40N", "R1"), ("U-1", "controller", "QFN50P400X400X90-25N", "U1"), ("X", "", "", "J1")];
    let mut parts: Vec<_> =
        named.into_iter().map(|(number, value, package, reference)| intake::parts::part(number, value, package, &[reference]).0).collect();
    let before = parts.len();
    intake::parts_table::apply(&mut parts, &InputFile { name: "parts.csv", bytes: data });
    assert_eq!(parts.len(), before, "a table neither makes nor removes parts");
});
