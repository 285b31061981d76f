//! Shelves, methods, bands, people, source waters, the book and one's settings, as pages.

use crate::house;

use axum::http::StatusCode;
use book::{Filter, Kind, Thing, ThingFilter};
use house::{House, Reached, Said, id, run};
use serde_json::json;

const HOST: (&str, &str) = ("host", "localhost:8080");

async fn see(house: &House, path: &str) -> Said {
    house.get(path, &[HOST]).await
}

async fn send(house: &House, path: &str, body: &str) -> Said {
    let headers =
        [HOST, ("content-type", "application/x-www-form-urlencoded"), ("sec-fetch-site", "same-origin")];
    house.ask("POST", path, &headers, body).await
}

async fn the(house: &House, kind: Kind) -> Thing {
    let mut things = house.book.things(kind, &ThingFilter::default()).await.expect("things");
    assert_eq!(things.len(), 1, "{things:?}");
    things.remove(0)
}

async fn shelf(house: &House) -> String {
    let path = format!("/shelves/{}", id());
    let said = send(house, &path, &format!("entry={}&name=Invented+shelf&of=owner", id())).await;
    assert_eq!(
        (said.status, said.header("location")),
        (StatusCode::SEE_OTHER, path.as_str()),
        "{}",
        said.text
    );
    path
}

async fn put(house: &House, kind: Kind, body: serde_json::Value) -> book::Uuid {
    let subject = book::Uuid::now_v7();
    house.write(kind, subject, body).await;
    subject
}

#[test]
fn shelves_stand_under_the_vans_and_the_sites_and_a_search_finds_them() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let shelf = |name: &str, of: &str| json!({ "name": name, "of": of, "products": [] });
        put(&house, Kind::Shelf, shelf("North round", "van")).await;
        put(&house, Kind::Shelf, shelf("Spare", "owner")).await;
        let of_quay = put(&house, Kind::Shelf, shelf("Quay Lane", "owner")).await;
        let site = put(&house, Kind::Site, json!({ "name": "Harbour" })).await;
        let vessel = json!({ "volume_l": 1300.0, "regime": "chlorine" });
        let tub = json!({ "name": "Quay Lane", "site": site, "shelf": of_quay, "tub": vessel });
        put(&house, Kind::Tub, tub).await;

        let all = see(&house, "/shelves").await.text;
        let order =
            ["In the vans", "North round", "Harbour", "Quay Lane", "At other tubs, or at none", "Spare"];
        let places: Vec<_> = order.iter().map(|o| all.find(o).unwrap_or_else(|| panic!("{o}"))).collect();
        assert!(places.is_sorted(), "{places:?}");

        let found = see(&house, "/shelves?q=quay").await.text;
        assert!(found.contains("Quay Lane") && !found.contains("Spare") && !found.contains("North round"));
        let vans = see(&house, "/shelves?of=van").await.text;
        assert!(vans.contains("North round") && !vans.contains("Spare"));
        assert!(see(&house, "/shelves?q=nowhere").await.text.contains("No shelf fits these words."));
    });
}

#[test]
fn a_book_without_a_tub_leads_to_a_new_one_and_a_refusal_says_how_to_go_on() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let today = see(&house, "/").await.text;
        assert!(today.contains("No tub is in the book yet.") && today.contains("href=\"/tubs/new\""));
        let missing = see(&house, "/nothing-here").await;
        assert_eq!(missing.status, StatusCode::NOT_FOUND);
        assert!(missing.text.contains("Nothing in the book was changed."), "{}", missing.text);
        // What is no id is answered like an id that is not there.
        for path in ["/tubs/notanid", "/tubs/notanid/outlook", "/tubs/notanid/why/ph", "/shelves/notanid"] {
            let said = see(&house, path).await;
            assert_eq!(said.status, StatusCode::NOT_FOUND, "{path}: {}", said.text);
            assert!(said.text.contains("Nothing in the book was changed."), "{path}: {}", said.text);
        }
    });
}

#[test]
fn a_product_is_put_on_a_shelf_once_changed_and_taken_off() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let path = shelf(&house).await;
        let form = format!(
            "entry={}&chemical=sodium-bisulfate&name=dry+acid&purity_percent=93%2C5&measure.kind=capful&measure.grams=42",
            id()
        );
        for _ in 0..2 {
            let said = send(&house, &format!("{path}/products/new"), &form).await;
            assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        }
        let body = the(&house, Kind::Shelf).await.body;
        let product = json!({ "chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93.5,
            "measure": { "kind": "capful", "grams": 42 } });
        assert_eq!(body["products"], json!([product]), "the decimal comma is one, and twice is once");
        assert!(see(&house, &path).await.text.contains("Capful: 42 g"));

        let change = format!("{path}/products/1");
        assert!(see(&house, &change).await.text.contains("value=\"93.5\""));
        let said = send(&house, &change, &format!("entry={}&remove=1", id())).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER);
        assert_eq!(the(&house, Kind::Shelf).await.body["products"], json!([]));
        assert_eq!(see(&house, &change).await.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn what_cannot_be_used_is_told_beside_its_field_and_kept_as_typed() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let path = shelf(&house).await;
        let form = format!(
            "entry={}&chemical=hydrochloric-acid&purity_percent=strong&measure.kind=millilitres&name=Acid+%3Cb%3E",
            id()
        );
        let said = send(&house, &format!("{path}/products/new"), &form).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("id=\"purity_percent-fault\""), "{}", said.text);
        assert!(said.text.contains("value=\"strong\""));
        assert!(said.text.contains("Acid &lt;b&gt;") && !said.text.contains("Acid <b>"));
        assert_eq!(the(&house, Kind::Shelf).await.body["products"], json!([]));
    });
}

#[test]
fn a_strips_table_is_kept_drawn_and_held_to_its_order() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let path = format!("/methods/{}", id());
        let form = |rows: &str| {
            format!(
                "entry={}&kind=chloride-strip&id=strip-lot-7&name=Strip&lot=7&basis=sodium-chloride&table={rows}",
                id()
            )
        };
        let wrong = send(&house, &path, &form("1+300%0A2+250")).await;
        assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(wrong.text.contains("1 300\n2 250"), "what was typed is kept: {}", wrong.text);
        let said = send(&house, &path, &form("1+300%0A3%2C5%3B1200%0A5+2400")).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        let body = the(&house, Kind::Method).await.body;
        assert_eq!(body["table"], json!([[1, 300], [3.5, 1200], [5, 2400]]));
        let page = see(&house, &path).await.text;
        assert_eq!(page.matches("circle class=\"row\"").count(), 3, "a ring for each row");
        assert!(page.contains("class=\"curve\""));
    });
}

#[test]
fn built_in_methods_say_how_they_work_and_where_their_error_comes_from() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let list = see(&house, "/methods").await.text;
        for m in care::method::BUILT_IN {
            assert!(list.contains(&format!("href=\"/methods/{}\"", m.id)), "{}", m.id);
            let page = see(&house, &format!("/methods/{}", m.id)).await;
            assert_eq!(page.status, StatusCode::OK, "{}", m.id);
            let source = m.error_source.replace('&', "&amp;");
            assert!(page.text.contains(&*source), "{}", m.id);
        }
        assert_eq!(see(&house, "/methods/no-such-kit").await.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn default_bands_carry_their_source_and_a_hard_limit_needs_the_tick() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let page = see(&house, "/bands?regime=chlorine&place=public").await.text;
        assert!(page.contains("CDC operator page") && page.contains("Bathing limits"), "{page}");
        let body =
            json!({ "name": "Invented", "tub": { "volume_l": 1200, "regime": "chlorine", "place": "home" } });
        let tub = put(&house, Kind::Tub, body).await;
        house.clock.wait(1_000_000);
        let path = format!("/tubs/{tub}/bands");
        let refused = send(&house, &path, &format!("entry={}&band.ph.high=8.4", id())).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.text.contains("beyond the hard limit of 8"), "{}", refused.text);
        let taken =
            send(&house, &path, &format!("entry={}&band.ph.high=8.4&band.ph.beyond_hard_limit=true", id()))
                .await;
        assert_eq!(taken.status, StatusCode::SEE_OTHER, "{}", taken.text);
        let body = the(&house, Kind::Tub).await.body;
        assert_eq!(body["band"], json!({ "ph": { "high": 8.4, "beyond_hard_limit": true } }));
        assert_eq!(body["tub"]["volume_l"], 1200);
    });
}

#[test]
fn people_and_source_waters_are_made_and_changed() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let water = format!("/waters/{}", id());
        let said =
            send(&house, &water, &format!("entry={}&name=Well&ph=7.4&total_alkalinity_mg_l_caco3=40", id()))
                .await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        assert_eq!(
            the(&house, Kind::SourceWater).await.body,
            json!({ "name": "Well", "ph": 7.4, "total_alkalinity_mg_l_caco3": 40 })
        );
        let said = send(&house, &water, &format!("entry={}&name=Well&ph=74", id())).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("id=\"ph-fault\""), "{}", said.text);

        let person = format!("/people/{}", id());
        let said =
            send(&house, &person, &format!("entry={}&name=Ann&role=technician&units=us&language=de", id()))
                .await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        assert!(see(&house, "/people").await.text.contains("Technician"));
        assert_eq!(see(&house, &format!("/people/{}", id())).await.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn the_book_is_filtered_shows_corrections_from_both_ends_and_goes_out_whole() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let now = house.clock.now_us();
        let tub = book::Uuid::now_v7();
        let entry = |kind, corrects, body| book::NewEntry {
            id: book::Uuid::now_v7(),
            kind,
            subject: Some(tub),
            at_us: now,
            by: None,
            corrects,
            body,
        };
        let vessel = entry(
            Kind::Tub,
            None,
            json!({ "name": "Quarry", "tub": { "volume_l": 1200, "regime": "chlorine" } }),
        );
        let first = entry(Kind::Reading, None, json!({ "quantity": "ph", "value": 77.7e-1 }));
        let better = entry(Kind::Reading, Some(first.id), json!({ "quantity": "ph", "value": 7.17 }));
        let note = entry(Kind::Note, None, json!({ "text": "cover torn" }));
        house.book.record(&[vessel, first.clone(), better.clone(), note], now).await.unwrap();

        let all = see(&house, "/book").await.text;
        assert!(all.contains("7.77") && all.contains("7.17") && all.contains("cover torn"), "{all}");
        let notes = see(&house, "/book?kind=note").await.text;
        assert!(notes.contains("cover torn") && !notes.contains("7.17"));
        assert!(!see(&house, "/book?q=nowhere").await.text.contains("cover torn"));
        assert!(!see(&house, &format!("/book?tub={}", id())).await.text.contains("cover torn"));
        assert!(!see(&house, "/book?to=2001-01-01").await.text.contains("cover torn"));
        let old = see(&house, &format!("/book/entries/{}", first.id)).await.text;
        assert!(
            old.contains(&format!("/book/entries/{}", better.id)) && old.contains("does not count"),
            "{old}"
        );
        let new = see(&house, &format!("/book/entries/{}", better.id)).await.text;
        assert!(new.contains(&format!("/book/entries/{}", first.id)));

        let whole = send(&house, "/book/verify", "").await;
        assert!(whole.text.contains("The book is whole: 4 entries"), "{}", whole.text);
        let copy = send(&house, "/book/export", "form=ndjson").await;
        assert_eq!(copy.header("content-disposition"), "attachment; filename=\"book.ndjson\"");
        let lines: Vec<serde_json::Value> =
            copy.text.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        assert_eq!(lines.len(), 6, "a heading, four entries, and that a copy was made");
        let csv = send(&house, "/book/export", "form=csv").await;
        assert_eq!(csv.text.lines().count(), 3, "{}", csv.text);
        let audits = Filter { kinds: vec![Kind::Audit], ..Filter::default() };
        assert_eq!(house.book.entries(&audits).await.unwrap().len(), 2);
    });
}

#[test]
fn who_has_no_name_keeps_language_and_units_in_the_browser() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let said = send(&house, "/me", "language=de&units=us").await;
        assert_eq!(said.status, StatusCode::SEE_OTHER);
        let set: Vec<&str> = said.headers.get_all("set-cookie").iter().map(|h| h.to_str().unwrap()).collect();
        assert_eq!(set.len(), 2, "{set:?}");
        assert!(set.iter().all(|c| c.contains("HttpOnly") && c.contains("SameSite=Lax")), "{set:?}");
        let cookie = ("cookie", "tubwright-language=de; tubwright-units=us");
        let page = house.get("/me", &[HOST, cookie]).await.text;
        assert!(page.contains("<html lang=\"de\">") && page.contains("value=\"us\" selected"), "{page}");
        let wrong = send(&house, "/me", "language=xx&units=stones").await;
        assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(wrong.text.contains("id=\"units-fault\"") && wrong.text.contains("id=\"language-fault\""));
    });
}
