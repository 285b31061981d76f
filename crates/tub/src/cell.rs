//! The salt cell: chlorine from chloride by current.
//!
//! Net: Cl- + H2O → OCl- + H2, so alkalinity rises by one equivalent a mole and falls again when the chlorine is used:
//! a closed cycle leaves none (`tests/cell.rs`). The rest of the current makes oxygen, whose acid the cathode's alkali
//! cancels. In: current, gaps, chloride, temperature, wear, plate scale. Out: mol/s.
//! Only Faraday's law is exact. How current efficiency falls with salt, cold, age and scale is judgement (ranges from
//! memory, none measured here): fit it to each cell.

/// Faraday's constant, C/mol (CODATA 2018, exact).
pub const FARADAY_C_MOL: f64 = 96_485.332_12;

/// Chlorine by Faraday's law, mol/s as Cl2, for a current through a number of gaps.
pub fn faraday_mol_s(current_a: f64, gaps: f64) -> f64 {
    current_a * gaps / (2.0 * FARADAY_C_MOL)
}

/// A cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Current, A.
    pub current_a: f64,
    /// Gaps between plates that the same current passes one after another.
    pub gaps: f64,
    /// Current efficiency in plenty of salt, new and warm.
    pub efficiency_max: f64,
    /// Chloride at which the efficiency is half of that, mol/kg.
    pub half_chloride_mol_kg: f64,
    /// Hours of wear at which output is half.
    pub life_h: f64,
    /// Plate area, m².
    pub plate_m2: f64,
    /// Scale at which output is half, mol of CaCO3.
    pub half_scale_mol: f64,
    /// Saturation index at the plate less that of the water: its cathode is alkaline.
    pub plate_saturation_rise: f64,
    /// Polarity reversals an hour of running.
    pub reversals_per_h: f64,
    /// Share of the plate's scale that a reversal sheds.
    pub shed_share: f64,
    /// Seconds without output at a reversal.
    pub pause_s: f64,
    /// Hours of wear that a reversal costs.
    pub wear_h_per_reversal: f64,
}

impl Default for Cell {
    fn default() -> Self {
        Cell {
            current_a: 4.0,
            gaps: 1.0,
            efficiency_max: 0.9,
            half_chloride_mol_kg: 0.015,
            life_h: 7_500.0,
            plate_m2: 0.02,
            half_scale_mol: 0.2,
            plate_saturation_rise: 1.0,
            reversals_per_h: 0.25,
            shed_share: 0.3,
            pause_s: 60.0,
            wear_h_per_reversal: 0.1,
        }
    }
}

impl Cell {
    /// Current efficiency, 0 to 1.
    pub fn efficiency(&self, chloride_mol_kg: f64, t_c: f64, worn_h: f64, plate_scale_mol: f64) -> f64 {
        let salt = chloride_mol_kg / (chloride_mol_kg + self.half_chloride_mol_kg);
        self.efficiency_max * salt * temperature_factor(t_c) * wear_factor(worn_h / self.life_h)
            / (1.0 + plate_scale_mol / self.half_scale_mol)
    }

    /// Share of its running time in which a current flows.
    pub fn on_share(&self) -> f64 {
        1.0 / (1.0 + self.reversals_per_h * self.pause_s / 3600.0)
    }

    /// Hydrogen at full duty, mol/s: all of the current makes it.
    pub fn hydrogen_mol_s(&self) -> f64 {
        faraday_mol_s(self.current_a, self.gaps)
    }
}

/// Falls below 15 °C to 0.4 at freezing (judgement).
fn temperature_factor(t_c: f64) -> f64 {
    (0.4 + 0.04 * t_c).clamp(0.4, 1.0)
}

/// Half at the end of its life, hardly anything before half of it (judgement: coatings fail late and fast).
fn wear_factor(lives: f64) -> f64 {
    1.0 / (1.0 + lives.max(0.0).powi(4))
}
