//! An invented firm with some months of entries, to look around in. Nothing in here is anybody's; every name says so or is
//! plainly made up, and the pages carry the mark.

mod firm;
mod life;
mod random;

use crate::state::App;
use book::{BookError, Kind, NewEntry, Uuid};
use random::Random;
use serde_json::Value;

/// How many entries go into one transaction.
const AT_ONCE: usize = 500;

/// Records the firm in an empty book, ending now.
pub(crate) async fn record(app: &App) -> Result<usize, BookError> {
    let now_us = app.now_us();
    let entries = tokio::task::spawn_blocking(move || firm::entries(SEED, now_us)).await.unwrap_or_default();
    for batch in entries.chunks(AT_ONCE) {
        app.book().record(batch, now_us).await?;
    }
    Ok(entries.len())
}

const SEED: u64 = 20_261_126;

/// Collects entries with ids in order of their times.
struct Scribe {
    random: Random,
    entries: Vec<NewEntry>,
}

impl Scribe {
    fn id(&mut self, at_us: i64) -> Uuid {
        let mut bytes = [0; 10];
        bytes[..8].copy_from_slice(&self.random.bits().to_le_bytes());
        bytes[8..].copy_from_slice(&self.random.bits().to_le_bytes()[..2]);
        Uuid::new_v7_from(at_us, &bytes)
    }

    fn write(&mut self, kind: Kind, subject: Uuid, at_us: i64, by: Option<Uuid>, body: Value) -> Uuid {
        let id = self.id(at_us);
        self.entries.push(NewEntry { id, kind, subject: Some(subject), at_us, by, corrects: None, body });
        id
    }

    fn correct(&mut self, of: Uuid, kind: Kind, subject: Uuid, at_us: i64, by: Option<Uuid>, body: Value) {
        let id = self.id(at_us + 60_000_000);
        let corrects = Some(of);
        self.entries.push(NewEntry { id, kind, subject: Some(subject), at_us, by, corrects, body });
    }
}

/// A version 7 id from a time and chance.
trait FromTime {
    fn new_v7_from(at_us: i64, bytes: &[u8; 10]) -> Uuid;
}

impl FromTime for Uuid {
    fn new_v7_from(at_us: i64, bytes: &[u8; 10]) -> Uuid {
        uuid::Builder::from_unix_timestamp_millis((at_us / 1000).unsigned_abs(), bytes).into_uuid()
    }
}
