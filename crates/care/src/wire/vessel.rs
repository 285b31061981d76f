//! The vessel and the water that it is filled with: units of the edge become the units inside.

use crate::amount::LITRES_PER_GALLON;
use crate::band::{Place, Regime};
use crate::case::{SourceWater, Tub};
use crate::note::Note;
use crate::text::{figures, say};
use crate::wire::case_shape::{SourceWaterIn, TubIn};
use crate::wire::node::Node;
use crate::wire::problem::Problems;
use water::units::{hardness_mg_l_caco3_from_mol_kg, mol_kg_from_mg_l, molar_mass};

/// One of two fields that say the same in two units.
fn one_of(
    (a, a_name): (Option<f64>, &str),
    (b, b_name): (Option<f64>, &str),
    b_to_a: impl Fn(f64) -> f64,
    node: &Node,
    table: &str,
    problems: &mut Problems,
) -> Option<f64> {
    if a.is_some() && b.is_some() {
        problems.add(
            node.line_of(b_name),
            format!("{table}.{b_name}"),
            format!("and {a_name} are both given"),
            "exactly one of the two is accepted",
        );
    }
    a.or(b.map(b_to_a))
}

pub(crate) fn tub(t: &TubIn, node: &Node, problems: &mut Problems, notes: &mut Vec<Note>) -> Option<Tub> {
    let volume_l = one_of(
        (t.volume_l, "volume_l"),
        (t.volume_gal, "volume_gal"),
        |gal| gal * LITRES_PER_GALLON,
        node,
        "tub",
        problems,
    );
    let temperature_c = one_of(
        (t.temperature_c, "temperature_c"),
        (t.temperature_f, "temperature_f"),
        |f| (f - 32.0) / 1.8,
        node,
        "tub",
        problems,
    );
    let volume_measured = t.volume_measured.unwrap_or(false);
    let volume_error_percent = t.volume_error_percent.unwrap_or(if volume_measured { 3.0 } else { 10.0 });
    let place = match t.place.as_deref() {
        Some("rental") => Place::Rental,
        Some("public") => Place::Public,
        Some(_) => Place::Home,
        None => {
            notes.push(
                say!(
                    "care-assume-home",
                    "The tub is taken to stand at a home; a let or a public spa has stricter bands."
                )
                .into(),
            );
            Place::Home
        }
    };
    let cell_window_mg_l = t.cell_window_mg_l.as_ref().and_then(|w| match w[..] {
        [low, high] if low < high => Some((low, high)),
        _ => {
            problems.add(
                node.line_of("cell_window_mg_l"),
                "tub.cell_window_mg_l",
                format!("is {w:?}"),
                "[lowest, highest] is accepted, the lowest first",
            );
            None
        }
    });
    Some(Tub {
        name: t.name.clone().unwrap_or_else(|| "the tub".into()),
        volume_l: volume_l?,
        volume_error: volume_error_percent / 100.0,
        volume_measured,
        temperature_c,
        regime: match t.regime.as_str() {
            "salt-cell" => Regime::SaltCell,
            "bromine" => Regime::Bromine,
            _ => Regime::HandDosedChlorine,
        },
        place,
        cell_window_mg_l,
        pump_cycle_min: t.pump_cycle_min.unwrap_or(20.0),
    })
}

pub(crate) fn source_water(
    s: &SourceWaterIn,
    node: &Node,
    problems: &mut Problems,
    notes: &mut Vec<Note>,
) -> SourceWater {
    let calcium_hardness = one_of(
        (s.calcium_hardness_mg_l_caco3, "calcium_hardness_mg_l_caco3"),
        (s.calcium_mg_l, "calcium_mg_l"),
        |mg_l| hardness_mg_l_caco3_from_mol_kg(mol_kg_from_mg_l(mg_l, molar_mass::CA)),
        node,
        "source_water",
        problems,
    );
    let mut ph = s.ph;
    if let Some(dic) = s.dic_mmol_l {
        let at = node.line_of("dic_mmol_l");
        match (s.ph, s.total_alkalinity_mg_l_caco3) {
            (Some(_), _) => problems.add(
                at,
                "source_water.dic_mmol_l",
                "and ph are both given",
                "exactly one of the two is accepted",
            ),
            (None, None) => problems.add(
                at,
                "source_water.dic_mmol_l",
                "is given without total_alkalinity_mg_l_caco3",
                "the two together tell the pH",
            ),
            (None, Some(alkalinity)) => match ph_of(s, dic, alkalinity, calcium_hardness) {
                Ok(found) => {
                    notes.push(
                        say!(
                            "care-source-ph-follows",
                            "The source water's pH, {found}, follows from its carbon and alkalinity.",
                            found = figures!("{found:.2}")
                        )
                        .into(),
                    );
                    ph = Some(found);
                }
                Err(e) => problems.add(
                    at,
                    "source_water.dic_mmol_l",
                    format!("and the alkalinity make no water: {e}"),
                    "",
                ),
            },
        }
    }
    SourceWater {
        name: s.name.clone().unwrap_or_else(|| "source water".into()),
        temperature_c: s.temperature_c,
        ph,
        total_alkalinity_mg_l_caco3: s.total_alkalinity_mg_l_caco3,
        calcium_hardness_mg_l_caco3: calcium_hardness,
        magnesium_mg_l: s.magnesium_mg_l,
        sodium_mg_l: s.sodium_mg_l,
        potassium_mg_l: s.potassium_mg_l,
        chloride_mg_l: s.chloride_mg_l,
        salt_mg_l: s.salt_mg_l,
        sulfate_mg_l: s.sulfate_mg_l,
        cyanuric_acid_mg_l: s.cyanuric_acid_mg_l,
        boron_mg_l: s.boron_mg_l,
        free_chlorine_mg_l: s.free_chlorine_mg_l,
        iron_mg_l: s.iron_mg_l,
        copper_mg_l: s.copper_mg_l,
        price_per_m3: s.price_per_m3,
    }
}

fn ph_of(
    s: &SourceWaterIn,
    dic_mmol_l: f64,
    alkalinity_mg_l_caco3: f64,
    calcium_hardness: Option<f64>,
) -> Result<f64, water::WaterError> {
    let some = |x: Option<f64>, g_per_mol| mol_kg_from_mg_l(x.unwrap_or(0.0), g_per_mol);
    let totals = water::Totals {
        alkalinity: water::units::eq_kg_from_mg_l_caco3(alkalinity_mg_l_caco3),
        carbon: dic_mmol_l / 1000.0,
        calcium: water::units::mol_kg_from_hardness_mg_l_caco3(calcium_hardness.unwrap_or(0.0)),
        magnesium: some(s.magnesium_mg_l, molar_mass::MG),
        sulfate: some(s.sulfate_mg_l, molar_mass::SO4),
        boron: some(s.boron_mg_l, molar_mass::B),
        cyanurate: some(s.cyanuric_acid_mg_l, molar_mass::CYANURIC_ACID),
        ..water::Totals::default()
    };
    let at = water::Equilibria::at(water::Celsius(s.temperature_c.unwrap_or(25.0)))?;
    Ok(at.solve(&totals.closed_with_sodium_chloride())?.ph().0)
}
