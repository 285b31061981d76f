//! The interface as a script sees it.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

use crate::house;

use axum::http::StatusCode;
use house::{House, Reached, SECOND_US, id, run};
use serde_json::{Value, json};
use std::collections::BTreeSet;

const LOCAL: [(&str, &str); 1] = [("host", "localhost")];

fn at(house: &House) -> String {
    jiff::Timestamp::from_microsecond(house.clock.now_us()).unwrap().to_string()
}

fn reading(house: &House, tub: &str, quantity: &str, value: f64) -> Value {
    let body = json!({ "quantity": quantity, "value": value });
    json!({ "id": id(), "kind": "reading", "subject": tub, "at": at(house), "body": body })
}

/// A tub on its tap with a shelf, by the interface alone; gives its id.
async fn tub(house: &House) -> String {
    let (water, shelf, tub) = (id(), id(), id());
    let analysis = json!({ "name": "tap (invented)", "ph": 7.6, "total_alkalinity_mg_l_caco3": 120, "calcium_mg_l": 60 });
    let products = json!([
        { "chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93, "measure": { "kind": "scale" } },
        { "chemical": "dichlor", "name": "quick chlorine", "available_chlorine_percent": 56, "measure": { "kind": "scale" } },
    ]);
    let vessel = json!({ "volume_l": 1300, "temperature_c": 38, "regime": "chlorine", "place": "home" });
    for (path, body) in [
        (format!("/api/v1/source-waters/{water}"), analysis),
        (
            format!("/api/v1/shelves/{shelf}"),
            json!({ "name": "Shed (invented)", "of": "owner", "products": products }),
        ),
        (
            format!("/api/v1/tubs/{tub}"),
            json!({ "name": "Quay (invented)", "tub": vessel, "source_water": water, "shelf": shelf }),
        ),
    ] {
        let said = house.json("PUT", &path, &LOCAL, &body).await;
        assert_eq!(said.status, StatusCode::CREATED, "{path}: {}", said.text);
    }
    tub
}

#[test]
fn an_entry_sent_twice_is_one_and_many_are_all_or_none() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = tub(&house).await;
        let one = reading(&house, &tub, "ph", 7.9);
        let first = house.json("POST", "/api/v1/entries", &LOCAL, &one).await;
        assert_eq!(
            (first.status, &first.json()["was_there"]),
            (StatusCode::CREATED, &json!(false)),
            "{}",
            first.text
        );
        let again = house.json("POST", "/api/v1/entries", &LOCAL, &one).await;
        assert_eq!((again.status, &again.json()["was_there"]), (StatusCode::OK, &json!(true)));
        assert_eq!(first.json()["seq"], again.json()["seq"]);

        let mut other = one.clone();
        other["body"]["value"] = json!(7.1);
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &other).await;
        assert_eq!(
            (said.status, said.header("content-type")),
            (StatusCode::CONFLICT, "application/problem+json")
        );

        let count = house.book.count().await.unwrap();
        let many =
            json!([reading(&house, &tub, "salt", 900.0), reading(&house, &tub, "ph", 79.0), { "id": "x" }]);
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &many).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        let faults = said.json()["faults"].clone();
        assert!(faults.as_array().unwrap().iter().all(|f| f["index"] == 2), "its form comes first: {faults}");
        let many = json!([reading(&house, &tub, "salt", 900.0), reading(&house, &tub, "ph", 79.0)]);
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &many).await;
        let fault = said.json()["faults"][0].clone();
        assert_eq!((&fault["index"], &fault["field"]), (&json!(1), &json!("value")), "{}", said.text);
        assert_eq!(house.book.count().await.unwrap(), count, "nothing of it was recorded");
        let many = json!([reading(&house, &tub, "salt", 900.0), reading(&house, &tub, "ph", 7.8)]);
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &many).await;
        assert_eq!((said.status, said.json().as_array().map(Vec::len)), (StatusCode::CREATED, Some(2)));
    });
}

#[test]
fn an_idempotency_key_gives_the_same_answer_and_no_other_request() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = tub(&house).await;
        let one = reading(&house, &tub, "ph", 7.9);
        let headers = [("host", "localhost"), ("idempotency-key", "monday-1")];
        let first = house.json("POST", "/api/v1/entries", &headers, &one).await;
        let again = house.json("POST", "/api/v1/entries", &headers, &one).await;
        assert_eq!((first.status, again.status), (StatusCode::CREATED, StatusCode::OK));
        assert_eq!(first.text, again.text, "the answer of the first time, word for word");
        let other = reading(&house, &tub, "ph", 7.8);
        let said = house.json("POST", "/api/v1/entries", &headers, &other).await;
        assert_eq!(said.status, StatusCode::CONFLICT, "{}", said.text);
    });
}

#[test]
fn the_log_is_read_page_by_page_to_its_end_in_both_directions() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = tub(&house).await;
        let many: Vec<Value> =
            (0..25).map(|n| reading(&house, &tub, "ph", 7.0 + f64::from(n) / 100.0)).collect();
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &Value::from(many)).await;
        assert_eq!(said.status, StatusCode::CREATED);
        for order in ["oldest-first", "newest-first"] {
            let mut next = Some(format!("/api/v1/entries?kind=reading&subject={tub}&limit=10&order={order}"));
            let (mut seqs, mut pages) = (Vec::new(), 0);
            while let Some(path) = next {
                let said = house.get(&path, &LOCAL).await;
                assert_eq!(said.status, StatusCode::OK, "{path}: {}", said.text);
                let page = said.json();
                seqs.extend(page["items"].as_array().unwrap().iter().map(|e| e["seq"].as_i64().unwrap()));
                next = page["next"].as_str().map(str::to_owned);
                let link = next.as_ref().map_or(String::new(), |n| format!("<{n}>; rel=\"next\""));
                assert_eq!(said.header("link"), link);
                pages += 1;
            }
            let mut sorted = seqs.clone();
            sorted.sort_unstable();
            if order == "newest-first" {
                sorted.reverse();
            }
            assert_eq!((pages, seqs.len(), &seqs), (3, 25, &sorted), "{order}");
        }
        let later = "/api/v1/entries?from=2999-01-01T00:00:00Z";
        assert_eq!(house.get(later, &LOCAL).await.json()["items"], json!([]));
        let found = house.get("/api/v1/entries?text=7.24", &LOCAL).await.json();
        assert_eq!(found["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn whoever_has_it_already_gets_nothing_and_whoever_is_late_overwrites_nothing() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = tub(&house).await;
        let path = format!("/api/v1/tubs/{tub}");
        let first = house.get(&path, &LOCAL).await;
        let mark = first.header("etag").to_owned();
        let said = house.get(&path, &[("host", "localhost"), ("if-none-match", &mark)]).await;
        assert_eq!(
            (said.status, said.text.as_str(), said.header("etag")),
            (StatusCode::NOT_MODIFIED, "", mark.as_str())
        );

        let mut body = first.json()["body"].clone();
        let said = house.json("PUT", &path, &LOCAL, &body).await;
        assert_eq!(
            (said.status, said.header("etag")),
            (StatusCode::OK, mark.as_str()),
            "the same again is no new version"
        );
        body["note"] = json!("gate code with the owner");
        house.clock.wait(SECOND_US);
        let if_mark = [("host", "localhost"), ("if-match", mark.as_str())];
        let said = house.json("PUT", &path, &if_mark, &body).await;
        assert_eq!(said.status, StatusCode::OK);
        assert_ne!(said.header("etag"), mark);
        assert_eq!(said.header("etag"), house.get(&path, &LOCAL).await.header("etag"));
        body["note"] = json!("a late change");
        let said = house.json("PUT", &path, &if_mark, &body).await;
        assert_eq!(said.status, StatusCode::PRECONDITION_FAILED);
        let said = house.json("PUT", &path, &[("host", "localhost"), ("if-none-match", "*")], &body).await;
        assert_eq!(said.status, StatusCode::PRECONDITION_FAILED);
        let new = format!("/api/v1/tubs/{}", id());
        let said = house.json("PUT", &new, &[("host", "localhost"), ("if-match", "*")], &body).await;
        assert_eq!(said.status, StatusCode::PRECONDITION_FAILED, "there is nothing to match");
        assert_eq!(house.get(&path, &LOCAL).await.json()["body"]["note"], "gate code with the owner");
    });
}

#[test]
fn a_tub_and_its_case_sent_back_have_one_plan() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = tub(&house).await;
        let many = json!([
            reading(&house, &tub, "ph", 8.1),
            reading(&house, &tub, "free_chlorine", 1.0),
            reading(&house, &tub, "total_alkalinity", 110.0),
            reading(&house, &tub, "calcium_hardness", 160.0),
            reading(&house, &tub, "cyanuric_acid", 20.0),
        ]);
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &many).await;
        assert_eq!(said.status, StatusCode::CREATED, "{}", said.text);
        let of_tub = house.get(&format!("/api/v1/tubs/{tub}/plan"), &LOCAL).await;
        assert_eq!(of_tub.status, StatusCode::OK, "{}", of_tub.text);
        assert_eq!(of_tub.json()["steps"][0]["kind"], "keep-out", "{}", of_tub.text);
        let case = house.get(&format!("/api/v1/tubs/{tub}/case"), &LOCAL).await.json();
        let of_case = house.json("POST", "/api/v1/plan", &LOCAL, &case).await;
        assert_eq!(of_case.status, StatusCode::OK, "{}", of_case.text);
        assert_eq!(of_case.json()["steps"], of_tub.json()["steps"]);
        assert_eq!(of_case.json()["water_before"], of_tub.json()["water_before"]);
        let mut with_file = case.clone();
        with_file["entries"] = json!("/etc/passwd");
        let said = house.json("POST", "/api/v1/plan", &LOCAL, &with_file).await;
        assert_eq!(
            (said.status, &said.json()["faults"][0]["field"]),
            (StatusCode::UNPROCESSABLE_ENTITY, &json!("entries"))
        );
    });
}

#[test]
fn a_water_is_answered_as_on_the_command_line() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let line =
            r#"{"id":7,"temperature_c":38,"total_alkalinity_mg_l_caco3":80,"ph":7.5,"calcium_mg_l":60}"#;
        let said = house
            .ask(
                "POST",
                "/api/v1/water",
                &[("host", "localhost"), ("content-type", "application/json")],
                line,
            )
            .await;
        assert_eq!(said.status, StatusCode::OK, "{}", said.text);
        let water = care::wire::water::read_line(line, 1).unwrap().answer().unwrap();
        // As text: both are written by one writer, while reading numbers back may move the last digit.
        let expected = serde_json::to_string(&water).unwrap().replacen('{', r#"{"id":7,"#, 1);
        assert_eq!(said.text, expected);
        let said = house.json("POST", "/api/v1/water", &LOCAL, &json!({ "temperature_c": 380 })).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        let text = said.text;
        assert!(
            text.contains("temperature_c is 380") && text.contains("total_alkalinity_mg_l_caco3 is missing"),
            "{text}"
        );
    });
}

#[test]
fn null_is_no_way_to_say_nothing() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let id = "0190a0b0-0000-7000-8000-000000000001";
        let path = format!("/api/v1/source-waters/{id}");
        let said = house.json("PUT", &path, &LOCAL, &json!({ "name": null, "ph": 7.2 })).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("name") && said.text.contains("is null"), "{}", said.text);
        assert_eq!(house.json("GET", &path, &LOCAL, &json!({})).await.status, StatusCode::NOT_FOUND);

        let tub = tub(&house).await;
        let mut entry = reading(&house, &tub, "ph", 7.4);
        entry["body"]["method"] = Value::Null;
        let said = house.json("POST", "/api/v1/entries", &LOCAL, &entry).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("body.method") && said.text.contains("is null"), "{}", said.text);
    });
}

#[test]
fn every_error_is_a_problem_document() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let json_type = ("content-type", "application/json");
        let large = "x".repeat(3 << 20);
        for (method, path, header, body, status) in [
            ("GET", "/api/v1/nothing", json_type, "", 404),
            ("GET", "/api", json_type, "", 404),
            ("GET", "/api/v1/tubs/not-an-id", json_type, "", 404),
            ("GET", "/api/v1/entries/0190a0b0-0000-7000-8000-000000000001", json_type, "", 404),
            ("PATCH", "/api/v1/tubs", json_type, "", 405),
            ("POST", "/api/v1/water", ("content-type", "text/plain"), "{}", 415),
            ("POST", "/api/v1/water", json_type, large.as_str(), 413),
            ("POST", "/api/v1/water", json_type, "{", 400),
            ("POST", "/api/v1/water", json_type, "[]", 422),
            ("POST", "/api/v1/plan", json_type, "{}", 422),
            ("POST", "/api/v1/plan", json_type, "3", 422),
            ("POST", "/api/v1/entries", json_type, "[]", 422),
            ("GET", "/api/v1/entries?kind=wish", json_type, "", 422),
            ("GET", "/api/v1/entries?from=yesterday", json_type, "", 422),
            ("GET", "/api/v1/entries?limit=0", json_type, "", 422),
            ("GET", "/api/v1/tubs?colour=red", json_type, "", 422),
            ("GET", "/api/v1/schemas/wish", json_type, "", 404),
        ] {
            let said = house.ask(method, path, &[("host", "localhost"), header], body).await;
            assert_eq!(said.status.as_u16(), status, "{method} {path}: {}", said.text);
            assert_eq!(said.header("content-type"), "application/problem+json", "{method} {path}");
            let problem = said.json();
            assert_eq!(
                (&problem["type"], &problem["status"]),
                (&json!("about:blank"), &json!(status)),
                "{method} {path}"
            );
            assert!(!problem["detail"].as_str().unwrap_or_default().is_empty(), "{method} {path}: {problem}");
        }
    });
}

#[test]
fn the_limit_of_requests_is_told_and_over_after_a_moment() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let token = house.token("viewer", false).await;
        let headers = [("authorization", token.as_str())];
        for _ in 0..1000 {
            assert_eq!(house.get("/api/v1/schemas/none", &headers).await.status, StatusCode::NOT_FOUND);
        }
        let said = house.get("/api/v1/tubs", &headers).await;
        assert_eq!((said.status, said.header("retry-after")), (StatusCode::TOO_MANY_REQUESTS, "1"));
        assert_eq!(said.header("content-type"), "application/problem+json");
        let other = house.token("lead", false).await;
        assert_eq!(house.get("/api/v1/tubs", &[("authorization", &other)]).await.status, StatusCode::OK);
        house.clock.wait(SECOND_US);
        assert_eq!(house.get("/api/v1/tubs", &headers).await.status, StatusCode::OK);
    });
}

/// Every `$ref` under a value.
fn references(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => {
            found.extend(fields.get("$ref").and_then(Value::as_str).map(str::to_owned));
            fields.values().for_each(|v| references(v, found));
        }
        Value::Array(items) => items.iter().for_each(|v| references(v, found)),
        _ => {}
    }
}

#[test]
fn the_description_has_every_route_and_its_references_lead_somewhere() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let said = house.get("/api/v1/openapi.json", &LOCAL).await;
        let document = said.json();
        assert_eq!(document["openapi"], "3.1.0");
        let mut names = BTreeSet::new();
        for (method, path, _) in desk::rules().filter(|(_, path, _)| path.starts_with("/api/")) {
            let operation = &document["paths"][path][method.as_str().to_lowercase()];
            assert!(operation["summary"].is_string(), "{method} {path}");
            assert!(
                names.insert(operation["operationId"].as_str().unwrap().to_owned()),
                "{method} {path}: its name is twice"
            );
        }
        let mut found = BTreeSet::new();
        references(&document, &mut found);
        assert!(found.len() > 20);
        for reference in found {
            let pointer = reference.strip_prefix('#').unwrap_or_else(|| panic!("{reference} leads away"));
            assert!(document.pointer(pointer).is_some(), "{reference} leads nowhere");
        }
        let page = house.get("/api/v1/", &LOCAL).await.text;
        for path in document["paths"].as_object().unwrap().keys() {
            assert!(page.contains(&format!("{path}</code>")), "{path} is not on the page");
        }
    });
}
