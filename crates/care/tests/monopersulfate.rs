//! Monopersulfate: the acid that it leaves, and the chlorine that it pretends to be.

mod common;

use care::estimate::estimate;
use care::finding::{Finding, Weight};
use care::plan::{Plan, StepKind};
use care::quantity::Quantity as Q;
use common::*;
use water::units::{mg_l_from_mol_kg, molar_mass};
use water::{Chemical, addition};

const DOSE: &str = "[[dose]]\nat = 2026-03-14T15:00:00Z\nproduct = \"oxidiser\"\nmass_g = 30\n";

/// An invented tub of 1000 L on an invented tap, its water in order in every other reading; all read at `at`.
fn text(regime: &str, event: &str, at: &str, readings: &[(&str, &str, f64)]) -> String {
    let mut text = format!(
        "now = {at}\n[tub]\nname = \"invented\"\nvolume_l = 1000\ntemperature_c = 38\nregime = \"{regime}\"\nplace = \"home\"\n\
         [source_water]\nname = \"tap (invented)\"\ntemperature_c = 12\nph = 7.6\ntotal_alkalinity_mg_l_caco3 = 90\n\
         calcium_hardness_mg_l_caco3 = 150\nsalt_mg_l = 30\n\
         [[shelf]]\nchemical = \"monopersulfate\"\nname = \"oxidiser\"\npurity_percent = 100\n\
         measure = {{ kind = \"scale\", smallest = 1 }}\n\
         [[shelf]]\nchemical = \"sodium-hypochlorite\"\nname = \"hypochlorite\"\navailable_chlorine_g_l = 125\n\
         measure = {{ kind = \"millilitres\", smallest = 5 }}\n{event}"
    );
    for (quantity, method, value) in readings {
        text += &format!(
            "[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nmethod = \"{method}\"\nvalue = {value:?}\n"
        );
    }
    text
}

fn plan_of(event: &str, at: &str, more: &[(&str, &str, f64)]) -> Plan {
    let well = [
        ("ph", "ph-electrode", 7.4),
        ("total_alkalinity", "drop-titration-10", 90.0),
        ("calcium_hardness", "drop-titration-10", 180.0),
        ("free_chlorine", "fas-dpd-0.2", 4.0),
    ];
    let all: Vec<_> = well.iter().chain(more).copied().collect();
    let (case, plan) = planned(&text("chlorine", event, at, &all));
    assert_rules_of_every_plan(&case, &plan, at);
    plan
}

fn doubt(plan: &Plan) -> Option<&Finding> {
    plan.findings.iter().find(|f| f.what.contains("onopersulfate"))
}

fn replaces(plan: &Plan) -> bool {
    plan.steps.iter().any(|s| s.kind == StepKind::ReplaceWater)
}

const SOON: &str = "2026-03-14T18:00:00Z";
const TWO_DAYS_LATER: &str = "2026-03-16T15:00:00Z";
const COMBINED: (&str, &str, f64) = ("combined_chlorine", "fas-dpd-0.2", 3.0);

#[test]
fn combined_chlorine_read_soon_after_monopersulfate_is_doubted_and_no_water_is_replaced_for_it() {
    assert!(replaces(&plan_of("", SOON, &[COMBINED])), "without monopersulfate water is replaced");
    let plan = plan_of(DOSE, SOON, &[COMBINED]);
    let found = doubt(&plan).expect("a finding");
    assert_eq!((found.weight, &found.quantities[..]), (Weight::Doubt, &[Q::CombinedChlorine][..]));
    // 30 g of the triple salt in 1000 L are 98 µmol/L, 6.9 mg/L as chlorine: all of the reading may be that.
    assert!(
        found.what.contains("3 h before") && found.what.contains("from 0.0 to 3.0 mg/L"),
        "{}",
        found.what
    );
    assert!(found.advice.contains("48 h") && found.advice.contains("leaflet"), "{}", found.advice);
    assert!(!replaces(&plan) && adds(&plan).next().is_none(), "{}", plan.headline);
    let tests = steps_of(&plan, StepKind::Retest);
    assert!(tests.iter().any(|s| s.why.contains("blurred by monopersulfate")), "{}", plan.headline);
    // The next look is when a reading is true again: 48 h after the dose, 3 of them gone.
    assert_eq!(plan.look_again.after_hours, 45.0);
    assert!(plan.look_again.quantities.contains(&Q::CombinedChlorine));
}

#[test]
fn total_chlorine_is_blurred_as_far_as_it_is_above_free_chlorine() {
    let total = [("total_chlorine", "fas-dpd-0.2", 6.0)];
    assert!(replaces(&plan_of("", SOON, &total)), "without monopersulfate water is replaced");
    let plan = plan_of(DOSE, SOON, &total);
    let found = doubt(&plan).expect("a finding");
    assert_eq!(found.quantities, [Q::TotalChlorine]);
    assert!(found.what.contains("from 4.0 to 6.0 mg/L"), "{}", found.what);
    assert!(!replaces(&plan), "{}", plan.headline);
    assert!((value(&plan.before, Q::CombinedChlorine) - 1.0).abs() < 0.01);
}

#[test]
fn two_days_later_the_reading_stands_and_is_acted_on() {
    let plan = plan_of(DOSE, TWO_DAYS_LATER, &[COMBINED]);
    assert!(doubt(&plan).is_none() && replaces(&plan), "{}", plan.headline);
}

#[test]
fn what_has_been_read_again_is_advised_no_more() {
    let soon = format!(
        "{DOSE}[[reading]]\nat = {SOON}\nquantity = \"combined_chlorine\"\nmethod = \"fas-dpd-0.2\"\nvalue = 3.0\n"
    );
    assert!(doubt(&plan_of(&soon, TWO_DAYS_LATER, &[])).is_some());
    let plan = plan_of(&soon, TWO_DAYS_LATER, &[("combined_chlorine", "fas-dpd-0.2", 0.2)]);
    assert!(doubt(&plan).is_none() && plan.steps.is_empty(), "{}", plan.headline);
}

/// A gram of it makes at most 0.23 mg/L: most of the reading is chlorine all the same.
#[test]
fn what_the_dose_cannot_explain_is_acted_on() {
    let plan = plan_of(&DOSE.replace("mass_g = 30", "mass_g = 1"), SOON, &[COMBINED]);
    assert!(doubt(&plan).is_some() && replaces(&plan), "{}", plan.headline);
}

/// Where monopersulfate makes bromine at once there is none left to read.
#[test]
fn a_bromine_tub_doubts_nothing() {
    let readings = [("ph", "ph-electrode", 7.4), ("total_bromine", "fas-dpd-0.2", 4.0), COMBINED];
    let case = case(&text("bromine", DOSE, SOON, &readings));
    let found = estimate(&case).expect("an estimate").findings;
    assert!(!found.iter().any(|f| f.what.contains("onopersulfate")), "{found:?}");
}

/// A fill that was dosed some days ago: what monopersulfate leaves is `water`'s own equation, and no sum is lost.
#[test]
fn settled_monopersulfate_has_left_its_acid_and_sulfate() {
    let fill = "[[event]]\nat = 2026-03-14T14:00:00Z\nkind = \"fill\"\n";
    let water =
        |event: &str, at| estimate(&case(&text("chlorine", event, at, &[]))).expect("water").water.totals;
    let dosed = format!("{fill}{DOSE}");
    let (without, fresh, settled) = (water(fill, SOON), water(&dosed, SOON), water(&dosed, TWO_DAYS_LATER));
    let mol = fresh.monopersulfate;
    assert!((mg_l_from_mol_kg(mol, molar_mass::CL2) - 6.92).abs() < 0.01, "{mol}");
    let added = addition::add(&without, Chemical::Monopersulfate, mol).expect("dosed");
    assert!((fresh.alkalinity - added.alkalinity).abs() < 1e-12);
    let used = addition::use_monopersulfate(&added, mol);
    for (name, is, was) in [
        ("alkalinity", settled.alkalinity, used.alkalinity),
        ("sulfate", settled.sulfate, used.sulfate),
        ("monopersulfate", settled.monopersulfate, 0.0),
    ] {
        assert!((is - was).abs() < 1e-12, "{name}: {is} against {was}");
    }
    assert!((without.alkalinity - settled.alkalinity - 1.5 * mol).abs() < 1e-12);
}
