//! Random identities and secrets, and the form in which secrets are kept.

use sha2::{Digest, Sha256};

fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    // Without the system's random numbers no secret is one; going on would be worse than ending.
    getrandom::fill(&mut bytes).expect("the system gives random numbers");
    bytes
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// A new identity: 32 random hexadecimal digits.
pub fn id() -> String {
    hex(&random::<16>())
}

/// A new secret: 64 random hexadecimal digits, 256 bits.
pub fn secret() -> String {
    hex(&random::<32>())
}

/// The form in which a random secret is kept: whoever reads the database cannot use it.
///
/// Only for secrets of [`secret`]; passwords that people choose need a slow hash.
pub fn hash(secret: &str) -> String {
    hex(&Sha256::digest(secret.as_bytes()))
}
