//! Summaries: what was last worked out about each tub, so that a list of a thousand is quick.
//!
//! A cache, not a part of the record: whoever works out a tub's state puts it here, and nobody verifies or exports it.

use crate::error::BookError;
use crate::open::Book;
use crate::sql::{Arg, Sql, holding};
use serde_json::Value;
use uuid::Uuid;

/// What was worked out about a tub.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The tub.
    pub tub: Uuid,
    /// How much it needs a look; the most urgent come first.
    pub urgency: f64,
    /// When the next look is due, microseconds since 1970 UTC; `None` if nothing says so.
    pub due_us: Option<i64>,
    /// What a list shows of it.
    pub body: Value,
    /// When it was written, everybody's summary took into account the entries up to this one.
    pub seq: i64,
}

/// A summary with what the tub is called.
#[derive(Debug, Clone, PartialEq)]
pub struct Summarised {
    /// The summary.
    pub summary: Summary,
    /// The tub's name.
    pub name: String,
    /// The site that it stands at.
    pub site: Option<Uuid>,
}

/// Which summaries to read: of tubs that are in use.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SummaryFilter {
    /// With this text in the tub's name, address, owner or note.
    pub text: Option<String>,
    /// At most so many; 100 if absent.
    pub limit: Option<u32>,
    /// After this tub in the order of the list, for the next page.
    pub after: Option<Uuid>,
}

type SummaryRow = (String, f64, i64, String, i64, String, Option<String>);

impl Book {
    /// Keeps each summary in place of its tub's last one, all or none.
    ///
    /// # Errors
    /// [`BookError::Question`] if an urgency is not a number; others if the book cannot be written.
    pub async fn set_summaries(&self, summaries: &[Summary]) -> Result<(), BookError> {
        if let Some(wrong) = summaries.iter().find(|s| !s.urgency.is_finite()) {
            return Err(BookError::Question {
                field: "urgency",
                what: format!("of tub {} is {}", wrong.tub, wrong.urgency),
                accepted: "a finite number is accepted".into(),
            });
        }
        let _turn = self.writer.lock().await;
        let mut tx = self.pool.begin().await.map_err(|e| self.failed(e))?;
        for summary in summaries {
            sqlx::query(
                "INSERT INTO summary (tub, urgency, due_us, body, seq) VALUES ($1, $2, $3, $4, $5) \
                 ON CONFLICT (tub) DO UPDATE SET urgency = excluded.urgency, due_us = excluded.due_us, \
                 body = excluded.body, seq = excluded.seq",
            )
            .bind(summary.tub.to_string())
            .bind(summary.urgency)
            .bind(summary.due_us.unwrap_or(i64::MAX))
            .bind(summary.body.to_string())
            .bind(summary.seq)
            .execute(&mut *tx)
            .await
            .map_err(|e| self.failed(e))?;
        }
        tx.commit().await.map_err(|e| self.failed(e))
    }

    /// Summaries, the most urgent first, then by when the next look is due.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn summaries(&self, filter: &SummaryFilter) -> Result<Vec<Summarised>, BookError> {
        // CROSS JOIN: in SQLite it keeps this order of the tables, so that the list is read off the index of urgency and
        // ends when the page is full; otherwise every tub is read and sorted.
        let mut sql = Sql::new("SELECT s.tub, s.urgency, s.due_us, s.body, s.seq, t.name, t.site FROM ");
        if let Some(after) = filter.after {
            sql.add(
                "summary a CROSS JOIN summary s CROSS JOIN thing t WHERE a.tub = ? AND (s.urgency < a.urgency OR \
                 (s.urgency = a.urgency AND (s.due_us > a.due_us OR (s.due_us = a.due_us AND s.tub > a.tub)))) AND",
                [Arg::Text(after.to_string())],
            );
        } else {
            sql.add("summary s CROSS JOIN thing t WHERE", []);
        }
        sql.add(" t.kind = 'tub' AND t.id = s.tub AND t.archived = 0", []);
        if let Some(text) = &filter.text {
            sql.add(" AND t.search LIKE ? ESCAPE '\\'", [Arg::Text(holding(text))]);
        }
        sql.add(
            " ORDER BY s.urgency DESC, s.due_us, s.tub LIMIT ?",
            [Arg::Int(i64::from(filter.limit.unwrap_or(100)))],
        );
        let rows: Vec<SummaryRow> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(rows.into_iter().filter_map(summarised).collect())
    }

    /// The number of the entry up to which all summaries were worked out: what came later is still to be looked at.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn summarised_up_to(&self) -> Result<i64, BookError> {
        sqlx::query_scalar("SELECT COALESCE(MAX(seq), 0) FROM summary")
            .fetch_one(&self.pool)
            .await
            .map_err(|e| self.failed(e))
    }
}

/// A row that cannot be read is left out: it is a cache, and whoever fills it will write it again.
fn summarised(row: SummaryRow) -> Option<Summarised> {
    let (tub, urgency, due_us, body, seq, name, site) = row;
    let due_us = (due_us != i64::MAX).then_some(due_us);
    let summary = Summary {
        tub: Uuid::try_parse(&tub).ok()?,
        urgency,
        due_us,
        body: serde_json::from_str(&body).ok()?,
        seq,
    };
    Some(Summarised { summary, name, site: site.and_then(|s| Uuid::try_parse(&s).ok()) })
}
