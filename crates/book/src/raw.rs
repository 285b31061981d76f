//! Entries as they stand in the table, byte for byte: for whatever checks or copies the record.

use crate::chain::Link;
use crate::error::BookError;
use crate::open::{Book, Engine};
use crate::record::Head;
use crate::sql::{Arg, Sql};
use sqlx::{Any, Transaction};

/// How many entries are read at once.
const PAGE: i64 = 1000;

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Raw {
    pub(crate) seq: i64,
    pub(crate) id: String,
    pub(crate) kind: String,
    pub(crate) subject: Option<String>,
    pub(crate) at_us: i64,
    pub(crate) received_us: i64,
    pub(crate) by: Option<String>,
    pub(crate) corrects: Option<String>,
    pub(crate) body: String,
    pub(crate) previous: String,
    pub(crate) hash: String,
}

type Row =
    (i64, String, String, Option<String>, i64, i64, Option<String>, Option<String>, String, String, String);

impl Raw {
    /// The hash that its fields make.
    pub(crate) fn computed(&self) -> String {
        Link {
            previous: &self.previous,
            seq: self.seq,
            id: &self.id,
            kind: &self.kind,
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

impl From<Row> for Raw {
    fn from(row: Row) -> Raw {
        let (seq, id, kind, subject, at_us, received_us, by, corrects, body, previous, hash) = row;
        Raw { seq, id, kind, subject, at_us, received_us, by, corrects, body, previous, hash }
    }
}

impl Book {
    /// A transaction that sees the book as it was at its beginning, whatever is recorded meanwhile.
    pub(crate) async fn snapshot(&self) -> Result<Transaction<'static, Any>, BookError> {
        let begin = match self.engine {
            Engine::Sqlite => "BEGIN",
            Engine::Postgres => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        };
        self.pool.begin_with(begin).await.map_err(|e| self.failed(e))
    }

    /// The head as the transaction sees it; `None` if its row is gone.
    pub(crate) async fn head_in(&self, tx: &mut Transaction<'_, Any>) -> Result<Option<Head>, BookError> {
        let row: Option<(i64, String)> = sqlx::query_as("SELECT count, hash FROM head WHERE one = 1")
            .fetch_optional(&mut **tx)
            .await
            .map_err(|e| self.failed(e))?;
        Ok(row.map(|(count, hash)| Head { count, hash }))
    }

    /// The next rows after a number; none at the end.
    pub(crate) async fn page(
        &self,
        tx: &mut Transaction<'_, Any>,
        after_seq: i64,
    ) -> Result<Vec<Raw>, BookError> {
        let mut sql = Sql::new(
            "SELECT seq, id, kind, subject, at_us, received_us, by_person, corrects, body, previous, hash FROM entry",
        );
        sql.add(" WHERE seq > ? ORDER BY seq LIMIT ?", [Arg::Int(after_seq), Arg::Int(PAGE)]);
        let rows: Vec<Row> = sql.rows().fetch_all(&mut **tx).await.map_err(|e| self.failed(e))?;
        Ok(rows.into_iter().map(Raw::from).collect())
    }
}
