//! Keeping the record: whatever is altered is found and named; backups and exports come back whole, on either engine.

#![allow(clippy::unwrap_used, reason = "what both engines must do is one function; it is the test itself")]

mod support;

use book::{Book, BookError, Kind, NewEntry, Place};
use serde_json::json;
use sqlx::{AnyConnection, AssertSqlSafe, Connection};
use std::path::Path;
use support::{correcting, entry, id, minute, postgres::Server, run};

const TUB: u64 = 1001;

fn some_entries() -> Vec<NewEntry> {
    let tub = |n: u64, name: &str| {
        entry(
            n,
            Kind::Tub,
            id(TUB),
            minute(n as i64),
            json!({ "name": name, "tub": { "volume_l": 900, "regime": "chlorine" } }),
        )
    };
    let mut all = vec![tub(1, "One (invented)"), tub(2, "Two (invented)")];
    for n in 3..=9 {
        all.push(entry(
            n,
            Kind::Reading,
            id(TUB),
            minute(n as i64),
            json!({ "quantity": "ph", "value": 7.0 + n as f64 / 10.0 }),
        ));
    }
    let value = json!({ "quantity": "free_chlorine", "value": "<0.2", "method": "dpd-photometer" });
    all.push(correcting(
        5,
        entry(10, Kind::Reading, id(TUB), minute(10), json!({ "quantity": "ph", "value": 7.45 })),
    ));
    all.push(entry(11, Kind::Reading, id(TUB), minute(11), value));
    all.push(entry(
        12,
        Kind::Note,
        id(TUB),
        minute(12),
        json!({ "text": "Zwölf \u{1F6C1} \"quoted\"\n\u{0} end" }),
    ));
    all
}

async fn orders(url: &str, orders: &[&str]) {
    sqlx::any::install_default_drivers();
    let mut connection = AnyConnection::connect(url).await.unwrap();
    for order in orders {
        sqlx::query(AssertSqlSafe((*order).to_owned())).execute(&mut connection).await.unwrap();
    }
    connection.close().await.unwrap();
}

/// What verify says after these orders behind the book's back, which are undone again.
async fn after(book: &Book, url: &str, altering: &[&str]) -> Vec<String> {
    orders(
        url,
        &[
            "CREATE TABLE kept_entry AS SELECT * FROM entry",
            "CREATE TABLE kept_head AS SELECT * FROM head",
            "CREATE TABLE kept_thing AS SELECT * FROM thing",
        ],
    )
    .await;
    orders(url, altering).await;
    let found = book.verify(None).await.unwrap();
    for table in ["entry", "head", "thing"] {
        let (a, b, c) = (
            format!("DELETE FROM {table}"),
            format!("INSERT INTO {table} SELECT * FROM kept_{table}"),
            format!("DROP TABLE kept_{table}"),
        );
        orders(url, &[&a, &b, &c]).await;
    }
    assert!(book.verify(None).await.unwrap().is_sound(), "undone");
    assert_eq!(found.is_sound(), found.faults.is_empty());
    found.faults.iter().map(ToString::to_string).collect()
}

async fn alterations_are_found(book: &Book, url: &str) {
    book.record(&some_entries(), minute(100)).await.unwrap();
    let noted = book.head().await.unwrap();
    let sound = book.verify(Some(&noted.hash)).await.unwrap();
    assert!(sound.is_sound(), "{sound:?}");
    assert_eq!((sound.count, sound.hash.as_str(), sound.expected_at), (12, noted.hash.as_str(), Some(12)));

    let three = format!("entry 3 ({})", id(3));
    for field in [
        "at_us = at_us + 1",
        "received_us = 1",
        "kind = 'note'",
        "subject = NULL",
        "by_person = 'x'",
        "corrects = id",
    ] {
        let said = after(book, url, &[&format!("UPDATE entry SET {field} WHERE seq = 3")]).await;
        assert!(
            said.len() == 1 && said[0].starts_with(&three) && said[0].contains("was altered"),
            "{field}: {said:?}"
        );
    }
    let body = "UPDATE entry SET body = '{\"quantity\":\"ph\",\"value\":7.2}' WHERE seq = 3";
    let said = after(book, url, &[body]).await;
    assert!(said.len() == 1 && said[0].starts_with(&three), "{said:?}");
    // Altered, and its hash too: the entry after it does not follow.
    let said = after(book, url, &["UPDATE entry SET hash = 'f' WHERE seq = 3"]).await;
    assert!(
        said.len() == 2 && said[1].starts_with("entry 4 ") && said[1].contains("does not follow"),
        "{said:?}"
    );
    // Missing: in the middle, two together, at the end.
    let said = after(book, url, &["DELETE FROM entry WHERE seq = 4"]).await;
    assert!(
        said.len() == 1
            && said[0].contains("entry 4 is missing before it")
            && said[0].contains(&id(5).to_string()),
        "{said:?}"
    );
    let said = after(book, url, &["DELETE FROM entry WHERE seq IN (6, 7)"]).await;
    assert!(said.len() == 1 && said[0].contains("entries 6 to 7 are missing"), "{said:?}");
    let said = after(book, url, &["DELETE FROM entry WHERE seq > 10"]).await;
    assert!(said.len() == 1 && said[0].contains("entries 11 to 12 are missing"), "{said:?}");
    // Re-ordered.
    let exchange = [
        "UPDATE entry SET seq = 99 WHERE seq = 6",
        "UPDATE entry SET seq = 6 WHERE seq = 7",
        "UPDATE entry SET seq = 7 WHERE seq = 99",
    ];
    let said = after(book, url, &exchange).await;
    assert!(
        said.iter().any(|s| s.starts_with(&format!("entry 6 ({})", id(7))) && s.contains("moved")),
        "{said:?}"
    );
    assert!(
        said.iter().any(|s| s.starts_with(&format!("entry 7 ({})", id(6))) && s.contains("moved")),
        "{said:?}"
    );
    // Doubled under another id, or put in front.
    let copy = |seq: i64| {
        format!(
            "INSERT INTO entry SELECT {seq}, '{}', kind, subject, at_us, received_us, by_person, corrects, body, previous, hash FROM entry WHERE seq = 9",
            id(999)
        )
    };
    let said = after(book, url, &[&copy(13)]).await;
    assert!(said.iter().any(|s| s.starts_with(&format!("entry 13 ({})", id(999)))), "{said:?}");
    let said = after(book, url, &[&copy(0)]).await;
    assert!(said.iter().any(|s| s.starts_with(&format!("entry 0 ({})", id(999)))), "{said:?}");
    // The head.
    let said = after(book, url, &["UPDATE head SET hash = 'f'"]).await;
    assert!(said.len() == 1 && said[0].contains("the head does not agree"), "{said:?}");
    let said = after(book, url, &["DELETE FROM head"]).await;
    assert!(said.len() == 1 && said[0].contains("the head is missing"), "{said:?}");
    // The list of things.
    for (order, what) in [
        ("UPDATE thing SET name = 'x'", "another name"),
        ("UPDATE thing SET archived = 1", "state"),
        ("UPDATE thing SET body = '{}'", "says something else"),
        ("UPDATE thing SET seq = 1", "not its newest"),
        ("DELETE FROM thing", "is missing from it"),
    ] {
        let said = after(book, url, &[order]).await;
        assert!(
            said.len() == 1 && said[0].contains(what) && said[0].contains(&id(TUB).to_string()),
            "{order}: {said:?}"
        );
    }
    // A hash that was noted is still there after more entries; one of another book never was.
    book.record(&[entry(20, Kind::Note, id(TUB), minute(20), json!({ "text": "more" }))], minute(101))
        .await
        .unwrap();
    assert_eq!(book.verify(Some(&noted.hash)).await.unwrap().expected_at, Some(12));
    let other = book.verify(Some(&"a".repeat(64))).await.unwrap();
    assert!(other.faults.len() == 1 && other.faults[0].what.contains("that of no entry"), "{other:?}");
}

/// Everything that a book says of itself, to compare two.
async fn content(book: &Book) -> String {
    let mut out = Vec::new();
    book.export(&mut out, &mut |_, _| ()).await.unwrap();
    String::from_utf8(out).unwrap()
}

async fn backups_come_back(book: &Book, folder: &Path, other_engine: &Place) {
    let head = book.head().await.unwrap();
    let backup = folder.join("backup");
    assert_eq!(book.backup(&backup, &mut |_, _| ()).await.unwrap(), head);
    assert!(!folder.join("backup.part").exists());
    let message = book.backup(&backup, &mut |_, _| ()).await.unwrap_err().to_string();
    assert!(message.contains("is there already"), "{message}");

    let original = content(book).await;
    let export = folder.join("export.ndjson");
    std::fs::write(&export, &original).unwrap();
    for (n, from) in [&backup, &export].into_iter().enumerate() {
        let place = Place::file(&folder.join(format!("restored-{n}.book"))).unwrap();
        assert_eq!(Book::restore(from, &place, &mut |_, _| ()).await.unwrap(), head);
        let restored = Book::open_to_read(&place).await.unwrap();
        assert_eq!(content(&restored).await, original);
        assert_eq!(
            restored.thing(Kind::Tub, id(TUB)).await.unwrap(),
            book.thing(Kind::Tub, id(TUB)).await.unwrap()
        );
        assert!(restored.record(&some_entries()[..1], minute(200)).await.is_err(), "opened to read alone");
        restored.close().await;
        let again = Book::restore(from, &place, &mut |_, _| ()).await.unwrap_err();
        assert!(matches!(again, BookError::NotEmpty { count: 13, .. }), "{again}");
    }
    // The other engine's, from this one's backup.
    assert_eq!(Book::restore(&backup, other_engine, &mut |_, _| ()).await.unwrap(), head);
    assert_eq!(content(&Book::open_existing(other_engine).await.unwrap()).await, original);

    // What is not whole is refused with its line, and leaves nothing behind.
    let lines: Vec<&str> = original.lines().collect();
    let altered = original.replacen("\"value\":7.3", "\"value\":7.2", 1);
    let swapped = [&lines[..3], &[lines[4], lines[3]], &lines[5..]].concat().join("\n");
    for (text, place, said) in [
        (lines[..9].join("\n"), ":10:", "cut short"),
        (altered, ":4:", "hash of entry 3"),
        (swapped, ":4:", "seq is 4 where entry 3 is due"),
        (original.replacen("\"tubwright_book\":1", "\"tubwright_book\":2", 1), ":1:", "form 1 is known"),
        (original.replacen("\"kind\":\"note\"", "\"kind\":\"wish\"", 1), ":13:", "is \"wish\""),
        ("hello".to_owned(), ":1:", "heading"),
        (String::new(), ":1:", "is empty"),
        (format!("{original}\n"), ":15:", "is empty"),
    ] {
        let bad = folder.join("bad.ndjson");
        std::fs::write(&bad, text).unwrap();
        let to = folder.join("never.book");
        let e = Book::restore(&bad, &Place::file(&to).unwrap(), &mut |_, _| ()).await.unwrap_err();
        let message = e.to_string();
        assert!(e.is_input() && message.contains(place) && message.contains(said), "{said}: {message}");
        assert!(!to.exists(), "{said}");
    }
}

async fn readings_as_csv(book: &Book) {
    let mut out = Vec::new();
    assert_eq!(book.export_readings(&mut out, &mut |_, _| ()).await.unwrap(), 9);
    let text = String::from_utf8(out).unwrap();
    let rows: Vec<&str> = text.lines().collect();
    assert_eq!(rows.len(), 10);
    let corrected = rows.iter().find(|r| r.contains(&format!(",{},5,", id(5)))).unwrap();
    assert!(corrected.contains(&format!(",no,{},", id(10))), "{corrected}");
    assert!(text.contains("free_chlorine,<0.2,,,,,dpd-photometer,Two (invented),yes,"), "{text}");
}

#[test]
fn the_record_is_kept_on_both_engines() {
    let server = Server::start();
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let sqlite = support::in_a_folder(&folder).await;
        let url = format!("sqlite://{}", folder.path().join("test.book").display());
        alterations_are_found(&sqlite, &url).await;
        let from_sqlite = Place::parse(&server.database("from_sqlite").await).unwrap();
        backups_come_back(&sqlite, folder.path(), &from_sqlite).await;
        readings_as_csv(&sqlite).await;

        let url = server.database("keep").await;
        let postgres = Book::open(&Place::parse(&url).unwrap()).await.unwrap();
        alterations_are_found(&postgres, &url).await;
        let second = tempfile::tempdir().unwrap();
        let from_postgres = Place::file(&second.path().join("from-postgres.book")).unwrap();
        backups_come_back(&postgres, second.path(), &from_postgres).await;
        readings_as_csv(&postgres).await;
        // The two engines, given the same, wrote the same record to the last byte.
        assert_eq!(content(&postgres).await, content(&sqlite).await);
    });
}

#[test]
fn a_backup_is_made_while_others_record() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = support::in_a_folder(&folder).await;
        book.record(&some_entries(), minute(100)).await.unwrap();
        let writer = {
            let book = book.clone();
            async move {
                for n in 100..160u64 {
                    let e = entry(n, Kind::Note, id(TUB), minute(50), json!({ "text": "busy" }));
                    book.record(&[e], minute(100)).await.unwrap();
                }
            }
        };
        let copier = async {
            let mut heads = Vec::new();
            for n in 0..3 {
                heads.push(book.backup(&folder.path().join(format!("b{n}")), &mut |_, _| ()).await.unwrap());
            }
            heads
        };
        let (heads, ()) = tokio::join!(copier, writer);
        for (n, head) in heads.iter().enumerate() {
            let copy = Book::open_to_read(&Place::file(&folder.path().join(format!("b{n}"))).unwrap())
                .await
                .unwrap();
            let found = copy.verify(Some(&head.hash)).await.unwrap();
            assert!(found.is_sound() && found.count == head.count, "{found:?}");
            copy.close().await;
        }
        assert_eq!(book.count().await.unwrap(), 72);
        // A book in use is no backup.
        let in_use = folder.path().join("test.book");
        let e = Book::restore(&in_use, &Place::file(&folder.path().join("x")).unwrap(), &mut |_, _| ()).await;
        assert!(e.unwrap_err().to_string().contains("is a book in use"));
    });
}
