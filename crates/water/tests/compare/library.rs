//! The reference library: PHREEQC with phreeqc.dat, and PyCO2SYS with PHREEQC's constants (`reference/README.md`).

use super::{Section, Worst, f, json, list, reference_file, text, totals};
use serde_json::Value;
use water::{
    Celsius, Chemical, Equilibria, Ph, Speciation, Totals, addition, species::TABLE,
    units::mg_l_caco3_from_eq_kg, units::molar_mass,
};

/// What the two solvers are compared in.
#[derive(Default)]
struct Solved {
    ph: Worst,
    carbon: Worst,
    calcite: Worst,
    aragonite: Worst,
    gypsum: Worst,
    co2: Worst,
    strength: Worst,
    water: Worst,
    gamma: Worst,
    carbonate_species: Worst,
    halogen_species: Worst,
}

/// Species of the halogens and of cyanurate: named apart, since they are what the extension adds.
fn is_halogen(name: &str) -> bool {
    name.contains("Cy") || name.contains("OCl")
}

impl Solved {
    fn see(&mut self, id: &str, at: &Equilibria, ours: &Speciation, theirs: &Value) {
        self.ph.see(id, ours.ph().0 - f(theirs, "pH"));
        self.carbon.see_percent(id, ours.totals.carbon, f(theirs, "dic_mol_per_kgw"));
        self.strength.see_percent(id, ours.ionic_strength, f(theirs, "ionic_strength"));
        if let Some(activity) = theirs["water_activity"].as_f64() {
            self.water.see(id, ours.water_activity - activity);
        }
        for (worst, key, index) in [
            (&mut self.calcite, "si_calcite", at.calcite_saturation_index(ours)),
            (&mut self.aragonite, "si_aragonite", at.aragonite_saturation_index(ours)),
            (&mut self.gypsum, "si_gypsum", at.gypsum_saturation_index(ours)),
        ] {
            if let Some(theirs) = theirs[key].as_f64() {
                worst.see(id, index - theirs);
            }
        }
        self.co2.see(id, at.co2_partial_pressure_atm(ours).log10() - f(theirs, "log10_pco2_atm"));
        let find = |name: &str| {
            assert!(TABLE.iter().any(|s| s.name == name), "no species {name}");
            ours.species().find(|(n, ..)| *n == name).unwrap_or_else(|| panic!("{id}: {name} is absent"))
        };
        for (name, value) in theirs["log10_gamma"].as_object().expect("log10_gamma is an object") {
            // The cases of the first file list coefficients of absent species too.
            if theirs["molality"].get(name).and_then(Value::as_f64).is_some_and(|m| m > 0.0) {
                self.gamma.see(&format!("{id} {name}"), find(name).2 - value.as_f64().expect("a number"));
            }
        }
        for (name, value) in theirs["molality"].as_object().expect("molality is an object") {
            let theirs = value.as_f64().expect("a number");
            let bromide_set_aside = name == "Br-" && ours.totals.inert_anion > 0.0;
            if theirs <= 1e-20 || bromide_set_aside {
                continue;
            }
            let worst =
                if is_halogen(name) { &mut self.halogen_species } else { &mut self.carbonate_species };
            worst.see_percent(&format!("{id} {name}"), find(name).1, theirs);
        }
    }

    fn section(self, title: &'static str, source: &'static str, halogens: bool) -> Section {
        const SAME: &str =
            "same constants and activity model, so only the solving and the printed digits can differ";
        let mut rows = vec![
            self.ph.row("pH", (0.001, "pH", SAME)),
            self.carbon.row("dissolved inorganic carbon", (0.02, "%", SAME)),
            self.calcite.row("saturation index of calcite", (0.002, "", SAME)),
            self.aragonite.row("saturation index of aragonite", (0.002, "", SAME)),
            self.gypsum.row("saturation index of gypsum", (0.002, "", SAME)),
            self.co2.row("log10 of carbon dioxide pressure", (0.001, "", SAME)),
            self.strength.row("ionic strength", (0.1, "%", SAME)),
            self.water.row("activity of water", (1e-5, "", SAME)),
            self.gamma.row("log10 of activity coefficients", (0.0005, "", SAME)),
            self.carbonate_species
                .row("molality of every other species above 1e-20 mol/kg", (0.1, "%", SAME)),
        ];
        if halogens {
            rows.push(self.halogen_species.row(
                "molality of every hypochlorite and cyanurate species",
                (0.5, "%", "as above; here Cl2(aq) and bromine chemistry exist, there they do not"),
            ));
        }
        Section { title, source, rows }
    }
}

fn equilibria(t_c: f64) -> Equilibria {
    Equilibria::at(Celsius(t_c)).expect("a reference case is in range")
}

/// The 60 reference waters, both ways round.
pub(crate) fn reference_waters() -> Section {
    let doc = json(reference_file!("phreeqc_cases.json"));
    let cases = list(&doc, "cases");
    assert_eq!(cases.len(), 60);
    let mut seen = Solved::default();
    for case in cases {
        let at = equilibria(f(&case["water"], "t_c"));
        both_ways(&mut seen, &at, case, |alkalinity, carbon| {
            totals(&case["water"]["mol_per_kgw"], alkalinity, carbon)
        });
    }
    seen.section("60 tub waters, from pH to carbon and from carbon to pH", LIBRARY, false)
}

const LIBRARY: &str = "IPhreeqc with phreeqc.dat (U.S. Geological Survey; Parkhurst & Appelo), as shipped with phreeqpython 1.6.2; \
    `reference/phreeqc_cases.json`, 5-40 °C";

fn both_ways(seen: &mut Solved, at: &Equilibria, case: &Value, totals: impl Fn(f64, f64) -> Totals) {
    let id = text(case, "id");
    let alkalinity = case["water"]["alkalinity_eq_per_kgw"].as_f64();
    for key in ["given_ph", "given_dic"] {
        let (input, result) = (&case[key]["input"], &case[key]["result"]);
        let alkalinity = alkalinity.unwrap_or_else(|| f(input, "alkalinity_eq_per_kgw"));
        let ours = match input.get("pH").filter(|_| key == "given_ph") {
            Some(ph) => at.solve_at_ph(&totals(alkalinity, 0.0), Ph(ph.as_f64().expect("a number"))),
            None => at.solve(&totals(alkalinity, f(input, "dic_mol_per_kgw"))),
        };
        seen.see(id, at, &ours.unwrap_or_else(|e| panic!("{id}: {e}")), result);
    }
}

/// Waters with chlorine, cyanurate, borate, ammonium and bromide, and 180 doses made by our own additions.
pub(crate) fn extended_waters() -> [Section; 2] {
    let doc = json(reference_file!("phreeqc_extended.json"));
    let cases = list(&doc, "cases");
    assert_eq!(cases.len(), 120);
    let (mut waters, mut doses) = (Solved::default(), Solved::default());
    let mut after = Worst::default();
    let mut dose_count = 0;
    for case in cases {
        let (id, water) = (text(case, "id"), &case["water"]);
        let at = equilibria(f(water, "t_c"));
        let mol = &water["mol_per_kgw"];
        both_ways(&mut waters, &at, case, |alkalinity, carbon| totals(mol, alkalinity, carbon));
        let before =
            totals(mol, f(water, "alkalinity_eq_per_kgw"), f(&case["given_dic"]["input"], "dic_mol_per_kgw"));
        for dose in list(case, "doses") {
            dose_count += 1;
            let name = text(dose, "chemical");
            let id = format!("{id} + {name}");
            let dosed = addition::add(&before, chemical(name), f(dose, "mmol_per_kgw") / 1000.0)
                .unwrap_or_else(|e| panic!("{id}: {e}"));
            let given = &dose["after"];
            let theirs =
                totals(&given["mol_per_kgw"], f(given, "alkalinity_eq_per_kgw"), f(given, "dic_mol_per_kgw"));
            for (ours, theirs) in dosed.to_array().into_iter().zip(theirs.to_array()) {
                after.see(&id, ours - theirs);
            }
            let ours = at.solve(&without_bromine_chemistry(&dosed)).unwrap_or_else(|e| panic!("{id}: {e}"));
            doses.see(&id, &at, &ours, &dose["result"]);
        }
    }
    assert_eq!(dose_count, 180);
    let waters = waters.section(
        "120 waters with chlorine, cyanurate, borate, ammonium or bromide, both ways",
        EXTENDED,
        true,
    );
    let mut doses = doses.section("180 doses to those waters, dosed by our own additions", EXTENDED, true);
    doses.rows.push(after.row(
        "every total after the dose",
        (1e-11, "mol/kg", "stoichiometry is exact; the file holds twelve digits"),
    ));
    [waters, doses]
}

/// The engine's input knows no hypobromous acid: there chlorine leaves bromide alone, while here it takes its place (and
/// the pH then differs by 0.003). Where both are present bromide is counted as an ion without chemistry.
fn without_bromine_chemistry(t: &Totals) -> Totals {
    if t.free_chlorine > 0.0 {
        Totals { bromide: 0.0, inert_anion: t.inert_anion + t.bromide, ..*t }
    } else {
        *t
    }
}

const EXTENDED: &str = "the same engine with hypochlorite and cyanurate added (constants and citations in `reference/tub_phreeqc.py`); \
    `reference/phreeqc_extended.json`, 5-45 °C. Bromine chemistry, \
    which the engine's input lacks, is switched off where chlorine meets bromide";

/// The chemical that a dose of the reference file means (hydrates are the same mole).
fn chemical(name: &str) -> Chemical {
    let id = name.replace('_', "-");
    let known = Chemical::from_id(&id).or_else(|| match id.rsplit_once('-') {
        Some((stem, "dihydrate" | "pentahydrate" | "hexahydrate" | "heptahydrate" | "decahydrate")) => {
            Chemical::from_id(stem)
        }
        _ => None,
    });
    known.unwrap_or_else(|| panic!("no chemical {name}"))
}

/// What 10 mg/kg of each substance does to one standard water, at 25 and 38 °C, and after its chlorine is used.
pub(crate) fn dose_table() -> Section {
    let doc = json(reference_file!("phreeqc_dose_table.json"));
    let rows = list(&doc, "rows");
    assert_eq!(rows.len(), 27);
    let mut ph = Worst::default();
    let mut index = Worst::default();
    let mut alkalinity = Worst::default();
    let mut chlorine = Worst::default();
    let mut after_use = Worst::default();
    for t_c in [25, 38] {
        let at = equilibria(f64::from(t_c));
        let base = &doc["base"][format!("{t_c}c")];
        let water = totals(
            &doc["water"]["mol_per_kgw"],
            f(&doc["water"], "alkalinity_eq_per_kgw"),
            f(base, "dic_mol_per_kgw"),
        );
        let solve = |t: &Totals| at.solve(t).expect("a dosed standard water solves");
        let before = solve(&water);
        let (ph_0, index_0) = (before.ph().0, at.calcite_saturation_index(&before));
        for row in rows {
            let name = text(row, "chemical");
            let mol = f(row, "mg_per_kgw") / 1000.0 / f(row, "molar_mass_g_mol");
            let Some(dosed) = dosed(&water, name, mol) else { continue };
            let id = format!("{name} at {t_c} °C");
            let solved = solve(&dosed);
            ph.see(&id, solved.ph().0 - ph_0 - f(row, &format!("ph_change_{t_c}c")));
            index.see(
                &id,
                at.calcite_saturation_index(&solved) - index_0 - f(row, &format!("si_calcite_change_{t_c}c")),
            );
            alkalinity.see(
                &id,
                mg_l_caco3_from_eq_kg(dosed.alkalinity - water.alkalinity)
                    - f(row, "alkalinity_change_mg_caco3"),
            );
            chlorine
                .see(&id, dosed.free_chlorine * 1000.0 * molar_mass::CL2 - f(row, "free_chlorine_mg_cl2"));
            if let Some(theirs) = row[format!("ph_change_after_use_{t_c}c")].as_f64() {
                let used = addition::use_chlorine(&dosed, dosed.free_chlorine);
                after_use.see(&id, solve(&used).ph().0 - ph_0 - theirs);
            }
        }
    }
    const DIGITS: &str = "same constants; the file prints five decimals, two pH are subtracted";
    Section {
        title: "What 10 mg/kg of each of 25 substances does to a standard water, at 25 and 38 °C",
        source: "the same engine; `reference/phreeqc_dose_table.json` (sulfuric acid and lithium hypochlorite are not on our shelf)",
        rows: vec![
            ph.row("change of pH", (0.001, "pH", DIGITS)),
            index.row("change of the saturation index", (0.002, "", DIGITS)),
            alkalinity.row(
                "change of alkalinity",
                (0.001, "mg/L CaCO3", "printed to four decimals; exact stoichiometry"),
            ),
            chlorine.row("free chlorine", (0.001, "mg/L", "printed to four decimals; exact stoichiometry")),
            after_use.row("change of pH once the chlorine is used up", (0.001, "pH", DIGITS)),
        ],
    }
}

/// Totals after a dose of the table; `None` for the two substances that are not on the shelf.
fn dosed(water: &Totals, name: &str, mol: f64) -> Option<Totals> {
    let add = |chemical, mol| addition::add(water, chemical, mol).expect("a dose");
    match name {
        "sulfuric_acid" | "lithium_hypochlorite" => None,
        // The file counts a whole triple salt, two active peroxymonosulfates.
        "peroxymonosulfate_unreacted" => Some(add(Chemical::Monopersulfate, 2.0 * mol)),
        "peroxymonosulfate_reduced" => {
            let t = add(Chemical::Monopersulfate, 2.0 * mol);
            Some(addition::use_monopersulfate(&t, t.monopersulfate))
        }
        _ => Some(add(chemical(name), mol)),
    }
}

/// Carbonate(-borate) waters by an independent solver.
pub(crate) fn independent_carbonate_solver() -> Section {
    let doc = json(reference_file!("co2sys_cases.json"));
    let cases = list(&doc, "cases");
    assert_eq!(cases.len(), 20);
    let mut ph = Worst::default();
    let mut species = Worst::default();
    for case in cases {
        let id = text(case, "id");
        let at = equilibria(f(case, "t_c"));
        let t = totals(&case["mol_per_kgw"], f(case, "alkalinity_eq_per_kgw"), f(case, "dic_mol_per_kgw"));
        let ours = at.solve(&t).unwrap_or_else(|e| panic!("{id}: {e}"));
        ph.see(id, ours.ph().0 - f(case, "pH"));
        for (name, key) in
            [("CO2", "co2_mol_per_kgw"), ("HCO3-", "hco3_mol_per_kgw"), ("CO3-2", "co3_mol_per_kgw")]
        {
            let (_, m, _) = ours.species().find(|(n, ..)| *n == name).expect("carbonate is there");
            species.see_percent(&format!("{id} {name}"), m, f(case, key));
        }
    }
    const WHY: &str = "its constants were set to PHREEQC's with PHREEQC's activity coefficients: checks the solving, not the constants";
    Section {
        title: "20 potassium bicarbonate waters, some with borate",
        source: "PyCO2SYS 1.8.3.4, an independent carbonate solver; `reference/co2sys_cases.json`",
        rows: vec![
            ph.row("pH", (0.0005, "pH", WHY)),
            species.row("carbon dioxide, bicarbonate, carbonate", (0.1, "%", WHY)),
        ],
    }
}
