//! Random secrets, and what is kept of them.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};

/// A new secret of 256 bits as text.
///
/// # Errors
/// If the system has no randomness to give.
pub(crate) fn new() -> Result<String, getrandom::Error> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

/// What is kept of a secret: SHA-256. A slow hash would add nothing to 256 random bits.
pub(crate) fn hash(secret: &str) -> String {
    hash_of(&[secret.as_bytes()])
}

/// SHA-256 over parts, each with its length before it, so that no two lists of parts are alike.
pub(crate) fn hash_of(parts: &[&[u8]]) -> String {
    let mut digest = Sha256::new();
    for part in parts {
        digest.update((part.len() as u64).to_le_bytes());
        digest.update(part);
    }
    digest.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secrets_are_long_and_never_twice_the_same() {
        let (a, b) = (new().unwrap(), new().unwrap());
        assert_eq!((a.len(), a != b), (43, true));
        assert_ne!(hash(&a), hash(&b));
        assert_ne!(hash_of(&[b"ab", b"c"]), hash_of(&[b"a", b"bc"]));
    }
}
