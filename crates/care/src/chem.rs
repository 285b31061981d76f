//! Quantities of a water's totals: the linear ones, in the units people use.

use crate::case::{Product, Substance};
use crate::quantity::Quantity;
use water::addition::{MINERAL_SALT, use_chlorine, use_monopersulfate};
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

/// What a dose leaves once its oxidants have been used: each mole of chlorine a chloride (HOCl → Cl⁻ + H⁺ + ½ O2), each
/// of monopersulfate a sulfate (HSO5⁻ → SO4⁻² + H⁺ + ½ O2), and both an equivalent of acid. What takes chlorine away stays
/// as it is.
pub(crate) fn spent(dose: Totals) -> Totals {
    monopersulfate_spent(use_chlorine(&dose, dose.free_chlorine))
}

/// The same of its monopersulfate alone.
pub(crate) fn monopersulfate_spent(dose: Totals) -> Totals {
    use_monopersulfate(&dose, dose.monopersulfate)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a mole of acid with the salt (KHSO4), one more when it is used; nothing but sulfate and potassium stays.
    #[test]
    fn used_monopersulfate_leaves_an_equivalent_of_acid_a_mole() {
        let fresh = Chemical::Monopersulfate.per_mole();
        let left = spent(fresh);
        assert_eq!((fresh.alkalinity, left.alkalinity), (-0.5, -1.5));
        assert_eq!((left.monopersulfate, left.sulfate, left.potassium), (0.0, 2.0, 2.5));
        assert!(left.charge_imbalance().abs() < 1e-15);
        assert_eq!(monopersulfate_spent(fresh), left);
    }

    /// Chlorine is left to whoever follows it; what takes chlorine away is no chlorine to be used.
    #[test]
    fn monopersulfate_alone_is_spent_where_chlorine_is_followed() {
        let hypochlorite = Chemical::SodiumHypochlorite.per_mole();
        assert_eq!(monopersulfate_spent(hypochlorite), hypochlorite);
        assert_eq!(spent(hypochlorite).alkalinity, hypochlorite.alkalinity - 1.0);
        let taking = Totals { free_chlorine: -1.0, ..Totals::default() };
        assert_eq!(spent(taking), taking);
    }
}
