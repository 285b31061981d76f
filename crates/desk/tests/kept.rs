//! What was read of a tub is kept for the next look, and a page never shows what is no longer so.

use crate::house;

use book::{Kind, Uuid};
use house::{House, Reached, run};
use serde_json::json;

const HOST: (&str, &str) = ("host", "localhost:8080");
const MINUTE_US: i64 = 60_000_000;

impl House {
    async fn page(&self, tub: Uuid, way: &str) -> String {
        self.get(&format!("/tubs/{tub}{way}"), &[HOST]).await.text
    }
}

#[test]
fn what_is_recorded_is_seen_at_once() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard (invented)").await;
        let first = house.page(tub, "/why/ph").await;
        assert!(first.contains("8.10") && house.page(tub, "/why/ph").await == first, "nothing happened");

        // A reading, written by another hand than this server's.
        house.write(Kind::Reading, tub, json!({ "quantity": "ph", "value": 7.2 })).await;
        assert!(house.page(tub, "/why/ph").await.contains("7.20"));

        // The shelf: what the plan may use is gone.
        let acid = house.page(tub, "/plan").await;
        let shelf = house.book.thing(Kind::Tub, tub).await.unwrap().unwrap().body["shelf"].clone();
        let shelf: Uuid = shelf.as_str().unwrap().parse().unwrap();
        assert!(acid.contains("liquid chlorine"));
        house.write(Kind::Shelf, shelf, json!({ "name": "shelf", "of": "owner", "products": [] })).await;
        assert!(!house.page(tub, "/plan").await.contains("liquid chlorine"));

        // The tub itself.
        let mut body = house.book.thing(Kind::Tub, tub).await.unwrap().unwrap().body;
        body["tub"]["volume_l"] = json!(2345);
        house.clock.wait(1);
        house.write(Kind::Tub, tub, body).await;
        assert!(house.page(tub, "").await.contains("2,345 L"));
    });
}

#[test]
fn each_reader_has_their_own_units() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard (invented)").await;
        assert!(house.page(tub, "").await.contains("1,200 L"));
        let us = house.get(&format!("/tubs/{tub}"), &[HOST, ("cookie", "tubwright-units=us")]).await.text;
        assert!(us.contains("317 US gal"));
        assert!(house.page(tub, "").await.contains("1,200 L"));
    });
}

#[test]
fn a_plan_is_made_anew_as_time_goes_on() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard (invented)").await;
        assert!(!house.page(tub, "/why/free_chlorine").await.contains("The time since then adds"));
        // Three days on the chlorine that was read says little.
        house.clock.wait(3 * 24 * 60 * MINUTE_US);
        assert!(house.page(tub, "/why/free_chlorine").await.contains("The time since then adds"));
    });
}
