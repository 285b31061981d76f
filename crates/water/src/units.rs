//! Quantities with their unit and basis in the name, and the conversions between them.
//!
//! Mix-ups here are of *basis* ("as CaCO3", "as Cl2", per litre or per kilogram), so every conversion
//! names both. A litre counts as one kilogram of water throughout (0.7 % at 38 °C, below every kit's error).

/// A temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

impl Celsius {
    /// The same temperature in kelvin.
    pub fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

/// A pH: −log10 of the activity of H+ on the molal scale.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Ph(pub f64);

/// Grams of CaCO3 per equivalent, M(CaCO3)/2 with M = 100.087 g/mol.
pub const CACO3_G_PER_EQ: f64 = 50.0435;

/// Molar masses in g/mol (IUPAC standard atomic weights 2021, abridged; the first six as the reference cases use them).
pub mod molar_mass {
    /// Calcium.
    pub const CA: f64 = 40.078;
    /// Magnesium.
    pub const MG: f64 = 24.305;
    /// Sodium.
    pub const NA: f64 = 22.98977;
    /// Potassium.
    pub const K: f64 = 39.0983;
    /// Chloride.
    pub const CL: f64 = 35.453;
    /// Sulfate ion.
    pub const SO4: f64 = 96.06;
    /// Boron.
    pub const B: f64 = 10.81;
    /// Chlorine as Cl2: the basis of every chlorine figure.
    pub const CL2: f64 = 70.906;
    /// Bromine as Br2: the basis of every bromine figure.
    pub const BR2: f64 = 159.808;
    /// Bromide.
    pub const BR: f64 = 79.904;
    /// Sodium chloride: the basis of "salt".
    pub const NACL: f64 = 58.443;
    /// Cyanuric acid, H3C3N3O3.
    pub const CYANURIC_ACID: f64 = 129.07;
    /// Nitrogen.
    pub const N: f64 = 14.007;
    /// Carbon dioxide.
    pub const CO2: f64 = 44.010;
}

/// mg/L as CaCO3 to equivalents per kilogram (alkalinity).
pub fn eq_kg_from_mg_l_caco3(mg_l: f64) -> f64 {
    mg_l / (1000.0 * CACO3_G_PER_EQ)
}

/// Equivalents per kilogram to mg/L as CaCO3 (alkalinity).
pub fn mg_l_caco3_from_eq_kg(eq_kg: f64) -> f64 {
    eq_kg * 1000.0 * CACO3_G_PER_EQ
}

/// Calcium or magnesium in mol/kg to hardness in mg/L as CaCO3 (two equivalents a mole).
pub fn hardness_mg_l_caco3_from_mol_kg(mol_kg: f64) -> f64 {
    mg_l_caco3_from_eq_kg(2.0 * mol_kg)
}

/// Hardness in mg/L as CaCO3 to mol/kg of the divalent metal.
pub fn mol_kg_from_hardness_mg_l_caco3(mg_l: f64) -> f64 {
    eq_kg_from_mg_l_caco3(mg_l) / 2.0
}

/// mg/L to mol/kg for a molar mass in g/mol.
pub fn mol_kg_from_mg_l(mg_l: f64, g_per_mol: f64) -> f64 {
    mg_l / (1000.0 * g_per_mol)
}

/// mol/kg to mg/L for a molar mass in g/mol.
pub fn mg_l_from_mol_kg(mol_kg: f64, g_per_mol: f64) -> f64 {
    mol_kg * 1000.0 * g_per_mol
}
