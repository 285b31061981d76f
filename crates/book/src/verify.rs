//! Verifying: is the record the one that was recorded?
//!
//! Walks the chain from the first entry to the head and names every row that does not belong. docs/book.md says what
//! this can and cannot prove.

use crate::chain::BEFORE_THE_FIRST;
use crate::error::BookError;
use crate::kind::Kind;
use crate::open::{Book, Engine};
use crate::raw::Raw;
use crate::record::Head;
use crate::sql::{Arg, Sql};
use crate::things::Projected;
use sqlx::{Any, Transaction};
use std::collections::{BTreeMap, HashSet};
use uuid::Uuid;

/// Faults beyond this many are counted, not listed.
const LISTED_MOST: usize = 100;

/// What the check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// How many entries were read.
    pub count: i64,
    /// The hash of the last entry. Kept elsewhere, it proves later that nothing before it was changed.
    pub hash: String,
    /// The number of the entry that has the hash that was expected.
    pub expected_at: Option<i64>,
    /// Every fault found, up to 100.
    pub faults: Vec<Fault>,
    /// How many there are beyond those.
    pub more: usize,
}

/// A row that does not belong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The entry's number, where one is to blame.
    pub seq: Option<i64>,
    /// Its id.
    pub id: Option<String>,
    /// What is wrong.
    pub what: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(seq) = self.seq {
            write!(f, "entry {seq}")?;
            if let Some(id) = &self.id {
                write!(f, " ({})", care::wire::node::shortened(id))?;
            }
            write!(f, ": ")?;
        }
        f.write_str(&self.what)
    }
}

impl Verified {
    /// Whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty() && self.more == 0
    }

    fn add(&mut self, row: Option<&Raw>, what: impl Into<String>) {
        if self.faults.len() < LISTED_MOST {
            self.faults.push(Fault {
                seq: row.map(|r| r.seq),
                id: row.map(|r| r.id.clone()),
                what: what.into(),
            });
        } else {
            self.more += 1;
        }
    }
}

/// A version of a thing, without its body.
struct Version {
    id: String,
    at_us: i64,
    seq: i64,
    corrects: Option<String>,
    withdrawal: bool,
}

type Versions = BTreeMap<(String, String), Vec<Version>>;

impl Book {
    /// Checks the whole chain, the head, and that the list of things agrees with the entries. `expect` is a head's hash
    /// noted earlier: it must be the hash of one of the entries still.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read; what is wrong with its content is in the answer.
    pub async fn verify(&self, expect: Option<&str>) -> Result<Verified, BookError> {
        let mut found = Verified {
            count: 0,
            hash: BEFORE_THE_FIRST.to_owned(),
            expected_at: None,
            faults: Vec::new(),
            more: 0,
        };
        let mut tx = self.snapshot().await?;
        self.check_file(&mut tx, &mut found).await?;
        let versions = self.walk(&mut tx, expect, &mut found).await?;
        self.check_things(&mut tx, versions, &mut found).await?;
        tx.rollback().await.map_err(|e| self.failed(e))?;
        if let Some(expect) = expect
            && found.expected_at.is_none()
        {
            let what = format!(
                "the hash {} that was expected is that of no entry: the record before it was changed, or it is of another book",
                care::wire::node::shortened(expect)
            );
            found.add(None, what);
        }
        Ok(found)
    }

    /// SQLite's own check of the file: pages, indices, order of rows.
    async fn check_file(&self, tx: &mut Transaction<'_, Any>, found: &mut Verified) -> Result<(), BookError> {
        if self.engine == Engine::Sqlite {
            let said: Vec<(String,)> = sqlx::query_as("PRAGMA integrity_check(20)")
                .fetch_all(&mut **tx)
                .await
                .map_err(|e| self.failed(e))?;
            for (line,) in said.iter().filter(|(line,)| line != "ok") {
                found.add(None, format!("the file is damaged: {}", line.replace('\n', " ")));
            }
        }
        Ok(())
    }

    async fn walk(
        &self,
        tx: &mut Transaction<'_, Any>,
        expect: Option<&str>,
        found: &mut Verified,
    ) -> Result<Versions, BookError> {
        let mut before = Head { count: 0, hash: BEFORE_THE_FIRST.to_owned() };
        let mut ids: HashSet<u128> = HashSet::new();
        let mut versions = Versions::new();
        let mut after = i64::MIN;
        loop {
            let page = self.page(tx, after).await?;
            let Some(last) = page.last() else { break };
            after = last.seq;
            for row in page {
                check_row(&row, &before, found);
                match Uuid::try_parse(&row.id) {
                    Ok(id) if !ids.insert(id.as_u128()) => {
                        found.add(Some(&row), "is there twice: another entry has its id")
                    }
                    Ok(_) => {}
                    Err(_) => found.add(Some(&row), "has an id that is no UUID"),
                }
                found.count += 1;
                if expect == Some(row.hash.as_str()) {
                    found.expected_at = Some(row.seq);
                }
                before = Head { count: row.seq, hash: row.hash.clone() };
                keep_version(row, &mut versions);
            }
        }
        found.hash = before.hash.clone();
        match self.head_in(tx).await? {
            None => found.add(None, "the head is missing: how many entries there should be is not known"),
            Some(head) if head.count > before.count => found.add(
                None,
                format!(
                    "entries {} to {} are missing: the head counts {}, the last entry is {}",
                    before.count + 1,
                    head.count,
                    head.count,
                    before.count
                ),
            ),
            Some(head) if head != before => found.add(
                None,
                format!(
                    "the head does not agree with the last entry: it counts {} and says {}, the last entry is {} with {}",
                    head.count, head.hash, before.count, before.hash
                ),
            ),
            Some(_) => {}
        }
        Ok(versions)
    }

    /// The list of things, held against what the entries make of it.
    async fn check_things(
        &self,
        tx: &mut Transaction<'_, Any>,
        mut versions: Versions,
        found: &mut Verified,
    ) -> Result<(), BookError> {
        let mut after = (String::new(), String::new());
        loop {
            let mut sql = Sql::new(
                "SELECT t.kind, t.id, t.name, t.site, t.search, CAST(t.archived AS BIGINT), t.body, t.entry_id, t.seq, \
                 t.at_us, e.body FROM thing t LEFT JOIN entry e ON e.id = t.entry_id",
            );
            sql.add(
                " WHERE (t.kind, t.id) > (?, ?) ORDER BY t.kind, t.id LIMIT 500",
                [Arg::Text(after.0.clone()), Arg::Text(after.1.clone())],
            );
            let rows: Vec<ThingRow> = sql.rows().fetch_all(&mut **tx).await.map_err(|e| self.failed(e))?;
            let Some(last) = rows.last() else { break };
            after = (last.0.clone(), last.1.clone());
            for row in rows {
                let key = (row.0.clone(), row.1.clone());
                let newest = versions.remove(&key).as_deref().and_then(newest);
                if let Some(what) = disagrees(&row, newest.as_ref()) {
                    found.add(None, format!("the list of things: {} {} {what}", key.0, key.1));
                }
            }
        }
        for ((kind, id), all) in versions {
            if newest(&all).is_some() {
                found.add(None, format!("the list of things: {kind} {id} is missing from it"));
            }
        }
        Ok(())
    }
}

type ThingRow =
    (String, String, String, Option<String>, String, i64, String, String, i64, i64, Option<String>);

fn check_row(row: &Raw, before: &Head, found: &mut Verified) {
    let due = before.count + 1;
    if row.seq > due {
        let (first, last) = (due, row.seq - 1);
        let which = if first == last {
            format!("entry {first} is missing")
        } else {
            format!("entries {first} to {last} are missing")
        };
        found.add(Some(row), format!("{which} before it"));
    } else if row.seq < due {
        found.add(Some(row), format!("has a number where entry {due} belongs"));
    } else if row.previous != before.hash {
        found.add(
            Some(row),
            "does not follow the entry before it: one of the two was altered, exchanged or moved",
        );
    }
    if row.computed() != row.hash {
        found.add(Some(row), "was altered or moved: its content is not what its hash was made from");
    }
}

fn keep_version(row: Raw, versions: &mut Versions) {
    let (Some(kind), Some(subject)) = (Kind::from_id(&row.kind), row.subject) else { return };
    if kind.is_thing() {
        let withdrawal = row.corrects.is_some()
            && serde_json::from_str::<serde_json::Value>(&row.body)
                .is_ok_and(|b| b.get("withdrawn") == Some(&serde_json::Value::Bool(true)));
        versions.entry((row.kind, subject)).or_default().push(Version {
            id: row.id,
            at_us: row.at_us,
            seq: row.seq,
            corrects: row.corrects,
            withdrawal,
        });
    }
}

/// Id, number and time of the version that counts.
fn newest(versions: &[Version]) -> Option<(String, i64, i64)> {
    let corrected = |v: &Version| {
        versions.iter().any(|c| {
            c.corrects.as_ref() == Some(&v.id)
                || (v.corrects.is_some() && c.corrects == v.corrects && c.id > v.id)
        })
    };
    versions
        .iter()
        .filter(|v| !v.withdrawal && !corrected(v))
        .max_by(|a, b| (a.at_us, &a.id).cmp(&(b.at_us, &b.id)))
        .map(|v| (v.id.clone(), v.seq, v.at_us))
}

fn disagrees(row: &ThingRow, newest: Option<&(String, i64, i64)>) -> Option<&'static str> {
    let (kind, _, name, site, search, archived, body, entry, seq, at_us, recorded) = row;
    let Some((id, number, time)) = newest else { return Some("stands in it, and no entry says so") };
    if (entry, seq, at_us) != (id, number, time) {
        return Some("is not its newest version");
    }
    if recorded.as_ref() != Some(body) {
        return Some("says something else than its entry");
    }
    let value = serde_json::from_str(body).unwrap_or(serde_json::Value::Null);
    let made = Projected::of(Kind::from_id(kind)?, &value);
    let same = made.name == *name
        && made.site == *site
        && made.search == *search
        && made.archived == (*archived != 0);
    (!same).then_some("is listed under another name, site or state than its entry says")
}
