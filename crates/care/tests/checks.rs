//! The checks of an outlook, on tubs whose truth is known: each speaks where it must and is silent where it must be.
//!
//! The truth is crate `tub`'s whole physics, not the estimator's own course; readings err by the errors that their methods
//! state. `false_alarms` counts over a small fleet; its figures stand in `docs/learn.md`.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

#[path = "support/noise.rs"]
mod noise;

use care::case::Case;
use care::finding::Finding;
use care::outlook::outlook;
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;
use noise::normal;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use std::fmt::Write as _;
use tub::{Event, Jets, Settings, State, Timed, Tub, follow};
use water::conductivity::specific_conductance_25c_us_cm;
use water::units::{
    eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, mol_kg_from_hardness_mg_l_caco3,
    molar_mass,
};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

const LITRES: f64 = 1200.0;
const TUB: &str = r#"
[tub]
name = "Quay (invented)"
volume_l = 1200
temperature_c = 38
regime = "chlorine"
place = "home"

[source_water]
name = "tap (invented)"
temperature_c = 12
ph = 7.6
total_alkalinity_mg_l_caco3 = 90
calcium_hardness_mg_l_caco3 = 80

[[shelf]]
chemical = "sodium-chloride"
name = "salt"
purity_percent = 100
measure = { kind = "scale", smallest = 10 }

[[shelf]]
chemical = "sodium-hypochlorite"
name = "liquid chlorine"
available_chlorine_percent = 12.5
measure = { kind = "millilitres", smallest = 1 }

[[shelf]]
chemical = "hydrochloric-acid"
name = "acid"
purity_percent = 10
measure = { kind = "millilitres", smallest = 1 }

[[event]]
at = 2026-03-01T00:00:00Z
kind = "fill"
"#;

/// What is done to the tub and what is wrong with it.
#[derive(Clone, Copy)]
struct Story {
    days: u32,
    seed: u64,
    /// Salt weighed in on the first day, g.
    salt_g: f64,
    /// Hypochlorite on each evening, mol.
    chlorine_mol: f64,
    /// Litres a day that leave with their salt.
    leak_l: f64,
    /// Day from which the water itself uses so many times as much chlorine.
    dirty_from: u32,
    dirtier: f64,
    /// Acid (hydrochloric) each evening until this day, mol: holds the pH down.
    acid_mol: f64,
    acid_until: u32,
    /// Litres topped up every second day and written down.
    topped_up_l: f64,
    /// How a reading of salt is made, and of what factor it is too high.
    salt_by: &'static str,
    salt_factor: f64,
    /// The same for a meter beside it; none if empty.
    meter: &'static str,
    meter_factor: f64,
}

const QUIET: Story = Story {
    days: 21,
    seed: 1,
    salt_g: 2600.0,
    chlorine_mol: 0.012,
    leak_l: 0.0,
    dirty_from: 0,
    dirtier: 1.0,
    acid_mol: 0.0,
    acid_until: 0,
    topped_up_l: 0.0,
    salt_by: "salt-drop-titration-200",
    salt_factor: 1.0,
    meter: "",
    meter_factor: 1.0,
};

/// The true water each noon.
fn truth(story: &Story) -> Vec<State> {
    let at = Equilibria::at(Celsius(12.0)).unwrap();
    let tap = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(90.0),
        calcium: mol_kg_from_hardness_mg_l_caco3(80.0),
        ..Totals::default()
    };
    let tap = at.solve_at_ph(&tap, Ph(7.6)).unwrap().totals.closed_with_sodium_chloride();
    let mut tub = Tub::default();
    let mut state = State::filled(LITRES, Celsius(38.0), tap, tub.headspace_m3, Settings::default());
    let dose = |chemical, mol| Event::Dose { chemical, mol };
    let water = |kg| Event::Replace { water: tap, kg, temperature_c: 38.0 };
    let mut noons = Vec::new();
    for day in 0..story.days {
        tub.demand.background_per_day = Tub::default().demand.background_per_day
            * if day >= story.dirty_from { story.dirtier } else { 1.0 };
        let begin = 24.0 * f64::from(day);
        let mut all: Vec<(f64, Event)> = Vec::new();
        if day == 0 {
            all.push((1.0, dose(Chemical::SodiumChloride, story.salt_g / molar_mass::NACL)));
        }
        // The household keeps it at the mark: what evaporated is made up.
        let lacking = LITRES - state.water_kg;
        if lacking > 1.0 {
            all.push((0.5, Event::TopUp { water: tap, kg: lacking, temperature_c: 38.0 }));
        }
        if story.leak_l > 0.0 {
            all.push((6.0, water(story.leak_l)));
        }
        if day % 2 == 1 {
            // An evening's bath: cover off for half an hour, one person with jets for twenty minutes.
            all.extend([
                (19.0, Event::CoverOff(true)),
                (19.1, Event::Jets(Jets::Water)),
                (19.1, Event::Bathers(1.0)),
                (19.4, Event::Bathers(0.0)),
                (19.4, Event::Jets(Jets::Off)),
                (19.5, Event::CoverOff(false)),
            ]);
        }
        if day < story.acid_until {
            all.push((20.0, dose(Chemical::HydrochloricAcid, story.acid_mol)));
        }
        all.push((20.5, dose(Chemical::SodiumHypochlorite, story.chlorine_mol)));
        // Each is stirred in for half an hour with jets on and the cover off (common practice).
        let from = if day < story.acid_until { 20.0 } else { 20.5 };
        all.extend([
            (from, Event::CoverOff(true)),
            (from, Event::Jets(Jets::Water)),
            (21.0, Event::Jets(Jets::Off)),
            (21.0, Event::CoverOff(false)),
        ]);
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let events: Vec<Timed> =
            all.into_iter().map(|(after, event)| Timed { at_h: begin + after, event }).collect();
        let samples = follow(&tub, &state, &events, &[begin + 12.0, begin + 24.0]).unwrap().samples;
        noons.push(samples[0]);
        state = samples[1];
    }
    noons
}

/// The entries that somebody keeps of that tub: everything that was put in, pH and chlorine each noon, the rest twice a week.
fn case(story: &Story) -> Case {
    let rng = &mut ChaCha8Rng::seed_from_u64(story.seed);
    let at_25 = Equilibria::at(Celsius(25.0)).unwrap();
    let mut text = String::from(TUB);
    let moment = |day: u32, time: &str| format!("2026-03-{:02}T{time}:00Z", day + 1);
    let read = |text: &mut String, day: u32, quantity: &str, method: &str, value: f64| {
        let at = moment(day, "12:00");
        let figure = if method == "salt-drop-titration-200" {
            // The drop that turns the colour is counted whole.
            format!("drops = {}", (value / 200.0).ceil())
        } else {
            format!("value = {value:.3}")
        };
        writeln!(text, "[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nmethod = \"{method}\"\n{figure}")
            .unwrap();
    };
    let dose = |text: &mut String, at: String, product: &str, amount: String| {
        writeln!(text, "[[dose]]\nat = {at}\nproduct = \"{product}\"\n{amount}").unwrap();
    };
    dose(&mut text, moment(0, "01:00"), "salt", format!("mass_g = {}", story.salt_g));
    for (noon, day) in truth(story).iter().zip(0..) {
        let solved = noon.speciation().unwrap();
        let chlorine = mg_l_from_mol_kg(noon.totals.free_chlorine, molar_mass::CL2);
        let e: f64 = normal(rng);
        read(&mut text, day, "ph", "photometer", solved.ph().0 + 0.08 * e);
        let e: f64 = normal(rng);
        read(&mut text, day, "free_chlorine", "photometer", (chlorine * (1.0 + 0.06 * e)).max(0.03));
        let salt = mg_l_from_mol_kg(noon.totals.chloride, molar_mass::NACL);
        if day % 4 == 2 {
            let e: f64 = normal(rng);
            let alkalinity = mg_l_caco3_from_eq_kg(noon.totals.alkalinity + noon.totals.free_chlorine);
            read(&mut text, day, "total_alkalinity", "photometer", alkalinity * (1.0 + 0.04 * e));
            let e: f64 = normal(rng);
            read(&mut text, day, "salt", story.salt_by, salt * story.salt_factor * (1.0 + 0.03 * e));
            if story.meter == "conductivity-meter" {
                let us = specific_conductance_25c_us_cm(&at_25.solve(&noon.totals).unwrap());
                let e: f64 = normal(rng);
                let shown = us / 1000.0 * story.meter_factor * (1.0 + 0.01 * e);
                read(&mut text, day, "conductivity", story.meter, shown);
            } else if !story.meter.is_empty() {
                let e: f64 = normal(rng);
                read(&mut text, day, "salt", story.meter, salt * story.meter_factor * (1.0 + 0.02 * e));
            }
        }
        if day % 2 == 1 {
            let at = moment(day, "19:06");
            writeln!(text, "[[event]]\nat = {at}\nkind = \"bathers\"\npeople = 1\nminutes = 18").unwrap();
        }
        if story.topped_up_l > 0.0 && day % 2 == 0 {
            let (at, litres) = (moment(day, "18:00"), story.topped_up_l);
            writeln!(text, "[[event]]\nat = {at}\nkind = \"top-up\"\nvolume_l = {litres}").unwrap();
        }
        if day < story.acid_until {
            // Ten percent by weight.
            let grams = story.acid_mol * 36.46 / 0.1;
            dose(&mut text, moment(day, "20:00"), "acid", format!("mass_g = {grams:.2}"));
        }
        // Liquid of 12.5 % holds 125 g of chlorine a litre or a kilogram, by its label; 1.21 g/mL.
        let grams = story.chlorine_mol * molar_mass::CL2 / 0.125;
        dose(&mut text, moment(day, "20:30"), "liquid chlorine", format!("mass_g = {grams:.2}"));
    }
    CaseText::parse(text.as_bytes(), "test").finish(None).unwrap_or_else(|e| panic!("{e:?}"))
}

fn checks(story: &Story) -> Vec<Finding> {
    outlook(&case(story), 1, 1).unwrap().0.checks
}

/// The first check that says this.
fn said<'a>(checks: &'a [Finding], words: &str) -> Option<&'a Finding> {
    checks.iter().find(|c| c.what.contains(words))
}

fn all(checks: &[Finding]) -> String {
    checks.iter().map(|c| format!("{} {}\n", c.what, c.advice)).collect()
}

const LEAK: &str = "leave together with their salt";
const DEMAND: &str = "times as fast this week";
const ACTIVE: &str = "Of the free chlorine only";
const EVAPORATED: &str = "most of it evaporated";
const CONDUCTIVITY: &str = "would give";

/// The litres that a leak's finding names: middle, low, high.
fn litres(finding: &Finding) -> [f64; 3] {
    let figures: Vec<f64> = finding
        .what
        .split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter_map(|w| w.parse().ok())
        .collect();
    [figures[0], figures[1], figures[2]]
}

#[test]
fn a_leak_is_named_with_its_litres_and_a_quiet_tub_has_none() {
    let leaking = checks(&Story { leak_l: 14.0, salt_by: "laboratory", ..QUIET });
    let found = said(&leaking, LEAK).unwrap_or_else(|| panic!("no leak in:\n{}", all(&leaking)));
    let [middle, low, high] = litres(found);
    assert!(low <= 14.0 && 14.0 <= high && (8.0..20.0).contains(&middle), "{}", found.what);
    let quiet = checks(&Story { salt_by: "laboratory", ..QUIET });
    assert!(said(&quiet, LEAK).is_none(), "{}", all(&quiet));
}

#[test]
fn water_that_is_topped_up_while_the_salt_stays_evaporated() {
    let story = Story { topped_up_l: 18.0, salt_by: "laboratory", ..QUIET };
    let found = checks(&story);
    assert!(said(&found, EVAPORATED).is_some() && said(&found, LEAK).is_none(), "{}", all(&found));
    // The same litres with a leak behind them are none that evaporated.
    let leaking = checks(&Story { leak_l: 14.0, ..story });
    assert!(said(&leaking, EVAPORATED).is_none(), "{}", all(&leaking));
}

#[test]
fn a_salt_meter_that_is_off_is_named_and_a_good_one_is_not() {
    let with = |meter, meter_factor| checks(&Story { meter, meter_factor, salt_by: "laboratory", ..QUIET });
    let high = with("salt-meter", 1.4);
    let found = said(&high, "more salt than there is").unwrap_or_else(|| panic!("{}", all(&high)));
    assert!(
        found.what.starts_with("Salt meter") && found.advice.contains("the meter itself"),
        "{}",
        all(&high)
    );
    let low = with("salt-meter", 0.65);
    assert!(
        said(&low, "less salt than there is").is_some_and(|f| f.advice.contains("at fault")),
        "{}",
        all(&low)
    );
    let good = with("salt-meter", 1.03);
    assert!(said(&good, "salt than there is").is_none(), "{}", all(&good));
}

#[test]
fn a_conductivity_is_held_against_the_salt_that_is_known() {
    let with = |meter_factor| checks(&Story { meter: "conductivity-meter", meter_factor, ..QUIET });
    let high = with(1.3);
    let found = said(&high, CONDUCTIVITY).unwrap_or_else(|| panic!("{}", all(&high)));
    assert!(found.advice.starts_with("Chloride was tested"), "{}", found.advice);
    let low = with(0.75);
    let found = said(&low, CONDUCTIVITY).unwrap_or_else(|| panic!("{}", all(&low)));
    assert!(found.advice.starts_with("Other salts can only"), "{}", found.advice);
    assert!(said(&with(1.0), CONDUCTIVITY).is_none());
}

/// pH held down by acid for nine days and then let go, with the same chlorine each evening: the chlorine acts less, and its
/// demand is what it was.
#[test]
fn chlorine_that_acts_less_as_the_ph_rises_is_told_from_chlorine_that_is_burnt() {
    let risen = checks(&Story { acid_mol: 0.06, acid_until: 9, ..QUIET });
    assert!(said(&risen, ACTIVE).is_some_and(|f| f.advice.contains("Lower the pH")), "{}", all(&risen));
    assert!(said(&risen, DEMAND).is_none(), "{}", all(&risen));
}

/// Where next to none is left, chlorine is what is missing, however high the pH has risen.
#[test]
fn nobody_is_told_that_ph_is_the_fault_where_there_is_no_chlorine() {
    let gone = Story { acid_mol: 0.06, acid_until: 9, dirty_from: 10, dirtier: 40.0, ..QUIET };
    let (outlook, learned) = outlook(&case(&gone), 1, 1).unwrap();
    let left = learned.now(Q::FreeChlorine).unwrap();
    assert!(left[1] < 1.0, "the story is of a tub without chlorine: {left:?}");
    assert!(said(&outlook.checks, ACTIVE).is_none(), "{}", all(&outlook.checks));
}

/// The water itself burns four times as much in its last week.
#[test]
fn a_demand_that_rose_is_named() {
    let burnt = checks(&Story { dirty_from: 14, dirtier: 4.0, ..QUIET });
    let found = said(&burnt, DEMAND).unwrap_or_else(|| panic!("{}", all(&burnt)));
    assert!(found.advice.contains("Find what burns it"));
}

#[test]
fn a_quiet_tub_has_neither() {
    let quiet = checks(&QUIET);
    assert!(said(&quiet, DEMAND).is_none() && said(&quiet, ACTIVE).is_none(), "{}", all(&quiet));
}

/// `cargo test --release -p care --test checks -- --ignored --nocapture`; the figures stand in `docs/learn.md`.
#[test]
#[ignore = "some minutes"]
fn false_alarms_in_a_fleet_and_what_is_found() {
    let words = [LEAK, EVAPORATED, "salt than there is", CONDUCTIVITY, ACTIVE, DEMAND];
    let count = |runs: u64, story: &dyn Fn(u64) -> Story| {
        let mut found = [0; 6];
        for seed in 0..runs {
            let checks = checks(&story(100 + seed));
            for (n, w) in found.iter_mut().zip(words) {
                *n += usize::from(said(&checks, w).is_some());
            }
        }
        found
    };
    let of = |story: Story| move |seed| Story { seed, ..story };
    let quiet = count(40, &of(Story { meter: "conductivity-meter", ..QUIET }));
    let metered =
        count(40, &of(Story { meter: "salt-meter", salt_by: "laboratory", topped_up_l: 6.0, ..QUIET }));
    println!("{words:?}");
    println!("quiet, drops and a conductivity meter, of 40: {quiet:?}");
    println!("quiet, laboratory and a salt meter, of 40: {metered:?}");
    for (name, story) in [
        ("leak of 14 L", Story { leak_l: 14.0, ..QUIET }),
        ("leak of 14 L by laboratory", Story { leak_l: 14.0, salt_by: "laboratory", ..QUIET }),
        ("meter 40 % high", Story { meter: "salt-meter", meter_factor: 1.4, salt_by: "laboratory", ..QUIET }),
        ("conductivity 30 % high", Story { meter: "conductivity-meter", meter_factor: 1.3, ..QUIET }),
        ("pH let go", Story { acid_mol: 0.06, acid_until: 9, ..QUIET }),
        ("four times the demand", Story { dirty_from: 14, dirtier: 4.0, ..QUIET }),
    ] {
        println!("{name}, of 20: {:?}", count(20, &of(story)));
    }
    assert!(quiet.iter().chain(&metered).all(|n| *n <= 2), "at most one in twenty");
    assert_eq!(Q::Salt.id(), "salt");
}
