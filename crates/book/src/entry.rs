//! One entry: as it is handed in, and as it stands in the book.

use crate::kind::Kind;
use serde_json::Value;
use uuid::Uuid;

/// An entry as whoever records it hands it in.
#[derive(Debug, Clone, PartialEq)]
pub struct NewEntry {
    /// Its id, made where it was recorded: a UUID of version 7, so that ids are in order of time.
    pub id: Uuid,
    /// What it is.
    pub kind: Kind,
    /// The tub that it happened to, or the thing that it is a version of.
    pub subject: Option<Uuid>,
    /// When it happened, microseconds since 1970 UTC.
    pub at_us: i64,
    /// Who recorded it.
    pub by: Option<Uuid>,
    /// The entry that it stands instead of.
    pub corrects: Option<Uuid>,
    /// What it says; its shape follows from its kind. A withdrawal is `{"withdrawn": true, "why": "…"}`.
    pub body: Value,
}

/// What became of an entry that was handed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Receipt {
    /// Its id.
    pub id: Uuid,
    /// Its number in order of receipt, from 1.
    pub seq: i64,
    /// Whether the same entry had been received before (nothing was added then).
    pub was_there: bool,
}

/// An entry as it stands in the book.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number in order of receipt, from 1.
    pub seq: i64,
    /// Its id.
    pub id: Uuid,
    /// What it is.
    pub kind: Kind,
    /// What it is about.
    pub subject: Option<Uuid>,
    /// When it happened, microseconds since 1970 UTC.
    pub at_us: i64,
    /// When it was received, microseconds since 1970 UTC.
    pub received_us: i64,
    /// Who recorded it.
    pub by: Option<Uuid>,
    /// The entry that it stands instead of.
    pub corrects: Option<Uuid>,
    /// The entry that stands instead of this one now. Both stay in the book.
    pub corrected_by: Option<Uuid>,
    /// What it says.
    pub body: Value,
    /// Its hash, over that of the entry before it.
    pub hash: String,
}

impl Entry {
    /// Whether it takes back what it corrects, and puts nothing in its place.
    pub fn is_withdrawal(&self) -> bool {
        self.corrects.is_some() && self.body.get("withdrawn") == Some(&Value::Bool(true))
    }

    /// Whether it counts: neither corrected nor withdrawn nor a withdrawal.
    pub fn is_effective(&self) -> bool {
        self.corrected_by.is_none() && !self.is_withdrawal()
    }
}

/// Which entries to read. What is left as default does not restrict.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Filter {
    /// About this tub or thing.
    pub subject: Option<Uuid>,
    /// Of these kinds; of all if empty.
    pub kinds: Vec<Kind>,
    /// Happened at this moment or later.
    pub from_us: Option<i64>,
    /// Happened at this moment or before.
    pub to_us: Option<i64>,
    /// Received after the entry with this number.
    pub after_seq: Option<i64>,
    /// Received before the entry with this number.
    pub before_seq: Option<i64>,
    /// With this text in the body (capital and small letters of A to Z are the same).
    pub text: Option<String>,
    /// Recorded by this person.
    pub by: Option<Uuid>,
    /// The last received first.
    pub newest_first: bool,
    /// At most so many; 100 if absent.
    pub limit: Option<u32>,
}
