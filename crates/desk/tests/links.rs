//! The owner's sheet and the private link: what it shows, what it lets in, and when it ends.

use crate::house;

use axum::http::StatusCode;
use book::{Filter, Kind, Uuid};
use house::{DAY_US, House, Reached, SECOND_US, Said, id, run};
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

/// The secret of a new link.
async fn link(house: &House, tub: Uuid, days: i64) -> String {
    let said = send(house, &format!("/tubs/{tub}/links"), &format!("entry={}&days={days}", id())).await;
    assert_eq!(said.status, StatusCode::CREATED, "{}", said.text);
    assert_eq!(said.header("cache-control"), "no-store");
    let rest = said.text.split("http://localhost:8080/o/").nth(1).expect("the address");
    rest.split('"').next().unwrap_or_default().to_owned()
}

#[test]
fn the_sheet_says_what_to_do_in_capfuls_with_every_caution() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard (invented)").await;
        let page = see(&house, &format!("/tubs/{tub}/sheet")).await;
        assert_eq!(page.status, StatusCode::OK);
        let case = house.book.case(tub, house.clock.now_us(), None).await.unwrap();
        let plan = care::planner::plan(&case).unwrap();
        assert!(plan.steps.iter().any(|s| s.chemical == Some("sodium-bisulfate")), "the case asks for acid");
        let plain =
            page.text.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
        assert!(plain.contains(plan.headline.as_str()));
        for step in &plan.steps {
            assert!(plain.contains(step.measure_text.as_str()), "{}", step.measure_text);
            for caution in &step.cautions {
                assert!(plain.contains(caution.as_str()), "missing: {caution}");
            }
        }
    });
}

#[test]
fn the_sheet_is_a_pdf_on_either_paper() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard (invented)").await;
        for query in ["", "?paper=a4", "?paper=letter", "?paper=letter&large=1"] {
            let said = see(&house, &format!("/tubs/{tub}/sheet.pdf{query}")).await;
            assert_eq!(
                (said.status, said.header("content-type")),
                (StatusCode::OK, "application/pdf"),
                "{}",
                said.text
            );
            assert!(said.text.starts_with("%PDF-") && said.text.len() > 5000, "{query}");
        }
        let secret = link(&house, tub, 90).await;
        let with_code = see(&house, &format!("/o/{secret}/sheet.pdf")).await;
        assert!(with_code.text.starts_with("%PDF-"));
        assert_eq!(with_code.header("referrer-policy"), "same-origin");
    });
}

#[test]
fn a_link_is_long_kept_as_a_hash_and_shown_once() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard").await;
        let secret = link(&house, tub, 90).await;
        assert_eq!(secret.len(), 43, "256 bits in base64: {secret}");
        assert_ne!(secret, link(&house, tub, 90).await);
        let again = see(&house, &format!("/tubs/{tub}/sheet")).await.text;
        assert!(!again.contains(&secret));
        for file in std::fs::read_dir(house.folder.path()).unwrap() {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            assert!(!bytes.windows(43).any(|w| w == secret.as_bytes()), "the secret is on the disk");
        }
        let form = format!("entry={}", id());
        assert_eq!(send(&house, &format!("/tubs/{tub}/links"), &form).await.status, StatusCode::CREATED);
        let twice = send(&house, &format!("/tubs/{tub}/links"), &form).await;
        assert_eq!(twice.status, StatusCode::SEE_OTHER, "the same form makes one link");
        assert_eq!(house.book.links(tub).await.unwrap().len(), 3);
    });
}

#[test]
fn a_link_opens_one_tub_and_ends() {
    run(async {
        let house = House::new(Reached::ByOthers).await;
        let (mine, other) = (house.tub("Mine").await, house.tub("Other").await);
        let now = house.clock.now_us();
        let made = |tub, days: i64| book::Link {
            id: Uuid::now_v7(),
            tub,
            made_us: now,
            made_by: None,
            expires_us: now + days * DAY_US,
            revoked_us: None,
        };
        let (short, long) = (made(mine, 1), made(mine, 365));
        house.book.add_link(&short, "short-secret").await.unwrap();
        house.book.add_link(&long, "long-secret").await.unwrap();
        let page = house.get("/o/short-secret", &[]).await;
        assert_eq!(page.status, StatusCode::OK, "no log-in is asked for: {}", page.text);
        assert!(page.text.contains("Mine") && !page.text.contains("Other") && !page.text.contains("/tubs/"));
        assert!(page.text.contains("name=\"robots\" content=\"noindex"));
        assert_eq!(page.header("x-robots-tag"), "noindex, nofollow");
        assert_eq!(page.header("referrer-policy"), "same-origin");
        let elsewhere = house.get(&format!("/tubs/{other}/sheet"), &[]).await;
        assert!(elsewhere.header("location").starts_with("/login"), "a link opens nothing else");

        assert_eq!(house.get("/o/wrong-secret", &[]).await.status, StatusCode::NOT_FOUND);
        house.clock.wait(DAY_US + SECOND_US);
        assert_eq!(house.get("/o/short-secret", &[]).await.status, StatusCode::NOT_FOUND);
        assert_eq!(house.get("/o/short-secret/sheet.pdf", &[]).await.status, StatusCode::NOT_FOUND);
        assert_eq!(house.get("/o/long-secret", &[]).await.status, StatusCode::OK);
        assert!(house.book.revoke_link(mine, long.id, house.clock.now_us()).await.unwrap());
        assert_eq!(house.get("/o/long-secret", &[]).await.status, StatusCode::NOT_FOUND);
        let late = house.form("/o/long-secret/reading", "", "ph.value=7.5").await;
        assert_eq!(late.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn an_owner_sends_a_reading_once_by_the_tubs_kit_and_not_too_often() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = house.tub("Orchard").await;
        let secret = link(&house, tub, 90).await;
        house.clock.wait(SECOND_US);
        let path = format!("/o/{secret}/reading");
        let form = format!("entry={}&ph.value=7%2C6&total_alkalinity.drops=9&free_chlorine.value=", id());
        for _ in 0..2 {
            let said = send(&house, &path, &form).await;
            assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
            assert_eq!(said.header("location"), format!("/o/{secret}?sent=1"));
        }
        let since =
            |kind| Filter { subject: Some(tub), kinds: vec![kind], after_seq: Some(5), ..Filter::default() };
        let read = house.book.entries(&since(Kind::Reading)).await.unwrap();
        let bodies: Vec<_> = read.iter().map(|e| e.body.clone()).collect();
        assert_eq!(
            bodies,
            [
                json!({ "quantity": "ph", "method": "phenol-red", "value": 7.6 }),
                json!({ "quantity": "total_alkalinity", "method": "drop-titration-10", "drops": 9 }),
            ]
        );
        assert!(read.iter().all(|e| e.by.is_none()));
        let notes = house.book.entries(&since(Kind::Note)).await.unwrap();
        assert!(notes[0].body["text"].as_str().unwrap().contains("owner"), "{notes:?}");

        let wrong = send(&house, &path, &format!("entry={}&ph.value=76", id())).await;
        assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            wrong.text.contains("id=\"ph.value-fault\"") && wrong.text.contains("value=\"76\""),
            "{}",
            wrong.text
        );
        let empty = send(&house, &path, &format!("entry={}", id())).await;
        assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);

        let mut last = StatusCode::OK;
        for _ in 0..12 {
            last = send(&house, &path, &format!("entry={}&ph.value=7.5", id())).await.status;
        }
        assert_eq!(last, StatusCode::TOO_MANY_REQUESTS);
        house.clock.wait(3601 * SECOND_US);
        let later = send(&house, &path, &format!("entry={}&ph.value=7.5", id())).await;
        assert_eq!(later.status, StatusCode::SEE_OTHER, "after an hour it may send again");
    });
}
