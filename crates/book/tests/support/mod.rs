//! What the tests of the book share: both engines, ids in order of time, entries to record.

#![allow(dead_code, reason = "each test file uses its part")]

pub(crate) mod postgres;

use book::{Book, Kind, NewEntry, Place, Uuid};
use serde_json::Value;

/// A moment of the story: minutes after 1 March 2026, 08:00 UTC, in microseconds.
pub(crate) fn minute(n: i64) -> i64 {
    (1_772_352_000 + 60 * n) * 1_000_000
}

/// The n-th id: version 7, later than all with a smaller number.
pub(crate) fn id(n: u64) -> Uuid {
    let millis = 1_772_352_000_000 + n;
    uuid::Builder::from_unix_timestamp_millis(millis, &[7; 10]).into_uuid()
}

/// An entry about something.
pub(crate) fn entry(n: u64, kind: Kind, subject: Uuid, at_us: i64, body: Value) -> NewEntry {
    NewEntry { id: id(n), kind, subject: Some(subject), at_us, by: None, corrects: None, body }
}

/// The same as a correction of the entry with this number.
pub(crate) fn correcting(n: u64, entry: NewEntry) -> NewEntry {
    NewEntry { corrects: Some(id(n)), ..entry }
}

/// A new book in a folder of its own.
pub(crate) async fn in_a_folder(folder: &tempfile::TempDir) -> Book {
    let place = Place::file(&folder.path().join("test.book")).expect("a place");
    Book::open(&place).await.expect("a new book")
}

/// Runs a future to its end on this thread.
pub(crate) fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime").block_on(future)
}
