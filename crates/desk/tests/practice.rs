//! Practice on its page, without script: a game is its address, nothing is written, and what it can cost is bounded.

use crate::house;

use axum::http::StatusCode;
use book::Filter;
use house::{House, Reached, run};

const LOCAL: &[(&str, &str)] = &[("host", "localhost:8080")];

/// The value of the first hidden field of this name.
fn hidden<'a>(page: &'a str, name: &str) -> &'a str {
    let after = page
        .split(&format!("name=\"{name}\" value=\""))
        .nth(1)
        .unwrap_or_else(|| panic!("no {name}: {page}"));
    after.split('"').next().expect("a value")
}

/// The address of the next move, as the page's own form would send it.
fn next(page: &str, fields: &str) -> String {
    let of = |name| hidden(page, name).replace(' ', "+").replace(';', "%3B");
    format!(
        "/practice?seed={}&difficulty={}&weeks={}&moves={}&{fields}",
        of("seed"),
        of("difficulty"),
        of("weeks"),
        of("moves")
    )
}

#[test]
fn a_learner_plays_a_fortnight_and_sees_what_came_of_it() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let entries = house.book.entries(&Filter::default()).await.expect("entries").len();
        let setup = house.get("/setup", LOCAL).await;
        assert!(setup.text.contains("href=\"/practice\""), "set-up leads there");
        let begin = house.get("/practice", LOCAL).await;
        assert!(
            begin.text.contains("invented and simulated") && begin.text.contains("name=\"seed\""),
            "{}",
            begin.text
        );
        let mut page = house.get("/practice?seed=7&difficulty=usual&weeks=2", LOCAL).await.text;
        assert!(page.contains("Just filled and heated."), "{page}");
        for (fields, shows) in [
            ("do=read&kit=ph+comparator", "pH (comparator)"),
            ("do=read&kit=total_alkalinity+drop-titration-10", "drops"),
            ("do=dose&product=acid&amount=0.25", "a quarter of a capful"),
            ("do=wait&days=3", "Days gone by: 3.0"),
            ("do=air&hours=2", "Aired for 2.0 hours"),
            ("do=replace&share=20", "20 % of the water replaced"),
            ("do=cell&duty=15", "Cell on 15 %"),
            ("do=top-up", "Filled up"),
        ] {
            let said = house.get(&next(&page, fields), LOCAL).await;
            assert_eq!(said.status, StatusCode::OK, "{fields}: {}", said.text);
            assert!(said.text.contains(shows), "{fields} does not show {shows}: {}", said.text);
            page = said.text;
            if fields.contains("acid") {
                assert!(page.contains("class=\"caution\"") && page.contains("goggles"), "{page}");
            }
        }
        assert_eq!(hidden(&page, "moves").split(';').count(), 8);
        let came = house.get(&next(&page, "do=end"), LOCAL).await.text;
        for part in [
            "A good plan",
            "The label rule",
            "Share of the time inside",
            "In truth the tub holds",
            "Another tub",
            ">day 0</text>",
            ">day 14</text>",
            ">7.80</text>",
        ] {
            assert!(came.contains(part), "no {part}: {came}");
        }
        let again = house.get(&next(&page, "do=end"), LOCAL).await.text;
        assert_eq!(came, again, "played again, another game");
        assert_eq!(
            house.book.entries(&Filter::default()).await.expect("entries").len(),
            entries,
            "the book grew"
        );
    });
}

#[test]
fn the_truth_is_not_on_the_page_before_the_end() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let page = house.get("/practice?seed=7&weeks=2&moves=read+ph%3Bwait+2", LOCAL).await.text;
        assert!(!page.contains("In truth") && !page.contains("practice-table"), "{page}");
    });
}

#[test]
fn a_move_that_cannot_be_made_is_said_and_the_game_goes_on() {
    run(async {
        let house = House::new(Reached::Alone).await;
        let start = "/practice?seed=7&weeks=2&moves=read+ph";
        for (fields, said) in [
            ("do=dose&product=acid&amount=900", "more than a label allows"),
            ("do=dose&product=sugar&amount=1", "is accepted"),
            ("do=wait&days=soon", "soon"),
            ("do=wait", "A number is missing"),
            ("do=air&hours=99", "is accepted"),
        ] {
            let page = house.get(&format!("{start}&{fields}"), LOCAL).await;
            assert_eq!(page.status, StatusCode::OK, "{fields}");
            assert!(page.text.contains(said), "{fields}: no {said} in {}", page.text);
            assert!(!page.text.contains("recorded yet"), "{fields}: nothing is recorded here");
            assert_eq!(hidden(&page.text, "moves"), "read ph", "{fields}");
        }
    });
}

#[test]
fn what_a_game_can_cost_is_bounded() {
    run(async {
        let house = House::new(Reached::Alone).await;
        for (query, status) in [
            ("seed=7&weeks=9", StatusCode::OK), // the form again, with its fault
            ("seed=no&weeks=2", StatusCode::OK),
            ("seed=7&weeks=2&difficulty=worst", StatusCode::OK),
        ] {
            let said = house.get(&format!("/practice?{query}"), LOCAL).await;
            assert_eq!(said.status, status, "{query}");
            assert!(said.text.contains("class=\"fault\""), "{query}: {}", said.text);
        }
        let many = "top-up%3B".repeat(251);
        let long = "x".repeat(9_000);
        for moves in [many.as_str(), long.as_str(), "stir"] {
            let said = house.get(&format!("/practice?seed=7&weeks=2&moves={moves}"), LOCAL).await;
            assert_eq!(said.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", said.text);
            assert!(said.text.contains("accepted"), "{}", said.text);
        }
    });
}

#[test]
fn each_language_has_its_own_words_for_it() {
    run(async {
        let house = House::new(Reached::Alone).await;
        for (language, words) in [("de", "Was Sie tun"), ("fr", "Ce que vous faites")] {
            let headers = [("host", "localhost:8080"), ("accept-language", language)];
            let page = house.ask("GET", "/practice?seed=7&weeks=2&moves=read+ph", &headers, "").await;
            assert!(page.text.contains(words), "{language}: {}", page.text);
        }
    });
}
