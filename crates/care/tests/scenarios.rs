//! The acceptance scenarios of the trade reference (invented sites), each "Accept" line quoted beside its assertion.
//! Windows are the expert's, worked out there with a general geochemistry library and arithmetic.
//!
//! Belongs elsewhere and is not asserted here: K3 the choice of regime afterwards; K4 the choice between treating and
//! draining, CT 31 500, 28 hours, the deadline's arithmetic (incident response); K5 the night output test (faults);
//! K6 the drain interval of 4.1 days, the feeder's shortfall, gaps in the log (public tubs, records).

mod common;

use care::plan::{Plan, StepKind};
use care::quantity::Quantity as Q;
use common::*;

fn keeps_out_first(plan: &Plan) -> &str {
    let first = plan.steps.first().expect("steps");
    assert_eq!(first.kind, StepKind::KeepOut);
    &first.why
}

fn looks_again(plan: &Plan) -> Vec<f64> {
    let mut hours = vec![plan.look_again.after_hours];
    hours.extend(&plan.look_again.then_hours);
    hours
}

#[test]
fn k1_commission_a_salt_tub_on_a_soft_acidic_iron_bearing_well() {
    let (case, plan) = scenario("k1-hillside-cabin");
    // "salt first dose 2.3–2.75 kg and never above 2 800 mg/L"
    assert_within(grams(&plan, "sodium-chloride"), (2300.0, 2750.0), "salt, g");
    for step in &plan.steps {
        assert!(value(&step.water_after, Q::Salt) <= 2800.0, "step {}", step.order);
    }
    let first = adds(&plan).find(|s| s.chemical.is_some()).expect("a dose");
    assert_eq!(first.chemical, Some("sodium-chloride"), "salt comes first");
    // "TA rise 20–45; CH rise 75–125; zero soda ash"
    let rise = |q: Q, chemical: &str| -> f64 {
        adds_of(&plan, chemical)
            .map(|s| {
                let before = &plan.steps[s.order - 2].water_after;
                value(&s.water_after, q) - value(before, q)
            })
            .sum()
    };
    assert_within(rise(Q::TotalAlkalinity, "sodium-bicarbonate"), (20.0, 45.0), "alkalinity rise");
    assert_within(rise(Q::CalciumHardness, "calcium-chloride"), (75.0, 125.0), "hardness rise");
    assert_eq!(grams(&plan, "sodium-carbonate"), 0.0);
    // "TA and CH separated ≥ 2 h"
    let bicarbonate = adds_of(&plan, "sodium-bicarbonate").last().unwrap();
    let calcium = adds_of(&plan, "calcium-chloride").next().unwrap();
    assert!(minutes_between(&plan, bicarbonate, calcium) >= 120.0);
    // "sequester/filter before oxidiser"; the expert leaves it 12 h.
    let sequestrant = adds(&plan).find(|s| s.product.as_deref() == Some("sequestrant")).expect("sequestrant");
    let chlorine = adds_of(&plan, "sodium-hypochlorite").next().expect("chlorine");
    assert!(minutes_between(&plan, sequestrant, chlorine) >= 720.0);
    assert!(sequestrant.why.contains("pre-filter"));
    // "FC 3–5 (38–52 mL with bleach age allowed)"
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (38.0, 52.0), "hypochlorite, mL");
    assert_within(value(end(&plan), Q::FreeChlorine), (3.0, 5.0), "free chlorine");
    // "look again ≤ 48 h and at ~day 7"
    let hours = looks_again(&plan);
    assert!(hours[0] <= 48.0 && hours.iter().any(|h| (144.0..=192.0).contains(h)), "{hours:?}");
    // "says volume 1 250 used"
    assert_eq!(plan.volume_l, 1250.0);
    assert!(plan.assumptions.iter().any(|a| a.contains("1250 L")), "{:?}", plan.assumptions);
    // "Traps: flake's chloride; bicarbonate and flake in one pail"; "cell off", "cell on after the salt check".
    assert!(calcium.why.contains("chloride also counts as salt"));
    assert!(said(&plan).contains("cell off") && plan.look_again.why.contains("cell stays off"));
    assert_rules_of_every_plan(&case, &plan, "K1");
}

/// The same tub if its maker's 1310 L had been believed: the plan follows the volume that it was given, and says it.
#[test]
fn k1_trap_of_the_nameplate() {
    let (_, text) = SCENARIOS[0];
    let (_, measured) = planned(text);
    let (_, nameplate) = planned(
        &text
            .replace("volume_l = 1250", "volume_l = 1310")
            .replace("volume_measured = true", "volume_measured = false"),
    );
    assert!(nameplate.assumptions.iter().any(|a| a.contains("1310 L") && a.contains("not measured")));
    assert!(grams(&nameplate, "sodium-chloride") > grams(&measured, "sodium-chloride"));
}

#[test]
fn k2_ph_climbs_every_three_days_on_hard_alkaline_tap() {
    let (case, plan) = scenario("k2-harbour-studio");
    // "total 93 % acid 270–350 g for TA 75–90; ≥ 3 rounds"
    assert_within(grams(&plan, "sodium-bisulfate"), (270.0, 350.0), "dry acid, g");
    assert_within(value(end(&plan), Q::TotalAlkalinity), (75.0, 90.0), "alkalinity");
    let rounds: Vec<_> = adds_of(&plan, "sodium-bisulfate").collect();
    assert!(rounds.len() >= 3, "{}", rounds.len());
    // "no predicted pH < 6.8"
    for step in &plan.steps {
        assert!(value(&step.water_after, Q::Ph) >= 6.8, "step {}", step.order);
    }
    // "aeration between"
    for pair in rounds.windows(2) {
        let between = &plan.steps[pair[0].order..pair[1].order - 1];
        assert!(between.iter().any(|s| s.kind == StepKind::LeaveOpen && s.until_ph >= Some(7.4)));
    }
    // "air/waterfall advice; no soda ash; cell check"
    let all = said(&plan);
    assert!(all.contains("air valves closed") && all.contains("waterfall off"));
    assert_eq!(grams(&plan, "sodium-carbonate"), 0.0);
    assert!(all.contains("inspect the cell"));
    // "bathing stopped until pH ≤ 7.8"
    assert!(keeps_out_first(&plan).contains("pH 7.0-7.8"), "{}", plan.steps[0].why);
    // "Traps: one 300 g dose; blaming the cell; draining to the same tap"
    assert!(rounds.iter().all(|s| s.mass_g.unwrap() < 150.0));
    assert!(all.contains("not the cell"));
    assert!(steps_of(&plan, StepKind::ReplaceWater).is_empty());
    assert!(plan.not_done.iter().any(|n| n.what.contains("Replace water") && n.why.contains("185")));
    // Alkalinity is looked at again, not the pH alone.
    assert!(plan.look_again.quantities.contains(&Q::TotalAlkalinity));
    assert_rules_of_every_plan(&case, &plan, "K2");
}

#[test]
fn k3_rash_after_four_months_of_dichlor() {
    let (case, plan) = scenario("k3-ferry-road-terrace");
    // "closes"
    assert!(keeps_out_first(&plan).contains("cyanuric acid"));
    // "full drain with purge"
    let [drain] = steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("one drain") };
    assert_eq!(drain.share, Some(1.0));
    let all = said(&plan);
    assert!(drain.measure_text.contains("purge") && all.contains("breaker off") && all.contains("new one"));
    // "HOCl or equivalent explained": 0.016 mg/L by the expert.
    let active = plan.findings.iter().find(|f| f.what.contains("active")).expect("active chlorine");
    assert!(active.what.contains("0.016"), "{}", active.what);
    // "CYA uncertain ±25 carried"
    let cyanuric = plan.before.quantities.iter().find(|e| e.quantity == Q::CyanuricAcid).unwrap();
    assert_within(cyanuric.standard_error, (18.0, 35.0), "standard error of cyanuric acid");
    assert!(cyanuric.low < 105.0 && cyanuric.high > 155.0);
    // "carbonate alkalinity corrected 25–40"
    let carbonate = water::units::mg_l_caco3_from_eq_kg(plan.before.water.alkalinity_parts().carbonate);
    assert_within(carbonate, (25.0, 40.0), "carbonate alkalinity");
    assert!(all.contains("carbonate alkalinity"));
    // "no advice to only 'add more dichlor' or 'shock and use'"
    assert_eq!(grams(&plan, "dichlor"), 0.0);
    assert!(all.contains("more dichlor makes it worse"));
    assert!(adds(&plan).all(|s| s.order > drain.order), "nothing goes into the old water");
    // "medical boundary said"
    assert!(all.contains("doctor") && all.contains("does not judge health"));
    // The new start: "FC 4: 35 mL hypochlorite" on this tap.
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (26.0, 45.0), "hypochlorite, mL");
    // "Traps: TA 70 → fine; raising pH by TA"
    assert_eq!(grams(&plan, "sodium-bicarbonate"), 0.0);
    assert_rules_of_every_plan(&case, &plan, "K3");
}

#[test]
fn k4_first_chlorine_after_the_drain() {
    let (case, plan) = scenario("k4-birch-lane-refill");
    // Expert (b): "start FC 4 (32 mL), check pH"; "Open when FC 3–5, pH 7.0–7.6 twice 30 min apart"
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (27.0, 40.0), "hypochlorite, mL");
    assert_within(value(end(&plan), Q::FreeChlorine), (3.0, 5.0), "free chlorine");
    assert_within(value(end(&plan), Q::Ph), (7.0, 7.6), "pH");
    let until = keeps_out_first(&plan);
    assert!(until.contains("two tests half an hour apart, not the clock"), "{until}");
    assert!(until.contains("3-5 mg/L") && until.contains("pH 7.0-7.6"), "{until}");
    assert_rules_of_every_plan(&case, &plan, "K4 refill");
}

#[test]
fn k4_the_other_options_doses() {
    let (case, plan) = scenario("k4-birch-lane-hyperchlorination");
    // Option (a): "FC 1 → 20: 152 mL … so first 27 g of 93 % dry acid → 7.5"; "acid before hypochlorite separate"
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (140.0, 165.0), "hypochlorite, mL");
    assert_within(grams(&plan, "sodium-bisulfate"), (20.0, 36.0), "dry acid, g");
    assert_within(value(end(&plan), Q::FreeChlorine), (19.0, 22.0), "free chlorine");
    assert_within(value(end(&plan), Q::Ph), (7.0, 7.6), "pH");
    // Nobody near: kept out first, and the user's own band does not open the tub at 20 mg/L.
    let until = keeps_out_first(&plan);
    assert!(until.contains("3-5 mg/L") && until.contains("beyond the bathing limit"), "{until}");
    assert_rules_of_every_plan(&case, &plan, "K4 hyperchlorination");
}

#[test]
fn k5_add_salt_light_and_weak_chlorine() {
    let (case, plan) = scenario("k5-lakeside-lodge");
    // "no salt"
    assert_eq!(grams(&plan, "sodium-chloride"), 0.0);
    assert!(!adds(&plan).any(|s| s.product.as_deref() == Some("salt")));
    // "two independent salt methods weighed, discrepancy named"
    let finding =
        plan.findings.iter().find(|f| f.quantities == [Q::Salt] && f.what.contains("1450")).expect("finding");
    assert!(finding.what.contains("display") && finding.what.contains("contradict"), "{}", finding.what);
    let refused = plan.not_done.iter().find(|n| n.what.contains("display")).expect("salt refused");
    assert!(refused.why.contains("4.8 mS/cm"), "{}", refused.why);
    assert_within(value(&plan.before, Q::Salt), (2150.0, 2350.0), "salt");
    // "acid 14–22 g of product; hypochlorite 26–36 mL, separated"
    assert_within(grams(&plan, "sodium-bisulfate"), (14.0, 22.0), "dry acid, g");
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (26.0, 36.0), "hypochlorite, mL");
    let acid = adds_of(&plan, "sodium-bisulfate").last().unwrap();
    let chlorine = adds_of(&plan, "sodium-hypochlorite").next().unwrap();
    assert!(minutes_between(&plan, acid, chlorine) >= 30.0);
    // "FC followed daily"
    assert!(plan.look_again.quantities.contains(&Q::FreeChlorine));
    assert_eq!(looks_again(&plan), [24.0, 48.0, 72.0]);
    // Expert: SI +0.65, acid to pH 7.5; "Lower CH/TA": the hardness that no product lowers is said with what is missing.
    assert_within(value(&plan.before, Q::SaturationIndex), (0.55, 0.75), "saturation index");
    let hardness =
        plan.out_of_band_after.iter().find(|m| m.quantity == Q::CalciumHardness).expect("hardness");
    assert!(hardness.why.contains("source water is not known"), "{}", hardness.why);
    assert_rules_of_every_plan(&case, &plan, "K5");
}

#[test]
fn k6_public_spa_with_combined_chlorine() {
    let (case, plan) = scenario("k6-old-mill-hotel");
    // "closure"; "reopening rule"
    let until = keeps_out_first(&plan);
    assert!(until.contains("free chlorine is 0.8") && until.contains("combined chlorine is 1.8"), "{until}");
    assert!(until.contains("two tests half an hour apart"), "{until}");
    // "drain as the first choice"
    let [drain] = steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("one drain") };
    assert_eq!((drain.share, drain.order), (Some(1.0), 2));
    assert!(plan.headline.starts_with("Drain and refill"), "{}", plan.headline);
    // "acid 28–40 g and 80–100 mL"
    assert_within(grams(&plan, "sodium-bisulfate"), (28.0, 40.0), "dry acid, g");
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (80.0, 100.0), "hypochlorite, mL");
    // "Traps: 10 × CC dose = 18 mg/L and open next morning"
    assert!(plan.steps.iter().all(|s| value(&s.water_after, Q::FreeChlorine) <= 10.0));
    assert!(plan.not_done.iter().any(|n| n.what.contains("combined chlorine")));
    assert_rules_of_every_plan(&case, &plan, "K6");
}

#[test]
fn k6_refilled() {
    let (case, plan) = scenario("k6-old-mill-refill");
    // "Refill at 38 °C: pH 7.51, SI +0.33"
    assert_within(value(&plan.before, Q::Ph), (7.46, 7.56), "pH when hot");
    assert_within(value(&plan.before, Q::SaturationIndex), (0.27, 0.39), "saturation index when hot");
    assert_within(grams(&plan, "sodium-bisulfate"), (28.0, 40.0), "dry acid, g");
    assert_within(millilitres(&plan, "sodium-hypochlorite"), (80.0, 100.0), "hypochlorite, mL");
    // "→ pH 7.36, TA 138, SI +0.16": ours aims at the middle of 3-6 mg/L, so a little more chlorine.
    assert_within(value(end(&plan), Q::Ph), (7.31, 7.43), "pH");
    assert_within(value(end(&plan), Q::SaturationIndex), (0.10, 0.24), "saturation index");
    assert_rules_of_every_plan(&case, &plan, "K6 refill");
}

/// The expert's answer for each scenario (trade reference), above the approved plan.
const EXPERTS: [(&str, &str); 8] = [
    (
        "k1-hillside-cabin",
        "Pre-filter; sequestrant before any chlorine, 12 h. 1250 L, not 1310. Heat to 30, cell off. Salt 2.45-2.6 kg, bicarbonate 42-85 g, \
         3 h later flake 180 g, no base: air 20-40 min with the cover open. Hypochlorite 40 mL to 4 mg/L: pH 7.05. Cell on after the salt \
         check. Day 1, 3, 7, 10.",
    ),
    (
        "k2-harbour-studio",
        "The alkalinity, not the cell. 325 g of 93 % acid in 3-6 rounds, each kept at pH 6.9-7.1, aired to 7.8 between, nobody in: \
         alkalinity 80, pH 7.5, index -0.1. Waterfall and air off; trim to 60-70 if it still climbs. This tap cannot dilute it. Inspect the \
         cell.",
    ),
    (
        "k3-ferry-road-terrace",
        "Active chlorine 0.016 mg/L; carbonate alkalinity 31. Keep out; rash advice; doctor. Purge, drain, new cartridge, refill. Free \
         chlorine 4: 35 mL hypochlorite.",
    ),
    (
        "k4-birch-lane-refill",
        "Drained and refilled: free chlorine 4 (32 mL), check pH; open at 3-5 and pH 7.0-7.6 twice, 30 min apart.",
    ),
    (
        "k4-birch-lane-hyperchlorination",
        "After half of the water: 27 g of 93 % acid first, to end at pH 7.5; free chlorine 1 to 20: 152 mL.",
    ),
    (
        "k5-lakeside-lodge",
        "No salt: two strips and the conductivity agree, the display is wrong. Acid 18 g to pH 7.5, index +0.14; 30 min; hypochlorite 31 mL \
         to 4 mg/L. Cell: look, descale by its maker's method. Lower hardness with softer water over the weeks.",
    ),
    (
        "k6-old-mill-hotel",
        "Close. Drain, scrub, filter, refill; breakpoint is a poor buy. Acid 35 g to pH 7.3, hypochlorite 90 mL to 4: pH 7.36, alkalinity \
         138, index +0.16. Reopen by readings twice in band.",
    ),
    (
        "k6-old-mill-refill",
        "Acid 35 g to pH 7.3, hypochlorite 90 mL to 4 mg/L: pH 7.36, alkalinity 138, index +0.16.",
    ),
];

/// The whole plans as approved, in `tests/approved`. Set `TUBWRIGHT_APPROVE` to write them anew, then read the difference.
#[test]
#[allow(clippy::disallowed_methods)] // the test, unlike the core, has files
fn plans_are_as_approved() {
    let rewrite = std::env::var_os("TUBWRIGHT_APPROVE").is_some();
    let mut changed = Vec::new();
    for (name, expert) in EXPERTS {
        let (_, plan) = scenario(name);
        let text = format!("Expert: {expert}\n\n{}", page(&plan));
        let path = format!("{}/tests/approved/{name}.txt", env!("CARGO_MANIFEST_DIR"));
        if rewrite {
            std::fs::write(&path, &text).unwrap();
        } else if std::fs::read_to_string(&path).unwrap_or_default() != text {
            changed.push(text);
        }
    }
    assert!(
        changed.is_empty(),
        "not as approved (TUBWRIGHT_APPROVE=1 writes them anew):\n{}",
        changed.join("\n")
    );
}
