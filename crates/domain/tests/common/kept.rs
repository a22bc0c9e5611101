//! Inputs that coverage-guided runs of `fuzz` found worth keeping, one a line in hexadecimal (`tests/data/fuzz` of the crate).

/// Those of one target.
pub fn kept(target: &str) -> Vec<Vec<u8>> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/fuzz").join(format!("{target}.txt"));
    let text = std::fs::read_to_string(&path).expect("the kept inputs");
    let byte = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).expect("digits"), 16).expect("two digits");
    text.lines().map(|line| line.as_bytes().chunks(2).map(byte).collect()).collect()
}

/// Those of one target, as text.
#[allow(dead_code, reason = "not every test file uses it")]
pub fn kept_texts(target: &str) -> Vec<String> {
    kept(target).iter().map(|bytes| String::from_utf8_lossy(bytes).into_owned()).collect()
}
