//! A book in which all chlorine stands and none of the bicarbonate that was given against its acid: by the entries no alkalinity could be
//! left. The truth is crate `tub`'s whole physics; kits err by what their methods state.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

#[path = "support/noise.rs"]
mod noise;

use care::learn::Name;
use care::outlook::outlook;
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;
use noise::normal;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use std::fmt::Write as _;
use tub::{Event, Jets, Settings, State, Timed, Tub, follow};
use water::units::{
    eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, mol_kg_from_hardness_mg_l_caco3,
    molar_mass,
};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

const LITRES: f64 = 1200.0;
const DAYS: u32 = 85;
/// Dichlor each evening, mol of Cl2: 12 g of 56 %.
const DICHLOR_MOL_CL2: f64 = 12.0 * 0.56 / molar_mass::CL2;
const TUB: &str = r#"
[tub]
name = "Slip (invented)"
volume_l = 1200
temperature_c = 38
regime = "chlorine"
place = "home"

[source_water]
name = "tap (invented)"
ph = 7.6
total_alkalinity_mg_l_caco3 = 70
calcium_hardness_mg_l_caco3 = 80

[[shelf]]
chemical = "dichlor"
name = "quick chlorine"
available_chlorine_percent = 56
measure = { kind = "scale", smallest = 1 }

[[event]]
at = 2026-03-01T00:00:00Z
kind = "fill"
"#;

/// What a titration of alkalinity reads, mg/L.
fn alkalinity(state: &State) -> f64 {
    mg_l_caco3_from_eq_kg(state.totals.alkalinity + state.totals.free_chlorine)
}

/// The water each fifth noon and at the end, and the base that went in, mg/L of alkalinity a day.
fn truth() -> (Vec<(u32, State)>, f64) {
    let at = Equilibria::at(Celsius(12.0)).unwrap();
    let tap = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(70.0),
        calcium: mol_kg_from_hardness_mg_l_caco3(80.0),
        ..Totals::default()
    };
    let tap = at.solve_at_ph(&tap, Ph(7.6)).unwrap().totals.closed_with_sodium_chloride();
    let mut tub = Tub::default();
    // A family's tub: what goes in is used.
    tub.demand.background_per_day = 1.5;
    let mut state = State::filled(LITRES, Celsius(38.0), tap, tub.headspace_m3, Settings::default());
    let dose = |chemical, mol| Event::Dose { chemical, mol };
    let (mut noons, mut given) = (Vec::new(), 0.0);
    for day in 0..DAYS {
        let begin = 24.0 * f64::from(day);
        let mut all: Vec<(f64, Event)> = Vec::new();
        let lacking = LITRES - state.water_kg;
        if lacking > 1.0 {
            all.push((0.5, Event::TopUp { water: tap, kg: lacking, temperature_c: 38.0 }));
        }
        // Each fifth day somebody brings the alkalinity back to 90 with bicarbonate, and tells nobody.
        if day % 5 == 4 {
            let missing = (90.0 - alkalinity(&state)).max(0.0);
            given += missing;
            all.push((14.0, dose(Chemical::SodiumBicarbonate, eq_kg_from_mg_l_caco3(missing) * LITRES)));
        }
        all.extend([
            (20.0, dose(Chemical::Dichlor, DICHLOR_MOL_CL2 / 2.0)),
            (20.0, Event::CoverOff(true)),
            (20.0, Event::Jets(Jets::Water)),
            (20.5, Event::Jets(Jets::Off)),
            (20.5, Event::CoverOff(false)),
        ]);
        let events: Vec<Timed> =
            all.into_iter().map(|(after, event)| Timed { at_h: begin + after, event }).collect();
        let samples = follow(&tub, &state, &events, &[begin + 12.0, begin + 24.0]).unwrap().samples;
        if day % 5 == 4 {
            noons.push((day, samples[0]));
        }
        state = samples[1];
    }
    (noons, given / f64::from(DAYS))
}

#[test]
fn base_that_nobody_wrote_down_is_learnt_and_nothing_else_is_made_up() {
    let rng = &mut ChaCha8Rng::seed_from_u64(1);
    let mut text = String::from(TUB);
    let date = |day: u32| format!("2026-{:02}-{:02}", 3 + day / 30, 1 + day % 30);
    for day in 0..DAYS - 1 {
        let at = format!("{}T20:00:00Z", date(day));
        writeln!(text, "[[dose]]\nat = {at}\nproduct = \"quick chlorine\"\nmass_g = 12").unwrap();
    }
    let (noons, base) = truth();
    for (day, noon) in &noons {
        let at = format!("{}T12:00:00Z", date(*day));
        let ph = noon.speciation().unwrap().ph().0;
        let chlorine = mg_l_from_mol_kg(noon.totals.free_chlorine, molar_mass::CL2);
        for (quantity, value) in [
            ("ph", ph + 0.08 * normal(rng)),
            ("free_chlorine", (chlorine * (1.0 + 0.06 * normal(rng))).max(0.03)),
            ("total_alkalinity", alkalinity(noon) * (1.0 + 0.04 * normal(rng))),
        ] {
            writeln!(
                text,
                "[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nvalue = {value:.2}\nmethod = \"photometer\""
            )
            .unwrap();
        }
    }
    let case = CaseText::parse(text.as_bytes(), "test").finish(None).unwrap();
    let (ahead, learned) = outlook(&case, 7, 1).unwrap();
    let of = |name: &Name| learned.traits().into_iter().find(|t| t.name == *name).map(|t| t.now);
    let said = ahead.checks.iter().find(|c| c.what.contains("no alkalinity could be left"));
    let last = noons.last().unwrap().1;
    let cyanurate = mg_l_from_mol_kg(last.totals.cyanurate, molar_mass::CYANURIC_ACID);
    assert!(said.is_some(), "{:?}", ahead.checks);
    let holds = |[low, _, high]: [f64; 3], truth: f64, margin: f64| {
        assert!(
            low < truth * (1.0 + margin) && truth * (1.0 - margin) < high,
            "{low} to {high}, not {truth}"
        );
    };
    holds(of(&Name::Base).unwrap(), base, 0.0);
    holds(learned.now(Q::TotalAlkalinity).unwrap(), alkalinity(&last), 0.0);
    // A dose, a volume and the last dose after the last reading: a tenth.
    holds(learned.now(Q::CyanuricAcid).unwrap(), cyanurate, 0.1);
    let (leak, evaporation) = (of(&Name::Leak).unwrap()[1], of(&Name::Evaporation).unwrap()[1]);
    assert!(leak < 3.0 && evaporation < 8.0, "{leak} {evaporation}");
}
