//! Time to learn a tub: 90 days with 120 readings by hand and 25 000 of a probe, one thread; and to fold one more in.
//! Prints one JSON line. Run: `cargo bench -p care --bench learn`.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a benchmark reads a clock and stops where it fails"
)]

#[path = "../tests/support/noise.rs"]
mod noise;

use care::case::Happening;
use care::learn::learn;
use care::wire::case::CaseText;
use noise::normal;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

const TUB: &str = r#"
entries = "entries.ndjson"
[tub]
name = "Quay (invented)"
volume_l = 1200
temperature_c = 38
regime = "chlorine"
place = "home"
[source_water]
ph = 7.6
total_alkalinity_mg_l_caco3 = 110
calcium_hardness_mg_l_caco3 = 120
[[shelf]]
chemical = "dichlor"
name = "quick chlorine"
available_chlorine_percent = 56
measure = { kind = "scale", smallest = 1 }
"#;

fn main() {
    let rng = &mut ChaCha8Rng::seed_from_u64(1);
    let moment = |minutes: u32| {
        let start: jiff::Timestamp = "2026-01-01T08:00:00Z".parse().unwrap();
        start + jiff::SignedDuration::from_mins(i64::from(minutes))
    };
    let mut lines = String::new();
    writeln!(lines, r#"{{"type":"event","at":"{}","kind":"fill"}}"#, moment(0)).unwrap();
    let minutes = 90 * 24 * 60;
    let mut reading = |at: u32, quantity: &str, method: &str, value: f64| {
        let at = moment(at);
        writeln!(
            lines,
            r#"{{"type":"reading","at":"{at}","quantity":"{quantity}","method":"{method}","value":{value:.3}}}"#
        )
        .unwrap();
    };
    for i in 1..25_000 {
        let noise: f64 = normal(rng);
        reading(i * minutes / 25_000, "ph", "ph-electrode", 7.7 + 0.03 * noise);
    }
    for i in 1..=40 {
        let at = i * minutes / 41;
        let noise: f64 = normal(rng);
        reading(at, "ph", "photometer", 7.6 + 0.05 * noise);
        reading(at, "free_chlorine", "photometer", 3.0 + 0.3 * noise);
        reading(at, "total_alkalinity", "photometer", 100.0 + 5.0 * noise);
    }
    for day in 0..90 {
        let at = moment(day * 1440 + 600);
        writeln!(lines, r#"{{"type":"dose","at":"{at}","product":"quick chlorine","mass_g":5}}"#).unwrap();
        if day % 3 == 1 {
            let at = moment(day * 1440 + 720);
            writeln!(lines, r#"{{"type":"event","at":"{at}","kind":"bathers","people":2,"minutes":40}}"#)
                .unwrap();
        }
    }
    let case =
        CaseText::parse(TUB.as_bytes(), "bench").finish(Some(("entries.ndjson", lines.as_bytes()))).unwrap();
    let mut best_ms = f64::INFINITY;
    let mut learned = None;
    for _ in 0..5 {
        let start = Instant::now();
        learned = Some(learn(black_box(&case), 1).unwrap());
        best_ms = best_ms.min(start.elapsed().as_secs_f64() * 1e3);
    }
    let learned = learned.unwrap();
    let last = case.entries.iter().rev().find(|e| matches!(e.what, Happening::Reading(_))).unwrap();
    let Happening::Reading(reading) = &last.what else { return };
    let at = care::case::When(learned.until().0 + 3600);
    let mut fold_ms = f64::INFINITY;
    for _ in 0..20 {
        let mut one = learned.clone();
        let start = Instant::now();
        black_box(one.fold(reading, at, &case, 1).unwrap());
        fold_ms = fold_ms.min(start.elapsed().as_secs_f64() * 1e3);
    }
    let (used, _) = learned.readings();
    println!(
        r#"{{"case":"90 days, 120 by hand, 25 000 of a probe","readings_or_blocks":{used},"learn_ms":{best_ms:.0},"fold_ms":{fold_ms:.2}}}"#
    );
}
