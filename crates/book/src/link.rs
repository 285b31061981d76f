//! Private links: who holds one sees the sheet of one tub and may send a reading, until it expires or is revoked.
//!
//! The book keeps the SHA-256 of the secret alone. A secret of 256 random bits needs no slower hash: there is nothing to
//! guess. Not a part of the record: nobody verifies or exports it.

use crate::error::BookError;
use crate::open::Book;
use crate::sql::{Arg, Sql};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// A private link, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Its id.
    pub id: Uuid,
    /// The tub whose sheet it shows.
    pub tub: Uuid,
    /// When it was made, microseconds since 1970 UTC.
    pub made_us: i64,
    /// Who made it.
    pub made_by: Option<Uuid>,
    /// From when on it shows nothing, microseconds since 1970 UTC.
    pub expires_us: i64,
    /// When it was revoked, if it was.
    pub revoked_us: Option<i64>,
}

impl Link {
    /// Whether it opens the sheet at a moment.
    pub fn opens(&self, now_us: i64) -> bool {
        self.revoked_us.is_none() && now_us < self.expires_us
    }
}

type LinkRow = (String, String, i64, Option<String>, i64, Option<i64>);

const LINK: &str = "SELECT id, tub, made_us, made_by, expires_us, revoked_us FROM link";
const HOUR_US: i64 = 3_600_000_000;

fn hash(secret: &str) -> String {
    Sha256::digest(secret.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Book {
    /// Keeps a link; its secret is hashed here and not kept. The same id again changes nothing: `false`.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn add_link(&self, link: &Link, secret: &str) -> Result<bool, BookError> {
        let _in_line = self.turn().await;
        let done = sqlx::query(
            "INSERT INTO link (id, tub, hash, made_us, made_by, expires_us, revoked_us, hour_us, sent) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, 0, 0) ON CONFLICT (id) DO NOTHING",
        )
        .bind(link.id.to_string())
        .bind(link.tub.to_string())
        .bind(hash(secret))
        .bind(link.made_us)
        .bind(link.made_by.map(|id| id.to_string()))
        .bind(link.expires_us)
        .bind(link.revoked_us)
        .execute(&self.pool)
        .await
        .map_err(|e| self.failed(e))?;
        Ok(done.rows_affected() > 0)
    }

    /// The link with this secret, whether or not it still opens anything.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn link(&self, secret: &str) -> Result<Option<Link>, BookError> {
        let mut sql = Sql::new(LINK);
        sql.add(" WHERE hash = ?", [Arg::Text(hash(secret))]);
        Ok(self.links_of(&sql).await?.pop())
    }

    /// The links of a tub, the newest first.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn links(&self, tub: Uuid) -> Result<Vec<Link>, BookError> {
        let mut sql = Sql::new(LINK);
        sql.add(" WHERE tub = ? ORDER BY made_us DESC, id DESC LIMIT 100", [Arg::Text(tub.to_string())]);
        self.links_of(&sql).await
    }

    /// Revokes a link of a tub. Whether there was one to revoke.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn revoke_link(&self, tub: Uuid, id: Uuid, now_us: i64) -> Result<bool, BookError> {
        let _in_line = self.turn().await;
        let done =
            sqlx::query("UPDATE link SET revoked_us = $1 WHERE id = $2 AND tub = $3 AND revoked_us IS NULL")
                .bind(now_us)
                .bind(id.to_string())
                .bind(tub.to_string())
                .execute(&self.pool)
                .await
                .map_err(|e| self.failed(e))?;
        Ok(done.rows_affected() > 0)
    }

    /// Counts one more sending by a link. `false` if there were `most` within the hour already: it is not counted then.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn count_sending(&self, id: Uuid, now_us: i64, most: i64) -> Result<bool, BookError> {
        let _in_line = self.turn().await;
        let done = sqlx::query(
            "UPDATE link SET sent = CASE WHEN hour_us <= $1 THEN 1 ELSE sent + 1 END, \
             hour_us = CASE WHEN hour_us <= $2 THEN $3 ELSE hour_us END \
             WHERE id = $4 AND (hour_us <= $5 OR sent < $6)",
        )
        .bind(now_us - HOUR_US)
        .bind(now_us - HOUR_US)
        .bind(now_us)
        .bind(id.to_string())
        .bind(now_us - HOUR_US)
        .bind(most)
        .execute(&self.pool)
        .await
        .map_err(|e| self.failed(e))?;
        Ok(done.rows_affected() > 0)
    }

    async fn links_of(&self, sql: &Sql) -> Result<Vec<Link>, BookError> {
        let rows: Vec<LinkRow> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        let uuid = |text: &str| {
            Uuid::try_parse(text).map_err(|_| BookError::Damaged {
                place: self.shown(),
                said: format!("the list of private links holds {text:?} where an id belongs"),
            })
        };
        rows.into_iter()
            .map(|(id, tub, made_us, made_by, expires_us, revoked_us)| {
                let made_by = made_by.as_deref().map(uuid).transpose()?;
                Ok(Link { id: uuid(&id)?, tub: uuid(&tub)?, made_us, made_by, expires_us, revoked_us })
            })
            .collect()
    }
}
