//! What the tests of the doors and the interface share: an app over a book of its own, a clock that is set, a browser's
//! few habits.

use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use book::{Book, Kind, NewEntry, Place, Uuid};
use desk::{App, Clock, accounts};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use tower::ServiceExt;

pub(crate) const PASSWORD: &str = "seven grey herons wading";
pub(crate) const SECOND_US: i64 = 1_000_000;
pub(crate) const DAY_US: i64 = 24 * 3600 * SECOND_US;

/// A clock that stands where it is set.
pub(crate) struct Stopped(AtomicI64);

impl Clock for Stopped {
    fn now(&self) -> Timestamp {
        Timestamp::from_microsecond(self.0.load(Ordering::Relaxed)).expect("a time")
    }
}

impl Stopped {
    pub(crate) fn now_us(&self) -> i64 {
        self.0.load(Ordering::Relaxed)
    }

    pub(crate) fn wait(&self, us: i64) {
        self.0.fetch_add(us, Ordering::Relaxed);
    }
}

pub(crate) struct House {
    pub(crate) app: axum::Router,
    pub(crate) book: Book,
    pub(crate) clock: Arc<Stopped>,
    pub(crate) folder: tempfile::TempDir,
}

/// An answer, read to its end.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) text: String,
}

impl Said {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|e| panic!("{e}: {}", self.text))
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |h| h.to_str().expect("text"))
    }

    /// `name=value` of the cookie that was set.
    pub(crate) fn cookie(&self) -> String {
        self.header("set-cookie").split(';').next().unwrap_or_default().to_owned()
    }
}

/// How the server is reached.
pub(crate) enum Reached {
    Alone,
    ByOthers,
    At(&'static str),
}

impl House {
    pub(crate) async fn new(reached: Reached) -> House {
        let folder = tempfile::tempdir().expect("a folder");
        let place = Place::file(&folder.path().join("t.book")).expect("a place");
        let book = Book::open(&place).await.expect("a book");
        // The machine's own time: ids made now are never from the future.
        let clock = Arc::new(Stopped(AtomicI64::new(Timestamp::now().as_microsecond())));
        let (loopback, public) = match reached {
            Reached::Alone => (true, None),
            Reached::ByOthers => (false, None),
            Reached::At(url) => (false, Some(url.parse().expect("an address"))),
        };
        let app = App::reached_at(book.clone(), clock.clone(), TimeZone::UTC, false, loopback, public);
        House { app: desk::app(app), book, clock, folder }
    }

    /// With an account for each role, named like it.
    pub(crate) async fn with_people(reached: Reached) -> House {
        let house = House::new(reached).await;
        for role in accounts::ROLES {
            let made = accounts::add(&house.book, role, role, role, PASSWORD, house.clock.now_us()).await;
            made.expect("an account");
        }
        house
    }

    /// Records something of the present moment; its id.
    pub(crate) async fn write(&self, kind: Kind, subject: Uuid, body: Value) -> Uuid {
        let (id, at_us) = (Uuid::now_v7(), self.clock.now_us());
        let entry = NewEntry { id, kind, subject: Some(subject), at_us, by: None, corrects: None, body };
        self.book.record(&[entry], at_us).await.expect("recorded");
        id
    }

    /// A tub with a shelf and readings that ask for acid and chlorine.
    pub(crate) async fn tub(&self, name: &str) -> Uuid {
        let (tub, shelf, now) = (Uuid::now_v7(), Uuid::now_v7(), self.clock.now_us());
        let entry = |kind, subject, body| NewEntry {
            id: Uuid::now_v7(),
            kind,
            subject: Some(subject),
            at_us: now,
            by: None,
            corrects: None,
            body,
        };
        let products = json!([
            { "chemical": "sodium-bisulfate", "name": "dry acid", "measure": { "kind": "capful", "grams": 42, "smallest": 0.25 } },
            { "chemical": "sodium-hypochlorite", "name": "liquid chlorine", "available_chlorine_g_l": 125 },
        ]);
        let kit = json!({ "ph": "phenol-red", "total_alkalinity": "drop-titration-10" });
        let vessel = json!({ "volume_l": 1200, "regime": "chlorine", "place": "home", "temperature_c": 38 });
        let entries = [
            entry(Kind::Shelf, shelf, json!({ "name": "shelf", "of": "owner", "products": products })),
            entry(
                Kind::Tub,
                tub,
                json!({ "name": name, "tub": vessel, "shelf": shelf.to_string(), "kit": kit }),
            ),
            entry(Kind::Reading, tub, json!({ "quantity": "ph", "value": 8.1 })),
            entry(Kind::Reading, tub, json!({ "quantity": "free_chlorine", "value": 0.8 })),
            entry(Kind::Reading, tub, json!({ "quantity": "total_alkalinity", "value": 110 })),
        ];
        self.book.record(&entries, now).await.expect("recorded");
        tub
    }

    pub(crate) async fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Said {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(Body::from(body.to_owned())).expect("a request");
        let response = self.app.clone().oneshot(request).await.expect("an answer");
        let (status, headers) = (response.status(), response.headers().clone());
        let bytes = to_bytes(response.into_body(), 64 << 20).await.expect("a body");
        // A space that no line breaks is a space to whoever reads.
        let text = String::from_utf8_lossy(&bytes).replace('\u{a0}', " ");
        Said { status, headers, text }
    }

    pub(crate) async fn get(&self, path: &str, headers: &[(&str, &str)]) -> Said {
        self.ask("GET", path, headers, "").await
    }

    /// A form as a browser sends it from a page of ours.
    pub(crate) async fn form(&self, path: &str, cookie: &str, body: &str) -> Said {
        let headers = [
            ("content-type", "application/x-www-form-urlencoded"),
            ("sec-fetch-site", "same-origin"),
            ("cookie", cookie),
        ];
        self.ask("POST", path, &headers, body).await
    }

    pub(crate) async fn json(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &Value,
    ) -> Said {
        let mut all = vec![("content-type", "application/json")];
        all.extend_from_slice(headers);
        self.ask(method, path, &all, &body.to_string()).await
    }

    pub(crate) async fn log_in(&self, name: &str, password: &str) -> Said {
        let password = password.replace(' ', "+");
        self.form("/login", "", &format!("name={name}&password={password}")).await
    }

    /// The cookie of a new session.
    pub(crate) async fn session(&self, name: &str) -> String {
        self.clock.wait(10 * SECOND_US); // so that the limit of the login page is not in the way
        let said = self.log_in(name, PASSWORD).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        said.cookie()
    }

    /// The header of a new token.
    pub(crate) async fn token(&self, name: &str, reads_only: bool) -> String {
        let now = self.clock.now_us();
        let made = accounts::add_token(&self.book, name, "a test", reads_only, 90, now).await;
        format!("Bearer {}", made.expect("a token"))
    }
}

pub(crate) fn id() -> String {
    Uuid::now_v7().to_string()
}

/// Runs a future to its end.
pub(crate) fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime")
        .block_on(future)
}
