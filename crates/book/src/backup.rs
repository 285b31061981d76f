//! A backup while the book is in use, and the way back into an empty place.
//!
//! SQLite: one file, itself a book. PostgreSQL: the export's newline-delimited JSON. Either can be restored to either.

use crate::error::BookError;
use crate::export::{FORM, Heading, Line};
use crate::kind::Kind;
use crate::open::{Book, Engine};
use crate::place::{Mode, Place};
use crate::raw::Raw;
use crate::record::Head;
use care::wire::Problem;
use care::wire::node::shortened;
use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, Read};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The longest line of an export that is read, bytes: a picture and what stands around it.
const LINE_BYTES_MOST: u64 = 4 << 20;
/// How every SQLite file begins.
const SQLITE: &[u8] = b"SQLite format 3\0";

impl Book {
    /// Writes the whole book to a new file, while others go on recording. The file is complete under its name, or not
    /// there.
    ///
    /// # Errors
    /// [`BookError::Beside`] if the file exists or cannot be written; others if the book cannot be read.
    pub async fn backup(
        &self,
        to: &Path,
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<Head, BookError> {
        let beside = |what: String| BookError::Beside { path: to.display().to_string(), what, kind: None };
        if to.exists() {
            return Err(beside(
                "is there already; a name that is free is accepted (nothing was written)".into(),
            ));
        }
        let part = part_of(to);
        let _what_an_earlier_run_left = std::fs::remove_file(&part);
        let done = self.backup_to(&part, progress).await;
        let kept = match done {
            Ok(head) => std::fs::OpenOptions::new()
                .write(true)
                .open(&part)
                .and_then(|f| f.sync_all())
                .and_then(|()| std::fs::rename(&part, to))
                .and_then(|()| sync_folder(to))
                .map(|()| head)
                .map_err(|e| beside(format!("cannot be written: {e}"))),
            Err(e) => Err(e),
        };
        if kept.is_err() {
            let _it_may_not_be_there = std::fs::remove_file(&part);
        }
        kept
    }

    async fn backup_to(
        &self,
        part: &Path,
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<Head, BookError> {
        let beside = |what: String| BookError::Beside { path: part.display().to_string(), what, kind: None };
        match self.engine {
            Engine::Postgres => {
                let file = File::create_new(part).map_err(|e| beside(format!("cannot be written: {e}")))?;
                self.export(&mut BufWriter::new(file), progress).await
            }
            Engine::Sqlite => {
                let path = part.to_str().ok_or_else(|| beside("is not text in UTF-8".into()))?;
                sqlx::query("VACUUM INTO $1").bind(path.to_owned()).execute(&self.pool).await.map_err(
                    |e| {
                        match self.failed(e) {
                            // A fault of the copy, not of the book.
                            BookError::Full { .. } => {
                                beside("the disk is full, or a limit for files is reached".into())
                            }
                            BookError::CannotOpen { said, .. } => {
                                beside(format!("cannot be written: {said}"))
                            }
                            other => other,
                        }
                    },
                )?;
                let copy = Book::connect(&Place::file(part)?, Mode::Frozen).await?;
                let head = copy.head().await;
                copy.close().await;
                let head = head?;
                progress(head.count, head.count);
                Ok(head)
            }
        }
    }

    /// Makes a book at an empty place from a backup or an export, and verifies it. All of it, or nothing.
    ///
    /// # Errors
    /// [`BookError::NotEmpty`] if the place holds entries; [`BookError::File`] with the line if the backup is not whole;
    /// others if the place cannot be written.
    pub async fn restore(
        from: &Path,
        place: &Place,
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<Head, BookError> {
        let mut source = Source::open(from).await?;
        let made_here = matches!(place, Place::File(path) if !path.exists());
        let book = Book::open(place).await?;
        let done = book.take_over(&mut source, progress).await;
        book.close().await;
        source.close().await;
        if done.is_err()
            && made_here
            && let Place::File(path) = place
        {
            for end in ["", "-wal", "-shm"] {
                let mut name = path.clone().into_os_string();
                name.push(end);
                let _it_may_not_be_there = std::fs::remove_file(PathBuf::from(name));
            }
        }
        done
    }

    async fn take_over(
        &self,
        source: &mut Source,
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<Head, BookError> {
        let _in_line = self.writer.lock().await;
        let mut tx = self.pool.begin().await.map_err(|e| self.failed(e))?;
        let mut head = self.lock(&mut tx).await?;
        if head.count > 0 {
            return Err(BookError::NotEmpty { place: self.shown(), count: head.count });
        }
        let mut things = std::collections::BTreeSet::new();
        loop {
            let page = source.page(&head).await?;
            if page.is_empty() {
                break;
            }
            for row in &page {
                source.check(row, &head)?;
                self.insert_raw(&mut tx, row).await?;
                head = Head { count: row.seq, hash: row.hash.clone() };
                if let (Some(kind), Some(subject)) = (Kind::from_id(&row.kind), &row.subject)
                    && kind.is_thing()
                {
                    things.insert((kind, subject.clone()));
                }
            }
            progress(head.count, source.head().count);
        }
        if head != *source.head() {
            let expected = source.head();
            let what = format!(
                "ends at entry {} with the hash {}, and its heading says {} with {}",
                head.count, head.hash, expected.count, expected.hash
            );
            return Err(source.wrong(
                "",
                what,
                "a whole backup is accepted: this one was cut short or altered",
            ));
        }
        self.set_head(&mut tx, &head).await?;
        for (kind, id) in things {
            self.project(&mut tx, kind, &id).await?;
        }
        tx.commit().await.map_err(|e| self.failed(e))?;
        let found = self.verify(Some(&head.hash)).await?;
        if let Some(fault) = found.faults.first() {
            return Err(BookError::Damaged { place: self.shown(), said: fault.to_string() });
        }
        Ok(head)
    }

    async fn insert_raw(
        &self,
        tx: &mut sqlx::Transaction<'_, sqlx::Any>,
        row: &Raw,
    ) -> Result<(), BookError> {
        sqlx::query(crate::record::INSERT)
            .bind(row.seq)
            .bind(row.id.clone())
            .bind(row.kind.clone())
            .bind(row.subject.clone())
            .bind(row.at_us)
            .bind(row.received_us)
            .bind(row.by.clone())
            .bind(row.corrects.clone())
            .bind(row.body.clone())
            .bind(row.previous.clone())
            .bind(row.hash.clone())
            .execute(&mut **tx)
            .await
            .map_err(|e| self.failed(e))?;
        Ok(())
    }
}

fn part_of(to: &Path) -> PathBuf {
    let mut name = to.as_os_str().to_owned();
    name.push(".part");
    PathBuf::from(name)
}

/// The new name is on the disk too.
fn sync_folder(of: &Path) -> std::io::Result<()> {
    match std::path::absolute(of)?.parent() {
        Some(folder) if cfg!(unix) => File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

/// Where a restored book comes from.
enum Source {
    File { name: String, head: Head, book: Book },
    Lines { name: String, head: Head, line: usize, reader: BufReader<File> },
}

impl Source {
    async fn open(from: &Path) -> Result<Source, BookError> {
        let name = from.display().to_string();
        let unreadable = |e: std::io::Error| BookError::Beside {
            path: name.clone(),
            what: format!("cannot be read: {e}"),
            kind: Some(e.kind()),
        };
        let mut file = File::open(from).map_err(unreadable)?;
        let mut start = Vec::new();
        (&mut file).take(SQLITE.len() as u64).read_to_end(&mut start).map_err(unreadable)?;
        if start == SQLITE {
            let mut wal = from.as_os_str().to_owned();
            wal.push("-wal");
            if std::fs::metadata(PathBuf::from(wal)).is_ok_and(|m| m.len() > 0) {
                return Err(BookError::Beside {
                    path: name,
                    what: "is a book in use (its -wal file holds entries); make a backup of it with `tubwright book \
                           backup` and restore that"
                        .into(),
                    kind: None,
                });
            }
            let book = Book::connect(&Place::file(from)?, Mode::Frozen).await?;
            let head = book.head().await?;
            return Ok(Source::File { name, head, book });
        }
        let file = File::open(from).map_err(unreadable)?;
        let mut source = Source::Lines {
            name,
            head: Head { count: 0, hash: String::new() },
            line: 0,
            reader: BufReader::new(file),
        };
        let accepted = "a backup or an export that `tubwright book` wrote is accepted";
        let Some(text) = source.next_line()? else { return Err(source.wrong("", "is empty", accepted)) };
        let heading: Heading = serde_json::from_str(&text).map_err(|e| {
            source.wrong("the heading", format!("\"{}\" cannot be read: {e}", shortened(&text)), accepted)
        })?;
        if heading.tubwright_book != FORM {
            let what = format!("is {}", heading.tubwright_book);
            return Err(source.wrong(
                "tubwright_book",
                what,
                format!("form {FORM} is known to this release"),
            ));
        }
        if let Source::Lines { head, .. } = &mut source {
            *head = Head { count: heading.entries, hash: heading.head };
        }
        Ok(source)
    }

    fn head(&self) -> &Head {
        match self {
            Source::File { head, .. } | Source::Lines { head, .. } => head,
        }
    }

    fn wrong(&self, field: &str, what: impl Into<String>, accepted: impl Into<String>) -> BookError {
        let (file, line) = match self {
            Source::File { name, .. } => (name.clone(), None),
            Source::Lines { name, line, .. } => (name.clone(), Some(*line)),
        };
        let problem =
            Problem { file, line, field: field.to_owned(), what: what.into(), accepted: accepted.into() };
        BookError::File(vec![problem])
    }

    fn next_line(&mut self) -> Result<Option<String>, BookError> {
        let Source::Lines { name, line, reader, .. } = self else { return Ok(None) };
        let mut bytes = Vec::new();
        let read = reader.by_ref().take(LINE_BYTES_MOST + 1).read_until(b'\n', &mut bytes).map_err(|e| {
            BookError::Beside {
                path: name.clone(),
                what: format!("cannot be read: {e}"),
                kind: Some(e.kind()),
            }
        })?;
        *line += 1;
        if read == 0 {
            return Ok(None);
        }
        if bytes.len() as u64 > LINE_BYTES_MOST {
            return Err(self.wrong("this line", "is longer than 4 MiB", "lines of an export are shorter"));
        }
        String::from_utf8(bytes)
            .map(Some)
            .map_err(|_| self.wrong("this line", "is not text in UTF-8", "a text file is accepted"))
    }

    /// The next entries after `head`; none at the end.
    async fn page(&mut self, head: &Head) -> Result<Vec<Raw>, BookError> {
        if let Source::File { book, .. } = self {
            let mut tx = book.snapshot().await?;
            let page = book.page(&mut tx, head.count).await?;
            tx.rollback().await.map_err(|e| book.failed(e))?;
            return Ok(page);
        }
        // One at a time, so that a fault is told with its line.
        let Some(text) = self.next_line()? else { return Ok(Vec::new()) };
        if text.trim().is_empty() {
            return Err(self.wrong("this line", "is empty", "one entry a line is accepted, to the end"));
        }
        let line: Line = serde_json::from_str(&text).map_err(|e| {
            self.wrong(
                "this line",
                format!("cannot be read: {e}"),
                "an entry as the export writes it is accepted",
            )
        })?;
        Ok(vec![Raw {
            seq: line.seq,
            id: line.id,
            kind: line.kind,
            subject: line.subject,
            at_us: line.at_us,
            received_us: line.received_us,
            by: line.by,
            corrects: line.corrects,
            body: line.body.get().to_owned(),
            previous: head.hash.clone(),
            hash: line.hash,
        }])
    }

    /// Whether an entry is the one that was recorded after `head`.
    fn check(&self, row: &Raw, head: &Head) -> Result<(), BookError> {
        if row.seq != head.count + 1 {
            let what = format!("is {} where entry {} is due", row.seq, head.count + 1);
            return Err(self.wrong("seq", what, "a whole backup in its own order is accepted"));
        }
        let ids = [Some(&row.id), row.subject.as_ref(), row.by.as_ref(), row.corrects.as_ref()];
        if let Some(id) = ids.into_iter().flatten().find(|id| Uuid::try_parse(id).is_err()) {
            return Err(self.wrong(
                "entry",
                format!("{} holds \"{}\"", row.seq, shortened(id)),
                "a UUID is accepted",
            ));
        }
        if Kind::from_id(&row.kind).is_none() {
            let what = format!("of entry {} is \"{}\"", row.seq, shortened(&row.kind));
            return Err(self.wrong("kind", what, Kind::accepted()));
        }
        if row.previous != head.hash || row.computed() != row.hash {
            let what = format!("of entry {} is not the one that its content makes", row.seq);
            return Err(self.wrong("hash", what, "the entry was altered: use another backup"));
        }
        Ok(())
    }

    async fn close(&self) {
        if let Source::File { book, .. } = self {
            book.close().await;
        }
    }
}
