//! A tub's life on its pages: commissioned, read, planned, ticked, corrected, asked about. Without script, as forms are sent.

use crate::house;

use axum::http::StatusCode;
use book::{Filter, Kind, NewEntry, Uuid};
use house::{House, Reached, Said, id, run};
use serde_json::{Value, json};

const FORM: &str = "name=Quay+Lane+(invented)&volume=1%2C300&volume_unit=l&regime=chlorine&place=home&filled=1&source=new&\
     source_ph=7.7&source_alkalinity=110&source_hardness=180&shelf=new&has.sodium-bisulfate=1&has.dichlor=1&\
     has.sodium-bicarbonate=1";

/// The id in an address such as `/tubs/{id}`.
fn tub_of(said: &Said) -> Uuid {
    assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
    said.header("location").trim_start_matches("/tubs/").parse().expect("a tub")
}

async fn commissioned(house: &House) -> Uuid {
    tub_of(&house.form("/tubs/new", "", &format!("id={}&{FORM}", id())).await)
}

async fn read(house: &House, tub: Uuid, quantity: &str, value: Value) -> Uuid {
    house.write(Kind::Reading, tub, json!({ "quantity": quantity, "value": value })).await
}

/// A tub with readings that ask for acid and chlorine.
async fn in_need(house: &House) -> Uuid {
    let tub = commissioned(house).await;
    house.clock.wait(3 * house::DAY_US);
    for (quantity, value) in [
        ("ph", 8.1),
        ("free_chlorine", 0.5),
        ("total_alkalinity", 120.0),
        ("calcium_hardness", 180.0),
        ("cyanuric_acid", 20.0),
    ] {
        read(house, tub, quantity, json!(value)).await;
    }
    tub
}

async fn count(house: &House, tub: Uuid, kind: Kind) -> usize {
    let filter = Filter { subject: Some(tub), kinds: vec![kind], ..Filter::default() };
    house.book.entries(&filter).await.expect("entries").len()
}

/// The value of a field in the form that ticks step `n`.
fn field<'a>(page: &'a str, n: usize, name: &str) -> &'a str {
    let form = page.split("<form class=\"tick-step\"").nth(n).expect("a step to tick");
    let after =
        form.split(&format!("name=\"{name}\"")).nth(1).unwrap_or_else(|| panic!("no {name} in {form}"));
    after.split("value=\"").nth(1).and_then(|v| v.split('"').next()).expect("a value")
}

/// Grams of a product that a plan's page asks for, in all its steps.
fn asked(page: &str, product: &str) -> f64 {
    let steps = page.matches("<form class=\"tick-step\"").count();
    let of_it =
        (1..=steps).filter(|n| field(page, *n, "kind") == "add" && field(page, *n, "product") == product);
    of_it.map(|n| field(page, n, "amount").parse::<f64>().expect("grams")).sum()
}

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

#[test]
fn a_commissioned_fill_is_a_tub_with_source_water_shelf_and_a_plan() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let page = house.get("/tubs/new", &[]).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.text.contains("name=\"volume\"") && page.text.contains("name=\"id\""));

        let body = format!("id={}&{FORM}", id());
        let first = tub_of(&house.form("/tubs/new", "", &body).await);
        // Sent twice, as an impatient thumb does: one tub.
        assert_eq!(tub_of(&house.form("/tubs/new", "", &body).await), first);
        assert_eq!(house.book.count().await.expect("a count"), 4);

        let page = house.get(&format!("/tubs/{first}"), &[]).await;
        assert_eq!(page.status, StatusCode::OK);
        for text in [
            "Quay Lane (invented)",
            "1,300 L",
            "The water now",
            "Filled with source water",
            "Shelf of Quay Lane",
            "Keep people out",
        ] {
            assert!(page.text.contains(text), "{text} is not on the page");
        }
        let plan = house.get(&format!("/tubs/{first}/plan"), &[]).await;
        assert!(plan.text.contains("What to do, in this order"), "{}", plan.text);
    });
}

#[test]
fn a_tub_that_cannot_be_says_why_beside_its_field_and_keeps_what_was_typed() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let said = house
            .form(
                "/tubs/new",
                "",
                &format!("id={}&name=Shed&volume=9&volume_unit=l&regime=chlorine&place=home", id()),
            )
            .await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("id=\"fault-volume\""), "{}", said.text);
        assert!(said.text.contains("value=\"Shed\""));
        let said = house.form("/tubs/new", "", "volume=lots&regime=chlorine&place=home").await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("“lots” is no number") && said.text.contains("fault-name"));
        assert_eq!(house.book.count().await.expect("a count"), 0);
    });
}

#[test]
fn a_change_keeps_what_the_form_does_not_show() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        let thing = house.book.thing(Kind::Tub, tub).await.expect("a thing").expect("a tub");
        let mut body = thing.body.clone();
        body["kit"] = json!({ "ph": "phenol-red" });
        house.clock.wait(1);
        house.write(Kind::Tub, tub, body).await;
        house.clock.wait(house::SECOND_US);

        let page = house.get(&format!("/tubs/{tub}/edit"), &[]).await;
        assert!(page.text.contains("value=\"1,300\""), "{}", page.text);
        let (source, shelf) = (
            thing.body["source_water"].as_str().expect("an id"),
            thing.body["shelf"].as_str().expect("an id"),
        );
        let sent = format!(
            "id={}&name=New+name&volume=400&volume_unit=gal&regime=salt-cell&place=rental&source={source}&shelf={shelf}&cell_low=1500&cell_high=2500",
            id()
        );
        let said = house.form(&format!("/tubs/{tub}/edit"), "", &sent).await;
        assert_eq!(tub_of(&said), tub);
        let body = house.book.thing(Kind::Tub, tub).await.expect("a thing").expect("a tub").body;
        assert_eq!((&body["name"], &body["kit"]["ph"]), (&json!("New name"), &json!("phenol-red")));
        // 400 US gallons are 1514 litres (1 US gal = 3.785411784 L by definition).
        assert_eq!(body["tub"]["volume_l"].as_f64(), Some(1514.0));
        assert_eq!(body["tub"]["cell_window_mg_l"], json!([1500, 2500]));
        assert_eq!(body["source_water"], json!(source));
    });
}

#[test]
fn a_ticked_step_is_recorded_once_with_what_was_really_added_and_the_plan_goes_on_from_there() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let plan = house.get(&format!("/tubs/{tub}/plan"), &[]).await;
        assert_eq!(plan.status, StatusCode::OK);
        let product = field(&plan.text, 1, "product").to_string();
        let amount: f64 = field(&plan.text, 1, "amount").parse().expect("grams");
        let wait = field(&plan.text, 1, "wait_min").to_string();
        assert!(plan.text.contains("Never near chlorine products"), "the cautions are there in full");

        // Really added: a little more than the plan said.
        let grams = amount + 3.0;
        let sent = format!(
            "id={}&step=1&kind=add&product={}&amount={grams}&unit=g&wait_min={wait}",
            id(),
            encoded(&product)
        );
        for _ in 0..2 {
            let said = house.form(&format!("/tubs/{tub}/steps"), "", &sent).await;
            assert_eq!(
                (said.status, said.header("location")),
                (StatusCode::SEE_OTHER, format!("/tubs/{tub}/plan").as_str())
            );
        }
        assert_eq!(count(&house, tub, Kind::StepDone).await, 1);
        let done = house
            .book
            .history(tub)
            .await
            .expect("a history")
            .into_iter()
            .find(|e| e.kind == Kind::StepDone)
            .expect("a step");
        assert_eq!(
            (done.body["mass_g"].as_f64(), done.body["product"].as_str()),
            (Some(grams), Some(product.as_str()))
        );

        // The case has the dose, so the plan made from it does not ask for it again; the wait still stands on the page.
        let after = house.get(&format!("/tubs/{tub}/plan"), &[]).await;
        assert!(
            after.text.contains("Done in the last 24 hours") && after.text.contains("Wait until"),
            "{}",
            after.text
        );
        let (before, rest) = (asked(&plan.text, &product), asked(&after.text, &product));
        assert!(
            (before - grams - rest).abs() <= 10.0,
            "{before} g were asked for, {grams} added, {rest} still asked for"
        );
        // Once the wait is over the page does not ask for it.
        house.clock.wait(4 * 3600 * house::SECOND_US);
        let later = house.get(&format!("/tubs/{tub}/plan"), &[]).await;
        assert!(!later.text.contains("Wait until"));
    });
}

#[test]
fn what_cannot_have_been_added_is_refused_and_nothing_is_recorded() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        for (sent, says) in [
            ("kind=add&product=sodium+bisulfate&amount=lots&unit=g&step=1", "is no number"),
            ("kind=add&product=sodium+bisulfate&amount=&unit=g&step=1", "How much was really added"),
            ("kind=add&product=fairy+dust&amount=5&unit=g&step=1", "not on this tub"),
            ("kind=add&amount=5&unit=g", "The product is missing"),
            ("kind=replace-water&amount=120", "0 to 100"),
            ("kind=dance", "dance"),
        ] {
            let said = house.form(&format!("/tubs/{tub}/steps"), "", &format!("id={}&{sent}", id())).await;
            assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY, "{sent}");
            assert!(said.text.contains(says), "{sent}: {says} is not said");
        }
        assert_eq!(count(&house, tub, Kind::StepDone).await, 0);
    });
}

#[test]
fn all_of_the_water_replaced_is_a_new_fill() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let sent = format!("id={}&kind=replace-water&amount=100", id());
        let said = house.form(&format!("/tubs/{tub}/steps"), "", &sent).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER);
        house.clock.wait(60 * house::SECOND_US);
        assert_eq!(count(&house, tub, Kind::Event).await, 2, "the first fill and this one");
        let why = house.get(&format!("/tubs/{tub}/why/ph"), &[]).await;
        assert!(why.text.contains("It was not read since the last fill"), "{}", why.text);
    });
}

#[test]
fn a_correction_is_a_new_entry_and_a_withdrawal_needs_its_reason() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let wrong = read(&house, tub, "salt", json!(9000)).await;
        let path = format!("/tubs/{tub}/entries/{wrong}");
        let page = house.get(&path, &[]).await;
        assert!(page.text.contains("value=\"9000\""), "{}", page.text);
        let said = house.form(&path, "", &format!("id={}&do=correct&value=900", id())).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        let history = house.book.history(tub).await.expect("a history");
        let salt: Vec<_> = history.iter().filter(|e| e.body["quantity"] == "salt").collect();
        assert_eq!(
            (salt.len(), salt[0].body["value"].as_f64(), salt[0].corrects),
            (1, Some(900.0), Some(wrong))
        );
        let page = house.get(&format!("/tubs/{tub}"), &[]).await;
        assert!(page.text.contains("corrected by a later entry") && page.text.contains("9,000 mg/L"));

        let path = format!("/tubs/{tub}/entries/{}", salt[0].id);
        let said = house.form(&path, "", &format!("id={}&do=withdraw&why=", id())).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        let said = house.form(&path, "", &format!("id={}&do=withdraw&why=another+tub", id())).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER);
        let history = house.book.history(tub).await.expect("a history");
        assert!(history.iter().all(|e| e.body["quantity"] != "salt"));

        // An entry of one tub is not corrected from another's page.
        let other = commissioned(&house).await;
        let said = house
            .form(&format!("/tubs/{other}/entries/{wrong}"), "", &format!("id={}&do=withdraw&why=x", id()))
            .await;
        assert_eq!(said.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn the_history_is_drawn_and_stands_in_a_table_too() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        read(&house, tub, "free_chlorine", json!("<0.2")).await;
        let page = house.get(&format!("/tubs/{tub}?days=90&q=ph&q=free_chlorine"), &[]).await;
        assert_eq!(page.text.matches("<svg class=\"chart\"").count(), 2, "{}", page.text);
        assert!(page.text.contains("circle class=\"dot\"") && page.text.contains("rect class=\"band\""));
        assert!(page.text.contains("Readings as a table") && page.text.contains("below 0.2"));
        assert!(page.text.contains("line class=\"deed\""), "the fill is a tick");
        // A span that is none falls back to the usual one.
        assert_eq!(house.get(&format!("/tubs/{tub}?days=7000000"), &[]).await.status, StatusCode::OK);
    });
}

#[test]
fn notes_and_events_are_recorded_and_the_empty_ones_refused() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        let path = |what: &str| format!("/tubs/{tub}/{what}");
        let sent = format!("id={}&form=note&text=Cover+seam+%3Cb%3Eopen", id());
        assert_eq!(house.form(&path("notes"), "", &sent).await.status, StatusCode::SEE_OTHER);
        let page = house.get(&format!("/tubs/{tub}"), &[]).await;
        assert!(page.text.contains("Cover seam &lt;b&gt;open"), "what people write is no markup");
        let empty = house.form(&path("notes"), "", "form=note&text=++").await;
        assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
        let sent = format!("id={}&form=event&kind=bathers&people=4&minutes=30&volume=", id());
        assert_eq!(house.form(&path("events"), "", &sent).await.status, StatusCode::SEE_OTHER);
        let sent = format!("id={}&form=event&kind=bathers", id());
        let said = house.form(&path("events"), "", &sent).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        let nobody = format!("/tubs/{}/notes", Uuid::now_v7());
        assert_eq!(house.form(&nobody, "", "form=note&text=x").await.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn a_tubs_page_shows_the_moment_until_somebody_asked_for_the_plan_that_looks_ahead() {
    const OF_THE_MOMENT: &str = "Worked out for the water of this moment.";
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let at = format!("/tubs/{tub}");
        let lead = |page: &str| {
            let after = page.split("<p class=\"lead\">").nth(1).expect("a lead");
            after.split("</p>").next().expect("its end").to_owned()
        };
        assert!(house.get(&at, &[]).await.text.contains(OF_THE_MOMENT));
        let plan = house.get(&format!("{at}/plan"), &[]).await.text;
        let page = house.get(&at, &[]).await.text;
        assert!(!page.contains(OF_THE_MOMENT));
        assert_eq!(lead(&page), lead(&plan));
        // Kept for some minutes, and no longer than until something is recorded.
        house.clock.wait(2 * 60_000_000);
        assert!(!house.get(&at, &[]).await.text.contains(OF_THE_MOMENT));
        read(&house, tub, "ph", json!(7.9)).await;
        assert!(house.get(&at, &[]).await.text.contains(OF_THE_MOMENT));
        house.get(&format!("{at}/plan"), &[]).await;
        house.clock.wait(6 * 60_000_000);
        assert!(house.get(&at, &[]).await.text.contains(OF_THE_MOMENT));
    });
}

async fn send_photo(house: &House, tub: Uuid, bytes: &str) -> Said {
    let part = |name: &str, value: &str| {
        format!("--cut\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
    };
    let file = format!(
        "--cut\r\ncontent-disposition: form-data; name=\"photo\"; filename=\"a.png\"\r\ncontent-type: image/png\r\n\r\n{bytes}\r\n"
    );
    let body = format!("{}{}{file}--cut--\r\n", part("id", &id()), part("text", "Cell before"));
    let headers = [("content-type", "multipart/form-data; boundary=cut"), ("sec-fetch-site", "same-origin")];
    house.ask("POST", &format!("/tubs/{tub}/photos"), &headers, &body).await
}

#[test]
fn a_photo_is_what_its_bytes_say_and_at_most_a_mebibyte() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        let said = send_photo(&house, tub, "<svg onload=alert(1)>").await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("no JPEG or PNG"));
        let said = send_photo(&house, tub, &"x".repeat((1 << 20) + 1)).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", said.text);
        assert!(said.text.contains("too large"));
        assert_eq!(count(&house, tub, Kind::Photo).await, 0);
    });
}

/// The smallest picture that is one: a grey pixel, as PNG.
const PIXEL: &str =
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNoAAAAggCBd81ytgAAAABJRU5ErkJggg==";

#[test]
fn a_photo_comes_back_as_it_was_and_runs_nothing() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        let body = json!({ "media_type": "image/png", "base64": PIXEL, "text": "The cell <before>" });
        let photo = house.write(Kind::Photo, tub, body).await;
        let page = house.get(&format!("/tubs/{tub}/photos"), &[]).await;
        assert!(page.text.contains("alt=\"The cell &lt;before&gt;\""), "{}", page.text);
        let said = house.get(&format!("/tubs/{tub}/photos/{photo}"), &[]).await;
        assert_eq!((said.status, said.header("content-type")), (StatusCode::OK, "image/png"));
        assert!(said.header("content-security-policy").contains("sandbox"), "{:?}", said.headers);
        let other = commissioned(&house).await;
        assert_eq!(
            house.get(&format!("/tubs/{other}/photos/{photo}"), &[]).await.status,
            StatusCode::NOT_FOUND
        );
    });
}

#[test]
fn what_if_foretells_without_recording_and_says_its_cautions() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let before = house.book.count().await.expect("a count");
        let path = |query: &str| format!("/tubs/{tub}/what-if/water?{query}");
        let none = house.get(&path(""), &[]).await;
        assert!(none.text.contains("With nothing added") && !none.text.contains("<html"), "{}", none.text);
        let acid = house.get(&path("g.sodium+bisulfate=60"), &[]).await;
        assert!(
            acid.text.contains(" → ") && acid.text.contains("Never near chlorine products"),
            "{}",
            acid.text
        );
        for wrong in ["g.sodium+bisulfate=-5", "g.sodium+bisulfate=lots", "volume=1"] {
            assert!(house.get(&path(wrong), &[]).await.text.contains("role=\"alert\""), "{wrong}");
        }
        let page = house.get(&format!("/tubs/{tub}/what-if?g.sodium+bisulfate=60"), &[]).await;
        assert!(page.text.contains("value=\"60\"") && page.text.contains("type=\"range\""));
        assert_eq!(house.book.count().await.expect("a count"), before);
        assert_eq!(
            house.get(&format!("/tubs/{}/what-if", Uuid::now_v7()), &[]).await.status,
            StatusCode::NOT_FOUND
        );
    });
}

#[test]
fn every_figure_opens_to_its_reasons() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = in_need(&house).await;
        let page = house.get(&format!("/tubs/{tub}"), &[]).await;
        let links: Vec<&str> = page
            .text
            .split("href=\"")
            .skip(1)
            .filter_map(|l| l.split('"').next())
            .filter(|l| l.contains("/why/"))
            .collect();
        assert!(links.len() >= 5, "{links:?}");
        for link in &links {
            let why = house.get(link, &[]).await;
            assert_eq!(why.status, StatusCode::OK, "{link}");
            assert!(why.text.contains("How it is worked out") && why.text.contains("Its band"), "{link}");
            assert!(!why.text.contains(">formula-"), "{link} has no formula in words");
        }
        let ph = house.get(&format!("/tubs/{tub}/why/ph"), &[]).await;
        for text in ["It counts.", "Its error is taken from", "CO3-2 + H+ = HCO3-", "Plummer", "Who says so"]
        {
            assert!(ph.text.contains(text), "{text} is not said");
        }
        assert_eq!(house.get(&format!("/tubs/{tub}/why/happiness"), &[]).await.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn why_there_is_no_plan_and_who_says_so_are_said_in_the_readers_language() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = Uuid::now_v7();
        let body = json!({ "name": "Bare (invented)", "tub": { "volume_l": 900, "regime": "chlorine", "place": "home" } });
        house.write(Kind::Tub, tub, body).await;
        for (language, no_plan, no_outlook, practice) in [
            ("en", "nothing is known of this water", "Nothing is known of this water", "common practice"),
            (
                "de",
                "ist von diesem Wasser nichts bekannt",
                "Von diesem Wasser ist nichts bekannt",
                "übliche Praxis",
            ),
            ("fr", "on ne sait rien de cette eau", "On ne sait rien de cette eau", "pratique courante"),
        ] {
            let ask = async |page: &str| house.get(page, &[("accept-language", language)]).await.text;
            for page in ["", "/plan", "/why/ph", "/sheet"] {
                let said = ask(&format!("/tubs/{tub}{page}")).await;
                assert!(said.contains(no_plan), "{language} {page}: {said}");
                assert!(
                    !said.contains("[[") && !said.contains("source_water."),
                    "{language} {page}: a file's words"
                );
            }
            let outlook = ask(&format!("/tubs/{tub}/outlook")).await;
            assert!(outlook.contains(no_outlook), "{language}: {outlook}");
            let bands = ask("/bands").await;
            assert!(bands.contains(practice), "{language}: {bands}");
        }
    });
}

#[test]
fn the_log_names_the_firms_own_kit_wherever_a_reading_by_it_stands() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        let at_us = house.clock.now_us();
        let entry = |kind, subject, body| NewEntry {
            id: Uuid::now_v7(),
            kind,
            subject: Some(subject),
            at_us,
            by: None,
            corrects: None,
            body,
        };
        let kit = json!({ "id": "lot-7", "kind": "chloride-strip", "name": "strips of lot 7 (invented)",
            "basis": "sodium-chloride", "table": [[1, 300], [3, 1000], [5, 2300]] });
        let reading =
            json!({ "quantity": "salt", "method": "lot-7", "scale_units": 3, "signal_band_changed": true });
        let reading = entry(Kind::Reading, tub, reading);
        let id = reading.id;
        let both = [entry(Kind::Method, Uuid::now_v7(), kit), reading];
        house.book.record(&both, at_us).await.expect("recorded");
        for (page, from) in [
            (format!("/tubs/{tub}"), "id=\"log\""),
            (format!("/tubs/{tub}/entries/{id}"), "<main"),
            ("/book?kind=reading".into(), "<main"),
        ] {
            let said = house.get(&page, &[]).await.text;
            let (_, part) = said.split_once(from).expect("the part that lists it");
            assert!(part.contains("strips of lot 7 (invented)"), "{page}: {part}");
        }
        let today = house.get("/", &[]).await.text;
        assert!(today.contains("href=\"/practice\""), "{today}");
    });
}

#[test]
fn readings_that_a_newer_one_ended_are_told_in_one_line_each() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let tub = commissioned(&house).await;
        for _ in 0..5 {
            read(&house, tub, "free_chlorine", json!(4.0)).await;
            house.clock.wait(7 * house::DAY_US);
        }
        read(&house, tub, "free_chlorine", json!(3.0)).await;
        house.clock.wait(house::SECOND_US);
        let why = house.get(&format!("/tubs/{tub}/why/free_chlorine"), &[]).await;
        assert_eq!(why.text.matches("It counts.").count(), 1, "{}", why.text);
        assert!(why.text.contains("5 earlier readings that are left out"), "{}", why.text);
    });
}
