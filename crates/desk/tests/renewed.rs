//! Whatever bears on a tub renews what Today says of it and what its pages show, by whichever door it came.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

use crate::house;

use axum::http::StatusCode;
use book::{Kind, NewEntry, Summary, Uuid};
use house::{House, Reached, id, run};
use serde_json::{Value, json};
use std::time::Duration;

const LOCAL: (&str, &str) = ("host", "localhost");
const MINUTE_US: i64 = 60 * house::SECOND_US;
const KIT: &str = "lot-7";

/// A tub with everything that may bear on it.
struct Scene {
    house: House,
    tub: Uuid,
    shelf: Uuid,
    water: Uuid,
    method: Uuid,
    set: Uuid,
    /// The reading of salt by the firm's own strip.
    salt: String,
}

/// The three ways in.
#[derive(Debug, Clone, Copy)]
enum Door {
    Form,
    Interface,
    /// Another program that writes to the same book.
    Beside,
}

const DOORS: [Door; 3] = [Door::Form, Door::Interface, Door::Beside];

fn strip(first: f64) -> Value {
    json!({ "id": KIT, "kind": "chloride-strip", "basis": "sodium-chloride", "table": [[1, first], [3, 1000], [5, 2300]] })
}

fn products(acid: bool) -> Value {
    let chlorine = json!({ "chemical": "dichlor", "name": "quick chlorine", "available_chlorine_percent": 56, "measure": { "kind": "scale" } });
    let dry = json!({ "chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93, "measure": { "kind": "scale" } });
    if acid { json!([chlorine, dry]) } else { json!([chlorine]) }
}

impl Scene {
    async fn new() -> Scene {
        let house = House::new(Reached::Alone).await;
        // At the beginning of a minute: what is kept of a tub is read again when the minute is over.
        house.clock.wait(MINUTE_US - house.clock.now_us() % MINUTE_US);
        let new = Uuid::now_v7;
        let scene =
            Scene { house, tub: new(), shelf: new(), water: new(), method: new(), set: new(), salt: id() };
        scene.put("methods", scene.method, strip(300.0)).await;
        scene.put("source-waters", scene.water, json!({ "name": "tap (invented)", "ph": 7.6, "total_alkalinity_mg_l_caco3": 120, "calcium_mg_l": 60 })).await;
        scene.put("bands", scene.set, json!({ "name": "set (invented)", "band": {} })).await;
        let shelf = json!({ "name": "shed (invented)", "of": "owner", "products": products(true) });
        scene.put("shelves", scene.shelf, shelf).await;
        scene.put("tubs", scene.tub, scene.body(json!({}))).await;
        for (entry, body) in [
            (id(), json!({ "quantity": "ph", "value": 8.2 })),
            // So much that only other water helps, and the source water bears on the plan.
            (id(), json!({ "quantity": "calcium_hardness", "value": 900 })),
            (id(), json!({ "quantity": "free_chlorine", "value": 4.0 })),
            (id(), json!({ "quantity": "total_alkalinity", "value": 100 })),
            (
                scene.salt.clone(),
                json!({ "quantity": "salt", "method": KIT, "scale_units": 1, "signal_band_changed": true }),
            ),
        ] {
            scene.enter(&entry, None, body).await;
        }
        scene
    }

    fn body(&self, band: Value) -> Value {
        let vessel = json!({ "volume_l": 1300, "temperature_c": 38, "regime": "chlorine", "place": "home" });
        json!({ "name": "Quay (invented)", "tub": vessel, "band": band,
            "source_water": self.water.to_string(), "shelf": self.shelf.to_string() })
    }

    async fn put(&self, path: &str, thing: Uuid, body: Value) {
        let said = self.house.json("PUT", &format!("/api/v1/{path}/{thing}"), &[LOCAL], &body).await;
        assert!(matches!(said.status, StatusCode::CREATED | StatusCode::OK), "{}", said.text);
    }

    async fn enter(&self, entry: &str, corrects: Option<&str>, body: Value) {
        let at = jiff::Timestamp::from_microsecond(self.house.clock.now_us()).unwrap().to_string();
        let mut new = json!({ "id": entry, "kind": "reading", "subject": self.tub.to_string(), "at": at, "body": body });
        if let Some(corrects) = corrects {
            new["corrects"] = json!(corrects);
        }
        let said = self.house.json("POST", "/api/v1/entries", &[LOCAL], &new).await;
        assert_eq!(said.status, StatusCode::CREATED, "{}", said.text);
    }

    /// A version of a thing by a door.
    async fn change(&self, door: Door, kind: Kind, thing: Uuid, path: &str, form: &str, body: Value) {
        // The newest version by its time counts.
        self.house.clock.wait(house::SECOND_US);
        match door {
            Door::Interface => self.put(path, thing, body).await,
            Door::Beside => self.write(kind, thing, None, body).await,
            Door::Form => {
                let (way, fields) = form.split_once(' ').unwrap();
                let said = self.house.form(way, "", &format!("entry={}&{fields}", id())).await;
                assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
            }
        }
    }

    async fn write(&self, kind: Kind, subject: Uuid, corrects: Option<Uuid>, body: Value) {
        let at_us = self.house.clock.now_us();
        let new =
            NewEntry { id: Uuid::now_v7(), kind, subject: Some(subject), at_us, by: None, corrects, body };
        self.house.book.record(&[new], at_us).await.unwrap();
    }

    /// What Today has of the tub, once the book was followed to its last entry.
    async fn today(&self) -> Summary {
        let count = self.house.book.count().await.unwrap();
        for _ in 0..1000 {
            // In this order: a summary that is written between the two is not taken for the one before it.
            let followed = self.house.book.summarised_up_to().await.unwrap();
            let all = self.house.book.summaries(&book::SummaryFilter::default()).await.unwrap();
            let of_tub = all.into_iter().find(|s| s.summary.tub == self.tub);
            if let Some(of_tub) = of_tub.filter(|_| followed == count) {
                return of_tub.summary;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("nobody worked the summary out");
    }

    async fn page(&self, way: &str) -> String {
        let page = self.house.get(&format!("/tubs/{}{way}", self.tub), &[LOCAL]).await.text;
        // Forms carry new ids each time.
        page.split('"').filter(|part| Uuid::try_parse(part).is_err()).collect()
    }

    /// What its pages say of the tub.
    async fn pages(&self) -> String {
        self.page("/plan").await + &self.page("/why/salt").await
    }

    /// Sees to it that a change renews the row of Today and what the pages show.
    async fn renews(&self, what: &str, change: impl Future<Output = ()>) {
        let pages = self.pages().await;
        self.renews_today(what, change).await;
        assert_ne!(self.pages().await, pages, "{what}: the pages");
    }

    async fn renews_today(&self, what: &str, change: impl Future<Output = ()>) {
        self.today().await;
        let pages = self.pages().await;
        assert_eq!(self.pages().await, pages, "{what}: two looks, one page");
        let before = self.house.book.count().await.unwrap();
        change.await;
        assert!(self.house.book.count().await.unwrap() > before, "{what}: recorded");
        assert!(self.today().await.seq > before, "{what}: Today");
    }
}

#[test]
fn whatever_bears_on_a_tub_renews_it_by_whichever_door_it_came() {
    run(async {
        let s = Scene::new().await;
        for (n, door) in DOORS.into_iter().enumerate() {
            let (n, tub) = (n as f64, s.tub);
            let name = |what: &str| format!("{what}, {door:?}");
            let high = 7.5 + n / 10.0;
            let form = format!("/tubs/{tub}/bands band.ph.high={high}");
            let band = s.body(json!({ "ph": { "high": high } }));
            s.renews(&name("band"), s.change(door, Kind::Tub, tub, "tubs", &form, band)).await;

            let form = format!(
                "/methods/{} id={KIT}&basis=sodium-chloride&table=1+{}%0A3+1000%0A5+2300",
                s.method,
                310.0 + n
            );
            // A strip is read by the table of its day: the next lot bears on the readings to come.
            s.renews_today(
                &name("method"),
                s.change(door, Kind::Method, s.method, "methods", &form, strip(310.0 + n)),
            )
            .await;

            let calcium = 200.0 + n;
            let water = json!({ "name": "tap (invented)", "ph": 7.6, "total_alkalinity_mg_l_caco3": 120, "calcium_mg_l": calcium });
            let form = format!(
                "/waters/{} name=tap&ph=7.6&calcium_mg_l={calcium}&total_alkalinity_mg_l_caco3=120",
                s.water
            );
            s.renews(
                &name("source water"),
                s.change(door, Kind::SourceWater, s.water, "source-waters", &form, water),
            )
            .await;

            let acid = matches!(door, Door::Interface);
            let shelf = json!({ "name": "shed (invented)", "of": "owner", "products": products(acid) });
            let form = format!("/shelves/{}/products/2 remove=1", s.shelf);
            s.renews(&name("shelf"), s.change(door, Kind::Shelf, s.shelf, "shelves", &form, shelf)).await;

            let body = json!({ "quantity": "salt", "method": KIT, "scale_units": 2.0 + n, "signal_band_changed": true });
            let corrected: Uuid = s.salt.parse().unwrap();
            let new = id();
            let correction = async {
                match door {
                    Door::Interface => s.enter(&new, Some(&s.salt), body).await,
                    Door::Beside => s.write(Kind::Reading, tub, Some(corrected), body).await,
                    Door::Form => {
                        let way = format!("/tubs/{tub}/entries/{corrected}");
                        let said = s.house.form(&way, "", &format!("id={new}&scale_units=2&signal=1")).await;
                        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
                    }
                }
            };
            s.renews(&name("correction"), correction).await;
        }
        let lot = s.house.book.versions(Kind::Method, s.method).await.unwrap().pop().unwrap();
        let mut table = lot.body.clone();
        table["table"][2] = json!([5, 2900]);
        let (at_us, corrects) = (lot.at_us, Some(lot.id));
        let subject = Some(s.method);
        let new = NewEntry {
            id: Uuid::now_v7(),
            kind: Kind::Method,
            subject,
            at_us,
            by: None,
            corrects,
            body: table,
        };
        let corrected = async { _ = s.house.book.record(&[new], s.house.clock.now_us()).await.unwrap() };
        s.renews("the table of the day was wrong", corrected).await;
    });
}

#[test]
fn what_does_not_bear_on_a_tub_leaves_its_row_alone() {
    run(async {
        let s = Scene::new().await;
        let before = s.today().await;
        let set = json!({ "name": "set (invented)", "band": { "ph": { "low": 7.3 } } });
        s.put("bands", s.set, set).await;
        s.put(
            "tubs",
            Uuid::now_v7(),
            json!({ "name": "B (invented)", "tub": { "volume_l": 900, "regime": "chlorine" } }),
        )
        .await;
        assert_eq!(s.today().await, before);
    });
}
