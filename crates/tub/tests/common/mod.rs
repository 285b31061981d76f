//! What several tests need.
#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]
#![allow(dead_code, reason = "every test program uses a part of it")]
#![allow(clippy::disallowed_methods, reason = "tests read reference data")]

use tub::{Settings, State, Tub};
use water::{Celsius, Equilibria, Ph, Totals};

/// mg/L as CaCO3 to eq/kg.
pub(crate) fn eq(mg_l: f64) -> f64 {
    water::units::eq_kg_from_mg_l_caco3(mg_l)
}

/// mg/L as Cl2 from mol/kg.
pub(crate) fn mg_cl2(mol_kg: f64) -> f64 {
    mol_kg * 70_906.0
}

/// A usual salt-water fill, closed in charge: alkalinity 80 and calcium hardness 150 mg/L as CaCO3, 1.75 g/L of salt.
pub(crate) fn fill(ph: f64, t_c: f64) -> Totals {
    let t = Totals { alkalinity: eq(80.0), calcium: 1.5e-3, chloride: 0.03, ..Totals::default() };
    let at = Equilibria::at(Celsius(t_c)).unwrap();
    at.solve_at_ph(&t.closed_with_sodium_chloride(), Ph(ph)).unwrap().totals
}

/// A thousand kilograms of it.
pub(crate) fn filled(tub: &Tub, totals: Totals, t_c: f64, settings: Settings) -> State {
    State::filled(1000.0, Celsius(t_c), totals, tub.headspace_m3, settings)
}

/// A tub in which nothing goes on: no heat is lost or made, no chlorine is used, no scale forms, no gas moves.
pub(crate) fn inert() -> Tub {
    let mut tub = Tub { heater_w: 0.0, loss_w_k: 0.0, wetted_m2: 0.0, ..Tub::default() };
    tub.demand.background_per_day = 0.0;
    tub.exchange = tub::exchange::Exchange {
        still_per_h: 0.0,
        circulation_per_h: 0.0,
        jets_per_h: 0.0,
        air_per_h: 0.0,
        air_l_min: 0.0,
        bubble_saturation: 0.0,
    };
    tub
}

pub(crate) fn ph(state: &State) -> f64 {
    state.speciation().unwrap().ph().0
}

/// A file of reference data.
pub(crate) fn reference(name: &str) -> serde_json::Value {
    let path = format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

pub(crate) fn f(v: &serde_json::Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}
