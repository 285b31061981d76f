//! The Reading page: raw units as each kit has them, results before anything is recorded, each entry once.

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use book::{Book, Entry, Filter, Kind, NewEntry, Place, Uuid};
use http_body_util::BodyExt;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};
use std::sync::Arc;
use tower::ServiceExt;

/// 2 March 2026, 09:00 UTC.
const NOW_S: i64 = 1_772_442_000;

struct Fixed;

impl desk::Clock for Fixed {
    fn now(&self) -> Timestamp {
        Timestamp::from_second(NOW_S).expect("a moment")
    }
}

/// A book with one tub, and the app over it.
struct Scene {
    app: Router,
    book: Book,
    tub: Uuid,
    _folder: tempfile::TempDir,
}

impl Scene {
    async fn new(kit: Value) -> Scene {
        let folder = tempfile::tempdir().expect("a folder");
        let place = Place::file(&folder.path().join("reading.book")).expect("a place");
        let book = Book::open(&place).await.expect("a new book");
        let tub = Uuid::now_v7();
        let body = json!({
            "name": "Orchard Row (invented)",
            "tub": { "volume_l": 1300, "regime": "salt-cell", "temperature_c": 38 },
            "kit": kit,
        });
        let strip = json!({
            "id": "lot-7", "name": "strip, lot 7", "kind": "chloride-strip",
            "table": [[1, 300], [3, 1000], [5, 2100], [7, 3600]],
        });
        let entries =
            [(Kind::Tub, tub, body), (Kind::Method, Uuid::now_v7(), strip)].map(|(kind, subject, body)| {
                let (id, at_us) = (Uuid::now_v7(), (NOW_S - 86_400) * 1_000_000);
                NewEntry { id, kind, subject: Some(subject), at_us, by: None, corrects: None, body }
            });
        book.record(&entries, NOW_S * 1_000_000).await.expect("recorded");
        let state = desk::App::new(book.clone(), Arc::new(Fixed), TimeZone::UTC, false, true);
        Scene { app: desk::app(state), book, tub, _folder: folder }
    }

    async fn ask(&self, request: Request<Body>) -> (StatusCode, String, String) {
        let answer = self.app.clone().oneshot(request).await.expect("an answer");
        let status = answer.status();
        let to = answer.headers().get(header::LOCATION).map(|h| h.to_str().expect("text").to_owned());
        let bytes = answer.into_body().collect().await.expect("a body").to_bytes();
        (status, to.unwrap_or_default(), String::from_utf8(bytes.to_vec()).expect("text"))
    }

    async fn get(&self, path: &str) -> (StatusCode, String) {
        let request = Request::get(path).body(Body::empty()).expect("a request");
        let (status, _, text) = self.ask(request).await;
        (status, text)
    }

    async fn page(&self) -> String {
        let (status, text) = self.get(&format!("/tubs/{}/reading", self.tub)).await;
        assert_eq!(status, StatusCode::OK);
        text
    }

    async fn post(&self, path: &str, fields: &[(String, String)]) -> (StatusCode, String, String) {
        let request = Request::post(format!("/tubs/{}/reading{path}", self.tub))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(encoded(fields)))
            .expect("a request");
        self.ask(request).await
    }

    async fn readings(&self) -> Vec<Entry> {
        let filter = Filter { kinds: vec![Kind::Reading], subject: Some(self.tub), ..Filter::default() };
        self.book.entries(&filter).await.expect("entries")
    }
}

fn encoded(fields: &[(String, String)]) -> String {
    let text = |t: &str| {
        t.bytes()
            .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
            .collect::<String>()
    };
    fields.iter().map(|(n, v)| format!("{}={}", text(n), text(v))).collect::<Vec<_>>().join("&")
}

/// The fields of a form with these rows: quantity, method, shape, figure.
fn form(rows: &[(&str, &str, &str, &str)]) -> Vec<(String, String)> {
    let mut fields = vec![
        ("units".to_owned(), "metric".to_owned()),
        ("shown".into(), "2026-03-02T09:00".into()),
        ("at".into(), "2026-03-02T09:00".into()),
        ("moment".into(), "2026-03-02T08:59:30.5Z".into()),
    ];
    for (n, (quantity, method, shape, figure)) in rows.iter().enumerate() {
        for (name, value) in
            [("quantity", *quantity), ("method", method), ("shape", shape), ("figure", figure)]
        {
            fields.push((format!("{name}.{n}"), value.to_owned()));
        }
        fields.push((format!("id.{n}"), Uuid::now_v7().to_string()));
    }
    fields
}

fn with(mut fields: Vec<(String, String)>, more: &[(&str, &str)]) -> Vec<(String, String)> {
    fields.extend(more.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())));
    fields
}

#[tokio::test]
async fn each_quantity_is_asked_for_in_the_raw_unit_of_the_tubs_kit() {
    let kit = json!({ "ph": "phenol-red", "total_alkalinity": "drop-titration-10", "salt": "lot-7", "temperature": "thermometer" });
    let page = Scene::new(kit).await.page().await;
    for (what, part) in [
        ("a colour step", r#"name="step.0" value="7.4""#),
        ("drops", "Drops, 10\u{a0}mg/L each"),
        ("scale units", "Scale units at the top of the white column"),
        ("the signal band", r#"name="changed.2" value="yes""#),
        ("a numeric keypad", r#"inputmode="decimal""#),
        ("degrees", "Figure, °C"),
    ] {
        assert!(page.contains(part), "{what}: {part} is not on the page");
    }
    assert!(!page.contains(r#"value="calcium_hardness" data"#), "the kit reads no calcium hardness");
}

#[tokio::test]
async fn without_a_kit_the_usual_quantities_are_asked_for() {
    let page = Scene::new(json!({})).await.page().await;
    for quantity in ["ph", "free_chlorine", "total_alkalinity", "calcium_hardness", "salt", "temperature"] {
        assert!(page.contains(&format!(r#"" value="{quantity}">"#)), "{quantity}");
    }
}

#[tokio::test]
async fn every_filled_row_becomes_a_reading_of_the_same_moment_and_the_plan_follows() {
    let scene = Scene::new(json!({})).await;
    let fields = form(&[
        ("ph", "phenol-red", "value", "7,6"),
        ("free_chlorine", "fas-dpd-0.2", "drops", "15"),
        ("calcium_hardness", "drop-titration-10", "drops", ""),
    ]);
    let (status, to, _) = scene.post("", &fields).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert_eq!(to, format!("/tubs/{}/plan", scene.tub));
    let read = scene.readings().await;
    assert_eq!(read[0].body, json!({ "quantity": "ph", "method": "phenol-red", "value": 7.6 }));
    assert_eq!(read[1].body, json!({ "quantity": "free_chlorine", "method": "fas-dpd-0.2", "drops": 15 }));
    assert_eq!(read.len(), 2);
    // Half a minute before the page's own time: the device's moment counts, to the millisecond.
    assert!(read.iter().all(|r| r.at_us == (NOW_S - 30) * 1_000_000 + 500_000));
}

#[tokio::test]
async fn the_same_form_sent_twice_is_recorded_once() {
    let scene = Scene::new(json!({})).await;
    let fields = form(&[("ph", "phenol-red", "value", "7.6")]);
    for _ in 0..2 {
        assert_eq!(scene.post("", &fields).await.0, StatusCode::SEE_OTHER);
    }
    assert_eq!(scene.readings().await.len(), 1);
}

#[tokio::test]
async fn what_cannot_be_used_is_said_beside_its_row_and_nothing_is_recorded() {
    let scene = Scene::new(json!({})).await;
    for (figure, said) in [
        ("76", "4 to 11"),
        ("seven", "is not a number"),
        ("7,600", "write 7600 or 7.6"),
        ("", "No figure was entered"),
    ] {
        let fields =
            form(&[("ph", "phenol-red", "value", figure), ("free_chlorine", "dpd-comparator", "value", "")]);
        let (status, _, page) = scene.post("", &fields).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{figure}");
        assert!(page.contains(said), "{figure}: {said}");
        assert!(page.contains(&format!(r#"value="{figure}""#)), "what was typed is kept: {figure}");
    }
    assert!(scene.readings().await.is_empty());
}

#[tokio::test]
async fn a_wrong_row_keeps_the_right_ones_from_being_recorded_alone() {
    let scene = Scene::new(json!({})).await;
    let fields =
        form(&[("ph", "phenol-red", "value", "7.6"), ("free_chlorine", "dpd-comparator", "value", "300")]);
    assert_eq!(scene.post("", &fields).await.0, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(scene.readings().await.is_empty());
}

#[tokio::test]
async fn results_are_told_before_anything_is_recorded() {
    let scene = Scene::new(json!({})).await;
    let scene = &scene;
    let told = |rows: Vec<(String, String)>| async move { scene.post("/check", &rows).await };
    let (status, _, text) = told(form(&[("total_alkalinity", "drop-titration-10", "drops", "11")])).await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("<strong>105\u{a0}mg/L</strong> give or take"), "{text}");
    assert!(text.contains("the last drop turned the colour"), "{text}");
    assert!(!text.contains("<html"), "a fragment, not a page");

    let strip = form(&[("salt", "lot-7", "units", "5")]);
    let (.., text) = told(with(strip.clone(), &[("changed.0", "yes"), ("minutes.0", "3")])).await;
    assert!(text.contains("<strong>2,100\u{a0}mg/L</strong>"), "{text}");
    let (.., text) = told(with(strip, &[("changed.0", "no")])).await;
    assert!(text.contains("Void") && text.contains("signal band had not changed"), "{text}");

    let (.., text) = told(form(&[("free_chlorine", "dpd-photometer", "value", "<0.05")])).await;
    assert!(text.contains("Less than 0.1\u{a0}mg/L"), "{text}");
    assert!(scene.readings().await.is_empty());
}

#[tokio::test]
async fn a_reading_that_contradicts_an_earlier_one_is_doubted_while_it_is_typed() {
    let scene = Scene::new(json!({})).await;
    let first =
        form(&[("total_alkalinity", "laboratory", "value", "200"), ("ph", "phenol-red", "value", "7.5")]);
    assert_eq!(scene.post("", &first).await.0, StatusCode::SEE_OTHER);
    let (.., text) =
        scene.post("/check", &form(&[("total_alkalinity", "drop-titration-10", "drops", "8")])).await;
    assert!(text.contains("Doubtful:") && text.contains("contradict"), "{text}");
    let (.., text) =
        scene.post("/check", &form(&[("total_alkalinity", "drop-titration-10", "drops", "20")])).await;
    assert!(!text.contains("contradict"), "{text}");
}

#[tokio::test]
async fn chlorine_voids_a_dyes_ph_as_soon_as_both_are_typed() {
    let scene = Scene::new(json!({})).await;
    let rows = [("ph", "phenol-red", "value", "7.5"), ("free_chlorine", "fas-dpd-0.5", "value", "14")];
    let (.., text) = scene.post("/check", &form(&rows)).await;
    assert!(text.contains("Void") && text.contains("bleached"), "{text}");
}

#[tokio::test]
async fn another_method_is_remembered_for_the_next_time() {
    let scene = Scene::new(json!({ "ph": "phenol-red", "free_chlorine": "dpd-comparator" })).await;
    let fields =
        form(&[("ph", "ph-electrode", "value", "7.42"), ("free_chlorine", "dpd-comparator", "value", "")]);
    assert_eq!(scene.post("", &fields).await.0, StatusCode::SEE_OTHER);
    let tub = scene.book.thing(Kind::Tub, scene.tub).await.expect("an answer").expect("the tub");
    assert_eq!(tub.body["kit"], json!({ "free_chlorine": "dpd-comparator", "ph": "ph-electrode" }));
    assert!(scene.page().await.contains("by glass pH electrode"));
}

#[tokio::test]
async fn another_time_and_another_quantity_can_be_given() {
    let scene = Scene::new(json!({ "ph": "phenol-red" })).await;
    let fields = with(form(&[("ph", "phenol-red", "value", "7.6")]), &[("do", "also"), ("also", "iron")]);
    let (status, _, page) = scene.post("", &fields).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains(r#"name="quantity.1" value="iron""#) && page.contains(r#"value="7.6""#));
    let mut fields = form(&[("ph", "phenol-red", "value", "7.6")]);
    fields.retain(|(n, _)| n != "at");
    let (status, ..) = scene.post("", &with(fields.clone(), &[("at", "2026-03-01T18:30")])).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert_eq!(scene.readings().await[0].at_us, (NOW_S - 52_200) * 1_000_000);
    let (status, _, page) = scene.post("", &with(fields, &[("at", "yesterday")])).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("“yesterday” is not a time"));
}

#[tokio::test]
async fn degrees_fahrenheit_are_recorded_in_celsius() {
    let scene = Scene::new(json!({})).await;
    let mut fields = form(&[("temperature", "thermometer", "value", "100.4")]);
    fields[0].1 = "us".into();
    assert_eq!(scene.post("", &fields).await.0, StatusCode::SEE_OTHER);
    assert_eq!(scene.readings().await[0].body["value"], json!(38));
}

#[tokio::test]
async fn junk_is_refused_and_nothing_of_it_recorded() {
    let scene = Scene::new(json!({})).await;
    let sound = form(&[("ph", "phenol-red", "value", "7.6")]);
    for (field, junk) in [
        ("id.0", "x"),
        ("id.0", ""),
        ("quantity.0", "saturation_index"),
        ("quantity.0", "pH"),
        ("method.0", "no-such-method"),
        ("method.0", "chloride-strip"),
        ("shape.0", "drops"),
        ("figure.0", "1e309"),
        ("figure.0", "\u{0}"),
        ("moment", "soon"),
        ("moment", "2099-01-01T00:00:00Z"),
    ] {
        let fields =
            sound.iter().map(|(n, v)| (n.clone(), if n == field { junk.to_owned() } else { v.clone() }));
        let (status, ..) = scene.post("", &fields.collect::<Vec<_>>()).await;
        assert!(status.is_client_error(), "{field} = {junk:?}: {status}");
    }
    assert!(scene.readings().await.is_empty());
    let other = Uuid::now_v7();
    assert_eq!(scene.get(&format!("/tubs/{other}/reading")).await.0, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_worker_keeps_nothing_that_is_not_there() {
    let scene = Scene::new(json!({})).await;
    let (status, worker) = scene.get("/sw.js").await;
    assert_eq!(status, StatusCode::OK);
    let list =
        worker.split_once("const ASSETS = [").and_then(|(_, rest)| rest.split_once(']')).expect("a list").0;
    let paths: Vec<&str> = list.split(',').map(|p| p.trim().trim_matches('"')).collect();
    assert_eq!(paths.len(), 4);
    for path in paths {
        assert_eq!(scene.get(path).await.0, StatusCode::OK, "{path}");
    }
    assert!(!worker.contains("__"), "a name was left unfilled");
    // The line by which a copy is told from the page itself is changed in the text: both must agree.
    assert!(worker.contains(r#"'id="stale" hidden'"#) && scene.page().await.contains(r#"id="stale" hidden"#));
}
