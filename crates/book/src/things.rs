//! Things: tubs, sites, source waters, shelves, methods, bands, people. The newest version that counts is the thing.
//!
//! The table `thing` is made from the entries in the same transaction as the entry, for quick lists and search.
//! "Newest" is by when the version was made, not by when it was received: a phone may send late.

use crate::entry::Entry;
use crate::error::BookError;
use crate::kind::{ALL as KINDS, Kind};
use crate::open::Book;
use crate::read::{Row, versions};
use crate::sql::{Arg, Sql, holding};
use serde_json::Value;
use sqlx::{Any, Transaction};
use uuid::Uuid;

/// A thing as it is now.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// Its id.
    pub id: Uuid,
    /// What it is.
    pub kind: Kind,
    /// What it is called.
    pub name: String,
    /// The site that it belongs to.
    pub site: Option<Uuid>,
    /// Whether it is no longer used.
    pub archived: bool,
    /// Its newest version.
    pub body: Value,
    /// The entry that the version stands in.
    pub entry: Uuid,
    /// That entry's number.
    pub seq: i64,
    /// When the version was made, microseconds since 1970 UTC.
    pub at_us: i64,
}

/// Which things to read. What is left as default does not restrict.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ThingFilter {
    /// With this text in name, address, owner or note.
    pub text: Option<String>,
    /// Of this site.
    pub site: Option<Uuid>,
    /// Only those in use (`false`) or no longer used (`true`).
    pub archived: Option<bool>,
    /// After this thing in the order of the list (by name), for the next page.
    pub after: Option<Uuid>,
    /// At most so many; 100 if absent.
    pub limit: Option<u32>,
}

type ThingRow = (String, String, String, Option<String>, i64, String, String, i64, i64);

const THING: &str = "SELECT t.kind, t.id, t.name, t.site, CAST(t.archived AS BIGINT), t.body, t.entry_id, t.seq, t.at_us FROM thing t";

/// What a thing is found by, from its body.
pub(crate) struct Projected {
    pub(crate) name: String,
    pub(crate) site: Option<String>,
    pub(crate) search: String,
    pub(crate) archived: bool,
}

impl Projected {
    pub(crate) fn of(kind: Kind, body: &Value) -> Projected {
        let text = |field: &str| body.get(field).and_then(Value::as_str).unwrap_or_default();
        let name = match (text("name"), kind) {
            ("", Kind::Method) => text("id"),
            ("", Kind::SourceWater) => "source water",
            (name, _) => name,
        };
        let words = [name, text("address"), text("owner_name"), text("note"), text("id")];
        let search: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
        Projected {
            name: on_one_line(name),
            site: body.get("site").and_then(Value::as_str).map(|s| s.to_lowercase()),
            search: on_one_line(&search.join(" ").to_lowercase()),
            archived: body.get("archived") == Some(&Value::Bool(true)),
        }
    }
}

/// Without control characters, which one of the engines cannot hold.
fn on_one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

impl Book {
    /// A thing as it is now, if there is one.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn thing(&self, kind: Kind, id: Uuid) -> Result<Option<Thing>, BookError> {
        let mut sql = Sql::new(THING);
        sql.add(" WHERE t.kind = ? AND t.id = ?", [Arg::Text(kind.id().into()), Arg::Text(id.to_string())]);
        Ok(self.things_of(&sql).await?.pop())
    }

    /// Things of any kind by their ids, in no order that is sure.
    pub(crate) async fn things_named(&self, ids: Vec<Uuid>) -> Result<Vec<Thing>, BookError> {
        if ids.is_empty() {
            return Ok(Vec::new());
        }
        let mut sql = Sql::new(THING);
        sql.add(" WHERE ", []);
        // The key begins with the kind.
        sql.one_of("t.kind", KINDS.iter().filter(|k| k.is_thing()).map(|k| k.id().to_owned()));
        sql.add(" AND ", []);
        sql.one_of("t.id", ids.iter().map(Uuid::to_string));
        self.things_of(&sql).await
    }

    /// Things of one kind, by name.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn things(&self, kind: Kind, filter: &ThingFilter) -> Result<Vec<Thing>, BookError> {
        let mut sql = Sql::new(THING);
        sql.add(" WHERE t.kind = ?", [Arg::Text(kind.id().into())]);
        if let Some(text) = &filter.text {
            sql.add(" AND t.search LIKE ? ESCAPE '\\'", [Arg::Text(holding(text))]);
        }
        if let Some(site) = filter.site {
            sql.add(" AND t.site = ?", [Arg::Text(site.to_string())]);
        }
        if let Some(archived) = filter.archived {
            sql.add(" AND t.archived = ?", [Arg::Int(i64::from(archived))]);
        }
        if let Some(after) = filter.after {
            sql.add(
                " AND (t.search, t.id) > (SELECT a.search, a.id FROM thing a WHERE a.kind = ? AND a.id = ?)",
                [Arg::Text(kind.id().into()), Arg::Text(after.to_string())],
            );
        }
        sql.add(" ORDER BY t.search, t.id LIMIT ?", [Arg::Int(i64::from(filter.limit.unwrap_or(100)))]);
        self.things_of(&sql).await
    }

    async fn things_of(&self, sql: &Sql) -> Result<Vec<Thing>, BookError> {
        let rows: Vec<ThingRow> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        rows.into_iter().map(|row| self.thing_of(row)).collect()
    }

    fn thing_of(&self, row: ThingRow) -> Result<Thing, BookError> {
        let (kind, id, name, site, archived, body, entry, seq, at_us) = row;
        let damaged = || BookError::Damaged {
            place: self.shown(),
            said: format!("the list of things is not sound at {id}; `tubwright book verify` tells more"),
        };
        let uuid = |text: &str| Uuid::try_parse(text).map_err(|_| damaged());
        Ok(Thing {
            id: uuid(&id)?,
            kind: Kind::from_id(&kind).ok_or_else(damaged)?,
            name,
            // A body may name a site in capital letters; what is no id was refused at the door.
            site: site.as_deref().map(uuid).transpose()?,
            archived: archived != 0,
            body: serde_json::from_str(&body).map_err(|_| damaged())?,
            entry: uuid(&entry)?,
            seq,
            at_us,
        })
    }

    /// Makes the row of a thing anew from its entries.
    pub(crate) async fn project(
        &self,
        tx: &mut Transaction<'_, Any>,
        kind: Kind,
        id: &str,
    ) -> Result<(), BookError> {
        let rows: Vec<Row> =
            versions(kind, id).rows().fetch_all(&mut **tx).await.map_err(|e| self.failed(e))?;
        let mut newest: Option<(Entry, String)> = None;
        for row in rows {
            let body = row.8.clone();
            let entry = self.entry_of(row)?;
            if entry.is_effective() {
                newest = Some((entry, body));
            }
        }
        match newest {
            None => {
                let mut sql = Sql::new("DELETE FROM thing");
                sql.add(" WHERE kind = ? AND id = ?", [Arg::Text(kind.id().into()), Arg::Text(id.into())]);
                sql.command().execute(&mut **tx).await.map_err(|e| self.failed(e))?;
            }
            Some((entry, body)) => {
                let row = Projected::of(kind, &entry.body);
                sqlx::query(
                    "INSERT INTO thing (kind, id, name, site, search, body, entry_id, seq, at_us, archived) \
                     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) \
                     ON CONFLICT (kind, id) DO UPDATE SET name = excluded.name, site = excluded.site, \
                     search = excluded.search, body = excluded.body, entry_id = excluded.entry_id, \
                     seq = excluded.seq, at_us = excluded.at_us, archived = excluded.archived",
                )
                .bind(kind.id())
                .bind(id.to_owned())
                .bind(row.name)
                .bind(row.site)
                .bind(row.search)
                .bind(body)
                .bind(entry.id.to_string())
                .bind(entry.seq)
                .bind(entry.at_us)
                .bind(i32::from(row.archived))
                .execute(&mut **tx)
                .await
                .map_err(|e| self.failed(e))?;
            }
        }
        Ok(())
    }
}
