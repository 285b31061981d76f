//! Recording: all of what is handed in, or none of it; the same twice is once.

use crate::body;
use crate::canonical::canonical;
use crate::chain::Link;
use crate::entry::{NewEntry, Receipt};
use crate::error::{BookError, Refusal};
use crate::kind::Kind;
use crate::open::Book;
use crate::sql::Sql;
use care::wire::Problem;
use sqlx::{Any, Transaction};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// How far ahead a phone's clock may be, µs: a day.
const AHEAD_MOST_US: i64 = 24 * 3600 * 1_000_000;
/// One more entry.
pub(crate) const INSERT: &str = "INSERT INTO entry (seq, id, kind, subject, at_us, received_us, by_person, corrects, body, \
     previous, hash) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
/// How many ids are asked for at once.
const ASKED_AT_ONCE: usize = 400;

/// How many entries there are and the hash of the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// How many.
    pub count: i64,
    /// The last one's hash; 64 zeros before the first.
    pub hash: String,
}

/// An entry that was checked, as text.
pub(crate) struct Prepared {
    pub(crate) id: String,
    pub(crate) kind: Kind,
    pub(crate) subject: Option<String>,
    pub(crate) at_us: i64,
    pub(crate) received_us: i64,
    pub(crate) by: Option<String>,
    pub(crate) corrects: Option<String>,
    pub(crate) body: String,
}

/// What the book holds under an id: number, kind, subject, time, person, corrected id, body.
type Held = (i64, String, String, Option<String>, i64, Option<String>, Option<String>, String);

impl Prepared {
    fn is(&self, held: &Held) -> bool {
        let (_, _, kind, subject, at_us, by, corrects, body) = held;
        self.kind.id() == kind
            && self.subject == *subject
            && self.at_us == *at_us
            && self.by == *by
            && self.corrects == *corrects
            && self.body == *body
    }

    fn held(&self, seq: i64) -> Held {
        (
            seq,
            self.id.clone(),
            self.kind.id().to_owned(),
            self.subject.clone(),
            self.at_us,
            self.by.clone(),
            self.corrects.clone(),
            self.body.clone(),
        )
    }

    pub(crate) fn hash(&self, seq: i64, previous: &str) -> String {
        Link {
            previous,
            seq,
            id: &self.id,
            kind: self.kind.id(),
            subject: self.subject.as_deref(),
            at_us: self.at_us,
            received_us: self.received_us,
            by: self.by.as_deref(),
            corrects: self.corrects.as_deref(),
            body: &self.body,
        }
        .hash()
    }
}

/// Every entry checked.
fn prepare_all(entries: &[NewEntry], now_us: i64) -> Result<Vec<Prepared>, BookError> {
    let mut prepared = Vec::with_capacity(entries.len());
    let mut refused = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        match prepare(entry, now_us) {
            Ok(fine) => prepared.push(fine),
            Err(problems) => refused.push(refusal(index, entry, problems)),
        }
    }
    if refused.is_empty() { Ok(prepared) } else { Err(BookError::Refused(refused)) }
}

impl Book {
    /// Records the entries: all or none. What was received before with the same content counts as received (`was_there`).
    /// Once this returns, the entries are on the disk. `now_us` is the time of receipt. What others hand in at the same
    /// moment goes to the disk together with it (`group`).
    ///
    /// # Errors
    /// [`BookError::Refused`] with every fault of every entry that is wrong; other variants if the book cannot be written.
    /// Nothing of what was handed in is recorded then.
    pub async fn record(&self, entries: &[NewEntry], now_us: i64) -> Result<Vec<Receipt>, BookError> {
        let prepared = prepare_all(entries, now_us)?;
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        self.record_with_others(entries.to_vec(), prepared).await
    }

    /// The same for many entries, by themselves; `progress` hears how many are written (not yet recorded: that is all or
    /// none).
    ///
    /// # Errors
    /// As [`Book::record`].
    pub async fn record_and_tell(
        &self,
        entries: &[NewEntry],
        now_us: i64,
        progress: &mut (dyn FnMut(usize) + Send),
    ) -> Result<Vec<Receipt>, BookError> {
        let prepared = prepare_all(entries, now_us)?;
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        let _turn = self.writer.lock().await;
        self.record_alone(entries, &prepared, progress).await
    }

    /// One transaction for what was handed in at once. The caller has the writer's turn.
    pub(crate) async fn record_alone(
        &self,
        entries: &[NewEntry],
        prepared: &[Prepared],
        progress: &mut (dyn FnMut(usize) + Send),
    ) -> Result<Vec<Receipt>, BookError> {
        let mut tx = self.pool.begin().await.map_err(|e| self.failed(e))?;
        let head = self.lock(&mut tx).await?;
        let (receipts, _) = self.append(&mut tx, entries, prepared, head, progress).await?;
        tx.commit().await.map_err(|e| self.failed(e))?;
        Ok(receipts)
    }

    /// Takes the head for this transaction alone. The write comes first, so that SQLite waits for its turn here and
    /// cannot find later that it read too early; PostgreSQL locks the row.
    pub(crate) async fn lock(&self, tx: &mut Transaction<'_, Any>) -> Result<Head, BookError> {
        let (count, hash) =
            sqlx::query_as("UPDATE head SET count = count WHERE one = 1 RETURNING count, hash")
                .fetch_one(&mut **tx)
                .await
                .map_err(|e| self.failed(e))?;
        Ok(Head { count, hash })
    }

    /// Adds entries after `head`; gives the head after them.
    pub(crate) async fn append(
        &self,
        tx: &mut Transaction<'_, Any>,
        entries: &[NewEntry],
        prepared: &[Prepared],
        head: Head,
        progress: &mut (dyn FnMut(usize) + Send),
    ) -> Result<(Vec<Receipt>, Head), BookError> {
        let mut held = self.held(tx, prepared).await?;
        let mut head = head;
        let mut receipts = Vec::with_capacity(prepared.len());
        let mut refused = Vec::new();
        let mut things = BTreeSet::new();
        for (index, (entry, new)) in entries.iter().zip(prepared).enumerate() {
            progress(index);
            if let Some(before) = held.get(&new.id) {
                if !new.is(before) {
                    let what = format!("is there already, as number {}, with other content", before.0);
                    let accepted = "a new id is needed; to change what was recorded, correct it";
                    refused.push(refusal(index, entry, vec![problem("id", what, accepted)]));
                }
                receipts.push(Receipt { id: entry.id, seq: before.0, was_there: true });
                continue;
            }
            if let Some(target) = new.corrects.as_ref().and_then(|id| held.get(id))
                && (target.2 != new.kind.id() || target.3 != new.subject)
            {
                let what =
                    format!("is entry {}, which is a {} of {}", target.0, target.2, subject(&target.3));
                let accepted =
                    format!("an entry of kind {} of {} is accepted", new.kind, subject(&new.subject));
                refused.push(refusal(index, entry, vec![problem("corrects", what, accepted)]));
            }
            if refused.is_empty() {
                head = self.insert(tx, new, &head).await?;
                if new.kind.is_thing() {
                    things.insert((new.kind, new.subject.clone().unwrap_or_default()));
                }
            }
            held.insert(new.id.clone(), new.held(head.count));
            receipts.push(Receipt { id: entry.id, seq: head.count, was_there: false });
        }
        if !refused.is_empty() {
            return Err(BookError::Refused(refused));
        }
        self.set_head(tx, &head).await?;
        for (kind, id) in things {
            self.project(tx, kind, &id).await?;
        }
        Ok((receipts, head))
    }

    /// One more entry after `head`; gives the head after it, which the caller writes at the end.
    pub(crate) async fn insert(
        &self,
        tx: &mut Transaction<'_, Any>,
        new: &Prepared,
        head: &Head,
    ) -> Result<Head, BookError> {
        let seq = head.count + 1;
        let hash = new.hash(seq, &head.hash);
        sqlx::query(INSERT)
            .bind(seq)
            .bind(new.id.clone())
            .bind(new.kind.id())
            .bind(new.subject.clone())
            .bind(new.at_us)
            .bind(new.received_us)
            .bind(new.by.clone())
            .bind(new.corrects.clone())
            .bind(new.body.clone())
            .bind(head.hash.clone())
            .bind(hash.clone())
            .execute(&mut **tx)
            .await
            .map_err(|e| self.failed(e))?;
        Ok(Head { count: seq, hash })
    }

    pub(crate) async fn set_head(&self, tx: &mut Transaction<'_, Any>, head: &Head) -> Result<(), BookError> {
        sqlx::query("UPDATE head SET count = $1, hash = $2 WHERE one = 1")
            .bind(head.count)
            .bind(head.hash.clone())
            .execute(&mut **tx)
            .await
            .map_err(|e| self.failed(e))?;
        Ok(())
    }

    /// What the book holds under the ids of these entries and of those that they correct.
    async fn held(
        &self,
        tx: &mut Transaction<'_, Any>,
        prepared: &[Prepared],
    ) -> Result<BTreeMap<String, Held>, BookError> {
        let ids: BTreeSet<&String> = prepared
            .iter()
            .map(|p| &p.id)
            .chain(prepared.iter().filter_map(|p| p.corrects.as_ref()))
            .collect();
        let ids: Vec<&String> = ids.into_iter().collect();
        let mut held = BTreeMap::new();
        for some in ids.chunks(ASKED_AT_ONCE) {
            let mut sql =
                Sql::new("SELECT seq, id, kind, subject, at_us, by_person, corrects, body FROM entry WHERE ");
            sql.one_of("id", some.iter().map(|id| (*id).clone()));
            let rows: Vec<Held> = sql.rows().fetch_all(&mut **tx).await.map_err(|e| self.failed(e))?;
            held.extend(rows.into_iter().map(|row| (row.1.clone(), row)));
        }
        Ok(held)
    }

    /// How many entries there are.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn count(&self) -> Result<i64, BookError> {
        Ok(self.head().await?.count)
    }

    /// The head of the chain. Whoever keeps its hash elsewhere can tell later whether anything before it was altered.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn head(&self) -> Result<Head, BookError> {
        let (count, hash) = sqlx::query_as("SELECT count, hash FROM head WHERE one = 1")
            .fetch_one(&self.pool)
            .await
            .map_err(|e| self.failed(e))?;
        Ok(Head { count, hash })
    }

    /// Whether the book can be written now: takes the writer's turn and gives it back.
    ///
    /// # Errors
    /// [`BookError`] with what stands in the way.
    pub async fn check_writable(&self) -> Result<(), BookError> {
        let _turn = self.writer.lock().await;
        let mut tx = self.pool.begin().await.map_err(|e| self.failed(e))?;
        self.lock(&mut tx).await?;
        tx.rollback().await.map_err(|e| self.failed(e))
    }
}

fn subject(id: &Option<String>) -> String {
    id.clone().unwrap_or_else(|| "nothing".to_owned())
}

fn refusal(index: usize, entry: &NewEntry, problems: Vec<Problem>) -> Refusal {
    Refusal { index, id: entry.id.to_string(), kind: entry.kind.id().to_owned(), problems }
}

fn problem(field: &str, what: impl Into<String>, accepted: impl Into<String>) -> Problem {
    Problem {
        file: String::new(),
        line: None,
        field: field.to_owned(),
        what: what.into(),
        accepted: accepted.into(),
    }
}

/// The entry as it will stand in the book, or every fault of it.
pub(crate) fn prepare(entry: &NewEntry, now_us: i64) -> Result<Prepared, Vec<Problem>> {
    let mut found = Vec::new();
    if entry.id.get_version_num() != 7 {
        let what = format!("is {}, a UUID of version {}", entry.id, entry.id.get_version_num());
        found.push(problem("id", what, "a UUID of version 7 is accepted (its order is the order of time)"));
    }
    if entry.at_us < 0 {
        let what = format!("is {} µs, before 1970", entry.at_us);
        found.push(problem("at", what, "a time from 1970 to a day from now is accepted"));
    } else if entry.at_us > now_us.saturating_add(AHEAD_MOST_US) {
        let hours = (entry.at_us - now_us) / 3_600_000_000;
        let accepted = "at most 24 hours ahead is accepted: set the device's clock";
        found.push(problem("at", format!("is {hours} hours ahead of this computer's clock"), accepted));
    }
    if (entry.kind.is_happening() || entry.kind.is_thing()) && entry.subject.is_none() {
        let what =
            if entry.kind.is_thing() { "the thing's own id is needed" } else { "the tub's id is needed" };
        found.push(problem("subject", "is missing", what));
    }
    if entry.corrects == Some(entry.id) {
        found.push(problem("corrects", "is the entry itself", "the id of an earlier entry is accepted"));
    }
    let body = canonical(&entry.body);
    let text = body.to_string();
    let most = if entry.kind == Kind::Photo { body::PHOTO_BYTES_MOST * 3 / 2 } else { body::BODY_BYTES_MOST };
    if text.len() > most {
        found.push(problem(
            "body",
            format!("has {} bytes", text.len()),
            format!("{most} at most are accepted"),
        ));
    } else {
        found.extend(body::faults(entry.kind, &body, entry.corrects.is_some()));
    }
    if !found.is_empty() {
        return Err(found);
    }
    let id = |id: Option<Uuid>| id.map(|id| id.to_string());
    Ok(Prepared {
        id: entry.id.to_string(),
        kind: entry.kind,
        subject: id(entry.subject),
        at_us: entry.at_us,
        received_us: now_us,
        by: id(entry.by),
        corrects: id(entry.corrects),
        body: text,
    })
}
