//! Mass and charge through weeks of everything at once; and nothing makes it panic or answer with no number.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;

use common::{fill, filled, ph};
use tub::cell::Cell;
use tub::pool::ELEMENTS;
use tub::run::follow_within;
use tub::{Event, Jets, Settings, State, Surroundings, Timed, Tub, TubError, follow};
use water::{Chemical, Totals};

/// Numbers from 0 to 1, the same everywhere (xorshift).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

fn busy_tub() -> Tub {
    let mut tub = Tub { cell: Some(Cell::default()), ..Tub::default() };
    tub.demand.ozone_g_h = 0.02;
    tub.demand.urea_to_trichloramine = 0.1;
    tub
}

/// Two weeks in which everything happens.
fn busy_weeks(r: &mut Random) -> Vec<Timed> {
    let mut events = Vec::new();
    let mut at = |at_h: f64, event: Event| events.push(Timed { at_h, event });
    for day in 0..14 {
        let h = 24.0 * f64::from(day);
        at(h + 1.0, Event::CellDuty(r.between(0.0, 0.6)));
        let dose = [
            (Chemical::SodiumHypochlorite, 0.05),
            (Chemical::SodiumBisulfate, 0.2),
            (Chemical::SodiumBicarbonate, 0.5),
            (Chemical::Dichlor, 0.03),
            (Chemical::Monopersulfate, 0.05),
            (Chemical::CalciumChloride, 0.2),
            (Chemical::Borax, 0.2),
        ][(7.0 * r.next()) as usize];
        at(h + 8.0, Event::Dose { chemical: dose.0, mol: dose.1 });
        let air = Surroundings { air_c: r.between(-5.0, 30.0), sun: r.next(), ..Surroundings::default() };
        at(h + 12.0, Event::Surroundings(air));
        at(h + 19.0, Event::CoverOff(true));
        at(h + 19.1, Event::Bathers((4.0 * r.next()).floor()));
        at(h + 19.1, Event::Jets(if r.next() < 0.5 { Jets::Water } else { Jets::WithAir }));
        at(h + 19.6, Event::Jets(Jets::Off));
        at(h + 19.8, Event::Bathers(0.0));
        at(h + 20.0, Event::CoverOff(false));
        at(h + 20.5, Event::TopUp { water: fill(7.4, 10.0), kg: 10.0, temperature_c: 10.0 });
    }
    events
}

/// Every element's sum over what is in the tub and what left it, and the charge: within 1e-9 of what is about, after two weeks.
#[test]
fn mass_and_charge_are_kept_through_two_busy_weeks() {
    let tub = busy_tub();
    for seed in 1..=6 {
        let mut r = Random(0x9E37_79B9_7F4A_7C15_u64.wrapping_mul(seed));
        let start = filled(&tub, fill(r.between(6.9, 8.2), 38.0), 38.0, Settings::default());
        let events = busy_weeks(&mut r);
        let hours: Vec<f64> = (1..=14).map(|d| 24.0 * f64::from(d)).collect();
        let course = follow(&tub, &start, &events, &hours).unwrap();
        let before = start.elements();
        for s in &course.samples {
            let now = s.elements();
            // What is about: amounts in the tub and beside it, so that an element that was absent at first counts too.
            for i in 0..ELEMENTS.len() {
                let size = before[i].abs() + s.out[i].abs() + 1e-3;
                let drift = (now[i] - before[i]) / size;
                assert!(drift.abs() < 1e-9, "seed {seed}, {} h: {} drifts by {drift:e}", s.at_h, ELEMENTS[i]);
            }
            let ions = s.totals.sodium * s.water_kg;
            assert!(
                (s.charge_imbalance_eq() / ions).abs() < 1e-9,
                "seed {seed}: {:e}",
                s.charge_imbalance_eq()
            );
        }
    }
}

/// The answer is that of a closer look: pH to 0.001, free chlorine to 0.1 % and 0.001 mg/L.
#[test]
fn a_closer_look_gives_the_same_answer() {
    let tub = busy_tub();
    let start = filled(&tub, fill(7.4, 38.0), 38.0, Settings::default());
    let events = busy_weeks(&mut Random(77));
    let hours = [24.0, 72.0, 168.0, 336.0];
    let usual = follow(&tub, &start, &events, &hours).unwrap();
    let close = follow_within(&tub, &start, &events, &hours, 1e-8).unwrap();
    for (a, b) in usual.samples.iter().zip(&close.samples) {
        assert!((ph(a) - ph(b)).abs() < 1e-3, "{} {}", ph(a), ph(b));
        let (x, y) = (a.totals.free_chlorine, b.totals.free_chlorine);
        assert!((x - y).abs() < 1e-3 * y + 1.4e-8, "{x:e} {y:e}");
    }
    assert!(close.work.steps > usual.work.steps);
    // Work, not time.
    assert!(usual.work.steps < 12_000, "{:?}", usual.work);
}

/// Stopping for a look changes nothing that matters.
#[test]
fn looking_more_often_gives_the_same_answer() {
    let tub = Tub::default();
    let start = filled(&tub, fill(7.2, 38.0), 38.0, Settings::default());
    let often: Vec<f64> = (1..=96).map(f64::from).collect();
    let (a, b) = (follow(&tub, &start, &[], &[96.0]).unwrap(), follow(&tub, &start, &[], &often).unwrap());
    assert!((ph(&a.end) - ph(&b.end)).abs() < 1e-4, "{} {}", ph(&a.end), ph(&b.end));
}

/// Random tubs, some of them absurd: an answer that is all numbers, or an error that says something; never a panic.
#[test]
fn anything_gives_an_answer_or_an_error() {
    let mut r = Random(0xDEAD_BEEF_CAFE_F00D);
    let (mut answered, mut refused) = (0, Vec::new());
    for _ in 0..300 {
        let mut tub = busy_tub();
        tub.cover_air_changes_per_h = 10f64.powf(r.between(-3.0, 2.5));
        tub.exchange.still_per_h = 10f64.powf(r.between(-3.0, 1.5));
        tub.demand.background_per_day = 10f64.powf(r.between(-2.0, 1.5));
        tub.wetted_m2 = r.between(0.0, 50.0);
        let t_c = r.between(2.0, 42.0);
        let water = Totals {
            alkalinity: 10f64.powf(r.between(-4.0, -2.0)),
            carbon: 10f64.powf(r.between(-4.5, -2.0)),
            calcium: 10f64.powf(r.between(-5.0, -2.0)),
            chloride: 10f64.powf(r.between(-4.0, -0.7)),
            cyanurate: if r.next() < 0.5 { 0.0 } else { r.between(0.0, 1e-3) },
            free_chlorine: if r.next() < 0.3 { 0.0 } else { 10f64.powf(r.between(-8.0, -3.0)) },
            ammonia: if r.next() < 0.3 { 0.0 } else { 10f64.powf(r.between(-8.0, -3.0)) },
            bromide: if r.next() < 0.8 { 0.0 } else { 10f64.powf(r.between(-6.0, -3.0)) },
            ..Totals::default()
        }
        .closed_with_sodium_chloride();
        let settings = Settings {
            open: r.next() < 0.5,
            jets: [Jets::Off, Jets::Water, Jets::WithAir][(3.0 * r.next()) as usize],
            circulation: r.next(),
            bathers: (5.0 * r.next()).floor(),
            cell_duty: r.next(),
            surroundings: Surroundings {
                air_c: r.between(-20.0, 40.0),
                sun: r.next(),
                ..Surroundings::default()
            },
        };
        match follow(&tub, &filled(&tub, water, t_c, settings), &[], &[0.5, 48.0]) {
            Ok(course) => {
                answered += 1;
                let s = &course.end;
                assert!(s.totals.to_array().iter().all(|x| x.is_finite()) && s.water_kg.is_finite());
                s.check().unwrap();
            }
            Err(e) => refused.push(e),
        }
    }
    // What is refused is refused for its water (a pH outside 2–12.5, no room), not because the integration failed.
    assert!(answered > 200, "{answered} {refused:?}");
    let stopped: Vec<_> = refused.iter().filter(|e| matches!(e, TubError::Stopped { .. })).collect();
    assert!(stopped.is_empty(), "{stopped:?}");
}

#[test]
fn wrong_input_is_refused_by_the_name_of_its_field() {
    let good_tub = Tub::default();
    let good = filled(&good_tub, fill(7.4, 38.0), 38.0, Settings::default());
    let says = |tub: &Tub, s: &State, events: &[Timed], hours: &[f64]| {
        follow(tub, s, events, hours).unwrap_err().to_string()
    };
    let tubs = [
        (Tub { surface_m2: 0.0, ..good_tub }, "surface_m2"),
        (Tub { set_c: f64::NAN, ..good_tub }, "set_c"),
        (Tub { cell: Some(Cell { gaps: -1.0, ..Cell::default() }), ..good_tub }, "cell.gaps"),
    ];
    for (tub, name) in &tubs {
        assert!(says(tub, &good, &[], &[1.0]).starts_with(name), "{name}");
    }
    let states = [
        (State { water_kg: 0.0, ..good }, "water_kg"),
        (State { urea: -1e-6, ..good }, "urea"),
        (State { settings: Settings { circulation: 2.0, ..good.settings }, ..good }, "circulation"),
    ];
    for (state, name) in &states {
        assert!(says(&good_tub, state, &[], &[1.0]).starts_with(name), "{name}");
    }
    let at = |at_h, event| Timed { at_h, event };
    let late = [at(3.0, Event::CoverOff(true)), at(2.0, Event::CoverOff(false))];
    assert!(says(&good_tub, &good, &late, &[]).starts_with("event number 2"));
    assert!(says(&good_tub, &good, &[], &[-1.0]).starts_with("sample number 1"));
    let crowd = [at(1.0, Event::Bathers(f64::INFINITY))];
    assert!(says(&good_tub, &good, &crowd, &[]).starts_with("bathers"));
    let flood = [at(1.0, Event::Replace { water: fill(7.4, 10.0), kg: 2000.0, temperature_c: 10.0 })];
    assert!(says(&good_tub, &good, &flood, &[]).starts_with("kg"));
    let acid = [at(1.0, Event::Dose { chemical: Chemical::HydrochloricAcid, mol: -1.0 })];
    assert!(says(&good_tub, &good, &acid, &[]).contains("additions"));
    let e = follow_within(&good_tub, &good, &[], &[1.0], 0.0).unwrap_err().to_string();
    assert!(e.starts_with("relative_tolerance"), "{e}");
}

/// So much acid that there is no equilibrium in the constants' range: said with its hour, not a panic.
#[test]
fn a_water_beyond_the_constants_says_so_with_its_hour() {
    let tub = Tub::default();
    let start = filled(&tub, fill(7.4, 38.0), 38.0, Settings::default());
    let acid = Event::Dose { chemical: Chemical::HydrochloricAcid, mol: 60.0 };
    let e = follow(&tub, &start, &[Timed { at_h: 5.0, event: acid }], &[10.0]).unwrap_err();
    assert!(matches!(e, TubError::Water { at_h, .. } if at_h == 5.0), "{e}");
}
