//! The machine contract 5.1 against the reference library's waters (IPhreeqc; see `reference/README.md`), through the
//! built program: units, bases, additions and names included.
//!
//! Tolerances are the project's promise: pH 0.001, saturation index 0.002, ionic strength 0.1 %, log10 γ 0.0005,
//! carbon 0.02 %; carbon dioxide pressure 0.3 % (0.001 in its logarithm).

mod run;

use run::tubwright;
use serde_json::{Map, Value, json};

fn reference(name: &str) -> Value {
    let path = format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    serde_json::from_str(&text).expect("JSON")
}

fn number(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

/// The reference's totals, mol per kg, as fields of the contract: milligrams by the molar masses that the program uses.
/// `None` for a water with a component that the contract has no field for (ammonium).
fn line(id: &str, water: &Value) -> Option<Map<String, Value>> {
    let mut line = Map::new();
    line.insert("id".into(), id.into());
    line.insert("temperature_c".into(), water["t_c"].clone());
    let alkalinity = number(water, "alkalinity_eq_per_kgw") * 50_043.5;
    line.insert("total_alkalinity_mg_l_caco3".into(), alkalinity.into());
    for (component, moles) in water["mol_per_kgw"].as_object().expect("totals") {
        let (field, g_per_mol) = match component.as_str() {
            "Ca" => ("calcium_mg_l", 40.078),
            "Mg" => ("magnesium_mg_l", 24.305),
            "Na" => ("sodium_mg_l", 22.98977),
            "K" => ("potassium_mg_l", 39.0983),
            "Cl" => ("chloride_mg_l", 35.453),
            "SO4" => ("sulfate_mg_l", 96.06),
            "B" => ("boron_mg_l", 10.81),
            "free_chlorine" => ("free_chlorine_mg_l", 70.906),
            "cyanurate" => ("cyanuric_acid_mg_l", 129.07),
            "Br" => ("bromide_mg_l", 79.904),
            _ => return None,
        };
        line.insert(field.into(), (moles.as_f64().expect("a number") * g_per_mol * 1000.0).into());
    }
    Some(line)
}

/// `borax_decahydrate` there is `borax` here: a dose is in moles, so the hydrate does not matter.
fn contract_id(name: &str) -> String {
    let bare = ["_decahydrate", "_hexahydrate", "_heptahydrate", "_dihydrate"]
        .iter()
        .find_map(|hydrate| name.strip_suffix(hydrate))
        .unwrap_or(name);
    bare.replace('_', "-")
}

fn at_ph(mut line: Map<String, Value>, ph: &Value) -> Map<String, Value> {
    line.insert("ph".into(), ph.clone());
    line
}

fn at_carbon(mut line: Map<String, Value>, mol: f64) -> Map<String, Value> {
    line.insert("dic_mmol_l".into(), (mol * 1000.0).into());
    line
}

/// Worst deviations over many waters.
#[derive(Debug, Default)]
struct Worst {
    ph: f64,
    calcite: f64,
    strength_percent: f64,
    carbon_percent: f64,
    log10_pressure: f64,
    log10_gamma: f64,
    checked: usize,
}

impl Worst {
    fn see(&mut self, ours: &Value, theirs: &Value) {
        let grow = |slot: &mut f64, off: f64| *slot = slot.max(off.abs());
        let percent = |a: f64, b: f64| 100.0 * (a / b - 1.0);
        grow(&mut self.ph, number(ours, "ph") - number(theirs, "pH"));
        if let Some(index) = theirs["si_calcite"].as_f64() {
            grow(&mut self.calcite, number(ours, "calcite_saturation_index") - index);
        }
        grow(
            &mut self.strength_percent,
            percent(number(ours, "ionic_strength_mol_kg"), number(theirs, "ionic_strength")),
        );
        grow(
            &mut self.carbon_percent,
            percent(number(ours, "dic_mmol_l"), 1000.0 * number(theirs, "dic_mol_per_kgw")),
        );
        grow(
            &mut self.log10_pressure,
            number(ours, "co2_partial_pressure_atm").log10() - number(theirs, "log10_pco2_atm"),
        );
        for (name, gamma) in theirs["log10_gamma"].as_object().into_iter().flatten() {
            if let Some(ours) = ours["log10_activity_coefficient"][name].as_f64() {
                grow(&mut self.log10_gamma, ours - gamma.as_f64().expect("a number"));
            }
        }
        self.checked += 1;
    }

    fn within_the_promise(&self) {
        println!("{self:?}");
        assert!(self.ph <= 0.001, "{self:?}");
        assert!(self.calcite <= 0.002, "{self:?}");
        assert!(self.strength_percent <= 0.1, "{self:?}");
        assert!(self.carbon_percent <= 0.02, "{self:?}");
        assert!(self.log10_pressure <= 0.0013, "{self:?}");
        assert!(self.log10_gamma <= 0.0005, "{self:?}");
    }
}

/// Feeds all lines at once and holds each answer against what the reference has for it.
fn check(lines: Vec<(Map<String, Value>, &Value)>) -> Worst {
    let text: Vec<String> = lines.iter().map(|(l, _)| Value::from(l.clone()).to_string()).collect();
    let run = tubwright(&["water", "-", "--json"]).fed(text.join("\n").as_bytes()).run();
    let wrong = run.out.lines().find(|l| l.contains("\"error\""));
    assert_eq!((run.code, wrong), (0, None), "{}", run.err);
    let answers: Vec<Value> = run.out.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    assert_eq!(answers.len(), lines.len());
    let mut worst = Worst::default();
    for ((line, theirs), ours) in lines.iter().zip(&answers) {
        assert_eq!(line["id"], ours["id"], "the order is kept");
        worst.see(ours, theirs);
    }
    worst
}

#[test]
fn sixty_waters_of_the_reference_library_come_back_both_ways() {
    let doc = reference("phreeqc_cases.json");
    let mut lines = Vec::new();
    for case in doc["cases"].as_array().expect("cases") {
        let water = line(case["id"].as_str().expect("an id"), &case["water"]).expect("plain waters");
        lines.push((at_ph(water.clone(), &case["given_ph"]["input"]["pH"]), &case["given_ph"]["result"]));
        let carbon = number(&case["given_dic"]["input"], "dic_mol_per_kgw");
        lines.push((at_carbon(water, carbon), &case["given_dic"]["result"]));
    }
    let worst = check(lines);
    assert_eq!(worst.checked, 120);
    worst.within_the_promise();
}

#[test]
fn doses_to_waters_with_chlorine_and_cyanurate_agree_with_the_extended_reference() {
    let doc = reference("phreeqc_extended.json");
    let mut lines = Vec::new();
    for case in doc["cases"].as_array().expect("cases") {
        let Some(water) = line(case["id"].as_str().expect("an id"), &case["water"]) else { continue };
        let ph = &case["given_ph"]["result"]["pH"];
        lines.push((at_ph(water.clone(), ph), &case["given_ph"]["result"]));
        let carbon = number(&case["given_ph"]["result"], "dic_mol_per_kgw");
        for dose in case["doses"].as_array().expect("doses") {
            let mut dosed = at_carbon(water.clone(), carbon);
            let chemical = contract_id(dose["chemical"].as_str().expect("a name"));
            let addition = json!([{ "chemical": chemical, "mmol_l": dose["mmol_per_kgw"] }]);
            dosed.insert("additions".into(), addition);
            lines.push((dosed, &dose["result"]));
        }
    }
    let worst = check(lines);
    assert!(worst.checked > 250, "{worst:?}");
    worst.within_the_promise();
}
