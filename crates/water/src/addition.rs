//! Additions and mixing: exact in mass and charge.
//!
//! In: totals, a chemical, moles per kilogram of water. Out: totals. Chlorine with thiosulfate or peroxide reacts at
//! once (seconds); what chlorine does with people and light is kinetics and belongs to the tub in time.

use crate::chemical::Chemical;
use crate::error::WaterError;
use crate::totals::Totals;

/// The most of one chemical that can be added at once: as much as any total may hold.
const LARGEST_MOL_KG: f64 = 2.0;

/// Totals after adding `mol_kg` of a chemical to each kilogram of water. Only carbon dioxide may be negative.
///
/// # Errors
/// [`WaterError::NotANumber`] and [`WaterError::OutOfRange`] for an amount that is not from 0 to 2 mol/kg, [`WaterError::Exhausted`] if more carbon dioxide
/// is taken than there is carbon.
pub fn add(totals: &Totals, chemical: Chemical, mol_kg: f64) -> Result<Totals, WaterError> {
    if !mol_kg.is_finite() {
        return Err(WaterError::NotANumber { field: "additions.mmol_l" });
    }
    let low = if chemical == Chemical::CarbonDioxide { -LARGEST_MOL_KG } else { 0.0 };
    if !(low..=LARGEST_MOL_KG).contains(&mol_kg) {
        return Err(WaterError::OutOfRange {
            field: "additions.mmol_l",
            value: mol_kg * 1000.0,
            unit: "mmol/L",
            low: low * 1000.0,
            high: LARGEST_MOL_KG * 1000.0,
        });
    }
    let after = totals.plus(&chemical.per_mole(), mol_kg);
    if after.carbon < 0.0 {
        return Err(WaterError::Exhausted {
            component: "dissolved inorganic carbon",
            result_mol_kg: after.carbon,
            available_mol_kg: totals.carbon,
        });
    }
    Ok(match chemical {
        Chemical::SodiumThiosulfate | Chemical::HydrogenPeroxide => dechlorinate(&after),
        c if c.active_chlorine() > 0.0 => dechlorinate(&after),
        _ => after,
    })
}

/// Lets chlorine react with peroxide and thiosulfate until one of them is gone.
///
/// H2O2 + HOCl → O2 + Cl- + H+ + H2O. Thiosulfate goes to sulfate where chlorine is in excess
/// (S2O3-2 + 4 HOCl + H2O → 2 SO4-2 + 4 Cl- + 6 H+) and to tetrathionate where it is not
/// (2 S2O3-2 + HOCl → S4O6-2 + Cl- + OH-); between four and one half of chlorine per thiosulfate both happen, so that
/// all chlorine goes. From memory. In practice the yield varies and lies between; `care`'s planner therefore counts on one
/// chlorine per thiosulfate, adds half, has it tested, and only then the rest.
fn dechlorinate(totals: &Totals) -> Totals {
    let mut t = *totals;
    let by_peroxide = t.free_chlorine.min(t.hydrogen_peroxide);
    t.free_chlorine -= by_peroxide;
    t.hydrogen_peroxide -= by_peroxide;
    t.chloride += by_peroxide;
    t.alkalinity -= by_peroxide;

    let (chlorine, thiosulfate) = (t.free_chlorine, t.thiosulfate);
    if chlorine > 0.0 && thiosulfate > 0.0 {
        let to_sulfate = (thiosulfate.min((chlorine - 0.5 * thiosulfate) / 3.5)).max(0.0);
        let to_tetrathionate = if to_sulfate < thiosulfate {
            (2.0 * (chlorine - 4.0 * to_sulfate)).min(thiosulfate - to_sulfate)
        } else {
            0.0
        };
        let used = 4.0 * to_sulfate + 0.5 * to_tetrathionate;
        t.free_chlorine = (chlorine - used).max(0.0);
        t.chloride += used;
        t.sulfate += 2.0 * to_sulfate;
        // Two thiosulfates make one tetrathionate: the divalent charge halves.
        t.thiosulfate -= to_sulfate + 0.5 * to_tetrathionate;
        t.alkalinity += -6.0 * to_sulfate + 0.5 * to_tetrathionate;
    }
    t
}

/// As much of what is wanted as there is; nothing where either is nonsense (`f64::clamp` would panic on such bounds).
fn used_up(wanted: f64, there: f64) -> f64 {
    wanted.min(there).max(0.0)
}

/// Lets `mol_kg` of free chlorine be used up (light, bathers, metal): chlorine becomes chloride, alkalinity falls by
/// one equivalent a mole. No more goes than there is.
pub fn use_chlorine(totals: &Totals, mol_kg: f64) -> Totals {
    let used = used_up(mol_kg, totals.free_chlorine);
    Totals {
        free_chlorine: totals.free_chlorine - used,
        chloride: totals.chloride + used,
        alkalinity: totals.alkalinity - used,
        ..*totals
    }
}

/// Lets `mol_kg` of monopersulfate be used up: HSO5- becomes sulfate and H+.
pub fn use_monopersulfate(totals: &Totals, mol_kg: f64) -> Totals {
    let used = used_up(mol_kg, totals.monopersulfate);
    Totals {
        monopersulfate: totals.monopersulfate - used,
        sulfate: totals.sulfate + used,
        alkalinity: totals.alkalinity - used,
        ..*totals
    }
}

/// A mineral bath salt of the Dead Sea kind: grams of each salt in a gram of product, the rest crystal water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MineralSalt {
    /// MgCl2, g/g.
    pub magnesium_chloride: f64,
    /// KCl, g/g.
    pub potassium_chloride: f64,
    /// NaCl, g/g.
    pub sodium_chloride: f64,
    /// CaCl2, g/g.
    pub calcium_chloride: f64,
    /// Bromide, g/g, taken as sodium bromide.
    pub bromide: f64,
}

/// A carnallite-like blend, wet basis: typical of supplier declarations (from memory); the rest is crystal water.
pub const MINERAL_SALT: MineralSalt = MineralSalt {
    magnesium_chloride: 0.32,
    potassium_chloride: 0.25,
    sodium_chloride: 0.06,
    calcium_chloride: 0.005,
    bromide: 0.004,
};

impl MineralSalt {
    /// What one gram of product adds, in moles.
    pub fn per_gram(&self) -> Totals {
        let part = |c: Chemical, grams: f64| (c.per_mole(), grams / c.molar_mass_g());
        [
            part(Chemical::MagnesiumChloride, self.magnesium_chloride),
            part(Chemical::PotassiumChloride, self.potassium_chloride),
            part(Chemical::SodiumChloride, self.sodium_chloride),
            part(Chemical::CalciumChloride, self.calcium_chloride),
            (Chemical::SodiumBromide.per_mole(), self.bromide / crate::units::molar_mass::BR),
        ]
        .iter()
        .fold(Totals::default(), |sum, (per_mole, mol)| sum.plus(per_mole, *mol))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{hardness_mg_l_caco3_from_mol_kg, molar_mass};

    #[test]
    fn dechlorination_keeps_charge_and_takes_the_chlorine_that_its_equations_say() {
        let water = Totals { alkalinity: 1.6e-3, sodium: 1.6e-3, carbon: 1.7e-3, ..Totals::default() };
        let chlorinated = add(&water, Chemical::SodiumHypochlorite, 1e-4).unwrap();
        for (mol, left) in [(1e-5, 0.6e-4), (2.5e-5, 0.0), (1e-4, 0.0), (4e-4, 0.0)] {
            let after = add(&chlorinated, Chemical::SodiumThiosulfate, mol).unwrap();
            assert!((after.free_chlorine - left).abs() < 1e-12, "{mol}: {after:?}");
            assert!(after.charge_imbalance().abs() < 1e-15, "{mol}");
        }
        // All to sulfate: −1.5 eq per mole of Cl2; all to tetrathionate: +1.
        let sulfate = add(&chlorinated, Chemical::SodiumThiosulfate, 1e-5).unwrap();
        assert!((sulfate.alkalinity - chlorinated.alkalinity + 1.5 * 0.4e-4).abs() < 1e-15);
        let tetrathionate = add(&chlorinated, Chemical::SodiumThiosulfate, 2e-4).unwrap();
        assert!((tetrathionate.alkalinity - chlorinated.alkalinity - 1e-4).abs() < 1e-15);
        let peroxide = add(&chlorinated, Chemical::HydrogenPeroxide, 2e-4).unwrap();
        assert_eq!(peroxide.free_chlorine, 0.0);
        assert!(peroxide.charge_imbalance().abs() < 1e-15);
    }

    /// 1 g/L of the blend: Mg 82 mg/L (336 mg/L CaCO3 of total hardness), K 131, Na 24, Cl 397 (arithmetic from the blend).
    #[test]
    fn mineral_salt_is_magnesium_hardness_and_hardly_any_calcium() {
        let t = MINERAL_SALT.per_gram();
        assert!((hardness_mg_l_caco3_from_mol_kg(t.magnesium) - 336.0).abs() < 1.0);
        assert!(hardness_mg_l_caco3_from_mol_kg(t.calcium) < 6.0);
        assert!((t.potassium * molar_mass::K * 1000.0 - 131.0).abs() < 1.0);
        assert!((t.chloride * molar_mass::CL * 1000.0 - 397.0).abs() < 2.0);
        assert!(t.charge_imbalance().abs() < 1e-15);
    }
}
