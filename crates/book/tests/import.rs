//! Readings from a table: both forms, other people's columns, faults with their lines, and the same file twice.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

mod support;

use book::{Book, BookError, ColumnMap, Import, ImportOptions, Kind};
use serde_json::json;
use support::{entry, id, minute, run};

const TUB: u64 = 1001;

async fn book_with_tubs(folder: &tempfile::TempDir) -> Book {
    let book = support::in_a_folder(folder).await;
    let tub = |n: u64, of: u64, name: &str| {
        entry(
            n,
            Kind::Tub,
            id(of),
            minute(0),
            json!({ "name": name, "tub": { "volume_l": 900, "regime": "chlorine" } }),
        )
    };
    book.record(
        &[tub(1, TUB, "Quay (invented)"), tub(2, 1002, "Twin (invented)"), tub(3, 1003, "Twin (invented)")],
        minute(1),
    )
    .await
    .unwrap();
    book
}

async fn read(book: &Book, text: &str, options: &ImportOptions) -> Result<Import, BookError> {
    book.read_readings(text.as_bytes(), "table.csv", options, minute(100_000)).await
}

fn for_the_tub() -> ImportOptions {
    ImportOptions { tub: Some(id(TUB)), ..ImportOptions::default() }
}

#[test]
fn a_table_of_fields_is_imported_once_however_often_it_is_sent() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = book_with_tubs(&folder).await;
        let table = "at,quantity,value,drops,method,tub\n\
                     2026-03-02T08:00:00Z,ph,7.6,,phenol-red,quay (INVENTED)\n\
                     2026-03-02T08:00:00Z,total_alkalinity,,8,drop-titration-10,Quay (invented)\n\
                     2026-03-02T08:00:00Z,free_chlorine,<0.2,,,Quay (invented)\n";
        let import = read(&book, table, &ImportOptions::default()).await.unwrap();
        assert_eq!((import.rows, import.entries.len(), import.there), (3, 3, 0));
        assert_eq!(
            import.entries[1].body,
            json!({ "drops": 8, "method": "drop-titration-10", "quantity": "total_alkalinity" })
        );
        book.record(&import.entries, minute(200)).await.unwrap();
        let again = read(&book, table, &ImportOptions::default()).await.unwrap();
        assert_eq!(again.there, 3);
        assert!(book.record(&again.entries, minute(201)).await.unwrap().iter().all(|r| r.was_there));
        assert_eq!(book.history(id(TUB)).await.unwrap().len(), 3);

        // What was exported comes back as what it was.
        let mut out = Vec::new();
        book.export_readings(&mut out, &mut |_, _| ()).await.unwrap();
        let own = read(&book, &String::from_utf8(out).unwrap(), &ImportOptions::default()).await.unwrap();
        assert_eq!((own.entries.len(), own.there), (3, 3));
    });
}

#[test]
fn another_programs_table_is_read_by_a_map() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = book_with_tubs(&folder).await;
        let map = "delimiter = \";\"\ndecimal = \",\"\noffset = \"+01:00\"\n\n[columns]\nDatum = \"date\"\nZeit = \"time\"\n\
                   \"pH-Wert\" = \"ph\"\nChlor = \"free_chlorine\"\nWetter = \"ignore\"\n\n[methods]\nph = \"phenol-red\"\n";
        let options = ImportOptions { map: ColumnMap::from_toml(map, "map.toml").unwrap(), ..for_the_tub() };
        let table = "\u{feff}Datum;Zeit;pH-Wert;Chlor;Wetter\n2026-03-02;08:30;7,6;1,5;\"Regen; Wind\"\n2026-03-03;08:30;;<0,2;\n;;;;\n";
        let import = read(&book, table, &options).await.unwrap();
        let bodies: Vec<_> = import.entries.iter().map(|e| e.body.clone()).collect();
        assert_eq!(
            bodies,
            [
                json!({ "method": "phenol-red", "quantity": "ph", "value": 7.6 }),
                json!({ "quantity": "free_chlorine", "value": 1.5 }),
                json!({ "quantity": "free_chlorine", "value": "<0.2" }),
            ]
        );
        // 1 March 2026, 08:00 UTC, and a day less half an hour: 08:30 in a zone one hour ahead is 07:30 UTC.
        assert_eq!(import.entries[0].at_us, minute(24 * 60 - 30));
        assert_eq!(import.rows, 2);
    });
}

#[test]
fn every_fault_is_told_with_its_line_and_column_and_nothing_is_taken() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = book_with_tubs(&folder).await;
        let mut map = ColumnMap::default();
        map.add_pair("pH value=ph").unwrap();
        let options = ImportOptions { map, ..ImportOptions::default() };
        let table = "tub,at,pH value,method,quantity,value\n\
                     Quay (invented),2026-03-02T08:00:00Z,79,,,\n\
                     Nowhere,2026-03-02T08:00:00Z,7.9,,,\n\
                     Twin (invented),2026-03-02,7.9,,,\n\
                     Quay (invented),2099-03-02T08:00:00Z,7.9,,,\n\
                     Quay (invented),2026-03-02T08:00:00Z,,my-kit,ph,\n\
                     Quay (invented),2026-03-02T08:00:00Z,seven,,,,,\n\
                     ,2026-03-02T08:00:00Z,\"seven\",,chlorine,1\n";
        let message = read(&book, table, &options).await.unwrap_err().to_string();
        let lines: Vec<&str> = message.lines().collect();
        for (n, start) in [
            "table.csv:2: pH value is 79; pH from",
            "table.csv:3: tub is \"Nowhere\", which is no tub of this book",
            "table.csv:4: tub is \"Twin (invented)\", as several tubs are called",
            "table.csv:4: at is \"2026-03-02\"",
            "table.csv:5: at is ",
            "table.csv:6: method is \"my-kit\", which is not known",
            "table.csv:6: value is missing",
            "table.csv:7: this row has 8 cells, the first line has 6",
            "table.csv:8: tub is missing in this row",
        ]
        .iter()
        .enumerate()
        {
            assert!(lines.get(n).is_some_and(|l| l.starts_with(start)), "{start}\n{message}");
        }
        assert_eq!(book.count().await.unwrap(), 3);
    });
}

#[test]
fn columns_that_make_no_table_are_refused_with_what_would_be_right() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = book_with_tubs(&folder).await;
        for (table, said) in [
            ("", "is empty"),
            ("at,ph,weather\n", "column \"weather\" is not known; --map \"weather=FIELD\""),
            ("ph\n", "no column says when"),
            ("at\n", "no column holds readings"),
            ("at,ph,ph\n", "ph and ph are both ph"),
            ("at,ph\n2026-03-02 08:00,\u{0}\n", "table.csv:2: ph is"),
        ] {
            let message = read(&book, table, &for_the_tub()).await.unwrap_err().to_string();
            assert!(message.contains(said), "{table:?}: {message}");
        }
        let message = book
            .read_readings(b"at,ph\n\xff,7\n", "t", &for_the_tub(), minute(9))
            .await
            .unwrap_err()
            .to_string();
        assert!(message.contains("t:2") && message.contains("UTF-8"), "{message}");
        assert!(ColumnMap::default().add_pair("x").unwrap_err().to_string().contains("column=field"));
        assert!(ColumnMap::default().add_pair("x=pH").unwrap_err().to_string().contains("one of tub, at"));
        for map in [
            "delimiter = \"ab\"",
            "decimal = \";\"",
            "offset = \"CET\"",
            "[columns]\na = \"b\"",
            "nonsense = 1",
            "[methods]\nx = \"y\"",
        ] {
            let e = ColumnMap::from_toml(map, "map.toml").unwrap_err().to_string();
            assert!(e.starts_with("map.toml") && e.contains("accepted"), "{map}: {e}");
        }
    });
}
