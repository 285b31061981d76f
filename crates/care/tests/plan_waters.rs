//! The waters that plans predict, solved again by the reference library (PHREEQC with its own constants, through
//! `reference/recheck_plans.py`): pH within 0.001, calcite index within 0.002.
//!
//! `reference/plan_waters.jsonl` holds the waters of plans for random cases with chlorine, before and after each step, with
//! our pH and index; `reference/plan_waters_rechecked.jsonl` what the library makes of the same totals. Both are written
//! anew, when a plan has changed on purpose, by
//! `REWRITE_PLAN_WATERS=1 cargo test -p care --test plan_waters` and
//! `python reference/recheck_plans.py reference/plan_waters.jsonl > reference/plan_waters_rechecked.jsonl`.

#![allow(clippy::disallowed_methods, reason = "a test may read files; the core may not")]

#[allow(dead_code, reason = "shared with the other tests and the benchmark")]
#[path = "support/random_case.rs"]
mod random_case;

use care::band::Regime;
use care::plan::{Snapshot, StepKind};
use care::planner::plan;
use random_case::{Random, Water, random_case};
use serde_json::{Value, json};
use water::{Celsius, Equilibria, Totals};

const PLANS: usize = 16;

fn file(name: &str) -> String {
    format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn lines(name: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(file(name)).expect("a committed file");
    text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
}

fn line(id: String, temperature_c: f64, water: &Snapshot) -> Value {
    let at = Equilibria::at(Celsius(temperature_c)).expect("a tub's temperature");
    let t = &water.totals;
    json!({
        "id": id,
        "temperature_c": temperature_c,
        "totals": {
            "dic": t.carbon, "alkalinity_eq": t.alkalinity, "ca": t.calcium, "mg": t.magnesium, "na": t.sodium,
            "k": t.potassium, "cl": t.chloride + t.inert_anion, "so4": t.sulfate, "b": t.boron, "cyanurate": t.cyanurate,
            "free_chlorine": t.free_chlorine, "hso5": t.monopersulfate
        },
        "ph": water.water.ph().0,
        "si_calcite": at.calcite_saturation_index(&water.water)
    })
}

/// Waters of the first plans that do something, in a tub without bromine (the library knows none of its oxidants).
fn planned() -> Vec<Value> {
    let mut random = Random::seeded(11);
    let mut waters = Vec::new();
    let mut plans = 0;
    while plans < PLANS {
        let case = random_case(&mut random, [Water::Plain, Water::AllOut][plans % 2], 8);
        let Ok(plan) = plan(&case) else { continue };
        let adds = plan.steps.iter().filter(|s| s.kind == StepKind::Add).count();
        if case.tub.regime == Regime::Bromine || adds == 0 {
            continue;
        }
        plans += 1;
        let temperature_c = plan.before.water.temperature.0;
        waters.push(line(format!("plan {plans}, before"), temperature_c, &plan.before));
        let mut last = plan.before.totals;
        for step in &plan.steps {
            if step.water_after.totals != last {
                last = step.water_after.totals;
                let id = format!("plan {plans}, after step {}", step.order);
                waters.push(line(id, temperature_c, &step.water_after));
            }
        }
    }
    waters
}

#[test]
fn the_committed_waters_are_what_plans_predict() {
    let waters = planned();
    if std::env::var_os("REWRITE_PLAN_WATERS").is_some() {
        let text: String = waters.iter().map(|w| format!("{w}\n")).collect();
        std::fs::write(file("plan_waters.jsonl"), text).unwrap();
    }
    let committed = lines("plan_waters.jsonl");
    assert!(committed.len() >= 40);
    assert_eq!(committed.len(), waters.len());
    for (c, w) in committed.iter().zip(&waters) {
        assert_eq!(c["id"], w["id"]);
        for (a, b) in [(&c["ph"], &w["ph"]), (&c["si_calcite"], &w["si_calcite"])] {
            assert!((a.as_f64().unwrap() - b.as_f64().unwrap()).abs() < 1e-6, "{}: {a} {b}", c["id"]);
        }
    }
}

#[test]
fn the_reference_library_finds_the_same_waters() {
    let (ours, theirs) = (lines("plan_waters.jsonl"), lines("plan_waters_rechecked.jsonl"));
    assert_eq!(ours.len(), theirs.len());
    let (mut worst_ph, mut worst_index) = (0.0_f64, 0.0_f64);
    for (o, t) in ours.iter().zip(&theirs) {
        assert_eq!(o["id"], t["id"]);
        let gap = |name: &str| (o[name].as_f64().unwrap() - t[name].as_f64().unwrap()).abs();
        worst_ph = worst_ph.max(gap("ph"));
        worst_index = worst_index.max(gap("si_calcite"));
        assert!(gap("ph") <= 0.001, "{}: pH {} {}", o["id"], o["ph"], t["ph"]);
        assert!(gap("si_calcite") <= 0.002, "{}: index {} {}", o["id"], o["si_calcite"], t["si_calcite"]);
        assert!(t["charge_gap_eq"].as_f64().unwrap().abs() < 1e-8, "{}: charge", o["id"]);
        // The totals of the file solve to the file's own pH.
        let f = |name: &str| o["totals"][name].as_f64().unwrap();
        let totals = Totals {
            carbon: f("dic"),
            alkalinity: f("alkalinity_eq"),
            calcium: f("ca"),
            magnesium: f("mg"),
            sodium: f("na"),
            potassium: f("k"),
            chloride: f("cl"),
            sulfate: f("so4"),
            boron: f("b"),
            cyanurate: f("cyanurate"),
            free_chlorine: f("free_chlorine"),
            monopersulfate: f("hso5"),
            ..Totals::default()
        };
        let at = Equilibria::at(Celsius(o["temperature_c"].as_f64().unwrap())).unwrap();
        let ph = at.solve(&totals).unwrap().ph().0;
        assert!((ph - o["ph"].as_f64().unwrap()).abs() < 1e-6, "{}", o["id"]);
    }
    println!("{} waters: pH within {worst_ph:.6}, calcite index within {worst_index:.6}", ours.len());
}
