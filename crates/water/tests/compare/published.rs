//! Printed tables and worked examples (`reference/published/`): handbooks, standards, papers, utilities' own analyses.

use super::{Line, Row, Section, Table, Worst, chlorine, cyanurate, number, percent, reference_file};
use water::conductivity::specific_conductance_25c_us_cm;
use water::units::{
    eq_kg_from_mg_l_caco3, hardness_mg_l_caco3_from_mol_kg, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg,
    mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass,
};
use water::{
    Celsius, Chemical, Equilibria, Ph, Speciation, Totals, addition, chlorine::protonated_fraction, constants,
};

fn equilibria(t_c: f64) -> Equilibria {
    Equilibria::at(Celsius(t_c)).expect("a published water is in range")
}

/// All of them, in the order of the page.
pub(crate) fn sections() -> Vec<Section> {
    vec![
        halogen_fractions(),
        chlorine_and_cyanurate(),
        dichlor_example(),
        calcite_standard_1995(),
        calcite_standard_2012(),
        saturation_examples(),
        saturation_factors(),
        tap_waters(),
        dose_tables(),
    ]
}

/// Shares of hypochlorous and hypobromous acid.
pub(crate) fn halogen_fractions() -> Section {
    let share = |acid, ph, t| {
        100.0 * protonated_fraction(acid, Ph(ph), Celsius(t)).expect("a table's temperature is in range")
    };
    let mut rows: Vec<Row> = Table::parse(reference_file!("published/hocl_fraction_mahc.csv"))
        .lines()
        .map(|l| {
            let (halogen, ph) = (l.text("halogen"), l.number("ph"));
            let acid = match halogen {
                "chlorine" => &constants::HYPOCHLOROUS,
                _ => &constants::HYPOBROMOUS,
            };
            number(
                format!("{halogen} in acid form at pH {ph:.1}, % (Model Aquatic Health Code)"),
                l.number("percent_acid_form"),
                share(acid, ph, 25.0),
                1,
                (
                    l.number("tolerance_percentage_points"),
                    "points",
                    "whole percent, no temperature printed; its pKa are 7.59 and 8.69, ours 7.54 and 8.65",
                ),
            )
        })
        .collect();
    let mut worst = Worst::default();
    for l in Table::parse(reference_file!("published/hocl_fraction_morris.csv")).lines() {
        for (ph, printed) in l.columns("ph_") {
            let t = l.number("t_c");
            worst.see(&format!("{t} °C, pH {ph}"), share(&constants::HYPOCHLOROUS, ph, t) - printed);
        }
    }
    rows.push(worst.row(
        "HOCl share at 5-40 °C, pH 6.5-8.4 (table from Morris 1966)",
        (0.06, "points", "the same equation, printed to one decimal: a check of the arithmetic"),
    ));
    Section {
        title: "Acid share of free chlorine and bromine",
        source: "US CDC, Model Aquatic Health Code, Annex 5.7.3.1.2.2 (read); Morris 1966, J. Phys. Chem. 70:3798 (equation from memory)",
        rows,
    }
}

/// A water of nothing but chlorine and cyanurate at a pH.
fn stabilised(t_c: f64, ph: f64, free_chlorine: f64, cyanurate: f64) -> Speciation {
    let t = Totals { free_chlorine, cyanurate, ..Totals::default() };
    equilibria(t_c).with_alkalinity_of(&t, Ph(ph)).expect("chlorine and cyanurate solve")
}

/// HOCl and OCl- beside cyanurate.
pub(crate) fn chlorine_and_cyanurate() -> Section {
    const DIGITS: f64 = 0.00005;
    let (mut acid, mut ion) = (Worst::default(), Worst::default());
    for l in Table::parse(reference_file!("published/chlorine_cyanurate_table.csv")).lines() {
        let (t, ph, fc, cya) =
            (l.number("t_c"), l.number("ph"), l.number("free_chlorine_mg_l"), l.number("cyanuric_acid_mg_l"));
        let s = stabilised(t, ph, chlorine(fc), cyanurate(cya));
        let id = format!("{t} °C, pH {ph}, {fc} and {cya} mg/L");
        for (worst, ours, printed) in [
            (&mut acid, s.hypochlorous_mol_kg(), l.number("hocl_mg_l")),
            (&mut ion, s.hypochlorite_mol_kg(), l.number("ocl_mg_l")),
        ] {
            // What is left once the last printed digit is allowed for.
            let off = (mg_l_from_mol_kg(ours, molar_mass::CL2) - printed).abs();
            let digit = if printed < 0.2 { DIGITS } else { 10.0 * DIGITS };
            worst.see(&id, 100.0 * (off - digit).max(0.0) / printed);
        }
    }
    Section {
        title: "Hypochlorous acid and hypochlorite beside cyanurate, 25 and 38 °C",
        source: "table derived from Wahman 2018, Wahman & Alexander 2019, O'Brien, Morris & Butler 1974 and Morris 1966; \
            `reference/published/chlorine_cyanurate_table.csv`. Above 35 °C extrapolated",
        rows: vec![
            acid.row("HOCl, beyond the last printed digit", (1.0, "%", "small species left out of the table")),
            ion.row(
                "OCl-, beyond the last printed digit",
                (2.0, "%", "the table is at zero ionic strength, ours at that of the ions themselves (up to 0.0004: 2 % in each γ)"),
            ),
        ],
    }
}

/// The worked example of a dichlor dose.
pub(crate) fn dichlor_example() -> Section {
    let rows = Table::parse(reference_file!("published/cyanurate_example.csv"))
        .lines()
        .map(|l| {
            let dose = chlorine(l.number("total_chlorine_mg_l_cl2")) / Chemical::Dichlor.active_chlorine();
            let water = addition::add(&Totals::default(), Chemical::Dichlor, dose).expect("a dose");
            let s = equilibria(l.number("t_c"))
                .with_alkalinity_of(&water, Ph(l.number("ph")))
                .expect("the example solves");
            percent(
                format!("free chlorine not held by cyanurate at {} °C, mg/L", l.text("t_c")),
                l.number("printed_hocl_plus_ocl_mg_l_cl2"),
                mg_l_from_mol_kg(s.hypochlorous_mol_kg() + s.hypochlorite_mol_kg(), molar_mass::CL2),
                3,
                (
                    l.number("tolerance_percent"),
                    "printed to two digits; the paper's ionic strength is not in its abstract, ours is that of the dose",
                ),
            )
        })
        .collect();
    Section {
        title: "2 mg/L of chlorine dosed as dichlor at pH 7.0",
        source: "Wahman & Alexander 2019, Environ. Eng. Sci. 36:283 (abstract read)",
        rows,
    }
}

/// Totals of a line in mmol/L (taken as mmol/kg, as the standard does).
fn in_mmol(l: &Line<'_>) -> Totals {
    let mmol = |column: &str| l.number(column) / 1000.0;
    Totals {
        calcium: mmol("ca"),
        magnesium: mmol("mg"),
        sodium: mmol("na"),
        potassium: mmol("k"),
        chloride: mmol("cl"),
        inert_anion: mmol("no3"),
        sulfate: mmol("so4"),
        ..Totals::default()
    }
}

/// Calcite that brings a closed water to balance, mol/kg (positive dissolves), and the water then.
fn calcite_balance(at: &Equilibria, t: &Totals) -> (f64, Speciation) {
    let calcite = Totals { calcium: 1.0, carbon: 1.0, alkalinity: 2.0, ..Totals::default() };
    let after = |d: f64| at.solve(&t.plus(&calcite, d)).expect("a water with calcite solves");
    let (mut low, mut high) = (-0.9 * t.calcium.min(t.carbon), 2e-3);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if at.calcite_saturation_index(&after(middle)) > 0.0 { high = middle } else { low = middle }
    }
    let d = 0.5 * (low + high);
    (d, after(d))
}

/// Closed temperature change, then calcite balance.
pub(crate) fn calcite_standard_1995() -> Section {
    const OLD: &str = "the standard has older constants; the reference library differs as much";
    let mut rows = Vec::new();
    for l in Table::parse(reference_file!("published/din_38404_10_1995.csv")).lines() {
        let t = Totals { carbon: l.number("dic") / 1000.0, ..in_mmol(&l) };
        let sampled = equilibria(l.number("t_c"))
            .with_alkalinity_of(&t, Ph(l.number("ph")))
            .expect("an example solves");
        let at = equilibria(l.number("t_rating_c"));
        let rated = at.solve(&sampled.totals).expect("an example solves");
        let (d, balanced) = calcite_balance(&at, &rated.totals);
        let id = l.text("id");
        rows.extend([
            number(
                format!("water {id}: pH after the change of temperature"),
                l.number("printed_ph"),
                rated.ph().0,
                2,
                (0.02, "pH", OLD),
            ),
            number(
                format!("water {id}: pH in balance with calcite"),
                l.number("printed_ph_c"),
                balanced.ph().0,
                2,
                (0.03, "pH", OLD),
            ),
            number(
                format!("water {id}: saturation index"),
                l.number("printed_si"),
                at.calcite_saturation_index(&rated),
                2,
                (0.04, "", OLD),
            ),
            number(
                format!("water {id}: calcite dissolved, mmol/L"),
                l.number("printed_d"),
                1000.0 * d,
                2,
                (0.04, "mmol/L", OLD),
            ),
        ]);
    }
    Section {
        title: "Five waters of the German calcite standard, 1995",
        source: "DIN 38404-10 (April 1995), table 6, as republished on a general hydrochemistry program's validation pages (read)",
        rows,
    }
}

/// The water of a German analysis: alkalinity is the acid capacity to pH 4.3 less 0.05 mmol/L of acid left over, as the
/// standard has it. (By equilibrium bicarbonate is left over as well if the sample keeps its carbon dioxide, so that the two
/// nearly cancel in a hard water; the published results follow the convention, so this does.)
fn from_acid_capacity(at: &Equilibria, ions: &Totals, l: &Line<'_>, column: &str) -> Speciation {
    let alkalinity = l.number(column) / 1000.0 - 0.05e-3;
    at.solve_at_ph(&Totals { alkalinity, ..*ions }, Ph(l.number("ph"))).expect("a published water solves")
}

/// From the acid capacity to pH 4.3 to the water, then calcite balance.
pub(crate) fn calcite_standard_2012() -> Section {
    const WHY: &str = "other activity model; the reference library differs by 0.5 %, 0.013 pH, 0.5 % at most";
    let mut rows = Vec::new();
    for l in Table::parse(reference_file!("published/din_38404_10_2012.csv")).lines() {
        let at = equilibria(l.number("t_c"));
        let s = from_acid_capacity(&at, &in_mmol(&l), &l, "acid_capacity_4_3");
        let (_, balanced) = calcite_balance(&at, &s.totals);
        let id = l.text("id");
        rows.extend([
            percent(
                format!("water {id}: ionic strength, mmol/L"),
                l.number("printed_ionic_strength"),
                1000.0 * s.ionic_strength,
                2,
                (1.0, WHY),
            ),
            number(
                format!("water {id}: pH in balance with calcite"),
                l.number("printed_ph_c"),
                balanced.ph().0,
                2,
                (0.03, "pH", WHY),
            ),
            percent(
                format!("water {id}: inorganic carbon, mmol/L"),
                l.number("printed_dic"),
                1000.0 * s.totals.carbon,
                2,
                (1.0, WHY),
            ),
        ]);
    }
    Section {
        title: "Four waters of the German calcite standard, 2012, from their acid capacity to pH 4.3",
        source: "DIN 38404-10 (December 2012), table 4, as republished on the same pages (read)",
        rows,
    }
}

/// A water of calcium hardness and alkalinity (mg/L CaCO3), filled up with sodium chloride to its dissolved solids.
fn hard_water(hardness: f64, alkalinity: f64, tds: f64) -> Totals {
    let calcium = mol_kg_from_hardness_mg_l_caco3(hardness);
    let alkalinity = eq_kg_from_mg_l_caco3(alkalinity);
    let t = Totals { alkalinity, calcium, ..Totals::default() }.closed_with_sodium_chloride();
    let solids = mg_l_from_mol_kg(t.calcium, molar_mass::CA)
        + mg_l_from_mol_kg(t.sodium, molar_mass::NA)
        + mg_l_from_mol_kg(t.chloride, molar_mass::CL)
        + 61.017 * 1000.0 * alkalinity; // bicarbonate
    let salt = mol_kg_from_mg_l((tds - solids).max(0.0), molar_mass::NACL);
    t.plus(&Chemical::SodiumChloride.per_mole(), salt)
}

fn calcite_index(t_c: f64, ph: f64, t: &Totals) -> f64 {
    let at = equilibria(t_c);
    at.calcite_saturation_index(&at.solve_at_ph(t, Ph(ph)).expect("a worked example solves"))
}

/// Worked saturation-index examples.
pub(crate) fn saturation_examples() -> Section {
    let rows = Table::parse(reference_file!("published/saturation_index_examples.csv"))
        .lines()
        .filter(|l| l.number("t_c") <= 50.0) // one is a boiler at 82 °C: beyond our constants
        .map(|l| {
            let water =
                hard_water(l.number("calcium_hardness"), l.number("alkalinity"), l.optional("tds_mg_l").unwrap_or(400.0));
            number(
                format!(
                    "pH {}, {} °C, calcium hardness {}, alkalinity {} mg/L",
                    l.text("ph"),
                    l.text("t_c"),
                    l.text("calcium_hardness"),
                    l.text("alkalinity")
                ),
                l.number("printed_index"),
                calcite_index(l.number("t_c"), l.number("ph"), &water),
                2,
                (
                    0.3,
                    "",
                    "simplified index of rounded terms, printed to 0.1; it leaves out ion pairs and lies 0.1-0.2 below a speciation",
                ),
            )
        })
        .collect();
    Section {
        title: "Worked examples of the saturation index",
        source: "a corrosion reference page, an operators' training page, a photometer manual (all read); \
            `reference/published/saturation_index_examples.csv`; dissolved solids, where not printed, taken as 400 mg/L",
        rows,
    }
}

/// The terms of the simplified index: how it moves with temperature, calcium, alkalinity, solids.
pub(crate) fn saturation_factors() -> Section {
    let index =
        |t_c, hardness, alkalinity, tds| calcite_index(t_c, 7.5, &hard_water(hardness, alkalinity, tds));
    let (mut warm, mut cold) = (Worst::default(), Worst::default());
    let (mut calcium, mut alkalinity) = (Worst::default(), Worst::default());
    let base = index(24.4, 150.0, 100.0, 900.0);
    for l in Table::parse(reference_file!("published/saturation_factor_table.csv")).lines() {
        let t = l.number("t_c");
        if t <= 50.0 {
            let moved = index(t, 150.0, 100.0, 900.0) - base;
            let worst = if t > 15.0 { &mut warm } else { &mut cold };
            worst.see(&format!("{t} °C"), moved - (l.number("temperature_factor") - 0.6));
        }
        let hardness = l.number("calcium_hardness");
        if hardness <= 400.0 {
            let moved = index(24.4, hardness, 100.0, 900.0) - base;
            calcium.see(&format!("{hardness} mg/L"), moved - (l.number("calcium_factor") - 1.8));
        }
        let mg_l = l.number("alkalinity");
        if mg_l <= 400.0 {
            let moved = index(24.4, 150.0, mg_l, 900.0) - base;
            alkalinity.see(&format!("{mg_l} mg/L"), moved - (l.number("alkalinity_factor") - 2.0));
        }
    }
    let mut solids = Worst::default();
    let fresh = index(25.0, 20.0, 20.0, 100.0);
    for l in Table::parse(reference_file!("published/langelier_tds_constant.csv")).lines() {
        let tds = l.number("tds_mg_l");
        if tds >= 100.0 {
            let moved = fresh - index(25.0, 20.0, 20.0, tds);
            solids.see(&format!("{tds} mg/L"), moved - (l.number("constant_b") - 9.77));
        }
    }
    let mut constant = Worst::default();
    for l in Table::parse(reference_file!("published/langelier_constants.csv")).lines() {
        if l.number("ionic_strength") > 0.0 {
            continue;
        }
        for t in ["0", "10", "20", "30", "40"] {
            let at = Celsius(t.parse().expect("a temperature"));
            let ours = constants::BICARBONATE.at(at) + constants::CALCITE.at(at);
            constant.see(&format!("{t} °C"), ours - l.number(&format!("c_{t}c")));
        }
    }
    Section {
        title: "Terms of the simplified saturation index",
        source: "Montana ARM 37.115 (superseded version, read); US Army TM 5-813-3, table 2-5 (read); Davis, Water and Wastewater \
            Engineering, table 7-5 (read; its activity term, 0.40 at an ionic strength of 0.014, is 1.6 times any Debye-Hückel \
            law's and is not compared)",
        rows: vec![
            warm.row(
                "change from 24.4 to 15.6-40.6 °C, against the factor table",
                (0.1, "", "printed to 0.1; older solubility and dissociation constants"),
            ),
            cold.row(
                "change from 24.4 to 0-11.7 °C, against the factor table",
                (0.25, "", "as above: the older constants are 0.20 off at 0 °C (last row of this table)"),
            ),
            calcium.row(
                "change with calcium hardness, 5-400 mg/L, against the factor table",
                (0.1, "", "printed to 0.1; the table has no ion pairs"),
            ),
            alkalinity.row(
                "change with alkalinity, 5-400 mg/L, against the factor table",
                (0.12, "", "printed to 0.1; the table has no ion pairs, and hydroxide and carbonate have a share of a small alkalinity"),
            ),
            solids.row(
                "change with dissolved solids, 100-1000 mg/L, against the army manual",
                (0.1, "", "printed to 0.01, but a fit linear in log solids; the solids here are sodium chloride"),
            ),
            constant.row(
                "pK2 - pKs at 0-40 °C, against the textbook table",
                (0.21, "", "older constants: 2.45 against 2.25 at 0 °C, 2.02 against 1.92 at 20 °C, 1.68 against 1.64 at 40 °C"),
            ),
        ],
    }
}

/// Published analyses of public supplies, from their acid capacity to pH 4.3.
pub(crate) fn tap_waters() -> Section {
    let mut rows = Vec::new();
    for l in Table::parse(reference_file!("published/tap_water.csv")).lines() {
        let ion = |column: &str, mass: f64| mol_kg_from_mg_l(l.number(column), mass);
        let t = Totals {
            calcium: ion("calcium", molar_mass::CA),
            magnesium: ion("magnesium", molar_mass::MG),
            sodium: ion("sodium", molar_mass::NA),
            potassium: ion("potassium", molar_mass::K),
            chloride: ion("chloride", molar_mass::CL),
            sulfate: ion("sulfate", molar_mass::SO4),
            inert_anion: ion("nitrate", 62.004),
            ..Totals::default()
        };
        let solved = |t_c: f64| {
            let at = equilibria(t_c);
            let s = from_acid_capacity(&at, &t, &l, "acid_capacity_mmol_l");
            (at, s)
        };
        let id = l.text("id");
        if let Some(t_c) = l.optional("t_c") {
            let (at, s) = solved(t_c);
            let index = at.calcite_saturation_index(&s);
            if let Some(printed) = l.optional("printed_saturation_index") {
                const WHY: &str = "DIN 38404-10 with other constants; the reference library reads 0.02 higher than printed too";
                rows.push(number(format!("{id}: saturation index"), printed, index, 2, (0.05, "", WHY)));
            } else if let Some(ph_c) = l.optional("printed_saturation_ph") {
                const WHY: &str = "from yearly means, ions 4.5 % out of balance";
                let printed = l.number("ph") - ph_c;
                rows.push(number(format!("{id}: pH less saturation pH"), printed, index, 2, (0.1, "", WHY)));
            }
            if let Some(printed) = l.optional("printed_ionic_strength_mmol_l") {
                const WHY: &str = "ions 2.5 % out of balance";
                let ours = 1000.0 * s.ionic_strength;
                rows.push(percent(format!("{id}: ionic strength, mmol/L"), printed, ours, 2, (2.0, WHY)));
            }
        }
        if let Some(printed) = l.optional("conductivity_25c_us_cm").filter(|_| id != "st_ingbert") {
            const WHY: &str = "measured; the ions are out of balance by up to 7 %";
            let ours = specific_conductance_25c_us_cm(&solved(25.0).1);
            rows.push(percent(format!("{id}: conductivity at 25 °C, µS/cm"), printed, ours, 0, (3.0, WHY)));
        }
    }
    Section {
        title: "Public water supplies with printed results",
        source: "the utilities' own pages (each read); `reference/published/tap_water.csv`. One printed conductivity (St. Ingbert, 220 µS/cm) \
            does not fit its own ions by 27 % and is left out",
        rows,
    }
}

/// Handbook doses: what an amount in a volume does.
pub(crate) fn dose_tables() -> Section {
    let table = Table::parse(reference_file!("published/dose_tables.csv"));
    // Per source and substance, the dose that uses up most of its tolerance.
    let mut groups: Vec<(String, usize, Row)> = Vec::new();
    for l in table.lines().filter(|l| l.text("use") == "yes" && l.text("chemical") != "sulfuric_acid") {
        let name = l.text("chemical").replace('_', " ");
        let theirs = l.number("printed_effect");
        let ours = dose_effect(&l);
        let effect = l.text("effect").replace('_', " ");
        let unit =
            if effect.contains("alkalinity") || effect.contains("hardness") { "mg/L CaCO3" } else { "mg/L" };
        let what = format!(
            "{} of {name} in {}: {effect}, {unit}",
            l.text("printed_amount"),
            l.text("printed_volume")
        );
        let row = percent(
            what,
            theirs,
            ours,
            2,
            (l.number("tolerance_percent"), "rounding of the printed amount; stoichiometry is exact"),
        );
        let group = format!("{} {name}", l.text("source"));
        match groups.iter_mut().find(|(g, ..)| *g == group) {
            Some((_, count, worst)) => {
                *count += 1;
                if row.off / row.allowed > worst.off / worst.allowed {
                    *worst = row;
                }
            }
            None => groups.push((group, 1, row)),
        }
    }
    assert_eq!(groups.iter().map(|g| g.1).sum::<usize>(), 49, "every dose that is fit for a check");
    let rows = groups
        .into_iter()
        .map(|(_, count, row)| {
            let what = if count > 1 { format!("{} (farthest of {count})", row.what) } else { row.what };
            Row { what, ..row }
        })
        .collect();
    Section {
        title: "Handbook doses",
        source: "`reference/published/dose_tables.csv`, which names the source of each; sulfuric acid is not on our shelf",
        rows,
    }
}

/// What a dose of the table does by our data, in the table's unit.
fn dose_effect(l: &Line<'_>) -> f64 {
    let name = l.text("chemical").replace('_', "-");
    let (stem, form) = match name.rsplit_once('-') {
        Some((stem, form)) if form.ends_with("hydrate") => (stem, Some(form)),
        _ => (name.as_str(), None),
    };
    let chemical = Chemical::from_id(stem).unwrap_or_else(|| panic!("no chemical {stem}"));
    let molar_mass_g = form.map_or(chemical.molar_mass_g(), |form| {
        chemical.hydrates().iter().find(|(n, _)| *n == form).unwrap_or_else(|| panic!("{stem}: no {form}")).1
    });
    let (amount, strength) = (l.number("amount"), l.number("strength_percent") / 100.0);
    let mol = match (chemical.active_chlorine(), l.text("unit")) {
        // Strength is available chlorine: by weight of a solid, 100 g/L per 10 % of a liquid.
        (active, _) if active > 0.0 => amount * strength / (active * molar_mass::CL2),
        (_, "g") => amount * strength / molar_mass_g,
        _ => amount * l.number("density_kg_l") * strength / molar_mass_g,
    };
    // Enough alkalinity for the acids to take.
    let before = Totals { alkalinity: 0.01, carbon: 0.01, sodium: 0.01, ..Totals::default() };
    let after = addition::add(&before, chemical, mol / l.number("volume_l")).expect("a handbook dose");
    let change = after.plus(&before, -1.0);
    match l.text("effect") {
        "free_chlorine" => mg_l_from_mol_kg(change.free_chlorine, molar_mass::CL2),
        "alkalinity" => mg_l_caco3_from_eq_kg(change.alkalinity),
        "calcium_hardness" => hardness_mg_l_caco3_from_mol_kg(change.calcium),
        "cyanuric_acid" => mg_l_from_mol_kg(change.cyanurate, molar_mass::CYANURIC_ACID),
        "calcium" => mg_l_from_mol_kg(change.calcium, molar_mass::CA),
        "magnesium" => mg_l_from_mol_kg(change.magnesium, molar_mass::MG),
        "sodium" => mg_l_from_mol_kg(change.sodium, molar_mass::NA),
        "chloride" => mg_l_from_mol_kg(change.chloride, molar_mass::CL),
        "sulfate" => mg_l_from_mol_kg(change.sulfate, molar_mass::SO4),
        other => panic!("effect {other}"),
    }
}
