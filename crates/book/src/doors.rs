//! The doors' own tables: accounts, sessions, tokens, failed log-ins, idempotency keys.
//!
//! Beside the record, not in it: not chained, not exported. What comes in is hashed already; whoever reads these tables
//! can open nothing with them. The rules (how long a session lasts, who may what) are the caller's.

use crate::error::BookError;
use crate::open::{Book, Engine};
use crate::sql::{Arg, Sql};
use uuid::Uuid;

/// Somebody who can log in.
#[derive(Clone, PartialEq, Eq)]
pub struct Account {
    /// The person of the book.
    pub person: Uuid,
    /// The name that is typed.
    pub login: String,
    /// The password's hash, with its parameters (PHC text).
    pub password: String,
    /// Whether it is closed.
    pub disabled: bool,
    /// When it was made, microseconds since 1970 UTC.
    pub made_us: i64,
}

/// Not even the hash shows in a log.
impl std::fmt::Debug for Account {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Account")
            .field("person", &self.person)
            .field("login", &self.login)
            .field("disabled", &self.disabled)
            .finish_non_exhaustive()
    }
}

/// A browser that is logged in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub person: Uuid,
    /// Since when, microseconds since 1970 UTC.
    pub made_us: i64,
    /// When it was last used (kept to some minutes), microseconds since 1970 UTC.
    pub seen_us: i64,
    /// The network address that it was made from.
    pub address: String,
}

/// A script's way in, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    /// Its id, to revoke it by.
    pub id: Uuid,
    /// Whose it is.
    pub person: Uuid,
    /// What it is for, in their words.
    pub name: String,
    /// Whether it can only read.
    pub reads_only: bool,
    /// When it was made, microseconds since 1970 UTC.
    pub made_us: i64,
    /// When it was last used (kept to some minutes).
    pub seen_us: Option<i64>,
    /// When it ends.
    pub ends_us: i64,
}

/// Failed log-ins in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Attempts {
    /// How many.
    pub failed: i64,
    /// Nobody comes in under this name before, microseconds since 1970 UTC.
    pub until_us: i64,
}

/// What was answered to a request with an idempotency key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// The hash of the request.
    pub request_hash: String,
    /// The status.
    pub status: u16,
    /// The body.
    pub answer: String,
}

type AccountRow = (String, String, String, i64, i64);
type TokenRow = (String, String, String, i64, i64, Option<i64>, i64);

const ACCOUNT: &str = "SELECT person, login, password, CAST(disabled AS BIGINT), made_us FROM account";
const TOKEN: &str =
    "SELECT id, person, name, CAST(reads_only AS BIGINT), made_us, seen_us, ends_us FROM token";

fn text(id: Uuid) -> Arg {
    Arg::Text(id.to_string())
}

impl Book {
    /// Whether anybody has an account.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn has_accounts(&self) -> Result<bool, BookError> {
        Ok(!self.accounts_of(" ORDER BY login LIMIT 1", []).await?.is_empty())
    }

    /// Every account, by name.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn accounts(&self) -> Result<Vec<Account>, BookError> {
        self.accounts_of(" ORDER BY login", []).await
    }

    /// The account of this name.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn account(&self, login: &str) -> Result<Option<Account>, BookError> {
        Ok(self.accounts_of(" WHERE login = ?", [Arg::Text(login.into())]).await?.pop())
    }

    /// The account of this person.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn account_of(&self, person: Uuid) -> Result<Option<Account>, BookError> {
        Ok(self.accounts_of(" WHERE person = ?", [text(person)]).await?.pop())
    }

    async fn accounts_of(
        &self,
        which: &str,
        args: impl IntoIterator<Item = Arg>,
    ) -> Result<Vec<Account>, BookError> {
        let mut sql = Sql::new(ACCOUNT);
        sql.add(which, args);
        let rows: Vec<AccountRow> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        rows.into_iter()
            .map(|(person, login, password, disabled, made_us)| {
                let person = self.id_of(&person)?;
                Ok(Account { person, login, password, disabled: disabled != 0, made_us })
            })
            .collect()
    }

    /// Keeps an account: a new one, or in place of the person's last one.
    ///
    /// # Errors
    /// [`BookError::Question`] if another person has the name; others if the book cannot be written.
    pub async fn set_account(&self, account: &Account) -> Result<(), BookError> {
        if let Some(other) = self.account(&account.login).await?
            && other.person != account.person
        {
            return Err(BookError::Question {
                field: "login",
                what: format!("\"{}\" is taken", account.login),
                accepted: "a name that nobody else logs in with is accepted".into(),
            });
        }
        self.write(
            "INSERT INTO account (person, login, password, disabled, made_us) VALUES (?, ?, ?, ?, ?) \
             ON CONFLICT (person) DO UPDATE SET login = excluded.login, password = excluded.password, \
             disabled = excluded.disabled",
            [
                text(account.person),
                Arg::Text(account.login.clone()),
                Arg::Text(account.password.clone()),
                Arg::Int(i64::from(account.disabled)),
                Arg::Int(account.made_us),
            ],
        )
        .await
        .map(drop)
    }

    /// Keeps a new session under the hash of its secret.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn add_session(&self, hash: &str, session: &Session) -> Result<(), BookError> {
        self.write(
            "INSERT INTO session (hash, person, made_us, seen_us, address) VALUES (?, ?, ?, ?, ?)",
            [
                Arg::Text(hash.into()),
                text(session.person),
                Arg::Int(session.made_us),
                Arg::Int(session.seen_us),
                Arg::Text(session.address.clone()),
            ],
        )
        .await
        .map(drop)
    }

    /// The session with this hash.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn session(&self, hash: &str) -> Result<Option<Session>, BookError> {
        let mut sql = Sql::new("SELECT person, made_us, seen_us, address FROM session");
        sql.add(" WHERE hash = ?", [Arg::Text(hash.into())]);
        let row: Option<(String, i64, i64, String)> =
            sql.rows().fetch_optional(&self.pool).await.map_err(|e| self.failed(e))?;
        row.map(|(person, made_us, seen_us, address)| {
            Ok(Session { person: self.id_of(&person)?, made_us, seen_us, address })
        })
        .transpose()
    }

    /// Notes that a session was used.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn touch_session(&self, hash: &str, seen_us: i64) -> Result<(), BookError> {
        let args = [Arg::Int(seen_us), Arg::Text(hash.into())];
        self.write("UPDATE session SET seen_us = ? WHERE hash = ?", args).await.map(drop)
    }

    /// Ends a session.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn end_session(&self, hash: &str) -> Result<(), BookError> {
        self.write("DELETE FROM session WHERE hash = ?", [Arg::Text(hash.into())]).await.map(drop)
    }

    /// Ends every session of a person but the one with this hash; says how many.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn end_sessions(&self, person: Uuid, but: &str) -> Result<u64, BookError> {
        self.write(
            "DELETE FROM session WHERE person = ? AND hash <> ?",
            [text(person), Arg::Text(but.into())],
        )
        .await
    }

    /// Forgets sessions last used before the one moment or made before the other, and tokens that ended before the
    /// first: housekeeping.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn sweep_doors(
        &self,
        seen_before_us: i64,
        made_before_us: i64,
        answered_before_us: i64,
    ) -> Result<(), BookError> {
        self.write(
            "DELETE FROM session WHERE seen_us < ? OR made_us < ?",
            [Arg::Int(seen_before_us), Arg::Int(made_before_us)],
        )
        .await?;
        self.write("DELETE FROM attempt WHERE last_us < ?", [Arg::Int(answered_before_us)]).await?;
        self.write("DELETE FROM idempotency WHERE made_us < ?", [Arg::Int(answered_before_us)])
            .await
            .map(drop)
    }

    /// Keeps a new token under the hash of its secret.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn add_token(&self, hash: &str, token: &Token) -> Result<(), BookError> {
        self.write(
            "INSERT INTO token (id, hash, person, name, reads_only, made_us, ends_us) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [
                text(token.id),
                Arg::Text(hash.into()),
                text(token.person),
                Arg::Text(token.name.clone()),
                Arg::Int(i64::from(token.reads_only)),
                Arg::Int(token.made_us),
                Arg::Int(token.ends_us),
            ],
        )
        .await
        .map(drop)
    }

    /// The token with this hash.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn token(&self, hash: &str) -> Result<Option<Token>, BookError> {
        Ok(self.tokens_of(" WHERE hash = ?", Arg::Text(hash.into())).await?.pop())
    }

    /// The tokens of a person, oldest first.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn tokens(&self, person: Uuid) -> Result<Vec<Token>, BookError> {
        self.tokens_of(" WHERE person = ? ORDER BY made_us, id", text(person)).await
    }

    async fn tokens_of(&self, which: &str, arg: Arg) -> Result<Vec<Token>, BookError> {
        let mut sql = Sql::new(TOKEN);
        sql.add(which, [arg]);
        let rows: Vec<TokenRow> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        rows.into_iter()
            .map(|(id, person, name, reads_only, made_us, seen_us, ends_us)| {
                let (id, person) = (self.id_of(&id)?, self.id_of(&person)?);
                Ok(Token { id, person, name, reads_only: reads_only != 0, made_us, seen_us, ends_us })
            })
            .collect()
    }

    /// Notes that a token was used.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn touch_token(&self, id: Uuid, seen_us: i64) -> Result<(), BookError> {
        self.write("UPDATE token SET seen_us = ? WHERE id = ?", [Arg::Int(seen_us), text(id)]).await.map(drop)
    }

    /// Revokes a token of a person; says whether there was one.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn revoke_token(&self, person: Uuid, id: Uuid) -> Result<bool, BookError> {
        let args = [text(id), text(person)];
        Ok(self.write("DELETE FROM token WHERE id = ? AND person = ?", args).await? > 0)
    }

    /// Revokes every token of a person; says how many.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn revoke_tokens(&self, person: Uuid) -> Result<u64, BookError> {
        self.write("DELETE FROM token WHERE person = ?", [text(person)]).await
    }

    /// Failed log-ins in a row under a name's hash.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn attempts(&self, login_hash: &str) -> Result<Attempts, BookError> {
        let mut sql = Sql::new("SELECT failed, until_us FROM attempt");
        sql.add(" WHERE login_hash = ?", [Arg::Text(login_hash.into())]);
        let row: Option<(i64, i64)> =
            sql.rows().fetch_optional(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(row.map_or_else(Attempts::default, |(failed, until_us)| Attempts { failed, until_us }))
    }

    /// One more failed log-in: counts it in the database, so that two at once count as two. Says how many in a row.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn count_failure(&self, login_hash: &str, now_us: i64) -> Result<i64, BookError> {
        let _in_line = self.turn().await;
        let mut sql = Sql::new("INSERT INTO attempt (login_hash, failed, last_us, until_us)");
        sql.add(
            " VALUES (?, 1, ?, 0) ON CONFLICT (login_hash) DO UPDATE SET failed = attempt.failed + 1, \
             last_us = excluded.last_us RETURNING failed",
            [Arg::Text(login_hash.into()), Arg::Int(now_us)],
        );
        let (failed,): (i64,) = sql.rows().fetch_one(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(failed)
    }

    /// Nobody comes in under this name before `until_us`.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn lock_out(&self, login_hash: &str, until_us: i64) -> Result<(), BookError> {
        let args = [Arg::Int(until_us), Arg::Text(login_hash.into())];
        self.write("UPDATE attempt SET until_us = ? WHERE login_hash = ?", args).await.map(drop)
    }

    /// Forgets the failed log-ins under a name: somebody came in.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn forget_failures(&self, login_hash: &str) -> Result<(), BookError> {
        self.write("DELETE FROM attempt WHERE login_hash = ?", [Arg::Text(login_hash.into())]).await.map(drop)
    }

    /// What was answered under an idempotency key's hash.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn answered(&self, key_hash: &str) -> Result<Option<Answered>, BookError> {
        let mut sql = Sql::new("SELECT request_hash, status, answer FROM idempotency");
        sql.add(" WHERE key_hash = ?", [Arg::Text(key_hash.into())]);
        let row: Option<(String, i64, String)> =
            sql.rows().fetch_optional(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(row.map(|(request_hash, status, answer)| Answered {
            request_hash,
            status: u16::try_from(status).unwrap_or(500),
            answer,
        }))
    }

    /// Keeps what was answered; the first answer stays.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be written.
    pub async fn keep_answer(
        &self,
        key_hash: &str,
        answered: &Answered,
        now_us: i64,
    ) -> Result<(), BookError> {
        self.write(
            "INSERT INTO idempotency (key_hash, request_hash, status, answer, made_us) VALUES (?, ?, ?, ?, ?) \
             ON CONFLICT (key_hash) DO NOTHING",
            [
                Arg::Text(key_hash.into()),
                Arg::Text(answered.request_hash.clone()),
                Arg::Int(i64::from(answered.status)),
                Arg::Text(answered.answer.clone()),
                Arg::Int(now_us),
            ],
        )
        .await
        .map(drop)
    }

    pub(crate) async fn turn(&self) -> Option<tokio::sync::MutexGuard<'_, ()>> {
        match self.engine {
            Engine::Sqlite => Some(self.writer.lock().await),
            Engine::Postgres => None,
        }
    }

    async fn write(&self, command: &str, args: impl IntoIterator<Item = Arg>) -> Result<u64, BookError> {
        let _in_line = self.turn().await;
        let mut sql = Sql::default();
        sql.add(command, args);
        let done = sql.command().execute(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(done.rows_affected())
    }

    fn id_of(&self, text: &str) -> Result<Uuid, BookError> {
        Uuid::try_parse(text).map_err(|_| BookError::Damaged {
            place: self.shown(),
            said: "the doors' tables hold something else where an id belongs".into(),
        })
    }
}
