//! Books of every schema so far open in this release, whole. `fixtures/schema-N.sql` is such a book as text (one for both
//! engines; lines that differ begin with the engine's name), `fixtures/record-N.ndjson` the export of all whose record
//! has the shape that schema N gave it. Released ones never change. All data is invented.
//!
//! `TUBWRIGHT_WRITE_FIXTURE=1` writes the export of the current shape, before it is released.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

mod support;

use book::{Book, KINDS, Kind, NewEntry, Place, Uuid};
use serde_json::json;
use sha2::{Digest, Sha256};
use sqlx::{AnyConnection, Connection};
use std::collections::BTreeSet;
use std::path::PathBuf;
use support::{correcting, entry, id, minute, postgres::Server, run};

/// The schemas that were released, or are about to be, each with the one that gave the record its shape.
const SCHEMAS: [(u32, u32); 3] = [(1, 1), (2, 1), (3, 1)];

fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures").join(name)
}

/// An entry of every kind, a correction and a withdrawal.
fn every_kind() -> Vec<NewEntry> {
    let (tub, site, water, shelf, ann) = (id(101), id(102), id(103), id(104), id(105));
    let text = |id: Uuid| id.to_string();
    let mut all = vec![
        entry(
            1,
            Kind::Person,
            ann,
            minute(0),
            json!({ "name": "Ann (invented)", "role": "technician", "language": "en", "units": "metric" }),
        ),
        entry(
            2,
            Kind::Site,
            site,
            minute(1),
            json!({ "name": "Harbour (invented)", "address": "1 Quay Lane" }),
        ),
        entry(
            3,
            Kind::SourceWater,
            water,
            minute(2),
            json!({
            "name": "tap (invented)", "ph": 7.6, "total_alkalinity_mg_l_caco3": 120, "calcium_mg_l": 60 }),
        ),
        entry(
            4,
            Kind::Shelf,
            shelf,
            minute(3),
            json!({ "name": "shed", "of": "owner", "products": [
            { "chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93,
              "measure": { "kind": "capful", "grams": 42, "smallest": 0.25 } }] }),
        ),
        entry(
            5,
            Kind::Method,
            id(106),
            minute(4),
            json!({
            "id": "strip-a", "kind": "chloride-strip", "lot": "17", "table": [[1, 300], [3, 1000], [5, 2300]] }),
        ),
        entry(
            6,
            Kind::Band,
            id(107),
            minute(5),
            json!({ "name": "quiet", "band": { "total_alkalinity": { "low": 60, "high": 100 } } }),
        ),
        entry(
            7,
            Kind::Tub,
            tub,
            minute(6),
            json!({
            "name": "Quay (invented)", "site": text(site), "tub": { "volume_l": 1300, "temperature_c": 38, "regime": "salt-cell",
            "cell_window_mg_l": [2000, 2800] }, "source_water": text(water), "shelf": text(shelf), "public": true,
            "kit": { "salt": "strip-a" } }),
        ),
        entry(8, Kind::Event, tub, minute(7), json!({ "kind": "fill" })),
        entry(
            9,
            Kind::Reading,
            tub,
            minute(8),
            json!({ "quantity": "ph", "method": "phenol-red", "value": 8.1 }),
        ),
        entry(
            10,
            Kind::Reading,
            tub,
            minute(9),
            json!({
            "quantity": "salt", "method": "strip-a", "scale_units": 4.2, "signal_band_changed": true, "minutes": 4 }),
        ),
        entry(11, Kind::Dose, tub, minute(10), json!({ "product": "dry acid", "measures": 0.5 })),
        entry(
            12,
            Kind::StepDone,
            tub,
            minute(11),
            json!({
            "plan": "p", "step": 1, "product": "dry acid", "mass_g": 10.5, "amount_text": "a quarter of a capful" }),
        ),
        entry(
            13,
            Kind::Note,
            tub,
            minute(12),
            json!({ "text": "Cover’s seam open.\n\"Zwölf\" \u{1F6C1} \u{0}" }),
        ),
        entry(
            14,
            Kind::Photo,
            tub,
            minute(13),
            json!({ "media_type": "image/png", "base64": "iVBORw0KGgo=" }),
        ),
        correcting(
            9,
            entry(
                15,
                Kind::Reading,
                tub,
                minute(8),
                json!({ "quantity": "ph", "method": "phenol-red", "value": 7.9 }),
            ),
        ),
        correcting(
            11,
            entry(16, Kind::Dose, tub, minute(10), json!({ "withdrawn": true, "why": "another tub’s" })),
        ),
    ];
    all.iter_mut().for_each(|e| e.by = Some(ann));
    let audit = json!({ "what": "signed in", "who": "Ann", "address": "127.0.0.1" });
    all.push(NewEntry { subject: None, ..entry(17, Kind::Audit, id(0), minute(14), audit) });
    all
}

async fn content(book: &Book) -> String {
    let mut out = Vec::new();
    book.export(&mut out, &mut |_, _| ()).await.unwrap();
    String::from_utf8(out).unwrap()
}

/// Makes the old book at a place, from its text.
async fn load(url: &str, engine: &str, schema: u32) {
    sqlx::any::install_default_drivers();
    let text = std::fs::read_to_string(fixture(&format!("schema-{schema}.sql"))).unwrap();
    let of_engine: String = text
        .lines()
        .filter_map(|line| match line.split_once(": ") {
            Some((e @ ("sqlite" | "postgres"), rest)) => (e == engine).then_some(rest),
            _ => Some(line),
        })
        .fold(String::new(), |all, line| all + line + "\n");
    let mut connection = AnyConnection::connect(url).await.unwrap();
    sqlx::raw_sql(sqlx::AssertSqlSafe(of_engine)).execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
}

/// Who could come in still can: the accounts, sessions and tokens of schema 2, the links of schema 3.
async fn doors_open(book: &Book, schema: u32) {
    let hash = |secret: &str| -> String {
        Sha256::digest(secret.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
    };
    let ann = id(105);
    let accounts = book.accounts().await.unwrap();
    let session = book.session(&hash("a session (invented)")).await.unwrap();
    let token = book.token(&hash("a token (invented)")).await.unwrap();
    let failed = book.attempts(&hash("ann")).await.unwrap().failed;
    let link = book.link("a link (invented)").await.unwrap();
    if schema < 2 {
        assert!(accounts.is_empty() && session.is_none() && token.is_none() && failed == 0);
    } else {
        assert_eq!(accounts.iter().map(|a| (a.person, a.login.as_str())).collect::<Vec<_>>(), [(ann, "ann")]);
        assert!(accounts[0].password.starts_with("$argon2id$") && !accounts[0].disabled);
        let session = session.unwrap();
        assert_eq!((session.person, session.address.as_str()), (ann, "192.0.2.7"));
        let token = token.unwrap();
        assert_eq!((token.person, token.name.as_str()), (ann, "office script (invented)"));
        assert!(token.reads_only);
        assert_eq!(failed, 2);
    }
    assert_eq!(link.map(|l| (l.tub, l.made_by)), (schema >= 3).then_some((id(101), Some(ann))));
}

async fn opens_whole(place: &Place, schema: u32, record: u32) {
    let expected = std::fs::read_to_string(fixture(&format!("record-{record}.ndjson"))).unwrap();
    let book = Book::open_existing(place).await.unwrap();
    let found = book.verify(None).await.unwrap();
    assert!(found.is_sound(), "schema {schema}: {found:?}");
    assert_eq!(content(&book).await, expected, "schema {schema}");
    let history = book.history(id(101)).await.unwrap();
    let ids: Vec<Uuid> = history.iter().map(|e| e.id).collect();
    assert_eq!(ids, [8, 15, 10, 12, 13, 14].map(id));
    doors_open(&book, schema).await;
    // And it is worked with further.
    let more = entry(900, Kind::Note, id(101), minute(20), json!({ "text": "more" }));
    assert_eq!(book.record(&[more], minute(30)).await.unwrap()[0].seq, found.count + 1);
    book.close().await;
}

#[test]
fn a_book_of_every_released_schema_opens_whole_on_both_engines() {
    let server = Server::start();
    run(async {
        for (schema, record) in SCHEMAS {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("old.book");
            load(&format!("sqlite://{}?mode=rwc", path.display()), "sqlite", schema).await;
            opens_whole(&Place::file(&path).unwrap(), schema, record).await;
            let url = server.database(&format!("schema_{schema}")).await;
            load(&url, "postgres", schema).await;
            opens_whole(&Place::parse(&url).unwrap(), schema, record).await;
        }
    });
}

#[test]
fn what_this_release_records_is_byte_for_byte_what_the_fixture_holds() {
    let kinds: BTreeSet<Kind> = every_kind().iter().map(|e| e.kind).collect();
    assert_eq!(kinds.len(), KINDS.len(), "every kind is in it");
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let book = support::in_a_folder(&folder).await;
        book.record(&every_kind(), minute(30)).await.unwrap();
        let made = content(&book).await;
        let (_, newest) = SCHEMAS[SCHEMAS.len() - 1];
        let path = fixture(&format!("record-{newest}.ndjson"));
        if std::env::var_os("TUBWRIGHT_WRITE_FIXTURE").is_some() {
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(&path, &made).unwrap();
        }
        assert_eq!(made, std::fs::read_to_string(&path).unwrap_or_default());
        book.close().await;
    });
}
