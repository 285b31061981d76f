//! Scale: the reference library's kinetics, and what it takes from the water.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;

use common::{eq, f, fill, filled, inert, reference};
use tub::scale::{THRESHOLD, growth_mol_m2_s};
use tub::{Settings, Tub, follow};
use water::species::Id;
use water::{Celsius, Equilibria, Ph, Totals};

/// Calcium left after some time beside a fixed area of calcite, 15–38 °C, saturation index 0.5–1.5 at the start: within 0.2 % of
/// what was laid down when IPhreeqc integrates the same rate law (phreeqc.dat, RATES Calcite). `reference/tub_endpoints.py`.
#[test]
fn growth_goes_as_fast_as_in_the_reference_library() {
    let doc = reference("tub_endpoints.json");
    let cases = doc["calcite"].as_array().unwrap();
    assert_eq!(cases.len(), 18);
    for c in cases {
        let m = &c["mol_per_kgw"];
        let (t_c, area) = (f(c, "t_c"), f(c, "area_m2_per_kgw"));
        let at = Equilibria::at(Celsius(t_c)).unwrap();
        let water = Totals {
            alkalinity: f(c, "alkalinity_eq_per_kgw"),
            calcium: f(m, "Ca"),
            sodium: f(m, "Na"),
            chloride: f(m, "Cl"),
            ..Totals::default()
        };
        let start = at.solve_at_ph(&water, Ph(f(c, "start_pH"))).unwrap().totals;
        let laid = |x: f64| Totals {
            alkalinity: start.alkalinity - 2.0 * x,
            carbon: start.carbon - x,
            calcium: start.calcium - x,
            ..start
        };
        let rate = |x: f64| {
            let s = at.solve(&laid(x)).unwrap();
            let act = |id| 10f64.powf(s.log10_activity(id));
            let index = at.calcite_saturation_index(&s);
            area * growth_mol_m2_s(t_c, act(Id::Hydrogen), act(Id::CarbonDioxide), s.water_activity, index)
        };
        // Midpoint rule, small steps: this test has its own integration.
        let (steps, mut x) = (4000, 0.0);
        let h = f(c, "hours") * 3600.0 / f64::from(steps);
        for _ in 0..steps {
            x += h * rate(x + 0.5 * h * rate(x));
        }
        let theirs = f(m, "Ca") - f(c, "end_ca");
        assert!((x / theirs - 1.0).abs() < 2e-3, "{c}: {x:e} {theirs:e}");
    }
}

/// In the tub: nothing below the threshold; above it calcium and alkalinity go one to two (equivalents: one to one), and it
/// stops at the threshold.
#[test]
fn scale_takes_calcium_and_alkalinity_one_to_two_and_stops() {
    let tub = Tub { wetted_m2: 6.0, ..inert() };
    let quiet = filled(&tub, fill(7.6, 38.0), 38.0, Settings::default());
    assert!(quiet.calcite_saturation_index().unwrap() < THRESHOLD);
    assert_eq!(follow(&tub, &quiet, &[], &[100.0]).unwrap().end.scale_mol, 0.0);

    let hard = filled(&tub, fill(8.4, 38.0), 38.0, Settings::default());
    assert!(hard.calcite_saturation_index().unwrap() > 0.5);
    let end = follow(&tub, &hard, &[], &[500.0]).unwrap().end;
    let mol = |s: &tub::State, per_kg: f64| per_kg * s.water_kg;
    let calcium = mol(&hard, hard.totals.calcium) - mol(&end, end.totals.calcium);
    let alkalinity = mol(&hard, hard.totals.alkalinity) - mol(&end, end.totals.alkalinity);
    let carbon = mol(&hard, hard.totals.carbon) - mol(&end, end.totals.carbon);
    assert!(calcium > 1e-3 && (end.scale_mol / calcium - 1.0).abs() < 1e-6, "{end:?}");
    assert!((alkalinity / calcium - 2.0).abs() < 1e-6 && (carbon / calcium - 1.0).abs() < 1e-6);
    let index = end.calcite_saturation_index().unwrap();
    assert!((THRESHOLD - 0.001..THRESHOLD + 0.05).contains(&index), "{index}");
}

/// Aggressive water takes it up again, down to nothing and not below.
#[test]
fn aggressive_water_takes_scale_up_again() {
    let tub = Tub { wetted_m2: 6.0, ..inert() };
    let mut start = filled(&tub, fill(6.9, 38.0), 38.0, Settings::default());
    start.scale_mol = 0.02;
    let end = follow(&tub, &start, &[], &[2000.0]).unwrap().end;
    assert!((0.0..1e-4).contains(&end.scale_mol), "{}", end.scale_mol);
    assert!((end.totals.alkalinity * end.water_kg - eq(80.0) * 1000.0 - 0.04).abs() < 1e-3);
}
