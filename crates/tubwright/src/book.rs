//! `tubwright book`: back up, restore, verify, export, import. What the record is and how it is kept is `book`'s.

mod args;
mod files;

use crate::failure::Failure;
use crate::{input, output};
use ::book::{Book, BookError, CSV_BYTES_MOST, ColumnMap, Import, ImportOptions, Place};
pub(crate) use args::BookArgs;
use args::{BackupArgs, BookCommand, ExportArgs, ExportForm, ImportArgs, PlaceArgs, RestoreArgs, VerifyArgs};
use files::{Bar, Target};
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;

/// The most that a column map may hold, bytes.
const MAP_BYTES_MOST: u64 = 1 << 20;

pub(crate) fn run(args: &BookArgs) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|e| Failure::Other(format!("cannot start: {e}")))?;
    runtime.block_on(async {
        match &args.command {
            BookCommand::Backup(args) => backup(args).await,
            BookCommand::Restore(args) => restore(args).await,
            BookCommand::Verify(args) => verify(args).await,
            BookCommand::Export(args) => export(args).await,
            BookCommand::Import(args) => import(args).await,
        }
    })
}

impl From<BookError> for Failure {
    fn from(e: BookError) -> Self {
        match &e {
            BookError::Beside { kind: Some(std::io::ErrorKind::BrokenPipe), .. } => Failure::Closed,
            e if e.is_input() => Failure::Input(e.to_string().lines().map(str::to_owned).collect()),
            e => Failure::Other(e.to_string()),
        }
    }
}

fn place(args: &PlaceArgs) -> Result<Place, Failure> {
    Ok(match &args.book {
        Some(text) => Place::parse(text)?,
        None => Place::default_file()?,
    })
}

/// JSON for a script, or words for a person.
fn tell(json: bool, value: &Value, words: &str) -> Result<(), Failure> {
    if json {
        let text = serde_json::to_string_pretty(value).map_err(|e| Failure::Other(e.to_string()))?;
        output::data(&format!("{text}\n"))
    } else {
        output::data(&format!("{words}\n"))
    }
}

async fn backup(args: &BackupArgs) -> Result<(), Failure> {
    let book = Book::open_to_read(&place(&args.place)?).await?;
    let bar = Bar::new("backing up");
    let head = book.backup(&args.to, &mut bar.listener()).await?;
    book.close().await;
    bar.done();
    let to = args.to.display().to_string();
    let value = json!({ "file": to, "entries": head.count, "head": head.hash });
    let words = format!(
        "Backed up {} entries to {to}.\nHead: {}\nTry it: tubwright book restore {to} --book some-empty-place.book",
        head.count, head.hash
    );
    tell(args.place.json, &value, &words)
}

async fn restore(args: &RestoreArgs) -> Result<(), Failure> {
    let place = place(&args.place)?;
    let bar = Bar::new("restoring");
    let head = Book::restore(&args.from, &place, &mut bar.listener()).await?;
    bar.done();
    let value = json!({ "book": place.to_string(), "entries": head.count, "head": head.hash, "sound": true });
    let words = format!(
        "Restored {} entries to {place} and verified them.\nHead: {}\nCompare it with the one that the backup told.",
        head.count, head.hash
    );
    tell(args.place.json, &value, &words)
}

async fn verify(args: &VerifyArgs) -> Result<(), Failure> {
    let place = place(&args.place)?;
    let book = Book::open_to_read(&place).await?;
    let found = book.verify(args.expect.as_deref()).await?;
    book.close().await;
    let faults: Vec<Value> =
        found.faults.iter().map(|f| json!({ "seq": f.seq, "id": f.id, "what": f.what })).collect();
    let value = json!({
        "book": place.to_string(), "sound": found.is_sound(), "entries": found.count, "head": found.hash,
        "expected_at": found.expected_at, "faults": faults, "more_faults": found.more,
    });
    if found.is_sound() {
        let expected = found.expected_at.map_or(String::new(), |n| {
            format!(
                "\nThe hash expected is that of entry {n}: nothing up to it was changed since it was noted."
            )
        });
        let words = format!(
            "{place}: {} entries, each in its place and as it was recorded.{expected}\nHead: {}\nNote it where nobody who \
             can write the book can write: with --expect it proves later that nothing before it was changed.",
            found.count, found.hash
        );
        return tell(args.place.json, &value, &words);
    }
    if args.place.json {
        tell(true, &value, "")?;
    }
    let mut words: Vec<String> = found.faults.iter().map(|f| format!("{place}: {f}")).collect();
    if found.more > 0 {
        words.push(format!("{place}: {} more faults are not listed", found.more));
    }
    words.push(format!("{place}: keep the file as it is and compare it with the last backup."));
    Err(Failure::Other(words.join("\n")))
}

async fn export(args: &ExportArgs) -> Result<(), Failure> {
    let book = Book::open_to_read(&place(&args.place)?).await?;
    let bar = Bar::new("exporting");
    let mut target = Target::open(&args.to)?;
    let done = match args.format {
        ExportForm::Ndjson => book
            .export(&mut target, &mut bar.listener())
            .await
            .map(|head| json!({ "entries": head.count, "head": head.hash })),
        ExportForm::Csv => book
            .export_readings(&mut target, &mut bar.listener())
            .await
            .map(|rows| json!({ "readings": rows })),
    };
    book.close().await;
    bar.done();
    let done = match done {
        Ok(done) => target.keep().map(|()| done)?,
        Err(e) => {
            target.drop_it();
            return Err(e.into());
        }
    };
    if args.to == Path::new("-") {
        return Ok(());
    }
    let to = args.to.display().to_string();
    let mut value = done;
    value["file"] = Value::from(to.as_str());
    let (count, what) = match (&value["entries"], &value["readings"]) {
        (Value::Null, readings) => (readings, "readings"),
        (entries, _) => (entries, "entries"),
    };
    let words = format!("Wrote {count} {what} to {to}.");
    tell(args.place.json, &value, &words)
}

async fn import(args: &ImportArgs) -> Result<(), Failure> {
    let book = Book::open_existing(&place(&args.place)?).await?;
    let name = args.file.display().to_string();
    let bytes = input::whole_file(&args.file, CSV_BYTES_MOST).map_err(Failure::input)?;
    let mut map = match &args.map_file {
        None => ColumnMap::default(),
        Some(path) => {
            let shown = path.display().to_string();
            let bytes = input::whole_file(path, MAP_BYTES_MOST).map_err(Failure::input)?;
            let text = String::from_utf8(bytes)
                .map_err(|_| Failure::input(format!("{shown}: is not text; TOML in UTF-8 is accepted")))?;
            ColumnMap::from_toml(&text, &shown)?
        }
    };
    for pair in &args.map {
        map.add_pair(pair)?;
    }
    let tub = match &args.tub {
        Some(text) => Some(book.tub_called(text).await?),
        None => None,
    };
    let now_us = jiff::Timestamp::now().as_microsecond();
    let options = ImportOptions { map, tub, by: None };
    let import = book.read_readings(&bytes, &name, &options, now_us).await?;
    if !args.dry_run {
        let bar = Bar::new("recording");
        let total = import.entries.len() as i64;
        let mut listener = bar.listener();
        book.record_and_tell(&import.entries, now_us, &mut |done| listener(done as i64, total)).await?;
        bar.done();
    }
    book.close().await;
    let Import { rows, entries, there } = import;
    let (all, new) = (entries.len(), entries.len() - there);
    let value = json!({
        "file": name, "rows": rows, "readings": all, "new": new, "there_already": there, "recorded": !args.dry_run,
    });
    let words = if args.dry_run {
        format!(
            "{name}: {rows} rows with {all} readings, all sound; {new} are new, {there} are in the book already. Nothing \
             was recorded: leave --dry-run out to record them."
        )
    } else {
        format!("{name}: {rows} rows with {all} readings. Recorded {new}; {there} were in the book already.")
    };
    tell(args.place.json, &value, &words)
}

/// Standard output, as something to write to.
fn stdout() -> Box<dyn Write + Send> {
    Box::new(std::io::stdout())
}
