//! `tubwright book`, as a person or a script runs it: what it prints, where, and with which exit code.

mod run;

use run::{Run, Scratch, tubwright};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// An export of an invented book, with an entry of every kind.
fn export_file() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../book/tests/fixtures/record-1.ndjson");
    path.to_str().expect("a path").to_owned()
}

fn done(run: Run, code: i32) -> Run {
    assert_eq!(run.code, code, "stdout: {}\nstderr: {}", run.out, run.err);
    run
}

fn json(run: &Run) -> Value {
    serde_json::from_str(&run.out).unwrap_or_else(|e| panic!("{e}: {}", run.out))
}

/// A folder with a restored book, `spas.book`.
fn with_book() -> Scratch {
    let dir = Scratch::new();
    done(tubwright(&["book", "restore", &export_file(), "--book", "spas.book"]).within(&dir).run(), 0);
    dir
}

#[test]
fn a_book_goes_out_and_comes_back_the_same() {
    let dir = with_book();
    let book = ["--book", "spas.book"];
    let call = |args: &[&str]| tubwright(&[&["book"], args, &book].concat()).within(&dir).run();

    let sound = done(call(&["verify", "--json"]), 0);
    let sound = json(&sound);
    assert_eq!((sound["sound"].as_bool(), sound["entries"].as_i64()), (Some(true), Some(17)));
    let head = sound["head"].as_str().expect("a hash").to_owned();
    let expected = done(call(&["verify", "--expect", &head]), 0);
    assert!(expected.out.contains("that of entry 17") && expected.err.is_empty(), "{}", expected.out);

    assert_eq!(done(call(&["export"]), 0).out, fs::read_to_string(export_file()).expect("the fixture"));
    let csv = done(call(&["export", "--format", "csv", "readings.csv", "--json"]), 0);
    assert_eq!(json(&csv)["readings"], 3);
    done(call(&["export", "--format", "csv", "readings.csv"]), 2);

    let backup = done(call(&["backup", "copy.book", "--json"]), 0);
    assert_eq!(
        (json(&backup)["entries"].as_i64(), json(&backup)["head"].as_str()),
        (Some(17), Some(head.as_str()))
    );
    let again = done(call(&["backup", "copy.book"]), 2);
    assert!(again.err.contains("copy.book: is there already"), "{}", again.err);
    let restored =
        tubwright(&["book", "restore", "copy.book", "--book", "second.book", "--json"]).within(&dir).run();
    assert_eq!(json(&done(restored, 0))["head"].as_str(), Some(head.as_str()));
    let full =
        done(tubwright(&["book", "restore", "copy.book", "--book", "second.book"]).within(&dir).run(), 2);
    assert!(full.err.contains("holds 17 entries already"), "{}", full.err);
    // The place may also come from the environment, where a password is not seen by others.
    let there =
        tubwright(&["book", "verify", "--json"]).env("TUBWRIGHT_BOOK", "second.book").within(&dir).run();
    assert_eq!(json(&done(there, 0))["entries"], 17);
}

#[test]
fn an_altered_book_is_named_and_ends_with_1() {
    let dir = with_book();
    let path = dir.path("spas.book");
    let mut bytes = fs::read(&path).expect("the book");
    // Everywhere: a page keeps scraps of what stood in it before.
    let places: Vec<usize> =
        bytes.windows(12).enumerate().filter(|(_, w)| *w == b"\"value\":8.1}").map(|(at, _)| at).collect();
    assert!(!places.is_empty(), "the reading is there");
    places.into_iter().for_each(|at| bytes[at + 10] = b'2');
    fs::write(&path, bytes).expect("altered");
    let run = done(tubwright(&["book", "verify", "--book", "spas.book", "--json"]).within(&dir).run(), 1);
    let found = json(&run);
    assert_eq!((found["sound"].as_bool(), found["faults"][0]["seq"].as_i64()), (Some(false), Some(9)));
    assert!(run.err.contains("entry 9 (") && run.err.contains("was altered"), "{}", run.err);
}

#[test]
fn readings_are_imported_all_or_none() {
    let dir = with_book();
    dir.write("log.csv", "when,pH value\n2026-03-02 08:00,7.6\n2026-03-03 08:00,7.7\n".as_bytes());
    let import = |args: &[&str]| {
        let always =
            ["book", "import", "log.csv", "--book", "spas.book", "--json", "--tub", "quay (invented)"];
        tubwright(&[&always, args].concat()).within(&dir).run()
    };
    let map = ["--map", "when=at", "--map", "pH value=ph"];
    let tried = json(&done(import(&[&map[..], &["--dry-run"]].concat()), 0));
    assert_eq!((tried["new"].as_i64(), tried["recorded"].as_bool()), (Some(2), Some(false)));
    assert_eq!(json(&done(import(&map), 0))["new"], 2);
    let again = json(&done(import(&map), 0));
    assert_eq!((again["new"].as_i64(), again["there_already"].as_i64()), (Some(0), Some(2)));
    let sound =
        json(&done(tubwright(&["book", "verify", "--book", "spas.book", "--json"]).within(&dir).run(), 0));
    assert_eq!(sound["entries"], 19);

    dir.write("log.csv", "when,pH value\n2026-03-04 08:00,7.6\nyesterday,77\n".as_bytes());
    let wrong = done(import(&map), 2);
    assert!(wrong.out.is_empty(), "{}", wrong.out);
    assert!(wrong.err.contains("log.csv:3: when is \"yesterday\""), "{}", wrong.err);
    let unknown = done(import(&[]), 2);
    assert!(unknown.err.contains("column \"when\" is not known"), "{}", unknown.err);
    let sound =
        json(&done(tubwright(&["book", "verify", "--book", "spas.book", "--json"]).within(&dir).run(), 0));
    assert_eq!(sound["entries"], 19, "nothing of a wrong table is recorded");
}

#[test]
fn what_is_not_there_or_is_no_book_is_told() {
    let dir = Scratch::new();
    let call = |args: &[&str]| tubwright(&[&["book"], args].concat()).within(&dir).run();
    let none = done(call(&["verify", "--book", "none.book"]), 2);
    assert!(none.err.contains("there is no book here"), "{}", none.err);
    assert!(!dir.path("none.book").exists());
    let scheme = done(call(&["verify", "--book", "mysql://ann:s3cret@db/x"]), 2);
    assert!(scheme.err.contains("is accepted") && !scheme.err.contains("s3cret"), "{}", scheme.err);
    let from = done(call(&["restore", "none.ndjson", "--book", "new.book"]), 2);
    assert!(
        from.err.contains("none.ndjson: cannot be read") && !dir.path("new.book").exists(),
        "{}",
        from.err
    );
    dir.write("letter.txt", "Dear book\n".as_bytes());
    let letter = done(call(&["restore", "letter.txt", "--book", "new.book"]), 2);
    assert!(letter.err.contains("letter.txt:1:") && !dir.path("new.book").exists(), "{}", letter.err);
    let damaged = done(call(&["verify", "--book", "letter.txt"]), 1);
    assert!(damaged.err.contains("is damaged or is no book"), "{}", damaged.err);
}
