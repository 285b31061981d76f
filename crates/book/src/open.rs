//! Opening a book: connections with the settings that keep what was acknowledged, and the schema brought up to date.

use crate::error::BookError;
use crate::group::Waiting;
use crate::place::{Mode, Place};
use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::migrate::{MigrateError, Migration, MigrationType, Migrator};
use sqlx::{AnyConnection, AnyPool, ConnectOptions, Connection, Executor, SqlSafeStr};
use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Mutex;

/// How long to wait for another program that holds the book.
pub(crate) const WAIT_S: u64 = 5;

/// How long a server may take to answer at first, s.
const CONNECT_S: u64 = 15;

/// Every step of the schema, oldest first. Steps that were released never change.
const MIGRATIONS: [(i64, &str, &str); 3] = [
    (1, "record", include_str!("../migrations/0001_record.sql")),
    (2, "doors", include_str!("../migrations/0002_doors.sql")),
    (3, "link", include_str!("../migrations/0003_link.sql")),
];

/// Which engine keeps the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    /// One file.
    Sqlite,
    /// A server.
    Postgres,
}

/// An open book. Cheap to clone; every clone is the same book.
#[derive(Debug, Clone)]
pub struct Book {
    pub(crate) pool: AnyPool,
    pub(crate) place: Place,
    pub(crate) engine: Engine,
    /// One writer at a time: waiting in line here is fair and quick, waiting at the file or for a row is neither.
    pub(crate) writer: Arc<Mutex<()>>,
    /// Who has handed in and waits for the next writer to take it along.
    pub(crate) waiting: Arc<std::sync::Mutex<Vec<Waiting>>>,
}

impl Book {
    /// Opens the book at a place; makes it where there is none, and brings an older one up to date.
    ///
    /// # Errors
    /// [`BookError`] with what stands in the way: the folder, the file, the server, a newer release.
    pub async fn open(place: &Place) -> Result<Book, BookError> {
        if let Place::File(path) = place
            && let Some(folder) = path.parent()
        {
            std::fs::create_dir_all(folder).map_err(|e| BookError::CannotOpen {
                place: place.to_string(),
                said: format!("its folder cannot be made: {e}"),
            })?;
        }
        Book::connect(place, Mode::Create).await
    }

    /// Opens a book that is there already.
    ///
    /// # Errors
    /// [`BookError::NotThere`] if it is not; as [`Book::open`] otherwise.
    pub async fn open_existing(place: &Place) -> Result<Book, BookError> {
        there(place)?;
        Book::connect(place, Mode::Write).await
    }

    /// Opens a book that is there already for reading alone: nothing of it changes.
    ///
    /// # Errors
    /// [`BookError::NotThere`] if it is not; as [`Book::open`] otherwise.
    pub async fn open_to_read(place: &Place) -> Result<Book, BookError> {
        there(place)?;
        Book::connect(place, Mode::Read).await
    }

    pub(crate) async fn connect(place: &Place, mode: Mode) -> Result<Book, BookError> {
        sqlx::any::install_default_drivers();
        let engine = match place {
            Place::File(_) => Engine::Sqlite,
            Place::Server(_) => Engine::Postgres,
        };
        let failed = |e: sqlx::Error| BookError::of_engine(&e, &place.to_string(), WAIT_S);
        let options =
            AnyConnectOptions::from_str(&place.url(mode)).map_err(failed)?.disable_statement_logging();
        // One connection by hand first: a pool tries again and again, and in the end only says that it tried.
        let first = async {
            let mut connection = AnyConnection::connect_with(&options).await?;
            for setting in once(engine, mode).iter().chain(always(engine, mode)) {
                connection.execute(*setting).await?;
            }
            connection.close().await
        };
        match tokio::time::timeout(Duration::from_secs(CONNECT_S), first).await {
            Ok(done) => done.map_err(failed)?,
            Err(_) => {
                let said = format!("nothing within {CONNECT_S} s");
                return Err(BookError::Unreachable { place: place.to_string(), said });
            }
        }
        let pool = AnyPoolOptions::new()
            .max_connections(8)
            .acquire_timeout(Duration::from_secs(30))
            // A file does not go away as a server does: no question first whether the connection still stands.
            .test_before_acquire(engine == Engine::Postgres)
            .after_connect(move |connection, _| {
                Box::pin(async move {
                    for setting in always(engine, mode) {
                        connection.execute(*setting).await?;
                    }
                    Ok(())
                })
            })
            .connect_lazy_with(options);
        let book =
            Book { pool, place: place.clone(), engine, writer: Arc::default(), waiting: Arc::default() };
        book.bring_up_to_date(mode).await?;
        Ok(book)
    }

    /// Brings the schema up to date, if it is not and may be.
    async fn bring_up_to_date(&self, mode: Mode) -> Result<(), BookError> {
        let known = MIGRATIONS.iter().map(|m| m.0).max().unwrap_or(0);
        let found = self.schema().await?;
        if found > known {
            return Err(BookError::Newer { place: self.shown(), found, known });
        }
        match mode {
            _ if found == known => return Ok(()),
            // What came later than the first form is made from the entries: whoever only reads those can do without.
            Mode::Read | Mode::Frozen if found > 0 => return Ok(()),
            Mode::Read | Mode::Frozen => return Err(BookError::NotThere { place: self.shown() }),
            Mode::Write | Mode::Create => {}
        }
        let steps = MIGRATIONS.iter().map(|(version, name, sql)| {
            Migration::new(*version, (*name).into(), MigrationType::Simple, sql.into_sql_str(), false)
        });
        Migrator::with_migrations(steps.collect()).run(&self.pool).await.map_err(|e| match e {
            MigrateError::Execute(e) | MigrateError::ExecuteMigration(e, _) => self.failed(e),
            MigrateError::VersionMissing(found) => BookError::Newer { place: self.shown(), found, known },
            other => BookError::Engine { place: self.shown(), said: other.to_string() },
        })
    }

    /// The number of the last step that the schema has had; 0 where there is none yet.
    async fn schema(&self) -> Result<i64, BookError> {
        let table = match self.engine {
            Engine::Sqlite => "SELECT COUNT(*) FROM sqlite_master WHERE name = '_sqlx_migrations'",
            Engine::Postgres => {
                "SELECT COUNT(*) FROM pg_tables WHERE tablename = '_sqlx_migrations' AND schemaname = ANY (current_schemas(false))"
            }
        };
        let there: i64 = sqlx::query_scalar(table).fetch_one(&self.pool).await.map_err(|e| self.failed(e))?;
        if there == 0 {
            return Ok(0);
        }
        sqlx::query_scalar("SELECT COALESCE(MAX(version), 0) FROM _sqlx_migrations")
            .fetch_one(&self.pool)
            .await
            .map_err(|e| self.failed(e))
    }

    /// Ends every connection once its work is done.
    pub async fn close(&self) {
        self.pool.close().await;
    }

    /// Where the book is.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// Which engine keeps it.
    pub fn engine(&self) -> Engine {
        self.engine
    }

    pub(crate) fn shown(&self) -> String {
        self.place.to_string()
    }

    pub(crate) fn failed(&self, e: sqlx::Error) -> BookError {
        BookError::of_engine(&e, &self.shown(), WAIT_S)
    }
}

fn there(place: &Place) -> Result<(), BookError> {
    match place {
        Place::File(path) if !path.exists() => Err(BookError::NotThere { place: place.to_string() }),
        _ => Ok(()),
    }
}

/// What is set once in a file: in WAL mode readers and the writer do not wait for each other.
const fn once(engine: Engine, mode: Mode) -> &'static [&'static str] {
    match (engine, mode) {
        (Engine::Sqlite, Mode::Create | Mode::Write) => {
            &["PRAGMA busy_timeout = 5000", "PRAGMA journal_mode = WAL"]
        }
        _ => &[],
    }
}

/// What each connection is told first. FULL: a commit is on the disk before it is acknowledged, in WAL mode too.
const fn always(engine: Engine, mode: Mode) -> &'static [&'static str] {
    match (engine, mode) {
        (Engine::Sqlite, _) => {
            &["PRAGMA busy_timeout = 5000", "PRAGMA synchronous = FULL", "PRAGMA foreign_keys = ON"]
        }
        (Engine::Postgres, Mode::Create | Mode::Write) => {
            &["SET synchronous_commit TO on", "SET standard_conforming_strings TO on"]
        }
        (Engine::Postgres, Mode::Read | Mode::Frozen) => {
            &["SET default_transaction_read_only TO on", "SET standard_conforming_strings TO on"]
        }
    }
}
