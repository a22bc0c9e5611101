//! Passwords: what is asked of them, and their slow hash (Argon2id, RFC 9106).

use crate::room::aside;
use crate::trouble::{Answer, Refusal};
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};

/// Fewest characters of a password. NIST SP 800-63B (from memory) asks for at least eight, and for length rather than for
/// kinds of characters.
pub const LEAST: usize = 10;
/// Most bytes of a password, so that nobody has the server hash a novel.
pub const MOST: usize = 256;

/// Checks what a person chose.
///
/// # Errors
/// When it is short, long, or says the name.
pub fn check(name: &str, password: &str) -> Result<(), Refusal> {
    let wrong = |text: String| Err(Refusal::Wrong(text));
    if password.chars().count() < LEAST {
        return wrong(format!("The password needs at least {LEAST} characters; a few words in a row are easy to keep."));
    }
    if password.len() > MOST {
        return wrong(format!("The password may have at most {MOST} bytes."));
    }
    if password.to_lowercase().contains(&name.to_lowercase()) {
        return wrong("The password must not contain the name.".to_owned());
    }
    let first = password.chars().next();
    if password.chars().all(|c| Some(c) == first) {
        return wrong("The password is one character over and over.".to_owned());
    }
    Ok(())
}

/// The hash of a password with its salt and parameters, as text.
///
/// # Errors
/// When hashing fails, which only a broken system does.
pub async fn hash(password: String) -> Answer<String> {
    let hashed = aside(move || Argon2::default().hash_password(password.as_bytes()).map(|h| h.to_string())).await?;
    hashed.map_err(|e| Refusal::Failed(e.to_string()))
}

/// Whether a password is the one that was hashed. Without a hash the same time is spent, so that nobody learns which names exist.
///
/// # Errors
/// When the stored hash is none.
pub async fn is_right(password: String, hashed: Option<String>) -> Answer<bool> {
    if password.len() > MOST {
        return Ok(false);
    }
    aside(move || match hashed {
        Some(hashed) => {
            let parsed = PasswordHash::new(&hashed).map_err(|e| Refusal::Failed(e.to_string()))?;
            Ok(Argon2::default().verify_password(password.as_bytes(), &parsed).is_ok())
        }
        None => Argon2::default().hash_password(password.as_bytes()).map(|_| false).map_err(|e| Refusal::Failed(e.to_string())),
    })
    .await?
}
