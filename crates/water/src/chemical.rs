//! The chemicals of the trade as data: what one mole brings to a water.
//!
//! "Alkalinity" is the change at once, closed to the air, with the chlorine still present; when chlorine is used up
//! the alkalinity falls by one equivalent a mole ([`crate::addition::use_chlorine`]). Molar masses are computed from
//! atomic weights (IUPAC 2021, abridged). Hydrates differ only in mass: [`Chemical::molar_mass_g`] is of the form
//! that the id names, [`Chemical::hydrates`] lists the others.
//!
//! Left out, and said wherever it matters: the excess alkali (0.1–1 %) and chlorate of aged sodium hypochlorite,
//! and the lime of calcium hypochlorite; both make the pH rise a little more than computed.

use crate::totals::Totals;
use crate::units::molar_mass;

/// A chemical by its id in the machine contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Chemical {
    /// NaHSO4, dry acid.
    SodiumBisulfate,
    /// HCl.
    HydrochloricAcid,
    /// Na2CO3, soda ash.
    SodiumCarbonate,
    /// NaHCO3.
    SodiumBicarbonate,
    /// Na3H(CO3)2·2H2O.
    SodiumSesquicarbonate,
    /// NaOH.
    SodiumHydroxide,
    /// Na2B4O7·10H2O.
    Borax,
    /// H3BO3.
    BoricAcid,
    /// CaCl2, the anhydrous mole.
    CalciumChloride,
    /// MgCl2, the anhydrous mole.
    MagnesiumChloride,
    /// NaCl.
    SodiumChloride,
    /// KCl.
    PotassiumChloride,
    /// Na2SO4.
    SodiumSulfate,
    /// MgSO4, the anhydrous mole.
    MagnesiumSulfate,
    /// NaOCl.
    SodiumHypochlorite,
    /// Ca(OCl)2.
    CalciumHypochlorite,
    /// NaCl2C3N3O3, the anhydrous mole.
    Dichlor,
    /// Cl3C3N3O3.
    Trichlor,
    /// H3C3N3O3.
    CyanuricAcid,
    /// The triple salt 2KHSO5·KHSO4·K2SO4; one mole of active KHSO5.
    Monopersulfate,
    /// Na2S2O3, the anhydrous mole.
    SodiumThiosulfate,
    /// H2O2.
    HydrogenPeroxide,
    /// NaBr.
    SodiumBromide,
    /// CO2; a negative amount is lost to the air.
    CarbonDioxide,
}
use Chemical as C;

/// All chemicals, in the contract's order.
pub const ALL: [Chemical; 24] = [
    C::SodiumBisulfate,
    C::HydrochloricAcid,
    C::SodiumCarbonate,
    C::SodiumBicarbonate,
    C::SodiumSesquicarbonate,
    C::SodiumHydroxide,
    C::Borax,
    C::BoricAcid,
    C::CalciumChloride,
    C::MagnesiumChloride,
    C::SodiumChloride,
    C::PotassiumChloride,
    C::SodiumSulfate,
    C::MagnesiumSulfate,
    C::SodiumHypochlorite,
    C::CalciumHypochlorite,
    C::Dichlor,
    C::Trichlor,
    C::CyanuricAcid,
    C::Monopersulfate,
    C::SodiumThiosulfate,
    C::HydrogenPeroxide,
    C::SodiumBromide,
    C::CarbonDioxide,
];

impl Chemical {
    /// Its id in the machine contract.
    pub fn id(self) -> &'static str {
        match self {
            C::SodiumBisulfate => "sodium-bisulfate",
            C::HydrochloricAcid => "hydrochloric-acid",
            C::SodiumCarbonate => "sodium-carbonate",
            C::SodiumBicarbonate => "sodium-bicarbonate",
            C::SodiumSesquicarbonate => "sodium-sesquicarbonate",
            C::SodiumHydroxide => "sodium-hydroxide",
            C::Borax => "borax",
            C::BoricAcid => "boric-acid",
            C::CalciumChloride => "calcium-chloride",
            C::MagnesiumChloride => "magnesium-chloride",
            C::SodiumChloride => "sodium-chloride",
            C::PotassiumChloride => "potassium-chloride",
            C::SodiumSulfate => "sodium-sulfate",
            C::MagnesiumSulfate => "magnesium-sulfate",
            C::SodiumHypochlorite => "sodium-hypochlorite",
            C::CalciumHypochlorite => "calcium-hypochlorite",
            C::Dichlor => "dichlor",
            C::Trichlor => "trichlor",
            C::CyanuricAcid => "cyanuric-acid",
            C::Monopersulfate => "monopersulfate",
            C::SodiumThiosulfate => "sodium-thiosulfate",
            C::HydrogenPeroxide => "hydrogen-peroxide",
            C::SodiumBromide => "sodium-bromide",
            C::CarbonDioxide => "carbon-dioxide",
        }
    }

    /// The chemical with this id.
    pub fn from_id(id: &str) -> Option<Chemical> {
        ALL.into_iter().find(|c| c.id() == id)
    }

    /// Grams per mole of the form that the id names (for monopersulfate: of triple salt per active KHSO5).
    pub fn molar_mass_g(self) -> f64 {
        match self {
            C::SodiumBisulfate => 120.06,
            C::HydrochloricAcid => 36.461,
            C::SodiumCarbonate => 105.99,
            C::SodiumBicarbonate => 84.007,
            C::SodiumSesquicarbonate => 226.03,
            C::SodiumHydroxide => 39.997,
            C::Borax => 381.37,
            C::BoricAcid => 61.83,
            C::CalciumChloride => 110.98,
            C::MagnesiumChloride => 95.211,
            C::SodiumChloride => molar_mass::NACL,
            C::PotassiumChloride => 74.551,
            C::SodiumSulfate => 142.04,
            C::MagnesiumSulfate => 120.366,
            C::SodiumHypochlorite => 74.442,
            C::CalciumHypochlorite => 142.98,
            C::Dichlor => 219.95,
            C::Trichlor => 232.41,
            C::CyanuricAcid => molar_mass::CYANURIC_ACID,
            C::Monopersulfate => 614.76 / 2.0,
            C::SodiumThiosulfate => 158.11,
            C::HydrogenPeroxide => 34.014,
            C::SodiumBromide => 102.894,
            C::CarbonDioxide => molar_mass::CO2,
        }
    }

    /// Other solid forms of the same substance: name and grams that carry one mole of it.
    pub fn hydrates(self) -> &'static [(&'static str, f64)] {
        match self {
            C::CalciumChloride => &[("dihydrate", 147.01)],
            C::MagnesiumChloride => &[("hexahydrate", 203.30)],
            C::MagnesiumSulfate => &[("heptahydrate", 246.47)],
            C::Dichlor => &[("dihydrate", 255.98)],
            C::Borax => &[("pentahydrate", 291.29), ("anhydrous", 201.22)],
            C::SodiumThiosulfate => &[("pentahydrate", 248.18)],
            _ => &[],
        }
    }

    /// Moles of active chlorine (as Cl2) that one mole releases.
    pub fn active_chlorine(self) -> f64 {
        match self {
            C::SodiumHypochlorite => 1.0,
            C::CalciumHypochlorite | C::Dichlor => 2.0,
            C::Trichlor => 3.0,
            _ => 0.0,
        }
    }

    /// What one mole adds at once. Thiosulfate and peroxide arrive unreacted; see [`crate::addition`].
    pub fn per_mole(self) -> Totals {
        let t = Totals::default();
        match self {
            C::SodiumBisulfate => Totals { alkalinity: -1.0, sodium: 1.0, sulfate: 1.0, ..t },
            C::HydrochloricAcid => Totals { alkalinity: -1.0, chloride: 1.0, ..t },
            C::SodiumCarbonate => Totals { alkalinity: 2.0, carbon: 1.0, sodium: 2.0, ..t },
            C::SodiumBicarbonate => Totals { alkalinity: 1.0, carbon: 1.0, sodium: 1.0, ..t },
            C::SodiumSesquicarbonate => Totals { alkalinity: 3.0, carbon: 2.0, sodium: 3.0, ..t },
            C::SodiumHydroxide => Totals { alkalinity: 1.0, sodium: 1.0, ..t },
            C::Borax => Totals { alkalinity: 2.0, sodium: 2.0, boron: 4.0, ..t },
            C::BoricAcid => Totals { boron: 1.0, ..t },
            C::CalciumChloride => Totals { calcium: 1.0, chloride: 2.0, ..t },
            C::MagnesiumChloride => Totals { magnesium: 1.0, chloride: 2.0, ..t },
            C::SodiumChloride => Totals { sodium: 1.0, chloride: 1.0, ..t },
            C::PotassiumChloride => Totals { potassium: 1.0, chloride: 1.0, ..t },
            C::SodiumSulfate => Totals { sodium: 2.0, sulfate: 1.0, ..t },
            C::MagnesiumSulfate => Totals { magnesium: 1.0, sulfate: 1.0, ..t },
            C::SodiumHypochlorite => Totals { alkalinity: 1.0, sodium: 1.0, free_chlorine: 1.0, ..t },
            C::CalciumHypochlorite => Totals { alkalinity: 2.0, calcium: 1.0, free_chlorine: 2.0, ..t },
            C::Dichlor => Totals { alkalinity: 1.0, sodium: 1.0, free_chlorine: 2.0, cyanurate: 1.0, ..t },
            C::Trichlor => Totals { free_chlorine: 3.0, cyanurate: 1.0, ..t },
            C::CyanuricAcid => Totals { cyanurate: 1.0, ..t },
            // Half a mole of triple salt: 5/2 K+, 2 S of which one is HSO5- and a half HSO4-.
            C::Monopersulfate => {
                Totals { alkalinity: -0.5, potassium: 2.5, sulfate: 1.0, monopersulfate: 1.0, ..t }
            }
            C::SodiumThiosulfate => Totals { sodium: 2.0, thiosulfate: 1.0, ..t },
            C::HydrogenPeroxide => Totals { hydrogen_peroxide: 1.0, ..t },
            C::SodiumBromide => Totals { sodium: 1.0, bromide: 1.0, ..t },
            C::CarbonDioxide => Totals { carbon: 1.0, ..t },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_chemical_is_electroneutral_and_its_id_leads_back() {
        for c in ALL {
            assert!(c.per_mole().charge_imbalance().abs() < 1e-12, "{}", c.id());
            assert_eq!(Chemical::from_id(c.id()), Some(c));
        }
        assert_eq!(Chemical::from_id("vinegar"), None);
    }

    /// Theoretical available chlorine, 70.906·n/M in percent, as handbooks print it (chemical supplier tables, from memory).
    #[test]
    fn available_chlorine_is_what_handbooks_print() {
        for (c, percent) in [
            (C::SodiumHypochlorite, 95.25),
            (C::CalciumHypochlorite, 99.18),
            (C::Dichlor, 64.48),
            (C::Trichlor, 91.53),
        ] {
            let ours = 100.0 * c.active_chlorine() * molar_mass::CL2 / c.molar_mass_g();
            assert!((ours - percent).abs() < 0.02, "{}: {ours}", c.id());
        }
    }
}
