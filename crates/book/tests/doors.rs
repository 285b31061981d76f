//! The doors' tables, told on both engines: who can log in, who is logged in, what was tried, what was answered.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

mod support;

use book::{Account, Answered, Attempts, Book, BookError, Place, Session, Token};
use support::{id, in_a_folder, minute, postgres::Server, run};

fn account(n: u64, login: &str) -> Account {
    Account {
        person: id(n),
        login: login.into(),
        password: "$argon2id$…".into(),
        disabled: false,
        made_us: minute(0),
    }
}

async fn story(book: &Book) {
    assert!(!book.has_accounts().await.unwrap());
    book.set_account(&account(1, "ana")).await.unwrap();
    book.set_account(&account(2, "ben")).await.unwrap();
    assert!(book.has_accounts().await.unwrap());
    let taken = book.set_account(&account(3, "ana")).await;
    assert!(matches!(taken, Err(BookError::Question { field: "login", .. })), "{taken:?}");
    book.set_account(&Account { disabled: true, password: "new".into(), ..account(2, "ben") }).await.unwrap();
    let ben = book.account_of(id(2)).await.unwrap().unwrap();
    assert_eq!((ben.login.as_str(), ben.password.as_str(), ben.disabled), ("ben", "new", true));
    assert!(!format!("{ben:?}").contains("new"), "not even the hash shows");
    let names: Vec<String> = book.accounts().await.unwrap().into_iter().map(|a| a.login).collect();
    assert_eq!(names, ["ana", "ben"]);

    let session =
        |n| Session { person: id(n), made_us: minute(1), seen_us: minute(1), address: "::1".into() };
    for (hash, n) in [("a", 1), ("b", 1), ("c", 1), ("d", 2)] {
        book.add_session(hash, &session(n)).await.unwrap();
    }
    book.touch_session("a", minute(9)).await.unwrap();
    assert_eq!(book.session("a").await.unwrap(), Some(Session { seen_us: minute(9), ..session(1) }));
    book.end_session("b").await.unwrap();
    assert_eq!(book.session("b").await.unwrap(), None);
    assert_eq!(book.end_sessions(id(1), "a").await.unwrap(), 1);
    book.sweep_doors(minute(5), minute(0), minute(0)).await.unwrap();
    assert!(book.session("a").await.unwrap().is_some() && book.session("d").await.unwrap().is_none());

    let token = Token {
        id: id(10),
        person: id(1),
        name: "nightly".into(),
        reads_only: true,
        made_us: minute(1),
        seen_us: None,
        ends_us: minute(99),
    };
    book.add_token("t", &token).await.unwrap();
    book.touch_token(id(10), minute(3)).await.unwrap();
    let used = Token { seen_us: Some(minute(3)), ..token };
    assert_eq!(book.token("t").await.unwrap().as_ref(), Some(&used));
    assert_eq!(book.tokens(id(1)).await.unwrap(), [used]);
    assert!(!book.revoke_token(id(2), id(10)).await.unwrap(), "another person's");
    assert!(book.revoke_token(id(1), id(10)).await.unwrap());
    assert_eq!(book.token("t").await.unwrap(), None);

    let tries = futures(book).await;
    assert_eq!(tries, [1, 2, 3, 4, 5, 6, 7, 8], "two at once count as two");
    book.lock_out("name", minute(20)).await.unwrap();
    assert_eq!(book.attempts("name").await.unwrap(), Attempts { failed: 8, until_us: minute(20) });
    book.forget_failures("name").await.unwrap();
    assert_eq!(book.attempts("name").await.unwrap(), Attempts::default());

    let first = Answered { request_hash: "r".into(), status: 201, answer: "{}".into() };
    book.keep_answer("k", &first, minute(4)).await.unwrap();
    let second = Answered { request_hash: "s".into(), ..first.clone() };
    book.keep_answer("k", &second, minute(5)).await.unwrap();
    assert_eq!(book.answered("k").await.unwrap(), Some(first), "the first answer stays");
    book.sweep_doors(0, 0, minute(5)).await.unwrap();
    assert_eq!(book.answered("k").await.unwrap(), None);

    assert_eq!(book.count().await.unwrap(), 0, "nothing of it is in the record");
    assert!(book.verify(None).await.unwrap().is_sound());
}

/// Eight failures at once.
async fn futures(book: &Book) -> Vec<i64> {
    let all: Vec<_> = (0..8)
        .map(|_| {
            let book = book.clone();
            tokio::spawn(async move { book.count_failure("name", minute(10)).await.unwrap() })
        })
        .collect();
    let mut counted = Vec::new();
    for one in all {
        counted.push(one.await.unwrap());
    }
    counted.sort_unstable();
    counted
}

#[test]
fn in_a_file() {
    let folder = tempfile::tempdir().unwrap();
    run(async { story(&in_a_folder(&folder).await).await });
}

#[test]
fn on_a_server() {
    let server = Server::start();
    run(async {
        let place = Place::parse(&server.database("doors").await).unwrap();
        let book = Book::open(&place).await.unwrap();
        story(&book).await;
        book.close().await;
    });
}
