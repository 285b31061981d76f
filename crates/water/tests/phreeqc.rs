//! The reference cases: 60 waters solved by IPhreeqc with phreeqc.dat (see `reference/README.md`), both ways round.
//!
//! Tolerances are the project's accuracy promise: pH 0.001, saturation index 0.002, ionic strength 0.1 %,
//! log10 γ 0.0005, carbon 0.02 %.

use serde_json::Value;
use water::{Celsius, Equilibria, Ph, Speciation, Totals, species::TABLE};

fn f(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

fn load(name: &str) -> Value {
    let path = format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))).unwrap()
}

/// Largest deviations met so far, reported together.
#[derive(Default, Debug)]
struct Worst {
    ph: f64,
    carbon_percent: f64,
    calcite: f64,
    aragonite: f64,
    gypsum: f64,
    log10_co2: f64,
    strength_percent: f64,
    log10_gamma: f64,
    molality_percent: f64,
}

impl Worst {
    fn see(&mut self, at: &Equilibria, ours: &Speciation, theirs: &Value) {
        let grow = |slot: &mut f64, off: f64| *slot = slot.max(off.abs());
        grow(&mut self.ph, ours.ph().0 - f(theirs, "pH"));
        grow(&mut self.carbon_percent, 100.0 * (ours.totals.carbon / f(theirs, "dic_mol_per_kgw") - 1.0));
        grow(&mut self.strength_percent, 100.0 * (ours.ionic_strength / f(theirs, "ionic_strength") - 1.0));
        grow(&mut self.calcite, at.calcite_saturation_index(ours) - f(theirs, "si_calcite"));
        grow(&mut self.aragonite, at.aragonite_saturation_index(ours) - f(theirs, "si_aragonite"));
        grow(&mut self.gypsum, at.gypsum_saturation_index(ours) - f(theirs, "si_gypsum"));
        grow(&mut self.log10_co2, at.co2_partial_pressure_atm(ours).log10() - f(theirs, "log10_pco2_atm"));
        for (name, value) in theirs["log10_gamma"].as_object().unwrap() {
            if let Some((_, _, gamma)) = ours.species().find(|(n, ..)| n == name) {
                grow(&mut self.log10_gamma, gamma - value.as_f64().unwrap());
            }
        }
        for (name, value) in theirs["molality"].as_object().unwrap() {
            assert!(TABLE.iter().any(|s| s.name == name), "no species {name}");
            let theirs = value.as_f64().unwrap();
            if theirs > 1e-20 {
                let (_, m, _) = ours.species().find(|(n, ..)| n == name).unwrap();
                grow(&mut self.molality_percent, 100.0 * (m / theirs - 1.0));
            }
        }
    }
}

#[test]
fn sixty_waters_agree_with_the_reference_library_both_ways_round() {
    let doc = load("phreeqc_cases.json");
    let cases = doc["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 60);
    let mut worst = Worst::default();
    for case in cases {
        let m = &case["water"]["mol_per_kgw"];
        let totals = |alkalinity: f64, carbon: f64| Totals {
            alkalinity,
            carbon,
            calcium: f(m, "Ca"),
            magnesium: f(m, "Mg"),
            sodium: f(m, "Na"),
            potassium: f(m, "K"),
            chloride: f(m, "Cl"),
            sulfate: f(m, "SO4"),
            boron: f(m, "B"),
            ..Totals::default()
        };
        let at = Equilibria::at(Celsius(f(&case["water"], "t_c"))).unwrap();
        let a = &case["given_ph"];
        let ours = at
            .solve_at_ph(&totals(f(&a["input"], "alkalinity_eq_per_kgw"), 0.0), Ph(f(&a["input"], "pH")))
            .unwrap();
        worst.see(&at, &ours, &a["result"]);
        let b = &case["given_dic"];
        let ours = at
            .solve(&totals(f(&b["input"], "alkalinity_eq_per_kgw"), f(&b["input"], "dic_mol_per_kgw")))
            .unwrap();
        worst.see(&at, &ours, &b["result"]);
    }
    println!("{worst:?}");
    assert!(worst.ph <= 0.001, "{worst:?}");
    assert!(worst.carbon_percent <= 0.02, "{worst:?}");
    assert!(worst.calcite <= 0.002, "{worst:?}");
    assert!(worst.aragonite <= 0.002, "{worst:?}");
    assert!(worst.gypsum <= 0.002, "{worst:?}");
    assert!(worst.log10_co2 <= 0.001, "{worst:?}");
    assert!(worst.strength_percent <= 0.1, "{worst:?}");
    assert!(worst.log10_gamma <= 0.0005, "{worst:?}");
    assert!(worst.molality_percent <= 0.1, "{worst:?}");
}
