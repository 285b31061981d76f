//! The doors: coming in, staying in, going out, and what keeps others out.

use crate::house;

use axum::http::StatusCode;
use book::{Filter, Kind};
use desk::accounts;
use house::{DAY_US, House, PASSWORD, Reached, SECOND_US, id, run};
use serde_json::json;

/// Whether a page opens with this cookie.
async fn opens(house: &House, cookie: &str) -> bool {
    house.get("/me/access", &[("cookie", cookie)]).await.status == StatusCode::OK
}

#[test]
fn alone_on_this_machine_no_login_stands_in_the_way_until_there_is_an_account() {
    run(async {
        let house = House::new(Reached::Alone).await;
        assert_eq!(house.get("/", &[]).await.status, StatusCode::OK);
        assert_eq!(house.get("/login?next=/x", &[]).await.header("location"), "/x");
        let now = house.clock.now_us();
        accounts::add(&house.book, "ana", "Ana", "lead", PASSWORD, now).await.unwrap();
        house.clock.wait(3 * SECOND_US);
        let said = house.get("/tubs/1?q=a", &[]).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER);
        assert_eq!(said.header("location"), "/login?next=%2Ftubs%2F1%3Fq%3Da");
        assert_eq!(house.get("/login", &[]).await.status, StatusCode::OK);
    });
}

#[test]
fn a_server_without_login_answers_to_the_names_of_this_machine_alone() {
    run(async {
        let house = House::new(Reached::Alone).await;
        for (host, status) in [
            ("localhost:8080", StatusCode::OK),
            ("127.0.0.1:8080", StatusCode::OK),
            ("[::1]:8080", StatusCode::OK),
            ("rebound.example", StatusCode::MISDIRECTED_REQUEST),
        ] {
            assert_eq!(house.get("/", &[("host", host)]).await.status, status, "{host}");
        }
    });
}

#[test]
fn the_cookie_is_shut_to_scripts_other_sites_and_plain_http() {
    run(async {
        for (reached, mark) in [
            (Reached::ByOthers, "__Host-tubwright="),
            (Reached::At("https://water.example"), "__Host-tubwright="),
            (Reached::At("http://water.example"), "tubwright="),
        ] {
            let secure = mark.starts_with("__Host-");
            let house = House::with_people(reached).await;
            let said = house.log_in("lead", PASSWORD).await;
            let cookie = said.header("set-cookie");
            assert!(cookie.starts_with(mark), "{cookie}");
            for part in ["; HttpOnly", "; SameSite=Lax", "; Path=/", "; Max-Age="] {
                assert!(cookie.contains(part), "{cookie}");
            }
            assert_eq!(cookie.contains("; Secure"), secure, "{cookie}");
            assert!(!cookie.contains("Domain"), "{cookie}");
            assert!(opens(&house, &said.cookie()).await);
            let hsts = house.get("/login", &[]).await.headers.contains_key("strict-transport-security");
            assert!(!hsts || secure);
        }
    });
}

#[test]
fn a_wrong_password_and_an_unknown_name_are_told_alike() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let wrong = house.log_in("lead", "not this one at all").await;
        let unknown = house.log_in("nobody", "not this one at all").await;
        assert_eq!(
            (wrong.status, unknown.status),
            (StatusCode::UNPROCESSABLE_ENTITY, StatusCode::UNPROCESSABLE_ENTITY)
        );
        assert_eq!(wrong.text.replace("lead", "X"), unknown.text.replace("nobody", "X"));
        assert!(wrong.header("set-cookie").is_empty());
    });
}

#[test]
fn after_five_wrong_tries_a_name_waits_longer_each_time_and_then_comes_in() {
    run(async {
        for name in ["lead", "not-there"] {
            let house = House::with_people(Reached::ByOthers).await;
            for _ in 0..5 {
                house.clock.wait(6 * SECOND_US);
                assert_eq!(
                    house.log_in(name, "guess guess guess").await.status,
                    StatusCode::UNPROCESSABLE_ENTITY
                );
            }
            house.clock.wait(6 * SECOND_US);
            let said = house.log_in(name, PASSWORD).await;
            assert_eq!(said.status, StatusCode::TOO_MANY_REQUESTS, "{name}: the right one has to wait too");
            assert_eq!(said.header("retry-after"), "25");
            house.clock.wait(25 * SECOND_US);
            assert_eq!(
                house.log_in(name, "guess guess guess").await.status,
                StatusCode::UNPROCESSABLE_ENTITY
            );
            house.clock.wait(31 * SECOND_US);
            assert_eq!(
                house.log_in(name, PASSWORD).await.status,
                StatusCode::TOO_MANY_REQUESTS,
                "now a minute"
            );
            house.clock.wait(31 * SECOND_US);
            let expected =
                if name == "lead" { StatusCode::SEE_OTHER } else { StatusCode::UNPROCESSABLE_ENTITY };
            assert_eq!(house.log_in(name, PASSWORD).await.status, expected, "{name}");
        }
    });
}

#[test]
fn one_address_has_ten_tries_and_then_one_every_six_seconds() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        for n in 0..10 {
            let said = house.log_in(&format!("name{n}"), "guess guess guess").await;
            assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY, "{n}");
        }
        let said = house.log_in("lead", PASSWORD).await;
        assert_eq!((said.status, said.header("retry-after")), (StatusCode::TOO_MANY_REQUESTS, "6"));
        house.clock.wait(6 * SECOND_US);
        assert_eq!(house.log_in("lead", PASSWORD).await.status, StatusCode::SEE_OTHER);
    });
}

#[test]
fn a_session_ends_unused_after_a_week_and_in_any_case_after_a_month() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let cookie = house.session("viewer").await;
        house.clock.wait(8 * DAY_US);
        assert!(!opens(&house, &cookie).await);
        let cookie = house.session("viewer").await;
        for day in 0..29 {
            house.clock.wait(DAY_US);
            assert!(opens(&house, &cookie).await, "day {day}");
        }
        house.clock.wait(2 * DAY_US);
        assert!(!opens(&house, &cookie).await);
    });
}

#[test]
fn logging_out_closing_an_account_and_a_new_password_end_sessions_and_tokens() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let now = house.clock.now_us();
        let cookie = house.session("lead").await;
        let said = house.form("/logout", &cookie, "").await;
        assert!(said.header("set-cookie").contains("Max-Age=0"));
        assert!(!opens(&house, &cookie).await, "the server has forgotten it, not only the browser");

        let cookie = house.session("technician").await;
        let token = house.token("technician", false).await;
        let by_token = [("authorization", token.as_str())];
        assert_eq!(house.get("/api/v1/tubs", &by_token).await.status, StatusCode::OK);
        accounts::set_disabled(&house.book, "technician", true, now).await.unwrap();
        assert!(!opens(&house, &cookie).await);
        assert_eq!(house.get("/api/v1/tubs", &by_token).await.status, StatusCode::UNAUTHORIZED);
        house.clock.wait(10 * SECOND_US);
        assert_eq!(house.log_in("technician", PASSWORD).await.status, StatusCode::UNPROCESSABLE_ENTITY);

        let (this, other) = (house.session("viewer").await, house.session("viewer").await);
        let body = "old=seven+grey+herons+wading&new=a+kettle+left+on+the+moon";
        let said = house.form("/me/access/password", &this, body).await;
        assert_eq!(said.status, StatusCode::OK, "{}", said.text);
        assert!(opens(&house, &this).await);
        assert!(!opens(&house, &other).await);
        let said = house.form("/me/access/password", &this, "old=wrong&new=a+kettle+left+on+the+moon").await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        let said = house.form("/me/access/password", &this, "old=a+kettle+left+on+the+moon&new=short").await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(said.text.contains("12 to 256"), "{}", said.text);
    });
}

#[test]
fn another_role_counts_at_once_and_a_person_who_left_is_out() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let token = house.token("technician", false).await;
        let headers = [("authorization", token.as_str())];
        let path = format!("/api/v1/shelves/{}", id());
        let shelf = json!({ "name": "Van", "of": "van", "products": [] });
        assert_eq!(house.json("PUT", &path, &headers, &shelf).await.status, StatusCode::CREATED);
        house.clock.wait(SECOND_US);
        accounts::set_role(&house.book, "technician", "viewer", house.clock.now_us()).await.unwrap();
        assert_eq!(house.json("PUT", &path, &headers, &shelf).await.status, StatusCode::FORBIDDEN);
        let person = house.book.account("technician").await.unwrap().unwrap().person;
        let lead = house.token("lead", false).await;
        house.clock.wait(SECOND_US);
        let left = json!({ "name": "technician", "role": "technician", "archived": true });
        let said =
            house.json("PUT", &format!("/api/v1/people/{person}"), &[("authorization", &lead)], &left).await;
        assert_eq!(said.status, StatusCode::OK, "{}", said.text);
        assert_eq!(house.get("/api/v1/tubs", &headers).await.status, StatusCode::UNAUTHORIZED);
    });
}

#[test]
fn nobody_below_lead_makes_a_lead_and_nobody_writes_who_did_what() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let technician = house.token("technician", false).await;
        let lead = house.token("lead", false).await;
        let at = jiff::Timestamp::from_microsecond(house.clock.now_us()).unwrap().to_string();
        let person = json!({ "id": id(), "kind": "person", "subject": id(), "at": at, "body": { "name": "X", "role": "lead" } });
        let said = house.json("POST", "/api/v1/entries", &[("authorization", &technician)], &person).await;
        assert_eq!(said.status, StatusCode::FORBIDDEN, "{}", said.text);
        let said = house.json("POST", "/api/v1/entries", &[("authorization", &lead)], &person).await;
        assert_eq!(said.status, StatusCode::CREATED, "{}", said.text);
        let audit =
            json!({ "id": id(), "kind": "audit", "subject": id(), "at": at, "body": { "what": "log-in" } });
        let said = house.json("POST", "/api/v1/entries", &[("authorization", &lead)], &audit).await;
        assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", said.text);
        let said = house.get("/api/v1/entries?kind=audit", &[("authorization", &technician)]).await;
        assert_eq!(said.status, StatusCode::FORBIDDEN);
        let said = house.get("/api/v1/entries", &[("authorization", &technician)]).await;
        assert!(said.json()["items"].as_array().unwrap().iter().all(|e| e["kind"] != "audit"));
    });
}

#[test]
fn another_site_can_send_nothing_here() {
    run(async {
        let alone = House::new(Reached::Alone).await;
        let path = format!("/api/v1/shelves/{}", id());
        let shelf = json!({ "name": "Van", "of": "van", "products": [] });
        let from = |site: &'static str| [("sec-fetch-site", site), ("host", "localhost")];
        for (site, status) in [
            ("cross-site", StatusCode::FORBIDDEN),
            ("same-site", StatusCode::FORBIDDEN),
            ("same-origin", StatusCode::CREATED),
        ] {
            assert_eq!(alone.json("PUT", &path, &from(site), &shelf).await.status, status, "{site}");
        }
        let old_browser = [("origin", "http://elsewhere.example"), ("host", "localhost")];
        assert_eq!(alone.json("PUT", &path, &old_browser, &shelf).await.status, StatusCode::FORBIDDEN);

        let house = House::with_people(Reached::At("https://water.example")).await;
        let body = format!("name=lead&password={}", PASSWORD.replace(' ', "+"));
        let mut headers =
            vec![("content-type", "application/x-www-form-urlencoded"), ("host", "10.0.0.7:8080")];
        headers.push(("origin", "https://elsewhere.example"));
        assert_eq!(house.ask("POST", "/login", &headers, &body).await.status, StatusCode::FORBIDDEN);
        headers.pop();
        headers.push(("origin", "https://water.example"));
        assert_eq!(house.ask("POST", "/login", &headers, &body).await.status, StatusCode::SEE_OTHER);
    });
}

#[test]
fn every_answer_carries_the_headers() {
    run(async {
        let house = House::with_people(Reached::At("https://water.example")).await;
        let large = "x".repeat(3 << 20);
        let cookie = house.session("lead").await;
        let headers = [("cookie", cookie.as_str()), ("content-type", "application/json")];
        for (method, path, body, status) in [
            ("GET", "/", "", StatusCode::OK),
            ("GET", "/healthz", "", StatusCode::OK),
            ("GET", "/nowhere", "", StatusCode::NOT_FOUND),
            ("GET", "/api/nowhere", "", StatusCode::NOT_FOUND),
            ("DELETE", "/", "", StatusCode::METHOD_NOT_ALLOWED),
            ("POST", "/api/v1/water", large.as_str(), StatusCode::PAYLOAD_TOO_LARGE),
            ("POST", "/api/v1/water", "{", StatusCode::BAD_REQUEST),
        ] {
            let said = house.ask(method, path, &headers, body).await;
            assert_eq!(said.status, status, "{method} {path}");
            let csp = said.header("content-security-policy");
            assert!(
                csp.contains("default-src 'none'") && csp.contains("frame-ancestors 'none'"),
                "{path}: {csp}"
            );
            assert!(csp.contains("script-src 'self';") && csp.contains("style-src 'self';"), "{path}: {csp}");
            assert!(!csp.contains("unsafe"), "{csp}");
            assert_eq!(said.header("x-content-type-options"), "nosniff", "{path}");
            assert_eq!(said.header("referrer-policy"), "same-origin", "{path}");
            assert_eq!(said.header("cross-origin-opener-policy"), "same-origin", "{path}");
            assert_eq!(said.header("strict-transport-security"), "max-age=31536000", "{path}");
            assert!(said.header("permissions-policy").contains("geolocation=()"), "{path}");
            assert!(!said.header("cache-control").is_empty(), "{path}");
        }
    });
}

#[test]
fn a_token_is_for_the_interface_ends_when_it_says_and_can_be_revoked() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let cookie = house.session("technician").await;
        let said = house.form("/me/access/tokens", &cookie, "name=nightly+%3Cb%3E&days=30").await;
        assert_eq!(said.status, StatusCode::OK, "{}", said.text);
        let start = said.text.find("tubwright_").expect("the secret, once");
        let secret: String = said.text[start..]
            .chars()
            .take_while(|c| c.is_ascii_alphanumeric() || "_-".contains(*c))
            .collect();
        let token = format!("Bearer {secret}");
        let headers = [("authorization", token.as_str())];
        assert_eq!(house.get("/api/v1/tubs", &headers).await.status, StatusCode::OK);
        assert_eq!(house.get("/", &headers).await.status, StatusCode::SEE_OTHER, "pages take no tokens");
        let page = house.get("/me/access", &[("cookie", &cookie)]).await.text;
        assert!(!page.contains(&secret) && page.contains("nightly &lt;b&gt;"), "{page}");
        house.clock.wait(31 * DAY_US);
        let said = house.get("/api/v1/tubs", &headers).await;
        assert_eq!(
            (said.status, said.header("www-authenticate")),
            (StatusCode::UNAUTHORIZED, "Bearer realm=\"Tubwright\"")
        );

        let cookie = house.session("technician").await;
        let token = house.token("technician", false).await;
        let person = house.book.account("technician").await.unwrap().unwrap().person;
        let tokens = house.book.tokens(person).await.unwrap();
        let last = tokens.last().unwrap().id;
        let other = house.session("lead").await;
        let path = format!("/me/access/tokens/{last}/revoke");
        assert_eq!(house.form(&path, &other, "").await.status, StatusCode::NOT_FOUND, "it is not theirs");
        assert_eq!(house.form(&path, &cookie, "").await.status, StatusCode::SEE_OTHER);
        assert_eq!(
            house.get("/api/v1/tubs", &[("authorization", &token)]).await.status,
            StatusCode::UNAUTHORIZED
        );
        for wrong in ["name=&days=30", "name=x&days=0", "name=x&days=9999", "name=x&days=many"] {
            assert_eq!(
                house.form("/me/access/tokens", &cookie, wrong).await.status,
                StatusCode::UNPROCESSABLE_ENTITY
            );
        }
    });
}

#[test]
fn who_came_in_is_in_the_record_and_no_secret_is_anywhere_on_the_disk() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let cookie = house.session("lead").await;
        let token = house.token("lead", false).await;
        house.log_in("lead", "a wrong guess of mine").await;
        house.log_in("My Secret In The Wrong Field", "a wrong guess of mine").await;
        let filter = Filter { kinds: vec![Kind::Audit], ..Filter::default() };
        let audits = house.book.entries(&filter).await.unwrap();
        let what: Vec<&str> = audits.iter().filter_map(|a| a.body["what"].as_str()).collect();
        for expected in
            ["log-in", "failed log-in", "account lead made, role lead", "account lead: token \"a test\" made"]
        {
            assert!(what.contains(&expected), "{what:?}");
        }
        house.book.close().await;
        let session = cookie.split('=').next_back().unwrap();
        let secret = token.strip_prefix("Bearer ").unwrap();
        for file in std::fs::read_dir(house.folder.path()).unwrap() {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            for hidden in [session, secret, PASSWORD, "a wrong guess of mine", "my secret in the wrong field"]
            {
                let found = bytes.windows(hidden.len()).any(|w| w.eq_ignore_ascii_case(hidden.as_bytes()));
                assert!(!found, "{hidden} is on the disk");
            }
        }
    });
}

#[test]
fn a_server_for_others_does_not_start_without_an_account() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let place = book::Place::file(&folder.path().join("t.book")).unwrap();
        for public in [None, Some("https://water.example".parse().unwrap())] {
            let listen = if public.is_some() { "127.0.0.1:0" } else { "0.0.0.0:0" };
            let config = desk::Config {
                book: place.clone(),
                listen: listen.parse().unwrap(),
                demo: false,
                public,
                certificate: None,
            };
            let ended = desk::serve(config, |_| panic!("it listens"), std::future::pending()).await;
            let said = ended.expect_err("it does not start").to_string();
            assert!(said.contains("tubwright account add"), "{said}");
        }
    });
}

#[test]
fn accounts_are_changed_with_a_reason_for_every_refusal() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let (book, now) = (&house.book, house.clock.now_us());
        let told = |e: Result<(), accounts::AccountError>| e.expect_err("refused").to_string();
        assert!(told(accounts::add(book, "a b", "A", "lead", PASSWORD, now).await).contains("\"a b\""));
        assert!(told(accounts::add(book, "Lead", "A", "lead", PASSWORD, now).await).contains("already"));
        assert!(told(accounts::add(book, "ana", "A", "king", PASSWORD, now).await).contains("\"king\""));
        assert!(told(accounts::add(book, "ana", "A", "lead", "short", now).await).contains("5 signs"));
        assert!(told(accounts::set_role(book, "ana", "lead", now).await).contains("account list"));
        let all = accounts::list(book).await.unwrap();
        assert_eq!(all.iter().map(|a| a.role.as_str()).collect::<Vec<_>>(), ["lead", "technician", "viewer"]);
        assert!(book.verify(None).await.unwrap().faults.is_empty());
    });
}

#[test]
fn what_one_person_wrote_is_not_taken_from_another() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let tub = house.tub("Orchard (invented)").await;
        let session = house.session("technician").await;
        let page = house.get(&format!("/tubs/{tub}/reading"), &[("cookie", &session)]).await.text;
        let own =
            page.split("data-writer=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a writer");
        let people = house.book.things(Kind::Person, &book::ThingFilter::default()).await.unwrap();
        let lead = people.iter().find(|p| p.name == "lead").unwrap().id.to_string();
        let nobody = id();
        let before = house.book.count().await.unwrap();
        let send = |writer: String| {
            let (house, session) = (&house, &session);
            let body = format!("id={}&text=seam", id());
            async move {
                let headers = [
                    ("content-type", "application/x-www-form-urlencoded"),
                    ("sec-fetch-site", "same-origin"),
                    ("cookie", session.as_str()),
                    ("x-tubwright-writer", writer.as_str()),
                ];
                house.ask("POST", &format!("/tubs/{tub}/notes"), &headers, &body).await
            }
        };
        for (writer, said) in
            [(lead, "lead wrote this"), (nobody, "Somebody else wrote this"), ("x".into(), "Somebody else")]
        {
            let answer = send(writer).await;
            assert_eq!(answer.status, StatusCode::CONFLICT, "{said}: {}", answer.text);
            assert!(answer.text.contains(said), "{said}: {}", answer.text);
            assert_eq!(answer.header("x-tubwright-writer"), "another");
        }
        assert_eq!(house.book.count().await.unwrap(), before, "nothing was recorded");
        assert_eq!(send(own.to_owned()).await.status, StatusCode::SEE_OTHER);
        assert_eq!(house.book.count().await.unwrap(), before + 1);
    });
}
