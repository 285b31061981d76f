//! What people bring: water, ammonia, urea, organic nitrogen; and what they splash out.
//!
//! In: litres of sweat and urine. Out: moles. The salt of sweat (about 30 mmol of NaCl an hour) is left out: a tub holds
//! a thousand times as much.
//! Checked: `tests/demand.rs` (published chlorine use per bather).

/// What a litre of body fluid holds, mol.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fluid {
    /// Urea.
    pub urea_mol_l: f64,
    /// Ammonia, taken as ammonium chloride.
    pub ammonia_mol_l: f64,
    /// Nitrogen of creatinine and amino acids.
    pub organic_mol_l: f64,
}

const fn fluid(urea_mg_l: f64, ammonia_mg_l: f64, amino_mg_l: f64, creatinine_mg_l: f64) -> Fluid {
    Fluid {
        urea_mol_l: urea_mg_l / 60_056.0,
        ammonia_mol_l: ammonia_mg_l / 17_031.0,
        // One chlorine-taking nitrogen in an amino acid (taken as glycine) and in creatinine.
        organic_mol_l: amino_mg_l / 75_067.0 + creatinine_mg_l / 113_120.0,
    }
}

/// Sweat.
///
/// # Source
/// WHO 2006, Guidelines for safe recreational water environments vol. 2, table 4.1 (from memory): urea 680, ammonia 180,
/// amino acids 45, creatinine 7 mg/L.
pub const SWEAT: Fluid = fluid(680.0, 180.0, 45.0, 7.0);
/// Urine: the same table: 10 240, 560, 280 and 640 mg/L.
pub const URINE: Fluid = fluid(10_240.0, 560.0, 280.0, 640.0);

impl Fluid {
    /// Chlorine that a litre uses in the end, mol of Cl2: urea by De Laat's products, ammonia to N2, organic nitrogen twice.
    pub fn chlorine_mol_l(&self) -> f64 {
        crate::demand::CHLORINE_PER_UREA * self.urea_mol_l
            + 1.5 * self.ammonia_mol_l
            + 2.0 * self.organic_mol_l
    }
}

/// What a bather does in an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bather {
    /// Sweat, L/h. 0.5–1.0 for someone at rest in 38–40 °C, from 0.8 L/(m²·h) at 35 °C in exercise (Keuten et al. 2014,
    /// Water Res. 53:259, abstract).
    pub sweat_l_h: f64,
    /// Urine, L/h. The model bather of pools leaves 50 mL; in a private tub none is assumed (judgement).
    pub urine_l_h: f64,
    /// Water splashed and carried out, kg/h (judgement).
    pub splash_kg_h: f64,
}

impl Default for Bather {
    fn default() -> Self {
        Bather { sweat_l_h: 0.75, urine_l_h: 0.0, splash_kg_h: 4.0 }
    }
}
