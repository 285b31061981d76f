//! The chain of hashes: each entry's is SHA-256 over that of the entry before it and over every field of its own.
//!
//! Fields go in as length and bytes, so that no two different entries make the same bytes. What such a chain can and
//! cannot prove is said in docs/book.md.

use sha2::{Digest, Sha256};

/// The hash before the first entry.
pub(crate) const BEFORE_THE_FIRST: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// What is hashed of an entry, in this order.
pub(crate) struct Link<'a> {
    pub(crate) previous: &'a str,
    pub(crate) seq: i64,
    pub(crate) id: &'a str,
    pub(crate) kind: &'a str,
    pub(crate) subject: Option<&'a str>,
    pub(crate) at_us: i64,
    pub(crate) received_us: i64,
    pub(crate) by: Option<&'a str>,
    pub(crate) corrects: Option<&'a str>,
    pub(crate) body: &'a str,
}

/// The form of the bytes; another form would be another word.
const FORM: &str = "tubwright entry 1";

impl Link<'_> {
    /// The entry's hash, 64 hexadecimal digits.
    pub(crate) fn hash(&self) -> String {
        let mut hasher = Sha256::new();
        let mut text = |field: Option<&str>| match field {
            Some(field) => {
                hasher.update([1]);
                hasher.update((field.len() as u64).to_be_bytes());
                hasher.update(field.as_bytes());
            }
            None => hasher.update([0]),
        };
        text(Some(FORM));
        text(Some(self.previous));
        text(Some(&self.seq.to_string()));
        text(Some(self.id));
        text(Some(self.kind));
        text(self.subject);
        text(Some(&self.at_us.to_string()));
        text(Some(&self.received_us.to_string()));
        text(self.by);
        text(self.corrects);
        text(Some(self.body));
        hasher.finalize().iter().map(|b| format!("{b:02x}")).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link() -> Link<'static> {
        Link {
            previous: BEFORE_THE_FIRST,
            seq: 1,
            id: "a",
            kind: "note",
            subject: None,
            at_us: 2,
            received_us: 3,
            by: None,
            corrects: None,
            body: "{}",
        }
    }

    /// The expected figure was made with another program: `sha256sum` over the bytes that docs/book.md describes.
    #[test]
    fn the_hash_is_the_one_that_the_page_describes() {
        assert_eq!(link().hash(), "5866387b6d4532e5c09bd42bd2cf2db309da04e82235368056af00b030742e9f");
    }

    #[test]
    fn every_field_counts_and_nothing_moves_from_one_to_the_next() {
        let others = [
            Link { previous: "1", ..link() },
            Link { seq: 12, ..link() },
            Link { id: "b", ..link() },
            Link { kind: "dose", ..link() },
            Link { subject: Some(""), ..link() },
            Link { at_us: 23, ..link() },
            Link { received_us: 4, ..link() },
            Link { by: Some("{}"), body: "", ..link() },
            Link { corrects: Some("x"), ..link() },
            Link { body: "{} ", ..link() },
            Link { id: "an", kind: "ote", ..link() },
        ];
        let mut hashes: Vec<String> = others.iter().map(Link::hash).collect();
        hashes.push(link().hash());
        hashes.sort();
        hashes.dedup();
        assert_eq!(hashes.len(), others.len() + 1);
    }
}
