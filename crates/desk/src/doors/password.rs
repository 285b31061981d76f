//! Passwords: what is accepted, how they are kept, how they are checked.

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};

/// Memory in KiB, passes, lanes: the least that the OWASP password storage cheat sheet names for argon2id (from memory).
const MEMORY_KIB: u32 = 19 * 1024;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// Letters, digits and other signs that a password has at least, and at most (a longer one would only cost time).
const LEAST: usize = 12;
const MOST: usize = 256;
/// Different signs that it has at least.
const DIFFERENT: usize = 5;

/// What everybody tries first, in small letters; a password that is mostly one of these is refused.
const COMMON: [&str; 12] = [
    "password",
    "passwort",
    "motdepasse",
    "123456",
    "qwerty",
    "qwertz",
    "azerty",
    "letmein",
    "iloveyou",
    "welcome",
    "tubwright",
    "administrator",
];

/// Why a password is not accepted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PasswordError {
    /// Too short or too long.
    #[error("the password has {0} signs; {LEAST} to {MOST} are accepted (a few words together are easiest)")]
    Length(usize),
    /// Too easy to guess.
    #[error(
        "the password is easy to guess: {0}; a few words that have nothing to do with each other are accepted"
    )]
    Easy(&'static str),
    /// The hash could not be made.
    #[error("the password could not be hashed: {0}")]
    Hash(String),
}

fn hasher() -> Result<Argon2<'static>, PasswordError> {
    let params =
        Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(|e| PasswordError::Hash(e.to_string()))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// Whether a password may be used by who logs in under this name.
///
/// # Errors
/// [`PasswordError`] with what is wrong with it.
pub(crate) fn check_new(password: &str, login: &str) -> Result<(), PasswordError> {
    let signs = password.chars().count();
    if !(LEAST..=MOST).contains(&signs) {
        return Err(PasswordError::Length(signs));
    }
    let small = password.to_lowercase();
    let mut different: Vec<char> = small.chars().collect();
    different.sort_unstable();
    different.dedup();
    if different.len() < DIFFERENT {
        return Err(PasswordError::Easy("it has hardly any different signs"));
    }
    // What is left without the well-known word must be long enough to stand alone.
    let weak = |word: &str| small.contains(word) && signs - word.chars().count() < LEAST - 4;
    if login.chars().count() >= 3 && weak(&login.to_lowercase()) {
        return Err(PasswordError::Easy("it is mostly the name"));
    }
    if COMMON.iter().any(|word| weak(word)) {
        return Err(PasswordError::Easy("it is mostly a word that everybody tries"));
    }
    Ok(())
}

/// The hash that is kept, with salt and parameters. Takes some 50 ms: not for a thread that serves.
///
/// # Errors
/// [`PasswordError::Hash`] if the system has no randomness to give.
pub(crate) fn hashed(password: &str) -> Result<String, PasswordError> {
    let hash =
        hasher()?.hash_password(password.as_bytes()).map_err(|e| PasswordError::Hash(e.to_string()))?;
    Ok(hash.to_string())
}

/// Whether a password belongs to a hash. Without a hash (no such account) it takes as long and says no.
pub(crate) fn is_right(password: &str, hash: Option<&str>) -> bool {
    let Ok(hasher) = hasher() else { return false };
    match hash.and_then(|h| PasswordHash::new(h).ok()) {
        Some(hash) => {
            password.chars().count() <= MOST && hasher.verify_password(password.as_bytes(), &hash).is_ok()
        }
        None => {
            let _as_long = hasher.hash_password(b"nobody has this account");
            false
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_argon2id_with_our_parameters_and_opens_to_its_password_alone() {
        let hash = hashed("seven grey herons wading").unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{hash}");
        assert_ne!(hash, hashed("seven grey herons wading").unwrap(), "each has its own salt");
        assert!(is_right("seven grey herons wading", Some(&hash)));
        assert!(!is_right("seven grey herons wadinG", Some(&hash)));
        assert!(!is_right("seven grey herons wading", None));
        assert!(!is_right("", Some("no hash at all")));
    }

    #[test]
    fn easy_passwords_are_refused_and_long_ones_need_no_odd_signs() {
        assert_eq!(check_new("short", "ana"), Err(PasswordError::Length(5)));
        assert!(matches!(check_new("aaaaaaaaaaaaaaaa", "ana"), Err(PasswordError::Easy(_))));
        assert!(matches!(check_new("Password2026!", "ana"), Err(PasswordError::Easy(_))));
        assert!(matches!(check_new("ana.miller2026", "ana.miller"), Err(PasswordError::Easy(_))));
        assert_eq!(check_new(&"wide river ".repeat(30), "ana"), Err(PasswordError::Length(330)));
        assert_eq!(check_new("seven grey herons wading", "ana"), Ok(()));
        assert_eq!(check_new("七只灰鹭在浅水里慢慢走着", "ana"), Ok(()));
    }
}
