//! The record of what happened to each tub: append-only, in one SQLite file or in PostgreSQL.
//!
//! An entry is never changed. A correction is another entry that names the one it stands instead of; both stay. Ids are
//! made where an entry is recorded, so a phone without signal may send late, twice, in any order: nothing is lost or
//! doubled. Entries are chained by hash in order of receipt, so that an altered, missing or re-ordered one is found.
//!
//! In: entries with JSON bodies, checked by `care`'s own rules, and the time of receipt (there is no clock in here).
//! Out: entries, the newest version of things, and the [`care::case::Case`] of a tub.
//! Checked: `tests/story.rs` tells one story on both engines; `tests/kill.rs` kills the writer; `tests/trouble.rs` fills
//! the disk, locks, damages. docs/book.md has the formats.

mod backup;
mod bearing;
mod body;
mod canonical;
mod case;
mod chain;
mod doors;
mod entry;
mod error;
mod export;
mod group;
mod import;
mod kind;
mod link;
mod open;
mod place;
mod raw;
mod read;
mod record;
mod sql;
mod summary;
mod things;
mod verify;

pub use body::{PHOTO_BYTES_MOST, schema as body_schema};
pub use case::Dossier;
pub use doors::{Account, Answered, Attempts, Session, Token};
pub use entry::{Entry, Filter, NewEntry, Receipt};
pub use error::{BookError, Refusal};
pub use import::{CSV_BYTES_MOST, ColumnMap, FIELDS as IMPORT_FIELDS, Import, ImportOptions};
pub use kind::{ALL as KINDS, Kind};
pub use link::Link;
pub use open::{Book, Engine};
pub use place::Place;
pub use record::Head;
pub use summary::{Summarised, Summary, SummaryFilter};
pub use things::{Thing, ThingFilter};
pub use uuid::Uuid;
pub use verify::{Fault, Verified};
