//! Equilibrium constants as quotations: value, reaction, range, source.
//!
//! log10 K = a1 + a2·T + a3/T + a4·log10 T + a5/T² + a6·T², T in kelvin. A constant known only as log K at
//! 25 °C and an enthalpy is written in the same form by van 't Hoff's equation.

use crate::sources::{self, Source};
use crate::units::Celsius;

/// Gas constant in J/(mol·K), CODATA 2018.
pub const GAS_CONSTANT: f64 = 8.314_462_618;
const LN_10: f64 = std::f64::consts::LN_10;
const J_PER_CAL: f64 = 4.184;

/// One equilibrium constant with its source.
#[derive(Debug, Clone, Copy)]
pub struct LogK {
    /// The reaction whose constant this is.
    pub reaction: &'static str,
    /// Coefficients a1 to a6.
    pub a: [f64; 6],
    /// log10 K at 25 °C as the source prints it: every constant is checked against it.
    pub printed_25_c: f64,
    /// Range of the source's fit or measurements, °C; outside it the value is an extrapolation.
    pub valid_c: (f64, f64),
    /// Where it comes from.
    pub source: &'static Source,
}

impl LogK {
    /// log10 K at a temperature.
    pub fn at(&self, t: Celsius) -> f64 {
        let k = t.kelvin();
        let [a1, a2, a3, a4, a5, a6] = self.a;
        a1 + a2 * k + a3 / k + a4 * k.log10() + a5 / (k * k) + a6 * k * k
    }
}

const fn fit(
    reaction: &'static str,
    a: [f64; 6],
    printed_25_c: f64,
    valid_c: (f64, f64),
    source: &'static Source,
) -> LogK {
    LogK { reaction, a, printed_25_c, valid_c, source }
}

/// From log K at 25 °C and the reaction's enthalpy.
const fn vant_hoff(
    reaction: &'static str,
    log_k: f64,
    joule_per_mol: f64,
    valid_c: (f64, f64),
    source: &'static Source,
) -> LogK {
    let slope = joule_per_mol / (LN_10 * GAS_CONSTANT);
    fit(reaction, [log_k + slope / 298.15, 0.0, -slope, 0.0, 0.0, 0.0], log_k, valid_c, source)
}

const fn vant_hoff_kcal(reaction: &'static str, log_k: f64, kcal: f64) -> LogK {
    vant_hoff(reaction, log_k, kcal * 1000.0 * J_PER_CAL, (0.0, 50.0), &sources::NORDSTROM_1990)
}

macro_rules! constants {
    ($($(#[$doc:meta])* $name:ident = $value:expr;)*) => {
        $($(#[$doc])* pub static $name: LogK = $value;)*
        /// Every constant, for the check against what its source prints and for the page that lists them.
        pub static ALL: &[(&str, &LogK)] = &[$((stringify!($name), &$name)),*];
    };
}

constants! {
    /// Dissociation of water.
    WATER = fit("H2O = OH- + H+", [293.29227, 0.1360833, -10576.913, -123.73158, 0.0, -6.996455e-5], -13.995, (0.0, 100.0), &sources::PHREEQC_DAT);
    /// Second dissociation of carbonic acid, reversed.
    BICARBONATE = fit("CO3-2 + H+ = HCO3-", [107.8871, 0.03252849, -5151.79, -38.92561, 563713.9, 0.0], 10.329, (0.0, 90.0), &sources::PLUMMER_1982);
    /// Both dissociations of carbonic acid, reversed.
    CARBON_DIOXIDE = fit("CO3-2 + 2 H+ = CO2 + H2O", [464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9, 0.0], 16.681, (0.0, 90.0), &sources::PLUMMER_1982);
    /// Solubility of carbon dioxide gas (fugacity in atm).
    CARBON_DIOXIDE_GAS = fit("CO2(g) = CO2", [10.5624, -2.3547e-2, -3972.8, 0.0, 5.8746e5, 1.9194e-5], -1.468, (0.0, 90.0), &sources::PHREEQC_DAT);
    /// Pairing of dissolved carbon dioxide; it matters only far above a tub's carbon.
    CARBON_DIOXIDE_DIMER = fit("2 CO2 = (CO2)2", [8.68, -0.0103, -2190.0, 0.0, 0.0, 0.0], -1.736, (0.0, 100.0), &sources::PHREEQC_DAT);
    /// Calcium carbonate ion pair.
    CALCIUM_CARBONATE_PAIR = fit("Ca+2 + CO3-2 = CaCO3", [-1228.732, -0.299440, 35512.75, 485.818, 0.0, 0.0], 3.224, (5.0, 80.0), &sources::PLUMMER_1982);
    /// Calcium bicarbonate ion pair.
    CALCIUM_BICARBONATE_PAIR = fit("Ca+2 + CO3-2 + H+ = CaHCO3+", [1317.0071, 0.34546894, -39916.84, -517.70761, 563713.9, 0.0], 11.435, (5.0, 80.0), &sources::PLUMMER_1982);
    /// Calcium sulfate ion pair.
    CALCIUM_SULFATE_PAIR = vant_hoff_kcal("Ca+2 + SO4-2 = CaSO4", 2.25, 1.325);
    /// Calcium hydrogen sulfate ion pair.
    CALCIUM_HYDROGEN_SULFATE_PAIR = vant_hoff_kcal("Ca+2 + HSO4- = CaHSO4+", 1.08, 0.0);
    /// Calcium hydroxide ion pair.
    CALCIUM_HYDROXIDE_PAIR = vant_hoff_kcal("Ca+2 + H2O = CaOH+ + H+", -12.78, 0.0);
    /// Magnesium carbonate ion pair.
    MAGNESIUM_CARBONATE_PAIR = fit("Mg+2 + CO3-2 = MgCO3", [0.9910, 0.00667, 0.0, 0.0, 0.0, 0.0], 2.98, (10.0, 90.0), &sources::NORDSTROM_1990);
    /// Magnesium bicarbonate ion pair.
    MAGNESIUM_BICARBONATE_PAIR = fit("Mg+2 + CO3-2 + H+ = MgHCO3+", [48.6721, 0.03252849, -2614.335, -18.00263, 563713.9, 0.0], 11.399, (10.0, 90.0), &sources::NORDSTROM_1990);
    /// Magnesium sulfate ion pair.
    MAGNESIUM_SULFATE_PAIR = vant_hoff_kcal("Mg+2 + SO4-2 = MgSO4", 2.37, 4.550);
    /// Magnesium hydroxide ion pair.
    MAGNESIUM_HYDROXIDE_PAIR = vant_hoff_kcal("Mg+2 + H2O = MgOH+ + H+", -11.44, 15.952);
    /// Sodium bicarbonate ion pair.
    SODIUM_BICARBONATE_PAIR = vant_hoff_kcal("Na+ + HCO3- = NaHCO3", -0.25, -1.0);
    /// Sodium carbonate ion pair.
    SODIUM_CARBONATE_PAIR = vant_hoff_kcal("Na+ + CO3-2 = NaCO3-", 1.27, 8.91);
    /// Sodium sulfate ion pair.
    SODIUM_SULFATE_PAIR = vant_hoff_kcal("Na+ + SO4-2 = NaSO4-", 0.70, 1.120);
    /// Potassium sulfate ion pair.
    POTASSIUM_SULFATE_PAIR = fit("K+ + SO4-2 = KSO4-", [3.106, 0.0, -673.6, 0.0, 0.0, 0.0], 0.847, (0.0, 50.0), &sources::NORDSTROM_1990);
    /// Second dissociation of sulfuric acid, reversed.
    HYDROGEN_SULFATE = fit("SO4-2 + H+ = HSO4-", [-56.889, 0.006473, 2307.9, 19.8858, 0.0, 0.0], 1.988, (0.0, 100.0), &sources::NORDSTROM_1990);
    /// Dissociation of boric acid.
    BORATE = vant_hoff_kcal("H3BO3 = H2BO3- + H+", -9.24, 3.224);
    /// Dissociation of ammonium.
    AMMONIA = fit("NH4+ = NH3 + H+", [0.6322, -0.001225, -2835.76, 0.0, 0.0, 0.0], -9.244, (0.0, 50.0), &sources::NORDSTROM_1990);
    /// Ammonium sulfate ion pair.
    AMMONIUM_SULFATE_PAIR = vant_hoff_kcal("NH4+ + SO4-2 = NH4SO4-", 1.11, 0.0);
    /// Solubility of calcite.
    CALCITE = fit("CaCO3(calcite) = Ca+2 + CO3-2", [-171.9065, -0.077993, 2839.319, 71.595, 0.0, 0.0], -8.48, (0.0, 90.0), &sources::PLUMMER_1982);
    /// Solubility of aragonite.
    ARAGONITE = fit("CaCO3(aragonite) = Ca+2 + CO3-2", [-171.9773, -0.077993, 2903.293, 71.595, 0.0, 0.0], -8.336, (0.0, 90.0), &sources::PLUMMER_1982);
    /// Solubility of gypsum.
    GYPSUM = fit("CaSO4:2H2O = Ca+2 + SO4-2 + 2 H2O", [68.2401, 0.0, -3221.51, -25.0627, 0.0, 0.0], -4.58, (0.0, 70.0), &sources::NORDSTROM_1990);
    /// Dissociation of hypochlorous acid: pKa = 3000.00/T − 10.0686 + 0.0253·T.
    HYPOCHLOROUS = fit("HOCl = OCl- + H+", [10.0686, -0.0253, -3000.0, 0.0, 0.0, 0.0], -7.537, (0.0, 35.0), &sources::MORRIS_1966);
    /// Hydrolysis of dissolved chlorine, 25 °C, with an enthalpy from the spread of the published values.
    CHLORINE_HYDROLYSIS = vant_hoff("Cl2 + H2O = HOCl + H+ + Cl-", -3.35, 23_000.0, (0.0, 50.0), &sources::WANG_1994);
    /// First dissociation of cyanuric acid: pK = 1743/T + 1.12.
    CYANURIC_1 = fit("H3Cy = H2Cy- + H+", [-1.12, 0.0, -1743.0, 0.0, 0.0, 0.0], -6.966, (5.0, 35.0), &sources::WAHMAN_2018);
    /// Second dissociation of cyanuric acid.
    CYANURIC_2 = vant_hoff("H2Cy- = HCy-2 + H+", -11.40, 0.0, (25.0, 25.0), &sources::BRADY_1963);
    /// Third dissociation of cyanuric acid.
    CYANURIC_3 = vant_hoff("HCy-2 = Cy-3 + H+", -13.5, 0.0, (25.0, 25.0), &sources::BRADY_1963);
    /// Hydrolysis of dichlorocyanurate: pK = 2028/T − 2.15.
    DICHLOROCYANURATE_HYDROLYSIS = fit("Cl2Cy- + H2O = HClCy- + HOCl", [2.15, 0.0, -2028.0, 0.0, 0.0, 0.0], -4.65, (5.0, 35.0), &sources::WAHMAN_2019);
    /// Hydrolysis of monochlorocyanurate: pK = 2229/T − 1.65.
    MONOCHLOROCYANURATE_HYDROLYSIS = fit("HClCy- + H2O = H2Cy- + HOCl", [1.65, 0.0, -2229.0, 0.0, 0.0, 0.0], -5.83, (5.0, 35.0), &sources::WAHMAN_2019);
    /// Dissociation of monochlorocyanuric acid.
    MONOCHLOROCYANURIC_1 = vant_hoff("H2ClCy = HClCy- + H+", -5.33, 0.0, (25.0, 25.0), &sources::OBRIEN_1974);
    /// Second dissociation of monochlorocyanuric acid.
    MONOCHLOROCYANURIC_2 = vant_hoff("HClCy- = ClCy-2 + H+", -10.12, 0.0, (25.0, 25.0), &sources::OBRIEN_1974);
    /// Dissociation of dichlorocyanuric acid.
    DICHLOROCYANURIC = vant_hoff("HCl2Cy = Cl2Cy- + H+", -3.75, 0.0, (25.0, 25.0), &sources::OBRIEN_1974);
    /// Hydrolysis of trichlorocyanuric acid.
    TRICHLOROCYANURIC_HYDROLYSIS = vant_hoff("Cl3Cy + H2O = HCl2Cy + HOCl", -1.8, 0.0, (25.0, 25.0), &sources::OBRIEN_1974);
    /// Chlorine taking bromide's place.
    BROMIDE_OXIDATION = vant_hoff("HOCl + Br- = HOBr + Cl-", 5.1, 0.0, (25.0, 25.0), &sources::HALOGEN_POTENTIALS);
    /// Dissociation of hypobromous acid.
    HYPOBROMOUS = vant_hoff("HOBr = OBr- + H+", -8.65, 17_500.0, (0.0, 50.0), &sources::HYPOBROMOUS_HANDBOOK);
    /// Hydrolysis of dissolved bromine: K = 3.5e-9 at 25 °C, 62 kJ/mol.
    BROMINE_HYDROLYSIS = vant_hoff("Br2 + H2O = HOBr + H+ + Br-", -8.456, 62_000.0, (0.0, 30.0), &sources::BECKWITH_1996);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_constant_gives_what_its_source_prints_at_25_c() {
        let misses: Vec<_> = ALL
            .iter()
            .map(|(name, k)| (name, k.printed_25_c, k.at(Celsius(25.0))))
            .filter(|(_, printed, ours)| (printed - ours).abs() > 0.006) // printed to two or three decimals
            .collect();
        assert!(misses.is_empty(), "(constant, printed, ours): {misses:?}");
    }
}
