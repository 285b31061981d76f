//! The dissolved species and how each is made from the components.
//!
//! A species s has molality m = K·Π a(component)^ν·a(H2O)^w / γ. The components are chosen at the zero level of
//! alkalinity (CO2, H3BO3, HOCl, H3Cy, NH4+, SO4-2 …), so a species' alkalinity is −ν(H+), the component balances are
//! the mass balances, and the balance of H+ is −alkalinity. That makes the equilibrium the minimum of a convex
//! function (see `equilibrium`).

use crate::constants::{self as k, LogK};

/// How many components there are.
pub const COMPONENTS: usize = 13;

/// A component: what is conserved. Metals and other components that meet only sulfate, carbon and hydrogen come first
/// and hydrogen last, so that the equilibrium's matrix stays sparse when it is eliminated in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Component {
    /// Calcium.
    Calcium,
    /// Magnesium.
    Magnesium,
    /// Sodium.
    Sodium,
    /// Potassium.
    Potassium,
    /// Boron, as boric acid.
    Boron,
    /// Ammonia nitrogen, as NH4+.
    Ammonium,
    /// Bromine atoms, as bromide.
    Bromide,
    /// Chloride.
    Chloride,
    /// Cyanurate, as cyanuric acid.
    Cyanurate,
    /// Oxidising halogen, as HOCl.
    Oxidant,
    /// Sulfate.
    Sulfate,
    /// Dissolved inorganic carbon, as CO2.
    Carbon,
    /// Protons; their balance is −alkalinity.
    Hydrogen,
}
use Component as C;

/// Activity coefficient model of a species.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gamma {
    /// log γ = −A z² √I/(1 + å B √I) + b I, å in ångström.
    DebyeHuckel {
        /// Ion size å in ångström.
        size: f64,
        /// Linear term b in kg/mol.
        linear: f64,
    },
    /// log γ = −A z² (√I/(1+√I) − 0.3 I).
    Davies,
    /// log γ = 0.1 I.
    Neutral,
}

/// The family to which a species' alkalinity is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Bicarbonate, carbonate and their ion pairs.
    Carbonate,
    /// Hydroxide less hydrogen ion, and other forms of water and sulfuric acid.
    Hydroxide,
    /// Borate.
    Borate,
    /// Cyanurate, chlorinated or not.
    Cyanurate,
    /// Hypochlorite and hypobromite.
    Hypohalite,
    /// Ammonia.
    Ammonia,
    /// No alkalinity.
    None,
}

/// One dissolved species.
#[derive(Debug)]
pub struct Species {
    /// Its name as chemists write it.
    pub name: &'static str,
    /// Charge.
    pub charge: i8,
    /// Components in it: (component, coefficient).
    pub made_of: &'static [(Component, i8)],
    /// Water molecules that its formation takes up.
    pub water: i8,
    /// Combined coefficients of log10 K of its formation from the components.
    pub log_k: [f64; 6],
    /// Activity coefficient model.
    pub gamma: Gamma,
    /// Whose alkalinity it counts to.
    pub family: Family,
}

impl Species {
    /// Coefficient of a component.
    pub fn coefficient(&self, component: Component) -> i8 {
        self.made_of.iter().find(|(c, _)| *c == component).map_or(0, |(_, n)| *n)
    }

    /// Alkalinity per mole.
    pub fn alkalinity(&self) -> i8 {
        -self.coefficient(C::Hydrogen)
    }
}

const fn sum(parts: &[(&LogK, f64)]) -> [f64; 6] {
    let mut total = [0.0; 6];
    let mut i = 0;
    while i < parts.len() {
        let mut j = 0;
        while j < 6 {
            total[j] += parts[i].0.a[j] * parts[i].1;
            j += 1;
        }
        i += 1;
    }
    total
}

const fn dh(size: f64, linear: f64) -> Gamma {
    Gamma::DebyeHuckel { size, linear }
}

macro_rules! species {
    ($($id:ident, $name:literal, $charge:literal, [$($c:ident $n:literal),+], $water:literal, [$($k:ident * $f:literal),*], $gamma:expr, $family:ident;)*) => {
        /// Index of a species in the tables of a solved water.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(usize)]
        #[allow(missing_docs)] // each is named by its formula in `TABLE`
        pub enum Id { $($id),* }
        /// How many species there are.
        pub const COUNT: usize = [$(Id::$id),*].len();
        /// Every species, in the order of [`Id`].
        pub static TABLE: [Species; COUNT] = [$(Species {
            name: $name,
            charge: $charge,
            made_of: &[$((C::$c, $n)),+],
            water: $water,
            log_k: sum(&[$((&k::$k, $f)),*]),
            gamma: $gamma,
            family: Family::$family,
        }),*];
    };
}

// Formulas, constants and activity parameters as phreeqc.dat has them (see `sources::PHREEQC_DAT`), the halogens and
// cyanurates by Davies as that database does for every ion without fitted parameters.
species! {
    Hydrogen, "H+", 1, [Hydrogen 1], 0, [], dh(9.0, 0.0), Hydroxide;
    Hydroxide, "OH-", -1, [Hydrogen -1], 1, [WATER * 1.0], dh(3.5, 0.0), Hydroxide;
    CarbonDioxide, "CO2", 0, [Carbon 1], 0, [], Gamma::Neutral, None;
    CarbonDioxideDimer, "(CO2)2", 0, [Carbon 2], 0, [CARBON_DIOXIDE_DIMER * 1.0], Gamma::Neutral, None;
    Bicarbonate, "HCO3-", -1, [Carbon 1, Hydrogen -1], 1, [BICARBONATE * 1.0, CARBON_DIOXIDE * -1.0], dh(5.4, 0.0), Carbonate;
    Carbonate, "CO3-2", -2, [Carbon 1, Hydrogen -2], 1, [CARBON_DIOXIDE * -1.0], dh(5.4, 0.0), Carbonate;
    Calcium, "Ca+2", 2, [Calcium 1], 0, [], dh(5.0, 0.165), None;
    CalciumBicarbonate, "CaHCO3+", 1, [Calcium 1, Carbon 1, Hydrogen -1], 1, [CALCIUM_BICARBONATE_PAIR * 1.0, CARBON_DIOXIDE * -1.0], dh(6.0, 0.0), Carbonate;
    CalciumCarbonate, "CaCO3", 0, [Calcium 1, Carbon 1, Hydrogen -2], 1, [CALCIUM_CARBONATE_PAIR * 1.0, CARBON_DIOXIDE * -1.0], Gamma::Neutral, Carbonate;
    CalciumSulfate, "CaSO4", 0, [Calcium 1, Sulfate 1], 0, [CALCIUM_SULFATE_PAIR * 1.0], Gamma::Neutral, None;
    CalciumHydrogenSulfate, "CaHSO4+", 1, [Calcium 1, Sulfate 1, Hydrogen 1], 0, [CALCIUM_HYDROGEN_SULFATE_PAIR * 1.0, HYDROGEN_SULFATE * 1.0], Gamma::Davies, Hydroxide;
    CalciumHydroxide, "CaOH+", 1, [Calcium 1, Hydrogen -1], 1, [CALCIUM_HYDROXIDE_PAIR * 1.0], Gamma::Davies, Hydroxide;
    Magnesium, "Mg+2", 2, [Magnesium 1], 0, [], dh(5.5, 0.20), None;
    MagnesiumBicarbonate, "MgHCO3+", 1, [Magnesium 1, Carbon 1, Hydrogen -1], 1, [MAGNESIUM_BICARBONATE_PAIR * 1.0, CARBON_DIOXIDE * -1.0], dh(4.0, 0.0), Carbonate;
    MagnesiumCarbonate, "MgCO3", 0, [Magnesium 1, Carbon 1, Hydrogen -2], 1, [MAGNESIUM_CARBONATE_PAIR * 1.0, CARBON_DIOXIDE * -1.0], Gamma::Neutral, Carbonate;
    MagnesiumSulfate, "MgSO4", 0, [Magnesium 1, Sulfate 1], 0, [MAGNESIUM_SULFATE_PAIR * 1.0], Gamma::Neutral, None;
    MagnesiumHydroxide, "MgOH+", 1, [Magnesium 1, Hydrogen -1], 1, [MAGNESIUM_HYDROXIDE_PAIR * 1.0], dh(6.5, 0.0), Hydroxide;
    Sodium, "Na+", 1, [Sodium 1], 0, [], dh(4.08, 0.082), None;
    SodiumBicarbonate, "NaHCO3", 0, [Sodium 1, Carbon 1, Hydrogen -1], 1, [SODIUM_BICARBONATE_PAIR * 1.0, BICARBONATE * 1.0, CARBON_DIOXIDE * -1.0], Gamma::Neutral, Carbonate;
    SodiumCarbonate, "NaCO3-", -1, [Sodium 1, Carbon 1, Hydrogen -2], 1, [SODIUM_CARBONATE_PAIR * 1.0, CARBON_DIOXIDE * -1.0], Gamma::Davies, Carbonate;
    SodiumSulfate, "NaSO4-", -1, [Sodium 1, Sulfate 1], 0, [SODIUM_SULFATE_PAIR * 1.0], dh(5.4, 0.0), None;
    Potassium, "K+", 1, [Potassium 1], 0, [], dh(3.5, 0.015), None;
    PotassiumSulfate, "KSO4-", -1, [Potassium 1, Sulfate 1], 0, [POTASSIUM_SULFATE_PAIR * 1.0], dh(5.4, 0.0), None;
    Sulfate, "SO4-2", -2, [Sulfate 1], 0, [], dh(5.0, -0.04), None;
    HydrogenSulfate, "HSO4-", -1, [Sulfate 1, Hydrogen 1], 0, [HYDROGEN_SULFATE * 1.0], Gamma::Davies, Hydroxide;
    Chloride, "Cl-", -1, [Chloride 1], 0, [], dh(3.63, 0.017), None;
    BoricAcid, "H3BO3", 0, [Boron 1], 0, [], Gamma::Neutral, None;
    Borate, "H2BO3-", -1, [Boron 1, Hydrogen -1], 0, [BORATE * 1.0], Gamma::Davies, Borate;
    Ammonium, "NH4+", 1, [Ammonium 1], 0, [], dh(2.5, 0.0), None;
    Ammonia, "NH3", 0, [Ammonium 1, Hydrogen -1], 0, [AMMONIA * 1.0], Gamma::Neutral, Ammonia;
    AmmoniumSulfate, "NH4SO4-", -1, [Ammonium 1, Sulfate 1], 0, [AMMONIUM_SULFATE_PAIR * 1.0], Gamma::Davies, None;
    HypochlorousAcid, "HOCl", 0, [Oxidant 1], 0, [], Gamma::Neutral, None;
    Hypochlorite, "OCl-", -1, [Oxidant 1, Hydrogen -1], 0, [HYPOCHLOROUS * 1.0], Gamma::Davies, Hypohalite;
    Chlorine, "Cl2", 0, [Oxidant 1, Hydrogen 1, Chloride 1], -1, [CHLORINE_HYDROLYSIS * -1.0], Gamma::Neutral, Hypohalite;
    CyanuricAcid, "H3Cy", 0, [Cyanurate 1], 0, [], Gamma::Neutral, None;
    Cyanurate1, "H2Cy-", -1, [Cyanurate 1, Hydrogen -1], 0, [CYANURIC_1 * 1.0], Gamma::Davies, Cyanurate;
    Cyanurate2, "HCy-2", -2, [Cyanurate 1, Hydrogen -2], 0, [CYANURIC_1 * 1.0, CYANURIC_2 * 1.0], Gamma::Davies, Cyanurate;
    Cyanurate3, "Cy-3", -3, [Cyanurate 1, Hydrogen -3], 0, [CYANURIC_1 * 1.0, CYANURIC_2 * 1.0, CYANURIC_3 * 1.0], Gamma::Davies, Cyanurate;
    MonochlorocyanuricAcid, "H2ClCy", 0, [Cyanurate 1, Oxidant 1], -1, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0, MONOCHLOROCYANURIC_1 * -1.0], Gamma::Neutral, None;
    Monochlorocyanurate1, "HClCy-", -1, [Cyanurate 1, Oxidant 1, Hydrogen -1], -1, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0], Gamma::Davies, Cyanurate;
    Monochlorocyanurate2, "ClCy-2", -2, [Cyanurate 1, Oxidant 1, Hydrogen -2], -1, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0, MONOCHLOROCYANURIC_2 * 1.0], Gamma::Davies, Cyanurate;
    DichlorocyanuricAcid, "HCl2Cy", 0, [Cyanurate 1, Oxidant 2], -2, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0, DICHLOROCYANURATE_HYDROLYSIS * -1.0, DICHLOROCYANURIC * -1.0], Gamma::Neutral, None;
    Dichlorocyanurate, "Cl2Cy-", -1, [Cyanurate 1, Oxidant 2, Hydrogen -1], -2, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0, DICHLOROCYANURATE_HYDROLYSIS * -1.0], Gamma::Davies, Cyanurate;
    TrichlorocyanuricAcid, "Cl3Cy", 0, [Cyanurate 1, Oxidant 3], -3, [CYANURIC_1 * 1.0, MONOCHLOROCYANURATE_HYDROLYSIS * -1.0, DICHLOROCYANURATE_HYDROLYSIS * -1.0, DICHLOROCYANURIC * -1.0, TRICHLOROCYANURIC_HYDROLYSIS * -1.0], Gamma::Neutral, None;
    Bromide, "Br-", -1, [Bromide 1], 0, [], dh(3.0, 0.0), None;
    HypobromousAcid, "HOBr", 0, [Oxidant 1, Bromide 1, Chloride -1], 0, [BROMIDE_OXIDATION * 1.0], Gamma::Neutral, None;
    Hypobromite, "OBr-", -1, [Oxidant 1, Bromide 1, Chloride -1, Hydrogen -1], 0, [BROMIDE_OXIDATION * 1.0, HYPOBROMOUS * 1.0], Gamma::Davies, Hypohalite;
    Bromine, "Br2", 0, [Oxidant 1, Bromide 2, Chloride -1, Hydrogen 1], -1, [BROMIDE_OXIDATION * 1.0, BROMINE_HYDROLYSIS * -1.0], Gamma::Neutral, Hypohalite;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_charge_of_each_species_follows_from_its_components() {
        let charge = |c: Component| match c {
            C::Calcium | C::Magnesium => 2,
            C::Hydrogen | C::Sodium | C::Potassium | C::Ammonium => 1,
            C::Chloride | C::Bromide => -1,
            C::Sulfate => -2,
            C::Carbon | C::Boron | C::Cyanurate | C::Oxidant => 0,
        };
        for s in &TABLE {
            let from_parts: i8 = s.made_of.iter().map(|(c, n)| charge(*c) * n).sum();
            assert_eq!(from_parts, s.charge, "{}", s.name);
        }
    }
}
