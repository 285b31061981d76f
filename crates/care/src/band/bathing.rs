//! Bathing limits: outside them nobody bathes, and a plan starts by keeping people out.

use super::{Place, Regime};

/// Bathing limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BathingLimits {
    /// Free chlorine, mg/L: least and most. The least is 0 in a bromine tub.
    pub free_chlorine: (f64, f64),
    /// Total bromine, mg/L as Br2: least and most. The least is 0 in a chlorine tub.
    pub total_bromine: (f64, f64),
    /// pH.
    pub ph: (f64, f64),
    /// Highest water temperature, °C.
    pub temperature_high_c: f64,
    /// Most combined chlorine, mg/L. `None` where no authority closes a tub for it.
    pub combined_chlorine_high: Option<f64>,
    /// Where the disinfectant limits come from.
    pub disinfectant_source: &'static str,
    /// Where the pH limits come from.
    pub ph_source: &'static str,
    /// Where the temperature limit comes from.
    pub temperature_source: &'static str,
    /// Where the limit of combined chlorine comes from.
    pub combined_chlorine_source: &'static str,
}

/// The bathing limits of a regime and place. A local code or the product's label may be tighter.
pub fn bathing_limits(regime: Regime, place: Place) -> BathingLimits {
    let bromine = regime == Regime::Bromine;
    let (least, disinfectant_source) = match (bromine, place) {
        (false, Place::Home) => (
            1.0,
            "at least 1: WHO 2007; at most 10: Model Aquatic Health Code, from memory (some labels say 5 or 3)",
        ),
        (false, Place::Rental) => {
            (3.0, "at least 3: HSG282; at most 10: Model Aquatic Health Code, from memory")
        }
        (false, Place::Public) => (3.0, "3-10: CDC Legionella module for hot tubs (read in the trade press)"),
        (true, Place::Home) => (2.0, "2-10: EN 17125-type table and Montana table 6 (superseded)"),
        (true, Place::Rental) => {
            (4.0, "at least 4: HSG282; at most 8: Model Aquatic Health Code, from memory")
        }
        (true, Place::Public) => {
            (4.0, "4-8: CDC Legionella module and Model Aquatic Health Code, from memory")
        }
    };
    let most_bromine = if place == Place::Home { 10.0 } else { 8.0 };
    let public_chlorine = place == Place::Public && !bromine;
    BathingLimits {
        free_chlorine: (if bromine { 0.0 } else { least }, 10.0),
        total_bromine: (if bromine { least } else { 0.0 }, most_bromine),
        ph: (6.8, 8.0),
        temperature_high_c: 40.0,
        combined_chlorine_high: public_chlorine.then_some(1.0),
        disinfectant_source,
        ph_source: "6.8: EN 17125-type table; 8.0: Model Aquatic Health Code, from memory",
        temperature_source: "40 °C: CDC user information, CPSC 1996, New York 6-1.25 (New South Wales: 38 °C)",
        combined_chlorine_source: "public spas closed above 1.0 mg/L: New South Wales schedule 1",
    }
}
