//! Every route by every role, taken from the table itself: a new route is in here by itself.

use crate::house;

use axum::http::StatusCode;
use book::{Link, Uuid};
use desk::Role;
use house::{DAY_US, House, Reached, id, run};

const FORM: &str = "application/x-www-form-urlencoded";

/// Everybody, with the name to log in by.
const ALL: [(Role, Option<&str>); 4] = [
    (Role::Nobody, None),
    (Role::Viewer, Some("viewer")),
    (Role::Technician, Some("technician")),
    (Role::Lead, Some("lead")),
];

/// A path with something in the places of its parameters.
fn filled(path: &str) -> String {
    filled_with(path, id)
}

fn filled_with(path: &str, something: impl Fn() -> String) -> String {
    let parts = path.split('/').map(|part| if part.starts_with('{') { something() } else { part.to_owned() });
    parts.collect::<Vec<_>>().join("/")
}

#[test]
fn every_route_is_open_to_its_role_and_above_and_shut_to_those_below() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let mut asked = 0;
        for (role, name) in ALL {
            let mut cookie = match name {
                Some(name) => house.session(name).await,
                None => String::new(),
            };
            for (method, path, least) in desk::rules() {
                let address = filled(path);
                let headers = [("cookie", cookie.as_str()), ("sec-fetch-site", "same-origin")];
                let said = house.ask(method.as_str(), &address, &headers, "").await;
                if *least == Role::OwnerLink {
                    // No role stands in for the link: without it there is no such page.
                    assert_eq!(said.status, StatusCode::NOT_FOUND, "{role:?} {method} {path}");
                    continue;
                }
                let shut = said.status == StatusCode::FORBIDDEN
                    || said.status == StatusCode::UNAUTHORIZED
                    || said.header("location").starts_with("/login?");
                assert_eq!(shut, role < *least, "{role:?} {method} {path}: {} {}", said.status, said.text);
                assert_ne!(
                    said.status,
                    StatusCode::METHOD_NOT_ALLOWED,
                    "{method} {path} has a rule and no route"
                );
                assert_ne!(said.status, StatusCode::INTERNAL_SERVER_ERROR, "{method} {path}");
                if shut {
                    let (api, known) = (path.starts_with("/api/"), role > Role::Nobody);
                    let expected = match (known, api, method.as_str()) {
                        (true, ..) => StatusCode::FORBIDDEN,
                        (false, false, "GET") => StatusCode::SEE_OTHER,
                        (false, ..) => StatusCode::UNAUTHORIZED,
                    };
                    assert_eq!(said.status, expected, "{role:?} {method} {path}");
                }
                if *path == "/logout"
                    && let Some(name) = name
                {
                    cookie = house.session(name).await;
                }
                asked += 1;
            }
        }
        assert!(asked > 100, "only {asked} were asked");
    });
}

#[test]
fn a_private_link_opens_its_own_routes_and_nothing_else() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let (tub, now) = (house.tub("Orchard (invented)").await, house.clock.now_us());
        let open = |made_us, days: i64| Link {
            id: Uuid::now_v7(),
            tub,
            made_us,
            made_by: None,
            expires_us: made_us + days * DAY_US,
            revoked_us: None,
        };
        house.book.add_link(&open(now, 30), "open-secret").await.expect("kept");
        house.book.add_link(&open(now - 40 * DAY_US, 30), "old-secret").await.expect("kept");
        let mut opened = 0;
        for (method, path, least) in desk::rules() {
            let headers = [("sec-fetch-site", "same-origin"), ("content-type", FORM)];
            if *least == Role::OwnerLink {
                let with = |secret: &str| path.replace("{link}", secret);
                let said = house.ask(method.as_str(), &with("open-secret"), &headers, "entry=").await;
                assert!(
                    [StatusCode::OK, StatusCode::UNPROCESSABLE_ENTITY].contains(&said.status),
                    "{method} {path}: {} {}",
                    said.status,
                    said.text
                );
                for shut in ["old-secret", "another-secret"] {
                    let said = house.ask(method.as_str(), &with(shut), &headers, "entry=").await;
                    assert_eq!(said.status, StatusCode::NOT_FOUND, "{method} {path} by {shut}");
                }
                opened += 1;
            } else if *least > Role::OwnerLink {
                // The secret in the place of any id is worth nothing.
                let address = filled_with(path, || "open-secret".to_owned());
                let said = house.ask(method.as_str(), &address, &headers, "").await;
                let shut =
                    said.status == StatusCode::UNAUTHORIZED || said.header("location").starts_with("/login?");
                assert!(shut, "{method} {path}: {}", said.status);
            }
        }
        assert_eq!(opened, 3);
    });
}

#[test]
fn a_token_that_only_reads_opens_what_a_viewer_may_and_no_page() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let token = house.token("lead", true).await;
        for (method, path, least) in desk::rules() {
            let headers = [("authorization", token.as_str())];
            let said = house.ask(method.as_str(), &filled(path), &headers, "").await;
            let shut = [StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED].contains(&said.status)
                || said.header("location").starts_with("/login?");
            if *least == Role::OwnerLink {
                continue; // the link's own: see above
            }
            let role = if path.starts_with("/api/") { Role::Viewer } else { Role::Nobody };
            assert_eq!(shut, role < *least, "{method} {path}: {}", said.status);
        }
    });
}

#[test]
fn on_this_machine_alone_the_one_person_may_all() {
    run(async {
        let house = House::new(Reached::Alone).await;
        for (method, path, _) in desk::rules() {
            let said = house.ask(method.as_str(), &filled(path), &[("host", "localhost:8080")], "").await;
            // Accounts are for people with an account: there is nothing of the kind to change here.
            if path.starts_with("/me/access/") {
                continue;
            }
            let shut = [StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED].contains(&said.status);
            assert!(!shut, "{method} {path}: {} {}", said.status, said.text);
        }
    });
}

#[test]
fn a_method_without_a_rule_is_refused_with_those_that_have_one() {
    run(async {
        let house = House::with_people(Reached::ByOthers).await;
        let cookie = house.session("lead").await;
        let headers = [("cookie", cookie.as_str()), ("sec-fetch-site", "same-origin")];
        let said = house.ask("DELETE", "/api/v1/entries", &headers, "").await;
        assert_eq!((said.status, said.header("allow")), (StatusCode::METHOD_NOT_ALLOWED, "GET, POST, HEAD"));
        assert_eq!(said.header("content-type"), "application/problem+json");
        let said = house.ask("TRACE", "/", &headers, "").await;
        assert_eq!(said.status, StatusCode::METHOD_NOT_ALLOWED);
    });
}
