//! Quantities of a water's totals: the linear ones, in the units people use.

use crate::case::{Product, Substance};
use crate::quantity::Quantity;
use water::addition::MINERAL_SALT;
use water::units::{hardness_mg_l_caco3_from_mol_kg, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};
use water::{Chemical, Totals};

/// mg/L of bromine (as Br2) for each mg/L of chlorine (as Cl2) that it has taken the place of.
pub const BROMINE_PER_CHLORINE: f64 = molar_mass::BR2 / molar_mass::CL2;

/// The quantities that are linear in the totals, with their value; `None` for any other quantity.
///
/// Total alkalinity here is what a kit with thiosulfate reads, but for the small residue at its end point
/// (see `estimate`): alkalinity plus one equivalent for each mole of chlorine.
pub fn linear(quantity: Quantity, t: &Totals) -> Option<f64> {
    Some(match quantity {
        Quantity::FreeChlorine => mg_l_from_mol_kg(t.free_chlorine, molar_mass::CL2),
        Quantity::TotalBromine => mg_l_from_mol_kg(t.free_chlorine, molar_mass::BR2),
        Quantity::TotalAlkalinity => mg_l_caco3_from_eq_kg(t.alkalinity + t.free_chlorine),
        Quantity::CalciumHardness => hardness_mg_l_caco3_from_mol_kg(t.calcium),
        Quantity::TotalHardness => hardness_mg_l_caco3_from_mol_kg(t.calcium + t.magnesium),
        Quantity::CyanuricAcid => mg_l_from_mol_kg(t.cyanurate, molar_mass::CYANURIC_ACID),
        Quantity::Salt => mg_l_from_mol_kg(t.chloride, molar_mass::NACL),
        Quantity::Borate => mg_l_from_mol_kg(t.boron, molar_mass::B),
        _ => return None,
    })
}

/// What one gram of a product adds, in moles: its substance and the salt that comes along. In a bromine tub
/// monopersulfate turns bromide to bromine at once, elsewhere it stays as it is.
pub fn per_gram(product: &Product, bromine: bool) -> Totals {
    let substance = match product.substance {
        Substance::Chemical(Chemical::Monopersulfate) if bromine => {
            // HSO5- + Br- → SO4-2 + HOBr, booked as oxidant less the chloride that it does not release.
            let unreacted = Chemical::Monopersulfate.per_mole();
            let used = Totals {
                monopersulfate: 0.0,
                sulfate: unreacted.sulfate + 1.0,
                free_chlorine: 1.0,
                chloride: -1.0,
                ..unreacted
            };
            Totals::default().plus(&used, product.active_mol_per_g)
        }
        Substance::Chemical(c) => Totals::default().plus(&c.per_mole(), product.active_mol_per_g),
        // One mole of active magnesium chloride stands for the blend.
        Substance::MineralSalt => MINERAL_SALT.per_gram(),
        Substance::Sequestrant => Totals::default(),
    };
    substance.plus(&Chemical::SodiumChloride.per_mole(), product.companion_salt_mol_per_g)
}

/// What a dose leaves once its chlorine has been used: HOCl → Cl⁻ + H⁺ + ½ O2, each mole a chloride and an equivalent of
/// acid. What takes chlorine away stays as it is.
pub(crate) fn spent(dose: Totals) -> Totals {
    let used = dose.free_chlorine.max(0.0);
    Totals {
        free_chlorine: dose.free_chlorine - used,
        chloride: dose.chloride + used,
        alkalinity: dose.alkalinity - used,
        ..dose
    }
}
