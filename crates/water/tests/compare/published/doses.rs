//! Doses that handbooks print: how much of what does what in which volume.

use crate::compare::{Line, Row, Section, Table, percent, reference_file};
use water::units::{hardness_mg_l_caco3_from_mol_kg, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};
use water::{Chemical, Totals, addition};

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
