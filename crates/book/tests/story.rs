//! One story, told on both engines: what is recorded, sent again, corrected, withdrawn, and what comes of it.

#![allow(clippy::unwrap_used, reason = "the story is the test itself, told on two engines")]

mod support;

use book::{
    Book, BookError, Entry, Filter, Kind, NewEntry, Place, Receipt, Summary, SummaryFilter, ThingFilter, Uuid,
};
use serde_json::json;
use support::{correcting, entry, id, minute, postgres::Server, run};

const TUB: u64 = 1001;
const WATER: u64 = 1002;
const SHELF: u64 = 1003;
const STRIP: u64 = 1004;

fn shelf(n: u64, at: i64, acid_grams: f64) -> NewEntry {
    entry(
        n,
        Kind::Shelf,
        id(SHELF),
        at,
        json!({
            "name": "Shed (invented)", "of": "owner", "products": [
                { "chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93,
                  "measure": { "kind": "capful", "grams": acid_grams, "smallest": 0.25 } },
                { "chemical": "dichlor", "name": "quick chlorine", "available_chlorine_percent": 56,
                  "measure": { "kind": "capful", "grams": 28, "smallest": 0.25 } },
            ],
        }),
    )
}

fn tub(n: u64, at: i64, name: &str) -> NewEntry {
    entry(
        n,
        Kind::Tub,
        id(TUB),
        at,
        json!({
            "name": name, "address": "5 Quay Lane", "tub": { "volume_l": 1300, "temperature_c": 38, "regime": "chlorine",
            "place": "home" }, "source_water": id(WATER).to_string(), "shelf": id(SHELF).to_string(),
            "kit": { "ph": "phenol-red" }, "public": false,
        }),
    )
}

fn strip(n: u64, at: i64, first: f64) -> NewEntry {
    entry(
        n,
        Kind::Method,
        id(STRIP),
        at,
        json!({
            "id": "strip-a", "kind": "chloride-strip", "table": [[1, first], [3, 1000], [5, 2300]],
        }),
    )
}

fn reading(n: u64, at: i64, quantity: &str, value: f64) -> NewEntry {
    entry(n, Kind::Reading, id(TUB), at, json!({ "quantity": quantity, "value": value }))
}

/// Everything that the story records before the corrections.
fn beginning() -> Vec<NewEntry> {
    let mut all = vec![
        tub(1, minute(0), "Orchard Row (invented)"),
        entry(
            2,
            Kind::SourceWater,
            id(WATER),
            minute(0),
            json!({
                "name": "tap (invented)", "ph": 7.6, "total_alkalinity_mg_l_caco3": 120, "calcium_mg_l": 60,
            }),
        ),
        shelf(3, minute(0), 42.0),
        strip(4, minute(0), 300.0),
        entry(5, Kind::Event, id(TUB), minute(1), json!({ "kind": "fill" })),
    ];
    all.push(reading(10, minute(100), "ph", 8.1));
    all.push(reading(11, minute(101), "free_chlorine", 1.0));
    all.push(reading(12, minute(102), "total_alkalinity", 110.0));
    all.push(reading(13, minute(103), "calcium_hardness", 160.0));
    all.push(entry(
        14,
        Kind::Reading,
        id(TUB),
        minute(104),
        json!({
            "quantity": "salt", "method": "strip-a", "scale_units": 1, "signal_band_changed": true,
        }),
    ));
    all.push(entry(15, Kind::Dose, id(TUB), minute(105), json!({ "product": "dry acid", "measures": 0.5 })));
    all.push(entry(
        16,
        Kind::StepDone,
        id(TUB),
        minute(106),
        json!({
            "step": 2, "product": "quick chlorine", "mass_g": 7, "amount_text": "a quarter of a capful",
        }),
    ));
    all.push(entry(17, Kind::Note, id(TUB), minute(107), json!({ "text": "Cover seam open, 50 % of it." })));
    all
}

fn seqs(receipts: &[Receipt]) -> Vec<(i64, bool)> {
    receipts.iter().map(|r| (r.seq, r.was_there)).collect()
}

fn ids(entries: &[Entry]) -> Vec<Uuid> {
    entries.iter().map(|e| e.id).collect()
}

async fn story(book: &Book) {
    let now = minute(200);
    assert_eq!((book.count().await.unwrap(), book.head().await.unwrap().hash), (0, "0".repeat(64)));

    // Recorded, then sent again in the same order and in another: nothing new, the same numbers.
    let all = beginning();
    let first = book.record(&all, now).await.unwrap();
    let numbers: Vec<(i64, bool)> = (1..=all.len() as i64).map(|n| (n, false)).collect();
    assert_eq!(seqs(&first), numbers);
    let head = book.head().await.unwrap();
    let mut reversed = all.clone();
    reversed.reverse();
    let again = book.record(&reversed, now + 1).await.unwrap();
    assert!(again.iter().all(|r| r.was_there));
    assert!(again.iter().rev().zip(&first).all(|(a, b)| (a.id, a.seq) == (b.id, b.seq)));
    assert_eq!(book.head().await.unwrap(), head);
    // The same content written in another way is the same content.
    let mut other_form = all[5].clone();
    other_form.body = json!({ "value": 8.10, "quantity": "ph", "method": null });
    assert!(book.record(&[other_form], now).await.unwrap()[0].was_there);

    // The same id with other content is refused by name, and with it all that came along.
    let clash = reading(10, minute(100), "ph", 7.0);
    let message =
        book.record(&[reading(20, minute(108), "ph", 7.9), clash], now).await.unwrap_err().to_string();
    assert!(message.contains(&id(10).to_string()) && message.contains("number 6"), "{message}");
    assert_eq!(book.entry(id(20)).await.unwrap(), None);

    // Wrong entries: every one is told, with its field, and nothing is recorded.
    let wrong = [
        reading(21, minute(109), "ph", 79.0),
        NewEntry { id: Uuid::nil(), ..reading(22, minute(109), "ph", 7.9) },
        NewEntry { at_us: -1, ..reading(23, 0, "ph", 7.9) },
        NewEntry { at_us: now + 25 * 3_600_000_000, ..reading(24, 0, "ph", 7.9) },
        NewEntry { subject: None, ..reading(25, minute(109), "ph", 7.9) },
        correcting(26, reading(26, minute(109), "ph", 7.9)),
        reading(27, minute(109), "ph", 7.9),
    ];
    match book.record(&wrong, now).await.unwrap_err() {
        BookError::Refused(refused) => {
            let fields: Vec<(usize, &str)> =
                refused.iter().map(|r| (r.index, r.problems[0].field.as_str())).collect();
            assert_eq!(
                fields,
                [(0, "value"), (1, "id"), (2, "at"), (3, "at"), (4, "subject"), (5, "corrects")]
            );
        }
        other => panic!("{other}"),
    }
    assert_eq!(book.head().await.unwrap(), head);

    // A correction of another kind is refused where the entry is known.
    let message = book
        .record(&[correcting(10, entry(28, Kind::Note, id(TUB), minute(110), json!({ "text": "x" })))], now)
        .await
        .unwrap_err()
        .to_string();
    assert!(message.contains("corrects") && message.contains("kind note"), "{message}");

    // A correction that arrives before what it corrects; then the correction of a correction; then a withdrawal.
    book.record(&[correcting(30, reading(31, minute(120), "ph", 7.8))], now).await.unwrap();
    book.record(&[reading(30, minute(120), "ph", 7.1)], now).await.unwrap();
    let old = book.entry(id(30)).await.unwrap().unwrap();
    assert_eq!((old.corrected_by, old.body["value"].as_f64()), (Some(id(31)), Some(7.1)), "both stay");
    book.record(&[correcting(31, reading(32, minute(121), "ph", 7.9))], now).await.unwrap();
    // Two people correct the same entry: the one made last counts.
    book.record(&[correcting(13, reading(34, minute(103), "calcium_hardness", 180.0))], now).await.unwrap();
    book.record(&[correcting(13, reading(33, minute(103), "calcium_hardness", 170.0))], now).await.unwrap();
    let withdrawal = NewEntry {
        body: json!({ "withdrawn": true, "why": "the wrong tub" }),
        ..reading(35, minute(130), "", 0.0)
    };
    book.record(&[correcting(12, withdrawal)], now).await.unwrap();
    let history = book.history(id(TUB)).await.unwrap();
    assert_eq!(ids(&history), [5, 10, 11, 34, 14, 15, 16, 17, 32].map(id));
    assert_eq!(book.entry(id(12)).await.unwrap().unwrap().corrected_by, Some(id(35)));

    // Filters.
    let found = |filter: Filter| async move { ids(&book.entries(&filter).await.unwrap()) };
    let of_tub = Filter { subject: Some(id(TUB)), ..Filter::default() };
    assert_eq!(
        found(Filter { kinds: vec![Kind::Note, Kind::Dose], ..of_tub.clone() }).await,
        [15, 17].map(id)
    );
    assert_eq!(found(Filter { text: Some("50 % OF".into()), ..Filter::default() }).await, [id(17)]);
    assert_eq!(found(Filter { text: Some("5_ %".into()), ..Filter::default() }).await, Vec::<Uuid>::new());
    assert_eq!(
        found(Filter { from_us: Some(minute(104)), to_us: Some(minute(105)), ..of_tub.clone() }).await,
        [14, 15].map(id)
    );
    assert_eq!(
        found(Filter { newest_first: true, limit: Some(2), before_seq: Some(4), ..Filter::default() }).await,
        [3, 2].map(id)
    );
    assert_eq!(found(Filter { after_seq: Some(1), limit: Some(1), ..Filter::default() }).await, [id(2)]);

    things(book, now).await;
    case(book, now).await;
    concerned(book, now).await;
    summaries(book).await;
}

async fn things(book: &Book, now: i64) {
    // The newest version by its time counts, though an older one comes in later.
    book.record(&[tub(40, minute(150), "Orchard Row 2 (invented)")], now).await.unwrap();
    book.record(&[tub(41, minute(149), "Orchard Row, late (invented)")], now).await.unwrap();
    let thing = book.thing(Kind::Tub, id(TUB)).await.unwrap().unwrap();
    assert_eq!(
        (thing.name.as_str(), thing.entry, thing.archived),
        ("Orchard Row 2 (invented)", id(40), false)
    );
    // Withdrawn: the one before it counts again.
    let withdrawal =
        NewEntry { body: json!({ "withdrawn": true, "why": "a slip" }), ..tub(42, minute(151), "x") };
    book.record(&[correcting(40, withdrawal)], now).await.unwrap();
    assert_eq!(book.thing(Kind::Tub, id(TUB)).await.unwrap().unwrap().entry, id(41));
    // A thing of which nothing is left is no thing.
    let site = entry(43, Kind::Site, id(1005), minute(0), json!({ "name": "Harbour" }));
    book.record(std::slice::from_ref(&site), now).await.unwrap();
    assert_eq!(book.things(Kind::Site, &ThingFilter::default()).await.unwrap().len(), 1);
    let withdrawal = NewEntry { id: id(44), body: json!({ "withdrawn": true, "why": "sold" }), ..site };
    book.record(&[correcting(43, withdrawal)], now).await.unwrap();
    assert_eq!(book.thing(Kind::Site, id(1005)).await.unwrap(), None);

    // Lists: by name, page by page, by text with capital letters and signs in it.
    let people: Vec<NewEntry> = ["Zoë Ä", "ann 100%", "Ann B"]
        .iter()
        .enumerate()
        .map(|(n, name)| {
            let n = n as u64;
            let body = json!({ "name": name, "role": "technician", "archived": n == 2 });
            entry(50 + n, Kind::Person, id(1010 + n), minute(0), body)
        })
        .collect();
    book.record(&people, now).await.unwrap();
    let named = |filter: ThingFilter| async move {
        let things = book.things(Kind::Person, &filter).await.unwrap();
        things.into_iter().map(|t| t.name).collect::<Vec<_>>()
    };
    assert_eq!(named(ThingFilter::default()).await.len(), 3);
    assert_eq!(named(ThingFilter { text: Some("zoË ä".into()), ..ThingFilter::default() }).await, ["Zoë Ä"]);
    assert_eq!(named(ThingFilter { text: Some("0%".into()), ..ThingFilter::default() }).await, ["ann 100%"]);
    assert_eq!(named(ThingFilter { archived: Some(true), ..ThingFilter::default() }).await, ["Ann B"]);
    let mut paged = Vec::new();
    let mut after = None;
    loop {
        let page = book
            .things(Kind::Person, &ThingFilter { after, limit: Some(1), ..ThingFilter::default() })
            .await
            .unwrap();
        let Some(thing) = page.first() else { break };
        after = Some(thing.id);
        paged.push(thing.name.clone());
    }
    assert_eq!(paged, named(ThingFilter::default()).await);
}

async fn case(book: &Book, now: i64) {
    let case = book.case(id(TUB), now, None).await.unwrap();
    assert_eq!(
        (case.tub.name.as_str(), case.shelf.len(), case.entries.len()),
        ("Orchard Row, late (invented)", 2, 8)
    );
    let plan = care::planner::plan(&case).unwrap();
    assert!(!plan.steps.is_empty());

    // A new cap, and a new lot of strips: what happened before is still read by the old ones.
    book.record(&[shelf(60, minute(160), 10.0), strip(61, minute(160), 500.0)], now).await.unwrap();
    let later = entry(
        62,
        Kind::Reading,
        id(TUB),
        minute(170),
        json!({
            "quantity": "salt", "method": "strip-a", "scale_units": 2, "signal_band_changed": true,
        }),
    );
    let dose = entry(63, Kind::Dose, id(TUB), minute(171), json!({ "product": "dry acid", "measures": 1 }));
    book.record(&[later, dose], now).await.unwrap();
    let case = book.case(id(TUB), now, None).await.unwrap();
    let grams: Vec<f64> = case
        .entries
        .iter()
        .filter_map(|e| match e.what {
            care::case::Happening::Dose { mass_g, .. } => Some(mass_g),
            _ => None,
        })
        .collect();
    assert_eq!(grams, [21.0, 7.0, 10.0], "half of the old cap, the step that was done, one of the new cap");
    let methods: Vec<&str> = case.methods.iter().map(|m| m.id.as_ref()).collect();
    assert_eq!(methods, ["strip-a", "strip-a@1"]);
    assert_eq!(case.shelf.iter().filter(|p| p.stock_g == Some(0.0)).count(), 1, "the old acid is gone");
    assert!(care::planner::plan(&case).is_ok());

    // As it was: what happened later does not count.
    let before = book.case_json(id(TUB), minute(103), Some(minute(103))).await.unwrap();
    assert_eq!(before["reading"].as_array().map(Vec::len), Some(3), "{before}");
    assert_eq!(before["dose"], json!(null));

    // What cannot be understood is left out and said; the tub keeps its plan.
    let unknown =
        entry(64, Kind::Dose, id(TUB), minute(172), json!({ "product": "blue stuff", "mass_g": 5 }));
    book.record(&[unknown], now).await.unwrap();
    let case = book.case(id(TUB), now, None).await.unwrap();
    assert!(
        case.notes
            .iter()
            .map(|n| format!("{n:?}"))
            .any(|n| n.contains("Left out") && n.contains("blue stuff")),
        "{:?}",
        case.notes
    );

    // A tub with no shelf, no source water and no reading still makes a case and a plan.
    let bare = entry(
        70,
        Kind::Tub,
        id(1020),
        minute(0),
        json!({
            "name": "Bare (invented)", "tub": { "volume_l": 900, "regime": "chlorine" },
        }),
    );
    let ph = entry(71, Kind::Reading, id(1020), minute(10), json!({ "quantity": "ph", "value": 7.4 }));
    book.record(&[bare, ph], now).await.unwrap();
    let case = book.case(id(1020), now, None).await.unwrap();
    assert!(case.shelf.is_empty());
    assert!(care::estimate::estimate(&case).is_ok());
    assert!(care::planner::plan(&case).is_ok());

    // An old tub is not a new fill: its last readings stand in.
    let case = book.case(id(TUB), now + 200 * 86_400_000_000, None).await.unwrap();
    assert!(case.entries.iter().any(|e| matches!(e.what, care::case::Happening::Reading(_))));
    assert!(book.case(id(9999), now, None).await.unwrap_err().to_string().contains("is not in this book"));
}

/// Which tubs look different after an entry.
async fn concerned(book: &Book, now: i64) {
    let thing = |n: u64, kind, subject, body| entry(n, kind, subject, minute(160), body);
    let dosed =
        |n, product| entry(n, Kind::Dose, id(TUB), minute(161), json!({ "product": product, "mass_g": 1 }));
    let van = |n: u64, of: &str, name: &str| {
        let products = json!([{ "name": name, "chemical": "dichlor" }]);
        thing(n, Kind::Shelf, id(1050), json!({ "name": "V (invented)", "of": of, "products": products }))
    };
    // A name with signs that mean something to a search, and a letter beyond A to Z.
    let odd = "10 %_\"Ökö\"\\";
    book.record(&[van(300, "van", odd), dosed(301, odd)], now).await.unwrap();
    let water = || json!({ "name": "tap (invented)", "ph": 7.7 });
    for (what, new, tubs) in [
        ("a reading", reading(310, minute(162), "ph", 7.5), vec![TUB]),
        ("its correction", correcting(310, reading(311, minute(162), "ph", 7.4)), vec![TUB]),
        ("the tub", tub(312, minute(162), "Orchard Row (invented)"), vec![TUB]),
        ("its shelf", shelf(313, minute(162), 40.0), vec![TUB]),
        ("its source water", thing(314, Kind::SourceWater, id(WATER), water()), vec![TUB]),
        ("another water", thing(315, Kind::SourceWater, id(1051), water()), vec![]),
        ("the kit it was read with", strip(316, minute(162), 310.0), vec![TUB]),
        (
            "a kit that nobody used",
            thing(
                317,
                Kind::Method,
                id(1052),
                json!({ "id": "strip-b", "kind": "chloride-strip", "table": [[1, 300], [3, 1000]] }),
            ),
            vec![],
        ),
        ("a van's shelf that no longer holds what was dosed", van(318, "van", "other"), vec![TUB]),
        (
            "a set of bands",
            thing(319, Kind::Band, id(1053), json!({ "name": "A", "band": { "ph": { "low": 7.1 } } })),
            vec![],
        ),
        ("a person", thing(320, Kind::Person, id(1054), json!({ "name": "A", "role": "lead" })), vec![]),
    ] {
        let before = book.count().await.unwrap();
        book.record(&[new], now).await.unwrap();
        let found: Vec<Uuid> = book.tubs_concerned(before, before + 1).await.unwrap().into_iter().collect();
        assert_eq!(found, tubs.iter().map(|n| id(*n)).collect::<Vec<_>>(), "{what}");
        let concerned = book.concerns(id(TUB), before, before + 1).await.unwrap();
        assert!(concerned || tubs.is_empty(), "{what}");
        assert!(!book.concerns(id(TUB), before + 1, before + 1).await.unwrap(), "{what}: not before");
    }
}

async fn summaries(book: &Book) {
    assert_eq!(book.summarised_up_to().await.unwrap(), 0);
    let all: Vec<Uuid> = book.tubs_concerned(0, 1).await.unwrap().into_iter().collect();
    assert_eq!(all, [TUB, 1020].map(id), "from the beginning, every tub");
    let of = |tub: u64, urgency: f64, due_us| Summary {
        tub: id(tub),
        urgency,
        due_us,
        body: json!({ "u": urgency }),
        seq: 1,
    };
    book.set_summaries(&[of(TUB, 1.0, Some(5)), of(1020, 3.0, None)]).await.unwrap();
    book.set_summaries(&[Summary { seq: 2, ..of(TUB, 3.0, Some(5)) }]).await.unwrap();
    assert_eq!(book.summarised_up_to().await.unwrap(), 2);
    let all = book.summaries(&SummaryFilter::default()).await.unwrap();
    let order: Vec<Uuid> = all.iter().map(|s| s.summary.tub).collect();
    assert_eq!(order, [TUB, 1020].map(id), "as urgent, but due first");
    assert_eq!(
        (all[0].summary.due_us, all[1].summary.due_us, all[1].name.as_str()),
        (Some(5), None, "Bare (invented)")
    );
    let rest = SummaryFilter { after: Some(id(TUB)), ..SummaryFilter::default() };
    assert_eq!(book.summaries(&rest).await.unwrap().len(), 1);
    let text = SummaryFilter { text: Some("quay".into()), ..SummaryFilter::default() };
    assert_eq!(book.summaries(&text).await.unwrap().len(), 1);
    assert!(book.set_summaries(&[of(TUB, f64::NAN, None)]).await.is_err());
}

/// Many writers at once: every entry gets a number of its own, and none is lost.
async fn together(book: &Book) {
    let now = minute(300);
    let before = book.count().await.unwrap();
    let writers = (0..8u64).map(|w| {
        let book = book.clone();
        async move {
            for n in 0..10u64 {
                let e = reading(5000 + w * 100 + n, minute(200), "ph", 7.5);
                book.record(&[e], now).await.unwrap();
            }
        }
    });
    futures_util::future::join_all(writers).await;
    let filter = Filter { after_seq: Some(before), limit: Some(1000), ..Filter::default() };
    let numbers: Vec<i64> = book.entries(&filter).await.unwrap().iter().map(|e| e.seq).collect();
    assert_eq!(numbers, (before + 1..=before + 80).collect::<Vec<_>>());

    // At one moment, half of them with an id that is there with other content: those are refused whole, and nobody else.
    let at_once = (0..60u64).map(|w| {
        let book = book.clone();
        async move {
            let fresh = reading(7000 + 2 * w, minute(210), "ph", 7.4);
            let again = reading(if w % 2 == 0 { 5000 } else { 7001 + 2 * w }, minute(210), "ph", 7.9);
            (w, book.record(&[fresh, again], now).await)
        }
    });
    for (w, outcome) in futures_util::future::join_all(at_once).await {
        assert_eq!(outcome.is_err(), w % 2 == 0, "{w}: {outcome:?}");
        let there = book.entry(id(7000 + 2 * w)).await.unwrap().is_some();
        assert_eq!(there, w % 2 == 1, "{w}");
    }
    assert_eq!(book.count().await.unwrap(), before + 80 + 60);
    assert!(book.verify(None).await.unwrap().is_sound());
}

#[test]
fn the_story_holds_on_sqlite() {
    let folder = tempfile::tempdir().expect("a folder");
    run(async {
        let book = support::in_a_folder(&folder).await;
        story(&book).await;
        together(&book).await;
        book.close().await;
        // And once more from the file.
        let place = book.place().clone();
        let again = Book::open_existing(&place).await.unwrap();
        assert_eq!(again.history(id(1020)).await.unwrap().len(), 1);
    });
}

#[test]
fn the_story_holds_on_postgresql() {
    let server = Server::start();
    run(async {
        let place = Place::parse(&server.database("story").await).unwrap();
        let book = Book::open(&place).await.unwrap();
        story(&book).await;
        together(&book).await;
        book.close().await;
        assert_eq!(Book::open_existing(&place).await.unwrap().history(id(1020)).await.unwrap().len(), 1);
    });
}
