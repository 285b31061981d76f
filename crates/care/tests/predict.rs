//! What if: the prediction is the plan's own where both speak of the same amounts, and nature holds.

mod common;

use care::estimate::{Stands, readings_of};
use care::plan::{Snapshot, StepKind};
use care::predict::{PredictError, predict};
use care::quantity::Quantity as Q;
use common::{SCENARIOS, case, planned};

fn value(s: &Snapshot, q: Q) -> f64 {
    s.quantities.iter().find(|e| e.quantity == q).map_or(f64::NAN, |e| e.value)
}

fn error(s: &Snapshot, q: Q) -> f64 {
    s.quantities.iter().find(|e| e.quantity == q).map_or(f64::NAN, |e| e.standard_error)
}

/// Two roads to one water: the planner's steps, one after another, and everything at once. They meet because totals add.
#[test]
fn all_of_a_plan_at_once_is_the_water_that_the_plan_foretells() {
    let mut compared = 0;
    for (name, text) in SCENARIOS {
        let (case, plan) = planned(text);
        let by_doses_alone =
            plan.steps.iter().all(|s| !matches!(s.kind, StepKind::ReplaceWater | StepKind::LeaveOpen));
        let doses: Vec<(usize, f64)> = plan
            .steps
            .iter()
            .filter_map(|s| {
                let index = case.shelf.iter().position(|p| Some(&p.name) == s.product.as_ref())?;
                Some((index, s.mass_g?))
            })
            .collect();
        if !by_doses_alone || doses.is_empty() {
            continue;
        }
        let foretold = predict(&case, &doses).unwrap();
        let last = &plan.steps.last().unwrap().water_after;
        for q in [Q::Ph, Q::FreeChlorine, Q::TotalAlkalinity, Q::CalciumHardness, Q::Salt, Q::SaturationIndex]
        {
            if value(last, q).is_nan() {
                continue;
            }
            let (a, b) = (value(&foretold.after, q), value(last, q));
            assert!((a - b).abs() <= 1e-6 * (1.0 + b.abs()), "{name}: {} is {a}, the plan says {b}", q.id());
        }
        // The errors too: one formula, written twice.
        let (a, b) = (error(&foretold.after, Q::Ph), error(last, Q::Ph));
        assert!((a - b).abs() < 0.02, "{name}: error of pH {a}, the plan says {b}");
        compared += 1;
    }
    assert!(compared >= 3, "only {compared} scenarios are by doses alone");
}

const SMALL: &str = r#"
now = "2026-03-01T12:00:00Z"
[tub]
volume_l = 1000
regime = "chlorine"
[[shelf]]
chemical = "sodium-bisulfate"
name = "dry acid"
[[reading]]
at = "2026-03-01T08:00:00Z"
quantity = "ph"
value = 8.2
[[reading]]
at = "2026-03-01T11:50:00Z"
quantity = "ph"
value = 7.8
[[reading]]
at = "2026-03-01T11:50:00Z"
quantity = "total_alkalinity"
value = 120
[[reading]]
at = "2026-03-01T11:51:00Z"
quantity = "free_chlorine"
method = "dpd-photometer"
value = 3.0
[[reading]]
at = "2026-03-01T11:52:00Z"
quantity = "free_chlorine"
method = "dpd-comparator"
value = 3
[[reading]]
at = "2026-03-01T11:53:00Z"
quantity = "free_chlorine"
method = "laboratory"
value = 9
"#;

#[test]
fn nothing_added_changes_nothing_and_acid_lowers_ph() {
    let case = case(SMALL);
    let none = predict(&case, &[]).unwrap();
    assert_eq!(value(&none.before, Q::Ph), value(&none.after, Q::Ph));
    let mut last = value(&none.after, Q::Ph);
    for grams in [5.0, 20.0, 60.0] {
        let ph = value(&predict(&case, &[(0, grams)]).unwrap().after, Q::Ph);
        assert!(ph < last, "{grams} g: {ph} after {last}");
        last = ph;
    }
    // In twice the water the same grams do about half.
    let mut large = case.clone();
    large.tub.volume_l *= 2.0;
    let fall = |c| {
        let p = predict(c, &[(0, 20.0)]).unwrap();
        value(&p.before, Q::TotalAlkalinity) - value(&p.after, Q::TotalAlkalinity)
    };
    let ratio = fall(&case) / fall(&large);
    assert!((ratio - 2.0).abs() < 0.02, "{ratio}");
}

#[test]
fn what_cannot_be_is_refused_with_its_numbers() {
    let case = case(SMALL);
    let wrong = predict(&case, &[(7, 1.0)]).unwrap_err();
    assert!(matches!(wrong, PredictError::NoSuchProduct { index: 7, count: 1 }));
    assert!(predict(&case, &[(0, -1.0)]).unwrap_err().to_string().contains("-1 g of dry acid"));
    assert!(predict(&case, &[(0, f64::NAN)]).is_err());
    let drowned = predict(&case, &[(0, 9e6)]).unwrap_err().to_string();
    assert!(drowned.contains("what can be computed"), "{drowned}");
}

#[test]
fn each_reading_says_whether_it_counts() {
    let case = case(SMALL);
    let ph: Vec<Stands> = readings_of(&case, Q::Ph).unwrap().iter().map(|t| t.stands).collect();
    assert_eq!(ph, [Stands::Superseded, Stands::Used]);
    let chlorine: Vec<Stands> =
        readings_of(&case, Q::FreeChlorine).unwrap().iter().map(|t| t.stands).collect();
    assert_eq!(chlorine, [Stands::Used, Stands::Used, Stands::Contradicted]);
}
