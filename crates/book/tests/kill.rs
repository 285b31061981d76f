//! Nothing acknowledged is ever lost: the writer is killed at random points through more than a thousand writes, again
//! and again, on both engines; PostgreSQL itself is stopped as by a power cut. Every acknowledged entry is there once.
//!
//! The writer is this very program, run again with another test chosen. It is killed after a random number of
//! acknowledgements, not after a time: it goes on writing while the signal is on its way, so the point is random too.

mod support;

use book::{Book, Filter, Kind, NewEntry, Place};
use serde_json::json;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};
use support::{entry, id, minute, postgres::Server, run};

const PLACE: &str = "BOOK_TEST_WRITER_PLACE";
const FROM: &str = "BOOK_TEST_WRITER_FROM";
/// How many acknowledged writes each engine must survive.
const WRITES: u64 = 1200;
/// And how many ends of its writer.
const ROUNDS: u64 = 20;

/// The n-th entry: the same whenever it is sent.
fn nth(n: u64) -> NewEntry {
    entry(
        n,
        Kind::Reading,
        id(1),
        minute(0),
        json!({ "quantity": "ph", "value": 7.0 + (n % 10) as f64 / 10.0 }),
    )
}

/// The entries that are sent together with the n-th: one, or three.
fn batch(n: u64) -> std::ops::Range<u64> {
    n..n + if n.is_multiple_of(3) { 3 } else { 1 }
}

#[test]
#[ignore = "is the writer that the other tests run and kill"]
fn writer() {
    let place = std::env::var(PLACE).expect("the other tests name the place");
    let mut n: u64 = std::env::var(FROM).expect("and the first number").parse().expect("a number");
    run(async {
        let book = Book::open_existing(&Place::parse(&place).expect("a place")).await.expect("the book");
        loop {
            let together = batch(n);
            let entries: Vec<NewEntry> = together.clone().map(nth).collect();
            book.record(&entries, minute(1)).await.expect("recorded");
            n = together.end;
            let mut out = std::io::stdout().lock();
            writeln!(out, "\nrecorded {n}").and_then(|()| out.flush()).expect("the parent listens");
        }
    });
}

fn start(place: &str, from: u64) -> Child {
    Command::new(std::env::current_exe().expect("this program"))
        .args(["--ignored", "--exact", "writer", "--nocapture", "--test-threads=1"])
        .env(PLACE, place)
        .env(FROM, from.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the writer starts")
}

/// A generator with a fixed seed, so that a run can be repeated (Knuth's MMIX constants).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

/// Runs the writer from number `from` and ends it after some acknowledgements; the first number not acknowledged.
fn round(place: &str, from: u64, after: u64, end: &dyn Fn(&mut Child)) -> u64 {
    let mut writer = start(place, from);
    let lines = BufReader::new(writer.stdout.take().expect("a pipe")).lines();
    let (mut next, mut heard, mut killed) = (from, 0, false);
    // What it had said before it died is still in the pipe, and counts.
    for line in lines.map_while(Result::ok) {
        let Some(n) = line.strip_prefix("recorded ") else { continue };
        next = n.parse().expect("a number");
        heard += 1;
        if heard >= after && !killed {
            end(&mut writer);
            killed = true;
        }
    }
    let _status = writer.wait().expect("it is gone");
    assert!(killed, "the writer ended by itself after {heard} acknowledgements");
    next
}

/// Kills until enough is acknowledged; after each kill the record is whole, and at the end everything is there once.
/// `end` says how the writer of the n-th round comes to its end.
fn survive(place: &str, seed: u64, end: &dyn Fn(u64, &mut Child)) {
    let mut dice = Dice(seed);
    let (mut next, mut rounds) = (1, 0);
    run(async { Book::open(&Place::parse(place).expect("a place")).await.expect("a book").close().await });
    while next <= WRITES || rounds < ROUNDS {
        rounds += 1;
        next = round(place, next, 1 + dice.below(40), &|writer| end(rounds, writer));
        run(async {
            let book =
                Book::open_existing(&Place::parse(place).expect("a place")).await.expect("it opens again");
            let found = book.verify(None).await.expect("it can be read");
            assert!(found.is_sound(), "round {rounds}: {found:?}");
            // A batch that was not acknowledged may be there or not, but never in part.
            let most = batch(next).end - 1;
            assert!(
                found.count == next as i64 - 1 || found.count == most as i64,
                "round {rounds}: {} entries, {} acknowledged",
                found.count,
                next - 1
            );
            book.close().await;
        });
    }
    run(async {
        let book = Book::open_existing(&Place::parse(place).expect("a place")).await.expect("it opens");
        let filter = Filter { limit: Some(u32::MAX), ..Filter::default() };
        let entries = book.entries(&filter).await.expect("the entries");
        let ids: BTreeSet<_> = entries.iter().map(|e| e.id).collect();
        assert_eq!(ids.len(), entries.len(), "doubled");
        for n in 1..next {
            assert!(ids.contains(&id(n)), "entry {n} was acknowledged and is lost");
        }
    });
}

#[test]
fn what_sqlite_acknowledged_survives_kills() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("test.book");
    survive(place.to_str().expect("a path"), 1, &|_, writer| writer.kill().expect("SIGKILL"));
}

#[test]
fn what_postgresql_acknowledged_survives_kills_of_the_writer_and_of_the_server() {
    let server = Server::start();
    let url = run(server.database("kill"));
    // Every fourth time the server itself goes, in the middle of the writer's work. A writer that was between two
    // entries may connect again and go on, so it is ended too.
    survive(&url, 2, &|round, writer| {
        if round.is_multiple_of(4) {
            server.crash_and_restart();
        }
        writer.kill().expect("SIGKILL");
    });
}
