//! Reading entries back, each with the one that stands instead of it now.

use crate::entry::{Entry, Filter};
use crate::error::BookError;
use crate::kind::{self, Kind};
use crate::open::Book;
use crate::sql::{Arg, Sql, holding};
use uuid::Uuid;

/// A row of [`ENTRY`].
pub(crate) type Row = (
    i64,
    String,
    String,
    Option<String>,
    i64,
    i64,
    Option<String>,
    Option<String>,
    String,
    String,
    Option<String>,
);

/// Which entry counts instead of `e`: the last made of those that correct it, or of those that correct the same one as it
/// does. A correction of another kind or subject has no effect; it can only have come before the entry that it names.
macro_rules! corrected_by {
    () => {
        "COALESCE(
           (SELECT MAX(c.id) FROM entry c WHERE c.corrects = e.id AND c.kind = e.kind
             AND COALESCE(c.subject, '') = COALESCE(e.subject, '')),
           (SELECT MAX(s.id) FROM entry s WHERE s.corrects = e.corrects AND s.id > e.id AND s.kind = e.kind
             AND COALESCE(s.subject, '') = COALESCE(e.subject, '')))"
    };
}

/// The columns of an entry, from `entry e`.
pub(crate) const ENTRY: &str = concat!(
    "SELECT e.seq, e.id, e.kind, e.subject, e.at_us, e.received_us, e.by_person, e.corrects, e.body, e.hash, ",
    corrected_by!(),
    " AS corrected_by FROM entry e"
);

/// That nothing counts instead of it.
pub(crate) const NOT_CORRECTED: &str = concat!(corrected_by!(), " IS NULL");

/// How many entries are read if no limit is given.
const USUAL_LIMIT: u32 = 100;

impl Book {
    /// The entries that pass the filter, in order of receipt.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn entries(&self, filter: &Filter) -> Result<Vec<Entry>, BookError> {
        let mut sql = Sql::new(ENTRY);
        sql.add(" WHERE 1 = 1", []);
        if let Some(subject) = filter.subject {
            sql.add(" AND e.subject = ?", [Arg::Text(subject.to_string())]);
        }
        if !filter.kinds.is_empty() {
            sql.add(" AND ", []);
            sql.one_of("e.kind", filter.kinds.iter().map(|k| k.id().to_owned()));
        }
        for (condition, value) in [
            (" AND e.at_us >= ?", filter.from_us),
            (" AND e.at_us <= ?", filter.to_us),
            (" AND e.seq > ?", filter.after_seq),
            (" AND e.seq < ?", filter.before_seq),
        ] {
            if let Some(value) = value {
                sql.add(condition, [Arg::Int(value)]);
            }
        }
        if let Some(by) = filter.by {
            sql.add(" AND e.by_person = ?", [Arg::Text(by.to_string())]);
        }
        if let Some(text) = &filter.text {
            sql.add(" AND LOWER(e.body) LIKE ? ESCAPE '\\'", [Arg::Text(holding(text))]);
        }
        let order = if filter.newest_first { " ORDER BY e.seq DESC" } else { " ORDER BY e.seq" };
        sql.add(order, []);
        sql.add(" LIMIT ?", [Arg::Int(i64::from(filter.limit.unwrap_or(USUAL_LIMIT)))]);
        let mut entries = self.entries_of(&sql).await?;
        entries.sort_by_key(|e| if filter.newest_first { -e.seq } else { e.seq });
        Ok(entries)
    }

    /// One entry, if it is there.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn entry(&self, id: Uuid) -> Result<Option<Entry>, BookError> {
        let mut sql = Sql::new(ENTRY);
        sql.add(" WHERE e.id = ?", [Arg::Text(id.to_string())]);
        Ok(self.entries_of(&sql).await?.pop())
    }

    /// What counts of that which happened to a tub, oldest first.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn history(&self, tub: Uuid) -> Result<Vec<Entry>, BookError> {
        self.history_between(tub, i64::MIN, i64::MAX).await
    }

    /// The same from one moment to another, both included.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn history_between(
        &self,
        tub: Uuid,
        from_us: i64,
        to_us: i64,
    ) -> Result<Vec<Entry>, BookError> {
        let happenings: Vec<Kind> = kind::ALL.into_iter().filter(|k| k.is_happening()).collect();
        self.history_of(tub, &happenings, from_us, to_us).await
    }

    /// The same of some kinds alone: whoever asks what the water is need not fetch pictures of a mebibyte each.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn history_of(
        &self,
        tub: Uuid,
        kinds: &[Kind],
        from_us: i64,
        to_us: i64,
    ) -> Result<Vec<Entry>, BookError> {
        let mut sql = Sql::new(ENTRY);
        sql.add(
            " WHERE e.subject = ? AND e.at_us >= ? AND e.at_us <= ? AND ",
            [Arg::Text(tub.to_string()), Arg::Int(from_us), Arg::Int(to_us)],
        );
        sql.one_of("e.kind", kinds.iter().map(|k| k.id().to_owned()));
        sql.add(" AND ", []);
        sql.add(NOT_CORRECTED, []);
        let mut entries = self.entries_of(&sql).await?;
        entries.retain(Entry::is_effective);
        entries.sort_by_key(|e| (e.at_us, e.id));
        Ok(entries)
    }

    /// The last entries of a kind about a tub before a moment, newest first; `condition` is text of ours about `e`.
    pub(crate) async fn last_before(
        &self,
        tub: Uuid,
        kind: Kind,
        condition: &'static str,
        before_us: i64,
        most: usize,
    ) -> Result<Vec<Entry>, BookError> {
        let mut sql = Sql::new(ENTRY);
        sql.add(
            " WHERE e.subject = ? AND e.kind = ? AND e.at_us < ? AND ",
            [Arg::Text(tub.to_string()), Arg::Text(kind.id().to_owned()), Arg::Int(before_us)],
        );
        sql.add(NOT_CORRECTED, []);
        sql.add(condition, []);
        sql.add(
            " ORDER BY e.at_us DESC, e.id DESC LIMIT ?",
            [Arg::Int(i64::try_from(most).unwrap_or(i64::MAX))],
        );
        let mut entries = self.entries_of(&sql).await?;
        entries.retain(Entry::is_effective);
        entries.sort_by_key(|e| std::cmp::Reverse((e.at_us, e.id)));
        Ok(entries)
    }

    /// The versions of a thing that count, oldest first.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn versions(&self, kind: Kind, id: Uuid) -> Result<Vec<Entry>, BookError> {
        let mut entries = self.entries_of(&versions(kind, &id.to_string())).await?;
        entries.retain(Entry::is_effective);
        entries.sort_by_key(|e| (e.at_us, e.id));
        Ok(entries)
    }

    /// The entries of a question that begins with [`ENTRY`], in no order that is sure: whoever asks sorts them.
    ///
    /// They come as one text, because a row costs the two-engine driver far more than the engine. A control character
    /// stands in no body (JSON writes it otherwise) and in nothing else of an entry, so it can part them.
    pub(crate) async fn entries_of(&self, sql: &Sql) -> Result<Vec<Entry>, BookError> {
        let (before, after) = (
            "SELECT COALESCE(string_agg(q.seq || '\x1f' || q.id || '\x1f' || q.kind || '\x1f' || COALESCE(q.subject, '') \
             || '\x1f' || q.at_us || '\x1f' || q.received_us || '\x1f' || COALESCE(q.by_person, '') || '\x1f' \
             || COALESCE(q.corrects, '') || '\x1f' || q.body || '\x1f' || q.hash || '\x1f' \
             || COALESCE(q.corrected_by, ''), '\x1e'), '') FROM (",
            ") q",
        );
        let rows: Vec<(String,)> =
            sql.within(before, after).rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        let text = rows.first().map_or("", |(text,)| text.as_str());
        let parted = text.split('\x1e').filter(|row| !row.is_empty());
        parted.map(|row| self.entry_of(self.row_of(row)?)).collect()
    }

    fn row_of(&self, text: &str) -> Result<Row, BookError> {
        let fields: Vec<&str> = text.split('\x1f').collect();
        let damaged = || BookError::Damaged {
            place: self.shown(),
            said: format!(
                "entry {} holds a control character; `tubwright book verify` tells more",
                fields.first().unwrap_or(&"?")
            ),
        };
        let [seq, id, kind, subject, at_us, received_us, by, corrects, body, hash, corrected_by] =
            <[&str; 11]>::try_from(fields.as_slice()).map_err(|_| damaged())?;
        let number = |text: &str| text.parse::<i64>().map_err(|_| damaged());
        let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Ok((
            number(seq)?,
            id.to_owned(),
            kind.to_owned(),
            some(subject),
            number(at_us)?,
            number(received_us)?,
            some(by),
            some(corrects),
            body.to_owned(),
            hash.to_owned(),
            some(corrected_by),
        ))
    }

    pub(crate) fn entry_of(&self, row: Row) -> Result<Entry, BookError> {
        let (seq, id, kind, subject, at_us, received_us, by, corrects, body, hash, corrected_by) = row;
        let damaged = |what: String| BookError::Damaged {
            place: self.shown(),
            said: format!("entry {seq} {what}; `tubwright book verify` tells more"),
        };
        let uuid = |text: &str| {
            Uuid::try_parse(text).map_err(|_| damaged(format!("holds {text:?} where an id belongs")))
        };
        let some = |text: Option<String>| text.as_deref().map(uuid).transpose();
        Ok(Entry {
            seq,
            id: uuid(&id)?,
            kind: Kind::from_id(&kind).ok_or_else(|| damaged(format!("is of the unknown kind {kind:?}")))?,
            subject: some(subject)?,
            at_us,
            received_us,
            by: some(by)?,
            corrects: some(corrects)?,
            corrected_by: some(corrected_by)?,
            body: serde_json::from_str(&body)
                .map_err(|e| damaged(format!("has a body that is no JSON: {e}")))?,
            hash,
        })
    }
}

/// Every version of a thing that nothing corrects, oldest first, withdrawals among them.
pub(crate) fn versions(kind: Kind, subject: &str) -> Sql {
    let mut sql = Sql::new(ENTRY);
    sql.add(
        " WHERE e.subject = ? AND e.kind = ? AND ",
        [Arg::Text(subject.to_owned()), Arg::Text(kind.id().to_owned())],
    );
    sql.add(NOT_CORRECTED, []);
    sql.add(" ORDER BY e.at_us, e.id", []);
    sql
}
